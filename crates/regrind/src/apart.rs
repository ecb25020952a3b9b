//! Journals that cannot go with the others of their set: what the others need, and what these need.

use crank::{JournalId, SetName};

use crate::case::{Case, index};
use crate::choice::{Choice, Ladder, choose};
use crate::decide::Round;
use crate::stay::Stay;
use crate::unseen::Without;
use crate::verdict::{Apart, ApartJournal, Others, SetVerdict};

/// A share of the room that is looked at where the shop's confidence leaves none.
const LEAST_SHARE: f64 = 0.001;

impl Case<'_> {
    /// Where no undersize cleans the whole set up with the shop's confidence: the journals without which one would, or all
    /// of them.
    pub(crate) fn apart(&self, verdict: &SetVerdict) -> Option<Apart> {
        if !matches!(verdict.choice, Choice::Scrap | Choice::BuildUp) || !self.is_modelled(verdict.set) {
            return None;
        }
        if self.findings.damages.iter().any(crank::Damage::is_crack) {
            return None;
        }
        let set = verdict.set;
        let s = index(set);
        let permitted = self.permitted(set);
        let ladder_mm = self.specification.set(set).ladder_mm();
        let deepest_mm = *self.ladders.wanted_mm[s].get(permitted - 1)?;
        let without = self.model.without(set, self.policy.draws);
        // Those that by themselves clean up at no undersize; where each would, the one that most often stops the others.
        let mut journals: Vec<usize> = without
            .journals()
            .filter(|&j| without.share_above(j, deepest_mm + self.policy.clean_up_stock_mm) < self.policy.confidence)
            .collect();
        if journals.is_empty() {
            journals.push(self.model.most_often_worst(set, self.counted)?);
        }
        let others = self.others(set, &without, &journals, &ladder_mm[..permitted]);
        if others == Others::None && without.journals().count() > journals.len() {
            return None;
        }
        // What a journal is brought back to: the size that the others go to, or the one they have.
        let step_mm = match others {
            Others::Grind { undersize_mm, .. } => undersize_mm,
            Others::Stay | Others::ToSize | Others::TooClose | Others::LittleWorn { .. } | Others::None => {
                verdict.ground_to.undersize_mm
            }
        };
        let step = ladder_mm.iter().position(|&u| u == step_mm).unwrap_or(0);
        let back_to_mm = 2.0 * self.ladders.wanted_mm[s][step] + self.policy.finish_stock_mm;
        let journals = journals
            .into_iter()
            .filter_map(|j| {
                // The radius that is sound everywhere with the shop's confidence, less what must come off it.
                let share = (1.0 - self.policy.confidence).max(LEAST_SHARE);
                let sound_mm = without.radius_at(j, share)?;
                let under_deposit_mm = self.rounded_down(2.0 * (sound_mm - self.policy.clean_up_stock_mm));
                Some(ApartJournal {
                    journal: self.specification.journals().nth(j)?,
                    under_deposit_mm,
                    thickness_mm: (back_to_mm - under_deposit_mm) / 2.0,
                    back_to_mm,
                })
            })
            .collect();
        Some(Apart { journals, others })
    }

    /// What the other journals of a set need.
    fn others(&self, set: SetName, without: &Without, but: &[usize], ladder_mm: &[f64]) -> Others {
        let s = index(set);
        let others: Vec<usize> = without.journals().filter(|j| !but.contains(j)).collect();
        if others.is_empty() {
            return Others::None;
        }
        let ids: Vec<JournalId> = self.specification.journals().collect();
        let is_other = |id: JournalId| others.iter().any(|&j| ids.get(j) == Some(&id));
        let damaged = self.findings.damages.iter().any(|d| is_other(d.journal) && d.depth.highest_mm > 0.0);
        let measured = others.iter().all(|&j| self.undoubted.conditions.get(j).is_some_and(Option::is_some));
        // As they read: what lies within its limits is not called below them. Whether that is beyond doubt is the rule's.
        let in_limits = || self.read_in_limits(set, &others);
        let may_stay = || {
            let missing = ids.iter().any(|&id| is_other(id) && !self.is_read_both_ways(id));
            self.stay_of(set, &others, missing) == Stay::LeaveAlone
        };
        if measured && !damaged && in_limits() {
            if !may_stay() {
                return Others::TooClose;
            }
            let outgrow = self.undoubted.conditions.iter().flatten().any(|c| is_other(c.journal) && self.outgrows(c));
            return if outgrow { Others::ToSize } else { Others::Stay };
        }
        let (hits, drawn) = without.clean_without(but, self.ladders, s);
        let chances: Vec<f64> = hits.iter().map(|&hits| hits as f64 / drawn.max(1) as f64).collect();
        let ladder = Ladder { steps_mm: ladder_mm, chances: &chances[..ladder_mm.len()] };
        let prices = self.policy.prices.as_ref().map(|p| p.of(set));
        let Some(undersize_mm) = choose(&ladder, self.policy, prices).undersize_mm() else { return Others::None };
        let step = ladder_mm.iter().position(|&u| u == undersize_mm).unwrap_or(0);
        let chance = crate::Chance { hits: hits[step], draws: drawn };
        let told = self.specification.set(set).wear_limit_mm.is_some();
        if measured && !told && !damaged && self.is_little_worn(set, Round::ByTheBook, is_other) {
            return Others::LittleWorn { undersize_mm, chance };
        }
        Others::Grind { undersize_mm, chance }
    }

    /// Down to a thou, or a hundredth of a millimetre: nobody cuts under a deposit more closely.
    fn rounded_down(&self, mm: f64) -> f64 {
        let grain_mm = if self.unit == units::Unit::Inch { 0.0254 } else { 0.01 };
        (mm / grain_mm + 1e-9).floor() * grain_mm
    }
}
