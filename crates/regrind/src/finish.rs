//! The chance that a journal finishes within its limits, from all that is still to come.

use crank::Band;
use gauge::Instrument;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};

use crate::words::in_hundred;

/// What a journal may miss its size by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// How much it grows in treatment.
    Growth,
    /// How true the machine and its hand hold a size.
    Grinding,
    /// How much the polish takes.
    Polish,
    /// How true the micrometer reads.
    Micrometer,
}

impl Part {
    /// The part in one word.
    pub const fn word(self) -> &'static str {
        match self {
            Part::Growth => "growth",
            Part::Grinding => "grinding",
            Part::Polish => "polish",
            Part::Micrometer => "micrometer",
        }
    }

    /// The part that has this word.
    pub fn of_word(word: &str) -> Option<Part> {
        [Part::Growth, Part::Grinding, Part::Polish, Part::Micrometer].into_iter().find(|part| part.word() == word)
    }
}

/// The chance that one journal finishes within its limits, seen from a stage of the work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finishes {
    /// 0 to 1; of one journal, not of all journals of a set.
    pub chance: f64,
    /// What most of the rest comes from.
    pub rest: Part,
    /// The share of that part in the variance of the finished size, 0 to 1.
    pub share: f64,
}

impl Finishes {
    /// `84 in 100 finish within limits; the growth is most of the rest`.
    pub fn words(self) -> String {
        let chance = format!("{} finish within limits", in_hundred(self.chance));
        if in_hundred(self.chance).starts_with("more") {
            return chance;
        }
        let most = if self.share > 0.5 { "most of the rest" } else { "the largest part of the rest" };
        format!("{chance}; the {} is {most}", self.rest.word())
    }
}

/// How a finished size scatters about the one that was aimed at.
///
/// ```text
/// finished - aimed at = grinding + polish + growth + own error of the micrometer   (normal, each about nothing)
///                     + error of its scale                                         (uniform within its limit)
/// ```
///
/// # Units
/// Millimetres on the **diameter**; standard deviations, but for the scale, which is the most it errs either way.
/// # Limits
/// One journal measured once. What all journals of a crank share (its growth, the scale) makes the chance that all of
/// them finish within limits greater than the product of their chances.
/// # Source
/// Common practice, no source, for the shapes: they are those of the clean-up chance. The sum is exact: the distribution
/// function of a normal and a uniform variable together is the mean of the normal's over the width of the uniform.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Scatter {
    /// Of the growth in treatment.
    pub growth_mm: f64,
    /// Of the shop's grinding.
    pub grinding_mm: f64,
    /// Of what the polish takes.
    pub polish_mm: f64,
    /// Of one reading: feel, rounding to a graduation, temperature.
    pub own_mm: f64,
    /// Most that the micrometer's scale is wrong by, either way.
    pub scale_mm: f64,
}

impl Scatter {
    /// With a micrometer that reads about this size.
    pub fn measured_with(self, micrometer: &Instrument, size_mm: f64) -> Scatter {
        let warmth_mm = micrometer.temperature_share() * size_mm;
        let own_mm = (micrometer.own_variance_mm2(1) + warmth_mm.powi(2)).sqrt();
        Scatter { own_mm, scale_mm: micrometer.error_limit_mm, ..self }
    }

    /// The chance that a journal whose size comes out about `mean_mm` is within limits.
    ///
    /// # Limits
    /// Nothing within limits of no width where anything scatters; none where a length is no number.
    /// # Example
    /// ```
    /// use crank::Band;
    /// use regrind::Scatter;
    /// // Limits two standard deviations either side of the aim: 95 in 100.
    /// let scatter = Scatter { grinding_mm: 0.003, growth_mm: 0.004, ..Scatter::default() };
    /// let limits = Band { low_mm: 47.60, high_mm: 47.62 };
    /// assert!((scatter.chance(47.61, limits) - 0.9545).abs() < 1e-4);
    /// ```
    pub fn chance(&self, mean_mm: f64, limits: Band) -> f64 {
        let normal_mm = self.normal_mm();
        if normal_mm <= 0.0 && self.scale_mm <= 0.0 {
            // A computed size on a limit may be off by the last bit.
            const SAME_MM: f64 = 1e-9;
            let within = limits.low_mm - SAME_MM <= mean_mm && mean_mm <= limits.high_mm + SAME_MM;
            return f64::from(u8::from(within));
        }
        let up_to = |mm: f64| share_below(mm, normal_mm, self.scale_mm.max(0.0));
        let chance = up_to(limits.high_mm - mean_mm) - up_to(limits.low_mm - mean_mm);
        // What is no number is no chance.
        if chance.is_nan() { 0.0 } else { chance.clamp(0.0, 1.0) }
    }

    /// The chance together with what most of the rest comes from.
    pub fn finishes(&self, mean_mm: f64, limits: Band) -> Finishes {
        let (rest, share) = self.largest();
        Finishes { chance: self.chance(mean_mm, limits), rest, share }
    }

    /// All but the scale together.
    fn normal_mm(&self) -> f64 {
        [self.growth_mm, self.grinding_mm, self.polish_mm, self.own_mm].map(|sd| sd * sd).iter().sum::<f64>().sqrt()
    }

    /// The part with the largest variance, and its share of the whole; where two are alike, the one that comes first in
    /// [`Part`].
    fn largest(&self) -> (Part, f64) {
        let parts = [
            (Part::Growth, self.growth_mm.powi(2)),
            (Part::Grinding, self.grinding_mm.powi(2)),
            (Part::Polish, self.polish_mm.powi(2)),
            (Part::Micrometer, self.own_mm.powi(2) + self.scale_mm.powi(2) / 3.0),
        ];
        let whole: f64 = parts.iter().map(|(_, variance)| variance).sum();
        let mut largest = (Part::Growth, 0.0);
        for (part, variance) in parts {
            // What was typed alike in two units differs in the last bit.
            if variance > largest.1 * (1.0 + 1e-9) {
                largest = (part, variance);
            }
        }
        (largest.0, if whole > 0.0 { largest.1 / whole } else { 0.0 })
    }
}

/// The share of a normal error of nothing on average and a uniform one within `limit_mm`, together, that is no more than
/// `mm`.
///
/// The mean of Φ from (x - a)/σ to (x + a)/σ, by its integral z Φ(z) + φ(z).
fn share_below(mm: f64, sd_mm: f64, limit_mm: f64) -> f64 {
    if sd_mm <= 0.0 {
        return ((mm + limit_mm) / (2.0 * limit_mm)).clamp(0.0, 1.0);
    }
    let normal = Normal::standard();
    // So narrow a uniform part adds less than a millionth, and its difference would be lost in the last digits.
    if limit_mm < 1e-3 * sd_mm {
        return normal.cdf(mm / sd_mm);
    }
    let integral = |z: f64| z * normal.cdf(z) + normal.pdf(z);
    (integral((mm + limit_mm) / sd_mm) - integral((mm - limit_mm) / sd_mm)) * sd_mm / (2.0 * limit_mm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::Unit;

    const IN: f64 = 25.4;

    fn limits(low_in: f64, high_in: f64) -> Band {
        Band { low_mm: low_in * IN, high_mm: high_in * IN }
    }

    #[track_caller]
    fn close(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() < tolerance, "{found}, not {wanted}");
    }

    /// Normal tables (NIST/SEMATECH e-Handbook, 1.3.6.7.1): Φ(1) = 0.84134, Φ(1.5) = 0.93319, Φ(2) = 0.97725.
    #[test]
    fn one_normal_part_agrees_with_the_tables() {
        let grinding = Scatter { grinding_mm: 0.0001 * IN, ..Scatter::default() };
        close(grinding.chance(2.0 * IN, limits(1.9999, 2.0001)), 2.0 * 0.84134 - 1.0, 2e-5);
        close(grinding.chance(2.0 * IN, limits(1.9998, 2.0002)), 2.0 * 0.97725 - 1.0, 2e-5);
        // Off its middle: one end at 1, the other at 2.
        close(grinding.chance(2.0 * IN, limits(1.9998, 2.0001)), 0.84134 + 0.97725 - 1.0, 2e-5);
        // Two parts of 0.0001 and 0.00012 in, as different as they are, are one of 0.00015620: squares add.
        let both = Scatter { growth_mm: 0.00012 * IN, ..grinding };
        close(both.chance(2.0 * IN, limits(2.0 - 0.000_234_307, 2.0 + 0.000_234_307)), 2.0 * 0.93319 - 1.0, 2e-5);
    }

    /// A scale alone is uniform: of ±0.0001 in, 0.00015 of the 0.0002 lies between -0.0001 and +0.00005.
    #[test]
    fn the_scale_alone_is_uniform() {
        let scale = Scatter { scale_mm: 0.0001 * IN, ..Scatter::default() };
        close(scale.chance(2.0 * IN, limits(1.9990, 2.00005)), 0.75, 1e-9);
        close(scale.chance(2.0 * IN, limits(1.9999, 2.0001)), 1.0, 1e-9);
    }

    /// A second route: the uniform part cut into many steps, each a normal chance of its own.
    #[test]
    fn normal_and_uniform_together_agree_with_a_sum_over_the_uniform() {
        let normal = Normal::standard();
        for (sd, limit, low, high) in [
            (0.003, 0.002, -0.004, 0.005),
            (0.001, 0.004, -0.004, 0.0),
            (0.004, 0.000_01, -0.003, 0.006),
            (0.000_001, 0.002, -0.001, 0.004),
            (0.002, 0.002, 0.001, 0.003),
        ] {
            let scatter = Scatter { growth_mm: sd, scale_mm: limit, ..Scatter::default() };
            const STEPS: usize = 200_000;
            let sum: f64 = (0..STEPS)
                .map(|n| limit * ((2 * n + 1) as f64 / STEPS as f64 - 1.0))
                .map(|error| normal.cdf((high - error) / sd) - normal.cdf((low - error) / sd))
                .sum();
            let found = scatter.chance(50.0, Band { low_mm: 50.0 + low, high_mm: 50.0 + high });
            close(found, sum / STEPS as f64, 3e-6);
        }
    }

    #[test]
    fn limits_of_no_width_and_what_is_no_number_have_no_chance() {
        let some = Scatter { grinding_mm: 0.002, scale_mm: 0.001, ..Scatter::default() };
        assert_eq!(some.chance(50.0, Band { low_mm: 50.0, high_mm: 50.0 }), 0.0);
        assert_eq!(some.chance(f64::NAN, Band { low_mm: 49.0, high_mm: 50.0 }), 0.0);
        assert_eq!(
            Scatter { growth_mm: f64::NAN, ..some }.chance(50.0, Band { low_mm: 49.0, high_mm: 51.0 }),
            0.0,
            "a spread that is no number"
        );
        // Nothing scatters: on the one size that does, it is certain; beside it, never.
        assert_eq!(Scatter::default().chance(50.0, Band { low_mm: 50.0, high_mm: 50.0 }), 1.0);
        assert_eq!(Scatter::default().chance(50.001, Band { low_mm: 50.0, high_mm: 50.0 }), 0.0);
        // Growth that varies more than the limits are wide, by hand: 0.5 either way of a deviation of 2 is 0.19741.
        let wild = Scatter { growth_mm: 0.02, ..Scatter::default() };
        close(wild.chance(50.0, Band { low_mm: 49.995, high_mm: 50.005 }), 0.19741, 2e-5);
    }

    /// By hand, in tenths of a thou: grinding 1, growth 1.2, polish 0.5; the usual micrometer has 0.5 of feel, 1/√12 of
    /// rounding and a scale within 1, whose deviation is 1/√3: 0.25 + 0.0833 + 0.3333 = 0.6667 in squares.
    #[test]
    fn the_largest_part_is_named_with_its_share() {
        let usual = Instrument::shop_default(Unit::Inch);
        let all =
            Scatter { grinding_mm: 1e-4 * IN, growth_mm: 1.2e-4 * IN, polish_mm: 0.5e-4 * IN, ..Scatter::default() };
        let all = all.measured_with(&usual, 2.0 * IN);
        let found = all.finishes(2.0 * IN, limits(1.9990, 2.0010));
        assert_eq!(found.rest, Part::Growth);
        close(found.share, 1.44 / (1.0 + 1.44 + 0.25 + 0.666_667), 1e-6);
        // Alike to the last bit or not, growth is named first.
        let alike = Scatter { growth_mm: 1e-4 * IN, grinding_mm: 0.00254, ..Scatter::default() };
        assert_eq!(alike.finishes(50.0, limits(1.0, 3.0)).rest, Part::Growth);
        let coarse =
            Instrument { graduation_mm: 0.01, error_limit_mm: 0.01, ..Instrument::shop_default(Unit::Millimetre) };
        let coarse = Scatter { grinding_mm: 0.0025, ..Scatter::default() }.measured_with(&coarse, 50.0);
        assert_eq!(coarse.finishes(50.0, Band { low_mm: 49.99, high_mm: 50.01 }).rest, Part::Micrometer);
    }

    #[test]
    fn a_chance_is_said_with_what_most_of_the_rest_is() {
        let says = |chance: f64, share: f64| Finishes { chance, rest: Part::Growth, share }.words();
        assert_eq!(says(0.96, 0.6), "96 in 100 finish within limits; the growth is most of the rest");
        assert_eq!(says(0.84, 0.4), "84 in 100 finish within limits; the growth is the largest part of the rest");
        assert_eq!(says(0.999, 0.6), "more than 99 in 100 finish within limits");
        for part in [Part::Growth, Part::Grinding, Part::Polish, Part::Micrometer] {
            assert_eq!(Part::of_word(part.word()), Some(part));
        }
    }

    /// By hand, a micrometer of 0.001 by hand and 0.002 divided on a part of 30 °C and 60 mm: 1 and a third square microns of its
    /// own, and 36.233 millionths of 60 (worked in `gauge`), 2.174, whose square is 4.726: 6.0595, the root of which is 2.4616.
    #[test]
    fn a_warm_part_scatters_by_its_size() {
        let mut mic = Instrument::shop_default(Unit::Millimetre);
        mic.part_temperature_c = Some(30.0);
        let scatter = Scatter::default().measured_with(&mic, 60.0);
        close(scatter.own_mm, 0.002_461_6, 1e-7);
        close(scatter.scale_mm, 0.004, 1e-12);
    }

    /// Of 3 microns of growth and a scale anywhere within 6, a third of whose square is 12, the micrometer is 12 of 21 parts.
    #[test]
    fn the_largest_part_is_told_with_its_share_of_the_variance() {
        let scatter = Scatter { growth_mm: 0.003, scale_mm: 0.006, ..Scatter::default() };
        let finishes = scatter.finishes(0.0, Band { low_mm: -0.001, high_mm: 0.001 });
        assert_eq!(finishes.rest, Part::Micrometer);
        close(finishes.share, 12.0 / 21.0, 1e-9);
        assert!(finishes.words().ends_with("the micrometer is most of the rest"), "{}", finishes.words());
        // 12 of 28 are less than half.
        let less = Scatter { grinding_mm: 0.002_645_751, ..scatter };
        let words = less.finishes(0.0, Band { low_mm: -0.001, high_mm: 0.001 }).words();
        assert!(words.ends_with("the micrometer is the largest part of the rest"), "{words}");
    }
}
