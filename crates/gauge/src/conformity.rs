//! Whether a size keeps its limits, and how surely.
//!
//! A measured size within its limits does not prove that the journal is: the doubt of the measurement decides. Here
//! are the chance that limits are kept ([`Limits::chance`]), the rules that turn it into words ([`Rule`]), and what a
//! rule costs in the long run ([`Limits::risks`]).
//!
//! Clause numbers of JCGM 106:2012 are given from memory; the formulas are checked against its examples in the tests.

use std::fmt;

use statrs::function::erf::erfc;

/// Limits on one size, either of which may be missing. Any unit, the same throughout.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Limits {
    /// The smallest permitted.
    pub low: Option<f64>,
    /// The largest permitted.
    pub high: Option<f64>,
}

/// What can be said of a size against its limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Outcome {
    /// The limits are kept.
    Within,
    /// The limits are not kept.
    Outside,
    /// The measurement does not say.
    TooCloseToCall,
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Outcome::Within => "within",
            Outcome::Outside => "outside",
            Outcome::TooCloseToCall => "too close to call",
        })
    }
}

/// The rule by which a chance or a size becomes an outcome; kept with each verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rule {
    /// Within from one chance of keeping the limits up, outside from another down.
    Chance {
        /// Within at or above.
        within_at: f64,
        /// Outside at or below.
        outside_at: f64,
    },
    /// A band of `factor` expanded uncertainties (coverage factor 2) at each limit, in which nothing is said.
    ///
    /// Source: JCGM 106:2012, 8.3.2; factor 1 is the rule of ISO 14253-1:1998 (from memory), factor 0 simple
    /// acceptance, under which no size is too close to call.
    GuardBand {
        /// Width of the band over the expanded uncertainty.
        factor: f64,
    },
}

impl Rule {
    /// 95 in 100 either way: what holds where nobody says otherwise.
    pub const USUAL: Rule = Rule::Chance { within_at: 0.95, outside_at: 0.05 };

    /// Judges a size with its standard uncertainty.
    ///
    /// A size or an uncertainty that is not a number is too close to call.
    ///
    /// # Example
    /// ```
    /// use gauge::conformity::{Limits, Outcome, Rule};
    /// let limits = Limits::between(63.98, 64.00);
    /// // 1.645 standard uncertainties inside a limit is 95 in 100.
    /// assert_eq!(Rule::USUAL.judge(63.9834, 0.002, limits), Outcome::Within);
    /// assert_eq!(Rule::USUAL.judge(63.9832, 0.002, limits), Outcome::TooCloseToCall);
    /// ```
    pub fn judge(&self, size: f64, standard_uncertainty: f64, limits: Limits) -> Outcome {
        match *self {
            Rule::Chance { .. } => self.judge_chance(limits.chance(size, standard_uncertainty)),
            Rule::GuardBand { factor } => {
                let guard = guard_band(factor, standard_uncertainty);
                // Each limit is judged for itself, so that a band wider than the limits still lets a size be outside.
                let beyond = limits.low.is_some_and(|low| size < low - guard)
                    || limits.high.is_some_and(|high| size > high + guard);
                let kept = limits.low.is_none_or(|low| size >= low + guard)
                    && limits.high.is_none_or(|high| size <= high - guard);
                match (beyond, kept) {
                    (true, _) => Outcome::Outside,
                    (_, true) => Outcome::Within,
                    _ => Outcome::TooCloseToCall,
                }
            }
        }
    }

    /// Judges a chance of keeping the limits, wherever it came from.
    ///
    /// A guard band is a rule about sizes; of a chance alone it counts as the chance it assures at one limit.
    pub fn judge_chance(&self, chance: f64) -> Outcome {
        let (within_at, outside_at) = match *self {
            Rule::Chance { within_at, outside_at } => (within_at, outside_at),
            Rule::GuardBand { factor } => (phi(2.0 * factor), phi(-2.0 * factor)),
        };
        if chance >= within_at {
            Outcome::Within
        } else if chance <= outside_at {
            Outcome::Outside
        } else {
            Outcome::TooCloseToCall
        }
    }
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Rule::Chance { within_at, outside_at } => write!(
                f,
                "within at {} in 100 or better, outside at {} in 100 or worse, else too close to call",
                hundredths(*within_at),
                hundredths(*outside_at)
            ),
            Rule::GuardBand { factor } if *factor == 0.0 => {
                f.write_str("within when the size found is within the limits, else outside")
            }
            Rule::GuardBand { factor } => {
                write!(f, "too close to call within {factor} expanded uncertainties (k = 2) of a limit")
            }
        }
    }
}

/// A chance as so many in a hundred, without the digits that multiplying by 100 invents.
fn hundredths(chance: f64) -> f64 {
    (chance * 1e8).round() / 1e6
}

/// Width of a guard band: a factor times the expanded uncertainty, coverage factor 2.
///
/// Source: JCGM 106:2012, 8.3.2.2.
///
/// # Example
/// ```
/// // The whole expanded uncertainty, coverage factor 2.
/// assert_eq!(gauge::conformity::guard_band(1.0, 0.002), 0.004);
/// ```
pub fn guard_band(factor: f64, standard_uncertainty: f64) -> f64 {
    factor * 2.0 * standard_uncertainty
}

/// The worst chance that a size accepted at one limit behind a guard band does not keep it: the risk of a size found
/// exactly at the acceptance limit.
///
/// # Source
/// JCGM 106:2012, 9.3.2 (specific consumer's risk). Normal law, other limit far away.
pub fn worst_accepted_risk(factor: f64) -> f64 {
    phi(-2.0 * factor)
}

/// How wide limits are for an uncertainty: their width over four standard uncertainties.
///
/// At 1, a size found in the very middle is within with about 95 in 100. Infinite without uncertainty.
///
/// # Source
/// JCGM 106:2012, 7.6.3 (measurement capability index).
/// # Example
/// ```
/// assert_eq!(gauge::conformity::capability_index(0.020, 0.0025), 2.0);
/// ```
pub fn capability_index(width: f64, standard_uncertainty: f64) -> f64 {
    width / (4.0 * standard_uncertainty)
}

/// Normal distribution function.
pub(crate) fn phi(z: f64) -> f64 {
    0.5 * erfc(-z / std::f64::consts::SQRT_2)
}

/// What a rule costs over many parts of one kind. Each is a share of all parts measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Risks {
    /// Accepted, though the limits are not kept (consumer's risk).
    pub accepted_bad: f64,
    /// Refused, though the limits are kept (producer's risk).
    pub refused_good: f64,
    /// Not keeping the limits at all.
    pub bad: f64,
}

impl Limits {
    /// An upper limit only.
    pub const fn up_to(high: f64) -> Limits {
        Limits { low: None, high: Some(high) }
    }

    /// A lower limit only.
    pub const fn from(low: f64) -> Limits {
        Limits { low: Some(low), high: None }
    }

    /// Both limits.
    pub const fn between(low: f64, high: f64) -> Limits {
        Limits { low: Some(low), high: Some(high) }
    }

    /// Whether a known size keeps the limits; a size exactly at a limit does.
    pub fn keeps(&self, size: f64) -> bool {
        self.low.is_none_or(|low| size >= low) && self.high.is_none_or(|high| size <= high)
    }

    /// Chance that the limits are kept, for a size found with a standard uncertainty.
    ///
    /// Without uncertainty it is 0 or 1. Not a number where size or uncertainty is not a number.
    ///
    /// # Limits
    /// Normal law, and nothing known of the part beforehand.
    /// # Source
    /// JCGM 106:2012, 7.3 and 7.4.
    /// # Example
    /// ```
    /// use gauge::conformity::Limits;
    /// // One standard uncertainty above a lower limit: 84 in 100.
    /// assert!((Limits::from(63.98).chance(63.982, 0.002) - 0.8413).abs() < 1e-4);
    /// ```
    pub fn chance(&self, size: f64, standard_uncertainty: f64) -> f64 {
        if standard_uncertainty == 0.0 && !size.is_nan() {
            return if self.keeps(size) { 1.0 } else { 0.0 };
        }
        let above = self.low.map_or(0.0, |low| phi((low - size) / standard_uncertainty));
        let over = self.high.map_or(0.0, |high| phi((size - high) / standard_uncertainty));
        if size.is_nan() || standard_uncertainty.is_nan() {
            return f64::NAN;
        }
        (1.0 - above - over).max(0.0)
    }

    /// These limits moved inwards by a guard band, or outwards by a negative one.
    ///
    /// `None` where nothing is left between them.
    pub fn guarded(&self, guard: f64) -> Option<Limits> {
        let limits = Limits { low: self.low.map(|low| low + guard), high: self.high.map(|high| high - guard) };
        match (limits.low, limits.high) {
            (Some(low), Some(high)) if low > high => None,
            _ => Some(limits),
        }
    }

    /// Risks of accepting parts whose size is found within `accept`, when sizes come out of the shop with the density
    /// `prior` between `from` and `to`, and are measured with a normal standard uncertainty.
    ///
    /// `prior` must integrate to 1 over its range; what lies outside the range counts for nothing. By numerical
    /// integration to about 1e-9.
    ///
    /// # Source
    /// JCGM 106:2012, 9.5.
    pub fn risks(
        &self,
        accept: Limits,
        prior: impl Fn(f64) -> f64,
        (from, to): (f64, f64),
        standard_uncertainty: f64,
    ) -> Risks {
        // The integrands bend sharply at the limits and within a few uncertainties of the acceptance limits.
        let mut joints: Vec<f64> = [self.low, self.high].into_iter().flatten().collect();
        for edge in [accept.low, accept.high].into_iter().flatten() {
            joints.extend([-6.0, -2.0, 0.0, 2.0, 6.0].map(|k| edge + k * standard_uncertainty));
        }
        joints.extend((0..=8).map(|k| from + (to - from) * f64::from(k) / 8.0));
        joints.retain(|x| (from..=to).contains(x));
        joints.sort_by(f64::total_cmp);
        joints.dedup();

        let mut risks = Risks { accepted_bad: 0.0, refused_good: 0.0, bad: 0.0 };
        for pair in joints.windows(2) {
            let &[a, b] = pair else { continue };
            let accepted = integral(&|x| prior(x) * accept.chance(x, standard_uncertainty), a, b);
            let all = integral(&prior, a, b);
            if self.keeps(0.5 * (a + b)) {
                risks.refused_good += (all - accepted).max(0.0);
            } else {
                risks.accepted_bad += accepted;
                risks.bad += all;
            }
        }
        risks
    }

    /// The guard band at which the share of accepted parts that do not keep the limits falls to `target`.
    ///
    /// Negative where parts could even be accepted beyond the limits. `None` when no guard band of up to ten standard
    /// uncertainties either way reaches the target, or there is no uncertainty.
    pub fn guard_for_accepted_bad(
        &self,
        target: f64,
        prior: impl Fn(f64) -> f64,
        range: (f64, f64),
        standard_uncertainty: f64,
    ) -> Option<f64> {
        let accepted_bad = |guard: f64| {
            let accept = self.guarded(guard);
            accept.map_or(0.0, |accept| self.risks(accept, &prior, range, standard_uncertainty).accepted_bad)
        };
        let (mut loose, mut tight) = (-10.0 * standard_uncertainty, 10.0 * standard_uncertainty);
        if !(standard_uncertainty > 0.0 && accepted_bad(tight) <= target && target <= accepted_bad(loose)) {
            return None;
        }
        for _ in 0..50 {
            let middle = 0.5 * (loose + tight);
            if accepted_bad(middle) > target { loose = middle } else { tight = middle }
        }
        Some(tight)
    }
}

/// Adaptive Simpson's rule, to about 1e-11.
fn integral(f: &dyn Fn(f64) -> f64, a: f64, b: f64) -> f64 {
    let (fa, fm, fb) = (f(a), f(0.5 * (a + b)), f(b));
    refine(f, [a, b], [fa, fm, fb], (b - a) / 6.0 * (fa + 4.0 * fm + fb), 1e-11, 24)
}

fn refine(f: &dyn Fn(f64) -> f64, [a, b]: [f64; 2], [fa, fm, fb]: [f64; 3], whole: f64, within: f64, deep: u32) -> f64 {
    let m = 0.5 * (a + b);
    let (fl, fr) = (f(0.5 * (a + m)), f(0.5 * (m + b)));
    let left = (m - a) / 6.0 * (fa + 4.0 * fl + fm);
    let right = (b - m) / 6.0 * (fm + 4.0 * fr + fb);
    let error = left + right - whole;
    if deep == 0 || error.abs() <= 15.0 * within || !error.is_finite() {
        return left + right + error / 15.0;
    }
    refine(f, [a, m], [fa, fl, fm], left, within / 2.0, deep - 1)
        + refine(f, [m, b], [fm, fr, fb], right, within / 2.0, deep - 1)
}
