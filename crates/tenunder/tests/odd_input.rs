//! What is odd on the command line or in a sheet from a stranger is told in words, with what would do.

#[cfg(feature = "pages")]
mod served;

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn tenunder(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).args(arguments).output().unwrap()
}

fn file(name: &str, text: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(&path, text).unwrap();
    path
}

/// What was said, on one line, of something that was refused.
#[track_caller]
fn refused(output: &Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(output.stdout.is_empty());
    said
}

#[test]
fn a_sheet_reads_nothing_outside_its_folder() {
    file("odd/secret.txt", "the one secret line\n");
    let inside = file("odd/shop/in/readings.csv", "journal,at,plane,size\npin 1,middle,0,1.2480\n");
    assert!(inside.exists());
    let head = "sheet = 1\nunits = \"in\"\n";
    let absolute = file("odd/secret.txt", "the one secret line\n").display().to_string();
    for name in [absolute.as_str(), "../secret.txt", "in/../../secret.txt", "/etc/passwd"] {
        for keys in [
            format!("specification = \"wren.toml\"\nreadings = \"{name}\"\n"),
            format!("specification = \"{name}\"\nreadings = \"in/readings.csv\"\n"),
        ] {
            let sheet = file("odd/shop/sheet.toml", &format!("{head}{keys}"));
            let said = refused(&tenunder(&["assess", sheet.to_str().unwrap()]));
            assert!(said.contains("in the folder of the sheet"), "{said}");
            assert!(!said.contains("one secret line") && !said.contains("root:"), "{said}");
        }
    }
    let keys = "specification = \"wren.toml\"\nreadings = \"./in/readings.csv\"\n";
    let sheet = file("odd/shop/sheet.toml", &format!("{head}{keys}"));
    let answer = tenunder(&["assess", sheet.to_str().unwrap()]);
    assert!(answer.status.success(), "{}", String::from_utf8_lossy(&answer.stderr));
}

#[test]
fn two_directions_that_are_nearly_one_are_answered() {
    let wren = |planes: [&str; 3]| {
        let row = |journal: &str, at: &str, plane: &str, size: &str| {
            format!("{{ journal = \"{journal}\", at = \"{at}\", plane = {plane}, size = {size} }},\n")
        };
        let rows: String = [("main 1", "1.4991"), ("main 2", "1.4989"), ("pin 1", "1.2480")]
            .into_iter()
            .flat_map(|(journal, size)| {
                planes.map(|plane| row(journal, "front", plane, size) + &row(journal, "rear", plane, size))
            })
            .collect();
        format!("sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreading = [\n{rows}]\n")
    };
    for planes in [["0", "0.001", "0"], ["0", "0.001", "90"], ["0", "179.999", "0.001"], ["45", "45.0000001", "1e-9"]] {
        let sheet = file("odd/planes.toml", &wren(planes));
        for arguments in [&["assess"][..], &["assess", "--json"], &["assess", "--working"], &["fit"]] {
            let answer = tenunder(&[arguments, &[sheet.to_str().unwrap()]].concat());
            let said = String::from_utf8_lossy(&answer.stderr);
            assert_eq!(answer.status.code(), Some(0), "{planes:?} {arguments:?}: {said}");
        }
    }
}

#[cfg(feature = "pages")]
#[test]
fn a_number_that_does_not_fit_is_told_what_would() {
    for (arguments, expected) in [
        (&["serve", "--port", "99999"][..], "found \"99999\", expected a whole number from 0 to 65535"),
        (&["serve", "--port", "-1"], "found \"-1\", expected a whole number from 0 to 65535"),
        (&["serve", "--port", "http"], "found \"http\", expected a whole number from 0 to 65535"),
        (&["export", "first"], "found \"first\", expected the number of a job, like 1001"),
        (&["export", "99999999999999999999"], "expected the number of a job, like 1001"),
    ] {
        let said = refused(&tenunder(arguments));
        assert!(said.contains(expected), "{said}");
    }
}

#[cfg(feature = "record")]
#[test]
fn a_search_however_long_finds_nothing_and_breaks_nothing() {
    let record = Path::new(env!("CARGO_TARGET_TMPDIR")).join("odd-search.tenunder");
    for end in ["", ".key"] {
        let _ = std::fs::remove_file(format!("{}{end}", record.display()));
    }
    let sheet = file(
        "odd/note.toml",
        "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nmark = \"W-17\"\nreading = [ { journal = \"pin 1\", at = \"middle\", plane = 0, size = 1.2480 } ]\n",
    );
    let record = record.to_str().unwrap();
    let there = tenunder(&["import", sheet.to_str().unwrap(), "--new", "--record", record]);
    assert!(there.status.success(), "{}", String::from_utf8_lossy(&there.stderr));
    for (length, found) in [(4, "W-17"), (60_000, "No jobs.")] {
        let search = if length == 4 { "w-17".to_owned() } else { "x%_".repeat(length / 3) };
        let answer = tenunder(&["jobs", &search, "--record", record]);
        let said = String::from_utf8_lossy(&answer.stdout);
        assert!(answer.status.success() && said.contains(found), "{said} {}", String::from_utf8_lossy(&answer.stderr));
    }
}

/// What is sent to the pages and to the interface names no file of the computer: known engines by their names, or nothing.
#[cfg(feature = "pages")]
#[test]
fn through_the_pages_no_file_is_read_and_a_long_search_breaks_nothing() {
    let record = served::folder("odd-served").join("shop.tenunder");
    let served = served::Served::record(&record);
    let mut dice = served::Dice::thrown();
    let long = "x".repeat(50_001);
    let found = served.get(&format!("/api/jobs?search={long}"));
    assert!(found.status == 200 && found.json()["all"] == 0, "{found:?}");
    assert_eq!(served.get(&format!("/jobs?search={long}")).status, 200);
    let secret = file("odd/secret.toml", "the one secret line\n");
    for name in ["/etc/passwd", "../shop.tenunder.key", "shop.tenunder.key", secret.to_str().unwrap()] {
        for sheet in [
            serde_json::json!({ "sheet": 1, "units": "in", "specification": "wren", "readings": name }),
            serde_json::json!({ "sheet": 1, "units": "in", "specification": name }),
            serde_json::json!({ "sheet": 1, "units": "in", "specification": "wren", "run_outs": name, "traces": name }),
        ] {
            let crank = serde_json::json!({
                "id": dice.id(), "who": "Pat", "when": "2026-11-25T09:00:00Z", "what": { "sheet": sheet }
            });
            let answer = served.post_json("/api/jobs", &crank);
            assert_eq!(answer.status, 422, "{answer:?}");
            assert!(!answer.body.contains("one secret line") && !answer.body.contains("root:"), "{answer:?}");
        }
        let crank = serde_json::json!({
            "id": dice.id(), "who": "Pat", "when": "2026-11-25T09:00:00Z", "what": { "engine": name }
        });
        assert_eq!(served.post_json("/api/jobs", &crank).status, 422);
    }
    assert_eq!(served.get("/api/jobs").json()["all"], 0);
}

#[test]
fn the_licences_of_all_that_is_built_in_are_printed() {
    let answer = tenunder(&["--licences"]);
    let told = String::from_utf8(answer.stdout).unwrap();
    assert!(answer.status.success() && answer.stderr.is_empty());
    for part in
        ["Tenunder is given under", "\nclap 4.", "\nserde_json 1.", "Permission is hereby granted, free of charge"]
    {
        assert!(told.contains(part), "{part:?} is not among the licences");
    }
    assert!(told.contains("SIL OPEN FONT LICENSE"), "the typefaces have one too");
    // Without any argument help is shown, as it was.
    let answer = tenunder(&[]);
    assert!(answer.status.code() == Some(2) && String::from_utf8_lossy(&answer.stderr).contains("Usage: tenunder"));
}
