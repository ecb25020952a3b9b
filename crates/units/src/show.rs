//! Printing lengths.

use crate::length::nearest;
use crate::{Length, Unit};

/// Most digits after the point that are ever printed.
const MOST_DECIMALS: u32 = 12;

impl Length {
    /// The number in a unit with so many digits after the point, without the unit's name.
    ///
    /// Rounded half away from zero, in whole numbers. Trailing zeros stay, for they say how finely it was read. A
    /// minus sign stands only before a number that is not zero as printed.
    ///
    /// # Limits
    /// No more than 12 digits after the point.
    /// # Example
    /// ```
    /// use units::{Length, Unit};
    /// let size = Length::from_nm(47_350_680);
    /// assert_eq!(size.show(Unit::Inch, 4), "1.8642");
    /// assert_eq!(size.show(Unit::Millimetre, 3), "47.351");
    /// assert_eq!(Length::from_nm(-1).show(Unit::Millimetre, 3), "0.000");
    /// ```
    pub fn show(self, unit: Unit, decimals: u32) -> String {
        show_ratio(self.nm().into(), unit.nm().into(), decimals)
    }

    /// In thou, with the word: `1.5 thou`. See [`Length::show`] for digits and sign.
    ///
    /// # Example
    /// ```
    /// assert_eq!(units::Length::from_nm(38_100).show_thou(1), "1.5 thou");
    /// ```
    pub fn show_thou(self, decimals: u32) -> String {
        format!("{} thou", show_ratio(self.nm().into(), 25_400, decimals))
    }

    /// In microns, with the symbol: `12 µm`. See [`Length::show`] for digits and sign.
    ///
    /// # Example
    /// ```
    /// assert_eq!(units::Length::from_nm(-2_500).show_microns(1), "-2.5 µm");
    /// ```
    pub fn show_microns(self, decimals: u32) -> String {
        format!("{} µm", show_ratio(self.nm().into(), 1_000, decimals))
    }
}

/// A computed number of millimetres in a unit, like [`Length::show`].
///
/// The number is first taken to the nearest picometre. A computed half (the middle of two limits, 1.86425 in) then
/// rounds as the half that it is, whichever way the last bit of the computation fell.
///
/// # Limits
/// What is not finite, or beyond 1e15 mm, prints as Rust prints it: there is no such length, and it must show.
/// # Example
/// ```
/// use units::{Unit, show_mm};
/// assert_eq!(show_mm(1.86425 * 25.4, Unit::Inch, 4), "1.8643");
/// assert_eq!(show_mm(-0.0004, Unit::Millimetre, 3), "0.000");
/// ```
pub fn show_mm(mm: f64, unit: Unit, decimals: u32) -> String {
    match picometres(mm) {
        Some(pm) => show_ratio(pm, i128::from(unit.nm()) * 1_000, decimals),
        None => format!("{:.*}", decimals.min(MOST_DECIMALS) as usize, mm / unit.mm()),
    }
}

/// An undersize as a bare figure, the way the trade writes it: three decimals of an inch or two of a millimetre, and up
/// to two more only where it has them.
///
/// # Example
/// ```
/// use units::{Unit, show_undersize_mm};
/// assert_eq!(show_undersize_mm(0.254, Unit::Inch), "0.010");
/// assert_eq!(show_undersize_mm(0.25, Unit::Inch), "0.00984"); // a metric undersize is not ten thou
/// ```
pub fn show_undersize_mm(mm: f64, unit: Unit) -> String {
    let usual = if unit == Unit::Inch { 3 } else { 2 };
    let value = mm / unit.mm();
    let as_written = |decimals: &u32| {
        let scale = 10f64.powi(*decimals as i32);
        ((value * scale).round() / scale - value).abs() < 1e-7
    };
    show_mm(mm, unit, (usual..usual + 2).find(as_written).unwrap_or(usual + 2))
}

/// An undersize with its unit: the one asked for, but where only the other writes it in the trade's figures, that one. What
/// is stamped 0.25 mm is not told as 0.00984 in.
///
/// # Example
/// ```
/// use units::{Unit, show_undersize_in_its_unit_mm};
/// assert_eq!(show_undersize_in_its_unit_mm(0.254, Unit::Inch), "0.010 in");
/// assert_eq!(show_undersize_in_its_unit_mm(0.25, Unit::Inch), "0.25 mm");
/// assert_eq!(show_undersize_in_its_unit_mm(0.254, Unit::Millimetre), "0.254 mm");
/// assert_eq!(show_undersize_in_its_unit_mm(0.2511, Unit::Inch), "0.00989 in"); // written so in neither
/// ```
pub fn show_undersize_in_its_unit_mm(mm: f64, unit: Unit) -> String {
    let (usual, other, others) = match unit {
        Unit::Inch => (3, Unit::Millimetre, 2),
        Unit::Millimetre => (2, Unit::Inch, 3),
    };
    let written = |unit: Unit, decimals: i32| {
        let scale = 10f64.powi(decimals);
        let value = mm / unit.mm();
        ((value * scale).round() / scale - value).abs() < 1e-7
    };
    let foreign = !(usual..usual + 2).any(|decimals| written(unit, decimals)) && written(other, others);
    let unit = if foreign { other } else { unit };
    format!("{} {unit}", show_undersize_mm(mm, unit))
}

/// A computed number of millimetres in thou, with the word, like [`Length::show_thou`].
///
/// # Example
/// ```
/// assert_eq!(units::show_mm_as_thou(0.0127, 1), "0.5 thou");
/// ```
pub fn show_mm_as_thou(mm: f64, decimals: u32) -> String {
    match picometres(mm) {
        Some(pm) => format!("{} thou", show_ratio(pm, 25_400_000, decimals)),
        None => format!("{mm} mm"),
    }
}

/// A computed number of millimetres in microns, with the symbol, like [`Length::show_microns`].
///
/// # Example
/// ```
/// assert_eq!(units::show_mm_as_microns(0.0125, 0), "13 µm");
/// ```
pub fn show_mm_as_microns(mm: f64, decimals: u32) -> String {
    match picometres(mm) {
        Some(pm) => format!("{} µm", show_ratio(pm, 1_000_000, decimals)),
        None => format!("{mm} mm"),
    }
}

/// Digits after the point, in a unit, that an instrument of this graduation supports.
///
/// The first place not coarser than a graduation, and one more where the graduation itself is written with it
/// (0.025 needs three). A graduation that is no number, or not above zero, gives the trade's usual: four of an inch,
/// three of a millimetre.
///
/// # Limits
/// No more than six.
/// # Example
/// ```
/// use units::{Unit, digits_for};
/// assert_eq!(digits_for(0.002_54, Unit::Inch), 4); // a tenth of a thou
/// assert_eq!(digits_for(0.002_54, Unit::Millimetre), 3); // the same micrometer in millimetres
/// assert_eq!(digits_for(0.01, Unit::Millimetre), 2);
/// ```
pub fn digits_for(graduation_mm: f64, unit: Unit) -> u32 {
    const MOST: u32 = 6;
    let usual = unit.usual_decimals();
    let step = graduation_mm / unit.mm();
    if !step.is_finite() || step <= 0.0 {
        return usual;
    }
    // In the last place of `decimals` digits; slack for a graduation that came through a conversion.
    let places = |decimals: u32| step * 10f64.powi(decimals as i32);
    let whole = |places: f64| (places - places.round()).abs() < 1e-9 * places;
    let Some(first) = (0..=MOST).find(|&decimals| places(decimals) > 1.0 - 1e-9) else {
        return MOST;
    };
    let finer = first + 1;
    if finer <= MOST && !whole(places(first)) && whole(places(finer)) { finer } else { first }
}

fn picometres(mm: f64) -> Option<i128> {
    let pm = (mm * 1e9).round();
    // Also false for what is not a number.
    (pm.abs() <= 1e24).then_some(pm as i128)
}

/// `over / under` as a decimal. Both callers keep `over` within 1e24, so 12 more digits fit.
fn show_ratio(over: i128, under: i128, decimals: u32) -> String {
    let decimals = decimals.min(MOST_DECIMALS);
    let scale = 10i128.pow(decimals);
    let rounded = nearest(over * scale, under);
    let sign = if rounded < 0 { "-" } else { "" };
    let (whole, rest) = (rounded.abs() / scale, rounded.abs() % scale);
    if decimals == 0 {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{rest:0width$}", width = decimals as usize)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn halves_go_away_from_zero_both_ways() {
        let half = Length::from_nm(500);
        assert_eq!(half.show(Unit::Millimetre, 3), "0.001");
        assert_eq!((-half).show(Unit::Millimetre, 3), "-0.001");
        assert_eq!(Length::from_nm(499).show(Unit::Millimetre, 3), "0.000");
        assert_eq!(Length::from_nm(-499).show(Unit::Millimetre, 3), "0.000");
    }

    #[test]
    fn trailing_zeros_stay_and_a_whole_number_has_no_point() {
        assert_eq!(Length::from_nm(25_400_000).show(Unit::Inch, 4), "1.0000");
        assert_eq!(Length::from_nm(25_400_000).show(Unit::Inch, 0), "1");
        assert_eq!(Length::from_nm(12 * 25_400).show_thou(0), "12 thou");
        assert_eq!(Length::from_nm(-12_700).show_thou(1), "-0.5 thou");
        assert_eq!(Length::from_nm(-100).show_thou(1), "0.0 thou");
    }

    #[test]
    fn the_ends_of_the_range_print() {
        assert_eq!(Length::from_nm(i64::MIN).show(Unit::Millimetre, 99), "-9223372036854.775808000000");
        assert_eq!(Length::from_nm(i64::MAX).show_microns(3), "9223372036854775.807 µm");
    }

    #[test]
    fn what_is_no_length_shows_as_such() {
        assert_eq!(show_mm(f64::NAN, Unit::Inch, 4), "NaN");
        assert_eq!(show_mm(f64::NEG_INFINITY, Unit::Millimetre, 3), "-inf");
        assert_eq!(show_mm_as_thou(f64::INFINITY, 1), "inf mm");
        assert!(show_mm(f64::MAX, Unit::Millimetre, 3).len() > 300);
    }

    /// A middle between limits is a half at the fourth place however it was computed.
    #[test]
    fn a_computed_half_rounds_as_a_half() {
        for tenths in 10_000..30_000u32 {
            let half = f64::from(tenths) / 10_000.0 + 0.000_05;
            let expected = format!("{}.{:04}", (tenths + 1) / 10_000, (tenths + 1) % 10_000);
            assert_eq!(show_mm(half * 25.4, Unit::Inch, 4), expected);
        }
    }

    #[test]
    fn digits_are_those_of_the_graduation() {
        let in_inches = [(0.001, 3), (0.0001, 4), (0.0005, 4), (0.00005, 5), (0.025, 3), (1.0, 0), (1e-9, 6)];
        for (graduation, digits) in in_inches {
            assert_eq!(digits_for(graduation * 25.4, Unit::Inch), digits, "{graduation} in");
        }
        let in_mm = [(0.01, 2), (0.001, 3), (0.002, 3), (0.005, 3), (0.5, 1), (0.05, 2), (0.00254, 3), (0.0254, 2)];
        for (graduation, digits) in in_mm {
            assert_eq!(digits_for(graduation, Unit::Millimetre), digits, "{graduation} mm");
        }
        assert_eq!(digits_for(0.01, Unit::Inch), 4);
        assert_eq!(digits_for(0.001, Unit::Inch), 5);
        for nothing in [0.0, -0.01, f64::NAN, f64::INFINITY] {
            assert_eq!(digits_for(nothing, Unit::Inch), 4);
            assert_eq!(digits_for(nothing, Unit::Millimetre), 3);
        }
    }

    proptest! {
        /// Second route: the standard library's own printing, which rounds the exact binary value.
        #[test]
        fn printing_agrees_with_the_standard_library(nm in -1_000_000_000_000i64..1_000_000_000_000, decimals in 0u32..9) {
            // A half at the last place is where the two may differ, so those are left to the tests above.
            let twice = i128::from(nm) * 10i128.pow(decimals) * 2;
            if twice % 1_000_000 == 0 && twice % 2_000_000 != 0 {
                return Ok(());
            }
            let shown = Length::from_nm(nm).show(Unit::Millimetre, decimals);
            let standard = format!("{:.*}", decimals as usize, nm as f64 / 1e6);
            let zero = standard.chars().all(|c| matches!(c, '-' | '0' | '.'));
            prop_assert_eq!(shown, if zero { standard.replace('-', "") } else { standard });
        }

        #[test]
        fn computed_millimetres_print_like_the_length(nm in -1_000_000_000_000i64..1_000_000_000_000, decimals in 0u32..7) {
            for unit in [Unit::Inch, Unit::Millimetre] {
                let length = Length::from_nm(nm);
                prop_assert_eq!(show_mm(length.mm(), unit, decimals), length.show(unit, decimals));
            }
        }

        #[test]
        fn any_number_prints(bits: u64, decimals: u32) {
            let mm = f64::from_bits(bits);
            let printed = [show_mm(mm, Unit::Inch, decimals), show_mm_as_thou(mm, decimals), show_mm_as_microns(mm, decimals)];
            prop_assert!(printed.iter().all(|text| !text.is_empty()));
            prop_assert!(digits_for(mm, Unit::Millimetre) <= 6);
        }
    }
}
