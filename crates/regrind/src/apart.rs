//! One journal that cannot go with the others of its set: what the others need, and what that one needs.

use crate::case::{Case, index};
use crate::choice::{Choice, Ladder, choose};
use crate::verdict::{OneApart, SetVerdict};

/// A share of the room that is looked at where the shop's confidence leaves none.
const LEAST_SHARE: f64 = 0.001;

impl Case<'_> {
    /// Where no undersize cleans the whole set up with the shop's confidence: the journal without which one would.
    pub(crate) fn apart(&self, verdict: &SetVerdict) -> Option<OneApart> {
        if !matches!(verdict.choice, Choice::Scrap | Choice::BuildUp) || !self.is_modelled(verdict.set) {
            return None;
        }
        if self.findings.damages.iter().any(crank::Damage::is_crack) {
            return None;
        }
        let set = verdict.set;
        let s = index(set);
        let j = self.model.most_often_worst(set, self.counted)?;
        let permitted = self.permitted(set);
        let ladder_mm = self.specification.set(set).ladder_mm();
        let looked_at = self.model.without(set, j, self.ladders, self.policy.draws);
        let chances: Vec<f64> = looked_at.others.iter().map(|&hits| looked_at.chance(hits).share()).collect();
        let ladder = Ladder { steps_mm: &ladder_mm[..permitted], chances: &chances[..permitted] };
        let others_mm = choose(&ladder, self.policy, self.policy.prices.as_ref().map(|p| p.of(set))).undersize_mm()?;
        let step = ladder_mm.iter().position(|&u| u == others_mm)?;
        // The radius that is sound everywhere with the shop's confidence, less what must come off it.
        let mut radii_mm = looked_at.radii_mm.clone();
        radii_mm.sort_by(f64::total_cmp);
        let share = (1.0 - self.policy.confidence).max(LEAST_SHARE);
        let sound_mm = radii_mm.get((share * radii_mm.len() as f64) as usize)?;
        let under_deposit_mm = self.rounded_down(2.0 * (sound_mm - self.policy.clean_up_stock_mm));
        let ground_mm = 2.0 * self.ladders.wanted_mm[s][step];
        let back_to_mm = ground_mm + self.policy.finish_stock_mm;
        Some(OneApart {
            journal: self.specification.journals().nth(j)?,
            others: Some((others_mm, looked_at.chance(looked_at.others[step]))),
            under_deposit_mm,
            thickness_mm: (back_to_mm - under_deposit_mm) / 2.0,
            back_to_mm,
        })
    }

    /// Down to a thou, or a hundredth of a millimetre: nobody cuts under a deposit more closely.
    fn rounded_down(&self, mm: f64) -> f64 {
        let grain_mm = if self.unit == units::Unit::Inch { 0.0254 } else { 0.01 };
        (mm / grain_mm + 1e-9).floor() * grain_mm
    }
}
