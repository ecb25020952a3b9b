//! Whatever is put in, an answer is finite or a problem says which field and why; nothing panics.

use film::bearing::{Duty, Size, run, run_warm};
use film::case::{Case, Clearance, Input, Known, curve};
use film::circuit::{Circuit, Feed, Outlet, Passages, Pump, Relief};
use film::engine::{Along, Burning, Cylinder, Layout, OnThrow, loads, strokes};
use film::mobility::{Law, Map};
use film::oil::{Oil, OilData};
use film::orbit::{Cycle, follow};
use film::steady::{Net, Rupture, Steady};
use film::{Problem, Problems};
use proptest::prelude::*;

const COARSE: Net = Net { around: 48, across: 6 };

/// A number that may be anything, often something usable.
fn number(from: f64, to: f64) -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => from..to,
        1 => any::<f64>(),
        1 => prop_oneof![
            Just(0.0),
            Just(-1.0),
            Just(f64::NAN),
            Just(f64::INFINITY),
            Just(f64::NEG_INFINITY),
            Just(f64::MIN_POSITIVE),
            Just(f64::MAX),
        ],
    ]
}

/// Every problem names its field and its physics; there is at least one.
fn said(problems: &Problems) {
    assert!(!problems.0.is_empty());
    for Problem { field, value, limit, physics, .. } in &problems.0 {
        assert!(!field.is_empty() && !value.is_empty() && !limit.is_empty() && !physics.is_empty(), "{problems}");
    }
}

/// No number in it is missing: serde writes what is not a number as null.
fn finite(answer: &impl serde::Serialize) {
    let text = serde_json::to_string(answer).expect("plain data");
    assert!(!text.contains("null"), "{text}");
}

fn judged<T: serde::Serialize>(found: Result<T, Problems>) {
    match found {
        Ok(answer) => finite(&answer),
        Err(problems) => said(&problems),
    }
}

/// The loads of a layout are finite, or what is wrong is said.
fn turned(layout: &Layout) {
    let cylinder = Cylinder {
        bore_m: 0.08,
        stroke_m: 0.08,
        rod_m: 0.13,
        reciprocating_kg: 0.5,
        rotating_kg: 0.3,
        crankcase_pa: 1e5,
    };
    match loads(&cylinder, &[2e5; 90], 300.0, layout) {
        Ok(loads) => {
            assert_eq!(loads.mains.len(), layout.along.mains_m.len());
            assert!(loads.mains.iter().flat_map(|main| main.loads_n.iter().flatten()).all(|load| load.is_finite()));
        }
        Err(problems) => said(&problems),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

    #[test]
    fn the_steady_film(ratio in number(0.05, 4.0), eps in number(0.0, 1.0), load in number(1e-4, 100.0)) {
        judged(Steady::at(ratio, eps, Rupture::Reynolds, COARSE));
        judged(Steady::at(ratio, eps, Rupture::Gumbel, COARSE));
        judged(Steady::under(ratio, load, Rupture::Reynolds, COARSE));
    }

    #[test]
    fn a_bearing(
        diameter_m in number(0.01, 0.3),
        length_m in number(0.005, 0.2),
        radial_clearance_m in number(5e-6, 2e-4),
        load_n in number(1.0, 1e5),
        speed_rev_s in number(1.0, 200.0),
        viscosity_pa_s in number(1e-3, 2.0),
        supply_temp_c in number(-20.0, 120.0),
    ) {
        let size = Size { diameter_m, length_m, radial_clearance_m };
        judged(run(&size, &Duty { load_n, speed_rev_s, viscosity_pa_s }, COARSE));
        let thinning = |temp_c: f64| viscosity_pa_s * (-0.03 * (temp_c - 60.0)).exp();
        judged(run_warm(&size, load_n, speed_rev_s, supply_temp_c, 1.7e6, thinning, COARSE));
    }

    #[test]
    fn an_oil(
        lower_temp_c in number(0.0, 60.0),
        higher_temp_c in number(60.0, 150.0),
        lower_viscosity_mm2_s in number(20.0, 500.0),
        higher_viscosity_mm2_s in number(2.0, 20.0),
        density_15_kg_m3 in number(800.0, 950.0),
        temp_c in -40.0..200.0f64,
    ) {
        let data =
            OilData { lower_temp_c, lower_viscosity_mm2_s, higher_temp_c, higher_viscosity_mm2_s, density_15_kg_m3 };
        match Oil::new(&data) {
            Ok(oil) => {
                let found = oil.viscosity_pa_s(temp_c);
                prop_assert!(found.is_finite() && found > 0.0, "{found}");
                prop_assert!(oil.viscosity_pa_s(temp_c + 5.0) <= found, "hotter and thicker");
            }
            Err(problems) => said(&problems),
        }
    }

    #[test]
    fn a_circuit(
        speed_rev_s in number(5.0, 100.0),
        viscosity_pa_s in number(1e-3, 2.0),
        displacement_m3_rev in number(1e-6, 1e-4),
        slip_m3 in number(0.0, 1e-12),
        opens_pa in number(1e5, 8e5),
        gain_m3_s_pa in number(1e-10, 1e-7),
        radial_clearance_m in number(1e-5, 1e-4),
        mean_square_eccentricity in number(0.0, 1.0),
        hole_m in number(1e-3, 8e-3),
        turbulent_pa_s2_m6 in number(0.0, 1e13),
    ) {
        let size = Size { diameter_m: 0.05, length_m: 0.02, radial_clearance_m };
        let outlet = |feed| Outlet::Bearings {
            count: 5, size, feed, mean_square_eccentricity, viscosity_pa_s, head_pa: 1e4,
        };
        let circuit = Circuit {
            pump: Pump { displacement_m3_rev, slip_m3 },
            relief: Relief { opens_pa, gain_m3_s_pa },
            passages: Passages { laminar_per_m3: 1e9, turbulent_pa_s2_m6 },
            outlets: vec![outlet(Feed::HalfGroove), outlet(Feed::Hole { diameter_m: hole_m })],
            speed_rev_s,
            viscosity_pa_s,
        };
        judged(circuit.settle());
    }

    #[test]
    fn an_engine(
        bore_m in number(0.03, 0.3),
        stroke_m in number(0.03, 0.3),
        rod_m in number(0.06, 0.6),
        reciprocating_kg in number(0.1, 10.0),
        compression_ratio in number(5.0, 22.0),
        heat_j in number(0.0, 1e4),
        burn_for_deg in number(10.0, 120.0),
        speed in number(20.0, 1000.0),
    ) {
        let cylinder =
            Cylinder { bore_m, stroke_m, rod_m, reciprocating_kg, rotating_kg: 0.3, crankcase_pa: 1e5 };
        let gas = Burning {
            compression_ratio, exponent: 1.3, charge_pa: 1e5, exhaust_pa: 1e5, intake_pa: 1e5, heat_j,
            burn_from_deg: -20.0, burn_for_deg, wiebe_a: 5.0, wiebe_m: 2.0, blow_down_deg: 15.0,
        };
        match gas.pressures_pa(&cylinder, 1) {
            Ok(pressures) => {
                prop_assert!(pressures.iter().all(|pressure| pressure.is_finite() && *pressure > 0.0));
                judged(strokes(&cylinder, &pressures, speed));
            }
            Err(problems) => said(&problems),
        }
    }

    /// Throws, cylinders and places that may be anything: loads are finite, or every problem is named.
    #[test]
    fn a_layout(
        throws in proptest::collection::vec(number(0.0, 360.0), 0..4),
        mains in proptest::collection::vec(number(0.0, 0.5), 0..5),
        places in proptest::collection::vec(number(0.0, 0.5), 0..4),
        leans in proptest::collection::vec((0usize..4, number(-90.0, 90.0), number(0.0, 720.0)), 0..5),
        order in proptest::collection::vec(0usize..5, 0..5),
        unbalance_kg in number(-1.0, 1.0),
        fired in any::<bool>(),
        sorted in any::<bool>(),
    ) {
        let (mut mains_m, mut throws_m) = (mains, places);
        if sorted {
            mains_m.sort_by(f64::total_cmp);
            throws_m.sort_by(f64::total_cmp);
        }
        let cylinders: Vec<OnThrow> = leans.into_iter().map(|(throw, lean_deg, fires)| {
            OnThrow { throw, lean_deg, fires_deg: fired.then_some(fires) }
        }).collect();
        let along = Along { mains_m, throws_m };
        match Layout::of(&throws, &cylinders, &order, &along) {
            Ok(mut layout) => {
                layout.throw_unbalance_kg = unbalance_kg;
                turned(&layout);
            }
            Err(problems) => said(&problems),
        }
        // One cylinder on one throw is at the top whenever it fires: there the places decide alone.
        match Layout::of(&[30.0], &OnThrow::each(1), &[1], &along) {
            Ok(layout) => turned(&layout),
            Err(problems) => said(&problems),
        }
    }

    #[test]
    fn an_orbit(
        load_n in number(10.0, 1e5),
        turning in number(10.0, 1000.0),
        viscosity_pa_s in number(1e-3, 1.0),
        radial_clearance_m in number(5e-6, 1e-4),
        start in number(0.0, 0.99),
        period_s in number(1e-3, 1.0),
    ) {
        let size = Size { diameter_m: 0.05, length_m: 0.02, radial_clearance_m };
        let steps = 90;
        let loads_n = (0..steps).map(|step| {
            let angle = f64::from(step) / f64::from(steps) * std::f64::consts::TAU;
            [load_n * (0.4 + angle.cos()), 0.3 * load_n * (2.0 * angle).sin()]
        }).collect();
        let cycle = Cycle { period_s, loads_n, turning_rad_s: vec![turning; 90] };
        match follow(&size, &cycle, viscosity_pa_s, &Law::Short(0.4), [start, 0.0]) {
            Ok(orbit) => {
                let places = orbit.instants.iter().flat_map(|instant| instant.place);
                prop_assert!(places.into_iter().all(f64::is_finite));
                prop_assert!(orbit.least_film_m > 0.0 && orbit.least_film_m <= radial_clearance_m);
                prop_assert!(orbit.friction_w.is_finite() && orbit.friction_w > 0.0);
            }
            Err(problems) => said(&problems),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(48) })]

    /// One figure of a case at a time is anything at all.
    #[test]
    fn a_case(place in 0usize..34, value in number(0.0, 10.0), scale in 0.1..10.0f64, pin in number(1e-5, 3e-4)) {
        let known = Known {
            stroke_m: 0.08, pin_diameter_m: 0.045, pin_length_m: 0.018, main_diameter_m: 0.054, main_length_m: 0.02,
        };
        let mut case = Case::new(&known, &[0.0, 180.0], &[1, 2]);
        case.clearances =
            vec![Clearance::alike("as found", pin, 6e-5)];
        let list = case.figures.list();
        let (name, input) = list[place % list.len()];
        let moved = if scale > 5.0 { value } else { input.value * scale };
        if let Some(figure) = case.figures.named(name) {
            *figure = Input::given(moved);
        }
        judged(curve(&case, 2));
    }
}

#[test]
fn a_map_of_nothing_is_refused() {
    for ratio in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-9, 1e9] {
        said(&Map::new(ratio).expect_err("no bearing"));
    }
}

#[test]
fn contact_is_refused_with_its_physics() {
    for eps in [1.0, 1.2] {
        let problems = Steady::at(0.5, eps, Rupture::Reynolds, COARSE).expect_err("the surfaces touch");
        let [problem] = &problems.0[..] else { panic!("one problem: {problems}") };
        assert_eq!(problem.field, "eccentricity");
        assert!(problem.physics.contains("the surfaces touch"), "{problem}");
    }
    let size = Size { diameter_m: 0.05, length_m: 0.025, radial_clearance_m: 25e-6 };
    let crushed = Duty { load_n: 1e9, speed_rev_s: 1.0, viscosity_pa_s: 0.005 };
    let problems = run(&size, &crushed, COARSE).expect_err("no film carries that");
    assert!(problems.to_string().contains("the surfaces would touch"), "{problems}");
}
