//! The specification check against faults: those found in print, and planted ones of every kind.

mod kit;

use crank::{
    Per, PrintedLimit, PrintedSet, PrintedSpecification, RunOutAs, SetName, Severity, Specification, check, check_set,
};
use kit::{IN, MM, bands, fault_keys, faults, four, limit, number, row, sense, six, table, wall_row};
use units::Unit;

/// A sound crank has no faults, and says so without queries either.
#[test]
fn sound_cranks_pass_in_silence() {
    for printed in [four(), six()] {
        assert_eq!(check(&printed), [], "{}", printed.name);
    }
}

/// The cranks with single sizes, side-by-side pins and tight tolerances of an independent set of certified problems:
/// a vee six with pins 23.52 mm apart and 24.4 mm long, limits 0.01 mm, tolerances 0.02 mm and 0.08 degrees.
#[test]
fn a_vee_six_with_single_sizes_passes() {
    let mut printed = six();
    printed.throw = Some(limit("41.0 mm"));
    printed.throw_tolerance = Some(limit("0.02 mm"));
    printed.index_tolerance_deg = Some(0.08);
    for (set, size) in [(&mut printed.main, "69.0-69.0 mm"), (&mut printed.pin, "54.0-54.0 mm")] {
        let undersizes = ["0.25 mm", "0.5 mm", "0.75 mm", "1.0 mm"].into_iter().map(limit).collect();
        *set = PrintedSet {
            size: bands(size),
            undersizes,
            out_of_round: Some(limit("0.01 mm")),
            taper: Some(limit("0.01 mm")),
            ..PrintedSet::default()
        };
    }
    printed.main.count = Some(4);
    printed.main.positions = vec![0.0, 84.0, 168.0, 252.0];
    printed.main.length = Some(limit("32.200000 mm"));
    printed.pin.positions = vec![30.240000000000002, 53.76, 114.24, 137.76, 198.24, 221.76];
    printed.pin.angles_deg = vec![0.0, 300.0, 240.0, 180.0, 120.0, 60.0];
    printed.pin.length = Some(limit("24.400000 mm"));
    printed.treatment = "none".to_owned();
    assert_eq!(check(&printed), []);
}

fn in_set(set: &PrintedSet, unit: Unit) -> Vec<crank::SpecProblem> {
    check_set(set, SetName::Main, unit, &[])
}

/// Asserts exactly one fault, on this key, and that its cause speaks of this.
#[track_caller]
fn one_fault(problems: &[crank::SpecProblem], key: &str, cause: &str) {
    assert_eq!(fault_keys(problems), [key], "{problems:#?}");
    assert!(faults(problems)[0].cause.contains(cause), "{problems:#?}");
}

/// Row 1 of `reference-cases/spec-sheet-errors`: Kia Spectra 1.8 2004, undersizes added to standard.
#[test]
fn row_1_undersizes_that_were_added() {
    let set = table(vec![
        row("0 mm", "54.938-54.956 mm"),
        row("0.25 mm", "55.188-55.206 mm"),
        row("0.50 mm", "55.438-55.456 mm"),
        row("0.75 mm", "55.688-55.706 mm"),
    ]);
    let found = in_set(&set, MM);
    for n in 2..=4 {
        let key = format!("main.step[{n}].size");
        assert_eq!(fault_keys(&found).iter().filter(|found| **found == key).count(), 2, "{found:#?}");
    }
    assert!(faults(&found).iter().all(|problem| problem.cause.contains("added")), "{found:#?}");
}

/// Row 3: TM 10-3930-638-24&P p4-28, rod sizes copied into the table of 2.873 in mains. The rods are those of p4-29.
#[test]
fn row_3_rod_sizes_in_the_table_of_the_mains() {
    let rows = || {
        vec![
            row("0.002 in", "2.2460-2.2470 in"),
            row("0.010 in", "2.2380-2.2390 in"),
            row("0.020 in", "2.2280-2.2290 in"),
            row("0.030 in", "2.2180-2.2190 in"),
        ]
    };
    let mut printed = four();
    printed.main = PrintedSet { size: bands("2.8720-2.8730 in"), steps: rows(), ..printed.main };
    printed.main.undersizes = ["0.002 in", "0.010 in", "0.020 in", "0.030 in"].into_iter().map(limit).collect();
    printed.pin = PrintedSet { size: bands("2.2480-2.2490 in"), steps: rows(), ..printed.pin };
    printed.pin.undersizes.clone_from(&printed.main.undersizes);
    let found = check(&printed);
    let copied: Vec<_> = faults(&found).into_iter().filter(|problem| problem.cause.contains("copied")).collect();
    assert_eq!(copied.len(), 2, "{found:#?}"); // both edges
    assert!(copied.iter().all(|problem| problem.key == "main.size" && problem.cause.contains("pins")), "{found:#?}");
}

/// Row 5: TM 9-2815-225-34&P p183, "add 0.010/0.020/0.030 to the standard wall thickness". The standard wall is that
/// of the 6V-53's rods (TM 9-2815-205-24 p705).
#[test]
fn row_5_a_wall_stepped_by_the_whole_undersize() {
    let set = table(vec![
        wall_row("0 in", "0.1247-0.1252 in"),
        wall_row("0.010 in", "0.1347-0.1352 in"),
        wall_row("0.020 in", "0.1447-0.1452 in"),
        wall_row("0.030 in", "0.1547-0.1552 in"),
    ]);
    let found = in_set(&set, IN);
    assert_eq!(faults(&found).len(), 6, "{found:#?}");
    assert!(faults(&found).iter().all(|problem| problem.cause.contains("whole undersize")), "{found:#?}");
    // One row alone of the four, too.
    let mut one = set;
    one.steps[1].wall = bands("0.1297-0.1302 in");
    one.steps[2].wall = bands("0.1347-0.1352 in");
    let found = in_set(&one, IN);
    assert_eq!(fault_keys(&found), ["main.step[4].wall"; 2], "{found:#?}");
    assert!(found[0].cause.contains("whole undersize"), "{found:#?}");
}

/// Rows 7, 9, 11, 13, 17, 19, 21 and 23: an inch column and a millimetre column that disagree.
#[test]
fn rows_7_to_23_columns_that_disagree() {
    // Row 7: TM 9-2815-225-34&P 2005 p178, main minimum 4.489 in (11.426 cm).
    let set = PrintedSet { wear_limit: Some(limit("4.489 in, 114.26 mm")), ..PrintedSet::default() };
    one_fault(&in_set(&set, IN), "main.wear_limit", "digits"); // 4.489 for 4.498

    // Row 9: TM 9-2815-205-24 p734, 0.1340-0.1345 in (3.421-3.434 mm): the rod table's millimetres.
    let set = PrintedSet { wall: bands("0.1340-0.1345 in, 3.421-3.434 mm"), ..PrintedSet::default() };
    assert_eq!(fault_keys(&in_set(&set, IN)), ["main.wall"; 2]);
    // And 0.1390 (3.548).
    let set = PrintedSet { wall: bands("0.1390- in, 3.548- mm"), ..PrintedSet::default() };
    one_fault(&in_set(&set, IN), "main.wall", "another table");

    // Row 11: TM 9-6115-604-34 Table 1-4, rod clearance from 0.0025 in (0.089 mm).
    let set = PrintedSet { clearance: bands("0.0025-0.0065 in, 0.089-0.165 mm"), ..PrintedSet::default() };
    one_fault(&in_set(&set, IN), "main.clearance", "");

    // Row 13: TM 5-2815-241-34&P p2-216, 0.020 in (0.568 mm) and 0.003 in (0.0076 mm).
    let set = PrintedSet { undersizes: vec![limit("0.020 in, 0.568 mm")], ..PrintedSet::default() };
    one_fault(&in_set(&set, IN), "main.undersizes[1]", "misprinted");
    let set = PrintedSet { taper: Some(limit("0.003 in, 0.0076 mm")), ..PrintedSet::default() };
    one_fault(&in_set(&set, IN), "main.taper", "decimal point");

    // Row 17: TM 5-4320-300-14, 0.002 under main 2.996-2.998 (76.124 mm), against the other manual's neighbours.
    let set = table(vec![
        row("0 in", "2.999-3.000 in"),
        row("0.002 in", "2.996-2.998 in, 76.124- mm"),
        row("0.010 in", "2.989-2.990 in"),
    ]);
    // The columns differ by one in the last place of the inches, which is asked about; the step is what refuses it.
    let found = in_set(&set, IN);
    one_fault(&found, "main.step[2].size", "step from the other rows");
    assert!(found.iter().any(|problem| problem.cause.contains("one in the last place")), "{found:#?}");

    // Row 19: Mercury Sable 3.0 2005, main out-of-round 0.006 mm (0.0082 in).
    let set = PrintedSet { out_of_round: Some(limit("0.006 mm, 0.0082 in")), ..PrintedSet::default() };
    one_fault(&in_set(&set, MM), "main.out_of_round", "misprinted");

    // Row 21: Honda Insight 2000, taper new 0.0025 mm (0.00098 in).
    let set = PrintedSet { taper: Some(limit("0.0025 mm, 0.00098 in")), ..PrintedSet::default() };
    one_fault(&in_set(&set, MM), "main.taper", "decimal point");

    // Row 23: Doosan A2300, main 53.964-53.95 mm [2.2146-2.1240 in], printed high to low.
    let set = PrintedSet { size: bands("53.95-53.964 mm, 2.1240-2.2146 in"), ..PrintedSet::default() };
    let found = in_set(&set, MM);
    one_fault(&found, "main.size", "digits are swapped");
    assert!(faults(&found)[0].expected.contains("2.1246"), "{found:#?}");
    let as_printed = PrintedSet { size: bands("53.964-53.95 mm, 2.2146-2.1240 in"), ..PrintedSet::default() };
    assert!(faults(&in_set(&as_printed, MM)).iter().any(|problem| problem.cause.contains("swapped")));
}

/// Row 15: TM 5-3805-281-24-2, taper "per 25.4 m (1.0 in)". A unit name cannot be typed wrong here, but a taper for
/// 25.4 mm taken for one per millimetre can.
#[test]
fn row_15_a_taper_for_25_4_mm_taken_for_one_per_mm() {
    let set = PrintedSet { taper: Some(sense("0.0025 mm", "length")), ..PrintedSet::default() };
    one_fault(&in_set(&set, MM), "main.taper", "25.4 mm of length");
    let set = PrintedSet { taper: Some(sense("0.0001 in, 0.0025 mm", "length")), ..PrintedSet::default() };
    one_fault(&in_set(&set, IN), "main.taper", "25.4 mm of length");
    let set = PrintedSet { taper: Some(sense("0.0001 in, 0.0001 mm", "length")), ..PrintedSet::default() };
    assert_eq!(in_set(&set, IN), []);
}

/// Row 29: http://www.chevytrucks.org/tech/cranks.htm, growth 0.0005 in but "grind 0.005 in under for it".
#[test]
fn row_29_growth_ten_times_out() {
    let mut printed = four();
    printed.growth_mean = Some(limit("0.005 in"));
    one_fault(&check(&printed), "treatment.growth.mean", "ten times too large");
}

/// Mercedes (survey row without a number here): a wear limit above new size.
#[test]
fn a_wear_limit_above_new_size() {
    let at = |wear: &str| {
        let set =
            PrintedSet { size: bands("2.7490-2.7502 in"), wear_limit: Some(limit(wear)), ..PrintedSet::default() };
        in_set(&set, IN)
    };
    one_fault(&at("2.7510 in"), "main.wear_limit", "above new size");
    // Between the limits: odd. On the low limit and below it: sound (paver diesel, earthmover).
    assert_eq!(at("2.7495 in").iter().map(|problem| problem.severity).collect::<Vec<_>>(), [Severity::Query]);
    assert_eq!(at("2.7490 in"), []);
    assert_eq!(at("2.7486 in"), []);
    one_fault(&at("2.6486 in"), "main.wear_limit", "digit");
    let mut steps = table(vec![row("0 in", "2.7490-2.7502 in"), row("0.010 in", "2.7390-2.7402 in")]);
    steps.steps[1].worn = Some(limit("2.7486 in"));
    one_fault(&in_set(&steps, IN), "main.step[2].worn", "above new size");
}

/// Limits of form in use against those when new: out-of-round 0.00025 and 0.0010 in, taper 0.0005 and 0.0015 in (TM
/// 5-4310-379-14, new and used); 0.008 and 0.025, 0.02 and 0.03 mm (Daewoo D1146).
#[test]
fn wear_limits_of_form_are_held_against_those_when_new() {
    let with = |unit: Unit, round: [&str; 2], taper: [&str; 2]| {
        let set = PrintedSet {
            out_of_round: Some(limit(round[0])),
            wear_out_of_round: Some(limit(round[1])),
            taper: Some(limit(taper[0])),
            wear_taper: Some(limit(taper[1])),
            ..PrintedSet::default()
        };
        in_set(&set, unit)
    };
    assert_eq!(with(IN, ["0.00025 in", "0.0010 in"], ["0.0005 in", "0.0015 in"]), []);
    assert_eq!(with(MM, ["0.008 mm", "0.025 mm"], ["0.02 mm", "0.03 mm"]), []);
    // One limit for both, as the paver diesel has of its sizes.
    assert_eq!(with(IN, ["0.0005 in", "0.0005 in"], ["0.0005 in", "0.0005 in"]), []);
    let tighter = with(IN, ["0.0010 in", "0.00025 in"], ["0.0005 in", "0.0015 in"]);
    one_fault(&tighter, "main.wear_limit.out_of_round", "changed over");
    assert_eq!(tighter[0].confirm, ["main.wear_limit.out_of_round"]);
    one_fault(
        &with(IN, ["0.0005 in", "0.0010 in"], ["0.0015 in", "0.0005 in"]),
        "main.wear_limit.taper",
        "changed over",
    );
    // Out by ten: 0.01 mm possible by itself, ten times its fellow.
    let ten = with(MM, ["0.005 mm", "0.05 mm"], ["0.005 mm", "0.010 mm"]);
    one_fault(&ten, "main.wear_limit.out_of_round", "decimal point");
    // Each is held against its family and its other column as the new ones are.
    let alone = |text: &str| in_set(&PrintedSet { wear_taper: Some(limit(text)), ..PrintedSet::default() }, IN);
    one_fault(&alone("0.010 in"), "main.wear_limit.taper", "ten times too large");
    one_fault(&alone("0.0010 in, 0.254 mm"), "main.wear_limit.taper", "decimal point");
    let set = PrintedSet { wear_taper: Some(sense("0.0003 in", "foot")), ..PrintedSet::default() };
    one_fault(&in_set(&set, IN), "main.wear_limit.taper", "one of these");
    // The other column alone: 0.013 mm is 0.0005 in, rounded.
    assert_eq!(with(IN, ["0.013 mm", "0.0005 in"], ["0.0005 in", "0.013 mm"]), []);
    // Per length against per length only.
    let per = |new: &str, worn: &str| {
        let set = PrintedSet {
            taper: Some(sense(new, "length")),
            wear_taper: Some(sense(worn, "length")),
            ..PrintedSet::default()
        };
        in_set(&set, IN)
    };
    assert_eq!(per("0.0002 in", "0.0003 in"), []);
    one_fault(&per("0.0003 in", "0.0002 in"), "main.wear_limit.taper", "changed over");
}

const MASS: crank::Mass = crank::Mass { kg: 20.0, at_mm: None, most_g_mm: None, grade_mm_s: None, speed_rpm: None };

fn throws(low: &str, high: &str) -> Vec<crank::PrintedBand> {
    vec![crank::PrintedBand { unit: IN, low: Some(number(low)), high: Some(number(high)) }]
}

fn flange(at_mm: f64) -> crank::Feature {
    crank::Feature { name: "flange".to_owned(), at_mm, limit_mm: None, dial: None, face: None }
}

fn rollers(race: &str, clearance: &str, made: &str) -> crank::PrintedRollers {
    crank::PrintedRollers { race: limit(race), clearance: limit(clearance), made: vec![limit(made)] }
}

fn any_size(printed: &mut PrintedSpecification, rollers: crank::PrintedRollers) {
    printed.pin.undersizes.clear();
    printed.pin.any_size = true;
    printed.pin.rollers = Some(rollers);
}

/// What is sound of the same kind: a throw that may only get shorter, the rollers of the worked example of a motorcycle school
/// (race 1.6263, pin 1.2485: 0.1875 and up to 0.0010 over), a flange behind the last main.
#[test]
fn sound_rollers_throws_and_features_are_not_faulted() {
    let mut printed = four();
    printed.throw_limits = throws("-0.0040", "0.0000");
    printed.throw_tolerance = None;
    printed.features = vec![flange(15.0 * 25.4)];
    printed.mass = Some(MASS);
    any_size(&mut printed, rollers("2.2515 in", "0.0010 in", "0.1875 in"));
    assert_eq!(fault_keys(&check(&printed)), Vec::<&str>::new());
    let book = crank::Specification::from_printed(&printed).expect("sound");
    let tolerance = book.throw_tolerance_mm.expect("told");
    assert!((tolerance.low_mm + 0.1016).abs() < 1e-9 && tolerance.high_mm == 0.0, "{tolerance:?}");
    assert!(book.pin.any_size && book.pin.undersizes_mm.is_empty());
}

/// A planted change, and the key that must be faulted.
type Plant = (&'static str, fn(&mut PrintedSpecification));

/// Each of these alone in a sound inch crank must fault its key.
const PLANTED: &[Plant] = &[
    ("throw", |p| p.throw = None),
    ("throw", |p| p.throw = Some(limit("15.000 in"))),
    ("throw", |p| p.throw = Some(limit("0.1500 in"))),
    ("throw", |p| p.throw = Some(limit("38.1 in"))),
    ("throw", |p| p.throw = Some(limit("-1.5 in"))),
    ("throw", |p| p.throw = Some(limit("NaN in"))),
    ("throw_tolerance", |p| p.throw_tolerance = Some(limit("0.0200 in"))),
    ("throw_tolerance", |p| p.throw_tolerance = Some(limit("0.0002 in"))),
    ("throw_tolerance", |p| p.throw_tolerance = Some(limit("-0.002 in"))),
    ("throw_tolerance", |p| p.throw_limits = throws("-0.0200", "0.0000")),
    ("throw_tolerance", |p| p.throw_limits = throws("0.0020", "0.0010")),
    ("throw_tolerance", |p| p.throw_limits = throws("1.4980", "1.5020")),
    ("feature", |p| p.features = vec![flange(71.0 * 25.4)]),
    ("mass.at", |p| p.mass = Some(crank::Mass { kg: 20.0, at_mm: Some(-1.0), ..MASS })),
    ("pin.undersizes", |p| p.pin.rollers = Some(rollers("2.2510 in", "0.0010 in", "0.1875 in"))),
    ("pin.rollers.race", |p| any_size(p, rollers("1.8740 in", "0.0010 in", "0.1875 in"))),
    ("pin.rollers.clearance", |p| any_size(p, rollers("2.2510 in", "0.1000 in", "0.1875 in"))),
    ("pin.rollers.made[1]", |p| any_size(p, rollers("2.2510 in", "0.0010 in", "0.0008 in"))),
    ("index_tolerance", |p| p.index_tolerance_deg = Some(2.5)),
    ("index_tolerance", |p| p.index_tolerance_deg = Some(0.025)),
    ("index_tolerance", |p| p.index_tolerance_deg = Some(f64::INFINITY)),
    ("index_tolerance", |p| p.index_tolerance_deg = Some(-0.25)),
    ("main.size", |p| p.main.size.clear()),
    ("main.size", |p| p.main.size = bands("2.1250-2.1245 in")),
    ("main.size", |p| p.main.size = bands("53.962-53.975 in")),
    ("main.size", |p| p.main.size = bands("21.245-21.250 in")),
    ("main.size", |p| p.main.size = bands("0.21245-0.21250 in")),
    ("main.size", |p| p.main.size = bands("2.1145-2.1250 in")),
    ("main.size", |p| p.main.size = bands("0.0-0.0 in")),
    ("main.size", |p| p.main.size = bands("inf-inf in")),
    ("main.size", |p| p.main.size = bands("2.1245-2.1250 in, 54.962-54.975 mm")),
    ("pin.size", |p| p.pin.size = bands("47.612-47.625 in")),
    ("main.positions", |p| p.main.positions.clear()),
    ("main.positions", |p| p.main.positions = vec![0.0, 3.2, 6.4, 9.6]),
    ("main.positions[3]", |p| p.main.positions = vec![0.0, 3.2, 0.64, 9.6, 12.8]),
    ("main.positions[2]", |p| p.main.positions = vec![0.0, 0.0, 6.4, 9.6, 12.8]),
    ("main.positions[2]", |p| p.main.positions = vec![0.0, 81.28, 162.56, 243.84, 325.12]),
    ("pin.positions[4]", |p| p.pin.positions = vec![1.6, 4.8, 8.0, f64::NAN]),
    ("main.count", |p| p.main.count = Some(0)),
    ("main.count", |p| p.main.count = Some(-5)),
    ("main.count", |p| p.main.count = Some(5000)),
    ("pin.angles", |p| p.pin.angles_deg.clear()),
    ("pin.angles", |p| p.pin.angles_deg = vec![0.0, 180.0, 180.0]),
    ("pin.angles", |p| p.pin.angles_deg = vec![0.0, 3.15, 3.15, 0.0]),
    ("pin.angles[2]", |p| p.pin.angles_deg = vec![0.0, f64::NAN, 180.0, 0.0]),
    ("pin.angles[2]", |p| p.pin.angles_deg = vec![0.0, 1800.0, 180.0, 0.0]),
    ("main.length", |p| p.main.length = None),
    ("main.length", |p| p.main.length = Some(limit("11.0 in"))),
    ("main.length", |p| p.main.length = Some(limit("0.11 in"))),
    ("main.length", |p| p.main.length = Some(limit("27.94 in"))),
    ("main.out_of_round", |p| p.main.out_of_round = Some(limit("0.0050 in"))),
    ("main.out_of_round", |p| p.main.out_of_round = Some(limit("0.00005 in"))),
    ("main.out_of_round", |p| p.main.out_of_round = Some(limit("0.0127 in"))),
    ("main.out_of_round", |p| p.main.out_of_round = Some(limit("0 in"))),
    ("main.out_of_round", |p| p.main.out_of_round = Some(limit("-0.0005 in"))),
    ("pin.taper", |p| p.pin.taper = Some(limit("0.0050 in"))),
    ("pin.taper", |p| p.pin.taper = Some(limit("0.00005 in"))),
    ("pin.taper", |p| p.pin.taper = Some(sense("0.003 in", "length"))),
    ("pin.taper", |p| p.pin.taper = Some(sense("0.00002 in", "length"))),
    ("pin.taper", |p| p.pin.taper = Some(sense("0.0005 in", "foot"))),
    ("pin.taper", |p| p.pin.taper = Some(PrintedLimit { columns: Vec::new(), sense: None, source: None })),
    ("main.run_out", |p| p.main.run_out = Some(limit("0.0200 in"))),
    ("main.run_out", |p| p.main.run_out = Some(limit("0.0002 in"))),
    ("main.run_out", |p| p.main.run_out = Some(sense("0.0100 in", "bend"))),
    ("main.run_out", |p| p.main.run_out = Some(sense("0.0020 in", "half"))),
    ("main.smallest", |p| p.main.smallest = Some(limit("2.0940 in"))),
    ("pin.size", |p| p.pin.size = bands("1.8705-1.8750 in")), // 1.8745 with two digits changed over
    ("main.smallest", |p| p.main.smallest = Some(limit("2.2840 in"))),
    ("main.smallest", |p| p.main.smallest = Some(limit("1.0840 in"))),
    ("main.smallest", |p| p.main.smallest = Some(limit("52.934 in"))),
    ("main.wear_limit", |p| p.main.wear_limit = Some(limit("0.0010 in"))),
    ("main.fillet", |p| p.main.fillet = bands("0.90-1.10 in")),
    ("main.fillet", |p| p.main.fillet = bands("0.009-0.011 in")),
    ("main.fillet", |p| p.main.fillet = bands("0.110-0.090 in")),
    ("main.fillet", |p| p.main.fillet = bands("2.3-2.8 in")),
    ("main.roughness", |p| p.main.roughness = Some(limit("0.000100 in"))),
    ("main.roughness", |p| p.main.roughness = Some(limit("0.000001 in"))),
    ("main.roughness", |p| p.main.roughness = Some(limit("120 in"))),
    ("main.housing", |p| p.main.housing = bands("2.1205-2.1210 in")),
    ("main.wall", |p| p.main.wall = bands("0.717-0.719 in")),
    ("main.wall", |p| p.main.wall = bands("0.00717-0.00719 in")),
    ("main.wall", |p| p.main.wall = bands("0.0727-0.0729 in")), // no clearance would be left
    ("main.wall", |p| p.main.wall = bands("0.0697-0.0699 in")),
    ("main.wall", |p| p.main.wall = bands("0.0617-0.0719 in")),
    ("main.housing", |p| p.main.housing = bands("2.2705-2.2910 in")),
    ("main.clearance", |p| p.main.clearance = bands("0.017-0.031 in")),
    ("main.clearance", |p| p.main.clearance = bands("0.00017-0.00031 in")),
    ("main.clearance", |p| p.main.clearance = bands("0.0017-0.031 in")),
    ("main.clearance", |p| p.main.clearance = bands("0.00017-0.0031 in")),
    ("main.undersizes[1]", |p| {
        p.main.undersizes = ["0.001 in", "0.020 in", "0.030 in", "0.040 in", "0.060 in"].map(limit).to_vec();
        p.main.smallest = None;
    }),
    ("pin.positions[1]", |p| p.pin.positions[0] = 0.16),
    ("pin.positions[4]", |p| p.pin.positions[3] = 112.0),
    ("main.thrust", |p| p.main.thrust = bands("0.040-0.100 in")),
    ("main.thrust", |p| p.main.thrust = bands("0.0004-0.0010 in")),
    ("main.thrust", |p| p.main.thrust = bands("0.040-0.010 in")),
    ("main.case_depth", |p| p.main.case_depth = bands("0.18-0.26 in")),
    ("main.case_depth", |p| p.main.case_depth = bands("0.0018-0.0026 in")),
    ("treatment.growth.mean", |p| p.growth_mean = Some(limit("0.00005 in"))),
    ("treatment.growth.mean", |p| p.growth_mean = Some(limit("-0.0005 in"))),
    ("treatment.growth.mean", |p| p.growth_mean = Some(limit("0.0127 in"))),
    ("treatment.growth.sd", |p| p.growth_sd = Some(limit("0.0010 in"))),
    ("treatment.growth.sd", |p| p.growth_sd = Some(limit("-0.0001 in"))),
    ("main.undersizes[1]", |p| p.main.undersizes[0] = limit("-0.010 in")),
    ("main.undersizes[2]", |p| p.main.undersizes[0] = limit("0.10 in")),
    ("main.undersizes[1]", |p| p.main.undersizes[0] = limit("0.001 in")),
    ("main.undersizes[4]", |p| p.main.undersizes[3] = limit("0.40 in")),
    ("main.undersizes[2]", |p| p.main.undersizes[1] = limit("0.010 in")),
    ("main.undersizes[3]", |p| p.main.undersizes.swap(1, 2)),
    ("main.undersizes[1]", |p| p.main.undersizes = vec![limit("0.10 in"), limit("0.20 in")]),
    ("main.undersizes[1]", |p| p.main.undersizes = vec![limit("0.001 in"), limit("0.002 in")]),
    ("main.undersizes[1]", |p| p.main.undersizes = vec![limit("0.25 in"), limit("0.50 in")]),
    ("main.undersizes[1]", |p| p.main.undersizes = vec![limit("10 in"), limit("20 in")]),
    ("main.undersizes[1]", |p| p.main.undersizes = vec![limit("2.115 in"), limit("2.125 in")]),
    ("main.undersizes[1]", |p| p.main.undersizes[0] = limit("0.010 in, 0.30 mm")),
    ("main.undersizes[1]", |p| p.main.undersizes[0] = limit("0.010 in, 0.025 mm")),
    ("main.step[2].size", |p| {
        p.main.steps = vec![row("0 in", "2.1245-2.1250 in"), row("0.010 in", "2.1145-2.1510 in")]
    }),
    ("main.step[1].size", |p| p.main.steps = vec![row("0.010 in", "2.1045-2.1050 in")]),
    ("main.step[2].undersize", |p| p.main.steps = vec![row("0.010 in", "2.1145-2.1150 in"), row("0.010 in", "")]),
];

#[test]
fn every_planted_fault_is_found_under_its_key() {
    for (n, (key, plant)) in PLANTED.iter().enumerate() {
        let mut printed = four();
        plant(&mut printed);
        let found = check(&printed);
        assert!(fault_keys(&found).contains(key), "plant {n}, {key}: {found:#?}");
        assert!(Specification::from_printed(&printed).is_err(), "plant {n}, {key}");
        let clear = found.iter().all(|p| !p.found.is_empty() && !p.expected.is_empty() && !p.cause.is_empty());
        assert!(clear, "plant {n}, {key}: {found:#?}");
    }
}

/// Metric counterparts, where units play a part.
#[test]
fn planted_metric_faults_are_found_under_their_keys() {
    let planted: &[Plant] = &[
        ("main.size", |p| p.main.size = bands("3.1488-3.1496 mm")),
        ("main.undersizes[1]", |p| p.main.undersizes = ["0.010 mm", "0.020 mm", "0.030 mm"].map(limit).to_vec()),
        ("main.undersizes[1]", |p| p.main.undersizes = vec![limit("2.5 mm"), limit("5.0 mm")]),
        ("main.undersizes[1]", |p| p.main.undersizes[0] = limit("0.025 mm")),
        ("main.undersizes[3]", |p| p.main.undersizes[2] = limit("0.57 mm, 0.030 in")),
        ("main.out_of_round", |p| p.main.out_of_round = Some(limit("0.2 mm"))),
        ("main.out_of_round", |p| p.main.out_of_round = Some(limit("0.002 mm"))),
        ("main.out_of_round", |p| p.main.out_of_round = Some(limit("20 mm"))),
        ("pin.taper", |p| p.pin.taper = Some(limit("0.0015 mm"))),
        ("pin.taper", |p| p.pin.taper = Some(limit("0.15 mm"))),
        ("main.run_out", |p| p.main.run_out = Some(sense("0.4 mm", "bend"))),
        ("main.run_out", |p| p.main.run_out = Some(sense("0.004 mm", "bend"))),
        ("main.clearance", |p| p.main.clearance = bands("0.50-1.16 mm")),
        ("main.thrust", |p| p.main.thrust = bands("1.0-2.8 mm")),
        ("main.fillet", |p| p.main.fillet = bands("33-37 mm")),
        ("main.roughness", |p| p.main.roughness = Some(limit("0.003 mm"))),
        ("main.case_depth", |p| p.main.case_depth = bands("15-25 mm")),
        ("throw_tolerance", |p| p.throw_tolerance = Some(limit("0.5 mm"))),
        ("throw_tolerance", |p| p.throw_tolerance = Some(limit("0.005 mm"))),
        ("index_tolerance", |p| p.index_tolerance_deg = Some(2.0)),
        ("index_tolerance", |p| p.index_tolerance_deg = Some(0.02)),
        ("main.positions[2]", |p| p.main.positions.iter_mut().for_each(|at| *at /= 25.4)),
    ];
    for (n, (key, plant)) in planted.iter().enumerate() {
        let mut printed = six();
        plant(&mut printed);
        let found = check(&printed);
        assert!(fault_keys(&found).contains(key), "plant {n}, {key}: {found:#?}");
    }
}

/// Odd but possible: carried along, and no more than that.
#[test]
fn odd_but_possible_values_are_queried_only() {
    let odd: &[Plant] = &[
        ("main.run_out", |p| p.main.run_out = Some(limit("0.0075 in"))), // 0.19 mm; BMW M54's 0.20 is in doubt
        ("main.roughness", |p| p.main.roughness = Some(limit("10 in"))), // microinches as they stand
        ("main.size", |p| p.main.size = bands("2.1245- in")),
        ("main.size", |p| {
            p.main.size = bands("2.1181-2.1250 in");
            p.pin.size = bands("1.8681-1.8750 in");
        }),
        ("pin.angles", |p| p.pin.angles_deg = vec![0.0, 18.0, 180.0, 0.0]),
        ("throw", |p| p.throw = Some(limit("3.0 in"))),
        ("treatment.kind", |p| p.treatment = "nitridng".to_owned()),
        ("treatment.growth", |p| p.treatment = "none".to_owned()),
        ("treatment.growth", |p| p.treatment = "induction".to_owned()),
        ("treatment.growth.sd", |p| p.growth_sd = Some(limit("0.0003 in"))),
        ("main.positions[2]", |p| p.main.positions = vec![0.0, 0.5, 6.4, 9.6, 12.8]),
        ("pin.positions[1]", |p| p.pin.positions[0] = 0.4),
        ("pin.positions[1]", |p| p.pin.positions[0] = -1.6),
        ("main.angles", |p| p.main.angles_deg = vec![0.0; 5]),
        ("pin.run_out", |p| p.pin.run_out = Some(limit("0.002 in"))),
        ("main.step[1].undersize", |p| p.main.steps = vec![row("0.002 in", "2.1225-2.1230 in")]),
    ];
    for (n, (key, plant)) in odd.iter().enumerate() {
        let mut printed = four();
        printed.main.smallest = None;
        printed.main.case_depth.clear();
        plant(&mut printed);
        let found = check(&printed);
        assert_eq!(fault_keys(&found), [""; 0], "odd {n}, {key}: {found:#?}");
        assert!(found.iter().any(|problem| problem.key == *key), "odd {n}, {key}: {found:#?}");
        assert!(Specification::from_printed(&printed).is_ok(), "odd {n}, {key}");
    }
}

/// Confirming a key lets an odd value through, never a contradiction.
#[test]
fn confirming_lets_the_odd_through_but_no_contradiction() {
    let mut printed = four();
    printed.main.taper = Some(limit("0.0050 in"));
    printed.main.size = bands("2.1250-2.1245 in");
    assert_eq!(fault_keys(&check(&printed)), ["main.size", "main.taper", "main.taper"].as_slice()[..].to_vec());
    printed.confirmed = vec!["main.taper".to_owned(), "main.size".to_owned()];
    let found = check(&printed);
    assert_eq!(fault_keys(&found), ["main.size"], "{found:#?}");
    assert!(found.iter().any(|problem| problem.key == "main.taper" && problem.severity == Severity::Query));
}

/// The line that must be typed is spelt out, with the keys that stand there already; a contradiction has none.
#[test]
fn a_fault_that_can_be_confirmed_says_what_to_type() {
    let mut printed = four();
    printed.main.taper = Some(limit("0.0050 in"));
    printed.main.size = bands("2.1250-2.1245 in");
    printed.confirmed = vec!["pin.taper".to_owned()];
    let found = check(&printed);
    let line = |key: &str| found.iter().find(|problem| problem.key == key).and_then(crank::SpecProblem::confirm_line);
    assert_eq!(line("main.taper").as_deref(), Some("confirmed = [\"pin.taper\", \"main.taper\"]"));
    assert_eq!(line("main.size"), None);
    // What it says to type is what lets it through.
    printed.main.size = bands("2.1245-2.1250 in");
    printed.confirmed = found.iter().find(|problem| problem.key == "main.taper").unwrap().confirm.clone();
    assert_eq!(fault_keys(&check(&printed)), [""; 0]);
    let said = found.iter().find(|problem| problem.key == "main.taper").unwrap().to_string();
    assert!(said.contains("write confirmed = [\"pin.taper\", \"main.taper\"] at the top"), "{said}");
}

/// Ladders that are in print, however uneven.
///
/// Sources: Dodge Viper; Subaru; Lycoming; TM 5-3805-260 (earthmover); TM 10-3930-641 (container handler); John Deere TM
/// 5-3805-281; TM 5-4310-354 (the longest); Detroit 53. The last is a shop's usual stock of shells: common practice, no
/// source.
#[test]
fn ladders_in_print_pass() {
    let ladders: [(Unit, &[f64]); 9] = [
        (IN, &[0.001, 0.002, 0.003, 0.010, 0.012, 0.020]),
        (MM, &[0.03, 0.05, 0.25]),
        (IN, &[0.003, 0.006, 0.010]),
        (IN, &[0.010, 0.020, 0.050]),
        (IN, &[0.025, 0.050]),
        (MM, &[0.292, 0.552]),
        (IN, &[0.010, 0.020, 0.030, 0.040, 0.060]),
        (IN, &[0.002, 0.010, 0.020, 0.030]),
        (IN, &[0.001, 0.010, 0.020]),
    ];
    for (unit, ladder) in ladders {
        let undersizes = ladder.iter().map(|step| limit(&format!("{step:.3} {unit}"))).collect();
        let size = if unit == IN { "2.4990-2.5000 in" } else { "59.980-60.000 mm" };
        let set = PrintedSet { size: bands(size), undersizes, ..PrintedSet::default() };
        assert_eq!(in_set(&set, unit), [], "{ladder:?}");
    }
}

/// Everything at once, with the book of each limit.
#[test]
fn all_problems_are_listed_with_their_source() {
    let mut printed = four();
    printed.throw = None;
    printed.pin.angles_deg.clear();
    printed.main.out_of_round = Some(PrintedLimit { source: Some("the maker's book".to_owned()), ..limit("0.005 in") });
    let found = check(&printed);
    for key in ["throw", "pin.angles", "main.out_of_round"] {
        assert!(fault_keys(&found).contains(&key), "{found:#?}");
    }
    let odd = found.iter().find(|problem| problem.key == "main.out_of_round").unwrap();
    assert_eq!(odd.source.as_deref(), Some("the maker's book"));
    assert!(odd.to_string().starts_with("main.out_of_round: found 0.005 in, expected an out-of-round limit"), "{odd}");
}

/// Standard with a band of its own about the same middle is odd but sound, where two rows or more stand against it
/// (rods of the container handler engine, TM 10-3930-641-34-1). An undersize row with a band of its own is a fault.
#[test]
fn unequal_bands_are_faults_except_at_standard() {
    let rods = |first: &str, last: &str| {
        in_set(&table(vec![row("0 in", first), row("0.025 in", "3.7945-3.7955 in"), row("0.050 in", last)]), IN)
    };
    let as_printed = rods("3.8192-3.8208 in", "3.7695-3.7705 in");
    assert_eq!(as_printed.len(), 1, "{as_printed:#?}");
    assert_eq!((as_printed[0].key.as_str(), as_printed[0].severity), ("main.step[1].size", Severity::Query));
    assert_eq!(fault_keys(&rods("3.8195-3.8205 in", "3.7692-3.7708 in")), ["main.step[3].size"; 2]);
    assert_eq!(fault_keys(&rods("3.8195-3.8208 in", "3.7695-3.7705 in")), ["main.step[1].size"]);
    let two = table(vec![row("0 in", "3.8195-3.8205 in"), row("0.025 in", "3.7942-3.7958 in")]);
    assert_eq!(fault_keys(&in_set(&two, IN)), ["main.step[2].size"; 2]);
}

/// 0.25 mm is not 0.010 in ("midwest-bayless", readme on undersizes): 0.004 mm apart. Seen only where rows are fine enough.
#[test]
fn metric_steps_under_inch_names_are_queried() {
    let set = table(vec![
        row("0 in", "2.4990-2.5000 in"),
        row("0.010 in", "2.4892-2.4902 in"),
        row("0.020 in", "2.4793-2.4803 in"),
    ]);
    let found = in_set(&set, IN);
    assert_eq!(fault_keys(&found), [""; 0], "{found:#?}");
    assert!(found.iter().any(|problem| problem.cause.contains("0.25 mm is not 0.010 in")), "{found:#?}");
}

/// The document's own column counts; senses are kept; directions count from the first throw.
#[test]
fn a_specification_is_converted_to_millimetres() {
    let mut printed = four();
    printed.main.size = bands("53.962-53.975 mm, 2.1245-2.1250 in");
    printed.main.taper = Some(sense("0.0003 in, 0.0003 mm", "length"));
    printed.main.run_out = Some(sense("0.001 in", "bend"));
    printed.pin.angles_deg = vec![90.0, 270.0, 270.0, 90.0];
    printed.pin.wear_limit = Some(limit("1.8735 in"));
    printed.pin.wear_out_of_round = Some(limit("0.0010 in"));
    printed.main.wear_taper = Some(sense("0.0004 in", "length"));
    let made = Specification::from_printed(&printed).unwrap();
    // Tolerance: one rounding of a product, below 1e-14 of the value.
    let close = |a: f64, b: f64| (a - b).abs() < 1e-12;
    assert!(close(made.main.size.low_mm, 53.9623) && close(made.main.size.high_mm, 53.975), "{:?}", made.main.size);
    assert_eq!((made.main.taper.unwrap().limit, made.main.taper.unwrap().per), (0.0003, Per::Length));
    assert_eq!(made.main.run_out.unwrap().read_as, RunOutAs::Bend);
    assert!(close(made.main.run_out.unwrap().total_mm(), 0.0508));
    assert_eq!(made.pin.angles_deg, [0.0, 180.0, 180.0, 0.0]);
    assert!(close(made.throw_mm, 38.1) && close(made.pin.undersizes_mm[3], 1.016));
    assert!(close(made.pin.wear_limit_mm.unwrap(), 47.5869));
    assert!(close(made.pin.wear_out_of_round_mm.unwrap(), 0.0254));
    assert_eq!((made.main.wear_taper.unwrap().limit, made.main.wear_taper.unwrap().per), (0.0004, Per::Length));
    // Where nothing is said of use, the limits when new hold.
    assert_eq!(
        (made.pin.taper_in_use(), made.main.out_of_round_in_use_mm()),
        (made.pin.taper, made.main.out_of_round_mm)
    );
    assert_eq!(
        (made.main.taper_in_use(), made.pin.out_of_round_in_use_mm()),
        (made.main.wear_taper, made.pin.wear_out_of_round_mm)
    );
    assert!(made.treatment.after_grinding && close(made.treatment.growth_mean_mm, 0.0127));
    let made = Specification::from_printed(&six()).unwrap();
    assert!(!made.treatment.after_grinding && made.treatment.growth_mean_mm == 0.0);
    assert_eq!(made.pin.angles_deg, [0.0, 120.0, 240.0, 240.0, 120.0, 0.0]);
}

/// The table stands in for the lines that were not typed.
#[test]
fn a_table_gives_size_and_undersizes_where_they_are_not_listed() {
    let mut printed = four();
    printed.main.size.clear();
    printed.main.undersizes.clear();
    printed.main.smallest = None;
    printed.main.steps = vec![row("0 in", "2.1245-2.1250 in"), row("0.010 in", "2.1145-2.1150 in")];
    let made = Specification::from_printed(&printed).unwrap_or_else(|found| panic!("{found:#?}"));
    assert_eq!(made.main.undersizes_mm.len(), 1);
    assert!((made.main.size.high_mm - 53.975).abs() < 1e-12);
}

proptest::proptest! {
    /// No printed number brings the check down.
    #[test]
    fn no_number_panics(value in proptest::num::f64::ANY, decimals in 0u32..400, which in 0usize..15) {
        let mut printed = four();
        let number = crank::PrintedNumber { value, decimals };
        let odd = PrintedLimit { columns: vec![(IN, number.clone()), (MM, number.clone())], sense: None, source: None };
        let band = vec![crank::PrintedBand { unit: IN, low: Some(number.clone()), high: Some(number) }];
        match which {
            0 => printed.throw = Some(odd),
            1 => printed.main.taper = Some(PrintedLimit { sense: Some("length".to_owned()), ..odd }),
            2 => printed.main.undersizes[1] = odd,
            3 => printed.main.size = band,
            4 => printed.main.clearance = band,
            5 => printed.main.positions[2] = value,
            6 => printed.pin.angles_deg[1] = value,
            7 => printed.index_tolerance_deg = Some(value),
            8 => printed.growth_sd = Some(odd),
            9 => printed.main.steps = vec![row("0 in", "2.1245-2.1250 in"), crank::PrintedStep { undersize: odd.clone(), size: band.clone(), wall: band, worn: Some(odd), source: None }],
            10 => printed.main.housing = band,
            11 => printed.main.wear_out_of_round = Some(odd),
            12 => printed.main.wear_taper = Some(PrintedLimit { sense: Some("length".to_owned()), ..odd }),
            13 => printed.main.wall = vec![
                crank::PrintedBand { unit: MM, ..band[0].clone() },
                crank::PrintedBand { high: Some(crank::PrintedNumber { value: value * 1.001, decimals }), ..band[0].clone() },
            ],
            _ => printed.main.smallest = Some(odd),
        }
        let _ = check(&printed);
        let _ = Specification::from_printed(&printed);
    }

    /// A table shifted as a whole, or in the other unit's company, is judged the same.
    #[test]
    fn an_exact_table_is_sound_at_any_size(tenths in 10_000i64..60_000, band in 1i64..25, rows in 1i64..5) {
        let at = |undersize: i64| {
            let (low, high) = (tenths - band - undersize * 100, tenths - undersize * 100);
            let size = format!("{:.4}-{:.4} in", low as f64 / 1e4, high as f64 / 1e4);
            row(&format!("{:.3} in", undersize as f64 / 100.0), &size)
        };
        let set = table((0..=rows).map(at).collect());
        let found = in_set(&set, IN);
        proptest::prop_assert_eq!(fault_keys(&found), [""; 0].to_vec());
    }
}
