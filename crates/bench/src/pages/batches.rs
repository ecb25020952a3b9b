//! Batches for heat treatment.

use axum::Router;

use crate::desk::Desk;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
}
