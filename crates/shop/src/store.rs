//! Where the logs are kept: SQLite in one file, or PostgreSQL. One set of queries serves both.

mod address;
mod append;
mod backup;
mod jobs;
mod lines;
mod opening;
mod paper;
mod pictures;
mod private;
mod scribe;
mod seal;
mod server;
mod sound;
mod verify;
mod watch;

use std::collections::BTreeSet;
use std::hash::{BuildHasher, Hasher, RandomState};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use sqlx::migrate::{Migration, MigrationType, Migrator};
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{PgPool, SqlSafeStr, SqlitePool};
use tokio::sync::OnceCell;

use crate::error::StoreError;
use crate::log::{EntryId, JobNumber};

use scribe::Scribe;
use seal::Keys;
use sound::ListLook;
use watch::Watch;

pub use address::checked_place;
pub use append::{Appended, BookedJob, WorkedOut};
pub use jobs::{Head, JobList, Wanted};
pub use opening::Opening;
pub use paper::SignedPaper;
pub use pictures::KeptPicture;
pub use verify::Checked;

/// The version of the entries and tables that this program writes, and the newest that it reads.
pub const FORMAT: i64 = 2;
/// The number of the first job; a shop with a history does not start at one.
pub(crate) const FIRST_JOB: i64 = 1001;
/// So many jobs may be missing behind the last one in the list before the number that the next one gets is doubted instead.
pub(crate) const MOST_GAP: i64 = 1_000;
/// How long to wait for another program that is writing before saying so.
const PATIENCE: Duration = Duration::from_secs(5);

/// The record of a shop, opened.
///
/// Cheap to clone; all clones share the same connections.
#[derive(Clone, Debug)]
pub struct Store {
    pub(crate) pools: Pools,
    /// The file or the server, for messages.
    pub(crate) place: String,
    /// What entries are sealed with.
    pub(crate) keys: Keys,
    /// The key that the record is sealed with, where it is not at hand.
    pub(crate) missing_key: Option<String>,
    /// The format of the record: one that is only read may be older than this program.
    pub(crate) format: i64,
    /// What was found when the list of jobs was looked at.
    pub(crate) listed: Arc<OnceCell<ListLook>>,
    /// Jobs that were met since and are damaged.
    pub(crate) met: Arc<Mutex<BTreeSet<JobNumber>>>,
    /// Watches the file while it is worked in.
    pub(crate) watch: Option<Watch>,
}

#[derive(Clone, Debug)]
pub(crate) enum Pools {
    Sqlite {
        /// One connection: SQLite has one writer at a time, and waiting here is fairer than waiting on its lock.
        write: SqlitePool,
        /// Writes entries, many together.
        scribe: Scribe,
        read: SqlitePool,
        /// For connections of their own: copying takes long and nobody should wait for it.
        options: Box<SqliteConnectOptions>,
    },
    Postgres(PgPool),
}

/// Runs a body with a pool to read from, whichever database it is.
macro_rules! reading {
    ($store:expr, $pool:ident => $body:expr) => {{
        $store.is_there()?;
        match &$store.pools {
            $crate::store::Pools::Sqlite { read: $pool, .. } => $body,
            $crate::store::Pools::Postgres($pool) => $body,
        }
    }};
}

/// Runs a body in a transaction that writes; what is not committed by the body is rolled back.
macro_rules! writing {
    ($store:expr, $tx:ident => $body:expr) => {
        match &$store.pools {
            $crate::store::Pools::Sqlite { write, .. } => {
                // Taking the lock first means that what is read below cannot change before it is written.
                #[allow(unused_mut, reason = "not every body needs it")]
                let mut $tx = {
                    $store.is_there()?;
                    write.begin_with("BEGIN IMMEDIATE").await?
                };
                $body;
                $store.is_there()?;
            }
            $crate::store::Pools::Postgres(pool) => {
                #[allow(unused_mut, reason = "not every body needs it")]
                let mut $tx = pool.begin().await?;
                $body;
            }
        }
    };
}

pub(crate) use {reading, writing};

fn migrator() -> Migrator {
    let step = |version, name: &'static str, sql: &'static str| {
        Migration::new(version, name.into(), MigrationType::Simple, sql.into_sql_str(), false)
    };
    Migrator::with_migrations(vec![
        step(1, "record", include_str!("../migrations/0001_record.sql")),
        step(2, "seal", include_str!("../migrations/0002_seal.sql")),
    ])
}

impl Store {
    fn over(pools: Pools, place: String) -> Store {
        Store {
            pools,
            place,
            keys: Keys::default(),
            missing_key: None,
            format: FORMAT,
            listed: Arc::default(),
            met: Arc::default(),
            watch: None,
        }
    }

    /// The file or the server that holds the record, as it can be shown.
    pub fn place(&self) -> &str {
        &self.place
    }

    /// Whether it is kept in a file, and not on a server.
    pub fn is_file(&self) -> bool {
        matches!(self.pools, Pools::Sqlite { .. })
    }

    /// Whether the file that is open is still the one that its name stands for.
    pub(crate) fn is_there(&self) -> Result<(), StoreError> {
        self.watch.as_ref().map_or(Ok(()), Watch::look)
    }

    /// Closes all connections. What was acknowledged is safe with or without it.
    pub async fn close(&self) {
        match &self.pools {
            Pools::Sqlite { write, read, scribe, .. } => {
                read.close().await;
                write.close().await;
                scribe.put_the_pen_down().await;
            }
            Pools::Postgres(pool) => pool.close().await,
        }
    }

    /// The format of the record, or nothing where there is none yet.
    async fn format(&self) -> Result<Option<i64>, StoreError> {
        let query = "SELECT format FROM record WHERE one = 1";
        let found: Result<Option<(i64,)>, sqlx::Error> = match &self.pools {
            Pools::Sqlite { write, .. } => sqlx::query_as(query).fetch_optional(write).await,
            Pools::Postgres(pool) => sqlx::query_as(query).fetch_optional(pool).await,
        };
        match found {
            Ok(Some((found,))) if found > FORMAT => Err(StoreError::NewerFormat { found, known: FORMAT }),
            Ok(found) => Ok(found.map(|(format,)| format)),
            Err(sqlx::Error::Database(error)) if is_missing_table(error.as_ref()) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    /// Whether a file without a record holds something else. A database server may well be shared.
    async fn has_other_tables(&self) -> Result<bool, StoreError> {
        let Pools::Sqlite { write, .. } = &self.pools else { return Ok(false) };
        let query = "SELECT COUNT(*) FROM sqlite_master WHERE name <> '_sqlx_migrations' AND name NOT LIKE 'sqlite_%'";
        let (count,): (i64,) = sqlx::query_as(query).fetch_one(write).await?;
        Ok(count > 0)
    }
}

/// A name for a new entry that nobody else draws.
///
/// # Errors
/// [`StoreError::Fault`] where the operating system has no random numbers.
pub fn fresh_id() -> Result<EntryId, StoreError> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).map_err(StoreError::fault)?;
    Ok(EntryId::from_bits(u128::from_be_bytes(bytes)))
}

/// The time by this computer's clock, RFC 3339 in UTC to the millisecond.
pub fn now() -> String {
    let now = jiff::Timestamp::now();
    jiff::Timestamp::from_millisecond(now.as_millisecond()).unwrap_or(now).to_string()
}

/// The file that the name of a record stands for, with or without `sqlite:` before it; nothing for a record on a server.
pub fn file_of(place: &str) -> Option<&Path> {
    if address::is_address(place) {
        return None;
    }
    Some(Path::new(place.strip_prefix("sqlite://").or_else(|| place.strip_prefix("sqlite:")).unwrap_or(place)))
}

fn is_missing_table(error: &dyn sqlx::error::DatabaseError) -> bool {
    // PostgreSQL: undefined_table. SQLite has one code for all faults of a query.
    error.code().as_deref() == Some("42P01") || error.message().starts_with("no such table")
}

fn opening_error(error: sqlx::Error, place: &str) -> StoreError {
    match error {
        sqlx::Error::Io(error) => StoreError::CannotOpen { place: place.to_owned(), detail: error.to_string() },
        error => name_place(error.into(), place),
    }
}

/// Says which file it is about.
fn name_place(error: StoreError, place: &str) -> StoreError {
    match error {
        StoreError::CannotOpen { detail, .. } => StoreError::CannotOpen { place: place.to_owned(), detail },
        StoreError::Damaged { detail } => StoreError::Damaged { detail: format!("{place}: {detail}") },
        StoreError::NotARecord { .. } => StoreError::NotARecord { file: place.to_owned() },
        other => other,
    }
}

/// A file beside another, whose name is the same with something behind it.
pub(crate) fn beside(file: &Path, end: &str) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(end);
    PathBuf::from(name)
}

/// The file a backup is written to before it is whole: a name that nobody else has thought of.
pub(crate) fn part_of(file: &Path) -> PathBuf {
    let random = RandomState::new().build_hasher().finish();
    let mut name = file.as_os_str().to_owned();
    name.push(format!(".{random:016x}.part"));
    PathBuf::from(name)
}
