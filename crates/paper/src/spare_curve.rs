//! Spare against shift: what moving the axis and the throws brings, and what was taken of it.

use plotters::drawing::{DrawingAreaErrorKind, IntoDrawingArea};
use plotters::element::Circle;
use plotters::series::LineSeries;
use plotters::style::Color;
use units::{Unit, show_mm};

use crate::labelling::{LEADING, wrapped};
use crate::plot::{Axes, EDGE, INK, Onto, pixels};
use crate::{Drawing, Label};

/// The curve for the undersizes that were chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct SpareCurve {
    /// The unit of figures.
    pub unit: Unit,
    /// Largest shift and the spare on the radius that it leaves, in millimetres, from no shift on; straight between them.
    pub points_mm: Vec<(f64, f64)>,
    /// The shift that was taken, and what it leaves.
    pub taken_mm: (f64, f64),
}

const PLOT_MM: f64 = 52.0;

impl SpareCurve {
    /// As wide as a panel is.
    pub const WIDE_MM: f64 = 110.0;
    /// The least width.
    pub const NARROW_MM: f64 = 48.0;

    /// Draws it, so wide; nothing where no move brings anything.
    pub fn draw(&self, width_mm: f64) -> Option<Drawing> {
        let width = if width_mm >= Self::NARROW_MM { width_mm.min(500.0) } else { Self::NARROW_MM };
        let sound = |(x, y): &(f64, f64)| x.is_finite() && y.is_finite() && *x >= 0.0;
        let points: Vec<(f64, f64)> = self.points_mm.iter().copied().filter(sound).collect();
        let most = points.iter().map(|point| point.0).fold(0.0, f64::max);
        if points.len() < 2 || most < 1e-6 || !sound(&self.taken_mm) {
            return None;
        }
        let title = "Spare against shift";
        let mut drawing = Drawing::new(width, PLOT_MM, title);
        drawing.label(Label::words((0.0, 4.0), title).sized(4.0).bold());
        self.plot(&mut drawing, &points, most).ok()?;
        let shown = |mm: f64| show_mm(mm, self.unit, self.unit.usual_decimals());
        let best = points.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let note = format!(
            "To the right: the largest shift of an end main or a pin. Upwards: spare on the radius, as measured; both in {}. Marked: \
             what was taken, {} of spare for {}. The most to be had is {} for {}. The line is \
             that of the widest way the shop allows; one that moves the throws alone may move them more.",
            self.unit.plural(),
            shown(self.taken_mm.1),
            shown(self.taken_mm.0),
            shown(best.1),
            shown(best.0)
        );
        let mut y = PLOT_MM;
        for line in wrapped(&note, Label::USUAL_MM, false, width) {
            y += Label::USUAL_MM * LEADING;
            drawing.label(Label::words((0.0, y), line));
        }
        drawing.height_mm = y + 1.5;
        drawing.says = note;
        Some(drawing)
    }

    fn plot(
        &self,
        drawing: &mut Drawing,
        points: &[(f64, f64)],
        most: f64,
    ) -> Result<(), DrawingAreaErrorKind<std::convert::Infallible>> {
        let unit = self.unit.mm();
        let (low, high) = points
            .iter()
            .chain([&self.taken_mm])
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.1), h.max(p.1)));
        let margin = (0.1 * (high - low)).max(1e-4);
        let mut marks = std::mem::take(&mut drawing.marks);
        {
            let area = Onto(drawing).into_drawing_area();
            let figure = |value: &f64| show_mm(*value * unit, self.unit, self.unit.usual_decimals());
            let right = (most.max(self.taken_mm.0) * 1.02) / unit;
            let axes =
                Axes { across: 0.0..right, upwards: (low - margin) / unit..(high + margin) / unit, right_mm: 6.0 };
            let mut chart = axes.on(&area, &figure, &figure)?;
            let curve = points.iter().map(|(shift, spare)| (shift / unit, spare / unit));
            chart.draw_series(LineSeries::new(curve, EDGE.stroke_width(1)))?;
            let taken = (self.taken_mm.0 / unit, self.taken_mm.1 / unit);
            chart.draw_series(std::iter::once(Circle::new(taken, pixels(1.3), INK.filled())))?;
        }
        marks.append(&mut drawing.marks);
        drawing.marks = marks;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_says_what_was_taken_and_what_could_be() {
        let curve = SpareCurve {
            unit: Unit::Millimetre,
            points_mm: vec![(0.0, 0.0065), (0.010, 0.0315), (0.078, 0.0440)],
            taken_mm: (0.008, 0.0315),
        };
        let drawing = curve.draw(100.0).unwrap();
        assert!(drawing.says.contains("0.032 of spare for 0.008"), "{}", drawing.says);
        assert!(drawing.says.contains("The most to be had is 0.044 for 0.078"), "{}", drawing.says);
        assert!(drawing.marks.len() > 10);
    }

    #[test]
    fn no_move_is_no_curve() {
        for points_mm in [vec![], vec![(0.0, 0.01)], vec![(0.0, 0.01), (0.0, 0.01)], vec![(f64::NAN, 0.0), (1.0, 1.0)]]
        {
            assert_eq!(SpareCurve { unit: Unit::Inch, points_mm, taken_mm: (0.0, 0.01) }.draw(100.0), None);
        }
    }
}
