//! Wear limits and smallest sizes against the sizes, and the limits of form when new, that they belong to.

use units::Unit;

use super::neighbours::OUT_OF_STEP;
use super::{Book, Words, plain};
use crate::{Band, PrintedBand, PrintedLimit, PrintedSet, SetName};

/// Deepest published wear limits lie 0.003 in below the low limit when new (rods 3.1240, worn 3.1215, TM
/// 9-2815-213-34); three times as much is out of family, or a five-hundredth of a large journal.
const DEEPEST_WEAR_MM: f64 = 0.23;
const DEEPEST_WEAR_SHARE: f64 = 0.002;

/// Slack for sizes that were converted: far below any printed digit.
const SAME_MM: f64 = 1e-6;

/// The set's wear limit and smallest size, and the worn size of each row.
pub(super) fn set(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let unit = book.unit;
    let standard_row = set.steps.iter().find(|step| step.undersize.mm(unit) == Some(0.0));
    let standard = PrintedBand::in_columns(&set.size, unit)
        .or_else(|| standard_row.and_then(|step| PrintedBand::in_columns(&step.size, unit)))
        .and_then(PrintedBand::band);
    if let (Some(limit), Some(size)) = (&set.wear_limit, standard) {
        worn(book, &format!("{name}.wear_limit"), limit, size);
    }
    for (key, worn, new) in
        [("out_of_round", &set.wear_out_of_round, &set.out_of_round), ("taper", &set.wear_taper, &set.taper)]
    {
        if let (Some(worn), Some(new)) = (worn, new) {
            form(book, &format!("{name}.wear_limit.{key}"), worn, new);
        }
    }
    for (row, step) in (1..).zip(&set.steps) {
        // In one column where there is one, so that rounding between columns is no matter.
        for unit in [unit, unit.other()] {
            let size = step.size.iter().find(|band| band.unit == unit).and_then(PrintedBand::band);
            let worn_here = step.worn.as_ref().filter(|limit| limit.columns.iter().any(|(column, _)| *column == unit));
            if let (Some(limit), Some(size)) = (worn_here, size) {
                let limit = only(limit, unit);
                worn(book, &format!("{name}.step[{row}].worn"), &limit, size);
                break;
            }
        }
    }
    if let (Some(limit), Some(size)) = (&set.smallest, standard) {
        let rows = set.steps.iter().map(|step| &step.undersize);
        let deepest = set.undersizes.iter().chain(rows).filter_map(|limit| limit.mm(unit)).fold(0.0, f64::max);
        smallest(book, &format!("{name}.smallest"), limit, size, deepest);
    }
}

/// One column of a limit.
fn only(limit: &PrintedLimit, unit: Unit) -> PrintedLimit {
    let columns = limit.columns.iter().filter(|(column, _)| *column == unit).cloned().collect();
    PrintedLimit { columns, ..limit.clone() }
}

/// A limit of form in use against the one when new: never tighter, and not many times as wide. A taper per journal and
/// one per length are not compared.
///
/// # Source
/// In print the limit in use is up to four times the one when new (out-of-round 0.00025 and 0.0010 in, taper 0.0005 and
/// 0.0015 in, TM 5-4310-379-14; 0.008 and 0.025 mm, Daewoo D1146; 0.005 and 0.010 mm, Honda Accord 2009).
fn form(book: &mut Book<'_>, key: &str, worn: &PrintedLimit, new: &PrintedLimit) {
    let per_length = |limit: &PrintedLimit| limit.sense.as_deref() == Some("length");
    if per_length(worn) != per_length(new) {
        return;
    }
    let has = |limit: &PrintedLimit, unit: Unit| limit.columns.iter().any(|(column, _)| *column == unit);
    // In one column where there is one, so that rounding between columns is no matter.
    let common = [book.unit, book.unit.other()].into_iter().find(|unit| has(worn, *unit) && has(new, *unit));
    let unit = common.unwrap_or(book.unit);
    let (Some((worn_unit, number)), Some((new_unit, at_new))) = (worn.column(unit), new.column(unit)) else { return };
    // A taper per unit of length is the same number in both units.
    let mm = |unit: Unit| if per_length(new) { 1.0 } else { unit.mm() };
    let (worn_mm, new_mm) = (number.value * mm(worn_unit), at_new.value * mm(new_unit));
    let rounded_mm = if worn_unit == new_unit {
        0.0
    } else {
        number.half_unit() * mm(worn_unit) + at_new.half_unit() * mm(new_unit)
    };
    if !(worn_mm.is_finite() && new_mm.is_finite()) || worn_mm <= 0.0 || new_mm <= 0.0 {
        return;
    }
    let words = |expected: String, cause: &str| Words {
        key: key.to_owned(),
        found: number.text(worn_unit),
        expected,
        cause: cause.to_owned(),
    };
    let when_new = format!("{}, the limit when new", at_new.text(new_unit));
    if worn_mm < new_mm * (1.0 - 1e-9) - rounded_mm {
        let cause = "a worn journal is not held to less than a new one: the two are probably changed over";
        book.out_of_family(words(format!("not below {when_new}"), cause), worn.source.as_ref());
    } else if worn_mm >= OUT_OF_STEP * new_mm * (1.0 - 1e-9) {
        let cause = "a decimal point one place out in one of the two";
        book.out_of_family(words(format!("less than {OUT_OF_STEP} times {when_new}"), cause), worn.source.as_ref());
    }
}

/// A worn size against the size when new.
fn worn(book: &mut Book<'_>, key: &str, limit: &PrintedLimit, size: Band) {
    let Some((unit, number)) = limit.column(book.unit) else { return };
    let mm = number.value * unit.mm();
    if !(mm.is_finite() && size.middle_mm().is_finite()) || mm <= 0.0 {
        return;
    }
    let source = limit.source.as_ref();
    let words = |expected: String, cause: &str| Words {
        key: key.to_owned(),
        found: number.text(unit),
        expected,
        cause: cause.to_owned(),
    };
    let low = plain_size(size.low_mm, unit);
    let deepest = DEEPEST_WEAR_MM.max(DEEPEST_WEAR_SHARE * size.high_mm);
    if mm > size.high_mm + SAME_MM {
        let expected = format!("not above {low}, the low limit when new");
        book.fault(words(expected, "a wear limit above new size: a journal does not grow by wear"), source);
    } else if mm > size.low_mm + SAME_MM {
        let expected = format!("not above {low}, the low limit when new");
        book.query(words(expected, "a new journal on its low limit would already be worn out"), source);
    } else if mm < 0.5 * size.low_mm {
        let cause = "a wear allowance in place of the smallest size, or the wrong unit";
        book.out_of_family(words(format!("a size a little below {low}"), cause), source);
    } else if size.low_mm - mm > deepest {
        let expected = format!("within {} of {low}, the low limit when new", plain(deepest, unit));
        book.out_of_family(words(expected, "a digit was dropped or misprinted"), source);
    }
}

/// The size below which no journal may go, against the deepest undersize.
fn smallest(book: &mut Book<'_>, key: &str, limit: &PrintedLimit, size: Band, deepest_mm: f64) {
    let Some((unit, number)) = limit.column(book.unit) else { return };
    let mm = number.value * unit.mm();
    if !(mm.is_finite() && size.middle_mm().is_finite() && deepest_mm.is_finite()) || mm <= 0.0 {
        return;
    }
    let source = limit.source.as_ref();
    let words = |expected: String, cause: &str| Words {
        key: key.to_owned(),
        found: number.text(unit),
        expected,
        cause: cause.to_owned(),
    };
    let least = size.low_mm - deepest_mm;
    if mm > size.low_mm + SAME_MM {
        let expected = format!("below {}, the low limit when new", plain_size(size.low_mm, unit));
        book.fault(words(expected, "a new journal would already be too small"), source);
    } else if mm > least + SAME_MM {
        let expected = format!("not above {}, the low limit at the deepest undersize", plain_size(least, unit));
        let cause = "the deepest undersize would be too small: one of the two is misprinted, unless the book lists \
                     undersizes that it does not permit";
        book.out_of_family(words(expected, cause), source);
    } else if mm < 0.9 * size.low_mm {
        let expected = format!("within a tenth of {}, the low limit when new", plain_size(size.low_mm, unit));
        book.out_of_family(words(expected, "a digit was misprinted, or the wrong unit"), source);
    }
}

/// A size, to a tenth of a thou or a micron.
fn plain_size(mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Inch => format!("{:.4} in", mm / 25.4),
        Unit::Millimetre => format!("{mm:.3} mm"),
    }
}
