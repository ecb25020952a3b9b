//! Figures of the oil film as people read them, on the command line and on the pages.

use film::case::{BearingState, Contact};
use units::Unit;

/// Pascals in a pound to the square inch.
const PSI_PA: f64 = 6894.757;

/// How figures of the film are told in the unit of a case.
#[derive(Clone, Copy, Debug)]
pub struct FilmWords {
    /// The unit of lengths; it says which units of pressure and film go with it.
    pub unit: Unit,
    /// What a millionth of an inch is called where there is room for it.
    pub millionths: &'static str,
}

impl FilmWords {
    /// A gauge pressure.
    pub fn gauge(self, pa: f64) -> String {
        match self.unit {
            Unit::Inch => format!("{:.0} psi", pa / PSI_PA),
            Unit::Millimetre => format!("{:.1} bar", pa / 1e5),
        }
    }

    /// A pressure in the film: hundreds of pounds to the square inch, or megapascals.
    pub fn peak(self, pa: f64) -> String {
        match self.unit {
            Unit::Inch => format!("{:.0} psi", (pa / PSI_PA / 100.0).round() * 100.0),
            Unit::Millimetre => format!("{:.0} MPa", pa / 1e6),
        }
    }

    /// A film thickness: millionths of an inch, or microns.
    pub fn film(self, m: f64) -> String {
        match self.unit {
            Unit::Inch => format!("{:.0} {}", m / 25.4e-9, self.millionths),
            Unit::Millimetre => format!("{:.2} µm", m * 1e6),
        }
    }

    /// The least film of a bearing, or that there is none.
    pub fn least_film(self, bearing: &BearingState) -> String {
        match bearing.contact {
            Contact::Film => self.film(bearing.least_film_m),
            Contact::Mixed => "they touch".to_owned(),
        }
    }
}
