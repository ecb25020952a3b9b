//! The shop's micrometers: which there are, how they are taken up and how they are keyed.

use crank::{SetName, Specification};
use gauge::Instrument;
use gauge::keyed::{KeyedAs, stays};
use shop::{Shop, Value};
use units::{Unit, read};

/// The shop's own micrometers.
pub fn of_shop(shop: &Shop) -> Vec<Instrument> {
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
pub fn row_of(key: &str, shop: &Shop, book: &Specification, set: SetName) -> Option<Value> {
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

/// How readings of a micrometer are keyed in this shop, for journals of about this size.
pub fn keyed_as(shop: &Shop, with: &Instrument, about_mm: f64) -> KeyedAs {
    let told = shop.settings.get("entry").and_then(|entry| entry.get(&with.name)).and_then(Value::as_typed);
    match told {
        Some("counts") => KeyedAs::Counts,
        Some("last digits") => KeyedAs::LastDigits { after: stays(about_mm, with.unit) },
        Some(other) => match other.strip_prefix("departure from ").map(|from| read(from, with.unit)) {
            Some(Ok(from)) => KeyedAs::Departure { from: from.length },
            _ => KeyedAs::Size,
        },
        None => KeyedAs::Size,
    }
}
