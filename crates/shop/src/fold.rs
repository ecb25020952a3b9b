//! What the entries of a job add up to.

use std::collections::HashMap;

use document::Value;
use serde::Serialize;
use sha2::{Digest, Sha256};
use utoipa::ToSchema;

use crate::log::{BookedIn, Entry, EntryId, EntryKind, JobNumber, Row, Settled, Source};
use crate::sheet_rows::{self, SheetRows};
use crate::stage::Stage;

pub use crate::sheet_rows::ZeroMoved;

/// One job as it stands.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Job {
    /// Its number.
    #[schema(value_type = i64)]
    pub number: JobNumber,
    /// The place of the last entry: what a writer states as the last one seen.
    pub seq: i64,
    /// Whose crank it is and what it is.
    pub booked_in: BookedIn,
    /// When it was booked in.
    pub booked_when: String,
    /// The stage of work.
    pub stage: Stage,
    /// When it came to this stage.
    pub since: String,
    /// Whether it was put away.
    pub put_away: bool,
    /// The sheet: what was measured before grinding, and how the shop works. Second readings, settled flags, corrections
    /// and zero checks are worked in.
    #[schema(value_type = Object)]
    pub document: Value,
    /// Rows of the sheet with the entries they come from, in the order they were first written.
    pub rows: Vec<SheetRow>,
    /// Flags that are not settled.
    pub flags: Vec<Flag>,
    /// Readings whose second reading clashed and that need a third; not in the sheet until then.
    pub third_wanted: Vec<EntryId>,
    /// Micrometers whose zero at the end was not the zero in use.
    pub zero_moved: Vec<ZeroMoved>,
    /// What each micrometer reads on its standard, less the standard, as last checked or else as stated; as typed.
    pub zeros: Vec<(String, String)>,
    /// The micrometer in hand.
    pub micrometer: Option<String>,
    /// What was decided, the latest for each set.
    pub decisions: Vec<Decided>,
    /// The sheets issued to the grinder, in order; the last one is in force.
    pub sheets: Vec<IssuedSheet>,
    /// Readings taken while grinding.
    pub ground: Vec<CheckRow>,
    /// Whether each journal cleaned up, the latest word for each.
    pub cleaned_up: Vec<CleanUp>,
    /// Its heat treatments, in order.
    pub treatments: Vec<Treatment>,
    /// Readings of the final check.
    pub final_readings: Vec<CheckRow>,
    /// What was checked by eye, the latest word on each item.
    pub eye_checks: Vec<EyeChecked>,
    /// Which revision of the record this is: 1, and one more for each reopening.
    pub revision: u32,
    /// The sign-off in force, if the job is signed off.
    pub signed_off: Option<SignOff>,
    /// To whom the crank was handed over, if it was.
    pub handed_over: Option<String>,
    /// Photographs.
    pub photographs: Vec<Photograph>,
    /// What the next undo would undo.
    pub next_undo: Option<EntryId>,
    /// The undo that the next redo would take back.
    pub next_redo: Option<EntryId>,
}

/// One row of the sheet and where it comes from.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct SheetRow {
    /// The entry that first put it down; stays the same through corrections.
    pub first: EntryId,
    /// The entry that says what it is now: the first or the last correction.
    pub entry: EntryId,
    /// The place of that entry.
    pub seq: i64,
    /// The key of the sheet that it belongs under: `reading`, `run_out`, `trace`, `centre`, `damage`, `worn`, `stamped`,
    /// `housing`, `shell`, `bearing`, `thrust`, `roughness`, `dial`, `height`, `feature`, `case`.
    pub key: &'static str,
    /// The row as it was entered.
    #[schema(value_type = Object)]
    pub row: Value,
    /// Where its figures came from.
    pub source: Source,
    /// Who entered it.
    pub who: String,
    /// When.
    pub when: String,
    /// Whether it counts, and if not, why.
    pub standing: Standing,
    /// Sizes of blind second and third readings, as typed, in order.
    pub again: Vec<String>,
    /// Where there are such: the sizes that stand for it, which a further one is held against.
    #[serde(skip)]
    pub compared_with: Vec<Value>,
}

/// Whether a row counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// It stands in the sheet.
    Counts,
    /// A flag about it is not settled.
    LookAgain,
    /// Its second reading clashed, and the third is not in.
    ThirdWanted,
    /// It was struck out when a flag was settled.
    StruckOut,
}

/// A flag that is not settled.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Flag {
    /// The entry that raised it.
    pub entry: EntryId,
    /// The entry it is about, if about one.
    pub about: Option<EntryId>,
    /// Which check raised it.
    pub check: String,
    /// What it says.
    pub says: String,
}

/// What was decided for a set.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Decided {
    /// The entry.
    pub entry: EntryId,
    /// The place of that entry, to tell what was known when it was decided.
    pub seq: i64,
    /// `main` or `pin`.
    pub set: String,
    /// The choice, as typed.
    pub choice: String,
    /// Why the rule was overruled, where it was.
    pub overruled: Option<String>,
    /// The verdict as it stood.
    pub verdict: String,
    /// Who decided.
    pub who: String,
    /// When.
    pub when: String,
}

/// A sheet that went to the grinder.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct IssuedSheet {
    /// The code on the paper.
    pub code: String,
    /// The sheet it replaced.
    pub supersedes: Option<String>,
    /// What stands on it.
    #[schema(value_type = Object)]
    pub plan: Value,
    /// Who issued it.
    pub who: String,
    /// When.
    pub when: String,
}

/// A reading taken while grinding or at the final check.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct CheckRow {
    /// The entry that first put it down; stays the same through corrections.
    pub first: EntryId,
    /// The entry that says what it is now.
    pub entry: EntryId,
    /// The row as it was entered.
    pub row: Row,
    /// The sheet that was in force.
    pub sheet: Option<String>,
    /// What its micrometer read on the standard, less the standard, as last checked before; as typed.
    pub zero: Option<String>,
    /// Who took it.
    pub who: String,
    /// When.
    pub when: String,
}

/// Whether a journal cleaned up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct CleanUp {
    /// The entry.
    pub entry: EntryId,
    /// The journal.
    pub journal: String,
    /// Whether it did.
    pub yes: bool,
    /// Where it did not.
    pub left: Option<String>,
}

/// One stay at heat treatment.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Treatment {
    /// The batch.
    pub batch: String,
    /// Sizes before.
    pub before: Vec<Row>,
    /// Sizes after.
    pub after: Vec<Row>,
    /// Whether it is back.
    pub back: bool,
}

/// Something that was checked by eye.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct EyeChecked {
    /// The entry.
    pub entry: EntryId,
    /// What was looked at.
    pub item: String,
    /// Whether it passed.
    pub passed: bool,
    /// Who looked.
    pub by: String,
    /// What there is to say.
    pub says: Option<String>,
}

/// A signature under the final check.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct SignOff {
    /// The entry.
    pub entry: EntryId,
    /// Its place in the log: folding the entries up to it gives the record as it was signed.
    pub seq: i64,
    /// Which revision was signed.
    pub revision: u32,
    /// The hash of what was signed.
    pub document_hash: String,
    /// The sentence.
    pub says: String,
    /// Who signed.
    pub who: String,
    /// When.
    pub when: String,
}

/// A photograph in a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Photograph {
    /// The entry that first put it down; stays the same through corrections.
    pub first: EntryId,
    /// The entry.
    pub entry: EntryId,
    /// The hash it is kept under.
    pub picture: String,
    /// What it shows.
    pub caption: String,
    /// The journal, if it shows one.
    pub journal: Option<String>,
}

impl Job {
    /// The sheet as JSON text, to be read and judged like a sheet from a file.
    pub fn sheet_json(&self) -> String {
        self.document.to_json()
    }

    /// What a signature freezes: the sheet, the decisions, the grinder's sheet, the final check.
    pub fn frozen(&self) -> Value {
        let text = |text: &Option<String>| Value::from(text.as_deref().unwrap_or_default());
        let decisions = self.decisions.iter().map(|d| {
            Value::table([
                ("set", Value::from(d.set.as_str())),
                ("choice", Value::from(d.choice.as_str())),
                ("overruled", text(&d.overruled)),
            ])
        });
        let finals = self.final_readings.iter().map(|reading| {
            let mut row = reading.row.row.clone();
            row.set("sheet", text(&reading.sheet));
            row.set("zero", text(&reading.zero));
            row
        });
        let eyes = self.eye_checks.iter().map(|eye| {
            Value::table([
                ("item", Value::from(eye.item.as_str())),
                ("passed", Value::from(eye.passed)),
                ("by", Value::from(eye.by.as_str())),
                ("says", text(&eye.says)),
            ])
        });
        let cleaned = self.cleaned_up.iter().map(|clean| {
            Value::table([
                ("journal", Value::from(clean.journal.as_str())),
                ("yes", Value::from(clean.yes)),
                ("left", text(&clean.left)),
            ])
        });
        let in_force = self.sheets.last();
        Value::table([
            ("job", Value::from(self.number)),
            ("revision", Value::from(i64::from(self.revision))),
            ("sheet", self.document.clone()),
            ("decisions", Value::List(decisions.collect())),
            ("code", Value::from(in_force.map(|sheet| sheet.code.as_str()).unwrap_or_default())),
            ("plan", in_force.map_or(Value::Table(Vec::new()), |sheet| sheet.plan.clone())),
            ("cleaned_up", Value::List(cleaned.collect())),
            ("final_readings", Value::List(finals.collect())),
            ("eye_checks", Value::List(eyes.collect())),
        ])
    }

    /// The hash of what a signature freezes, in hexadecimal. A sign-off states it, and is refused if the job has
    /// changed since.
    pub fn frozen_hash(&self) -> String {
        hex(&Sha256::digest(self.frozen().to_json()))
    }

    /// Final readings taken under the sheet that is in force.
    pub fn final_readings_now(&self) -> impl Iterator<Item = &CheckRow> {
        let code = self.sheets.last().map(|sheet| sheet.code.as_str());
        self.final_readings.iter().filter(move |reading| reading.sheet.as_deref() == code)
    }
}

/// Bytes as hexadecimal.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Which entries count: those that no counting undo names.
///
/// Only later entries undo earlier ones, so walking from the end settles each in one step.
pub(crate) fn counting<K>(entries: &[Entry<K>], undone_by: impl Fn(&K) -> Option<EntryId>) -> Vec<bool> {
    let place: HashMap<EntryId, usize> = entries.iter().enumerate().map(|(n, entry)| (entry.id, n)).collect();
    let mut counts = vec![true; entries.len()];
    for n in (0..entries.len()).rev() {
        if counts[n]
            && let Some(target) = undone_by(&entries[n].kind).and_then(|id| place.get(&id))
            && *target < n
        {
            counts[*target] = false;
        }
    }
    counts
}

/// The first entry of each chain of corrections, by every entry of the chain but the first.
pub(crate) type Roots = HashMap<EntryId, EntryId>;

pub(crate) fn roots<K>(entries: &[Entry<K>]) -> Roots {
    let mut roots = Roots::new();
    for entry in entries {
        if let Some(corrected) = entry.corrects {
            let first = root(&roots, corrected);
            roots.insert(entry.id, first);
        }
    }
    roots
}

/// The first entry of the chain of corrections that an entry belongs to.
pub(crate) fn root(roots: &Roots, id: EntryId) -> EntryId {
    roots.get(&id).copied().unwrap_or(id)
}

/// A correction of what was undone corrects nothing.
pub(crate) fn drop_orphans(entries: &[Entry], roots: &Roots, counts: &mut [bool]) {
    let undone: std::collections::HashSet<EntryId> =
        entries.iter().zip(counts.iter()).filter(|(_, counts)| !**counts).map(|(entry, _)| entry.id).collect();
    for (entry, counts) in entries.iter().zip(counts) {
        *counts &= !roots.get(&entry.id).is_some_and(|first| undone.contains(first));
    }
}

/// Which entries of a job count: neither undone (unless the undo was undone), nor corrections of what was.
///
/// The one place that works it out, for everybody who reads a log and not the job that it adds up to.
pub fn counts(entries: &[Entry]) -> Vec<bool> {
    let mut counts = counting(entries, EntryKind::undoes);
    drop_orphans(entries, &roots(entries), &mut counts);
    counts
}

/// The entries of a job that count, in order; see [`counts`].
pub fn that_count(entries: &[Entry]) -> impl DoubleEndedIterator<Item = &Entry> {
    entries.iter().zip(counts(entries)).filter_map(|(entry, counts)| counts.then_some(entry))
}

/// Adds up the entries of a job, in the order of their places.
///
/// Times do not matter for it: a reading that was kept on a tablet and came late stands where it arrived.
///
/// # Example
/// ```
/// use shop::{BookedIn, Draft, EntryId, EntryKind, Stage, Value, entry_of, fold};
/// let booked = EntryKind::BookedIn(BookedIn {
///     mark: "C-0412".into(),
///     customer: "A. Miller".into(),
///     telephone: String::new(),
///     crank: "Tarn four, 1.5 litre".into(),
///     promised: None,
///     sheet: Value::table([("units", Value::from("in"))]),
///     example: false,
/// });
/// let draft = Draft::new(EntryId::from_bits(1), "Pat", "2026-11-25T09:00:00Z", booked);
/// let job = fold(&[entry_of(&draft, 1001, 1, "2026-11-25T09:00:01Z")]);
/// assert_eq!((job.number, job.stage), (1001, Stage::BookedIn));
/// ```
pub fn fold(entries: &[Entry]) -> Job {
    tracing::trace!(target: "shop::fold", entries = entries.len());
    let roots = roots(entries);
    let counts = counts(entries);
    let live: Vec<&Entry> =
        entries.iter().zip(&counts).filter(|(_, counts)| **counts).map(|(entry, _)| entry).collect();
    let booked = booked_in(&live);
    let SheetRows { document, rows, flags, third_wanted, zero_moved, zeros, zeros_now } =
        sheet_rows::sheet_rows(&booked, &live, &roots);
    let mut job = Job {
        number: entries.first().map_or(0, |entry| entry.job),
        seq: entries.last().map_or(0, |entry| entry.seq),
        booked_in: booked,
        booked_when: entries.first().map(|entry| entry.when.clone()).unwrap_or_default(),
        stage: Stage::BookedIn,
        since: entries.first().map(|entry| entry.when.clone()).unwrap_or_default(),
        put_away: false,
        document,
        rows,
        flags,
        third_wanted,
        zero_moved,
        zeros: zeros_now,
        micrometer: None,
        decisions: Vec::new(),
        sheets: Vec::new(),
        ground: Vec::new(),
        cleaned_up: Vec::new(),
        treatments: Vec::new(),
        final_readings: Vec::new(),
        eye_checks: Vec::new(),
        revision: 1,
        signed_off: None,
        handed_over: None,
        photographs: Vec::new(),
        next_undo: None,
        next_redo: None,
    };
    for entry in &live {
        job.take(entry, &zeros, &roots);
    }
    (job.next_undo, job.next_redo) = next_steps(entries, &counts);
    job
}

/// What booking in says now: the first entry, or the last one that corrects it.
fn booked_in(live: &[&Entry]) -> BookedIn {
    let booked = live.iter().rev().find_map(|entry| match &entry.kind {
        EntryKind::BookedIn(booked) => Some(booked.clone()),
        _ => None,
    });
    booked.unwrap_or_else(|| BookedIn {
        mark: String::new(),
        customer: String::new(),
        telephone: String::new(),
        crank: String::new(),
        promised: None,
        sheet: Value::Table(Vec::new()),
        example: false,
    })
}

impl Job {
    /// Adds one counting entry to what does not stand in the sheet.
    fn take(&mut self, entry: &Entry, zeros: &HashMap<EntryId, String>, roots: &Roots) {
        let first = root(roots, entry.id);
        let who = || entry.who.clone();
        let when = || entry.when.clone();
        match &entry.kind {
            kind if kind.is_sheet_row() && self.stage == Stage::BookedIn => self.go_to(Stage::Measuring, entry),
            EntryKind::MicrometerChanged { to } => self.micrometer = Some(to.clone()),
            EntryKind::Decision { set, choice, overruled, verdict } => {
                self.decisions.retain(|decided| decided.set != *set);
                self.decisions.push(Decided {
                    entry: entry.id,
                    seq: entry.seq,
                    set: set.clone(),
                    choice: choice.clone(),
                    overruled: overruled.clone(),
                    verdict: verdict.clone(),
                    who: who(),
                    when: when(),
                });
                if self.stage < Stage::ToDecide {
                    self.go_to(Stage::ToDecide, entry);
                }
            }
            EntryKind::SheetIssued { code, supersedes, plan } => {
                self.sheets.push(IssuedSheet {
                    code: code.clone(),
                    supersedes: supersedes.clone(),
                    plan: plan.clone(),
                    who: who(),
                    when: when(),
                });
                self.go_to(Stage::AtTheGrinder, entry);
            }
            EntryKind::GroundReading(row) => {
                let check = self.check_row(entry, row, first, zeros);
                put_check(&mut self.ground, check);
            }
            EntryKind::CleanedUp { journal, yes, left } => {
                self.cleaned_up.retain(|clean| clean.journal != *journal);
                self.cleaned_up.push(CleanUp {
                    entry: entry.id,
                    journal: journal.clone(),
                    yes: *yes,
                    left: left.clone(),
                });
            }
            EntryKind::SentToTreatment { batch, sizes } => {
                self.treatments.push(Treatment {
                    batch: batch.clone(),
                    before: sizes.clone(),
                    after: Vec::new(),
                    back: false,
                });
                self.go_to(Stage::AtTreatment, entry);
            }
            EntryKind::BackFromTreatment { batch, sizes } => {
                let stay = self.treatments.iter_mut().rev().find(|stay| stay.batch == *batch);
                if let Some(stay) = stay {
                    stay.after = sizes.clone();
                    stay.back = true;
                }
                self.go_to(Stage::FinalCheck, entry);
            }
            EntryKind::FinalReading(row) => {
                let check = self.check_row(entry, row, first, zeros);
                put_check(&mut self.final_readings, check);
                if self.stage < Stage::FinalCheck {
                    self.go_to(Stage::FinalCheck, entry);
                }
            }
            EntryKind::EyeCheck { item, passed, by, says } => {
                self.eye_checks.retain(|eye| eye.item != *item);
                self.eye_checks.push(EyeChecked {
                    entry: entry.id,
                    item: item.clone(),
                    passed: *passed,
                    by: by.clone(),
                    says: says.clone(),
                });
            }
            EntryKind::SignedOff { document_hash, says } => {
                self.signed_off = Some(SignOff {
                    entry: entry.id,
                    seq: entry.seq,
                    revision: self.revision,
                    document_hash: document_hash.clone(),
                    says: says.clone(),
                    who: who(),
                    when: when(),
                });
                self.go_to(Stage::Ready, entry);
            }
            EntryKind::Reopened { .. } => {
                self.signed_off = None;
                self.handed_over = None;
                self.revision += 1;
                self.go_to(Stage::FinalCheck, entry);
            }
            EntryKind::HandedOver { to } => {
                self.handed_over = Some(to.clone());
                self.go_to(Stage::Collected, entry);
            }
            EntryKind::Moved { to } => self.go_to(*to, entry),
            EntryKind::PutAway { .. } => self.put_away = true,
            EntryKind::TakenUp => self.put_away = false,
            EntryKind::Photograph { picture, caption, journal } => {
                let photograph = Photograph {
                    first,
                    entry: entry.id,
                    picture: picture.clone(),
                    caption: caption.clone(),
                    journal: journal.clone(),
                };
                match self.photographs.iter_mut().find(|there| there.first == first) {
                    Some(there) => *there = photograph,
                    None => self.photographs.push(photograph),
                }
            }
            // Rows of the sheet and what is said about them are worked in by `sheet_rows`; the rest changes nothing.
            _ => {}
        }
    }

    fn go_to(&mut self, stage: Stage, entry: &Entry) {
        if self.stage != stage {
            self.stage = stage;
            self.since = entry.when.clone();
        }
    }

    fn check_row(&self, entry: &Entry, row: &Row, first: EntryId, zeros: &HashMap<EntryId, String>) -> CheckRow {
        CheckRow {
            first,
            entry: entry.id,
            row: row.clone(),
            sheet: self.sheets.last().map(|sheet| sheet.code.clone()),
            zero: zeros.get(&entry.id).cloned(),
            who: entry.who.clone(),
            when: entry.when.clone(),
        }
    }
}

fn put_check(checks: &mut Vec<CheckRow>, check: CheckRow) {
    match checks.iter_mut().find(|there| there.first == check.first) {
        Some(there) => *there = check,
        None => checks.push(check),
    }
}

/// Whether an entry can be taken back: by its kind, or because it only put another right.
pub(crate) fn may_be_taken_back(entry: &Entry) -> bool {
    entry.kind.kind().undoable || (entry.corrects.is_some() && entry.kind.undoes().is_none())
}

/// What the next undo and the next redo are about.
///
/// Undo goes backwards through what counts, not past a signature, an opening of one or a sheet on the grinder's bench.
/// Redo takes back the latest undo, until something new is written.
fn next_steps(entries: &[Entry], counts: &[bool]) -> (Option<EntryId>, Option<EntryId>) {
    let is_wall = |kind: &EntryKind| {
        matches!(kind, EntryKind::SheetIssued { .. } | EntryKind::SignedOff { .. } | EntryKind::Reopened { .. })
    };
    let numbered = || entries.iter().zip(counts).rev();
    let undo = numbered()
        .filter(|(_, counts)| **counts)
        .map(|(entry, _)| entry)
        .take_while(|entry| !is_wall(&entry.kind))
        .find(|entry| may_be_taken_back(entry))
        .map(|entry| entry.id);
    let kind_of: HashMap<EntryId, &EntryKind> = entries.iter().map(|entry| (entry.id, &entry.kind)).collect();
    // An undo of an undo is a redo, and so on: what counts is what stands at the end of the chain.
    let is_redo = |kind: &EntryKind| {
        let mut steps = 0;
        let mut target = kind.undoes();
        while let Some(next) = target.and_then(|id| kind_of.get(&id)).and_then(|kind| kind.undoes()) {
            steps += 1;
            target = Some(next);
            if steps > entries.len() {
                break;
            }
        }
        steps % 2 == 1
    };
    let redo = numbered()
        .take_while(|(entry, _)| entry.kind.undoes().is_some())
        .find(|(entry, counts)| **counts && !is_redo(&entry.kind))
        .map(|(entry, _)| entry.id);
    (undo, redo)
}

/// The job as it stood when a revision was signed, where that revision was signed.
pub fn as_signed(entries: &[Entry], revision: u32) -> Option<Job> {
    let mut seen = 1;
    for (n, entry) in entries.iter().enumerate() {
        match entry.kind {
            EntryKind::Reopened { .. } => seen += 1,
            EntryKind::SignedOff { .. } if seen == revision => return Some(fold(entries.get(..=n)?)),
            _ => {}
        }
    }
    None
}

/// How a flag about an entry bears on it.
pub(crate) fn standing_after(how: Option<Settled>, counts: impl Fn(EntryId) -> bool) -> Standing {
    match how {
        None => Standing::LookAgain,
        Some(Settled::Kept | Settled::Noted) => Standing::Counts,
        Some(Settled::StruckOut) => Standing::StruckOut,
        // If the new measurement is undone, the old one is in doubt again.
        Some(Settled::MeasuredAgain { by }) if counts(by) => Standing::StruckOut,
        Some(Settled::MeasuredAgain { .. }) => Standing::LookAgain,
    }
}
