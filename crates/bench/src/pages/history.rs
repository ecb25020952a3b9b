//! What was done to a job: who, when, what, instead of what; and taking any of it back.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use shop::{EntryId, EntryKind, HistoryLine, history, now};

use crate::bar::Bar;
use crate::desk::Desk;
use crate::form::NotWritten;
use crate::trouble::Trouble;
use crate::visitor::{Answer, Asked, Fields, Frame, JobPath, Visitor, form_id, go, shop_of, show};
use crate::wording::{OldWay, Words, capital, clock};
use job::undo::{Step, next_redo, next_undo, step};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/jobs/{job}/history", get(page).post(take_back))
}

/// Lines on one page; a job measured by hand has fewer.
const LINES: usize = 200;

#[derive(Template)]
#[template(path = "history.html")]
struct HistoryPage {
    frame: Frame,
    bar: Bar,
    lines: Vec<Line>,
    /// What the buttons above the list do, with the name of the entry that each writes.
    undo: Option<(Step, String)>,
    redo: Option<(Step, String)>,
    revisions: Vec<Revision>,
    range: String,
    before: Option<usize>,
    after: Option<usize>,
}

/// One line of the page.
struct Line {
    line: HistoryLine,
    says: String,
    when: String,
    received: String,
    id: String,
}

/// A revision that was signed.
struct Revision {
    number: u32,
    says: String,
}

async fn page(State(desk): State<Desk>, JobPath(number): JobPath, visitor: Visitor, Asked(asked): Asked) -> Answer {
    let held = desk.job(number).await?;
    let shop = shop_of(&desk).await?;
    let words = Words::of_setting(shop.setting("words"));
    let mut all = history(&held.entries, words);
    all.reverse();
    let count = all.len();
    let pages = count.div_ceil(LINES).max(1);
    let page = asked.text("page").parse::<usize>().unwrap_or(0).min(pages - 1);
    let mut lines = Vec::new();
    for line in all.into_iter().skip(page * LINES).take(LINES) {
        // A remark is kept as the program worded it when it was raised; nobody typed it.
        let is_remark = held
            .entries
            .iter()
            .any(|entry| entry.id == line.entry && matches!(entry.kind, EntryKind::FlagRaised { .. }));
        let says = if is_remark { words.put(&line.says) } else { line.says.clone() };
        lines.push(Line {
            says: capital(&says),
            when: clock(&line.when),
            received: clock(&line.received),
            id: form_id()?,
            line,
        });
    }
    let range = match lines.len() {
        shown if shown == count => String::new(),
        shown => format!("{} to {} of {count}, latest first", page * LINES + 1, page * LINES + shown),
    };
    let named = |step: Option<Step>| step.map(|step| Ok::<_, Trouble>((step, form_id()?))).transpose();
    show(&HistoryPage {
        frame: visitor.frame(&shop, format!("Job {number}: history"), "jobs"),
        bar: Bar::of(&held.job, "history"),
        lines,
        undo: named(next_undo(&held.entries, &held.job, words))?,
        redo: named(next_redo(&held.entries, &held.job, words))?,
        revisions: revisions(&held),
        range,
        before: page.checked_sub(1),
        after: (page + 1 < pages).then_some(page + 1),
    })
}

/// Everything that was signed, the latest first.
fn revisions(held: &job::JobCard) -> Vec<Revision> {
    let mut number = 1;
    let mut revisions = Vec::new();
    for entry in &held.entries {
        match &entry.kind {
            EntryKind::Reopened { .. } => number += 1,
            EntryKind::SignedOff { says, .. } => revisions
                .push(Revision { number, says: format!("signed by {}, {}: {says}", entry.who, clock(&entry.when)) }),
            _ => {}
        }
    }
    revisions.reverse();
    revisions
}

/// Takes an entry back, with what was written at the same stroke.
async fn take_back(State(desk): State<Desk>, JobPath(number): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let held = desk.job(number).await?;
    let shop = shop_of(&desk).await?;
    let words = Words::of_setting(shop.setting("words"));
    let (id, seen) = (fields.id()?, fields.seen()?);
    let back = || go(&format!("/jobs/{number}/history"));
    if held.has(id) {
        return Ok(back());
    }
    let gone = || Trouble::not_found("There is no such entry to undo in this job.", "Load the page again.");
    let entry: EntryId = fields.text("entry").parse().map_err(|_| gone())?;
    let step = step(&held.entries, entry, words).ok_or_else(gone)?;
    let matters = |kind: &EntryKind| {
        matches!(kind, EntryKind::Undo { .. } | EntryKind::SignedOff { .. } | EntryKind::SheetIssued { .. })
    };
    desk.write(number, seen, &step.drafts(id, &visitor.who, &now()), matters)
        .await
        .map_err(NotWritten::into_trouble)?;
    Ok(back())
}
