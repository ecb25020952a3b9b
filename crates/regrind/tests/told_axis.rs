//! A chance on a free axis is that of the placement that the grinder is told, and what need not move stays. Cases worked
//! by hand, in inches.

use crank::{Band, Findings, JournalId, JournalSet, Reading, SetName, Specification, Trace, Treatment, Worn};
use regrind::{Axis, PairVerdict, Policy, SetUp, SetVerdict, Verdict, assess};
use units::Unit;

const IN: f64 = 25.4;

/// What no micrometer shows: 1e-6 in.
const STILL_MM: f64 = 1e-6 * IN;

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

fn specification() -> Specification {
    Specification {
        name: "four".into(),
        unit: Unit::Inch,
        throw_mm: 1.7 * IN,
        throw_tolerance_mm: Some(crank::ThrowTolerance::either_way(0.005 * IN)),
        index_tolerance_deg: Some(0.25),
        main: set(&[0.0, 3.3, 6.6, 9.9, 13.2], &[], 2.125),
        pin: set(&[1.65, 4.95, 8.25, 11.55], &[0.0, 180.0, 180.0, 0.0], 1.875),
        treatment: Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false },
    }
}

fn size(inches: f64) -> units::Entry {
    units::read(&format!("{inches:.6}"), Unit::Inch).expect("a size")
}

fn pin(number: usize) -> JournalId {
    JournalId { set: SetName::Pin, number }
}

/// Every journal read in full, worn a little; pin 3 as `pin_3` says, or not at all.
fn findings(pin_3: Option<[f64; 2]>) -> Findings {
    let mut findings =
        Findings { instruments: vec![gauge::Instrument::shop_default(Unit::Inch)], ..Findings::default() };
    for journal in specification().journals() {
        let sizes = match journal.set {
            SetName::Main => Some([2.1232, 2.1240]),
            SetName::Pin if journal.number == 3 => pin_3,
            SetName::Pin => Some([1.8735, 1.8744]),
        };
        for at_mm in [-9.0, 0.0, 9.0] {
            for (plane_deg, inches) in [0.0, 90.0].into_iter().zip(sizes.into_iter().flatten()) {
                findings.readings.push(Reading { journal, at_mm, plane_deg, sizes: vec![size(inches)], with: 0 });
            }
        }
    }
    findings
}

fn judged(findings: &Findings, axis: Axis) -> Verdict {
    let policy = Policy { axis, draws: 4_000, ..Policy::usual(Unit::Inch) };
    assess(&specification(), findings, &policy, Unit::Inch, &|_| ()).expect("solvable")
}

fn pins(verdict: &Verdict) -> &SetVerdict {
    verdict.sets.iter().find(|set| set.set == SetName::Pin).expect("pins")
}

fn pair(verdict: &Verdict, main_in: f64, pin_in: f64) -> &PairVerdict {
    let is = |mm: f64, inches: f64| (mm - inches * IN).abs() < 1e-9;
    verdict.pairs.iter().find(|p| is(p.main_mm, main_in) && is(p.pin_mm, pin_in)).expect("the pair")
}

fn move_of(set_up: &SetUp, number: usize) -> (f64, f64) {
    set_up.pins.iter().find(|p| p.journal == pin(number)).map(|p| (p.u_mm / IN, p.v_mm / IN)).expect("the pin")
}

fn stays(set_up: &SetUp, but: &[usize]) -> bool {
    let specification = specification();
    let still = |(x, y): (f64, f64)| x.abs() < STILL_MM && y.abs() < STILL_MM;
    let mains = [0.0, 13.2].iter().all(|z| still(set_up.axis_at_mm(&specification, z * IN)));
    mains && set_up.pins.iter().filter(|p| !but.contains(&p.journal.number)).all(|p| still((p.u_mm, p.v_mm)))
}

/// Pin 3 is 1.8690 one way and 1.8743 the other, told worn on one side; which side nobody knows, so no move helps. By
/// hand at 0.010 under, the wheel leaving 1.86495 (0.0002 polish): 1.87475/2 - (1.87475 - 1.8690) - 1.86495/2 = -0.0009.
#[test]
fn worn_on_one_side_nobody_knows_which_is_judged_as_on_the_held_axis() {
    let mut findings = findings(Some([1.8690, 1.8743]));
    findings.worn.push(Worn { journal: pin(3), share: 1.0 });
    let (held, free) = (judged(&findings, Axis::Held), judged(&findings, Axis::Free));
    let shallow = pair(&free, 0.010, 0.010);
    assert!((shallow.spare_as_set_up_mm / IN + 0.00085).abs() < 1e-6, "{} mm", shallow.spare_as_set_up_mm);
    assert!(shallow.chance.share() < 0.01, "{}", shallow.chance.share());
    assert!(free.pairs.iter().all(|pair| stays(&pair.set_up, &[])));
    for (held, free) in held.sets.iter().zip(&free.sets) {
        assert_eq!(held.choice, free.choice);
        for (held, free) in held.steps.iter().zip(&free.steps) {
            // The same draws, set up the same way.
            assert_eq!(held.chance, free.chance);
            // As far as it was measured every draw has the axis that suits it best, which is no worse than the present one.
            assert!(held.chance_as_measured.hits <= free.chance_as_measured.hits);
            assert!((held.middle_spare_mm - free.middle_spare_mm).abs() < 1e-9);
        }
    }
    for (held, free) in held.pairs.iter().zip(&free.pairs) {
        assert_eq!(held.chance, free.chance);
    }
    assert_eq!(pins(&free).choice.undersize_mm().map(|mm| (mm / IN * 1e3).round()), Some(20.0));
    assert_eq!(
        free.set_ups()
            .iter()
            .map(|(set, told)| (*set, told.in_words(&specification(), Unit::Inch)))
            .collect::<Vec<_>>(),
        [(None, vec!["Nothing moves: the mains on their present axis, each pin round its present centre.".to_owned()])]
    );
}

/// Where pin 3 is traced, and towards where it is hollow.
const TRACED_AT_MM: [f64; 3] = [-9.0, 0.0, 9.0];
const TOWARD_DEG: f64 = 100.0;

/// Pin 3 traced: 1.8743 but for a hollow 0.0053 deep.
fn trace_a_hollow(findings: &mut Findings) {
    let angles_deg: Vec<f64> = (0..72).map(|k| 5.0 * f64::from(k)).collect();
    let hollow = |angle: &f64| -0.0053 * (angle - TOWARD_DEG).to_radians().cos().max(0.0);
    let mean = angles_deg.iter().map(hollow).sum::<f64>() / 72.0;
    for at_mm in TRACED_AT_MM {
        findings.traces.push(Trace {
            journal: pin(3),
            at_mm,
            size: size(1.8743 + 2.0 * mean),
            departures_mm: angles_deg.iter().map(|angle| (hollow(angle) - mean) * IN).collect(),
            angles_deg: angles_deg.clone(),
            with: 0,
            departure_sd_mm: 0.00005 * IN,
        });
    }
}

/// Pin 3 traced: 1.8743 but for a hollow 0.0053 deep towards 100 degrees. In place it is 0.0011 short at 0.010 under: 1.8743/2
/// - 0.0053 - 1.86495/2 - 0.0005. Moved 0.0011 to 0.0040 away from the hollow it cleans up; nothing else needs to move.
#[test]
fn a_traced_pin_alone_moves_and_away_from_its_hollow() {
    let mut findings = findings(None);
    trace_a_hollow(&mut findings);
    let (held, free) = (judged(&findings, Axis::Held), judged(&findings, Axis::Free));
    let is = |verdict: &Verdict, thou: f64| {
        pins(verdict).choice.undersize_mm().map(|mm| (mm / IN * 1e3).round()) == Some(thou)
    };
    assert!(is(&held, 20.0) && is(&free, 10.0), "{:?} and {:?}", pins(&held).choice, pins(&free).choice);
    let chosen = pair(&free, 0.010, 0.010);
    assert!(stays(&chosen.set_up, &[3]), "{:?}", chosen.set_up);
    let (u, v) = move_of(&chosen.set_up, 3);
    let (sin, cos) = TOWARD_DEG.to_radians().sin_cos();
    let away = -(u * cos + v * sin);
    assert!((0.0011..0.0040).contains(&away), "{u} {v}: {away} away from the hollow");
    // No more of it than the chance needs, which is less than the best spare has.
    let (best_u, best_v) = move_of(&chosen.best, 3);
    assert!(u.hypot(v) < best_u.hypot(best_v) - 0.0002, "{u} {v}, not the {best_u} {best_v} of the best spare");
    assert!(chosen.spare_as_set_up_mm < chosen.spare_exact_mm && chosen.spare_as_set_up_mm > 0.0005 * IN);
    assert!(chosen.chance.share() >= 0.9 && chosen.chance_as_measured.share() >= 0.9, "{chosen:?}");
    let step = pins(&free).steps.iter().find(|s| (s.undersize_mm / IN - 0.010).abs() < 1e-9).expect("0.010");
    assert!(step.chance.hits >= chosen.chance.hits && step.chance.share() >= 0.9);
    assert_eq!(pins(&free).set_up.as_ref(), Some(&chosen.set_up), "the set is told what the pair is told");
    // At 0.020 it cleans up in place, so there nothing moves.
    assert!(stays(&pair(&free, 0.020, 0.020).set_up, &[]));
}

/// The same pin measured with a micrometer first, as everybody does: its diameters, which agree with the traces, take nothing
/// from what the traces tell. Across 10 and 100 degrees from the first throw, at each traced place.
#[test]
fn diameters_of_a_traced_pin_do_not_hide_on_which_side_its_metal_went() {
    let mut findings = findings(None);
    trace_a_hollow(&mut findings);
    let throw_deg = specification().throw_deg(pin(3));
    for at_mm in TRACED_AT_MM {
        for (frame_deg, across) in [(TOWARD_DEG, 1.8743 - 0.0053), (TOWARD_DEG - 90.0, 1.8743)] {
            findings.readings.push(Reading {
                journal: pin(3),
                at_mm,
                plane_deg: (frame_deg - throw_deg).rem_euclid(360.0),
                sizes: vec![size(across)],
                with: 0,
            });
        }
    }
    let free = judged(&findings, Axis::Free);
    assert_eq!(
        pins(&free).choice.undersize_mm().map(|mm| (mm / IN * 1e3).round()),
        Some(10.0),
        "{}",
        pins(&free).reason
    );
    let set_up = pins(&free).set_up.as_ref().expect("told");
    let (u, v) = move_of(set_up, 3);
    let (sin, cos) = TOWARD_DEG.to_radians().sin_cos();
    assert!((0.0011..0.0042).contains(&-(u * cos + v * sin)), "{u} {v}");
}

/// The mains as new are not ground; the pins' placement is told all the same.
#[test]
fn where_one_set_is_not_ground_the_other_is_told_its_own_placement() {
    let mut findings = findings(Some([1.8690, 1.8743]));
    findings.worn.push(Worn { journal: pin(3), share: 1.0 });
    for reading in findings.readings.iter_mut().filter(|r| r.journal.set == SetName::Main) {
        reading.sizes = vec![size(2.1247)];
    }
    let free = judged(&findings, Axis::Free);
    assert_eq!(free.chosen_pair, None);
    let told = free.set_ups();
    let (set, set_up) = told.iter().find(|(set, _)| *set == Some(SetName::Pin)).expect("the pins are told");
    assert!(stays(set_up, &[]), "{set:?}: {set_up:?}");
    assert_eq!(pins(&free).choice.undersize_mm().map(|mm| (mm / IN * 1e3).round()), Some(20.0));
}
