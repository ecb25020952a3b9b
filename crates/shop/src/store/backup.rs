//! Backups: the whole record in one file, from either database and back into either.
//!
//! The file is a record in SQLite with everything in it, photographs too.

use std::path::Path;

use sqlx::{ConnectOptions, Connection};

use super::append::{EMPTY_HEAD, PUT_HEAD, bind_head, bind_line};
use super::jobs::HeadRow;
use super::lines::{Line, PUT_LINE};
use super::sound::head_mark;
use super::watch::give_token;
use super::{FIRST_JOB, Pools, Store, part_of, private, reading, writing};
use crate::error::StoreError;
use crate::store::verify::Checked;

/// How many pictures are listed at a time.
const BLOCK: i64 = 2_000;

/// A row of the table of pictures, without the picture.
type PictureRow = (String, i64, i64);

impl Store {
    /// Writes the whole record into one file while the shop goes on working. The file is itself a record (SQLite), so
    /// any later program can read it; it appears under its name only once it is whole and has been looked through.
    ///
    /// What is written to the record meanwhile is either in the backup or not: each entry wholly, and none without those
    /// before it.
    ///
    /// # Errors
    /// [`StoreError::FileExists`]; nothing is left behind then, as after every other error.
    pub async fn backup(&self, file: &Path) -> Result<Checked, StoreError> {
        if file.exists() {
            return Err(StoreError::FileExists { file: file.display().to_string() });
        }
        let part = part_of(file);
        remove_database(&part);
        let done = match &self.pools {
            Pools::Sqlite { .. } => self.vacuum_into(&part).await,
            Pools::Postgres(_) => self.copy_into(&part).await,
        };
        let checked = match done {
            Ok(()) => {
                looked_through(&part, &self.place, self).await.and_then(|checked| settle(&part, file).map(|()| checked))
            }
            Err(error) => Err(error),
        };
        remove_database(&part);
        checked.map_err(|error| match error {
            // Nobody knows the name that it has until it is whole.
            StoreError::File { detail, .. } => StoreError::File { file: file.display().to_string(), detail },
            other => other,
        })
    }

    /// SQLite copies itself: one moment of the whole record, without keeping anybody from writing.
    async fn vacuum_into(&self, part: &Path) -> Result<(), StoreError> {
        let Pools::Sqlite { options, write, .. } = &self.pools else { return Ok(()) };
        // Like the record itself, for its owner only.
        private::new_file(part).map_err(|error| StoreError::file(part, &error))?;
        let name = named(part)?;
        if self.is_there().is_err() {
            // The name stands for something else by now: what was saved is in the file that is still open.
            sqlx::query("VACUUM INTO $1").bind(name).execute(write).await?;
        } else {
            let mut connection = options.connect().await?;
            let copied = sqlx::query("VACUUM INTO $1").bind(name).execute(&mut connection).await;
            let _ = connection.close().await;
            copied?;
        }
        // A token of its own: copied over a record that is open, it is not taken for it.
        let options = sqlx::sqlite::SqliteConnectOptions::new().filename(part);
        let copy = sqlx::sqlite::SqlitePoolOptions::new().max_connections(1).connect_with(options).await?;
        let given = give_token(&copy).await;
        copy.close().await;
        given
    }

    async fn copy_into(&self, part: &Path) -> Result<(), StoreError> {
        let copy = Store::without_key(part).await?;
        let copied = copy.fill_from(self).await;
        let whole = match (copied, &copy.pools) {
            // One file with everything in it, without a log beside it.
            (Ok(()), Pools::Sqlite { write, read, scribe, .. }) => {
                // It cannot be done while another connection has the file open.
                read.close().await;
                let _held = scribe.hold().await;
                let merged = sqlx::query("PRAGMA journal_mode = DELETE").execute(write).await;
                merged.map(|_| ()).map_err(StoreError::from)
            }
            (copied, _) => copied,
        };
        copy.close().await;
        whole
    }

    /// Fills an empty record from a backup, after looking the backup through: all of it, or nothing.
    ///
    /// # Errors
    /// [`StoreError::NotEmpty`] where this record has jobs or a shop's log; [`StoreError::Damaged`] where the backup is
    /// not whole.
    pub async fn restore(&self, file: &Path) -> Result<Checked, StoreError> {
        if self.heads().await?.iter().any(|head| head.job > 0 || head.seq > 0) {
            return Err(StoreError::NotEmpty);
        }
        self.may_write()?;
        let checked = looked_through(file, &file.display().to_string(), self).await?;
        let backup = Store::open_to_read(file).await?;
        let filled = self.fill_from(&backup).await;
        backup.close().await;
        filled.map(|()| checked)
    }

    /// Copies everything into this empty record, all of it or nothing.
    async fn fill_from(&self, other: &Store) -> Result<(), StoreError> {
        // Only what is listed now: what is written meanwhile is left for the next backup. A picture is kept before the
        // entry that shows it, so those listed after the heads are all there.
        let heads = other.heads().await?;
        // Numbers are given without a gap; one that was given since is not in this copy.
        let next = heads.iter().map(|head| head.job.saturating_add(1)).max().unwrap_or(FIRST_JOB).max(FIRST_JOB);
        writing!(self, tx => {
            // Held from here on, so that nobody writes to a record that is being filled.
            let hold = "UPDATE record SET next_job = next_job WHERE one = 1 RETURNING next_job";
            let (first,): (i64,) = sqlx::query_as(hold).fetch_one(&mut *tx).await?;
            let (there,): (i64,) = sqlx::query_as("SELECT COUNT(*) FROM entry").fetch_one(&mut *tx).await?;
            if first != FIRST_JOB || there > 0 {
                return Err(StoreError::NotEmpty);
            }
            sqlx::query("UPDATE record SET next_job = $1 WHERE one = 1").bind(next).execute(&mut *tx).await?;
            for head in &heads {
                sqlx::query(EMPTY_HEAD).bind(head.job).execute(&mut *tx).await?;
                for line in other.lines_of(head).await? {
                    bind_line!(sqlx::query(PUT_LINE), line).execute(&mut *tx).await?;
                }
                // The row is this record's; it closes the log with this record's own key.
                let head = HeadRow { seal: head_mark(&self.keys, head), ..head.clone() };
                bind_head!(sqlx::query(PUT_HEAD), head).execute(&mut *tx).await?;
            }
            let mut after = String::new();
            loop {
                let page = other.pictures_after(&after).await?;
                let Some((last, _, _)) = page.last() else { break };
                after.clone_from(last);
                for (hash, width, height) in &page {
                    // One at a time: a shop's photographs together may be larger than the memory.
                    let jpeg = other.picture(hash).await?;
                    let put = "INSERT INTO picture (hash, width, height, jpeg) VALUES ($1, $2, $3, $4) ON CONFLICT \
                               (hash) DO NOTHING";
                    sqlx::query(put).bind(hash).bind(width).bind(height).bind(&jpeg).execute(&mut *tx).await?;
                }
            }
            tx.commit().await?;
        });
        Ok(())
    }

    /// The rows of a log as far as its head knows them: entries written since would not match it.
    async fn lines_of(&self, head: &HeadRow) -> Result<Vec<Line>, StoreError> {
        Ok(self.lines(head.job, 0).await?.into_iter().filter(|line| line.1 <= head.seq).collect())
    }

    async fn pictures_after(&self, hash: &str) -> Result<Vec<PictureRow>, StoreError> {
        let query = "SELECT hash, width, height FROM picture WHERE hash > $1 ORDER BY hash LIMIT $2";
        Ok(reading!(self, pool => sqlx::query_as(query).bind(hash).bind(BLOCK).fetch_all(pool).await?))
    }
}

/// Looks a backup through from end to end; what is wrong with it is wrong with what is `called` so.
async fn looked_through(file: &Path, called: &str, of: &Store) -> Result<Checked, StoreError> {
    let mut backup = Store::open_to_read(file).await?;
    if backup.missing_key.as_ref().is_some_and(|name| of.keys.has(name)) {
        backup.keys = of.keys.clone();
        backup.missing_key = None;
    }
    let checked = backup.verify().await;
    backup.close().await;
    let checked = checked?;
    match checked.faults.first() {
        Some(fault) => Err(StoreError::damaged(format!("{called}: {fault}"))),
        None => Ok(checked),
    }
}

/// Gives a finished copy its name, with all of it on the disk first.
fn settle(part: &Path, file: &Path) -> Result<(), StoreError> {
    let sync = |path: &Path| std::fs::File::open(path).and_then(|file| file.sync_all());
    sync(part).map_err(|error| StoreError::file(part, &error))?;
    // The name is taken first, so that of several copies made at once none takes the place of another.
    match std::fs::File::create_new(file) {
        Ok(_) => {}
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            return Err(StoreError::FileExists { file: file.display().to_string() });
        }
        Err(error) => return Err(StoreError::file(file, &error)),
    }
    if let Err(error) = std::fs::rename(part, file) {
        let _ = std::fs::remove_file(file);
        return Err(StoreError::file(file, &error));
    }
    if let Some(folder) = file.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        // The name is safe only when the folder is on the disk too; systems that cannot do this need not.
        let _ = sync(folder);
    }
    Ok(())
}

/// The name of a file for the database, which takes text only.
fn named(file: &Path) -> Result<&str, StoreError> {
    file.to_str().ok_or_else(|| StoreError::File {
        file: file.display().to_string(),
        detail: "its name has letters that are no text".to_owned(),
    })
}

/// Removes a half-written file and what SQLite keeps beside it.
fn remove_database(file: &Path) {
    for beside in ["", "-wal", "-shm", "-journal"] {
        let mut name = file.as_os_str().to_owned();
        name.push(beside);
        // Most of them are not there; one that cannot be removed is found when the next backup is written.
        let _ = std::fs::remove_file(name);
    }
}
