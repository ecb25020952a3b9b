//! What stands in a log, byte for byte: every kind of entry, with and without what may be left out.
//!
//! A record outlives the program that wrote it, and each line carries the hash of those before it. So a line that comes
//! out of the program in other bytes than it went in breaks every record there is: nothing here may change, only be added
//! to.

use serde_json::{from_str, to_string};
use shop::{Agreement, BookedIn, CheckedAt, Entry, EntryId, EntryKind, Row, Settled, Source, Stage, Value, entry_of};

fn row(json: &str) -> Value {
    Value::from_json(json).expect("a row")
}

/// A row with all that may be left out.
fn counted(json: &str) -> Row {
    Row { row: row(json), source: Source::Counts, typed: Some("41230".to_owned()) }
}

fn typed(json: &str) -> Row {
    Row::typed(row(json))
}

fn booked(promised: Option<&str>, example: bool) -> EntryKind {
    EntryKind::BookedIn(BookedIn {
        mark: "C-0412".to_owned(),
        customer: "A. Miller".to_owned(),
        telephone: "01632 960118".to_owned(),
        crank: "Tarn four, 1.5 litre".to_owned(),
        promised: promised.map(str::to_owned),
        sheet: row(r#"{"units":"in","policy":{"confidence":0.90}}"#),
        example,
    })
}

const ID: EntryId = EntryId::from_bits(0x5d41_402a_bc4b_2a76_b971_9d91_1017_c592);

/// How they are kept, one to a line.
const KEPT: &str = include_str!("stored.jsonl");

/// Every kind of entry, with and without what may be left out, in the order of the lines.
fn kinds() -> Vec<EntryKind> {
    let some = |text: &str| Some(text.to_owned());
    let pin = r#"{"journal":"pin 2","at":"front","plane":0,"size":1.8720,"with":"mic 1-2"}"#;
    let sizes = || vec![typed(r#"{"journal":"pin 2","size":"1.8544","zero":"+0.0001"}"#)];
    vec![
        booked(Some("2026-11-30"), true),
        booked(None, false),
        EntryKind::Reading(counted(pin)),
        EntryKind::Reading(Row { source: Source::Sheet, ..typed(pin) }),
        EntryKind::Reading(typed(pin)),
        EntryKind::RunOut(typed(r#"{"journal":"main 3","total":0.0021,"high":90}"#)),
        EntryKind::Trace(typed(
            r#"{"journal":"pin 2","at":"middle","size":1.8736,"start":0,"departures":[0.0001,0.0000]}"#,
        )),
        EntryKind::Centre(typed(r#"{"journal":"pin 2","throw":0.0010,"index":-0.05}"#)),
        EntryKind::Damage(typed(r#"{"journal":"pin 2","kind":"crack"}"#)),
        EntryKind::Worn(typed(r#"{"journal":"pin 2","share":0.8}"#)),
        EntryKind::Stamped(typed(r#"{"set":"pin","undersize":0.010}"#)),
        EntryKind::Housing(typed(r#"{"journal":"main 1","plane":"across","size":2.2708}"#)),
        EntryKind::Shell(typed(r#"{"set":"main","undersize":0.010,"wall":0.0768,"count":10}"#)),
        EntryKind::Bearing(typed(r#"{"journal":"pin 1","crush":0.002}"#)),
        EntryKind::Thrust(typed(r#"{"journal":"main 3","float":0.006}"#)),
        EntryKind::Roughness(typed(r#"{"journal":"pin 2","at":"middle","ra":"10 µin","lay":"around","when":"after"}"#)),
        EntryKind::Dial(typed(r#"{"journal":"main 2","readings":[0.0000,0.0010,0.0020,0.0010]}"#)),
        EntryKind::Height(typed(r#"{"journal":"pin 1","top":10.1396,"bottom":7.1083}"#)),
        EntryKind::Feature(typed(r#"{"name":"flange","total":0.0010,"high":90}"#)),
        EntryKind::Case(typed(r#"{"set":"pin","depth":0.030}"#)),
        EntryKind::Instrument { row: row(r#"{"name":"mic 1-2","range":[1.0,2.0],"graduation":0.0001}"#) },
        EntryKind::MicrometerChanged { to: "mic 1-2".to_owned() },
        EntryKind::ZeroCheck { instrument: "mic 1-2".to_owned(), reads: "+0.0001".to_owned(), at: CheckedAt::Start },
        EntryKind::ZeroCheck { instrument: "mic 1-2".to_owned(), reads: "0.0000".to_owned(), at: CheckedAt::Change },
        EntryKind::ZeroCheck { instrument: "mic 1-2".to_owned(), reads: "-0.0001".to_owned(), at: CheckedAt::End },
        EntryKind::FlagRaised { about: Some(ID), check: "likely misread".to_owned(), says: "Look again.".to_owned() },
        EntryKind::FlagRaised { about: None, check: "shape".to_owned(), says: "Odd.".to_owned() },
        EntryKind::FlagSettled { flag: ID, how: Settled::Kept },
        EntryKind::FlagSettled { flag: ID, how: Settled::MeasuredAgain { by: ID } },
        EntryKind::FlagSettled { flag: ID, how: Settled::StruckOut },
        EntryKind::FlagSettled { flag: ID, how: Settled::Noted },
        EntryKind::SecondReading { of: ID, size: "1.8720".to_owned(), source: Source::Typed, found: Agreement::Agrees },
        EntryKind::SecondReading {
            of: ID,
            size: "1.8740".to_owned(),
            source: Source::Gauge,
            found: Agreement::Clashes,
        },
        EntryKind::SecondReading {
            of: ID,
            size: "1.8721".to_owned(),
            source: Source::Paper,
            found: Agreement::Settles,
        },
        EntryKind::PolicyChanged { policy: row(r#"{"axis":"free","clean_up_stock":0.0005}"#) },
        EntryKind::WantedChanged { wanted: row(r#"{"main":{"clearance":[0.0010,0.0020]}}"#) },
        EntryKind::Carried { carried: row(r#"{"on":["main 1","main 5"],"vee":90}"#) },
        EntryKind::Carried { carried: Value::from("centres") },
        EntryKind::Decision {
            set: "pin".to_owned(),
            choice: "0.020".to_owned(),
            overruled: some("bearings in stock"),
            verdict: "97 in 100".to_owned(),
        },
        EntryKind::Decision {
            set: "main".to_owned(),
            choice: "leave".to_owned(),
            overruled: None,
            verdict: String::new(),
        },
        EntryKind::SheetIssued {
            code: "M4P".to_owned(),
            supersedes: some("K7Q"),
            plan: row(r#"{"unit":"in","sets":[]}"#),
        },
        EntryKind::SheetIssued { code: "K7Q".to_owned(), supersedes: None, plan: row("{}") },
        EntryKind::GroundReading(typed(r#"{"journal":"pin 2","size":1.8545,"stage":"grind"}"#)),
        EntryKind::CleanedUp { journal: "pin 2".to_owned(), yes: false, left: some("rear") },
        EntryKind::CleanedUp { journal: "pin 2".to_owned(), yes: true, left: None },
        EntryKind::SentToTreatment { batch: "N-31".to_owned(), sizes: sizes() },
        EntryKind::SentToTreatment { batch: "N-31".to_owned(), sizes: Vec::new() },
        EntryKind::BackFromTreatment { batch: "N-31".to_owned(), sizes: sizes() },
        EntryKind::BackFromTreatment { batch: "N-31".to_owned(), sizes: Vec::new() },
        EntryKind::FinalReading(typed(pin)),
        EntryKind::EyeCheck {
            item: "crack test".to_owned(),
            passed: false,
            by: "Sam".to_owned(),
            says: some("not done: no powder left"),
        },
        EntryKind::EyeCheck { item: "radius".to_owned(), passed: true, by: "Sam".to_owned(), says: None },
        EntryKind::SignedOff { document_hash: "00ff".to_owned(), says: "I measured these 54 spots.".to_owned() },
        EntryKind::Reopened { reason: "a crack test was asked for".to_owned() },
        EntryKind::HandedOver { to: "A. Miller".to_owned() },
        EntryKind::Moved { to: Stage::ToDecide },
        EntryKind::PutAway { reason: "scrap".to_owned() },
        EntryKind::TakenUp,
        EntryKind::Note { text: "Dowel pin\nmissing".to_owned() },
        EntryKind::Photograph { picture: "ab12".to_owned(), caption: "the nose".to_owned(), journal: some("main 1") },
        EntryKind::Photograph { picture: "ab12".to_owned(), caption: String::new(), journal: None },
        EntryKind::Undo { entry: ID },
    ]
}

#[test]
fn every_kind_of_entry_is_kept_byte_for_byte() {
    let mut names: Vec<&str> = Vec::new();
    assert_eq!(KEPT.lines().count(), kinds().len(), "a line for every example");
    for (kind, kept) in kinds().into_iter().zip(KEPT.lines()) {
        assert_eq!(to_string(&kind).expect("JSON"), kept);
        assert_eq!(from_str::<EntryKind>(kept).expect("a kind"), kind, "{kept}");
        assert!(kept.contains(&format!("\"{}\"", kind.name())), "{} is kept as {kept}", kind.name());
        names.push(kind.name());
    }
    names.dedup();
    assert_eq!(names.len(), 43, "an example of every kind, one after another");
}

/// What came before a source and keys as pressed were kept reads as typed.
#[test]
fn an_old_row_reads_as_it_was_meant() {
    let old: EntryKind = from_str(r#"{"reading":{"row":{"journal":"pin 2","size":1.8720}}}"#).expect("a reading");
    assert_eq!(old, EntryKind::Reading(typed(r#"{"journal":"pin 2","size":1.8720}"#)));
}

/// The frame round a kind, as the JSON interface and a backup tell it.
#[test]
fn the_frame_of_an_entry_is_kept_byte_for_byte() {
    let draft = shop::Draft::new(ID, "Pat", "2026-11-25T09:00:00Z", EntryKind::TakenUp);
    let entry: Entry = entry_of(&draft, 1001, 7, "2026-11-25T09:00:01Z");
    let kept = concat!(
        r#"{"id":"5d41402abc4b2a76b9719d911017c592","job":1001,"seq":7,"who":"Pat","when":"2026-11-25T09:00:00Z","#,
        r#""received":"2026-11-25T09:00:01Z","sheet_version":1,"corrects":null,"kind":"taken_up"}"#
    );
    assert_eq!(to_string(&entry).expect("JSON"), kept);
    let corrected = entry_of(&draft.correcting(EntryId::from_bits(1)), 1001, 8, "2026-11-25T09:00:02Z");
    let told = to_string(&corrected).expect("JSON");
    assert!(told.contains(r#""corrects":"00000000000000000000000000000001""#), "{told}");
}
