//! Uncertainty budgets with named parts, after the *Guide to the expression of uncertainty in measurement* (GUM).
//!
//! A [`Budget`] lists what a result is made of and how far each [`Part`] may be off. Parts that are the same for all
//! readings of one instrument (its scale, its temperature) are marked shared: they do not average away over many
//! readings, and they drop out of differences between readings of that instrument.
//!
//! Clause and equation numbers of the GUM (JCGM 100:2008) are given from memory; the formulas are checked against its
//! examples H.1, H.2 and H.3 in the tests.

mod evaluate;

use std::fmt;

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};
use units::Unit;

pub use evaluate::{
    Repeated, arcsine, correlations, covariance_of_means, covariance_of_results, degrees_of_freedom_of_trust,
    from_expanded, rectangular, repeated, resolution, triangular,
};

/// Why a budget or an evaluation of readings could not be worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BudgetError {
    /// Fewer than two readings show no scatter.
    #[error("scatter needs two readings or more, found {found}")]
    TooFewReadings {
        /// How many there were.
        found: usize,
    },
    /// A number is infinite or not a number.
    #[error("number {place} is not a number")]
    NotANumber {
        /// Which, counted from 1.
        place: usize,
    },
    /// Series that belong together differ in length, or a matrix does not fit the parts.
    #[error("expected {expected} values, found {found}")]
    Mismatch {
        /// How many there had to be.
        expected: usize,
        /// How many there were.
        found: usize,
    },
    /// No set of quantities can have these correlations.
    #[error("the correlations contradict each other: the combined variance is negative")]
    Impossible,
}

/// One source of doubt.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// What it is, in the trade's words.
    pub name: String,
    /// The estimate itself, in its own unit; zero for a correction that is zero on average.
    pub value: f64,
    /// Standard uncertainty of the estimate, in its own unit.
    pub standard_uncertainty: f64,
    /// How far the result moves for one unit of this part.
    pub sensitivity: f64,
    /// How well the standard uncertainty itself is known; infinite where it is taken as exact.
    pub degrees_of_freedom: f64,
    /// The same in all readings of the instrument.
    pub shared: bool,
}

impl Part {
    /// A part with its own value in each reading, sensitivity 1, its uncertainty taken as exact.
    pub fn new(name: impl Into<String>, standard_uncertainty: f64) -> Part {
        Part {
            name: name.into(),
            value: 0.0,
            standard_uncertainty,
            sensitivity: 1.0,
            degrees_of_freedom: f64::INFINITY,
            shared: false,
        }
    }

    /// The same with an estimate.
    pub fn with_value(self, value: f64) -> Part {
        Part { value, ..self }
    }

    /// The same with a sensitivity.
    pub fn with_sensitivity(self, sensitivity: f64) -> Part {
        Part { sensitivity, ..self }
    }

    /// The same with degrees of freedom.
    pub fn with_degrees_of_freedom(self, degrees_of_freedom: f64) -> Part {
        Part { degrees_of_freedom, ..self }
    }

    /// The same, marked as common to all readings of the instrument.
    pub fn shared(self) -> Part {
        Part { shared: true, ..self }
    }

    /// What this part adds to the result's uncertainty, in the result's unit, never negative.
    pub fn contribution(&self) -> f64 {
        (self.sensitivity * self.standard_uncertainty).abs()
    }
}

/// The doubt about one result, part by part.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Budget {
    /// Of what.
    pub of: String,
    /// Every part.
    pub parts: Vec<Part>,
}

/// A result's uncertainty at a stated level of confidence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expanded {
    /// Coverage factor times combined standard uncertainty, in the result's unit.
    pub uncertainty: f64,
    /// The coverage factor.
    pub factor: f64,
    /// Combined standard uncertainty, in the result's unit.
    pub combined: f64,
    /// Effective degrees of freedom, before they are cut to a whole number.
    pub degrees_of_freedom: f64,
    /// Level of confidence, such as 0.95.
    pub level: f64,
}

impl Budget {
    /// An empty budget of something.
    pub fn new(of: impl Into<String>) -> Budget {
        Budget { of: of.into(), parts: Vec::new() }
    }

    /// The same with one more part.
    pub fn with(mut self, part: Part) -> Budget {
        self.parts.push(part);
        self
    }

    /// Combined standard uncertainty of parts that have nothing to do with each other, in the result's unit.
    ///
    /// # Source
    /// JCGM 100:2008, 5.1.2, equation (10).
    pub fn combined(&self) -> f64 {
        root_sum_of_squares(self.parts.iter())
    }

    /// The share of [`Budget::combined`] that each reading has for itself.
    pub fn own(&self) -> f64 {
        root_sum_of_squares(self.parts.iter().filter(|part| !part.shared))
    }

    /// The share of [`Budget::combined`] that all readings of the instrument have in common.
    pub fn common(&self) -> f64 {
        root_sum_of_squares(self.parts.iter().filter(|part| part.shared))
    }

    /// Combined standard uncertainty where parts move together.
    ///
    /// `correlation` has one row and one column for each part, in their order; only its upper half is read.
    ///
    /// # Source
    /// JCGM 100:2008, 5.2.2, equation (16).
    pub fn combined_correlated(&self, correlation: &[Vec<f64>]) -> Result<f64, BudgetError> {
        square(correlation, self.parts.len())?;
        let mut variance = 0.0;
        let mut size = 0.0;
        for (i, (a, row)) in self.parts.iter().zip(correlation).enumerate() {
            let contribution = a.sensitivity * a.standard_uncertainty;
            variance += contribution * contribution;
            size += contribution * contribution;
            for (b, r) in self.parts.iter().zip(row).skip(i + 1) {
                variance += 2.0 * contribution * b.sensitivity * b.standard_uncertainty * r;
            }
        }
        // Perfectly opposed parts cancel to rounding, which may fall on either side of zero.
        if variance < -1e-12 * size { Err(BudgetError::Impossible) } else { Ok(variance.max(0.0).sqrt()) }
    }

    /// Effective degrees of freedom; infinite where every part is taken as exact.
    ///
    /// # Limits
    /// For parts that have nothing to do with each other. The combined uncertainty goes in unrounded: the Guide's own
    /// end gauge gives 16.8, and with its printed 32 nm it would give 17.5.
    /// # Source
    /// Welch–Satterthwaite: JCGM 100:2008, G.4.1, equation (G.2b).
    pub fn effective_degrees_of_freedom(&self) -> f64 {
        let combined = self.combined();
        // Shares, not fourth powers of lengths: those of nanometres in metres would be lost.
        let doubt: f64 = self
            .parts
            .iter()
            .filter(|part| part.degrees_of_freedom.is_finite() && part.contribution() > 0.0)
            .map(|part| (part.contribution() / combined).powi(4) / part.degrees_of_freedom)
            .sum();
        if doubt > 0.0 { 1.0 / doubt } else { f64::INFINITY }
    }

    /// Uncertainty at a level of confidence such as 0.95; `None` when the level is not between 0 and 1.
    ///
    /// # Example
    /// ```
    /// use gauge::budget::{Budget, Part};
    /// let budget = Budget::new("a journal").with(Part::new("hand", 3.0)).with(Part::new("scale", 4.0).shared());
    /// let at_95 = budget.expanded(0.95).unwrap();
    /// assert_eq!(at_95.combined, 5.0);
    /// assert!((at_95.uncertainty - 9.80).abs() < 0.005); // 1.96 times
    /// ```
    pub fn expanded(&self, level: f64) -> Option<Expanded> {
        let combined = self.combined();
        let degrees_of_freedom = self.effective_degrees_of_freedom();
        let factor = coverage_factor(level, degrees_of_freedom)?;
        Some(Expanded { uncertainty: factor * combined, factor, combined, degrees_of_freedom, level })
    }

    /// The budget as a table for the bench, for a result in millimetres, shown in a unit.
    ///
    /// Largest part first, each with its share of the variance.
    pub fn in_words(&self, unit: Unit) -> String {
        let combined = self.combined();
        let mut parts: Vec<&Part> = self.parts.iter().collect();
        parts.sort_by(|a, b| b.contribution().total_cmp(&a.contribution()));
        let width = parts.iter().map(|part| part.name.chars().count()).max().unwrap_or(0).max(8);
        let mut text = format!("How far {} may be off (standard uncertainties)\n", self.of);
        for part in &parts {
            let share = if combined > 0.0 { (part.contribution() / combined).powi(2) * 100.0 } else { 0.0 };
            let whose = if part.shared { "same in every reading" } else { "each reading its own" };
            let name = &part.name;
            let size = two_figures(part.contribution(), unit);
            text += &format!("  {name:<width$}  {size:>12}  {share:>3.0} %  {whose}\n");
        }
        text += &format!("  {:<width$}  {:>12}\n", "together", two_figures(combined, unit));
        if let Some(expanded) = self.expanded(0.95) {
            text += &format!(
                "So {} is known to ± {} with 95 % confidence (factor {:.2}).\n",
                self.of,
                two_figures(expanded.uncertainty, unit),
                expanded.factor
            );
        }
        text
    }
}

impl fmt::Display for Expanded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "± {} at {} % (factor {:.2}", self.uncertainty, 100.0 * self.level, self.factor)?;
        if self.degrees_of_freedom.is_finite() {
            write!(f, ", {:.1} degrees of freedom", self.degrees_of_freedom)?;
        }
        f.write_str(")")
    }
}

fn root_sum_of_squares<'a>(parts: impl Iterator<Item = &'a Part>) -> f64 {
    parts.map(|part| part.contribution().powi(2)).sum::<f64>().sqrt()
}

/// A small length with two significant figures, in inches or in microns.
fn two_figures(mm: f64, unit: Unit) -> String {
    let (value, symbol) = match unit {
        Unit::Inch => (mm / 25.4, "in"),
        Unit::Millimetre => (mm * 1000.0, "µm"),
    };
    if value == 0.0 || !value.is_finite() {
        return format!("{value} {symbol}");
    }
    let places = (1.0 - value.abs().log10().floor()).clamp(0.0, 9.0) as usize;
    format!("{value:.places$} {symbol}")
}

/// How many standard uncertainties a two-sided level of confidence takes.
///
/// The degrees of freedom are cut to a whole number first, as the Guide does (never below 1). `None` when the level is not between 0 and 1 or the degrees of
/// freedom are not a positive number.
///
/// # Source
/// JCGM 100:2008, G.3.2 and G.4.1; table G.2.
/// # Example
/// ```
/// // JCGM 100:2008, H.1.6: t99(16) = 2.92.
/// assert!((gauge::budget::coverage_factor(0.99, 16.7).unwrap() - 2.92).abs() < 0.005);
/// ```
pub fn coverage_factor(level: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !(level > 0.0 && level < 1.0 && degrees_of_freedom > 0.0) {
        return None;
    }
    let below = 0.5 + level / 2.0;
    let whole = degrees_of_freedom.floor().max(1.0);
    if whole >= 1000.0 {
        return Some(many_degrees(Normal::standard().inverse_cdf(below), whole));
    }
    StudentsT::new(0.0, 1.0, whole).ok().map(|law| law.inverse_cdf(below))
}

/// Student's t from the normal deviate z where there are many degrees of freedom: there the incomplete beta function
/// loses digits and this series does not (1e-10 at 1000 degrees).
///
/// Source: Abramowitz and Stegun, *Handbook of Mathematical Functions*, 26.7.5 (from memory; checked in the tests).
fn many_degrees(z: f64, degrees: f64) -> f64 {
    let square = z * z;
    let first = z * (square + 1.0) / 4.0;
    let second = z * ((5.0 * square + 16.0) * square + 3.0) / 96.0;
    let third = z * (((3.0 * square + 19.0) * square + 17.0) * square - 15.0) / 384.0;
    z + (first + (second + third / degrees) / degrees) / degrees
}

fn square(matrix: &[Vec<f64>], side: usize) -> Result<(), BudgetError> {
    let odd = matrix.iter().map(Vec::len).chain([matrix.len()]).find(|length| *length != side);
    odd.map_or(Ok(()), |found| Err(BudgetError::Mismatch { expected: side, found }))
}
