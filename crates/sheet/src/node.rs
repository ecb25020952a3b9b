//! A document as a tree of values that remember their lines and how their numbers were written.
//!
//! TOML, JSON and rows of CSV all become this, so that one reader serves them all.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::problem::{Place, Problems, shortened};

/// The longest text that is read at all, in bytes; a crankshaft takes a few thousand.
pub const MOST_BYTES: usize = 8_000_000;

/// The longest text of which every error is looked for, rather than the first alone.
const MOST_BYTES_MENDED: usize = 1_000_000;

/// A sheet needs six levels.
pub(crate) const MOST_LEVELS: usize = 16;

/// Stack for the TOML reader. It stops at 80 brackets and at 80 parts of a key, so that values nest 6,500 deep at most;
/// 8 MB were found to be just enough for that.
const STACK_BYTES: usize = 64 << 20;

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

    fn line<'t>(&self, text: &'t str, line: usize) -> &'t str {
        let start = line.checked_sub(1).and_then(|index| self.starts.get(index)).copied().unwrap_or_default();
        text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or_default().trim()
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
    if text.trim().is_empty() {
        let advice =
            "begin with sheet = 1, or with specification = 1 for a book's figures; docs/sheet.md has both to copy";
        problems.add(Place { file, line: Some(1) }, "", "an empty file", "a document", advice);
        return None;
    }
    if text.trim_start().starts_with('{') {
        return crate::json::tree(file, text, problems);
    }
    // Dotted keys within inline tables nest thousands deep, and taking such a value apart needs a stack to match,
    // which the caller's thread may not have.
    std::thread::scope(|scope| {
        let worker = std::thread::Builder::new().stack_size(STACK_BYTES).spawn_scoped(scope, || toml_tree(file, text));
        match worker.map(|worker| worker.join()) {
            Ok(Ok((node, found))) => {
                problems.append(found);
                node
            }
            _ => {
                let advice = "write the document anew, in the forms of docs/sheet.md";
                problems.add(Place { file, line: None }, "", "a text that stops the reader", "TOML", advice);
                None
            }
        }
    })
}

fn toml_tree(file: &str, text: &str) -> (Option<Node>, Problems) {
    let mut problems = Problems::default();
    let lines = Lines::of(text);
    let mut errors = Vec::new();
    let table = match DeTable::parse(text) {
        Ok(table) => table,
        // Every error costs memory, so in a long file only the first is looked at.
        Err(first) if text.len() > MOST_BYTES_MENDED => {
            errors.push(first);
            Spanned::new(0..0, DeTable::new())
        }
        Err(_) => {
            let (table, all) = DeTable::parse_recoverable(text);
            errors = all;
            table
        }
    };
    let mut line_before = 0;
    for error in &errors {
        let line = error.span().map_or(1, |span| lines.at(span.start));
        // One slip in a line often makes several errors.
        if line != line_before {
            let place = Place { file, line: Some(line) };
            add_syntax_problem(place, error.message(), lines.line(text, line), &mut problems);
        }
        line_before = line;
    }
    let lost = text.len() > MOST_BYTES_MENDED && !errors.is_empty();
    let unclosed = errors.iter().any(|error| error.message().contains("unclosed"));
    if lost || unclosed {
        return (None, problems);
    }
    let mut builder = Builder { file, lines: &lines, problems: &mut problems };
    let node = Node { line: Some(1), value: builder.table(table.get_ref(), 0) };
    (Some(node), problems)
}

/// Says what is wrong with a line that is not TOML, with what usually causes it.
fn add_syntax_problem(place: Place<'_>, message: &str, source: &str, problems: &mut Problems) {
    let (what, expected) = message.split_once(", expected ").unwrap_or((message, "well-formed TOML"));
    let (key, value) = match source.split_once('=') {
        // Inside a list of tables on one line there is no telling which key it was.
        Some((key, value)) if !key.trim_start().starts_with('{') => (key.trim(), value.trim()),
        _ => ("", ""),
    };
    if what == "duplicate key" {
        let key = if key.is_empty() { source } else { key };
        let advice = if source.starts_with("[[") {
            "put the row into the list that already has this name, or begin every row with such a heading"
        } else {
            "keep one of them; a second row of a table starts with its own [[…]] heading"
        };
        problems.add(place, key, "the key a second time", "each key once", advice);
        return;
    }
    let found = format!("\"{}\" ({what})", shortened(source));
    let expected = expected.replace('`', "'");
    let number_like = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+');
    if has_decimal_comma(source) {
        let advice = "use a point, or put a number with a comma in quotes: \"1,8745\"";
        problems.add(place, key, found, "a number such as 1.8745", advice);
    } else if value.starts_with(number_like) {
        let bare = value.split('#').next().unwrap_or_default().trim();
        let advice = format!("write 0 before the point; put a fraction in quotes: {key} = \"{}\"", shortened(bare));
        problems.add(place, key, found, "a number such as 1.8745", advice);
    } else if what.contains("string values must be quoted") {
        problems.add(place, key, found, "a value", "put words in double quotes; a key needs a value");
    } else if what.contains("unclosed") {
        problems.add(place, key, found, expected, "close it; what follows could not be read");
    } else {
        problems.add(place, key, found, expected, "write key = value, or [table], or [[row]]");
    }
}

/// Whether a value that is not in quotes or brackets looks like 1,8745.
fn has_decimal_comma(source: &str) -> bool {
    source.split('=').skip(1).any(|value| {
        let rest = value.trim_start().trim_start_matches(|c: char| c.is_ascii_digit());
        rest.len() < value.trim_start().len()
            && rest.strip_prefix(',').is_some_and(|tail| tail.starts_with(|c: char| c.is_ascii_digit()))
    })
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

/// Makes nodes of what the TOML reader found.
struct Builder<'a> {
    file: &'a str,
    lines: &'a Lines,
    problems: &'a mut Problems,
}

impl Builder<'_> {
    fn table(&mut self, table: &DeTable<'_>, level: usize) -> Value {
        let mut keyed: Vec<_> = table.iter().collect();
        keyed.sort_by_key(|(key, _)| key.span().start); // the map sorts by name; people read from the top
        let entries = keyed.into_iter().map(|(key, value)| Entry {
            key: key.get_ref().to_string(),
            line: Some(self.lines.at(key.span().start)),
            node: self.node(value, level + 1),
        });
        Value::Table(entries.collect())
    }

    fn node(&mut self, value: &Spanned<DeValue<'_>>, level: usize) -> Node {
        let line = Some(self.lines.at(value.span().start));
        let value = match value.get_ref() {
            DeValue::String(text) => Value::Text(text.to_string()),
            DeValue::Integer(number) if number.radix() == 10 => Value::Number(number.as_str().to_owned()),
            DeValue::Integer(number) => {
                let whole = i64::from_str_radix(number.as_str(), number.radix());
                whole.map_or_else(|_| Value::Text(number.to_string()), |n| Value::Number(n.to_string()))
            }
            DeValue::Float(number) => Value::Number(number.as_str().to_owned()),
            DeValue::Boolean(truth) => Value::Truth(*truth),
            DeValue::Datetime(date) => Value::Date(date.to_string()),
            DeValue::Array(_) | DeValue::Table(_) if level > MOST_LEVELS => {
                add_too_deep(Place { file: self.file, line }, self.problems);
                Value::Null
            }
            DeValue::Array(list) => Value::List(list.iter().map(|item| self.node(item, level + 1)).collect()),
            DeValue::Table(table) => self.table(table, level),
        };
        Node { line, value }
    }
}

/// Puts down that values stand within values within values.
pub(crate) fn add_too_deep(place: Place<'_>, problems: &mut Problems) {
    let found = "values within values within values";
    problems.add(place, "", found, format!("at most {MOST_LEVELS} levels"), "take the value out of its brackets");
}
