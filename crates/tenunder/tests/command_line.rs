//! The command line as its user meets it: answers, refusals, exit codes.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn tenunder(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).args(arguments).output().unwrap()
}

fn shipped(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("library").join(name).display().to_string()
}

/// A file of its own for a test, in the build folder.
fn file(name: &str, text: impl AsRef<[u8]>) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, text).unwrap();
    path
}

fn answered(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty());
    String::from_utf8(output.stdout.clone()).unwrap()
}

#[track_caller]
fn refused(output: &Output, expected: &[&str]) {
    let said = String::from_utf8(output.stderr.clone()).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(output.stdout.is_empty(), "nothing is answered where something is refused");
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in expected {
        assert!(said.contains(words), "{words:?} is not in: {said}");
    }
}

fn json(arguments: &[&str]) -> serde_json::Value {
    serde_json::from_str(&answered(&tenunder(arguments))).unwrap()
}

#[test]
fn the_demo_answers_and_fits_eighty_columns() {
    for example in ["tarn-four-worn", "skelder-six-ground-before", "wren-notebook", "tarn-four-misread"] {
        let text = answered(&tenunder(&["demo", example]));
        for heading in ["MAINS", "PINS", "JOURNALS", "undersize"] {
            assert!(text.contains(heading), "{example}: no {heading}");
        }
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{example}: longer than 80: {line}");
            assert_eq!(line.trim_end(), line, "{example}: blanks at the end of {line:?}");
        }
    }
    refused(&tenunder(&["demo", "no-such"]), &["no-such", "tarn-four-worn"]);
}

/// One engine, two faces: the text and the JSON give the same choices and sizes.
#[test]
fn text_and_json_agree() {
    let sheet = shipped("tarn-four-worn.toml");
    let text = answered(&tenunder(&["assess", &sheet]));
    let answer = json(&["assess", &sheet, "--json"]);
    assert_eq!(answer["units"], "in");
    for (set, heading) in [("main", "MAINS"), ("pin", "PINS")] {
        let choice = answer["sets"][set]["choice"].as_f64().unwrap();
        assert!(text.contains(&format!("{heading}: grind to {choice:.3} under")), "{heading} {choice}");
    }
    for journal in answer["journals"].as_array().unwrap() {
        let row = format!("{:<8} {:>8.4}", journal["journal"].as_str().unwrap(), journal["smallest"].as_f64().unwrap());
        assert!(text.contains(&row), "{row}");
    }
    for plan in answer["plan"].as_array().unwrap() {
        for stage in plan["stages"].as_array().unwrap() {
            let micrometer = stage["micrometer"].as_str().unwrap();
            let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(flat.contains(micrometer), "{micrometer}");
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_answer() {
    let sheet = shipped("tarn-four-worn.toml");
    let first = answered(&tenunder(&["assess", &sheet, "--json"]));
    assert_eq!(first, answered(&tenunder(&["assess", &sheet, "--json"])));
    let other = json(&["demo", "--json"]);
    assert_eq!(other, serde_json::from_str::<serde_json::Value>(&first).unwrap(), "the demo is the same sheet");
}

/// Common practice, no source: a standard journal two thou down on the tops of ridges two to three thou deep does not
/// go at ten under and goes at twenty; a 1.7500 in journal ten under is 1.7400, twenty under 1.7300; nitriding grows it
/// about 0.0005 in on the diameter, so one to finish at 1.7500 is finished at 1.7495 before treatment.
#[test]
fn ridges_two_to_three_thou_deep_do_not_go_at_ten() {
    let sheet = |treatment: &str| {
        format!(
            r#"
sheet = 1
units = "in"
[specification]
specification = 1
name = "a 1.7500 in journal"
units = "in"
throw = 1.5
[specification.main]
count = 2
positions = [0, 4]
length = 1.2
size = [2.0000, 2.0000]
undersizes = [0.010, 0.020]
[specification.pin]
count = 1
angles = [0]
positions = [2]
length = 1.2
size = [1.7500, 1.7500]
undersizes = [0.010, 0.020]
{treatment}
[[reading]]
journal = "pin 1"
at = "middle"
plane = 0
size = 1.7480
[[damage]]
journal = "pin 1"
kind = "ridges"
depth = [0.002, 0.003]
"#
        )
    };
    let plain = file("ridges.toml", sheet(""));
    let answer = json(&["assess", plain.to_str().unwrap(), "--json"]);
    let pin = &answer["sets"]["pin"];
    assert_eq!(pin["choice"], 0.02);
    let chance = |step: usize| pin["undersizes"][step]["chance"].as_f64().unwrap();
    assert!(chance(1) < 0.9, "ten under: {}", chance(1));
    assert!(chance(2) > 0.995, "twenty under: {}", chance(2));
    let finished = |answer: &serde_json::Value, stage: &str| {
        let stages = answer["plan"][0]["stages"].as_array().unwrap().clone();
        stages.iter().find(|s| s["stage"] == stage).unwrap()["target"].as_f64().unwrap()
    };
    assert_eq!(finished(&answer, "finished"), 1.73);
    let nitrided = "[specification.treatment]\nkind = \"nitriding\"\ngrowth = { mean = 0.0005, sd = 0.0 }";
    let nitrided = file("ridges-nitrided.toml", sheet(nitrided));
    let answer = json(&["assess", nitrided.to_str().unwrap(), "--json"]);
    assert_eq!(finished(&answer, "before treatment"), 1.7295);
    assert_eq!(finished(&answer, "finished"), 1.73);
}

#[test]
fn a_crack_ends_it() {
    let worn = std::fs::read_to_string(shipped("tarn-four-worn.toml")).unwrap();
    let cracked = format!("{worn}\n[[damage]]\njournal = \"main 2\"\nkind = \"crack\"\n");
    let sheet = file("cracked.toml", cracked);
    let answer = json(&["assess", sheet.to_str().unwrap(), "--json"]);
    for set in ["main", "pin"] {
        assert_eq!(answer["sets"][set]["choice"], "scrap");
        assert!(answer["sets"][set]["reason"].as_str().unwrap().contains("main 2"));
    }
    assert!(answer["plan"].as_array().unwrap().is_empty(), "no plan to grind a cracked crank");
    let text = answered(&tenunder(&["assess", sheet.to_str().unwrap()]));
    assert!(text.contains("STOP") && text.contains("do not grind"));
}

/// Main 3 is 0.060 in smaller all over: the ladder counts the whole set, and the row of the others stands under it.
#[test]
fn beside_a_torn_journal_the_ladder_shows_what_the_others_need() {
    let worn = std::fs::read_to_string(shipped("tarn-four-worn.toml")).unwrap();
    let torn = worn.lines().map(|line| match line.contains("journal = \"main 3\"") {
        true => line.replace("size = 2.12", "size = 2.06"),
        false => line.to_owned(),
    });
    let sheet = file("torn.toml", torn.collect::<Vec<_>>().join("\n"));
    let specification = shipped("tarn-four.toml");
    std::fs::copy(specification, sheet.with_file_name("tarn-four.toml")).unwrap();
    let answer = json(&["assess", sheet.to_str().unwrap(), "--json"]);
    assert_eq!(answer["sets"]["main"]["choice"], "scrap");
    let text = answered(&tenunder(&["assess", sheet.to_str().unwrap()]));
    let (ladder, _) = text.split_once("PINS").unwrap();
    let chosen: Vec<&str> = ladder.lines().filter(|line| line.starts_with("  > ")).collect();
    let [chosen] = chosen.as_slice() else { panic!("one row is chosen: {chosen:?}") };
    assert!(chosen.contains("0.010") && chosen.contains("others"), "{chosen}");
}

#[test]
fn missing_journals_do_not_stop_it() {
    let worn = std::fs::read_to_string(shipped("tarn-four-worn.toml")).unwrap();
    let fewer: String = worn.lines().filter(|line| !line.contains("\"main 4\"")).map(|l| format!("{l}\n")).collect();
    let sheet = file("missing.toml", fewer);
    let answer = json(&["assess", sheet.to_str().unwrap(), "--json"]);
    assert_eq!(answer["sets"]["main"]["not_measured"], serde_json::json!(["main 4"]));
    assert!(answer["sets"]["main"]["chance_if_the_rest_are_alike"].is_number());
    assert!(answer["notes"].as_array().unwrap().iter().any(|n| n["kind"] == "missing" && n["journal"] == "main 4"));
}

#[test]
fn files_that_are_no_sheets_are_refused() {
    let rubbish = file("rubbish.toml", [0u8, 159, 146, 150, 255]);
    refused(&tenunder(&["assess", rubbish.to_str().unwrap()]), &["One problem", "no text"]);
    let huge = file("huge.toml", vec![b'#'; 50_000_000]);
    refused(&tenunder(&["assess", huge.to_str().unwrap()]), &["more than 8 MB"]);
    std::fs::remove_file(huge).unwrap();
    refused(&tenunder(&["assess", "no-such-file.toml"]), &["could not be read"]);
    refused(&tenunder(&["assess", env!("CARGO_TARGET_TMPDIR")]), &["a folder"]);
    let empty = file("empty.toml", "");
    refused(&tenunder(&["assess", empty.to_str().unwrap()]), &["an empty file", "sheet = 1"]);
    refused(&tenunder(&["check-spec", empty.to_str().unwrap()]), &["specification"]);
    let bare = file("bare.toml", "sheet = 1\n");
    refused(&tenunder(&["assess", bare.to_str().unwrap()]), &["units", "specification", "reading"]);
}

#[test]
fn a_wrong_table_is_found_out() {
    let book = std::fs::read_to_string(shipped("tarn-four.toml")).unwrap();
    let sound = tenunder(&["check-spec", &shipped("tarn-four.toml")]);
    assert!(answered(&sound).contains("No faults found"));
    let swapped = book.replace("size         = [2.1245, 2.1250]", "size         = [2.1250, 2.1245]");
    assert_ne!(swapped, book);
    let output = tenunder(&["check-spec", file("swapped.toml", swapped).to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.contains("main.size") && text.contains("Likely cause"), "{text}");
}

/// What must be typed for an odd value is printed as it must be typed, and does what it says.
#[test]
fn an_odd_value_is_confirmed_by_the_line_that_is_printed() {
    let book = std::fs::read_to_string(shipped("tarn-four.toml")).unwrap();
    let odd = book.replacen("taper        = 0.0005", "taper        = 0.0050", 1).replacen(
        "out_of_round = 0.0005",
        "out_of_round = 0.0050",
        1,
    );
    let path = file("odd.toml", &odd);
    let output = tenunder(&["check-spec", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    let text = String::from_utf8(output.stdout).unwrap();
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|line| line.starts_with("confirmed = [")).collect();
    assert!(lines.contains(&"confirmed = [\"main.taper\"]"), "{text}");
    assert!(text.contains("type this line before [main],") && text.contains("go into one such line"), "{text}");
    let keys: std::collections::BTreeSet<&str> =
        lines.iter().filter_map(|line| line.strip_prefix("confirmed = [")?.strip_suffix(']')).collect();
    // The mains against the pins, and the pins against them.
    assert_eq!(keys.len(), 4, "{text}");
    let line = format!("confirmed = [{}]", keys.into_iter().collect::<Vec<_>>().join(", "));
    let output = tenunder(&["check-spec", file("confirmed.toml", format!("{line}\n{odd}")).to_str().unwrap()]);
    let text = answered(&output);
    assert!(text.contains("confirmed against the book") && !text.contains("FAULTS"), "{text}");
}

/// Whoever copies the engine of `docs/home.md` has a specification without faults, wear limits and all.
#[test]
fn the_specification_for_the_home_builder_is_sound() {
    let page = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/home.md")).unwrap();
    let begins = "```toml\nspecification = 1";
    let at = page.find(begins).unwrap() + "```toml\n".len();
    let book = page[at..].split("```").next().unwrap();
    assert_eq!(book.matches("wear_limit   = { size =").count(), 2, "{book}");
    let output = tenunder(&["check-spec", file("home.toml", book).to_str().unwrap()]);
    assert!(answered(&output).contains("No faults found"));
}

#[test]
fn the_examples_can_be_copied_and_judged() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("copied");
    let _ = std::fs::remove_dir_all(&folder);
    let text = answered(&tenunder(&["demo", "--copy-to", folder.to_str().unwrap()]));
    assert!(text.contains("tarn-four-worn.toml"));
    for entry in std::fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        if text.lines().any(|line| line.starts_with("sheet ")) {
            answered(&tenunder(&["assess", path.to_str().unwrap()]));
        }
    }
    refused(&tenunder(&["demo", "--copy-to", folder.to_str().unwrap()]), &["exists"]);
}

#[test]
fn the_working_shows_stations_traces_and_budgets() {
    let text = answered(&tenunder(&["assess", &shipped("skelder-six-ground-before.toml"), "--working"]));
    for words in ["WORKING", "front out of round", "degrees taper", "two circles", "repeatability", "95 % confidence"] {
        assert!(text.contains(words), "{words}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "a line is longer than 80");
    assert!(!answered(&tenunder(&["demo"])).contains("WORKING"));
}

#[test]
fn help_teaches() {
    let text = answered(&tenunder(&["--help"]));
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in ["tenunder demo", "Exit codes", "maker's manual"] {
        assert!(flat.contains(words), "{words}");
    }
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

/// The plan is one set of figures for people and for programs, on the graduations of the micrometer; what a polish alone
/// leaves has a plan too.
#[test]
fn a_plan_prints_the_figures_that_programs_get() {
    let sheet = shipped("tarn-four-worn.toml");
    let text = answered(&tenunder(&["assess", &sheet]));
    let answer = json(&["assess", &sheet, "--json"]);
    let mut compared = 0;
    for plan in answer["plan"].as_array().unwrap() {
        for stage in plan["stages"].as_array().unwrap() {
            let figure = |key: &str| format!("{:.4}", stage[key].as_f64().unwrap());
            let row = format!(
                "    {:<17} {:<9} {} to {}",
                stage["stage"].as_str().unwrap(),
                figure("target"),
                figure("low"),
                figure("high")
            );
            assert!(text.lines().any(|line| line == row), "{row}");
            let graduations = stage["target"].as_f64().unwrap() / stage["graduation"].as_f64().unwrap();
            assert!((graduations - graduations.round()).abs() < 1e-6, "{stage}");
            assert!((0.5..=1.0).contains(&stage["finishes_within"].as_f64().unwrap()), "{stage}");
            assert!(["growth", "grinding", "polish", "micrometer"].contains(&stage["rest"].as_str().unwrap()));
            compared += 1;
        }
    }
    assert_eq!(compared, 9 * 4, "nine journals, four stages");
    // By hand: a main of 2.0002 scored a tenth deep is polished 0.0002 to the bottom of it and a tenth beyond, to 1.9999.
    let polish = file(
        "polish.toml",
        r#"
sheet = 1
units = "in"
reading = [
    { journal = "main 1", at = "middle", plane = 0, size = 2.0002 },
    { journal = "main 1", at = "middle", plane = 90, size = 2.0002 },
]
damage = [{ journal = "main 1", kind = "scoring", depth = 0.0001 }]
[specification]
specification = 1
name = "one main"
units = "in"
throw = 1.5
[specification.main]
count = 1
positions = [0]
length = 1.2
size = [1.9995, 2.0005]
undersizes = [0.010, 0.020]
[specification.pin]
count = 1
angles = [0]
positions = [2]
length = 1.2
size = [1.7495, 1.7505]
undersizes = [0.010, 0.020]
"#,
    );
    let text = answered(&tenunder(&["assess", polish.to_str().unwrap()]));
    assert!(text.contains("MAINS: polish only"), "{text}");
    assert!(text.contains("PLAN for the mains, polish only"), "{text}");
    assert!(text.contains("    main 1            1.9999    1.9995 to 2.0005"), "{text}");
    let answer = json(&["assess", polish.to_str().unwrap(), "--json"]);
    let stages = answer["plan"][0]["stages"].as_array().unwrap();
    let words: Vec<&str> = stages.iter().map(|stage| stage["stage"].as_str().unwrap()).collect();
    assert_eq!(words, ["polish", "finished"]);
    assert_eq!(stages[0]["target"], 1.9999);
}
