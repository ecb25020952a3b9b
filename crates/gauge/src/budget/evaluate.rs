//! Where standard uncertainties come from: readings repeated, or what is known of a quantity's bounds.

use super::{BudgetError, square};

/// What a series of readings of one thing shows (type A evaluation).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeated {
    /// Mean of the readings.
    pub mean: f64,
    /// Standard deviation of one reading.
    pub sd: f64,
    /// Standard deviation of the mean.
    pub sd_of_mean: f64,
    /// Number of readings less one.
    pub degrees_of_freedom: f64,
}

/// Evaluates repeated readings.
///
/// # Source
/// JCGM 100:2008, 4.2.1–4.2.3.
/// # Example
/// ```
/// let found = gauge::budget::repeated(&[47.610, 47.612, 47.614])?;
/// assert!((found.mean - 47.612).abs() < 1e-12 && (found.sd - 0.002).abs() < 1e-12);
/// assert!((found.sd_of_mean - 0.002 / 3f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), gauge::budget::BudgetError>(())
/// ```
pub fn repeated(readings: &[f64]) -> Result<Repeated, BudgetError> {
    let departures = departures(readings)?;
    let n = readings.len() as f64;
    let variance = departures.1.iter().map(|d| d * d).sum::<f64>() / (n - 1.0);
    Ok(Repeated {
        mean: departures.0,
        sd: variance.sqrt(),
        sd_of_mean: (variance / n).sqrt(),
        degrees_of_freedom: n - 1.0,
    })
}

/// Covariances of the means of several quantities that were read together, one series for each quantity.
///
/// # Source
/// JCGM 100:2008, 5.2.3, equation (17).
pub fn covariance_of_means(series: &[&[f64]]) -> Result<Vec<Vec<f64>>, BudgetError> {
    let n = series.first().map_or(0, |first| first.len());
    let mut all = Vec::with_capacity(series.len());
    for one in series {
        if one.len() != n {
            return Err(BudgetError::Mismatch { expected: n, found: one.len() });
        }
        all.push(departures(one)?.1);
    }
    let product =
        |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>() / (n as f64 * (n as f64 - 1.0));
    Ok(all.iter().map(|a| all.iter().map(|b| product(a, b)).collect()).collect())
}

/// Correlations that belong to a matrix of covariances; zero beside a quantity that does not vary.
pub fn correlations(covariance: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let sds: Vec<f64> =
        covariance.iter().enumerate().map(|(i, row)| row.get(i).copied().unwrap_or(0.0).max(0.0).sqrt()).collect();
    let scaled = |value: f64, a: f64, b: f64| if a > 0.0 && b > 0.0 { value / a / b } else { 0.0 };
    covariance
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let line = row.iter().enumerate().zip(&sds);
            line.map(|((j, v), b)| if i == j { 1.0 } else { scaled(*v, sds[i], *b) }).collect()
        })
        .collect()
}

/// Covariances of several results of the same inputs: for each result its sensitivity to each input.
///
/// # Source
/// JCGM 100:2008, H.2.3, equation (H.9).
pub fn covariance_of_results(
    sensitivities: &[Vec<f64>],
    covariance: &[Vec<f64>],
) -> Result<Vec<Vec<f64>>, BudgetError> {
    let inputs = covariance.len();
    square(covariance, inputs)?;
    if let Some(odd) = sensitivities.iter().find(|row| row.len() != inputs) {
        return Err(BudgetError::Mismatch { expected: inputs, found: odd.len() });
    }
    let of = |a: &[f64], b: &[f64]| -> f64 {
        let lines = a.iter().zip(covariance);
        lines.map(|(ca, row)| row.iter().zip(b).map(|(v, cb)| ca * v * cb).sum::<f64>()).sum()
    };
    Ok(sensitivities.iter().map(|a| sensitivities.iter().map(|b| of(a, b)).collect()).collect())
}

/// The mean and what each reading departs from it.
fn departures(readings: &[f64]) -> Result<(f64, Vec<f64>), BudgetError> {
    if readings.len() < 2 {
        return Err(BudgetError::TooFewReadings { found: readings.len() });
    }
    if let Some(bad) = readings.iter().position(|x| !x.is_finite()) {
        return Err(BudgetError::NotANumber { place: bad + 1 });
    }
    // About the first reading, so that readings alike in their leading digits keep their last ones.
    let origin = readings[0];
    let mean = readings.iter().map(|x| x - origin).sum::<f64>() / readings.len() as f64;
    Ok((origin + mean, readings.iter().map(|x| (x - origin) - mean).collect()))
}

/// Standard uncertainty of a value equally likely anywhere within ± a half-width.
///
/// Source: JCGM 100:2008, 4.3.7, equation (7).
pub fn rectangular(half_width: f64) -> f64 {
    half_width.abs() / 3f64.sqrt()
}

/// Standard uncertainty of a value likeliest in the middle of ± a half-width and impossible at its ends.
///
/// Source: JCGM 100:2008, 4.3.9, equation (9b).
pub fn triangular(half_width: f64) -> f64 {
    half_width.abs() / 6f64.sqrt()
}

/// Standard uncertainty of a value that swings to and fro within ± a half-width, as a thermostat does.
///
/// Source: JCGM 100:2008, H.1.3.4.
pub fn arcsine(half_width: f64) -> f64 {
    half_width.abs() / 2f64.sqrt()
}

/// Standard uncertainty behind a stated expanded uncertainty and its coverage factor; `None` for a factor of zero or
/// less.
///
/// Source: JCGM 100:2008, 4.3.3.
pub fn from_expanded(expanded: f64, factor: f64) -> Option<f64> {
    (factor > 0.0).then(|| expanded.abs() / factor)
}

/// Standard uncertainty of reading to the nearest step.
///
/// Source: JCGM 100:2008, F.2.2.1 (step/√12, 0.29 of a step).
pub fn resolution(step: f64) -> f64 {
    step.abs() / 12f64.sqrt()
}

/// Degrees of freedom of a standard uncertainty that is itself trusted to a share of its size, such as 0.25.
///
/// Source: JCGM 100:2008, G.4.2, equation (G.3).
pub fn degrees_of_freedom_of_trust(share: f64) -> f64 {
    0.5 / (share * share)
}
