//! What does not fit among the readings of one crank: what is left out, what stops a set, and in which order it is asked.

mod kit;

use crank::{Findings, JournalId, Reading, SetName, Specification, Suspicion, suspicions};
use gauge::Instrument;
use gauge::misread::Kind;
use units::Unit;

const PLACES: [(f64, f64); 4] = [(-8.0, 0.0), (8.0, 0.0), (-8.0, 90.0), (8.0, 90.0)];
const PINS: [[&str; 4]; 4] = [
    ["1.8741", "1.8743", "1.8738", "1.8740"],
    ["1.8745", "1.8744", "1.8741", "1.8741"],
    ["1.8739", "1.8740", "1.8733", "1.8735"],
    ["1.8745", "1.8745", "1.8742", "1.8742"],
];

fn reading(set: SetName, number: usize, (at_mm, plane_deg): (f64, f64), size: &str, with: usize) -> Reading {
    let journal = JournalId { set, number };
    Reading { journal, at_mm, plane_deg, sizes: vec![units::read(size, Unit::Inch).unwrap()], with }
}

fn micrometer(name: &str) -> Instrument {
    Instrument { name: name.to_owned(), ..Instrument::shop_default(Unit::Inch) }
}

fn pins() -> Findings {
    let readings = PINS
        .iter()
        .zip(1..)
        .flat_map(|(sizes, n)| sizes.iter().zip(PLACES).map(move |(size, at)| reading(SetName::Pin, n, at, size, 0)))
        .collect();
    Findings { instruments: vec![micrometer("mic 1-2"), micrometer("mic B")], readings, ..Findings::default() }
}

fn of(findings: &Findings) -> Vec<Suspicion> {
    suspicions(&Specification::from_printed(&kit::four()).unwrap(), findings, Unit::Inch)
}

#[test]
fn sound_readings_raise_nothing() {
    assert_eq!(of(&pins()), []);
}

/// An odd reading is left out by itself; it does not stop its set.
#[test]
fn an_odd_reading_is_accused_and_stops_nothing() {
    let mut findings = pins();
    findings.readings[6] = reading(SetName::Pin, 2, PLACES[2], "1.8641", 0);
    let found = of(&findings);
    assert_eq!(found.iter().map(|f| (f.kind, f.reading)).collect::<Vec<_>>(), [(Kind::OddReading, Some(6))]);
    assert!(found[0].accuses() && !found[0].stops() && !found[0].doubts_the_set());
    assert_eq!(found[0].kind.word(), "odd reading");
}

/// Six tenths between two micrometers that are good to one each.
#[test]
fn micrometers_that_disagree_stop_the_set() {
    let mut findings = pins();
    findings.readings.push(reading(SetName::Pin, 1, PLACES[0], "1.8747", 1));
    let found = of(&findings);
    assert_eq!(found.iter().map(|f| (f.kind, f.journal)).collect::<Vec<_>>(), [(Kind::MicrometersDisagree, None)]);
    assert!(found[0].stops() && found[0].accuses() && !found[0].doubts_the_set() && found[0].set == SetName::Pin);
    assert_eq!(found[0].kind.word(), "micrometers disagree");
}

/// Mains 0.125 in below the book, and a pin that was read with a micrometer of another range: the engine is asked first.
#[test]
fn the_engine_is_asked_before_anything_else() {
    let mut findings = pins();
    findings.instruments[0].range_mm = Some((50.8, 76.2));
    for n in 1..=5 {
        findings.readings.extend(PLACES.map(|at| reading(SetName::Main, n, at, "1.9996", 1)));
    }
    let found = of(&findings);
    assert_eq!((found[0].kind, found[0].set), (Kind::OtherEngine, SetName::Main), "{found:#?}");
    assert!(found[0].stops() && found[0].doubts_the_set());
    assert_eq!(found[0].kind.word(), "another engine");
    assert!(
        found.len() > 1 && found[1..].iter().all(|f| f.set == SetName::Pin && f.kind == Kind::Question),
        "{found:#?}"
    );
}
