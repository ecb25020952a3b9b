//! What nobody looked at, set by set, in figures and in words.

use crank::{JournalId, SetName};
use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::case::{Case, index};
use crate::choice::Choice;
use crate::unseen::GapKind;
use crate::verdict::{Missing, SetVerdict, StepVerdict, Unmeasured, UnmeasuredKind};

impl Case<'_> {
    /// What nobody looked at of a set, with what each costs at a step, the dearest first.
    pub(crate) fn unmeasured(&self, set: SetName, step: usize) -> Vec<Unmeasured> {
        let hits = self.counted.clean.sets[index(set)].get(step).copied().unwrap_or(0);
        let mut unmeasured: Vec<Unmeasured> = self
            .counted
            .gaps
            .iter()
            .filter(|gap| gap.set == set)
            .map(|gap| {
                let without = gap.without.get(step).copied();
                let more = |without: usize| self.counted.clean.chance(without.saturating_sub(hits)).share();
                Unmeasured {
                    kind: match gap.kind {
                        GapKind::Journal => UnmeasuredKind::Journal,
                        GapKind::InLine => UnmeasuredKind::InLine,
                        GapKind::Directions => UnmeasuredKind::Direction,
                        GapKind::Stations => UnmeasuredKind::Station,
                        GapKind::RunOuts => UnmeasuredKind::RunOut,
                    },
                    journal: gap.journal,
                    costs: without.map(more),
                }
            })
            .collect();
        unmeasured.sort_by(|a, b| b.costs.unwrap_or(0.0).total_cmp(&a.costs.unwrap_or(0.0)));
        unmeasured
    }

    /// Journals that nobody measured, and the chance as measured if they are like the others: each missing journal cleans
    /// up with the chance that a further value of a normal sample exceeds the stock (Student's t with a further
    /// observation).
    pub(crate) fn missing(&self, set: SetName, step: usize, chance: f64) -> Option<Missing> {
        let surface = &self.measured.surface;
        let of_set = || surface.journals.iter().filter(move |j| j.id.set == set);
        let journals: Vec<JournalId> = of_set().filter(|j| j.points.is_empty()).map(|j| j.id).collect();
        if journals.is_empty() {
            return None;
        }
        let wanted = self.ladders.wanted_mm[index(set)][step];
        let spares: Vec<f64> = of_set()
            .filter(|j| !j.points.is_empty())
            .map(|j| self.measured.radii_mm[j.points.clone()].iter().copied().fold(f64::INFINITY, f64::min) - wanted)
            .collect();
        let n = spares.len() as f64;
        // On a free axis a journal more moves the axis; what that does cannot be told from the others' spare.
        let tells = spares.len() >= 3 && self.measured.questions.geometry.is_held();
        let chance_if_alike = tells.then(|| {
            let mean = spares.iter().sum::<f64>() / n;
            let sd = (spares.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
            let margin = mean - self.policy.clean_up_stock_mm;
            let spread = (sd * sd * (1.0 + 1.0 / n) + self.policy.set_up_error_mm.powi(2)).sqrt();
            let one = match StudentsT::new(0.0, 1.0, n - 1.0) {
                Ok(t) if spread > 0.0 => t.cdf(margin / spread),
                _ => f64::from(u8::from(margin >= 0.0)),
            };
            chance * one.powi(journals.len() as i32)
        });
        Some(Missing { journals, chance_if_alike })
    }
}

impl SetVerdict {
    /// Whether the headline says to measure before anything is done: more than one size is to be read of a set, a damaged
    /// journal is to be read at all, sweeps may save a size, and [`measured_first`](Self::measured_first).
    pub fn waits_for_measuring(&self, confidence: f64) -> bool {
        let decided = !matches!(self.choice, Choice::Scrap | Choice::BuildUp | Choice::NotDecided);
        let sweeps_first = self.next.as_ref().is_some_and(|next| next.brings_mm.is_some());
        decided && (self.read_once || self.damaged_unmeasured || sweeps_first)
            || self.measured_first(confidence).is_some()
    }

    /// The shallower undersize that the set may well go to once what is missing is measured: sure as far as it was
    /// measured, and not ruled out by what nobody looked at. Then the headline says to measure first. On a free axis the chance
    /// as measured is that of the axis that suits each crank best, not of one that can be told: there it is the undersize
    /// that the next measurement may bring.
    pub fn measured_first(&self, confidence: f64) -> Option<&StepVerdict> {
        const RULED_OUT: f64 = 0.05;
        /// Where all that is missing is stations along the journals, as measured must be all but certain.
        const STATIONS_ONLY: f64 = 0.99;
        let undersize_mm = self.choice.undersize_mm().filter(|_| !self.damaged_unmeasured)?;
        let sure = if self.not_looked_at().is_some() { confidence } else { STATIONS_ONLY.max(confidence) };
        if self.unmeasured.is_empty() {
            return None;
        }
        self.steps
            .iter()
            .find(|s| s.permitted && s.chance_as_measured.share() >= sure && self.may_be_told(s))
            .filter(|s| s.undersize_mm < undersize_mm && s.chance.share() > RULED_OUT)
    }

    /// Whether a step may well be chosen once more is known.
    fn may_be_told(&self, step: &StepVerdict) -> bool {
        let foretold = || self.next.iter().flat_map(|next| &next.foretold);
        let brings = self.next.as_ref().and_then(|next| next.brings_mm);
        step.set_up.is_none()
            || brings == Some(step.undersize_mm)
            || foretold().any(|then| then.choice.undersize_mm() == Some(step.undersize_mm))
    }

    /// What nobody looked at, for a headline: `pin 3 not measured; pins 1 and 2 not read in line with their throw`. Nothing
    /// where everything was. Stations along a journal are left out: few people measure them all, and the chance counts them.
    pub fn not_looked_at(&self) -> Option<String> {
        let of = |kind: UnmeasuredKind| -> Vec<JournalId> {
            let mut journals: Vec<JournalId> =
                self.unmeasured.iter().filter(|u| u.kind == kind).filter_map(|u| u.journal).collect();
            journals.sort_unstable();
            journals
        };
        let mut says = Vec::new();
        let journals = of(UnmeasuredKind::Journal);
        if !journals.is_empty() {
            says.push(format!("{} not measured", list(&journals)));
        }
        let journals = of(UnmeasuredKind::InLine);
        if !journals.is_empty() {
            let throw = if journals.len() == 1 { "its throw" } else { "their throws" };
            says.push(format!("{} not read in line with {throw}", list(&journals)));
        }
        let journals = of(UnmeasuredKind::Direction);
        if !journals.is_empty() {
            says.push(format!("{} read in one direction only", list(&journals)));
        }
        if self.unmeasured.iter().any(|u| u.kind == UnmeasuredKind::RunOut) {
            says.push("no run-out measured".to_owned());
        }
        (!says.is_empty()).then(|| says.join("; "))
    }
}

/// `pin 3`, `pins 1 and 2`, `mains 1 to 5`: journals of one set.
pub fn list(journals: &[JournalId]) -> String {
    let (Some(first), Some(last)) = (journals.first(), journals.last()) else { return String::new() };
    let numbers: Vec<String> = journals.iter().map(|j| j.number.to_string()).collect();
    let in_a_row = journals.windows(2).all(|pair| pair[0].number + 1 == pair[1].number);
    match numbers.as_slice() {
        [_] => first.to_string(),
        _ if in_a_row && numbers.len() > 2 => format!("{}s {} to {}", first.set, first.number, last.number),
        [all @ .., last] => format!("{}s {} and {last}", first.set, all.join(", ")),
        [] => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn journals_are_listed_as_people_say_them() {
        let of = |numbers: &[usize]| {
            list(&numbers.iter().map(|&number| JournalId { set: SetName::Pin, number }).collect::<Vec<_>>())
        };
        assert_eq!(of(&[3]), "pin 3");
        assert_eq!(of(&[1, 2]), "pins 1 and 2");
        assert_eq!(of(&[1, 2, 3, 4]), "pins 1 to 4");
        assert_eq!(of(&[1, 2, 4]), "pins 1, 2 and 4");
    }
}
