//! Photographs: kept without anything that a camera adds, and shown.

use axum::Router;
use axum::extract::multipart::MultipartRejection;
use axum::extract::{DefaultBodyLimit, Extension, Multipart, Path, State};
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use axum::routing::{get, post};
use shop::{Draft, EntryKind, MOST_PICTURE_MB, now};

use crate::desk::Desk;
use crate::form::{Form, NotWritten};
use crate::guard::Token;
use crate::pages::job;
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Fields, JobPath, Visitor, go};

/// What is read of a form with a picture; somewhat more than a picture may have, so that a message can be given.
const MOST_BYTES: usize = (MOST_PICTURE_MB + 40) * 1_000_000;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/pictures/{hash}", get(picture))
        .route("/jobs/{job}/particulars/photograph", post(upload).layer(DefaultBodyLimit::max(MOST_BYTES)))
}

/// A picture never changes under its hash.
async fn picture(State(desk): State<Desk>, Path(hash): Path<String>) -> Answer {
    if hash.len() != 64 || !hash.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Err(shop::StoreError::NoSuchPicture.into());
    }
    let jpeg = desk.store.picture(&hash).await?;
    let headers =
        [(header::CONTENT_TYPE, "image/jpeg"), (header::CACHE_CONTROL, "private, max-age=31536000, immutable")];
    Ok((headers, jpeg).into_response())
}

async fn upload(
    State(desk): State<Desk>,
    JobPath(number): JobPath,
    visitor: Visitor,
    Extension(token): Extension<Token>,
    form: Result<Multipart, MultipartRejection>,
) -> Answer {
    let form = form.map_err(|_| cut_off())?;
    let _turn = desk.upload_turn().await?;
    let (fields, file) = parts(form).await?;
    fields.is_ours(&token)?;
    match keep(&desk, &visitor, number, &fields, file).await {
        Ok(()) => Ok(go(&format!("/jobs/{number}/particulars#photographs"))),
        Err(NotWritten::Again(status, faults)) => {
            let form = Form::again("photo", &fields, faults)?;
            job::came_back(&desk, &visitor, number, form, status).await
        }
        Err(NotWritten::Trouble(trouble)) => Err(trouble),
    }
}

/// The fields of the form and the picture.
async fn parts(mut form: Multipart) -> Result<(Fields, Vec<u8>), Trouble> {
    let (mut pairs, mut file) = (Vec::new(), Vec::new());
    while let Some(part) = form.next_field().await.map_err(|_| cut_off())? {
        let name = part.name().unwrap_or_default().to_owned();
        let bytes = part.bytes().await.map_err(|error| match error.status() {
            StatusCode::PAYLOAD_TOO_LARGE => shop::StoreError::PictureTooLarge { most_mb: MOST_PICTURE_MB }.into(),
            _ => cut_off(),
        })?;
        if name == "picture" {
            file = bytes.into();
        } else {
            pairs.push((name, String::from_utf8_lossy(&bytes).into_owned()));
        }
    }
    Ok((Fields::of(pairs), file))
}

fn cut_off() -> Trouble {
    Trouble::new(StatusCode::BAD_REQUEST, "Not all of the picture arrived.", "Go back and send it once more.")
}

async fn keep(desk: &Desk, visitor: &Visitor, number: i64, fields: &Fields, file: Vec<u8>) -> Result<(), NotWritten> {
    let held = desk.job(number).await?;
    let (id, seen) = (fields.id()?, fields.seen()?);
    if file.is_empty() {
        return Err(vec![Fault::new("picture", "Choose a picture first, as JPEG or PNG.")].into());
    }
    let journal = fields.get("journal").map(str::to_owned);
    let known =
        |journal: &String| held.book.as_ref().is_ok_and(|book| book.journals().any(|id| id.to_string() == *journal));
    if journal.as_ref().is_some_and(|journal| !known(journal)) {
        return Err(vec![Fault::new("journal", "Choose a journal of this crank, or none.")].into());
    }
    let picture = match desk.store.keep_picture(file).await {
        Ok(kept) => kept.hash,
        Err(error @ (shop::StoreError::NotAPicture { .. } | shop::StoreError::PictureTooLarge { .. })) => {
            return Err(vec![Fault::new("picture", format!("{} {}", error.happened(), error.advice()))].into());
        }
        Err(error) => return Err(error.into()),
    };
    let kind = EntryKind::Photograph { picture, caption: fields.text("caption").to_owned(), journal };
    desk.write(number, seen, &[Draft::new(id, &visitor.who, now(), kind)], |_| false).await
}
