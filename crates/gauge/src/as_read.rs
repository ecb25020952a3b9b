//! A size as it will stand on the micrometer that measures it.

use units::{Length, Unit, show_mm};

use crate::Instrument;
use crate::scale::{Frame, Scale};

/// A size as it stands on the first of these micrometers that takes it in, with that micrometer's zero put back: on one
/// that reads a tenth large the setting is a tenth larger than the size. One whose range is not known takes in any size.
/// Where none does, on the usual vernier micrometer of the unit.
///
/// A scale that is not known here (0.002 mm, say) is given as a plain figure, zero and all.
///
/// # Example
/// ```
/// use gauge::{Instrument, as_read};
/// use units::Unit;
/// const IN: f64 = 25.4;
/// let mic = Instrument {
///     name: "mic 1-2".into(),
///     range_mm: Some((1.0 * IN, 2.0 * IN)),
///     zero_mm: 0.0001 * IN, // it reads a tenth large
///     ..Instrument::shop_default(Unit::Inch)
/// };
/// let stands = as_read(&[&mic], 1.8642 * IN, Unit::Inch);
/// assert!(stands.starts_with("1.8643 in on the 1–2"), "{stands}");
/// ```
pub fn as_read(micrometers: &[&Instrument], size_mm: f64, unit: Unit) -> String {
    let Some(own) = that_takes_in(micrometers, size_mm) else { return on_the_scale(Scale::usual(unit), size_mm) };
    let decimals = own.unit.usual_decimals();
    let stands = match Scale::with_graduation(own.unit, own.graduation_mm) {
        Some(scale) => on_the_scale(scale, size_mm + own.zero_mm),
        None => format!("{} {} on {}", show_mm(size_mm + own.zero_mm, own.unit, decimals), own.unit, own.name),
    };
    if own.zero_mm == 0.0 {
        return stands;
    }
    let by = show_mm(own.zero_mm.abs(), own.unit, decimals);
    format!("{stands} ({} reads {by} {})", own.name, if own.zero_mm > 0.0 { "large" } else { "small" })
}

/// The first of these micrometers that takes a size in; one whose range is not known takes in any.
pub fn that_takes_in<'a>(micrometers: &[&'a Instrument], size_mm: f64) -> Option<&'a Instrument> {
    let takes_in = |m: &&Instrument| m.range_mm.is_none_or(|(low, high)| low <= size_mm && size_mm <= high);
    micrometers.iter().copied().filter(|m| m.kind.contains("micrometer")).find(takes_in)
}

fn on_the_scale(scale: Scale, shown_mm: f64) -> String {
    let Some(shown) = Length::nearest_mm(shown_mm) else { return "beyond every micrometer".into() };
    Frame::usual(scale, shown).words(shown).unwrap_or_else(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn micrometer(range_in: (f64, f64), zero_in: f64) -> Instrument {
        Instrument {
            range_mm: Some((range_in.0 * 25.4, range_in.1 * 25.4)),
            zero_mm: zero_in * 25.4,
            zero_taken: true,
            ..Instrument::shop_default(Unit::Inch)
        }
    }

    /// 1.8642 is 1 in of frame, 8 tenths, two lines of 0.025, 14 thou and 2 tenths of a thou: arithmetic.
    #[test]
    fn the_zero_is_put_back_on_the_micrometer_that_takes_the_size_in() {
        let size_mm = 1.8642 * 25.4;
        let plain = "1.8642 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 2";
        assert_eq!(as_read(&[], size_mm, Unit::Inch), plain);
        let (two, one) = (micrometer((2.0, 3.0), 0.0003), micrometer((1.0, 2.0), 0.0001));
        assert_eq!(as_read(&[&two], size_mm, Unit::Inch), plain);
        assert_eq!(
            as_read(&[&two, &one], size_mm, Unit::Inch),
            "1.8643 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 3 (shop default reads 0.0001 large)"
        );
        // A scale that is not known must not lose the zero.
        let odd = Instrument { graduation_mm: 0.0002 * 25.4, name: "mic 7".into(), ..one };
        assert_eq!(as_read(&[&odd], size_mm, Unit::Inch), "1.8643 in on mic 7 (mic 7 reads 0.0001 large)");
        // Nor must one whose range nobody stated.
        let unstated = Instrument { range_mm: None, ..odd };
        assert_eq!(as_read(&[&unstated], size_mm, Unit::Inch), "1.8643 in on mic 7 (mic 7 reads 0.0001 large)");
        assert_eq!(as_read(&[], f64::NAN, Unit::Inch), "beyond every micrometer");
    }

    /// A micrometer takes in both ends of its range, and nothing beyond either.
    #[test]
    fn the_ends_of_a_range_belong_to_it() {
        let mic = Instrument { range_mm: Some((25.0, 50.0)), ..Instrument::shop_default(Unit::Millimetre) };
        for (size_mm, takes_in) in [(24.999, false), (25.0, true), (50.0, true), (50.001, false)] {
            assert_eq!(that_takes_in(&[&mic], size_mm).is_some(), takes_in, "{size_mm}");
        }
    }
}
