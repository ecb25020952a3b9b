//! Where a plot becomes marks of a drawing: a backend for the plotting library.
//!
//! The library counts in whole pixels, so one stands for a hundredth of a millimetre; and it knows colours but no kinds of
//! line, so each colour here stands for a kind of line or of filling.

use std::convert::Infallible;

use plotters::style::RGBColor;
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

fn pen(color: BackendColor) -> Pen {
    match color.rgb {
        (0, 0, 2) => Pen::Edge,
        (0, 0, 3) => Pen::Dashed,
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
