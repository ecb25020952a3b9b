//! The measured surface of an invented crank of 60 mm, worked by hand: what is on the diameter, what on the radius.

use super::*;
use crank::{Band, Damage, DamageKind, Depth, JournalSet, Reading, RunOut, Trace, Treatment, Worn};
use gauge::Instrument;
use units::{Unit, read};

const MAIN_1: JournalId = JournalId { set: SetName::Main, number: 1 };
const PIN_1: JournalId = JournalId { set: SetName::Pin, number: 1 };

/// Two mains at 0 and 100, a pin between them at 50 whose throw stands at 120 degrees; all of 60 mm.
fn crank_of_60() -> Specification {
    let set = |positions_mm: &[f64], angles_deg: &[f64]| JournalSet {
        positions_mm: positions_mm.to_vec(),
        angles_deg: angles_deg.to_vec(),
        size: Band { low_mm: 59.99, high_mm: 60.01 },
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
    };
    Specification {
        name: "Wren".to_owned(),
        unit: Unit::Millimetre,
        throw_mm: 40.0,
        throw_tolerance_mm: None,
        index_tolerance_deg: None,
        main: set(&[0.0, 100.0], &[]),
        pin: set(&[50.0], &[120.0]),
        treatment: Treatment { kind: "none".to_owned(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false },
    }
}

fn reading(journal: JournalId, at_mm: f64, plane_deg: f64, size: &str) -> Reading {
    Reading { journal, at_mm, plane_deg, sizes: vec![read(size, Unit::Millimetre).unwrap()], with: 0 }
}

fn with(readings: Vec<Reading>) -> Findings {
    let exact = Instrument { zero_mm: 0.0, ..Instrument::shop_default(Unit::Millimetre) };
    Findings { instruments: vec![exact], readings, ..Findings::default() }
}

fn surface(findings: &Findings) -> Surface {
    Surface::new(&crank_of_60(), findings, |_| 60.0)
}

/// Radii of the points at these angles of the crank, as the surface stands.
fn radii(findings: &Findings, at_deg: &[f64], sided: bool) -> Vec<f64> {
    let surface = surface(findings);
    let mut radii_mm = Vec::new();
    let state = surface.as_it_stands();
    if sided {
        surface.sided_radii_mm(&state, &mut radii_mm);
    } else {
        surface.sound_radii_mm(&state, &mut radii_mm);
    }
    let of = |deg: &f64| {
        let point = surface.points.iter().rposition(|p| apart_deg(p.frame_deg, *deg) < 1e-6);
        radii_mm[point.expect("a point there")]
    };
    at_deg.iter().map(of).collect()
}

#[track_caller]
fn close(found: &[f64], wanted: &[f64]) {
    assert_eq!(found.len(), wanted.len());
    for (found, wanted) in found.iter().zip(wanted) {
        assert!((found - wanted).abs() < 1e-9, "{found}, not {wanted}");
    }
}

/// A dial shows the whole of what a journal swings, 0.02: its centre is off by half of it, 0.01, towards the high spot at
/// 60 degrees. At 60 it stands out by 0.01, at 0 by half of that, square to it at 150 by nothing.
#[test]
fn half_of_a_run_out_lifts_the_high_side() {
    let run_outs = vec![RunOut { journal: MAIN_1, total_mm: 0.02, high_deg: 60.0 }];
    let readings = [0.0, 60.0, 150.0].map(|plane_deg| reading(MAIN_1, 0.0, plane_deg, "60.000"));
    let findings = Findings { run_outs, ..with(readings.to_vec()) };
    close(&radii(&findings, &[60.0, 240.0, 0.0, 180.0, 150.0], false), &[30.01, 29.99, 30.005, 29.995, 30.0]);
}

/// 0.08 is gone from the diameter of 60. All from one side leaves a radius of 29.92, half from each 29.96, three quarters, as
/// where nobody says, 29.94. What is larger than it was ground has lost nothing: half of 60.02.
#[test]
fn the_worse_side_lost_its_share_of_the_whole_loss() {
    let lost = with(vec![reading(MAIN_1, 0.0, 0.0, "59.920")]);
    close(&radii(&lost, &[0.0, 180.0], false), &[29.94, 29.94]);
    for (share, left) in [(0.5, 29.96), (1.0, 29.92), (0.9, 29.928)] {
        let worn = vec![Worn { journal: MAIN_1, share }];
        close(&radii(&Findings { worn, ..lost.clone() }, &[0.0], false), &[left]);
    }
    close(&radii(&with(vec![reading(MAIN_1, 0.0, 0.0, "60.020")]), &[0.0], false), &[30.01]);
}

fn traced(departures_mm: [f64; 8]) -> Trace {
    Trace {
        journal: MAIN_1,
        at_mm: 0.0,
        size: read("59.900", Unit::Millimetre).unwrap(),
        angles_deg: (0..8).map(|n| f64::from(n) * 45.0).collect(),
        departures_mm: departures_mm.to_vec(),
        with: 0,
        departure_sd_mm: 0.0,
    }
}

/// A trace says how far out each side is, on the radius: half of 59.90, and 0.004 more or 0.002 less. A score 0.01 deep
/// takes as much off that.
#[test]
fn a_trace_and_a_score_count_on_the_radius() {
    let traces = vec![traced([0.004, 0.0, 0.0, 0.0, -0.002, 0.0, 0.0, 0.0])];
    let findings = Findings { traces, ..with(Vec::new()) };
    close(&radii(&findings, &[0.0, 90.0, 180.0], false), &[29.954, 29.950, 29.948]);
    let depth = Depth { lowest_mm: 0.005, likeliest_mm: 0.010, highest_mm: 0.020 };
    let score = |arc_deg| Damage { journal: MAIN_1, kind: DamageKind::Scoring, depth, at_mm: None, arc_deg };
    let scored = Findings { damages: vec![score(Some((170.0, 190.0)))], ..findings };
    close(&radii(&scored, &[0.0, 180.0], false), &[29.954, 29.938]);
}

/// A reading of 59.90 in line with a trace whose sides stand 0.004 out and 0.002 in: they differ by 0.006, so one has half
/// of 59.906 and the other half of 59.894.
#[test]
fn a_trace_beside_a_reading_says_which_side_it_lost() {
    let traces = vec![traced([0.004, 0.0, 0.0, 0.0, -0.002, 0.0, 0.0, 0.0])];
    let findings = Findings { traces, ..with(vec![reading(MAIN_1, 10.0, 0.0, "59.900")]) };
    let surface = surface(&findings);
    let mut radii_mm = Vec::new();
    surface.sided_radii_mm(&surface.as_it_stands(), &mut radii_mm);
    let read: Vec<f64> =
        surface.points.iter().zip(&radii_mm).filter(|(p, _)| p.at_mm == 10.0).map(|(_, r)| *r).collect();
    close(&read, &[29.953, 29.947]);
}

/// A reading at 30 degrees from the throw of a pin at 120 lies at 150 of the crank, and 5 behind the middle of a pin at 50
/// is at 55. It is read with a micrometer of 0.001 by hand and 0.002 divided: variance 4/3 of a square micron.
#[test]
fn a_pins_readings_are_placed_on_the_crank() {
    let surface = surface(&with(vec![reading(PIN_1, 5.0, 30.0, "60.000")]));
    let placed: Vec<f64> = surface.points.iter().flat_map(|p| [p.frame_deg, p.z_mm]).collect();
    close(&placed, &[150.0, 55.0, 330.0, 55.0]);
    close(&[surface.sizes[0].own_sd_mm], &[0.001 * (4.0_f64 / 3.0).sqrt()]);
}

/// 20 lies a third of the way from 10 to 40; across 60 degrees nothing is read between.
#[test]
fn a_departure_between_two_takes_its_share_of_each() {
    let found = departure_at(&[(10.0, 0), (40.0, 1), (100.0, 2)], 20.0).unwrap();
    assert_eq!((found[0].0, found[1].0), (0, 1));
    close(&[found[0].1, found[1].1], &[2.0 / 3.0, 1.0 / 3.0]);
    assert_eq!(departure_at(&[(10.0, 0), (40.0, 1), (100.0, 2)], 70.0), None);
}

/// What is not known exactly, drawn 20,000 times: a size by its own 0.0011547 and its scale within 0.004 (whose square is a
/// third of 16), 2.582 microns; the worse side anywhere from half to all. Tolerance: three in a hundred of a deviation.
#[test]
fn draws_scatter_as_their_parts_say() {
    let surface = surface(&with(vec![reading(MAIN_1, 0.0, 0.0, "59.920")]));
    let mut sampler = crate::draws::Sampler::new(&surface, 0.002, 1, 0);
    let n = 20_000;
    let mut sums = [[0.0; 2]; 3];
    for _ in 0..n {
        sampler.next();
        let drawn = &sampler.draw;
        // How far the centre that the wheel follows is off, seen along the point at nought.
        let mut sound_mm = Vec::new();
        surface.sound_radii_mm(&drawn.state, &mut sound_mm);
        for (sum, value) in sums.iter_mut().zip([
            drawn.state.sizes_mm[0] - 59.92,
            drawn.state.shares[0] - 0.75,
            sound_mm[0] - drawn.radii_mm[0],
        ]) {
            sum[0] += value;
            sum[1] += value * value;
        }
    }
    let n = f64::from(n);
    for (sum, wanted) in sums.into_iter().zip([0.002_582, 0.5 / 12.0_f64.sqrt(), 0.002]) {
        let (mean, square) = (sum[0] / n, sum[1] / n);
        assert!(mean.abs() < 0.03 * wanted, "{mean} beside {wanted}");
        assert!(((square - mean * mean).sqrt() / wanted - 1.0).abs() < 0.03, "{} not {wanted}", square.sqrt());
    }
}
