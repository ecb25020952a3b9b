//! The blank form for a dirty day: every spot in the order it is walked, with room for a greasy pencil.

use super::{AboutJob, field, foot};
use crate::setting::{Cell, Column, Flow, Row, Table, Width};
use crate::{Drawing, PaperSize, Unwritable};

/// A field to write into with a greasy pencil is 9.5 mm high, with its rules around it.
const ROW_MM: f64 = 9.8;

/// A blank measuring form.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MeasuringForm {
    /// Whose crank.
    pub about: AboutJob,
    /// The order of the walk, in words.
    pub order: String,
    /// The micrometers and how each reads, in words; their zeros are asked for.
    pub micrometers: Vec<String>,
    /// Walks over the crank, in order.
    pub passes: Vec<FormPass>,
    /// The crank.
    pub drawing: Option<Drawing>,
}

/// One walk along journals: a row for each, a column for each spot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FormPass {
    /// What is measured in it.
    pub title: String,
    /// The spots of each journal, in order.
    pub spots: Vec<String>,
    /// The journals, in order.
    pub journals: Vec<String>,
}

impl MeasuringForm {
    /// The form on paper.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        // What is not for writing, and lines for what was seen, give way before another page is begun.
        let mut flow = self.set(paper, 4, true);
        for (seen, drawn) in [(2, true), (4, false), (2, false)] {
            let other = self.set(paper, seen, drawn);
            if other.pages.len() < flow.pages.len() {
                flow = other;
            }
        }
        flow.into_pdf(
            &format!("Measuring form, {}", self.about.name()),
            &format!("Blank form for the readings of {}", self.about.crank),
        )
    }

    fn set(&self, paper: PaperSize, seen: usize, drawn: bool) -> Flow {
        let mut block = self.about.fields();
        block.extend([field("Measured by", ""), field("Date", ""), field("Temperature of the crank", "")]);
        let mut flow = Flow::new(paper, foot(block, 10.0));
        self.about.begin(&mut flow, "Measuring form");
        flow.heading(1, &format!("Measuring form, {}", self.about.name()), 18.0);
        flow.paragraph(&self.about.crank, 12.0);
        flow.paragraph(
            &format!(
                "{} Write what the micrometer shows, all digits. Do not look at the line above. Leave a spot blank rather \
                 than guess.",
                self.order
            ),
            11.0,
        );
        if let Some(drawing) = self.drawing.as_ref().filter(|_| drawn) {
            flow.figure(drawing);
        }
        if !self.micrometers.is_empty() {
            flow.space(2.0);
            flow.table(&Table {
                columns: vec![
                    Column::words("Micrometer", Width::Share(1.4)),
                    Column::words("On its standard before", Width::Share(1.0)),
                    Column::words("On its standard after", Width::Share(1.0)),
                ],
                rows: self
                    .micrometers
                    .iter()
                    .map(|words| Row { cells: vec![Cell::from(words), Cell::default(), Cell::default()] })
                    .collect(),
                pt: 11.0,
                head_pt: 10.0,
                least_mm: ROW_MM,
                ruled: true,
            });
        }
        for pass in &self.passes {
            flow.space(3.0);
            flow.heading(2, &pass.title, 12.0);
            let mut columns = vec![Column::words("Journal", Width::Mm(32.0))];
            columns.extend(pass.spots.iter().map(|spot| Column::words(spot, Width::Share(1.0))));
            let rows = pass.journals.iter().map(|journal| {
                let blanks = pass.spots.iter().map(|_| Cell::default());
                Row { cells: std::iter::once(Cell::bold(journal)).chain(blanks).collect() }
            });
            flow.table(&Table { columns, rows: rows.collect(), pt: 12.0, head_pt: 9.0, least_mm: ROW_MM, ruled: true });
        }
        flow.space(3.0);
        flow.heading(2, "Seen", 12.0);
        flow.table(&Table {
            columns: vec![
                Column::words("Journal", Width::Mm(32.0)),
                Column::words("What: scored, ridged, pitted, rust, heat marks, pick-up, crack", Width::Share(1.0)),
                Column::words("Where, and how deep", Width::Share(1.0)),
            ],
            rows: vec![Row { cells: vec![Cell::default(); 3] }; seen],
            pt: 12.0,
            head_pt: 9.0,
            least_mm: ROW_MM,
            ruled: true,
        });
        flow.paragraph(
            "■ A crack, or what may be one, ends the measuring: mark the place and have the crank crack tested by \
             somebody qualified before anything else is done to it.",
            10.0,
        );
        flow
    }
}
