//! The scribe writes for everybody: what arrives while the disk is busy is written together next.
//!
//! SQLite has one writer at a time, and an entry is acknowledged only when the disk has it, which takes a disk several
//! milliseconds however little is written. Twenty people who press Enter together would wait for twenty turns of the
//! disk; written together they wait for one or two. Each piece of work still stands alone: what is refused takes nothing
//! else with it. PostgreSQL does the same by itself.

use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;

use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{ConnectOptions, Connection, SqliteConnection, SqlitePool};
use tokio::sync::{Mutex, MutexGuard, mpsc, oneshot};

use super::watch::Watch;
use crate::error::StoreError;

/// How much waits before a writer has to wait for room in the queue.
const MOST_WAITING: usize = 1_000;
/// How much is written together at most.
const MOST_TOGETHER: usize = 64;
/// After how many turns the write-ahead log is copied into the file. Done aside, because it takes several turns of the
/// disk.
const TURNS_BETWEEN_COPIES: usize = 150;

/// After how long without work all of the write-ahead log is copied, so that the one file holds everything.
const IDLE: Duration = Duration::from_millis(700);
/// What that waits for somebody who is reading; then it is tried again later.
const IDLE_PATIENCE: Duration = Duration::from_millis(50);

type Done<'c, T> = Pin<Box<dyn Future<Output = Result<T, StoreError>> + Send + 'c>>;

/// Hands work to the one who writes.
#[derive(Clone, Debug)]
pub(crate) struct Scribe {
    queue: mpsc::Sender<Box<dyn Work>>,
    /// Held while the whole log is copied.
    copying_all: Arc<Mutex<()>>,
}

/// Something to write, and somebody who waits to hear of it.
trait Work: Send {
    /// Writes it, without acknowledging anything yet.
    fn write<'c>(&'c mut self, connection: &'c mut SqliteConnection) -> Done<'c, ()>;
    /// Tells whoever waits how it ended.
    fn tell(self: Box<Self>, end: Result<(), StoreError>);
}

struct Piece<T, F> {
    write: Option<F>,
    written: Option<T>,
    waiting: oneshot::Sender<Result<T, StoreError>>,
}

impl<T, F> Work for Piece<T, F>
where
    T: Send + 'static,
    F: for<'c> FnOnce(&'c mut SqliteConnection) -> Done<'c, T> + Send,
{
    fn write<'c>(&'c mut self, connection: &'c mut SqliteConnection) -> Done<'c, ()> {
        Box::pin(async move {
            if let Some(write) = self.write.take() {
                self.written = Some(write(connection).await?);
            }
            Ok(())
        })
    }

    fn tell(self: Box<Self>, end: Result<(), StoreError>) {
        let Piece { written, waiting, .. } = *self;
        let told = end.and_then(|()| written.ok_or_else(|| StoreError::fault("nothing was written")));
        // Whoever waited may have gone; what was written stays written.
        let _ = waiting.send(told);
    }
}

impl Scribe {
    /// Starts the scribe. It stops when the last handle to it is gone.
    /// Without a watch nothing is written, and nothing copied.
    pub(crate) fn start(pool: SqlitePool, options: SqliteConnectOptions, watch: Option<Watch>) -> Scribe {
        let (queue, mut waiting) = mpsc::channel::<Box<dyn Work>>(MOST_WAITING);
        let copying_all = Arc::new(Mutex::new(()));
        let held = Arc::clone(&copying_all);
        tokio::spawn(async move {
            let mut turns = 0;
            let mut copying: Option<tokio::task::JoinHandle<()>> = None;
            loop {
                let first = match tokio::time::timeout(IDLE, waiting.recv()).await {
                    Ok(Some(first)) => first,
                    Ok(None) => break,
                    Err(_) => {
                        let _held = held.lock().await;
                        if let Some(watch) = watch.as_ref().filter(|watch| watch.has_log() && !pool.is_closed()) {
                            copy_whole_log(&options, watch).await;
                        }
                        continue;
                    }
                };
                let mut works = vec![first];
                while works.len() < MOST_TOGETHER {
                    match waiting.try_recv() {
                        Ok(next) => works.push(next),
                        Err(_) => break,
                    }
                }
                write_together(&pool, works, watch.as_ref()).await;
                turns += 1;
                if turns >= TURNS_BETWEEN_COPIES && copying.as_ref().is_none_or(tokio::task::JoinHandle::is_finished) {
                    turns = 0;
                    copying = Some(tokio::spawn(copy_log(options.clone())));
                }
            }
        });
        Scribe { queue, copying_all }
    }

    /// While this is held the log is not copied, so that no other connection has the file open for it.
    pub(crate) async fn hold(&self) -> MutexGuard<'_, ()> {
        self.copying_all.lock().await
    }

    /// Returns once nothing is being copied any more; called when the pools are closed, after which nothing is begun.
    pub(crate) async fn put_the_pen_down(&self) {
        drop(self.hold().await);
    }

    /// Has something written, and returns once the disk has it.
    pub(crate) async fn write<T, F>(&self, write: F) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: for<'c> FnOnce(&'c mut SqliteConnection) -> Done<'c, T> + Send + 'static,
    {
        let (waiting, told) = oneshot::channel();
        let piece = Box::new(Piece { write: Some(write), written: None, waiting });
        let gone = || StoreError::NoAnswer { detail: "the record was closed".to_owned() };
        self.queue.send(piece).await.map_err(|_| gone())?;
        told.await.map_err(|_| gone())?
    }
}

/// Whether only this piece of work failed. Anything else may have ended the transaction for all.
fn is_its_own_fault(error: &StoreError) -> bool {
    matches!(
        error,
        StoreError::Refused(_)
            | StoreError::NoSuchJob(_)
            | StoreError::NameTaken(_)
            | StoreError::SeenTooMuch { .. }
            | StoreError::NewerEntry { .. }
            | StoreError::NoSuchPicture
            | StoreError::DamagedJob { .. }
    )
}

async fn write_together(pool: &SqlitePool, works: Vec<Box<dyn Work>>, watch: Option<&Watch>) {
    let mut written = Vec::with_capacity(works.len());
    let mut refused = Vec::new();
    let mut works = works.into_iter();
    let ended = write_all(pool, &mut works, &mut written, &mut refused, watch).await;
    for work in written.into_iter().chain(works) {
        work.tell(ended.clone());
    }
    // A refusal may rest on what was written in the same turn: it is told once that is there to be read, and where it never came
    // to be, the failure is all that is known.
    for (work, error) in refused {
        work.tell(Err(ended.clone().err().unwrap_or(error)));
    }
}

/// Writes piece after piece and makes sure of all of them at once. On a failure, nothing is written: neither what went
/// well before nor what was still to come.
async fn write_all(
    pool: &SqlitePool,
    works: &mut std::vec::IntoIter<Box<dyn Work>>,
    written: &mut Vec<Box<dyn Work>>,
    refused: &mut Vec<(Box<dyn Work>, StoreError)>,
    watch: Option<&Watch>,
) -> Result<(), StoreError> {
    let look = || watch.map_or(Ok(()), Watch::look);
    // Before anything is written, for what goes into a file without a name is lost; and before anything is acknowledged.
    look()?;
    // Taking the lock first means that what is read below cannot change before it is written.
    let mut tx = pool.begin_with("BEGIN IMMEDIATE").await?;
    for mut work in works.by_ref() {
        let started = sqlx::query("SAVEPOINT piece").execute(&mut *tx).await;
        if let Err(error) = started {
            written.push(work);
            return Err(error.into());
        }
        match work.write(&mut tx).await {
            Ok(()) => written.push(work),
            Err(error) if is_its_own_fault(&error) => {
                let back = sqlx::query("ROLLBACK TO piece").execute(&mut *tx).await;
                refused.push((work, error));
                back?;
            }
            Err(error) => {
                written.push(work);
                return Err(error);
            }
        }
        sqlx::query("RELEASE piece").execute(&mut *tx).await?;
    }
    tx.commit().await?;
    look()
}

/// Copies the write-ahead log into the file as far as nobody is reading it, without keeping anybody from writing.
async fn copy_log(options: SqliteConnectOptions) {
    // If it cannot be done now it is done next time, or by a writer when the log has grown long.
    if let Ok(mut connection) = options.connect().await {
        let _ = sqlx::query("PRAGMA wal_checkpoint(PASSIVE)").execute(&mut connection).await;
        let _ = connection.close().await;
    }
}

/// Copies all of the write-ahead log into the file and empties it, while nobody writes.
async fn copy_whole_log(options: &SqliteConnectOptions, watch: &Watch) {
    if watch.look().is_err() {
        return;
    }
    if let Ok(mut connection) = options.clone().busy_timeout(IDLE_PATIENCE).connect().await {
        // Where somebody is reading it is done the next time.
        let _ = sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)").execute(&mut connection).await;
        let _ = connection.close().await;
    }
}
