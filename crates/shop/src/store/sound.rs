//! Whether what is about to be shown, printed or written on is what was written.
//!
//! A log is looked at whenever it is read: its chain from the first entry to the one that the list of jobs knows as the last.
//! The row in the list has a mark of its own, so that the list shows nothing that the logs do not say.

use std::sync::PoisonError;

use sha2::{Digest, Sha256};

use super::jobs::HeadRow;
use super::lines::{Line, follow, vouched};
use super::seal::{Keys, Seal};
use super::{FIRST_JOB, MOST_GAP, Pools, Store, reading};
use crate::error::StoreError;
use crate::fold::hex;
use crate::log::JobNumber;

/// The list of jobs as it was found when it was first read.
#[derive(Clone, Debug, Default)]
pub(crate) struct ListLook {
    /// Jobs whose row is not what was written, or is not there.
    pub(crate) damaged: Vec<JobNumber>,
}

/// The mark for the row of a job.
pub(crate) fn head_mark(keys: &Keys, head: &HeadRow) -> String {
    keys.mark(head_hash(head))
}

fn head_hash(head: &HeadRow) -> String {
    let words = [
        &head.hash,
        &head.stage,
        &head.since,
        &head.updated,
        &head.mark,
        &head.customer,
        &head.telephone,
        &head.crank,
        &head.promised,
        &head.batch,
        &head.find,
        &head.digits,
    ];
    let numbers = [head.job, head.seq, head.flags, head.revision, head.put_away, head.example];
    hex(&Sha256::digest(serde_json::to_string(&(numbers, words)).unwrap_or_default()))
}

/// Whether the row of a job is what was written, as far as the keys at hand tell; `sealed` where it must be sealed.
pub(crate) fn head_is_sound(keys: &Keys, head: &HeadRow, sealed: bool) -> bool {
    if head.job == 0 && head.seq == 0 && head.hash.is_empty() && head.seal.is_empty() {
        return true;
    }
    match keys.look(&head.seal, &head_hash(head)) {
        Seal::Holds => true,
        Seal::Broken => false,
        // Where there is a key in use, all rows are sealed with it.
        Seal::Unsealed => !sealed,
        Seal::Unknown => keys.name().is_none(),
    }
}

/// Whether a log is sound from end to end, with the row of the list that goes with it.
pub(crate) fn all_is_sound(keys: &Keys, head: &HeadRow, lines: &[Line]) -> Result<(), StoreError> {
    let sealed = keys.name().is_some();
    if let Err(broken) = follow(keys, 0, "", lines) {
        return Err(damaged(head.job, lines, broken.seq - 1, &broken.says()));
    }
    let last = lines.iter().find(|line| line.1 == head.seq);
    if last.map_or("", |line| line.10.as_str()) != head.hash {
        let there = lines.len() as i64;
        let says = match there < head.seq {
            true => format!("entries {} to {} are missing", there + 1, head.seq),
            false => format!("entry {} is not the one that the list of jobs knows", head.seq),
        };
        return Err(damaged(head.job, lines, vouched(keys, lines).min(head.seq.saturating_sub(1)).max(0), &says));
    }
    if !head_is_sound(keys, head, sealed) {
        return Err(damaged(
            head.job,
            lines,
            vouched(keys, lines),
            "its row in the list of jobs is not what was written",
        ));
    }
    Ok(())
}

/// A job that is damaged, with its last sound state.
fn damaged(job: JobNumber, lines: &[Line], sound: i64, detail: &str) -> StoreError {
    let last = lines.iter().find(|line| line.1 == sound);
    StoreError::DamagedJob {
        job,
        sound,
        by: last.map(|line| (line.4.clone(), line.3.clone())),
        detail: detail.to_owned(),
    }
}

impl Store {
    /// The log of a job after a place, once its chain was followed; `None` where there is no such job.
    pub(crate) async fn sound_lines(&self, job: JobNumber, after: i64) -> Result<Option<Vec<Line>>, StoreError> {
        // The row first: what is written meanwhile comes after the entry that it knows as the last.
        let Some(head) = self.head_row(job).await? else { return self.not_listed(job).await };
        let mut lines = self.lines(job, 0).await?;
        let sound = match self.format {
            2.. => all_is_sound(&self.keys, &head, &lines),
            _ => {
                follow(&self.keys, 0, "", &lines).map_err(|broken| damaged(job, &lines, broken.seq - 1, &broken.says()))
            }
        };
        if let Err(error) = sound {
            // The list of jobs looks at rows only; a job that was met and is damaged is not shown as a good one again.
            self.met.lock().unwrap_or_else(PoisonError::into_inner).insert(job);
            return Err(error);
        }
        lines.retain(|line| line.1 > after);
        Ok(Some(lines))
    }

    /// The number that the next crank gets; nothing where the row that says so is missing.
    pub(crate) async fn next_job(&self) -> Result<Option<JobNumber>, StoreError> {
        let query = "SELECT next_job FROM record WHERE one = 1";
        let next: Option<(i64,)> = reading!(self, pool => sqlx::query_as(query).fetch_optional(pool).await?);
        Ok(next.map(|(next,)| next))
    }

    /// What there is to say of a job that is not in the list.
    pub(crate) async fn not_listed<T>(&self, job: JobNumber) -> Result<Option<T>, StoreError> {
        let lines = self.lines(job, 0).await?;
        let booked = self.next_job().await?.is_some_and(|next| (FIRST_JOB..next).contains(&job));
        if lines.is_empty() && !booked && job > 0 {
            return Ok(None);
        }
        let whole = follow(&self.keys, 0, "", &lines);
        let sound = whole.map_or_else(|broken| broken.seq - 1, |()| vouched(&self.keys, &lines));
        Err(damaged(job, &lines, sound, "its row in the list of jobs is missing"))
    }

    /// The row of a job, where it is what was written.
    pub(crate) async fn sound_head(&self, job: JobNumber) -> Result<Option<HeadRow>, StoreError> {
        let Some(head) = self.head_row(job).await? else { return self.not_listed(job).await };
        if head.job == job && self.is_sound(&head) {
            return Ok(Some(head));
        }
        // What is wrong with it is said with what of its log is sound.
        let lines = self.lines(job, 0).await?;
        all_is_sound(&self.keys, &HeadRow { job, ..head }, &lines)?;
        Err(damaged(job, &lines, vouched(&self.keys, &lines), "its row in the list of jobs is not what was written"))
    }

    /// Whether a row of the list is what was written.
    pub(crate) fn is_sound(&self, head: &HeadRow) -> bool {
        self.format < 2 || head_is_sound(&self.keys, head, self.keys.name().is_some())
    }

    /// Looks at the list of jobs, once: a row that is damaged may be missing from every list.
    pub(crate) async fn list_look(&self) -> Result<&ListLook, StoreError> {
        self.listed.get_or_try_init(|| self.look_at_list()).await
    }

    async fn look_at_list(&self) -> Result<ListLook, StoreError> {
        if let Pools::Sqlite { read, .. } = &self.pools {
            // The table and the order it is listed in; quick, for it has one row a job.
            let found: Vec<(String,)> = sqlx::query_as("PRAGMA integrity_check(head)").fetch_all(read).await?;
            if let Some((says,)) = found.into_iter().find(|(says,)| says != "ok") {
                return Err(StoreError::damaged(format!("the list of jobs cannot be relied on ({says})")));
            }
        }
        // The number first: what is booked in meanwhile is in the list and not missing from it.
        let next = self.next_job().await?.unwrap_or(FIRST_JOB);
        let heads = self.heads().await?;
        let mut damaged: Vec<JobNumber> =
            heads.iter().filter(|head| !self.is_sound(head)).map(|head| head.job).collect();
        let mut expected = FIRST_JOB;
        for head in heads.iter().filter(|head| head.job >= FIRST_JOB) {
            // A number far off is one damaged row, not a thousand missing ones.
            let gap = expected..head.job;
            damaged.extend(gap.take(MOST_MISSING));
            expected = head.job.saturating_add(1);
        }
        // Those behind the last one that is listed; not where the number itself cannot be.
        if next.saturating_sub(expected) <= MOST_GAP {
            damaged.extend((expected..next).take(MOST_MISSING));
        }
        damaged.sort_unstable();
        damaged.dedup();
        Ok(ListLook { damaged })
    }

    /// An error where any row of the list is damaged: for pages that would leave it out silently.
    pub(crate) async fn list_is_whole(&self) -> Result<(), StoreError> {
        match self.list_look().await?.damaged.first() {
            Some(&job) => {
                self.sound_lines(job, 0).await?;
                Err(damaged(job, &[], 0, "its row in the list of jobs is not what was written"))
            }
            None => Ok(()),
        }
    }
}

/// How many numbers of jobs that are missing in one place are listed.
const MOST_MISSING: usize = 20;
