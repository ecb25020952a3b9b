//! Sizes and counts in the messages.

use units::Unit;

/// A length in a unit with the digits its instrument supports.
pub(super) fn size(mm: f64, unit: Unit, graduation_mm: f64) -> String {
    units::show_mm(mm, unit, units::digits_for(graduation_mm, unit))
}

/// A graduation or a turn as it is usually called, without idle zeros: `0.025 in`.
pub(super) fn step(mm: f64, unit: Unit) -> String {
    let text = format!("{:.5}", mm / unit.mm());
    format!("{} {unit}", text.trim_end_matches('0').trim_end_matches('.'))
}

/// `one full turn`, `two full turns`.
pub(super) fn turns(count: i32) -> String {
    match count.abs() {
        1 => "one full turn".to_owned(),
        n => format!("{} full turns", number(n as usize)),
    }
}

/// `the other reading`, `the other three`.
pub(super) fn others(count: usize) -> String {
    if count == 1 { "the other reading here".to_owned() } else { format!("the other {} here", number(count)) }
}

/// Where a reading stands: `at the front across 90 degrees`.
pub(super) fn place(spot: Option<&super::Spot>) -> String {
    let Some(spot) = spot else { return "there".to_owned() };
    let at = if spot.at_mm.abs() < 1e-4 {
        "in the middle"
    } else if spot.at_mm < 0.0 {
        "towards the front"
    } else {
        "towards the rear"
    };
    format!("{at} across {:.0} degrees", spot.plane_deg)
}

/// Small counts as words.
pub(super) fn number(n: usize) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(n).map_or_else(|| n.to_string(), |w| (*w).to_owned())
}

/// `more` or `less`.
pub(super) fn more(difference: f64) -> &'static str {
    if difference < 0.0 { "less" } else { "more" }
}

/// The text with a capital first letter.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}
