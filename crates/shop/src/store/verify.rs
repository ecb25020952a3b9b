//! Looking a record through from end to end.

use sha2::{Digest, Sha256};

use super::append::Kept;
use super::jobs::HeadRow;
use super::lines::{Line, chained, entry_from};
use super::{Store, reading};
use crate::error::StoreError;
use crate::fold::hex;
use crate::log::{Entry, EntryKind};
use crate::shop_log::ShopKind;

/// What was looked through, and what was found wrong.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Checked {
    /// Jobs looked through.
    pub jobs: usize,
    /// Entries looked through, the shop's own among them.
    pub entries: usize,
    /// Photographs looked through.
    pub pictures: usize,
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
        let mut wanted = Vec::new();
        let heads = self.heads().await?;
        for head in &heads {
            let lines = self.lines(head.job, 0).await?;
            checked.entries += lines.len();
            if head.job == 0 {
                look_through::<ShopKind>(head, &lines, &mut checked.faults, &mut wanted);
            } else {
                checked.jobs += 1;
                look_through::<EntryKind>(head, &lines, &mut checked.faults, &mut wanted);
            }
        }
        let strays = "SELECT COUNT(*) FROM entry WHERE job NOT IN (SELECT job FROM head)";
        let (strays,): (i64,) = reading!(self, pool => sqlx::query_as(strays).fetch_one(pool).await?);
        if strays > 0 {
            checked.faults.push(format!("{strays} entries belong to no job in the list"));
        }
        self.look_at_pictures(&wanted, &mut checked).await?;
        Ok(checked)
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
        for (hash, place) in wanted {
            if !kept.iter().any(|(there,)| there == hash) {
                checked.faults.push(format!("{place} shows a picture that is missing"));
            }
        }
        Ok(())
    }
}

fn look_through<K: Kept>(
    head: &HeadRow,
    lines: &[Line],
    faults: &mut Vec<String>,
    pictures: &mut Vec<(String, String)>,
) {
    let whose = if head.job == 0 { "the shop's log".to_owned() } else { format!("job {}", head.job) };
    let before = faults.len();
    let mut hash = String::new();
    let mut entries: Vec<Entry<K>> = Vec::with_capacity(lines.len());
    for (expected, line) in (1..).zip(lines) {
        if line.1 != expected {
            faults.push(format!("{whose}: entry {expected} is missing"));
            break;
        }
        if chained(&hash, line) != line.10 {
            faults.push(format!("{whose}: entry {expected} is not what was written"));
            break;
        }
        hash.clone_from(&line.10);
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
    let mut should = K::head(&entries);
    (should.job, should.seq, should.hash) = (head.job, head.seq, hash);
    should.updated.clone_from(&head.updated);
    if should != *head {
        faults.push(format!("{whose}: the list is not in step with the log"));
    }
}
