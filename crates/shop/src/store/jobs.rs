//! The list of jobs: one row a job, kept in step with its log in the same transaction.

use std::sync::PoisonError;

use serde::Serialize;
use utoipa::ToSchema;

use super::lines::{LINES_OF_JOB, Line, entry_from};
use super::sound::ListLook;
use super::{Store, reading};
use crate::error::StoreError;
use crate::fold::{Job, fold};
use crate::log::{Entry, EntryId, JobNumber};
use crate::names::one_form;
use crate::shop_log::{Shop, ShopKind, fold_shop};
use crate::stage::Stage;

/// Jobs on one page of the list.
const PAGE: i64 = 50;

/// The row of one job as it is kept.
#[derive(Clone, Debug, Default, PartialEq, sqlx::FromRow)]
pub(crate) struct HeadRow {
    pub(crate) job: i64,
    pub(crate) seq: i64,
    pub(crate) hash: String,
    pub(crate) stage: String,
    pub(crate) since: String,
    pub(crate) updated: String,
    pub(crate) mark: String,
    pub(crate) customer: String,
    pub(crate) telephone: String,
    pub(crate) crank: String,
    pub(crate) promised: String,
    pub(crate) batch: String,
    pub(crate) flags: i64,
    pub(crate) revision: i64,
    pub(crate) put_away: i64,
    pub(crate) example: i64,
    /// What a search by words looks through: number, mark, customer and crank in the form in which names are compared.
    pub(crate) find: String,
    /// What a search by telephone looks through: its digits.
    pub(crate) digits: String,
    /// The mark of all of the above; a record of an older format has none.
    #[sqlx(default)]
    pub(crate) seal: String,
}

impl HeadRow {
    /// The row of a job as it stands; place and hash come from its log.
    pub(crate) fn of(job: &Job) -> HeadRow {
        let booked = &job.booked_in;
        let stay = job.treatments.iter().rev().find(|stay| !stay.back).or(job.treatments.last());
        HeadRow {
            job: job.number,
            stage: job.stage.name().to_owned(),
            since: job.since.clone(),
            mark: booked.mark.clone(),
            customer: booked.customer.clone(),
            telephone: booked.telephone.clone(),
            crank: booked.crank.clone(),
            promised: booked.promised.clone().unwrap_or_default(),
            batch: stay.map(|stay| stay.batch.clone()).unwrap_or_default(),
            flags: job.flags.len() as i64,
            revision: i64::from(job.revision),
            put_away: i64::from(job.put_away),
            example: i64::from(booked.example),
            find: one_form(&format!("{} {} {} {}", job.number, booked.mark, booked.customer, booked.crank)),
            digits: booked.telephone.chars().filter(char::is_ascii_digit).collect(),
            ..HeadRow::default()
        }
    }
}

/// One job in the list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Head {
    /// Its number.
    #[schema(value_type = i64)]
    pub job: JobNumber,
    /// The place of its last entry.
    pub seq: i64,
    /// When something was last written to it.
    pub updated: String,
    /// How to reach whose it is.
    pub telephone: String,
    /// The revision of its record.
    pub revision: i64,
    /// Whether it was put away.
    pub put_away: bool,
    /// The stage of work.
    pub stage: Stage,
    /// When it came to this stage.
    pub since: String,
    /// The mark on the core.
    pub mark: String,
    /// Whose crank it is.
    pub customer: String,
    /// What it is.
    pub crank: String,
    /// When it was promised for.
    pub promised: Option<String>,
    /// Flags that are not settled.
    pub flags: i64,
    /// The batch it is, or was last, treated in.
    pub batch: Option<String>,
    /// Whether it is an example.
    pub example: bool,
}

/// Which jobs to list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wanted {
    /// Only those at this stage; without one, all but the collected, or all that the search finds.
    pub stage: Option<Stage>,
    /// Only those whose number, mark, customer or crank has these words, or whose telephone ends like this.
    pub search: String,
    /// Those put away instead of the others.
    pub put_away: bool,
    /// The page, from 0.
    pub page: u32,
}

/// One page of jobs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct JobList {
    /// The jobs, latest first; at most fifty.
    pub jobs: Vec<Head>,
    /// How many there are on all pages.
    pub all: i64,
    /// The number of the first one listed, from 1.
    pub from: i64,
    /// Jobs that are damaged, as far as they were met: they are not shown, whatever is searched for. Normally there are none.
    #[schema(value_type = Vec<i64>)]
    pub damaged: Vec<JobNumber>,
}

const CHOSEN: &str = "FROM head WHERE job > 0 AND example = 0 AND put_away = $1 AND (stage = $2 OR ($2 = '' AND ($5 = 1 OR stage <> \
                      'collected'))) AND (find LIKE $3 ESCAPE '!' OR digits LIKE $4)";
pub(crate) const COLUMNS: &str = "job, seq, hash, stage, since, updated, mark, customer, telephone, crank, promised, batch, \
                       flags, revision, put_away, example, find, digits, seal";
/// The same in a record of the first format, which may be read as it is.
const OLD_COLUMNS: &str = "job, seq, hash, stage, since, updated, mark, customer, telephone, crank, promised, batch, \
                           flags, revision, put_away, example, find, digits";

/// Binds what [`CHOSEN`] asks for.
macro_rules! bind_wanted {
    ($query:expr, $wanted:expr) => {
        $query
            .bind(i64::from($wanted.put_away))
            .bind($wanted.stage.map(Stage::name).unwrap_or_default())
            .bind(like_words(&$wanted.search))
            .bind(like_telephone(&$wanted.search))
            .bind(i64::from(!$wanted.search.trim().is_empty()))
    };
}

impl Store {
    /// One page of the list of jobs; examples are not among them.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn jobs(&self, wanted: &Wanted) -> Result<JobList, StoreError> {
        let ListLook { mut damaged } = self.list_look().await?.clone();
        let from = i64::from(wanted.page) * PAGE;
        let count = format!("SELECT COUNT(*) {CHOSEN}");
        let columns = self.columns();
        let page = format!("SELECT {columns} {CHOSEN} ORDER BY updated DESC, job DESC LIMIT {PAGE} OFFSET {from}");
        let (all, rows): ((i64,), Vec<HeadRow>) = reading!(self, pool => {
            let all = bind_wanted!(sqlx::query_as(sqlx::AssertSqlSafe(count)), wanted).fetch_one(pool).await?;
            let rows = bind_wanted!(sqlx::query_as(sqlx::AssertSqlSafe(page)), wanted).fetch_all(pool).await?;
            (all, rows)
        });
        let met = self.met.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let (sound, broken): (Vec<_>, Vec<_>) =
            rows.into_iter().partition(|row| self.is_sound(row) && !met.contains(&row.job));
        // The shop's own log is no job of the list.
        damaged.extend(met.into_iter().filter(|job| *job > 0));
        let unlisted = i64::try_from(broken.len()).unwrap_or(0);
        damaged.extend(broken.into_iter().map(|row| row.job));
        damaged.sort_unstable();
        damaged.dedup();
        let jobs = sound.into_iter().map(head).collect::<Result<_, _>>()?;
        Ok(JobList { jobs, all: all.0.saturating_sub(unlisted), from: from + 1, damaged })
    }

    /// How many open jobs stand at each stage, in the order of the work; examples and those put away do not count.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn stages(&self) -> Result<Vec<(Stage, i64)>, StoreError> {
        let query = "SELECT stage, COUNT(*) FROM head WHERE job > 0 AND put_away = 0 AND example = 0 GROUP BY stage";
        let rows: Vec<(String, i64)> = reading!(self, pool => sqlx::query_as(query).fetch_all(pool).await?);
        Ok(Stage::ALL
            .into_iter()
            .map(|stage| (stage, rows.iter().find(|(name, _)| name == stage.name()).map_or(0, |(_, count)| *count)))
            .collect())
    }

    /// A job as the list shows it.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::NoSuchJob`] where there is none.
    pub async fn head(&self, job: JobNumber) -> Result<Head, StoreError> {
        let row = if job > 0 { self.sound_head(job).await? } else { None };
        head(row.ok_or(StoreError::NoSuchJob(job))?)
    }

    /// The marks and the customers of all jobs but examples, each once.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn marks_and_customers(&self) -> Result<(Vec<String>, Vec<String>), StoreError> {
        let of = |column: &str| {
            format!("SELECT DISTINCT {column} FROM head WHERE job > 0 AND example = 0 AND {column} <> ''")
        };
        let (marks, customers): (Vec<(String,)>, Vec<(String,)>) = reading!(self, pool => {
            let marks = sqlx::query_as(sqlx::AssertSqlSafe(of("mark"))).fetch_all(pool).await?;
            let customers = sqlx::query_as(sqlx::AssertSqlSafe(of("customer"))).fetch_all(pool).await?;
            (marks, customers)
        });
        let words = |rows: Vec<(String,)>| rows.into_iter().map(|(name,)| name).collect();
        Ok((words(marks), words(customers)))
    }

    /// The example jobs, which no other list shows.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn examples(&self) -> Result<Vec<Head>, StoreError> {
        self.examples_where(false).await
    }

    /// The example jobs that were put away and can be brought back.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn examples_put_away(&self) -> Result<Vec<Head>, StoreError> {
        self.examples_where(true).await
    }

    async fn examples_where(&self, put_away: bool) -> Result<Vec<Head>, StoreError> {
        let columns = self.columns();
        let query = format!("SELECT {columns} FROM head WHERE job > 0 AND example = 1 AND put_away = $1 ORDER BY job");
        let rows: Vec<HeadRow> = reading!(self, pool => {
            sqlx::query_as(sqlx::AssertSqlSafe(query)).bind(i64::from(put_away)).fetch_all(pool).await?
        });
        // One that is damaged is named by the list of jobs.
        rows.into_iter().filter(|row| self.is_sound(row)).map(head).collect()
    }

    /// The jobs of a batch for treatment, by number.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn jobs_in_batch(&self, batch: &str) -> Result<Vec<Head>, StoreError> {
        // A text column cannot hold a null, and no job without a batch is in one.
        if batch.is_empty() || batch.contains('\0') {
            return Ok(Vec::new());
        }
        // A damaged row may be of this batch: what is listed as all of it must be all of it.
        self.list_is_whole().await?;
        let query = format!("SELECT {} FROM head WHERE job > 0 AND batch = $1 ORDER BY job", self.columns());
        let rows: Vec<HeadRow> =
            reading!(self, pool => sqlx::query_as(sqlx::AssertSqlSafe(query)).bind(batch).fetch_all(pool).await?);
        rows.into_iter().map(head).collect()
    }

    /// The job and the place of an entry, if it is written; job 0 is the shop's own log.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn place_of(&self, entry: EntryId) -> Result<Option<(JobNumber, i64)>, StoreError> {
        let query = "SELECT job, seq FROM entry WHERE id = $1";
        Ok(reading!(self, pool => sqlx::query_as(query).bind(entry.to_string()).fetch_optional(pool).await?))
    }

    /// The entries of a job after a place, in order.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::NoSuchJob`] where the job has no entries at all.
    pub async fn entries(&self, job: JobNumber, after: i64) -> Result<Vec<Entry>, StoreError> {
        if job <= 0 {
            return Err(StoreError::NoSuchJob(job));
        }
        let lines = self.sound_lines(job, after).await?.ok_or(StoreError::NoSuchJob(job))?;
        lines.iter().map(entry_from).collect()
    }

    /// A job as it stands.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn job(&self, job: JobNumber) -> Result<Job, StoreError> {
        Ok(fold(&self.entries(job, 0).await?))
    }

    /// The shop as it stands.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn shop(&self) -> Result<Shop, StoreError> {
        Ok(fold_shop(&self.shop_entries().await?))
    }

    /// The place of the last entry of the shop's own log.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn shop_seq(&self) -> Result<i64, StoreError> {
        Ok(self.sound_head(0).await?.map_or(0, |row| row.seq))
    }

    /// The entries of the shop's own log, in order.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn shop_entries(&self) -> Result<Vec<Entry<ShopKind>>, StoreError> {
        self.sound_lines(0, 0).await?.unwrap_or_default().iter().map(entry_from).collect()
    }

    const fn columns(&self) -> &'static str {
        if self.format < 2 { OLD_COLUMNS } else { COLUMNS }
    }

    /// The head of a job, or of the shop's own log.
    pub(crate) async fn head_row(&self, job: JobNumber) -> Result<Option<HeadRow>, StoreError> {
        let query = format!("SELECT {} FROM head WHERE job = $1", self.columns());
        Ok(reading!(self, pool => {
            sqlx::query_as(sqlx::AssertSqlSafe(query)).bind(job).fetch_optional(pool).await?
        }))
    }

    /// The rows of a log after a place, in order.
    pub(crate) async fn lines(&self, job: JobNumber, after: i64) -> Result<Vec<Line>, StoreError> {
        Ok(reading!(self, pool => sqlx::query_as(LINES_OF_JOB).bind(job).bind(after).fetch_all(pool).await?))
    }

    /// Every head, by number.
    pub(crate) async fn heads(&self) -> Result<Vec<HeadRow>, StoreError> {
        let query = format!("SELECT {} FROM head ORDER BY job", self.columns());
        Ok(reading!(self, pool => sqlx::query_as(sqlx::AssertSqlSafe(query)).fetch_all(pool).await?))
    }
}

fn head(row: HeadRow) -> Result<Head, StoreError> {
    let stage = row.stage.parse().map_err(|_| StoreError::damaged(format!("job {} is at no stage", row.job)))?;
    let some = |text: String| Some(text).filter(|text| !text.is_empty());
    Ok(Head {
        job: row.job,
        seq: row.seq,
        updated: row.updated,
        telephone: row.telephone,
        revision: row.revision,
        put_away: row.put_away != 0,
        stage,
        since: row.since,
        mark: row.mark,
        customer: row.customer,
        crank: row.crank,
        promised: some(row.promised),
        flags: row.flags,
        batch: some(row.batch),
        example: row.example != 0,
    })
}

/// The longest that is searched for.
const MOST_SEARCH_BYTES: usize = 40_000;

/// A pattern for words anywhere; what is searched for is taken as it is written.
fn like_words(search: &str) -> String {
    // A text column cannot hold a null: PostgreSQL refuses it, SQLite would stop reading there.
    let plain = one_form(&search.replace('\0', "")).replace('!', "!!").replace('%', "!%").replace('_', "!_");
    // SQLite takes no pattern of more than 50,000 bytes, and nothing that is searched through is half as long.
    if plain.len() > MOST_SEARCH_BYTES { "nothing".to_owned() } else { format!("%{plain}%") }
}

/// A pattern for the end of a telephone number: three digits or more, and nothing that is no number.
fn like_telephone(search: &str) -> String {
    let digits: String = search.chars().filter(char::is_ascii_digit).collect();
    let other = search.chars().any(|c| !c.is_ascii_digit() && !" -+()/".contains(c));
    if digits.len() < 3 || other { "nothing".to_owned() } else { format!("%{digits}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn searches_take_what_is_written() {
        assert_eq!(like_words(" O'Brien 100% "), "%o'brien 100!%%");
        assert_eq!(like_words("a_b!"), "%a!_b!!%");
        assert_eq!(like_words("Zoe\u{308}"), "%zoë%");
        assert_eq!(like_words("Ｚｏë"), "%zoë%");
        assert_eq!(like_words(&"x".repeat(60_000)), "nothing");
        assert!(like_words(&"é".repeat(20_000)).len() < 50_000);
        assert_eq!(like_telephone("01792-446"), "%01792446");
        assert_eq!(like_telephone("46"), "nothing");
        assert_eq!(like_telephone("C-0412"), "nothing");
    }
}
