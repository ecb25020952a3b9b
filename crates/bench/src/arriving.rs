//! What is sent to the program: it must arrive within a time, and all that is arriving at once has a bound.
//!
//! Every body passes here, of forms, of photographs and of the JSON interface, so none of their readers need know. What
//! does not arrive as it should is told by what stands here, whatever the reader made of it.

use std::pin::Pin;
use std::sync::atomic::{AtomicU8, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use axum::body::{Body, Bytes};
use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use hyper::body::{Body as _, Frame, SizeHint};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, Sleep};

use crate::connections::Held;
use crate::trouble::Trouble;

/// The longest that a body may take to arrive, from when it is first read.
const BODY: Duration = Duration::from_secs(20);
/// Kilobytes that may be arriving, or be kept for what is being answered, at once.
const MOST_KB: usize = 48_000;

/// What there is room for of all that is arriving.
#[derive(Clone, Debug)]
pub(crate) struct Room(Arc<Semaphore>);

impl Default for Room {
    fn default() -> Room {
        Room(Arc::new(Semaphore::new(MOST_KB)))
    }
}

/// It took too long.
const SLOW: u8 = 1;
/// Too much was arriving at once.
const CROWDED: u8 = 2;

/// How one body arrives.
#[derive(Debug, Default)]
struct Arrival {
    went: AtomicU8,
    /// Held until what was sent is answered.
    room: Mutex<Option<OwnedSemaphorePermit>>,
}

/// Counts and times what is sent, and says so where it does not arrive.
pub(crate) async fn arriving(State(room): State<Room>, request: Request, next: Next) -> Response {
    if request.body().is_end_stream() {
        return next.run(request).await;
    }
    let path_is_json = request.uri().path().starts_with("/api/");
    let held = request.extensions().get::<Arc<Held>>().cloned();
    let arrival = Arc::new(Arrival::default());
    let watched = Arc::clone(&arrival);
    let request =
        request.map(|body| Body::new(Arriving { body, arrival: watched, room, held, by: None, odd_bytes: 0 }));
    let response = next.run(request).await;
    let trouble = match arrival.went.load(Ordering::Acquire) {
        SLOW => Trouble::new(
            StatusCode::REQUEST_TIMEOUT,
            format!("Not all of it arrived within {} seconds.", BODY.as_secs()),
            "Send it once more.",
        ),
        CROWDED => Trouble::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "Too much is being sent at once.",
            "Wait a moment, then send it once more.",
        ),
        _ => return response,
    };
    if path_is_json { trouble.as_json() } else { trouble.into_response() }
}

/// A body that is counted and timed.
struct Arriving {
    body: Body,
    arrival: Arc<Arrival>,
    room: Room,
    held: Option<Arc<Held>>,
    by: Option<Pin<Box<Sleep>>>,
    /// Bytes that are no whole kilobyte yet.
    odd_bytes: usize,
}

/// Not all of it arrived.
#[derive(Debug, thiserror::Error)]
#[error("not all of it arrived")]
struct NotArrived;

impl Arriving {
    fn fails(&self, how: u8) -> Poll<Option<Result<Frame<Bytes>, axum::Error>>> {
        self.arrival.went.store(how, Ordering::Release);
        Poll::Ready(Some(Err(axum::Error::new(NotArrived))))
    }

    /// Whether there is room for so many bytes more.
    fn finds_room(&mut self, bytes: usize) -> bool {
        let all = self.odd_bytes + bytes;
        self.odd_bytes = all % 1_000;
        let Ok(kb) = u32::try_from(all / 1_000) else { return false };
        let Ok(more) = Arc::clone(&self.room.0).try_acquire_many_owned(kb) else { return false };
        let mut room = self.arrival.room.lock().unwrap_or_else(PoisonError::into_inner);
        match room.as_mut() {
            Some(room) => room.merge(more),
            None => *room = Some(more),
        }
        true
    }
}

impl hyper::body::Body for Arriving {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Option<Result<Frame<Bytes>, axum::Error>>> {
        let one = &mut *self;
        let by = one.by.get_or_insert_with(|| Box::pin(tokio::time::sleep_until(Instant::now() + BODY)));
        if by.as_mut().poll(cx).is_ready() {
            return one.fails(SLOW);
        }
        match Pin::new(&mut one.body).poll_frame(cx) {
            Poll::Ready(Some(Ok(frame))) => {
                let bytes = frame.data_ref().map_or(0, Bytes::len);
                if one.finds_room(bytes) { Poll::Ready(Some(Ok(frame))) } else { one.fails(CROWDED) }
            }
            // Only what has arrived whole is worth finishing when others need the connection.
            Poll::Ready(None) if one.held.as_ref().is_some_and(|held| !held.answers()) => one.fails(SLOW),
            other => other,
        }
    }

    fn is_end_stream(&self) -> bool {
        // Asked for to the end, so that the end is seen.
        false
    }

    fn size_hint(&self) -> SizeHint {
        self.body.size_hint()
    }
}
