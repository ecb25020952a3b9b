//! A column that is printed too coarsely for the limits in it.

use units::Unit;

use super::columns::ROUNDING;
use super::{Book, Words, like, plain};
use crate::{PrintedBand, PrintedNumber};

/// A column whose last place is more than this share of what lies between the limits does not hold them.
const COARSE_SHARE: f64 = 0.5;

/// One column of a band, in full: its limits, and a unit of its last place in millimetres.
struct Column<'a> {
    unit: Unit,
    low: &'a PrintedNumber,
    high: &'a PrintedNumber,
    step_mm: f64,
}

impl<'a> Column<'a> {
    fn of(band: &'a PrintedBand) -> Option<Column<'a>> {
        let (low, high) = (band.low.as_ref()?, band.high.as_ref()?);
        let sound = low.value.is_finite() && high.value.is_finite() && low.value < high.value;
        let step_mm = 2.0 * low.half_unit().min(high.half_unit()) * band.unit.mm();
        sound.then_some(Column { unit: band.unit, low, high, step_mm })
    }

    fn edges_mm(&self) -> [f64; 2] {
        [self.low.value * self.unit.mm(), self.high.value * self.unit.mm()]
    }

    fn text(&self) -> String {
        format!("{} to {}", self.low.text(self.unit), self.high.text(self.unit))
    }
}

/// A column that agrees with the other only because it is printed coarsely: its last place is wide against what lies
/// between the limits, and the finer column's rounding does not account for the difference. Where the coarse figures are
/// the book's own and the other column their exact conversion, nothing is lost and nothing is said.
///
/// # Source
/// Mains of 3.123 to 3.124 in beside 79.34 to 79.36 mm (TM 9-2815-255-24): the inches move the low limit by 0.016 mm of
/// the 0.02 mm between the limits.
pub(super) fn column(
    book: &mut Book<'_>,
    key: &str,
    first: &PrintedBand,
    second: &PrintedBand,
    source: Option<&String>,
) {
    let (Some(first), Some(second)) = (Column::of(first), Column::of(second)) else { return };
    if first.unit == second.unit {
        return;
    }
    let (coarse, fine) = if first.step_mm > second.step_mm { (first, second) } else { (second, first) };
    let [low_mm, high_mm] = fine.edges_mm();
    let moved_mm = coarse.edges_mm().iter().zip([low_mm, high_mm]).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    let explained_mm = ROUNDING * fine.step_mm / 2.0;
    if coarse.step_mm <= COARSE_SHARE * (high_mm - low_mm) || moved_mm <= explained_mm {
        return;
    }
    // One place more than the column has, which shows what it lost.
    let finer = PrintedNumber { value: coarse.low.value, decimals: coarse.low.shown_decimals() + 1 };
    let in_coarse = |mm: f64| like(&finer, mm / coarse.unit.mm(), coarse.unit);
    let counts = if coarse.unit == book.unit {
        "this is the column that counts here; if the book means the other one, type that one alone"
    } else {
        "the other column counts here"
    };
    book.query(
        Words {
            key: key.to_owned(),
            found: format!("{} beside {}", coarse.text(), fine.text()),
            expected: format!("{} is {} to {}", fine.text(), in_coarse(low_mm), in_coarse(high_mm)),
            cause: format!(
                "steps of {} are coarse for limits {} apart, and move one by {}: {counts}",
                plain(coarse.step_mm, coarse.unit),
                plain(high_mm - low_mm, fine.unit),
                plain(moved_mm, fine.unit)
            ),
        },
        source,
    );
}
