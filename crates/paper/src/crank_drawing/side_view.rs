//! The crank from the side: nose on the left, flywheel on the right, pins as high as their throws stand.

use crank::SetName;

use super::journal_marks::{self, Box};
use super::laid_out::{Bar, Crank};
use crate::labelling::{Block, LEADING, in_rows, room_for, rooms, wrapped};
use crate::{Drawing, Fill, Label, Pen};

/// Room for the words at the ends of the axis.
const NOSE_MM: f64 = 13.0;
const FLYWHEEL_MM: f64 = 18.0;
/// Most height of the crank itself.
const MOST_HIGH_MM: f64 = 70.0;
/// A web stands out over its journals by this share of the thicker one's radius.
const WALL: f64 = 0.2;
/// A neck of the shaft has this share of the radius of the journal beside it.
const NECK: f64 = 0.85;
/// Widest and narrowest label of a journal.
const LABEL_MM: (f64, f64) = (32.0, 13.0);

/// Where the crank lies on the paper.
struct Lie {
    /// Millimetres on the paper for each of the crank.
    scale: f64,
    /// The crank's position at the paper's left edge.
    start_mm: f64,
    /// The axis.
    axis: f64,
}

impl Lie {
    fn x(&self, along_mm: f64) -> f64 {
        (along_mm - self.start_mm) * self.scale
    }

    fn y(&self, up_mm: f64) -> f64 {
        self.axis - up_mm * self.scale
    }

    fn place(&self, crank: &Crank, bar: &Bar) -> Box {
        let ground_mm = bar.radius_mm - crank.undersize_factor * bar.undersize_mm / 2.0;
        Box {
            left: self.x(bar.from_mm),
            right: self.x(bar.to_mm),
            middle: self.y(bar.up() * crank.throw_mm),
            half: ground_mm * self.scale,
            standard: bar.radius_mm * self.scale,
            wear: crank.wear_factor * bar.wear_mm / 2.0 * self.scale,
        }
    }
}

/// Draws it under a line of the paper; returns where it ends.
pub(super) fn draw(drawing: &mut Drawing, crank: &Crank, top: f64) -> f64 {
    let (Some(first), Some(last)) = (crank.bars.first(), crank.bars.last()) else { return top };
    let width = drawing.width_mm;
    let thick_mm = crank.bars.iter().map(|bar| bar.radius_mm).fold(0.0, f64::max);
    let low_mm = crank.bars.iter().map(|bar| bar.from_mm).fold(first.from_mm, f64::min);
    let high_mm = crank.bars.iter().map(|bar| bar.to_mm).fold(last.to_mm, f64::max);
    let stub_mm = 0.7 * thick_mm;
    let long_mm = high_mm - low_mm + 2.0 * stub_mm;
    let reach_mm = |bar: &Bar| (bar.up() * crank.throw_mm, bar.radius_mm * (1.0 + WALL));
    let up_mm = crank.bars.iter().map(|bar| reach_mm(bar).0 + reach_mm(bar).1).fold(0.0, f64::max);
    let down_mm = crank.bars.iter().map(|bar| reach_mm(bar).1 - reach_mm(bar).0).fold(0.0, f64::max);
    let room = width - NOSE_MM - FLYWHEEL_MM;
    let scale = (room / long_mm).min(MOST_HIGH_MM / (up_mm + down_mm));
    let spare_mm = (room / scale - long_mm) / 2.0;
    let start_mm = low_mm - stub_mm - spare_mm - NOSE_MM / scale;

    // Pins are labelled above, mains below, each straight over or under its journal.
    let mut lie = Lie { scale, start_mm, axis: 0.0 };
    let of = |set: SetName| crank.bars.iter().filter(|bar| bar.mark.journal.set == set).collect::<Vec<_>>();
    let (pins, mains) = (of(SetName::Pin), of(SetName::Main));
    let labels = |bars: &[&Bar], lie: &Lie| {
        let at: Vec<f64> = bars.iter().map(|bar| lie.x(bar.middle_mm())).collect();
        let rooms = rooms(&at, LABEL_MM.1, LABEL_MM.0);
        bars.iter().zip(rooms).map(|(bar, room)| Caption::of(bar, lie, room)).collect::<Vec<_>>()
    };
    let (above, below) = (labels(&pins, &lie), labels(&mains, &lie));
    let rows = |captions: &[Caption]| in_rows(&captions.iter().map(|c| c.block).collect::<Vec<_>>(), 0.0, width);
    let (puts_above, high_above) = rows(&above);
    let (puts_below, deep_below) = rows(&below);
    // Between the labels and the crank there is room for brackets and frames.
    const CLEAR: f64 = 5.0;
    lie.axis = top + high_above + CLEAR + up_mm * scale;
    let (crank_top, crank_bottom) = (lie.axis - up_mm * scale - CLEAR, lie.axis + down_mm * scale + CLEAR);

    webs(drawing, crank, &lie);
    ends(drawing, crank, &lie, (low_mm, high_mm, stub_mm));
    for bar in &crank.bars {
        let id = bar.mark.journal;
        drawing.group(format!("{}-{}", id.set, id.number), |inner| {
            journal_marks::draw(inner, bar, lie.place(crank, bar));
        });
    }
    let (left, right) = (lie.x(low_mm - stub_mm), lie.x(high_mm + stub_mm));
    drawing.line([(left - 3.0, lie.axis), (right + 3.0, lie.axis)], Pen::Axis);
    drawing.label(Label::words((left - 4.0, lie.axis + 1.0), "nose").end());
    drawing.label(Label::words((right + 4.0, lie.axis + 1.0), "flywheel"));

    for ((bar, caption), put) in pins.iter().zip(&above).zip(&puts_above) {
        let place = lie.place(crank, bar);
        let near = crank_top - put.off_mm;
        caption.draw(drawing, put.left_mm, near - caption.block.height_mm, bar);
        drawing
            .line([(caption.block.at_mm, near), (caption.block.at_mm, place.middle - outside(bar, place))], Pen::Thin);
    }
    for ((bar, caption), put) in mains.iter().zip(&below).zip(&puts_below) {
        let place = lie.place(crank, bar);
        let near = crank_bottom + put.off_mm;
        caption.draw(drawing, put.left_mm, near, bar);
        drawing
            .line([(caption.block.at_mm, place.middle + outside(bar, place)), (caption.block.at_mm, near)], Pen::Thin);
    }
    crank_bottom + deep_below + 4.0
}

/// How far from its middle a journal's own marks reach.
fn outside(bar: &Bar, place: Box) -> f64 {
    place.standard
        + if bar.mark.decides {
            3.0
        } else if bar.mark.current {
            1.6
        } else {
            0.0
        }
}

/// A plain web in every gap between two journals.
fn webs(drawing: &mut Drawing, crank: &Crank, lie: &Lie) {
    drawing.group("webs", |drawing| {
        for (a, b) in crank.bars.iter().zip(crank.bars.iter().skip(1)) {
            if b.from_mm <= a.to_mm {
                continue;
            }
            if a.angle_deg.is_none() && b.angle_deg.is_none() {
                // No throw between two mains: the shaft goes on.
                let neck = NECK * a.radius_mm.min(b.radius_mm);
                let (from, to) = ((lie.x(a.to_mm), lie.y(neck)), (lie.x(b.from_mm), lie.y(-neck)));
                drawing.rectangle(from, to, Some(Pen::Thin), Fill::Paper);
                continue;
            }
            let wall_mm = WALL * a.radius_mm.max(b.radius_mm);
            let span = |bar: &Bar| {
                let up_mm = bar.up() * crank.throw_mm;
                (up_mm - bar.radius_mm - wall_mm, up_mm + bar.radius_mm + wall_mm)
            };
            let ((low_a, high_a), (low_b, high_b)) = (span(a), span(b));
            let (top, bottom) = (lie.y(high_a.max(high_b)), lie.y(low_a.min(low_b)));
            drawing.rectangle((lie.x(a.to_mm), top), (lie.x(b.from_mm), bottom), Some(Pen::Thin), Fill::Paper);
        }
    });
}

/// A nose and a flange, as the specification gives neither. A pin at an end has a web beyond it.
fn ends(drawing: &mut Drawing, crank: &Crank, lie: &Lie, (low_mm, high_mm, stub_mm): (f64, f64, f64)) {
    let (Some(first), Some(last)) = (crank.bars.first(), crank.bars.last()) else { return };
    let (nose, flange) = (0.6 * first.radius_mm, 1.15 * last.radius_mm);
    let mut plate = |from_mm: f64, to_mm: f64, up_mm: f64, down_mm: f64| {
        drawing.rectangle(
            (lie.x(from_mm), lie.y(up_mm)),
            (lie.x(to_mm), lie.y(-down_mm)),
            Some(Pen::Thin),
            Fill::Paper,
        );
    };
    let mut neck = |bar: &Bar, from_mm: f64, to_mm: f64, half_mm: f64| {
        let up_mm = bar.up() * crank.throw_mm;
        let reach_mm = bar.radius_mm * (1.0 + WALL);
        match bar.angle_deg {
            Some(_) => plate(from_mm, to_mm, half_mm.max(up_mm + reach_mm), half_mm.max(reach_mm - up_mm)),
            None => plate(from_mm, to_mm, half_mm, half_mm),
        }
    };
    neck(first, low_mm - 0.5 * stub_mm, low_mm, nose);
    neck(last, high_mm, high_mm + 0.5 * stub_mm, NECK * last.radius_mm);
    plate(low_mm - stub_mm, low_mm - 0.5 * stub_mm, nose, nose);
    plate(high_mm + 0.5 * stub_mm, high_mm + stub_mm, flange, flange);
}

/// What stands at a journal.
struct Caption {
    name: Vec<String>,
    words: Vec<String>,
    block: Block,
}

impl Caption {
    fn of(bar: &Bar, lie: &Lie, room: f64) -> Caption {
        let size = Label::USUAL_MM;
        let name = wrapped(&bar.mark.name, size, true, room);
        let words: Vec<String> = bar.mark.lines().iter().flat_map(|line| wrapped(line, size, false, room)).collect();
        let bold = name.iter().map(|line| room_for(line, size, true));
        let plain = words.iter().map(|line| room_for(line, size, false));
        let block = Block {
            at_mm: lie.x(bar.middle_mm()),
            width_mm: bold.chain(plain).fold(0.0, f64::max),
            height_mm: (name.len() + words.len()) as f64 * size * LEADING + 0.8,
        };
        Caption { name, words, block }
    }

    fn draw(&self, drawing: &mut Drawing, left: f64, top: f64, bar: &Bar) {
        let size = Label::USUAL_MM;
        let middle = left + self.block.width_mm / 2.0;
        let mut y = top;
        for (n, line) in self.name.iter().chain(&self.words).enumerate() {
            y += size * LEADING;
            let label = Label::words((middle, y - 0.35 * size), line.as_str()).middle();
            let is_name = n < self.name.len();
            let label = if is_name { label.bold() } else { label };
            if is_name && bar.mark.standing == super::Standing::LeftOut {
                let (half, through) = (label.width_mm() / 2.0 + 0.5, label.at.1 - 0.3 * size);
                drawing.line([(middle - half, through), (middle + half, through)], Pen::Thin);
            }
            drawing.label(label);
        }
    }
}
