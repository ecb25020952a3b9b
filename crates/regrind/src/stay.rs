//! Whether journals may stay as they are: the one rule that every headline, table and paper follows.
//!
//! Two figures are known of a journal: how surely it keeps its limits *where it was read*, and how surely *all over*, with
//! what lies between the readings as journals usually wear. Nobody sends journals to the wheel for want of a reading, and
//! nobody lets them run on readings that were not taken. So
//!
//! | | |
//! |---|---|
//! | leave alone | no figure stands past a limit as it was read; each journal keeps its limits where it was read with the shop's confidence ([`Policy::within_at`](crate::Policy::within_at)), and all of them together more often than not; and what was not looked at does not make it likelier that one is past them |
//! | too little | the same, but a journal, a direction, a run-out was not looked at, and with that it is likelier that one is past its limits than not; or all but certain whatever was looked at |
//! | open | everything else: worn past its limits beyond doubt, it is ground; else it is too close to call |
//!
//! The second figure never turns round the first where everything was looked at: an oval may lie between two planes on any
//! journal in the world. It asks for the readings that would show it.

use crank::{JournalId, SetName};

use crate::case::Case;
use crate::decide::EVEN_ODDS;
use crate::unseen::{DIAGONALS_DEG, GapKind};
use crate::verdict::SetVerdict;

/// Two figures nearer to each other than this are one.
const SAME_MM: f64 = 1e-7;

/// What the rule says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stay {
    /// They may stay.
    LeaveAlone,
    /// They read well, and too little was read.
    TooLittle,
    /// The readings do not say that they may.
    Open,
}

/// What is known of some journals of a set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Known {
    /// Whether a size, an out-of-round or a taper stands past its limit as it was read.
    pub(crate) past_a_limit: bool,
    /// Whether each of them keeps its limits where it was read, with the shop's confidence.
    pub(crate) each_reads_within: bool,
    /// How surely all of them do.
    pub(crate) reads: f64,
    /// How surely all of them keep their limits all over.
    pub(crate) all_over: f64,
    /// Whether a journal, a direction or the run-outs were not looked at.
    pub(crate) not_looked_at: bool,
}

impl Known {
    /// The rule. `outside_at` is the share up to which the shop calls a journal outside its limits.
    pub(crate) fn stay(self, outside_at: f64) -> Stay {
        if self.past_a_limit || !self.each_reads_within || self.reads < EVEN_ODDS {
            return Stay::Open;
        }
        if self.all_over <= outside_at || self.not_looked_at && self.all_over < EVEN_ODDS {
            return Stay::TooLittle;
        }
        Stay::LeaveAlone
    }
}

impl Case<'_> {
    /// The rule for a whole set.
    pub(crate) fn stay(&self, verdict: &SetVerdict) -> Stay {
        if self.run_out_beyond_limit(verdict.set).is_some() {
            return Stay::Open;
        }
        self.known(verdict.set, verdict).stay(self.policy.outside_at)
    }

    fn known(&self, set: SetName, verdict: &SetVerdict) -> Known {
        Known {
            reads: verdict.leave_alone_as_read.share(),
            all_over: verdict.leave_alone.share(),
            not_looked_at: verdict.not_looked_at().is_some(),
            ..self.known_of(set, |_| true)
        }
    }

    /// The rule for some journals of a set, by their places in the surface: those that another one does not go with.
    pub(crate) fn stay_of(&self, set: SetName, journals: &[usize], missing: bool) -> Stay {
        let (reads, all_over) = self.model.share_kept(journals, self.policy.draws);
        let ids: Vec<JournalId> = self.specification.journals().collect();
        let among = |id: JournalId| journals.iter().any(|&j| ids.get(j) == Some(&id));
        Known { reads, all_over, not_looked_at: missing, ..self.known_of(set, among) }.stay(self.policy.outside_at)
    }

    /// Whether the sizes of a set may stay, whatever was not looked at: what is said of them beside a bend.
    pub(crate) fn sizes_may_stay(&self, set: SetName) -> bool {
        let known = self.known_of(set, |_| true);
        let reads = self.share(self.alone_as_read(set));
        Known { reads, all_over: 1.0, not_looked_at: false, ..known }.stay(self.policy.outside_at) == Stay::LeaveAlone
    }

    fn known_of(&self, set: SetName, of: impl Fn(JournalId) -> bool) -> Known {
        let own: Vec<(usize, crank::Condition)> = self.by_own_step(set).filter(|(_, own)| of(own.journal)).collect();
        Known {
            past_a_limit: own.iter().any(|(_, own)| self.is_past_a_limit(set, own)),
            each_reads_within: !own.is_empty() && own.iter().all(|(j, _)| self.is_within(*j)),
            reads: 0.0,
            all_over: 0.0,
            not_looked_at: false,
        }
    }

    /// Whether no figure of some journals, by their places in the surface, stands past its limit as it was read.
    pub(crate) fn read_in_limits(&self, set: SetName, journals: &[usize]) -> bool {
        let mut own = self.by_own_step(set).filter(|(j, _)| journals.contains(j)).peekable();
        own.peek().is_some() && own.all(|(_, own)| !self.is_past_a_limit(set, &own))
    }

    /// Whether a size stands past, or an out-of-round or a taper on or past, the limit of what may stay in use.
    fn is_on_a_limit(&self, set: SetName, own: &crank::Condition) -> bool {
        self.is_past(set, own, -SAME_MM)
    }

    /// Whether a size, an out-of-round or a taper of a journal stands past the limit of what may stay in use.
    fn is_past_a_limit(&self, set: SetName, own: &crank::Condition) -> bool {
        self.is_past(set, own, SAME_MM)
    }

    fn is_past(&self, set: SetName, own: &crank::Condition, by_mm: f64) -> bool {
        own.smallest_mm < own.limits.low_mm - SAME_MM
            || own.largest_mm > own.limits.high_mm + SAME_MM
            || self.is_formed_past(set, own, by_mm)
    }

    /// Whether an out-of-round or a taper of a journal stands past its limit by so much.
    fn is_formed_past(&self, set: SetName, own: &crank::Condition, by_mm: f64) -> bool {
        let book = self.specification.set(set);
        let past =
            |mm: Option<f64>, most_mm: Option<f64>| mm.zip(most_mm).is_some_and(|(mm, most_mm)| mm > most_mm + by_mm);
        let plane = book.taper_in_use().zip(own.worst_plane());
        past(own.out_of_round_mm(), book.out_of_round_in_use_mm())
            || plane.is_some_and(|(most, plane)| past(plane.taper_mm, Some(most.over_mm(plane.span_mm))))
    }

    /// Draws in which a journal, by its place in the surface, keeps its limits where it was read. Of one that the model
    /// knows nothing of only what was measured speaks.
    pub(crate) fn within_as_read(&self, j: usize) -> usize {
        let set = self.measured.surface.journals[j].id.set;
        let as_measured = self.undoubted.counts.within[j];
        if !self.is_modelled(set) {
            return as_measured;
        }
        let reads = self.counted.reads.within[j];
        // Good places talk no bad one down: a figure that stands on its limit or past it speaks for itself.
        let on_it = self.own_condition(j).is_some_and(|own| self.is_on_a_limit(set, own));
        if on_it { reads.min(as_measured.max(self.counted.within[j])) } else { reads }
    }

    /// The least of what is known of its journals: a set is no surer than any of them.
    fn no_surer_than_each(&self, set: SetName, hits: usize) -> usize {
        self.by_own_step(set).map(|(j, _)| self.within_as_read(j)).fold(hits, usize::min)
    }

    /// Draws in which every journal of a set does, and nothing is damaged.
    pub(crate) fn alone_as_read(&self, set: SetName) -> usize {
        let known = self.is_modelled(set);
        let counts = if known { self.counted.reads.alone } else { self.undoubted.counts.leave_alone };
        self.no_surer_than_each(set, counts[crate::case::index(set)])
    }

    /// Draws in which no journal of a set is worn past its limits where it was read, though one may be larger than new.
    pub(crate) fn unworn_as_read(&self, set: SetName) -> usize {
        let known = self.is_modelled(set);
        let counts = if known { self.counted.reads.unworn } else { self.undoubted.counts.unworn };
        let hits = counts[crate::case::index(set)];
        // Larger than new is one thing, out of round or tapered another.
        if self.by_own_step(set).any(|(_, own)| self.is_formed_past(set, &own, -SAME_MM)) {
            return self.no_surer_than_each(set, hits);
        }
        hits
    }

    /// Whether a journal, by its place in the surface, keeps its limits beyond doubt where it was read.
    pub(crate) fn is_within(&self, j: usize) -> bool {
        self.share(self.within_as_read(j)) >= self.policy.within_at
    }

    /// Whether a polish brings a set within its limits where it was read, by the same rule.
    pub(crate) fn is_polished(&self, verdict: &SetVerdict) -> bool {
        let reads = verdict.polish_only_as_read.share();
        let each = |j: usize| {
            let hits = self.counted.reads.polished_each.get(j).copied().unwrap_or(0);
            self.share(hits) >= self.policy.within_at
        };
        let own = || self.by_own_step(verdict.set);
        reads >= self.policy.confidence
            || self.is_modelled(verdict.set) && reads >= EVEN_ODDS && own().all(|(j, _)| each(j))
    }

    /// Whether a journal was read in two directions, in line with its throw where it is a pin: then what is said of it is said
    /// of the spots that were read.
    pub(crate) fn is_read_both_ways(&self, id: JournalId) -> bool {
        let one_way = |kind: GapKind| matches!(kind, GapKind::Journal | GapKind::InLine | GapKind::Directions);
        !self.counted.gaps.iter().any(|gap| gap.journal == Some(id) && one_way(gap.kind))
    }

    /// The readings that would show what lies between those of a set that may stay: which journals, and where. Nothing where
    /// it is likelier than not that nothing does, where something was not looked at at all, which is asked for by itself, and where they
    /// were read already.
    pub(crate) fn between(&self, verdict: &SetVerdict) -> Option<(Vec<JournalId>, String)> {
        let all_over =
            if verdict.choice == crate::Choice::PolishOnly { verdict.polish_only } else { verdict.leave_alone };
        if all_over.share() >= EVEN_ODDS || verdict.not_looked_at().is_some() {
            return None;
        }
        let set = verdict.set;
        let own: Vec<(usize, crank::Condition)> = self.by_own_step(set).collect();
        let unsure = |j: usize| self.share(self.counted.within.get(j).copied().unwrap_or(0)) < self.policy.within_at;
        let is_read = |id: JournalId, plane_deg: f64| {
            self.findings.readings.iter().any(|r| {
                r.journal == id && crank::planes_apart_deg(r.plane_deg, plane_deg) <= crate::lone::SAME_WAY_DEG / 2.0
            })
        };
        let some = |of: &dyn Fn(JournalId) -> bool| -> Vec<JournalId> {
            own.iter().filter(|(j, c)| unsure(*j) && of(c.journal)).map(|(_, c)| c.journal).collect()
        };
        let diagonals = some(&|id| !DIAGONALS_DEG.iter().any(|&plane_deg| is_read(id, plane_deg)));
        if !diagonals.is_empty() {
            let [a, b] = DIAGONALS_DEG;
            let where_to = format!("at {a} and {b} degrees too, at front, middle and rear");
            return Some((diagonals, where_to));
        }
        let gap = |id: JournalId| {
            self.counted.gaps.iter().any(|gap| gap.journal == Some(id) && gap.kind == GapKind::Stations)
        };
        let along = some(&gap);
        (!along.is_empty()).then(|| (along, "at front and rear too".to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rule, case by case, with the shop's 5 in 100.
    #[test]
    fn one_rule_decides_from_both_figures() {
        let good =
            Known { past_a_limit: false, each_reads_within: true, reads: 0.97, all_over: 0.97, not_looked_at: false };
        let rule = |known: Known| known.stay(0.05);
        assert_eq!(rule(good), Stay::LeaveAlone);
        // Between two planes an oval may lie on any journal: that asks for a reading, and turns nothing round.
        assert_eq!(rule(Known { all_over: 0.34, ..good }), Stay::LeaveAlone);
        // A direction that nobody read does.
        assert_eq!(rule(Known { all_over: 0.34, not_looked_at: true, ..good }), Stay::TooLittle);
        assert_eq!(rule(Known { all_over: 0.60, not_looked_at: true, ..good }), Stay::LeaveAlone);
        // All but certain that one is past them.
        assert_eq!(rule(Known { all_over: 0.04, ..good }), Stay::TooLittle);
        // One journal is not sure by itself, or all of them are not together.
        assert_eq!(rule(Known { each_reads_within: false, ..good }), Stay::Open);
        assert_eq!(rule(Known { reads: 0.45, ..good }), Stay::Open);
        // A figure past its limit is answered by a reading, never by a chance.
        assert_eq!(rule(Known { past_a_limit: true, ..good }), Stay::Open);
    }
}
