//! Papers from the command line: of a job in the record, or of a sheet that is in none.

use std::path::{Path, PathBuf};

use bench::{NotPrinted, Paper, PaperSize, print_job, print_sheet};
use clap::builder::PossibleValuesParser;
use shop::Value;

use crate::written::{self, Kind};
use crate::{AT_FAULT, FAILED, RecordPlace, complain, files, record, report_problems, say};

/// What is asked for.
#[derive(clap::Args)]
pub(crate) struct Asked {
    /// The number of a job in the record, or the file of a sheet; for the card of an engine its specification too
    #[arg(value_name = "JOB|SHEET|ENGINE")]
    of: String,
    /// Which paper
    #[arg(long = "as", value_name = "PAPER", value_parser = PossibleValuesParser::new(Paper::ALL.map(Paper::word)))]
    paper: String,
    /// What the paper is cut to [default: the shop's, else A4]
    #[arg(long, value_name = "SIZE", ignore_case = true, value_parser = PossibleValuesParser::new(PaperSize::ALL.map(PaperSize::word)))]
    size: Option<String>,
    /// The file to write
    #[arg(short, long, value_name = "FILE.pdf")]
    output: PathBuf,
    /// Replace what stands there even where it is no earlier paper of this program; a record never is
    #[arg(long, requires = "output")]
    replace: bool,
    #[command(flatten)]
    record: RecordPlace,
}

/// Prints a paper into a file.
pub(crate) fn print(asked: Asked) -> u8 {
    let Some(paper) = Paper::from_word(&asked.paper) else { return AT_FAULT };
    let size = asked.size.as_deref().and_then(PaperSize::from_word);
    let is_number = !asked.of.is_empty() && asked.of.bytes().all(|byte| byte.is_ascii_digit());
    let printed = match asked.of.parse::<i64>() {
        Ok(job) if is_number => of_job(job, paper, size, &asked.record),
        // More digits than any job has is no file either, unless there is one.
        _ => of_sheet(Path::new(&asked.of), paper, size.unwrap_or(PaperSize::A4)),
    };
    match printed {
        Ok(bytes) => match written::put("print", &asked.output, &bytes, Kind::Paper, asked.replace) {
            Ok(()) => say(&format!("{} written to {}.\n", paper.says(), asked.output.display())),
            Err(code) => code,
        },
        Err(code) => code,
    }
}

fn of_job(job: i64, paper: Paper, size: Option<PaperSize>, place: &RecordPlace) -> Result<Vec<u8>, u8> {
    let at = place.at();
    shop::checked_place(&at).map_err(|error| {
        complain(&format!("tenunder: {error}\n"));
        AT_FAULT
    })?;
    if shop::file_of(&at).is_some_and(|file| !file.exists()) {
        complain(&format!(
            "tenunder: there is no record at {at}.\nSay where it is with --record, or name the file of a sheet.\n"
        ));
        return Err(AT_FAULT);
    }
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
    let runtime = runtime.map_err(|error| {
        complain(&format!("tenunder: {error}\n"));
        FAILED
    })?;
    runtime
        .block_on(async {
            let store = record::to_read(place).await?;
            let printed = print_job(store.clone(), job, paper, size).await;
            store.close().await;
            printed
        })
        .map_err(|not| not_printed(&not))
}

fn of_sheet(path: &Path, paper: Paper, size: PaperSize) -> Result<Vec<u8>, u8> {
    let engine = if paper == Paper::Card { engine(path)? } else { None };
    let document = match engine {
        Some(document) => document,
        None => record::whole_sheet(path)?,
    };
    print_sheet(document, paper, size).map_err(|not| not_printed(&not))
}

/// A specification as a sheet on which nothing is measured; nothing where the file is a sheet itself.
fn engine(path: &Path) -> Result<Option<Value>, u8> {
    let name = path.display().to_string();
    let shipped = files::shipped(&name).or_else(|| files::shipped(&format!("{name}.toml"))).filter(|_| !path.exists());
    let text = match shipped {
        Some(text) => text.to_owned(),
        None => files::read_text(path).map_err(|problem| report_problems(&[*problem]))?,
    };
    if sheet::is_sheet(&text) {
        return Ok(None);
    }
    let book = sheet::read_book(&name, &text).map_err(|problems| report_problems(&problems))?;
    let sheet = format!("sheet = 1\nspecification = \"engine\"\nunits = \"{}\"\n", book.unit);
    let whole = sheet::whole_sheet(&name, &sheet, &Engine { text }).map_err(|problems| report_problems(&problems))?;
    Value::from_json(&whole).map(Some).map_err(|error| {
        complain(&format!("tenunder: {error}\nThis is a fault of the program, not of the specification.\n"));
        FAILED
    })
}

/// The one specification that there is.
struct Engine {
    text: String,
}

impl sheet::Library for Engine {
    fn text(&self, _: &str) -> Result<String, String> {
        Ok(self.text.clone())
    }
}

fn not_printed(not: &NotPrinted) -> u8 {
    complain(&format!("tenunder: {not}\n"));
    if matches!(not, NotPrinted::Unwritable(_)) { FAILED } else { AT_FAULT }
}
