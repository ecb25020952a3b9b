//! What is worked out once and serves every clearance: the maps of the bearings' shapes, and the loads of a condition.

use super::state::unusable;
use super::{Case, Condition, Groove};
use crate::bearing::Size;
use crate::engine::{Burning, Cylinder, Loads, loads};
use crate::mobility::{Law, Map};
use crate::oil::Oil;
use crate::problem::{Checks, Problems};

/// What changes neither with clearance nor with condition.
#[derive(Debug)]
pub(super) struct Maps {
    pub pin: Map,
    /// The width that [`main_size`] gives.
    main: Map,
    /// One land beside the groove, where the upper shell alone is grooved.
    land: Option<Map>,
}

impl Maps {
    pub(super) fn new(case: &Case) -> Result<Maps, Problems> {
        Maps::beside(case, None)
    }

    /// The maps of a case, taken over from another where their shapes are the same.
    pub(super) fn beside(case: &Case, known: Option<&Maps>) -> Result<Maps, Problems> {
        let map = |ratio: f64, known: Option<&Map>| match known {
            Some(map) if map.length_over_diameter() == ratio => Ok(map.clone()),
            _ => Map::new(ratio),
        };
        let mut checks = Checks::new();
        let (pin, main, land) = shapes(case);
        let pin = checks.take("pin", map(pin, known.map(|known| &known.pin)));
        let main = checks.take("main", map(main, known.map(|known| &known.main)));
        let known_land = known.and_then(|known| known.land.as_ref());
        let land = land.and_then(|ratio| checks.take("main land", map(ratio, known_land)));
        checks.finish()?;
        match (pin, main) {
            (Some(pin), Some(main)) => Ok(Maps { pin, main, land }),
            _ => Err(unusable()),
        }
    }

    /// Whether these maps have the shapes of a case.
    pub(super) fn still_fit(&self, case: &Case) -> bool {
        let land = self.land.as_ref().map(Map::length_over_diameter);
        (self.pin.length_over_diameter(), self.main.length_over_diameter(), land) == shapes(case)
    }

    /// How a journal drifts in a main.
    pub(super) fn main_law(&self) -> Law<'_> {
        match &self.land {
            Some(land) => Law::UpperGroove { whole: &self.main, land },
            None => Law::Map(&self.main),
        }
    }
}

/// Width over diameter of what carries in a pin and in a main, and of a main's land where its upper shell alone is
/// grooved.
fn shapes(case: &Case) -> (f64, f64, Option<f64>) {
    let main = main_size(case, 1e-5);
    let land = (case.groove == Groove::Upper).then(|| Size { length_m: land(case), ..main }.length_over_diameter());
    (pin_size(case, 1e-5).length_over_diameter(), main.length_over_diameter(), land)
}

pub(super) fn pin_size(case: &Case, diametral_m: f64) -> Size {
    let figures = &case.figures;
    Size {
        diameter_m: figures.pin_diameter_m.value,
        length_m: figures.pin_length_m.value,
        radial_clearance_m: 0.5 * diametral_m,
    }
}

/// What carries in a main: one land where the groove runs all the way round, else the whole width.
pub(super) fn main_size(case: &Case, diametral_m: f64) -> Size {
    let figures = &case.figures;
    let length_m = match case.groove {
        Groove::Upper => figures.main_length_m.value,
        Groove::Full => land(case),
    };
    Size { diameter_m: figures.main_diameter_m.value, length_m, radial_clearance_m: 0.5 * diametral_m }
}

/// Width of one land beside the groove.
pub(super) fn land(case: &Case) -> f64 {
    0.5 * (case.figures.main_length_m.value - case.figures.main_groove_m.value)
}

/// A condition with all that follows from it before any clearance is known.
#[derive(Debug)]
pub(super) struct Prepared {
    pub condition: Condition,
    pub speed_rpm: f64,
    pub speed_rev_s: f64,
    pub supply_temp_c: f64,
    pub loads: Loads,
    pub oil: Oil,
    pub speed_rad_s: f64,
}

/// Instants of a cycle: one for each degree.
const STEPS_PER_DEG: usize = 1;

impl Prepared {
    pub(super) fn new(case: &Case, condition: Condition) -> Result<Prepared, Problems> {
        let (rpm, load) = match condition {
            Condition::HotIdle | Condition::Cold => (case.figures.idle_rpm, 0.0),
            Condition::HotRunning => (case.figures.running_rpm, 1.0),
        };
        Prepared::at_speed(case, condition, rpm.value, load)
    }

    /// The same at another speed, and at a load from 0 at idle to 1 in full.
    pub(super) fn at_speed(case: &Case, condition: Condition, rpm: f64, load: f64) -> Result<Prepared, Problems> {
        let figures = &case.figures;
        let supply_temp_c = match condition {
            Condition::HotIdle | Condition::HotRunning => figures.oil_hot_c,
            Condition::Cold => figures.oil_cold_c,
        };
        let between = |idle: f64, full: f64| (1.0 - load) * idle + load * full;
        let heat_share = between(figures.heat_idle_share.value, 1.0);
        let charge = between(figures.charge_idle_pa.value, figures.charge_running_pa.value);
        let rod = figures.rod_kg.value;
        let big = figures.rod_big_share.value;
        let cylinder = Cylinder {
            bore_m: figures.bore_m.value,
            stroke_m: figures.stroke_m.value,
            rod_m: figures.rod_m.value,
            reciprocating_kg: figures.piston_kg.value + (1.0 - big) * rod,
            rotating_kg: big * rod,
            crankcase_pa: 1e5,
        };
        let swept = 0.25 * std::f64::consts::PI * cylinder.bore_m * cylinder.bore_m * cylinder.stroke_m;
        let gas = Burning {
            compression_ratio: figures.compression_ratio.value,
            exponent: figures.gas_exponent.value,
            charge_pa: charge,
            exhaust_pa: 1.1e5,
            intake_pa: 0.95 * charge,
            heat_j: heat_share * figures.heat_j_m3.value * swept * charge / 1e5,
            burn_from_deg: figures.burn_from_deg.value,
            burn_for_deg: figures.burn_for_deg.value,
            wiebe_a: 5.0,
            wiebe_m: 2.0,
            blow_down_deg: 15.0,
        };
        let mut layout = case.layout()?;
        layout.throw_unbalance_kg = figures.throw_unbalance_kg.value;
        let speed_rad_s = rpm * std::f64::consts::TAU / 60.0;
        let pressures = gas.pressures_pa(&cylinder, STEPS_PER_DEG)?;
        let loads = loads(&cylinder, &pressures, speed_rad_s, &layout)?;
        Ok(Prepared {
            condition,
            speed_rpm: rpm,
            speed_rev_s: rpm / 60.0,
            supply_temp_c: supply_temp_c.value,
            loads,
            oil: case.oil_data()?,
            speed_rad_s,
        })
    }

    /// Heat that a cubic metre of the oil takes up for one degree.
    pub(super) fn oil_heat_j_m3_k(&self) -> f64 {
        self.oil.heat_j_kg_k(self.supply_temp_c) * self.oil.density_kg_m3(self.supply_temp_c)
    }

    /// Viscosity in a film at a temperature: the oil's, thinned by shear.
    pub(super) fn film_viscosity(&self, case: &Case, temp_c: f64) -> f64 {
        case.figures.shear_share.value * self.oil.viscosity_pa_s(temp_c)
    }
}
