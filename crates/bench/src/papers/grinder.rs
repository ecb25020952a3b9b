//! What stands on the sheet for the grinder.

use paper::documents::{GrinderJournal, GrinderSet, GrinderSheet, GrinderStage};
use units::{Unit, show_mm};

use super::stops::Stop;
use super::{NotPrinted, Papers, moment};
use crate::aims::{Aims, SetAim, stage_name};
use crate::pages::grind::{choice_words, notes};
use crate::plan_sheet::PlanSheet;

impl Papers<'_> {
    pub(super) fn grinder(&self) -> Result<GrinderSheet, NotPrinted> {
        let job = self.job();
        let Some(sheet) = job.sheets.last() else {
            return Err(NotPrinted::nothing_yet(
                "No sheet for the grinder was issued yet.",
                "Decide the sizes under Verdict and issue it there.",
            ));
        };
        let aims = Aims::of(job)?;
        let now = PlanSheet::of(job, &aims.sheet);
        let changed = aims.plan.as_ref().map(|plan| plan.changed(&now)).unwrap_or_default();
        let stops = self.stops(&aims.sheet);
        Ok(GrinderSheet {
            about: self.about(),
            headline: stops.headline(self.words),
            stops: stops.all.iter().map(Stop::in_full).collect(),
            code: sheet.code.clone(),
            number: job.sheets.len(),
            replaces: sheet.supersedes.clone(),
            issued_by: sheet.who.clone(),
            issued: moment(&sheet.when),
            measured_by: self.measured_by(),
            unit: format!("{}, on the diameter", aims.unit().plural()),
            sets: aims.sets.iter().filter(|aim| aim.choice.is_some()).map(|aim| self.grinder_set(&aims, aim)).collect(),
            notes: notes(job, &aims, self.words),
            changed: changed.iter().map(|says| self.words.put(says)).collect(),
        })
    }

    fn grinder_set(&self, aims: &Aims, aim: &SetAim) -> GrinderSet {
        let unit = aims.unit();
        let wheel = aim.off_the_wheel();
        let micrometers = aims.micrometers_for(aim.set);
        let lost = wheel.is_some_and(regrind::StageSize::is_lost);
        let journals = aims.plan.as_ref().and_then(|plan| plan.set(aim.set)).map(|set| set.journals.as_slice());
        let decided = self.job().decisions.iter().find(|decided| decided.set == aim.set.word());
        let overruled = decided.and_then(|decided| Some((decided, decided.overruled.as_ref()?)));
        GrinderSet {
            name: self.words.set(aim.set),
            choice: choice_words(aim.choice, unit),
            grind_to: wheel.map(|stage| aims.exact(stage.target_mm)),
            window: match wheel {
                Some(_) if lost => "no window left".to_owned(),
                Some(stage) => aims.band(stage.window),
                None => String::new(),
            },
            other_unit: wheel.map(|stage| other_unit(stage.target_mm, unit)).unwrap_or_default(),
            finished: format!("Finished {} {unit}.", aims.band(aim.limits)),
            overruled: overruled.map(|(decided, why)| format!("Chosen by {}: {why}.", decided.who)).unwrap_or_default(),
            says: match wheel {
                Some(_) if lost => {
                    "■ The growth in treatment varies too much for these limits. Ask before grinding.".to_owned()
                }
                Some(stage) => {
                    format!(
                        "Off the wheel the micrometer shows: {}",
                        gauge::as_read(&micrometers, stage.target_mm, unit)
                    )
                }
                None => String::new(),
            },
            stages: aim
                .stages
                .iter()
                .map(|stage| GrinderStage {
                    name: stage_name(stage.stage).to_owned(),
                    target: aims.exact(stage.target_mm),
                    window: if stage.is_lost() { "no window left".to_owned() } else { aims.band(stage.window) },
                    as_read: gauge::as_read(&micrometers, stage.target_mm, unit),
                })
                .collect(),
            journals: journals
                .unwrap_or_default()
                .iter()
                .map(|journal| GrinderJournal {
                    name: self.words.journal(journal.journal),
                    smallest: journal.smallest.clone(),
                    take_off: journal.take_off.clone().unwrap_or_else(|| "nothing".to_owned()),
                })
                .collect(),
        }
    }
}

/// A size in the unit that the sheet is not in, marked as converted.
fn other_unit(mm: f64, unit: Unit) -> String {
    let other = match unit {
        Unit::Inch => Unit::Millimetre,
        Unit::Millimetre => Unit::Inch,
    };
    format!("≈ {} {other}", show_mm(mm, other, other.usual_decimals()))
}
