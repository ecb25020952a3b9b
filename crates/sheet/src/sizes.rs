//! Sizes that are nowhere near the journal's: the other unit, or ten times out.

use crank::{JournalId, PrintedBand, PrintedSet};
use document::{Place, Problems, shortened};
use units::{Entry, Unit};

use crate::table::{Field, spelt};

/// What is known of a set while a sheet is read; nothing is certain until the specification has been checked.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct SetShape {
    pub(crate) count: Option<usize>,
    pub(crate) length_mm: Option<f64>,
    /// The book's standard size.
    pub(crate) size_mm: Option<f64>,
}

impl SetShape {
    pub(crate) fn of(set: &PrintedSet, unit: Unit) -> SetShape {
        let stated = set.count.and_then(|count| usize::try_from(count).ok());
        let listed = [set.positions.len(), set.angles_deg.len()].into_iter().find(|count| *count > 0);
        let positive = |mm: &f64| mm.is_finite() && *mm > 0.0;
        let at_standard = set.steps.iter().find(|step| step.undersize.mm(unit) == Some(0.0));
        let size = PrintedBand::in_columns(&set.size, unit)
            .or_else(|| at_standard.and_then(|step| PrintedBand::in_columns(&step.size, unit)));
        let size_mm = size.and_then(|band| {
            let number = band.high.as_ref().or(band.low.as_ref())?;
            Some(number.value * band.unit.mm())
        });
        SetShape {
            count: stated.or(listed),
            length_mm: set.length.as_ref().and_then(|limit| limit.mm(unit)).filter(positive),
            size_mm: size_mm.filter(positive),
        }
    }
}

/// What probably happened to a size.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Slip {
    OtherUnit(Unit),
    TenTimes,
    Unknown,
}

/// One size that cannot be the journal's.
#[derive(Debug)]
struct Suspect {
    file: String,
    line: Option<usize>,
    key: String,
    typed: String,
    journal: JournalId,
    book: String,
    slip: Slip,
}

/// The sizes of a sheet, looked at together: a whole sheet in the other unit is one mistake.
#[derive(Debug, Default)]
pub(crate) struct Sizes {
    looked_at: usize,
    suspects: Vec<Suspect>,
}

impl Sizes {
    /// Puts a size aside if it is below half or above one and a half times the book's.
    pub(crate) fn look_at(&mut self, field: &Field<'_>, entry: &Entry, journal: JournalId, shape: SetShape) {
        let Some(size_mm) = shape.size_mm else { return };
        self.looked_at += 1;
        let ratio = entry.mm / size_mm;
        if (0.5..=1.5).contains(&ratio) {
            return;
        }
        let near = |factor: f64| (ratio * factor - 1.0).abs() < 0.1;
        let slip = if near(25.4) {
            Slip::OtherUnit(Unit::Inch)
        } else if near(1.0 / 25.4) {
            Slip::OtherUnit(Unit::Millimetre)
        } else if near(10.0) || near(0.1) || near(100.0) || near(0.01) || near(1000.0) || near(0.001) {
            Slip::TenTimes
        } else {
            Slip::Unknown
        };
        self.suspects.push(Suspect {
            file: field.file.to_owned(),
            line: field.line,
            key: field.key.clone(),
            typed: shortened(&entry.typed),
            journal,
            book: format!("{} {}", units::show_mm(size_mm, entry.unit, entry.unit.usual_decimals()), entry.unit),
            slip,
        });
    }

    /// Says what is wrong with the sizes put aside. `stated` is where the sheet states its unit.
    pub(crate) fn report(self, unit: Unit, stated: Place<'_>, problems: &mut Problems) {
        let all = self.suspects.len() == self.looked_at && self.looked_at > 1;
        let other = unit.other();
        if let Some(first) = self.suspects.first().filter(|_| all)
            && self.suspects.iter().all(|s| s.slip == Slip::OtherUnit(other))
        {
            let line = first.line.map(|line| format!("line {line}, ")).unwrap_or_default();
            let found = format!("\"{unit}\", but all {} sizes look like {}", self.looked_at, spelt(other));
            let advice = format!(
                "write units = \"{other}\", or give the sizes in {} (the first: {line}{}, {}, where the book says {})",
                spelt(unit),
                first.journal,
                first.typed,
                first.book
            );
            problems.add(stated, "units", found, format!("\"{other}\", the unit of the sizes"), advice);
            return;
        }
        for suspect in self.suspects {
            let place = Place { file: &suspect.file, line: suspect.line };
            let advice = match suspect.slip {
                Slip::OtherUnit(Unit::Inch) => {
                    format!("was it typed in inches? Then write \"{} in\"", suspect.typed)
                }
                Slip::OtherUnit(Unit::Millimetre) => {
                    format!("was it typed in millimetres? Then write \"{} mm\"", suspect.typed)
                }
                Slip::TenTimes => "it is ten times out, or a hundred; look at the point".to_owned(),
                Slip::Unknown => "look at the figures, and at the journal it belongs to".to_owned(),
            };
            let expected = format!("a size near {}'s {}", suspect.journal, suspect.book);
            problems.add(place, suspect.key, suspect.typed, expected, advice);
        }
    }
}
