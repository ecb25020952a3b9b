//! Short codes of signatures, for paper: whether the record still stands behind what was printed.

use super::lines::entry_from;
use super::seal::plain_code;
use super::{Store, reading};
use crate::error::StoreError;
use crate::fold::fold;
use crate::log::{Entry, EntryId, JobNumber};

/// What the record says of the code on a paper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignedPaper {
    /// The code as it is printed.
    pub code: String,
    /// The job.
    pub job: JobNumber,
    /// The place of the signature.
    pub seq: i64,
    /// Who signed.
    pub who: String,
    /// When.
    pub when: String,
    /// Whether everything up to the signature is as it was when it was signed; else what is wrong.
    pub stands: Result<(), StoreError>,
    /// Whether the signature is in force: not undone, and the job not opened again since.
    pub in_force: bool,
}

/// A signature: its job, its place, its mark, who and when.
type Signature = (i64, i64, String, String, String);

impl Store {
    /// The code that papers carry which rest on this signature.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::DamagedJob`] where the job is damaged.
    pub async fn paper_code(&self, job: JobNumber, signature: EntryId) -> Result<Option<String>, StoreError> {
        let lines = self.sound_lines(job, 0).await?.ok_or(StoreError::NoSuchJob(job))?;
        let name = signature.to_string();
        Ok(lines.iter().find(|line| line.2 == name).map(|line| self.keys.code(&line.10)))
    }

    /// The signature that the code on a paper was printed for, where the record has it.
    ///
    /// # Errors
    /// [`StoreError`], where the record cannot be read at all.
    pub async fn signed_paper(&self, typed: &str) -> Result<Option<SignedPaper>, StoreError> {
        let code = plain_code(typed);
        let query = "SELECT job, seq, hash, who, done FROM entry WHERE kind = 'signed_off' ORDER BY job, seq";
        let signed: Vec<Signature> = reading!(self, pool => sqlx::query_as(query).fetch_all(pool).await?);
        let Some((job, seq, _, who, when)) = signed.into_iter().find(|one| self.keys.code(&one.2) == code) else {
            return Ok(None);
        };
        let (stands, in_force) = match self.sound_lines(job, 0).await {
            Ok(lines) => {
                let entries: Vec<Entry> = lines.unwrap_or_default().iter().filter_map(|l| entry_from(l).ok()).collect();
                let signature = fold(&entries).signed_off.map(|sign| sign.entry);
                (Ok(()), entries.iter().any(|entry| entry.seq == seq && Some(entry.id) == signature))
            }
            // What is damaged after the signature does not touch what was signed.
            Err(StoreError::DamagedJob { sound, .. }) if sound >= seq => (Ok(()), false),
            Err(error @ StoreError::DamagedJob { .. }) => (Err(error), false),
            Err(error) => return Err(error),
        };
        Ok(Some(SignedPaper { code, job, seq, who, when, stands, in_force }))
    }
}
