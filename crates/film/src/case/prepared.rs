//! What is worked out once and serves every clearance: the maps of the bearings' shapes, and the loads of a condition.

use std::sync::{Arc, OnceLock};

use super::state::unusable;
use super::{Case, Condition, Groove};
use crate::bearing::Size;
use crate::engine::{Burning, Cylinder, Layout, Loads, loads};
use crate::mobility::{Law, Map};
use crate::oil::Oil;
use crate::orbit::Stepping;
use crate::problem::{Checks, Problems};

/// How closely a case is worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Care {
    /// For an answer: films within half a per cent of [`Care::Settled`], the gauge within one.
    Usual,
    /// Paths in even steps until they close, temperatures until they stand: what [`Care::Usual`] is held to.
    Settled,
}

impl Care {
    pub(super) fn stepping(self) -> Stepping {
        match self {
            Care::Usual => Stepping::Strides,
            Care::Settled => Stepping::Even,
        }
    }

    /// Temperatures that move less than this from one round of orbits to the next have settled. A film follows the
    /// temperature of its orbit; the gauge, that to which the orbits lead, which moves a tenth as much.
    pub(super) fn settled_k(self, asked: Asked) -> f64 {
        match (self, asked) {
            (Care::Usual, Asked::Films) => 0.05,
            (Care::Usual, Asked::Gauge) => 0.5,
            (Care::Settled, _) => 0.003,
        }
    }

    /// Rounds of orbits in which temperatures settle, at the most.
    pub(super) fn rounds(self) -> usize {
        match self {
            Care::Usual => 6,
            Care::Settled => 30,
        }
    }
}

/// What a state is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Asked {
    /// Its films, and all else.
    Films,
    /// The gauge alone.
    Gauge,
}

/// What serves every clearance of a case.
#[derive(Debug)]
pub(super) struct Basis {
    pub maps: Maps,
    pub hot_idle: Prepared,
    pub hot_running: Prepared,
    pub cold: Prepared,
}

impl Basis {
    /// Looks a case over, and works out what serves all its clearances.
    pub(super) fn of(case: &Case, care: Care) -> Result<Basis, Problems> {
        case.check()?;
        let (maps, prepared) = rayon::join(
            || Maps::new(case),
            || {
                let hot_idle = Prepared::new(case, Condition::HotIdle, care, None)?;
                let hot_running = Prepared::new(case, Condition::HotRunning, care, None)?;
                let cold = Prepared::new(case, Condition::Cold, care, Some(&hot_idle))?;
                Ok::<_, Problems>((hot_idle, hot_running, cold))
            },
        );
        let (maps, (hot_idle, hot_running, cold)) = (maps?, prepared?);
        Ok(Basis { maps, hot_idle, hot_running, cold })
    }

    pub(super) fn at(&self, condition: Condition) -> &Prepared {
        match condition {
            Condition::HotIdle => &self.hot_idle,
            Condition::HotRunning => &self.hot_running,
            Condition::Cold => &self.cold,
        }
    }
}

/// What changes neither with clearance nor with condition.
#[derive(Clone, Debug)]
pub(super) struct Maps {
    pub pin: Arc<Map>,
    /// The width that [`main_size`] gives.
    main: Arc<Map>,
    /// One land beside the groove, where the upper shell alone is grooved.
    land: Option<Arc<Map>>,
}

impl Maps {
    pub(super) fn new(case: &Case) -> Result<Maps, Problems> {
        let mut checks = Checks::new();
        let (pin, main, land) = shapes(case);
        let pin = checks.take("pin", Map::kept(pin));
        let main = checks.take("main", Map::kept(main));
        let land = land.and_then(|ratio| checks.take("main land", Map::kept(ratio)));
        checks.finish()?;
        match (pin, main) {
            (Some(pin), Some(main)) => Ok(Maps { pin, main, land }),
            _ => Err(unusable()),
        }
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
    pub care: Care,
    pub speed_rpm: f64,
    pub speed_rev_s: f64,
    pub supply_temp_c: f64,
    pub loads: Arc<Loads>,
    pub oil: Oil,
    pub speed_rad_s: f64,
    /// What the loads follow from.
    pressed_by: Pressing,
    twins: OnceLock<Vec<usize>>,
}

/// All that loads on bearings follow from.
#[derive(Clone, Debug, PartialEq)]
struct Pressing {
    cylinder: Cylinder,
    gas: Burning,
    layout: Layout,
    speed_rad_s: f64,
}

/// Instants of a cycle: one for each degree.
const STEPS_PER_DEG: usize = 1;

impl Prepared {
    /// The loads are taken over from `near`, where they follow from the same.
    pub(super) fn new(
        case: &Case,
        condition: Condition,
        care: Care,
        near: Option<&Prepared>,
    ) -> Result<Prepared, Problems> {
        let (rpm, load) = match condition {
            Condition::HotIdle | Condition::Cold => (case.figures.idle_rpm, 0.0),
            Condition::HotRunning => (case.figures.running_rpm, 1.0),
        };
        Prepared::at_speed(case, condition, rpm.value, load, care, near)
    }

    /// The same at another speed, and at a load from 0 at idle to 1 in full.
    pub(super) fn at_speed(
        case: &Case,
        condition: Condition,
        rpm: f64,
        load: f64,
        care: Care,
        near: Option<&Prepared>,
    ) -> Result<Prepared, Problems> {
        let supply_temp_c = match condition {
            Condition::HotIdle | Condition::HotRunning => case.figures.oil_hot_c,
            Condition::Cold => case.figures.oil_cold_c,
        };
        let pressed_by = Pressing::of(case, rpm, load)?;
        let speed_rad_s = pressed_by.speed_rad_s;
        let loads = match near.filter(|near| near.pressed_by == pressed_by) {
            Some(near) => near.loads.clone(),
            None => Arc::new(pressed_by.loads()?),
        };
        Ok(Prepared {
            condition,
            care,
            speed_rpm: rpm,
            speed_rev_s: rpm / 60.0,
            supply_temp_c: supply_temp_c.value,
            loads,
            oil: case.oil_data()?,
            speed_rad_s,
            pressed_by,
            twins: OnceLock::new(),
        })
    }

    /// For each main the first that carries the same loads, sooner or later in the cycle.
    pub(super) fn twins(&self) -> &[usize] {
        self.twins.get_or_init(|| self.loads.twins())
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

impl Pressing {
    /// At a speed, and at a load from 0 at idle to 1 in full.
    fn of(case: &Case, rpm: f64, load: f64) -> Result<Pressing, Problems> {
        let figures = &case.figures;
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
        Ok(Pressing { cylinder, gas, layout, speed_rad_s: rpm * std::f64::consts::TAU / 60.0 })
    }

    fn loads(&self) -> Result<Loads, Problems> {
        let pressures = self.gas.pressures_pa(&self.cylinder, STEPS_PER_DEG)?;
        let loads = loads(&self.cylinder, &pressures, self.speed_rad_s, &self.layout)?;
        // Looked over here, once for all the paths that are followed under them.
        let mut checks = Checks::new();
        // All pins carry the same.
        for (name, cycle) in
            loads.big_ends.iter().take(1).map(|pin| ("pin", pin)).chain(loads.mains.iter().map(|main| ("main", main)))
        {
            checks.take(name, cycle.check());
        }
        checks.finish()?;
        Ok(loads)
    }
}
