//! What the README shows is what the program prints.
//!
//! To write the present output into the README: `TENUNDER_WRITE_README=1 cargo test -p tenunder --test readme`.

use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn printed(line: &str) -> String {
    let mut words = line.split_whitespace();
    assert_eq!(words.next(), Some("tenunder"), "{line}");
    let output = Command::new(env!("CARGO_BIN_EXE_tenunder")).args(words).current_dir(root()).output().unwrap();
    assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_readme_shows_what_the_program_prints() {
    const MARK: &str = "<!-- printed by: ";
    const OPEN: &str = "\n```text\n";
    const CLOSE: &str = "```\n";
    let path = root().join("README.md");
    let readme = std::fs::read_to_string(&path).unwrap();
    let mut renewed = String::new();
    let mut rest = readme.as_str();
    let mut shown = 0;
    while let Some((before, after)) = rest.split_once(MARK) {
        let (command, after) = after.split_once(" -->").unwrap();
        let after = after.strip_prefix(OPEN).expect("a text block follows each mark");
        let (_, after) = after.split_once(CLOSE).unwrap();
        renewed += &format!("{before}{MARK}{command} -->{OPEN}{}{CLOSE}", printed(command));
        rest = after;
        shown += 1;
    }
    renewed += rest;
    assert_eq!(shown, 3, "examples were added to the README or lost from it");
    if std::env::var_os("TENUNDER_WRITE_README").is_some() {
        std::fs::write(&path, &renewed).unwrap();
    } else if renewed != readme {
        let (new, old) = renewed.lines().zip(readme.lines()).find(|(new, old)| new != old).unwrap_or_default();
        panic!("the README shows\n  {old}\nwhere the program prints\n  {new}");
    }
}
