//! Heights of pins, which tell stroke, index and twist: read, and what they come to as JSON and in words.

use std::collections::HashSet;

use crank::{
    Centre, Findings, Heights, JournalId, PinHeights, SetName, Specification, ThrowFound, ThrowTolerance, throws_found,
    twist,
};
use document::Problems;
use serde::Serialize;
use units::show_mm;

use crate::Sheet;
use crate::answer::round;
use crate::findings::Bench;
use crate::table::{Field, Table, spelt};

/// More heights than anybody takes of one pin.
const MOST_HEIGHTS: usize = 360;
/// What a height gauge and the feel of it leave open, as a standard deviation: 0.0004 in. Common practice, no source.
const USUAL_SD_MM: f64 = 0.01;
/// Heights that lie off their circle by more than this share of the throw are of no circle.
const OFF_SHARE: f64 = 0.02;
/// A throw further from the book's than this share is another pin's, or in another unit.
const NEAR_SHARE: f64 = 0.2;

impl Bench<'_> {
    pub(crate) fn heights(&self, root: &mut Table<'_>, findings: &mut Findings, problems: &mut Problems) {
        let Some(field) = root.take("height") else { return };
        let mut seen = HashSet::new();
        for row in field.rows(problems).into_iter().take(MOST_HEIGHTS) {
            findings.heights.extend(self.height(row, &mut seen, problems));
        }
    }

    fn height(&self, mut row: Table<'_>, seen: &mut HashSet<JournalId>, problems: &mut Problems) -> Option<PinHeights> {
        let place = row.place();
        let journal = self.journal_of(&mut row, SetName::Pin, seen, problems);
        let length = |f: &Field<'_>, problems: &mut Problems| f.length(self.unit, problems).map(|entry| entry.mm);
        let expected = format!("a small length above 0, in {}", spelt(self.unit));
        let sd_mm = row.take("doubt").and_then(|f| {
            f.length_where(self.unit, |mm| mm > 0.0 && mm < 2.54, &expected, "one standard deviation", problems)
        });
        let sd_mm = sd_mm.map_or(USUAL_SD_MM, |entry| entry.mm);
        let (top, bottom) = (row.take("top"), row.take("bottom"));
        let (angles, listed) = (row.take("angles"), row.take("heights"));
        let heights = match (&top, &bottom, &angles, &listed) {
            (Some(top), Some(bottom), None, None) => {
                let (top_mm, bottom_mm) = (length(top, problems), length(bottom, problems));
                top_mm.zip(bottom_mm).map(|(top_mm, bottom_mm)| Heights::TopAndBottom { top_mm, bottom_mm })
            }
            (None, None, Some(angles), Some(listed)) => self.turned(angles, listed, problems),
            _ => {
                let key = row.named("heights");
                let advice = "write angles = [0, 90, 180, 270] and heights = […], or top = … and bottom = …";
                problems.add(place, key, "neither or both", "angles and heights, or top and bottom", advice);
                None
            }
        };
        let named = row.named("heights");
        row.finish(problems);
        let one = PinHeights { journal: journal?, heights: heights?, sd_mm };
        self.is_a_throw(&one)
            .map_err(|(found, expected)| {
                let advice = "look at the heights, their angles, and whether they are of this pin and in this unit";
                problems.add(place, named, found, expected, advice);
            })
            .ok()?;
        Some(one)
    }

    fn turned(&self, angles: &Field<'_>, listed: &Field<'_>, problems: &mut Problems) -> Option<Heights> {
        let items = listed.list("the height at each angle", problems)?;
        let turns = angles.list("the angles that the shaft was turned through", problems)?;
        if items.len() != turns.len() || items.len() < 3 || items.len() > MOST_HEIGHTS {
            let found = format!("{} heights and {} angles", items.len(), turns.len());
            let expected = format!("3 to {MOST_HEIGHTS}, as many of the one as of the other");
            problems.add(
                listed.place(),
                listed.key.as_str(),
                found,
                expected,
                "top and bottom alone go into top and bottom",
            );
            return None;
        }
        let angles_deg: Vec<f64> = turns.iter().filter_map(|f| f.angle_deg(problems)).collect();
        let mm: Vec<f64> = items.iter().filter_map(|f| f.length(self.unit, problems)).map(|entry| entry.mm).collect();
        (angles_deg.len() == turns.len() && mm.len() == items.len()).then_some(Heights::Turned { angles_deg, mm })
    }

    /// Whether heights lie on a circle that can be this crank's; else what was found and what was expected.
    fn is_a_throw(&self, one: &PinHeights) -> Result<(), (String, String)> {
        let shown = |mm: f64| format!("{} {}", show_mm(mm, self.unit, self.unit.usual_decimals()), self.unit);
        let Some(found) = crank::circle_of(one) else {
            return Err((
                "heights at angles that tell no circle".to_owned(),
                "three angles apart from each other".to_owned(),
            ));
        };
        if found.scatter_mm.is_some_and(|mm| mm > OFF_SHARE * found.throw_mm) {
            let scatter = shown(found.scatter_mm.unwrap_or_default());
            let most = shown(OFF_SHARE * found.throw_mm);
            return Err((format!("heights {scatter} off any circle"), format!("heights on a circle, within {most}")));
        }
        let book_mm = self.printed.and_then(|book| book.throw.as_ref()?.mm(book.unit));
        match book_mm {
            Some(mm) if (found.throw_mm / mm - 1.0).abs() > NEAR_SHARE => {
                Err((format!("a throw of {}", shown(found.throw_mm)), format!("about the book's {}", shown(mm))))
            }
            _ => Ok(()),
        }
    }
}

/// What heights tell of a pin's centre stands where nobody told it otherwise. What they leave open is not in it.
pub(crate) fn as_centres(specification: &Specification, findings: &Findings) -> Vec<Centre> {
    throws_found(specification, &findings.heights)
        .into_iter()
        .filter(|found| findings.centres.iter().all(|known| known.journal != found.journal))
        .map(|found| Centre {
            journal: found.journal,
            throw_mm: found.throw_mm - specification.throw_mm,
            index_deg: found.index_deg.map_or(0.0, |(deg, _)| deg),
        })
        .collect()
}

/// The throws from heights, as JSON.
#[derive(Debug, Serialize)]
pub(crate) struct ThrowsAnswer {
    pins: Vec<PinAnswer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    twist: Option<TwistAnswer>,
}

#[derive(Debug, Serialize)]
struct PinAnswer {
    journal: String,
    throw: f64,
    stroke: f64,
    /// Longer than the book's by this, and its standard uncertainty.
    error: f64,
    doubt: f64,
    /// Degrees ahead of the book's direction, counted from pin 1, and their standard uncertainty.
    index: Option<f64>,
    index_doubt: Option<f64>,
    scatter: Option<f64>,
    fits: bool,
    /// Whether throw and index keep the book's tolerances, where it has any.
    within: Option<bool>,
}

/// Degrees for each unit of length along the shaft.
#[derive(Debug, Serialize)]
struct TwistAnswer {
    degrees_per_length: f64,
    doubt: f64,
}

fn within(specification: &Specification, found: &ThrowFound) -> Option<bool> {
    let throw =
        specification.throw_tolerance_mm.map(|t: ThrowTolerance| t.permits_mm(found.throw_mm - specification.throw_mm));
    let index = specification.index_tolerance_deg.zip(found.index_deg).map(|(most, (deg, _))| deg.abs() <= most + 1e-9);
    match (throw, index) {
        (None, None) => None,
        (throw, index) => Some(throw.unwrap_or(true) && index.unwrap_or(true)),
    }
}

pub(crate) fn answer(sheet: &Sheet) -> Option<ThrowsAnswer> {
    let Sheet { specification, findings, .. } = sheet;
    if findings.heights.is_empty() {
        return None;
    }
    let length = |mm: f64| round(mm / sheet.unit.mm());
    let degrees = |deg: f64| (deg * 1e9).round() / 1e9;
    let found = throws_found(specification, &findings.heights);
    let twist = twist(specification, &found).map(|twist| TwistAnswer {
        degrees_per_length: degrees(twist.deg_per_mm * sheet.unit.mm()),
        doubt: degrees(twist.sd_deg_per_mm * sheet.unit.mm()),
    });
    let pins = found
        .iter()
        .map(|one| PinAnswer {
            journal: one.journal.to_string(),
            throw: length(one.throw_mm),
            stroke: length(2.0 * one.throw_mm),
            error: length(one.throw_mm - specification.throw_mm),
            doubt: length(one.throw_sd_mm),
            index: one.index_deg.map(|(deg, _)| degrees(deg)),
            index_doubt: one.index_deg.map(|(_, sd)| degrees(sd)),
            scatter: one.scatter_mm.map(length),
            fits: one.fits,
            within: within(specification, one),
        })
        .collect();
    Some(ThrowsAnswer { pins, twist })
}

/// The throws in words: a line for each pin, how far the strokes differ, and the twist. Empty where no heights were measured.
pub fn throw_words(sheet: &Sheet) -> Vec<String> {
    let Sheet { specification, findings, unit, .. } = sheet;
    let shown = |mm: f64| show_mm(mm, *unit, unit.usual_decimals());
    let found = throws_found(specification, &findings.heights);
    let mut says: Vec<String> = found
        .iter()
        .map(|one| {
            let index = one.index_deg.filter(|_| one.journal.number > 1).map_or(String::new(), |(deg, sd)| {
                format!(", {deg:+.2} degrees from the book, to {:.2} either way", 2.0 * sd)
            });
            let kept = match within(specification, one) {
                Some(false) => "; out of the book's tolerance",
                _ => "",
            };
            let off = if one.fits {
                String::new()
            } else {
                format!(
                    "; the heights lie {} off their circle, more than their doubt",
                    shown(one.scatter_mm.unwrap_or_default())
                )
            };
            format!(
                "{}: stroke {} {unit}, to {} either way{index}{kept}{off}",
                one.journal,
                shown(2.0 * one.throw_mm),
                shown(4.0 * one.throw_sd_mm)
            )
        })
        .collect();
    let strokes = || found.iter().map(|one| 2.0 * one.throw_mm);
    if found.len() > 1 {
        let (low, high) = (strokes().fold(f64::INFINITY, f64::min), strokes().fold(f64::NEG_INFINITY, f64::max));
        says.push(format!("The strokes differ by {} {unit}.", shown(high - low)));
    }
    if let Some(twist) = twist(specification, &found) {
        let last = found.iter().map(|one| specification.position_mm(one.journal)).fold(f64::NEG_INFINITY, f64::max);
        let first = found.iter().map(|one| specification.position_mm(one.journal)).fold(f64::INFINITY, f64::min);
        let over = last - first;
        says.push(format!(
            "Twist from the first of these pins to the last: {:+.2} degrees, to {:.2} either way.",
            twist.deg_per_mm * over,
            2.0 * twist.sd_deg_per_mm * over
        ));
    }
    says
}
