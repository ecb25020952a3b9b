//! The plan of a set that is only polished: where to stop each journal, and whether it keeps its limits.

use crank::{Band, Findings, JournalId, SetName, Specification, Treatment};
use units::{Unit, show_mm};

use crate::finish::Scatter;
use crate::hand::{Hand, above_mm, below_mm};
use crate::plan::{POLISH_VARIES, Work};
use crate::stage::{Stage, StageSize};
use crate::{Policy, PolishWhen};

/// What a polish and a treatment that follows grinding do to a diameter.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PolishChange {
    /// What the polish takes off, on average.
    pub takes_mm: f64,
    /// Standard deviation of that.
    pub takes_sd_mm: f64,
    /// What the treatment puts on, on average; zero where none follows.
    pub growth_mm: f64,
    /// Standard deviation of that, the same growth for every journal of a crank.
    pub growth_sd_mm: f64,
}

/// What a polish alone does to a journal until it goes to the engine: `size now - takes + growth`, growth only where the
/// crank is `treated` again. It is where its treatment follows grinding and a set of it is ground.
///
/// # Units
/// Millimetres on the diameter, all four.
/// # Source
/// Polishing to the limit asks for no new treatment and any grinding does: common to the manuals of nitrided shafts. What a
/// polish takes varies by a quarter of it: common practice, no source.
pub fn polish_change(treatment: &Treatment, policy: &Policy, treated: bool) -> PolishChange {
    let grows = treated && treatment.after_grinding;
    PolishChange {
        takes_mm: policy.polish_stock_mm,
        takes_sd_mm: POLISH_VARIES * policy.polish_stock_mm,
        growth_mm: if grows { treatment.growth_mean_mm } else { 0.0 },
        growth_sd_mm: if grows { treatment.growth_sd_mm } else { 0.0 },
    }
}

impl PolishChange {
    /// Whether a journal is polished to the middle of what its growth leaves, and not only over: where it grows.
    pub fn is_to_size(&self) -> bool {
        self.growth_mm > 0.0
    }
}

/// The plan of a set that is only polished.
#[derive(Clone, Debug, PartialEq)]
pub struct PolishPlan {
    /// Which set.
    pub set: SetName,
    /// What it was last ground to.
    pub undersize_mm: f64,
    /// What the crank goes through.
    pub change: PolishChange,
    /// On which side of the treatment, where there is one.
    pub polish: PolishWhen,
    /// What every journal must keep.
    pub limits: Band,
    /// The measured journals.
    pub journals: Vec<PolishJournal>,
}

/// Where to stop on one journal.
#[derive(Clone, Debug, PartialEq)]
pub struct PolishJournal {
    /// Which.
    pub journal: JournalId,
    /// The polish, its target where the journal is largest and its window for every place on it; then the finished size.
    pub stages: Vec<StageSize>,
    /// How far the journal comes out over its limits on average (positive) or under them (negative); zero within.
    pub beyond_mm: f64,
}

impl PolishPlan {
    /// Whether every journal comes out within its limits on average.
    pub fn keeps(&self) -> bool {
        self.journals.iter().all(|journal| journal.beyond_mm == 0.0)
    }
}

/// Works out where to stop polishing, for what was last ground to `undersize_mm` and is `treated` again or not.
///
/// ```text
/// stop at = largest place - polish stock        less taken where the smallest place would go under its limits
/// window  = limits - growth                     for every place; on graduations
/// ```
///
/// Where damage is told of on a journal, the polish goes a graduation beyond its bottom, where the limits allow it.
///
/// A crank that is treated again is polished **to size**: to the middle of its window, or as near to it as a polish of
/// 0.001 in (0.025 mm) gets. Where the shop polishes before treatment the window is the limits less the growth, and the
/// journal grows into their middle. Where it polishes after treatment the growth has come already: it is added to the size,
/// the window is the limits, and what it really grew is measured and polished off, so that its spread is no matter.
///
/// The chance beside the stage is that of one journal: that its smallest and its largest place both finish within the
/// limits of its size. Out-of-round and taper stay what they were found; the verdict's own chance counts them.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// A polish takes the same all over a journal; one that does not leaves it further out of round. How much may be polished
/// off: common practice, no source; the manual of one aircraft engine lets a journal be polished 0.003 in under.
pub fn polish_plan(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    set: SetName,
    undersize_mm: f64,
    treated: bool,
    unit: Unit,
) -> PolishPlan {
    let limits = crank::size_limits(specification.set(set), undersize_mm);
    let change = polish_change(&specification.treatment, policy, treated);
    let work = Work::on(specification, findings, set, undersize_mm, unit);
    let after = policy.polish == PolishWhen::AfterTreatment;
    let journals = (1..=specification.set(set).count()).map(|number| JournalId { set, number });
    let found = journals.filter_map(|journal| crank::condition(specification, findings, journal, undersize_mm));
    let journals = found
        .map(|found| {
            let micrometer = work.micrometer(found.largest_mm);
            let least_mm = least_taken_mm(findings, found.journal, change.takes_mm, micrometer.graduation_mm);
            stop_at(&work, limits, change, after, found.journal, (found.smallest_mm, found.largest_mm), least_mm)
        })
        .collect();
    PolishPlan { set, undersize_mm, change, polish: policy.polish, limits, journals }
}

/// What must come off a journal at least: the shop's polish, or what its damage asks for and this much beyond it.
pub(crate) fn least_taken_mm(findings: &Findings, journal: JournalId, stock_mm: f64, beyond_mm: f64) -> f64 {
    let own = findings.damages.iter().filter(|damage| damage.journal == journal && damage.depth.highest_mm > 0.0);
    let deepest_mm = own.map(|damage| damage.depth.highest_mm).filter(|mm| mm.is_finite()).reduce(f64::max);
    deepest_mm.map_or(stock_mm, |mm| stock_mm.max(2.0 * mm + beyond_mm))
}

/// More than 0.001 in is not polished off a diameter to bring it to size: that is grinding.
const MOST_POLISHED_MM: f64 = 0.0254;

/// Where a polish leaves the largest place of a journal, before it is put on a graduation.
pub(crate) struct Stop {
    /// The size at which the polish begins.
    pub(crate) now_mm: f64,
    /// What is aimed for; within the window.
    pub(crate) wanted_mm: f64,
    /// Where it ends, as far as a polish gets.
    pub(crate) left_mm: f64,
    /// What the treatment still adds.
    pub(crate) to_come_mm: f64,
}

/// A journal as the polish finds it.
#[derive(Clone, Copy)]
pub(crate) struct Start {
    /// Its largest place.
    now_mm: f64,
    /// What the treatment still adds.
    to_come_mm: f64,
    /// Its largest place less its smallest.
    form_mm: f64,
    /// Its limits less what is still to come.
    pub(crate) exact: Band,
}

impl Start {
    /// `after` where the polish comes after the treatment.
    pub(crate) fn of(limits: Band, change: PolishChange, after: bool, (smallest_mm, largest_mm): (f64, f64)) -> Start {
        let (grown_mm, to_come_mm) = if after { (change.growth_mm, 0.0) } else { (0.0, change.growth_mm) };
        Start {
            now_mm: largest_mm + grown_mm,
            to_come_mm,
            form_mm: largest_mm - smallest_mm,
            exact: limits.less(to_come_mm),
        }
    }

    /// Where a polish that takes off `least_mm` or more ends, within a window.
    pub(crate) fn stop(self, window: Band, change: PolishChange, least_mm: f64) -> Stop {
        let Start { now_mm, to_come_mm, form_mm, exact } = self;
        let taken_mm = now_mm - least_mm;
        let (aim_mm, furthest_mm) = if change.is_to_size() {
            let middle_mm = exact.middle_mm() + form_mm / 2.0;
            let furthest_mm = now_mm - MOST_POLISHED_MM.max(least_mm);
            (taken_mm.min(middle_mm).max(furthest_mm), furthest_mm)
        } else {
            (taken_mm, taken_mm)
        };
        // Less is taken where the smallest place would go under.
        let wanted_mm = aim_mm.max(window.low_mm + form_mm).min(window.high_mm);
        Stop { now_mm, wanted_mm, left_mm: wanted_mm.max(furthest_mm).min(now_mm), to_come_mm }
    }
}

impl Stop {
    /// The largest place of the finished journal.
    pub(crate) fn largest_out_mm(&self) -> f64 {
        self.left_mm + self.to_come_mm
    }
}

fn stop_at(
    work: &Work<'_>,
    limits: Band,
    change: PolishChange,
    after: bool,
    journal: JournalId,
    sizes_mm: (f64, f64),
    least_mm: f64,
) -> PolishJournal {
    let start = Start::of(limits, change, after, sizes_mm);
    let Start { now_mm, form_mm, exact, .. } = start;
    let micrometer = work.micrometer(now_mm);
    let rounded = Band { low_mm: above_mm(micrometer, exact.low_mm), high_mm: below_mm(micrometer, exact.high_mm) };
    let window = if rounded.low_mm <= rounded.high_mm { rounded } else { exact };
    let stop = start.stop(window, change, least_mm);
    // A polish to size is measured as it goes: it misses by what the last of it varies.
    let takes_sd_mm = if change.takes_mm > 0.0 && !change.is_to_size() {
        change.takes_sd_mm * (now_mm - stop.left_mm) / change.takes_mm
    } else {
        change.takes_sd_mm
    };
    let growth_mm = if after { 0.0 } else { change.growth_sd_mm };
    let scatter = Scatter { growth_mm, polish_mm: takes_sd_mm, ..Scatter::default() };
    let largest_out_mm = stop.largest_out_mm();
    let smallest_out_mm = largest_out_mm - form_mm;
    let measured = scatter.measured_with(micrometer, now_mm);
    let ends = Band { low_mm: limits.low_mm - smallest_out_mm, high_mm: limits.high_mm - largest_out_mm };
    // Sizes that differ by less are one.
    const SAME_MM: f64 = 1e-7;
    let beyond_mm = if ends.high_mm < -SAME_MM {
        -ends.high_mm
    } else if ends.low_mm > SAME_MM {
        -ends.low_mm
    } else {
        0.0
    };
    let hand = Hand { work, limits, spread_mm: 0.0 };
    // Beyond the bottom of a damage there is no rounding back to it.
    let deep_mm = below_mm(micrometer, stop.wanted_mm);
    let target_mm = if least_mm > change.takes_mm && deep_mm - form_mm >= window.low_mm - SAME_MM {
        deep_mm
    } else {
        hand.target_mm(micrometer, stop.wanted_mm, window, measured)
    };
    let polish = StageSize {
        stage: Stage::Polish,
        target_mm,
        window,
        finishes: Some(measured.finishes(0.0, ends)),
        graduation_mm: Some(micrometer.graduation_mm),
    };
    let finished = hand.finished(largest_out_mm.max(limits.low_mm).min(limits.high_mm), scatter);
    PolishJournal { journal, stages: vec![polish, finished], beyond_mm }
}

impl PolishPlan {
    /// How a growth is counted, as a sentence; nothing where none follows.
    pub fn growth_words(&self, unit: Unit) -> Option<String> {
        let figure = show_mm(self.change.growth_mm, unit, unit.usual_decimals());
        (self.change.growth_mm > 0.0).then(|| match self.polish {
            PolishWhen::BeforeTreatment => format!(
                "Polish to size, measuring as it goes. Treatment follows: {figure} {unit} of growth is allowed for, into \
                 the middle of the limits."
            ),
            PolishWhen::AfterTreatment => format!(
                "Treat it first, then polish to size, last of all, measuring as it goes: about {figure} {unit} of growth is \
                 on it by then, and what it really grew comes off."
            ),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crank::JournalId;

    const IN: f64 = 25.4;

    fn change(takes_in: f64, growth_in: f64, growth_sd_in: f64) -> PolishChange {
        PolishChange {
            takes_mm: takes_in * IN,
            takes_sd_mm: POLISH_VARIES * takes_in * IN,
            growth_mm: growth_in * IN,
            growth_sd_mm: growth_sd_in * IN,
        }
    }

    /// A pin of 1.8745 to 1.8750 in, found from `smallest` to `largest`.
    fn stop(change: PolishChange, after: bool, smallest_in: f64, largest_in: f64) -> PolishJournal {
        stop_taking(change.takes_mm, change, after, smallest_in, largest_in)
    }

    fn stop_taking(
        least_mm: f64,
        change: PolishChange,
        after: bool,
        smallest_in: f64,
        largest_in: f64,
    ) -> PolishJournal {
        let limits = Band { low_mm: 1.8745 * IN, high_mm: 1.8750 * IN };
        let work = Work::to(0.0, Unit::Inch);
        let journal = JournalId { set: SetName::Pin, number: 1 };
        stop_at(&work, limits, change, after, journal, (smallest_in * IN, largest_in * IN), least_mm)
    }

    #[track_caller]
    fn check(found: &PolishJournal, [target, low, high, finished, beyond]: [f64; 5]) {
        let polish = found.stages[0];
        for (found_mm, inches) in [
            (polish.target_mm, target),
            (polish.window.low_mm, low),
            (polish.window.high_mm, high),
            (found.stages[1].target_mm, finished),
            (found.beyond_mm, beyond),
        ] {
            assert!((found_mm / IN - inches).abs() < 1e-9, "{} in, not {inches}: {found:?}", found_mm / IN);
        }
    }

    /// By hand: found 1.8748 to 1.8749, a polish of 0.0002 leaves 1.8747 where it is largest and 1.8746 where it is least.
    #[test]
    fn an_untreated_journal_stops_at_its_own_size_less_the_polish() {
        check(&stop(change(0.0002, 0.0, 0.0), false, 1.8748, 1.8749), [1.8747, 1.8745, 1.8750, 1.8747, 0.0]);
        // The smallest place would go to 1.8744: only a tenth may come off.
        check(&stop(change(0.0002, 0.0, 0.0), false, 1.8746, 1.8747), [1.8746, 1.8745, 1.8750, 1.8746, 0.0]);
    }

    /// Polish, then treat, by hand: growth 0.0005, so what finishes within 1.8745 to 1.8750 is 1.8740 to 1.8745 before. A
    /// journal of 1.8746 is polished to the middle, 1.87425, on a graduation 1.8743, and one of 1.8748 to 1.8749 so that
    /// its own middle comes there, its largest place at 1.8743. One of 1.8762 would need 0.002: a polish gets to 1.8752,
    /// which grows to 1.8757, 0.0007 over.
    #[test]
    fn polished_and_then_treated_it_grows_into_the_middle_of_its_limits() {
        let treated = change(0.0002, 0.0005, 0.0001);
        let round = stop(treated, false, 1.8746, 1.8746);
        check(&round, [1.8743, 1.8740, 1.8745, 1.8748, 0.0]);
        let oval = stop(treated, false, 1.8748, 1.8749);
        check(&oval, [1.8743, 1.8740, 1.8745, 1.8748, 0.0]);
        let out = stop(treated, false, 1.8762, 1.8762);
        check(&out, [1.8745, 1.8740, 1.8745, 1.8750, 0.0007]);
        // In tenths: growth 1, polish 0.5, micrometer 0.6667: 1.9167 in squares, 1.384. From the middle it is 2.5 to either
        // limit, 2 Φ(1.806) - 1 = 0.929; for the oval one 2, 2 Φ(1.445) - 1 = 0.852; 7 beyond, Φ(-5.06): nothing.
        let chance = |journal: &PolishJournal| journal.stages[0].finishes.unwrap().chance;
        assert!((chance(&round) - 0.929).abs() < 0.004, "{}", chance(&round));
        assert!((chance(&oval) - 0.852).abs() < 0.006, "{}", chance(&oval));
        assert!(chance(&out) < 1e-4, "{}", chance(&out));
        // What is small already gives no more than the polish: 1.8742 to 1.8740, which grows to 1.8745.
        check(&stop(treated, false, 1.8742, 1.8742), [1.8740, 1.8740, 1.8745, 1.8745, 0.0]);
    }

    /// Treated and then polished: the journal of 1.8746 comes back at 1.8751 and is polished to the middle of its limits,
    /// 1.87475, on a graduation 1.8748. What it grew is on it by then: in tenths polish 0.5 and micrometer 0.6667 are left,
    /// 0.9167 in squares, 0.957, and 2 Φ(2.611) - 1 = 0.991.
    #[test]
    fn a_polish_after_treatment_takes_off_what_it_grew() {
        let treated = change(0.0002, 0.0005, 0.0001);
        let round = stop(treated, true, 1.8746, 1.8746);
        check(&round, [1.8748, 1.8745, 1.8750, 1.8748, 0.0]);
        check(&stop(treated, true, 1.8748, 1.8749), [1.8748, 1.8745, 1.8750, 1.8748, 0.0]);
        let finishes = round.stages[0].finishes.unwrap();
        assert!((finishes.chance - 0.991).abs() < 0.003 && finishes.rest != crate::Part::Growth, "{finishes:?}");
    }

    /// By hand: a scratch 0.0001 deep asks for 0.0002 on the diameter, its very bottom; a graduation more is taken, 1.8749
    /// to 1.8746. Where that would carry it under its limits, less is.
    #[test]
    fn a_polish_goes_a_little_beyond_the_damage() {
        let pin = JournalId { set: SetName::Pin, number: 1 };
        let depth = crank::Depth { lowest_mm: 0.00254, likeliest_mm: 0.00254, highest_mm: 0.00254 };
        let scratch =
            crank::Damage { journal: pin, kind: crank::DamageKind::Scoring, depth, at_mm: None, arc_deg: None };
        let findings = Findings { damages: vec![scratch], ..Findings::default() };
        let least_mm = least_taken_mm(&findings, pin, 0.0002 * IN, 0.0001 * IN);
        assert!((least_mm - 0.0003 * IN).abs() < 1e-12);
        assert_eq!(least_taken_mm(&findings, JournalId { number: 2, ..pin }, 0.1, 0.2), 0.1, "not its own");
        let plain = change(0.0002, 0.0, 0.0);
        check(&stop_taking(least_mm, plain, false, 1.8749, 1.8749), [1.8746, 1.8745, 1.8750, 1.8746, 0.0]);
        check(&stop_taking(least_mm, plain, false, 1.8747, 1.8747), [1.8745, 1.8745, 1.8750, 1.8745, 0.0]);
    }

    /// A journal already under its limits cannot be polished into them; growth may bring it there.
    #[test]
    fn nothing_may_come_off_what_is_under_already() {
        let under = stop(change(0.0002, 0.0, 0.0), false, 1.8743, 1.8744);
        assert!((under.beyond_mm / IN + 0.0002).abs() < 1e-9, "{}", under.beyond_mm / IN);
        assert!(under.stages[0].finishes.unwrap().chance < 0.05);
        let grown = stop(change(0.0002, 0.0005, 0.0), false, 1.8743, 1.8744);
        check(&grown, [1.8742, 1.8740, 1.8745, 1.8747, 0.0]);
        // What is no number is refused a chance and reaches no panic.
        let odd = stop(change(0.0002, 0.0, 0.0), false, 1.8743, f64::NAN);
        assert!(odd.stages[0].finishes.unwrap().chance <= 0.0);
    }

    #[test]
    fn growth_counts_only_where_the_crank_is_treated_again() {
        let nitrided =
            Treatment { kind: "nitriding".into(), growth_mean_mm: 0.0127, growth_sd_mm: 0.00254, after_grinding: true };
        let policy = Policy::usual(Unit::Inch);
        let treated = polish_change(&nitrided, &policy, true);
        assert_eq!((treated.takes_mm, treated.growth_mm, treated.growth_sd_mm), (0.00508, 0.0127, 0.00254));
        assert_eq!(treated.takes_sd_mm, 0.00127);
        assert_eq!(polish_change(&nitrided, &policy, false).growth_mm, 0.0);
        let hard = Treatment { after_grinding: false, ..nitrided };
        assert_eq!(polish_change(&hard, &policy, true).growth_mm, 0.0);
    }

    /// Where only half of the stock may come off, half of its spread does: of 1.8747 a tenth is left to take, and 0.25 of it is
    /// 0.0625 in squares of a tenth beside the micrometer's 0.6667, which is 0.914 of both. The whole would leave it 0.727.
    #[test]
    fn a_polish_that_takes_half_varies_by_half() {
        let finishes = stop(change(0.0002, 0.0, 0.0), false, 1.8746, 1.8747).stages[0].finishes.unwrap();
        assert_eq!(finishes.rest, crate::Part::Micrometer);
        assert!((finishes.share - 0.666_67 / 0.729_17).abs() < 1e-3, "{finishes:?}");
    }
}
