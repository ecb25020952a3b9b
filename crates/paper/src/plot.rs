//! Where a plot becomes marks of a drawing: a backend for the plotting library.
//!
//! The library counts in whole pixels, so one stands for a hundredth of a millimetre; and it knows colours but no kinds of
//! line, so each colour here stands for a kind of line or of filling.

use std::convert::Infallible;
use std::ops::Range;

use plotters::chart::{ChartBuilder, ChartContext, LabelAreaPosition};
use plotters::coord::Shift;
use plotters::coord::cartesian::Cartesian2d;
use plotters::coord::types::RangedCoordf64;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind};
use plotters::style::{Color, IntoFont, RGBColor};
use plotters_backend::text_anchor::{HPos, VPos};
use plotters_backend::{BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind};

use crate::{Drawing, Face, Fill, Label, Pen, Place, width_mm};

/// Pixels of the library to a millimetre.
pub(crate) const PER_MM: f64 = 100.0;

/// A colour for each kind of line and of filling. The last part is their number.
pub(crate) const THIN: RGBColor = RGBColor(0, 0, 1);
pub(crate) const EDGE: RGBColor = RGBColor(0, 0, 2);
pub(crate) const DASHED: RGBColor = RGBColor(0, 0, 3);
pub(crate) const HATCH: RGBColor = RGBColor(0, 0, 4);
pub(crate) const INK: RGBColor = RGBColor(0, 0, 5);
pub(crate) const PAPER: RGBColor = RGBColor(0, 0, 6);
pub(crate) const OUTLINE: RGBColor = RGBColor(0, 0, 7);

fn pen(color: BackendColor) -> Pen {
    match color.rgb {
        (0, 0, 2) => Pen::Edge,
        (0, 0, 3) => Pen::Dashed,
        (0, 0, 7) => Pen::Outline,
        _ => Pen::Thin,
    }
}

fn fill(color: BackendColor) -> Fill {
    match color.rgb {
        (0, 0, 4) => Fill::Hatch,
        (0, 0, 6) => Fill::Paper,
        _ => Fill::Ink,
    }
}

pub(crate) fn place(at: BackendCoord) -> Place {
    (f64::from(at.0) / PER_MM, f64::from(at.1) / PER_MM)
}

/// Millimetres in the library's pixels.
pub(crate) fn pixels(mm: f64) -> u32 {
    (mm * PER_MM).round().clamp(0.0, 1e6) as u32
}

/// Figures of a scale without decimals.
pub(crate) fn whole_numbers(value: &f64) -> String {
    format!("{value:.0}")
}

/// The two scales of a curve.
#[derive(Clone, Debug)]
pub(crate) struct Axes {
    pub(crate) across: Range<f64>,
    pub(crate) upwards: Range<f64>,
    /// Room on the paper to the right of the scales.
    pub(crate) right_mm: f64,
}

/// A plot with straight scales.
type Chart<'a, 'd> = ChartContext<'a, Onto<'d>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

impl Axes {
    /// Draws the scales, with their figures as they are to be written, under the title of the drawing.
    pub(crate) fn on<'a, 'd>(
        self,
        area: &'a DrawingArea<Onto<'d>, Shift>,
        across: &dyn Fn(&f64) -> String,
        upwards: &dyn Fn(&f64) -> String,
    ) -> Result<Chart<'a, 'd>, DrawingAreaErrorKind<Infallible>> {
        const TITLE_MM: f64 = 8.0;
        const FIGURES_MM: f64 = 14.0;
        const FOOT_MM: f64 = 8.0;
        let mut chart = ChartBuilder::on(area)
            .margin_top(pixels(TITLE_MM))
            .margin_right(pixels(self.right_mm))
            .set_label_area_size(LabelAreaPosition::Left, pixels(FIGURES_MM))
            .set_label_area_size(LabelAreaPosition::Bottom, pixels(FOOT_MM))
            .build_cartesian_2d(self.across, self.upwards)?;
        chart
            .configure_mesh()
            .disable_x_mesh()
            .y_max_light_lines(1)
            .x_labels(6)
            .y_labels(6)
            .x_label_formatter(&across)
            .y_label_formatter(&upwards)
            .label_style(("Figures", f64::from(pixels(Label::USUAL_MM))).into_font())
            .bold_line_style(Color::stroke_width(&THIN, 1))
            .light_line_style(THIN.mix(0.0))
            .set_tick_mark_size(LabelAreaPosition::Left, pixels(1.2))
            .set_tick_mark_size(LabelAreaPosition::Bottom, pixels(1.2))
            .axis_style(Color::stroke_width(&EDGE, 1))
            .draw()?;
        Ok(chart)
    }
}

/// Draws into a drawing.
#[derive(Debug)]
pub(crate) struct Onto<'a>(pub(crate) &'a mut Drawing);

type Told = Result<(), DrawingErrorKind<Infallible>>;

impl DrawingBackend for Onto<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        (pixels(self.0.width_mm), pixels(self.0.height_mm))
    }

    fn ensure_prepared(&mut self) -> Told {
        Ok(())
    }

    fn present(&mut self) -> Told {
        Ok(())
    }

    /// A plot is lines and shapes; a single pixel would not be seen on paper.
    fn draw_pixel(&mut self, _: BackendCoord, _: BackendColor) -> Told {
        Ok(())
    }

    fn draw_line<S: BackendStyle>(&mut self, from: BackendCoord, to: BackendCoord, style: &S) -> Told {
        self.draw_path([from, to], style)
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Told {
        if style.color().alpha > 0.0 {
            self.0.line(path.into_iter().map(place).collect::<Vec<_>>(), pen(style.color()));
        }
        Ok(())
    }

    fn draw_rect<S: BackendStyle>(&mut self, a: BackendCoord, b: BackendCoord, style: &S, filled: bool) -> Told {
        let (pen, fill) = if filled { (Pen::Thin, fill(style.color())) } else { (pen(style.color()), Fill::None) };
        self.0.rectangle(place(a), place(b), Some(pen), fill);
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(&mut self, centre: BackendCoord, radius: u32, style: &S, filled: bool) -> Told {
        let (pen, fill) = if filled { (Pen::Thin, fill(style.color())) } else { (pen(style.color()), Fill::None) };
        self.0.circle(place(centre), f64::from(radius) / PER_MM, Some(pen), fill);
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, corners: I, style: &S) -> Told {
        self.0.shape(corners.into_iter().map(place).collect::<Vec<_>>(), Some(Pen::Thin), fill(style.color()));
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, style: &S, at: BackendCoord) -> Told {
        let size = style.size() / PER_MM;
        let (x, y) = place(at);
        // Capitals are 0.67 of the size high.
        let down = match style.anchor().v_pos {
            VPos::Top => 0.67 * size,
            VPos::Center => 0.33 * size,
            VPos::Bottom => 0.0,
        };
        let label = Label::figures((x, y + down), text).sized(size);
        self.0.label(match style.anchor().h_pos {
            HPos::Left => label,
            HPos::Center => label.middle(),
            HPos::Right => label.end(),
        });
        Ok(())
    }

    fn estimate_text_size<S: BackendTextStyle>(
        &self,
        text: &str,
        style: &S,
    ) -> Result<(u32, u32), DrawingErrorKind<Infallible>> {
        let size = style.size() / PER_MM;
        Ok((pixels(width_mm(text, size, Face::Figures, false)), pixels(size)))
    }
}
