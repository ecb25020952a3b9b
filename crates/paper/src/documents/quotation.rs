//! What the work will cost: a quotation line by line, with the ways that were weighed.

use super::{AboutJob, field, foot};
use crate::setting::{Cell, Column, Flow, Row, Table, Width};
use crate::{PaperSize, Unwritable};

/// A quotation for one crank.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Quotation {
    /// Whose crank.
    pub about: AboutJob,
    /// What it is for, in one sentence.
    pub outcome: String,
    /// What must be settled before it holds.
    pub stops: Vec<String>,
    /// What is charged: what, how many, the price of one, the amount.
    pub lines: Vec<[String; 4]>,
    /// The sum of the lines.
    pub total: String,
    /// What may come on top, and how likely that is.
    pub again: Vec<String>,
    /// The sum with what may come on top, on average; empty where nothing may.
    pub likely: String,
    /// Work without a price.
    pub not_priced: Vec<String>,
    /// Parts to be bought: what, which size, how many.
    pub parts: Vec<[String; 3]>,
    /// The ways that were weighed, set by set.
    pub ways: Vec<QuotationWays>,
    /// What holds for all of it.
    pub conditions: Vec<String>,
    /// Who made it.
    pub by: String,
    /// The day of the latest entry.
    pub date: String,
}

/// The ways up the ladder of one set.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct QuotationWays {
    /// `Mains`.
    pub name: String,
    /// Undersize, chance of cleaning up, what it costs on average, sizes left after it.
    pub rows: Vec<[String; 4]>,
    /// What the two ways of choosing say.
    pub says: String,
}

impl Quotation {
    /// The quotation, on one page where it can be.
    ///
    /// # Errors
    /// Where the file could not be written.
    pub fn to_pdf(&self, paper: PaperSize) -> Result<Vec<u8>, Unwritable> {
        let mut flow = self.set(paper, 11.0);
        for pt in [10.0, 9.0] {
            if flow.pages.len() == 1 {
                break;
            }
            flow = self.set(paper, pt);
        }
        flow.into_pdf(&format!("Quotation, {}", self.about.name()), &format!("Quotation for {}", self.about.crank))
    }

    fn set(&self, paper: PaperSize, pt: f64) -> Flow {
        let mut block = self.about.fields();
        block.extend([field("Quoted by", &self.by), field("Date", &self.date)]);
        let mut flow = Flow::new(paper, foot(block, 9.0));
        self.about.begin(&mut flow, "Quotation");
        flow.heading(1, "Quotation", 20.0);
        let whose = if self.about.whose().is_empty() { String::new() } else { format!(", for {}", self.about.whose()) };
        flow.paragraph(&format!("{}{whose}", self.about.crank), pt);
        flow.space(1.5);
        flow.strong(&self.outcome, 14.0);
        if !self.stops.is_empty() {
            flow.heading(2, "To be settled first", pt + 2.0);
            flow.list(&self.stops, pt);
        }
        flow.heading(2, "The work", pt + 2.0);
        flow.table(&self.work(pt));
        flow.space(1.5);
        for says in &self.again {
            flow.paragraph(says, pt);
        }
        if !self.likely.is_empty() {
            flow.strong(&format!("With what may come on top counted in, the likely bill is {}", self.likely), pt);
        }
        if !self.not_priced.is_empty() {
            flow.paragraph(&format!("Not in this price: {}.", self.not_priced.join("; ")), pt);
        }
        if !self.parts.is_empty() {
            flow.heading(2, "Parts", pt + 2.0);
            flow.table(&self.bought(pt));
            flow.space(1.5);
        }
        for ways in self.ways.iter().filter(|ways| !ways.rows.is_empty()) {
            flow.heading(2, &format!("{}: the ways that were weighed", ways.name), pt + 1.0);
            flow.table(&weighed(ways, pt));
            flow.space(1.0);
            flow.paragraph(&ways.says, pt);
        }
        if !self.conditions.is_empty() {
            flow.heading(2, "What holds", pt + 1.0);
            flow.paragraph(&self.conditions.join(" "), (pt - 1.0).max(8.0));
        }
        flow
    }

    fn work(&self, pt: f64) -> Table {
        let mut rows: Vec<Row> = self
            .lines
            .iter()
            .map(|[what, count, each, amount]| Row {
                cells: vec![Cell::from(what), Cell::from(count), Cell::from(each), Cell::from(amount)],
            })
            .collect();
        rows.push(Row {
            cells: vec![
                Cell::bold("All of it, if nothing comes on top"),
                Cell::default(),
                Cell::default(),
                Cell::bold(&self.total),
            ],
        });
        Table {
            columns: vec![
                Column::words("What", Width::Share(1.0)),
                Column::figures("How many", Width::Mm(22.0)),
                Column::figures("Each", Width::Fit),
                Column::figures("Amount", Width::Fit),
            ],
            rows,
            pt,
            head_pt: pt,
            least_mm: 0.0,
            ruled: false,
        }
    }

    fn bought(&self, pt: f64) -> Table {
        let rows = self
            .parts
            .iter()
            .map(|[what, size, count]| Row { cells: vec![Cell::from(what), Cell::from(size), Cell::from(count)] });
        Table {
            columns: vec![
                Column::words("Part", Width::Share(1.0)),
                Column::words("Size", Width::Share(1.0)),
                Column::figures("To order", Width::Mm(20.0)),
            ],
            rows: rows.collect(),
            pt,
            head_pt: pt,
            least_mm: 0.0,
            ruled: false,
        }
    }
}

fn weighed(ways: &QuotationWays, pt: f64) -> Table {
    let rows = ways.rows.iter().map(|[size, chance, cost, left]| Row {
        cells: vec![Cell::bold(size), Cell::from(chance), Cell::from(cost), Cell::from(left)],
    });
    let small = (pt - 1.0).max(8.0);
    Table {
        columns: vec![
            Column::words("Start at", Width::Share(1.0)),
            Column::words("Cleans up", Width::Share(1.0)),
            Column::figures("Cost on average", Width::Mm(32.0)),
            Column::figures("Sizes left", Width::Mm(22.0)),
        ],
        rows: rows.collect(),
        pt: small,
        head_pt: small,
        least_mm: 0.0,
        ruled: false,
    }
}
