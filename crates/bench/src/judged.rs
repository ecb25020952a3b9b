//! The verdict on a job, worked out once for each state of its log, in the background where it takes long.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use job::JobCard;
use job::card::ToJudge;
use job::judged::USUAL_DRAWS;
pub(crate) use job::judged::{Judged, as_decided, counts, draws_of, fit_as_decided};
use shop::JobNumber;
use tokio::sync::{Notify, OwnedSemaphorePermit, Semaphore};

/// Verdicts kept at hand.
const AT_HAND: usize = 50;
/// Verdicts worked out at the same time; each uses all processors by itself.
const AT_ONCE: usize = 2;
/// Of these, what may rest on more draws than a shop usually asks for, so that whoever asks for many holds up nobody but
/// those who do the same.
const LONG_AT_ONCE: usize = 1;
/// A verdict whose turn comes when nobody has asked for it for so long is not worked out: whoever asks next begins it.
const FORGOTTEN: Duration = Duration::from_secs(30);
/// Requests that may wait for verdicts at the same time. More are told at once that it is being worked out.
const MOST_WAITING: usize = 48;
/// What a page waits for a verdict before it shows the old one instead.
pub(crate) const PATIENCE: Duration = Duration::from_millis(400);

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
    /// When it was last asked for.
    asked: Instant,
}

impl Running {
    fn judge(&self, what: &ToJudge) -> Judged {
        what.judge(&|draws| {
            self.drawn.fetch_add(draws, Ordering::Relaxed);
        })
    }
}

/// All verdicts at hand, and those being worked out.
#[derive(Clone, Debug)]
pub(crate) struct Judges {
    slots: Arc<Mutex<HashMap<JobNumber, Slot>>>,
    news: Arc<Notify>,
    turns: Arc<Semaphore>,
    long_turns: Arc<Semaphore>,
    waiting: Arc<Semaphore>,
}

impl Default for Judges {
    fn default() -> Judges {
        Judges {
            slots: Arc::default(),
            news: Arc::default(),
            turns: Arc::new(Semaphore::new(AT_ONCE)),
            long_turns: Arc::new(Semaphore::new(LONG_AT_ONCE)),
            waiting: Arc::new(Semaphore::new(MOST_WAITING)),
        }
    }
}

impl Judges {
    /// The verdict on a job as it stands; waits for it no longer than `patience`.
    pub(crate) async fn judge(&self, card: &JobCard, patience: Duration) -> Judgement {
        let job = &card.job;
        let measured = job.rows.iter().any(|row| matches!(row.key, "reading" | "trace") && counts(row));
        if !measured {
            return Judgement::NothingYet;
        }
        let waits = self.waiting.try_acquire().ok();
        let patience = if waits.is_some() { patience } else { Duration::ZERO };
        let deadline = Instant::now() + patience;
        loop {
            // Asked for before looking, so that news in between is not missed.
            let news = self.news.notified();
            match self.look_or_start(card) {
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

    fn look_or_start(&self, card: &JobCard) -> Judgement {
        let job = &card.job;
        let mut slots = self.lock();
        if slots.len() >= AT_HAND && !slots.contains_key(&job.number) {
            slots.retain(|_, slot| slot.running.is_some());
        }
        let slot = slots.entry(job.number).or_default();
        if let Some(judged) = slot.latest.as_ref().filter(|judged| judged.seq >= job.seq) {
            return Judgement::Ready(Arc::clone(judged));
        }
        let old = slot.latest.clone();
        if let Some(running) = &mut slot.running {
            running.asked = Instant::now();
            let drawn = running.drawn.load(Ordering::Relaxed);
            return Judgement::Working { done: (100 * drawn / running.draws.max(1)).min(99), old };
        }
        let running = Running { drawn: Arc::default(), draws: draws_of(job), asked: Instant::now() };
        slot.running = Some(running.clone());
        drop(slots);
        self.start(card.to_judge(), running);
        Judgement::Working { done: 0, old }
    }

    fn start(&self, what: ToJudge, running: Running) {
        let judges = self.clone();
        tokio::spawn(async move {
            let number = what.job.number;
            let turn = judges.turn(running.draws).await;
            if judges.forgot(number) {
                return;
            }
            let judged = tokio::task::spawn_blocking(move || running.judge(&what)).await;
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

    /// A verdict that nobody else asks for, worked out in its turn; nothing where that takes longer than `patience`.
    pub(crate) async fn judge_once(&self, what: ToJudge, patience: Duration) -> Option<Judged> {
        let judges = self.clone();
        let work = async move {
            let (turn, long) = judges.turn(draws_of(&what.job)).await;
            let judged = tokio::task::spawn_blocking(move || {
                let judged = what.judge(&|_| ());
                // Held until it is done, also where nobody waits any more.
                drop((turn, long));
                judged
            });
            judged.await.ok()
        };
        tokio::time::timeout(patience, work).await.ok().flatten()
    }

    /// A turn to work out a verdict of so many draws.
    async fn turn(&self, draws: usize) -> (Option<OwnedSemaphorePermit>, Option<OwnedSemaphorePermit>) {
        // First the turn among those that take long, so that none of them waits for it in the place of a usual one. The
        // semaphores are never closed.
        let long = match draws > USUAL_DRAWS {
            true => Arc::clone(&self.long_turns).acquire_owned().await.ok(),
            false => None,
        };
        (Arc::clone(&self.turns).acquire_owned().await.ok(), long)
    }

    /// Whether nobody has asked for a verdict for so long that it is not begun.
    fn forgot(&self, number: JobNumber) -> bool {
        let mut slots = self.lock();
        let forgotten = |running: &mut Running| running.asked.elapsed() >= FORGOTTEN;
        slots.get_mut(&number).is_some_and(|slot| slot.running.take_if(forgotten).is_some())
    }

    fn lock(&self) -> MutexGuard<'_, HashMap<JobNumber, Slot>> {
        // A panic while it was held leaves whole slots behind.
        self.slots.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
