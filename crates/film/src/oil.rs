//! The oil: viscosity at a temperature, density, heat.

use serde::{Deserialize, Serialize};

use crate::problem::{Checks, Problems};

/// 0 °C on the absolute scale.
const KELVIN: f64 = 273.15;

/// Relative loss of density for one degree. From memory, no source: typical of mineral engine oil, ± 0.00005.
const DENSITY_LOSS_PER_K: f64 = 0.000_7;

/// An oil by two kinematic viscosities and its density at 15 °C: what a data sheet prints.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct OilData {
    /// The lower of the two temperatures, mostly 40 °C.
    pub lower_temp_c: f64,
    /// Kinematic viscosity there, in mm²/s (centistokes).
    pub lower_viscosity_mm2_s: f64,
    /// The higher of the two temperatures, mostly 100 °C.
    pub higher_temp_c: f64,
    /// Kinematic viscosity there, in mm²/s.
    pub higher_viscosity_mm2_s: f64,
    /// Density at 15 °C.
    pub density_15_kg_m3: f64,
}

/// An oil whose viscosity follows a straight line on the chart of ASTM D341.
///
/// # Limits
/// One viscosity for all shear rates. A multigrade oil thins in the film; see [`Grade::shear_share`].
/// # Source
/// log log (ν + 0.7) = A − B log T: ASTM D341 (Walther's equation), for ν from 2 mm²/s up. Below that the standard's
/// longer form differs by a few parts in a thousand, which is left out here.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Oil {
    a: f64,
    b: f64,
    density_15_kg_m3: f64,
}

impl Oil {
    /// The oil through two points.
    ///
    /// # Errors
    /// A viscosity that is missing or not above zero, two equal temperatures, or an oil that grows thicker with heat.
    pub fn new(data: &OilData) -> Result<Oil, Problems> {
        let mut checks = Checks::new();
        let thin = "viscosity carries the film; without it there is nothing to work out";
        checks
            .between("lower_temp_c", data.lower_temp_c, -40.0, 200.0, "engine oil is not used beyond")
            .between("higher_temp_c", data.higher_temp_c, -40.0, 200.0, "engine oil is not used beyond")
            .between("lower_viscosity_mm2_s", data.lower_viscosity_mm2_s, 0.5, 1e6, thin)
            .between("higher_viscosity_mm2_s", data.higher_viscosity_mm2_s, 0.5, 1e6, thin)
            .between("density_15_kg_m3", data.density_15_kg_m3, 700.0, 1200.0, "oil floats on water or nearly so")
            .that(
                data.higher_temp_c - data.lower_temp_c >= 5.0,
                "higher_temp_c",
                data.higher_temp_c,
                "at least 5 degrees above lower_temp_c",
                "two points close together do not fix a line",
            )
            .that(
                data.lower_viscosity_mm2_s > data.higher_viscosity_mm2_s,
                "higher_viscosity_mm2_s",
                data.higher_viscosity_mm2_s,
                "below lower_viscosity_mm2_s",
                "oil grows thinner as it grows hotter",
            );
        checks.finish()?;
        let double_log = |viscosity: f64| (viscosity + 0.7).log10().log10();
        let (t1, t2) = ((data.lower_temp_c + KELVIN).log10(), (data.higher_temp_c + KELVIN).log10());
        let (y1, y2) = (double_log(data.lower_viscosity_mm2_s), double_log(data.higher_viscosity_mm2_s));
        let b = (y1 - y2) / (t2 - t1);
        Ok(Oil { a: y1 + b * t1, b, density_15_kg_m3: data.density_15_kg_m3 })
    }

    /// The two constants of the line, A and B, for temperatures in kelvin.
    pub fn constants(&self) -> (f64, f64) {
        (self.a, self.b)
    }

    /// Kinematic viscosity in mm²/s at a temperature in °C.
    pub fn kinematic_mm2_s(&self, temp_c: f64) -> f64 {
        let kelvin = (temp_c + KELVIN).max(1.0);
        let double_log = self.a - self.b * kelvin.log10();
        // The cap keeps a deep frost finite: 10 to the 30th is solid for every purpose here.
        10f64.powf(10f64.powf(double_log).min(30.0)) - 0.7
    }

    /// Density in kg/m³ at a temperature in °C.
    pub fn density_kg_m3(&self, temp_c: f64) -> f64 {
        self.density_15_kg_m3 * (1.0 - DENSITY_LOSS_PER_K * (temp_c - 15.0))
    }

    /// Dynamic viscosity in Pa·s at a temperature in °C.
    ///
    /// # Example
    /// ```
    /// use film::oil::{Oil, OilData};
    /// let data = OilData {
    ///     lower_temp_c: 40.0,
    ///     lower_viscosity_mm2_s: 100.0,
    ///     higher_temp_c: 100.0,
    ///     higher_viscosity_mm2_s: 10.0,
    ///     density_15_kg_m3: 880.0,
    /// };
    /// // 10 mm²/s at 100 °C, where the oil has lost 85 times 0.0007 of its density: 827.6.
    /// assert!((Oil::new(&data)?.viscosity_pa_s(100.0) - 0.008_276).abs() < 1e-6);
    /// # Ok::<(), film::Problems>(())
    /// ```
    pub fn viscosity_pa_s(&self, temp_c: f64) -> f64 {
        self.kinematic_mm2_s(temp_c).max(1e-3) * 1e-6 * self.density_kg_m3(temp_c)
    }

    /// Heat taken up by a kilogram for one degree, in J/(kg·K), at a temperature in °C.
    ///
    /// # Source
    /// From memory, no source: a straight line through about 1.9 kJ/(kg·K) at 40 °C and 2.1 at 100 °C.
    pub fn heat_j_kg_k(&self, temp_c: f64) -> f64 {
        1770.0 + 3.35 * temp_c
    }
}

/// A viscosity grade that stands on the can.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Grade {
    /// 5W-30.
    #[serde(rename = "5W-30")]
    Sae5w30,
    /// 10W-30.
    #[serde(rename = "10W-30")]
    Sae10w30,
    /// 10W-40.
    #[serde(rename = "10W-40")]
    Sae10w40,
    /// 15W-40.
    #[serde(rename = "15W-40")]
    Sae15w40,
    /// 20W-50.
    #[serde(rename = "20W-50")]
    Sae20w50,
    /// Single grade 30.
    #[serde(rename = "30")]
    Sae30,
    /// Single grade 40.
    #[serde(rename = "40")]
    Sae40,
}

impl Grade {
    /// Every grade known here.
    pub const ALL: [Grade; 7] = [
        Grade::Sae5w30,
        Grade::Sae10w30,
        Grade::Sae10w40,
        Grade::Sae15w40,
        Grade::Sae20w50,
        Grade::Sae30,
        Grade::Sae40,
    ];

    /// As it stands on the can.
    pub fn name(self) -> &'static str {
        match self {
            Grade::Sae5w30 => "5W-30",
            Grade::Sae10w30 => "10W-30",
            Grade::Sae10w40 => "10W-40",
            Grade::Sae15w40 => "15W-40",
            Grade::Sae20w50 => "20W-50",
            Grade::Sae30 => "30",
            Grade::Sae40 => "40",
        }
    }

    /// The kinematic viscosities at 100 °C that the grade allows, in mm²/s, and the least viscosity at 150 °C under
    /// high shear, in mPa·s.
    ///
    /// # Source
    /// SAE J300, January 2015, as tabulated at raso.name ("SAE viscosity grades for engine oils"). For grade 40 the
    /// high-shear limit depends on the winter grade: 3.5 up to 10W-40, 3.7 from 15W-40 and for a single 40.
    pub fn limits(self) -> GradeLimits {
        let (from, to, shear) = match self {
            Grade::Sae5w30 | Grade::Sae10w30 | Grade::Sae30 => (9.3, 12.5, 2.9),
            Grade::Sae10w40 => (12.5, 16.3, 3.5),
            Grade::Sae15w40 | Grade::Sae40 => (12.5, 16.3, 3.7),
            Grade::Sae20w50 => (16.3, 21.9, 3.7),
        };
        GradeLimits { from_100_mm2_s: from, to_100_mm2_s: to, high_shear_150_mpa_s: shear }
    }

    /// A typical oil of the grade. **Assumed**, for a shop that has no data sheet: the viscosity at 100 °C is the
    /// middle of what the grade allows; that at 40 °C is from memory, no source, and differs between oils by a tenth
    /// and more.
    pub fn typical(self) -> OilData {
        let limits = self.limits();
        let lower = match self {
            Grade::Sae5w30 => 63.0,
            Grade::Sae10w30 => 71.0,
            Grade::Sae10w40 => 97.0,
            Grade::Sae15w40 => 108.0,
            Grade::Sae20w50 => 165.0,
            Grade::Sae30 => 95.0,
            Grade::Sae40 => 145.0,
        };
        OilData {
            lower_temp_c: 40.0,
            lower_viscosity_mm2_s: lower,
            higher_temp_c: 100.0,
            higher_viscosity_mm2_s: 0.5 * (limits.from_100_mm2_s + limits.to_100_mm2_s),
            density_15_kg_m3: 875.0,
        }
    }

    /// What is left of the viscosity under the shear of a bearing at the least: the grade's high-shear limit at 150 °C
    /// over the low-shear viscosity of an oil there, never above one.
    ///
    /// A single grade of mineral oil hardly thins and comes out near one.
    pub fn shear_share(self, oil: &Oil) -> f64 {
        (self.limits().high_shear_150_mpa_s * 1e-3 / oil.viscosity_pa_s(150.0)).clamp(0.3, 1.0)
    }
}

/// What SAE J300 asks of a grade.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GradeLimits {
    /// Least kinematic viscosity at 100 °C, in mm²/s.
    pub from_100_mm2_s: f64,
    /// Kinematic viscosity at 100 °C that the grade stays below, in mm²/s.
    pub to_100_mm2_s: f64,
    /// Least dynamic viscosity at 150 °C and a million per second, in mPa·s.
    pub high_shear_150_mpa_s: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn oil(at_40: f64, at_100: f64) -> Oil {
        let data = OilData {
            lower_temp_c: 40.0,
            lower_viscosity_mm2_s: at_40,
            higher_temp_c: 100.0,
            higher_viscosity_mm2_s: at_100,
            density_15_kg_m3: 870.0,
        };
        Oil::new(&data).expect("a usable oil")
    }

    fn close(found: f64, wanted: f64, share: f64) {
        assert!((found / wanted - 1.0).abs() < share, "found {found}, wanted {wanted}");
    }

    /// Source: worked spreadsheet on ASTM D341, ar.scribd.com/document/361017004: 32 and 5.4 mm²/s at 40 and 100 °C
    /// give 8.5 mm²/s at 80 °C. Tolerance: printed to two digits.
    #[test]
    fn the_published_pair_gives_the_published_third_point() {
        close(oil(32.0, 5.4).kinematic_mm2_s(80.0), 8.5, 0.006);
    }

    /// Source: the same line worked out independently (computed), with 273.15 for 0 °C; six digits are given.
    #[test]
    fn an_independent_calculation_gives_the_same_lines() {
        for (at_40, at_100, a, b, points) in [
            (32.0, 5.4, 9.53082, 3.74658, [86.2779, 15.1859, 8.53321, 3.72386]),
            (100.0, 14.5, 7.81301, 3.00964, [276.7321, 45.2744, 24.12935, 9.53268]),
            (60.0, 10.0, 8.07372, 3.13433, [155.2490, 28.7216, 16.02580, 6.78154]),
            (150.0, 18.0, 7.99759, 3.06902, [463.9677, 62.5707, 31.37087, 11.42095]),
        ] {
            let oil = oil(at_40, at_100);
            close(oil.constants().0, a, 2e-6);
            close(oil.constants().1, b, 2e-6);
            for (temp_c, wanted) in [20.0, 60.0, 80.0, 120.0].into_iter().zip(points) {
                close(oil.kinematic_mm2_s(temp_c), wanted, 5e-6);
            }
        }
    }

    #[test]
    fn both_points_lie_on_the_line() {
        let oil = oil(97.0, 14.4);
        close(oil.kinematic_mm2_s(40.0), 97.0, 1e-12);
        close(oil.kinematic_mm2_s(100.0), 14.4, 1e-12);
    }

    #[test]
    fn a_typical_oil_is_what_its_grade_allows() {
        for grade in Grade::ALL {
            let (limits, data) = (grade.limits(), grade.typical());
            assert!(data.higher_viscosity_mm2_s >= limits.from_100_mm2_s, "{grade:?}");
            assert!(data.higher_viscosity_mm2_s < limits.to_100_mm2_s, "{grade:?}");
            let oil = Oil::new(&data).expect("a usable oil");
            let at_150 = oil.viscosity_pa_s(150.0) * 1e3;
            assert!(at_150 > limits.high_shear_150_mpa_s * 0.95, "{grade:?}: {at_150} mPa s at 150 °C");
        }
    }

    #[test]
    fn everything_wrong_with_an_oil_is_said_at_once() {
        let data = OilData {
            lower_temp_c: 100.0,
            lower_viscosity_mm2_s: f64::NAN,
            higher_temp_c: 40.0,
            higher_viscosity_mm2_s: 0.0,
            density_15_kg_m3: 0.87,
        };
        let problems = Oil::new(&data).expect_err("nothing about it is usable").0;
        let fields: Vec<&str> = problems.iter().map(|problem| problem.field.as_str()).collect();
        for field in ["lower_viscosity_mm2_s", "higher_viscosity_mm2_s", "higher_temp_c", "density_15_kg_m3"] {
            assert!(fields.contains(&field), "{field} in {fields:?}");
        }
    }

    /// By hand: 880 kg/m³ at 15 °C lose 7 in 10,000 for each of 85 degrees: 880 less 5.95 in a hundred, 827.64 at 100 °C, and
    /// gain as much per degree below 15. So 10 mm²/s there are 0.008_276_4 Pa s. Heat: 1770 and 3.35 for each of 100 degrees.
    #[test]
    fn hot_oil_is_lighter_and_takes_up_more() {
        let oil = Oil::new(&OilData {
            lower_temp_c: 40.0,
            lower_viscosity_mm2_s: 100.0,
            higher_temp_c: 100.0,
            higher_viscosity_mm2_s: 10.0,
            density_15_kg_m3: 880.0,
        })
        .unwrap();
        for (found, wanted) in [
            (oil.density_kg_m3(100.0), 827.64),
            (oil.density_kg_m3(15.0), 880.0),
            (oil.density_kg_m3(5.0), 886.16),
            (oil.viscosity_pa_s(100.0), 0.008_276_4),
            (oil.viscosity_pa_s(40.0), 1e-4 * 880.0 * 0.9825),
            (oil.heat_j_kg_k(100.0), 2105.0),
        ] {
            assert!((found / wanted - 1.0).abs() < 1e-9, "{found}, not {wanted}");
        }
    }

    /// By hand: 5 mm²/s at 150 °C of 875 kg/m³ at 15, which are 875 less 9.45 in a hundred, 792.3125, are 3.961_56 mPa s. The
    /// 3.5 that a 10W-40 keeps under high shear are 0.8835 of it.
    #[test]
    fn what_is_left_under_shear_goes_by_the_viscosity_at_150() {
        let oil = Oil::new(&OilData {
            lower_temp_c: 40.0,
            lower_viscosity_mm2_s: 97.0,
            higher_temp_c: 150.0,
            higher_viscosity_mm2_s: 5.0,
            density_15_kg_m3: 875.0,
        })
        .unwrap();
        assert!((Grade::Sae10w40.shear_share(&oil) - 3.5 / 3.961_562_5).abs() < 1e-9);
    }
}
