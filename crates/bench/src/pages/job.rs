//! What is said of a job as a whole: its particulars, notes, photographs, history.

use axum::Router;

use crate::desk::Desk;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
}
