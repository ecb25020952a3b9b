//! The grinding plan, backwards from the finished size.

use crank::{Aim, Band, JournalSet, Treatment};

use crate::{Policy, PolishWhen};

/// A point in the work at which a journal is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// After the rough pass.
    Rough,
    /// As it leaves the wheel.
    Grind,
    /// As it goes to heat treatment.
    BeforeTreatment,
    /// As it goes to the engine.
    Finished,
}

impl Stage {
    /// The stage as a sheet names it.
    pub const fn word(self) -> &'static str {
        match self {
            Stage::Rough => "rough",
            Stage::Grind => "grind",
            Stage::BeforeTreatment => "before treatment",
            Stage::Finished => "finished",
        }
    }
}

/// A size to work to, and how far off it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StageSize {
    /// Where in the work.
    pub stage: Stage,
    /// The size to aim for.
    pub target_mm: f64,
    /// The limits; where `low_mm` is above `high_mm` nothing is left of the window.
    pub window: Band,
}

impl StageSize {
    /// Whether nothing is left of the window.
    pub fn is_lost(&self) -> bool {
        self.window.low_mm > self.window.high_mm + 1e-9
    }
}

/// The sizes at every stage for one set of journals.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// In the order of the work.
    pub stages: Vec<StageSize>,
    /// Where no window is left: the growth's standard deviation that would leave one.
    pub growth_sd_must_be_below_mm: Option<f64>,
}

/// The size at which the wheel must leave a journal: finished size - growth + polish stock, growth only where the crank
/// is treated after grinding. The finished size is the one that its bearings ask for, where they were measured, else the
/// middle of the limits less the undersize.
pub fn ground_size_mm(set: &JournalSet, treatment: &Treatment, policy: &Policy, undersize_mm: f64) -> f64 {
    finished_target_mm(set.aim(undersize_mm), treatment) - growth_mm(treatment) + policy.polish_stock_mm
}

/// Nobody aims at the end of a window: half of what is ground would lie outside. So much is kept at either end, half a
/// tenth of a thou: inside a tenth there is nothing to aim at but its middle. Common practice, no source.
const KEPT_MM: f64 = 0.001_27;

/// The size to finish at: the aim, moved inwards where it lies at an end of its window, or where the spread of the
/// growth could carry it out. Bearings at one end of their limits ask for the end of the window itself.
fn finished_target_mm(aim: Aim, treatment: &Treatment) -> f64 {
    let spread_mm = spread_mm(treatment);
    let (low_mm, high_mm) = (aim.window.low_mm + spread_mm, aim.window.high_mm - spread_mm);
    if low_mm > high_mm {
        return aim.window.middle_mm();
    }
    let kept_mm = KEPT_MM.min((high_mm - low_mm) / 2.0);
    aim.target_mm.clamp(low_mm + kept_mm, high_mm - kept_mm)
}

/// What the window loses at either end to the growth's spread.
fn spread_mm(treatment: &Treatment) -> f64 {
    if treatment.after_grinding { 2.0 * treatment.growth_sd_mm } else { 0.0 }
}

fn growth_mm(treatment: &Treatment) -> f64 {
    if treatment.after_grinding { treatment.growth_mean_mm } else { 0.0 }
}

/// Works out the sizes of every stage.
///
/// ```text
/// finished         = what the bearings ask for where they were measured, else the middle of the limits
/// before treatment = finished - growth         window shrunk at both ends by twice the growth's spread
/// grind            = before treatment + polish stock
/// rough            = grind + finish stock        its window follows too
/// ```
///
/// Where the shop polishes after treatment the polish stock stands between treatment and finished instead.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// Growth is the specification's or the shop's own; it differs from steel to steel and load to load.
pub fn plan(set: &JournalSet, treatment: &Treatment, policy: &Policy, undersize_mm: f64) -> Plan {
    let aim = set.aim(undersize_mm);
    let finished = aim.window;
    // How far the aim is from the middle of its window; it keeps that place through every stage.
    let off_mm = finished_target_mm(aim, treatment) - finished.middle_mm();
    let treated = treatment.after_grinding;
    let spread = spread_mm(treatment);
    let grown = finished.less(growth_mm(treatment));
    let shrunk = Band { low_mm: grown.low_mm + spread, high_mm: grown.high_mm - spread };
    let polish_after = policy.polish == PolishWhen::AfterTreatment;
    let before = if treated && polish_after { shrunk.less(-policy.polish_stock_mm) } else { shrunk };
    let grind = if treated && polish_after { before } else { before.less(-policy.polish_stock_mm) };
    let rough = grind.less(-policy.finish_stock_mm);
    let mut stages = vec![size(Stage::Rough, rough, off_mm), size(Stage::Grind, grind, off_mm)];
    if treated {
        stages.push(size(Stage::BeforeTreatment, before, off_mm));
    }
    stages.push(size(Stage::Finished, finished, off_mm));
    // A window of no width is lost too where the growth varies at all: nobody hits one size.
    let no_window = spread > 0.0 && shrunk.low_mm >= shrunk.high_mm - 1e-9;
    Plan { stages, growth_sd_must_be_below_mm: no_window.then(|| finished.width_mm() / 4.0) }
}

fn size(stage: Stage, window: Band, off_mm: f64) -> StageSize {
    StageSize { stage, target_mm: window.middle_mm() + off_mm, window }
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::Unit;

    fn pin() -> JournalSet {
        JournalSet {
            positions_mm: vec![0.0],
            angles_deg: vec![0.0],
            size: Band { low_mm: 1.8745 * 25.4, high_mm: 1.8750 * 25.4 },
            undersizes_mm: vec![0.254, 0.508],
            out_of_round_mm: None,
            taper: None,
            run_out: None,
            length_mm: 24.0,
            smallest_mm: None,
            wear_limit_mm: None,
            wear_out_of_round_mm: None,
            wear_taper: None,
            aims: Vec::new(),
        }
    }

    fn nitrided(mean_in: f64, sd_in: f64) -> Treatment {
        Treatment {
            kind: "nitriding".into(),
            growth_mean_mm: mean_in * 25.4,
            growth_sd_mm: sd_in * 25.4,
            after_grinding: true,
        }
    }

    #[track_caller]
    fn check(plan: &Plan, expected: &[(Stage, f64, f64, f64)]) {
        assert_eq!(plan.stages.len(), expected.len());
        for (found, &(stage, target, low, high)) in plan.stages.iter().zip(expected) {
            assert_eq!(found.stage, stage);
            for (found_mm, inches) in
                [(found.target_mm, target), (found.window.low_mm, low), (found.window.high_mm, high)]
            {
                assert!((found_mm / 25.4 - inches).abs() < 1e-9, "{stage:?}: {} in, not {inches}", found_mm / 25.4);
            }
        }
    }

    /// By hand, from the order of work: 0.020 under, growth 0.0005 ± 0.0001, polish 0.0002, finish stock 0.0040 in.
    #[test]
    fn sizes_run_backwards_from_finished() {
        let plan = plan(&pin(), &nitrided(0.0005, 0.0001), &Policy::usual(Unit::Inch), 0.508);
        check(
            &plan,
            &[
                (Stage::Rough, 1.85845, 1.8584, 1.8585),
                (Stage::Grind, 1.85445, 1.8544, 1.8545),
                (Stage::BeforeTreatment, 1.85425, 1.8542, 1.8543),
                (Stage::Finished, 1.85475, 1.8545, 1.8550),
            ],
        );
        assert_eq!(plan.growth_sd_must_be_below_mm, None);
    }

    /// Common practice, no source: nitriding grows a journal about 0.0005 in on the diameter, so one that is to finish
    /// at 1.7500 in is finished at 1.7495 before treatment.
    #[test]
    fn a_nitrided_journal_is_finished_half_a_thou_under() {
        let set = JournalSet { size: Band { low_mm: 1.75 * 25.4, high_mm: 1.75 * 25.4 }, ..pin() };
        let policy = Policy { polish: PolishWhen::AfterTreatment, polish_stock_mm: 0.0, ..Policy::usual(Unit::Inch) };
        let plan = plan(&set, &nitrided(0.0005, 0.0), &policy, 0.0);
        let before = plan.stages.iter().find(|s| s.stage == Stage::BeforeTreatment).unwrap();
        assert!((before.target_mm / 25.4 - 1.7495).abs() < 1e-12);
    }

    #[test]
    fn polish_after_treatment_moves_the_stock_to_that_side() {
        let policy = Policy { polish: PolishWhen::AfterTreatment, ..Policy::usual(Unit::Inch) };
        let plan = plan(&pin(), &nitrided(0.0005, 0.0001), &policy, 0.508);
        check(
            &plan,
            &[
                (Stage::Rough, 1.85845, 1.8584, 1.8585),
                (Stage::Grind, 1.85445, 1.8544, 1.8545),
                (Stage::BeforeTreatment, 1.85445, 1.8544, 1.8545),
                (Stage::Finished, 1.85475, 1.8545, 1.8550),
            ],
        );
    }

    #[test]
    fn an_untreated_crank_has_no_stage_before_treatment() {
        let untreated =
            Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false };
        let plan = plan(&pin(), &untreated, &Policy::usual(Unit::Inch), 0.254);
        check(
            &plan,
            &[
                (Stage::Rough, 1.86895, 1.8687, 1.8692),
                (Stage::Grind, 1.86495, 1.8647, 1.8652),
                (Stage::Finished, 1.86475, 1.8645, 1.8650),
            ],
        );
    }

    /// By hand: the bearings ask for 1.8548 within 1.8545 to 1.8550; less growth 0.0005 that is 1.8543, within 1.8541 to
    /// 1.8544 once a tenth is kept at either end for the growth's spread; then polish 0.0002 and finish stock 0.0040.
    #[test]
    fn the_bearings_aim_takes_the_place_of_the_middle() {
        let band = |low: f64, high: f64| Band { low_mm: low * 25.4, high_mm: high * 25.4 };
        let aim = Aim { undersize_mm: 0.508, target_mm: 1.8548 * 25.4, window: band(1.8545, 1.8550) };
        let set = JournalSet { aims: vec![aim], ..pin() };
        let policy = Policy::usual(Unit::Inch);
        let steady = nitrided(0.0005, 0.00005);
        check(
            &plan(&set, &steady, &policy, 0.508),
            &[
                (Stage::Rough, 1.8585, 1.8583, 1.8586),
                (Stage::Grind, 1.8545, 1.8543, 1.8546),
                (Stage::BeforeTreatment, 1.8543, 1.8541, 1.8544),
                (Stage::Finished, 1.8548, 1.8545, 1.8550),
            ],
        );
        assert!((ground_size_mm(&set, &steady, &policy, 0.508) / 25.4 - 1.8545).abs() < 1e-9);
        // Where the growth varies so much that only 1.85474 to 1.85476 is safe, the aim moves there: not to its end, but
        // to its middle.
        let wild = plan(&set, &nitrided(0.0005, 0.00012), &policy, 0.508);
        let finished = wild.stages.last().unwrap();
        assert!((finished.target_mm / 25.4 - 1.854_75).abs() < 1e-9);
        // Other steps of the ladder keep the middle of the book's limits.
        assert!((ground_size_mm(&set, &steady, &policy, 0.254) / 25.4 - 1.86445).abs() < 1e-9);
    }

    /// Bearings at the tight end of their limits ask for the low end of the window itself: the aim keeps half a tenth from
    /// either end.
    #[test]
    fn an_aim_at_the_end_of_its_window_is_moved_inside() {
        let window = Band { low_mm: 1.8546 * 25.4, high_mm: 1.8550 * 25.4 };
        let untreated =
            Treatment { kind: "none".into(), growth_mean_mm: 0.0, growth_sd_mm: 0.0, after_grinding: false };
        for (asked_in, expected_in) in [(1.8546, 1.85465), (1.8550, 1.85495), (1.8547, 1.8547)] {
            let set =
                JournalSet { aims: vec![Aim { undersize_mm: 0.508, target_mm: asked_in * 25.4, window }], ..pin() };
            let plan = plan(&set, &untreated, &Policy::usual(Unit::Inch), 0.508);
            let finished = plan.stages.last().unwrap();
            assert!(
                (finished.target_mm / 25.4 - expected_in).abs() < 1e-9,
                "{asked_in}: {}",
                finished.target_mm / 25.4
            );
            for stage in &plan.stages {
                assert!(stage.window.low_mm < stage.target_mm && stage.target_mm < stage.window.high_mm, "{stage:?}");
            }
        }
    }

    #[test]
    fn a_lost_window_is_said_with_what_would_make_room() {
        let plan = plan(&pin(), &nitrided(0.0005, 0.0002), &Policy::usual(Unit::Inch), 0.508);
        let needed = plan.growth_sd_must_be_below_mm.unwrap() / 25.4;
        assert!((needed - 0.000_125).abs() < 1e-12, "half a thou of window leaves room for an eighth of spread");
        // The targets stay where they were.
        assert!((plan.stages[1].target_mm / 25.4 - 1.85445).abs() < 1e-9);
    }
}
