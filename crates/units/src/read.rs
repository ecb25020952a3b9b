//! Reading a length as people type it.

use crate::{Length, Unit};

/// One length as it was typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The text, unchanged.
    pub typed: String,
    /// The unit the text was in.
    pub unit: Unit,
    /// The value to the nearest nanometre.
    pub length: Length,
    /// The value in millimetres, correctly rounded from the decimal that was typed. Differs from `length` only where
    /// somebody wrote more digits than a whole nanometre holds (a mean out of a calculator, say).
    pub mm: f64,
    /// Digits after the point as typed, which say how finely it was read; zero for fractions of an inch.
    pub decimals: u32,
}

/// Why a text is not a length.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("not a length")]
pub struct ReadError;

/// Reads a length; `unit` is what a bare number means.
///
/// # Errors
/// [`ReadError`] says what is wrong and what would do.
pub fn read(typed: &str, unit: Unit) -> Result<Entry, ReadError> {
    let number: f64 = typed.trim().parse().map_err(|_| ReadError)?;
    let mm = number * unit.mm();
    let length = Length::nearest_mm(mm).ok_or(ReadError)?;
    let decimals = typed.trim().split_once('.').map_or(0, |(_, tail)| tail.len() as u32);
    Ok(Entry { typed: typed.to_owned(), unit, length, mm, decimals })
}
