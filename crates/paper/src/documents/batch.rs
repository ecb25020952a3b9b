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
    /// Its process with the growth that was allowed, and the depth of case that is wanted.
    pub process: String,
    /// The unit of its sizes.
    pub unit: String,
    /// Its sizes before and after, one for each place.
    pub sizes: Vec<BatchSize>,
}

/// One place of a crank in a batch.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BatchSize {
    /// `Main 1`.
    pub journal: String,
    /// Where along it and across which direction; empty where nobody said.
    pub place: String,
    /// Its size before; empty where it was not measured.
    pub before: String,
    /// Its size after; empty where it is not back.
    pub after: String,
}

/// A field to write into with a pencil.
const ROW_MM: f64 = 8.5;

/// Rows of one column of sizes, at most: they fit a page.
const IN_A_COLUMN: usize = 20;

/// Sizes in two columns, each with its own field for after.
fn in_two(flow: &mut Flow, sizes: &[BatchSize], half: usize, unit: &str) {
    const GAP_MM: f64 = 5.0;
    let (edge, top, width) = (flow.left_mm(), flow.y_mm(), (flow.width_mm() - GAP_MM) / 2.0);
    let mut lowest = top;
    for (n, sizes) in sizes.chunks(half).enumerate() {
        flow.set_y_mm(top);
        flow.set_column(Some((edge + n as f64 * (width + GAP_MM), width)));
        let rows = sizes.iter().map(|size| Row {
            cells: vec![
                Cell::bold(&size.journal),
                Cell::from(&size.place),
                Cell::from(&size.before),
                Cell::from(&size.after),
            ],
        });
        flow.table(&Table {
            columns: vec![
                Column::words("Journal", Width::Fit),
                Column::words("Where", Width::Fit),
                Column::figures(&format!("Before, {unit}"), Width::Share(1.0)),
                Column::figures(&format!("After, {unit}"), Width::Share(1.0)),
            ],
            rows: rows.collect(),
            pt: 10.5,
            head_pt: 9.0,
            least_mm: ROW_MM,
            ruled: true,
        });
        lowest = lowest.max(flow.y_mm());
    }
    flow.set_column(None);
    flow.set_y_mm(lowest);
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
        for row in &self.rows {
            flow.space(2.0);
            let mark = if row.mark.is_empty() { String::new() } else { format!(", mark {}", row.mark) };
            // Its head, its first sizes and their heading stay together.
            flow.need(40.0);
            flow.heading(2, &format!("Job {}{mark}: {}", row.job, row.crank), 12.0);
            flow.paragraph(&row.process, 10.5);
            let half = row.sizes.len().div_ceil(2).max(1);
            for page in row.sizes.chunks(2 * IN_A_COLUMN) {
                let half = half.min(page.len().div_ceil(2).max(1));
                flow.need(ROW_MM * half as f64 + 12.0);
                in_two(&mut flow, page, half, &row.unit);
            }
        }
        flow.space(3.0);
        for says in &self.cautions {
            flow.paragraph(says, 10.0);
        }
        flow.into_pdf(&format!("Batch {} for heat treatment", self.batch), "The cranks of a batch and their sizes")
    }
}
