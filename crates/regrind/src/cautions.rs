//! What stops the work until somebody has judged it: a crack, a bent shaft, heat, a throw that is out of place.

use crank::{Findings, JournalId, Specification};
use units::{Unit, show_mm};

use crate::chance::SAME_LENGTH_MM;
use crate::words::capital;
use crate::{Axis, Policy};

/// What sort of stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CautionKind {
    /// A crack was reported.
    Crack,
    /// A main runs out further than the book permits.
    Bend,
    /// A journal was hot.
    Heat,
    /// A pin's centre is out of tolerance and the axis held.
    Throw,
}

/// One stop.
#[derive(Clone, Debug, PartialEq)]
pub struct Caution {
    /// What sort.
    pub kind: CautionKind,
    /// The journal that it is about.
    pub journal: JournalId,
    /// What was found and what to do.
    pub says: String,
}

/// What stops the work, cracks first. It rests on what was found alone: no chance is drawn for it.
///
/// `unit` is what the sentences are worded in.
///
/// # Limits
/// A run-out is held against the book's limit as it was measured, without its uncertainty; a book without a limit stops
/// nothing.
pub fn cautions(specification: &Specification, findings: &Findings, policy: &Policy, unit: Unit) -> Vec<Caution> {
    let decimals = if unit == Unit::Inch { 4 } else { 3 };
    let size = |mm: f64| format!("{} {unit}", show_mm(mm, unit, decimals));
    let mut cautions = Vec::new();
    for damage in findings.damages.iter().filter(|d| d.is_crack()) {
        let says = format!(
            "Crack reported on {}: do not grind, straighten or run this shaft before somebody qualified has judged it \
             against the maker's manual.",
            damage.journal
        );
        cautions.push(Caution { kind: CautionKind::Crack, journal: damage.journal, says });
    }
    for damage in findings.damages.iter().filter(|d| d.is_heat()) {
        let says = format!(
            "Heat: {} has been hot. The skin may have lost its hardness and may hide cracks. Have it tested for hardness and \
             crack-tested before anything is ground; the maker's manual says whether it may be used at all.",
            damage.journal
        );
        cautions.push(Caution { kind: CautionKind::Heat, journal: damage.journal, says });
    }
    let mut told = false;
    for run_out in &findings.run_outs {
        let Some(limit) = specification.set(run_out.journal.set).run_out.map(|l| l.total_mm()) else {
            continue;
        };
        if run_out.total_mm > limit + SAME_LENGTH_MM {
            // What to do is said once.
            let advice = if std::mem::replace(&mut told, true) {
                ""
            } else {
                " Straightening can crack a shaft and some makers do not permit it: follow the maker's manual, crack-test \
                 afterwards, and measure everything again, for the pins move with the mains."
            };
            let says = format!(
                "{} runs out {} from low to high, over the limit of {}.{advice}",
                capital(&run_out.journal.to_string()),
                size(run_out.total_mm),
                size(limit)
            );
            cautions.push(Caution { kind: CautionKind::Bend, journal: run_out.journal, says });
        }
    }
    for centre in findings.centres.iter().filter(|_| policy.axis == Axis::Held) {
        let index = specification.index_tolerance_deg.unwrap_or(f64::INFINITY);
        let keeps = specification.throw_tolerance_mm.is_none_or(|tolerance| tolerance.permits_mm(centre.throw_mm));
        if !keeps || centre.index_deg.abs() > index + 1e-9 {
            let says = format!(
                "The throw of {} is already out of tolerance; grinding on the present axis leaves it so.",
                centre.journal
            );
            cautions.push(Caution { kind: CautionKind::Throw, journal: centre.journal, says });
        }
    }
    cautions
}
