//! Reading JSON.
//!
//! Values are taken as the text they stand in, so that numbers keep the digits that were typed, lines are known and a
//! key given twice is seen.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;

use crate::Value;
use crate::lines::{Document, Starts};
use crate::problem::{Place, Problems};
use crate::read::{MOST_LEVELS, add_too_deep};
use crate::value::NULL;

/// The members of an object in their order, none lost.
struct Members<'a>(Vec<(String, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Members<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct InOrder<'a>(std::marker::PhantomData<&'a ()>);
        impl<'de: 'a, 'a> Visitor<'de> for InOrder<'a> {
            type Value = Members<'a>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }
            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Members<'a>, M::Error> {
                let mut members = Vec::new();
                while let Some(member) = map.next_entry()? {
                    members.push(member);
                }
                Ok(Members(members))
            }
        }
        deserializer.deserialize_map(InOrder(std::marker::PhantomData))
    }
}

/// The document in a text.
pub(crate) fn document(file: &str, text: &str, problems: &mut Problems) -> Option<Document> {
    let whole: &RawValue = match serde_json::from_str(text) {
        Ok(whole) => whole,
        Err(error) => {
            let found = format!("JSON that is not well formed at column {}", error.column());
            let why = error.to_string();
            let why = why.split(" at line").next().unwrap_or_default();
            let advice = format!("put it right there ({why}), or write the sheet as TOML");
            problems.add(Place { file, line: Some(error.line()) }, "", found, "well-formed JSON", advice);
            return None;
        }
    };
    Reader { file, text, starts: Starts::of(text) }.node(whole, 0, problems)
}

/// The value in a part of a text, whose lines are of no interest: an entry of a log, a field of a question.
pub(crate) fn part(raw: &RawValue, problems: &mut Problems) -> Option<Value> {
    let text = raw.get();
    let reader = Reader { file: "", text, starts: Starts::none() };
    reader.node(raw, 0, problems).map(|document| document.value)
}

struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    starts: Starts,
}

impl Reader<'_> {
    fn node(&self, raw: &RawValue, level: usize, problems: &mut Problems) -> Option<Document> {
        let part = raw.get();
        // The part is a slice of the text, so the distance between the two is its offset.
        let offset = (part.as_ptr() as usize).saturating_sub(self.text.as_ptr() as usize);
        let line = self.starts.at(offset);
        let place = Place { file: self.file, line };
        // Each level costs another look at the text inside it.
        if level > MOST_LEVELS {
            add_too_deep(place, problems);
            return None;
        }
        Some(match part.as_bytes().first() {
            Some(b'{') => {
                let members = serde_json::from_str::<Members<'_>>(part).ok()?.0;
                let mut seen = std::collections::HashSet::new();
                let mut entries = Vec::with_capacity(members.len());
                for (key, raw) in members {
                    if !seen.insert(key.clone()) {
                        problems.add(place, key, "the key a second time", "each key once", "keep one of them");
                    } else if let Some(node) = self.node(raw, level + 1, problems) {
                        entries.push((key, node.line(), node));
                    }
                }
                Document::table(entries, line)
            }
            Some(b'[') => {
                let items: Vec<&RawValue> = serde_json::from_str(part).ok()?;
                Document::list(items.into_iter().filter_map(|raw| self.node(raw, level + 1, problems)), line)
            }
            Some(b'"') => Document::leaf(Value::Text(serde_json::from_str(part).ok()?), line),
            Some(b't') => Document::leaf(Value::Truth(true), line),
            Some(b'f') => Document::leaf(Value::Truth(false), line),
            Some(b'n') => Document::leaf(Value::Bare(NULL.to_owned()), line),
            _ => Document::leaf(Value::Number(part.to_owned()), line),
        })
    }
}
