//! What things are called in one shop.

use crank::{JournalId, SetName};
use regrind::words::capital;

/// What this shop calls the journal that carries the big end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PinWord {
    /// As a British shop says.
    #[default]
    Pin,
    /// The same, by what runs on it.
    BigEnd,
    /// As an American shop says.
    RodJournal,
}

impl PinWord {
    /// All of them.
    pub const ALL: [PinWord; 3] = [PinWord::Pin, PinWord::BigEnd, PinWord::RodJournal];

    /// The word for one: `pin`.
    pub const fn one(self) -> &'static str {
        match self {
            PinWord::Pin => "pin",
            PinWord::BigEnd => "big end",
            PinWord::RodJournal => "rod journal",
        }
    }

    /// The word that the shop's settings hold, or the usual one.
    pub fn from_setting(word: Option<&str>) -> PinWord {
        PinWord::ALL.into_iter().find(|known| Some(known.one()) == word).unwrap_or_default()
    }

    /// A sentence from the rooms below, which say pin, as this shop says it.
    pub fn put(self, text: &str) -> String {
        if self == PinWord::Pin {
            return text.to_owned();
        }
        let mut out = String::with_capacity(text.len() + 16);
        let mut rest = text;
        while let Some(at) = rest.to_ascii_lowercase().find("pin") {
            let (before, found) = rest.split_at(at);
            let (word, after) = found.split_at(3);
            let starts = !before.chars().next_back().is_some_and(char::is_alphanumeric);
            let ends = !after.trim_start_matches('s').chars().next().is_some_and(char::is_alphabetic);
            out.push_str(before);
            match (starts && ends, word.starts_with('P')) {
                (true, false) => out.push_str(self.one()),
                (true, true) => out.push_str(&capital(self.one())),
                (false, _) => out.push_str(word),
            }
            rest = after;
        }
        out + rest
    }

    /// `Main 3`, `Big end 2`.
    pub fn journal(self, id: JournalId) -> String {
        match id.set {
            SetName::Main => format!("Main {}", id.number),
            SetName::Pin => format!("{} {}", capital(self.one()), id.number),
        }
    }

    /// `Mains`, `Big ends`.
    pub fn set(self, set: SetName) -> String {
        match set {
            SetName::Main => "Mains".to_owned(),
            SetName::Pin => format!("{}s", capital(self.one())),
        }
    }

    /// `mains`, `big ends`.
    pub fn plural(self, set: SetName) -> String {
        self.set(set).to_lowercase()
    }
}

/// `1 reading`, `36 readings`.
pub fn count(n: usize, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shop_that_says_rod_journal_reads_rod_journal() {
        let put = |text: &str| PinWord::RodJournal.put(text);
        assert_eq!(
            put("pin 2, rear: Pins go to 0.020; spindle"),
            "rod journal 2, rear: Rod journals go to 0.020; spindle"
        );
        assert_eq!(put("the crankpin is a pin"), "the crankpin is a rod journal");
        assert_eq!(PinWord::Pin.put("pin 2"), "pin 2");
    }
}
