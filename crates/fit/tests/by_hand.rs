//! What a bearing gains by heat, and a dial beside the parts: worked by hand on the Tarn four.

mod kit;

use fit::{Bore, Found, Shells, Thrust, Washer};
use kit::{EXACT, IN, answer, book, findings, main, measured, near_in};

/// By hand: a journal of 2.1247 in shells that measure 2.1271 has 0.0024; with two walls of 0.0718 the bore is 2.2707. From 20
/// to 90 °C an aluminium bore gains 21.5e-6 × 70 of itself, 0.003_417_4, and steel walls and journal, 2.2683, 11.5e-6 × 70 of
/// theirs, 0.001_826_0: what runs has 0.001_591_4 more. Where the book has no wall it is half of what a middling housing,
/// 2.27075, leaves: hardly another figure, 0.001_591_5.
#[test]
fn a_bearing_gains_what_its_bore_gains_less_walls_and_journal() {
    let shells_in = |n| Bore {
        journal: main(n),
        at_mm: 0.0,
        plane_deg: 90.0,
        size: measured(2.1271, EXACT),
        shells: Shells::In { undersize_mm: 0.0 },
    };
    let bores = Found { bores: (1..=5).map(shells_in).collect(), ..Found::default() };
    let gained = |book: &fit::Book| {
        let (_, fit) = answer(&findings(2.1247, 1.8747, EXACT), &bores, book);
        let bearing = fit.bearings.iter().find(|bearing| bearing.journal == main(1)).expect("measured");
        bearing.as_found.as_ref().and_then(|clearance| clearance.gained_hot_mm)
    };
    near_in(gained(&book()).expect("a material"), 0.001_591_4, 1e-7);
    let mut without_wall = book();
    without_wall.main.wall = None;
    near_in(gained(&without_wall).expect("a material"), 0.001_591_5, 1e-7);
    let mut without_material = book();
    without_material.main.material = None;
    assert_eq!(gained(&without_material), None);
}

/// By hand: 1.1495 between the thrust faces, a housing of 0.9500 and two washers of 0.0960 leave 0.0075. A dial may say a thou
/// more or less than that of parts that are exact, 0.0065 to 0.0085, before one of them must be wrong.
#[test]
fn a_dial_may_differ_from_the_parts_by_a_thou() {
    let washer = || Some(Washer { thickness: measured(0.0960, EXACT), oversize_mm: 0.005 * IN });
    let remarked = |dial_in: f64| {
        let thrust = Thrust {
            journal: main(3),
            width: Some(measured(1.1495, EXACT)),
            housing: Some(measured(0.9500, EXACT)),
            front: washer(),
            rear: washer(),
            float_mm: Some(dial_in * IN),
        };
        let found = Found { thrust: Some(thrust), ..Found::default() };
        let (_, fit) = answer(&findings(2.1247, 1.8747, EXACT), &found, &book());
        near_in(fit.end_float.as_ref().and_then(|float| float.reckoned_mm).expect("all measured"), 0.0075, 1e-9);
        fit.remarks.iter().any(|remark| remark.says.contains("by the dial"))
    };
    for (dial_in, wrong) in [(0.0064, true), (0.0066, false), (0.0084, false), (0.0086, true)] {
        assert_eq!(remarked(dial_in), wrong, "{dial_in}");
    }
}
