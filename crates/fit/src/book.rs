//! What the maker's book says of the bearings.

use crank::{Band, PrintedBand, PrintedSet, PrintedSpecification, SetName};
use units::Unit;

use crate::Material;

/// Oversizes of thrust washers where the book lists none: 0.005 and 0.010 in.
///
/// Source: TM 5-3810-300-24&P (a two-stroke diesel). Others differ; the box and the book decide.
const USUAL_OVERSIZES_MM: [f64; 2] = [0.127, 0.254];

/// The limits of the bearings of one set.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SetBook {
    /// Housing bore, bare.
    pub housing: Option<Band>,
    /// What the housings are made of.
    pub material: Option<Material>,
    /// Wall of a standard shell at the crown.
    pub wall: Option<Band>,
    /// Walls that the book prints for undersizes, row by row: undersize and limits.
    pub walls: Vec<(f64, Band)>,
    /// Running clearance.
    pub clearance: Option<Band>,
    /// Gap at the split with one bolt freed.
    pub crush: Option<Band>,
    /// Side clearance of the rods (pins).
    pub side: Option<Band>,
    /// Width of the journal.
    pub width: Option<Band>,
}

impl SetBook {
    /// Wall of a shell of an undersize: the book's own row where it has one, else the standard wall and half the
    /// undersize.
    ///
    /// # Source
    /// Four printed ladders that agree with themselves (TM 9-2815-205-24 pp. 705 and 734, Subaru 2.5 of 2000, Volvo
    /// Penta D65A): the wall grows by half the undersize, for there are two walls across the bore.
    /// # Example
    /// ```
    /// use crank::Band;
    /// use fit::SetBook;
    /// // Two walls stand across the bore, so each grows by half the undersize.
    /// let book = SetBook { wall: Some(Band { low_mm: 1.820, high_mm: 1.826 }), ..SetBook::default() };
    /// let wall = book.wall_at(0.25).unwrap();
    /// assert!((wall.low_mm - 1.945).abs() < 1e-9 && (wall.high_mm - 1.951).abs() < 1e-9);
    /// ```
    pub fn wall_at(&self, undersize_mm: f64) -> Option<Band> {
        let row = self.walls.iter().find(|(step_mm, _)| (step_mm - undersize_mm).abs() < 1e-6);
        row.map(|(_, band)| *band).or_else(|| self.wall.map(|wall| wall.less(-undersize_mm / 2.0)))
    }
}

/// The limits of all bearings of one engine.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Book {
    /// For the mains.
    pub main: SetBook,
    /// For the pins.
    pub pin: SetBook,
    /// End float.
    pub float: Option<Band>,
    /// A standard thrust washer.
    pub washer: Option<Band>,
    /// Oversizes of thrust washers, ascending, without standard.
    pub washer_oversizes_mm: Vec<f64>,
    /// Whether the book lists those oversizes.
    pub oversizes_listed: bool,
}

impl Book {
    /// One of the two sets.
    pub fn set(&self, name: SetName) -> &SetBook {
        match name {
            SetName::Main => &self.main,
            SetName::Pin => &self.pin,
        }
    }

    /// The limits of a printed specification; the column in the document's unit counts.
    pub fn from_printed(printed: &PrintedSpecification) -> Book {
        let unit = printed.unit;
        let list = |set: &PrintedSet| -> Vec<f64> {
            let mut mm: Vec<f64> =
                set.washer_oversizes.iter().filter_map(|limit| limit.mm(unit)).filter(|mm| *mm > 0.0).collect();
            mm.sort_by(f64::total_cmp);
            mm
        };
        let mut oversizes = list(&printed.main);
        if oversizes.is_empty() {
            oversizes = list(&printed.pin);
        }
        let oversizes_listed = !oversizes.is_empty();
        Book {
            main: set(&printed.main, unit),
            pin: set(&printed.pin, unit),
            float: band(&printed.main.thrust, unit).or_else(|| band(&printed.pin.thrust, unit)),
            washer: band(&printed.main.washer, unit).or_else(|| band(&printed.pin.washer, unit)),
            washer_oversizes_mm: if oversizes_listed { oversizes } else { USUAL_OVERSIZES_MM.to_vec() },
            oversizes_listed,
        }
    }
}

fn band(columns: &[PrintedBand], unit: Unit) -> Option<Band> {
    let found = PrintedBand::in_columns(columns, unit).and_then(PrintedBand::band)?;
    // Swapped limits are a fault of the specification and are reported there.
    (found.low_mm.is_finite() && found.high_mm.is_finite() && found.low_mm <= found.high_mm).then_some(found)
}

fn set(printed: &PrintedSet, unit: Unit) -> SetBook {
    let rows = printed.steps.iter().filter_map(|step| Some((step.undersize.mm(unit)?, band(&step.wall, unit)?)));
    let walls: Vec<(f64, Band)> = rows.collect();
    let standard_row = walls.iter().find(|(undersize_mm, _)| *undersize_mm == 0.0).map(|(_, band)| *band);
    SetBook {
        housing: band(&printed.housing, unit),
        material: printed.housing_material.as_deref().and_then(Material::of),
        wall: band(&printed.wall, unit).or(standard_row),
        walls,
        clearance: band(&printed.clearance, unit),
        crush: band(&printed.crush, unit),
        side: band(&printed.side, unit),
        width: band(&printed.width, unit),
    }
}
