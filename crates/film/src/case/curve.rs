//! Least film and gauge pressure over clearance.

use rayon::prelude::*;
use serde::Serialize;

use super::prepared::{Maps, Prepared};
use super::state::{Mains, State, Warm, settle, state};
use super::{Case, Clearance, Condition, Contact};
use crate::problem::{Checks, Problems};

/// One point of the curve: pins and mains opened or closed together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Clearance over that of the plan.
    pub scale: f64,
    /// Clearance of the big ends, on the diameter.
    pub pin_diametral_m: f64,
    /// Clearance of the mains, on the diameter.
    pub main_diametral_m: f64,
    /// Least film of a big end, warm under load.
    pub pin_film_m: f64,
    /// Least film of the main that has the least at the plan, warm under load.
    pub main_film_m: f64,
    /// Whether either is mixed contact.
    pub contact: Contact,
    /// What the gauge shows at hot idle.
    pub hot_idle_gauge_pa: f64,
}

/// From how much to how much of the plan's clearance the curve goes.
const FROM: f64 = 0.3;
const TO: f64 = 3.0;

/// The curve of least film against clearance, round the plan, at so many points.
///
/// # Errors
/// Everything in the case that cannot be worked with, at once. Points at which no film can be found are left out.
pub fn curve(case: &Case, points: usize) -> Result<Vec<CurvePoint>, Problems> {
    let mut checks = Checks::new();
    checks.that((2..=2000).contains(&points), "points", points, "2 to 2000", "a curve has points");
    checks.finish()?;
    case.check()?;
    let Some(plan) = case.clearances.get(case.plan) else { return Ok(Vec::new()) };
    let maps = Maps::new(case)?;
    let running = Prepared::new(case, Condition::HotRunning)?;
    let idle = Prepared::new(case, Condition::HotIdle)?;
    let main = state(case, &running, &maps, plan, Mains::All)?.mains.number - 1;
    let mains = Mains::Only(main);
    let (_, warm_running) = settle(case, &running, &maps, plan, mains, None)?;
    let (_, warm_idle) = settle(case, &idle, &maps, plan, mains, None)?;
    let point = |place: usize| -> Option<CurvePoint> {
        let scale = FROM + (TO - FROM) * place as f64 / (points - 1) as f64;
        let clearance = Clearance::alike("", scale * plan.pin_diametral_m, scale * plan.main_diametral_m);
        let at = |prepared: &Prepared, warm: &Warm| -> Option<State> {
            settle(case, prepared, &maps, &clearance, mains, Some(warm)).ok().map(|(state, _)| state)
        };
        let (running, idle) = (at(&running, &warm_running)?, at(&idle, &warm_idle)?);
        let mixed = running.pins.contact == Contact::Mixed || running.mains.contact == Contact::Mixed;
        Some(CurvePoint {
            scale,
            pin_diametral_m: clearance.pin_diametral_m,
            main_diametral_m: clearance.main_diametral_m,
            pin_film_m: running.pins.least_film_m,
            main_film_m: running.mains.least_film_m,
            contact: if mixed { Contact::Mixed } else { Contact::Film },
            hot_idle_gauge_pa: idle.gauge_pa,
        })
    };
    Ok((0..points).into_par_iter().filter_map(point).collect())
}
