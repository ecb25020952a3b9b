//! Undo and redo, by what was done at one stroke: a reading comes back out with what was written with it.

use std::collections::HashSet;

use sha2::{Digest, Sha256};
use shop::{Draft, Entry, EntryId, EntryKind, Job, that_count, undo_words};

use say::Words;

/// What the next undo, or redo, would do.
#[derive(Clone, Debug)]
pub struct Step {
    /// The entry that stands for it.
    pub entry: EntryId,
    /// `Undo 2.4480 at main 3, rear, across A`.
    pub words: String,
    /// The entries to undo, the latest first.
    pub entries: Vec<EntryId>,
}

impl Step {
    /// The entries that take the step, under `id` and names that follow from it.
    pub fn drafts(&self, id: EntryId, who: &str, when: &str) -> Vec<Draft> {
        let draft = |(n, entry): (usize, &EntryId)| {
            let id = if n == 0 { id } else { derived(id, &format!("undo {n}")) };
            Draft::new(id, who, when, EntryKind::Undo { entry: *entry })
        };
        self.entries.iter().enumerate().map(draft).collect()
    }
}

/// What the next undo would take back.
pub fn next_undo(entries: &[Entry], job: &Job, words: Words) -> Option<Step> {
    step(entries, job.next_undo?, words)
}

/// What the next redo would put back.
pub fn next_redo(entries: &[Entry], job: &Job, words: Words) -> Option<Step> {
    step(entries, job.next_redo?, words)
}

/// The step of which an entry is part.
pub fn step(entries: &[Entry], entry: EntryId, words: Words) -> Option<Step> {
    let at = entries.iter().position(|known| known.id == entry)?;
    let target = entries.get(at)?;
    // Written at one stroke: one after another, by one person, at one moment.
    let together = |other: &&Entry| other.who == target.who && other.when == target.when;
    let is_redo = matches!(target.kind, EntryKind::Undo { .. });
    let is_part = |other: &&Entry| together(other) && if is_redo { undoes(other) } else { !is_main(&other.kind) };
    // What comes with something else stands behind it.
    let before = entries.get(..at)?.iter().rev();
    let mut group: Vec<&Entry> = Vec::new();
    if is_redo || !is_main(&target.kind) {
        group.extend(before.clone().take_while(is_part));
        if !is_redo {
            group.extend(before.clone().nth(group.len()).filter(together));
        }
    }
    group.push(target);
    group.extend(entries.get(at + 1..)?.iter().take_while(is_part));
    group.sort_by_key(|other| other.seq);
    let counting: HashSet<EntryId> = that_count(entries).map(|entry| entry.id).collect();
    // An entry that only put another right can be taken back whatever its kind.
    let may = |other: &Entry| other.kind.kind().undoable || undoes(other) || other.corrects.is_some();
    group.retain(|other| may(other) && counting.contains(&other.id));
    // Of several undos at one stroke the one of the reading stands for all, as the reading did before.
    let about = |other: &Entry| match other.kind {
        EntryKind::Undo { entry } => entries.iter().find(|known| known.id == entry).map(|known| &known.kind),
        _ => None,
    };
    let stands = |other: &&&Entry| is_main(about(other).unwrap_or(&other.kind));
    let main = group.iter().find(stands).or(group.first())?.id;
    Some(Step {
        entry: main,
        words: undo_words(entries, main, words)?,
        entries: group.iter().rev().map(|other| other.id).collect(),
    })
}

fn undoes(entry: &Entry) -> bool {
    matches!(entry.kind, EntryKind::Undo { .. })
}

/// What stands for the whole step.
fn is_main(kind: &EntryKind) -> bool {
    !matches!(kind, EntryKind::FlagRaised { .. } | EntryKind::FlagSettled { .. } | EntryKind::Moved { .. })
}

/// A name that follows from another, so that what comes with an entry is sent under the same name each time.
pub fn derived(id: EntryId, what: &str) -> EntryId {
    let hash = Sha256::digest(format!("{id} {what}"));
    let bits = hash.iter().take(16).fold(0_u128, |bits, byte| (bits << 8) | u128::from(*byte));
    EntryId::from_bits(bits)
}
