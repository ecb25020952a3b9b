//! The oil film of a journal bearing, steady and over the engine cycle, and the oil circuit that feeds it.
//!
//! [`case`] puts it all together for a shop: what a clearance does in an engine of which little is known.
//!
//! Everything is plain numbers in SI units, named with their unit. [`oil`] gives a viscosity at a temperature; [`steady`]
//! solves Reynolds' equation for one eccentricity or one load, without units; [`bearing`] does so for a real bearing, with
//! friction, flow and the temperature that it settles at; [`grooved`] solves shells with holes and grooves; [`feed`] says what the pump's pressure pushes through it.
//! [`mobility`] maps how a journal drifts under any load, [`orbit`] follows it over a cycle, and [`engine`] says what loads
//! gas and inertia put on big ends and mains. [`circuit`] solves pump, valve, gallery and leaks together. [`closed`] holds the closed forms that any solution must meet in its limits.
//!
//! Inputs that no film can be worked out with come back as [`Problems`]: field, value, limit and physics, all at once.
//!
//! What this crate does not do: it knows nothing of cranks, shops or verdicts. Surfaces are rigid and parallel, the oil has
//! one viscosity throughout the film, and a film thinner than the surfaces are rough is outside the model.

pub mod bearing;
pub mod case;
pub mod circuit;
pub mod closed;
mod cosines;
pub mod engine;
mod envelope;
pub mod feed;
mod grid;
pub mod grooved;
pub mod mobility;
pub mod oil;
pub mod orbit;
mod plain;
mod problem;
mod ring;
mod squeeze;
pub mod steady;

pub use problem::{Problem, Problems};
