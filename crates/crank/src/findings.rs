//! What was measured and seen on one crankshaft.

use std::fmt;
use std::str::FromStr;

use units::Entry;

use crate::{Carried, CaseFound, DialSweep, Feature, JournalId, Mass, PinHeights, Roughness, RunOutRule, SetName};

/// A two-point diameter: one place on a journal across one plane, once or several times.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Where.
    pub journal: JournalId,
    /// Along the journal from its mid-length, towards the flywheel positive.
    pub at_mm: f64,
    /// Direction across, from the throw's own direction (mains: from pin 1's).
    pub plane_deg: f64,
    /// What the micrometer showed, each time it was read; never empty.
    pub sizes: Vec<Entry>,
    /// Which instrument, as an index into [`Findings::instruments`].
    pub with: usize,
}

/// A total indicator reading on a main journal while the shaft turned on its present axis.
#[derive(Clone, Debug, PartialEq)]
pub struct RunOut {
    /// Where; a main.
    pub journal: JournalId,
    /// Highest less lowest reading of the dial.
    pub total_mm: f64,
    /// Direction of the high spot, from pin 1's throw.
    pub high_deg: f64,
}

/// An indicator swept round a journal.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// Where.
    pub journal: JournalId,
    /// Along the journal from its mid-length.
    pub at_mm: f64,
    /// The mean diameter that the departures refer to.
    pub size: Entry,
    /// Direction of each departure, counted from the first throw, for pins as for mains.
    pub angles_deg: Vec<f64>,
    /// Departures on the radius about the journal's present centre; one for each angle.
    pub departures_mm: Vec<f64>,
    /// Which instrument measured `size`, as an index into [`Findings::instruments`].
    pub with: usize,
    /// Standard deviation of one departure.
    pub departure_sd_mm: f64,
}

/// Measured error of a pin's present centre.
#[derive(Clone, Debug, PartialEq)]
pub struct Centre {
    /// Which pin.
    pub journal: JournalId,
    /// Throw too long by this (negative: too short).
    pub throw_mm: f64,
    /// Direction ahead of its place by this.
    pub index_deg: f64,
}

/// How deep the metal is bad below the measured surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Depth {
    /// At the least.
    pub lowest_mm: f64,
    /// Likeliest.
    pub likeliest_mm: f64,
    /// At the most.
    pub highest_mm: f64,
}

/// What is seen on journals. A closed list, so that a mistyped crack is not taken for something that grinds out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DamageKind {
    /// Scores along the turning.
    Scoring,
    /// Ridges left standing.
    Ridges,
    /// Pits.
    Pitting,
    /// Rust.
    Rust,
    /// It was hot.
    Heat,
    /// Metal of the bearing on it.
    PickUp,
    /// A crack: it ends the matter.
    Crack,
    /// Something else.
    Other,
}

impl DamageKind {
    /// All of them, in the order in which they are listed.
    pub const ALL: [DamageKind; 8] = [
        DamageKind::Scoring,
        DamageKind::Ridges,
        DamageKind::Pitting,
        DamageKind::Rust,
        DamageKind::Heat,
        DamageKind::PickUp,
        DamageKind::Crack,
        DamageKind::Other,
    ];

    /// The word of the sheet.
    pub const fn word(self) -> &'static str {
        match self {
            DamageKind::Scoring => "scoring",
            DamageKind::Ridges => "ridges",
            DamageKind::Pitting => "pitting",
            DamageKind::Rust => "rust",
            DamageKind::Heat => "heat",
            DamageKind::PickUp => "pick-up",
            DamageKind::Crack => "crack",
            DamageKind::Other => "other",
        }
    }
}

impl fmt::Display for DamageKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A word that is no kind of damage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotADamage;

impl fmt::Display for NotADamage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "write one of {}", DamageKind::ALL.map(DamageKind::word).join(", "))
    }
}

impl std::error::Error for NotADamage {}

/// The word of the sheet, in small letters or large.
impl FromStr for DamageKind {
    type Err = NotADamage;
    fn from_str(word: &str) -> Result<DamageKind, NotADamage> {
        let word = word.trim().to_lowercase();
        DamageKind::ALL.into_iter().find(|kind| kind.word() == word).ok_or(NotADamage)
    }
}

/// Bad metal seen on a journal.
#[derive(Clone, Debug, PartialEq)]
pub struct Damage {
    /// Where.
    pub journal: JournalId,
    /// What it is.
    pub kind: DamageKind,
    /// How deep.
    pub depth: Depth,
    /// Along the journal from its mid-length; everywhere when absent.
    pub at_mm: Option<f64>,
    /// From which to which direction, counted from the first throw the way angles grow; all round when absent.
    pub arc_deg: Option<(f64, f64)>,
}

impl Damage {
    /// A crack ends every plan to grind.
    pub fn is_crack(&self) -> bool {
        self.kind == DamageKind::Crack
    }

    /// A journal that was hot may have lost its hardness and may hide cracks.
    pub fn is_heat(&self) -> bool {
        self.kind == DamageKind::Heat
    }
}

/// What is known of how a journal is worn: the share of the loss on the diameter that the worse side has lost.
#[derive(Clone, Debug, PartialEq)]
pub struct Worn {
    /// Which journal.
    pub journal: JournalId,
    /// One half for even wear, one for wear all on one side.
    pub share: f64,
}

/// A stamp on the crank that says to which undersize a set, or one journal of it, was last ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stamp {
    /// The set that it is about, or that its journal belongs to.
    pub set: SetName,
    /// The one journal that it is about; the whole set when absent.
    pub journal: Option<JournalId>,
    /// The undersize on the diameter; zero for standard. It need not be one of the ladder.
    pub undersize_mm: f64,
}

impl Stamp {
    /// The stamp that counts for a journal: its own, or else its set's.
    pub fn of(stamps: &[Stamp], journal: JournalId) -> Option<&Stamp> {
        let own = stamps.iter().find(|stamp| stamp.journal == Some(journal));
        own.or_else(|| stamps.iter().find(|stamp| stamp.journal.is_none() && stamp.set == journal.set))
    }
}

/// Everything measured and seen on one crankshaft.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Findings {
    /// The instruments used; index 0 is the shop's default.
    pub instruments: Vec<gauge::Instrument>,
    /// Two-point diameters.
    pub readings: Vec<Reading>,
    /// Run-outs, at most one for each main.
    pub run_outs: Vec<RunOut>,
    /// Traces.
    pub traces: Vec<Trace>,
    /// Errors of pin centres, at most one for each pin.
    pub centres: Vec<Centre>,
    /// Damage seen.
    pub damages: Vec<Damage>,
    /// How journals are worn, where it is known.
    pub worn: Vec<Worn>,
    /// Stamps found, at most one for each set and one for each journal.
    pub stamps: Vec<Stamp>,
    /// How rough journals are, before the work and after it; at most one for each place at either time.
    pub roughness: Vec<Roughness>,
    /// What turns with the main axis and is not ground with it, with what the book allows there.
    pub features: Vec<Feature>,
    /// The shaft's mass, where it is told.
    pub mass: Option<Mass>,
    /// Dials held on mains at several angles, at most one for each main.
    pub dials: Vec<DialSweep>,
    /// Heights of pins, at most one row for each.
    pub heights: Vec<PinHeights>,
    /// How the shaft was carried under the dials.
    pub carried: Option<Carried>,
    /// The hardened case of mains and pins, where its depth is told.
    pub cases: [Option<CaseFound>; 2],
    /// What the book allows of run-out beside its one limit.
    pub run_out_rules: Vec<RunOutRule>,
}

/// How far two directions across a journal are apart: a diameter at 170 degrees and one at -10 are the same.
///
/// # Units
/// Degrees, the answer from 0 to 90.
///
/// ```
/// assert_eq!(crank::planes_apart_deg(170.0, -10.0), 0.0);
/// assert_eq!(crank::planes_apart_deg(5.0, 175.0), 10.0);
/// assert_eq!(crank::planes_apart_deg(135.0, 45.0), 90.0);
/// ```
pub fn planes_apart_deg(a_deg: f64, b_deg: f64) -> f64 {
    let turn = (a_deg - b_deg).rem_euclid(180.0);
    turn.min(180.0 - turn)
}

impl Findings {
    /// Whether any of these readings was taken with a micrometer whose zero was never taken.
    pub fn is_zero_untaken(&self, of: impl Fn(&Reading) -> bool) -> bool {
        let untaken = |r: &&Reading| self.instruments.get(r.with).is_none_or(|i| !i.zero_taken);
        self.readings.iter().filter(|r| of(r)).any(|r| untaken(&r))
    }

    /// The micrometers to say the sizes of a set on: those it was measured with, in the order in which they were used;
    /// where it was not measured, all that are listed. The shop's usual micrometer has no name and no zero; a set measured
    /// with it alone has none here.
    pub fn micrometers_for(&self, set: SetName) -> Vec<&gauge::Instrument> {
        let readings = self.readings.iter().filter(|r| r.journal.set == set).map(|r| r.with);
        let traces = self.traces.iter().filter(|t| t.journal.set == set).map(|t| t.with);
        let mut used: Vec<usize> = Vec::new();
        for index in readings.chain(traces) {
            if !used.contains(&index) {
                used.push(index);
            }
        }
        if used.is_empty() {
            used.extend(1..self.instruments.len());
        }
        used.into_iter().filter(|&index| index > 0).filter_map(|index| self.instruments.get(index)).collect()
    }
}
