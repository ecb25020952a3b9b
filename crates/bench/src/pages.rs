//! The pages, one room for each part of the work.

pub(crate) mod batches;
pub(crate) mod book_in;
mod drawings;
mod final_check;
pub(crate) mod fit;
pub(crate) mod grind;
mod guide;
mod history;
mod job;
mod jobs;
mod measure;
mod new_crank;
mod oil;
mod papers;
mod pictures;
pub(crate) mod practice;
mod roughness;
mod shaft;
mod shop;
mod start;
mod statics;
mod verdict;
mod words;

use axum::Router;
use axum::http::Uri;
use axum::routing::get;

pub(crate) use self::statics::routes as statics;
use crate::desk::Desk;
use crate::trouble::Trouble;

/// All pages.
pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .merge(jobs::routes())
        .merge(book_in::routes())
        .merge(job::routes())
        .merge(history::routes())
        .merge(pictures::routes())
        .merge(measure::routes())
        .merge(roughness::routes())
        .merge(shaft::routes())
        .merge(verdict::routes())
        .merge(drawings::routes())
        .merge(fit::routes())
        .merge(grind::routes())
        .merge(batches::routes())
        .merge(final_check::routes())
        .merge(papers::routes())
        .merge(oil::routes())
        .merge(shop::routes())
        .merge(start::routes())
        .merge(words::routes())
        .merge(guide::routes())
        .merge(practice::routes())
        .merge(statics())
        .fallback(get(lost).post(lost))
        .method_not_allowed_fallback(not_so)
}

/// An address that only takes forms was opened as a page, after going back or forward perhaps: the page with the form
/// stands above it.
async fn not_so(method: axum::http::Method, uri: Uri) -> axum::response::Response {
    let above = uri.path().rsplit_once('/').map(|(above, _)| above).filter(|above| !above.is_empty());
    match above {
        Some(above) if matches!(method, axum::http::Method::GET | axum::http::Method::HEAD) => {
            crate::visitor::go(above)
        }
        _ => {
            let says = "This address does not take that.";
            let trouble =
                Trouble::new(axum::http::StatusCode::METHOD_NOT_ALLOWED, says, "Start from the list of jobs.");
            axum::response::IntoResponse::into_response(trouble)
        }
    }
}

async fn lost(uri: Uri) -> Trouble {
    let path: String = uri.path().chars().take(80).collect();
    Trouble::not_found(format!("There is no page {path}."), "It may have moved: start from the list of jobs.")
}
