//! One-way analysis of variance, exact on readings kept as scaled integers.
//!
//! Readings that agree in their first ten digits lose those digits twice in floating point: once when the decimal is
//! read into binary, and once when squares are subtracted. Here a reading stays the whole number that was read off the
//! instrument (nanometres, tenths of a thou), the first reading is taken from all others, and every difference is
//! formed in whole numbers. Only results without cancellation are turned into floating point.

use statrs::distribution::{ContinuousCDF, FisherSnedecor};

/// Why readings could not be analysed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AnovaError {
    /// Fewer than two groups.
    #[error("an analysis of variance needs two groups or more, found {found}")]
    TooFewGroups {
        /// How many there were.
        found: usize,
    },
    /// A group without a reading.
    #[error("group {group} has no reading")]
    EmptyGroup {
        /// Which, counted from 1.
        group: usize,
    },
    /// Every group has one reading only, so nothing tells the spread within a group.
    #[error("no group has a second reading, so the spread within a group is not known")]
    NoRepeats,
    /// The readings lie so far apart that their squares do not fit whole numbers of 128 bits.
    #[error("the readings lie too far apart to be added exactly")]
    TooWide,
}

/// A one-way analysis of variance table.
///
/// Sums of squares and mean squares are in the square of the readings' unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneWay {
    /// Number of groups less one.
    pub df_between: u64,
    /// Number of readings less number of groups.
    pub df_within: u64,
    /// Sum of squares between groups.
    pub ss_between: f64,
    /// Sum of squares within groups.
    pub ss_within: f64,
    /// Mean square between groups.
    pub ms_between: f64,
    /// Mean square within groups.
    pub ms_within: f64,
    /// Mean square between over mean square within: infinite where repeats agree exactly and groups do not, and not a
    /// number where all readings are equal.
    pub f: f64,
    /// Share of the total sum of squares that lies between groups; not a number where all readings are equal.
    pub r_squared: f64,
    /// Standard deviation within a group, in the readings' unit.
    pub residual_sd: f64,
    /// Readings per group: the number itself in a balanced study, else the usual (N − Σn²/N)/(k − 1).
    pub group_size: f64,
}

/// Analyses groups of readings, each reading a whole number of units in the last decimal place.
///
/// `places` is the number of decimal places: 1.4 is `(14, 1)`, and a length in nanometres read as millimetres has 6.
///
/// # Errors
/// [`AnovaError`]. Sums are checked, never wrapped.
/// # Limits
/// Full double precision while (largest − smallest, in last places)² · (number of readings)² stays below 1.7e38.
/// # Source
/// Certified results: NIST Statistical Reference Datasets, analysis of variance.
/// # Example
/// ```
/// // Two journals, three readings each, in nanometres.
/// let found = study::anova::one_way(&[vec![47_611_000, 47_612_000, 47_613_000], vec![47_615_000; 3]], 6)?;
/// assert_eq!(found.df_within, 4);
/// assert!((found.residual_sd - 0.000_707_106_781).abs() < 1e-12); // mm
/// # Ok::<(), study::anova::AnovaError>(())
/// ```
pub fn one_way<G: AsRef<[i128]>>(groups: &[G], places: u32) -> Result<OneWay, AnovaError> {
    if groups.len() < 2 {
        return Err(AnovaError::TooFewGroups { found: groups.len() });
    }
    if let Some(empty) = groups.iter().position(|group| group.as_ref().is_empty()) {
        return Err(AnovaError::EmptyGroup { group: empty + 1 });
    }
    let readings: usize = groups.iter().map(|group| group.as_ref().len()).sum();
    if readings == groups.len() {
        return Err(AnovaError::NoRepeats);
    }
    let sums = Sums::of(groups).ok_or(AnovaError::TooWide)?;

    // 10^k is exact in a double up to k = 22.
    let unit = 10f64.powi(i32::try_from(places).unwrap_or(i32::MAX));
    let ss_between = sums.between / unit / unit;
    let ss_within = sums.within / unit / unit;
    let df_between = (groups.len() - 1) as u64;
    let df_within = (readings - groups.len()) as u64;
    let ms_between = ss_between / df_between as f64;
    let ms_within = ss_within / df_within as f64;
    let squares: f64 = groups.iter().map(|group| (group.as_ref().len() as f64).powi(2)).sum();
    Ok(OneWay {
        df_between,
        df_within,
        ss_between,
        ss_within,
        ms_between,
        ms_within,
        f: (sums.between / df_between as f64) / (sums.within / df_within as f64),
        r_squared: sums.between / (sums.between + sums.within),
        residual_sd: ms_within.sqrt(),
        group_size: (readings as f64 - squares / readings as f64) / df_between as f64,
    })
}

/// Sums of squares in squared last places.
struct Sums {
    between: f64,
    within: f64,
}

impl Sums {
    /// `None` when a sum does not fit.
    ///
    /// Within: Σ over groups of (n Σd² − (Σd)²)/n. Between: Σ over groups of (N Σd − n S)²/(n N²), with S the sum of
    /// all. Every bracket is formed exactly, and no term is negative, so nothing cancels after rounding.
    fn of<G: AsRef<[i128]>>(groups: &[G]) -> Option<Sums> {
        let origin = *groups.first()?.as_ref().first()?;
        let mut all = 0i128;
        let mut group_sums = Vec::with_capacity(groups.len());
        let mut within = 0.0;
        for group in groups {
            let n = i128::try_from(group.as_ref().len()).ok()?;
            let (mut sum, mut squares) = (0i128, 0i128);
            for reading in group.as_ref() {
                let departure = reading.checked_sub(origin)?;
                sum = sum.checked_add(departure)?;
                squares = squares.checked_add(departure.checked_mul(departure)?)?;
            }
            let scaled = n.checked_mul(squares)?.checked_sub(sum.checked_mul(sum)?)?;
            within += scaled as f64 / n as f64;
            all = all.checked_add(sum)?;
            group_sums.push((n, sum));
        }
        let total: i128 = group_sums.iter().map(|(n, _)| n).sum();
        let mut between = 0.0;
        for (n, sum) in group_sums {
            let departure = total.checked_mul(sum)?.checked_sub(n.checked_mul(all)?)? as f64;
            between += (departure / total as f64) * (departure / total as f64) / n as f64;
        }
        Some(Sums { between, within })
    }
}

impl OneWay {
    /// Chance of so large an F, or a larger one, where the groups do not differ; `None` where F is not a number.
    pub fn p_value(&self) -> Option<f64> {
        if self.f.is_infinite() {
            return Some(0.0);
        }
        let law = FisherSnedecor::new(self.df_between as f64, self.df_within as f64).ok()?;
        (!self.f.is_nan()).then(|| law.sf(self.f))
    }

    /// The variances between and within groups, where the groups are a sample of many (random effects).
    ///
    /// A between-group variance that would come out negative is reported as zero.
    pub fn components(&self) -> Components {
        let between = ((self.ms_between - self.ms_within) / self.group_size).max(0.0);
        Components { between, within: self.ms_within }
    }

    /// Two-sided limits for the share of the variance that lies between groups, at a level such as 0.95.
    ///
    /// `None` when the level is not between 0 and 1 or F is not a number. Exact for a balanced study of normal
    /// readings, approximate otherwise. Limits below zero are reported as zero.
    pub fn icc_limits(&self, level: f64) -> Option<(f64, f64)> {
        if !(level > 0.0 && level < 1.0) || self.f.is_nan() {
            return None;
        }
        let law = FisherSnedecor::new(self.df_between as f64, self.df_within as f64).ok()?;
        let tail = (1.0 - level) / 2.0;
        let share = |quantile: f64| {
            let ratio = self.f / quantile;
            if ratio.is_infinite() { 1.0 } else { ((ratio - 1.0) / (ratio + self.group_size - 1.0)).max(0.0) }
        };
        Some((share(law.inverse_cdf(1.0 - tail)), share(law.inverse_cdf(tail))))
    }
}

/// Variances of a one-way random-effects model, in the square of the readings' unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Components {
    /// Between groups.
    pub between: f64,
    /// Within a group.
    pub within: f64,
}

impl Components {
    /// Variance of one reading from a group taken at random.
    pub fn total(&self) -> f64 {
        self.between + self.within
    }

    /// Intraclass correlation: the share of the variance that lies between groups; not a number where both are zero.
    pub fn icc(&self) -> f64 {
        self.between / self.total()
    }

    /// Variance of the mean over `groups` groups of `repeats` readings each (none counts as one).
    pub fn variance_of_mean(&self, groups: u32, repeats: u32) -> f64 {
        let groups = f64::from(groups.max(1));
        self.between / groups + self.within / (groups * f64::from(repeats.max(1)))
    }
}
