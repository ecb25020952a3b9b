//! The roughness of journals on the command line: text and JSON say the same, and what cannot be is refused in the same words
//! as on the pages.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const WORN: &str = include_str!("../library/tarn-four-worn.toml");

fn tenunder(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).args(arguments).output().unwrap()
}

fn sheet(name: &str, rows: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, format!("{WORN}{rows}")).unwrap();
    path
}

fn flat(text: &[u8]) -> String {
    String::from_utf8_lossy(text).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// By hand, against the 10 microinches of the book: 6 is within; 20 is above; 10.2 with a tenth of it, lying evenly, is 1.02 / √3
/// = 0.59 unsure, a third of that off the limit, so too close to call. 12.7 microinches are 0.323 µm.
const ROWS: &str = r#"
[[roughness]]
journal = "pin 1"
at = "middle"
ra = 6
lay = "around"

[[roughness]]
journal = "pin 2"
at = "middle"
ra = 20
lay = "along"
with = "gauge 7"

[[roughness]]
journal = "pin 3"
at = "front"
ra = 10.2
error_limit = 1.02

[[roughness]]
journal = "pin 4"
at = "rear"
ra = "0.32258 µm"
when = "after"
"#;

#[test]
fn text_and_json_tell_every_place() {
    let path = sheet("rough.toml", ROWS);
    let path = path.to_str().unwrap();
    let output = tenunder(&["assess", path, "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", flat(&output.stderr));
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let places = answer["roughness"]["places"].as_array().unwrap();
    let told: Vec<_> = places
        .iter()
        .map(|p| (p["journal"].as_str().unwrap(), p["when"].as_str().unwrap(), p["state"].as_str().unwrap()))
        .collect();
    let expected = [
        ("pin 1", "before", "within"),
        ("pin 2", "before", "above"),
        ("pin 3", "before", "too close to call"),
        ("pin 4", "after", "above"),
    ];
    assert_eq!(told, expected);
    assert!((places[1]["ra_um"].as_f64().unwrap() - 0.508).abs() < 1e-9);
    assert!((places[1]["limit_um"].as_f64().unwrap() - 0.254).abs() < 1e-9);
    assert_eq!(places[1]["error_limit_assumed"], true);
    assert_eq!(places[2]["error_limit_assumed"], false);
    let not = answer["roughness"]["not_measured"].as_array().unwrap();
    assert!(not.iter().any(|name| name == "pin 4") && not.iter().any(|name| name == "main 1"), "{not:?}");
    let text = tenunder(&["assess", path]);
    for line in String::from_utf8_lossy(&text.stdout).lines() {
        assert!(line.chars().count() <= 80, "longer than 80: {line}");
    }
    let text = flat(&text.stdout);
    for words in [
        "ROUGHNESS as measured",
        "pins: roughness at most Ra 10 µin (0.254 µm).",
        "pin 1 middle, Ra 6 µin (0.152 µm), lay around: within",
        "pin 2 middle, Ra 20 µin (0.508 µm), marks along the journal, with gauge 7: above",
        "pin 3 front, Ra 10.2 µin (0.259 µm): too close to call",
        "Not measured: mains 1 to 5.",
        "Not measured: pin 4.",
        "where nobody said, 10 in 100 of it is assumed.",
        "ROUGHNESS when finished",
        "pin 4 rear, Ra 12.7 µin (0.323 µm): above",
    ] {
        assert!(text.contains(words), "{words:?} is not in: {text}");
    }
    for says in answer["roughness"]["says"].as_array().unwrap() {
        assert!(text.contains(says.as_str().unwrap()), "{says}");
    }
}

/// Whatever the roughness, sizes, chances and choices are the same: it is polished out or ground off, and moves no undersize.
#[test]
fn it_changes_no_undersize() {
    let judged = |name: &str, rows: &str| {
        let output = tenunder(&["assess", sheet(name, rows).to_str().unwrap(), "--json"]);
        let mut answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        answer.as_object_mut().unwrap().remove("roughness");
        answer
    };
    assert_eq!(judged("smooth.toml", ""), judged("rough-too.toml", ROWS));
}

#[test]
fn a_figure_of_the_other_unit_is_refused_at_assess_and_at_import() {
    let path = sheet("rough-which.toml", "\n[[roughness]]\njournal = \"pin 2\"\nat = \"middle\"\nra = 0.25\n");
    let path = path.to_str().unwrap();
    let says = "found 0.25, expected a roughness in µin; which unit was it read in?";
    let output = tenunder(&["assess", path]);
    assert_eq!(output.status.code(), Some(2));
    assert!(flat(&output.stderr).contains(says), "{}", flat(&output.stderr));
    #[cfg(feature = "record")]
    {
        let record = Path::new(env!("CARGO_TARGET_TMPDIR")).join("rough-which.tenunder");
        let _ = std::fs::remove_file(&record);
        let output = tenunder(&["import", path, "--new", "--record", record.to_str().unwrap()]);
        assert_eq!(output.status.code(), Some(2));
        assert!(flat(&output.stderr).contains(says), "{}", flat(&output.stderr));
        assert!(!record.exists(), "nothing was written");
    }
}
