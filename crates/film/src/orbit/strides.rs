//! A path followed in strides as long as the path allows.

use super::{Path, Trace, WALL, inside, length};

/// Error of a stride, over the gap that is left.
const ERROR: f64 = 1e-3;
/// The longest stride, as a share of the cycle: 12 degrees of 720.
const LONGEST: f64 = 1.0 / 60.0;
/// The shortest, in steps of the loads: so short comes only at the wall, where the drift itself goes out.
const SHORTEST: f64 = 1e-3;
/// Where a path comes this close to that of the cycle before, over the clearance, the rest is the same.
const MET: f64 = 1e-4;
/// The same over the gap that is left.
const MET_IN_GAP: f64 = 1e-3;
/// Both are this much closer once the strides are kept: then two cycles differ by what has not settled and by nothing
/// else.
const IN_STEP: f64 = 0.1;
/// Cycles after which the path is followed in even steps instead.
const MOST_STRIDDEN: usize = 40;

/// Follows a journal until its path closes, in strides by the error that each makes; nothing where that takes too long.
///
/// # Source
/// P. Bogacki and L. Shampine, *Applied Mathematics Letters* 2 (1989) 321–325: order three with an error of order two;
/// between the ends of a stride the cubic through both places and both speeds (Hermite's).
pub(super) fn stride(path: &Path<'_>, start: [f64; 2]) -> Option<Trace> {
    let steps = path.cycle.loads_n.len();
    let mut trace = Trace { places: vec![start; steps], speeds: vec![[0.0; 2]; steps], closure: f64::MAX, cycles: 0 };
    let mut place = start;
    let mut kept: Vec<f64> = Vec::new();
    let mut tried = 1.0;
    for cycle in 1..=MOST_STRIDDEN {
        trace.cycles = cycle;
        // Strides are found anew in the first two cycles, then kept: a path that settles slowly would otherwise never
        // meet itself closer than the error of a stride.
        let found_anew = cycle <= 2;
        if found_anew {
            kept.clear();
        }
        let closer = if found_anew { 1.0 } else { IN_STEP };
        let (mut at, mut speed) = (0.0, path.speed_at(place, 0.0));
        let mut filled = 0;
        let mut taken = 0;
        while at < steps as f64 {
            let left = steps as f64 - at;
            let (stride, end, end_speed) = if found_anew {
                let found = path.best_stride(place, speed, at, left, &mut tried);
                kept.push(found.0);
                found
            } else {
                let stride = kept.get(taken).copied().unwrap_or(left).min(left);
                taken += 1;
                let (end, _) = path.advance(place, speed, at, stride);
                (stride, end, path.speed_at(end, at + stride))
            };
            let arrived = if left - stride < 1e-9 { steps as f64 } else { at + stride };
            let mut off = f64::MAX;
            while filled < steps && (filled as f64) < arrived {
                let (there, going) = between(place, speed, end, end_speed, stride, (filled as f64 - at) / stride);
                let (Some(old), Some(rate)) = (trace.places.get_mut(filled), trace.speeds.get_mut(filled)) else {
                    break;
                };
                off = length([there[0] - old[0], there[1] - old[1]]);
                (*old, *rate) = (there, going);
                filled += 1;
            }
            if cycle > 1 && off < closer * MET.min(MET_IN_GAP * (1.0 - length(end))) {
                trace.closure = off;
                return Some(trace);
            }
            (place, speed, at) = (end, end_speed, arrived);
        }
    }
    None
}

/// Place and speed at a part of a stride.
fn between(
    from: [f64; 2],
    speed: [f64; 2],
    to: [f64; 2],
    end_speed: [f64; 2],
    stride: f64,
    part: f64,
) -> ([f64; 2], [f64; 2]) {
    let rest = 1.0 - part;
    let at = |axis: usize| {
        let (first, last) = (stride * speed[axis], stride * end_speed[axis]);
        let whole = to[axis] - from[axis];
        let place = from[axis] + part * whole + part * rest * (rest * (first - whole) - part * (last - whole));
        let going = whole + (rest - part) * (rest * (first - whole) - part * (last - whole))
            - part * rest * (first + last - 2.0 * whole);
        (place, going / stride)
    };
    let ((x, x_speed), (y, y_speed)) = (at(0), at(1));
    (inside([x, y]), [x_speed, y_speed])
}

impl Path<'_> {
    /// How the place changes in one step of the loads, so many steps into the cycle.
    fn speed_at(&self, place: [f64; 2], at: f64) -> [f64; 2] {
        let (step, steps) = (at as usize, self.cycle.loads_n.len());
        let speed = self.speed(place, if step < steps { step } else { step - steps }, at - step as f64);
        [speed[0] * self.step_s, speed[1] * self.step_s]
    }

    /// Where a stride leads, and an estimate without the speed at its end.
    fn advance(&self, place: [f64; 2], speed: [f64; 2], at: f64, stride: f64) -> ([f64; 2], [[f64; 2]; 2]) {
        let ahead = |by: [f64; 2]| inside([place[0] + stride * by[0], place[1] + stride * by[1]]);
        let second = self.speed_at(ahead([0.5 * speed[0], 0.5 * speed[1]]), at + 0.5 * stride);
        let third = self.speed_at(ahead([0.75 * second[0], 0.75 * second[1]]), at + 0.75 * stride);
        let mean = |axis: usize| (2.0 * speed[axis] + 3.0 * second[axis] + 4.0 * third[axis]) / 9.0;
        (ahead([mean(0), mean(1)]), [second, third])
    }

    /// The longest stride of those tried whose error passes, with place and speed at its end.
    fn best_stride(
        &self,
        place: [f64; 2],
        speed: [f64; 2],
        at: f64,
        left: f64,
        tried: &mut f64,
    ) -> (f64, [f64; 2], [f64; 2]) {
        let longest = LONGEST * self.cycle.loads_n.len() as f64;
        loop {
            let stride = tried.clamp(SHORTEST, longest).min(left);
            let (end, [second, third]) = self.advance(place, speed, at, stride);
            let end_speed = self.speed_at(end, at + stride);
            let error = |axis: usize| {
                stride * (-5.0 * speed[axis] + 6.0 * second[axis] + 8.0 * third[axis] - 9.0 * end_speed[axis]) / 72.0
            };
            let gap = (1.0 - length(end)).max(WALL);
            let over = length([error(0), error(1)]) / (ERROR * gap);
            // The error grows with the third power of the stride. Square roots are near enough, and quicker: a stride is
            // cut by more than the third root, and grows by less.
            let root = over.max(1e-6).sqrt();
            let grown = if over > 1.0 { (0.9 / root).max(0.25) } else { (0.9 / root.sqrt()).min(4.0) };
            let passes = over <= 1.0 || stride <= SHORTEST;
            // The last stride of a cycle is cut short, not found to be too long.
            if !passes || stride < left || grown < 1.0 {
                *tried = (stride * grown).clamp(SHORTEST, longest);
            }
            if passes {
                return (stride, end, end_speed);
            }
        }
    }
}
