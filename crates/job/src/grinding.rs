//! Grinding: which journals are ground, what a reading taken there says, and what is measured next.

use crank::JournalId;
use regrind::{Stage, Stands};
use shop::{CheckRow, Job, Row, Shop, Value};

use crate::aims::{Aims, SetAim, stage_words};
use crate::nouns::journal_of;

/// The journals that are ground to a size.
pub fn ground_journals(aims: &Aims) -> Vec<JournalId> {
    let is_ground =
        |journal: &JournalId| aims.set(journal.set).is_some_and(|aim| !working_stages(aims, aim).is_empty());
    aims.sheet.specification.journals().filter(is_ground).collect()
}

/// The stages at which the grinder measures. Where the crank is treated afterwards, finished is for the final check.
pub fn working_stages(aims: &Aims, aim: &SetAim) -> Vec<Stage> {
    let treated = aims.sheet.specification.treatment.after_grinding;
    aim.stages.iter().map(|stage| stage.stage).filter(|stage| !treated || *stage != Stage::Finished).collect()
}

fn stages_of(aims: &Aims, journal: JournalId) -> Vec<Stage> {
    aims.set(journal.set).map(|aim| working_stages(aims, aim)).unwrap_or_default()
}

/// What a reading taken while grinding says.
#[derive(Clone, Debug, PartialEq)]
pub struct GroundReading {
    /// Of which journal.
    pub journal: JournalId,
    /// At which stage.
    pub stage: Stage,
    /// What is left to come off, in words.
    pub says: String,
    /// Above, inside or under the window of the stage.
    pub stands: Stands,
    /// Whether the micrometer can tell.
    pub settled: bool,
}

impl GroundReading {
    /// What a row says; nothing where it is of no journal that is ground, or of no size.
    pub fn of(aims: &Aims, row: &CheckRow) -> Option<GroundReading> {
        let journal = journal_of(&row.row.row)?;
        let aim = aims.set(journal.set)?;
        let stage = row.row.row.words("stage").and_then(Stage::of_word).unwrap_or(Stage::Grind);
        let size = aim.stage(stage)?;
        let found = aims.found(&row.row.row, row.zero.as_deref())?;
        let (says, left) = aims.left(&found, size);
        let says = format!("{}. {says}", aims.as_found(&found));
        Some(GroundReading { journal, stage, says, stands: left.stands, settled: left.settled })
    }
}

/// Whether the latest reading of a journal at a stage, or at one after it, had no more to come off.
fn reached(job: &Job, aims: &Aims, journal: JournalId, stage: Stage) -> bool {
    let stages = stages_of(aims, journal);
    let from = stages.iter().position(|known| *known == stage).unwrap_or(stages.len());
    let later = stages.get(from..).unwrap_or_default();
    let said = job.ground.iter().rev().filter_map(|row| GroundReading::of(aims, row));
    // Once it is worked to a later stage, an earlier one is behind it.
    let mut of_journal = said.filter(|said| said.journal == journal).take(1);
    of_journal.any(|said| later.contains(&said.stage) && (said.stage != stage || said.stands != Stands::Above))
}

/// The journal and the stage to measure next; those that somebody asked for where they can be.
pub fn next(
    job: &Job,
    aims: &Aims,
    ground: &[JournalId],
    journal: Option<JournalId>,
    stage: Option<Stage>,
) -> Option<(JournalId, Stage)> {
    let last = job.ground.last().and_then(|row| GroundReading::of(aims, row));
    let chosen = journal.filter(|journal| ground.contains(journal));
    let open_stage = |journal: JournalId| {
        let stages = stages_of(aims, journal);
        let asked = stage.filter(|stage| stages.contains(stage));
        let set = || ground.iter().copied().filter(move |other| other.set == journal.set);
        let open = stages.iter().copied().find(|stage| set().any(|other| !reached(job, aims, other, *stage)));
        asked.or(open).or(stages.last().copied())
    };
    if let Some(journal) = chosen {
        return Some((journal, open_stage(journal)?));
    }
    // One that has more to come off stays in the machine.
    if let Some(last) = last.as_ref().filter(|last| last.stands == Stands::Above) {
        return Some((last.journal, last.stage));
    }
    let after = last.and_then(|last| ground.iter().position(|other| *other == last.journal)).map_or(0, |at| at + 1);
    let (before, rest) = ground.split_at(after.min(ground.len()));
    let open = |journal: &&JournalId| {
        let stages = stages_of(aims, **journal);
        open_stage(**journal).is_some_and(|stage| stages.contains(&stage) && !reached(job, aims, **journal, stage))
    };
    let journal = rest.iter().chain(before).find(open).or(ground.first()).copied()?;
    Some((journal, open_stage(journal)?))
}

/// The row of a reading taken while grinding, as it was keyed.
///
/// # Errors
/// Why it is none, in a sentence or two.
pub fn keyed(
    aims: &Aims,
    shop: &Shop,
    typed: &str,
    with: &str,
    journal: Option<JournalId>,
    stage: Option<Stage>,
) -> Result<Row, String> {
    let Some((journal, stage)) = journal.zip(stage) else {
        return Err("Choose a journal that is ground, and a stage of the sheet.".to_owned());
    };
    if aims.set(journal.set).and_then(|aim| aim.stage(stage)).is_none() {
        return Err(format!("The sheet has no {} size for this journal. Choose another stage.", stage_words(stage)));
    }
    let mut row = aims.keyed(shop, typed, with, journal)?;
    row.row.set("stage", Value::from(stage.word()));
    Ok(row)
}
