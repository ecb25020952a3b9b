//! Studies of readings, for development only: nothing in the program depends on this crate.
//!
//! - [`anova`]: readings of several groups compared, exactly: how far a micrometer and a hand repeat themselves, and how far
//!   journals differ;
//! - [`mod@line`]: a straight line through calibration points, with its uncertainty.
//!
//! Both are held to certified results in the tests (NIST Statistical Reference Datasets; JCGM 100:2008, H.3).
//!
//! Three readings each of two journals, in nanometres: within a journal they scatter by 0.7 microns.
//!
//! ```
//! let found = study::anova::one_way(&[vec![47_611_000, 47_612_000, 47_613_000], vec![47_615_000; 3]], 6)?;
//! assert!((found.residual_sd - 0.000_707).abs() < 1e-6); // mm
//! # Ok::<(), study::anova::AnovaError>(())
//! ```

pub mod anova;
pub mod line;
