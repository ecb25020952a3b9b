//! The document that the command line, import, export and the JSON interface share.
//!
//! [`read_sheet`] reads a sheet: which crankshaft, how the shop works, what was measured and seen. The specification it
//! names, and CSV files of rows, come through a [`Library`]. [`read_specification`] reads a specification alone, as
//! printed. Either takes TOML or, where the text starts with a brace, the same keys as JSON. Whatever is wrong comes
//! back as [`Problem`]s, all at once.
//!
//! For the format itself see `docs/sheet.md`.
//!
//! What this crate does not do: it opens no file, and it computes nothing about the crank.

mod adopt;
mod answer;
mod assumed;
mod bearings;
mod cases;
mod dials;
mod film_case;
mod film_problems;
mod film_words;
mod findings;
mod fit_answer;
mod heights;
mod instruments;
mod policy;
mod roughness;
mod roughness_words;
mod rows;
mod shaft;
mod shaft_answer;
mod sizes;
mod specification;
mod table;
mod which;
mod whole;

use crank::{Findings, PrintedSpecification, SetName, SpecProblem, Specification};
use document::{Document, Place, Problems, Value};
use regrind::Policy;
use units::Unit;

use table::{Field, Table};

pub use answer::answer;
pub use cases::case_words;
pub use dials::{bend_words, rule_words};
pub use document::{MOST_BYTES, Problem};
pub use film_case::{FilmCase, FilmFigure, film_key, read_film_case};
pub use film_problems::{film_field, film_limit};
pub use film_words::FilmWords;
pub use findings::is_nothing_measured;
pub use fit_answer::fit_answer;
pub use heights::throw_words;
pub use roughness_words::RoughnessWords;
pub use shaft_answer::{first_size_words, shaft_words};
pub use specification::{Places, read_book, read_specification};
pub use which::{AskedWhich, FitsAnswer, IdentifiedAnswer, KnownBook, WhichAnswer, read_which, which_answer};
pub use whole::whole_sheet;

/// The version of the format that is read here.
const VERSION: u64 = 1;

/// Where the files come from that a sheet names.
pub trait Library {
    /// The text of a file beside the sheet, or of a specification known by this name.
    ///
    /// # Errors
    /// What to do about it, in words that can follow a semicolon: `there is no such file beside the sheet`.
    fn text(&self, name: &str) -> Result<String, String>;
}

/// One crankshaft as a sheet describes it, ready to be judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// The shop's mark on the core.
    pub mark: Option<String>,
    /// The unit of every bare number in the sheet, and of the answer.
    pub unit: Unit,
    /// The specification, checked.
    pub specification: Specification,
    /// The specification as printed.
    pub printed: PrintedSpecification,
    /// The file of the specification; the sheet's own where it stands in the sheet.
    pub specification_file: String,
    /// Where in that file its keys stand.
    pub places: Places,
    /// How the shop works.
    pub policy: Policy,
    /// What was measured and seen.
    pub findings: Findings,
    /// What was measured of the bearings.
    pub bearings: fit::Found,
    /// What the book says of the bearings.
    pub bearing_book: fit::Book,
    /// What the shop wants of the bearings.
    pub wanted: fit::Wanted,
    /// What the shop charges besides passes and shells.
    pub costs: fit::Costs,
    /// What is odd about the specification but does not keep it from being used.
    pub queries: Vec<SpecProblem>,
}

impl Sheet {
    /// The engine as its bearings see it.
    pub fn engine(&self) -> fit::Engine<'_> {
        fit::Engine {
            specification: &self.specification,
            findings: &self.findings,
            found: &self.bearings,
            book: &self.bearing_book,
            wanted: self.wanted,
            unit: self.unit,
        }
    }

    /// What the work that a verdict chose is charged, with thrust washers where the bearings need them.
    pub fn quote(&self, verdict: &regrind::Verdict, fit: Option<&fit::Fit>) -> fit::Quote {
        fit::quote(fit::Asked {
            verdict,
            fit,
            policy: &self.policy,
            costs: &self.costs,
            treatment: &self.specification.treatment,
            unit: self.unit,
        })
    }

    /// The micrometers to say the sizes of a set on: those it was measured with, in the order in which they were used;
    /// where it was not measured, all that the sheet lists. The shop's usual micrometer has no name and no zero; a set
    /// measured with it alone has none here, and its sizes are said on the usual scale.
    pub fn micrometers_for(&self, set: SetName) -> Vec<&gauge::Instrument> {
        self.findings.micrometers_for(set)
    }
}

/// Reads a sheet.
///
/// # Errors
/// Every problem at once, file by file in the order of the lines; never just the first. At most 200 are listed, with
/// the number of the others.
pub fn read_sheet(file: &str, text: &str, library: &dyn Library) -> Result<Sheet, Vec<Problem>> {
    let mut syntax = Problems::default();
    let Some(document) = document_of(file, text, &mut syntax) else { return Err(syntax.into_list()) };
    let mut problems = Problems::default();
    let sheet = read_keys(file, &document, library, &mut problems);
    if !syntax.is_empty() {
        // Lines that are not well formed leave holes; what is said about the holes would only confuse.
        problems.retain(|problem| problem.found != "nothing" && !syntax.has_line(problem));
        syntax.append(problems);
        return Err(syntax.into_list());
    }
    match sheet {
        Some(sheet) if problems.is_empty() => Ok(sheet),
        _ => Err(problems.into_list()),
    }
}

/// Reads instruments alone, as a sheet lists them: a document with `units` and `instrument`. The shop's usual micrometer
/// comes first, as in [`Findings::instruments`].
///
/// # Errors
/// Every problem at once.
pub fn read_instruments(file: &str, text: &str) -> Result<Vec<gauge::Instrument>, Vec<Problem>> {
    let mut problems = Problems::default();
    let Some(document) = document_of(file, text, &mut problems) else { return Err(problems.into_list()) };
    let mut root = Table::root(file, &document, &mut problems);
    let unit = specification::units(&mut root, &mut problems).unwrap_or(Unit::Inch);
    let instruments = instruments::instruments(&mut root, unit, &mut problems);
    root.finish(&mut problems);
    if problems.is_empty() { Ok(instruments) } else { Err(problems.into_list()) }
}

/// Whether a text is that of a sheet: it says which version of a sheet it is.
pub fn is_sheet(text: &str) -> bool {
    has_key(text, "sheet")
}

/// Whether a text is that of a specification alone: no sheet, which names one too.
pub fn is_specification(text: &str) -> bool {
    has_key(text, "specification") && !is_sheet(text)
}

fn has_key(text: &str, key: &str) -> bool {
    document::read("", text, &mut Problems::default()).is_some_and(|document| document.root().at(key).is_some())
}

/// The document in the text of a file, which must not be empty.
fn document_of(file: &str, text: &str, problems: &mut Problems) -> Option<Document> {
    let document = document::read(file, text, problems)?;
    if text.trim_start_matches('\u{feff}').trim().is_empty() {
        let advice =
            "begin with sheet = 1, or with specification = 1 for a book's figures; docs/sheet.md has both to copy";
        problems.add(Place { file, line: Some(1) }, "", "an empty file", "a document", advice);
        return None;
    }
    Some(document)
}

fn read_keys(file: &str, document: &Document, library: &dyn Library, problems: &mut Problems) -> Option<Sheet> {
    let mut root = Table::root(file, document, problems);
    specification::version(&mut root, "sheet", VERSION, problems);
    let mark = root.take("mark").and_then(|f| mark(&f, problems));
    let stated = root.line_of("units");
    let stated_unit = specification::units(&mut root, problems);
    let before = problems.len();
    let book = book(&mut root, file, library, problems);
    let book_is_whole = problems.len() == before;
    let adopted = match &book {
        Some(book) if book_is_whole => adopt::adopt(book, problems),
        Some(book) => {
            adopt::faults_besides(book, problems);
            None
        }
        None => None,
    };
    // Without a unit the rest is still read for its form; sizes are then not compared with the book's.
    let unit = stated_unit.or(book.as_ref().map(|book| book.printed.unit)).unwrap_or(Unit::Inch);
    let undersizes = SetName::BOTH.map(|set| adopted.as_ref().map(|(book, _)| book.set(set).undersizes_mm.len()));
    let (policy, costs) = policy::policy(&mut root, unit, undersizes, problems);
    let instruments = instruments::instruments(&mut root, unit, problems);
    let mut bench = findings::Bench::new(unit, &instruments, book.as_ref().map(|book| &book.printed));
    let findings = bench.findings(&mut root, library, problems);
    let bearings = bench.bearings(&mut root, problems);
    let wanted = bench.wanted(&mut root, problems);
    if stated_unit.is_some() {
        bench.sizes.report(unit, Place { file, line: stated }, problems);
    }
    root.take("note").and_then(|f| f.text(problems));
    root.finish(problems);
    let book = book?;
    let (specification, queries) = adopted?;
    let mut sheet = Sheet {
        mark,
        unit,
        specification,
        bearing_book: fit::Book::from_printed(&book.printed),
        printed: book.printed,
        specification_file: book.file,
        places: book.places,
        policy,
        findings,
        bearings,
        wanted,
        costs,
        queries,
    };
    let told = heights::as_centres(&sheet.specification, &sheet.findings);
    sheet.findings.centres.extend(told);
    let told = dials::as_run_outs(&sheet.specification, &sheet.findings);
    sheet.findings.run_outs.extend(told);
    // What the measured bearings ask for is what the journals are finished to, by whomever the sheet is answered.
    let [main, pin] = fit::aims(&sheet.engine());
    (sheet.specification.main.aims, sheet.specification.pin.aims) = (main, pin);
    Some(sheet)
}

/// A specification as read, and where it stands.
struct Book {
    file: String,
    /// What stands before its keys in a problem.
    prefix: &'static str,
    printed: PrintedSpecification,
    places: Places,
}

/// The specification that a sheet names or holds.
fn book(root: &mut Table<'_>, file: &str, library: &dyn Library, problems: &mut Problems) -> Option<Book> {
    let expected = "a specification: a file beside the sheet, a name, or a table";
    let field = root.need("specification", expected, "specification = \"tarn-four.toml\"", problems)?;
    match field.node.value {
        Value::Table(_) => {
            let table = field.table(problems)?;
            let printed = specification::printed(table, problems);
            let places = specification::places(field.node);
            Some(Book { file: file.to_owned(), prefix: "specification.", printed, places })
        }
        Value::Text(name) if !name.trim().is_empty() => match library.text(name.trim()) {
            Ok(text) => {
                let (printed, places) = specification::from_text(name.trim(), &text, problems)?;
                Some(Book { file: name.trim().to_owned(), prefix: "", printed, places })
            }
            Err(why) => {
                field.refuse(problems, "a specification that can be read", why);
                None
            }
        },
        _ => {
            field.refuse(problems, expected, "write its name in quotes");
            None
        }
    }
}

/// The shop's mark, which may be a plain number.
fn mark(field: &Field<'_>, problems: &mut Problems) -> Option<String> {
    match field.node.value {
        Value::Number(number) => Some(number.clone()),
        _ => field.text(problems).map(str::to_owned),
    }
}
