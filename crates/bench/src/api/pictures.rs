//! Photographs: kept by the hash of what is kept of them.

use axum::Json;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use shop::{KeptPicture, MOST_PICTURE_MB};

use super::answers::{Asking, Refused, Writing};
use super::ask::{Named, body, sent_as};
use crate::desk::Desk;
use crate::trouble::Trouble;

/// Keep a photograph. What else was in the file, where it was taken above all, is not kept.
#[utoipa::path(
    post, path = "/api/pictures", tag = "pictures",
    request_body(content((Vec<u8> = "image/jpeg"), (Vec<u8> = "image/png"))),
    responses((status = 201, body = KeptPicture), Writing)
)]
pub(crate) async fn keep(State(desk): State<Desk>, request: Request) -> Result<Response, Refused> {
    sent_as(request.headers(), &["image/jpeg", "image/png"])?;
    let _turn = desk.upload_turn().await?;
    let file = body(request, MOST_PICTURE_MB * 1_000_000).await?;
    let kept = desk.store.keep_picture(file.into()).await?;
    let place = HeaderValue::from_str(&format!("/api/pictures/{}", kept.hash)).map_err(Trouble::fault)?;
    Ok((StatusCode::CREATED, [(header::LOCATION, place)], Json(kept)).into_response())
}

/// A photograph.
#[utoipa::path(
    get, path = "/api/pictures/{hash}", tag = "pictures", params(("hash" = String, Path, description = "The hash it is kept under.")),
    responses((status = 200, body = Vec<u8>, content_type = "image/jpeg"), Asking)
)]
pub(crate) async fn picture(State(desk): State<Desk>, Named(hash): Named) -> Result<Response, Refused> {
    // What is no hash is not looked for.
    if hash.len() != 64 || !hash.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Err(shop::StoreError::NoSuchPicture.into());
    }
    let jpeg = desk.store.picture(&hash).await?;
    Ok(([(header::CONTENT_TYPE, HeaderValue::from_static("image/jpeg"))], jpeg).into_response())
}
