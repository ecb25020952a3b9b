//! The micrometer in hand: which one, and which ones will do.

use crank::{SetName, Specification};
use gauge::Instrument;
use shop::Shop;
use units::{Unit, show_mm};

use job::JobCard;
use job::micrometers::of_shop;
use job::nouns::journal_of;

/// The micrometer to measure a set with: the one taken up last, if it reaches the journals, else the one that the set was
/// measured with so far.
pub(crate) fn in_hand(held: &JobCard, set: SetName) -> Option<&Instrument> {
    let book = held.book.as_ref().ok()?;
    let reaches = |micrometer: &&Instrument| reaches(micrometer, book, set);
    let taken_up = held.job.micrometer.as_deref().and_then(|name| held.micrometer(Some(name)));
    taken_up.filter(reaches).or_else(|| {
        let of_set = |row: &&shop::SheetRow| journal_of(&row.row).is_some_and(|journal| journal.set == set);
        let last = held.job.rows.iter().rev().find(|row| row.key == "reading" && of_set(row))?;
        held.micrometer(Some(last.row.words("with")?)).filter(reaches)
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
pub(crate) struct Choice {
    /// What the form sends: its name, or `new:` and a graduation.
    pub(crate) key: String,
    /// What the page says.
    pub(crate) says: String,
}

/// The micrometers that reach a set: those of the job and the shop, then new ones by their steps.
pub(crate) fn choices(held: &JobCard, shop: &Shop, set: SetName) -> Vec<Choice> {
    let Ok(book) = held.book.as_ref() else { return Vec::new() };
    let of_shop = of_shop(shop);
    let of_job = held.micrometers.iter().skip(1);
    let not_of_job = of_shop.iter().filter(|own| held.micrometer(Some(&own.name)).is_none());
    let known = of_job.chain(not_of_job).filter(|one| reaches(one, book, set) && !one.name.contains(", set again "));
    let mut choices: Vec<Choice> =
        known.map(|one| Choice { key: one.name.clone(), says: format!("{}, {}", one.name, steps(one)) }).collect();
    if choices.is_empty() {
        for (key, says) in [
            ("new:0.0001 in", "An inch micrometer in steps of 0.0001 in"),
            ("new:0.001 in", "An inch micrometer in steps of 0.001 in"),
            ("new:0.001 mm", "A metric micrometer in steps of 0.001 mm"),
            ("new:0.01 mm", "A metric micrometer in steps of 0.01 mm"),
        ] {
            choices.push(Choice { key: key.to_owned(), says: says.to_owned() });
        }
        if held.unit() == Unit::Millimetre {
            choices.rotate_left(2);
        }
    }
    choices
}

/// `2–3 in, in steps of 0.0001 in`.
pub(crate) fn steps(one: &Instrument) -> String {
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
