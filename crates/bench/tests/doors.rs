//! Every rule of a job at every door: what a page refuses the JSON interface refuses, in the same words, and neither writes
//! anything; what is right is taken at both.
//!
//! The command line writes to the record only by bringing a sheet in, which is history and no act; what follows of that is held
//! in `crates/tenunder/tests/doors.rs`.

mod support;

use shop::{Draft, EntryKind, Row, Value, brought_in, fresh_id, now};
use support::at_work::{EYES, TARN, WORN, decided, good, send, spots, state};
use support::{Opened, Page, id, open};

/// Where a job stands before somebody tries something.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Start {
    /// Measured, and the verdict leaves the mains open.
    LeftOpen,
    /// Measured, nothing decided.
    Measured,
    /// Measured and decided.
    Decided,
    /// Measured, and the shaft is bent.
    Bent,
    /// The same, decided without an answer to it by an older program.
    BentDecided,
    /// Measured and decided, and then somebody saw a crack.
    CrackedDecided,
    /// Sheet K7Q is at the grinder.
    AtTheGrinder,
    /// The same, and then somebody saw a crack.
    CrackedAtTheGrinder,
    /// Away in batch N-31.
    Away,
    /// Everything done, nothing signed.
    ToSign,
    /// The same, with this answer to the crack test.
    CrackTest(bool, &'static str),
    /// The same, with pin 2 finished to this Ra, in microinches; the book allows 10.
    FinishedRough(&'static str),
    /// Signed off.
    Signed,
}

/// What somebody tries.
#[derive(Clone, Copy, Debug)]
enum Act {
    Found {
        journal: &'static str,
    },
    /// Pin 2 as it came in.
    Rough {
        ra: &'static str,
    },
    /// The shaft in vees under main 1 and this one.
    Carried {
        rear: &'static str,
    },
    /// Heights of pin 1 at quarters of a turn.
    Heights {
        heights: &'static str,
    },
    /// How deep the case of the pins is.
    Case {
        depth: &'static str,
    },
    Decide {
        set: &'static str,
        choice: &'static str,
        why: Why,
    },
    Issue,
    Send {
        batch: &'static str,
    },
    TakeBack,
    Sign {
        says_all: bool,
    },
    HandOver,
    Reopen,
    Move {
        to: &'static str,
    },
}

/// Why somebody decides so.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Why {
    Unsaid,
    /// One of the reasons that the form offers.
    Stock,
    OwnWords,
}

const OWN_WORDS: &str = "straightened and crack-tested by Ferrow Testing";
const LEFT_OUT: &str = "It was not treated after grinding (nitriding).";

/// A rule: what it refuses, the words, and what it takes.
struct Rule {
    rule: &'static str,
    refused: (Start, Act),
    says: &'static str,
    taken: (Start, Act),
}

fn table() -> Vec<Rule> {
    use Act::{Carried, Case, Decide, Found, HandOver, Heights, Issue, Move, Reopen, Rough, Send, Sign, TakeBack};
    use Start::*;
    let decide = |choice, why| Decide { set: "main", choice, why };
    let row = |rule, refused, says, taken| Rule { rule, refused, says, taken };
    vec![
        row(
            "nothing is written down that cannot be",
            (AtTheGrinder, Found { journal: "pin 9" }),
            " cannot be: expected pin 1 to pin 4; this specification has pins 1 to 4",
            (AtTheGrinder, Found { journal: "pin 4" }),
        ),
        row(
            "a roughness of the other unit is asked about",
            (AtTheGrinder, Rough { ra: "0.25" }),
            "expected a roughness in µin; which unit was it read in?",
            (AtTheGrinder, Rough { ra: "10" }),
        ),
        row(
            "a shaft lies on mains of its own",
            (AtTheGrinder, Carried { rear: "main 9" }),
            "expected main 1 to main 5; supports are mains, counted from the nose",
            (AtTheGrinder, Carried { rear: "main 5" }),
        ),
        row(
            "heights of a pin lie on a circle",
            (AtTheGrinder, Heights { heights: "8.6 8.6 8.6 10.1" }),
            "off any circle",
            (AtTheGrinder, Heights { heights: "8.6240 10.1240 8.6240 7.1240" }),
        ),
        row(
            "a case is no deeper than a skin",
            (AtTheGrinder, Case { depth: "0.9" }),
            "a quarter of the journal is no case any more",
            (AtTheGrinder, Case { depth: "0.024" }),
        ),
        row(
            "a finished journal that is too rough is not signed",
            (FinishedRough("20"), Sign { says_all: true }),
            "Pin 2, middle: rougher than the manual allows, Ra 20 µin (0.508 µm), at most 10 µin (0.254 µm).",
            (FinishedRough("6"), Sign { says_all: true }),
        ),
        row(
            "a signature says which roughness nobody can call",
            (FinishedRough("9.8"), Sign { says_all: true }),
            "Tick it to sign without: The roughness of pin 2 is too close to call: middle, Ra 9.8 µin (0.249 µm)",
            (FinishedRough("6"), Sign { says_all: true }),
        ),
        row(
            "what the verdict leaves open is decided with a reason",
            (LeftOpen, decide("leave", Why::Unsaid)),
            "Say why: the record and the sheet carry the reason.",
            (LeftOpen, decide("leave", Why::OwnWords)),
        ),
        row(
            "a choice is one of those there are",
            (LeftOpen, decide("soon", Why::OwnWords)),
            "Choose one of the sizes, or what else to do.",
            (LeftOpen, decide("0.010", Why::OwnWords)),
        ),
        row(
            "leaving it open is no decision",
            (LeftOpen, decide("not decided", Why::OwnWords)),
            "That leaves the set open, so it is no decision.",
            (LeftOpen, decide("scrap", Why::OwnWords)),
        ),
        row(
            "what stands against it is answered in somebody's own words",
            (Bent, decide("0.010", Why::Stock)),
            "Write in your own words why it goes on.",
            (Bent, decide("0.010", Why::OwnWords)),
        ),
        row(
            "a sheet is issued when all that was measured is decided",
            (Measured, Issue),
            "The mains are not decided.",
            (Decided, Issue),
        ),
        row("a bent shaft holds the sheet", (BentDecided, Issue), "Main 3 runs out 0.0022 in", (Decided, Issue)),
        row("a crack holds the sheet", (CrackedDecided, Issue), "A crack is reported on pin 2.", (Decided, Issue)),
        row(
            "only what was ground is treated",
            (Decided, Send { batch: "N-31" }),
            "it is not ground yet.",
            (AtTheGrinder, Send { batch: "N-31" }),
        ),
        row(
            "a batch is one that is open",
            (AtTheGrinder, Send { batch: "N-99" }),
            "Choose the batch that it goes in.",
            (AtTheGrinder, Send { batch: "N-31" }),
        ),
        row(
            "a cracked crank is not treated",
            (CrackedAtTheGrinder, Send { batch: "N-31" }),
            "A crack is reported on pin 2.",
            (AtTheGrinder, Send { batch: "N-31" }),
        ),
        row("what is away comes back", (AtTheGrinder, TakeBack), " is not away.", (Away, TakeBack)),
        row(
            "what was not measured is not signed",
            (AtTheGrinder, Sign { says_all: true }),
            "54 spots are not measured.",
            (ToSign, Sign { says_all: true }),
        ),
        row(
            "a signature says what was left out",
            (ToSign, Sign { says_all: false }),
            "Tick it to sign without: It was not treated after grinding (nitriding).",
            (ToSign, Sign { says_all: true }),
        ),
        row(
            "a failed crack test stands against signing, however its remark begins",
            (CrackTest(false, "not done properly, a line at the fillet of pin 2"), Sign { says_all: true }),
            "Crack test: not passed.",
            (CrackTest(true, "no indications"), Sign { says_all: true }),
        ),
        row(
            "a cracked crank is not handed over",
            (CrackedAtTheGrinder, HandOver),
            "A crack is reported on pin 2.",
            (Signed, HandOver),
        ),
        row(
            "an unsigned crank is not handed over",
            (ToSign, HandOver),
            "The crank is not signed off, so it is not handed over.",
            (Signed, HandOver),
        ),
        row("what is not signed is not reopened", (ToSign, Reopen), "The job is not signed off.", (Signed, Reopen)),
        row(
            "nobody moves a job past the signature",
            (AtTheGrinder, Move { to: "ready" }),
            "A job is ready when its final check is signed, not by moving it.",
            (AtTheGrinder, Move { to: "final_check" }),
        ),
        row(
            "nobody moves a job past the hand-over",
            (AtTheGrinder, Move { to: "collected" }),
            "A job is collected when the crank is handed over, not by moving it.",
            (AtTheGrinder, Move { to: "to_decide" }),
        ),
    ]
}

/// Writes entries into the record itself, as an older program did, which asked no rules.
async fn put(opened: &Opened, job: i64, kinds: Vec<EntryKind>) {
    let seen = state(opened, job).await.seq;
    let draft = |kind| Draft::new(fresh_id().expect("random numbers"), "Sam", now(), kind);
    let drafts: Vec<Draft> = kinds.into_iter().map(draft).collect();
    opened.store.append(job, seen, &drafts).await.expect("entries are written");
}

async fn bring(opened: &Opened, sheet: &str, book: &str) -> i64 {
    let mut sheet = Value::from_text(sheet).expect("a sheet");
    // Few draws will do: what is asked of the verdict is far from doubtful.
    sheet.set("policy", Value::table([("draws", Value::from(1000))]));
    let book = Value::from_text(book).expect("a specification");
    let fresh = || fresh_id().expect("random numbers");
    let drafts = brought_in(sheet, Some(book), "Pat", &now(), fresh).expect("a job");
    opened.store.book_in(&drafts).await.expect("a job").job
}

/// A single, round and two tenths under the new size, whose book tells no wear limit.
async fn left_open(opened: &Opened) -> i64 {
    let sizes = [("main 1", "1.4983"), ("main 2", "1.4983"), ("pin 1", "1.2383")];
    let mut text = "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreading = [\n".to_owned();
    for (journal, size) in sizes {
        for at in ["front", "middle", "rear"] {
            for plane in [0, 90] {
                text += &format!("{{ journal = \"{journal}\", at = \"{at}\", plane = {plane}, size = {size} }},\n");
            }
        }
    }
    bring(opened, &(text + "]\n"), include_str!("../../tenunder/library/wren.toml")).await
}

fn decision(set: &str, choice: &str) -> EntryKind {
    let (set, choice) = (set.to_owned(), choice.to_owned());
    EntryKind::Decision { set, choice, overruled: None, verdict: String::new() }
}

fn crack() -> EntryKind {
    let row = Value::table([("journal", Value::from("pin 2")), ("kind", Value::from("crack"))]);
    EntryKind::Damage(Row::typed(row))
}

fn final_readings() -> Vec<EntryKind> {
    let planes = [("a", "0"), ("b", "90")];
    let one = |key: String| {
        let mut parts = key.split('.');
        let journal = parts.next().expect("a journal").replace('-', " ");
        let at = parts.next().expect("a station").to_owned();
        let letter = parts.next().expect("a direction");
        let plane = planes.iter().find(|(known, _)| *known == letter).expect("a direction").1;
        let with = if journal.starts_with("main") { "mic 2-3" } else { "mic 1-2" };
        EntryKind::FinalReading(Row::typed(Value::table([
            ("journal", Value::from(journal)),
            ("at", Value::from(at)),
            ("plane", Value::typed(plane)),
            ("size", Value::typed(good(&key))),
            ("with", Value::from(with)),
        ])))
    };
    spots().into_iter().map(one).collect()
}

async fn to_sign(opened: &Opened, crack_test: (bool, &str)) -> i64 {
    let job = decided(opened).await;
    let journals = (1..=5).map(|n| format!("main {n}")).chain((1..=4).map(|n| format!("pin {n}")));
    let clean = journals.map(|journal| EntryKind::CleanedUp { journal, yes: true, left: None });
    let eyes = EYES.iter().map(|key| {
        let item = key.replace('-', " ");
        let (passed, says) = if item == "crack test" { crack_test } else { (true, "") };
        let says = (!says.is_empty()).then(|| says.to_owned());
        EntryKind::EyeCheck { item, passed, by: "Sam".to_owned(), says }
    });
    put(opened, job, clean.chain(final_readings()).chain(eyes).collect()).await;
    job
}

async fn start(opened: &Opened, start: Start) -> i64 {
    let bent = WORN.replace("total = 0.0014", "total = 0.0022");
    let both = || vec![decision("main", "0.010"), decision("pin", "0.020")];
    match start {
        Start::LeftOpen => left_open(opened).await,
        Start::Measured => bring(opened, WORN, TARN).await,
        Start::Bent => bring(opened, &bent, TARN).await,
        Start::Decided | Start::CrackedDecided | Start::BentDecided => {
            let sheet = if start == Start::BentDecided { &bent } else { WORN };
            let job = bring(opened, sheet, TARN).await;
            put(opened, job, both()).await;
            if start == Start::CrackedDecided {
                put(opened, job, vec![crack()]).await;
            }
            job
        }
        Start::AtTheGrinder | Start::CrackedAtTheGrinder | Start::Away => {
            let job = decided(opened).await;
            if start == Start::CrackedAtTheGrinder {
                put(opened, job, vec![crack()]).await;
            }
            if start == Start::Away {
                put(opened, job, vec![EntryKind::SentToTreatment { batch: "N-31".to_owned(), sizes: Vec::new() }])
                    .await;
            }
            job
        }
        Start::ToSign => to_sign(opened, (true, "no indications")).await,
        Start::CrackTest(passed, says) => to_sign(opened, (passed, says)).await,
        Start::FinishedRough(ra) => {
            let job = to_sign(opened, (true, "no indications")).await;
            let row =
                [("journal", "pin 2"), ("at", "middle"), ("when", "after")].map(|(key, word)| (key, Value::from(word)));
            let row = Value::table(row.into_iter().chain([("ra", Value::typed(ra))]));
            put(opened, job, vec![EntryKind::Roughness(Row::typed(row))]).await;
            job
        }
        Start::Signed => {
            let job = to_sign(opened, (true, "no indications")).await;
            let document_hash = state(opened, job).await.frozen_hash();
            put(opened, job, vec![EntryKind::SignedOff { document_hash, says: "All inside.".to_owned() }]).await;
            job
        }
    }
}

/// Through a form of a page.
async fn by_page(opened: &Opened, job: i64, act: Act) -> Page {
    let hash = state(opened, job).await.frozen_hash();
    match act {
        Act::Found { journal } => {
            let fields = [("what", "damage"), ("journal", journal), ("kind", "scoring"), ("depth", "0.001")];
            send(opened, job, "measure/found", &fields).await
        }
        Act::Rough { ra } => {
            let fields = [("from", "measure"), ("journal", "pin 2"), ("at", "middle"), ("ra", ra)];
            send(opened, job, "roughness", &fields).await
        }
        Act::Carried { rear } => {
            let mut fields =
                vec![("kind", "dial"), ("carried", "vees"), ("front", "main 1"), ("rear", rear), ("vee", "90")];
            fields.extend([("journal", "main 2"), ("count", "4"), ("r1", "0"), ("r2", "0"), ("r3", "0"), ("r4", "0")]);
            send(opened, job, "shaft", &fields).await
        }
        Act::Heights { heights } => {
            let fields = [("kind", "height"), ("journal", "pin 1"), ("angles", "0 90 180 270"), ("heights", heights)];
            send(opened, job, "shaft", &fields).await
        }
        Act::Case { depth } => send(opened, job, "shaft", &[("kind", "case"), ("set", "pin"), ("depth", depth)]).await,
        Act::Decide { set, choice, why } => {
            let mut fields = vec![("set", set), ("choice", choice)];
            match why {
                Why::Unsaid => {}
                Why::Stock => fields.push(("reason", "customer")),
                Why::OwnWords => fields.extend([("reason", "other"), ("words", OWN_WORDS)]),
            }
            // A page is decided on once its figures are there.
            opened.worked_out(&format!("/jobs/{job}/verdict")).await;
            send(opened, job, "decide", &fields).await
        }
        Act::Issue => {
            opened.worked_out(&format!("/jobs/{job}/verdict")).await;
            send(opened, job, "issue", &[]).await
        }
        Act::Send { batch } => send(opened, job, "treatment/send", &[("batch", batch)]).await,
        Act::TakeBack => send(opened, job, "treatment/back", &[]).await,
        Act::Sign { says_all } => {
            let mut fields = vec![("code", "K7Q"), ("hash", hash.as_str()), ("name", "the shop")];
            if says_all {
                fields.push(("left-treatment", "yes"));
            }
            send(opened, job, "final/sign", &fields).await
        }
        Act::HandOver => send(opened, job, "hand-over", &[("to", "A. Miller")]).await,
        Act::Reopen => send(opened, job, "final/reopen", &[("reason", "a crack test was asked for")]).await,
        Act::Move { to } => send(opened, job, "particulars/stage", &[("to", to)]).await,
    }
}

/// Through the JSON interface, as an entry of the log.
async fn by_json(opened: &Opened, job: i64, act: Act) -> Page {
    let now_is = state(opened, job).await;
    let kind = match act {
        Act::Found { journal } => EntryKind::Damage(Row::typed(Value::table([
            ("journal", Value::from(journal)),
            ("kind", Value::from("scoring")),
            ("depth", Value::typed("0.001")),
        ]))),
        Act::Rough { ra } => EntryKind::Roughness(Row::typed(Value::table([
            ("journal", Value::from("pin 2")),
            ("at", Value::from("middle")),
            ("ra", Value::typed(ra)),
        ]))),
        Act::Carried { rear } => EntryKind::Carried {
            carried: Value::table([
                ("on", Value::List(vec![Value::from("main 1"), Value::from(rear)])),
                ("vee", Value::typed("90")),
            ]),
        },
        Act::Heights { heights } => EntryKind::Height(Row::typed(Value::table([
            ("journal", Value::from("pin 1")),
            ("angles", Value::List(["0", "90", "180", "270"].map(Value::typed).to_vec())),
            ("heights", Value::List(heights.split(' ').map(Value::typed).collect())),
        ]))),
        Act::Case { depth } => {
            EntryKind::Case(Row::typed(Value::table([("set", Value::from("pin")), ("depth", Value::typed(depth))])))
        }
        Act::Decide { set, choice, why } => {
            let overruled = match why {
                Why::Unsaid => None,
                Why::Stock => Some("the customer wants it".to_owned()),
                Why::OwnWords => Some(OWN_WORDS.to_owned()),
            };
            EntryKind::Decision { set: set.into(), choice: choice.into(), overruled, verdict: String::new() }
        }
        Act::Issue => {
            let plan = bench::grinders_plan(&now_is).expect("a plan");
            EntryKind::SheetIssued { code: "K7Q".into(), supersedes: None, plan }
        }
        Act::Send { batch } => EntryKind::SentToTreatment { batch: batch.into(), sizes: Vec::new() },
        Act::TakeBack => EntryKind::BackFromTreatment { batch: "N-31".into(), sizes: Vec::new() },
        Act::Sign { says_all } => {
            let left = if says_all { format!(" {LEFT_OUT}") } else { String::new() };
            let says = format!("All are inside the sizes on sheet K7Q.{left}");
            EntryKind::SignedOff { document_hash: now_is.frozen_hash(), says }
        }
        Act::HandOver => EntryKind::HandedOver { to: "A. Miller".into() },
        Act::Reopen => EntryKind::Reopened { reason: "a crack test was asked for".into() },
        Act::Move { to } => EntryKind::Moved { to: to.parse().expect("a stage") },
    };
    let kind = serde_json::to_string(&kind).expect("JSON");
    let body = format!(
        r#"{{"seen": {}, "entries": [{{"id": "{}", "who": "Sam", "when": "{}", "kind": {kind}}}]}}"#,
        now_is.seq,
        id(),
        now()
    );
    let path = format!("/api/jobs/{job}/entries");
    opened.send("POST", &path, "Content-Type: application/json\r\n", body.as_bytes()).await
}

/// The text of an answer without what HTML or JSON made of its quotes.
fn plain(page: &Page) -> String {
    page.text.replace("&#39;", "'").replace("&amp;", "&").replace("\\\"", "\"")
}

#[tokio::test]
async fn what_one_door_refuses_no_other_takes() {
    let opened = open("doors-table").await;
    let fields = [("id", &*id()), ("name", "N-31"), ("treatment", "nitriding"), ("treater", "Vale Heat")];
    assert_eq!(opened.post("/batches", &fields).await.status, 303);
    let table = table();
    assert_eq!(table.len(), 26, "no rule got lost");
    for Rule { rule, refused, says, taken } in table {
        let job = start(&opened, refused.0).await;
        let before = state(&opened, job).await;
        for (door, answer) in
            [("page", by_page(&opened, job, refused.1).await), ("interface", by_json(&opened, job, refused.1).await)]
        {
            let text = plain(&answer);
            assert!(matches!(answer.status, 409 | 422), "{rule}: the {door} answers {}:\n{text}", answer.status);
            assert!(text.contains(says), "{rule}: the {door} does not say {says:?}:\n{text}");
            assert_eq!(state(&opened, job).await, before, "{rule}: the {door} wrote all the same");
        }
        let job = start(&opened, taken.0).await;
        let answer = by_page(&opened, job, taken.1).await;
        assert_eq!(answer.status, 303, "{rule}: the page does not take what is right:\n{}", plain(&answer));
        assert!(state(&opened, job).await.seq > before.seq.min(0), "{rule}");
        let job = start(&opened, taken.0).await;
        let before = state(&opened, job).await.seq;
        let answer = by_json(&opened, job, taken.1).await;
        assert_eq!(answer.status, 200, "{rule}: the interface does not take what is right:\n{}", plain(&answer));
        assert_eq!(state(&opened, job).await.seq, before + 1, "{rule}");
    }
}

/// Several entries at once are asked one after another, and none is written where one is refused.
#[tokio::test]
async fn entries_sent_together_are_asked_one_after_another() {
    let opened = open("doors-together").await;
    let job = to_sign(&opened, (true, "no indications")).await;
    let before = state(&opened, job).await;
    let entry = |kind: &str| format!(r#"{{"id": "{}", "who": "Sam", "when": "{}", "kind": {kind}}}"#, id(), now());
    let says = format!("All are inside the sizes on sheet K7Q. {LEFT_OUT}");
    let sign = format!(r#"{{"signed_off": {{"document_hash": "{}", "says": "{says}"}}}}"#, before.frozen_hash());
    let failed = r#"{"eye_check": {"item": "crack test", "passed": false, "by": "Sam", "says": "a line"}}"#;
    let hand_over = r#"{"handed_over": {"to": "A. Miller"}}"#;
    let send = |kinds: Vec<String>| format!(r#"{{"seen": {}, "entries": [{}]}}"#, before.seq, kinds.join(", "));
    let path = format!("/api/jobs/{job}/entries");
    let json = "Content-Type: application/json\r\n";
    let body = send(vec![entry(failed), entry(&sign), entry(hand_over)]);
    let refused = opened.send("POST", &path, json, body.as_bytes()).await;
    assert_eq!(refused.status, 422, "{}", refused.text);
    refused.says("Crack test: not passed.");
    assert_eq!(state(&opened, job).await, before);
    let body = send(vec![entry(&sign), entry(hand_over)]);
    let taken = opened.send("POST", &path, json, body.as_bytes()).await;
    assert_eq!(taken.status, 200, "{}", taken.text);
    assert_eq!(state(&opened, job).await.handed_over.as_deref(), Some("A. Miller"));
}

/// Undo, then redo, of a sending: the crank is away again, and the page that offers to take it out does so.
#[tokio::test]
async fn a_sending_that_was_undone_and_redone_can_be_taken_out() {
    let opened = open("doors-redo").await;
    let job = start(&opened, Start::Away).await;
    let step = |what: &'static str| {
        let opened = &opened;
        async move {
            let seen = state(opened, job).await.seq;
            let body = format!(r#"{{"id": "{}", "who": "Sam", "when": "{}", "seen": {seen}}}"#, id(), now());
            let path = format!("/api/jobs/{job}/{what}");
            let answer = opened.send("POST", &path, "Content-Type: application/json\r\n", body.as_bytes()).await;
            assert_eq!(answer.status, 200, "{}", answer.text);
        }
    };
    step("undo").await;
    assert!(state(&opened, job).await.treatments.is_empty());
    step("redo").await;
    assert_eq!(state(&opened, job).await.treatments.len(), 1);
    let page = send(&opened, job, "treatment/out", &[]).await;
    assert_eq!(page.status, 303, "{}", page.text);
    assert!(state(&opened, job).await.treatments.is_empty());
}
