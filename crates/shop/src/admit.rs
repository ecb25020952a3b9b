//! Which lines may be written: what is well formed and makes sense in the job as it stands.

use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

use document::Value;
use journal::SetName;

use crate::fold::{Job, counting, fold};
use crate::log::{Draft, Entry, EntryId, EntryKind, Row, Settled};
use crate::names::hidden;

/// Most characters of a name, a mark, a telephone number.
pub const MOST_NAME_CHARS: usize = 200;
/// Most characters of a note, a reason, a verdict.
pub const MOST_TEXT_CHARS: usize = 10_000;
/// Most bytes of one entry.
pub const MOST_ENTRY_BYTES: usize = 4_000_000;
/// Most entries that are written at once.
pub const MOST_AT_ONCE: usize = 20_000;

/// Why a line was not written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The field at fault, where it is one: `customer`, `reading.size`.
    pub field: String,
    /// What is wrong.
    pub says: String,
    /// What to do.
    pub advice: String,
}

impl Refusal {
    pub(crate) fn new(field: &str, says: impl Into<String>, advice: impl Into<String>) -> Refusal {
        Refusal { field: field.to_owned(), says: says.into(), advice: advice.into() }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.says, self.advice)
    }
}

impl std::error::Error for Refusal {}

/// One line of words: a name, a mark.
pub(crate) fn name(field: &str, text: &str) -> Result<(), Refusal> {
    if text.chars().count() > MOST_NAME_CHARS {
        let says = format!("The {field} is longer than {MOST_NAME_CHARS} characters.");
        return Err(Refusal::new(field, says, "Shorten it, and put the rest into a note."));
    }
    if let Some(c) = hidden(text) {
        return Err(not_seen(field, c));
    }
    plain(field, text, false)
}

/// A name that may not be empty.
pub(crate) fn needed(field: &str, text: &str) -> Result<(), Refusal> {
    if text.trim().is_empty() {
        return Err(Refusal::new(field, format!("The {field} is empty."), format!("Enter the {field}.")));
    }
    name(field, text)
}

/// Words that may run over several lines.
pub(crate) fn text(field: &str, text: &str) -> Result<(), Refusal> {
    if text.chars().count() > MOST_TEXT_CHARS {
        let says = format!("The {field} is longer than {MOST_TEXT_CHARS} characters.");
        return Err(Refusal::new(field, says, "Shorten it, or write two."));
    }
    plain(field, text, true)
}

/// Words that may not be empty.
pub(crate) fn needed_text(field: &str, words: &str) -> Result<(), Refusal> {
    if words.trim().is_empty() {
        return Err(Refusal::new(field, format!("The {field} is empty."), format!("Enter the {field}.")));
    }
    text(field, words)
}

fn plain(field: &str, text: &str, lines: bool) -> Result<(), Refusal> {
    let allowed = |c: char| !c.is_control() || (lines && matches!(c, '\n' | '\t' | '\r'));
    match text.chars().find(|c| !allowed(*c)) {
        Some(c) => Err(not_seen(field, c)),
        None => Ok(()),
    }
}

fn not_seen(field: &str, c: char) -> Refusal {
    let says = format!("The {field} has a character that cannot be seen (U+{:04X}).", c as u32);
    Refusal::new(field, says, "Type it again instead of pasting it.")
}

/// A length as it was typed. In which unit a bare number is does not matter here.
pub(crate) fn length(field: &str, typed: &str) -> Result<(), Refusal> {
    units::read(typed, units::Unit::Inch)
        .map(|_| ())
        .map_err(|error| Refusal::new(field, format!("The {field} is no length: {error}."), "Write it like 2.4480."))
}

/// A table whose words can be seen.
pub(crate) fn table(field: &str, value: &Value) -> Result<(), Refusal> {
    match value {
        Value::Table(_) => words_of(field, value),
        _ => Err(Refusal::new(field, format!("The {field} is no table of keys and values."), "Send it as a table.")),
    }
}

fn words_of(field: &str, value: &Value) -> Result<(), Refusal> {
    match value {
        Value::Text(words) | Value::Bare(words) => text(field, words),
        Value::Number(_) | Value::Truth(_) => Ok(()),
        Value::List(items) => items.iter().try_for_each(|item| words_of(field, item)),
        Value::Table(pairs) => pairs.iter().try_for_each(|(key, value)| {
            name(field, key)?;
            words_of(&format!("{field}.{key}"), value)
        }),
    }
}

/// What every line must keep, whatever it says.
pub(crate) fn frame<K: serde::Serialize>(draft: &Draft<K>) -> Result<(), Refusal> {
    needed("name of who did it", &draft.who)?;
    if draft.when.len() > 40 || draft.when.parse::<jiff::Timestamp>().is_err() {
        let shown: String = draft.when.chars().take(40).flat_map(char::escape_default).collect();
        let says = format!("\"{shown}\" is not a time.");
        return Err(Refusal::new("when", says, "Give date, time and zone, like 2026-11-25T14:02:00Z."));
    }
    Ok(())
}

/// What a line of a job must keep by itself.
fn form(kind: &EntryKind) -> Result<(), Refusal> {
    let row = |field: &str, row: &Row| {
        table(field, &row.row)?;
        row.typed.as_deref().map_or(Ok(()), |typed| name("typed", typed))
    };
    let rows = |field: &str, list: &[Row]| list.iter().try_for_each(|one| row(field, one));
    let maybe = |field: &str, words: &Option<String>| words.as_deref().map_or(Ok(()), |words| text(field, words));
    if let Some((kind, one)) = kind.sheet_row() {
        row(kind.name, one)?;
        let needs = kind.row.map_or(&[][..], |row| row.needs);
        return needs.iter().try_for_each(|key| has(kind.name, one, key));
    }
    match kind {
        EntryKind::BookedIn(booked) => {
            name("mark", &booked.mark)?;
            name("customer", &booked.customer)?;
            name("telephone", &booked.telephone)?;
            name("crank", &booked.crank)?;
            if let Some(promised) = &booked.promised
                && promised.parse::<jiff::civil::Date>().is_err()
            {
                let says = "The day it was promised for is not a date.";
                return Err(Refusal::new("promised", says, "Write it like 2026-11-30, or leave it out."));
            }
            table("sheet", &booked.sheet)
        }
        EntryKind::GroundReading(one) | EntryKind::FinalReading(one) => {
            row("reading", one)?;
            has("reading", one, "size")
        }
        EntryKind::Instrument { row } => {
            table("instrument", row)?;
            needed("instrument's name", row.words("name").unwrap_or_default())
        }
        EntryKind::MicrometerChanged { to } => needed("micrometer", to),
        EntryKind::ZeroCheck { instrument, reads, .. } => {
            needed("micrometer", instrument)?;
            length("zero", reads)
        }
        EntryKind::FlagRaised { check, says, .. } => {
            needed("check", check)?;
            needed_text("flag", says)
        }
        EntryKind::FlagSettled { .. } | EntryKind::TakenUp | EntryKind::Undo { .. } => Ok(()),
        EntryKind::SecondReading { size, .. } => length("size", size),
        EntryKind::PolicyChanged { policy } => table("policy", policy),
        EntryKind::WantedChanged { wanted } => table("wanted", wanted),
        EntryKind::Carried { carried: Value::Text(words) | Value::Bare(words) } => {
            needed("support of the shaft", words)
        }
        EntryKind::Carried { carried } => table("support of the shaft", carried),
        EntryKind::Decision { set, choice, overruled, verdict } => {
            if set.parse::<SetName>().is_err() {
                return Err(Refusal::new("set", "The set is neither main nor pin.", "Name one of the two."));
            }
            needed("choice", choice)?;
            if let Some(reason) = overruled {
                needed_text("reason", reason)?;
            }
            text("verdict", verdict)
        }
        EntryKind::SheetIssued { code, supersedes, plan } => {
            needed("code of the sheet", code)?;
            maybe("sheet it supersedes", supersedes)?;
            table("plan", plan)
        }
        EntryKind::CleanedUp { journal, left, .. } => {
            needed("journal", journal)?;
            maybe("place", left)
        }
        EntryKind::SentToTreatment { batch, sizes } | EntryKind::BackFromTreatment { batch, sizes } => {
            needed("batch", batch)?;
            rows("sizes", sizes)
        }
        EntryKind::EyeCheck { item, by, says, .. } => {
            needed("item", item)?;
            needed("name of who looked", by)?;
            maybe("remark", says)
        }
        EntryKind::SignedOff { says, .. } => needed_text("sentence", says),
        EntryKind::Reopened { reason } | EntryKind::PutAway { reason } => needed_text("reason", reason),
        EntryKind::HandedOver { to } => needed("name of who took it", to),
        EntryKind::Moved { .. } => Ok(()),
        EntryKind::Note { text } => needed_text("note", text),
        EntryKind::Photograph { caption, journal, .. } => {
            text("caption", caption)?;
            maybe("journal", journal)
        }
        // The rows of the sheet, which the table told above.
        _ => Ok(()),
    }
}

fn has(field: &str, row: &Row, key: &str) -> Result<(), Refusal> {
    match row.row.get(key) {
        Some(_) => Ok(()),
        None => Err(Refusal::new(
            &format!("{field}.{key}"),
            format!("The {field} has no {key}."),
            format!("Add the {key}."),
        )),
    }
}

/// Whether a line can be written into a job as it stands after `entries`.
///
/// # Errors
/// [`Refusal`] says what is wrong with the line.
pub fn admit(entries: &[Entry], draft: &Draft) -> Result<(), Refusal> {
    Gate::of(entries.to_vec()).admit(draft)
}

/// What has to be known of a job to admit lines to it, one after another.
pub(crate) struct Gate {
    entries: Vec<Entry>,
    kinds: HashMap<EntryId, (EntryKind, bool)>,
    job: Option<Arc<Job>>,
    /// Lines were admitted since the job was added up that matter to some that may follow.
    stale: bool,
    /// Lines were admitted since that matter to any that may follow.
    turned: bool,
}

impl Gate {
    pub(crate) fn of(entries: Vec<Entry>) -> Gate {
        let mut gate = Gate { entries, kinds: HashMap::new(), job: None, stale: false, turned: false };
        gate.add_up();
        gate
    }

    /// The same, where somebody has the job added up already.
    pub(crate) fn of_known(entries: Vec<Entry>, job: Arc<Job>) -> Gate {
        let mut gate = Gate { entries, kinds: HashMap::new(), job: Some(job), stale: false, turned: false };
        gate.look_at_kinds();
        gate
    }

    fn add_up(&mut self) {
        self.look_at_kinds();
        self.job = (!self.entries.is_empty()).then(|| Arc::new(fold(&self.entries)));
        (self.stale, self.turned) = (false, false);
    }

    fn look_at_kinds(&mut self) {
        let counts = counting(&self.entries, EntryKind::undoes);
        let kinds = self.entries.iter().zip(counts).map(|(entry, counts)| (entry.id, (entry.kind.clone(), counts)));
        self.kinds = kinds.collect();
    }

    /// The place of the next entry.
    pub(crate) fn next_seq(&self) -> i64 {
        self.entries.last().map_or(1, |entry| entry.seq + 1)
    }

    /// Puts down a line that was admitted. Rows of a sheet come by the thousand, so the job is added up anew only
    /// before a line that depends on it.
    pub(crate) fn put_down(&mut self, entry: Entry) {
        self.stale = true;
        self.turned |= self.job.is_none() || !entry.kind.kind().light;
        self.kinds.insert(entry.id, (entry.kind.clone(), true));
        self.entries.push(entry);
    }

    /// The entries, with those that were put down.
    pub(crate) fn into_entries(self) -> Vec<Entry> {
        self.entries
    }

    /// Whether an entry may be undone as the job stands.
    pub(crate) fn may_undo(&self, id: EntryId) -> bool {
        self.job.as_ref().is_some_and(|job| self.undo(job, id).is_ok())
    }

    fn known(&self, field: &str, id: EntryId) -> Result<&(EntryKind, bool), Refusal> {
        self.kinds.get(&id).ok_or_else(|| {
            let says = format!("This job has no entry {id}.");
            Refusal::new(field, says, "Load the page again.")
        })
    }

    pub(crate) fn admit(&mut self, draft: &Draft) -> Result<(), Refusal> {
        frame(draft)?;
        form(&draft.kind)?;
        if self.turned || (self.stale && !draft.kind.kind().light) {
            self.add_up();
        }
        self.admit_to_job(draft)
    }

    fn admit_to_job(&self, draft: &Draft) -> Result<(), Refusal> {
        let Some(job) = &self.job else {
            return match (&draft.kind, draft.corrects) {
                (EntryKind::BookedIn(_), None) => Ok(()),
                _ => Err(Refusal::new("kind", "The crank is not booked in.", "Book it in first.")),
            };
        };
        if let Some(id) = draft.corrects {
            self.correction(draft, id)?;
        } else if matches!(draft.kind, EntryKind::BookedIn(_)) {
            let advice = "Change what booking in says instead.";
            return Err(Refusal::new("kind", "The crank is booked in already.", advice));
        }
        self.while_signed(job, &draft.kind)?;
        match &draft.kind {
            EntryKind::Undo { entry } => self.undo(job, *entry),
            EntryKind::FlagRaised { about: Some(id), .. } => self.known("about", *id).map(|_| ()),
            EntryKind::FlagSettled { flag, how } => {
                if !matches!(self.known("flag", *flag)?.0, EntryKind::FlagRaised { .. }) {
                    return Err(Refusal::new("flag", "That entry is no flag.", "Load the page again."));
                }
                match how {
                    Settled::MeasuredAgain { by } => self.known("by", *by).map(|_| ()),
                    _ => Ok(()),
                }
            }
            EntryKind::SecondReading { of, .. } => match self.known("of", *of)? {
                (EntryKind::Reading(_), true) => Ok(()),
                _ => Err(Refusal::new("of", "That entry is no reading that counts.", "Load the page again.")),
            },
            EntryKind::ZeroCheck { instrument, .. } => self.instrument(instrument),
            EntryKind::SheetIssued { code, supersedes, .. } => {
                let taken = |code: &String| job.sheets.iter().any(|sheet| sheet.code == *code);
                if taken(code) {
                    let says = format!("This job already has a sheet {code}.");
                    return Err(Refusal::new("code", says, "Give the new sheet another code."));
                }
                match supersedes {
                    Some(old) if !taken(old) => {
                        let says = format!("This job has no sheet {old}.");
                        Err(Refusal::new("supersedes", says, "Load the page again."))
                    }
                    _ => Ok(()),
                }
            }
            EntryKind::BackFromTreatment { batch, .. } => {
                if job.treatments.iter().any(|stay| stay.batch == *batch && !stay.back) {
                    return Ok(());
                }
                let says = format!("This crank is not away in batch {batch}.");
                Err(Refusal::new("batch", says, "Look at the code of the batch."))
            }
            EntryKind::SignedOff { document_hash, .. } => {
                if job.signed_off.is_some() {
                    return Err(Refusal::new(
                        "kind",
                        "The job is signed off already.",
                        "Reopen it with a reason first.",
                    ));
                }
                if *document_hash != job.frozen_hash() {
                    let says = "The job has changed since this page was made.";
                    return Err(Refusal::new("document_hash", says, "Look at it again, then sign."));
                }
                Ok(())
            }
            EntryKind::Reopened { .. } if job.signed_off.is_none() => {
                Err(Refusal::new("kind", "The job is not signed off.", "There is nothing to reopen; go on."))
            }
            EntryKind::HandedOver { .. } if job.handed_over.is_some() => {
                Err(Refusal::new("kind", "The crank was handed over already.", "Undo that first if it is wrong."))
            }
            _ => Ok(()),
        }
    }

    fn correction(&self, draft: &Draft, id: EntryId) -> Result<(), Refusal> {
        let (kind, counts) = self.known("corrects", id)?;
        if std::mem::discriminant(kind) != std::mem::discriminant(&draft.kind) {
            return Err(Refusal::new("corrects", "The entry it corrects is of another kind.", "Load the page again."));
        }
        if !counts {
            return Err(Refusal::new("corrects", "The entry it corrects was undone.", "Enter it as a new one."));
        }
        if kind.kind().correctable {
            return Ok(());
        }
        Err(Refusal::new("corrects", "An entry of this kind is not corrected.", "Undo it, or write a new one."))
    }

    fn instrument(&self, name: &str) -> Result<(), Refusal> {
        let known = self.kinds.values().any(|(kind, counts)| {
            *counts && matches!(kind, EntryKind::Instrument { row } if row.words("name") == Some(name))
        });
        if known {
            return Ok(());
        }
        let says = format!("This job has no micrometer \"{name}\".");
        Err(Refusal::new("instrument", says, "Take it up for this job first."))
    }

    /// What is signed stays as it was signed.
    fn while_signed(&self, job: &Job, kind: &EntryKind) -> Result<(), Refusal> {
        // Who it belongs to may be put right, what it is not.
        let same_crank = matches!(kind, EntryKind::BookedIn(booked) if booked.sheet == job.booked_in.sheet && booked.mark == job.booked_in.mark);
        if job.signed_off.is_none() || kind.kind().after_signing || same_crank {
            return Ok(());
        }
        let says = "The job is signed off, and what was signed stays as it is.";
        Err(Refusal::new("kind", says, "Reopen it with a reason; that begins the next revision."))
    }

    fn undo(&self, job: &Job, id: EntryId) -> Result<(), Refusal> {
        let (kind, counts) = self.known("entry", id)?;
        if !counts {
            return Err(Refusal::new("entry", "That entry is undone already.", "Load the page again."));
        }
        if job.next_undo == Some(id) || job.next_redo == Some(id) {
            return Ok(());
        }
        if !kind.kind().undoable && kind.undoes().is_none() {
            let advice = match kind {
                EntryKind::BookedIn(_) => "Put the job away instead.",
                EntryKind::SheetIssued { .. } => "Issue a sheet that supersedes it.",
                EntryKind::SignedOff { .. } => "Reopen it with a reason.",
                EntryKind::FlagRaised { .. } => "Settle the flag.",
                _ => "Write a new entry.",
            };
            return Err(Refusal::new("entry", "An entry of this kind is not undone.", advice));
        }
        // An undo from before the signature, taken back, would bring back what was not signed.
        if job.signed_off.is_some() && (!kind.kind().after_signing || kind.undoes().is_some()) {
            let says = "The job is signed off, and what was signed stays as it is.";
            return Err(Refusal::new("entry", says, "Reopen it with a reason; that begins the next revision."));
        }
        Ok(())
    }
}
