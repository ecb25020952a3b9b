//! Turns at a job: each job writes one thing at a time, and the readings that wait for its turn are written together.
//!
//! What is on its way into a job is asked of that job as its writer saw it, so of many writers at once one would be taken and the
//! others would look again, as often as there are writers. Here they queue before they look. And as a job never has more than
//! one thing on the way to the disk, however many send to it, whoever writes to another job waits for one thing of it at most.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use job::JobCard;
use job::taking::ReadingIn;
use shop::JobNumber;
use tokio::sync::{OwnedMutexGuard, oneshot};

use crate::desk::Desk;
use crate::taking::{Taken, take_together};
use crate::trouble::Trouble;

/// Readings that are written together at most.
const MOST_TOGETHER: usize = 32;
/// Jobs whose turns are remembered; above that those are forgotten that nobody waits for.
const AT_HAND: usize = 200;

/// What came of a reading.
pub(crate) type Told = Result<Taken, Trouble>;

/// The turns of all jobs; cheap to clone.
#[derive(Clone, Debug, Default)]
pub(crate) struct Turns {
    jobs: Arc<Mutex<HashMap<JobNumber, Turn>>>,
}

#[derive(Debug, Default)]
struct Turn {
    /// Held while something is on its way to the disk.
    writes: Arc<tokio::sync::Mutex<()>>,
    /// Readings that wait.
    readings: Vec<Waiting>,
    /// Whether somebody is seeing to them.
    seen_to: bool,
}

#[derive(Debug)]
struct Waiting {
    reading: ReadingIn,
    told: oneshot::Sender<Told>,
}

impl Turns {
    /// The turn to write to a job, until it is dropped. Whoever asked first has it first.
    pub(crate) async fn of(&self, number: JobNumber) -> OwnedMutexGuard<()> {
        let writes = Arc::clone(&self.at(&mut self.lock(), number).writes);
        writes.lock_owned().await
    }

    /// Puts a reading in the queue; whether somebody must be sent to see to it.
    fn put(&self, number: JobNumber, waiting: Waiting) -> bool {
        let mut jobs = self.lock();
        let turn = self.at(&mut jobs, number);
        turn.readings.push(waiting);
        !std::mem::replace(&mut turn.seen_to, true)
    }

    /// The readings that wait, in the order they came; nothing when the queue is empty, and then nobody sees to it any more.
    fn next(&self, number: JobNumber) -> Vec<Waiting> {
        let mut jobs = self.lock();
        let turn = self.at(&mut jobs, number);
        let first: Vec<Waiting> = turn.readings.drain(..turn.readings.len().min(MOST_TOGETHER)).collect();
        turn.seen_to = !first.is_empty();
        first
    }

    fn at<'m>(&self, jobs: &'m mut HashMap<JobNumber, Turn>, number: JobNumber) -> &'m mut Turn {
        if jobs.len() >= AT_HAND && !jobs.contains_key(&number) {
            jobs.retain(|_, turn| turn.seen_to || Arc::strong_count(&turn.writes) > 1);
        }
        jobs.entry(number).or_default()
    }

    fn lock(&self) -> MutexGuard<'_, HashMap<JobNumber, Turn>> {
        // A panic while it was held leaves whole queues behind.
        self.jobs.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Takes a reading, together with those that wait for the same job.
///
/// # Errors
/// [`Trouble`]; nothing is written of this reading then.
pub(crate) async fn take_reading(desk: &Desk, number: JobNumber, reading: &ReadingIn) -> Told {
    let (told, answer) = oneshot::channel();
    if desk.turns.put(number, Waiting { reading: reading.clone(), told }) {
        // Not in the hands of whoever came first: that one may go away while others wait.
        tokio::spawn(see_to(desk.clone(), number));
    }
    answer.await.map_err(|_| Trouble::fault("nobody told what came of a reading"))?
}

/// Sees to all readings of a job until none waits.
async fn see_to(desk: Desk, number: JobNumber) {
    loop {
        let turn = desk.turns.of(number).await;
        let waiting = desk.turns.next(number);
        if waiting.is_empty() {
            return;
        }
        let (readings, told): (Vec<ReadingIn>, Vec<_>) = waiting.into_iter().map(|one| (one.reading, one.told)).unzip();
        let at_work = desk.clone();
        // Of its own, so that a fault in it ends neither the queue nor the answers to those who come later.
        let taken = tokio::spawn(async move { take_together(&at_work, number, &readings).await }).await;
        drop(turn);
        match taken {
            Ok(taken) => told.into_iter().zip(taken).for_each(|(told, taken)| drop(told.send(taken))),
            Err(fault) => {
                let trouble = Trouble::fault(fault);
                told.into_iter().for_each(|told| drop(told.send(Err(trouble.clone()))));
            }
        }
    }
}

/// A job as it stands with all readings that were taken so far, or as it was read.
#[derive(Debug)]
pub(crate) enum SoFar {
    /// As it was read.
    Read(Arc<JobCard>),
    /// With what is on its way.
    With(Box<JobCard>),
}

impl SoFar {
    /// The job.
    pub(crate) fn card(&self) -> &JobCard {
        match self {
            SoFar::Read(card) => card,
            SoFar::With(card) => card,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::path::PathBuf;

    use axum::http::StatusCode;
    use job::taking::Outcome;
    use shop::{BookedIn, Draft, EntryId, EntryKind, Source, Store, Value};

    use super::*;

    const BOOK: &str = "specification = 1\nname = \"Wren, a test\"\nunits = \"in\"\nthrow = 1.25\n[main]\ncount = 2\n\
        positions = [0, 4]\nlength = 1.2\nsize = [1.4990, 1.5000]\nundersizes = [0.010, 0.020]\n[pin]\ncount = 1\n\
        angles = [0]\npositions = [2]\nlength = 1.1\nsize = [1.2490, 1.2500]\nundersizes = [0.010, 0.020]\n";

    fn id() -> EntryId {
        shop::fresh_id().expect("random numbers")
    }

    fn reading(spot: &str, typed: &str) -> ReadingIn {
        ReadingIn {
            id: id(),
            who: "Pat".to_owned(),
            when: "2026-11-25T09:30:00Z".to_owned(),
            spot: spot.parse().expect("a spot"),
            typed: typed.to_owned(),
            source: Source::Typed,
            with: None,
            corrects: None,
        }
    }

    /// A folder that goes when the test ends.
    struct Folder(PathBuf);

    impl Drop for Folder {
        fn drop(&mut self) {
            let _ = std::fs::remove_dir_all(&self.0);
        }
    }

    async fn desk(name: &str) -> (Desk, JobNumber, Folder) {
        let folder: PathBuf = std::env::temp_dir().join(format!("gathering-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).expect("a folder");
        let store = Store::open(&folder.join("shop.tenunder").display().to_string()).await.expect("a record");
        let specification = Value::from_text(BOOK).expect("a sound specification");
        let booked = EntryKind::BookedIn(BookedIn {
            mark: "W-1".to_owned(),
            customer: "A. Miller".to_owned(),
            telephone: String::new(),
            crank: "Wren".to_owned(),
            promised: None,
            sheet: Value::table([("units", Value::from("in")), ("specification", specification)]),
            example: false,
        });
        let booked = Draft::new(id(), "Pat", "2026-11-25T09:30:00Z", booked);
        let job = store.book_in(&[booked]).await.expect("room on the disk").job;
        (Desk::new(store, Vec::new()), job, Folder(folder))
    }

    /// Sends readings while somebody else has the turn, and lets them go once all of them wait.
    async fn together(desk: &Desk, job: JobNumber, readings: Vec<ReadingIn>) -> Vec<Told> {
        let turn = desk.turns.of(job).await;
        let mut sent = Vec::new();
        for (n, reading) in readings.into_iter().enumerate() {
            let desk_of_one = desk.clone();
            sent.push(tokio::spawn(async move { take_reading(&desk_of_one, job, &reading).await }));
            while desk.turns.lock().get(&job).map_or(0, |turn| turn.readings.len()) <= n {
                tokio::task::yield_now().await;
            }
        }
        drop(turn);
        let mut told = Vec::new();
        for one in sent {
            told.push(one.await.expect("no panic"));
        }
        told
    }

    /// Eight at the bench press Enter at once, two of them the same form, one with no size: six readings go to the disk in one
    /// turn, the form sent twice is kept once, and what is refused takes nothing with it.
    #[tokio::test]
    async fn readings_that_wait_together_are_written_together() {
        let (desk, job, _folder) = desk("together").await;
        let mut readings = Vec::new();
        for (spot, size) in [
            ("main-1.front.a", "1.4991"),
            ("main-1.front.b", "1.4992"),
            ("main-1.rear.a", "1.4990"),
            ("main-2.front.a", "1.4993"),
            ("pin-1.front.a", "1.2491"),
            ("pin-1.rear.b", "1.2492"),
        ] {
            readings.push(reading(spot, size));
        }
        readings.insert(3, readings[2].clone());
        readings.insert(5, reading("main-2.front.b", "no size"));
        let seen = desk.job(job).await.expect("a job").job.seq;
        let told = together(&desk, job, readings.clone()).await;
        let outcomes: Vec<_> = told.iter().map(|told| told.as_ref().map(|taken| taken.outcome)).collect();
        for (n, outcome) in outcomes.iter().enumerate() {
            match n {
                3 => assert_eq!(*outcome, Ok(Outcome::Repeated)),
                5 => assert_eq!(outcome.as_ref().map_err(|no| no.status), Err(StatusCode::UNPROCESSABLE_ENTITY)),
                _ => assert_eq!(*outcome, Ok(Outcome::Saved), "{n}"),
            }
        }
        let entries = desk.store.entries(job, seen).await.expect("a job");
        let kept: Vec<EntryId> =
            entries.iter().filter(|entry| matches!(entry.kind, EntryKind::Reading(_))).map(|entry| entry.id).collect();
        let wanted: Vec<EntryId> = [0, 1, 2, 4, 6, 7].map(|n: usize| readings[n].id).into();
        assert_eq!(kept, wanted, "in the order they came");
        let turns: BTreeSet<&str> = entries.iter().map(|entry| entry.received.as_str()).collect();
        assert_eq!(turns.len(), 1, "one turn of the disk");
    }

    /// A second reading of a spot is looked at beside the first, though both come in one turn; and another reading under the
    /// name of one that was taken is refused alone.
    #[tokio::test]
    async fn each_is_taken_beside_those_before_it() {
        let (desk, job, _folder) = desk("beside").await;
        let spot = "main-1.front.a";
        let taken_before = reading("main-1.rear.a", "1.4990");
        take_reading(&desk, job, &taken_before).await.expect("saved");
        let under_its_name = ReadingIn { id: taken_before.id, ..reading("main-2.rear.a", "1.4994") };
        let readings = vec![reading(spot, "1.4991"), under_its_name, reading(spot, "1.4991"), reading(spot, "1.4971")];
        let told = together(&desk, job, readings).await;
        let outcomes: Vec<_> = told.into_iter().map(|told| told.map(|taken| taken.outcome)).collect();
        assert_eq!(outcomes[0], Ok(Outcome::Saved));
        assert_eq!(outcomes[1].as_ref().map_err(|no| no.status), Err(StatusCode::CONFLICT));
        assert_eq!(outcomes[2], Ok(Outcome::Agrees));
        assert_eq!(outcomes[3], Ok(Outcome::Clashes));
    }

    /// Whatever waits at one job, another is written to.
    #[tokio::test]
    async fn one_job_does_not_hold_another() {
        let (desk, job, _folder) = desk("apart").await;
        let held = desk.turns.of(job + 1).await;
        take_reading(&desk, job, &reading("main-1.rear.a", "1.4990")).await.expect("saved");
        drop(held);
    }
}
