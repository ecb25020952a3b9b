//! The verdict on a job, worked out once for each state of its log, in the background where it takes long.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use crank::SetName;
use fit::Fit;
use regrind::{Choice, SetVerdict, Shape, Verdict};
use sheet::{Library, Problem, Sheet};
use shop::{Job, JobNumber};
use tokio::sync::{Notify, Semaphore};

use crate::plan_sheet::choice_of;

/// Verdicts kept at hand.
const AT_HAND: usize = 50;
/// Verdicts worked out at the same time; each uses all processors by itself.
const AT_ONCE: usize = 2;
/// What a page waits for a verdict before it shows the old one instead.
pub(crate) const PATIENCE: Duration = Duration::from_millis(400);

/// A sheet in the record stands for itself and names no files.
#[derive(Debug)]
pub(crate) struct NoFiles;

impl Library for NoFiles {
    fn text(&self, _: &str) -> Result<String, String> {
        Err("a job in the record holds its specification itself".to_owned())
    }
}

/// A verdict and the state of the job it is about.
#[derive(Debug)]
pub(crate) struct Judged {
    /// The place of the last entry that it knows of.
    pub(crate) seq: i64,
    /// Readings that count in it.
    pub(crate) readings: usize,
    /// The sheet as read, and what came of it.
    pub(crate) answer: Result<(Sheet, Verdict), Vec<Problem>>,
    /// What it means for the bearings, with each set as it was decided; nothing where there is no answer.
    pub(crate) fit: Option<Fit>,
}

/// What there is to show now.
#[derive(Clone, Debug)]
pub(crate) enum Judgement {
    /// Nothing is measured yet.
    NothingYet,
    /// It is worked out.
    Ready(Arc<Judged>),
    /// It is being worked out.
    Working {
        /// The share that is done, in 100.
        done: usize,
        /// The latest there is, which does not know of everything.
        old: Option<Arc<Judged>>,
    },
}

impl Judgement {
    /// The verdict that knows of everything, if there is one.
    pub(crate) fn into_new(self) -> Option<Arc<Judged>> {
        match self {
            Judgement::Ready(judged) => Some(judged),
            Judgement::NothingYet | Judgement::Working { .. } => None,
        }
    }

    /// The latest verdict there is, with whether it knows of everything.
    pub(crate) fn latest(&self) -> Option<(&Judged, bool)> {
        match self {
            Judgement::NothingYet => None,
            Judgement::Ready(judged) => Some((judged, true)),
            Judgement::Working { old, .. } => old.as_deref().map(|judged| (judged, false)),
        }
    }
}

#[derive(Debug, Default)]
struct Slot {
    latest: Option<Arc<Judged>>,
    running: Option<Running>,
}

#[derive(Clone, Debug)]
struct Running {
    drawn: Arc<AtomicUsize>,
    draws: usize,
}

/// All verdicts at hand, and those being worked out.
#[derive(Clone, Debug)]
pub(crate) struct Judges {
    slots: Arc<Mutex<HashMap<JobNumber, Slot>>>,
    news: Arc<Notify>,
    turns: Arc<Semaphore>,
}

impl Default for Judges {
    fn default() -> Judges {
        Judges { slots: Arc::default(), news: Arc::default(), turns: Arc::new(Semaphore::new(AT_ONCE)) }
    }
}

impl Judges {
    /// The verdict on a job as it stands; waits for it no longer than `patience`.
    pub(crate) async fn judge(&self, job: &Job, patience: Duration) -> Judgement {
        let measured = job.rows.iter().any(|row| matches!(row.key, "reading" | "trace") && counts(row));
        if !measured {
            return Judgement::NothingYet;
        }
        let deadline = Instant::now() + patience;
        loop {
            // Asked for before looking, so that news in between is not missed.
            let news = self.news.notified();
            match self.look_or_start(job) {
                Judgement::Working { done, old } => {
                    let left = deadline.saturating_duration_since(Instant::now());
                    if left.is_zero() || tokio::time::timeout(left, news).await.is_err() {
                        return Judgement::Working { done, old };
                    }
                }
                settled => return settled,
            }
        }
    }

    fn look_or_start(&self, job: &Job) -> Judgement {
        let mut slots = self.lock();
        if slots.len() >= AT_HAND && !slots.contains_key(&job.number) {
            slots.retain(|_, slot| slot.running.is_some());
        }
        let slot = slots.entry(job.number).or_default();
        if let Some(judged) = slot.latest.as_ref().filter(|judged| judged.seq >= job.seq) {
            return Judgement::Ready(Arc::clone(judged));
        }
        let old = slot.latest.clone();
        if let Some(running) = &slot.running {
            let drawn = running.drawn.load(Ordering::Relaxed);
            return Judgement::Working { done: (100 * drawn / running.draws.max(1)).min(99), old };
        }
        let running = Running { drawn: Arc::default(), draws: draws_of(job) };
        slot.running = Some(running.clone());
        drop(slots);
        self.start(job.clone(), running);
        Judgement::Working { done: 0, old }
    }

    fn start(&self, job: Job, running: Running) {
        let judges = self.clone();
        tokio::spawn(async move {
            // The semaphore is never closed.
            let turn = judges.turns.clone().acquire_owned().await;
            let number = job.number;
            let judged = tokio::task::spawn_blocking(move || judge(&job, &running)).await;
            drop(turn);
            {
                let mut slots = judges.lock();
                let slot = slots.entry(number).or_default();
                slot.running = None;
                // Where the work itself broke, the next to ask starts it anew.
                if let Ok(judged) = judged {
                    slot.latest = Some(Arc::new(judged));
                }
            }
            judges.news.notify_waiters();
        });
    }

    fn lock(&self) -> MutexGuard<'_, HashMap<JobNumber, Slot>> {
        // A panic while it was held leaves whole slots behind.
        self.slots.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

pub(crate) fn counts(row: &shop::SheetRow) -> bool {
    row.standing == shop::Standing::Counts
}

fn draws_of(job: &Job) -> usize {
    let told = job.document.get("policy").and_then(|policy| policy.get("draws")).and_then(shop::Value::as_typed);
    told.and_then(|draws| draws.parse().ok()).unwrap_or(20_000)
}

/// Judges a job on the spot.
pub(crate) fn judge_now(job: &Job) -> Judged {
    judge(job, &Running { drawn: Arc::default(), draws: draws_of(job) })
}

/// Reads the sheet of a job and judges it.
fn judge(job: &Job, running: &Running) -> Judged {
    let readings = job.rows.iter().filter(|row| row.key == "reading" && counts(row)).count();
    let answer = read(job).and_then(|sheet| {
        let progress = |draws: usize| {
            running.drawn.fetch_add(draws, Ordering::Relaxed);
        };
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
pub(crate) fn as_decided(job: &Job, sheet: &Sheet, verdict: &Verdict) -> Verdict {
    let mut verdict = verdict.clone();
    for set in &mut verdict.sets {
        let decided = job.decisions.iter().find(|decided| decided.set == set.set.word());
        if let Some(choice) = decided.and_then(|decided| choice_of(&decided.choice, sheet.unit)) {
            set.choice = on_the_ladder(choice, set);
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
pub(crate) fn fit_as_decided(job: &Job, sheet: &Sheet) -> Fit {
    let set = |decided: &shop::Decided| {
        let set = SetName::BOTH.into_iter().find(|set| set.word() == decided.set)?;
        let ground_to = crank::last_ground_to(&sheet.specification, &sheet.findings, set);
        Some(SetVerdict::decided(set, ground_to, choice_of(&decided.choice, sheet.unit)?))
    };
    let decided = Verdict {
        journals: Vec::new(),
        sets: job.decisions.iter().filter_map(set).collect(),
        pairs: Vec::new(),
        chosen_pair: None,
        plans: Vec::new(),
        polish: Vec::new(),
        notes: Vec::new(),
        shape: Shape::DiametersOnly,
        look_again: false,
    };
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
pub(crate) fn read(job: &Job) -> Result<Sheet, Vec<Problem>> {
    sheet::read_sheet(&format!("job {}", job.number), &job.sheet_json(), &NoFiles)
}
