//! A journal along its length, plane by plane: taper, barrel and waist.

use super::{JournalSketch, Profile, is_size};
use crate::exaggeration::exaggeration;
use crate::labelling::{LEADING, wrapped};
use crate::{Drawing, Fill, Label, Pen};

/// Half as high as a journal is drawn at its largest size, and how much less at its smallest.
const HALF_MM: f64 = 8.0;
const ROOM_MM: f64 = 4.0;
/// Differences smaller than this are not drawn larger still.
const LEAST_RANGE_MM: f64 = 0.004;
/// Planes that are drawn.
const MOST: usize = 4;

/// What was drawn.
pub(super) struct Told {
    pub(super) ends_mm: f64,
    /// How many times too large differences are, where any plane was drawn.
    pub(super) factor: Option<f64>,
    pub(super) says: Vec<String>,
}

/// Draws the planes one under the other, from a place of the paper to its right edge.
pub(super) fn draw(drawing: &mut Drawing, sketch: &JournalSketch, left: f64, troubles: &mut Vec<String>) -> Told {
    let nothing = Told { ends_mm: 0.0, factor: None, says: Vec::new() };
    if sketch.along.is_empty() {
        return nothing;
    }
    if !is_size(sketch.length_mm) {
        troubles.push("The journal has no length above zero, so it is not drawn along.".to_owned());
        return nothing;
    }
    if sketch.along.len() > MOST {
        troubles.push(format!("Along, only the first {MOST} of {} planes are drawn.", sketch.along.len()));
    }
    let mut unusable = 0;
    let planes: Vec<(&Profile, Vec<(f64, f64)>)> = sketch
        .along
        .iter()
        .take(MOST)
        .map(|plane| {
            let sound = |(at, size): &&(f64, f64)| at.abs() < 10.0 * sketch.length_mm && is_size(*size);
            let mut stations: Vec<(f64, f64)> = plane.stations.iter().filter(sound).copied().collect();
            unusable += plane.stations.len() - stations.len();
            stations.sort_by(|a, b| a.0.total_cmp(&b.0));
            (plane, stations)
        })
        .collect();
    if unusable > 0 {
        troubles.push(format!("Along, {unusable} sizes or places are unusable: left out."));
    }
    let radii = || planes.iter().flat_map(|(_, stations)| stations.iter().map(|station| station.1 / 2.0));
    let (smallest, largest) = (radii().fold(f64::INFINITY, f64::min), radii().fold(0.0, f64::max));
    if largest <= 0.0 {
        return nothing;
    }
    let true_scale = HALF_MM / largest;
    let factor = exaggeration((largest - smallest).max(LEAST_RANGE_MM) * true_scale, ROOM_MM);
    let half = |size_mm: f64| HALF_MM - (largest - size_mm / 2.0) * true_scale * factor;

    let size = Label::USUAL_MM;
    let width = drawing.width_mm - left;
    let farthest = planes.iter().flat_map(|(_, s)| s.iter().map(|s| s.0.abs())).fold(sketch.length_mm / 2.0, f64::max);
    let scale = (width - 22.0) / (2.0 * farthest);
    let x = |at_mm: f64| left + width / 2.0 + at_mm * scale;
    let (first, last) = (x(-sketch.length_mm / 2.0), x(sketch.length_mm / 2.0));
    let mut y = 4.0 * LEADING;
    drawing.label(Label::words((left, y - 0.8), "Along").sized(4.0).bold());
    y += 1.0;
    let mut says = Vec::new();
    for (number, (plane, stations)) in planes.iter().enumerate() {
        for line in wrapped(&plane.words, size, false, width) {
            y += size * LEADING;
            drawing.label(Label::words((left, y), line));
        }
        // Sizes stand over their stations, in two rows where they are close together.
        let figures: Vec<String> = stations.iter().map(|station| sketch.figure(station.1)).collect();
        let widest = figures.iter().map(|f| Label::figures((0.0, 0.0), f.as_str()).width_mm()).fold(0.0, f64::max);
        let apart = stations.iter().zip(stations.iter().skip(1)).map(|(a, b)| x(b.0) - x(a.0));
        let rows = (1.12 * widest / apart.fold(f64::INFINITY, f64::min).max(0.5)).ceil().clamp(1.0, 12.0) as usize;
        let axis = y + 2.5 + rows as f64 * size * LEADING + HALF_MM;
        drawing.group(format!("along-{}", number + 1), |drawing| {
            for way in [-1.0, 1.0] {
                let at = |station: &(f64, f64)| (x(station.0), axis + way * half(station.1));
                let line: Vec<_> = stations.iter().map(at).collect();
                if let (Some(from), Some(to)) = (line.first().copied(), line.last().copied()) {
                    drawing.line(line.clone(), Pen::Thin);
                    // Beyond the outer stations nothing is measured.
                    drawing.line([(first, from.1), from], Pen::Dashed);
                    drawing.line([to, (last, to.1)], Pen::Dashed);
                }
                for point in line {
                    drawing.circle(point, 0.8, Some(Pen::Thin), Fill::Paper);
                }
            }
        });
        drawing.line([(first - 3.0, axis), (last + 3.0, axis)], Pen::Axis);
        for end in [first, last] {
            drawing.line([(end, axis - HALF_MM - 1.0), (end, axis + HALF_MM + 1.0)], Pen::Thin);
        }
        for (n, (station, figure)) in stations.iter().zip(&figures).enumerate() {
            let up = axis - HALF_MM - 2.0 - (n % rows) as f64 * size * LEADING;
            drawing.label(Label::figures((x(station.0), up), figure.as_str()).middle());
        }
        let listed: Vec<&str> = figures.iter().map(String::as_str).collect();
        says.push(format!("{}, from the front {}.", plane.words.trim_end_matches('.'), listed.join(", ")));
        y = axis + HALF_MM + 2.5;
    }
    drawing.label(Label::words((first, y + size), "front").middle());
    drawing.label(Label::words((last, y + size), "rear").middle());
    Told { ends_mm: y + size + 1.0, factor: Some(factor), says }
}
