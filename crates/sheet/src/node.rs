//! A document as a tree of values that remember their lines and how their numbers were written.
//!
//! TOML, JSON and rows of CSV all become this, so that one reader serves them all.

use toml::de::{DeTable, DeValue};

use crate::problem::{Place, Problems, shortened};

/// The longest text that is read at all, in bytes; a crankshaft takes a few thousand.
pub const MOST_BYTES: usize = 8_000_000;

/// One value and the line it stands on.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) line: Option<usize>,
    pub(crate) value: Value,
}

#[derive(Clone, Debug)]
pub(crate) enum Value {
    Text(String),
    /// As it was written.
    Number(String),
    Truth(bool),
    Date(String),
    Null,
    List(Vec<Node>),
    Table(Vec<Entry>),
}

/// One key of a table.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub(crate) key: String,
    pub(crate) line: Option<usize>,
    pub(crate) node: Node,
}

impl Value {
    /// The value as a problem shows it.
    pub(crate) fn shown(&self) -> String {
        match self {
            Value::Text(text) => format!("\"{}\"", shortened(text)),
            Value::Number(text) | Value::Date(text) => text.clone(),
            Value::Truth(truth) => truth.to_string(),
            Value::Null => "null".to_owned(),
            Value::List(list) if list.is_empty() => "an empty list".to_owned(),
            Value::List(list) => format!("a list of {}", list.len()),
            Value::Table(_) => "a table".to_owned(),
        }
    }
}

/// Turns byte offsets into line numbers.
pub(crate) struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    pub(crate) fn of(text: &str) -> Lines {
        let after = text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1);
        Lines { starts: std::iter::once(0).chain(after).collect() }
    }

    pub(crate) fn at(&self, offset: usize) -> usize {
        self.starts.partition_point(|start| *start <= offset)
    }
}

/// The tree of a document, TOML or (starting with a brace) JSON. What is not well formed goes into `problems`; what
/// could be made out in spite of that is returned, or nothing where reading on would only produce nonsense.
pub(crate) fn tree(file: &str, text: &str, problems: &mut Problems) -> Option<Node> {
    if !is_readable(file, text, problems) {
        return None;
    }
    // A byte order mark, which some editors put in front.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim_start().starts_with('{') {
        return crate::json::tree(file, text, problems);
    }
    let lines = Lines::of(text);
    let (table, errors) = DeTable::parse_recoverable(text);
    let mut unclosed = false;
    for error in errors.iter() {
        let span = error.span();
        let line = span.as_ref().map(|s| lines.at(s.start));
        unclosed |= error.message().contains("unclosed");
        let source = line.and_then(|line| text.lines().nth(line - 1)).unwrap_or_default().trim();
        add_syntax_problem(Place { file, line }, error.message(), source, problems);
        if problems.len() >= 50 {
            break; // finding the line's text costs a walk through the file each time
        }
    }
    (!unclosed).then(|| Node { line: Some(1), value: table_value(table.get_ref(), &lines) })
}

/// Says what is wrong with a line that is not TOML, with what usually causes it.
fn add_syntax_problem(place: Place<'_>, message: &str, source: &str, problems: &mut Problems) {
    let (key, value) = source.split_once('=').map_or(("", ""), |(k, v)| (k.trim(), v.trim()));
    if message == "duplicate key" {
        let key = if key.is_empty() { source } else { key };
        let advice = "keep one of them; a second row of a table starts with its own [[…]] heading";
        problems.add(place, key, "the key a second time", "each key once", advice);
        return;
    }
    let number_like = |c: char| c.is_ascii_digit() || c == '.' || c == '-' || c == '+';
    let (expected, advice) = if value.starts_with(number_like) {
        let quoted = value.split('#').next().unwrap_or_default().trim();
        (
            "a number such as 1.8745".to_owned(),
            format!("start it with a digit and use a point, or put it in quotes: {key} = \"{}\"", shortened(quoted)),
        )
    } else if message.contains("string values must be quoted") {
        ("a value".to_owned(), "put words in double quotes".to_owned())
    } else if message.contains("unclosed") {
        (message.replace('`', "'"), "close it; what follows could not be read".to_owned())
    } else {
        (message.replace('`', "'"), "write key = value, or [table], or [[row]]".to_owned())
    };
    problems.add(place, key, format!("\"{}\"", shortened(source)), expected, advice);
}

/// Length and characters are looked at before anything else, so that a huge or binary file gets one plain answer.
pub(crate) fn is_readable(file: &str, text: &str, problems: &mut Problems) -> bool {
    if text.len() > MOST_BYTES {
        let found = format!("{:.1} MB", text.len() as f64 / 1e6);
        let advice = "check that this is the right file; a crankshaft takes a few kilobytes";
        problems.add(Place { file, line: None }, "", found, "at most 8 MB", advice);
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

fn table_value(table: &DeTable<'_>, lines: &Lines) -> Value {
    let mut keyed: Vec<_> = table.iter().collect();
    keyed.sort_by_key(|(key, _)| key.span().start); // the map sorts by name; people read from the top
    let entries = keyed.into_iter().map(|(key, value)| Entry {
        key: key.get_ref().to_string(),
        line: Some(lines.at(key.span().start)),
        node: node(value.get_ref(), lines.at(value.span().start), lines),
    });
    Value::Table(entries.collect())
}

fn node(value: &DeValue<'_>, line: usize, lines: &Lines) -> Node {
    let value = match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(number) if number.radix() == 10 => Value::Number(number.as_str().to_owned()),
        DeValue::Integer(number) => {
            let whole = i64::from_str_radix(number.as_str(), number.radix());
            whole.map_or_else(|_| Value::Text(number.to_string()), |n| Value::Number(n.to_string()))
        }
        DeValue::Float(number) => Value::Number(number.as_str().to_owned()),
        DeValue::Boolean(truth) => Value::Truth(*truth),
        DeValue::Datetime(date) => Value::Date(date.to_string()),
        DeValue::Array(list) => {
            Value::List(list.iter().map(|v| node(v.get_ref(), lines.at(v.span().start), lines)).collect())
        }
        DeValue::Table(table) => table_value(table, lines),
    };
    Node { line: Some(line), value }
}
