//! The stages of the work, and the size of one with its window, as it is printed everywhere.

use crank::Band;
use units::Unit;

use crate::finish::Finishes;

/// A point in the work at which a journal is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// After the rough pass.
    Rough,
    /// As it leaves the wheel.
    Grind,
    /// As a polish leaves it that nothing was ground before.
    Polish,
    /// As it goes to heat treatment.
    BeforeTreatment,
    /// As it goes to the engine.
    Finished,
}

impl Stage {
    /// Every stage, in the order of the work.
    pub const ALL: [Stage; 5] = [Stage::Rough, Stage::Grind, Stage::Polish, Stage::BeforeTreatment, Stage::Finished];

    /// The stage as a sheet names it.
    pub const fn word(self) -> &'static str {
        match self {
            Stage::Rough => "rough",
            Stage::Grind => "grind",
            Stage::Polish => "polish",
            Stage::BeforeTreatment => "before treatment",
            Stage::Finished => "finished",
        }
    }

    /// The stage that a sheet names so.
    pub fn of_word(word: &str) -> Option<Stage> {
        Stage::ALL.into_iter().find(|stage| stage.word() == word)
    }
}

/// A size to work to, and how far off it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StageSize {
    /// Where in the work.
    pub stage: Stage,
    /// The size to aim for.
    pub target_mm: f64,
    /// The limits; where `low_mm` is above `high_mm` nothing is left of the window, as on a paper of an earlier version.
    pub window: Band,
    /// The chance that a journal worked to the target finishes within its limits; unknown on a paper of an earlier version.
    pub finishes: Option<Finishes>,
    /// Graduation of the micrometer that the sizes are for; unknown on a paper of an earlier version.
    pub graduation_mm: Option<f64>,
}

impl StageSize {
    /// Whether nothing is left of the window.
    pub fn is_lost(&self) -> bool {
        self.window.low_mm > self.window.high_mm + 1e-9
    }

    /// The target as it is printed, on paper, page and screen and for programs: as many digits as a micrometer of the unit
    /// shows, and one more only where it has it.
    pub fn target_figure(&self, unit: Unit) -> String {
        figure(self.target_mm, unit)
    }

    /// The ends of the window as they are printed, each rounded inwards to what the micrometer shows; none where nothing is
    /// left of it. Limits of another unit have more digits than anybody can read.
    pub fn window_figures(&self, unit: Unit) -> Option<(String, String)> {
        if self.is_lost() {
            return None;
        }
        let usual_mm = 10.0 * step_mm(unit);
        let as_shown =
            self.graduation_mm.is_some_and(|mm| is_whole(mm / usual_mm) && is_whole(self.target_mm / usual_mm));
        let inwards = |printed: f64| {
            let low_mm = ((self.window.low_mm / printed) - STEPS_ALIKE).ceil() * printed;
            let high_mm = ((self.window.high_mm / printed) + STEPS_ALIKE).floor() * printed;
            (low_mm <= high_mm + 1e-9).then_some((low_mm, high_mm))
        };
        let rounded = inwards(usual_mm).filter(|_| as_shown).or_else(|| inwards(step_mm(unit)));
        // Between two figures there is none to round to.
        let (low_mm, high_mm) = rounded.unwrap_or((self.window.low_mm, self.window.high_mm));
        Some((figure(low_mm, unit), figure(high_mm, unit)))
    }
}

/// Two computed sizes whose difference is this share of a graduation are one.
pub(crate) const STEPS_ALIKE: f64 = 1e-5;

/// The last place of a printed size: one beyond what a micrometer of the unit shows.
fn step_mm(unit: Unit) -> f64 {
    unit.mm() / 10f64.powi(unit.usual_decimals() as i32 + 1)
}

/// Whether a number of graduations is a whole one, but for what a conversion leaves.
fn is_whole(steps: f64) -> bool {
    steps >= 1.0 - STEPS_ALIKE && (steps - steps.round()).abs() < STEPS_ALIKE * steps.max(1.0)
}

fn figure(mm: f64, unit: Unit) -> String {
    let finer = units::show_mm(mm, unit, unit.usual_decimals() + 1);
    finer.strip_suffix('0').map_or(finer.clone(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figures(low_mm: f64, high_mm: f64, target_mm: f64, graduation_mm: Option<f64>, unit: Unit) -> (String, String) {
        let window = Band { low_mm, high_mm };
        let stage = StageSize { stage: Stage::Finished, target_mm, window, finishes: None, graduation_mm };
        stage.window_figures(unit).expect("a window")
    }

    /// By hand: 1.8645 to 1.8650 in is 47.3583 to 47.371 mm. A micrometer of microns shows 47.359 to 47.371 within that.
    #[test]
    fn limits_of_another_unit_are_rounded_inwards_to_what_the_micrometer_shows() {
        let (low, high) = (1.8645 * 25.4, 1.8650 * 25.4);
        let said = |target, graduation| figures(low, high, target, graduation, Unit::Millimetre);
        assert_eq!(said(47.365, Some(0.001)), ("47.359".into(), "47.371".into()));
        assert_eq!(said(47.364, Some(0.002)), ("47.359".into(), "47.371".into()));
        // An inch micrometer on a metric sheet stops between microns, and a paper of before tells no graduation.
        assert_eq!(said(47.36584, Some(0.00254)), ("47.3583".into(), "47.371".into()));
        assert_eq!(said(47.365, None), ("47.3583".into(), "47.371".into()));
        // Limits of half a micron in which no micron lies keep their digits.
        assert_eq!(
            figures(47.3583, 47.3587, 47.358, Some(0.001), Unit::Millimetre),
            ("47.3583".into(), "47.3587".into())
        );
        assert_eq!(
            figures(1.86455 * 25.4, 1.8650 * 25.4, 1.8648 * 25.4, Some(0.00254), Unit::Inch),
            ("1.8646".into(), "1.8650".into())
        );
    }
}
