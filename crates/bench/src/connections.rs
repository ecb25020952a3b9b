//! Connections: how many are held, how long each may take to say what it wants, and how all of them end.
//!
//! Any program on this computer can connect, and a browser leaves connections open that it may never use again. So there
//! is a bound, and it keeps room for the shop: where it is reached, a newcomer takes the place of the connection that has
//! been still longest of those that nobody is being answered on. A head and a body must arrive within a time, and a
//! connection on which nothing moves is closed, so that the bound is never held by what only waits.

use std::collections::HashMap;
use std::io;
use std::pin::{Pin, pin};
use std::sync::atomic::{AtomicU8, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll};
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::Body;
use axum::extract::Request;
use hyper::body::{Body as _, Incoming};
use hyper::server::conn::http1;
use hyper::service::{Service, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Notify, watch};
use tokio::task::JoinSet;

/// Connections held at once. A browser opens six, and a computer that lets a program have 256 files still has room for
/// the record's.
const MOST: usize = 128;
/// The longest that the head of a request may take to arrive; also how long a connection is kept between requests.
const HEAD: Duration = Duration::from_secs(15);
/// The longest that a connection is held on which nothing moves: more than any answer may take.
const STILL: Duration = Duration::from_secs(75);
/// What answers that are being given are waited for when the program is to end.
const LAST_ANSWERS: Duration = Duration::from_secs(3);
/// The most bytes of a head. What the pages ask for is a tenth of it.
const MOST_HEAD_BYTES: usize = 64 * 1024;
/// How soon a newcomer looks again where everybody is being answered.
const AGAIN: Duration = Duration::from_millis(20);
/// How long nobody is let in after the computer could not give a connection: it has no more files, mostly.
const BREATH: Duration = Duration::from_millis(500);

/// Nothing is being answered: it may be closed to make room.
const WAITING: u8 = 0;
/// Somebody is being answered.
const ANSWERING: u8 = 1;
/// It is closed to make room.
const LEAVING: u8 = 2;

/// What is known of a connection that is held.
#[derive(Debug)]
pub(crate) struct Held {
    since: Instant,
    state: AtomicU8,
    moved_ms: AtomicU64,
    leave: Notify,
}

impl Held {
    fn new() -> Held {
        Held { since: Instant::now(), state: AtomicU8::new(WAITING), moved_ms: AtomicU64::new(0), leave: Notify::new() }
    }

    /// Something came or went.
    fn moves(&self) {
        let now_ms = u64::try_from(self.since.elapsed().as_millis()).unwrap_or(u64::MAX);
        self.moved_ms.store(now_ms, Ordering::Relaxed);
    }

    /// When something last came or went.
    fn moved(&self) -> Instant {
        self.since + Duration::from_millis(self.moved_ms.load(Ordering::Relaxed))
    }

    /// All of a request is here and is being answered; false where the connection is being closed.
    pub(crate) fn answers(&self) -> bool {
        self.state.compare_exchange(WAITING, ANSWERING, Ordering::AcqRel, Ordering::Acquire) != Err(LEAVING)
    }

    /// What was asked is answered.
    fn answered(&self) {
        self.moves();
        let _ = self.state.compare_exchange(ANSWERING, WAITING, Ordering::AcqRel, Ordering::Acquire);
    }

    /// Closes it, unless somebody is being answered.
    fn gives_way(&self) -> bool {
        let gives = self.state.compare_exchange(WAITING, LEAVING, Ordering::AcqRel, Ordering::Acquire).is_ok();
        if gives {
            self.leave.notify_one();
        }
        gives
    }
}

/// All connections that are held, on every address of the program.
#[derive(Clone, Debug, Default)]
pub(crate) struct Connections {
    held: Arc<Mutex<HashMap<u64, Arc<Held>>>>,
    next: Arc<AtomicU64>,
}

impl Connections {
    fn lock(&self) -> MutexGuard<'_, HashMap<u64, Arc<Held>>> {
        // Each is put in and taken out at one stroke.
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes one more in, where need be by closing the one that was still longest; nothing where all are being answered.
    fn admit(&self) -> Option<Place> {
        let mut held = self.lock();
        while held.len() >= MOST {
            let mut still: Vec<(Instant, u64)> = held.iter().map(|(&key, one)| (one.moved(), key)).collect();
            still.sort_unstable();
            let gone = still.into_iter().find(|(_, key)| held.get(key).is_some_and(|one| one.gives_way()));
            held.remove(&gone?.1);
        }
        let (key, one) = (self.next.fetch_add(1, Ordering::Relaxed), Arc::new(Held::new()));
        held.insert(key, Arc::clone(&one));
        Some(Place { connections: self.clone(), key, held: one })
    }

    /// Takes connections until told to stop; then finishes what is being answered, for a while, and closes the rest.
    pub(crate) async fn serve(self, listener: TcpListener, app: Router, mut stop: watch::Receiver<bool>) {
        let stopping = stop.clone();
        let mut open = JoinSet::new();
        let stopped = async move {
            // Whoever could tell is gone: that is the end as well.
            let _ = stop.wait_for(|stop| *stop).await;
        };
        let mut stopped = pin!(stopped);
        loop {
            while open.try_join_next().is_some() {}
            let next = async {
                let stream = accepted(&listener).await;
                loop {
                    match self.admit() {
                        Some(place) => break (stream, place),
                        None => tokio::time::sleep(AGAIN).await,
                    }
                }
            };
            tokio::select! {
                biased;
                () = &mut stopped => break,
                (stream, place) = next => {
                    open.spawn(held(stream, place, app.clone(), stopping.clone()));
                }
            }
        }
        drop(listener);
        let all = async { while open.join_next().await.is_some() {} };
        // What has not ended by then is cut off; nothing that was acknowledged is lost by it.
        let _ = tokio::time::timeout(LAST_ANSWERS, all).await;
        open.shutdown().await;
    }
}

/// A connection among those that are held, until it is dropped.
#[derive(Debug)]
struct Place {
    connections: Connections,
    key: u64,
    held: Arc<Held>,
}

impl Drop for Place {
    fn drop(&mut self) {
        self.connections.lock().remove(&self.key);
    }
}

async fn accepted(listener: &TcpListener) -> TcpStream {
    loop {
        match listener.accept().await {
            Ok((stream, _)) => return stream,
            Err(error) if of_one_connection(&error) => {}
            Err(_) => tokio::time::sleep(BREATH).await,
        }
    }
}

/// Whether only the one that came is at fault.
fn of_one_connection(error: &io::Error) -> bool {
    use io::ErrorKind::{ConnectionAborted, ConnectionRefused, ConnectionReset};
    matches!(error.kind(), ConnectionAborted | ConnectionRefused | ConnectionReset)
}

/// Answers what is asked on one connection.
async fn held(stream: TcpStream, place: Place, app: Router, mut stop: watch::Receiver<bool>) {
    // Without it small answers wait for more to be said; where it cannot be had they do.
    let _ = stream.set_nodelay(true);
    let one = Arc::clone(&place.held);
    let app = TowerToHyperService::new(app);
    let service = service_fn(|request: Request<Incoming>| {
        let (app, one) = (app.clone(), Arc::clone(&one));
        async move {
            if request.body().is_end_stream() && !one.answers() {
                return Err(Closed);
            }
            let mut request = request.map(Body::new);
            request.extensions_mut().insert(Arc::clone(&one));
            let Ok(response) = app.call(request).await;
            one.answered();
            Ok(response)
        }
    });
    let watched = TokioIo::new(Watched { stream, held: Arc::clone(&one) });
    let mut how = http1::Builder::new();
    how.timer(TokioTimer::new()).header_read_timeout(HEAD).max_buf_size(MOST_HEAD_BYTES);
    let mut connection = pin!(how.serve_connection(watched, service));
    let mut ending = false;
    loop {
        let still = tokio::time::sleep_until((one.moved() + STILL).into());
        tokio::select! {
            biased;
            () = one.leave.notified() => return,
            // What goes wrong on a connection concerns its other end, and that knows.
            _ = connection.as_mut() => return,
            _ = stop.wait_for(|stop| *stop), if !ending => {
                ending = true;
                connection.as_mut().graceful_shutdown();
            }
            () = still => {
                if one.moved().elapsed() >= STILL {
                    return;
                }
            }
        }
    }
}

/// The connection was closed to make room for another.
#[derive(Debug, thiserror::Error)]
#[error("closed to make room")]
struct Closed;

/// A connection that notes when something moves on it.
struct Watched {
    stream: TcpStream,
    held: Arc<Held>,
}

impl AsyncRead for Watched {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, into: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        let before = into.filled().len();
        let read = Pin::new(&mut self.stream).poll_read(cx, into);
        if into.filled().len() > before {
            self.held.moves();
        }
        read
    }
}

impl AsyncWrite for Watched {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.stream).poll_write(cx, bytes);
        if matches!(written, Poll::Ready(Ok(1..))) {
            self.held.moves();
        }
        written
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        parts: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.stream).poll_write_vectored(cx, parts);
        if matches!(written, Poll::Ready(Ok(1..))) {
            self.held.moves();
        }
        written
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_one_that_was_still_longest_makes_room_and_nobody_who_is_answered() {
        let all = Connections::default();
        let places: Vec<Place> = (0..MOST).map(|_| all.admit().expect("there is room")).collect();
        // The first moved last; the second is being answered; so the third has been still longest.
        std::thread::sleep(Duration::from_millis(5));
        places[0].held.moves();
        assert!(places[1].held.answers());
        let newcomer = all.admit().expect("somebody makes room");
        let left = |place: &Place| place.held.state.load(Ordering::Acquire) == LEAVING;
        assert_eq!(places.iter().position(left), Some(2));
        assert_eq!(all.lock().len(), MOST);
        // What is closed is not answered any more.
        assert!(!places[2].held.answers());
        drop(newcomer);
        assert_eq!(all.lock().len(), MOST - 1);
    }

    #[test]
    fn where_all_are_answered_a_newcomer_waits() {
        let all = Connections::default();
        let places: Vec<Place> = (0..MOST).map(|_| all.admit().expect("there is room")).collect();
        assert!(places.iter().all(|place| place.held.answers()));
        assert!(all.admit().is_none());
        places[7].held.answered();
        assert!(all.admit().is_some());
        drop(places);
        assert!(all.lock().is_empty());
    }
}
