//! What the customer gets: one page, in words that need no workshop.

use super::{AboutJob, field, foot, side_by_side};
use crate::setting::{Cell, Column, Flow, Row, Table, Width};
use crate::{Drawing, PaperSize, Unwritable};

/// What was found on a crankshaft and what will be done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CustomersReport {
    /// Whose crank.
    pub about: AboutJob,
    /// The outcome in one sentence.
    pub outcome: String,
    /// Why.
    pub why: Vec<String>,
    /// What will be done, and the price.
    pub work: Vec<String>,
    /// The sets.
    pub sets: Vec<ReportSet>,
    /// Drawings, the most telling first; those that do not fit on the page are left out.
    pub drawings: Vec<Drawing>,
    /// What was not checked.
    pub not_checked: Vec<String>,
    /// How it was measured and judged.
    pub method: Vec<String>,
    /// What the words mean.
    pub meanings: Vec<String>,
    /// Who measured, and who decided.
    pub by: String,
    /// The day of the latest entry.
    pub date: String,
}

/// A table of the report.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReportSet {
    /// `Mains`.
    pub name: String,
    /// Journal, smallest found, allowed, state.
    pub rows: Vec<[String; 4]>,
}

impl CustomersReport {
    /// The report on one page of paper.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        let mut flow = self.set(paper, 11.0, self.drawings.len());
        // First drawings go, then letters shrink a little: it stays one page as long as it can be read.
        'tried: for pt in [11.0, 10.0, 9.0, 8.0] {
            for drawings in (0..=self.drawings.len()).rev() {
                flow = self.set(paper, pt, drawings);
                if flow.pages.len() == 1 {
                    break 'tried;
                }
            }
        }
        flow.into_pdf(
            &format!("What we found on your crankshaft, {}", self.about.name()),
            &format!("Report for the customer on {}", self.about.crank),
        )
    }

    fn set(&self, paper: PaperSize, pt: f64, drawings: usize) -> Flow {
        let mut block = self.about.fields();
        block.extend([field("Measured by", &self.by), field("Date", &self.date)]);
        let mut flow = Flow::new(paper, foot(block, 9.0));
        self.about.begin(&mut flow, "Report");
        flow.heading(1, "What we found on your crankshaft", 20.0);
        let whose = if self.about.whose().is_empty() { String::new() } else { format!(", for {}", self.about.whose()) };
        flow.paragraph(&format!("{}{whose}", self.about.crank), pt);
        flow.space(1.5);
        flow.strong(&self.outcome, 14.0);
        for says in &self.why {
            flow.paragraph(says, pt);
        }
        if !self.work.is_empty() {
            flow.space(1.0);
            flow.heading(2, "What will be done", pt + 2.0);
            for says in &self.work {
                flow.paragraph(says, pt);
            }
        }
        flow.space(1.0);
        let tables: Vec<(String, Table)> =
            self.sets.iter().filter(|set| !set.rows.is_empty()).map(|set| (set.name.clone(), table(set, pt))).collect();
        side_by_side(&mut flow, &tables, pt + 1.0);
        for drawing in self.drawings.iter().take(drawings) {
            flow.figure(drawing);
            flow.space(1.5);
        }
        for (title, says) in
            [("What we did not check", &self.not_checked), ("How we know", &self.method), ("Words", &self.meanings)]
        {
            if !says.is_empty() {
                flow.heading(2, title, pt + 1.0);
                flow.paragraph(&says.join(" "), (pt - 1.0).max(8.0));
            }
        }
        flow
    }
}

fn table(set: &ReportSet, pt: f64) -> Table {
    let rows = set.rows.iter().map(|[journal, found, allowed, state]| Row {
        cells: vec![Cell::bold(journal), Cell::from(found), Cell::from(allowed), Cell::from(state)],
    });
    let small = (pt - 1.5).max(7.5);
    Table {
        columns: vec![
            Column::words("Journal", Width::Share(1.0)),
            Column::figures("Smallest found", Width::Fit),
            Column::figures("Allowed", Width::Fit),
            Column::words("State", Width::Share(1.0)),
        ],
        rows: rows.collect(),
        pt: small,
        head_pt: small,
        least_mm: 0.0,
        ruled: false,
    }
}
