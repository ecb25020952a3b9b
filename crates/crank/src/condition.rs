//! The condition of one journal: size, out-of-round, taper, barrel or waist, wear.

use crate::{Band, Findings, JournalId, JournalSet, Specification};

mod form_check;
mod ground_to;
mod places;
mod sizes;

pub use form_check::{FormCheck, RunOutVerdict, State, run_out_verdict, verdict};
pub use ground_to::{GroundTo, ground_to, last_ground_to, undersizes_known_mm};
pub(crate) use ground_to::{SAME_UNDERSIZE_MM, ground_to_one_of, mean_sizes};
pub use sizes::{Size, sizes};

use places::{Places, mean};

/// A spot where a diameter was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Along the journal from its mid-length.
    pub at_mm: f64,
    /// Direction across, from 0 up to 180 degrees.
    pub plane_deg: f64,
}

/// What the sizes at one station say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StationForm {
    /// Along the journal from its mid-length.
    pub at_mm: f64,
    /// In how many planes a size was found here.
    pub planes: usize,
    /// Largest less smallest diameter over the planes; `None` with one plane.
    pub out_of_round_mm: Option<f64>,
}

/// What the sizes in one plane say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaneForm {
    /// Direction across, from 0 up to 180 degrees.
    pub plane_deg: f64,
    /// At how many stations a size was found in it.
    pub stations: usize,
    /// Distance between its outermost stations.
    pub span_mm: f64,
    /// Largest less smallest diameter over the stations; `None` with one station.
    pub taper_mm: Option<f64>,
    /// Barrel or waist, where the plane has a front, a middle and a rear.
    pub barrel: Option<Barrel>,
}

/// Front, middle and rear of one plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Barrel {
    /// Diameter at the front station.
    pub front_mm: f64,
    /// Diameter at the middle station.
    pub middle_mm: f64,
    /// Diameter at the rear station.
    pub rear_mm: f64,
}

impl Barrel {
    /// Middle less the mean of the ends: positive for a barrel, negative for a waist.
    pub fn barrel_mm(self) -> f64 {
        self.middle_mm - (self.front_mm + self.rear_mm) / 2.0
    }
}

/// What the readings were too few for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotJudged {
    /// No station has sizes in two planes.
    OutOfRound,
    /// No plane has sizes at two stations.
    Taper,
    /// No plane has sizes at three stations.
    Barrel,
}

/// One journal's condition.
#[derive(Clone, Debug, PartialEq)]
pub struct Condition {
    /// Which journal.
    pub journal: JournalId,
    /// Mean of its sizes.
    pub mean_mm: f64,
    /// Smallest size.
    pub smallest_mm: f64,
    /// Where the smallest was found.
    pub smallest_at: Spot,
    /// Largest size.
    pub largest_mm: f64,
    /// Where the largest was found.
    pub largest_at: Spot,
    /// Station by station, from the front.
    pub stations: Vec<StationForm>,
    /// Plane by plane, by direction.
    pub planes: Vec<PlaneForm>,
    /// The undersize that its set was last ground to.
    pub ground_to_mm: f64,
    /// What its size must keep: the finished limits at that undersize, the low one replaced by the wear limit where
    /// the book has one.
    pub limits: Band,
    /// Middle of the finished limits at that undersize, less the smallest size; never below zero.
    pub wear_mm: f64,
    /// Standard uncertainty of the smallest size.
    pub uncertainty_mm: f64,
    /// What the readings were too few for.
    pub not_judged: Vec<NotJudged>,
    /// What the reader of these figures should bear in mind.
    pub remarks: Vec<String>,
}

impl Condition {
    /// Out-of-round of the worst station.
    pub fn out_of_round_mm(&self) -> Option<f64> {
        self.worst_station().and_then(|station| station.out_of_round_mm)
    }

    /// The station that is most out of round.
    pub fn worst_station(&self) -> Option<&StationForm> {
        worst(&self.stations, |station| station.out_of_round_mm)
    }

    /// Taper of the worst plane.
    pub fn taper_mm(&self) -> Option<f64> {
        self.worst_plane().and_then(|plane| plane.taper_mm)
    }

    /// The plane with the most taper.
    pub fn worst_plane(&self) -> Option<&PlaneForm> {
        worst(&self.planes, |plane| plane.taper_mm)
    }

    /// The barrel or waist that is furthest from straight, with its plane's direction.
    pub fn worst_barrel(&self) -> Option<(f64, Barrel)> {
        let plane = worst(&self.planes, |plane| plane.barrel.map(|barrel| barrel.barrel_mm().abs()))?;
        plane.barrel.map(|barrel| (plane.plane_deg, barrel))
    }
}

/// The item with the largest figure, the first of equals; `None` where none has one.
fn worst<T>(items: &[T], figure: impl Fn(&T) -> Option<f64>) -> Option<&T> {
    let mut worst: Option<(f64, &T)> = None;
    for item in items {
        if let Some(figure) = figure(item)
            && worst.is_none_or(|(so_far, _)| figure > so_far)
        {
            worst = Some((figure, item));
        }
    }
    worst.map(|(_, item)| item)
}

/// What a journal's size must keep at an undersize: its finished limits, down to the wear limit where there is one.
pub fn size_limits(set: &JournalSet, ground_to_mm: f64) -> Band {
    let finished = set.finished(ground_to_mm);
    Band { low_mm: set.wear_limit_mm.map_or(finished.low_mm, |limit| limit - ground_to_mm), ..finished }
}

/// The condition of one journal, from its readings and traces; `None` where it has neither.
///
/// Out-of-round is the largest less the smallest diameter over the planes of a station, taper the same over the
/// stations of a plane; the journal's are those of its worst station and worst plane. Several readings at one spot count
/// with their mean.
///
/// # Units
/// Millimetres on the diameter.
/// # Limits
/// Two points across do not see odd-lobed form, and see an oval only in the planes measured; [`Condition::remarks`]
/// says so. Taper is no taper proper where the middle is the odd station: then it is half barrel or waist.
/// # Source
/// Out-of-round and taper as differences: Nissan service data (VQ35, "Crankshaft"), Oldsmobile 2000. Barrel and waist:
/// common practice, no source.
pub fn condition(
    specification: &Specification,
    findings: &Findings,
    journal: JournalId,
    ground_to_mm: f64,
) -> Option<Condition> {
    let set = specification.set(journal.set);
    let sizes = sizes(findings, journal);
    let places = Places::of(&sizes);
    let found: Vec<(Spot, f64)> = places
        .places
        .iter()
        .map(|place| (place.spot, mean(place.sizes.iter().filter_map(|&n| sizes.get(n)).map(|size| size.size_mm))))
        .collect();
    let (smallest_place, &(smallest_at, smallest_mm)) =
        found.iter().enumerate().min_by(|a, b| a.1.1.total_cmp(&b.1.1))?;
    let &(largest_at, largest_mm) = found.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let at_smallest = places.places.get(smallest_place)?;
    // The scale's error is shared by the readings of one spot, so the mean is no surer than that.
    let uncertainty_mm =
        mean(at_smallest.sizes.iter().filter_map(|&n| sizes.get(n)).map(|size| size.standard_uncertainty_mm));
    let diameters =
        |places: &[usize]| -> Vec<(Spot, f64)> { places.iter().filter_map(|&n| found.get(n)).copied().collect() };
    let stations: Vec<StationForm> = places.stations.iter().map(|station| station_form(&diameters(station))).collect();
    let planes: Vec<PlaneForm> = places.planes.iter().map(|plane| plane_form(&diameters(plane))).collect();
    let mut not_judged = Vec::new();
    if stations.iter().all(|station| station.out_of_round_mm.is_none()) {
        not_judged.push(NotJudged::OutOfRound);
    }
    if planes.iter().all(|plane| plane.taper_mm.is_none()) {
        not_judged.push(NotJudged::Taper);
    }
    if planes.iter().all(|plane| plane.barrel.is_none()) {
        not_judged.push(NotJudged::Barrel);
    }
    let traced = sizes.iter().any(|size| size.trace.is_some());
    let remarks = remarks(&not_judged, places.planes.len(), traced);
    Some(Condition {
        journal,
        mean_mm: mean(found.iter().map(|(_, size)| *size)),
        smallest_mm,
        smallest_at,
        largest_mm,
        largest_at,
        stations,
        planes,
        ground_to_mm,
        limits: size_limits(set, ground_to_mm),
        wear_mm: (set.finished(ground_to_mm).middle_mm() - smallest_mm).max(0.0),
        uncertainty_mm,
        not_judged,
        remarks,
    })
}

/// Largest less smallest; `None` for fewer than two.
fn range(diameters: &[(Spot, f64)]) -> Option<f64> {
    let sizes = diameters.iter().map(|(_, size)| *size);
    let (low, high) = sizes.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), s| (low.min(s), high.max(s)));
    (diameters.len() > 1).then_some(high - low)
}

fn station_form(diameters: &[(Spot, f64)]) -> StationForm {
    StationForm {
        at_mm: diameters.first().map_or(0.0, |(spot, _)| spot.at_mm),
        planes: diameters.len(),
        out_of_round_mm: range(diameters),
    }
}

/// The diameters of one plane, from the front.
fn plane_form(diameters: &[(Spot, f64)]) -> PlaneForm {
    let (first, last) = (diameters.first(), diameters.last());
    let span_mm = first.zip(last).map_or(0.0, |(first, last)| last.0.at_mm - first.0.at_mm);
    let between = diameters.get(1..diameters.len().saturating_sub(1)).unwrap_or_default();
    // With more than three stations, the one nearest half-way between the ends stands for the middle.
    let half_way = first.map_or(0.0, |first| first.0.at_mm) + span_mm / 2.0;
    let middle = between.iter().min_by(|a, b| (a.0.at_mm - half_way).abs().total_cmp(&(b.0.at_mm - half_way).abs()));
    let barrel = match (first, middle, last) {
        (Some(front), Some(middle), Some(rear)) => {
            Some(Barrel { front_mm: front.1, middle_mm: middle.1, rear_mm: rear.1 })
        }
        _ => None,
    };
    PlaneForm {
        plane_deg: first.map_or(0.0, |(spot, _)| spot.plane_deg),
        stations: diameters.len(),
        span_mm,
        taper_mm: range(diameters),
        barrel,
    }
}

/// What two points, and these readings, cannot see.
fn remarks(not_judged: &[NotJudged], planes: usize, traced: bool) -> Vec<String> {
    let mut remarks = Vec::new();
    if not_judged.contains(&NotJudged::OutOfRound) {
        remarks.push("Out-of-round cannot be judged: measure a second plane at one station.".to_owned());
    } else {
        if !traced {
            remarks.push(
                "A micrometer does not see three or five lobes: a journal of even width all round can still be out of \
                 round."
                    .to_owned(),
            );
        }
        if planes == 2 {
            remarks
                .push("Two planes miss an oval that stands between them: a third at 45 degrees would tell.".to_owned());
        }
    }
    if not_judged.contains(&NotJudged::Taper) {
        remarks.push("Taper cannot be judged: measure a second station in one plane.".to_owned());
    } else if not_judged.contains(&NotJudged::Barrel) {
        remarks.push("Barrel or waist needs front, middle and rear in one plane.".to_owned());
    }
    remarks
}
