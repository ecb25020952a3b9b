//! Limits of one crank against each other.

use super::{Book, Words, plain};
use crate::{PrintedLimit, PrintedSpecification, SetName};

/// Where one limit is this many times its neighbours, a decimal point is out. Published limits of one engine differ
/// by five at the most (Cummins 5.9 mains: out-of-round 0.05, taper 0.01 mm); seven lies half-way from there to ten.
const OUT_OF_STEP: f64 = 7.0;

/// Out-of-round and taper of mains and pins keep one another company: the one that is seven times its fellows, or a
/// seventh of them, has its decimal point out.
pub(super) fn whole(book: &mut Book<'_>, printed: &PrintedSpecification) {
    let unit = book.unit;
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
