//! What every page works with: the record, jobs that are open on the bench, and their verdicts.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use job::JobCard;
use shop::{Appended, Draft, Entry, JobNumber, Shop, Store, StoreError, fold_shop};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use crate::chores::Chores;
use crate::door::NotAppended;
use crate::gathering::Turns;
use crate::judged::Judges;
use crate::oil_answers::OilAnswers;
use crate::sayings::Sayings;
use crate::trouble::Trouble;

/// Jobs kept at hand; a shop works on fewer at a time, and any other is read anew from the record.
const AT_HAND: usize = 50;

/// Photographs that arrive at the same time; the others wait before anything of them is read, so that the memory for
/// these is enough for however many are sent.
const UPLOADS: usize = 2;

/// An engine that the program knows without being told.
#[derive(Clone, Debug)]
pub struct KnownEngine {
    /// The name it is chosen by, `tarn-four`.
    pub name: String,
    /// Its specification, in the format of specifications.
    pub text: String,
}

/// What came of writing what a reading comes to.
#[derive(Debug)]
pub(crate) enum Written {
    /// It is written: the job as it stands.
    Here(Arc<JobCard>),
    /// Others wrote in between; nothing is written.
    Behind,
}

/// Shared by all requests; cheap to clone.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    pub(crate) store: Store,
    pub(crate) engines: Arc<[KnownEngine]>,
    pub(crate) judges: Judges,
    pub(crate) oil_answers: OilAnswers,
    /// A sheet that can be opened as an example, where the program brought one.
    pub(crate) example: Option<Arc<str>>,
    pub(crate) chores: Chores,
    pub(crate) sayings: Sayings,
    pub(crate) turns: Turns,
    /// Whose photograph is arriving.
    uploads: Arc<Semaphore>,
    jobs: Arc<Mutex<HashMap<JobNumber, Arc<JobCard>>>>,
    shop: Arc<Mutex<Option<Arc<Shop>>>>,
}

impl Desk {
    pub(crate) fn new(store: Store, engines: Vec<KnownEngine>) -> Desk {
        Desk {
            store,
            engines: engines.into(),
            judges: Judges::default(),
            oil_answers: OilAnswers::default(),
            example: None,
            chores: Chores::default(),
            sayings: Sayings::default(),
            turns: Turns::default(),
            uploads: Arc::new(Semaphore::new(UPLOADS)),
            jobs: Arc::default(),
            shop: Arc::default(),
        }
    }

    /// A turn to send a photograph, until it is dropped.
    pub(crate) async fn upload_turn(&self) -> Result<OwnedSemaphorePermit, Trouble> {
        Arc::clone(&self.uploads).acquire_owned().await.map_err(Trouble::fault)
    }

    /// A job as it stands. What others wrote since it was last looked at, another program among them, is in it.
    pub(crate) async fn job(&self, number: JobNumber) -> Result<Arc<JobCard>, StoreError> {
        let head = self.store.head(number).await?;
        let there = self.lock_jobs().get(&number).cloned();
        let card = match there {
            Some(card) if card.job.seq == head.seq => return Ok(card),
            Some(card) if card.job.seq < head.seq => {
                let since = self.store.entries(number, card.job.seq).await?;
                card.with_entries(since)
            }
            _ => JobCard::of(self.store.entries(number, 0).await?),
        };
        Ok(self.keep(card))
    }

    fn keep(&self, card: JobCard) -> Arc<JobCard> {
        let card = Arc::new(card);
        let mut jobs = self.lock_jobs();
        if jobs.len() >= AT_HAND && !jobs.contains_key(&card.job.number) {
            // Which one goes matters little: it is read again when somebody asks for it.
            if let Some(&oldest) = jobs.keys().min() {
                jobs.remove(&oldest);
            }
        }
        // Somebody else may have put a newer one here meanwhile.
        if jobs.get(&card.job.number).is_none_or(|there| there.job.seq <= card.job.seq) {
            jobs.insert(card.job.number, Arc::clone(&card));
        }
        card
    }

    /// What was written, as it stands: worked out by its writer already, unless others wrote right after.
    pub(crate) async fn written(
        &self,
        number: JobNumber,
        before: i64,
        after: JobCard,
    ) -> Result<Arc<JobCard>, StoreError> {
        let lines = self.store.entries(number, before).await?;
        match after.as_written(lines) {
            Some(card) => Ok(self.keep(card)),
            None => self.job(number).await,
        }
    }

    fn lock_jobs(&self) -> std::sync::MutexGuard<'_, HashMap<JobNumber, Arc<JobCard>>> {
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
    ) -> Result<(Arc<JobCard>, Vec<Entry>), NotAppended> {
        let mut between = Vec::new();
        loop {
            match self.append_form(number, seen, drafts).await? {
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
    ) -> Result<Arc<JobCard>, Trouble> {
        match self.append_form(number, seen, drafts).await? {
            Appended::Written { .. } | Appended::Repeated { .. } => Ok(self.job(number).await?),
            Appended::Behind { .. } if self.was_written(number, drafts).await? => Ok(self.job(number).await?),
            Appended::Behind { since, .. } => Err(behind(&since)),
        }
    }

    /// Writes what a form says. A form sent twice says the same at two times, and is kept once.
    async fn append_form(&self, number: JobNumber, seen: i64, drafts: &[Draft]) -> Result<Appended, NotAppended> {
        match self.append(number, seen, drafts).await {
            Err(NotAppended::Store(StoreError::NameTaken(_))) if self.was_written(number, drafts).await? => {
                Ok(Appended::Repeated { seq: self.job(number).await?.job.seq })
            }
            other => other,
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
