//! A size as it will stand on the micrometer that measures it.

use units::{Length, Unit, show_mm};

use crate::Instrument;
use crate::scale::{Frame, Scale};

/// A size as it stands on the first of these micrometers whose range takes it in, with that micrometer's zero put
/// back: on one that reads a tenth large the setting is a tenth larger than the size. Where none does, on the usual
/// vernier micrometer of the unit.
pub fn as_read(instruments: &[Instrument], size_mm: f64, unit: Unit) -> String {
    let own = instruments.iter().find_map(|instrument| {
        let (low_mm, high_mm) = instrument.range_mm?;
        let takes_it_in = low_mm <= size_mm && size_mm <= high_mm;
        let scale = Scale::with_graduation(instrument.unit, instrument.graduation_mm)?;
        (takes_it_in && instrument.kind.contains("micrometer")).then_some((instrument, scale))
    });
    let (scale, zero_mm) = own.map_or((Scale::usual(unit), 0.0), |(instrument, scale)| (scale, instrument.zero_mm));
    let Some(shown) = Length::nearest_mm(size_mm + zero_mm) else { return "beyond every micrometer".into() };
    let words = Frame::usual(scale, shown).words(shown).unwrap_or_else(|error| error.to_string());
    if zero_mm == 0.0 {
        return words;
    }
    let decimals = if scale.unit() == Unit::Inch { 4 } else { 3 };
    let by = show_mm(zero_mm.abs(), scale.unit(), decimals);
    format!("{words} (it reads {by} {})", if zero_mm > 0.0 { "large" } else { "small" })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn micrometer(range_in: (f64, f64), zero_in: f64) -> Instrument {
        Instrument {
            range_mm: Some((range_in.0 * 25.4, range_in.1 * 25.4)),
            zero_mm: zero_in * 25.4,
            ..Instrument::shop_default(Unit::Inch)
        }
    }

    /// 1.8642 is 1 in of frame, 8 tenths, two lines of 0.025, 14 thou and 2 tenths of a thou: arithmetic.
    #[test]
    fn the_zero_is_put_back_on_the_micrometer_that_takes_the_size_in() {
        let size_mm = 1.8642 * 25.4;
        let plain = "1.8642 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 2";
        assert_eq!(as_read(&[], size_mm, Unit::Inch), plain);
        assert_eq!(as_read(&[micrometer((2.0, 3.0), 0.0003)], size_mm, Unit::Inch), plain);
        assert_eq!(
            as_read(&[micrometer((2.0, 3.0), 0.0003), micrometer((1.0, 2.0), 0.0001)], size_mm, Unit::Inch),
            "1.8643 in on the 1–2: sleeve 8, two lines, thimble 14, vernier 3 (it reads 0.0001 large)"
        );
        assert_eq!(as_read(&[], f64::NAN, Unit::Inch), "beyond every micrometer");
    }
}
