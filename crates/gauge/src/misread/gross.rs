//! Readings that are far out: the wrong unit, the point misplaced, another range, another journal's size, a slip of
//! the fingers.

use super::set::Looked;
use super::{Kind, Reading, Search, words};

/// What would make sense of a reading that is far out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Explanation {
    pub(super) kind: Kind,
    /// What happened, to follow "1.8745 …".
    pub(super) why: String,
    pub(super) would_be_mm: f64,
}

/// The first explanation that brings the reading to a size for which `fits` holds, commonest slips first.
pub(super) fn explain(
    search: &Search,
    reading: &Reading,
    fits: &dyn Fn(f64) -> bool,
    others: &[&Looked],
) -> Option<Explanation> {
    point(search, reading, fits)
        .or_else(|| unit(search, reading, fits))
        .or_else(|| range(search, reading, fits))
        .or_else(|| other_set(search, reading.mm, reading.spot, others))
        .or_else(|| typing(search, reading, fits))
}

fn point(search: &Search, r: &Reading, fits: &dyn Fn(f64) -> bool) -> Option<Explanation> {
    let power = (-6..=6).filter(|&n| n != 0).find(|&n| fits(r.mm * 10f64.powi(n)))?;
    let would_be_mm = r.mm * 10f64.powi(power);
    let times =
        if power.abs() == 1 { "ten times".to_owned() } else { format!("{} times", 10i64.pow(power.unsigned_abs())) };
    let side = if power < 0 { "large" } else { "small" };
    let why = format!(
        "is {times} too {side}: the point is in the wrong place. {} would fit",
        search.size(would_be_mm, r.spot)
    );
    Some(Explanation { kind: Kind::TenTimesOut, why, would_be_mm })
}

fn unit(search: &Search, r: &Reading, fits: &dyn Fn(f64) -> bool) -> Option<Explanation> {
    let (would_be_mm, looks) = if fits(r.mm / 25.4) {
        (r.mm / 25.4, units::Unit::Millimetre)
    } else if fits(r.mm * 25.4) {
        (r.mm * 25.4, units::Unit::Inch)
    } else {
        return None;
    };
    let number = units::show_mm(would_be_mm, looks, looks.usual_decimals());
    let why = format!(
        "looks like {}: {number} {looks} is {} {}, which would fit",
        if looks == units::Unit::Inch { "inches" } else { "millimetres" },
        search.size(would_be_mm, r.spot),
        search.unit,
    );
    Some(Explanation { kind: Kind::OtherUnit, why, would_be_mm })
}

fn range(search: &Search, r: &Reading, fits: &dyn Fn(f64) -> bool) -> Option<Explanation> {
    let frame = search.spots.get(r.spot)?.frame_mm;
    if !frame.is_finite() || frame <= 0.0 {
        return None;
    }
    let steps = (-8..=8).filter(|&n: &i32| n != 0).find(|&n| fits(r.mm + f64::from(n) * frame))?;
    let would_be_mm = r.mm + f64::from(steps) * frame;
    let away = if steps.abs() == 1 { "a whole".to_owned() } else { words::number(steps.unsigned_abs() as usize) };
    let why = format!(
        "is {away} {} of the micrometer's range away from {}, which would fit. Was it another micrometer?",
        if steps.abs() == 1 { "step" } else { "steps" },
        search.size(would_be_mm, r.spot),
    );
    Some(Explanation { kind: Kind::RangeStep, why, would_be_mm })
}

/// The journals of another set whose size this is.
pub(super) fn other_set(search: &Search, mm: f64, spot: usize, others: &[&Looked]) -> Option<Explanation> {
    let other = others.iter().find(|other| other.vote.level_mm.is_some_and(|l| mm > l - 0.25 && mm < l + 0.08))?;
    let level = other.vote.level_mm?;
    let name = other.vote.journals.first().map_or("another journal", |j| search.name(j.group));
    let why = format!(
        "is the size of {name} and its set ({}). Was it entered on the wrong journal?",
        search.size(level, spot)
    );
    Some(Explanation { kind: Kind::OtherSet, why, would_be_mm: mm })
}

/// What was typed, as a number, and the unit in millimetres that makes it the reading.
fn number_typed<'a>(search: &'a Search, r: &Reading) -> Option<(&'a str, f64, f64)> {
    let typed = search.spots.get(r.spot)?.typed.get(r.repeat)?;
    let was = number(typed).filter(|n| *n > 0.0)?;
    // A zero correction stands between what was typed and the reading; it is the same before and after the slip.
    let scale = [1.0, 25.4].into_iter().find(|s| (was * s - r.mm).abs() < 0.2)?;
    Some((typed, was, scale))
}

fn number(text: &str) -> Option<f64> {
    text.trim().replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite())
}

/// Longest text in which digits are tried.
const LONGEST: usize = 24;

/// The text with two neighbouring digits changed over that makes the reading fit, and that size.
pub(super) fn changed_over(search: &Search, r: &Reading, fits: &dyn Fn(f64) -> bool) -> Option<(String, f64)> {
    let (typed, was, scale) = number_typed(search, r)?;
    let chars: Vec<char> = typed.chars().collect();
    for i in 1..chars.len().min(LONGEST) {
        let mut changed = chars.clone();
        changed.swap(i - 1, i);
        let (Some(a), Some(b)) = (chars.get(i - 1), chars.get(i)) else { continue };
        if !a.is_ascii_digit() || !b.is_ascii_digit() || a == b {
            continue;
        }
        let text: String = changed.into_iter().collect();
        let Some(is) = number(&text) else { continue };
        let would_be_mm = r.mm + (is - was) * scale;
        if fits(would_be_mm) {
            return Some((text.trim().to_owned(), would_be_mm));
        }
    }
    None
}

/// The text with one digit changed that brings the reading nearest to a size, where it then fits.
pub(super) fn one_digit(
    search: &Search,
    r: &Reading,
    expected_mm: f64,
    fits: &dyn Fn(f64) -> bool,
) -> Option<(String, f64)> {
    let (typed, was, scale) = number_typed(search, r)?;
    let chars: Vec<char> = typed.chars().collect();
    let mut best: Option<(String, f64)> = None;
    for (i, c) in chars.iter().enumerate().take(LONGEST).filter(|(_, c)| c.is_ascii_digit()) {
        for digit in ('0'..='9').filter(|d| d != c) {
            let text: String = chars.iter().enumerate().map(|(j, c)| if i == j { digit } else { *c }).collect();
            let Some(is) = number(&text) else { continue };
            let mm = r.mm + (is - was) * scale;
            if fits(mm) && best.as_ref().is_none_or(|b| (mm - expected_mm).abs() < (b.1 - expected_mm).abs()) {
                best = Some((text.trim().to_owned(), mm));
            }
        }
    }
    best
}

/// Digits changed over or left out, as the typed text shows.
fn typing(search: &Search, r: &Reading, fits: &dyn Fn(f64) -> bool) -> Option<Explanation> {
    if let Some((text, would_be_mm)) = changed_over(search, r, fits) {
        let why = format!("would fit with two digits changed over: {text}");
        return Some(Explanation { kind: Kind::Mistyped, why, would_be_mm });
    }
    let (typed, _, scale) = number_typed(search, r)?;
    let decimals = typed.trim().split_once(['.', ',']).map_or(0, |(_, tail)| tail.len()) as i32;
    let graduation = search.spots.get(r.spot)?.graduation_mm;
    let last_place = 10f64.powi(-decimals) * scale;
    let short = graduation > 0.0 && last_place > 9.0 * graduation;
    let reach = (1..=10).map(|i| r.mm + last_place * f64::from(i) / 10.0).find(|e| fits(*e))?;
    short.then(|| Explanation {
        kind: Kind::Mistyped,
        why: format!(
            "has fewer digits than this instrument reads: something like {} would fit",
            search.size(reach, r.spot)
        ),
        would_be_mm: reach,
    })
}
