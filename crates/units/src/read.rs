//! Reading a length as people type it.

use crate::length::nearest;
use crate::read_error::{ReadError, ReadFault};
use crate::{Length, Unit};

/// Most characters in one length.
const MOST_CHARACTERS: usize = 64;
/// Most digits of one number, so that it fits 128 bits together with the nanometres of an inch.
const MOST_DIGITS: usize = 30;
/// Most digits after the point.
const MOST_DECIMALS: i64 = 37;
/// Furthest from zero: 1 km.
const FURTHEST_NM: i128 = 1_000_000_000_000;

/// One length as it was typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The text, unchanged.
    pub typed: String,
    /// The unit the text was in: inches for thou and tenths, millimetres for hundredths and microns.
    pub unit: Unit,
    /// The value to the nearest nanometre, halves away from zero.
    pub length: Length,
    /// The value in millimetres, correctly rounded from the decimal that was typed. Differs from `length` only where
    /// somebody wrote more digits than a whole nanometre holds (a mean out of a calculator, say).
    pub mm: f64,
    /// Digits after the point in `unit`, which say how finely it was read: 4 for `1.8745` and for `3.5 thou`. Zero for
    /// fractions.
    pub decimals: u32,
}

/// What a bare number means in a field that asks for a departure from a reference size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Departure {
    /// Thousandths of an inch.
    Thou,
    /// Hundredths of a millimetre.
    Hundredths,
}

/// Reads a length; `unit` is what a bare number means.
///
/// Decimals with a point or a comma, fractions (`1 7/8`, `1-7/8`), exponents as JSON writes them (`5e-05`), a sign, and
/// a unit at the end: `in`, `"`, `mm`, `thou`, `mil`, `tenths` (of a thou), `hundredths` (of a millimetre), `µm`,
/// `um`, `micron`, in any case. Spaces around are ignored.
///
/// # Errors
/// [`ReadError`] says what is wrong and what would do. Nothing is read in part.
/// # Limits
/// 64 characters, 30 digits, 1 km. One comma is always the point: `1,874` is a little under two. `tenths` is refused
/// where `unit` is millimetres and `hundredths` where it is inches, for either means something else to some people
/// there.
/// # Example
/// ```
/// use units::{Length, Unit, read};
/// let size = read("1 7/8", Unit::Inch)?;
/// assert_eq!(size.length, Length::from_nm(47_625_000));
/// let size = read("47,612 mm", Unit::Inch)?;
/// assert_eq!((size.unit, size.length, size.decimals), (Unit::Millimetre, Length::from_nm(47_612_000), 3));
///
/// let wrong = read("0.0300.040", Unit::Inch).unwrap_err();
/// assert_eq!(wrong.to_string(), "\"0.0300.040\" has more than one decimal point");
/// assert_eq!(wrong.help().unwrap(), "were two numbers run together? Type one, with one point");
/// # Ok::<(), units::ReadError>(())
/// ```
pub fn read(typed: &str, unit: Unit) -> Result<Entry, ReadError> {
    let step = match unit {
        Unit::Inch => Step::INCH,
        Unit::Millimetre => Step::MM,
    };
    entry(typed, Length::ZERO, step).map_err(|fault| ReadError::new(typed, fault))
}

/// Reads a departure from a reference size; the entry's length is the size that results.
///
/// A bare number counts in `step`; one with a unit is in that unit. What was typed is kept, and `decimals` are those of
/// the departure, in inches or millimetres.
///
/// # Errors
/// As [`read`].
/// # Limits
/// It cannot know that somebody typed a whole size into a field for departures.
/// # Example
/// ```
/// use units::{Departure, Length, Unit, read_departure};
/// let size = read_departure("-3.5", Length::from_nm(53_975_000), Departure::Thou)?; // from 2.1250 in
/// assert_eq!(size.length.show(Unit::Inch, 4), "2.1215");
/// assert_eq!(size.decimals, 4);
/// # Ok::<(), units::ReadError>(())
/// ```
pub fn read_departure(typed: &str, reference: Length, step: Departure) -> Result<Entry, ReadError> {
    let step = match step {
        Departure::Thou => Step::THOU,
        Departure::Hundredths => Step::HUNDREDTH,
    };
    entry(typed, reference, step).map_err(|fault| ReadError::new(typed, fault))
}

/// Reads a plain decimal as a whole number of its last place, and the number of places: `-1.40` is `(-140, 2)`.
///
/// # Errors
/// As [`read`]; a unit or a fraction is refused.
/// # Limits
/// 64 characters, 30 digits, 37 of them after the point.
/// # Example
/// ```
/// assert_eq!(units::decimal("1000000000000.4")?, (10_000_000_000_004, 1));
/// # Ok::<(), units::ReadError>(())
/// ```
pub fn decimal(text: &str) -> Result<(i128, u32), ReadError> {
    let found = || {
        let (negative, number) = split_sign(printable(text)?);
        let (digits, decimals) = plain(number)?;
        Ok((if negative { -digits } else { digits }, decimals))
    };
    found().map_err(|fault| ReadError::new(text, fault))
}

/// What one is, in the number that was typed.
#[derive(Clone, Copy)]
struct Step {
    unit: Unit,
    nm: i128,
    /// Decimal places that one of these stands below one of `unit`.
    places: u32,
}

impl Step {
    const INCH: Step = Step { unit: Unit::Inch, nm: 25_400_000, places: 0 };
    const THOU: Step = Step { unit: Unit::Inch, nm: 25_400, places: 3 };
    const TENTH: Step = Step { unit: Unit::Inch, nm: 2_540, places: 4 };
    const MM: Step = Step { unit: Unit::Millimetre, nm: 1_000_000, places: 0 };
    const HUNDREDTH: Step = Step { unit: Unit::Millimetre, nm: 10_000, places: 2 };
    const MICRON: Step = Step { unit: Unit::Millimetre, nm: 1_000, places: 3 };

    /// The step that a trailing word names, in a field whose bare numbers are in `field`.
    fn named(word: &str, field: Unit) -> Result<Step, ReadFault> {
        let lower = word.to_lowercase();
        let step = match lower.strip_suffix('.').unwrap_or(&lower) {
            "in" | "inch" | "inches" | "\"" | "″" | "”" | "''" => Step::INCH,
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Step::MM,
            "thou" | "thous" | "mil" | "mils" => Step::THOU,
            // Keyboards give the micro sign, some programs the Greek letter, which looks the same.
            "um" | "µm" | "μm" | "micron" | "microns" => Step::MICRON,
            // A metric shop's tenth is 0.1 mm, forty times the inch one; a hundredth of an inch is 25 of the other.
            "tenth" | "tenths" if field == Unit::Inch => Step::TENTH,
            "hundredth" | "hundredths" if field == Unit::Millimetre => Step::HUNDREDTH,
            "tenth" | "tenths" | "hundredth" | "hundredths" => return Err(ReadFault::AmbiguousUnit(word.to_owned())),
            _ => return Err(ReadFault::UnknownUnit(word.to_owned())),
        };
        Ok(step)
    }
}

/// `reference` plus what was typed.
fn entry(typed: &str, reference: Length, bare: Step) -> Result<Entry, ReadFault> {
    let (negative, text) = split_sign(printable(typed)?);
    let (number, word) = split_unit(text);
    let ratio = Ratio::read(number)?;
    let step = if word.is_empty() { bare } else { Step::named(word, bare.unit)? };
    let size = ratio.over * step.nm * if negative { -1 } else { 1 };
    // In nanometres over `ratio.under`.
    let over = i128::from(reference.nm())
        .checked_mul(ratio.under)
        .and_then(|from| from.checked_add(size))
        .ok_or(ReadFault::TooManyDigits)?;
    let nm = nearest(over, ratio.under);
    if nm.abs() > FURTHEST_NM {
        return Err(ReadFault::TooLarge);
    }
    let mm = match ratio.decimals {
        // The standard library reads a decimal of any length correctly rounded.
        Some(decimals) => format!("{over}e-{}", decimals + 6).parse().map_err(|_| ReadFault::NoNumber)?,
        // Both are below 2^53, so each is exact and the quotient is rounded once.
        None => over as f64 / (ratio.under * 1_000_000) as f64,
    };
    Ok(Entry {
        typed: typed.to_owned(),
        unit: step.unit,
        length: Length::from_nm(i64::try_from(nm).map_err(|_| ReadFault::TooLarge)?),
        mm,
        decimals: ratio.decimals.map_or(0, |decimals| decimals + step.places),
    })
}

/// The text without the spaces around it, if it is short enough and everything in it prints.
fn printable(typed: &str) -> Result<&str, ReadFault> {
    if typed.chars().nth(MOST_CHARACTERS).is_some() {
        return Err(ReadFault::TooLong);
    }
    let text = typed.trim();
    match text.chars().find(|c| c.is_control()) {
        Some(found) => Err(ReadFault::Control(found)),
        None if text.is_empty() => Err(ReadFault::Empty),
        None => Ok(text),
    }
}

/// Hyphen, minus sign, and the dash that word processors put for either.
const MINUS: [char; 3] = ['-', '\u{2212}', '\u{2013}'];

/// Whether the text is negative, and what follows the sign.
fn split_sign(text: &str) -> (bool, &str) {
    if let Some(rest) = text.strip_prefix(MINUS) {
        (true, rest.trim_start())
    } else {
        (false, text.strip_prefix('+').map_or(text, str::trim_start))
    }
}

/// The number, up to its last digit or a point (or a stroke) just after that, and the word behind it.
fn split_unit(text: &str) -> (&str, &str) {
    let Some(last) = text.rfind(|c: char| c.is_ascii_digit()) else { return (text, "") };
    let (number, rest) = text.split_at(last + 1);
    match rest.strip_prefix(['.', ',', '/']) {
        Some(word) => (text.get(..last + 2).unwrap_or(number), word.trim_start()),
        None => (number, rest.trim_start()),
    }
}

/// A number as it was typed, without its sign.
struct Ratio {
    over: i128,
    under: i128,
    /// Digits after the point; none for a fraction.
    decimals: Option<u32>,
}

impl Ratio {
    fn read(number: &str) -> Result<Ratio, ReadFault> {
        if let Some((left, right)) = number.split_once('/') {
            return fraction(left.trim_end(), right.trim_start());
        }
        let (over, decimals) = plain(number)?;
        // `plain` keeps within 37 places.
        Ok(Ratio { over, under: 10i128.pow(decimals), decimals: Some(decimals) })
    }
}

/// `7`, `1 7` or `1-7` over `8`.
fn fraction(left: &str, right: &str) -> Result<Ratio, ReadFault> {
    let before = left.trim_end_matches(|c: char| c.is_ascii_digit());
    let (_, numerator) = left.split_at(before.len());
    let whole = match before.strip_suffix(MINUS) {
        Some(whole) => whole,
        None => before.trim_end(),
    };
    let read = |digits: &str| -> Result<i128, ReadFault> {
        if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return Err(ReadFault::NotAFraction);
        }
        // Six digits of millimetres are 1 km.
        if digits.len() > 6 {
            return Err(ReadFault::TooManyDigits);
        }
        digits.parse().map_err(|_| ReadFault::NotAFraction)
    };
    let (numerator, under) = (read(numerator)?, read(right)?);
    if !(1..=1000).contains(&under) {
        return Err(ReadFault::Denominator(right.to_owned()));
    }
    if before.is_empty() {
        return Ok(Ratio { over: numerator, under, decimals: None });
    }
    let whole = read(whole)?;
    if numerator >= under {
        return Err(ReadFault::FractionOverOne);
    }
    Ok(Ratio { over: whole * under + numerator, under, decimals: None })
}

/// Digits with at most one point, and perhaps an exponent: as a whole number of the last place, and the places.
fn plain(number: &str) -> Result<(i128, u32), ReadFault> {
    if !number.bytes().any(|b| b.is_ascii_digit()) {
        return Err(ReadFault::NoNumber);
    }
    let (mantissa, exponent) = match number.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, self::exponent(exponent)?),
        None => (number, 0),
    };
    if let Some(other) = mantissa.chars().find(|c| !c.is_ascii_digit() && !matches!(c, '.' | ',')) {
        return Err(if other.is_whitespace() { ReadFault::TwoNumbers } else { ReadFault::Stray(other) });
    }
    let (points, commas) = (mantissa.matches('.').count(), mantissa.matches(',').count());
    if points > 0 && commas > 0 {
        return Err(ReadFault::CommaAndPoint);
    }
    if points + commas > 1 {
        return Err(ReadFault::TwoPoints);
    }
    let (whole, rest) = mantissa.split_once(['.', ',']).unwrap_or((mantissa, ""));
    let all = format!("{whole}{rest}");
    if all.is_empty() {
        return Err(ReadFault::NoNumber);
    }
    let digits = all.trim_start_matches('0');
    if digits.len() > MOST_DIGITS {
        return Err(ReadFault::TooManyDigits);
    }
    let digits: i128 = if digits.is_empty() { 0 } else { digits.parse().map_err(|_| ReadFault::TooManyDigits)? };

    let decimals = rest.len() as i64 - exponent;
    if decimals > MOST_DECIMALS {
        return Err(ReadFault::TooManyDigits);
    }
    match u32::try_from(decimals) {
        Ok(decimals) => Ok((digits, decimals)),
        Err(_) if digits == 0 => Ok((0, 0)),
        Err(_) => u32::try_from(-decimals)
            .ok()
            .and_then(|zeros| 10i128.checked_pow(zeros))
            .and_then(|tens| digits.checked_mul(tens))
            .filter(|&number| number < 10i128.pow(MOST_DIGITS as u32))
            .map(|number| (number, 0))
            .ok_or(ReadFault::TooLarge),
    }
}

/// The whole number after an `e`. One of more than four digits is as hopeless as one of four.
fn exponent(text: &str) -> Result<i64, ReadFault> {
    let (negative, digits) = split_sign(text);
    if let Some(other) = digits.chars().find(|c| !c.is_ascii_digit()) {
        return Err(ReadFault::Stray(other));
    }
    if digits.is_empty() {
        return Err(ReadFault::NoNumber);
    }
    let size = digits.parse::<i64>().unwrap_or(9_999).min(9_999);
    Ok(if negative { -size } else { size })
}

#[cfg(test)]
mod tests;
