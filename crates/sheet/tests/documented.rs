//! Every example in docs/sheet.md reads: a person types what stands there.

mod common;

use common::{Beside, SKELDER, TARN, WREN, listed};

const DOCUMENT: &str = include_str!("../../../docs/sheet.md");

/// The fenced blocks of a language, each with the line that it begins at.
fn examples(language: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    let mut open: Option<(usize, String)> = None;
    for (n, line) in DOCUMENT.lines().enumerate() {
        match (&mut open, line.strip_prefix("```")) {
            (None, Some(named)) if named == language => open = Some((n + 2, String::new())),
            (Some(_), Some("")) => found.extend(open.take()),
            (Some((_, text)), _) => {
                text.push_str(line);
                text.push('\n');
            }
            _ => {}
        }
    }
    found
}

/// A sheet of the Wren, the engine of that page, with an example in it; what the example brings of its own is not said twice.
fn sheet_with(example: &str) -> String {
    let mut sheet = String::new();
    for (key, line) in [
        ("sheet =", "sheet = 1\n"),
        ("specification =", "specification = \"wren.toml\"\n"),
        ("units =", "units = \"in\"\n"),
    ] {
        if !example.lines().any(|own| own.starts_with(key)) {
            sheet += line;
        }
    }
    sheet += example;
    // A dial has readings of its own.
    if !example.contains("reading") || example.contains("[[dial]]") {
        sheet += "\n[[reading]]\njournal = \"main 1\"\nat = \"middle\"\nplane = 0\nsize = 1.4991\n";
    }
    for name in ["mic 1-2", "mic 2-3"] {
        let told =
            example.contains(&format!("name = \"{name}\"")) || example.contains(&format!("name          = \"{name}\""));
        if example.contains(&format!("\"{name}\"")) && !told {
            sheet += &format!("\n[[instrument]]\nname = \"{name}\"\nkind = \"outside micrometer\"\n");
        }
    }
    sheet
}

#[test]
fn every_example_of_a_sheet_reads() {
    let files = [("tarn-four.toml", TARN), ("wren.toml", WREN), ("skelder-six.toml", SKELDER)];
    let (mut sheets, mut books) = (0, 0);
    for (line, example) in examples("toml") {
        let is_book =
            example.lines().any(|own| own.starts_with("specification = 1") || own.starts_with("specification=1"));
        if is_book || example.contains("[step") {
            books += 1;
            continue;
        }
        sheets += 1;
        if let Err(problems) = sheet::read_sheet("example.toml", &sheet_with(&example), &Beside(&files)) {
            panic!("docs/sheet.md, line {line}:\n{}\n{}", listed(&problems), sheet_with(&example));
        }
    }
    // A fence that is no longer found is an example that nobody reads.
    assert!(sheets >= 12 && books >= 1, "{sheets} sheets, {books} specifications");
}
