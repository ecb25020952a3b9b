//! The chance that each undersize, and each pair of undersizes, cleans up as far as the crank was measured: what nobody
//! measured is taken to be as good as what was.

use crank::{Band, FormCheck, SetName};
use rayon::prelude::*;

use crate::afterwards::{Afterwards, Later};
use crate::axis::{Questions, Stand};
use crate::best_axis::BestTally;
use crate::draws::{BLOCK, Draw, Sampler};
use crate::outgrown::Grown;
use crate::surface::Surface;
use crate::tally::{Ladders, add};

/// Two lengths that differ by no more than this are equal: a millionth of a micron. It keeps a spare stock that is
/// exactly the stock wanted from failing by a rounding error.
pub(crate) const SAME_LENGTH_MM: f64 = 1e-9;

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
    pub(crate) ladders: &'a Ladders,
    pub(crate) set_up_error_mm: f64,
    pub(crate) polish_stock_mm: f64,
    /// What a treatment still to come makes of journals that are not ground.
    pub(crate) afterwards: Option<&'a Afterwards>,
    /// Whether it is counted what cleans up.
    pub(crate) clean_up: bool,
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
    pub(crate) clean: BestTally,
    /// For each journal: draws in which it keeps its limits.
    pub(crate) within: Vec<usize>,
    /// For each journal: draws in which it is worn past them: too small, out of round, tapered.
    pub(crate) worn: Vec<usize>,
    /// For each set: draws in which it can be left alone, and in which a polish is enough.
    pub(crate) leave_alone: [usize; 2],
    pub(crate) polish_only: [usize; 2],
    /// For each set: draws in which no journal is worn past its limits, though one may be larger than new.
    pub(crate) unworn: [usize; 2],
    /// For each set: draws in which it keeps its limits once it has grown in treatment.
    pub(crate) grown: Grown,
}

impl Asked<'_> {
    /// Makes the draws.
    pub(crate) fn answer(&self) -> Counts {
        // Neighbouring blocks are added up in their order, whichever thread made them.
        (0..self.draws.div_ceil(BLOCK))
            .into_par_iter()
            .map(|block| self.block(block))
            .reduce(|| self.nothing(), Counts::and)
    }

    fn nothing(&self) -> Counts {
        let journals = self.surface.journals.len();
        Counts {
            clean: BestTally::nothing(self.ladders),
            within: vec![0; journals],
            worn: vec![0; journals],
            leave_alone: [0; 2],
            polish_only: [0; 2],
            unworn: [0; 2],
            grown: Grown::default(),
        }
    }

    fn block(&self, block: usize) -> Counts {
        let mut counts = self.nothing();
        let mut sampler = Sampler::new(self.surface, self.set_up_error_mm, self.seed, block);
        let mut stand = self.questions.start();
        let mut sizes_mm = Vec::new();
        let mut later = self.afterwards.map(|of| Later::new(of, self.seed, block));
        let first = block * BLOCK;
        for _ in first..(first + BLOCK).min(self.draws) {
            sampler.next();
            if self.clean_up {
                self.count_clean_up(&sampler.draw, &mut stand, &mut counts.clean);
            }
            self.count_condition(&sampler.draw, &mut sizes_mm, &mut counts);
            if let Some(later) = &mut later {
                later.next();
                self.count_grown(&sampler.draw, later, &mut sizes_mm, &mut counts.grown);
            }
        }
        counts
    }

    fn count_clean_up(&self, draw: &Draw, stand: &mut Stand, clean: &mut BestTally) {
        let standard_mm = self.ladders.standard_mm();
        let mut rooms_mm = [None; 2];
        let mut solved = Ok(());
        for (room, set) in rooms_mm.iter_mut().zip(SetName::BOTH).filter(|(_, set)| self.questions.is_measured(*set)) {
            match self.questions.spare_mm(Some(set), &draw.radii_mm, standard_mm, stand) {
                Ok(spare) => *room = Some(spare),
                Err(unsolved) => solved = Err(unsolved),
            }
        }
        solved = solved.and_then(|()| {
            clean.count(self.ladders, rooms_mm, |main, pin| {
                let wanted = [self.ladders.wanted_mm[0][main], self.ladders.wanted_mm[1][pin]];
                let stock_mm = self.ladders.stock_mm - SAME_LENGTH_MM;
                self.questions.pair_cleans_up(&draw.radii_mm, wanted, stock_mm, stand)
            })
        });
        if solved.is_err() {
            clean.draws += 1;
            clean.lost += 1;
        }
    }

    fn count_condition(&self, draw: &Draw, sizes_mm: &mut Vec<f64>, counts: &mut Counts) {
        let mut keep = [true; 2];
        let mut polished = [true; 2];
        let mut unworn = [true; 2];
        for (j, form) in self.forms.iter().enumerate() {
            let s = usize::from(self.surface.journals[j].id.set == SetName::Pin);
            let Some(form) = form else {
                // What was measured and cannot be judged is no reason to leave a set alone.
                let measured = !self.surface.journals[j].points.is_empty();
                for flag in [&mut keep, &mut polished, &mut unworn] {
                    flag[s] &= !measured;
                }
                continue;
            };
            form.drawn(draw, sizes_mm);
            let band = form.check.size_limits();
            let down_to = |low_mm: f64| Band { low_mm, high_mm: f64::INFINITY };
            let within = form.check.keeps(sizes_mm);
            let worn = !within && !form.check.keeps_with(sizes_mm, down_to(band.low_mm));
            counts.within[j] += usize::from(within);
            counts.worn[j] += usize::from(worn);
            keep[s] &= within;
            unworn[s] &= !worn;
            if polished[s] {
                sizes_mm.iter_mut().for_each(|size| *size -= self.polish_stock_mm);
                polished[s] = form.check.keeps(sizes_mm);
            }
        }
        for (d, depth) in self.surface.depths.iter().enumerate() {
            let s = usize::from(self.surface.journals[depth.journal].id.set == SetName::Pin);
            let deep = draw.state.depths_mm[d];
            for flag in [&mut keep, &mut unworn] {
                flag[s] &= deep <= SAME_LENGTH_MM;
            }
            polished[s] &= deep <= self.polish_stock_mm / 2.0 + SAME_LENGTH_MM;
        }
        for s in 0..2 {
            counts.leave_alone[s] += usize::from(keep[s]);
            counts.polish_only[s] += usize::from(polished[s]);
            counts.unworn[s] += usize::from(unworn[s]);
        }
    }
}

impl Asked<'_> {
    /// The same once the journals have grown: as they are, and polished to size.
    fn count_grown(&self, draw: &Draw, later: &Later<'_>, sizes_mm: &mut Vec<f64>, grown: &mut Grown) {
        let mut left = [true; 2];
        let mut to_size = [true; 2];
        for (j, form) in self.forms.iter().enumerate() {
            let s = usize::from(self.surface.journals[j].id.set == SetName::Pin);
            let Some(form) = form else {
                let measured = !self.surface.journals[j].points.is_empty();
                left[s] &= !measured;
                to_size[s] &= !measured;
                continue;
            };
            let polished_mm = later.polished_mm.get(j).copied().unwrap_or(0.0);
            for (flag, lower_mm) in [(&mut left[s], later.left_mm), (&mut to_size[s], polished_mm)] {
                if *flag {
                    form.drawn(draw, sizes_mm);
                    sizes_mm.iter_mut().for_each(|size| *size -= lower_mm);
                    *flag = form.check.keeps(sizes_mm);
                }
            }
        }
        for (depth, &deep) in self.surface.depths.iter().zip(&draw.state.depths_mm) {
            let s = usize::from(self.surface.journals[depth.journal].id.set == SetName::Pin);
            left[s] &= deep <= SAME_LENGTH_MM;
            to_size[s] &= deep <= later.of.takes_out_mm(depth.journal) + SAME_LENGTH_MM;
        }
        for s in 0..2 {
            grown.left_alone[s] += usize::from(left[s]);
            grown.to_size[s] += usize::from(to_size[s]);
        }
    }
}

impl JournalForm {
    /// The sizes of one draw.
    fn drawn(&self, draw: &Draw, sizes_mm: &mut Vec<f64>) {
        sizes_mm.clear();
        sizes_mm.extend(self.sizes.iter().map(|drawn| {
            let across: f64 = drawn.departures.iter().map(|&(d, w)| w * draw.state.departures_mm[d]).sum();
            draw.state.sizes_mm[drawn.size] + across
        }));
    }
}

impl Counts {
    /// Both, the draws of `other` after these.
    fn and(mut self, other: Counts) -> Counts {
        self.clean = self.clean.and(&other.clean);
        add(&mut self.within, &other.within);
        add(&mut self.worn, &other.worn);
        add(&mut self.leave_alone, &other.leave_alone);
        add(&mut self.polish_only, &other.polish_only);
        add(&mut self.unworn, &other.unworn);
        self.grown.add(other.grown);
        self
    }
}
