//! The particulars of a job: whose it is, what the book says, how it is judged, notes, photographs, where it stands.

mod change;

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use shop::{EntryKind, Job, Stage, Value, as_signed, exported, that_count};
use units::{Unit, show_mm};

use crate::bar::Bar;
use crate::desk::Desk;
use crate::form::Form;
use crate::naming::sure;
use crate::pages::book_in::{Choices, choices, engines};
use crate::pages::new_crank::name_of;
use crate::pages::shop::in_100;
use crate::trouble::Trouble;
use crate::visitor::{Answer, Asked, Frame, JobPath, Visitor, shop_of, show, show_with};
use crate::wording::clock;
use job::JobCard;
use job::may::stages_by_hand;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/jobs/{job}/particulars", get(page).post(change::particulars))
        .route("/jobs/{job}/particulars/specification", post(change::specification))
        .route("/jobs/{job}/particulars/policy", post(change::policy))
        .route("/jobs/{job}/particulars/note", post(change::note))
        .route("/jobs/{job}/particulars/stage", post(change::stage))
        .route("/jobs/{job}/particulars/away", post(change::away))
        .route("/jobs/{job}/sheet.toml", get(sheet))
}

/// The forms of the page, each named by its part.
const PARTS: [&str; 7] = ["about", "book", "policy", "note", "stage", "away", "photo"];

/// A photograph as it is shown.
struct Photo {
    hash: String,
    caption: String,
    journal: String,
}

#[derive(Template)]
#[template(path = "particulars.html")]
struct ParticularsPage {
    frame: Frame,
    bar: Bar,
    about: Form,
    /// What a name that looks like another's is asked about.
    sure: Choices,
    book: Form,
    policy: Form,
    note: Form,
    stage: Form,
    away: Form,
    photo: Form,
    engines: Choices,
    book_name: String,
    /// What is wrong with the specification, or odd about it.
    book_says: Vec<String>,
    book_note: String,
    unit: &'static str,
    axes: Choices,
    datums: Choices,
    polishes: Choices,
    yes_no: Choices,
    stages: Choices,
    journals: Choices,
    /// Who and when, and the words.
    notes: Vec<(String, String)>,
    photos: Vec<Photo>,
}

async fn page(State(desk): State<Desk>, JobPath(number): JobPath, visitor: Visitor) -> Answer {
    show(&draw(&desk, &visitor, number, None).await?)
}

/// The page with one of its forms as it came back.
pub(super) async fn came_back(desk: &Desk, visitor: &Visitor, number: i64, form: Form, status: StatusCode) -> Answer {
    show_with(status, &draw(desk, visitor, number, Some(form)).await?)
}

async fn draw(desk: &Desk, visitor: &Visitor, number: i64, back: Option<Form>) -> Result<ParticularsPage, Trouble> {
    let held = desk.job(number).await?;
    let shop = shop_of(desk).await?;
    let job = &held.job;
    let title = format!("Job {number}: particulars");
    let title = if back.is_some() { format!("Error: {title}") } else { title };
    let mut forms = Vec::new();
    for part in PARTS {
        let usual = match part {
            "about" => about(job)?,
            "policy" => policy_form(job)?,
            "stage" => Form::blank(part)?.with("to", job.stage.name()),
            "book" => Form::blank(part)?.with("text", book_text(job)),
            _ => Form::blank(part)?,
        };
        forms.push(match &back {
            Some(form) if form.part() == part => form.clone(),
            _ => usual,
        });
    }
    let Ok([about, book, policy, note, stage, away, photo]) = <[Form; 7]>::try_from(forms) else {
        return Err(Trouble::fault("a form is missing"));
    };
    let frame = visitor.frame(&shop, title, "jobs");
    let mut list = choices(&[("", "Keep it")]);
    list.extend(engines(desk, &shop).into_iter().map(|(value, book)| (value, name_of(&book).to_owned())));
    list.push(("text".to_owned(), "As changed in the text below".to_owned()));
    let mut journals = choices(&[("", "The whole crank")]);
    if let Ok(known) = &held.book {
        journals.extend(known.journals().map(|id| (id.to_string(), frame.words.journal(id))));
    }
    let (book_says, book_note) = said_of(&held);
    let photos = job.photographs.iter().map(|photo| Photo {
        hash: photo.picture.clone(),
        caption: photo.caption.clone(),
        journal: photo.journal.as_deref().map(|journal| frame.words.journal_named(journal)).unwrap_or_default(),
    });
    Ok(ParticularsPage {
        bar: Bar::of(job, "particulars"),
        about,
        sure: sure(),
        book,
        policy,
        note,
        stage,
        away,
        photo,
        engines: list,
        book_name: job.document.get("specification").map(name_of).unwrap_or("No specification").to_owned(),
        book_says,
        book_note,
        unit: if unit_of(job) == Unit::Inch { "inches" } else { "millimetres" },
        axes: choices(&[
            ("held", "Held: grind on the present main axis"),
            ("throws", "Throws: the mains where they are, each pin within its throw and index tolerances"),
            ("free", "Free: on the best axis within the throw and index tolerances"),
        ]),
        datums: choices(&[("fixed", "Fixed: a key or dowel ties the throws"), ("free", "Free: all may turn together")]),
        polishes: choices(&[("before treatment", "Before treatment"), ("after treatment", "After treatment")]),
        yes_no: choices(&[("false", "No"), ("true", "Yes")]),
        stages: stages(job),
        journals,
        notes: notes(&held),
        photos: photos.collect(),
        frame,
    })
}

/// The stages to move to by hand, and the one it is at.
fn stages(job: &Job) -> Choices {
    let all = Stage::ALL.into_iter().filter(|stage| *stage == job.stage || stages_by_hand().any(|own| own == *stage));
    all.map(|stage| (stage.name().to_owned(), stage.words().to_owned())).collect()
}

fn about(job: &Job) -> Result<Form, Trouble> {
    let booked = &job.booked_in;
    Ok(Form::blank("about")?
        .with("mark", &booked.mark)
        .with("customer", &booked.customer)
        .with("telephone", &booked.telephone)
        .with("crank", &booked.crank)
        .with("promised", booked.promised.clone().unwrap_or_default()))
}

/// The keys of the policy that this page changes, with the usual value where the job has none of its own.
pub(super) fn policy_now(job: &Job) -> Vec<(&'static str, String)> {
    let unit = unit_of(job);
    let usual = regrind::Policy::usual(unit);
    let length = |mm: f64| show_mm(mm, unit, 4);
    let told = |key: &str| match job.document.get("policy").and_then(|policy| policy.get(key)) {
        Some(Value::Truth(truth)) => Some(truth.to_string()),
        Some(value) => value.as_typed().map(str::to_owned),
        None => None,
    };
    [
        ("confidence", usual.confidence.to_string()),
        ("clean_up_stock", length(usual.clean_up_stock_mm)),
        ("axis", "held".to_owned()),
        ("index_datum", "fixed".to_owned()),
        ("polish", "before treatment".to_owned()),
        ("polish_stock", length(usual.polish_stock_mm)),
        ("finish_stock", length(usual.finish_stock_mm)),
        ("grinding_spread", length(usual.grinding_spread_mm)),
        ("set_up_error", length(usual.set_up_error_mm)),
        ("build_up", "false".to_owned()),
    ]
    .map(|(key, usual)| (key, told(key).unwrap_or(usual)))
    .to_vec()
}

fn policy_form(job: &Job) -> Result<Form, Trouble> {
    let mut form = Form::blank("policy")?;
    for (key, value) in policy_now(job) {
        let shown = if key == "confidence" { in_100(&value).unwrap_or(value) } else { value };
        form = form.with(key, shown);
    }
    Ok(form)
}

pub(super) fn unit_of(job: &Job) -> Unit {
    if job.document.words("units") == Some("mm") { Unit::Millimetre } else { Unit::Inch }
}

fn book_text(job: &Job) -> String {
    job.document.get("specification").map(Value::to_toml).unwrap_or_default()
}

/// What is wrong with the specification or odd about it, and the note it carries.
fn said_of(held: &JobCard) -> (Vec<String>, String) {
    let Some(book) = held.job.document.get("specification") else { return (Vec::new(), String::new()) };
    let note = book.words("note").unwrap_or_default().to_owned();
    match &held.book {
        Err(faults) => (faults.clone(), note),
        Ok(_) => (crate::pages::new_crank::queries(book), note),
    }
}

/// Notes that were not undone, the latest first.
fn notes(held: &JobCard) -> Vec<(String, String)> {
    that_count(&held.entries)
        .rev()
        .filter_map(|entry| match &entry.kind {
            EntryKind::Note { text } => Some((format!("{}, {}", entry.who, clock(&entry.when)), text.clone())),
            _ => None,
        })
        .collect()
}

/// The sheet as a file; of a signed revision where one is named.
async fn sheet(State(desk): State<Desk>, JobPath(number): JobPath, Asked(asked): Asked) -> Answer {
    let held = desk.job(number).await?;
    let (text, name) = match asked.get("revision") {
        None => (exported(&held.job), format!("job-{number}.toml")),
        Some(revision) => {
            let signed = revision.parse().ok().and_then(|revision: u32| as_signed(&held.entries, revision));
            let signed = signed.ok_or_else(|| {
                Trouble::not_found("No such revision of this job was signed.", "Its history lists those that were.")
            })?;
            (exported(&signed), format!("job-{number}-revision-{}.toml", signed.revision))
        }
    };
    let headers = [
        (header::CONTENT_TYPE, "application/toml; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
    ];
    let response: Response = (headers, text).into_response();
    Ok(response)
}
