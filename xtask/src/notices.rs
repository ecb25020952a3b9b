//! The licences of what other people wrote and the binary carries: gathered into one file that the binary prints.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::supply::{Package, packages};
use crate::tools::{cargo, root, run as start};

/// Where the notices stand.
const FILE: &str = "crates/tenunder/library/licences.txt";
/// The licences of the typefaces of pages and papers.
const TYPEFACES: [&str; 2] = ["crates/bench/static/FONTS-LICENSE.txt", "crates/paper/fonts/LICENSE.txt"];
/// Where the list of packages in it ends.
const TEXTS: &str = "\nTHE TEXTS OF THE LICENCES\n";

/// Writes the notices anew.
///
/// # Errors
/// A package whose source is not there, or a file that cannot be written.
pub(crate) fn run() -> Result<(), String> {
    start(cargo().args(["fetch", "--locked"]))?;
    let (built_in, mut texts, mut without) = (built_in()?, BTreeMap::<String, Vec<String>>::new(), Vec::new());
    for one in &built_in {
        let found = texts_of(&source(one)?);
        if found.is_empty() {
            without.push(named(one));
        }
        for text in found {
            texts.entry(text).or_default().push(named(one));
        }
    }
    let mut out = list(&built_in);
    out += TEXTS;
    for file in TYPEFACES {
        let text = std::fs::read_to_string(root().join(file)).map_err(|error| format!("{file}: {error}"))?;
        texts.entry(plain(&text)).or_default().push("the typefaces of pages and papers".to_owned());
    }
    if !without.is_empty() {
        out +=
            &format!("\nNo text came with {}; it is the usual text of the licence named above.\n", without.join(", "));
    }
    // The texts that most share come first.
    let mut texts: Vec<(String, Vec<String>)> = texts.into_iter().collect();
    texts.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then_with(|| a.1.cmp(&b.1)));
    for (text, whose) in texts {
        out += &format!("\n{}\n{}\n\n{text}\n", "-".repeat(72), textwrap(&whose));
    }
    std::fs::write(root().join(FILE), out).map_err(|error| format!("{FILE}: {error}"))?;
    println!("{FILE}: {} packages", built_in.len());
    Ok(())
}

/// Whether the notices name what is built in, no more and no less.
///
/// # Errors
/// That they do not, and how to mend it.
pub(crate) fn check() -> Result<(), String> {
    let there = std::fs::read_to_string(root().join(FILE)).unwrap_or_default();
    let wanted = list(&built_in()?);
    if there.split(TEXTS).next() == Some(&wanted) && there.contains(TEXTS) {
        return Ok(());
    }
    let news = wanted.lines().find(|line| !there.lines().any(|known| known == *line));
    let news = news.unwrap_or("something that is no longer built in");
    Err(format!("{FILE} is not what is built in ({news}): cargo xtask licences writes it anew"))
}

/// What the binary carries on any system; what only its building needs is not given away.
fn built_in() -> Result<Vec<Package>, String> {
    let all = packages(&["--package", "tenunder", "--all-features", "--target", "all", "-e", "normal,no-proc-macro"])?;
    Ok(all.into_iter().filter(|one| !one.ours).collect())
}

fn named(one: &Package) -> String {
    format!("{} {}", one.name, one.version)
}

fn list(built_in: &[Package]) -> String {
    let mut out = String::from(
        "Tenunder is given under the MIT licence or the Apache licence 2.0, as you choose. It is made with what others\n\
         wrote, each under its own licence:\n\n",
    );
    for one in built_in {
        out += &format!("{}: {}\n", named(one), one.licence);
    }
    out
}

/// The folder of a package as cargo fetched it.
fn source(one: &Package) -> Result<PathBuf, String> {
    let home = std::env::var_os("CARGO_HOME").map(PathBuf::from);
    let home = home.or_else(|| std::env::home_dir().map(|home| home.join(".cargo"))).ok_or("no home folder")?;
    let registries = std::fs::read_dir(home.join("registry/src")).map_err(|error| format!("registry/src: {error}"))?;
    let folder = format!("{}-{}", one.name, one.version);
    let mut found = registries.flatten().map(|registry| registry.path().join(&folder)).filter(|path| path.is_dir());
    found.next().ok_or_else(|| format!("{folder} is not fetched"))
}

/// The texts of the licences that came with a package. Where several may be chosen, the shortest choice: MIT.
fn texts_of(folder: &Path) -> Vec<String> {
    let is_licence = |name: &str| {
        let name = name.to_lowercase();
        ["licen", "copying", "notice", "unlicense", "copyright"].iter().any(|start| name.starts_with(start))
    };
    let mut files: Vec<(String, PathBuf)> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .filter(|file| file.path().is_file())
        .map(|file| (file.file_name().to_string_lossy().into_owned(), file.path()))
        .filter(|(name, _)| is_licence(name) && !name.ends_with(".rs"))
        .collect();
    files.sort();
    let of = |word: &str| files.iter().any(|(name, _)| name.to_lowercase().contains(word));
    if of("mit") && of("apache") {
        files.retain(|(name, _)| !name.to_lowercase().contains("apache"));
    }
    let texts = files.iter().filter_map(|(_, path)| std::fs::read_to_string(path).ok());
    texts.map(|text| plain(&text)).filter(|text| !text.is_empty()).collect()
}

/// Names one after another, in lines that fit a narrow window.
fn textwrap(names: &[String]) -> String {
    let (mut lines, last) = (vec![String::new()], names.len().saturating_sub(1));
    for (n, name) in names.iter().enumerate() {
        let word = if n == last { name.clone() } else { format!("{name},") };
        match lines.last_mut() {
            Some(line) if line.is_empty() => *line = word,
            Some(line) if line.len() + 1 + word.len() <= 76 => *line = format!("{line} {word}"),
            _ => lines.push(word),
        }
    }
    lines.join("\n")
}

/// A text without what differs for no reason: ends of lines, blanks after them, empty lines around.
fn plain(text: &str) -> String {
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    lines.join("\n").trim_matches('\n').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the binary prints is what is built into it: `cargo xtask licences` was run after the last change.
    #[test]
    fn the_notices_name_what_is_built_in() {
        check().unwrap();
    }

    #[test]
    fn a_text_is_one_however_its_lines_end() {
        assert_eq!(plain("\r\nMIT  \r\n\r\nNo warranty\n\n"), plain("\nMIT\n\nNo warranty"));
    }
}
