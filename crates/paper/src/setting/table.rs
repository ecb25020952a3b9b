//! Tables, over as many pages as they take, with their head on each.

use super::POINTS_PER_MM;
use super::flow::{Flow, Piece, Tag};
use super::lettering::{Laid, Type};
use crate::{Anchor, Face, Pen};

/// How wide a column is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Width {
    /// So many millimetres.
    Mm(f64),
    /// A share of what the others leave.
    Share(f64),
    /// As wide as its widest field.
    Fit,
}

/// A column.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    pub(crate) head: String,
    pub(crate) width: Width,
    pub(crate) face: Face,
    pub(crate) align: Anchor,
}

impl Column {
    /// Words, to the left.
    pub(crate) fn words(head: &str, width: Width) -> Column {
        Column { head: head.to_owned(), width, face: Face::Words, align: Anchor::Start }
    }

    /// Figures, to the right.
    pub(crate) fn figures(head: &str, width: Width) -> Column {
        Column { head: head.to_owned(), width, face: Face::Figures, align: Anchor::End }
    }
}

/// What stands in one field.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cell {
    pub(crate) words: String,
    pub(crate) bold: bool,
}

impl Cell {
    pub(crate) fn bold(words: impl Into<String>) -> Cell {
        Cell { words: words.into(), bold: true }
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(words: T) -> Cell {
        Cell { words: words.into(), bold: false }
    }
}

/// A row; its first field names it.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub(crate) cells: Vec<Cell>,
}

/// A table.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    pub(crate) columns: Vec<Column>,
    pub(crate) rows: Vec<Row>,
    /// Size of its type.
    pub(crate) pt: f64,
    /// Size of the type of its head.
    pub(crate) head_pt: f64,
    /// Rows are at least so high, for a pencil.
    pub(crate) least_mm: f64,
    /// Whether lines run between columns too.
    pub(crate) ruled: bool,
}

/// A table whose words are set but not placed.
struct LaidTable {
    widths: Vec<f64>,
    head: Vec<Laid>,
    head_mm: f64,
    /// The fields of each row, and how high it is.
    rows: Vec<(Vec<Laid>, f64)>,
}

/// Between a rule and what it rules.
const PAD_MM: f64 = 1.0;

impl Flow {
    /// Sets a table.
    pub(crate) fn table(&mut self, table: &Table) {
        if table.columns.is_empty() {
            return;
        }
        let LaidTable { widths, head, head_mm, rows } = self.laid(table);
        self.begin(Tag::Table);
        let mut first = true;
        let mut body_open = false;
        for (cells, row_mm) in &rows {
            let with_head = if first { head_mm + row_mm } else { *row_mm };
            if first {
                self.need(with_head);
            }
            if first || (!self.is_kept() && !self.fits(*row_mm)) {
                if !first {
                    self.new_page();
                }
                self.head(&head, &widths, head_mm, table, !first);
                if first {
                    self.begin(Tag::Body);
                    body_open = true;
                }
                first = false;
            }
            self.row(cells, &widths, *row_mm, table);
        }
        if body_open {
            self.end();
        }
        self.end();
    }

    /// How high a table is where it is not cut, and its head alone.
    pub(crate) fn table_mm(&mut self, table: &Table) -> (f64, f64) {
        let laid = self.laid(table);
        (laid.head_mm + laid.rows.iter().map(|(_, row_mm)| row_mm).sum::<f64>(), laid.head_mm)
    }

    fn laid(&mut self, table: &Table) -> LaidTable {
        let widths = widths(table, self.width_mm());
        let head: Vec<Laid> = table
            .columns
            .iter()
            .zip(&widths)
            .map(|(column, width)| {
                let how = Type::words(table.head_pt).bold();
                self.set(&column.head, how, width - 2.0 * PAD_MM, column.align)
            })
            .collect();
        let head_mm = head.iter().map(|laid| laid.height_mm).fold(0.0, f64::max) + 2.0 * PAD_MM;
        let mut rows = Vec::with_capacity(table.rows.len());
        for row in &table.rows {
            let mut cells = Vec::with_capacity(widths.len());
            for (n, (column, width)) in table.columns.iter().zip(&widths).enumerate() {
                let cell = row.cells.get(n).cloned().unwrap_or_default();
                let how = Type { pt: table.pt, face: column.face, bold: cell.bold };
                cells.push(self.set(&cell.words, how, width - 2.0 * PAD_MM, column.align));
            }
            let row_mm = cells.iter().map(|laid| laid.height_mm + 2.0 * PAD_MM).fold(table.least_mm, f64::max);
            rows.push((cells, row_mm));
        }
        LaidTable { widths, head, head_mm, rows }
    }

    fn head(&mut self, head: &[Laid], widths: &[f64], head_mm: f64, table: &Table, again: bool) {
        let (y, whole) = (self.y_mm(), widths.iter().sum::<f64>());
        let mut x = self.left_mm();
        let left = x;
        if !again {
            self.begin(Tag::Head);
            self.begin(Tag::Row);
        }
        for (laid, width) in head.iter().zip(widths) {
            if !again {
                self.begin(Tag::ColumnHead);
            }
            self.place(Piece::Words(laid.clone()), (x + PAD_MM, y + head_mm - PAD_MM - laid.height_mm), again);
            if !again {
                self.end();
            }
            x += width;
        }
        if !again {
            self.end();
            self.end();
        }
        self.eye_line((left, y), (left + whole, y), Pen::Edge);
        self.eye_line((left, y + head_mm), (left + whole, y + head_mm), Pen::Edge);
        self.columns_ruled(widths, y, head_mm, table.ruled);
        self.set_y_mm(y + head_mm);
    }

    fn row(&mut self, cells: &[Laid], widths: &[f64], row_mm: f64, table: &Table) {
        let (y, whole) = (self.y_mm(), widths.iter().sum::<f64>());
        let left = self.left_mm();
        let mut x = left;
        self.begin(Tag::Row);
        for (n, (laid, width)) in cells.iter().zip(widths).enumerate() {
            self.begin(if n == 0 { Tag::RowHead } else { Tag::Cell });
            self.place(Piece::Words(laid.clone()), (x + PAD_MM, y + (row_mm - laid.height_mm) / 2.0), false);
            self.end();
            x += width;
        }
        self.end();
        self.eye_line((left, y + row_mm), (left + whole, y + row_mm), Pen::Thin);
        self.columns_ruled(widths, y, row_mm, table.ruled);
        self.set_y_mm(y + row_mm);
    }

    fn columns_ruled(&mut self, widths: &[f64], y: f64, height: f64, ruled: bool) {
        if !ruled {
            return;
        }
        let mut x = self.left_mm();
        self.eye_line((x, y), (x, y + height), Pen::Thin);
        for width in widths {
            x += width;
            self.eye_line((x, y), (x, y + height), Pen::Thin);
        }
    }
}

fn widths(table: &Table, whole_mm: f64) -> Vec<f64> {
    let fixed: Vec<Option<f64>> = table
        .columns
        .iter()
        .enumerate()
        .map(|(n, column)| match column.width {
            Width::Mm(mm) => Some(mm),
            Width::Share(_) => None,
            Width::Fit => Some(widest_mm(table, n, column.face)),
        })
        .collect();
    let shares: f64 = table.columns.iter().map(|c| if let Width::Share(share) = c.width { share } else { 0.0 }).sum();
    let left_over = (whole_mm - fixed.iter().flatten().sum::<f64>()).max(0.0);
    let share = |column: &Column| match column.width {
        Width::Share(share) => left_over * share / shares.max(f64::MIN_POSITIVE),
        Width::Mm(_) | Width::Fit => 0.0,
    };
    fixed.into_iter().zip(&table.columns).map(|(mm, column)| mm.unwrap_or_else(|| share(column))).collect()
}

/// How wide a column must be to keep each of its fields, and each word of its head, on one line.
fn widest_mm(table: &Table, n: usize, face: Face) -> f64 {
    let size = |pt: f64| pt / POINTS_PER_MM;
    let fields = table.rows.iter().filter_map(|row| row.cells.get(n));
    let widest = fields.map(|cell| crate::width_mm(&cell.words, size(table.pt), face, cell.bold)).fold(0.0, f64::max);
    let head = table.columns.get(n).map(|column| column.head.as_str()).unwrap_or_default();
    let words = head.split_whitespace().map(|word| crate::width_mm(word, size(table.head_pt), Face::Words, true));
    words.fold(widest, f64::max) + 2.0 * PAD_MM + 2.0
}
