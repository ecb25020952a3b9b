//! The grinding plan, backwards from the finished size.

use crank::{Aim, Findings, JournalId, JournalSet, SetName, Specification, Treatment};
use gauge::Instrument;
use units::Unit;

use crate::finish::Scatter;
use crate::hand::Hand;
use crate::room::{Room, rooms};
use crate::stage::{Stage, StageSize};
use crate::{Policy, PolishWhen};

/// The sizes at every stage for one set of journals.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// In the order of the work.
    pub stages: Vec<StageSize>,
    /// The size that the wheel is to leave, before it was put on a graduation: [`ground_size_mm`].
    pub computed_mm: f64,
    /// Where the chance of finishing within limits is below the shop's: what would bring it there.
    pub room: Option<Room>,
}

impl Plan {
    /// One stage of it.
    pub fn stage(&self, stage: Stage) -> Option<&StageSize> {
        self.stages.iter().find(|known| known.stage == stage)
    }
}

/// What a plan is made for, beside the book and the shop's ways.
#[derive(Clone, Debug, PartialEq)]
pub struct Work<'a> {
    /// The undersize to grind to, on the diameter.
    pub undersize_mm: f64,
    /// The set's largest measured size, corrected; none where it is not known, and a rough pass is planned for.
    pub largest_mm: Option<f64>,
    /// The micrometers that the sizes are for; where none takes a size in, the shop's usual one.
    pub micrometers: Vec<&'a Instrument>,
    /// The shop's usual micrometer.
    pub usual: Instrument,
}

impl<'a> Work<'a> {
    /// Grinding to an undersize with nothing known of crank or micrometers.
    pub fn to(undersize_mm: f64, unit: Unit) -> Work<'a> {
        Work { undersize_mm, largest_mm: None, micrometers: Vec::new(), usual: Instrument::shop_default(unit) }
    }

    /// Grinding a set of one crank to an undersize, with the micrometers that measured it.
    pub fn on(
        specification: &Specification,
        findings: &'a Findings,
        set: SetName,
        undersize_mm: f64,
        unit: Unit,
    ) -> Work<'a> {
        let journals = (1..=specification.set(set).count()).map(|number| JournalId { set, number });
        let largest = journals.filter_map(|journal| crank::condition(specification, findings, journal, undersize_mm));
        Work {
            largest_mm: largest.map(|found| found.largest_mm).filter(|mm| mm.is_finite()).reduce(f64::max),
            micrometers: findings.micrometers_for(set),
            ..Work::to(undersize_mm, unit)
        }
    }

    /// The micrometer that a size is measured with.
    pub fn micrometer(&self, size_mm: f64) -> &Instrument {
        let graduated = |m: &&Instrument| m.graduation_mm.is_finite() && m.graduation_mm > 0.0;
        gauge::that_takes_in(&self.micrometers, size_mm).filter(graduated).unwrap_or(&self.usual)
    }
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

/// How much a polish takes varies by a quarter of what it is to take, as a standard deviation: belts that are to take 0.0002
/// in on the diameter take 0.0001 to 0.0003. Common practice, no source.
pub(crate) const POLISH_VARIES: f64 = 0.25;

/// Works out the sizes of every stage.
///
/// ```text
/// finished         = what the bearings ask for where they were measured, else the middle of the limits
/// before treatment = finished - growth
/// grind            = before treatment + polish stock
/// rough            = grind + finish stock        left out where the largest journal leaves no such stock
/// ```
///
/// Where the shop polishes after treatment the polish stock stands between treatment and finished instead. Each target is
/// then the graduation next to the one computed, of the two the one from which more journals finish within their limits;
/// where both do alike, the larger: what is too large can still be taken off. It leaves the computed size only where one
/// of the two finishes within limits on average.
///
/// The window is twice the standard deviation of the shop's grinding wide and never less than two graduations, on
/// graduations, with the target inside and its middle as near to the computed size as it goes; that of the rough pass is a
/// third of the finish stock either way. Beside each stage stands the [chance](Scatter) that a journal which is worked to
/// its target finishes within limits, with what is still to come from there: grinding, micrometer, and what follows of
/// polish and growth. The rough pass decides nothing, so it has the chance of the stage after it; at the finished one
/// only the micrometer is left.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// Growth is the specification's or the shop's own; it differs from steel to steel and load to load. Where the limits are
/// narrower than two graduations the window is wider than they are, and the chance says what that costs.
pub fn plan(set: &JournalSet, treatment: &Treatment, policy: &Policy, work: &Work<'_>) -> Plan {
    let aim = set.aim(work.undersize_mm);
    let finished_mm = finished_target_mm(aim, treatment);
    let computed_mm = ground_size_mm(set, treatment, policy, work.undersize_mm);
    let treated = treatment.after_grinding;
    let polish_mm = policy.polish_stock_mm;
    let polish_after = treated && policy.polish == PolishWhen::AfterTreatment;
    let whole = Scatter {
        growth_mm: if treated { treatment.growth_sd_mm } else { 0.0 },
        grinding_mm: policy.grinding_spread_mm,
        polish_mm: POLISH_VARIES * polish_mm,
        ..Scatter::default()
    };
    let hand = Hand { work, limits: aim.window, spread_mm: policy.grinding_spread_mm };
    let to_come_mm = |at_mm: f64| finished_mm - at_mm;
    let grind = hand.worked(Stage::Grind, computed_mm, to_come_mm(computed_mm), whole);
    let mut stages = Vec::new();
    stages.extend(hand.rough(&grind, policy.finish_stock_mm));
    stages.push(grind);
    if treated {
        let before_mm = finished_mm - growth_mm(treatment) + if polish_after { polish_mm } else { 0.0 };
        let after = Scatter { polish_mm: if polish_after { whole.polish_mm } else { 0.0 }, ..whole };
        stages.push(hand.worked(Stage::BeforeTreatment, before_mm, to_come_mm(before_mm), after));
    }
    stages.push(hand.finished(finished_mm, whole));
    let measured = whole.measured_with(work.micrometer(computed_mm), computed_mm);
    let room = rooms(measured, &grind, computed_mm, finished_mm, aim.window, policy);
    Plan { stages, computed_mm, room }
}

#[cfg(test)]
mod tests;
