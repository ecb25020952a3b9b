//! Readings that stand out from what the rest of their journal and set lead one to expect, though by no whole turn.
//!
//! A reading is weighed between two explanations: that it is honest, with the density that [`super::shape`] predicts
//! for it without having seen it; and that it is a slip ([`super::priors::SLIP`] of all readings), which may land
//! anywhere, small slips oftener than large. It is named when the slip is three times as likely. How small a slip can
//! be seen is therefore no threshold but follows from how closely the rest agrees: half a thou from seven readings within a
//! tenth is odd, five thou on a crank worn every which way is not.
//!
//! Before it is named, the rest of the set, weighed without it, is asked how often a single place has worn by itself: on a crank
//! with places like that a low reading is wear, on one without it is not.
//!
//! One reading is taken out at a time, the most unlikely first, and everything is weighed again without it, so that a
//! slip neither hides another nor makes its neighbours look wrong. Where two readings of a journal accuse each
//! other and nothing decides between them, both are to be read again.
//!
//! # Limits
//! A slip smaller than [`super::priors::LEAST_SLIP_MM`] is not looked for. With one reading on a journal nothing can stand
//! out. Where most readings of a place are wrong alike, the rest looks odd.

use super::shape::{Part, Place, Predicted, Shapes};
use super::{Kind, Search, Suspicion, gross, median, priors, words};

/// A slip is named when it is this many times as likely as an honest reading.
const NAMED: f64 = 3.0;
/// An exchange or a shifted row is named when it is this many times as likely as none.
const EXCHANGED: f64 = 9.0;
/// Of two readings that accuse each other one is named when it is this many times as likely to be the wrong one.
const DECIDED: f64 = 4.0;
/// Journals whose oddest reading is looked at more closely in one round.
const MOST_CANDIDATES: usize = 4;

/// One reading that is odd.
struct Odd {
    part: usize,
    index: usize,
    predicted: Predicted,
    /// Another of its journal, as likely to be the wrong one.
    or: Option<usize>,
}

/// Names the odd readings of a set, and takes them (or, where it is open which is wrong, their journal) out of `parts`.
pub(super) fn readings(search: &Search, set: usize, parts: &mut [Part], first: &Shapes) -> Vec<Suspicion> {
    let count: usize = parts.iter().map(|part| part.readings.len()).sum();
    let mut found = Vec::new();
    // A set of which more than one reading in six stands out does so for another reason.
    for round in 0..=count / 6 {
        let again = (round > 0).then(|| Shapes::new(parts.to_vec()));
        let candidates = candidates(again.as_ref().unwrap_or(first));
        let Some(odd) = candidates.into_iter().take(MOST_CANDIDATES).find(|odd| stands_out(search, parts, odd)) else {
            break;
        };
        let Some(part) = parts.get_mut(odd.part) else { break };
        found.extend(says(search, set, part, &odd));
        if odd.or.is_some() {
            part.clear();
        } else {
            part.remove(odd.index);
        }
    }
    found
}

/// Odds of a slip against an honest reading, where one place in so many has worn by itself.
fn odds(predicted: &Predicted, mm: f64, worn_alone: f64) -> f64 {
    let off = mm - predicted.mm;
    if off.abs() < priors::LEAST_SLIP_MM {
        return 0.0;
    }
    priors::slip(off.abs()) / (predicted.density(mm) + worn_alone * priors::worn_place(off)).max(1e-300)
}

/// Whether a reading is still odd when the rest of the set, weighed without it, has said how often a single place wears by
/// itself there.
fn stands_out(search: &Search, parts: &[Part], odd: &Odd) -> bool {
    let mut rest = parts.to_vec();
    let Some(part) = rest.get_mut(odd.part) else { return false };
    let Some(r) = part.readings.get(odd.index).cloned() else { return false };
    part.remove(odd.index);
    // Never taken to be rarer than before the set was looked at: a handful of readings cannot rule it out.
    let worn = worn_alone(&Shapes::new(rest)).max(priors::WORN_ALONE.0);
    // Digits that make it fit when changed over are a likelier slip than any other.
    let exact = |mm: f64| fits(&odd.predicted, r.mm - odd.predicted.mm, mm);
    let honest = odd.predicted.density(r.mm) + worn * priors::worn_place(r.mm - odd.predicted.mm);
    let swapped = gross::changed_over(search, &r, &exact)
        .map_or(0.0, |(_, mm)| priors::DIGITS_SWAPPED * odd.predicted.density(mm) / honest.max(1e-300));
    odds(&odd.predicted, r.mm, worn) + swapped >= NAMED
}

/// The share of places that have worn by themselves, by expectation and maximisation over the readings of a set: what is too
/// far below for the shape, and more likely so by wear than by a slip.
fn worn_alone(shapes: &Shapes) -> f64 {
    const ROUNDS: usize = 12;
    let all: Vec<(f64, f64, f64)> = shapes
        .parts
        .iter()
        .enumerate()
        .flat_map(|(p, part)| part.readings.iter().enumerate().map(move |(i, r)| (p, i, r.mm)))
        .filter_map(|(p, i, mm)| {
            let predicted = shapes.predict(p, i)?;
            let off = mm - predicted.mm;
            Some((predicted.density(mm), priors::worn_place(off), priors::slip(off.abs())))
        })
        .collect();
    let (before, worth) = priors::WORN_ALONE;
    let mut share = before;
    for _ in 0..ROUNDS {
        let worn: f64 = all.iter().map(|(fits, worn, slip)| share * worn / (fits + share * worn + slip)).sum();
        share = (before * worth + worn) / (worth + all.len() as f64);
    }
    share
}

/// The readings that stand out, one of each journal, the most unlikely first.
fn candidates(shapes: &Shapes) -> Vec<Odd> {
    let mut all: Vec<(f64, Odd)> = Vec::new();
    for (p, part) in shapes.parts.iter().enumerate() {
        let mut of_part: Vec<(f64, f64, usize, Predicted)> = part
            .readings
            .iter()
            .enumerate()
            .filter_map(|(i, r)| {
                let predicted = shapes.predict(p, i)?;
                let odds = odds(&predicted, r.mm, 0.0);
                Some((odds, odds * level_without(shapes, part, i), i, predicted))
            })
            .filter(|(odds, ..)| *odds >= NAMED)
            .collect();
        of_part.sort_by(|a, b| b.1.total_cmp(&a.1));
        let mut ranked = of_part.into_iter();
        let Some((odds, score, index, predicted)) = ranked.next() else { continue };
        let or = ranked.next().filter(|second| second.1 * DECIDED > score).map(|second| second.2);
        all.push((odds, Odd { part: p, index, predicted, or }));
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    all.into_iter().map(|one| one.1).collect()
}

/// How well the rest of a part stands among the other journals: decides between two readings that accuse each other.
fn level_without(shapes: &Shapes, part: &Part, index: usize) -> f64 {
    const LEAST_MM: f64 = 0.01;
    let middles: Vec<f64> = shapes
        .parts
        .iter()
        .filter(|p| p.group != part.group)
        .map(|p| median(p.readings.iter().map(|r| r.mm)))
        .collect();
    if middles.len() < 2 {
        return 1.0;
    }
    let middle = median(middles.iter().copied());
    let spread = (1.48 * median(middles.iter().map(|m| (m - middle).abs()))).max(LEAST_MM);
    let own = median(part.readings.iter().enumerate().filter(|(i, _)| *i != index).map(|(_, r)| r.mm));
    let z = (own - middle) / spread;
    (1.0 + z * z / 3.0).powi(-2)
}

fn says(search: &Search, set: usize, part: &Part, odd: &Odd) -> Option<Suspicion> {
    let r = part.readings.get(odd.index)?;
    if let Some(other) = odd.or.and_then(|i| part.readings.get(i)) {
        let says = format!(
            "{} and {} on {} are {} apart, more than the rest of its set leads one to expect. One of the two is likely \
             wrong, and nothing here says which. Read both again.",
            search.reading(r),
            search.reading(other),
            search.name(part.group),
            search.size((r.mm - other.mm).abs(), r.spot),
        );
        return Some(Suspicion {
            kind: Kind::OddReading,
            set,
            group: Some(part.group),
            spot: None,
            repeat: None,
            says,
            would_be_mm: None,
        });
    }
    let difference = r.mm - odd.predicted.mm;
    let apart = format!(
        "{}: {} is {} {} than the other readings lead one to expect there ({}, give or take {})",
        words::capital(&words::place(search.spots.get(r.spot))),
        search.reading(r),
        search.size(difference.abs(), r.spot),
        words::more(difference),
        search.size(odd.predicted.mm, r.spot),
        search.size(odd.predicted.within_mm.max(search.graduation(r.spot)), r.spot),
    );
    if let Some((text, mm)) = gross::changed_over(search, r, &|mm| fits(&odd.predicted, difference, mm)) {
        let says = format!("{apart}. With two digits changed over, {text}, it would fit. Read it again.");
        return Some(search.about_reading(Kind::Mistyped, set, r, says, Some(mm)));
    }
    if let Some((text, mm)) = gross::one_digit(search, r, odd.predicted.mm, &|mm| fits(&odd.predicted, difference, mm))
    {
        let says = format!("{apart}. With one digit changed, {text}, it would fit. Read it again.");
        return Some(search.about_reading(Kind::OddReading, set, r, says, Some(mm)));
    }
    let says = format!("{apart}. Read it again.");
    Some(search.about_reading(Kind::OddReading, set, r, says, None))
}

/// Whether a size is what was expected, and so near to it that a chance hit is unlikely.
fn fits(predicted: &Predicted, difference: f64, mm: f64) -> bool {
    let off = (mm - predicted.mm).abs();
    off < 1.5 * predicted.within_mm.max(0.0025) && off < difference.abs() / 6.0
}

/// Two journals whose readings of one place changed places.
///
/// Each of the two must fit the other journal better than its own, and both together so much better that one swap among
/// all that are possible is nine times as likely as none, and as one slip alone.
pub(super) fn changed_over(
    search: &Search,
    set: usize,
    shapes: &Shapes,
    table: &[Cell],
    parts: &mut [Part],
) -> Vec<Suspicion> {
    let pairs: Vec<(&Cell, &Cell)> = table
        .iter()
        .enumerate()
        .flat_map(|(i, a)| table.iter().skip(i + 1).map(move |b| (a, b)))
        .filter(|(a, b)| a.place == b.place && a.group != b.group)
        .collect();
    let before = priors::CHANGED_OVER / pairs.len().max(1) as f64;
    let log = |cell: &Cell, mm: f64| cell.predicted.density(mm).max(1e-300).ln();
    let nearer =
        |cell: &Cell, other: &Cell| (other.mm - cell.predicted.mm).abs() < 0.7 * (cell.mm - cell.predicted.mm).abs();
    let best = pairs
        .into_iter()
        .filter(|(a, b)| (a.mm - b.mm).abs() >= priors::LEAST_SLIP_MM && nearer(a, b) && nearer(b, a))
        .map(|(a, b)| {
            let (here, there) = (log(a, b.mm) - log(a, a.mm), log(b, a.mm) - log(b, b.mm));
            let swap = before.ln() + here + there;
            let slip = |cell: &Cell| odds(&cell.predicted, cell.mm, 0.0).max(1e-300).ln();
            let alone = slip(a).max(slip(b)).max(0.0);
            (if here > 1.0 && there > 1.0 { swap - alone } else { f64::NEG_INFINITY }, a, b)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let Some((_, a, b)) = best.filter(|b| b.0 >= EXCHANGED.ln()) else { return Vec::new() };
    let mut found = Vec::new();
    for (cell, other) in [(a, b), (b, a)] {
        let Some(r) = shapes.parts.get(cell.part).and_then(|part| part.readings.get(cell.index)) else { continue };
        let says = format!(
            "{}: {} fits {}, and {} there fits {}. Were the two changed over? Read both again.",
            words::capital(&words::place(search.spots.get(r.spot))),
            search.reading(r),
            search.name(other.group),
            search.size(other.mm, r.spot),
            search.name(cell.group),
        );
        found.push(search.about_reading(Kind::SwappedStations, set, r, says, Some(other.mm)));
    }
    let (a, b) = ((a.part, a.index), (b.part, b.index));
    for (part, index) in [a, b] {
        if let Some(part) = parts.get_mut(part) {
            part.remove(index);
        }
    }
    found
}

/// A reading with what it should be.
pub(super) struct Cell {
    group: usize,
    part: usize,
    index: usize,
    place: Place,
    mm: f64,
    predicted: Predicted,
}

/// Every reading that is alone at its place, with what it should be.
pub(super) fn table(shapes: &Shapes) -> Vec<Cell> {
    let mut cells = Vec::new();
    for (p, part) in shapes.parts.iter().enumerate() {
        for (i, (r, place)) in part.readings.iter().zip(&part.places).enumerate() {
            if part.places.iter().filter(|other| *other == place).count() > 1 {
                continue;
            }
            let Some(predicted) = shapes.predict(p, i) else { continue };
            cells.push(Cell { group: part.group, part: p, index: i, place: *place, mm: r.mm, predicted });
        }
    }
    cells
}

/// A row of the notebook (one place on all journals) entered a journal too far along or back: a mention only. It is made where
/// one shifted row among all that are possible is nine times as likely as none, and at least two readings say so clearly.
pub(super) fn shifted_row(search: &Search, set: usize, shapes: &Shapes, table: &[Cell]) -> Option<Suspicion> {
    const FEWEST: usize = 3;
    let mut places: Vec<Place> = table.iter().map(|cell| cell.place).collect();
    places.sort_unstable();
    places.dedup();
    let rows = places.len();
    let mut best: Option<(f64, bool, Vec<&Cell>)> = None;
    for place in places {
        let mut row: Vec<&Cell> = table.iter().filter(|cell| cell.place == place).collect();
        row.sort_by_key(|cell| cell.group);
        for forward in [true, false] {
            // What stands at a journal may belong to the one before it (entered too far along) or after it.
            let moved: Vec<(&Cell, &Cell)> = row
                .windows(2)
                .filter_map(|pair| match (pair, forward) {
                    ([before, here], true) => Some((*here, *before)),
                    ([here, after], false) => Some((*here, *after)),
                    _ => None,
                })
                .collect();
            let off = |cell: &Cell, mm: f64| (mm - cell.predicted.mm).abs();
            let nearer = moved.iter().filter(|(here, owner)| off(owner, here.mm) < off(here, here.mm)).count();
            if moved.len() < FEWEST || nearer * 2 < moved.len() {
                continue;
            }
            let gains: Vec<f64> = moved
                .into_iter()
                .map(|(here, owner)| {
                    let log = |cell: &Cell| cell.predicted.density(here.mm).max(1e-300).ln();
                    log(owner) - log(here)
                })
                .collect();
            // One slip that happens to hit a neighbour's size is no row.
            let clearly = gains.iter().filter(|gain| **gain > 2.0).count();
            let gain = gains.iter().sum::<f64>() + (priors::CHANGED_OVER / (2.0 * rows as f64)).ln();
            let likelier = gain >= EXCHANGED.ln() && clearly >= 2;
            if likelier && best.as_ref().is_none_or(|b| gain > b.0) {
                best = Some((gain, forward, row.clone()));
            }
        }
    }
    let (_, forward, row) = best?;
    let first = row.first()?;
    let spot = shapes.parts.get(first.part)?.readings.get(first.index)?.spot;
    let (side, way) = if forward { ("before", "too far along") } else { ("after", "too early") };
    let says = format!(
        "{}, from {} on: most readings fit the journal {side} theirs. Was this row entered one journal {way}? Compare it \
         with the notebook.",
        words::capital(&words::place(search.spots.get(spot))),
        search.name(first.group),
    );
    let kind = Kind::ShiftedRow;
    Some(Suspicion { kind, set, group: None, spot: None, repeat: None, says, would_be_mm: None })
}
