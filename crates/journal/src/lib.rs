//! The name of a journal: which set it belongs to, and its number from the nose.
//!
//! A sheet, the record, an address and the command line all name journals, and all of them are read here:
//!
//! ```
//! use journal::{JournalId, SetName};
//!
//! let third: JournalId = "Pin 3".parse()?;
//! assert_eq!(third, JournalId { set: SetName::Pin, number: 3 });
//! assert_eq!(third.to_string(), "pin 3");
//! # Ok::<(), journal::NotAJournal>(())
//! ```
//!
//! What this crate does not do: it does not know how many journals a crankshaft has, nor anything else of one.

use std::fmt;
use std::str::FromStr;

/// One of the two sets of journals on a crankshaft. All of a set are ground to one undersize.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SetName {
    /// The main journals, on the axis.
    Main,
    /// The crankpins, which carry the big ends.
    Pin,
}

impl SetName {
    /// Both sets, mains first, as the trade lists them.
    pub const BOTH: [SetName; 2] = [SetName::Main, SetName::Pin];

    /// `main` or `pin`, as a sheet writes it.
    pub const fn word(self) -> &'static str {
        match self {
            SetName::Main => "main",
            SetName::Pin => "pin",
        }
    }
}

impl fmt::Display for SetName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A word that names neither set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotASet;

impl fmt::Display for NotASet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("write main or pin")
    }
}

impl std::error::Error for NotASet {}

/// The word of a set, just as it is written: `main` or `pin`.
impl FromStr for SetName {
    type Err = NotASet;
    fn from_str(word: &str) -> Result<SetName, NotASet> {
        SetName::BOTH.into_iter().find(|set| set.word() == word).ok_or(NotASet)
    }
}

/// One journal: its set and its number from the nose, counted from one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct JournalId {
    /// Which set it belongs to.
    pub set: SetName,
    /// Its number from the nose, from one.
    pub number: usize,
}

impl fmt::Display for JournalId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.set, self.number)
    }
}

/// A text that names no journal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotAJournal {
    /// It is not the word of a set and a number.
    NoName,
    /// A set, but its journal 0.
    Zero(SetName),
}

impl fmt::Display for NotAJournal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotAJournal::NoName => f.write_str("count the journals from the nose and write main 1 or pin 1"),
            NotAJournal::Zero(set) => write!(f, "{set}s count from 1"),
        }
    }
}

impl std::error::Error for NotAJournal {}

/// What people call the journals of either set, the longer names first.
const CALLED: [(&str, SetName); 10] = [
    ("main journal", SetName::Main),
    ("main bearing", SetName::Main),
    ("main", SetName::Main),
    ("pin", SetName::Pin),
    ("crankpin", SetName::Pin),
    ("crank pin", SetName::Pin),
    ("rod journal", SetName::Pin),
    ("rod", SetName::Pin),
    ("big end", SetName::Pin),
    ("big-end", SetName::Pin),
];

/// `pin 2` of a sheet or the record, as freely as people write it (`Pin 2`, `pin2`, `big end 2`, `rod journal 2`), and `pin-2` of an address.
impl FromStr for JournalId {
    type Err = NotAJournal;
    fn from_str(name: &str) -> Result<JournalId, NotAJournal> {
        let lower = name.trim().to_lowercase();
        let named = |&(word, set): &(&str, SetName)| Some((set, lower.strip_prefix(word)?));
        let (set, number) = CALLED.iter().find_map(named).ok_or(NotAJournal::NoName)?;
        let number = number.strip_prefix('-').unwrap_or(number).trim();
        if number.is_empty() || !number.bytes().all(|byte| byte.is_ascii_digit()) {
            return Err(NotAJournal::NoName);
        }
        match number.parse() {
            Ok(0) => Err(NotAJournal::Zero(set)),
            Ok(number) => Ok(JournalId { set, number }),
            Err(_) => Err(NotAJournal::NoName), // more than any number that is counted with
        }
    }
}
