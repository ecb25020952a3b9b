//! The oil film of a journal bearing, steady and over the engine cycle, and the oil circuit that feeds it.
//!
//! [`case`] puts it all together for a shop: what a clearance does in an engine of which little is known.
//!
//! Everything is plain numbers in SI units, named with their unit. [`oil`] gives a viscosity at a temperature;
//! [`steady`] solves Reynolds' equation for one eccentricity or one load, without units; [`bearing`] does so for a real
//! bearing, with friction, flow and the temperature that it settles at; [`grooved`] solves shells with holes and
//! grooves; [`feed`] says what the pump's pressure pushes through it. [`mobility`] maps how a journal drifts under any
//! load, [`orbit`] follows it over a cycle, and [`engine`] says what loads gas and inertia put on big ends and mains.
//! [`circuit`] solves pump, valve, gallery and leaks together. [`closed`] holds the closed forms that any solution must
//! meet in its limits.
//!
//! Inputs that no film can be worked out with come back as [`Problems`]: field, value, limit and physics, all at once.
//!
//! ```
//! use film::case::{Case, Clearance, Known, side_by_side};
//!
//! let known = Known {
//!     stroke_m: 0.080,
//!     pin_diameter_m: 0.045,
//!     pin_length_m: 0.018,
//!     main_diameter_m: 0.054,
//!     main_length_m: 0.020,
//! };
//! let mut case = Case::new(&known, &[0.0, 180.0, 180.0, 0.0], &[1, 3, 4, 2]);
//! case.clearances = vec![
//!     Clearance::alike("as found", 130e-6, 135e-6),
//!     Clearance::alike("as planned", 45e-6, 54e-6),
//! ];
//! let found = side_by_side(&case)?;
//! assert!(found[0].hot_idle.gauge_pa < found[1].hot_idle.gauge_pa);
//! # Ok::<(), film::Problems>(())
//! ```
//!
//! What it was checked against, and how closely, stands in `docs/oil-film.md`.
//!
//! What this crate does not do: it knows nothing of cranks, shops or verdicts. Surfaces are rigid and parallel, the oil
//! has one viscosity throughout the film, and a film thinner than the surfaces are rough is outside the model.

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
mod upper_groove;

pub use problem::{Problem, Problems};
