//! What a job's readings say: its sheet as read, and the verdict on it.

use crank::SetName;
use fit::Fit;
use regrind::{Choice, SetVerdict, Verdict};
use sheet::{Library, Problem, Sheet};
use shop::Job;

use crate::nouns::choice_of;

/// A sheet in the record stands for itself and names no files.
#[derive(Debug)]
pub struct NoFiles;

impl Library for NoFiles {
    fn text(&self, _: &str) -> Result<String, String> {
        Err("a job in the record holds its specification itself".to_owned())
    }
}

/// A verdict and the state of the job it is about.
#[derive(Debug)]
pub struct Judged {
    /// The place of the last entry that it knows of.
    pub seq: i64,
    /// Readings that count in it.
    pub readings: usize,
    /// The sheet as read, and what came of it.
    pub answer: Result<(Sheet, Verdict), Vec<Problem>>,
    /// What it means for the bearings, with each set as it was decided; nothing where there is no answer.
    pub fit: Option<Fit>,
}

/// Whether a row of the sheet counts.
pub fn counts(row: &shop::SheetRow) -> bool {
    row.standing == shop::Standing::Counts
}

/// How many draws judging a job takes.
pub fn draws_of(job: &Job) -> usize {
    let told = job.document.get("policy").and_then(|policy| policy.get("draws")).and_then(shop::Value::as_typed);
    told.and_then(|draws| draws.parse().ok()).unwrap_or(20_000)
}

/// Reads the sheet of a job and judges it; `progress` hears of every draw that is done.
pub fn judge(job: &Job, progress: &(dyn Fn(usize) + Sync)) -> Judged {
    judge_read(job, read(job), progress)
}

/// Judges a job whose sheet is read.
pub(crate) fn judge_read(job: &Job, sheet: Result<Sheet, Vec<Problem>>, progress: &(dyn Fn(usize) + Sync)) -> Judged {
    let readings = job.rows.iter().filter(|row| row.key == "reading" && counts(row)).count();
    let answer = sheet.and_then(|sheet| {
        match regrind::assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &progress) {
            Ok(verdict) => Ok((sheet, verdict)),
            Err(failure) => Err(vec![Problem {
                file: format!("job {}", job.number),
                line: None,
                key: "verdict".to_owned(),
                found: failure.to_string(),
                expected: "an answer".to_owned(),
                advice: "this is a fault of the program, not of the readings".to_owned(),
            }]),
        }
    });
    let fit = answer
        .as_ref()
        .ok()
        .map(|(sheet, verdict)| fit::fit(&sheet.engine(), Some(&as_decided(job, sheet, verdict)), &sheet.policy));
    Judged { seq: job.seq, readings, answer, fit }
}

/// The verdict with each set's choice as somebody decided it, where somebody did.
pub fn as_decided(job: &Job, sheet: &Sheet, verdict: &Verdict) -> Verdict {
    let mut verdict = verdict.clone();
    for set in &mut verdict.sets {
        let decided = job.decisions.iter().find(|decided| decided.set == set.set.word());
        if let Some(choice) = decided.and_then(|decided| choice_of(&decided.choice, sheet.unit)) {
            set.choice = on_the_ladder(choice, set);
            set.to_size = set.to_size.filter(|_| choice == Choice::PolishOnly);
            // Whoever decided has answered what was open; a sheet without a record is decided by nobody.
            if choice != Choice::NotDecided {
                set.undecided = None;
            }
        }
    }
    verdict
}

/// What the bearings of a job say with each set as it was decided, without a verdict: a set that nobody decided is looked
/// at as it is.
pub fn fit_as_decided(job: &Job, sheet: &Sheet) -> Fit {
    let set = |decided: &shop::Decided| {
        let set = SetName::BOTH.into_iter().find(|set| set.word() == decided.set)?;
        let ground_to = crank::last_ground_to(&sheet.specification, &sheet.findings, set);
        Some(SetVerdict::decided(set, ground_to, choice_of(&decided.choice, sheet.unit)?))
    };
    let decided = Verdict::of_sets(job.decisions.iter().filter_map(set).collect());
    fit::fit(&sheet.engine(), Some(&decided), &sheet.policy)
}

/// An undersize that was typed as the ladder itself has it: the two differ in the last bit where inches do not come out
/// even, and everything that looks a step up must find it.
fn on_the_ladder(choice: Choice, set: &SetVerdict) -> Choice {
    const SAME_MM: f64 = 1e-6;
    let Choice::Grind { undersize_mm } = choice else { return choice };
    let step = set.steps.iter().find(|step| (step.undersize_mm - undersize_mm).abs() < SAME_MM);
    step.map_or(choice, |step| Choice::Grind { undersize_mm: step.undersize_mm })
}

/// The sheet of a job as the reader of sheets has it.
pub fn read(job: &Job) -> Result<Sheet, Vec<Problem>> {
    tracing::trace!(target: "job::read", job = job.number);
    sheet::read_sheet(&format!("job {}", job.number), &job.sheet_json(), &NoFiles)
}
