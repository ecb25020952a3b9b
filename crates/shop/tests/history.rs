//! The history of a job, in the words that people read.

mod support;

use shop::{
    Agreement, CheckedAt, Draft, Entry, EntryId, EntryKind, Row, Settled, Source, Value, admit, entry_of, fold,
    history, undo_words,
};
use support::{booked, draft, reading};

fn put(entries: &mut Vec<Entry>, draft: Draft) -> EntryId {
    admit(entries, &draft).unwrap();
    entries.push(entry_of(&draft, 1001, entries.len() as i64 + 1, "2026-11-25T10:00:00Z"));
    draft.id
}

fn row(toml: &str) -> Row {
    Row::typed(Value::from_text(toml).unwrap())
}

#[test]
fn every_change_is_told_in_words() {
    let mut log = Vec::new();
    put(&mut log, booked("C-0412", "A. Miller"));
    let micrometer = Value::from_text("name = \"mic 1-2\"\nrange = [1, 2]\n").unwrap();
    put(&mut log, draft(EntryKind::Instrument { row: micrometer }));
    let check = EntryKind::ZeroCheck { instrument: "mic 1-2".into(), reads: "+0.0001".into(), at: CheckedAt::Start };
    put(&mut log, draft(check));
    let main = row("journal = \"main 3\"\nat = \"rear\"\nplane = 90\nsize = 2.4730\n");
    let first = put(&mut log, draft(EntryKind::Reading(main)));
    let says = "2.4730 is 0.025 more than the other three here: one full turn of the thimble.";
    let flag = EntryKind::FlagRaised { about: Some(first), check: "thimble turn".into(), says: says.into() };
    let flag = put(&mut log, draft(flag));
    let main = row("journal = \"main 3\"\nat = \"rear\"\nplane = 90\nsize = 2.4480\n");
    let again = put(&mut log, draft(EntryKind::Reading(Row { source: Source::Gauge, ..main })));
    put(&mut log, draft(EntryKind::FlagSettled { flag, how: Settled::MeasuredAgain { by: again } }));
    let second =
        EntryKind::SecondReading { of: again, size: "2.4481".into(), source: Source::Typed, found: Agreement::Agrees };
    put(&mut log, draft(second));
    let pin = put(&mut log, reading("0", "1.2450"));
    put(&mut log, reading("0", "1.2451").correcting(pin));
    let damage = row("journal = \"pin 1\"\nkind = \"scoring\"\nat = \"front\"\ndepth = [0.002, 0.003, 0.004]\n");
    put(&mut log, draft(EntryKind::Damage(damage)));
    let overruled = EntryKind::Decision {
        set: "pin".into(),
        choice: "0.020".into(),
        overruled: Some("the owner has shells\nalready".into()),
        verdict: "97 in 100".into(),
    };
    put(&mut log, draft(overruled));

    let lines = history(&log, say::Words::of_setting(Some("rod journal")));
    let told: Vec<&str> = lines.iter().map(|line| line.says.as_str()).collect();
    assert_eq!(
        told,
        [
            "booking in Wren of A. Miller",
            "micrometer mic 1-2",
            "zero of mic 1-2 at the start: +0.0001",
            "2.4730 at main 3, rear, across B",
            "look again at 2.4730 at main 3, rear, across B: 2.4730 is 0.025 more than the other three here: one full turn of \
             the thimble.",
            "2.4480 from the gauge at main 3, rear, across B",
            "striking out 2.4730 at main 3, rear, across B, measured again: 2.4480 from the gauge at main 3, rear, across B",
            "second reading 2.4481 at main 3, rear, across B, agrees",
            "1.2450 at rod journal 1, middle, across A",
            "1.2451 at rod journal 1, middle, across A",
            "scoring at rod journal 1, front, depth 0.002, 0.003, 0.004",
            "decision for the rod journals: 0.020, overruling the rule: the owner has shells already",
        ]
    );
    assert_eq!(lines[9].instead_of.as_deref(), Some("1.2450 at rod journal 1, middle, across A"));
    assert!(lines.iter().all(|line| !line.undone && !line.late));
}

#[test]
fn the_buttons_name_what_they_undo_and_put_back() {
    let mut log = Vec::new();
    put(&mut log, booked("C-0412", "A. Miller"));
    put(&mut log, reading("0", "1.2450"));
    let last = put(&mut log, reading("90", "1.2470"));
    let next = fold(&log).next_undo.unwrap();
    assert_eq!(next, last);
    assert_eq!(undo_words(&log, next, say::Words::default()).unwrap(), "Undo 1.2470 at pin 1, middle, across B");
    put(&mut log, draft(EntryKind::Undo { entry: next }));
    let job = fold(&log);
    assert_eq!(
        undo_words(&log, job.next_undo.unwrap(), say::Words::default()).unwrap(),
        "Undo 1.2450 at pin 1, middle, across A"
    );
    let redo = job.next_redo.unwrap();
    assert_eq!(undo_words(&log, redo, say::Words::default()).unwrap(), "Put back 1.2470 at pin 1, middle, across B");
    assert!(history(&log, say::Words::default())[2].undone);
    let buttons: Vec<Option<String>> = history(&log, say::Words::default()).into_iter().map(|line| line.undo).collect();
    let first = Some("Undo 1.2450 at pin 1, middle, across A".to_owned());
    let back = Some("Put back 1.2470 at pin 1, middle, across B".to_owned());
    assert_eq!(buttons, [None, first, None, back]);
    put(&mut log, draft(EntryKind::Undo { entry: redo }));
    let back = fold(&log);
    assert_eq!((back.next_undo, back.next_redo), (Some(last), None));
    let lines = history(&log, say::Words::default());
    assert!(!lines[2].undone && lines[3].undone);
    assert_eq!(lines[4].says, "undoing an undo");
    // A new reading ends what can be put back.
    put(&mut log, draft(EntryKind::Undo { entry: last }));
    assert!(fold(&log).next_redo.is_some());
    put(&mut log, reading("90", "1.2471"));
    assert_eq!(fold(&log).next_redo, None);
}

#[test]
fn undo_goes_back_through_everything_to_the_booking_in_and_redo_returns() {
    let mut log = Vec::new();
    put(&mut log, booked("C-0412", "A. Miller"));
    for n in 0..5 {
        put(&mut log, reading("0", &format!("1.245{n}")));
    }
    let full = fold(&log).document;
    let mut undone = 0;
    while let Some(next) = fold(&log).next_undo {
        put(&mut log, draft(EntryKind::Undo { entry: next }));
        undone += 1;
    }
    assert_eq!(undone, 5);
    assert!(fold(&log).document.get("reading").is_none());
    let mut redone = 0;
    while let Some(next) = fold(&log).next_redo {
        put(&mut log, draft(EntryKind::Undo { entry: next }));
        redone += 1;
        assert!(redone <= 5, "redo does not end");
    }
    assert_eq!(redone, 5);
    assert_eq!(fold(&log).document, full);
}

#[test]
fn what_came_late_is_marked() {
    let mut log = Vec::new();
    put(&mut log, booked("C-0412", "A. Miller"));
    put(&mut log, Draft { when: "2026-11-25T11:00:00Z".into(), ..reading("0", "1.2450") });
    put(&mut log, Draft { when: "2026-11-25T11:30:00+01:00".into(), ..reading("90", "1.2470") });
    let late: Vec<bool> = history(&log, say::Words::default()).iter().map(|line| line.late).collect();
    assert_eq!(late, [false, false, true]);
}

#[test]
fn undoing_a_reading_takes_its_corrections_and_flags_with_it() {
    let mut log = Vec::new();
    put(&mut log, booked("C-0412", "A. Miller"));
    let first = put(&mut log, reading("0", "1.2450"));
    let corrected = put(&mut log, reading("0", "1.2200").correcting(first));
    let flag = EntryKind::FlagRaised { about: Some(corrected), check: "likely misread".into(), says: "A turn.".into() };
    put(&mut log, draft(flag));
    assert_eq!(fold(&log).flags.len(), 1);
    put(&mut log, draft(EntryKind::Undo { entry: first }));
    let job = fold(&log);
    assert!(job.rows.is_empty() && job.flags.is_empty());
    assert_eq!(job.next_undo, None);
    assert!(history(&log, say::Words::default())[2].undone);
}

#[test]
fn each_revision_can_be_read_as_it_was_signed() {
    let mut log = Vec::new();
    put(&mut log, booked("C-0412", "A. Miller"));
    put(&mut log, reading("0", "1.2450"));
    let sign = |log: &[Entry]| {
        let document_hash = fold(log).frozen_hash();
        draft(EntryKind::SignedOff { document_hash, says: "I measured this spot.".into() })
    };
    let signature = sign(&log);
    put(&mut log, signature);
    let first = fold(&log);
    // Undo stops at a signature.
    assert_eq!(first.next_undo, None);
    put(&mut log, draft(EntryKind::Reopened { reason: "read the wrong way round".into() }));
    let pin = first.rows[0].entry;
    put(&mut log, reading("0", "1.2449").correcting(pin));
    let signature = sign(&log);
    put(&mut log, signature);
    let now = fold(&log);
    assert_eq!((now.revision, now.signed_off.as_ref().map(|s| s.revision)), (2, Some(2)));
    assert_ne!(now.signed_off.as_ref().unwrap().document_hash, first.signed_off.as_ref().unwrap().document_hash);
    let old = shop::as_signed(&log, 1).unwrap();
    assert_eq!(old, first);
    assert_eq!(shop::as_signed(&log, 2).unwrap(), now);
    assert!(shop::as_signed(&log, 3).is_none());
}

/// A sheet that is brought in may write a journal as freely as a sheet may; the record keeps it so, and tells it alike.
#[test]
fn a_journal_is_told_in_the_shops_word_however_it_was_typed() {
    let mut log = Vec::new();
    put(&mut log, booked("C-0412", "A. Miller"));
    for (typed, told) in [
        ("pin 2", "scoring at rod journal 2"),
        ("Pin 2", "scoring at rod journal 2"),
        ("pin2", "scoring at rod journal 2"),
        ("MAIN 3", "scoring at main 3"),
        ("Dowel pin 2", "scoring at Dowel pin 2"),
    ] {
        let damage = EntryKind::Damage(row(&format!("journal = \"{typed}\"\nkind = \"scoring\"\n")));
        put(&mut log, draft(damage.clone()));
        assert_eq!(history(&log, say::Words::of_setting(Some("rod journal"))).last().unwrap().says, told, "{typed}");
        assert!(serde_json::to_string(&damage).unwrap().contains(typed), "kept as it was typed");
    }
}
