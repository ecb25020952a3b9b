//! Soon.
use crate::desk::Desk;
use axum::Router;
pub(crate) fn routes() -> Router<Desk> {
    Router::new()
}
