//! Least film and gauge pressure over clearance.

use rayon::prelude::*;
use serde::Serialize;

use super::circulation::BearingKind;
use super::plan::AtPlan;
use super::prepared::{Asked, Basis, Care};
use super::state::{Mains, Settled, settle};
use super::{Case, Clearance, Contact};
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
    let basis = Basis::of(case, Care::Usual)?;
    match AtPlan::of(case, &basis)? {
        Some(at_plan) => round_plan(case, &basis, &at_plan, points),
        None => Ok(Vec::new()),
    }
}

/// Points that are worked out one after the other, each from where the one before it settled. So many however many
/// processors there are, for the answer to be the same on all.
const CHAIN: usize = 7;

/// The same from where the plan settled.
pub(super) fn round_plan(
    case: &Case,
    basis: &Basis,
    at_plan: &AtPlan<'_>,
    points: usize,
) -> Result<Vec<CurvePoint>, Problems> {
    let (plan, mains) = (at_plan.plan, Mains::Only(at_plan.main));
    let point = |place: usize, near: [&Settled; 2]| -> Result<(CurvePoint, [Settled; 2]), Problems> {
        let scale = FROM + (TO - FROM) * place as f64 / (points - 1) as f64;
        let clearance = Clearance::alike("", scale * plan.pin_diametral_m, scale * plan.main_diametral_m);
        let at = |prepared, asked, near| settle(case, prepared, &basis.maps, &clearance, mains, asked, Some(near));
        let (running, idle) =
            (at(&basis.hot_running, Asked::Films, near[0])?, at(&basis.hot_idle, Asked::Gauge, near[1])?);
        let pin_film_m = running.least_film_m(BearingKind::Pin)?;
        let main_film_m = running.least_film_m(BearingKind::Main)?;
        let mixed = pin_film_m.min(main_film_m) < case.figures.roughness_m.value;
        let point = CurvePoint {
            scale,
            pin_diametral_m: clearance.pin_diametral_m,
            main_diametral_m: clearance.main_diametral_m,
            pin_film_m,
            main_film_m,
            contact: if mixed { Contact::Mixed } else { Contact::Film },
            hot_idle_gauge_pa: idle.gauge_pa(),
        };
        Ok((point, [running, idle]))
    };
    let chain = |first: usize| {
        let mut found = Vec::with_capacity(CHAIN);
        let mut last: Option<[Settled; 2]> = None;
        for place in first..points.min(first + CHAIN) {
            let near = last.as_ref().map_or([&at_plan.running, &at_plan.idle], |[running, idle]| [running, idle]);
            if let Ok((next, settled)) = point(place, near) {
                found.push(next);
                last = Some(settled);
            }
        }
        found
    };
    let firsts: Vec<usize> = (0..points).step_by(CHAIN).collect();
    Ok(firsts.into_par_iter().flat_map_iter(chain).collect())
}
