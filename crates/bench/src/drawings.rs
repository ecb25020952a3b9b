//! The drawings of a job, from its record and its latest verdict.

use crank::{JournalId, SetName};
use paper::{
    BeforeAfter, Change, CrankSketch, Drawing, Drawn, JournalMark, Known, LadderSketch, RungChance, SizeAxis, SvgSize,
};
use regrind::SetVerdict;
use shop::{Shop, Standing};

use crate::aims::Aims;
use crate::checked::{finished_mm, spots};
use crate::desk::Held;
use crate::judged::Judged;
use crate::ladder::{Found, Ladder, plural};
use crate::march::{Spot, Walk};
use crate::standing::known;
use crate::wording::PinWord;

/// The size axis of a set in two widths, of which the page shows the one that it has room for.
#[derive(Clone, Debug)]
pub(crate) struct AxisFigure {
    pub(crate) wide: String,
    pub(crate) narrow: String,
}

impl AxisFigure {
    /// As wide as a panel of the verdict is where two stand beside each other.
    const WIDE_MM: f64 = 81.0;

    /// The drawing of one set; nothing where no size of it counts.
    pub(crate) fn of(found: &Found<'_>, set: &SetVerdict) -> Option<AxisFigure> {
        let axis = size_axis(found, set.set)?;
        let svg = |width_mm: f64, name: &str| {
            axis.draw(width_mm).drawing.to_svg(&format!("axis-{}-{name}", set.set), SvgSize::Page)
        };
        Some(AxisFigure { wide: svg(Self::WIDE_MM, "wide"), narrow: svg(SizeAxis::NARROW_MM, "narrow") })
    }
}

fn names(words: PinWord) -> impl Fn(JournalId) -> String {
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
pub(crate) fn size_axis(found: &Found<'_>, set: SetName) -> Option<SizeAxis> {
    let axis = with_known(found, |known| known.size_axis(set, &plural(found.manner.words, set)))?;
    Some(SizeAxis { waiting_mm: in_doubt(found, set), ..axis })
}

/// Sizes that wait for another look, as they were typed.
fn in_doubt(found: &Found<'_>, set: SetName) -> Vec<f64> {
    let prefix = format!("{set} ");
    let rows = found.job.rows.iter().filter(|row| {
        let waits = matches!(row.standing, Standing::LookAgain | Standing::ThirdWanted);
        waits && row.key == "reading" && row.row.words("journal").is_some_and(|name| name.starts_with(&prefix))
    });
    rows.filter_map(|row| row.row.get("size").and_then(shop::Value::as_typed))
        .filter_map(|typed| units::read(typed, found.sheet.unit).ok())
        .map(|entry| entry.mm)
        .collect()
}

/// The ladder of a set, every rung of it.
pub(crate) fn ladder(ladder: &Ladder) -> Drawing {
    let rungs = ladder.rungs.iter().chain(&ladder.deeper).map(|rung| paper::Rung {
        name: rung.name.clone(),
        range: rung.range.clone(),
        chance: rung.chance.as_ref().map(|chance| RungChance {
            words: chance.words.to_owned(),
            figure: chance.figure.clone(),
            dots: chance.dots,
        }),
        reason: rung.reason.clone(),
        chosen: rung.chosen.then(|| if rung.is_size { "Grind to this" } else { "This" }.to_owned()),
        rule_above: rung.rule_above,
    });
    LadderSketch { heading: ladder.heading.clone(), rungs: rungs.collect(), rule: ladder.rule.clone() }
        .draw(LadderSketch::USUAL_MM)
}

/// The crank as the job has it now; nothing where its book cannot be used.
pub(crate) fn crank(held: &Held, walk: &[Spot], words: PinWord, judged: Option<&Judged>) -> Option<Drawn> {
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
    };
    Some(sketch.draw())
}

/// Sizes before and after, set by set, where the final check has begun.
pub(crate) fn before_after(held: &Held, shop: &Shop, words: PinWord) -> Vec<Drawn> {
    let job = &held.job;
    let (Ok(aims), Ok(book)) = (Aims::of(job), held.book.as_ref()) else { return Vec::new() };
    if job.final_readings.is_empty() {
        return Vec::new();
    }
    let checked = spots(&held.entries, job, &aims, &Walk::of_job(shop, job).spots(book));
    let of_set = |aim: &crate::aims::SetAim| {
        let change = |number: usize| {
            let journal = JournalId { set: aim.set, number };
            let before = crank::condition(&aims.sheet.specification, &aims.sheet.findings, journal, 0.0);
            Change {
                name: words.journal(journal),
                before_mm: before.map(|found| (found.smallest_mm, found.largest_mm)),
                after_mm: finished_mm(job, &aims, &checked, journal),
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
