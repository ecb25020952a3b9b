use gauge::{Instrument, STEEL_PER_K};
use units::Unit;

use crate::{close, number, rows};

/// Source: D. A. Swyt, J. Res. NIST 99 (1994) 31; the file has the formula's values, those for steel on steel apply.
/// Tolerance: half the last printed digit, a femtometre for the exact column; 1.5 nm between first order and exact, a
/// little over (α·Δt)² on 60 mm at 40 °C with room for the sign.
#[test]
fn sizes_at_20_degrees() {
    let mut compared = 0;
    for row in rows(include_str!("../../reference-cases/temperature/corrections.csv")) {
        if number(row[3]) != STEEL_PER_K || number(row[5]) != STEEL_PER_K {
            continue;
        }
        let mut mic = Instrument::shop_default(Unit::Millimetre);
        mic.part_temperature_c = Some(number(row[1]));
        mic.temperature_c = Some(number(row[4]));
        let reading = number(row[0]);
        close(mic.corrected_mm(reading), number(row[8]), 6e-10);
        close((reading - mic.corrected_mm(reading)) * 1000.0, number(row[6]), 0.0035);
        if mic.temperature_c == Some(20.0) {
            mic.temperature_c = None;
            close(mic.corrected_mm(reading), number(row[8]), 6e-10);
        }
        compared += 1;
    }
    assert_eq!(compared, 6);
}

/// Source: by hand; 50 mm at 25 °C reads 2.875 µm large.
#[test]
fn zero_and_temperature_are_both_taken_off() {
    let mut mic = Instrument::shop_default(Unit::Inch);
    mic.zero_mm = 0.00254;
    close(mic.corrected_mm(50.00254), 50.0, 1e-12);
    mic.part_temperature_c = Some(25.0);
    close((50.0 - mic.corrected_mm(50.00254)) * 1000.0, 2.875, 5e-4);
    // Equally warm, equally long: only what differs matters.
    mic.temperature_c = Some(25.0);
    close(mic.corrected_mm(50.00254), 50.0, 1e-12);
}

/// Source: by hand, in tenths of a thou: 0.5² / n + 1/12 own, and 1/3 for the scale.
#[test]
fn variances_of_the_shop_default() {
    let tenth = 0.00254;
    let mic = Instrument::shop_default(Unit::Inch);
    for (repeats, own) in [(1, 0.25 + 1.0 / 12.0), (4, 0.0625 + 1.0 / 12.0), (0, 0.25 + 1.0 / 12.0)] {
        close(mic.own_variance_mm2(repeats) / tenth / tenth, own, 1e-12);
        close(mic.standard_uncertainty_mm(repeats) / tenth, (own + 1.0 / 3.0).sqrt(), 1e-12);
    }
    let metric = Instrument::shop_default(Unit::Millimetre);
    close(metric.own_variance_mm2(1) * 1e6, 1.0 + 4.0 / 12.0, 1e-12);
    close(metric.standard_uncertainty_mm(1) * 1e3, (1.0f64 + 4.0 / 12.0 + 16.0 / 3.0).sqrt(), 1e-12);
    assert_eq!((metric.graduation_mm, metric.error_limit_mm, metric.repeatability_mm), (0.002, 0.004, 0.001));
    assert_eq!((metric.zero_mm, metric.name.as_str()), (0.0, "shop default"));
}

#[test]
fn a_budget_adds_up_to_the_uncertainty() {
    let mut mic = Instrument::shop_default(Unit::Inch);
    let cold = mic.budget(50.0, 3);
    assert_eq!(cold.parts.len(), 3);
    close(cold.combined(), mic.standard_uncertainty_mm(3), 1e-15);
    close(cold.own().powi(2), mic.own_variance_mm2(3), 1e-18);

    mic.part_temperature_c = Some(30.0);
    mic.temperature_c = Some(22.0);
    let warm = mic.budget(50.0, 3);
    assert_eq!(warm.parts.len(), 7);
    // Own parts stay what they were; all that temperature adds is shared.
    close(warm.own(), cold.own(), 1e-18);
    let part = |name: &str| warm.parts.iter().find(|part| part.name == name).unwrap().contribution() * 1000.0;
    // By hand: 50 · 11.5e-6 · 1/√3 mm; 50 · 10 K · 1e-6/√3; 50 · 8 K · 2e-6/√3.
    close(part("temperature of the part"), 0.331_976, 1e-6);
    close(part("temperature of the instrument"), 0.331_976, 1e-6);
    close(part("expansion, part against instrument"), 0.288_675, 1e-6);
    close(part("expansion of steel"), 0.461_880, 1e-6);
    assert!(warm.combined() > cold.combined());
}

/// Each sensitivity against the correction itself, moved a little.
#[test]
fn the_temperature_parts_follow_the_correction() {
    let mut mic = Instrument::shop_default(Unit::Millimetre);
    (mic.part_temperature_c, mic.temperature_c) = (Some(30.0), Some(24.0));
    let budget = mic.budget(60.0, 1);
    let here = mic.corrected_mm(60.0);
    let sensitivity = |name: &str| budget.parts.iter().find(|part| part.name == name).unwrap().sensitivity;
    // First order against true: the two differ by α·Δt, some 1e-4 of the sensitivity.
    mic.part_temperature_c = Some(31.0);
    close(mic.corrected_mm(60.0) - here, sensitivity("temperature of the part"), 1e-6);
    (mic.part_temperature_c, mic.temperature_c) = (Some(30.0), Some(25.0));
    close(mic.corrected_mm(60.0) - here, sensitivity("temperature of the instrument"), 1e-6);
}

/// Common practice, no source: a tenth-reading micrometer serves half a thou, a thou-reading one does not.
#[test]
fn a_coarse_instrument_is_known_as_one() {
    let tenths = Instrument::shop_default(Unit::Inch);
    assert!(!tenths.too_coarse_for(0.0005 * 25.4));
    assert!(tenths.too_coarse_for(0.0003 * 25.4));
    let mut thou = tenths.clone();
    thou.graduation_mm = 0.0254;
    assert!(thou.too_coarse_for(0.0005 * 25.4));
    assert!(thou.too_coarse_for(0.0010 * 25.4));
    assert!(!thou.too_coarse_for(0.0020 * 25.4));
    let metric = Instrument::shop_default(Unit::Millimetre);
    assert!(!metric.too_coarse_for(0.013));
    assert!(metric.too_coarse_for(0.0));
}

/// By hand, in millionths of the size: the part's temperature was taken, within 1 K, the micrometer's was not, within 5 K: 11.5
/// and 57.5. The steels differ by 1 in a million per kelvin, 10 K: 10. Steel is known to 2: 20. Squares 132.25, 3306.25, 100
/// and 400 are 3938.5; a third of it is 1312.83, whose root is 36.233. The scale is no part of it.
#[test]
fn the_share_of_temperature_leaves_the_scale_out() {
    let mut mic = Instrument::shop_default(Unit::Millimetre);
    assert_eq!(mic.temperature_share(), 0.0);
    mic.part_temperature_c = Some(30.0);
    close(mic.temperature_share(), 36.233e-6, 5e-10);
}
