//! The rows of the sheet: corrections, flags, second readings and zero checks worked in.

use std::collections::{HashMap, HashSet};

use document::Value;
use serde::Serialize;
use units::Unit;
use utoipa::ToSchema;

use crate::fold::{Flag, Roots, SheetRow, Standing, root, standing_after};
use crate::kinds::{micrometer_keys, row_kinds};
use crate::log::{Agreement, BookedIn, CheckedAt, Entry, EntryId, EntryKind, Row};

/// A micrometer whose zero at the end was not the zero in use.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct ZeroMoved {
    /// The micrometer.
    pub instrument: String,
    /// What its zero was taken to be, as typed; `0` where it was never checked.
    pub was: String,
    /// What it read at the end, as typed.
    pub found: String,
    /// The readings that were taken with the zero that was in use.
    pub readings: Vec<EntryId>,
}

/// The sheet and what is to be said about it.
pub(crate) struct SheetRows {
    pub(crate) document: Value,
    pub(crate) rows: Vec<SheetRow>,
    pub(crate) flags: Vec<Flag>,
    pub(crate) third_wanted: Vec<EntryId>,
    pub(crate) zero_moved: Vec<ZeroMoved>,
    /// The zero in use for each reading that names a micrometer with one, as typed.
    pub(crate) zeros: HashMap<EntryId, String>,
    /// The zero that each micrometer has now, as typed.
    pub(crate) zeros_now: Vec<(String, String)>,
}

pub(crate) fn sheet_rows(booked: &BookedIn, live: &[&Entry], roots: &Roots) -> SheetRows {
    let unit = match booked.sheet.words("units") {
        Some("mm") => Unit::Millimetre,
        _ => Unit::Inch,
    };
    let mut micrometers = Micrometers { unit, list: Vec::new() };
    let mut policy = booked.sheet.get("policy").cloned();
    let (mut wanted, mut carried) = (None, None);
    let mut rows: Vec<SheetRow> = Vec::new();
    let mut place: HashMap<EntryId, usize> = HashMap::new();
    let mut seconds: HashMap<EntryId, Vec<(&str, Agreement)>> = HashMap::new();
    let mut zero_moved = Vec::new();
    for entry in live {
        if let Some((kind, row)) = entry.kind.sheet_row() {
            // What names no micrometer may still say what it was measured with, in words.
            if kind.row.is_some_and(|row| !row.micrometers.is_empty()) {
                micrometers.took(entry.id, row, true);
            }
            let first = root(roots, entry.id);
            let sheet_row = SheetRow {
                first,
                entry: entry.id,
                seq: entry.seq,
                key: kind.name,
                row: row.row.clone(),
                source: row.source,
                who: entry.who.clone(),
                when: entry.when.clone(),
                standing: Standing::Counts,
                again: Vec::new(),
                compared_with: Vec::new(),
            };
            match place.get(&first).and_then(|n| rows.get_mut(*n)) {
                Some(there) => *there = sheet_row,
                None => {
                    place.insert(first, rows.len());
                    rows.push(sheet_row);
                }
            }
            continue;
        }
        match &entry.kind {
            EntryKind::GroundReading(row) | EntryKind::FinalReading(row) => micrometers.took(entry.id, row, false),
            EntryKind::Instrument { row } => micrometers.describe(row),
            EntryKind::ZeroCheck { instrument, reads, at } => {
                zero_moved.extend(micrometers.check(instrument, reads, *at));
            }
            EntryKind::SecondReading { of, size, found, .. } => seconds.entry(*of).or_default().push((size, *found)),
            EntryKind::PolicyChanged { policy: changed } => {
                let policy = policy.get_or_insert(Value::Table(Vec::new()));
                for (key, value) in changed.pairs() {
                    policy.set(key, value.clone());
                }
            }
            EntryKind::WantedChanged { wanted: changed } => wanted = Some(changed),
            EntryKind::Carried { carried: changed } => carried = Some(changed),
            _ => {}
        }
    }
    let flags = work_in_flags(live, &mut rows);
    let mut third_wanted = Vec::new();
    for row in &mut rows {
        let Some(again) = seconds.get(&row.entry) else { continue };
        row.again = again.iter().map(|(size, _)| (*size).to_owned()).collect();
        row.compared_with = standing_sizes(&row.row, again, micrometers.unit);
        let clashes = matches!(again.last(), Some((_, Agreement::Clashes)));
        // Before any doubt about it: the next reading is the third, and what is in doubt after that is looked at then.
        if clashes && row.standing != Standing::StruckOut {
            row.standing = Standing::ThirdWanted;
            third_wanted.push(row.entry);
        }
    }
    let changed = Changed { policy, wanted, carried };
    let document = document(booked, changed, &rows, &seconds, &micrometers);
    let (zeros, zeros_now) = (micrometers.zeros(), micrometers.zeros_now());
    SheetRows { document, rows, flags, third_wanted, zero_moved, zeros, zeros_now }
}

/// Gives rows their standing and returns the flags that are open.
fn work_in_flags(live: &[&Entry], rows: &mut [SheetRow]) -> Vec<Flag> {
    let counting: HashSet<EntryId> = live.iter().map(|entry| entry.id).collect();
    // A flag about a figure that was corrected or undone since is about nothing.
    let replaced: HashSet<EntryId> = live.iter().filter_map(|entry| entry.corrects).collect();
    let settled: HashMap<EntryId, _> = live
        .iter()
        .filter_map(|entry| match &entry.kind {
            EntryKind::FlagSettled { flag, how } => Some((*flag, *how)),
            _ => None,
        })
        .collect();
    let mut flags = Vec::new();
    for entry in live {
        let EntryKind::FlagRaised { about, check, says } = &entry.kind else { continue };
        if about.is_some_and(|id| !counting.contains(&id) || replaced.contains(&id)) {
            continue;
        }
        let standing = standing_after(settled.get(&entry.id).copied(), |id| counting.contains(&id));
        if standing == Standing::LookAgain {
            flags.push(Flag { entry: entry.id, about: *about, check: check.clone(), says: says.clone() });
        }
        let row = rows.iter_mut().find(|row| Some(row.entry) == *about);
        if let Some(row) = row.filter(|row| row.standing != Standing::StruckOut && standing != Standing::Counts) {
            row.standing = standing;
        }
    }
    flags
}

/// What entries put in the place of keys that are not rows.
struct Changed<'a> {
    policy: Option<Value>,
    wanted: Option<&'a Value>,
    carried: Option<&'a Value>,
}

/// The sheet: keys that are not rows first, then instruments, then rows.
fn document(
    booked: &BookedIn,
    changed: Changed<'_>,
    rows: &[SheetRow],
    seconds: &HashMap<EntryId, Vec<(&str, Agreement)>>,
    micrometers: &Micrometers<'_>,
) -> Value {
    let mut document = Value::table([("sheet", Value::from(1))]);
    if !booked.mark.trim().is_empty() {
        document.set("mark", Value::from(booked.mark.as_str()));
    }
    for (key, value) in booked.sheet.pairs() {
        // The version and the mark are ours to say.
        if !["sheet", "mark", "policy"].contains(&key.as_str()) {
            document.set(key, value.clone());
        }
    }
    if let Some(policy) = changed.policy {
        document.set("policy", policy);
    }
    if let Some(wanted) = changed.wanted {
        document.set("wanted", wanted.clone());
    }
    if let Some(carried) = changed.carried {
        document.set("carried", carried.clone());
    }
    let counted: Vec<&SheetRow> = rows.iter().filter(|row| row.standing == Standing::Counts).collect();
    let instruments = micrometers.rows(&counted);
    if !instruments.is_empty() {
        document.set("instrument", Value::List(instruments));
    }
    for (key, kind) in row_kinds() {
        // What was brought in before these rows were entries of their own stands with what was booked in.
        let before = booked.sheet.get(key).map(Value::items).unwrap_or_default();
        let list: Vec<Value> = before
            .iter()
            .cloned()
            .chain(counted.iter().filter(|row| row.key == key).map(|row| {
                let mut value = row.row.clone();
                if let Some(again) = seconds.get(&row.entry) {
                    work_in_seconds(&mut value, again, micrometers.unit);
                }
                if !kind.micrometers.is_empty() {
                    micrometers.rename(row.entry, &mut value);
                }
                value
            }))
            .collect();
        if !list.is_empty() {
            document.set(key, Value::List(list));
        }
    }
    document
}

/// Puts second readings into a row: all that agree, or the middle one of those that did not.
fn work_in_seconds(row: &mut Value, again: &[(&str, Agreement)], unit: Unit) {
    let mut sizes = standing_sizes(row, again, unit);
    match sizes.len() {
        0 => {}
        1 => row.set("size", sizes.remove(0)),
        _ => row.set("size", Value::List(sizes)),
    }
}

/// The sizes that stand for a row after its further readings: all that agree; once a third has settled what did not, the middle
/// one, and from then on what is read is held against that. The others were found wrong and do not come back.
fn standing_sizes(row: &Value, again: &[(&str, Agreement)], unit: Unit) -> Vec<Value> {
    let mut sizes: Vec<Value> = match row.get("size") {
        Some(Value::List(list)) => list.clone(),
        Some(one) => vec![one.clone()],
        None => return Vec::new(),
    };
    let mm = |value: &Value| value.as_typed().and_then(|typed| units::read(typed, unit).ok()).map(|entry| entry.mm);
    for (size, found) in again {
        sizes.push(Value::typed(size));
        if *found == Agreement::Settles {
            let mut ordered: Vec<(f64, Value)> =
                sizes.iter().filter_map(|size| Some((mm(size)?, size.clone()))).collect();
            ordered.sort_by(|a, b| a.0.total_cmp(&b.0));
            let middle = ordered.len() / 2;
            sizes = ordered.into_iter().nth(middle).map(|(_, size)| size).into_iter().collect();
        }
    }
    sizes
}

/// One micrometer as it was set at one time. Set anew with readings already taken, it counts as another: those keep the
/// zero that they were taken with.
#[derive(Debug)]
struct Setting {
    name: String,
    row: Value,
    /// From a zero check, as typed.
    zero: Option<String>,
    readings: Vec<EntryId>,
    /// Whether a row of the sheet was taken with it.
    in_sheet: bool,
}

#[derive(Debug)]
struct Micrometers<'a> {
    unit: Unit,
    list: Vec<(&'a str, Vec<Setting>)>,
}

impl<'a> Micrometers<'a> {
    fn settings(&mut self, name: &str) -> Option<&mut Vec<Setting>> {
        self.list.iter_mut().find(|(known, _)| *known == name).map(|(_, settings)| settings)
    }

    /// A new micrometer, or other words for one that is known.
    fn describe(&mut self, row: &'a Value) {
        let name = row.words("name").unwrap_or_default();
        match self.settings(name) {
            Some(settings) => {
                for setting in settings {
                    setting.row = row.clone();
                }
            }
            None => {
                let setting = Setting {
                    name: name.to_owned(),
                    row: row.clone(),
                    zero: None,
                    readings: Vec::new(),
                    in_sheet: false,
                };
                self.list.push((name, vec![setting]));
            }
        }
    }

    /// Something was measured with the micrometers that a row names.
    fn took(&mut self, entry: EntryId, row: &Row, in_sheet: bool) {
        for key in micrometer_keys() {
            let setting = row.row.words(key).and_then(|name| self.settings(name)).and_then(|s| s.last_mut());
            if let Some(setting) = setting {
                setting.readings.push(entry);
                setting.in_sheet |= in_sheet;
            }
        }
    }

    fn check(&mut self, name: &str, reads: &str, at: CheckedAt) -> Option<ZeroMoved> {
        let unit = self.unit;
        let names: HashSet<String> = self.list.iter().flat_map(|(_, s)| s).map(|s| s.name.clone()).collect();
        let settings = self.settings(name)?;
        let count = settings.len();
        let setting = settings.last_mut()?;
        let own_unit = match setting.row.words("units") {
            Some("mm") => Unit::Millimetre,
            Some("in") => Unit::Inch,
            _ => unit,
        };
        let mm = |typed: &str| units::read(typed, own_unit).ok().map(|entry| entry.mm);
        let was = setting.zero_typed().unwrap_or_else(|| "0".to_owned());
        let same = mm(&was) == mm(reads);
        if at == CheckedAt::End {
            let moved = ZeroMoved {
                instrument: name.to_owned(),
                was,
                found: reads.to_owned(),
                readings: setting.readings.clone(),
            };
            return (!same).then_some(moved);
        }
        if same {
            return None;
        }
        if setting.readings.is_empty() {
            setting.zero = Some(reads.to_owned());
            return None;
        }
        let named = |n: usize| format!("{name}, set again {n}");
        // Somebody may have called another micrometer just this.
        let free = (count + 1..).map(named).find(|name| !names.contains(name))?;
        let row = setting.row.clone();
        let fresh = Setting { name: free, row, zero: Some(reads.to_owned()), readings: Vec::new(), in_sheet: false };
        settings.push(fresh);
        None
    }

    fn zeros(&self) -> HashMap<EntryId, String> {
        let settings = self.list.iter().flat_map(|(_, settings)| settings);
        settings
            .filter_map(|setting| Some((setting.zero_typed()?, &setting.readings)))
            .flat_map(|(zero, readings)| readings.iter().map(move |reading| (*reading, zero.clone())))
            .collect()
    }

    /// The zero of each micrometer as it is set now.
    fn zeros_now(&self) -> Vec<(String, String)> {
        let now = |(name, settings): &(&str, Vec<Setting>)| Some(((*name).to_owned(), settings.last()?.zero_typed()?));
        self.list.iter().filter_map(now).collect()
    }

    /// The rows of `[[instrument]]`: every micrometer that was listed, and further settings that the sheet uses.
    fn rows(&self, counted: &[&SheetRow]) -> Vec<Value> {
        let counted: HashSet<EntryId> = counted.iter().map(|row| row.entry).collect();
        let used = |setting: &Setting| setting.in_sheet && setting.readings.iter().any(|id| counted.contains(id));
        let mut rows = Vec::new();
        for (_, settings) in &self.list {
            for (n, setting) in settings.iter().enumerate().filter(|(n, setting)| *n == 0 || used(setting)) {
                let mut row = setting.row.clone();
                if n > 0 {
                    row.set("name", Value::from(setting.name.as_str()));
                }
                if let Some(zero) = &setting.zero {
                    row.set("zero", Value::typed(zero.strip_prefix('+').unwrap_or(zero)));
                }
                rows.push(row);
            }
        }
        rows
    }

    /// Names the setting that a reading was taken with.
    fn rename(&self, entry: EntryId, row: &mut Value) {
        for key in micrometer_keys() {
            let Some(name) = row.words(key) else { continue };
            let settings = self.list.iter().find(|(known, _)| *known == name).map(|(_, settings)| settings);
            let setting = settings.and_then(|s| s.iter().find(|setting| setting.readings.contains(&entry)));
            if let Some(setting) = setting.filter(|setting| setting.name != name) {
                row.set(key, Value::from(setting.name.as_str()));
            }
        }
    }
}

impl Setting {
    /// The zero in use, as typed: the last check, or what the row says.
    fn zero_typed(&self) -> Option<String> {
        let stated = || self.row.get("zero").and_then(Value::as_typed).map(str::to_owned);
        self.zero.clone().or_else(stated)
    }
}
