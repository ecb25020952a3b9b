//! A journal across at one station: what was measured, what it will be ground to, and the metal between.

use super::{GrindTo, JournalSketch, Patch, Section, is_size};
use crate::exaggeration::{exaggerated_words, exaggeration};
use crate::labelling::{Beside, LEADING, beside};
use crate::{Drawing, Fill, Label, Pen, Place};

/// Outermost radius on the paper, and how far inside it the smallest may lie: less where only form is drawn, so that a
/// journal that is a little out of round does not come out as a figure of eight.
const OUTER_MM: f64 = 23.5;
const ROOM_MM: f64 = 16.0;
const ROOM_FOR_FORM_MM: f64 = 5.0;
/// Between two points of a curve.
const STEP_DEG: f64 = 3.0;
/// Differences smaller than this are no form but the last digit of the micrometer: they are not drawn larger still.
const LEAST_RANGE_MM: f64 = 0.01;
/// How deep bad metal is drawn where nobody measured it.
const UNKNOWN_DEEP_MM: f64 = 3.0;

/// What was drawn.
pub(super) struct Told {
    pub(super) ends_mm: f64,
    pub(super) notes: Vec<String>,
    pub(super) says: Vec<String>,
}

/// Radii by direction, from 0 up to 360 degrees, ascending.
struct Surface {
    knots: Vec<(f64, f64)>,
    is_trace: bool,
}

impl Surface {
    fn of(sketch: &JournalSketch, troubles: &mut Vec<String>) -> Surface {
        let mut knots: Vec<(f64, f64)> = Vec::new();
        let mut unusable = 0;
        let mut add = |angle_deg: f64, radius_mm: f64| {
            if angle_deg.is_finite() && is_size(radius_mm) {
                knots.push((angle_deg.rem_euclid(360.0), radius_mm));
            } else {
                unusable += 1;
            }
        };
        let is_trace = match &sketch.section {
            Section::Sizes(sizes) => {
                for across in sizes {
                    add(across.plane_deg, across.size_mm / 2.0);
                    add(across.plane_deg + 180.0, across.size_mm / 2.0);
                }
                false
            }
            Section::Trace(points) => {
                points.iter().for_each(|point| add(point.angle_deg, point.radius_mm));
                true
            }
        };
        match unusable {
            0 => {}
            1 => troubles.push("1 point is no size: left out.".to_owned()),
            n => troubles.push(format!("{n} points are no sizes: left out.")),
        }
        // One point for each degree is as fine as the paper; the smallest is the one that matters.
        knots.sort_by(|a, b| a.0.floor().total_cmp(&b.0.floor()).then(a.1.total_cmp(&b.1)));
        knots.dedup_by_key(|knot| knot.0.floor());
        knots.sort_by(|a, b| a.0.total_cmp(&b.0));
        Surface { knots, is_trace }
    }

    /// The radius in a direction; between two points it runs smoothly from one to the other.
    fn at(&self, angle_deg: f64) -> Option<f64> {
        let angle = angle_deg.rem_euclid(360.0);
        let (first, last) = (self.knots.first()?, self.knots.last()?);
        let after = self.knots.iter().position(|knot| knot.0 > angle);
        let (a, b) = match after {
            Some(0) => ((last.0 - 360.0, last.1), *first),
            Some(n) => (*self.knots.get(n - 1)?, *self.knots.get(n)?),
            None => (*last, (first.0 + 360.0, first.1)),
        };
        let share = if b.0 > a.0 { (angle - a.0) / (b.0 - a.0) } else { 0.0 };
        let smooth = if self.is_trace { share } else { (1.0 - (share * std::f64::consts::PI).cos()) / 2.0 };
        Some(a.1 + (b.1 - a.1) * smooth)
    }
}

/// The scale of the section: the largest radius stands farthest out, and differences are drawn too large.
struct Polar {
    centre: Place,
    largest_mm: f64,
    /// Paper for each millimetre of difference.
    scale: f64,
}

impl Polar {
    fn out(&self, radius_mm: f64) -> f64 {
        (OUTER_MM - (self.largest_mm - radius_mm) * self.scale).clamp(1.0, OUTER_MM + 5.0)
    }

    fn place(&self, angle_deg: f64, out: f64) -> Place {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        (self.centre.0 + out * sin, self.centre.1 - out * cos)
    }
}

/// Draws it under a line of the paper, within a width.
pub(super) fn draw(
    drawing: &mut Drawing,
    sketch: &JournalSketch,
    top: f64,
    width: f64,
    troubles: &mut Vec<String>,
) -> Told {
    let surface = Surface::of(sketch, troubles);
    if surface.knots.is_empty() {
        troubles.push("No size is measured at this station.".to_owned());
        return Told { ends_mm: top, notes: Vec::new(), says: vec!["No size is measured there.".to_owned()] };
    }
    let grind = sketch.grind_to.filter(|grind| {
        is_size(grind.size_mm) && grind.toward_zero_mm.abs() < 100.0 && grind.toward_ninety_mm.abs() < 100.0
    });
    if sketch.grind_to.is_some() && grind.is_none() {
        troubles.push("What it is to be ground to is no size: not drawn.".to_owned());
    }
    let before = sketch.ground_before_mm.filter(|mm| is_size(*mm)).map(|mm| mm / 2.0);
    // The distance from the present centre to the new circle. Offsets are far smaller than radii.
    let circle = |angle_deg: f64| {
        grind.map(|grind| {
            let (sin, cos) = angle_deg.to_radians().sin_cos();
            let (along, square) = (
                grind.toward_zero_mm * cos + grind.toward_ninety_mm * sin,
                grind.toward_zero_mm * sin - grind.toward_ninety_mm * cos,
            );
            along + ((grind.size_mm / 2.0).powi(2) - square.powi(2)).max(0.0).sqrt()
        })
    };
    let angles = angles(&surface);
    let depths = sketch.patches.iter().filter_map(|patch| patch.depth_mm.filter(|mm| is_size(*mm)));
    let deepest = depths.fold(0.0, f64::max);
    let of_surface: Vec<f64> = angles.iter().filter_map(|angle| surface.at(*angle)).collect();
    let all = || {
        let circles = angles.iter().filter_map(|angle| circle(*angle));
        of_surface.iter().flat_map(|mm| [*mm, mm - deepest]).chain(circles).chain(before)
    };
    let (smallest, largest) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
    let true_scale = OUTER_MM / largest;
    let room = if grind.is_some() || deepest > 0.0 { ROOM_MM } else { ROOM_FOR_FORM_MM };
    let factor = exaggeration((largest - smallest).max(LEAST_RANGE_MM) * true_scale, room);
    let polar = Polar { centre: (width / 2.0, top + OUTER_MM + 2.0), largest_mm: largest, scale: true_scale * factor };

    let mut named: Vec<(f64, f64, String)> = Vec::new();
    let mut says = Vec::new();
    let curve = |radius: &dyn Fn(f64) -> Option<f64>| -> Vec<Place> {
        angles.iter().filter_map(|a| radius(*a).map(|mm| polar.place(*a, polar.out(mm)))).collect()
    };
    drawing.group("section", |drawing| {
        if let Some(ring) = ring(&angles, &polar, &surface, &circle) {
            drawing.shape(ring, None, Fill::Hatch);
        }
        for patch in &sketch.patches {
            if let Some((middle_deg, out)) = bad_metal(drawing, patch, &polar, &surface) {
                named.push((middle_deg, out, format!("damage: {}", patch.kind)));
            }
        }
        if before.is_some() {
            drawing.shape(curve(&|_| before), Some(Pen::Outline), Fill::None);
        }
        let pen = if surface.is_trace { Pen::Thin } else { Pen::Dashed };
        drawing.shape(curve(&|angle| surface.at(angle)), Some(pen), Fill::None);
        if grind.is_some() {
            drawing.shape(curve(&circle), Some(Pen::Edge), Fill::None);
        }
        cross(drawing, polar.centre, OUTER_MM + 3.0, Pen::Axis);
        if let Some(grind) = grind {
            let limit = |mm: f64| (mm * polar.scale).clamp(-OUTER_MM, OUTER_MM);
            let (up, right) = (limit(grind.toward_zero_mm), limit(grind.toward_ninety_mm));
            if up.hypot(right) > 0.2 {
                cross(drawing, (polar.centre.0 + right, polar.centre.1 - up), 4.0, Pen::Edge);
            }
        }
    });
    if let Section::Sizes(sizes) = &sketch.section {
        for across in sizes.iter().filter(|across| across.plane_deg.is_finite() && is_size(across.size_mm)) {
            let out = polar.out(across.size_mm / 2.0);
            let ends = [across.plane_deg, across.plane_deg + 180.0].map(|angle| polar.place(angle, out));
            drawing.group(format!("plane-{:.0}", across.plane_deg.rem_euclid(360.0)), |drawing| {
                for end in ends {
                    drawing.circle(end, 0.9, Some(Pen::Thin), Fill::Paper);
                }
            });
            named.push((across.plane_deg, out, format!("{} {}", across.name, sketch.figure(across.size_mm))));
            let angle = across.plane_deg;
            says.push(format!("{} at {angle} degrees: {}.", across.name, sketch.figure(across.size_mm)));
        }
    }
    if let Some(point) = sketch.decides.as_ref().filter(|point| point.angle_deg.is_finite()) {
        let out = surface.at(point.angle_deg).map_or(OUTER_MM, |mm| polar.out(mm));
        let at = polar.place(point.angle_deg, out);
        let corners = [(0.0, -1.6), (1.6, 0.0), (0.0, 1.6), (-1.6, 0.0)].map(|(x, y)| (at.0 + x, at.1 + y));
        drawing.shape(corners, None, Fill::Ink);
        named.push((point.angle_deg, out, point.words.clone()));
        says.push(format!("{} at {} degrees.", point.words, point.angle_deg));
    }
    let ends_mm = labels(drawing, &named, &polar, width, top);
    let mut notes = vec![format!("Across: differences of radius {}.", exaggerated_words(factor))];
    if !surface.is_trace {
        let doubt = "Two points tell neither on which side the metal went nor what lies between the planes: dashed.";
        notes.push(doubt.to_owned());
    }
    if before.is_some() {
        notes.push("Long dashes with two dots: the size it was ground to before.".to_owned());
    }
    if let Some(grind) = grind {
        let size = sketch.figure(grind.size_mm);
        notes.push(format!("Thick circle: ground to {size}. Hatched: metal to come off."));
        says.push(format!("To be ground to {size}."));
        if let Some(words) = off_centre(sketch, grind) {
            says.push(words.clone());
            notes.push(words);
        }
        let off = |angle: &f64| Some((surface.at(*angle)? - circle(*angle)?, *angle));
        if let Some((mm, angle)) = angles.iter().filter_map(off).min_by(|a, b| a.0.total_cmp(&b.0)) {
            let least = sketch.figure(mm.abs());
            let least = if mm < 0.0 {
                format!("At {angle:.0} degrees the surface lies {least} inside the circle, on the radius.")
            } else {
                format!("Least to come off: {least} on the radius, at {angle:.0} degrees.")
            };
            says.push(least.clone());
            notes.push(least);
        }
    }
    if sketch.patches.iter().any(|patch| patch.depth_mm.is_none()) {
        notes.push("Cross-hatched: damage. Its depth is not measured where none is said.".to_owned());
    } else if !sketch.patches.is_empty() {
        notes.push("Cross-hatched: damage, as deep as it was measured.".to_owned());
    }
    for patch in sketch.patches.iter().filter(|patch| patch.arc_deg.is_some() && arc(patch).is_none()) {
        troubles.push(format!("The damage ({}) has no direction: drawn all round.", patch.kind));
    }
    says.extend(sketch.patches.iter().map(|patch| match arc(patch) {
        Some((from, to)) => format!("Damage, {}, from {from} to {to} degrees.", patch.kind),
        None => format!("Damage, {}, all round.", patch.kind),
    }));
    Told { ends_mm, notes, says }
}

/// Where the wheel's centre lies, where that is not the present centre.
fn off_centre(sketch: &JournalSketch, grind: GrindTo) -> Option<String> {
    let none = sketch.figure(0.0);
    let ways = [(grind.toward_zero_mm, [0, 180]), (grind.toward_ninety_mm, [90, 270])];
    let words: Vec<String> = ways
        .into_iter()
        .map(|(mm, [plus, minus])| (sketch.figure(mm.abs()), if mm < 0.0 { minus } else { plus }))
        .filter(|(figure, _)| *figure != none)
        .map(|(figure, angle)| format!("{figure} toward {angle}°"))
        .collect();
    (!words.is_empty()).then(|| format!("The wheel goes round a centre off the present one: {}.", words.join(", ")))
}

/// Every direction that a curve needs a point in.
fn angles(surface: &Surface) -> Vec<f64> {
    let mut angles: Vec<f64> = surface.knots.iter().map(|knot| knot.0).collect();
    let mut at = 0.0;
    while at < 360.0 {
        angles.push(at);
        at += STEP_DEG;
    }
    angles.sort_by(f64::total_cmp);
    angles.dedup_by(|a, b| *a - *b < 1e-6);
    angles
}

/// What lies outside the circle and inside the surface: out along the one and back along the other.
fn ring(angles: &[f64], polar: &Polar, surface: &Surface, circle: &dyn Fn(f64) -> Option<f64>) -> Option<Vec<Place>> {
    let both = angles.iter().chain(angles.first()).map(|&angle| Some((angle, surface.at(angle)?, circle(angle)?)));
    let both: Vec<(f64, f64, f64)> = both.collect::<Option<_>>()?;
    let outer = both.iter().map(|&(angle, mm, low)| polar.place(angle, polar.out(mm.max(low))));
    let inner = both.iter().rev().map(|&(angle, _, low)| polar.place(angle, polar.out(low)));
    Some(outer.chain(inner).collect())
}

/// From which to which direction, where both are known.
fn arc(patch: &Patch) -> Option<(f64, f64)> {
    patch.arc_deg.filter(|(from, to)| from.is_finite() && to.is_finite())
}

/// A patch of bad metal under the surface; returns where its label leads to.
fn bad_metal(drawing: &mut Drawing, patch: &Patch, polar: &Polar, surface: &Surface) -> Option<(f64, f64)> {
    let arc = arc(patch);
    let (from, sweep) = arc.map_or((0.0, 360.0), |(from, to)| match (to - from).rem_euclid(360.0) {
        0.0 => (from, 360.0),
        sweep => (from, sweep),
    });
    let steps = (sweep / STEP_DEG).ceil().max(1.0);
    let angles: Vec<f64> = (0..=steps as usize).map(|n| from + sweep * n as f64 / steps).collect();
    let deep = |out: f64, mm: f64| match patch.depth_mm.filter(|depth| is_size(*depth)) {
        Some(depth) => polar.out(mm - depth).min(out - 1.0),
        None => out - UNKNOWN_DEEP_MM,
    };
    let outs: Vec<(f64, f64, f64)> = angles
        .iter()
        .filter_map(|&angle| {
            let mm = surface.at(angle)?;
            let out = polar.out(mm);
            Some((angle, out, deep(out, mm).max(0.5)))
        })
        .collect();
    let outer = outs.iter().map(|&(angle, out, _)| polar.place(angle, out));
    let inner = outs.iter().rev().map(|&(angle, _, low)| polar.place(angle, low));
    drawing.shape(outer.chain(inner).collect::<Vec<_>>(), arc.map(|_| Pen::Edge), Fill::CrossHatch);
    let middle = from + sweep / 2.0;
    Some((middle, surface.at(middle).map(|mm| polar.out(mm))?))
}

fn cross(drawing: &mut Drawing, at: Place, arm: f64, pen: Pen) {
    drawing.line([(at.0 - arm, at.1), (at.0 + arm, at.1)], pen);
    drawing.line([(at.0, at.1 - arm), (at.0, at.1 + arm)], pen);
}

/// What is named, right and left of the section; returns where it ends.
fn labels(drawing: &mut Drawing, named: &[(f64, f64, String)], polar: &Polar, width: f64, top: f64) -> f64 {
    let (size, reach) = (Label::USUAL_MM, OUTER_MM + 3.5);
    let words: Vec<(f64, String)> = named.iter().map(|(angle, _, words)| (*angle, words.clone())).collect();
    let (captions, lowest) = beside(&words, reach, size, width / 2.0 - reach - 1.5);
    let top = top + 2.0 + OUTER_MM - reach;
    for Beside { index, is_right, down_mm, lines } in captions {
        let Some((angle, out, _)) = named.get(index) else { continue };
        let way = if is_right { 1.0 } else { -1.0 };
        let y = top + down_mm;
        let from = polar.place(*angle, out + 1.2);
        drawing.line([from, (polar.centre.0 + way * (reach + 0.5), y + size * LEADING / 2.0)], Pen::Thin);
        for (n, line) in lines.into_iter().enumerate() {
            let label =
                Label::words((polar.centre.0 + way * (reach + 1.2), y + size * LEADING * (n as f64 + 0.75)), line);
            drawing.label(if is_right { label } else { label.end() });
        }
    }
    top + lowest.max(2.0 * reach) + 1.0
}
