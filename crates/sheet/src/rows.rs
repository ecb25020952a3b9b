//! Rows from a CSV file, turned into the tables that a sheet would hold.

use csv::{ReaderBuilder, StringRecord, Trim};
use document::{Document, Place, Problems, Value};

use crate::Library;
use crate::table::{Field, Table};

/// What the rows of a file are, and which columns they have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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
    // What some spreadsheets write above the heading: which sign parts the columns. It keeps its line, as a remark.
    let told =
        text.lines().next().and_then(|first| first.trim().to_lowercase().strip_prefix("sep=").map(str::to_owned));
    let without_it = told.as_ref().map(|_| format!("#{text}"));
    let text = without_it.as_deref().unwrap_or(text);
    let written = |(_, line): &(usize, &str)| !line.trim().is_empty() && !line.starts_with('#');
    let (heading_line, heading) = (1..).zip(text.lines()).find(written).unwrap_or((1, ""));
    let told = told.and_then(|sign| sign.bytes().next()).filter(|sign| [b',', b';', b'\t'].contains(sign));
    let delimiter = told.unwrap_or_else(|| parted_by(heading));
    let mut reader = ReaderBuilder::new()
        .delimiter(delimiter)
        .comment(Some(b'#'))
        .flexible(true)
        .trim(Trim::All)
        .from_reader(text.as_bytes());
    let all_headers = match reader.headers() {
        Ok(headers) if headers.iter().any(|name| !name.is_empty()) => headers.clone(),
        _ => {
            let advice = "put the names of the columns into the first row";
            problems.add(Place { file, line: Some(1) }, "", "no heading", "a row of column names", advice);
            return None;
        }
    };
    let kept = Kept::of(&all_headers);
    let headers = kept.headers(&all_headers);
    let heading_place = Place { file, line: Some(heading_line) };
    let grid = if kind == Some(READINGS) { Grid::of(&headers, heading_place, problems) } else { None };
    let single = kind.is_none() && headers.iter().any(|name| name == "departure");
    let kind = kind.unwrap_or(if single { SINGLE_DEPARTURES } else { WHOLE_TRACES });
    let columns_known = match &grid {
        Some(grid) => grid.is_known,
        None => columns(&headers, kind, heading_place, problems),
    };
    let mut list = Vec::new();
    for record in reader.records() {
        let Ok(record) = record else { continue }; // the text is UTF-8 and rows of any length are taken
        let line = record.position().map(|p| p.line() as usize);
        let place = Place { file, line };
        if !kept.is_whole(&record) {
            let found = format!("{} cells", record.len());
            let expected = format!("{}, as in the heading", kept.wide);
            problems.add(place, "", found, expected, "complete the row; put a cell with a comma in it in quotes");
            continue;
        }
        let record = kept.record(&record);
        match &grid {
            _ if !columns_known || record.iter().all(str::is_empty) => {}
            Some(grid) => list.extend(grid.rows(&record, line)),
            None => list.push(Row { line, cells: cells(&headers, &record, line) }),
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

/// The sign that parts the columns: the commonest outside quotes. Where the comma is the decimal sign, spreadsheets part columns
/// with semicolons, and a name of a column may have a comma in it.
fn parted_by(heading: &str) -> u8 {
    let outside: String = heading.split('"').step_by(2).collect();
    let count = |sign: char| outside.matches(sign).count();
    [(';', b';'), ('\t', b'\t'), (',', b',')].into_iter().max_by_key(|(sign, _)| (count(*sign), *sign != ',')).map_or(
        b',',
        |best| {
            if count(best.0) == 0 { b',' } else { best.1 }
        },
    )
}

/// Columns that hold words for people, in any kind of file.
const REMARKS: [&str; 6] = ["remark", "remarks", "note", "notes", "comment", "comments"];

/// The columns that count: those with a heading that are no remarks. Spreadsheets save empty ones behind them.
struct Kept {
    /// Up to the last column that has a heading.
    wide: usize,
    columns: Vec<usize>,
}

impl Kept {
    fn of(headers: &StringRecord) -> Kept {
        let wide =
            headers.iter().enumerate().filter(|(_, name)| !name.is_empty()).last().map_or(0, |(last, _)| last + 1);
        let is_remark = |name: &str| REMARKS.contains(&name.to_lowercase().as_str());
        let columns = headers.iter().take(wide).enumerate().filter(|(_, name)| !is_remark(name)).map(|(n, _)| n);
        Kept { wide, columns: columns.collect() }
    }

    /// The names of the columns that count, in small letters.
    fn headers(&self, headers: &StringRecord) -> StringRecord {
        self.record(headers).iter().map(str::to_lowercase).collect()
    }

    fn record(&self, record: &StringRecord) -> StringRecord {
        self.columns.iter().map(|&n| record.get(n).unwrap_or_default()).collect()
    }

    /// Whether a row has a cell for each heading, and nothing beyond them.
    fn is_whole(&self, record: &StringRecord) -> bool {
        record.len() >= self.wide && record.iter().skip(self.wide).all(str::is_empty)
    }
}

/// A table as the measuring form has it: a line for each journal, a column for each spot.
struct Grid {
    /// Where the name of the journal stands, and the micrometer where there is such a column.
    journal: usize,
    with: Option<usize>,
    /// Of each other column: where it is, the place along the journal, the direction across.
    spots: Vec<(usize, &'static str, String)>,
    /// Whether every column is known.
    is_known: bool,
}

impl Grid {
    /// Nothing where the columns are those of one reading a row.
    fn of(headers: &StringRecord, place: Place<'_>, problems: &mut Problems) -> Option<Grid> {
        let spots: Vec<_> =
            headers.iter().enumerate().filter_map(|(n, name)| spot(name).map(|(at, plane)| (n, at, plane))).collect();
        let one_a_row = ["at", "plane", "size"].iter().any(|key| headers.iter().any(|name| name == *key));
        if spots.is_empty() || one_a_row {
            return None;
        }
        let before = problems.len();
        let column = |key: &str| headers.iter().position(|name| name == key);
        let (journal, with) = (column("journal"), column("with").or_else(|| column("micrometer")));
        if journal.is_none() {
            let found = format!("no column journal among: {}", headers.iter().collect::<Vec<_>>().join(", "));
            problems.add(place, "journal", found, "a column journal", "name the column of the journals journal");
        }
        for (n, name) in headers.iter().enumerate() {
            let same = |(m, at, plane): &&(usize, &str, String)| {
                *m < n && spots.iter().any(|(own, a, p)| *own == n && a == at && p == plane)
            };
            if Some(n) == journal || Some(n) == with {
                continue;
            }
            if spots.iter().any(|(m, ..)| *m == n) {
                if spots.iter().find(same).is_some() {
                    problems.add(
                        place,
                        name,
                        "the spot a second time",
                        "each spot once",
                        "several sizes of one spot stand in one cell, parted by semicolons",
                    );
                }
                continue;
            }
            let expected = "journal, with, remarks, or a spot: front A, middle B, rear 45";
            problems.add(
                place,
                name,
                format!("an unknown column \"{name}\""),
                expected,
                "take it out, or name it remarks",
            );
        }
        Some(Grid { journal: journal.unwrap_or(0), with, spots, is_known: problems.len() == before })
    }

    /// One row for each size. A line without a size, such as one that parts mains from pins, has none.
    fn rows(&self, record: &StringRecord, line: Option<usize>) -> Vec<Row> {
        let cell = |n: usize| record.get(n).unwrap_or_default();
        let text = |words: &str| Document::leaf(Value::Text(words.to_owned()), line);
        let sizes = self.spots.iter().filter(|(n, ..)| !cell(*n).is_empty());
        let row = |(n, at, plane): &(usize, &'static str, String)| {
            let mut cells = vec![
                ("journal".to_owned(), text(cell(self.journal))),
                ("at".to_owned(), text(at)),
                ("plane".to_owned(), value("plane", plane, line)),
                ("size".to_owned(), value("size", cell(*n), line)),
            ];
            let with = self.with.map(cell).filter(|with| !with.is_empty());
            cells.extend(with.map(|with| ("with".to_owned(), text(with))));
            Row { line, cells }
        };
        sizes.map(row).collect()
    }
}

/// The spot that the heading of a column names: `front, across A`, `middle B`, `rear 45°`. A is in line with the throw, B square to
/// it.
fn spot(name: &str) -> Option<(&'static str, String)> {
    let plain = name.to_lowercase().replace([',', ';', ':', '°', '(', ')', '/', '-'], " ");
    let (mut at, mut plane) = (None, None);
    for word in plain.split_whitespace() {
        match word {
            "front" | "middle" | "rear" if at.is_some() => return None,
            "front" => at = Some("front"),
            "middle" | "mid" | "centre" | "center" => at = Some("middle"),
            "rear" => at = Some("rear"),
            "across" | "plane" | "deg" | "degrees" | "at" => {}
            _ if plane.is_some() => return None,
            "a" => plane = Some("0".to_owned()),
            "b" => plane = Some("90".to_owned()),
            degrees if degrees.parse::<f64>().is_ok_and(f64::is_finite) => plane = Some(degrees.to_owned()),
            _ => return None,
        }
    }
    Some((at?, plane?))
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
    // People write the sign of degrees, and spreadsheets keep it.
    let cell = if ["plane", "high", "angle", "start"].contains(&column) {
        cell.trim_end_matches('°').trim_end()
    } else {
        cell
    };
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
