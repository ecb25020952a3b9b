//! The programme against the exact statement of the question.

use crank::{Band, JournalId, JournalSet, Trace, Treatment};
use units::Unit;

use super::*;

fn set(positions_mm: Vec<f64>, angles_deg: Vec<f64>, size_mm: f64) -> JournalSet {
    JournalSet {
        positions_mm,
        angles_deg,
        size: Band { low_mm: size_mm - 0.006, high_mm: size_mm + 0.006 },
        undersizes_mm: vec![0.25],
        out_of_round_mm: None,
        taper: None,
        run_out: None,
        length_mm: 30.0,
        smallest_mm: None,
        wear_limit_mm: None,
        wear_out_of_round_mm: None,
        wear_taper: None,
        aims: Vec::new(),
        any_size: false,
    }
}

fn specification() -> Specification {
    Specification {
        name: "any".into(),
        unit: Unit::Millimetre,
        throw_mm: 43.0,
        throw_tolerance_mm: Some(crank::ThrowTolerance::either_way(0.04)),
        index_tolerance_deg: Some(0.15),
        main: set(vec![0.0, 84.0, 168.0], Vec::new(), 56.0),
        pin: set(vec![42.0, 126.0], vec![0.0, 150.0], 48.0),
        treatment: Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false },
    }
}

/// Each journal traced twice and worn on one side, and pin 2's centre out of its place.
fn findings(specification: &Specification) -> Findings {
    let trace = |journal: JournalId, at_mm: f64| {
        let angles_deg: Vec<f64> = (0..15).map(|k| 24.0 * f64::from(k)).collect();
        let way = 70.0 * journal.number as f64 + at_mm;
        let low = |angle: &f64| 0.01 * (3.0 * angle).to_radians().sin() - 0.04 * (angle - way).to_radians().cos();
        let size_mm = specification.set(journal.set).size.middle_mm();
        Trace {
            journal,
            at_mm,
            size: units::read(&format!("{size_mm:.3}"), Unit::Millimetre).expect("a size"),
            departures_mm: angles_deg.iter().map(low).collect(),
            angles_deg,
            with: 0,
            departure_sd_mm: 0.001,
        }
    };
    let journals = || specification.journals();
    Findings {
        instruments: vec![gauge::Instrument::shop_default(Unit::Millimetre)],
        traces: journals().flat_map(|id| [trace(id, -10.0), trace(id, 10.0)]).collect(),
        centres: vec![crank::Centre {
            journal: JournalId { set: SetName::Pin, number: 2 },
            throw_mm: 0.012,
            index_deg: -0.02,
        }],
        ..Findings::default()
    }
}

/// The programme counts each pin by its error of throw and direction, the statement of the question by (u, v): the least
/// clearance of the statement, at the centres that the programme's placement stands for, is its optimum to 1e-9 in.
#[test]
fn the_programmes_placement_leaves_its_optimum_by_the_statement() {
    let specification = specification();
    let findings = findings(&specification);
    for index_datum in [IndexDatum::Fixed, IndexDatum::Free] {
        let policy = Policy { axis: Axis::Free, index_datum, ..Policy::usual(Unit::Millimetre) };
        let surface = Surface::new(&specification, &findings, |set| specification.set(set).size.middle_mm());
        let questions = Questions::new(Geometry::new(&specification, &findings, &policy, &surface));
        let mut radii_mm = Vec::new();
        surface.sound_radii_mm(&surface.as_it_stands(), &mut radii_mm);
        let wanted = [27.85, 23.8];
        let best = questions.best(None, &radii_mm, wanted, &mut questions.start()).expect("solvable");
        let placement = &best.placement;
        let centre = |k: usize| {
            let (sin, cos) = specification.pin.angles_deg[k].to_radians().sin_cos();
            let (x, y) = placement.line.at_mm(specification.pin.positions_mm[k] - 84.0);
            let present = if k == 1 { (0.012, 43.0 * f64::to_radians(-0.02)) } else { (0.0, 0.0) };
            let (along, across) = placement.pins_mm[k];
            assert!(along.abs() <= 0.04 + 1e-9 && across.abs() <= 43.0 * f64::to_radians(0.15) + 1e-9, "{placement:?}");
            let (along, across) = (along - present.0, across + placement.turn_mm - present.1);
            (x + along * cos - across * sin, y + along * sin + across * cos)
        };
        let clearance = |(point, radius): (&crate::surface::Point, &f64)| {
            let id = surface.journals[point.journal].id;
            let ((x, y), along, wanted) = match id.set {
                SetName::Main => ((placement.line.x0_mm, placement.line.y0_mm), point.z_mm - 84.0, wanted[0]),
                SetName::Pin => (centre(id.number - 1), point.at_mm, wanted[1]),
            };
            let (sx, sy) = (placement.line.sx, placement.line.sy);
            radius - ((x + sx * along) * point.cos + (y + sy * along) * point.sin) - wanted
        };
        let least = surface.points.iter().zip(&radii_mm).map(clearance).fold(f64::INFINITY, f64::min);
        assert_eq!(surface.points.len(), 150);
        assert!((least - best.spare_mm).abs() < 2.54e-8, "{index_datum:?}: {least} mm, not {}", best.spare_mm);
    }
}
