//! `tenunder print` as its user meets it: of a job, of a sheet, refusals, a full disk.
#![cfg(feature = "pages")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A new folder of its own for a test, with the example sheets in it.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("print-{name}"));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    said(&tenunder(&folder, &["demo", "--copy-to", "."]));
    folder
}

fn tenunder(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tenunder")).args(arguments).current_dir(folder).output().unwrap()
}

fn print(folder: &Path, of: &str, paper: &str, to: &str, more: &[&str]) -> Output {
    tenunder(folder, &[&["print", of, "--as", paper, "-o", to], more].concat())
}

#[track_caller]
fn said(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// Asserts that it was refused with exit code 2 and these words, and that nothing lies where the paper would.
#[track_caller]
fn refused(folder: &Path, output: &Output, words: &str) {
    ended(folder, output, 2, words);
}

/// Asserts that it ended with a code and these words, and that nothing lies where the paper would.
#[track_caller]
fn ended(folder: &Path, output: &Output, code: i32, words: &str) {
    let told = String::from_utf8(output.stderr.clone()).unwrap();
    assert_eq!(output.status.code(), Some(code), "{told}");
    // Where its lines break depends on the length of the paths in it.
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains(words), "{words:?} is not in: {told}");
    assert!(output.stdout.is_empty());
    assert_eq!(papers(folder), Vec::<String>::new());
}

/// What lies in a folder beside the sheets.
fn papers(folder: &Path) -> Vec<String> {
    let names = std::fs::read_dir(folder).unwrap().map(|one| one.unwrap().file_name().into_string().unwrap());
    let mut names: Vec<String> = names.filter(|name| name.contains(".pdf")).collect();
    names.sort();
    names
}

#[track_caller]
fn pdf(file: &Path) -> Vec<u8> {
    let bytes = std::fs::read(file).unwrap();
    assert!(bytes.starts_with(b"%PDF-1.7") && bytes.ends_with(b"%%EOF"), "no whole file");
    bytes
}

#[test]
fn a_sheet_becomes_the_papers_that_need_no_record() {
    let folder = folder("sheet");
    for (paper, words) in [
        ("form", "Blank measuring form"),
        ("report", "Report for the customer"),
        ("grinder", "Sheet for the grinder"),
        ("record", "Inspection record"),
        ("label", "Label for the box"),
    ] {
        let name = format!("{paper}.pdf");
        let told = said(&print(&folder, "tarn-four-worn.toml", paper, &name, &[]));
        assert!(told.contains(words) && told.contains(&name), "{told}");
        let once = pdf(&folder.join(&name));
        // What stood there is replaced, with the same bytes.
        said(&print(&folder, "tarn-four-worn.toml", paper, &name, &[]));
        assert!(pdf(&folder.join(&name)) == once, "{paper} differs when printed again");
        said(&print(&folder, "tarn-four-worn.toml", paper, &name, &["--size", "letter"]));
        assert!(pdf(&folder.join(&name)) != once, "{paper} is the same on other paper");
    }
    assert_eq!(papers(&folder), ["form.pdf", "grinder.pdf", "label.pdf", "record.pdf", "report.pdf"]);
}

#[test]
fn a_job_becomes_the_papers_that_its_stage_has() {
    let folder = folder("job");
    for paper in ["certificate", "batch"] {
        let output = print(&folder, "tarn-four-worn.toml", paper, "out.pdf", &[]);
        refused(&folder, &output, "tenunder: ");
    }
    refused(&folder, &print(&folder, "1001", "form", "out.pdf", &[]), "there is no record at shop.tenunder");
    said(&tenunder(&folder, &["import", "tarn-four-worn.toml", "--new"]));
    refused(&folder, &print(&folder, "4711", "form", "out.pdf", &[]), "No job 4711");
    let output = print(&folder, "1001", "grinder", "out.pdf", &[]);
    refused(&folder, &output, "No sheet for the grinder was issued yet. Decide the sizes under Verdict");
    refused(&folder, &print(&folder, "1001", "certificate", "out.pdf", &[]), "final check");
    refused(&folder, &print(&folder, "1001", "batch", "out.pdf", &[]), "in no treatment batch");
    for paper in ["form", "report", "record"] {
        said(&print(&folder, "1001", paper, "out.pdf", &["--record", "shop.tenunder"]));
        pdf(&folder.join("out.pdf"));
        std::fs::remove_file(folder.join("out.pdf")).unwrap();
    }
}

#[test]
fn what_cannot_be_printed_is_said_in_words() {
    let folder = folder("refused");
    refused(&folder, &print(&folder, "no-such.toml", "form", "out.pdf", &[]), "no-such.toml");
    std::fs::write(folder.join("wrong.toml"), "sheet = 1\nunits = \"in\"\n").unwrap();
    refused(&folder, &print(&folder, "wrong.toml", "grinder", "out.pdf", &[]), "specification");
    refused(
        &folder,
        &print(&folder, "wren-notebook.toml", "poster", "out.pdf", &[]),
        "found \"poster\", expected one of",
    );
    refused(&folder, &print(&folder, "wren-notebook.toml", "form", "out.pdf", &["--size", "A3"]), "Letter");
    refused(&folder, &print(&folder, "wren-notebook.toml", "form", "no-folder/out.pdf", &[]), "could not be written");
    // So many digits are no job and no file.
    refused(&folder, &print(&folder, "99999999999999999999", "form", "out.pdf", &[]), "99999999999999999999");
}

/// A full disk: nothing half is left, and what stood there stands there still.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_leaves_no_half_file() {
    let folder = folder("full");
    ended(&folder, &print(&folder, "wren-notebook.toml", "form", "/dev/full", &[]), 1, "was not written");
    let limited = |to: &str| {
        // No file may grow past four blocks of 1024 bytes; the signal that says so is not heeded.
        let line = "trap '' XFSZ; ulimit -f 4; exec \"$0\" print wren-notebook.toml --as form -o \"$1\"";
        let arguments = ["-c", line, env!("CARGO_BIN_EXE_tenunder"), to];
        Command::new("bash").args(arguments).current_dir(&folder).output().unwrap()
    };
    ended(&folder, &limited("out.pdf"), 1, "was not written");
    let before = "%PDF-1.7 /Creator(Tenunder 0.1.0) the one before";
    std::fs::write(folder.join("out.pdf"), before).unwrap();
    assert_eq!(limited("out.pdf").status.code(), Some(1));
    assert_eq!(papers(&folder), ["out.pdf"]);
    assert_eq!(std::fs::read_to_string(folder.join("out.pdf")).unwrap(), before);
}

/// Nothing is written over a record, whatever is asked, nor over what this program did not write, unless that is asked.
#[test]
fn a_paper_replaces_only_an_earlier_paper() {
    let folder = folder("replaces");
    let at = |name: &str| folder.join(name);
    said(&tenunder(&folder, &["import", "tarn-four-worn.toml", "--new"]));
    let record = std::fs::read(at("shop.tenunder")).unwrap();
    let sheet = std::fs::read(at("tarn-four-worn.toml")).unwrap();
    for more in [&[][..], &["--replace"]] {
        let output = print(&folder, "tarn-four-worn.toml", "report", "shop.tenunder", more);
        refused(&folder, &output, "shop.tenunder, which holds a record");
        std::fs::copy(at("shop.tenunder"), at("copy.svg")).unwrap();
        let drawn = tenunder(&folder, &[&["draw", "tarn-four-worn.toml", "-o", "copy.svg"], more].concat());
        refused(&folder, &drawn, "copy.svg, which holds a record");
    }
    assert!(std::fs::read(at("shop.tenunder")).unwrap() == record, "the record is as it was");
    // Nor what lies beside it: its key, and the log that is empty most of the time.
    let key = std::fs::read(at("shop.tenunder.key")).unwrap();
    std::fs::copy(at("shop.tenunder.key"), at("away.txt")).unwrap();
    std::fs::write(at("shop.tenunder-wal"), "").unwrap();
    for name in ["shop.tenunder.key", "away.txt", "shop.tenunder-wal", "shop.tenunder-shm", "shop.tenunder-journal"] {
        let output = print(&folder, "tarn-four-worn.toml", "report", name, &["--replace"]);
        refused(&folder, &output, &format!("{name}, which holds a record or belongs to one"));
    }
    assert!(std::fs::read(at("shop.tenunder.key")).unwrap() == key && !at("shop.tenunder-shm").exists());
    std::fs::remove_file(at("shop.tenunder-wal")).unwrap();
    let over_sheet = |more: &[&str]| print(&folder, "tarn-four-worn.toml", "report", "tarn-four-worn.toml", more);
    refused(&folder, &over_sheet(&[]), "holds something else than an earlier paper of this program");
    assert!(std::fs::read(at("tarn-four-worn.toml")).unwrap() == sheet, "the sheet is as it was");
    // A paper of another program is not ours either.
    std::fs::write(at("other.txt"), "%PDF-1.7 /Creator(Some other program)").unwrap();
    refused(&folder, &print(&folder, "wren-notebook.toml", "report", "other.txt", &[]), "something else than");
    said(&over_sheet(&["--replace"]));
    assert!(std::fs::read(at("tarn-four-worn.toml")).unwrap().starts_with(b"%PDF-"));
    // Our own earlier ones are replaced, and nothing is left beside them.
    for _ in 0..2 {
        said(&print(&folder, "wren-notebook.toml", "label", "label.pdf", &[]));
        said(&tenunder(&folder, &["draw", "wren-notebook.toml", "-o", "wren.svg"]));
    }
    let left = std::fs::read_dir(&folder).unwrap().map(|one| one.unwrap().file_name().into_string().unwrap());
    assert_eq!(left.filter(|name| name.contains(".part")).count(), 0);
}

/// The card of an engine is printed from its specification, shipped or one's own, and a specification with a fault is refused
/// with all that is wrong with it. By hand: 2.1245 less 0.020 is 2.1045, and its middle is 2.1048 or 2.1047.
#[test]
fn the_card_of_an_engine_needs_no_sheet() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("print-card");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    let own = folder.join("own.toml");
    let tarn = include_str!("../library/tarn-four.toml");
    std::fs::write(&own, tarn).unwrap();
    let print = |of: &str| {
        let to = folder.join("card.pdf");
        let _ = std::fs::remove_file(&to);
        let output = Command::new(env!("CARGO_BIN_EXE_tenunder"))
            .args(["print", of, "--as", "card", "-o", to.to_str().unwrap()])
            .output()
            .unwrap();
        (output, std::fs::read(&to).ok())
    };
    let (output, shipped) = print("tarn-four");
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let (_, from_file) = print(own.to_str().unwrap());
    assert!(shipped.is_some() && shipped == from_file);
    std::fs::write(&own, tarn.replace("[2.1245, 2.1250]", "[2.1250, 2.1245]")).unwrap();
    let (output, none) = print(own.to_str().unwrap());
    assert_eq!((output.status.code(), none), (Some(2), None), "{}", String::from_utf8_lossy(&output.stderr));
    // A sheet's engine is printed too, and what is no file is said.
    let sheet = folder.join("worn.toml");
    std::fs::write(&sheet, include_str!("../library/tarn-four-worn.toml")).unwrap();
    let (output, of_sheet) = print(sheet.to_str().unwrap());
    assert!(of_sheet.is_some(), "{}", String::from_utf8_lossy(&output.stderr));
    let (output, none) = print("no such engine");
    assert_eq!((output.status.code(), none), (Some(2), None));
}
