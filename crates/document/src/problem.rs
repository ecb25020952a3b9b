//! What is wrong with a document, said so that it can be put right.

use std::fmt;

/// How much of a found text is shown; the rest is cut off.
const SHOWN_CHARS: usize = 60;
/// No sentence of ours is longer than this; names out of the document that it repeats may be.
const SENTENCE_CHARS: usize = 500;
/// How many problems are listed; more are only counted.
const MOST_LISTED: usize = 200;

/// One thing wrong with a document: where, what stands there, what should, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The file, as the caller named it.
    pub file: String,
    /// The line, from one; absent where a whole file is at fault.
    pub line: Option<usize>,
    /// The key, with the row it stands in: `policy.confidence`, `reading[3].size` (rows count from
    /// one). Empty where a file is at fault.
    pub key: String,
    /// What was found there, cut to a length that fits a line.
    pub found: String,
    /// What should have been there.
    pub expected: String,
    /// What to do.
    pub advice: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:", self.file)?;
        if let Some(line) = self.line {
            write!(f, "{line}:")?;
        }
        write!(f, " {}", self.says())
    }
}

impl Problem {
    /// The problem without its file and line, for where those are said beside it or are of no use.
    pub(crate) fn says(&self) -> String {
        let key = if self.key.is_empty() { String::new() } else { format!("{}: ", self.key) };
        format!("{key}found {}, expected {}; {}", self.found, self.expected, self.advice)
    }
}

/// Cuts a text to what fits a line and makes what cannot be seen visible.
pub fn shortened(text: &str) -> String {
    cut(text, SHOWN_CHARS)
}

fn cut(text: &str, most_chars: usize) -> String {
    let mut shown = String::new();
    for (count, c) in text.chars().enumerate() {
        if count == most_chars {
            shown.push('…');
            break;
        }
        if c.is_control() { shown.extend(c.escape_default()) } else { shown.push(c) }
    }
    shown
}

/// Where in a document something stands.
#[derive(Clone, Copy, Debug)]
pub struct Place<'a> {
    /// The file, as the caller named it.
    pub file: &'a str,
    /// The line, from one; absent where a whole file is at fault.
    pub line: Option<usize>,
}

/// Every problem met so far, and how many more there were than are worth listing.
#[derive(Debug, Default)]
pub struct Problems {
    list: Vec<Problem>,
    unlisted: usize,
}

impl Problems {
    /// Puts one down; what is too long for a line is cut, and beyond 200 they are only counted.
    pub fn add(
        &mut self,
        place: Place<'_>,
        key: impl Into<String>,
        found: impl AsRef<str>,
        expected: impl Into<String>,
        advice: impl Into<String>,
    ) {
        if self.is_full() {
            self.count_one();
            return;
        }
        self.list.push(Problem {
            file: place.file.to_owned(),
            line: place.line,
            key: shortened(&key.into()),
            found: shortened(found.as_ref()),
            expected: cut(&expected.into(), SENTENCE_CHARS),
            advice: cut(&advice.into(), SENTENCE_CHARS),
        });
    }

    /// The keys that were complained of.
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.list.iter().map(|problem| problem.key.as_str())
    }

    /// Whether further problems are only counted.
    pub fn is_full(&self) -> bool {
        self.list.len() >= MOST_LISTED
    }

    /// Counts one that is not listed.
    pub fn count_one(&mut self) {
        self.unlisted += 1;
    }

    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// How many there are, listed or not.
    pub fn len(&self) -> usize {
        self.list.len() + self.unlisted
    }

    /// Adds those of another reader.
    pub fn append(&mut self, other: Problems) {
        self.unlisted += other.unlisted;
        for problem in other.list {
            if self.list.len() >= MOST_LISTED { self.unlisted += 1 } else { self.list.push(problem) }
        }
    }

    /// Keeps only some of those that are listed.
    pub fn retain(&mut self, keep: impl FnMut(&Problem) -> bool) {
        self.list.retain(keep);
    }

    /// Whether something stands here about the line of another problem.
    pub fn has_line(&self, other: &Problem) -> bool {
        self.list.iter().any(|problem| problem.file == other.file && problem.line == other.line)
    }

    /// The list as it is handed out: file by file as they were read, each in the order of its lines.
    pub fn into_list(mut self) -> Vec<Problem> {
        let mut files: Vec<String> = Vec::new();
        for problem in &self.list {
            if !files.contains(&problem.file) {
                files.push(problem.file.clone());
            }
        }
        self.list.sort_by_key(|p| (files.iter().position(|f| *f == p.file), p.line.unwrap_or(0)));
        if self.unlisted > 0 {
            self.list.push(Problem {
                file: files.first().cloned().unwrap_or_default(),
                line: None,
                key: String::new(),
                found: format!("{} more problems", self.unlisted),
                expected: "none".to_owned(),
                advice: "put the ones above right first, then try again".to_owned(),
            });
        }
        self.list
    }
}
