//! Which sizes belong to one spot, which spots to one station, and which to one plane.

use super::{Size, Spot};

/// Stations nearer than this are one: nobody sets a micrometer more exactly along a journal.
const SAME_STATION_MM: f64 = 0.01;

/// Planes nearer than this are one; only sums of typed angles differ by less.
const SAME_PLANE_DEG: f64 = 1e-6;

/// One spot with the sizes found there.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Place {
    pub(super) spot: Spot,
    pub(super) sizes: Vec<usize>,
}

/// The spots of a journal, by station and by plane.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Places {
    /// Each spot, by station and then by plane.
    pub(super) places: Vec<Place>,
    /// For each station, from the front, its spots.
    pub(super) stations: Vec<Vec<usize>>,
    /// For each plane, by direction, its spots from the front.
    pub(super) planes: Vec<Vec<usize>>,
}

impl Places {
    pub(super) fn of(sizes: &[Size]) -> Places {
        let stations = clusters(sizes.iter().map(|size| size.at_mm), SAME_STATION_MM);
        let mut planes = clusters(sizes.iter().map(|size| size.plane_deg.rem_euclid(180.0)), SAME_PLANE_DEG);
        // Just below 180 and just above 0 is the same plane.
        if let (Some(first), Some(last)) = (planes.first(), planes.last())
            && planes.len() > 1
            && first + 180.0 - last <= SAME_PLANE_DEG
        {
            planes.pop();
        }
        // The cluster that a value is in starts at the last first that is not above it.
        let in_cluster = |firsts: &[f64], value: f64| firsts.partition_point(|first| *first <= value).checked_sub(1);
        let mut spots: Vec<(usize, usize, usize)> = Vec::with_capacity(sizes.len());
        for (n, size) in sizes.iter().enumerate() {
            let plane_deg = size.plane_deg.rem_euclid(180.0);
            let Some(station) = in_cluster(&stations, size.at_mm).filter(|_| size.at_mm.is_finite()) else { continue };
            let Some(plane) = in_cluster(&planes, plane_deg).filter(|_| plane_deg.is_finite()) else { continue };
            let wraps = planes.first().is_some_and(|first| first + 180.0 - plane_deg <= SAME_PLANE_DEG);
            spots.push((station, if wraps { 0 } else { plane }, n));
        }
        spots.sort_unstable();
        let mut found = Places {
            places: Vec::new(),
            stations: vec![Vec::new(); stations.len()],
            planes: vec![Vec::new(); planes.len()],
        };
        for here in spots.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            let Some(&(station, plane, _)) = here.first() else { continue };
            let (Some(&at_mm), Some(&plane_deg)) = (stations.get(station), planes.get(plane)) else { continue };
            found.stations.get_mut(station).into_iter().for_each(|spots| spots.push(found.places.len()));
            found.planes.get_mut(plane).into_iter().for_each(|spots| spots.push(found.places.len()));
            let sizes = here.iter().map(|spot| spot.2).collect();
            found.places.push(Place { spot: Spot { at_mm, plane_deg }, sizes });
        }
        found
    }
}

/// Where values gather: the first of each run that lies within `width`, ascending. What is no number is left out.
fn clusters(values: impl Iterator<Item = f64>, width: f64) -> Vec<f64> {
    let mut values: Vec<f64> = values.filter(|value| value.is_finite()).collect();
    values.sort_by(f64::total_cmp);
    let mut firsts: Vec<f64> = Vec::new();
    for value in values {
        if firsts.last().is_none_or(|first| value - first > width) {
            firsts.push(value);
        }
    }
    firsts
}

/// The mean of some values; zero of none.
pub(super) fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), value| (sum + value, count + 1.0));
    if count > 0.0 { sum / count } else { 0.0 }
}
