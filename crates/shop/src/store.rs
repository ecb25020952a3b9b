//! Where the logs are kept: SQLite in one file, or PostgreSQL. One set of queries serves both.

mod append;
mod backup;
mod jobs;
mod lines;
mod pictures;
mod scribe;
mod verify;

use std::hash::{BuildHasher, Hasher, RandomState};
use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::migrate::{Migration, MigrationType, Migrator};
use sqlx::postgres::{PgConnectOptions, PgPoolOptions};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{Connection, PgPool, SqlSafeStr, SqlitePool};

use crate::error::StoreError;
use crate::log::EntryId;

use scribe::Scribe;

pub use append::{Appended, BookedJob, WorkedOut};
pub use jobs::{Head, JobList, Wanted};
pub use pictures::KeptPicture;
pub use verify::Checked;

/// The version of the entries and tables that this program writes, and the newest that it reads.
pub const FORMAT: i64 = 1;
/// The number of the first job; a shop with a history does not start at one.
pub(crate) const FIRST_JOB: i64 = 1001;
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
    ($store:expr, $pool:ident => $body:expr) => {
        match &$store.pools {
            $crate::store::Pools::Sqlite { read: $pool, .. } => $body,
            $crate::store::Pools::Postgres($pool) => $body,
        }
    };
}

/// Runs a body in a transaction that writes; what is not committed by the body is rolled back.
macro_rules! writing {
    ($store:expr, $tx:ident => $body:expr) => {
        match &$store.pools {
            $crate::store::Pools::Sqlite { write, .. } => {
                // Taking the lock first means that what is read below cannot change before it is written.
                #[allow(unused_mut, reason = "not every body needs it")]
                let mut $tx = write.begin_with("BEGIN IMMEDIATE").await?;
                $body
            }
            $crate::store::Pools::Postgres(pool) => {
                #[allow(unused_mut, reason = "not every body needs it")]
                let mut $tx = pool.begin().await?;
                $body
            }
        }
    };
}

pub(crate) use {reading, writing};

fn migrator() -> Migrator {
    let step = |version, name: &'static str, sql: &'static str| {
        Migration::new(version, name.into(), MigrationType::Simple, sql.into_sql_str(), false)
    };
    Migrator::with_migrations(vec![step(1, "record", include_str!("../migrations/0001_record.sql"))])
}

impl Store {
    /// Opens a record, and makes it where there is none. `place` is a file (a path, with or without `sqlite:` before it)
    /// or the address of a PostgreSQL database (`postgres://…`).
    ///
    /// # Errors
    /// [`StoreError`]: it cannot be opened, is damaged, no record, or of a newer format.
    pub async fn open(place: &str) -> Result<Store, StoreError> {
        if place.starts_with("postgres://") || place.starts_with("postgresql://") {
            return Store::open_postgres(place).await;
        }
        Store::open_sqlite(Path::new(strip_sqlite(place))).await
    }

    async fn open_postgres(address: &str) -> Result<Store, StoreError> {
        let cannot = |error: &sqlx::Error| StoreError::CannotOpen {
            place: "on the server".to_owned(),
            detail: error.to_string(),
        };
        let options: PgConnectOptions = address.parse().map_err(|error| cannot(&error))?;
        let place = format!("{} on {}", options.get_database().unwrap_or("the default database"), options.get_host());
        let options = options.options([("lock_timeout", "5s"), ("application_name", "tenunder")]);
        let pool =
            PgPoolOptions::new().max_connections(8).acquire_timeout(PATIENCE * 2).connect_with(options).await.map_err(
                |error| match StoreError::from(error) {
                    StoreError::CannotOpen { detail, .. } => StoreError::CannotOpen { place: place.clone(), detail },
                    // Nobody can hold a pool that was only just made; it is the server that is silent.
                    StoreError::Locked => StoreError::NoAnswer { detail: format!("{place} said nothing") },
                    other => other,
                },
            )?;
        let store = Store { pools: Pools::Postgres(pool), place };
        store.prepare().await?;
        Ok(store)
    }

    async fn open_sqlite(file: &Path) -> Result<Store, StoreError> {
        let place = file.display().to_string();
        if file.is_dir() {
            let detail = "it is a folder; name a file in it".to_owned();
            return Err(StoreError::CannotOpen { place, detail });
        }
        let options = SqliteConnectOptions::new()
            .filename(file)
            .create_if_missing(true)
            .foreign_keys(true)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full)
            .busy_timeout(PATIENCE)
            // The scribe has the log copied aside; a writer does it only when that was not to be done for long.
            .pragma("wal_autocheckpoint", "8000")
            .optimize_on_close(true, None);
        let here = |error: sqlx::Error| opening_error(error, &place);
        let write = SqlitePoolOptions::new()
            .max_connections(1)
            // A full disk makes SQLite end a transaction by itself, and the connection is then counted as still inside
            // one: it is let go, and a new one is made.
            .before_acquire(|connection, _| Box::pin(async move { Ok(!connection.is_in_transaction()) }))
            .acquire_timeout(PATIENCE * 2)
            .idle_timeout(None)
            .max_lifetime(None)
            .connect_with(options.clone())
            .await
            .map_err(here)?;
        let read = SqlitePoolOptions::new()
            .max_connections(4)
            .acquire_timeout(PATIENCE * 2)
            .connect_lazy_with(options.clone().read_only(true).create_if_missing(false));
        let scribe = Scribe::start(write.clone(), options.clone());
        let options = Box::new(options);
        let store = Store { pools: Pools::Sqlite { write, scribe, read, options }, place: place.clone() };
        if let Err(error) = store.prepare().await {
            store.close().await;
            return Err(name_place(error, &place));
        }
        Ok(store)
    }

    /// Opens a backup, or a record that nobody is writing to, without changing anything in it.
    ///
    /// # Errors
    /// [`StoreError`], as [`Store::open`]; [`StoreError::NotARecord`] where there is no such file.
    pub async fn open_to_read(file: &Path) -> Result<Store, StoreError> {
        let place = file.display().to_string();
        if !file.is_file() {
            let detail = "there is no such file".to_owned();
            return Err(StoreError::CannotOpen { place, detail });
        }
        let options = SqliteConnectOptions::new().filename(file).read_only(true).busy_timeout(PATIENCE);
        let pool = SqlitePoolOptions::new()
            .max_connections(1)
            .acquire_timeout(PATIENCE * 2)
            .connect_with(options.clone())
            .await
            .map_err(|error| opening_error(error, &place))?;
        let scribe = Scribe::start(pool.clone(), options.clone());
        let options = Box::new(options);
        let pools = Pools::Sqlite { write: pool.clone(), scribe, read: pool, options };
        let store = Store { pools, place: place.clone() };
        match store.format().await {
            Ok(Some(_)) => Ok(store),
            Ok(None) => Err(StoreError::NotARecord { file: place }),
            Err(error) => Err(name_place(error, &place)),
        }
    }

    /// The file or the server that holds the record, as it can be shown.
    pub fn place(&self) -> &str {
        &self.place
    }

    /// Closes all connections. What was acknowledged is safe with or without it.
    pub async fn close(&self) {
        match &self.pools {
            Pools::Sqlite { write, read, .. } => {
                read.close().await;
                write.close().await;
            }
            Pools::Postgres(pool) => pool.close().await,
        }
    }

    /// Makes the tables, or brings older ones up to date; refuses newer ones before touching anything.
    async fn prepare(&self) -> Result<(), StoreError> {
        let format = self.format().await?;
        if format.is_none() && self.has_other_tables().await? {
            return Err(StoreError::NotARecord { file: self.place.clone() });
        }
        let migrated = match &self.pools {
            Pools::Sqlite { write, .. } => migrator().run(write).await,
            Pools::Postgres(pool) => migrator().run(pool).await,
        };
        migrated.map_err(|error| match error {
            sqlx::migrate::MigrateError::Execute(error) | sqlx::migrate::MigrateError::ExecuteMigration(error, _) => {
                error.into()
            }
            sqlx::migrate::MigrateError::VersionMissing(found) => StoreError::NewerFormat { found, known: FORMAT },
            other => StoreError::fault(other),
        })?;
        writing!(self, tx => {
            sqlx::query("INSERT INTO record (one, format, next_job) VALUES (1, $1, $2) ON CONFLICT (one) DO NOTHING")
                .bind(FORMAT)
                .bind(FIRST_JOB)
                .execute(&mut *tx)
                .await?;
            sqlx::query(append::EMPTY_HEAD).bind(0_i64).execute(&mut *tx).await?;
            tx.commit().await?;
        });
        Ok(())
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

pub(crate) fn strip_sqlite(place: &str) -> &str {
    place.strip_prefix("sqlite://").or_else(|| place.strip_prefix("sqlite:")).unwrap_or(place)
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
        other => other,
    }
}

/// The file a backup is written to before it is whole: a name that nobody else has thought of.
pub(crate) fn part_of(file: &Path) -> PathBuf {
    let random = RandomState::new().build_hasher().finish();
    let mut name = file.as_os_str().to_owned();
    name.push(format!(".{random:016x}.part"));
    PathBuf::from(name)
}
