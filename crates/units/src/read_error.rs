//! Why a text is not a length, and what would do.

use std::fmt;

/// A text that is not a length: the text, and what is wrong with it.
///
/// Its `Display` says what is wrong; [`ReadError::help`] says what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadError {
    /// What was typed, shortened where it was very long.
    pub typed: String,
    /// What is wrong with it.
    pub fault: ReadFault,
}

/// What is wrong with a text that should be a length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadFault {
    /// Nothing, or only spaces.
    Empty,
    /// More characters than any length needs.
    TooLong,
    /// A character that does not print.
    Control(char),
    /// No digit anywhere (`abc`, `NaN`, `inf`).
    NoNumber,
    /// More than one decimal point, or more than one comma.
    TwoPoints,
    /// A comma and a point: thousands set off, or two numbers.
    CommaAndPoint,
    /// Digits with a space between them that are not a fraction.
    TwoNumbers,
    /// A character that no number holds.
    Stray(char),
    /// Something around a stroke that is not `7/8`, `1 7/8` or `1-7/8`.
    NotAFraction,
    /// A fraction of this many, which is nought or more than 1000.
    Denominator(String),
    /// A whole number followed by a fraction of one or more (`1 9/8`).
    FractionOverOne,
    /// More than 30 digits, or more than 37 of them after the point.
    TooManyDigits,
    /// Beyond 1 km either way.
    TooLarge,
    /// An ending that is no unit.
    UnknownUnit(String),
    /// An ending that means different lengths in inches and in millimetres, where the wrong one of them is in use.
    AmbiguousUnit(String),
}

impl ReadError {
    pub(crate) fn new(typed: &str, fault: ReadFault) -> ReadError {
        const KEPT: usize = 40;
        let mut kept: String = typed.chars().take(KEPT).collect();
        if kept.len() < typed.len() {
            kept.push('…');
        }
        ReadError { typed: kept, fault }
    }

    /// What to do about it.
    pub fn help(&self) -> Option<String> {
        let help = match &self.fault {
            ReadFault::Empty | ReadFault::NoNumber => "type a size such as 1.8745, 1 7/8, 47.612 mm or 12 thou",
            ReadFault::TooLong => "type one size, such as 1.8745",
            ReadFault::Control(_) => "type it again by hand: such characters come along when text is copied",
            ReadFault::TwoPoints => "were two numbers run together? Type one, with one point",
            ReadFault::CommaAndPoint => "use one of them, as the point, and do not set off thousands: 1874.5",
            ReadFault::TwoNumbers => "type one number; a fraction is typed 1 7/8",
            ReadFault::Stray(_) => "type digits with one point, then the unit if need be: 1.8745 or 47.612 mm",
            ReadFault::NotAFraction => "type a fraction as 7/8, 1 7/8 or 1-7/8",
            ReadFault::Denominator(_) => "type a fraction such as 7/8, or the decimal",
            ReadFault::FractionOverOne => "type a fraction below one after the whole number, as in 1 7/8",
            ReadFault::TooManyDigits => "leave off the digits that no instrument shows",
            ReadFault::TooLarge => "is a decimal point missing?",
            ReadFault::UnknownUnit(_) => "units are in, mm, thou, tenths (of a thou), hundredths (of a mm) and microns",
            ReadFault::AmbiguousUnit(_) => "type it in inches or millimetres: 0.0005 in, 0.5 mm",
        };
        Some(help.to_owned())
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Quoted by Debug, so that what does not print shows all the same.
        let typed = &self.typed;
        match &self.fault {
            ReadFault::Empty => write!(f, "nothing was typed where a size belongs"),
            ReadFault::TooLong => write!(f, "{typed:?} has more than 64 characters"),
            ReadFault::Control(found) => write!(f, "{typed:?} holds the unprintable character {found:?}"),
            ReadFault::NoNumber => write!(f, "{typed:?} has no number in it"),
            ReadFault::TwoPoints => write!(f, "{typed:?} has more than one decimal point"),
            ReadFault::CommaAndPoint => write!(f, "{typed:?} has both a comma and a point"),
            ReadFault::TwoNumbers => write!(f, "{typed:?} is more than one number"),
            ReadFault::Stray(found) => write!(f, "{typed:?} has {found:?} where only a number belongs"),
            ReadFault::NotAFraction => write!(f, "{typed:?} has a stroke but is not a fraction"),
            ReadFault::Denominator(found) => {
                write!(f, "{typed:?} has {found} below the stroke, where 1 to 1000 belongs")
            }
            ReadFault::FractionOverOne => write!(f, "{typed:?} has a fraction of one or more after a whole number"),
            ReadFault::TooManyDigits => {
                write!(f, "{typed:?} has more than 30 digits, or more than 37 places after the point")
            }
            ReadFault::TooLarge => write!(f, "{typed:?} is beyond 1 km"),
            ReadFault::UnknownUnit(found) => write!(f, "{typed:?} ends in {found:?}, which is no unit known here"),
            ReadFault::AmbiguousUnit(found) => {
                write!(f, "{typed:?} is in {found:?}, which mean one length in inches and another in millimetres")
            }
        }
    }
}

impl std::error::Error for ReadError {}
