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

fn book() -> Specification {
    Specification::from_printed(&kit::four()).unwrap()
}

/// Pins of these sizes, in inches, with these stamps.
fn found(sizes: &[(usize, &str)], stamps: &[Stamp]) -> Findings {
    let readings = sizes.iter().map(|(number, size)| Reading {
        journal: pin(*number),
        at_mm: 0.0,
        plane_deg: 0.0,
        sizes: vec![units::read(size, Unit::Inch).unwrap()],
        with: 0,
    });
    Findings {
        instruments: vec![Instrument::shop_default(Unit::Inch)],
        readings: readings.collect(),
        stamps: stamps.to_vec(),
        ..Findings::default()
    }
}

fn ground(sizes: &[(usize, &str)], stamps: &[Stamp]) -> crank::GroundTo {
    crank::last_ground_to(&book(), &found(sizes, stamps), SetName::Pin)
}

/// Pins of the Tarn four with these sizes, in inches, and what is said about the stamps.
fn said(sizes: &[(usize, &str)], stamps: &[Stamp]) -> Vec<String> {
    let (book, findings) = (book(), found(sizes, stamps));
    let against = not_as_stamped(&book, &findings, Unit::Inch);
    // Whoever asks about the readings hears the same, and no reading is accused by a stamp.
    let all = suspicions(&book, &findings, Unit::Inch);
    for one in &against {
        let word = if one.contradicted { "stamp contradicted" } else { "question" };
        let told = |known: &crank::Suspicion| known.says == one.says && !known.accuses() && known.kind.word() == word;
        assert!(all.iter().any(told), "{}", one.says);
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
            "The pins are stamped standard, but the largest size found is 1.8648 in, 0.0097 below the 1.8745 that it allows at \
          the least: no wear takes that off all round, so it cannot be that. It fits 0.010 in under. Read the stamp again, \
          and measure again."
        ]
    );
    // Half a step lower wear might do it: 1.8715 is 0.003 below.
    let little = said(&[(1, "1.8715")], &[set(0.0)]);
    assert_eq!(little, [""; 0], "standard is what it fits");
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

/// 0.25 mm is 0.00984 in, and no inch ladder has it: 1.8745 to 1.8750 less 0.00984 is 1.86466 to 1.86516. It is told of; where
/// the sizes bear it out it is what the set was ground to, and 1.8651, above what ten under allows, is not too large.
#[test]
fn a_stamp_of_another_ladder_is_a_step_of_its_own() {
    let metric = Stamp { undersize_mm: 0.25, ..set(0.0) };
    let foreign = "The pins are stamped 0.25 mm under, which is no undersize of this engine (0.000, 0.010, 0.020, 0.030, 0.040 \
                   in).";
    assert_eq!(said(&[], &[metric]), [format!("{foreign} See whose undersizes were used.")]);
    for size in ["1.8648", "1.8651"] {
        let bears =
            format!("{foreign} The sizes bear it out: as it stands it takes shells of that ladder, not of this one.");
        assert_eq!(said(&[(1, size)], &[metric]), [bears], "{size}");
        let found = ground(&[(1, size)], &[metric]);
        assert_eq!((found.undersize_mm, found.also.len(), found.bigger_than_new), (0.25, 0, false), "{size}");
    }
    let says = said(&[(1, "1.8748")], &[metric]);
    assert!(says.len() == 1 && says[0].contains("a journal ground to that is 1.8652 at the most"), "{says:?}");
    // Without the stamp the same sizes are of the engine's own ladder.
    assert!((ground(&[(1, "1.8648")], &[]).undersize_mm - 0.254).abs() < 1e-12);
}

/// A stamp settles what the sizes leave open: 1.8652 is standard worn 0.0093, or ten under ground 0.0002 large.
#[test]
fn a_stamp_that_fits_settles_what_it_was_ground_to() {
    let open = ground(&[(1, "1.8652")], &[]);
    assert!(open.undersize_mm == 0.0 && open.also.len() == 1, "{open:?}");
    let stamped = ground(&[(1, "1.8652")], &[set(0.010)]);
    assert!((stamped.undersize_mm - 0.254).abs() < 1e-12 && stamped.also.is_empty(), "{stamped:?}");
    // One that does not fit settles nothing.
    assert!((ground(&[(1, "1.8648")], &[set(0.020)]).undersize_mm - 0.254).abs() < 1e-12);
    let known = crank::undersizes_known_mm(&book(), &found(&[], &[set(0.010), one(3, 0.005)]), SetName::Pin);
    let thou: Vec<i64> = known.iter().map(|mm| (mm / 0.0254).round() as i64).collect();
    assert_eq!(thou, [0, 5, 10, 20, 30, 40]);
}
