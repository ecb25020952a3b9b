//! Undersizes: signs, order, and whether they are of a size that undersizes have.

use units::Unit;

use super::{Book, plain, words};
use crate::{Band, PrintedBand, PrintedLimit, PrintedSet, PrintedStep, SetName};

/// Deepest undersize published for ordinary cranks is 0.060 in (compressor engine, TM 5-4310-354-14), 2.5 % of the
/// journal; this much is a third more. Large journals may go the same share deeper.
const DEEPEST_MM: f64 = 2.1;
const DEEPEST_SHARE: f64 = 0.03;

/// No maker steps a whole ladder within this: 0.10 mm and less are shells for light wear beside regrinding steps
/// (0.03 and 0.05 mm beside 0.25, Subaru 2000).
const WHOLE_LADDER_MM: f64 = 0.14;

/// The smallest undersize published is 0.001 in, and 0.03 mm.
const SMALLEST_MM: f64 = 0.02;

/// Undersizes, from the list or from the table's own column.
pub(super) fn set(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let standard = standard_mm(book.unit, set);
    let listed: Vec<_> =
        (1..).zip(&set.undersizes).map(|(n, limit)| (format!("{name}.undersizes[{n}]"), limit)).collect();
    ladder(book, &listed, standard);
    for (key, limit) in &listed {
        if limit.column(book.unit).is_some_and(|(_, number)| number.value == 0.0) {
            let words = words(key, "0", "undersizes only", "standard is implied and is not listed");
            book.query(words, limit.source.as_ref());
        }
    }
    let rows: Vec<_> =
        (1..).zip(&set.steps).map(|(row, step)| (format!("{name}.step[{row}].undersize"), &step.undersize)).collect();
    ladder(book, &rows, standard);

    let values = |limits: &[(String, &PrintedLimit)]| -> Vec<f64> {
        limits.iter().filter_map(|(_, limit)| limit.mm(book.unit)).filter(|mm| *mm > 0.0).collect()
    };
    let (list, table) = (values(&listed), values(&rows));
    if list.is_empty() || table.is_empty() {
        return;
    }
    for (key, limit) in &rows {
        let Some(mm) = limit.mm(book.unit).filter(|mm| *mm > 0.0) else { continue };
        if !list.iter().any(|listed| (listed - mm).abs() < 0.01) {
            let words = words(key, &plain(mm, book.unit), "an undersize of the list", "the table has a row more");
            book.query(words, limit.source.as_ref());
        }
    }
    for (key, limit) in &listed {
        let Some(mm) = limit.mm(book.unit).filter(|mm| *mm > 0.0) else { continue };
        if !table.iter().any(|row| (row - mm).abs() < 0.01) {
            let words = words(key, &plain(mm, book.unit), "an undersize of the table", "the table has no such row");
            book.query(words, limit.source.as_ref());
        }
    }
}

/// The middle of the limits at standard, where they are known.
fn standard_mm(unit: Unit, set: &PrintedSet) -> Option<f64> {
    let at_standard = |step: &&PrintedStep| step.undersize.mm(unit) == Some(0.0);
    PrintedBand::in_columns(&set.size, unit)
        .or_else(|| set.steps.iter().find(at_standard).and_then(|step| PrintedBand::in_columns(&step.size, unit)))
        .and_then(PrintedBand::band)
        .map(Band::middle_mm)
}

/// One list of undersizes: signs, order, and whether they are of a size that undersizes have.
fn ladder(book: &mut Book<'_>, ladder: &[(String, &PrintedLimit)], standard_mm: Option<f64>) {
    let unit = book.unit;
    let rungs: Vec<(&String, &PrintedLimit, f64)> = ladder
        .iter()
        .filter_map(|(key, limit)| Some((key, *limit, limit.mm(unit).filter(|mm| mm.is_finite())?)))
        .collect();
    let deepest = rungs.iter().map(|rung| rung.2).fold(0.0, f64::max);
    let regrinding = rungs.iter().filter(|rung| rung.2 > 0.0).count();
    let most = standard_mm.map_or(DEEPEST_MM, |standard| DEEPEST_MM.max(DEEPEST_SHARE * standard));
    let mut odd = false;
    for (n, &(key, limit, mm)) in rungs.iter().enumerate() {
        let source = limit.source.as_ref();
        let before = n.checked_sub(1).and_then(|n| rungs.get(n)).map_or(f64::NEG_INFINITY, |rung| rung.2);
        if mm < 0.0 {
            let words = words(
                key,
                &plain(mm, unit),
                "a positive number, taken off the standard size",
                "a sign too many, or the undersizes were added to the standard size",
            );
            book.fault(words, source);
        } else if (mm - before).abs() < 1e-9 {
            let words = words(key, &plain(mm, unit), "each undersize once", "the same undersize stands there twice");
            book.fault(words, source);
        } else if mm < before {
            let found = format!("{} after {}", plain(mm, unit), plain(before, unit));
            let words = words(
                key,
                &found,
                "undersizes in ascending order",
                "a decimal point out in one of the two, or rows in the wrong order",
            );
            book.fault(words, source);
            odd = true;
        }
        if let Some(standard) = standard_mm.filter(|standard| mm > 0.1 * standard) {
            let cause = if mm > 0.9 * standard && mm < 1.1 * standard {
                "this looks like the size at that undersize, not the undersize itself".to_owned()
            } else {
                misplaced(mm, unit)
            };
            let expected = format!("less than a tenth of the journal, {}", plain(0.1 * standard, unit));
            book.fault(words(key, &plain(mm, unit), &expected, &cause), source);
            odd = true;
        } else if mm > most {
            let expected = format!("at the most {}", plain(most, unit));
            book.out_of_family(words(key, &plain(mm, unit), &expected, &misplaced(mm, unit)), source);
            odd = true;
        } else if mm > 0.0 && (mm < SMALLEST_MM || regrinding > 1 && deepest < WHOLE_LADDER_MM) {
            let expected = "a ladder that reaches 0.010 in or 0.25 mm, as published ones do";
            book.out_of_family(words(key, &plain(mm, unit), expected, &misplaced(mm, unit)), source);
            odd = true;
        }
    }
    if !odd {
        digit_out(book, &rungs);
    }
}

/// What a too large or too small undersize was probably meant to be.
fn misplaced(mm: f64, unit: Unit) -> String {
    let other = if unit == Unit::Inch { mm / 25.4 } else { mm * 25.4 };
    let usual =
        |mm: f64| [0.25, 0.254, 0.5, 0.508, 0.75, 0.762, 1.0, 1.016, 1.524].iter().any(|u| (mm - u).abs() < 1e-3);
    if usual(other) {
        format!("typed in the other unit: {} would be usual", plain(other, unit.other()))
    } else if usual(mm / 10.0) {
        format!("a decimal point one place out: {} would be usual", plain(mm / 10.0, unit))
    } else if usual(mm * 10.0) {
        format!("a decimal point one place out: {} would be usual", plain(mm * 10.0, unit))
    } else if usual(mm / 1000.0) {
        format!("typed in thousandths: {} would be usual", plain(mm / 1000.0, unit))
    } else {
        "a decimal point out, or typed in the other unit".to_owned()
    }
}

/// Between neighbouring undersizes there is at the most a factor of five in print (0.002 and 0.010 in, Detroit 53; 0.05
/// and 0.25 mm, Subaru), but for 0.001 in before 0.010.
const WIDEST_STEP: f64 = 8.0;

/// A rung that is ten times out though the order still holds: moved one place it makes the ladder even, or fits between
/// its neighbours where now there is a gap.
fn digit_out(book: &mut Book<'_>, rungs: &[(&String, &PrintedLimit, f64)]) {
    let steps: Vec<f64> = rungs.iter().map(|rung| rung.2).filter(|mm| *mm > 0.0).collect();
    if steps.len() < 3 || even(&steps) {
        return;
    }
    for pair in rungs.windows(2) {
        let &[(key, limit, mm), (_, _, next)] = pair else { continue };
        if mm > 0.0 && next >= WIDEST_STEP * mm && 10.0 * mm < next * (1.0 - 1e-9) {
            let unit = book.unit;
            let found = format!("{} before {}", plain(mm, unit), plain(next, unit));
            let expected = format!("{}, or a step between", plain(10.0 * mm, unit));
            let words = words(key, &found, &expected, "a decimal point is one place out");
            book.out_of_family(words, limit.source.as_ref());
            return;
        }
    }
    for (n, &(key, limit, mm)) in rungs.iter().filter(|rung| rung.2 > 0.0).enumerate() {
        for moved in [mm * 10.0, mm / 10.0] {
            let mut mended = steps.clone();
            if let Some(step) = mended.get_mut(n) {
                *step = moved;
            }
            if even(&mended) {
                let unit = book.unit;
                let expected = format!("{}, which would make the steps even", plain(moved, unit));
                let words = words(key, &plain(mm, unit), &expected, "a decimal point is one place out");
                book.out_of_family(words, limit.source.as_ref());
            }
        }
    }
}

/// Whether undersizes are the whole multiples of the first.
fn even(steps: &[f64]) -> bool {
    steps
        .first()
        .is_some_and(|first| (1..).zip(steps).all(|(n, step)| (step - f64::from(n) * first).abs() <= 0.03 * first))
}
