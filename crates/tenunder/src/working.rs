//! The working behind a verdict: every station and plane, the traces, and how far each instrument can be trusted.

use std::fmt::Write;

use crank::{Condition, Trace};
use gauge::roundness::{Profile, Reference};
use regrind::{Verdict, station_name};
use sheet::Sheet;
use units::{Unit, show_mm};

use crate::report::wrap;

/// The working as text, under a heading of its own.
pub(crate) fn working(sheet: &Sheet, verdict: &Verdict) -> String {
    let mut out = String::from("\nWORKING\n");
    for journal in &verdict.journals {
        out += &condition(sheet, &journal.condition);
    }
    out += &remarks(verdict);
    for trace in &sheet.findings.traces {
        out += &roundness(sheet, trace);
    }
    for (index, instrument) in sheet.findings.instruments.iter().enumerate() {
        let sizes = sheet.findings.readings.iter().filter(|r| r.with == index).flat_map(|r| &r.sizes);
        let traced = sheet.findings.traces.iter().filter(|t| t.with == index).map(|t| &t.size);
        // The budget is made for the largest size: what depends on the size (temperature) is largest there.
        let largest = sizes.chain(traced).map(|entry| entry.mm).fold(0.0, f64::max);
        if largest > 0.0 {
            for line in instrument.budget(largest, 1).in_words(sheet.unit).lines() {
                // Rows of the table keep their columns; sentences are wrapped.
                if line.starts_with(' ') {
                    let _ = writeln!(out, "  {line}");
                } else {
                    out += &wrap(line, "  ", "  ");
                }
            }
        }
    }
    out
}

fn figure(mm: f64, unit: Unit) -> String {
    show_mm(mm, unit, unit.usual_decimals())
}

fn condition(sheet: &Sheet, condition: &Condition) -> String {
    let unit = sheet.unit;
    let length_mm = sheet.specification.set(condition.journal.set).length_mm;
    let mut parts = vec![format!(
        "{}: mean {}, limits {} to {}",
        condition.journal,
        figure(condition.mean_mm, unit),
        figure(condition.limits.low_mm, unit),
        figure(condition.limits.high_mm, unit)
    )];
    for station in &condition.stations {
        if let Some(mm) = station.out_of_round_mm {
            parts.push(format!("{} out of round {}", station_name(station.at_mm, length_mm, unit), figure(mm, unit)));
        }
    }
    for plane in &condition.planes {
        if let Some(mm) = plane.taper_mm {
            parts.push(format!("{:.0} degrees taper {}", plane.plane_deg, figure(mm, unit)));
        }
        if let Some(barrel) =
            plane.barrel.map(|b| b.barrel_mm()).filter(|mm| figure(mm.abs(), unit) != figure(0.0, unit))
        {
            let what = if barrel > 0.0 { "barrel" } else { "waist" };
            parts.push(format!("{:.0} degrees {what} {}", plane.plane_deg, figure(barrel.abs(), unit)));
        }
    }
    wrap(&format!("{}.", parts.join("; ")), "  ", "      ")
}

/// What to bear in mind about the figures, each remark once with the journals it is about.
fn remarks(verdict: &Verdict) -> String {
    let mut about: Vec<(&str, Vec<String>)> = Vec::new();
    for condition in verdict.journals.iter().map(|journal| &journal.condition) {
        for remark in &condition.remarks {
            match about.iter_mut().find(|(known, _)| known == remark) {
                Some((_, journals)) => journals.push(condition.journal.to_string()),
                None => about.push((remark, vec![condition.journal.to_string()])),
            }
        }
    }
    let all = verdict.journals.len();
    about
        .into_iter()
        .map(|(remark, journals)| {
            let whose = if journals.len() == all { "All journals".to_owned() } else { journals.join(", ") };
            wrap(&format!("{whose}: {remark}"), "  - ", "    ")
        })
        .collect()
}

/// A trace against its true circles: how far apart two about one centre must lie to hold it, and the largest inside
/// it, which is what a wheel free to follow it could leave.
fn roundness(sheet: &Sheet, trace: &Trace) -> String {
    let unit = sheet.unit;
    let place = station_name(trace.at_mm, sheet.specification.set(trace.journal.set).length_mm, unit);
    let radii: Vec<f64> = trace.departures_mm.iter().map(|departure| trace.size.mm / 2.0 + departure).collect();
    let fitted = Profile::new(&trace.angles_deg, &radii)
        .and_then(|profile| Ok((profile.exact(Reference::MinimumZone)?, profile.exact(Reference::MaximumInscribed)?)));
    let says = match fitted {
        Ok((zone, inside)) => format!(
            "{}, {place}, traced: two circles {} apart hold it; the largest circle inside is {} across.",
            trace.journal,
            figure(zone.total_mm, unit),
            figure(2.0 * inside.radius_mm, unit)
        ),
        Err(error) => format!("{}, {place}, traced: no circle fitted ({error}).", trace.journal),
    };
    wrap(&says, "  ", "      ")
}
