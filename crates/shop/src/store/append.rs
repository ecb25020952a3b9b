//! Writing entries: under the last place seen, once for each name, all of a batch or none.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::lines::{LINES_OF_JOB, Line, PUT_LINE, entry_from, line_of};
use super::seal::Keys;
use super::sound::{all_is_sound, head_mark};
use super::{FIRST_JOB, MOST_GAP, Pools, Store, now, writing};
use crate::admit::{Gate, MOST_AT_ONCE, MOST_ENTRY_BYTES, Refusal};
use crate::error::StoreError;
use crate::fold::{Job, fold};
use crate::log::{Draft, Entry, EntryId, EntryKind, JobNumber, entry_of};
use crate::shop_log::{ShopKind, admit_to_shop};
use crate::store::jobs::HeadRow;

/// What came of writing.
#[derive(Clone, Debug, PartialEq)]
pub enum Appended<K = EntryKind> {
    /// It is saved, and stays so whatever happens now.
    Written {
        /// The place of the last entry.
        seq: i64,
    },
    /// It was saved before, all of it; nothing was written.
    Repeated {
        /// The place that the last one got then.
        seq: i64,
    },
    /// Others wrote in between; nothing was written.
    Behind {
        /// What they wrote.
        since: Vec<Entry<K>>,
        /// The place of the last entry now.
        seq: i64,
    },
}

/// A job as a writer saw it and as it stands with what is written, both added up already, so that it is not done again.
#[derive(Clone, Debug)]
pub struct WorkedOut {
    /// As it was seen.
    pub before: Arc<Job>,
    /// As it stands with every entry that is written.
    pub after: Arc<Job>,
}

impl WorkedOut {
    /// Whether it is about this job, at this place and with so many entries more: else it is added up here.
    fn fits(&self, job: JobNumber, last: i64, fresh: usize) -> bool {
        let of_job = self.before.number == job && self.after.number == job;
        of_job && self.before.seq == last && self.after.seq == last + fresh as i64
    }
}

/// A job that was booked in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BookedJob {
    /// Its number.
    pub job: JobNumber,
    /// The place of its last entry.
    pub seq: i64,
    /// Whether it was booked in before under the same name.
    pub repeated: bool,
}

pub(crate) const EMPTY_HEAD: &str = "INSERT INTO head (job, seq, hash, stage, since, updated, mark, customer, \
                                     telephone, crank, promised, batch, flags, revision, put_away, example, find, \
                                     digits, seal) VALUES ($1, 0, '', '', '', '', '', '', '', '', '', '', 0, 1, 0, 0, '', \
                                     '', '') ON CONFLICT (job) DO NOTHING";
// Changes nothing, but keeps others from writing to this job until we are done.
const HOLD_HEAD: &str = "UPDATE head SET seq = seq WHERE job = $1 RETURNING job, seq, hash, stage, since, updated, mark, \
                         customer, telephone, crank, promised, batch, flags, revision, put_away, example, find, \
                         digits, seal";
const HOLD_NUMBER: &str = "UPDATE record SET next_job = next_job WHERE one = 1";
const NEXT_JOB: &str = "UPDATE record SET next_job = next_job + 1 WHERE one = 1 RETURNING next_job - 1";
/// The number that the next crank gets, and that of the last in the list; numbers are given without a gap.
const NUMBERS: &str = "SELECT next_job, (SELECT COALESCE(MAX(job), 0) FROM head) FROM record WHERE one = 1";
const LINE_NAMED: &str = "SELECT job, seq, id, who, done, received, sheet_version, corrects, kind, body, hash FROM \
                          entry WHERE id = $1";
pub(crate) const PUT_HEAD: &str = "UPDATE head SET seq = $2, hash = $3, stage = $4, since = $5, updated = $6, mark = \
                                   $7, customer = $8, telephone = $9, crank = $10, promised = $11, batch = $12, flags \
                                   = $13, revision = $14, put_away = $15, example = $16, find = $17, digits = $18, seal = $19 \
                                   WHERE job = $1";
const HAS_PICTURE: &str = "SELECT COUNT(*) FROM picture WHERE hash = $1";

/// Binds the row of a head to [`PUT_HEAD`].
macro_rules! bind_head {
    ($query:expr, $head:expr) => {
        $query
            .bind($head.job)
            .bind($head.seq)
            .bind(&$head.hash)
            .bind(&$head.stage)
            .bind(&$head.since)
            .bind(&$head.updated)
            .bind(&$head.mark)
            .bind(&$head.customer)
            .bind(&$head.telephone)
            .bind(&$head.crank)
            .bind(&$head.promised)
            .bind(&$head.batch)
            .bind($head.flags)
            .bind($head.revision)
            .bind($head.put_away)
            .bind($head.example)
            .bind(&$head.find)
            .bind(&$head.digits)
            .bind(&$head.seal)
    };
}

/// Binds a row of the table of entries.
macro_rules! bind_line {
    ($query:expr, $line:expr) => {
        $query
            .bind($line.0)
            .bind($line.1)
            .bind(&$line.2)
            .bind(&$line.3)
            .bind(&$line.4)
            .bind(&$line.5)
            .bind($line.6)
            .bind(&$line.7)
            .bind(&$line.8)
            .bind(&$line.9)
            .bind(&$line.10)
    };
}

pub(crate) use {bind_head, bind_line};

/// What a log needs to know of its kind of entries.
pub(crate) trait Kept: Serialize + DeserializeOwned + Clone + PartialEq + Send + Sync + Sized + 'static {
    fn kind_name(&self) -> &'static str;
    /// The photograph that an entry shows.
    fn picture(&self) -> Option<&str>;
    /// The entries with the drafts put down after them, each admitted by what stood before it.
    fn put_down(
        entries: Vec<Entry<Self>>,
        drafts: &[&Draft<Self>],
        job: JobNumber,
        received: &str,
        known: Option<&WorkedOut>,
    ) -> Result<Vec<Entry<Self>>, Refusal>;
    /// The row of the head, without place and hash.
    fn head(entries: &[Entry<Self>], known: Option<&WorkedOut>) -> HeadRow;
}

impl Kept for EntryKind {
    fn kind_name(&self) -> &'static str {
        self.name()
    }

    fn picture(&self) -> Option<&str> {
        match self {
            EntryKind::Photograph { picture, .. } => Some(picture),
            _ => None,
        }
    }

    fn put_down(
        entries: Vec<Entry>,
        drafts: &[&Draft],
        job: JobNumber,
        received: &str,
        known: Option<&WorkedOut>,
    ) -> Result<Vec<Entry>, Refusal> {
        let mut gate = match known {
            Some(known) => Gate::of_known(entries, Arc::clone(&known.before)),
            None => Gate::of(entries),
        };
        for draft in drafts {
            gate.admit(draft)?;
            gate.put_down(entry_of(draft, job, gate.next_seq(), received));
        }
        Ok(gate.into_entries())
    }

    fn head(entries: &[Entry], known: Option<&WorkedOut>) -> HeadRow {
        match known {
            Some(known) => HeadRow::of(&known.after),
            None => HeadRow::of(&fold(entries)),
        }
    }
}

impl Kept for ShopKind {
    fn kind_name(&self) -> &'static str {
        self.name()
    }

    fn picture(&self) -> Option<&str> {
        None
    }

    fn put_down(
        mut entries: Vec<Entry<ShopKind>>,
        drafts: &[&Draft<ShopKind>],
        job: JobNumber,
        received: &str,
        _: Option<&WorkedOut>,
    ) -> Result<Vec<Entry<ShopKind>>, Refusal> {
        for draft in drafts {
            admit_to_shop(&entries, draft)?;
            let seq = entries.last().map_or(1, |entry| entry.seq + 1);
            entries.push(entry_of(draft, job, seq, received));
        }
        Ok(entries)
    }

    fn head(_: &[Entry<ShopKind>], _: Option<&WorkedOut>) -> HeadRow {
        HeadRow::default()
    }
}

impl Store {
    /// Books a crank in: the first draft says so, others may follow (a whole sheet, say). The job gets the next number.
    /// Sent again under the same names, it is the same job.
    ///
    /// # Errors
    /// [`StoreError`]; nothing is written then.
    pub async fn book_in(&self, drafts: &[Draft]) -> Result<BookedJob, StoreError> {
        check_batch(drafts)?;
        self.may_write()?;
        let received = now();
        let committing = AtomicBool::new(false);
        let booked = match &self.pools {
            Pools::Sqlite { scribe, .. } => {
                let (drafts, keys) = (drafts.to_vec(), self.keys.clone());
                scribe
                    .write(move |c| Box::pin(async move { on_sqlite::book_in(c, &drafts, &received, &keys).await }))
                    .await
            }
            Pools::Postgres(pool) => {
                in_time(async {
                    let mut tx = pool.begin().await?;
                    let booked = on_postgres::book_in(&mut tx, drafts, &received, &self.keys).await?;
                    committing.store(true, Ordering::Relaxed);
                    tx.commit().await?;
                    Ok(booked)
                })
                .await
            }
        };
        match booked {
            Err(error) if may_be_saved(&error, &committing) => {
                let (job, seq) = self.look_up(None, drafts, error).await?;
                Ok(BookedJob { job, seq, repeated: false })
            }
            other => other,
        }
    }

    /// Where the database broke off while it was writing, nobody knows whether it wrote: it is asked again. What was not
    /// written is the error then; what cannot be asked stays uncertain, and is called so.
    async fn look_up<K>(
        &self,
        job: Option<JobNumber>,
        drafts: &[Draft<K>],
        error: StoreError,
    ) -> Result<(JobNumber, i64), StoreError> {
        let Some(last) = drafts.last() else { return Err(error) };
        let mut why = error.clone();
        for wait in LOOKS {
            tokio::time::sleep(wait).await;
            match in_time(self.place_when_free(job, last.id)).await {
                Ok(Some(place)) => return Ok(place),
                Ok(None) => return Err(error),
                Err(other) => why = other,
            }
        }
        let why = why.happened();
        let detail = format!("the record broke off and could not be asked ({})", why.trim_end_matches('.'));
        Err(StoreError::Uncertain { detail })
    }

    /// The place of an entry once nobody is writing to its job any more: what broke off may still be running on the server.
    async fn place_when_free(
        &self,
        job: Option<JobNumber>,
        entry: EntryId,
    ) -> Result<Option<(JobNumber, i64)>, StoreError> {
        let query = "SELECT job, seq FROM entry WHERE id = $1";
        let found: Option<(JobNumber, i64)>;
        writing!(self, tx => {
            match job {
                Some(job) => sqlx::query(HOLD_HEAD).bind(job).execute(&mut *tx).await?,
                None => sqlx::query(HOLD_NUMBER).execute(&mut *tx).await?,
            };
            found = sqlx::query_as(query).bind(entry.to_string()).fetch_optional(&mut *tx).await?;
            tx.rollback().await?;
        });
        Ok(found)
    }

    /// Writes entries to a job: all of them or none. `seen` is the place of the last entry that the writer knew of.
    ///
    /// # Errors
    /// [`StoreError`]; nothing is written then.
    pub async fn append(&self, job: JobNumber, seen: i64, drafts: &[Draft]) -> Result<Appended, StoreError> {
        if job <= 0 {
            return Err(StoreError::NoSuchJob(job));
        }
        self.append_to(job, seen, drafts, None).await
    }

    /// The same for somebody who has added the job up with the entries already: what it comes to is taken as they say.
    ///
    /// # Errors
    /// [`StoreError`]; nothing is written then.
    pub async fn append_worked_out(
        &self,
        job: JobNumber,
        drafts: &[Draft],
        known: WorkedOut,
    ) -> Result<Appended, StoreError> {
        if job <= 0 {
            return Err(StoreError::NoSuchJob(job));
        }
        self.append_to(job, known.before.seq, drafts, Some(known)).await
    }

    /// Writes entries to a job whatever others wrote in between, and returns that.
    ///
    /// For figures that must not be lost and need no second thought: a reading kept on a tablet. Where the meaning of
    /// an entry depends on what was seen (an undo, a signature), use [`Store::append`].
    ///
    /// # Errors
    /// [`StoreError`]; nothing is written then.
    pub async fn append_keeping(
        &self,
        job: JobNumber,
        seen: i64,
        drafts: &[Draft],
    ) -> Result<(i64, Vec<Entry>), StoreError> {
        let mut seen = seen;
        let mut between = Vec::new();
        loop {
            match self.append(job, seen, drafts).await? {
                Appended::Written { seq } | Appended::Repeated { seq } => return Ok((seq, between)),
                Appended::Behind { since, seq } => {
                    between.extend(since);
                    seen = seq;
                }
            }
        }
    }

    /// Writes entries to the shop's own log, as [`Store::append`].
    ///
    /// # Errors
    /// [`StoreError`]; nothing is written then.
    pub async fn append_to_shop(
        &self,
        seen: i64,
        drafts: &[Draft<ShopKind>],
    ) -> Result<Appended<ShopKind>, StoreError> {
        self.append_to(0, seen, drafts, None).await
    }

    async fn append_to<K: Kept>(
        &self,
        job: JobNumber,
        seen: i64,
        drafts: &[Draft<K>],
        known: Option<WorkedOut>,
    ) -> Result<Appended<K>, StoreError> {
        check_batch(drafts)?;
        self.may_write()?;
        let received = now();
        let committing = AtomicBool::new(false);
        let appended = match &self.pools {
            Pools::Sqlite { scribe, .. } => {
                let (drafts, keys) = (drafts.to_vec(), self.keys.clone());
                scribe
                    .write(move |c| {
                        Box::pin(async move {
                            on_sqlite::append(c, job, seen, &drafts, &received, known.as_ref(), &keys).await
                        })
                    })
                    .await
            }
            Pools::Postgres(pool) => {
                in_time(async {
                    let mut tx = pool.begin().await?;
                    let appended =
                        on_postgres::append(&mut tx, job, seen, drafts, &received, known.as_ref(), &self.keys).await?;
                    committing.store(true, Ordering::Relaxed);
                    tx.commit().await?;
                    Ok(appended)
                })
                .await
            }
        };
        match appended {
            Err(error) if may_be_saved(&error, &committing) => {
                let (_, seq) = self.look_up(Some(job), drafts, error).await?;
                Ok(Appended::Written { seq })
            }
            other => other,
        }
    }
}

/// How long a server may take to write; longer than it waits for another writer.
const ANSWER_WITHIN: Duration = Duration::from_secs(8);
/// When it is asked again whether something was written.
const LOOKS: [Duration; 3] = [Duration::from_millis(50), Duration::from_millis(700), Duration::from_secs(2)];

/// Whether something may have been written though the answer was an error: what broke off before the last word, was not.
fn may_be_saved(error: &StoreError, committing: &AtomicBool) -> bool {
    match error {
        StoreError::NoAnswer { .. } => committing.load(Ordering::Relaxed),
        StoreError::Io { .. } => true,
        _ => false,
    }
}

/// Waits for a server, but not for ever: one that is frozen says nothing at all.
async fn in_time<T>(work: impl Future<Output = Result<T, StoreError>>) -> Result<T, StoreError> {
    let silent = || StoreError::NoAnswer { detail: format!("it said nothing for {} s", ANSWER_WITHIN.as_secs()) };
    tokio::time::timeout(ANSWER_WITHIN, work).await.unwrap_or_else(|_| Err(silent()))
}

/// The same work on a connection to either database. A caller that gets an error rolls back.
macro_rules! work_on {
    ($name:ident, $connection:ty) => {
        mod $name {
            use super::*;

            pub(super) async fn book_in(
                tx: &mut $connection,
                drafts: &[Draft],
                received: &str,
                keys: &Keys,
            ) -> Result<BookedJob, StoreError> {
                // Booking in goes one at a time, so that the same one sent twice at once is seen to be the same.
                sqlx::query(HOLD_NUMBER).execute(&mut *tx).await?;
                let mut known: Vec<Line> = Vec::new();
                for draft in drafts {
                    let query = sqlx::query_as(LINE_NAMED).bind(draft.id.to_string());
                    known.extend(query.fetch_optional(&mut *tx).await?);
                }
                if let Some(there) = known.first() {
                    let job = there.0;
                    let taken = drafts.iter().find(|draft| draft.id.to_string() == there.2);
                    if let Some(draft) = taken.filter(|_| job <= 0) {
                        // The name of a line of the shop's own log, whose kinds are others.
                        return Err(StoreError::NameTaken(draft.id));
                    }
                    let (seq, fresh) = repeats(job, &known, drafts)?;
                    if !fresh.is_empty() {
                        return Err(StoreError::NameTaken(entry_from::<EntryKind>(there)?.id));
                    }
                    return Ok(BookedJob { job, seq, repeated: true });
                }
                let (next, last): (i64, i64) = sqlx::query_as(NUMBERS).fetch_one(&mut *tx).await?;
                let last = last.max(FIRST_JOB - 1);
                if next <= last || next.saturating_sub(last) > MOST_GAP {
                    let says = format!("the next crank would be job {next}, and the last in the list is job {last}");
                    return Err(StoreError::damaged(says));
                }
                let (job,): (i64,) = sqlx::query_as(NEXT_JOB).fetch_one(&mut *tx).await?;
                sqlx::query(EMPTY_HEAD).bind(job).execute(&mut *tx).await?;
                let fresh: Vec<&Draft> = drafts.iter().collect();
                let head = write(&mut *tx, Vec::new(), &fresh, job, ("", keys), received, None).await?;
                Ok(BookedJob { job, seq: head.seq, repeated: false })
            }

            pub(super) async fn append<K: Kept>(
                tx: &mut $connection,
                job: JobNumber,
                seen: i64,
                drafts: &[Draft<K>],
                received: &str,
                known_job: Option<&WorkedOut>,
                keys: &Keys,
            ) -> Result<Appended<K>, StoreError> {
                let held: Option<HeadRow> = sqlx::query_as(HOLD_HEAD).bind(job).fetch_optional(&mut *tx).await?;
                let Some(held) = held else { return Err(StoreError::NoSuchJob(job)) };
                let (last, hash) = (held.seq, held.hash.clone());
                let mut known: Vec<Line> = Vec::new();
                for draft in drafts {
                    let query = sqlx::query_as(LINE_NAMED).bind(draft.id.to_string());
                    known.extend(query.fetch_optional(&mut *tx).await?);
                }
                let (place, fresh) = repeats(job, &known, drafts)?;
                if fresh.is_empty() {
                    return Ok(Appended::Repeated { seq: place });
                }
                if seen > last || seen < 0 {
                    return Err(StoreError::SeenTooMuch { job, last });
                }
                let from = if seen < last { seen } else { 0 };
                let mut lines: Vec<Line> =
                    sqlx::query_as(LINES_OF_JOB).bind(job).bind(0_i64).fetch_all(&mut *tx).await?;
                // Nothing is put down after what is not sound: it would be sealed anew with what is after it.
                all_is_sound(keys, &held, &lines)?;
                lines.retain(|line| line.1 > from);
                let entries: Vec<Entry<K>> = lines.iter().map(entry_from).collect::<Result<_, _>>()?;
                if seen < last {
                    return Ok(Appended::Behind { since: entries, seq: last });
                }
                let known_job = known_job.filter(|known| known.fits(job, last, fresh.len()));
                let head = write(&mut *tx, entries, &fresh, job, (&hash, keys), received, known_job).await?;
                Ok(Appended::Written { seq: head.seq })
            }

            async fn write<K: Kept>(
                tx: &mut $connection,
                entries: Vec<Entry<K>>,
                drafts: &[&Draft<K>],
                job: JobNumber,
                after: (&str, &Keys),
                received: &str,
                known: Option<&WorkedOut>,
            ) -> Result<HeadRow, StoreError> {
                let (lines, head) = prepared(entries, drafts, job, after, received, known)?;
                for picture in drafts.iter().filter_map(|draft| draft.kind.picture()) {
                    let (there,): (i64,) = sqlx::query_as(HAS_PICTURE).bind(picture).fetch_one(&mut *tx).await?;
                    if there == 0 {
                        return Err(StoreError::NoSuchPicture);
                    }
                }
                for line in &lines {
                    bind_line!(sqlx::query(PUT_LINE), line).execute(&mut *tx).await?;
                }
                bind_head!(sqlx::query(PUT_HEAD), head).execute(&mut *tx).await?;
                Ok(head)
            }
        }
    };
}

work_on!(on_sqlite, sqlx::SqliteConnection);
work_on!(on_postgres, sqlx::PgConnection);

/// The rows to write for drafts after what is there, whose last mark is given with the keys, and the new head.
fn prepared<K: Kept>(
    entries: Vec<Entry<K>>,
    drafts: &[&Draft<K>],
    job: JobNumber,
    (hash, keys): (&str, &Keys),
    received: &str,
    known: Option<&WorkedOut>,
) -> Result<(Vec<Line>, HeadRow), StoreError> {
    let before = entries.len();
    let entries = K::put_down(entries, drafts, job, received, known)?;
    let mut lines = Vec::with_capacity(drafts.len());
    let mut hash = hash.to_owned();
    for entry in entries.iter().skip(before) {
        let line = line_of(entry, entry.kind.kind_name(), &hash, keys)?;
        if line.9.len() > MOST_ENTRY_BYTES {
            let says = format!("One entry is larger than {} MB.", MOST_ENTRY_BYTES / 1_000_000);
            return Err(Refusal::new("kind", says, "Thin it out: 360 departures to a turn are plenty.").into());
        }
        hash.clone_from(&line.10);
        lines.push(line);
    }
    let mut head = K::head(&entries, known);
    head.job = job;
    head.seq = entries.last().map_or(0, |entry| entry.seq);
    head.updated = received.to_owned();
    head.hash = hash;
    head.seal = head_mark(keys, &head);
    Ok((lines, head))
}

/// Of the drafts, which are not yet written; and the place of the last one that is. One with a known name and other
/// content is an error.
fn repeats<'a, K: Kept>(
    job: JobNumber,
    known: &[Line],
    drafts: &'a [Draft<K>],
) -> Result<(i64, Vec<&'a Draft<K>>), StoreError> {
    let mut fresh = Vec::new();
    let mut place = 0;
    for draft in drafts {
        let id = draft.id.to_string();
        let Some(line) = known.iter().find(|line| line.2 == id) else {
            fresh.push(draft);
            continue;
        };
        let there: Entry<K> = match line.0 == job {
            true => entry_from(line)?,
            false => return Err(StoreError::NameTaken(draft.id)),
        };
        let same = there.who == draft.who
            && there.when == draft.when
            && there.corrects == draft.corrects
            && there.kind == draft.kind;
        if !same {
            return Err(StoreError::NameTaken(draft.id));
        }
        place = place.max(there.seq);
    }
    Ok((place, fresh))
}

fn check_batch<K>(drafts: &[Draft<K>]) -> Result<(), StoreError> {
    if drafts.is_empty() {
        return Err(Refusal::new("entries", "There is nothing to write.", "Send at least one entry.").into());
    }
    if drafts.len() > MOST_AT_ONCE {
        let says = format!("More than {MOST_AT_ONCE} entries at once.");
        return Err(Refusal::new("entries", says, "Send them in parts.").into());
    }
    let mut seen = std::collections::HashSet::new();
    match drafts.iter().find(|draft| !seen.insert(draft.id)) {
        Some(twice) => Err(StoreError::NameTaken(twice.id)),
        None => Ok(()),
    }
}
