//! What the maker's book says of one kind of crankshaft.

use units::Unit;

use crate::{JournalId, SetName};

/// A range of permitted sizes, both ends permitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Smallest permitted size.
    pub low_mm: f64,
    /// Largest permitted size.
    pub high_mm: f64,
}

impl Band {
    /// Half-way between the limits.
    pub fn middle_mm(self) -> f64 {
        (self.low_mm + self.high_mm) / 2.0
    }

    /// The distance between the limits.
    pub fn width_mm(self) -> f64 {
        self.high_mm - self.low_mm
    }

    /// The band moved towards smaller sizes.
    ///
    /// # Example
    /// ```
    /// // Ten under is ten thou off both limits.
    /// let standard = crank::Band { low_mm: 47.6123, high_mm: 47.625 };
    /// let under = standard.less(0.254);
    /// assert!((under.low_mm - 47.3583).abs() < 1e-9 && (under.width_mm() - standard.width_mm()).abs() < 1e-9);
    /// ```
    pub fn less(self, by_mm: f64) -> Band {
        Band { low_mm: self.low_mm - by_mm, high_mm: self.high_mm - by_mm }
    }
}

/// Whether a taper limit counts for the whole journal or for each unit of its length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Per {
    /// For the journal as measured, however long.
    Journal,
    /// For each millimetre between the stations (an inch per inch is the same number).
    Length,
}

/// The most taper allowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TaperLimit {
    /// On the diameter: millimetres per journal, or millimetres per millimetre.
    pub limit: f64,
    /// What the limit counts for.
    pub per: Per,
}

impl TaperLimit {
    /// The most taper allowed between stations that lie this far apart.
    ///
    /// # Example
    /// ```
    /// use crank::{Per, TaperLimit};
    /// // 0.0002 in an inch is 0.0002 mm in a millimetre: over 25 mm no more than 0.005.
    /// let limit = TaperLimit { limit: 0.0002, per: Per::Length };
    /// assert!((limit.over_mm(25.0) - 0.005).abs() < 1e-12);
    /// ```
    pub fn over_mm(self, span_mm: f64) -> f64 {
        match self.per {
            Per::Journal => self.limit,
            Per::Length => self.limit * span_mm,
        }
    }
}

/// How far a throw's radius may be off: shorter as far as the low end, longer as far as the high one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThrowTolerance {
    /// Least error, zero or below.
    pub low_mm: f64,
    /// Greatest error, zero or above.
    pub high_mm: f64,
}

impl ThrowTolerance {
    /// The same either way.
    ///
    /// # Example
    /// ```
    /// let both = crank::ThrowTolerance::either_way(0.05);
    /// assert!(both.permits_mm(-0.05) && both.permits_mm(0.05) && !both.permits_mm(0.06));
    /// // A book that only lets throws get shorter.
    /// let shorter = crank::ThrowTolerance { low_mm: -0.02, high_mm: 0.0 };
    /// assert!(shorter.permits_mm(-0.02) && !shorter.permits_mm(0.01));
    /// ```
    pub fn either_way(mm: f64) -> ThrowTolerance {
        ThrowTolerance { low_mm: -mm, high_mm: mm }
    }

    /// Whether an error of the throw keeps it; a rounding error of a millionth of a micron counts as kept.
    pub fn permits_mm(self, error_mm: f64) -> bool {
        const SAME_MM: f64 = 1e-9;
        error_mm >= self.low_mm - SAME_MM && error_mm <= self.high_mm + SAME_MM
    }

    /// Whether a throw may be off at all.
    pub fn is_any(self) -> bool {
        self.high_mm > self.low_mm
    }
}

/// Books limit either what the dial shows in one turn or the bend of the shaft, which is half of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RunOutAs {
    /// Total indicator reading.
    Total,
    /// Bend: half the total indicator reading.
    Bend,
}

/// The most run-out allowed on a main journal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunOutLimit {
    /// The number in the book.
    pub limit_mm: f64,
    /// What the book means by it.
    pub read_as: RunOutAs,
}

impl RunOutLimit {
    /// The limit as a total indicator reading.
    ///
    /// # Example
    /// ```
    /// use crank::{RunOutAs, RunOutLimit};
    /// // A bend of 0.02 shows as 0.04 on the dial.
    /// assert_eq!(RunOutLimit { limit_mm: 0.02, read_as: RunOutAs::Bend }.total_mm(), 0.04);
    /// assert_eq!(RunOutLimit { limit_mm: 0.02, read_as: RunOutAs::Total }.total_mm(), 0.02);
    /// ```
    pub fn total_mm(self) -> f64 {
        match self.read_as {
            RunOutAs::Total => self.limit_mm,
            RunOutAs::Bend => 2.0 * self.limit_mm,
        }
    }
}

/// A size to finish to at one undersize, other than the middle of the limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aim {
    /// The undersize that it holds at, on the diameter.
    pub undersize_mm: f64,
    /// The size to aim for.
    pub target_mm: f64,
    /// Sizes that do; within the book's limits.
    pub window: Band,
}

/// Undersizes this near to each other are one: an inch step and its conversion differ by rounding only.
const SAME_UNDERSIZE_MM: f64 = 1e-6;

/// All mains or all pins of one kind of crankshaft.
#[derive(Clone, Debug, PartialEq)]
pub struct JournalSet {
    /// Mid-length of each journal along the axis, from the nose; one for each journal.
    pub positions_mm: Vec<f64>,
    /// Direction of each throw, from the first throw's; one for each pin, empty for mains.
    pub angles_deg: Vec<f64>,
    /// Finished limits at standard size.
    pub size: Band,
    /// The undersizes that shells are made for, on the diameter, ascending, without standard.
    pub undersizes_mm: Vec<f64>,
    /// Most out-of-round allowed when new or reground, on the diameter.
    pub out_of_round_mm: Option<f64>,
    /// Most taper allowed when new or reground.
    pub taper: Option<TaperLimit>,
    /// Most run-out allowed (mains).
    pub run_out: Option<RunOutLimit>,
    /// Length of one journal.
    pub length_mm: f64,
    /// Size below which no journal of the set may go.
    pub smallest_mm: Option<f64>,
    /// Smallest size at which a standard journal may stay in use; smaller undersizes have it moved by the undersize.
    pub wear_limit_mm: Option<f64>,
    /// Most out-of-round with which a journal may stay in use, on the diameter; the same at every undersize.
    pub wear_out_of_round_mm: Option<f64>,
    /// Most taper with which a journal may stay in use; the same at every undersize.
    pub wear_taper: Option<TaperLimit>,
    /// What to finish to where the bearings were measured; empty where the book's limits alone decide.
    pub aims: Vec<Aim>,
    /// Whether its bearings are made to any size (white metal, rollers), so that there is no ladder.
    pub any_size: bool,
}

impl JournalSet {
    /// How many journals the set has.
    pub fn count(&self) -> usize {
        self.positions_mm.len()
    }

    /// Most out-of-round with which a journal may stay in use: the wear limit where the book has one, else the limit
    /// when new.
    pub fn out_of_round_in_use_mm(&self) -> Option<f64> {
        self.wear_out_of_round_mm.or(self.out_of_round_mm)
    }

    /// Most taper with which a journal may stay in use: the wear limit where the book has one, else the limit when new.
    pub fn taper_in_use(&self) -> Option<TaperLimit> {
        self.wear_taper.or(self.taper)
    }

    /// Standard (zero) and every undersize, ascending.
    pub fn ladder_mm(&self) -> Vec<f64> {
        std::iter::once(0.0).chain(self.undersizes_mm.iter().copied()).collect()
    }

    /// Finished limits at an undersize.
    pub fn finished(&self, undersize_mm: f64) -> Band {
        self.size.less(undersize_mm)
    }

    /// What to finish to at an undersize: the aim where there is one, else the middle of the limits, within them.
    pub fn aim(&self, undersize_mm: f64) -> Aim {
        let stated = self.aims.iter().find(|aim| (aim.undersize_mm - undersize_mm).abs() <= SAME_UNDERSIZE_MM);
        let window = self.finished(undersize_mm);
        stated.copied().unwrap_or(Aim { undersize_mm, target_mm: window.middle_mm(), window })
    }
}

/// What is done to the crank after grinding to harden its skin.
#[derive(Clone, Debug, PartialEq)]
pub struct Treatment {
    /// The process, in the sheet's words (`none` where there is none).
    pub kind: String,
    /// How much the diameter grows on average; zero where nothing was stated or the crank is not treated.
    pub growth_mean_mm: f64,
    /// Standard deviation of that growth.
    pub growth_sd_mm: f64,
    /// Whether the crank is treated after it is ground.
    pub after_grinding: bool,
}

/// What the maker's book says of one kind of crankshaft, checked and ready to use.
#[derive(Clone, Debug, PartialEq)]
pub struct Specification {
    /// The engine.
    pub name: String,
    /// The unit the book is written in.
    pub unit: Unit,
    /// Crank radius: half the stroke.
    pub throw_mm: f64,
    /// How far a throw's radius may be off; none stated means that no free axis may spend any.
    pub throw_tolerance_mm: Option<ThrowTolerance>,
    /// How far a throw's direction may be off.
    pub index_tolerance_deg: Option<f64>,
    /// The main journals.
    pub main: JournalSet,
    /// The crankpins.
    pub pin: JournalSet,
    /// Heat treatment.
    pub treatment: Treatment,
}

impl Specification {
    /// One of the two sets.
    pub fn set(&self, name: SetName) -> &JournalSet {
        match name {
            SetName::Main => &self.main,
            SetName::Pin => &self.pin,
        }
    }

    /// Every journal, mains first, from the nose.
    pub fn journals(&self) -> impl Iterator<Item = JournalId> + '_ {
        SetName::BOTH
            .into_iter()
            .flat_map(|set| (1..=self.set(set).count()).map(move |number| JournalId { set, number }))
    }

    /// Mid-length of a journal along the axis.
    ///
    /// # Panics
    /// Never for a journal of this specification; sheets are checked for others when they are read.
    pub fn position_mm(&self, journal: JournalId) -> f64 {
        self.set(journal.set).positions_mm[journal.number - 1]
    }

    /// Direction of a pin's throw from the first throw's; zero for mains, whose angles count from the first throw.
    pub fn throw_deg(&self, journal: JournalId) -> f64 {
        match journal.set {
            SetName::Main => 0.0,
            SetName::Pin => self.pin.angles_deg[journal.number - 1],
        }
    }
}
