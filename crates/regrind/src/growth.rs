//! How much a crank grew in treatment, against what the plan allowed for.

use crank::Treatment;

/// The growth found on the journals of one crank, on the diameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GrowthFound {
    /// Mean over the journals.
    pub mean_mm: f64,
    /// The least.
    pub least_mm: f64,
    /// The most.
    pub most_mm: f64,
    /// On how many journals it was found.
    pub journals: usize,
}

impl GrowthFound {
    /// Whether the mean is what the plan made room for: the growth assumed, give or take twice its spread, and the doubt
    /// of one difference of two readings on top.
    ///
    /// # Source
    /// Twice a standard deviation either way holds 95 in 100 of a normal growth, the one that [`crate::plan()`] counts with.
    /// Common practice, no source.
    pub fn was_allowed_for(&self, treatment: &Treatment, doubt_of_a_size_mm: f64) -> bool {
        // The difference of two readings of one micrometer: its zero and scale cancel, so this is on the safe side.
        let doubt_mm = 2.0 * doubt_of_a_size_mm * std::f64::consts::SQRT_2 / (self.journals.max(1) as f64).sqrt();
        (self.mean_mm - treatment.growth_mean_mm).abs() <= 2.0 * treatment.growth_sd_mm + doubt_mm
    }
}

/// The growth of a crank from sizes before and after treatment, a pair for each journal, each corrected for the zero of
/// the micrometer it was read with. `None` without any pair.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// One spot for each journal: growth that differs along or round a journal is not seen.
/// # Example
/// ```
/// // 0.010 and 0.014 mm.
/// let found = regrind::growth_found(&[(47.000, 47.010), (53.000, 53.014)]).unwrap();
/// assert!((found.mean_mm - 0.012).abs() < 1e-9 && (found.most_mm - 0.014).abs() < 1e-9);
/// ```
pub fn growth_found(before_and_after_mm: &[(f64, f64)]) -> Option<GrowthFound> {
    let grown: Vec<f64> = before_and_after_mm.iter().map(|(before, after)| after - before).collect();
    if grown.is_empty() {
        return None;
    }
    Some(GrowthFound {
        mean_mm: grown.iter().sum::<f64>() / grown.len() as f64,
        least_mm: grown.iter().copied().fold(f64::INFINITY, f64::min),
        most_mm: grown.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        journals: grown.len(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nitriding() -> Treatment {
        Treatment { kind: "nitriding".into(), growth_mean_mm: 0.0127, growth_sd_mm: 0.00254, after_grinding: true }
    }

    /// By hand: 0.010, 0.012 and 0.017 mm have the mean 0.013 mm.
    #[test]
    fn growth_is_after_less_before() {
        let found = growth_found(&[(47.0, 47.010), (47.1, 47.112), (53.0, 53.017)]).unwrap();
        assert_eq!(found.journals, 3);
        for (is, should) in [(found.mean_mm, 0.013), (found.least_mm, 0.010), (found.most_mm, 0.017)] {
            assert!((is - should).abs() < 1e-9, "{is} mm, not {should}");
        }
        assert_eq!(growth_found(&[]), None);
    }

    /// The plan made room for 0.0127 ± 0.00508 mm.
    #[test]
    fn a_mean_beyond_twice_the_spread_was_not_allowed_for() {
        let mean = |mm: f64| growth_found(&[(47.0, 47.0 + mm)]).unwrap();
        assert!(mean(0.0127).was_allowed_for(&nitriding(), 0.0));
        assert!(mean(0.0177).was_allowed_for(&nitriding(), 0.0));
        assert!(!mean(0.0179).was_allowed_for(&nitriding(), 0.0));
        assert!(!mean(0.0075).was_allowed_for(&nitriding(), 0.0));
        // A micrometer good to 0.001 mm cannot tell 0.0179 from what was allowed for.
        assert!(mean(0.0179).was_allowed_for(&nitriding(), 0.001));
        assert!(!mean(0.0250).was_allowed_for(&nitriding(), 0.001));
    }

    /// By hand: the difference of two readings is good to √2 of one. One journal read to 0.001 mm leaves 2 × 0.001 × 1.4142 =
    /// 0.00283 beside twice the spread, 0.00508: from 0.0127 up to 0.0206. Four journals leave half of it, up to 0.0192.
    #[test]
    fn the_doubt_of_a_difference_is_root_two_of_one_reading() {
        let mean = |mm: f64, journals: usize| growth_found(&vec![(47.0, 47.0 + mm); journals]).unwrap();
        for (mm, journals, allowed) in [
            (0.0205, 1, true),
            (0.0207, 1, false),
            (0.0191, 4, true),
            (0.0193, 4, false),
            (0.0049, 1, true),
            (0.0047, 1, false),
        ] {
            assert_eq!(mean(mm, journals).was_allowed_for(&nitriding(), 0.001), allowed, "{mm} mm on {journals}");
        }
    }
}
