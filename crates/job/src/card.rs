//! What is known of one job: its log, what that adds up to, the book, the micrometers and the sheet as read.

use std::fmt;
use std::sync::{Arc, OnceLock};

use crank::{PrintedSpecification, Specification};
use gauge::Instrument;
use sheet::{Problem, Sheet};
use shop::{
    Decided, Draft, Entry, EntryId, IssuedSheet, Job, JobNumber, NotBroughtIn, Shop, Stage, Value, entry_of, fold,
    unrecorded,
};
use units::Unit;

use crate::judged::{Judged, judge_read, read};
use crate::may::Case;
use crate::nouns::choice_text;
use crate::plan_sheet::PlanSheet;

/// The sheet of a job as read, once somebody asked for it.
type Read = Arc<OnceLock<Result<Sheet, Vec<Problem>>>>;

/// What is known of one job. It is made whole and not changed: what is written makes another.
#[derive(Debug)]
pub struct JobCard {
    /// Its log; empty for a sheet that is in no record.
    pub entries: Vec<Entry>,
    /// What it adds up to.
    pub job: Arc<Job>,
    /// What the maker's book says of this crank, as it stands in the job; or what is wrong with it.
    pub book: Result<Specification, Vec<String>>,
    /// The micrometers of this job, the shop's usual one first.
    pub micrometers: Vec<Instrument>,
    sheet: Read,
}

/// The book of a job cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoBook {
    /// The job.
    pub job: JobNumber,
    /// What is wrong with it, in whole sentences.
    pub faults: Vec<String>,
}

impl fmt::Display for NoBook {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "The specification in job {} cannot be used: {}", self.job, self.faults.join(" "))
    }
}

impl std::error::Error for NoBook {}

impl JobCard {
    /// What a log adds up to.
    pub fn of(entries: Vec<Entry>) -> JobCard {
        let job = fold(&entries);
        JobCard::made(entries, job)
    }

    /// A sheet that is in no record: nobody did anything to it.
    ///
    /// # Errors
    /// [`NotBroughtIn`] where its rows stand elsewhere.
    pub fn of_sheet(sheet: Value) -> Result<JobCard, NotBroughtIn> {
        Ok(JobCard::made(Vec::new(), unrecorded(sheet)?))
    }

    /// The job as it stood, by an earlier part of its log.
    pub fn as_it_was(&self, entries: Vec<Entry>, job: Job) -> JobCard {
        self.follow(entries, job)
    }

    fn made(entries: Vec<Entry>, job: Job) -> JobCard {
        JobCard {
            book: book_of(&job),
            micrometers: micrometers_of(&job),
            entries,
            job: Arc::new(job),
            sheet: Read::default(),
        }
    }

    /// The same job with another log: what the log does not change is not read again.
    fn follow(&self, entries: Vec<Entry>, job: Job) -> JobCard {
        let same = |key: &str| job.document.get(key) == self.job.document.get(key);
        let book = if same("specification") { self.book.clone() } else { book_of(&job) };
        let micrometers =
            if same("units") && same("instrument") { self.micrometers.clone() } else { micrometers_of(&job) };
        let sheet = if job.document == self.job.document { Arc::clone(&self.sheet) } else { Read::default() };
        JobCard { book, micrometers, entries, job: Arc::new(job), sheet }
    }

    /// The job as it would stand with these lines.
    pub fn with(&self, drafts: &[Draft]) -> JobCard {
        let mut entries = self.entries.clone();
        for draft in drafts {
            let seq = entries.last().map_or(1, |entry| entry.seq + 1);
            entries.push(entry_of(draft, self.job.number, seq, &draft.when));
        }
        let job = fold(&entries);
        self.follow(entries, job)
    }

    /// The job with what others, or another program, wrote since.
    pub fn with_entries(&self, more: Vec<Entry>) -> JobCard {
        let mut entries = self.entries.clone();
        entries.extend(more);
        let job = fold(&entries);
        self.follow(entries, job)
    }

    /// The job as it would stand without some of its lines.
    pub fn without(&self, left_out: impl Fn(&Entry) -> bool) -> JobCard {
        let entries: Vec<Entry> = self.entries.iter().filter(|entry| !left_out(entry)).cloned().collect();
        let job = fold(&entries);
        self.follow(entries, job)
    }

    /// This card, for lines that are written now: `written` is how the record has them. Nothing where it has others.
    pub fn as_written(mut self, written: Vec<Entry>) -> Option<JobCard> {
        let before = self.entries.len().checked_sub(written.len())?;
        let same = |(ours, theirs): (&Entry, &Entry)| (ours.id, ours.seq) == (theirs.id, theirs.seq);
        if !self.entries.get(before..)?.iter().zip(&written).all(same) {
            return None;
        }
        self.entries.truncate(before);
        self.entries.extend(written);
        Some(self)
    }

    /// The sheet as the reader of sheets has it, or what is wrong with it. It is read once.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn sheet(&self) -> Result<&Sheet, &[Problem]> {
        self.sheet.get_or_init(|| read(&self.job)).as_ref().map_err(Vec::as_slice)
    }

    /// What judging it takes, to be taken elsewhere.
    pub fn to_judge(&self) -> ToJudge {
        ToJudge { job: Arc::clone(&self.job), sheet: Arc::clone(&self.sheet) }
    }

    /// The book as printed, with what no verdict needs; nothing where it cannot be read.
    pub fn printed(&self) -> Option<PrintedSpecification> {
        let told = self.job.document.get("specification").filter(|told| matches!(told, Value::Table(_)))?;
        sheet::read_specification("the specification", &told.to_json()).ok().map(|(printed, _)| printed)
    }

    /// The job as its rules look at it, without a verdict.
    pub fn case<'a>(&'a self, shop: &'a Shop) -> Case<'a> {
        Case { card: self, shop, verdict: None }
    }

    /// Whether an entry of this name is written: its form was sent before.
    pub fn has(&self, id: EntryId) -> bool {
        self.entries.iter().any(|entry| entry.id == id)
    }

    /// The unit of every bare size in this job.
    pub fn unit(&self) -> Unit {
        unit_of(&self.job)
    }

    /// A micrometer of this job by its name; the shop's usual one where none is named.
    pub fn micrometer(&self, name: Option<&str>) -> Option<&Instrument> {
        match name {
            Some(name) => self.micrometers.iter().skip(1).find(|known| known.name == name),
            None => self.micrometers.first(),
        }
    }

    /// The book, or why there is none.
    ///
    /// # Errors
    /// [`NoBook`].
    pub fn book(&self) -> Result<&Specification, NoBook> {
        self.book.as_ref().map_err(|faults| NoBook { job: self.job.number, faults: faults.clone() })
    }

    /// A sheet in no record with each set decided by the rule, and the sizes that follow: as somebody would decide it who
    /// has nothing but the readings.
    pub fn decided_by_the_rule(self, judged: &Judged) -> JobCard {
        let Ok((sheet, verdict)) = &judged.answer else { return self };
        let mut job = Arc::unwrap_or_clone(self.job);
        job.decisions = (1_i64..)
            .zip(&verdict.sets)
            .map(|(nth, set)| Decided {
                entry: EntryId::from_bits(u128::from(nth.unsigned_abs())),
                seq: nth,
                set: set.set.word().to_owned(),
                choice: choice_text(set.choice, sheet.unit),
                overruled: None,
                verdict: String::new(),
                who: String::new(),
                when: String::new(),
            })
            .collect();
        let plan = PlanSheet::of(&job, sheet).to_value();
        job.sheets =
            vec![IssuedSheet { code: String::new(), supersedes: None, plan, who: String::new(), when: String::new() }];
        job.stage = Stage::AtTheGrinder;
        JobCard { job: Arc::new(job), ..self }
    }
}

/// A job and its sheet, on their way to be judged.
#[derive(Clone, Debug)]
pub struct ToJudge {
    /// The job.
    pub job: Arc<Job>,
    sheet: Read,
}

impl ToJudge {
    /// Judges it; `progress` hears of every draw that is done.
    pub fn judge(&self, progress: &(dyn Fn(usize) + Sync)) -> Judged {
        judge_read(&self.job, self.sheet.get_or_init(|| read(&self.job)).clone(), progress)
    }
}

fn unit_of(job: &Job) -> Unit {
    match job.document.words("units") {
        Some("mm") => Unit::Millimetre,
        _ => Unit::Inch,
    }
}

/// The micrometers of a job. What cannot be read is left out: the sheet as a whole says why.
fn micrometers_of(job: &Job) -> Vec<Instrument> {
    let keys = ["units", "instrument"];
    let listed = Value::table(keys.into_iter().filter_map(|key| Some((key, job.document.get(key)?.clone()))));
    let usual = || vec![Instrument::shop_default(unit_of(job))];
    sheet::read_instruments("the job", &listed.to_json()).unwrap_or_else(|_| usual())
}

/// The specification that a job holds.
fn book_of(job: &Job) -> Result<Specification, Vec<String>> {
    let Some(told) = job.document.get("specification").filter(|told| matches!(told, Value::Table(_))) else {
        return Err(vec!["it holds none.".to_owned()]);
    };
    let (printed, _) = sheet::read_specification("the specification", &told.to_json())
        .map_err(|problems| problems.iter().map(ToString::to_string).collect::<Vec<_>>())?;
    Specification::from_printed(&printed).map_err(|faults| {
        let says = |fault: &crank::SpecProblem| {
            format!("{}: found {}, expected {}; {}.", fault.key, fault.found, fault.expected, fault.cause)
        };
        faults.iter().map(says).collect()
    })
}
