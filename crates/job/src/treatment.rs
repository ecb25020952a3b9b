//! Treatment after grinding: which sizes go with a crank, which come back, and the growth that they show.

use crank::JournalId;
use regrind::growth_found;
use shop::{Entry, EntryKind, Job, Row, Shop, Treatment, Value, that_count};
use units::show_mm;

use crate::aims::Aims;
use crate::card::JobCard;
use crate::nouns::journal_of;
use crate::wording::count;

/// The last size of each journal that was taken while grinding, as rows that remember the zero of their micrometer.
pub fn last_ground(job: &Job, aims: &Aims) -> Vec<Row> {
    let journals = aims.sheet.specification.journals();
    let last = journals.filter_map(|journal| {
        let row = job.ground.iter().rev().find(|row| journal_of(&row.row.row) == Some(journal))?;
        let mut kept = row.row.clone();
        if let Some(zero) = &row.zero {
            kept.row.set("zero", Value::typed(zero));
        }
        Some(kept)
    });
    last.collect()
}

/// The row of a journal among those of a stay.
pub fn of_journal(rows: &[Row], journal: JournalId) -> Option<&Row> {
    rows.iter().find(|row| journal_of(&row.row) == Some(journal))
}

/// The size that such a row shows, less the zero that it remembers, with its standard uncertainty.
fn size_mm(aims: &Aims, row: &Row) -> Option<(f64, f64)> {
    let found = aims.found(&row.row, row.row.get("zero").and_then(Value::as_typed))?;
    Some((found.size_mm, found.doubt_mm))
}

/// The size of a journal before a treatment, where it was measured.
pub fn before_mm(aims: &Aims, stay: &Treatment, journal: JournalId) -> Option<f64> {
    of_journal(&stay.before, journal).and_then(|row| size_mm(aims, row)).map(|(mm, _)| mm)
}

/// One journal before and after a treatment; on the diameter, less the zero of the micrometer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Treated {
    /// Which journal.
    pub journal: JournalId,
    /// As it went, where it was measured.
    pub before_mm: Option<f64>,
    /// As it came back, where it was measured.
    pub after_mm: Option<f64>,
}

impl Treated {
    /// What it grew by, where both are known; less than nothing where it shrank.
    pub fn grown_mm(&self) -> Option<f64> {
        Some(self.after_mm? - self.before_mm?)
    }
}

/// What a treatment did to a crank.
#[derive(Clone, Debug, PartialEq)]
pub struct Growth {
    /// The journals of which a size is known.
    pub journals: Vec<Treated>,
    /// The growth in sentences.
    pub says: Vec<String>,
    /// Whether it is more or less than the plan made room for.
    pub surprise: bool,
}

impl Growth {
    /// The growth found in a stay, from the sizes before and after it.
    pub fn of(aims: &Aims, stay: &Treatment) -> Growth {
        let mut doubt_mm = 0.0_f64;
        let mut journals = Vec::new();
        for journal in aims.sheet.specification.journals() {
            let size = |rows: &[Row]| of_journal(rows, journal).and_then(|row| size_mm(aims, row));
            let (before, after) = (size(&stay.before), size(&stay.after));
            if before.is_none() && after.is_none() {
                continue;
            }
            // What the micrometer is doubtful by is the same before and after; either stands for both.
            if let Some(((_, doubt), _)) = before.zip(after) {
                doubt_mm = doubt_mm.max(doubt);
            }
            let mm = |size: Option<(f64, f64)>| size.map(|(mm, _)| mm);
            journals.push(Treated { journal, before_mm: mm(before), after_mm: mm(after) });
        }
        let pairs: Vec<(f64, f64)> = journals.iter().filter_map(|one| one.before_mm.zip(one.after_mm)).collect();
        let (says, surprise) = in_words(aims, stay.back, &pairs, doubt_mm);
        Growth { journals, says, surprise }
    }
}

/// The growth in sentences, and whether it is more or less than the plan made room for.
fn in_words(aims: &Aims, back: bool, pairs: &[(f64, f64)], doubt_mm: f64) -> (Vec<String>, bool) {
    let unit = aims.unit();
    let length = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
    let book = &aims.sheet.specification.treatment;
    let Some(found) = growth_found(pairs) else {
        let unknown = "No journal was measured both before and after, so the growth is not known.";
        return (back.then(|| unknown.to_owned()).into_iter().collect(), false);
    };
    let mut says = vec![format!(
        "Growth found: {} {unit} on average over {}, from {} to {}.",
        length(found.mean_mm),
        count(found.journals, "journal"),
        length(found.least_mm),
        length(found.most_mm)
    )];
    if !book.after_grinding {
        return (says, false);
    }
    let surprise = !found.was_allowed_for(book, doubt_mm);
    let assumed =
        format!("The plan assumed {}, give or take {}", length(book.growth_mean_mm), length(2.0 * book.growth_sd_mm));
    says.push(if surprise {
        format!(
            "{assumed}: this is outside it. Measure every spot at the final check, and have the growth in the \
             specification looked at."
        )
    } else {
        format!("{assumed}: this is inside it.")
    });
    (says, surprise)
}

/// What the specification has done to the crank after grinding.
pub fn by_the_book(aims: &Aims) -> String {
    let book = &aims.sheet.specification.treatment;
    let unit = aims.unit();
    let length = |mm: f64| show_mm(mm, unit, unit.usual_decimals());
    match (book.after_grinding, book.kind.as_str()) {
        (true, kind) => format!(
            "The specification has {kind} after grinding. The plan allows {} {unit} for growth on the diameter, with a \
             spread of {}.",
            length(book.growth_mean_mm),
            length(book.growth_sd_mm)
        ),
        (false, "none") => {
            "The specification has no treatment after grinding: this crank goes from the grinder straight \
                            to the final check."
                .to_owned()
        }
        (false, kind) => format!(
            "The specification has {kind}, but not after grinding: this crank goes from the grinder straight to the final \
             check."
        ),
    }
}

/// The sizes as typed for each journal, as rows; a journal with none is left out. A size that was left as it is in `keep`
/// keeps that reading's zero; any other has the zero that its micrometer has now.
///
/// # Errors
/// Each journal whose size is none, with why.
pub fn sizes<'a>(
    shop: &Shop,
    aims: &Aims,
    job: &Job,
    with: &str,
    keep: &[Row],
    typed: impl Fn(JournalId) -> Option<&'a str>,
) -> Result<Vec<Row>, Vec<(JournalId, String)>> {
    let (mut rows, mut faults) = (Vec::new(), Vec::new());
    for journal in aims.sheet.specification.journals() {
        let Some(typed) = typed(journal) else { continue };
        let same = of_journal(keep, journal).filter(|row| row.row.get("size").and_then(Value::as_typed) == Some(typed));
        if let Some(row) = same {
            rows.push(row.clone());
            continue;
        }
        let reaching = || aims.micrometers_for(journal.set).first().map(|m| m.name.clone()).unwrap_or_default();
        let with = if with.is_empty() { reaching() } else { with.to_owned() };
        match aims.keyed(shop, typed, &with, journal) {
            Ok(mut row) => {
                if let Some((_, zero)) = job.zeros.iter().find(|(name, _)| *name == with) {
                    row.row.set("zero", Value::typed(zero));
                }
                rows.push(row);
            }
            Err(says) => faults.push((journal, says)),
        }
    }
    if faults.is_empty() { Ok(rows) } else { Err(faults) }
}

/// The entry that sent a crank away in a batch: what is undone where it was put into the wrong one.
pub fn sending<'a>(card: &'a JobCard, batch: &str) -> Option<&'a Entry> {
    let is_sending =
        |entry: &&Entry| matches!(&entry.kind, EntryKind::SentToTreatment { batch: sent, .. } if sent == batch);
    that_count(&card.entries).rev().find(is_sending)
}

/// What somebody else may have done meanwhile that makes sending or taking back mean something else.
pub fn bears_on_it(kind: &EntryKind) -> bool {
    matches!(
        kind,
        EntryKind::SentToTreatment { .. }
            | EntryKind::BackFromTreatment { .. }
            | EntryKind::SignedOff { .. }
            | EntryKind::Moved { .. }
            | EntryKind::PutAway { .. }
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use shop::Source;

    /// A worn Tarn four that nobody worked on yet, and its micrometers.
    fn crank() -> (JobCard, Aims) {
        let mut sheet = Value::from_text(include_str!("../../tenunder/library/tarn-four-worn.toml")).unwrap();
        sheet.set("specification", Value::from_text(include_str!("../../tenunder/library/tarn-four.toml")).unwrap());
        let card = JobCard::of_sheet(sheet).unwrap();
        let aims = Aims::of(&card).unwrap();
        (card, aims)
    }

    const PIN: fn(usize) -> JournalId = |number| JournalId { set: crank::SetName::Pin, number };

    fn row(journal: JournalId, size: &str, zero: &str) -> Row {
        let row = Value::table([
            ("journal", Value::from(journal.to_string())),
            ("size", Value::typed(size)),
            ("with", Value::from("mic 1-2")),
            ("zero", Value::typed(zero)),
        ]);
        Row { row, source: Source::Typed, typed: None }
    }

    /// By hand: pin 1 went at 1.8543 read 0.0001 high, which is 1.8542, and came back at 1.8548 by a micrometer that reads
    /// right: it grew by 0.0006. Pin 2 grew by 1.8546 less 1.8542, which is 0.0004. The middle of both is 0.0005.
    #[test]
    fn growth_is_that_of_the_sizes_and_not_of_the_zeros() {
        let (_, aims) = crank();
        let stay = Treatment {
            batch: "N-1".to_owned(),
            before: vec![row(PIN(1), "1.8543", "0.0001"), row(PIN(2), "1.8542", "0")],
            after: vec![row(PIN(1), "1.8548", "0"), row(PIN(2), "1.8546", "0"), row(PIN(3), "1.8547", "0")],
            back: true,
        };
        let growth = Growth::of(&aims, &stay);
        let grown: Vec<Option<f64>> = growth.journals.iter().map(|one| one.grown_mm().map(|mm| mm / 25.4)).collect();
        let [Some(one), Some(two), None] = grown[..] else { panic!("{grown:?}") };
        assert!((one - 0.0006).abs() < 1e-9 && (two - 0.0004).abs() < 1e-9, "{one} {two}");
        assert_eq!(growth.says[0], "Growth found: 0.0005 in on average over 2 journals, from 0.0004 to 0.0006.");
        assert!(growth.says[1].starts_with("The plan assumed 0.0005, give or take"), "{:?}", growth.says);
        assert!(!growth.surprise);
    }

    #[test]
    fn growth_that_nobody_made_room_for_is_a_surprise_and_one_nobody_measured_is_not_known() {
        let (_, aims) = crank();
        let mut stay = Treatment {
            batch: "N-1".to_owned(),
            before: vec![row(PIN(1), "1.8543", "0")],
            after: vec![row(PIN(1), "1.8573", "0")],
            back: true,
        };
        let growth = Growth::of(&aims, &stay);
        assert!(growth.surprise && growth.says[1].contains("this is outside it"), "{:?}", growth.says);
        stay.after.clear();
        let growth = Growth::of(&aims, &stay);
        assert_eq!(growth.says, ["No journal was measured both before and after, so the growth is not known."]);
        assert!(!growth.surprise);
    }

    #[test]
    fn a_size_that_was_left_as_it_was_keeps_its_zero_and_another_takes_the_one_of_now() {
        let (card, aims) = crank();
        let shop = shop::fold_shop(&[]);
        let mut job = (*card.job).clone();
        job.zeros = vec![("mic 1-2".to_owned(), "0.0002".to_owned())];
        let keep = [row(PIN(1), "1.8543", "0.0001"), row(PIN(2), "1.8543", "0.0001")];
        let typed = |journal| match journal {
            pin if pin == PIN(1) => Some("1.8543"),
            pin if pin == PIN(2) => Some("1.8544"),
            _ => None,
        };
        let rows = sizes(&shop, &aims, &job, "", &keep, typed).unwrap();
        let zeros: Vec<Option<&str>> = rows.iter().map(|row| row.row.get("zero").and_then(Value::as_typed)).collect();
        assert_eq!(zeros, [Some("0.0001"), Some("0.0002")]);
        let wrong = sizes(&shop, &aims, &job, "", &keep, |journal| (journal == PIN(3)).then_some("3.1"));
        assert_eq!(wrong.unwrap_err().first().map(|(journal, _)| *journal), Some(PIN(3)));
    }
}
