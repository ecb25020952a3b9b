//! What can be drawn, by the words that ask for it.

use crank::{JournalId, SetName};

/// Everything that can be asked for, in words.
pub(super) const EVERYTHING: &str = "crank, wear, size, \"size pin\", ladder, \"ladder pin\", clearance, \"clearance \
                                     pin\", film, \"film main\", gauge, or a journal such as \"main 3\"";

/// One drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    Crank,
    Wear,
    Sizes(SetName),
    Ladder(SetName),
    Clearances(SetName),
    Film(SetName),
    Gauge,
    Journal(JournalId),
}

impl What {
    /// What some words ask for; nothing where they ask for no drawing.
    pub(super) fn of(words: &str) -> Option<What> {
        let parts: Vec<&str> = words.split_whitespace().collect();
        let (word, of) = match parts.as_slice() {
            [word] => (*word, None),
            [word, of] => (*word, Some(*of)),
            _ => return None,
        };
        // The set that is asked for, or the one that is meant where none is named.
        let set = |usual| of.map_or(Some(usual), |word| word.parse().ok());
        match (word, of) {
            ("crank", None) => Some(What::Crank),
            ("wear", None) => Some(What::Wear),
            ("gauge", None) => Some(What::Gauge),
            ("size", _) => set(SetName::Main).map(What::Sizes),
            ("ladder", _) => set(SetName::Main).map(What::Ladder),
            ("clearance", _) => set(SetName::Main).map(What::Clearances),
            // The film is thinnest where the load is.
            ("film", _) => set(SetName::Pin).map(What::Film),
            _ => words.parse().ok().map(What::Journal),
        }
    }

    /// Whether a case for the film is enough to draw it from.
    pub(super) const fn is_of_oil(self) -> bool {
        matches!(self, What::Film(_) | What::Gauge)
    }
}
