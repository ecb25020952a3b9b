//! Gas pressure over a cycle where no indicator diagram is at hand.

use serde::{Deserialize, Serialize};

use super::Cylinder;
use crate::problem::{Checks, Problems};

/// A modelled cycle of gas pressure: Wiebe's burning between polytropic compression and expansion, then blow-down and
/// breathing at constant pressures.
///
/// # Limits
/// A stand-in where no indicator diagram is at hand: no heat loss but by the exponent, no valve events. The peak
/// decides the load at low speed and is known no better than compression, charge and timing are.
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
        let area = cylinder.area_m2();
        let clearance = area * cylinder.stroke_m / (self.compression_ratio - 1.0);
        // How fast the pressure would grow of itself, by the pressure, and by what burns.
        let rates = |degrees: f64| {
            let (travel, travel_rate) = cylinder.travel_m(degrees.to_radians());
            let volume = clearance + area * travel;
            let burning = (self.exponent - 1.0) * self.heat_j * self.burning(degrees);
            (-self.exponent * area * travel_rate / volume, burning / volume)
        };
        let steps = 360 * steps_per_deg;
        let step = 1.0 / steps_per_deg as f64;
        let mut closed = Vec::with_capacity(steps + 1);
        let mut pressure = self.charge_pa;
        let mut at_end = rates(-180.0);
        for place in 0..=steps {
            closed.push(pressure);
            let begins = -180.0 + place as f64 * step;
            // Cut finer so that the ends of burning, where the rate kinks, do not show. Elsewhere the curve is smooth.
            let burns = begins + step > self.burn_from_deg && begins < self.burn_from_deg + 2.0 * self.burn_for_deg;
            let cuts = if burns { 4 } else { 1 };
            let cut = step / f64::from(cuts);
            let radians = cut.to_radians();
            for part in 0..cuts {
                let from = begins + f64::from(part) * cut;
                let (at_start, middle) = (at_end, rates(from + 0.5 * cut));
                at_end = rates(from + cut);
                let rate = |(grows, burns): (f64, f64), pressure: f64| grows * pressure + burns;
                let first = rate(at_start, pressure);
                let second = rate(middle, pressure + 0.5 * radians * first);
                let third = rate(middle, pressure + 0.5 * radians * second);
                let fourth = rate(at_end, pressure + radians * third);
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
