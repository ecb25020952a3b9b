//! Engines that are not one upright cylinder to each throw with a main on both sides of it.

mod common;

use std::f64::consts::TAU;

use common::{close, near, number, rows};
use film::Problems;
use film::engine::{Along, Cylinder, Layout, Loads, OnThrow, loads, strokes};

/// The synthetic engine of the tables.
const ENGINE: Cylinder = Cylinder {
    bore_m: 0.08,
    stroke_m: 0.08,
    rod_m: 0.13,
    reciprocating_kg: 0.40 + 0.3 * 0.55,
    rotating_kg: 0.7 * 0.55,
    crankcase_pa: 1e5,
};

const SPEED: f64 = 3000.0 * TAU / 60.0;

/// One bump of pressure in a cycle, as in the independent working.
fn pressures(steps: usize) -> Vec<f64> {
    let at = |step: usize| {
        let quarter = (720.0 * step as f64 / steps as f64).to_radians() / 4.0;
        1e5 + 50e5 * (40.0 * (quarter.cos().powi(2) - 1.0)).exp()
    };
    (0..steps).map(at).collect()
}

fn worked(layout: &Layout, steps: usize) -> Loads {
    loads(&ENGINE, &pressures(steps), SPEED, layout).unwrap_or_else(|problems| panic!("{problems}"))
}

fn along(mains: &[f64], throws: &[f64]) -> Along {
    Along { mains_m: mains.to_vec(), throws_m: throws.to_vec() }
}

/// Cylinders by throw, lean and firing angle.
fn fired(cylinders: &[(usize, f64, f64)]) -> Vec<OnThrow> {
    cylinders
        .iter()
        .map(|(throw, lean, fires)| OnThrow { throw: *throw, lean_deg: *lean, fires_deg: Some(*fires) })
        .collect()
}

/// Cylinders by throw and lean; the order says when they fire.
fn leaning(cylinders: &[(usize, f64)]) -> Vec<OnThrow> {
    let on = |(throw, lean): &(usize, f64)| OnThrow { throw: *throw, lean_deg: *lean, fires_deg: None };
    cylinders.iter().map(on).collect()
}

fn layout(throws: &[f64], cylinders: &[OnThrow], order: &[usize], along: &Along) -> Layout {
    Layout::of(throws, cylinders, order, along).unwrap_or_else(|problems| panic!("{problems}"))
}

fn refused(found: Result<Layout, Problems>) -> Problems {
    let problems = found.expect_err("no engine");
    let text = problems.to_string();
    assert!(!text.contains("NaN to") && !problems.0.is_empty(), "{text}");
    problems
}

fn fields(problems: &Problems) -> Vec<&str> {
    problems.0.iter().map(|problem| problem.field.as_str()).collect()
}

/// The engines of `checks/make_engine_loads.py`, written down a second time.
fn engines() -> Vec<(&'static str, f64, Layout)> {
    let three_bearings = along(&[0.0, 0.24, 0.48], &[0.07, 0.16, 0.32, 0.41]);
    let cross = [(1, 45.0), (1, -45.0), (2, 45.0), (2, -45.0), (3, 45.0), (3, -45.0), (4, 45.0), (4, -45.0)];
    let five_bearings = along(&[0.0, 0.1, 0.21, 0.3, 0.42], &[0.05, 0.15, 0.26, 0.36]);
    vec![
        (
            "three-bearing four",
            0.4,
            layout(&[0.0, 180.0, 180.0, 0.0], &OnThrow::each(4), &[1, 3, 4, 2], &three_bearings),
        ),
        (
            "two-bearing twin",
            -0.2,
            layout(&[0.0, 180.0], &fired(&[(1, 0.0, 0.0), (2, 0.0, 180.0)]), &[], &along(&[0.0, 0.25], &[0.08, 0.15])),
        ),
        (
            "vee twin",
            -0.5,
            layout(&[0.0], &fired(&[(1, 25.0, 0.0), (1, -25.0, 310.0)]), &[], &along(&[0.0, 0.11], &[0.06])),
        ),
        (
            "flat twin",
            0.3,
            layout(&[0.0, 180.0], &leaning(&[(1, 90.0), (2, -90.0)]), &[1, 2], &along(&[0.0, 0.2], &[0.08, 0.12])),
        ),
        (
            "vee eight",
            0.8,
            layout(&[0.0, 90.0, 270.0, 180.0], &leaning(&cross), &[1, 8, 4, 3, 6, 5, 7, 2], &five_bearings),
        ),
        ("overhung single", 0.1, layout(&[0.0], &OnThrow::each(1), &[1], &along(&[0.0, 0.1], &[0.14]))),
    ]
}

/// Source: `checks/make_engine_loads.py`, an independent working in NumPy: places, a spectral derivative and moments
/// instead of formulae. Tolerance: 0.01 N and a millionth of loads up to 40 kN, for the printed digits and the working's
/// own rounding.
#[test]
fn an_independent_working_of_the_mains_agrees() {
    let engines = engines();
    let found: Vec<(&str, Loads)> = engines
        .into_iter()
        .map(|(name, unbalance_kg, layout)| {
            (name, worked(&Layout { throw_unbalance_kg: unbalance_kg, ..layout }, 1440))
        })
        .collect();
    let mut compared = 0;
    for row in rows(include_str!("reference/mains_loads.csv")) {
        let (_, loads) = found.iter().find(|(name, _)| *name == row[0]).expect("an engine of that name");
        let main = &loads.mains[number(&row, 1) as usize - 1];
        let step = (number(&row, 2) * 2.0).round() as usize;
        for (axis, column) in [(0, 3), (1, 4)] {
            let wanted = number(&row, column);
            near(&row.join(","), main.loads_n[step][axis], wanted, 0.01 + 1e-6 * wanted.abs());
            compared += 1;
        }
    }
    assert_eq!(compared, 2 * 24 * (3 + 2 + 2 + 2 + 5 + 2));
}

/// Statics by hand: a throw a quarter of the way along its span puts three quarters of its load on the nearer main, the
/// middle main of a two-throw, three-bearing crank carries a share of both.
#[test]
fn levers_by_hand() {
    let uneven = layout(&[0.0, 0.0], &OnThrow::each(2), &[1, 2], &along(&[0.0, 0.2, 0.4], &[0.05, 0.35]));
    let even = layout(&[0.0, 0.0], &OnThrow::each(2), &[1, 2], &Along::main_by_main(2));
    let (uneven, even) = (worked(&uneven, 720), worked(&even, 720));
    for step in (0..720).step_by(31) {
        let half = |main: usize| even.mains[main].loads_n[step][1];
        near("front", uneven.mains[0].loads_n[step][1], 1.5 * half(0), 1e-6);
        near("middle", uneven.mains[1].loads_n[step][1], 0.5 * half(1), 1e-6);
        near("rear", uneven.mains[2].loads_n[step][1], 1.5 * half(2), 1e-6);
    }
}

/// Statics: for every engine the mains carry together what the throws put on the crank, and their moments about the nose
/// are those of the throws. Tolerance: rounding.
#[test]
fn forces_and_moments_are_in_balance() {
    for (name, _, layout) in engines() {
        let found = worked(&layout, 720);
        let strokes = strokes(&ENGINE, &pressures(720), SPEED).expect("strokes");
        for step in (0..720).step_by(17) {
            let (mut force, mut moment) = ([0.0; 2], [0.0; 2]);
            for seat in &layout.seats {
                let since = (step + 720 - seat.fires_deg.round() as usize) % 720;
                let [x, y] = strokes.instants[since].pin_n;
                let (sin, cos) = seat.bank_deg.to_radians().sin_cos();
                for (axis, part) in [x * cos - y * sin, x * sin + y * cos].into_iter().enumerate() {
                    force[axis] -= part;
                    moment[axis] -= part * layout.along.throws_m[seat.throw];
                }
            }
            for axis in 0..2 {
                let mains = found.mains.iter().zip(&layout.along.mains_m);
                let carried: f64 = mains.clone().map(|(main, _)| main.loads_n[step][axis]).sum();
                let turned: f64 = mains.map(|(main, at)| main.loads_n[step][axis] * at).sum();
                near(&format!("{name}: force"), carried, force[axis], 1e-6);
                near(&format!("{name}: moment"), turned, moment[axis], 1e-6);
            }
        }
    }
}

/// With throws midway, places along the crank say nothing new, in whatever unit and from whatever point.
#[test]
fn a_main_on_both_sides_of_every_throw_halves_as_before() {
    let throws = [0.0, 180.0, 180.0, 0.0];
    let places = along(&[-0.2, -0.1, 0.0, 0.1, 0.2], &[-0.15, -0.05, 0.05, 0.15]);
    let placed = worked(&layout(&throws, &OnThrow::each(4), &[1, 3, 4, 2], &places), 720);
    let plain = worked(&Layout::upright(&throws, &[1, 3, 4, 2]).expect("a layout"), 720);
    for (placed, plain) in placed.mains.iter().zip(&plain.mains) {
        for (placed, plain) in placed.loads_n.iter().zip(&plain.loads_n) {
            near("x", placed[0], plain[0], 1e-6);
            near("y", placed[1], plain[1], 1e-6);
        }
    }
}

/// Common practice, no source: firing orders that go with these cranks. A cylinder must have its piston at the top when
/// it fires, so most other orders are refused.
#[test]
fn vee_and_flat_engines_fire_at_the_top() {
    let bays = |throws: usize| Along::main_by_main(throws);
    let sides = |throws: usize, lean: f64| -> Vec<OnThrow> {
        leaning(&(1..=throws).flat_map(|throw| [(throw, lean), (throw, -lean)]).collect::<Vec<_>>())
    };
    // Vee eights: throws in a cross, and in one plane.
    let (cross, plane) = ([0.0, 90.0, 270.0, 180.0], [0.0, 180.0, 180.0, 0.0]);
    let eight = layout(&cross, &sides(4, 45.0), &[1, 8, 4, 3, 6, 5, 7, 2], &bays(4));
    assert_eq!(eight.seats.iter().map(|seat| seat.fires_deg).sum::<f64>(), 90.0 * 28.0);
    assert_eq!((worked(&eight, 720).big_ends.len(), worked(&eight, 720).mains.len()), (8, 5));
    layout(&plane, &sides(4, -45.0), &[1, 8, 3, 6, 7, 2, 5, 4], &bays(4));
    refused(Layout::of(&plane, &sides(4, -45.0), &[1, 8, 4, 3, 6, 5, 7, 2], &bays(4)));
    // A vee six of 60 degrees with split pins: six throws, two in each of three bays.
    let split = [0.0, 60.0, 120.0, 180.0, 240.0, 300.0];
    let rods: Vec<(usize, f64)> = (1..=6).map(|throw| (throw, if throw % 2 == 1 { 30.0 } else { -30.0 })).collect();
    let four_bearings = along(&[0.0, 0.1, 0.2, 0.3], &[0.035, 0.065, 0.135, 0.165, 0.235, 0.265]);
    let six = layout(&split, &leaning(&rods), &[1, 4, 3, 6, 5, 2], &four_bearings);
    assert_eq!((worked(&six, 720).big_ends.len(), worked(&six, 720).mains.len()), (6, 4));
    // Flat four, a throw to each cylinder, three mains.
    let flat = leaning(&[(1, 90.0), (2, -90.0), (3, 90.0), (4, -90.0)]);
    let three_bearings = along(&[0.0, 0.2, 0.4], &[0.06, 0.14, 0.26, 0.34]);
    layout(&[0.0, 180.0, 180.0, 0.0], &flat, &[1, 3, 2, 4], &three_bearings);
    // A vee twin of 50 degrees fires unevenly, and the reason names the angles at which it can.
    let twin = leaning(&[(1, 25.0), (1, -25.0)]);
    let problems = refused(Layout::of(&[0.0], &twin, &[1, 2], &bays(1)));
    assert_eq!(fields(&problems), ["cylinders[2].fires_deg"]);
    assert!(problems.to_string().contains("310 or 670"), "{problems}");
    assert!(problems.to_string().contains("each cylinder’s own firing angle"), "{problems}");
}

/// Listed against the sense in which the crank turns, throws and leans are read the other way round. Throws count from
/// anywhere, and books round them to a degree.
#[test]
fn throws_are_read_from_either_end_and_from_anywhere() {
    let order = [1, 8, 4, 3, 6, 5, 7, 2];
    let cylinders = |lean: f64| {
        leaning(&[(1, lean), (1, -lean), (2, lean), (2, -lean), (3, lean), (3, -lean), (4, lean), (4, -lean)])
    };
    let bays = Along::main_by_main(4);
    let one = layout(&[0.0, 90.0, 270.0, 180.0], &cylinders(45.0), &order, &bays);
    let other = layout(&[0.0, -90.0, -270.0, -180.0], &cylinders(-45.0), &order, &bays);
    let turned = layout(&[30.0, 120.0, 300.0, 210.0], &cylinders(45.0), &order, &bays);
    assert_eq!(one, other);
    for (a, b) in one.throws_deg.iter().zip(&turned.throws_deg) {
        near("throw", (a - b).rem_euclid(360.0), 0.0, 1e-9);
    }
    assert!(Layout::upright(&[0.0, 102.9, 205.7, 308.6, 51.4, 154.3, 257.1], &[1, 2, 3, 4, 5, 6, 7]).is_ok());
    assert!(Layout::upright(&[0.0, 119.6, 240.3], &[1, 3, 2]).is_ok());
    assert!(Layout::upright(&[0.0, 118.0, 240.3], &[1, 3, 2]).is_err());
}

/// A throw between two instants of the cycle: an angle of firing that is no whole step. Tolerance: a thousandth of the
/// largest load; between steps of a degree the load is taken as straight.
#[test]
fn a_firing_between_two_steps_is_not_rounded() {
    let twin = |fires: f64, steps: usize| {
        let cylinders = fired(&[(1, 25.0, 0.0), (1, -24.5, fires)]);
        worked(&layout(&[0.0], &cylinders, &[], &Along::main_by_main(1)), steps)
    };
    let (coarse, fine) = (twin(310.5, 720), twin(310.5, 1440));
    let largest = fine.mains[0].loads_n.iter().fold(0.0f64, |most, load| most.max(load[0].hypot(load[1])));
    for step in 0..720 {
        for axis in 0..2 {
            let (found, wanted) = (coarse.mains[0].loads_n[step][axis], fine.mains[0].loads_n[2 * step][axis]);
            near("load", found, wanted, 1e-3 * largest);
        }
    }
}

/// Closed form: without gas, and with a rod so long that the piston moves as a cosine, a flat twin whose pistons move
/// against each other leaves no force on the crank as a whole, and a vee twin of 90 degrees one that turns with it:
/// m r ω². Tolerance: 0.2 %, for with a rod of a thousand throws the second order is a thousandth of the first.
#[test]
fn twins_balance_as_the_textbooks_have_it() {
    let endless = Cylinder { rod_m: 40.0, rotating_kg: 0.0, ..ENGINE };
    let dead = vec![1e5; 720];
    let sum = |layout: &Layout, step: usize| {
        let found = loads(&endless, &dead, SPEED, layout).expect("loads");
        let part = |axis: usize| found.mains.iter().map(|main| main.loads_n[step][axis]).sum::<f64>();
        [part(0), part(1)]
    };
    let flat = layout(&[0.0, 180.0], &leaning(&[(1, 90.0), (2, -90.0)]), &[1, 2], &Along::main_by_main(2));
    let vee = layout(&[0.0], &fired(&[(1, 45.0, 0.0), (1, -45.0, 270.0)]), &[], &Along::main_by_main(1));
    let swing = ENGINE.reciprocating_kg * 0.04 * SPEED * SPEED;
    for step in (0..720).step_by(45) {
        let [x, y] = sum(&flat, step);
        assert!(x.hypot(y) < 2e-3 * swing, "{x} {y}");
        let [x, y] = sum(&vee, step);
        close("turning force", x.hypot(y), swing, 2e-3);
        let turned = y.atan2(x).to_degrees() - (step as f64 + 135.0);
        near("turns with the throw", (turned + 180.0).rem_euclid(360.0) - 180.0, 0.0, 0.1);
    }
}

#[test]
fn everything_wrong_with_a_layout_is_said_at_once() {
    let cylinders = [
        OnThrow { throw: 0, lean_deg: f64::NAN, fires_deg: None },
        OnThrow { throw: 9, lean_deg: f64::INFINITY, fires_deg: None },
        OnThrow { throw: 2, lean_deg: 1e9, fires_deg: Some(10.0) },
        OnThrow { throw: 2, lean_deg: 30.0, fires_deg: None },
        OnThrow { throw: 2, lean_deg: 390.0, fires_deg: None },
    ];
    let places = along(&[0.0, f64::NAN, 1e9], &[0.1, 0.05, f64::INFINITY]);
    let problems = refused(Layout::of(&[0.0, f64::NAN, 1e9], &cylinders, &[1, 1, 2, 7], &places));
    let fields = fields(&problems);
    for field in [
        "throws_deg[2]",
        "throws_deg[3]",
        "cylinders[1].throw",
        "cylinders[1].lean_deg",
        "cylinders[2].throw",
        "cylinders[2].lean_deg",
        "cylinders[3].lean_deg",
        "cylinders[5].lean_deg",
        "cylinders",
        "cylinders.fires_deg",
        "firing_order",
        "along.mains_m[2]",
        "along.mains_m[3]",
        "along.throws_m[2]",
        "along.throws_m[3]",
    ] {
        assert!(fields.contains(&field), "{field} in {fields:?}");
    }
    assert!(Layout::of(&[], &[], &[], &along(&[], &[])).is_err());
    assert!(Layout::of(&[0.0; 30], &OnThrow::each(30), &[], &Along::main_by_main(30)).is_err());
}

#[test]
fn places_that_cannot_be_are_refused_with_the_reason() {
    let of = |mains: &[f64], throws: &[f64]| {
        let cylinders = OnThrow::each(throws.len());
        let order: Vec<usize> = (1..=throws.len()).collect();
        refused(Layout::of(&vec![0.0; throws.len()], &cylinders, &order, &along(mains, throws)))
    };
    for (mains, throws, field, words) in [
        (&[0.0, 0.2][..], &[0.2, 0.3][..], "along.throws_m[1]", "cannot stand in one place"),
        (&[0.0, 0.2], &[0.1, 0.5], "along.throws_m[2]", "longer levers hold nothing"),
        (&[0.2, 0.0], &[0.1, 0.15], "along.mains_m[2]", "counted from the nose on"),
        (&[0.0, 0.0], &[0.1, 0.15], "along.mains_m[2]", "counted from the nose on"),
        (&[0.0, 0.2], &[0.15, 0.1], "along.throws_m[2]", "counted from the nose on"),
        (&[0.0, 0.2, 0.4], &[0.1, 0.15], "along.mains_m[3]", "leave it out"),
        (&[0.1], &[0.05, 0.15], "along.mains_m", "a throw rests on two mains"),
        (&[0.0, 1e9], &[0.05, 0.15], "along.mains_m[2]", "a crank is not longer"),
    ] {
        let problems = of(mains, throws);
        let problem = problems.0.iter().find(|problem| problem.field == field);
        let problem = problem.unwrap_or_else(|| panic!("{field} in {problems}"));
        assert!(problem.to_string().contains(words), "{problem}");
    }
}
