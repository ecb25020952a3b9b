//! How this shop works: what it wants of a clean-up, how it sets up, what things cost.

use crank::SetName;
use units::Unit;

use crate::Assumed;

/// Which axis the shop grinds on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// The present main axis, each pin about its present centre.
    Held,
    /// The present main axis; each pin's centre within the throw and index tolerances.
    Throws,
    /// The best axis within the throw and index tolerances.
    Free,
}

impl Axis {
    /// All of them, from the one that moves nothing on.
    pub const ALL: [Axis; 3] = [Axis::Held, Axis::Throws, Axis::Free];

    /// The word of the sheet.
    pub const fn word(self) -> &'static str {
        match self {
            Axis::Held => "held",
            Axis::Throws => "throws",
            Axis::Free => "free",
        }
    }
}

/// Whether something ties the throws to the nose or the flange.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IndexDatum {
    /// A keyway or dowel does.
    Fixed,
    /// Nothing does: all throws may turn together.
    Free,
}

/// On which side of the heat treatment the shop polishes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PolishWhen {
    /// After grinding, before treatment.
    BeforeTreatment,
    /// After treatment, to finished size.
    AfterTreatment,
}

/// What grinding one set costs, in any one currency.
#[derive(Clone, Debug, PartialEq)]
pub struct SetPrices {
    /// One pass over the set: set-up and grinding.
    pub pass: f64,
    /// Shells, for each undersize of the ladder without standard; one number stands for all.
    pub shells: Vec<f64>,
    /// What one step of the ladder used up is worth to the owner.
    pub life: f64,
    /// What is lost when no undersize cleans up.
    pub scrap: f64,
}

impl SetPrices {
    /// What somebody is charged: what a step used up is worth is weighed in the choice and paid by nobody.
    pub fn charged(&self) -> SetPrices {
        SetPrices { life: 0.0, ..self.clone() }
    }
}

/// Prices, where they are known.
#[derive(Clone, Debug, PartialEq)]
pub struct Prices {
    /// For the mains.
    pub main: SetPrices,
    /// For the pins.
    pub pin: SetPrices,
}

impl Prices {
    /// Those of one set.
    pub fn of(&self, set: SetName) -> &SetPrices {
        match set {
            SetName::Main => &self.main,
            SetName::Pin => &self.pin,
        }
    }
}

/// How this shop works. All lengths in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Policy {
    /// Chance of cleaning up that the shop asks for before it starts at an undersize.
    pub confidence: f64,
    /// Metal on the radius that must come off everywhere for a surface to count as cleaned up.
    pub clean_up_stock_mm: f64,
    /// How far the shop goes: of the ways up to this one the first that reaches the confidence is taken.
    pub axis: Axis,
    /// Whether the throws alone are tried before the main axis is moved.
    pub throws_first: bool,
    /// What sizes that are on no ladder are rounded to, on the diameter.
    pub size_step_mm: f64,
    /// Whether the throws may turn together.
    pub index_datum: IndexDatum,
    /// Standard deviation of the machine's centring, on the radius, in each of two directions.
    pub set_up_error_mm: f64,
    /// Left for polishing, on the diameter.
    pub polish_stock_mm: f64,
    /// Left by the rough pass, on the diameter.
    pub finish_stock_mm: f64,
    /// Standard deviation of the shop's grinding: how far off the size aimed at its journals come off the wheel, on the
    /// diameter. The window to grind to is twice as wide.
    pub grinding_spread_mm: f64,
    /// When the shop polishes.
    pub polish: PolishWhen,
    /// How many draws the chances rest on.
    pub draws: usize,
    /// Where the draws start.
    pub seed: u64,
    /// A journal is *within* its limits from this chance up.
    pub within_at: f64,
    /// A journal is *outside* its limits from this chance down.
    pub outside_at: f64,
    /// Whether the shop can have a journal built up.
    pub build_up: bool,
    /// Prices, where they are known.
    pub prices: Option<Prices>,
    /// What is taken for granted about what nobody measured.
    pub assumed: Assumed,
}

impl Policy {
    /// The values that hold where neither sheet nor shop says otherwise.
    pub fn usual(unit: Unit) -> Policy {
        let (clean_up_stock_mm, set_up_error_mm, polish_stock_mm, finish_stock_mm, grinding_spread_mm) = match unit {
            Unit::Inch => (0.0127, 0.00762, 0.00508, 0.1016, 0.00254), // 0.0005, 0.0003, 0.0002, 0.0040, 0.0001 in
            Unit::Millimetre => (0.0125, 0.0075, 0.005, 0.1, 0.0025),
        };
        Policy {
            confidence: 0.90,
            clean_up_stock_mm,
            axis: Axis::Held,
            throws_first: true,
            size_step_mm: match unit {
                Unit::Inch => 0.002_54, // 0.0001 in
                Unit::Millimetre => 0.002,
            },
            index_datum: IndexDatum::Fixed,
            set_up_error_mm,
            polish_stock_mm,
            finish_stock_mm,
            grinding_spread_mm,
            polish: PolishWhen::BeforeTreatment,
            draws: 20_000,
            seed: 1,
            within_at: 0.95,
            outside_at: 0.05,
            build_up: false,
            prices: None,
            assumed: Assumed::default(),
        }
    }
}
