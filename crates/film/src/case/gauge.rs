//! What the gauge shows over speed.

use rayon::prelude::*;
use serde::Serialize;

use super::prepared::{Maps, Prepared};
use super::state::{Mains, settle};
use super::{Case, Clearance, Condition};
use crate::problem::Problems;

/// The gauge at one speed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GaugePoint {
    /// Speed of the crank.
    pub speed_rpm: f64,
    /// Gauge pressure with warm oil.
    pub hot_pa: f64,
    /// Gauge pressure with the oil of a cold start. Where the valve stands open warm and cold, this may be the lower of
    /// the two: thick oil loses more between the valve and the gauge.
    pub cold_pa: f64,
}

/// Speeds from idle to the running speed, both included.
const SPEEDS: usize = 9;

/// The gauge from idle to the running speed, the engine lightly loaded: the load hardly moves it.
pub(super) fn gauge_over_speed(case: &Case, maps: &Maps, clearance: &Clearance) -> Result<Vec<GaugePoint>, Problems> {
    let (idle, running) = (case.figures.idle_rpm.value, case.figures.running_rpm.value);
    let at = |rpm: f64, condition: Condition| -> Result<f64, Problems> {
        let prepared = Prepared::at_speed(case, condition, rpm)?;
        // Any main will do: the gauge asks for their mean eccentricity only.
        settle(case, &prepared, maps, clearance, Mains::Only(0), None).map(|(state, _)| state.gauge_pa)
    };
    let point = |place: usize| {
        let speed_rpm = idle + (running - idle) * place as f64 / (SPEEDS - 1) as f64;
        let (hot_pa, cold_pa) = (at(speed_rpm, Condition::HotIdle)?, at(speed_rpm, Condition::Cold)?);
        Ok(GaugePoint { speed_rpm, hot_pa, cold_pa })
    };
    (0..SPEEDS).into_par_iter().map(point).collect()
}
