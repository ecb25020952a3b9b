//! The working behind a verdict: what each journal shows, how far each micrometer can be trusted, what the chances rest on.

use crank::{Condition, Trace};
use gauge::roundness::{Profile, Reference};
use regrind::{Axis, Shape, station_name};
use units::{Unit, show_mm};

use crate::ladder::Found;
use crate::wording::{OldWay, count};

/// One journal as measured.
#[derive(Clone, Debug)]
pub(crate) struct JournalRow {
    pub(crate) name: String,
    pub(crate) to: String,
    pub(crate) smallest: String,
    pub(crate) largest: String,
    pub(crate) out_of_round: String,
    pub(crate) taper: String,
    pub(crate) wear: String,
    pub(crate) state: &'static str,
    pub(crate) chance: String,
}

/// One pair of undersizes on one axis.
#[derive(Clone, Debug)]
pub(crate) struct PairRow {
    pub(crate) main: String,
    pub(crate) pin: String,
    pub(crate) spare: String,
    pub(crate) exact: String,
    pub(crate) chance: String,
    pub(crate) chosen: bool,
}

/// The working, in sentences and tables.
#[derive(Clone, Debug, Default)]
pub(crate) struct Working {
    pub(crate) method: Vec<String>,
    /// Why each set is to be treated so.
    pub(crate) reasons: Vec<String>,
    pub(crate) journals: Vec<String>,
    pub(crate) remarks: Vec<String>,
    /// Budgets of the micrometers, with their columns.
    pub(crate) budgets: Vec<String>,
}

/// Every measured journal.
pub(crate) fn journals(found: &Found<'_>) -> Vec<JournalRow> {
    let or_none = |mm: Option<f64>| mm.map_or("not judged".to_owned(), |mm| found.figure(mm));
    let rows = found.verdict.journals.iter().map(|journal| {
        let c = &journal.condition;
        JournalRow {
            name: found.manner.words.journal(c.journal),
            to: found.journal(c.journal),
            smallest: found.figure(c.smallest_mm),
            largest: found.figure(c.largest_mm),
            out_of_round: or_none(c.out_of_round_mm()),
            taper: or_none(c.taper_mm()),
            wear: found.figure(c.wear_mm),
            state: journal.stands.words(),
            chance: regrind::words::in_hundred(journal.said.share()),
        }
    });
    rows.collect()
}

/// On a free axis the pairs that matter: the chosen one and those that are neither sure nor out of the question.
pub(crate) fn pairs(found: &Found<'_>) -> Vec<PairRow> {
    if found.sheet.policy.axis == Axis::Held {
        return Vec::new();
    }
    let verdict = found.verdict;
    let rows = verdict.pairs.iter().filter_map(|pair| {
        let share = pair.chance.share();
        let chosen = verdict.chosen_pair == Some((pair.main_mm, pair.pin_mm));
        (chosen || (0.005..0.995).contains(&share)).then(|| PairRow {
            main: found.step(pair.main_mm),
            pin: found.step(pair.pin_mm),
            spare: found.figure(pair.spare_mm),
            exact: found.figure(pair.spare_exact_mm),
            chance: regrind::words::in_hundred(share),
            chosen,
        })
    });
    rows.collect()
}

/// What decides the axis that both sets are set up on.
pub(crate) fn axis_decides(found: &Found<'_>) -> Option<String> {
    let verdict = found.verdict;
    let chosen = verdict.chosen_pair?;
    let pair = verdict.pairs.iter().find(|pair| (pair.main_mm, pair.pin_mm) == chosen)?;
    let place = pair.governed_by?;
    Some(found.manner.words.put(&format!("What decides it: {}.", place.in_full())))
}

/// The working.
pub(crate) fn working(found: &Found<'_>) -> Working {
    let (sheet, words) = (found.sheet, found.manner.words);
    let (unit, policy) = (sheet.unit, &sheet.policy);
    let fine = |mm: f64| show_mm(mm, unit, unit.usual_decimals() + 1);
    let axis = match policy.axis {
        Axis::Held => "Ground on the present main axis.",
        Axis::Throws => "Ground on the present main axis; each throw may move within its tolerances.",
        Axis::Free => "The axis may move within the throw and index tolerances.",
    };
    let shape = match found.verdict.shape {
        Shape::DiametersOnly => {
            "Two points do not say on which side the metal went: between even wear and wear all on one side the chance \
             carries the doubt."
        }
        Shape::WithDirection => "Run-outs or traces say on which side metal is gone.",
    };
    let method = vec![
        format!(
            "Chances from {} draws (seed {}). Each draw takes every reading within its error, the worn side, the depth of \
             damage and the setting-up afresh, and asks whether the wheel leaves clean metal everywhere.",
            policy.draws, policy.seed
        ),
        format!(
            "Cleaned up means {} {unit} off the radius everywhere. Set-up error {} {unit} on the radius. They count what \
             the sheet says is uncertain, and what nobody measured as it usually is on such cranks.",
            fine(policy.clean_up_stock_mm),
            fine(policy.set_up_error_mm)
        ),
        format!("{axis} {shape}"),
        format!("The verdict is by version {} of this program.", env!("CARGO_PKG_VERSION")),
    ];
    Working {
        method,
        reasons: Vec::new(),
        journals: found.verdict.journals.iter().map(|j| condition(found, &j.condition)).collect(),
        remarks: remarks(found).into_iter().chain(sheet.findings.traces.iter().map(|t| roundness(found, t))).collect(),
        budgets: budgets(found).into_iter().map(|text| words.put(&text)).collect(),
    }
}

fn condition(found: &Found<'_>, condition: &Condition) -> String {
    let unit = found.sheet.unit;
    let length_mm = found.sheet.specification.set(condition.journal.set).length_mm;
    let mut parts = vec![format!(
        "{}: mean {}, limits {} to {}, standard uncertainty {}",
        found.manner.words.journal(condition.journal),
        found.figure(condition.mean_mm),
        found.figure(condition.limits.low_mm),
        found.figure(condition.limits.high_mm),
        show_mm(condition.uncertainty_mm, unit, unit.usual_decimals() + 1)
    )];
    for station in &condition.stations {
        if let Some(mm) = station.out_of_round_mm {
            let at = station_name(station.at_mm, length_mm, unit);
            parts.push(format!("{at} out of round {}", found.figure(mm)));
        }
    }
    for plane in &condition.planes {
        if let Some(mm) = plane.taper_mm {
            parts.push(format!("{:.0} degrees taper {}", plane.plane_deg, found.figure(mm)));
        }
        let barrel = plane.barrel.map(|barrel| barrel.barrel_mm());
        if let Some(barrel) = barrel.filter(|mm| found.figure(mm.abs()) != found.figure(0.0)) {
            let what = if barrel > 0.0 { "barrel" } else { "waist" };
            parts.push(format!("{:.0} degrees {what} {}", plane.plane_deg, found.figure(barrel.abs())));
        }
    }
    format!("{}.", parts.join("; "))
}

/// What to bear in mind about the figures, each remark once with the journals it is about.
fn remarks(found: &Found<'_>) -> Vec<String> {
    let mut about: Vec<(&str, Vec<String>)> = Vec::new();
    for condition in found.verdict.journals.iter().map(|journal| &journal.condition) {
        for remark in &condition.remarks {
            let name = found.manner.words.journal(condition.journal);
            match about.iter_mut().find(|(known, _)| known == remark) {
                Some((_, journals)) => journals.push(name),
                None => about.push((remark, vec![name])),
            }
        }
    }
    let all = found.verdict.journals.len();
    let says = about.into_iter().map(|(remark, journals)| {
        let whose = if journals.len() == all { "All journals".to_owned() } else { journals.join(", ") };
        format!("{whose}: {remark}")
    });
    says.collect()
}

/// A trace against its true circles, which is what a wheel free to follow it could leave.
fn roundness(found: &Found<'_>, trace: &Trace) -> String {
    let unit: Unit = found.sheet.unit;
    let place = station_name(trace.at_mm, found.sheet.specification.set(trace.journal.set).length_mm, unit);
    let name = found.manner.words.journal(trace.journal);
    let radii: Vec<f64> = trace.departures_mm.iter().map(|departure| trace.size.mm / 2.0 + departure).collect();
    let fitted = Profile::new(&trace.angles_deg, &radii)
        .and_then(|profile| Ok((profile.exact(Reference::MinimumZone)?, profile.exact(Reference::MaximumInscribed)?)));
    match fitted {
        Ok((zone, inside)) => format!(
            "{name}, {place}, traced: two circles {} apart hold it; the largest circle inside is {} across.",
            found.figure(zone.total_mm),
            found.figure(2.0 * inside.radius_mm)
        ),
        Err(error) => format!("{name}, {place}, traced: no circle fitted ({error})."),
    }
}

/// How far each micrometer can be trusted, for the largest size it measured: what depends on the size is largest there.
fn budgets(found: &Found<'_>) -> Vec<String> {
    let findings = &found.sheet.findings;
    let tables = findings.instruments.iter().enumerate().filter_map(|(index, instrument)| {
        let sizes = findings.readings.iter().filter(|r| r.with == index).flat_map(|r| &r.sizes);
        let traced = findings.traces.iter().filter(|t| t.with == index).map(|t| &t.size);
        let largest = sizes.chain(traced).map(|entry| entry.mm).fold(0.0, f64::max);
        // Shares and chances are told in 100s on these pages.
        (largest > 0.0).then(|| instrument.budget(largest, 1).in_words(found.sheet.unit).replace(" %", " in 100"))
    });
    tables.collect()
}

/// What was measured, in a line: `54 readings, 1 run-out, 1 damaged place`.
pub(crate) fn measured(found: &Found<'_>) -> String {
    let findings = &found.sheet.findings;
    let readings = findings.readings.iter().map(|r| r.sizes.len()).sum::<usize>();
    let kinds = [
        (readings, "reading"),
        (findings.traces.len(), "trace"),
        (findings.run_outs.len(), "run-out"),
        (findings.damages.len(), "damaged place"),
        (findings.stamps.len(), "stamp"),
        (findings.roughness.len(), "roughness figure"),
        (findings.dials.len(), "dialled main"),
        (findings.heights.len(), "measured throw"),
    ];
    let seen: Vec<String> = kinds.iter().filter(|(n, _)| *n > 0).map(|(n, what)| count(*n, what)).collect();
    seen.join(", ")
}
