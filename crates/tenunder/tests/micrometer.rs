//! `tenunder micrometer` as its user meets it: drawings, refusals, a full disk.
#![cfg(feature = "pages")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn micrometer(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).arg("micrometer").args(arguments).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// What was said without its line breaks: where they fall depends on the length of the paths in it.
fn flat(said: &str) -> String {
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn answered(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(output.stderr.is_empty());
    text(&output.stdout)
}

/// A new folder of its own for a test.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("micrometer-{name}"));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Source of the sizes: Machine Shop Work, "Micrometers, continued" (0.4915, thimble 16 1/2), and the metric examples in
/// `gauge`'s `reference-cases/micrometer-scales`.
#[test]
fn a_size_is_drawn_and_said_within_eighty_columns() {
    for (arguments, says) in [
        (&["0.4915"][..], "Sleeve shows 4 and three lines. Thimble 16. Vernier 5."),
        (&["0.4915", "--reads", "0.001in"], "Sleeve shows 4 and three lines. Thimble between 16 and 17."),
        (&["0.216"], "Sleeve shows 2 and no line. Thimble 16."),
        (&["23.65", "mm"], "Sleeve shows 20, three lines after it, and the half line. Thimble 15."),
        (&["23.65mm"], "Thimble 15."),
        (&["5.84", "--reads", "0.01mm"], "Thimble 34."),
        (&["5.840", "--reads", "0.001mm"], "Thimble 34. Vernier 0."),
    ] {
        let answer = answered(&micrometer(arguments));
        assert!(flat(&answer).contains(says), "{arguments:?}: {answer}");
        assert!(answer.contains('┃') && answer.lines().count() > 18, "{answer}");
        for line in answer.lines() {
            assert!(line.chars().count() <= 80 && line.trim_end() == line, "{line:?}");
        }
    }
}

#[test]
fn what_is_no_size_is_refused_with_the_limit_and_what_to_do() {
    for (arguments, expected) in [
        (&["62.18"][..], &["62.18 without a unit", "above 20", "add the unit: \"62.18 mm\""][..]),
        (&["abc"], &["\"abc\" has no number in it", "2.4480 or 62.18 mm"]),
        (&["0"], &["found 0,", "above nought and up to 39.37 in"]),
        (&["-2.4480"], &["above nought"]),
        (&["1200 mm"], &["up to 1000 mm", "look where the point stands"]),
        (&["2.4480", "--showing", "0.004"], &["--showing", "0 to 0.003 in"]),
        (&["2.4480", "--showing", "x"], &["\"x\" has no number in it", "0 to 0.003 in"]),
        (&["62.18 mm", "--showing", "-0.01"], &["0 to 0.06 mm"]),
        (&["2.4480", "-o", "picture.png"], &["picture.png", "ends in .svg"]),
        (&["2.4480", "-o", "/no/such/folder/m.svg"], &["/no/such/folder/m.svg", "name another place"]),
        (&["2.4480", "--reads", "0.002in"], &["0.0001in", "0.01mm"]),
        (&[], &["<SIZE>"]),
    ] {
        let output = micrometer(arguments);
        let said = flat(&text(&output.stderr));
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
        assert!(output.stdout.is_empty(), "{arguments:?}");
        for words in expected {
            assert!(said.contains(words), "{words:?} is not in: {said}");
        }
    }
}

#[test]
fn the_drawing_goes_into_a_file_and_replaces_the_one_before() {
    let folder = folder("file");
    let file = folder.join("mic.svg");
    let path = file.to_str().unwrap();
    answered(&micrometer(&["2.4480", "-o", path]));
    let first = std::fs::read_to_string(&file).unwrap();
    assert!(first.starts_with("<svg ") && first.ends_with("</svg>") && first.contains("Thimble 23. Vernier 0."));
    let answer = flat(&answered(&micrometer(&["2.4481", "--output", path])));
    assert!(answer.contains("Drawn into") && answer.contains("Vernier 1."), "{answer}");
    assert_ne!(std::fs::read_to_string(&file).unwrap(), first);
    assert_eq!(names(&folder), ["mic.svg"]);
}

/// As if the disk were full: the shell lets no file of the program grow beyond 512 or 1,024 bytes.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_old_file_and_no_half_one() {
    let folder = folder("full");
    let file = folder.join("mic.svg");
    std::fs::write(&file, "what stood there").unwrap();
    let command = format!(
        "trap '' XFSZ; ulimit -f 1; exec '{}' micrometer 2.4480 -o '{}' --replace",
        env!("CARGO_BIN_EXE_tenunder"),
        file.display()
    );
    let output = Command::new("sh").args(["-c", &command]).output().unwrap();
    let said = flat(&text(&output.stderr));
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("was not written") && said.contains("Nothing of it is kept"), "{said}");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "what stood there");
    assert_eq!(names(&folder), ["mic.svg"]);
}
