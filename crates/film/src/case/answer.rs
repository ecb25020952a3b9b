//! The answer to a case.

use rayon::prelude::*;
use serde::Serialize;

use super::gauge::{GaugePoint, gauge_over_speed};
use super::prepared::{Maps, Prepared};
use super::state::{Mains, state};
use super::{Case, Clearance, Condition, CurvePoint, Figures, Leaning, Mark, State, curve, leaning};
use crate::problem::Problems;

/// What must stand beside every gauge pressure.
pub const HINT: &str = "a hint, not a diagnosis: pump, valve and thin oil look the same";

/// What the model leaves out, in plain words.
pub const LIMITS: &[&str] = &[
    "mains are taken as statically determinate: each throw rests on the mains before and behind it, by the lever rule, as \
     if the crank were cut at every main; an overhung throw is held by the two mains nearest to it",
    "cylinders are alike, and rods that share a pin all press at its middle; no forked or slave rods, no offset bores",
    "shells and journals are rigid, round and parallel; real shells bend and spread the highest pressures",
    "one viscosity throughout each film; the oil is taken to be there wherever the film needs it",
    "a main with a groove in the upper shell carries loads that point into that shell on its two lands, others on its whole \
     width; upper is where a bore without lean points",
    "a film thinner than the combined roughness is mixed contact, outside the model",
    "gas pressure is modelled, not measured",
];

/// One clearance in all conditions.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AtClearance {
    /// The clearance.
    pub clearance: Clearance,
    /// Warm, at idle.
    pub hot_idle: State,
    /// Warm, under load.
    pub hot_running: State,
    /// Just started, at idle.
    pub cold: State,
    /// What the gauge shows over speed, warm and cold.
    pub gauge: Vec<GaugePoint>,
}

/// Everything that can be said about a case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// The clearances side by side, as asked.
    pub clearances: Vec<AtClearance>,
    /// Least film and hot idle pressure over clearance, round the plan.
    pub curve: Vec<CurvePoint>,
    /// How much the plan's answer moves with what was assumed.
    pub leaning: Leaning,
    /// The names of all figures that were assumed.
    pub assumed: Vec<&'static str>,
    /// All figures that were used.
    pub figures: Figures,
    /// What must stand beside every gauge pressure.
    pub hint: &'static str,
    /// What the model leaves out.
    pub limits: &'static [&'static str],
}

/// Points of the curve in an answer.
const CURVE_POINTS: usize = 50;

/// The clearances side by side, without curve and leaning.
///
/// # Errors
/// Everything in the case that cannot be worked with, at once.
/// # Limits
/// See [`LIMITS`].
pub fn side_by_side(case: &Case) -> Result<Vec<AtClearance>, Problems> {
    case.check()?;
    let maps = Maps::new(case)?;
    let conditions = [Condition::HotIdle, Condition::HotRunning, Condition::Cold];
    let prepared: Vec<Prepared> =
        conditions.into_par_iter().map(|condition| Prepared::new(case, condition)).collect::<Result<_, _>>()?;
    let asked: Vec<(&Clearance, &Prepared)> = case
        .clearances
        .iter()
        .flat_map(|clearance| prepared.iter().map(move |prepared| (clearance, prepared)))
        .collect();
    let states: Vec<State> = asked
        .par_iter()
        .map(|(clearance, prepared)| state(case, prepared, &maps, clearance, Mains::All))
        .collect::<Result<_, _>>()?;
    let mut states = states.into_iter();
    let mut clearances = Vec::with_capacity(case.clearances.len());
    for clearance in &case.clearances {
        if let (Some(hot_idle), Some(hot_running), Some(cold)) = (states.next(), states.next(), states.next()) {
            let gauge = gauge_over_speed(case, &maps, clearance)?;
            clearances.push(AtClearance { clearance: clearance.clone(), hot_idle, hot_running, cold, gauge });
        }
    }
    Ok(clearances)
}

/// Answers a case.
///
/// # Errors
/// Everything in the case that cannot be worked with, at once.
/// # Limits
/// See [`LIMITS`]; each stands in the answer.
pub fn answer(case: &Case) -> Result<Answer, Problems> {
    let clearances = side_by_side(case)?;
    let assumed = case.figures.list().into_iter().filter(|(_, input)| input.mark != Mark::Given);
    Ok(Answer {
        clearances,
        curve: curve(case, CURVE_POINTS)?,
        leaning: leaning(case)?,
        assumed: assumed.map(|(name, _)| name).collect(),
        figures: case.figures,
        hint: HINT,
        limits: LIMITS,
    })
}
