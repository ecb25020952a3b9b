//! Corrected sizes of one journal.

use crate::{Findings, JournalId, Reading, Trace};

/// Two traced directions are opposite within this.
const OPPOSITE_DEG: f64 = 1e-6;

/// Across a gap wider than this between traced directions nothing is interpolated.
const WIDEST_GAP_DEG: f64 = 45.0;

/// One diameter of a journal: a reading, or two opposite points of a trace.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Size {
    /// Along the journal from its mid-length.
    pub at_mm: f64,
    /// Direction across, from 0 up to 180 degrees.
    pub plane_deg: f64,
    /// The size: corrected for the instrument's zero and for temperature.
    pub size_mm: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty_mm: f64,
    /// The trace it comes from, as an index into [`Findings::traces`]; `None` for a reading.
    pub trace: Option<usize>,
}

/// The corrected sizes of a journal: one for each reading, then one for each diameter that its traces cross.
///
/// A reading's size is the mean of its repeats. A trace gives a diameter at each traced direction whose opposite was
/// traced too; where it was not, the opposite departure is interpolated between its neighbours, unless they are more
/// than 45 degrees apart.
///
/// # Units
/// Millimetres on the diameter; a trace's departures are on the radius, so two of them make one diameter's.
pub fn sizes(findings: &Findings, journal: JournalId) -> Vec<Size> {
    let mut sizes: Vec<Size> =
        findings.readings.iter().filter(|reading| reading.journal == journal).filter_map(|r| of(findings, r)).collect();
    for (index, trace) in findings.traces.iter().enumerate().filter(|(_, trace)| trace.journal == journal) {
        across(findings, index, trace, &mut sizes);
    }
    sizes
}

/// The size of one reading.
fn of(findings: &Findings, reading: &Reading) -> Option<Size> {
    let repeats = reading.sizes.len();
    if repeats == 0 {
        return None;
    }
    let read_mm = reading.sizes.iter().map(|entry| entry.mm).sum::<f64>() / repeats as f64;
    let instrument = findings.instruments.get(reading.with)?;
    Some(Size {
        at_mm: reading.at_mm,
        plane_deg: plane(reading.plane_deg),
        size_mm: instrument.corrected_mm(read_mm),
        standard_uncertainty_mm: instrument.standard_uncertainty_mm(repeats),
        trace: None,
    })
}

/// The diameters across one trace.
fn across(findings: &Findings, index: usize, trace: &Trace, sizes: &mut Vec<Size>) {
    let Some(instrument) = findings.instruments.get(trace.with) else { return };
    let mean_mm = instrument.corrected_mm(trace.size.mm);
    let mean_variance = instrument.standard_uncertainty_mm(1).powi(2);
    let mut points: Vec<(f64, f64)> = trace
        .angles_deg
        .iter()
        .zip(&trace.departures_mm)
        .map(|(angle, departure)| (angle.rem_euclid(360.0), *departure))
        .filter(|(angle, departure)| angle.is_finite() && departure.is_finite())
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut add = |angle_deg: f64, departures_mm: f64, departures: f64| {
        sizes.push(Size {
            at_mm: trace.at_mm,
            plane_deg: plane(angle_deg),
            size_mm: mean_mm + departures_mm,
            standard_uncertainty_mm: (mean_variance + departures * trace.departure_sd_mm.powi(2)).sqrt(),
            trace: Some(index),
        });
    };
    for &(angle, departure) in &points {
        let opposite = (angle + 180.0).rem_euclid(360.0);
        if let Some(&(there, other)) = points.iter().find(|(there, _)| turn(*there, opposite) <= OPPOSITE_DEG) {
            // Both ends find this diameter; it is taken once.
            if angle < there {
                add(angle, departure + other, 2.0);
            }
        } else if let Some((other, share)) = between(&points, opposite) {
            add(angle, departure + other, 1.0 + share * share + (1.0 - share) * (1.0 - share));
        }
    }
}

/// The departure at a direction, between its two traced neighbours, and how far on from the first it lies.
fn between(points: &[(f64, f64)], angle_deg: f64) -> Option<(f64, f64)> {
    let after = points.iter().find(|(angle, _)| *angle > angle_deg).or(points.first())?;
    let before = points.iter().rev().find(|(angle, _)| *angle < angle_deg).or(points.last())?;
    let gap = (after.0 - before.0).rem_euclid(360.0);
    let on = (angle_deg - before.0).rem_euclid(360.0);
    if gap <= 0.0 || gap > WIDEST_GAP_DEG {
        return None;
    }
    let share = on / gap;
    Some((before.1 + share * (after.1 - before.1), share))
}

/// How far two directions are apart, at the most half a turn.
fn turn(a_deg: f64, b_deg: f64) -> f64 {
    let apart = (a_deg - b_deg).rem_euclid(360.0);
    apart.min(360.0 - apart)
}

/// A direction across, from 0 up to 180 degrees.
fn plane(deg: f64) -> f64 {
    let plane = deg.rem_euclid(180.0);
    // The remainder of a tiny negative number rounds to 180 itself.
    if plane >= 180.0 { 0.0 } else { plane }
}
