//! The marks of a drawing on a page of a document.

use krilla::geom::{Path, PathBuilder};
use krilla::paint::{Fill as Paint, Stroke, StrokeDash};
use krilla::surface::Surface;

use super::POINTS_PER_MM;
use super::lettering::{Lettering, Type};
use crate::hatch::{Slope, hatch};
use crate::{Fill, Label, Mark, Pen, Place};

/// Draws marks with the upper left of their paper here.
pub(crate) fn draw(surface: &mut Surface<'_>, lettering: &mut Lettering, marks: &[Mark], at_mm: Place) {
    for mark in marks {
        match mark {
            Mark::Line { points, pen } => stroke(surface, outline(points, at_mm, false), *pen),
            Mark::Shape { points, pen, fill } => closed(surface, points, at_mm, *pen, *fill),
            Mark::Circle { centre, radius_mm, pen, fill } => {
                closed(surface, &crate::drawing::round(*centre, *radius_mm), at_mm, *pen, *fill);
            }
            Mark::Label(label) => draw_label(surface, lettering, label, at_mm),
            Mark::Group { marks, .. } => draw(surface, lettering, marks, at_mm),
        }
    }
}

fn closed(surface: &mut Surface<'_>, points: &[Place], at_mm: Place, pen: Option<Pen>, fill: Fill) {
    let slopes: &[Slope] = match fill {
        Fill::None => &[],
        Fill::Paper | Fill::Ink => {
            if let Some(path) = outline(points, at_mm, true) {
                let paint = if fill == Fill::Ink { Paint::default() } else { white() };
                surface.set_stroke(None);
                surface.set_fill(Some(paint));
                surface.draw_path(&path);
            }
            &[]
        }
        Fill::Hatch => &[Slope::Rising],
        Fill::CrossHatch => &[Slope::Rising, Slope::Falling],
    };
    for slope in slopes {
        for (a, b) in hatch(points, *slope) {
            stroke(surface, outline(&[a, b], at_mm, false), Pen::Thin);
        }
    }
    if let Some(pen) = pen {
        stroke(surface, outline(points, at_mm, true), pen);
    }
}

fn white() -> Paint {
    Paint { paint: krilla::color::luma::Color::new(255).into(), ..Paint::default() }
}

fn stroke(surface: &mut Surface<'_>, path: Option<Path>, pen: Pen) {
    let Some(path) = path else { return };
    let dashes: Vec<f32> = pen.dashes_mm().iter().map(|mm| (mm * POINTS_PER_MM) as f32).collect();
    let line = Stroke {
        paint: krilla::color::luma::Color::new(0).into(),
        width: (pen.width_mm() * POINTS_PER_MM) as f32,
        dash: (!dashes.is_empty()).then_some(StrokeDash { array: dashes, offset: 0.0 }),
        ..Stroke::default()
    };
    surface.set_fill(None);
    surface.set_stroke(Some(line.clone()));
    surface.draw_path(&path);
    if pen == Pen::Double {
        let gap = Stroke { paint: krilla::color::luma::Color::new(255).into(), width: line.width / 3.0, ..line };
        surface.set_stroke(Some(gap));
        surface.draw_path(&path);
    }
    surface.set_stroke(None);
}

fn outline(points: &[Place], at_mm: Place, closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    for (n, (x, y)) in points.iter().enumerate() {
        let (x, y) = ((x + at_mm.0) * POINTS_PER_MM, (y + at_mm.1) * POINTS_PER_MM);
        if !x.is_finite() || !y.is_finite() {
            return None;
        }
        match n {
            0 => path.move_to(x as f32, y as f32),
            _ => path.line_to(x as f32, y as f32),
        }
    }
    if closed {
        path.close();
    }
    path.finish()
}

fn draw_label(surface: &mut Surface<'_>, lettering: &mut Lettering, label: &Label, at_mm: Place) {
    if !label.at.0.is_finite() || !label.at.1.is_finite() {
        return;
    }
    let how = Type { pt: label.size_mm * POINTS_PER_MM, face: label.face, bold: label.bold };
    let laid = lettering.set(&label.words, how, None, crate::Anchor::Start);
    let left = match label.anchor {
        crate::Anchor::Start => 0.0,
        crate::Anchor::Middle => laid.width_mm / 2.0,
        crate::Anchor::End => laid.width_mm,
    };
    let at = (label.at.0 + at_mm.0 - left, label.at.1 + at_mm.1 - laid.baseline_mm);
    lettering.draw(surface, &laid, at);
}
