//! The grinder's view: what to grind to, and what is left to come off.

use axum::Router;

use crate::desk::Desk;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
}
