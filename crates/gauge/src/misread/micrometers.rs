//! Micrometers that disagree with each other beyond what is stated of them.
//!
//! What one micrometer reads more than another is worked out over the whole set by weighted least squares: each journal has a
//! level of its own and the shape that [`super::shape`] learnt, places may have something in common on all journals, and each
//! micrometer but the most used one has an offset. Places read with both say most; journals read partly with one and partly
//! with the other say something; whole journals by one and whole journals by the other say nothing, for wear would explain it.
//!
//! # Limits
//! Two micrometers that are wrong alike agree.

use std::collections::BTreeMap;

use super::shape::{Part, Place, Shapes};
use super::{Kind, Search, Suspicion};

/// The offset must reach this many standard deviations of itself and of what is stated of the two together: 1 in 2,000
/// by chance, and beyond twice any two error limits.
const BEYOND: f64 = 3.5;
/// What places may have in common, and what offsets may be, before the set is looked at.
const PLACE_SD_MM: f64 = 0.1;
const OFFSET_SD_MM: f64 = 0.1;

/// A micrometer that disagrees with the most used one.
pub(super) struct Disagreement {
    pub(super) with: String,
    pub(super) other: String,
    /// What `with` reads more than `other`.
    pub(super) offset_mm: f64,
    /// What it must exceed to be said.
    beyond_mm: f64,
    /// How far apart the two may be, by what is stated of them.
    pub(super) allowed_mm: f64,
    /// Places read with both.
    pub(super) shared: usize,
}

/// Whether more than one was used.
pub(super) fn several(search: &Search, parts: &[Part]) -> bool {
    let mut names = parts.iter().flat_map(|p| &p.readings).filter_map(|r| search.spots.get(r.spot)).map(|s| &s.with);
    names.next().is_some_and(|first| names.any(|name| name != first))
}

/// The micrometers of a set that disagree with the most used one.
pub(super) fn disagreements(search: &Search, parts: &[Part]) -> Vec<Disagreement> {
    // An offset that was not taken off yet looks like scatter, and would hide itself.
    let mut offsets: BTreeMap<String, f64> = BTreeMap::new();
    let mut last = Vec::new();
    for _ in 0..3 {
        let shapes = Shapes::new(without(search, parts, &offsets));
        last = estimate(search, &shapes, &offsets);
        offsets = last.iter().map(|one| (one.with.clone(), one.offset_mm)).collect();
    }
    last.retain(|one| one.offset_mm.abs() > one.beyond_mm);
    last
}

/// The readings with the offsets of their micrometers taken off.
pub(super) fn without(search: &Search, parts: &[Part], offsets: &BTreeMap<String, f64>) -> Vec<Part> {
    let mut parts = parts.to_vec();
    for r in parts.iter_mut().flat_map(|part| &mut part.readings) {
        r.mm -= search.spots.get(r.spot).and_then(|spot| offsets.get(&spot.with)).copied().unwrap_or(0.0);
    }
    parts
}

/// One round of least squares, with the scatter that is left when the offsets known so far are off.
fn estimate(search: &Search, shapes: &Shapes, known: &BTreeMap<String, f64>) -> Vec<Disagreement> {
    let name = |spot: usize| search.spots.get(spot).map_or("", |s| s.with.as_str());
    let mut used: BTreeMap<&str, (usize, f64)> = BTreeMap::new();
    let mut places: BTreeMap<(usize, Place), Vec<&str>> = BTreeMap::new();
    for part in &shapes.parts {
        for (r, place) in part.readings.iter().zip(&part.places) {
            let of = used.entry(name(r.spot)).or_insert((0, 0.0));
            *of = (of.0 + 1, of.1.max(r.doubt_mm));
            places.entry((part.group, *place)).or_default().push(name(r.spot));
        }
    }
    if used.len() < 2 {
        return Vec::new();
    }
    let Some((&reference, &(_, reference_doubt))) = used.iter().max_by_key(|(_, (count, _))| *count) else {
        return Vec::new();
    };
    let mut columns: Vec<&str> = used.keys().copied().filter(|with| *with != reference).collect();
    columns.truncate(8);
    let mut rows: Vec<Place> = places.keys().map(|(_, place)| *place).collect();
    rows.sort_unstable();
    rows.dedup();
    rows.truncate(48);
    let unknowns = columns.len() + rows.len();
    let column = |with: &str| columns.iter().position(|c| *c == with);
    let row = |place: &Place| rows.iter().position(|p| p == place).map(|p| p + columns.len());
    let mut equations = vec![vec![0.0; unknowns + 1]; unknowns];
    for (i, equation) in equations.iter_mut().enumerate() {
        let sd = if i < columns.len() { OFFSET_SD_MM } else { PLACE_SD_MM };
        if let Some(diagonal) = equation.get_mut(i) {
            *diagonal = 1.0 / (sd * sd);
        }
    }
    for (p, part) in shapes.parts.iter().enumerate() {
        let n = part.readings.len();
        let Some(precision) = shapes.likeliest_precision(p) else { continue };
        let of: Vec<[Option<usize>; 2]> =
            part.readings.iter().zip(&part.places).map(|(r, place)| [column(name(r.spot)), row(place)]).collect();
        let middle = part.readings.first().map_or(0.0, |r| r.mm);
        for (slot, weight) in precision.iter().enumerate() {
            let (Some(a), Some(b), Some(r)) = (of.get(slot / n), of.get(slot % n), part.readings.get(slot % n)) else {
                continue;
            };
            for a in a.iter().flatten() {
                let Some(equation) = equations.get_mut(*a) else { continue };
                if let Some(right) = equation.last_mut() {
                    *right += weight * (r.mm - middle);
                }
                for b in b.iter().flatten() {
                    if let Some(left) = equation.get_mut(*b) {
                        *left += weight;
                    }
                }
            }
        }
    }
    let solved = solve(equations, columns.len());
    columns
        .iter()
        .zip(solved)
        .filter_map(|(with, (left_mm, variance))| {
            let stated = used.get(with)?.1.hypot(reference_doubt);
            let both = |of: &&Vec<&str>| of.contains(with) && of.contains(&reference);
            Some(Disagreement {
                with: (*with).to_owned(),
                other: reference.to_owned(),
                offset_mm: left_mm + known.get(*with).copied().unwrap_or(0.0),
                beyond_mm: BEYOND * stated.hypot(variance.sqrt()),
                allowed_mm: 2.0 * stated,
                shared: places.values().filter(both).count(),
            })
        })
        .collect()
}

/// The first unknowns of a symmetric positive definite system (the right side in the last column), each with its variance.
fn solve(mut equations: Vec<Vec<f64>>, wanted: usize) -> Vec<(f64, f64)> {
    let n = equations.len();
    // Gauss and Jordan with the unit matrix alongside: what is left of it is the inverse.
    for (i, equation) in equations.iter_mut().enumerate() {
        equation.extend((0..n).map(|j| f64::from(i == j)));
    }
    for i in 0..n {
        let Some(mut pivot) = equations.get(i).cloned() else { continue };
        let by = pivot.get(i).copied().unwrap_or(1.0);
        pivot.iter_mut().for_each(|value| *value /= by);
        for (k, equation) in equations.iter_mut().enumerate() {
            if k == i {
                equation.clone_from(&pivot);
                continue;
            }
            let times = equation.get(i).copied().unwrap_or(0.0);
            equation.iter_mut().zip(&pivot).for_each(|(value, p)| *value -= times * p);
        }
    }
    let at = |i: usize, j: usize| equations.get(i).and_then(|e| e.get(j)).copied().unwrap_or(0.0);
    (0..wanted).map(|i| (at(i, n), at(i, n + 1 + i).max(0.0))).collect()
}

/// The remark on one disagreement, which stops the set.
pub(super) fn says(search: &Search, set: usize, spot: usize, found: &Disagreement) -> Suspicion {
    let size = |mm: f64| search.size(mm, spot);
    let seen = match found.shared {
        0 => "going by journals read partly with each".to_owned(),
        1 => "at the one place read with both".to_owned(),
        n => format!("at {} places read with both", super::words::number(n)),
    };
    let says = format!(
        "{} reads {} {} than {}, {seen}; by what is stated of them they may differ by {}. Which is right? Check both zeros \
         on one standard and read again with one of them. Until then this set cannot be decided.",
        super::words::capital(&found.with),
        size(found.offset_mm.abs()),
        super::words::more(found.offset_mm),
        found.other,
        size(found.allowed_mm),
    );
    let kind = Kind::MicrometersDisagree;
    Suspicion { kind, set, group: None, spot: None, repeat: None, says, would_be_mm: None }
}
