//! The bearings of an invented engine, worked by hand.

mod kit;

use crank::{SetName, State};
use fit::{Found, StopKind, WallFrom, WantedFrom};
use kit::{EXACT, MIC, answer, band, found, main, near_in, pin};
use regrind::Stage;

fn kinds(fit: &fit::Fit) -> Vec<StopKind> {
    fit.stops.iter().map(|stop| stop.kind).collect()
}

/// By hand: bores 2.2707, walls 2 × 0.0718, so 2.1271 with shells in; journals 2.1247: 0.0024 everywhere. Mains left alone.
#[test]
fn clearance_is_bore_less_two_walls_less_journal() {
    let mut bearings = found([2.2707; 5], "0", 0.0718);
    bearings.bores.push(kit::bore(main(1), 90.0, 2.2709, EXACT));
    bearings.bores.push(kit::bore(main(1), 0.0, 2.27095, EXACT));
    let mut findings = kit::findings(2.1247, 1.8747, EXACT);
    findings.readings[0].sizes = vec![kit::entry("2.1245")];
    let (_, fit) = answer(&findings, &bearings, &kit::book());
    let one = fit.bearings[0].as_found.as_ref().expect("measured");
    assert_eq!(one.walls, WallFrom::Measured);
    near_in(one.across.tightest_mm, 2.2707 - 0.1436 - 2.1247, 1e-9);
    near_in(one.across.loosest_mm, 2.2709 - 0.1436 - 2.1245, 1e-9);
    near_in(one.across.mean_mm, 2.2708 - 0.1436 - 2.1246, 1e-9);
    let along = one.along.expect("measured");
    near_in(along.tightest_mm, 2.27095 - 0.1436 - 2.1247, 1e-9);
    assert!(fit.remarks.iter().any(|r| r.says.contains("relieved towards the split")));
    assert!(fit.stops.is_empty(), "{:?}", fit.stops);
    assert_eq!(one.state, Some(State::Within));
    assert_eq!(fit.sets[0].within.map(|c| c.hits), Some(4000), "exact instruments leave nothing to chance");
    // Aluminium over steel opens: (90 - 20) × (21.5e-6 × 2.2708 - 11.5e-6 × 2.2682).
    near_in(one.gained_hot_mm.expect("aluminium"), 70.0 * (21.5e-6 * 2.2708 - 11.5e-6 * 2.2682), 1e-9);
}

/// By hand: ground ten under, the middle of the limits is 2.11475. The bearings are 2.1171, less the wanted 0.0024.
#[test]
fn the_wanted_clearance_sets_the_size_that_is_ground_to() {
    let findings = kit::findings(2.1225, 1.8747, EXACT);
    let bearings = found([2.2709; 5], "0.010", 0.0768);
    let (verdict, fit) = answer(&findings, &bearings, &kit::book());
    let mains = &fit.sets[0];
    assert!(mains.ground);
    assert_eq!(mains.wanted_mm.map(|(_, from)| from), Some(WantedFrom::Book));
    let aim = mains.aim.expect("measured");
    // 2.1173 less 0.0024 is 2.1149; from 2.1142 (0.0031) up to the book's own 2.1150.
    near_in(aim.target_mm, 2.1149, 1e-9);
    near_in(aim.window.low_mm, 2.1145, 1e-9);
    near_in(aim.window.high_mm, 2.1150, 1e-9);
    let finished = verdict.plans[0].plan.stages.iter().find(|s| s.stage == Stage::Finished).expect("a stage");
    near_in(finished.target_mm, 2.1149, 1e-9);
    let step = verdict.sets[0].steps.iter().find(|s| (s.undersize_mm - 0.254).abs() < 1e-9).expect("ten under");
    near_in(step.ground_size_mm, 2.1149 + 0.0002, 1e-9);
    let planned = fit.bearings[0].as_planned.as_ref().expect("planned");
    near_in(planned.across.mean_mm, 0.0024, 1e-9);
    near_in(planned.across.tightest_mm, 2.1173 - 2.1150, 1e-9);
    near_in(planned.across.loosest_mm, 2.1173 - 2.1145, 1e-9);
    near_in(fit.bearings[0].wanted_journal_mm.expect("wanted"), 2.1149, 1e-9);
    // What the shop wants goes before the middle of the book.
    let wanted = fit::Wanted { main_mm: Some(0.0027 * 25.4), ..fit::Wanted::default() };
    let (_, tighter) = kit::answer_wanting(&findings, &bearings, &kit::book(), wanted);
    near_in(tighter.sets[0].aim.expect("measured").target_mm, 2.1146, 1e-9);
}

/// The window keeps every bearing within the clearance's limits: with the second bearing 0.0004 wider, the lowest size is
/// 2.1177 - 0.0031 and the highest 2.1173 - 0.0017, and the target stands between what the two ask for.
#[test]
fn one_size_is_found_for_unlike_bearings_or_refused() {
    let findings = kit::findings(2.1225, 1.8747, EXACT);
    let mut book = kit::book();
    book.main.housing = Some(band(2.2695, 2.2725));
    let aim = kit::aim_of(&findings, &found([2.2709, 2.2713, 2.2709, 2.2709, 2.2709], "0.010", 0.0768), &book);
    let aim = aim.expect("one size");
    near_in(aim.window.low_mm, 2.1146, 1e-9);
    near_in(aim.window.high_mm, 2.1150, 1e-9);
    near_in(aim.target_mm, 2.1150, 1e-9);
    let far = found([2.2695, 2.2713, 2.2709, 2.2709, 2.2709], "0.010", 0.0768);
    assert_eq!(kit::aim_of(&findings, &far, &book), None);
    let (_, fit) = answer(&findings, &far, &book);
    let why = fit.sets[0].no_aim.as_ref().expect("a reason");
    assert!(why.contains("main 2 is 0.0018 in wider than main 1"), "{why}");
    // All wide: the housings are to blame where the book says what they should be.
    let wide = found([2.2720; 5], "0.010", 0.0768);
    let (_, fit) = answer(&findings, &wide, &kit::book());
    let why = fit.sets[0].no_aim.as_ref().expect("a reason");
    assert!(why.contains("The housings, not the crank"), "{why}");
    assert_eq!(kinds(&fit).iter().filter(|kind| **kind == StopKind::Housing).count(), 5);
    // All shells thin, housings right: the shells are.
    let mut thin = found([2.2707; 5], "0.010", 0.0768);
    for shell in &mut thin.shells {
        shell.undersize = Some(kit::entry("0.010"));
        shell.wall = Some(kit::measured(0.0760, EXACT));
    }
    let (_, fit) = answer(&findings, &thin, &kit::book());
    assert!(
        fit.sets[0].no_aim.as_ref().is_some_and(|why| why.contains("The shells are at fault")),
        "{:?}",
        fit.sets[0]
    );
}

#[test]
fn shells_for_a_smaller_journal_would_lock_the_crank() {
    // Standard journals, left alone; shells twenty under.
    let (_, fit) = answer(&kit::findings(2.1247, 1.8747, EXACT), &found([2.2707; 5], "0.020", 0.0818), &kit::book());
    let stop = fit.stops.iter().find(|stop| stop.kind == StopKind::Locks).expect("a stop");
    assert!(stop.says.contains("0.020 in under") && stop.says.contains("are standard"), "{}", stop.says);
    assert!(stop.says.contains("0.0200 in thicker"), "{}", stop.says);
    // The other way round the crank runs loose.
    let (_, fit) = answer(&kit::findings(2.1047, 1.8747, EXACT), &found([2.2707; 5], "0.010", 0.0768), &kit::book());
    let stop = fit.stops.iter().find(|stop| stop.kind == StopKind::WrongUndersize).expect("a stop");
    assert!(stop.says.contains("0.0100 in loose"), "{}", stop.says);
}

#[test]
fn a_housing_too_small_for_its_shells_locks_too() {
    let mut book = kit::book();
    book.main.housing = None;
    let (_, fit) = answer(&kit::findings(2.1247, 1.8747, EXACT), &found([2.2680; 5], "0", 0.0718), &book);
    let locked: Vec<&fit::Stop> = fit.stops.iter().filter(|stop| stop.kind == StopKind::Locks).collect();
    assert_eq!(locked.len(), 5);
    assert!(locked[0].says.starts_with("Main 1 would be locked"), "{}", locked[0].says);
    assert_eq!(fit.bearings[0].as_found.as_ref().and_then(|c| c.state), Some(State::Outside));
}

/// Source of the trap: a supplier's page, one voice: 0.25 mm sold as "0.010". They are 0.004 mm (0.00016 in) apart.
#[test]
fn a_quarter_millimetre_is_not_ten_thou() {
    let findings = kit::findings(2.1225, 1.8747, EXACT);
    let (_, fit) = answer(&findings, &found([2.2707; 5], "0.25 mm", 0.0767), &kit::book());
    let stop = fit.stops.iter().find(|stop| stop.kind == StopKind::StepsConfused).expect("a stop");
    for words in ["0.25 mm", "0.00984 in", "not 0.010 in", "0.00016 in looser"] {
        assert!(stop.says.contains(words), "{words}: {}", stop.says);
    }
    assert_eq!(fit.order.iter().find(|line| line.what.starts_with("main")).map(|l| l.to_order()), Some(5));
    let (_, fit) = answer(&findings, &found([2.2707; 5], "0.015", 0.0792), &kit::book());
    let stop = fit.stops.iter().find(|stop| stop.kind == StopKind::NoSuchStep).expect("a stop");
    assert!(stop.says.contains("standard, 0.010 in, 0.020 in, 0.030 in, 0.040 in"), "{}", stop.says);
}

#[test]
fn mixed_boxes_are_stopped() {
    let mut bearings = found([2.2707; 5], "0.010", 0.0768);
    bearings.shells[3].undersize = Some(kit::entry("0.020"));
    bearings.shells[3].wall = Some(kit::measured(0.0818, EXACT));
    let (_, fit) = answer(&kit::findings(2.1225, 1.8747, EXACT), &bearings, &kit::book());
    let stop = fit.stops.iter().find(|stop| stop.kind == StopKind::MixedUndersizes).expect("a stop");
    assert!(stop.says.contains("0.010 in under, 0.020 in under"), "{}", stop.says);
    // A shell without a mark is known by its wall.
    bearings.shells[3].undersize = None;
    let (_, fit) = answer(&kit::findings(2.1225, 1.8747, EXACT), &bearings, &kit::book());
    assert!(kinds(&fit).contains(&StopKind::MixedUndersizes));
}

#[test]
fn half_a_pair_is_stopped() {
    let mut bearings = found([2.2707; 5], "0.010", 0.0768);
    bearings.shells[0].journal = Some(main(2));
    let (_, fit) = answer(&kit::findings(2.1225, 1.8747, EXACT), &bearings, &kit::book());
    assert!(fit.stops.iter().any(|s| s.kind == StopKind::HalfAPair && s.says.starts_with("One half shell of main 2")));
    bearings.shells[1].journal = Some(main(2));
    (bearings.shells[0].half, bearings.shells[1].half) = (fit::Half::Lower, fit::Half::Lower);
    let (_, fit) = answer(&kit::findings(2.1225, 1.8747, EXACT), &bearings, &kit::book());
    assert!(fit.stops.iter().any(|s| s.says.starts_with("Two shells for the same half of main 2")), "{:?}", fit.stops);
}

/// By hand: five bearings, 0.0002 apart from first to last, and walls of 0.0767 and 0.0769: the thick pairs go to the wide
/// bores, and the spread falls from 0.0008 to 0.0002.
#[test]
fn graded_shells_are_given_out_for_the_least_spread() {
    let bores = [2.2705, 2.2709, 2.2705, 2.2709, 2.2707];
    let mut bearings = found(bores, "0.010", 0.0767);
    for shell in bearings.shells.iter_mut().skip(5) {
        shell.wall = Some(kit::measured(0.0769, EXACT));
    }
    let (_, fit) = answer(&kit::findings(2.1225, 1.8747, EXACT), &bearings, &kit::book());
    assert!(fit.sets[0].matched);
    let placed: Vec<(usize, usize)> =
        fit.bearings.iter().filter_map(|b| b.shells).map(|shells| (shells.upper, shells.lower)).collect();
    assert_eq!(placed, [(0, 1), (5, 6), (2, 3), (7, 8), (4, 9)]);
    near_in(fit.sets[0].spread_mm.expect("five"), 0.0, 1e-6);
    let one = fit.order.iter().find(|line| line.what == "main shells, pairs").expect("a line");
    assert_eq!((one.needed, one.on_the_bench, one.to_order()), (5, 5, 0));
    assert!(one.note.contains("Measure before you trust the box"));
}

/// With one micrometer for bore and journal its scale takes itself away; with two, both scales count, whatever the number
/// of readings. Standard uncertainties by hand from 0.0001 in limits, 0.00005 repeatability, 0.0001 graduation.
#[test]
fn a_scale_on_both_sides_takes_itself_away() {
    let own = 0.00005f64.hypot(0.0001 / 12f64.sqrt());
    let scale = 0.0001 / 3f64.sqrt();
    let clearance = |bore_with: usize, journal_with: usize| {
        let mut bearings = found([2.2707; 5], "0", 0.0718);
        for bore in &mut bearings.bores {
            bore.size.with = bore_with;
        }
        let (_, fit) = answer(&kit::findings(2.1247, 1.8747, journal_with), &bearings, &kit::book());
        fit.bearings[0].as_found.clone().expect("measured")
    };
    let same = clearance(MIC, MIC);
    near_in(same.uncertainty_mm, own.hypot(own), 1e-9);
    assert_eq!(same.budget.common(), 0.0);
    // Nobody named either: they are not taken for one instrument.
    let unnamed = clearance(0, 0);
    near_in(unnamed.uncertainty_mm, own.hypot(own).hypot(scale).hypot(scale), 1e-9);
    near_in(unnamed.budget.common(), scale.hypot(scale), 1e-9);
    let names: Vec<&str> = unnamed.budget.parts.iter().map(|part| part.name.as_str()).collect();
    assert!(names.contains(&"scale of the bore gauge") && names.contains(&"scale of the journal gauge"), "{names:?}");
    // Both walls read with one unnamed micrometer: its scale counts twice over.
    let mut bearings = found([2.2707; 5], "0", 0.0718);
    for shell in &mut bearings.shells {
        if let Some(wall) = &mut shell.wall {
            wall.with = 0;
        }
    }
    let (_, fit) = answer(&kit::findings(2.1247, 1.8747, EXACT), &bearings, &kit::book());
    let walls = fit.bearings[0].as_found.as_ref().expect("measured");
    near_in(walls.budget.common(), 2.0 * scale, 1e-9);
}

/// A clearance right on its limit keeps it in half of all cases, and the chance of five such together is far below that
/// where each has its own doubt, but not where they share one scale.
#[test]
fn chances_know_what_is_shared() {
    let chance = |bore_own: bool| {
        let mut bearings = found([2.2702; 5], "0", 0.0718); // 2.2702 - 0.1436 - 2.1249 = 0.0017
        let mut findings = kit::findings(2.1249, 1.8747, EXACT);
        findings.instruments[2].repeatability_mm = if bore_own { 0.00254 } else { 0.0 };
        findings.instruments[2].error_limit_mm = if bore_own { 0.0 } else { 0.00254 };
        findings.instruments[2].graduation_mm = 0.0;
        for bore in &mut bearings.bores {
            bore.size.with = MIC;
        }
        let (_, fit) = answer(&findings, &bearings, &kit::book());
        let one = fit.bearings[0].as_found.as_ref().and_then(|c| c.within).expect("judged").share();
        (one, fit.sets[0].within.expect("judged").share())
    };
    let (one, all) = chance(true);
    assert!((one - 0.5).abs() < 0.03, "{one}");
    assert!((all - 1.0 / 32.0).abs() < 0.01, "{all}");
    let (one, all) = chance(false);
    assert!((one - 0.5).abs() < 0.03 && (all - one).abs() < 1e-9, "{one} {all}");
}

/// A housing that reads its lower limit in one plane and its upper in the other keeps both in a quarter of all cases where
/// each reading has its own doubt, and never where the gauge's scale is all there is. Two readings on one limit that share a
/// scale keep it in half of all cases, not in a quarter. Drawn chances are within 0.03 for 4000 draws.
#[test]
fn the_chance_of_a_housing_is_drawn() {
    let chance = |bores: [f64; 2], own: bool| {
        let mut findings = kit::findings(2.1247, 1.8747, EXACT);
        findings.instruments[2].repeatability_mm = if own { 0.00254 } else { 0.0 };
        findings.instruments[2].error_limit_mm = if own { 0.0 } else { 0.00254 };
        findings.instruments[2].graduation_mm = 0.0;
        let planes = [0.0, 90.0].into_iter().zip(bores);
        let bores = planes.map(|(plane, inches)| kit::bore(main(1), plane, inches, MIC)).collect();
        let (_, fit) = answer(&findings, &Found { bores, ..Found::default() }, &kit::book());
        let form = fit.bearings[0].housing.clone().expect("measured");
        (form.within.expect("limits are known").share(), form.state, fit)
    };
    let (share, state, fit) = chance([2.2705, 2.2710], true);
    assert!((share - 0.25).abs() < 0.03, "{share}");
    assert_eq!(state, Some(State::TooCloseToCall));
    assert!(fit.stops.is_empty(), "a close call is no stop: {:?}", fit.stops);
    assert!(fit.remarks.iter().any(|r| r.says.contains("to call: main 1") && r.says.contains("measure")));
    let (share, _, _) = chance([2.2705, 2.2710], false);
    assert!(share < 0.01, "{share}");
    let (share, _, _) = chance([2.2705, 2.2705], false);
    assert!((share - 0.5).abs() < 0.03, "{share}");
    let (share, state, fit) = chance([2.2700, 2.2707], true);
    assert!(share < 0.05 && state == Some(State::Outside), "{share}");
    assert!(kinds(&fit).contains(&StopKind::Housing));
}

#[test]
fn bores_with_shells_in_go_without_walls() {
    let mut bearings = Found::default();
    for number in 1..=5 {
        let shells = fit::Shells::In { undersize_mm: 0.254 };
        bearings.bores.push(fit::Bore { shells, ..kit::bore(main(number), 90.0, 2.1171, EXACT) });
    }
    let findings = kit::findings(2.1225, 1.8747, EXACT);
    let (verdict, fit) = answer(&findings, &bearings, &kit::book());
    near_in(fit.sets[0].aim.expect("bore and shells are measured").target_mm, 2.1147, 1e-9);
    assert_eq!(verdict.plans[0].undersize_mm, 0.254);
    let planned = fit.bearings[0].as_planned.as_ref().expect("planned");
    assert_eq!(planned.walls, WallFrom::ShellsIn);
    assert!(fit.bearings[0].housing.is_none(), "the bare bore is not known");
    // For the journals as they are now, shells of standard would have thinner walls: as found is reckoned from there.
    let as_found = fit.bearings[0].as_found.as_ref().expect("reckoned");
    assert_eq!(as_found.walls, WallFrom::Moved);
    near_in(as_found.across.mean_mm, 2.1271 - 2.1225, 1e-9);
}

#[test]
fn rod_side_clearance_is_the_pin_less_its_rods() {
    let side = |number: usize, width: f64, rods: &[f64]| fit::Side {
        journal: pin(number),
        width: kit::measured(width, EXACT),
        rods: rods.iter().map(|rod| kit::measured(*rod, EXACT)).collect(),
    };
    let found =
        Found { sides: vec![side(1, 1.0500, &[1.0420]), side(2, 2.0500, &[1.0180, 1.0170])], ..Found::default() };
    let (_, fit) = answer(&kit::findings(2.1247, 1.8747, EXACT), &found, &kit::book());
    near_in(fit.sides[0].mm, 0.0080, 1e-9);
    assert_eq!(fit.sides[0].within.map(|chance| chance.share()), Some(1.0));
    near_in(fit.sides[1].mm, 0.0150, 1e-9);
    assert_eq!(fit.sides[1].within.map(|chance| chance.share()), Some(0.0));
}

/// Source of what crush is for: published gaps 0.08 to 0.110 mm for mains, one bolt freed (Daewoo D1146).
#[test]
fn shells_without_crush_are_stopped() {
    let crush = |inches: f64| fit::Crush { journal: main(2), gap_mm: inches * 25.4 };
    let found = |inches: f64| Found { crush: vec![crush(inches)], ..Found::default() };
    let findings = kit::findings(2.1247, 1.8747, EXACT);
    assert!(answer(&findings, &found(0.0035), &kit::book()).1.stops.is_empty());
    let (_, fit) = answer(&findings, &found(0.0010), &kit::book());
    assert!(fit.stops[0].says.contains("can turn in the housing"), "{}", fit.stops[0].says);
    let (_, fit) = answer(&findings, &found(0.0080), &kit::book());
    assert!(fit.stops[0].says.contains("bulge"), "{}", fit.stops[0].says);
}

#[test]
fn nothing_measured_answers_nothing_but_the_order() {
    let (_, fit) = answer(&kit::findings(2.1225, 1.8747, EXACT), &Found::default(), &kit::book());
    assert!(fit.stops.is_empty() && fit.sets.iter().all(|set| set.aim.is_none()));
    let line = fit.order.iter().find(|line| line.what == "main shells, pairs").expect("a line");
    assert_eq!((line.size.as_str(), line.to_order()), ("0.010 in under", 5));
    assert_eq!(fit.sets.iter().filter(|set| set.set == SetName::Main).count(), 0);
}
