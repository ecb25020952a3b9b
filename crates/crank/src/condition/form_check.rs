//! Judging drawn sizes fast, and putting chances into words.

use std::fmt;

use gauge::conformity::{Limits, Outcome, Rule};

use super::places::Places;
use super::{Size, size_limits};
use crate::{Band, JournalSet, RunOutAs, RunOutLimit};

/// A millionth of a micron: what conversions and subtractions leave behind, so that a size on its limit keeps it.
const SLACK_MM: f64 = 1e-9;

/// Whether limits are kept, as far as the measurements tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum State {
    /// The limits are kept.
    Within,
    /// The limits are not kept.
    Outside,
    /// The measurements do not say.
    TooCloseToCall,
}

impl State {
    /// `within`, `outside` or `too close to call`.
    pub const fn words(self) -> &'static str {
        match self {
            State::Within => "within",
            State::Outside => "outside",
            State::TooCloseToCall => "too close to call",
        }
    }
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// Puts a chance of keeping limits into a word: within from one level up, outside from another down.
///
/// A chance that is not a number is too close to call.
///
/// # Source
/// A decision rule after JCGM 106:2012, 8.3.2, with the levels that the shop has chosen.
pub fn verdict(chance: f64, within_at: f64, outside_at: f64) -> State {
    match (Rule::Chance { within_at, outside_at }).judge_chance(chance) {
        Outcome::Within => State::Within,
        Outcome::Outside => State::Outside,
        Outcome::TooCloseToCall => State::TooCloseToCall,
    }
}

/// A run-out against its limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunOutVerdict {
    /// What the dial showed in one turn.
    pub total_mm: f64,
    /// What the dial may show in one turn, however the book puts it.
    pub limit_total_mm: f64,
    /// The run-out in the book's own terms: the total, or the bend, which is half of it.
    pub in_book_terms_mm: f64,
    /// Chance that the limit is kept.
    pub chance: f64,
    /// That chance in a word.
    pub state: State,
}

/// Judges a total indicator reading with its standard uncertainty against a limit on the total or on the bend.
///
/// # Example
/// ```
/// use crank::{RunOutAs, RunOutLimit, State, run_out_verdict};
/// // 0.05 on the dial is a bend of 0.025, where 0.02 is allowed.
/// let limit = RunOutLimit { limit_mm: 0.02, read_as: RunOutAs::Bend };
/// let found = run_out_verdict(limit, 0.05, 0.001, 0.95, 0.05);
/// assert_eq!((found.limit_total_mm, found.in_book_terms_mm, found.state), (0.04, 0.025, State::Outside));
/// ```
pub fn run_out_verdict(
    limit: RunOutLimit,
    total_mm: f64,
    standard_uncertainty_mm: f64,
    within_at: f64,
    outside_at: f64,
) -> RunOutVerdict {
    let limit_total_mm = limit.total_mm();
    let chance = Limits::up_to(limit_total_mm + SLACK_MM).chance(total_mm, standard_uncertainty_mm);
    let in_book_terms_mm = match limit.read_as {
        RunOutAs::Total => total_mm,
        RunOutAs::Bend => total_mm / 2.0,
    };
    let state = verdict(chance, within_at, outside_at);
    RunOutVerdict { total_mm, limit_total_mm, in_book_terms_mm, chance, state }
}

/// Whether drawn sizes of one journal keep its limits, prepared so that it is fast to ask many thousand times.
#[derive(Clone, Debug, PartialEq)]
pub struct FormCheck {
    size: Band,
    /// Indices into the drawn sizes, spot after spot.
    members: Vec<usize>,
    /// For each spot, from where to where in `members`.
    spots: Vec<(usize, usize)>,
    /// Groups of spots whose sizes may differ only so much: stations by out-of-round, planes by taper.
    groups: Vec<(Vec<usize>, f64)>,
}

impl FormCheck {
    /// Prepares the check of a journal with these sizes, last ground to an undersize.
    ///
    /// Where the book has a wear limit of out-of-round or taper it is the one to keep, else the limit when new; so with
    /// the size, as [`size_limits`] has it. Taper per length counts for the distance between the outermost stations of
    /// each plane. A limit that the book does not state is not judged, nor is one for which there are too few sizes.
    pub fn new(set: &JournalSet, ground_to_mm: f64, sizes: &[Size]) -> FormCheck {
        let places = Places::of(sizes);
        let mut members = Vec::with_capacity(sizes.len());
        let mut spots = Vec::with_capacity(places.places.len());
        for place in &places.places {
            let from = members.len();
            members.extend(&place.sizes);
            spots.push((from, members.len()));
        }
        let mut groups = Vec::new();
        if let Some(limit_mm) = set.out_of_round_in_use_mm() {
            let several = places.stations.iter().filter(|spots| spots.len() > 1);
            groups.extend(several.map(|spots| (spots.clone(), limit_mm + SLACK_MM)));
        }
        if let Some(limit) = set.taper_in_use() {
            for spots in places.planes.iter().filter(|spots| spots.len() > 1) {
                let at = |spot: Option<&usize>| spot.and_then(|&n| places.places.get(n)).map_or(0.0, |p| p.spot.at_mm);
                let span_mm = at(spots.last()) - at(spots.first());
                groups.push((spots.clone(), limit.over_mm(span_mm) + SLACK_MM));
            }
        }
        let limits = size_limits(set, ground_to_mm);
        let size = Band { low_mm: limits.low_mm - SLACK_MM, high_mm: limits.high_mm + SLACK_MM };
        FormCheck { size, members, spots, groups }
    }

    /// What the sizes are held to.
    pub fn size_limits(&self) -> Band {
        self.size
    }

    /// Whether sizes, in the order of those it was prepared with, keep size, out-of-round and taper.
    ///
    /// A size that is missing or not a number keeps nothing.
    pub fn keeps(&self, drawn_mm: &[f64]) -> bool {
        self.keeps_with(drawn_mm, self.size)
    }

    /// The same with other limits of size.
    pub fn keeps_with(&self, drawn_mm: &[f64], limits: Band) -> bool {
        let within = |size: f64| size >= limits.low_mm && size <= limits.high_mm;
        if !(0..self.spots.len()).all(|spot| within(self.drawn(spot, drawn_mm))) {
            return false;
        }
        self.groups.iter().all(|(spots, limit_mm)| {
            let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
            for &spot in spots {
                let size = self.drawn(spot, drawn_mm);
                low = low.min(size);
                high = high.max(size);
            }
            high - low <= *limit_mm
        })
    }

    /// The drawn size at a spot: the mean of the sizes found there.
    fn drawn(&self, spot: usize, drawn_mm: &[f64]) -> f64 {
        let members = self.spots.get(spot).and_then(|&(from, to)| self.members.get(from..to)).unwrap_or_default();
        let size = |&n: &usize| drawn_mm.get(n).copied().unwrap_or(f64::NAN);
        match members {
            [one] => size(one),
            several => several.iter().map(size).sum::<f64>() / several.len() as f64,
        }
    }
}
