//! One value of a document, and what can be asked of it.

use serde::ser::{Serialize, SerializeMap, SerializeSeq, Serializer};
use serde_json::value::RawValue;

use crate::number::{is_number, plain};
use crate::problem::shortened;
use crate::to_toml;

/// One value of a document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Value {
    /// Words.
    Text(String),
    /// A number with every digit that was typed. What [`read`](crate::read) reads stands as it was written (`+0.0010`);
    /// what [`Value::from_text`] reads and a record keeps stands as JSON and TOML both write it (`0.0010`).
    Number(String),
    /// True or false.
    Truth(bool),
    /// What stands without quotes and is neither: a date of TOML, the null of JSON. No key takes one. It is here so
    /// that it can be shown as it was written, and never in what a record keeps.
    Bare(String),
    /// A list.
    List(Vec<Value>),
    /// Keys and values, in their order.
    Table(Vec<(String, Value)>),
}

impl Value {
    /// A table of these keys and values.
    pub fn table<'a>(pairs: impl IntoIterator<Item = (&'a str, Value)>) -> Value {
        Value::Table(pairs.into_iter().map(|(key, value)| (key.to_owned(), value)).collect())
    }

    /// A figure as it was typed: a number where the text is one, otherwise words (`2.4480 mm`, `1 7/8`).
    pub fn typed(text: &str) -> Value {
        let text = text.trim();
        if is_number(text) { Value::Number(text.to_owned()) } else { Value::Text(text.to_owned()) }
    }

    /// The value of a key, if this is a table that has it.
    pub fn get(&self, key: &str) -> Option<&Value> {
        match self {
            Value::Table(pairs) => pairs.iter().find(|(name, _)| name == key).map(|(_, value)| value),
            _ => None,
        }
    }

    /// The words of a key, if this is a table whose key holds words.
    pub fn words(&self, key: &str) -> Option<&str> {
        match self.get(key) {
            Some(Value::Text(text)) => Some(text),
            _ => None,
        }
    }

    /// Puts a value under a key, in place of one that is there. Does nothing to what is no table.
    pub fn set(&mut self, key: &str, value: Value) {
        let Value::Table(pairs) = self else { return };
        match pairs.iter_mut().find(|(name, _)| name == key) {
            Some((_, there)) => *there = value,
            None => pairs.push((key.to_owned(), value)),
        }
    }

    /// Takes a key and its value out of a table.
    pub fn take(&mut self, key: &str) -> Option<Value> {
        let Value::Table(pairs) = self else { return None };
        let at = pairs.iter().position(|(name, _)| name == key)?;
        Some(pairs.remove(at).1)
    }

    /// The keys of a table, in their order.
    pub fn pairs(&self) -> &[(String, Value)] {
        match self {
            Value::Table(pairs) => pairs,
            _ => &[],
        }
    }

    /// The items of a list.
    pub fn items(&self) -> &[Value] {
        match self {
            Value::List(items) => items,
            _ => &[],
        }
    }

    /// A text or a number, as it was typed.
    pub fn as_typed(&self) -> Option<&str> {
        match self {
            Value::Text(text) | Value::Number(text) => Some(text),
            _ => None,
        }
    }

    /// The value as a problem shows it, on one line and cut to what fits there.
    pub fn shown(&self) -> String {
        match self {
            Value::Text(text) => format!("\"{}\"", shortened(text)),
            Value::Number(text) | Value::Bare(text) => text.clone(),
            Value::Truth(truth) => truth.to_string(),
            Value::List(items) if items.is_empty() => "an empty list".to_owned(),
            Value::List(items) => format!("a list of {}", items.len()),
            Value::Table(_) => "a table".to_owned(),
        }
    }

    /// The value as it is kept: numbers as JSON and TOML both write them, dates and what is no number (`nan`) as words.
    ///
    /// # Errors
    /// A null, which says nothing and cannot be kept.
    pub(crate) fn kept(self) -> Result<Value, String> {
        Ok(match self {
            Value::Number(typed) if is_number(&typed) => Value::Number(typed),
            Value::Number(typed) => match plain(&typed) {
                Some(number) => Value::Number(number.into_owned()),
                None => Value::Text(typed.strip_prefix('+').unwrap_or(&typed).to_owned()),
            },
            Value::Bare(null) if null == NULL => {
                return Err("a null, which says nothing; leave the key out".to_owned());
            }
            Value::Bare(date) => Value::Text(date),
            Value::List(items) => Value::List(items.into_iter().map(Value::kept).collect::<Result<_, _>>()?),
            Value::Table(pairs) => {
                let kept = pairs.into_iter().map(|(key, value)| value.kept().map(|value| (key, value)));
                Value::Table(kept.collect::<Result<_, _>>()?)
            }
            whole @ (Value::Text(_) | Value::Truth(_)) => whole,
        })
    }

    /// The document as JSON, every number with the digits that were typed.
    pub fn to_json(&self) -> String {
        // Keys are texts and every number is written as one or as words, so there is nothing that cannot be written.
        serde_json::to_string(self).unwrap_or_default()
    }

    /// The document for code that works with numbers; digits that a number does not need are lost.
    pub fn to_serde(&self) -> serde_json::Value {
        serde_json::from_str(&self.to_json()).unwrap_or_default()
    }

    /// The document as TOML: plain keys first, tables under headings, every number with the digits that were typed.
    /// Empty for what is no table.
    pub fn to_toml(&self) -> String {
        let mut out = String::new();
        to_toml::section(&mut out, "", self.pairs());
        out
    }
}

/// What JSON calls nothing.
pub(crate) const NULL: &str = "null";

impl From<&str> for Value {
    fn from(text: &str) -> Value {
        Value::Text(text.to_owned())
    }
}

impl From<String> for Value {
    fn from(text: String) -> Value {
        Value::Text(text)
    }
}

impl From<bool> for Value {
    fn from(truth: bool) -> Value {
        Value::Truth(truth)
    }
}

impl From<i64> for Value {
    fn from(number: i64) -> Value {
        Value::Number(number.to_string())
    }
}

/// The text of a number as JSON has it. What is no number becomes words.
impl From<f64> for Value {
    fn from(number: f64) -> Value {
        let text = number.to_string();
        if is_number(&text) { Value::Number(text) } else { Value::Text(text) }
    }
}

/// What JSON has no number for is written as words: the readers refuse the words as they refuse the number.
impl Serialize for Value {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Value::Text(text) | Value::Bare(text) => serializer.serialize_str(text),
            Value::Number(typed) => match plain(typed).map(|number| RawValue::from_string(number.into_owned())) {
                Some(Ok(raw)) => raw.serialize(serializer),
                Some(Err(_)) | None => serializer.serialize_str(typed),
            },
            Value::Truth(truth) => serializer.serialize_bool(*truth),
            Value::List(items) => {
                let mut list = serializer.serialize_seq(Some(items.len()))?;
                for item in items {
                    list.serialize_element(item)?;
                }
                list.end()
            }
            Value::Table(pairs) => {
                let mut map = serializer.serialize_map(Some(pairs.len()))?;
                for (key, value) in pairs {
                    map.serialize_entry(key, value)?;
                }
                map.end()
            }
        }
    }
}
