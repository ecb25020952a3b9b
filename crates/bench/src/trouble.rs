//! What went wrong, told the same way everywhere: what happened, whether the work is safe, what to do.

use std::io::Write;
use std::time::Duration;

use askama::Template;
use axum::Json;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use shop::StoreError;
use utoipa::ToSchema;

/// What went wrong with a request.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Trouble {
    pub(crate) status: StatusCode,
    pub(crate) told: Told,
}

/// The words of it; also what the JSON interface answers with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub(crate) struct Told {
    /// What happened.
    pub(crate) happened: String,
    /// Whether the work is safe.
    pub(crate) safety: String,
    /// What to do.
    pub(crate) advice: String,
    /// The fields at fault, where there are any.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(crate) fields: Vec<Fault>,
}

/// One field that cannot be taken as it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub(crate) struct Fault {
    /// Its name.
    pub(crate) field: String,
    /// What is wrong and what would do.
    pub(crate) says: String,
}

impl Fault {
    pub(crate) fn new(field: &str, says: impl Into<String>) -> Fault {
        Fault { field: field.to_owned(), says: says.into() }
    }
}

/// Nothing was written: the usual comfort.
pub(crate) const NOTHING_WRITTEN: &str = "Nothing was written; what was saved before is safe.";

impl Trouble {
    pub(crate) fn new(status: StatusCode, happened: impl Into<String>, advice: impl Into<String>) -> Trouble {
        let told = Told {
            happened: happened.into(),
            safety: NOTHING_WRITTEN.to_owned(),
            advice: advice.into(),
            fields: Vec::new(),
        };
        Trouble { status, told }
    }

    /// Fields that cannot be taken as they are.
    pub(crate) fn fields(fields: Vec<Fault>) -> Trouble {
        let happened = match fields.as_slice() {
            [one] => one.says.clone(),
            many => format!("{} fields need another look.", many.len()),
        };
        let mut trouble = Trouble::new(StatusCode::UNPROCESSABLE_ENTITY, happened, "Change what is marked, then save.");
        trouble.told.fields = fields;
        trouble
    }

    /// What is said beside a field: of the fields at fault, or of everything where it is about none.
    pub(crate) fn faults(self, field: &str) -> Vec<Fault> {
        let Told { happened, safety, advice, fields } = self.told;
        if fields.is_empty() { vec![Fault::new(field, format!("{happened} {safety} {advice}"))] } else { fields }
    }

    /// One field that cannot be taken as it is.
    pub(crate) fn field(field: &str, says: impl Into<String>) -> Trouble {
        Trouble::fields(vec![Fault::new(field, says)])
    }

    /// There is no answer yet, and nobody waits longer. What was to be written may still be.
    pub(crate) fn too_long(changes: bool, waited: Duration) -> Trouble {
        let seconds = waited.as_secs();
        if changes {
            return StoreError::Uncertain { detail: format!("it took longer than {seconds} seconds") }.into();
        }
        let says = format!("This took longer than {seconds} seconds.");
        Trouble::new(StatusCode::SERVICE_UNAVAILABLE, says, "Try again in a minute. If it stays so, verify the record.")
    }

    /// A page or a thing that is not there.
    pub(crate) fn not_found(what: impl Into<String>, advice: impl Into<String>) -> Trouble {
        Trouble::new(StatusCode::NOT_FOUND, what, advice)
    }

    /// A fault of the program.
    pub(crate) fn fault(detail: impl std::fmt::Display) -> Trouble {
        StoreError::Fault { detail: detail.to_string() }.into()
    }

    /// The same as the JSON interface tells it.
    pub(crate) fn as_json(&self) -> Response {
        (self.status, Json(&self.told)).into_response()
    }
}

impl From<StoreError> for Trouble {
    fn from(error: StoreError) -> Trouble {
        let status = match &error {
            StoreError::NoSuchJob(_) | StoreError::NoSuchPicture => StatusCode::NOT_FOUND,
            StoreError::Refused(_) | StoreError::NotAPicture { .. } => StatusCode::UNPROCESSABLE_ENTITY,
            StoreError::PictureTooLarge { .. } => StatusCode::PAYLOAD_TOO_LARGE,
            StoreError::NameTaken(_) | StoreError::SeenTooMuch { .. } => StatusCode::CONFLICT,
            StoreError::DiskFull | StoreError::NotTaken { .. } => StatusCode::INSUFFICIENT_STORAGE,
            StoreError::Locked
            | StoreError::NoAnswer { .. }
            | StoreError::ReadOnly
            | StoreError::Io { .. }
            | StoreError::Uncertain { .. }
            | StoreError::Moved { .. }
            | StoreError::KeyMissing { .. } => StatusCode::SERVICE_UNAVAILABLE,
            _ => StatusCode::INTERNAL_SERVER_ERROR,
        };
        let fields = match &error {
            StoreError::Refused(refusal) => {
                vec![Fault::new(&refusal.field, format!("{} {}", refusal.says, refusal.advice))]
            }
            _ => Vec::new(),
        };
        let advice = match &error {
            StoreError::Fault { detail } => {
                for_whoever_looks_after_it(detail);
                "Try again. What went wrong stands in the window in which the program runs.".to_owned()
            }
            _ => error.advice(),
        };
        let told = Told { happened: error.happened(), safety: error.safety().to_owned(), advice, fields };
        Trouble { status, told }
    }
}

/// Says what went wrong in the program where whoever runs it sees it, and nobody who only asks.
fn for_whoever_looks_after_it(detail: &str) {
    // Where even this cannot be written there is nobody to tell.
    let _ = writeln!(std::io::stderr().lock(), "tenunder: {} {detail}", shop::now());
}

impl From<askama::Error> for Trouble {
    fn from(error: askama::Error) -> Trouble {
        Trouble::fault(error)
    }
}

#[derive(Template)]
#[template(path = "trouble.html")]
struct TroublePage<'a> {
    told: &'a Told,
    missing: bool,
    size: &'a str,
}

impl Trouble {
    /// The page, in type of the size that somebody works at.
    pub(crate) fn page(&self, size: &str) -> Response {
        let page = TroublePage { told: &self.told, missing: self.status == StatusCode::NOT_FOUND, size };
        match page.render() {
            Ok(html) => (self.status, [(header::CONTENT_TYPE, "text/html; charset=utf-8")], html).into_response(),
            Err(_) => (self.status, self.told.happened.clone()).into_response(),
        }
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        let mut response = self.page("desk");
        // The guard knows at which size somebody works, and makes the page anew where it is another.
        response.extensions_mut().insert(self);
        response
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_took_too_long_is_called_uncertain_only_where_something_was_to_be_written() {
        let looked = Trouble::too_long(false, Duration::from_secs(50)).told;
        assert_eq!(looked.happened, "This took longer than 50 seconds.");
        assert_eq!(looked.safety, NOTHING_WRITTEN);
        let sent = Trouble::too_long(true, Duration::from_secs(50)).told;
        assert_eq!(sent.happened, "It is not known whether this was saved: it took longer than 50 seconds.");
        assert!(sent.safety.contains("kept once") && !sent.safety.contains("was not saved"), "{}", sent.safety);
    }

    /// What went wrong in the program is for whoever looks after it, and not for who asks.
    #[test]
    fn a_fault_shows_nothing_of_the_inside() {
        let trouble = Trouble::fault("thread 'main' panicked at crates/shop/src/store.rs:12, table entry");
        assert_eq!(trouble.status, StatusCode::INTERNAL_SERVER_ERROR);
        let page = TroublePage { told: &trouble.told, missing: false, size: "desk" }.render().unwrap();
        for told in [page, serde_json::to_string(&trouble.told).unwrap()] {
            assert!(told.contains("Something went wrong in the program."), "{told}");
            assert!(!told.contains("panicked") && !told.contains(".rs") && !told.contains("table entry"), "{told}");
        }
    }
}
