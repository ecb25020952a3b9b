//! The plan's clearance, worked out once for the curve and the leaning, which both go out from it.

use super::prepared::{Asked, Basis};
use super::state::{Mains, Settled, settle};
use super::{Case, Clearance};
use crate::problem::Problems;

/// Where the plan settled, warm under load and at hot idle, with the main followed that has the least film.
pub(super) struct AtPlan<'a> {
    pub plan: &'a Clearance,
    /// That main, counted from 0; its heat stands for the others.
    pub main: usize,
    pub running: Settled,
    pub idle: Settled,
}

impl<'a> AtPlan<'a> {
    /// Nothing where the case has no plan.
    pub(super) fn of(case: &'a Case, basis: &Basis) -> Result<Option<AtPlan<'a>>, Problems> {
        let Some(plan) = case.clearances.get(case.plan) else { return Ok(None) };
        let all = settle(case, &basis.hot_running, &basis.maps, plan, Mains::All, Asked::Films, None)?;
        let main = all.main()?;
        let at = |prepared, asked| settle(case, prepared, &basis.maps, plan, Mains::Only(main), asked, Some(&all));
        let (running, idle) = (at(&basis.hot_running, Asked::Films)?, at(&basis.hot_idle, Asked::Gauge)?);
        Ok(Some(AtPlan { plan, main, running, idle }))
    }
}
