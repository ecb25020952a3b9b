//! The answer to a case.

use rayon::prelude::*;
use serde::Serialize;

use super::gauge::{GaugePoint, Speeds, gauge_over_speed};
use super::plan::AtPlan;
use super::prepared::{Asked, Basis, Care, Prepared};
use super::state::{Mains, Settled, settle, unusable};
use super::{Band, Case, Clearance, CurvePoint, Figures, Kind, Leaning, Mark, OilChoice, State, curve, leaning};
use crate::oil::{Grade, OilData};
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
    /// The names of all figures that were assumed; `oil` and `kind` where nobody chose them.
    pub assumed: Vec<&'static str>,
    /// How many figures of the engine there are, oil and kind among them.
    pub asked_of: usize,
    /// The oil that was used.
    pub oil: OilUsed,
    /// What burns in the engine.
    pub kind: Kind,
    /// All figures that were used.
    pub figures: Figures,
    /// What must stand beside every gauge pressure.
    pub hint: &'static str,
    /// What the model leaves out.
    pub limits: &'static [&'static str],
}

/// The oil of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OilUsed {
    /// The grade on the can; absent where a data sheet was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grade: Option<&'static str>,
    /// Whether somebody chose it.
    pub given: bool,
    /// Its two viscosities: of a grade, those of a typical oil.
    pub data: OilData,
    /// Between which it may lie, by its viscosity at the higher temperature in mm²/s; absent for a data sheet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range_mm2_s: Option<Band>,
}

impl Case {
    /// The oil, and how well it is known.
    fn oil_used(&self) -> OilUsed {
        let (grade, data) = match self.oil {
            OilChoice::Grade(grade) => (Some(grade.name()), grade.typical()),
            OilChoice::Data(data) => (None, data),
        };
        let range_mm2_s = self
            .oil_ends()
            .map(|[thin, thick]| Band { from: thin.higher_viscosity_mm2_s, to: thick.higher_viscosity_mm2_s });
        OilUsed { grade, given: self.oil_given, data, range_mm2_s }
    }

    /// The thinnest and the thickest oil that may be in the engine: of the chosen grade, or where none was chosen a grade
    /// thinner and a grade thicker. Nothing where a data sheet says it.
    pub(super) fn oil_ends(&self) -> Option<[OilData; 2]> {
        let OilChoice::Grade(grade) = self.oil else { return None };
        if !self.oil_given {
            return Some([Grade::Sae10w30.typical(), Grade::Sae20w50.typical()]);
        }
        let (typical, limits) = (grade.typical(), grade.limits());
        let at_100 = |viscosity: f64| {
            let share = viscosity / typical.higher_viscosity_mm2_s;
            OilData {
                lower_viscosity_mm2_s: share * typical.lower_viscosity_mm2_s,
                higher_viscosity_mm2_s: viscosity,
                ..typical
            }
        };
        Some([at_100(limits.from_100_mm2_s), at_100(limits.to_100_mm2_s)])
    }
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
    beside(case, &Basis::of(case, Care::Usual)?, Care::Usual)
}

/// The same worked out as closely as it can be, at thirty times the cost: for holding [`side_by_side`] to it.
///
/// # Errors
/// As [`side_by_side`].
#[doc(hidden)]
pub fn settled_side_by_side(case: &Case) -> Result<Vec<AtClearance>, Problems> {
    beside(case, &Basis::of(case, Care::Settled)?, Care::Settled)
}

fn beside(case: &Case, basis: &Basis, care: Care) -> Result<Vec<AtClearance>, Problems> {
    let maps = &basis.maps;
    let conditions = [&basis.hot_idle, &basis.hot_running, &basis.cold];
    let asked: Vec<(&Clearance, &Prepared)> = case
        .clearances
        .iter()
        .flat_map(|clearance| conditions.into_iter().map(move |prepared| (clearance, prepared)))
        .collect();
    let settled = || {
        let settled = asked.par_iter().map(|(clearance, prepared)| {
            let settled = settle(case, prepared, maps, clearance, Mains::All, Asked::Films, None)?;
            let (state, _) = settled.state(case, prepared, maps)?;
            Ok((settled, state))
        });
        settled.collect::<Result<Vec<(Settled, State)>, Problems>>()
    };
    let (speeds, settled) = rayon::join(|| Speeds::of(case, care), settled);
    let (speeds, settled) = (speeds?, settled?);
    let each = case.clearances.par_iter().zip(settled.par_chunks_exact(conditions.len()));
    each.map(|(clearance, states)| {
        let [(idle, hot_idle), (running, hot_running), (idle_cold, cold)] = states else { return Err(unusable()) };
        Ok(AtClearance {
            clearance: clearance.clone(),
            gauge: gauge_over_speed(case, maps, clearance, &speeds, [idle, running, idle_cold])?,
            hot_idle: hot_idle.clone(),
            hot_running: hot_running.clone(),
            cold: cold.clone(),
        })
    })
    .collect()
}

/// Answers a case.
///
/// # Errors
/// Everything in the case that cannot be worked with, at once.
/// # Limits
/// See [`LIMITS`]; each stands in the answer.
pub fn answer(case: &Case) -> Result<Answer, Problems> {
    answer_with(case, Care::Usual)
}

/// The same worked out as closely as it can be, at thirty times the cost: for holding [`answer`] to it.
///
/// # Errors
/// As [`answer`].
#[doc(hidden)]
pub fn settled_answer(case: &Case) -> Result<Answer, Problems> {
    answer_with(case, Care::Settled)
}

fn answer_with(case: &Case, care: Care) -> Result<Answer, Problems> {
    let basis = Basis::of(case, care)?;
    let round_plan = || {
        let at_plan = AtPlan::of(case, &basis)?.ok_or_else(unusable)?;
        let (curve, leaning) = rayon::join(
            || curve::round_plan(case, &basis, &at_plan, CURVE_POINTS),
            || leaning::round_plan(case, &basis, &at_plan),
        );
        Ok::<_, Problems>((curve?, leaning?))
    };
    let (clearances, round_plan) = rayon::join(|| beside(case, &basis, care), round_plan);
    let (clearances, (curve, leaning)) = (clearances?, round_plan?);
    let figures = case.figures.list();
    let asked_of = figures.len() + 2;
    let not_chosen = [("oil", case.oil_given), ("kind", case.kind_given)];
    let not_chosen = not_chosen.into_iter().filter(|(_, given)| !given).map(|(name, _)| name);
    let assumed = figures.into_iter().filter(|(_, input)| input.mark != Mark::Given).map(|(name, _)| name);
    Ok(Answer {
        clearances,
        curve,
        leaning,
        assumed: assumed.chain(not_chosen).collect(),
        asked_of,
        oil: case.oil_used(),
        kind: case.kind,
        figures: case.figures,
        hint: HINT,
        limits: LIMITS,
    })
}
