//! A document as a tree that keeps its numbers as they were typed and its keys in their order.
//!
//! The sheet and the specification are such trees. A number is kept as its text, so that `2.1230` stays `2.1230`: the
//! zero at the end says how finely it was read.

use std::fmt;

use serde::de::{self, Deserialize, Deserializer, MapAccess, Visitor};
use serde::ser::{Serialize, SerializeMap, SerializeSeq, Serializer};
use serde_json::value::RawValue;
use toml::de::{DeTable, DeValue};

/// The deepest brackets within brackets that are read; a sheet needs five.
const MOST_LEVELS: usize = 16;
/// The longest document that is read, in bytes.
pub const MOST_BYTES: usize = 8_000_000;

/// One value of a document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Value {
    /// Words.
    Text(String),
    /// A number as JSON and TOML both write it, with every digit that was typed.
    Number(String),
    /// True or false.
    Truth(bool),
    /// A list.
    List(Vec<Value>),
    /// Keys and values, in their order.
    Table(Vec<(String, Value)>),
}

/// A text that is no document.
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

    /// The document as JSON, every number with the digits that were typed.
    pub fn to_json(&self) -> String {
        // Keys are texts and numbers were checked, so there is nothing that cannot be written.
        serde_json::to_string(self).unwrap_or_default()
    }

    /// The document for code that works with numbers; digits that a number does not need are lost.
    pub fn to_serde(&self) -> serde_json::Value {
        serde_json::from_str(&self.to_json()).unwrap_or_default()
    }

    /// Reads JSON.
    ///
    /// # Errors
    /// [`NotADocument`] where it is not well formed, has a null, a key twice, too many levels or too many bytes.
    pub fn from_json(text: &str) -> Result<Value, NotADocument> {
        if text.len() > MOST_BYTES {
            return Err(too_long());
        }
        let raw: &RawValue = serde_json::from_str(text).map_err(|error| {
            let why = error.to_string();
            let why = why.split(" at line").next().unwrap_or_default().to_owned();
            NotADocument { says: format!("JSON that is not well formed ({why})"), line: Some(error.line()) }
        })?;
        from_raw(raw, 0).map_err(|says| NotADocument { says, line: None })
    }

    /// Reads TOML, or JSON where the text starts with a brace.
    ///
    /// # Errors
    /// [`NotADocument`], as [`Value::from_json`].
    pub fn from_text(text: &str) -> Result<Value, NotADocument> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        if text.trim_start().starts_with('{') {
            return Value::from_json(text);
        }
        if text.len() > MOST_BYTES {
            return Err(too_long());
        }
        let table = DeTable::parse(text).map_err(|error| {
            let line = error.span().map(|span| text.bytes().take(span.start).filter(|b| *b == b'\n').count() + 1);
            NotADocument { says: error.message().replace('`', "'"), line }
        })?;
        from_toml_table(table.get_ref(), 0).map_err(|says| NotADocument { says, line: None })
    }

    /// The document as TOML: plain keys first, tables under headings, every number with the digits that were typed.
    /// Empty for what is no table.
    pub fn to_toml(&self) -> String {
        let mut out = String::new();
        section(&mut out, "", self.pairs());
        out
    }
}

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

impl TryFrom<serde_json::Value> for Value {
    type Error = NotADocument;
    fn try_from(value: serde_json::Value) -> Result<Value, NotADocument> {
        Value::from_json(&value.to_string())
    }
}

impl Serialize for Value {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Value::Text(text) => serializer.serialize_str(text),
            Value::Number(digits) => match RawValue::from_string(digits.clone()) {
                Ok(raw) if is_number(digits) => raw.serialize(serializer),
                _ => Err(serde::ser::Error::custom(format!("\"{digits}\" is not a number"))),
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

impl<'de> Deserialize<'de> for Value {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Value, D::Error> {
        let raw = Box::<RawValue>::deserialize(deserializer)?;
        from_raw(&raw, 0).map_err(de::Error::custom)
    }
}

/// In the JSON interface a document is always a table.
impl utoipa::PartialSchema for Value {
    fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::schema::Schema> {
        utoipa::openapi::schema::ObjectBuilder::new()
            .schema_type(utoipa::openapi::schema::Type::Object)
            .description(Some("Keys and values as docs/sheet.md has them. Numbers keep the digits that were typed."))
            .additional_properties(Some(utoipa::openapi::schema::AdditionalProperties::FreeForm(true)))
            .into()
    }
}

impl utoipa::ToSchema for Value {
    fn name() -> std::borrow::Cow<'static, str> {
        "Table".into()
    }
}

fn too_long() -> NotADocument {
    NotADocument { says: format!("longer than {} MB, which no sheet is", MOST_BYTES / 1_000_000), line: None }
}

/// Whether a text is a number as JSON writes it.
fn is_number(text: &str) -> bool {
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let text = text.strip_prefix('-').unwrap_or(text);
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent.strip_prefix(['+', '-']).unwrap_or(exponent))),
        None => (text, None),
    };
    let (whole, fraction) = match mantissa.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (mantissa, None),
    };
    digits(whole)
        && (whole == "0" || !whole.starts_with('0'))
        && fraction.is_none_or(digits)
        && exponent.is_none_or(digits)
}

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

fn from_raw(raw: &RawValue, level: usize) -> Result<Value, String> {
    if level > MOST_LEVELS {
        return Err(format!("more than {MOST_LEVELS} brackets within brackets"));
    }
    let part = raw.get();
    let unreadable = |error: serde_json::Error| error.to_string();
    Ok(match part.as_bytes().first() {
        Some(b'{') => {
            let members = serde_json::from_str::<Members<'_>>(part).map_err(unreadable)?.0;
            let mut seen = std::collections::HashSet::new();
            let mut pairs = Vec::with_capacity(members.len());
            for (key, raw) in members {
                if !seen.insert(key.clone()) {
                    return Err(format!("the key \"{key}\" twice"));
                }
                pairs.push((key, from_raw(raw, level + 1)?));
            }
            Value::Table(pairs)
        }
        Some(b'[') => {
            let items: Vec<&RawValue> = serde_json::from_str(part).map_err(unreadable)?;
            Value::List(items.into_iter().map(|raw| from_raw(raw, level + 1)).collect::<Result<_, _>>()?)
        }
        Some(b'"') => Value::Text(serde_json::from_str(part).map_err(unreadable)?),
        Some(b't') => Value::Truth(true),
        Some(b'f') => Value::Truth(false),
        Some(b'n') => return Err("a null, which says nothing; leave the key out".to_owned()),
        _ => Value::Number(part.to_owned()),
    })
}

fn from_toml_table(table: &DeTable<'_>, level: usize) -> Result<Value, String> {
    let mut keyed: Vec<_> = table.iter().collect();
    keyed.sort_by_key(|(key, _)| key.span().start); // the map sorts by name; people read from the top
    let pairs =
        keyed.into_iter().map(|(key, value)| Ok((key.get_ref().to_string(), from_toml(value.get_ref(), level + 1)?)));
    Ok(Value::Table(pairs.collect::<Result<_, String>>()?))
}

fn from_toml(value: &DeValue<'_>, level: usize) -> Result<Value, String> {
    if level > MOST_LEVELS {
        return Err(format!("more than {MOST_LEVELS} brackets within brackets"));
    }
    let number = |digits: &str| {
        let digits = digits.replace('_', "");
        Value::typed(digits.strip_prefix('+').unwrap_or(&digits)) // inf and nan become words, and are refused as such
    };
    Ok(match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(whole) if whole.radix() == 10 => number(whole.as_str()),
        DeValue::Integer(whole) => {
            let value = i64::from_str_radix(&whole.as_str().replace('_', ""), whole.radix());
            value.map_or_else(|_| Value::Text(whole.to_string()), |n| Value::Number(n.to_string()))
        }
        DeValue::Float(float) => number(float.as_str()),
        DeValue::Boolean(truth) => Value::Truth(*truth),
        DeValue::Datetime(date) => Value::Text(date.to_string()),
        DeValue::Array(list) => {
            Value::List(list.iter().map(|item| from_toml(item.get_ref(), level + 1)).collect::<Result<_, _>>()?)
        }
        DeValue::Table(table) => from_toml_table(table, level)?,
    })
}

/// Whether a value gets a heading of its own, and of which kind.
enum Heading {
    None,
    Table,
    Rows,
}

fn heading(path: &str, value: &Value) -> Heading {
    match value {
        // A few figures that belong together, such as the growth's mean and spread, read best on one line.
        Value::Table(pairs)
            if !path.is_empty() && pairs.len() <= 3 && pairs.iter().all(|(_, v)| v.as_typed().is_some()) =>
        {
            Heading::None
        }
        Value::Table(_) => Heading::Table,
        Value::List(items) if !items.is_empty() && items.iter().all(|item| matches!(item, Value::Table(_))) => {
            Heading::Rows
        }
        _ => Heading::None,
    }
}

fn section(out: &mut String, path: &str, pairs: &[(String, Value)]) {
    let inside = |key: &str| if path.is_empty() { toml_key(key) } else { format!("{path}.{}", toml_key(key)) };
    for (key, value) in pairs {
        if let Heading::None = heading(path, value) {
            line(out, key, value);
        }
    }
    for (key, value) in pairs {
        match heading(path, value) {
            Heading::None => {}
            Heading::Table => {
                blank(out);
                out.push_str(&format!("[{}]\n", inside(key)));
                section(out, &inside(key), value.pairs());
            }
            Heading::Rows => {
                for item in value.items() {
                    blank(out);
                    out.push_str(&format!("[[{}]]\n", inside(key)));
                    for (key, value) in item.pairs() {
                        line(out, key, value);
                    }
                }
            }
        }
    }
}

fn blank(out: &mut String) {
    if !out.is_empty() {
        out.push('\n');
    }
}

fn line(out: &mut String, key: &str, value: &Value) {
    out.push_str(&toml_key(key));
    out.push_str(" = ");
    inline(out, value);
    out.push('\n');
}

fn inline(out: &mut String, value: &Value) {
    match value {
        Value::Text(text) => toml_text(out, text),
        Value::Number(digits) => out.push_str(digits),
        Value::Truth(truth) => out.push_str(if *truth { "true" } else { "false" }),
        Value::List(items) => {
            out.push('[');
            for (n, item) in items.iter().enumerate() {
                if n > 0 {
                    out.push_str(", ");
                }
                inline(out, item);
            }
            out.push(']');
        }
        Value::Table(pairs) if pairs.is_empty() => out.push_str("{}"),
        Value::Table(pairs) => {
            out.push_str("{ ");
            for (n, (key, value)) in pairs.iter().enumerate() {
                if n > 0 {
                    out.push_str(", ");
                }
                out.push_str(&toml_key(key));
                out.push_str(" = ");
                inline(out, value);
            }
            out.push_str(" }");
        }
    }
}

fn toml_key(key: &str) -> String {
    let bare = !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if bare {
        return key.to_owned();
    }
    let mut quoted = String::new();
    toml_text(&mut quoted, key);
    quoted
}

fn toml_text(out: &mut String, text: &str) {
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            '\r' => out.push_str("\\r"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", c as u32)),
            c => out.push(c),
        }
    }
    out.push('"');
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHEET: &str = "sheet = 1\nunits = \"in\"\n\n[policy]\nconfidence = 0.90\nseed = 18446744073709551615\n\n\
        [specification]\nthrow = 1.5000\n\n[specification.pin]\nsize = [1.8745, 1.8750]\n\n\
        [[reading]]\njournal = \"pin 1\"\nsize = 1.8730\n\n[[reading]]\njournal = \"pin 2\"\nsize = [1.8731, 1.8730]\n";

    #[test]
    fn a_document_comes_back_with_every_digit_that_was_typed() {
        let value = Value::from_text(SHEET).expect("well formed");
        assert_eq!(value.to_toml(), SHEET);
        let json = value.to_json();
        assert!(json.contains("\"size\":1.8730}"), "{json}");
        assert_eq!(Value::from_json(&json).expect("well formed").to_toml(), SHEET);
    }

    #[test]
    fn signs_and_separators_that_json_has_not_are_dropped_from_numbers() {
        let value = Value::from_text("a = +0.0010\nb = 1_000\nc = 0x10\nd = 1e3\ne = nan").expect("well formed");
        assert_eq!(value.to_json(), r#"{"a":0.0010,"b":1000,"c":16,"d":1e3,"e":"nan"}"#);
    }

    #[test]
    fn what_was_typed_is_a_number_only_where_json_says_so() {
        for (text, number) in
            [("2.4480", true), ("-0", true), ("1e-5", true), (".448", false), ("02", false), ("1.", false), ("", false)]
        {
            assert_eq!(matches!(Value::typed(text), Value::Number(_)), number, "{text}");
        }
    }

    #[test]
    fn odd_words_survive_both_notations() {
        let value = Value::table([("a b", Value::from("tab\t quote\" slash\\ line\n <script> \u{7f} é"))]);
        assert_eq!(Value::from_text(&value.to_toml()).expect("well formed"), value);
        assert_eq!(Value::from_text(&value.to_json()).expect("well formed"), value);
    }

    #[test]
    fn nonsense_is_refused_in_words() {
        for text in ["{", "{\"a\":1,\"a\":2}", "{\"a\":null}", "a = = 1", "\u{feff}x"] {
            assert!(Value::from_text(text).is_err(), "{text}");
        }
        let deep = format!("{{\"a\":{}1{}}}", "[".repeat(200), "]".repeat(200));
        let why = Value::from_text(&deep).expect_err("too deep");
        assert!(why.to_string().contains("16"), "{why}");
    }
}
