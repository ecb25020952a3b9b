//! What every page works with: the record, jobs that are open on the bench, and their verdicts.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use crank::{PrintedSpecification, Specification};
use gauge::Instrument;
use job::Case;
use shop::{Appended, Draft, Entry, EntryId, Job, JobNumber, Shop, Store, StoreError, Value, fold, fold_shop};

use units::Unit;

use crate::chores::Chores;
use crate::door::NotAppended;
use crate::judged::Judges;
use crate::trouble::Trouble;

/// Jobs kept at hand; a shop works on fewer at a time, and any other is read anew from the record.
const AT_HAND: usize = 50;

/// An engine that the program knows without being told.
#[derive(Clone, Debug)]
pub struct KnownEngine {
    /// The name it is chosen by, `tarn-four`.
    pub name: String,
    /// Its specification, in the format of specifications.
    pub text: String,
}

/// A job with its whole log.
#[derive(Debug)]
pub(crate) struct Held {
    pub(crate) entries: Vec<Entry>,
    pub(crate) job: Job,
    /// What the maker's book says of this crank, as it stands in the job; or what is wrong with it.
    pub(crate) book: Result<Specification, Vec<String>>,
    /// The micrometers of this job, the shop's usual one first.
    pub(crate) micrometers: Vec<Instrument>,
}

impl Held {
    /// What a log adds up to.
    pub(crate) fn of(entries: Vec<Entry>) -> Held {
        let job = fold(&entries);
        Held { book: book_of(&job), micrometers: micrometers_of(&job), entries, job }
    }

    /// The same as printed, with what no verdict needs; nothing where it cannot be read.
    pub(crate) fn printed(&self) -> Option<PrintedSpecification> {
        let told = self.job.document.get("specification").filter(|told| matches!(told, Value::Table(_)))?;
        sheet::read_specification("the specification", &told.to_json()).ok().map(|(printed, _)| printed)
    }

    /// The job as its rules look at it, without a verdict.
    pub(crate) fn case<'a>(&'a self, shop: &'a Shop) -> Case<'a> {
        Case { entries: &self.entries, job: &self.job, shop, verdict: None }
    }

    /// Whether an entry of this name is written: its form was sent before.
    pub(crate) fn has(&self, id: EntryId) -> bool {
        self.entries.iter().any(|entry| entry.id == id)
    }

    /// The unit of every bare size in this job.
    pub(crate) fn unit(&self) -> Unit {
        match self.job.document.words("units") {
            Some("mm") => Unit::Millimetre,
            _ => Unit::Inch,
        }
    }

    /// A micrometer of this job by its name; the shop's usual one where none is named.
    pub(crate) fn micrometer(&self, name: Option<&str>) -> Option<&Instrument> {
        match name {
            Some(name) => self.micrometers.iter().skip(1).find(|known| known.name == name),
            None => self.micrometers.first(),
        }
    }

    /// The book, or the trouble that there is none.
    pub(crate) fn book(&self) -> Result<&Specification, Trouble> {
        self.book.as_ref().map_err(|faults| {
            let happened = format!("The specification in job {} cannot be used: {}", self.job.number, faults.join(" "));
            let mut trouble = Trouble::not_found(happened, "Put it right under Particulars.");
            trouble.status = axum::http::StatusCode::CONFLICT;
            trouble
        })
    }
}

/// The micrometers of a job. What cannot be read is left out: the sheet as a whole says why.
fn micrometers_of(job: &Job) -> Vec<Instrument> {
    let keys = ["units", "instrument"];
    let listed = Value::table(keys.into_iter().filter_map(|key| Some((key, job.document.get(key)?.clone()))));
    let unit = if job.document.words("units") == Some("mm") { Unit::Millimetre } else { Unit::Inch };
    sheet::read_instruments("the job", &listed.to_json()).unwrap_or_else(|_| vec![Instrument::shop_default(unit)])
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

/// Shared by all requests; cheap to clone.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    pub(crate) store: Store,
    pub(crate) engines: Arc<[KnownEngine]>,
    pub(crate) judges: Judges,
    /// A sheet that can be opened as an example, where the program brought one.
    pub(crate) example: Option<Arc<str>>,
    pub(crate) chores: Chores,
    jobs: Arc<Mutex<HashMap<JobNumber, Arc<Held>>>>,
    shop: Arc<Mutex<Option<Arc<Shop>>>>,
}

impl Desk {
    pub(crate) fn new(store: Store, engines: Vec<KnownEngine>) -> Desk {
        Desk {
            store,
            engines: engines.into(),
            judges: Judges::default(),
            example: None,
            chores: Chores::default(),
            jobs: Arc::default(),
            shop: Arc::default(),
        }
    }

    /// A job as it stands. What others wrote since it was last looked at, another program among them, is in it.
    pub(crate) async fn job(&self, number: JobNumber) -> Result<Arc<Held>, StoreError> {
        let head = self.store.head(number).await?;
        let there = self.lock_jobs().get(&number).cloned();
        let held = match there {
            Some(held) if held.job.seq == head.seq => return Ok(held),
            Some(held) if held.job.seq < head.seq => {
                let mut entries = held.entries.clone();
                entries.extend(self.store.entries(number, held.job.seq).await?);
                entries
            }
            _ => self.store.entries(number, 0).await?,
        };
        Ok(self.keep(held))
    }

    fn keep(&self, entries: Vec<Entry>) -> Arc<Held> {
        let held = Arc::new(Held::of(entries));
        let mut jobs = self.lock_jobs();
        if jobs.len() >= AT_HAND && !jobs.contains_key(&held.job.number) {
            // Which one goes matters little: it is read again when somebody asks for it.
            if let Some(&oldest) = jobs.keys().min() {
                jobs.remove(&oldest);
            }
        }
        jobs.insert(held.job.number, Arc::clone(&held));
        held
    }

    fn lock_jobs(&self) -> std::sync::MutexGuard<'_, HashMap<JobNumber, Arc<Held>>> {
        // A panic while it was held leaves whole jobs behind: each is put in at one stroke.
        self.jobs.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Writes entries that need no second thought, whatever others wrote in between; the job as it stands then, and what
    /// the others wrote.
    pub(crate) async fn put_down(
        &self,
        number: JobNumber,
        mut seen: i64,
        drafts: &[Draft],
    ) -> Result<(Arc<Held>, Vec<Entry>), NotAppended> {
        let mut between = Vec::new();
        loop {
            match self.append(number, seen, drafts).await? {
                Appended::Written { .. } | Appended::Repeated { .. } => return Ok((self.job(number).await?, between)),
                Appended::Behind { since, seq } => {
                    between.extend(since);
                    seen = seq;
                }
            }
        }
    }

    /// Writes entries whose meaning depends on what was seen; refused where others wrote in between.
    pub(crate) async fn put_down_if_unchanged(
        &self,
        number: JobNumber,
        seen: i64,
        drafts: &[Draft],
    ) -> Result<Arc<Held>, Trouble> {
        match self.append(number, seen, drafts).await? {
            Appended::Written { .. } | Appended::Repeated { .. } => Ok(self.job(number).await?),
            Appended::Behind { since, .. } => Err(behind(&since)),
        }
    }

    /// The shop as it stands.
    pub(crate) async fn shop(&self) -> Result<Arc<Shop>, StoreError> {
        let head = self.store.shop_seq().await?;
        let there = self.shop.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some(shop) = there.filter(|shop| shop.seq == head) {
            return Ok(shop);
        }
        let shop = Arc::new(fold_shop(&self.store.shop_entries().await?));
        *self.shop.lock().unwrap_or_else(PoisonError::into_inner) = Some(Arc::clone(&shop));
        Ok(shop)
    }
}

/// Others wrote while a page was open.
fn behind(since: &[Entry]) -> Trouble {
    let mut names: Vec<&str> = since.iter().map(|entry| entry.who.as_str()).collect();
    names.dedup();
    let who = if names.is_empty() { "Somebody".to_owned() } else { names.join(" and ") };
    Trouble::new(
        axum::http::StatusCode::CONFLICT,
        format!("{who} changed this job while this page was open."),
        "Load the page again, look at what changed, then do it again if it still holds.",
    )
}
