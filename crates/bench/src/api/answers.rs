//! How it is told when something cannot be done.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use shop::{Entry, StoreError};
use utoipa::{IntoResponses, ToSchema};

use crate::door::NotAppended;
pub(crate) use crate::trouble::Told;
use crate::trouble::Trouble;

/// Something could not be done; told as JSON.
#[derive(Debug)]
pub(crate) struct Refused(Response);

impl From<Trouble> for Refused {
    fn from(trouble: Trouble) -> Refused {
        Refused(trouble.as_json())
    }
}

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Refused {
        Trouble::from(error).into()
    }
}

impl From<NotAppended> for Refused {
    fn from(not: NotAppended) -> Refused {
        Trouble::from(not).into()
    }
}

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        self.0
    }
}

/// Others wrote, or the name is taken: what happened, and what others wrote since what was seen.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Conflict<E> {
    #[serde(flatten)]
    told: Told,
    /// What others wrote since what the writer saw; absent where that is not what is wrong.
    #[schema(required = false)]
    since: Vec<E>,
    /// The place of the last entry now, where others wrote.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    seq: Option<i64>,
}

/// Others wrote since what the writer saw; nothing was written.
pub(crate) fn behind<E: From<Entry<K>> + Serialize, K>(since: Vec<Entry<K>>, seq: i64) -> Refused {
    let mut names: Vec<&str> = since.iter().map(|entry| entry.who.as_str()).collect();
    names.dedup();
    let who = if names.is_empty() { "Somebody".to_owned() } else { names.join(" and ") };
    let told = Trouble::new(
        StatusCode::CONFLICT,
        format!("{who} wrote in between."),
        "Look at what was written since, then send it again with the new place as the last one seen.",
    )
    .told;
    let since = since.into_iter().map(E::from).collect();
    Refused((StatusCode::CONFLICT, axum::Json(Conflict { told, since, seq: Some(seq) })).into_response())
}

/// What can go wrong with any question.
#[derive(IntoResponses)]
#[allow(dead_code, reason = "only described, never made")]
pub(crate) enum Asking {
    /// What was asked cannot be read.
    #[response(status = 400)]
    Unreadable(Told),
    /// A page of some other program asked.
    #[response(status = 403)]
    Elsewhere(Told),
    /// There is no such thing.
    #[response(status = 404)]
    NotThere(Told),
    /// That is not done here.
    #[response(status = 405)]
    OtherMethod(Told),
    /// It was asked under a name that is not this program's.
    #[response(status = 421)]
    OtherHost(Told),
    /// A fault of the program, or a damaged record.
    #[response(status = 500)]
    Fault(Told),
    /// The record is held by another program or does not answer.
    #[response(status = 503)]
    JobCard(Told),
}

/// What can go wrong with writing.
#[derive(IntoResponses)]
#[allow(dead_code, reason = "only described, never made")]
pub(crate) enum Writing {
    /// The body is no JSON.
    #[response(status = 400)]
    Unreadable(Told),
    /// A page of some other program sent it.
    #[response(status = 403)]
    Elsewhere(Told),
    /// There is no such thing.
    #[response(status = 404)]
    NotThere(Told),
    /// That is not done here.
    #[response(status = 405)]
    OtherMethod(Told),
    /// Not all of it arrived in time.
    #[response(status = 408)]
    Slow(Told),
    /// More was sent than is taken.
    #[response(status = 413)]
    TooLarge(Told),
    /// It is not sent as what it must be.
    #[response(status = 415)]
    OtherKind(Told),
    /// It was asked under a name that is not this program's.
    #[response(status = 421)]
    OtherHost(Told),
    /// It is well formed but cannot be taken: the fields say why.
    #[response(status = 422)]
    NotTaken(Told),
    /// A fault of the program, or a damaged record.
    #[response(status = 500)]
    Fault(Told),
    /// The record is held by another program or may not be written.
    #[response(status = 503)]
    JobCard(Told),
    /// The disk is full.
    #[response(status = 507)]
    Full(Told),
}
