//! What the gauge shows over speed.

use serde::Serialize;

use super::prepared::{Asked, Care, Maps, Prepared};
use super::state::{Mains, Settled, settle};
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

/// The speeds between the conditions, with the loads at each.
pub(super) struct Speeds {
    /// Warm, from idle to the running speed, both left out; the load rises evenly from idle to full.
    hot: Vec<Prepared>,
    /// Cold, from idle, which is left out; the engine idles at every speed.
    cold: Vec<Prepared>,
}

impl Speeds {
    pub(super) fn of(case: &Case, care: Care) -> Result<Speeds, Problems> {
        let prepared = |condition: Condition, place: usize, load: f64| {
            Prepared::at_speed(case, condition, speed_rpm(case, place), load, care, None)
        };
        let (hot, cold): (Result<Vec<_>, _>, Result<Vec<_>, _>) = rayon::join(
            || (1..SPEEDS - 1).map(|place| prepared(Condition::HotRunning, place, part(place))).collect(),
            || (1..SPEEDS).map(|place| prepared(Condition::Cold, place, 0.0)).collect(),
        );
        Ok(Speeds { hot: hot?, cold: cold? })
    }
}

fn part(place: usize) -> f64 {
    place as f64 / (SPEEDS - 1) as f64
}

fn speed_rpm(case: &Case, place: usize) -> f64 {
    let (idle, running) = (case.figures.idle_rpm.value, case.figures.running_rpm.value);
    idle + (running - idle) * part(place)
}

/// The gauge from idle to the running speed. Its ends are the conditions, which are not worked out twice.
pub(super) fn gauge_over_speed(
    case: &Case,
    maps: &Maps,
    clearance: &Clearance,
    speeds: &Speeds,
    [hot_idle, hot_running, cold]: [&Settled; 3],
) -> Result<Vec<GaugePoint>, Problems> {
    // Each speed begins where the one before it settled.
    let chain = |prepared: &[Prepared], from: &Settled| {
        let mut last: Option<Settled> = None;
        let mut found = Vec::with_capacity(prepared.len());
        for prepared in prepared {
            let near = Some(last.as_ref().unwrap_or(from));
            let settled = settle(case, prepared, maps, clearance, Mains::All, Asked::Gauge, near)?;
            found.push(settled.gauge_pa());
            last = Some(settled);
        }
        Ok::<Vec<f64>, Problems>(found)
    };
    let (hot, cold_on) = rayon::join(|| chain(&speeds.hot, hot_idle), || chain(&speeds.cold, cold));
    let hot = std::iter::once(hot_idle.gauge_pa()).chain(hot?).chain([hot_running.gauge_pa()]);
    let cold = std::iter::once(cold.gauge_pa()).chain(cold_on?);
    let point = |(place, (hot_pa, cold_pa))| GaugePoint { speed_rpm: speed_rpm(case, place), hot_pa, cold_pa };
    Ok(hot.zip(cold).enumerate().map(point).collect())
}
