//! `tenunder fit` as its user meets it.

use std::path::Path;
use std::process::{Command, Output};

fn tenunder(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).args(arguments).output().unwrap()
}

fn answered(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty());
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn worked() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("library/tarn-four-bearings.toml");
    std::fs::read_to_string(path).unwrap()
}

/// A sheet of its own for a test, in the build folder.
fn file(name: &str, text: &str) -> String {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, text).unwrap();
    path.display().to_string()
}

fn json(arguments: &[&str]) -> serde_json::Value {
    serde_json::from_str(&answered(&tenunder(arguments))).unwrap()
}

/// One engine, three questions: the text, the JSON and the plan of the crank itself name the same size to finish to.
#[test]
fn the_size_the_bearings_ask_for_is_the_one_the_plan_finishes_to() {
    let sheet = file("fit-worked.toml", &worked());
    let text = answered(&tenunder(&["fit", &sheet]));
    let fit = json(&["fit", &sheet, "--json"]);
    let verdict = json(&["assess", &sheet, "--json"]);
    for (set, heading) in [("main", "MAINS"), ("pin", "PINS")] {
        let target = fit["sets"][set]["finish_to"].as_f64().unwrap();
        assert!(text.contains(&format!("{heading}: finish to {target:.4}")[..20]), "{heading} {target}");
        let plan = verdict["plan"].as_array().unwrap();
        let own = plan.iter().find(|p| p["journal"] == format!("{set} 1")).unwrap();
        let finished = own["stages"].as_array().unwrap().iter().find(|s| s["stage"] == "finished").unwrap();
        assert!((finished["target"].as_f64().unwrap() - target).abs() < 1e-9, "{finished} is not {target}");
    }
    // The bearings are a little wide and ask for 2.114875. Nitriding varies by a tenth, so the plan keeps two from either end
    // of the window: 2.1147 to 2.1148, and inside a tenth it aims at the middle, 2.11475. A micrometer that reads tenths shows
    // 2.1147 or 2.1148, of which as many finish within limits; the larger can still be taken down.
    assert!((fit["sets"]["main"]["finish_to"].as_f64().unwrap() - 2.1148).abs() < 1e-9);
    for bearing in fit["bearings"].as_array().unwrap() {
        let planned = &bearing["as_planned"];
        let row = format!(
            "{:<8} {:>8.4} {:>7.4} {:>7.4}",
            bearing["journal"].as_str().unwrap(),
            planned["tightest"].as_f64().unwrap(),
            planned["mean"].as_f64().unwrap(),
            planned["loosest"].as_f64().unwrap()
        );
        // A figure that ends on a five may round either way in its last place.
        let close = text.lines().any(|line| {
            let words: Vec<&str> = line.split_whitespace().collect();
            let wanted: Vec<&str> = row.split_whitespace().collect();
            words.len() > 5
                && words[..2] == wanted[..2]
                && (2..5).all(|n| (number(words[n]) - number(wanted[n])).abs() < 1.1e-4)
        });
        assert!(close, "{row}\n{text}");
    }
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or(f64::NAN)
}

#[test]
fn the_answer_fits_eighty_columns() {
    let sheet = file("fit-columns.toml", &worked());
    let text = answered(&tenunder(&["fit", &sheet]));
    for heading in ["MAINS: finish to", "END FLOAT", "SIDE CLEARANCE", "TO ORDER", "PRICE", "Ways up the ladder"] {
        assert!(text.contains(heading), "no {heading}");
    }
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "longer than 80: {line}");
        assert_eq!(line.trim_end(), line, "blanks at the end of {line:?}");
    }
}

/// By hand from the sheet: bore 2.27075 (the gauge reads a tenth low), walls 0.0767 and 0.0768, finished at 2.1148. The
/// micrometer of the thrust faces' width reads a tenth high, those of housing and washers read true.
#[test]
fn a_clearance_can_be_followed_by_hand() {
    let sheet = file("fit-by-hand.toml", &worked());
    let fit = json(&["fit", &sheet, "--json"]);
    let one = &fit["bearings"][0];
    assert_eq!(
        (one["shells"]["upper"].as_str(), one["shells"]["lower"].as_str()),
        (Some("M upper A 1"), Some("M lower B 1"))
    );
    let mean = one["as_planned"]["mean"].as_f64().unwrap();
    assert!((mean - (2.27075 - 0.0767 - 0.0768 - 2.1148)).abs() < 1e-9, "{mean}");
    let tightest = one["as_planned"]["tightest"].as_f64().unwrap();
    assert!((tightest - (2.2707 - 0.0767 - 0.0768 - 2.1150)).abs() < 1e-9, "{tightest}");
    assert!((fit["end_float"]["reckoned"].as_f64().unwrap() - (1.1459 - 0.9500 - 0.0911 - 0.0909)).abs() < 1e-9);
    assert_eq!(fit["quotation"]["total"].as_f64(), Some(65.0 + 16.0 + 95.0 + 46.0 + 120.0 + 40.0 + 9.0));
}

#[test]
fn a_wrong_box_stops_the_work() {
    let metric = worked()
        .replace("undersize = 0.010, wall = 0.0767, count = 3", "undersize = \"0.25 mm\", wall = 0.0767, count = 3");
    let text = answered(&tenunder(&["fit", &file("fit-metric.toml", &metric)]));
    assert!(text.contains("STOP"), "{text}");
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("0.25 mm, which is 0.00984 in, not 0.010 in"), "{flat}");
    assert!(flat.contains("So with 2 more."), "{flat}");
}

#[test]
fn a_sheet_at_fault_is_refused_with_every_reason() {
    let wrong =
        worked().replace("housing = 0.9500", "housing = \"wide\"").replace("half = \"upper\"", "half = \"top\"");
    let output = tenunder(&["fit", &file("fit-wrong.toml", &wrong)]);
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty());
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("thrust[1].housing") && said.contains("shell[1].half"), "{said}");
}

#[test]
fn a_sheet_without_bearings_still_says_what_to_order() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("library/tarn-four-worn.toml");
    let text = answered(&tenunder(&["fit", path.to_str().unwrap()]));
    assert!(text.contains("[[housing]]") && text.contains("main shells, pairs, 0.010 in under: 5"), "{text}");
}
