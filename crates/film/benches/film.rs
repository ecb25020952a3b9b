//! The parts of the film, timed one by one.

use std::sync::atomic::{AtomicUsize, Ordering};

use film::bearing::Size;
use film::case::{Answer, Case, Clearance, CurvePoint, Known, answer, curve};
use film::engine::{Burning, Cylinder, Layout, loads};
use film::mobility::{Law, Map};
use film::orbit::{Cycle, follow};
use film::steady::{Net, Rupture, Steady};

fn main() {
    divan::main();
}

/// 181 × 41 points over the whole width, the film broken where it breaks.
#[divan::bench(sample_count = 300)]
fn broken_film_181_by_41() -> Steady {
    Steady::at(0.5, 0.7, Rupture::Reynolds, Net::STANDARD).expect("a film")
}

/// The same net, the film unbroken: one linear solution.
#[divan::bench(sample_count = 300)]
fn unbroken_film_181_by_41() -> Steady {
    Steady::at(0.5, 0.7, Rupture::Gumbel, Net::STANDARD).expect("a film")
}

/// 181 × 41 points over half the width: four times as fine across.
#[divan::bench(sample_count = 200)]
fn broken_film_181_by_41_half_width() -> Steady {
    Steady::at(0.5, 0.7, Rupture::Reynolds, Net { around: 180, across: 40 }).expect("a film")
}

/// Finding the eccentricity that carries a load.
#[divan::bench(sample_count = 100)]
fn film_under_a_load() -> Steady {
    Steady::under(0.5, 0.2, Rupture::Reynolds, Net::STANDARD).expect("a film")
}

/// A map of mobility for one shape of bearing.
#[divan::bench(sample_count = 20)]
fn map_of_mobility() -> Map {
    Map::new(0.4).expect("a map")
}

fn cylinder() -> Cylinder {
    Cylinder {
        bore_m: 0.08,
        stroke_m: 0.08,
        rod_m: 0.13,
        reciprocating_kg: 0.565,
        rotating_kg: 0.385,
        crankcase_pa: 1e5,
    }
}

fn gas() -> Burning {
    Burning {
        compression_ratio: 10.0,
        exponent: 1.3,
        charge_pa: 1e5,
        exhaust_pa: 1.1e5,
        intake_pa: 0.95e5,
        heat_j: 900.0,
        burn_from_deg: -20.0,
        burn_for_deg: 50.0,
        wiebe_a: 5.0,
        wiebe_m: 2.0,
        blow_down_deg: 15.0,
    }
}

/// Gas, loads, both maps, and the converged paths of four big ends and five mains, from nothing.
#[divan::bench(sample_count = 20)]
fn all_bearings_of_a_four() -> f64 {
    let cylinder = cylinder();
    let pressures = gas().pressures_pa(&cylinder, 2).expect("gas");
    let layout = Layout::upright(&[0.0, 180.0, 180.0, 0.0], &[1, 3, 4, 2]).expect("a layout");
    let loads = loads(&cylinder, &pressures, 314.0, &layout).expect("loads");
    let pin = Size { diameter_m: 0.045, length_m: 0.018, radial_clearance_m: 22e-6 };
    let main = Size { diameter_m: 0.054, length_m: 0.019, radial_clearance_m: 24e-6 };
    let maps = [pin, main].map(|size| Map::new(size.length_over_diameter()).expect("a map"));
    let least = |size: &Size, map: &Map, cycles: &[Cycle]| {
        let film = |cycle: &Cycle| follow(size, cycle, 0.007, &Law::Map(map), [0.0, 0.5]).expect("a path").least_film_m;
        cycles.iter().map(film).fold(f64::INFINITY, f64::min)
    };
    least(&pin, &maps[0], &loads.big_ends).min(least(&main, &maps[1], &loads.mains))
}

/// An invented four at three clearances; its shells by so many nanometres wider.
fn case(wider_nm: usize) -> Case {
    let known = Known {
        stroke_m: 0.08,
        pin_diameter_m: 0.045,
        pin_length_m: 0.018 + 1e-9 * wider_nm as f64,
        main_diameter_m: 0.054,
        main_length_m: 0.02 + 1e-9 * wider_nm as f64,
    };
    let mut case = Case::new(&known, &[0.0, 180.0, 180.0, 0.0], &[1, 3, 4, 2]);
    case.clearances = [("as found", 130e-6, 135e-6), ("as planned", 45e-6, 50e-6), ("upper limit", 70e-6, 80e-6)]
        .map(|(name, pin_m, main_m)| Clearance::alike(name, pin_m, main_m))
        .to_vec();
    case.plan = 1;
    case
}

/// Least film and hot idle pressure at fifty clearances.
#[divan::bench(sample_count = 20)]
fn fifty_clearances() -> Vec<CurvePoint> {
    curve(&case(0), 50).expect("a curve")
}

/// The whole answer: three clearances in three conditions, the gauge over speed, the curve, and every assumed figure
/// varied; for bearings of shapes that were asked for before.
#[divan::bench(sample_count = 20)]
fn whole_answer_shapes_known() -> Answer {
    answer(&case(0)).expect("an answer")
}

/// The same for bearings of shapes that nobody asked for before.
#[divan::bench(sample_count = 20)]
fn whole_answer_shapes_new(bencher: divan::Bencher<'_, '_>) {
    static ASKED: AtomicUsize = AtomicUsize::new(1);
    bencher.bench(|| answer(&case(ASKED.fetch_add(1, Ordering::Relaxed))).expect("an answer"));
}
