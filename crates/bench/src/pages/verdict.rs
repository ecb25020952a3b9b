//! The verdict, and the decision on it.

use axum::Router;
use axum::extract::{Path, State};
use axum::routing::get;

use crate::desk::Desk;
use crate::judged::PATIENCE;
use crate::ladder::Manner;
use crate::so_far::SoFar;
use crate::visitor::{Answer, shop_of, show};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/jobs/{job}/so-far", get(so_far))
}

/// The panel by itself, for a page that shows it already.
async fn so_far(State(desk): State<Desk>, Path(job): Path<i64>) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let judgement = desk.judges.judge(&held.job, PATIENCE).await;
    show(&SoFar::of(&held, &judgement, &Manner::of(&shop, &held.job)))
}
