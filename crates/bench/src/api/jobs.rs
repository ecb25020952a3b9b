//! Jobs: the list, booking in, and everything that is read of one.

use std::time::Duration;

use axum::Json;
use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use shop::{BookedIn, Draft, EntryId, EntryKind, Head, HistoryLine, Job, JobList, Stage, Value, Wanted, history};
use utoipa::{IntoParams, ToSchema};

use super::answers::{Asking, Conflict, Refused, Writing};
use super::ask::{Asked, Body, Named, Number};
use super::lines::JobEntry;
use crate::desk::{Desk, KnownEngine};
use crate::judged::{Judgement, as_decided};
use crate::naming::surely;
use crate::oil_question::oil_question;
use crate::pages::book_in::{sheet_for, with_zero};
use crate::trouble::{Fault, Trouble};
use crate::wording::Words;
use job::JobCard;
use job::plan_sheet::PlanSheet;
use job::undo::derived;

/// What is no word or figure but a table of them.
type Table = Value;

/// The longest that a verdict is waited for.
const MOST_WAIT_MS: u64 = 20_000;

#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct WhichJobs {
    /// Only those at this stage of work; without one all but the collected, or all that the search finds.
    #[param(nullable = false)]
    stage: Option<Stage>,
    /// Words of the number, mark, customer or crank, or the end of the telephone number.
    #[serde(default)]
    search: String,
    /// Those put away instead of the others.
    #[serde(default)]
    put_away: bool,
    /// The page, from 0; fifty jobs each.
    #[serde(default)]
    page: u32,
}

/// Jobs by what was last written to, latest first.
#[utoipa::path(get, path = "/api/jobs", tag = "jobs", params(WhichJobs), responses((status = 200, body = JobList), Asking))]
pub(crate) async fn list(State(desk): State<Desk>, Asked(which): Asked<WhichJobs>) -> Result<Json<JobList>, Refused> {
    let WhichJobs { stage, search, put_away, page } = which;
    Ok(Json(desk.store.jobs(&Wanted { stage, search, put_away, page }).await?))
}

/// A crank that comes in.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct CrankIn {
    /// The name of the first entry, made by the sender: sent again, it is the same job.
    id: EntryId,
    /// Who books it in.
    #[schema(min_length = 1, max_length = 200, example = "Pat Oakley")]
    who: String,
    /// When, RFC 3339.
    #[schema(format = DateTime)]
    when: String,
    /// The shop's mark on the core.
    #[serde(default)]
    #[schema(max_length = 200)]
    mark: String,
    /// Whose it is.
    #[serde(default)]
    #[schema(max_length = 200)]
    customer: String,
    /// How to reach them.
    #[serde(default)]
    #[schema(max_length = 200)]
    telephone: String,
    /// The day it was promised for.
    #[serde(default)]
    #[schema(format = Date)]
    promised: Option<String>,
    /// What it is.
    what: What,
    /// Whether names that look like others, or mix alphabets, are right as they are; such names are refused without it.
    #[serde(default)]
    sure: bool,
}

/// What a crank is.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(crate) enum What {
    /// One that the shop or the program knows by this name.
    #[schema(example = "tarn-four")]
    Engine(String),
    /// One with this specification, in the format of specifications.
    Specification(Table),
    /// A whole sheet, with what was measured already. Its specification may be the name of a known engine.
    Sheet(Table),
}

/// A job that was booked in.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Booked {
    /// Its number.
    job: i64,
    /// The place of its last entry.
    seq: i64,
    /// Whether it was booked in before under the same name.
    repeated: bool,
}

/// Book a crank in.
#[utoipa::path(
    post, path = "/api/jobs", tag = "jobs", request_body = CrankIn,
    responses(
        (status = 201, body = Booked, headers(("Location" = String, description = "Where the job is."))),
        (status = 409, body = Conflict<JobEntry>, description = "The name is another entry's."),
        Writing
    )
)]
pub(crate) async fn book_in(State(desk): State<Desk>, Body(crank): Body<CrankIn>) -> Result<Response, Refused> {
    let sure = crank.sure;
    let drafts = drafts(&desk, crank).await?;
    if !sure {
        surely(desk.odd_marks_and_customers(&drafts).await?)?;
    }
    let shop::BookedJob { job, seq, repeated } = desk.store.book_in(&drafts).await?;
    let mut response = (StatusCode::CREATED, Json(Booked { job, seq, repeated })).into_response();
    if let Ok(place) = HeaderValue::from_str(&format!("/api/jobs/{job}")) {
        response.headers_mut().insert(header::LOCATION, place);
    }
    Ok(response)
}

/// The lines that book a crank in.
async fn drafts(desk: &Desk, crank: CrankIn) -> Result<Vec<Draft>, Refused> {
    let engines = Engines { known: desk.engines.clone(), shop: desk.shop().await? };
    let sheet = match crank.what {
        What::Engine(name) => {
            let book = engines.book(&name).ok_or_else(|| {
                let shown: String = name.chars().take(80).collect();
                Trouble::field("what.engine", format!("No engine \"{shown}\" is known here."))
            })?;
            with_the_shops_own(&engines.shop, &name, &book)?
        }
        What::Specification(book) => {
            let name = book.words("name").unwrap_or_default().to_owned();
            with_the_shops_own(&engines.shop, &name, &book)?
        }
        What::Sheet(sheet) => {
            let told = sheet.to_json();
            if let Err(problems) = sheet::read_sheet("what.sheet", &told, &engines) {
                return Err(from_problems(&problems).into());
            }
            let whole =
                sheet::whole_sheet("what.sheet", &told, &engines).map_err(|problems| from_problems(&problems))?;
            Value::from_json(&whole).map_err(Trouble::fault)?
        }
    };
    if let Some(book) = sheet.get("specification") {
        check_specification("what.specification", book)?;
    }
    let mut count = 0_usize;
    let fresh = || {
        count += 1;
        if count == 1 { crank.id } else { derived(crank.id, &format!("row {count}")) }
    };
    let mut drafts = shop::brought_in(sheet, None, &crank.who, &crank.when, fresh)
        .map_err(|error| Trouble::field("what.sheet", format!("{error}.")))?;
    if let Some(Draft { kind: EntryKind::BookedIn(booked), .. }) = drafts.first_mut() {
        let told = |new: String, old: String| if new.is_empty() { old } else { new };
        *booked = BookedIn {
            mark: told(crank.mark, std::mem::take(&mut booked.mark)),
            customer: crank.customer,
            telephone: crank.telephone,
            crank: std::mem::take(&mut booked.crank),
            promised: crank.promised,
            sheet: std::mem::replace(&mut booked.sheet, Value::Table(Vec::new())),
            example: false,
        };
    }
    Ok(drafts)
}

/// The sheet that a crank starts with, as booking in on the page makes it: the shop's rule, prices and micrometers.
fn with_the_shops_own(shop: &shop::Shop, engine: &str, book: &Value) -> Result<Value, Trouble> {
    check_specification("what.specification", book)?;
    let units = book.words("units").unwrap_or("in");
    let (mut sheet, wrong) = sheet_for(shop, engine, book, units);
    if let Some(wrong) = wrong {
        return Err(Trouble::field("what", wrong.says));
    }
    if !shop.instruments.is_empty() {
        sheet.set("instrument", Value::List(shop.instruments.iter().map(with_zero).collect()));
    }
    Ok(sheet)
}

/// Refuses a specification that cannot be used.
pub(crate) fn check_specification(field: &str, book: &Value) -> Result<(), Trouble> {
    let (printed, _) =
        sheet::read_specification(field, &book.to_json()).map_err(|problems| from_problems(&problems))?;
    let faults = match crank::Specification::from_printed(&printed) {
        Ok(_) => return Ok(()),
        Err(faults) => faults,
    };
    let fault = |fault: &crank::SpecProblem| {
        let mut says = format!("Found {}, expected {}; {}.", fault.found, fault.expected, fault.cause);
        if !fault.confirm.is_empty() {
            let keys: Vec<String> = fault.confirm.iter().map(|key| format!("{key:?}")).collect();
            says += &format!(
                " If the book really says so, send \"confirmed\": [{}] with the specification.",
                keys.join(", ")
            );
        }
        Fault::new(&format!("{field}.{}", fault.key), says)
    };
    Err(Trouble::fields(faults.iter().map(fault).collect()))
}

pub(super) fn from_problems(problems: &[sheet::Problem]) -> Trouble {
    let fault = |problem: &sheet::Problem| {
        let says = format!("Found {}, expected {}; {}.", problem.found, problem.expected, problem.advice);
        Fault::new(&format!("{}.{}", problem.file, problem.key), says)
    };
    Trouble::fields(problems.iter().map(fault).collect())
}

/// The engines that a sheet may name.
struct Engines {
    known: std::sync::Arc<[KnownEngine]>,
    shop: std::sync::Arc<shop::Shop>,
}

impl Engines {
    fn book(&self, name: &str) -> Option<Value> {
        let name = name.strip_suffix(".toml").unwrap_or(name);
        if let Some(book) = self.shop.specification(name) {
            return Some(book.clone());
        }
        let known = self.known.iter().find(|engine| engine.name == name)?;
        Value::from_text(&known.text).ok()
    }
}

impl sheet::Library for Engines {
    fn text(&self, name: &str) -> Result<String, String> {
        self.book(name).map(|book| book.to_json()).ok_or_else(|| "no engine of that name is known here".to_owned())
    }
}

/// A job as it stands: what its entries add up to.
#[utoipa::path(
    get, path = "/api/jobs/{job}", tag = "jobs", params(("job" = i64, Path, description = "Its number.", example = 1001)),
    responses((status = 200, body = Job), Asking)
)]
pub(crate) async fn job(State(desk): State<Desk>, Number(job): Number) -> Result<Response, Refused> {
    Ok(Json(&*desk.job(job).await?.job).into_response())
}

/// The sheet of a job: what was measured before grinding, as `tenunder assess` reads it.
#[utoipa::path(
    get, path = "/api/jobs/{job}/sheet", tag = "jobs", params(("job" = i64, Path, description = "Its number.", example = 1001)),
    responses((status = 200, body = Table), Asking)
)]
pub(crate) async fn sheet(State(desk): State<Desk>, Number(job): Number) -> Result<Response, Refused> {
    Ok(Json(&desk.job(job).await?.job.document).into_response())
}

#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct Patience {
    /// How long to wait for it, in milliseconds.
    #[param(minimum = 0, maximum = 20_000, default = 5_000)]
    wait_ms: Option<u64>,
}

/// What is judged within somebody's patience, whether it knows of all entries, and the share that is done, in 100.
async fn judged_in(desk: &Desk, card: &JobCard, patience: &Patience) -> (Judgement, bool, usize) {
    let wait = Duration::from_millis(patience.wait_ms.unwrap_or(5_000).min(MOST_WAIT_MS));
    let judgement = desk.judges.judge(card, wait).await;
    let (current, done) = match &judgement {
        Judgement::Working { done, .. } => (false, *done),
        Judgement::NothingYet | Judgement::Ready(_) => (true, 100),
    };
    (judgement, current, done)
}

/// What the readings say.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct JobVerdict {
    /// Whether the answer knows of all entries. Where it does not, it is still being worked out: ask again.
    current: bool,
    /// The share of the work that is done, in 100.
    #[schema(minimum = 0, maximum = 100)]
    done: usize,
    /// The place of the last entry that the answer knows of.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    seq: Option<i64>,
    /// The answer, the same as `tenunder assess --json` gives; absent where nothing is measured, or not worked out yet.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Object, nullable = false)]
    answer: Option<serde_json::Value>,
    /// What is wrong with the sheet, where it cannot be judged.
    problems: Vec<Fault>,
}

/// The verdict on a job as it stands.
#[utoipa::path(
    get, path = "/api/jobs/{job}/verdict", tag = "jobs",
    params(("job" = i64, Path, description = "Its number.", example = 1001), Patience),
    responses((status = 200, body = JobVerdict), Asking)
)]
pub(crate) async fn verdict(
    State(desk): State<Desk>,
    Number(job): Number,
    Asked(patience): Asked<Patience>,
) -> Result<Json<JobVerdict>, Refused> {
    let held = desk.job(job).await?;
    let (judgement, current, done) = judged_in(&desk, &held, &patience).await;
    let mut told = JobVerdict { current, done, seq: None, answer: None, problems: Vec::new() };
    if let Some((judged, _)) = judgement.latest() {
        told.seq = Some(judged.seq);
        match &judged.answer {
            Ok((sheet, verdict)) => told.answer = Some(sheet::answer(sheet, verdict)),
            Err(problems) => told.problems = from_problems(problems).told.fields,
        }
    }
    Ok(Json(told))
}

/// What the bearings of a job say.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct JobFit {
    /// Whether the answer knows of all entries. Where it does not, it is still being worked out: ask again.
    current: bool,
    /// The share of the work that is done, in 100.
    #[schema(minimum = 0, maximum = 100)]
    done: usize,
    /// The place of the last entry that the answer knows of.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    seq: Option<i64>,
    /// The answer: as `tenunder fit --json` gives it, with each set as it was decided. Absent where nothing is measured,
    /// or not worked out yet.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Object, nullable = false)]
    answer: Option<serde_json::Value>,
    /// What is wrong with the sheet, where it cannot be judged.
    problems: Vec<Fault>,
}

/// Clearances, sizes, shells given out, the order and what must stop, for the bearings of a job.
#[utoipa::path(
    get, path = "/api/jobs/{job}/fit", tag = "jobs",
    params(("job" = i64, Path, description = "Its number.", example = 1001), Patience),
    responses((status = 200, body = JobFit), Asking)
)]
pub(crate) async fn fit_of(
    State(desk): State<Desk>,
    Number(job): Number,
    Asked(patience): Asked<Patience>,
) -> Result<Json<JobFit>, Refused> {
    let held = desk.job(job).await?;
    let (judgement, current, done) = judged_in(&desk, &held, &patience).await;
    let mut told = JobFit { current, done, seq: None, answer: None, problems: Vec::new() };
    if let Some((judged, _)) = judgement.latest() {
        told.seq = Some(judged.seq);
        match (&judged.answer, &judged.fit) {
            (Ok((sheet, verdict)), Some(fit)) => {
                let decided = as_decided(&held.job, sheet, verdict);
                let quote = sheet.quote(&decided, Some(fit));
                told.answer = Some(sheet::fit_answer(sheet, fit, &quote));
            }
            (Err(problems), _) => told.problems = from_problems(problems).told.fields,
            _ => {}
        }
    }
    Ok(Json(told))
}

/// What the oil makes of a job's clearances.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct JobOil {
    /// Where the clearances come from, and what else was taken for granted.
    notes: Vec<String>,
    /// Film, heat and gauge pressure in SI units, as `tenunder film --json` gives them. Absent where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Object, nullable = false)]
    answer: Option<serde_json::Value>,
    /// Why there is no answer.
    problems: Vec<String>,
}

/// Film, heat and gauge pressure with the clearances as found, as planned, and at the book's upper limit.
#[utoipa::path(
    get, path = "/api/jobs/{job}/oil", tag = "jobs",
    params(("job" = i64, Path, description = "Its number.", example = 1001)),
    responses((status = 200, body = JobOil), Asking)
)]
pub(crate) async fn oil_of(State(desk): State<Desk>, Number(job): Number) -> Result<Json<JobOil>, Refused> {
    let held = desk.job(job).await?;
    let question = match oil_question(&desk, &held).await {
        Ok(question) => question,
        Err(says) => return Ok(Json(JobOil { notes: Vec::new(), answer: None, problems: vec![says] })),
    };
    let notes = question.asked.notes;
    let told = match desk.oil_answers.of(&question.asked.case).await? {
        Ok(answer) => {
            let answer = serde_json::to_value(&*answer).map_err(|error| Trouble::fault(error.to_string()))?;
            JobOil { notes, answer: Some(answer), problems: Vec::new() }
        }
        Err(problems) => {
            JobOil { notes, answer: None, problems: problems.0.iter().map(|problem| format!("{problem}.")).collect() }
        }
    };
    Ok(Json(told))
}

/// What a sheet for the grinder would carry as the job is decided: the `plan` of the entry that issues one.
#[utoipa::path(
    get, path = "/api/jobs/{job}/plan", tag = "jobs", params(("job" = i64, Path, description = "Its number.", example = 1001)),
    responses(
        (status = 200, body = Table),
        (status = 409, body = crate::trouble::Told, description = "The job's sheet cannot be read."),
        Asking
    )
)]
pub(crate) async fn plan(State(desk): State<Desk>, Number(job): Number) -> Result<Json<Value>, Refused> {
    let held = desk.job(job).await?;
    let plan = held.sheet().map(|sheet| PlanSheet::of(&held.job, sheet).to_value());
    plan.map(Json).map_err(|problems| {
        let mut trouble = from_problems(problems);
        trouble.status = StatusCode::CONFLICT;
        trouble.into()
    })
}

/// The history of a job in words.
#[utoipa::path(
    get, path = "/api/jobs/{job}/history", tag = "jobs", params(("job" = i64, Path, description = "Its number.", example = 1001)),
    responses((status = 200, body = Vec<HistoryLine>), Asking)
)]
pub(crate) async fn history_of(
    State(desk): State<Desk>,
    Number(job): Number,
) -> Result<Json<Vec<HistoryLine>>, Refused> {
    let held = desk.job(job).await?;
    let words = Words::of_setting(desk.shop().await?.setting("words"));
    Ok(Json(history(&held.entries, words)))
}

/// The jobs of a batch for treatment.
#[utoipa::path(
    get, path = "/api/batches/{batch}", tag = "jobs", params(("batch" = String, Path, description = "What it is called.", example = "N-31")),
    responses((status = 200, body = Vec<Head>), Asking)
)]
pub(crate) async fn batch(State(desk): State<Desk>, Named(batch): Named) -> Result<Json<Vec<Head>>, Refused> {
    Ok(Json(desk.store.jobs_in_batch(&batch).await?))
}
