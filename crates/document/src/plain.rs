//! Reading a document for its values alone, as the record and the JSON interface do.

use std::fmt;

use serde::de::{self, Deserialize, Deserializer};
use serde_json::value::RawValue;

use crate::problem::{Problem, Problems};
use crate::read::{is_short_enough, read_text};
use crate::{Value, from_json};

/// A text that is no document: the first thing that is wrong with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotADocument {
    /// What is wrong with it, in words.
    pub says: String,
    /// The line, from one, where it is known.
    pub line: Option<usize>,
}

impl fmt::Display for NotADocument {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "line {line}: {}", self.says),
            None => f.write_str(&self.says),
        }
    }
}

impl std::error::Error for NotADocument {}

impl From<Problem> for NotADocument {
    fn from(problem: Problem) -> NotADocument {
        NotADocument { says: problem.says(), line: problem.line }
    }
}

impl Value {
    /// Reads JSON.
    ///
    /// # Errors
    /// [`NotADocument`] where it is not well formed, has a null, a key twice, too many levels or too many bytes.
    pub fn from_json(text: &str) -> Result<Value, NotADocument> {
        alone(|problems| {
            if !is_short_enough("", text, problems) {
                return None;
            }
            from_json::document("", text, problems).map(|document| document.value)
        })
    }

    /// Reads TOML, or JSON where the text starts with a brace.
    ///
    /// # Errors
    /// [`NotADocument`], as [`Value::from_json`].
    pub fn from_text(text: &str) -> Result<Value, NotADocument> {
        alone(|problems| read_text("", text, problems).map(|document| document.value))
    }
}

/// The value that a reader finds, or the first problem that it has.
fn alone(reader: impl FnOnce(&mut Problems) -> Option<Value>) -> Result<Value, NotADocument> {
    let mut problems = Problems::default();
    let value = reader(&mut problems);
    if let Some(first) = problems.into_list().into_iter().next() {
        return Err(first.into());
    }
    // Without a problem there is a value.
    let value = value.ok_or_else(|| NotADocument { says: "a text that stops the reader".to_owned(), line: None })?;
    value.kept().map_err(|says| NotADocument { says, line: None })
}

impl TryFrom<serde_json::Value> for Value {
    type Error = NotADocument;
    fn try_from(value: serde_json::Value) -> Result<Value, NotADocument> {
        Value::from_json(&value.to_string())
    }
}

impl<'de> Deserialize<'de> for Value {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Value, D::Error> {
        let raw = Box::<RawValue>::deserialize(deserializer)?;
        alone(|problems| from_json::part(&raw, problems)).map_err(|error| de::Error::custom(error.says))
    }
}
