//! `tenunder which` as its user meets it: answers, JSON, own engines, rubbish.

use std::path::Path;
use std::process::{Command, Output};

fn which(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).arg("which").args(arguments).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// 1.8640 is five tenths below 1.8645, the low limit of the Tarn four's pins at 0.010 under.
#[test]
fn a_size_is_looked_up() {
    let output = which(&["1.8640"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let says = text(&output.stdout);
    assert!(says.starts_with("Tarn four") && says.contains("pin at 0.010 in under, worn 0.0008 in"), "{says}");
    assert!(says.contains("To tell them apart:") && says.contains("not a specification"), "{says}");
    let json: serde_json::Value =
        serde_json::from_slice(&which(&["main", "2.1143", "pin", "1.8640", "--mains", "5", "--json"]).stdout).unwrap();
    assert_eq!((&json["units"], &json["fits"][0]["sizes"][1]["undersize"]), (&"in".into(), &0.01.into()));
    assert!(json["fits"][0]["chance"].as_f64().unwrap() > 0.9, "{json}");
}

/// Millimetres are known by their unit or by being too large for inches, with a comma too.
#[test]
fn units_are_understood() {
    for typed in [&["47.346 mm"][..], &["47.346", "mm"], &["47.346"], &["47,346"]] {
        let says = text(&which(typed).stdout);
        assert!(says.contains("47.346 mm: pin at 0.010 in under"), "{typed:?}: {says}");
    }
}

/// Engines of one's own are looked among; a folder's other files are passed over.
#[test]
fn own_engines_are_looked_among() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("which-own");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    let tarn = include_str!("../library/tarn-four.toml");
    // Without its bearings, which would not go with other journals.
    let keys = ["smallest", "housing", "wall", "clearance"];
    let bare: Vec<&str> =
        tarn.lines().filter(|line| !keys.iter().any(|key| line.trim_start().starts_with(key))).collect();
    let own = bare.join("\n").replace("Tarn four", "Tarn five").replace("[1.8745, 1.8750]", "[1.9945, 1.9950]");
    std::fs::write(folder.join("own.toml"), own).unwrap();
    std::fs::write(folder.join("sheet.toml"), include_str!("../library/tarn-four-worn.toml")).unwrap();
    std::fs::write(folder.join("notes.txt"), "1.9945").unwrap();
    let output = which(&["pin", "1.9947", "--among", folder.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(text(&output.stdout).starts_with("Tarn five, 1.5 litre, finished:"), "{}", text(&output.stdout));
}

/// Everything that is wrong is said at once, with place, value and what to do; nothing panics.
#[test]
fn rubbish_is_answered() {
    let output = which(&["main", "foo", "-3", "1e9", "--mains", "0", "--among", "/nowhere/at/all.toml"]);
    let first = which(&["main", "foo", "99999 mm", "--mains", "0", "--among", "no such file.toml"]);
    for output in [output, first] {
        assert_eq!(output.status.code(), Some(2), "{}", text(&output.stdout));
        assert!(!text(&output.stderr).contains("panicked"));
    }
    let says = text(&which(&["foo", "99999 mm", "--mains", "0", "--among", "no such file.toml"]).stderr);
    for part in ["4 problems", "foo", "99999", "mains", "no such file.toml"] {
        assert!(says.contains(part), "{part}: {says}");
    }
    let many: Vec<String> = (0..9).map(|n| format!("1.86{n}")).collect();
    let many: Vec<&str> = many.iter().map(String::as_str).collect();
    assert!(text(&which(&many).stderr).contains("8 at most"));
    assert!(text(&which(&["main"]).stderr).contains("no size"));
}
