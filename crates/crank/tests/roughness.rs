//! Roughness of journals against a limit that is in print.
//!
//! The limit: a bearing maker's guide asks of journals in service at most 15 microinch Ra, 10 for heavy duty (CEB-1-1208 and
//! CL77-3-402, the lines on shafts). What stands beside it was worked by hand.

mod kit;

use crank::{
    Findings, JournalId, Lay, PrintedSpecification, Roughness, SetName, Specification, Taken, roughness,
    roughness_limit_um,
};
use gauge::conformity::{Outcome, Rule};
use kit::{four, limit, six};

const UIN: f64 = 0.0254;

fn pin(number: usize) -> JournalId {
    JournalId { set: SetName::Pin, number }
}

/// The inch four with that limit on both sets.
fn published() -> (PrintedSpecification, Specification) {
    let mut printed = four();
    printed.main.roughness = Some(limit("0.000010 in"));
    printed.pin.roughness = Some(limit("0.000015 in"));
    let specification = Specification::from_printed(&printed).expect("a sound book");
    (printed, specification)
}

fn place(journal: JournalId, at_mm: f64, microinches: f64, taken: Taken) -> Roughness {
    Roughness {
        journal,
        at_mm,
        ra_um: microinches * UIN,
        error_limit_um: None,
        lay: Some(Lay::Around),
        with: None,
        cutoff_mm: None,
        taken,
    }
}

fn found(rows: Vec<Roughness>) -> Findings {
    Findings { roughness: rows, ..Findings::default() }
}

#[test]
fn the_published_limit_is_read_in_microns() {
    let (printed, _) = published();
    // 15 microinches are 0.381 µm, 10 are 0.254: an inch is 25.4 mm.
    assert!((roughness_limit_um(&printed, SetName::Pin).unwrap() - 0.381).abs() < 1e-12);
    assert!((roughness_limit_um(&printed, SetName::Main).unwrap() - 0.254).abs() < 1e-12);
}

/// A tenth of the Ra is assumed as the most that it may be wrong by, lying evenly, so u is a tenth over √3; 95 in 100 are
/// 1.645 u off (a table of the normal distribution). By hand, u = 0.0577 Ra: 13.6 + 1.645 × 0.785 = 14.9 is within 15, 13.8 +
/// 1.310 = 15.1 is not sure; 16.4 - 1.557 = 14.8 is not sure, 16.7 - 1.586 = 15.1 is above.
#[test]
fn near_the_limit_the_doubt_of_the_instrument_decides() {
    let (printed, specification) = published();
    for (microinches, outcome) in [
        (8.0, Outcome::Within),
        (13.6, Outcome::Within),
        (13.8, Outcome::TooCloseToCall),
        (15.0, Outcome::TooCloseToCall),
        (16.4, Outcome::TooCloseToCall),
        (16.7, Outcome::Outside),
        (30.0, Outcome::Outside),
    ] {
        let findings = found(vec![place(pin(2), 0.0, microinches, Taken::Before)]);
        let all = roughness(&specification, &printed, &findings, &Rule::USUAL, Taken::Before);
        let own = all.iter().find(|one| one.journal == pin(2)).unwrap();
        assert_eq!(own.outcome(), Some(outcome), "{microinches} microinches");
    }
}

/// An instrument that is told to be good to 0.2 microinches settles what a tenth of 14.6 leaves open: 14.6 + 1.645 × 0.2 / √3 =
/// 14.8.
#[test]
fn a_doubt_that_is_told_counts_and_not_the_usual_one() {
    let row = place(pin(1), 0.0, 14.6, Taken::Before);
    assert_eq!(row.judged(15.0 * UIN, &Rule::USUAL), Outcome::TooCloseToCall);
    let told = Roughness { error_limit_um: Some(0.2 * UIN), ..row };
    assert_eq!(told.judged(15.0 * UIN, &Rule::USUAL), Outcome::Within);
    assert!((told.uncertainty_um() - 0.2 * UIN / 3f64.sqrt()).abs() < 1e-15);
}

#[test]
fn what_was_not_measured_is_not_good_and_the_worst_place_counts() {
    let (printed, specification) = published();
    let rows = vec![
        place(pin(2), -8.0, 8.0, Taken::Before),
        place(pin(2), 8.0, 30.0, Taken::Before),
        place(pin(3), 0.0, 8.0, Taken::After),
    ];
    let findings = found(rows);
    let all = roughness(&specification, &printed, &findings, &Rule::USUAL, Taken::Before);
    assert_eq!(all.len(), specification.journals().count());
    for one in &all {
        let expected = (one.journal == pin(2)).then_some(Outcome::Outside);
        assert_eq!((one.outcome(), one.is_measured()), (expected, one.journal == pin(2)), "{}", one.journal);
    }
    // What was measured when the work was done says nothing of before, and the other way about.
    let after = roughness(&specification, &printed, &findings, &Rule::USUAL, Taken::After);
    let measured: Vec<JournalId> = after.iter().filter(|one| one.is_measured()).map(|one| one.journal).collect();
    assert_eq!(measured, [pin(3)]);
}

#[test]
fn without_a_limit_nothing_is_called_good_or_bad() {
    let (mut printed, specification) = published();
    printed.pin.roughness = None;
    let findings = found(vec![place(pin(2), 0.0, 300.0, Taken::Before)]);
    let all = roughness(&specification, &printed, &findings, &Rule::USUAL, Taken::Before);
    let own = all.iter().find(|one| one.journal == pin(2)).unwrap();
    assert!(own.is_measured() && own.outcome().is_none() && own.limit_um.is_none());
}

/// The check of the book asks about `roughness = 10` in inches and takes it for microinches: so does everybody who holds a
/// journal to it, and nobody for ten inches.
#[test]
fn a_limit_typed_in_the_small_unit_is_meant_so() {
    let mut inch = four();
    inch.main.roughness = Some(limit("15 in"));
    assert!((roughness_limit_um(&inch, SetName::Main).unwrap() - 0.381).abs() < 1e-12);
    let mut metric = six();
    metric.main.roughness = Some(limit("0.3 mm"));
    // 0.3 µm for journals is what the manual of a small four asks for (Ford Zetec).
    assert!((roughness_limit_um(&metric, SetName::Main).unwrap() - 0.3).abs() < 1e-12);
}
