//! Setting type on pages: paragraphs, tables, drawings, page breaks, and the PDF with its structure.
//!
//! A document is laid out first ([`flow`]) and written then ([`pdf`]), because "page 1 of 2" is known only at the end. Text
//! is shaped, broken into lines and given its fallback letters by parley; the file is written by krilla, as tagged
//! PDF 1.7 to PDF/UA-1. Lengths are millimetres; sizes of type are points, as everywhere.

mod flow;
mod lettering;
mod marks;
mod pdf;
mod table;

#[cfg(test)]
pub(crate) use flow::Child;
pub(crate) use flow::{Flow, Foot, Piece, Tag, one_line};
pub(crate) use lettering::Type;
pub(crate) use table::{Cell, Column, Row, Table, Width};

/// What the paper is cut to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PaperSize {
    /// 210 by 297 mm (ISO 216).
    A4,
    /// 8.5 by 11 in.
    Letter,
}

impl PaperSize {
    /// Both, as they can be chosen.
    pub const ALL: [PaperSize; 2] = [PaperSize::A4, PaperSize::Letter];

    /// The word it is chosen by.
    pub const fn word(self) -> &'static str {
        match self {
            PaperSize::A4 => "A4",
            PaperSize::Letter => "Letter",
        }
    }

    /// The paper that a word stands for, in capitals or not.
    pub fn from_word(word: &str) -> Option<PaperSize> {
        PaperSize::ALL.into_iter().find(|size| size.word().eq_ignore_ascii_case(word))
    }

    /// Width and height in millimetres.
    pub const fn mm(self) -> (f64, f64) {
        match self {
            PaperSize::A4 => (210.0, 297.0),
            PaperSize::Letter => (215.9, 279.4),
        }
    }
}

/// Points in a millimetre.
pub(crate) const POINTS_PER_MM: f64 = 72.0 / 25.4;
