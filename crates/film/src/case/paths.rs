//! The paths of the journals' centres, for a drawing.

use super::prepared::{Asked, Basis, Care};
use super::state::{Mains, Paths, settle};
use super::{Case, Condition};
use crate::problem::{Checks, Problems};

/// The paths of a pin and of the main with the least film, at one of the case's clearances (counted from 0).
///
/// # Errors
/// Everything in the case that cannot be worked with, at once; a clearance that it does not have.
pub fn paths(case: &Case, clearance: usize, condition: Condition) -> Result<Paths, Problems> {
    let basis = Basis::of(case, Care::Usual)?;
    let Some(asked) = case.clearances.get(clearance) else {
        let mut checks = Checks::new();
        checks.that(false, "clearance", clearance, "one of the case's clearances", "it is worked out at one of them");
        return Err(checks.finish().err().unwrap_or_else(super::state::unusable));
    };
    let (maps, prepared) = (&basis.maps, basis.at(condition));
    let settled = settle(case, prepared, maps, asked, Mains::All, Asked::Films, None)?;
    settled.state(case, prepared, maps).map(|(_, paths)| paths)
}
