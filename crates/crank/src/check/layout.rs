//! What must be there, how many journals there are, and where they stand.

use super::{Book, Words, plain};
use crate::{PrintedSet, PrintedSpecification, SetName};

/// More journals in a row than any crankshaft has.
const MOST_JOURNALS: usize = 40;

/// Side-by-side pins of vee engines may be entered a little nearer than a length apart; half a length is too near.
const NEAREST_SHARE: f64 = 0.5;
/// Below this share of a length the positions cannot be in the same unit as the lengths.
const IMPOSSIBLE_SHARE: f64 = 0.2;
/// Journals further apart than this many lengths cannot be in the same unit either.
const FURTHEST_SHARE: f64 = 20.0;

/// An overhung pin stands beside the last main, not so many lengths away from it.
const OVERHUNG_SHARE: f64 = 5.0;

/// A whole crank: required values, counts, positions, angles.
pub(super) fn whole(book: &mut Book<'_>, printed: &PrintedSpecification) {
    if printed.throw.is_none() {
        missing(book, "throw", "the crank radius, half the stroke");
    }
    for (name, set) in [(SetName::Main, &printed.main), (SetName::Pin, &printed.pin)] {
        required(book, name, set);
        counts(book, name, set);
        positions(book, name, set);
    }
    angles(book, printed);
    across(book, printed);
}

fn missing(book: &mut Book<'_>, key: &str, what: &str) {
    let words = Words {
        key: key.to_owned(),
        found: "nothing".to_owned(),
        expected: what.to_owned(),
        cause: "the value was left out".to_owned(),
    };
    book.fault(words, None);
}

fn required(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let at_standard = |undersize: Option<f64>| undersize == Some(0.0);
    let has_size = |bands: &[crate::PrintedBand]| crate::PrintedBand::in_columns(bands, book.unit).is_some();
    let row = set.steps.iter().any(|step| at_standard(step.undersize.mm(book.unit)) && has_size(&step.size));
    let one_limit = crate::PrintedBand::in_columns(&set.size, book.unit)
        .filter(|band| band.low.is_none() || band.high.is_none())
        .and_then(|band| Some((band.low.as_ref().or(band.high.as_ref())?.text(band.unit), band.high.is_some())));
    if !has_size(&set.size) && !row {
        missing(book, &format!("{name}.size"), "the finished limits at standard size");
    }
    if let Some((found, high)) = one_limit {
        let words = Words {
            key: format!("{name}.size"),
            found: format!("{found} only"),
            expected: "a low and a high limit".to_owned(),
            cause: format!("only the {} limit was printed; it counts as both", if high { "high" } else { "low" }),
        };
        book.query(words, None);
    }
    if set.positions.is_empty() {
        missing(book, &format!("{name}.positions"), "the mid-length of each journal along the axis");
    }
    if set.length.is_none() {
        missing(book, &format!("{name}.length"), "the length of one journal");
    }
}

fn counts(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let words = |key: &str, found: String, expected: String, cause: &str| Words {
        key: format!("{name}.{key}"),
        found,
        expected,
        cause: cause.to_owned(),
    };
    let positions = set.positions.len();
    if let Some(count) = set.count {
        let possible = usize::try_from(count).is_ok_and(|count| (1..=MOST_JOURNALS).contains(&count));
        if !possible {
            let expected = format!("1 to {MOST_JOURNALS}");
            book.fault(words("count", count.to_string(), expected, "no crankshaft has so many journals"), None);
        } else if positions > 0 && usize::try_from(count) != Ok(positions) {
            let cause = "a position too many or too few, or a wrong count";
            book.fault(
                words("positions", format!("{positions} positions"), format!("{count}, the count"), cause),
                None,
            );
        }
    }
    if positions > MOST_JOURNALS {
        let expected = format!("at the most {MOST_JOURNALS}");
        book.fault(words("positions", positions.to_string(), expected, "no crankshaft has so many journals"), None);
    }
}

fn positions(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let unit = book.unit;
    let key = |n: usize| format!("{name}.positions[{n}]");
    for (n, position) in (1..).zip(&set.positions) {
        if !position.is_finite() {
            let found = position.to_string();
            let (expected, cause) = ("a finite number".to_owned(), "this is no number".to_owned());
            book.fault(Words { key: key(n), found, expected, cause }, None);
        }
    }
    let length = set.length.as_ref().and_then(|length| length.mm(unit)).map(|mm| mm / unit.mm());
    for (n, pair) in (2..).zip(set.positions.windows(2)) {
        let &[before, here] = pair else { continue };
        let apart = here - before;
        let found = format!("{here} after {before}");
        if apart <= 0.0 {
            let expected = "positions in ascending order from the nose".to_owned();
            let cause = "a misprinted digit, or journals in the wrong order".to_owned();
            book.fault(Words { key: key(n), found, expected, cause }, None);
            continue;
        }
        let Some(length) = length.filter(|length| *length > 0.0) else { continue };
        let expected =
            format!("about one length ({}) or more, up to {FURTHEST_SHARE} lengths", plain(length * unit.mm(), unit));
        if apart < IMPOSSIBLE_SHARE * length || apart > FURTHEST_SHARE * length {
            let cause = "positions or length in the other unit, or a decimal point out".to_owned();
            book.out_of_family(Words { key: key(n), found, expected, cause }, None);
        } else if apart < NEAREST_SHARE * length {
            let cause = "the two journals would overlap by more than half".to_owned();
            book.query(Words { key: key(n), found, expected, cause }, None);
        }
    }
}

fn angles(book: &mut Book<'_>, printed: &PrintedSpecification) {
    let pins = match printed.pin.positions.len() {
        0 => printed.pin.count.and_then(|count| usize::try_from(count).ok()).unwrap_or(0),
        pins => pins,
    };
    let angles = &printed.pin.angles_deg;
    if angles.is_empty() {
        missing(book, "pin.angles", "the direction of each throw");
    } else if pins > 0 && angles.len() != pins {
        let words = Words {
            key: "pin.angles".to_owned(),
            found: format!("{} directions", angles.len()),
            expected: format!("{pins}, one for each pin"),
            cause: "a direction too many or too few".to_owned(),
        };
        book.fault(words, None);
    }
    for (n, angle) in (1..).zip(angles) {
        let words = |expected: &str, cause: &str| Words {
            key: format!("pin.angles[{n}]"),
            found: angle.to_string(),
            expected: expected.to_owned(),
            cause: cause.to_owned(),
        };
        if !angle.is_finite() {
            book.fault(words("a finite number of degrees", "this is no number"), None);
        } else if angle.abs() > 720.0 {
            book.out_of_family(words("degrees within a turn or two", "a decimal point out"), None);
        } else if angle.abs() > 360.0 {
            book.query(words("degrees within one turn", "more than a turn; taken modulo 360"), None);
        }
    }
    let finite: Vec<f64> = angles.iter().filter(|angle| angle.is_finite()).map(|angle| angle.to_radians()).collect();
    let (x, y) = finite.iter().fold((0.0, 0.0), |(x, y), angle| (x + angle.cos(), y + angle.sin()));
    if finite.len() >= 3 && x.hypot(y) > 0.02 * finite.len() as f64 {
        let words = Words {
            key: "pin.angles".to_owned(),
            found: angles.iter().map(f64::to_string).collect::<Vec<_>>().join(", "),
            expected: "throws that balance one another, as they do on nearly every crank of three throws or more"
                .to_owned(),
            cause: "a digit dropped or misprinted in one direction; draw the throws and count round".to_owned(),
        };
        book.query(words, None);
    }
    let radians = |angle: &f64| (angle.abs() - std::f64::consts::PI).abs() < 0.01;
    if angles.iter().any(radians) {
        let words = Words {
            key: "pin.angles".to_owned(),
            found: "a direction of 3.14".to_owned(),
            expected: "degrees".to_owned(),
            cause: "directions were typed in radians".to_owned(),
        };
        book.out_of_family(words, None);
    }
    if !printed.main.angles_deg.is_empty() {
        let words = Words {
            key: "main.angles".to_owned(),
            found: format!("{} directions", printed.main.angles_deg.len()),
            expected: "none".to_owned(),
            cause: "mains stand on the axis and have no direction; ignored".to_owned(),
        };
        book.query(words, None);
    }
}

/// Pins against mains along the axis.
fn across(book: &mut Book<'_>, printed: &PrintedSpecification) {
    let unit = book.unit;
    let length = |set: &PrintedSet| set.length.as_ref().and_then(|length| length.mm(unit)).map(|mm| mm / unit.mm());
    let (Some(main), Some(pin)) = (length(&printed.main), length(&printed.pin)) else { return };
    let apart = (main + pin) / 2.0;
    let mains = &printed.main.positions;
    let ends = mains.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), at| (a.min(*at), b.max(*at)));
    for (n, position) in (1..).zip(&printed.pin.positions) {
        let nearest = mains.iter().copied().min_by(|a, b| (a - position).abs().total_cmp(&(b - position).abs()));
        let Some(nearest) = nearest.filter(|nearest| (nearest - position).is_finite() && apart > 0.0) else { continue };
        let off = (nearest - position).abs();
        let words = |expected: &str, cause: &str| Words {
            key: format!("pin.positions[{n}]"),
            found: format!("{position}, the nearest main at {nearest}"),
            expected: expected.to_owned(),
            cause: cause.to_owned(),
        };
        let outside = *position < ends.0 || *position > ends.1;
        if off < IMPOSSIBLE_SHARE * apart {
            let cause = "pin and main would stand in one place: a misprinted position, or the other unit";
            book.out_of_family(words("a pin clear of the mains", cause), None);
        } else if off < NEAREST_SHARE * apart {
            let cause = "pin and main would overlap by more than half: a misprinted position";
            book.query(words("a pin clear of the mains", cause), None);
        } else if outside && off > OVERHUNG_SHARE * apart {
            let cause = "a misprinted position, or the other unit";
            book.out_of_family(words("a pin beside the mains", cause), None);
        } else if outside {
            book.query(words("a pin between the first and the last main", "an overhung pin, or a misprint"), None);
        }
    }
}
