//! Rows of the table of entries, and the chain of hashes through them.

use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

use super::seal::{Keys, Seal};
use crate::error::StoreError;
use crate::fold::hex;
use crate::log::{Entry, SHEET_VERSION};

/// One row: job, seq, id, who, done, received, sheet_version, corrects, kind, body, hash.
pub(crate) type Line = (i64, i64, String, String, String, String, i64, Option<String>, String, String, String);

pub(crate) const LINES_OF_JOB: &str = "SELECT job, seq, id, who, done, received, sheet_version, corrects, kind, body, \
                                       hash FROM entry WHERE job = $1 AND seq > $2 ORDER BY seq";
pub(crate) const PUT_LINE: &str = "INSERT INTO entry (job, seq, id, who, done, received, sheet_version, corrects, \
                                   kind, body, hash) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";

/// The row of an entry that follows one with the mark `before`.
pub(crate) fn line_of<K: Serialize>(
    entry: &Entry<K>,
    kind: &str,
    before: &str,
    keys: &Keys,
) -> Result<Line, StoreError> {
    let body = serde_json::to_string(&entry.kind).map_err(StoreError::fault)?;
    let mut line = (
        entry.job,
        entry.seq,
        entry.id.to_string(),
        entry.who.clone(),
        entry.when.clone(),
        entry.received.clone(),
        i64::from(entry.sheet_version),
        entry.corrects.map(|id| id.to_string()),
        kind.to_owned(),
        body,
        String::new(),
    );
    line.10 = keys.mark(chained(before, &line));
    Ok(line)
}

/// The hash of a row and of all rows before it. Empty stands before the first.
pub(crate) fn chained(before: &str, line: &Line) -> String {
    // JSON parts the fields without doubt: no two rows have the same text.
    let fields = (before, line.0, line.1, &line.2, &line.3, &line.4, &line.5, line.6, &line.7, &line.8, &line.9);
    let text = serde_json::to_string(&fields).unwrap_or_default();
    hex(&Sha256::digest(text))
}

/// Where a chain breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Break {
    /// The place at which something is wrong; all before it is sound.
    pub(crate) seq: i64,
    /// What is wrong with it.
    why: &'static str,
}

impl Break {
    /// In words.
    pub(crate) fn says(self) -> String {
        format!("entry {} {}", self.seq, self.why)
    }
}

/// Follows the chain through rows that come after the place `after`, whose mark is `before`.
pub(crate) fn follow(keys: &Keys, after: i64, before: &str, lines: &[Line]) -> Result<(), Break> {
    let mut before = before;
    for (seq, line) in (after + 1..).zip(lines) {
        let broken = |why| Err(Break { seq, why });
        if line.1 != seq {
            return broken("is missing");
        }
        // One without a seal, or with that of a key that is not at hand, is closed by the seal on the row of its job.
        if keys.look(&line.10, &chained(before, line)) == Seal::Broken {
            return broken("is not what was written");
        }
        before = &line.10;
    }
    Ok(())
}

/// The place of the last row in a sound chain that a key at hand vouches for, with all before it; without a key the hashes
/// do.
pub(crate) fn vouched(keys: &Keys, lines: &[Line]) -> i64 {
    let sealed = |line: &&Line| {
        let hash = line.10.split('.').next().unwrap_or_default();
        keys.look(&line.10, hash) == Seal::Holds
    };
    let last = if keys.name().is_some() { lines.iter().rfind(sealed) } else { lines.last() };
    last.map_or(0, |line| line.1)
}

/// The entry of a row.
pub(crate) fn entry_from<K: DeserializeOwned>(line: &Line) -> Result<Entry<K>, StoreError> {
    let (job, seq, id, who, done, received, sheet_version, corrects, kind, body, _) = line;
    let newer = || StoreError::NewerEntry { job: *job, seq: *seq, kind: kind.chars().take(60).collect() };
    let broken = |why: String| StoreError::damaged(format!("entry {seq} of job {job}: {why}"));
    if *sheet_version > i64::from(SHEET_VERSION) {
        return Err(newer());
    }
    let content: K = serde_json::from_str(body).map_err(|error| {
        let why = error.to_string();
        // What this program does not know was written by a newer one, and is never dropped silently.
        if why.starts_with("unknown variant") || why.starts_with("unknown field") { newer() } else { broken(why) }
    })?;
    let corrects = corrects.as_deref().map(str::parse::<crate::log::EntryId>).transpose();
    Ok(Entry {
        id: id.parse().map_err(|error: crate::log::NotAnEntryId| broken(error.to_string()))?,
        job: *job,
        seq: *seq,
        who: who.clone(),
        when: done.clone(),
        received: received.clone(),
        sheet_version: u32::try_from(*sheet_version).map_err(|_| broken("its version is negative".into()))?,
        corrects: corrects.map_err(|error: crate::log::NotAnEntryId| broken(error.to_string()))?,
        kind: content,
    })
}
