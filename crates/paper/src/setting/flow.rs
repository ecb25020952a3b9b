//! Blocks down a page and over to the next, and what each means to a reader who does not see it.

use krilla::tagging::{ListNumbering, Tag as PdfTag, TagKind};

use super::PaperSize;
use super::lettering::{Laid, Lettering, Type};
use crate::{Anchor, Drawing, Fill, Mark, Pen, Place};

/// Fields of the title block that stand beside each other.
const FOOT_COLUMNS: usize = 3;

/// The edge of the paper that stays white, in millimetres.
const EDGE_MM: f64 = 12.0;

/// What a part of a document is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Tag {
    Document,
    Heading { level: u16, title: String },
    Paragraph,
    List,
    Item,
    ItemBody,
    Figure { says: String },
    Section,
    Table,
    Head,
    Body,
    Row,
    ColumnHead,
    RowHead,
    Cell,
}

impl Tag {
    pub(crate) fn kind(&self) -> TagKind {
        use krilla::tagging::TableHeaderScope as Scope;
        match self {
            Tag::Document | Tag::Section => PdfTag::Section.into(),
            Tag::Heading { level, title } => {
                PdfTag::Hn(std::num::NonZeroU16::new(*level).unwrap_or(std::num::NonZeroU16::MIN), Some(title.clone()))
                    .into()
            }
            Tag::Paragraph => PdfTag::P.into(),
            Tag::List => PdfTag::L(ListNumbering::None).into(),
            Tag::Item => PdfTag::LI.into(),
            Tag::ItemBody => PdfTag::LBody.into(),
            Tag::Figure { says } => PdfTag::Figure(Some(says.clone())).into(),
            Tag::Table => PdfTag::Table.into(),
            Tag::Head => PdfTag::THead.into(),
            Tag::Body => PdfTag::TBody.into(),
            Tag::Row => PdfTag::TR.into(),
            Tag::ColumnHead => PdfTag::TH(Scope::Column).into(),
            Tag::RowHead => PdfTag::TH(Scope::Row).into(),
            Tag::Cell => PdfTag::TD.into(),
        }
    }
}

/// Whose content a piece is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    /// Of a part of the document, by its number.
    Of(usize),
    /// Only there for the eye: rules, repeated headings, page numbers.
    ForTheEye,
}

/// Something with its place on a page.
#[derive(Clone, Debug)]
pub(crate) enum Piece {
    Words(Laid),
    Marks(Vec<Mark>),
}

#[derive(Clone, Debug)]
pub(crate) struct Placed {
    pub(crate) piece: Piece,
    pub(crate) at_mm: Place,
    pub(crate) role: Role,
}

/// A part of the document with what stands in it, in reading order.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    pub(crate) tag: Tag,
    pub(crate) children: Vec<Child>,
    /// Where it begins: page and height.
    pub(crate) begins: Option<(usize, f64)>,
}

#[derive(Clone, Copy, Debug)]
pub(crate) enum Child {
    Part(usize),
    /// A piece, by page and number on it.
    Piece(usize, usize),
}

/// What stands at the foot of every page.
#[derive(Clone, Debug, Default)]
pub(crate) struct Foot {
    /// Names and values, set as the title block of a drawing.
    pub(crate) block: Vec<(String, String)>,
    /// Size of its type.
    pub(crate) pt: f64,
}

/// A document as it grows.
pub(crate) struct Flow {
    pub(crate) lettering: Lettering,
    pub(crate) paper: PaperSize,
    pub(crate) pages: Vec<Vec<Placed>>,
    pub(crate) parts: Vec<Part>,
    /// Parts that are open, the innermost last.
    open: Vec<usize>,
    /// How far down the page is used.
    y_mm: f64,
    /// What is repeated at the foot of every page.
    foot: Foot,
    foot_mm: f64,
    /// Outline letters over the page: EXAMPLE.
    pub(crate) mark: Option<String>,
    /// A heading repeated at the top of later pages.
    pub(crate) running: Option<String>,
    /// The left edge and width that blocks take, where they are set in a column.
    column: Option<(f64, f64)>,
    /// What is being set was found to fit and stays on this page.
    kept: bool,
}

impl Flow {
    pub(crate) fn new(paper: PaperSize, foot: Foot) -> Flow {
        let mut flow = Flow {
            lettering: Lettering::new(),
            paper,
            pages: vec![Vec::new()],
            parts: vec![Part { tag: Tag::Document, children: Vec::new(), begins: None }],
            open: vec![0],
            y_mm: EDGE_MM,
            foot,
            foot_mm: 0.0,
            mark: None,
            running: None,
            column: None,
            kept: false,
        };
        flow.foot_mm = flow.foot_height_mm();
        flow
    }

    pub(crate) fn left_mm(&self) -> f64 {
        self.column.map_or(EDGE_MM, |(left, _)| left)
    }

    /// The width that words may take.
    pub(crate) fn width_mm(&self) -> f64 {
        self.column.map_or(self.paper.mm().0 - 2.0 * EDGE_MM, |(_, width)| width)
    }

    pub(crate) fn y_mm(&self) -> f64 {
        self.y_mm
    }

    pub(crate) fn set_y_mm(&mut self, y_mm: f64) {
        self.y_mm = y_mm;
    }

    /// Where the foot begins.
    pub(crate) fn bottom_mm(&self) -> f64 {
        self.paper.mm().1 - EDGE_MM - self.foot_mm
    }

    /// Sets blocks in a column of the page until it is given back.
    pub(crate) fn set_column(&mut self, column: Option<(f64, f64)>) {
        self.column = column;
    }

    /// Opens a part; what comes is in it until it is closed.
    pub(crate) fn begin(&mut self, tag: Tag) -> usize {
        let number = self.parts.len();
        self.parts.push(Part { tag, children: Vec::new(), begins: Some((self.pages.len() - 1, self.y_mm)) });
        if let Some(parent) = self.open.last().copied().and_then(|parent| self.parts.get_mut(parent)) {
            parent.children.push(Child::Part(number));
        }
        self.open.push(number);
        number
    }

    /// Closes the innermost part.
    pub(crate) fn end(&mut self) {
        if self.open.len() > 1 {
            self.open.pop();
        }
    }

    /// Puts a piece on the page in hand.
    pub(crate) fn place(&mut self, piece: Piece, at_mm: Place, for_the_eye: bool) {
        let page = self.pages.len() - 1;
        let inside = self.open.last().copied().unwrap_or(0);
        let role = if for_the_eye { Role::ForTheEye } else { Role::Of(inside) };
        let Some(pieces) = self.pages.last_mut() else { return };
        let number = pieces.len();
        pieces.push(Placed { piece, at_mm, role });
        if let (Role::Of(part), Some(part_in)) = (role, self.parts.get_mut(inside)) {
            debug_assert_eq!(part, inside);
            part_in.children.push(Child::Piece(page, number));
        }
    }

    /// Sets words without placing them.
    pub(crate) fn set(&mut self, words: &str, how: Type, widest_mm: f64, align: Anchor) -> Laid {
        self.lettering.set(words, how, Some(widest_mm), align)
    }

    /// Whether so much still fits on this page.
    pub(crate) fn fits(&self, height_mm: f64) -> bool {
        self.y_mm + height_mm <= self.bottom_mm() + 1e-6
    }

    /// Goes on on the next page where so much no longer fits on this one.
    pub(crate) fn need(&mut self, height_mm: f64) {
        if !self.kept && !self.fits(height_mm) && self.y_mm > EDGE_MM + 1e-6 {
            self.new_page();
        }
    }

    /// Sets blocks that are together so high on one page, the next where they no longer fit on this one. What is higher
    /// than a page runs on as if it were set alone.
    pub(crate) fn keep_together(&mut self, height_mm: f64, set: impl FnOnce(&mut Flow)) {
        self.need(height_mm);
        self.kept = self.fits(height_mm);
        set(self);
        self.kept = false;
    }

    /// Whether what is being set stays on this page.
    pub(crate) fn is_kept(&self) -> bool {
        self.kept
    }

    /// What is still free on this page.
    pub(crate) fn free_mm(&self) -> f64 {
        self.bottom_mm() - self.y_mm
    }

    /// What a page has free after its running heading.
    pub(crate) fn page_mm(&mut self) -> f64 {
        let running = self.running.clone().map_or(0.0, |words| {
            self.set(&words, Type::words(11.0).bold(), self.width_mm(), Anchor::Start).height_mm + 2.0
        });
        self.bottom_mm() - EDGE_MM - running
    }

    /// How high a heading is, or a paragraph, with the space below it.
    pub(crate) fn heading_mm(&mut self, words: &str, pt: f64) -> f64 {
        self.set(words, Type::words(pt).bold(), self.width_mm(), Anchor::Start).height_mm + 1.0
    }

    pub(crate) fn paragraph_mm(&mut self, words: &str, pt: f64) -> f64 {
        let laid = self.set(words, Type::words(pt), self.width_mm(), Anchor::Start);
        pt * 0.12 + if words.trim().is_empty() { 0.0 } else { laid.height_mm }
    }

    /// Goes on on the next page.
    pub(crate) fn new_page(&mut self) {
        self.pages.push(Vec::new());
        self.y_mm = EDGE_MM;
        if let Some(words) = self.running.clone() {
            let laid = self.set(&words, Type::words(11.0).bold(), self.width_mm(), Anchor::Start);
            let height = laid.height_mm;
            self.place(Piece::Words(laid), (EDGE_MM, EDGE_MM), true);
            self.y_mm += height + 2.0;
        }
    }

    /// White space.
    pub(crate) fn space(&mut self, mm: f64) {
        self.y_mm += mm;
    }

    /// Words as a block, in a part of their own.
    pub(crate) fn block(&mut self, tag: Tag, words: &str, how: Type, align: Anchor) {
        if words.trim().is_empty() {
            return;
        }
        let laid = self.set(words, how, self.width_mm(), align);
        let heading = matches!(tag, Tag::Heading { .. });
        // A heading is not left alone at the foot of a page: the head of a table and a row of it go with it.
        self.need(laid.height_mm + if heading { 24.0 } else { 0.0 });
        self.begin(tag);
        let (left, y, height) = (self.left_mm(), self.y_mm, laid.height_mm);
        self.place(Piece::Words(laid), (left, y), false);
        self.end();
        self.y_mm += height;
    }

    pub(crate) fn heading(&mut self, level: u16, words: &str, pt: f64) {
        let tag = Tag::Heading { level, title: words.to_owned() };
        self.block(tag, words, Type::words(pt).bold(), Anchor::Start);
        self.space(1.0);
    }

    pub(crate) fn paragraph(&mut self, words: &str, pt: f64) {
        self.block(Tag::Paragraph, words, Type::words(pt), Anchor::Start);
        self.space(pt * 0.12);
    }

    pub(crate) fn strong(&mut self, words: &str, pt: f64) {
        self.block(Tag::Paragraph, words, Type::words(pt).bold(), Anchor::Start);
        self.space(pt * 0.12);
    }

    /// Lines with a dash before each.
    pub(crate) fn list(&mut self, items: &[String], pt: f64) {
        if items.is_empty() {
            return;
        }
        const INDENT_MM: f64 = 4.0;
        self.begin(Tag::List);
        for item in items {
            let laid = self.set(item, Type::words(pt), self.width_mm() - INDENT_MM, Anchor::Start);
            let dash = self.set("–", Type::words(pt), INDENT_MM, Anchor::Start);
            self.need(laid.height_mm);
            let (left, y, height) = (self.left_mm(), self.y_mm, laid.height_mm);
            self.begin(Tag::Item);
            self.place(Piece::Words(dash), (left, y), true);
            self.begin(Tag::ItemBody);
            self.place(Piece::Words(laid), (left + INDENT_MM, y), false);
            self.end();
            self.end();
            self.y_mm += height + pt * 0.06;
        }
        self.end();
    }

    /// A rule across.
    pub(crate) fn rule(&mut self, pen: Pen) {
        let (left, y, width) = (self.left_mm(), self.y_mm, self.width_mm());
        self.eye_line((left, y), (left + width, y), pen);
        self.y_mm += 1.0;
    }

    /// A line that carries no meaning of its own.
    pub(crate) fn eye_line(&mut self, from: Place, to: Place, pen: Pen) {
        self.place(Piece::Marks(vec![Mark::Line { points: vec![from, to], pen }]), (0.0, 0.0), true);
    }

    /// A frame that carries no meaning of its own.
    pub(crate) fn eye_frame(&mut self, from: Place, to: Place, pen: Pen) {
        let points = vec![from, (to.0, from.1), to, (from.0, to.1)];
        let shape = Mark::Shape { points, pen: Some(pen), fill: Fill::None };
        self.place(Piece::Marks(vec![shape]), (0.0, 0.0), true);
    }

    /// A drawing, in the middle.
    pub(crate) fn figure(&mut self, drawing: &Drawing) {
        self.need(drawing.height_mm);
        let left = self.left_mm() + ((self.width_mm() - drawing.width_mm) / 2.0).max(0.0);
        let y = self.y_mm;
        self.begin(Tag::Figure { says: format!("{}. {}", drawing.title, drawing.says) });
        self.place(Piece::Marks(drawing.marks.clone()), (left, y), false);
        self.end();
        self.y_mm += drawing.height_mm;
    }

    fn foot_height_mm(&self) -> f64 {
        // The page number comes to the block's own fields.
        let lines = if self.foot.block.is_empty() { 0 } else { (self.foot.block.len() + 1).div_ceil(FOOT_COLUMNS) };
        if lines == 0 { 0.0 } else { lines as f64 * self.foot_line_mm() + 2.0 }
    }

    fn foot_line_mm(&self) -> f64 {
        self.foot.pt * 0.5
    }

    /// Draws the foot of every page, now that their number is known. The first page's is read, the others are only seen.
    pub(crate) fn finish(&mut self) {
        if self.foot_mm == 0.0 {
            return;
        }
        let (width, height) = self.paper.mm();
        let (left, right) = (EDGE_MM, width - EDGE_MM);
        let top = height - EDGE_MM - self.foot_mm + 2.0;
        let (foot, line) = (self.foot.clone(), self.foot_line_mm());
        let last = self.pages.len();
        self.open.truncate(1);
        let mut pages = std::mem::take(&mut self.pages);
        let whole: Vec<Vec<Placed>> = std::mem::take(&mut pages);
        for (page, pieces) in whole.into_iter().enumerate() {
            self.pages.push(pieces);
            let first = page == 0;
            if first {
                self.begin(Tag::Section);
            }
            let mut block = foot.block.clone();
            block.push(("Page".to_owned(), format!("{} of {last}", page + 1)));
            let rows = block.len().div_ceil(FOOT_COLUMNS);
            let wide = (right - left) / FOOT_COLUMNS as f64;
            self.eye_frame((left, top), (right, top + rows as f64 * line), Pen::Edge);
            for row in 1..rows {
                let y = top + row as f64 * line;
                self.eye_line((left, y), (right, y), Pen::Thin);
            }
            for column in 1..FOOT_COLUMNS {
                let x = left + column as f64 * wide;
                self.eye_line((x, top), (x, top + rows as f64 * line), Pen::Thin);
            }
            for (n, (name, value)) in block.iter().enumerate() {
                let x = left + (n % FOOT_COLUMNS) as f64 * wide;
                let y = top + (n / FOOT_COLUMNS) as f64 * line;
                self.foot_field(name, value, (x + 1.2, y), wide - 2.4, !first);
            }
            if first {
                self.end();
            }
        }
    }

    /// Name and value on one line; letters are made smaller where they would run out of their field.
    fn foot_field(&mut self, name: &str, value: &str, at: Place, widest_mm: f64, for_the_eye: bool) {
        let words = if value.is_empty() { format!("{name}:") } else { format!("{name}: {}", one_line(value)) };
        let mut pt = self.foot.pt;
        let mut laid = self.lettering.set(&words, Type::words(pt), None, Anchor::Start);
        while laid.width_mm > widest_mm && pt > 6.0 {
            pt -= 0.5;
            laid = self.lettering.set(&words, Type::words(pt), None, Anchor::Start);
        }
        if laid.width_mm > widest_mm {
            // Longer than any type makes fit: its beginning, and dots.
            let mut letters: Vec<char> = words.chars().collect();
            while laid.width_mm > widest_mm && letters.len() > 4 {
                letters.truncate(letters.len() - 2);
                let cut: String = letters.iter().collect::<String>() + "…";
                laid = self.lettering.set(&cut, Type::words(pt), None, Anchor::Start);
            }
        }
        let drop = (self.foot_line_mm() - laid.height_mm) / 2.0;
        if !for_the_eye {
            self.begin(Tag::Paragraph);
        }
        self.place(Piece::Words(laid), (at.0, at.1 + drop), for_the_eye);
        if !for_the_eye {
            self.end();
        }
    }
}

/// What was written on several lines, on one.
pub(crate) fn one_line(words: &str) -> String {
    words.lines().map(str::trim).filter(|line| !line.is_empty()).collect::<Vec<_>>().join(", ")
}
