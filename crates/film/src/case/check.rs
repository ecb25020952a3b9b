//! What is wrong with a case, all of it at once.

use super::{Case, Input, Mark, OIL_BEARS_C};
use crate::engine::Layout;
use crate::problem::{Checks, Problems};

impl Case {
    /// Looks the whole case over.
    ///
    /// # Errors
    /// Everything that cannot be worked with, at once.
    pub fn check(&self) -> Result<(), Problems> {
        let mut checks = Checks::new();
        let layout = checks.take("layout", self.layout());
        checks.take("oil", self.oil_data());
        self.check_figures(&mut checks);
        if let Some(layout) = layout.filter(|_| self.along.is_some()) {
            self.check_room(&layout, &mut checks);
        }
        checks
            .that(
                (1..=20).contains(&self.clearances.len()),
                "clearances",
                self.clearances.len(),
                "1 to 20 clearances",
                "without a clearance there is nothing to ask",
            )
            .that(
                self.plan < self.clearances.len().max(1),
                "plan",
                self.plan,
                "one of the clearances",
                "the curve is worked out round the plan",
            );
        let (pin, main) = (self.figures.pin_diameter_m.value, self.figures.main_diameter_m.value);
        let (rods, mains) = (self.cylinder_count(), self.main_count());
        for (place, clearance) in self.clearances.iter().enumerate() {
            for (name, common, each, diameter, count) in [
                ("pin", clearance.pin_diametral_m, &clearance.each_pin_m, pin, rods),
                ("main", clearance.main_diametral_m, &clearance.each_main_m, main, mains),
            ] {
                let field = format!("clearances[{}].{name}_diametral_m", place + 1);
                check_gap(&field, common, diameter, &mut checks);
                let field = format!("clearances[{}].each_{name}_m", place + 1);
                checks.that(
                    each.is_empty() || each.len() == count,
                    &field,
                    each.len(),
                    &format!("one for each of {count}, or none"),
                    "a bearing that is left out leaks nothing",
                );
                for (number, own) in (1..).zip(each) {
                    check_gap(&format!("{field}[{number}]"), *own, diameter, &mut checks);
                }
            }
        }
        checks.finish()
    }

    /// Whether the shells find room side by side. Books round places, so only the half of it is asked for.
    fn check_room(&self, layout: &Layout, checks: &mut Checks) {
        let figures = &self.figures;
        for (throw, place) in layout.along.throws_m.iter().enumerate() {
            let rods = layout.seats.iter().filter(|seat| seat.throw == throw).count() as f64;
            let needed = 0.5 * (figures.main_length_m.value + rods * figures.pin_length_m.value);
            let nearest = layout.along.mains_m.iter().map(|main| (main - place).abs()).fold(f64::INFINITY, f64::min);
            checks.that(
                nearest >= 0.5 * needed || needed.is_nan(),
                &format!("layout.along.throws_m[{}]", throw + 1),
                format!("{place} m, which is {nearest} m from the nearest main"),
                "a quarter of the widths of main and rod shells from the nearest main, or further",
                "pin and main would stand in one another; are places and widths in one unit?",
            );
        }
    }

    fn check_figures(&self, checks: &mut Checks) {
        let usable = |(name, input): &(&'static str, Input)| {
            let Bounds { from, to, .. } = bounds(name);
            (from..=to).contains(&input.value)
        };
        let figures = self.figures.list();
        // What is assumed follows from what is given: where a given figure is at fault, its echoes are not repeated.
        let given_fault = figures.iter().any(|figure| figure.1.mark == Mark::Given && !usable(figure));
        for (name, input) in figures {
            let Bounds { from, to, below, above } = bounds(name);
            let physics = if input.value > to { above } else { below };
            match input.mark {
                Mark::Given => {
                    checks.between(name, input.value, from, to, physics);
                }
                Mark::Assumed { .. } if given_fault => {}
                Mark::Assumed { from: low, to: high } => {
                    let ordered = low <= input.value && input.value <= high && low >= from && high <= to;
                    checks.between(name, input.value, from, to, physics).that(
                        ordered || !input.value.is_finite(),
                        &format!("{name}.assumed"),
                        format!("{low} to {high}"),
                        "a range round the value, within what is usable",
                        "the answer is worked out at both ends of it",
                    );
                }
            }
        }
        let figures = &self.figures;
        checks
            .that(
                above(figures.rod_m.value, 0.6 * figures.stroke_m.value),
                "rod_m",
                figures.rod_m.value,
                "more than six tenths of the stroke",
                "a shorter rod could not turn",
            )
            .that(
                above(0.8 * figures.main_length_m.value, figures.main_groove_m.value),
                "main_groove_m",
                figures.main_groove_m.value,
                "under eight tenths of the shell's width",
                "the lands beside the groove carry",
            )
            .that(
                above(figures.running_rpm.value, 0.999_999 * figures.idle_rpm.value),
                "running_rpm",
                figures.running_rpm.value,
                "idle speed or above",
                "an engine does not run slower than it idles",
            );
    }
}

/// A clearance must be a gap, and a bearing's.
fn check_gap(field: &str, gap: f64, diameter: f64, checks: &mut Checks) {
    let (from, to) = (LEAST_SHARE * diameter, MOST_SHARE * diameter);
    let physics = match gap {
        gap if gap > to => "beyond a fiftieth of the journal it is no bearing any more",
        gap if gap > 0.0 => "a gap under a ten-thousandth of the journal closes as the engine warms",
        _ => "without a gap there is no film",
    };
    checks.between(field, gap, from.max(0.0), to.max(0.0), physics);
}

/// Whether one figure is above another; a figure that is not a number has been spoken of already.
fn above(value: f64, limit: f64) -> bool {
    value.is_nan() || limit.is_nan() || value > limit
}

/// The least clearance over its journal's diameter that is worked out: a tenth of the usual one.
///
/// Common practice, no source: a thousandth is usual; a bearing so tight closes as it warms.
const LEAST_SHARE: f64 = 1e-4;
/// The most. Films are thin beside their journals, or the equation does not hold.
const MOST_SHARE: f64 = 0.02;

/// What a figure may be at all, and what is wrong below and above.
struct Bounds {
    from: f64,
    to: f64,
    below: &'static str,
    above: &'static str,
}

fn bounds(name: &str) -> Bounds {
    let (from, to, below, above) = match name {
        "bore_m" | "stroke_m" => (0.01, 1.5, "no engine’s cylinder is so small", "no engine’s cylinder is so large"),
        "rod_m" => (0.01, 5.0, "a rod is longer than the throw", "no rod is so long"),
        "pin_diameter_m" | "main_diameter_m" => (0.005, 1.0, "a journal has a surface", "no journal is so large"),
        "pin_length_m" | "main_length_m" => {
            (0.002, 1.0, "a shell without width carries nothing", "no shell is so wide")
        }
        "pin_hole_m" => (1e-4, 0.1, "no oil comes through a hole that is not there", "no journal bears such a hole"),
        "main_groove_m" => (0.0, 0.5, "a groove is not negative", "no shell has room for it"),
        "piston_kg" | "rod_kg" => (1e-3, 1e3, "moving parts have mass", "no engine moves such masses"),
        "rod_big_share" => (0.0, 1.0, "a share of the rod", "a share of the rod"),
        "heat_idle_share" => (0.0, 2.0, "an idling engine burns something", "an idling engine burns little"),
        "throw_unbalance_kg" => (-1e3, 1e3, "no throw is so light", "no throw is so heavy"),
        "compression_ratio" => (1.5, 40.0, "without compression nothing turns the crank", "no engine runs beyond"),
        "charge_running_pa" | "charge_idle_pa" => {
            (5e3, 1e6, "an engine breathes something like air", "an engine breathes something like air")
        }
        "heat_j_m3" => (0.0, 1e7, "burning does not cool", "no fuel burns so hot"),
        "burn_from_deg" => (-120.0, 60.0, "fuel burns near top dead centre", "fuel burns near top dead centre"),
        "burn_for_deg" => (5.0, 200.0, "fuel takes time to burn", "fuel burns in one stroke"),
        "gas_exponent" => {
            let gases = "gases compress between isothermal and adiabatic";
            (1.05, 1.6, gases, gases)
        }
        "roughness_m" => (0.0, 1e-4, "surfaces are not smoother than smooth", "a journal so rough is not ground"),
        "oil_hot_c" | "oil_cold_c" => (-40.0, OIL_BEARS_C, "engine oil is solid there", "engine oil does not bear it"),
        "shear_share" => (0.2, 1.2, "oil thins under shear, but does not vanish", "shear does not thicken oil"),
        "idle_rpm" | "running_rpm" => {
            (30.0, 30_000.0, "a journal that stands still carries nothing", "no engine turns so fast")
        }
        "pump_m3_rev" => (1e-8, 1e-1, "a pump moves oil", "no engine carries such a pump"),
        "pump_slip_m3" => (0.0, 1e-6, "a pump does not slip forwards", "a pump that slips so much moves nothing"),
        "relief_opens_pa" => (1e3, 1e8, "a valve opens at some pressure", "the filter bursts before that"),
        "relief_gain_m3_s_pa" => (1e-13, 1e-3, "a valve that never opens bursts the filter", "no valve is so wide"),
        "other_outlets_m2" => (0.0, 1.0, "a hole is open or shut", "an engine with such holes keeps no oil"),
        _ => (0.0, 1e20, "passages lose pressure and never gain any", "nothing would come through"),
    };
    Bounds { from, to, below, above }
}
