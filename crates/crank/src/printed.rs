//! A specification as it stands in a book, before anybody has checked it.

use units::Unit;

/// One number as printed.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintedNumber {
    /// The value in its column's unit.
    pub value: f64,
    /// Digits after the point, which say how finely it was printed.
    pub decimals: u32,
}

/// A low and a high limit of one column; a book may print only one of them.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintedBand {
    /// The column's unit.
    pub unit: Unit,
    /// Low limit.
    pub low: Option<PrintedNumber>,
    /// High limit.
    pub high: Option<PrintedNumber>,
}

/// One limit, in one unit column or in both.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintedLimit {
    /// The number in each unit column that the book prints.
    pub columns: Vec<(Unit, PrintedNumber)>,
    /// What the limit is read as, where books differ: `per = "length"`, `read_as = "bend"`.
    pub sense: Option<String>,
    /// The book it came from.
    pub source: Option<String>,
}

/// One row of a printed table of undersizes.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintedStep {
    /// The undersize the row is for, on the diameter, in each unit column; zero for standard.
    pub undersize: PrintedLimit,
    /// Journal limits in the row, one for each unit column.
    pub size: Vec<PrintedBand>,
    /// Shell wall limits in the row, one for each unit column.
    pub wall: Vec<PrintedBand>,
    /// Smallest size when worn.
    pub worn: Option<PrintedLimit>,
    /// The book it came from.
    pub source: Option<String>,
}

/// All mains or all pins as printed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PrintedSet {
    /// How many journals.
    pub count: Option<i64>,
    /// Mid-lengths along the axis, in the document's unit.
    pub positions: Vec<f64>,
    /// Directions of the throws (pins).
    pub angles_deg: Vec<f64>,
    /// Journal limits at standard size, one for each unit column.
    pub size: Vec<PrintedBand>,
    /// Undersizes on the diameter.
    pub undersizes: Vec<PrintedLimit>,
    /// Most out-of-round.
    pub out_of_round: Option<PrintedLimit>,
    /// Most taper.
    pub taper: Option<PrintedLimit>,
    /// Most run-out.
    pub run_out: Option<PrintedLimit>,
    /// Length of a journal.
    pub length: Option<PrintedLimit>,
    /// Size below which no journal may go.
    pub smallest: Option<PrintedLimit>,
    /// Smallest size in use at standard.
    pub wear_limit: Option<PrintedLimit>,
    /// Fillet radius.
    pub fillet: Vec<PrintedBand>,
    /// Surface roughness.
    pub roughness: Option<PrintedLimit>,
    /// Housing bore.
    pub housing: Vec<PrintedBand>,
    /// Shell wall at standard.
    pub wall: Vec<PrintedBand>,
    /// Running clearance.
    pub clearance: Vec<PrintedBand>,
    /// Width of the journal.
    pub width: Vec<PrintedBand>,
    /// End float.
    pub thrust: Vec<PrintedBand>,
    /// Depth of the hardened case.
    pub case_depth: Vec<PrintedBand>,
    /// The printed table of undersizes, row by row, where somebody typed it in.
    pub steps: Vec<PrintedStep>,
}

/// A specification as it stands in a book.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintedSpecification {
    /// The engine.
    pub name: String,
    /// Unit of every bare number in the document.
    pub unit: Unit,
    /// Crank radius.
    pub throw: Option<PrintedLimit>,
    /// Allowed error of the throw.
    pub throw_tolerance: Option<PrintedLimit>,
    /// Allowed error of a throw's direction.
    pub index_tolerance_deg: Option<f64>,
    /// The mains.
    pub main: PrintedSet,
    /// The pins.
    pub pin: PrintedSet,
    /// Process of the heat treatment; `none` where the document says nothing.
    pub treatment: String,
    /// Mean growth on the diameter.
    pub growth_mean: Option<PrintedLimit>,
    /// Standard deviation of the growth.
    pub growth_sd: Option<PrintedLimit>,
    /// Keys whose odd value somebody has compared with the book and confirmed.
    pub confirmed: Vec<String>,
}
