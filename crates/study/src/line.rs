//! A straight line through readings, with what it does not know: a micrometer's error along its range, for one.

use std::fmt;

/// Why no line could be laid through the points.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LineError {
    /// Fewer than three points leave nothing to judge the scatter by.
    #[error("a line with its uncertainty needs three points or more, found {found}")]
    TooFewPoints {
        /// How many there were.
        found: usize,
    },
    /// A coordinate is infinite or not a number.
    #[error("point {point} is not a number")]
    NotANumber {
        /// Which, counted from 1.
        point: usize,
    },
    /// All points stand at one x.
    #[error("all points stand at the same place, so they show no slope")]
    NoSpread,
}

/// A value read off a line, with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Predicted {
    /// The line's height.
    pub value: f64,
    /// Standard uncertainty of the line's height (not of a new reading there).
    pub standard_uncertainty: f64,
}

/// A straight line by least squares, y on x, all points of equal weight and x without error.
///
/// Held as its height at the mean x, where height and slope are uncorrelated; everything else follows from that
/// without loss of digits.
///
/// # Limits
/// Outside the measured range the uncertainty still assumes that the line goes on straight.
/// # Source
/// JCGM 100:2008, H.3.3, equations (H.13).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Mean of the x values.
    pub centre: f64,
    /// Height at the centre.
    pub height: f64,
    /// Rise per unit of x.
    pub slope: f64,
    /// Sum of squared departures of x from the centre.
    pub spread: f64,
    /// Sum of squared residuals.
    pub residual_ss: f64,
    /// Sum of squares explained by the slope.
    pub slope_ss: f64,
    /// Number of points less two.
    pub degrees_of_freedom: u64,
}

impl Line {
    /// Lays a line through points (x, y).
    ///
    /// # Example
    /// ```
    /// use study::line::Line;
    /// // A micrometer that is right at 0, reads a micron more at 25 and two more at 50.
    /// let line = Line::fit(&[(0.0, 0.0), (25.0, 0.001), (50.0, 0.002)])?;
    /// assert!((line.slope - 0.000_04).abs() < 1e-15);
    /// assert!((line.at(75.0).value - 0.003).abs() < 1e-15);
    /// # Ok::<(), study::line::LineError>(())
    /// ```
    pub fn fit(points: &[(f64, f64)]) -> Result<Line, LineError> {
        if points.len() < 3 {
            return Err(LineError::TooFewPoints { found: points.len() });
        }
        if let Some(bad) = points.iter().position(|(x, y)| !x.is_finite() || !y.is_finite()) {
            return Err(LineError::NotANumber { point: bad + 1 });
        }
        let centre = mean(points.iter().map(|p| p.0));
        let height = mean(points.iter().map(|p| p.1));
        let spread = sum(points.iter().map(|(x, _)| (x - centre) * (x - centre)));
        // The spread of equal values is rounding only.
        let rounding = points.len() as f64 * (4.0 * f64::EPSILON * centre.abs()).powi(2);
        if spread <= rounding {
            return Err(LineError::NoSpread);
        }
        let slope = sum(points.iter().map(|(x, y)| (x - centre) * (y - height))) / spread;
        let residual_ss = sum(points.iter().map(|(x, y)| ((y - height) - slope * (x - centre)).powi(2)));
        Ok(Line {
            centre,
            height,
            slope,
            spread,
            residual_ss,
            slope_ss: slope * slope * spread,
            degrees_of_freedom: points.len() as u64 - 2,
        })
    }

    fn points(&self) -> f64 {
        self.degrees_of_freedom as f64 + 2.0
    }

    /// Standard deviation of a point about the line.
    pub fn residual_sd(&self) -> f64 {
        (self.residual_ss / self.degrees_of_freedom as f64).sqrt()
    }

    /// Height of the line at x, with its standard uncertainty.
    pub fn at(&self, x: f64) -> Predicted {
        let from_centre = x - self.centre;
        let variance = 1.0 / self.points() + from_centre * from_centre / self.spread;
        Predicted {
            value: self.height + self.slope * from_centre,
            standard_uncertainty: self.residual_sd() * variance.sqrt(),
        }
    }

    /// Height at x = 0.
    pub fn intercept(&self) -> Predicted {
        self.at(0.0)
    }

    /// Standard uncertainty of the slope.
    pub fn slope_uncertainty(&self) -> f64 {
        self.residual_sd() / self.spread.sqrt()
    }

    /// Covariance of the height at x with the slope.
    pub fn covariance_with_slope(&self, x: f64) -> f64 {
        (x - self.centre) / self.spread * self.residual_ss / self.degrees_of_freedom as f64
    }

    /// Correlation of the height at x with the slope; free of the scatter, so known even where the fit is perfect.
    pub fn correlation_with_slope(&self, x: f64) -> f64 {
        let from_centre = x - self.centre;
        from_centre / (self.spread / self.points() + from_centre * from_centre).sqrt()
    }

    /// Share of the sum of squares that the line explains.
    pub fn r_squared(&self) -> f64 {
        self.slope_ss / (self.slope_ss + self.residual_ss)
    }

    /// Mean square of the slope over residual mean square; infinite for a perfect fit.
    pub fn f(&self) -> f64 {
        self.slope_ss * self.degrees_of_freedom as f64 / self.residual_ss
    }
}

impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} at {}, rising {} ± {} for each unit (standard uncertainty, {} degrees of freedom)",
            self.height,
            self.centre,
            self.slope,
            self.slope_uncertainty(),
            self.degrees_of_freedom
        )
    }
}

/// A sum that carries its rounding error along (Neumaier): StRD's line asks for every digit a double has.
fn sum(values: impl Iterator<Item = f64>) -> f64 {
    let (mut total, mut lost) = (0.0f64, 0.0f64);
    for value in values {
        let next = total + value;
        lost += if total.abs() >= value.abs() { (total - next) + value } else { (value - next) + total };
        total = next;
    }
    total + lost
}

fn mean(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let n = values.clone().count() as f64;
    sum(values) / n
}
