//! What a set of journals was last ground to.

use crate::{Findings, JournalId, JournalSet, SetName, Specification};

/// Coverage of the doubt about a size.
const TWICE: f64 = 2.0;

/// Wear that every crank has without anybody noticing: 0.002 in. A size that a shallower undersize would show after so
/// little wear can be of that undersize. (Shells 0.002 in under are made for just this: TM 5-3895-348-14&P-2.)
const LITTLE_WEAR_MM: f64 = 0.0508;

/// A set that stands this much nearer to the next undersize than to its own is probably that undersize ground large.
const NEARER: f64 = 0.25;

/// What a set was last ground to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GroundTo {
    /// The undersize, on the diameter; zero for standard.
    pub undersize_mm: f64,
    /// Other undersizes that the sizes would fit, ascending.
    pub also: Vec<f64>,
    /// The largest size is above the limits even when new: misread, plated, or another engine's crank.
    pub bigger_than_new: bool,
}

/// What a set was last ground to, from its sizes with their standard uncertainties (readings, and the mean size of
/// traces).
///
/// Journals only get smaller, so it is the deepest undersize whose upper limit is not below the largest size by more
/// than twice that size's standard uncertainty; standard where nothing was measured.
///
/// Another undersize is named beside it where
/// - the answer holds only within the doubt: the size lies above its upper limit, so the next shallower one fits too;
/// - a shallower one would show the size after 0.002 in (0.05 mm) of wear or less;
/// - the size lies just above a deeper one, and four times further below the limits of the answer: that deeper one was
///   ground too large.
///
/// # Limits
/// One misread size too large hides an undersize; look for misreads first.
pub fn ground_to(set: &JournalSet, largest: &[(f64, f64)]) -> GroundTo {
    ground_to_one_of(set, &set.ladder_mm(), largest)
}

/// The same where a journal may have been ground to any of these undersizes, standard first, ascending.
pub(crate) fn ground_to_one_of(set: &JournalSet, ladder_mm: &[f64], largest: &[(f64, f64)]) -> GroundTo {
    let finite = largest.iter().filter(|(size, doubt)| size.is_finite() && doubt.is_finite());
    let Some(&(size_mm, doubt_mm)) = finite.max_by(|a, b| a.0.total_cmp(&b.0)) else { return GroundTo::default() };
    let reaches = |undersize_mm: f64| set.finished(undersize_mm).high_mm >= size_mm - TWICE * doubt_mm;
    let rung = ladder_mm.iter().rposition(|undersize| reaches(*undersize));
    let bigger_than_new = rung.is_none();
    let rung = rung.unwrap_or(0);
    let undersize_mm = ladder_mm.get(rung).copied().unwrap_or(0.0);
    let only_by_doubt = !bigger_than_new && set.finished(undersize_mm).high_mm < size_mm;
    let mut also: Vec<f64> = Vec::new();
    for (n, &shallower) in ladder_mm.iter().enumerate().take(rung) {
        let little_wear = set.finished(shallower).low_mm - size_mm <= LITTLE_WEAR_MM;
        if little_wear || only_by_doubt && n + 1 == rung {
            also.push(shallower);
        }
    }
    if let Some(&deeper) = ladder_mm.get(rung + 1) {
        let above = size_mm - set.finished(deeper).high_mm;
        let below = set.finished(undersize_mm).low_mm - size_mm;
        if above > 0.0 && above < NEARER * below {
            also.push(deeper);
        }
    }
    GroundTo { undersize_mm, also, bigger_than_new }
}

/// What a set was last ground to, from its largest size: every reading's mean and every trace's mean size, each with
/// its own standard uncertainty.
///
/// A stamp on the set that the sizes would fit settles it: the answer is what is stamped, and nothing else is named beside
/// it. It may be of another ladder than the engine's: shells of one are fitted too. See [`undersizes_known_mm`].
pub fn last_ground_to(specification: &Specification, findings: &Findings, set: SetName) -> GroundTo {
    let sizes = mean_sizes(findings, |journal| journal.set == set);
    let found = ground_to_one_of(specification.set(set), &undersizes_known_mm(specification, findings, set), &sizes);
    let stamp = findings.stamps.iter().find(|stamp| stamp.set == set && stamp.journal.is_none());
    let fits = |mm: &&f64| stamp.is_some_and(|stamp| (**mm - stamp.undersize_mm).abs() < SAME_UNDERSIZE_MM);
    let stamped = std::iter::once(&found.undersize_mm).chain(&found.also).find(fits).copied();
    match stamped {
        Some(undersize_mm) if !found.bigger_than_new => GroundTo { undersize_mm, also: Vec::new(), ..found },
        _ => found,
    }
}

/// Two undersizes are one where they differ by less: a metric rung beside its inch neighbour (0.25 mm and 0.010 in)
/// differs by 0.004 mm and is another.
pub(crate) const SAME_UNDERSIZE_MM: f64 = 0.0005;

/// Every undersize that a set, or a journal of it, can have been ground to: standard, those of the engine's ladder, and what
/// is stamped on it beside them; ascending. A set that is ground to any size, and carries no stamp, can have been ground to its
/// largest size, wherever that lies further below the limits at standard than a little wear.
///
/// # Units
/// Millimetres on the diameter.
pub fn undersizes_known_mm(specification: &Specification, findings: &Findings, set: SetName) -> Vec<f64> {
    let mut known_mm = specification.set(set).ladder_mm();
    for stamp in findings.stamps.iter().filter(|stamp| stamp.set == set && stamp.undersize_mm.is_finite()) {
        if known_mm.iter().all(|mm| (mm - stamp.undersize_mm).abs() >= SAME_UNDERSIZE_MM) {
            known_mm.push(stamp.undersize_mm);
        }
    }
    // What went to any size stands at its largest size at the least: nothing wears a journal larger.
    let book = specification.set(set);
    if book.any_size && !findings.stamps.iter().any(|stamp| stamp.set == set && stamp.journal.is_none()) {
        let sizes = mean_sizes(findings, |journal| journal.set == set);
        let largest_mm = sizes.iter().map(|(mm, _)| *mm).filter(|mm| mm.is_finite()).reduce(f64::max);
        let undersize_mm = largest_mm.map(|mm| book.size.middle_mm() - mm);
        known_mm.extend(undersize_mm.filter(|mm| *mm > book.size.width_mm() / 2.0 + LITTLE_WEAR_MM));
    }
    known_mm.sort_by(f64::total_cmp);
    known_mm
}

/// Every reading's mean and every trace's mean size on the journals asked for, with its standard uncertainty.
pub(crate) fn mean_sizes(findings: &Findings, asked: impl Fn(JournalId) -> bool) -> Vec<(f64, f64)> {
    let mut sizes = Vec::new();
    for reading in findings.readings.iter().filter(|r| asked(r.journal) && !r.sizes.is_empty()) {
        if let Some(instrument) = findings.instruments.get(reading.with) {
            let repeats = reading.sizes.len();
            let mean = reading.sizes.iter().map(|e| e.mm).sum::<f64>() / repeats as f64;
            sizes.push((instrument.corrected_mm(mean), instrument.standard_uncertainty_mm(repeats)));
        }
    }
    for trace in findings.traces.iter().filter(|t| asked(t.journal)) {
        if let Some(instrument) = findings.instruments.get(trace.with) {
            sizes.push((instrument.corrected_mm(trace.size.mm), instrument.standard_uncertainty_mm(1)));
        }
    }
    sizes
}
