//! What stands on the label for the box.

use paper::documents::{BoxLabel, LabelSet};
use regrind::Choice;
use regrind::words::undersize_figure;

use super::{NotPrinted, Papers, moment};
use job::aims::Aims;
use job::at_the_machine::{choice_words, ended};

impl Papers<'_> {
    pub(super) fn label(&self) -> Result<BoxLabel, NotPrinted> {
        if self.job().decisions.is_empty() {
            return Err(NotPrinted::nothing_yet(
                "Nothing is decided yet, so the label has no sizes to show.",
                "Decide the sizes under Verdict.",
            ));
        }
        let aims = Aims::of(self.card)?;
        let unit = aims.unit();
        let stops = self.stops(&aims.sheet);
        let held = stops.all.iter().any(|stop| stop.holds()).then(|| stops.heading()).flatten();
        let never = match (ended(&aims, &stops), held) {
            (Some(never), _) => Some((never, "Keep it apart from the cranks that are to be used.")),
            (None, Some(held)) => Some((held, "Nothing is to be ground or fitted until that is settled.")),
            (None, None) => None,
        };
        if let Some((never, advice)) = never {
            let advice = advice.to_owned();
            return Ok(BoxLabel {
                about: self.about(),
                never: Some(self.words.say(&never)),
                advice,
                ..BoxLabel::default()
            });
        }
        let mut stamp = Vec::new();
        for aim in &aims.sets {
            match aim.choice {
                Some(Choice::Grind { undersize_mm }) if undersize_mm > 0.0 => stamp.push(format!(
                    "{} {} {unit}",
                    self.words.set(aim.set).to_uppercase(),
                    undersize_figure(undersize_mm, unit)
                )),
                Some(Choice::Grind { .. }) => {
                    stamp.push(format!("{} standard", self.words.set(aim.set).to_uppercase()));
                }
                _ => {}
            }
        }
        let state = match &self.job().signed_off {
            Some(sign) => format!("Signed off by {}, {}", sign.who, moment(&sign.when)),
            None => "■ Not signed off: not to be fitted".to_owned(),
        };
        Ok(BoxLabel {
            about: self.about(),
            never: None,
            sets: aims
                .sets
                .iter()
                .filter(|aim| aim.choice.is_some())
                .map(|aim| LabelSet {
                    name: self.words.set(aim.set),
                    undersize: choice_words(aim.choice, unit),
                    range: format!("{} {unit}", aims.band(aim.limits)),
                })
                .collect(),
            stamp: stamp.join(", "),
            state,
            advice:
                "Keep it oiled, upright on its flange or on two blocks. Clean every oilway before fitting; measure the \
                     shells, whatever the box says."
                    .to_owned(),
            code: self.job().sheets.last().map(|sheet| sheet.code.clone()).unwrap_or_default(),
        })
    }
}
