//! Every kind of entry is told in every language, and what people typed stays letter for letter.

use say::{Tongue, Words};

use super::*;
use crate::log::BookedIn;

/// Every kind of entry as it is stored, with and without what may be left out.
const STORED: &str = include_str!("../../tests/stored.jsonl");

fn log() -> Vec<EntryKind> {
    let kinds: Vec<EntryKind> = STORED.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert!(kinds.len() > 40, "{}", kinds.len());
    kinds
}

/// Deeds of entries that name others, whatever the others are.
fn deeds_of(kinds: &[EntryKind]) -> Deeds<'_> {
    let name = |n: usize| EntryId::from_bits(u128::try_from(n).unwrap_or_default());
    Deeds { kinds: kinds.iter().enumerate().map(|(n, kind)| (name(n), kind)).collect() }
}

#[test]
fn every_kind_of_entry_is_told_in_every_language() {
    let kinds = log();
    let deeds = deeds_of(&kinds);
    for words in Tongue::ALL.map(Words::from) {
        for kind in &kinds {
            for told in [deeds.said(kind), deeds.undo(kind)] {
                let says = words.strictly(&told).unwrap_or_else(|faults| panic!("{kind:?}: {faults:?}"));
                assert!(says.len() > 5 && !says.contains("{$"), "{kind:?}: {says}");
            }
        }
    }
}

/// What is settled, corrected or undone is named in the line that does it.
#[test]
fn an_entry_that_is_about_another_names_it_in_every_language() {
    let row = |at: &str| Row::typed(Value::from_json(at).unwrap());
    let (first, second, flag) = (EntryId::from_bits(0), EntryId::from_bits(1), EntryId::from_bits(2));
    let kinds = [
        EntryKind::Reading(row(r#"{"journal":"pin 2","at":"rear","plane":90,"size":1.8720}"#)),
        EntryKind::Reading(row(r#"{"journal":"pin 2","at":0.3,"plane":30,"size":1.8700}"#)),
        EntryKind::FlagRaised { about: Some(first), check: "likely misread".into(), says: "a turn out".into() },
        EntryKind::FlagSettled { flag, how: Settled::Kept },
        EntryKind::FlagSettled { flag, how: Settled::StruckOut },
        EntryKind::FlagSettled { flag, how: Settled::MeasuredAgain { by: second } },
        EntryKind::Undo { entry: second },
    ];
    let deeds = deeds_of(&kinds);
    let told = |n: usize| Tongue::ALL.map(|tongue| Words::from(tongue).strictly(&deeds.said(&kinds[n])).unwrap());
    assert_eq!(
        told(0),
        [
            "1.8720 at pin 2, rear, across B",
            "1.8720 at rod journal 2, rear, across B",
            "1.8720, Hubzapfen 2, hinten, quer B",
            "1.8720 en muñequilla 2, detrás, a través B"
        ]
    );
    assert_eq!(told(1)[0], "1.8700 at pin 2, 0.3, across 30°");
    assert_eq!(told(2)[0], "look again at 1.8720 at pin 2, rear, across B: a turn out");
    assert_eq!(told(3)[0], "keeping 1.8720 at pin 2, rear, across B");
    assert_eq!(told(4)[0], "striking out 1.8720 at pin 2, rear, across B");
    assert_eq!(
        told(5)[0],
        "striking out 1.8720 at pin 2, rear, across B, measured again: 1.8700 at pin 2, 0.3, across 30°"
    );
    assert_eq!(told(6)[0], "undoing 1.8700 at pin 2, 0.3, across 30°");
}

#[test]
fn what_people_typed_stays_as_they_typed_it() {
    const TYPED: &str = "Pin and Sons, dowel pin 2";
    let text = || TYPED.to_owned();
    let booked = |customer: String, crank: String| {
        EntryKind::BookedIn(BookedIn {
            mark: String::new(),
            customer,
            telephone: String::new(),
            crank,
            promised: None,
            sheet: Value::Table(Vec::new()),
            example: false,
        })
    };
    let kinds = [
        booked(text(), String::new()),
        booked(String::new(), text()),
        EntryKind::Note { text: text() },
        EntryKind::HandedOver { to: text() },
        EntryKind::Reopened { reason: text() },
        EntryKind::PutAway { reason: text() },
        EntryKind::CleanedUp { journal: "pin 2".into(), yes: false, left: Some(text()) },
        EntryKind::EyeCheck { item: "crack test".into(), passed: false, by: "Pat".into(), says: Some(text()) },
        EntryKind::SignedOff { document_hash: String::new(), says: text() },
        EntryKind::SentToTreatment { batch: text(), sizes: Vec::new() },
        EntryKind::MicrometerChanged { to: text() },
    ];
    let deeds = deeds_of(&kinds);
    for words in Tongue::ALL.map(Words::from) {
        for kind in &kinds {
            let says = words.say(&deeds.said(kind));
            assert!(says.contains(TYPED), "{kind:?}: {says}");
        }
    }
}

/// A thing that this version does not know by its name is told by the name that the record has for it.
#[test]
fn what_is_not_known_is_told_as_the_record_names_it() {
    let damage =
        EntryKind::Damage(Row::typed(Value::from_json(r#"{"journal":"pin 2","kind":"a strange mark"}"#).unwrap()));
    let look = EntryKind::EyeCheck { item: "keyway".into(), passed: true, by: "Pat".into(), says: None };
    let kinds = [damage, look];
    let deeds = deeds_of(&kinds);
    let german = Words::from(Tongue::German);
    assert_eq!(german.say(&deeds.said(&kinds[0])), "a strange mark, Hubzapfen 2");
    assert_eq!(german.say(&deeds.said(&kinds[1])), "keyway: bestanden, geprüft von Pat");
}
