//! `tenunder`: measure a worn crankshaft, judge it, choose the undersize, plan the grind.

#[cfg(feature = "pages")]
mod draw;
#[cfg(feature = "pages")]
mod drawing_file;
mod files;
mod film;
mod fitting;
#[cfg(feature = "pages")]
mod micrometer;
#[cfg(feature = "pages")]
mod oxbow;
#[cfg(feature = "pages")]
mod print;
#[cfg(feature = "record")]
mod record;
mod report;
#[cfg(feature = "pages")]
mod serve;
#[cfg(feature = "pages")]
mod shell;
mod which;
mod working;
#[cfg(feature = "pages")]
mod written;

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use clap::{Parser, Subcommand};
use sheet::{Problem, Sheet};

#[cfg(feature = "record")]
use crate::record::Task;

/// Answered.
const ANSWERED: u8 = 0;
/// The tool failed.
const FAILED: u8 = 1;
/// The sheet or the specification is at fault.
const AT_FAULT: u8 = 2;

/// The licences of what is built in; `cargo xtask licences` writes them anew.
const LICENCES: &str = include_str!("../library/licences.txt");

#[derive(Parser)]
#[command(
    name = "tenunder",
    max_term_width = 80,
    version,
    about = "Judge a worn crankshaft from its readings, choose the undersize, plan the grind",
    long_about = "Judge a worn crankshaft from its readings, choose the undersize, plan the grind.\n\n\
        You write what you measured into a text file, the sheet: which engine, which micrometer, which size on which \
        journal. The answer says what state each journal is in, what the crank was last ground to, at which \
        undersize mains and pins clean up and how surely, what decides it, what to measure next, and what size to \
        work to at every stage so that heat treatment and polish bring it out right.",
    after_long_help = "Start here:\n  \
        tenunder demo                        an invented crank, judged\n  \
        tenunder demo --copy-to my-cranks    the same sheets as files, to change and try\n  \
        tenunder assess my-cranks/wren-notebook.toml\n\n\
        Exit codes: 0 answered; 2 the sheet or the specification is at fault; 1 the tool failed.\n\n\
        A chance is only as good as the readings. Nothing here replaces the maker's manual, a crack test, or the \
        judgement of somebody licensed to pass the part.",
    arg_required_else_help = true,
    args_conflicts_with_subcommands = true
)]
struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
    /// Print the licences of this program and of all that it is made with
    #[arg(long)]
    licences: bool,
}

#[derive(Subcommand)]
enum Command {
    /// Judge the crank on a sheet
    #[command(long_about = "Judge the crank on a sheet.\n\n\
        The sheet is a TOML (or JSON) file; docs/sheet.md explains every key. The smallest useful one names a \
        specification and a few readings:\n\n  \
        sheet = 1\n  \
        specification = \"tarn-four.toml\"\n  \
        units = \"in\"\n\n  \
        [[reading]]\n  \
        journal = \"pin 1\"\n  \
        at = \"middle\"\n  \
        plane = 0\n  \
        size = 1.8731")]
    Assess {
        /// The sheet
        sheet: PathBuf,
        /// Print the answer as JSON, in the sheet's unit
        #[arg(long)]
        json: bool,
        /// Show the working too: every station and plane, the traces, and how far each instrument can be trusted
        #[arg(long, conflicts_with = "json")]
        working: bool,
    },
    /// Say what bearing clearances do: film, heat, oil pressure
    #[command(long_about = "Say what bearing clearances do to oil film, heat and oil pressure.\n\n\
        The case is a TOML (or JSON) file: the crank's bearings, the oil, and the clearances to compare; docs/film.md \
        explains every key. What is left out is assumed, with a range, and the answer says how much it leans on that.")]
    Film {
        /// The case
        case: PathBuf,
        /// Print the answer as JSON, in SI units
        #[arg(long)]
        json: bool,
    },
    /// Fit bearings to the crank on a sheet: clearances, shells, parts to order
    #[command(
        long_about = "Fit bearings to the crank on a sheet: the clearance of each bearing as found and as planned, \
        how sure it is to keep its limits, the journal size that gives the wanted clearance, which half shell goes where, \
        end float, side clearance, what to order, what it costs.\n\n\
        The sheet has [[housing]] and [[shell]] rows beside its readings; docs/sheet.md explains them:\n\n  \
        [[housing]]\n  \
        journal = \"main 1\"\n  \
        plane = \"across\"\n  \
        size = 2.2708\n\n  \
        [[shell]]\n  \
        set = \"main\"\n  \
        undersize = 0.010\n  \
        wall = 0.0768\n  \
        count = 10"
    )]
    Fit {
        /// The sheet
        sheet: PathBuf,
        /// Print the answer as JSON, in the sheet's unit
        #[arg(long)]
        json: bool,
    },
    /// Look for mistakes in a printed specification before anything rests on it
    #[command(long_about = "Look for mistakes in a specification before anything rests on it.\n\n\
        Printed tables are wrong astonishingly often: undersizes added instead of taken off, a digit dropped, the \
        millimetre column copied from another row. Type the table as printed, both unit columns where the book has \
        them, and every contradiction is listed with its likely cause.")]
    CheckSpec {
        /// The specification (TOML or JSON)
        file: PathBuf,
    },
    /// Say which engine a crank may be of, and which undersize, from a size or a few
    #[command(
        long_about = "Say which engine a crank may be of, at which undersize and at which point of its life (finished, worn, \
        before treatment, off the wheel), how surely, and what would tell the answers apart.\n\n\
        A bare number up to 20 is in inches, above it in millimetres. It looks among the invented engines that come with \
        the program and among your own specifications, named with --among.\n\n  \
        tenunder which 1.8640 --among engines\n  \
        tenunder which main 2.1143 pin 1.8640 --mains 5"
    )]
    Which(which::Asked),
    /// Bring a sheet into the shop's record as a new job
    #[cfg(feature = "record")]
    Import {
        /// The sheet
        sheet: PathBuf,
        /// Who brings it in
        #[arg(long, default_value = "the shop")]
        who: String,
        /// Begin a new record at the place that --record names
        #[arg(long)]
        new: bool,
        /// The mark is right, though it looks like another
        #[arg(long)]
        sure: bool,
        #[command(flatten)]
        record: RecordPlace,
    },
    /// Print the sheet of a job; judged, it gives the same answer
    #[cfg(feature = "record")]
    Export {
        /// The number of the job
        job: i64,
        #[command(flatten)]
        record: RecordPlace,
    },
    /// List the jobs in the record
    #[cfg(feature = "record")]
    Jobs {
        /// Only those whose number, mark, customer or crank has this in it
        #[arg(default_value = "")]
        search: String,
        #[command(flatten)]
        record: RecordPlace,
    },
    /// Save the whole record into one file, also while others work in it
    #[cfg(feature = "record")]
    Backup {
        /// The file to write; it must not be there yet
        file: PathBuf,
        #[command(flatten)]
        record: RecordPlace,
    },
    /// Fill an empty record from a backup
    #[cfg(feature = "record")]
    Restore {
        /// The backup
        file: PathBuf,
        #[command(flatten)]
        record: RecordPlace,
    },
    /// Look the record through: nothing missing, nothing changed
    #[cfg(feature = "record")]
    Verify {
        /// Say instead whether the record stands behind a signed paper that carries this code
        #[arg(long, value_name = "CODE")]
        paper: Option<String>,
        /// Where the record is whole, make a new key and seal it with that: the old one was lost, or seen by others
        #[arg(long, conflicts_with = "paper")]
        new_key: bool,
        #[command(flatten)]
        record: RecordPlace,
    },
    /// Open the shop's record in the browser of this computer
    #[cfg(feature = "pages")]
    #[command(long_about = "Open the shop's record in the browser of this computer: book cranks in, measure, decide, \
        grind, check, hand over. The address is printed when it is ready; nothing outside this computer can reach it.")]
    Serve {
        /// The port to answer on; 0 takes any free one
        #[arg(long, allow_negative_numbers = true, default_value_t = serve::USUAL_PORT)]
        port: u16,
        /// Begin a new record at the place that --record names
        #[arg(long)]
        new: bool,
        #[command(flatten)]
        record: RecordPlace,
    },
    /// Draw what a micrometer shows at a size
    #[cfg(feature = "pages")]
    #[command(
        long_about = "Draw what a micrometer shows at a size: sleeve, thimble and, where it has one, the vernier. A size \
            without a unit is in inches, or in the unit of --reads.",
        after_long_help = "Examples:\n  \
            tenunder micrometer 2.4480\n  \
            tenunder micrometer 62.18 mm --reads 0.01mm -o 62-18.svg",
        allow_negative_numbers = true
    )]
    Micrometer(micrometer::Asked),
    /// Draw a crank, a journal, wear, sizes, ladder, clearances or the oil film into a file
    #[cfg(feature = "pages")]
    #[command(
        long_about = "Draw a crank, one of its journals, its wear, sizes, ladder, clearances or oil film into a file, as \
            SVG.\n\n\
            From a sheet the journals are drawn as they were measured and judged. From a specification alone the kind of \
            crank is drawn, from a case for the film (film = 1; docs/film.md) the film and the gauge. What cannot be drawn \
            as it is given is said in words, and the rest is drawn.",
        after_long_help = "What can be drawn:\n  \
            crank            from the side and from the nose, with what is known of each journal\n  \
            \"main 3\"         one journal, across and along, with the metal to come off\n  \
            wear             wear, out-of-round and run-out of the mains along the crank\n  \
            size             the sizes of the mains on one scale; \"size pin\" those of the pins\n  \
            ladder           every size the mains could go to, with its chance; \"ladder pin\"\n  \
            clearance        the clearances of the main bearings against their limits; \"clearance pin\"\n  \
            film             least oil film of the pins against clearance; \"film main\"\n  \
            gauge            pressure on the gauge against speed, hot and cold\n\n\
            Examples:\n  \
            tenunder draw tarn-four.toml -o tarn.svg\n  \
            tenunder draw tarn-four-worn.toml --what \"pin 2\" -o pin-2.svg\n  \
            tenunder draw tarn-four-oil.toml --what film -o film.svg"
    )]
    Draw(draw::Asked),
    /// Print a paper of a job, or of a sheet, as PDF
    #[cfg(feature = "pages")]
    #[command(long_about = "Print a paper of a job, or of a sheet, as PDF.\n\n\
        A number is a job in the record; anything else is the file of a sheet, judged and decided by the rule. The \
        same record gives the same file.\n\n  \
        form         blank, every spot in the order it is walked\n  \
        report       for the customer, one page\n  \
        quotation    what the work costs, line by line\n  \
        grinder      sizes to read at the machine\n  \
        batch        the slip that goes to heat treatment\n  \
        record       every reading, and how far each can be trusted\n  \
        certificate  before and after, and who answers for it\n  \
        label        for the box, with what to stamp\n  \
        card         every undersize of an engine, for the wall: name its specification instead of a sheet")]
    Print(print::Asked),
    /// Print the completions of this command line for a shell
    #[cfg(feature = "pages")]
    #[command(
        long_about = "Print the completions of this command line for a shell, to be kept where it looks for them:\n\n  \
        tenunder completions bash > ~/.local/share/bash-completion/completions/tenunder"
    )]
    Completions {
        /// Which shell
        shell: clap_complete::Shell,
    },
    /// Write the manual pages into a folder
    #[cfg(feature = "pages")]
    #[command(long_about = "Write the manual pages of this program and each of its commands into a folder:\n\n  \
        tenunder man ~/.local/share/man/man1")]
    Man {
        /// The folder
        folder: PathBuf,
    },
    /// Judge an invented worn crank, to see what an answer looks like
    Demo {
        /// Which example: tarn-four-worn, tarn-four-bearings, skelder-six-ground-before, skelder-six-bent,
        /// wren-notebook, tarn-four-misread
        #[arg(default_value = "tarn-four-worn")]
        example: String,
        /// Print the answer as JSON
        #[arg(long)]
        json: bool,
        /// Open the pages on an invented shop instead, with jobs at every stage; nothing of it is kept unless
        /// --keep says where
        #[cfg(feature = "pages")]
        #[arg(long, conflicts_with_all = ["json", "copy_to", "example"])]
        serve: bool,
        /// With --serve: put the invented shop into this new file, to play with and come back to
        #[cfg(feature = "pages")]
        #[arg(long, value_name = "FILE", requires = "serve")]
        keep: Option<PathBuf>,
        /// The port for --serve to answer on; 0 takes any free one
        #[cfg(feature = "pages")]
        #[arg(long, allow_negative_numbers = true, default_value_t = serve::USUAL_PORT, requires = "serve")]
        port: u16,
        /// Write the example sheets and specifications into a folder instead, to change and try
        #[arg(long, value_name = "FOLDER")]
        copy_to: Option<PathBuf>,
    },
}

/// Where the shop's record is kept.
#[cfg(feature = "record")]
#[derive(Clone, clap::Args)]
struct RecordPlace {
    /// The record: a file, with or without sqlite: before it, or postgres://... for a server, without its password, which
    /// everybody on this computer could read in the list of processes [default: shop.tenunder in this folder]
    #[arg(long, value_name = "PLACE", env = "TENUNDER_RECORD", hide_env_values = true)]
    record: Option<String>,
    /// The file with the key of the record [default: beside the record, with .key behind its name]
    #[arg(long, value_name = "FILE", env = "TENUNDER_KEY")]
    key: Option<PathBuf>,
}

#[cfg(feature = "record")]
impl RecordPlace {
    /// The place, as it was named or as it usually is.
    fn at(&self) -> String {
        self.record.clone().unwrap_or_else(|| record::USUAL.to_owned())
    }
}

/// How an answer is shown.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Face {
    Text,
    WithWorking,
    Json,
}

impl Face {
    fn new(json: bool, working: bool) -> Face {
        match (json, working) {
            (true, _) => Face::Json,
            (false, true) => Face::WithWorking,
            (false, false) => Face::Text,
        }
    }
}

/// The command line; an exit code where it cannot be followed and was answered.
fn arguments() -> Result<Arguments, u8> {
    use clap::error::{ContextKind, ErrorKind};
    Arguments::try_parse().map_err(|error| {
        if !matches!(error.kind(), ErrorKind::InvalidValue | ErrorKind::ValueValidation) {
            error.exit();
        }
        let told = |kind: ContextKind| error.get(kind).map(ToString::to_string).unwrap_or_default();
        let (found, of) = (told(ContextKind::InvalidValue), told(ContextKind::InvalidArg));
        let expected = match told(ContextKind::ValidValue).as_str() {
            "" => match of.as_str() {
                "--port <PORT>" => "a whole number from 0 to 65535".to_owned(),
                "<JOB>" => "the number of a job, like 1001".to_owned(),
                _ => std::error::Error::source(&error).map_or_else(|| "another".to_owned(), ToString::to_string),
            },
            values => format!("one of {values}"),
        };
        complain(&report::wrap(
            &format!("tenunder: {of}: found \"{found}\", expected {expected}. tenunder --help tells the rest."),
            "",
            "",
        ));
        AT_FAULT
    })
}

fn main() -> ExitCode {
    let arguments = match arguments() {
        Ok(arguments) => arguments,
        Err(code) => return ExitCode::from(code),
    };
    let Some(command) = arguments.command else {
        // Without any argument the help was shown already.
        return ExitCode::from(if arguments.licences { say(LICENCES) } else { ANSWERED });
    };
    ExitCode::from(match command {
        Command::Assess { sheet, json, working } => assess_file(&sheet, Face::new(json, working)),
        Command::Film { case, json } => film::case_file(&case, json),
        Command::Fit { sheet, json } => fit_file(&sheet, Face::new(json, false)),
        Command::CheckSpec { file } => check_specification(&file),
        Command::Which(asked) => which::answer(&asked),
        #[cfg(feature = "pages")]
        Command::Completions { shell } => shell::completions(shell),
        #[cfg(feature = "pages")]
        Command::Man { folder } => shell::man(&folder),
        Command::Demo { copy_to: Some(folder), .. } => copy_examples(&folder),
        #[cfg(feature = "pages")]
        Command::Micrometer(asked) => micrometer::draw(&asked),
        #[cfg(feature = "pages")]
        Command::Draw(asked) => draw::draw(&asked),
        #[cfg(feature = "pages")]
        Command::Print(asked) => print::print(asked),
        #[cfg(feature = "record")]
        Command::Import { sheet, who, new, sure, record } => {
            record::run(&record, Task::Import { sheet, who, new, sure })
        }
        #[cfg(feature = "record")]
        Command::Export { job, record } => record::run(&record, Task::Export { job }),
        #[cfg(feature = "record")]
        Command::Jobs { search, record } => record::run(&record, Task::Jobs { search }),
        #[cfg(feature = "record")]
        Command::Backup { file, record } => record::run(&record, Task::Backup { file }),
        #[cfg(feature = "record")]
        Command::Restore { file, record } => record::run(&record, Task::Restore { file }),
        #[cfg(feature = "record")]
        Command::Verify { paper, new_key, record } => record::run(&record, Task::Verify { paper, new_key }),
        #[cfg(feature = "pages")]
        Command::Serve { port, new, record } => serve::shop(&record, new, port),
        #[cfg(feature = "pages")]
        Command::Demo { serve: true, keep, port, .. } => serve::invented_shop(keep, port),
        Command::Demo { example, json, copy_to: None, .. } => demo(&example, Face::new(json, false)),
    })
}

fn assess_file(path: &Path, face: Face) -> u8 {
    let text = match files::read_text(path) {
        Ok(text) => text,
        Err(problem) => return report_problems(&[*problem]),
    };
    let folder = files::Beside { folder: path.parent().map(Path::to_owned) };
    match sheet::read_sheet(&path.display().to_string(), &text, &folder) {
        Ok(sheet) => assess(&sheet, face),
        Err(problems) => report_problems(&problems),
    }
}

fn fit_file(path: &Path, face: Face) -> u8 {
    let text = match files::read_text(path) {
        Ok(text) => text,
        Err(problem) => return report_problems(&[*problem]),
    };
    let folder = files::Beside { folder: path.parent().map(Path::to_owned) };
    let sheet = match sheet::read_sheet(&path.display().to_string(), &text, &folder) {
        Ok(sheet) => sheet,
        Err(problems) => return report_problems(&problems),
    };
    match judged(&sheet) {
        Ok(verdict) => {
            let fit = fit::fit(&sheet.engine(), Some(&verdict), &sheet.policy);
            let quote = sheet.quote(&verdict, Some(&fit));
            if face == Face::Json {
                let answer = sheet::fit_answer(&sheet, &fit, &quote);
                say(&format!("{answer:#}\n"))
            } else {
                say(&fitting::report(&sheet, &fit, &quote))
            }
        }
        Err(failed) => failed,
    }
}

fn demo(example: &str, face: Face) -> u8 {
    let name = format!("{}.toml", example.trim_end_matches(".toml"));
    let Some(text) = files::shipped(&name) else {
        let known: Vec<&str> = files::sheets().collect();
        return report_problems(&[Problem {
            file: "demo".into(),
            line: None,
            key: "example".into(),
            found: example.into(),
            expected: format!("one of {}", known.join(", ")),
            advice: "leave it out for the worn Tarn four".into(),
        }]);
    };
    match sheet::read_sheet(&name, text, &files::Beside { folder: None }) {
        Ok(sheet) => {
            if face != Face::Json {
                say(&report::demo_heading(&name));
            }
            assess(&sheet, face)
        }
        Err(problems) => report_problems(&problems),
    }
}

fn assess(sheet: &Sheet, face: Face) -> u8 {
    match judged(sheet) {
        Ok(verdict) if face == Face::Json => {
            let answer = sheet::answer(sheet, &verdict);
            say(&format!("{answer:#}\n"))
        }
        Ok(verdict) => say(&report::report(sheet, &verdict, face == Face::WithWorking)),
        Err(failed) => failed,
    }
}

/// The verdict on a sheet, with a progress bar; where there is none, the exit code, and why is said.
fn judged(sheet: &Sheet) -> Result<regrind::Verdict, u8> {
    let bar = Bar::new(sheet.policy.draws);
    let verdict = regrind::assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &|draws| {
        bar.advance(draws);
    });
    bar.finish();
    verdict.map_err(|failure| {
        complain(&format!("tenunder: {failure}.\nThis is a fault of the program, not of the sheet.\n"));
        FAILED
    })
}

fn check_specification(path: &Path) -> u8 {
    let text = match files::read_text(path) {
        Ok(text) => text,
        Err(problem) => return report_problems(&[*problem]),
    };
    let file = path.display().to_string();
    match sheet::read_specification(&file, &text) {
        Ok((printed, places)) => {
            let found = crank::check(&printed);
            let faulty = found.iter().any(|p| p.severity == crank::Severity::Fault);
            let printed_well = say(&report::specification_report(&file, &printed, &found, &places));
            if faulty { AT_FAULT } else { printed_well }
        }
        Err(problems) => report_problems(&problems),
    }
}

fn copy_examples(folder: &Path) -> u8 {
    match files::copy_shipped(folder) {
        Ok(written) => say(&report::copied(folder, &written)),
        Err(problem) => report_problems(&[*problem]),
    }
}

/// Prints to standard output. A reader that stops listening (a closed pipe) is no failure.
fn say(text: &str) -> u8 {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => ANSWERED,
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => ANSWERED,
        Err(error) => {
            complain(&format!("tenunder: the answer could not be written: {error}\n"));
            FAILED
        }
    }
}

fn complain(text: &str) {
    // Where even standard error is closed there is nobody left to tell.
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
}

fn report_problems(problems: &[Problem]) -> u8 {
    complain(&report::problems(problems));
    AT_FAULT
}

/// A progress bar for work that takes longer than a second, on a terminal only.
struct Bar {
    started: Instant,
    total: usize,
    done: AtomicUsize,
    bar: Option<indicatif::ProgressBar>,
}

impl Bar {
    fn new(total: usize) -> Bar {
        let bar = std::io::stderr().is_terminal().then(|| {
            let bar =
                indicatif::ProgressBar::with_draw_target(Some(total as u64), indicatif::ProgressDrawTarget::hidden());
            if let Ok(style) = indicatif::ProgressStyle::with_template("Drawing {bar:40} {pos} of {len}, {eta} left") {
                bar.set_style(style);
            }
            bar
        });
        Bar { started: Instant::now(), total, done: AtomicUsize::new(0), bar }
    }

    fn advance(&self, draws: usize) {
        let done = self.done.fetch_add(draws, Ordering::Relaxed) + draws;
        let Some(bar) = &self.bar else { return };
        if self.started.elapsed() > Duration::from_secs(1) && done < self.total {
            if bar.is_hidden() {
                bar.set_draw_target(indicatif::ProgressDrawTarget::stderr());
            }
            bar.set_position(done as u64);
        }
    }

    fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
