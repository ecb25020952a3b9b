//! From the specification as printed to the one that is used.

use crank::{Severity, SpecProblem, Specification};

use crate::Book;
use crate::problem::{Place, Problems};

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
    for fault in &all {
        let place = Place { file: &book.file, line: book.places.line(&fault.key) };
        let source = fault.source.as_ref().map(|source| format!(" ({source})")).unwrap_or_default();
        let key = format!("{}{}", book.prefix, fault.key);
        let advice = match fault.found.as_str() {
            "nothing" => format!("add it from the book{source}"),
            _ => format!("{}; compare it with the book{source}", fault.cause),
        };
        problems.add(place, key, &fault.found, fault.expected.as_str(), advice);
    }
    Some((converted.ok().filter(|_| all.is_empty())?, queries))
}
