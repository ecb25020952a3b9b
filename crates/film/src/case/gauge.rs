//! What the gauge shows over speed.

use std::ops::Range;

use serde::Serialize;

use super::prepared::{Maps, Prepared};
use super::state::{Mains, Warm, settle};
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
    let part = |place: usize| place as f64 / (SPEEDS - 1) as f64;
    let speed_rpm = |place: usize| idle + (running - idle) * part(place);
    // Each speed begins where the one before it settled.
    let chain = |condition: Condition, places: Range<usize>, load: &(dyn Fn(usize) -> f64 + Sync)| {
        let mut warm: Option<Warm> = None;
        let mut found = Vec::with_capacity(places.len());
        for place in places {
            let prepared = Prepared::at_speed(case, condition, speed_rpm(place), load(place))?;
            let (state, settled) = settle(case, &prepared, maps, clearance, Mains::All, warm.as_ref())?;
            found.push(state.gauge_pa);
            warm = Some(settled);
        }
        Ok::<Vec<f64>, Problems>(found)
    };
    let (hot, cold_on) = rayon::join(
        || chain(Condition::HotRunning, 1..SPEEDS - 1, &part),
        || chain(Condition::Cold, 1..SPEEDS, &|_| 0.0),
    );
    let hot = std::iter::once(hot_idle.gauge_pa).chain(hot?).chain([hot_running.gauge_pa]);
    let cold = std::iter::once(cold.gauge_pa).chain(cold_on?);
    let points = hot.zip(cold).enumerate();
    Ok(points.map(|(place, (hot_pa, cold_pa))| GaugePoint { speed_rpm: speed_rpm(place), hot_pa, cold_pa }).collect())
}
