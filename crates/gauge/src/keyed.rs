//! A reading as it was keyed: as a size, as the last digits of one, as so much over or under a reference, or as what
//! stands on sleeve, thimble and vernier.
//!
//! What cannot be is refused before it is kept: a number with too few places for the micrometer, a size that the
//! micrometer does not reach, a thimble division that no thimble has. What is merely unlikely is taken; [`crate::misread`]
//! looks at it beside its neighbours.

use std::fmt;

use units::{Departure, Entry, Length, ReadError, Unit, digits_for, read, read_departure};

use crate::Instrument;
use crate::scale::{Frame, ScaleError, Setting, frame_for};

/// How readings of a micrometer are keyed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum KeyedAs {
    /// The size. What stands before the point may be left out where the micrometer's range says it.
    Size,
    /// The last digits after a part that stays: three where the micrometer reads tenths of a thou or microns, else two.
    LastDigits {
        /// What stays: `2.4` (inch, to the tenth) or `62.` (whole millimetres).
        after: String,
    },
    /// So much over or under a reference, in thou or hundredths of a millimetre.
    Departure {
        /// The reference.
        from: Length,
    },
    /// Sleeve, lines, thimble and vernier in one row of digits: `41230`.
    Counts,
}

/// A reading that was taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keyed {
    /// The size.
    pub size: Length,
    /// The size as a sheet keeps it, with the places that the micrometer shows: `2.4480`, `62.18 mm`.
    pub as_size: String,
    /// How the digits add up, where they are not the size itself: `2 + 0.4 + 0.025 + 0.023 + 0.0000 = 2.4480`.
    pub sum: Option<String>,
}

/// Why what was keyed is no reading of this micrometer.
#[derive(Clone, Debug, PartialEq)]
pub enum NotKeyed {
    /// It is no number.
    NoNumber(ReadError),
    /// It has not the places that the micrometer shows.
    Places {
        /// How many it shows.
        wanted: u32,
        /// A reading that has them.
        like: String,
    },
    /// The micrometer does not reach it.
    OutOfRange {
        /// What was keyed.
        typed: String,
        /// The range, `2–3 in`.
        range: String,
        /// What it may be, as a sentence.
        perhaps: Option<String>,
    },
    /// Nothing and less than nothing is no size.
    NotAbove,
    /// Not as many digits as the way of keying wants.
    Digits {
        /// How many.
        wanted: usize,
        /// What they are.
        are: &'static str,
        /// An example.
        like: String,
    },
    /// The scale cannot show it.
    Scale(ScaleError),
    /// Counts need a micrometer whose range and steps are known.
    NoScale,
}

impl fmt::Display for NotKeyed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotKeyed::NoNumber(error) => {
                write!(f, "Reading must be a number: {error}")?;
                error.help().map_or(Ok(()), |help| write!(f, "; {help}"))?;
                f.write_str(".")
            }
            NotKeyed::Places { wanted, like } => {
                write!(f, "Reading must have {} for this micrometer, like {like}.", places(*wanted))
            }
            NotKeyed::OutOfRange { typed, range, perhaps } => {
                write!(f, "{typed} is outside this micrometer's {range}.")?;
                match perhaps {
                    Some(perhaps) => write!(f, " {perhaps}"),
                    None => f.write_str(" Look at the micrometer again, or change it."),
                }
            }
            NotKeyed::NotAbove => f.write_str("Reading must be above nought."),
            NotKeyed::Digits { wanted, are, like } => write!(f, "Key {wanted} digits, {are}, like {like}."),
            NotKeyed::Scale(ScaleError::Impossible { part, most, .. }) => {
                write!(f, "{} can be 0 to {most}. Look at the micrometer again.", capital(part))
            }
            NotKeyed::Scale(error) => {
                write!(f, "{}", capital(&error.to_string()))?;
                error.help().map_or(Ok(()), |help| write!(f, ": {help}"))?;
                f.write_str(".")
            }
            NotKeyed::NoScale => {
                f.write_str("Counts need a micrometer whose range and steps are known. Key the size, with its point.")
            }
        }
    }
}

impl std::error::Error for NotKeyed {}

/// Reads what was keyed for a reading of this micrometer.
///
/// A size with a point is taken as a size whatever the way of keying is, but not in departures, where it is one.
///
/// # Errors
/// [`NotKeyed`]; nothing is read in part.
/// # Limits
/// A unit typed after the number wins over the micrometer's own, and then the places are not counted.
/// # Example
/// ```
/// use gauge::keyed::{KeyedAs, keyed};
/// use units::Unit;
/// let mut mic = gauge::Instrument::shop_default(Unit::Inch);
/// mic.range_mm = Some((50.8, 76.2));
/// assert_eq!(keyed(".4480", &KeyedAs::Size, &mic)?.as_size, "2.4480");
/// let counts = keyed("41230", &KeyedAs::Counts, &mic)?;
/// assert_eq!(counts.sum.unwrap(), "2 + 0.4 + 0.025 + 0.023 + 0.0000 = 2.4480");
/// let short = keyed("2.448", &KeyedAs::Size, &mic).unwrap_err();
/// assert_eq!(short.to_string(), "Reading must have four decimals for this micrometer, like 2.4480.");
/// # Ok::<(), gauge::keyed::NotKeyed>(())
/// ```
pub fn keyed(typed: &str, how: &KeyedAs, with: &Instrument) -> Result<Keyed, NotKeyed> {
    let typed = typed.trim_matches(|c: char| c.is_whitespace() || c == '\u{a0}');
    let has_point = typed.contains(['.', ',']);
    match how {
        KeyedAs::Departure { from } => departure(typed, *from, with),
        KeyedAs::Counts if !has_point => counts(typed, with),
        KeyedAs::LastDigits { after } if !has_point => last_digits(typed, after, with),
        _ => size(typed, with),
    }
}

fn size(typed: &str, with: &Instrument) -> Result<Keyed, NotKeyed> {
    let whole = whole_number(typed, with);
    let full = whole.as_deref().unwrap_or(typed);
    let entry = read(full, with.unit).map_err(NotKeyed::NoNumber)?;
    let has_unit = full.trim_end_matches(|c: char| c.is_alphabetic() || c == '"').len() < full.len();
    within(&entry, with)?;
    let wanted = digits_for(with.graduation_mm, with.unit);
    if !has_unit && !(wanted..=wanted + 1).contains(&entry.decimals) {
        return Err(NotKeyed::Places { wanted, like: example(with) });
    }
    let as_size =
        if has_unit || full.contains('/') { full.to_owned() } else { entry.length.show(with.unit, entry.decimals) };
    let sum = whole.map(|full| format!("= {full}"));
    Ok(Keyed { size: entry.length, as_size, sum })
}

/// `.4480` with the whole number that the range of an inch micrometer says; a metric one has 25 whole numbers.
fn whole_number(typed: &str, with: &Instrument) -> Option<String> {
    let rest = typed.strip_prefix(['.', ','])?;
    let (low, high) = with.range_mm?;
    let (low, high) = (low / 25.4, high / 25.4);
    let one_inch = with.unit == Unit::Inch && (high - low - 1.0).abs() < 1e-6 && (low - low.round()).abs() < 1e-6;
    one_inch.then(|| format!("{}.{rest}", low.round()))
}

/// What stays before the last digits, for journals of about this size: tenths of an inch, whole millimetres.
///
/// # Example
/// ```
/// use units::Unit;
/// assert_eq!(gauge::keyed::stays(2.4480 * 25.4, Unit::Inch), "2.4");
/// assert_eq!(gauge::keyed::stays(62.18, Unit::Millimetre), "62.");
/// ```
pub fn stays(size_mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Inch => format!("{:.1}", (size_mm / 25.4 * 10.0).floor() / 10.0),
        Unit::Millimetre => format!("{:.0}.", size_mm.floor()),
    }
}

fn last_digits(typed: &str, after: &str, with: &Instrument) -> Result<Keyed, NotKeyed> {
    let wanted = match with.unit {
        Unit::Inch => digits_for(with.graduation_mm, with.unit).saturating_sub(1),
        Unit::Millimetre => digits_for(with.graduation_mm, with.unit),
    };
    let wanted = usize::try_from(wanted).unwrap_or(3);
    if typed.len() != wanted || !typed.bytes().all(|byte| byte.is_ascii_digit()) {
        let like = "480".chars().chain(std::iter::repeat('0')).take(wanted).collect();
        return Err(NotKeyed::Digits { wanted, are: "the last of the size", like });
    }
    let full = format!("{after}{typed}");
    let entry = read(&full, with.unit).map_err(NotKeyed::NoNumber)?;
    within(&entry, with)?;
    Ok(Keyed { size: entry.length, as_size: full.clone(), sum: Some(format!("= {full}")) })
}

fn departure(typed: &str, from: Length, with: &Instrument) -> Result<Keyed, NotKeyed> {
    let (step, name) = match with.unit {
        Unit::Inch => (Departure::Thou, "thou"),
        Unit::Millimetre => (Departure::Hundredths, "hundredths"),
    };
    let entry = read_departure(typed, from, step).map_err(NotKeyed::NoNumber)?;
    within(&entry, with)?;
    let decimals = digits_for(with.graduation_mm, with.unit).max(entry.decimals);
    let as_size = entry.length.show(with.unit, decimals);
    let sum = format!("{} {typed} {name} = {as_size}", from.show(with.unit, decimals));
    Ok(Keyed { size: entry.length, as_size, sum: Some(sum) })
}

fn counts(typed: &str, with: &Instrument) -> Result<Keyed, NotKeyed> {
    // Only a stated range says which whole number stands before the sleeve's.
    let frame = with.range_mm.and(with.frame(Length::ZERO)).ok_or(NotKeyed::NoScale)?;
    let scale = frame.scale();
    // A sleeve figure has one digit in inches, two in millimetres; the lines one; the thimble two; the vernier one.
    let (sleeve, are, like) = match (scale.unit(), scale.has_vernier()) {
        (Unit::Inch, true) => (1, "sleeve, lines, thimble (two), vernier", "41230"),
        (Unit::Inch, false) => (1, "sleeve, lines, thimble (two)", "4123"),
        (Unit::Millimetre, true) => (2, "sleeve (two), half line 0 or 1, thimble (two), vernier", "121230"),
        (Unit::Millimetre, false) => (2, "sleeve (two), half line 0 or 1, thimble (two)", "12123"),
    };
    let wanted = sleeve + 3 + usize::from(scale.has_vernier());
    let digits = typed.len() == wanted && typed.bytes().all(|byte| byte.is_ascii_digit());
    let part = |from: usize, to: usize| typed.get(from..to).and_then(|part| part.parse::<u32>().ok());
    let parts = (part(0, sleeve), part(sleeve, sleeve + 1), part(sleeve + 1, sleeve + 3));
    let (true, (Some(figure), Some(lines), Some(thimble))) = (digits, parts) else {
        return Err(NotKeyed::Digits { wanted, are, like: like.to_owned() });
    };
    let vernier = if scale.has_vernier() { part(sleeve + 3, wanted) } else { None };
    let setting = Setting { sleeve: figure, lines, thimble, vernier };
    let size = frame.size(setting).map_err(NotKeyed::Scale)?;
    let as_size = size.show(scale.unit(), digits_for(with.graduation_mm, scale.unit()));
    Ok(Keyed { size, sum: Some(format!("{} = {as_size}", addends(frame, setting).join(" + "))), as_size })
}

/// What a size on a frame is made of, as it is added up: the lower limit, then what sleeve figure, lines, thimble and (where
/// there is one) vernier stand for. `2`, `0.4`, `0.025`, `0.023`, `0.0000`.
pub fn addends(frame: Frame, setting: Setting) -> Vec<String> {
    let scale = frame.scale();
    let unit = scale.unit();
    let show =
        |count: u32, one: Length, decimals: u32| Length::from_nm(one.nm() * i64::from(count)).show(unit, decimals);
    let (of_figure, of_line, of_division) = match unit {
        Unit::Inch => (1, 3, 3),
        Unit::Millimetre => (0, 1, 2),
    };
    let mut addends = vec![
        plain(frame.limits().0.mm(), unit),
        show(setting.sleeve, scale.figure(), of_figure),
        show(setting.lines, scale.turn(), of_line),
        show(setting.thimble, scale.division(), of_division),
    ];
    let finest = digits_for(scale.graduation().mm(), unit);
    addends.extend(setting.vernier.map(|line| show(line, scale.graduation(), finest)));
    addends
}

/// What to key for a size, where readings are keyed so: the size itself, or how far it is from the reference.
pub fn as_keyed(size: Length, how: &KeyedAs, with: &Instrument) -> String {
    let decimals = digits_for(with.graduation_mm, with.unit);
    match how {
        KeyedAs::Departure { from } => {
            // Steps of a thou or a hundredth: three or two places fewer.
            let (steps, fewer) = match with.unit {
                Unit::Inch => (1000, 3),
                Unit::Millimetre => (100, 2),
            };
            let apart = size - *from;
            Length::from_nm(apart.nm().saturating_mul(steps)).show(with.unit, decimals.saturating_sub(fewer))
        }
        KeyedAs::Size | KeyedAs::LastDigits { .. } | KeyedAs::Counts => size.show(with.unit, decimals),
    }
}

/// Whether the micrometer reaches a size. It travels a little beyond its range.
fn within(entry: &Entry, with: &Instrument) -> Result<(), NotKeyed> {
    const BEYOND: f64 = 0.01;
    if entry.mm <= 0.0 {
        return Err(NotKeyed::NotAbove);
    }
    let Some((low, high)) = with.range_mm else { return Ok(()) };
    let slack = BEYOND * (high - low);
    let reaches = |mm: f64| (low - slack..=high + slack).contains(&mm);
    if reaches(entry.mm) {
        return Ok(());
    }
    let unit = with.unit;
    let range = format!("{}–{} {unit}", plain(low, unit), plain(high, unit));
    Err(NotKeyed::OutOfRange { typed: entry.typed.clone(), range, perhaps: perhaps(entry, with, reaches) })
}

/// What a size beyond the range may be: the other unit, a point in the wrong place, another micrometer.
fn perhaps(entry: &Entry, with: &Instrument, reaches: impl Fn(f64) -> bool) -> Option<String> {
    let typed = &entry.typed;
    let (other, in_other_mm) = match entry.unit {
        Unit::Inch => (Unit::Millimetre, entry.mm / 25.4),
        Unit::Millimetre => (Unit::Inch, entry.mm * 25.4),
    };
    if reaches(in_other_mm) && entry.unit == with.unit {
        let size = Length::nearest_mm(in_other_mm)?.show(with.unit, digits_for(with.graduation_mm, with.unit));
        return Some(format!(
            "It looks like {}: {typed} {other} is {size} {}. If so, key {typed} {other}.",
            match other {
                Unit::Inch => "inches",
                Unit::Millimetre => "millimetres",
            },
            with.unit
        ));
    }
    if [0.0001, 0.001, 0.01, 0.1, 10.0, 100.0, 1000.0, 10_000.0].into_iter().any(|factor| reaches(entry.mm * factor)) {
        return Some(format!("Is the point in the right place? Key it like {}.", example(with)));
    }
    let (low, high) = frame_for(entry.length, with.unit);
    let (low, high) = (plain(low.mm(), with.unit), plain(high.mm(), with.unit));
    // What is far beyond any crank is no other micrometer, but a slip.
    (entry.mm < 400.0).then(|| format!("Is it the {low}–{high} {} micrometer?", with.unit))
}

/// A reading as this micrometer shows one.
fn example(with: &Instrument) -> String {
    let unit = with.unit;
    let (low, part) = match (with.range_mm, unit) {
        (Some((low, _)), Unit::Inch) => (low, 0.448 * 25.4),
        (Some((low, _)), Unit::Millimetre) => (low, 12.48),
        (None, Unit::Inch) => (25.4, 0.8745 * 25.4),
        (None, Unit::Millimetre) => (25.0, 22.612),
    };
    Length::nearest_mm(low + part).unwrap_or(Length::ZERO).show(unit, digits_for(with.graduation_mm, unit))
}

/// A limit of a range without noughts that say nothing.
fn plain(mm: f64, unit: Unit) -> String {
    let shown = Length::nearest_mm(mm).unwrap_or(Length::ZERO).show(unit, 4);
    if shown.contains('.') { shown.trim_end_matches('0').trim_end_matches('.').to_owned() } else { shown }
}

fn places(count: u32) -> String {
    const WORDS: [&str; 7] = ["no", "one", "two", "three", "four", "five", "six"];
    let word = usize::try_from(count).ok().and_then(|count| WORDS.get(count));
    match (word, count) {
        (Some(word), 1) => format!("{word} decimal"),
        (Some(word), _) => format!("{word} decimals"),
        (None, _) => format!("{count} decimals"),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Whether two readings of one spot with one micrometer agree, as far as the micrometer repeats.
///
/// They may differ by the repeatability limit, 2.8 standard deviations of one reading, and by one graduation, to which
/// either was rounded.
///
/// # Source
/// ISO 5725-6, 4.1 (repeatability limit; the clause from memory).
pub fn repeats(with: &Instrument, one_mm: f64, other_mm: f64) -> bool {
    const SLACK: f64 = 1e-9;
    (one_mm - other_mm).abs() <= 2.8 * with.repeatability_mm + with.graduation_mm + SLACK
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inch(low: f64) -> Instrument {
        Instrument { range_mm: Some((low * 25.4, (low + 1.0) * 25.4)), ..Instrument::shop_default(Unit::Inch) }
    }

    fn metric() -> Instrument {
        Instrument { range_mm: Some((50.0, 75.0)), graduation_mm: 0.001, ..Instrument::shop_default(Unit::Millimetre) }
    }

    fn says(typed: &str, how: &KeyedAs, with: &Instrument) -> String {
        match keyed(typed, how, with) {
            Ok(keyed) => keyed.as_size,
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn sizes_come_with_the_places_that_the_micrometer_shows() {
        let mic = inch(2.0);
        for (typed, expected) in [
            ("2.4480", "2.4480"),
            (" +2,4480\u{a0}", "2.4480"),
            (".4480", "2.4480"),
            ("2.44805", "2.44805"),
            ("2.4480 in", "2.4480 in"),
            ("62.18 mm", "62.18 mm"),
            ("2.448", "Reading must have four decimals for this micrometer, like 2.4480."),
            ("2.448000", "Reading must have four decimals for this micrometer, like 2.4480."),
            (
                "62.18",
                "62.18 is outside this micrometer's 2–3 in. It looks like millimetres: 62.18 mm is 2.4480 in. If so, key \
                 62.18 mm.",
            ),
            (
                "24480",
                "24480 is outside this micrometer's 2–3 in. Is the point in the right place? Key it like 2.4480.",
            ),
            ("3.4480", "3.4480 is outside this micrometer's 2–3 in. Is it the 3–4 in micrometer?"),
            ("-2.4480", "Reading must be above nought."),
        ] {
            assert_eq!(says(typed, &KeyedAs::Size, &mic), expected, "{typed}");
        }
        assert!(says("two", &KeyedAs::Size, &mic).starts_with("Reading must be a number: \"two\" has no number in it"));
    }

    /// Published readings, each with the figures on sleeve, thimble and vernier. Source: the module `scale` and its
    /// tests, which name theirs.
    #[test]
    fn counts_add_up_as_the_scale_does() {
        assert_eq!(says("41230", &KeyedAs::Counts, &inch(2.0)), "2.4480");
        assert_eq!(says("100000", &KeyedAs::Counts, &inch(2.0)), {
            "Key 5 digits, sleeve, lines, thimble (two), vernier, like 41230."
        });
        assert_eq!(says("44230", &KeyedAs::Counts, &inch(2.0)), {
            "Sleeve line can be 0 to 3. Look at the micrometer again."
        });
        assert_eq!(says("41250", &KeyedAs::Counts, &inch(2.0)), {
            "Thimble can be 0 to 24. Look at the micrometer again."
        });
        assert_eq!(says("121230", &KeyedAs::Counts, &metric()), "62.730");
        let keyed_counts = keyed("121234", &KeyedAs::Counts, &metric()).unwrap();
        assert_eq!(keyed_counts.sum.unwrap(), "50 + 12 + 0.5 + 0.23 + 0.004 = 62.734");
        let nobody_knows = Instrument::shop_default(Unit::Inch);
        assert_eq!(keyed("41230", &KeyedAs::Counts, &nobody_knows), Err(NotKeyed::NoScale));
    }

    #[test]
    fn last_digits_and_departures_are_spelt_out() {
        let after = KeyedAs::LastDigits { after: stays(2.4492 * 25.4, Unit::Inch) };
        assert_eq!(says("480", &after, &inch(2.0)), "2.4480");
        assert_eq!(says("48", &after, &inch(2.0)), "Key 3 digits, the last of the size, like 480.");
        assert_eq!(says("2.3990", &after, &inch(2.0)), "2.3990");
        let whole = KeyedAs::LastDigits { after: stays(62.182, Unit::Millimetre) };
        assert_eq!(says("182", &whole, &metric()), "62.182");
        let from = KeyedAs::Departure { from: read("2.4500", Unit::Inch).unwrap().length };
        let found = keyed("-2.0", &from, &inch(2.0)).unwrap();
        assert_eq!((found.as_size.as_str(), found.sum.as_deref()), ("2.4480", Some("2.4500 -2.0 thou = 2.4480")));
    }

    /// Whatever the way of keying is, what is to be keyed for a size comes out as that size.
    #[test]
    fn a_size_is_keyed_so_that_it_comes_out_again() {
        let from = KeyedAs::Departure { from: read("2.4500", Unit::Inch).unwrap().length };
        let size = read("2.4480", Unit::Inch).unwrap().length;
        assert_eq!(as_keyed(size, &from, &inch(2.0)), "-2.0");
        let after = KeyedAs::LastDigits { after: "2.4".to_owned() };
        for how in [KeyedAs::Size, KeyedAs::Counts, after, from] {
            let typed = as_keyed(size, &how, &inch(2.0));
            assert_eq!(keyed(&typed, &how, &inch(2.0)).unwrap().size, size, "{how:?} {typed}");
        }
        let metric_from = KeyedAs::Departure { from: read("62.000", Unit::Millimetre).unwrap().length };
        let size = read("62.183", Unit::Millimetre).unwrap().length;
        let typed = as_keyed(size, &metric_from, &metric());
        assert_eq!((typed.as_str(), keyed(&typed, &metric_from, &metric()).unwrap().size), ("18.3", size));
    }

    #[test]
    fn two_readings_of_a_spot_agree_within_what_the_micrometer_repeats() {
        let mic = inch(2.0);
        let mm = |inches: f64| inches * 25.4;
        assert!(repeats(&mic, mm(2.4480), mm(2.4482)));
        assert!(!repeats(&mic, mm(2.4480), mm(2.4483)));
    }

    /// A spindle travels a hundredth of its range beyond either end: 0.01 in of an inch, 0.25 of 25 mm.
    #[test]
    fn a_micrometer_reaches_a_hundredth_beyond_its_range() {
        let reads = |typed: &str, mic: &Instrument| keyed(typed, &KeyedAs::Size, mic).is_ok();
        for (typed, reached) in [("1.9899", false), ("1.9901", true), ("3.0099", true), ("3.0101", false)] {
            assert_eq!(reads(typed, &inch(2.0)), reached, "{typed}");
        }
        for (typed, reached) in [("49.749", false), ("49.751", true), ("75.249", true), ("75.251", false)] {
            assert_eq!(reads(typed, &metric()), reached, "{typed}");
        }
    }

    /// What stays is what the sleeve has passed, not what is nearest: 2.4980 is still 2.4, and 62.98 is still 62.
    #[test]
    fn what_stays_before_the_last_digits_is_not_rounded_up() {
        assert_eq!(stays(2.4980 * 25.4, Unit::Inch), "2.4");
        assert_eq!(stays(62.98, Unit::Millimetre), "62.");
    }
}
