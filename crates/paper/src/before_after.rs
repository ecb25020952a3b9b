//! Sizes before and after grinding, journal by journal, with the limits that the finished ones must keep.

use units::{Unit, show_mm};

use crate::journal_drawing::is_size;
use crate::labelling::{LEADING, room_for, wrapped};
use crate::{Drawing, Drawn, Fill, Label, Pen};

/// One journal before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What it is called.
    pub name: String,
    /// Smallest and largest size before, where it was measured.
    pub before_mm: Option<(f64, f64)>,
    /// Smallest and largest size after, where it was measured.
    pub after_mm: Option<(f64, f64)>,
}

/// One set before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct BeforeAfter {
    /// What the set is called: `Mains`.
    pub name: String,
    /// The unit of figures.
    pub unit: Unit,
    /// Finished limits, where they are known.
    pub limits_mm: Option<(f64, f64)>,
    /// The journals, in order.
    pub journals: Vec<Change>,
}

/// Smallest and largest size, where there are any.
type Pair = Option<(f64, f64)>;

/// From one journal to the next.
const ROW_MM: f64 = 5.5;

impl BeforeAfter {
    /// As wide as a page of A4 has room for.
    pub const USUAL_MM: f64 = 186.0;

    /// Draws it; what is narrower than 120 mm is drawn so wide.
    pub fn draw(&self, width_mm: f64) -> Drawn {
        let width = if width_mm >= 120.0 { width_mm.min(1000.0) } else { 120.0 };
        let mut drawing = Drawing::new(width, 0.0, format!("{}: before and after", self.name));
        let mut troubles = Vec::new();
        let sound = |name: &str, pair: Pair, troubles: &mut Vec<String>| match pair {
            Some((low, high)) if is_size(low) && is_size(high) => Some((low.min(high), low.max(high))),
            Some(_) => {
                troubles.push(format!("A size of {name} is no size: left out."));
                None
            }
            None => None,
        };
        let limits = sound("the limits", self.limits_mm, &mut troubles);
        let rows: Vec<(&Change, Pair, Pair)> = self
            .journals
            .iter()
            .map(|journal| {
                let before = sound(&journal.name, journal.before_mm, &mut troubles);
                let after = sound(&journal.name, journal.after_mm, &mut troubles);
                (journal, before, after)
            })
            .collect();
        let sizes = || {
            let of_rows = rows.iter().flat_map(|(_, before, after)| [*before, *after]);
            of_rows.chain([limits]).flatten().flat_map(|(low, high)| [low, high])
        };
        let (low, high) = (sizes().fold(f64::INFINITY, f64::min), sizes().fold(0.0, f64::max));
        drawing.label(Label::words((0.0, 4.0), format!("{}: before and after", self.name)).sized(4.0).bold());
        if high <= 0.0 {
            troubles.push("No size is measured.".to_owned());
            drawing.label(Label::words((0.0, 9.0), "No size is measured."));
            drawing.height_mm = 11.0;
            drawing.says = format!("{}: no size is measured.", self.name);
            return Drawn { drawing, troubles };
        }
        let size = Label::USUAL_MM;
        let named = rows.iter().map(|(journal, ..)| room_for(&journal.name, size, true));
        let left = (named.fold(10.0, f64::max) + 4.0).min(width * 0.3);
        let figures: Vec<String> = rows.iter().map(|(_, before, after)| self.words(*before, *after)).collect();
        let right = figures.iter().map(|f| room_for(f, size, false)).fold(10.0, f64::max) + 3.0;
        let room = width - left - right;
        let x = |mm: f64| left + 3.0 + (high - mm) / (high - low).max(1e-6) * (room - 6.0);
        let mut y = 9.0;
        let top = y + 2.5;
        let mut ys = Vec::new();
        let mut lines_y = y + 4.0;
        for (journal, ..) in &rows {
            let lines = wrapped(&journal.name, size, true, left - 2.0);
            let at = lines_y + 2.0;
            for (n, line) in lines.iter().enumerate() {
                drawing.label(Label::words((0.0, at + 1.0 + n as f64 * size * LEADING), line.as_str()).bold());
            }
            ys.push(at);
            lines_y += ROW_MM.max(lines.len() as f64 * size * LEADING + 1.0);
        }
        let bottom = lines_y + 0.5;
        if let Some((least, most)) = limits {
            drawing.group("limits", |drawing| {
                for mm in [most, least] {
                    drawing.line([(x(mm), top), (x(mm), bottom)], Pen::Edge);
                }
                // Brackets a size band, above and below.
                for (end, tick) in [(top, 1.5), (bottom, -1.5)] {
                    drawing.line(
                        [(x(most), end + tick), (x(most), end), (x(least), end), (x(least), end + tick)],
                        Pen::Edge,
                    );
                }
            });
            let words = format!("limits {} to {}", self.figure(least), self.figure(most));
            let half = room_for(&words, size, false) / 2.0;
            let at = x(least).midpoint(x(most)).clamp(half, width - half);
            drawing.label(Label::words((at, y + 1.2), words).middle());
        }
        for (((_, before, after), at), words) in rows.iter().zip(&ys).zip(&figures) {
            y = *at;
            drawing.line([(left, y), (left + room, y)], Pen::Dotted);
            if let Some((low, high)) = *before {
                drawing.line([(x(high), y), (x(low), y)], Pen::Edge);
                drawing.group("before", |drawing| {
                    for mm in [high, low] {
                        drawing.circle((x(mm), y), 1.0, Some(Pen::Thin), Fill::Paper);
                    }
                });
            }
            if let Some((low, high)) = *after {
                drawing.line([(x(high), y), (x(low), y)], Pen::Edge);
                drawing.group("after", |drawing| {
                    for mm in [high, low] {
                        drawing.circle((x(mm), y), 1.0, None, Fill::Ink);
                    }
                });
            }
            drawing.label(Label::words((width - right + 2.0, y + 1.0), words.as_str()));
        }
        let note = format!(
            "Open: smallest and largest before. Full: after. Sizes in {}, on the diameter, larger to the left.",
            self.unit.plural()
        );
        y = bottom + 1.5;
        for note in std::iter::once(&note).chain(&troubles) {
            for line in wrapped(note, size, false, width) {
                y += size * LEADING;
                drawing.label(Label::words((0.0, y), line));
            }
        }
        drawing.height_mm = y + 1.5;
        let told: Vec<String> =
            rows.iter().zip(&figures).map(|((journal, ..), words)| format!("{}: {words}", journal.name)).collect();
        let limits = limits
            .map_or(String::new(), |(least, most)| format!(" Limits {} to {}.", self.figure(least), self.figure(most)));
        drawing.says = format!(
            "{}, smallest sizes in {} before and after. {}.{limits}",
            self.name,
            self.unit.plural(),
            told.join("; ")
        );
        Drawn { drawing, troubles }
    }

    fn words(&self, before: Pair, after: Pair) -> String {
        let side = |pair: Pair| pair.map_or("not measured".to_owned(), |(low, _)| self.figure(low));
        match (before, after) {
            (None, None) => "not measured".to_owned(),
            (before, after) => format!("{} → {}", side(before), side(after)),
        }
    }

    fn figure(&self, mm: f64) -> String {
        let decimals = self.unit.usual_decimals();
        show_mm(mm, self.unit, decimals)
    }
}
