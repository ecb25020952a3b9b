//! The shop's micrometers, and how they did on their setting standards.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use shop::{ShopInstrument, ShopKind, Value};
use units::{Unit, read};

use super::{Parts, line, parts};
use crate::desk::Desk;
use crate::form::{Form, NotWritten};
use crate::pages::book_in::{Choices, choices};
use crate::trial;
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Asked, Fields, Frame, Visitor, form_id, go, shop_of, show, show_with};
use crate::wording::day;

pub(super) fn routes() -> Router<Desk> {
    Router::new().route("/shop/micrometers", get(page).post(change))
}

/// One micrometer as the page shows it.
struct Shown {
    name: String,
    facts: Vec<(&'static str, String)>,
    /// Day, standard, what it read, who; latest first.
    checks: Vec<[String; 4]>,
    id: String,
    away_id: String,
    query: String,
    /// The form of a trial, where it came back.
    form: Form,
}

#[derive(Template)]
#[template(path = "micrometers.html")]
struct MicrometersPage {
    frame: Frame,
    parts: Parts,
    form: Form,
    units: Choices,
    reads: Choices,
    shown: Vec<Shown>,
    changing: bool,
}

/// Fields of the form that are keys of the row, besides the range.
const KEYS: [&str; 4] = ["kind", "graduation", "error_limit", "repeatability"];

async fn page(State(desk): State<Desk>, visitor: Visitor, Asked(asked): Asked) -> Answer {
    let shop = shop_of(&desk).await?;
    let mut form = Form::blank("mic")?;
    let known = asked.get("change").and_then(|name| shop.instruments.iter().find(|known| known.name == name));
    match known {
        Some(known) => form = filled(form, known),
        None => form = form.with("units", shop.setting("units").filter(|units| *units != "both").unwrap_or("in")),
    }
    show(&draw(&visitor, &shop, form, None, known.is_some())?)
}

fn filled(mut form: Form, known: &ShopInstrument) -> Form {
    let typed = |key: &str| known.row.get(key).and_then(Value::as_typed).unwrap_or_default().to_owned();
    for key in ["name", "units"].into_iter().chain(KEYS) {
        form = form.with(key, typed(key));
    }
    let range = known.row.get("range").map(Value::items).unwrap_or_default();
    let end = |n: usize| range.get(n).and_then(Value::as_typed).unwrap_or_default();
    form.with("low", end(0)).with("high", end(1))
}

fn draw(
    visitor: &Visitor,
    shop: &shop::Shop,
    form: Form,
    tried: Option<(&str, Form)>,
    changing: bool,
) -> Result<MicrometersPage, Trouble> {
    let mut shown = Vec::new();
    for (nth, known) in (1..).zip(&shop.instruments) {
        let form = match &tried {
            Some((name, form)) if *name == known.name => form.clone(),
            _ => Form::blank("trial")?,
        };
        let form = form.nth(nth);
        let facts = [
            ("Range", "range"),
            ("Graduation", "graduation"),
            ("Scale good to", "error_limit"),
            ("Repeats to", "repeatability"),
        ];
        let unit = known.row.words("units").unwrap_or_default();
        let fact = |(word, key)| {
            let typed = match known.row.get(key)? {
                Value::List(ends) => ends.iter().filter_map(Value::as_typed).collect::<Vec<_>>().join(" to "),
                value => value.as_typed()?.to_owned(),
            };
            Some((word, format!("{typed} {unit}")))
        };
        let check = |check: &shop::StandardCheck| {
            [day(&check.when), check.standard.clone(), check.reads.clone(), check.who.clone()]
        };
        shown.push(Shown {
            name: known.name.clone(),
            facts: facts.into_iter().filter_map(fact).collect(),
            checks: known.checks.iter().rev().map(check).collect(),
            id: form.id.clone(),
            away_id: form_id()?,
            query: form_urlencoded::Serializer::new(String::new()).append_pair("change", &known.name).finish(),
            form,
        });
    }
    let faulty = form.is_faulty() || tried.is_some();
    let title = if faulty { "Error: Micrometers" } else { "Micrometers" };
    Ok(MicrometersPage {
        frame: visitor.frame(shop, title, "shop"),
        parts: parts("/micrometers"),
        form,
        units: choices(&[("in", "Inches"), ("mm", "Millimetres")]),
        reads: choices(&[("right", "Reads right"), ("high", "Reads high"), ("low", "Reads low")]),
        shown,
        changing,
    })
}

async fn change(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    let trial = fields.text("do") == "trial";
    let kind = match fields.text("do") {
        "away" => Ok(ShopKind::InstrumentPutAway { name: fields.text("name").to_owned() }),
        "trial" => trial_of(&desk, &fields).await,
        _ => instrument(&desk, &fields).await,
    };
    let written = match kind {
        Ok(kind) => desk.write_to_shop(&[line(&fields, &visitor, kind)?]).await,
        Err(error) => Err(error),
    };
    match written {
        Ok(()) => Ok(go("/shop/micrometers")),
        Err(NotWritten::Again(status, faults)) => {
            let shop = shop_of(&desk).await?;
            let (form, tried) = if trial {
                (Form::blank("mic")?, Some((fields.text("instrument"), Form::again("trial", &fields, faults)?)))
            } else {
                (Form::again("mic", &fields, faults)?, None)
            };
            show_with(status, &draw(&visitor, &shop, form, tried, fields.get("old").is_some())?)
        }
        Err(NotWritten::Trouble(trouble)) => Err(trouble),
    }
}

/// The row of a micrometer as typed.
async fn instrument(desk: &Desk, fields: &Fields) -> Result<ShopKind, NotWritten> {
    let mut faults = Vec::new();
    let name = fields.need("name", "Enter the shop’s name for it, like mic 2-3.", &mut faults);
    let units = if fields.text("units") == "mm" { "mm" } else { "in" };
    let mut row = Value::table([("name", Value::from(name)), ("units", Value::from(units))]);
    match (fields.get("low"), fields.get("high")) {
        (Some(low), Some(high)) => row.set("range", Value::List(vec![Value::typed(low), Value::typed(high)])),
        (None, None) => {}
        (low, _) => {
            let missing = if low.is_none() { "low" } else { "high" };
            faults.push(Fault::new(missing, "Enter both ends of the range, like 2 and 3, or neither."));
        }
    }
    for key in KEYS {
        if let Some(text) = fields.get(key) {
            row.set(key, if key == "kind" { Value::from(text) } else { Value::typed(text) });
        }
    }
    let there = desk.shop().await?.instruments.iter().any(|known| known.name == name);
    if there && fields.get("old") != Some(name) && desk.store.place_of(fields.id()?).await?.is_none() {
        let says =
            format!("There is a micrometer called {name} already. Give this one another name, or change that one.");
        faults.push(Fault::new("name", says));
    }
    for problem in trial::problems(None, units, &[("instrument", Value::List(vec![row.clone()]))]) {
        let key = problem.key.split_once("].").map_or("", |(_, key)| key);
        let key = key.split('[').next().unwrap_or(key);
        let field = if key == "range" { "low" } else { key };
        if !faults.iter().any(|fault: &Fault| fault.field == field) {
            faults.push(Fault::new(field, trial::sentence(&problem)));
        }
    }
    if faults.is_empty() { Ok(ShopKind::Instrument { row }) } else { Err(faults.into()) }
}

/// A trial on a setting standard: right, or high or low by so much.
async fn trial_of(desk: &Desk, fields: &Fields) -> Result<ShopKind, NotWritten> {
    let mut faults = Vec::new();
    let name = fields.text("instrument");
    let shop = desk.shop().await?;
    let Some(known) = shop.instruments.iter().find(|known| known.name == name) else {
        let says = "That micrometer is not in the list any more. Load the page again.";
        return Err(vec![Fault::new("", says)].into());
    };
    let unit = if known.row.words("units") == Some("mm") { Unit::Millimetre } else { Unit::Inch };
    let standard = fields.need("standard", "Enter the size of the setting standard, like 2.0000.", &mut faults);
    let by = fields.get("by");
    let sound = |text: &str| read(text, unit).is_ok_and(|entry| entry.mm > 0.0);
    if !standard.is_empty() && !sound(standard) {
        faults.push(Fault::new("standard", "The standard must be a size, like 2.0000."));
    }
    let bare = |by: &str| by.trim_start_matches(['+', '-', '−']).trim().to_owned();
    let reads = match (fields.text("reads"), by) {
        ("right", None) => "0".to_owned(),
        ("right", Some(by)) if read(by, unit).is_ok_and(|entry| entry.mm == 0.0) => "0".to_owned(),
        ("right", Some(_)) => {
            faults.push(Fault::new("reads", "It reads right, yet it is out by something. Choose high or low."));
            String::new()
        }
        (sense @ ("high" | "low"), Some(by)) if sound(&bare(by)) => {
            format!("{}{}", if sense == "low" { "-" } else { "+" }, bare(by))
        }
        ("high" | "low", _) => {
            faults.push(Fault::new("by", "Enter by how much it reads high or low, like 0.0001."));
            String::new()
        }
        _ => {
            faults.push(Fault::new("reads", "Say whether it reads right, high or low on its standard."));
            String::new()
        }
    };
    let mut row = known.row.clone();
    row.set("zero", Value::typed(&reads));
    if faults.is_empty() {
        let units = known.row.words("units").unwrap_or("in");
        let problems = trial::problems(None, units, &[("instrument", Value::List(vec![row]))]);
        faults.extend(problems.iter().map(|problem| Fault::new("by", trial::sentence(problem))));
    }
    if !faults.is_empty() {
        return Err(faults.into());
    }
    Ok(ShopKind::InstrumentChecked { instrument: name.to_owned(), standard: standard.to_owned(), reads })
}
