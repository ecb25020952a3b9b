//! Reading `[[roughness]]`: how rough a journal is, where, and by what.

use std::collections::HashSet;

use crank::{Findings, JournalId, Lay, NotARa, RaUnit, Roughness, Taken, TypedRa, read_ra, show_ra, typed_ra};
use document::{Problems, Value};
use units::Unit;

use crate::findings::{Bench, few_rows};
use crate::table::{Field, Table, spelt};

/// Cut-offs of workshop instruments run from 0.08 to 8 mm; common practice, no source. A 0.8 that was meant in millimetres is
/// beyond it in inches.
const CUTOFF_MM: (f64, f64) = (0.02, 10.0);

impl Bench<'_> {
    /// The roughness of places on journals; at most one row for each place before the work, and one after it.
    pub(crate) fn roughness(&mut self, root: &mut Table<'_>, findings: &mut Findings, problems: &mut Problems) {
        let Some(field) = root.take("roughness") else { return };
        let mut seen = HashSet::new();
        for row in few_rows(&field, problems) {
            findings.roughness.extend(self.one_roughness(row, &mut seen, problems));
        }
    }

    fn one_roughness(
        &mut self,
        mut row: Table<'_>,
        seen: &mut HashSet<(JournalId, u64, bool)>,
        problems: &mut Problems,
    ) -> Option<Roughness> {
        let journal = self.journal(&mut row, problems);
        let at_mm = self.needed_at(&mut row, journal, problems);
        let example = match self.unit {
            Unit::Inch => "ra = 10, in microinches, or with its unit, ra = \"0.25 µm\"",
            Unit::Millimetre => "ra = 0.25, in microns, or with its unit, ra = \"10 µin\"",
        };
        let ra = row.need("ra", "the Ra that the instrument showed", example, problems);
        let ra = ra.and_then(|f| self.ra(&f, problems));
        let error_limit = row.take("error_limit");
        let error_limit_um = match (&error_limit, &ra) {
            (Some(field), Some(ra)) => error_limit_um(field, ra, self.unit, problems).map(Some),
            _ => Some(None),
        };
        let lay = row.take("lay").map(|f| f.word(&Lay::ALL.map(|lay| (lay.word(), lay)), problems));
        let with = row.take("with").map(|f| f.text(problems).map(str::to_owned));
        let cutoff = row.take("cutoff").map(|f| {
            let (low, high) = CUTOFF_MM;
            let expected = format!("a cut-off from {low} to {high} mm, in {}", spelt(self.unit));
            let advice = "with its unit where the sheet has another, as cutoff = \"0.8 mm\"";
            f.length_where(self.unit, |mm| (low..=high).contains(&mm), &expected, advice, problems).map(|e| e.mm)
        });
        let when = row.take("when");
        let when = when.map(|f| f.word(&Taken::BOTH.map(|taken| (taken.word(), taken)), problems));
        let taken = when.unwrap_or(Some(Taken::Before));
        if let (Some(journal), Some(at_mm), Some(taken)) = (journal, at_mm, taken)
            && !seen.insert((journal, at_mm.to_bits(), taken == Taken::After))
        {
            let found = format!("{journal} at this place a second time");
            let expected = "one row for each place before the work, and one after it";
            let advice = "keep the right one; what was measured when the work was done has when = \"after\"";
            problems.add(row.place(), row.named("journal"), found, expected, advice);
            row.finish(problems);
            return None;
        }
        row.finish(problems);
        Some(Roughness {
            journal: journal?,
            at_mm: at_mm?,
            ra_um: ra?.um,
            error_limit_um: error_limit_um?,
            lay: turned(lay)?,
            with: turned(with)?,
            cutoff_mm: turned(cutoff)?,
            taken: taken?,
        })
    }

    fn ra(&self, field: &Field<'_>, problems: &mut Problems) -> Option<TypedRa> {
        let typed = figure(field, problems)?;
        match read_ra(typed, self.unit) {
            Ok(ra) => Some(ra),
            Err(fault) => {
                let (expected, advice) = said(&fault, typed, self.unit);
                field.refuse(problems, expected, advice);
                None
            }
        }
    }
}

/// What is missing altogether is fine; what is there and wrong is not.
fn turned<T>(value: Option<Option<T>>) -> Option<Option<T>> {
    match value {
        None => Some(None),
        Some(None) => None,
        Some(known) => Some(known),
    }
}

fn figure<'a>(field: &Field<'a>, problems: &mut Problems) -> Option<&'a str> {
    match field.node.value {
        Value::Number(typed) | Value::Text(typed) => Some(typed),
        _ => {
            field.refuse(
                problems,
                "one roughness",
                "write a number, or a text such as \"0.25 µm\"; one row for each place",
            );
            None
        }
    }
}

/// Most that the Ra may be wrong by; a bare figure is in the unit that the Ra was typed in.
fn error_limit_um(field: &Field<'_>, ra: &TypedRa, sizes: Unit, problems: &mut Problems) -> Option<f64> {
    let typed = figure(field, problems)?;
    let expected = format!("most that it may be wrong by, in {}, above 0 and below the Ra itself", ra.unit.sign());
    match typed_ra(typed, ra.unit) {
        Ok((limit, _)) if limit.um > 0.0 && limit.um < ra.um => Some(limit.um),
        Ok(_) => {
            let advice = "take it from the instrument's certificate; leave it out where you do not know it";
            field.refuse(problems, expected, advice);
            None
        }
        Err(fault) => {
            let (_, advice) = said(&fault, typed, sizes);
            field.refuse(problems, expected, advice);
            None
        }
    }
}

/// What was expected and what to do.
fn said(fault: &NotARa, typed: &str, sizes: Unit) -> (String, String) {
    let bare = RaUnit::of(sizes).sign();
    match fault {
        NotARa::NoNumber(why) => (format!("a roughness in {bare}"), format!("type it again ({why})")),
        NotARa::UnknownUnit(word) => (
            "a roughness in µm or µin".to_owned(),
            format!("\"{word}\" is no unit of it; a bare figure is in {bare}, as the sizes are in {}", spelt(sizes)),
        ),
        NotARa::Which { own, likely } => {
            let (typed, own, likely) = (typed.trim(), own.sign(), likely.sign());
            let insisted = format!("{typed} {own}");
            let all_the_same = match read_ra(&insisted, sizes) {
                Ok(_) => format!("; if it was {own} all the same, write \"{insisted}\""),
                Err(_) => String::new(),
            };
            (
                format!("a roughness in {bare}"),
                format!(
                    "which unit was it read in? In {own} hardly a journal shows that; if it was {likely}, write \"{typed} \
                     {likely}\"{all_the_same}"
                ),
            )
        }
        NotARa::NotPossible { um } => (
            "a roughness from 0.005 to 50 µm".to_owned(),
            format!("it would be {}; look at the point, and at the unit", show_ra(*um, sizes)),
        ),
    }
}
