//! The bearings of a job: what was measured of them, their clearances, shells given out, the order, what must stop.

mod forms;
mod shown;

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use shop::{Draft, EntryKind, Row, Shop, Value, now};

use crate::bar::Bar;
use crate::desk::Desk;
use crate::form::Form;
use crate::judged::{Judgement, PATIENCE, counts};
use crate::ladder::Manner;
use crate::so_far::Working;
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Fields, Frame, JobPath, Visitor, go, shop_of, show, show_with};
use crate::wording::Words;
use job::JobCard;
use job::may::new_problems;

use forms::{FORMS, Part};
use shown::Shown;

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/jobs/{job}/fit", get(fit)).route("/jobs/{job}/fit/measured", post(measured))
}

#[derive(Template)]
#[template(path = "fit.html")]
struct FitPage {
    frame: Frame,
    bar: Bar,
    working: Option<Working>,
    problems: Vec<String>,
    shown: Option<Shown>,
    /// Rows as they were entered, in words.
    rows: Vec<String>,
    parts: Vec<Part>,
}

async fn fit(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let judgement = desk.judges.judge(&held, PATIENCE).await;
    show(&page(&visitor, &shop, &held, &judgement, None)?)
}

fn page(
    visitor: &Visitor,
    shop: &Shop,
    held: &JobCard,
    judgement: &Judgement,
    returned: Option<Form>,
) -> Result<FitPage, Trouble> {
    let job = &held.job;
    let words = Manner::of(shop, job).words;
    let error = if returned.is_some() { "Error: " } else { "" };
    let latest = judgement.latest();
    let mut problems = held.book.as_ref().err().cloned().unwrap_or_default();
    let mut shown = None;
    if let Some((judged, _)) = latest {
        match (&judged.answer, &judged.fit) {
            (Ok((sheet, _)), Some(fit)) => shown = Some(Shown::of(sheet, fit, words)),
            (Err(found), _) => problems.extend(found.iter().map(|problem| problem.to_string())),
            _ => {}
        }
    }
    let rows = job.rows.iter().filter(|row| counts(row) && FORMS.contains(&row.key));
    Ok(FitPage {
        frame: visitor.frame(shop, format!("{error}Bearings of job {}", job.number), "jobs"),
        bar: Bar::of(job, "fit"),
        working: Working::of(judgement),
        problems,
        shown,
        rows: rows.map(|row| told(row.key, &row.row, words)).collect(),
        parts: forms::parts(held, words, returned)?,
    })
}

/// A row in words: what it is of, then what stands in it.
fn told(key: &str, row: &Value, words: Words) -> String {
    let what = match key {
        "housing" => "housing",
        "shell" => "half shell",
        "thrust" => "thrust bearing",
        _ => "bearing",
    };
    let cell = |value: &Value| match value {
        Value::List(items) => items.iter().filter_map(Value::as_typed).collect::<Vec<_>>().join(" "),
        one => one.as_typed().unwrap_or_default().to_owned(),
    };
    let whose = match (row.words("journal").map(str::parse), row.words("set").map(str::parse)) {
        (Some(Ok(journal)), _) => words.journal_within(journal),
        (_, Some(Ok(set))) => words.one_of(set),
        _ => row.words("journal").or_else(|| row.words("set")).unwrap_or_default().to_owned(),
    };
    let rest = row.pairs().iter().filter(|(key, _)| !["journal", "set"].contains(&key.as_str()));
    let rest: Vec<String> = rest.map(|(key, value)| format!("{} {}", key.replace('_', " "), cell(value))).collect();
    format!("{what} of {whose}: {}", rest.join(", "))
}

/// Writes down what was measured of a bearing, or what is wanted.
async fn measured(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let id = fields.id()?;
    if held.has(id) {
        return Ok(back(job));
    }
    let Some(part) = FORMS.into_iter().find(|part| *part == fields.text("what")) else {
        return Err(Trouble::not_found("There is nothing of that kind to write down.", "Load the page again."));
    };
    let there = forms::replaces(&held, part, &fields);
    let row = || Row::typed(forms::row(part, &fields, there.map(|row| &row.row)));
    let kind = match part {
        "housing" => EntryKind::Housing(row()),
        "shell" => EntryKind::Shell(row()),
        "thrust" => EntryKind::Thrust(row()),
        "bearing" => EntryKind::Bearing(row()),
        _ => EntryKind::WantedChanged { wanted: forms::wanted(&fields) },
    };
    let mut draft = Draft::new(id, &visitor.who, now(), kind);
    draft.corrects = there.map(|row| row.entry);
    let drafts = [draft];
    let after = held.with(&drafts);
    let faults = faults(&held, &after);
    if !faults.is_empty() {
        let shop = shop_of(&desk).await?;
        let judgement = desk.judges.judge(&held, PATIENCE).await;
        let form = Form::again(part, &fields, faults)?;
        let page = page(&visitor, &shop, &held, &judgement, Some(form))?;
        return show_with(StatusCode::UNPROCESSABLE_ENTITY, &page);
    }
    desk.put_down(job, held.job.seq, &drafts).await?;
    Ok(back(job))
}

fn back(job: i64) -> Response {
    go(&format!("/jobs/{job}/fit#measured"))
}

/// What is wrong with the sheet that was not wrong before, by the field it belongs to.
pub(super) fn faults(before: &JobCard, after: &JobCard) -> Vec<Fault> {
    let new = new_problems(before, after).into_iter();
    new.map(|problem| {
        let field = problem.key.rsplit('.').next().unwrap_or_default();
        let field = field.split('[').next().unwrap_or_default();
        Fault::new(field, format!("{}: expected {}; {}.", problem.found, problem.expected, problem.advice))
    })
    .collect()
}

/// A journal of either set as a form names it.
fn journal_name(words: Words, id: crank::JournalId) -> (String, String) {
    (id.to_string(), words.journal(id))
}
