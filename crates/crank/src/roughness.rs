//! How rough journals are against what the book allows.
//!
//! Ra is the mean departure of the surface from its mean line, over the length that the instrument takes in. It says nothing of
//! the size of a journal: one that is too rough is polished, and only what polish does not take out is damage.

use std::fmt;

use gauge::conformity::{Limits, Outcome, Rule};
use units::Unit;

use crate::check::understood_roughness_mm;
use crate::{Findings, JournalId, PrintedSpecification, SetName, Specification};

/// What the Ra shown may be wrong by where nobody says: a tenth of it. Common practice for stylus instruments of the
/// workshop, no source; it also covers how a surface differs from one place to the next only in part.
pub const USUAL_ERROR: f64 = 0.10;

/// Which way the marks of a surface lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lay {
    /// Round the journal, as grinding and polishing leave it.
    Around,
    /// Along the axis, across the way the oil is drawn.
    Along,
    /// Crossed, as a belt that is moved along leaves it.
    Crossed,
}

impl Lay {
    /// All of them.
    pub const ALL: [Lay; 3] = [Lay::Around, Lay::Along, Lay::Crossed];

    /// The word of the sheet.
    pub const fn word(self) -> &'static str {
        match self {
            Lay::Around => "around",
            Lay::Along => "along",
            Lay::Crossed => "crossed",
        }
    }
}

impl fmt::Display for Lay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// When a roughness was measured: what was done to a journal since makes it another surface.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Taken {
    /// As the crank came in, before any work.
    #[default]
    Before,
    /// When all work on it was done.
    After,
}

impl Taken {
    /// Both.
    pub const BOTH: [Taken; 2] = [Taken::Before, Taken::After];

    /// The word of the sheet.
    pub const fn word(self) -> &'static str {
        match self {
            Taken::Before => "before",
            Taken::After => "after",
        }
    }
}

/// The roughness of one place on a journal.
#[derive(Clone, Debug, PartialEq)]
pub struct Roughness {
    /// Where.
    pub journal: JournalId,
    /// Along the journal from its mid-length.
    pub at_mm: f64,
    /// Ra, in microns.
    pub ra_um: f64,
    /// Most that it may be wrong by, in microns; nobody said where absent.
    pub error_limit_um: Option<f64>,
    /// Which way the marks lie, if somebody looked.
    pub lay: Option<Lay>,
    /// What it was measured with, in the words of whoever did.
    pub with: Option<String>,
    /// The cut-off of the instrument, if told.
    pub cutoff_mm: Option<f64>,
    /// Before the work or after it.
    pub taken: Taken,
}

impl Roughness {
    /// Most that the Ra may be wrong by, in microns: as told, or as is assumed where nobody says.
    pub fn wrong_by_um(&self) -> f64 {
        self.error_limit_um.unwrap_or(USUAL_ERROR * self.ra_um)
    }

    /// Standard uncertainty: an error that lies evenly within its limit (JCGM 100:2008, 4.3.7).
    pub fn uncertainty_um(&self) -> f64 {
        self.wrong_by_um() / 3f64.sqrt()
    }

    /// Against a limit, by the rule of the shop.
    pub fn judged(&self, limit_um: f64, rule: &Rule) -> Outcome {
        rule.judge(self.ra_um, self.uncertainty_um(), Limits::up_to(limit_um))
    }
}

/// Where one journal stands, before or after the work.
#[derive(Clone, Debug, PartialEq)]
pub struct JournalRoughness<'a> {
    /// Which.
    pub journal: JournalId,
    /// Largest Ra that the book allows, in microns; none where it tells none.
    pub limit_um: Option<f64>,
    /// Each place that was measured, with what is said of it; no outcome where the book tells no limit.
    pub places: Vec<(&'a Roughness, Option<Outcome>)>,
}

impl JournalRoughness<'_> {
    /// The worst of its places. Nothing where none was measured or the book tells no limit: that is not good, and not bad.
    pub fn outcome(&self) -> Option<Outcome> {
        let all = || self.places.iter().filter_map(|(_, outcome)| *outcome);
        [Outcome::Outside, Outcome::TooCloseToCall, Outcome::Within].into_iter().find(|one| all().any(|o| o == *one))
    }

    /// Whether it was measured anywhere.
    pub fn is_measured(&self) -> bool {
        !self.places.is_empty()
    }
}

/// Every journal of a crank, before the work or after it, mains first.
pub fn roughness<'a>(
    specification: &Specification,
    printed: &PrintedSpecification,
    findings: &'a Findings,
    rule: &Rule,
    taken: Taken,
) -> Vec<JournalRoughness<'a>> {
    let one = |journal: JournalId| {
        let limit_um = roughness_limit_um(printed, journal.set);
        let here = findings.roughness.iter().filter(|row| row.journal == journal && row.taken == taken);
        let places = here.map(|row| (row, limit_um.map(|limit_um| row.judged(limit_um, rule)))).collect();
        JournalRoughness { journal, limit_um, places }
    };
    specification.journals().map(one).collect()
}

/// The largest Ra that the book allows on a set, in microns.
///
/// The one reader of that limit. A book's roughness is a length in the unit of the book; one that was typed in microinches or
/// microns as it stands is taken as that, as the check of the book says when it asks about it.
pub fn roughness_limit_um(printed: &PrintedSpecification, set: SetName) -> Option<f64> {
    let set = match set {
        SetName::Main => &printed.main,
        SetName::Pin => &printed.pin,
    };
    let (unit, number) = set.roughness.as_ref()?.column(printed.unit)?;
    let mm = understood_roughness_mm(unit, number.value).unwrap_or(number.value * Unit::mm(unit));
    Some(mm * 1e3)
}
