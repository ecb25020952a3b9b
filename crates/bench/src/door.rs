//! The one door to the record: whatever a page, a form or a program wants written to a job comes through here, and the rules
//! of the job are asked before it is.
//!
//! The rules are asked of the job as its writer saw it. Where somebody else wrote meanwhile, the record refuses the place and
//! nothing is written, so what was asked and what is written on cannot be two states.

use std::sync::Arc;
use std::time::Duration;

use axum::http::StatusCode;
use job::card::NoBook;
use job::may::{self, has_a_rule, may, needs_verdict};
use job::taking::NotTaken;
use job::{Case, JobCard, Objection, Place, Refusal};
use regrind::Verdict;
use say::Words;
use sheet::Sheet;
use shop::{Appended, Draft, JobNumber, StoreError, WorkedOut};

use crate::desk::{Desk, Written};
use crate::form::NotWritten;
use crate::judged::{Judged, Judgement};
use crate::trouble::{Fault, Trouble};

/// What somebody who decides or issues waits for the verdict; shorter than any answer may take.
const PATIENCE: Duration = Duration::from_secs(40);
/// The most entries that one request may bring. A form writes a few; a whole sheet comes in as one.
pub(crate) const MOST_ENTRIES: usize = 1_000;
/// Of these, the most that have a rule of their own: the job is added up for each, and no work has twenty acts at once.
const MOST_ACTS: usize = 20;

/// Why nothing was written.
#[derive(Clone, Debug)]
pub(crate) enum NotAppended {
    /// A rule of the job stands against it.
    Refused(Refused),
    /// The record says why.
    Store(StoreError),
}

impl From<Refused> for NotAppended {
    fn from(refused: Refused) -> NotAppended {
        NotAppended::Refused(refused)
    }
}

/// What a rule of the job says, in the words of its shop.
#[derive(Clone, Debug)]
pub(crate) struct Refused {
    refusal: Refusal,
    words: Words,
}

impl Refused {
    /// In these words.
    pub(crate) const fn in_words(refusal: Refusal, words: Words) -> Refused {
        Refused { refusal, words }
    }

    /// Whether what was asked for is itself at fault.
    pub(crate) fn is_about_what_was_asked(&self) -> bool {
        self.refusal.is_about_what_was_asked()
    }

    /// What happened, in a sentence or two.
    pub(crate) fn happened(&self) -> String {
        self.refusal.happened(self.words)
    }

    /// What stands against it, beside the fields of a form.
    pub(crate) fn faults(&self) -> Vec<Fault> {
        self.refusal.against.iter().map(|one| Fault::new(&field(&one.place), one.says(self.words))).collect()
    }
}

impl From<StoreError> for NotAppended {
    fn from(error: StoreError) -> NotAppended {
        NotAppended::Store(error)
    }
}

/// The verdict that a rule asks for, as far as it is worked out.
enum Known {
    Nothing,
    Ours(Arc<Judged>),
    Anew(Box<Judged>),
}

impl Known {
    fn verdict(&self) -> Option<&(Sheet, Verdict)> {
        match self {
            Known::Nothing => None,
            Known::Ours(judged) => judged.answer.as_ref().ok(),
            Known::Anew(judged) => judged.answer.as_ref().ok(),
        }
    }
}

impl Desk {
    /// Writes entries to a job, all of them or none, where the rules of the job let each be written after the ones before.
    pub(crate) async fn append(&self, number: JobNumber, seen: i64, drafts: &[Draft]) -> Result<Appended, NotAppended> {
        bounded(drafts.len(), drafts.iter().filter(|draft| has_a_rule(&draft.kind)).count())?;
        let held = self.job(number).await?;
        let fresh: Vec<&Draft> = drafts.iter().filter(|draft| !held.has(draft.id)).collect();
        // What was sent before is there already, and what was seen elsewhere is not this job: the record says so.
        if !fresh.is_empty() && seen > held.job.seq {
            return Err(StoreError::SeenTooMuch { job: number, last: held.job.seq }.into());
        }
        if !fresh.is_empty() && seen == held.job.seq {
            self.ask(&held, &fresh).await?;
        }
        let _turn = self.turns.of(number).await;
        Ok(self.store.append(number, seen, drafts).await?)
    }

    /// Writes what readings come to, in the turn that their writer has at the job. Whether the job stays readable with each was
    /// asked when it was looked at beside the others, of the job as it was `before`; no other rule is about readings.
    pub(crate) async fn append_readings(
        &self,
        before: &JobCard,
        drafts: &[Draft],
        after: JobCard,
    ) -> Result<Written, StoreError> {
        let (number, seen) = (before.job.number, before.job.seq);
        let known = WorkedOut { before: Arc::clone(&before.job), after: Arc::clone(&after.job) };
        Ok(match self.store.append_worked_out(number, drafts, known).await? {
            Appended::Written { .. } => Written::Here(self.written(number, seen, after).await?),
            Appended::Repeated { .. } => Written::Here(self.job(number).await?),
            Appended::Behind { .. } => Written::Behind,
        })
    }

    /// Whether the rules of the job let these be written, one after another.
    async fn ask(&self, seen: &JobCard, drafts: &[&Draft]) -> Result<(), NotAppended> {
        let shop = self.shop().await?;
        let words = Words::of_setting(shop.setting("words"));
        let refused = |refusal| Refused::in_words(refusal, words);
        // Rows come by the thousand, so the job is added up only before an act that has a rule of its own, and at the end.
        let mut later: Option<JobCard> = None;
        let mut waiting: Vec<Draft> = Vec::new();
        let mut to_read = false;
        for draft in drafts {
            if has_a_rule(&draft.kind) {
                if !waiting.is_empty() {
                    // Others are answered in between.
                    tokio::task::yield_now().await;
                    later = Some(later.as_ref().unwrap_or(seen).with(&std::mem::take(&mut waiting)));
                }
                let now = later.as_ref().unwrap_or(seen);
                let known = if needs_verdict(&draft.kind) { self.known(seen, now).await } else { Known::Nothing };
                may(&Case { verdict: known.verdict(), ..now.case(&shop) }, draft).map_err(refused)?;
            } else {
                to_read = true;
            }
            waiting.push((*draft).clone());
        }
        if to_read {
            may::stay_readable(seen, &later.as_ref().unwrap_or(seen).with(&waiting)).map_err(refused)?;
        }
        Ok(())
    }

    /// The verdict on a job as it would stand: the one at hand, where its sheet is the same.
    async fn known(&self, seen: &JobCard, now: &JobCard) -> Known {
        if now.job.document == seen.job.document {
            return match self.judges.judge(seen, PATIENCE).await {
                Judgement::Ready(judged) => Known::Ours(judged),
                Judgement::NothingYet | Judgement::Working { .. } => Known::Nothing,
            };
        }
        let judged = self.judges.judge_once(now.to_judge(), PATIENCE).await;
        judged.map_or(Known::Nothing, |judged| Known::Anew(Box::new(judged)))
    }
}

/// Whether so many entries may come at once.
pub(crate) fn bounded(entries: usize, acts: usize) -> Result<(), StoreError> {
    let says = if entries > MOST_ENTRIES {
        format!("{entries} entries at once; {MOST_ENTRIES} are taken.")
    } else if acts > MOST_ACTS {
        format!("{acts} decisions, sheets, treatments and signatures at once; {MOST_ACTS} are taken.")
    } else {
        return Ok(());
    };
    let advice = "Send them in parts.".to_owned();
    Err(StoreError::Refused(shop::Refusal { field: "entries".to_owned(), says, advice }))
}

/// The address where something is put right.
pub(crate) fn address(job: JobNumber, place: &Place) -> String {
    match place {
        Place::Field(_) => String::new(),
        Place::Particulars => format!("/jobs/{job}/particulars"),
        Place::Measure => format!("/jobs/{job}/measure"),
        Place::Verdict => format!("/jobs/{job}/verdict"),
        Place::CleanedUp => format!("/jobs/{job}/grind#cleaned"),
        Place::Treatment => format!("/jobs/{job}/treatment"),
        Place::FinalCheck => format!("/jobs/{job}/final"),
        Place::Spot(spot) => format!("?spot={spot}"),
        Place::Roughness => "#roughness".to_owned(),
        Place::Eye(item) => format!("#eye-{}", item.replace(' ', "-")),
    }
}

/// What is at fault, by the name of its field.
fn field(place: &Place) -> String {
    match place {
        Place::Field(name) => (*name).to_owned(),
        Place::Spot(spot) => spot.to_string(),
        Place::Eye(item) => (*item).to_owned(),
        Place::Roughness => "roughness".to_owned(),
        Place::CleanedUp => "cleaned_up".to_owned(),
        Place::Particulars => "particulars".to_owned(),
        Place::Measure => "readings".to_owned(),
        Place::Verdict => "verdict".to_owned(),
        Place::Treatment => "treatment".to_owned(),
        Place::FinalCheck => "final_check".to_owned(),
    }
}

impl From<Refused> for Trouble {
    fn from(refused: Refused) -> Trouble {
        let status = if refused.is_about_what_was_asked() || refused.refusal.headline.is_some() {
            StatusCode::UNPROCESSABLE_ENTITY
        } else {
            StatusCode::CONFLICT
        };
        let mut trouble = Trouble::new(status, refused.happened(), refused.refusal.advice(refused.words));
        trouble.told.fields = refused.faults();
        trouble
    }
}

impl From<job::aims::Unreadable> for Trouble {
    fn from(unreadable: job::aims::Unreadable) -> Trouble {
        Trouble::new(StatusCode::CONFLICT, unreadable.to_string(), "Put it right under Measure or Particulars.")
    }
}

impl From<NoBook> for Trouble {
    fn from(no: NoBook) -> Trouble {
        Trouble::new(StatusCode::CONFLICT, no.to_string(), "Put it right under Particulars.")
    }
}

/// Why a reading is not taken, in the words of a shop.
pub(crate) fn not_taken(not: NotTaken, words: Words) -> Trouble {
    match not {
        NotTaken::NoSuchJournal(journal) => {
            Trouble::not_found(words.say(&Objection::HasNo(journal)), "Load the page again.")
        }
        NotTaken::NoBook(no) => no.into(),
        NotTaken::Refused(refusal) => Refused::in_words(refusal, words).into(),
    }
}

impl From<NotAppended> for Trouble {
    fn from(not: NotAppended) -> Trouble {
        match not {
            NotAppended::Refused(refusal) => refusal.into(),
            NotAppended::Store(error) => error.into(),
        }
    }
}

impl From<NotAppended> for NotWritten {
    fn from(not: NotAppended) -> NotWritten {
        match not {
            NotAppended::Refused(refusal) if refusal.is_about_what_was_asked() => {
                NotWritten::Again(StatusCode::UNPROCESSABLE_ENTITY, refusal.faults())
            }
            NotAppended::Refused(refusal) => NotWritten::Trouble(refusal.into()),
            NotAppended::Store(error) => error.into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    fn files(folder: &Path, all: &mut Vec<std::path::PathBuf>) {
        for entry in std::fs::read_dir(folder).expect("a folder of sources").flatten() {
            let path = entry.path();
            if path.is_dir() {
                files(&path, all);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                all.push(path);
            }
        }
    }

    /// Nobody writes to a job past the rules.
    #[test]
    fn there_is_one_door_to_the_record() {
        let mut all = Vec::new();
        files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut all);
        assert!(all.len() > 50, "the sources are where they were");
        for path in all.iter().filter(|path| !path.ends_with("door.rs")) {
            let text = std::fs::read_to_string(path).expect("a source");
            let text = text.split("#[cfg(test)]").next().unwrap_or_default();
            for past in ["store.append(", "store.append_keeping("] {
                assert!(!text.contains(past), "{} writes past the rules of the job", path.display());
            }
        }
    }
}
