//! The crank from the nose: the throws in their directions, the first one up, angles growing clockwise.

use super::laid_out::Crank;
use crate::labelling::{Beside, LEADING, beside};
use crate::{Drawing, Fill, Label, Pen};

/// Pins whose directions differ by less are one throw in this view.
const SAME_DEG: f64 = 0.05;

/// Pins that point one way.
pub(super) struct Direction {
    pub(super) angle_deg: f64,
    /// `Pin 1, 4`
    pub(super) names: String,
}

/// The throws by their directions, in the order of the angles.
pub(super) fn directions(crank: &Crank) -> Vec<Direction> {
    let mut pins: Vec<(f64, &str)> =
        crank.bars.iter().filter_map(|bar| bar.angle_deg.map(|angle| (angle, bar.mark.name.as_str()))).collect();
    pins.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut directions: Vec<(f64, Vec<&str>)> = Vec::new();
    for (angle, name) in pins {
        match directions.last_mut().filter(|(known, _)| angle - *known < SAME_DEG) {
            Some((_, names)) => names.push(name),
            None => directions.push((angle, vec![name])),
        }
    }
    directions.into_iter().map(|(angle_deg, names)| Direction { angle_deg, names: listed(&names) }).collect()
}

/// `Pin 1, 4` rather than `Pin 1, Pin 4`.
fn listed(names: &[&str]) -> String {
    let mut out = String::new();
    let mut word_before = None;
    for name in names {
        let (word, number) = name.rsplit_once(' ').unwrap_or(("", name));
        if !out.is_empty() {
            out.push_str(", ");
        }
        out.push_str(if word_before == Some(word) { number } else { name });
        word_before = Some(word);
    }
    out
}

/// An angle without needless digits.
pub(super) fn degrees(angle: f64) -> String {
    let text = format!("{angle:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Draws it under a line of the paper, within a width; returns where it ends.
pub(super) fn draw(drawing: &mut Drawing, crank: &Crank, top: f64, width: f64) -> f64 {
    let directions = directions(crank);
    let thick = |is_pin: bool| {
        let of = crank.bars.iter().filter(|bar| bar.angle_deg.is_some() == is_pin);
        of.map(|bar| bar.radius_mm).fold(0.0, f64::max)
    };
    let (main_mm, pin_mm) = (thick(false), thick(true));
    let reach_mm = (crank.throw_mm + pin_mm).max(main_mm);
    if directions.is_empty() || reach_mm <= 0.0 {
        return top;
    }
    let radius = (0.19 * width).min(24.0);
    let column = width / 2.0 - radius - 4.0;
    let scale = radius / reach_mm;
    let throw = crank.throw_mm * scale;
    let heading = Label::words((0.0, top + Label::USUAL_MM), "From the nose").bold();
    drawing.label(heading);
    let top = top + Label::USUAL_MM * LEADING + 3.0;

    let line = Label::USUAL_MM * LEADING;
    let named: Vec<(f64, String)> =
        directions.iter().map(|d| (d.angle_deg, format!("{}: {}°", d.names, degrees(d.angle_deg)))).collect();
    let (captions, lowest) = beside(&named, radius, Label::USUAL_MM, column);
    let centre = (width / 2.0, top + radius);
    drawing.group("end-view", |drawing| {
        drawing.circle(centre, throw, Some(Pen::Axis), Fill::None);
        let cross = radius + 2.0;
        drawing.line([(centre.0 - cross, centre.1), (centre.0 + cross, centre.1)], Pen::Axis);
        drawing.line([(centre.0, centre.1 - cross), (centre.0, centre.1 + cross)], Pen::Axis);
        if main_mm > 0.0 {
            drawing.circle(centre, main_mm * scale, Some(Pen::Edge), Fill::None);
        }
        for direction in &directions {
            let (sin, cos) = direction.angle_deg.to_radians().sin_cos();
            let at = (centre.0 + throw * sin, centre.1 - throw * cos);
            drawing.circle(at, pin_mm * scale, Some(Pen::Thin), Fill::None);
            drawing.line([centre, at], Pen::Edge);
        }
    });
    for Beside { index, is_right, down_mm, lines } in captions {
        let Some(direction) = directions.get(index) else { continue };
        let (sin, cos) = direction.angle_deg.to_radians().sin_cos();
        let y = top + down_mm;
        let way = if is_right { 1.0 } else { -1.0 };
        let (x, near) = (centre.0 + way * (radius + 4.0), centre.0 + way * (radius + 3.2));
        let pin = (centre.0 + throw * sin, centre.1 - throw * cos);
        let from = (pin.0 + way * pin_mm * scale, pin.1);
        drawing.line([from, (near, y + line / 2.0)], Pen::Thin);
        for (k, text) in lines.into_iter().enumerate() {
            let label = Label::words((x, y + line * (k as f64 + 0.75)), text);
            drawing.label(if is_right { label } else { label.end() });
        }
    }
    top + lowest + 2.0
}
