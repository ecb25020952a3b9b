//! What is to be said, before it is said in any language.

use journal::{JournalId, SetName};

use crate::figures::{Chance, Moment, Size};

/// The key of a message and the quantities that stand in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Message {
    pub(crate) key: &'static str,
    pub(crate) with: Vec<(&'static str, Quantity)>,
}

impl Message {
    /// The message of this key, with nothing in it yet.
    pub const fn new(key: &'static str) -> Message {
        Message { key, with: Vec::new() }
    }

    /// With this in the place of this name.
    #[must_use]
    pub fn with(mut self, name: &'static str, quantity: impl Into<Quantity>) -> Message {
        self.with.push((name, quantity.into()));
        self
    }

    /// With letters that somebody typed, which come out as they are.
    #[must_use]
    pub fn typed(self, name: &'static str, text: impl Into<String>) -> Message {
        self.with(name, Quantity::Typed(text.into()))
    }

    /// With a word that the message chooses by and never prints.
    #[must_use]
    pub fn case(self, name: &'static str, case: &'static str) -> Message {
        self.with(name, Quantity::Case(case))
    }

    /// With a count, by which the message takes its plural.
    #[must_use]
    pub fn count(self, name: &'static str, count: usize) -> Message {
        self.with(name, Quantity::Count(count))
    }

    /// Which message it is.
    pub const fn key(&self) -> &'static str {
        self.key
    }
}

/// A kind of thing to say, with its quantities, of a room that computes.
pub trait Told {
    /// What is to be said of it.
    fn message(&self) -> Message;
}

impl<T: Told + ?Sized> Told for &T {
    fn message(&self) -> Message {
        (**self).message()
    }
}

impl Told for Message {
    fn message(&self) -> Message {
        self.clone()
    }
}

/// Something that stands in a message. In the message file `$name` prints it; some have more under other names.
#[derive(Clone, Debug, PartialEq)]
pub enum Quantity {
    /// A journal: `$name` in the middle of a sentence, `$name-start` at its head, `$name-is` is `main` or `pin`.
    Journal(JournalId),
    /// Journals of one set, in the order of their numbers: as one journal, and `$name-count`.
    Journals(Vec<JournalId>),
    /// A whole set: as one journal.
    Set(SetName),
    /// A size with its unit.
    Size(Size),
    /// Two sizes of one unit, from the smaller to the larger.
    Window(Size, Size),
    /// An undersize.
    Undersize(Size),
    /// A chance, as cases in a hundred; `$name-words` in words.
    Chance(Chance),
    /// How many of something: `$name` chooses the plural and prints the figure.
    Count(usize),
    /// A figure with no unit, one that brings the signs of its units (a roughness) or a number that names something (a job):
    /// digits as they are, no mark between thousands.
    Number(String),
    /// A moment: its day, `$name-short` on a narrow paper, `$name-time` its time of day.
    Moment(Moment),
    /// A temperature in degrees Celsius.
    Celsius(f64),
    /// A tightening torque in newton metres.
    NewtonMetres(f64),
    /// A pressure in bar.
    Bar(f64),
    /// What the message chooses by. Never printed.
    Case(&'static str),
    /// What somebody typed, letter for letter.
    Typed(String),
    /// Something that is said elsewhere in full: `$name` in the middle of a sentence, `$name-start` at its head.
    Said(Box<Message>),
    /// One of a set, whichever.
    OneOf(SetName),
    /// Things one after another with a comma between.
    Listed(Vec<Quantity>),
    /// Things named one after another, the last joined by and; `$name-start` at the head of a sentence, `$name-count`.
    All(Vec<Quantity>),
    /// Things named one after another, the last joined by or; `$name-start` and `$name-count` likewise.
    Any(Vec<Quantity>),
}

macro_rules! from {
    ($($what:ty => $kind:ident),* $(,)?) => {$(
        impl From<$what> for Quantity {
            fn from(what: $what) -> Quantity {
                Quantity::$kind(what.into())
            }
        }
    )*};
}

from! {
    JournalId => Journal,
    SetName => Set,
    Size => Size,
    Chance => Chance,
    Moment => Moment,
}

impl From<i64> for Quantity {
    fn from(number: i64) -> Quantity {
        Quantity::Number(number.to_string())
    }
}

impl From<Message> for Quantity {
    fn from(message: Message) -> Quantity {
        Quantity::Said(Box::new(message))
    }
}
