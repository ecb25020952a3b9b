//! Whole cases of engines with missing mains, shared pins and leaning cylinders.

mod common;

use common::close;
use film::case::{Case, Clearance, Condition, Known, State, curve, side_by_side};
use film::engine::{Along, OnThrow};

const KNOWN: Known =
    Known { stroke_m: 0.08, pin_diameter_m: 0.045, pin_length_m: 0.018, main_diameter_m: 0.054, main_length_m: 0.020 };

fn case(throws: &[f64], order: &[usize]) -> Case {
    let mut case = Case::new(&KNOWN, throws, order);
    let plan = Clearance::alike("as planned", 45e-6, 54e-6);
    case.clearances = vec![plan];
    case
}

fn four() -> Case {
    case(&[0.0, 180.0, 180.0, 0.0], &[1, 3, 4, 2])
}

fn running(case: &Case) -> State {
    let found = side_by_side(case).unwrap_or_else(|problems| panic!("{problems}"));
    found.into_iter().next().expect("one clearance").hot_running
}

/// A four on three mains: two throws in each of two bays.
fn three_bearing_four() -> Case {
    let mut case = four();
    case.along = Some(Along { mains_m: vec![0.0, 0.24, 0.48], throws_m: vec![0.075, 0.165, 0.315, 0.405] });
    case
}

/// Throws in a cross, two rods on each.
fn vee_eight() -> Case {
    let mut case = case(&[0.0, 90.0, 270.0, 180.0], &[1, 8, 4, 3, 6, 5, 7, 2]);
    let sides = (1..=4).flat_map(|throw| [(throw, 45.0), (throw, -45.0)]);
    case.set_cylinders(sides.map(|(throw, lean_deg)| OnThrow { throw, lean_deg, fires_deg: None }).collect());
    case
}

/// With throws midway, places change no figure.
#[test]
fn places_along_the_crank_change_nothing_where_throws_stand_midway() {
    let mut placed = four();
    placed.along = Some(Along {
        mains_m: vec![0.0, 0.0625, 0.125, 0.1875, 0.25],
        throws_m: vec![0.03125, 0.09375, 0.15625, 0.21875],
    });
    assert_eq!(side_by_side(&placed), side_by_side(&four()));
}

/// Statics: the main nearer to the throw carries more and has the thinner film, at whichever end that is; the big end
/// knows nothing of it.
#[test]
fn the_nearer_main_carries_more() {
    let single = |throw_m: f64| {
        let mut single = case(&[0.0], &[1]);
        single.along = Some(Along { mains_m: vec![0.0, 0.12], throws_m: vec![throw_m] });
        running(&single)
    };
    let (middle, front, rear) = (single(0.06), single(0.04), single(0.08));
    assert!(front.mains.least_film_m < 0.9 * middle.mains.least_film_m, "{front:?}");
    assert_eq!((front.mains.number, rear.mains.number), (1, 2));
    close("mirrored", front.mains.least_film_m, rear.mains.least_film_m, 1e-3);
    close("pins", front.pins.least_film_m, middle.pins.least_film_m, 0.02);
}

/// The circuit counts bearings as they are: oil through each pin, and through each main, is that of one, times their
/// number. Five mains less two leave the gauge higher; twice the rods on the same mains lower it where the pump is the
/// same.
#[test]
fn the_circuit_counts_mains_and_big_ends() {
    let idle = |case: &Case| side_by_side(case).expect("a case")[0].hot_idle.clone();
    let (five, three) = (idle(&four()), idle(&three_bearing_four()));
    assert!(three.gauge_pa > 1.02 * five.gauge_pa, "{} and {}", three.gauge_pa, five.gauge_pa);
    // What pressure pushes through one bearing goes with the pressure; eccentricity and heat move it by less than a
    // fifth.
    let each = |state: &State, mains: f64| state.mains.flow_m3_s / mains / state.gauge_pa;
    close("one main", each(&three, 3.0), each(&five, 5.0), 0.2);

    let eight = vee_eight();
    let mut cross = case(&[0.0, 90.0, 180.0, 270.0], &[1, 4, 3, 2]);
    cross.set_cylinders((1..=4).map(|throw| OnThrow { throw, lean_deg: 0.0, fires_deg: None }).collect());
    // Twice the cylinders on as many throws have twice the pump.
    close("pump", eight.figures.pump_m3_rev.value / cross.figures.pump_m3_rev.value, 2.0, 1e-12);
    let (eight, five) = (idle(&eight), idle(&four()));
    close("pins", eight.pins.flow_m3_s / five.pins.flow_m3_s * five.gauge_pa / eight.gauge_pa, 2.0, 0.2);
    close("friction", eight.pins.friction_w / five.pins.friction_w, 2.0, 0.2);
}

/// Two rods on a pin have a shell each: the same rod under the same gas has the same film, alone or with a neighbour.
#[test]
fn a_rod_does_not_know_its_neighbour() {
    let mut twin = case(&[0.0], &[]);
    let at = |lean_deg: f64, fires_deg: f64| OnThrow { throw: 1, lean_deg, fires_deg: Some(fires_deg) };
    twin.set_cylinders(vec![at(25.0, 0.0), at(-25.0, 310.0)]);
    let (twin, single) = (running(&twin), running(&case(&[0.0], &[1])));
    close("pin", twin.pins.least_film_m, single.pins.least_film_m, 0.02);
    assert!(twin.mains.least_film_m < single.mains.least_film_m);
}

/// The gauge over speed and the curve follow one main and let it stand for all. What that costs on engines whose mains
/// are loaded unlike. Tolerance: gauge 2 %, film of the main that is followed 2 %.
#[test]
fn one_main_stands_for_all_where_mains_are_unlike() {
    for case in [three_bearing_four(), vee_eight()] {
        let found = side_by_side(&case).expect("a case");
        let points = curve(&case, 28).expect("a curve");
        let plan = points.iter().find(|point| (point.scale - 1.0).abs() < 1e-9).expect("a point at the plan");
        let [first, .., _] = &found[0].gauge[..] else { panic!("several speeds") };
        close("gauge over speed", first.hot_pa, found[0].hot_idle.gauge_pa, 0.02);
        close("gauge of the curve", plan.hot_idle_gauge_pa, found[0].hot_idle.gauge_pa, 0.02);
        close("film of the curve", plan.main_film_m, found[0].hot_running.mains.least_film_m, 0.02);
    }
}

#[test]
fn pin_and_main_that_would_stand_in_one_another_are_refused() {
    let mut close_by = three_bearing_four();
    close_by.along = Some(Along { mains_m: vec![0.0, 0.24, 0.48], throws_m: vec![0.075, 0.232, 0.315, 0.405] });
    let problems = side_by_side(&close_by).expect_err("8 mm from middle to middle");
    assert_eq!(problems.0.len(), 1, "{problems}");
    assert_eq!(problems.0[0].field, "layout.along.throws_m[2]");
    assert!(problems.to_string().contains("stand in one another"), "{problems}");
}

#[test]
fn paths_follow_the_mains_that_there_are() {
    let paths = film::case::paths(&three_bearing_four(), 0, Condition::HotRunning).expect("paths");
    assert!((1..=3).contains(&paths.main));
    assert_eq!(paths.main_path.instants.len(), 720);
}
