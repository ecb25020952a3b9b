//! Whether the readings of a journal make one shape: repeats, spread, pattern, and front and rear interchanged.

use std::collections::BTreeMap;

use super::shape::{Part, Place, Shapes};
use super::{Kind, Reading, Search, Suspicion, median, priors, words};

/// The accepted readings of one journal.
pub(super) type Journal = (usize, Vec<Reading>);

/// The median of absolute values of a normal quantity, in standard deviations.
const MEDIAN_OF_NORMAL: f64 = 0.674_49;

/// Doubt of the difference of two readings by one instrument: what its readings share drops out.
fn doubt_of_difference(search: &Search, spot: usize) -> f64 {
    search.spots.get(spot).map_or(0.0, |s| {
        let one = (s.repeatability_mm.powi(2) + s.graduation_mm.powi(2) / 12.0).sqrt();
        if one.is_finite() { one * std::f64::consts::SQRT_2 } else { 0.0 }
    })
}

/// Readings of the same place that differ by more than repeating explains, whether they stand in one row or in several: six
/// standard deviations, as stated for the instruments or as this set's repeats show (by the median, so that the bad ones do
/// not hide themselves), and five graduations; more where two micrometers are stated to differ by more.
pub(super) fn repeats(search: &Search, set: usize, parts: &[Part]) -> Vec<Suspicion> {
    const FEWEST_PAIRS: usize = 5;
    let mut places: BTreeMap<(usize, Place), Vec<&Reading>> = BTreeMap::new();
    for part in parts {
        for (r, place) in part.readings.iter().zip(&part.places) {
            places.entry((part.group, *place)).or_default().push(r);
        }
    }
    let pairs: Vec<f64> =
        places.values().flat_map(|of| of.iter().zip(of.iter().skip(1)).map(|(a, b)| (a.mm - b.mm).abs())).collect();
    let seen = if pairs.len() < FEWEST_PAIRS { 0.0 } else { median(pairs) / MEDIAN_OF_NORMAL };
    let mut found = Vec::new();
    for ((group, _), of) in places {
        let by = |a: &&&Reading, b: &&&Reading| a.mm.total_cmp(&b.mm);
        let (Some(low), Some(high)) = (of.iter().min_by(by), of.iter().max_by(by)) else { continue };
        let spots = [low.spot, high.spot];
        let doubt = spots.map(|spot| doubt_of_difference(search, spot)).into_iter().fold(0.0, f64::max);
        let graduation = spots.map(|spot| search.graduation(spot)).into_iter().fold(0.0, f64::max);
        let [one, other] = spots.map(|spot| search.spots.get(spot).map_or("", |s| s.with.as_str()));
        let stated = if one == other { 0.0 } else { 3.0 * low.doubt_mm.hypot(high.doubt_mm) };
        if high.mm - low.mm > (6.0 * doubt.max(seen)).max(5.0 * graduation).max(stated) + 1e-9 {
            // Which of the two is wrong is open; where they are two rows, the one further from the journal's middle is named.
            let all = parts.iter().filter(|part| part.group == group).flat_map(|part| &part.readings);
            let middle = median(all.map(|r| r.mm));
            let named = if (high.mm - middle).abs() > (low.mm - middle).abs() { high } else { low };
            let says = format!(
                "{} and {} were read at the same place, {}. That is more than repeating a reading explains. Measure this \
                 place again.",
                search.size(low.mm, low.spot),
                search.size(high.mm, high.spot),
                words::place(search.spots.get(low.spot)),
            );
            let kind = Kind::DoesNotHangTogether;
            let (group, spot) = (Some(group), Some(named.spot));
            found.push(Suspicion { kind, set, group, spot, repeat: None, says, would_be_mm: None });
        }
    }
    found
}

/// A journal whose readings lie further apart than any wear.
pub(super) fn spread(search: &Search, set: usize, journals: &[Journal]) -> Vec<Suspicion> {
    journals
        .iter()
        .filter_map(|(group, readings)| {
            let first = readings.first()?;
            let (low, high) = ends(readings.iter().map(|r| r.mm));
            let doubt = readings.iter().map(|r| r.doubt_mm).fold(0.0, f64::max);
            if high - low <= priors::WIDEST_RANGE_MM + 2.0 * doubt {
                return None;
            }
            let says = format!(
                "The {} readings of {} run from {} to {}, {} apart. No wear leaves that along one journal: they do not \
                 hang together. Measure this journal again.",
                words::number(readings.len()),
                search.name(*group),
                search.size(low, first.spot),
                search.size(high, first.spot),
                search.size(high - low, first.spot),
            );
            let kind = Kind::DoesNotHangTogether;
            Some(Suspicion { kind, set, group: Some(*group), spot: None, repeat: None, says, would_be_mm: None })
        })
        .collect()
}

/// A set whose journals mostly spread widely without the pattern of taper and ovality that wear leaves.
///
/// Allowing every journal its own taper and its own ovality, what is left over on most journals must stay under
/// 0.04 mm unless they spread less than 0.1 mm altogether.
pub(super) fn pattern(search: &Search, set: usize, journals: &[Journal]) -> Option<Suspicion> {
    const LEFT_OVER_MM: f64 = 0.04;
    const RANGE_MM: f64 = 0.1;
    let tables: Vec<(f64, f64)> = journals.iter().filter_map(|(_, readings)| left_over(search, readings)).collect();
    let left = median(tables.iter().map(|t| t.0));
    let range = median(tables.iter().map(|t| t.1));
    let doubt = journals.iter().flat_map(|j| &j.1).map(|r| r.doubt_mm).fold(0.0, f64::max);
    if tables.len() < 2 || left <= LEFT_OVER_MM.max(4.0 * doubt) || range <= RANGE_MM {
        return None;
    }
    let first = journals.first().and_then(|j| j.1.first())?;
    let says = format!(
        "The {} journals from {} on scatter by {} and more, and no taper or ovality makes sense of it: {} is left over \
         on most of them. These readings do not hang together. Measure the set again.",
        words::number(tables.len()),
        search.name(first.group),
        search.size(range, first.spot),
        search.size(left, first.spot),
    );
    let kind = Kind::DoesNotHangTogether;
    Some(Suspicion { kind, set, group: None, spot: None, repeat: None, says, would_be_mm: None })
}

/// Planes (folded to half a turn of the shaft) against stations, each place its mean.
fn table(search: &Search, readings: &[Reading]) -> BTreeMap<i64, BTreeMap<i64, f64>> {
    let mut cells: BTreeMap<(i64, i64), (f64, f64)> = BTreeMap::new();
    for r in readings {
        if let Some(spot) = search.spots.get(r.spot).filter(|s| s.at_mm.is_finite() && s.plane_deg.is_finite()) {
            let plane = (spot.plane_deg.rem_euclid(180.0) * 100.0).round() as i64 % 18_000;
            let cell = cells.entry((plane, (spot.at_mm * 100.0).round() as i64)).or_insert((0.0, 0.0));
            *cell = (cell.0 + r.mm, cell.1 + 1.0);
        }
    }
    let mut planes: BTreeMap<i64, BTreeMap<i64, f64>> = BTreeMap::new();
    for ((plane, station), (sum, count)) in cells {
        planes.entry(plane).or_default().insert(station, sum / count);
    }
    planes
}

/// Root mean square of what is left when plane and station effects are taken out of a complete table, and the range.
fn left_over(search: &Search, readings: &[Reading]) -> Option<(f64, f64)> {
    let table = table(search, readings);
    let stations: Vec<i64> = table.values().next()?.keys().copied().collect();
    let complete =
        table.values().all(|row| row.len() == stations.len() && stations.iter().all(|s| row.contains_key(s)));
    if table.len() < 2 || stations.len() < 2 || !complete {
        return None;
    }
    let mean = |values: Vec<f64>| values.iter().sum::<f64>() / values.len() as f64;
    let whole = mean(table.values().flat_map(|row| row.values().copied()).collect());
    let mut squares = Vec::new();
    for row in table.values() {
        let along = mean(row.values().copied().collect());
        for (station, mm) in row {
            let across = mean(table.values().filter_map(|r| r.get(station).copied()).collect());
            squares.push((mm - along - across + whole).powi(2));
        }
    }
    let (low, high) = ends(table.values().flat_map(|row| row.values().copied()));
    Some((mean(squares).sqrt(), high - low))
}

/// Front less rear in each plane that has both: the plane, and the readings' indices, with the difference.
fn tapers(part: &Part) -> Vec<(f64, usize, usize)> {
    let mut planes: BTreeMap<i64, Vec<(i64, usize)>> = BTreeMap::new();
    for (i, (plane, station)) in part.places.iter().enumerate() {
        planes.entry(*plane).or_default().push((*station, i));
    }
    planes
        .into_values()
        .filter_map(|mut row| {
            row.sort_unstable();
            let ((front, a), (rear, b)) = (*row.first()?, *row.last()?);
            let difference = part.readings.get(a)?.mm - part.readings.get(b)?.mm;
            (front != rear).then_some((difference, a, b))
        })
        .collect()
}

/// Journals that taper one way in one plane and just as much the other way in the others, where the set's own shape makes the
/// exchange the likelier story.
///
/// Beyond the doubt of the readings (each taper four standard deviations from none), only where the set's other journals
/// taper alike in their planes (local wear makes planes differ, and then a journal here and there tapers both ways by
/// chance), and only where the readings changed over are explained [`LIKELIER`] times as well as those as they stand.
pub(super) fn swapped(search: &Search, set: usize, shapes: &Shapes) -> Vec<Suspicion> {
    /// Four standard deviations of the sum or difference of two tapers, each a difference of two readings.
    const ALIKE: f64 = 4.0 * std::f64::consts::SQRT_2;
    let all: Vec<Vec<(f64, usize, usize)>> = shapes.parts.iter().map(tapers).collect();
    let twist = |t: &[(f64, usize, usize)]| {
        let (low, high) = ends(t.iter().map(|t| t.0));
        high - low
    };
    let mut found = Vec::new();
    for (p, (part, tapers)) in shapes.parts.iter().zip(&all).enumerate().filter(|(_, (_, t))| t.len() >= 2) {
        let Some(spot) = part.readings.first().map(|r| r.spot) else { continue };
        let doubt = doubt_of_difference(search, spot).max(1e-6);
        let others: Vec<f64> = shapes
            .parts
            .iter()
            .zip(&all)
            .filter(|(other, t)| other.group != part.group && t.len() >= 2)
            .map(|(_, t)| twist(t))
            .collect();
        let unlike = others.iter().filter(|t| **t > ALIKE * doubt).count();
        // A median of absolute differences is a fixed share of a standard deviation.
        let usual = (median(others.iter().copied()) / MEDIAN_OF_NORMAL).max(doubt);
        if twist(tapers) <= 3.0 * usual || unlike * 4 > others.len() {
            continue;
        }
        let odd = tapers.iter().enumerate().find(|(i, (t, a, b))| {
            let others: Vec<f64> = tapers.iter().enumerate().filter(|(j, _)| j != i).map(|(_, t)| t.0).collect();
            let (low, high) = ends(others.iter().copied());
            let middle = median(others);
            let opposite = t.abs() > 4.0 * doubt && low.signum() == high.signum() && low.signum() != t.signum();
            let alike = low.abs().min(high.abs()) > 4.0 * doubt && (*t + middle).abs() < ALIKE * doubt;
            let mut order: Vec<usize> = (0..part.readings.len()).collect();
            order.swap(*a, *b);
            opposite && alike && shapes.gain(p, &order).is_some_and(|gain| gain > LIKELIER.ln())
        });
        if let Some((_, (taper, a, _))) = odd {
            let across = part.readings.get(*a).and_then(|r| search.spots.get(r.spot)).map_or(0.0, |s| s.plane_deg);
            let says = format!(
                "{} tapers {} across {across:.0} degrees and as much the other way elsewhere. With front and rear changed over in \
                 one plane they would agree. Were they swapped? Read both planes again.",
                search.name(part.group),
                search.size(taper.abs(), spot),
            );
            let (kind, group) = (Kind::SwappedStations, Some(part.group));
            found.push(Suspicion { kind, set, group, spot: None, repeat: None, says, would_be_mm: None });
        }
    }
    found
}

/// How much better an exchange must explain a journal's readings.
const LIKELIER: f64 = 5.0;

fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}
