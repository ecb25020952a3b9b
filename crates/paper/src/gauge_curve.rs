//! What the gauge shows over speed, warm and cold.

use plotters::drawing::{DrawingAreaErrorKind, IntoDrawingArea};
use plotters::series::LineSeries;
use plotters::style::{Color, RGBColor};
use units::Unit;

use crate::labelling::{LEADING, room_for, wrapped};
use crate::plot::{Axes, DASHED, EDGE, OUTLINE, Onto, THIN, whole_numbers};
use crate::{Drawing, Label, Pen};

/// The gauge at one clearance: speed in turns a minute and pressure in pascals, in ascending order of speed.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeLines {
    /// What the clearance is called: `as planned`.
    pub name: String,
    /// With warm oil.
    pub hot: Vec<(f64, f64)>,
    /// With the oil of a cold start.
    pub cold: Vec<(f64, f64)>,
}

/// The gauge over speed.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeCurve {
    /// The shop's unit: pressures are in psi with inches, in bar with millimetres.
    pub unit: Unit,
    /// What is planned.
    pub planned: GaugeLines,
    /// What was found, where that is another.
    pub found: Option<GaugeLines>,
    /// What must stand beside every pressure.
    pub hint: String,
}

const PLOT_MM: f64 = 66.0;

/// One curve: what it is called, how it is drawn, and its points in the unit shown.
struct Curve {
    words: String,
    pen: RGBColor,
    points: Vec<(f64, f64)>,
}

impl GaugeCurve {
    /// As wide as a page shows it, or a page of A4.
    pub const USUAL_MM: f64 = 150.0;

    /// Draws it, so wide; what is narrower than 100 mm is drawn so wide.
    pub fn draw(&self, width_mm: f64) -> Drawing {
        let width = if width_mm >= 100.0 { width_mm.min(1000.0) } else { 100.0 };
        let title = "Pressure on the gauge over speed";
        let mut drawing = Drawing::new(width, PLOT_MM, title);
        drawing.label(Label::words((0.0, 4.0), title).sized(4.0).bold());
        let curves = self.curves();
        let mut y = PLOT_MM;
        let drawn = !curves.is_empty() && self.plot(&mut drawing, &curves).is_ok();
        if !drawn {
            drawing.label(Label::words((0.0, 12.0), "No pressure could be worked out."));
            y = 14.0;
        }
        let mut notes = vec![format!(
            "Upwards: pressure on the gauge in {}. To the right: turns a minute, from idle to the running speed.",
            self.pressure_unit()
        )];
        if self.found.is_some() {
            notes.push(format!("Whole lines: {}. Broken lines: {}.", self.planned.name, self.name_found()));
        }
        notes.push(format!("Of the gauge: {}.", self.hint.trim_end_matches('.')));
        for line in notes.iter().flat_map(|note| wrapped(note, Label::USUAL_MM, false, width)) {
            y += Label::USUAL_MM * LEADING;
            drawing.label(Label::words((0.0, y), line));
        }
        drawing.height_mm = y + 1.5;
        let ends = curves.iter().filter_map(|curve| {
            let (first, last) = (curve.points.first()?, curve.points.last()?);
            Some(format!(
                "{}: {} {unit} at {:.0}, {} {unit} at {:.0} turns a minute.",
                curve.words,
                self.figure(first.1),
                first.0,
                self.figure(last.1),
                last.0,
                unit = self.pressure_unit()
            ))
        });
        drawing.says = ends.chain(notes.iter().cloned()).collect::<Vec<_>>().join(" ");
        drawing
    }

    fn name_found(&self) -> &str {
        self.found.as_ref().map_or("", |found| found.name.as_str())
    }

    fn pressure_unit(&self) -> &'static str {
        if self.unit == Unit::Inch { "psi" } else { "bar" }
    }

    fn figure(&self, pressure: f64) -> String {
        if self.unit == Unit::Inch { format!("{pressure:.0}") } else { format!("{pressure:.1}") }
    }

    fn curves(&self) -> Vec<Curve> {
        // One psi in pascals: NIST SP 811, B.8, rounded as there.
        let pa = if self.unit == Unit::Inch { 6894.757 } else { 1e5 };
        let sound = |(speed, pressure): &(f64, f64)| speed.is_finite() && pressure.is_finite() && *pressure >= 0.0;
        let curve = |name: &str, when: &str, pen: RGBColor, points: &[(f64, f64)]| Curve {
            words: format!("{name}, {when}"),
            pen,
            points: points.iter().filter(|point| sound(point)).map(|(speed, p)| (*speed, p / pa)).collect(),
        };
        let mut curves = vec![
            curve(&self.planned.name, "hot", EDGE, &self.planned.hot),
            curve(&self.planned.name, "cold", THIN, &self.planned.cold),
        ];
        if let Some(found) = &self.found {
            curves.push(curve(&found.name, "hot", DASHED, &found.hot));
            curves.push(curve(&found.name, "cold", OUTLINE, &found.cold));
        }
        curves.retain(|curve| curve.points.len() > 1);
        curves
    }

    fn plot(
        &self,
        drawing: &mut Drawing,
        curves: &[Curve],
    ) -> Result<(), DrawingAreaErrorKind<std::convert::Infallible>> {
        let points = || curves.iter().flat_map(|curve| curve.points.iter());
        let first = points().map(|point| point.0).fold(f64::INFINITY, f64::min);
        let last = points().map(|point| point.0).fold(f64::NEG_INFINITY, f64::max);
        let top = 1.1 * points().map(|point| point.1).fold(0.0, f64::max).max(1e-3);
        let names = curves.iter().map(|curve| room_for(&curve.words, Label::USUAL_MM, false)).fold(0.0, f64::max) + 8.0;
        let mut marks = std::mem::take(&mut drawing.marks);
        let ends: Vec<(f64, f64)>;
        {
            let area = Onto(drawing).into_drawing_area();
            let upwards = |value: &f64| self.figure(*value);
            let axes = Axes { across: first..last, upwards: 0.0..top, right_mm: names };
            let mut chart = axes.on(&area, &whole_numbers, &upwards)?;
            for curve in curves {
                chart.draw_series(LineSeries::new(curve.points.iter().copied(), curve.pen.stroke_width(1)))?;
            }
            ends = curves
                .iter()
                .filter_map(|curve| curve.points.last())
                .map(|end| crate::plot::place(chart.backend_coord(end)))
                .collect();
        }
        name_ends(drawing, curves, &ends);
        marks.append(&mut drawing.marks);
        drawing.marks = marks;
        Ok(())
    }
}

/// The curves' names beside their ends, pushed apart where they would lie on each other, each with a line to its end.
fn name_ends(drawing: &mut Drawing, curves: &[Curve], ends: &[(f64, f64)]) {
    let line = Label::USUAL_MM * LEADING;
    let mut order: Vec<(&Curve, (f64, f64))> = curves.iter().zip(ends.iter().copied()).collect();
    order.sort_by(|a, b| a.1.1.total_cmp(&b.1.1));
    let mut free = 6.0;
    let lowest = PLOT_MM - 8.0;
    for (n, (curve, (x, y))) in order.iter().enumerate() {
        let rest = (order.len() - n - 1) as f64 * line;
        let at = (y - line / 2.0).min(lowest - line - rest).max(free);
        free = at + line;
        drawing.line([(x + 0.5, *y), (x + 5.0, at + line / 2.0)], Pen::Thin);
        drawing.label(Label::words((x + 5.8, at + line * 0.75), curve.words.as_str()));
    }
}
