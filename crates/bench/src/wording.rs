//! What things are called on the pages.

use crank::{JournalId, SetName};
use jiff::{SignedDuration, Timestamp, tz::TimeZone};

/// What this shop calls the journal that carries the big end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum PinWord {
    /// As a British shop says.
    #[default]
    Pin,
    /// The same, by what runs on it.
    BigEnd,
    /// As an American shop says.
    RodJournal,
}

impl PinWord {
    pub(crate) const ALL: [PinWord; 3] = [PinWord::Pin, PinWord::BigEnd, PinWord::RodJournal];

    /// The word for one: `pin`.
    pub(crate) const fn one(self) -> &'static str {
        match self {
            PinWord::Pin => "pin",
            PinWord::BigEnd => "big end",
            PinWord::RodJournal => "rod journal",
        }
    }

    /// The word that the shop's settings hold, or the usual one.
    pub(crate) fn from_setting(word: Option<&str>) -> PinWord {
        PinWord::ALL.into_iter().find(|known| Some(known.one()) == word).unwrap_or_default()
    }

    /// A sentence from the rooms below, which say pin, as this shop says it.
    pub(crate) fn put(self, text: &str) -> String {
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
    pub(crate) fn journal(self, id: JournalId) -> String {
        match id.set {
            SetName::Main => format!("Main {}", id.number),
            SetName::Pin => format!("{} {}", capital(self.one()), id.number),
        }
    }

    /// `Mains`, `Big ends`.
    pub(crate) fn set(self, set: SetName) -> String {
        match set {
            SetName::Main => "Mains".to_owned(),
            SetName::Pin => format!("{}s", capital(self.one())),
        }
    }
}

/// With a capital first letter.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// `1 reading`, `36 readings`.
pub(crate) fn count(n: usize, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

/// The time of day of a moment in the record, by this computer's clock: `14:02`; with the day where it is not today.
pub(crate) fn clock(when: &str) -> String {
    let Ok(moment) = when.parse::<Timestamp>() else { return when.to_owned() };
    let here = moment.to_zoned_datetime(TimeZone::system());
    let today = Timestamp::now().to_zoned_datetime(TimeZone::system()).date();
    if here.date() == today {
        here.strftime("%H:%M").to_string()
    } else {
        here.strftime("%-d %b %Y, %H:%M").to_string()
    }
}

/// A moment with its day, for paper: `25 Nov 2026, 14:02`.
pub(crate) fn full_clock(when: &str) -> String {
    let Ok(moment) = when.parse::<Timestamp>() else { return when.to_owned() };
    moment.to_zoned_datetime(TimeZone::system()).strftime("%-d %b %Y, %H:%M").to_string()
}

/// The day of a moment in the record: `25 Nov 2026`.
pub(crate) fn day(when: &str) -> String {
    if let Ok(date) = when.parse::<jiff::civil::Date>() {
        return date.strftime("%-d %b %Y").to_string();
    }
    let Ok(moment) = when.parse::<Timestamp>() else { return when.to_owned() };
    moment.to_zoned_datetime(TimeZone::system()).strftime("%-d %b %Y").to_string()
}

/// The day it is today, by this computer's clock.
pub(crate) fn today() -> jiff::civil::Date {
    Timestamp::now().to_zoned_datetime(TimeZone::system()).date()
}

/// How long ago a moment was: `just now`, `20 minutes`, `3 hours`, `5 days`. A moment yet to come counts as now.
pub(crate) fn how_long(when: &str) -> String {
    let Ok(moment) = when.parse::<Timestamp>() else { return String::new() };
    let passed = Timestamp::now().duration_since(moment).max(SignedDuration::ZERO);
    let minutes = usize::try_from(passed.as_mins()).unwrap_or(0);
    match minutes {
        0..=1 => "just now".to_owned(),
        2..=119 => count(minutes, "minute"),
        120..=2879 => count(minutes / 60, "hour"),
        _ => count(minutes / 1440, "day"),
    }
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

    #[test]
    fn times_are_told_as_people_tell_them() {
        let ago = |minutes: i64| (Timestamp::now() - SignedDuration::from_mins(minutes)).to_string();
        assert_eq!(how_long(&ago(0)), "just now");
        assert_eq!(how_long(&ago(-60)), "just now");
        assert_eq!(how_long(&ago(45)), "45 minutes");
        assert_eq!(how_long(&ago(60 * 50)), "2 days");
        assert_eq!(how_long("yesterday"), "");
    }
}
