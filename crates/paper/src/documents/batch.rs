//! The slip that goes with cranks to heat treatment.

use super::{AboutJob, field, foot};
use crate::setting::{Cell, Column, Flow, Row, Table, Width};
use crate::{PaperSize, Unwritable};

/// A batch of cranks for heat treatment.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BatchSlip {
    /// The shop's name.
    pub shop: String,
    /// The batch.
    pub batch: String,
    /// What is to be done: `nitriding`.
    pub process: String,
    /// Facts about the batch, name and words.
    pub facts: Vec<(String, String)>,
    /// The cranks in it.
    pub rows: Vec<BatchRow>,
    /// What to bear in mind about safety.
    pub cautions: Vec<String>,
    /// An example: the paper says so.
    pub example: bool,
}

/// A crank in a batch.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BatchRow {
    /// The job.
    pub job: String,
    /// The shop's mark on it.
    pub mark: String,
    /// The crank.
    pub crank: String,
    /// Its process.
    pub process: String,
    /// The sizes that were measured before, in words.
    pub before: String,
    /// The sizes that were measured after, in words; empty where it is not back.
    pub after: String,
}

impl BatchSlip {
    /// The slip on paper.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        let about = AboutJob { shop: self.shop.clone(), example: self.example, ..AboutJob::default() };
        let block = vec![
            field("Batch", &self.batch),
            field("Shop", &self.shop),
            field("Cranks", self.rows.len().to_string()),
            field("Taken over by", "______________"),
            field("Back on", "______________"),
        ];
        let mut flow = Flow::new(paper, foot(block, 10.0));
        about.begin(&mut flow, &format!("Batch {}", self.batch));
        flow.running = Some(format!("Batch {}", self.batch));
        flow.heading(1, &format!("Batch {} for heat treatment", self.batch), 20.0);
        flow.strong(&self.process, 14.0);
        for (name, says) in &self.facts {
            flow.paragraph(&format!("{name}: {says}"), 11.0);
        }
        flow.space(2.0);
        flow.table(&Table {
            columns: vec![
                Column::words("Job", Width::Mm(18.0)),
                Column::words("Mark", Width::Mm(26.0)),
                Column::words("Crank", Width::Share(1.0)),
                Column::words("Before treatment", Width::Share(1.1)),
                Column::words("After treatment", Width::Share(1.1)),
            ],
            rows: self
                .rows
                .iter()
                .map(|row| Row {
                    cells: vec![
                        Cell::bold(&row.job),
                        Cell::from(&row.mark),
                        Cell::from(if row.process.is_empty() {
                            row.crank.clone()
                        } else {
                            format!("{} ({})", row.crank, row.process)
                        }),
                        Cell::from(&row.before),
                        Cell::from(&row.after),
                    ],
                })
                .collect(),
            pt: 10.5,
            head_pt: 10.0,
            least_mm: 12.0,
            ruled: true,
        });
        flow.space(3.0);
        for says in &self.cautions {
            flow.paragraph(says, 10.0);
        }
        flow.into_pdf(&format!("Batch {} for heat treatment", self.batch), "The cranks of a batch and their sizes")
    }
}
