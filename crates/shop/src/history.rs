//! The history of a job in words, and what an undo would undo.

use say::Words;
use serde::Serialize;
use utoipa::ToSchema;

use crate::admit::Gate;
use crate::deed::Deeds;
use crate::fold::counts;
use crate::log::{Entry, EntryId};

/// One line of a history.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct HistoryLine {
    /// The entry.
    pub entry: EntryId,
    /// Its place.
    pub seq: i64,
    /// Who did it.
    pub who: String,
    /// When, by their clock.
    pub when: String,
    /// When it arrived.
    pub received: String,
    /// What was done: `2.4480 at main 3, rear, across B`.
    pub says: String,
    /// What it replaced, where it corrects another entry: `2.4730 at main 3, rear, across B`.
    pub instead_of: Option<String>,
    /// Whether it was undone since, or what it corrects was.
    pub undone: bool,
    /// Whether its own time lies before that of an entry above it: it was kept elsewhere and came late.
    pub late: bool,
    /// What a button that undoes it says, where it may be undone as the job stands: `Undo 2.4480 at main 3, rear, 90°`.
    pub undo: Option<String>,
}

/// The history of a job, in the order of its entries, in the words of its shop.
pub fn history(entries: &[Entry], words: Words) -> Vec<HistoryLine> {
    let counts = counts(entries);
    let deeds = Deeds::of(entries);
    let gate = Gate::of(entries.to_vec());
    let mut latest: Option<jiff::Timestamp> = None;
    let mut lines = Vec::with_capacity(entries.len());
    for (entry, counts) in entries.iter().zip(counts) {
        let time: Option<jiff::Timestamp> = entry.when.parse().ok();
        let late = time.is_some_and(|time| latest.is_some_and(|latest| time < latest));
        latest = latest.max(time);
        lines.push(HistoryLine {
            entry: entry.id,
            seq: entry.seq,
            who: entry.who.clone(),
            when: entry.when.clone(),
            received: entry.received.clone(),
            says: words.say(&deeds.said(&entry.kind)),
            instead_of: entry.corrects.and_then(|id| deeds.named(id)).map(|what| words.say(&what)),
            undone: !counts,
            late,
            undo: gate.may_undo(entry.id).then(|| words.say(&deeds.undo(&entry.kind))),
        });
    }
    lines
}

/// What a button that undoes an entry says: `Undo 2.4480 at main 3, rear, across B`, or `Put back …` where the entry is itself
/// an undo. Nothing where there is no such entry.
pub fn undo_words(entries: &[Entry], entry: EntryId, words: Words) -> Option<String> {
    let deeds = Deeds::of(entries);
    let kind = deeds.kind(entry)?;
    Some(words.say(&deeds.undo(kind)))
}
