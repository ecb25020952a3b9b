//! Stamps on the crank held against its ladder and its sizes.

use units::{Unit, show_mm, show_undersize_mm};

use crate::condition::mean_sizes;
use crate::{Findings, JournalId, SetName, Specification, Stamp, ground_to};

/// Two undersizes are one where they differ by less: a metric rung beside its inch neighbour (0.25 mm and 0.010 in)
/// differs by 0.004 mm and is another.
const SAME_MM: f64 = 0.0005;

/// A stamp that does not fit, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct NotAsStamped {
    /// The stamp.
    pub stamp: Stamp,
    /// What it does not fit, and what to do.
    pub says: String,
}

/// Stamps that are no undersize of this engine, and stamps that the sizes contradict.
///
/// A stamp is contradicted where [`ground_to`], asked about the journals that it is about, neither answers the stamped
/// undersize nor names it as another that the sizes would fit. A set's stamp is not about journals that carry their own.
/// Where nothing was measured nothing is contradicted.
///
/// # Limits
/// Heavy wear looks like a deeper undersize: a set worn by a whole step since it was stamped is named here too.
pub fn not_as_stamped(specification: &Specification, findings: &Findings, unit: Unit) -> Vec<NotAsStamped> {
    let against = |stamp: &Stamp| {
        let says =
            off_the_ladder(specification, stamp, unit).or_else(|| off_size(specification, findings, stamp, unit));
        says.map(|says| NotAsStamped { stamp: *stamp, says })
    };
    findings.stamps.iter().filter_map(against).collect()
}

fn off_the_ladder(specification: &Specification, stamp: &Stamp, unit: Unit) -> Option<String> {
    let ladder = specification.set(stamp.set).ladder_mm();
    if ladder.iter().any(|rung| (rung - stamp.undersize_mm).abs() < SAME_MM) {
        return None;
    }
    let rungs: Vec<String> = ladder.iter().map(|rung| show_undersize_mm(*rung, unit)).collect();
    Some(format!(
        "{}, which is no undersize of this engine ({} {unit}). Read the stamp again, and see whose undersizes were used.",
        stamped(stamp, unit),
        rungs.join(", ")
    ))
}

fn off_size(specification: &Specification, findings: &Findings, stamp: &Stamp, unit: Unit) -> Option<String> {
    let own = |journal: JournalId| findings.stamps.iter().any(|other| other.journal == Some(journal));
    let sizes = mean_sizes(findings, |journal| match stamp.journal {
        Some(one) => journal == one,
        None => journal.set == stamp.set && !own(journal),
    });
    let largest_mm = sizes.iter().map(|(mm, _)| *mm).filter(|mm| mm.is_finite()).reduce(f64::max)?;
    let set = specification.set(stamp.set);
    let found = ground_to(set, &sizes);
    let fits = |mm: &f64| (mm - stamp.undersize_mm).abs() < SAME_MM;
    if found.bigger_than_new || fits(&found.undersize_mm) || found.also.iter().any(fits) {
        return None; // bigger than new is said as such
    }
    let (size, allowed) = (shown(largest_mm, unit), set.finished(stamp.undersize_mm));
    let why = if largest_mm > allowed.high_mm {
        format!("the largest size found is {size} {unit}, and a journal ground to that is {} at the most", {
            shown(allowed.high_mm, unit)
        })
    } else {
        format!(
            "the largest size found is {size} {unit}, which fits {} better",
            match show_undersize_mm(found.undersize_mm, unit) {
                figure if found.undersize_mm > 0.0 => format!("{figure} {unit} under"),
                _ => "standard".to_owned(),
            }
        )
    };
    Some(format!("{}, but {why}. Read the stamp again, and measure again.", stamped(stamp, unit)))
}

/// `The mains are stamped 0.010 in under`.
fn stamped(stamp: &Stamp, unit: Unit) -> String {
    let what = if stamp.undersize_mm > 0.0 {
        format!("{} {unit} under", show_undersize_mm(stamp.undersize_mm, unit))
    } else {
        "standard".to_owned()
    };
    match (stamp.journal, stamp.set) {
        (Some(journal), SetName::Main) => format!("Main {} is stamped {what}", journal.number),
        (Some(journal), SetName::Pin) => format!("Pin {} is stamped {what}", journal.number),
        (None, SetName::Main) => format!("The mains are stamped {what}"),
        (None, SetName::Pin) => format!("The pins are stamped {what}"),
    }
}

fn shown(mm: f64, unit: Unit) -> String {
    show_mm(mm, unit, unit.usual_decimals())
}
