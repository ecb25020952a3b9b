//! `tenunder draw` as its user meets it: what is drawn, what is refused, a full disk.
#![cfg(feature = "pages")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const LIBRARY: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/library/");

fn draw(file: &str, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).arg("draw").arg(file).args(arguments).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn flat(bytes: &[u8]) -> String {
    text(bytes).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A new folder of its own for a test.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("draw-{name}"));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn everything_that_was_measured_is_drawn_into_its_file() {
    let folder = folder("file");
    let sheet = format!("{LIBRARY}tarn-four-worn.toml");
    for (what, part, says) in [
        ("crank", "data-part=\"pin-4\"", "5 mains and 4 pins, nose on the left, flywheel on the right."),
        ("wear", "data-part=\"plot\"", "A hint, not a diagnosis."),
        ("size", "data-part=\"come-off\"", "Sizes of the mains in inches"),
        ("size pin", "data-part=\"come-off\"", "Sizes of the pins in inches"),
        ("pin 2", "data-part=\"section\"", "Pin 2, across at the front."),
    ] {
        let file = folder.join("d.svg");
        let output = draw(&sheet, &["--what", what, "-o", file.to_str().unwrap()]);
        assert_eq!(output.status.code(), Some(0), "{what}: {}", text(&output.stderr));
        assert!(flat(&output.stdout).contains(says), "{what}: {}", text(&output.stdout));
        let svg = std::fs::read_to_string(&file).unwrap();
        assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>") && svg.contains(part), "{what}");
        assert!(svg.len() <= 40_000, "{what}: {} bytes", svg.len());
        // The same sheet gives the same drawing.
        draw(&sheet, &["--what", what, "-o", file.to_str().unwrap()]);
        assert_eq!(std::fs::read_to_string(&file).unwrap(), svg);
    }
    let names: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names, ["d.svg"]);
}

/// Parts of a drawing, by the files of the library that hold enough for it.
#[test]
fn ladders_clearances_films_and_the_gauge_are_drawn() {
    let folder = folder("bearings");
    for (sheet, what, part, says) in [
        ("tarn-four-worn", "ladder", "data-part=\"dots-2\"", "The shop asks for 90 in 100."),
        ("tarn-four-worn", "ladder pin", "data-part=\"rung-3\"", "Grind to this"),
        ("wren-notebook", "ladder", "data-part=\"rung-1\"", "Mains: leave alone"),
        ("tarn-four-bearings", "clearance", "data-part=\"bearing-5\"", "Clearances of the mains as planned, in inches"),
        ("tarn-four-bearings", "clearance pin", "data-part=\"limits\"", "Clearances of the pins as planned"),
        ("tarn-four-bearings", "film", "<path", "Hatched: the window it is to keep to."),
        ("tarn-four-bearings", "film main", "<path", "least film under load, in millionths of an inch"),
        ("tarn-four-bearings", "gauge", "<path", "a hint, not a diagnosis"),
        ("tarn-four-oil", "film", "<path", "Marked: as found 0.0055, as planned 0.0019, upper limit 0.0027."),
        ("tarn-four-oil", "gauge", "<path", "as planned, hot:"),
    ] {
        let sheet = format!("{LIBRARY}{sheet}.toml");
        let file = folder.join("d.svg");
        let drawn = || {
            let output = draw(&sheet, &["--what", what, "-o", file.to_str().unwrap()]);
            assert_eq!(output.status.code(), Some(0), "{what}: {}", text(&output.stderr));
            (flat(&output.stdout), std::fs::read_to_string(&file).unwrap())
        };
        let (said, svg) = drawn();
        assert!(said.contains(says), "{sheet}, {what}: {said}");
        assert!(svg.contains(part) && svg.len() <= 40_000, "{sheet}, {what}: {} bytes", svg.len());
        assert_eq!(drawn().1, svg, "{sheet}, {what}");
    }
    // Without a word a case for the film is drawn as what it is about.
    let said = flat(&draw(&format!("{LIBRARY}tarn-four-oil.toml"), &[]).stdout);
    assert!(said.contains("least film under load"), "{said}");
}

/// A free axis moves the pins: the drawing of one says where its new centre lies, and so does the verdict.
#[test]
fn a_pin_on_a_free_axis_is_drawn_off_its_present_centre() {
    let sheet = format!("{LIBRARY}skelder-six-ground-before.toml");
    let said = flat(&draw(&sheet, &["--what", "pin 4"]).stdout);
    let said = said.split_once("off the present one: ").unwrap_or_else(|| panic!("{said}")).1;
    let output = Command::new(env!("CARGO_BIN_EXE_tenunder")).args(["assess", &sheet]).output().unwrap();
    let verdict = flat(&output.stdout);
    // The verdict tells the shift at mid-length. The section stands at the rear, 13 mm on, and the new axis leans by
    // 0.000165: 0.002 mm more there.
    let of_pin = verdict.split_once("pin 4 by ").unwrap_or_else(|| panic!("{verdict}")).1;
    assert!(said.contains(" toward 180°") && of_pin.contains(" inward,"), "{said} and {of_pin}");
    let figure = |text: &str| text.split(' ').next().and_then(|word| word.parse::<f64>().ok()).expect("a figure");
    assert!((figure(said) - figure(of_pin) - 0.002).abs() < 0.0015, "{said} and {of_pin}");
    assert!(verdict.contains("no other pin"), "{verdict}");
    let held = flat(&draw(&format!("{LIBRARY}tarn-four-worn.toml"), &["--what", "pin 2"]).stdout);
    assert!(!held.contains("off the present one"), "{held}");
}

#[test]
fn a_specification_alone_is_drawn_even_with_faults() {
    let said = flat(&draw(&format!("{LIBRARY}skelder-six.toml"), &[]).stdout);
    assert!(said.contains("Pin 2, 5 at 120 degrees; Pin 3, 4 at 240 degrees."), "{said}");
    let folder = folder("faults");
    let book = std::fs::read_to_string(format!("{LIBRARY}tarn-four.toml")).unwrap();
    let faulty = folder.join("faulty.toml");
    std::fs::write(&faulty, book.replace("length       = 1.10", "length       = 0.0")).unwrap();
    let drawing = folder.join("faulty.svg");
    let output = draw(faulty.to_str().unwrap(), &["-o", drawing.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let said = flat(&output.stdout);
    assert!(said.contains("- The mains are 0.000 in long: drawn as lines."), "{said}");
    assert!(said.contains("`tenunder check-spec` lists them"), "{said}");
    assert!(std::fs::read_to_string(&drawing).unwrap().contains("data-part=\"main-5\""));
}

#[test]
fn what_cannot_be_drawn_is_refused_with_what_to_do() {
    let sheet = format!("{LIBRARY}tarn-four-worn.toml");
    for (file, arguments, says) in [
        (
            sheet.as_str(),
            &["--what", "camshaft"][..],
            "expected crank, wear, size, \"size pin\", ladder, \"ladder pin\", clearance, \"clearance pin\", film, \"film \
             main\", gauge, or a journal such as \"main 3\"",
        ),
        (sheet.as_str(), &["--what", "gauge pin"], "expected crank, wear, size"),
        (sheet.as_str(), &["--what", "clearance"], "no clearance of the mains"),
        (&format!("{LIBRARY}tarn-four-oil.toml"), &["--what", "ladder"], "of a case draw film, \"film main\" or gauge"),
        (sheet.as_str(), &["--what", "main 9"], "found no reading of main 9"),
        (sheet.as_str(), &["--what", "main 0"], "expected crank, wear, size"),
        (&format!("{LIBRARY}tarn-four.toml"), &["--what", "wear"], "expected a sheet with readings"),
        (sheet.as_str(), &["-o", "/no/such/folder/d.svg"], "name another place"),
        (sheet.as_str(), &["-o", "d.png"], "a name that ends in .svg"),
        ("/no/such/sheet.toml", &[], "/no/such/sheet.toml"),
    ] {
        let output = draw(file, arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(output.stdout.is_empty());
        assert!(flat(&output.stderr).contains(says), "{arguments:?}: {}", text(&output.stderr));
    }
}

/// As if the disk were full: the shell lets no file of the program grow beyond 512 or 1,024 bytes.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_old_file_and_no_half_one() {
    let folder = folder("full");
    let file = folder.join("d.svg");
    std::fs::write(&file, "what stood there").unwrap();
    let command = format!(
        "trap '' XFSZ; ulimit -f 1; exec '{}' draw '{LIBRARY}tarn-four.toml' -o '{}' --replace",
        env!("CARGO_BIN_EXE_tenunder"),
        file.display()
    );
    let output = Command::new("sh").args(["-c", &command]).output().unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", text(&output.stderr));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "what stood there");
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1);
}
