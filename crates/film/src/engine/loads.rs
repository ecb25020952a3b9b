//! What gas and inertia put on each bearing.

use std::f64::consts::TAU;

use super::strokes::Stroke;
use super::{Cylinder, Layout, strokes};
use crate::orbit::Cycle;
use crate::problem::{Checks, Problems};

/// The loads on every bearing of an engine.
#[derive(Clone, Debug)]
pub struct Loads {
    /// One for each cylinder, in the order of the seats, seen from the rod and beginning at its own firing.
    pub big_ends: Vec<Cycle>,
    /// One for each main from the nose on, seen from the block (X, Y), beginning at crank angle 0.
    pub mains: Vec<Cycle>,
}

impl Loads {
    /// For each main the first that carries the same loads, sooner or later in the cycle: itself, where none does.
    pub(crate) fn twins(&self) -> Vec<usize> {
        let first = |place: usize, main: &Cycle| self.mains.iter().take(place).position(|other| are_twins(other, main));
        self.mains.iter().enumerate().map(|(place, main)| first(place, main).unwrap_or(place)).collect()
    }
}

/// Loads this close, over the largest, are the same but for rounding.
const SAME: f64 = 1e-9;

/// Whether two mains carry the same loads, one of them so many steps later. Both turn alike.
fn are_twins(one: &Cycle, other: &Cycle) -> bool {
    let (ones, others) = (&one.loads_n, &other.loads_n);
    let largest = ones.iter().flatten().fold(0.0f64, |most, load| most.max(load.abs()));
    let same = |(a, b): (&[f64; 2], &[f64; 2])| (a[0] - b[0]).abs().max((a[1] - b[1]).abs()) <= SAME * largest;
    (0..ones.len()).any(|later| {
        let (before, after) = ones.split_at(later);
        after.iter().chain(before).zip(others).all(same)
    })
}

/// Works out the loads on all big ends and mains of an engine whose cylinders are alike.
///
/// # Errors
/// Inputs that cannot be used, all at once.
/// # Limits
/// **Mains are taken as statically determinate**: each throw rests on the main before it and the main behind it, as if
/// the crank were cut at every main, its load shared by the lever rule; a throw that overhangs is held by the two mains
/// nearest to it. A real crank and block share loads by their stiffness and by how straight the mains are; single mains
/// can differ by half and more. Rods that share a pin all press at its middle, each from its own eye: no forked, slave
/// or offset rods.
pub fn loads(cylinder: &Cylinder, pressures_pa: &[f64], speed_rad_s: f64, layout: &Layout) -> Result<Loads, Problems> {
    let mut checks = Checks::new();
    checks.take("layout", layout.check());
    let strokes = strokes(cylinder, pressures_pa, speed_rad_s);
    let Some(strokes) = checks.take("engine", strokes) else { return Err(checks.finish().err().unwrap_or_else(none)) };
    checks.finish()?;
    let steps = strokes.instants.len();
    // Forces that each throw puts on the crank, in X and Y.
    let mut throws = vec![vec![[0.0; 2]; steps]; layout.throws_deg.len()];
    for seat in &layout.seats {
        let (sin, cos) = seat.bank_deg.to_radians().sin_cos();
        if let Some(throw) = throws.get_mut(seat.throw) {
            let since = seat.fires_deg / 720.0 * steps as f64;
            for (step, force) in throw.iter_mut().enumerate() {
                let [x, y] = pin_n(&strokes.instants, step as f64 - since);
                force[0] -= x * cos - y * sin;
                force[1] -= x * sin + y * cos;
            }
        }
    }
    let swing = layout.throw_unbalance_kg * 0.5 * cylinder.stroke_m * speed_rad_s * speed_rad_s;
    let turned: Vec<(f64, f64)> =
        (0..steps).map(|step| (720.0 * step as f64 / steps as f64).to_radians().sin_cos()).collect();
    for (throw, angle) in throws.iter_mut().zip(&layout.throws_deg) {
        let (angle_sin, angle_cos) = angle.to_radians().sin_cos();
        for (force, (sin, cos)) in throw.iter_mut().zip(&turned) {
            force[0] -= swing * (angle_sin * cos + angle_cos * sin);
            force[1] += swing * (angle_cos * cos - angle_sin * sin);
        }
    }
    let mut mains = vec![vec![[0.0; 2]; steps]; layout.along.mains_m.len()];
    for (throw, rest) in throws.iter().zip(layout.along.rests()) {
        for (main, share) in [(rest.main, 1.0 - rest.behind), (rest.main + 1, rest.behind)] {
            let Some(carried) = mains.get_mut(main) else { continue };
            for (sum, force) in carried.iter_mut().zip(throw) {
                sum[0] += share * force[0];
                sum[1] += share * force[1];
            }
        }
    }
    let period_s = 2.0 * TAU / speed_rad_s;
    let cycle = |loads_n| Cycle { period_s, loads_n, turning_rad_s: vec![speed_rad_s; steps] };
    Ok(Loads { big_ends: vec![strokes.big_end(); layout.seats.len()], mains: mains.into_iter().map(cycle).collect() })
}

/// The load of a pin so many steps after its cylinder's firing, evenly between two instants where it falls between.
fn pin_n(instants: &[Stroke], since: f64) -> [f64; 2] {
    let place = since.rem_euclid(instants.len() as f64);
    let (step, part) = (place.floor() as usize, place.fract());
    let at = |step: usize| instants.get(step % instants.len()).map_or([0.0; 2], |stroke| stroke.pin_n);
    if part == 0.0 {
        return at(step);
    }
    let (from, to) = (at(step), at(step + 1));
    [from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1])]
}

fn none() -> Problems {
    Problems::one("engine", "not usable", "a whole engine", "nothing can be said about it")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three mains: the second carries the first's loads half a cycle later, the third others.
    #[test]
    fn a_main_that_carries_the_same_later_is_a_twin() {
        let load = |step: usize| [(step * step % 37) as f64, step as f64];
        let cycle = |later: usize, times: f64| Cycle {
            period_s: 0.04,
            loads_n: (0..72).map(|step| load((step + later) % 72).map(|part| times * part)).collect(),
            turning_rad_s: vec![314.0; 72],
        };
        let loads = Loads { big_ends: Vec::new(), mains: vec![cycle(0, 1.0), cycle(36, 1.0), cycle(0, 1.001)] };
        assert_eq!(loads.twins(), [0, 0, 2]);
    }
}
