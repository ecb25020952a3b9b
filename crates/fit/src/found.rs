//! What was measured of the bearings: housing bores, shells, crush, widths and thrust washers.

use crank::{JournalId, SetName};
use gauge::Instrument;
use units::Entry;

use crate::Material;

/// Something measured once or several times with one instrument.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// What the instrument showed, each time; never empty.
    pub sizes: Vec<Entry>,
    /// Which instrument, as an index into [`crank::Findings::instruments`]; 0 is one that nobody named.
    pub with: usize,
}

impl Measured {
    /// The mean of what was read, uncorrected.
    ///
    /// # Example
    /// ```
    /// use units::{Unit, read};
    /// let sizes = ["57.680", "57.684"].map(|typed| read(typed, Unit::Millimetre).unwrap()).to_vec();
    /// assert!((fit::Measured { sizes, with: 0 }.read_mm() - 57.682).abs() < 1e-9);
    /// ```
    pub fn read_mm(&self) -> f64 {
        self.sizes.iter().map(|entry| entry.mm).sum::<f64>() / self.sizes.len().max(1) as f64
    }

    /// The size at 20 °C, for a part of this material.
    pub fn at_20_c_mm(&self, instruments: &[Instrument], material: Material) -> f64 {
        let read_mm = self.read_mm();
        instruments.get(self.with).map_or(read_mm, |i| crate::expansion::at_20_c_mm(read_mm, i, material))
    }

    /// Standard deviation that this measurement has for itself, its instrument's scale apart.
    pub fn own_sd_mm(&self, instruments: &[Instrument]) -> f64 {
        instruments.get(self.with).map_or(0.0, |i| i.own_variance_mm2(self.sizes.len()).sqrt())
    }

    /// Its standard uncertainty, the scale's error with it.
    pub fn standard_uncertainty_mm(&self, instruments: &[Instrument]) -> f64 {
        instruments.get(self.with).map_or(0.0, |i| i.standard_uncertainty_mm(self.sizes.len()))
    }
}

/// What was in the housing when its bore was measured. Caps are tightened as the maker says either way; a bore with its
/// caps loose says nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shells {
    /// Nothing: the bare bore.
    Out,
    /// A pair of shells of this undersize, on the diameter.
    In {
        /// Their undersize; zero for standard.
        undersize_mm: f64,
    },
}

/// One diameter of a housing.
#[derive(Clone, Debug, PartialEq)]
pub struct Bore {
    /// The journal that runs in it.
    pub journal: JournalId,
    /// Along the housing from its middle, towards the flywheel positive.
    pub at_mm: f64,
    /// Direction across, from the split: 0 along it, 90 square to it.
    pub plane_deg: f64,
    /// What the bore gauge showed.
    pub size: Measured,
    /// Whether shells were in.
    pub shells: Shells,
}

/// Where in a housing a shell goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Half {
    /// The housing's half only (an oil hole or a groove says so).
    Upper,
    /// The cap's half only.
    Lower,
    /// Either.
    Either,
}

impl Half {
    /// The half as a sheet names it.
    pub const fn word(self) -> &'static str {
        match self {
            Half::Upper => "upper",
            Half::Lower => "lower",
            Half::Either => "either",
        }
    }
}

/// One half shell.
#[derive(Clone, Debug, PartialEq)]
pub struct Shell {
    /// The shop's mark on it, or its place in the list.
    pub name: String,
    /// Which set it is for.
    pub set: SetName,
    /// The journal it is meant for; none where that is to be found.
    pub journal: Option<JournalId>,
    /// Upper or lower.
    pub half: Half,
    /// The undersize that box or shell claims, as it was written; none where nothing is marked.
    pub undersize: Option<Entry>,
    /// Its wall at the crown, where it was measured.
    pub wall: Option<Measured>,
}

/// The gap at the split with one bolt of the cap freed.
#[derive(Clone, Debug, PartialEq)]
pub struct Crush {
    /// Which housing.
    pub journal: JournalId,
    /// The gap.
    pub gap_mm: f64,
}

/// A pin's width between its cheeks and the rods that run on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Side {
    /// Which pin.
    pub journal: JournalId,
    /// Between the cheeks.
    pub width: Measured,
    /// Over the big end of each rod on this pin.
    pub rods: Vec<Measured>,
}

/// A thrust washer, or the pair of halves on one face.
#[derive(Clone, Debug, PartialEq)]
pub struct Washer {
    /// Its thickness.
    pub thickness: Measured,
    /// Its oversize; zero for standard.
    pub oversize_mm: f64,
}

/// The main that locates the crank endways.
#[derive(Clone, Debug, PartialEq)]
pub struct Thrust {
    /// Which main.
    pub journal: JournalId,
    /// Between the crank's thrust faces.
    pub width: Option<Measured>,
    /// Over the housing's thrust faces, washers out; over the flanges of a flanged shell.
    pub housing: Option<Measured>,
    /// The washer to the front.
    pub front: Option<Washer>,
    /// The washer to the rear.
    pub rear: Option<Washer>,
    /// End float by the dial, the crank pushed to and fro.
    pub float_mm: Option<f64>,
}

/// Everything measured of the bearings of one engine.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// Housing bores.
    pub bores: Vec<Bore>,
    /// Half shells.
    pub shells: Vec<Shell>,
    /// Crush, at most one for each housing.
    pub crush: Vec<Crush>,
    /// Side clearances, at most one for each pin.
    pub sides: Vec<Side>,
    /// The thrust bearing.
    pub thrust: Option<Thrust>,
}

impl Found {
    /// Whether nothing was measured.
    pub fn is_empty(&self) -> bool {
        self.bores.is_empty()
            && self.shells.is_empty()
            && self.crush.is_empty()
            && self.sides.is_empty()
            && self.thrust.is_none()
    }

    /// The half shells of a set.
    pub fn shells_of(&self, set: SetName) -> impl Iterator<Item = &Shell> {
        self.shells.iter().filter(move |shell| shell.set == set)
    }
}

/// What the shop wants of the bearings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Running clearance of the mains; none for the middle of the book's limits.
    pub main_mm: Option<f64>,
    /// Running clearance of the pins.
    pub pin_mm: Option<f64>,
    /// The temperature at which clearances are looked at hot, degrees Celsius.
    pub running_c: f64,
}

impl Wanted {
    /// What is wanted of a set.
    pub fn of(&self, set: SetName) -> Option<f64> {
        match set {
            SetName::Main => self.main_mm,
            SetName::Pin => self.pin_mm,
        }
    }
}

impl Default for Wanted {
    /// Middle of the book's limits; hot is 90 °C (common practice, no source).
    fn default() -> Wanted {
        Wanted { main_mm: None, pin_mm: None, running_c: 90.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::{Unit, read};

    /// By hand: 57.680, 57.684, 57.682 and 57.682 are 57.682. Their own doubt is the hand's 0.001 over the root of four and the
    /// rounding of 0.002: 0.25 and 0.3333 millionths, the root of which is 0.000764; the scale's 0.004 within limits adds 5.3333:
    /// 0.002432.
    #[test]
    fn four_readings_have_one_mean_and_less_doubt_of_their_own() {
        let sizes =
            ["57.680", "57.684", "57.682", "57.682"].map(|typed| read(typed, Unit::Millimetre).unwrap()).to_vec();
        let measured = Measured { sizes, with: 0 };
        let instruments = [Instrument::shop_default(Unit::Millimetre)];
        for (found, wanted) in [
            (measured.read_mm(), 57.682),
            (measured.own_sd_mm(&instruments), 0.000_763_763),
            (measured.standard_uncertainty_mm(&instruments), 0.002_432_420),
        ] {
            assert!((found - wanted).abs() < 1e-9, "{found}, not {wanted}");
        }
    }
}
