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

/// How much stands on the form beside the spots.
#[derive(Clone, Copy)]
struct Room {
    /// Lines for what was seen.
    seen: usize,
    /// Lines for run-outs.
    dial: usize,
    /// Whether the crank is drawn.
    drawn: bool,
    /// Between one table and the next.
    gap_mm: f64,
}

impl MeasuringForm {
    /// The form on paper.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        // What is not for writing, and lines for what was seen, give way before another page is begun.
        let mut flow = self.set(paper, Room { seen: 4, dial: 2, drawn: true, gap_mm: 3.0 });
        for (seen, dial, drawn, gap_mm) in
            [(2, 1, true, 2.0), (4, 2, false, 2.0), (2, 1, false, 2.0), (2, 1, false, 0.5)]
        {
            let other = self.set(paper, Room { seen, dial, drawn, gap_mm });
            if other.pages.len() < flow.pages.len() {
                flow = other;
            }
        }
        flow.into_pdf(
            &format!("Measuring form, {}", self.about.name()),
            &format!("Blank form for the readings of {}", self.about.crank),
        )
    }

    fn set(&self, paper: PaperSize, room: Room) -> Flow {
        let mut block = self.about.fields();
        block.extend([
            field("Measured by", ""),
            field("Date", ""),
            field("Temperature of the crank", ""),
            field("Temperature of the micrometer", ""),
        ]);
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
        if let Some(drawing) = self.drawing.as_ref().filter(|_| room.drawn) {
            flow.figure(drawing);
        }
        // Where no micrometer is known, there is room to write in which it was.
        let known = self.micrometers.iter().map(Cell::from);
        let blanks = if self.micrometers.is_empty() { 2 } else { 0 };
        flow.space(room.gap_mm.min(2.0));
        flow.table(&Table {
            columns: vec![
                Column::words("Micrometer", Width::Share(1.4)),
                Column::words("On its standard before", Width::Share(1.0)),
                Column::words("On its standard after", Width::Share(1.0)),
            ],
            rows: known
                .chain(vec![Cell::default(); blanks])
                .map(|first| Row { cells: vec![first, Cell::default(), Cell::default()] })
                .collect(),
            pt: 11.0,
            head_pt: 10.0,
            least_mm: ROW_MM,
            ruled: true,
        });
        for pass in &self.passes {
            flow.space(room.gap_mm);
            flow.heading(2, &pass.title, 12.0);
            let mut columns = vec![Column::words("Journal", Width::Mm(32.0))];
            columns.extend(pass.spots.iter().map(|spot| Column::words(spot, Width::Share(1.0))));
            let rows = pass.journals.iter().map(|journal| {
                let blanks = pass.spots.iter().map(|_| Cell::default());
                Row { cells: std::iter::once(Cell::bold(journal)).chain(blanks).collect() }
            });
            flow.table(&Table { columns, rows: rows.collect(), pt: 12.0, head_pt: 9.0, least_mm: ROW_MM, ruled: true });
        }
        flow.space(room.gap_mm);
        flow.heading(2, "By the dial, the crank turning on its end mains", 12.0);
        flow.table(&Table {
            columns: vec![
                Column::words("Run-out of which main", Width::Share(1.0)),
                Column::words("High less low, in all", Width::Share(1.0)),
                Column::words("High at, degrees from the first throw", Width::Share(1.2)),
                Column::words("End float of the crank", Width::Share(1.0)),
            ],
            rows: vec![Row { cells: vec![Cell::default(); 4] }; room.dial],
            pt: 12.0,
            head_pt: 9.0,
            least_mm: ROW_MM,
            ruled: true,
        });
        flow.space(room.gap_mm);
        flow.heading(2, "Seen", 12.0);
        flow.table(&Table {
            columns: vec![
                Column::words("Journal", Width::Mm(32.0)),
                Column::words("What: scored, ridged, pitted, rust, heat marks, pick-up, crack", Width::Share(1.0)),
                Column::words("Where, and how deep", Width::Share(1.0)),
            ],
            rows: vec![Row { cells: vec![Cell::default(); 3] }; room.seen],
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
