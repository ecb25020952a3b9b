//! How housing, shell and crank grow with heat.

use gauge::{Instrument, REFERENCE_C, STEEL_PER_K};

/// What a part is made of, as far as its expansion goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// Steel: cranks, forged rods, the backs of shells.
    Steel,
    /// Grey cast iron: most older blocks.
    CastIron,
    /// Nodular (ductile) iron: many cast cranks and bearing ladders.
    NodularIron,
    /// Aluminium casting alloy with about seven parts in a hundred of silicon.
    Aluminium,
}

impl Material {
    /// Every material, in the order of its expansion.
    pub const ALL: [Material; 4] = [Material::NodularIron, Material::CastIron, Material::Steel, Material::Aluminium];

    /// The material as a sheet names it.
    pub const fn word(self) -> &'static str {
        match self {
            Material::Steel => "steel",
            Material::CastIron => "cast iron",
            Material::NodularIron => "nodular iron",
            Material::Aluminium => "aluminium",
        }
    }

    /// The material of a word.
    pub fn of(word: &str) -> Option<Material> {
        let word = word.trim().to_lowercase();
        Material::ALL.into_iter().find(|material| material.word() == word)
    }

    /// Linear expansion per kelvin near room temperature.
    ///
    /// # Limits
    /// Alloys differ by a tenth and more; the value rises by a few parts in a hundred up to 100 °C.
    /// # Source
    /// Steel: JCGM 100:2008, H.1.3.3. Nodular iron 80-55-06 and cast aluminium 356.0: W. D. Callister, *Fundamentals of
    /// Materials Science and Engineering*, 3rd edition, Table B.6. Grey cast iron: makeitfrom.com, grey cast iron.
    pub const fn per_k(self) -> f64 {
        match self {
            Material::Steel => STEEL_PER_K,
            Material::CastIron => 11.0e-6,
            Material::NodularIron => 10.6e-6,
            Material::Aluminium => 21.5e-6,
        }
    }
}

/// A bore read with an instrument, as it would be at 20 °C: less the zero, corrected for both temperatures.
///
/// Where neither temperature was taken nothing is corrected. A bore gauge is of steel; the bore may not be.
///
/// # Source
/// As [`Instrument::corrected_mm`], with the housing's own expansion.
/// # Example
/// ```
/// use fit::{Material, at_20_c_mm};
/// let mut gauge = gauge::Instrument::shop_default(units::Unit::Millimetre);
/// gauge.part_temperature_c = Some(30.0);
/// // A bore of 60 mm in aluminium, 10 K warm: 60 x 21.5e-6 x 10 is 0.0129 less.
/// assert!((at_20_c_mm(60.0, &gauge, Material::Aluminium) - 59.9871).abs() < 1e-5);
/// ```
pub fn at_20_c_mm(read_mm: f64, instrument: &Instrument, material: Material) -> f64 {
    let above = |taken: Option<f64>| taken.map_or(0.0, |celsius| celsius - REFERENCE_C);
    let gauge = 1.0 + STEEL_PER_K * above(instrument.temperature_c);
    let part = 1.0 + material.per_k() * above(instrument.part_temperature_c);
    (read_mm - instrument.zero_mm) * gauge / part
}

/// What the running clearance gains from 20 °C up to a temperature that housing, shells and crank share.
///
/// The shells are held to the housing by their crush, so the bore carries them; they are thin, and of steel.
///
/// # Units
/// Millimetres on the diameter, degrees Celsius. `wall_mm` is one shell's.
/// # Limits
/// One temperature throughout. In a running engine the crank and the oil are hotter than the outside of the housing,
/// so an aluminium housing opens less than this. Aluminium that is held by iron caps opens less across the split.
/// # Example
/// ```
/// use fit::{Material, gained_mm};
/// // A 57.68 mm bore in aluminium over a steel 53.99 mm journal, 70 K warmer: 40 µm.
/// let gained = gained_mm(57.68, 1.82, 53.99, Material::Aluminium, 90.0);
/// assert!((gained - 0.0404).abs() < 0.0001, "{gained}");
/// ```
pub fn gained_mm(bore_mm: f64, wall_mm: f64, journal_mm: f64, housing: Material, celsius: f64) -> f64 {
    let steel = Material::Steel.per_k();
    (celsius - REFERENCE_C) * (housing.per_k() * bore_mm - steel * (2.0 * wall_mm + journal_mm))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_housing_like_the_crank_hardly_changes_the_clearance() {
        // All of steel: the clearance itself grows like a steel ring of its own width, 70 K × 11.5e-6 × 0.05 mm.
        let gained = gained_mm(57.69, 1.825, 53.99, Material::Steel, 90.0);
        assert!((gained - 70.0 * 11.5e-6 * 0.05).abs() < 1e-9, "{gained}");
        assert_eq!(gained_mm(57.69, 1.825, 53.99, Material::Aluminium, 20.0), 0.0);
        assert!(gained_mm(57.69, 1.825, 53.99, Material::Aluminium, -20.0) < -0.02, "cold closes aluminium");
    }

    /// Reference: part 60 mm at 30 °C of 10.5e-6 per K read by a steel gauge at 20 °C: 59.993 700 661 mm (exact form).
    #[test]
    fn a_bore_is_corrected_with_its_own_expansion() {
        let mut gauge = Instrument::shop_default(units::Unit::Millimetre);
        gauge.part_temperature_c = Some(30.0);
        let ours = at_20_c_mm(60.0, &gauge, Material::CastIron);
        assert!((ours - 60.0 / (1.0 + 11.0e-6 * 10.0)).abs() < 1e-12);
        assert!((at_20_c_mm(60.0, &gauge, Material::Steel) - gauge.corrected_mm(60.0)).abs() < 1e-12);
        gauge.part_temperature_c = None;
        assert_eq!(at_20_c_mm(60.0, &gauge, Material::Aluminium), 60.0);
    }

    #[test]
    fn every_material_has_its_word() {
        for material in Material::ALL {
            assert_eq!(Material::of(material.word()), Some(material));
        }
        assert_eq!(Material::of("Cast Iron "), Some(Material::CastIron));
        assert_eq!(Material::of("wood"), None);
    }

    /// By hand: 100 K on 60 mm of aluminium are 21.5e-6 × 60 × 100 = 0.1290; on two steel walls of 2 and a journal of 55.95,
    /// 59.95 in all, 11.5e-6 × 59.95 × 100 = 0.068_942_5. The bore gains 0.060_057_5 on what runs in it; one wall would make
    /// it 0.0624.
    #[test]
    fn two_walls_and_the_journal_take_from_what_the_bore_gains() {
        let gained = gained_mm(60.0, 2.0, 55.95, Material::Aluminium, 120.0);
        assert!((gained - 0.060_057_5).abs() < 1e-9, "{gained}");
    }

    /// By hand: 60.02 on a gauge that reads 0.02 large is 60.00; a gauge of 30 °C is longer itself by 11.5e-5, so there are
    /// 60.0069. Both at 30 °C, in aluminium: 60.0069 less 21.5e-5 of it, 59.994_001.
    #[test]
    fn a_warm_gauge_reads_small_and_a_warm_part_large() {
        let gauge = Instrument {
            zero_mm: 0.02,
            temperature_c: Some(30.0),
            ..Instrument::shop_default(units::Unit::Millimetre)
        };
        assert!((at_20_c_mm(60.02, &gauge, Material::Aluminium) - 60.0069).abs() < 1e-9);
        let both = Instrument { part_temperature_c: Some(30.0), ..gauge };
        assert!((at_20_c_mm(60.02, &both, Material::Aluminium) - 59.994_001).abs() < 1e-6);
    }
}
