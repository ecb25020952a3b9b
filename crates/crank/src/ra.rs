//! Roughness as people type it: which unit a figure is in, and when that has to be asked.
//!
//! A micron is 39.4 microinches, and either is a thousandth or a millionth of what the sizes of the same sheet are in. So a
//! bare figure that makes sense in another unit only is never taken in its own.

use units::Unit;

/// What Ra of a journal may be: a mirror, and a turned surface that nobody ground. Common practice, no source.
const POSSIBLE_UM: (f64, f64) = (0.005, 50.0);
/// What Ra of a ground, polished or worn journal usually is: books ask for 0.2 to 0.4 µm (8 to 16 microinches), a journal that
/// ran dirty shows a few times that. Common practice, no source. Both ends stand less than one factor of 39.4 apart, so no
/// figure is usual in microns and in microinches.
const USUAL_UM: (f64, f64) = (0.05, 1.9);

/// The unit of a roughness.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RaUnit {
    /// A thousandth of a millimetre.
    Micron,
    /// A millionth of an inch.
    Microinch,
    /// A millimetre, as a book in millimetres may print it.
    Millimetre,
    /// An inch, as a book in inches may print it.
    Inch,
}

impl RaUnit {
    const ALL: [RaUnit; 4] = [RaUnit::Micron, RaUnit::Microinch, RaUnit::Millimetre, RaUnit::Inch];

    /// What a bare figure is in, where sizes are in this unit.
    pub const fn of(unit: Unit) -> RaUnit {
        match unit {
            Unit::Inch => RaUnit::Microinch,
            Unit::Millimetre => RaUnit::Micron,
        }
    }

    /// Microns in one.
    pub const fn um(self) -> f64 {
        match self {
            RaUnit::Micron => 1.0,
            RaUnit::Microinch => 0.0254,
            RaUnit::Millimetre => 1e3,
            RaUnit::Inch => 25.4e3,
        }
    }

    /// Its sign.
    pub const fn sign(self) -> &'static str {
        match self {
            RaUnit::Micron => "µm",
            RaUnit::Microinch => "µin",
            RaUnit::Millimetre => "mm",
            RaUnit::Inch => "in",
        }
    }

    /// The unit that a word behind a figure names.
    fn named(word: &str) -> Option<RaUnit> {
        // Keyboards give the micro sign, some programs the Greek letter, which looks the same.
        let plain = word.trim_end_matches('.').replace('\u{3bc}', "µ").to_lowercase();
        Some(match plain.as_str() {
            "µm" | "um" | "micron" | "microns" | "micrometre" | "micrometres" | "micrometer" | "micrometers" => {
                RaUnit::Micron
            }
            "µin" | "uin" | "µ\"" | "microinch" | "microinches" => RaUnit::Microinch,
            "mm" => RaUnit::Millimetre,
            "in" | "inch" | "inches" | "\"" => RaUnit::Inch,
            _ => return None,
        })
    }
}

/// A roughness that was typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TypedRa {
    /// In microns.
    pub um: f64,
    /// The unit it was typed in.
    pub unit: RaUnit,
    /// Digits after the point, in that unit.
    pub decimals: u32,
}

/// Why a roughness cannot be taken as it was typed.
#[derive(Clone, Debug, PartialEq)]
pub enum NotARa {
    /// There is no number; why not.
    NoNumber(String),
    /// The word behind it names no unit of roughness.
    UnknownUnit(String),
    /// A bare figure that is out of all proportion in its own unit and usual in another.
    Which {
        /// The unit that a bare figure would be in.
        own: RaUnit,
        /// The unit that it was most likely read in.
        likely: RaUnit,
    },
    /// No journal is so smooth or so rough.
    NotPossible {
        /// What it would be, in microns.
        um: f64,
    },
}

/// Figure and unit of a text; the unit is what a word behind the figure says, or else `bare`. Nothing is judged.
///
/// # Errors
/// [`NotARa::NoNumber`] or [`NotARa::UnknownUnit`].
pub fn typed_ra(typed: &str, bare: RaUnit) -> Result<(TypedRa, bool), NotARa> {
    let text = typed.trim();
    let end = text.rfind(|c: char| c.is_ascii_digit()).map_or(0, |last| last + 1);
    let (number, word) = text.split_at(end);
    let (number, word) = match word.strip_prefix(['.', ',']) {
        Some(rest) => (text.get(..=end).unwrap_or(number), rest.trim()),
        None => (number, word.trim()),
    };
    let (digits, decimals) = units::decimal(number).map_err(|error| NotARa::NoNumber(error.to_string()))?;
    let unit = match word {
        "" => bare,
        word => RaUnit::named(word).ok_or_else(|| NotARa::UnknownUnit(word.chars().take(30).collect()))?,
    };
    // The standard library reads a decimal correctly rounded.
    let value: f64 = format!("{digits}e-{decimals}").parse().unwrap_or(f64::NAN);
    Ok((TypedRa { um: value * unit.um(), unit, decimals }, word.is_empty()))
}

/// Reads the Ra of a journal, in microns; `sizes` is the unit of the sheet, by which a bare figure is in microns or in
/// microinches.
///
/// # Errors
/// [`NotARa`]: a bare figure that would be usual in another unit and is not in its own has to be asked about.
///
/// # Example
/// ```
/// use crank::{NotARa, RaUnit, read_ra};
/// use units::Unit;
/// assert!((read_ra("10", Unit::Inch).unwrap().um - 0.254).abs() < 1e-12);
/// assert_eq!(read_ra("0.25 µm", Unit::Inch).unwrap().um, 0.25);
/// // A quarter of a microinch is smoother than any journal: it was read in microns.
/// assert_eq!(
///     read_ra("0.25", Unit::Inch),
///     Err(NotARa::Which { own: RaUnit::Microinch, likely: RaUnit::Micron })
/// );
/// ```
pub fn read_ra(typed: &str, sizes: Unit) -> Result<TypedRa, NotARa> {
    let own = RaUnit::of(sizes);
    let (ra, is_bare) = typed_ra(typed, own)?;
    let within = |um: f64, (low, high): (f64, f64)| (low..=high).contains(&um);
    if is_bare && !within(ra.um, USUAL_UM) {
        let figure = ra.um / own.um();
        let likely = RaUnit::ALL.into_iter().find(|other| *other != own && within(figure * other.um(), USUAL_UM));
        if let Some(likely) = likely {
            return Err(NotARa::Which { own, likely });
        }
    }
    if within(ra.um, POSSIBLE_UM) { Ok(ra) } else { Err(NotARa::NotPossible { um: ra.um }) }
}

/// A roughness in both units, so that nobody is wrong by 25 or 40: that of the sheet first, `10 µin (0.254 µm)`.
pub fn show_ra(um: f64, sizes: Unit) -> String {
    let microns = format!("{} µm", trimmed(um, 3, 2));
    let microinches = format!("{} µin", trimmed(um / RaUnit::Microinch.um(), 1, 0));
    match sizes {
        Unit::Inch => format!("{microinches} ({microns})"),
        Unit::Millimetre => format!("{microns} ({microinches})"),
    }
}

/// A figure with at most so many decimals, without noughts at its end beyond the least.
fn trimmed(value: f64, most: usize, least: usize) -> String {
    let mut text = format!("{value:.most$}");
    for _ in least..most {
        match text.strip_suffix('0') {
            Some(shorter) => text = shorter.to_owned(),
            None => break,
        }
    }
    text.trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    const IN: Unit = Unit::Inch;
    const MM: Unit = Unit::Millimetre;

    fn um(typed: &str, sizes: Unit) -> f64 {
        read_ra(typed, sizes).unwrap_or_else(|fault| panic!("{typed}: {fault:?}")).um
    }

    #[test]
    fn the_same_surface_typed_in_every_unit() {
        // 0.254 µm is 10 microinches exactly, for an inch is 25.4 mm by definition (1959).
        for (typed, sizes) in [
            ("10", IN),
            ("10 µin", MM),
            ("10 uin", MM),
            ("10 microinch", IN),
            ("0.000010 in", MM),
            ("0.254", MM),
            ("0,254", MM),
            ("0.254 µm", IN),
            ("0.254 \u{3bc}m", IN),
            ("0.254 micron", IN),
            ("0.000254 mm", IN),
        ] {
            assert!((um(typed, sizes) - 0.254).abs() < 1e-12, "{typed} in {sizes}: {}", um(typed, sizes));
        }
    }

    #[test]
    fn a_bare_figure_of_another_unit_is_asked_about() {
        let which = |own, likely| Err(NotARa::Which { own, likely });
        use RaUnit::{Inch, Microinch, Micron, Millimetre};
        assert_eq!(read_ra("0.25", IN), which(Microinch, Micron));
        assert_eq!(read_ra("1.2", IN), which(Microinch, Micron));
        assert_eq!(read_ra("10", MM), which(Micron, Microinch));
        assert_eq!(read_ra("0.000010", IN), which(Microinch, Inch));
        assert_eq!(read_ra("0.0003", MM), which(Micron, Millimetre));
        // Whoever writes the unit means it.
        assert_eq!(um("10 µm", MM), 10.0);
        assert!((um("1.2 µin", IN) - 0.03048).abs() < 1e-12);
    }

    /// No bare figure is usual in both units, so none is taken in one where the other was as likely.
    #[test]
    fn no_figure_is_usual_in_both_units() {
        assert!(USUAL_UM.1 / USUAL_UM.0 < 1.0 / RaUnit::Microinch.um());
        for n in 1..20_000 {
            let figure = f64::from(n) * 0.005;
            let both = [RaUnit::Micron, RaUnit::Microinch];
            let usual = both.iter().filter(|unit| (USUAL_UM.0..=USUAL_UM.1).contains(&(figure * unit.um())));
            assert!(usual.count() < 2, "{figure}");
        }
    }

    #[test]
    fn what_is_no_roughness_is_refused() {
        assert!(matches!(read_ra("smooth", IN), Err(NotARa::NoNumber(_))));
        assert!(matches!(read_ra("", IN), Err(NotARa::NoNumber(_))));
        assert_eq!(read_ra("10 thou", IN), Err(NotARa::UnknownUnit("thou".into())));
        assert!(matches!(read_ra("-10", IN), Err(NotARa::NotPossible { .. })));
        assert!(matches!(read_ra("0", MM), Err(NotARa::NotPossible { .. })));
        assert!(matches!(read_ra("90 µm", MM), Err(NotARa::NotPossible { .. })));
        assert!(matches!(read_ra("1e4000", MM), Err(NotARa::NoNumber(_) | NotARa::NotPossible { .. })));
    }

    #[test]
    fn both_units_are_shown() {
        assert_eq!(show_ra(0.254, IN), "10 µin (0.254 µm)");
        assert_eq!(show_ra(0.254, MM), "0.254 µm (10 µin)");
        assert_eq!(show_ra(0.3, MM), "0.30 µm (11.8 µin)");
        assert_eq!(show_ra(1.0, MM), "1.00 µm (39.4 µin)");
        assert_eq!(show_ra(14.5 * 0.0254, IN), "14.5 µin (0.368 µm)");
    }
}
