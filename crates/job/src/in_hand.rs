//! The micrometer in hand: which one, and which ones will do.

use crank::{SetName, Specification};
use gauge::Instrument;
use shop::{CheckedAt, EntryKind, Shop};
use units::{Unit, show_mm};

use crate::card::JobCard;
use crate::micrometers::of_shop;
use crate::nouns::journal_of;

/// The micrometer to measure a set with: the one taken up last, if it reaches the journals, else the one that the set was
/// measured with so far.
pub fn in_hand(card: &JobCard, set: SetName) -> Option<&Instrument> {
    let book = card.book.as_ref().ok()?;
    let reaches = |micrometer: &&Instrument| reaches(micrometer, book, set);
    let taken_up = card.job.micrometer.as_deref().and_then(|name| card.micrometer(Some(name)));
    taken_up.filter(reaches).or_else(|| {
        let of_set = |row: &&shop::SheetRow| journal_of(&row.row).is_some_and(|journal| journal.set == set);
        let last = card.job.rows.iter().rev().find(|row| row.key == "reading" && of_set(row))?;
        card.micrometer(Some(last.row.words("with")?)).filter(reaches)
    })
}

/// Whether a micrometer reaches the journals of a set, new and at every undersize but the last few: a crank starts
/// somewhere, and the change comes with a note when a worn one falls below the range.
fn reaches(micrometer: &Instrument, book: &Specification, set: SetName) -> bool {
    let size = book.set(set).size;
    let within = |mm: f64| micrometer.range_mm.is_none_or(|(low, high)| (low..=high).contains(&mm));
    within(size.low_mm) || within(size.low_mm - 1.0)
}

/// A micrometer that can be taken up.
#[derive(Clone, Debug)]
pub struct ToTakeUp {
    /// What the form sends: its name, or `new:` and a graduation.
    pub key: String,
    /// What the page says.
    pub says: String,
}

/// The micrometers that reach a set: those of the job and the shop, then new ones by their steps.
pub fn choices(card: &JobCard, shop: &Shop, set: SetName) -> Vec<ToTakeUp> {
    let Ok(book) = card.book.as_ref() else { return Vec::new() };
    let of_shop = of_shop(shop);
    let of_job = card.micrometers.iter().skip(1);
    let not_of_job = of_shop.iter().filter(|own| card.micrometer(Some(&own.name)).is_none());
    let known = of_job.chain(not_of_job).filter(|one| reaches(one, book, set) && !one.name.contains(", set again "));
    let mut choices: Vec<ToTakeUp> =
        known.map(|one| ToTakeUp { key: one.name.clone(), says: format!("{}, {}", one.name, steps(one)) }).collect();
    if choices.is_empty() {
        for (key, says) in [
            ("new:0.0001 in", "An inch micrometer in steps of 0.0001 in"),
            ("new:0.001 in", "An inch micrometer in steps of 0.001 in"),
            ("new:0.001 mm", "A metric micrometer in steps of 0.001 mm"),
            ("new:0.01 mm", "A metric micrometer in steps of 0.01 mm"),
        ] {
            choices.push(ToTakeUp { key: key.to_owned(), says: says.to_owned() });
        }
        if card.unit() == Unit::Millimetre {
            choices.rotate_left(2);
        }
    }
    choices
}

/// Micrometers whose zero was not checked since the last reading with them.
pub fn unchecked(card: &JobCard) -> Vec<String> {
    let mut unchecked: Vec<String> = Vec::new();
    for entry in &card.entries {
        match &entry.kind {
            EntryKind::Reading(row) => {
                let with = row.row.words("with").unwrap_or_default();
                if !with.is_empty() && !unchecked.iter().any(|name| name == with) {
                    unchecked.push(with.to_owned());
                }
            }
            EntryKind::ZeroCheck { instrument, at: CheckedAt::End, .. } => unchecked.retain(|name| name != instrument),
            _ => {}
        }
    }
    unchecked.retain(|name| card.micrometer(Some(name)).is_some());
    unchecked
}

/// `2–3 in, in steps of 0.0001 in`.
pub fn steps(one: &Instrument) -> String {
    let unit = one.unit;
    let decimals = units::digits_for(one.graduation_mm, unit);
    let step = show_mm(one.graduation_mm, unit, decimals);
    match one.range_mm {
        Some((low, high)) => {
            let whole = |mm: f64| {
                let text = show_mm(mm, unit, 3);
                text.trim_end_matches('0').trim_end_matches('.').to_owned()
            };
            format!("{}–{} {unit}, in steps of {step} {unit}", whole(low), whole(high))
        }
        None => format!("in steps of {step} {unit}"),
    }
}
