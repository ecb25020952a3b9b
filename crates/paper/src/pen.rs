//! The kinds of line. A kind carries a meaning, so that nothing rests on colour.

/// Width of a narrow line on the paper.
const NARROW_MM: f64 = 0.25;

/// What a line says by its kind.
///
/// Kinds and widths follow ISO 128-2 (narrow to wide as 1 to 2, dashes counted in line widths); the numbers of the kinds
/// and the lengths of the dashes are from memory. The meanings that concern a worn crank are this program's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pen {
    /// Continuous narrow (01.1): as measured, dimension lines, hatching.
    Thin,
    /// Continuous wide (01.2): edges that are seen.
    Edge,
    /// Continuous, twice as wide again: chosen, or the one in hand.
    Heavy,
    /// Dashed narrow (02.1): not there yet, not measured.
    Dashed,
    /// Dotted narrow (07): left out on purpose.
    Dotted,
    /// Long dash and dot, narrow (04.1): an axis.
    Axis,
    /// Long dash and two dots, narrow (05.1): the outline before or after working.
    Outline,
    /// Two narrow lines side by side: look at it again.
    Double,
}

impl Pen {
    /// Width on the paper, in millimetres. For [`Pen::Double`] that of the two lines with the gap between them.
    pub const fn width_mm(self) -> f64 {
        match self {
            Pen::Edge => 2.0 * NARROW_MM,
            Pen::Heavy => 4.0 * NARROW_MM,
            Pen::Double => 3.0 * NARROW_MM,
            Pen::Thin | Pen::Dashed | Pen::Dotted | Pen::Axis | Pen::Outline => NARROW_MM,
        }
    }

    /// Lengths of dash and gap in turn, in millimetres; empty for a continuous line.
    pub const fn dashes_mm(self) -> &'static [f64] {
        const D: f64 = NARROW_MM;
        match self {
            Pen::Thin | Pen::Edge | Pen::Heavy | Pen::Double => &[],
            Pen::Dashed => &[12.0 * D, 3.0 * D],
            // A dot half as long as the line is wide would vanish on an office printer: it is drawn square.
            Pen::Dotted => &[D, 3.0 * D],
            Pen::Axis => &[24.0 * D, 3.0 * D, D, 3.0 * D],
            Pen::Outline => &[24.0 * D, 3.0 * D, D, 3.0 * D, D, 3.0 * D],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 128-2, from memory: wide lines are twice the narrow ones; a dash is 12, a long dash 24, a gap 3 widths.
    #[test]
    fn lines_keep_the_proportions_of_the_standard() {
        assert_eq!(Pen::Edge.width_mm() / Pen::Thin.width_mm(), 2.0);
        let in_widths = |pen: Pen| pen.dashes_mm().iter().map(|mm| mm / pen.width_mm()).collect::<Vec<_>>();
        assert_eq!(in_widths(Pen::Dashed), [12.0, 3.0]);
        assert_eq!(in_widths(Pen::Axis), [24.0, 3.0, 1.0, 3.0]);
        assert_eq!(in_widths(Pen::Outline), [24.0, 3.0, 1.0, 3.0, 1.0, 3.0]);
    }
}
