//! Sentences of the rooms below that are not said by `say` yet.

use crank::SetName;
use say::{CrankpinWord, Tongue, Words, capital};

/// The old way: a finished sentence that says pin, searched for it. It knows nothing of what people typed in that sentence,
/// so nothing that anybody typed may come here.
pub trait OldWay {
    /// A sentence from the rooms below, which say pin, as this shop says it.
    fn put(self, text: &str) -> String;
}

impl OldWay for Words {
    fn put(self, text: &str) -> String {
        // The sentences are in English: a word of another language has no place in them.
        let says_pin = match self.tongue {
            Tongue::BritishEnglish => self.pin == CrankpinWord::Pin,
            Tongue::AmericanEnglish => false,
            Tongue::German | Tongue::Spanish => true,
        };
        if says_pin {
            return text.to_owned();
        }
        let one = self.one_of(SetName::Pin);
        let mut out = String::with_capacity(text.len() + 16);
        let mut rest = text;
        while let Some(at) = rest.to_ascii_lowercase().find("pin") {
            let (before, found) = rest.split_at(at);
            let (word, after) = found.split_at(3);
            let starts = !before.chars().next_back().is_some_and(char::is_alphanumeric);
            let ends = !after.trim_start_matches('s').chars().next().is_some_and(char::is_alphabetic);
            out.push_str(before);
            match (starts && ends, word.starts_with('P')) {
                (true, false) => out.push_str(&one),
                (true, true) => out.push_str(&capital(&one)),
                (false, _) => out.push_str(word),
            }
            rest = after;
        }
        out + rest
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
        let put = |text: &str| Words::from(Tongue::AmericanEnglish).put(text);
        assert_eq!(
            put("pin 2, rear: Pins go to 0.020; spindle"),
            "rod journal 2, rear: Rod journals go to 0.020; spindle"
        );
        assert_eq!(put("the crankpin is a pin"), "the crankpin is a rod journal");
        assert_eq!(Words::default().put("pin 2"), "pin 2");
        assert_eq!(Words::from(Tongue::German).put("the pins are worn"), "the pins are worn");
    }
}
