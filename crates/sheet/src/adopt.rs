//! From the specification as printed to the one that is used.

use crank::{Severity, SpecProblem, Specification};
use document::{Place, Problems};

use crate::Book;

/// The checked specification and what is odd about it; a fault becomes a problem and leaves no specification.
pub(crate) fn adopt(book: &Book, problems: &mut Problems) -> Option<(Specification, Vec<SpecProblem>)> {
    let (faults, queries): (Vec<_>, Vec<_>) =
        crank::check(&book.printed).into_iter().partition(|found| found.severity == Severity::Fault);
    let converted = Specification::from_printed(&book.printed);
    // Conversion checks again, and alone knows what it could not make out; each fault is said once.
    let mut all = faults;
    if let Err(more) = &converted {
        all.extend(more.iter().filter(|problem| !all.contains(problem)).cloned().collect::<Vec<_>>());
    }
    report(book, &all, problems);
    Some((converted.ok().filter(|_| all.is_empty())?, queries))
}

/// The faults of a book whose form is at fault too, so that one slip of the pen does not hide a printed fault. What
/// could not be read would only be called missing, and what was already complained of is not complained of twice.
pub(crate) fn faults_besides(book: &Book, problems: &mut Problems) {
    let said: Vec<String> = problems.keys().map(str::to_owned).collect();
    let new = |fault: &SpecProblem| {
        let key = format!("{}{}", book.prefix, fault.key);
        let about_it = |said: &String| !said.is_empty() && (key.starts_with(said.as_str()) || said.starts_with(&key));
        fault.severity == Severity::Fault && fault.found != "nothing" && !said.iter().any(about_it)
    };
    let faults: Vec<SpecProblem> = crank::check(&book.printed).into_iter().filter(new).collect();
    report(book, &faults, problems);
}

fn report(book: &Book, faults: &[SpecProblem], problems: &mut Problems) {
    for fault in faults {
        let place = Place { file: &book.file, line: book.places.line(&fault.key) };
        let source = fault.source.as_ref().map(|source| format!(" ({source})")).unwrap_or_default();
        let key = format!("{}{}", book.prefix, fault.key);
        let advice = match fault.found.as_str() {
            "nothing" => format!("add it from the book{source}"),
            _ => match fault.confirm_line() {
                Some(line) => {
                    let place = match book.prefix {
                        "" => format!("at the top of {}", book.file),
                        _ => format!("in the table [specification] of {}", book.file),
                    };
                    format!("{}; compare it with the book; if it says so, write {line} {place}{source}", fault.cause)
                }
                None => format!("{}; compare it with the book{source}", fault.cause),
            },
        };
        problems.add(place, key, &fault.found, fault.expected.as_str(), advice);
    }
}
