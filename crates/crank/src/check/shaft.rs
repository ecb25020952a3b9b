//! Throws that may be off more one way than the other, and rollers.

use units::Unit;

use super::{Book, families, plain, words};
use crate::{Band, PrintedBand, PrintedSet, PrintedSpecification, SetName};

/// A roller fits between race and journal but for the clearance: a list that has nothing within this share of that is of
/// another bearing. Made sizes lie within 1 % of each other (0.1875 and 0.0002 to 0.0010 over, motorcycleinstitute.tk).
const NEAR_SHARE: f64 = 0.05;

/// Throws, and where features and the centre of mass lie.
pub(super) fn whole(book: &mut Book<'_>, printed: &PrintedSpecification) {
    throws(book, printed);
    places(book, printed);
}

/// What turns with the shaft is on it: a place further out than a shaft's length past its outer mains is none.
fn places(book: &mut Book<'_>, printed: &PrintedSpecification) {
    let unit = book.unit;
    let journals = || printed.main.positions.iter().chain(&printed.pin.positions).map(|at| at * unit.mm());
    let low_mm = journals().fold(f64::INFINITY, f64::min);
    let high_mm = journals().fold(f64::NEG_INFINITY, f64::max);
    let length_mm = high_mm - low_mm;
    if !length_mm.is_finite() {
        return;
    }
    let reaches = |mm: f64| mm >= low_mm - length_mm && mm <= high_mm + length_mm;
    let expected = format!("a place from {} to {}", plain(low_mm - length_mm, unit), plain(high_mm + length_mm, unit));
    let cause = "it is counted as the positions of the journals are, from the same place and in the same unit";
    for feature in printed.features.iter().filter(|feature| !reaches(feature.at_mm)) {
        let found = format!("{} at {}", feature.name, plain(feature.at_mm, unit));
        book.fault(words("feature", &found, &expected, cause), None);
    }
    if let Some(mm) = printed.mass.and_then(|mass| mass.at_mm).filter(|mm| *mm < low_mm || *mm > high_mm) {
        let expected = format!("a place from {} to {}", plain(low_mm, unit), plain(high_mm, unit));
        book.fault(words("mass.at", &plain(mm, unit), &expected, cause), None);
    }
}

/// The low and the high limit of the throws' error.
fn throws(book: &mut Book<'_>, printed: &PrintedSpecification) {
    const KEY: &str = "throw_tolerance";
    let unit = book.unit;
    let Some(limits) = PrintedBand::in_columns(&printed.throw_limits, unit) else { return };
    let (Some(low), Some(high)) = (&limits.low, &limits.high) else {
        book.fault(words(KEY, "one limit", "a low and a high limit", "the other was left out"), None);
        return;
    };
    let found = format!("{} to {}", low.text(limits.unit), high.text(limits.unit));
    let (low_mm, high_mm) = (low.value * limits.unit.mm(), high.value * limits.unit.mm());
    if !low_mm.is_finite() || !high_mm.is_finite() || low_mm > 0.0 || high_mm < 0.0 {
        let expected = "a low limit of 0 or below and a high limit of 0 or above";
        book.fault(words(KEY, &found, expected, "the limits are swapped, or stand for the throw itself"), None);
        return;
    }
    families::throw_tolerance(book, KEY, found, low_mm.abs().max(high_mm));
}

/// The case that must be left, and the rollers of a set.
pub(super) fn set(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    case_least(book, name, set);
    rollers(book, name, set);
}

/// No more case is left than there was.
fn case_least(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let unit = book.unit;
    let Some(least_mm) = set.case_least.as_ref().and_then(|limit| limit.mm(unit)) else { return };
    let key = format!("{name}.case_least");
    let found = plain(least_mm, unit);
    let Some(case) = PrintedBand::in_columns(&set.case_depth, unit).and_then(PrintedBand::band) else {
        return;
    };
    if least_mm < 0.0 || least_mm >= case.high_mm {
        let expected = format!("less than the case is deep, {}", plain(case.high_mm, unit));
        book.fault(words(&key, &found, &expected, "a decimal point out, or another unit"), None);
    }
}

/// The rollers of a set.
fn rollers(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let Some(rollers) = &set.rollers else { return };
    let unit = book.unit;
    let journal_mm = PrintedBand::in_columns(&set.size, unit).and_then(PrintedBand::band).map(Band::middle_mm);
    let (Some(race_mm), Some(clearance_mm), Some(journal_mm)) =
        (rollers.race.mm(unit), rollers.clearance.mm(unit), journal_mm)
    else {
        return;
    };
    let key = format!("{name}.rollers");
    if !set.any_size {
        let cause = "rollers are chosen to suit the journal, so it is ground to any size";
        let expected = "undersizes = \"any\" beside rollers";
        book.fault(words(&format!("{name}.undersizes"), "a ladder, or none", expected, cause), None);
    }
    if !(clearance_mm > 0.0 && clearance_mm < journal_mm / 100.0) {
        let expected = "a small clearance above 0";
        let found = plain(clearance_mm, unit);
        book.fault(words(&format!("{key}.clearance"), &found, expected, "a decimal point out, or a sign"), None);
        return;
    }
    let room_mm = (race_mm - journal_mm - clearance_mm) / 2.0;
    if !room_mm.is_finite() || room_mm <= 0.0 {
        let expected = format!("a bore above the journal, {}", plain(journal_mm, unit));
        let found = plain(race_mm, unit);
        book.fault(words(&format!("{key}.race"), &found, &expected, "the race is no wider than the journal"), None);
        return;
    }
    // A journal that is ground takes larger rollers, so the list may lie above what a new one takes.
    let made: Vec<f64> = rollers.made.iter().filter_map(|made| made.mm(unit)).collect();
    let near = |mm: &f64| *mm > 0.0 && (mm / room_mm - 1.0).abs() <= NEAR_SHARE;
    for (n, mm) in (1..).zip(&made).filter(|(_, mm)| !near(mm)) {
        let expected = format!("about {}, what is between race and journal", plain(room_mm, unit));
        let cause = wrong_unit(*mm, room_mm, unit);
        book.fault(words(&format!("{key}.made[{n}]"), &plain(*mm, unit), &expected, &cause), None);
    }
    for (n, pair) in (2..).zip(made.windows(2)) {
        if let [before, after] = pair
            && after <= before
        {
            let found = format!("{} after {}", plain(*after, unit), plain(*before, unit));
            let key = format!("{key}.made[{n}]");
            book.fault(words(&key, &found, "made sizes in ascending order", "two rows in the wrong order"), None);
        }
    }
}

fn wrong_unit(mm: f64, room_mm: f64, unit: Unit) -> String {
    let other = if unit == Unit::Inch { mm / 25.4 } else { mm * 25.4 };
    if (other / room_mm - 1.0).abs() <= NEAR_SHARE {
        "typed in the other unit".to_owned()
    } else {
        "the oversize was typed and not the diameter, or a decimal point is out".to_owned()
    }
}
