//! The same document as JSON.
//!
//! Values are taken as the text they stand in, so that numbers keep the digits that were typed, lines are known and a
//! key given twice is seen.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;

use crate::node::{Entry, Lines, MOST_LEVELS, Node, Value, add_too_deep};
use crate::problem::{Place, Problems};

/// The members of an object in their order, none lost.
struct Members<'a>(Vec<(String, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Members<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Members2<'a>(std::marker::PhantomData<&'a ()>);
        impl<'de: 'a, 'a> Visitor<'de> for Members2<'a> {
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
        deserializer.deserialize_map(Members2(std::marker::PhantomData))
    }
}

struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    lines: Lines,
}

pub(crate) fn tree(file: &str, text: &str, problems: &mut Problems) -> Option<Node> {
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
    let reader = Reader { file, text, lines: Lines::of(text) };
    reader.node(whole, 0, problems)
}

impl Reader<'_> {
    fn node(&self, raw: &RawValue, level: usize, problems: &mut Problems) -> Option<Node> {
        let part = raw.get();
        // The part is a slice of the text, so the distance between the two is its offset.
        let offset = (part.as_ptr() as usize).saturating_sub(self.text.as_ptr() as usize);
        let line = Some(self.lines.at(offset));
        let place = Place { file: self.file, line };
        // Each level costs another look at the text inside it.
        if level > MOST_LEVELS {
            add_too_deep(place, problems);
            return None;
        }
        let value = match part.as_bytes().first() {
            Some(b'{') => {
                let members = serde_json::from_str::<Members<'_>>(part).ok()?.0;
                let mut seen = std::collections::HashSet::new();
                let mut entries = Vec::with_capacity(members.len());
                for (key, raw) in members {
                    if !seen.insert(key.clone()) {
                        let advice = "keep one of them";
                        problems.add(place, key, "the key a second time", "each key once", advice);
                    } else if let Some(node) = self.node(raw, level + 1, problems) {
                        entries.push(Entry { key, line: node.line, node });
                    }
                }
                Value::Table(entries)
            }
            Some(b'[') => {
                let items: Vec<&RawValue> = serde_json::from_str(part).ok()?;
                Value::List(items.into_iter().filter_map(|raw| self.node(raw, level + 1, problems)).collect())
            }
            Some(b'"') => Value::Text(serde_json::from_str(part).ok()?),
            Some(b't') => Value::Truth(true),
            Some(b'f') => Value::Truth(false),
            Some(b'n') => Value::Null,
            _ => Value::Number(part.to_owned()),
        };
        Some(Node { line, value })
    }
}
