//! Booking a crank in, with a known or a new specification.

use axum::Router;

use crate::desk::Desk;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
}
