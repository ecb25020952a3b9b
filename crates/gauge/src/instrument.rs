//! An instrument as the shop knows it.

use units::Unit;

/// A micrometer or indicator and what is known of its errors.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// The shop's name for it.
    pub name: String,
    /// What it is (`outside micrometer`, `dial indicator`).
    pub kind: String,
    /// The unit its scale is in.
    pub unit: Unit,
    /// Smallest and largest size it measures.
    pub range_mm: Option<(f64, f64)>,
    /// Value of one graduation.
    pub graduation_mm: f64,
    /// What it reads on its setting standard, less the standard.
    pub zero_mm: f64,
    /// Most that its scale may be wrong by.
    pub error_limit_mm: f64,
    /// Standard deviation of one reading.
    pub repeatability_mm: f64,
    /// Temperature of the instrument, where it was taken.
    pub temperature_c: Option<f64>,
    /// Temperature of the part while it was measured with this instrument, where it was taken.
    pub part_temperature_c: Option<f64>,
}
