//! A drawing into its file: whole or not at all.

use std::path::Path;

use sheet::Problem;

use crate::written::{self, Kind};
use crate::{report_problems, say};

/// Puts a drawing into its file, then prints what it says; the exit code.
pub(crate) fn put(command: &str, path: &Path, drawing: &str, text: &str, replace: bool) -> u8 {
    let problem = |key: &str, found: String, expected: &str, advice: &str| Problem {
        file: command.into(),
        line: None,
        key: key.into(),
        found,
        expected: expected.into(),
        advice: advice.into(),
    };

    let place = path.display().to_string();
    if !path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("svg")) {
        let advice = "name the file with that ending";
        return report_problems(&[problem("--output", place, "a name that ends in .svg", advice)]);
    }
    match written::put(command, path, drawing.as_bytes(), Kind::Drawing, replace) {
        Ok(()) => say(&format!("{text}\nDrawn into {place}.\n")),
        Err(code) => code,
    }
}
