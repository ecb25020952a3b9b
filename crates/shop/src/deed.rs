//! What each entry of a log did, as a kind with what stands in it. `say` has the sentences; what people typed goes through as
//! it is.

use std::collections::HashMap;

use document::Value;
use journal::{JournalId, SetName};
use say::{Message, Quantity, Told};

use crate::log::{Agreement, CheckedAt, Entry, EntryId, EntryKind, Row, Settled, Source};

/// Most characters of a note or a reason in one line of a history; the entry itself has the rest.
const SHOWN_CHARS: usize = 120;

/// The entries of a log, by their names.
pub(crate) struct Deeds<'a> {
    kinds: HashMap<EntryId, &'a EntryKind>,
}

impl<'a> Deeds<'a> {
    pub(crate) fn of(entries: &'a [Entry]) -> Deeds<'a> {
        Deeds { kinds: entries.iter().map(|entry| (entry.id, &entry.kind)).collect() }
    }

    pub(crate) fn kind(&self, id: EntryId) -> Option<&'a EntryKind> {
        self.kinds.get(&id).copied()
    }

    /// What a button that undoes an entry says.
    pub(crate) fn undo(&self, kind: &EntryKind) -> Message {
        match kind {
            EntryKind::Undo { entry } => match self.named(*entry) {
                Some(what) => Message::new("put-back").with("what", what),
                None => Message::new("put-back-unknown"),
            },
            kind => Message::new("undo").with("what", self.said(kind)),
        }
    }

    /// What another entry did. One step only: an undo of an undo of an undo is told as an undo of an undo.
    pub(crate) fn named(&self, id: EntryId) -> Option<Message> {
        match self.kind(id)? {
            EntryKind::Undo { .. } => Some(Message::new("an-undo")),
            kind => Some(self.said(kind)),
        }
    }

    /// What an entry did.
    pub(crate) fn said(&self, kind: &EntryKind) -> Message {
        let plain = Message::new;
        match kind {
            EntryKind::BookedIn(booked) => {
                let (crank, customer) = (booked.crank.trim(), booked.customer.trim());
                let of = match (crank.is_empty(), customer.is_empty()) {
                    (false, false) => "both",
                    (false, true) => "crank",
                    (true, false) => "customer",
                    (true, true) => "neither",
                };
                plain("deed-booked-in").case("of", of).typed("crank", &booked.crank).typed("customer", &booked.customer)
            }
            EntryKind::Reading(row) => reading(row),
            EntryKind::RunOut(row) => {
                let head = plain("deed-run-out").with("size", figure_or_nothing(row, "total"));
                with(head.with("journal", journal(row.journal())), details(row, &["high"]))
            }
            EntryKind::Trace(row) => {
                let count = row.row.get("departures").map_or(0, |list| list.items().len());
                plain("deed-trace").count("count", count).with("place", place(row))
            }
            EntryKind::Centre(row) => {
                let head = plain("deed-centre").with("journal", journal(row.journal()));
                with(head, details(row, &["throw", "index"]))
            }
            EntryKind::Damage(row) => {
                let kind = row.row.words("kind").unwrap_or("other");
                let kind = plain("damage-kind").typed("kind", kind.replace(' ', "-")).typed("text", kind);
                // A crack has no depth: it ends the plan however deep it is.
                with(plain("deed-damage").with("kind", kind).with("place", place(row)), details(row, &["depth"]))
            }
            EntryKind::Worn(row) => plain("deed-worn")
                .with("journal", journal(row.journal()))
                .with("share", figure_or_nothing(row, "share")),
            EntryKind::Stamped(row) => plain("deed-stamped")
                .with("whose", set_or_journal(row))
                .with("undersize", figure_or_nothing(row, "undersize")),
            EntryKind::Housing(row) => {
                plain("deed-housing").with("place", housing_place(row)).with("size", figure_or_nothing(row, "size"))
            }
            EntryKind::Shell(row) => shell(row),
            EntryKind::Bearing(row) => {
                let head = plain("deed-bearing").with("journal", journal(row.journal()));
                with(head, details(row, &["crush", "width", "rods"]))
            }
            EntryKind::Thrust(row) => {
                let head = plain("deed-thrust").with("journal", journal(row.journal()));
                with(head, details(row, &["width", "housing", "front", "rear", "float"]))
            }
            EntryKind::Roughness(row) => self.roughness(row),
            EntryKind::Dial(row) => {
                let count = row.row.get("readings").map_or(0, |list| list.items().len());
                plain("deed-dial").count("count", count).with("journal", journal(row.journal()))
            }
            EntryKind::Height(row) => {
                let head = plain("deed-height").with("journal", journal(row.journal()));
                with(head, details(row, &["top", "bottom", "heights"]))
            }
            EntryKind::Feature(row) => {
                let head = plain("deed-feature").with("name", figure_or_nothing(row, "name"));
                with(head, details(row, &["total", "high", "face_total"]))
            }
            EntryKind::Case(row) => {
                plain("deed-case").with("whose", set_or_journal(row)).with("depth", figure_or_nothing(row, "depth"))
            }
            EntryKind::Carried { carried } => match carried.get("on") {
                Some(on) => {
                    let mains = on.items().iter().filter_map(Value::as_typed).map(journal).collect();
                    plain("deed-carried").with("mains", Quantity::All(mains))
                }
                None => plain("deed-carried-centres"),
            },
            EntryKind::Instrument { row } => match row.words("name") {
                Some(name) => plain("deed-instrument").typed("name", name),
                None => plain("deed-instrument-unnamed"),
            },
            EntryKind::MicrometerChanged { to } => plain("deed-micrometer-changed").typed("name", to),
            EntryKind::ZeroCheck { instrument, reads, at } => {
                let at = match at {
                    CheckedAt::Start => "start",
                    CheckedAt::Change => "change",
                    CheckedAt::End => "end",
                };
                plain("deed-zero").case("at", at).typed("name", instrument).typed("reads", reads)
            }
            EntryKind::FlagRaised { about, says, .. } => match about.and_then(|id| self.named(id)) {
                Some(what) => plain("deed-flag-about").with("what", what).typed("says", short(says)),
                None => plain("deed-flag").typed("says", short(says)),
            },
            EntryKind::FlagSettled { flag, how } => self.settled(*flag, how),
            EntryKind::SecondReading { of, size, source, found } => {
                let place = match self.kind(*of) {
                    Some(EntryKind::Reading(row)) => place(row),
                    _ => plain("a-spot"),
                };
                let found = match found {
                    Agreement::Agrees => "agrees",
                    Agreement::Clashes => "clashes",
                    Agreement::Settles => "settles",
                };
                let size = as_read(Quantity::Typed(size.clone()), *source);
                plain("deed-again").case("found", found).with("size", size).with("place", place)
            }
            EntryKind::PolicyChanged { policy } => plain("deed-policy").typed("says", short(&keys_and_values(policy))),
            EntryKind::WantedChanged { wanted } if wanted.pairs().is_empty() => plain("deed-wanted-of-manual"),
            EntryKind::WantedChanged { wanted } => plain("deed-wanted").typed("says", short(&keys_and_values(wanted))),
            EntryKind::Decision { set, choice, overruled, .. } => {
                let set = set.parse::<SetName>().unwrap_or(SetName::Main);
                let choice = plain("decided-choice").typed("choice", choice.replace(' ', "-")).typed("text", choice);
                match overruled {
                    Some(reason) => plain("deed-decision-overruled").typed("reason", short(reason)),
                    None => plain("deed-decision"),
                }
                .with("set", set)
                .with("choice", choice)
            }
            EntryKind::SheetIssued { code, supersedes: Some(old), .. } => {
                plain("deed-sheet-replacing").typed("code", code).typed("old", old)
            }
            EntryKind::SheetIssued { code, .. } => plain("deed-sheet").typed("code", code),
            EntryKind::GroundReading(row) => plain("deed-while-grinding").with("reading", reading(row)),
            EntryKind::CleanedUp { journal: name, yes, left } => match (yes, left) {
                (true, _) => plain("deed-cleaned-up"),
                (false, None) => plain("deed-not-cleaned-up"),
                (false, Some(left)) => plain("deed-not-cleaned-up-left").typed("left", short(left)),
            }
            .with("journal", journal(name)),
            EntryKind::SentToTreatment { batch, sizes } => {
                plain("deed-sent").typed("batch", batch).count("count", sizes.len())
            }
            EntryKind::BackFromTreatment { batch, sizes } => {
                plain("deed-back").typed("batch", batch).count("count", sizes.len())
            }
            EntryKind::FinalReading(row) => plain("deed-final").with("reading", reading(row)),
            EntryKind::EyeCheck { item, passed, by, says } => {
                let item = plain("eye-item").typed("item", item.replace(' ', "-")).typed("text", item);
                match says {
                    Some(says) => plain("deed-looked-says").typed("says", short(says)),
                    None => plain("deed-looked"),
                }
                .case("passed", if *passed { "yes" } else { "no" })
                .with("item", item)
                .typed("who", by)
            }
            EntryKind::SignedOff { says, .. } => plain("deed-signed").typed("says", short(says)),
            EntryKind::Reopened { reason } => plain("deed-reopened").typed("reason", short(reason)),
            EntryKind::HandedOver { to } => plain("deed-handed-over").typed("to", to),
            EntryKind::Moved { to } => plain("deed-moved").with("stage", to.message()),
            EntryKind::PutAway { reason } => plain("deed-archived").typed("reason", short(reason)),
            EntryKind::TakenUp => plain("deed-out-of-archive"),
            EntryKind::Note { text } => plain("deed-note").typed("says", short(text)),
            EntryKind::Photograph { caption, journal: of, .. } => match of {
                Some(of) => plain("deed-photograph-of").with("journal", journal(of)),
                None => plain("deed-photograph"),
            }
            .typed("caption", short(caption)),
            EntryKind::Undo { entry } => match self.named(*entry) {
                Some(what) => plain("deed-undo").with("what", what),
                None => plain("deed-undo-unknown"),
            },
        }
    }

    fn roughness(&self, row: &Row) -> Message {
        let when = if row.row.words("when") == Some("after") { "after" } else { "before" };
        let head = Message::new("deed-roughness").case("when", when).with("place", place(row));
        let ra = match figure(row, "ra") {
            // A bare figure is in the small unit that goes with the sizes; told without it, it could be either.
            Some(bare) if bare.ends_with(|last: char| last.is_ascii_digit()) => {
                Quantity::Typed(format!("{bare} {}", self.small_unit()))
            }
            _ => figure_or_nothing(row, "ra"),
        };
        let lay = figure(row, "lay").map(|lay| Message::new("deed-lay").typed("lay", &lay).typed("text", &lay));
        with(head.with("ra", ra), lay.into_iter().collect())
    }

    /// What a bare roughness of this job is in.
    fn small_unit(&self) -> &'static str {
        let metric = |kind: &&EntryKind| matches!(kind, EntryKind::BookedIn(booked) if booked.sheet.words("units") == Some("mm"));
        if self.kinds.values().any(metric) { "µm" } else { "µin" }
    }

    fn settled(&self, flag: EntryId, how: &Settled) -> Message {
        let about = match self.kind(flag) {
            Some(EntryKind::FlagRaised { about: Some(id), .. }) => self.named(*id),
            _ => None,
        };
        let what = about.unwrap_or_else(|| Message::new("the-remark"));
        let settled = |how: &'static str| Message::new("deed-settled").case("how", how).with("what", what.clone());
        match how {
            Settled::Kept => settled("kept").with("new", what.clone()),
            Settled::MeasuredAgain { by } => match self.named(*by) {
                Some(new) => settled("again-as").with("new", new),
                None => settled("again").with("new", what.clone()),
            },
            Settled::StruckOut => settled("struck-out").with("new", what.clone()),
            Settled::Noted => Message::new("deed-noted"),
        }
    }
}

fn shell(row: &Row) -> Message {
    let whose: Quantity = match (row.row.words("journal"), row.row.words("set").map(str::parse::<SetName>)) {
        (Some(name), _) => journal(name),
        (None, Some(Ok(set))) => Quantity::OneOf(set),
        (None, _) => Message::new("of-the-engine").into(),
    };
    let head = match figure(row, "count") {
        Some(count) => Message::new("deed-shells").typed("count", count),
        None => Message::new("deed-shell"),
    };
    let marked = figure(row, "undersize").map(|figure| detail("marked", figure));
    let wall = figure(row, "wall").map(|figure| detail("wall", figure));
    with(head.with("whose", whose), marked.into_iter().chain(wall).collect())
}

/// What an entry says, and what else belongs to it, one after another.
fn with(head: Message, details: Vec<Message>) -> Message {
    if details.is_empty() {
        return head;
    }
    let parts = std::iter::once(head).chain(details).map(Quantity::from).collect();
    Message::new("with-details").with("parts", Quantity::Listed(parts))
}

fn details(row: &Row, keys: &[&'static str]) -> Vec<Message> {
    keys.iter().filter_map(|key| Some(detail(key, figure(row, key)?))).collect()
}

fn detail(what: &'static str, figure: String) -> Message {
    Message::new("detail").case("what", what).typed("figure", figure)
}

fn reading(row: &Row) -> Message {
    let size = as_read(figure_or_nothing(row, "size"), row.source);
    Message::new("deed-reading").with("size", size).with("place", place(row))
}

/// A size by where it came from.
fn as_read(size: Quantity, source: Source) -> Message {
    let source = match source {
        Source::Typed | Source::Counts | Source::Sheet => "typed",
        Source::Gauge => "gauge",
        Source::Paper => "paper",
    };
    Message::new("deed-size").case("source", source).with("size", size)
}

fn figure(row: &Row, key: &str) -> Option<String> {
    row.row.get(key).map(one)
}

fn figure_or_nothing(row: &Row, key: &str) -> Quantity {
    figure(row, key).map_or_else(|| Message::new("nothing").into(), Quantity::Typed)
}

/// A set, or the one journal that a row is about.
fn set_or_journal(row: &Row) -> Quantity {
    match (row.row.words("journal"), row.row.words("set").map(str::parse::<SetName>)) {
        (Some(name), _) => journal(name),
        (None, Some(Ok(set))) => Quantity::Set(set),
        (None, _) => Message::new("of-the-crank").into(),
    }
}

/// A journal however the record names it; what names none is left as it was typed.
fn journal(name: &str) -> Quantity {
    name.parse::<JournalId>().map_or_else(|_| Quantity::Typed(name.trim().to_owned()), Quantity::Journal)
}

/// Journal, station and direction, as far as the row has them. A is in line with the throw, B square to it.
fn place(row: &Row) -> Message {
    let plane = figure(row, "plane").map(|plane| match plane.parse::<f64>().map(|degrees| degrees.rem_euclid(180.0)) {
        Ok(0.0) => "A".to_owned(),
        Ok(90.0) => "B".to_owned(),
        _ => format!("{plane}°"),
    });
    placed("deed-place", row, plane)
}

/// Journal, place and direction of a housing, whose directions count from the split.
fn housing_place(row: &Row) -> Message {
    placed("deed-housing-place", row, figure(row, "plane"))
}

fn placed(key: &'static str, row: &Row, plane: Option<String>) -> Message {
    let at = figure(row, "at");
    let has = match (&at, &plane) {
        (Some(_), Some(_)) => "both",
        (Some(_), None) => "at",
        (None, Some(_)) => "plane",
        (None, None) => "neither",
    };
    let at = at.unwrap_or_default();
    let at = Message::new("deed-at").typed("station", &at).typed("text", &at);
    let plane = plane.unwrap_or_default();
    Message::new(key).with("journal", journal(row.journal())).case("has", has).with("at", at).typed("plane", plane)
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

#[cfg(test)]
mod tests;
