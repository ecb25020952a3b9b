//! The command line's one act on a job is to bring a sheet in. That is history, taken as it says; but what it reports stops
//! whatever is done afterwards, at every other door. (Those are held in `crates/bench/tests/doors.rs`.)
#![cfg(feature = "pages")]

mod served;

use serde_json::{Value, json};
use served::{Dice, Served, folder, program};

const NOW: &str = "2026-11-25T09:00:00Z";

fn act(served: &Served, dice: &mut Dice, kind: &Value) -> (u16, Value) {
    let seen = served.get("/api/jobs/1001").json()["seq"].clone();
    let entry = json!({ "id": dice.id(), "who": "Sam", "when": NOW, "kind": kind });
    let answer = served.post_json("/api/jobs/1001/entries", &json!({ "seen": seen, "entries": [entry] }));
    (answer.status, answer.json())
}

#[test]
fn a_cracked_crank_is_brought_in_and_goes_no_further() {
    let folder = folder("doors-cracked");
    assert!(program().args(["demo", "--copy-to", "."]).current_dir(&folder).status().unwrap().success());
    let sheet = std::fs::read_to_string(folder.join("tarn-four-worn.toml")).unwrap();
    let crack = "\n[[damage]]\njournal = \"pin 2\"\nkind = \"crack\"\n";
    // The sheet lists its damage in brackets or under headings; either way a crack comes in with an export of itself.
    let cracked = match sheet.split_once("damage = [") {
        Some((head, rest)) => format!("{head}damage = [\n    {{ journal = \"pin 2\", kind = \"crack\" }},{rest}"),
        None => sheet + crack,
    };
    std::fs::write(folder.join("cracked.toml"), cracked).unwrap();
    let record = folder.join("shop.tenunder");
    let import = |sheet: &str| {
        let mut command = program();
        command.args(["import", sheet]).current_dir(&folder);
        if !record.exists() {
            command.arg("--new");
        }
        let output = command.output().unwrap();
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    assert_eq!(import("cracked.toml"), (Some(0), String::new()));
    let served = Served::record(&record);
    let mut dice = Dice::thrown();
    let job = served.get("/api/jobs/1001").json();
    let damages = job["document"]["damage"].as_array().unwrap();
    assert!(damages.iter().any(|row| row["kind"] == "crack"), "{job}");
    let says = "A crack is reported on pin 2.";
    for kind in [
        json!({ "moved": { "to": "at_the_grinder" } }),
        json!({ "moved": { "to": "final_check" } }),
        json!({ "signed_off": { "document_hash": "00", "says": "All inside." } }),
        json!({ "handed_over": { "to": "A. Miller" } }),
    ] {
        let (status, told) = act(&served, &mut dice, &kind);
        assert!(matches!(status, 409 | 422) && told.to_string().contains(says), "{kind}: {status} {told}");
        assert_eq!(served.get("/api/jobs/1001").json(), job, "{kind} was written");
    }
    let (status, told) = act(&served, &mut dice, &json!({ "note": { "text": "Put aside." } }));
    assert_eq!(status, 200, "{told}");
    // What comes out of a job goes in again as it was, crack and all.
    drop(served);
    let out = program().args(["export", "1001"]).current_dir(&folder).output().unwrap();
    std::fs::write(folder.join("out.toml"), &out.stdout).unwrap();
    assert_eq!(import("out.toml"), (Some(0), String::new()));
}

#[test]
fn a_sheet_that_cannot_be_read_is_not_brought_in() {
    let folder = folder("doors-unreadable");
    assert!(program().args(["demo", "--copy-to", "."]).current_dir(&folder).status().unwrap().success());
    let sheet = std::fs::read_to_string(folder.join("wren-notebook.toml")).unwrap();
    std::fs::write(folder.join("wrong.toml"), sheet.replace("main 2", "main 9")).unwrap();
    let output = program().args(["import", "wrong.toml", "--new"]).current_dir(&folder).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("main 9"));
    assert!(!folder.join("shop.tenunder").exists(), "nothing was written");
}
