//! The history of a job in words, and what an undo would undo.

use std::collections::HashMap;

use document::Value;
use say::Words;
use serde::Serialize;
use utoipa::ToSchema;

use crate::admit::Gate;
use crate::fold::counts;
use crate::log::{Agreement, CheckedAt, Entry, EntryId, EntryKind, Row, Settled, Source};

/// Most characters of a note or a reason in one line of a history; the entry itself has the rest.
const SHOWN_CHARS: usize = 120;

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
    let words = Told::of(entries, words);
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
            says: words.says(&entry.kind),
            instead_of: entry.corrects.and_then(|id| words.named(id)),
            undone: !counts,
            late,
            undo: gate.may_undo(entry.id).then(|| words.undo(&entry.kind)),
        });
    }
    lines
}

/// What a button that undoes an entry says: `Undo 2.4480 at main 3, rear, across B`, or `Put back …` where the entry is itself
/// an undo. Nothing where there is no such entry.
pub fn undo_words(entries: &[Entry], entry: EntryId, words: Words) -> Option<String> {
    let words = Told::of(entries, words);
    let kind = words.kinds.get(&entry)?;
    Some(words.undo(kind))
}

struct Told<'a> {
    kinds: HashMap<EntryId, &'a EntryKind>,
    words: Words,
}

impl<'a> Told<'a> {
    fn of(entries: &'a [Entry], words: Words) -> Told<'a> {
        Told { kinds: entries.iter().map(|entry| (entry.id, &entry.kind)).collect(), words }
    }

    /// What a button that undoes an entry says.
    fn undo(&self, kind: &EntryKind) -> String {
        match kind {
            EntryKind::Undo { entry } => match self.named(*entry) {
                Some(what) => format!("Put back {what}"),
                None => "Put back what was undone".to_owned(),
            },
            kind => format!("Undo {}", self.says(kind)),
        }
    }

    /// What another entry said. One step only: an undo of an undo of an undo is told as an undo of an undo.
    fn named(&self, id: EntryId) -> Option<String> {
        match self.kinds.get(&id)? {
            EntryKind::Undo { .. } => Some("an undo".to_owned()),
            kind => Some(self.says(kind)),
        }
    }

    fn says(&self, kind: &EntryKind) -> String {
        match kind {
            EntryKind::BookedIn(booked) => {
                let of =
                    if booked.customer.trim().is_empty() { String::new() } else { format!(" of {}", booked.customer) };
                let crank = if booked.crank.trim().is_empty() { "a crank" } else { booked.crank.as_str() };
                format!("booking in {crank}{of}")
            }
            EntryKind::Reading(row) => self.reading(row),
            EntryKind::RunOut(row) => {
                let high = self.figure(row, "high").map(|high| format!(", high at {high}°")).unwrap_or_default();
                format!("run-out {} at {}{high}", self.size(row, "total"), self.journal(row.journal()))
            }
            EntryKind::Trace(row) => {
                let count = row.row.get("departures").map_or(0, |list| list.items().len());
                format!("a trace of {count} departures at {}", self.spot(row))
            }
            EntryKind::Centre(row) => {
                let throw = self.figure(row, "throw").map(|throw| format!(", throw {throw}")).unwrap_or_default();
                let index = self.figure(row, "index").map(|index| format!(", index {index}°")).unwrap_or_default();
                format!("the centre of {}{throw}{index}", self.journal(row.journal()))
            }
            EntryKind::Damage(row) => {
                let kind = row.row.words("kind").unwrap_or("damage");
                // A crack has no depth: it ends the plan however deep it is.
                let depth = self.figure(row, "depth").map(|depth| format!(", depth {depth}")).unwrap_or_default();
                format!("{kind} at {}{depth}", self.spot(row))
            }
            EntryKind::Worn(row) => {
                format!("how {} is worn: {}", self.journal(row.journal()), self.size(row, "share"))
            }
            EntryKind::Stamped(row) => {
                format!("{} stamped {}", self.set_or_journal(row), self.size(row, "undersize"))
            }
            EntryKind::Housing(row) => format!("housing of {}: {}", self.housing_spot(row), self.size(row, "size")),
            EntryKind::Shell(row) => {
                let whose = match row.row.words("journal") {
                    Some(journal) => self.journal(journal),
                    None => self.one_of(row.row.words("set")),
                };
                let count = self.figure(row, "count").map(|count| format!("{count} × ")).unwrap_or_default();
                let wall = self.figure(row, "wall").map(|wall| format!(", wall {wall}")).unwrap_or_default();
                let undersize = self.figure(row, "undersize").map(|u| format!(", marked {u}")).unwrap_or_default();
                format!("{count}half shell of {whose}{undersize}{wall}")
            }
            EntryKind::Bearing(row) => {
                let crush = self.figure(row, "crush").map(|crush| format!(", crush {crush}")).unwrap_or_default();
                let width = self.figure(row, "width").map(|width| format!(", width {width}")).unwrap_or_default();
                let rods = self.figure(row, "rods").map(|rods| format!(", rods {rods}")).unwrap_or_default();
                format!("bearing of {}{crush}{width}{rods}", self.journal(row.journal()))
            }
            EntryKind::Thrust(row) => {
                let parts: Vec<String> = ["width", "housing", "front", "rear", "float"]
                    .iter()
                    .filter_map(|key| Some(format!(", {key} {}", self.figure(row, key)?)))
                    .collect();
                format!("thrust bearing at {}{}", self.journal(row.journal()), parts.concat())
            }
            EntryKind::Instrument { row } => format!("micrometer {}", row.words("name").unwrap_or("without a name")),
            EntryKind::MicrometerChanged { to } => format!("change to {to}"),
            EntryKind::ZeroCheck { instrument, reads, at } => {
                let at = match at {
                    CheckedAt::Start => "at the start",
                    CheckedAt::Change => "when taken up",
                    CheckedAt::End => "at the end",
                };
                format!("zero of {instrument} {at}: {reads}")
            }
            EntryKind::FlagRaised { about, says, .. } => match about.and_then(|id| self.named(id)) {
                Some(what) => format!("look again at {what}: {}", short(says)),
                None => format!("look again: {}", short(says)),
            },
            EntryKind::FlagSettled { flag, how } => {
                let about = match self.kinds.get(flag) {
                    Some(EntryKind::FlagRaised { about: Some(id), .. }) => self.named(*id),
                    _ => None,
                };
                let what = about.unwrap_or_else(|| "the remark".to_owned());
                match how {
                    Settled::Kept => format!("keeping {what}"),
                    Settled::MeasuredAgain { by } => match self.named(*by) {
                        Some(new) => format!("striking out {what}, measured again: {new}"),
                        None => format!("striking out {what}, measured again"),
                    },
                    Settled::StruckOut => format!("striking out {what}"),
                    Settled::Noted => "noting the remark".to_owned(),
                }
            }
            EntryKind::SecondReading { of, size, source, found } => {
                let spot = match self.kinds.get(of) {
                    Some(EntryKind::Reading(row)) => self.spot(row),
                    _ => "a spot".to_owned(),
                };
                let which = if *found == Agreement::Settles { "third" } else { "second" };
                let found = match found {
                    Agreement::Agrees => "agrees",
                    Agreement::Clashes => "clashes",
                    Agreement::Settles => "settles it",
                };
                format!("{which} reading {size}{} at {spot}, {found}", from(*source))
            }
            EntryKind::PolicyChanged { policy } => {
                format!("how this job is judged: {}", short(&keys_and_values(policy)))
            }
            EntryKind::WantedChanged { wanted } if wanted.pairs().is_empty() => {
                "clearances wanted: those of the book".to_owned()
            }
            EntryKind::WantedChanged { wanted } => format!("clearances wanted: {}", short(&keys_and_values(wanted))),
            EntryKind::Decision { set, choice, overruled, .. } => {
                let set = self.set(set).unwrap_or("mains".to_owned());
                match overruled {
                    Some(reason) => format!("decision for the {set}: {choice}, overruling the rule: {}", short(reason)),
                    None => format!("decision for the {set}: {choice}"),
                }
            }
            EntryKind::SheetIssued { code, supersedes: Some(old), .. } => {
                format!("sheet {code} for the grinder, in place of {old}")
            }
            EntryKind::SheetIssued { code, .. } => format!("sheet {code} for the grinder"),
            EntryKind::GroundReading(row) => format!("while grinding, {}", self.reading(row)),
            EntryKind::CleanedUp { journal, yes: true, .. } => format!("{} cleaned up", self.journal(journal)),
            EntryKind::CleanedUp { journal, left, .. } => {
                let left = left.as_deref().map(|left| format!(": {}", short(left))).unwrap_or_default();
                format!("{} did not clean up{left}", self.journal(journal))
            }
            EntryKind::SentToTreatment { batch, sizes } => {
                format!("sending to treatment in batch {batch}{}", counted(sizes.len()))
            }
            EntryKind::BackFromTreatment { batch, sizes } => {
                format!("return from treatment in batch {batch}{}", counted(sizes.len()))
            }
            EntryKind::FinalReading(row) => format!("final check, {}", self.reading(row)),
            EntryKind::EyeCheck { item, passed, by, says } => {
                let passed = if *passed { "passed" } else { "not passed" };
                let says = says.as_deref().map(|says| format!(": {}", short(says))).unwrap_or_default();
                format!("{item} {passed}, looked at by {by}{says}")
            }
            EntryKind::SignedOff { says, .. } => format!("signing off: {}", short(says)),
            EntryKind::Reopened { reason } => format!("reopening: {}", short(reason)),
            EntryKind::HandedOver { to } => format!("handing over to {to}"),
            EntryKind::Moved { to } => format!("moving to \u{2018}{}\u{2019}", to.words()),
            EntryKind::PutAway { reason } => format!("putting away: {}", short(reason)),
            EntryKind::TakenUp => "taking up again".to_owned(),
            EntryKind::Note { text } => format!("note: {}", short(text)),
            EntryKind::Photograph { caption, journal, .. } => match journal {
                Some(journal) => format!("photograph of {}: {}", self.journal(journal), short(caption)),
                None => format!("photograph: {}", short(caption)),
            },
            EntryKind::Undo { entry } => match self.named(*entry) {
                Some(what) => format!("undoing {what}"),
                None => "undoing an entry".to_owned(),
            },
        }
    }

    fn reading(&self, row: &Row) -> String {
        format!("{}{} at {}", self.size(row, "size"), from(row.source), self.spot(row))
    }

    fn size(&self, row: &Row, key: &str) -> String {
        row.row.get(key).map_or_else(|| "nothing".to_owned(), one)
    }

    fn figure(&self, row: &Row, key: &str) -> Option<String> {
        row.row.get(key).map(one)
    }

    /// `mains`, or the one journal that a row is about.
    fn set_or_journal(&self, row: &Row) -> String {
        match (row.row.words("journal"), row.row.words("set")) {
            (Some(journal), _) => self.journal(journal),
            (None, set) => set.and_then(|set| self.set(set)).unwrap_or("crank".to_owned()),
        }
    }

    /// `mains`, or pins in the shop's own word.
    fn set(&self, set: &str) -> Option<String> {
        Some(self.words.set_within(set.parse().ok()?))
    }

    /// A journal of a set, whichever; of the engine, where none is named.
    fn one_of(&self, set: Option<&str>) -> String {
        set.and_then(|set| set.parse().ok()).map_or_else(|| "engine".to_owned(), |set| self.words.one_of(set))
    }

    /// Journal, place and direction of a housing, whose directions count from the split.
    fn housing_spot(&self, row: &Row) -> String {
        let mut spot = self.journal(row.journal());
        for key in ["at", "plane"] {
            if let Some(words) = self.figure(row, key) {
                spot.push_str(", ");
                spot.push_str(&words);
            }
        }
        spot
    }

    /// Journal, station and direction, as far as the row has them.
    fn spot(&self, row: &Row) -> String {
        let mut spot = self.journal(row.journal());
        if let Some(at) = self.figure(row, "at") {
            spot.push_str(", ");
            spot.push_str(&at);
        }
        if let Some(plane) = self.figure(row, "plane") {
            spot.push_str(&across(&plane));
        }
        spot
    }

    /// `pin 3` in the shop's own word.
    fn journal(&self, journal: &str) -> String {
        match journal.parse() {
            Ok(journal) => self.words.journal_within(journal),
            Err(_) => journal.trim().to_owned(),
        }
    }
}

/// A direction across a journal as the bench says it: A in line with the throw, B square to it.
fn across(plane: &str) -> String {
    match plane.parse::<f64>().map(|degrees| degrees.rem_euclid(180.0)) {
        Ok(0.0) => ", across A".to_owned(),
        Ok(90.0) => ", across B".to_owned(),
        _ => format!(", across {plane}°"),
    }
}

fn from(source: Source) -> &'static str {
    match source {
        Source::Typed | Source::Counts | Source::Sheet => "",
        Source::Gauge => " from the gauge",
        Source::Paper => " from paper",
    }
}

fn counted(sizes: usize) -> String {
    match sizes {
        0 => String::new(),
        1 => " with 1 size".to_owned(),
        sizes => format!(" with {sizes} sizes"),
    }
}

/// A value on one line.
fn one(value: &Value) -> String {
    match value {
        Value::Text(text) | Value::Number(text) | Value::Bare(text) => short(text),
        Value::Truth(truth) => if *truth { "yes" } else { "no" }.to_owned(),
        Value::List(items) => short(&items.iter().map(one).collect::<Vec<_>>().join(", ")),
        Value::Table(_) => short(&value.to_json()),
    }
}

/// `axis free, clean up stock 0.0005`.
fn keys_and_values(table: &Value) -> String {
    let one = |(key, value): &(String, Value)| format!("{} {}", key.replace('_', " "), one(value));
    table.pairs().iter().map(one).collect::<Vec<_>>().join(", ")
}

fn short(text: &str) -> String {
    let mut shown: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if let Some((end, _)) = shown.char_indices().nth(SHOWN_CHARS) {
        shown.truncate(end);
        shown.push('…');
    }
    shown
}
