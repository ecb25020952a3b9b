//! A specification as it stands in a book, before anybody has checked it.

use units::Unit;

use crate::{Band, Feature, Mass, RunOutRule};

/// One number as printed.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintedNumber {
    /// The value in its column's unit.
    pub value: f64,
    /// Digits after the point, which say how finely it was printed.
    pub decimals: u32,
}

impl PrintedNumber {
    /// Half a unit in the last printed place: how far the figure in the maker's mind may be from the printed one.
    ///
    /// Digits that the value has beyond `decimals` count as printed.
    pub fn half_unit(&self) -> f64 {
        0.5 * 10f64.powi(-(self.shown_decimals() as i32))
    }

    /// Decimals with which the value shows in full; nine at the most.
    pub fn shown_decimals(&self) -> u32 {
        let whole_at = |decimals: u32| {
            let scaled = self.value * 10f64.powi(decimals as i32);
            (scaled - scaled.round()).abs() <= 1e-9 * scaled.abs().max(1.0)
        };
        (self.decimals.min(9)..9).find(|&decimals| whole_at(decimals)).unwrap_or(9)
    }

    /// The number with its unit, as printed.
    pub fn text(&self, unit: Unit) -> String {
        if self.value.is_finite() {
            format!("{:.*} {unit}", self.shown_decimals() as usize, self.value)
        } else {
            format!("{} {unit}", self.value)
        }
    }
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

impl PrintedBand {
    /// The column of a unit, or else the other one.
    pub fn in_columns(columns: &[PrintedBand], unit: Unit) -> Option<&PrintedBand> {
        let printed = |band: &&PrintedBand| band.low.is_some() || band.high.is_some();
        columns.iter().filter(printed).find(|band| band.unit == unit).or_else(|| columns.iter().find(printed))
    }

    /// The limits in millimetres; a single size printed counts as both.
    pub fn band(&self) -> Option<Band> {
        let low = self.low.as_ref().or(self.high.as_ref())?;
        let high = self.high.as_ref().or(self.low.as_ref())?;
        Some(Band { low_mm: low.value * self.unit.mm(), high_mm: high.value * self.unit.mm() })
    }
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

impl PrintedLimit {
    /// The column of a unit, or else the other one.
    pub fn column(&self, unit: Unit) -> Option<(Unit, &PrintedNumber)> {
        let found = self.columns.iter().find(|(column, _)| *column == unit).or_else(|| self.columns.first());
        found.map(|(unit, number)| (*unit, number))
    }

    /// The value in millimetres, from the column of a unit or else the other one.
    pub fn mm(&self, unit: Unit) -> Option<f64> {
        self.column(unit).map(|(unit, number)| number.value * unit.mm())
    }
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

/// The rollers of a bearing as printed.
#[derive(Clone, Debug, PartialEq)]
pub struct PrintedRollers {
    /// Bore of the race.
    pub race: PrintedLimit,
    /// Running clearance wanted.
    pub clearance: PrintedLimit,
    /// Diameters that rollers are made in.
    pub made: Vec<PrintedLimit>,
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
    /// Whether the bearings are made to any size.
    pub any_size: bool,
    /// Rollers to choose from, where the bearing has them.
    pub rollers: Option<PrintedRollers>,
    /// Most out-of-round when new.
    pub out_of_round: Option<PrintedLimit>,
    /// Most taper when new.
    pub taper: Option<PrintedLimit>,
    /// Most run-out.
    pub run_out: Option<PrintedLimit>,
    /// Length of a journal.
    pub length: Option<PrintedLimit>,
    /// Size below which no journal may go.
    pub smallest: Option<PrintedLimit>,
    /// Smallest size in use at standard.
    pub wear_limit: Option<PrintedLimit>,
    /// Most out-of-round in use.
    pub wear_out_of_round: Option<PrintedLimit>,
    /// Most taper in use.
    pub wear_taper: Option<PrintedLimit>,
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
    /// Clearance of the rods between the cheeks, all rods of a pin together (pins).
    pub side: Vec<PrintedBand>,
    /// Gap at the split that the shells hold open with one bolt freed.
    pub crush: Vec<PrintedBand>,
    /// Thickness of a standard thrust washer.
    pub washer: Vec<PrintedBand>,
    /// Oversizes that thrust washers are made in.
    pub washer_oversizes: Vec<PrintedLimit>,
    /// What the housings are made of, in the document's word.
    pub housing_material: Option<String>,
    /// Depth of the hardened case.
    pub case_depth: Vec<PrintedBand>,
    /// The least of it that must be left after grinding.
    pub case_least: Option<PrintedLimit>,
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
    /// The same where the book allows more one way than the other: low, high, one pair for each unit column.
    pub throw_limits: Vec<PrintedBand>,
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
    /// What turns with the main axis and is not ground with it, where its place along the shaft is told.
    pub features: Vec<Feature>,
    /// The shaft's mass.
    pub mass: Option<Mass>,
    /// Run-out rules beside the one limit.
    pub run_out_rules: Vec<RunOutRule>,
    /// Keys whose odd value somebody has compared with the book and confirmed.
    pub confirmed: Vec<String>,
}
