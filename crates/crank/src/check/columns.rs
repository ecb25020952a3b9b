//! Each number by itself, low against high, and the inch column against the millimetre column.

use units::Unit;

use super::{Book, Words, bands, like, limits};
use crate::{PrintedBand, PrintedLimit, PrintedNumber, PrintedSet, PrintedSpecification, SetName};

/// How far two columns may differ, over half a unit in the last place of each: books round one column from the other
/// already rounded. 2.1245 in printed as 53.962 mm (53.9623) is sound.
pub(super) const ROUNDING: f64 = 1.1;

/// One unit in the last place of a limit of one digit may be half of it: that is no rounding but another limit.
const ROUNDING_SHARE: f64 = 1.0 / 3.0;

/// The numbers that belong to neither set.
pub(super) fn whole(book: &mut Book<'_>, printed: &PrintedSpecification) {
    for (key, limit) in [
        ("throw", &printed.throw),
        ("throw_tolerance", &printed.throw_tolerance),
        ("treatment.growth.mean", &printed.growth_mean),
        ("treatment.growth.sd", &printed.growth_sd),
    ] {
        if let Some(limit) = limit {
            number_columns(book, key, limit, false);
        }
    }
}

/// Every number of a set.
pub(super) fn set(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    for (key, limit) in limits(name, set) {
        let per_length = key.ends_with(".taper") && limit.sense.as_deref() == Some("length");
        number_columns(book, &key, limit, per_length);
    }
    for (key, columns, source) in bands(name, set) {
        band_columns(book, &key, columns, source);
    }
    for (key, limit, words) in [
        ("taper", &set.taper, ["journal", "length"].as_slice()),
        ("wear_limit.taper", &set.wear_taper, ["journal", "length"].as_slice()),
        ("run_out", &set.run_out, ["total", "bend"].as_slice()),
    ] {
        let Some(limit) = limit else { continue };
        let Some(sense) = &limit.sense else { continue };
        if !words.contains(&sense.as_str()) {
            book.fault(
                Words {
                    key: format!("{name}.{key}"),
                    found: format!("`{sense}`"),
                    expected: words.join(" or "),
                    cause: "the book's way of reading the limit must be one of these".to_owned(),
                },
                limit.source.as_ref(),
            );
        }
    }
}

/// A lone number in its columns.
fn number_columns(book: &mut Book<'_>, key: &str, limit: &PrintedLimit, per_length: bool) {
    let source = limit.source.as_ref();
    if limit.columns.is_empty() {
        book.fault(
            Words {
                key: key.to_owned(),
                found: "no number".to_owned(),
                expected: "a number in inches, millimetres or both".to_owned(),
                cause: "the value was left out".to_owned(),
            },
            source,
        );
    }
    for (unit, number) in &limit.columns {
        sound(book, key, *unit, number, source);
    }
    for pair in pairs(&limit.columns) {
        agree(book, key, pair, per_length, source);
    }
}

/// A band in its columns.
fn band_columns(book: &mut Book<'_>, key: &str, columns: &[PrintedBand], source: Option<&String>) {
    for band in columns {
        for number in band.low.iter().chain(&band.high) {
            sound(book, key, band.unit, number, source);
        }
        if let (Some(low), Some(high)) = (&band.low, &band.high)
            && low.value > high.value
        {
            book.fault(
                Words {
                    key: key.to_owned(),
                    found: format!("{} to {}", low.text(band.unit), high.text(band.unit)),
                    expected: "the low limit first, not above the high one".to_owned(),
                    cause: above(low, high),
                },
                source,
            );
        }
    }
    let mut agreed = true;
    for edge in [|band: &PrintedBand| band.low.clone(), |band: &PrintedBand| band.high.clone()] {
        let numbers: Vec<_> = columns.iter().filter_map(|band| Some((band.unit, edge(band)?))).collect();
        for pair in pairs(&numbers) {
            agreed &= agree(book, key, pair, false, source);
        }
    }
    if let ([first, second], true) = (columns, agreed) {
        super::coarse::column(book, key, first, second, source);
    }
}

/// Why a low limit stands above the high one.
fn above(low: &PrintedNumber, high: &PrintedNumber) -> String {
    let gap = (low.value - high.value) / high.value.abs().max(f64::MIN_POSITIVE);
    if gap > 1.5 {
        "one of the two is probably out by ten".to_owned()
    } else if gap < 1e-3 {
        "the two limits are probably swapped".to_owned()
    } else {
        "one of the two is misprinted, or they are swapped".to_owned()
    }
}

/// Every number must be one; sizes and tolerances are never negative.
fn sound(book: &mut Book<'_>, key: &str, unit: Unit, number: &PrintedNumber, source: Option<&String>) {
    // Undersizes and the numbers judged by family have their own words for a sign or a zero.
    let must_be_positive = ["size", "wall", "housing", "length", "smallest", "wear_limit", "worn", "throw", "width"];
    let last = key.rsplit('.').next().unwrap_or(key);
    let words = |expected: &str, cause: &str| Words {
        key: key.to_owned(),
        found: number.text(unit),
        expected: expected.to_owned(),
        cause: cause.to_owned(),
    };
    if !number.value.is_finite() {
        book.fault(words("a finite number", "this is no number"), source);
    } else if must_be_positive.contains(&last) && number.value <= 0.0 {
        book.fault(words("more than zero", "no part has such a size"), source);
    } else if number.value < 0.0 && !last.starts_with("undersize") {
        book.fault(words("zero or more", "a limit is stated without a sign"), source);
    }
}

/// Each two columns.
fn pairs(columns: &[(Unit, PrintedNumber)]) -> Vec<[&(Unit, PrintedNumber); 2]> {
    let mut pairs = Vec::new();
    for (n, first) in columns.iter().enumerate() {
        pairs.extend(columns.iter().skip(n + 1).map(|second| [first, second]));
    }
    pairs
}

/// Two columns must say the same within what their printed digits hold; whether they do. One unit in the last place of
/// one of them is asked about: books cut digits off, and round badly.
fn agree(
    book: &mut Book<'_>,
    key: &str,
    [(unit, number), (other_unit, other)]: [&(Unit, PrintedNumber); 2],
    per_length: bool,
    source: Option<&String>,
) -> bool {
    // A taper per unit of length is the same number in both units.
    let mm = |unit: &Unit| if per_length { 1.0 } else { unit.mm() };
    let (a, b) = (number.value * mm(unit), other.value * mm(other_unit));
    let room = ROUNDING * (number.half_unit() * mm(unit) + other.half_unit() * mm(other_unit));
    if !(a.is_finite() && b.is_finite()) || (a - b).abs() <= room {
        return true;
    }
    let in_unit = |value: f64, like_number: &PrintedNumber, unit: &Unit| like(like_number, value / mm(unit), *unit);
    let mut words = Words {
        key: key.to_owned(),
        found: format!("{} and {}", number.text(*unit), other.text(*other_unit)),
        expected: format!(
            "{} is {}, and {} is {}",
            number.text(*unit),
            in_unit(a, other, other_unit),
            other.text(*other_unit),
            in_unit(b, number, unit)
        ),
        cause: String::new(),
    };
    let small = (a - b).abs() <= ROUNDING_SHARE * a.abs().max(b.abs());
    let last_places = places_apart(number, b / mm(unit)).min(places_apart(other, a / mm(other_unit)));
    if small && last_places <= 1.0 {
        let counts = if [unit, other_unit].contains(&&book.unit) { book.unit } else { *unit }.plural();
        words.cause = format!(
            "the columns differ by one in the last place: one was cut off, rounded badly or misprinted; the figure in \
             {counts} counts here"
        );
        book.query(words, source);
        return false;
    }
    let ratio = b / a;
    let near = |wanted: f64| (ratio / wanted - 1.0).abs() < 0.06;
    let cause = if near(10.0) || near(0.1) {
        "a decimal point is one place out in one of the two"
    } else if near(100.0) || near(0.01) {
        "a decimal point is two places out in one of the two"
    } else if per_length && (near(25.4) || near(1.0 / 25.4)) {
        "one of the two counts for 25.4 mm of length, the other for each unit of it"
    } else if near(25.4) || near(1.0 / 25.4) {
        "both columns were printed in one unit"
    } else if same_digits(number, a / mm(unit), b / mm(unit))
        || same_digits(other, a / mm(other_unit), b / mm(other_unit))
    {
        "digits are swapped in one of the two"
    } else {
        "one column is misprinted or was copied from another table"
    };
    words.cause = cause.to_owned();
    book.fault(words, source);
    false
}

/// How many units of its last place a printed number is away from a value in its unit, once that is rounded like it.
fn places_apart(number: &PrintedNumber, value: f64) -> f64 {
    let unit = 2.0 * number.half_unit();
    ((value / unit).round() - (number.value / unit).round()).abs()
}

/// Whether two values, printed alike, are made of the same digits in another order.
fn same_digits(number: &PrintedNumber, found: f64, wanted: f64) -> bool {
    super::steps::digits(number, found) == super::steps::digits(number, wanted)
}
