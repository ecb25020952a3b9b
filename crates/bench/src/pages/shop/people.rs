//! Who works here.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use shop::ShopKind;

use super::{Parts, line, parts};
use crate::desk::Desk;
use crate::form::{Form, NotWritten};
use crate::trouble::Fault;
use crate::visitor::{Answer, Fields, Frame, Visitor, form_id, go, is_name, shop_of, show, show_with};

pub(super) fn routes() -> Router<Desk> {
    Router::new().route("/shop/people", get(page).post(change))
}

#[derive(Template)]
#[template(path = "people.html")]
struct PeoplePage {
    frame: Frame,
    parts: Parts,
    form: Form,
    /// Name, and the name of the entry that puts it away.
    people: Vec<(String, String)>,
}

async fn page(State(desk): State<Desk>, visitor: Visitor) -> Answer {
    show(&draw(&desk, &visitor, Form::blank("person")?).await?)
}

async fn draw(desk: &Desk, visitor: &Visitor, form: Form) -> Result<PeoplePage, crate::trouble::Trouble> {
    let shop = shop_of(desk).await?;
    let mut people = Vec::new();
    for name in &shop.people {
        people.push((name.clone(), form_id()?));
    }
    Ok(PeoplePage { frame: visitor.frame(&shop, form.title("People"), "shop"), parts: parts("/people"), form, people })
}

async fn change(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    match write(&desk, &visitor, &fields).await {
        Ok(()) => Ok(go("/shop/people")),
        Err(NotWritten::Again(status, faults)) => {
            show_with(status, &draw(&desk, &visitor, Form::again("person", &fields, faults)?).await?)
        }
        Err(NotWritten::Trouble(trouble)) => Err(trouble),
    }
}

async fn write(desk: &Desk, visitor: &Visitor, fields: &Fields) -> Result<(), NotWritten> {
    let name = fields.text("name").to_owned();
    let there = desk.shop().await?.people.contains(&name);
    let kind = match fields.text("do") {
        "away" => ShopKind::PersonPutAway { name },
        _ if name.is_empty() => return Err(vec![Fault::new("name", "Enter a name.")].into()),
        _ if !is_name(&name) => {
            let says =
                "The name is longer than 200 characters or has a character that cannot be seen. Type a shorter one.";
            return Err(vec![Fault::new("name", says)].into());
        }
        _ if there => {
            let says = format!("{name} is in the list already. Add a letter to tell the two apart.");
            // Sent twice, it is there because of the first time.
            let written = desk.store.place_of(fields.id()?).await?.is_some();
            return if written { Ok(()) } else { Err(vec![Fault::new("name", says)].into()) };
        }
        _ => ShopKind::Person { name },
    };
    desk.write_to_shop(&[line(fields, visitor, kind)?]).await
}
