//! What the customer gets: one page, in words that need no workshop.

use super::{AboutJob, field, foot, side_by_side};
use crate::setting::{Cell, Column, Flow, Row, Table, Width};
use crate::{Drawing, PaperSize, Pen, Unwritable};

/// What was found on a crankshaft and what will be done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CustomersReport {
    /// Whose crank.
    pub about: AboutJob,
    /// The outcome in a sentence or two.
    pub outcome: String,
    /// What is to be settled before anything else.
    pub first: Option<ReportFirst>,
    /// Why.
    pub why: Vec<String>,
    /// The heading over what is done.
    pub work_head: String,
    /// What will be done, and the price.
    pub work: Vec<String>,
    /// The sets.
    pub sets: Vec<ReportSet>,
    /// The size axis of each set, the one that decides first, as wide as the page; each under its title.
    pub axes: Vec<Drawing>,
    /// The same in the order of the tables, half as wide, to stand beside each other where the page is short.
    pub narrow_axes: Vec<Drawing>,
    /// The crank, where there is room for it.
    pub crank: Option<Drawing>,
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

/// What is to be settled first, in a box.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReportFirst {
    /// Whether it stops the work, and does not only ask for another look.
    pub stop: bool,
    /// Each thing in whole sentences.
    pub says: Vec<String>,
}

/// Which drawings a try of the page has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shown {
    /// The axes across the page, and the crank.
    All,
    /// The axes across the page.
    Axes,
    /// The axes beside each other.
    Beside,
    /// The axis that decides.
    One,
    /// None.
    None,
}

/// From the best page to the smallest: letters shrink a little before the second axis goes, and more before the first.
const TRIES: [(f64, Shown); 14] = [
    (11.0, Shown::All),
    (11.0, Shown::Axes),
    (11.0, Shown::Beside),
    (10.0, Shown::Axes),
    (10.0, Shown::Beside),
    (9.0, Shown::Axes),
    (9.0, Shown::Beside),
    (10.0, Shown::One),
    (9.0, Shown::One),
    (8.0, Shown::Beside),
    (8.0, Shown::One),
    (10.0, Shown::None),
    (9.0, Shown::None),
    (8.0, Shown::None),
];

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
        let mut flow = self.set(paper, 8.0, Shown::None);
        for (pt, shown) in TRIES {
            let tried = self.set(paper, pt, shown);
            if tried.pages.len() == 1 {
                flow = tried;
                break;
            }
        }
        flow.into_pdf(
            &format!("What we found on your crankshaft, {}", self.about.name()),
            &format!("Report for the customer on {}", self.about.crank),
        )
    }

    fn set(&self, paper: PaperSize, pt: f64, shown: Shown) -> Flow {
        let mut block = self.about.fields();
        block.extend([field("Measured by", &self.by), field("Date", &self.date)]);
        let mut flow = Flow::new(paper, foot(block, 9.0));
        self.about.begin(&mut flow, "Report");
        flow.heading(1, "What we found on your crankshaft", 20.0);
        let whose = if self.about.whose().is_empty() { String::new() } else { format!(", for {}", self.about.whose()) };
        flow.paragraph(&format!("{}{whose}", self.about.crank), pt);
        flow.space(1.5);
        flow.strong(&self.outcome, 14.0);
        if let Some(first) = &self.first {
            boxed(&mut flow, first, pt);
        }
        for says in &self.why {
            flow.paragraph(says, pt);
        }
        if !self.work.is_empty() {
            flow.space(1.0);
            flow.heading(2, &self.work_head, pt + 2.0);
            for says in &self.work {
                flow.paragraph(says, pt);
            }
        }
        flow.space(1.0);
        let tables: Vec<(String, Table)> =
            self.sets.iter().filter(|set| !set.rows.is_empty()).map(|set| (set.name.clone(), table(set, pt))).collect();
        side_by_side(&mut flow, &tables, pt + 1.0);
        self.drawings(&mut flow, shown);
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

    fn drawings(&self, flow: &mut Flow, shown: Shown) {
        let across = match shown {
            Shown::All | Shown::Axes => self.axes.len(),
            Shown::One => 1,
            Shown::Beside | Shown::None => 0,
        };
        for drawing in self.axes.iter().take(across).chain(self.crank.as_ref().filter(|_| shown == Shown::All)) {
            titled(flow, drawing);
            flow.space(1.5);
        }
        if shown == Shown::Beside {
            beside(flow, &self.narrow_axes);
        }
    }
}

/// A frame round what must come first.
fn boxed(flow: &mut Flow, first: &ReportFirst, pt: f64) {
    const IN_MM: f64 = 3.0;
    let (edge, width) = (flow.left_mm(), flow.width_mm());
    flow.space(1.0);
    let top = flow.y_mm();
    flow.space(2.0);
    flow.set_column(Some((edge + IN_MM, width - 2.0 * IN_MM)));
    flow.heading(2, if first.stop { "■ Stop: to be settled first" } else { "◇ To be looked at again first" }, pt + 2.0);
    flow.list(&first.says, pt);
    flow.set_column(None);
    flow.space(1.5);
    // A list that ran on to another page has no frame: the page is tried again in smaller letters.
    if flow.y_mm() > top {
        flow.eye_frame((edge, top), (edge + width, flow.y_mm()), Pen::Heavy);
    }
    flow.space(2.0);
}

/// A drawing under its title.
fn titled(flow: &mut Flow, drawing: &Drawing) {
    const TITLE_MM: f64 = 5.0;
    flow.need(drawing.height_mm + TITLE_MM);
    flow.strong(&drawing.title, 9.0);
    flow.figure(drawing);
}

/// Drawings in two columns.
fn beside(flow: &mut Flow, drawings: &[Drawing]) {
    const GAP_MM: f64 = 6.0;
    let (edge, width) = (flow.left_mm(), (flow.width_mm() - GAP_MM) / 2.0);
    // With the title over each.
    flow.need(drawings.iter().map(|drawing| drawing.height_mm + 5.0).fold(0.0, f64::max));
    let top = flow.y_mm();
    let mut lowest = top;
    for (n, drawing) in drawings.iter().take(2).enumerate() {
        flow.set_y_mm(top);
        flow.set_column(Some((edge + n as f64 * (width + GAP_MM), width)));
        titled(flow, drawing);
        lowest = lowest.max(flow.y_mm());
    }
    flow.set_column(None);
    flow.set_y_mm(lowest + 1.5);
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
            Column::figures("Limits", Width::Fit),
            Column::words("State", Width::Share(1.0)),
        ],
        rows: rows.collect(),
        pt: small,
        head_pt: small,
        least_mm: 0.0,
        ruled: false,
    }
}
