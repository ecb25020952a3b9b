//! Reading TOML.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::Value;
use crate::lines::{Document, Starts};
use crate::problem::{Place, Problems, shortened};
use crate::read::{MOST_LEVELS, add_too_deep};

/// The longest text of which every error is looked for, rather than the first alone.
const MOST_BYTES_MENDED: usize = 1_000_000;

/// Stack for the TOML reader. It stops at 80 brackets and at 80 parts of a key, so that values nest 6,500 deep at most;
/// 8 MB were found to be just enough for that.
const STACK_BYTES: usize = 64 << 20;

/// The document in a text.
pub(crate) fn document(file: &str, text: &str, problems: &mut Problems) -> Option<Document> {
    // Dotted keys within inline tables nest thousands deep, and taking such a value apart needs a stack to match,
    // which the caller's thread may not have.
    std::thread::scope(|scope| {
        let worker = std::thread::Builder::new().stack_size(STACK_BYTES).spawn_scoped(scope, || tables(file, text));
        match worker.map(|worker| worker.join()) {
            Ok(Ok((document, found))) => {
                problems.append(found);
                document
            }
            _ => {
                let advice = "write the document anew, in the forms of docs/sheet.md";
                problems.add(Place { file, line: None }, "", "a text that stops the reader", "TOML", advice);
                None
            }
        }
    })
}

fn tables(file: &str, text: &str) -> (Option<Document>, Problems) {
    let mut problems = Problems::default();
    let starts = Starts::of(text);
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
    let mut line_before = None;
    for error in &errors {
        let line = error.span().map_or(Some(1), |span| starts.at(span.start));
        // One slip in a line often makes several errors.
        if line != line_before {
            let place = Place { file, line };
            add_syntax_problem(place, error.message(), starts.line(text, line), &mut problems);
        }
        line_before = line;
    }
    let lost = text.len() > MOST_BYTES_MENDED && !errors.is_empty();
    let unclosed = errors.iter().any(|error| error.message().contains("unclosed"));
    if lost || unclosed {
        return (None, problems);
    }
    let mut builder = Builder { file, starts: &starts, problems: &mut problems };
    let document = builder.table(table.get_ref(), 0, Some(1));
    (Some(document), problems)
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

/// Puts a document together from what the TOML reader found.
struct Builder<'a> {
    file: &'a str,
    starts: &'a Starts,
    problems: &'a mut Problems,
}

impl Builder<'_> {
    fn table(&mut self, table: &DeTable<'_>, level: usize, line: Option<usize>) -> Document {
        let mut keyed: Vec<_> = table.iter().collect();
        keyed.sort_by_key(|(key, _)| key.span().start); // the map sorts by name; people read from the top
        let entries = keyed.into_iter().filter_map(|(key, value)| {
            let node = self.node(value, level + 1)?;
            Some((key.get_ref().to_string(), self.starts.at(key.span().start), node))
        });
        Document::table(entries.collect::<Vec<_>>(), line)
    }

    fn node(&mut self, value: &Spanned<DeValue<'_>>, level: usize) -> Option<Document> {
        let line = self.starts.at(value.span().start);
        if level > MOST_LEVELS {
            add_too_deep(Place { file: self.file, line }, self.problems);
            return None;
        }
        let leaf = match value.get_ref() {
            DeValue::String(text) => Value::Text(text.to_string()),
            DeValue::Integer(number) if number.radix() == 10 => Value::Number(number.as_str().to_owned()),
            DeValue::Integer(number) => {
                let whole = i64::from_str_radix(&number.as_str().replace('_', ""), number.radix());
                whole.map_or_else(|_| Value::Text(number.to_string()), |n| Value::Number(n.to_string()))
            }
            DeValue::Float(number) => Value::Number(number.as_str().to_owned()),
            DeValue::Boolean(truth) => Value::Truth(*truth),
            DeValue::Datetime(date) => Value::Bare(date.to_string()),
            DeValue::Array(list) => {
                let items: Vec<Document> = list.iter().filter_map(|item| self.node(item, level + 1)).collect();
                return Some(Document::list(items, line));
            }
            DeValue::Table(table) => return Some(self.table(table, level, line)),
        };
        Some(Document::leaf(leaf, line))
    }
}
