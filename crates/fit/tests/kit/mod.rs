//! An invented engine on the bench, for the tests: the Tarn four, with housings and shells as each test wants them.

#![allow(dead_code, reason = "each test file uses its own part of the kit")]

use crank::{
    Aim, Band, Findings, JournalId, JournalSet, PrintedBand, PrintedLimit, PrintedNumber, PrintedSet,
    PrintedSpecification, Reading, SetName, Specification, Treatment,
};
use fit::{Book, Bore, Engine, Found, Half, Measured, SetBook, Shell, Shells, Wanted};
use gauge::Instrument;
use regrind::{Policy, Verdict};
use units::{Entry, Unit};

pub(crate) const IN: f64 = 25.4;

pub(crate) fn band(low_in: f64, high_in: f64) -> Band {
    Band { low_mm: low_in * IN, high_mm: high_in * IN }
}

pub(crate) fn entry(typed: &str) -> Entry {
    units::read(typed, Unit::Inch).unwrap()
}

pub(crate) fn main(number: usize) -> JournalId {
    JournalId { set: SetName::Main, number }
}

pub(crate) fn pin(number: usize) -> JournalId {
    JournalId { set: SetName::Pin, number }
}

pub(crate) fn measured(inches: f64, with: usize) -> Measured {
    Measured { sizes: vec![entry(&format!("{inches:.5}"))], with }
}

/// Exactly this size, from an instrument that errs by nothing.
pub(crate) fn instruments() -> Vec<Instrument> {
    let exact = |name: &str| Instrument {
        name: name.to_owned(),
        graduation_mm: 0.0,
        error_limit_mm: 0.0,
        repeatability_mm: 0.0,
        ..Instrument::shop_default(Unit::Inch)
    };
    vec![
        Instrument::shop_default(Unit::Inch),
        exact("exact"),
        Instrument { name: "mic 2-3".to_owned(), ..Instrument::shop_default(Unit::Inch) },
    ]
}

pub(crate) const EXACT: usize = 1;
pub(crate) const MIC: usize = 2;

fn set(positions: &[f64], angles_deg: &[f64], size: Band, smallest_in: f64, length_in: f64) -> JournalSet {
    JournalSet {
        positions_mm: positions.iter().map(|p| p * IN).collect(),
        angles_deg: angles_deg.to_vec(),
        size,
        undersizes_mm: [0.010, 0.020, 0.030, 0.040].map(|u| u * IN).to_vec(),
        out_of_round_mm: Some(0.0005 * IN),
        taper: None,
        run_out: None,
        length_mm: length_in * IN,
        smallest_mm: Some(smallest_in * IN),
        wear_limit_mm: None,
        wear_out_of_round_mm: None,
        wear_taper: None,
        aims: Vec::new(),
        any_size: false,
    }
}

pub(crate) fn tarn_four() -> Specification {
    Specification {
        name: "Tarn four".to_owned(),
        unit: Unit::Inch,
        throw_mm: 1.5 * IN,
        throw_tolerance_mm: None,
        index_tolerance_deg: None,
        main: set(&[0.0, 3.2, 6.4, 9.6, 12.8], &[], band(2.1245, 2.1250), 2.0840, 1.10),
        pin: set(&[1.6, 4.8, 8.0, 11.2], &[0.0, 180.0, 180.0, 0.0], band(1.8745, 1.8750), 1.8340, 0.95),
        treatment: Treatment { kind: "none".to_owned(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false },
    }
}

pub(crate) fn book() -> Book {
    let main = SetBook {
        housing: Some(band(2.2705, 2.2710)),
        material: Some(fit::Material::Aluminium),
        wall: Some(band(0.0717, 0.0719)),
        clearance: Some(band(0.0017, 0.0031)),
        crush: Some(band(0.003, 0.0045)),
        ..SetBook::default()
    };
    let pin = SetBook {
        housing: Some(band(2.0005, 2.0010)),
        wall: Some(band(0.06190, 0.06205)),
        clearance: Some(band(0.0014, 0.0027)),
        side: Some(band(0.005, 0.011)),
        ..SetBook::default()
    };
    Book {
        main,
        pin,
        float: Some(band(0.004, 0.010)),
        washer: Some(band(0.0905, 0.0915)),
        washer_oversizes_mm: vec![0.005 * IN, 0.010 * IN],
        oversizes_listed: true,
    }
}

/// Every main read at one place across two planes, every pin too.
pub(crate) fn findings(main_in: f64, pin_in: f64, with: usize) -> Findings {
    let mut findings = Findings { instruments: instruments(), ..Findings::default() };
    let journals = (1..=5).map(|n| (main(n), main_in)).chain((1..=4).map(|n| (pin(n), pin_in)));
    for (journal, inches) in journals {
        for plane_deg in [0.0, 90.0] {
            let sizes = vec![entry(&format!("{inches:.5}"))];
            findings.readings.push(Reading { journal, at_mm: 0.0, plane_deg, sizes, with });
        }
    }
    findings
}

pub(crate) fn bore(journal: JournalId, plane_deg: f64, inches: f64, with: usize) -> Bore {
    Bore { journal, at_mm: 0.0, plane_deg, size: measured(inches, with), shells: Shells::Out }
}

pub(crate) fn shell(name: &str, set: SetName, undersize: &str, wall_in: f64) -> Shell {
    Shell {
        name: name.to_owned(),
        set,
        journal: None,
        half: Half::Either,
        undersize: (!undersize.is_empty()).then(|| entry(undersize)),
        wall: Some(measured(wall_in, EXACT)),
    }
}

/// Five bare main housings across the split, and ten halves 0.010 in under with the middle wall.
pub(crate) fn found(bores_in: [f64; 5], undersize: &str, wall_in: f64) -> Found {
    Found {
        bores: (1..=5).zip(bores_in).map(|(n, inches)| bore(main(n), 90.0, inches, EXACT)).collect(),
        shells: (0..10).map(|n| shell(&format!("{}", n + 1), SetName::Main, undersize, wall_in)).collect(),
        ..Found::default()
    }
}

pub(crate) fn policy() -> Policy {
    Policy { draws: 4000, ..Policy::usual(Unit::Inch) }
}

/// What the tests ask again and again: the answer for the bearings, with the verdict that the readings lead to.
pub(crate) fn answer(findings: &Findings, found: &Found, book: &Book) -> (Verdict, fit::Fit) {
    answer_wanting(findings, found, book, Wanted::default())
}

pub(crate) fn answer_wanting(findings: &Findings, found: &Found, book: &Book, wanted: Wanted) -> (Verdict, fit::Fit) {
    let mut specification = tarn_four();
    let unit = Unit::Inch;
    let [main, pin] = fit::aims(&Engine { specification: &specification, findings, found, book, wanted, unit });
    (specification.main.aims, specification.pin.aims) = (main, pin);
    let verdict = regrind::assess(&specification, findings, &policy(), Unit::Inch, &|_| ()).unwrap();
    let engine = Engine { specification: &specification, findings, found, book, wanted, unit };
    let fit = fit::fit(&engine, Some(&verdict), &policy());
    (verdict, fit)
}

pub(crate) fn aim_of(findings: &Findings, found: &Found, book: &Book) -> Option<Aim> {
    let specification = tarn_four();
    let wanted = Wanted::default();
    let engine = Engine { specification: &specification, findings, found, book, wanted, unit: Unit::Inch };
    fit::aims(&engine)[0].first().copied()
}

#[track_caller]
pub(crate) fn near_in(found_mm: f64, inches: f64, within_in: f64) {
    assert!((found_mm / IN - inches).abs() <= within_in, "{} in, not {inches} in within {within_in}", found_mm / IN);
}

/// A printed specification with walls and the like, for [`Book::from_printed`].
pub(crate) fn printed(main: PrintedSet) -> PrintedSpecification {
    PrintedSpecification {
        name: "printed".to_owned(),
        unit: Unit::Inch,
        throw: None,
        throw_tolerance: None,
        throw_limits: Vec::new(),
        index_tolerance_deg: None,
        main,
        pin: PrintedSet::default(),
        treatment: "none".to_owned(),
        growth_mean: None,
        growth_sd: None,
        features: Vec::new(),
        mass: None,
        run_out_rules: Vec::new(),
        confirmed: Vec::new(),
    }
}

pub(crate) fn number(value: f64) -> PrintedNumber {
    PrintedNumber { value, decimals: 4 }
}

pub(crate) fn printed_band(unit: Unit, low: f64, high: f64) -> PrintedBand {
    PrintedBand { unit, low: Some(number(low)), high: Some(number(high)) }
}

pub(crate) fn printed_limit(unit: Unit, value: f64) -> PrintedLimit {
    PrintedLimit { columns: vec![(unit, number(value))], sense: None, source: None }
}
