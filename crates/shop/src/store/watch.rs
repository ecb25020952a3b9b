//! Watching the file of a record while it is open.
//!
//! An open file goes on working when its name is gone or stands for another file: what is written then is lost when the program
//! ends, though it was said to be saved. So before anything is said to be saved, the name is looked at: the same file
//! (device and number), no second name for it, and the token of this record in its first bytes.

use std::fs::{File, Metadata};
use std::mem::ManuallyDrop;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use sqlx::SqlitePool;

use super::beside;
use crate::error::StoreError;

/// Where the user's own number of a database stands in its file, four bytes. Source:
/// <https://www.sqlite.org/fileformat.html>, section 1.3, "user version".
const TOKEN_AT: u64 = 60;
/// The largest number that is no token: 0 stands in a file that has none, and many records were once given 1.
const NO_TOKEN: u32 = 1;

/// What the file was when it was opened.
#[derive(Clone, Debug)]
pub(crate) struct Watch(Arc<Watched>);

#[derive(Debug)]
struct Watched {
    file: PathBuf,
    same: Option<(u64, u64)>,
    token: [u8; 4],
    /// Never closed: on POSIX systems closing any handle of a file takes away all locks that the process has on it, and the
    /// database relies on its own (<https://www.sqlite.org/howtocorrupt.html>, section 2.2).
    open: ManuallyDrop<File>,
}

impl Watch {
    /// Begins to watch; gives the record a token where it has none.
    pub(crate) async fn begin(file: &Path, write: &SqlitePool) -> Result<Watch, StoreError> {
        let (token,): (i64,) = sqlx::query_as("PRAGMA user_version").fetch_one(write).await?;
        if token <= i64::from(NO_TOKEN) {
            give_token(write).await?;
        }
        // A name relative to a folder is another file when the program goes elsewhere.
        let file = std::path::absolute(file).unwrap_or_else(|_| file.to_owned());
        let found = std::fs::metadata(&file).map_err(|error| StoreError::file(&file, &error))?;
        let open = File::open(&file).map(ManuallyDrop::new).map_err(|error| StoreError::file(&file, &error))?;
        let token = token_in(&open).unwrap_or_default();
        let watch = Watched { same: identity(&found), token, open, file };
        if names(&found) > 1 {
            return Err(watch.moved("it has a second name (a hard link)"));
        }
        Ok(Watch(Arc::new(watch)))
    }

    /// Whether the name still stands for the file that is open.
    pub(crate) fn look(&self) -> Result<(), StoreError> {
        let watched = &self.0;
        let found = match std::fs::metadata(&watched.file) {
            Ok(found) => found,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                return Err(watched.moved("it was deleted or given another name"));
            }
            // A network drive that is away for a moment is no file that was replaced; nor is it known to be there.
            Err(error) => return Err(watched.moved(&format!("it cannot be looked at ({error})"))),
        };
        if identity(&found) != watched.same {
            return Err(watched.moved("another file was put in its place"));
        }
        if names(&found) > 1 {
            return Err(watched.moved("it was given a second name (a hard link)"));
        }
        // A record that was new when it was opened has its token in the log beside it until that is copied.
        if watched.token != [0; 4] && token_in(&watched.open) != Some(watched.token) {
            return Err(watched.moved("another file was copied over it"));
        }
        Ok(())
    }
}

impl Watch {
    /// Whether something stands in the log beside the file.
    pub(crate) fn has_log(&self) -> bool {
        std::fs::metadata(beside(&self.0.file, "-wal")).is_ok_and(|found| found.len() > 0)
    }
}

impl Watched {
    fn moved(&self, how: &str) -> StoreError {
        StoreError::Moved { file: self.file.display().to_string(), how: how.to_owned() }
    }
}

/// Gives a record a token of its own: two records have the same one in two thousand million.
pub(crate) async fn give_token(write: &SqlitePool) -> Result<(), StoreError> {
    let token = new_token()?;
    sqlx::query(sqlx::AssertSqlSafe(format!("PRAGMA user_version = {token}"))).execute(write).await?;
    // Into the file itself, where it is looked for.
    sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)").execute(write).await?;
    Ok(())
}

/// A number that is none of [`NO_TOKEN`]. The database keeps a signed number of four bytes: the sign is taken off, for to raise
/// what is negative to one number would give it to every second record.
fn new_token() -> Result<u32, StoreError> {
    let mut bytes = [0_u8; 4];
    getrandom::fill(&mut bytes).map_err(StoreError::fault)?;
    Ok((u32::from_be_bytes(bytes) >> 1).max(NO_TOKEN + 1))
}

#[cfg(unix)]
fn token_in(file: &File) -> Option<[u8; 4]> {
    let mut token = [0_u8; 4];
    std::os::unix::fs::FileExt::read_exact_at(file, &mut token, TOKEN_AT).ok()?;
    Some(token)
}

#[cfg(not(unix))]
fn token_in(_: &File) -> Option<[u8; 4]> {
    None
}

#[cfg(unix)]
fn identity(found: &Metadata) -> Option<(u64, u64)> {
    use std::os::unix::fs::MetadataExt;
    Some((found.dev(), found.ino()))
}

#[cfg(unix)]
fn names(found: &Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::nlink(found)
}

/// Other systems keep a file that is open from being deleted or replaced.
#[cfg(not(unix))]
fn identity(_: &Metadata) -> Option<(u64, u64)> {
    None
}

#[cfg(not(unix))]
fn names(_: &Metadata) -> u64 {
    1
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// Two of 256 draws from 2^31 are alike once in 66,000 runs (the birthday sum, 256²/2 / 2^31); four alike never.
    #[test]
    fn tokens_differ() {
        let tokens: BTreeSet<u32> = (0..256).map(|_| new_token().unwrap()).collect();
        assert!(tokens.len() >= 253, "{} different of 256", tokens.len());
        assert!(tokens.iter().all(|token| *token > NO_TOKEN && i32::try_from(*token).is_ok()));
    }
}
