//! Changing the particulars of a job. Each change is an entry; what stood before stays in the history.

use axum::extract::State;
use shop::{BookedIn, Draft, EntryKind, Job, Stage, Value, now};

use super::{came_back, policy_now};
use crate::desk::Desk;
use crate::form::{Form, NotWritten};
use crate::naming::{SURE, unless_sure};
use crate::pages::book_in::{engines, promised};
use crate::pages::new_crank::{self, name_of};
use crate::pages::shop::{in_100, of_100};
use crate::trial;
use crate::trouble::Fault;
use crate::visitor::{Answer, Fields, JobPath, Visitor, go, shop_of};
use job::JobCard;
use job::judged::NoFiles;

/// The page again where it was, or with the form as it came back.
async fn answer(
    desk: &Desk,
    visitor: &Visitor,
    number: i64,
    part: &'static str,
    fields: &Fields,
    written: Result<(), NotWritten>,
) -> Answer {
    match written {
        Ok(()) => Ok(go(&format!("/jobs/{number}/particulars#{part}"))),
        Err(NotWritten::Again(status, faults)) => {
            let form = Form::again(part, fields, faults)?;
            came_back(desk, visitor, number, form, status).await
        }
        Err(NotWritten::Trouble(trouble)) => Err(trouble),
    }
}

/// Writes what booking in says now, in place of what it said.
async fn rebook(
    desk: &Desk,
    visitor: &Visitor,
    held: &JobCard,
    fields: &Fields,
    booked: BookedIn,
) -> Result<(), NotWritten> {
    let Some(first) = held.entries.first() else { return Ok(()) };
    let draft = Draft::new(fields.id()?, &visitor.who, now(), EntryKind::BookedIn(booked)).correcting(first.id);
    let same = |kind: &EntryKind| matches!(kind, EntryKind::BookedIn(_));
    let drafts = [draft];
    unless_sure(fields.text(SURE) == "yes", desk.odd_marks_and_customers(&drafts).await?)?;
    desk.write(held.job.number, fields.seen()?, &drafts, same).await
}

/// Whose it is.
pub(super) async fn particulars(
    State(desk): State<Desk>,
    JobPath(number): JobPath,
    visitor: Visitor,
    fields: Fields,
) -> Answer {
    let held = desk.job(number).await?;
    let mut faults = Vec::new();
    let booked = BookedIn {
        mark: fields.text("mark").to_owned(),
        customer: fields.text("customer").to_owned(),
        telephone: fields.text("telephone").to_owned(),
        crank: fields.text("crank").to_owned(),
        promised: promised(&fields, &mut faults),
        ..held.job.booked_in.clone()
    };
    let written = match faults.is_empty() {
        true => rebook(&desk, &visitor, &held, &fields, booked).await,
        false => Err(faults.into()),
    };
    answer(&desk, &visitor, number, "about", &fields, written).await
}

/// Another specification, or the same one put right.
pub(super) async fn specification(
    State(desk): State<Desk>,
    JobPath(number): JobPath,
    visitor: Visitor,
    fields: Fields,
) -> Answer {
    let held = desk.job(number).await?;
    let shop = shop_of(&desk).await?;
    let chosen = engines(&desk, &shop).into_iter().find(|(value, _)| value == fields.text("engine"));
    let (book, mut faults) = match (fields.text("engine"), chosen) {
        (_, Some((_, book))) => (book, Vec::new()),
        ("text", None) => {
            let typed = new_crank::text(&fields, "text");
            (typed.specification, typed.faults)
        }
        _ => (
            Value::Table(Vec::new()),
            vec![Fault::new("engine", "Choose another engine, or change the text and choose it.")],
        ),
    };
    if faults.is_empty() {
        faults = no_longer_fits(&held.job, &book);
    }
    let mut booked = held.job.booked_in.clone();
    if booked.sheet.get("specification").is_some_and(|old| name_of(old) == booked.crank) {
        booked.crank = name_of(&book).to_owned();
    }
    booked.sheet.set("specification", book);
    let written = match faults.is_empty() {
        true => rebook(&desk, &visitor, &held, &fields, booked).await,
        false => Err(faults.into()),
    };
    answer(&desk, &visitor, number, "book", &fields, written).await
}

/// What of the job could not be read any more with another specification: readings of journals it does not have.
fn no_longer_fits(job: &Job, book: &Value) -> Vec<Fault> {
    let problems = |document: &Value| {
        let mut document = document.clone();
        document.set("sheet", Value::Number("1".to_owned()));
        sheet::read_sheet("this job", &document.to_json(), &NoFiles).err().unwrap_or_default()
    };
    let before = problems(&job.document);
    let mut document = job.document.clone();
    document.set("specification", book.clone());
    let fresh = problems(&document).into_iter().filter(|problem| !before.contains(problem));
    let says =
        |problem: &sheet::Problem| format!("With it, {} does not fit. {}", problem.key, trial::sentence(problem));
    fresh.take(5).map(|problem| Fault::new("engine", says(&problem))).collect()
}

/// How this job is judged.
pub(super) async fn policy(
    State(desk): State<Desk>,
    JobPath(number): JobPath,
    visitor: Visitor,
    fields: Fields,
) -> Answer {
    let held = desk.job(number).await?;
    let written = change_policy(&desk, &visitor, &held, &fields).await;
    answer(&desk, &visitor, number, "policy", &fields, written).await
}

async fn change_policy(desk: &Desk, visitor: &Visitor, held: &JobCard, fields: &Fields) -> Result<(), NotWritten> {
    let mut faults = Vec::new();
    let mut policy = Value::Table(Vec::new());
    for (key, usual) in policy_now(&held.job) {
        let text = fields.need(key, &format!("Enter a value; it was {usual}."), &mut faults);
        let typed = if key == "confidence" { of_100(text) } else { Some(text.to_owned()) };
        let Some(typed) = typed else {
            if !text.is_empty() {
                faults.push(Fault::new(key, "Enter how many cranks of 100 must clean up, like 95."));
            }
            continue;
        };
        // What is the same is not written: the history says what changed.
        let same = typed == usual || (key == "confidence" && in_100(&usual).as_deref() == Some(text));
        if !typed.is_empty() && !same {
            let value = match (key, typed.as_str()) {
                ("build_up", truth) => Value::Truth(truth == "true"),
                ("axis" | "index_datum" | "polish", word) => Value::from(word),
                (_, figure) => Value::typed(figure),
            };
            policy.set(key, value);
        }
    }
    let units = held.job.document.words("units").unwrap_or("in");
    for problem in trial::problems(None, units, &[("policy", policy.clone())]) {
        let key = problem.key.strip_prefix("policy.").unwrap_or(&problem.key);
        if !faults.iter().any(|fault: &Fault| fault.field == key) {
            faults.push(Fault::new(key, trial::sentence(&problem)));
        }
    }
    if !faults.is_empty() {
        return Err(faults.into());
    }
    if policy.pairs().is_empty() {
        return Ok(());
    }
    let draft = Draft::new(fields.id()?, &visitor.who, now(), EntryKind::PolicyChanged { policy });
    let same = |kind: &EntryKind| matches!(kind, EntryKind::PolicyChanged { .. });
    desk.write(held.job.number, fields.seen()?, &[draft], same).await
}

/// Words about the job.
pub(super) async fn note(
    State(desk): State<Desk>,
    JobPath(number): JobPath,
    visitor: Visitor,
    fields: Fields,
) -> Answer {
    let kind = EntryKind::Note { text: fields.text("text").to_owned() };
    let written = write(&desk, &visitor, number, &fields, kind, "text", |_| false).await;
    answer(&desk, &visitor, number, "note", &fields, written).await
}

/// Moved by hand to another stage.
pub(super) async fn stage(
    State(desk): State<Desk>,
    JobPath(number): JobPath,
    visitor: Visitor,
    fields: Fields,
) -> Answer {
    let held = desk.job(number).await?;
    let written = match fields.text("to").parse::<Stage>() {
        Ok(to) if to == held.job.stage => Ok(()),
        Ok(to) => write(&desk, &visitor, number, &fields, EntryKind::Moved { to }, "to", moves).await,
        Err(_) => Err(vec![Fault::new("to", "Choose a stage of the list.")].into()),
    };
    answer(&desk, &visitor, number, "stage", &fields, written).await
}

fn moves(kind: &EntryKind) -> bool {
    matches!(
        kind,
        EntryKind::Moved { .. }
            | EntryKind::SheetIssued { .. }
            | EntryKind::SentToTreatment { .. }
            | EntryKind::BackFromTreatment { .. }
            | EntryKind::SignedOff { .. }
            | EntryKind::Reopened { .. }
            | EntryKind::HandedOver { .. }
    )
}

/// Put away with a reason, or taken up again.
pub(super) async fn away(
    State(desk): State<Desk>,
    JobPath(number): JobPath,
    visitor: Visitor,
    fields: Fields,
) -> Answer {
    let held = desk.job(number).await?;
    let up = fields.text("do") == "up";
    let written = if held.job.put_away != up {
        // It is as wanted already; the form was sent twice, or somebody else did it.
        Ok(())
    } else {
        let kind = match up {
            true => EntryKind::TakenUp,
            false => EntryKind::PutAway { reason: fields.text("reason").to_owned() },
        };
        let same = |kind: &EntryKind| matches!(kind, EntryKind::PutAway { .. } | EntryKind::TakenUp);
        write(&desk, &visitor, number, &fields, kind, "reason", same).await
    };
    answer(&desk, &visitor, number, "away", &fields, written).await
}

/// Writes one entry; what the record refuses stands beside `field`.
async fn write(
    desk: &Desk,
    visitor: &Visitor,
    number: i64,
    fields: &Fields,
    kind: EntryKind,
    field: &str,
    clashes: fn(&EntryKind) -> bool,
) -> Result<(), NotWritten> {
    let draft = Draft::new(fields.id()?, &visitor.who, now(), kind);
    let written = desk.write(number, fields.seen()?, &[draft], clashes).await;
    written.map_err(|error| match error {
        NotWritten::Again(status, faults) => {
            let beside = |fault: Fault| if fault.field.is_empty() { fault } else { Fault::new(field, fault.says) };
            NotWritten::Again(status, faults.into_iter().map(beside).collect())
        }
        other => other,
    })
}
