//! What to do with a set, in the order in which a grinder would ask.

use crank::SetName;
use gauge::misread::Kind;

use crate::case::{Case, index};
use crate::chance::SAME_LENGTH_MM;
use crate::choice::{Ladder, choose};
use crate::stay::Stay;
use crate::unseen::GapKind;
use crate::verdict::{JournalVerdict, SetVerdict, Undecided};
use crate::{Axis, Choice};

/// A little wear: 0.001 in below the new size, the least wear limit that manuals print in inches (TM 5-3805-260; others
/// print 0.0015 in, and 0.002 in as the point from which a journal is ground, TM 5-3805-262). A round journal that is no
/// further below may be one that the manual lets stay.
const LITTLE_WEAR_MM: f64 = 0.0254;
/// Below even odds nobody calls a set good, whatever was read where somebody looked.
pub(crate) const EVEN_ODDS: f64 = 0.5;

/// How strictly round is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Round {
    /// No reading says otherwise.
    ByTheBook,
    /// No reading says otherwise beyond its own doubt: a crank is not given up for a tenth that nobody can be sure of.
    WithinItsDoubt,
}

/// What was decided, and what the set would be ground to if it had to be.
pub(crate) struct Decision {
    pub(crate) choice: Choice,
    pub(crate) undecided: Option<Undecided>,
    pub(crate) if_ground_mm: Option<f64>,
}

/// A set whose journals stand at two sizes of the ladder.
pub(crate) struct TwoSizes {
    /// The smaller size's undersize.
    pub(crate) undersize_mm: f64,
    /// Journals that stand at it and keep its limits.
    pub(crate) stay: Vec<crank::JournalId>,
    /// Larger journals, which clean up at it.
    pub(crate) grind: Vec<crank::JournalId>,
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
        if self.policy.axis != Axis::Free && self.run_out_beyond_limit(SetName::Main).is_some() {
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
        // What was ground deeper and is good costs no size: only what is larger needs the wheel, once it is known why.
        if let Some(two) = self.two_sizes(set) {
            return Decision { if_ground_mm: Some(two.undersize_mm), ..open(Undecided::TwoSizes) };
        }
        // A wheel does not meet metal that nobody knows: one journal far above new was built up, or read wrong.
        if self.may_be_built_up(set) {
            return open(Undecided::BiggerThanNew);
        }
        let worn = self.any_worn(set);
        // What a polish takes out is no reason to grind.
        let own_damage = || self.findings.damages.iter().filter(|d| d.journal.set == set && d.depth.highest_mm > 0.0);
        let too_deep = |d: &&crank::Damage| d.depth.highest_mm > self.policy.polish_stock_mm / 2.0 + SAME_LENGTH_MM;
        let damaged = own_damage().any(|d| too_deep(&d));
        let sound = !worn && !damaged;
        if sound && self.bigger_than_new(set).is_some() {
            return open(Undecided::BiggerThanNew);
        }
        let stay = self.stay(verdict);
        if stay != Stay::Open && own_damage().next().is_none() {
            // Good where it was measured, and more likely not where it was not: that is no leave to stay.
            if stay == Stay::TooLittle {
                return open(Undecided::TooLittle);
            }
            if self.rests_on_doubt(set, verdict) {
                return open(Undecided::Readings);
            }
            return Decision { choice: Choice::LeaveAlone, undecided: None, if_ground_mm: ground.undersize_mm() };
        }
        let polished = self.is_polished(verdict);
        // Damage that is told of on a journal that nobody measured is not in the chance as measured.
        let measured = |id: crank::JournalId| self.undoubted.conditions.iter().flatten().any(|c| c.journal == id);
        let unmeasured_damage = own_damage().filter(too_deep).any(|d| !measured(d.journal));
        // A polish is planned from one size for the whole set.
        let one_size = self.own_steps(set).is_empty();
        if own_damage().next().is_some() && !unmeasured_damage && polished && one_size {
            return Decision { choice: Choice::PolishOnly, undecided: None, if_ground_mm: ground.undersize_mm() };
        }
        if sound {
            // Out of round as a new one may be, more likely further than not, and how far one in use may be is not told: a finer
            // instrument says less than the manual.
            let told = self.specification.set(set).wear_out_of_round_mm.is_some();
            let past = !told && verdict.leave_alone_as_read.share() < EVEN_ODDS && self.is_at_its_roundness(set);
            return open(match (self.is_looked_at(set), past && self.may_be_let_stay(set)) {
                (false, _) => Undecided::TooLittle,
                (true, true) => Undecided::WearLimit,
                (true, false) => Undecided::TooClose,
            });
        }
        if self.agreeing_in_doubt(set).is_some() {
            return open(Undecided::Readings);
        }
        // What fits no undersize as it stands, and fits one a turn of the thimble away, was more likely misread.
        let a_turn_off = self.a_turn_off(set).filter(|_| ground.undersize_mm().is_none());
        if a_turn_off.is_some_and(|turn| turn.journal.is_some()) {
            return open(Undecided::Readings);
        }
        // A little worn and round, by the readings there are: whether it may stay is the manual's wear limit. Round is only
        // what somebody looked at in two directions.
        let told = self.specification.set(set).wear_limit_mm.is_some();
        let round = if ground.undersize_mm().is_some() { Round::ByTheBook } else { Round::WithinItsDoubt };
        // Nothing is given up by limits of a new crank that those of a worn one may be wider than.
        let given_up = ground.undersize_mm().is_none() && !damaged;
        if given_up && self.is_looked_at(set) && self.may_be_let_stay(set) {
            return open(Undecided::WearLimit);
        }
        if !told && !damaged && self.is_little_worn(set, round, |_| true) {
            if self.is_looked_at(set) {
                return open(Undecided::WearLimit);
            }
            // Where no journal was read across a second direction nobody knows whether any is round; else the chance says what
            // is usual of the others, and decides.
            if self.is_known_round_nowhere(set) {
                return open(Undecided::TooLittle);
            }
        }
        // A whole set that was ground before is a turn away as well: that it may stay was asked first.
        if a_turn_off.is_some() {
            return open(Undecided::Readings);
        }
        plain(ground)
    }

    /// Where some journals of a set stand at an undersize and keep its limits as they read, and every other is larger and
    /// cleans up there by itself with the shop's confidence: which, and the undersize. Nothing where a journal was not
    /// measured, or damage is told of.
    pub(crate) fn two_sizes(&self, set: SetName) -> Option<TwoSizes> {
        let keeps = |own: &crank::Condition| {
            own.largest_mm <= own.limits.high_mm + SAME_LENGTH_MM
                && own.smallest_mm >= own.limits.low_mm - SAME_LENGTH_MM
                && self.is_round(set, own, Round::ByTheBook)
        };
        self.two_sizes_where(set, keeps)
    }

    /// The same where those at the smaller size do as is asked of them.
    pub(crate) fn two_sizes_where(&self, set: SetName, keeps: impl Fn(&crank::Condition) -> bool) -> Option<TwoSizes> {
        if self.findings.damages.iter().any(|d| d.journal.set == set && d.depth.highest_mm > 0.0) {
            return None;
        }
        let stands: Vec<(usize, crank::Condition)> = self.by_own_step(set).collect();
        if stands.len() < self.specification.set(set).count() {
            return None;
        }
        let undersize_mm = stands.iter().map(|(_, own)| own.ground_to_mm).fold(0.0, f64::max);
        let at_it = |mm: f64| (mm - undersize_mm).abs() < SAME_LENGTH_MM;
        let (stay, grind): (Vec<_>, Vec<_>) = stands.into_iter().partition(|(_, own)| at_it(own.ground_to_mm));
        if grind.is_empty() || !stay.iter().all(|(_, own)| keeps(own)) {
            return None;
        }
        let step = self.specification.set(set).ladder_mm().iter().position(|&mm| at_it(mm))?;
        let asked_mm = self.ladders.wanted_mm[index(set)].get(step)? + self.policy.clean_up_stock_mm;
        let without = self.is_modelled(set).then(|| self.model.without(set, self.policy.draws))?;
        let cleans = |j: usize| without.share_above(j, asked_mm) >= self.policy.confidence;
        let names = |of: &[(usize, crank::Condition)]| of.iter().map(|(_, own)| own.journal).collect();
        let two = TwoSizes { undersize_mm, stay: names(&stay), grind: names(&grind) };
        grind.iter().all(|(j, _)| cleans(*j)).then_some(two)
    }

    /// Whether no journal and no direction of a set was left out.
    fn is_looked_at(&self, set: SetName) -> bool {
        !self
            .counted
            .gaps
            .iter()
            .any(|gap| gap.set == set && matches!(gap.kind, GapKind::Journal | GapKind::InLine | GapKind::Directions))
    }

    /// Whether not one journal of a set was read in two directions.
    fn is_known_round_nowhere(&self, set: SetName) -> bool {
        let one_way = |id: crank::JournalId| {
            self.counted.gaps.iter().any(|gap| gap.journal == Some(id) && gap.kind == GapKind::Directions)
        };
        let mut own = self.undoubted.conditions.iter().flatten().filter(|c| c.journal.set == set).peekable();
        own.peek().is_some() && own.all(|c| one_way(c.journal))
    }

    /// Whether a set would be left alone only because a reading was left out for which nothing speaks but that it is odd:
    /// of two readings of one place that differ nobody knows which is wrong, and nothing is known of a journal whose every
    /// reading is in doubt.
    fn rests_on_doubt(&self, set: SetName, verdict: &SetVerdict) -> bool {
        let counted = self.share(self.measured.counts.leave_alone[index(set)]);
        let same_place = |a: &crank::Reading, b: &crank::Reading| {
            a.journal == b.journal
                && (a.at_mm - b.at_mm).abs() < 1e-6
                && crank::planes_apart_deg(a.plane_deg, b.plane_deg) < 1e-6
        };
        let repeated =
            self.doubtful.iter().filter_map(|&n| Some((n, self.findings.readings.get(n)?))).any(|(n, odd)| {
                odd.journal.set == set
                    && (odd.sizes.len() > 1
                        || self.findings.readings.iter().enumerate().any(|(m, other)| m != n && same_place(odd, other)))
            });
        self.all_in_doubt(set).is_some() || repeated && counted < verdict.leave_alone_as_measured.share() / 2.0
    }

    /// That all of a set, or all of one journal, would fit another size if it was misread.
    pub(crate) fn a_turn_off(&self, set: SetName) -> Option<&crank::Suspicion> {
        // What was seen on a journal explains how far it is down.
        let seen = |id| self.findings.damages.iter().any(|d| d.journal == id && d.depth.highest_mm > 0.0);
        let asks = |s: &crank::Suspicion| match (s.kind, s.journal) {
            (Kind::Question, Some(_)) => true,
            (Kind::LikelyMisread, Some(id)) => !seen(id),
            _ => false,
        };
        let whole = |s: &crank::Suspicion| s.journal.is_none() || s.reading.is_none() && asks(s);
        self.suspicions.iter().find(|s| s.set == set && s.would_be_mm.is_some() && whole(s))
    }

    /// A journal of which the readings in one direction were all left out, and agree with each other: so many do not slip
    /// alike.
    pub(crate) fn agreeing_in_doubt(&self, set: SetName) -> Option<crank::JournalId> {
        /// Within 0.001 in.
        const AGREE_MM: f64 = 0.0254;
        self.specification.journals().filter(|id| id.set == set).find(|&id| {
            let own: Vec<(usize, &crank::Reading)> =
                self.findings.readings.iter().enumerate().filter(|(_, r)| r.journal == id).collect();
            own.iter().any(|(_, first)| {
                let plane = |r: &crank::Reading| crank::planes_apart_deg(r.plane_deg, first.plane_deg) < 1e-6;
                let there: Vec<_> = own.iter().filter(|(_, r)| plane(r)).collect();
                let sizes = || there.iter().flat_map(|(_, r)| r.sizes.iter().map(|entry| entry.mm));
                let (low, high) = sizes().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), mm| (l.min(mm), h.max(mm)));
                there.len() > 1 && high - low <= AGREE_MM && there.iter().all(|(n, _)| self.doubtful.contains(n))
            })
        })
    }

    /// Whether readings of a journal that were left out lie above the largest size that its set can have.
    pub(crate) fn doubted_above_new(&self, id: crank::JournalId) -> bool {
        let high_mm = self.specification.set(id.set).size.high_mm;
        let mut doubted =
            self.doubtful.iter().filter_map(|&n| self.findings.readings.get(n)).filter(|r| r.journal == id);
        doubted.any(|r| r.sizes.iter().any(|entry| entry.mm > high_mm))
    }

    /// Whether a journal of a set lies above what the set was ground to by more than a new one's limits are apart, or does so
    /// wherever it was read: that is no burr and no slip.
    fn may_be_built_up(&self, set: SetName) -> bool {
        let book = self.specification.set(set);
        let tolerance_mm = book.size.high_mm - book.size.low_mm;
        let high_mm = book.finished(self.undoubted.ground_to[index(set)].undersize_mm).high_mm;
        let over = |c: &crank::Condition| {
            let doubt_mm = 2.0 * c.uncertainty_mm;
            c.largest_mm - high_mm > doubt_mm + tolerance_mm || c.smallest_mm - high_mm > doubt_mm
        };
        self.undoubted.conditions.iter().flatten().any(|c| c.journal.set == set && over(c))
    }

    /// The first journal that was hot.
    pub(crate) fn heat(&self) -> Option<crank::JournalId> {
        self.findings.damages.iter().find(|d| d.is_heat()).map(|d| d.journal)
    }

    /// Whether every journal of a set is round by the book and no further below than that.
    pub(crate) fn is_round_within(&self, set: SetName, below_mm: f64) -> bool {
        self.is_worn_no_more(set, below_mm, Round::ByTheBook, |_| true)
    }

    /// Whether those journals of a set are round and no more than a little below the new size of what each was ground to.
    pub(crate) fn is_little_worn(&self, set: SetName, round: Round, of: impl Fn(crank::JournalId) -> bool) -> bool {
        self.is_worn_no_more(set, LITTLE_WEAR_MM, round, of)
    }

    fn is_worn_no_more(
        &self,
        set: SetName,
        below_mm: f64,
        round: Round,
        of: impl Fn(crank::JournalId) -> bool,
    ) -> bool {
        let is_low = |c: &crank::Condition| c.smallest_mm >= c.limits.low_mm - below_mm - SAME_LENGTH_MM;
        // Sizes of several steps on one shaft are no set to keep, unless the crank would be given up for it.
        let set_step = |j: usize| self.undoubted.conditions.get(j).cloned().flatten();
        let by = |(j, own)| if round == Round::WithinItsDoubt { Some(own) } else { set_step(j) };
        let mut worn = self.by_own_step(set).filter(|(_, own)| of(own.journal)).filter_map(by).peekable();
        worn.peek().is_some() && worn.all(|worn| self.is_round(set, &worn, round) && is_low(&worn))
    }

    /// Whether a journal is round and without taper by the book, as it reads.
    pub(crate) fn is_round(&self, set: SetName, c: &crank::Condition, round: Round) -> bool {
        let book = self.specification.set(set);
        let doubt_mm = if round == Round::WithinItsDoubt { 2.0 * c.uncertainty_mm } else { 0.0 };
        let keeps = |mm: Option<f64>, most: f64| mm.is_none_or(|mm| mm <= most + doubt_mm + SAME_LENGTH_MM);
        book.out_of_round_mm.is_none_or(|most| keeps(c.out_of_round_mm(), most))
            && book.taper.is_none_or(|most| {
                c.worst_plane().is_none_or(|plane| keeps(plane.taper_mm, most.over_mm(plane.span_mm)))
            })
    }

    /// Whether a journal of a set is as far out of round as a new one may be, or further, as it reads.
    fn is_at_its_roundness(&self, set: SetName) -> bool {
        let new_mm = self.specification.set(set).out_of_round_mm;
        let at = |c: &crank::Condition| c.out_of_round_mm().zip(new_mm).is_some_and(|(mm, most)| mm >= most - 1e-7);
        self.by_own_step(set).any(|(_, own)| at(&own))
    }

    /// Whether the readings of a set do not go together, or every one of them is in doubt.
    fn do_not_go_together(&self, set: SetName) -> bool {
        let bigger = |s: &crank::Suspicion| s.kind == Kind::BiggerThanNew;
        let stops = |s: &crank::Suspicion| s.stops() && !bigger(s) || s.splits_a_journal();
        self.suspicions.iter().any(|s| s.set == set && stops(s)) || !self.is_modelled(set)
    }

    /// A journal whose every reading looks wrong, so that nothing is known of it.
    pub(crate) fn all_in_doubt(&self, set: SetName) -> Option<crank::JournalId> {
        self.specification.journals().filter(|id| id.set == set).find(|&id| {
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
        let zero_taken = !self.findings.is_zero_untaken(|r| r.journal.set == set);
        let over_mm = largest.largest_mm - limit_mm;
        let doubt_mm = if zero_taken { 2.0 * largest.uncertainty_mm } else { 0.0 };
        (over_mm > doubt_mm + 1e-7).then_some((largest.journal, largest.largest_mm, limit_mm))
    }
}
