//! What the README and the pages beside it show is what the program prints and draws, and what they link to is there.
//!
//! To write the present output into them: `TENUNDER_WRITE_README=1 cargo test -p tenunder --test readme`.

use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The README, what else lies beside it, and every page in `docs`.
fn pages() -> Vec<PathBuf> {
    let mut pages: Vec<PathBuf> =
        ["README.md", "CONTRIBUTING.md", "ARCHITECTURE.md"].map(|name| root().join(name)).to_vec();
    let docs = std::fs::read_dir(root().join("docs")).unwrap().map(|entry| entry.unwrap().path());
    pages.extend(docs.filter(|path| path.extension().is_some_and(|end| end == "md")));
    pages.sort();
    pages
}

fn writes() -> bool {
    std::env::var_os("TENUNDER_WRITE_README").is_some()
}

fn printed(line: &str) -> String {
    let mut words = line.split_whitespace();
    assert_eq!(words.next(), Some("tenunder"), "{line}");
    let output = Command::new(env!("CARGO_BIN_EXE_tenunder")).args(words).current_dir(root()).output().unwrap();
    assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_pages_show_what_the_program_prints() {
    const MARK: &str = "<!-- printed by: ";
    const OPEN: &str = "\n```text\n";
    const CLOSE: &str = "```\n";
    let mut shown = Vec::new();
    for path in pages() {
        let page = std::fs::read_to_string(&path).unwrap();
        let mut renewed = String::new();
        let mut rest = page.as_str();
        while let Some((before, after)) = rest.split_once(MARK) {
            let (command, after) = after.split_once(" -->").unwrap();
            let after = after.strip_prefix(OPEN).expect("a text block follows each mark");
            let (_, after) = after.split_once(CLOSE).unwrap();
            renewed += &format!("{before}{MARK}{command} -->{OPEN}{}{CLOSE}", printed(command));
            rest = after;
            shown.push(command.to_owned());
        }
        renewed += rest;
        if writes() {
            std::fs::write(&path, &renewed).unwrap();
        } else if renewed != page {
            let (new, old) = renewed.lines().zip(page.lines()).find(|(new, old)| new != old).unwrap_or_default();
            panic!("{} shows\n  {old}\nwhere the program prints\n  {new}", path.display());
        }
    }
    shown.sort();
    let wanted =
        ["tenunder assess examples/real/trainee-crankpins.toml", "tenunder demo", "tenunder demo wren-notebook"];
    assert_eq!(shown, wanted, "examples were added to the pages or lost from them");
}

/// The README's picture is the program's own drawing of the crank whose verdict stands below it.
#[test]
fn the_picture_is_what_the_program_draws() {
    let drawn = Path::new(env!("CARGO_TARGET_TMPDIR")).join("readme-crank.svg");
    let _ = std::fs::remove_file(&drawn);
    let mut draw = Command::new(env!("CARGO_BIN_EXE_tenunder"));
    draw.args(["draw", "crates/tenunder/library/tarn-four-worn.toml", "-o"]).arg(&drawn).current_dir(root());
    let output = draw.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let (new, kept) = (std::fs::read(&drawn).unwrap(), root().join("docs/crank.svg"));
    if writes() {
        std::fs::write(&kept, &new).unwrap();
    }
    assert!(std::fs::read(&kept).unwrap() == new, "docs/crank.svg is not what the program draws now");
}

/// The anchor of a heading, as the places where the pages are read make it.
fn anchor(heading: &str) -> String {
    let kept = heading.to_lowercase().chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c)).collect::<String>();
    kept.replace(' ', "-")
}

#[test]
fn every_link_leads_to_something() {
    let mut looked_at = 0;
    for path in pages() {
        let page = std::fs::read_to_string(&path).unwrap();
        for rest in page.split("](").skip(1) {
            let target = rest.split([')', ' ']).next().unwrap();
            // Addresses elsewhere, and those of the program's own pages, which the guide is shown in.
            if target.contains("://") || target.starts_with('/') {
                continue;
            }
            looked_at += 1;
            let (file, part) = target.split_once('#').unwrap_or((target, ""));
            let there = if file.is_empty() { path.clone() } else { path.parent().unwrap().join(file) };
            assert!(there.exists(), "{}: nothing at {target}", path.display());
            if !part.is_empty() {
                let text = std::fs::read_to_string(&there).unwrap();
                let headings = text.lines().filter_map(|line| line.strip_prefix('#'));
                let mut anchors = headings.map(|heading| anchor(heading.trim_start_matches('#').trim()));
                assert!(anchors.any(|known| known == part), "{}: no heading for {target}", path.display());
            }
        }
    }
    assert!(looked_at > 40, "{looked_at} links");
}

/// The README is read in a few minutes; what is longer stands in `docs`.
#[test]
fn the_readme_is_short() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    assert!(readme.lines().count() <= 240, "{} lines", readme.lines().count());
}
