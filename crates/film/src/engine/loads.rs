//! How the cylinders sit on the crank, and what that puts on each bearing.

use std::f64::consts::TAU;

use serde::{Deserialize, Serialize};

use super::{Cylinder, strokes};
use crate::orbit::Cycle;
use crate::problem::{Checks, Problems};

/// Where a cylinder sits and when it fires.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Seat {
    /// Which throw its rod is on, counted from 0 at the nose.
    pub throw: usize,
    /// Lean of the bore from Y, counter-clockwise; 0 for an upright engine.
    pub bank_deg: f64,
    /// Crank angle at which it fires, from 0 up to 720.
    pub fires_deg: f64,
}

/// How the crank is laid out: its throws from the nose on, a main before, between and behind them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Layout {
    /// Angle of each throw ahead of Y at crank angle 0, counter-clockwise.
    pub throws_deg: Vec<f64>,
    /// The cylinders.
    pub seats: Vec<Seat>,
    /// Mass of pin and webs of one throw, less its counterweights, as if at the pin; negative where the counterweights
    /// take more than pin and webs.
    pub throw_unbalance_kg: f64,
}

impl Layout {
    /// An upright engine with one cylinder to each throw, from the angles at which the throws stand and the order in
    /// which the cylinders, counted from 1 at the nose, fire at equal distances.
    ///
    /// # Errors
    /// A firing order that does not name every cylinder once, or in which a cylinder would fire with its piston not at
    /// the top whichever way the crank turns.
    pub fn upright(throws_deg: &[f64], firing_order: &[usize]) -> Result<Layout, Problems> {
        let cylinders = throws_deg.len();
        let mut seen: Vec<usize> = firing_order.to_vec();
        seen.sort_unstable();
        let mut checks = Checks::new();
        checks.that(
            cylinders > 0 && seen.iter().copied().eq(1..=cylinders),
            "firing_order",
            format!("{firing_order:?}"),
            &format!("each of the {cylinders} cylinders once"),
            "every cylinder fires once in two turns",
        );
        checks.finish()?;
        let apart = 720.0 / cylinders as f64;
        let mut seats = Vec::with_capacity(cylinders);
        for throw in 0..cylinders {
            let place = firing_order.iter().position(|cylinder| *cylinder == throw + 1).unwrap_or(0);
            seats.push(Seat { throw, bank_deg: 0.0, fires_deg: apart * place as f64 });
        }
        let mut layout = Layout { throws_deg: throws_deg.to_vec(), seats, throw_unbalance_kg: 0.0 };
        if layout.check().is_err() {
            // Listed the other way round, as seen from the other end: for the loads that is only a mirror image.
            layout.throws_deg = throws_deg.iter().map(|angle| -angle).collect();
        }
        layout.check()?;
        Ok(layout)
    }

    fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        checks
            .that(
                (1..=24).contains(&self.throws_deg.len()) && self.throws_deg.iter().all(|angle| angle.is_finite()),
                "throws_deg",
                self.throws_deg.len(),
                "1 to 24 throws at finite angles",
                "a crank has throws",
            )
            .that(
                (1..=48).contains(&self.seats.len()),
                "seats",
                self.seats.len(),
                "1 to 48 cylinders",
                "without cylinders there is no load",
            )
            .between("throw_unbalance_kg", self.throw_unbalance_kg, -1e4, 1e4, "a throw is not heavier");
        for (place, seat) in self.seats.iter().enumerate() {
            let field = format!("seats[{}]", place + 1);
            let Some(throw) = self.throws_deg.get(seat.throw) else {
                checks.that(false, &field, seat.throw, "one of the throws", "a rod needs a pin");
                continue;
            };
            // At its firing the throw must stand in line with the bore.
            let off = (throw + seat.fires_deg - seat.bank_deg).rem_euclid(360.0);
            let top = !(1e-6..=360.0 - 1e-6).contains(&off);
            checks.between(&field, seat.fires_deg, 0.0, 720.0, "a cycle is two turns").that(
                top,
                &field,
                seat.fires_deg,
                "an angle at which its piston is at the top",
                "a cylinder is taken to fire at top dead centre",
            );
        }
        checks.finish()
    }
}

/// The loads on every bearing of an engine.
#[derive(Clone, Debug)]
pub struct Loads {
    /// One for each cylinder, in the order of the seats, seen from the rod and beginning at its own firing.
    pub big_ends: Vec<Cycle>,
    /// One for each main from the nose on, seen from the block (X, Y), beginning at crank angle 0.
    pub mains: Vec<Cycle>,
}

/// Works out the loads on all big ends and mains of an engine whose cylinders are alike.
///
/// # Errors
/// Inputs that cannot be used, all at once.
/// # Limits
/// **Mains are taken as statically determinate**: each throw rests on its two mains as if the crank were cut at every
/// main, half of its load on each. A real crank and block share loads by their stiffness and by how straight the mains
/// are; single mains can differ by half and more.
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
        let late = (seat.fires_deg / 720.0 * steps as f64).round() as usize;
        if let Some(throw) = throws.get_mut(seat.throw) {
            for (step, force) in throw.iter_mut().enumerate() {
                let [x, y] = strokes.instants[(step + 2 * steps - late) % steps].pin_n;
                force[0] -= x * cos - y * sin;
                force[1] -= x * sin + y * cos;
            }
        }
    }
    let swing = layout.throw_unbalance_kg * 0.5 * cylinder.stroke_m * speed_rad_s * speed_rad_s;
    for (throw, angle) in throws.iter_mut().zip(&layout.throws_deg) {
        for (step, force) in throw.iter_mut().enumerate() {
            let (sin, cos) = (angle + 720.0 * step as f64 / steps as f64).to_radians().sin_cos();
            force[0] -= swing * sin;
            force[1] += swing * cos;
        }
    }
    let period_s = 2.0 * TAU / speed_rad_s;
    let half = |throw: Option<&Vec<[f64; 2]>>, step: usize| {
        throw.and_then(|forces| forces.get(step)).map_or([0.0; 2], |[x, y]| [0.5 * x, 0.5 * y])
    };
    let mains = (0..=throws.len())
        .map(|main| {
            let before = main.checked_sub(1).and_then(|throw| throws.get(throw));
            let behind = throws.get(main);
            let loads_n = (0..steps)
                .map(|step| {
                    let ([a, b], [c, d]) = (half(before, step), half(behind, step));
                    [a + c, b + d]
                })
                .collect();
            Cycle { period_s, loads_n, turning_rad_s: vec![speed_rad_s; steps] }
        })
        .collect();
    Ok(Loads { big_ends: vec![strokes.big_end(); layout.seats.len()], mains })
}

fn none() -> Problems {
    Problems::one("engine", "not usable", "a whole engine", "nothing can be said about it")
}
