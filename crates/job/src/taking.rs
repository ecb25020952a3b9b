//! Taking a reading: read what was keyed, see whether it repeats, agrees or clashes, look whether it fits the others, and
//! say what is to be written and where to go next.
//!
//! Nothing is written here and no clock is asked: what comes of a reading follows from the job as it stands.

use std::collections::HashSet;

use crank::{Findings, JournalId, SetName, Suspicion, suspicions};
use gauge::Instrument;
use gauge::keyed::{Keyed, KeyedAs, keyed, repeats};
use gauge::misread::Kind;
use gauge::scale::Scale;
use regrind::words::capital;
use sheet::Sheet;
use shop::{
    Agreement, Draft, Entry, EntryId, EntryKind, Flag, Row, Settled, SheetRow, Shop, Source, Stage, Standing, Value,
};
use units::{Length, Unit, digits_for, read, show_mm};

use crate::advice::Advice;
use crate::card::{JobCard, NoBook};
use crate::in_hand::in_hand;
use crate::judged::counts;
use crate::march::{Spot, Walk, next_open, row_at};
use crate::may::stays_readable;
use crate::micrometers::keyed_as;
use crate::nouns::journal_of;
use crate::objection::Objection;
use crate::refusal::{Place, Refusal};
use crate::undo::derived;
use crate::wording::OldWay;
use say::Words;

/// A reading as it comes in.
#[derive(Clone, Debug)]
pub struct ReadingIn {
    /// The name of the entry; the same name is taken once.
    pub id: EntryId,
    /// Who took it.
    pub who: String,
    /// When it was taken, RFC 3339.
    pub when: String,
    /// Where.
    pub spot: Spot,
    /// The keys as pressed.
    pub typed: String,
    /// Where they came from.
    pub source: Source,
    /// The micrometer by its name in the job; the shop's usual one where none is named.
    pub with: Option<String>,
    /// The reading that it puts right, where it is no new one.
    pub corrects: Option<EntryId>,
}

/// What a reading turned out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The first at its spot, or in place of one in doubt.
    Saved,
    /// A second one that agrees: both are kept.
    Agrees,
    /// A second one that does not: a third is wanted.
    Clashes,
    /// The third: the middle one of three counts.
    Settles,
    /// It was saved before.
    Repeated,
}

/// What a reading comes to: what is to be written, and the job as it stands then.
#[derive(Debug)]
pub struct Taking {
    /// The reading, and what follows from it.
    pub drafts: Vec<Draft>,
    /// What it turned out to be.
    pub outcome: Outcome,
    /// The size, as the sheet keeps it.
    pub size: String,
    /// How its digits add up, where it was keyed as digits.
    pub sum: Option<String>,
    /// The job with it.
    pub after: JobCard,
}

/// Why a reading is not taken. Nothing is to be written then.
#[derive(Clone, Debug, PartialEq)]
pub enum NotTaken {
    /// The crank has no such journal.
    NoSuchJournal(JournalId),
    /// The job has no book that can be used.
    NoBook(NoBook),
    /// What was keyed, or the micrometer, is at fault.
    Refused(Refusal),
}

impl From<NoBook> for NotTaken {
    fn from(no: NoBook) -> NotTaken {
        NotTaken::NoBook(no)
    }
}

impl From<Refusal> for NotTaken {
    fn from(refusal: Refusal) -> NotTaken {
        NotTaken::Refused(refusal)
    }
}

fn refused(field: &'static str, what: Objection) -> NotTaken {
    NotTaken::Refused(Refusal::one(Place::Field(field), what, Advice::ChangeMarked))
}

/// What a reading comes to in a job as it stands.
///
/// # Errors
/// [`NotTaken`]; a reading never makes a job unreadable.
pub fn take(card: &JobCard, shop: &Shop, reading: &ReadingIn) -> Result<Taking, NotTaken> {
    let book = card.book()?;
    let journal = reading.spot.journal;
    if journal.number > book.set(journal.set).count() {
        return Err(NotTaken::NoSuchJournal(journal));
    }
    let micrometer = card
        .micrometer(reading.with.as_deref())
        .ok_or_else(|| refused("with", Objection::NoMicrometer(reading.with.clone().unwrap_or_default())))?;
    let how = keyed_as(shop, micrometer, book.set(journal.set).size.low_mm);
    let keyed = keyed(&reading.typed, &how, micrometer)
        .map_err(|error| refused("reading", Objection::NoReading(error.to_string())))?;
    let draft = |id: EntryId, kind: EntryKind| Draft::new(id, &reading.who, &reading.when, kind);
    let row = row(reading, &keyed, micrometer, card.unit());
    let first = || draft(reading.id, EntryKind::Reading(row.clone()));
    let there = row_at(&card.job, reading.spot);
    let (mut drafts, outcome) = match (reading.corrects, there) {
        (Some(old), _) => (vec![first().correcting(old)], Outcome::Saved),
        (None, None) => (vec![first()], Outcome::Saved),
        (None, Some(there)) if there.row.words("with") != reading.with.as_deref() => (vec![first()], Outcome::Saved),
        (None, Some(there)) => again(card, reading, &keyed, micrometer, there, &first),
    };
    let mut after = card.with(&drafts);
    let raised = flags(card, &after, reading)?;
    // The last reading of the walk, with nothing in doubt, moves the job on.
    let spots = Walk::of_job(shop, &after.job).spots(book);
    let doubtful = !after.job.flags.is_empty() || !raised.is_empty();
    let is_last = !doubtful && after.job.stage == Stage::Measuring && next_open(&spots, &after.job, None).is_none();
    let moved = is_last.then(|| draft(derived(reading.id, "measured"), EntryKind::Moved { to: Stage::ToDecide }));
    let follows: Vec<Draft> = raised.into_iter().chain(moved).collect();
    if !follows.is_empty() {
        after = after.with(&follows);
        drafts.extend(follows);
    }
    Ok(Taking { drafts, outcome, size: keyed.as_size, sum: keyed.sum, after })
}

/// Whether the entry that has a reading's name already is that reading: taken at the same spot, with the same micrometer, and of
/// the same digits. Anything else under its name is another reading.
pub fn is_that_one(card: &JobCard, shop: &Shop, reading: &ReadingIn) -> bool {
    let Some(there) = card.entries.iter().find(|entry| entry.id == reading.id) else { return false };
    let Some(book) = card.book().ok() else { return false };
    let Some(micrometer) = card.micrometer(reading.with.as_deref()) else { return false };
    let low_mm = book.set(reading.spot.journal.set).size.low_mm;
    let Ok(keyed) = keyed(&reading.typed, &keyed_as(shop, micrometer, low_mm), micrometer) else { return false };
    let new = row(reading, &keyed, micrometer, card.unit());
    match &there.kind {
        EntryKind::Reading(row) => {
            // What was pressed may add up otherwise by now, where the shop keys in another way.
            let same_keys = row.typed.is_some() && row.typed == new.typed;
            let same_size = same_keys || row.row.get("size") == new.row.get("size");
            let place = |row: &Row| ["journal", "at", "plane", "with"].map(|key| row.row.get(key).cloned());
            there.corrects == reading.corrects && same_size && place(row) == place(&new)
        }
        EntryKind::SecondReading { of, size, .. } => {
            let first = card.entries.iter().find(|entry| entry.id == *of);
            let spot = first
                .is_some_and(|first| matches!(&first.kind, EntryKind::Reading(row) if reading.spot.is_of(&row.row)));
            spot && new.row.get("size").and_then(Value::as_typed) == Some(size.as_str())
        }
        _ => false,
    }
}

/// The row of the sheet.
fn row(reading: &ReadingIn, keyed: &Keyed, micrometer: &Instrument, unit: Unit) -> Row {
    let plain = keyed.as_size.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    // A bare number in the sheet is in the sheet's unit; one from a micrometer of the other unit says so.
    let size = if plain && micrometer.unit != unit {
        format!("{} {}", keyed.as_size, micrometer.unit)
    } else {
        keyed.as_size.clone()
    };
    let mut row = Value::table([
        ("journal", Value::from(reading.spot.journal.to_string())),
        ("at", Value::from(reading.spot.station.word())),
        ("plane", Value::typed(reading.spot.across.plane())),
        ("size", Value::typed(&size)),
    ]);
    if let Some(with) = &reading.with {
        row.set("with", Value::from(with.as_str()));
    }
    let typed = reading.typed.trim();
    Row { row, source: reading.source, typed: (typed != size).then(|| typed.chars().take(64).collect()) }
}

/// What is written for a spot that has a reading already: the new one is a second look, whoever took the first.
fn again(
    card: &JobCard,
    reading: &ReadingIn,
    keyed: &Keyed,
    micrometer: &Instrument,
    there: &SheetRow,
    first: &dyn Fn() -> Draft,
) -> (Vec<Draft>, Outcome) {
    let draft = |what: &str, kind: EntryKind| Draft::new(derived(reading.id, what), &reading.who, &reading.when, kind);
    let second = |found: Agreement| {
        let size = row(reading, keyed, micrometer, card.unit()).row;
        let size = size.get("size").and_then(Value::as_typed).unwrap_or_default().to_owned();
        let kind = EntryKind::SecondReading { of: there.entry, size, source: reading.source, found };
        Draft::new(reading.id, &reading.who, &reading.when, kind)
    };
    let agrees = standing_size_mm(card, there).is_some_and(|mm| repeats(micrometer, mm, keyed.size.mm()));
    match there.standing {
        Standing::LookAgain => {
            let flags = card.job.flags.iter().filter(|flag| flag.about == Some(there.entry));
            let how = if agrees { Settled::Kept } else { Settled::MeasuredAgain { by: reading.id } };
            let settled = flags.map(|flag| {
                draft(&format!("settles {}", flag.entry), EntryKind::FlagSettled { flag: flag.entry, how })
            });
            let new = if agrees { second(Agreement::Agrees) } else { first() };
            let outcome = if agrees { Outcome::Agrees } else { Outcome::Saved };
            (std::iter::once(new).chain(settled).collect(), outcome)
        }
        Standing::ThirdWanted => (vec![second(Agreement::Settles)], Outcome::Settles),
        Standing::Counts if agrees => (vec![second(Agreement::Agrees)], Outcome::Agrees),
        Standing::Counts => (vec![second(Agreement::Clashes)], Outcome::Clashes),
        Standing::StruckOut => (vec![first()], Outcome::Saved),
    }
}

/// The size that a row shows, as it was typed: the first of several.
pub fn size_of(row: &SheetRow) -> &str {
    let size = row.row.get("size");
    size.and_then(|size| size.as_typed().or_else(|| size.items().first()?.as_typed())).unwrap_or_default()
}

/// The size that a further reading is held against: the first, or after a third the middle one.
fn standing_size_mm(card: &JobCard, row: &SheetRow) -> Option<f64> {
    let standing = row.compared_with.first().and_then(Value::as_typed);
    standing.map_or_else(|| first_size_mm(card, row), |size| read(size, card.unit()).ok().map(|entry| entry.mm))
}

/// The size that a row shows, as the micrometer stood.
fn first_size_mm(card: &JobCard, row: &SheetRow) -> Option<f64> {
    read(size_of(row), card.unit()).ok().map(|entry| entry.mm)
}

/// Flags that the readings raise once this one stands among them.
///
/// # Errors
/// Where the sheet could not be read with it: a reading never makes a job unreadable.
fn flags(card: &JobCard, after: &JobCard, reading: &ReadingIn) -> Result<Vec<Draft>, Refusal> {
    let Some(sheet) = stays_readable(card, after, "reading")? else { return Ok(Vec::new()) };
    let (counted, found) = doubts(sheet, after);
    let said: HashSet<&str> = after
        .entries
        .iter()
        .filter_map(|entry| match &entry.kind {
            EntryKind::FlagRaised { says, about: None, .. } => Some(says.as_str()),
            _ => None,
        })
        .collect();
    let set = reading.spot.journal.set;
    let measured = |journal: JournalId| counted.iter().any(|row| journal_of(&row.row) == Some(journal));
    let set_is_measured = sheet.specification.journals().filter(|id| id.set == set).all(measured);
    let mut raised = Vec::new();
    for (n, found) in found.into_iter().enumerate() {
        for about in accused(&found, &counted, set_is_measured) {
            if about.is_none() && said.contains(found.says.as_str()) {
                continue;
            }
            let what = format!("flag {n} {about:?}");
            let kind = EntryKind::FlagRaised { about, check: found.kind.word().to_owned(), says: found.says.clone() };
            raised.push(Draft::new(derived(reading.id, &what), &reading.who, &reading.when, kind));
        }
    }
    Ok(raised)
}

/// What does not fit among the readings of a job, and the readings that were looked at, in the order of the indices.
fn doubts<'a>(sheet: &Sheet, card: &'a JobCard) -> (Vec<&'a SheetRow>, Vec<Suspicion>) {
    let insisted = insisted(&card.entries);
    let counted: Vec<&SheetRow> = card.job.rows.iter().filter(|row| row.key == "reading" && counts(row)).collect();
    // What somebody looked at twice and kept stands apart: it is not doubted again, and makes nothing else look wrong.
    let mut at = 0..;
    let stands_apart = |index: Option<usize>| {
        index.and_then(|index| counted.get(index)).is_some_and(|row| insisted.contains(&row.entry))
    };
    let mut readings = sheet.findings.readings.clone();
    readings.retain(|_| !stands_apart(at.next()));
    let findings = Findings { readings, ..sheet.findings.clone() };
    let counted: Vec<&SheetRow> = counted.iter().copied().filter(|row| !insisted.contains(&row.entry)).collect();
    let found = suspicions(&sheet.specification, &findings, sheet.unit);
    (counted, found)
}

/// How many turns of the thimble to put to a reading in doubt, where it looks whole turns out; the comparison is made
/// anew, with the doubt left out.
pub fn turns_to_put(card: &JobCard, row: &SheetRow) -> Option<i64> {
    let doubted = |kind: &EntryKind| matches!(kind, EntryKind::FlagRaised { about, .. } if *about == Some(row.entry));
    let without = card.without(|entry| doubted(&entry.kind));
    let (counted, found) = doubts(without.sheet().ok()?, &without);
    let turned = found.iter().find(|found| {
        let about = found.reading.and_then(|index| counted.get(index));
        found.kind == Kind::LikelyMisread && about.is_some_and(|about| about.entry == row.entry)
    })?;
    let with = card.micrometer(row.row.words("with"))?;
    let scale = Scale::with_graduation(with.unit, with.graduation_mm)?;
    let turns = (turned.would_be_mm? - with.corrected_mm(first_size_mm(card, row)?)) / scale.turn().mm();
    Some(turns.round() as i64).filter(|turns| *turns != 0)
}

/// What a suspicion is about: one reading, every reading of a journal, or (once a set is measured) nothing in
/// particular. Nothing at all where it only asks about a journal.
fn accused(found: &Suspicion, counted: &[&SheetRow], set_is_measured: bool) -> Vec<Option<EntryId>> {
    match (found.accuses(), found.reading, found.journal) {
        (true, Some(index), _) => counted.get(index).map(|row| Some(row.entry)).into_iter().collect(),
        (true, None, Some(journal)) => {
            let of_journal = |row: &&&SheetRow| journal_of(&row.row) == Some(journal);
            counted.iter().filter(of_journal).map(|row| Some(row.entry)).collect()
        }
        (_, None, None) if set_is_measured => vec![None],
        _ => Vec::new(),
    }
}

/// Readings that somebody looked at again and kept, with the readings that they correct.
fn insisted(entries: &[Entry]) -> HashSet<EntryId> {
    let kept: HashSet<EntryId> = entries
        .iter()
        .filter_map(|entry| match entry.kind {
            EntryKind::FlagSettled { flag, how: Settled::Kept } => Some(flag),
            _ => None,
        })
        .collect();
    entries
        .iter()
        .filter(|entry| kept.contains(&entry.id))
        .filter_map(|entry| match entry.kind {
            EntryKind::FlagRaised { about, .. } => about,
            _ => None,
        })
        .collect()
}

fn is_doubtful(row: &SheetRow) -> bool {
    matches!(row.standing, Standing::LookAgain | Standing::ThirdWanted)
}

/// Where to go after a reading at a spot: the same one where it must be looked at again, else the next that is open.
pub fn after(card: &JobCard, shop: &Shop, spot: Spot) -> Option<Spot> {
    if row_at(&card.job, spot).is_some_and(is_doubtful) {
        return Some(spot);
    }
    let book = card.book.as_ref().ok()?;
    let spots = Walk::of_job(shop, &card.job).spots(book);
    // A doubt about a neighbour on the same journal comes before the next journal: the micrometer is still there.
    let of_journal = || spots.iter().copied().filter(|other| other.journal == spot.journal);
    let here = of_journal().find(|other| row_at(&card.job, *other).is_some_and(is_doubtful));
    here.or_else(|| next_open(&spots, &card.job, Some(spot)))
}

/// The flag that a reading raised, where it raised one: it was not there `before`.
fn new_flag<'a>(card: &'a JobCard, before: &JobCard) -> Option<&'a Flag> {
    card.job.flags.iter().find(|flag| !before.job.flags.iter().any(|old| old.entry == flag.entry))
}

impl Taking {
    /// What the bench says of it, in the shop's words; `others` is what it has to say of somebody else who measured the
    /// same spot.
    pub fn says(&self, before: &JobCard, reading: &ReadingIn, words: Words, others: Option<&str>) -> String {
        let after = &self.after;
        let (size, spot) = (&self.size, reading.spot.name(words));
        let new_flag = new_flag(after, before);
        let about_here = |flag: &&Flag| flag.about == row_at(&after.job, reading.spot).map(|row| row.entry);
        let mut says = match (self.outcome, new_flag.filter(about_here)) {
            (_, Some(flag)) => format!("{size} at {spot} is kept, not counted. {}", words.put(&flag.says)),
            (Outcome::Agrees, None) => {
                format!("{size} saved at {spot}: it agrees with the first reading. Both are kept.")
            }
            (Outcome::Clashes, None) => {
                format!("{size} saved at {spot}: it does not agree with the first. Measure a third time.")
            }
            (Outcome::Settles, None) => format!("{size} saved at {spot}: the middle one of three counts."),
            (_, None) => format!("{size} saved at {spot}."),
        };
        // How the digits add up, so that a slip in the way of keying shows at once.
        if let Some(sum) = self.sum.as_ref().filter(|sum| !sum.starts_with('=')) {
            says.push_str(&format!(" {sum}."));
        }
        if let Some(others) = others {
            says.push(' ');
            says.push_str(others);
        }
        if new_flag.is_none()
            && let Some(form) = form_of(after, reading.spot.journal)
        {
            says.push(' ');
            says.push_str(&words.put(&form));
        }
        says
    }
}

/// The reading of somebody else that stood at a spot already: who, what they entered, and when.
pub fn of_somebody_else<'a>(before: &'a JobCard, reading: &ReadingIn) -> Option<(&'a str, &'a str, &'a str)> {
    let there = row_at(&before.job, reading.spot).filter(|row| row.who != reading.who)?;
    let size = there.row.get("size").and_then(Value::as_typed)?;
    Some((&there.who, size, &there.when))
}

/// What the journal looks like now: how far under or over its limits, out of round, tapered. In words, not with signs.
pub fn form_of(card: &JobCard, journal: JournalId) -> Option<String> {
    let sheet = card.sheet().ok()?;
    let ground_to = crank::last_ground_to(&sheet.specification, &sheet.findings, journal.set).undersize_mm;
    let condition = crank::condition(&sheet.specification, &sheet.findings, journal, ground_to)?;
    let decimals = sheet.unit.usual_decimals();
    let show = |mm: f64| show_mm(mm, sheet.unit, decimals);
    let half_step = Length::from_nm(if sheet.unit == Unit::Inch { 1_270 } else { 500 }).mm();
    let name = capital(&journal.to_string());
    let mut parts = Vec::new();
    let under = condition.limits.low_mm - condition.smallest_mm;
    let over = condition.largest_mm - condition.limits.high_mm;
    parts.push(if under >= half_step {
        format!("{name} is {} under the low limit", show(under))
    } else if over >= half_step {
        format!("{name} is {} over the high limit", show(over))
    } else {
        format!("{name} is inside its limits so far")
    });
    if let Some(round) = condition.out_of_round_mm().filter(|mm| *mm >= half_step) {
        parts.push(format!("{} out of round", show(round)));
    }
    if let Some(taper) = condition.taper_mm().filter(|mm| *mm >= half_step) {
        parts.push(format!("{} taper", show(taper)));
    }
    Some(format!("{}.", parts.join("; ")))
}

/// A spot that is worth a second, blind look, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WorthAgain {
    /// The smallest of its set: it decides the set.
    Decides(Spot),
    /// One by chance: it tells how well this hand repeats on this crank.
    ByChance(Spot),
}

/// Where a second look pays: the smallest spot of each set, and one spot by chance.
pub fn worth_again(card: &JobCard, spots: &[Spot]) -> Vec<WorthAgain> {
    let mut again = Vec::new();
    for set in SetName::BOTH {
        let of_set: Vec<(Spot, f64, bool)> = spots
            .iter()
            .filter(|spot| spot.journal.set == set)
            .filter_map(|spot| {
                let row = row_at(&card.job, *spot).filter(|row| counts(row))?;
                Some((*spot, first_size_mm(card, row)?, !row.again.is_empty()))
            })
            .collect();
        let smallest = of_set.iter().min_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((spot, _, false)) = smallest {
            again.push(WorthAgain::Decides(*spot));
        }
        // The same one each time it is asked; another one for each job.
        let number = usize::try_from(card.job.number).unwrap_or(0).wrapping_mul(7);
        let chosen = of_set.get(number % of_set.len().max(1));
        if let Some((spot, _, false)) = chosen.filter(|found| Some(found.0) != smallest.map(|found| found.0)) {
            again.push(WorthAgain::ByChance(*spot));
        }
    }
    again
}

/// Sizes that look whole turns of the thimble away from the others, for one journal and the micrometer in hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TurnsAway {
    /// Which journal.
    pub journal: JournalId,
    /// How many turns, over or under.
    pub turns: u32,
    /// The least such size as it would be typed.
    pub low: String,
    /// The largest.
    pub high: String,
}

/// What a page may say of a reading by itself while nothing answers it. It is a coarser look than the one that a reading
/// gets when it comes in: against the middle of the journal's readings, or of its set's where the journal has not two yet, up
/// to four turns either way. Nothing for a micrometer that is not keyed by its size.
///
/// How near to whole turns is near enough, a seventh of a turn, is common practice, no source: more than wear parts the
/// readings of one journal by, and far less than half a turn.
pub fn turns_away(card: &JobCard, shop: &Shop) -> Vec<TurnsAway> {
    const MOST_TURNS: u32 = 4;
    const NEAR: f64 = 1.0 / 7.0;
    let Ok(book) = &card.book else { return Vec::new() };
    let mut away = Vec::new();
    for set in SetName::BOTH {
        let Some(with) = in_hand(card, set) else { continue };
        let scale = Scale::with_graduation(with.unit, with.graduation_mm);
        let by_size = keyed_as(shop, with, book.set(set).size.low_mm) == KeyedAs::Size;
        let Some(turn_mm) = scale.filter(|_| by_size).map(|scale| scale.turn().mm()) else { continue };
        let sizes = |whose: &dyn Fn(JournalId) -> bool| -> Vec<f64> {
            let of = |row: &&SheetRow| row.key == "reading" && counts(row) && journal_of(&row.row).is_some_and(whose);
            let corrected = |row: &SheetRow| {
                let own = card.micrometer(row.row.words("with"))?;
                Some(own.corrected_mm(first_size_mm(card, row)?))
            };
            card.job.rows.iter().filter(of).filter_map(corrected).collect()
        };
        let of_set = middle(sizes(&|journal| journal.set == set));
        for journal in book.journals().filter(|journal| journal.set == set) {
            let Some(level_mm) = middle(sizes(&|own| own == journal)).or(of_set) else { continue };
            // What the micrometer in hand would show there.
            let shows_mm = level_mm + with.zero_mm;
            let digits = digits_for(with.graduation_mm, with.unit);
            let show = |mm: f64| show_mm(mm, with.unit, digits);
            for turns in 1..=MOST_TURNS {
                for off_mm in [f64::from(turns) * turn_mm, -f64::from(turns) * turn_mm] {
                    let (low, high) = (shows_mm + off_mm - NEAR * turn_mm, shows_mm + off_mm + NEAR * turn_mm);
                    away.push(TurnsAway { journal, turns, low: show(low), high: show(high) });
                }
            }
        }
    }
    away
}

/// The middle one of two or more.
fn middle(mut all: Vec<f64>) -> Option<f64> {
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().filter(|_| all.len() >= 2)
}

#[cfg(test)]
mod tests;
