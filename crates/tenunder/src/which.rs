//! What is this? A crank that nobody knows, by a size or a few.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use regrind::words::in_hundred;
use sheet::{KnownBook, Problem, WhichAnswer, read_which, which_answer};

use crate::{files, report_problems, say};

/// What is asked.
#[derive(clap::Args)]
pub(crate) struct Asked {
    /// Sizes as they were read, each after main or pin where that is known: 1.8640, or main 2.1143 pin 1.8640
    #[arg(required = true, value_name = "SIZE")]
    sizes: Vec<String>,
    /// How many mains it has
    #[arg(long, value_name = "COUNT")]
    mains: Option<usize>,
    /// How many crankpins it has
    #[arg(long, value_name = "COUNT")]
    pins: Option<usize>,
    /// Look among these engines too: a specification, or a folder of them
    #[arg(long = "among", value_name = "FILE|FOLDER")]
    among: Vec<PathBuf>,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

/// Answers; the exit code.
pub(crate) fn answer(asked: &Asked) -> u8 {
    let mut problems = Vec::new();
    let read = read_which(&asked.sizes.join(" "), [asked.mains, asked.pins]).map_err(|found| problems.extend(found));
    let known = known(&asked.among, &mut problems);
    let Ok(read) = read.and_then(|read| if problems.is_empty() { Ok(read) } else { Err(()) }) else {
        return report_problems(&problems);
    };
    let found = which_answer(&known, &read);
    if !asked.json {
        return say(&told(known.len(), &found));
    }
    match serde_json::to_string_pretty(&found) {
        Ok(json) => say(&format!("{json}\n")),
        Err(_) => crate::FAILED,
    }
}

/// The engines that come with the program, and those that are named.
fn known(among: &[PathBuf], problems: &mut Vec<Problem>) -> Vec<KnownBook> {
    let mut known = Vec::new();
    for path in among {
        for file in specifications_in(path, problems) {
            match files::read_text(&file) {
                Ok(text) => take(&file.display().to_string(), &text, false, path.is_dir(), &mut known, problems),
                Err(problem) => problems.push(*problem),
            }
        }
    }
    for (name, text) in files::specifications() {
        take(name, text, true, false, &mut known, problems);
    }
    known
}

/// A specification, or every one in a folder, by name.
fn specifications_in(path: &Path, problems: &mut Vec<Problem>) -> Vec<PathBuf> {
    if !path.is_dir() {
        return vec![path.to_owned()];
    }
    let listed = std::fs::read_dir(path).and_then(|entries| entries.map(|entry| Ok(entry?.path())).collect());
    let mut files: Vec<PathBuf> = match listed {
        Ok(files) => files,
        Err(error) => {
            let found = format!("it could not be read ({error})");
            problems.push(Problem {
                file: "which".into(),
                line: None,
                key: "--among".into(),
                found,
                expected: "a folder of specifications".into(),
                advice: "check the name and the rights".into(),
            });
            return Vec::new();
        }
    };
    files.retain(|file| file.extension().is_some_and(|ending| ending == "toml"));
    files.sort();
    files
}

/// Reads a specification and takes it among those known. Of a folder, sheets and other files are passed over.
fn take(
    file: &str,
    text: &str,
    comes_with_the_program: bool,
    of_folder: bool,
    known: &mut Vec<KnownBook>,
    problems: &mut Vec<Problem>,
) {
    if of_folder && !sheet::is_specification(text) {
        return;
    }
    match sheet::read_book(file, text) {
        Ok(specification) => {
            known.push(KnownBook::new(specification, comes_with_the_program));
        }
        Err(found) => problems.extend(found),
    }
}

fn told(engines: usize, found: &WhichAnswer) -> String {
    let mut says = String::new();
    if found.fits.is_empty() {
        let _ = writeln!(says, "None of the {engines} engines known here fits.");
    }
    for fits in &found.fits {
        let invented = if fits.invented { " (invented, comes with the program)" } else { "" };
        let _ = writeln!(says, "{}{invented}, {}: {}", fits.engine, fits.life, in_hundred(fits.chance));
        for size in &fits.sizes {
            let decimals = if found.units == "in" { 4 } else { 3 };
            let _ = writeln!(says, "    {:.decimals$} {}: {}", size.size, found.units, size.says);
        }
    }
    if !found.fits.is_empty() {
        let _ = writeln!(says, "None of the engines known here: {}", in_hundred(found.none));
    }
    if let Some(tell) = &found.tell_apart {
        let _ = writeln!(says, "\nTo tell them apart: {tell}");
    }
    says + "\nA place to look in a book, not a specification to grind by.\n"
}
