//! The hardened case: measured rows, and what is left of it as JSON and in words.

use crank::{CaseDepth, CaseFound, PrintedBand, PrintedSpecification, SetName};
use document::Problems;
use regrind::{SetVerdict, StepVerdict, case_left};
use serde::Serialize;
use units::{Unit, show_mm};

use crate::Sheet;
use crate::answer::round;
use crate::table::{Table, spelt};

/// No case is deeper.
const DEEPEST_MM: f64 = 15.0;

/// What is left at one step; lengths on the radius.
#[derive(Debug, Serialize)]
pub(crate) struct CaseAnswer {
    journal: String,
    removed: f64,
    low: f64,
    high: f64,
    least: f64,
    chance_under: f64,
}

/// The cases of both sets: as measured, else the book's.
pub(crate) fn cases(
    root: &mut Table<'_>,
    unit: Unit,
    printed: Option<&PrintedSpecification>,
    problems: &mut Problems,
) -> [Option<CaseFound>; 2] {
    let mut cases = SetName::BOTH.map(|set| printed.and_then(|printed| of_the_book(printed, set)));
    let Some(field) = root.take("case") else { return cases };
    let mut seen = Vec::new();
    for mut row in field.rows(problems) {
        let words = [("main", SetName::Main), ("pin", SetName::Pin)];
        let of = row.need("set", "the mains or the pins", "set = \"pin\"", problems);
        let set = of.as_ref().and_then(|f| f.word(&words, problems));
        let expected = format!("a depth above 0, in {}", spelt(unit));
        let depth = row.need("depth", "how deep the case was, from the original surface down", "depth = 1.6", problems);
        let journal_mm = |set: SetName| {
            let book = printed?;
            let columns = if set == SetName::Main { &book.main.size } else { &book.pin.size };
            Some(PrintedBand::in_columns(columns, book.unit)?.band()?.middle_mm())
        };
        // A case is a skin: no deeper than a quarter of the journal.
        let most_mm = set.and_then(journal_mm).map_or(DEEPEST_MM, |mm| DEEPEST_MM.min(mm / 4.0));
        let depth_mm = depth.and_then(|f| {
            let advice =
                "it is the depth on one side, not on the diameter; a quarter of the journal is no case any more";
            f.length_where(unit, |mm| mm > 0.0 && mm <= most_mm, &expected, advice, problems)
        });
        let doubt = row.take("doubt").and_then(|f| {
            let expected = format!("a length from 0 below the depth, in {}", spelt(unit));
            let below_mm = depth_mm.as_ref().map_or(most_mm, |entry| entry.mm);
            f.length_where(unit, |mm| (0.0..below_mm).contains(&mm), &expected, "one standard deviation", problems)
        });
        row.finish(problems);
        let (Some(set), Some(depth_mm)) = (set, depth_mm) else { continue };
        if seen.contains(&set) {
            if let Some(of) = of {
                of.refuse(problems, "each set once", "enter the shallowest that was measured");
            }
            continue;
        }
        seen.push(set);
        let depth = CaseDepth::Measured { mm: depth_mm.mm, sd_mm: doubt.map_or(0.0, |entry| entry.mm) };
        if let Some(case) = cases.get_mut(usize::from(set == SetName::Pin)) {
            *case = Some(CaseFound { depth, least_mm: printed.and_then(|printed| least_mm(printed, set)) });
        }
    }
    cases
}

fn least_mm(printed: &PrintedSpecification, set: SetName) -> Option<f64> {
    let book = if set == SetName::Main { &printed.main } else { &printed.pin };
    book.case_least.as_ref()?.mm(printed.unit)
}

fn of_the_book(printed: &PrintedSpecification, set: SetName) -> Option<CaseFound> {
    let book = if set == SetName::Main { &printed.main } else { &printed.pin };
    let band = PrintedBand::in_columns(&book.case_depth, printed.unit)?.band()?;
    let depth = CaseDepth::Book { low_mm: band.low_mm, high_mm: band.high_mm };
    Some(CaseFound { depth, least_mm: least_mm(printed, set) })
}

pub(crate) fn answer(sheet: &Sheet, set: SetName, step: &StepVerdict) -> Option<CaseAnswer> {
    let left = case_left(&sheet.specification, &sheet.findings, set, step, sheet.policy.polish_stock_mm)?;
    let length = |mm: f64| round(mm / sheet.unit.mm());
    Some(CaseAnswer {
        journal: left.journal.to_string(),
        removed: length(left.removed_mm),
        low: length(left.low_mm),
        high: length(left.high_mm),
        least: length(left.least_mm),
        chance_under: (left.chance_under * 1e6).round() / 1e6,
    })
}

/// What is left of the case of a set at the sizes it can go to, in words; nothing where its depth is not told.
pub fn case_words(sheet: &Sheet, set: &SetVerdict) -> Option<String> {
    let unit = sheet.unit;
    let shown = |mm: f64| show_mm(mm, unit, unit.usual_decimals() - 1);
    let left: Vec<String> = set
        .steps
        .iter()
        .filter(|step| step.permitted && step.undersize_mm > set.ground_to.undersize_mm)
        .filter_map(|step| {
            let left = case_left(&sheet.specification, &sheet.findings, set.set, step, sheet.policy.polish_stock_mm)?;
            let to = regrind::words::undersize_figure(step.undersize_mm, unit);
            let range = if shown(left.low_mm) == shown(left.high_mm) {
                shown(left.low_mm)
            } else {
                format!("{} to {}", shown(left.low_mm), shown(left.high_mm))
            };
            let under = if left.chance_under >= 0.005 {
                let least = if left.least_mm > 0.0 {
                    format!("less than {} left", shown(left.least_mm))
                } else {
                    "ground through".to_owned()
                };
                format!(" ({least} in {})", regrind::words::in_hundred(left.chance_under))
            } else {
                String::new()
            };
            Some(format!("at {to} {range}{under}"))
        })
        .collect();
    (!left.is_empty()).then(|| format!("Case left at the thinnest spot, in {}: {}.", unit.plural(), left.join("; ")))
}
