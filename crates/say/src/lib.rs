//! Every name, figure and sentence that a person reads, in the language of the shop.
//!
//! A room that computes says *what* it found, as a kind with its quantities: it implements [`Told`] for that kind, which
//! gives a [`Message`]: the key of a message and what stands in it. How it is said is written here and nowhere else, in
//! `languages/<tag>/`, one folder a language, one whole sentence a case. [`Words`] is one shop's way of speaking: the
//! language, and in British English the word for a crankpin.
//!
//! ```
//! use journal::{JournalId, SetName};
//! use say::{Tongue, Words};
//!
//! let second = JournalId { set: SetName::Pin, number: 2 };
//! assert_eq!(Words::of_setting(Some("pin")).journal(second), "Pin 2");
//! assert_eq!(Words::of_setting(Some("big end")).journal(second), "Big end 2");
//! assert_eq!(Words::from(Tongue::AmericanEnglish).journal(second), "Rod journal 2");
//! assert_eq!(Words::from(Tongue::German).journal(second), "Hubzapfen 2");
//! assert_eq!(Words::from(Tongue::Spanish).journal(second), "Muñequilla 2");
//! ```
//!
//! What people typed (a name, a note, a remark, the mark on a crank) goes in as [`Quantity::Typed`] and comes out letter
//! for letter.
//!
//! What this crate does not do: it computes nothing and rounds nothing anew. The digits of a size are those that `units`
//! prints; only their point or comma is the language's.

mod figures;
mod languages;
mod message;
mod tongue;
mod words;

pub use figures::{Chance, Moment, Size};
pub use languages::{FILES, Fault};
pub use message::{Message, Quantity, Told};
pub use tongue::{NoTongue, Tongue};
pub use words::{CrankpinWord, Words, capital};
