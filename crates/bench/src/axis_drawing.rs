//! The size axis: one scale for a set, with a bracket for each size, a dot for each spot, and hatching for what comes off.
//!
//! Places along the scale are in hundredths of its width and heights in letters, so that the drawing keeps its letters
//! readable however narrow the page is.

use askama::Template;
use crank::SetName;
use regrind::SetVerdict;
use shop::Standing;
use units::show_mm;

use crate::ladder::{Found, plural, unit_name};
use crate::plan_sheet::decimals;
use crate::wording::count;

/// Where the scale begins and ends, in hundredths of the width.
const EDGE: f64 = 5.0;
/// Dots nearer than this, in hundredths of the width, stand on each other.
const STACKED: f64 = 1.5;
/// Where the lowest dot stands, how high dots may be stacked and how far apart, in letters.
const DOTS_AT: f64 = 7.0;
const MOST_HIGH: f64 = 2.3;
const DOT_PITCH: f64 = 0.5;

/// The drawing.
#[derive(Clone, Debug, Template)]
#[template(path = "axis_drawing.html")]
pub(crate) struct AxisDrawing {
    set: SetName,
    brackets: Vec<Bracket>,
    dots: Vec<Dot>,
    /// Metal to come off.
    hatch: Option<Hatch>,
    /// The smallest size, and where its label stands.
    smallest: Label,
    /// What the drawing shows, for whoever does not see it.
    says: String,
    unit: &'static str,
    off_scale: String,
}

#[derive(Clone, Debug)]
struct Label {
    x: String,
    anchor: &'static str,
    words: String,
}

#[derive(Clone, Debug)]
struct Bracket {
    left: String,
    right: String,
    label: Label,
    /// Whether the label stands in the upper row, where many would stand too close in one.
    upper: bool,
    chosen: bool,
}

#[derive(Clone, Debug)]
struct Dot {
    x: String,
    y: String,
    doubtful: bool,
}

#[derive(Clone, Debug)]
struct Hatch {
    x: String,
    width: String,
    label: Label,
}

/// The scale: larger sizes to the left, as metal comes off to the right.
#[derive(Clone, Copy, Debug)]
struct Scale {
    high_mm: f64,
    low_mm: f64,
}

impl Scale {
    fn x(self, mm: f64) -> f64 {
        let width = (self.high_mm - self.low_mm).max(1e-6);
        (EDGE + (self.high_mm - mm) / width * (100.0 - 2.0 * EDGE)).clamp(0.5, 99.5)
    }
}

fn place(x: f64) -> String {
    format!("{x:.2}%")
}

/// A short label over what it names; near an end it runs inwards, so that nothing is cut off.
fn label(x: f64, words: String) -> Label {
    let (x, anchor) = match x {
        x if x < 14.0 => (x.min(EDGE), "start"),
        x if x > 86.0 => (x.max(100.0 - EDGE), "end"),
        x => (x, "middle"),
    };
    Label { x: place(x), anchor, words }
}

/// A label of several words, which takes most of a narrow page: it begins or ends at what it names.
fn long_label(x: f64, words: String) -> Label {
    let anchor = match x {
        x if x < 35.0 => "start",
        x if x > 65.0 => "end",
        _ => "middle",
    };
    Label { x: place(x), anchor, words }
}

impl AxisDrawing {
    /// The drawing of one set; nothing where no size of it counts.
    pub(crate) fn of(found: &Found<'_>, set: &SetVerdict) -> Option<AxisDrawing> {
        let sheet = found.sheet;
        let unit = sheet.unit;
        let book = sheet.specification.set(set.set);
        let sizes = spots(found, set.set);
        let smallest_mm = sizes.iter().map(|(mm, _)| *mm).min_by(f64::total_cmp)?;
        let largest_mm = sizes.iter().map(|(mm, _)| *mm).max_by(f64::total_cmp)?;
        let chosen_mm = set.choice.undersize_mm();
        let from_mm = set.ground_to.undersize_mm;
        // Where nothing is to be ground, the next size shows how far it would be.
        let permitted = || set.steps.iter().filter(|step| step.permitted).map(|step| step.undersize_mm);
        let to_mm = chosen_mm.or_else(|| permitted().find(|mm| *mm > from_mm)).unwrap_or(from_mm);
        let steps: Vec<f64> = permitted().filter(|mm| (from_mm.min(to_mm)..=to_mm).contains(mm)).collect();
        let finished = |undersize_mm: f64| book.finished(undersize_mm);
        let high_mm = steps.iter().map(|mm| finished(*mm).high_mm).fold(largest_mm, f64::max);
        let low_mm = steps.iter().map(|mm| finished(*mm).low_mm).fold(smallest_mm, f64::min);
        let scale = Scale { high_mm, low_mm };
        let crowded = steps.len() > 3;
        let brackets = steps.iter().enumerate().map(|(n, &undersize_mm)| {
            let band = finished(undersize_mm);
            let name = if undersize_mm == 0.0 { "new".to_owned() } else { found.step(undersize_mm) };
            Bracket {
                left: place(scale.x(band.high_mm)),
                right: place(scale.x(band.low_mm)),
                label: label(scale.x(band.middle_mm()), name),
                upper: crowded && n % 2 == 1,
                chosen: chosen_mm == Some(undersize_mm),
            }
        });
        let top_mm = chosen_mm.map(|undersize_mm| finished(undersize_mm).high_mm);
        let off = top_mm.filter(|top_mm| *top_mm < smallest_mm).map(|top_mm| (top_mm, smallest_mm - top_mm));
        let figure = |mm: f64| show_mm(mm, unit, decimals(unit));
        let hatch = off.map(|(top_mm, off_mm)| {
            let (left, right) = (scale.x(smallest_mm), scale.x(top_mm));
            Hatch {
                x: place(left),
                width: place(right - left),
                label: long_label(((left + right) / 2.0).clamp(40.0, 60.0), format!("{} to come off", figure(off_mm))),
            }
        });
        let doubtful: Vec<f64> = in_doubt(found, set.set);
        let (on, off_scale): (Vec<f64>, Vec<f64>) =
            doubtful.into_iter().partition(|mm| (low_mm..=high_mm).contains(mm));
        let dots = stacked(scale, sizes.iter().copied().chain(on.iter().map(|mm| (*mm, true))).collect());
        let off_scale = match off_scale.len() {
            0 => String::new(),
            n => format!("{} in doubt, off this scale", count(n, "reading")),
        };
        let says = {
            let name = plural(found.manner.words, set.set);
            let bands = steps.iter().map(|mm| {
                let band = finished(*mm);
                let step = if *mm == 0.0 { "new".to_owned() } else { found.step(*mm) };
                format!("{step} is {} to {}", figure(band.low_mm), figure(band.high_mm))
            });
            let off =
                off.map_or(String::new(), |(_, off_mm)| format!(" {} is to come off the smallest.", figure(off_mm)));
            let doubt = match sizes.iter().filter(|(_, doubtful)| *doubtful).count() + on.len() {
                0 => String::new(),
                n => format!(" {} in doubt.", count(n, "reading")),
            };
            let far = if off_scale.is_empty() { String::new() } else { format!(" {off_scale}.") };
            format!(
                "Sizes of the {name} in {}, on the diameter: {} from {} to {}; {}.{off}{doubt}{far}",
                unit_name(unit),
                count(sizes.len(), "spot"),
                figure(smallest_mm),
                figure(largest_mm),
                bands.collect::<Vec<_>>().join(", ")
            )
        };
        let smallest = long_label(scale.x(smallest_mm), format!("smallest {}", figure(smallest_mm)));
        let brackets = brackets.collect();
        Some(AxisDrawing { set: set.set, brackets, dots, hatch, smallest, says, unit: unit_name(unit), off_scale })
    }
}

/// Corrected sizes of a set, one for each spot, with whether the verdict doubts them. Of a trace its smallest diameter.
fn spots(found: &Found<'_>, set: SetName) -> Vec<(f64, bool)> {
    let findings = &found.sheet.findings;
    let accused: Vec<usize> = match found.verdict.look_again {
        true => crank::suspicions(&found.sheet.specification, findings, found.sheet.unit)
            .iter()
            .filter(|suspicion| suspicion.accuses())
            .filter_map(|suspicion| suspicion.reading)
            .collect(),
        false => Vec::new(),
    };
    let mut spots = Vec::new();
    for number in 1..=found.sheet.specification.set(set).count() {
        let id = crank::JournalId { set, number };
        let own = findings.readings.iter().enumerate().filter(|(_, r)| r.journal == id && !r.sizes.is_empty());
        let mut whose = own.map(|(index, _)| accused.contains(&index));
        let mut of_trace: Vec<(usize, f64)> = Vec::new();
        for size in crank::sizes(findings, id) {
            match size.trace {
                // The sizes of readings come in the order of the readings.
                None => spots.push((size.size_mm, whose.next().unwrap_or(false))),
                Some(trace) => match of_trace.iter_mut().find(|(known, _)| *known == trace) {
                    Some((_, smallest)) => *smallest = smallest.min(size.size_mm),
                    None => of_trace.push((trace, size.size_mm)),
                },
            }
        }
        spots.extend(of_trace.into_iter().map(|(_, mm)| (mm, false)));
    }
    spots
}

/// Sizes that wait for another look, as they were typed.
fn in_doubt(found: &Found<'_>, set: SetName) -> Vec<f64> {
    let prefix = format!("{set} ");
    let rows = found.job.rows.iter().filter(|row| {
        let waits = matches!(row.standing, Standing::LookAgain | Standing::ThirdWanted);
        waits && row.key == "reading" && row.row.words("journal").is_some_and(|name| name.starts_with(&prefix))
    });
    rows.filter_map(|row| row.row.get("size").and_then(shop::Value::as_typed))
        .filter_map(|typed| units::read(typed, found.sheet.unit).ok())
        .map(|entry| entry.mm)
        .collect()
}

/// Dots that would lie on each other stand on each other instead.
fn stacked(scale: Scale, mut sizes: Vec<(f64, bool)>) -> Vec<Dot> {
    sizes.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut stacks: Vec<(f64, Vec<bool>)> = Vec::new();
    for (mm, doubtful) in sizes {
        let x = scale.x(mm);
        match stacks.last_mut().filter(|(at, _)| x - at < STACKED) {
            Some((_, stack)) => stack.push(doubtful),
            None => stacks.push((x, vec![doubtful])),
        }
    }
    let highest = stacks.iter().map(|(_, stack)| stack.len()).max().unwrap_or(1).max(2);
    let pitch = DOT_PITCH.min(MOST_HIGH / (highest - 1) as f64);
    let dots = stacks.iter().flat_map(|(x, stack)| {
        stack.iter().enumerate().map(move |(n, &doubtful)| Dot {
            x: place(*x),
            y: format!("{:.2}em", DOTS_AT - pitch * n as f64),
            doubtful,
        })
    });
    dots.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: the scale runs from 5 to 95 hundredths, larger to the left.
    #[test]
    fn a_size_stands_where_the_scale_has_it() {
        let scale = Scale { high_mm: 50.0, low_mm: 49.0 };
        assert_eq!(place(scale.x(50.0)), "5.00%");
        assert_eq!(place(scale.x(49.5)), "50.00%");
        assert_eq!(place(scale.x(49.0)), "95.00%");
        // What lies outside stays on the paper.
        assert_eq!(place(scale.x(10.0)), "99.50%");
    }

    #[test]
    fn equal_sizes_stand_on_each_other_and_stay_below_the_brackets() {
        let scale = Scale { high_mm: 50.0, low_mm: 49.0 };
        let dots = stacked(scale, vec![(49.5, false); 30]);
        assert_eq!(dots.len(), 30);
        assert!(dots.iter().all(|dot| dot.x == "50.00%"));
        let heights: Vec<f64> = dots.iter().map(|dot| dot.y.trim_end_matches("em").parse().unwrap()).collect();
        assert_eq!(heights.first(), Some(&DOTS_AT));
        assert!((heights.last().unwrap() - (DOTS_AT - MOST_HIGH)).abs() < 0.01);
        assert_eq!(stacked(scale, vec![(49.2, false), (49.8, true)]).iter().filter(|dot| dot.doubtful).count(), 1);
    }

    #[test]
    fn a_label_at_an_end_runs_inwards() {
        assert_eq!(label(5.0, String::new()).anchor, "start");
        assert_eq!(label(50.0, String::new()).anchor, "middle");
        assert_eq!(label(95.0, String::new()).anchor, "end");
        assert_eq!((long_label(20.0, String::new()).anchor, long_label(80.0, String::new()).anchor), ("start", "end"));
    }
}
