//! The record itself: where it is, backups, whether it is whole, and the example.

use std::path::{Path, PathBuf};

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::{get, post};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use shop::{Checked, Store, StoreError};

use super::{Parts, parts};
use crate::chores::Chore;
use crate::desk::Desk;
use crate::form::Form;
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Fields, Frame, Visitor, go, shop_of, show, show_again};
use crate::wording::count;

pub(super) fn routes() -> Router<Desk> {
    Router::new()
        .route("/shop/record", get(page))
        .route("/shop/backup", post(backup))
        .route("/shop/verify", post(verify))
        .route("/shop/example", post(example))
}

#[derive(Template)]
#[template(path = "record.html")]
struct RecordPage {
    frame: Frame,
    parts: Parts,
    form: Form,
    place: String,
    chores: Vec<Chore>,
    running: bool,
    example: bool,
    example_away: bool,
    can_open: bool,
}

async fn page(State(desk): State<Desk>, visitor: Visitor) -> Answer {
    show(&draw(&desk, &visitor, Form::blank("backup")?).await?)
}

async fn draw(desk: &Desk, visitor: &Visitor, form: Form) -> Result<RecordPage, Trouble> {
    let shop = shop_of(desk).await?;
    let chores = desk.chores.all();
    Ok(RecordPage {
        frame: visitor.frame(&shop, form.title("Record"), "shop"),
        parts: parts("/record"),
        form,
        place: desk.store.place().to_owned(),
        running: chores.iter().any(|chore| chore.ended.is_none()),
        chores,
        example: !desk.store.examples().await?.is_empty(),
        example_away: !desk.store.examples_put_away().await?.is_empty(),
        can_open: desk.example.is_some(),
    })
}

/// Writes a backup into the folder named, or beside the record.
async fn backup(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    let file = match folder(&desk.store, fields.get("folder")) {
        Ok(folder) => folder.join(file_name()),
        Err(says) => {
            let form = Form::again("backup", &fields, vec![Fault::new("folder", says)])?;
            return show_again(&draw(&desk, &visitor, form).await?);
        }
    };
    let store = desk.store.clone();
    let work = async move {
        let checked = store.backup(&file).await.map_err(|error| told(&error))?;
        let mut lines = vec![format!("Written to {}, and looked through: {}.", file.display(), counted(&checked))];
        lines.push("Keep a copy on another computer or a stick.".to_owned());
        Ok(lines)
    };
    desk.chores.begin("backup", work).await;
    Ok(go("/shop/record"))
}

/// Looks the whole record through.
async fn verify(State(desk): State<Desk>, _: Fields) -> Answer {
    let store = desk.store.clone();
    let work = async move {
        let checked = store.verify().await.map_err(|error| told(&error))?;
        if checked.faults.is_empty() {
            return Ok(vec![format!("The record is whole: {}.", counted(&checked))]);
        }
        let mut lines = vec![format!("The record is not whole; {} looked through.", counted(&checked))];
        lines.extend(checked.faults);
        lines.push("Keep the file as it is, restore the last backup into a new one, and look through both.".to_owned());
        Err(lines)
    };
    desk.chores.begin("verify", work).await;
    Ok(go("/shop/record"))
}

async fn example(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    match fields.text("do") {
        "remove" => {
            desk.put_examples_away(&visitor).await?;
            Ok(go("/shop/record"))
        }
        _ => Ok(go(&format!("/jobs/{}", desk.open_example(&visitor).await?))),
    }
}

fn told(error: &StoreError) -> Vec<String> {
    vec![error.happened(), error.safety().to_owned(), error.advice()]
}

fn counted(checked: &Checked) -> String {
    let jobs = count(checked.jobs, "job");
    let entries = if checked.entries == 1 { "1 entry".to_owned() } else { format!("{} entries", checked.entries) };
    format!("{jobs}, {entries}, {}", count(checked.pictures, "photograph"))
}

/// A name that says when it was made.
fn file_name() -> String {
    let now = Timestamp::now().to_zoned_datetime(TimeZone::system());
    format!("backup-{}.tenunder", now.strftime("%Y-%m-%d-%H%M%S"))
}

fn folder(store: &Store, typed: Option<&str>) -> Result<PathBuf, String> {
    let folder = match typed {
        Some(typed) => PathBuf::from(typed),
        None => {
            let record = Path::new(store.place());
            let beside = record.is_file().then(|| record.parent().map(Path::to_path_buf)).flatten();
            let here = |folder: PathBuf| if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder };
            beside.map(here).ok_or("The record is on a server. Name a folder on this computer for the backup.")?
        }
    };
    if typed.is_some_and(|typed| typed.contains(char::is_control)) {
        return Err("The folder’s name has a character that cannot be seen. Type it again.".to_owned());
    }
    if !folder.is_dir() {
        return Err(format!("There is no folder {}. Make it first, or leave the field empty.", folder.display()));
    }
    Ok(std::path::absolute(&folder).unwrap_or(folder))
}
