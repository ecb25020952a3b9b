//! The answer for the bearings of one engine, as types.

use crank::{Aim, Band, JournalId, SetName, State};
use gauge::budget::Budget;
use regrind::Chance;

use crate::Placed;

/// Why work must stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopKind {
    /// Shells of one set are of more than one undersize.
    MixedUndersizes,
    /// The shells would lock the crank.
    Locks,
    /// The shells are of another undersize than the journals.
    WrongUndersize,
    /// A metric step taken for an inch step, or the other way round.
    StepsConfused,
    /// An undersize that the engine's shells are not made in.
    NoSuchStep,
    /// A wall that does not belong to the mark on the shell.
    WallAgainstMark,
    /// One shell of a pair was placed without the other, or one shell twice.
    HalfAPair,
    /// The housing is at fault.
    Housing,
    /// No washers bring the end float within its limits, or those that are fitted leave none.
    EndFloat,
    /// The rods have no room on their pin.
    SideClearance,
}

impl StopKind {
    /// The kind in a few words.
    pub const fn word(self) -> &'static str {
        match self {
            StopKind::MixedUndersizes => "mixed undersizes",
            StopKind::Locks => "locks the crank",
            StopKind::WrongUndersize => "wrong undersize",
            StopKind::StepsConfused => "inch and metric steps",
            StopKind::NoSuchStep => "no such step",
            StopKind::WallAgainstMark => "wall against mark",
            StopKind::HalfAPair => "half a pair",
            StopKind::Housing => "the housing",
            StopKind::EndFloat => "end float",
            StopKind::SideClearance => "side clearance",
        }
    }
}

/// Something that must be settled before anything is fitted, ground or ordered.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// What kind.
    pub kind: StopKind,
    /// The set that it is about.
    pub set: Option<SetName>,
    /// The journal or housing that it is about.
    pub journal: Option<JournalId>,
    /// What is wrong and what to do.
    pub says: String,
}

/// The least, the mean and the greatest of a clearance over the places measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Smallest bore less largest journal; as planned, the largest that the plan permits.
    pub tightest_mm: f64,
    /// Mean bore less mean journal.
    pub mean_mm: f64,
    /// Largest bore less smallest journal; as planned, the smallest that the plan permits.
    pub loosest_mm: f64,
}

/// What the walls of a clearance rest on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WallFrom {
    /// The bore was measured with the shells in.
    ShellsIn,
    /// Both walls were measured.
    Measured,
    /// The book's wall for that undersize.
    Book,
    /// Measured at another undersize, and moved by half the difference a wall.
    Moved,
}

impl WallFrom {
    /// In words that follow "walls".
    pub const fn words(self) -> &'static str {
        match self {
            WallFrom::ShellsIn => "in the measured bore",
            WallFrom::Measured => "measured",
            WallFrom::Book => "from the book",
            WallFrom::Moved => "measured at another undersize",
        }
    }

    /// Whether the very shells that are to be fitted were measured.
    pub const fn is_measured(self) -> bool {
        matches!(self, WallFrom::ShellsIn | WallFrom::Measured)
    }
}

/// The running clearance of one bearing in one state of the crank, on the diameter.
#[derive(Clone, Debug, PartialEq)]
pub struct Clearance {
    /// Undersize of the shells.
    pub undersize_mm: f64,
    /// Square to the split, where it counts.
    pub across: Span,
    /// Along the split, where it was measured. Shells are thinner at the split, so with walls taken at the crown it is
    /// more than this there.
    pub along: Option<Span>,
    /// Standard uncertainty of the tightest; as planned, for a journal that came out at the end of its window.
    pub uncertainty_mm: f64,
    /// What that is made of.
    pub budget: Budget,
    /// Chance that tightest and loosest both keep the limits.
    pub within: Option<Chance>,
    /// What that means under the shop's rule.
    pub state: Option<State>,
    /// Where the walls come from.
    pub walls: WallFrom,
    /// What it gains hot, where the housing's material is known.
    pub gained_hot_mm: Option<f64>,
}

/// The bare bore of one housing.
#[derive(Clone, Debug, PartialEq)]
pub struct HousingForm {
    /// Smallest diameter.
    pub smallest_mm: f64,
    /// Mean diameter.
    pub mean_mm: f64,
    /// Largest diameter.
    pub largest_mm: f64,
    /// Largest less smallest over the planes of the worst place.
    pub out_of_round_mm: Option<f64>,
    /// Largest less smallest along the worst plane.
    pub taper_mm: Option<f64>,
    /// Standard uncertainty of one diameter.
    pub uncertainty_mm: f64,
    /// Chance that every diameter keeps the book's limits: the share of draws, what a gauge's readings share drawn once.
    pub within: Option<Chance>,
    /// What that means under the shop's rule.
    pub state: Option<State>,
}

/// One bearing: housing, shells and journal.
#[derive(Clone, Debug, PartialEq)]
pub struct Bearing {
    /// Its journal.
    pub journal: JournalId,
    /// The bare housing, where it was measured.
    pub housing: Option<HousingForm>,
    /// Its shells, where they were placed or matched.
    pub shells: Option<Placed>,
    /// With the journal as measured.
    pub as_found: Option<Clearance>,
    /// With the journal ground as planned.
    pub as_planned: Option<Clearance>,
    /// The journal that would run in this bearing with the wanted clearance.
    pub wanted_journal_mm: Option<f64>,
    /// The gap with one bolt freed, and whether the book permits it.
    pub crush: Option<(f64, Option<bool>)>,
}

impl Bearing {
    /// The clearance that is to come: as planned where the set is to be ground, else as found.
    pub fn to_come(&self) -> Option<&Clearance> {
        self.as_planned.as_ref().or(self.as_found.as_ref())
    }
}

/// Where a wanted clearance comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WantedFrom {
    /// The shop said so.
    Shop,
    /// The middle of the book's limits.
    Book,
}

/// All bearings of one set together.
#[derive(Clone, Debug, PartialEq)]
pub struct SetFit {
    /// Which set.
    pub set: SetName,
    /// The undersize that the bearings are looked at for: the one to be ground to, else the one the journals have.
    pub undersize_mm: f64,
    /// Whether the journals are to be ground to it.
    pub ground: bool,
    /// The book's limits of the clearance.
    pub limits: Option<Band>,
    /// The wanted clearance.
    pub wanted_mm: Option<(f64, WantedFrom)>,
    /// The size to finish to that the bearings ask for; it is in the grinding plan.
    pub aim: Option<Aim>,
    /// Why the bearings ask for none, where they were measured.
    pub no_aim: Option<String>,
    /// Whether the shells were given out by the program.
    pub matched: bool,
    /// Chance that every measured bearing keeps its limits.
    pub within: Option<Chance>,
    /// Greatest less least mean clearance over the bearings.
    pub spread_mm: Option<f64>,
    /// Housings of which nothing was measured.
    pub not_measured: Vec<JournalId>,
}

/// The end float of the crank.
#[derive(Clone, Debug, PartialEq)]
pub struct EndFloat {
    /// The main that locates the crank.
    pub journal: JournalId,
    /// Width less housing less washers.
    pub reckoned_mm: Option<f64>,
    /// By the dial.
    pub measured_mm: Option<f64>,
    /// Standard uncertainty of the reckoned one.
    pub uncertainty_mm: Option<f64>,
    /// The book's limits.
    pub limits: Option<Band>,
    /// Chance that the reckoned one keeps them.
    pub within: Option<Chance>,
    /// The washers to fit: those that are fitted where they keep the limits, else as few new ones as do.
    pub washers: Option<Washers>,
}

/// A choice of thrust washers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Washers {
    /// Oversize to the front.
    pub front_mm: f64,
    /// Oversize to the rear.
    pub rear_mm: f64,
    /// The end float with them: with what was measured of those that stay, and the book's thickness of new ones.
    pub float_mm: f64,
    /// Whether that keeps the limits.
    pub within: bool,
    /// Whether the washer that is fitted to the front stays.
    pub front_there: bool,
    /// Whether the washer that is fitted to the rear stays.
    pub rear_there: bool,
}

impl Washers {
    /// Front and rear: the face, the oversize, and whether the washer that is fitted stays.
    pub fn faces(&self) -> [(&'static str, f64, bool); 2] {
        [("front", self.front_mm, self.front_there), ("rear", self.rear_mm, self.rear_there)]
    }

    /// How many washers are to be bought.
    pub fn to_order(&self) -> u32 {
        u32::from(!self.front_there) + u32::from(!self.rear_there)
    }
}

/// Side clearance of the rods on one pin.
#[derive(Clone, Debug, PartialEq)]
pub struct SideClearance {
    /// The pin.
    pub journal: JournalId,
    /// Width of the pin less the rods on it.
    pub mm: f64,
    /// Its standard uncertainty.
    pub uncertainty_mm: f64,
    /// The book's limits.
    pub limits: Option<Band>,
    /// Chance that it keeps them.
    pub within: Option<Chance>,
}

/// One line of the order.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderLine {
    /// What: shells in pairs, thrust washers.
    pub what: String,
    /// Undersize of shells, oversize of washers; zero for standard.
    pub size_mm: f64,
    /// The size in words.
    pub size: String,
    /// How many are needed.
    pub needed: usize,
    /// How many of them are on the bench already.
    pub on_the_bench: usize,
    /// What to look at when they come.
    pub note: String,
}

impl OrderLine {
    /// How many to order.
    pub fn to_order(&self) -> usize {
        self.needed.saturating_sub(self.on_the_bench)
    }
}

/// A remark that does not stop the work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// The journal or housing that it is about.
    pub journal: Option<JournalId>,
    /// The remark.
    pub says: String,
}

/// The answer for one engine.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Every bearing of which something was measured, mains first.
    pub bearings: Vec<Bearing>,
    /// The sets of which something was measured.
    pub sets: Vec<SetFit>,
    /// End float, where the thrust bearing was measured.
    pub end_float: Option<EndFloat>,
    /// Side clearances of the rods.
    pub sides: Vec<SideClearance>,
    /// What to order.
    pub order: Vec<OrderLine>,
    /// What must be settled first.
    pub stops: Vec<Stop>,
    /// What else to know.
    pub remarks: Vec<Remark>,
    /// The temperature of the hot clearances.
    pub running_c: f64,
}
