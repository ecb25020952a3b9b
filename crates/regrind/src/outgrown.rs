//! Sets that are not ground and yet go through treatment with the one that is: what the growth makes of their verdict.

use units::show_mm;

use crate::case::{Case, index};
use crate::chance::Chance;
use crate::choice::Choice;
use crate::decide::Round;
use crate::next::plural;
use crate::polish::{PolishPlan, polish_plan};
use crate::reasons::MAY_STAY;
use crate::verdict::{Note, Others, SetVerdict, Undecided};
use crate::words::in_hundred;
use crate::{Policy, PolishWhen};

/// Of a set that is too close to call: growth that leaves it within its limits less than this share as often is told.
const SELDOM: f64 = 0.8;

/// How often a set keeps its limits after a treatment that is still to come, for each set: as it is, and polished to size.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Grown {
    pub(crate) left_alone: [usize; 2],
    pub(crate) to_size: [usize; 2],
}

/// The chances of one set.
#[derive(Clone, Copy, Debug)]
struct GrownChances {
    left: Chance,
    to_size: Chance,
}

impl Grown {
    pub(crate) fn add(&mut self, other: Grown) {
        for s in 0..2 {
            self.left_alone[s] += other.left_alone[s];
            self.to_size[s] += other.to_size[s];
        }
    }
}

impl Case<'_> {
    /// The plan of each set that is only polished, and of those journals of a set that are polished to size while one that
    /// cannot go with them has metal put on.
    pub(crate) fn polish_plans(&self, sets: &[SetVerdict]) -> Vec<PolishPlan> {
        let treated = self.is_treated(sets);
        sets.iter()
            .filter_map(|verdict| match &verdict.apart {
                _ if verdict.choice == Choice::PolishOnly => Some(self.polished(verdict, self.policy, treated)),
                Some(apart) if apart.others == Others::ToSize => {
                    let mut plan = self.polished(verdict, self.policy, treated);
                    plan.journals.retain(|own| apart.journals.iter().all(|one| one.journal != own.journal));
                    Some(plan)
                }
                _ => None,
            })
            .collect()
    }

    fn polished(&self, verdict: &SetVerdict, policy: &Policy, treated: bool) -> PolishPlan {
        let undersize_mm = verdict.ground_to.undersize_mm;
        polish_plan(self.specification, self.findings, policy, verdict.set, undersize_mm, treated, self.unit)
    }

    /// The plan to polish a set to size.
    fn sized(&self, verdict: &SetVerdict) -> PolishPlan {
        self.polished(verdict, self.policy, true)
    }

    /// Whether the crank is treated again: its treatment follows grinding, and something is ground, be it metal that is put
    /// on.
    fn is_treated(&self, sets: &[SetVerdict]) -> bool {
        let is_ground = |verdict: &SetVerdict| verdict.choice.undersize_mm().is_some() || verdict.apart.is_some();
        self.specification.treatment.after_grinding && sets.iter().any(is_ground)
    }

    /// Brings the growth of a treatment that is still to come into the verdict of each set that is not ground.
    ///
    /// What would keep its limits with the growth on it stays as it was decided. What would not is polished to size, where
    /// that keeps them on average, and else ground, where it can be. Of a set that is too close to call as it stands
    /// the growth is at least told.
    pub(crate) fn through_treatment(&self, sets: &mut [SetVerdict]) {
        if !self.is_treated(sets) || self.undoubted.afterwards.is_none() {
            return;
        }
        for verdict in sets.iter_mut() {
            let open = verdict.undecided == Some(Undecided::TooClose);
            if !open && !matches!(verdict.choice, Choice::LeaveAlone | Choice::PolishOnly) {
                continue;
            }
            let grows = self.grows(verdict);
            let [all_over, as_measured, as_read] = self.grown(verdict);
            // Grown they would keep them far less often than they do now: that is told, though none outgrows them on average.
            let seldom = as_read.left.share() < SELDOM * verdict.leave_alone_as_read.share();
            if open && grows.is_none() && !seldom {
                continue;
            }
            let enough = |chance: Chance| chance.share() >= self.policy.confidence;
            if verdict.choice == Choice::LeaveAlone && enough(as_read.left) {
                verdict.leave_alone = all_over.left;
                (verdict.leave_alone_as_measured, verdict.leave_alone_as_read) = (as_measured.left, as_read.left);
                continue;
            }
            // Grinding scatters as much by the same growth: where the polish keeps the limits on average it is no worse. Of a
            // set that is too close to call, where every journal outgrows its limits whatever a finer instrument would say.
            let keeps = (!open || self.outgrows_anyway(verdict)) && self.sized(verdict).keeps();
            if !enough(as_read.to_size) && !keeps {
                let Some(undersize_mm) = verdict.if_ground_mm.filter(|_| !open) else {
                    if open {
                        let kept = in_hundred(as_read.left.share());
                        let grows = grows.unwrap_or_else(|| format!("{kept} such sets would keep their limits"));
                        verdict.reason = self.too_close_and_grows(verdict, &grows);
                    }
                    continue;
                };
                let by_itself = if verdict.choice == Choice::LeaveAlone {
                    "They could stay by themselves"
                } else {
                    "A polish would do by itself"
                };
                verdict.choice = Choice::Grind { undersize_mm };
                let treatment = &self.specification.treatment.kind;
                verdict.reason = format!(
                    "{by_itself}, but the crank goes through {treatment} again for its other set, and these would not keep \
                     their limits after it, polished to size or not. {}",
                    self.reason(verdict, &[], false)
                );
                continue;
            }
            (verdict.leave_alone, verdict.polish_only) = (all_over.left, all_over.to_size);
            (verdict.leave_alone_as_measured, verdict.polish_only_as_measured) =
                (as_measured.left, as_measured.to_size);
            (verdict.leave_alone_as_read, verdict.polish_only_as_read) = (as_read.left, as_read.to_size);
            (verdict.choice, verdict.undecided) = (Choice::PolishOnly, None);
            verdict.to_size = Some(self.policy.polish);
            verdict.reason = self.why_to_size(verdict, grows);
        }
    }

    /// The chances of a set that grows: all over with what nobody measured, as far as it was measured, and where it was read.
    fn grown(&self, verdict: &SetVerdict) -> [GrownChances; 3] {
        let s = index(verdict.set);
        let chance = |hits: usize| Chance { hits, draws: self.policy.draws };
        let as_measured = self.undoubted.counts.grown;
        let known = self.is_modelled(verdict.set);
        let (all_over, as_read) =
            if known { (self.counted.grown, self.counted.reads.grown) } else { (as_measured, as_measured) };
        [all_over, as_measured, as_read]
            .map(|grown| GrownChances { left: chance(grown.left_alone[s]), to_size: chance(grown.to_size[s]) })
    }

    /// Whether a journal would outgrow its limits on average in a treatment that follows grinding.
    pub(crate) fn outgrows(&self, condition: &crank::Condition) -> bool {
        let treatment = &self.specification.treatment;
        treatment.after_grinding && condition.largest_mm + treatment.growth_mean_mm > condition.limits.high_mm + 1e-7
    }

    /// Whether a set that is too close to call is polished to size whatever it really measures: each of its journals would
    /// outgrow its limits on average, and none is out of round or tapered past them.
    fn outgrows_anyway(&self, verdict: &SetVerdict) -> bool {
        let set = verdict.set;
        let round = |own: &crank::Condition| self.is_round(set, own, Round::ByTheBook);
        let mut own = self.by_own_step(set).map(|(_, own)| own).peekable();
        own.peek().is_some() && own.all(|own| self.outgrows(&own) && round(&own))
    }

    /// Which journal would outgrow its limits on average if nothing were done: `main 7 would finish at 62.998 mm, 0.003 mm
    /// over its limits; so would the others`.
    fn grows(&self, verdict: &SetVerdict) -> Option<String> {
        let growth_mm = self.specification.treatment.growth_mean_mm;
        let of_set: Vec<crank::Condition> = self.by_own_step(verdict.set).map(|(_, own)| own).collect();
        let over_mm = |c: &&crank::Condition| c.largest_mm + growth_mm - c.limits.high_mm;
        let worst =
            of_set.iter().rev().filter(|c| over_mm(c) > 1e-7).max_by(|a, b| over_mm(a).total_cmp(&over_mm(b)))?;
        Some(format!(
            "{} would finish at {}, {} over its limits",
            worst.journal,
            self.size(worst.largest_mm + growth_mm),
            self.size(over_mm(&worst))
        ))
    }

    fn why_to_size(&self, verdict: &SetVerdict, grows: Option<String>) -> String {
        let treatment = &self.specification.treatment;
        let chance = in_hundred(verdict.polish_only_as_read.share());
        let left = match grows {
            Some(grows) => format!("as they are, {grows}"),
            None => format!(
                "as they are, {} such sets would keep their limits",
                in_hundred(verdict.leave_alone_as_read.share())
            ),
        };
        let how = match self.policy.polish {
            PolishWhen::AfterTreatment => "Polish them to size last of all, after treatment, measuring as it goes",
            PolishWhen::BeforeTreatment => {
                "Polish them to size before treatment, so far that they grow into the middle of their limits"
            }
        };
        format!(
            "The crank goes through {} again for its other set and grows about {}: {left}. {how}: {chance} such sets finish \
             within limits, by what was read.",
            treatment.kind,
            self.size(treatment.growth_mean_mm),
        )
    }

    fn too_close_and_grows(&self, verdict: &SetVerdict, grows: &str) -> String {
        let treatment = &self.specification.treatment;
        format!(
            "{} The crank goes through {} again for its other set and grows about {}: as they are, {grows}. If they stay, \
             they are polished to size as well.",
            self.why_undecided(verdict, Undecided::TooClose).replace(MAY_STAY, "."),
            treatment.kind,
            self.size(treatment.growth_mean_mm),
        )
    }

    /// What is to be known of the sets that are only polished, where the crank would grow if somebody had it treated, or
    /// where a polish leaves a journal outside its limits.
    pub(crate) fn polish_remarks(&self, sets: &[SetVerdict], plans: &[PolishPlan], notes: &mut Vec<Note>) {
        let treatment = &self.specification.treatment;
        for plan in plans {
            self.leaves_its_limits(plan, notes);
            if treatment.after_grinding && !self.is_treated(sets) {
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

    fn leaves_its_limits(&self, plan: &PolishPlan, notes: &mut Vec<Note>) {
        let out = || plan.journals.iter().filter(|journal| journal.beyond_mm != 0.0);
        let Some(worst) = out().max_by(|a, b| a.beyond_mm.abs().total_cmp(&b.beyond_mm.abs())) else { return };
        let way = if worst.beyond_mm > 0.0 { "over" } else { "under" };
        let others: Vec<_> = out().map(|other| other.journal).filter(|other| *other != worst.journal).collect();
        let others =
            if others.is_empty() { String::new() } else { format!("; so would {}", crate::unmeasured::list(&others)) };
        notes.push(Note {
            kind: "leaves its limits",
            journal: Some(worst.journal),
            says: format!(
                "The {} would not keep their limits after the polish: {} would finish {} {} {way}{others}. Grind them.",
                plural(plan.set),
                worst.journal,
                show_mm(worst.beyond_mm.abs(), self.unit, self.unit.usual_decimals()),
                self.unit,
            ),
        });
    }
}
