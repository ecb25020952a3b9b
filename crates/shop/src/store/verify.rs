//! Looking a record through from end to end.

use std::collections::HashSet;

use sha2::{Digest, Sha256};

use super::append::Kept;
use super::jobs::HeadRow;
use super::lines::{Line, entry_from, follow};
use super::seal::Keys;
use super::sound::head_is_sound;
use super::{FIRST_JOB, MOST_GAP, Pools, Store, reading};
use crate::error::StoreError;
use crate::fold::hex;
use crate::log::{Entry, EntryKind};
use crate::shop_log::ShopKind;

/// How many faults are listed; more are only counted.
const MOST_FAULTS: usize = 200;

/// How often a job is looked at again because somebody is writing to it.
const MOST_LOOKS: usize = 20;

/// What was looked through, and what was found wrong.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Checked {
    /// Jobs looked through.
    pub jobs: usize,
    /// Entries looked through, the shop's own among them.
    pub entries: usize,
    /// Photographs looked through.
    pub pictures: usize,
    /// What there is to know of its seal.
    pub notes: Vec<String>,
    /// What is wrong, in words; nothing where the record is whole.
    pub faults: Vec<String>,
}

impl Store {
    /// Looks every log through: places without a gap, the chain of hashes unbroken, entries that can be read, the list
    /// of jobs in step with the logs, every photograph there and unchanged.
    ///
    /// # Errors
    /// What the database says where it cannot be read at all; what is wrong with the record is in [`Checked::faults`].
    pub async fn verify(&self) -> Result<Checked, StoreError> {
        let mut checked = Checked::default();
        match self.look_at_all(&mut checked).await {
            Ok(()) => {}
            // So damaged that reading on makes no sense: that is what was found.
            Err(StoreError::Damaged { detail }) => checked.faults.push(detail),
            Err(error) => return Err(error),
        }
        let more = checked.faults.len().saturating_sub(MOST_FAULTS);
        if more > 0 {
            checked.faults.truncate(MOST_FAULTS);
            checked.faults.push(format!("and {more} more"));
        }
        Ok(checked)
    }

    async fn look_at_all(&self, checked: &mut Checked) -> Result<(), StoreError> {
        if let Pools::Sqlite { read, .. } = &self.pools {
            let found: Vec<(String,)> = sqlx::query_as("PRAGMA integrity_check(20)").fetch_all(read).await?;
            let wrong = found.into_iter().map(|(says,)| says).filter(|says| says != "ok");
            checked.faults.extend(wrong.map(|says| format!("the database file: {says}")));
        }
        let mut wanted = Vec::new();
        let mut before_the_key = 0;
        // Before the list and after it: somebody may book a crank in meanwhile.
        let next = self.next_job().await?;
        let heads = self.heads().await?;
        let (Some(next), Some(after)) = (next, self.next_job().await?) else {
            checked.faults.push("the row that says what the record is, is missing".to_owned());
            return Ok(());
        };
        // Numbers are given without a gap, and only with the entries that book a crank in.
        let listed: HashSet<i64> = heads.iter().map(|head| head.job).collect();
        let last = listed.iter().copied().max().unwrap_or(0).max(FIRST_JOB - 1);
        let beyond = next.saturating_sub(last).saturating_sub(1);
        if after <= last {
            checked.faults.push(format!("the next crank would be job {after}, and job {last} is in the list"));
        } else if beyond > MOST_GAP {
            checked.faults.push(format!("the next crank would be job {next}, and the last in the list is job {last}"));
        }
        // A number far off is one that was damaged, not a million jobs that are missing.
        let up_to = if beyond > MOST_GAP { last } else { last.max(next.saturating_sub(1)) };
        let missing = (FIRST_JOB..=up_to).filter(|job| !listed.contains(job)).take(MOST_FAULTS + 1);
        checked.faults.extend(missing.map(|job| format!("job {job} was booked in and is missing")));
        for head in &heads {
            let mut head = head.clone();
            let mut lines = self.lines(head.job, 0).await?;
            // Somebody may be writing to this job: then look at it as it is a moment later.
            for _ in 0..MOST_LOOKS {
                if lines.len() as i64 == head.seq {
                    break;
                }
                head = self.head_row(head.job).await?.unwrap_or(head);
                lines = self.lines(head.job, 0).await?;
            }
            let head = &head;
            checked.entries += lines.len();
            before_the_key += lines.iter().filter(|line| !line.10.contains('.')).count();
            let keys = if self.format < 2 { None } else { Some(&self.keys) };
            if head.job == 0 {
                look_through::<ShopKind>(head, &lines, keys, &mut checked.faults, &mut wanted);
            } else {
                checked.jobs += 1;
                look_through::<EntryKind>(head, &lines, keys, &mut checked.faults, &mut wanted);
            }
        }
        let strays = "SELECT COUNT(*) FROM entry WHERE job NOT IN (SELECT job FROM head)";
        let (strays,): (i64,) = reading!(self, pool => sqlx::query_as(strays).fetch_one(pool).await?);
        if strays > 0 {
            checked.faults.push(format!("{strays} entries belong to no job in the list"));
        }
        checked.notes.extend(self.of_the_seal(before_the_key));
        self.look_at_pictures(&wanted, checked).await
    }

    /// What the seal can tell and what not.
    fn of_the_seal(&self, before_the_key: usize) -> Vec<String> {
        let mut notes = Vec::new();
        match self.key() {
            Some((name, true)) => {
                notes.push(format!("It is sealed with the key {name}, which is at hand."));
                if before_the_key > 0 {
                    notes.push(format!(
                        "{before_the_key} entries carry no seal of their own, being older than the key or from a record without one; \
                         each job is sealed as a whole."
                    ));
                }
            }
            Some((name, false)) => notes.push(format!(
                "It is sealed with the key {name}, which is not at hand: what changed by accident is found, what somebody \
                 changed on purpose may not be."
            )),
            None => notes.push(
                "It is not sealed with a key: what changed by accident is found, what somebody changed on purpose may not be."
                    .to_owned(),
            ),
        }
        notes
    }

    async fn look_at_pictures(&self, wanted: &[(String, String)], checked: &mut Checked) -> Result<(), StoreError> {
        let all = "SELECT hash FROM picture ORDER BY hash";
        let kept: Vec<(String,)> = reading!(self, pool => sqlx::query_as(all).fetch_all(pool).await?);
        for (hash,) in &kept {
            checked.pictures += 1;
            if hex(&Sha256::digest(self.picture(hash).await?)) != *hash {
                checked.faults.push(format!("the picture {hash} is not what was kept"));
            }
        }
        let kept: HashSet<&str> = kept.iter().map(|(hash,)| hash.as_str()).collect();
        for (hash, place) in wanted {
            if !kept.contains(hash.as_str()) {
                checked.faults.push(format!("{place} shows a picture that is missing"));
            }
        }
        Ok(())
    }
}

fn look_through<K: Kept>(
    head: &HeadRow,
    lines: &[Line],
    keys: Option<&Keys>,
    faults: &mut Vec<String>,
    pictures: &mut Vec<(String, String)>,
) {
    let whose = if head.job == 0 { "the shop's log".to_owned() } else { format!("job {}", head.job) };
    let before = faults.len();
    let broken = follow(keys.unwrap_or(&Keys::default()), 0, "", lines).err();
    if let Some(broken) = broken {
        faults.push(format!("{whose}: {}", broken.says()));
    }
    let mut entries: Vec<Entry<K>> = Vec::with_capacity(lines.len());
    let sound = lines.iter().take_while(|line| broken.is_none_or(|broken| line.1 < broken.seq));
    for (expected, line) in (1..).zip(sound) {
        match entry_from::<K>(line) {
            Ok(entry) => {
                if let Some(picture) = entry.kind.picture() {
                    pictures.push((picture.to_owned(), format!("{whose}, entry {expected}")));
                }
                entries.push(entry);
            }
            Err(error) => faults.push(format!("{whose}: entry {expected} cannot be read: {}", error.happened())),
        }
    }
    if faults.len() > before {
        return;
    }
    let hash = lines.last().map_or("", |line| line.10.as_str());
    if head.seq != lines.len() as i64 || head.hash != hash {
        faults.push(format!("{whose}: the list knows {} entries, the log has {}", head.seq, lines.len()));
        return;
    }
    if lines.is_empty() {
        if head.job != 0 {
            faults.push(format!("{whose} is in the list and has no entries"));
        }
        return;
    }
    let mut should = K::head(&entries, None);
    (should.job, should.seq, should.hash) = (head.job, head.seq, hash.to_owned());
    should.updated.clone_from(&head.updated);
    should.seal.clone_from(&head.seal);
    if should != *head {
        faults.push(format!("{whose}: the list is not in step with the log"));
    } else if keys.is_some_and(|keys| !head_is_sound(keys, head, keys.name().is_some())) {
        faults.push(format!("{whose}: its row in the list is not what was written, or has lost its seal"));
    }
}
