//! Thrust washers, rods and the order of an invented engine, worked by hand and by every way there is.

mod kit;

use fit::{Found, Half, Side, StopKind, Thrust, Washer, Washers};
use kit::{EXACT, MIC, answer, found, main, measured, near_in, pin};
use proptest::prelude::*;

fn thrust(width_in: f64, front: Option<(f64, f64)>, rear: Option<(f64, f64)>) -> Found {
    let washer = |(thickness, oversize): (f64, f64)| Washer {
        thickness: measured(thickness, EXACT),
        oversize_mm: oversize * 25.4,
    };
    let thrust = Thrust {
        journal: main(3),
        width: Some(measured(width_in, EXACT)),
        housing: Some(measured(0.9500, EXACT)),
        front: front.map(washer),
        rear: rear.map(washer),
        float_mm: None,
    };
    Found { thrust: Some(thrust), ..Found::default() }
}

fn washers(found: &Found) -> (fit::EndFloat, Washers, fit::Fit) {
    let (_, fit) = answer(&kit::findings(2.1247, 1.8747, EXACT), found, &kit::book());
    let float = fit.end_float.clone().expect("measured");
    let washers = float.washers.expect("limits are known");
    (float, washers, fit)
}

/// By hand: room 0.1995, washers 0.0960 both: 0.0075, well within 0.004 to 0.010. New ones of 0.010 and standard would leave
/// 0.0075 too, and cost money.
#[test]
fn fitted_washers_that_do_their_work_stay() {
    let (float, chosen, fit) = washers(&thrust(1.1495, Some((0.0960, 0.005)), Some((0.0960, 0.005))));
    assert_eq!((chosen.front_there, chosen.rear_there, chosen.to_order()), (true, true, 0));
    near_in(chosen.float_mm, 0.0075, 1e-9);
    assert_eq!(float.reckoned_mm, Some(chosen.float_mm), "one float, not two");
    assert!(fit.order.iter().filter(|line| line.what.starts_with("thrust")).all(|line| line.to_order() == 0));
    // A worn one that still keeps the limits stays with its own thickness, not the book's.
    let (float, chosen, _) = washers(&thrust(1.1390, Some((0.0906, 0.0)), Some((0.0912, 0.0))));
    assert_eq!(chosen.to_order(), 0);
    near_in(float.reckoned_mm.expect("all measured"), 0.0072, 1e-9);
    near_in(chosen.float_mm, 0.0072, 1e-9);
}

/// By hand: room 0.2030, washers 0.0910 both leave 0.0210. One face at 0.010 leaves 0.011, too much; both must change. With
/// room 0.1980, one at 0.005 leaves 0.011, one at 0.010 leaves 0.006: one washer, and the rear's, for that is the first.
#[test]
fn one_face_is_changed_where_one_will_do() {
    let standard = Some((0.0910, 0.0));
    let (_, chosen, _) = washers(&thrust(1.1480, standard, standard));
    assert_eq!((chosen.to_order(), chosen.front_there), (1, true));
    near_in(chosen.rear_mm, 0.010, 1e-9);
    near_in(chosen.float_mm, 0.0060, 1e-9);
    let (_, chosen, _) = washers(&thrust(1.1530, standard, standard));
    assert_eq!((chosen.to_order(), chosen.within), (2, true));
    // A worn standard washer may give way to a new one of its own size.
    let (_, chosen, fit) = washers(&thrust(1.1400, Some((0.0838, 0.0)), standard));
    assert_eq!((chosen.to_order(), chosen.front_mm, chosen.front_there), (1, 0.0, false));
    let line = fit.order.iter().find(|line| line.what == "thrust washer, front").expect("a line");
    assert_eq!((line.size.as_str(), line.to_order()), ("standard", 1));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Every pair of washers, fitted or new, in whole ten-thousandths of an inch.
    #[test]
    fn no_fewer_new_washers_would_do(
        room in 1840i64..2200,
        fitted in prop::collection::vec(prop::option::of((0usize..3, -8i64..=8)), 2),
    ) {
        const LADDER: [i64; 3] = [0, 50, 100];
        let inches = |tenths: i64| tenths as f64 / 1e4;
        let washer = |w: Option<(usize, i64)>| w.map(|(o, worn)| (inches(910 + LADDER[o] + worn), inches(LADDER[o])));
        let found = thrust(0.95 + inches(room), washer(fitted[0]), washer(fitted[1]));
        let (float, chosen, fit) = washers(&found);
        let choices = |w: Option<(usize, i64)>| -> Vec<(i64, u32)> {
            let own = w.map(|(o, worn)| (910 + LADDER[o] + worn, 0));
            own.into_iter().chain(LADDER.map(|o| (910 + o, 1))).collect()
        };
        let all = choices(fitted[0]).into_iter().flat_map(|(f, new)| {
            choices(fitted[1]).into_iter().map(move |(r, more)| (room - f - r, new + more))
        });
        let all: Vec<(i64, u32)> = all.collect();
        let good = || all.iter().filter(|(float, _)| (40..=100).contains(float));
        prop_assert_eq!(chosen.within, good().next().is_some());
        if let Some(fewest) = good().map(|(_, new)| *new).min() {
            let nearest = good().filter(|(_, new)| *new == fewest).map(|(float, _)| (float - 70).abs()).min();
            prop_assert_eq!(chosen.to_order(), fewest);
            let off = (chosen.float_mm / 25.4 * 1e4).round() as i64 - 70;
            prop_assert_eq!(Some(off.abs()), nearest);
            if fewest == 0 {
                prop_assert_eq!(float.reckoned_mm, Some(chosen.float_mm));
            }
        } else {
            prop_assert!(fit.stops.iter().any(|stop| stop.kind == StopKind::EndFloat));
        }
    }
}

/// By hand: 1.0420 less 1.0535 is 0.0115 short.
#[test]
fn rods_wider_than_their_pin_are_stopped() {
    let side = |width: f64, rod: f64| Side {
        journal: pin(2),
        width: measured(width, EXACT),
        rods: vec![measured(rod, EXACT)],
    };
    let stops = |width: f64, rod: f64| {
        let found = Found { sides: vec![side(width, rod)], ..Found::default() };
        answer(&kit::findings(2.1247, 1.8747, EXACT), &found, &kit::book()).1.stops
    };
    let found = stops(1.0420, 1.0535);
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].kind, found[0].journal), (StopKind::SideClearance, Some(pin(2))));
    assert!(found[0].says.contains("0.0115 in wider") && found[0].says.contains("cannot be assembled"), "{found:?}");
    assert!(stops(1.0420, 1.0400).is_empty(), "little room is no stop");
}

/// A crank that could not turn for its washers is said even where the book has no end float.
#[test]
fn washers_without_room_are_stopped() {
    let mut book = kit::book();
    book.float = None;
    let found = thrust(1.1300, Some((0.0910, 0.0)), Some((0.0910, 0.0)));
    let (_, fit) = answer(&kit::findings(2.1247, 1.8747, EXACT), &found, &book);
    assert_eq!(fit.stops.iter().map(|stop| stop.kind).collect::<Vec<_>>(), [StopKind::EndFloat]);
    assert!(fit.stops[0].says.contains("0.0020 in wider"), "{:?}", fit.stops);
}

/// One micrometer for pin and rod: its scale takes itself away. For pin and two rods it counts once, for it stands once on
/// one side and twice on the other. By hand from 0.0001 limit, 0.00005 repeatability and 0.0001 graduation.
#[test]
fn what_a_micrometer_shares_stays_shared_between_pin_and_rods() {
    let own = 0.00005f64.hypot(0.0001 / 12f64.sqrt());
    let scale = 0.0001 / 3f64.sqrt();
    let side = |rods: &[f64]| Side {
        journal: pin(1),
        width: measured(1.0500 * rods.len() as f64, MIC),
        rods: rods.iter().map(|rod| measured(*rod, MIC)).collect(),
    };
    let doubt = |rods: &[f64]| {
        let found = Found { sides: vec![side(rods)], ..Found::default() };
        answer(&kit::findings(2.1247, 1.8747, EXACT), &found, &kit::book()).1.sides[0].uncertainty_mm
    };
    near_in(doubt(&[1.0450]), own.hypot(own), 1e-9);
    near_in(doubt(&[1.0450, 1.0450]), (3.0 * own * own + scale * scale).sqrt(), 1e-9);
}

/// A side clearance on its limit, all doubt in the scale that pin and two rods share: as often in as out.
#[test]
fn the_chance_of_a_side_clearance_is_drawn() {
    let mut findings = kit::findings(2.1247, 1.8747, EXACT);
    findings.instruments[2].repeatability_mm = 0.0;
    findings.instruments[2].graduation_mm = 0.0;
    let rods = vec![measured(1.0450, MIC), measured(1.0440, MIC)];
    let side = Side { journal: pin(1), width: measured(2.1000, MIC), rods };
    let found = Found { sides: vec![side], ..Found::default() };
    let (_, fit) = answer(&findings, &found, &kit::book());
    near_in(fit.sides[0].mm, 0.0110, 1e-9);
    let share = fit.sides[0].within.expect("limits are known").share();
    assert!((share - 0.5).abs() < 0.03, "{share}");
}

/// Ten upper halves are no five pairs, however the counts are made up.
#[test]
fn pairs_are_counted_from_upper_and_lower_halves() {
    for (upper, lower, pairs) in [(10, 0, 0), (6, 4, 4), (8, 0, 2), (5, 5, 5), (0, 7, 3), (0, 0, 5)] {
        let mut bearings = found([2.2707; 5], "0.010", 0.0768);
        for (nth, shell) in bearings.shells.iter_mut().enumerate() {
            shell.half = if nth < upper {
                Half::Upper
            } else if nth < upper + lower {
                Half::Lower
            } else {
                Half::Either
            };
        }
        let (_, fit) = answer(&kit::findings(2.1225, 1.8747, EXACT), &bearings, &kit::book());
        let line = fit.order.iter().find(|line| line.what == "main shells, pairs").expect("a line");
        assert_eq!((line.needed, line.on_the_bench), (5, pairs), "{upper} upper, {lower} lower");
        let said = fit.remarks.iter().any(|remark| remark.says.contains("were not measured"));
        assert!(!said, "every wall was measured: {:?}", fit.remarks);
        assert_eq!(fit.sets[0].matched, pairs == 5);
        assert_eq!(fit.remarks.iter().any(|r| r.says.contains("Settle which half goes where")), pairs < 5);
    }
}

/// Ten halves out of one box are stopped once; another box of the same set for itself.
#[test]
fn one_box_is_one_stop() {
    let mut bearings = found([2.2707; 5], "0.25 mm", 0.0767);
    for shell in bearings.shells.iter_mut().skip(6) {
        shell.undersize = Some(kit::entry("0.50 mm"));
        shell.wall = Some(measured(0.0816, EXACT));
    }
    let (_, fit) = answer(&kit::findings(2.1225, 1.8747, EXACT), &bearings, &kit::book());
    let of_marks: Vec<&str> =
        fit.stops.iter().filter(|s| s.kind == StopKind::StepsConfused).map(|s| s.says.as_str()).collect();
    assert_eq!(of_marks.len(), 2, "{of_marks:?}");
    assert!(of_marks[0].ends_with("So with 5 more.") && of_marks[1].ends_with("So with 3 more."), "{of_marks:?}");
}

/// A washer of 0.09 in is none for a 2-3 in micrometer, and a rod of 1.04 in neither: said once, with the sizes.
#[test]
fn a_size_that_its_micrometer_does_not_reach_is_said() {
    let mut findings = kit::findings(2.1247, 1.8747, EXACT);
    findings.instruments[2].range_mm = Some((2.0 * 25.4, 3.0 * 25.4));
    let rods = vec![measured(1.0410, MIC)];
    let mut found =
        Found { sides: vec![Side { journal: pin(1), width: measured(2.0000, MIC), rods }], ..Found::default() };
    found.bores.push(kit::bore(main(1), 90.0, 2.2707, MIC));
    let remark = |found: &Found| {
        let (_, fit) = answer(&findings, found, &kit::book());
        let mut said = fit.remarks.into_iter().map(|r| r.says).filter(|says| says.contains("which measures"));
        (said.next(), said.next())
    };
    let (first, second) = remark(&found);
    let first = first.expect("said");
    assert!(first.starts_with("1.04100: said") && first.contains("mic 2-3, which measures 2.0 to 3.0 in"), "{first}");
    assert_eq!(second, None);
    found.sides.clear();
    assert_eq!(remark(&found), (None, None), "2.2707 is within reach");
}
