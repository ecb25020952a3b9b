//! The place that governs a set, without waiting for any draws.

use crank::{Findings, SetName, Specification};
use units::Unit;

use crate::Policy;
use crate::axis::{Geometry, Questions};
use crate::case::place_of;
use crate::place::Place;
use crate::plan::ground_size_mm;
use crate::surface::Surface;
use crate::verdict::Failure;

/// The place that governs a set for the readings as they stand, the other set left out: the one that the verdict's
/// [`SetVerdict`](crate::SetVerdict) carries. Nothing where the set was not measured.
///
/// `unit` is what the place is worded in.
///
/// # Errors
/// [`Failure`].
pub fn governing(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    unit: Unit,
    set: SetName,
) -> Result<Option<Place>, Failure> {
    let last_ground_mm = |set: SetName| {
        specification.set(set).finished(crank::last_ground_to(specification, findings, set).undersize_mm).middle_mm()
    };
    let surface = Surface::new(specification, findings, last_ground_mm);
    let questions = Questions::new(Geometry::new(specification, findings, policy, &surface));
    if !questions.is_measured(set) {
        return Ok(None);
    }
    let mut radii_mm = Vec::new();
    surface.sound_radii_mm(&surface.as_it_stands(), &mut radii_mm);
    // Which place governs does not hang on the step of the ladder: all points are as much nearer at the next.
    let wanted_mm =
        SetName::BOTH.map(|set| ground_size_mm(specification.set(set), &specification.treatment, policy, 0.0) / 2.0);
    let best = questions.best(Some(set), &radii_mm, wanted_mm, &mut questions.start()).map_err(Failure)?;
    Ok(best.governing.map(|point| place_of(specification, &surface, point, unit)))
}
