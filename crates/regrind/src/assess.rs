//! From findings to verdict: the one function that every face of the program calls.

use std::collections::BTreeSet;

use crank::{Findings, SetName, Specification};
use units::Unit;

use crate::any_size;
use crate::as_measured::AsMeasured;
use crate::axis::{Chooser, Geometry, PILOT, Questions, Told};
use crate::case::Case;
use crate::chance::SAME_LENGTH_MM;
use crate::plan::ground_size_mm;
use crate::set_up::SetUp;
use crate::surface::Surface;
use crate::tally::Ladders;
use crate::unseen::Model;
use crate::verdict::{Failure, Verdict};
use crate::{Axis, Policy};

/// Judges one crank: condition, clean-up, choice and plan.
///
/// Readings that look wrong ([`crank::suspicions`]) are left out of what the chances rest on, and the verdict says so; the
/// figures called "as measured" and the plain spare count every reading as it stands.
///
/// `unit` is what the remarks are worded in. `progress` is told, from any thread, how many more draws were made; there are
/// [`Policy::draws`] of them in all.
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
    judge(specification, findings, policy, unit, false, progress)
}

/// The same for what a further measurement would bring: no measurement after that is looked for.
pub(crate) fn foresee(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    unit: Unit,
) -> Result<Verdict, Failure> {
    judge(specification, findings, policy, unit, true, &|_| ())
}

fn judge(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    unit: Unit,
    foreseen: bool,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Verdict, Failure> {
    let suspicions = crank::suspicions(specification, findings, unit);
    let doubtful = doubtful(&suspicions);
    let sized = any_size::with_sizes(specification, findings, policy, &doubtful);
    let specification = sized.as_ref().unwrap_or(specification);
    let ladders = ladders(specification, policy);
    let model = Model::new(specification, findings, policy, &doubtful);
    let measured = AsMeasured::new(specification, findings, policy, &ladders, &model, !foreseen);
    // What is decided rests on the readings that nobody doubts.
    let undoubted = (!doubtful.is_empty())
        .then(|| AsMeasured::new(specification, &without(findings, &doubtful), policy, &ladders, &model, false));
    let told = told(undoubted.as_ref().unwrap_or(&measured), &model, policy, &ladders);
    let afterwards = undoubted.as_ref().unwrap_or(&measured).afterwards.as_ref();
    let counted = model.count(&ladders, &told, afterwards, policy.draws, progress);
    let case = Case {
        specification,
        findings,
        policy,
        unit,
        ladders: &ladders,
        measured: &measured,
        undoubted: undoubted.as_ref().unwrap_or(&measured),
        model: &model,
        counted: &counted,
        told: &told,
        suspicions: &suspicions,
        doubtful: &doubtful,
        foreseen,
    };
    case.verdict()
}

/// Readings that look wrong, as indices.
fn doubtful(suspicions: &[crank::Suspicion]) -> BTreeSet<usize> {
    suspicions.iter().filter(|s| s.accuses()).filter_map(|s| s.reading).collect()
}

pub(crate) fn without(findings: &Findings, doubtful: &BTreeSet<usize>) -> Findings {
    let mut fewer = findings.clone();
    let mut index = 0;
    fewer.readings.retain(|_| {
        index += 1;
        !doubtful.contains(&(index - 1))
    });
    fewer
}

pub(crate) fn ladders(specification: &Specification, policy: &Policy) -> Ladders {
    Ladders {
        wanted_mm: SetName::BOTH.map(|set| {
            let ladder_mm = specification.set(set).ladder_mm();
            ladder_mm.iter().map(|&u| wanted_mm(specification, policy, set, u)).collect()
        }),
        stock_mm: policy.clean_up_stock_mm,
    }
}

/// Where the crank is told to be set up: chosen by what was measured and nobody doubts, and by the first draws.
fn told(measured: &AsMeasured, model: &Model<'_>, policy: &Policy, ladders: &Ladders) -> Told {
    match model.questions() {
        None => Told::alone(ladders, measured.questions.geometry.present_placement()),
        Some(drawn) => {
            let surface = &measured.surface;
            let mut radii_mm = Vec::new();
            surface.sided_radii_mm(&surface.as_it_stands(), &mut radii_mm);
            Chooser {
                seen: &measured.questions,
                radii_mm: &radii_mm,
                drawn,
                pilot_mm: model.first_radii_mm(PILOT.min(policy.draws)),
                ladders,
                confidence: policy.confidence,
                throws_first: policy.throws_first,
            }
            .choose()
        }
    }
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

/// Where the grinder is told to set up for what the sets are ground to: the same placement as in the verdict (its
/// [`PairVerdict`](crate::PairVerdict), or [`StepVerdict`](crate::StepVerdict) where one set is left as it is), without
/// waiting for the draws.
///
/// Nothing where the axis is held, where nothing is ground, or where an undersize is not on the ladder.
pub fn set_up(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    ground_mm: [Option<f64>; 2],
) -> Option<SetUp> {
    if policy.axis == Axis::Held {
        return None;
    }
    let suspicions = crank::suspicions(specification, findings, specification.unit);
    let doubtful = doubtful(&suspicions);
    let sized = any_size::with_these(specification, ground_mm);
    let specification = sized.as_ref().unwrap_or(specification);
    let ladders = ladders(specification, policy);
    // The surface and its questions need no draws.
    let single = Policy { draws: 1, ..policy.clone() };
    let model = Model::new(specification, findings, policy, &doubtful);
    let seen = AsMeasured::new(specification, &without(findings, &doubtful), &single, &ladders, &model, false);
    let told = told(&seen, &model, policy, &ladders);
    let step = |s: usize| {
        let ladder_mm = specification.set(SetName::BOTH[s]).ladder_mm();
        ground_mm[s].and_then(|wanted| ladder_mm.iter().position(|&mm| (mm - wanted).abs() < SAME_LENGTH_MM))
    };
    let placement = match [step(0), step(1)] {
        [Some(main), Some(pin)] => &told.placements[told.pairs[main][pin]],
        [Some(main), None] => told.of_set(0, main),
        [None, Some(pin)] => told.of_set(1, pin),
        [None, None] => return None,
    };
    Some(seen.questions.geometry.set_up(placement))
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
