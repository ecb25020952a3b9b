//! An instrument as the shop knows it.

use units::{Length, Unit};

use crate::budget::{Budget, Part, rectangular, resolution};
use crate::conformity::capability_index;
use crate::scale::{Frame, Scale};

/// Expansion of steel per kelvin.
///
/// Source: JCGM 100:2008, H.1.3.3 (gauge steel, (11.5 ± 2) · 10⁻⁶); D. A. Swyt, J. Res. NIST 99 (1994) 31. Not for
/// cast iron (about 10.5 · 10⁻⁶, from memory) or aluminium.
pub const STEEL_PER_K: f64 = 11.5e-6;

/// How far the expansion of one steel may be from the value taken, either way, per kelvin.
///
/// Source: JCGM 100:2008, H.1.3.3.
pub const STEEL_WITHIN_PER_K: f64 = 2e-6;

/// How far the expansions of two steel parts may differ, either way, per kelvin.
///
/// Source: JCGM 100:2008, H.1.3.2.
pub const STEELS_DIFFER_PER_K: f64 = 1e-6;

/// The temperature at which sizes hold, degrees Celsius. Source: ISO 1.
pub const REFERENCE_C: f64 = 20.0;

/// How far a temperature that somebody took may be off, either way, kelvin. Common practice, no source.
pub const TAKEN_WITHIN_K: f64 = 1.0;

/// How far a temperature that nobody took may be from 20 °C, either way, kelvin, where the other one was taken. Common
/// practice, no source.
pub const NOT_TAKEN_WITHIN_K: f64 = 5.0;

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
    /// Whether somebody took that zero, rather than taking it for nought.
    pub zero_taken: bool,
    /// Most that its scale may be wrong by.
    pub error_limit_mm: f64,
    /// Standard deviation of one reading.
    pub repeatability_mm: f64,
    /// Temperature of the instrument, where it was taken.
    pub temperature_c: Option<f64>,
    /// Temperature of the part while it was measured with this instrument, where it was taken.
    pub part_temperature_c: Option<f64>,
}

impl Instrument {
    /// What stands for the name of a micrometer that nobody named.
    pub const SHOP_DEFAULT: &'static str = "shop default";

    /// Its scale on its frame; where its range was not stated, on the usual frame for `about`. Nothing where no scale here
    /// has its graduation, or where it is no micrometer.
    pub fn frame(&self, about: Length) -> Option<Frame> {
        if !self.kind.contains("micrometer") {
            return None;
        }
        let scale = Scale::with_graduation(self.unit, self.graduation_mm)?;
        match self.range_mm {
            Some((low, high)) => Frame::new(scale, Length::nearest_mm(low)?, Length::nearest_mm(high)?).ok(),
            None => Some(Frame::usual(scale, about)),
        }
    }

    /// What a reading was taken with that names no instrument.
    ///
    /// Graduation and error limit 0.0001 in (0.002 and 0.004 mm in a metric shop), repeatability 0.00005 in
    /// (0.001 mm). Common practice; the metric error limit is that of DIN 863-1 for 0–50 mm.
    pub fn shop_default(unit: Unit) -> Instrument {
        let (graduation_mm, error_limit_mm, repeatability_mm) = match unit {
            Unit::Inch => (0.00254, 0.00254, 0.00127),
            Unit::Millimetre => (0.002, 0.004, 0.001),
        };
        Instrument {
            name: Instrument::SHOP_DEFAULT.to_owned(),
            kind: "outside micrometer".to_owned(),
            unit,
            range_mm: None,
            graduation_mm,
            zero_mm: 0.0,
            zero_taken: false,
            error_limit_mm,
            repeatability_mm,
            temperature_c: None,
            part_temperature_c: None,
        }
    }

    /// The size behind a reading: less the zero, and as it would be at 20 °C.
    ///
    /// Where one of the two temperatures was not taken, it counts as 20 °C; where neither was, the part and the
    /// instrument count as equally warm and nothing is corrected.
    ///
    /// # Units
    /// Millimetres in and out, degrees Celsius.
    /// # Limits
    /// Part and instrument of steel, each at one temperature throughout.
    /// # Source
    /// L₂₀ = L (1 + α (T_gauge − 20)) / (1 + α (T_part − 20)); D. A. Swyt, J. Res. NIST 99 (1994) 31.
    /// # Example
    /// ```
    /// let mut mic = gauge::Instrument::shop_default(units::Unit::Millimetre);
    /// mic.part_temperature_c = Some(30.0); // the crank came out of the sun, the micrometer off the bench
    /// assert!((mic.corrected_mm(60.0) - 59.993_100_793).abs() < 1e-9);
    /// ```
    pub fn corrected_mm(&self, reading_mm: f64) -> f64 {
        (reading_mm - self.zero_mm) * self.to_20_c()
    }

    /// What a length read with this instrument is multiplied by to have it at 20 °C.
    pub fn to_20_c(&self) -> f64 {
        let (gauge_k, part_k) = self.above_20_k();
        (1.0 + STEEL_PER_K * gauge_k) / (1.0 + STEEL_PER_K * part_k)
    }

    /// How far the instrument and the part are above 20 °C.
    fn above_20_k(&self) -> (f64, f64) {
        let above = |taken: Option<f64>| taken.map_or(0.0, |celsius| celsius - REFERENCE_C);
        (above(self.temperature_c), above(self.part_temperature_c))
    }

    /// Variance that the mean of `repeats` readings has for itself, in square millimetres (no repeats count as one).
    ///
    /// Repeating averages the hand's scatter away but not the rounding to a graduation, which comes out the same each
    /// time.
    ///
    /// # Example
    /// ```
    /// let mic = gauge::Instrument::shop_default(units::Unit::Millimetre);
    /// // Four readings halve the hand's 0.001 and leave the rounding of 0.002 as it is: (0.25 + 0.3333) millionths.
    /// assert!((mic.own_variance_mm2(4) - 0.583_333e-6).abs() < 1e-11);
    /// ```
    pub fn own_variance_mm2(&self, repeats: usize) -> f64 {
        self.repeatability_mm.powi(2) / repeats.max(1) as f64 + resolution(self.graduation_mm).powi(2)
    }

    /// Standard uncertainty of the mean of `repeats` readings, with the scale's error equally likely anywhere within
    /// its limit.
    ///
    /// # Limits
    /// Without what the temperatures add; [`Instrument::budget`] has that too.
    /// # Example
    /// ```
    /// let mic = gauge::Instrument::shop_default(units::Unit::Millimetre);
    /// // 0.001 by hand, 0.002 divided by the root of 12, 0.004 by the root of 3: together 0.00258.
    /// assert!((mic.standard_uncertainty_mm(1) - 0.002_582).abs() < 1e-6);
    /// ```
    pub fn standard_uncertainty_mm(&self, repeats: usize) -> f64 {
        (self.own_variance_mm2(repeats) + rectangular(self.error_limit_mm).powi(2)).sqrt()
    }

    /// What the doubt about a size is made of: the mean of `repeats` readings of about `reading_mm`.
    ///
    /// Temperature enters only where one was taken: how well each temperature is known, how alike the two steels are,
    /// and how well the expansion of either is known. Everything but repeatability and rounding is the same for all
    /// readings of the instrument.
    ///
    /// # Limits
    /// Nothing for the setting standard itself, the measuring force, or dirt.
    /// # Source
    /// The temperature parts follow the model of JCGM 100:2008, H.1.2, to first order.
    /// # Example
    /// ```
    /// let mut mic = gauge::Instrument::shop_default(units::Unit::Millimetre);
    /// assert_eq!(mic.budget(60.0, 1).parts.len(), 3); // hand, rounding, scale
    /// mic.part_temperature_c = Some(30.0);
    /// // The steel's expansion is known to 2e-6 per kelvin: 60 mm, 10 K, by the root of 3.
    /// let budget = mic.budget(60.0, 1);
    /// let steel = budget.parts.iter().find(|part| part.name == "expansion of steel").unwrap();
    /// assert!((steel.contribution() - 0.000_693).abs() < 1e-6);
    /// ```
    pub fn budget(&self, reading_mm: f64, repeats: usize) -> Budget {
        let n = repeats.max(1);
        let of = format!("a size measured with {}", self.name);
        let mut budget = Budget::new(of)
            .with(Part::new("repeatability", self.repeatability_mm / (n as f64).sqrt()))
            .with(Part::new("rounding to a graduation", resolution(self.graduation_mm)))
            .with(Part::new("scale, within its error limit", rectangular(self.error_limit_mm)).shared());
        if self.temperature_c.is_none() && self.part_temperature_c.is_none() {
            return budget;
        }
        let (gauge_k, part_k) = self.above_20_k();
        let known = |taken: Option<f64>| rectangular(if taken.is_some() { TAKEN_WITHIN_K } else { NOT_TAKEN_WITHIN_K });
        let per_kelvin = reading_mm * STEEL_PER_K;
        let parts = [
            ("temperature of the part", part_k, known(self.part_temperature_c), -per_kelvin),
            ("temperature of the instrument", gauge_k, known(self.temperature_c), per_kelvin),
            ("expansion, part against instrument", 0.0, rectangular(STEELS_DIFFER_PER_K), -reading_mm * part_k),
            ("expansion of steel", STEEL_PER_K, rectangular(STEEL_WITHIN_PER_K), reading_mm * (gauge_k - part_k)),
        ];
        for (name, value, standard_uncertainty, sensitivity) in parts {
            budget
                .parts
                .push(Part::new(name, standard_uncertainty).with_value(value).with_sensitivity(sensitivity).shared());
        }
        budget
    }

    /// Standard uncertainty that temperature leaves in a size, as a share of the size; the same for all sizes measured
    /// with this instrument, and nothing where no temperature was taken.
    pub fn temperature_share(&self) -> f64 {
        let budget = self.budget(1.0, 1);
        let scale = rectangular(self.error_limit_mm);
        (budget.common().powi(2) - scale * scale).max(0.0).sqrt()
    }

    /// Limits of a certain width over four standard uncertainties of one reading.
    pub fn capability_for(&self, limit_width_mm: f64) -> f64 {
        capability_index(limit_width_mm, self.standard_uncertainty_mm(1))
    }

    /// Whether limits this far apart are too close for the instrument: not even a size in their very middle could be
    /// called within them with 95 in 100, or one graduation is wider than they are.
    ///
    /// # Source
    /// Measurement capability index below 1 (JCGM 106:2012, 7.6.3); where to draw the line is common practice.
    /// # Example
    /// ```
    /// let mic = gauge::Instrument::shop_default(units::Unit::Millimetre);
    /// // Good to 0.0026, and four of those are 0.0103.
    /// assert!(mic.too_coarse_for(0.010) && !mic.too_coarse_for(0.011));
    /// ```
    pub fn too_coarse_for(&self, limit_width_mm: f64) -> bool {
        self.graduation_mm > limit_width_mm || self.capability_for(limit_width_mm) < 1.0
    }
}
