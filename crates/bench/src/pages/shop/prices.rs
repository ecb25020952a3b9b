//! What grinding and shells cost, for one engine or for all.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use shop::{Shop, ShopKind, Value};

use super::{Parts, line, parts};
use crate::desk::Desk;
use crate::form::{Form, NotWritten};
use crate::pages::book_in::{engine_name, engines};
use crate::pages::new_crank::{listed, name_of};
use crate::trial;
use crate::trouble::Fault;
use crate::visitor::{Answer, Asked, Fields, Frame, Visitor, go, shop_of, show, show_with};

pub(super) fn routes() -> Router<Desk> {
    Router::new().route("/shop/prices", get(page).post(save))
}

#[derive(Template)]
#[template(path = "prices.html")]
struct PricesPage {
    frame: Frame,
    parts: Parts,
    form: Form,
    /// Address, words, whether it is this one, whether it has prices.
    lists: Vec<(String, String, bool, bool)>,
    engine: String,
    words: String,
    hint: String,
    none_at_all: bool,
}

const SETS: [&str; 2] = ["main", "pin"];
const KEYS: [&str; 4] = ["pass", "shells", "scrap", "life"];
/// What has one price, whichever set it is for.
const SINGLE: [&str; 3] = ["polish", "washer", "treatment"];

async fn page(State(desk): State<Desk>, visitor: Visitor, Asked(asked): Asked) -> Answer {
    let shop = shop_of(&desk).await?;
    let engine = asked.text("engine");
    let mut form = Form::blank("prices")?;
    let own = shop.prices.iter().find(|(known, _)| known.as_deref().unwrap_or_default() == engine);
    if let Some((_, prices)) = own {
        for set in SETS {
            for key in KEYS {
                let value = prices.get(set).and_then(|set| set.get(key));
                let typed = match value {
                    Some(Value::List(items)) => items.iter().filter_map(Value::as_typed).collect::<Vec<_>>().join(", "),
                    Some(value) => value.as_typed().unwrap_or_default().to_owned(),
                    None => String::new(),
                };
                form = form.with(&format!("{set}.{key}"), typed);
            }
        }
        for key in SINGLE {
            form = form.with(key, prices.get(key).and_then(Value::as_typed).unwrap_or_default());
        }
        let items = prices.get("item").map(Value::items).unwrap_or_default();
        form = form.with("item", items.iter().map(item_line).collect::<Vec<_>>().join("\n"));
    }
    show(&draw(&desk, &visitor, &shop, form, engine))
}

/// The names that prices are kept under, with what is called so.
fn named(desk: &Desk, shop: &Shop) -> Vec<(String, Value)> {
    engines(desk, shop).into_iter().map(|(choice, book)| (engine_name(&choice, &book), book)).collect()
}

fn draw(desk: &Desk, visitor: &Visitor, shop: &Shop, form: Form, engine: &str) -> PricesPage {
    let has = |name: &str| {
        let of = |(known, prices): &(Option<String>, Value)| {
            known.as_deref().unwrap_or_default() == name && !prices.pairs().is_empty()
        };
        shop.prices.iter().any(of)
    };
    let link = |name: &str| {
        let query = form_urlencoded::Serializer::new(String::new()).append_pair("engine", name).finish();
        if name.is_empty() { "/shop/prices".to_owned() } else { format!("/shop/prices?{query}") }
    };
    let all = (link(""), "All engines".to_owned(), engine.is_empty(), has(""));
    let own = named(desk, shop).into_iter();
    let own = own.map(|(name, book)| (link(&name), name_of(&book).to_owned(), name == engine, has(&name)));
    let lists: Vec<_> = std::iter::once(all).chain(own).collect();
    let words = lists.iter().find(|list| list.2).map_or_else(|| engine.to_owned(), |list| list.1.clone());
    let hint = if engine.is_empty() {
        "One price for every undersize"
    } else {
        "One price for every undersize, or one for each in order, like 38, 38, 42, 55"
    };
    PricesPage {
        frame: visitor.frame(shop, form.title(&format!("Prices: {words}")), "shop"),
        parts: parts("/prices"),
        none_at_all: shop.prices.iter().all(|(_, prices)| prices.pairs().is_empty()),
        form,
        lists,
        engine: engine.to_owned(),
        words,
        hint: hint.to_owned(),
    }
}

async fn save(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    let shop = shop_of(&desk).await?;
    let engine = fields.text("engine");
    let written = match prices(&desk, &shop, engine, &fields) {
        Ok(prices) => {
            let specification = Some(engine.to_owned()).filter(|engine| !engine.is_empty());
            desk.write_to_shop(&[line(&fields, &visitor, ShopKind::Prices { specification, prices })?]).await
        }
        Err(faults) => Err(faults.into()),
    };
    match written {
        Ok(()) => {
            let query = form_urlencoded::Serializer::new(String::new()).append_pair("engine", engine).finish();
            Ok(go(&format!("/shop/prices?{query}")))
        }
        Err(NotWritten::Again(status, faults)) => {
            let form = Form::again("prices", &fields, faults)?;
            show_with(status, &draw(&desk, &visitor, &shop, form, engine))
        }
        Err(NotWritten::Trouble(trouble)) => Err(trouble),
    }
}

/// `Crack test = 35`, `Plugs = 4 x 2.50`.
fn item_line(item: &Value) -> String {
    let typed = |key: &str| item.get(key).and_then(Value::as_typed).unwrap_or_default();
    let times = match typed("count") {
        "" | "1" => String::new(),
        count => format!("{count} x "),
    };
    format!("{} = {times}{}", typed("what"), typed("price"))
}

/// A line as it is typed; nothing where no price stands behind an equals sign.
fn item(line: &str) -> Option<Value> {
    let (what, price) = line.rsplit_once('=')?;
    let (what, price) = (what.trim(), price.trim());
    if what.is_empty() || price.is_empty() {
        return None;
    }
    let mut item = Value::table([("what", Value::from(what))]);
    match price.split_once(['x', 'X', '×', '*']) {
        Some((count, each)) => {
            item.set("count", Value::typed(count));
            item.set("price", Value::typed(each));
        }
        None => item.set("price", Value::typed(price)),
    }
    Some(item)
}

/// The prices as typed; none at all where every field is empty.
fn prices(desk: &Desk, shop: &Shop, engine: &str, fields: &Fields) -> Result<Value, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut prices = Value::Table(Vec::new());
    for set in SETS {
        let mut table = Value::Table(Vec::new());
        for key in KEYS {
            let Some(text) = fields.get(&format!("{set}.{key}")) else { continue };
            let value = match (key, listed(text)) {
                ("shells", items) if items.len() > 1 => {
                    if engine.is_empty() {
                        let says =
                            "Engines differ in their undersizes: enter one price here, or a list for one engine.";
                        faults.push(Fault::new(&format!("{set}.shells"), says));
                    }
                    Value::List(items.iter().map(|item| Value::typed(item)).collect())
                }
                _ => Value::typed(text),
            };
            table.set(key, value);
        }
        prices.set(set, table);
    }
    for key in SINGLE {
        if let Some(text) = fields.get(key) {
            prices.set(key, Value::typed(text));
        }
    }
    let mut items = Vec::new();
    for line in fields.text("item").lines().filter(|line| !line.trim().is_empty()) {
        match item(line) {
            Some(item) => items.push(item),
            None => {
                let says = format!("“{}”: write what it is, an equals sign and its price.", line.trim());
                faults.push(Fault::new("item", says));
            }
        }
    }
    if !items.is_empty() {
        prices.set("item", Value::List(items));
    }
    let nothing = |(key, value): &(String, Value)| SETS.contains(&key.as_str()) && value.pairs().is_empty();
    if faults.is_empty() && prices.pairs().iter().all(nothing) {
        return Ok(Value::Table(Vec::new()));
    }
    let book = named(desk, shop).into_iter().find(|(name, _)| name == engine).map(|(_, book)| book);
    for problem in trial::problems(book.as_ref(), "in", &[("prices", prices.clone())]) {
        let key = problem.key.strip_prefix("prices.").unwrap_or(&problem.key);
        let field = key.split('[').next().unwrap_or(key);
        if faults.iter().any(|fault: &Fault| fault.field == field) {
            continue;
        }
        let says = if problem.found == "nothing" {
            let set = if key.starts_with("pin") { "pins" } else { "mains" };
            format!("Enter {}, for the {set}, or leave every price empty.", problem.expected)
        } else {
            trial::sentence(&problem)
        };
        faults.push(Fault::new(field, says));
    }
    if faults.is_empty() { Ok(prices) } else { Err(faults) }
}
