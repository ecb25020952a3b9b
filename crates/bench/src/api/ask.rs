//! Reading what is asked, so that whatever cannot be read is told in words.

use axum::extract::{FromRequest, FromRequestParts, Path, Query, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode, header};
use serde::de::DeserializeOwned;

use super::answers::Refused;
use crate::trouble::Trouble;

/// The largest JSON body: a whole sheet, with room for what stands around it.
const MOST_BODY_BYTES: usize = shop::MOST_BYTES + 100_000;

/// A JSON body. It must be sent as such: a form on a page of some other program cannot do that unasked.
#[derive(Debug)]
pub(crate) struct Body<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Body<T> {
    type Rejection = Refused;

    async fn from_request(request: Request, _: &S) -> Result<Body<T>, Refused> {
        sent_as(request.headers(), &["application/json"])?;
        let bytes = body(request, MOST_BODY_BYTES).await?;
        serde_json::from_slice(&bytes).map(Body).map_err(|error| {
            let at = format!("line {}, column {}", error.line(), error.column());
            let why = error.to_string();
            let why = why.split(" at line ").next().unwrap_or_default().replace('`', "'");
            let trouble = match error.classify() {
                serde_json::error::Category::Data => Trouble::new(
                    StatusCode::UNPROCESSABLE_ENTITY,
                    format!("The body is not what is taken here: {why} ({at})."),
                    "Compare it with /api/openapi.json.",
                ),
                _ => {
                    let says = format!("The body is no JSON: {why} ({at}).");
                    Trouble::new(StatusCode::BAD_REQUEST, says, "Send one JSON document in UTF-8.")
                }
            };
            trouble.into()
        })
    }
}

/// Whether the body is sent as one of these.
pub(crate) fn sent_as(headers: &HeaderMap, kinds: &[&str]) -> Result<(), Trouble> {
    let told = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    let kind = told.split(';').next().unwrap_or_default().trim();
    if kinds.iter().any(|known| kind.eq_ignore_ascii_case(known)) {
        return Ok(());
    }
    let says = format!("The body must be sent as {}.", kinds.join(" or "));
    Err(Trouble::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, says, "Set the header Content-Type."))
}

/// The bytes of a body, up to a length.
pub(crate) async fn body(request: Request, most: usize) -> Result<axum::body::Bytes, Refused> {
    axum::body::to_bytes(request.into_body(), most).await.map_err(|_| {
        let says =
            format!("More was sent than the {} MB that are taken here, or not all of it arrived.", most / 1_000_000);
        Trouble::new(StatusCode::PAYLOAD_TOO_LARGE, says, "Send it in parts.").into()
    })
}

/// What stands in the address after the question mark.
#[derive(Debug)]
pub(crate) struct Asked<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Asked<T> {
    type Rejection = Refused;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Asked<T>, Refused> {
        match Query::<T>::from_request_parts(parts, state).await {
            Ok(Query(asked)) => Ok(Asked(asked)),
            Err(error) => {
                let why = error.body_text().replace('`', "'");
                let why = why.trim_start_matches("Failed to deserialize query string: ");
                let says = format!("What stands after the question mark cannot be read: {why}.");
                Err(Trouble::new(StatusCode::BAD_REQUEST, says, "Compare it with /api/openapi.json.").into())
            }
        }
    }
}

/// The number of a job in the address. What is no number is the number of no job.
#[derive(Debug)]
pub(crate) struct Number(pub(crate) i64);

impl<S: Send + Sync> FromRequestParts<S> for Number {
    type Rejection = Refused;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Number, Refused> {
        let told = Named::from_request_parts(parts, state).await?.0;
        told.parse().map(Number).map_err(|_| {
            let shown: String = told.chars().take(40).flat_map(char::escape_default).collect();
            Trouble::not_found(format!("No job {shown}."), "Jobs have numbers: 1001, 1002 …").into()
        })
    }
}

/// A name in the address.
#[derive(Debug)]
pub(crate) struct Named(pub(crate) String);

impl<S: Send + Sync> FromRequestParts<S> for Named {
    type Rejection = Refused;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Named, Refused> {
        match Path::<String>::from_request_parts(parts, state).await {
            Ok(Path(name)) => Ok(Named(name)),
            Err(_) => Err(Trouble::not_found("The address is no text in UTF-8.", "Look at the address again.").into()),
        }
    }
}
