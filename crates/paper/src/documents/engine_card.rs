//! The card for the wall: every undersize of an engine, and what to work to at each.

use super::{field, foot};
use crate::setting::{Cell, Column, Flow, Row, Table, Width};
use crate::{PaperSize, Unwritable};

/// The sizes of one engine at every undersize.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct EngineCard {
    /// The shop's name.
    pub shop: String,
    /// The engine.
    pub engine: String,
    /// `Inches, on the diameter`.
    pub unit: String,
    /// Mains and pins.
    pub sets: Vec<CardSet>,
    /// What holds for all of it: growth, polish, where the figures come from.
    pub notes: Vec<String>,
}

/// One set on it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CardSet {
    /// `5 mains`.
    pub name: String,
    /// Out-of-round, taper, the smallest size: what holds at every undersize.
    pub limits: String,
    /// What the wheel, the treatment and the engine ask for, as headings: `Off the wheel`, `Finished`.
    pub stages: Vec<String>,
    /// The undersizes, standard first.
    pub rows: Vec<CardRow>,
}

/// One undersize.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CardRow {
    /// `Standard`, `0.010 in under`.
    pub undersize: String,
    /// For each stage the size to aim at.
    pub targets: Vec<String>,
    /// For each stage the sizes that do, and how the size aimed at stands on the micrometer.
    pub told: Vec<String>,
    /// Whether the book permits it.
    pub permitted: bool,
}

impl EngineCard {
    /// The card, on one page where it can be.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        let mut flow = self.set(paper, 12.0);
        for pt in [11.0, 10.0, 9.0, 8.0] {
            if flow.pages.len() == 1 {
                break;
            }
            flow = self.set(paper, pt);
        }
        flow.into_pdf(&format!("Card, {}", self.engine), &format!("Sizes of {} at every undersize", self.engine))
    }

    fn set(&self, paper: PaperSize, pt: f64) -> Flow {
        let mut block = vec![field("Engine", &self.engine)];
        if !self.shop.is_empty() {
            block.push(field("Shop", &self.shop));
        }
        let mut flow = Flow::new(paper, foot(block, 9.0));
        flow.running = Some(format!("Card, {}", self.engine));
        flow.heading(1, &self.engine, 22.0);
        flow.paragraph(&format!("{}.", self.unit), pt);
        for set in &self.sets {
            flow.heading(2, &set.name, pt + 3.0);
            flow.paragraph(&set.limits, (pt - 1.0).max(8.0));
            flow.space(1.0);
            flow.table(&set.table(pt));
            flow.space(2.0);
        }
        flow.list(&self.notes, (pt - 1.0).max(8.0));
        flow
    }
}

impl CardSet {
    /// Two lines for each undersize: the size to aim at; the sizes that do, and the micrometer.
    fn table(&self, pt: f64) -> Table {
        let mut columns = vec![Column::words("Undersize", Width::Mm(30.0))];
        columns.extend(self.stages.iter().map(|stage| Column::words(stage, Width::Share(1.0))));
        let rows = self.rows.iter().flat_map(|row| {
            let line = |first: Cell, cells: &[String], bold: bool| {
                let cell = |words: &String| if bold { Cell::bold(words) } else { Cell::from(words.as_str()) };
                Row { cells: std::iter::once(first).chain(cells.iter().map(cell)).collect() }
            };
            let below = if row.permitted { "" } else { "below what the book permits" };
            [line(Cell::bold(&row.undersize), &row.targets, true), line(Cell::from(below), &row.told, false)]
        });
        Table { columns, rows: rows.collect(), pt, head_pt: pt, least_mm: 0.0, ruled: false }
    }
}
