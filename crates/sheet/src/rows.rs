//! Rows from a CSV file, turned into the tables that a sheet would hold.

use csv::{ReaderBuilder, StringRecord, Trim};

use crate::Library;
use crate::node::{Entry, Node, Value};
use crate::problem::{Place, Problems};
use crate::table::{Field, Table};

/// What the rows of a file are, and which columns they have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Kind {
    needed: &'static [&'static str],
    optional: &'static [&'static str],
}

/// Two-point diameters, one for each row.
pub(crate) const READINGS: Kind = Kind { needed: &["journal", "at", "plane", "size"], optional: &["with"] };
/// Run-outs, one for each row.
pub(crate) const RUN_OUTS: Kind = Kind { needed: &["journal", "total", "high"], optional: &[] };
/// Traces, one for each row.
const WHOLE_TRACES: Kind =
    Kind { needed: &["journal", "at", "size", "departures"], optional: &["start", "angles", "with", "size_with"] };
/// Traces, one departure for each row.
const SINGLE_DEPARTURES: Kind =
    Kind { needed: &["journal", "at", "size", "angle", "departure"], optional: &["with", "size_with"] };

/// A CSV file as rows of a sheet.
#[derive(Debug)]
pub(crate) struct Rows {
    file: String,
    list: Vec<Node>,
}

impl Rows {
    /// The rows, each a table.
    pub(crate) fn into_list(self) -> Vec<Node> {
        self.list
    }

    pub(crate) fn tables(&self) -> impl Iterator<Item = Table<'_>> {
        self.list.iter().filter_map(|row| match &row.value {
            Value::Table(entries) => Some(Table::row_of_file(&self.file, row.line, entries)),
            _ => None,
        })
    }
}

/// Reads the file that `field` names. `kind` is absent for traces, which come in two shapes.
pub(crate) fn rows(
    field: &Field<'_>,
    kind: Option<Kind>,
    most: usize,
    library: &dyn Library,
    problems: &mut Problems,
) -> Option<Rows> {
    let file = field.text(problems)?;
    let text = match library.text(file) {
        Ok(text) => text,
        Err(why) => {
            field.refuse(problems, "a file that can be read", why);
            return None;
        }
    };
    if !crate::node::is_readable(file, &text, problems) {
        return None;
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let written = |(_, line): &(usize, &str)| !line.trim().is_empty() && !line.starts_with('#');
    let (heading_line, heading) = (1..).zip(text.lines()).find(written).unwrap_or((1, ""));
    // Where the comma is the decimal sign, spreadsheets part columns with semicolons.
    let delimiter = if heading.contains(';') && !heading.contains(',') {
        b';'
    } else if heading.contains('\t') && !heading.contains(',') {
        b'\t'
    } else {
        b','
    };
    let mut reader = ReaderBuilder::new()
        .delimiter(delimiter)
        .comment(Some(b'#'))
        .flexible(true)
        .trim(Trim::All)
        .from_reader(text.as_bytes());
    let headers = match reader.headers() {
        Ok(headers) if headers.iter().any(|name| !name.is_empty()) => headers.clone(),
        _ => {
            let advice = "put the names of the columns into the first row";
            problems.add(Place { file, line: Some(1) }, "", "no heading", "a row of column names", advice);
            return None;
        }
    };
    let single = kind.is_none() && headers.iter().any(|name| name == "departure");
    let kind = kind.unwrap_or(if single { SINGLE_DEPARTURES } else { WHOLE_TRACES });
    let columns_known = columns(&headers, kind, Place { file, line: Some(heading_line) }, problems);
    let mut list = Vec::new();
    for record in reader.records() {
        let Ok(record) = record else { continue }; // the text is UTF-8 and rows of any length are taken
        let line = record.position().map(|p| p.line() as usize);
        let place = Place { file, line };
        if record.len() != headers.len() {
            let found = format!("{} cells", record.len());
            let expected = format!("{}, as in the heading", headers.len());
            problems.add(place, "", found, expected, "complete the row; put a cell with a comma in it in quotes");
        } else if columns_known {
            list.push(Node { line, value: Value::Table(entries(&headers, &record, line)) });
        }
        if list.len() > most {
            let advice = "for a journal swept all round use traces ([[trace]] or traces = \"…\")";
            problems.add(
                place,
                field.key.as_str(),
                format!("more than {most} rows"),
                format!("at most {most}"),
                advice,
            );
            return None;
        }
    }
    let mut list = if single { gathered(list) } else { list };
    if !columns_known {
        list.clear();
    }
    Some(Rows { file: file.to_owned(), list })
}

/// Names columns that are missing, unknown or there twice; whether the rows can be read.
fn columns(headers: &StringRecord, kind: Kind, place: Place<'_>, problems: &mut Problems) -> bool {
    let before = problems.len();
    for name in kind.needed.iter().filter(|name| !headers.iter().any(|h| h == **name)) {
        let found = format!("no column {name} among: {}", headers.iter().collect::<Vec<_>>().join(", "));
        problems.add(place, *name, found, format!("a column {name}"), format!("add the column {name}"));
    }
    let mut heading = Table::row_of_file(place.file, place.line, &[]);
    for name in kind.needed.iter().chain(kind.optional) {
        heading.take(name);
    }
    for (n, name) in headers.iter().enumerate() {
        if headers.iter().take(n).any(|earlier| earlier == name) {
            problems.add(place, name, "the column a second time", "each column once", "take one of them out");
        } else {
            heading.check_known("column", name, place.line, problems);
        }
    }
    problems.len() == before
}

/// The cells of a row under their headings; an empty cell is a key left out.
fn entries(headers: &StringRecord, record: &StringRecord, line: Option<usize>) -> Vec<Entry> {
    let cells = headers.iter().zip(record).filter(|(_, cell)| !cell.is_empty());
    cells
        .map(|(name, cell)| Entry { key: name.to_owned(), line, node: Node { line, value: value(name, cell, line) } })
        .collect()
}

/// A cell; several numbers in one are parted by blanks or semicolons.
fn value(column: &str, cell: &str, line: Option<usize>) -> Value {
    let lists = ["departures", "angles"].contains(&column) || (column == "size" && cell.contains(';'));
    if !lists {
        return one(cell);
    }
    let parts = cell.split([' ', ';']).filter(|part| !part.is_empty());
    Value::List(parts.map(|part| Node { line, value: one(part) }).collect())
}

fn one(cell: &str) -> Value {
    if cell.parse::<f64>().is_ok() { Value::Number(cell.to_owned()) } else { Value::Text(cell.to_owned()) }
}

/// Rows of one departure each, gathered into traces: those that follow each other with the same other cells.
fn gathered(rows: Vec<Node>) -> Vec<Node> {
    let mut traces: Vec<Node> = Vec::new();
    let mut last: Option<Vec<String>> = None;
    for row in rows {
        let Value::Table(entries) = row.value else { continue };
        let (mine, shared): (Vec<_>, Vec<_>) =
            entries.into_iter().partition(|e| ["angle", "departure"].contains(&&*e.key));
        let label = shared.iter().map(|e| format!("{}={}", e.key, e.node.value.shown())).collect();
        if last.as_ref() != Some(&label) {
            let list = |key: &str| Entry {
                key: key.to_owned(),
                line: row.line,
                node: Node { line: row.line, value: Value::List(Vec::new()) },
            };
            let entries = shared.into_iter().chain([list("angles"), list("departures")]).collect();
            traces.push(Node { line: row.line, value: Value::Table(entries) });
            last = Some(label);
        }
        let Some(Value::Table(trace)) = traces.last_mut().map(|t| &mut t.value) else { continue };
        for Entry { key, node, .. } in mine {
            let into = if key == "angle" { "angles" } else { "departures" };
            if let Some(Value::List(list)) =
                trace.iter_mut().find(|entry| entry.key == into).map(|entry| &mut entry.node.value)
            {
                list.push(node);
            }
        }
    }
    traces
}
