//! Blocks of tables onto pages, each whole.

use super::{HEAD_PT, SAYS_PT};
use crate::Drawing;
use crate::setting::{Flow, Table};

/// Between one block and the next, and between two tables of one part.
const GAP_MM: f64 = 3.0;

/// Between two columns of a page.
const GUTTER_MM: f64 = 6.0;

/// Over the drawing.
const TO_MARK: &str = "To mark on it where damage is";

/// A heading, what is said below it, and tables.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) title: String,
    pub(super) says: String,
    pub(super) tables: Vec<Table>,
}

impl Part {
    fn set(&self, flow: &mut Flow) {
        flow.heading(2, &self.title, HEAD_PT);
        flow.paragraph(&self.says, SAYS_PT);
        for (n, table) in self.tables.iter().enumerate() {
            flow.space(if n == 0 { 0.0 } else { GAP_MM });
            flow.table(table);
        }
    }

    fn high_mm(&self, flow: &mut Flow) -> f64 {
        let said = flow.heading_mm(&self.title, HEAD_PT) + flow.paragraph_mm(&self.says, SAYS_PT);
        let tables: f64 = self.tables.iter().map(|table| flow.table_mm(table).0).sum();
        said + tables + GAP_MM * self.tables.len().saturating_sub(1) as f64
    }

    /// The same in as few pieces as there must be for each to fit on a page; they are cut between rows of the last table,
    /// which alone grows with the crank.
    fn cut(self, flow: &mut Flow) -> Vec<Part> {
        let page_mm = flow.page_mm();
        let high_mm = self.high_mm(flow);
        let Some(rows) = self.tables.last().map(|table| table.rows.len()).filter(|rows| high_mm > page_mm && *rows > 1)
        else {
            return vec![self];
        };
        let least = (2..=rows).find_map(|pieces| {
            let each = rows.div_ceil(pieces);
            let all: Vec<Part> = (0..rows).step_by(each).map(|from| self.rows(from, each)).collect();
            all.iter().all(|piece| piece.high_mm(flow) <= page_mm).then_some(all)
        });
        least.unwrap_or_else(|| vec![self])
    }

    /// So many rows of the last table, under the whole heading.
    fn rows(&self, from: usize, count: usize) -> Part {
        let mut tables = self.tables.clone();
        if let Some(last) = tables.last_mut() {
            last.rows = last.rows.iter().skip(from).take(count).cloned().collect();
        }
        let title = if from == 0 { self.title.clone() } else { format!("{}, continued", self.title) };
        Part { title, says: self.says.clone(), tables }
    }
}

/// What stands together on a page.
#[derive(Clone, Debug)]
pub(super) struct Block {
    what: What,
    /// Comes after all before it that are in order too; others may fill a page that such a one left open.
    in_order: bool,
}

#[derive(Clone, Debug)]
enum What {
    Part(Part),
    /// Two columns beside each other.
    Beside(Vec<Part>, Vec<Part>),
    Figure(Box<Drawing>),
}

impl Block {
    pub(super) fn of(part: Part) -> Block {
        Block { what: What::Part(part), in_order: false }
    }

    pub(super) fn beside(left: Option<Part>, right: Vec<Part>) -> Block {
        Block { what: What::Beside(left.into_iter().collect(), right), in_order: false }
    }

    pub(super) fn figure(drawing: Drawing) -> Block {
        Block { what: What::Figure(Box::new(drawing)), in_order: false }
    }

    pub(super) fn in_order(self) -> Block {
        Block { in_order: true, ..self }
    }

    fn high_mm(&self, flow: &mut Flow) -> f64 {
        GAP_MM
            + match &self.what {
                What::Part(part) => part.high_mm(flow),
                What::Beside(left, right) => {
                    let columns = columns(flow);
                    let high = [left, right].into_iter().zip(columns).map(|(parts, column)| {
                        flow.set_column(Some(column));
                        parts.iter().map(|part| part.high_mm(flow) + GAP_MM).sum::<f64>() - GAP_MM
                    });
                    let high = high.fold(0.0, f64::max);
                    flow.set_column(None);
                    high
                }
                What::Figure(drawing) => flow.heading_mm(TO_MARK, HEAD_PT) + drawing.height_mm,
            }
    }

    fn set(&self, flow: &mut Flow) {
        flow.space(GAP_MM);
        match &self.what {
            What::Part(part) => part.set(flow),
            What::Beside(left, right) => {
                let top = flow.y_mm();
                let mut lowest = top;
                for (parts, column) in [left, right].into_iter().zip(columns(flow)) {
                    flow.set_y_mm(top);
                    flow.set_column(Some(column));
                    for (n, part) in parts.iter().enumerate() {
                        flow.space(if n == 0 { 0.0 } else { GAP_MM });
                        part.set(flow);
                    }
                    lowest = lowest.max(flow.y_mm());
                }
                flow.set_column(None);
                flow.set_y_mm(lowest);
            }
            What::Figure(drawing) => {
                flow.heading(2, TO_MARK, HEAD_PT);
                flow.figure(drawing);
            }
        }
    }

    /// In pieces that each fit on a page. Two columns of which one is longer than a page stand one after the other.
    fn cut(self, flow: &mut Flow) -> Vec<Block> {
        let in_order = self.in_order;
        let part = |part| Block { what: What::Part(part), in_order };
        if self.high_mm(flow) <= flow.page_mm() {
            return vec![self];
        }
        match self.what {
            What::Part(one) => one.cut(flow).into_iter().map(part).collect(),
            What::Beside(left, right) => {
                let all: Vec<Part> = left.into_iter().chain(right).collect();
                all.into_iter().flat_map(|one| one.cut(flow)).map(part).collect()
            }
            What::Figure(_) => Vec::new(),
        }
    }
}

/// Left edge and width of two columns.
fn columns(flow: &Flow) -> [(f64, f64); 2] {
    let (left, width) = (flow.left_mm(), (flow.width_mm() - GUTTER_MM) / 2.0);
    [(left, width), (left + width + GUTTER_MM, width)]
}

/// Sets every block on a page of its own or with others: the first that fits on what is left, and where none does, the
/// next on a new page. A drawing is left out rather than given a page.
pub(super) fn pack(flow: &mut Flow, blocks: Vec<Block>) {
    let mut waiting: Vec<(Block, f64)> = Vec::new();
    for block in blocks {
        for piece in block.cut(flow) {
            let high_mm = piece.high_mm(flow);
            waiting.push((piece, high_mm));
        }
    }
    while !waiting.is_empty() {
        let free_mm = flow.free_mm();
        let first_in_order = waiting.iter().position(|(block, _)| block.in_order);
        let is_next = |n: usize, block: &Block| !block.in_order || Some(n) == first_in_order;
        let fitting = waiting
            .iter()
            .enumerate()
            .position(|(n, (block, high_mm))| is_next(n, block) && *high_mm <= free_mm + 1e-6);
        let n = match fitting {
            Some(n) => n,
            None if waiting.iter().all(|(block, _)| matches!(block.what, What::Figure(_))) => return,
            None => {
                flow.new_page();
                0
            }
        };
        let (block, high_mm) = waiting.remove(n);
        if high_mm <= flow.free_mm() + 1e-6 {
            flow.keep_together(high_mm, |flow| block.set(flow));
        } else {
            block.set(flow); // one row higher than a page, by words that nobody foresaw
        }
    }
}

/// Uses what is left of the page for rows, from the least to the most that make sense; none where too few fit.
pub(super) fn fill(flow: &mut Flow, part: &dyn Fn(usize) -> Part, (least, most): (usize, usize)) {
    let free_mm = flow.free_mm();
    let fits = (least..=most).rev().map(part).find_map(|part| {
        let block = Block::of(part);
        let high_mm = block.high_mm(flow);
        (high_mm <= free_mm).then_some((block, high_mm))
    });
    if let Some((block, high_mm)) = fits {
        flow.keep_together(high_mm, |flow| block.set(flow));
    }
}
