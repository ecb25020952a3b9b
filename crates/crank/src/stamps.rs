//! Stamps on the crank held against its ladder and its sizes.

use units::{Unit, show_mm, show_undersize_in_its_unit_mm, show_undersize_mm};

use crate::condition::{SAME_UNDERSIZE_MM as SAME_MM, ground_to_one_of, mean_sizes};
use crate::{Findings, GroundTo, JournalId, SetName, Specification, Stamp, undersizes_known_mm};

/// No wear takes so much off every place of a set: 0.004 in (0.1 mm).
const NO_WEAR_MM: f64 = 0.1016;

/// A stamp that does not fit, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct NotAsStamped {
    /// The stamp.
    pub stamp: Stamp,
    /// Whether the sizes contradict it: then stamp or sizes were misread. Otherwise it is only of another ladder.
    pub contradicted: bool,
    /// What it does not fit, and what to do.
    pub says: String,
}

/// Stamps that are no undersize of this engine, and stamps that the sizes contradict.
///
/// A stamp is contradicted where [`ground_to`](crate::ground_to), asked about the journals that it is about, neither answers the stamped
/// undersize nor names it as another that the sizes would fit. A set's stamp is not about journals that carry their own.
/// Where nothing was measured nothing is contradicted.
///
/// # Limits
/// Heavy wear looks like a deeper undersize: a set worn by a whole step since it was stamped is named here too.
pub fn not_as_stamped(specification: &Specification, findings: &Findings, unit: Unit) -> Vec<NotAsStamped> {
    let against = |stamp: &Stamp| {
        let off_size = off_size(specification, findings, stamp, unit);
        let contradicted = off_size.is_some();
        let foreign = off_the_ladder(specification, stamp, unit);
        let says = match (foreign, off_size) {
            (None, None) => return None,
            (None, Some(off_size)) => off_size,
            (Some(foreign), Some(off_size)) => format!("{foreign} {off_size}"),
            (Some(foreign), None) if measured(findings, stamp).is_empty() => {
                format!("{foreign} See whose undersizes were used.")
            }
            (Some(foreign), None) => {
                format!(
                    "{foreign} The sizes bear it out: as it stands it takes shells of that ladder, not of this one."
                )
            }
        };
        Some(NotAsStamped { stamp: *stamp, contradicted, says })
    };
    findings.stamps.iter().filter_map(against).collect()
}

fn off_the_ladder(specification: &Specification, stamp: &Stamp, unit: Unit) -> Option<String> {
    let ladder = specification.set(stamp.set).ladder_mm();
    if ladder.iter().any(|rung| (rung - stamp.undersize_mm).abs() < SAME_MM) {
        return None;
    }
    let rungs: Vec<String> = ladder.iter().map(|rung| show_undersize_mm(*rung, unit)).collect();
    Some(format!("{}, which is no undersize of this engine ({} {unit}).", stamped(stamp, unit), rungs.join(", ")))
}

/// The sizes that a stamp is about.
fn measured(findings: &Findings, stamp: &Stamp) -> Vec<(f64, f64)> {
    let own = |journal: JournalId| findings.stamps.iter().any(|other| other.journal == Some(journal));
    mean_sizes(findings, |journal| match stamp.journal {
        Some(one) => journal == one,
        None => journal.set == stamp.set && !own(journal),
    })
}

fn off_size(specification: &Specification, findings: &Findings, stamp: &Stamp, unit: Unit) -> Option<String> {
    let sizes = measured(findings, stamp);
    let largest_mm = sizes.iter().map(|(mm, _)| *mm).filter(|mm| mm.is_finite()).reduce(f64::max)?;
    let set = specification.set(stamp.set);
    let found = ground_to_one_of(set, &undersizes_known_mm(specification, findings, stamp.set), &sizes);
    let fits = |mm: &f64| (mm - stamp.undersize_mm).abs() < SAME_MM;
    if found.bigger_than_new || fits(&found.undersize_mm) || found.also.iter().any(fits) {
        return None; // bigger than new is said as such
    }
    let (size, allowed) = (shown(largest_mm, unit), set.finished(stamp.undersize_mm));
    let better = name(&found, unit);
    let (short_mm, low) = (allowed.low_mm - largest_mm, shown(allowed.low_mm, unit));
    let why = if largest_mm > allowed.high_mm {
        let which = largest_journal(specification, findings, stamp, allowed.high_mm)
            .map_or("the largest size found is".to_owned(), |journal| format!("{journal} measures"));
        format!("{which} {size} {unit}, and a journal ground to that is {} at the most", shown(allowed.high_mm, unit))
    } else if short_mm > NO_WEAR_MM {
        format!(
            "the largest size found is {size} {unit}, {} below the {low} that it allows at the least: no wear takes that off \
             all round, so it cannot be that. It fits {better}",
            shown(short_mm, unit)
        )
    } else {
        format!("the largest size found is {size} {unit}, which fits {better} better")
    };
    Some(format!("{}, but {why}. Read the stamp again, and measure again.", stamped(stamp, unit)))
}

/// The largest journal that a set's stamp is about, where others of the set are not above what the stamp allows.
fn largest_journal(
    specification: &Specification,
    findings: &Findings,
    stamp: &Stamp,
    high_mm: f64,
) -> Option<JournalId> {
    let own = |journal: JournalId| findings.stamps.iter().any(|other| other.journal == Some(journal));
    let journals = specification.journals().filter(|&id| stamp.journal.is_none() && id.set == stamp.set && !own(id));
    let largest = |id: JournalId| {
        let sizes = mean_sizes(findings, |journal| journal == id);
        sizes.into_iter().map(|(mm, _)| mm).filter(|mm| mm.is_finite()).reduce(f64::max)
    };
    let sized: Vec<(JournalId, f64)> = journals.filter_map(|id| Some((id, largest(id)?))).collect();
    let some_fit = sized.iter().any(|(_, mm)| *mm <= high_mm);
    sized.into_iter().filter(|_| some_fit).max_by(|a, b| a.1.total_cmp(&b.1)).map(|(id, _)| id)
}

fn name(found: &GroundTo, unit: Unit) -> String {
    if found.undersize_mm > 0.0 {
        format!("{} under", show_undersize_in_its_unit_mm(found.undersize_mm, unit))
    } else {
        "standard".to_owned()
    }
}

/// `The mains are stamped 0.010 in under`.
fn stamped(stamp: &Stamp, unit: Unit) -> String {
    let what = if stamp.undersize_mm > 0.0 {
        format!("{} under", show_undersize_in_its_unit_mm(stamp.undersize_mm, unit))
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
