//! Chances and undersizes in words. One table, used everywhere, so that the same chance never goes by two names.

use units::Unit;

/// With a capital first letter, as a sentence begins.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A chance as a number of cases in a hundred; never a bare none or all.
///
/// # Example
/// ```
/// use regrind::words::in_hundred;
/// assert_eq!(in_hundred(0.84), "84 in 100");
/// assert_eq!(in_hundred(0.999), "more than 99 in 100");
/// ```
pub fn in_hundred(share: f64) -> String {
    if share >= 0.995 {
        "more than 99 in 100".into()
    } else if share < 0.005 {
        "fewer than 1 in 100".into()
    } else {
        format!("{} in 100", (share * 100.0).round().clamp(1.0, 99.0))
    }
}

/// A chance in words.
pub fn likelihood(share: f64) -> &'static str {
    const TABLE: [(f64, &str); 8] = [
        (0.995, "almost certain"),
        (0.95, "very likely"),
        (0.80, "likely"),
        (0.60, "more likely than not"),
        (0.40, "could go either way"),
        (0.20, "unlikely"),
        (0.05, "very unlikely"),
        (0.005, "hardly a chance"),
    ];
    TABLE.iter().find(|&&(from, _)| share >= from).map_or("almost none", |&(_, words)| words)
}

/// How many of twenty dots are full for a chance; never all of them below 0.975, nor none above 0.025.
pub fn dots_of_twenty(share: f64) -> usize {
    match (share * 20.0).round() as usize {
        20 if share < 0.975 => 19,
        0 if share > 0.025 => 1,
        full => full.min(20),
    }
}

/// `standard`, or as [`under`].
pub fn standard_or_under(undersize_mm: f64, unit: Unit) -> String {
    if undersize_mm == 0.0 { "standard".to_owned() } else { under(undersize_mm, unit) }
}

/// `0.010 in under` as the trade writes it; an undersize of the other unit's ladder in that unit.
///
/// # Example
/// ```
/// assert_eq!(regrind::words::under(0.254, units::Unit::Inch), "0.010 in under");
/// ```
pub fn under(undersize_mm: f64, unit: Unit) -> String {
    format!("{} under", units::show_undersize_in_its_unit_mm(undersize_mm, unit))
}

/// An undersize as a bare figure: three decimals of an inch or two of a millimetre, more only where it has them.
pub fn undersize_figure(undersize_mm: f64, unit: Unit) -> String {
    units::show_undersize_mm(undersize_mm, unit)
}

/// What the column of the table of journals means that says how each stands.
pub fn how_sure(within_at: f64, outside_at: f64) -> String {
    format!(
        "Within from {} up, outside from {} down, between them too close to call: how sure the readings make it that a journal \
         keeps all its limits where it was read; all over, if it was not read in two directions.",
        in_hundred(within_at),
        in_hundred(outside_at)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_are_said_one_way() {
        for (share, figure, words) in [
            (1.0, "more than 99 in 100", "almost certain"),
            (0.9949, "99 in 100", "very likely"),
            (0.94, "94 in 100", "likely"),
            (0.5, "50 in 100", "could go either way"),
            (0.006, "1 in 100", "hardly a chance"),
            (0.0049, "fewer than 1 in 100", "almost none"),
            (0.0, "fewer than 1 in 100", "almost none"),
        ] {
            assert_eq!(in_hundred(share), figure, "{share}");
            assert_eq!(likelihood(share), words, "{share}");
        }
    }

    #[test]
    fn dots_never_claim_certainty() {
        for (share, full) in [(1.0, 20), (0.974, 19), (0.976, 20), (0.026, 1), (0.024, 0), (0.5, 10), (0.0, 0)] {
            assert_eq!(dots_of_twenty(share), full, "{share}");
        }
    }

    #[test]
    fn an_undersize_shows_the_decimals_it_has() {
        assert_eq!(undersize_figure(0.254, Unit::Inch), "0.010");
        assert_eq!(undersize_figure(0.0025 * 25.4, Unit::Inch), "0.0025");
        assert_eq!(undersize_figure(0.25, Unit::Millimetre), "0.25");
        assert_eq!(undersize_figure(0.125, Unit::Millimetre), "0.125");
        assert_eq!(under(0.508, Unit::Inch), "0.020 in under");
        assert_eq!(under(0.25, Unit::Inch), "0.25 mm under");
    }
}
