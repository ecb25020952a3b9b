//! The drawings of a job, from its record and its latest verdict.

use crank::{JournalId, SetName};
use fit::Fit;
use paper::{
    BeforeAfter, Change, ClearanceSketch, CrankSketch, Drawing, Drawn, JournalMark, Known, LadderSketch, SizeAxis,
    SvgSize,
};
use regrind::SetVerdict;
use shop::{Shop, Standing};
use units::Unit;

use crate::judged::Judged;
use crate::ladder::{Found, Tally};
use crate::standing::known;
use crate::wording::{OldWay, Words};
use job::JobCard;
use job::aims::Aims;
use job::final_check::spots;
use job::finished::finished;
use job::march::{Spot, Walk};
use job::nouns::journal_of;

/// A drawing in two widths, of which the page shows the one that it has room for.
#[derive(Clone, Debug)]
pub(crate) struct Figure {
    pub(crate) wide: String,
    pub(crate) narrow: String,
}

impl Figure {
    /// As wide as a panel of the verdict is where two stand beside each other.
    const WIDE_MM: f64 = 81.0;

    /// The sizes of one set; nothing where no size of it counts.
    pub(crate) fn of_sizes(found: &Found<'_>, set: &SetVerdict) -> Option<Figure> {
        let axis = size_axis(found, set.set)?;
        let svg = |width_mm: f64, name: &str| {
            axis.draw(width_mm).drawing.to_svg(&format!("axis-{}-{name}", set.set), SvgSize::Page)
        };
        Some(Figure { wide: svg(Self::WIDE_MM, "wide"), narrow: svg(SizeAxis::NARROW_MM, "narrow") })
    }

    /// The clearances of one set; nothing where none is known.
    pub(crate) fn of_clearances(fit: &Fit, set: SetName, unit: Unit, words: Words) -> Option<Figure> {
        let sketch = clearances(fit, set, unit, words)?;
        let svg = |width_mm: f64, name: &str| {
            sketch.draw(width_mm).drawing.to_svg(&format!("clearance-{set}-{name}"), SvgSize::Page)
        };
        Some(Figure { wide: svg(ClearanceSketch::WIDE_MM, "wide"), narrow: svg(ClearanceSketch::NARROW_MM, "narrow") })
    }
}

/// The clearances of one set in the shop's words.
pub(crate) fn clearances(fit: &Fit, set: SetName, unit: Unit, words: Words) -> Option<ClearanceSketch> {
    ClearanceSketch::of(fit, set, unit, &words.set_within(set), &names(words))
}

fn names(words: Words) -> impl Fn(JournalId) -> String {
    move |id| words.journal(id)
}

/// What a sheet and its verdict say, for the drawings.
pub(crate) fn with_known<T>(found: &Found<'_>, draw: impl FnOnce(Known<'_>) -> T) -> T {
    let name = names(found.manner.words);
    draw(Known {
        specification: &found.sheet.specification,
        findings: &found.sheet.findings,
        verdict: found.verdict,
        unit: found.sheet.unit,
        name: &name,
    })
}

/// The sizes of a set with those that wait for another look.
///
/// None where a crack or heat stops the work: beside a stop no size is shown to choose from.
pub(crate) fn size_axis(found: &Found<'_>, set: SetName) -> Option<SizeAxis> {
    if found.is_stopped() {
        return None;
    }
    let axis = with_known(found, |known| known.size_axis(set, &found.manner.words.set_within(set)))?;
    Some(SizeAxis { waiting_mm: in_doubt(found, set), ..axis })
}

/// Sizes that wait for another look, as they were typed.
fn in_doubt(found: &Found<'_>, set: SetName) -> Vec<f64> {
    let rows = found.job.rows.iter().filter(|row| {
        let waits = matches!(row.standing, Standing::LookAgain | Standing::ThirdWanted);
        waits && row.key == "reading" && journal_of(&row.row).is_some_and(|journal| journal.set == set)
    });
    rows.filter_map(|row| row.row.get("size").and_then(shop::Value::as_typed))
        .filter_map(|typed| units::read(typed, found.sheet.unit).ok())
        .map(|entry| entry.mm)
        .collect()
}

/// The ladder of a set, every rung of it, in the shop's words; `walk` says whether it is complete. None beside a crack or
/// heat.
pub(crate) fn ladder(found: &Found<'_>, set: SetName, walk: &[Spot]) -> Option<Drawing> {
    if found.is_stopped() {
        return None;
    }
    let words = found.manner.words;
    let so_far = !Tally::of(found.job, walk, set).is_complete();
    let sketch = with_known(found, |known| known.ladder(set, &words.set(set), so_far, &found.sheet.policy))?;
    let put = |rung: paper::Rung| paper::Rung { reason: words.put(&rung.reason), ..rung };
    let rungs = sketch.rungs.into_iter().map(put).collect();
    Some(LadderSketch { rungs, ..sketch }.draw(LadderSketch::USUAL_MM))
}

/// The crank as the job has it now; nothing where its book cannot be used.
pub(crate) fn crank(held: &JobCard, walk: &[Spot], words: Words, judged: Option<&Judged>) -> Option<Drawn> {
    let book = held.book.as_ref().ok()?;
    let verdict = judged.and_then(|judged| judged.answer.as_ref().ok()).map(|(_, verdict)| verdict);
    let mark = |id: JournalId| {
        let now = known(held, walk, id, judged);
        let condition = verdict.and_then(|v| v.journals.iter().find(|j| j.condition.journal == id));
        let set = verdict.and_then(|v| v.sets.iter().find(|set| set.set == id.set));
        JournalMark {
            name: words.journal(id),
            standing: now.standing,
            words: now.words.replace("◇ ", "◇\u{a0}"),
            decides: now.decides,
            stamped: stamped(held, id).map_or_else(String::new, |figure| format!("stamped\u{a0}{figure}")),
            undersize_mm: set.map_or(0.0, |set| set.ground_to.undersize_mm),
            wear_mm: condition.map_or(0.0, |journal| journal.condition.wear_mm),
            ..JournalMark::plain(id)
        }
    };
    let sketch = CrankSketch {
        specification: book,
        unit: held.unit(),
        width_mm: CrankSketch::USUAL_MM,
        journals: book.journals().map(mark).collect(),
        stamps: set_stamps(held, words),
    };
    Some(sketch.draw())
}

/// Stamps stand on the drawing as they were typed, before there is a reading to judge them by.
fn stamps(held: &JobCard) -> impl Iterator<Item = &shop::Value> {
    held.job.document.get("stamped").map(shop::Value::items).unwrap_or_default().iter()
}

/// What one journal alone is stamped.
fn stamped(held: &JobCard, id: JournalId) -> Option<&str> {
    let own = stamps(held).find(|row| journal_of(row) == Some(id))?;
    own.get("undersize").and_then(shop::Value::as_typed)
}

/// What each set is stamped, a sentence each.
pub(crate) fn set_stamps(held: &JobCard, words: Words) -> Vec<String> {
    let unit = held.unit();
    let of_set = |set: SetName| {
        let row = stamps(held).find(|row| row.words("set") == Some(set.word()))?;
        let typed = row.get("undersize").and_then(shop::Value::as_typed)?;
        let undersize = units::read(typed, unit).ok()?;
        let says = if undersize.mm > 0.0 { regrind::words::under(undersize.mm, unit) } else { "standard".to_owned() };
        Some(format!("{} stamped {says}.", words.set(set)))
    };
    SetName::BOTH.into_iter().filter_map(of_set).collect()
}

/// Sizes before and after, set by set, where the final check has begun.
pub(crate) fn before_after(held: &JobCard, shop: &Shop, words: Words) -> Vec<Drawn> {
    let job = &held.job;
    let (Ok(aims), Ok(book)) = (Aims::of(held), held.book.as_ref()) else { return Vec::new() };
    if job.final_readings.is_empty() {
        return Vec::new();
    }
    let checked = spots(&held.entries, job, &aims, &Walk::of_job(shop, job).spots(book));
    let of_set = |aim: &job::aims::SetAim| {
        let change = |number: usize| {
            let journal = JournalId { set: aim.set, number };
            let before = crank::condition(&aims.sheet.specification, &aims.sheet.findings, journal, 0.0);
            Change {
                name: words.journal(journal),
                before_mm: before.map(|found| (found.smallest_mm, found.largest_mm)),
                after_mm: finished(job, &aims, &checked, journal).map(|now| (now.low_mm, now.high_mm)),
            }
        };
        let journals: Vec<Change> = (1..=aims.sheet.specification.set(aim.set).count()).map(change).collect();
        BeforeAfter {
            name: words.set(aim.set),
            unit: aims.unit(),
            limits_mm: Some((aim.limits.low_mm, aim.limits.high_mm)),
            journals,
        }
        .draw(BeforeAfter::USUAL_MM)
    };
    aims.sets.iter().map(of_set).collect()
}
