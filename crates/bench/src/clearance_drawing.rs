//! The clearances of a set on one axis: a row for each bearing, the book's limits as two lines across all of them.
//!
//! Places along the scale are in hundredths of its width and heights in letters, as on the size axis.

use askama::Template;
use crank::Band;
use fit::{Bearing, Fit, SetFit};
use units::{Unit, show_mm};

use crate::wording::PinWord;

/// Where the scale begins and ends, in hundredths of the width; the names stand before it.
const FROM: f64 = 22.0;
const TO: f64 = 97.0;
/// Height of a row, in letters, and where the first stands.
const ROW: f64 = 1.7;
const FIRST: f64 = 3.0;

/// The drawing.
#[derive(Clone, Debug, Template)]
#[template(path = "clearance_drawing.html")]
pub(crate) struct ClearanceDrawing {
    rows: Vec<Row>,
    marks: Vec<Mark>,
    /// Where the marks across all rows end, and the height of the whole, in letters.
    foot: String,
    height: String,
    /// What the drawing shows, for whoever does not see it.
    says: String,
    caption: String,
}

/// One bearing: from its tightest to its loosest clearance, a dot at the mean.
#[derive(Clone, Debug)]
struct Row {
    name: String,
    y: String,
    name_y: String,
    left: String,
    right: String,
    mean: String,
    /// Whether it reaches beyond the limits.
    beyond: bool,
}

/// A line across all rows: a limit, the wanted clearance, none at all.
#[derive(Clone, Debug)]
struct Mark {
    x: String,
    anchor: &'static str,
    kind: &'static str,
    words: String,
}

impl ClearanceDrawing {
    /// The drawing of a set; nothing where no clearance of it is known.
    pub(crate) fn of(fit: &Fit, set: &SetFit, unit: Unit, words: PinWord) -> Option<ClearanceDrawing> {
        let own: Vec<&Bearing> = fit.bearings.iter().filter(|b| b.journal.set == set.set).collect();
        let spans: Vec<_> = own.iter().filter_map(|b| Some((b.journal, b.to_come()?.across))).collect();
        let figure = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
        let limits = set.limits;
        let ends = spans.iter().flat_map(|(_, span)| [span.tightest_mm, span.loosest_mm]);
        let ends = ends.chain(limits.into_iter().flat_map(|band| [band.low_mm, band.high_mm]));
        let ends = ends.chain(set.wanted_mm.map(|(mm, _)| mm));
        let (least, most) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), mm| (l.min(mm), m.max(mm)));
        if spans.is_empty() || !least.is_finite() || !most.is_finite() {
            return None;
        }
        // Room at both ends; a clearance that is none is shown against none.
        let room = ((most - least) * 0.08).max(0.001);
        let low = if least < 0.0 { least - room } else { (least - room).max(0.0) };
        let high = most + room;
        let x = |mm: f64| format!("{:.2}%", FROM + (mm - low) / (high - low) * (TO - FROM));
        let beyond = |band: Option<Band>, tightest: f64, loosest: f64| {
            band.is_some_and(|band| tightest < band.low_mm - 1e-9 || loosest > band.high_mm + 1e-9)
        };
        let rows: Vec<Row> = spans
            .iter()
            .enumerate()
            .map(|(nth, (journal, span))| {
                let y = FIRST + ROW * nth as f64;
                Row {
                    name: words.journal(*journal),
                    y: format!("{y:.2}em"),
                    name_y: format!("{:.2}em", y + 0.35),
                    left: x(span.tightest_mm),
                    right: x(span.loosest_mm),
                    mean: x(span.mean_mm),
                    beyond: beyond(limits, span.tightest_mm, span.loosest_mm),
                }
            })
            .collect();
        let mut marks = Vec::new();
        let mut mark = |mm: f64, anchor: &'static str, kind: &'static str, words: String| {
            marks.push(Mark { x: x(mm), anchor, kind, words });
        };
        if let Some(band) = limits {
            mark(band.low_mm, "start", "limit", figure(band.low_mm));
            mark(band.high_mm, "end", "limit", figure(band.high_mm));
        }
        if let Some((mm, _)) = set.wanted_mm {
            let crowded = limits.is_some_and(|band| band.width_mm() < (high - low) / 3.0);
            mark(mm, "middle", "wanted", if crowded { String::new() } else { figure(mm) });
        }
        if low < 0.0 {
            mark(0.0, "middle", "none", "none".to_owned());
        }
        let foot = FIRST + ROW * (rows.len() as f64 - 1.0) + 0.9;
        let told = spans.iter().map(|(journal, span)| {
            format!("{} {} to {}", words.journal(*journal), figure(span.tightest_mm), figure(span.loosest_mm))
        });
        let within = limits.map_or(String::new(), |band| {
            format!("; the limits are {} to {}", figure(band.low_mm), figure(band.high_mm))
        });
        let says = format!("Clearances in {}: {}{within}.", unit.plural(), told.collect::<Vec<_>>().join(", "));
        let caption = format!(
            "Clearance in {}, on the diameter, square to the split{}: from the tightest to the loosest, a dot at the mean. \
             Brackets: the limits. Dashed: wanted.",
            unit.plural(),
            if set.ground { ", as planned" } else { "" },
        );
        Some(ClearanceDrawing {
            rows,
            marks,
            foot: format!("{foot:.2}em"),
            height: format!("{:.2}em", foot + 0.4),
            says,
            caption,
        })
    }
}
