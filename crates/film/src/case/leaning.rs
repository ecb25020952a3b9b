//! How much an answer leans on what was assumed.

use rayon::prelude::*;
use serde::Serialize;

use super::prepared::{Maps, Prepared};
use super::state::{Mains, Warm, settle, state};
use super::{Case, Condition, Figures, Mark, OilChoice};
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
    case.check()?;
    let maps = Maps::new(case)?;
    let main = match case.clearances.get(case.plan) {
        Some(plan) => {
            let running = Prepared::new(case, Condition::HotRunning)?;
            state(case, &running, &maps, plan, Mains::All)?.mains.number - 1
        }
        None => 0,
    };
    let (middle, warm) = outcomes(case, &maps, main, None)?;
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
    let found: Vec<Outcomes> = ends
        .par_iter()
        .map(|moved| outcomes(moved, &maps, main, warm.as_ref()).map_or(middle, |(found, _)| found))
        .collect();
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

/// The three outcomes of a case at its plan, and where its two states settled.
fn outcomes(
    case: &Case,
    maps: &Maps,
    main: usize,
    warm: Option<&[Warm; 2]>,
) -> Result<(Outcomes, Option<[Warm; 2]>), Problems> {
    case.check()?;
    let Some(plan) = case.clearances.get(case.plan) else { return Ok(([0.0; 3], None)) };
    let own;
    let maps = if maps.still_fit(case) {
        maps
    } else {
        own = Maps::beside(case, Some(maps))?;
        &own
    };
    let at = |condition: Condition, warm: Option<&Warm>| {
        settle(case, &Prepared::new(case, condition)?, maps, plan, Mains::Only(main), warm)
    };
    let (running, warm_running) = at(Condition::HotRunning, warm.map(|warm| &warm[0]))?;
    let (idle, warm_idle) = at(Condition::HotIdle, warm.map(|warm| &warm[1]))?;
    let found = [running.pins.least_film_m, running.mains.least_film_m, idle.gauge_pa];
    Ok((found, Some([warm_running, warm_idle])))
}
