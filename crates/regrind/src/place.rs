//! A place on a journal, in a grinder's words.

use std::fmt;

use crank::{JournalId, SetName};
use units::{Unit, show_mm};

use crate::surface::CountedFrom;

/// A place on the surface of a journal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Which journal.
    pub journal: JournalId,
    /// Along the journal from its mid-length, towards the flywheel positive.
    pub at_mm: f64,
    /// Length of the journal.
    pub length_mm: f64,
    /// Direction, 0 to 360.
    pub angle_deg: f64,
    /// What the direction is counted from.
    pub counted_from: CountedFrom,
    /// The unit to say the distance in, where the place has no name.
    pub unit: Unit,
}

impl Place {
    /// The place with what its direction counts from, where that is not plain.
    pub fn in_full(&self) -> String {
        match (self.journal.set, self.counted_from) {
            (SetName::Main, _) => self.to_string(),
            (SetName::Pin, CountedFrom::OwnThrow) => format!("{self} from its own throw"),
            (SetName::Pin, CountedFrom::FirstThrow) => format!("{self} from the first throw"),
        }
    }

    /// `front`, `middle`, `rear`, or the distance from mid-length.
    pub fn station(&self) -> String {
        station_name(self.at_mm, self.length_mm, self.unit)
    }
}

/// `front`, `middle` or `rear` (0.35 of the length from the middle), or the distance from mid-length.
pub fn station_name(at_mm: f64, length_mm: f64, unit: Unit) -> String {
    const SAME_MM: f64 = 1e-4;
    if at_mm.abs() < SAME_MM {
        "middle".into()
    } else if (at_mm + 0.35 * length_mm).abs() < SAME_MM {
        "front".into()
    } else if (at_mm - 0.35 * length_mm).abs() < SAME_MM {
        "rear".into()
    } else {
        let decimals = if unit == Unit::Inch { 3 } else { 2 };
        let towards = if at_mm < 0.0 { "front" } else { "rear" };
        format!("{} {unit} towards the {towards}", show_mm(at_mm.abs(), unit, decimals))
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let angle = (self.angle_deg * 10.0).round() / 10.0;
        write!(f, "{}, {}, {} degrees", self.journal, self.station(), if angle >= 360.0 { 0.0 } else { angle })
    }
}
