//! The exact length and the unit it is shown in.

use std::fmt;
use std::ops::{Add, AddAssign, Neg, Sub, SubAssign};

/// A signed length, held as whole nanometres.
///
/// Nanometres because both systems of the trade are whole numbers of them: 0.0001 in is 2540, 0.001 mm is 1000.
/// Sums and comparisons are therefore exact. Range: ±9.2 million kilometres.
///
/// A bare number has no unit and is refused:
///
/// ```compile_fail
/// let size: units::Length = 1.8745.into();
/// ```
///
/// Two lengths add to a length; their product would be an area, and is refused:
///
/// ```
/// # use units::Length;
/// let (size, undersize) = (Length::from_nm(44_450_000), Length::from_nm(254_000));
/// assert_eq!((size - undersize).nm(), 44_196_000); // 1.7500 in ten under
/// ```
/// ```compile_fail,E0369
/// # use units::Length;
/// # let (size, undersize) = (Length::from_nm(44_450_000), Length::from_nm(254_000));
/// let area = size * undersize;
/// ```
#[derive(Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length {
    nm: i64,
}

impl Length {
    /// No length at all.
    pub const ZERO: Length = Length { nm: 0 };

    /// A length of whole nanometres.
    pub const fn from_nm(nm: i64) -> Length {
        Length { nm }
    }

    /// The nearest whole nanometre to a computed number of millimetres; `None` when it is not finite or too large.
    pub fn nearest_mm(mm: f64) -> Option<Length> {
        let nm = (mm * 1e6).round();
        (nm.abs() < 9.2e18).then_some(Length { nm: nm as i64 })
    }

    /// Whole nanometres.
    pub const fn nm(self) -> i64 {
        self.nm
    }

    /// This length in millimetres, correctly rounded.
    pub fn mm(self) -> f64 {
        self.nm as f64 / 1e6
    }

    /// This length in inches, correctly rounded.
    pub fn inches(self) -> f64 {
        self.nm as f64 / 25_400_000.0
    }

    /// This length in a unit.
    pub fn in_unit(self, unit: Unit) -> f64 {
        match unit {
            Unit::Inch => self.inches(),
            Unit::Millimetre => self.mm(),
        }
    }

    /// The size without its sign.
    pub const fn abs(self) -> Length {
        Length { nm: self.nm.saturating_abs() }
    }
}

/// `over / under` to the nearest whole number, halves away from zero. `under` must be above zero.
pub(crate) fn nearest(over: i128, under: i128) -> i128 {
    let (whole, rest) = (over / under, over % under);
    if rest.abs() >= under - rest.abs() { whole + rest.signum() } else { whole }
}

impl fmt::Debug for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.mm())
    }
}

impl Add for Length {
    type Output = Length;
    fn add(self, other: Length) -> Length {
        Length { nm: self.nm.saturating_add(other.nm) }
    }
}

impl Sub for Length {
    type Output = Length;
    fn sub(self, other: Length) -> Length {
        Length { nm: self.nm.saturating_sub(other.nm) }
    }
}

impl Neg for Length {
    type Output = Length;
    fn neg(self) -> Length {
        Length { nm: self.nm.saturating_neg() }
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Length) {
        *self = *self + other;
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Length) {
        *self = *self - other;
    }
}

/// The unit that a document, an instrument or a person works in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Inches of exactly 25.4 mm.
    Inch,
    /// Millimetres.
    Millimetre,
}

impl Unit {
    /// Millimetres in one of this unit.
    pub const fn mm(self) -> f64 {
        match self {
            Unit::Inch => 25.4,
            Unit::Millimetre => 1.0,
        }
    }

    /// Nanometres in one of this unit.
    pub const fn nm(self) -> i64 {
        match self {
            Unit::Inch => 25_400_000,
            Unit::Millimetre => 1_000_000,
        }
    }

    /// The usual symbol: `in` or `mm`.
    pub const fn symbol(self) -> &'static str {
        match self {
            Unit::Inch => "in",
            Unit::Millimetre => "mm",
        }
    }

    /// The name in full, for more than one: `inches` or `millimetres`.
    pub const fn plural(self) -> &'static str {
        match self {
            Unit::Inch => "inches",
            Unit::Millimetre => "millimetres",
        }
    }

    /// Digits after the point with which the trade writes a size: four of an inch (a tenth of a thou), three of a
    /// millimetre (a micron). Common practice, no source.
    pub const fn usual_decimals(self) -> u32 {
        match self {
            Unit::Inch => 4,
            Unit::Millimetre => 3,
        }
    }

    /// The other of the two.
    pub const fn other(self) -> Unit {
        match self {
            Unit::Inch => Unit::Millimetre,
            Unit::Millimetre => Unit::Inch,
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half a nanometre is rounded away from nought; what 64 bits do not hold, 9.2 billion kilometres, is none.
    #[test]
    fn the_nearest_nanometre_is_found_where_there_is_one() {
        for (mm, nm) in
            [(47.611_999_6, Some(47_612_000)), (-0.000_001_6, Some(-2)), (9.19e12, Some(9_190_000_000_000_000_000))]
        {
            assert_eq!(Length::nearest_mm(mm).map(Length::nm), nm, "{mm}");
        }
        for mm in [9.2e12, -9.2e12, f64::INFINITY, f64::NAN] {
            assert_eq!(Length::nearest_mm(mm), None, "{mm}");
        }
    }

    /// An inch is 25.4 mm by definition; 1.8642 in are 47.350_68 mm.
    #[test]
    fn one_length_is_read_in_either_unit() {
        let size = Length::from_nm(47_350_680);
        assert_eq!((size.mm(), size.inches()), (47.350_68, 1.8642));
        assert_eq!((Unit::Inch.mm(), Unit::Millimetre.mm()), (25.4, 1.0));
    }
}
