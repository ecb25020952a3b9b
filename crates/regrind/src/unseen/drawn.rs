//! One crank drawn from what the readings leave open.

use std::sync::LazyLock;

use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal, StudentT};
use rand_pcg::Pcg64;

use super::Model;
use super::fit::{Unknowns, spread};
use super::set::{Drawable, Kept, SetFit};
use super::shape::{self, DIRECTIONS, FIRST_HARMONIC, OVAL, OVAL_SPREAD, SHARPNESSES, STEP_DEG, TURN};
use crate::draws::triangular;

/// The stream of what both sets share.
const SHARED: usize = 2;
/// How often the unknowns of one journal are drawn again where they are impossible.
const AGAIN: usize = 6;
/// A journal is never larger than the largest it was ground to by more than this: 0.0001 in.
const LARGER_MM: f64 = 0.000_1 * 25.4;
/// A level drawn for a journal that nobody measured lies between these.
const LEAST_LEVEL_MM: f64 = 0.000_01 * 25.4;
const MOST_LEVEL_MM: f64 = 0.1 * 25.4;
/// Shares of the worse side that are weighed where a run-out or a trace says something of it.
const SHARES: usize = 11;
/// What a run-out leaves open of the first harmonic, on the radius: 0.0001 in, and a share of the oval part.
const HARMONIC_MM: f64 = 0.000_1 * 25.4;
const HARMONIC_SHARE: f64 = 0.06;
/// Spread of an offset that a run-out would have to explain, as a share of the oval part.
const OFFSET_SHARE: f64 = 0.12;

/// Sine and cosine of the directions of a whole turn: asked for millions of times.
static WAYS: LazyLock<[(f64, f64); TURN]> =
    LazyLock::new(|| std::array::from_fn(|n| (STEP_DEG * n as f64).to_radians().sin_cos()));

/// One journal of a draw. Lengths on the diameter unless they are called radius.
#[derive(Clone, Debug, Default)]
pub(super) struct DrawnJournal {
    /// Step of the ladder that it was last ground to.
    pub(super) step: usize,
    /// E, S, b, q, c.
    pub(super) unknowns_mm: Unknowns,
    pub(super) sharpness: usize,
    /// The worse side: a direction of a whole turn.
    pub(super) side: usize,
    /// What share of the oval part the worse side has lost.
    pub(super) share: f64,
    /// Form that two points do not show, on the radius.
    pub(super) hidden_mm: f64,
    /// Variance of a diameter about the shape.
    pub(super) ragged_mm2: f64,
    /// Where its centre lies off the axis, in its own frame, on the radius.
    pub(super) offset_mm: (f64, f64),
    /// Where the wheel's centre really is, in its own frame, on the radius.
    pub(super) set_up_mm: (f64, f64),
}

impl DrawnJournal {
    /// Even and oval part of the loss at a place along the journal.
    pub(super) fn parts_mm(&self, zeta: f64) -> (f64, f64) {
        let [even, oval, taper, barrel, oval_taper] = self.unknowns_mm;
        (even + taper * zeta + barrel * (zeta * zeta - 0.5), (oval + oval_taper * zeta).max(0.0))
    }

    /// First harmonic that its wear takes from the radius: towards the worse side.
    fn worn_harmonic_mm(&self) -> (f64, f64) {
        let (sin, cos) = WAYS[self.side % TURN];
        let size = (2.0 * self.share - 1.0) * self.unknowns_mm[1] * FIRST_HARMONIC[self.sharpness];
        (size * cos, size * sin)
    }

    /// What a dial shows on it in one turn about the present axis.
    pub(super) fn run_out_mm(&self) -> f64 {
        let worn = self.worn_harmonic_mm();
        2.0 * (self.offset_mm.0 - worn.0).hypot(self.offset_mm.1 - worn.1)
    }

    /// Direction of the high spot of that.
    pub(super) fn high_deg(&self) -> f64 {
        let worn = self.worn_harmonic_mm();
        (self.offset_mm.1 - worn.1).atan2(self.offset_mm.0 - worn.0).to_degrees().rem_euclid(360.0)
    }
}

/// One crank.
#[derive(Clone, Debug, Default)]
pub(super) struct Drawn {
    pub(super) journals: Vec<DrawnJournal>,
    /// What each instrument reads too small, as all its readings share it, at the size of each set: scale and temperature.
    pub(super) errors_mm: Vec<[f64; 2]>,
    /// Depth of each damage.
    pub(super) depths_mm: Vec<f64>,
    /// Normal numbers for the mean size of each trace, and for each traced point.
    pub(super) trace_normals: Vec<f64>,
    pub(super) point_normals: Vec<f64>,
}

/// Draws crank after crank.
pub(super) struct Sampler<'a> {
    model: &'a Model<'a>,
    /// Random numbers of mains, pins and what both share, so that a reading of one set leaves the draws of the other alone.
    streams: [Pcg64; 3],
    stream: usize,
    pub(super) drawn: Drawn,
}

impl<'a> Sampler<'a> {
    pub(super) fn new(model: &'a Model<'a>, block: usize) -> Sampler<'a> {
        // Another factor than the draws of what was measured have, so that no block of one repeats a block of the other.
        let seed = model.policy.seed.wrapping_mul(0xD134_2543_DE82_EF95).wrapping_add(block as u64);
        let stream = |n: u64| Pcg64::seed_from_u64(seed.wrapping_add(n.wrapping_mul(0xA076_1D64_78BD_642F)));
        Sampler {
            model,
            streams: [stream(0), stream(1), stream(SHARED as u64)],
            stream: SHARED,
            drawn: Drawn {
                journals: vec![DrawnJournal::default(); model.journals.len()],
                errors_mm: vec![[0.0; 2]; model.findings.instruments.len()],
                depths_mm: vec![0.0; model.findings.damages.len()],
                trace_normals: vec![0.0; model.traces],
                point_normals: vec![0.0; model.traced_points],
            },
        }
    }

    pub(super) fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.streams[self.stream])
    }

    pub(super) fn uniform(&mut self) -> f64 {
        self.streams[self.stream].random()
    }

    /// A pair of normal numbers with one spread.
    fn pair(&mut self, spread_mm: f64) -> (f64, f64) {
        (self.normal() * spread_mm, self.normal() * spread_mm)
    }

    /// Draws everything anew.
    pub(super) fn next(&mut self) {
        let model = self.model;
        self.stream = SHARED;
        for (n, instrument) in model.findings.instruments.iter().enumerate() {
            let scale_mm = instrument.error_limit_mm * (2.0 * self.uniform() - 1.0);
            let warm = model.temperature_shares[n] * self.normal();
            self.drawn.errors_mm[n] = model.size_of_set_mm.map(|size_mm| scale_mm + warm * size_mm);
        }
        for (n, depth) in model.depths.iter().enumerate() {
            let u = self.uniform();
            self.drawn.depths_mm[n] = triangular(*depth, u);
        }
        for n in 0..model.traces {
            self.drawn.trace_normals[n] = self.normal();
        }
        for n in 0..model.traced_points {
            self.drawn.point_normals[n] = self.normal();
        }
        let wheel = self.pair(model.policy.set_up_error_mm);
        for (s, set) in model.sets.iter().enumerate() {
            let Some(set) = set else { continue };
            self.stream = s;
            self.set(s, set, wheel);
        }
    }

    /// One set: the step it was last ground to and the direction it has in common, then its journals.
    fn set(&mut self, s: usize, set: &SetFit, wheel: (f64, f64)) {
        let model = self.model;
        let of_set = pick(&set.steps, self.uniform());
        let common = pick(&set.common, self.uniform());
        let journals = model.of_set(s);
        for j in journals.clone() {
            let number = j - journals.start;
            self.shape(s, j, &set.journals[number], of_set, &set.own[common]);
        }
        if s == 1 {
            for j in journals {
                self.drawn.journals[j].set_up_mm = self.pair(model.policy.set_up_error_mm);
                // The wheel goes round its present centre, or so far off it as it is told.
                self.drawn.journals[j].offset_mm = (0.0, 0.0);
                self.side(j);
            }
            return;
        }
        self.mains(wheel);
    }

    /// Where the centres of the mains lie.
    fn mains(&mut self, wheel: (f64, f64)) {
        let model = self.model;
        let assumed = model.assumed;
        for j in model.of_set(0) {
            self.drawn.journals[j].set_up_mm = wheel;
            if model.journals[j].run_out_mm.is_some() {
                self.side(j);
            }
        }
        // The bow: by the run-out that tells most of it, else drawn.
        let (bow, off_mm) = match model.bow_from {
            Some(j) => {
                let lever = model.journals[j].lever;
                let (x, y) = self.drawn.journals[j].offset_mm;
                ((x / lever, y / lever), assumed.off_known_bow_radius_mm)
            }
            None => {
                let size_mm = assumed.bow_radius_mm * (assumed.bow_spread * self.normal()).exp();
                let (sin, cos) = (std::f64::consts::TAU * self.uniform()).sin_cos();
                ((size_mm * cos, size_mm * sin), assumed.off_bow_radius_mm)
            }
        };
        for j in model.of_set(0) {
            let at = &model.journals[j];
            if at.run_out_mm.is_some() {
                continue;
            }
            self.drawn.journals[j].offset_mm = if at.lever > 0.0 {
                let off = self.pair(off_mm);
                (bow.0 * at.lever + off.0, bow.1 * at.lever + off.1)
            } else {
                (0.0, 0.0)
            };
            self.side(j);
        }
    }

    /// Step, shape and unknowns of one journal.
    fn shape(&mut self, s: usize, j: usize, drawable: &Drawable, of_set: usize, own: &[f64; DIRECTIONS]) {
        let mains = s == 0;
        match drawable {
            Drawable::Fitted { instruments, steps, given_set } => {
                let step = &steps[pick(&given_set[of_set], self.uniform())];
                let direction = if mains {
                    let weights: [f64; DIRECTIONS] = std::array::from_fn(|n| step.directions[n] * own[n]);
                    pick(&weights, self.uniform())
                } else {
                    pick(&step.directions, self.uniform())
                };
                let range = step.of_direction[direction].clone();
                let (Some(kept), Some(cumulative)) = (step.kept.get(range.clone()), step.cumulative.get(range)) else {
                    return;
                };
                let wanted = self.uniform() * cumulative.last().copied().unwrap_or(0.0);
                let at = cumulative.partition_point(|sum| *sum < wanted).min(kept.len().saturating_sub(1));
                let Some(kept) = kept.get(at) else { return };
                let unknowns_mm = self.unknowns(s, kept, instruments);
                let hidden_mm = kept.hidden_mm * self.normal().abs();
                let drawn = &mut self.drawn.journals[j];
                drawn.step = step.step;
                drawn.unknowns_mm = unknowns_mm;
                drawn.sharpness = kept.sharpness;
                drawn.side = kept.direction;
                drawn.hidden_mm = hidden_mm;
                drawn.ragged_mm2 = kept.ragged_mm2;
            }
            Drawable::Guessed { level, ovals } => {
                let assumed = self.model.assumed;
                let t = StudentT::new(level.freedom).map_or(0.0, |t| t.sample(&mut self.streams[self.stream]));
                let level_mm = (level.middle + level.scale * t).exp().clamp(LEAST_LEVEL_MM, MOST_LEVEL_MM);
                let n = pick(ovals, self.uniform());
                let oval = (OVAL[n] + OVAL_SPREAD[n] * self.normal()).clamp(0.0, 1.0);
                let direction = pick(own, self.uniform());
                let sharpness = usize::from(self.uniform() < assumed.narrow_share).min(SHARPNESSES - 1);
                let before = shape::before(assumed, level_mm, oval, 0.0, self.model.tolerance_mm[s] / 4.0);
                let mut unknowns_mm: Unknowns = before.mean_mm;
                unknowns_mm[0] += self.model.tolerance_mm[s] / 4.0 * self.normal();
                for (unknown, variance) in unknowns_mm.iter_mut().zip(before.variance_mm2).skip(2) {
                    *unknown = variance.sqrt() * self.normal();
                }
                if self.uniform() < assumed.wrecked_share {
                    unknowns_mm[0] -= assumed.wrecked_mm * (1.0 - self.uniform()).ln();
                }
                let hidden_mm =
                    (assumed.hidden_radius_mm + assumed.hidden_share * oval * level_mm) * self.normal().abs();
                let drawn = &mut self.drawn.journals[j];
                drawn.step = of_set;
                drawn.unknowns_mm = unknowns_mm;
                drawn.sharpness = sharpness;
                drawn.side = direction;
                drawn.hidden_mm = hidden_mm;
            }
        }
    }

    /// The unknowns of a shape, again where they are impossible.
    fn unknowns(&mut self, s: usize, kept: &Kept, instruments: &[usize]) -> Unknowns {
        let mut mean_mm = kept.mean_mm;
        for (gain, &instrument) in kept.gains.iter().zip(instruments) {
            // A journal is smaller than it was read where the instrument reads large.
            let error_mm = self.drawn.errors_mm[instrument][s];
            mean_mm.iter_mut().zip(gain).for_each(|(mean, gain)| *mean -= gain * error_mm);
        }
        let least_even_mm = -self.model.tolerance_mm[s] / 2.0 - LARGER_MM;
        let mut unknowns_mm = mean_mm;
        for _ in 0..AGAIN {
            let normal: Unknowns = std::array::from_fn(|_| self.normal());
            unknowns_mm = spread(&kept.root_mm, &normal);
            unknowns_mm.iter_mut().zip(mean_mm).for_each(|(value, mean)| *value += mean);
            if unknowns_mm[0] >= least_even_mm && unknowns_mm[1] >= 0.0 {
                return unknowns_mm;
            }
        }
        unknowns_mm[1] = unknowns_mm[1].max(0.0);
        unknowns_mm
    }

    /// Which side is worse and by how much, weighed by what a run-out or a trace says of it; with a run-out the centre too.
    fn side(&mut self, j: usize) {
        let model = self.model;
        let at = &model.journals[j];
        let assumed = model.assumed;
        if at.run_out_mm.is_none() && at.rings.traced_harmonic_mm.is_none() {
            let u = self.uniform();
            let drawn = &mut self.drawn.journals[j];
            let even = assumed.one_sided_from + (assumed.one_sided_to - assumed.one_sided_from) * u;
            drawn.share = at.share.unwrap_or(even);
            let other = self.streams[self.stream].random::<bool>();
            self.drawn.journals[j].side += if other { DIRECTIONS } else { 0 };
            return;
        }
        let drawn = &self.drawn.journals[j];
        let oval_mm = drawn.unknowns_mm[1];
        let loose_mm = HARMONIC_MM + HARMONIC_SHARE * oval_mm;
        let bow_mm = 2.0 * assumed.bow_radius_mm * at.lever;
        let variance =
            bow_mm.powi(2) + assumed.off_bow_radius_mm.powi(2) + HARMONIC_MM.powi(2) + (OFFSET_SHARE * oval_mm).powi(2);
        let mut weights = [0.0; 2 * SHARES];
        let mut tried = drawn.clone();
        let direction = drawn.side;
        let share_of = |n: usize| {
            let even = assumed.one_sided_from
                + (assumed.one_sided_to - assumed.one_sided_from) * n as f64 / (SHARES - 1) as f64;
            at.share.unwrap_or(even)
        };
        for (n, weight) in weights.iter_mut().enumerate() {
            tried.share = share_of(n / 2);
            tried.side = direction + if n % 2 == 1 { DIRECTIONS } else { 0 };
            let worn = tried.worn_harmonic_mm();
            // A trace shows the wear about the journal's own centre, a run-out wear and centre together.
            let (seen, variance) = match (at.rings.traced_harmonic_mm, at.run_out_mm) {
                (Some(traced), _) => (traced, loose_mm * loose_mm),
                (None, high) => (high.unwrap_or_default(), variance),
            };
            *weight = -((seen.0 + worn.0).powi(2) + (seen.1 + worn.1).powi(2)) / (2.0 * variance);
        }
        let largest = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        weights.iter_mut().for_each(|weight| *weight = (*weight - largest).exp());
        let chosen = pick(&weights, self.uniform());
        let noise = self.pair(loose_mm);
        let drawn = &mut self.drawn.journals[j];
        drawn.share = share_of(chosen / 2);
        drawn.side = direction + if chosen % 2 == 1 { DIRECTIONS } else { 0 };
        if let Some(high) = at.run_out_mm {
            let worn = if at.rings.traced_harmonic_mm.is_some() { (0.0, 0.0) } else { drawn.worn_harmonic_mm() };
            drawn.offset_mm = (high.0 + worn.0 + noise.0, high.1 + worn.1 + noise.1);
        }
    }
}

/// The index that a uniform number falls on, by weights that need not sum to one.
pub(super) fn pick(weights: &[f64], uniform: f64) -> usize {
    let sum: f64 = weights.iter().sum();
    let mut left = uniform * sum;
    for (n, &weight) in weights.iter().enumerate() {
        if left < weight {
            return n;
        }
        left -= weight;
    }
    // Rounding alone leads here: the last that has any weight.
    weights.iter().rposition(|&weight| weight > 0.0).unwrap_or(0)
}
