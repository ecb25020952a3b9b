//! The placement that the grinder is told: one for all draws, and the least move that does.
//!
//! A drawn crank shows on which side its metal went, a real one does not. A chance that let every draw have the axis that
//! suits it best would belong to a set-up that nobody can find at the machine. So a placement is chosen by what was
//! measured, and every chance on a free axis is the share of draws that clean up there, each pin's new centre counted
//! from its present one, which a dial finds at the machine.
//!
//! The ways are tried in their order: nothing moves; the throws within their tolerances; the main axis too. Within one, of
//! the placements that leave a spare on the surface as it was measured the one is taken that moves least
//! ([`least_move`](super::least_move)). The spare asked for is the least with which the chance reaches the shop's
//! confidence; where none does, in any way, the placement with the best chance is taken.

use crank::SetName;
use rayon::prelude::*;

use super::least_move::{Mover, ROUNDING_MM};
use super::{AS_GOOD_MM, Placement, Questions, Stand};
use crate::Axis;
use crate::tally::Ladders;

/// The draws that the placements are chosen by.
pub(crate) const PILOT: usize = 2_000;

/// How many standard errors of those draws a placement must reach the confidence by, so that all draws reach it too.
const SURE: f64 = 2.0;

/// A move that cleans up no more than so many more cranks is not worth making.
const GAIN: f64 = 0.005;

/// Halvings in the search for the least spare that is enough.
const HALVINGS: usize = 4;

/// Least radius of the mains and of the pins of one draw, on one placement, less what they are wanted at standard.
pub(crate) type Rooms = [Option<f64>; 2];

/// The placements that are told, and for what.
#[derive(Clone, Debug)]
pub(crate) struct Told {
    /// The first is the one that moves least of all: nothing, where the present place is within the tolerances.
    pub(crate) placements: Vec<Placement>,
    /// For each set and step of its ladder, where the other set is left out.
    pub(crate) sets: [Vec<usize>; 2],
    /// For each step of the mains and each of the pins.
    pub(crate) pairs: Vec<Vec<usize>>,
}

impl Told {
    /// One placement for all.
    pub(crate) fn alone(ladders: &Ladders, placement: Placement) -> Told {
        let [mains, pins] = [0, 1].map(|s: usize| ladders.wanted_mm[s].len());
        Told { placements: vec![placement], sets: [vec![0; mains], vec![0; pins]], pairs: vec![vec![0; pins]; mains] }
    }

    pub(crate) fn of_set(&self, s: usize, step: usize) -> &Placement {
        &self.placements[self.sets[s][step]]
    }
}

/// What a placement takes from the radius at each point.
pub(crate) struct Takes {
    mm: Vec<f64>,
    mains: usize,
}

impl Takes {
    /// Least radius of the mains and of the pins, less what is wanted of them; nothing where a set has no points.
    pub(crate) fn rooms_mm(&self, radii_mm: &[f64], wanted_mm: [f64; 2]) -> Rooms {
        let (mains, pins) = radii_mm.split_at(self.mains.min(radii_mm.len()));
        let (of_mains, of_pins) = self.mm.split_at(self.mains.min(self.mm.len()));
        let room =
            |radii: &[f64], takes: &[f64], wanted: f64| (!radii.is_empty()).then(|| least(radii, takes) - wanted);
        [room(mains, of_mains, wanted_mm[0]), room(pins, of_pins, wanted_mm[1])]
    }
}

/// The smallest difference of two lists; eight at a time, so that the machine can.
fn least(radii: &[f64], takes: &[f64]) -> f64 {
    const WIDE: usize = 8;
    let mut lanes = [f64::INFINITY; WIDE];
    let (radii, takes) = (radii.chunks_exact(WIDE), takes.chunks_exact(WIDE));
    let rest = radii.remainder().iter().zip(takes.remainder()).map(|(r, t)| r - t).fold(f64::INFINITY, f64::min);
    for (radii, takes) in radii.zip(takes) {
        for (lane, (radius, take)) in lanes.iter_mut().zip(radii.iter().zip(takes)) {
            let left = radius - take;
            *lane = if left < *lane { left } else { *lane };
        }
    }
    lanes.into_iter().fold(rest, f64::min)
}

impl Questions {
    /// What a placement takes from each point in true geometry; nothing anywhere where nothing moves. The radii differ by
    /// thousandths from those wanted, which changes what is taken by less than a hundredth of a nanometre.
    pub(crate) fn takes(&self, placement: &Placement, wanted_mm: [f64; 2]) -> Takes {
        let geometry = &self.geometry;
        let stays = geometry.is_held() || *placement == geometry.present_placement();
        let take = |seen: &super::Seen| {
            let radius_mm = wanted_mm[usize::from(seen.pin.is_some())];
            if stays { 0.0 } else { radius_mm - geometry.distance(seen, radius_mm, placement).0 }
        };
        Takes { mm: geometry.points.iter().map(take).collect(), mains: geometry.mains.end }
    }

    /// The spare that a placement leaves in true geometry.
    pub(crate) fn true_spare_mm(&self, radii_mm: &[f64], wanted_mm: [f64; 2], placement: &Placement) -> f64 {
        self.geometry.true_spare(radii_mm, wanted_mm, placement)
    }

    /// The point that has least to spare on a placement; `set` leaves the other set out.
    pub(crate) fn governing(
        &self,
        set: Option<SetName>,
        radii_mm: &[f64],
        wanted_mm: [f64; 2],
        placement: &Placement,
    ) -> Option<usize> {
        let takes = self.takes(placement, wanted_mm);
        let spare = |i: usize| {
            let wanted = wanted_mm[usize::from(self.geometry.points[i].pin.is_some())];
            radii_mm[i] - takes.mm[i] - wanted
        };
        self.range(set).min_by(|&a, &b| spare(a).total_cmp(&spare(b)))
    }
}

/// Chooses the placements: by the surface as it was measured, and by draws of what was not.
pub(crate) struct Chooser<'a> {
    pub(crate) seen: &'a Questions,
    /// Sound radii of the surface as it was measured.
    pub(crate) radii_mm: &'a [f64],
    pub(crate) drawn: &'a Questions,
    /// Radii of the pilot draws, one after the other.
    pub(crate) pilot_mm: Vec<Vec<f64>>,
    pub(crate) ladders: &'a Ladders,
    pub(crate) confidence: f64,
    /// Whether the throws alone are tried before the main axis is moved.
    pub(crate) throws_first: bool,
}

/// One way to move, with what its programmes remember.
struct Moves<'a> {
    questions: &'a Questions,
    stand: Stand,
    /// Mains, pins, both.
    movers: [Mover<'a>; 3],
}

impl<'a> Moves<'a> {
    fn new(questions: &'a Questions) -> Moves<'a> {
        let movers = [Some(SetName::Main), Some(SetName::Pin), None].map(|set| Mover::new(questions, set));
        Moves { questions, stand: questions.start(), movers }
    }

    fn mover(&mut self, set: Option<SetName>) -> &mut Mover<'a> {
        let [main, pin, both] = &mut self.movers;
        match set {
            Some(SetName::Main) => main,
            Some(SetName::Pin) => pin,
            None => both,
        }
    }

    /// Whether there is anything to look for.
    fn moves(&self, set: Option<SetName>) -> bool {
        self.questions.geometry.axis == Axis::Free
            || set != Some(SetName::Main) && self.questions.geometry.throws_move()
    }
}

/// A placement that was tried, and what it leaves of each pilot draw.
struct Tried {
    placement: Placement,
    rooms: Vec<Rooms>,
}

impl Chooser<'_> {
    /// The placements to tell. Sets that were not measured are told to stay.
    pub(crate) fn choose(&self) -> Told {
        let present = self.seen.geometry.present_placement();
        let free = self.seen.geometry.axis == Axis::Free;
        let throws = (free && self.throws_first).then(|| self.seen.of_throws());
        let mut ways: Vec<Moves<'_>> = throws.iter().chain([self.seen]).map(Moves::new).collect();
        let stay = if self.seen.geometry.permits(&present) {
            present
        } else {
            let standard_mm = self.ladders.standard_mm();
            let first =
                ways.iter_mut().find_map(|way| way.mover(None).place(self.radii_mm, standard_mm, f64::NEG_INFINITY));
            first.unwrap_or(present)
        };
        let mut told = Told::alone(self.ladders, stay.clone());
        let mut tried = vec![self.tried(stay)];
        let enough = |share: f64| {
            let error = (share * (1.0 - share) / self.pilot_mm.len().max(1) as f64).sqrt();
            share + SURE * error
        };
        let mut shares = [Vec::new(), Vec::new()];
        for (s, set) in SetName::BOTH.into_iter().enumerate() {
            let mut before = 0.0f64;
            for step in 0..self.ladders.wanted_mm[s].len() {
                let mut wanted = self.ladders.standard_mm();
                wanted[s] = self.ladders.wanted_mm[s][step];
                let cleans = |rooms: &Rooms| rooms[s].is_some_and(|room| self.ladders.cleans(s, room, step));
                let asked = Asked { set: Some(set), wanted, enough: enough(self.confidence).max(before) };
                let (at, share) = self.least(&mut tried, &mut ways, &asked, &cleans);
                told.sets[s][step] = at;
                before = share;
                shares[s].push(share);
            }
        }
        let mut joint = vec![vec![0.0f64; shares[1].len()]; shares[0].len()];
        for main in 0..shares[0].len() {
            for pin in 0..shares[1].len() {
                let wanted = [self.ladders.wanted_mm[0][main], self.ladders.wanted_mm[1][pin]];
                let clean = |s: usize, step: usize, rooms: &Rooms| {
                    rooms[s].is_some_and(|room| self.ladders.cleans(s, room, step))
                };
                let cleans = |rooms: &Rooms| clean(0, main, rooms) && clean(1, pin, rooms);
                // What the choice of a pair asks for, and no less than a shallower pair has.
                let asks = enough(self.confidence * shares[0][main].max(shares[1][pin]));
                let shallower =
                    [main.checked_sub(1).map(|m| joint[m][pin]), pin.checked_sub(1).map(|p| joint[main][p])];
                let enough = shallower.into_iter().flatten().fold(asks, f64::max);
                let (at, share) = self.least(&mut tried, &mut ways, &Asked { set: None, wanted, enough }, &cleans);
                told.pairs[main][pin] = at;
                joint[main][pin] = share;
            }
        }
        told.placements = tried.into_iter().map(|tried| tried.placement).collect();
        told.without_unused()
    }

    /// The least move with which enough of the pilot draws clean up, in the first way in which they do, else the one with
    /// which most do, and that share.
    fn least(
        &self,
        tried: &mut Vec<Tried>,
        ways: &mut [Moves<'_>],
        asked: &Asked,
        cleans: &dyn Fn(&Rooms) -> bool,
    ) -> (usize, f64) {
        let stays = tried.first().map_or(0.0, |stay| share(&stay.rooms, cleans));
        let measured = SetName::BOTH.into_iter().filter(|set| asked.set.is_none_or(|asked| asked == *set));
        if stays >= asked.enough || measured.into_iter().any(|set| !self.seen.is_measured(set)) {
            return (0, stays);
        }
        let mut best = (0, stays);
        let last = ways.len().saturating_sub(1);
        for (n, way) in ways.iter_mut().enumerate().filter(|(_, way)| way.moves(asked.set)) {
            let Some(found) = self.within(way, tried, asked, cleans, n == last) else { continue };
            if found.1 >= asked.enough {
                return found;
            }
            if found.1 > best.1 + GAIN {
                best = found;
            }
        }
        best
    }

    /// The same in one way; nothing where it gains nothing.
    fn within(
        &self,
        way: &mut Moves<'_>,
        tried: &mut Vec<Tried>,
        asked: &Asked,
        cleans: &dyn Fn(&Rooms) -> bool,
        last: bool,
    ) -> Option<(usize, f64)> {
        let (questions, mut stand) = (way.questions, way.stand.clone());
        let most_mm = questions.spare_mm(asked.set, self.radii_mm, asked.wanted, &mut stand).ok()?;
        way.stand = stand;
        let stay = tried.first()?;
        let stays = share(&stay.rooms, cleans);
        let of_asked = |rooms: Rooms| {
            let in_question = |s: usize| asked.set.is_none_or(|set| usize::from(set == SetName::Pin) == s);
            (0..2).filter(|s| in_question(*s)).filter_map(|s| rooms[s]).fold(f64::INFINITY, f64::min)
        };
        let takes = self.seen.takes(&stay.placement, asked.wanted);
        let stay_mm = of_asked(takes.rooms_mm(self.radii_mm, asked.wanted));
        let span_mm = most_mm - stay_mm;
        if span_mm.is_nan() || span_mm <= ROUNDING_MM {
            return None;
        }
        let mover = way.mover(asked.set);
        let mut at = |level: f64| -> Option<(usize, f64)> {
            let spare_mm = stay_mm + level * span_mm - AS_GOOD_MM;
            let placement = mover.place(self.radii_mm, asked.wanted, spare_mm)?;
            let known = tried.iter().position(|tried| tried.placement == placement);
            let n = known.unwrap_or_else(|| {
                tried.push(self.tried(placement));
                tried.len() - 1
            });
            Some((n, share(&tried.get(n)?.rooms, cleans)))
        };
        let top = at(1.0)?;
        if top.1 >= asked.enough {
            let (mut low, mut high, mut found) = (0.0, 1.0, top);
            for _ in 0..HALVINGS {
                let level = 0.5 * (low + high);
                match at(level) {
                    Some(one) if one.1 >= asked.enough => (high, found) = (level, one),
                    _ => low = level,
                }
            }
            return Some(found);
        }
        // Not worth a search where next to nothing cleans up anywhere, nor where another way is still to be tried.
        let mut found = (0, stays);
        let levels: &[f64] = if !last || top.1.max(stays) < GAIN { &[] } else { &[0.25, 0.5, 0.75] };
        for one in levels.iter().filter_map(|&level| at(level)).collect::<Vec<_>>().into_iter().chain([top]) {
            if one.1 > found.1 + GAIN {
                found = one;
            }
        }
        Some(found)
    }

    fn tried(&self, placement: Placement) -> Tried {
        let standard_mm = self.ladders.standard_mm();
        let takes = self.drawn.takes(&placement, standard_mm);
        let rooms = self.pilot_mm.par_iter().map(|radii_mm| takes.rooms_mm(radii_mm, standard_mm)).collect();
        Tried { placement, rooms }
    }
}

/// The share of draws that clean up.
fn share(rooms: &[Rooms], cleans: &dyn Fn(&Rooms) -> bool) -> f64 {
    rooms.iter().filter(|rooms| cleans(rooms)).count() as f64 / rooms.len().max(1) as f64
}

/// What a placement is looked for.
struct Asked {
    set: Option<SetName>,
    wanted: [f64; 2],
    /// The share of draws that is enough.
    enough: f64,
}

impl Told {
    /// Without the placements that were only tried.
    fn without_unused(mut self) -> Told {
        let mut kept: Vec<usize> = vec![0];
        let all = self.sets.iter().flatten().chain(self.pairs.iter().flatten());
        kept.extend(all.copied());
        kept.sort_unstable();
        kept.dedup();
        let renumber = |n: &mut usize| *n = kept.binary_search(n).unwrap_or(0);
        self.sets.iter_mut().flatten().for_each(renumber);
        self.pairs.iter_mut().flatten().for_each(renumber);
        self.placements = kept.iter().filter_map(|&n| self.placements.get(n).cloned()).collect();
        self
    }
}
