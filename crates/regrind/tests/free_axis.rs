//! A free axis always answers: random sheets that are hard on the linear programme, none of them with a fault.
//!
//! All 10,000: `TENUNDER_TEST_SHEETS=10000 cargo test --release -p regrind --test free_axis`.

mod prone;

use crank::{Findings, Specification};
use prone::{Prone, prone};
use rayon::prelude::*;
use regrind::{Axis, Failure, IndexDatum, Policy, assess, spares};
use units::Unit;

/// How many sheets are tried, unless `TENUNDER_TEST_SHEETS` says otherwise.
const SHEETS: u64 = 250;

/// 1e-9 in, to which spares are held everywhere.
const SAME_MM: f64 = 2.54e-8;

fn sheets() -> u64 {
    std::env::var("TENUNDER_TEST_SHEETS").ok().and_then(|told| told.parse().ok()).unwrap_or(SHEETS)
}

/// Puts every sheet to the test and shows the first faults.
fn hold(test: impl Fn(Prone) -> Result<(), String> + Sync) {
    let faults: Vec<String> = (0..sheets())
        .into_par_iter()
        .filter_map(|seed| test(prone(seed)).err().map(|fault| format!("sheet {seed}: {fault}")))
        .collect();
    assert!(faults.is_empty(), "{} of {}: {:#?}", faults.len(), sheets(), &faults[..faults.len().min(20)]);
}

#[test]
fn no_sheet_is_left_without_an_answer() {
    hold(|Prone { specification, findings, policy }| {
        let verdict =
            assess(&specification, &findings, &policy, Unit::Millimetre, &|_| ()).map_err(|fault| fault.to_string())?;
        // Something is measured of each set, so every pair has its spare, and every draw counted.
        let pairs = specification.main.ladder_mm().len() * specification.pin.ladder_mm().len();
        let told = verdict.pairs.len() == pairs
            && verdict.pairs.iter().all(|p| p.spare_mm.is_finite() && p.chance.draws == policy.draws);
        if told { Ok(()) } else { Err(format!("{:?}", verdict.pairs)) }
    });
}

/// A wider choice of placements never costs spare, and one more point never gains any.
#[test]
fn freedom_never_costs_spare_and_a_point_never_gains_any() {
    hold(|Prone { specification, findings, policy }| {
        let asked = |findings: &Findings, axis: Axis, index_datum: IndexDatum| {
            all_spares(&specification, findings, &Policy { axis, index_datum, ..policy.clone() })
                .map_err(|fault| fault.to_string())
        };
        let fixed = asked(&findings, Axis::Free, IndexDatum::Fixed)?;
        let free = asked(&findings, Axis::Free, IndexDatum::Free)?;
        no_more(&fixed, &free, "with the index fixed")?;
        // A pin's present centre may lie beyond what the book lets the new one off, and then the held axis has more.
        if findings.centres.is_empty() {
            no_more(&asked(&findings, Axis::Held, IndexDatum::Fixed)?, &fixed, "on the held axis")?;
        }
        let mut more = findings.clone();
        for trace in &mut more.traces {
            trace.angles_deg.push(trace.angles_deg.first().map_or(0.0, |first| first + 100.0));
            trace.departures_mm.push(-0.01);
        }
        no_more(&asked(&more, Axis::Free, IndexDatum::Fixed)?, &fixed, "with a point more")
    });
}

fn all_spares(specification: &Specification, findings: &Findings, policy: &Policy) -> Result<Vec<f64>, Failure> {
    spares(specification, findings, policy).map(|spares| spares.into_iter().map(|(_, _, spare_mm)| spare_mm).collect())
}

fn no_more(less: &[f64], more: &[f64], what: &str) -> Result<(), String> {
    if less.is_empty() || less.len() != more.len() {
        return Err(format!("{} and {} pairs", less.len(), more.len()));
    }
    match less.iter().zip(more).find(|(less, more)| **less > **more + SAME_MM) {
        None => Ok(()),
        Some((less, more)) => Err(format!("{less} mm {what}, {more} mm without")),
    }
}
