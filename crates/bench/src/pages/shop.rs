//! The shop's own things: people, micrometers, engines, prices, settings.

use axum::Router;

use crate::desk::Desk;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
}
