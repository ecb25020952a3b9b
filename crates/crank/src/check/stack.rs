//! Journal, shells and housing against one another.

use super::families::band_of;
use super::{Book, Words, plain};
use crate::{Band, PrintedSet, SetName};

/// Housing less two walls less journal is the running clearance, which the book may state as well.
pub(super) fn set(book: &mut Book<'_>, name: SetName, set: &PrintedSet) {
    let unit = book.unit;
    let size = band_of(&set.size, unit);
    let (housing, wall) = (band_of(&set.housing, unit), band_of(&set.wall, unit));
    if let (Some(size), Some(housing)) = (size, housing)
        && housing.low_mm <= size.high_mm
    {
        let words = Words {
            key: format!("{name}.housing"),
            found: plain(housing.low_mm, unit),
            expected: format!("more than the journal, {}", plain(size.high_mm, unit)),
            cause: "a housing must hold the journal and two shell walls".to_owned(),
        };
        book.fault(words, None);
        return;
    }
    if let (Some(size), Some(fillet), Some(length)) =
        (size, band_of(&set.fillet, unit), set.length.as_ref().and_then(|limit| limit.mm(unit)).filter(|mm| *mm > 0.0))
        && 2.0 * fillet.high_mm >= length
        && size.high_mm > 0.0
    {
        let words = Words {
            key: format!("{name}.fillet"),
            found: plain(fillet.high_mm, unit),
            expected: format!("less than half the journal's length, {}", plain(length, unit)),
            cause: "two fillets would leave no bearing surface".to_owned(),
        };
        book.fault(words, None);
    }
    let (Some(size), Some(housing), Some(wall)) = (size, housing, wall) else { return };
    let left = Band {
        low_mm: housing.low_mm - 2.0 * wall.high_mm - size.high_mm,
        high_mm: housing.high_mm - 2.0 * wall.low_mm - size.low_mm,
    };
    let stack = format!("{} to {}", plain(left.low_mm, unit), plain(left.high_mm, unit));
    let words = |expected: String, cause: &str| Words {
        key: format!("{name}.wall"),
        found: format!("housing less two walls less journal leaves {stack}"),
        expected,
        cause: cause.to_owned(),
    };
    match band_of(&set.clearance, unit) {
        _ if left.high_mm <= 0.0 => {
            let cause = "size, wall or housing is misprinted: the shells would lock the journal";
            book.fault(words("some clearance".to_owned(), cause), None);
        }
        Some(clearance) if left.low_mm > clearance.high_mm || left.high_mm < clearance.low_mm => {
            let stated = format!("{} to {}", plain(clearance.low_mm, unit), plain(clearance.high_mm, unit));
            let cause = "size, wall, housing or clearance is misprinted: they do not add up";
            book.out_of_family(words(format!("the stated clearance, {stated}"), cause), None);
        }
        // Books may state a tighter clearance than the parts could give, but not a fraction of it.
        Some(clearance) if left.low_mm > 0.0 && clearance.low_mm < left.low_mm / 5.0 => {
            let words = Words {
                key: format!("{name}.clearance"),
                found: plain(clearance.low_mm, unit),
                expected: format!("about {}, housing less two walls less journal", plain(left.low_mm, unit)),
                cause: "a decimal point one place out in the least clearance".to_owned(),
            };
            book.out_of_family(words, None);
        }
        Some(clearance) if (left.middle_mm() - clearance.middle_mm()).abs() > clearance.width_mm().max(0.02) => {
            let stated = format!("{} to {}", plain(clearance.low_mm, unit), plain(clearance.high_mm, unit));
            book.query(words(format!("the stated clearance, {stated}"), "they hardly add up"), None);
        }
        None if left.high_mm > 0.005 * size.high_mm => {
            let expected = "a clearance of about a thousandth of the journal".to_owned();
            book.query(words(expected, "size, wall or housing may be misprinted"), None);
        }
        _ => {}
    }
}
