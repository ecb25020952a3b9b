//! One journal from the side: its lines and fills say what is known of it, without colour.

use super::Standing;
use super::laid_out::Bar;
use crate::{Drawing, Fill, Pen, Place};

/// Where a journal stands on the paper.
#[derive(Clone, Copy, Debug)]
pub(super) struct Box {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) middle: f64,
    /// Half as high as it is drawn, at the size it was last ground to.
    pub(super) half: f64,
    /// The same at standard size.
    pub(super) standard: f64,
    /// How deep the wear is drawn.
    pub(super) wear: f64,
}

impl Box {
    fn top(self) -> f64 {
        self.middle - self.half
    }

    fn bottom(self) -> f64 {
        self.middle + self.half
    }

    fn corners(self) -> [Place; 4] {
        let (top, bottom) = (self.top(), self.bottom());
        [(self.left, top), (self.right, top), (self.right, bottom), (self.left, bottom)]
    }
}

/// Draws it. The first mark is always its outline or the part of it that is measured.
pub(super) fn draw(drawing: &mut Drawing, bar: &Bar, place: Box) {
    let corners = place.corners();
    let outline = |drawing: &mut Drawing, pen: Pen| drawing.shape(corners, Some(pen), Fill::Paper);
    match bar.mark.standing {
        Standing::Plain => outline(drawing, Pen::Edge),
        Standing::NotMeasured => outline(drawing, Pen::Dashed),
        Standing::Part { taken, of } => part(drawing, place, taken, of),
        Standing::Inside => outline(drawing, Pen::Thin),
        Standing::Worn => {
            outline(drawing, Pen::Thin);
            worn_edge(drawing, place);
        }
        Standing::LookAgain => outline(drawing, Pen::Double),
        Standing::Damaged => {
            drawing.shape(corners, None, Fill::Paper);
            drawing.shape(corners, Some(Pen::Edge), Fill::CrossHatch);
            let side = (0.35 * (place.right - place.left)).min(place.half).min(2.5);
            let (x, y) = (place.right, place.top());
            drawing.shape([(x - side, y), (x, y), (x, y + side)], None, Fill::Ink);
        }
        Standing::LeftOut => outline(drawing, Pen::Dotted),
    }
    if bar.undersize_mm > 0.0 {
        for y in [place.middle - place.standard, place.middle + place.standard] {
            drawing.line([(place.left, y), (place.right, y)], Pen::Outline);
        }
    }
    if bar.wear_mm > 0.0 {
        groove(drawing, place);
    }
    if bar.mark.current {
        let (off, half) = (1.1, place.standard + 1.1);
        let (left, right) = (place.left - off, place.right + off);
        drawing.rectangle((left, place.middle - half), (right, place.middle + half), Some(Pen::Heavy), Fill::None);
    }
    if bar.mark.decides {
        let (near, far) = (place.standard + 1.8, place.standard + 3.0);
        for way in [-1.0, 1.0] {
            let (near, far) = (place.middle + way * near, place.middle + way * far);
            let points = [(place.left, near), (place.left, far), (place.right, far), (place.right, near)];
            drawing.line(points, Pen::Edge);
        }
    }
}

/// As much of the outline is there as is measured; the rest is dashed.
fn part(drawing: &mut Drawing, place: Box, taken: usize, of: usize) {
    let share = (taken as f64 / of.max(1) as f64).clamp(0.2, 0.8);
    let at = place.left + share * (place.right - place.left);
    let (top, bottom) = (place.top(), place.bottom());
    drawing.shape(place.corners(), None, Fill::Paper);
    drawing.line([(at, top), (place.left, top), (place.left, bottom), (at, bottom)], Pen::Thin);
    drawing.line([(at, top), (place.right, top), (place.right, bottom), (at, bottom)], Pen::Dashed);
}

/// Hatching along the lower edge, at least deep enough to be seen.
fn worn_edge(drawing: &mut Drawing, place: Box) {
    let deep = place.wear.max(0.35 * place.half).max(1.2).min(2.0 * place.half);
    let bottom = place.bottom();
    drawing.rectangle((place.left, bottom - deep), (place.right, bottom), None, Fill::Hatch);
}

/// The worn surface, inside the size the journal was ground to: between the fillets, above and below.
fn groove(drawing: &mut Drawing, place: Box) {
    let ramp = 0.12 * (place.right - place.left);
    for way in [-1.0, 1.0] {
        let (edge, worn) = (place.middle + way * place.half, place.middle + way * (place.half - place.wear));
        let points = [(place.left, edge), (place.left + ramp, worn), (place.right - ramp, worn), (place.right, edge)];
        drawing.line(points, Pen::Thin);
    }
}
