//! Jobs by stage of work, with search and paging.

use askama::Template;
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::routing::{get, post};
use serde::Deserialize;
use shop::{Head, Stage, Wanted};

use crate::desk::Desk;
use crate::visitor::{Answer, Fields, Frame, Visitor, coded, go, shop_of, show};
use crate::wording::how_long;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/", get(|| async { go("/jobs") }))
        .route("/jobs", get(jobs))
        .route("/jobs/{job}", get(open))
        .route("/who", post(who))
}

#[derive(Debug, Deserialize)]
struct Asked {
    #[serde(default)]
    stage: String,
    #[serde(default)]
    search: String,
    #[serde(default)]
    page: String,
}

/// One job in the list.
struct Card {
    head: Head,
    since: String,
    step: &'static str,
    to: String,
}

#[derive(Template)]
#[template(path = "jobs.html")]
struct JobsPage {
    frame: Frame,
    search: String,
    stage: Option<Stage>,
    stages: Vec<(Stage, i64)>,
    groups: Vec<(Stage, Vec<Card>)>,
    examples: Vec<Card>,
    all: i64,
    range: String,
    before: Option<u32>,
    after: Option<u32>,
}

async fn jobs(State(desk): State<Desk>, visitor: Visitor, Query(asked): Query<Asked>) -> Answer {
    let shop = shop_of(&desk).await?;
    let stage: Option<Stage> = asked.stage.parse().ok();
    let page: u32 = asked.page.parse().unwrap_or(0);
    let search: String = asked.search.trim().chars().take(shop::MOST_NAME_CHARS).collect();
    let wanted = Wanted { stage, search: search.clone(), put_away: false, page };
    let list = desk.store.jobs(&wanted).await?;
    let stages = desk.store.stages().await?;
    let examples = desk.store.examples().await?.into_iter().map(card).collect();
    let shown = i64::try_from(list.jobs.len()).unwrap_or(0);
    let range = match shown {
        0 => String::new(),
        _ => format!("{} to {} of {}", list.from, list.from + shown - 1, list.all),
    };
    let after = (list.from + shown - 1 < list.all && shown > 0).then_some(page + 1);
    let mut groups: Vec<(Stage, Vec<Card>)> = Vec::new();
    for head in list.jobs {
        let stage = head.stage;
        match groups.iter_mut().find(|(known, _)| *known == stage) {
            Some((_, cards)) => cards.push(card(head)),
            None => groups.push((stage, vec![card(head)])),
        }
    }
    groups.sort_by_key(|(stage, _)| *stage);
    show(&JobsPage {
        frame: visitor.frame(&shop, "Jobs", "jobs"),
        search,
        stage,
        stages,
        groups,
        examples,
        all: list.all,
        range,
        before: page.checked_sub(1),
        after,
    })
}

fn card(head: Head) -> Card {
    let (step, part) = next_step(head.stage);
    Card { since: how_long(&head.since), step, to: format!("/jobs/{}/{part}", head.job), head }
}

/// What is done next at a stage, in one verb, and the page it is done on.
pub(crate) fn next_step(stage: Stage) -> (&'static str, &'static str) {
    match stage {
        Stage::BookedIn | Stage::Measuring => ("Measure", "measure"),
        Stage::ToDecide => ("Decide", "verdict"),
        Stage::AtTheGrinder => ("Grind", "grind"),
        Stage::AtTreatment => ("Take back", "treatment"),
        Stage::FinalCheck => ("Check", "final"),
        Stage::Ready => ("Hand over", "hand-over"),
        Stage::Collected => ("Look", "history"),
    }
}

/// A job opens on the page of its next step.
async fn open(State(desk): State<Desk>, Path(job): Path<i64>) -> Answer {
    let head = desk.store.head(job).await?;
    Ok(go(&format!("/jobs/{job}/{}", next_step(head.stage).1)))
}

/// Somebody else works at this screen now, or wants other type.
async fn who(fields: Fields) -> Answer {
    let mut response = go("/jobs");
    let pairs = [("who", coded(fields.text("who"))), ("size", coded(fields.text("size")))];
    for (name, value) in pairs {
        let cookie = format!("{name}={value}; Path=/; Max-Age=31536000; SameSite=Strict; HttpOnly");
        if let Ok(cookie) = cookie.parse() {
            response.headers_mut().append(axum::http::header::SET_COOKIE, cookie);
        }
    }
    Ok(response)
}
