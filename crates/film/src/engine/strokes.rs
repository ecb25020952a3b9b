//! The slider-crank of one cylinder.

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
    pub(super) fn check(&self) -> Result<(), Problems> {
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

    pub(super) fn area_m2(&self) -> f64 {
        0.25 * PI * self.bore_m * self.bore_m
    }

    /// Throw of the crank over length of the rod.
    fn lean(&self) -> f64 {
        0.5 * self.stroke_m / self.rod_m
    }

    /// How far the piston has come down from the top, and how fast it goes on, for a radian.
    pub(super) fn travel_m(&self, angle: f64) -> (f64, f64) {
        let (sin, cos) = angle.sin_cos();
        let throw = 0.5 * self.stroke_m;
        let slant = (1.0 - (self.lean() * sin).powi(2)).sqrt();
        (throw + self.rod_m - throw * cos - self.rod_m * slant, throw * sin * (1.0 + self.lean() * cos / slant))
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

/// Works out the strokes of a cylinder from its pressures over a cycle (720°, at equal steps from firing top dead
/// centre).
///
/// # Errors
/// Inputs that cannot be used, all at once.
/// # Limits
/// The rod is two masses at its eyes; no friction, no weight, steady speed.
/// # Source
/// The slider-crank in closed form: x = r cos θ + √(l² − r² sin² θ) and its second derivative. Rod on pin is the rod's
/// push and the rotating mass's pull; the pin presses on its shell with the opposite.
/// # Example
/// ```
/// use film::engine::{Cylinder, strokes};
/// let cylinder = Cylinder {
///     bore_m: 0.080,
///     stroke_m: 0.080,
///     rod_m: 0.140,
///     reciprocating_kg: 0.6,
///     rotating_kg: 0.0,
///     crankcase_pa: 1e5,
/// };
/// // No gas: at its top the piston is slowed by r ω² (1 + r/l), here 0.04 · 1e4 · (1 + 2/7).
/// let found = strokes(&cylinder, &[1e5; 720], 100.0)?;
/// assert!((found.instants[0].acceleration_m_s2 + 514.2857).abs() < 1e-3);
/// assert!((found.instants[0].rod_n + 0.6 * 514.2857).abs() < 1e-3);
/// # Ok::<(), film::Problems>(())
/// ```
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
