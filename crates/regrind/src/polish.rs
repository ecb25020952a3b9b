//! The plan of a set that is only polished: where to stop each journal, and whether it keeps its limits.

use crank::{Band, Findings, JournalId, SetName, Specification, Treatment};
use units::{Unit, show_mm};

use crate::case::Case;
use crate::choice::Choice;
use crate::finish::Scatter;
use crate::hand::{Hand, above_mm, below_mm};
use crate::next::plural;
use crate::plan::{POLISH_VARIES, Work};
use crate::stage::{Stage, StageSize};
use crate::verdict::{Note, SetVerdict};
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
/// Where the shop polishes after treatment, the growth has come already: it is added to the size and the window is the
/// limits.
///
/// The chance beside the stage is that of one journal: that its smallest and its largest place both finish within the
/// limits of its size. Out-of-round and taper stay what they were found; the verdict's own chance counts them.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// A polish takes the same all over a journal; one that does not leaves it further out of round.
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
        .map(|found| stop_at(&work, limits, change, after, found.journal, (found.smallest_mm, found.largest_mm)))
        .collect();
    PolishPlan { set, undersize_mm, change, polish: policy.polish, limits, journals }
}

fn stop_at(
    work: &Work<'_>,
    limits: Band,
    change: PolishChange,
    after: bool,
    journal: JournalId,
    (smallest_mm, largest_mm): (f64, f64),
) -> PolishJournal {
    let (grown_mm, to_come_mm) = if after { (change.growth_mm, 0.0) } else { (0.0, change.growth_mm) };
    let now_mm = largest_mm + grown_mm;
    let form_mm = largest_mm - smallest_mm;
    let micrometer = work.micrometer(now_mm);
    let exact = limits.less(to_come_mm);
    let rounded = Band { low_mm: above_mm(micrometer, exact.low_mm), high_mm: below_mm(micrometer, exact.high_mm) };
    let window = if rounded.low_mm <= rounded.high_mm { rounded } else { exact };
    // Where the polish leaves the largest place on average; less is taken where the smallest one would go under.
    let taken_mm = now_mm - change.takes_mm;
    let wanted_mm = taken_mm.max(window.low_mm + form_mm).min(window.high_mm);
    let left_mm = wanted_mm.max(taken_mm).min(now_mm);
    let takes_sd_mm =
        if change.takes_mm > 0.0 { change.takes_sd_mm * (now_mm - left_mm) / change.takes_mm } else { 0.0 };
    let scatter = Scatter { growth_mm: change.growth_sd_mm, polish_mm: takes_sd_mm, ..Scatter::default() };
    let largest_out_mm = left_mm + to_come_mm;
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
    let polish = StageSize {
        stage: Stage::Polish,
        target_mm: hand.target_mm(micrometer, wanted_mm, window, measured),
        window,
        finishes: Some(measured.finishes(0.0, ends)),
        graduation_mm: Some(micrometer.graduation_mm),
    };
    let finished = hand.finished(largest_out_mm.max(limits.low_mm).min(limits.high_mm), scatter);
    PolishJournal { journal, stages: vec![polish, finished], beyond_mm }
}

impl Case<'_> {
    /// The plan of each set that is only polished.
    pub(crate) fn polish_plans(&self, sets: &[SetVerdict]) -> Vec<PolishPlan> {
        let polished = sets.iter().filter(|verdict| verdict.choice == Choice::PolishOnly);
        polished
            .map(|verdict| self.polished(verdict, self.policy, is_treated(sets, &self.specification.treatment)))
            .collect()
    }

    fn polished(&self, verdict: &SetVerdict, policy: &Policy, treated: bool) -> PolishPlan {
        let undersize_mm = verdict.ground_to.undersize_mm;
        polish_plan(self.specification, self.findings, policy, verdict.set, undersize_mm, treated, self.unit)
    }

    /// What is to be known of the sets that are not ground but go through treatment with the one that is, or would if
    /// somebody had the crank treated.
    pub(crate) fn polish_remarks(&self, sets: &[SetVerdict], plans: &[PolishPlan], notes: &mut Vec<Note>) {
        let treatment = &self.specification.treatment;
        let treated = is_treated(sets, treatment);
        let unpolished = Policy { polish_stock_mm: 0.0, ..self.policy.clone() };
        let left = sets.iter().filter(|verdict| treated && verdict.choice == Choice::LeaveAlone);
        for plan in left.map(|verdict| self.polished(verdict, &unpolished, true)) {
            self.outgrown(&plan, "as they are", notes);
        }
        for plan in plans {
            self.outgrown(plan, "after the polish", notes);
            if treatment.after_grinding && !treated {
                notes.push(Note {
                    kind: "treatment",
                    journal: None,
                    says: format!(
                        "No set is ground, so the plan to polish the {} counts no new {}: a journal would grow {} in it.",
                        plural(plan.set),
                        treatment.kind,
                        self.size(treatment.growth_mean_mm),
                    ),
                });
            }
        }
    }

    fn outgrown(&self, plan: &PolishPlan, when: &str, notes: &mut Vec<Note>) {
        let out: Vec<&PolishJournal> = plan.journals.iter().filter(|journal| journal.beyond_mm != 0.0).collect();
        let worst = out.iter().max_by(|a, b| a.beyond_mm.abs().total_cmp(&b.beyond_mm.abs()));
        let Some(worst) = worst else { return };
        let way = if worst.beyond_mm > 0.0 { "over" } else { "under" };
        let would = format!("{} would finish {} {way}", worst.journal, self.size(worst.beyond_mm.abs()));
        let others: Vec<String> =
            out.iter().filter(|other| other.journal != worst.journal).map(|other| other.journal.to_string()).collect();
        let others = if others.is_empty() { others.concat() } else { format!("; so would {}", others.join(", ")) };
        let grows = if plan.change.growth_mm > 0.0 {
            format!(" The crank goes through treatment again and grows {}.", self.size(plan.change.growth_mm))
        } else {
            String::new()
        };
        notes.push(Note {
            kind: "leaves its limits",
            journal: Some(worst.journal),
            says: format!(
                "The {} would not keep their limits {when}: {would}{others}.{grows} Grind them, or have them polished to \
                 size last of all.",
                plural(plan.set),
            ),
        });
    }
}

/// Whether the crank is treated again: its treatment follows grinding, and something is ground.
fn is_treated(sets: &[SetVerdict], treatment: &Treatment) -> bool {
    treatment.after_grinding && sets.iter().any(|verdict| verdict.choice.undersize_mm().is_some())
}

impl PolishPlan {
    /// How a growth is counted, as a sentence; nothing where none follows.
    pub fn growth_words(&self, unit: Unit) -> Option<String> {
        let figure = show_mm(self.change.growth_mm, unit, unit.usual_decimals());
        (self.change.growth_mm > 0.0).then(|| match self.polish {
            PolishWhen::BeforeTreatment => {
                format!("Treatment follows the polish: {figure} {unit} of growth is allowed for.")
            }
            PolishWhen::AfterTreatment => {
                format!("Treat it first: {figure} {unit} of growth is counted on it before the polish.")
            }
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
        let limits = Band { low_mm: 1.8745 * IN, high_mm: 1.8750 * IN };
        let work = Work::to(0.0, Unit::Inch);
        let journal = JournalId { set: SetName::Pin, number: 1 };
        stop_at(&work, limits, change, after, journal, (smallest_in * IN, largest_in * IN))
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
    /// journal of 1.8746 polished to 1.8744 grows to 1.8749; one of 1.8749 polished to 1.8747 grows to 1.8752, 0.0002 over.
    #[test]
    fn polished_and_then_treated_it_must_grow_into_its_limits() {
        let treated = change(0.0002, 0.0005, 0.0001);
        let good = stop(treated, false, 1.8746, 1.8746);
        check(&good, [1.8744, 1.8740, 1.8745, 1.8749, 0.0]);
        let out = stop(treated, false, 1.8748, 1.8749);
        check(&out, [1.8745, 1.8740, 1.8745, 1.8750, 0.0002]);
        // In tenths: growth 1, polish 0.5, micrometer 0.6667: 1.9167 in squares, 1.384. From 1.8749 it is 1 to the high
        // limit and 4 to the low one, Φ(0.722) - Φ(-2.89) = 0.7649 - 0.0019 = 0.763; from 1.8752, 2 beyond it,
        // Φ(-1.445) = 0.074.
        let chance = |journal: &PolishJournal| journal.stages[0].finishes.unwrap().chance;
        assert!((chance(&good) - 0.763).abs() < 0.004, "{}", chance(&good));
        assert!((chance(&out) - 0.074).abs() < 0.006, "{}", chance(&out));
    }

    /// Treated and then polished: the journal of 1.8746 comes back at 1.8751 and is polished to 1.8749.
    #[test]
    fn a_polish_after_treatment_counts_the_growth_before_it() {
        check(&stop(change(0.0002, 0.0005, 0.0001), true, 1.8746, 1.8746), [1.8749, 1.8745, 1.8750, 1.8749, 0.0]);
        check(&stop(change(0.0002, 0.0005, 0.0001), true, 1.8748, 1.8749), [1.8750, 1.8745, 1.8750, 1.8750, 0.0002]);
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
}
