//! What the gauge shows over speed.

use rayon::prelude::*;
use serde::Serialize;

use super::prepared::{Maps, Prepared};
use super::state::{Mains, settle};
use super::{Case, Clearance, Condition, State};
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

/// The gauge from idle to the running speed, the load rising evenly from idle to full: so its ends are the conditions,
/// which are not worked out twice. Cold, the engine idles at every speed.
pub(super) fn gauge_over_speed(
    case: &Case,
    maps: &Maps,
    clearance: &Clearance,
    [hot_idle, hot_running, cold]: [&State; 3],
) -> Result<Vec<GaugePoint>, Problems> {
    let (idle, running) = (case.figures.idle_rpm.value, case.figures.running_rpm.value);
    let at = |rpm: f64, condition: Condition, load: f64| -> Result<f64, Problems> {
        let prepared = Prepared::at_speed(case, condition, rpm, load)?;
        settle(case, &prepared, maps, clearance, Mains::All, None).map(|(state, _)| state.gauge_pa)
    };
    let point = |place: usize| {
        let part = place as f64 / (SPEEDS - 1) as f64;
        let speed_rpm = idle + (running - idle) * part;
        let hot_pa = match place {
            0 => hot_idle.gauge_pa,
            last if last == SPEEDS - 1 => hot_running.gauge_pa,
            _ => at(speed_rpm, Condition::HotRunning, part)?,
        };
        let cold_pa = if place == 0 { cold.gauge_pa } else { at(speed_rpm, Condition::Cold, 0.0)? };
        Ok(GaugePoint { speed_rpm, hot_pa, cold_pa })
    };
    (0..SPEEDS).into_par_iter().map(point).collect()
}
