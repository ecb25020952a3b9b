//! What would make room where too few journals would finish within their limits.

use crank::Band;
use units::{Unit, show_mm};

use crate::Policy;
use crate::finish::Scatter;
use crate::next::plural;
use crate::stage::{Stage, StageSize};
use crate::verdict::SetPlan;
use crate::words::in_hundred;

/// Ways that would each alone bring the chance of finishing within limits up to the shop's rule.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Room {
    /// The growth varying by less than this, as a standard deviation on the diameter.
    pub growth_sd_below_mm: Option<f64>,
    /// What it is taken to vary by.
    pub growth_sd_mm: f64,
    /// Finishing after treatment, when the growth is over and can be measured.
    pub finish_after_treatment: bool,
    /// Polishing to size, measured as it goes, after all else.
    pub polish_to_size: bool,
    /// A micrometer that adds next to nothing.
    pub finer_micrometer: bool,
    /// Aiming at the middle of the limits and not where the bearings ask.
    pub aim_at_middle_mm: Option<f64>,
}

impl Room {
    /// What would make room, in words that can follow a colon.
    pub fn words(&self, unit: Unit) -> String {
        let decimals = unit.usual_decimals() + 1;
        let mut ways = Vec::new();
        if let Some(sd_mm) = self.growth_sd_below_mm {
            // Rounded down: a spread just below the figure must do.
            let last_mm = unit.mm() / 10f64.powi(decimals as i32);
            let figure = show_mm((sd_mm / last_mm).floor() * last_mm, unit, decimals);
            if figure.bytes().any(|byte| (b'1'..=b'9').contains(&byte)) {
                let now = show_mm(self.growth_sd_mm, unit, decimals);
                ways.push(format!(
                    "a growth known to {figure} {unit} and not to {now} (standard deviation), from a test piece in each load"
                ));
            }
        }
        if self.finish_after_treatment {
            ways.push("finishing after treatment, where the case is deep enough".to_owned());
        }
        if self.polish_to_size {
            ways.push("polishing to size last of all, measured as it goes".to_owned());
        }
        if self.finer_micrometer {
            ways.push("a finer micrometer".to_owned());
        }
        if let Some(mm) = self.aim_at_middle_mm {
            ways.push(format!("finishing to {} {unit}, the middle of the limits", show_mm(mm, unit, decimals)));
        }
        match ways.as_slice() {
            [] => "no one change is enough: the limits are too narrow for this work".to_owned(),
            all => all.join("; or "),
        }
    }
}

/// What would make room for a journal ground to a stage; none where the chance is what the shop asks for.
pub(crate) fn rooms(
    whole: Scatter,
    grind: &StageSize,
    computed_mm: f64,
    finished_mm: f64,
    limits: Band,
    policy: &Policy,
) -> Option<Room> {
    let wanted = policy.confidence;
    let mean_mm = finished_mm + grind.target_mm - computed_mm;
    if grind.finishes.is_some_and(|finishes| finishes.chance >= wanted) {
        return None;
    }
    let enough = |scatter: Scatter| scatter.chance(mean_mm, limits) >= wanted;
    let steady = Scatter { growth_mm: 0.0, ..whole };
    let grows = whole.growth_mm > 0.0;
    let measured = Scatter { growth_mm: 0.0, grinding_mm: 0.0, polish_mm: 0.0, ..whole };
    let middle_mm = limits.middle_mm();
    let aims_off = (mean_mm - middle_mm).abs() > grind.graduation_mm.unwrap_or(0.0);
    Some(Room {
        growth_sd_below_mm: (grows && enough(steady)).then(|| growth_below_mm(whole, enough)),
        growth_sd_mm: whole.growth_mm,
        finish_after_treatment: grows && enough(steady),
        polish_to_size: policy.polish_stock_mm > 0.0 && measured.chance(middle_mm, limits) >= wanted,
        finer_micrometer: enough(Scatter { own_mm: 0.0, scale_mm: 0.0, ..whole }),
        aim_at_middle_mm: (aims_off && whole.chance(middle_mm, limits) >= wanted).then_some(middle_mm),
    })
}

/// The spread of the growth at which the chance is just enough, by halving; it is enough without any.
fn growth_below_mm(whole: Scatter, enough: impl Fn(Scatter) -> bool) -> f64 {
    let (mut low_mm, mut high_mm) = (0.0, whole.growth_mm);
    for _ in 0..60 {
        let middle_mm = (low_mm + high_mm) / 2.0;
        if enough(Scatter { growth_mm: middle_mm, ..whole }) {
            low_mm = middle_mm;
        } else {
            high_mm = middle_mm;
        }
    }
    low_mm
}

/// The chance of each plan in words, with what would make room, for the plans whose chance is poor; sets of which the same
/// is to be said share a sentence.
pub(crate) fn poor(plans: &[SetPlan], policy: &Policy, unit: Unit) -> Vec<String> {
    let mut all: Vec<(String, String)> = Vec::new();
    for plan in plans {
        let finishes = plan.plan.stage(Stage::Grind).and_then(|grind| grind.finishes);
        let Some((room, finishes)) = plan.plan.room.as_ref().zip(finishes) else { continue };
        let says = format!(
            "ground to this plan {}. The shop asks for {}. What would make room: {}.",
            finishes.words(),
            in_hundred(policy.confidence),
            room.words(unit)
        );
        match all.iter_mut().find(|(_, known)| *known == says) {
            Some((names, _)) => *names = format!("{names}, and as many of the {},", plural(plan.set)),
            None => all.push((format!("Of the {}", plural(plan.set)), says)),
        }
    }
    all.into_iter().map(|(names, says)| format!("{names} {says}")).collect()
}
