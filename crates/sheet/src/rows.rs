//! Rows from a CSV file, turned into the tables that a sheet would hold.

use csv::{ReaderBuilder, StringRecord, Trim};
use document::{Document, Place, Problems, Value};

use crate::Library;
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
    list: Vec<Document>,
}

/// A row of a CSV file, its cells under their headings.
struct Row {
    line: Option<usize>,
    cells: Vec<(String, Document)>,
}

impl Row {
    /// The table that a sheet would hold.
    fn into_table(self) -> Document {
        let line = self.line;
        Document::table(self.cells.into_iter().map(|(key, cell)| (key, line, cell)), line)
    }
}

impl Rows {
    /// The rows, each a table.
    pub(crate) fn into_values(self) -> impl Iterator<Item = Value> {
        self.list.into_iter().map(|row| row.value)
    }

    pub(crate) fn tables(&self) -> impl Iterator<Item = Table<'_>> {
        self.list.iter().map(|row| Table::row_of_file(&self.file, row))
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
    if !document::is_readable(file, &text, problems) {
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
            list.push(Row { line, cells: cells(&headers, &record, line) });
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
    let list = if single { gathered(list) } else { list.into_iter().map(Row::into_table).collect() };
    Some(Rows { file: file.to_owned(), list })
}

/// Names columns that are missing, unknown or there twice; whether the rows can be read.
fn columns(headers: &StringRecord, kind: Kind, place: Place<'_>, problems: &mut Problems) -> bool {
    let before = problems.len();
    for name in kind.needed.iter().filter(|name| !headers.iter().any(|h| h == **name)) {
        let found = format!("no column {name} among: {}", headers.iter().collect::<Vec<_>>().join(", "));
        problems.add(place, *name, found, format!("a column {name}"), format!("add the column {name}"));
    }
    let none = Document::table([], place.line);
    let mut heading = Table::row_of_file(place.file, &none);
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
fn cells(headers: &StringRecord, record: &StringRecord, line: Option<usize>) -> Vec<(String, Document)> {
    let filled = headers.iter().zip(record).filter(|(_, cell)| !cell.is_empty());
    filled.map(|(name, cell)| (name.to_owned(), value(name, cell, line))).collect()
}

/// A cell; several numbers in one are parted by blanks or semicolons.
fn value(column: &str, cell: &str, line: Option<usize>) -> Document {
    let lists = ["departures", "angles"].contains(&column) || (column == "size" && cell.contains(';'));
    let one = |cell: &str| {
        let is_number = cell.parse::<f64>().is_ok();
        Document::leaf(if is_number { Value::Number(cell.to_owned()) } else { Value::Text(cell.to_owned()) }, line)
    };
    if !lists {
        return one(cell);
    }
    Document::list(cell.split([' ', ';']).filter(|part| !part.is_empty()).map(one), line)
}

/// Rows of one departure each, gathered into traces: those that follow each other with the same other cells.
fn gathered(rows: Vec<Row>) -> Vec<Document> {
    let mut traces: Vec<Gathered> = Vec::new();
    for row in rows {
        let (mine, shared): (Vec<_>, Vec<_>) =
            row.cells.into_iter().partition(|(key, _)| ["angle", "departure"].contains(&key.as_str()));
        let label: Vec<String> = shared.iter().map(|(key, cell)| format!("{key}={}", cell.value.shown())).collect();
        let trace = match traces.pop() {
            Some(last) if last.label == label => last,
            before => {
                traces.extend(before);
                let shared = Row { line: row.line, cells: shared };
                Gathered { label, shared, angles: Vec::new(), departures: Vec::new() }
            }
        };
        traces.push(trace.with(mine));
    }
    traces.into_iter().map(Gathered::into_table).collect()
}

/// A trace that is being gathered.
struct Gathered {
    /// What its rows have in common, to compare.
    label: Vec<String>,
    /// What its rows have in common, from the first of them.
    shared: Row,
    angles: Vec<Document>,
    departures: Vec<Document>,
}

impl Gathered {
    fn with(mut self, cells: Vec<(String, Document)>) -> Gathered {
        for (key, cell) in cells {
            if key == "angle" { self.angles.push(cell) } else { self.departures.push(cell) }
        }
        self
    }

    fn into_table(self) -> Document {
        let mut row = self.shared;
        row.cells.push(("angles".to_owned(), Document::list(self.angles, row.line)));
        row.cells.push(("departures".to_owned(), Document::list(self.departures, row.line)));
        row.into_table()
    }
}
