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

    /// The ends of the window as they are printed, each rounded inwards; none where nothing is left of it.
    pub fn window_figures(&self, unit: Unit) -> Option<(String, String)> {
        if self.is_lost() {
            return None;
        }
        let printed = step_mm(unit);
        let low_mm = ((self.window.low_mm / printed) - STEPS_ALIKE).ceil() * printed;
        let high_mm = ((self.window.high_mm / printed) + STEPS_ALIKE).floor() * printed;
        // Between two figures there is none to round to.
        let (low_mm, high_mm) =
            if low_mm > high_mm + 1e-9 { (self.window.low_mm, self.window.high_mm) } else { (low_mm, high_mm) };
        Some((figure(low_mm, unit), figure(high_mm, unit)))
    }
}

/// Two computed sizes whose difference is this share of a graduation are one.
pub(crate) const STEPS_ALIKE: f64 = 1e-5;

/// The last place of a printed size: one beyond what a micrometer of the unit shows.
fn step_mm(unit: Unit) -> f64 {
    unit.mm() / 10f64.powi(unit.usual_decimals() as i32 + 1)
}

fn figure(mm: f64, unit: Unit) -> String {
    let finer = units::show_mm(mm, unit, unit.usual_decimals() + 1);
    finer.strip_suffix('0').map_or(finer.clone(), str::to_owned)
}
