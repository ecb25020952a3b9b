//! Sets that are ground to any size (white metal, rollers): they have no ladder, so the first size that cleans up is found
//! first, and is then judged as a ladder of that size alone.

use std::collections::BTreeSet;

use crank::{Findings, SetName, Specification};

use crate::as_measured::AsMeasured;
use crate::assess::{ladders, without};
use crate::axis::Told;
use crate::chance::SAME_LENGTH_MM;
use crate::first_size::{first_size, off_the_ladder_mm};
use crate::unseen::Model;
use crate::{Axis, Policy};

/// The specification with the sizes that its sets without a ladder can be ground to; nothing where every set has one. On a
/// free axis that is the size with the greatest spare, and beside it, where it is another, the one on the present axis.
pub(crate) fn with_sizes(
    specification: &Specification,
    findings: &Findings,
    policy: &Policy,
    doubtful: &BTreeSet<usize>,
) -> Option<Specification> {
    let open = |set: &SetName| specification.set(*set).any_size && specification.set(*set).undersizes_mm.is_empty();
    let sets: Vec<SetName> = SetName::BOTH.into_iter().filter(open).collect();
    if sets.is_empty() {
        return None;
    }
    let ladders = ladders(specification, policy);
    let single = Policy { draws: 1, ..policy.clone() };
    let model = Model::new(specification, findings, policy, doubtful);
    let seen = AsMeasured::new(specification, &without(findings, doubtful), &single, &ladders, &model, false);
    let standard_mm = ladders.standard_mm();
    let mut told = Told::alone(&ladders, seen.questions.geometry.present_placement());
    if policy.axis != Axis::Held {
        let mut stand = seen.questions.start();
        for set in sets.iter().filter(|set| seen.questions.is_measured(**set)) {
            let best = seen.questions.best(Some(*set), &seen.radii_mm, standard_mm, &mut stand);
            told.placements.extend(best.map(|best| best.placement));
        }
    }
    let counted = model.count(&ladders, &told, None, policy.draws, &|_| ());
    let mut sized = specification.clone();
    for set in sets {
        let s = usize::from(set == SetName::Pin);
        if model.steps(set).is_none() {
            continue;
        }
        let book = specification.set(set);
        let at_standard_mm = off_the_ladder_mm(book, specification, policy);
        // On each placement, the present one first; standard is no undersize.
        let undersize_mm = |rooms: &[Vec<f64>; 2]| {
            let found = first_size(book, at_standard_mm, &rooms[s], standard_mm[s], policy)?;
            Some(found.undersize_mm).filter(|mm| *mm > 0.0)
        };
        let undersizes_mm: Vec<Option<f64>> = counted.rooms_mm.iter().map(undersize_mm).collect();
        let own = if set == SetName::Main { &mut sized.main } else { &mut sized.pin };
        // Of placements that were made for the other set only the best counts, and the present one.
        let present_mm = undersizes_mm.first().copied().flatten();
        let least_mm = undersizes_mm.iter().copied().flatten().min_by(f64::total_cmp);
        own.undersizes_mm = least_mm.into_iter().chain(present_mm).collect();
        own.undersizes_mm.dedup_by(|a, b| (*a - *b).abs() < SAME_LENGTH_MM);
    }
    Some(sized)
}

/// The specification with the sizes that somebody chose for its sets without a ladder; nothing where every set has one.
pub(crate) fn with_these(specification: &Specification, ground_mm: [Option<f64>; 2]) -> Option<Specification> {
    let any = SetName::BOTH.into_iter().any(|set| specification.set(set).any_size);
    any.then(|| {
        let mut sized = specification.clone();
        for (own, mm) in [&mut sized.main, &mut sized.pin].into_iter().zip(ground_mm) {
            if own.any_size {
                own.undersizes_mm = mm.filter(|mm| *mm > 0.0).into_iter().collect();
            }
        }
        sized
    })
}
