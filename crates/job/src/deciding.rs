//! Deciding what to do with each set: what can be chosen, what must be answered, what holds the sheet for the grinder up.

use crank::SetName;
use regrind::words::in_hundred;
use regrind::{Choice, SetVerdict, Verdict};
use sha2::{Digest, Sha256};
use sheet::Sheet;
use shop::{Decided, EntryId, Job};
use units::Unit;

use crate::judged::counts;
use crate::nouns::{choice_of, choice_text, choice_words, journal_of};
use crate::objection::Objection;
use crate::stops::{Matter, Stop, Stops};
use say::Words;

/// Why somebody may choose other than the rule: the word of the form, and what stands in the record.
pub const REASONS: [(&str, &str); 3] =
    [("customer", "the customer wants it"), ("bearings", "bearings in stock"), ("grinder", "the grinder’s advice")];

/// Whether to choose this for a set takes a reason in somebody's own words, because something stands against it.
pub fn must_answer(job: &Job, sheet: &Sheet, words: Words, set: SetName, choice: Choice) -> bool {
    let works = !matches!(choice, Choice::Scrap | Choice::BuildUp);
    let stops = Stops::of(job, sheet, None, words);
    works && stops.holding(set).any(|stop| stop.matter != Matter::Crack)
}

/// The decision on a set, if it was taken.
pub fn decided(job: &Job, set: SetName) -> Option<&Decided> {
    job.decisions.iter().find(|decided| decided.set == set.word())
}

/// Everything that can be decided for a set: as the log has it, and in words.
pub fn choices(set: &SetVerdict, unit: Unit) -> Vec<(String, String)> {
    let whole = |choice: Choice, words: &str| (choice_text(choice, unit), words.to_owned());
    let steps = set.steps.iter().filter(|step| step.permitted && step.undersize_mm >= set.ground_to.undersize_mm);
    let mut all = vec![whole(Choice::LeaveAlone, "Leave alone"), whole(Choice::PolishOnly, "Polish only")];
    all.extend(steps.map(|step| {
        let choice = choice_text(Choice::Grind { undersize_mm: step.undersize_mm }, unit);
        let words = format!("Grind to {}, {}", choice_words(&choice, unit), in_hundred(step.chance.share()));
        (choice, words)
    }));
    all.push(whole(Choice::BuildUp, "Build up first"));
    all.push(whole(Choice::Scrap, "Do not grind; the crank is done"));
    all
}

/// The sets that were measured, mains first.
pub fn measured(job: &Job) -> impl Iterator<Item = SetName> + '_ {
    SetName::BOTH.into_iter().filter(|set| {
        job.rows.iter().any(|row| {
            let whose = journal_of(&row.row).is_some_and(|journal| journal.set == *set);
            whose && counts(row) && matches!(row.key, "reading" | "trace")
        })
    })
}

/// What must be done before a sheet can be issued, or the job go on without one.
pub fn held_up(job: &Job, sheet: &Sheet, verdict: &Verdict, words: Words) -> Vec<Objection> {
    let mut held = Vec::new();
    for stop in Stops::of(job, sheet, None, words).all.into_iter().filter(Stop::holds) {
        held.push(match (stop.matter, stop.journal) {
            (Matter::Crack, Some(journal)) => Objection::Crack(journal),
            (Matter::Doubtful, _) => Objection::Doubtful(stop.says),
            _ => Objection::Stands(stop.says),
        });
    }
    for set in measured(job) {
        let decided = decided(job, set);
        // What the verdict leaves open takes a reason, however long ago the set was decided.
        let open = verdict.sets.iter().find(|known| known.set == set).and_then(|known| known.undecided);
        if let Some((why, _)) = open.zip(decided.filter(|decided| decided.overruled.is_none())) {
            held.push(Objection::LeftOpen(set, why));
            continue;
        }
        match decided.map(|decided| choice_of(&decided.choice, sheet.unit)) {
            None | Some(None | Some(Choice::NotDecided)) => held.push(Objection::NotDecided(set)),
            Some(Some(Choice::BuildUp)) => held.push(Objection::BuildUpBeforeGrinding(set)),
            Some(Some(Choice::Scrap)) => held.push(Objection::GivenUpNoSheet(set)),
            Some(_) => {}
        }
    }
    if measured(job).next().is_none() {
        held.push(Objection::NothingMeasured);
    }
    held
}

/// A code for a sheet: letter, figure, letter, without those that look like others, and not used in this job before. The
/// same name of an entry gives the same code.
pub fn code(id: EntryId, job: &Job) -> Option<String> {
    const LETTERS: &[u8] = b"ABCDEFGHJKMNPQRTUVWXY";
    const FIGURES: &[u8] = b"346789";
    let pick = |from: &'static [u8], by: u8| from.get(usize::from(by) % from.len()).map(|byte| char::from(*byte));
    (0..1000_u32).find_map(|attempt| {
        let hash = Sha256::digest(format!("{id} {attempt}"));
        let [first, second, third, ..] = hash[..] else { return None };
        let code: String = [pick(LETTERS, first)?, pick(FIGURES, second)?, pick(LETTERS, third)?].into_iter().collect();
        job.sheets.iter().all(|sheet| sheet.code != code).then_some(code)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use shop::{IssuedSheet, Value, fold};

    /// With 2646 codes to choose from, 400 of them in one job must not meet.
    #[test]
    fn a_code_is_not_given_twice_in_one_job_and_has_no_look_alikes() {
        let mut job = fold(&[]);
        for n in 0..400_u128 {
            let code = code(EntryId::from_bits(n), &job).unwrap();
            assert_eq!(code.len(), 3);
            assert!(!code.chars().any(|c| "0O1IL2Z5S".contains(c)), "{code}");
            assert!(job.sheets.iter().all(|sheet| sheet.code != code), "{code}");
            job.sheets.push(IssuedSheet {
                code,
                supersedes: None,
                plan: Value::Table(Vec::new()),
                who: String::new(),
                when: String::new(),
            });
        }
        assert_eq!(code(EntryId::from_bits(7), &fold(&[])), code(EntryId::from_bits(7), &fold(&[])));
    }
}
