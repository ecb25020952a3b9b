//! What the engine does to its bearings: from gas and inertia to the loads on pins and mains over a cycle.
//!
//! Angles are crank angles in degrees, the crank turns counter-clockwise, X points right and Y up along the bore of an
//! upright cylinder. A cycle is two turns and begins at a firing top dead centre. Weight is left out.

use std::f64::consts::{PI, TAU};

use serde::{Deserialize, Serialize};

use crate::orbit::Cycle;
use crate::problem::{Checks, Problems};

/// One cylinder with its piston and rod.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cylinder {
    /// Diameter of the bore.
    pub bore_m: f64,
    /// Stroke, twice the throw.
    pub stroke_m: f64,
    /// Length of the rod from eye to eye.
    pub rod_m: f64,
    /// Mass that goes up and down: piston, rings, gudgeon pin, and the small end's share of the rod.
    pub reciprocating_kg: f64,
    /// The big end's share of the rod, which goes round with the pin.
    pub rotating_kg: f64,
    /// Pressure below the piston, absolute.
    pub crankcase_pa: f64,
}

impl Cylinder {
    fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        let crank = "a slider-crank needs it";
        checks
            .positive("bore_m", self.bore_m, crank)
            .positive("stroke_m", self.stroke_m, crank)
            .positive("rod_m", self.rod_m, crank)
            .that(
                !self.rod_m.is_finite() || self.rod_m > 0.6 * self.stroke_m,
                "rod_m",
                self.rod_m,
                "more than six tenths of the stroke",
                "a shorter rod would not clear the bore, and one shorter than the throw could not turn",
            )
            .positive("reciprocating_kg", self.reciprocating_kg, "a piston has mass")
            .between("rotating_kg", self.rotating_kg, 0.0, 1e6, "a mass is not negative")
            .between("crankcase_pa", self.crankcase_pa, 0.0, 1e7, "an absolute pressure is not negative");
        checks.finish()
    }

    fn area_m2(&self) -> f64 {
        0.25 * PI * self.bore_m * self.bore_m
    }

    /// Throw of the crank over length of the rod.
    fn lean(&self) -> f64 {
        0.5 * self.stroke_m / self.rod_m
    }

    /// Height of the gudgeon pin above the crank's axis.
    fn height_m(&self, angle: f64) -> f64 {
        let throw = 0.5 * self.stroke_m;
        throw * angle.cos() + (self.rod_m * self.rod_m - (throw * angle.sin()).powi(2)).sqrt()
    }

    /// How far the piston has come down from the top.
    fn travel_m(&self, angle: f64) -> f64 {
        0.5 * self.stroke_m + self.rod_m - self.height_m(angle)
    }

    /// The same, for a radian.
    fn travel_rate_m(&self, angle: f64) -> f64 {
        let (sin, cos) = angle.sin_cos();
        let slant = (1.0 - (self.lean() * sin).powi(2)).sqrt();
        0.5 * self.stroke_m * sin * (1.0 + self.lean() * cos / slant)
    }
}

/// A modelled cycle of gas pressure: Wiebe's burning between polytropic compression and expansion, then blow-down and
/// breathing at constant pressures.
///
/// # Limits
/// A stand-in where no indicator diagram is at hand: no heat loss but by the exponent, no valve events. The peak decides
/// the load at low speed and is known no better than compression, charge and timing are.
/// # Source
/// Heat release of Wiebe: x = 1 − exp(−a ((θ − θ₀)/Δθ)^(m + 1)); first law with constant γ:
/// dp/dθ = −γ p V'/V + (γ − 1) Q x'/V.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Burning {
    /// Compression ratio.
    pub compression_ratio: f64,
    /// Exponent of compression and expansion.
    pub exponent: f64,
    /// Pressure at the bottom before compression, absolute.
    pub charge_pa: f64,
    /// Pressure while the exhaust is pushed out, absolute.
    pub exhaust_pa: f64,
    /// Pressure while fresh gas is drawn in, absolute.
    pub intake_pa: f64,
    /// Heat released in one cycle.
    pub heat_j: f64,
    /// Where burning begins, counted from firing top dead centre, mostly negative.
    pub burn_from_deg: f64,
    /// How long it lasts.
    pub burn_for_deg: f64,
    /// Wiebe's a: 5 burns all but a hundred and fiftieth in that time.
    pub wiebe_a: f64,
    /// Wiebe's m.
    pub wiebe_m: f64,
    /// Crank angle in which the pressure left at the bottom falls to its e-th part.
    pub blow_down_deg: f64,
}

impl Burning {
    fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        checks
            .between("compression_ratio", self.compression_ratio, 1.5, 40.0, "no engine runs beyond")
            .between("exponent", self.exponent, 1.0, 1.67, "gases compress between isothermal and monatomic adiabatic")
            .between("charge_pa", self.charge_pa, 1e3, 2e6, "an engine breathes something like air")
            .between("exhaust_pa", self.exhaust_pa, 1e3, 2e6, "an engine breathes something like air")
            .between("intake_pa", self.intake_pa, 1e3, 2e6, "an engine breathes something like air")
            .between("heat_j", self.heat_j, 0.0, 1e7, "burning does not cool")
            .between("burn_from_deg", self.burn_from_deg, -120.0, 120.0, "fuel burns near top dead centre")
            .between("burn_for_deg", self.burn_for_deg, 1.0, 240.0, "fuel takes time to burn")
            .between("wiebe_a", self.wiebe_a, 0.5, 20.0, "the usual value is 5")
            .between("wiebe_m", self.wiebe_m, 0.0, 10.0, "the usual value is 2")
            .between("blow_down_deg", self.blow_down_deg, 1.0, 180.0, "the exhaust valve opens for less than a turn");
        checks.finish()
    }

    /// Share of the fuel burnt per radian. The last hundred and fiftieth burns on after the stated end.
    fn burning(&self, degrees: f64) -> f64 {
        let part = (degrees - self.burn_from_deg) / self.burn_for_deg;
        if part <= 0.0 {
            return 0.0;
        }
        let power = part.powf(self.wiebe_m);
        let steep = self.wiebe_a * (self.wiebe_m + 1.0) * power / self.burn_for_deg.to_radians();
        steep * (-self.wiebe_a * power * part).exp()
    }

    /// Absolute pressures over a cycle from firing top dead centre, `steps` to a degree.
    ///
    /// # Errors
    /// Inputs that cannot be used, all at once.
    pub fn pressures_pa(&self, cylinder: &Cylinder, steps_per_deg: usize) -> Result<Vec<f64>, Problems> {
        let mut checks = Checks::new();
        checks.take("cylinder", cylinder.check());
        checks.take("gas", self.check());
        checks.that((1..=20).contains(&steps_per_deg), "steps_per_deg", steps_per_deg, "1 to 20", "a curve has steps");
        checks.finish()?;
        let swept = cylinder.area_m2() * cylinder.stroke_m;
        let clearance = swept / (self.compression_ratio - 1.0);
        let rate = |degrees: f64, pressure: f64| {
            let angle = degrees.to_radians();
            let volume = clearance + cylinder.area_m2() * cylinder.travel_m(angle);
            let growth = cylinder.area_m2() * cylinder.travel_rate_m(angle);
            (-self.exponent * pressure * growth + (self.exponent - 1.0) * self.heat_j * self.burning(degrees)) / volume
        };
        let steps = 360 * steps_per_deg;
        let step = 1.0 / steps_per_deg as f64;
        let mut closed = Vec::with_capacity(steps + 1);
        let mut pressure = self.charge_pa;
        for place in 0..=steps {
            closed.push(pressure);
            // Cut finer so that the ends of burning, where the rate kinks, do not show.
            let cuts = 4;
            let cut = step / f64::from(cuts);
            for part in 0..cuts {
                let from = -180.0 + place as f64 * step + f64::from(part) * cut;
                let radians = cut.to_radians();
                let first = rate(from, pressure);
                let second = rate(from + 0.5 * cut, pressure + 0.5 * radians * first);
                let third = rate(from + 0.5 * cut, pressure + 0.5 * radians * second);
                let fourth = rate(from + cut, pressure + radians * third);
                pressure += radians * (first + 2.0 * (second + third) + fourth) / 6.0;
            }
        }
        let released = closed.last().copied().unwrap_or(self.charge_pa);
        let top = 180 * steps_per_deg;
        let mut cycle = Vec::with_capacity(2 * steps);
        cycle.extend(&closed[top..]);
        for place in 1..steps {
            let degrees = 180.0 + place as f64 * step;
            cycle.push(self.breathing(degrees, released));
        }
        cycle.extend(&closed[..top]);
        Ok(cycle)
    }

    /// Pressure between the end of expansion (180°) and the beginning of compression (540°).
    fn breathing(&self, degrees: f64, released: f64) -> f64 {
        let between = |from: f64, to: f64, part: f64| from + (to - from) * part;
        if degrees <= 360.0 {
            let faded = (-(degrees - 180.0) / self.blow_down_deg).exp();
            self.exhaust_pa + (released - self.exhaust_pa) * faded
        } else if degrees < 380.0 {
            between(self.exhaust_pa, self.intake_pa, (degrees - 360.0) / 20.0)
        } else if degrees < 520.0 {
            self.intake_pa
        } else {
            between(self.intake_pa, self.charge_pa, (degrees - 520.0) / 20.0)
        }
    }
}

/// One instant of the slider-crank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stroke {
    /// Crank angle from this cylinder's firing top dead centre.
    pub crank_deg: f64,
    /// Gas pressure, absolute.
    pub pressure_pa: f64,
    /// Acceleration of the piston, upwards.
    pub acceleration_m_s2: f64,
    /// Push of the rod, positive where it is squeezed.
    pub rod_n: f64,
    /// Push of the piston on the wall.
    pub side_n: f64,
    /// The load with which the crankpin presses on its shell, along X and Y of the cylinder.
    pub pin_n: [f64; 2],
    /// The same, across the rod (to its right, seen towards the piston) and along it.
    pub pin_in_rod_n: [f64; 2],
    /// How fast the rod turns, counter-clockwise.
    pub rod_rad_s: f64,
}

/// The strokes of one cylinder over a cycle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Strokes {
    /// Speed of the crank.
    pub speed_rad_s: f64,
    /// From firing top dead centre at equal steps; the end, which is the beginning again, left out.
    pub instants: Vec<Stroke>,
}

/// Works out the strokes of a cylinder from its pressures over a cycle (720°, at equal steps from firing top dead centre).
///
/// # Errors
/// Inputs that cannot be used, all at once.
/// # Limits
/// The rod is two masses at its eyes; no friction, no weight, steady speed.
/// # Source
/// The slider-crank in closed form: x = r cos θ + √(l² − r² sin² θ) and its second derivative. Rod on pin is the rod's
/// push and the rotating mass's pull; the pin presses on its shell with the opposite.
pub fn strokes(cylinder: &Cylinder, pressures_pa: &[f64], speed_rad_s: f64) -> Result<Strokes, Problems> {
    let mut checks = Checks::new();
    checks.take("cylinder", cylinder.check());
    let worst = pressures_pa.iter().copied().find(|pressure| !(pressure.is_finite() && (0.0..1e9).contains(pressure)));
    checks
        .between("speed_rad_s", speed_rad_s, 0.1, 1e5, "a crank that stands still makes no cycle")
        .that(pressures_pa.len() >= 24, "pressures_pa", pressures_pa.len(), "24 values or more", "a cycle needs steps")
        .that(
            worst.is_none(),
            "pressures_pa",
            worst.unwrap_or_default(),
            "absolute pressures from 0 up",
            "a gas does not pull",
        );
    checks.finish()?;
    let steps = pressures_pa.len();
    let instants = pressures_pa
        .iter()
        .enumerate()
        .map(|(step, pressure)| stroke(cylinder, *pressure, 720.0 * step as f64 / steps as f64, speed_rad_s))
        .collect();
    Ok(Strokes { speed_rad_s, instants })
}

fn stroke(cylinder: &Cylinder, pressure_pa: f64, crank_deg: f64, speed_rad_s: f64) -> Stroke {
    let (sin, cos) = crank_deg.to_radians().sin_cos();
    let (throw, lean) = (0.5 * cylinder.stroke_m, cylinder.lean());
    let slant_sin = lean * sin;
    let slant_cos = (1.0 - slant_sin * slant_sin).sqrt();
    let square = speed_rad_s * speed_rad_s;
    let twice = cos * cos - sin * sin;
    let acceleration_m_s2 =
        -throw * square * (cos + lean * twice / slant_cos + lean.powi(3) * (sin * cos).powi(2) / slant_cos.powi(3));
    let gas = (pressure_pa - cylinder.crankcase_pa) * cylinder.area_m2();
    let rod_n = (gas + cylinder.reciprocating_kg * acceleration_m_s2) / slant_cos;
    // The crankpin stands at throw · (−sin, cos); the rod leans back over the axis, along (sin β, cos β).
    let pull = cylinder.rotating_kg * throw * square;
    let pin_n = [rod_n * slant_sin + pull * sin, rod_n * slant_cos - pull * cos];
    Stroke {
        crank_deg,
        pressure_pa,
        acceleration_m_s2,
        rod_n,
        side_n: rod_n * slant_sin,
        pin_n,
        pin_in_rod_n: [pin_n[0] * slant_cos - pin_n[1] * slant_sin, pin_n[0] * slant_sin + pin_n[1] * slant_cos],
        rod_rad_s: -speed_rad_s * lean * cos / slant_cos,
    }
}

impl Strokes {
    /// The load on the big end over the cycle, seen from the rod.
    pub fn big_end(&self) -> Cycle {
        Cycle {
            period_s: 2.0 * TAU / self.speed_rad_s,
            loads_n: self.instants.iter().map(|stroke| stroke.pin_in_rod_n).collect(),
            turning_rad_s: self.instants.iter().map(|stroke| self.speed_rad_s - stroke.rod_rad_s).collect(),
        }
    }
}

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
