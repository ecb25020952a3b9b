//! A sheet with everything inside: the specification that it names and the rows of its CSV files.

use document::{Document, MOST_BYTES, Problem, Problems, Value};

use crate::Library;
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
    let document = crate::document_of(file, text, &mut problems);
    let whole = document.and_then(|document| gathered(file, document, library, &mut problems));
    match whole {
        Some(whole) if problems.is_empty() => Ok(whole.to_json()),
        _ => Err(problems.into_list()),
    }
}

fn gathered(file: &str, document: Document, library: &dyn Library, problems: &mut Problems) -> Option<Value> {
    let mut root = Table::root(file, &document, problems);
    let specification = root.take("specification").and_then(|field| book(&field, library, problems));
    let mut added: Vec<(&str, Vec<Value>)> = Vec::new();
    for (files, key, kind) in
        [("readings", "reading", Some(READINGS)), ("run_outs", "run_out", Some(RUN_OUTS)), ("traces", "trace", None)]
    {
        let mut list = Vec::new();
        for field in root.take(files).iter().flat_map(Field::items) {
            list.extend(rows(&field, kind, MOST_ROWS, library, problems)?.into_values());
        }
        added.push((key, list));
    }
    let mut whole = document.value;
    for files in ["readings", "run_outs", "traces"] {
        let _ = whole.take(files);
    }
    if let Some(book) = specification {
        whole.set("specification", book);
    }
    for (key, list) in added.into_iter().filter(|(_, list)| !list.is_empty()) {
        let there: &[Value] = match whole.get(key) {
            Some(Value::List(there)) => there,
            // One row written with single brackets.
            Some(one) => std::slice::from_ref(one),
            None => &[],
        };
        let all = there.iter().cloned().chain(list).collect();
        whole.set(key, Value::List(all));
    }
    Some(whole)
}

/// The specification that stands in another file.
fn book(field: &Field<'_>, library: &dyn Library, problems: &mut Problems) -> Option<Value> {
    let Value::Text(name) = field.node.value else { return None };
    match library.text(name.trim()) {
        Ok(text) if text.len() <= MOST_BYTES => crate::document_of(name.trim(), &text, problems).map(|book| book.value),
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
