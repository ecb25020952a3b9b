//! What a reading should be, given the others of its journal and how the other journals of its set are shaped.
//!
//! A journal's readings are a level of its own plus four things that wear leaves: ovality in any direction, taper,
//! barrel with ovality that changes along the journal, and local form. Each is taken as normal with a mean of zero, so
//! that a reading left out is predicted by the others, with a spread. How large the four are is not stated anywhere:
//! it is learnt from the set. Every combination of a grid of ratios and scales is weighed by how well it explains
//! the *other* journals, each of which may be worn several times more or less than its siblings (heavy tails), and by
//! how well it explains the rest of the journal's own readings. What all journals of a set share at one place (the
//! ridge that a grooved shell leaves, pins oval the same way) is taken off first, as the median of the siblings shows it.
//!
//! So a tight prediction is earned: by a set whose readings agree. On a crank worn every which way the same deviation
//! means nothing.
//!
//! # Source
//! Leave-one-out prediction of a Gaussian process: Rasmussen and Williams, *Gaussian Processes for Machine Learning*,
//! 2006, section 5.4.2. Scales of wear: common practice, no source; they are priors that half a dozen readings outweigh.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::{Reading, Spot, median};

/// Spreads of ovality, taper and twist in units of the local form; every combination is tried.
const OVALITY: [f64; 4] = [0.5, 2.0, 8.0, 24.0];
const TAPER: [f64; 3] = [0.4, 2.0, 8.0];
const TWIST: [f64; 3] = [0.3, 1.2, 4.0];
/// The same place read again scatters by this share of the local form.
const AGAIN: f64 = 0.4;
/// Steps of the scale of local form: from 0.6 micrometres up by this factor.
const LEAST_MM: f64 = 0.000_6;
const FACTOR: f64 = 1.6;
const SCALES: usize = 13;
/// A journal's own scale may be this many steps below its set's, and above.
const BELOW: usize = 2;
const ABOVE: usize = 7;
const OWN_SCALES: usize = SCALES + BELOW + ABOVE;
/// Before any reading: local form about 0.008 mm (0.0003 in), times or divided by three.
const USUAL_FORM_MM: f64 = 0.008;
const USUAL_FORM_LOG_SD: f64 = 1.1;
/// One reading may scatter by several times the journal's local form: factor and how often.
const TAILS: [(f64, f64); 4] = [(1.0, 0.93), (2.0, 0.055), (4.0, 0.012), (8.0, 0.003)];
/// Readings of one journal worked together; more are worked in several parts.
const MOST_TOGETHER: usize = 24;

/// Where a reading stands: plane folded to half a turn, and station; in hundredths.
pub(super) type Place = (i64, i64);

/// The readings of a journal, or of a part of one where there are very many.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) group: usize,
    pub(super) readings: Vec<Reading>,
    pub(super) places: Vec<Place>,
    along: Vec<f64>,
    across_rad: Vec<f64>,
    /// Least local form that can be seen: scatter and rounding of the instrument.
    floor_mm: f64,
}

/// One set of ratios on one part: what the prediction needs.
struct Fitted {
    /// The inverse covariance with the level taken out, in units of the local form.
    precision: Vec<f64>,
    /// Logarithm of the constant of the density.
    constant: f64,
}

/// A set of journals with everything weighed.
#[derive(Clone)]
pub(super) struct Shapes {
    pub(super) parts: Vec<Part>,
    /// For each part the readings less what its siblings have in common.
    own_mm: Vec<Vec<f64>>,
    /// For each part the common pattern that was taken off.
    common_mm: Vec<Vec<f64>>,
    fitted: Vec<Rc<Vec<Fitted>>>,
    /// For each part, each set of ratios and each of its own scales: the logarithm of how well they explain it.
    own: Vec<Vec<[f64; OWN_SCALES]>>,
    /// The same of how well they explain all other parts.
    others: Vec<Vec<[f64; OWN_SCALES]>>,
}

/// What one reading should be: a mixture of normal densities.
#[derive(Clone, Debug)]
pub(super) struct Predicted {
    /// Weight, mean, variance of the mean, variance of the reading's own local form.
    parts: Vec<(f64, f64, f64, f64)>,
    /// The mean of the mixture.
    pub(super) mm: f64,
    /// Half the width that holds about two in three.
    pub(super) within_mm: f64,
}

impl Predicted {
    /// Density per millimetre.
    pub(super) fn density(&self, mm: f64) -> f64 {
        self.parts
            .iter()
            .map(|(weight, mean, of_mean, own)| {
                let one = |(factor, share): &(f64, f64)| share * normal(mm - mean, of_mean + factor * factor * own);
                weight * TAILS.iter().map(one).sum::<f64>()
            })
            .sum()
    }
}

/// Divides the readings of each journal into parts that are worked together, in the order of the journals.
pub(super) fn parts<'a>(spots: &[Spot], journals: impl Iterator<Item = (usize, &'a [Reading])>) -> Vec<Part> {
    let place = |r: &Reading| spots.get(r.spot).filter(|s| s.at_mm.is_finite() && s.plane_deg.is_finite());
    let mut parts = Vec::new();
    let mut furthest = 0.0f64;
    for (group, readings) in journals {
        let known: Vec<&Reading> = readings.iter().filter(|r| place(r).is_some()).collect();
        let every = known.len().div_ceil(MOST_TOGETHER).max(1);
        for first in 0..every.min(known.len()) {
            let mut part = Part {
                group,
                readings: Vec::new(),
                places: Vec::new(),
                along: Vec::new(),
                across_rad: Vec::new(),
                floor_mm: 0.0,
            };
            for r in known.iter().skip(first).step_by(every) {
                let Some(spot) = place(r) else { continue };
                part.readings.push((*r).clone());
                part.places.push(place_of(spot));
                part.along.push(spot.at_mm);
                part.across_rad.push(spot.plane_deg.rem_euclid(180.0).to_radians());
                part.floor_mm = part.floor_mm.max(scatter_mm(spot));
                furthest = furthest.max(spot.at_mm.abs());
            }
            parts.push(part);
        }
    }
    for along in parts.iter_mut().flat_map(|part| &mut part.along) {
        *along /= furthest.max(1e-3);
    }
    parts
}

/// Scatter of one reading that has nothing to do with the journal: the hand's and the rounding.
pub(super) fn scatter_mm(spot: &Spot) -> f64 {
    let scatter = (spot.repeatability_mm.powi(2) + spot.graduation_mm.powi(2) / 12.0).sqrt();
    if scatter.is_finite() { scatter.min(0.1) } else { 0.0 }
}

fn place_of(spot: &Spot) -> Place {
    ((spot.plane_deg.rem_euclid(180.0) * 100.0).round() as i64 % 18_000, (spot.at_mm * 100.0).round() as i64)
}

impl Part {
    /// Takes a reading out.
    pub(super) fn remove(&mut self, index: usize) {
        if index < self.readings.len() {
            self.readings.remove(index);
            self.places.remove(index);
            self.along.remove(index);
            self.across_rad.remove(index);
        }
    }

    /// Takes all readings out.
    pub(super) fn clear(&mut self) {
        self.readings.clear();
        self.places.clear();
        self.along.clear();
        self.across_rad.clear();
    }
}

impl Shapes {
    /// Weighs everything about the readings of one set.
    pub(super) fn new(parts: Vec<Part>) -> Shapes {
        let common_mm: Vec<Vec<f64>> = parts.iter().map(|part| common(&parts, part)).collect();
        let own_mm: Vec<Vec<f64>> = parts
            .iter()
            .zip(&common_mm)
            .map(|(part, common)| part.readings.iter().zip(common).map(|(r, c)| r.mm - c).collect())
            .collect();
        // Journals read at the same places have the same covariance.
        let mut known: Vec<(&Part, Rc<Vec<Fitted>>)> = Vec::new();
        let mut fitted = Vec::new();
        for part in &parts {
            let same = known.iter().find(|(other, _)| other.along == part.along && other.places == part.places);
            let of = same.map(|(_, of)| Rc::clone(of));
            let of = of.unwrap_or_else(|| {
                let of = Rc::new(ratios().map(|ratios| fit(part, ratios)).collect());
                known.push((part, Rc::clone(&of)));
                of
            });
            fitted.push(of);
        }
        let own: Vec<Vec<[f64; OWN_SCALES]>> = parts
            .iter()
            .zip(&own_mm)
            .zip(&fitted)
            .map(|((part, mm), fitted)| fitted.iter().map(|f| by_own_scale(part, f, mm)).collect())
            .collect();
        let each: Vec<Vec<f64>> = own.iter().map(|own| own.iter().flat_map(by_set_scale).collect()).collect();
        let before = scale_prior();
        let mut all: Vec<f64> = ratios().flat_map(|_| before).collect();
        for explains in &each {
            all.iter_mut().zip(explains).for_each(|(sum, one)| *sum += one);
        }
        // Several parts of one journal are not independent of each other: none speaks for another.
        let others = parts
            .iter()
            .map(|part| {
                let mut rest = all.clone();
                for (_, own) in parts.iter().zip(&each).filter(|(p, _)| p.group == part.group) {
                    rest.iter_mut().zip(own).for_each(|(sum, one)| *sum -= one);
                }
                rest.chunks(SCALES).map(from_set).collect()
            })
            .collect();
        drop(known);
        Shapes { parts, own_mm, common_mm, fitted, own, others }
    }

    /// What reading `index` of a part should be, going by everything but itself.
    pub(super) fn predict(&self, part: usize, index: usize) -> Option<Predicted> {
        let (of, mm, fitted) = (self.parts.get(part)?, self.own_mm.get(part)?, self.fitted.get(part)?);
        let n = of.readings.len();
        let common = *self.common_mm.get(part)?.get(index)?;
        let others = self.others.get(part)?;
        if n < 2 {
            return None;
        }
        let variances: [f64; OWN_SCALES] = std::array::from_fn(|m| own_scale_mm(of, m).powi(2));
        let logs = variances.map(f64::ln);
        let mut weighed = Vec::with_capacity(fitted.len() * OWN_SCALES);
        for ((f, others), scales) in fitted.iter().zip(others).zip(self.own.get(part)?) {
            let row = f.precision.get(index * n..(index + 1) * n)?;
            let own = *row.get(index)?;
            let pull: f64 = row.iter().zip(mm).map(|(p, x)| p * x).sum();
            let off = pull / own;
            let mean = mm.get(index)? - off + common;
            for (((whole, set), variance), log_variance) in scales.iter().zip(others).zip(variances).zip(logs) {
                // Density of all readings over the density of this one given the rest: how well the rest is explained.
                let rest = whole + 0.5 * (off * off * own / variance + log_variance - own.ln());
                let local = variance * (1.0 + AGAIN * AGAIN);
                weighed.push((rest + set, mean, (variance / own - local).max(0.0), local));
            }
        }
        let best = weighed.iter().map(|w| w.0).fold(f64::NEG_INFINITY, f64::max);
        if !best.is_finite() {
            return None;
        }
        /// Combinations less likely than the best by e to this are left aside.
        const NEGLIGIBLE: f64 = 9.0;
        let mut kept: Vec<(f64, f64, f64, f64)> = weighed
            .into_iter()
            .filter(|w| w.0 > best - NEGLIGIBLE)
            .map(|w| ((w.0 - best).exp(), w.1, w.2, w.3))
            .collect();
        let sum: f64 = kept.iter().map(|w| w.0).sum();
        kept.iter_mut().for_each(|w| w.0 /= sum);
        let mean = kept.iter().map(|w| w.0 * w.1).sum::<f64>();
        let mut spreads: Vec<(f64, f64)> =
            kept.iter().map(|w| ((w.2 + w.3 + (w.1 - mean).powi(2)).sqrt(), w.0)).collect();
        spreads.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut so_far = 0.0;
        let within_mm = spreads.iter().find(|s| {
            so_far += s.1;
            so_far >= 0.5
        });
        let within_mm = within_mm.map_or(0.0, |s| s.0);
        Some(Predicted { parts: kept, mm: mean, within_mm })
    }

    /// The precision of a part's readings, level taken out, in the likeliest of all combinations.
    pub(super) fn likeliest_precision(&self, part: usize) -> Option<Vec<f64>> {
        let of = self.parts.get(part)?;
        let (fitted, own) = (self.fitted.get(part)?, self.own.get(part)?);
        let mut best: Option<(f64, &Fitted, usize)> = None;
        for ((f, others), own) in fitted.iter().zip(self.others.get(part)?).zip(own) {
            for (m, (own, set)) in own.iter().zip(others).enumerate() {
                if best.is_none_or(|b| own + set > b.0) {
                    best = Some((own + set, f, m));
                }
            }
        }
        let (_, f, m) = best?;
        let variance = own_scale_mm(of, m).powi(2);
        Some(f.precision.iter().map(|p| p / variance).collect())
    }

    /// Logarithm of how well the set explains a part whose readings stand in another order, over the order as read:
    /// `order` gives for each place which reading it takes.
    pub(super) fn gain(&self, part: usize, order: &[usize]) -> Option<f64> {
        let (of, mm) = (self.parts.get(part)?, self.own_mm.get(part)?);
        let (fitted, others, common) = (self.fitted.get(part)?, self.others.get(part)?, self.common_mm.get(part)?);
        let moved: Option<Vec<f64>> =
            order.iter().zip(common).map(|(&from, c)| Some(of.readings.get(from)?.mm - c)).collect();
        let moved = moved.filter(|m| m.len() == mm.len())?;
        let explains = |own: &[[f64; OWN_SCALES]]| {
            let both = own.iter().zip(others).flat_map(|(own, set)| own.iter().zip(set).map(|(own, set)| own + set));
            log_sum(both.collect::<Vec<f64>>().as_slice())
        };
        let moved: Vec<[f64; OWN_SCALES]> = fitted.iter().map(|f| by_own_scale(of, f, &moved)).collect();
        Some(explains(&moved) - explains(self.own.get(part)?))
    }
}

/// What the siblings of a part have in common at each of its places, off the middle of each; nothing with fewer than three.
fn common(parts: &[Part], of: &Part) -> Vec<f64> {
    const FEWEST: usize = 3;
    let mut seen: BTreeMap<Place, Vec<f64>> = BTreeMap::new();
    for part in parts.iter().filter(|p| p.group != of.group) {
        let middle = median(part.readings.iter().map(|r| r.mm));
        for (place, r) in part.places.iter().zip(&part.readings) {
            seen.entry(*place).or_default().push(r.mm - middle);
        }
    }
    let shared: BTreeMap<Place, f64> = seen
        .into_iter()
        .filter(|(_, off)| off.len() >= FEWEST)
        .map(|(place, off)| {
            let n = off.len() as f64;
            (place, median(off) * n / (n + 1.0))
        })
        .collect();
    of.places.iter().map(|place| shared.get(place).copied().unwrap_or(0.0)).collect()
}

fn ratios() -> impl Iterator<Item = [f64; 3]> {
    OVALITY.into_iter().flat_map(|o| TAPER.into_iter().flat_map(move |t| TWIST.into_iter().map(move |w| [o, t, w])))
}

/// The scale of local form at a step of a part's own grid.
fn own_scale_mm(part: &Part, step: usize) -> f64 {
    (LEAST_MM * FACTOR.powi(step as i32 - BELOW as i32)).hypot(part.floor_mm)
}

fn scale_prior() -> [f64; SCALES] {
    std::array::from_fn(|k| {
        let z = ((LEAST_MM * FACTOR.powi(k as i32)) / USUAL_FORM_MM).ln() / USUAL_FORM_LOG_SD;
        -0.5 * z * z
    })
}

/// How often a journal's own scale is so many steps from its set's: a Student's t with five degrees of freedom.
fn own_share() -> [f64; BELOW + ABOVE + 1] {
    const LOG_SPREAD: f64 = 0.5;
    let share: [f64; BELOW + ABOVE + 1] = std::array::from_fn(|i| {
        let z = (i as f64 - BELOW as f64) * FACTOR.ln() / LOG_SPREAD;
        (1.0 + z * z / 5.0).powi(-3)
    });
    let sum: f64 = share.iter().sum();
    share.map(|s| s / sum)
}

/// How well one set of ratios explains a part, at each of its own scales.
fn by_own_scale(part: &Part, fitted: &Fitted, mm: &[f64]) -> [f64; OWN_SCALES] {
    let n = mm.len();
    let square: f64 = fitted
        .precision
        .chunks(n.max(1))
        .zip(mm)
        .map(|(row, x)| x * row.iter().zip(mm).map(|(p, y)| p * y).sum::<f64>())
        .sum();
    std::array::from_fn(|step| {
        let scale = own_scale_mm(part, step);
        fitted.constant - (n as f64 - 1.0) * scale.ln() - 0.5 * square.max(0.0) / (scale * scale)
    })
}

/// The same at each scale of the set, the journal's own being drawn about it.
fn by_set_scale(own: &[f64; OWN_SCALES]) -> [f64; SCALES] {
    let share = own_share();
    let best = own.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights = own.map(|log| (log - best).exp());
    std::array::from_fn(|k| {
        let sum: f64 = weights.iter().skip(k).zip(share).map(|(w, s)| w * s).sum();
        best + sum.max(f64::MIN_POSITIVE).ln()
    })
}

/// What the siblings say of each of a journal's own scales.
fn from_set(others: &[f64]) -> [f64; OWN_SCALES] {
    let share = own_share();
    let best = others.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut sums = [0.0; OWN_SCALES];
    for (k, log) in others.iter().enumerate() {
        let weight = (log - best).exp();
        sums.iter_mut().skip(k).zip(share).for_each(|(sum, s)| *sum += weight * s);
    }
    sums.map(|sum: f64| best + sum.max(f64::MIN_POSITIVE).ln())
}

/// Works the covariance of a part out for one set of ratios, inverts it, and takes the level out.
fn fit(part: &Part, [ovality, taper, twist]: [f64; 3]) -> Fitted {
    let n = part.readings.len();
    let mut covariance = vec![0.0; n * n];
    let at = |i: usize| (part.along.get(i).copied().unwrap_or(0.0), part.across_rad.get(i).copied().unwrap_or(0.0));
    for (slot, value) in covariance.iter_mut().enumerate() {
        let (i, j) = (slot / n, slot % n);
        let ((z, t), (other_z, other_t)) = (at(i), at(j));
        let round = (2.0 * (t - other_t)).cos();
        let barrel = (z * z - 0.5) * (other_z * other_z - 0.5);
        *value = ovality * ovality * round
            + taper * taper * z * other_z
            + twist * twist * (z * other_z * round + barrel)
            + f64::from(part.places.get(i) == part.places.get(j))
            + if i == j { AGAIN * AGAIN } else { 0.0 };
    }
    let (mut precision, half_log_det) = inverse(covariance, n);
    // With a level about which nothing is known: P = K⁻¹ − K⁻¹ 1 1ᵀ K⁻¹ / 1ᵀ K⁻¹ 1.
    let rows: Vec<f64> = precision.chunks(n.max(1)).map(|row| row.iter().sum()).collect();
    let total: f64 = rows.iter().sum();
    for (slot, value) in precision.iter_mut().enumerate() {
        let one = |i: usize| rows.get(i).copied().unwrap_or(0.0);
        *value -= one(slot / n) * one(slot % n) / total;
    }
    Fitted { precision, constant: -half_log_det - 0.5 * total.ln() }
}

/// Inverse of a positive definite matrix by Cholesky, and half the logarithm of its determinant.
#[expect(clippy::indexing_slicing, reason = "a dense kernel over one square matrix of its own making")]
fn inverse(mut a: Vec<f64>, n: usize) -> (Vec<f64>, f64) {
    let mut half_log_det = 0.0;
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| a[i * n + k] * a[j * n + k]).sum();
            let left = a[i * n + j] - sum;
            a[i * n + j] = if i == j { left.max(1e-12).sqrt() } else { left / a[j * n + j] };
        }
        half_log_det += a[i * n + i].ln();
    }
    // The inverse of the lower triangle, then its transpose times itself.
    let mut lower = vec![0.0; n * n];
    for j in 0..n {
        lower[j * n + j] = 1.0 / a[j * n + j];
        for i in j + 1..n {
            let sum: f64 = (j..i).map(|k| a[i * n + k] * lower[k * n + j]).sum();
            lower[i * n + j] = -sum / a[i * n + i];
        }
    }
    let mut inverse = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = (i..n).map(|k| lower[k * n + i] * lower[k * n + j]).sum();
            inverse[i * n + j] = sum;
            inverse[j * n + i] = sum;
        }
    }
    (inverse, half_log_det)
}

fn log_sum(logs: &[f64]) -> f64 {
    let best = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    best + logs.iter().map(|l| (l - best).exp()).sum::<f64>().ln()
}

fn log_normal(d: f64, variance: f64) -> f64 {
    -0.5 * (d * d / variance + variance.ln()) - 0.918_938_533_204_672_7
}

fn normal(d: f64, variance: f64) -> f64 {
    log_normal(d, variance).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two readings of one journal, at these places along and across it.
    fn two(along: [f64; 2], across_deg: [f64; 2]) -> Part {
        let reading = |spot: usize| Reading { group: 0, spot, repeat: 0, mm: 60.0, turn_mm: 0.5, doubt_mm: 0.0 };
        Part {
            group: 0,
            readings: vec![reading(0), reading(1)],
            places: vec![(0, 0), (1, 1)],
            along: along.to_vec(),
            across_rad: across_deg.map(f64::to_radians).to_vec(),
            floor_mm: 0.0,
        }
    }

    /// With a level about which nothing is known two readings tell their difference alone, whose variance is that of either less
    /// twice what they have in common. Each has 1.16 of its own: its place's 1 and 0.4² of reading it again.
    #[test]
    fn two_readings_are_weighed_by_the_variance_of_their_difference() {
        // Ovality of one, square to each other: in common cos 180 = -1; 2 (1 + 1.16) + 2 = 6.32. In line nothing is left but
        // their own.
        let square = fit(&two([0.0, 0.0], [0.0, 90.0]), [1.0, 0.0, 0.0]);
        let in_line = fit(&two([0.0, 0.0], [0.0, 0.0]), [1.0, 0.0, 0.0]);
        // Taper of one, from end to end: -1 and 1 are -1 together, 6.32 again; from an end to the middle 1 + 2.32.
        let ends = fit(&two([-1.0, 1.0], [0.0, 0.0]), [0.0, 1.0, 0.0]);
        let end_and_middle = fit(&two([1.0, 0.0], [0.0, 0.0]), [0.0, 1.0, 0.0]);
        // Twice the taper is four times its variance.
        let steep = fit(&two([1.0, 0.0], [0.0, 0.0]), [0.0, 2.0, 0.0]);
        for (fitted, variance) in [(square, 6.32), (in_line, 2.32), (ends, 6.32), (end_and_middle, 3.32), (steep, 6.32)]
        {
            for (found, wanted) in fitted.precision.iter().zip([1.0, -1.0, -1.0, 1.0]) {
                assert!((found * variance - wanted).abs() < 1e-9, "{found} for {variance}");
            }
            // A normal difference: half the logarithm of its variance (√2π, which all have, left aside).
            assert!((fitted.constant + 0.5 * f64::ln(variance)).abs() < 1e-9, "{} for {variance}", fitted.constant);
        }
    }

    /// Readings 0.0228 apart, seven steps of 1.6 from 0.6 microns (0.0161) times √2: a difference of two readings that scatter
    /// by 0.0161 each. That scale explains them best; one too large by √2, or one for two readings in place of one difference,
    /// would name its neighbour.
    #[test]
    fn a_difference_is_explained_best_by_its_own_scale() {
        let scale = 0.000_6 * 1.6_f64.powi(7);
        let fitted = Fitted { precision: vec![0.5, -0.5, -0.5, 0.5], constant: 0.0 };
        let half = scale / std::f64::consts::SQRT_2;
        let logs = by_own_scale(&two([0.0, 0.0], [0.0, 90.0]), &fitted, &[-half, half]);
        let best = (0..OWN_SCALES).max_by(|a, b| logs[*a].total_cmp(&logs[*b]));
        assert_eq!(best, Some(7 + BELOW));
    }

    /// By hand: 4 and 3 with 2 in common have the determinant 8 and the inverse 3, 4 and -2 over 8.
    #[test]
    fn a_small_matrix_is_inverted() {
        let (found, half_log_det) = inverse(vec![4.0, 2.0, 2.0, 3.0], 2);
        for (found, wanted) in found.iter().zip([0.375, -0.25, -0.25, 0.5]) {
            assert!((found - wanted).abs() < 1e-12, "{found}, not {wanted}");
        }
        assert!((half_log_det - 0.5 * 8.0_f64.ln()).abs() < 1e-12);
    }

    /// 0.001 by hand and 0.002 divided, whose square over 12 is a third of a square micron.
    #[test]
    fn a_reading_scatters_by_hand_and_rounding() {
        let spot = Spot {
            group: 0,
            at_mm: 0.0,
            plane_deg: 0.0,
            sizes_mm: vec![60.0],
            typed: Vec::new(),
            turn_mm: 0.5,
            frame_mm: 25.0,
            uncertainty_mm: 0.003,
            repeatability_mm: 0.001,
            graduation_mm: 0.002,
            with: String::new(),
        };
        assert!((scatter_mm(&spot) - 0.001 * (4.0_f64 / 3.0).sqrt()).abs() < 1e-12);
    }
}
