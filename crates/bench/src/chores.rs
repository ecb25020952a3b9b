//! Work on the record that may take long, done while the shop goes on.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use shop::now;

/// What a page waits for a chore before it shows that it runs.
const PATIENCE: Duration = Duration::from_millis(1_500);

/// One chore and how it went.
#[derive(Clone, Debug)]
pub(crate) struct Chore {
    /// What it is: `backup` or `verify`.
    pub(crate) what: &'static str,
    /// When it began.
    pub(crate) began: String,
    /// When it ended and what came of it, if it has: lines of good or of bad news.
    pub(crate) ended: Option<Ended>,
}

/// What came of a chore.
#[derive(Clone, Debug)]
pub(crate) struct Ended {
    pub(crate) when: String,
    pub(crate) well: bool,
    pub(crate) lines: Vec<String>,
}

/// The latest chore of each kind.
#[derive(Clone, Debug, Default)]
pub(crate) struct Chores(Arc<Mutex<Vec<Chore>>>);

impl Chores {
    /// The latest of each kind.
    pub(crate) fn all(&self) -> Vec<Chore> {
        self.lock().clone()
    }

    /// Begins a chore, unless one of its kind runs; returns when it is done or after a short while.
    pub(crate) async fn begin(
        &self,
        what: &'static str,
        work: impl Future<Output = Result<Vec<String>, Vec<String>>> + Send + 'static,
    ) {
        {
            let mut chores = self.lock();
            if chores.iter().any(|chore| chore.what == what && chore.ended.is_none()) {
                return;
            }
            chores.retain(|chore| chore.what != what);
            chores.push(Chore { what, began: now(), ended: None });
        }
        let chores = self.clone();
        let running = tokio::spawn(async move {
            let done = tokio::spawn(work).await;
            let broke = || Err(vec!["Something went wrong in the program while it ran. Begin it again.".to_owned()]);
            let outcome = done.unwrap_or_else(|_| broke());
            let well = outcome.is_ok();
            let lines = outcome.unwrap_or_else(|lines| lines);
            if let Some(chore) = chores.lock().iter_mut().find(|chore| chore.what == what) {
                chore.ended = Some(Ended { when: now(), well, lines });
            }
        });
        // Whether it ended in time is seen on the page.
        let _ = tokio::time::timeout(PATIENCE, running).await;
    }

    fn lock(&self) -> MutexGuard<'_, Vec<Chore>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
