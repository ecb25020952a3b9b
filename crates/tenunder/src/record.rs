//! The shop's record from the command line: sheets in and out, the list of jobs, backup, restore, verify.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use shop::{
    EntryKind, NameOf, Opening, Store, StoreError, Value, Wanted, brought_in, exported, file_of, fresh_id, now,
    odd_name,
};

use crate::files::{self, Beside};
use crate::{AT_FAULT, FAILED, RecordPlace, complain, report_problems, say};

/// Where the record is when nobody says.
pub(crate) const USUAL: &str = "shop.tenunder";

/// What to do with the record.
pub(crate) enum Task {
    Import { sheet: PathBuf, who: String, new: bool, sure: bool },
    Export { job: i64 },
    Jobs { search: String },
    Backup { file: PathBuf },
    Restore { file: PathBuf },
    Verify { paper: Option<String>, new_key: bool },
}

/// Opens a record to work in; a new one is made where that is asked for, and nowhere else.
pub(crate) async fn to_work_in(place: &RecordPlace, new: bool) -> Result<Store, StoreError> {
    let at = place.at();
    if new {
        match file_of(&at) {
            Some(file) if std::fs::symlink_metadata(file).is_ok() => {
                return Err(StoreError::FileExists { file: file.display().to_string() });
            }
            Some(_) => {}
            // Where none is there, or something else is wrong, that is said when it is opened.
            None => {
                if let Ok(there) = Store::open_reading(&at, place.key.as_deref()).await {
                    let file = format!("The record {}", there.place());
                    there.close().await;
                    return Err(StoreError::FileExists { file });
                }
            }
        }
    }
    Store::open_with(&at, &Opening { make: new, key: place.key.clone() }).await
}

/// Opens a record to read; nothing is changed in it or made beside it.
pub(crate) async fn to_read(place: &RecordPlace) -> Result<Store, StoreError> {
    let store = Store::open_reading(&place.at(), place.key.as_deref()).await?;
    if let Some((name, false)) = store.key() {
        complain(&crate::report::wrap(
            &format!(
                "The record is sealed with the key {name}, which is not at hand: what somebody changed in it on purpose may \
                 not be found."
            ),
            "",
            "",
        ));
    }
    Ok(store)
}

/// Does it, with the record in a file or on a PostgreSQL server.
pub(crate) fn run(place: &RecordPlace, task: Task) -> u8 {
    let runtime = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
        Ok(runtime) => runtime,
        Err(error) => {
            complain(&format!("tenunder: {error}\n"));
            return FAILED;
        }
    };
    match runtime.block_on(act(place, task)) {
        Ok(done) => done,
        Err(error) => {
            complain(&format!("tenunder: {error}\n"));
            if matches!(error, StoreError::Fault { .. }) { FAILED } else { AT_FAULT }
        }
    }
}

async fn act(place: &RecordPlace, task: Task) -> Result<u8, StoreError> {
    // A sheet is read before the record is opened: where it is at fault, nothing is made or written.
    let drafts = match &task {
        Task::Import { sheet, who, .. } => match drafts(sheet, who)? {
            Ok(drafts) => drafts,
            Err(done) => return Ok(done),
        },
        _ => Vec::new(),
    };
    if let Task::Restore { file } = &task {
        is_whole(file).await?;
    }
    let mut store = match &task {
        Task::Import { new, .. } => to_work_in(place, *new).await?,
        // It is named to be filled.
        Task::Restore { .. } => Store::open_with(&place.at(), &Opening { make: true, key: place.key.clone() }).await?,
        Task::Verify { new_key: true, .. } => {
            Store::is_free(&place.at()).await?;
            Store::open_with(&place.at(), &Opening { make: false, key: place.key.clone() }).await?
        }
        _ => to_read(place).await?,
    };
    let done = done(&mut store, place, &drafts, task).await;
    store.close().await;
    done
}

/// What is asked about the mark of a crank that is brought in; the file names no customer.
async fn odd_mark(store: &Store, drafts: &[shop::Draft]) -> Result<Option<String>, StoreError> {
    let Some(EntryKind::BookedIn(booked)) = drafts.first().map(|draft| &draft.kind) else { return Ok(None) };
    let (marks, _) = store.marks_and_customers().await?;
    let odd = odd_name(&booked.mark, marks.iter().map(String::as_str));
    Ok(odd.map(|odd| odd.asks(NameOf::Mark, &booked.mark)))
}

/// A backup that is none, or is not whole, is said before a record is made for it.
async fn is_whole(backup: &Path) -> Result<(), StoreError> {
    let store = Store::open_to_read(backup).await?;
    let checked = store.verify().await;
    store.close().await;
    match checked?.faults.into_iter().next() {
        Some(fault) => Err(StoreError::Damaged { detail: format!("{}: {fault}", backup.display()) }),
        None => Ok(()),
    }
}

async fn done(store: &mut Store, place: &RecordPlace, drafts: &[shop::Draft], task: Task) -> Result<u8, StoreError> {
    Ok(match task {
        Task::Import { sure, .. } => {
            if let Some(question) = odd_mark(store, drafts).await?.filter(|_| !sure) {
                complain(&crate::report::wrap(&format!("{question} With --sure it is taken."), "", ""));
                return Ok(AT_FAULT);
            }
            let booked = store.book_in(drafts).await?;
            say(&format!("Booked in as job {} with {} entries, in {}.\n", booked.job, booked.seq, store.place()))
        }
        Task::Export { job } => say(&exported(&store.job(job).await?)),
        Task::Jobs { search } => say(&list(store, search).await?),
        Task::Backup { file } => {
            let saved = store.backup(&file).await?;
            say(&format!("{} jobs, {} entries saved to {}.\n", saved.jobs, saved.entries, file.display()))
        }
        Task::Restore { file } => {
            let back = store.restore(&file).await?;
            say(&format!("{} jobs, {} entries are back, in {}.\n", back.jobs, back.entries, store.place()))
        }
        Task::Verify { paper: Some(code), .. } => paper(store, &code).await?,
        Task::Verify { new_key: true, .. } => {
            let file = store.renew_key(place.key.as_deref()).await?;
            let name = store.key().map(|(name, _)| name.to_owned()).unwrap_or_default();
            say(&format!(
                "The record is whole, and sealed from now on with the new key {name}, in {}.\nKeep a copy of that file apart \
                 from the record.\n",
                file.display()
            ))
        }
        Task::Verify { .. } => verify(store).await?,
    })
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
    for job in &found.damaged {
        let _ =
            writeln!(out, "{job:>6}  DAMAGED: its row in this list is not what was written; export {job} says more.");
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
    let notes = |out: &mut String| {
        for note in &checked.notes {
            let _ = writeln!(out, "{note}");
        }
    };
    if checked.faults.is_empty() {
        notes(&mut out);
        out += "The record is whole.\n";
        return Ok(say(&out));
    }
    for fault in &checked.faults {
        let _ = writeln!(out, "  - {fault}");
    }
    notes(&mut out);
    out += "The record is not whole. Keep this file as it is, and restore the last backup into a new one.\n";
    say(&out);
    Ok(AT_FAULT)
}

/// Whether the record stands behind a paper that carries this code.
async fn paper(store: &Store, code: &str) -> Result<u8, StoreError> {
    let Some(found) = store.signed_paper(code).await? else {
        let why = match store.key() {
            Some((name, false)) => format!(
                "The record is sealed with the key {name}, which is not beside it, so codes that were made with it cannot be \
                 told. Name the file with --key."
            ),
            _ => "It is mistyped, or of another record, or what was signed was changed since.".to_owned(),
        };
        say(&report_line(&format!("No signature in this record gives the code {code}. {why}")));
        return Ok(AT_FAULT);
    };
    let of =
        format!("{}: job {}, signed by {}, {} (entry {}).", found.code, found.job, found.who, found.when, found.seq);
    if let Err(damage) = &found.stands {
        say(&report_line(&format!("{of} The record does not stand behind this paper. {damage}")));
        return Ok(AT_FAULT);
    }
    let force = match found.in_force {
        true => "The signature is in force.",
        false => {
            "The signature is not in force any more: the job was opened again since, or damaged after it. Ask for a newer paper."
        }
    };
    let stands = "The record stands behind this paper: everything up to the signature is as it was when it was signed.";
    Ok(say(&report_line(&format!("{of} {stands} {force}"))))
}

fn report_line(text: &str) -> String {
    crate::report::wrap(text, "", "")
}
