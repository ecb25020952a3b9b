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
    let pairs: Vec<f64> = places
        .values()
        .flat_map(|of| of.iter().zip(of.iter().skip(1)).map(|(a, b)| (a.mm - b.mm).abs()))
        .collect();
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

/// Journals on which front and rear, read over in one plane, would make a shape like that of their siblings.
///
/// The readings of a journal are weighed as they stand and with two stations of one plane changed over; the exchange must
/// be so much the better that one among all that are possible on the set is the likelier story, nine to one. Nothing is
/// said where it makes no difference that matters.
pub(super) fn swapped(search: &Search, set: usize, shapes: &Shapes) -> Vec<Suspicion> {
    const NAMED: f64 = 9.0;
    let exchanges: Vec<(usize, usize, usize)> = shapes
        .parts
        .iter()
        .enumerate()
        .flat_map(|(p, part)| exchanges(part).into_iter().map(move |(a, b)| (p, a, b)))
        .collect();
    let before = priors::CHANGED_OVER.ln();
    let mut best: BTreeMap<usize, (f64, &Reading, &Reading)> = BTreeMap::new();
    for (p, a, b) in exchanges {
        let Some(part) = shapes.parts.get(p) else { continue };
        let (Some(one), Some(other)) = (part.readings.get(a), part.readings.get(b)) else { continue };
        if (one.mm - other.mm).abs() < LEAST_EXCHANGE_MM {
            continue;
        }
        let mut order: Vec<usize> = (0..part.readings.len()).collect();
        order.swap(a, b);
        let Some(gain) = shapes.gain(p, &order).map(|gain| gain + before) else { continue };
        if std::env::var_os("GAIN").is_some() && gain - before > 1.0 { eprintln!("GAIN {:.2}", gain - before); }
        if gain >= NAMED.ln() && best.get(&part.group).is_none_or(|b| gain > b.0) {
            best.insert(part.group, (gain, one, other));
        }
    }
    best.into_iter()
        .map(|(group, (_, one, other))| {
            let across = search.spots.get(one.spot).map_or(0.0, |s| s.plane_deg);
            let says = format!(
                "Across {across:.0} degrees, {} and {} on {} would fit the rest with front and rear changed over. Were they \
                 swapped? Read both again.",
                search.reading(one),
                search.reading(other),
                search.name(group),
            );
            let kind = Kind::SwappedStations;
            Suspicion { kind, set, group: Some(group), spot: None, repeat: None, says, would_be_mm: None }
        })
        .collect()
}

/// Two readings of a plane that differ by less are not worth an exchange: 0.012 mm, half a thou.
const LEAST_EXCHANGE_MM: f64 = 0.012;

/// Pairs of readings in one plane at different stations, where the journal was read in two planes or more.
fn exchanges(part: &Part) -> Vec<(usize, usize)> {
    let mut planes: Vec<i64> = part.places.iter().map(|place| place.0).collect();
    planes.sort_unstable();
    planes.dedup();
    if planes.len() < 2 {
        return Vec::new();
    }
    let places: Vec<(usize, &Place)> = part.places.iter().enumerate().collect();
    places
        .iter()
        .flat_map(|(a, one)| places.iter().map(move |(b, other)| ((*a, *b), *one, *other)))
        .filter(|((a, b), one, other)| a < b && one.0 == other.0 && one.1 != other.1)
        .map(|(pair, ..)| pair)
        .collect()
}

fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}
