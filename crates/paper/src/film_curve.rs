//! Least film over clearance, with the window of the plan on it.

use plotters::drawing::{DrawingAreaErrorKind, IntoDrawingArea};
use plotters::element::Rectangle;
use plotters::series::LineSeries;
use plotters::style::Color;
use units::Unit;

use crate::labelling::{LEADING, wrapped};
use crate::plot::{Axes, DASHED, EDGE, HATCH, INK, Onto, whole_numbers};
use crate::{Drawing, Label};

/// Least film against clearance.
#[derive(Clone, Debug, PartialEq)]
pub struct FilmCurve {
    /// What it is of: `Big ends`.
    pub name: String,
    /// The unit of clearances; films are in millionths of an inch or in microns.
    pub unit: Unit,
    /// Clearance on the diameter in millimetres, and least film in microns, in ascending order of clearance.
    pub points: Vec<(f64, f64)>,
    /// The clearances that the plan permits.
    pub window_mm: Option<(f64, f64)>,
    /// Clearances that are named.
    pub named_mm: Vec<(String, f64)>,
    /// Combined roughness in microns: a thinner film does not part the surfaces.
    pub roughness_um: f64,
}

const PLOT_MM: f64 = 62.0;

impl FilmCurve {
    /// As wide as a page shows it, or a page of A4.
    pub const USUAL_MM: f64 = 150.0;

    /// Draws it, so wide; what is narrower than 100 mm is drawn so wide.
    pub fn draw(&self, width_mm: f64) -> Drawing {
        let width = if width_mm >= 100.0 { width_mm.min(1000.0) } else { 100.0 };
        let title = format!("{}: least film over clearance", self.name);
        let mut drawing = Drawing::new(width, PLOT_MM, title.as_str());
        drawing.label(Label::words((0.0, 4.0), title).sized(4.0).bold());
        let sound = |(x, y): &(f64, f64)| x.is_finite() && y.is_finite() && *x > 0.0 && *y >= 0.0;
        let points: Vec<(f64, f64)> = self.points.iter().copied().filter(sound).collect();
        let mut y = PLOT_MM;
        if points.len() < 2 || self.plot(&mut drawing, &points).is_err() {
            drawing.label(Label::words((0.0, 12.0), "No film could be worked out."));
            y = 14.0;
        }
        let film = if self.unit == Unit::Inch { "millionths of an inch" } else { "microns" };
        let hatched = if self.window_mm.is_some() { " Hatched: the window it is to keep to." } else { "" };
        let mut notes = vec![format!(
            "Upwards: least film under load, in {film}. To the right: clearance on the diameter, in {}.{hatched} Dashed: \
             the roughness of the surfaces; below it they touch.",
            self.unit.plural()
        )];
        let decimals = self.unit.usual_decimals();
        let named: Vec<String> = self
            .named_mm
            .iter()
            .map(|(name, mm)| format!("{name} {}", units::show_mm(*mm, self.unit, decimals)))
            .collect();
        if !named.is_empty() {
            notes.push(format!("Marked: {}.", named.join(", ")));
        }
        for line in notes.iter().flat_map(|note| wrapped(note, Label::USUAL_MM, false, width)) {
            y += Label::USUAL_MM * LEADING;
            drawing.label(Label::words((0.0, y), line));
        }
        drawing.height_mm = y + 1.5;
        drawing.says = notes.join(" ");
        drawing
    }

    fn plot(
        &self,
        drawing: &mut Drawing,
        points: &[(f64, f64)],
    ) -> Result<(), DrawingAreaErrorKind<std::convert::Infallible>> {
        let unit = self.unit.mm();
        // Millionths of an inch, or microns.
        let film = if self.unit == Unit::Inch { 1.0 / 0.0254 } else { 1.0 };
        let (first, last) = (points.first().map_or(0.0, |p| p.0), points.last().map_or(1.0, |p| p.0));
        let top = 1.15 * film * points.iter().map(|p| p.1).fold(self.roughness_um, f64::max);
        let decimals = self.unit.usual_decimals();
        let mut marks = std::mem::take(&mut drawing.marks);
        {
            let area = Onto(drawing).into_drawing_area();
            let across = |value: &f64| units::show_mm(*value * unit, self.unit, decimals);
            let axes = Axes { across: (first / unit)..(last / unit), upwards: 0.0..top, right_mm: 6.0 };
            let mut chart = axes.on(&area, &across, &whole_numbers)?;
            if let Some((from, to)) = self.window_mm {
                let (from, to) = (from.max(first) / unit, to.min(last) / unit);
                if from < to {
                    chart.draw_series(std::iter::once(Rectangle::new([(from, 0.0), (to, top)], HATCH.filled())))?;
                }
            }
            let rough = film * self.roughness_um;
            chart
                .draw_series(LineSeries::new([(first / unit, rough), (last / unit, rough)], DASHED.stroke_width(1)))?;
            let curve = points.iter().map(|(mm, um)| (mm / unit, um * film));
            chart.draw_series(LineSeries::new(curve, EDGE.stroke_width(1)))?;
            for (_, mm) in self.named_mm.iter().filter(|(_, mm)| (first..=last).contains(mm)) {
                chart.draw_series(LineSeries::new([(mm / unit, 0.0), (mm / unit, 0.06 * top)], INK.stroke_width(3)))?;
            }
        }
        marks.append(&mut drawing.marks);
        drawing.marks = marks;
        Ok(())
    }
}
