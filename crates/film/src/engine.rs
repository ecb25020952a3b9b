//! What the engine does to its bearings: from gas and inertia to the loads on pins and mains over a cycle.
//!
//! Angles are crank angles in degrees, the crank turns counter-clockwise, X points right and Y up along the bore of an
//! upright cylinder. A cycle is two turns and begins at a firing top dead centre. Weight is left out.

mod along;
mod gas;
mod layout;
mod loads;
mod strokes;

pub use along::Along;
pub use gas::Burning;
pub use layout::{Layout, OnThrow, Seat};
pub use loads::{Loads, loads};
pub use strokes::{Cylinder, Stroke, Strokes, strokes};
