//! The verdict, and the decision on it.

use axum::Router;

use crate::desk::Desk;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
}
