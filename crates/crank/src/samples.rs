//! A crank for the tests of this room: four throws in one plane between five mains.

use crate::{Band, JournalSet, Specification, Treatment};

fn set(positions_mm: Vec<f64>, angles_deg: Vec<f64>) -> JournalSet {
    JournalSet {
        positions_mm,
        angles_deg,
        size: Band { low_mm: 47.98, high_mm: 48.0 },
        undersizes_mm: vec![0.25],
        out_of_round_mm: None,
        taper: None,
        run_out: None,
        length_mm: 28.0,
        smallest_mm: None,
        wear_limit_mm: None,
        wear_out_of_round_mm: None,
        wear_taper: None,
        aims: Vec::new(),
        any_size: false,
    }
}

/// Mains this far apart, the pins half-way between them.
pub(crate) fn four(apart_mm: f64, throw_mm: f64) -> Specification {
    Specification {
        name: "any".into(),
        unit: units::Unit::Millimetre,
        throw_mm,
        throw_tolerance_mm: None,
        index_tolerance_deg: None,
        main: set([0.0, 1.0, 2.0, 3.0, 4.0].map(|n| n * apart_mm).into(), Vec::new()),
        pin: set([0.5, 1.5, 2.5, 3.5].map(|n| n * apart_mm).into(), vec![0.0, 180.0, 180.0, 0.0]),
        treatment: Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false },
    }
}
