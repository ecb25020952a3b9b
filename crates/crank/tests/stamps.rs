//! Stamps held against the ladder and the sizes. That a set is ground to one undersize and carries a stamp of it, and
//! that single journals leave some factories undersize with a stamp of their own, is common practice; the arithmetic is
//! subtraction: an undersize stands on the diameter, so a pin of 1.8745 to 1.8750 in ground 0.010 under is 1.8645 to 1.8650.

mod kit;

use crank::{Findings, JournalId, Reading, SetName, Specification, Stamp, not_as_stamped, suspicions};
use gauge::Instrument;
use units::Unit;

fn pin(number: usize) -> JournalId {
    JournalId { set: SetName::Pin, number }
}

fn set(undersize_in: f64) -> Stamp {
    Stamp { set: SetName::Pin, journal: None, undersize_mm: undersize_in * 25.4 }
}

fn one(number: usize, undersize_in: f64) -> Stamp {
    Stamp { journal: Some(pin(number)), ..set(undersize_in) }
}

/// Pins of the Tarn four with these sizes, in inches, and what is said about the stamps.
fn said(sizes: &[(usize, &str)], stamps: &[Stamp]) -> Vec<String> {
    let book = Specification::from_printed(&kit::four()).unwrap();
    let readings = sizes.iter().map(|(number, size)| Reading {
        journal: pin(*number),
        at_mm: 0.0,
        plane_deg: 0.0,
        sizes: vec![units::read(size, Unit::Inch).unwrap()],
        with: 0,
    });
    let findings = Findings {
        instruments: vec![Instrument::shop_default(Unit::Inch)],
        readings: readings.collect(),
        stamps: stamps.to_vec(),
        ..Findings::default()
    };
    let against = not_as_stamped(&book, &findings, Unit::Inch);
    // Whoever asks about the readings hears the same, as a question: no reading is accused by a stamp.
    let all = suspicions(&book, &findings, Unit::Inch);
    for one in &against {
        assert!(all.iter().any(|known| known.says == one.says && !known.accuses()), "{}", one.says);
    }
    against.into_iter().map(|one| one.says).collect()
}

#[test]
fn a_stamp_that_the_sizes_bear_out_is_not_spoken_of() {
    assert_eq!(said(&[(1, "1.8648"), (2, "1.8641")], &[set(0.010)]), [""; 0]);
    assert_eq!(said(&[(1, "1.8747")], &[set(0.0)]), [""; 0]);
    // Nothing measured, nothing contradicted.
    assert_eq!(said(&[], &[set(0.030)]), [""; 0]);
    // 1.8652 is 0.0002 over ten under: worn standard after 0.0093 of wear, or ten under ground large. Both may be stamped.
    assert_eq!(said(&[(1, "1.8652")], &[set(0.0)]), [""; 0]);
    assert_eq!(said(&[(1, "1.8652")], &[set(0.010)]), [""; 0]);
}

#[test]
fn a_journal_larger_than_its_stamp_allows_is_said() {
    let says = said(&[(1, "1.8648"), (2, "1.8640")], &[set(0.020)]);
    assert_eq!(
        says,
        [
            "The pins are stamped 0.020 in under, but the largest size found is 1.8648 in, and a journal ground to that is \
          1.8550 at the most. Read the stamp again, and measure again."
        ]
    );
}

#[test]
fn a_set_smaller_than_its_stamp_is_said_with_what_fits_better() {
    let says = said(&[(1, "1.8648"), (2, "1.8640")], &[set(0.0)]);
    assert_eq!(
        says,
        [
            "The pins are stamped standard, but the largest size found is 1.8648 in, which fits 0.010 in under better. Read \
          the stamp again, and measure again."
        ]
    );
}

#[test]
fn a_journal_with_a_stamp_of_its_own_is_judged_by_that() {
    // Pin 3 left the works ten under and says so; the others are standard.
    let sizes = [(1, "1.8747"), (2, "1.8746"), (3, "1.8648"), (4, "1.8747")];
    assert_eq!(said(&sizes, &[set(0.0), one(3, 0.010)]), [""; 0]);
    let says = said(&sizes, &[set(0.0), one(3, 0.0)]);
    assert!(says.len() == 1 && says[0].starts_with("Pin 3 is stamped standard, but"), "{says:?}");
    assert_eq!(Stamp::of(&[set(0.0), one(3, 0.010)], pin(3)), Some(&one(3, 0.010)));
    assert_eq!(Stamp::of(&[set(0.0), one(3, 0.010)], pin(2)), Some(&set(0.0)));
    assert_eq!(Stamp::of(&[set(0.0)], JournalId { set: SetName::Main, number: 1 }), None);
}

/// 0.25 mm is 0.0098 in, and no inch ladder has it. The two are mixed up often enough to be asked about.
#[test]
fn a_stamp_of_another_ladder_is_asked_about() {
    let metric = Stamp { undersize_mm: 0.25, ..set(0.0) };
    assert_eq!(
        said(&[(1, "1.8648")], &[metric]),
        [
            "The pins are stamped 0.00984 in under, which is no undersize of this engine (0.000, 0.010, 0.020, 0.030, 0.040 \
          in). Read the stamp again, and see whose undersizes were used."
        ]
    );
}
