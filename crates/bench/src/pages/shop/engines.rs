//! Engines that can be chosen when a crank is booked in.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::http::StatusCode;
use axum::routing::get;
use regrind::words::in_hundred;
use shop::ShopKind;

use super::{Parts, line, parts};
use crate::desk::Desk;
use crate::form::{Form, NotWritten};
use crate::pages::book_in::{EngineFields, known_books, name_taken};
use crate::pages::new_crank::{self, Typed, name_of};
use crate::trouble::Trouble;
use crate::visitor::{Answer, Asked, Fields, Frame, Visitor, form_id, go, shop_of, show, show_with};

pub(super) fn routes() -> Router<Desk> {
    Router::new().route("/shop/engines", get(page).post(change)).route("/shop/engines/new", get(new).post(add))
}

#[derive(Template)]
#[template(path = "engines.html")]
struct EnginesPage {
    frame: Frame,
    parts: Parts,
    /// The name it is kept under, what it is called, and the name of the entry that puts it away.
    own: Vec<(String, String, String)>,
    known: Vec<String>,
    asked: WhichAsked,
}

/// What is this?: what was typed, what is wrong with it, and the answer.
#[derive(Default)]
struct WhichAsked {
    sizes: String,
    mains: String,
    faults: Vec<String>,
    found: Option<sheet::WhichAnswer>,
}

impl WhichAsked {
    /// Nothing is asked where no size was typed.
    fn of(fields: &Fields, desk: &Desk, shop: &shop::Shop) -> WhichAsked {
        let (sizes, mains) = (fields.text("sizes").trim().to_owned(), fields.text("mains").trim().to_owned());
        let mut asked = WhichAsked { sizes, mains, ..WhichAsked::default() };
        if asked.sizes.is_empty() {
            return asked;
        }
        let count = asked.mains.parse::<usize>();
        if !asked.mains.is_empty() && count.is_err() {
            asked.faults.push(format!("{} is no number of mains.", asked.mains));
        }
        match sheet::read_which(&asked.sizes, [count.ok(), None]) {
            Ok(read) if asked.faults.is_empty() => {
                asked.found = Some(sheet::which_answer(&known_books(desk, shop), &read));
            }
            Ok(_) => {}
            Err(problems) => {
                let says = |problem: &sheet::Problem| {
                    format!("{}: expected {}; {}.", problem.found, problem.expected, problem.advice)
                };
                asked.faults.extend(problems.iter().map(says));
            }
        }
        asked
    }

    /// Chances as people read them, one for each answer.
    fn chances(&self) -> Vec<String> {
        self.found.iter().flat_map(|found| &found.fits).map(|fits| in_hundred(fits.chance)).collect()
    }

    fn none(&self) -> String {
        self.found.as_ref().map_or_else(String::new, |found| in_hundred(found.none))
    }
}

#[derive(Template)]
#[template(path = "engine_new.html")]
struct NewPage {
    frame: Frame,
    parts: Parts,
    form: Form,
    engine: EngineFields,
    typed: Typed,
}

async fn page(State(desk): State<Desk>, visitor: Visitor, Asked(fields): Asked) -> Answer {
    let shop = shop_of(&desk).await?;
    let asked = WhichAsked::of(&fields, &desk, &shop);
    let mut own = Vec::new();
    for (name, book) in &shop.specifications {
        own.push((name.clone(), name_of(book).to_owned(), form_id()?));
    }
    let name = |text: &str| shop::Value::from_text(text).map(|book| name_of(&book).to_owned()).ok();
    let known = desk.engines.iter().filter_map(|known| name(&known.text)).collect();
    show(&EnginesPage { frame: visitor.frame(&shop, "Engines", "shop"), parts: parts("/engines"), own, known, asked })
}

async fn change(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    let kind = ShopKind::SpecificationPutAway { name: fields.text("name").to_owned() };
    let written = desk.write_to_shop(&[line(&fields, &visitor, kind)?]).await;
    written.map_err(NotWritten::into_trouble)?;
    Ok(go("/shop/engines"))
}

async fn new(State(desk): State<Desk>, visitor: Visitor) -> Answer {
    let form = Form::blank("engine")?.with("engine", "typed");
    show(&draw(&desk, &visitor, form, Typed::nothing()).await?)
}

async fn draw(desk: &Desk, visitor: &Visitor, form: Form, typed: Typed) -> Result<NewPage, Trouble> {
    let shop = shop_of(desk).await?;
    let engine = EngineFields::of(&form);
    let frame = visitor.frame(&shop, form.title("Add an engine"), "shop");
    Ok(NewPage { frame, parts: parts("/engines"), form, engine, typed })
}

async fn add(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    let typed = if fields.get("pasted").is_some() { new_crank::pasted(&fields) } else { new_crank::by_hand(&fields) };
    let shop = shop_of(&desk).await?;
    let mut faults = typed.faults.clone();
    let field = if fields.get("pasted").is_some() { "pasted" } else { "name" };
    if faults.is_empty() {
        faults.extend(name_taken(&desk, &shop, &typed.specification, field));
    }
    let only_check = fields.text("do") == "check";
    let written = if !faults.is_empty() {
        Err(NotWritten::from(faults))
    } else if only_check {
        Err(NotWritten::Again(StatusCode::OK, Vec::new()))
    } else {
        let name = name_of(&typed.specification).to_owned();
        let kind = ShopKind::Specification { name, specification: typed.specification.clone() };
        desk.write_to_shop(&[line(&fields, &visitor, kind)?]).await
    };
    match written {
        Ok(()) => Ok(go("/shop/engines")),
        Err(NotWritten::Again(status, faults)) => {
            let form = Form::again("engine", &fields, faults)?;
            show_with(status, &draw(&desk, &visitor, form, typed).await?)
        }
        Err(NotWritten::Trouble(trouble)) => Err(trouble),
    }
}
