//! A sheet with everything inside: the specification that it names and the rows of its CSV files.

use serde_json::value::RawValue;

use crate::Library;
use crate::node::{self, Entry, MOST_BYTES, Node, Value};
use crate::problem::{Problem, Problems};
use crate::rows::{READINGS, RUN_OUTS, rows};
use crate::table::{Field, Table};

/// More rows than one file may bring, of any kind.
const MOST_ROWS: usize = 200_000;

/// The sheet as one JSON document that needs no other file and is answered exactly as the sheet is: the specification
/// stands in it as a table, the rows of CSV files after those that stand in the sheet itself, and every number has the
/// digits that were typed.
///
/// # Errors
/// What keeps the files from being read. Whether the sheet makes sense is for [`crate::read_sheet`] to say, before this.
pub fn whole_sheet(file: &str, text: &str, library: &dyn Library) -> Result<String, Vec<Problem>> {
    let mut problems = Problems::default();
    let whole = node::tree(file, text, &mut problems).and_then(|node| gathered(file, node, library, &mut problems));
    match whole {
        Some(whole) if problems.is_empty() => Ok(whole),
        _ => Err(problems.into_list()),
    }
}

fn gathered(file: &str, node: Node, library: &dyn Library, problems: &mut Problems) -> Option<String> {
    let mut root = Table::root(file, &node, problems);
    let specification = root.take("specification").and_then(|field| book(&field, library, problems));
    let mut added: Vec<(&str, Vec<Node>)> = Vec::new();
    for (files, key, kind) in
        [("readings", "reading", Some(READINGS)), ("run_outs", "run_out", Some(RUN_OUTS)), ("traces", "trace", None)]
    {
        let mut list = Vec::new();
        for field in root.take(files).iter().flat_map(Field::items) {
            list.extend(rows(&field, kind, MOST_ROWS, library, problems)?.into_list());
        }
        added.push((key, list));
    }
    let Value::Table(entries) = node.value else { return None };
    let mut entries: Vec<Entry> =
        entries.into_iter().filter(|e| !["readings", "run_outs", "traces"].contains(&e.key.as_str())).collect();
    if let (Some(book), Some(entry)) = (specification, entries.iter_mut().find(|e| e.key == "specification")) {
        entry.node = book;
    }
    for (key, mut list) in added.into_iter().filter(|(_, list)| !list.is_empty()) {
        match entries.iter_mut().find(|entry| entry.key == key).map(|entry| &mut entry.node) {
            Some(Node { value: Value::List(there), .. }) => there.append(&mut list),
            // One row written with single brackets.
            Some(there) => {
                let first = there.clone();
                there.value = Value::List(std::iter::once(first).chain(list).collect());
            }
            None => entries.push(Entry {
                key: key.to_owned(),
                line: None,
                node: Node { line: None, value: Value::List(list) },
            }),
        }
    }
    let mut json = String::new();
    write(&mut json, &Value::Table(entries));
    Some(json)
}

/// The specification that stands in another file.
fn book(field: &Field<'_>, library: &dyn Library, problems: &mut Problems) -> Option<Node> {
    let Value::Text(name) = &field.node.value else { return None };
    match library.text(name.trim()) {
        Ok(text) if text.len() <= MOST_BYTES => node::tree(name.trim(), &text, problems),
        Ok(_) => {
            field.refuse(problems, "a specification", "it is too long; check that this is the right file");
            None
        }
        Err(why) => {
            field.refuse(problems, "a specification that can be read", why);
            None
        }
    }
}

fn write(json: &mut String, value: &Value) {
    match value {
        Value::Text(text) | Value::Date(text) => json.push_str(&quoted(text)),
        Value::Number(typed) => json.push_str(&number(typed)),
        Value::Truth(truth) => json.push_str(if *truth { "true" } else { "false" }),
        Value::Null => json.push_str("null"),
        Value::List(items) => {
            json.push('[');
            for (n, item) in items.iter().enumerate() {
                json.push_str(if n == 0 { "" } else { "," });
                write(json, &item.value);
            }
            json.push(']');
        }
        Value::Table(entries) => {
            json.push('{');
            for (n, entry) in entries.iter().enumerate() {
                json.push_str(if n == 0 { "" } else { "," });
                json.push_str(&quoted(&entry.key));
                json.push(':');
                write(json, &entry.node.value);
            }
            json.push('}');
        }
    }
}

fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// A number as JSON writes it, with the digits that were typed wherever JSON has such a number.
fn number(typed: &str) -> String {
    let plain = typed.replace('_', "");
    let plain = plain.strip_prefix('+').unwrap_or(&plain);
    if serde_json::from_str::<&RawValue>(plain).is_ok() {
        return plain.to_owned();
    }
    match plain.parse::<f64>() {
        Ok(number) if number.is_finite() => number.to_string(),
        // Not a number: the reader refuses the words as it refused the number.
        _ => quoted(plain),
    }
}
