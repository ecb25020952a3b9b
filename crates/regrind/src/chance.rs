//! The chance that each undersize, and each pair of undersizes, cleans up.

use crank::{FormCheck, SetName};
use programme::Unsolved;
use rayon::prelude::*;

use crate::axis::Questions;
use crate::draws::{BLOCK, Draw, Sampler};
use crate::surface::Surface;

/// Two lengths that differ by no more than this are equal: a millionth of a micron. It keeps a spare stock that is
/// exactly the stock wanted from failing by a rounding error.
pub(crate) const SAME_LENGTH_MM: f64 = 1e-9;

/// Draws remembered one by one, to see afterwards what the answer hangs on; more draws than this are only counted.
const REMEMBERED: usize = 5_000;

/// Own errors of the readings, and depths of damage, are remembered for no more than this many of each.
const REMEMBERED_SIZES: usize = 200;

/// How often something happened in how many draws.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Chance {
    /// Draws in which it happened.
    pub hits: usize,
    /// All draws.
    pub draws: usize,
}

impl Chance {
    /// The share of the draws, 0 to 1.
    pub fn share(self) -> f64 {
        self.hits as f64 / (self.draws.max(1)) as f64
    }

    /// Standard error of that share from the number of draws alone.
    ///
    /// At none or all of the draws the plain formula would claim certainty, so one draw either way is added first.
    pub fn sampling_error(self) -> f64 {
        let share = if self.hits == 0 || self.hits == self.draws {
            (self.hits as f64 + 1.0) / (self.draws as f64 + 2.0)
        } else {
            self.share()
        };
        (share * (1.0 - share) / self.draws.max(1) as f64).sqrt()
    }
}

/// What the draws are asked.
#[derive(Debug)]
pub(crate) struct Asked<'a> {
    pub(crate) surface: &'a Surface,
    pub(crate) questions: &'a Questions,
    /// Radius wanted at each step of the ladder, standard first: mains, pins.
    pub(crate) wanted_mm: [Vec<f64>; 2],
    pub(crate) stock_mm: f64,
    pub(crate) set_up_error_mm: f64,
    pub(crate) polish_stock_mm: f64,
    /// For each journal of the surface: its measured sizes and the limits they are held to.
    pub(crate) forms: Vec<Option<JournalForm>>,
    pub(crate) draws: usize,
    pub(crate) seed: u64,
}

/// A size in the draws: a two-point reading, or a diameter across a trace.
#[derive(Clone, Debug)]
pub(crate) struct DrawnSize {
    pub(crate) size: usize,
    /// Departures that add to it, each with its weight.
    pub(crate) departures: Vec<(usize, f64)>,
}

/// One journal's sizes and the check of its limits.
#[derive(Clone, Debug)]
pub(crate) struct JournalForm {
    pub(crate) sizes: Vec<DrawnSize>,
    pub(crate) check: FormCheck,
}

/// What the draws answered.
#[derive(Clone, Debug)]
pub(crate) struct Counts {
    pub(crate) draws: usize,
    /// For each journal: draws in which it keeps its limits.
    pub(crate) within: Vec<usize>,
    /// For each set: draws in which it can be left alone, and in which a polish is enough.
    pub(crate) leave_alone: [usize; 2],
    pub(crate) polish_only: [usize; 2],
    /// For each set and step of the ladder: draws in which it cleans up.
    pub(crate) sets: [Vec<usize>; 2],
    /// For each step of the mains and each of the pins: draws in which both clean up.
    pub(crate) pairs: Vec<Vec<usize>>,
    /// Remembered draws: for each set the spare stock at standard size.
    pub(crate) rooms_mm: [Vec<f64>; 2],
    /// Remembered draws: what was drawn for each journal's share, each depth, each instrument's scale.
    pub(crate) drawn: Drawn,
}

/// Remembered values, one list for each unknown.
#[derive(Clone, Debug, Default)]
pub(crate) struct Drawn {
    pub(crate) shares: Vec<Vec<f64>>,
    pub(crate) depths_mm: Vec<Vec<f64>>,
    pub(crate) scale_errors_mm: Vec<Vec<f64>>,
    /// For each size its own error, without what its instrument's readings share; empty where there are too many.
    pub(crate) own_errors_mm: Vec<Vec<f64>>,
}

impl Asked<'_> {
    /// Makes the draws; `progress` is told after each block how many were made.
    pub(crate) fn answer(&self, progress: &(dyn Fn(usize) + Sync)) -> Result<Counts, Unsolved> {
        // Neighbouring blocks are added up in their order, whichever thread made them.
        (0..self.draws.div_ceil(BLOCK))
            .into_par_iter()
            .map(|block| {
                let counts = self.block(block);
                progress(BLOCK.min(self.draws - block * BLOCK));
                counts
            })
            .try_reduce(|| self.nothing(), |first, then| Ok(first.and(then)))
    }

    fn nothing(&self) -> Counts {
        let journals = self.surface.journals.len();
        Counts {
            draws: 0,
            within: vec![0; journals],
            leave_alone: [0; 2],
            polish_only: [0; 2],
            sets: [vec![0; self.wanted_mm[0].len()], vec![0; self.wanted_mm[1].len()]],
            pairs: vec![vec![0; self.wanted_mm[1].len()]; self.wanted_mm[0].len()],
            rooms_mm: [Vec::new(), Vec::new()],
            drawn: Drawn {
                shares: vec![Vec::new(); journals],
                depths_mm: if self.surface.depths.len() <= REMEMBERED_SIZES {
                    vec![Vec::new(); self.surface.depths.len()]
                } else {
                    Vec::new()
                },
                scale_errors_mm: vec![Vec::new(); self.surface.error_limits_mm.len()],
                own_errors_mm: if self.surface.sizes.len() <= REMEMBERED_SIZES {
                    vec![Vec::new(); self.surface.sizes.len()]
                } else {
                    Vec::new()
                },
            },
        }
    }

    fn block(&self, block: usize) -> Result<Counts, Unsolved> {
        let mut counts = self.nothing();
        let mut sampler = Sampler::new(self.surface, self.set_up_error_mm, self.seed, block);
        let mut stand = self.questions.start();
        let mut sizes_mm = Vec::new();
        let first = block * BLOCK;
        let remember = first < REMEMBERED;
        for _ in first..(first + BLOCK).min(self.draws) {
            sampler.next();
            self.count_clean_up(&sampler.draw, &mut stand, &mut counts, remember)?;
            self.count_condition(&sampler.draw, &mut sizes_mm, &mut counts);
            if remember {
                counts.drawn.remember(self.surface, &sampler.draw);
            }
            counts.draws += 1;
        }
        Ok(counts)
    }

    fn count_clean_up(
        &self,
        draw: &Draw,
        stand: &mut crate::axis::Stand,
        counts: &mut Counts,
        remember: bool,
    ) -> Result<(), Unsolved> {
        let standard = [self.wanted_mm[0][0], self.wanted_mm[1][0]];
        let mut first_clean = [usize::MAX; 2];
        for (s, set) in SetName::BOTH.into_iter().enumerate() {
            if !self.questions.is_measured(set) {
                continue;
            }
            let room = self.questions.spare_mm(Some(set), &draw.radii_mm, standard, stand)?;
            if remember {
                counts.rooms_mm[s].push(room);
            }
            for (step, wanted) in self.wanted_mm[s].iter().enumerate() {
                if room + standard[s] - wanted >= self.stock_mm - SAME_LENGTH_MM {
                    counts.sets[s][step] += 1;
                    first_clean[s] = first_clean[s].min(step);
                }
            }
        }
        let [mut main, first_pin] = first_clean;
        if main == usize::MAX || first_pin == usize::MAX {
            return Ok(());
        }
        // A deeper undersize of either set is never harder, so the pairs that clean up lie above a staircase. On a held
        // axis, and nearly always on a free one, its only corner is where both sets clean up alone.
        let (mains, pins) = (self.wanted_mm[0].len(), self.wanted_mm[1].len());
        let mut clean = |main: usize, pin: usize| {
            let wanted = [self.wanted_mm[0][main], self.wanted_mm[1][pin]];
            self.questions.pair_cleans_up(&draw.radii_mm, wanted, self.stock_mm - SAME_LENGTH_MM, stand)
        };
        if clean(main, first_pin)? {
            for row in &mut counts.pairs[main..] {
                row[first_pin..].iter_mut().for_each(|hits| *hits += 1);
            }
            return Ok(());
        }
        let mut pin = pins;
        while main < mains && pin > first_pin {
            if clean(main, pin - 1)? {
                // This column cleans up for this main and every deeper one.
                for row in &mut counts.pairs[main..] {
                    row[pin - 1] += 1;
                }
                pin -= 1;
            } else {
                main += 1;
            }
        }
        Ok(())
    }

    fn count_condition(&self, draw: &Draw, sizes_mm: &mut Vec<f64>, counts: &mut Counts) {
        let mut keep = [true; 2];
        let mut polished = [true; 2];
        for (j, form) in self.forms.iter().enumerate() {
            let s = usize::from(self.surface.journals[j].id.set == SetName::Pin);
            let Some(form) = form else {
                // What was measured and cannot be judged is no reason to leave a set alone.
                let measured = !self.surface.journals[j].points.is_empty();
                keep[s] &= !measured;
                polished[s] &= !measured;
                continue;
            };
            sizes_mm.clear();
            sizes_mm.extend(form.sizes.iter().map(|drawn| {
                let across: f64 = drawn.departures.iter().map(|&(d, w)| w * draw.state.departures_mm[d]).sum();
                draw.state.sizes_mm[drawn.size] + across
            }));
            let within = form.check.keeps(sizes_mm);
            counts.within[j] += usize::from(within);
            keep[s] &= within;
            if polished[s] {
                sizes_mm.iter_mut().for_each(|size| *size -= self.polish_stock_mm);
                polished[s] = form.check.keeps(sizes_mm);
            }
        }
        for (d, depth) in self.surface.depths.iter().enumerate() {
            let s = usize::from(self.surface.journals[depth.journal].id.set == SetName::Pin);
            let deep = draw.state.depths_mm[d];
            keep[s] &= deep <= SAME_LENGTH_MM;
            polished[s] &= deep <= self.polish_stock_mm / 2.0 + SAME_LENGTH_MM;
        }
        for s in 0..2 {
            counts.leave_alone[s] += usize::from(keep[s]);
            counts.polish_only[s] += usize::from(polished[s]);
        }
    }
}

impl Drawn {
    fn remember(&mut self, surface: &Surface, draw: &Draw) {
        for (list, &value) in self.shares.iter_mut().zip(&draw.state.shares) {
            list.push(value);
        }
        for (list, &value) in self.depths_mm.iter_mut().zip(&draw.state.depths_mm) {
            list.push(value);
        }
        for (list, &value) in self.scale_errors_mm.iter_mut().zip(&draw.scale_errors_mm) {
            list.push(value);
        }
        for ((list, size), value) in self.own_errors_mm.iter_mut().zip(&surface.sizes).zip(&draw.state.sizes_mm) {
            list.push(value - size.size_mm - draw.common_error_mm(size));
        }
    }
}

impl Counts {
    /// Both, the draws of `other` after these.
    fn and(mut self, other: Counts) -> Counts {
        fn sum(total: &mut [usize], more: &[usize]) {
            total.iter_mut().zip(more).for_each(|(t, m)| *t += m);
        }
        fn join(total: &mut [Vec<f64>], more: Vec<Vec<f64>>) {
            total.iter_mut().zip(more).for_each(|(t, m)| t.extend(m));
        }
        self.draws += other.draws;
        sum(&mut self.within, &other.within);
        sum(&mut self.leave_alone, &other.leave_alone);
        sum(&mut self.polish_only, &other.polish_only);
        for s in 0..2 {
            sum(&mut self.sets[s], &other.sets[s]);
        }
        for (row, more) in self.pairs.iter_mut().zip(&other.pairs) {
            sum(row, more);
        }
        join(&mut self.rooms_mm, other.rooms_mm.into());
        join(&mut self.drawn.shares, other.drawn.shares);
        join(&mut self.drawn.depths_mm, other.drawn.depths_mm);
        join(&mut self.drawn.scale_errors_mm, other.drawn.scale_errors_mm);
        join(&mut self.drawn.own_errors_mm, other.drawn.own_errors_mm);
        self
    }
}
