//! Figures by language: sizes, chances, counts, days.

use units::Unit;

use crate::tongue::Tongue;

/// A size as it is to be printed: the digits that `units` gave it, and its unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Size {
    figure: String,
    unit: &'static str,
}

impl Size {
    /// A computed number of millimetres in a unit, with so many digits after the point: see [`units::show_mm`].
    pub fn of_mm(mm: f64, unit: Unit, decimals: u32) -> Size {
        Size { figure: units::show_mm(mm, unit, decimals), unit: sign(unit) }
    }

    /// A recorded length in a unit, with so many digits after the point: see [`units::Length::show`].
    pub fn of_length(length: units::Length, unit: Unit, decimals: u32) -> Size {
        Size { figure: length.show(unit, decimals), unit: sign(unit) }
    }

    /// An undersize as the trade writes it, in the unit that it is a round figure of: see
    /// [`units::show_undersize_in_its_unit_mm`].
    pub fn of_undersize_mm(mm: f64, unit: Unit) -> Size {
        let shown = units::show_undersize_in_its_unit_mm(mm, unit);
        let (figure, of) = shown.split_once(' ').unwrap_or((&shown, ""));
        let unit = if of == sign(Unit::Inch) { sign(Unit::Inch) } else { sign(Unit::Millimetre) };
        Size { figure: figure.to_owned(), unit }
    }

    /// A computed number of millimetres in micrometres, with the sign and never the word, for in three of the four
    /// languages the word is also the tool: see [`units::show_mm_as_microns`].
    pub fn in_microns(mm: f64, decimals: u32) -> Size {
        let shown = units::show_mm_as_microns(mm, decimals);
        let (figure, _) = shown.split_once(' ').unwrap_or((&shown, ""));
        Size { figure: figure.to_owned(), unit: "µm" }
    }

    pub(crate) fn figure(&self, tongue: Tongue) -> String {
        decimal(&self.figure, tongue)
    }

    pub(crate) const fn unit(&self) -> &'static str {
        self.unit
    }
}

const fn sign(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "in",
        Unit::Millimetre => "mm",
    }
}

/// Digits with the point or comma of a language. A size has no mark between its thousands: one read as the other would be a
/// thousandfold wrong.
pub(crate) fn decimal(figure: &str, tongue: Tongue) -> String {
    if tongue.has_comma() { figure.replace('.', ",") } else { figure.to_owned() }
}

/// A count: with a comma between thousands in English; in German and Spanish a narrow no-break space, for a point there
/// could be taken for that of a decimal. In Spanish four digits stay together.
pub(crate) fn grouped(count: u64, tongue: Tongue) -> String {
    let digits = count.to_string();
    let mark = if tongue.has_comma() { '\u{202f}' } else { ',' };
    if digits.len() <= 3 || (tongue == Tongue::Spanish && digits.len() == 4) {
        return digits;
    }
    let mut out = String::with_capacity(digits.len() * 2);
    for (n, digit) in digits.chars().enumerate() {
        if n > 0 && (digits.len() - n).is_multiple_of(3) {
            out.push(mark);
        }
        out.push(digit);
    }
    out
}

/// A chance, from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance(pub f64);

impl Chance {
    /// Which of the ways to say it in figures, and the figure.
    pub(crate) fn in_hundred(self) -> (&'static str, String) {
        match self.0 {
            share if share >= 0.995 => ("most", "99".to_owned()),
            share if share < 0.005 => ("least", "1".to_owned()),
            share => ("between", format!("{}", (share * 100.0).round().clamp(1.0, 99.0))),
        }
    }

    /// Which of the ways to say it in words: one table, so that the same chance never goes by two names.
    pub(crate) fn likelihood(self) -> &'static str {
        const TABLE: [(f64, &str); 8] = [
            (0.995, "almost-certain"),
            (0.95, "very-likely"),
            (0.80, "likely"),
            (0.60, "rather"),
            (0.40, "open"),
            (0.20, "unlikely"),
            (0.05, "very-unlikely"),
            (0.005, "hardly"),
        ];
        TABLE.iter().find(|&&(from, _)| self.0 >= from).map_or("almost-no", |&(_, word)| word)
    }
}

/// A day, and the time of it where it has one, by the clock of whoever reads it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    /// The year.
    pub year: i16,
    /// The month, from 1.
    pub month: u8,
    /// The day of the month, from 1.
    pub day: u8,
    /// The hour, from 0 to 23.
    pub hour: u8,
    /// The minute.
    pub minute: u8,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousands_are_marked_so_that_nobody_takes_the_mark_for_a_decimal() {
        let all = |count: u64| Tongue::ALL.map(|tongue| grouped(count, tongue));
        assert_eq!(all(999), ["999"; 4]);
        assert_eq!(all(1250), ["1,250", "1,250", "1\u{202f}250", "1250"]);
        assert_eq!(all(20_000), ["20,000", "20,000", "20\u{202f}000", "20\u{202f}000"]);
        assert_eq!(grouped(1_234_567, Tongue::German), "1\u{202f}234\u{202f}567");
    }

    #[test]
    fn the_same_chance_has_one_name() {
        for (share, figure, words) in [
            (1.0, "most", "almost-certain"),
            (0.9949, "between", "very-likely"),
            (0.94, "between", "likely"),
            (0.5, "between", "open"),
            (0.006, "between", "hardly"),
            (0.0049, "least", "almost-no"),
            (0.0, "least", "almost-no"),
        ] {
            assert_eq!((Chance(share).in_hundred().0, Chance(share).likelihood()), (figure, words), "{share}");
        }
        assert_eq!(Chance(0.9949).in_hundred().1, "99");
        assert_eq!(Chance(0.006).in_hundred().1, "1");
    }

    #[test]
    fn an_undersize_keeps_the_unit_that_it_is_round_in() {
        assert_eq!(Size::of_undersize_mm(0.25, Unit::Inch), Size { figure: "0.25".to_owned(), unit: "mm" });
        assert_eq!(Size::of_undersize_mm(0.254, Unit::Inch), Size { figure: "0.010".to_owned(), unit: "in" });
    }
}
