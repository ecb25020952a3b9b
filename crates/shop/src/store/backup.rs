//! Backups: the whole record in one file, from either database and back into either.

use std::path::Path;

use super::append::{PUT_HEAD, bind_head, bind_line};
use super::jobs::HeadRow;
use super::lines::{Line, PUT_LINE};
use super::{Store, append, part_of, reading, writing};
use crate::error::StoreError;
use crate::store::verify::Checked;

/// Rows copied in one transaction.
const BLOCK: i64 = 2_000;

impl Store {
    /// Writes the whole record into one file while the shop goes on working. The file is itself a record (SQLite), so
    /// any later program can read it; it appears under its name only once it is whole and has been looked through.
    ///
    /// What is written to the record meanwhile is either in the backup with its whole job or not at all.
    ///
    /// # Errors
    /// [`StoreError::FileExists`]; nothing is left behind then, as after every other error.
    pub async fn backup(&self, file: &Path) -> Result<Checked, StoreError> {
        if file.exists() {
            return Err(StoreError::FileExists { file: file.display().to_string() });
        }
        let part = part_of(file);
        remove_database(&part);
        let done = self.backup_into(&part).await;
        match done {
            Ok(checked) => {
                std::fs::rename(&part, file).map_err(|error| StoreError::file(file, &error))?;
                remove_database(&part);
                Ok(checked)
            }
            Err(error) => {
                remove_database(&part);
                Err(error)
            }
        }
    }

    async fn backup_into(&self, part: &Path) -> Result<Checked, StoreError> {
        let copy = Store::open(&part.display().to_string()).await?;
        let copied = copy.fill_from(self).await;
        let checked = match copied {
            Ok(()) => copy.verify().await,
            Err(error) => Err(error),
        };
        copy.close().await;
        let checked = checked?;
        match checked.faults.first() {
            Some(fault) => Err(StoreError::damaged(format!("the copy did not come out whole: {fault}"))),
            None => Ok(checked),
        }
    }

    /// Fills an empty record from a backup, after looking the backup through.
    ///
    /// # Errors
    /// [`StoreError::NotEmpty`] where this record has jobs or a shop's log; [`StoreError::Damaged`] where the backup is
    /// not whole.
    pub async fn restore(&self, file: &Path) -> Result<Checked, StoreError> {
        if self.heads().await?.iter().any(|head| head.job > 0 || head.seq > 0) {
            return Err(StoreError::NotEmpty);
        }
        let backup = Store::open_to_read(file).await?;
        let restored = match backup.verify().await {
            Ok(checked) => match checked.faults.first() {
                Some(fault) => Err(StoreError::damaged(format!("{}: {fault}", file.display()))),
                None => self.fill_from(&backup).await,
            },
            Err(error) => Err(error),
        };
        backup.close().await;
        restored?;
        self.verify().await
    }

    /// Copies everything, one job at a time.
    async fn fill_from(&self, other: &Store) -> Result<(), StoreError> {
        // Pictures are kept before the entry that shows them, so those copied after the heads were read are all there.
        let heads = other.heads().await?;
        self.copy_pictures(other).await?;
        for head in &heads {
            self.copy_job(other, head).await?;
        }
        let query = "SELECT next_job FROM record WHERE one = 1";
        let (next,): (i64,) = reading!(other, pool => sqlx::query_as(query).fetch_one(pool).await?);
        writing!(self, tx => {
            sqlx::query("UPDATE record SET next_job = $1 WHERE one = 1").bind(next).execute(&mut *tx).await?;
            tx.commit().await?;
        });
        Ok(())
    }

    async fn copy_job(&self, other: &Store, head: &HeadRow) -> Result<(), StoreError> {
        // Only as far as the head read before: entries written since would not match it.
        let lines: Vec<Line> = other.lines(head.job, 0).await?.into_iter().filter(|line| line.1 <= head.seq).collect();
        writing!(self, tx => {
            sqlx::query(append::EMPTY_HEAD).bind(head.job).execute(&mut *tx).await?;
            for line in &lines {
                bind_line!(sqlx::query(PUT_LINE), line).execute(&mut *tx).await?;
            }
            bind_head!(sqlx::query(PUT_HEAD), head).execute(&mut *tx).await?;
            tx.commit().await?;
        });
        Ok(())
    }

    async fn copy_pictures(&self, other: &Store) -> Result<(), StoreError> {
        let mut after = String::new();
        loop {
            let query = "SELECT hash, width, height FROM picture WHERE hash > $1 ORDER BY hash LIMIT $2";
            let page: Vec<(String, i64, i64)> =
                reading!(other, pool => sqlx::query_as(query).bind(&after).bind(BLOCK).fetch_all(pool).await?);
            let Some((last, _, _)) = page.last() else { return Ok(()) };
            after.clone_from(last);
            for (hash, width, height) in &page {
                // One at a time: a shop's photographs together may be larger than the memory.
                let jpeg = other.picture(hash).await?;
                let put = "INSERT INTO picture (hash, width, height, jpeg) VALUES ($1, $2, $3, $4)";
                writing!(self, tx => {
                    sqlx::query(put).bind(hash).bind(width).bind(height).bind(&jpeg).execute(&mut *tx).await?;
                    tx.commit().await?;
                });
            }
        }
    }
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
