//! Opening a record: to work in, or only to read, and with its key.
//!
//! What is no record, or a newer one, is found by reading; until then nothing is written to the file, and nothing beside it.

use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::migrate::MigrateError;
use sqlx::postgres::PgPoolOptions;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection, PgPool};

use super::address::checked_place;
use super::scribe::Scribe;
use super::seal::Keys;
use super::server::{self, Server, connecting_error};
use super::sound::head_mark;
use super::watch::Watch;
use super::{
    FIRST_JOB, FORMAT, PATIENCE, Pools, Store, append, beside, file_of, migrator, name_place, opening_error, part_of,
    private, writing,
};
use crate::error::StoreError;

/// How a record is to be opened.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Opening {
    /// Whether a new one is made where there is none.
    pub make: bool,
    /// The file with its key. Without one it is the file of the record with `.key` behind its name; a record on a server has
    /// none then.
    pub key: Option<PathBuf>,
}

/// How long others are waited for where nobody else may have the file open.
const FREE_WITHIN: Duration = Duration::from_millis(500);

/// What stands in `sealed_with` where there is no key.
const NO_KEY: &str = "none";

impl Store {
    /// Opens a record to work in, and makes it where there is none. `place` is a file (a path, with or without `sqlite:`
    /// before it) or the address of a PostgreSQL database (`postgres://…`).
    ///
    /// # Errors
    /// [`StoreError`]: it cannot be opened, is damaged, no record, or of a newer format.
    pub async fn open(place: &str) -> Result<Store, StoreError> {
        Store::open_with(place, &Opening { make: true, key: None }).await
    }

    /// The same, as told.
    ///
    /// # Errors
    /// [`StoreError`], as [`Store::open`]; [`StoreError::NoRecord`] where there is none and none is to be made.
    pub async fn open_with(place: &str, opening: &Opening) -> Result<Store, StoreError> {
        checked_place(place)?;
        let Some(file) = file_of(place) else {
            let mut store = open_postgres(place, false).await?;
            store.prepare(opening.make).await?;
            store.take_key(opening.key.clone()).await?;
            return Ok(store);
        };
        let mut store = open_sqlite(file, opening.make).await?;
        let key = opening.key.clone().unwrap_or_else(|| beside(file, ".key"));
        let ready = match store.prepare(true).await {
            Ok(()) => store.take_key(Some(key)).await,
            Err(error) => Err(error),
        };
        match ready {
            Ok(()) => Ok(store),
            Err(error) => {
                store.close().await;
                Err(name_place(error, &store.place))
            }
        }
    }

    /// A new record in a file that is not to be sealed: a copy of one that is.
    pub(crate) async fn without_key(file: &Path) -> Result<Store, StoreError> {
        let mut store = open_sqlite(file, true).await?;
        store.prepare(true).await?;
        store.take_key(None).await?;
        Ok(store)
    }

    /// Opens a record, or a backup of one, to read: nothing in it is changed, and nothing is made beside it.
    ///
    /// # Errors
    /// [`StoreError`], as [`Store::open_with`].
    pub async fn open_reading(place: &str, key: Option<&Path>) -> Result<Store, StoreError> {
        checked_place(place)?;
        let file = file_of(place);
        let mut store = match file {
            None => open_postgres(place, true).await?,
            Some(file) => open_file_to_read(file).await?,
        };
        let key = key.map(Path::to_owned).or_else(|| file.map(|file| beside(file, ".key")));
        let opened = match store.format().await {
            Ok(Some(format)) => {
                store.format = format;
                store.look_for_key(key.as_deref()).await
            }
            Ok(None) => Err(StoreError::NotARecord { file: store.place.clone() }),
            Err(error) => Err(error),
        };
        match opened {
            Ok(()) => Ok(store),
            Err(error) => {
                store.close().await;
                Err(name_place(error, &store.place))
            }
        }
    }

    /// Opens a backup, or a record that nobody is writing to, without changing anything in it.
    ///
    /// # Errors
    /// [`StoreError`], as [`Store::open_reading`].
    pub async fn open_to_read(file: &Path) -> Result<Store, StoreError> {
        Store::open_reading(&file.display().to_string(), None).await
    }

    /// Makes the tables, or brings older ones up to date; refuses newer ones before touching anything.
    async fn prepare(&mut self, make: bool) -> Result<(), StoreError> {
        let format = self.format().await?;
        if format.is_none() && self.has_other_tables().await? {
            return Err(StoreError::NotARecord { file: self.place.clone() });
        }
        if format.is_none() && !make {
            return Err(StoreError::NoRecord { place: self.place.clone() });
        }
        if let Pools::Postgres(pool) = &self.pools
            && format == Some(FORMAT)
        {
            // Nothing is to be made, and whoever works in a record on a server need not be allowed to make anything.
            self.format = FORMAT;
            return as_migrated(pool).await;
        }
        let migrated = match &self.pools {
            Pools::Sqlite { write, .. } => migrator().run(write).await,
            Pools::Postgres(pool) => migrator().run(pool).await.map_err(only_the_owner),
        };
        migrated.map_err(|error| match error {
            MigrateError::Execute(error) | MigrateError::ExecuteMigration(error, _) => error.into(),
            MigrateError::VersionMissing(found) => StoreError::NewerFormat { found, known: FORMAT },
            MigrateError::VersionMismatch(_) | MigrateError::Dirty(_) => {
                StoreError::damaged("what it says of its own tables is not what was written")
            }
            MigrateError::Source(why) => StoreError::CannotOpen { place: self.place.clone(), detail: why.to_string() },
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
        self.format = FORMAT;
        Ok(())
    }

    /// What the record says it is sealed with, and whether anything was ever written to it.
    async fn sealed_with(&self) -> Result<(String, bool), StoreError> {
        let sealed = match self.format {
            ..2 => String::new(),
            _ => {
                let query = "SELECT sealed_with FROM record WHERE one = 1";
                let found: Option<(String,)> =
                    super::reading!(self, pool => sqlx::query_as(query).fetch_optional(pool).await?);
                let missing = || StoreError::damaged("the row that says what the record is, is missing");
                found.ok_or_else(missing)?.0
            }
        };
        let used = "SELECT COUNT(*) FROM head WHERE seq > 0";
        let (used,): (i64,) = super::reading!(self, pool => sqlx::query_as(used).fetch_one(pool).await?);
        Ok((sealed, used > 0))
    }

    /// Takes the key that the record was sealed with; makes one where it never had any.
    async fn take_key(&mut self, file: Option<PathBuf>) -> Result<(), StoreError> {
        let (sealed, used) = self.sealed_with().await?;
        let Some(file) = file else {
            match sealed.as_str() {
                "" => self.seal_all(&Keys::default()).await?,
                NO_KEY => {}
                name => self.missing_key = Some(name.to_owned()),
            }
            return Ok(());
        };
        // A key is safe on the disk under another name before anything is sealed with it.
        let begun = beside(&file, ".part");
        let keys = Keys::from_file(&file)?;
        if !matches!(sealed.as_str(), "" | NO_KEY) {
            if keys.has(&sealed) {
                self.keys = keys.using(&sealed);
            } else if Keys::from_file(&begun).is_ok_and(|keys| keys.has(&sealed)) {
                rename(&begun, &file)?;
                self.keys = Keys::from_file(&file)?.using(&sealed);
            } else {
                self.missing_key = Some(sealed);
            }
            return Ok(());
        }
        if keys.name().is_some() {
            if used {
                return Err(StoreError::SealGone { key: file.display().to_string() });
            }
            // A new record beside the key of one that was moved away.
            self.seal_all(&keys).await?;
        } else {
            // Only a key that was begun and never used can be left over.
            let _ = std::fs::remove_file(&begun);
            let keys = Keys::default().with_a_new_one()?;
            keys.clone().into_file(&begun)?;
            self.seal_all(&keys).await?;
            rename(&begun, &file)?;
            self.keys = keys;
            return Ok(());
        }
        self.keys = keys;
        Ok(())
    }

    /// Takes the key to read with, where it is at hand.
    async fn look_for_key(&mut self, file: Option<&Path>) -> Result<(), StoreError> {
        let (sealed, used) = self.sealed_with().await?;
        let keys = match file {
            Some(file) => Keys::from_file(file)?,
            None => Keys::default(),
        };
        match sealed.as_str() {
            "" | NO_KEY if keys.name().is_some() && used => {
                let key = file.map(|file| file.display().to_string()).unwrap_or_default();
                return Err(StoreError::SealGone { key });
            }
            "" | NO_KEY => {}
            name if keys.has(name) => self.keys = keys.using(name),
            name => self.missing_key = Some(name.to_owned()),
        }
        Ok(())
    }

    /// Seals every row of the list of jobs, and with each the log that it closes; what is broken stays so.
    pub(crate) async fn seal_all(&self, keys: &Keys) -> Result<(), StoreError> {
        writing!(self, tx => {
            // Held from here on, so that nobody books a crank in meanwhile.
            let name = keys.name().unwrap_or(NO_KEY);
            sqlx::query("UPDATE record SET sealed_with = $1 WHERE one = 1").bind(name).execute(&mut *tx).await?;
            let query = format!("SELECT {} FROM head WHERE seq > 0", super::jobs::COLUMNS);
            let heads: Vec<super::jobs::HeadRow> =
                sqlx::query_as(sqlx::AssertSqlSafe(query)).fetch_all(&mut *tx).await?;
            for head in heads.iter().filter(|head| head.seal.is_empty() || self.is_sound(head)) {
                sqlx::query("UPDATE head SET seal = $2 WHERE job = $1")
                    .bind(head.job)
                    .bind(head_mark(keys, head))
                    .execute(&mut *tx)
                    .await?;
            }
            tx.commit().await?;
        });
        Ok(())
    }

    /// Whether nobody else has the file of a record open. Whoever has would take every seal of a new key for a false one.
    ///
    /// # Errors
    /// [`StoreError::Locked`] where somebody has; else as [`Store::open_reading`]. A server is not asked.
    pub async fn is_free(place: &str) -> Result<(), StoreError> {
        let Some(file) = file_of(place) else { return Ok(()) };
        look_before(file).await?;
        let here = |error: sqlx::Error| name_place(error.into(), place);
        let options = SqliteConnectOptions::new().filename(as_file(file)?).create_if_missing(false);
        let mut connection = options.busy_timeout(FREE_WITHIN).connect().await.map_err(here)?;
        // The log beside the file can be given up only by the last who has it open; opening it to work in begins it again.
        let alone = sqlx::query_as("PRAGMA journal_mode = DELETE").fetch_one(&mut connection).await;
        let _ = connection.close().await;
        let (mode,): (String,) = alone.map_err(here)?;
        if mode == "delete" { Ok(()) } else { Err(StoreError::Locked) }
    }

    /// Makes a new key, and seals the record with it as it stands. The keys that were at hand stay in the file, so that what
    /// they sealed can still be told.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] where the record is not whole: what is damaged is not sealed.
    pub async fn renew_key(&mut self, key: Option<&Path>) -> Result<PathBuf, StoreError> {
        if let Some(fault) = self.verify().await?.faults.first() {
            return Err(StoreError::damaged(fault.clone()));
        }
        let file = match (key, &self.pools) {
            (Some(file), _) => file.to_owned(),
            (None, Pools::Sqlite { .. }) => beside(Path::new(&self.place), ".key"),
            (None, Pools::Postgres(_)) => return Err(StoreError::NoPlaceForKey),
        };
        // Whatever keys are there stay in the file: they tell what they sealed.
        let keys = Keys::from_file(&file)?.with_a_new_one()?;
        let begun = beside(&file, ".part");
        let _ = std::fs::remove_file(&begun);
        keys.clone().into_file(&begun)?;
        self.seal_all(&keys).await?;
        rename(&begun, &file)?;
        self.keys = keys;
        self.missing_key = None;
        Ok(file)
    }

    /// Whether this record can be written to: only with the key that it was sealed with.
    pub(crate) fn may_write(&self) -> Result<(), StoreError> {
        match &self.missing_key {
            Some(key) => Err(StoreError::KeyMissing { key: key.clone() }),
            None => Ok(()),
        }
    }

    /// The name of the key that the record is sealed with; and whether it is at hand.
    pub fn key(&self) -> Option<(&str, bool)> {
        match &self.missing_key {
            Some(name) => Some((name, false)),
            None => self.keys.name().map(|name| (name, true)),
        }
    }
}

/// Whether the tables on a server are those that this program makes.
async fn as_migrated(pool: &PgPool) -> Result<(), StoreError> {
    let query = "SELECT version, checksum, success FROM _sqlx_migrations ORDER BY version";
    let found: Vec<(i64, Vec<u8>, bool)> = sqlx::query_as(query).fetch_all(pool).await?;
    let known = migrator();
    let expected = known.iter().map(|step| (step.version, step.checksum.to_vec(), true));
    match found.into_iter().eq(expected) {
        true => Ok(()),
        false => Err(StoreError::damaged("what it says of its own tables is not what was written")),
    }
}

/// Tables are made by whoever owns the database; for others that is said.
fn only_the_owner(error: MigrateError) -> MigrateError {
    let denied = |error: &sqlx::Error| {
        error.as_database_error().and_then(|error| error.code()).is_some_and(|code| code == "42501")
    };
    match error {
        MigrateError::Execute(error) | MigrateError::ExecuteMigration(error, _) if denied(&error) => MigrateError::Source(
            "the tables are to be made or brought up to date, and this role may not: open the record once as the role \
             that owns its database"
                .into(),
        ),
        other => other,
    }
}

fn rename(from: &Path, to: &Path) -> Result<(), StoreError> {
    std::fs::rename(from, to).map_err(|error| StoreError::file(to, &error))
}

async fn open_postgres(address: &str, reading: bool) -> Result<Store, StoreError> {
    let Server { options, place } = server::of(address)?;
    let mut options = options.options([("lock_timeout", "5s"), ("application_name", "tenunder")]);
    if reading {
        options = options.options([("default_transaction_read_only", "on")]);
    }
    let pool = PgPoolOptions::new()
        .max_connections(8)
        .acquire_timeout(PATIENCE * 2)
        .connect_with(options)
        .await
        .map_err(|error| connecting_error(error, &place))?;
    Ok(Store::over(Pools::Postgres(pool), place))
}

async fn open_sqlite(file: &Path, make: bool) -> Result<Store, StoreError> {
    let place = file.display().to_string();
    match std::fs::metadata(file) {
        Ok(found) if found.is_dir() => {
            let detail = "it is a folder; name a file in it".to_owned();
            return Err(StoreError::CannotOpen { place, detail });
        }
        Ok(found) if !found.is_file() => return Err(StoreError::NotARecord { file: place }),
        Ok(found) if found.len() > 0 => look_before(file).await?,
        Ok(_) if make => {}
        Ok(_) => return Err(StoreError::NotARecord { file: place }),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound && make => {
            private::new_file(file).map_err(|error| not_opened(&place, &error))?;
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Err(StoreError::NoRecord { place }),
        Err(error) => return Err(not_opened(&place, &error)),
    }
    let options = SqliteConnectOptions::new()
        .filename(as_file(file)?)
        .create_if_missing(false)
        .foreign_keys(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(PATIENCE)
        // The scribe has the log copied aside; a writer does it only when that was not to be done for long.
        .pragma("wal_autocheckpoint", "8000")
        .optimize_on_close(true, None);
    let here = |error: sqlx::Error| why_not_to_work_in(file, opening_error(error, &place));
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
        .connect_lazy_with(options.clone().read_only(true));
    let watch =
        Watch::begin(file, &write).await.map_err(|error| why_not_to_work_in(file, name_place(error, &place)))?;
    let scribe = Scribe::start(write.clone(), options.clone(), Some(watch.clone()));
    let pools = Pools::Sqlite { write, scribe, read, options: Box::new(options) };
    Ok(Store { watch: Some(watch), ..Store::over(pools, place) })
}

/// The whole name of a file: the database takes some names that stand alone, `:memory:` for one, for no file at all.
fn as_file(file: &Path) -> Result<PathBuf, StoreError> {
    std::path::absolute(file).map_err(|error| not_opened(&file.display().to_string(), &error))
}

/// Looks at a file without changing a byte of it: whether it is a record that this program may work in.
async fn look_before(file: &Path) -> Result<(), StoreError> {
    let store = open_file_to_read(file).await?;
    let found = match store.format().await {
        Ok(Some(_)) => Ok(()),
        Ok(None) if store.has_other_tables().await.unwrap_or(true) => {
            Err(StoreError::NotARecord { file: store.place.clone() })
        }
        // A database with nothing in it: one that was begun and never finished.
        Ok(None) => Ok(()),
        Err(error) => Err(name_place(error, &store.place)),
    };
    store.close().await;
    found
}

async fn open_file_to_read(file: &Path) -> Result<Store, StoreError> {
    let place = file.display().to_string();
    // The file itself is not opened here: closing it again would take away the locks that this process may have on it.
    match std::fs::metadata(file) {
        Ok(found) if found.is_dir() => {
            let detail = "it is a folder; name a file in it".to_owned();
            return Err(StoreError::CannotOpen { place, detail });
        }
        // A pipe would be waited for.
        Ok(found) if !found.is_file() => return Err(StoreError::NotARecord { file: place }),
        Ok(_) => {}
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Err(StoreError::NoRecord { place }),
        Err(error) => return Err(not_opened(&place, &error)),
    }
    // What another program is writing, or did not finish, stands in a file beside it. Where there is none, all of it is in
    // the one file, which is read as it is: then nothing is made beside it, and the place may be one that cannot be written.
    let at_rest = !beside(file, "-wal").exists() && !beside(file, "-journal").exists();
    let options =
        SqliteConnectOptions::new().filename(as_file(file)?).read_only(true).immutable(at_rest).busy_timeout(PATIENCE);
    let pool = SqlitePoolOptions::new()
        .max_connections(1)
        .acquire_timeout(PATIENCE * 2)
        .connect_with(options.clone())
        .await
        .map_err(|error| why_not(file, at_rest, opening_error(error, &place)))?;
    let scribe = Scribe::start(pool.clone(), options.clone(), None);
    let options = Box::new(options);
    let pools = Pools::Sqlite { write: pool.clone(), scribe, read: pool, options };
    Ok(Store::over(pools, place))
}

/// The database says only that it cannot open a file; the system says why.
fn why_not(file: &Path, at_rest: bool, error: StoreError) -> StoreError {
    match (&error, std::fs::File::open(file)) {
        (StoreError::CannotOpen { place, .. }, Err(why)) => not_opened(place, &why),
        (StoreError::CannotOpen { place, .. }, Ok(_)) if !at_rest => StoreError::CannotOpen {
            place: place.clone(),
            detail: "its last entries stand in a file beside it (-wal), and cannot be taken in where nothing can be written; copy \
                     both to another disk"
                .to_owned(),
        },
        _ => error,
    }
}

/// The same of a file that is to be worked in: whether it or its folder may not be written.
fn why_not_to_work_in(file: &Path, error: StoreError) -> StoreError {
    let refused = |tried: std::io::Result<std::fs::File>| {
        use std::io::ErrorKind::{PermissionDenied, ReadOnlyFilesystem};
        tried.is_err_and(|why| matches!(why.kind(), PermissionDenied | ReadOnlyFilesystem))
    };
    if !matches!(error, StoreError::CannotOpen { .. }) {
        return error;
    }
    let beside = part_of(file);
    let read_only = refused(std::fs::File::options().append(true).open(file)) || refused(private::new_file(&beside));
    // Where it was made it was of no other use.
    let _ = std::fs::remove_file(beside);
    if read_only { StoreError::ReadOnly } else { error }
}

fn not_opened(place: &str, error: &std::io::Error) -> StoreError {
    match error.kind() {
        std::io::ErrorKind::PermissionDenied => StoreError::NotAllowed { place: place.to_owned() },
        std::io::ErrorKind::ReadOnlyFilesystem => StoreError::ReadOnly,
        _ => StoreError::CannotOpen { place: place.to_owned(), detail: error.to_string() },
    }
}
