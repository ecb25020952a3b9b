//! An inch column and a millimetre column that nearly agree: what is asked about, and what is refused.

mod kit;

use crank::{PrintedSet, SetName, Severity, SpecProblem, check_set};
use kit::{IN, MM, bands, fault_keys, limit};
use units::Unit;

fn in_set(set: &PrintedSet, unit: Unit) -> Vec<SpecProblem> {
    check_set(set, SetName::Main, unit, &[])
}

/// Asserts exactly one fault, on this key, and that its cause speaks of this.
#[track_caller]
fn one_fault(problems: &[SpecProblem], key: &str, cause: &str) {
    assert_eq!(fault_keys(problems), [key], "{problems:#?}");
    assert!(kit::faults(problems)[0].cause.contains(cause), "{problems:#?}");
}

/// One unit in the last place between the columns is asked about, not refused; two are refused, and so is one that makes
/// another limit of it.
#[test]
fn one_in_the_last_place_between_columns_is_queried() {
    let at = |size: &str| in_set(&PrintedSet { size: bands(size), ..PrintedSet::default() }, IN);
    let queried = |found: &[SpecProblem], cause: &str| {
        let [one] = found else { panic!("{found:#?}") };
        assert_eq!((one.key.as_str(), one.severity), ("main.size", Severity::Query), "{found:#?}");
        assert!(one.cause.contains(cause), "{found:#?}");
    };
    // 2.4980 in is 63.4492 mm: 63.45 rounded, 63.44 cut off and one out, 63.43 two out.
    assert_eq!(at("2.4980- in, 63.45- mm"), [], "{:#?}", at("2.4980- in, 63.45- mm"));
    queried(&at("2.4980- in, 63.44- mm"), "one in the last place");
    one_fault(&at("2.4980- in, 63.43- mm"), "main.size", "misprinted");
    // TM 5-4320-300-14 by itself: 76.124 mm is 2.997 in, and 2.996 is printed.
    queried(&at("2.996- in, 76.124- mm"), "the figure in inches counts here");
    // A decimal point out in a limit of one digit is one in the last place too, and no rounding: 0.0025 mm is 0.0001 in.
    let taper = |text: &str| in_set(&PrintedSet { taper: Some(limit(text)), ..PrintedSet::default() }, IN);
    one_fault(&taper("0.001 in, 0.0025 mm"), "main.taper", "decimal point");
    let found = taper("0.0005 in, 0.015 mm"); // 0.00059 in
    assert_eq!(found.iter().map(|problem| problem.severity).collect::<Vec<_>>(), [Severity::Query], "{found:#?}");
}

/// A column coarser than its band: mains of 3.123 to 3.124 in beside 79.34 to 79.36 mm (TM 9-2815-255-24, last row of
/// `reference-cases/us-manuals`).
#[test]
fn a_column_coarser_than_its_band_is_queried() {
    let at = |unit: Unit, size: &str| in_set(&PrintedSet { size: bands(size), ..PrintedSet::default() }, unit);
    let queried = |found: &[SpecProblem]| {
        let [one] = found else { panic!("{found:#?}") };
        assert_eq!((one.key.as_str(), one.severity), ("main.size", Severity::Query), "{found:#?}");
        assert!(one.cause.contains("coarse"), "{found:#?}");
        one.clone()
    };
    // By hand: 79.34 / 25.4 = 3.12362, 79.36 / 25.4 = 3.12441; 3.123 in is 79.3242 mm, 0.0158 below.
    let in_inches = queried(&at(IN, "3.123-3.124 in, 79.34-79.36 mm"));
    assert_eq!(in_inches.expected, "79.34 mm to 79.36 mm is 3.1236 in to 3.1244 in");
    assert!(in_inches.cause.contains("0.0158 mm") && in_inches.cause.contains("counts here; if"), "{in_inches:#?}");
    assert!(queried(&at(MM, "3.123-3.124 in, 79.34-79.36 mm")).cause.contains("the other column counts here"));
    // Millimetres to two places widen a band of half a thou; to three they do not.
    queried(&at(IN, "2.1245-2.1250 in, 53.96-53.98 mm"));
    assert_eq!(at(IN, "2.1245-2.1250 in, 53.962-53.975 mm"), []);
    // Coarse inches that are the book's own, with their exact conversion beside them, lose nothing.
    assert_eq!(at(IN, "2.499-2.500 in, 63.475-63.500 mm"), []);
    // Any band with both columns, not only sizes.
    let set = PrintedSet { wall: bands("0.0717-0.0719 in, 1.82-1.83 mm"), ..PrintedSet::default() };
    assert_eq!(in_set(&set, IN).iter().map(|problem| problem.key.as_str()).collect::<Vec<_>>(), ["main.wall"]);
}
