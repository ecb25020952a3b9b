//! The pages, one room for each part of the work.

mod batches;
mod book_in;
mod final_check;
mod grind;
mod job;
mod jobs;
mod measure;
mod shop;
mod statics;
mod verdict;

use axum::Router;
use axum::http::Uri;
use axum::routing::get;

use crate::desk::Desk;
use crate::trouble::Trouble;

/// All pages.
pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .merge(jobs::routes())
        .merge(book_in::routes())
        .merge(job::routes())
        .merge(measure::routes())
        .merge(verdict::routes())
        .merge(grind::routes())
        .merge(batches::routes())
        .merge(final_check::routes())
        .merge(shop::routes())
        .merge(statics::routes())
        .fallback(get(lost).post(lost))
}

async fn lost(uri: Uri) -> Trouble {
    let path: String = uri.path().chars().take(80).collect();
    Trouble::not_found(format!("There is no page {path}."), "It may have moved: start from the list of jobs.")
}
