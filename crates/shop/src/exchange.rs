//! Sheets in and out of the record.

use document::Value;

use crate::fold::{Job, SheetRow, Standing, fold};
use crate::kinds::row_kinds;
use crate::log::{BookedIn, Draft, EntryId, EntryKind, Row, Source};
use crate::stage::Stage;

/// Keys that name files with rows; what is brought in must hold the rows themselves.
const FILE_KEYS: [&str; 3] = ["readings", "run_outs", "traces"];

/// Why a sheet cannot be brought in.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotBroughtIn {
    /// Its rows stand in another file.
    #[error("the rows of the sheet stand in another file ({key}); put them into the sheet first")]
    RowsElsewhere {
        /// The key that names the file.
        key: String,
    },
    /// What should be a table or a list of tables is none.
    #[error("{key} holds something else than rows")]
    NoRows {
        /// The key.
        key: String,
    },
}

/// The lines that bring a sheet into the record as a new job: booking in, the instruments, then every row in the order
/// of the sheet. `specification` takes the place of a name, so that the job stays whole whatever happens to the file.
///
/// # Errors
/// [`NotBroughtIn`]. Whether the sheet makes sense is for the reader of sheets to say, before this.
pub fn brought_in(
    sheet: Value,
    specification: Option<Value>,
    who: &str,
    when: &str,
    mut fresh: impl FnMut() -> EntryId,
) -> Result<Vec<Draft>, NotBroughtIn> {
    let mut sheet = sheet;
    if let Some((key, _)) = sheet.pairs().iter().find(|(key, _)| FILE_KEYS.contains(&key.as_str())) {
        return Err(NotBroughtIn::RowsElsewhere { key: key.clone() });
    }
    if let Some(specification) = specification {
        sheet.set("specification", specification);
    }
    // The version is the entries' own.
    let _ = sheet.take("sheet");
    let mark = sheet.take("mark");
    let instruments = rows(&mut sheet, "instrument")?;
    let mut kinds = Vec::new();
    for row in instruments {
        kinds.push(EntryKind::Instrument { row });
    }
    for (key, kind) in row_kinds() {
        for row in rows(&mut sheet, key)? {
            let row = Row { row, source: Source::Sheet, typed: None };
            kinds.push((kind.entry)(row));
        }
    }
    let crank = match sheet.get("specification") {
        Some(table @ Value::Table(_)) => table.words("name"),
        _ => sheet.words("specification"),
    };
    let booked = EntryKind::BookedIn(BookedIn {
        mark: mark.as_ref().and_then(Value::as_typed).unwrap_or_default().to_owned(),
        customer: String::new(),
        telephone: String::new(),
        crank: crank.unwrap_or_default().to_owned(),
        promised: None,
        sheet,
        example: false,
    });
    Ok(std::iter::once(booked).chain(kinds).map(|kind| Draft::new(fresh(), who, when, kind)).collect())
}

/// A sheet that is in no record as a job: what stands in it and nothing more. Nobody did anything to it, so it has no log,
/// no number and no times.
///
/// # Errors
/// [`NotBroughtIn`], as for one that is brought into the record.
pub fn unrecorded(sheet: Value) -> Result<Job, NotBroughtIn> {
    let mut names = 0;
    let drafts = brought_in(sheet.clone(), None, "", "", || {
        names += 1;
        EntryId::from_bits(names)
    })?;
    let mut job = fold(&[]);
    for draft in drafts {
        if let EntryKind::BookedIn(booked) = draft.kind {
            job.booked_in = booked;
        } else if let Some((kind, row)) = draft.kind.sheet_row() {
            job.stage = Stage::Measuring;
            job.rows.push(SheetRow {
                first: draft.id,
                entry: draft.id,
                seq: 0,
                key: kind.name,
                row: row.row.clone(),
                source: row.source,
                who: String::new(),
                when: String::new(),
                standing: Standing::Counts,
                again: Vec::new(),
                compared_with: Vec::new(),
            });
        }
    }
    job.document = sheet;
    job.document.set("sheet", Value::from(1));
    Ok(job)
}

fn rows(sheet: &mut Value, key: &str) -> Result<Vec<Value>, NotBroughtIn> {
    match sheet.take(key) {
        None => Ok(Vec::new()),
        Some(Value::List(rows)) => Ok(rows),
        Some(_) => Err(NotBroughtIn::NoRows { key: key.to_owned() }),
    }
}

/// The sheet of a job as TOML: judged from a file it gives the same answer as judged from the record.
pub fn exported(job: &Job) -> String {
    job.document.to_toml()
}
