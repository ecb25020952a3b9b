//! What stands on the sheet for the grinder.

use job::heading::Heading;
use paper::documents::{Gravity, GrinderJournal, GrinderOffset, GrinderSet, GrinderSheet, GrinderStage, Headline};

use super::{NotPrinted, Papers, moment};
use job::aims::Aims;
use job::at_the_machine::{AtTheMachine, SetWords};

impl Papers<'_> {
    pub(super) fn grinder(&self) -> Result<GrinderSheet, NotPrinted> {
        let job = self.job();
        let Some(sheet) = job.sheets.last() else {
            return Err(NotPrinted::nothing_yet(
                "No sheet for the grinder was issued yet.",
                "Decide the sizes under Verdict and issue it there.",
            ));
        };
        let aims = Aims::of(self.card)?;
        let told = AtTheMachine::of(job, &aims, &self.stops(&aims.sheet), self.words);
        Ok(GrinderSheet {
            about: self.about(),
            headline: told.headline.map(|heading| {
                let gravity = match heading {
                    Heading::Crack(_) => Gravity::Crack,
                    Heading::Scrap(_) => Gravity::Scrap,
                    Heading::Settle | Heading::LookAgain(_) | Heading::SettleBearings => Gravity::Stop,
                };
                Headline { says: self.words.say(&heading), gravity }
            }),
            stops: told.stops,
            code: sheet.code.clone(),
            number: job.sheets.len(),
            replaces: sheet.supersedes.clone(),
            issued_by: sheet.who.clone(),
            issued: moment(&sheet.when),
            measured_by: self.measured_by(),
            unit: format!("{}, on the diameter", aims.unit().plural()),
            sets: told.sets.into_iter().map(grinder_set).collect(),
            found: told.found,
            offsets: told
                .offsets
                .into_iter()
                .map(|one| GrinderOffset { name: one.name, shift: one.shift, dial: one.dial, high: one.high })
                .collect(),
            notes: told.set_up,
            changed: told.changed,
        })
    }
}

fn grinder_set(set: SetWords) -> GrinderSet {
    GrinderSet {
        name: set.name,
        choice: set.choice,
        grind_to: set.grind_to,
        other_unit: set.grind_to_other,
        window: set.window,
        finished: set.finished,
        overruled: set.overruled,
        says: set.says,
        stages: set
            .stages
            .into_iter()
            .map(|stage| GrinderStage {
                name: stage.name.to_owned(),
                target: stage.target,
                window: stage.window,
                as_read: stage.as_read,
            })
            .collect(),
        journals: set
            .journals
            .into_iter()
            .map(|journal| GrinderJournal { name: journal.name, largest: journal.largest, take_off: journal.take_off })
            .collect(),
    }
}
