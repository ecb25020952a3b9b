//! What is written down: one entry after another, none ever changed.

use std::fmt;
use std::str::FromStr;

use document::Value;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa::openapi::RefOr;
use utoipa::openapi::schema::{ObjectBuilder, Schema, Type};

use crate::stage::Stage;

/// The version of the sheet whose keys the entries use.
pub const SHEET_VERSION: u32 = 1;

/// The number of a job. The shop's own log is job 0.
pub type JobNumber = i64;

/// The name of an entry, made by whoever writes it: 128 bits that nobody else draws.
///
/// An entry that is sent twice has the same name and is kept once.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EntryId(u128);

impl EntryId {
    /// The name with these bits.
    pub const fn from_bits(bits: u128) -> EntryId {
        EntryId(bits)
    }

    /// The bits of the name.
    pub const fn bits(self) -> u128 {
        self.0
    }
}

impl fmt::Display for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

impl fmt::Debug for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "EntryId({self})")
    }
}

/// A text that is no name of an entry.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an entry is named by 32 hexadecimal digits, this has {0}")]
pub struct NotAnEntryId(String);

impl FromStr for EntryId {
    type Err = NotAnEntryId;
    fn from_str(text: &str) -> Result<EntryId, NotAnEntryId> {
        let well_formed = text.len() == 32 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
        match u128::from_str_radix(text, 16) {
            Ok(bits) if well_formed => Ok(EntryId(bits)),
            _ => Err(NotAnEntryId(text.chars().take(40).flat_map(char::escape_default).collect())),
        }
    }
}

impl Serialize for EntryId {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for EntryId {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<EntryId, D::Error> {
        let text = <std::borrow::Cow<'de, str>>::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

impl utoipa::PartialSchema for EntryId {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .pattern(Some("^[0-9a-f]{32}$"))
            .description(Some("The name of an entry: 128 random bits as 32 hexadecimal digits."))
            .examples([serde_json::json!("5d41402abc4b2a76b9719d911017c592")])
            .into()
    }
}

impl ToSchema for EntryId {}

/// One line of a log as it is kept.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Entry<K = EntryKind> {
    /// Its name.
    pub id: EntryId,
    /// The job it belongs to; 0 for the shop's own log.
    pub job: JobNumber,
    /// Its place in the job's log: 1, 2, 3 …
    pub seq: i64,
    /// Who did it, by name.
    pub who: String,
    /// When it was done by the clock of whoever did it, RFC 3339.
    pub when: String,
    /// When the store got it, RFC 3339 in UTC.
    pub received: String,
    /// The version of the sheet whose keys it uses.
    pub sheet_version: u32,
    /// The entry that it puts right, if it does.
    pub corrects: Option<EntryId>,
    /// What was done.
    pub kind: K,
}

/// One line that is to be written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Draft<K = EntryKind> {
    /// Its name. The same name with the same content is kept once, however often it is sent.
    pub id: EntryId,
    /// Who did it, by name.
    pub who: String,
    /// When it was done, RFC 3339.
    pub when: String,
    /// The entry that it puts right, if it does; of the same kind.
    #[serde(default)]
    pub corrects: Option<EntryId>,
    /// What was done.
    pub kind: K,
}

impl<K> Draft<K> {
    /// A line that corrects no other.
    pub fn new(id: EntryId, who: impl Into<String>, when: impl Into<String>, kind: K) -> Draft<K> {
        Draft { id, who: who.into(), when: when.into(), corrects: None, kind }
    }

    /// The same line, putting another right.
    pub fn correcting(mut self, corrects: EntryId) -> Draft<K> {
        self.corrects = Some(corrects);
        self
    }
}

/// Where a figure came from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// Typed as a size.
    #[default]
    Typed,
    /// Typed as sleeve, lines and thimble.
    Counts,
    /// Sent by a gauge.
    Gauge,
    /// Copied from paper.
    Paper,
    /// Brought in with a sheet.
    Sheet,
}

/// One row of the sheet, with where it came from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// The row, a table with the sheet's own keys (`journal`, `at`, `plane`, `size`, `with` for a reading).
    #[schema(value_type = Object)]
    pub row: Value,
    /// Where its figures came from.
    #[serde(default)]
    pub source: Source,
    /// The keys as they were pressed, where that is not what stands in the row: `41230` for counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub typed: Option<String>,
}

impl Row {
    /// A row that was typed as it stands.
    pub fn typed(row: Value) -> Row {
        Row { row, source: Source::Typed, typed: None }
    }

    /// The journal the row is about, `main 3`.
    pub fn journal(&self) -> &str {
        self.row.words("journal").unwrap_or_default()
    }
}

/// What booking a crank in puts down. A later entry that corrects it replaces all of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BookedIn {
    /// The shop's mark on the core.
    #[serde(default)]
    pub mark: String,
    /// Whose it is.
    #[serde(default)]
    pub customer: String,
    /// How to reach them.
    #[serde(default)]
    pub telephone: String,
    /// The crank in words, `Tarn four, 1.5 litre`; what the list of jobs shows.
    #[serde(default)]
    pub crank: String,
    /// The day it was promised for, `2026-11-30`, if one was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub promised: Option<String>,
    /// The sheet's keys that are not rows: `specification`, `units`, `policy`, `prices`, `note`.
    #[schema(value_type = Object)]
    pub sheet: Value,
    /// Whether it is the example, which is left out of counts and searches.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub example: bool,
}

/// When a zero was checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CheckedAt {
    /// Before the first reading.
    Start,
    /// When the micrometer was taken up.
    Change,
    /// After the last reading; compared with the zero in use, which it does not change.
    End,
}

/// How a flag was settled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Settled {
    /// The figure stands.
    Kept,
    /// The figure was measured again by this entry and is struck out.
    MeasuredAgain {
        /// The entry with the new figure.
        by: EntryId,
    },
    /// The figure is struck out and nothing stands in its place.
    StruckOut,
    /// The remark was read; it was about no single figure.
    Noted,
}

/// How a blind second reading compares, as judged by the rule that the pages use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Agreement {
    /// Within the micrometer's known spread: both are kept and the mean is used.
    Agrees,
    /// Too far apart: a third is needed, and until then neither counts.
    Clashes,
    /// The third: the middle one of the three is used, all are kept.
    Settles,
}

/// What was done: one line of a job's log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum EntryKind {
    /// A crank came in. The first entry of every job.
    BookedIn(BookedIn),
    /// A two-point diameter; the keys of `[[reading]]`.
    Reading(Row),
    /// A run-out; the keys of `[[run_out]]`.
    RunOut(Row),
    /// A trace; the keys of `[[trace]]`.
    Trace(Row),
    /// A pin centre; the keys of `[[centre]]`.
    Centre(Row),
    /// Damage; the keys of `[[damage]]`.
    Damage(Row),
    /// How a journal is worn; the keys of `[[worn]]`.
    Worn(Row),
    /// Which undersize a set or a journal is stamped with; the keys of `[[stamped]]`.
    Stamped(Row),
    /// A diameter of a housing; the keys of `[[housing]]`.
    Housing(Row),
    /// A half shell, or several alike; the keys of `[[shell]]`.
    Shell(Row),
    /// Crush, a pin's width and its rods; the keys of `[[bearing]]`.
    Bearing(Row),
    /// The thrust bearing; the keys of `[[thrust]]`.
    Thrust(Row),
    /// How rough a journal is; the keys of `[[roughness]]`.
    Roughness(Row),
    /// What a dial showed on a main at several angles; the keys of `[[dial]]`.
    Dial(Row),
    /// Heights of a pin at several angles of the shaft; the keys of `[[height]]`.
    Height(Row),
    /// What a dial showed on a feature of the shaft; the keys of `[[feature]]` of a sheet.
    Feature(Row),
    /// How deep the hardened case is; the keys of `[[case]]`.
    Case(Row),
    /// An instrument for this job, new or in place of the one of that name; the keys of `[[instrument]]`.
    Instrument {
        /// The row.
        #[schema(value_type = Object)]
        row: Value,
    },
    /// Another micrometer was taken up.
    MicrometerChanged {
        /// Its name.
        to: String,
    },
    /// A micrometer was tried on its setting standard.
    ZeroCheck {
        /// Its name.
        instrument: String,
        /// What it read, less the standard, as typed: `+0.0001`.
        reads: String,
        /// When.
        at: CheckedAt,
    },
    /// Something looked wrong. What it is about is left out of the verdict until it is settled.
    FlagRaised {
        /// The entry it is about, if it is about one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        about: Option<EntryId>,
        /// Which check raised it, in the gauge room's word.
        check: String,
        /// What it says, in full.
        says: String,
    },
    /// A flag was settled.
    FlagSettled {
        /// The flag.
        flag: EntryId,
        /// How.
        how: Settled,
    },
    /// A spot was measured again without seeing the first figure.
    SecondReading {
        /// The reading that it repeats.
        of: EntryId,
        /// The size, as typed.
        size: String,
        /// Where it came from.
        #[serde(default)]
        source: Source,
        /// How it compares.
        found: Agreement,
    },
    /// How the shop works for this job was changed: replaces keys of `[policy]`.
    PolicyChanged {
        /// The keys to replace.
        #[schema(value_type = Object)]
        policy: Value,
    },
    /// What is wanted of the bearings was changed: takes the place of `[wanted]`.
    WantedChanged {
        /// The whole table; empty where nothing is wanted but what the book says.
        #[schema(value_type = Object)]
        wanted: Value,
    },
    /// How the shaft was carried under the dial: takes the place of `carried`.
    Carried {
        /// The value of that key: `"centres"`, or a table with the two mains in vees.
        #[schema(value_type = Object)]
        carried: Value,
    },
    /// A set was decided.
    Decision {
        /// `main` or `pin`.
        set: String,
        /// What was chosen: an undersize as typed, `leave`, `polish`, `build up` or `scrap`.
        choice: String,
        /// Why the rule was overruled; absent where the choice is the rule's own.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        overruled: Option<String>,
        /// The verdict as it stood: the chance in words, what decides it, the rule.
        #[serde(default)]
        verdict: String,
    },
    /// A sheet for the grinder was issued.
    SheetIssued {
        /// The three letters and figures that the paper carries.
        code: String,
        /// The sheet that this one replaces.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        supersedes: Option<String>,
        /// What stands on it: sizes to grind to, stage by stage.
        #[schema(value_type = Object)]
        plan: Value,
    },
    /// A diameter taken while grinding; the keys of `[[reading]]`, and `stage`, the stage of the plan it was taken at.
    GroundReading(Row),
    /// Whether a journal cleaned up.
    CleanedUp {
        /// Which, `pin 2`.
        journal: String,
        /// Whether it did.
        yes: bool,
        /// Where it did not.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        left: Option<String>,
    },
    /// It left for heat treatment.
    SentToTreatment {
        /// The batch.
        batch: String,
        /// Sizes before; rows with the keys of `[[reading]]`, and `zero`, what their micrometer had then.
        #[serde(default)]
        sizes: Vec<Row>,
    },
    /// It came back from heat treatment.
    BackFromTreatment {
        /// The batch.
        batch: String,
        /// Sizes after; rows with the keys of `[[reading]]`, and `zero`, what their micrometer had then.
        #[serde(default)]
        sizes: Vec<Row>,
    },
    /// A blind diameter at the final check; the keys of `[[reading]]`.
    FinalReading(Row),
    /// Something that is checked by eye or by another trade.
    EyeCheck {
        /// What: `radius`, `oilways open`, `crack test` …
        item: String,
        /// Whether it passed.
        passed: bool,
        /// Who looked.
        by: String,
        /// What there is to say about it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        says: Option<String>,
    },
    /// The final check was signed; what came before is frozen.
    SignedOff {
        /// The hash of the document that was frozen, in hexadecimal.
        document_hash: String,
        /// The sentence that was signed.
        says: String,
    },
    /// The sign-off was opened again; the next revision begins.
    Reopened {
        /// Why.
        reason: String,
    },
    /// The crank was handed over.
    HandedOver {
        /// To whom.
        to: String,
    },
    /// The job was moved to another stage by hand.
    Moved {
        /// Where to.
        to: Stage,
    },
    /// The job was put away: out of the lists, but not gone.
    PutAway {
        /// Why.
        reason: String,
    },
    /// A job that was put away was taken up again.
    TakenUp,
    /// Words.
    Note {
        /// What they are.
        text: String,
    },
    /// A photograph.
    Photograph {
        /// The hash that it is kept under, as the store gave it.
        picture: String,
        /// What it shows.
        caption: String,
        /// The journal it shows, if one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        journal: Option<String>,
    },
    /// An entry no longer counts. Where that entry is itself an undo, what it undid counts again.
    Undo {
        /// The entry.
        entry: EntryId,
    },
}

/// The entry that a draft becomes at a place in a log.
pub fn entry_of<K: Clone>(draft: &Draft<K>, job: JobNumber, seq: i64, received: &str) -> Entry<K> {
    Entry {
        id: draft.id,
        job,
        seq,
        who: draft.who.clone(),
        when: draft.when.clone(),
        received: received.to_owned(),
        sheet_version: SHEET_VERSION,
        corrects: draft.corrects,
        kind: draft.kind.clone(),
    }
}
