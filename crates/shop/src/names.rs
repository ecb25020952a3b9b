//! Names as they are compared. A name is kept letter for letter as it was typed; whether two are one is asked here.
//!
//! One name can be written in many ways that look alike: é as one character or as two, letters of full width, a Cyrillic а
//! among Latin letters, a character that cannot be seen. Whoever answers for a signature must be one person in the record.

use unicode_normalization::UnicodeNormalization;
use unicode_security::{MixedScript, skeleton};

/// The form in which names are compared: Unicode's NFKC, in small letters, without blanks around.
pub fn one_form(name: &str) -> String {
    let small: String = name.trim().nfkc().flat_map(char::to_lowercase).collect();
    // Small letters of what was one character may be two.
    small.nfkc().collect()
}

/// Whether two names are one.
pub fn same_name(one: &str, other: &str) -> bool {
    one == other || one_form(one) == one_form(other)
}

/// Whether the letters of a name are of several alphabets that are not written together (the same standard, section 5).
fn mixes_alphabets(name: &str) -> bool {
    !name.is_single_script()
}

/// What is asked about a name before it is taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OddName {
    /// It looks like this one, which is known, and is another.
    LooksLike(String),
    /// Its letters are of several alphabets that are not written together.
    MixesAlphabets,
}

/// Whose name it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NameOf {
    /// The shop's mark on a crank.
    Mark,
    /// Somebody whose crank it is.
    Customer,
    /// Somebody who works here.
    Person,
}

impl OddName {
    /// The question.
    pub fn asks(&self, of: NameOf, name: &str) -> String {
        match (self, of) {
            (OddName::LooksLike(like), NameOf::Mark) => format!(
                "The mark {name} looks like {like}, which is on another crank, and is written otherwise. Is it right?"
            ),
            (OddName::LooksLike(like), NameOf::Customer) => format!(
                "{name} looks like {like}, a customer already, and is written with other letters. Is it somebody else?"
            ),
            (OddName::LooksLike(like), NameOf::Person) => format!(
                "{name} looks like {like}, who is in the list, and is written with other letters. Is it somebody else?"
            ),
            (OddName::MixesAlphabets, _) => {
                format!("{name} is written with letters of several alphabets that look alike. Is that right?")
            }
        }
    }
}

/// What is to be asked about a name, given those that are known: nothing where it is one of them.
pub fn odd_name<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<OddName> {
    let seen = |name: &str| skeleton(name).collect::<String>();
    let ours = one_form(name);
    let (skeleton_of_ours, mut like) = (seen(&ours), None);
    for other in known {
        let theirs = one_form(other);
        if theirs == ours {
            return None;
        }
        if like.is_none() && seen(&theirs) == skeleton_of_ours {
            like = Some(other.to_owned());
        }
    }
    like.map(OddName::LooksLike).or_else(|| mixes_alphabets(name).then_some(OddName::MixesAlphabets))
}

/// The first character of a name that cannot be seen, or that turns the direction of writing.
pub fn hidden(name: &str) -> Option<char> {
    name.chars().find(|c| is_hidden(*c))
}

/// Unicode's Default_Ignorable_Code_Point (DerivedCoreProperties.txt, from memory), with the marks between lines and
/// around annotations, and the braille pattern that is blank.
const fn is_hidden(c: char) -> bool {
    matches!(
        c,
        '\u{ad}'
            | '\u{34f}'
            | '\u{61c}'
            | '\u{115f}'..='\u{1160}'
            | '\u{17b4}'..='\u{17b5}'
            | '\u{180b}'..='\u{180f}'
            | '\u{200b}'..='\u{200f}'
            | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{2800}'
            | '\u{3164}'
            | '\u{fe00}'..='\u{fe0f}'
            | '\u{feff}'
            | '\u{ffa0}'
            | '\u{fff0}'..='\u{fffb}'
            | '\u{1bca0}'..='\u{1bca3}'
            | '\u{1d173}'..='\u{1d17a}'
            | '\u{e0000}'..='\u{e0fff}'
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_name_written_in_many_ways_is_one() {
        for (one, other) in [
            ("Zoë Klein", "Zoe\u{308} Klein"),
            ("Zoë Klein", "ZOË KLEIN"),
            ("Pat", "Ｐａｔ"),
            ("Pat", " Pat "),
            ("Pat Oakley", "Pat\u{a0}Oakley"),
            ("ﬁnn", "Finn"),
            ("İpek", "i\u{307}pek"),
        ] {
            assert!(same_name(one, other) && same_name(other, one), "{one} {other}");
            assert_eq!(odd_name(one, [other]), None, "{one} {other}");
        }
        for (one, other) in [("Pat", "Pit"), ("Zoë", "Zoe"), ("", "Pat"), ("Pat", "Pat Oakley")] {
            assert!(!same_name(one, other), "{one} {other}");
        }
    }

    #[test]
    fn another_name_that_looks_the_same_is_noticed() {
        // Cyrillic а and е; Greek omicron.
        for (one, other) in [("Pat", "P\u{430}t"), ("Peter", "P\u{435}ter"), ("Tom", "T\u{3bf}m")] {
            assert_eq!(odd_name(other, [one]), Some(OddName::LooksLike(one.to_owned())), "{one} {other}");
            assert!(mixes_alphabets(other) && !mixes_alphabets(one), "{other}");
        }
        for name in ["Юлия Орлова", "Νίκος", "Zoë Klein", "田中さくら", "O’Brien & Sons", "A. Miller 2"]
        {
            assert!(!mixes_alphabets(name), "{name}");
        }
    }

    #[test]
    fn what_is_known_is_not_asked_about() {
        let known = ["P\u{430}t", "Sam", "W-17"];
        assert_eq!(odd_name("Pat", known), Some(OddName::LooksLike("P\u{430}t".to_owned())));
        assert_eq!(odd_name("W-l7", known), Some(OddName::LooksLike("W-17".to_owned())), "the letter l for a one");
        assert_eq!(odd_name("P\u{435}ter", known), Some(OddName::MixesAlphabets));
        for name in ["SAM", "P\u{430}t", "W-18", "Юлия", ""] {
            assert_eq!(odd_name(name, known), None, "{name}");
        }
        // It is in the list already, and somebody said then that it is right.
        assert_eq!(odd_name("Pat", ["P\u{430}t", "Pat"]), None);
    }

    #[test]
    fn what_cannot_be_seen_is_found() {
        for c in ['\u{200b}', '\u{202e}', '\u{2066}', '\u{feff}', '\u{ad}', '\u{3164}', '\u{fe0f}', '\u{e0041}'] {
            assert_eq!(hidden(&format!("P{c}at")), Some(c), "U+{:04X}", c as u32);
        }
        for name in ["Zoë Klein", "Юлия", "田中", "O’Brien–Smith", "A\u{a0}B", "e\u{301}"] {
            assert_eq!(hidden(name), None, "{name}");
        }
    }
}
