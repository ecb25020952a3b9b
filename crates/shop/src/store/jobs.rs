//! The list of jobs: one row a job, kept in step with its log in the same transaction.

use super::lines::{LINES_OF_JOB, Line, entry_from};
use super::{Store, reading};
use crate::error::StoreError;
use crate::fold::{Job, fold};
use crate::log::{Entry, JobNumber};
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
    /// What a search by words looks through: number, mark, customer and crank in small letters.
    pub(crate) find: String,
    /// What a search by telephone looks through: its digits.
    pub(crate) digits: String,
}

impl HeadRow {
    /// The row of a job as it stands; place and hash come from its log.
    pub(crate) fn of(job: &Job) -> HeadRow {
        let booked = &job.booked_in;
        let away = job.treatments.last().filter(|_| job.stage == Stage::AtTreatment);
        HeadRow {
            job: job.number,
            stage: job.stage.name().to_owned(),
            since: job.since.clone(),
            mark: booked.mark.clone(),
            customer: booked.customer.clone(),
            telephone: booked.telephone.clone(),
            crank: booked.crank.clone(),
            promised: booked.promised.clone().unwrap_or_default(),
            batch: away.map(|treatment| treatment.batch.clone()).unwrap_or_default(),
            flags: job.flags.len() as i64,
            revision: i64::from(job.revision),
            put_away: i64::from(job.put_away),
            example: i64::from(booked.example),
            find: format!("{} {} {} {}", job.number, booked.mark, booked.customer, booked.crank).to_lowercase(),
            digits: booked.telephone.chars().filter(char::is_ascii_digit).collect(),
            ..HeadRow::default()
        }
    }
}

/// One job in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// Its number.
    pub job: JobNumber,
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
    /// The batch it is away with.
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
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobList {
    /// The jobs, latest first.
    pub jobs: Vec<Head>,
    /// How many there are on all pages.
    pub all: i64,
    /// The number of the first one listed, from 1.
    pub from: i64,
}

const CHOSEN: &str = "FROM head WHERE job > 0 AND put_away = $1 AND (stage = $2 OR ($2 = '' AND ($5 = 1 OR stage <> \
                      'collected'))) AND (find LIKE $3 ESCAPE '!' OR digits LIKE $4)";
const COLUMNS: &str = "job, seq, hash, stage, since, updated, mark, customer, telephone, crank, promised, batch, \
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
    /// One page of the list of jobs.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn jobs(&self, wanted: &Wanted) -> Result<JobList, StoreError> {
        let from = i64::from(wanted.page) * PAGE;
        let count = format!("SELECT COUNT(*) {CHOSEN}");
        let page = format!("SELECT {COLUMNS} {CHOSEN} ORDER BY updated DESC, job DESC LIMIT {PAGE} OFFSET {from}");
        let (all, rows): ((i64,), Vec<HeadRow>) = reading!(self, pool => {
            let all = bind_wanted!(sqlx::query_as(sqlx::AssertSqlSafe(count)), wanted).fetch_one(pool).await?;
            let rows = bind_wanted!(sqlx::query_as(sqlx::AssertSqlSafe(page)), wanted).fetch_all(pool).await?;
            (all, rows)
        });
        let jobs = rows.into_iter().map(head).collect::<Result<_, _>>()?;
        Ok(JobList { jobs, all: all.0, from: from + 1 })
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

    /// The entries of a job after a place, in order.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::NoSuchJob`] where the job has no entries at all.
    pub async fn entries(&self, job: JobNumber, after: i64) -> Result<Vec<Entry>, StoreError> {
        let lines = self.lines(job, after).await?;
        if lines.is_empty() && (after <= 0 || self.lines(job, 0).await?.is_empty()) {
            return Err(StoreError::NoSuchJob(job));
        }
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
        let lines = self.lines(0, 0).await?;
        let entries: Vec<Entry<ShopKind>> = lines.iter().map(entry_from).collect::<Result<_, _>>()?;
        Ok(fold_shop(&entries))
    }

    /// The rows of a log after a place, in order.
    pub(crate) async fn lines(&self, job: JobNumber, after: i64) -> Result<Vec<Line>, StoreError> {
        Ok(reading!(self, pool => sqlx::query_as(LINES_OF_JOB).bind(job).bind(after).fetch_all(pool).await?))
    }

    /// Every head, by number.
    pub(crate) async fn heads(&self) -> Result<Vec<HeadRow>, StoreError> {
        let query = format!("SELECT {COLUMNS} FROM head ORDER BY job");
        Ok(reading!(self, pool => sqlx::query_as(sqlx::AssertSqlSafe(query)).fetch_all(pool).await?))
    }
}

fn head(row: HeadRow) -> Result<Head, StoreError> {
    let stage = row.stage.parse().map_err(|_| StoreError::damaged(format!("job {} is at no stage", row.job)))?;
    let some = |text: String| Some(text).filter(|text| !text.is_empty());
    Ok(Head {
        job: row.job,
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

/// A pattern for words anywhere; what is searched for is taken as it is written.
fn like_words(search: &str) -> String {
    let plain = search.trim().to_lowercase().replace('!', "!!").replace('%', "!%").replace('_', "!_");
    format!("%{plain}%")
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
        assert_eq!(like_telephone("01792-446"), "%01792446");
        assert_eq!(like_telephone("46"), "nothing");
        assert_eq!(like_telephone("C-0412"), "nothing");
    }
}
