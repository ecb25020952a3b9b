//! Remarks that belong beside the answer: what was taken for granted, what is missing, what to be careful of.

use crank::SetName;

use crate::case::Case;
use crate::cautions::cautions;
use crate::choice::Choice;
use crate::next::plural;
use crate::room;
use crate::verdict::{Note, SetPlan, SetVerdict};
use crate::words::in_hundred;

impl Case<'_> {
    /// All remarks but those on single readings, the most pressing first.
    pub(crate) fn notes(&self, sets: &[SetVerdict], plans: &[SetPlan]) -> Vec<Note> {
        let mut notes = Vec::new();
        self.cautions(&mut notes);
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
        for &(index, journal) in &self.surface.unmeasured_damage {
            let kind = self.findings.damages.get(index).map_or("damage", |d| d.kind.as_str());
            let measured = self.surface.journals.iter().any(|j| j.id == journal && !j.points.is_empty());
            notes.push(Note {
                kind: "damage not measured",
                journal: Some(journal),
                says: if measured {
                    format!(
                        "The {kind} on {journal} lies where nobody measured. The nearest measured size stands in for \
                         the size there: measure across it."
                    )
                } else {
                    format!("{kind} is reported on {journal}, which was not measured: it does not count yet.")
                },
            });
        }
    }

    fn what_it_was(&self, sets: &[SetVerdict], notes: &mut Vec<Note>) {
        for set in sets {
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
        let free = !self.questions.geometry.is_held();
        if free && self.findings.centres.is_empty() {
            notes.push(Note {
                kind: "taken for granted",
                journal: None,
                says: "No pin centre was measured: every present throw is taken as true to the book.".into(),
            });
        }
        if free && (self.specification.throw_tolerance_mm.is_none() || self.specification.index_tolerance_deg.is_none())
        {
            notes.push(Note {
                kind: "taken for granted",
                journal: None,
                says: "The specification states no throw or index tolerance, so the free axis may spend none of it."
                    .into(),
            });
        }
        let left = |set: &&SetVerdict| matches!(set.choice, Choice::LeaveAlone | Choice::PolishOnly);
        if let (true, Some(left)) = (free && plans > 0, sets.iter().find(left)) {
            notes.push(Note {
                kind: "one axis for both",
                journal: None,
                says: format!(
                    "The {} are not to be ground, so the present axis stays: judge the other set with axis = \"held\".",
                    plural(left.set)
                ),
            });
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
            if !self.questions.is_measured(set) {
                notes.push(Note {
                    kind: "missing",
                    journal: None,
                    says: format!("The {} were not measured: nothing is said of them.", plural(set)),
                });
            }
        }
        for set in sets {
            let Some(missing) = &set.missing else { continue };
            let names: Vec<String> = missing.journals.iter().map(ToString::to_string).collect();
            let chosen = set.choice.undersize_mm();
            let alike = match (missing.chance_if_alike, chosen) {
                (Some(alike), Some(undersize)) => format!(
                    " If like the others, {} has {} instead of {}.",
                    self.step(undersize).to_lowercase(),
                    in_hundred(alike),
                    in_hundred(
                        set.steps.iter().find(|s| s.undersize_mm == undersize).map_or(0.0, |s| s.chance.share())
                    )
                ),
                _ => String::new(),
            };
            notes.push(Note {
                kind: "missing",
                journal: missing.journals.first().copied(),
                says: format!(
                    "Not measured: {}.{alike} A bad one could move the {} down the whole ladder.",
                    names.join(", "),
                    plural(set.set)
                ),
            });
        }
        self.not_judged(notes);
        let two_point = self.surface.sizes.iter().any(|s| s.two_point);
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

    /// Journals called within their limits although some limit could not be looked at.
    fn not_judged(&self, notes: &mut Vec<Note>) {
        for (what, which) in [(crank::NotJudged::OutOfRound, "out-of-round"), (crank::NotJudged::Taper, "taper")] {
            let missing: Vec<String> = self
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
