//! How much an answer leans on what was assumed.

use rayon::prelude::*;
use serde::Serialize;

use super::circulation::BearingKind;
use super::plan::AtPlan;
use super::prepared::{Asked, Basis, Care, Maps, Prepared};
use super::state::{Mains, Settled, settle, unusable};
use super::{Case, Figures, Mark, OilChoice};
use crate::problem::Problems;

/// Between what an outcome moves.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Band {
    /// The least.
    pub from: f64,
    /// The most.
    pub to: f64,
}

/// What one assumed figure moves, from one end of its range to the other, all else as it stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lean {
    /// The figure; `oil` for the oil.
    pub figure: &'static str,
    /// What it is, in words.
    pub words: &'static str,
    /// Its range.
    pub range: Band,
    /// Least film of a big end, warm under load, at the range's lower and upper end.
    pub pin_film_m: [f64; 2],
    /// Least film of the governing main, warm under load.
    pub main_film_m: [f64; 2],
    /// What the gauge shows at hot idle.
    pub hot_idle_gauge_pa: [f64; 2],
    /// The largest of the three movements over its outcome: how much the answer leans on this figure.
    pub weight: f64,
}

/// How much the plan's answer leans on what was assumed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Leaning {
    /// Figure by figure, the weightiest first.
    pub figures: Vec<Lean>,
    /// Where the least film of a big end may lie, all figures together (root of the squares of their movements).
    pub pin_film_m: Band,
    /// Where the least film of the governing main may lie.
    pub main_film_m: Band,
    /// Where the gauge may stand at hot idle.
    pub hot_idle_gauge_pa: Band,
}

/// The name under which the oil stands among the figures.
const OIL: &str = "oil";
/// What it is; its range is told by the viscosity at 100 °C in mm²/s.
const OIL_WORDS: &str = "The oil, from thin to thick.";

/// The three outcomes.
type Outcomes = [f64; 3];

/// Varies every assumed figure over its range, at the plan, and the oil unless its data sheet was given.
///
/// # Errors
/// Everything in the case that cannot be worked with, at once. An end of a range at which the case
/// cannot be worked out counts as moving nothing.
pub fn leaning(case: &Case) -> Result<Leaning, Problems> {
    let basis = Basis::of(case, Care::Usual)?;
    let at_plan = AtPlan::of(case, &basis)?.ok_or_else(unusable)?;
    round_plan(case, &basis, &at_plan)
}

/// The same from where the plan settled.
pub(super) fn round_plan(case: &Case, basis: &Basis, at_plan: &AtPlan<'_>) -> Result<Leaning, Problems> {
    let middle = told(&at_plan.running, &at_plan.idle)?;
    let assumed: Vec<(&'static str, f64, f64)> = case
        .figures
        .list()
        .into_iter()
        .filter_map(|(name, input)| match input.mark {
            Mark::Assumed { from, to } => Some((name, from, to)),
            Mark::Given => None,
        })
        .collect();
    let with = |name: &str, value: f64| {
        let mut moved = case.clone();
        if let Some(figure) = moved.figures.named(name) {
            figure.value = value;
        }
        moved
    };
    let mut ends: Vec<Case> =
        assumed.iter().flat_map(|(name, from, to)| [with(name, *from), with(name, *to)]).collect();
    let mut assumed = assumed;
    if let Some(oils) = case.oil_ends() {
        let [thin, thick] = oils.map(|data| data.higher_viscosity_mm2_s);
        assumed.push((OIL, thin, thick));
        ends.extend(oils.map(|data| Case { oil: OilChoice::Data(data), ..case.clone() }));
    }
    let found: Vec<Outcomes> = ends.par_iter().map(|moved| outcomes(moved, basis, at_plan).unwrap_or(middle)).collect();
    let mut figures: Vec<Lean> = assumed
        .iter()
        .zip(found.chunks_exact(2))
        .map(|((figure, from, to), ends)| {
            let pair = |outcome: usize| [ends[0][outcome], ends[1][outcome]];
            let moves = |outcome: usize| {
                let most = ends.iter().map(|end| (end[outcome] - middle[outcome]).abs()).fold(0.0, f64::max);
                most / middle[outcome].abs().max(f64::MIN_POSITIVE)
            };
            Lean {
                figure,
                words: if *figure == OIL { OIL_WORDS } else { Figures::words(figure).unwrap_or(figure) },
                range: Band { from: *from, to: *to },
                pin_film_m: pair(0),
                main_film_m: pair(1),
                hot_idle_gauge_pa: pair(2),
                weight: (0..3).map(moves).fold(0.0, f64::max),
            }
        })
        .collect();
    figures.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.figure.cmp(b.figure)));
    let together = |outcome: usize| {
        let (mut down, mut up) = (0.0, 0.0);
        for ends in found.chunks_exact(2) {
            let low = ends.iter().map(|end| end[outcome] - middle[outcome]).fold(0.0, f64::min);
            let high = ends.iter().map(|end| end[outcome] - middle[outcome]).fold(0.0, f64::max);
            down += low * low;
            up += high * high;
        }
        Band { from: (middle[outcome] - down.sqrt()).max(0.0), to: middle[outcome] + up.sqrt() }
    };
    Ok(Leaning { pin_film_m: together(0), main_film_m: together(1), hot_idle_gauge_pa: together(2), figures })
}

/// The three outcomes of a case that differs from the one the plan settled for in a figure.
fn outcomes(moved: &Case, basis: &Basis, at_plan: &AtPlan<'_>) -> Result<Outcomes, Problems> {
    moved.check()?;
    let maps = Maps::new(moved)?;
    let at = |known: &Prepared, asked, near| {
        let prepared = Prepared::new(moved, known.condition, known.care, Some(known))?;
        settle(moved, &prepared, &maps, at_plan.plan, Mains::Only(at_plan.main), asked, Some(near))
    };
    told(&at(&basis.hot_running, Asked::Films, &at_plan.running)?, &at(&basis.hot_idle, Asked::Gauge, &at_plan.idle)?)
}

fn told(running: &Settled, idle: &Settled) -> Result<Outcomes, Problems> {
    let film = |kind| running.least_film_m(kind);
    Ok([film(BearingKind::Pin)?, film(BearingKind::Main)?, idle.gauge_pa()])
}
