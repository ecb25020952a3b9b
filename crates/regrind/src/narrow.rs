//! Whether a window to grind to is one that anybody can hold and measure.

use gauge::Instrument;
use units::{Unit, show_mm};

use crate::stage::StageSize;

/// What a crankshaft grinder commonly holds on the diameter: 0.0002 in, in all. Common practice, no source.
pub const MACHINE_HOLDS_MM: f64 = 0.005_08;

/// Says so, in words that follow "the window is", where the window of a stage is finer than the best of these micrometers
/// can be worked to, or than a machine commonly holds; nothing where it is wide enough, or lost altogether.
///
/// A window of two graduations can be worked to: what the micrometer's doubt does to the outcome is in the stage's chance.
/// A plan that knows this chance has windows as wide as the shop's own grinding needs; only one of an earlier version is
/// held against what is common.
pub fn narrow_window(micrometers: &[&Instrument], stage: &StageSize, unit: Unit) -> Option<String> {
    /// A sum of exact lengths is off by less than this.
    const ROUNDING_MM: f64 = 1e-7;
    if stage.is_lost() {
        return None;
    }
    let width_mm = stage.window.width_mm();
    let figure = |mm: f64| format!("{} {unit}", show_mm(mm, unit, if unit == Unit::Inch { 5 } else { 4 }));
    let reach =
        |m: &&&Instrument| m.range_mm.is_none_or(|(low, high)| low <= stage.target_mm && stage.target_mm <= high);
    let doubt_mm = |m: &Instrument| 2.0 * m.budget(stage.target_mm, 1).combined();
    let best = micrometers.iter().filter(reach).min_by(|a, b| doubt_mm(a).total_cmp(&doubt_mm(b)));
    let coarse = best.filter(|best| 2.0 * best.graduation_mm > width_mm + ROUNDING_MM);
    let tight = stage.finishes.is_none() && width_mm < MACHINE_HOLDS_MM - ROUNDING_MM;
    let mut than = Vec::new();
    if let Some(best) = coarse {
        than.push(format!("than a micrometer that is good to about {} either way", figure(doubt_mm(best))));
    }
    if tight {
        than.push(format!("than the {} that a crank grinder commonly holds", figure(MACHINE_HOLDS_MM)));
    }
    (!than.is_empty())
        .then(|| format!("{} wide, finer {}: measure cold, and more than once", figure(width_mm), than.join(", and ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Stage;
    use crank::Band;

    fn stage(low_in: f64, high_in: f64) -> StageSize {
        let window = Band { low_mm: low_in * 25.4, high_mm: high_in * 25.4 };
        let target_mm = window.middle_mm();
        StageSize { stage: Stage::Grind, target_mm, window, finishes: None, graduation_mm: None }
    }

    #[test]
    fn a_window_of_a_tenth_is_said_to_be_finer_than_micrometer_and_machine() {
        let mic = Instrument { name: "mic 2-3".into(), ..Instrument::shop_default(Unit::Inch) };
        let says = narrow_window(&[&mic], &stage(2.1144, 2.1145), Unit::Inch).expect("a remark");
        // By hand, in tenths: a quarter of the hand, a twelfth of rounding and a third of the scale are 2/3; twice the root of it
        // is 1.633.
        let good = "0.00010 in wide, finer than a micrometer that is good to about 0.00016 in either way";
        assert!(says.starts_with(good), "{says}");
        assert!(
            says.ends_with(
                "and than the 0.00020 in that a crank grinder commonly holds: measure cold, and more than once"
            ),
            "{says}"
        );
        let machine = narrow_window(&[], &stage(2.1144, 2.1145), Unit::Inch).expect("a remark");
        assert!(!machine.contains("micrometer"), "{machine}");
        assert_eq!(narrow_window(&[&mic], &stage(2.11, 2.12), Unit::Inch), None);
        // Two graduations can be worked to, and are what a machine commonly holds.
        assert_eq!(narrow_window(&[&mic], &stage(2.1144, 2.1146), Unit::Inch), None);
        let thou = Instrument { graduation_mm: 0.0254, ..mic.clone() };
        let says = narrow_window(&[&thou], &stage(2.1144, 2.1146), Unit::Inch).expect("a remark");
        assert!(says.starts_with("0.00020 in wide, finer than a micrometer") && !says.contains("grinder"), "{says}");
        // A window that is lost is said elsewhere.
        assert_eq!(narrow_window(&[&mic], &stage(2.1145, 2.1144), Unit::Inch), None);
    }
}
