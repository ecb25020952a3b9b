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

/// Ra is the mean roughness: in German never the mean height Rz, in short Rautiefe. A bare figure is in the small unit of the
/// sheet.
#[test]
fn a_roughness_is_told_with_its_unit_and_its_lay() {
    let row = |text: &str| EntryKind::Roughness(Row::typed(Value::from_json(text).unwrap()));
    let booked = |units: &str| {
        EntryKind::BookedIn(BookedIn {
            mark: String::new(),
            customer: String::new(),
            telephone: String::new(),
            crank: String::new(),
            promised: None,
            sheet: Value::table([("units", Value::from(units))]),
            example: false,
        })
    };
    let told = |units: &str, text: &str| {
        let kinds = [booked(units), row(text)];
        let deeds = deeds_of(&kinds);
        Tongue::ALL.map(|tongue| Words::from(tongue).strictly(&deeds.said(&kinds[1])).unwrap())
    };
    assert_eq!(
        told("in", r#"{"journal":"pin 2","at":"middle","ra":12,"lay":"along"}"#),
        [
            "roughness at pin 2, middle: Ra 12 µin, lay along",
            "roughness at rod journal 2, middle: Ra 12 µin, lay along",
            "Mittenrauwert Ra 12 µin, Hubzapfen 2, Mitte, Rillenrichtung längs",
            "rugosidad Ra 12 µin en muñequilla 2, centro, estrías a lo largo"
        ]
    );
    assert_eq!(
        told("mm", r#"{"journal":"main 3","at":"rear","ra":0.2,"when":"after"}"#),
        [
            "roughness at main 3, rear when finished: Ra 0.2 µm",
            "roughness at main 3, rear when finished: Ra 0.2 µm",
            "Mittenrauwert Ra 0.2 µm, Hauptlagerzapfen 3, hinten, nach der Bearbeitung",
            "rugosidad Ra 0.2 µm en apoyo de bancada 3, detrás, con el trabajo terminado"
        ]
    );
    // What was typed with its unit keeps it, whatever the sheet is in.
    assert!(told("in", r#"{"journal":"main 3","at":"rear","ra":"0.2 µm"}"#)[0].ends_with("Ra 0.2 µm"));
    for (lay, says) in [("around", "Rillenrichtung umlaufend"), ("crossed", "Rillenrichtung gekreuzt")] {
        let text = format!(r#"{{"journal":"pin 2","at":"middle","ra":12,"lay":"{lay}"}}"#);
        assert!(told("in", &text)[2].ends_with(says), "{:?}", told("in", &text));
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
