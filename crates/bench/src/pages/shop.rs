//! The shop: its settings, and its people, micrometers, engines, prices and record on pages of their own.

pub(crate) mod assumed;
mod engines;
mod micrometers;
mod people;
mod prices;
mod record;

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use shop::{Draft, ShopKind, Value, now};

use crate::desk::Desk;
use crate::form::{Field, Form, NotWritten};
use crate::pages::book_in::{Choices, choices};
use crate::trial;
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Fields, Frame, Visitor, go, shop_of, show, show_with};
use crate::wording::{Words, capital};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/shop", get(page).post(save))
        .merge(people::routes())
        .merge(micrometers::routes())
        .merge(engines::routes())
        .merge(prices::routes())
        .merge(record::routes())
}

/// The shop's pages: last part of the address, what it is called, whether it is this one.
pub(super) type Parts = Vec<(&'static str, &'static str, bool)>;

pub(super) fn parts(here: &str) -> Parts {
    [
        ("", "Settings"),
        ("/people", "People"),
        ("/micrometers", "Micrometers"),
        ("/engines", "Engines"),
        ("/prices", "Prices"),
        ("/record", "Record"),
    ]
    .map(|(part, word)| (part, word, part == here))
    .to_vec()
}

/// Lines for the shop's log, under the name that the form carries.
pub(super) fn line(fields: &Fields, visitor: &Visitor, kind: ShopKind) -> Result<Draft<ShopKind>, Trouble> {
    Ok(Draft::new(fields.id()?, &visitor.who, now(), kind))
}

#[derive(Template)]
#[template(path = "shop.html")]
struct SettingsPage {
    frame: Frame,
    parts: Parts,
    form: Form,
    words: Choices,
    units: Choices,
    stations: Choices,
    orders: Choices,
    papers: Choices,
    uses: Choices,
    /// What is taken for granted about what nobody measured.
    assumed: Vec<Field>,
    /// Whether any of it is set, or came back.
    assumes: bool,
}

/// Settings that are kept as they are typed.
const PLAIN: [&str; 3] = ["name", "address", "money"];
/// Settings that are one of a few words.
const CHOSEN: [(&str, &[&str]); 6] = [
    ("for", &["shop", "own"]),
    ("words", &["pin", "big end", "rod journal"]),
    ("units", &["in", "mm", "both"]),
    ("stations", &["2", "3"]),
    ("order", &["journal", "direction"]),
    ("page", &["A4", "Letter"]),
];

async fn page(State(desk): State<Desk>, visitor: Visitor) -> Answer {
    let shop = shop_of(&desk).await?;
    let mut form = Form::blank("shop")?;
    for key in PLAIN.into_iter().chain(CHOSEN.iter().map(|(key, _)| *key)) {
        form = form.with(key, shop.setting(key).unwrap_or_default());
    }
    form = form.with("in_100", shop.setting("confidence").and_then(in_100).unwrap_or_default());
    show(&draw(&visitor, &shop, assumed::filled(form, &shop)))
}

fn draw(visitor: &Visitor, shop: &shop::Shop, form: Form) -> SettingsPage {
    let words =
        Words::SETTINGS.map(|(setting, words)| (setting.to_owned(), capital(&words.one_of(crank::SetName::Pin))));
    SettingsPage {
        frame: visitor.frame(shop, form.title("Shop"), "shop"),
        parts: parts(""),
        assumed: assumed::fields(&form),
        assumes: assumed::any(&form),
        form,
        words: words.to_vec(),
        units: choices(&[("", "As each engine’s manual"), ("in", "Inches"), ("mm", "Millimetres"), ("both", "Both")]),
        stations: choices(&[("2", "Two: front and rear"), ("3", "Three: front, middle and rear")]),
        orders: choices(&[
            ("journal", "Journal by journal: all spots of one, then the next"),
            ("direction", "Direction first: once along the crank, turn it, once more"),
        ]),
        papers: choices(&[("A4", "A4"), ("Letter", "Letter")]),
        uses: choices(&[("shop", "A shop"), ("own", "My own engine")]),
    }
}

async fn save(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    match write(&desk, &visitor, &fields).await {
        Ok(()) => Ok(go("/shop")),
        Err(NotWritten::Again(status, faults)) => {
            let shop = shop_of(&desk).await?;
            show_with(status, &draw(&visitor, &shop, Form::again("shop", &fields, faults)?))
        }
        Err(NotWritten::Trouble(trouble)) => Err(trouble),
    }
}

async fn write(desk: &Desk, visitor: &Visitor, fields: &Fields) -> Result<(), NotWritten> {
    let mut faults = Vec::new();
    let mut settings = Value::Table(Vec::new());
    for key in PLAIN {
        let text = fields.text(key);
        let most = match key {
            "name" => shop::MOST_NAME_CHARS,
            "money" => 8,
            _ => 1_000,
        };
        let hidden = |c: char| c.is_control() && !(key == "address" && matches!(c, '\n' | '\r'));
        if text.chars().count() > most {
            faults.push(Fault::new(key, format!("The {key} is longer than {most} characters. Shorten it.")));
        } else if text.contains(hidden) {
            let says = format!("The {key} has a character that cannot be seen. Type it again instead of pasting it.");
            faults.push(Fault::new(key, says));
        }
        settings.set(key, Value::from(text));
    }
    for (key, known) in CHOSEN {
        match fields.text(key) {
            "" => settings.set(key, Value::from("")),
            word if known.contains(&word) => settings.set(key, Value::from(word)),
            _ => faults.push(Fault::new(key, format!("Choose one of the list for {key}."))),
        }
    }
    let confidence = match fields.get("in_100") {
        None => Some(String::new()),
        Some(text) => of_100(text),
    };
    let refused = "Enter how many cranks of 100 must clean up, a number above 0 and below 100, like 95.";
    match confidence {
        Some(confidence) => {
            let policy = Value::table([("confidence", Value::typed(&confidence))]);
            if !confidence.is_empty() && !trial::problems(None, "in", &[("policy", policy)]).is_empty() {
                faults.push(Fault::new("in_100", refused));
            }
            settings.set("confidence", Value::typed(&confidence));
        }
        None => faults.push(Fault::new("in_100", refused)),
    }
    assumed::take(fields, &mut settings, &mut faults);
    if !faults.is_empty() {
        return Err(faults.into());
    }
    desk.write_to_shop(&[line(fields, visitor, ShopKind::Settings { settings })?]).await
}

/// `95` as the part of one that sheets hold, `0.95`, digit for digit.
pub(crate) fn of_100(text: &str) -> Option<String> {
    let (hundredths, decimals) = units_decimal(text)?;
    let places = decimals + 2;
    let digits = format!("{hundredths:0>width$}", width = places + 1);
    let (whole, rest) = digits.split_at_checked(digits.len().checked_sub(places)?)?;
    Some(format!("{whole}.{rest}"))
}

/// `0.95` as people say it, `95`.
pub(crate) fn in_100(share: &str) -> Option<String> {
    let (digits, decimals) = units_decimal(share)?;
    let shifted = format!("{digits:0>width$}", width = decimals + 1);
    let whole = shifted.len() - decimals;
    let padded = format!("{shifted}00");
    let (head, tail) = padded.split_at_checked(whole + 2)?;
    let tail = tail.trim_end_matches('0');
    let head = head.trim_start_matches('0');
    let head = if head.is_empty() { "0" } else { head };
    Some(if tail.is_empty() { head.to_owned() } else { format!("{head}.{tail}") })
}

/// A plain number without a sign as its digits and how many stand after the point.
fn units_decimal(text: &str) -> Option<(u64, usize)> {
    let plain = text.replace(',', ".");
    let (whole, rest) = plain.split_once('.').unwrap_or((&plain, ""));
    let digits = format!("{whole}{rest}");
    let all = digits.len() <= 12 && !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
    all.then(|| digits.parse().ok()).flatten().map(|digits| (digits, rest.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_are_typed_in_100s_and_kept_as_shares() {
        for (typed, kept) in [("95", "0.95"), ("5", "0.05"), ("99.5", "0.995"), ("97,25", "0.9725"), ("100", "1.00")] {
            assert_eq!(of_100(typed).as_deref(), Some(kept));
            assert_eq!(in_100(kept).as_deref(), Some(typed.replace(',', ".").as_str()));
        }
        assert_eq!(in_100("0.9").as_deref(), Some("90"));
        for wrong in ["", "-5", "9e1", "ninety", "1.2.3", "9999999999999"] {
            assert_eq!(of_100(wrong), None, "{wrong}");
        }
    }
}
