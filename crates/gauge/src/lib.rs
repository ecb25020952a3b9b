//! Outside micrometers and dial indicators: scales, corrections, doubt, misreads.

pub mod anova;
pub mod budget;
pub mod conformity;
mod instrument;
pub mod line;
pub mod roundness;

pub use instrument::Instrument;
