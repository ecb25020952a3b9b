//! The shop's record from the command line.
#![cfg(feature = "record")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn tenunder(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).args(arguments).current_dir(folder).output().unwrap()
}

#[track_caller]
fn answered(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).unwrap()
}

#[track_caller]
fn refused(output: &Output, words: &str) {
    let said = String::from_utf8(output.stderr.clone()).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    // Where its lines break depends on the length of the paths in it.
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains(words), "{words:?} is not in: {said}");
}

#[test]
fn a_sheet_goes_in_comes_out_and_answers_the_same() {
    let folder = folder("record");
    answered(&tenunder(&folder, &["demo", "--copy-to", "."]));
    let said = answered(&tenunder(&folder, &["import", "tarn-four-worn.toml", "--who", "Pat", "--new"]));
    assert!(said.contains("job 1001"), "{said}");
    answered(&tenunder(&folder, &["import", "wren-notebook.toml"]));
    let out = answered(&tenunder(&folder, &["export", "1001"]));
    std::fs::write(folder.join("out.toml"), out).unwrap();
    let judge = |sheet: &str| answered(&tenunder(&folder, &["assess", sheet, "--json"]));
    assert_eq!(judge("out.toml"), judge("tarn-four-worn.toml"));

    let jobs = answered(&tenunder(&folder, &["jobs"]));
    assert!(jobs.contains("1001") && jobs.contains("C-0412") && jobs.contains("2 in all"), "{jobs}");
    assert!(answered(&tenunder(&folder, &["jobs", "wren"])).contains("1002"));
    assert!(answered(&tenunder(&folder, &["verify"])).contains("The record is whole"));

    answered(&tenunder(&folder, &["backup", "monday.backup"]));
    refused(&tenunder(&folder, &["backup", "monday.backup"]), "monday.backup");
    answered(&tenunder(&folder, &["restore", "monday.backup", "--record", "second.tenunder"]));
    assert_eq!(answered(&tenunder(&folder, &["jobs", "--record", "second.tenunder"])), jobs);
    refused(&tenunder(&folder, &["restore", "monday.backup"]), "jobs");
    refused(&tenunder(&folder, &["export", "4711"]), "No job 4711");
}

#[test]
fn a_mark_that_looks_like_another_is_asked_about() {
    let folder = folder("record-marks");
    answered(&tenunder(&folder, &["demo", "--copy-to", "."]));
    answered(&tenunder(&folder, &["import", "wren-notebook.toml", "--new"]));
    let sheet = std::fs::read_to_string(folder.join("wren-notebook.toml")).unwrap();
    let like = sheet.replace("W-17", "W-l7");
    assert_ne!(like, sheet);
    std::fs::write(folder.join("like.toml"), like).unwrap();
    refused(&tenunder(&folder, &["import", "like.toml"]), "The mark W-l7 looks like W-17");
    assert!(answered(&tenunder(&folder, &["jobs"])).contains("1 in all"));
    answered(&tenunder(&folder, &["import", "like.toml", "--sure"]));
    // A second crank under the very same mark is the same mark.
    answered(&tenunder(&folder, &["import", "wren-notebook.toml"]));
    assert!(answered(&tenunder(&folder, &["jobs"])).contains("3 in all"));
}

#[test]
fn what_is_at_fault_makes_no_record() {
    let folder = folder("no-record");
    std::fs::write(folder.join("wrong.toml"), "sheet = 1\nunits = \"in\"\n").unwrap();
    refused(&tenunder(&folder, &["import", "wrong.toml", "--new"]), "specification");
    let sound = "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreading = [{ journal = \"pin 1\", at = \"middle\", plane = 0, size = 1.2480 }]\n";
    std::fs::write(folder.join("sound.toml"), sound).unwrap();
    for arguments in
        [vec!["export", "1001"], vec!["jobs"], vec!["verify"], vec!["backup", "b"], vec!["import", "sound.toml"]]
    {
        refused(&tenunder(&folder, &arguments), "shop.tenunder");
    }
    for arguments in [["restore", "no-such.backup"], ["restore", "wrong.toml"]] {
        refused(&tenunder(&folder, &arguments), arguments[1]);
    }
    let mut left: Vec<_> = std::fs::read_dir(&folder).unwrap().flatten().map(|e| e.file_name()).collect();
    left.sort();
    assert_eq!(left, ["sound.toml", "wrong.toml"], "nothing was written");
}
