//! On a free axis mains and pins share it, so they are chosen as a pair.

use crank::SetName;

use crate::Choice;
use crate::case::{Case, index};
use crate::verdict::{PairVerdict, SetVerdict};
use crate::words::{in_hundred, under};

impl Case<'_> {
    /// On a free axis the two sets share it, so they are chosen as a pair: of the pairs in which each set reaches the
    /// shop's confidence given that the other cleans up on the same axis, none shallower than what each needs alone,
    /// the one that takes off least in all. `None` where the question does not arise.
    pub(crate) fn choose_pair(&self, sets: &mut [SetVerdict], pairs: &[PairVerdict]) -> Option<(f64, f64)> {
        if self.measured.questions.geometry.is_held() {
            return None;
        }
        let [mains, pins] = sets else { return None };
        let (main, pin) = (mains.choice.undersize_mm()?, pins.choice.undersize_mm()?);
        let own = |set: &SetVerdict, undersize_mm: f64| {
            set.steps.iter().find(|s| s.undersize_mm == undersize_mm).map_or(0.0, |s| s.chance.share())
        };
        let together = |pair: &&PairVerdict| {
            let joint = pair.chance.share();
            let enough = |other: f64| joint >= self.policy.confidence * other;
            joint > 0.0 && enough(own(mains, pair.main_mm)) && enough(own(pins, pair.pin_mm))
        };
        let chosen = pairs
            .iter()
            .filter(|p| p.main_mm >= main && p.pin_mm >= pin && self.pair_permitted(p))
            .filter(together)
            .min_by(|a, b| (a.main_mm + a.pin_mm).total_cmp(&(b.main_mm + b.pin_mm)))
            .map(|p| (p.main_mm, p.pin_mm));
        match chosen {
            Some((main, pin)) => {
                let on_one_axis = pairs.iter().find(|p| (p.main_mm, p.pin_mm) == (main, pin));
                for (set, undersize_mm) in [(mains, main), (pins, pin)] {
                    if let Some(pair) = on_one_axis {
                        self.set_up_as_a_pair(set, pair, undersize_mm);
                    }
                    if set.choice != (Choice::Grind { undersize_mm }) {
                        set.reason = format!(
                            "Alone, {} But mains and pins share one axis, and together they need {} here.",
                            lower_first(&set.reason),
                            under(undersize_mm, self.unit)
                        );
                        set.choice = Choice::Grind { undersize_mm };
                    }
                }
            }
            None => {
                let end = if self.policy.build_up { Choice::BuildUp } else { Choice::Scrap };
                for set in [mains, pins] {
                    set.reason = format!(
                        "Alone, {} But no pair of undersizes leaves both sets {} on one axis.",
                        lower_first(&set.reason),
                        in_hundred(self.policy.confidence)
                    );
                    set.choice = end;
                }
            }
        }
        chosen
    }

    /// What is told for a set holds where the pair is set up: its chance at the chosen step, and what it rests on.
    fn set_up_as_a_pair(&self, set: &mut SetVerdict, pair: &PairVerdict, undersize_mm: f64) {
        set.set_up = Some(pair.set_up.clone());
        let s = index(set.set);
        let step_of = |s: usize, mm: f64| {
            let ladder_mm = self.specification.set(SetName::BOTH[s]).ladder_mm();
            ladder_mm.iter().position(|&step| step == mm)
        };
        let (Some(main), Some(pin)) = (step_of(0, pair.main_mm), step_of(1, pair.pin_mm)) else { return };
        if self.told.pairs[main][pin] == self.told.sets[s][[main, pin][s]] {
            return;
        }
        let Some(step) = set.steps.iter_mut().find(|step| step.undersize_mm == undersize_mm) else { return };
        step.set_up = Some(pair.set_up.clone());
        step.chance = self.counted.clean.chance(self.counted.clean.each[main][pin][s]);
        if let Some(middle_mm) = self.middle_room_mm(set.set, self.told.pairs[main][pin]) {
            let wanted_mm = self.ladders.wanted_mm[s][[main, pin][s]];
            step.middle_spare_mm =
                middle_mm + self.ladders.standard_mm()[s] - wanted_mm - self.policy.clean_up_stock_mm;
        }
        if set.choice == (Choice::Grind { undersize_mm }) {
            let reason = self.reason(set, &[], self.policy.prices.is_some());
            set.reason = reason;
        }
    }

    fn pair_permitted(&self, pair: &PairVerdict) -> bool {
        let reaches = |set: SetName, undersize_mm: f64| {
            self.specification.set(set).ladder_mm()[..self.permitted(set)].contains(&undersize_mm)
        };
        reaches(SetName::Main, pair.main_mm) && reaches(SetName::Pin, pair.pin_mm)
    }
}

/// A sentence that goes on after another word.
fn lower_first(sentence: &str) -> String {
    let mut chars = sentence.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().collect::<String>() + chars.as_str())
}
