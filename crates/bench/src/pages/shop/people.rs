//! Who works here.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use shop::{ShopKind, same_name};

use super::{Parts, line, parts};
use crate::desk::Desk;
use crate::form::{Form, NotWritten};
use crate::naming::{SURE, sure, unless_sure};
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
    /// What a name that looks like another's is asked about.
    sure: Vec<(String, String)>,
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
    Ok(PeoplePage {
        frame: visitor.frame(&shop, form.title("People"), "shop"),
        parts: parts("/people"),
        form,
        people,
        sure: sure(),
    })
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
    let people = &desk.shop().await?.people;
    let there = people.iter().find(|known| same_name(known, &name));
    let kind = match fields.text("do") {
        "away" => ShopKind::PersonPutAway { name },
        _ if name.is_empty() => return Err(vec![Fault::new("name", "Enter a name.")].into()),
        _ if !is_name(&name) => {
            let says =
                "The name is longer than 200 characters or has a character that cannot be seen. Type a shorter one.";
            return Err(vec![Fault::new("name", says)].into());
        }
        _ if there.is_some() => {
            let known = there.unwrap_or(&name);
            let says = format!("{known} is in the list already. Add a letter to tell the two apart.");
            // Sent twice, it is there because of the first time.
            let written = desk.store.place_of(fields.id()?).await?.is_some();
            return if written { Ok(()) } else { Err(vec![Fault::new("name", says)].into()) };
        }
        _ => ShopKind::Person { name },
    };
    let drafts = [line(fields, visitor, kind)?];
    unless_sure(fields.text(SURE) == "yes", desk.odd_people(&drafts).await?)?;
    desk.write_to_shop(&drafts).await
}
