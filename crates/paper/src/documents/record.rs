//! The full inspection record: every reading, and how far each can be trusted.

use super::{AboutJob, field, foot};
use crate::setting::{Cell, Column, Flow, Row, Table, Width};
use crate::{Drawing, PaperSize, Unwritable};

/// Everything that was measured on a crank.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct InspectionRecord {
    /// Whose crank.
    pub about: AboutJob,
    /// Lengths of the record are in this unit.
    pub unit: String,
    /// The verdicts in a line each.
    pub verdicts: Vec<String>,
    /// What presses: cracks, doubtful readings.
    pub notes: Vec<String>,
    /// Drawings.
    pub drawings: Vec<Drawing>,
    /// Tables: the journals, every reading, run-outs, damage.
    pub tables: Vec<RecordTable>,
    /// How it was judged, in sentences.
    pub method: Vec<String>,
    /// The working, journal by journal.
    pub working: Vec<String>,
    /// The uncertainty budget of each micrometer, in words, line by line.
    pub budgets: Vec<String>,
    /// Who measured.
    pub by: String,
    /// The day of the latest entry.
    pub date: String,
}

/// A table of the record.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RecordTable {
    /// What it is.
    pub title: String,
    /// Heads of its columns, each with whether it holds figures and its share of the width.
    pub columns: Vec<(String, bool, f64)>,
    /// Its rows.
    pub rows: Vec<Vec<String>>,
}

impl InspectionRecord {
    /// The record on as many pages as it takes.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        let mut block = self.about.fields();
        block.extend([field("Measured by", &self.by), field("Date", &self.date), field("Units", &self.unit)]);
        let mut flow = Flow::new(paper, foot(block, 9.0));
        self.about.begin(&mut flow, "Inspection record");
        flow.heading(1, &format!("Inspection record, {}", self.about.name()), 18.0);
        flow.paragraph(&self.about.crank, 11.0);
        flow.space(1.0);
        for says in &self.verdicts {
            flow.strong(says, 11.0);
        }
        flow.list(&self.notes, 10.0);
        for drawing in &self.drawings {
            flow.space(2.0);
            flow.figure(drawing);
        }
        for table in self.tables.iter().filter(|table| !table.rows.is_empty()) {
            flow.space(3.0);
            flow.heading(2, &table.title, 12.0);
            flow.table(&Table {
                columns: table
                    .columns
                    .iter()
                    .map(|(head, figures, share)| match figures {
                        true => Column::figures(head, Width::Share(*share)),
                        false => Column::words(head, Width::Share(*share)),
                    })
                    .collect(),
                rows: table.rows.iter().map(|row| Row { cells: row.iter().map(Cell::from).collect() }).collect(),
                pt: 9.0,
                head_pt: 8.5,
                least_mm: 0.0,
                ruled: false,
            });
        }
        for (title, says) in [
            ("How it was judged", &self.method),
            ("Journal by journal", &self.working),
            ("How far the readings can be trusted", &self.budgets),
        ] {
            if !says.is_empty() {
                flow.space(3.0);
                flow.heading(2, title, 12.0);
                for says in says {
                    flow.paragraph(says, 9.0);
                }
            }
        }
        flow.into_pdf(
            &format!("Inspection record, {}", self.about.name()),
            &format!("Every reading taken on {}", self.about.crank),
        )
    }
}
