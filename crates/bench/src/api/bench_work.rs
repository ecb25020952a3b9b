//! Writing to a job: entries as the log has them, readings as they are keyed, undo and redo.

use axum::Json;
use axum::extract::State;
use job::taking::{Outcome, ReadingIn};
use job::undo::{next_redo, next_undo};
use serde::{Deserialize, Serialize};
use shop::{Appended, Draft, Entry, EntryId, EntryKind, Job, JobNumber, Source};
use utoipa::{IntoParams, ToSchema};

use super::answers::{Asking, Conflict, Refused, Writing, behind};
use super::ask::{Asked, Body, Number};
use super::lines::{JobDraft, JobEntry};
use crate::desk::Desk;
use crate::gathering::take_reading;
use crate::naming::surely;
use crate::trouble::Trouble;
use crate::wording::Words;

#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct After {
    /// Only those after this place.
    #[serde(default)]
    after: i64,
}

/// The entries of a job, in order.
#[utoipa::path(
    get, path = "/api/jobs/{job}/entries", tag = "work",
    params(("job" = i64, Path, description = "Its number.", example = 1001), After),
    responses((status = 200, body = Vec<JobEntry>), Asking)
)]
pub(crate) async fn entries(
    State(desk): State<Desk>,
    Number(job): Number,
    Asked(After { after }): Asked<After>,
) -> Result<Json<Vec<JobEntry>>, Refused> {
    Ok(Json(desk.store.entries(job, after).await?.into_iter().map(JobEntry::from).collect()))
}

/// Entries to be written, all of them or none.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct ToWrite {
    /// The place of the last entry that the writer saw.
    #[schema(minimum = 0)]
    seen: i64,
    /// Whether to write them even where others wrote since. For figures that need no second thought; what depends on
    /// what was seen, an undo or a signature, is written without it.
    #[serde(default)]
    regardless: bool,
    /// Whether names that look like others, or mix alphabets, are right as they are; such names are refused without it.
    #[serde(default)]
    sure: bool,
    /// The entries; of decisions, sheets, treatments, signatures and moves no more than 20.
    #[schema(min_items = 1, max_items = 1000)]
    entries: Vec<JobDraft>,
}

/// What was written.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Written {
    /// The place of the last of them.
    seq: i64,
    /// Whether they were written before, under the same names; then they are kept once.
    repeated: bool,
    /// What others wrote since what the writer saw.
    since: Vec<JobEntry>,
}

/// Write entries to a job.
#[utoipa::path(
    post, path = "/api/jobs/{job}/entries", tag = "work", request_body = ToWrite,
    params(("job" = i64, Path, description = "Its number.", example = 1001)),
    responses(
        (status = 200, body = Written),
        (
            status = 409,
            body = Conflict<JobEntry>,
            description = "Others wrote since, a name is another entry's, or something in the job stands against it."
        ),
        Writing
    )
)]
pub(crate) async fn write(
    State(desk): State<Desk>,
    Number(job): Number,
    Body(told): Body<ToWrite>,
) -> Result<Json<Written>, Refused> {
    let ToWrite { seen, regardless, sure, entries } = told;
    let drafts: Vec<Draft> = entries.into_iter().map(Draft::from).collect();
    if !sure {
        surely(desk.odd_marks_and_customers(&drafts).await?)?;
    }
    put_down(&desk, job, seen, regardless, &drafts).await.map(Json)
}

async fn put_down(
    desk: &Desk,
    job: JobNumber,
    mut seen: i64,
    regardless: bool,
    drafts: &[Draft],
) -> Result<Written, Refused> {
    let mut since = Vec::new();
    loop {
        match desk.append(job, seen, drafts).await? {
            Appended::Written { seq } => return Ok(Written { seq, repeated: false, since }),
            Appended::Repeated { seq } => return Ok(Written { seq, repeated: true, since }),
            Appended::Behind { since: new, seq } if regardless => {
                since.extend(new.into_iter().map(JobEntry::from));
                seen = seq;
            }
            Appended::Behind { since, seq } => return Err(behind::<JobEntry, _>(since, seq)),
        }
    }
}

/// A reading as it is keyed.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct KeyedReading {
    /// The name of the entry, made by the sender: sent again, it is kept once.
    id: EntryId,
    /// Who took it.
    #[schema(min_length = 1, max_length = 200, example = "Rowan Hale")]
    who: String,
    /// When, RFC 3339.
    #[schema(format = DateTime)]
    when: String,
    /// Where: journal, station, and A in line with the throw or B square to it.
    #[schema(pattern = r"^(main|pin)-[1-9][0-9]{0,2}\.(front|middle|rear)\.(a|b)$", example = "main-1.front.a")]
    spot: String,
    /// The keys as they were pressed.
    #[schema(example = "2.1243")]
    typed: String,
    /// Where they came from.
    #[serde(default)]
    source: Source,
    /// The micrometer, by its name in the job; the shop's usual one where none is named.
    #[serde(default)]
    with: Option<String>,
    /// The reading that it puts right, where it is no new one.
    #[serde(default)]
    corrects: Option<EntryId>,
}

/// What a reading turned out to be.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TakenReading {
    /// What came of it.
    outcome: &'static str,
    /// The size, as it is kept.
    size: String,
    /// What the bench says of it.
    says: String,
    /// Where to measure next; absent where nothing is open.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    next: Option<String>,
    /// The place of the last entry of the job.
    seq: i64,
    /// Flags of the job that are not settled.
    flags: Vec<shop::Flag>,
}

/// Take a reading: it is compared with what stands at its spot, looked at beside the others, and kept.
#[utoipa::path(
    post, path = "/api/jobs/{job}/readings", tag = "work", request_body = KeyedReading,
    params(("job" = i64, Path, description = "Its number.", example = 1012)),
    responses(
        (status = 200, body = TakenReading),
        (status = 409, body = Conflict<JobEntry>, description = "The name is another entry's, or the job's book cannot be used."),
        Writing
    )
)]
pub(crate) async fn take(
    State(desk): State<Desk>,
    Number(job): Number,
    Body(told): Body<KeyedReading>,
) -> Result<Json<TakenReading>, Refused> {
    let spot =
        told.spot.parse().map_err(|_| Trouble::field("spot", "There is no such spot. Write it like main-3.rear.a."))?;
    let KeyedReading { id, who, when, typed, source, with, corrects, .. } = told;
    let reading = ReadingIn { id, who, when, spot, typed, source, with, corrects };
    let taken = take_reading(&desk, job, &reading).await?;
    Ok(Json(TakenReading {
        outcome: match taken.outcome {
            Outcome::Saved => "saved",
            Outcome::Agrees => "agrees",
            Outcome::Clashes => "clashes",
            Outcome::Settles => "settles",
            Outcome::Repeated => "repeated",
        },
        size: taken.size,
        says: taken.says,
        next: taken.next.map(|spot| spot.to_string()),
        seq: taken.card.job.seq,
        flags: taken.card.job.flags.clone(),
    }))
}

/// Who undoes or redoes, and what they saw.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Step {
    /// The name of the entry, made by the sender: sent again, it is done once.
    id: EntryId,
    /// Who does it.
    #[schema(min_length = 1, max_length = 200, example = "Rowan Hale")]
    who: String,
    /// When, RFC 3339.
    #[schema(format = DateTime)]
    when: String,
    /// The place of the last entry that was seen.
    #[schema(minimum = 0)]
    seen: i64,
}

/// Undo what was done last.
#[utoipa::path(
    post, path = "/api/jobs/{job}/undo", tag = "work", request_body = Step,
    params(("job" = i64, Path, description = "Its number.", example = 1012)),
    responses(
        (status = 200, body = Written),
        (status = 409, body = Conflict<JobEntry>, description = "Others wrote since, or there is nothing to undo."),
        Writing
    )
)]
pub(crate) async fn undo(
    State(desk): State<Desk>,
    Number(job): Number,
    Body(step): Body<Step>,
) -> Result<Json<Written>, Refused> {
    take_step(&desk, job, step, next_undo, "There is nothing to undo.").await.map(Json)
}

/// Take the last undo back.
#[utoipa::path(
    post, path = "/api/jobs/{job}/redo", tag = "work", request_body = Step,
    params(("job" = i64, Path, description = "Its number.", example = 1012)),
    responses(
        (status = 200, body = Written),
        (status = 409, body = Conflict<JobEntry>, description = "Others wrote since, or there is nothing to put back."),
        Writing
    )
)]
pub(crate) async fn redo(
    State(desk): State<Desk>,
    Number(job): Number,
    Body(step): Body<Step>,
) -> Result<Json<Written>, Refused> {
    take_step(&desk, job, step, next_redo, "There is nothing to put back.").await.map(Json)
}

async fn take_step(
    desk: &Desk,
    job: JobNumber,
    step: Step,
    which: fn(&[Entry], &Job, Words) -> Option<job::undo::Step>,
    nothing: &str,
) -> Result<Written, Refused> {
    let held = desk.job(job).await?;
    if let Some(there) = held.entries.iter().find(|entry| entry.id == step.id)
        && matches!(there.kind, EntryKind::Undo { .. })
        && there.who == step.who
    {
        return Ok(Written { seq: there.seq, repeated: true, since: Vec::new() });
    }
    if step.seen < held.job.seq {
        let since = held.entries.iter().filter(|entry| entry.seq > step.seen).cloned().collect::<Vec<_>>();
        return Err(behind::<JobEntry, _>(since, held.job.seq));
    }
    let words = Words::of_setting(desk.shop().await?.setting("words"));
    let stroke = which(&held.entries, &held.job, words).ok_or_else(|| {
        Trouble::new(axum::http::StatusCode::CONFLICT, nothing, "What was done stands in the history.")
    })?;
    put_down(desk, job, step.seen, false, &stroke.drafts(step.id, &step.who, &step.when)).await
}
