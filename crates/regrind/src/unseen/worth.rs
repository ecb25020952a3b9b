//! What a further measurement would show on each drawn crank, and what knowing it is worth.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;

use crank::{JournalId, SetName, planes_apart_deg};

use super::Model;
use super::counts::REMEMBERED;
use super::drawn::{Drawn, Sampler};
use super::set::Drawable;
use super::shape::{TURN, across, one_side};
use crate::draws::BLOCK;

/// What one more reading of anything may be off by: 0.0001 in.
const READ_WITHIN_MM: f64 = 0.000_1 * 25.4;
/// How well somebody tells by how much one side is worn more: 0.0002 in.
const SIDE_WITHIN_MM: f64 = 0.000_2 * 25.4;
/// Outcomes are cut into so many bins of equal count.
const BINS: usize = 40;
/// Two places closer than this along a journal, or directions across it, are one.
const SAME_ZETA: f64 = 0.2;
const SAME_PLANE_DEG: f64 = 15.0;
/// A journal that has least metal in fewer draws than this share is not worth a thought.
const EVER_WORST: f64 = 0.02;

/// Between the two planes that everybody reads.
pub(crate) const DIAGONALS_DEG: [f64; 2] = [45.0, 135.0];

/// Something that could be measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Measurement {
    /// A diameter: direction across, and where along the journal (one is the rear station).
    Size { journal: usize, plane_deg: f64, zeta: f64 },
    /// Two diameters of its middle, between the two planes that everybody reads.
    Diagonals { journal: usize },
    /// Its surface all round, at its middle.
    Sweep { journal: usize },
    /// A main's run-out.
    RunOut { journal: usize },
    /// On which side a journal is worn, and by how much more.
    Side { journal: usize },
    /// How deep a damage is.
    Depth { damage: usize },
    /// What an instrument is off by.
    Instrument { instrument: usize },
}

/// What the measurements would show, draw by draw.
pub(crate) struct Shown {
    /// For each measurement, its result in each draw.
    pub(crate) results: Vec<Vec<f64>>,
    /// Whether every journal of the set keeps its limits, draw by draw.
    pub(crate) keeps: Vec<bool>,
}

impl Model<'_> {
    /// The journals of a set that have least metal often enough to decide it; all of them where nobody counted. `governs` says
    /// how often each has.
    fn could_decide(&self, s: usize, governs: &[usize], draws: usize) -> impl Iterator<Item = usize> {
        let counted = self.of_set(s).any(|j| governs.get(j).is_some_and(|&times| times > 0));
        let often = move |j: usize| governs.get(j).copied().unwrap_or(0) as f64 >= EVER_WORST * draws as f64;
        self.of_set(s).filter(move |&j| !counted || often(j))
    }

    /// What could be measured on a set: what nobody measured on journals that could decide, run-outs, sides, depths and
    /// instruments. `governs` says how often each journal has least metal.
    pub(crate) fn measurements(&self, set: SetName, governs: &[usize], draws: usize) -> Vec<Measurement> {
        let s = usize::from(set == SetName::Pin);
        let Some(of_set) = &self.sets[s] else { return Vec::new() };
        let first = self.of_set(s).start;
        let mut found = Vec::new();
        for j in self.could_decide(s, governs, draws) {
            let at = &self.journals[j];
            if !at.rings.rests_on_shape() {
                continue;
            }
            for zeta in [0.0, -1.0, 1.0] {
                let is_measured = |plane_deg: f64| {
                    at.measured.iter().any(|&(angle_deg, there)| {
                        (there - zeta).abs() <= SAME_ZETA && planes_apart_deg(angle_deg, plane_deg) <= SAME_PLANE_DEG
                    })
                };
                // Between the two planes everybody reads lies most of what two planes do not see.
                let both = is_measured(0.0) && is_measured(90.0);
                let planes: &[f64] = if both { &DIAGONALS_DEG } else { &[0.0, 90.0] };
                for &plane_deg in planes.iter().filter(|&&plane_deg| !is_measured(plane_deg)) {
                    found.push(Measurement::Size { journal: j, plane_deg, zeta });
                }
            }
            let fitted = matches!(of_set.journals[j - first], Drawable::Fitted { .. });
            if s == 0 && at.run_out_mm.is_none() {
                found.push(Measurement::RunOut { journal: j });
            }
            if s == 1 && fitted && at.share.is_none() && at.rings.traced_harmonic_mm.is_none() {
                found.push(Measurement::Side { journal: j });
            }
        }
        for (damage, seen) in self.findings.damages.iter().enumerate() {
            if seen.journal.set == set && seen.depth.highest_mm > seen.depth.lowest_mm {
                found.push(Measurement::Depth { damage });
            }
        }
        for (instrument, known) in self.findings.instruments.iter().enumerate() {
            let used = self.findings.readings.iter().any(|r| r.with == instrument && r.journal.set == set);
            if used && known.error_limit_mm > 0.0 {
                found.push(Measurement::Instrument { instrument });
            }
        }
        found
    }

    /// What takes longer and is thought of where nothing short helps: two diameters at once, and a sweep, of journals that
    /// could decide.
    pub(crate) fn longer_measurements(&self, set: SetName, governs: &[usize], draws: usize) -> Vec<Measurement> {
        let s = usize::from(set == SetName::Pin);
        let Some(of_set) = &self.sets[s] else { return Vec::new() };
        let first = self.of_set(s).start;
        let mut found = Vec::new();
        for j in self.could_decide(s, governs, draws) {
            let at = &self.journals[j];
            let fitted = matches!(of_set.journals[j - first], Drawable::Fitted { .. });
            if !fitted || at.rings.traced_harmonic_mm.is_some() {
                continue;
            }
            let is_read = |plane_deg: f64| {
                at.measured.iter().any(|&(angle_deg, _)| planes_apart_deg(angle_deg, plane_deg) <= SAME_PLANE_DEG)
            };
            if is_read(0.0) && is_read(90.0) && !is_read(DIAGONALS_DEG[0]) && !is_read(DIAGONALS_DEG[1]) {
                found.push(Measurement::Diagonals { journal: j });
            }
            found.push(Measurement::Sweep { journal: j });
        }
        found
    }

    /// The journal that a measurement is about.
    pub(crate) fn journal_of(&self, measurement: Measurement) -> Option<JournalId> {
        match measurement {
            Measurement::Size { journal, .. }
            | Measurement::Diagonals { journal }
            | Measurement::Sweep { journal }
            | Measurement::RunOut { journal }
            | Measurement::Side { journal } => self.journals.get(journal).map(|at| at.id),
            Measurement::Depth { damage } => self.findings.damages.get(damage).map(|d| d.journal),
            Measurement::Instrument { .. } => None,
        }
    }

    /// Makes the first draws once more and tells what each measurement would show on them.
    pub(crate) fn show(&self, set: SetName, measurements: &[Measurement], draws: usize) -> Shown {
        let s = usize::from(set == SetName::Pin);
        let draws = draws.min(REMEMBERED);
        let mut shown =
            Shown { results: vec![Vec::with_capacity(draws); measurements.len()], keeps: Vec::with_capacity(draws) };
        for block in 0..draws.div_ceil(BLOCK) {
            let mut sampler = Sampler::new(self, block);
            // Of its own, so that the draws stay as they were.
            let seed = self.policy.seed.wrapping_mul(0x9FB2_1C65_1E98_DF25).wrapping_add(block as u64);
            let mut noise = Pcg64::seed_from_u64(seed);
            for _ in block * BLOCK..((block + 1) * BLOCK).min(draws) {
                sampler.next();
                let drawn = &sampler.drawn;
                for (results, &measurement) in shown.results.iter_mut().zip(measurements) {
                    let normal: f64 = StandardNormal.sample(&mut noise);
                    results.push(self.result(drawn, measurement, normal));
                }
                let undamaged = self
                    .findings
                    .damages
                    .iter()
                    .zip(&drawn.depths_mm)
                    .all(|(damage, &deep)| damage.journal.set != set || deep <= 0.0);
                shown.keeps.push(undamaged && self.of_set(s).all(|j| self.standing(drawn, j, 0.0).within));
            }
        }
        shown
    }

    /// What one measurement shows on one crank.
    fn result(&self, drawn: &Drawn, measurement: Measurement, normal: f64) -> f64 {
        match measurement {
            Measurement::Size { journal, plane_deg, zeta } => {
                self.diameter_mm(drawn, journal, plane_deg, zeta) + READ_WITHIN_MM * normal
            }
            // By how much they differ tells where the wear lies between the planes that were read.
            Measurement::Diagonals { journal } => {
                let [a, b] = DIAGONALS_DEG.map(|plane_deg| self.diameter_mm(drawn, journal, plane_deg, 0.0));
                (a - b).abs() + READ_WITHIN_MM * normal
            }
            // All of it, but above all what is gone where most is.
            Measurement::Sweep { journal } => {
                let of = &drawn.journals[journal];
                let (even, oval) = of.parts_mm(0.0);
                even / 2.0 + oval * of.share.max(1.0 - of.share) + READ_WITHIN_MM * normal
            }
            Measurement::RunOut { journal } => drawn.journals[journal].run_out_mm() + READ_WITHIN_MM * normal,
            Measurement::Side { journal } => {
                let of = &drawn.journals[journal];
                (2.0 * of.share - 1.0) * of.unknowns_mm[1].max(0.0) + SIDE_WITHIN_MM * normal
            }
            Measurement::Depth { damage } => drawn.depths_mm[damage],
            Measurement::Instrument { instrument } => drawn.errors_mm[instrument][0],
        }
    }

    /// A diameter of a drawn journal.
    fn diameter_mm(&self, drawn: &Drawn, journal: usize, plane_deg: f64, zeta: f64) -> f64 {
        let at = &self.journals[journal];
        let of = &drawn.journals[journal];
        let (even, oval) = of.parts_mm(zeta);
        let middle_mm = at.middle_mm - self.ladder_mm(at.set)[of.step];
        middle_mm - even - oval * across(plane_deg, of.side, of.sharpness)
    }

    /// One of the first draws.
    fn draw(&self, draw: usize) -> Drawn {
        let mut sampler = Sampler::new(self, draw / BLOCK);
        for _ in 0..=draw % BLOCK {
            sampler.next();
        }
        sampler.drawn
    }

    /// Where the high spot of a main's run-out lies on one of the first draws.
    pub(crate) fn high_deg(&self, journal: usize, draw: usize) -> f64 {
        self.draw(draw).journals[journal].high_deg()
    }

    /// The two diameters of the middle of a journal on one of the first draws.
    pub(crate) fn diagonals_mm(&self, journal: usize, draw: usize) -> [f64; 2] {
        let drawn = self.draw(draw);
        DIAGONALS_DEG.map(|plane_deg| self.diameter_mm(&drawn, journal, plane_deg, 0.0))
    }

    /// What a sweep round a journal shows at a place along it on one of the first draws: the mean diameter, and departures on the
    /// radius, every 15 degrees from its own throw.
    pub(crate) fn sweep_mm(&self, journal: usize, zeta: f64, draw: usize) -> (f64, [f64; TURN]) {
        let drawn = self.draw(draw);
        let at = &self.journals[journal];
        let of = &drawn.journals[journal];
        let (even, oval) = of.parts_mm(zeta);
        let side = one_side(of.sharpness);
        let gone: [f64; TURN] = std::array::from_fn(|n| {
            let from = (n + 2 * TURN - of.side) % TURN;
            oval * (of.share * side[from] + (1.0 - of.share) * side[(from + TURN / 2) % TURN])
        });
        let mean = gone.iter().sum::<f64>() / TURN as f64;
        let middle_mm = at.middle_mm - self.ladder_mm(at.set)[of.step];
        (middle_mm - even - 2.0 * mean, gone.map(|gone| mean - gone))
    }
}

/// What a measurement is worth, and what it could show.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Worth {
    /// By how much the expected loss falls when it is known.
    pub(crate) value: f64,
    /// Two draws, as examples of results that lead to different options: of the commoner and of the rarer.
    pub(crate) examples: Option<[usize; 2]>,
}

/// What knowing a result is worth, for losses of each option on each draw.
///
/// The results are cut into bins of equal count. In each the best option is chosen on the even draws and its loss taken on
/// the odd ones, and the other way round, so that luck earns nothing.
pub(crate) fn worth(results: &[f64], losses: &[Vec<f64>]) -> Worth {
    let n = results.len().min(losses.iter().map(Vec::len).min().unwrap_or(0));
    let nothing = Worth { value: 0.0, examples: None };
    if n < 2 * BINS || losses.len() < 2 {
        return nothing;
    }
    // Sorted with their keys beside them: looking each key up by its draw costs several times the sort.
    let mut keyed: Vec<(f64, usize)> = (0..n).map(|i| (results[i], i)).filter(|(key, _)| key.is_finite()).collect();
    keyed.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    if keyed.first().zip(keyed.last()).is_none_or(|(a, b)| b.0 <= a.0) {
        return nothing;
    }
    let order: Vec<usize> = keyed.into_iter().map(|(_, i)| i).collect();
    let mean = |loss: &[f64]| loss[..n].iter().sum::<f64>() / n as f64;
    let before = losses.iter().map(|loss| mean(loss)).fold(f64::INFINITY, f64::min);
    let mut after = 0.0;
    let mut chosen_in: Vec<(usize, &[usize])> = Vec::new();
    for b in 0..BINS {
        let members = &order[b * order.len() / BINS..(b + 1) * order.len() / BINS];
        // Loss of each option on the even and on the odd draws of the bin.
        let sums: Vec<[f64; 2]> = losses
            .iter()
            .map(|loss| {
                members.iter().fold([0.0; 2], |mut sums, &i| {
                    sums[i % 2] += loss[i];
                    sums
                })
            })
            .collect();
        let best = |of: &dyn Fn(&[f64; 2]) -> f64| {
            (0..sums.len()).min_by(|&a, &b| of(&sums[a]).total_cmp(&of(&sums[b]))).unwrap_or(0)
        };
        for parity in [0, 1] {
            after += sums[best(&|sums| sums[1 - parity])][parity];
        }
        chosen_in.push((best(&|sums| sums[0] + sums[1]), members));
    }
    let value = before - after / order.len().max(1) as f64;
    let count = |option: usize| chosen_in.iter().filter(|(o, _)| *o == option).count();
    let commoner = (0..losses.len()).max_by_key(|&option| count(option)).unwrap_or(0);
    let middle_of = |wanted: &dyn Fn(usize) -> bool| -> Option<usize> {
        let members: Vec<usize> =
            chosen_in.iter().filter(|(o, _)| wanted(*o)).flat_map(|(_, members)| members.iter().copied()).collect();
        members.get(members.len() / 2).copied()
    };
    let rarer = (0..losses.len()).filter(|&o| o != commoner).max_by_key(|&option| count(option));
    let examples = match (middle_of(&|o| o == commoner), rarer.and_then(|r| middle_of(&|o| o == r))) {
        (Some(a), Some(b)) => Some([a, b]),
        _ => None,
    };
    Worth { value, examples }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: two options, each wrong in half of the cases at a loss of one. A result that tells which is which is worth
    /// a half; one that tells nothing is worth nothing, up to what few draws let through.
    #[test]
    fn a_result_is_worth_what_it_saves() {
        let n = 4_000;
        let truth: Vec<f64> = (0..n).map(|i| f64::from(u8::from(i / 2 % 2 == 0))).collect();
        let losses = vec![truth.clone(), truth.iter().map(|t| 1.0 - t).collect::<Vec<f64>>()];
        let telling: Vec<f64> = truth.iter().enumerate().map(|(i, t)| t + i as f64 * 1e-6).collect();
        let told = worth(&telling, &losses);
        assert!((told.value - 0.5).abs() < 1e-9, "{}", told.value);
        let [a, b] = told.examples.unwrap();
        assert_ne!(truth[a], truth[b]);
        let blind: Vec<f64> = (0..n).map(|i| ((i * 7919) % n) as f64).collect();
        assert!(worth(&blind, &losses).value.abs() < 0.05, "{}", worth(&blind, &losses).value);
        assert_eq!(worth(&vec![1.0; n], &losses).value, 0.0);
    }
}
