//! What is wrong with a printed specification, all of it at once.
//!
//! Published tables are wrong astonishingly often, so a specification is checked against itself (steps, columns, order)
//! and against what is usual (families of values) before anybody grinds to it.

use std::fmt;

use units::Unit;

use crate::{PrintedBand, PrintedLimit, PrintedNumber, PrintedSet, PrintedSpecification, SetName};

mod coarse;
mod columns;
mod families;
mod layout;
mod neighbours;
mod shaft;
mod stack;
mod steps;
mod treatment;
mod undersizes;
mod wear;

pub(crate) use families::understood_mm as understood_roughness_mm;

/// How bad a problem is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Odd but possible: the specification is used and the remark goes with it.
    Query,
    /// A contradiction, or a value that cannot be: not to be used until it is mended or, for a value that is merely
    /// out of family, confirmed against the book.
    Fault,
}

/// One thing wrong with a printed specification.
#[derive(Clone, Debug, PartialEq)]
pub struct SpecProblem {
    /// Where: `main.taper`, `pin.undersizes[2]`, `main.step[3].size`. Rows and list entries count from one, as the
    /// printed page does.
    pub key: String,
    /// How bad.
    pub severity: Severity,
    /// What stands there.
    pub found: String,
    /// What would have been right.
    pub expected: String,
    /// The likely cause, in words.
    pub cause: String,
    /// The book it came from, where that was stated.
    pub source: Option<String>,
    /// Where the value is a fault only because it is odd: the keys to list as confirmed for it to be taken as it stands,
    /// those that are confirmed already and this one. Empty where nobody can confirm it away.
    pub confirm: Vec<String>,
}

impl SpecProblem {
    /// The line to be typed at the top of the specification once somebody has compared the value with the book:
    /// `confirmed = ["main.taper"]`. `None` where nobody can confirm it away.
    pub fn confirm_line(&self) -> Option<String> {
        let keys: Vec<String> = self.confirm.iter().map(|key| format!("{key:?}")).collect();
        (!keys.is_empty()).then(|| format!("confirmed = [{}]", keys.join(", ")))
    }
}

impl fmt::Display for SpecProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: found {}, expected {}; {}", self.key, self.found, self.expected, self.cause)?;
        if let Some(line) = self.confirm_line() {
            write!(f, "; if the book really says so, write {line} at the top of the specification")?;
        }
        match &self.source {
            Some(source) => write!(f, " ({source})"),
            None => Ok(()),
        }
    }
}

/// Lists everything wrong with a printed specification; empty where nothing is.
///
/// A key in [`PrintedSpecification::confirmed`] turns a fault of the out-of-family kind into a query: somebody has
/// looked, and the book really says so. A contradiction stays a fault, for then the book itself is wrong.
///
/// # Limits
/// A value that is wrong but keeps company with the others is not seen: 0.0004 printed for 0.0005 passes.
/// # Source
/// The families rest on limits published in some forty service manuals; see `reference-cases/published-limits`.
pub fn check(printed: &PrintedSpecification) -> Vec<SpecProblem> {
    let mut book = Book::new(printed.unit, &printed.confirmed);
    columns::whole(&mut book, printed);
    for name in SetName::BOTH {
        set_alone(&mut book, name, set_of(printed, name), Some(set_of(printed, other(name))));
    }
    layout::whole(&mut book, printed);
    families::whole(&mut book, printed);
    shaft::whole(&mut book, printed);
    treatment::whole(&mut book, printed);
    neighbours::whole(&mut book, printed);
    book.problems
}

/// Lists everything wrong with one set of journals, or with a lone table of undersizes (in [`PrintedSet::steps`]),
/// where nothing else of the crank is known. Nothing is asked for that is not there.
pub fn check_set(set: &PrintedSet, name: SetName, unit: Unit, confirmed: &[String]) -> Vec<SpecProblem> {
    let mut book = Book::new(unit, confirmed);
    set_alone(&mut book, name, set, None);
    book.problems
}

/// Checks of one set by itself; the other one only lends its sizes, to recognise a table copied from it.
fn set_alone(book: &mut Book<'_>, name: SetName, set: &PrintedSet, other: Option<&PrintedSet>) {
    columns::set(book, name, set);
    undersizes::set(book, name, set);
    steps::tables(book, name, set, other);
    wear::set(book, name, set);
    families::set(book, name, set);
    stack::set(book, name, set);
    shaft::set(book, name, set);
}

fn set_of(printed: &PrintedSpecification, name: SetName) -> &PrintedSet {
    match name {
        SetName::Main => &printed.main,
        SetName::Pin => &printed.pin,
    }
}

fn other(name: SetName) -> SetName {
    match name {
        SetName::Main => SetName::Pin,
        SetName::Pin => SetName::Main,
    }
}

/// The problems found so far, and what is needed to word the next one.
struct Book<'a> {
    unit: Unit,
    confirmed: &'a [String],
    problems: Vec<SpecProblem>,
}

/// What is said of one problem.
struct Words {
    key: String,
    found: String,
    expected: String,
    cause: String,
}

impl<'a> Book<'a> {
    fn new(unit: Unit, confirmed: &'a [String]) -> Book<'a> {
        Book { unit, confirmed, problems: Vec::new() }
    }

    fn add(&mut self, severity: Severity, words: Words, source: Option<&String>) {
        let Words { key, found, expected, cause } = words;
        let confirm = Vec::new();
        self.push(SpecProblem { key, severity, found, expected, cause, source: source.cloned(), confirm });
    }

    fn push(&mut self, problem: SpecProblem) {
        if !self.problems.contains(&problem) {
            self.problems.push(problem);
        }
    }

    /// A contradiction: a fault that nobody can confirm away.
    fn fault(&mut self, words: Words, source: Option<&String>) {
        self.add(Severity::Fault, words, source);
    }

    /// A value out of family: a fault, or a query where somebody has confirmed it.
    fn out_of_family(&mut self, mut words: Words, source: Option<&String>) {
        if self.confirmed.contains(&words.key) {
            words.cause.push_str("; confirmed against the book");
            self.add(Severity::Query, words, source);
        } else {
            let confirm = self.confirmed.iter().chain([&words.key]).cloned().collect();
            let Words { key, found, expected, cause } = words;
            let severity = Severity::Fault;
            self.push(SpecProblem { key, severity, found, expected, cause, source: source.cloned(), confirm });
        }
    }

    fn query(&mut self, words: Words, source: Option<&String>) {
        self.add(Severity::Query, words, source);
    }
}

/// A band and a limit, each under its key.
type Bands<'a> = Vec<(String, &'a [PrintedBand], Option<&'a String>)>;
type Limits<'a> = Vec<(String, &'a PrintedLimit)>;

/// Every band of a set.
fn bands(name: SetName, set: &PrintedSet) -> Bands<'_> {
    let mut bands: Bands<'_> = [
        ("size", &set.size),
        ("fillet", &set.fillet),
        ("housing", &set.housing),
        ("wall", &set.wall),
        ("clearance", &set.clearance),
        ("width", &set.width),
        ("thrust", &set.thrust),
        ("side", &set.side),
        ("crush", &set.crush),
        ("washer", &set.washer),
        ("case_depth", &set.case_depth),
    ]
    .into_iter()
    .map(|(key, columns)| (format!("{name}.{key}"), columns.as_slice(), None))
    .collect();
    for (row, step) in (1..).zip(&set.steps) {
        bands.push((format!("{name}.step[{row}].size"), &step.size, step.source.as_ref()));
        bands.push((format!("{name}.step[{row}].wall"), &step.wall, step.source.as_ref()));
    }
    bands
}

/// Every single limit of a set.
fn limits(name: SetName, set: &PrintedSet) -> Limits<'_> {
    let mut limits: Limits<'_> = [
        ("out_of_round", &set.out_of_round),
        ("taper", &set.taper),
        ("run_out", &set.run_out),
        ("length", &set.length),
        ("smallest", &set.smallest),
        ("wear_limit", &set.wear_limit),
        ("wear_limit.out_of_round", &set.wear_out_of_round),
        ("wear_limit.taper", &set.wear_taper),
        ("roughness", &set.roughness),
        ("case_least", &set.case_least),
    ]
    .into_iter()
    .filter_map(|(key, limit)| Some((format!("{name}.{key}"), limit.as_ref()?)))
    .collect();
    limits.extend((1..).zip(&set.undersizes).map(|(n, limit)| (format!("{name}.undersizes[{n}]"), limit)));
    limits.extend((1..).zip(&set.washer_oversizes).map(|(n, limit)| (format!("{name}.washer_oversizes[{n}]"), limit)));
    for (row, step) in (1..).zip(&set.steps) {
        limits.push((format!("{name}.step[{row}].undersize"), &step.undersize));
        limits.extend(step.worn.iter().map(|worn| (format!("{name}.step[{row}].worn"), worn)));
    }
    limits
}

/// A computed number in a unit, with as many decimals as its neighbour on the page.
fn like(neighbour: &PrintedNumber, value: f64, unit: Unit) -> String {
    format!("{value:.*} {unit}", neighbour.shown_decimals() as usize)
}

/// A computed number in a unit, without the digits that say nothing.
fn plain(mm: f64, unit: Unit) -> String {
    let value = mm / unit.mm();
    let decimals =
        if value == 0.0 || !value.is_finite() { 0 } else { (2 - value.abs().log10().floor() as i32).clamp(0, 9) };
    let text = format!("{value:.*}", decimals as usize);
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    format!("{text} {unit}")
}

fn words(key: &str, found: &str, expected: &str, cause: &str) -> Words {
    Words { key: key.to_owned(), found: found.to_owned(), expected: expected.to_owned(), cause: cause.to_owned() }
}
