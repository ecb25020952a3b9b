//! Why a set is to be left alone, ground, given up, or not decided: one or two sentences for each.

use crank::{JournalId, SetName};

use crate::PolishWhen;
use crate::case::Case;
use crate::choice::Choice;
use crate::decide::EVEN_ODDS;
use crate::next::plural;
use crate::unmeasured::list;
use crate::verdict::{Apart, JournalVerdict, Others, SetVerdict, Undecided};
use crate::words::{capital, in_hundred, likelihood, standard_or_under};

/// Said of a set that is too close to call, unless it grows out of its limits in treatment.
pub(crate) const MAY_STAY: &str = ": this may be a set to leave alone.";

/// Of a pin that nobody read in line with its throw nothing stronger than "likely" is said.
const LIKELY_AT_MOST: f64 = 0.949;

/// Said where it is likelier than not that an oval lies between the directions that were read.
const NOT_BETWEEN: &str = " An oval that lies between the readings would not show.";

impl Case<'_> {
    /// The reason for what was decided.
    pub(crate) fn reason(&self, verdict: &SetVerdict, journals: &[JournalVerdict], priced: bool) -> String {
        let set = verdict.set;
        if let Some(undecided) = verdict.undecided {
            return self.why_undecided(verdict, undecided);
        }
        match verdict.choice {
            Choice::LeaveAlone => self.why_left_alone(verdict),
            Choice::PolishOnly => format!(
                "A polish takes out what was seen and leaves every journal within its limits, as far as it was measured.{}{}",
                self.each_by_itself(verdict.polish_only_as_read.share()),
                if self.between(verdict).is_some() { NOT_BETWEEN } else { "" }
            ),
            Choice::Grind { undersize_mm } => self.why_ground(verdict, undersize_mm, priced),
            Choice::BuildUp | Choice::Scrap => {
                if let Some(crack) = self.findings.damages.iter().find(|d| d.is_crack()) {
                    return format!(
                        "Crack on {}: do not grind. A cracked crankshaft can break in service and hurt people. Have the \
                         indication judged against the maker's manual by somebody qualified to; until then it is scrap.",
                        crack.journal
                    );
                }
                if let Some(apart) = &verdict.apart {
                    return self.why_apart(verdict, apart);
                }
                if let Some((journal, smallest_mm)) = self.below_smallest(set, journals) {
                    return format!(
                        "{} is {} at its smallest, already below the {} that the book permits for any journal of the set.",
                        capital(&journal.condition.journal.to_string()),
                        self.size(journal.condition.smallest_mm),
                        self.size(smallest_mm)
                    );
                }
                self.why_given_up(verdict)
            }
            Choice::NotDecided => String::new(),
        }
    }

    pub(crate) fn why_undecided(&self, verdict: &SetVerdict, undecided: Undecided) -> String {
        let set = verdict.set;
        let ground = |says: &str| {
            verdict.if_ground_mm.map_or(String::new(), |u| format!(" {says}: {}.", self.step(u).to_lowercase()))
        };
        match undecided {
            Undecided::Heat => {
                let journal = self.heat().map_or("A journal".to_owned(), |j| capital(&j.to_string()));
                format!(
                    "{journal} has been hot: nothing is decided before hardness and cracks have been tested. The maker's manual says \
                     whether the shaft may be used at all."
                )
            }
            Undecided::Bend => format!(
                "The shaft is bent beyond the manual's limit. Once that is settled everything is measured again, for the pins move \
                 with the mains.{}",
                if self.sizes_may_stay(set) {
                    " Their sizes are within their limits, as far as they were measured.".to_owned()
                } else if !self.any_worn(set) {
                    " None of them is worn past its limits beyond doubt.".to_owned()
                } else {
                    ground("As it stands it would have to be ground")
                }
            ),
            Undecided::Readings => {
                let stops = |s: &crank::Suspicion| s.stops() || s.splits_a_journal();
                let own = self.suspicions.iter().filter(|s| s.set == set && stops(s));
                let other = self.suspicions.iter().filter(|s| s.doubts_the_set());
                match own.chain(other).map(|s| s.says.as_str()).next() {
                    Some(first) => first.to_owned(),
                    None => self.why_in_doubt(set),
                }
            }
            Undecided::BiggerThanNew => {
                let is = self
                    .bigger_than_new(set)
                    .map_or(String::new(), |(journal, size_mm, limit_mm)| self.is_bigger(journal, size_mm, limit_mm));
                format!("{is} Nothing is ground on such a reading.")
            }
            Undecided::TooClose => self.why_too_close(verdict) + &ground("If it has to be ground"),
            Undecided::TooLittle => {
                let missing = verdict.not_looked_at().unwrap_or_else(|| "all along the journals".to_owned());
                let read = if verdict.leave_alone_as_read.share() < self.policy.outside_at {
                    format!(
                        "By what was read they are a little worn ({}): whether they may stay is the manual's wear limit, which \
                         is not told.",
                        self.how_far_below(verdict)
                    )
                } else {
                    format!(
                        "As far as it was measured, {} such sets are within their limits; with what nobody measured, {}.",
                        in_hundred(verdict.leave_alone_as_read.share()),
                        in_hundred(verdict.leave_alone.share())
                    )
                };
                format!("Not looked at: {missing}. Measure that first. {read}{}", ground("If it has to be ground"))
            }
            Undecided::TwoSizes => self.two_sizes(set).map_or(String::new(), |two| {
                let step = self.step(two.undersize_mm).to_lowercase();
                let (one, is, stays) = if two.stay.len() == 1 { ("it", "is", "stays") } else { ("they", "are", "stay") };
                format!(
                    "{} {is} at {step}, and as {one} read{} within its limits. {} {} larger. Find out why first: {}built up, \
                     or run with shells of different sizes? If all are to take one size of shell, grind {} alone to \
                     {step}: as far as is known {one_of} cleans up there, and {} {stays} as {one} {is}.",
                    capital(&list(&two.stay)),
                    if two.stay.len() == 1 { "s" } else { "" },
                    capital(&list(&two.grind)),
                    if two.grind.len() == 1 { "is" } else { "are" },
                    match self.a_turn_off(set).and_then(|turn| turn.journal) {
                        Some(low) => format!("was {low} read a turn of the thimble low, or are they "),
                        None => String::new(),
                    },
                    list(&two.grind),
                    list(&two.stay),
                    one_of = if two.grind.len() == 1 { "it" } else { "each" },
                )
            }),
            Undecided::WearLimit => format!(
                "{}; whether the {} may stay is the manual's wear limit{}, which is not told. {}; {}. If the manual lets them \
                 stay: leave alone.{}",
                match (self.specification.set(set).wear_limit_mm.is_some(), self.is_past_when_new(set)) {
                    (_, false) => "They stand on the limits of a new crank, more likely past them than not",
                    (false, true) if self.is_smaller_than_new(set) => "The new size is past",
                    (_, true) => "By the limits of a new crank they are past",
                },
                plural(set),
                if self.specification.set(set).wear_limit_mm.is_some() || !self.is_smaller_than_new(set) {
                    " of out-of-round"
                } else {
                    ""
                },
                self.how_round(set),
                self.how_far_below(verdict),
                if verdict.if_ground_mm.is_some() {
                    ground("If it does not, grind")
                } else {
                    " If it does not, no undersize is left: metal has to be put on, where the maker permits that, or another \
                     crank found."
                        .to_owned()
                }
            ),
        }
    }

    /// Which readings are in doubt, where no doubt is about the whole set.
    fn why_in_doubt(&self, set: SetName) -> String {
        if let Some(journal) = self.all_in_doubt(set) {
            return format!(
                "Every reading of {journal} looks wrong: take them again. Until then nothing is known of it."
            );
        }
        if let Some(journal) = self.agreeing_in_doubt(set) {
            let stands = if self.doubted_above_new(journal) {
                "larger than wear can leave it: built up (chrome, spray, weld), and with what?"
            } else {
                "worn far more than the others."
            };
            return format!(
                "Readings of {journal} that look wrong agree with each other, and there is no other in their direction: \
                 so many rarely slip alike. Take them again; if they stand, {journal} is {stands}"
            );
        }
        if let Some(turn) = self.a_turn_off(set) {
            return format!(
                "{} If they stand, no undersize is left: metal has to be put on, where the maker permits that, or another \
                 crank found.",
                turn.says
            );
        }
        format!(
            "Two readings of one place of the {} differ, and nothing says which is wrong: take both again.",
            plural(set)
        )
    }

    /// Too close to call: whether it is the upper limit, and whether a zero was never taken.
    fn why_too_close(&self, verdict: &SetVerdict) -> String {
        let set = verdict.set;
        let untaken = self.findings.is_zero_untaken(|r| r.journal.set == set);
        let unworn = self.share(self.unworn_as_read(set));
        let above = self.above_new(set);
        let mut says = if let Some((journal, size_mm, limit_mm)) = above.filter(|_| unworn < self.policy.confidence) {
            format!(
                "No journal is worn past its limits beyond doubt. {} measures {}, over the upper limit of new, {}, by less \
                 than the micrometer can tell.",
                capital(&journal.to_string()),
                self.size(size_mm),
                self.size(limit_mm)
            )
        } else if unworn >= self.policy.confidence {
            "No journal is worn past its limits; the largest lie so near the upper limit of new that the micrometer cannot tell \
             on which side. That is no reason to grind."
                .to_owned()
        } else {
            let likely = verdict.leave_alone_as_read.share() >= EVEN_ODDS;
            let may =
                if likely { MAY_STAY } else { ", though all of them together are more likely past one than not." };
            format!("No journal is past its limits beyond doubt{may}")
        };
        let book = self.specification.set(set);
        if book.wear_limit_mm.is_none() && above.is_none() {
            says += " These are the limits of a new crank; the manual's wear limit, which is not told, may settle it: look it up.";
        }
        says += if untaken {
            " The zero of the micrometer was not taken: take it, and measure again before anything is ground."
        } else {
            " Measure again, with a finer instrument where there is one, before anything is ground."
        };
        if let Some(nearest) = self.nearest_limit(set) {
            says += &format!(" Nearest to a limit: {nearest}.");
        }
        let scratched = self.findings.damages.iter().any(|d| d.journal.set == set && d.depth.highest_mm > 0.0);
        if scratched {
            return says
                + &format!(
                    " The damage that is told of comes out with a polish; by what was read, {} such sets are within their \
                     limits after it.",
                    in_hundred(verdict.polish_only_as_read.share())
                );
        }
        says + &format!(
            " By what was read, {} such sets are within their limits.",
            in_hundred(verdict.leave_alone_as_read.share())
        )
    }

    /// The journal that is nearest to one of its limits or furthest past it, and that limit: `main 3, out-of-round 0.0004 in
    /// against 0.0005 in`.
    fn nearest_limit(&self, set: SetName) -> Option<String> {
        self.nearest_limit_of(set, |_| true)
    }

    fn nearest_limit_of(&self, set: SetName, of: impl Fn(JournalId) -> bool) -> Option<String> {
        let book = self.specification.set(set);
        // Each against the limits of what it was itself ground to.
        let margins = self.by_own_step(set).filter(|(_, own)| of(own.journal)).flat_map(|(_, c)| {
            let band = c.limits;
            let tapered = book.taper_in_use().and_then(|most| {
                let plane = c.worst_plane()?;
                Some(("taper", plane.taper_mm?, most.over_mm(plane.span_mm), -1.0))
            });
            let oval =
                book.out_of_round_in_use_mm().and_then(|most| Some(("out-of-round", c.out_of_round_mm()?, most, -1.0)));
            let sizes = [("", c.smallest_mm, band.low_mm, 1.0), ("", c.largest_mm, band.high_mm, -1.0)];
            let all = sizes.into_iter().chain(oval).chain(tapered);
            all.map(|(what, is, limit, sign)| (sign * (is - limit), c.journal, what, is, limit)).collect::<Vec<_>>()
        });
        let (_, journal, what, is, limit) = margins.min_by(|a, b| a.0.total_cmp(&b.0))?;
        let what = if what.is_empty() { String::new() } else { format!("{what} ") };
        Some(format!("{journal}, {what}{} against {}", self.size(is), self.size(limit)))
    }

    /// The journal that is furthest over the upper limit of what it was last ground to, its size and the limit.
    pub(crate) fn above_new(&self, set: SetName) -> Option<(JournalId, f64, f64)> {
        let over = |c: &&crank::Condition| c.largest_mm - c.limits.high_mm;
        let of_set: Vec<crank::Condition> = self.by_own_step(set).map(|(_, own)| own).collect();
        let worst = of_set.iter().rev().filter(|c| over(c) > 1e-7).max_by(|a, b| over(a).total_cmp(&over(b)))?;
        Some((worst.journal, worst.largest_mm, worst.limits.high_mm))
    }

    /// The journal that is furthest below its new limit: `the lowest, main 6, is 0.0002 in below its new limit`.
    fn how_far_below(&self, verdict: &SetVerdict) -> String {
        // Each from what it was itself ground to.
        let own = self.by_own_step(verdict.set).map(|(_, own)| own);
        let new_low_mm = |c: &crank::Condition| self.specification.set(verdict.set).finished(c.ground_to_mm).low_mm;
        let below = |c: &crank::Condition| new_low_mm(c) - c.smallest_mm;
        own.max_by(|a, b| below(a).total_cmp(&below(b))).map_or(String::new(), |lowest| {
            let mm = below(&lowest);
            if mm > 1e-7 {
                format!("the lowest, {}, is {} below its new limit", lowest.journal, self.size(mm))
            } else {
                format!("the lowest, {}, is no lower than a new one may be", lowest.journal)
            }
        })
    }

    /// That a journal is larger than wear can leave it, and what to do.
    pub(crate) fn is_bigger(&self, journal: JournalId, size_mm: f64, limit_mm: f64) -> String {
        // Between two undersizes: worn from the larger, or read too large for the smaller.
        let ladder_mm = self.specification.set(journal.set).ladder_mm();
        let deeper = |u: &f64| (self.specification.set(journal.set).finished(*u).high_mm - limit_mm).abs() < 1e-6;
        let at = ladder_mm.iter().position(deeper).filter(|&at| at > 0);
        if let Some((&deeper_mm, &shallower_mm)) = at.and_then(|at| ladder_mm.get(at).zip(ladder_mm.get(at - 1))) {
            return format!(
                "{} measures {}: more than {} allows, {} at the most, and less than {} when new, {} at the least. Read it \
                 again. If it stands, it is worn from {}.",
                capital(&journal.to_string()),
                self.size(size_mm),
                self.step(deeper_mm).to_lowercase(),
                self.size(limit_mm),
                self.step(shallower_mm).to_lowercase(),
                self.size(self.specification.set(journal.set).finished(shallower_mm).low_mm),
                self.step(shallower_mm).to_lowercase(),
            );
        }
        let untaken = self.findings.is_zero_untaken(|r| r.journal == journal);
        let zero = if untaken {
            "The zero of its micrometer was not taken: take it, and measure again."
        } else {
            "Check the micrometer's zero and the book's size, and measure again. Was it built up (chrome, spray, weld)? Then find \
             out with what before a wheel touches it."
        };
        format!(
            "{} measures {}, above the {} that it can have been ground to: a journal does not grow by wear. {zero}",
            capital(&journal.to_string()),
            self.size(size_mm),
            self.size(limit_mm)
        )
    }

    fn why_left_alone(&self, verdict: &SetVerdict) -> String {
        let mut says =
            "As far as it was measured every journal is within its limits, and no damage is told of.".to_owned();
        if !verdict.own_steps.is_empty() {
            says += " They are not all of one size: find out why, and order the shells journal by journal.";
        }
        says += &self.each_by_itself(verdict.leave_alone_as_read.share());
        if let Some(what) = verdict.not_looked_at() {
            says += &format!(
                " Not looked at: {what}; with that counted, {} such sets are within their limits.",
                in_hundred(verdict.leave_alone.share())
            );
        } else if self.between(verdict).is_some() {
            // A chance of what lies between two planes says nothing of these journals; the reading that is asked for does.
            says += NOT_BETWEEN;
        } else if (EVEN_ODDS..self.policy.confidence).contains(&verdict.leave_alone.share()) {
            says += &format!(
                " With what lies between the readings counted, {} such sets are.",
                in_hundred(verdict.leave_alone.share())
            );
        }
        says
    }

    /// Said of a set whose journals are sure one by one and less so together.
    fn each_by_itself(&self, share: f64) -> String {
        if share >= self.policy.confidence {
            return String::new();
        }
        format!(
            " Each of them by itself: of so many readings some always err most, and {} such sets are so together.",
            in_hundred(share)
        )
    }

    /// What decides the set: the place with least to spare, unless it is more often damage on a journal that nobody measured.
    fn governs(&self, verdict: &SetVerdict) -> String {
        let worst =
            self.is_modelled(verdict.set).then(|| self.model.most_often_worst(verdict.set, self.counted)).flatten();
        let unmeasured = worst.filter(|&j| self.undoubted.conditions.get(j).is_some_and(Option::is_none));
        let id = unmeasured.and_then(|j| self.specification.journals().nth(j));
        let damage =
            id.and_then(|id| self.findings.damages.iter().find(|d| d.journal == id && d.depth.highest_mm > 0.0));
        match damage {
            Some(damage) => {
                format!(" What decides it: the {} on {}, which nobody measured.", damage.kind, damage.journal)
            }
            None => {
                verdict.governed_by.map_or(String::new(), |place| format!(" What decides it: {}.", place.in_full()))
            }
        }
    }

    fn why_ground(&self, verdict: &SetVerdict, undersize_mm: f64, priced: bool) -> String {
        let at = verdict.steps.iter().position(|s| s.undersize_mm == undersize_mm);
        let here = at.map_or(0.0, |i| verdict.steps[i].chance.share());
        let above = at.and_then(|i| i.checked_sub(1)).map(|i| &verdict.steps[i]);
        let not_in_line: Vec<JournalId> = verdict.not_in_line().collect();
        let at_step = self.step(undersize_mm).to_lowercase();
        let mut says = if !not_in_line.is_empty() && here > LIKELY_AT_MOST {
            format!(
                "At {at_step} cleaning up is likely, no more: nobody read {} in line with the throw, where pins wear most. \
                 As pins usually wear, {} such cranks would.",
                list(&not_in_line),
                in_hundred(here)
            )
        } else {
            let words = match likelihood(here) {
                words @ "could go either way" => words.to_owned(),
                words => format!("is {words}"),
            };
            format!("At {at_step} cleaning up {words}: {} such cranks would.", in_hundred(here))
        };
        if let Some(shallower) = verdict.measured_first(self.policy.confidence) {
            says = format!(
                "{} first: measured in full they may well go to {}, which cleans up in {} as far as it was measured. {says}",
                if verdict.not_looked_at().is_some() {
                    "Measure what is missing"
                } else {
                    "Measure front and rear of every journal"
                },
                self.step(shallower.undersize_mm).to_lowercase(),
                in_hundred(shallower.chance_as_measured.share())
            );
        }
        if verdict.damaged_unmeasured {
            says = format!(
                "Damage is told of on a journal that nobody measured: measure it, and how deep it is, first. {says}"
            );
        }
        if let Some(above) = above.filter(|a| a.chance.share() > 0.0 && a.chance.share() < self.policy.confidence) {
            let (would, asked) = (in_hundred(above.chance.share()), in_hundred(self.policy.confidence));
            let name = self.step(above.undersize_mm);
            says += &if would == asked {
                format!(" {name} would in just under the {asked} asked for.")
            } else {
                format!(" {name} would in {would}, short of the {asked} asked for.")
            };
        }
        if self.specification.set(verdict.set).wear_limit_mm.is_none() && self.is_round_and_not_far_down(verdict) {
            says += &format!(
                " {}; {}, and the manual's wear limit is not told: look it up before anything is ground.",
                self.how_round(verdict.set),
                self.how_far_below(verdict)
            );
        } else if self.may_be_let_stay(verdict.set) {
            says += " They are judged by the limits of a new crank; a manual's wear limit, which is not told, may let them stay: \
                     look it up before anything is ground.";
        }
        let may_stay = |own: &crank::Condition| self.is_near_new(verdict.set, own);
        if let Some(two) = self.two_sizes_where(verdict.set, may_stay).filter(|two| two.undersize_mm < undersize_mm) {
            says += &format!(
                " If the manual lets {} stay, only {} {} ground, to {}: as far as is known each cleans up there.",
                list(&two.stay),
                list(&two.grind),
                if two.grind.len() == 1 { "is" } else { "are" },
                self.step(two.undersize_mm).to_lowercase()
            );
        }
        if !self.any_worn(verdict.set)
            && let Some(damage) = self.deepest_damage(verdict.set)
        {
            says += &format!(" The {} on {} cannot be polished out within the limits.", damage.kind, damage.journal);
        }
        if priced {
            says += " With the prices given it costs least to start here.";
        }
        if let Some(what) = verdict.not_looked_at() {
            says += &format!(" Not looked at, but counted as what is usual: {what}.");
        }
        says + &self.governs(verdict)
    }

    fn why_given_up(&self, verdict: &SetVerdict) -> String {
        let deepest = verdict.steps.iter().rfind(|s| s.permitted);
        let chance = deepest.map_or(0.0, |s| s.chance.share());
        let name = deepest.map_or(String::new(), |s| self.step(s.undersize_mm));
        let mut says = format!(
            "No undersize of the {} reaches {}; the deepest, {name}, cleans up in {}.{}",
            plural(verdict.set),
            in_hundred(self.policy.confidence),
            in_hundred(chance),
            self.governs(verdict)
        );
        if chance >= 0.05 {
            says += " Measure more, or try the deepest knowing that chance, before giving the crank up.";
        }
        if verdict.choice == Choice::BuildUp {
            says += " Building up changes the strength of the shaft: only where the maker permits it.";
        }
        says
    }

    /// Whether a set that is ground is round and no further down than the largest wear limits that manuals print: 0.060 mm
    /// on a large crank, 0.002 in on a small one (common practice, no source).
    fn is_round_and_not_far_down(&self, verdict: &SetVerdict) -> bool {
        const LARGEST_WEAR_LIMIT_MM: f64 = 0.0635;
        let mut own = self.findings.damages.iter().filter(|d| d.journal.set == verdict.set);
        own.all(|d| d.depth.highest_mm <= 0.0) && self.is_round_within(verdict.set, LARGEST_WEAR_LIMIT_MM)
    }

    /// Whether a size of a set stands below what it was last ground to.
    fn is_smaller_than_new(&self, set: SetName) -> bool {
        let book = self.specification.set(set);
        self.by_own_step(set).any(|(_, own)| own.smallest_mm < book.finished(own.ground_to_mm).low_mm - 1e-7)
    }

    /// Whether a figure of a set stands past a limit of what it was last ground to.
    fn is_past_when_new(&self, set: SetName) -> bool {
        let book = self.specification.set(set);
        self.by_own_step(set).any(|(_, own)| {
            own.smallest_mm < book.finished(own.ground_to_mm).low_mm - 1e-7
                || !self.is_round(set, &own, crate::decide::Round::ByTheBook)
        })
    }

    /// That journals are round, as far as anybody can tell.
    fn how_round(&self, set: SetName) -> String {
        let limit_mm = self.specification.set(set).out_of_round_mm;
        let own = || self.undoubted.conditions.iter().flatten().filter(|c| c.journal.set == set);
        let worst = own().filter_map(|c| Some((c.journal, c.out_of_round_mm()?))).max_by(|a, b| a.1.total_cmp(&b.1));
        match (worst, limit_mm) {
            (Some((journal, mm)), Some(most)) if (mm - most).abs() <= 1e-7 => {
                format!("They are as far out of round as a new one may be ({journal} {})", self.size(mm))
            }
            (Some((journal, mm)), Some(most)) if mm > most => {
                let told = own().any(|c| c.journal == journal && mm <= most + 2.0 * c.uncertainty_mm);
                let is =
                    if told { "They are round as far as the readings can tell" } else { "They are not quite round" };
                format!("{is} ({journal} {} against {} of a new one)", self.size(mm), self.size(most))
            }
            (None, _) => "Nobody read whether they are round".to_owned(),
            _ if own().any(|c| c.out_of_round_mm().is_none()) => "They are round as far as they were read".to_owned(),
            _ => "They are round".to_owned(),
        }
    }

    /// Whether a set is out of the limits of new, and no further than wear limits that manuals print often reach: three times
    /// the new out-of-round, 0.0025 in below the new size (common practice, no source). A limit that is told counts as it is.
    pub(crate) fn may_be_let_stay(&self, set: SetName) -> bool {
        let mut damages = self.findings.damages.iter().filter(|d| d.journal.set == set);
        damages.all(|d| d.depth.highest_mm <= 0.0) && self.by_own_step(set).all(|(_, own)| self.is_near_new(set, &own))
    }

    /// Whether one journal is no further out of the limits of new than that; not where the manual's are told.
    fn is_near_new(&self, set: SetName, own: &crank::Condition) -> bool {
        const TIMES: f64 = 3.0;
        const BELOW_MM: f64 = 0.0635;
        let book = self.specification.set(set);
        let Some(new_mm) = book.out_of_round_mm else { return false };
        if book.wear_limit_mm.is_some() && book.wear_out_of_round_mm.is_some() {
            return false;
        }
        let round_mm = book.wear_out_of_round_mm.unwrap_or(TIMES * new_mm);
        let below_mm = if book.wear_limit_mm.is_some() { 0.0 } else { BELOW_MM };
        own.out_of_round_mm().is_none_or(|mm| mm <= round_mm + 1e-7)
            && own.smallest_mm >= own.limits.low_mm - below_mm - 1e-7
    }

    /// The deepest damage of a set.
    fn deepest_damage(&self, set: SetName) -> Option<&crank::Damage> {
        let own = self.findings.damages.iter().filter(|d| d.journal.set == set && d.depth.highest_mm > 0.0);
        own.max_by(|a, b| a.depth.highest_mm.total_cmp(&b.depth.highest_mm))
    }

    /// What the others need, and what the journals need that cannot go with them.
    fn why_apart(&self, verdict: &SetVerdict, apart: &Apart) -> String {
        let ids: Vec<JournalId> = apart.journals.iter().map(|one| one.journal).collect();
        let others: Vec<JournalId> =
            self.specification.journals().filter(|id| id.set == verdict.set && !ids.contains(id)).collect();
        let (which, one) = (list(&ids), ids.len() == 1);
        let (goes, without) = if one { ("goes", "it") } else { ("go", "them") };
        let (rest, are, they) = match others.as_slice() {
            [only] => (only.to_string(), "is", "it"),
            several => (format!("the other {} {}", several.len(), plural(verdict.set)), "are", "they"),
        };
        let size = |mm: f64| standard_or_under(mm, self.unit);
        let present = size(verdict.ground_to.undersize_mm);
        let mut says = match apart.others {
            Others::None => format!("No undersize cleans {which} up."),
            Others::Stay => format!(
                "No undersize cleans {which} up. {} {are} within the limits, as far as measured: {they} may stay, and {which} \
                 {goes} back to {present}.",
                capital(&rest)
            ),
            Others::ToSize => {
                let treatment = &self.specification.treatment;
                format!(
                    "No undersize cleans {which} up. {} {are} within the limits, as far as measured, and {which} {goes} back to \
                     {present}. But metal that is put on and ground asks for {} again, in which the crank grows about {}: the \
                     others are polished to size, {}, or they leave their limits. Ask whoever puts the metal on whether it bears \
                     that treatment.",
                    capital(&rest),
                    treatment.kind,
                    self.size(treatment.growth_mean_mm),
                    match self.policy.polish {
                        PolishWhen::BeforeTreatment => "before treatment",
                        PolishWhen::AfterTreatment => "last of all, after treatment",
                    }
                )
            }
            Others::TooClose => format!(
                "No undersize cleans {which} up. {} read{} within the limits, too near to one to call{}. Measure {} again, with a \
                 finer instrument where there is one, before {which} {goes} back to {present}.",
                capital(&rest),
                if others.len() == 1 { "s" } else { "" },
                self.nearest_limit_of(verdict.set, |id| !ids.contains(&id))
                    .map_or(String::new(), |nearest| format!(" ({nearest})")),
                if others.len() == 1 { "it" } else { "them" },
            ),
            Others::LittleWorn { undersize_mm, chance } => format!(
                "No undersize cleans {which} up. {} {are} round and a little below new: look up the manual's wear limit, which is \
                 not told. If it lets {} stay, {which} {goes} back to {present}; if not, all go to {}, where {} such sets would \
                 clean up without {which}.",
                capital(&rest),
                if others.len() == 1 { "it" } else { "them" },
                size(undersize_mm),
                in_hundred(chance.share())
            ),
            Others::Grind { undersize_mm, chance } => format!(
                "No undersize cleans {which} up with the others. Without {without} {rest} clean{} up at {}: {}.",
                if others.len() == 1 { "s" } else { "" },
                size(undersize_mm),
                in_hundred(chance.share())
            ),
        };
        let near = |own: &crank::Condition| ids.contains(&own.journal) || self.is_near_new(verdict.set, own);
        if matches!(apart.others, Others::Grind { .. }) && self.by_own_step(verdict.set).all(|(_, own)| near(&own)) {
            says += " They are judged by the limits of a new crank; a manual's wear limit, which is not told, may let them stay: \
                     look it up before anything is ground.";
        }
        says += &format!(
            " {} need{} metal put on (weld, spray or a sleeve), where the maker permits that, or another crank.",
            capital(&which),
            if one { "s" } else { "" }
        );
        let with = match apart.others {
            Others::Grind { .. } => " with the others".to_owned(),
            Others::None | Others::Stay | Others::ToSize | Others::TooClose | Others::LittleWorn { .. } => {
                format!(", for {present}")
            }
        };
        for journal in &apart.journals {
            says += &format!(
                " {}: cut it to {}, put on {} a side, back to {} before it is ground{with}.",
                capital(&journal.journal.to_string()),
                self.size(journal.under_deposit_mm),
                self.size(journal.thickness_mm),
                self.size(journal.back_to_mm),
            );
        }
        // Torn: further down than wear takes a journal.
        const TORN_MM: f64 = 0.254;
        let torn = |c: &crank::Condition| ids.contains(&c.journal) && c.wear_mm > TORN_MM;
        says += if self.undoubted.conditions.iter().flatten().any(torn) {
            " A journal torn so deep has often been hot: test its hardness, and for cracks before and after."
        } else {
            " Test for cracks before and after."
        };
        says + " Building up changes the strength of the shaft."
    }
}
