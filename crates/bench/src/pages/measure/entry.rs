//! The part of the page that a reading is entered in.

use askama::Template;
use gauge::keyed::{KeyedAs, as_keyed};
use gauge::scale::{Frame, Scale};
use paper::micrometer::usual_peep;
use shop::{EntryId, EntryKind, Shop, Standing, now};
use units::{Length, Unit, digits_for, read};

use super::{Refused, Wanted};
use crate::drawn::front_svg;
use crate::judged::counts;
use crate::taking::saved_words;
use crate::trouble::Trouble;
use crate::visitor::{Frame as PageFrame, form_id};
use crate::wording::{OldWay, Words};
use job::JobCard;
use job::in_hand::in_hand;
use job::march::{Across, Spot, row_at, spot_of};
use job::micrometers::keyed_as;
use job::taking::{TurnsAway, size_of, turns_away, turns_to_put};
use job::undo;
use job::undo::derived;

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
    /// Where it looks whole turns out: the micrometer as keyed and as it would be, to choose from.
    pub(super) looks: Option<Looks>,
}

/// Two drawn micrometers, the one as keyed and the one some turns off, in either order.
pub(super) struct Looks {
    pub(super) both: [Look; 2],
    /// What the form of the other one sends.
    pub(super) spot: String,
    pub(super) with: String,
    pub(super) reading: String,
    pub(super) fresh: String,
}

/// One of the two.
pub(super) struct Look {
    pub(super) letter: char,
    pub(super) as_keyed: bool,
    pub(super) drawing: String,
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
    /// Which sizes look whole turns out, for the same.
    pub(super) turns: String,
    /// Where the micrometer can be read step by step.
    pub(super) helper: Option<String>,
    /// Where practice is offered.
    pub(super) practice: Option<String>,
}

pub(super) fn unit_word(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "in",
        Unit::Millimetre => "mm",
    }
}

pub(super) fn entry_part(
    held: &JobCard,
    shop: &Shop,
    frame: &PageFrame,
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
    let spots = job::march::Walk::of_job(shop, job).spots(book);
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
        flags: flags.map(|flag| open_flag(held, shop, flag, words)).collect(),
        undo: undo::next_undo(&held.entries, job, words),
        redo: undo::next_redo(&held.entries, job, words),
        walk: walk_for_script(held, &spots, words),
        turns: turns_for_script(held, shop),
        helper: micrometer.filter(|one| scale_of(one).is_some()).map(|_| {
            let corrects = corrects.map(|entry| format!("&corrects={entry}")).unwrap_or_default();
            format!("/jobs/{}/measure/read?spot={spot}{corrects}", job.number)
        }),
        practice: practice(held, micrometer),
    })
}

/// Every spot in the order of the walk: key, name, size or nothing.
pub(super) fn walk_for_script(held: &JobCard, spots: &[Spot], words: Words) -> String {
    let line = |spot: &Spot| {
        let row = row_at(&held.job, *spot).filter(|row| counts(row));
        let size = row.map(size_of).unwrap_or_default();
        format!("{spot}|{}|{}|{size}", spot.name(words), spot.direction(words))
    };
    spots.iter().map(line).collect::<Vec<_>>().join(";")
}

/// Which sizes look whole turns of the thimble out: journal, least and largest size, how many turns.
pub(super) fn turns_for_script(held: &JobCard, shop: &Shop) -> String {
    let line = |one: TurnsAway| {
        let TurnsAway { journal, turns, low, high } = one;
        format!("{}-{}|{low}|{high}|{turns}", journal.set.word(), journal.number)
    };
    turns_away(held, shop).into_iter().map(line).collect::<Vec<_>>().join(";")
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

fn scale_of(with: &gauge::Instrument) -> Option<Scale> {
    with.frame(Length::ZERO).map(Frame::scale)
}

/// Practice is offered where readings of this job were doubted by whole turns more than once.
fn practice(held: &JobCard, with: Option<&gauge::Instrument>) -> Option<String> {
    const ONCE_MORE: usize = 2;
    let turn = |entry: &&shop::Entry| {
        let EntryKind::FlagRaised { about: Some(_), check, .. } = &entry.kind else { return false };
        check == gauge::misread::Kind::LikelyMisread.word()
    };
    let often = held.entries.iter().filter(turn).count() >= ONCE_MORE;
    let scale = with.and_then(scale_of).filter(|_| often)?;
    Some(format!("/practice?type={}", crate::pages::practice::key_of(scale)))
}

/// Whether the micrometer as keyed is drawn first. It follows from the name of the reading's entry.
fn keyed_first(reading: EntryId) -> bool {
    let order = derived(reading, "which looks like yours").to_string();
    order.bytes().fold(0_u32, |sum, byte| sum + u32::from(byte)).is_multiple_of(2)
}

/// Both micrometers, where a reading looks whole turns out. The order follows from the name of the entry, so that it is
/// not always the same and does not change while the page is looked at.
fn looks(held: &JobCard, shop: &Shop, row: &shop::SheetRow) -> Option<Looks> {
    let turns = turns_to_put(held, row)?;
    let with = held.micrometer(row.row.words("with"))?;
    let size = read(size_of(row), held.unit()).ok()?.length;
    let on = with.frame(size)?;
    let other = size + Length::from_nm(on.scale().turn().nm().checked_mul(turns)?);
    let peep = usual_peep(with.unit);
    let drawn = |size: Length, letter: char| front_svg(on, size, peep, &format!("-{letter}-{}", row.entry)).ok();
    let keyed_first = keyed_first(row.entry);
    let look = |letter: char, as_keyed: bool| {
        Some(Look { letter, as_keyed, drawing: drawn(if as_keyed { size } else { other }, letter)? })
    };
    let spot = spot_of(row)?;
    let about_mm = held.book.as_ref().ok()?.set(spot.journal.set).size.low_mm;
    Some(Looks {
        both: [look('A', keyed_first)?, look('B', !keyed_first)?],
        spot: spot.to_string(),
        with: row.row.words("with").unwrap_or_default().to_owned(),
        reading: as_keyed(other, &keyed_as(shop, with, about_mm), with),
        fresh: derived(row.entry, &format!("the other {}", now())).to_string(),
    })
}

pub(super) fn open_flag(held: &JobCard, shop: &Shop, flag: &shop::Flag, words: Words) -> OpenFlag {
    let row = held.job.rows.iter().find(|row| Some(row.entry) == flag.about);
    let setting = row.and_then(|row| setting_words(held, row));
    let turned = flag.check == gauge::misread::Kind::LikelyMisread.word();
    OpenFlag {
        looks: row.filter(|_| turned).and_then(|row| looks(held, shop, row)),
        entry: flag.entry,
        fresh: derived(flag.entry, &now()).to_string(),
        says: words.put(&flag.says),
        size: row.map(|row| size_of(row).to_owned()),
        setting,
    }
}

/// What stands on the micrometer at the size that a row shows.
pub(super) fn setting_words(held: &JobCard, row: &shop::SheetRow) -> Option<String> {
    let with = held.micrometer(row.row.words("with"))?;
    let scale = gauge::scale::Scale::with_graduation(with.unit, with.graduation_mm)?;
    let size = read(size_of(row), held.unit()).ok()?.length;
    gauge::scale::Frame::usual(scale, size).words(size).ok()
}

#[derive(Template)]
#[template(path = "measure_flags.html")]
pub(super) struct FlagsPart<'a> {
    pub(super) job: i64,
    pub(super) seq: i64,
    pub(super) token: &'a str,
    pub(super) flags: &'a [OpenFlag],
    pub(super) practice: &'a Option<String>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn either_of_two_micrometers_comes_first_about_as_often() {
        let first = (0..400).filter(|bits| keyed_first(EntryId::from_bits(*bits))).count();
        assert!((150..250).contains(&first), "{first} of 400");
    }
}
