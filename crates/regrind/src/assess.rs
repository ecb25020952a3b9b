//! From findings to verdict: the one function that every face of the program calls.

use std::collections::BTreeSet;

use crank::{Condition, Findings, FormCheck, GroundTo, JournalId, SetName, Size, Specification};
use units::Unit;

use crate::axis::{Geometry, Questions};
use crate::case::{Case, index};
use crate::chance::{Asked, DrawnSize, JournalForm};
use crate::choice::Choice;
use crate::next::{NextMeasurement, plural};
use crate::plan::ground_size_mm;
use crate::set_up::SetUp;
use crate::surface::{Radius, Surface};
use crate::verdict::{Failure, Note, Shape, Verdict};
use crate::words::under;
use crate::{Axis, Policy};

/// Judges one crank: condition, clean-up, choice and plan.
///
/// `unit` is what the remarks are worded in. `progress` is told, from any thread, how many more draws were made.
///
/// # Errors
/// [`Failure`] when a programme could not be solved, which no sheet that was read should bring about.
pub fn assess(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    unit: Unit,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Verdict, Failure> {
    let mut verdict = judge(specification, findings, policy, unit, progress)?;
    let suspicions = crank::suspicions(specification, findings, unit);
    verdict.look_again = suspicions.iter().any(|s| s.accuses());
    let mut notes: Vec<Note> =
        suspicions.iter().map(|s| Note { kind: s.kind.word(), journal: s.journal, says: s.says.clone() }).collect();
    let doubtful: Vec<usize> = suspicions.iter().filter(|s| s.accuses()).filter_map(|s| s.reading).collect();
    if !doubtful.is_empty() {
        notes.extend(without(specification, findings, policy, unit, &doubtful, &mut verdict)?);
    }
    notes.append(&mut verdict.notes);
    verdict.notes = notes;
    Ok(verdict)
}

/// The spare stock of every pair of undersizes for the readings as they stand, mains first, without chances and without
/// true geometry: what can be shown at once while the draws are still being made.
///
/// Empty where one of the sets was not measured.
///
/// # Errors
/// [`Failure`].
pub fn spares(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
) -> Result<Vec<(f64, f64, f64)>, Failure> {
    let Some((questions, radii_mm)) = as_they_stand(specification, findings, policy) else { return Ok(Vec::new()) };
    let wanted = |set: SetName, undersize_mm: f64| wanted_mm(specification, policy, set, undersize_mm);
    let mut stand = questions.start();
    let mut spares = Vec::new();
    for main_mm in specification.main.ladder_mm() {
        for pin_mm in specification.pin.ladder_mm() {
            let wanted_mm = [wanted(SetName::Main, main_mm), wanted(SetName::Pin, pin_mm)];
            let spare_mm = questions.spare_mm(None, &radii_mm, wanted_mm, &mut stand).map_err(Failure)?;
            spares.push((main_mm, pin_mm, spare_mm));
        }
    }
    Ok(spares)
}

/// Where the crank is to be set up for one pair of undersizes, for the readings as they stand: the placement that the
/// verdict's [`PairVerdict`](crate::PairVerdict) of that pair carries, without waiting for the draws.
///
/// Nothing where the axis is held or one of the sets was not measured: there is nothing to move then.
///
/// # Errors
/// [`Failure`].
pub fn set_up(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    (main_mm, pin_mm): (f64, f64),
) -> Result<Option<SetUp>, Failure> {
    if policy.axis == Axis::Held {
        return Ok(None);
    }
    let Some((questions, radii_mm)) = as_they_stand(specification, findings, policy) else { return Ok(None) };
    let wanted = [(SetName::Main, main_mm), (SetName::Pin, pin_mm)]
        .map(|(set, undersize_mm)| wanted_mm(specification, policy, set, undersize_mm));
    let best = questions.best(None, &radii_mm, wanted, &mut questions.start()).map_err(Failure)?;
    let (_, placement) = questions.exact(&radii_mm, wanted, &best);
    Ok(Some(questions.geometry.set_up(&placement)))
}

/// The questions about a crank and its sound radii for the readings as they stand; nothing where a set is not measured.
fn as_they_stand(specification: &Specification, findings: &Findings, policy: &Policy) -> Option<(Questions, Vec<f64>)> {
    let last_ground_mm = |set: SetName| {
        specification.set(set).finished(crank::last_ground_to(specification, findings, set).undersize_mm).middle_mm()
    };
    let surface = Surface::new(specification, findings, last_ground_mm);
    let questions = Questions::new(Geometry::new(specification, findings, policy, &surface));
    let mut radii_mm = Vec::new();
    surface.sound_radii_mm(&surface.as_it_stands(), &mut radii_mm);
    SetName::BOTH.into_iter().all(|set| questions.is_measured(set)).then_some((questions, radii_mm))
}

/// The radius that the wheel must leave.
fn wanted_mm(specification: &Specification, policy: &Policy, set: SetName, undersize_mm: f64) -> f64 {
    ground_size_mm(specification.set(set), &specification.treatment, policy, undersize_mm) / 2.0
}

/// What the answer would be if the doubtful readings had not been taken. They are never left out silently; taking them
/// again is the measurement to make first.
fn without(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    unit: Unit,
    doubtful: &[usize],
    verdict: &mut Verdict,
) -> Result<Vec<Note>, Failure> {
    let mut fewer = findings.clone();
    let mut index = 0;
    fewer.readings.retain(|_| {
        index += 1;
        !doubtful.contains(&(index - 1))
    });
    let other = judge(specification, &fewer, policy, unit, &|_| ())?;
    let accused: BTreeSet<JournalId> =
        doubtful.iter().filter_map(|&i| findings.readings.get(i)).map(|reading| reading.journal).collect();
    let mut notes = Vec::new();
    for set in &mut verdict.sets {
        let own: Vec<String> = accused.iter().filter(|j| j.set == set.set).map(ToString::to_string).collect();
        if own.is_empty() {
            continue;
        }
        let now = choice_words(set.set, set.choice, unit);
        let (could_change, changes_choice) = match other.sets.iter().find(|o| o.set == set.set) {
            Some(o) if o.choice == set.choice => (format!("Without them it is the same: {now}."), false),
            Some(o) => {
                (format!("With them counted: {now}. Without them: {}.", choice_words(o.set, o.choice, unit)), true)
            }
            None => (format!("Without them nothing is known of the {}.", plural(set.set)), true),
        };
        if changes_choice {
            let says = format!("The {} hang on doubtful readings. {could_change}", plural(set.set));
            notes.push(Note { kind: "hangs on doubtful readings", journal: None, says });
        }
        set.next = Some(NextMeasurement {
            set: set.set,
            journal: accused.iter().find(|j| j.set == set.set).copied(),
            measure: format!("Take the doubtful readings of {} again.", own.join(", ")),
            could_change,
            swing: 1.0,
            changes_choice,
        });
    }
    Ok(notes)
}

fn choice_words(set: SetName, choice: Choice, unit: Unit) -> String {
    match choice {
        Choice::Grind { undersize_mm: 0.0 } => format!("grind the {} to standard", plural(set)),
        Choice::Grind { undersize_mm } => format!("grind the {} to {}", plural(set), under(undersize_mm, unit)),
        Choice::LeaveAlone => format!("leave the {} alone", plural(set)),
        Choice::PolishOnly => format!("polish the {} only", plural(set)),
        Choice::BuildUp => format!("build the {} up", plural(set)),
        Choice::Scrap => format!("scrap (the {} cannot be saved)", plural(set)),
    }
}

/// The whole of the work but for the suspicions about single readings.
fn judge(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    unit: Unit,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Verdict, Failure> {
    let ground_to = SetName::BOTH.map(|set| crank::last_ground_to(specification, findings, set));
    let last_ground_mm = |set: SetName| specification.set(set).finished(ground_to[index(set)].undersize_mm).middle_mm();
    let surface = Surface::new(specification, findings, last_ground_mm);
    let geometry = Geometry::new(specification, findings, policy, &surface);
    let questions = Questions::new(geometry);
    let ladders = SetName::BOTH.map(|set| specification.set(set).ladder_mm());
    let wanted_mm = SetName::BOTH.map(|set| {
        ladders[index(set)]
            .iter()
            .map(|&u| ground_size_mm(specification.set(set), &specification.treatment, policy, u) / 2.0)
            .collect::<Vec<_>>()
    });
    let conditions: Vec<Option<Condition>> = surface
        .journals
        .iter()
        .map(|j| crank::condition(specification, findings, j.id, ground_to[index(j.id.set)].undersize_mm))
        .collect();
    let forms = (0..surface.journals.len()).map(|j| form(specification, &surface, j, &ground_to)).collect();
    let asked = Asked {
        surface: &surface,
        questions: &questions,
        wanted_mm: wanted_mm.clone(),
        stock_mm: policy.clean_up_stock_mm,
        set_up_error_mm: policy.set_up_error_mm,
        polish_stock_mm: policy.polish_stock_mm,
        forms,
        draws: policy.draws,
        seed: policy.seed,
    };
    let counts = asked.answer(progress).map_err(Failure)?;

    let mut radii_mm = Vec::new();
    surface.sound_radii_mm(&surface.as_it_stands(), &mut radii_mm);
    let case = Case {
        specification,
        findings,
        policy,
        unit,
        surface: &surface,
        questions: &questions,
        counts: &counts,
        radii_mm: &radii_mm,
        wanted_mm: &wanted_mm,
        ladders: &ladders,
        conditions: &conditions,
    };
    let mut stand = questions.start();
    let journals = case.journals();
    let pairs = case.pairs(&mut stand)?;
    let mut sets = Vec::new();
    for set in SetName::BOTH {
        if questions.is_measured(set) {
            sets.push(case.set(set, ground_to[index(set)].clone(), &journals, &mut stand)?);
        }
    }
    let chosen_pair = case.choose_pair(&mut sets, &pairs);
    let plans = case.plans(&sets);
    let polish = case.polish_plans(&sets);
    let mut notes = case.notes(&sets, &plans);
    case.polish_remarks(&sets, &polish, &mut notes);
    let shape = if findings.run_outs.is_empty() && findings.traces.is_empty() {
        Shape::DiametersOnly
    } else {
        Shape::WithDirection
    };
    Ok(Verdict { journals, sets, pairs, chosen_pair, plans, polish, notes, shape, look_again: false })
}

/// Across a gap wider than this between traced directions nothing is interpolated, as in the condition itself.
const WIDEST_GAP_DEG: f64 = 45.0;

/// A journal's sizes as they can be drawn: its readings, and the diameters across its traces; where the opposite of a
/// traced direction was not traced, it lies between its neighbours. A trace that crosses no diameter at all (a sweep of
/// little more than half a turn) is judged by its mean size: never not at all, or a worn journal would pass unseen.
fn form(
    specification: &Specification,
    surface: &Surface,
    journal: usize,
    ground_to: &[GroundTo; 2],
) -> Option<JournalForm> {
    let id = surface.journals[journal].id;
    let points = &surface.points[surface.journals[journal].points.clone()];
    let mut sizes = Vec::new();
    let mut places = Vec::new();
    let mut add = |size: usize, departures: Vec<(usize, f64)>, at_mm: f64, plane_deg: f64| {
        sizes.push(DrawnSize { size, departures });
        places.push(Size {
            at_mm,
            plane_deg: plane_deg.rem_euclid(180.0),
            size_mm: surface.sizes[size].size_mm,
            ..Size::default()
        });
    };
    for (size, measured) in surface.sizes.iter().enumerate().filter(|(_, s)| s.journal == journal) {
        let mut of_size = points.iter().filter(|p| match p.radius {
            Radius::WorseSide { size: s } | Radius::HalfSize { size: s } | Radius::Trace { size: s, .. } => s == size,
        });
        if measured.two_point {
            if let Some(point) = of_size.next() {
                add(size, Vec::new(), point.at_mm, point.angle_deg);
            }
            continue;
        }
        let mut at_mm = 0.0;
        let mut traced: Vec<(f64, usize)> = Vec::new();
        for point in of_size {
            at_mm = point.at_mm;
            if let Radius::Trace { departure, .. } = point.radius {
                traced.push((point.frame_deg, departure));
            }
        }
        traced.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut crossed = false;
        for &(angle, departure) in &traced {
            let Some(opposite) = opposite(&traced, angle) else { continue };
            crossed = true;
            // Both ends of an exact diameter find it; it is taken once.
            if opposite.len() == 2 || angle < 180.0 {
                add(size, std::iter::once((departure, 1.0)).chain(opposite).collect(), at_mm, angle);
            }
        }
        if !crossed {
            add(size, Vec::new(), at_mm, 0.0);
        }
    }
    if sizes.is_empty() {
        return None;
    }
    let check = FormCheck::new(specification.set(id.set), ground_to[index(id.set)].undersize_mm, &places);
    Some(JournalForm { sizes, check })
}

/// The departure opposite a direction: the one traced there, or its two neighbours, each with its weight.
fn opposite(traced: &[(f64, usize)], angle_deg: f64) -> Option<Vec<(usize, f64)>> {
    const SAME_DEG: f64 = 1e-6;
    let wanted = (angle_deg + 180.0).rem_euclid(360.0);
    let next = traced.partition_point(|(angle, _)| *angle < wanted - SAME_DEG);
    let after = traced.get(next).or(traced.first())?;
    let apart = (after.0 - wanted).rem_euclid(360.0);
    if apart <= SAME_DEG || apart >= 360.0 - SAME_DEG {
        return Some(vec![(after.1, 1.0)]);
    }
    let before = next.checked_sub(1).and_then(|i| traced.get(i)).or(traced.last())?;
    let gap = (after.0 - before.0).rem_euclid(360.0);
    if gap <= 0.0 || gap > WIDEST_GAP_DEG {
        return None;
    }
    let share = (wanted - before.0).rem_euclid(360.0) / gap;
    Some(vec![(before.1, 1.0 - share), (after.1, share)])
}
