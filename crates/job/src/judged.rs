//! What a job's readings say: its sheet as read, and the verdict on it.

use std::time::{Duration, Instant};

use crank::SetName;
use fit::Fit;
use regrind::{Choice, Failure, Note, SetVerdict, Verdict};
use sheet::{Library, Problem, Sheet};
use shop::Job;

use crate::nouns::choice_on;

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

/// The draws of a verdict that asks for no other number; the time of more is reckoned from it.
pub const USUAL_DRAWS: usize = 20_000;

/// How many draws judging a job takes.
pub fn draws_of(job: &Job) -> usize {
    let told = job.document.get("policy").and_then(|policy| policy.get("draws")).and_then(shop::Value::as_typed);
    told.and_then(|draws| draws.parse().ok()).unwrap_or(USUAL_DRAWS)
}

/// Reads the sheet of a job and judges it; `progress` hears of every draw that is done.
pub fn judge(job: &Job, progress: &(dyn Fn(usize) + Sync)) -> Judged {
    judge_read(job, read(job), progress)
}

/// What the draws of a verdict may take where others wait: with more the sheet's policy asks for, the verdict rests on as many as
/// there is time for. On the command line nobody waits but who asked, and all are made.
const MOST_WORK: Duration = Duration::from_secs(20);

/// Judges a sheet by no more draws than can be made in `time`, and says where that is fewer than were asked for.
fn in_time(mut sheet: Sheet, time: Duration, progress: &(dyn Fn(usize) + Sync)) -> Result<(Sheet, Verdict), Failure> {
    let asked = sheet.policy.draws;
    let judge =
        |sheet: &Sheet| regrind::assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, progress);
    if asked <= USUAL_DRAWS {
        return judge(&sheet).map(|verdict| (sheet, verdict));
    }
    let begun = Instant::now();
    sheet.policy.draws = USUAL_DRAWS;
    let first = judge(&sheet)?;
    let most = draws_in(time, begun.elapsed());
    if most > USUAL_DRAWS {
        sheet.policy.draws = asked.min(most);
    }
    let mut verdict = if sheet.policy.draws > USUAL_DRAWS { judge(&sheet)? } else { first };
    if sheet.policy.draws < asked {
        verdict.notes.push(Note {
            kind: "fewer draws",
            journal: None,
            says: format!(
                "{asked} simulated cranks were asked for; the chances rest on {}, as many as fit into {} seconds while others wait. \
                 Export the sheet and assess it on the command line for all of them.",
                sheet.policy.draws,
                time.as_secs()
            ),
        });
    }
    Ok((sheet, verdict))
}

/// How many draws fit into `time` where the usual number took so long; a round number, so that two looks rarely differ.
fn draws_in(time: Duration, usual: Duration) -> usize {
    let times = time.as_secs_f64() / usual.as_secs_f64().max(1e-6);
    let most = (times * USUAL_DRAWS as f64) as usize;
    let magnitude = 10_usize.pow(most.max(1).ilog10());
    most / magnitude * magnitude
}

/// Judges a job whose sheet is read.
pub(crate) fn judge_read(job: &Job, sheet: Result<Sheet, Vec<Problem>>, progress: &(dyn Fn(usize) + Sync)) -> Judged {
    let readings = job.rows.iter().filter(|row| row.key == "reading" && counts(row)).count();
    let answer = sheet.and_then(|sheet| match in_time(sheet, MOST_WORK, progress) {
        Ok(answer) => Ok(answer),
        Err(failure) => Err(vec![Problem {
            file: format!("job {}", job.number),
            line: None,
            key: "verdict".to_owned(),
            found: failure.to_string(),
            expected: "an answer".to_owned(),
            advice: "this is a fault of the program, not of the readings".to_owned(),
        }]),
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
        let ladder_mm: Vec<f64> = set.steps.iter().map(|step| step.undersize_mm).collect();
        if let Some(choice) = decided.and_then(|decided| choice_on(&decided.choice, sheet.unit, &ladder_mm)) {
            set.choice = choice;
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
        let ladder_mm = sheet.specification.set(set).ladder_mm();
        Some(SetVerdict::decided(set, ground_to, choice_on(&decided.choice, sheet.unit, &ladder_mm)?))
    };
    let decided = Verdict::of_sets(job.decisions.iter().filter_map(set).collect());
    fit::fit(&sheet.engine(), Some(&decided), &sheet.policy)
}

/// The sheet of a job as the reader of sheets has it.
pub fn read(job: &Job) -> Result<Sheet, Vec<Problem>> {
    tracing::trace!(target: "job::read", job = job.number);
    sheet::read_sheet(&format!("job {}", job.number), &job.sheet_json(), &NoFiles)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHEET: &str = r#"
sheet = 1
units = "in"
specification = { specification = 1, name = "Wren, a test", units = "in", throw = 1.25, main = { positions = [0, 4], length = 1.2, size = [1.4990, 1.5000], undersizes = [0.010, 0.020] }, pin = { positions = [2], angles = [0], length = 1.1, size = [1.2490, 1.2500], undersizes = [0.010, 0.020] } }
reading = [ { journal = "main 1", at = "middle", plane = 0, size = 1.4981 }, { journal = "main 1", at = "middle", plane = 90, size = 1.4983 } ]
[policy]
draws = 25000
"#;

    fn sheet() -> Sheet {
        sheet::read_sheet("a test", SHEET, &NoFiles).expect("a sheet")
    }

    #[test]
    fn draws_that_take_too_long_are_left_out_and_it_is_said() {
        let none = |_: usize| ();
        let (all, verdict) = in_time(sheet(), Duration::from_secs(100_000), &none).expect("a verdict");
        assert_eq!(all.policy.draws, 25_000, "there is time for all of them");
        assert!(verdict.notes.iter().all(|note| note.kind != "fewer draws"));
        let (fewer, verdict) = in_time(sheet(), Duration::ZERO, &none).expect("a verdict");
        assert_eq!(fewer.policy.draws, USUAL_DRAWS, "never fewer than usual");
        assert_eq!(verdict.sets[0].steps[0].chance.draws, USUAL_DRAWS);
        let note = verdict.notes.iter().find(|note| note.kind == "fewer draws").expect("a note");
        assert!(
            note.says.starts_with("25000 simulated cranks were asked for; the chances rest on 20000,"),
            "{}",
            note.says
        );
        let mut usual = sheet();
        usual.policy.draws = 500;
        let (usual, verdict) = in_time(usual, Duration::ZERO, &none).expect("a verdict");
        assert_eq!((usual.policy.draws, verdict.sets[0].steps[0].chance.draws), (500, 500));
    }

    #[test]
    fn what_fits_into_a_time_is_a_round_number() {
        let usual = Duration::from_millis(100);
        assert_eq!(draws_in(Duration::from_secs(20), usual), 4_000_000);
        assert_eq!(draws_in(Duration::from_millis(550), usual), 100_000);
        assert_eq!(draws_in(Duration::from_millis(50), usual), 10_000);
        assert_eq!(draws_in(Duration::ZERO, usual), 0);
    }
}
