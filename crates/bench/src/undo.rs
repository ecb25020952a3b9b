//! Undo and redo, by what was done at one stroke: a reading comes back out with what was written with it.

use shop::{Draft, Entry, EntryId, EntryKind, Job, now, undo_words};

use crate::taking::derived;
use crate::wording::PinWord;

/// What the next undo, or redo, would do.
#[derive(Clone, Debug)]
pub(crate) struct Step {
    /// The entry that stands for it.
    pub(crate) entry: EntryId,
    /// `Undo 2.4480 at main 3, rear, across A`.
    pub(crate) words: String,
    /// The entries to undo, the latest first.
    pub(crate) entries: Vec<EntryId>,
}

impl Step {
    /// The entries that take the step, under `id` and names that follow from it.
    pub(crate) fn drafts(&self, id: EntryId, who: &str) -> Vec<Draft> {
        let when = now();
        let draft = |(n, entry): (usize, &EntryId)| {
            let id = if n == 0 { id } else { derived(id, &format!("undo {n}")) };
            Draft::new(id, who, &when, EntryKind::Undo { entry: *entry })
        };
        self.entries.iter().enumerate().map(draft).collect()
    }
}

/// What the next undo would take back.
pub(crate) fn next_undo(entries: &[Entry], job: &Job, words: PinWord) -> Option<Step> {
    step(entries, job.next_undo?, words)
}

/// What the next redo would put back.
pub(crate) fn next_redo(entries: &[Entry], job: &Job, words: PinWord) -> Option<Step> {
    step(entries, job.next_redo?, words)
}

/// The step of which an entry is part.
pub(crate) fn step(entries: &[Entry], entry: EntryId, words: PinWord) -> Option<Step> {
    let at = entries.iter().position(|known| known.id == entry)?;
    let target = entries.get(at)?;
    let undone = undone(entries);
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
    group.retain(|other| can_be_undone(&other.kind) && !undone.contains(&other.id));
    // Of several undos at one stroke the one of the reading stands for all, as the reading did before.
    let about = |other: &Entry| match other.kind {
        EntryKind::Undo { entry } => entries.iter().find(|known| known.id == entry).map(|known| &known.kind),
        _ => None,
    };
    let stands = |other: &&&Entry| is_main(about(other).unwrap_or(&other.kind));
    let main = group.iter().find(stands).or(group.first())?.id;
    Some(Step {
        entry: main,
        words: undo_words(entries, main, words.one())?,
        entries: group.iter().rev().map(|other| other.id).collect(),
    })
}

fn undoes(entry: &Entry) -> bool {
    matches!(entry.kind, EntryKind::Undo { .. })
}

/// Entries that do not count any more.
pub(crate) fn undone(entries: &[Entry]) -> Vec<EntryId> {
    let mut undone: Vec<EntryId> = Vec::new();
    for entry in entries.iter().rev() {
        if let EntryKind::Undo { entry: target } = entry.kind
            && !undone.contains(&entry.id)
        {
            undone.push(target);
        }
    }
    undone
}

/// What stands for the whole step.
fn is_main(kind: &EntryKind) -> bool {
    !matches!(kind, EntryKind::FlagRaised { .. } | EntryKind::FlagSettled { .. } | EntryKind::Moved { .. })
}

/// Flags come and go with what they are about; what was signed or sent out is not undone.
fn can_be_undone(kind: &EntryKind) -> bool {
    !matches!(
        kind,
        EntryKind::BookedIn(_)
            | EntryKind::FlagRaised { .. }
            | EntryKind::SheetIssued { .. }
            | EntryKind::SignedOff { .. }
            | EntryKind::Reopened { .. }
    )
}
