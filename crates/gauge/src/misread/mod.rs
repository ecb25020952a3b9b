//! Misreads and nonsense among the diameters measured on one shaft, each with its evidence.
//!
//! Nothing is corrected here. [`find`] compares every reading with the others of its journal, with the other journals
//! of its set, and with the sizes in the book, in that order of weight, and says what does not fit, what it would be
//! if the suspicion is right, and why. [`priors`] states what is taken as known before a reading is looked at;
//! `vote` is the comparison itself, for whole turns of the thimble; `odd` looks for smaller slips in what it accepts, by
//! what `shape` learns of the set; `micrometers` asks whether two instruments tell the same.
//!
//! First of all comes whether this is the right engine, unit and set: where it is in doubt nothing else is said of the
//! set.
//!
//! # Limits
//! A slip smaller than the honest spread of the set's wear cannot be told from wear. Where every reading of a set is
//! wrong by the same turn there is nothing but the book to compare with.

mod book;
mod coarse;
mod digits;
mod gross;
mod micrometers;
mod odd;
pub mod priors;
mod set;
mod shape;
mod stations;
mod vote;
mod words;

use std::collections::BTreeSet;

use units::Unit;

/// One place measured: a two-point diameter, once or several times.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Which journal, as an index into the groups.
    pub group: usize,
    /// Along the journal from its mid-length, towards the rear positive.
    pub at_mm: f64,
    /// Direction across.
    pub plane_deg: f64,
    /// What was read, corrected for the instrument's zero.
    pub sizes_mm: Vec<f64>,
    /// What was typed for each, where it is known.
    pub typed: Vec<String>,
    /// One turn of the thimble: 0.635 mm (0.025 in) or 0.5 mm; zero for an instrument without one.
    pub turn_mm: f64,
    /// Step from one instrument of the series to the next: 25.4 mm or 25 mm.
    pub frame_mm: f64,
    /// Standard uncertainty of one reading, everything included.
    pub uncertainty_mm: f64,
    /// Standard deviation of one reading repeated at the same place.
    pub repeatability_mm: f64,
    /// Value of one graduation.
    pub graduation_mm: f64,
    /// Name of the instrument; readings with the same name share its error.
    pub with: String,
}

/// One journal: readings of one group are of one cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// What the reader calls it (`pin 3`).
    pub name: String,
    /// Which set it belongs to; journals of one set were made, and are ground, to one size.
    pub set: usize,
    /// Smallest and largest size when new, at standard size.
    pub new_mm: (f64, f64),
    /// Undersizes on the diameter, zero (standard) among them.
    pub ladder_mm: Vec<f64>,
    /// Most out-of-round allowed, on the diameter.
    pub out_of_round_mm: Option<f64>,
    /// Most taper allowed, on the diameter.
    pub taper_mm: Option<f64>,
}

/// What sort of thing is suspected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Off by whole turns of the thimble.
    LikelyMisread,
    /// Off by whole steps of the instrument's range.
    RangeStep,
    /// Typed in inches for millimetres, or the other way.
    OtherUnit,
    /// The decimal point is in the wrong place.
    TenTimesOut,
    /// Digits short, or two of them changed over.
    Mistyped,
    /// Stands out from what the rest of its journal and set lead one to expect, by no whole turn.
    OddReading,
    /// The size of another set's journals.
    OtherSet,
    /// No size that the book's engine can have.
    OtherEngine,
    /// Two micrometers tell different sizes, by more than their stated errors.
    MicrometersDisagree,
    /// Larger than a new one beyond doubt.
    BiggerThanNew,
    /// Readings that no wear explains together.
    DoesNotHangTogether,
    /// Every journal of a set is off by the same turn.
    SetTurnOff,
    /// Two readings that changed places: front and rear in one plane, or the same place of two journals.
    SwappedStations,
    /// One place on all journals, entered a journal too far along or back.
    ShiftedRow,
    /// Too many readings end in 0 or 5.
    LastDigitHeaps,
    /// The instrument's steps are too large for the limit.
    TooCoarse,
    /// A stamp on the crank that the sizes contradict: one of the two was misread.
    Stamp,
    /// Something only the person at the bench can answer; no reading is accused.
    Question,
}

impl Kind {
    /// The stable word for this kind in documents.
    pub const fn word(self) -> &'static str {
        match self {
            Kind::LikelyMisread => "likely misread",
            Kind::RangeStep => "another range",
            Kind::OtherUnit => "other unit",
            Kind::TenTimesOut => "ten times out",
            Kind::Mistyped => "likely mistyped",
            Kind::OddReading => "odd reading",
            Kind::OtherSet => "another journal's size",
            Kind::OtherEngine => "another engine",
            Kind::MicrometersDisagree => "micrometers disagree",
            Kind::BiggerThanNew => "bigger than new",
            Kind::DoesNotHangTogether => "does not hang together",
            Kind::SetTurnOff => "whole set a turn off",
            Kind::SwappedStations => "swapped stations",
            Kind::ShiftedRow => "shifted row",
            Kind::LastDigitHeaps => "last digit heaps",
            Kind::TooCoarse => "too coarse",
            Kind::Stamp => "stamp contradicted",
            Kind::Question => "question",
        }
    }

    /// Whether this says that a reading is wrong, rather than asking or mentioning something or judging the instrument.
    pub const fn accuses(self) -> bool {
        !matches!(self, Kind::TooCoarse | Kind::Stamp | Kind::Question | Kind::ShiftedRow | Kind::LastDigitHeaps)
    }

    /// Whether this doubts that the readings are of this engine, in this unit, on this set.
    pub const fn doubts_the_set(self) -> bool {
        matches!(self, Kind::OtherEngine | Kind::OtherUnit | Kind::TenTimesOut | Kind::OtherSet | Kind::RangeStep)
    }
}

/// One thing that does not fit, with its evidence.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspicion {
    /// What sort.
    pub kind: Kind,
    /// Which set.
    pub set: usize,
    /// Which journal; `None` when it is about the whole set.
    pub group: Option<usize>,
    /// Which spot; `None` when it is about the whole journal or set.
    pub spot: Option<usize>,
    /// Which reading of the spot.
    pub repeat: Option<usize>,
    /// The evidence and what to do, in plain words with sizes in the reader's unit.
    pub says: String,
    /// What the reading (or the middle of the readings) would be if the suspicion is right.
    pub would_be_mm: Option<f64>,
}

impl Suspicion {
    /// Whether the set must not be decided before this is answered: it accuses all of the set at once, and not a
    /// reading or a journal that could be left out.
    pub const fn stops(&self) -> bool {
        self.kind.accuses() && self.group.is_none()
    }
}

/// A single reading, taken out of its spot.
#[derive(Clone, Debug)]
struct Reading {
    group: usize,
    spot: usize,
    repeat: usize,
    mm: f64,
    turn_mm: f64,
    doubt_mm: f64,
}

/// What the steps of the search share.
struct Search<'a> {
    groups: &'a [Group],
    spots: &'a [Spot],
    unit: Unit,
}

impl Search<'_> {
    /// A size in the reader's unit with the digits that the spot's instrument supports.
    fn size(&self, mm: f64, spot: usize) -> String {
        let graduation = self.spots.get(spot).map_or(0.0, |s| s.graduation_mm);
        words::size(mm, self.unit, graduation)
    }

    /// The length that [`Search::size`] prints, so that a difference beside two figures is theirs.
    fn as_shown_mm(&self, mm: f64, spot: usize) -> f64 {
        self.size(mm, spot).parse::<f64>().map_or(mm, |shown| shown * self.unit.mm())
    }

    /// A reading as it stands in the notebook, with the corrected size where that differs: the reader looks for the
    /// first, the comparison is with the second.
    fn reading(&self, r: &Reading) -> String {
        let size = self.size(r.mm, r.spot);
        let typed = self.spots.get(r.spot).and_then(|spot| spot.typed.get(r.repeat)).map_or("", |typed| typed.trim());
        let figure = typed.trim_end_matches(|c: char| c.is_alphabetic() || c == '"' || c == ' ').replace(',', ".");
        match (figure.parse::<f64>(), size.parse::<f64>()) {
            (Ok(written), Ok(corrected)) if (written - corrected).abs() > 1e-9 => format!("{typed} ({size} corrected)"),
            _ => size,
        }
    }

    fn graduation(&self, spot: usize) -> f64 {
        self.spots.get(spot).map_or(0.0, |s| if s.graduation_mm.is_finite() { s.graduation_mm } else { 0.0 })
    }

    fn name(&self, group: usize) -> &str {
        self.groups.get(group).map_or("this journal", |g| g.name.as_str())
    }

    fn about_reading(&self, kind: Kind, set: usize, r: &Reading, says: String, would_be_mm: Option<f64>) -> Suspicion {
        Suspicion { kind, set, group: Some(r.group), spot: Some(r.spot), repeat: Some(r.repeat), says, would_be_mm }
    }
}

/// Everything about these readings that does not fit, for each set: what stops it first, then journal by journal, then what
/// else concerns the whole of it.
///
/// Readings that are not finite and above zero, and spots of a group that does not exist, are left out. `unit` is the
/// reader's, in which the messages are worded.
pub fn find(groups: &[Group], spots: &[Spot], unit: Unit) -> Vec<Suspicion> {
    let search = Search { groups, spots, unit };
    let readings = flatten(groups, spots);
    let sets: BTreeSet<usize> = readings.iter().filter_map(|r| Some(groups.get(r.group)?.set)).collect();
    let looked: Vec<set::Looked> = sets
        .into_iter()
        .map(|set| {
            let of_set: Vec<Reading> =
                readings.iter().filter(|r| groups.get(r.group).is_some_and(|g| g.set == set)).cloned().collect();
            set::look(&search, set, of_set)
        })
        .collect();
    let mut found = Vec::new();
    for here in &looked {
        let others: Vec<&set::Looked> = looked.iter().filter(|l| l.set != here.set).collect();
        let mut of_set = set::judge(&search, here, &others);
        if of_set.iter().any(|s| s.stops() && s.kind.doubts_the_set()) {
            of_set.retain(|s| s.stops() && s.kind.doubts_the_set());
        }
        of_set.sort_by_key(|s| (!s.stops(), s.group.is_none(), s.group, s.spot, s.repeat));
        found.append(&mut of_set);
    }
    found.extend(digits::heaped(&search));
    found
}

fn flatten(groups: &[Group], spots: &[Spot]) -> Vec<Reading> {
    let mut readings = Vec::new();
    for (index, spot) in spots.iter().enumerate().filter(|(_, s)| s.group < groups.len()) {
        let turn_mm = if spot.turn_mm.is_finite() && spot.turn_mm > 0.0 { spot.turn_mm } else { 0.0 };
        let doubt_mm = if spot.uncertainty_mm.is_finite() { spot.uncertainty_mm.max(0.0) } else { 0.0 };
        for (repeat, &mm) in spot.sizes_mm.iter().enumerate().filter(|(_, mm)| mm.is_finite() && **mm > 0.0) {
            readings.push(Reading { group: spot.group, spot: index, repeat, mm, turn_mm, doubt_mm });
        }
    }
    readings
}

/// The middle value; the mean of the middle two; zero of none.
fn median(values: impl IntoIterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = values.into_iter().collect();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    match (sorted.get(n.wrapping_sub(1) / 2), sorted.get(n / 2)) {
        (Some(a), Some(b)) if n > 0 => 0.5 * (a + b),
        _ => 0.0,
    }
}
