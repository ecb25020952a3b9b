//! Outside micrometers and dial indicators: scales, corrections, doubt, misreads.

mod instrument;

pub use instrument::Instrument;
