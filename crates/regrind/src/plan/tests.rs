//! The plan by hand: sizes, windows and chances.

use super::*;
use crank::Band;
use units::Unit;

fn pin() -> JournalSet {
    JournalSet {
        positions_mm: vec![0.0],
        angles_deg: vec![0.0],
        size: Band { low_mm: 1.8745 * 25.4, high_mm: 1.8750 * 25.4 },
        undersizes_mm: vec![0.254, 0.508],
        out_of_round_mm: None,
        taper: None,
        run_out: None,
        length_mm: 24.0,
        smallest_mm: None,
        wear_limit_mm: None,
        wear_out_of_round_mm: None,
        wear_taper: None,
        aims: Vec::new(),
        any_size: false,
    }
}

fn nitrided(mean_in: f64, sd_in: f64) -> Treatment {
    Treatment {
        kind: "nitriding".into(),
        growth_mean_mm: mean_in * 25.4,
        growth_sd_mm: sd_in * 25.4,
        after_grinding: true,
    }
}

#[track_caller]
fn check(plan: &Plan, expected: &[(Stage, f64, f64, f64)]) {
    assert_eq!(
        plan.stages.iter().map(|s| s.stage).collect::<Vec<_>>(),
        expected.iter().map(|e| e.0).collect::<Vec<_>>()
    );
    for (found, &(stage, target, low, high)) in plan.stages.iter().zip(expected) {
        for (found_mm, inches) in [(found.target_mm, target), (found.window.low_mm, low), (found.window.high_mm, high)]
        {
            assert!((found_mm / IN - inches).abs() < 1e-9, "{stage:?}: {} in, not {inches}", found_mm / IN);
        }
    }
}

#[track_caller]
fn near(found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() < tolerance, "{found}, not {wanted}");
}

const IN: f64 = 25.4;

fn usual() -> Policy {
    Policy::usual(Unit::Inch)
}

fn untreated() -> Treatment {
    Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false }
}

/// The pin of `pin()` with a micrometer, to an undersize in inches.
fn with(micrometer: &Instrument, undersize_in: f64) -> Work<'_> {
    Work { micrometers: vec![micrometer], ..Work::to(undersize_in * IN, Unit::Inch) }
}

fn chance(plan: &Plan, stage: Stage) -> f64 {
    plan.stage(stage).and_then(|s| s.finishes).map_or(f64::NAN, |finishes| finishes.chance)
}

/// By hand, from the order of work: 0.020 under, growth 0.0005 ± 0.0001, polish 0.0002, finish stock 0.0040 in. The
/// middle of the limits, 1.85475, lies between two graduations; so do 1.85425 before treatment and 1.85445 off the wheel.
/// The upper graduation is taken each time. Windows are a tenth either way; a third of the finish stock is 0.0013.
#[test]
fn sizes_run_backwards_from_finished() {
    let plan = plan(&pin(), &nitrided(0.0005, 0.0001), &usual(), &Work::to(0.508, Unit::Inch));
    check(
        &plan,
        &[
            (Stage::Rough, 1.8585, 1.8572, 1.8598),
            (Stage::Grind, 1.8545, 1.8544, 1.8546),
            (Stage::BeforeTreatment, 1.8543, 1.8542, 1.8544),
            (Stage::Finished, 1.8548, 1.8545, 1.8550),
        ],
    );
    near(plan.computed_mm / IN, 1.85445, 1e-9);
}

/// By hand, in tenths of a thou: variances 1 of grinding, 1 of growth, 0.25 of polish, 0.25 + 1/12 of the micrometer's
/// own, 1/3 of its scale: 2.9167 in all, a deviation of 1.708. A journal that is ground to 1.8545 finishes at 1.8548 on
/// average: 3 over the low limit, 2 under the high one. Φ(1.171) - Φ(-1.757) = 0.8792 - 0.0395 = 0.840 (normal tables;
/// the scale is uniform and not normal, which makes less than 0.002). Before treatment grinding, growth and
/// micrometer are left: 2.6667, 1.633; Φ(1.225) - Φ(-1.837) = 0.8897 - 0.0331 = 0.857.
#[test]
fn the_chance_to_finish_within_limits_is_the_one_by_hand() {
    let plan = plan(&pin(), &nitrided(0.0005, 0.0001), &usual(), &Work::to(0.508, Unit::Inch));
    near(chance(&plan, Stage::Grind), 0.840, 0.002);
    near(chance(&plan, Stage::BeforeTreatment), 0.857, 0.002);
    assert_eq!(chance(&plan, Stage::Rough), chance(&plan, Stage::Grind), "the rough pass decides nothing");
    // Of the finished size only the micrometer is in doubt: 2 of its 0.816 to the nearer limit.
    near(chance(&plan, Stage::Finished), 0.993, 0.006);
    let grind = plan.stage(Stage::Grind).and_then(|s| s.finishes).unwrap();
    assert_eq!(grind.rest, crate::finish::Part::Growth);
    near(grind.share, 1.0 / 2.9167, 1e-4);
}

/// Growth is stated on the diameter and comes once; so does the polish. A size per side would double both.
#[test]
fn growth_and_polish_count_once_on_the_diameter() {
    let fine = Instrument { graduation_mm: 0.000_01 * IN, ..Instrument::shop_default(Unit::Inch) };
    let plan = plan(&pin(), &nitrided(0.0005, 0.0001), &usual(), &with(&fine, 0.020));
    let at = |stage: Stage| plan.stage(stage).map_or(f64::NAN, |s| s.target_mm / IN);
    near(at(Stage::Finished) - at(Stage::BeforeTreatment), 0.0005, 1e-9);
    near(at(Stage::Grind) - at(Stage::BeforeTreatment), 0.0002, 1e-9);
    near(at(Stage::Rough) - at(Stage::Grind), 0.0040, 1e-9);
    near(at(Stage::Finished), 1.85475, 1e-9);
}

/// Common practice, no source: nitriding grows a journal about 0.0005 in on the diameter, so one that is to finish
/// at 1.7500 in is finished at 1.7495 before treatment.
#[test]
fn a_nitrided_journal_is_finished_half_a_thou_under() {
    let set = JournalSet { size: Band { low_mm: 1.75 * 25.4, high_mm: 1.75 * 25.4 }, ..pin() };
    let policy = Policy { polish: PolishWhen::AfterTreatment, polish_stock_mm: 0.0, ..usual() };
    let plan = plan(&set, &nitrided(0.0005, 0.0), &policy, &Work::to(0.0, Unit::Inch));
    let before = plan.stage(Stage::BeforeTreatment).unwrap();
    assert!((before.target_mm / 25.4 - 1.7495).abs() < 1e-12);
    // Limits of no width: nobody hits one size, but there is one to aim at.
    assert_eq!(chance(&plan, Stage::Grind), 0.0);
    assert_eq!(plan.room, Some(Room::default()));
    assert!(plan.stages.iter().all(|stage| !stage.is_lost()));
}

#[test]
fn polish_after_treatment_moves_the_stock_to_that_side() {
    let policy = Policy { polish: PolishWhen::AfterTreatment, ..usual() };
    let plan = plan(&pin(), &nitrided(0.0005, 0.0001), &policy, &Work::to(0.508, Unit::Inch));
    check(
        &plan,
        &[
            (Stage::Rough, 1.8585, 1.8572, 1.8598),
            (Stage::Grind, 1.8545, 1.8544, 1.8546),
            (Stage::BeforeTreatment, 1.8545, 1.8544, 1.8546),
            (Stage::Finished, 1.8548, 1.8545, 1.8550),
        ],
    );
    // Nothing is done between the two, so they have one chance.
    near(chance(&plan, Stage::Grind), chance(&plan, Stage::BeforeTreatment), 1e-12);
}

#[test]
fn an_untreated_crank_has_no_stage_before_treatment() {
    let plan = plan(&pin(), &untreated(), &usual(), &Work::to(0.254, Unit::Inch));
    check(
        &plan,
        &[
            (Stage::Rough, 1.8690, 1.8677, 1.8703),
            (Stage::Grind, 1.8650, 1.8649, 1.8651),
            (Stage::Finished, 1.8648, 1.8645, 1.8650),
        ],
    );
    assert!(chance(&plan, Stage::Grind) > 0.90 && plan.room.is_none());
}

/// By hand: the bearings ask for 1.8548 within 1.8545 to 1.8550; less growth 0.0005 that is 1.8543; then polish 0.0002
/// and finish stock 0.0040. All lie on graduations.
#[test]
fn the_bearings_aim_takes_the_place_of_the_middle() {
    let band = |low: f64, high: f64| Band { low_mm: low * 25.4, high_mm: high * 25.4 };
    let aim = Aim { undersize_mm: 0.508, target_mm: 1.8548 * 25.4, window: band(1.8545, 1.8550) };
    let set = JournalSet { aims: vec![aim], ..pin() };
    let (policy, work) = (usual(), Work::to(0.508, Unit::Inch));
    let steady = nitrided(0.0005, 0.00005);
    check(
        &plan(&set, &steady, &policy, &work),
        &[
            (Stage::Rough, 1.8585, 1.8572, 1.8598),
            (Stage::Grind, 1.8545, 1.8544, 1.8546),
            (Stage::BeforeTreatment, 1.8543, 1.8542, 1.8544),
            (Stage::Finished, 1.8548, 1.8545, 1.8550),
        ],
    );
    assert!((ground_size_mm(&set, &steady, &policy, 0.508) / 25.4 - 1.8545).abs() < 1e-9);
    // Where the growth varies so much that only 1.85474 to 1.85476 is safe, the aim moves there: not to its end, but
    // to its middle, 1.85475 - 0.0005 + 0.0002 off the wheel.
    let wild = plan(&set, &nitrided(0.0005, 0.00012), &policy, &work);
    assert!((wild.computed_mm / 25.4 - 1.854_45).abs() < 1e-9);
    // Other steps of the ladder keep the middle of the book's limits.
    assert!((ground_size_mm(&set, &steady, &policy, 0.254) / 25.4 - 1.86445).abs() < 1e-9);
}

/// Bearings at the tight end of their limits ask for the low end of the window itself: the aim keeps half a tenth from
/// either end, and of the graduations beside it the one farther inside is taken, for more finish within the window.
#[test]
fn an_aim_at_the_end_of_its_window_is_moved_inside() {
    let window = Band { low_mm: 1.8546 * 25.4, high_mm: 1.8550 * 25.4 };
    for (asked_in, computed_in, expected_in) in
        [(1.8546, 1.85465, 1.8547), (1.8550, 1.85495, 1.8549), (1.8547, 1.8547, 1.8547)]
    {
        let set = JournalSet { aims: vec![Aim { undersize_mm: 0.508, target_mm: asked_in * 25.4, window }], ..pin() };
        let plan = plan(&set, &untreated(), &usual(), &Work::to(0.508, Unit::Inch));
        near(plan.computed_mm / IN, computed_in + 0.0002, 1e-9);
        let finished = plan.stages.last().unwrap();
        near(finished.target_mm / IN, expected_in, 1e-9);
        near(plan.stage(Stage::Grind).unwrap().target_mm / IN, expected_in + 0.0002, 1e-9);
        for stage in &plan.stages {
            assert!(stage.window.low_mm < stage.target_mm && stage.target_mm < stage.window.high_mm, "{stage:?}");
        }
        // A tenth from an end is too near, and so is the middle, two from both: 2 Φ(2 / 1.384) - 1 = 0.852.
        let room = plan.room.expect("few finish within limits");
        assert!(room.aim_at_middle_mm.is_none() && room.polish_to_size, "{room:?}");
    }
    // Three from both, it would do: 2 Φ(3 / 1.384) - 1 = 0.970.
    let window = Band { low_mm: 1.8544 * 25.4, high_mm: 1.8550 * 25.4 };
    let aim = Aim { undersize_mm: 0.508, target_mm: 1.8544 * 25.4, window };
    let set = JournalSet { aims: vec![aim], ..pin() };
    let room = plan(&set, &untreated(), &usual(), &Work::to(0.508, Unit::Inch)).room.expect("a tenth from the end");
    near(room.aim_at_middle_mm.expect("the middle is better") / IN, 1.8547, 1e-9);
}

/// By hand, in tenths: growth of deviation 2 makes 5.9167 in all, 2.432; Φ(0.822) - Φ(-1.234) = 0.7945 - 0.1086 = 0.686.
/// Without growth there are 1.9167, 1.384: Φ(1.445) - Φ(-2.167) = 0.9258 - 0.0151 = 0.911, more than the 0.90 asked for.
/// With 1.435 it is 0.900: the growth may have √(1.435² - 1.9167) = 0.38 of a tenth.
#[test]
fn where_few_finish_within_limits_the_plan_says_what_would_make_room() {
    let work = Work::to(0.508, Unit::Inch);
    let wild = plan(&pin(), &nitrided(0.0005, 0.0002), &usual(), &work);
    near(chance(&wild, Stage::Grind), 0.686, 0.003);
    let room = wild.room.unwrap();
    let needed = room.growth_sd_below_mm.unwrap() / IN;
    near(needed, 0.000_038, 0.000_006);
    assert!(room.finish_after_treatment && room.polish_to_size && !room.finer_micrometer);
    // At that spread the chance is the one asked for.
    let steadier = plan(&pin(), &nitrided(0.0005, needed), &usual(), &work);
    near(chance(&steadier, Stage::Grind), 0.90, 1e-6);
    assert!(plan(&pin(), &nitrided(0.0005, needed * 0.99), &usual(), &work).room.is_none());
    // The targets stay where they were.
    near(wild.stage(Stage::Grind).unwrap().target_mm / IN, 1.8545, 1e-9);
    assert!(
        room.words(Unit::Inch).starts_with("a growth known to 0.00003 in and not to 0.00020"),
        "{}",
        room.words(Unit::Inch)
    );
    assert!(Room::default().words(Unit::Inch).starts_with("no one change is enough"));
}

/// A finished main of 2.3704 and a largest of 2.3741: a rough pass to 2.3744 has nothing to take off.
#[test]
fn a_rough_pass_that_has_nothing_to_take_is_not_there() {
    let set = JournalSet { size: Band { low_mm: 2.3799 * IN, high_mm: 2.3805 * IN }, ..pin() };
    let stages = |largest_in: Option<f64>, policy: &Policy| -> Vec<Stage> {
        let largest_mm = largest_in.map(|inches| inches * IN);
        let work = Work { largest_mm, ..Work::to(0.010 * IN, Unit::Inch) };
        plan(&set, &untreated(), policy, &work).stages.iter().map(|s| s.stage).collect()
    };
    let short = [Stage::Grind, Stage::Finished];
    let whole = [Stage::Rough, Stage::Grind, Stage::Finished];
    assert_eq!(stages(Some(2.3741), &usual()), short);
    // 2.3702 + 0.0002 + 0.0040 is 2.3744, and up to 2.3757 is rough size already.
    assert_eq!(stages(Some(2.3757), &usual()), short);
    assert_eq!(stages(Some(2.3758), &usual()), whole);
    assert_eq!(stages(None, &usual()), whole);
    // Without a stock there is no pass, and one that would run into the next window is none either.
    assert_eq!(stages(None, &Policy { finish_stock_mm: 0.0, ..usual() }), short);
    assert_eq!(stages(None, &Policy { finish_stock_mm: 0.0001 * IN, ..usual() }), short);
}

/// No other graduation within reach gives a greater chance, for a target in the middle of its limits.
#[test]
fn no_other_target_finishes_more_journals() {
    for (growth_in, sd_in, graduation_in) in
        [(0.0005, 0.0001, 0.0001), (0.00037, 0.00005, 0.0001), (0.0004, 0.0002, 0.00005), (0.00052, 0.0, 0.0002)]
    {
        let micrometer = Instrument { graduation_mm: graduation_in * IN, ..Instrument::shop_default(Unit::Inch) };
        let work = with(&micrometer, 0.020);
        let treatment = nitrided(growth_in, sd_in);
        let plan = plan(&pin(), &treatment, &usual(), &work);
        let grind = plan.stage(Stage::Grind).unwrap();
        let scatter =
            Scatter { growth_mm: sd_in * IN, grinding_mm: 0.0001 * IN, polish_mm: 0.00005 * IN, ..Scatter::default() }
                .measured_with(&micrometer, grind.target_mm);
        let finishes = |mm: f64| {
            scatter.chance(mm + growth_in * IN - 0.0002 * IN, Band { low_mm: 1.8545 * IN, high_mm: 1.8550 * IN })
        };
        near(finishes(grind.target_mm), grind.finishes.unwrap().chance, 1e-6);
        for steps in [-3.0, -2.0, -1.0, 1.0, 2.0, 3.0] {
            let other = finishes(grind.target_mm + steps * graduation_in * IN);
            assert!(other <= finishes(grind.target_mm) + 1e-9, "{steps} graduations of {graduation_in} on");
        }
    }
}

/// Each target stands on a graduation of the micrometer it is for, and the window is never less than two of them nor
/// narrower than twice the grinding's spread.
#[test]
fn targets_and_windows_stand_on_graduations() {
    let metric = JournalSet { size: Band { low_mm: 46.730, high_mm: 46.750 }, ..pin() };
    let policy = Policy::usual(Unit::Millimetre);
    for (graduation_mm, target_mm, low_mm, high_mm) in [
        // 46.745 is computed. By hundredths either neighbour does; a window of two of them.
        (0.01, 46.75, 46.74, 46.76),
        // By two microns it lies between 46.744 and 46.746; three graduations hold 0.005.
        (0.002, 46.746, 46.742, 46.748),
        // By microns it is there itself, with five of them.
        (0.001, 46.745, 46.743, 46.748),
    ] {
        let micrometer = Instrument { graduation_mm, ..Instrument::shop_default(Unit::Millimetre) };
        let work = Work { micrometers: vec![&micrometer], ..Work::to(0.0, Unit::Millimetre) };
        let plan = plan(&metric, &untreated(), &policy, &work);
        let grind = plan.stage(Stage::Grind).unwrap();
        assert_eq!(grind.graduation_mm, Some(graduation_mm));
        for (found, wanted) in
            [(grind.target_mm, target_mm), (grind.window.low_mm, low_mm), (grind.window.high_mm, high_mm)]
        {
            assert!((found - wanted).abs() < 1e-9, "by {graduation_mm}: {found}, not {wanted}");
        }
    }
    // Twice the spread, twice the window.
    let loose = Policy { grinding_spread_mm: 0.0002 * IN, ..usual() };
    let wide = plan(&pin(), &untreated(), &loose, &Work::to(0.508, Unit::Inch));
    near(wide.stage(Stage::Grind).unwrap().window.width_mm() / IN, 0.0004, 1e-9);
    let exact = Policy { grinding_spread_mm: 0.0, ..usual() };
    let narrow = plan(&pin(), &untreated(), &exact, &Work::to(0.508, Unit::Inch));
    near(narrow.stage(Stage::Grind).unwrap().window.width_mm() / IN, 0.0002, 1e-9);
}

/// A micrometer that reads half a tenth high stands on a graduation at half tenths of true size. One without a
/// graduation that anybody knows is left for the shop's usual one, as is one that does not take the size in.
#[test]
fn a_target_is_what_its_micrometer_can_show() {
    let usual_one = Instrument::shop_default(Unit::Inch);
    let high = Instrument { zero_mm: 0.00005 * IN, ..usual_one.clone() };
    let half = plan(&pin(), &untreated(), &usual(), &with(&high, 0.010));
    near(half.stage(Stage::Grind).unwrap().target_mm / IN, 1.86495, 1e-9);
    let tenth = Instrument { zero_mm: 0.0001 * IN, ..usual_one.clone() };
    let plain = plan(&pin(), &untreated(), &usual(), &Work::to(0.254, Unit::Inch));
    let shifted = plan(&pin(), &untreated(), &usual(), &with(&tenth, 0.010));
    for (found, wanted) in shifted.stages.iter().zip(&plain.stages) {
        near(found.target_mm, wanted.target_mm, 1e-9);
    }
    for odd in [
        Instrument { graduation_mm: 0.0, ..usual_one.clone() },
        Instrument { graduation_mm: f64::NAN, ..usual_one.clone() },
        Instrument { range_mm: Some((2.0 * IN, 3.0 * IN)), graduation_mm: 0.0254, ..usual_one.clone() },
    ] {
        let found = plan(&pin(), &untreated(), &usual(), &with(&odd, 0.010));
        assert_eq!(found.stages, plain.stages, "{odd:?}");
    }
}

/// Limits that lie between two graduations have none inside: the size stays where it was computed, within them.
#[test]
fn a_target_never_leaves_its_limits() {
    let set = JournalSet { size: Band { low_mm: 46.732, high_mm: 46.738 }, ..pin() };
    let coarse = Instrument { graduation_mm: 0.01, ..Instrument::shop_default(Unit::Millimetre) };
    let work = Work { micrometers: vec![&coarse], ..Work::to(0.0, Unit::Millimetre) };
    let plan = plan(&set, &untreated(), &Policy::usual(Unit::Millimetre), &work);
    let finished = plan.stage(Stage::Finished).unwrap();
    assert!((finished.target_mm - 46.735).abs() < 1e-9, "{}", finished.target_mm);
    // 46.740 off the wheel is a graduation, and finishes in the middle.
    let grind = plan.stage(Stage::Grind).unwrap();
    assert!((grind.target_mm - 46.74).abs() < 1e-9, "{}", grind.target_mm);
    assert!(grind.window.width_mm() > 0.02 - 1e-9);
    assert!(plan.room.is_some_and(|room| room.finer_micrometer || room == Room::default()));
}

/// 46.730 mm is 1.83976378 in: printed inwards, never outside.
#[test]
fn windows_are_printed_rounded_inwards() {
    let window = Band { low_mm: 46.730, high_mm: 46.750 };
    let stage = StageSize { stage: Stage::Finished, target_mm: 46.74, window, finishes: None, graduation_mm: None };
    assert_eq!(stage.window_figures(Unit::Inch), Some(("1.83977".into(), "1.84055".into())));
    assert_eq!(stage.window_figures(Unit::Millimetre), Some(("46.730".into(), "46.750".into())));
    assert_eq!(stage.target_figure(Unit::Millimetre), "46.740");
    let tenths = Band { low_mm: 1.8544 * IN, high_mm: 1.8546 * IN };
    let figures = StageSize { window: tenths, ..stage }.window_figures(Unit::Inch);
    assert_eq!(figures, Some(("1.8544".into(), "1.8546".into())));
    let lost = StageSize { window: Band { low_mm: 46.75, high_mm: 46.73 }, ..stage };
    assert_eq!(lost.window_figures(Unit::Millimetre), None);
    // A window between two figures keeps what it is nearest to.
    let none = Band { low_mm: 46.730_02, high_mm: 46.730_03 };
    assert_eq!(StageSize { window: none, ..stage }.window_figures(Unit::Millimetre).unwrap().0, "46.730");
}

#[test]
fn a_stage_is_known_by_its_word() {
    for stage in Stage::ALL {
        assert_eq!(Stage::of_word(stage.word()), Some(stage));
    }
    assert_eq!(Stage::of_word("lapped"), None);
}
