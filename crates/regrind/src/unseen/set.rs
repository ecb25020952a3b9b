//! What the journals of one set tell of each other: how deep they are worn, how oval, which way, and what they were last
//! ground to.

use std::ops::Range;

use statrs::distribution::{Continuous, StudentsT};

use super::fit::{Fit, MOST_STEPS, TRIANGLE, Unknowns, fit, weights};
use super::readings::Diameter;
use super::shape::{self, DIRECTIONS, LEVELS, OVALS, SHARPNESSES, about, across};
use crate::Assumed;

/// A shape this much less likely than all of its step is never drawn.
const NEVER: f64 = 1e-7;
/// Spread of the logarithm of a level, degrees of freedom where no sibling was measured.
const FEWEST_FREEDOM: f64 = 3.0;
/// Degrees of freedom of the level before any sibling is looked at.
const FIRST_FREEDOM: f64 = 4.0;

/// One journal of a set before its siblings are looked at.
pub(super) struct Measured {
    /// Its diameters; none where nobody measured it.
    pub(super) diameters: Vec<Diameter>,
    /// How much likelier each step of the ladder is by a stamp on it.
    pub(super) stamped: Vec<f64>,
}

/// What is known of a set besides its readings.
pub(super) struct About<'a> {
    pub(super) assumed: &'a Assumed,
    /// Whether its journals share a direction of wear (mains) or are worn in line with their own throw (pins).
    pub(super) mains: bool,
    /// Middle of the finished limits at standard.
    pub(super) middle_mm: f64,
    /// Their width.
    pub(super) tolerance_mm: f64,
    /// Undersizes, standard first.
    pub(super) ladder_mm: &'a [f64],
    /// How much likelier each step is by a stamp for the set.
    pub(super) stamped: &'a [f64],
    /// Twice the standard uncertainty of a journal's largest size, for each journal.
    pub(super) doubts_mm: &'a [f64],
}

/// Where the logarithm of a journal's level lies by its siblings.
#[derive(Clone, Copy, Debug)]
pub(super) struct Level {
    pub(super) middle: f64,
    pub(super) scale: f64,
    pub(super) freedom: f64,
}

/// A shape that can be drawn.
#[derive(Clone, Debug)]
pub(super) struct Kept {
    pub(super) sharpness: usize,
    pub(super) direction: usize,
    pub(super) mean_mm: Unknowns,
    pub(super) root_mm: [f64; TRIANGLE],
    pub(super) gains: Vec<Unknowns>,
    /// Scale of the form that two points do not show, on the radius.
    pub(super) hidden_mm: f64,
    /// Variance of a diameter about the shape.
    pub(super) ragged_mm2: f64,
}

/// The shapes of one journal at one step.
#[derive(Clone, Debug)]
pub(super) struct Step {
    /// Which step of the ladder.
    pub(super) step: usize,
    /// Weight of each direction of the oval, without what the set has in common.
    pub(super) directions: [f64; DIRECTIONS],
    /// The shapes of each direction, as a range of `kept`.
    pub(super) of_direction: [Range<usize>; DIRECTIONS],
    /// The shapes, and how likely each and those of its direction before it are together.
    pub(super) kept: Vec<Kept>,
    pub(super) cumulative: Vec<f64>,
}

/// One journal as it can be drawn.
#[derive(Clone, Debug)]
pub(super) enum Drawable {
    /// From its readings.
    Fitted {
        /// Instruments of its readings.
        instruments: Vec<usize>,
        /// The plausible steps.
        steps: Vec<Step>,
        /// For each step that the set may have been ground to: how likely each of `steps` is.
        given_set: Vec<Vec<f64>>,
    },
    /// From its siblings.
    Guessed {
        /// Its level.
        level: Level,
        /// Shares of its oval part.
        ovals: [f64; OVALS],
    },
}

/// A set as it can be drawn.
#[derive(Clone, Debug)]
pub(super) struct SetFit {
    pub(super) journals: Vec<Drawable>,
    /// How likely each step of the ladder is for the whole set.
    pub(super) steps: Vec<f64>,
    /// How likely each common direction is.
    pub(super) common: [f64; DIRECTIONS],
    /// Weights of a journal's own direction for each common one; for pins all are the same.
    pub(super) own: [[f64; DIRECTIONS]; DIRECTIONS],
}

/// A journal's cells weighed for one prior of level and oval part.
struct Weighed {
    /// For each plausible step: how well the step explains the readings, in logarithms.
    log_steps: Vec<f64>,
    /// For each plausible step: the weight of every cell, summing to one.
    cells: Vec<Vec<f64>>,
}

impl SetFit {
    /// Fits every journal of a set, first by itself, then by what its siblings say.
    pub(super) fn new(about_set: &About<'_>, journals: &[Measured]) -> SetFit {
        let assumed = about_set.assumed;
        let plausible: Vec<Vec<usize>> = journals
            .iter()
            .zip(about_set.doubts_mm)
            .map(|(j, &doubt)| plausible(about_set, &j.diameters, doubt))
            .collect();
        let fits: Vec<Option<Fit>> = journals
            .iter()
            .zip(&plausible)
            .map(|(journal, steps)| {
                (!journal.diameters.is_empty()).then(|| {
                    let steps_mm: Vec<f64> = steps.iter().map(|&s| about_set.ladder_mm[s]).collect();
                    fit(assumed, &journal.diameters, about_set.middle_mm, about_set.tolerance_mm, &steps_mm)
                })
            })
            .collect();
        let table = if about_set.mains { assumed.oval_mains } else { assumed.oval_pins };
        let own_direction = if about_set.mains {
            [1.0 / DIRECTIONS as f64; DIRECTIONS]
        } else {
            about(0, assumed.in_line_share, assumed.in_line_spread_deg)
        };
        let first = Level {
            middle: assumed.level_mm.ln(),
            scale: assumed.journals_spread.hypot(assumed.level_spread),
            freedom: FIRST_FREEDOM,
        };
        let weighed: Vec<Option<Weighed>> = fits
            .iter()
            .zip(&plausible)
            .map(|(fit, steps)| fit.as_ref().map(|fit| weigh(assumed, fit, steps.len(), first, table, own_direction)))
            .collect();
        let of_set = set_steps(about_set, journals, &plausible, &weighed);
        let first_given = own_steps(about_set, journals, &plausible, &weighed);
        // What each measured journal has lost, and how oval it looks where two planes were read.
        let mut levels: Vec<Option<f64>> = Vec::new();
        let mut seen_ovals: Vec<Option<[f64; OVALS]>> = Vec::new();
        for (j, (fit, weighed)) in fits.iter().zip(&weighed).enumerate() {
            let (Some(fit), Some(weighed)) = (fit, weighed) else {
                levels.push(None);
                seen_ovals.push(None);
                continue;
            };
            let chance_of: Vec<f64> = (0..plausible[j].len())
                .map(|n| of_set.iter().zip(&first_given[j]).map(|(p, given)| p * given[n]).sum())
                .collect();
            let mut lost = 0.0;
            let mut ovals = [0.0; OVALS];
            for (n, chance) in chance_of.iter().enumerate() {
                for (cell, weight) in fit.cells.iter().zip(&weighed.cells[n]) {
                    lost += chance * weight * (cell.mean_mm[n][0] + cell.mean_mm[n][1].max(0.0));
                    ovals[cell.shape.oval] += chance * weight;
                }
            }
            levels.push(Some(lost.max(shape::level_mm(0) / 2.0).ln()));
            seen_ovals.push(two_planes(&journals[j].diameters).then_some(ovals));
        }
        let by_siblings: Vec<(Level, [f64; OVALS])> =
            (0..journals.len()).map(|j| (level(assumed, &levels, j), ovals(assumed, table, &seen_ovals, j))).collect();
        let weighed: Vec<Option<Weighed>> = fits
            .iter()
            .enumerate()
            .map(|(j, fit)| {
                let (level, ovals) = by_siblings[j];
                fit.as_ref().map(|fit| weigh(assumed, fit, plausible[j].len(), level, ovals, own_direction))
            })
            .collect();
        let steps = set_steps(about_set, journals, &plausible, &weighed);
        let given_set = own_steps(about_set, journals, &plausible, &weighed);
        let own = std::array::from_fn(|common| {
            if about_set.mains { about(common, assumed.common_share, assumed.common_spread_deg) } else { own_direction }
        });
        let mut drawables = Vec::new();
        let mut common = [1.0; DIRECTIONS];
        for (j, (fit, weighed)) in fits.into_iter().zip(weighed).enumerate() {
            let (Some(fit), Some(weighed)) = (fit, weighed) else {
                let (level, ovals) = by_siblings[j];
                drawables.push(Drawable::Guessed { level, ovals });
                continue;
            };
            let kept: Vec<Step> = plausible[j]
                .iter()
                .enumerate()
                .map(|(n, &step)| {
                    let lowered_mm = about_set.middle_mm - about_set.ladder_mm[step];
                    keep(assumed, &fit, &weighed.cells[n], n, step, lowered_mm, &journals[j].diameters)
                })
                .collect();
            if about_set.mains {
                // How likely each direction of this journal is, over the steps that it may have been ground to.
                let mut directions = [0.0; DIRECTIONS];
                for (n, step) in kept.iter().enumerate() {
                    let chance: f64 = steps.iter().zip(&given_set[j]).map(|(p, given)| p * given[n]).sum();
                    directions.iter_mut().zip(step.directions).for_each(|(sum, weight)| *sum += chance * weight);
                }
                let largest = common_of(&mut common, &own, &directions);
                common.iter_mut().for_each(|weight| *weight /= largest);
            }
            drawables.push(Drawable::Fitted {
                instruments: fit.instruments,
                steps: kept,
                given_set: given_set[j].clone(),
            });
        }
        normalise(&mut common);
        SetFit { journals: drawables, steps, common, own }
    }
}

/// Multiplies what one journal says of the common direction into it; the largest weight comes back.
fn common_of(
    common: &mut [f64; DIRECTIONS],
    own: &[[f64; DIRECTIONS]; DIRECTIONS],
    directions: &[f64; DIRECTIONS],
) -> f64 {
    for (weight, own) in common.iter_mut().zip(own) {
        *weight *= own.iter().zip(directions).map(|(a, b)| a * b).sum::<f64>();
    }
    common.iter().copied().fold(f64::MIN_POSITIVE, f64::max)
}

/// The three deepest steps whose upper limit is not below the journal's largest size by more than its doubt, deepest
/// first; standard alone where none is.
fn plausible(about_set: &About<'_>, diameters: &[Diameter], doubt_mm: f64) -> Vec<usize> {
    let largest_mm = diameters.iter().map(|d| d.size_mm).fold(f64::NEG_INFINITY, f64::max);
    let high_mm = about_set.middle_mm + about_set.tolerance_mm / 2.0;
    let fits = |&step: &usize| high_mm - about_set.ladder_mm[step] >= largest_mm - doubt_mm;
    let mut steps: Vec<usize> = (0..about_set.ladder_mm.len()).rev().filter(fits).take(MOST_STEPS).collect();
    if steps.is_empty() {
        steps.push(0);
    }
    steps
}

/// Whether diameters in two planes were read at one station.
fn two_planes(diameters: &[Diameter]) -> bool {
    diameters.iter().any(|a| {
        diameters
            .iter()
            .any(|b| (a.zeta - b.zeta).abs() < 0.05 && crank::planes_apart_deg(a.angle_deg, b.angle_deg) > 30.0)
    })
}

/// The weight of every cell of every plausible step under a prior.
fn weigh(
    assumed: &Assumed,
    fit: &Fit,
    steps: usize,
    level: Level,
    ovals: [f64; OVALS],
    directions: [f64; DIRECTIONS],
) -> Weighed {
    let student = StudentsT::new(level.middle, level.scale, level.freedom).ok();
    let mut levels: [f64; LEVELS] =
        std::array::from_fn(|n| student.map_or(1.0, |t| t.pdf(shape::level_mm(n).ln())).max(1e-30));
    let sum: f64 = levels.iter().sum();
    levels.iter_mut().for_each(|weight| *weight /= sum);
    let sharpnesses: [f64; SHARPNESSES] = [1.0 - assumed.narrow_share, assumed.narrow_share];
    let mut log_steps = Vec::new();
    let mut cells = Vec::new();
    for n in 0..steps.min(MOST_STEPS) {
        let mut weights: Vec<f64> = fit
            .cells
            .iter()
            .map(|cell| {
                let shape = cell.shape;
                levels[shape.level]
                    * ovals[shape.oval]
                    * directions[shape.direction]
                    * sharpnesses[shape.sharpness]
                    * (cell.log_evidence[n] - fit.largest_log).exp()
            })
            .collect();
        let sum: f64 = weights.iter().sum();
        if sum > 0.0 {
            weights.iter_mut().for_each(|weight| *weight /= sum);
        }
        log_steps.push(if sum > 0.0 { sum.ln() } else { f64::NEG_INFINITY });
        cells.push(weights);
    }
    Weighed { log_steps, cells }
}

/// How well each step of the ladder explains one journal, the largest counted as one, with what is stamped on it.
fn evidences(about_set: &About<'_>, journal: &Measured, plausible: &[usize], weighed: &Weighed) -> Vec<f64> {
    let largest = weighed.log_steps.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut evidences = vec![0.0; about_set.ladder_mm.len()];
    for (&step, &log) in plausible.iter().zip(&weighed.log_steps) {
        let stamped = journal.stamped.get(step).copied().unwrap_or(1.0);
        evidences[step] = stamped * if largest.is_finite() { (log - largest).exp() } else { 1.0 };
    }
    evidences
}

/// How likely each step is for the whole set.
fn set_steps(
    about_set: &About<'_>,
    journals: &[Measured],
    plausible: &[Vec<usize>],
    weighed: &[Option<Weighed>],
) -> Vec<f64> {
    let count = about_set.ladder_mm.len();
    let other = if count > 1 { about_set.assumed.other_step / (count - 1) as f64 } else { 0.0 };
    let mut logs: Vec<f64> =
        (0..count).map(|step| about_set.stamped.get(step).copied().unwrap_or(1.0).max(1e-300).ln()).collect();
    for ((journal, plausible), weighed) in journals.iter().zip(plausible).zip(weighed) {
        let Some(weighed) = weighed else { continue };
        let evidences = evidences(about_set, journal, plausible, weighed);
        let all: f64 = evidences.iter().sum();
        for (log, &own) in logs.iter_mut().zip(&evidences) {
            *log += ((1.0 - about_set.assumed.other_step) * own + other * (all - own)).max(1e-300).ln();
        }
    }
    let largest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut steps: Vec<f64> = logs.into_iter().map(|log| (log - largest).exp()).collect();
    normalise(&mut steps);
    steps
}

/// For each journal and each step of the set: how likely each of the journal's plausible steps is.
fn own_steps(
    about_set: &About<'_>,
    journals: &[Measured],
    plausible: &[Vec<usize>],
    weighed: &[Option<Weighed>],
) -> Vec<Vec<Vec<f64>>> {
    let count = about_set.ladder_mm.len();
    let other = if count > 1 { about_set.assumed.other_step / (count - 1) as f64 } else { 0.0 };
    journals
        .iter()
        .zip(plausible)
        .zip(weighed)
        .map(|((journal, plausible), weighed)| {
            let Some(weighed) = weighed else { return vec![Vec::new(); count] };
            let evidences = evidences(about_set, journal, plausible, weighed);
            (0..count)
                .map(|of_set| {
                    let mut given: Vec<f64> = plausible
                        .iter()
                        .map(|&step| {
                            let prior = if step == of_set { 1.0 - about_set.assumed.other_step } else { other };
                            prior.max(1e-12) * evidences[step]
                        })
                        .collect();
                    normalise(&mut given);
                    given
                })
                .collect()
        })
        .collect()
}

/// Where a journal's level lies by what its siblings have lost.
fn level(assumed: &Assumed, lost: &[Option<f64>], but: usize) -> Level {
    let others: Vec<f64> = lost.iter().enumerate().filter(|(j, _)| *j != but).filter_map(|(_, x)| *x).collect();
    let n = others.len() as f64;
    let mean = if others.is_empty() { 0.0 } else { others.iter().sum::<f64>() / n };
    let squares: f64 = others.iter().map(|x| (x - mean).powi(2)).sum();
    let freedom = (assumed.journals_worth + n - 1.0).max(FEWEST_FREEDOM);
    let tau2 = (assumed.journals_worth * assumed.journals_spread.powi(2) + squares) / freedom;
    let n0 = tau2 / assumed.level_spread.powi(2).max(1e-12);
    Level {
        middle: (others.iter().sum::<f64>() + n0 * assumed.level_mm.ln()) / (n + n0),
        scale: (tau2 * (1.0 + 1.0 / (n + n0))).sqrt(),
        freedom,
    }
}

/// Shares of a journal's oval part by what its siblings show.
fn ovals(assumed: &Assumed, table: [f64; OVALS], seen: &[Option<[f64; OVALS]>], but: usize) -> [f64; OVALS] {
    let mut sum = table.map(|share| assumed.oval_worth * share);
    for (_, seen) in seen.iter().enumerate().filter(|(j, _)| *j != but) {
        for (sum, share) in sum.iter_mut().zip(seen.iter().flatten()) {
            *sum += share;
        }
    }
    normalise(&mut sum);
    sum
}

/// The shapes worth drawing at a step, by direction.
fn keep(
    assumed: &Assumed,
    fit: &Fit,
    cells: &[f64],
    n: usize,
    step: usize,
    lowered_mm: f64,
    diameters: &[Diameter],
) -> Step {
    let mut kept = Vec::new();
    let mut cumulative = Vec::new();
    let mut directions = [0.0; DIRECTIONS];
    let mut of_direction: [Range<usize>; DIRECTIONS] = std::array::from_fn(|_| 0..0);
    for direction in 0..DIRECTIONS {
        let from = kept.len();
        let mut sum = 0.0;
        for (cell, &weight) in fit.cells.iter().zip(cells).filter(|(cell, _)| cell.shape.direction == direction) {
            if weight < NEVER {
                continue;
            }
            sum += weight;
            cumulative.push(sum);
            let shape = cell.shape;
            let mean_mm = cell.mean_mm[n];
            let left: f64 = diameters
                .iter()
                .map(|d| {
                    let x = weights(d.zeta, across(d.angle_deg, shape.direction, shape.sharpness));
                    let fitted: f64 = x.iter().zip(mean_mm).map(|(x, y)| x * y).sum();
                    (lowered_mm - d.size_mm - fitted).powi(2)
                })
                .sum();
            let usual = assumed.hidden_radius_mm
                + assumed.hidden_share * shape::OVAL[shape.oval] * shape::level_mm(shape.level);
            let more = (diameters.len() as f64 - 5.0).max(0.0);
            kept.push(Kept {
                sharpness: shape.sharpness,
                direction,
                mean_mm,
                root_mm: cell.root_mm,
                gains: cell.gains.clone(),
                hidden_mm: ((3.0 * usual * usual + left) / (3.0 + more)).sqrt(),
                ragged_mm2: shape::ragged_mm2(shape::OVAL[shape.oval], shape::level_mm(shape.level)),
            });
        }
        directions[direction] = sum;
        of_direction[direction] = from..kept.len();
    }
    Step { step, directions, of_direction, kept, cumulative }
}

fn normalise(weights: &mut [f64]) {
    let sum: f64 = weights.iter().sum();
    let even = 1.0 / weights.len().max(1) as f64;
    for weight in weights {
        *weight = if sum > 0.0 { *weight / sum } else { even };
    }
}
