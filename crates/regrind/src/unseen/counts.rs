//! What many drawn cranks come to.

use rayon::prelude::*;

use crank::{JournalId, SetName};

use super::Model;
use super::drawn::{Drawn, Sampler};
use super::rings::Ring;
use super::room::Wanted;
use super::seen::Reads;
use super::set::Drawable;
use super::shape::TURN;
use crate::afterwards::{Afterwards, Later};
use crate::axis::{Rooms, Takes, Told};
use crate::chance::SAME_LENGTH_MM;
use crate::draws::BLOCK;
use crate::outgrown::Grown;
use crate::tally::{Ladders, Tally, add};

/// Draws whose rooms are remembered one by one, to see what a further measurement would be worth.
pub(crate) const REMEMBERED: usize = 4_000;

/// Draws whose rooms are remembered at all, for the size at which a set cleans up.
const ALL_REMEMBERED: usize = 100_000;

/// What nobody looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum GapKind {
    /// Nothing of a journal.
    Journal,
    /// A pin within 30 degrees of its throw.
    InLine,
    /// Directions of a journal more than 45 degrees from every diameter.
    Directions,
    /// Part of its length.
    Stations,
    /// The run-out of the mains between the ends.
    RunOuts,
}

/// One thing that nobody looked at, and what it costs.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Gap {
    pub(crate) kind: GapKind,
    pub(crate) set: SetName,
    /// The journal, where it is about one.
    pub(crate) journal: Option<JournalId>,
    /// For each step: draws in which the set cleans up if what was not looked at is as good as what was. Empty on a free
    /// axis, where it cannot be told apart.
    pub(crate) without: Vec<usize>,
}

/// The counts.
#[derive(Clone, Debug)]
pub(crate) struct Counted {
    pub(crate) clean: Tally,
    /// For each journal: draws in which it keeps its limits.
    pub(crate) within: Vec<usize>,
    /// For each journal: draws in which it is past them by wear.
    pub(crate) worn: Vec<usize>,
    /// For each set: draws in which every journal does and nothing is damaged; and so after a polish.
    pub(crate) leave_alone: [usize; 2],
    pub(crate) polish_only: [usize; 2],
    /// The same where they were read.
    pub(crate) reads: Reads,
    /// For each set: draws in which it keeps its limits once it has grown in treatment.
    pub(crate) grown: Grown,
    /// For each journal: draws in which it has least room of its set, on a held axis.
    pub(crate) governs: Vec<usize>,
    pub(crate) gaps: Vec<Gap>,
    /// For each placement that is told and each set, draw by draw: its room at standard.
    pub(crate) rooms_mm: Vec<[Vec<f64>; 2]>,
}

/// What the draws are asked.
struct Asked<'a> {
    ladders: &'a Ladders,
    told: &'a Told,
    /// What each placement that is told takes from the points; empty on a held axis.
    takes: &'a [Takes],
    gaps: &'a [Gap],
    /// What a treatment still to come makes of journals that are not ground.
    afterwards: Option<&'a Afterwards>,
}

impl Model<'_> {
    /// Draws and counts; `progress` is told after each block how many were made.
    pub(crate) fn count(
        &self,
        ladders: &Ladders,
        told: &Told,
        afterwards: Option<&Afterwards>,
        draws: usize,
        progress: &(dyn Fn(usize) + Sync),
    ) -> Counted {
        let gaps = self.gaps(ladders);
        let takes: Vec<Takes> = self
            .questions
            .iter()
            .flat_map(|questions| {
                told.placements.iter().map(|placement| questions.takes(placement, ladders.standard_mm()))
            })
            .collect();
        let asked = Asked { ladders, told, takes: &takes, gaps: &gaps, afterwards };
        // Neighbouring blocks are added up in their order, whichever thread made them.
        (0..draws.div_ceil(BLOCK))
            .into_par_iter()
            .map(|block| {
                let counted = self.block(&asked, block, BLOCK.min(draws - block * BLOCK));
                progress(counted.clean.draws);
                counted
            })
            .reduce(|| self.nothing(&asked), Counted::and)
    }

    fn nothing(&self, asked: &Asked<'_>) -> Counted {
        Counted {
            clean: Tally::nothing(asked.ladders),
            within: vec![0; self.journals.len()],
            worn: vec![0; self.journals.len()],
            leave_alone: [0; 2],
            polish_only: [0; 2],
            reads: Reads::nothing(self.journals.len()),
            grown: Grown::default(),
            governs: vec![0; self.journals.len()],
            gaps: asked.gaps.to_vec(),
            rooms_mm: vec![[Vec::new(), Vec::new()]; asked.told.placements.len()],
        }
    }

    /// What nobody looked at, set by set.
    fn gaps(&self, ladders: &Ladders) -> Vec<Gap> {
        let mut gaps = Vec::new();
        for (s, name) in SetName::BOTH.into_iter().enumerate() {
            let Some(set) = &self.sets[s] else { continue };
            let nothing = if self.questions.is_none() { vec![0; ladders.wanted_mm[s].len()] } else { Vec::new() };
            let mut add = |kind, journal| gaps.push(Gap { kind, set: name, journal, without: nothing.clone() });
            let journals = self.of_set(s);
            for j in journals.clone() {
                let at = &self.journals[j];
                if matches!(set.journals[j - journals.start], Drawable::Guessed { .. }) {
                    add(GapKind::Journal, Some(at.id));
                    continue;
                }
                let shapes = || {
                    at.rings.rings.iter().filter_map(|ring| match ring {
                        Ring::Shape { seen, seen_here, .. } => Some((*seen, *seen_here)),
                        Ring::Trace { .. } => None,
                    })
                };
                if s == 1 && shapes().next().is_some() && !at.measured.iter().any(|&(angle_deg, _)| in_line(angle_deg))
                {
                    add(GapKind::InLine, Some(at.id));
                } else if shapes().any(|(seen, _)| seen.count_ones() < TURN as u32) {
                    add(GapKind::Directions, Some(at.id));
                }
                if shapes().any(|(_, here)| !here) {
                    add(GapKind::Stations, Some(at.id));
                }
            }
            let between = journals.clone().any(|j| self.journals[j].lever > 0.0);
            if s == 0 && between && self.bow_from.is_none() {
                add(GapKind::RunOuts, None);
            }
        }
        gaps
    }

    fn block(&self, asked: &Asked<'_>, block: usize, draws: usize) -> Counted {
        let mut counted = self.nothing(asked);
        let mut sampler = Sampler::new(self, block);
        let mut radii_mm = Vec::new();
        let mut rooms_mm: Vec<Rooms> = Vec::new();
        let remember = block * BLOCK < ALL_REMEMBERED;
        let wanted = self.wanted(asked.gaps);
        let mut later = asked.afterwards.map(|of| Later::new(of, self.policy.seed, block));
        let mut noise = self.noise(block);
        let mut sizes_mm = Vec::new();
        for _ in 0..draws {
            sampler.next();
            let drawn = &sampler.drawn;
            self.count_condition(drawn, &mut counted);
            if let Some(later) = &mut later {
                later.next();
                self.count_grown(drawn, later, &mut counted.grown);
            }
            self.count_reads(drawn, later.as_ref(), &mut noise, &mut sizes_mm, &mut counted.reads);
            rooms_mm.clear();
            if self.questions.is_none() {
                rooms_mm.push(self.count_held(asked.ladders, drawn, &wanted, &mut counted));
            } else {
                self.all_radii_mm(drawn, &mut radii_mm);
                let standard_mm = asked.ladders.standard_mm();
                rooms_mm.extend(asked.takes.iter().map(|takes| takes.rooms_mm(&radii_mm, standard_mm)));
            }
            counted.clean.count(asked.ladders, asked.told, &rooms_mm);
            if remember {
                for (lists, rooms) in counted.rooms_mm.iter_mut().zip(&rooms_mm) {
                    lists.iter_mut().zip(rooms).for_each(|(list, room)| list.push(room.unwrap_or(f64::NAN)));
                }
            }
        }
        counted
    }

    /// Radii of all points of the sets that are drawn, in the order of the questions' points.
    fn all_radii_mm(&self, drawn: &Drawn, radii_mm: &mut Vec<f64>) {
        radii_mm.clear();
        for (j, at) in self.journals.iter().enumerate() {
            if self.sets[at.set].is_some() {
                self.radii_mm(drawn, j, radii_mm);
            }
        }
    }

    /// The same of the first draws, one after the other: what placements are chosen by. Empty where the axis is held.
    pub(crate) fn first_radii_mm(&self, draws: usize) -> Vec<Vec<f64>> {
        if self.questions.is_none() {
            return Vec::new();
        }
        let block = |block: usize| {
            let mut sampler = Sampler::new(self, block);
            let draw = |_| {
                sampler.next();
                let mut radii_mm = Vec::new();
                self.all_radii_mm(&sampler.drawn, &mut radii_mm);
                radii_mm
            };
            (0..BLOCK.min(draws - block * BLOCK)).map(draw).collect::<Vec<_>>()
        };
        (0..draws.div_ceil(BLOCK)).into_par_iter().flat_map_iter(block).collect()
    }

    /// Which further figures each journal's gaps ask for.
    fn wanted(&self, gaps: &[Gap]) -> Vec<Wanted> {
        let has = |kind, at: &super::JournalAt| gaps.iter().any(|g| g.kind == kind && g.journal == Some(at.id));
        let bow = gaps.iter().any(|g| g.kind == GapKind::RunOuts);
        self.journals
            .iter()
            .map(|at| Wanted {
                directions: has(GapKind::Directions, at) || has(GapKind::InLine, at),
                stations: has(GapKind::Stations, at),
                centred: bow && at.set == 0,
            })
            .collect()
    }

    /// On a held axis each journal has its own room, and the set has that of the worst.
    fn count_held(&self, ladders: &Ladders, drawn: &Drawn, wanted: &[Wanted], counted: &mut Counted) -> Rooms {
        let standard_mm = ladders.standard_mm();
        let mut rooms_mm = [None; 2];
        for s in 0..2 {
            if self.sets[s].is_none() {
                continue;
            }
            let mut least = f64::INFINITY;
            let mut second = f64::INFINITY;
            let mut worst = 0;
            let mut of_worst = None;
            let mut centred = f64::INFINITY;
            for j in self.of_set(s) {
                let found = self.least_mm(drawn, j, wanted[j]);
                centred = centred.min(found.centred_mm);
                if found.mm < least {
                    (second, least, worst, of_worst) = (least, found.mm, j, Some(found));
                } else {
                    second = second.min(found.mm);
                }
            }
            let room = least - standard_mm[s];
            rooms_mm[s] = Some(room);
            counted.governs[worst] += 1;
            let id = self.journals[worst].id;
            for gap in counted.gaps.iter_mut().filter(|gap| usize::from(gap.set == SetName::Pin) == s) {
                let without = match (gap.kind, gap.journal == Some(id), &of_worst) {
                    (GapKind::RunOuts, _, _) => centred,
                    (GapKind::Journal, true, _) => second,
                    (GapKind::Directions | GapKind::InLine, true, Some(found)) => found.seen_directions_mm.min(second),
                    (GapKind::Stations, true, Some(found)) => found.seen_stations_mm.min(second),
                    _ => least,
                };
                if let Some(first) = ladders.first_clean(s, without - standard_mm[s]) {
                    gap.without[first..].iter_mut().for_each(|hits| *hits += 1);
                }
            }
        }
        rooms_mm
    }

    /// The same once the journals have grown: as they are, and polished to size.
    fn count_grown(&self, drawn: &Drawn, later: &Later<'_>, grown: &mut Grown) {
        for s in 0..2 {
            if self.sets[s].is_none() {
                continue;
            }
            let polished_mm = |j: usize| later.polished_mm.get(j).copied().unwrap_or(0.0);
            let mut left = self.of_set(s).all(|j| self.standing(drawn, j, later.left_mm).within);
            let mut to_size = self.of_set(s).all(|j| self.standing(drawn, j, polished_mm(j)).within);
            for (damage, &deep) in self.findings.damages.iter().zip(&drawn.depths_mm) {
                let journal = self.of_set(s).find(|&j| self.journals[j].id == damage.journal);
                if let Some(j) = journal {
                    left &= deep <= SAME_LENGTH_MM;
                    to_size &= deep <= later.of.takes_out_mm(j) + SAME_LENGTH_MM;
                }
            }
            grown.left_alone[s] += usize::from(left);
            grown.to_size[s] += usize::from(to_size);
        }
    }

    fn count_condition(&self, drawn: &Drawn, counted: &mut Counted) {
        for s in 0..2 {
            if self.sets[s].is_none() {
                continue;
            }
            let mut keep = true;
            let mut polished = true;
            for j in self.of_set(s) {
                let standing = self.standing(drawn, j, 0.0);
                counted.within[j] += usize::from(standing.within);
                counted.worn[j] += usize::from(standing.worn);
                keep &= standing.within;
                polished = polished && self.standing(drawn, j, self.policy.polish_stock_mm).within;
            }
            for (damage, &deep) in self.findings.damages.iter().zip(&drawn.depths_mm) {
                if usize::from(damage.journal.set == SetName::Pin) == s {
                    keep &= deep <= SAME_LENGTH_MM;
                    polished &= deep <= self.policy.polish_stock_mm / 2.0 + SAME_LENGTH_MM;
                }
            }
            counted.leave_alone[s] += usize::from(keep);
            counted.polish_only[s] += usize::from(polished);
        }
    }
}

/// The journals of a set one by one, draw by draw.
pub(crate) struct Without {
    /// The first journal of the set among all.
    first: usize,
    /// For each journal: its least radius in each draw.
    radii_mm: Vec<Vec<f64>>,
}

impl Without {
    /// The journals, by their place among all.
    pub(crate) fn journals(&self) -> std::ops::Range<usize> {
        self.first..self.first + self.radii_mm.len()
    }

    fn of(&self, journal: usize) -> &[f64] {
        journal.checked_sub(self.first).and_then(|j| self.radii_mm.get(j)).map_or(&[], Vec::as_slice)
    }

    /// In how large a share of the draws a journal has at least that radius.
    pub(crate) fn share_above(&self, journal: usize, radius_mm: f64) -> f64 {
        let radii_mm = self.of(journal);
        let above = radii_mm.iter().filter(|&&mm| mm >= radius_mm - SAME_LENGTH_MM).count();
        above as f64 / radii_mm.len().max(1) as f64
    }

    /// The radius that only that share of the draws of a journal stays below.
    pub(crate) fn radius_at(&self, journal: usize, share: f64) -> Option<f64> {
        let mut radii_mm = self.of(journal).to_vec();
        radii_mm.sort_by(f64::total_cmp);
        radii_mm.get((share * radii_mm.len() as f64) as usize).copied()
    }

    /// For each step of a set: draws in which it cleans up but for those journals; and all draws.
    pub(crate) fn clean_without(&self, but: &[usize], ladders: &Ladders, s: usize) -> (Vec<usize>, usize) {
        let standard_mm = ladders.standard_mm();
        let mut hits = vec![0; ladders.wanted_mm[s].len()];
        let draws = self.radii_mm.first().map_or(0, Vec::len);
        let kept: Vec<&[f64]> = self.journals().filter(|j| !but.contains(j)).map(|j| self.of(j)).collect();
        for draw in 0..draws {
            let least = kept.iter().filter_map(|radii_mm| radii_mm.get(draw)).copied().fold(f64::INFINITY, f64::min);
            if let Some(first) = ladders.first_clean(s, least - standard_mm[s]) {
                hits[first..].iter_mut().for_each(|hits| *hits += 1);
            }
        }
        (hits, draws)
    }
}

impl Model<'_> {
    /// The journal of a set that has least metal to spare most often.
    pub(crate) fn most_often_worst(&self, set: SetName, counted: &Counted) -> Option<usize> {
        let s = usize::from(set == SetName::Pin);
        let worst = |j: &usize| counted.governs[*j];
        let found = self.of_set(s).max_by_key(worst).filter(|j| counted.governs[*j] > 0);
        // On a free axis it was not counted; the first draws tell.
        found.or_else(|| {
            let mut governs = vec![0usize; self.journals.len()];
            let mut sampler = Sampler::new(self, 0);
            for _ in 0..BLOCK {
                sampler.next();
                let least = |j: &usize| self.least_mm(&sampler.drawn, *j, Wanted::default()).mm;
                let worst = self.of_set(s).min_by(|a, b| least(a).total_cmp(&least(b)))?;
                governs[worst] += 1;
            }
            self.of_set(s).max_by_key(|j| governs[*j])
        })
    }

    /// The least radius of each journal of a set, draw by draw, each journal on its present centre.
    pub(crate) fn without(&self, set: SetName, draws: usize) -> Without {
        let of_set = self.of_set(usize::from(set == SetName::Pin));
        let mut found = Without { first: of_set.start, radii_mm: vec![Vec::with_capacity(draws); of_set.len()] };
        for block in 0..draws.div_ceil(BLOCK) {
            let mut sampler = Sampler::new(self, block);
            for _ in block * BLOCK..((block + 1) * BLOCK).min(draws) {
                sampler.next();
                for (radii_mm, j) in found.radii_mm.iter_mut().zip(of_set.clone()) {
                    radii_mm.push(self.least_mm(&sampler.drawn, j, Wanted::default()).mm);
                }
            }
        }
        found
    }
}

/// Whether a diameter lies within 30 degrees of the throw.
fn in_line(angle_deg: f64) -> bool {
    const IN_LINE_DEG: f64 = 30.0;
    crank::planes_apart_deg(angle_deg, 0.0) <= IN_LINE_DEG + 1e-9
}

impl Counted {
    /// Both, the draws of `other` after these.
    fn and(mut self, other: Counted) -> Counted {
        self.clean = self.clean.and(&other.clean);
        add(&mut self.within, &other.within);
        add(&mut self.worn, &other.worn);
        add(&mut self.leave_alone, &other.leave_alone);
        self.reads.add(&other.reads);
        add(&mut self.polish_only, &other.polish_only);
        self.grown.add(other.grown);
        add(&mut self.governs, &other.governs);
        for (gap, more) in self.gaps.iter_mut().zip(&other.gaps) {
            add(&mut gap.without, &more.without);
        }
        for (rooms, more) in self.rooms_mm.iter_mut().flatten().zip(other.rooms_mm.into_iter().flatten()) {
            rooms.extend(more);
        }
        self
    }
}
