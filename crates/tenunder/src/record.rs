//! The shop's record from the command line: sheets in and out, the list of jobs, backup, restore, verify.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use shop::{Store, StoreError, Value, Wanted, brought_in, exported, fresh_id, now};

use crate::files::{self, Beside};
use crate::{AT_FAULT, FAILED, complain, report_problems, say};

/// Where the record is when nobody says.
pub(crate) const USUAL: &str = "shop.tenunder";

/// What to do with the record.
pub(crate) enum Task {
    Import { sheet: PathBuf, who: String },
    Export { job: i64 },
    Jobs { search: String },
    Backup { file: PathBuf },
    Restore { file: PathBuf },
    Verify,
}

/// Does it, with the record in a file or on a PostgreSQL server.
pub(crate) fn run(place: Option<String>, task: Task) -> u8 {
    let place = place.unwrap_or_else(|| USUAL.to_owned());
    let runtime = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
        Ok(runtime) => runtime,
        Err(error) => {
            complain(&format!("tenunder: {error}\n"));
            return FAILED;
        }
    };
    match runtime.block_on(act(&place, task)) {
        Ok(done) => done,
        Err(error) => {
            complain(&format!("tenunder: {error}\n"));
            if matches!(error, StoreError::Fault { .. }) { FAILED } else { AT_FAULT }
        }
    }
}

async fn act(place: &str, task: Task) -> Result<u8, StoreError> {
    // A sheet is read before the record is opened: where it is at fault, nothing is made or written.
    let drafts = match &task {
        Task::Import { sheet, who } => match drafts(sheet, who)? {
            Ok(drafts) => drafts,
            Err(done) => return Ok(done),
        },
        _ => Vec::new(),
    };
    let makes = matches!(task, Task::Import { .. } | Task::Restore { .. });
    if !makes && !place.contains("://") && !Path::new(place).exists() {
        let detail = "there is no such file".to_owned();
        return Err(StoreError::CannotOpen { place: place.to_owned(), detail });
    }
    let store = Store::open(place).await?;
    let done = match task {
        Task::Import { .. } => {
            let booked = store.book_in(&drafts).await?;
            say(&format!("Booked in as job {} with {} entries, in {}.\n", booked.job, booked.seq, store.place()))
        }
        Task::Export { job } => say(&exported(&store.job(job).await?)),
        Task::Jobs { search } => say(&list(&store, search).await?),
        Task::Backup { file } => {
            let saved = store.backup(&file).await?;
            say(&format!("{} jobs, {} entries saved to {}.\n", saved.jobs, saved.entries, file.display()))
        }
        Task::Restore { file } => {
            let back = store.restore(&file).await?;
            say(&format!("{} jobs, {} entries are back, in {}.\n", back.jobs, back.entries, store.place()))
        }
        Task::Verify => verify(&store).await?,
    };
    store.close().await;
    Ok(done)
}

/// A sheet from a file with all that stands in files beside it, or the exit code where it is at fault.
pub(crate) fn whole_sheet(path: &Path) -> Result<Value, u8> {
    let text = files::read_text(path).map_err(|problem| report_problems(&[*problem]))?;
    let beside = Beside { folder: path.parent().map(Path::to_owned) };
    let name = path.display().to_string();
    sheet::read_sheet(&name, &text, &beside).map_err(|problems| report_problems(&problems))?;
    // What comes of it must stay whole whatever happens to the files beside the sheet.
    let whole = sheet::whole_sheet(&name, &text, &beside).map_err(|problems| report_problems(&problems))?;
    Value::from_json(&whole).map_err(|error| {
        complain(&format!("tenunder: {error}\nThis is a fault of the program, not of the sheet.\n"));
        FAILED
    })
}

/// The lines that bring a sheet in, or the exit code where the sheet is at fault.
fn drafts(path: &Path, who: &str) -> Result<Result<Vec<shop::Draft>, u8>, StoreError> {
    let sheet = match whole_sheet(path) {
        Ok(sheet) => sheet,
        Err(code) => return Ok(Err(code)),
    };
    // Every name is drawn before the first is used, so that a computer without random numbers writes nothing.
    let names: Vec<_> = (0..shop::MOST_AT_ONCE).map(|_| fresh_id()).collect::<Result<_, _>>()?;
    let mut names = names.into_iter();
    let drafts = brought_in(sheet, None, who, &now(), || {
        // A sheet with more rows than names is refused as a batch that is too large.
        names.next().unwrap_or(shop::EntryId::from_bits(0))
    });
    match drafts {
        Ok(drafts) => Ok(Ok(drafts)),
        Err(error) => {
            complain(&format!("tenunder: {}: {error}.\n", path.display()));
            Ok(Err(AT_FAULT))
        }
    }
}

async fn list(store: &Store, search: String) -> Result<String, StoreError> {
    let found = store.jobs(&Wanted { search, ..Wanted::default() }).await?;
    let mut out = String::new();
    for job in &found.jobs {
        let _ = writeln!(out, "{:>6}  {:<14}  {:<12}  {}", job.job, job.stage.words(), job.mark, job.crank);
    }
    let shown = found.jobs.len() as i64;
    let _ = match found.all {
        0 => writeln!(out, "No jobs."),
        all if all > shown => {
            writeln!(out, "The latest {shown} of {all}; name a number, a mark or a crank to find others.")
        }
        all => writeln!(out, "{all} in all."),
    };
    Ok(out)
}

async fn verify(store: &Store) -> Result<u8, StoreError> {
    let checked = store.verify().await?;
    let mut out = format!(
        "{} jobs, {} entries, {} photographs looked through.\n",
        checked.jobs, checked.entries, checked.pictures
    );
    if checked.faults.is_empty() {
        out += "The record is whole.\n";
        return Ok(say(&out));
    }
    for fault in &checked.faults {
        let _ = writeln!(out, "  - {fault}");
    }
    out += "The record is not whole. Keep this file as it is, and restore the last backup into a new one.\n";
    say(&out);
    Ok(AT_FAULT)
}
