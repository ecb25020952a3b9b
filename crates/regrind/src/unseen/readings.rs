//! The diameters of one journal, as the fit of its shape takes them.

use std::collections::BTreeSet;

use crank::{Findings, JournalId, Specification};

use super::shape::{DIRECTIONS, across};

/// `front` and `rear` as a share of the journal's length from its middle: there zeta is one.
pub(super) const END_STATION: f64 = 0.35;
/// Diameters across one trace that the fit takes; more would only say the same again.
const MOST_OF_A_TRACE: usize = 12;
/// Directions across which the mean size of a sweep stands in for diameters that it does not cross.
const MEAN_ACROSS_DEG: [f64; 3] = [0.0, 60.0, 120.0];
/// Two readings have the same spread of their own when they differ by no more than this share.
const SAME_SPREAD: f64 = 1e-9;

/// One diameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Diameter {
    /// Direction across, from the journal's own throw (mains: from the first).
    pub(super) angle_deg: f64,
    /// Along the journal: minus one at the front station, one at the rear.
    pub(super) zeta: f64,
    /// Corrected size.
    pub(super) size_mm: f64,
    /// Variance that it has for itself.
    pub(super) own_mm2: f64,
    /// Instrument whose error it shares, as an index into [`Findings::instruments`].
    pub(super) instrument: usize,
}

/// The diameters of one journal: its readings but for those left out, and those that its traces cross.
///
/// `left_out` holds indices into [`Findings::readings`].
pub(super) fn diameters(
    specification: &Specification,
    findings: &Findings,
    id: JournalId,
    left_out: &BTreeSet<usize>,
) -> Vec<Diameter> {
    let end_mm = END_STATION * specification.set(id.set).length_mm;
    let zeta = |at_mm: f64| if end_mm > 0.0 { at_mm / end_mm } else { 0.0 };
    let mut found = Vec::new();
    for (index, reading) in findings.readings.iter().enumerate() {
        let Some(instrument) = findings.instruments.get(reading.with) else { continue };
        if reading.journal != id || reading.sizes.is_empty() || left_out.contains(&index) {
            continue;
        }
        let repeats = reading.sizes.len();
        let mean_mm = reading.sizes.iter().map(|entry| entry.mm).sum::<f64>() / repeats as f64;
        found.push(Diameter {
            angle_deg: reading.plane_deg,
            zeta: zeta(reading.at_mm),
            size_mm: instrument.corrected_mm(mean_mm),
            own_mm2: instrument.own_variance_mm2(repeats),
            instrument: reading.with,
        });
    }
    let throw_deg = specification.throw_deg(id);
    let sizes = crank::sizes(findings, id);
    for (index, trace) in findings.traces.iter().enumerate() {
        let Some(instrument) = findings.instruments.get(trace.with) else { continue };
        let across: Vec<_> = sizes.iter().filter(|size| size.trace == Some(index)).collect();
        if trace.journal == id && across.is_empty() {
            // A sweep that crosses no diameter still has its mean size: in no direction, and no better than it is ragged.
            let ragged_mm2 =
                trace.departures_mm.iter().map(|d| d * d).sum::<f64>() / trace.departures_mm.len().max(1) as f64;
            found.extend(MEAN_ACROSS_DEG.map(|angle_deg| Diameter {
                angle_deg,
                zeta: zeta(trace.at_mm),
                size_mm: instrument.corrected_mm(trace.size.mm),
                own_mm2: instrument.own_variance_mm2(1) + 4.0 * ragged_mm2,
                instrument: trace.with,
            }));
        }
        let every = across.len().div_ceil(MOST_OF_A_TRACE).max(1);
        found.extend(across.into_iter().step_by(every).map(|size| Diameter {
            angle_deg: size.plane_deg - throw_deg,
            zeta: zeta(size.at_mm),
            size_mm: size.size_mm,
            own_mm2: instrument.own_variance_mm2(1) + 2.0 * trace.departure_sd_mm.powi(2),
            instrument: trace.with,
        }));
    }
    found
}

/// Diameters with one spread of their own, and what they show of each direction and sharpness.
pub(super) struct Group {
    pub(super) own_mm2: f64,
    pub(super) members: Vec<usize>,
}

/// The diameters by the spread that they have for themselves.
pub(super) fn groups(diameters: &[Diameter]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (index, diameter) in diameters.iter().enumerate() {
        let same = |group: &&mut Group| (group.own_mm2 - diameter.own_mm2).abs() <= SAME_SPREAD * group.own_mm2;
        match groups.iter_mut().find(same) {
            Some(group) => group.members.push(index),
            None => groups.push(Group { own_mm2: diameter.own_mm2, members: vec![index] }),
        }
    }
    groups
}

/// What each diameter shows of an oval that lies in each direction, for one sharpness.
pub(super) fn shown(diameters: &[Diameter], sharpness: usize) -> Vec<[f64; DIRECTIONS]> {
    let of = |diameter: &Diameter| std::array::from_fn(|direction| across(diameter.angle_deg, direction, sharpness));
    diameters.iter().map(of).collect()
}
