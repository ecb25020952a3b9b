//! Names of journals come back as they are said, and nothing else is taken for one.

use journal::{JournalId, NotAJournal, SetName};
use proptest::prelude::*;

fn journal() -> impl Strategy<Value = JournalId> {
    let number = prop_oneof![4 => 1_usize..20, 1 => 1..=usize::MAX];
    (prop::sample::select(&SetName::BOTH[..]), number).prop_map(|(set, number)| JournalId { set, number })
}

#[test]
fn a_journal_is_read_as_freely_as_people_write_it() {
    let pin = Ok(JournalId { set: SetName::Pin, number: 2 });
    for name in ["pin 2", "pin-2", " Pin 2 ", "PIN2", "pin  2", "pin 02", "pin\t2"] {
        assert_eq!(name.parse(), pin, "{name}");
    }
    assert_eq!("main 0".parse::<JournalId>(), Err(NotAJournal::Zero(SetName::Main)));
    for name in [
        "",
        "pin",
        "main",
        "pins 2",
        "pin two",
        "dowel pin 2",
        "pin +2",
        "pin -2",
        "pin--2",
        "pin 2.0",
        "pin 2 3",
        "2",
        "pin ²",
        "pin ٣",
        "mainpin 2",
        "pin 99999999999999999999999",
    ] {
        assert_eq!(name.parse::<JournalId>(), Err(NotAJournal::NoName), "{name}");
    }
}

#[test]
fn a_set_is_read_by_its_own_word_alone() {
    for set in SetName::BOTH {
        assert_eq!(set.to_string().parse(), Ok(set));
    }
    for word in ["", "Main", " pin", "mains", "pins", "rod"] {
        assert!(word.parse::<SetName>().is_err(), "{word}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_name_comes_back_as_it_is_said(journal in journal()) {
        prop_assert_eq!(journal.to_string().parse(), Ok(journal));
        prop_assert_eq!(journal.to_string().to_uppercase().parse(), Ok(journal));
        prop_assert_eq!(journal.to_string().replace(' ', "-").parse(), Ok(journal));
    }

    /// What is taken for a journal has its word, its number and little besides.
    #[test]
    fn nothing_else_is_taken_for_a_journal(text in prop_oneof![any::<String>(), "(main|pin|Main)?[ -]{0,2}[0-9a+.]{0,3} ?"]) {
        if let Ok(journal) = text.parse::<JournalId>() {
            let plain: String = text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
            prop_assert_eq!(plain.trim_start_matches(journal.set.word()).parse(), Ok(journal.number));
            prop_assert!(journal.number > 0);
        }
    }
}
