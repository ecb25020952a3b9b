//! A drawing as SVG.
//!
//! It carries no style sheet and no script: lines and fills are attributes, ink is `currentColor`. So it can stand in a
//! page whose rules forbid inline styles, follow the page's colours, or be a file of its own.

use std::fmt::Write;

use crate::hatch::{Slope, hatch};
use crate::{Anchor, Drawing, Face, Fill, Label, Mark, Pen, Place};

/// The lettering, as a page that carries it names it, as it is called where it is installed, and what may stand for it.
const WORDS: &str = "Words, 'Atkinson Hyperlegible Next', 'DejaVu Sans', sans-serif";
const FIGURES: &str = "Figures, 'Atkinson Hyperlegible Mono', 'DejaVu Sans Mono', monospace";

/// How large a drawing is to be shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SvgSize {
    /// In its true size on paper: a file.
    Millimetres,
    /// On a page, so that letters of [`Label::USUAL_MM`] stand as high as the page's own text.
    Page,
}

impl Drawing {
    /// The drawing as SVG. `name` tells its parts from those of other drawings on one page: letters, digits, hyphens.
    pub fn to_svg(&self, name: &str, size: SvgSize) -> String {
        let (width, height) = match size {
            SvgSize::Millimetres => (format!("{}mm", short(self.width_mm)), format!("{}mm", short(self.height_mm))),
            SvgSize::Page => (rem(self.width_mm), rem(self.height_mm)),
        };
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-labelledby=\"{name}-title {name}-says\" \
             width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {} {}\" fill=\"none\" stroke-linejoin=\"round\" \
             font-family=\"{WORDS}\">",
            short(self.width_mm),
            short(self.height_mm)
        );
        let _ = write!(
            out,
            "<title id=\"{name}-title\">{}</title><desc id=\"{name}-says\">{}</desc>",
            escaped(&self.title),
            escaped(&self.says)
        );
        for mark in &self.marks {
            write_mark(&mut out, mark);
        }
        out.push_str("</svg>");
        out
    }
}

fn write_mark(out: &mut String, mark: &Mark) {
    match mark {
        Mark::Line { points, pen } => stroke(out, &path(points, false), *pen),
        Mark::Shape { points, pen, fill } => {
            let outline = path(points, true);
            write_fill(out, points, &format!("<path d=\"{outline}\""), *fill);
            if let Some(pen) = pen {
                stroke(out, &outline, *pen);
            }
        }
        Mark::Circle { centre, radius_mm, pen, fill } => {
            let circle =
                format!("<circle cx=\"{}\" cy=\"{}\" r=\"{}\"", short(centre.0), short(centre.1), short(*radius_mm));
            write_fill(out, &crate::drawing::round(*centre, *radius_mm), &circle, *fill);
            if let Some(pen) = pen {
                let _ = write!(out, "{circle}{}/>", stroke_attributes(*pen));
                if *pen == Pen::Double {
                    let _ = write!(out, "{circle}{}/>", gap_attributes(*pen));
                }
            }
        }
        Mark::Label(label) => write_label(out, label),
        Mark::Group { name, marks } => {
            let _ = write!(out, "<g data-part=\"{}\">", escaped(name));
            for mark in marks {
                write_mark(out, mark);
            }
            out.push_str("</g>");
        }
    }
}

fn write_fill(out: &mut String, points: &[Place], opening: &str, fill: Fill) {
    let slopes: &[Slope] = match fill {
        Fill::None => return,
        Fill::Paper => {
            // Where a page has another background its rules may give `paper` that colour.
            let _ = write!(out, "{opening} class=\"paper\" fill=\"#fff\"/>");
            return;
        }
        Fill::Ink => {
            let _ = write!(out, "{opening} fill=\"currentColor\"/>");
            return;
        }
        Fill::Hatch => &[Slope::Rising],
        Fill::CrossHatch => &[Slope::Rising, Slope::Falling],
    };
    let lines: String = slopes
        .iter()
        .flat_map(|slope| hatch(points, *slope))
        .map(|(a, b)| format!("M{} {}L{} {}", short(a.0), short(a.1), short(b.0), short(b.1)))
        .collect();
    if !lines.is_empty() {
        stroke(out, &lines, Pen::Thin);
    }
}

fn stroke(out: &mut String, path: &str, pen: Pen) {
    let _ = write!(out, "<path d=\"{path}\"{}/>", stroke_attributes(pen));
    if pen == Pen::Double {
        let _ = write!(out, "<path d=\"{path}\"{}/>", gap_attributes(pen));
    }
}

fn stroke_attributes(pen: Pen) -> String {
    let mut attributes = format!(" stroke=\"currentColor\" stroke-width=\"{}\"", short(pen.width_mm()));
    let dashes: Vec<String> = pen.dashes_mm().iter().map(|mm| short(*mm)).collect();
    if !dashes.is_empty() {
        let _ = write!(attributes, " stroke-dasharray=\"{}\"", dashes.join(" "));
    }
    attributes
}

/// The white between the two lines of a double one.
fn gap_attributes(pen: Pen) -> String {
    format!(" class=\"gap\" stroke=\"#fff\" stroke-width=\"{}\"", short(pen.width_mm() / 3.0))
}

fn write_label(out: &mut String, label: &Label) {
    let anchor = match label.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let family = match label.face {
        Face::Words => String::new(),
        Face::Figures => format!(" font-family=\"{FIGURES}\""),
    };
    let weight = if label.bold { " font-weight=\"700\"" } else { "" };
    let _ = write!(
        out,
        "<text x=\"{}\" y=\"{}\"{family} font-size=\"{}\"{weight}{anchor} fill=\"currentColor\">{}</text>",
        short(label.at.0),
        short(label.at.1),
        short(label.size_mm),
        escaped(&label.words)
    );
}

fn path(points: &[Place], closed: bool) -> String {
    let mut out = String::new();
    for (n, (x, y)) in points.iter().enumerate() {
        let _ = write!(out, "{}{} {}", if n == 0 { 'M' } else { 'L' }, short(*x), short(*y));
    }
    if closed && !points.is_empty() {
        out.push('Z');
    }
    out
}

/// A length to a hundredth of a millimetre, which no eye and no printer tells apart, without needless digits.
fn short(mm: f64) -> String {
    let text = format!("{:.2}", if mm.is_finite() { mm } else { 0.0 });
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A length on a page, where the usual letters are one letter of the page high.
fn rem(mm: f64) -> String {
    format!("{:.2}rem", mm / Label::USUAL_MM)
}

/// Text as it may stand in SVG. What XML cannot hold at all is left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' => out.push(' '),
            letter if letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}') => {}
            letter => out.push(letter),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_short() {
        let cases = [(1.0, "1"), (1.204, "1.2"), (-0.001, "0"), (12.3456, "12.35"), (f64::NAN, "0"), (100.0, "100")];
        for (mm, text) in cases {
            assert_eq!(short(mm), text);
        }
    }

    #[test]
    fn names_cannot_break_out() {
        let mut drawing = Drawing::new(10.0, 10.0, "O’Brien & Söhne <b>");
        drawing.label(Label::words((1.0, 1.0), "</text><script>\u{1}"));
        let svg = drawing.to_svg("d", SvgSize::Millimetres);
        assert!(svg.contains("Söhne &lt;b&gt;") && svg.contains("&lt;/text&gt;&lt;script&gt;</text>"), "{svg}");
    }

    #[test]
    fn a_double_line_is_two() {
        let mut drawing = Drawing::new(10.0, 10.0, "");
        drawing.line([(0.0, 0.0), (10.0, 0.0)], Pen::Double);
        let svg = drawing.to_svg("d", SvgSize::Page);
        assert_eq!(svg.matches("<path").count(), 2);
        assert!(svg.contains("width=\"3.33rem\""), "{svg}");
    }
}
