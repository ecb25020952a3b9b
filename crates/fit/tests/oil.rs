//! Which engine the film is asked about, made from a crank's book.

mod kit;

use crank::Specification;
use film::case::side_by_side;
use fit::{Engine, Found, OilCase, Side, Wanted, oil_case};
use kit::{EXACT, IN, book, findings, instruments, measured, pin, policy, tarn_four};
use units::Unit;

fn asked(specification: &Specification, found: &Found) -> Result<OilCase, String> {
    let findings = match specification.main.count() {
        5 => findings(2.1248, 1.8748, EXACT),
        _ => crank::Findings { instruments: instruments(), ..crank::Findings::default() },
    };
    let book = book();
    let wanted = Wanted::default();
    let engine = Engine { specification, findings: &findings, found, book: &book, wanted, unit: Unit::Inch };
    oil_case(&engine, &fit::fit(&engine, None, &policy()))
}

fn placed(specification: &Specification) -> OilCase {
    asked(specification, &Found::default()).unwrap_or_else(|says| panic!("{says}"))
}

/// The Tarn four's throws on three mains.
fn three_bearings() -> Specification {
    let mut specification = tarn_four();
    specification.main.positions_mm = [0.0, 6.4, 12.8].map(|at| at * IN).to_vec();
    specification.pin.positions_mm = [2.2, 4.2, 8.6, 10.6].map(|at| at * IN).to_vec();
    specification
}

/// The book's positions go into the case. With throws midway, as the Tarn four's are, they change nothing.
#[test]
fn positions_of_the_book_reach_the_film() {
    let four = placed(&tarn_four());
    let along = four.case.along.clone().expect("the book has positions");
    assert_eq!((along.mains_m.len(), along.throws_m.len()), (5, 4));
    assert!((along.throws_m[1] - 4.8 * 0.0254).abs() < 1e-12);
    assert!(four.notes.iter().any(|note| note.contains("Firing order 1-3-4-2")), "{:?}", four.notes);
    assert!(!four.notes.iter().any(|note| note.contains("lever rule")));
    let mut plain = four.case.clone();
    plain.along = None;
    let (placed, plain) = (side_by_side(&four.case).expect("a film"), side_by_side(&plain).expect("a film"));
    for (placed, plain) in placed.iter().zip(&plain) {
        let (found, wanted) = (placed.hot_running.mains.least_film_m, plain.hot_running.mains.least_film_m);
        assert!((found / wanted - 1.0).abs() < 1e-6, "{found} and {wanted}");
    }
}

#[test]
fn a_four_on_three_mains_is_worked_out_and_said() {
    let four = placed(&three_bearings());
    assert_eq!(four.case.along.as_ref().map(|along| along.mains_m.len()), Some(3));
    assert!(four.notes.iter().any(|note| note.contains("3 mains carry 4 throws")), "{:?}", four.notes);
    let film = side_by_side(&four.case).expect("a film");
    assert!(film.iter().all(|at| (1..=3).contains(&at.hot_running.mains.number)));
}

/// A twin whose throws are opposed fires unevenly, and the case says when.
#[test]
fn an_opposed_twin_has_its_own_firing_angles() {
    let mut twin = tarn_four();
    twin.main.positions_mm = [0.0, 6.4].map(|at| at * IN).to_vec();
    twin.pin.positions_mm = [2.2, 4.2].map(|at| at * IN).to_vec();
    twin.pin.angles_deg = vec![0.0, 180.0];
    let case = placed(&twin).case;
    assert!(case.firing_order.is_empty());
    assert_eq!(case.cylinders.iter().map(|cylinder| cylinder.fires_deg).collect::<Vec<_>>(), [Some(0.0), Some(180.0)]);
    assert!(side_by_side(&case).is_ok());
}

/// What the book does not say is not guessed: the refusal says what to write instead.
#[test]
fn a_bank_angle_is_never_guessed() {
    let mut cross = tarn_four();
    cross.pin.angles_deg = vec![0.0, 90.0, 270.0, 180.0];
    let says = asked(&cross, &Found::default()).expect_err("a vee eight");
    assert!(says.contains("[[cylinder]]") && says.contains("tenunder film"), "{says}");

    let rods = vec![measured(0.9, EXACT), measured(0.9, EXACT)];
    let side = Side { journal: pin(3), width: measured(1.81, EXACT), rods };
    let says = asked(&tarn_four(), &Found { sides: vec![side], ..Found::default() }).expect_err("two rods on a pin");
    assert!(says.starts_with("Pin 3 carries 2 rods"), "{says}");
    assert!(says.contains("how far its bore leans"), "{says}");
}

#[test]
fn positions_that_carry_no_throw_are_refused_with_the_reason() {
    let mut beyond = three_bearings();
    beyond.pin.positions_mm = [2.2, 4.2, 8.6, 25.0].map(|at| at * IN).to_vec();
    let says = asked(&beyond, &Found::default()).expect_err("a throw far behind the last main");
    assert!(says.contains("pin.positions[4] is 0.635 m") && says.contains("longer levers hold nothing"), "{says}");
}

/// The circuit is told of every journal's own wear, not of the worst alone; a reading that looks misread is said.
#[test]
fn each_bearing_as_found_has_its_own_clearance() {
    let specification = tarn_four();
    let worn = |pin_3: f64| {
        let mut findings = findings(2.1248, 1.8748, EXACT);
        for reading in findings.readings.iter_mut().filter(|reading| reading.journal == pin(3)) {
            for size in &mut reading.sizes {
                size.mm = pin_3 * IN;
            }
        }
        let book = book();
        let (wanted, found) = (Wanted::default(), Found::default());
        let engine = Engine {
            specification: &specification,
            findings: &findings,
            found: &found,
            book: &book,
            wanted,
            unit: Unit::Inch,
        };
        oil_case(&engine, &fit::fit(&engine, None, &policy())).unwrap_or_else(|says| panic!("{says}"))
    };
    let case = worn(1.8728);
    let found = &case.case.clearances[0];
    assert_eq!((found.each_pin_m.len(), found.each_main_m.len()), (4, 5));
    let more = found.each_pin_m[2] - found.each_pin_m[1];
    assert!((more - 0.0020 * 0.0254).abs() < 0.0001 * 0.0254, "{found:?}");
    assert!((found.pin_diametral_m - found.each_pin_m[2]).abs() < 1e-12, "the widest is shown: {found:?}");
    assert!(case.case.clearances[1].each_pin_m.is_empty() && case.doubts.is_empty(), "{:?}", case.doubts);
    assert!(side_by_side(&case.case).is_ok());
}

/// By hand: pins last ground 0.010 under are 1.8645 to 1.8650, middle 1.86475; measured 1.8630 they have lost 0.00175. In
/// shells 0.010 under that is the book's middle, 0.00205, and the wear; the 0.010 ground away is none of it.
#[test]
fn wear_counts_from_the_size_that_was_last_ground_to() {
    let specification = tarn_four();
    let (found, book, wanted) = (Found::default(), book(), Wanted::default());
    for (pins_in, worn_in) in [(1.8630, 1.86475 - 1.8630), (1.8730, 1.87475 - 1.8730), (1.8748, 0.0)] {
        // One that shows what the set was last ground to.
        let mut findings = findings(2.1248, pins_in, EXACT);
        let last = if pins_in < 1.87 { "1.8648" } else { "1.8748" };
        let reading = findings.readings.iter_mut().find(|reading| reading.journal == pin(4)).expect("read");
        reading.sizes = vec![kit::entry(last)];
        let engine = Engine {
            specification: &specification,
            findings: &findings,
            found: &found,
            book: &book,
            wanted,
            unit: Unit::Inch,
        };
        let case = oil_case(&engine, &fit::fit(&engine, None, &policy())).expect("a case").case;
        kit::near_in(case.clearances[0].pin_diametral_m * 1000.0, 0.00205 + worn_in, 1e-9);
    }
}
