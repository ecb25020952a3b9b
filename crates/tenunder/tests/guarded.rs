//! What comes in that should not: other people's pages, forms that are not ours, more than fits, what cannot be seen,
//! what is not there, what came twice or late, and a record that cannot be written.
#![cfg(feature = "pages")]

mod served;

use std::path::Path;

use serde_json::{Value, json};
use served::{Answer, Dice, Served, folder, program};
use shop::{Draft, EntryKind, Store};

const LONG_AGO: &str = "2026-11-02T09:00:00Z";
const SCRIPT: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>";

/// The words with which every error is told.
#[track_caller]
fn told(answer: &Answer, status: u16) -> Value {
    assert_eq!(answer.status, status, "{answer:?}");
    let told = answer.json();
    for part in ["happened", "safety", "advice"] {
        assert!(told[part].as_str().is_some_and(|words| !words.is_empty()), "{part}: {answer:?}");
    }
    told
}

#[track_caller]
fn taken(answer: Answer) -> Value {
    assert!(answer.status < 300, "{answer:?}");
    answer.json()
}

fn crank(dice: &mut Dice, customer: &str) -> Value {
    json!({ "id": dice.id(), "who": "Pat", "when": LONG_AGO, "customer": customer, "what": { "engine": "tarn-four" } })
}

fn note(dice: &mut Dice, text: &str) -> Value {
    json!({ "id": dice.id(), "who": "Pat", "when": LONG_AGO, "kind": { "note": { "text": text } } })
}

/// Somebody with a browser: the token and the cookie of their forms.
struct Browser<'a> {
    served: &'a Served,
    cookie: String,
    token: String,
}

impl<'a> Browser<'a> {
    fn new(served: &'a Served) -> Browser<'a> {
        let page = served.get("/jobs");
        let cookie = page.header("set-cookie").unwrap().split(';').next().unwrap().to_owned();
        let token = page.body.split("name=\"token\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
        Browser { served, cookie, token }
    }

    fn get(&self, path: &str) -> Answer {
        self.served.ask("GET", path, &[("Cookie", &self.cookie)], b"").unwrap()
    }

    fn send(&self, path: &str, form: &str) -> Answer {
        let headers = [("Cookie", self.cookie.as_str()), ("Content-Type", "application/x-www-form-urlencoded")];
        self.served.ask("POST", path, &headers, form.as_bytes()).unwrap()
    }
}

#[test]
fn only_this_computers_own_pages_are_served_and_none_is_framed_or_shared() {
    let served = Served::record(&folder("guarded").join("shop.tenunder"));
    for path in ["/jobs", "/api/jobs", "/static/bench.css", "/nothing", "/api/nothing"] {
        let answer = served.get(path);
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"), "{policy}");
        assert!(!policy.contains("unsafe"), "{policy}");
        assert_eq!(answer.header("x-frame-options"), Some("DENY"), "{path}");
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"), "{path}");
        assert_eq!(answer.header("access-control-allow-origin"), None, "{path}");
        // A foreign name that points here, as a page that rebinds its name would use.
        for host in ["tenunder.example", "127.0.0.1", "127.0.0.1:1", ""] {
            let answer = served.ask("GET", path, &[("Host", host)], b"").unwrap();
            assert_eq!(answer.status, 421, "{path} under {host:?}");
        }
    }
    let asked = served.ask("OPTIONS", "/api/jobs", &[("Origin", "http://elsewhere.example")], b"").unwrap();
    assert!(asked.status >= 400 && asked.header("access-control-allow-origin").is_none(), "{asked:?}");
    let cookie = served.get("/jobs").header("set-cookie").unwrap().to_owned();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
}

#[test]
fn what_other_pages_send_changes_nothing() {
    let served = Served::record(&folder("elsewhere").join("shop.tenunder"));
    let mut dice = Dice::thrown();
    let body = crank(&mut dice, "A. Miller").to_string();
    let json = ("Content-Type", "application/json");
    for header in [
        ("Origin", "http://elsewhere.example"),
        ("Origin", "null"),
        ("Origin", "http://localhost"),
        ("Sec-Fetch-Site", "cross-site"),
        ("Sec-Fetch-Site", "same-site"),
    ] {
        let answer = served.ask("POST", "/api/jobs", &[json, header], body.as_bytes()).unwrap();
        told(&answer, 403);
        let form = served.ask("POST", "/who", &[header], b"who=Pat").unwrap();
        assert_eq!(form.status, 403, "{header:?}");
    }
    // What a form on any page could send without asking first.
    for kind in ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", ""] {
        told(&served.ask("POST", "/api/jobs", &[("Content-Type", kind)], body.as_bytes()).unwrap(), 415);
    }
    assert_eq!(served.get("/api/jobs").json()["all"], 0);
    let origin = format!("http://{}", served.address);
    let own = [json, ("Origin", origin.as_str()), ("Sec-Fetch-Site", "same-origin")];
    assert_eq!(served.ask("POST", "/api/jobs", &own, body.as_bytes()).unwrap().status, 201);
}

#[test]
fn a_form_without_its_token_is_not_taken() {
    let served = Served::invented(&folder("token").join("oxbow.tenunder"));
    let browser = Browser::new(&served);
    let before = served.get("/api/jobs/1012").json()["seq"].clone();
    let id = "0123456789abcdef0123456789abcdef";
    let wrong = "0".repeat(browser.token.len());
    for path in [
        "/who",
        "/start",
        "/jobs/new",
        "/jobs/1012/measure",
        "/jobs/1012/measure/undo",
        "/jobs/1012/measure/settle",
        "/jobs/1012/particulars",
        "/jobs/1012/particulars/note",
        "/jobs/1012/particulars/away",
        "/jobs/1012/history",
        "/jobs/1012/decide",
        "/jobs/1012/issue",
        "/jobs/1008/grind",
        "/jobs/1006/treatment/back",
        "/jobs/1005/final",
        "/jobs/1005/final/sign",
        "/jobs/1004/hand-over",
        "/batches",
        "/batches/N-31/close",
        "/shop",
    ] {
        for token in ["", &format!("&token={wrong}")] {
            let answer = browser.send(path, &format!("id={id}&seen=1&text=x&who=Pat&name=Pat&reading=2.1{token}"));
            assert_eq!(answer.status, 409, "{path}: {}", answer.body);
        }
    }
    let headers = [("Cookie", browser.cookie.as_str()), ("Content-Type", "multipart/form-data; boundary=x")];
    let part = b"--x\r\nContent-Disposition: form-data; name=\"caption\"\r\n\r\nx\r\n--x--\r\n";
    let answer = served.ask("POST", "/jobs/1012/particulars/photograph", &headers, part).unwrap();
    assert!((400..500).contains(&answer.status), "{answer:?}");
    // Another browser's token is no better than none.
    let other = Browser::new(&served);
    assert_eq!(browser.send("/who", &format!("who=Pat&token={}", other.token)).status, 409);
    assert_eq!(browser.send("/who", &format!("who=Pat&token={}", browser.token)).status, 303);
    assert_eq!(served.get("/api/jobs/1012").json()["seq"], before);
}

#[test]
fn more_than_fits_is_refused_in_words() {
    let served = Served::invented(&folder("huge").join("oxbow.tenunder"));
    let browser = Browser::new(&served);
    let form = format!("token={}&who={}", browser.token, "x".repeat(1_000_000));
    let answer = browser.send("/who", &form);
    assert!(answer.status == 413 && answer.body.contains("Nothing was written"), "{}", answer.body);
    let json = [("Content-Type", "application/json")];
    told(&served.ask("POST", "/api/jobs", &json, &vec![b' '; 9_000_000]).unwrap(), 413);
    told(&served.ask("POST", "/api/pictures", &[("Content-Type", "image/png")], &vec![0; 21_000_000]).unwrap(), 413);
    // Deep brackets, and a picture that is none.
    let deep = format!("{{\"seen\":0,\"entries\":{}}}", "[".repeat(100_000));
    let answer = served.ask("POST", "/api/jobs/1012/entries", &json, deep.as_bytes()).unwrap();
    assert!([400, 422].contains(&answer.status), "{answer:?}");
    told(&answer, answer.status);
    let deep = format!("{}1{}", "[".repeat(100), "]".repeat(100));
    let body = format!(
        "{{\"seen\":27,\"entries\":[{{\"id\":\"{}\",\"who\":\"Pat\",\"when\":\"{LONG_AGO}\",\
         \"kind\":{{\"policy_changed\":{{\"policy\":{{\"a\":{deep}}}}}}}}}]}}",
        Dice::thrown().id()
    );
    told(&served.ask("POST", "/api/jobs/1012/entries", &json, body.as_bytes()).unwrap(), 422);
    told(&served.ask("POST", "/api/pictures", &[("Content-Type", "image/png")], b"\x89PNG nothing").unwrap(), 422);
    let mut dice = Dice::thrown();
    let lines: Vec<Value> = (0..3).map(|_| note(&mut dice, &"x".repeat(10_001))).collect();
    told(&served.post_json("/api/jobs/1012/entries", &json!({ "seen": 27, "entries": lines })), 422);
}

#[test]
fn what_cannot_be_read_is_refused_in_words() {
    let served = Served::invented(&folder("unreadable").join("oxbow.tenunder"));
    let mut dice = Dice::thrown();
    let json = [("Content-Type", "application/json")];
    let entries = "/api/jobs/1012/entries";
    for (body, status) in [
        (&b""[..], 400),
        (b"{", 400),
        (b"\xff\xfe", 400),
        (b"[]", 422),
        (b"null", 422),
        (b"{\"seen\":\"one\",\"entries\":[]}", 422),
        (b"{\"seen\":1e400,\"entries\":[]}", 400),
        (b"{\"seen\":0,\"entries\":[]}", 422),
        (b"{\"seen\":0,\"entries\":[],\"more\":1}", 422),
    ] {
        let answer = served.ask("POST", entries, &json, body).unwrap();
        assert!(answer.status == status || answer.status == 422, "{body:?}: {answer:?}");
        told(&answer, answer.status);
    }
    for (who, when, text) in [
        ("", LONG_AGO, "x"),
        ("P\u{0}at", LONG_AGO, "x"),
        ("Pat", "yesterday", "x"),
        ("Pat", "2026-13-01T09:00:00Z", "x"),
        ("Pat", LONG_AGO, ""),
        ("Pat", LONG_AGO, "a\u{7}bell"),
        ("Pat", LONG_AGO, "a\u{9b}terminal"),
    ] {
        let line = json!({ "id": dice.id(), "who": who, "when": when, "kind": { "note": { "text": text } } });
        told(&served.post_json(entries, &json!({ "seen": 27, "regardless": true, "entries": [line] })), 422);
    }
    let reading = |spot: &str, typed: &str| {
        let id = Dice::thrown().id();
        json!({ "id": id, "who": "Pat", "when": LONG_AGO, "spot": spot, "typed": typed })
    };
    for (spot, typed, status) in [
        ("main-1.front.a", "two thou", 422),
        ("main-1.front.a", "", 422),
        ("main-1.front.a", "2.12\u{0}43", 422),
        ("main-1.front.a", "1e9", 422),
        ("main-99.front.a", "2.1243", 404),
        ("main-0.front.a", "2.1243", 422),
        ("somewhere", "2.1243", 422),
    ] {
        told(&served.post_json("/api/jobs/1012/readings", &reading(spot, typed)), status);
    }
    assert_eq!(served.get("/api/jobs/1012").json()["seq"], 27, "nothing was written");
}

#[test]
fn what_is_not_there_is_said_to_be_missing() {
    let served = Served::invented(&folder("missing").join("oxbow.tenunder"));
    let mut dice = Dice::thrown();
    for path in
        ["/api/jobs/4711", "/api/jobs/0", "/api/jobs/-1", "/api/jobs/x", "/api/jobs/99999999999999999999", "/api/x"]
    {
        told(&served.get(path), 404);
    }
    for end in ["sheet", "verdict", "history", "entries", "plan"] {
        told(&served.get(&format!("/api/jobs/4711/{end}")), 404);
    }
    told(&served.get("/api/pictures/0"), 404);
    told(&served.ask("DELETE", "/api/jobs/1012", &[], b"").unwrap(), 405);
    told(&served.get("/api/jobs?page=first"), 400);
    for path in ["/jobs/4711/measure", "/jobs/4711", "/jobs/x", "/nowhere"] {
        let answer = served.get(path);
        assert!([400, 404].contains(&answer.status), "{path}: {}", answer.status);
        assert!(!answer.body.contains("panicked") && !answer.body.is_empty(), "{path}");
    }
    let unknown = dice.id();
    for kind in [
        json!({ "undo": { "entry": unknown } }),
        json!({ "flag_settled": { "flag": unknown, "how": "kept" } }),
        json!({ "second_reading": { "of": unknown, "size": "2.1243", "found": "agrees" } }),
        json!({ "photograph": { "picture": "0", "caption": "x" } }),
    ] {
        let line = json!({ "id": dice.id(), "who": "Pat", "when": LONG_AGO, "kind": kind });
        let answer = served.post_json("/api/jobs/1012/entries", &json!({ "seen": 27, "entries": [line] }));
        assert!([404, 422].contains(&answer.status), "{kind}: {answer:?}");
        told(&answer, answer.status);
    }
}

#[test]
fn what_is_sent_twice_is_written_once_and_what_is_old_is_told_what_is_new() {
    let served = Served::invented(&folder("repeated").join("oxbow.tenunder"));
    let mut dice = Dice::thrown();
    let entries = "/api/jobs/1012/entries";
    let first = note(&mut dice, "first");
    let body = json!({ "seen": 27, "entries": [first] });
    assert_eq!(taken(served.post_json(entries, &body)), json!({ "seq": 28, "repeated": false, "since": [] }));
    assert_eq!(taken(served.post_json(entries, &body)), json!({ "seq": 28, "repeated": true, "since": [] }));
    // The same name for something else.
    let mut other = first.clone();
    other["kind"]["note"]["text"] = json!("something else");
    told(&served.post_json(entries, &json!({ "seen": 28, "entries": [other] })), 409);
    // A page that has not seen the note: told what it is, and nothing written unless it is wanted regardless.
    let second = note(&mut dice, "second");
    let behind = told(&served.post_json(entries, &json!({ "seen": 27, "entries": [second] })), 409);
    assert_eq!((&behind["seq"], &behind["since"][0]["id"]), (&json!(28), &first["id"]));
    let kept = taken(served.post_json(entries, &json!({ "seen": 27, "regardless": true, "entries": [second] })));
    assert_eq!((&kept["seq"], &kept["since"][0]["id"]), (&json!(29), &first["id"]));
    told(&served.post_json(entries, &json!({ "seen": 99, "entries": [note(&mut dice, "third")] })), 409);
    // A batch is written whole or not at all.
    let mut wrong = note(&mut dice, "x");
    wrong["kind"]["note"]["text"] = json!("");
    let batch = json!({ "seen": 29, "entries": [note(&mut dice, "good"), wrong] });
    told(&served.post_json(entries, &batch), 422);
    // Undo names what it saw; sent twice it is done once.
    let step = json!({ "id": dice.id(), "who": "Pat", "when": LONG_AGO, "seen": 28 });
    told(&served.post_json("/api/jobs/1012/undo", &step), 409);
    let step = json!({ "id": dice.id(), "who": "Pat", "when": LONG_AGO, "seen": 29 });
    assert_eq!(taken(served.post_json("/api/jobs/1012/undo", &step))["repeated"], false);
    assert_eq!(taken(served.post_json("/api/jobs/1012/undo", &step))["repeated"], true);
    assert_eq!(served.get("/api/jobs/1012").json()["seq"], 30);
    // A crank booked in twice under one name is one job.
    let crank = crank(&mut dice, "A. Miller");
    let job = taken(served.post_json("/api/jobs", &crank))["job"].clone();
    let again = taken(served.post_json("/api/jobs", &crank));
    assert_eq!((&again["job"], &again["repeated"]), (&job, &json!(true)));
}

/// A reading kept on a tablet comes late, with its own time; clocks that are wrong lose nothing either.
#[test]
fn times_out_of_order_are_kept_and_said_to_be_late() {
    let served = Served::invented(&folder("late").join("oxbow.tenunder"));
    let mut dice = Dice::thrown();
    let mut lines = Vec::new();
    for when in ["2026-11-25T14:02:00+01:00", "1999-12-31T23:59:59Z", "2099-01-01T00:00:00Z"] {
        let mut line = note(&mut dice, when);
        line["when"] = json!(when);
        lines.push(line);
    }
    taken(served.post_json("/api/jobs/1014/entries", &json!({ "seen": 1, "entries": lines })));
    let history = served.get("/api/jobs/1014/history").json();
    let late: Vec<bool> = history.as_array().unwrap().iter().map(|line| line["late"].as_bool().unwrap()).collect();
    assert_eq!(late.len(), 4);
    assert!(late[2] && !late[3], "{history}");
    for page in ["/jobs", "/jobs/1014/history", "/jobs/1014/particulars"] {
        assert!(served.get(page).status < 500, "{page}");
    }
}

/// Writes lines into a record past the program that serves it.
fn written_by_another_program(record: &Path, job: i64, dice: &mut Dice, kinds: &[Value]) {
    let drafts = kinds.iter().map(|kind| {
        let id = dice.id().parse().expect("a name");
        let kind: EntryKind = serde_json::from_str(&kind.to_string()).expect("a kind of entry");
        Draft::new(id, SCRIPT, LONG_AGO, kind)
    });
    let drafts: Vec<Draft> = drafts.collect();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    runtime.block_on(async {
        let store = Store::open(&record.display().to_string()).await.expect("the record");
        let seen = store.head(job).await.expect("the job").seq;
        store.append(job, seen, &drafts).await.expect("lines are written");
        store.close().await;
    });
}

/// Whatever people type stays what they typed, on every page there is.
#[test]
fn scripts_in_names_are_shown_and_never_run() {
    let record = folder("scripts").join("oxbow.tenunder");
    let served = Served::invented(&record);
    let browser = Browser::new(&served);
    let mut dice = Dice::thrown();
    let mut shop = Vec::new();
    for kind in [
        json!({ "person": { "name": SCRIPT } }),
        json!({ "settings": { "settings": { "name": SCRIPT, "address": SCRIPT } } }),
        json!({ "batch": { "batch": SCRIPT, "particulars": { "treater": SCRIPT, "treatment": SCRIPT, "goes": SCRIPT } } }),
        json!({ "instrument": { "row": { "name": SCRIPT, "kind": SCRIPT } } }),
        json!({ "note": { "text": SCRIPT } }),
    ] {
        shop.push(json!({ "id": dice.id(), "who": SCRIPT, "when": LONG_AGO, "kind": kind }));
    }
    taken(served.post_json("/api/shop/log", &json!({ "entries": shop })));
    let mut crank = crank(&mut dice, SCRIPT);
    for part in ["who", "mark", "telephone"] {
        crank[part] = json!(SCRIPT);
    }
    let booked = taken(served.post_json("/api/jobs", &crank));
    let job = booked["job"].as_i64().unwrap();
    let mut lines = Vec::new();
    for kind in [
        json!({ "note": { "text": SCRIPT } }),
        json!({ "instrument": { "row": { "name": SCRIPT, "range": [2.0, 3.0] } } }),
        json!({ "micrometer_changed": { "to": SCRIPT } }),
        json!({ "reading": { "row": {
            "journal": "main 1", "at": "front", "plane": 0, "size": 2.1243, "with": SCRIPT
        }, "typed": SCRIPT } }),
        json!({ "flag_raised": { "check": SCRIPT, "says": SCRIPT } }),
        json!({ "eye_check": { "item": SCRIPT, "passed": false, "by": SCRIPT, "says": SCRIPT } }),
    ] {
        lines.push(json!({ "id": dice.id(), "who": SCRIPT, "when": LONG_AGO, "kind": kind }));
    }
    let entries = json!({ "seen": booked["seq"], "entries": lines });
    taken(served.post_json(&format!("/api/jobs/{job}/entries"), &entries));
    // What the rules of a job take from nobody can stand in a record that an older program wrote.
    let old = [
        json!({ "decision": { "set": "pin", "choice": SCRIPT, "overruled": SCRIPT, "verdict": SCRIPT } }),
        json!({ "decision": { "set": "main", "choice": "leave", "overruled": SCRIPT, "verdict": SCRIPT } }),
        json!({ "cleaned_up": { "journal": SCRIPT, "yes": false, "left": SCRIPT } }),
        json!({ "sheet_issued": { "code": SCRIPT, "plan": { "unit": SCRIPT } } }),
        json!({ "sent_to_treatment": { "batch": SCRIPT } }),
    ];
    written_by_another_program(&record, job, &mut dice, &old);
    let search = "/jobs?search=%3Cscript%3Ealert(1)%3C/script%3E";
    let mut pages = ["/jobs", search, "/jobs/new", "/batches", "/shop", "/words"].map(str::to_owned).to_vec();
    for part in ["measure", "verdict", "grind", "treatment", "final", "hand-over", "particulars", "history"] {
        pages.push(format!("/jobs/{job}/{part}"));
    }
    let mut shown = 0;
    for path in &pages {
        let page = browser.get(path);
        assert!(page.status < 500, "{path}: {page:?}");
        let small = page.body.to_lowercase();
        assert!(!small.contains("<script>alert") && !small.contains("<img src=x"), "{path} runs what was typed");
        assert!(!page.body.contains("\"'><img"), "{path} lets what was typed out of its quotes");
        shown += usize::from(page.body.contains("&lt;script&gt;") || page.body.contains("&#60;script&#62;"));
    }
    assert!(shown > pages.len() / 2, "{shown} of {} pages show what was typed", pages.len());
}

/// Another program holds the record: said in words, and the reading is not half there.
#[cfg(unix)]
#[test]
fn a_record_that_cannot_be_written_says_so_and_keeps_what_was_typed() {
    let folder = folder("full");
    let record = folder.join("oxbow.tenunder");
    drop(Served::invented(&record));
    // As if the disk were full: the shell lets no file of the program grow beyond what the record has now.
    let kilobytes = std::fs::metadata(&record).unwrap().len() / 1024 + 64;
    let mut command = std::process::Command::new("sh");
    let limited = "trap '' XFSZ; ulimit -f $1; shift; exec \"$@\"";
    command.args(["-c", limited, "sh", &(kilobytes * 2).to_string(), env!("CARGO_BIN_EXE_tenunder")]);
    command.args(["serve", "--port", "0", "--record"]).arg(&record);
    let served = Served::start(command);
    let mut dice = Dice::thrown();
    let (mut written, mut full) = (0, None);
    for _ in 0..2000 {
        let line = note(&mut dice, &"x".repeat(9000));
        let answer =
            served.post_json("/api/jobs/1014/entries", &json!({ "seen": 1, "regardless": true, "entries": [line] }));
        match answer.status {
            200 => written += 1,
            _ => {
                full = Some(answer);
                break;
            }
        }
    }
    let full = full.expect("the disk is full in the end");
    let words = told(&full, 507);
    assert!(words["happened"].as_str().unwrap().contains("disk is full"), "{words}");
    assert!(words["safety"].as_str().unwrap().contains("safe"), "{words}");
    // The form comes back with what was typed in it, and says what happened and that the rest is safe.
    let browser = Browser::new(&served);
    let page = browser.get("/jobs/1012/measure");
    let hidden = |name: &str| {
        let rest = page.body.split(&format!("name=\"{name}\" value=\"")).nth(1)?;
        Some(rest.split('"').next()?.to_owned())
    };
    let id = hidden("id").unwrap();
    let form = format!("token={}&id={id}&seen=27&spot=main-5.rear.b&with=mic+2-3&reading=2.1246", browser.token);
    let answer = browser.send("/jobs/1012/measure", &form);
    assert!(answer.status == 507 && answer.body.contains("disk is full"), "{} {}", answer.status, answer.body);
    assert!(answer.body.contains("value=\"2.1246\""), "{}", answer.body);
    drop(served);
    let verified = program().args(["verify", "--record"]).arg(&record).output().unwrap();
    let said = String::from_utf8_lossy(&verified.stdout);
    assert!(verified.status.success() && said.contains("The record is whole"), "{said}");
    let served = Served::record(&record);
    assert_eq!(served.get("/api/jobs/1014").json()["seq"], 1 + written, "what was acknowledged, and nothing else");
}

#[test]
fn a_damaged_record_is_said_to_be_damaged() {
    let folder = folder("damaged");
    let record = folder.join("oxbow.tenunder");
    // Ended in order, the log is copied into the file.
    assert_eq!(Served::invented(&record).end("TERM"), Some(0));
    let sound = std::fs::read(&record).unwrap();
    let (mut refused, mut met) = (0, 0);
    for start in (8192..sound.len() - 5000).step_by(sound.len() / 6) {
        let mut bytes = sound.clone();
        bytes[start..start + 4000].iter_mut().for_each(|byte| *byte ^= 0x5a);
        let spoilt = folder.join(format!("spoilt-{start}.tenunder"));
        std::fs::write(&spoilt, &bytes).unwrap();
        let mut command = program();
        command.args(["jobs", "--record"]).arg(&spoilt);
        let opened = command.output().unwrap();
        if !opened.status.success() {
            let said = String::from_utf8_lossy(&opened.stderr);
            assert!(said.contains("damaged") || said.contains("no record"), "{said}");
            refused += 1;
            continue;
        }
        // What only reads may not have met it; what is to be written to is looked at more closely.
        let mut command = program();
        command.args(["serve", "--port", "0", "--record"]).arg(&spoilt).stderr(std::process::Stdio::piped());
        let served = match Served::tried(command) {
            Ok(served) => served,
            Err(said) => {
                assert!(said.contains("damaged") || said.contains("no record"), "{said}");
                refused += 1;
                continue;
            }
        };
        for job in 1001..=1014 {
            for path in [format!("/api/jobs/{job}"), format!("/jobs/{job}/history")] {
                let answer = served.get(&path);
                if answer.status >= 400 {
                    assert!(answer.status == 500 && answer.body.contains("damaged"), "{path}: {answer:?}");
                    assert!(answer.body.contains("restore the last backup"), "{path}: {answer:?}");
                    met += 1;
                }
            }
        }
    }
    assert!(refused + met > 0, "some of the damage was met");
}
