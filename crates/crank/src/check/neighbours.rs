//! Limits of one crank against each other.

use super::{Book, Words, plain};
use crate::{PrintedBand, PrintedLimit, PrintedSet, PrintedSpecification, SetName};

/// Where one limit is this many times its neighbours, a decimal point is out. Published limits of one engine differ
/// by five at the most (Cummins 5.9 mains: out-of-round 0.05, taper 0.01 mm); seven lies half-way from there to ten.
pub(super) const OUT_OF_STEP: f64 = 7.0;

/// Out-of-round and taper of mains and pins keep one another company: the one that is seven times its fellows, or a
/// seventh of them, has its decimal point out.
pub(super) fn whole(book: &mut Book<'_>, printed: &PrintedSpecification) {
    let unit = book.unit;
    bands(book, printed);
    throw(book, printed);
    let mut limits: Vec<(String, &PrintedLimit, f64)> = Vec::new();
    let mut per_length: Vec<(String, &PrintedLimit, f64)> = Vec::new();
    for (name, set) in [(SetName::Main, &printed.main), (SetName::Pin, &printed.pin)] {
        if let Some((limit, mm)) = set.out_of_round.as_ref().and_then(|limit| Some((limit, limit.mm(unit)?))) {
            limits.push((format!("{name}.out_of_round"), limit, mm));
        }
        if let Some((limit, mm)) = set.taper.as_ref().and_then(|limit| Some((limit, limit.mm(unit)?))) {
            let list = if limit.sense.as_deref() == Some("length") { &mut per_length } else { &mut limits };
            list.push((format!("{name}.taper"), limit, mm));
        }
    }
    for list in [&mut limits, &mut per_length] {
        list.retain(|(_, _, mm)| mm.is_finite() && *mm > 0.0);
        // The middle of the published limits, to tell which of two is the odd one.
        const AMONG_TWO_MM: f64 = 0.0127;
        for (n, (key, limit, mm)) in list.iter().enumerate() {
            let mut others: Vec<f64> =
                list.iter().enumerate().filter(|(other, _)| *other != n).map(|(_, limit)| limit.2).collect();
            others.sort_by(f64::total_cmp);
            let Some(&middle) = others.get(others.len() / 2) else { continue };
            // With an even number of fellows, a single odd one among them must not pull the middle over.
            let middle = match others.get((others.len() - 1) / 2) {
                Some(below) => (below * middle).sqrt(),
                None => middle,
            };
            let ratio = (mm / middle).max(middle / mm);
            let odder = (mm / AMONG_TWO_MM).ln().abs() >= (middle / AMONG_TWO_MM).ln().abs();
            if ratio < OUT_OF_STEP * (1.0 - 1e-9) || others.len() == 1 && !odder {
                continue;
            }
            let words = Words {
                key: key.clone(),
                found: limit.column(unit).map_or_else(String::new, |(unit, number)| number.text(unit)),
                expected: format!("less than {OUT_OF_STEP} times away from its fellows, {}", plain(middle, unit)),
                cause: "a decimal point one place out against the other limits of this crank".to_owned(),
            };
            book.out_of_family(words, limit.source.as_ref());
        }
    }
}

/// The widths of the finished limits of mains and pins: published ones of one engine differ by less than three.
fn bands(book: &mut Book<'_>, printed: &PrintedSpecification) {
    let unit = book.unit;
    let width = |set: &PrintedSet| {
        let band = PrintedBand::in_columns(&set.size, unit)?.band()?;
        (band.width_mm() > 0.0).then(|| band.width_mm())
    };
    let (Some(main), Some(pin)) = (width(&printed.main), width(&printed.pin)) else { return };
    if main.max(pin) < OUT_OF_STEP * main.min(pin) {
        return;
    }
    let (wide, narrow) = if main > pin { (SetName::Main, pin) } else { (SetName::Pin, main) };
    let words = Words {
        key: format!("{wide}.size"),
        found: format!("limits {} apart", plain(main.max(pin), unit)),
        expected: format!("less than {OUT_OF_STEP} times the {} of the other set", plain(narrow, unit)),
        cause: "a digit of one limit was misprinted, or two changed over".to_owned(),
    };
    book.out_of_family(words, None);
}

/// The throw against the pins: longer than one and a half pin diameters it is more likely the stroke. Common practice, no source.
fn throw(book: &mut Book<'_>, printed: &PrintedSpecification) {
    let unit = book.unit;
    let pin =
        PrintedBand::in_columns(&printed.pin.size, unit).and_then(|band| band.band()).map(|band| band.middle_mm());
    let (Some(limit), Some(pin)) = (&printed.throw, pin) else { return };
    let Some(throw) = limit.mm(unit).filter(|throw| *throw > 1.5 * pin) else { return };
    let words = Words {
        key: "throw".to_owned(),
        found: limit.column(unit).map_or_else(String::new, |(unit, number)| number.text(unit)),
        expected: "the crank radius, half the stroke".to_owned(),
        cause: format!("if this is the whole stroke, the throw is {}", plain(throw / 2.0, unit)),
    };
    book.query(words, limit.source.as_ref());
}
