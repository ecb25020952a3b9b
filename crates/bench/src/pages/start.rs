//! The first time: three questions, each of which may be skipped.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use shop::{Draft, ShopKind, Value, now};

use crate::desk::Desk;
use crate::form::{Form, NotWritten};
use crate::visitor::{Answer, Fields, Frame, Visitor, go, shop_of, show, show_with};

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/start", get(page).post(begin))
}

#[derive(Template)]
#[template(path = "start.html")]
struct StartPage {
    frame: Frame,
    form: Form,
    has_example: bool,
}

async fn page(State(desk): State<Desk>, visitor: Visitor) -> Answer {
    let shop = shop_of(&desk).await?;
    let form = Form::blank("start")?.with("for", "shop").with("next", "crank");
    show(&StartPage { frame: visitor.frame(&shop, "Begin", "start"), form, has_example: desk.example.is_some() })
}

async fn begin(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    let one_of = |name: &str, known: &[&'static str]| known.iter().find(|word| **word == fields.text(name)).copied();
    let mut settings = Vec::new();
    settings.extend(one_of("for", &["own", "shop"]).map(|word| ("for", Value::from(word))));
    settings.extend(one_of("units", &["in", "mm", "both"]).map(|word| ("units", Value::from(word))));
    if !settings.is_empty() {
        let kind = ShopKind::Settings { settings: Value::table(settings) };
        let draft = Draft::new(fields.id()?, &visitor.who, now(), kind);
        match desk.write_to_shop(&[draft]).await {
            Ok(()) => {}
            Err(NotWritten::Again(status, faults)) => {
                let shop = shop_of(&desk).await?;
                let form = Form::again("start", &fields, faults)?;
                let frame = visitor.frame(&shop, form.title("Begin"), "start");
                return show_with(status, &StartPage { frame, form, has_example: desk.example.is_some() });
            }
            Err(NotWritten::Trouble(trouble)) => return Err(trouble),
        }
    }
    match fields.text("next") {
        "example" => Ok(go(&format!("/jobs/{}", desk.open_example(&visitor).await?))),
        _ => Ok(go("/jobs/new")),
    }
}
