//! The part of the page that a reading is entered in.

use askama::Template;
use gauge::keyed::KeyedAs;
use shop::{EntryId, Shop, Standing, now};
use units::{Unit, digits_for, read};

use super::list::size_of;
use super::{Refused, Wanted};
use crate::desk::Held;
use crate::in_hand::in_hand;
use crate::judged::counts;
use crate::march::{Across, Spot, row_at};
use crate::taking::{derived, keyed_as, saved_words};
use crate::trouble::Trouble;
use crate::undo;
use crate::visitor::{Frame, form_id};
use crate::wording::PinWord;

/// Something that looked wrong, open at this spot.
pub(super) struct OpenFlag {
    pub(super) entry: EntryId,
    /// A name for the entry that settles it.
    pub(super) fresh: String,
    pub(super) says: String,
    /// The figure it is about, where it is about one.
    pub(super) size: Option<String>,
    /// What sleeve and thimble show at that figure.
    pub(super) setting: Option<String>,
}

/// The part of the page that a reading is entered in.
#[derive(Template)]
#[template(path = "measure_entry.html")]
pub(super) struct EntryPart {
    pub(super) job: i64,
    pub(super) seq: i64,
    pub(super) token: String,
    pub(super) id: String,
    pub(super) spot: String,
    pub(super) name: String,
    pub(super) direction: String,
    /// What the label says besides the spot: measured a second time, say.
    pub(super) again: &'static str,
    pub(super) is_b: bool,
    pub(super) with: Option<String>,
    pub(super) unit: &'static str,
    pub(super) stays: String,
    pub(super) how: String,
    pub(super) like: String,
    pub(super) fault: Option<String>,
    pub(super) typed: String,
    pub(super) corrects: String,
    pub(super) says: String,
    pub(super) saved: String,
    pub(super) flags: Vec<OpenFlag>,
    pub(super) undo: Option<undo::Step>,
    pub(super) redo: Option<undo::Step>,
    /// Every spot with its name and, where it is measured, its size: what the script needs while the line is down.
    pub(super) walk: String,
    pub(super) turn: &'static str,
}

pub(super) fn unit_word(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "in",
        Unit::Millimetre => "mm",
    }
}

pub(super) fn entry_part(
    held: &Held,
    shop: &Shop,
    frame: &Frame,
    spot: Spot,
    asked: &Wanted,
    refused: Option<&Refused>,
) -> Result<EntryPart, Trouble> {
    let words = frame.words;
    let job = &held.job;
    let book = held.book()?;
    let set = book.set(spot.journal.set);
    let micrometer = in_hand(held, spot.journal.set);
    let how = micrometer.map_or(KeyedAs::Size, |one| keyed_as(shop, one, set.size.low_mm));
    let row = row_at(job, spot);
    let corrects = row.filter(|row| row.entry.to_string() == asked.corrects).map(|row| row.entry);
    let unit = micrometer.map_or(held.unit(), |one| one.unit);
    let flags = row.map(|row| job.flags.iter().filter(|flag| flag.about == Some(row.entry))).into_iter().flatten();
    let again = match (corrects, row.map(|row| row.standing)) {
        (Some(_), _) => "put right",
        (None, Some(Standing::LookAgain)) => "measure again",
        (None, Some(Standing::ThirdWanted)) => "measure a third time",
        (None, Some(Standing::Counts)) => "a second reading, without looking at the first",
        _ => "",
    };
    let spots = crate::march::Walk::of_job(shop, job).spots(book);
    let here = match refused {
        Some(Refused::Reading { typed, faults }) => Some((typed, faults)),
        _ => None,
    };
    Ok(EntryPart {
        job: job.number,
        seq: job.seq,
        token: frame.token.clone(),
        id: form_id()?,
        spot: spot.to_string(),
        name: spot.name(words),
        direction: spot.direction(words),
        again,
        is_b: spot.across == Across::B,
        with: micrometer.map(|one| one.name.clone()),
        unit: unit_word(unit),
        stays: match &how {
            KeyedAs::LastDigits { after } => after.clone(),
            _ => String::new(),
        },
        how: micrometer.map(|one| how_words(&how, one)).unwrap_or_default(),
        like: micrometer.map(|one| like(&how, one)).unwrap_or_default(),
        fault: here.map(|(_, faults)| faults.iter().map(|fault| fault.says.clone()).collect::<Vec<_>>().join(" ")),
        typed: here.map(|(typed, _)| typed.clone()).unwrap_or_default(),
        corrects: corrects.map(|entry| entry.to_string()).unwrap_or_default(),
        says: asked.says.chars().take(600).collect(),
        saved: saved_words(job),
        flags: flags.map(|flag| open_flag(held, flag, words)).collect(),
        undo: undo::next_undo(&held.entries, job, words),
        redo: undo::next_redo(&held.entries, job, words),
        walk: walk_for_script(held, &spots, words),
        turn: if unit == Unit::Inch { "0.025" } else { "0.5" },
    })
}

/// Every spot in the order of the walk: key, name, size or nothing.
pub(super) fn walk_for_script(held: &Held, spots: &[Spot], words: PinWord) -> String {
    let line = |spot: &Spot| {
        let row = row_at(&held.job, *spot).filter(|row| counts(row));
        let size = row.map(size_of).unwrap_or_default();
        format!("{spot}|{}|{}|{size}", spot.name(words), spot.direction(words))
    };
    spots.iter().map(line).collect::<Vec<_>>().join(";")
}

pub(super) fn how_word(how: &KeyedAs, with: &gauge::Instrument) -> (&'static str, String) {
    match how {
        KeyedAs::Size => ("size", String::new()),
        KeyedAs::LastDigits { .. } => ("last digits", String::new()),
        KeyedAs::Counts => ("counts", String::new()),
        KeyedAs::Departure { from } => ("departure", from.show(with.unit, digits_for(with.graduation_mm, with.unit))),
    }
}

pub(super) fn how_words(how: &KeyedAs, with: &gauge::Instrument) -> String {
    match how {
        KeyedAs::Size if with.unit == Unit::Inch => "size in full, or from the point".to_owned(),
        KeyedAs::Size => "size in full".to_owned(),
        KeyedAs::LastDigits { after } => format!("the last digits after {after}"),
        KeyedAs::Counts => "counts: sleeve, lines, thimble".to_owned(),
        KeyedAs::Departure { from } => {
            let step = if with.unit == Unit::Inch { "thou" } else { "hundredths" };
            let from = from.show(with.unit, digits_for(with.graduation_mm, with.unit));
            format!("{step} over or under {from}")
        }
    }
}

pub(super) fn like(how: &KeyedAs, with: &gauge::Instrument) -> String {
    let decimals = usize::try_from(digits_for(with.graduation_mm, with.unit)).unwrap_or(4);
    match (how, with.unit) {
        (KeyedAs::Size, _) => {
            format!("{} decimals", ["no", "one", "two", "three", "four", "five"].get(decimals).unwrap_or(&"all"))
        }
        (KeyedAs::LastDigits { .. }, _) => "no point".to_owned(),
        (KeyedAs::Counts, Unit::Inch) => "sleeve 4, lines 1, thimble 23, vernier 0 is 41230".to_owned(),
        (KeyedAs::Counts, Unit::Millimetre) => "sleeve 12, half line 1, thimble 23, vernier 0 is 121230".to_owned(),
        (KeyedAs::Departure { .. }, _) => "minus for under".to_owned(),
    }
}

pub(super) fn open_flag(held: &Held, flag: &shop::Flag, words: PinWord) -> OpenFlag {
    let row = held.job.rows.iter().find(|row| Some(row.entry) == flag.about);
    let setting = row.and_then(|row| setting_words(held, row));
    OpenFlag {
        entry: flag.entry,
        fresh: derived(flag.entry, &now()).to_string(),
        says: words.put(&flag.says),
        size: row.map(size_of),
        setting,
    }
}

/// What stands on the micrometer at the size that a row shows.
pub(super) fn setting_words(held: &Held, row: &shop::SheetRow) -> Option<String> {
    let with = held.micrometer(row.row.words("with"))?;
    let scale = gauge::scale::Scale::with_graduation(with.unit, with.graduation_mm)?;
    let size = read(&size_of(row), held.unit()).ok()?.length;
    gauge::scale::Frame::usual(scale, size).words(size).ok()
}

#[derive(Template)]
#[template(path = "measure_flags.html")]
pub(super) struct FlagsPart<'a> {
    pub(super) job: i64,
    pub(super) seq: i64,
    pub(super) token: &'a str,
    pub(super) flags: &'a [OpenFlag],
}
