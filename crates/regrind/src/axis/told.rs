//! The placement that the grinder is told: one for all draws, and the least move that does.
//!
//! A drawn crank shows on which side its metal went, a real one does not. A chance that let every draw have the axis that
//! suits it best would belong to a set-up that nobody can find at the machine. So a placement is chosen by what was
//! measured, and every chance on a free axis is the share of draws that clean up there, each pin's new centre counted
//! from its present one, which a dial finds at the machine.
//!
//! Of the placements that leave a spare on the surface as it was measured the one is taken that moves least: first the
//! least largest shift of any end main or pin, then the least sum of all shifts, so that what need not move stays. The
//! spare asked for is the least with which the chance reaches the shop's confidence; where none does, the one with the
//! best chance is taken.

use crank::SetName;
use programme::Programme;
use rayon::prelude::*;

use super::{AS_GOOD_MM, AXIS_REACH_MM, AXIS_UNKNOWNS, Geometry, Placement, Questions, Stand};
use crate::tally::Ladders;

/// The draws that the placements are chosen by.
pub(crate) const PILOT: usize = 2_000;

/// How many standard errors of those draws a placement must reach the confidence by, so that all draws reach it too.
const SURE: f64 = 2.0;

/// A move that cleans up no more than so many more cranks is not worth making.
const GAIN: f64 = 0.005;

/// Halvings in the search for the least spare that is enough.
const HALVINGS: usize = 4;

/// Shifts may exceed their least by so much, for what rounding leaves.
const ROUNDING_MM: f64 = 1e-9;

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

    /// The placement that leaves at least `spare_mm` on these radii and moves least; nothing where there is none.
    fn least_move(
        &self,
        set: Option<SetName>,
        radii_mm: &[f64],
        wanted_mm: [f64; 2],
        spare_mm: f64,
    ) -> Option<Placement> {
        let geometry = &self.geometry;
        let mut limits_mm = Vec::new();
        self.limits(set, radii_mm, wanted_mm, &mut limits_mm);
        let rows: Vec<(Vec<f64>, f64)> = geometry.points[self.range(set)]
            .iter()
            .zip(&limits_mm)
            .filter(|_| spare_mm.is_finite())
            .map(|(seen, limit)| (geometry.row(seen), limit - spare_mm + AS_GOOD_MM))
            .collect();
        let shifts = geometry.shifts();
        let unknowns = geometry.unknowns() - 1;
        // The largest shift: one unknown more in the place of the spare.
        let largest = {
            let mut goal = vec![0.0; unknowns];
            goal.push(-1.0);
            let mut reach = geometry.reach();
            *reach.last_mut()? = 4.0 * AXIS_REACH_MM;
            solve(goal, reach, &rows, &shifts, unknowns, |_| unknowns)?
        };
        let most_mm = largest.last().copied()?.max(0.0) + ROUNDING_MM;
        // The sum of all shifts, none above the largest.
        let mut goal = vec![0.0; unknowns];
        goal.extend(shifts.iter().map(|_| -1.0));
        let mut reach = geometry.reach();
        reach.pop();
        reach.extend(shifts.iter().map(|_| most_mm));
        let at = solve(goal, reach, &rows, &shifts, unknowns, |n| unknowns + n).unwrap_or(largest);
        let mut placement = geometry.placement(&at);
        // What does not show to a millionth of a micron is no move.
        let present = geometry.present_placement();
        if geometry.shifts_mm(&at).iter().all(|mm| mm.abs() <= 2.0 * ROUNDING_MM) && geometry.permits(&present) {
            placement = present;
        }
        Some(placement)
    }
}

/// A shift as a row: its coefficients and what it is with all unknowns at nothing.
type Shift = (Vec<f64>, f64);

/// A programme of clearances and shifts: `of` names the unknown that is to be no smaller than each shift either way.
fn solve(
    goal: Vec<f64>,
    reach: Vec<f64>,
    rows: &[(Vec<f64>, f64)],
    shifts: &[Shift],
    unknowns: usize,
    of: impl Fn(usize) -> usize,
) -> Option<Vec<f64>> {
    let width = goal.len();
    let mut programme = Programme::new(goal, reach);
    let mut limits = Vec::with_capacity(rows.len() + 2 * shifts.len());
    for (row, limit) in rows {
        programme.add_row(&row[..unknowns]);
        limits.push(*limit);
    }
    for (n, (coefficients, from)) in shifts.iter().enumerate() {
        for sign in [1.0, -1.0] {
            let mut row = vec![0.0; width];
            row.iter_mut().zip(coefficients).for_each(|(to, coefficient)| *to = sign * coefficient);
            row[of(n)] = -1.0;
            programme.add_row(&row);
            limits.push(-sign * from);
        }
    }
    programme.solve(&limits, &mut programme.start()).ok().map(|found| found.at)
}

impl Geometry {
    /// The shifts that a grinder makes: both end mains, then each pin's centre along its throw and square to it.
    fn shifts(&self) -> Vec<Shift> {
        let unknowns = self.unknowns() - 1;
        let axis = |z_mm: f64| (z_mm - self.centre_mm) / self.half_span_mm;
        let mut shifts = Vec::new();
        let mut ends = self.ends_mm.to_vec();
        ends.dedup();
        for z_mm in ends {
            for (offset, slope) in [(0, 2), (1, 3)] {
                let mut row = vec![0.0; unknowns];
                (row[offset], row[slope]) = (1.0, axis(z_mm));
                shifts.push((row, 0.0));
            }
        }
        let first = AXIS_UNKNOWNS + usize::from(self.turns);
        for (k, pin) in self.pins.iter().enumerate() {
            let lever = axis(pin.position_mm);
            let (sin, cos) = pin.throw_rad.sin_cos();
            let mut along = vec![0.0; unknowns];
            along[..AXIS_UNKNOWNS].copy_from_slice(&[cos, sin, cos * lever, sin * lever]);
            along[first + 2 * k] = 1.0;
            let mut across = vec![0.0; unknowns];
            across[..AXIS_UNKNOWNS].copy_from_slice(&[-sin, cos, -sin * lever, cos * lever]);
            across[first + 2 * k + 1] = 1.0;
            if self.turns {
                across[AXIS_UNKNOWNS] = 1.0;
            }
            shifts.push((along, -pin.present_mm.0));
            shifts.push((across, -pin.present_mm.1));
        }
        shifts
    }

    fn shifts_mm(&self, at: &[f64]) -> Vec<f64> {
        let of = |(row, from): &Shift| row.iter().zip(at).map(|(c, y)| c * y).sum::<f64>() + from;
        self.shifts().iter().map(of).collect()
    }

    /// Whether the pins of a placement keep their tolerances.
    fn permits(&self, placement: &Placement) -> bool {
        let within = |mm: f64, most_mm: f64| mm.abs() <= most_mm + ROUNDING_MM;
        placement
            .pins_mm
            .iter()
            .all(|&(throw, index)| within(throw, self.throw_tolerance_mm) && within(index, self.index_tolerance_mm))
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
        let stay = if self.seen.geometry.permits(&present) {
            present
        } else {
            let standard_mm = self.ladders.standard_mm();
            self.seen.least_move(None, self.radii_mm, standard_mm, f64::NEG_INFINITY).unwrap_or(present)
        };
        let mut told = Told::alone(self.ladders, stay.clone());
        let mut tried = vec![self.tried(stay)];
        let mut stand = self.seen.start();
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
                let (at, share) = self.least(&mut tried, &mut stand, &asked, &cleans);
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
                let (at, share) = self.least(&mut tried, &mut stand, &Asked { set: None, wanted, enough }, &cleans);
                told.pairs[main][pin] = at;
                joint[main][pin] = share;
            }
        }
        told.placements = tried.into_iter().map(|tried| tried.placement).collect();
        told.without_unused()
    }

    /// The least move with which enough of the pilot draws clean up, else the one with which most do, and that share.
    fn least(
        &self,
        tried: &mut Vec<Tried>,
        stand: &mut Stand,
        asked: &Asked,
        cleans: &dyn Fn(&Rooms) -> bool,
    ) -> (usize, f64) {
        let share = |rooms: &[Rooms]| rooms.iter().filter(|r| cleans(r)).count() as f64 / rooms.len().max(1) as f64;
        let stays = tried.first().map_or(0.0, |stay| share(&stay.rooms));
        let measured = SetName::BOTH.into_iter().filter(|set| asked.set.is_none_or(|asked| asked == *set));
        if stays >= asked.enough || measured.into_iter().any(|set| !self.seen.is_measured(set)) {
            return (0, stays);
        }
        let Ok(most_mm) = self.seen.spare_mm(asked.set, self.radii_mm, asked.wanted, stand) else { return (0, stays) };
        let here = tried.first().map(|stay| self.seen.takes(&stay.placement, asked.wanted));
        let of_asked = |rooms: Rooms| {
            let in_question = |s: usize| asked.set.is_none_or(|set| usize::from(set == SetName::Pin) == s);
            (0..2).filter(|s| in_question(*s)).filter_map(|s| rooms[s]).fold(f64::INFINITY, f64::min)
        };
        let Some(stay_mm) = here.map(|takes| of_asked(takes.rooms_mm(self.radii_mm, asked.wanted))) else {
            return (0, stays);
        };
        let span_mm = most_mm - stay_mm;
        if span_mm.is_nan() || span_mm <= ROUNDING_MM {
            return (0, stays);
        }
        let mut at = |level: f64| -> Option<(usize, f64)> {
            let spare_mm = stay_mm + level * span_mm - AS_GOOD_MM;
            let placement = self.seen.least_move(asked.set, self.radii_mm, asked.wanted, spare_mm)?;
            let known = tried.iter().position(|tried| tried.placement == placement);
            let n = known.unwrap_or_else(|| {
                tried.push(self.tried(placement));
                tried.len() - 1
            });
            Some((n, share(&tried[n].rooms)))
        };
        let Some(top) = at(1.0) else { return (0, stays) };
        if top.1 >= asked.enough {
            let (mut low, mut high, mut found) = (0.0, 1.0, top);
            for _ in 0..HALVINGS {
                let level = 0.5 * (low + high);
                match at(level) {
                    Some(one) if one.1 >= asked.enough => (high, found) = (level, one),
                    _ => low = level,
                }
            }
            return found;
        }
        // Not worth a search where next to nothing cleans up anywhere.
        let mut found = (0, stays);
        let levels: &[f64] = if top.1.max(stays) < GAIN { &[] } else { &[0.25, 0.5, 0.75] };
        for one in levels.iter().filter_map(|&level| at(level)).collect::<Vec<_>>().into_iter().chain([top]) {
            if one.1 > found.1 + GAIN {
                found = one;
            }
        }
        found
    }

    fn tried(&self, placement: Placement) -> Tried {
        let standard_mm = self.ladders.standard_mm();
        let takes = self.drawn.takes(&placement, standard_mm);
        let rooms = self.pilot_mm.par_iter().map(|radii_mm| takes.rooms_mm(radii_mm, standard_mm)).collect();
        Tried { placement, rooms }
    }
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
