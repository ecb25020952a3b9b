//! Remarks that belong beside the answer: what was taken for granted, what is missing, what to be careful of.

use crank::SetName;

use crate::Axis;
use crate::case::Case;
use crate::cautions::cautions;
use crate::choice::Choice;
use crate::next::plural;
use crate::room;
use crate::unmeasured::list;
use crate::verdict::{Note, SetPlan, SetVerdict, Undecided};
use crate::words::capital;

impl Case<'_> {
    /// That readings were left out of the chances because they look wrong.
    pub(crate) fn left_out(&self, sets: &[SetVerdict]) -> Vec<Note> {
        let mut notes = Vec::new();
        for set in sets {
            let mut own: Vec<crank::JournalId> = self
                .doubtful
                .iter()
                .filter_map(|&n| self.findings.readings.get(n))
                .map(|reading| reading.journal)
                .filter(|journal| journal.set == set.set)
                .collect();
            let count = own.len();
            own.sort_unstable();
            own.dedup();
            if own.is_empty() {
                continue;
            }
            let readings =
                if count == 1 { "A doubtful reading".to_owned() } else { format!("{count} doubtful readings") };
            notes.push(Note {
                kind: "left out",
                journal: own.first().copied(),
                says: format!(
                    "{readings} of {} left out of the chances until taken again.",
                    list(&own) + if count == 1 { " is" } else { " are" }
                ),
            });
        }
        notes
    }

    /// All remarks but those on single readings, the most pressing first.
    pub(crate) fn notes(&self, sets: &[SetVerdict], plans: &[SetPlan]) -> Vec<Note> {
        let mut notes = Vec::new();
        self.cautions(&mut notes);
        self.large_zeros(&mut notes);
        self.bigger(sets, &mut notes);
        self.lost_draws(&mut notes);
        self.what_it_was(sets, &mut notes);
        self.axis_remarks(sets, plans.len(), &mut notes);
        self.plan_remarks(plans, &mut notes);
        self.gaps(sets, &mut notes);
        notes
    }

    fn cautions(&self, notes: &mut Vec<Note>) {
        for caution in cautions(self.specification, self.findings, self.policy, self.unit) {
            notes.push(Note { kind: "caution", journal: Some(caution.journal), says: caution.says });
        }
        for &(index, journal) in &self.measured.surface.unmeasured_damage {
            let kind = self.findings.damages.get(index).map_or("damage", |d| d.kind.word());
            // A crack or heat ends the matter wherever it is: it is said once, above.
            if self.findings.damages.get(index).is_some_and(|d| d.is_crack() || d.is_heat()) {
                continue;
            }
            let measured = self.measured.surface.journals.iter().any(|j| j.id == journal && !j.points.is_empty());
            notes.push(Note {
                kind: "damage not measured",
                journal: Some(journal),
                says: if measured {
                    format!(
                        "The {kind} on {journal} lies where nobody measured. The nearest measured size stands in for \
                         the size there: measure across it."
                    )
                } else {
                    format!(
                        "{} is told of on {journal}, which was not measured: it counts as on a journal like the others.",
                        capital(kind)
                    )
                },
            });
        }
    }

    /// A micrometer that is told to be so far off at zero that its sign, or the micrometer itself, is asked about.
    fn large_zeros(&self, notes: &mut Vec<Note>) {
        /// 0.0005 in: whoever keeps a micrometer sets it when it is that far out (common practice, no source).
        const LARGE_MM: f64 = 0.0127;
        for (n, instrument) in self.findings.instruments.iter().enumerate() {
            let used = self.findings.readings.iter().any(|r| r.with == n);
            if !used || instrument.zero_mm.abs() <= LARGE_MM + 1e-9 {
                continue;
            }
            let (reads, change) = if instrument.zero_mm > 0.0 { ("high", "smaller") } else { ("low", "larger") };
            let off = self.size(instrument.zero_mm.abs());
            notes.push(Note {
                kind: "question",
                journal: None,
                says: format!(
                    "The sheet tells that {} reads {off} {reads}, so all its sizes are counted {off} {change} than read. That is \
                     much for a zero: is it that way round? With the wrong sign every size is out by twice as much. Better set \
                     it, check it on a standard, and measure again.",
                    instrument.name
                ),
            });
        }
    }

    /// A journal that no wear explains is never ground without a word.
    fn bigger(&self, sets: &[SetVerdict], notes: &mut Vec<Note>) {
        for set in sets.iter().filter(|set| set.undecided != Some(Undecided::BiggerThanNew)) {
            if let Some((journal, size_mm, limit_mm)) = self.bigger_than_new(set.set) {
                notes.push(Note {
                    kind: "bigger than new",
                    journal: Some(journal),
                    says: self.is_bigger(journal, size_mm, limit_mm),
                });
            }
        }
    }

    /// Simulated cranks that the programme of a free axis could not place.
    fn lost_draws(&self, notes: &mut Vec<Note>) {
        let lost = self.measured.counts.clean.lost;
        if lost > 0 {
            notes.push(Note {
                kind: "lost draws",
                journal: None,
                says: format!(
                    "{lost} of the {} simulated cranks could not be placed on a free axis; the chances as measured rest on the \
                     others.",
                    self.policy.draws
                ),
            });
        }
    }

    fn what_it_was(&self, sets: &[SetVerdict], notes: &mut Vec<Note>) {
        // Of a journal that no undersize allows the note says what it is worn from.
        for set in sets.iter().filter(|set| self.bigger_than_new(set.set).is_none()) {
            if !set.ground_to.also.is_empty() {
                let others: Vec<String> = set.ground_to.also.iter().map(|&u| self.step(u).to_lowercase()).collect();
                notes.push(Note {
                    kind: "question",
                    journal: None,
                    says: format!(
                        "The {} were taken as last ground to {}; the sizes would also fit {}. Look for a stamped mark \
                         or the size on the back of the old shells.",
                        plural(set.set),
                        self.step(set.ground_to.undersize_mm).to_lowercase(),
                        others.join(" or ")
                    ),
                });
            }
        }
    }

    fn axis_remarks(&self, sets: &[SetVerdict], plans: usize, notes: &mut Vec<Note>) {
        let free = !self.measured.questions.geometry.is_held();
        if free && self.findings.centres.is_empty() {
            notes.push(Note {
                kind: "taken for granted",
                journal: None,
                says: "No pin centre was measured: every present throw is taken as true to the book.".into(),
            });
        }
        let untold = match (self.specification.throw_tolerance_mm, self.specification.index_tolerance_deg) {
            (None, None) => Some("throw or index tolerance"),
            (None, Some(_)) => Some("throw tolerance"),
            (Some(_), None) => Some("index tolerance"),
            (Some(_), Some(_)) => None,
        };
        if let Some(untold) = untold.filter(|_| free) {
            notes.push(Note {
                kind: "taken for granted",
                journal: None,
                says: format!("The specification states no {untold}, so the free axis may spend none of it."),
            });
        }
        let left = |set: &&SetVerdict| matches!(set.choice, Choice::LeaveAlone | Choice::PolishOnly);
        if let (true, Some(left)) = (free && plans > 0, sets.iter().find(left)) {
            let ground = sets.iter().filter(|set| set.set != left.set);
            let way =
                ground.filter_map(|set| Some(set.steps.get(self.looked_at(set))?.way)).find(|&way| way != Axis::Held);
            let (name, stays) = (plural(left.set), "are not to be ground, so the present main axis stays");
            let says = match way {
                // What moves no main leaves them as they are: the undersize was judged so.
                None => format!("The {name} {stays}, and nothing is moved on it."),
                Some(Axis::Throws | Axis::Held) => format!(
                    "The {name} {stays}; the pins are moved on it within the throw and index tolerances, as they were judged."
                ),
                Some(Axis::Free) => format!(
                    "The {name} {stays}, and the placement that is told would move it: judge the other set with axis = \"throws\"."
                ),
            };
            notes.push(Note { kind: "one axis for both", journal: None, says });
        }
    }

    fn plan_remarks(&self, plans: &[SetPlan], notes: &mut Vec<Note>) {
        let treatment = &self.specification.treatment;
        if !plans.is_empty() && treatment.kind != "none" && !treatment.after_grinding {
            notes.push(Note {
                kind: "treatment",
                journal: None,
                says: format!(
                    "The specification names {} but states no growth, so none is allowed for. Ask whoever treats it \
                     whether it is to be treated again, and how much a journal grows.",
                    treatment.kind
                ),
            });
        }
        for says in room::poor(plans, self.policy, self.unit) {
            notes.push(Note { kind: "few finish within limits", journal: None, says });
        }
    }

    fn gaps(&self, sets: &[SetVerdict], notes: &mut Vec<Note>) {
        for set in SetName::BOTH {
            if !self.measured.questions.is_measured(set) {
                notes.push(Note {
                    kind: "missing",
                    journal: None,
                    says: format!("The {} were not measured: nothing is said of them.", plural(set)),
                });
            }
        }
        for set in sets {
            notes.extend(self.not_looked_at(set));
        }
        self.not_judged(notes);
        let two_point = self.measured.surface.sizes.iter().any(|s| s.two_point);
        if two_point && self.findings.traces.is_empty() {
            notes.push(Note {
                kind: "what two points cannot see",
                journal: None,
                says: "A micrometer is blind to odd lobes (three, five …) and does not say on which side metal went. \
                       A run-out or a trace does."
                    .into(),
            });
        }
    }

    /// What nobody looked at of a set, and what the dearest of it costs.
    fn not_looked_at(&self, set: &SetVerdict) -> Option<Note> {
        const WORTH_SAYING: f64 = 0.005;
        let what = set.not_looked_at()?;
        let at = set.steps.get(self.looked_at(set)).map(|step| self.step(step.undersize_mm).to_lowercase());
        let dearest = set.unmeasured.iter().find(|u| u.costs.is_some_and(|costs| costs >= WORTH_SAYING));
        let costs = match (dearest, at) {
            (Some(dearest), Some(at)) => {
                let name = dearest.journal.map_or("the run-outs".to_owned(), |journal| journal.to_string());
                let costs = (100.0 * dearest.costs.unwrap_or(0.0)).round().max(1.0);
                format!(" Not knowing {name} costs {costs} in 100 at {at}.")
            }
            _ => String::new(),
        };
        Some(Note {
            kind: "missing",
            journal: set.unmeasured.iter().find_map(|u| u.journal),
            says: format!("Of the {}: {what}.{costs}", plural(set.set)),
        })
    }

    /// Journals called within their limits although some limit could not be looked at.
    fn not_judged(&self, notes: &mut Vec<Note>) {
        for (what, which) in [(crank::NotJudged::OutOfRound, "out-of-round"), (crank::NotJudged::Taper, "taper")] {
            let missing: Vec<String> = self
                .measured
                .conditions
                .iter()
                .flatten()
                .filter(|condition| condition.not_judged.contains(&what))
                .map(|condition| condition.journal.to_string())
                .collect();
            if !missing.is_empty() {
                notes.push(Note {
                    kind: "missing",
                    journal: None,
                    says: format!("Measured at too few places to judge {which}: {}.", missing.join(", ")),
                });
            }
        }
    }
}
