//! Booking a crank in, with a known or a new specification.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::http::StatusCode;
use axum::routing::get;
use crank::Layout;
use shop::{BookedIn, Draft, EntryKind, Shop, ShopKind, Value, now};

use crate::desk::Desk;
use crate::form::{Form, NotWritten};
use crate::naming::{SURE, sure};
use crate::pages::new_crank::{self, ROWS, Typed, name_of};
use crate::pages::shop::assumed;
use crate::trial;
use crate::trouble::Fault;
use crate::visitor::{Answer, Asked, Fields, Frame, Visitor, go, shop_of, show, show_with};
use job::undo::derived;

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/jobs/new", get(page).post(book_in))
}

/// Values and words of a list to choose from.
pub(crate) type Choices = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "book_in.html")]
struct BookInPage {
    frame: Frame,
    form: Form,
    engines: Choices,
    job_units: Choices,
    engine: EngineFields,
    typed: Typed,
    /// What a name that looks like another's is asked about.
    sure: Choices,
}

/// What the fields of a new engine offer; shared with the page that adds one to the shop.
#[derive(Clone, Debug)]
pub(crate) struct EngineFields {
    pub(crate) layouts: Choices,
    pub(crate) units: Choices,
    pub(crate) treatments: Choices,
    pub(crate) run_out_as: Choices,
    pub(crate) rule_of: Choices,
    /// Rules and features that the form has rows for.
    pub(crate) rows: [usize; 3],
    pub(crate) by_hand: bool,
    pub(crate) pasted: bool,
}

impl EngineFields {
    pub(crate) fn of(form: &Form) -> EngineFields {
        let mut layouts = choices(&[("", "Choose a layout")]);
        layouts
            .extend(Layout::ALL.iter().map(|layout| (layout.name.to_owned(), crate::wording::capital(layout.words))));
        layouts.push(("other".to_owned(), "Another: directions typed below".to_owned()));
        let by_hand = ["name", "stroke", "main.low", "pin.low"].iter().any(|name| !form.value(name).is_empty())
            || form.value("engine") == "typed";
        let pasted = !form.value("pasted").is_empty() || form.value("engine") == "pasted";
        EngineFields {
            layouts,
            units: choices(&[("in", "Inches"), ("mm", "Millimetres")]),
            treatments: choices(&[
                ("none", "None"),
                ("nitriding", "Nitriding"),
                ("nitrocarburising", "Nitrocarburising"),
                ("induction", "Induction hardening"),
            ]),
            run_out_as: choices(&[("total", "What the dial shows in one turn"), ("bend", "The bend, half of that")]),
            rule_of: choices(&[
                ("dial", "What the dial shows on each"),
                ("half", "Half of what it shows"),
                ("neighbours", "Each main against the next, as vectors"),
            ]),
            rows: ROWS,
            by_hand,
            pasted,
        }
    }
}

pub(crate) fn choices(pairs: &[(&str, &str)]) -> Choices {
    pairs.iter().map(|(value, words)| ((*value).to_owned(), (*words).to_owned())).collect()
}

/// Engines that can be chosen: the shop's own first.
pub(crate) fn engines(desk: &Desk, shop: &Shop) -> Vec<(String, Value)> {
    let own: Vec<(String, Value)> =
        shop.specifications.iter().map(|(name, book)| (format!("own:{name}"), book.clone())).collect();
    let known = desk.engines.iter().filter_map(|known| {
        let book = Value::from_text(&known.text).ok()?;
        // One that the shop keeps as its own is offered once.
        let kept = shop.specifications.iter().any(|(name, own)| *name == known.name || name_of(own) == name_of(&book));
        (!kept).then(|| (format!("known:{}", known.name), book))
    });
    own.into_iter().chain(known).collect()
}

/// The engines that a crank of unknown make may be of: the shop's own and those that come with the program, where their
/// figures hold together.
pub(crate) fn known_books(desk: &Desk, shop: &Shop) -> Vec<sheet::KnownBook> {
    let all = engines(desk, shop).into_iter();
    all.filter_map(|(name, book)| {
        let specification = sheet::read_book(&name, &book.to_json()).ok()?;
        Some(sheet::KnownBook::new(specification, name.starts_with("known:")))
    })
    .collect()
}

async fn page(State(desk): State<Desk>, visitor: Visitor, Asked(asked): Asked) -> Answer {
    let shop = shop_of(&desk).await?;
    let mut form = Form::blank("book")?.with("units", shop.setting("units").filter(|u| *u != "both").unwrap_or(""));
    if let Some(engine) = asked.get("engine") {
        form = form.with("engine", engine);
    }
    show(&draw(&desk, &visitor, &shop, form, Typed::nothing()))
}

fn draw(desk: &Desk, visitor: &Visitor, shop: &Shop, form: Form, typed: Typed) -> BookInPage {
    let mut list = choices(&[("", "Choose an engine")]);
    list.extend(engines(desk, shop).into_iter().map(|(value, book)| {
        let invented = if value.starts_with("known:") { " (invented)" } else { "" };
        (value, format!("{}{invented}", name_of(&book)))
    }));
    list.extend(choices(&[("typed", "Another engine, typed below"), ("pasted", "A specification, pasted below")]));
    let engine = EngineFields::of(&form);
    BookInPage {
        frame: visitor.frame(shop, form.title("Book in a crank"), "book-in"),
        form,
        engines: list,
        job_units: choices(&[("", "The unit of the engine’s manual"), ("in", "Inches"), ("mm", "Millimetres")]),
        engine,
        typed,
        sure: sure(),
    }
}

async fn book_in(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    let shop = shop_of(&desk).await?;
    let (typed, engine_faults) = chosen(&desk, &shop, &fields);
    if fields.get("do") == Some("check") {
        let faults = [typed.faults.clone(), engine_faults].concat();
        let form = Form::again("book", &fields, faults)?;
        let status = if form.is_faulty() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
        return show_with(status, &draw(&desk, &visitor, &shop, form, typed));
    }
    let faults = [typed.faults.clone(), engine_faults].concat();
    match write(&desk, &visitor, &shop, &fields, &typed, faults).await {
        Ok(job) => Ok(go(&format!("/jobs/{job}/measure"))),
        Err(NotWritten::Again(status, faults)) => {
            let form = Form::again("book", &fields, faults)?;
            show_with(status, &draw(&desk, &visitor, &shop, form, typed))
        }
        Err(NotWritten::Trouble(trouble)) => Err(trouble),
    }
}

/// The specification that was chosen, typed or pasted.
fn chosen(desk: &Desk, shop: &Shop, fields: &Fields) -> (Typed, Vec<Fault>) {
    let from_list = |value: &str| engines(desk, shop).into_iter().find(|(known, _)| known == value);
    let typed_in = fields.get("name").is_some() || fields.get("stroke").is_some();
    match fields.text("engine") {
        "typed" => (new_crank::by_hand(fields), Vec::new()),
        "pasted" if fields.get("pasted").is_none() => {
            (Typed::nothing(), vec![Fault::new("pasted", "Paste the specification, or choose an engine.")])
        }
        "pasted" => (new_crank::pasted(fields), Vec::new()),
        "" if fields.get("pasted").is_some() => (new_crank::pasted(fields), Vec::new()),
        "" if typed_in => (new_crank::by_hand(fields), Vec::new()),
        "" => (Typed::nothing(), vec![Fault::new("engine", "Choose the engine, or type a new one in below.")]),
        value => match from_list(value) {
            Some((_, specification)) => (Typed { specification, ..Typed::nothing() }, Vec::new()),
            None => {
                let says = "That engine is not in the list any more. Choose another, or type it in below.";
                (Typed::nothing(), vec![Fault::new("engine", says)])
            }
        },
    }
}

async fn write(
    desk: &Desk,
    visitor: &Visitor,
    shop: &Shop,
    fields: &Fields,
    typed: &Typed,
    mut faults: Vec<Fault>,
) -> Result<i64, NotWritten> {
    let book = &typed.specification;
    let choice = fields.text("engine");
    let is_new = !choice.starts_with("own:") && !choice.starts_with("known:");
    let promised = promised(fields, &mut faults);
    if is_new && faults.is_empty() {
        faults.extend(name_taken(desk, shop, book, if fields.get("name").is_some() { "name" } else { "pasted" }));
    }
    let units = units_of(fields, book);
    let (sheet, wrong) = sheet_for(shop, &engine_name(choice, book), book, &units);
    if faults.is_empty() {
        faults.extend(wrong);
    }
    let id = fields.id()?;
    let booked = BookedIn {
        mark: fields.text("mark").to_owned(),
        customer: fields.text("customer").to_owned(),
        telephone: fields.text("telephone").to_owned(),
        crank: name_of(book).to_owned(),
        promised,
        sheet,
        example: false,
    };
    let when = now();
    let draft = |n: usize, kind| {
        Draft::new(if n == 0 { id } else { derived(id, &format!("entry {n}")) }, &visitor.who, &when, kind)
    };
    let instruments = shop.instruments.iter().map(|instrument| EntryKind::Instrument { row: with_zero(instrument) });
    let kinds = std::iter::once(EntryKind::BookedIn(booked)).chain(instruments);
    let drafts: Vec<Draft> = kinds.enumerate().map(|(n, kind)| draft(n, kind)).collect();
    // What the record would refuse is said together with the rest.
    if let Some(Err(refusal)) = drafts.first().map(|draft| shop::admit(&[], draft)) {
        faults.push(Fault::new(&refusal.field, format!("{} {}", refusal.says, refusal.advice)));
    }
    if faults.is_empty() && fields.text(SURE) != "yes" {
        faults = desk.odd_marks_and_customers(&drafts).await?;
    }
    if !faults.is_empty() {
        return Err(faults.into());
    }
    if is_new {
        let kind = ShopKind::Specification { name: name_of(book).to_owned(), specification: book.clone() };
        let draft = Draft::new(derived(id, "engine"), &visitor.who, &when, kind);
        desk.write_to_shop(&[draft]).await?;
    }
    desk.write_new_job(&drafts).await
}

/// The sheet that a crank of an engine starts with in this shop: the book, the shop's rule and its prices, with what is
/// wrong where the prices do not fit the engine.
pub(crate) fn sheet_for(shop: &Shop, engine: &str, book: &Value, units: &str) -> (Value, Option<Fault>) {
    let mut sheet = Value::table([("units", Value::from(units)), ("specification", book.clone())]);
    if let Some(confidence) = shop.setting("confidence") {
        sheet.set("policy", Value::table([("confidence", Value::typed(confidence))]));
    }
    if let Some(assumed) = assumed::of_shop(shop) {
        sheet.set("assumed", assumed);
    }
    let Some(prices) = shop.prices_for(engine).filter(|prices| !prices.pairs().is_empty()) else {
        return (sheet, None);
    };
    let wrong = trial::problems(Some(book), units, &[("prices", prices.clone())]);
    let fault = wrong.first().map(|problem| {
        let says = trial::sentence(problem);
        let says = format!("The shop’s prices do not fit this engine. {says} Put them right under Shop, Prices.");
        Fault::new("engine", says)
    });
    sheet.set("prices", prices.clone());
    (sheet, fault)
}

/// The day it was promised for.
pub(crate) fn promised(fields: &Fields, faults: &mut Vec<Fault>) -> Option<String> {
    let text = fields.get("promised")?;
    if text.parse::<jiff::civil::Date>().is_err() {
        faults
            .push(Fault::new("promised", "The promised day must be a date, like 2026-11-30. Leave it empty if none."));
    }
    Some(text.to_owned())
}

/// The name that prices of an engine are kept under.
pub(crate) fn engine_name(choice: &str, book: &Value) -> String {
    let name = choice.strip_prefix("own:").or_else(|| choice.strip_prefix("known:"));
    name.unwrap_or_else(|| name_of(book)).to_owned()
}

/// Two engines of one name could not be told apart in the list.
pub(crate) fn name_taken(desk: &Desk, shop: &Shop, book: &Value, field: &str) -> Option<Fault> {
    let name = name_of(book);
    let other = engines(desk, shop).into_iter().find(|(_, known)| name_of(known) == name)?;
    (other.1 != *book).then(|| {
        let says =
            format!("There is another engine called {name}. Choose it from the list, or give this one its own name.");
        Fault::new(field, says)
    })
}

/// The unit that sizes are typed in for this job.
fn units_of(fields: &Fields, book: &Value) -> String {
    let typed = fields.get("units").filter(|units| ["in", "mm"].contains(units));
    let books = book.words("units").filter(|units| ["in", "mm"].contains(units));
    typed.or(books).unwrap_or("in").to_owned()
}

/// The row of an instrument, with the zero of its latest trial on a setting standard.
pub(crate) fn with_zero(instrument: &shop::ShopInstrument) -> Value {
    let mut row = instrument.row.clone();
    if let Some(check) = instrument.checks.last() {
        row.set("zero", Value::typed(&check.reads));
    }
    row
}
