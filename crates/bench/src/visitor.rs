//! Who asks, what their forms hold, and what every page shows around its own part.

use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use shop::{Draft, EntryId, EntryKind, Shop, fresh_id, now};

use crate::desk::Desk;
use crate::guard::{Token, cookie, type_size};
use crate::trouble::{Fault, Trouble};
use crate::wording::{OldWay, Words};

/// Who is meant where nobody has said a name yet.
const NOBODY: &str = "the shop";
/// Most bytes of a form without pictures.
const MOST_FORM_BYTES: usize = 200_000;

/// Whoever asks. Names only for now: this is the one place where a page learns who somebody is.
#[derive(Clone, Debug)]
pub(crate) struct Visitor {
    /// The name that entries are signed with.
    pub(crate) who: String,
    /// How large they want the type: `desk`, `bench` or `far`.
    pub(crate) size: &'static str,
    token: String,
}

impl<S: Send + Sync> FromRequestParts<S> for Visitor {
    type Rejection = Trouble;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Visitor, Trouble> {
        let token = parts.extensions.get::<Token>().ok_or_else(|| Trouble::fault("no token"))?.0.clone();
        let who = cookie(&parts.headers, "who").and_then(|coded| decoded(&coded));
        let who = who.filter(|name| is_name(name)).unwrap_or_else(|| NOBODY.to_owned());
        let size = type_size(&parts.headers);
        Ok(Visitor { who, size, token })
    }
}

pub(crate) fn is_name(name: &str) -> bool {
    let name = name.trim();
    !name.is_empty()
        && name.chars().count() <= shop::MOST_NAME_CHARS
        && !name.chars().any(char::is_control)
        && shop::hidden(name).is_none()
}

/// Text as it can stand in a cookie: every byte that is not a letter or a digit as two hexadecimal digits.
pub(crate) fn coded(text: &str) -> String {
    let plain = |byte: &u8| byte.is_ascii_alphanumeric();
    text.bytes().map(|byte| if plain(&byte) { char::from(byte).to_string() } else { format!("-{byte:02x}") }).collect()
}

fn decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let [first, after @ ..] = rest {
        match first {
            b'-' => {
                let pair = std::str::from_utf8(after.get(..2)?).ok()?;
                bytes.push(u8::from_str_radix(pair, 16).ok()?);
                rest = after.get(2..)?;
            }
            _ => {
                bytes.push(*first);
                rest = after;
            }
        }
    }
    String::from_utf8(bytes).ok()
}

impl Visitor {
    /// A new line by this person, now.
    pub(crate) fn draft(&self, kind: EntryKind) -> Result<Draft, Trouble> {
        Ok(Draft::new(fresh_id()?, &self.who, now(), kind))
    }

    /// A new line of the shop's own log by this person, now.
    pub(crate) fn shop_draft(&self, kind: shop::ShopKind) -> Result<Draft<shop::ShopKind>, Trouble> {
        Ok(Draft::new(fresh_id()?, &self.who, now(), kind))
    }

    /// What stands around the page: `title` in the window, `here` the part of the program that is marked as current.
    pub(crate) fn frame(&self, shop: &Shop, title: impl Into<String>, here: &'static str) -> Frame {
        let mut people = shop.people.clone();
        if !people.iter().any(|known| shop::same_name(known, &self.who)) {
            people.push(self.who.clone());
        }
        Frame {
            title: title.into(),
            here,
            who: self.who.clone(),
            people,
            shop: shop.setting("name").unwrap_or("Tenunder").to_owned(),
            token: self.token.clone(),
            size: self.size,
            words: Words::of_setting(shop.setting("words")),
        }
    }
}

/// What every page shows around its own part.
#[derive(Clone, Debug)]
pub(crate) struct Frame {
    pub(crate) title: String,
    pub(crate) here: &'static str,
    pub(crate) who: String,
    pub(crate) people: Vec<String>,
    pub(crate) shop: String,
    pub(crate) token: String,
    pub(crate) size: &'static str,
    pub(crate) words: Words,
}

impl Frame {
    /// For the templates: see [`OldWay`].
    pub(crate) fn put(&self, text: &str) -> String {
        self.words.put(text)
    }
}

/// A fresh name for what a form writes, so that sending it twice writes it once.
pub(crate) fn form_id() -> Result<String, Trouble> {
    Ok(fresh_id()?.to_string())
}

/// What a form holds, as typed. Its token is checked before anything else.
#[derive(Clone, Debug, Default)]
pub(crate) struct Fields(Vec<(String, String)>);

impl Fields {
    /// What stands in a field, without spaces around; nothing where it is empty or missing.
    pub(crate) fn get(&self, name: &str) -> Option<&str> {
        let found = self.0.iter().find(|(known, _)| known == name)?;
        Some(found.1.trim()).filter(|text| !text.is_empty())
    }

    /// What stands in a field, empty where it is missing.
    pub(crate) fn text(&self, name: &str) -> &str {
        self.get(name).unwrap_or_default()
    }

    /// Everything, in order.
    pub(crate) fn all(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, text)| (name.as_str(), text.trim()))
    }

    /// The name of the entry that the form writes.
    pub(crate) fn id(&self) -> Result<EntryId, Trouble> {
        self.text("id").parse().map_err(|_| old_page())
    }

    /// The place of the last entry that the page knew of.
    pub(crate) fn seen(&self) -> Result<i64, Trouble> {
        self.text("seen").parse().map_err(|_| old_page())
    }

    /// What stands in a field that must not be empty.
    pub(crate) fn need<'a>(&'a self, name: &str, says: &str, faults: &mut Vec<Fault>) -> &'a str {
        let text = self.text(name);
        if text.is_empty() {
            faults.push(Fault::new(name, says));
        }
        text
    }
}

fn old_page() -> Trouble {
    let says = "This page is older than the program, or not all of it arrived.";
    Trouble::new(StatusCode::CONFLICT, says, "Load the page again.")
}

impl<S: Send + Sync> FromRequest<S> for Fields {
    type Rejection = Trouble;

    async fn from_request(request: Request, _: &S) -> Result<Fields, Trouble> {
        let token = request.extensions().get::<Token>().map(|token| token.0.clone());
        let too_large = || {
            let says = "More was sent than any form here holds.";
            Trouble::new(StatusCode::PAYLOAD_TOO_LARGE, says, "Shorten it, and put long texts into a note.")
        };
        let bytes = axum::body::to_bytes(request.into_body(), MOST_FORM_BYTES).await.map_err(|_| too_large())?;
        let fields = Fields::read(&bytes);
        fields.is_ours(&Token(token.unwrap_or_default()))?;
        Ok(fields)
    }
}

/// The number of the job in the address; one that is no number is a page that is not there.
#[derive(Clone, Copy, Debug)]
pub(crate) struct JobPath(pub(crate) i64);

impl<S: Send + Sync> FromRequestParts<S> for JobPath {
    type Rejection = Trouble;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<JobPath, Trouble> {
        let path = axum::extract::RawPathParams::from_request_parts(parts, state).await.ok();
        let typed = path.and_then(|path| path.iter().find(|(name, _)| *name == "job").map(|(_, job)| job.to_owned()));
        let typed = typed.unwrap_or_default();
        typed.parse().map(JobPath).map_err(|_| {
            let shown: String = typed.chars().take(40).collect();
            Trouble::not_found(
                format!("No job {shown}."),
                "Jobs are known by their number; search for it by name or crank.",
            )
        })
    }
}

/// What stands after the question mark of an address.
#[derive(Clone, Debug)]
pub(crate) struct Asked(pub(crate) Fields);

impl<S: Send + Sync> FromRequestParts<S> for Asked {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Asked, Self::Rejection> {
        Ok(Asked(Fields::read(parts.uri.query().unwrap_or_default().as_bytes())))
    }
}

impl Fields {
    /// These fields.
    pub(crate) fn of(fields: Vec<(String, String)>) -> Fields {
        Fields(fields)
    }

    /// Whether the form was made by a page of ours.
    pub(crate) fn is_ours(&self, token: &Token) -> Result<(), Trouble> {
        if token.0.is_empty() || self.get("token") != Some(token.0.as_str()) { Err(old_page()) } else { Ok(()) }
    }

    /// Reads what a browser sends; what is no text in UTF-8 is shown by a mark in its place.
    pub(crate) fn read(bytes: &[u8]) -> Fields {
        Fields(form_urlencoded::parse(bytes).map(|(name, text)| (name.into_owned(), text.into_owned())).collect())
    }
}

/// To another page, after something was done.
pub(crate) fn go(to: &str) -> Response {
    Redirect::to(to).into_response()
}

/// A page.
pub(crate) fn show(page: &impl askama::Template) -> Result<Response, Trouble> {
    let html = page.render()?;
    Ok(([(header::CONTENT_TYPE, HeaderValue::from_static("text/html; charset=utf-8"))], html).into_response())
}

/// A page that was asked for with something wrong in it.
pub(crate) fn show_again(page: &impl askama::Template) -> Result<Response, Trouble> {
    Ok((StatusCode::UNPROCESSABLE_ENTITY, show(page)?).into_response())
}

/// A page that came back with something else than a plain fault of what was typed.
pub(crate) fn show_with(status: StatusCode, page: &impl askama::Template) -> Result<Response, Trouble> {
    Ok((status, show(page)?).into_response())
}

/// The answer to a page's request.
pub(crate) type Answer = Result<Response, Trouble>;

/// The shop as a page needs it first.
pub(crate) async fn shop_of(desk: &Desk) -> Result<std::sync::Arc<Shop>, Trouble> {
    Ok(desk.shop().await?)
}
