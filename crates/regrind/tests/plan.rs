//! The plan of a crank as it was measured: what every plan keeps to, and what it says of a set that is only polished.

use crank::{Aim, Band, JournalSet, SetName, Treatment};
use gauge::Instrument;
use proptest::prelude::*;
use regrind::{Plan, Policy, PolishWhen, Stage, Verdict, Work, ground_size_mm, plan};
use units::Unit;

const IN: f64 = 25.4;

struct NoFiles;

impl sheet::Library for NoFiles {
    fn text(&self, name: &str) -> Result<String, String> {
        Err(format!("no {name} here"))
    }
}

/// Two mains and a pin, the mains to be finished to 2.1245–2.1255 in; each main read at two places across.
fn judged(mains: [[f64; 2]; 2], pin: f64, treatment: &str, policy: &str) -> (sheet::Sheet, Verdict) {
    let mut text = format!(
        r#"
sheet = 1
units = "in"
[policy]
draws = 4000
{policy}
[specification]
specification = 1
name = "two mains and a pin"
units = "in"
throw = 1.5
[specification.main]
count = 2
positions = [0, 4]
length = 1.2
size = [2.1245, 2.1255]
undersizes = [0.010, 0.020]
out_of_round = 0.001
[specification.pin]
count = 1
angles = [0]
positions = [2]
length = 1.2
size = [1.7495, 1.7505]
undersizes = [0.010, 0.020]
{treatment}
"#
    );
    if !treatment.ends_with(UNDAMAGED) {
        text += "[[damage]]\njournal = \"main 1\"\nkind = \"scoring\"\ndepth = 0.0001\n";
    }
    let mut read = |journal: &str, plane: i32, size: f64| {
        text += &format!("[[reading]]\njournal = \"{journal}\"\nat = \"middle\"\nplane = {plane}\nsize = {size}\n");
    };
    for (n, sizes) in mains.iter().enumerate() {
        for (plane, size) in [0, 90].into_iter().zip(sizes) {
            read(&format!("main {}", n + 1), plane, *size);
        }
    }
    read("pin 1", 0, pin);
    read("pin 1", 90, pin);
    let sheet = sheet::read_sheet("polish.toml", &text, &NoFiles).expect("a sound sheet");
    let verdict =
        regrind::assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &|_| ()).expect("a verdict");
    (sheet, verdict)
}

const NITRIDED: &str = "[specification.treatment]\nkind = \"nitriding\"\ngrowth = { mean = 0.0005, sd = 0.00002 }";

/// At the end of a treatment: nothing is scored.
const UNDAMAGED: &str = "# undamaged";
const NITRIDED_SOUND: &str =
    "[specification.treatment]\nkind = \"nitriding\"\ngrowth = { mean = 0.0005, sd = 0.00002 }\n# undamaged";

fn notes<'a>(verdict: &'a Verdict, kind: &str) -> Vec<&'a str> {
    verdict.notes.iter().filter(|note| note.kind == kind).map(|note| note.says.as_str()).collect()
}

/// By hand: the worn pin is ground and the crank is nitrided again, so the mains of 2.1250 and 2.1249 go to treatment within
/// 2.1240 to 2.1250 and grow 0.0005: polished to 2.1245, the middle, they come to 2.1250, the middle of their limits.
#[test]
fn polished_mains_go_through_the_treatment_of_the_pins() {
    let (_, verdict) = judged([[2.1250, 2.1250], [2.1249, 2.1249]], 1.7420, NITRIDED, "");
    let [plan] = verdict.polish.as_slice() else { panic!("one set is polished: {:?}", verdict.polish) };
    assert!(plan.keeps() && plan.change.growth_mm > 0.0);
    for (journal, stop, finished) in
        plan.journals.iter().zip([2.1245, 2.1245]).zip([2.1250, 2.1250]).map(|((a, b), c)| (a, b, c))
    {
        let stages: Vec<(&str, f64, f64, f64)> = journal
            .stages
            .iter()
            .map(|s| (s.stage.word(), s.target_mm / IN, s.window.low_mm / IN, s.window.high_mm / IN))
            .collect();
        for (found, wanted) in
            stages.iter().zip([("polish", stop, 2.1240, 2.1250), ("finished", finished, 2.1245, 2.1255)])
        {
            assert_eq!(found.0, wanted.0);
            for (found, wanted) in [(found.1, wanted.1), (found.2, wanted.2), (found.3, wanted.3)] {
                assert!((found - wanted).abs() < 1e-9, "{found}, not {wanted}");
            }
        }
    }
    assert!(notes(&verdict, "leaves its limits").is_empty());
    // The pin has a plan to grind, the mains have none.
    assert_eq!(verdict.plans.iter().map(|plan| plan.set).collect::<Vec<_>>(), [SetName::Pin]);
}

/// By hand: 2.1253 grows to 2.1258, 0.0003 over. Scored or not, such mains are polished to size, 0.0008 off the larger before
/// treatment; the verdict says so with its chance, and nothing is left to look at again.
#[test]
fn what_would_outgrow_its_limits_is_polished_to_size() {
    for (order, target, how) in [
        ("", 2.1245, "to size before treatment"),
        ("polish = \"after treatment\"", 2.1250, "to size last of all, after treatment"),
    ] {
        for undamaged in [false, true] {
            let treatment = if undamaged { NITRIDED_SOUND } else { NITRIDED };
            let (_, verdict) = judged([[2.1253, 2.1253], [2.1251, 2.1251]], 1.7420, treatment, order);
            let mains = verdict.sets.iter().find(|set| set.set == SetName::Main).expect("measured");
            assert_eq!(mains.choice, regrind::Choice::PolishOnly, "{}", mains.reason);
            assert!(mains.to_size.is_some(), "a polish to size is no polish by itself");
            assert!(mains.polish_only_as_measured.share() >= 0.9 && mains.leave_alone_as_measured.share() < 0.05);
            assert!(
                mains.reason.contains(how)
                    && mains.reason.contains("main 1 would finish at 2.1258 in, 0.0003 in over its limits"),
                "{}",
                mains.reason
            );
            let [plan] = verdict.polish.as_slice() else { panic!("one set is polished: {:?}", verdict.polish) };
            assert!(plan.keeps());
            for journal in &plan.journals {
                let stop = journal.stages[0];
                assert!((stop.target_mm / IN - target).abs() < 1e-9, "{} in", stop.target_mm / IN);
                assert!(stop.finishes.expect("known").chance > 0.95, "{:?}", stop.finishes);
            }
            assert!(notes(&verdict, "leaves its limits").is_empty() && !verdict.look_again);
        }
    }
}

/// By hand: growth of 0.002 in brings 2.1253 to 2.1273; the 0.0023 to the middle is twice what a polish takes: the mains are ground.
#[test]
fn what_no_polish_brings_back_is_ground() {
    let treatment = "[specification.treatment]\nkind = \"nitriding\"\ngrowth = { mean = 0.002, sd = 0.00002 }";
    let (_, verdict) = judged([[2.1253, 2.1253], [2.1251, 2.1251]], 1.7420, treatment, "");
    let mains = verdict.sets.iter().find(|set| set.set == SetName::Main).expect("measured");
    assert!(mains.choice.undersize_mm().is_some(), "{:?}", mains.choice);
    assert!(mains.reason.contains("would not keep their limits after it, polished to size or not"), "{}", mains.reason);
    assert!(verdict.polish.is_empty());
}

/// Nothing is ground, so nothing is treated: the limits stand as they are, and what a treatment would add is told.
#[test]
fn a_polish_alone_asks_for_no_new_treatment() {
    let (_, verdict) = judged([[2.1250, 2.1250], [2.1249, 2.1249]], 1.7500, NITRIDED, "");
    let [plan] = verdict.polish.as_slice() else { panic!("one set is polished: {:?}", verdict.polish) };
    assert_eq!(plan.change.growth_mm, 0.0);
    let window = plan.journals[0].stages[0].window;
    assert!((window.low_mm / IN - 2.1245).abs() < 1e-9 && (window.high_mm / IN - 2.1255).abs() < 1e-9);
    assert!(
        notes(&verdict, "treatment").iter().any(|says| says.contains("would grow 0.0005 in")),
        "{:?}",
        verdict.notes
    );
}

/// The largest journal and the micrometer are those of the sheet: a largest main of 2.1191 leaves no rough pass to 2.1194.
#[test]
fn the_work_is_that_of_the_sheet() {
    let (sheet, _) = judged([[2.1191, 2.1180], [2.1175, 2.1175]], 1.7420, "", "");
    let work = Work::on(&sheet.specification, &sheet.findings, SetName::Main, 0.254, Unit::Inch);
    assert!((work.largest_mm.expect("measured") / IN - 2.1191).abs() < 1e-9);
    assert_eq!(work.micrometers, Vec::<&Instrument>::new(), "nobody named one");
    let set = &sheet.specification.main;
    let plan = plan(set, &sheet.specification.treatment, &sheet.policy, &work);
    assert_eq!(plan.stages.iter().map(|s| s.stage).collect::<Vec<_>>(), [Stage::Grind, Stage::Finished]);
}

fn any_plan() -> impl Strategy<Value = (JournalSet, Treatment, Policy, Instrument, f64)> {
    let unit = prop_oneof![Just(Unit::Inch), Just(Unit::Millimetre)];
    let aim = proptest::option::of((0.0f64..=1.0, 0.0f64..=1.0, 0.0f64..=1.0));
    let graduation = prop_oneof![Just(0.001), Just(0.002), Just(0.00254), Just(0.00127), Just(0.01), Just(0.0254)];
    (
        (unit, 20.0f64..120.0, 0.0f64..0.06, aim, graduation),
        (0.0f64..0.03, 0.0f64..0.02, any::<bool>(), any::<bool>()),
        (0.0f64..0.02, 0.0f64..0.2, 0.0f64..0.02, -0.01f64..0.01, 19.0f64..121.0),
    )
        .prop_map(
            |(
                (unit, low, width, aim, graduation_mm),
                (mean, sd, treated, after),
                (polish, finish, spread, zero, largest),
            )| {
                let size = Band { low_mm: low, high_mm: low + width };
                let aims = aim.map(|(a, b, c)| {
                    let (a, b) = (a.min(b), a.max(b));
                    let window = Band { low_mm: low + a * width, high_mm: low + b * width };
                    Aim { undersize_mm: 0.0, target_mm: window.low_mm + c * window.width_mm(), window }
                });
                let set = JournalSet {
                    any_size: false,
                    positions_mm: vec![0.0],
                    angles_deg: vec![0.0],
                    size,
                    undersizes_mm: vec![0.25],
                    out_of_round_mm: None,
                    taper: None,
                    run_out: None,
                    length_mm: 24.0,
                    smallest_mm: None,
                    wear_limit_mm: None,
                    wear_out_of_round_mm: None,
                    wear_taper: None,
                    aims: aims.into_iter().collect(),
                };
                let treatment = Treatment {
                    kind: "nitriding".into(),
                    growth_mean_mm: if treated { mean } else { 0.0 },
                    growth_sd_mm: if treated { sd } else { 0.0 },
                    after_grinding: treated,
                };
                let policy = Policy {
                    polish_stock_mm: polish,
                    finish_stock_mm: finish,
                    grinding_spread_mm: spread,
                    polish: if after { PolishWhen::AfterTreatment } else { PolishWhen::BeforeTreatment },
                    ..Policy::usual(unit)
                };
                let micrometer = Instrument { graduation_mm, zero_mm: zero, ..Instrument::shop_default(unit) };
                (set, treatment, policy, micrometer, largest)
            },
        )
}

fn planned(set: &JournalSet, treatment: &Treatment, policy: &Policy, micrometer: &Instrument, largest: f64) -> Plan {
    let work = Work { largest_mm: Some(largest), micrometers: vec![micrometer], ..Work::to(0.0, micrometer.unit) };
    plan(set, treatment, policy, &work)
}

proptest! {
    /// Whatever limits, growth and micrometer: the target is what the micrometer shows, within a graduation of the computed
    /// size, or that size itself; it finishes within its limits; its window can be held; chances are chances; and what is
    /// printed of a window lies inside it.
    #[test]
    fn every_plan_can_be_held((set, treatment, policy, micrometer, largest) in any_plan()) {
        let plan = planned(&set, &treatment, &policy, &micrometer, largest);
        let step = micrometer.graduation_mm;
        let on_a_graduation = |mm: f64| {
            let steps = (mm + micrometer.zero_mm) / step;
            (steps - steps.round()).abs() < 1e-4
        };
        let limits = set.aim(0.0).window;
        prop_assert_eq!(plan.computed_mm, ground_size_mm(&set, &treatment, &policy, 0.0));
        let change_mm = treatment.growth_mean_mm - policy.polish_stock_mm;
        let grind = plan.stage(Stage::Grind).expect("always there");
        prop_assert!(grind.target_mm == plan.computed_mm || on_a_graduation(grind.target_mm), "{grind:?}");
        prop_assert!((grind.target_mm - plan.computed_mm).abs() < step + 1e-9);
        for (mm, band) in [(grind.target_mm + change_mm, limits), (plan.stages.last().map_or(0.0, |s| s.target_mm), limits)] {
            prop_assert!(band.low_mm - 1e-6 <= mm && mm <= band.high_mm + 1e-6, "{mm} is outside {band:?}");
        }
        for stage in &plan.stages {
            prop_assert!(!stage.is_lost());
            prop_assert!(stage.window.low_mm <= stage.target_mm + 1e-6 && stage.target_mm <= stage.window.high_mm + 1e-6);
            let finishes = stage.finishes.expect("known");
            prop_assert!((0.0..=1.0).contains(&finishes.chance) && (0.0..=1.0).contains(&finishes.share));
            if matches!(stage.stage, Stage::Grind | Stage::BeforeTreatment) {
                let least = (2.0 * policy.grinding_spread_mm).max(2.0 * step);
                prop_assert!(stage.window.width_mm() > least - 1e-4 * step, "{stage:?}");
                prop_assert!(on_a_graduation(stage.window.low_mm) && on_a_graduation(stage.window.high_mm));
            }
            if stage.stage == Stage::Rough {
                prop_assert!(largest > stage.window.high_mm);
            }
        }
        if let Some(room) = plan.room {
            prop_assert!(grind.finishes.is_some_and(|finishes| finishes.chance < policy.confidence));
            prop_assert!(!room.words(micrometer.unit).is_empty());
        }
    }
}
