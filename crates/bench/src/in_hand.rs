//! The micrometer in hand: which one, and which ones will do.

use crank::{SetName, Specification};
use gauge::Instrument;
use shop::{Shop, Value};
use units::{Unit, show_mm};

use crate::desk::Held;

/// The micrometer to measure a set with: the one taken up last, if it reaches the journals, else the one that the set was
/// measured with so far.
pub(crate) fn in_hand(held: &Held, set: SetName) -> Option<&Instrument> {
    let book = held.book.as_ref().ok()?;
    let reaches = |micrometer: &&Instrument| reaches(micrometer, book, set);
    let taken_up = held.job.micrometer.as_deref().and_then(|name| held.micrometer(Some(name)));
    taken_up.filter(reaches).or_else(|| {
        let of_set = |row: &&shop::SheetRow| row.row.words("journal").is_some_and(|id| id.starts_with(set.word()));
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
pub(crate) fn choices(held: &Held, shop: &Shop, set: SetName) -> Vec<Choice> {
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

/// The shop's own micrometers.
pub(crate) fn of_shop(shop: &Shop) -> Vec<Instrument> {
    let unit = shop.setting("units").unwrap_or("in");
    let rows: Vec<Value> = shop.instruments.iter().map(|own| own.row.clone()).collect();
    let listed = Value::table([("units", Value::from(unit)), ("instrument", Value::List(rows))]);
    let mut all = sheet::read_instruments("the shop", &listed.to_json()).unwrap_or_default();
    if !all.is_empty() {
        all.remove(0);
    }
    all
}

/// The row of a micrometer to be taken up: the shop's own, with its unit spelt out for a job in the other unit, or a new
/// one whose range holds the journals of the set. Nothing where the key names none.
pub(crate) fn row_of(key: &str, shop: &Shop, book: &Specification, set: SetName) -> Option<Value> {
    if let Some(step) = key.strip_prefix("new:") {
        let (step, unit) = step.split_once(' ')?;
        let of = match unit {
            "in" => Unit::Inch,
            "mm" => Unit::Millimetre,
            _ => return None,
        };
        let size = units::Length::nearest_mm(book.set(set).size.low_mm)?;
        let (low, high) = gauge::scale::frame_for(size, of);
        let (low, high) = (low.show(of, 0), high.show(of, 0));
        let error = if of == Unit::Inch { "0.0001" } else { "0.004" };
        return Some(Value::table([
            ("name", Value::from(format!("{low}–{high} {unit} micrometer"))),
            ("units", Value::from(unit)),
            ("range", Value::List(vec![Value::typed(&low), Value::typed(&high)])),
            ("graduation", Value::typed(step)),
            ("error_limit", Value::typed(error)),
        ]));
    }
    let own = shop.instruments.iter().find(|own| own.name == key)?;
    let mut row = own.row.clone();
    if row.get("units").is_none() {
        row.set("units", Value::from(shop.setting("units").unwrap_or("in")));
    }
    Some(row)
}
