//! Exact lengths, and how people in the trade write them.
//!
//! Start with [`Length`]: a signed whole number of nanometres, in which a tenth of a thou (2540) and a micron
//! (1000) are both exact. [`Unit`] is the unit a document or an instrument is written in. [`Entry`] is one
//! length as somebody typed it: the text, the unit it turned out to be in, and the value.
//!
//! [`read`] reads an entry, [`read_departure`] one typed as so much over or under a reference size. [`Length::show`]
//! prints a recorded length and [`show_mm`] a computed one; [`digits_for`] says with how many digits.
//!
//! What this crate does not do: it knows nothing about cranks, instruments or files.

mod length;
mod read;
mod read_error;
mod show;

pub use length::{Length, Unit};
pub use read::{Departure, Entry, decimal, read, read_departure};
pub use read_error::{ReadError, ReadFault};
pub use show::{
    digits_for, show_mm, show_mm_as_microns, show_mm_as_thou, show_undersize_in_its_unit_mm, show_undersize_mm,
};
