//! The condition of journals, against readings of real shafts and facts of the trade.

mod kit;

use std::collections::BTreeMap;

use crank::{
    Band, Condition, Findings, FormCheck, GroundTo, JournalId, JournalSet, NotJudged, Per, Reading, RunOutAs,
    RunOutLimit, SetName, Specification, State, TaperLimit, Trace, condition, ground_to, run_out_verdict, sizes,
    verdict,
};
use gauge::Instrument;
use kit::rows;
use units::{Entry, Unit};

const PIN_1: JournalId = JournalId { set: SetName::Pin, number: 1 };

/// An instrument that is exact, so that only the arithmetic is looked at.
fn exact() -> Instrument {
    Instrument {
        graduation_mm: 0.0,
        error_limit_mm: 0.0,
        repeatability_mm: 0.0,
        ..Instrument::shop_default(Unit::Millimetre)
    }
}

fn entry(text: &str) -> Entry {
    units::read(text, Unit::Millimetre).unwrap()
}

fn reading(at_mm: f64, plane_deg: f64, size: &str) -> Reading {
    Reading { journal: PIN_1, at_mm, plane_deg, sizes: vec![entry(size)], with: 0 }
}

fn findings(readings: Vec<Reading>) -> Findings {
    Findings { instruments: vec![exact()], readings, ..Findings::default() }
}

/// A crank with these limits for its pins; the mains do not matter.
fn crank_with(pin: JournalSet) -> Specification {
    let made = Specification::from_printed(&kit::six()).unwrap();
    Specification { pin, ..made }
}

fn pins(low_mm: f64, high_mm: f64) -> JournalSet {
    let made = Specification::from_printed(&kit::six()).unwrap();
    JournalSet { size: Band { low_mm, high_mm }, ..made.pin }
}

fn of(readings: Vec<Reading>) -> Condition {
    condition(&crank_with(pins(63.98, 64.0)), &findings(readings), PIN_1, 0.0).unwrap()
}

/// Readings are whole hundredths of a millimetre, so differences are; what is left is binary rounding.
#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-9, "found {found} mm, wanted {wanted} mm");
}

/// Source: Nissan service data (VQ35, Altima 2005): out-of-round is the difference of the two planes at one station,
/// taper the difference of the two stations in one plane. The figures are made up.
#[test]
fn out_of_round_is_across_planes_and_taper_along_stations() {
    let found = of(vec![
        reading(-10.0, 0.0, "63.991"),
        reading(-10.0, 90.0, "63.986"),
        reading(10.0, 0.0, "63.994"),
        reading(10.0, 90.0, "63.982"),
    ]);
    close(found.out_of_round_mm().unwrap(), 0.012);
    close(found.worst_station().unwrap().at_mm, 10.0);
    close(found.stations[0].out_of_round_mm.unwrap(), 0.005);
    close(found.taper_mm().unwrap(), 0.004);
    close(found.worst_plane().unwrap().plane_deg, 90.0);
    close(found.planes[0].taper_mm.unwrap(), 0.003);
    close(found.worst_plane().unwrap().span_mm, 20.0);
    close(found.smallest_mm, 63.982);
    assert_eq!((found.smallest_at.at_mm, found.smallest_at.plane_deg), (10.0, 90.0));
    close(found.largest_mm, 63.994);
    close(found.mean_mm, 63.98825);
    close(found.wear_mm, 63.990 - 63.982);
    assert_eq!(found.not_judged, [NotJudged::Barrel]);
    assert!(found.remarks.iter().any(|remark| remark.contains("lobes")));
    assert!(found.remarks.iter().any(|remark| remark.contains("45 degrees")));
}

/// Source: `reference-cases/trainee-crankpins`: 16 ovalities and tapers worked out again from the readings; three of
/// the trainees' own figures are wrong.
#[test]
fn the_trainees_crankpins_come_out_as_recomputed() {
    let mut pins_read: BTreeMap<String, Vec<Reading>> = BTreeMap::new();
    for row in rows("trainee-crankpins/trainee_crankpins_47mm.csv") {
        let plane_deg = if row[1] == "a" { 0.0 } else { 90.0 };
        let at_mm = if row[2] == "1" { -10.0 } else { 10.0 };
        pins_read.entry(row[0].clone()).or_default().push(reading(at_mm, plane_deg, &row[3]));
    }
    let found: BTreeMap<String, Condition> = pins_read.into_iter().map(|(pin, readings)| (pin, of(readings))).collect();
    let (mut compared, mut wrong_by_hand) = (0, 0);
    for row in rows("trainee-crankpins/trainee_crankpins_47mm_derived.csv") {
        let pin = &found[&row[0]];
        let here = match row[1].as_str() {
            "ovality at station 1" => pin.stations[0].out_of_round_mm,
            "ovality at station 2" => pin.stations[1].out_of_round_mm,
            "taper in plane a" => pin.planes[0].taper_mm,
            "taper in plane b" => pin.planes[1].taper_mm,
            other => panic!("{other}"),
        };
        close(here.unwrap(), row[3].parse().unwrap());
        let by_hand: f64 = row[2].parse().unwrap();
        let agrees = (here.unwrap() - by_hand).abs() < 0.005; // half a unit of the sheet's last place
        assert_eq!(agrees, row[4] == "yes", "{row:?}");
        wrong_by_hand += usize::from(!agrees);
        compared += 1;
    }
    assert_eq!((compared, wrong_by_hand), (16, 3));
}

/// Source: `reference-cases/marine-journals` (sheet of September 2018, 8 × 2 planes × 3 stations, perhaps bores).
/// Whoever gathered it gives ovality 0.02 to 0.25 and taper 0.01 to 0.04 mm over all units.
#[test]
fn the_marine_set_has_the_ovality_and_taper_that_were_worked_out() {
    let mut units_read: BTreeMap<String, Vec<Reading>> = BTreeMap::new();
    for row in rows("marine-journals/marine_8cyl_main_journal_2018.csv") {
        let plane_deg = if row[1] == "TB" { 0.0 } else { 90.0 };
        let at_mm = match row[2].as_str() {
            "FWD" => -80.0,
            "MID" => 0.0,
            _ => 80.0,
        };
        units_read.entry(row[0].clone()).or_default().push(reading(at_mm, plane_deg, &row[3]));
    }
    let found: Vec<Condition> = units_read.into_values().map(of).collect();
    assert_eq!(found.len(), 8);
    let all = |figures: Vec<f64>| {
        (figures.iter().copied().fold(f64::INFINITY, f64::min), figures.iter().copied().fold(0.0, f64::max))
    };
    let ovality = all(found.iter().flat_map(|c| &c.stations).filter_map(|s| s.out_of_round_mm).collect());
    let taper = all(found.iter().flat_map(|c| &c.planes).filter_map(|p| p.taper_mm).filter(|t| *t > 1e-6).collect());
    close(ovality.0, 0.02);
    close(ovality.1, 0.25);
    close(taper.0, 0.01);
    close(taper.1, 0.04);
    // Unit 1, top and bottom: 230.28, 230.25, 230.28 is a waist of 0.03; across, 230.39, 230.41, 230.39 a barrel.
    close(found[0].planes[0].barrel.unwrap().barrel_mm(), -0.03);
    close(found[0].planes[1].barrel.unwrap().barrel_mm(), 0.02);
    close(found[0].worst_barrel().unwrap().0, 0.0);
    assert!(found.iter().all(|condition| condition.not_judged.is_empty()));
}

/// Too few readings are said, not guessed.
#[test]
fn too_few_readings_are_named() {
    let one = of(vec![reading(0.0, 0.0, "63.990")]);
    assert_eq!(one.not_judged, [NotJudged::OutOfRound, NotJudged::Taper, NotJudged::Barrel]);
    assert_eq!((one.out_of_round_mm(), one.taper_mm()), (None, None));
    close(one.wear_mm, 0.0);
    let two = of(vec![reading(0.0, 0.0, "63.990"), reading(0.0, 90.0, "63.985")]);
    assert_eq!(two.not_judged, [NotJudged::Taper, NotJudged::Barrel]);
    assert!(condition(&crank_with(pins(63.98, 64.0)), &Findings::default(), PIN_1, 0.0).is_none());
    let other = JournalId { number: 2, ..PIN_1 };
    let readings = findings(vec![reading(0.0, 0.0, "63.990")]);
    assert!(condition(&crank_with(pins(63.98, 64.0)), &readings, other, 0.0).is_none());
}

/// 0 and 180 degrees are one plane, as are 270 and 90; readings of one spot count with their mean.
#[test]
fn planes_compare_modulo_half_a_turn() {
    let found = of(vec![
        reading(0.0, 0.0, "63.990"),
        reading(0.0, 180.0, "63.992"),
        reading(0.0, -180.0, "63.991"),
        reading(0.0, 90.0, "63.985"),
        reading(0.0, 270.0, "63.987"),
        reading(0.0, 359.999_999_9, "63.991"),
    ]);
    assert_eq!(found.planes.len(), 2);
    close(found.out_of_round_mm().unwrap(), 0.005);
    close(found.largest_mm, 63.991);
}

/// Zero and temperature are corrected before anything is worked out, and the doubt is that of the instrument.
#[test]
fn sizes_are_corrected_and_carry_their_doubt() {
    let mut findings = findings(vec![reading(0.0, 270.0, "63.990")]);
    findings.instruments[0] = Instrument { zero_mm: 0.004, ..Instrument::shop_default(Unit::Millimetre) };
    findings.readings[0].sizes.push(entry("63.992"));
    let found = sizes(&findings, PIN_1);
    assert_eq!(found.len(), 1);
    close(found[0].size_mm, 63.987);
    close(found[0].plane_deg, 90.0);
    // GUM: 0.001²/2 for two repeats, 0.002²/12 for the graduation, 0.004²/3 for the scale.
    let wanted = (0.001_f64.powi(2) / 2.0 + 0.002_f64.powi(2) / 12.0 + 0.004_f64.powi(2) / 3.0).sqrt();
    close(found[0].standard_uncertainty_mm, wanted);
    let found = condition(&crank_with(pins(63.98, 64.0)), &findings, PIN_1, 0.0).unwrap();
    close(found.uncertainty_mm, wanted);
    // An instrument that is not there, or an empty reading, gives no size and no panic.
    findings.readings[0].with = 7;
    findings.readings.push(Reading { sizes: Vec::new(), with: 0, ..findings.readings[0].clone() });
    assert_eq!(sizes(&findings, PIN_1), []);
}

fn traced(angles_deg: Vec<f64>, departures_mm: Vec<f64>) -> Findings {
    let trace = Trace {
        journal: PIN_1,
        at_mm: 0.0,
        size: entry("63.980"),
        angles_deg,
        departures_mm,
        with: 0,
        departure_sd_mm: 0.001,
    };
    Findings { instruments: vec![exact()], traces: vec![trace], ..Findings::default() }
}

/// An ellipse's diameters are the mean size and twice the departure; its out-of-round is four amplitudes.
#[test]
fn a_traced_ellipse_has_four_amplitudes_of_out_of_round() {
    let angles: Vec<f64> = (0..24).map(|n| f64::from(n) * 15.0).collect();
    let ellipse = angles.iter().map(|angle| 0.004 * (2.0 * angle.to_radians()).cos()).collect();
    let findings = traced(angles, ellipse);
    let found = sizes(&findings, PIN_1);
    assert_eq!(found.len(), 12); // each diameter once
    assert!(found.iter().all(|size| size.trace == Some(0)));
    close(found[0].standard_uncertainty_mm, 0.001 * 2.0_f64.sqrt());
    let found = condition(&crank_with(pins(63.98, 64.0)), &findings, PIN_1, 0.0).unwrap();
    close(found.out_of_round_mm().unwrap(), 0.016);
    close(found.largest_mm, 63.988);
    assert!(!found.remarks.iter().any(|remark| remark.contains("lobes")));
}

/// Three lobes have the same diameter everywhere: two points do not see them.
#[test]
fn three_lobes_do_not_show_across() {
    let angles: Vec<f64> = (0..36).map(|n| f64::from(n) * 10.0).collect();
    let lobes = angles.iter().map(|angle| 0.004 * (3.0 * angle.to_radians()).cos()).collect();
    let found = condition(&crank_with(pins(63.98, 64.0)), &traced(angles, lobes), PIN_1, 0.0).unwrap();
    close(found.out_of_round_mm().unwrap(), 0.0);
}

/// With an odd number of points no opposite was traced; the line between its neighbours stands in, and across a gap
/// nothing does.
#[test]
fn opposite_points_are_interpolated_but_not_across_a_gap() {
    let angles: Vec<f64> = (0..9).map(|n| f64::from(n) * 40.0).collect();
    let mut departures = vec![0.0; 9];
    departures[4] = 0.002; // at 160
    departures[5] = 0.006; // at 200, so 0.004 at 180
    let found = sizes(&traced(angles, departures), PIN_1);
    assert_eq!(found.len(), 9);
    let across_0 = found.iter().find(|size| size.plane_deg == 0.0).unwrap();
    close(across_0.size_mm, 63.984);
    close(across_0.standard_uncertainty_mm, 0.001 * 1.5_f64.sqrt());
    let gap = sizes(&traced(vec![0.0, 150.0, 210.0], vec![0.0, 0.01, 0.01]), PIN_1);
    assert_eq!(gap, []);
    assert_eq!(sizes(&traced(vec![f64::NAN, 10.0], vec![0.0]), PIN_1), []);
}

/// Common practice, no source: a 1.7500 in journal ten under is 1.7400, twenty under 1.7300.
#[test]
fn ten_under_is_ten_thou_off_the_diameter() {
    let inch = |size: f64| size * 25.4;
    let mut set = pins(inch(1.7495), inch(1.7500));
    set.undersizes_mm = vec![inch(0.010), inch(0.020), inch(0.030)];
    close(set.finished(inch(0.010)).high_mm, inch(1.7400));
    close(set.finished(inch(0.020)).high_mm, inch(1.7300));
    let doubt = inch(0.0001);
    for (size, wanted) in
        [(1.7499, 0.0), (1.7490, 0.0), (1.7399, 0.010), (1.7390, 0.010), (1.7295, 0.020), (1.7, 0.030)]
    {
        let found = ground_to(&set, &[(inch(1.5), doubt), (inch(size), doubt), (inch(1.6), doubt)]);
        assert_eq!(found.undersize_mm, inch(wanted), "{size}");
        assert_eq!((found.also, found.bigger_than_new), (Vec::new(), false), "{size}");
    }
    // Two tenths over the top of ten under is still ten under, but standard worn nine thou would read the same.
    let found = ground_to(&set, &[(inch(1.7402), doubt)]);
    assert_eq!((found.undersize_mm, found.also), (inch(0.010), vec![0.0]));
    // Three tenths over is beyond the doubt; ten under ground large is likelier than nine thou of wear all round.
    let found = ground_to(&set, &[(inch(1.7404), doubt)]);
    assert_eq!((found.undersize_mm, found.also), (0.0, vec![inch(0.010)]));
    let found = ground_to(&set, &[(inch(1.7503), doubt)]);
    assert_eq!((found.undersize_mm, found.bigger_than_new), (0.0, true));
    assert_eq!(ground_to(&set, &[]), GroundTo::default());
    assert_eq!(ground_to(&set, &[(f64::NAN, doubt)]), GroundTo::default());
}

/// Source: Detroit Diesel 53 rods (TM 5-3895-348-14&P-2): 2.499 to 2.500 in, shells 0.002 in under for light wear. A
/// rod at 2.4975 fits both a worn standard and the first step.
#[test]
fn a_step_of_two_thou_leaves_two_answers() {
    let inch = |size: f64| size * 25.4;
    let mut set = pins(inch(2.499), inch(2.500));
    set.undersizes_mm = vec![inch(0.002), inch(0.010)];
    let found = ground_to(&set, &[(inch(2.4975), inch(0.0001))]);
    assert_eq!((found.undersize_mm, found.also), (inch(0.002), vec![0.0]));
}

fn check_of(set: &JournalSet, ground_to_mm: f64, readings: &[Reading]) -> FormCheck {
    FormCheck::new(set, ground_to_mm, &sizes(&findings(readings.to_vec()), PIN_1))
}

#[test]
fn drawn_sizes_must_keep_size_out_of_round_and_taper() {
    let mut set = pins(63.95, 64.0);
    set.out_of_round_mm = Some(0.010);
    set.taper = Some(TaperLimit { limit: 0.008, per: Per::Journal });
    let readings: Vec<Reading> = [(-10.0, 0.0), (-10.0, 90.0), (10.0, 0.0), (10.0, 90.0)]
        .map(|(at, plane)| reading(at, plane, "63.99"))
        .to_vec();
    let check = check_of(&set, 0.0, &readings);
    assert!(check.keeps(&[63.990, 63.990, 63.990, 63.990]));
    assert!(check.keeps(&[63.990, 63.980, 63.990, 63.980])); // out of round by just the limit
    assert!(!check.keeps(&[63.990, 63.9799, 63.990, 63.980]));
    assert!(check.keeps(&[63.990, 63.990, 63.982, 63.982]));
    assert!(!check.keeps(&[63.990, 63.990, 63.9819, 63.982]));
    assert!(!check.keeps(&[64.001, 63.995, 63.995, 63.995]));
    assert!(check.keeps(&[64.0, 63.995, 63.995, 63.995]));
    assert!(!check.keeps(&[63.95, 63.9499, 63.95, 63.95]));
    assert!(!check.keeps(&[63.990, f64::NAN, 63.990, 63.990]));
    assert!(!check.keeps(&[63.990]));
    // At an undersize the limits move with it, and the wear limit with them.
    let check = check_of(&set, 0.25, &readings);
    assert!(check.keeps(&[63.74; 4]) && !check.keeps(&[63.99; 4]) && !check.keeps(&[63.69; 4]));
    set.wear_limit_mm = Some(63.93);
    let check = check_of(&set, 0.25, &readings);
    assert!(check.keeps(&[63.69; 4]) && !check.keeps(&[63.679; 4]));
    // Wear limits of form take the place of those when new, at every undersize; each alone, and the other one stays.
    set.wear_out_of_round_mm = Some(0.020);
    let check = check_of(&set, 0.25, &readings);
    assert!(check.keeps(&[63.74, 63.72, 63.74, 63.72]) && !check.keeps(&[63.74, 63.7199, 63.74, 63.7199]));
    assert!(check.keeps(&[63.74, 63.74, 63.732, 63.732]) && !check.keeps(&[63.74, 63.74, 63.7319, 63.7319]));
    set.wear_taper = Some(TaperLimit { limit: 0.015, per: Per::Journal });
    let check = check_of(&set, 0.25, &readings);
    assert!(check.keeps(&[63.74, 63.74, 63.725, 63.725]) && !check.keeps(&[63.74, 63.74, 63.7249, 63.7249]));
    // A book may have limits for use alone.
    (set.out_of_round_mm, set.taper) = (None, None);
    assert!(!check_of(&set, 0.25, &readings).keeps(&[63.74, 63.7199, 63.74, 63.7199]));
    (set.wear_out_of_round_mm, set.wear_taper) = (None, None);
    // Limits that the book does not state are not judged.
    set.out_of_round_mm = None;
    set.taper = None;
    assert!(check_of(&set, 0.0, &readings).keeps(&[63.95, 64.0, 64.0, 63.95]));
}

/// Source: Ford 3.8 V6 2001: 0.0003 in of taper for each inch of length.
#[test]
fn a_taper_limit_per_length_grows_with_the_span() {
    let inch = |size: f64| size * 25.4;
    let mut set = pins(inch(2.0), inch(2.1));
    set.out_of_round_mm = None;
    set.taper = Some(TaperLimit { limit: 0.0003, per: Per::Length });
    for (apart, taper, kept) in [(1.0, 0.00030, true), (1.0, 0.00031, false), (2.0, 0.0006, true), (0.5, 0.0002, false)]
    {
        let at = |side: f64| reading(side * inch(apart) / 2.0, 0.0, "52");
        let check = check_of(&set, 0.0, &[at(-1.0), at(1.0)]);
        assert_eq!(check.keeps(&[inch(2.05), inch(2.05 - taper)]), kept, "{taper} in over {apart} in");
    }
}

#[test]
fn chances_become_words() {
    assert_eq!(verdict(0.95, 0.95, 0.05), State::Within);
    assert_eq!(verdict(0.05, 0.95, 0.05), State::Outside);
    assert_eq!(verdict(0.949, 0.95, 0.05), State::TooCloseToCall);
    assert_eq!(verdict(f64::NAN, 0.95, 0.05), State::TooCloseToCall);
    assert_eq!(State::TooCloseToCall.to_string(), "too close to call");
}

/// Source: TM 10-3930-653 (forklift): bend 0.05 mm at the most, and the bend is half the dial reading.
#[test]
fn a_bend_limit_allows_twice_as_much_on_the_dial() {
    let judged =
        |read_as, total_mm| run_out_verdict(RunOutLimit { limit_mm: 0.05, read_as }, total_mm, 0.002, 0.95, 0.05);
    assert_eq!(judged(RunOutAs::Bend, 0.08).state, State::Within);
    assert_eq!(judged(RunOutAs::Total, 0.08).state, State::Outside);
    assert_eq!(judged(RunOutAs::Bend, 0.10).state, State::TooCloseToCall);
    assert_eq!(judged(RunOutAs::Bend, 0.12).state, State::Outside);
    close(judged(RunOutAs::Bend, 0.08).in_book_terms_mm, 0.04);
    close(judged(RunOutAs::Bend, 0.08).limit_total_mm, 0.10);
    let sure = run_out_verdict(RunOutLimit { limit_mm: 0.05, read_as: RunOutAs::Total }, 0.05, 0.0, 0.95, 0.05);
    assert_eq!((sure.state, sure.chance), (State::Within, 1.0));
}

/// Readings at three stations and four planes, in microns above 63.9 mm.
fn spots(microns: &[i32]) -> Vec<(f64, f64, f64)> {
    microns
        .iter()
        .enumerate()
        .map(|(n, um)| ((n / 4) as f64 * 10.0 - 10.0, (n % 4) as f64 * 45.0, 63.9 + f64::from(*um) / 1000.0))
        .collect()
}

fn found(spots: &[(f64, f64, f64)]) -> Condition {
    of(spots.iter().map(|(at, plane, size)| reading(*at, *plane, &format!("{size:.4}"))).collect())
}

fn figures(condition: &Condition) -> [f64; 5] {
    let barrel = condition.worst_barrel().map_or(0.0, |(_, barrel)| barrel.barrel_mm().abs());
    [
        condition.mean_mm,
        condition.smallest_mm,
        condition.out_of_round_mm().unwrap(),
        condition.taper_mm().unwrap(),
        barrel,
    ]
}

proptest::proptest! {
    /// The order of the rows does not matter.
    #[test]
    fn the_order_of_readings_does_not_matter(microns in proptest::collection::vec(0i32..100, 12), by in 1usize..12) {
        let spots = spots(&microns);
        let mut turned = spots.clone();
        turned.rotate_left(by);
        turned.swap(0, 11);
        for (a, b) in figures(&found(&spots)).iter().zip(figures(&found(&turned))) {
            proptest::prop_assert!((a - b).abs() < 1e-9);
        }
    }

    /// Where the operator puts the zero mark does not matter, nor does a turn of the crank.
    #[test]
    fn turning_the_crank_does_not_matter(microns in proptest::collection::vec(0i32..100, 12), turn in -720.0f64..720.0) {
        let spots = spots(&microns);
        let turned: Vec<_> = spots.iter().map(|(at, plane, size)| (*at, plane + turn, *size)).collect();
        for (a, b) in figures(&found(&spots)).iter().zip(figures(&found(&turned))) {
            proptest::prop_assert!((a - b).abs() < 1e-9);
        }
    }

    /// The same amount more everywhere moves the sizes by it and leaves the form alone.
    #[test]
    fn a_constant_moves_sizes_and_leaves_form(microns in proptest::collection::vec(0i32..100, 12), more in -50i32..50) {
        let spots = spots(&microns);
        let more = f64::from(more) / 1000.0;
        let moved: Vec<_> = spots.iter().map(|(at, plane, size)| (*at, *plane, size + more)).collect();
        let (before, after) = (figures(&found(&spots)), figures(&found(&moved)));
        for (n, (a, b)) in before.iter().zip(after).enumerate() {
            let wanted = if n < 2 { a + more } else { *a };
            proptest::prop_assert!((b - wanted).abs() < 1e-9, "{n}: {b} {wanted}");
        }
    }

    /// A mirror image, front for rear, has the same condition.
    #[test]
    fn a_mirror_image_has_the_same_condition(microns in proptest::collection::vec(0i32..100, 12)) {
        let spots = spots(&microns);
        let mirrored: Vec<_> = spots.iter().map(|(at, plane, size)| (-at, -plane, *size)).collect();
        for (a, b) in figures(&found(&spots)).iter().zip(figures(&found(&mirrored))) {
            proptest::prop_assert!((a - b).abs() < 1e-9);
        }
    }

    /// The prepared check and the condition agree on what keeps the limits.
    #[test]
    fn the_check_of_drawn_sizes_agrees_with_the_condition(microns in proptest::collection::vec(60i32..110, 12)) {
        let spots = spots(&microns);
        let readings: Vec<Reading> =
            spots.iter().map(|(at, plane, size)| reading(*at, *plane, &format!("{size:.4}"))).collect();
        let mut set = pins(63.97, 64.0);
        set.out_of_round_mm = Some(0.035);
        set.taper = Some(TaperLimit { limit: 0.04, per: Per::Journal });
        let found = condition(&crank_with(set.clone()), &findings(readings.clone()), PIN_1, 0.0).unwrap();
        let kept = found.smallest_mm > 63.97 - 1e-6
            && found.largest_mm < 64.0 + 1e-6
            && found.out_of_round_mm().unwrap() < 0.035 + 1e-6
            && found.taper_mm().unwrap() < 0.04 + 1e-6;
        let drawn: Vec<f64> = sizes(&findings(readings.clone()), PIN_1).iter().map(|size| size.size_mm).collect();
        proptest::prop_assert_eq!(check_of(&set, 0.0, &readings).keeps(&drawn), kept);
    }
}
