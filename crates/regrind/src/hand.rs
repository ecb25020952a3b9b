//! Where a computed size can be held: targets on graduations, and windows round them.

use crank::Band;
use gauge::Instrument;

use crate::finish::Scatter;
use crate::plan::Work;
use crate::stage::{STEPS_ALIKE, Stage, StageSize};

/// Puts the sizes of one set where they can be held.
pub(crate) struct Hand<'a> {
    pub(crate) work: &'a Work<'a>,
    /// What the journals are to finish within.
    pub(crate) limits: Band,
    /// Standard deviation of the shop's grinding.
    pub(crate) spread_mm: f64,
}

impl Hand<'_> {
    /// A stage that is worked to, with what a journal changes by on average from there until it is finished.
    pub(crate) fn worked(&self, stage: Stage, computed_mm: f64, to_come_mm: f64, scatter: Scatter) -> StageSize {
        let micrometer = self.work.micrometer(computed_mm);
        let scatter = scatter.measured_with(micrometer, computed_mm);
        let limits = self.limits.less(to_come_mm);
        let target_mm = self.target_mm(micrometer, computed_mm, limits, scatter);
        StageSize {
            stage,
            target_mm,
            window: self.window(micrometer, target_mm, computed_mm, limits),
            finishes: Some(scatter.finishes(target_mm + to_come_mm, self.limits)),
            graduation_mm: Some(micrometer.graduation_mm),
        }
    }

    /// The graduation beside a computed size that serves best; the computed size itself where neither is within limits.
    pub(crate) fn target_mm(&self, micrometer: &Instrument, computed_mm: f64, limits: Band, scatter: Scatter) -> f64 {
        // Chances this close are one.
        const ALIKE: f64 = 1e-9;
        let within = |mm: f64| limits.low_mm - 1e-7 <= mm && mm <= limits.high_mm + 1e-7;
        let mut best: Option<(f64, f64)> = None;
        for mm in
            [above_mm(micrometer, computed_mm), below_mm(micrometer, computed_mm)].into_iter().filter(|mm| within(*mm))
        {
            let chance = scatter.chance(mm, limits);
            let nearer = |other: f64| (mm - computed_mm).abs() < (other - computed_mm).abs() - 1e-7;
            let better = best.is_none_or(|(other, known)| {
                chance > known + ALIKE || ((chance - known).abs() <= ALIKE && nearer(other))
            });
            if better {
                best = Some((mm, chance));
            }
        }
        best.map_or(computed_mm, |(mm, _)| mm)
    }

    /// A window on graduations, as wide as machine and micrometer need, with the target inside.
    fn window(&self, micrometer: &Instrument, target_mm: f64, computed_mm: f64, limits: Band) -> Band {
        let step_mm = micrometer.graduation_mm;
        let steps = (2.0 * self.spread_mm / step_mm - STEPS_ALIKE).ceil().clamp(2.0, MOST_STEPS);
        let low_mm = below_mm(micrometer, target_mm);
        if (low_mm - target_mm).abs() > STEPS_ALIKE * step_mm {
            // A target between two graduations: those around it, and as many more as it takes.
            let more = ((steps - 1.0) / 2.0).ceil();
            return Band { low_mm: low_mm - more * step_mm, high_mm: low_mm + (more + 1.0) * step_mm };
        }
        // In picometres, so that what is alike but for the last bit is alike.
        let whole = |mm: f64| (mm * 1e9).round() as i64;
        let beyond_mm =
            |window: &Band| (limits.low_mm - window.low_mm).max(0.0) + (window.high_mm - limits.high_mm).max(0.0);
        let off_mm = |window: &Band| (window.middle_mm() - computed_mm).abs();
        let all = (1..steps as usize).map(|below| {
            let low_mm = target_mm - below as f64 * step_mm;
            Band { low_mm, high_mm: low_mm + steps * step_mm }
        });
        // Of those that are alike the first, which lies highest.
        let best = all.min_by_key(|window| (whole(beyond_mm(window)), whole(off_mm(window))));
        best.unwrap_or(Band { low_mm: target_mm - step_mm, high_mm: target_mm + step_mm })
    }

    /// The rough pass, where it has something to take off the largest journal, and leaves something to the finishing one.
    pub(crate) fn rough(&self, grind: &StageSize, finish_stock_mm: f64) -> Option<StageSize> {
        let computed_mm = grind.target_mm + finish_stock_mm;
        let micrometer = self.work.micrometer(computed_mm);
        let target_mm = nearest_mm(micrometer, computed_mm);
        let third = (finish_stock_mm / 3.0 / micrometer.graduation_mm + STEPS_ALIKE).floor().max(1.0);
        let either_way_mm = third * micrometer.graduation_mm;
        let window = Band { low_mm: target_mm - either_way_mm, high_mm: target_mm + either_way_mm };
        let takes = self.work.largest_mm.is_none_or(|largest_mm| largest_mm > window.high_mm + 1e-7);
        (finish_stock_mm > 0.0 && takes && window.low_mm > grind.window.high_mm + 1e-7).then_some(StageSize {
            stage: Stage::Rough,
            target_mm,
            window,
            finishes: grind.finishes,
            graduation_mm: Some(micrometer.graduation_mm),
        })
    }

    /// The end of the work: the limits themselves, and of the doubt only the micrometer's.
    pub(crate) fn finished(&self, computed_mm: f64, before: Scatter) -> StageSize {
        let micrometer = self.work.micrometer(computed_mm);
        let target_mm =
            self.target_mm(micrometer, computed_mm, self.limits, before.measured_with(micrometer, computed_mm));
        let scatter = Scatter::default().measured_with(micrometer, computed_mm);
        StageSize {
            stage: Stage::Finished,
            target_mm,
            window: self.limits,
            finishes: Some(scatter.finishes(target_mm, self.limits)),
            graduation_mm: Some(micrometer.graduation_mm),
        }
    }
}

/// A window of more graduations than this is one of a spread that is no spread: nobody grinds to a tenth of an inch.
const MOST_STEPS: f64 = 10_000.0;

/// The largest size not above this one that a micrometer shows on a graduation, its zero taken off.
pub(crate) fn below_mm(micrometer: &Instrument, mm: f64) -> f64 {
    let step_mm = micrometer.graduation_mm;
    ((mm + micrometer.zero_mm) / step_mm + STEPS_ALIKE).floor() * step_mm - micrometer.zero_mm
}

/// The smallest size not below this one that a micrometer shows on a graduation, its zero taken off.
pub(crate) fn above_mm(micrometer: &Instrument, mm: f64) -> f64 {
    let step_mm = micrometer.graduation_mm;
    ((mm + micrometer.zero_mm) / step_mm - STEPS_ALIKE).ceil() * step_mm - micrometer.zero_mm
}

fn nearest_mm(micrometer: &Instrument, mm: f64) -> f64 {
    let (below, above) = (below_mm(micrometer, mm), above_mm(micrometer, mm));
    if mm - below < above - mm - 1e-7 { below } else { above }
}
