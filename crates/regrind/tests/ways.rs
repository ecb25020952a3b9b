//! The axis in three ways, one-sided throw tolerances, features, and sizes on no ladder. Cases worked by hand, in inches.

use crank::{
    Band, Face, Feature, Findings, JournalId, JournalSet, Mass, Reading, SetName, Specification, ThrowTolerance, Trace,
    Treatment,
};
use regrind::{Axis, PairVerdict, Policy, SetVerdict, Verdict, assess};
use units::Unit;

const IN: f64 = 25.4;

fn set(positions_in: &[f64], angles_deg: &[f64], high_in: f64) -> JournalSet {
    JournalSet {
        positions_mm: positions_in.iter().map(|z| z * IN).collect(),
        angles_deg: angles_deg.to_vec(),
        size: Band { low_mm: (high_in - 0.0005) * IN, high_mm: high_in * IN },
        undersizes_mm: [0.010, 0.020, 0.030, 0.040].map(|u| u * IN).to_vec(),
        out_of_round_mm: Some(0.0005 * IN),
        taper: None,
        run_out: None,
        length_mm: 1.0 * IN,
        smallest_mm: None,
        wear_limit_mm: None,
        wear_out_of_round_mm: None,
        wear_taper: None,
        aims: Vec::new(),
        any_size: false,
    }
}

fn specification(tolerance_in: (f64, f64)) -> Specification {
    Specification {
        name: "four".into(),
        unit: Unit::Inch,
        throw_mm: 1.7 * IN,
        throw_tolerance_mm: Some(ThrowTolerance { low_mm: tolerance_in.0 * IN, high_mm: tolerance_in.1 * IN }),
        index_tolerance_deg: Some(0.0),
        main: set(&[0.0, 3.3, 6.6, 9.9, 13.2], &[], 2.125),
        pin: set(&[1.65, 4.95, 8.25, 11.55], &[0.0, 180.0, 180.0, 0.0], 1.875),
        treatment: Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false },
    }
}

fn size(inches: f64) -> units::Entry {
    units::read(&format!("{inches:.6}"), Unit::Inch).expect("a size")
}

const fn journal(set: SetName, number: usize) -> JournalId {
    JournalId { set, number }
}

/// A journal traced at three places: so large, but for a hollow so deep toward a direction from the first throw.
fn trace(findings: &mut Findings, id: JournalId, inches: f64, deep: f64, toward_deg: f64) {
    let angles_deg: Vec<f64> = (0..72).map(|k| 5.0 * f64::from(k)).collect();
    let hollow = |angle: &f64| -deep * (angle - toward_deg).to_radians().cos().max(0.0);
    let mean = angles_deg.iter().map(hollow).sum::<f64>() / 72.0;
    for at_mm in [-9.0, 0.0, 9.0] {
        findings.traces.push(Trace {
            journal: id,
            at_mm,
            size: size(inches + 2.0 * mean),
            departures_mm: angles_deg.iter().map(|angle| (hollow(angle) - mean) * IN).collect(),
            angles_deg: angles_deg.clone(),
            with: 0,
            departure_sd_mm: 0.00005 * IN,
        });
    }
}

/// Every journal traced and round, but pin 3 (throw at 180 degrees) and main 5 hollow as told: how deep and where.
fn findings(pin_3: (f64, f64), main_5: (f64, f64)) -> Findings {
    let mut findings =
        Findings { instruments: vec![gauge::Instrument::shop_default(Unit::Inch)], ..Findings::default() };
    for n in 1..=5 {
        let (deep, toward_deg) = if n == 5 { main_5 } else { (0.0, 0.0) };
        trace(&mut findings, journal(SetName::Main, n), 2.1243, deep, toward_deg);
    }
    for n in 1..=4 {
        let (deep, toward_deg) = if n == 3 { pin_3 } else { (0.0, 0.0) };
        trace(&mut findings, journal(SetName::Pin, n), 1.8743, deep, toward_deg);
    }
    findings
}

fn judged(specification: &Specification, findings: &Findings, axis: Axis) -> Verdict {
    let policy = Policy { axis, draws: 4_000, ..Policy::usual(Unit::Inch) };
    assess(specification, findings, &policy, Unit::Inch, &|_| ()).expect("solvable")
}

fn of(verdict: &Verdict, set: SetName) -> &SetVerdict {
    verdict.sets.iter().find(|known| known.set == set).expect("the set")
}

fn pair(verdict: &Verdict, main_in: f64, pin_in: f64) -> &PairVerdict {
    let is = |mm: f64, inches: f64| (mm - inches * IN).abs() < 1e-9;
    verdict.pairs.iter().find(|p| is(p.main_mm, main_in) && is(p.pin_mm, pin_in)).expect("the pair")
}

fn thou(set: &SetVerdict) -> Option<f64> {
    set.choice.undersize_mm().map(|mm| (mm / IN * 1e3).round())
}

/// Pin 3 hollow 0.0053 outward (its throw is at 180): moved inward it cleans up at 0.010, and nothing else moves. Its hollow is as
/// deep as in told_axis.rs: 0.0011 short in place, so between 0.0011 and 0.0040 inward.
const OUTWARD: (f64, f64) = (0.0053, 180.0);

#[test]
fn the_throws_are_moved_before_the_main_axis() {
    let both = specification((-0.005, 0.005));
    let found = findings(OUTWARD, (0.0, 0.0));
    for axis in [Axis::Throws, Axis::Free] {
        let verdict = judged(&both, &found, axis);
        let chosen = pair(&verdict, 0.010, 0.010);
        assert_eq!((thou(of(&verdict, SetName::Pin)), chosen.way), (Some(10.0), Axis::Throws), "{axis:?}");
        let line = chosen.set_up.axis;
        assert!([line.x0_mm, line.y0_mm, line.sx, line.sy].iter().all(|mm| mm.abs() < 1e-9), "{line:?}");
        // Along the throw alone, for the book gives no index tolerance: toward the first throw is inward.
        let moved = chosen.set_up.pins.iter().find(|p| p.journal.number == 3).expect("pin 3");
        assert!((0.0011..0.0040).contains(&(moved.u_mm / IN)) && moved.v_mm.abs() < 1e-6, "{moved:?}");
        assert!((chosen.shift_mm - moved.u_mm).abs() < 1e-5, "{} and {moved:?}", chosen.shift_mm);
    }
    assert_eq!(thou(of(&judged(&both, &found, Axis::Held), SetName::Pin)), Some(20.0));
}

/// A book that only lets throws get shorter gives pin 3 all that it needs; one that only lets them get longer gives it nothing.
#[test]
fn a_tolerance_may_be_one_sided() {
    let found = findings(OUTWARD, (0.0, 0.0));
    let shorter = judged(&specification((-0.005, 0.0)), &found, Axis::Throws);
    assert_eq!(thou(of(&shorter, SetName::Pin)), Some(10.0));
    let both = judged(&specification((-0.005, 0.005)), &found, Axis::Throws);
    // Nothing asks for a longer throw here, so the pairs have the same to spare either way.
    for (one, other) in shorter.pairs.iter().zip(&both.pairs) {
        assert!((one.spare_mm - other.spare_mm).abs() < 1e-8, "{} and {}", one.spare_mm, other.spare_mm);
    }
    let longer = judged(&specification((0.0, 0.005)), &found, Axis::Throws);
    assert_eq!(thou(of(&longer, SetName::Pin)), Some(20.0));
    let in_place = judged(&specification((-0.005, 0.005)), &found, Axis::Held);
    for (one, held) in longer.pairs.iter().zip(&in_place.pairs) {
        assert!((one.spare_mm - held.spare_mm).abs() < 1e-8, "{} and {}", one.spare_mm, held.spare_mm);
        assert_eq!(one.way, Axis::Held);
    }
}

/// Main 5 hollow 0.0053: only a tilted axis gives it metal. The way *throws* leaves it at 0.020, *free* takes it to 0.010 and says
/// that the flange behind it, which the book wants within 0.0006 on the dial, would run out more.
#[test]
fn the_main_axis_is_moved_where_nothing_less_does_and_not_silently() {
    let book = specification((-0.005, 0.005));
    let mut found = findings((0.0, 0.0), (0.0053, 90.0));
    let face = Some(Face { radius_mm: 2.0 * IN, limit_mm: None, total_mm: None });
    found.features.push(Feature {
        name: "flange".into(),
        at_mm: 14.2 * IN,
        limit_mm: Some(0.0006 * IN),
        dial: None,
        face,
    });
    found.mass = Some(Mass { kg: 20.0, at_mm: None, most_g_mm: Some(1.0), grade_mm_s: None, speed_rpm: None });
    let throws = judged(&book, &found, Axis::Throws);
    assert_eq!(thou(of(&throws, SetName::Main)), Some(20.0));
    assert!(throws.pairs.iter().all(|pair| pair.way != Axis::Free));
    assert!(!throws.notes.iter().any(|note| note.kind == "feature spoilt"), "nothing moves there");
    let free = judged(&book, &found, Axis::Free);
    let chosen = pair(&free, 0.010, 0.010);
    assert_eq!(
        (thou(of(&free, SetName::Main)), chosen.way),
        (Some(10.0), Axis::Free),
        "{}",
        of(&free, SetName::Main).reason
    );
    let shaft = free.shaft.as_ref().expect("a flange is told");
    let flange = shaft.features.first().expect("the flange");
    // Twice the shift of the axis where the flange is: extrapolated by hand from both end mains.
    let line = of(&free, SetName::Main).set_up.as_ref().expect("told").axis;
    let at = |x0: f64, slope: f64| x0 + slope * (14.2 - 6.6) * IN;
    let shift = at(line.x0_mm, line.sx).hypot(at(line.y0_mm, line.sy));
    assert!((flange.after_mm - 2.0 * shift).abs() < 1e-9 && flange.is_over(), "{flange:?}");
    assert!((flange.face_after_mm.expect("a face") - 4.0 * IN * line.sx.hypot(line.sy)).abs() < 1e-9);
    let note = free.notes.iter().find(|note| note.kind == "feature spoilt").expect("said");
    assert!(
        note.presses() && note.says.contains("takes the mains to 0.010 in under and not to 0.020 in under"),
        "{}",
        note.says
    );
    assert!(
        note.says.contains("the flange would then run out") && note.says.contains("over the book's 0.0006"),
        "{}",
        note.says
    );
    // 20 kg, shifted at mid-length by (x0, y0): opposite to the shift, in gram millimetres.
    let balance = shaft.unbalance.expect("a mass is told");
    assert!((balance.shift_g_mm.0 + 20_000.0 * line.x0_mm).abs() < 1e-6, "{balance:?}");
    assert!((balance.shift_g_mm.1 + 20_000.0 * line.y0_mm).abs() < 1e-6, "{balance:?}");
}

/// The curve begins where nothing moves, ends at the greatest spare, rises ever steeper, and what is told lies on it.
#[test]
fn what_is_told_lies_on_the_curve() {
    let verdict = judged(&specification((-0.005, 0.005)), &findings(OUTWARD, (0.0, 0.0)), Axis::Free);
    let mut seen = 0;
    for pair in &verdict.pairs {
        let (first, last) = (pair.curve.first().expect("a start"), pair.curve.last().expect("an end"));
        assert!(first.shift_mm.abs() < 1e-8 && (last.spare_mm - pair.spare_mm).abs() < 1e-8, "{:?}", pair.curve);
        let slopes: Vec<f64> = pair
            .curve
            .windows(2)
            .filter(|two| two[1].spare_mm - two[0].spare_mm > 1e-4)
            .map(|two| (two[1].shift_mm - two[0].shift_mm) / (two[1].spare_mm - two[0].spare_mm))
            .collect();
        assert!(slopes.windows(2).all(|two| two[1] >= two[0] - 0.01), "{slopes:?}");
        // In place pin 3 has 1.8743/2 - 0.0053 to leave, the others nothing less.
        let at = pair.curve.windows(2).find(|two| pair.spare_chosen_mm <= two[1].spare_mm + 1e-9);
        if let (Some([one, two]), Axis::Free | Axis::Throws) = (at, pair.way) {
            let along = (pair.spare_chosen_mm - one.spare_mm) / (two.spare_mm - one.spare_mm);
            let line = one.shift_mm + along * (two.shift_mm - one.shift_mm);
            // Throws are moved in their own way, which may need more than the least of all.
            let most_above = if pair.way == Axis::Throws { 0.01 } else { 1e-5 };
            assert!(pair.shift_mm > line - 2e-5 && pair.shift_mm < line + most_above, "{} at {line}", pair.shift_mm);
            seen += 1;
        }
    }
    assert!(seen > 0);
}

/// A ladder that has the first size, and one a step less: the one reaches the shop's nine in ten on the same draws, the other
/// does not. Counted by the ladder, which knows nothing of the quantile.
#[test]
fn the_first_size_is_the_first_that_reaches_the_confidence() {
    let book = specification((-0.005, 0.005));
    let found = findings(OUTWARD, (0.0, 0.0));
    let first = of(&judged(&book, &found, Axis::Held), SetName::Pin).first_size.clone().expect("a size");
    assert!((0.0105..0.0195).contains(&(first.undersize_mm / IN)), "{first:?}");
    assert!(first.next_shell_mm.is_some_and(|mm| (mm / IN - 0.020).abs() < 1e-9));
    let step_mm = 0.0001 * IN;
    assert!((first.undersize_mm / step_mm - (first.undersize_mm / step_mm).round()).abs() < 1e-6, "{first:?}");
    assert!(first.low_mm < Some(first.exact_mm) && first.high_mm > Some(first.exact_mm), "{first:?}");
    let mut tried = book.clone();
    tried.pin.undersizes_mm = vec![first.undersize_mm - step_mm, first.undersize_mm];
    let tried = judged(&tried, &found, Axis::Held);
    let [_, short, enough] = of(&tried, SetName::Pin).steps.as_slice() else { panic!("three steps") };
    assert!(enough.chance.share() >= 0.9 && short.chance.share() < 0.9, "{:?} {:?}", short.chance, enough.chance);
}

/// White metal: no ladder, so the first size is the choice, and the plan finishes to it. A journal read 0.0300 under all round was
/// ground to that before, and does not count as worn so far.
#[test]
fn a_set_without_a_ladder_goes_to_its_first_size() {
    let mut book = specification((-0.005, 0.005));
    let found = findings(OUTWARD, (0.0, 0.0));
    let first = of(&judged(&book, &found, Axis::Held), SetName::Pin).first_size.clone().expect("a size");
    book.pin.undersizes_mm.clear();
    book.pin.any_size = true;
    let verdict = judged(&book, &found, Axis::Held);
    let pins = of(&verdict, SetName::Pin);
    assert_eq!(pins.choice.undersize_mm(), Some(first.undersize_mm), "{}", pins.reason);
    let plan = verdict.plans.iter().find(|plan| plan.set == SetName::Pin).expect("a plan");
    let finished = plan.plan.stage(regrind::Stage::Finished).expect("finished").target_mm;
    // The plan puts it on a graduation of 0.0001.
    assert!((finished - first.size_mm).abs() < 0.000_05 * IN + 1e-6, "{finished} and {}", first.size_mm);
    // All of it 0.0300 smaller.
    let mut before = found;
    for one in before.traces.iter_mut().filter(|one| one.journal.set == SetName::Pin) {
        one.size = size(one.size.mm / IN - 0.0300);
    }
    before.readings.push(Reading {
        journal: journal(SetName::Pin, 1),
        at_mm: 0.0,
        plane_deg: 0.0,
        sizes: vec![size(1.8443)],
        with: 0,
    });
    let pins_before = of(&judged(&book, &before, Axis::Held), SetName::Pin).clone();
    let again = pins_before.first_size.as_ref().expect("a size");
    assert!((pins_before.ground_to.undersize_mm / IN - 0.0303).abs() < 0.0003, "{:?}", pins_before.ground_to);
    assert!((again.undersize_mm - first.undersize_mm - 0.0300 * IN).abs() < 0.0007 * IN, "{again:?} after {first:?}");
    assert_eq!(pins_before.choice.undersize_mm(), Some(again.undersize_mm), "{}", pins_before.reason);
}
