//! Reading the text of a file.

use crate::lines::Document;
use crate::problem::{Place, Problems};
use crate::{from_json, from_toml};

/// The longest text that is read at all, in bytes; a crankshaft takes a few thousand.
pub const MOST_BYTES: usize = 8_000_000;

/// The deepest values within values that are read; a sheet needs six levels.
pub const MOST_LEVELS: usize = 16;

/// The document in the text of a file, TOML or (starting with a brace) JSON. What is not well formed goes into
/// `problems`; what could be made out in spite of that is returned, or nothing where reading on would only produce
/// nonsense.
pub fn read(file: &str, text: &str, problems: &mut Problems) -> Option<Document> {
    if !is_readable(file, text, problems) {
        return None;
    }
    read_text(file, text, problems)
}

/// The same for a text that did not come as a file, and may hold characters that are not seen.
pub(crate) fn read_text(file: &str, text: &str, problems: &mut Problems) -> Option<Document> {
    if !is_short_enough(file, text, problems) {
        return None;
    }
    // A byte order mark, which some editors put in front.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim_start().starts_with('{') {
        from_json::document(file, text, problems)
    } else {
        from_toml::document(file, text, problems)
    }
}

/// Whether a text can be that of a file of words. Length and characters are looked at before anything else, so that a
/// huge or binary file gets one plain answer.
pub fn is_readable(file: &str, text: &str, problems: &mut Problems) -> bool {
    if !is_short_enough(file, text, problems) {
        return false;
    }
    let stray = |c: char| c.is_control() && !matches!(c, '\t' | '\n' | '\r');
    if let Some((offset, c)) = text.char_indices().find(|(_, c)| stray(*c)) {
        let line = text.as_bytes()[..offset].iter().filter(|b| **b == b'\n').count() + 1;
        let found = format!("the control character U+{:04X}", c as u32);
        let advice = "this is not a text file, or it was damaged; export it again as plain text (UTF-8)";
        problems.add(Place { file, line: Some(line) }, "", found, "text", advice);
        return false;
    }
    true
}

/// Whether a text is short enough to be read.
pub(crate) fn is_short_enough(file: &str, text: &str, problems: &mut Problems) -> bool {
    if text.len() > MOST_BYTES {
        let found = format!("{:.1} MB", text.len() as f64 / 1e6);
        let advice = "check that this is the right file; a crankshaft takes a few kilobytes";
        problems.add(Place { file, line: None }, "", found, "at most 8 MB", advice);
        return false;
    }
    true
}

/// Puts down that values stand within values within values.
pub(crate) fn add_too_deep(place: Place<'_>, problems: &mut Problems) {
    let found = "values within values within values";
    problems.add(place, "", found, format!("at most {MOST_LEVELS} levels"), "take the value out of its brackets");
}
