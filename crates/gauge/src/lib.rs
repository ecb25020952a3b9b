//! Outside micrometers and dial indicators: scales, corrections, doubt, misreads.
//!
//! Start with [`Instrument`]: what the shop knows of a micrometer, what a reading taken with it means at 20 °C
//! ([`Instrument::corrected_mm`]), and what the doubt about that size is made of ([`Instrument::budget`]).
//!
//! - [`budget`]: uncertainty budgets with named parts, shared or each reading's own;
//! - [`conformity`]: from a size and its doubt to within, outside or too close to call, under a stated rule;
//! - [`scale`]: what sleeve, thimble and vernier show at a size, and the size they show;
//! - [`keyed`](mod@keyed): what was keyed for a reading, in any of the ways that people key one;
//! - [`misread`]: readings a thimble turn off, in the wrong unit, on the wrong journal, or too coarse to judge by;
//! - [`misreading`](mod@misreading): how a micrometer was misread, from what it showed; [`practice`]: readings to learn on;
//! - [`roundness`]: the four reference circles of a trace, and what two points and a vee-block cannot see.
//!
//! Lengths are `f64` millimetres (`_mm`) once they have left [`units::Length`]; uncertainties are standard
//! uncertainties unless they are called expanded.
//!
//! ```
//! use gauge::Instrument;
//! use units::Unit;
//!
//! const IN: f64 = 25.4;
//! // It reads a tenth high on its setting standard, so what shows 1.8720 is 1.8719.
//! let mic = Instrument { zero_mm: 0.0001 * IN, zero_taken: true, ..Instrument::shop_default(Unit::Inch) };
//! assert!((mic.corrected_mm(1.8720 * IN) / IN - 1.8719).abs() < 1e-9);
//! // Read twice it is no twice as sure: zero and scale are the same in both.
//! assert!(mic.standard_uncertainty_mm(2) > 0.71 * mic.standard_uncertainty_mm(1));
//! ```
//!
//! What this crate does not do: it knows no crankshaft, reads no file, and draws no random number.

mod as_read;
pub mod budget;
pub mod conformity;
mod instrument;
pub mod keyed;
pub mod misread;
pub mod misreading;
pub mod practice;
pub mod roundness;
pub mod scale;

pub use as_read::{as_read, that_takes_in};
pub use instrument::{
    Instrument, NOT_TAKEN_WITHIN_K, REFERENCE_C, STEEL_PER_K, STEEL_WITHIN_PER_K, STEELS_DIFFER_PER_K, TAKEN_WITHIN_K,
};
