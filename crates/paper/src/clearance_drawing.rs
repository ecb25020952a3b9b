//! The clearances of a set on one scale: a bar for each bearing, the limits as two brackets across all of them.

use units::{Unit, show_mm};

use crate::labelling::{Block, LEADING, in_rows, room_for, wrapped};
use crate::{Drawing, Drawn, Fill, Label, Pen};

/// From the ends of the scale to the edge of the paper.
const EDGE_MM: f64 = 3.0;
/// The most of the width that names take; longer ones are broken.
const NAMES_SHARE: f64 = 0.42;
/// How high a bar is, how far a bracket reaches in, how large the dot at the mean is.
const BAR_MM: f64 = 1.8;
const BRACKET_MM: f64 = 1.4;
const DOT_MM: f64 = 1.1;
/// Clearances that differ by less are the same.
const SAME_MM: f64 = 1e-9;

/// One bearing.
#[derive(Clone, Debug, PartialEq)]
pub struct ClearanceRow {
    /// What its journal is called: `Main 3`.
    pub name: String,
    /// Tightest, on the diameter; below nought where nothing is left.
    pub tightest_mm: f64,
    /// At the mean of bore and journal.
    pub mean_mm: f64,
    /// Loosest.
    pub loosest_mm: f64,
}

/// The clearances of one set, on the diameter.
#[derive(Clone, Debug, PartialEq)]
pub struct ClearanceSketch {
    /// What the set is called, in a sentence: `mains`.
    pub name: String,
    /// The unit of figures.
    pub unit: Unit,
    /// The bearings.
    pub rows: Vec<ClearanceRow>,
    /// The limits that every clearance is to keep.
    pub limits_mm: Option<(f64, f64)>,
    /// The clearance that is wanted.
    pub wanted_mm: Option<f64>,
    /// Whether the journals are still to be ground.
    pub as_planned: bool,
}

#[derive(Clone, Copy, Debug)]
struct Scale {
    low_mm: f64,
    high_mm: f64,
    left: f64,
    right: f64,
}

impl Scale {
    fn x(self, mm: f64) -> f64 {
        self.left + (mm - self.low_mm) / (self.high_mm - self.low_mm).max(1e-6) * (self.right - self.left)
    }
}

fn is_length(mm: f64) -> bool {
    mm.abs() < 100.0
}

impl ClearanceSketch {
    /// As wide as a panel of a page, or half a page of A4.
    pub const WIDE_MM: f64 = 90.0;
    /// As wide as the narrowest page.
    pub const NARROW_MM: f64 = 46.0;

    /// Draws it in a width; what is narrower than [`ClearanceSketch::NARROW_MM`] is drawn so wide.
    pub fn draw(&self, width_mm: f64) -> Drawn {
        let width = if width_mm >= Self::NARROW_MM { width_mm.min(500.0) } else { Self::NARROW_MM };
        let mut drawing = Drawing::new(width, 0.0, format!("Clearances of the {}", self.name));
        let sound = |row: &&ClearanceRow| {
            [row.tightest_mm, row.mean_mm, row.loosest_mm].into_iter().all(is_length)
                && row.tightest_mm <= row.loosest_mm
        };
        let rows: Vec<&ClearanceRow> = self.rows.iter().filter(sound).collect();
        let limits = self.limits_mm.filter(|(low, high)| is_length(*low) && is_length(*high) && low <= high);
        let wanted = self.wanted_mm.filter(|mm| is_length(*mm));
        let mut troubles = Vec::new();
        match self.rows.len() - rows.len() {
            0 => {}
            1 => troubles.push("1 of the clearances is no length: left out.".to_owned()),
            n => troubles.push(format!("{n} of the clearances are no lengths: left out.")),
        }
        if rows.is_empty() {
            troubles.push("No clearance is known.".to_owned());
            drawing.says = format!("No clearance of the {} is known.", self.name);
            drawing.height_mm = 5.0;
            drawing.label(Label::words((0.0, 4.0), "No clearance is known."));
            return Drawn { drawing, troubles };
        }
        let size = Label::USUAL_MM;
        let line = size * LEADING;
        let widest = rows.iter().map(|row| room_for(&row.name, size, false)).fold(0.0, f64::max);
        let names = widest.min(NAMES_SHARE * width);
        let scale = scale(&rows, limits, wanted, (names + EDGE_MM, width - EDGE_MM));
        let top = self.marks(&mut drawing, scale, limits, wanted);

        let mut y = top + 1.5;
        for (number, row) in rows.iter().enumerate() {
            let lines = wrapped(&row.name, size, false, names);
            let begins = y;
            for (n, words) in lines.iter().enumerate() {
                drawing.label(Label::words((0.0, begins + line * (n as f64 + 0.75)), words.as_str()));
            }
            let deep = line * lines.len() as f64;
            let bar = begins + (deep.max(line) - BAR_MM) / 2.0;
            drawing.group(format!("bearing-{}", number + 1), |drawing| {
                self.bar(drawing, scale, row, limits, bar);
            });
            y = (begins + deep).max(bar + BAR_MM) + 1.5;
        }
        let foot = y - 0.5;
        drawing.group("limits", |drawing| {
            for (mm, inward) in limits.into_iter().flat_map(|(low, high)| [(low, BRACKET_MM), (high, -BRACKET_MM)]) {
                let x = scale.x(mm);
                drawing.line([(x + inward, top), (x, top), (x, foot), (x + inward, foot)], Pen::Edge);
            }
        });
        if let Some(mm) = wanted {
            drawing.group("wanted", |drawing| {
                drawing.line([(scale.x(mm), top), (scale.x(mm), foot)], Pen::Dashed);
            });
        }
        if scale.low_mm < 0.0 {
            drawing.group("none", |drawing| {
                drawing.line([(scale.x(0.0), top), (scale.x(0.0), foot)], Pen::Heavy);
            });
        }
        y = foot + 0.5;
        let beyond: Vec<&str> = rows.iter().filter(|row| is_beyond(row, limits)).map(|row| row.name.as_str()).collect();
        let beyond = (!beyond.is_empty()).then(|| format!("Beyond the limits, cross-hatched: {}.", beyond.join(", ")));
        let notes = std::iter::once(self.caption(limits.is_some(), wanted.is_some(), scale.low_mm < 0.0));
        for note in notes.chain(beyond.clone()).chain(troubles.iter().cloned()) {
            for words in wrapped(&note, size, false, width) {
                y += line;
                drawing.label(Label::words((0.0, y), words));
            }
        }
        drawing.height_mm = y + 1.2;
        drawing.says = self.says(&rows, limits, wanted, beyond);
        Drawn { drawing, troubles }
    }

    /// The bar of one bearing: the tightest to the loosest, what lies beyond the limits cross-hatched, a dot at the mean.
    fn bar(&self, drawing: &mut Drawing, scale: Scale, row: &ClearanceRow, limits: Option<(f64, f64)>, top: f64) {
        let (left, right) = (scale.x(row.tightest_mm), scale.x(row.loosest_mm));
        let (left, right) = if right - left < 0.8 { (left - 0.4, right + 0.4) } else { (left, right) };
        drawing.rectangle((left, top), (right, top + BAR_MM), Some(Pen::Edge), Fill::Paper);
        if let Some((low, high)) = limits.filter(|_| is_beyond(row, limits)) {
            let (low, high) = (scale.x(low), scale.x(high));
            for (from, to) in [(left, right.min(low)), (left.max(high), right)] {
                if from < to {
                    drawing.rectangle((from, top), (to, top + BAR_MM), Some(Pen::Edge), Fill::CrossHatch);
                }
            }
        }
        drawing.circle((scale.x(row.mean_mm), top + BAR_MM / 2.0), DOT_MM, None, Fill::Ink);
    }

    /// The figures over the lines that go across all bars; returns where the lines begin.
    fn marks(&self, drawing: &mut Drawing, scale: Scale, limits: Option<(f64, f64)>, wanted: Option<f64>) -> f64 {
        let size = Label::USUAL_MM;
        let mut marks: Vec<(f64, String)> = Vec::new();
        marks.extend(limits.into_iter().flat_map(|(low, high)| [low, high]).map(|mm| (scale.x(mm), self.figure(mm))));
        marks.extend(wanted.map(|mm| (scale.x(mm), self.figure(mm))));
        if scale.low_mm < 0.0 {
            marks.push((scale.x(0.0), "none".to_owned()));
        }
        let block = |(at_mm, words): &(f64, String)| Block {
            at_mm: *at_mm,
            width_mm: room_for(words, size, false),
            height_mm: size * LEADING,
        };
        let blocks: Vec<Block> = marks.iter().map(block).collect();
        let (puts, deep) = in_rows(&blocks, 0.0, drawing.width_mm);
        let top = deep + 1.0;
        for (((at, words), block), put) in marks.into_iter().zip(&blocks).zip(&puts) {
            let near = top - put.off_mm;
            drawing.label(Label::words((put.left_mm + block.width_mm / 2.0, near - 1.2), words).middle());
            if put.off_mm > 0.0 {
                drawing.line([(at, near), (at, top)], Pen::Thin);
            }
        }
        top
    }

    fn figure(&self, mm: f64) -> String {
        show_mm(mm, self.unit, self.unit.usual_decimals())
    }

    fn caption(&self, limits: bool, wanted: bool, none: bool) -> String {
        let planned = if self.as_planned { ", as planned" } else { "" };
        let mut words = format!(
            "Clearance in {}, on the diameter, square to the split{planned}: from the tightest to the loosest, a dot at the \
             mean.",
            self.unit.plural()
        );
        for (_, says) in
            [(limits, " Brackets: the limits."), (wanted, " Dashed: wanted."), (none, " Thick line: none.")]
                .into_iter()
                .filter(|(shown, _)| *shown)
        {
            words += says;
        }
        words
    }

    fn says(
        &self,
        rows: &[&ClearanceRow],
        limits: Option<(f64, f64)>,
        wanted: Option<f64>,
        beyond: Option<String>,
    ) -> String {
        let told: Vec<String> = rows
            .iter()
            .map(|row| format!("{} {} to {}", row.name, self.figure(row.tightest_mm), self.figure(row.loosest_mm)))
            .collect();
        let planned = if self.as_planned { " as planned" } else { "" };
        let mut says =
            vec![format!("Clearances of the {}{planned}, in {}: {}.", self.name, self.unit.plural(), told.join(", "))];
        says.extend(limits.map(|(low, high)| format!("The limits are {} to {}.", self.figure(low), self.figure(high))));
        says.extend(wanted.map(|mm| format!("Wanted: {}.", self.figure(mm))));
        says.extend(beyond.map(|words| words.replace(", cross-hatched", "")));
        says.join(" ")
    }
}

fn is_beyond(row: &ClearanceRow, limits: Option<(f64, f64)>) -> bool {
    limits.is_some_and(|(low, high)| row.tightest_mm < low - SAME_MM || row.loosest_mm > high + SAME_MM)
}

fn scale(rows: &[&ClearanceRow], limits: Option<(f64, f64)>, wanted: Option<f64>, (left, right): (f64, f64)) -> Scale {
    let ends = rows.iter().flat_map(|row| [row.tightest_mm, row.loosest_mm]);
    let ends = ends.chain(limits.into_iter().flat_map(|(low, high)| [low, high])).chain(wanted);
    let (least, most) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), mm| (low.min(mm), high.max(mm)));
    // Room at both ends; a clearance that is none is shown against none.
    let room = ((most - least) * 0.08).max(0.001);
    Scale {
        low_mm: if least < 0.0 { least - room } else { (least - room).max(0.0) },
        high_mm: most + room,
        left,
        right,
    }
}
