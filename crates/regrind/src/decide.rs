//! What to do with a set, in the order in which a grinder would ask.

use crank::SetName;
use gauge::misread::Kind;

use crate::case::{Case, index};
use crate::chance::SAME_LENGTH_MM;
use crate::choice::{Ladder, choose};
use crate::unseen::GapKind;
use crate::verdict::{JournalVerdict, SetVerdict, Undecided};
use crate::{Axis, Choice};

/// A little wear: 0.001 in below the new size, the least wear limit that manuals print in inches (TM 5-3805-260; others
/// print 0.0015 in, and 0.002 in as the point from which a journal is ground, TM 5-3805-262). A round journal that is no
/// further below may be one that the manual lets stay.
const LITTLE_WEAR_MM: f64 = 0.0254;

/// What was decided, and what the set would be ground to if it had to be.
pub(crate) struct Decision {
    pub(crate) choice: Choice,
    pub(crate) undecided: Option<Undecided>,
    pub(crate) if_ground_mm: Option<f64>,
}

impl Case<'_> {
    /// Decides on a set whose chances are known.
    ///
    /// A crack ends it; heat, readings that do not go together, sizes that no wear explains come before any undersize. What
    /// can stay stays, as far as it was measured. Where no journal is worn past its limits beyond doubt, and where all are
    /// round and only a little below new while the manual's wear limit is not told, nothing is ground on a guess. Only then
    /// does the ladder speak.
    pub(crate) fn decide(&self, verdict: &SetVerdict, journals: &[JournalVerdict], ladder: &Ladder<'_>) -> Decision {
        let set = verdict.set;
        let prices = self.policy.prices.as_ref().map(|prices| prices.of(set));
        let ground = choose(ladder, self.policy, prices);
        let plain = |choice: Choice| Decision { choice, undecided: None, if_ground_mm: None };
        let open = |why: Undecided| Decision {
            choice: Choice::NotDecided,
            undecided: Some(why),
            if_ground_mm: ground.undersize_mm(),
        };
        if self.findings.damages.iter().any(crank::Damage::is_crack) {
            return plain(Choice::Scrap);
        }
        if self.heat().is_some() {
            return Decision { if_ground_mm: None, ..open(Undecided::Heat) };
        }
        // A bent shaft is straightened before anything is ground about its present axis, and then all of it is measured
        // again. A free axis splits the bend, and the chances know it.
        if self.policy.axis == Axis::Held && self.run_out_beyond_limit(SetName::Main).is_some() {
            return open(Undecided::Bend);
        }
        // Readings that are of another engine, or in another unit, make both sets wait.
        if self.suspicions.iter().any(crank::Suspicion::doubts_the_set) {
            return Decision { if_ground_mm: None, ..open(Undecided::Readings) };
        }
        if self.do_not_go_together(set) {
            return Decision { if_ground_mm: None, ..open(Undecided::Readings) };
        }
        if self.said_to_be_bigger(set) {
            return open(Undecided::BiggerThanNew);
        }
        if self.below_smallest(set, journals).is_some() {
            return plain(if self.policy.build_up { Choice::BuildUp } else { Choice::Scrap });
        }
        let worn = self.any_worn(set);
        // What a polish takes out is no reason to grind.
        let own_damage = || self.findings.damages.iter().filter(|d| d.journal.set == set && d.depth.highest_mm > 0.0);
        let damaged = own_damage().any(|d| d.depth.highest_mm > self.policy.polish_stock_mm / 2.0 + SAME_LENGTH_MM);
        let sound = !worn && !damaged;
        if sound && self.bigger_than_new(set).is_some() {
            return open(Undecided::BiggerThanNew);
        }
        if verdict.leave_alone_as_measured.share() >= self.policy.confidence {
            // Good where it was measured, and almost surely not where it was not: that is no leave to stay.
            if verdict.leave_alone.share() <= self.policy.outside_at {
                return open(Undecided::TooLittle);
            }
            if self.all_in_doubt(set) {
                return open(Undecided::Readings);
            }
            return Decision { choice: Choice::LeaveAlone, undecided: None, if_ground_mm: ground.undersize_mm() };
        }
        if own_damage().next().is_some() && verdict.polish_only_as_measured.share() >= self.policy.confidence {
            return Decision { choice: Choice::PolishOnly, undecided: None, if_ground_mm: ground.undersize_mm() };
        }
        if sound {
            let looked_at = !self.counted.gaps.iter().any(|gap| {
                gap.set == set && matches!(gap.kind, GapKind::Journal | GapKind::InLine | GapKind::Directions)
            });
            return open(if looked_at { Undecided::TooClose } else { Undecided::TooLittle });
        }
        // Round is only what somebody looked at in two directions.
        let looked_at =
            !self.counted.gaps.iter().any(|gap| {
                gap.set == set && matches!(gap.kind, GapKind::Journal | GapKind::InLine | GapKind::Directions)
            });
        let told = self.specification.set(set).wear_limit_mm.is_some();
        if !told && !damaged && looked_at && self.is_little_worn(set) {
            return open(Undecided::WearLimit);
        }
        plain(ground)
    }

    /// The first journal that was hot.
    pub(crate) fn heat(&self) -> Option<crank::JournalId> {
        self.findings.damages.iter().find(|d| d.is_heat()).map(|d| d.journal)
    }

    /// Whether every journal of a set is round by the manual, as it was read, and no more than a little below its new size.
    fn is_little_worn(&self, set: SetName) -> bool {
        let book = self.specification.set(set);
        let of_set = || self.undoubted.conditions.iter().flatten().filter(|c| c.journal.set == set);
        let round = |c: &crank::Condition| {
            book.out_of_round_mm.is_none_or(|most| c.out_of_round_mm().is_none_or(|mm| mm <= most + SAME_LENGTH_MM))
                && book.taper.is_none_or(|most| {
                    c.worst_plane()
                        .is_none_or(|p| p.taper_mm.is_none_or(|mm| mm <= most.over_mm(p.span_mm) + SAME_LENGTH_MM))
                })
        };
        of_set().next().is_some()
            && of_set().all(|c| round(c) && c.smallest_mm >= c.limits.low_mm - LITTLE_WEAR_MM - SAME_LENGTH_MM)
    }

    /// Whether the readings of a set do not go together, or every one of them is in doubt.
    fn do_not_go_together(&self, set: SetName) -> bool {
        let bigger = |s: &crank::Suspicion| s.kind == Kind::BiggerThanNew;
        self.suspicions.iter().any(|s| s.set == set && s.stops() && !bigger(s)) || !self.is_modelled(set)
    }

    /// Whether every reading of one journal looks wrong, so that nothing is known of it.
    fn all_in_doubt(&self, set: SetName) -> bool {
        self.specification.journals().filter(|id| id.set == set).any(|id| {
            let mut own = self.findings.readings.iter().enumerate().filter(|(_, r)| r.journal == id).peekable();
            own.peek().is_some() && own.all(|(n, _)| self.doubtful.contains(&n))
        })
    }

    /// Whether most of a set is larger than it can have been when new.
    fn said_to_be_bigger(&self, set: SetName) -> bool {
        self.suspicions.iter().any(|s| s.set == set && s.stops() && s.kind == Kind::BiggerThanNew)
    }

    /// The journal that is already below the smallest size that the book permits, beyond doubt.
    pub(crate) fn below_smallest<'a>(
        &self,
        set: SetName,
        journals: &'a [JournalVerdict],
    ) -> Option<(&'a JournalVerdict, f64)> {
        let smallest_mm = self.specification.set(set).smallest_mm?;
        let undoubted = |j: &JournalVerdict| {
            self.undoubted
                .conditions
                .iter()
                .flatten()
                .find(|c| c.journal == j.condition.journal)
                .is_some_and(|c| c.smallest_mm + 2.0 * c.uncertainty_mm < smallest_mm)
        };
        journals.iter().find(|j| j.condition.journal.set == set && undoubted(j)).map(|j| (j, smallest_mm))
    }

    /// The journal that is largest above what it can have been ground to, where no wear explains it: by more than its
    /// doubt, or by anything at all where the zero of its micrometer was never taken. Its size and the limit with it.
    pub(crate) fn bigger_than_new(&self, set: SetName) -> Option<(crank::JournalId, f64, f64)> {
        let ground_to = &self.undoubted.ground_to[index(set)];
        let high_mm = self.specification.set(set).finished(ground_to.undersize_mm).high_mm;
        // A set just above a deeper step was very likely ground to that one, and large.
        let deeper = ground_to.also.iter().copied().find(|&u| u > ground_to.undersize_mm);
        let limit_mm = deeper.map_or(high_mm, |u| self.specification.set(set).finished(u).high_mm);
        let largest = self
            .undoubted
            .conditions
            .iter()
            .flatten()
            .filter(|c| c.journal.set == set)
            .max_by(|a, b| a.largest_mm.total_cmp(&b.largest_mm))?;
        let zero_taken = self
            .findings
            .readings
            .iter()
            .filter(|r| r.journal.set == set)
            .all(|r| self.findings.instruments.get(r.with).is_some_and(|i| i.zero_taken));
        let over_mm = largest.largest_mm - limit_mm;
        let doubt_mm = if zero_taken { 2.0 * largest.uncertainty_mm } else { 0.0 };
        (over_mm > doubt_mm + 1e-7).then_some((largest.journal, largest.largest_mm, limit_mm))
    }
}
