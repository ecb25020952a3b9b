//! Forms: what was typed, what is wrong with it, and how a field of it is drawn.

use askama::Template;
use axum::http::StatusCode;

use crate::trouble::{Fault, Trouble};
use crate::visitor::{Fields, form_id};

/// A form as a page shows it: empty at first, and with what was typed when it comes back with faults.
#[derive(Clone, Debug, Default)]
pub(crate) struct Form {
    /// Where several forms stand on one page: what sets the names of their fields apart.
    part: &'static str,
    /// Which of several forms of that name.
    nth: usize,
    /// The name of the entry that sending it writes.
    pub(crate) id: String,
    values: Vec<(String, String)>,
    faults: Vec<Fault>,
}

impl Form {
    /// A form that nobody typed into yet.
    pub(crate) fn blank(part: &'static str) -> Result<Form, Trouble> {
        Ok(Form { part, nth: 0, id: form_id()?, values: Vec::new(), faults: Vec::new() })
    }

    /// The same form with a value in a field.
    pub(crate) fn with(mut self, name: &str, value: impl Into<String>) -> Form {
        self.values.push((name.to_owned(), value.into()));
        self
    }

    /// The same form as the nth of its name on the page.
    pub(crate) fn nth(mut self, nth: usize) -> Form {
        self.nth = nth;
        self
    }

    /// A form that came back: what was typed is kept.
    pub(crate) fn again(part: &'static str, fields: &Fields, faults: Vec<Fault>) -> Result<Form, Trouble> {
        let values = fields.all().map(|(name, text)| (name.to_owned(), text.to_owned())).collect();
        Ok(Form { part, nth: 0, id: form_id()?, values, faults })
    }

    /// What stands in a field.
    pub(crate) fn value(&self, name: &str) -> &str {
        self.values.iter().find(|(known, _)| known == name).map_or("", |(_, value)| value)
    }

    /// Whether a field has a value among several of that name.
    pub(crate) fn has(&self, name: &str, value: &str) -> bool {
        self.values.iter().any(|(known, there)| known == name && there == value)
    }

    /// Which form of its page it is.
    pub(crate) fn part(&self) -> &'static str {
        self.part
    }

    /// A file to choose.
    pub(crate) fn file(&self, name: &str, label: &str) -> Field {
        Field { attributes: " type=\"file\" accept=\"image/jpeg,image/png\"", ..self.field(name, label, "input") }
    }

    /// Whether something is asked about a field.
    pub(crate) fn asks(&self, name: &str) -> bool {
        self.faults.iter().any(|fault| fault.field == name)
    }

    /// Whether anything is wrong with it.
    pub(crate) fn is_faulty(&self) -> bool {
        !self.faults.is_empty()
    }

    /// `Error: ` before the title of a page whose form came back.
    pub(crate) fn title(&self, title: &str) -> String {
        if self.is_faulty() { format!("Error: {title}") } else { title.to_owned() }
    }

    /// A line to type into.
    pub(crate) fn text(&self, name: &str, label: &str) -> Field {
        self.field(name, label, "input")
    }

    /// Several lines to type into.
    pub(crate) fn lines(&self, name: &str, label: &str) -> Field {
        self.field(name, label, "lines")
    }

    /// A list to choose from: values and words.
    pub(crate) fn choice(&self, name: &str, label: &str, choices: &[(String, String)]) -> Field {
        Field { choices: choices.to_vec(), ..self.field(name, label, "choice") }
    }

    fn field(&self, name: &str, label: &str, kind: &'static str) -> Field {
        let says = |fault: &Fault| (fault.field == name).then(|| fault.says.clone());
        Field {
            id: self.field_id(name),
            name: name.to_owned(),
            label: label.to_owned(),
            value: self.value(name).to_owned(),
            hint: String::new(),
            faults: self.faults.iter().filter_map(says).collect(),
            kind,
            attributes: "",
            first: self.faults.first().is_some_and(|fault| fault.field == name),
            choices: Vec::new(),
        }
    }

    fn field_id(&self, name: &str) -> String {
        let plain = name.replace(|c: char| !c.is_ascii_alphanumeric(), "-");
        if self.nth == 0 { format!("{}-{plain}", self.part) } else { format!("{}-{}-{plain}", self.part, self.nth) }
    }

    /// What is wrong, all of it, above the form.
    pub(crate) fn summary(&self) -> Summary {
        let line = |fault: &Fault| {
            let known = self.values.iter().any(|(name, _)| *name == fault.field);
            (known.then(|| self.field_id(&fault.field)), fault.says.clone())
        };
        Summary { lines: self.faults.iter().map(line).collect() }
    }
}

/// One field with its label, its hint and what is wrong with it.
#[derive(Clone, Debug, Template)]
#[template(path = "field.html")]
pub(crate) struct Field {
    id: String,
    name: String,
    label: String,
    value: String,
    hint: String,
    faults: Vec<String>,
    kind: &'static str,
    attributes: &'static str,
    first: bool,
    choices: Vec<(String, String)>,
}

impl Field {
    /// A line under the label.
    pub(crate) fn hint(mut self, hint: &str) -> Field {
        hint.clone_into(&mut self.hint);
        self
    }

    /// A number: the keyboard of a tablet shows digits.
    pub(crate) fn figures(mut self) -> Field {
        self.attributes = " inputmode=\"decimal\" autocomplete=\"off\" class=\"fig\"";
        self
    }

    /// A telephone number.
    pub(crate) fn telephone(mut self) -> Field {
        self.attributes = " inputmode=\"tel\" autocomplete=\"off\"";
        self
    }

    /// A day.
    pub(crate) fn day(mut self) -> Field {
        self.attributes = " type=\"date\"";
        self
    }

    /// Nothing that the browser should fill in by itself.
    pub(crate) fn plain(mut self) -> Field {
        self.attributes = " autocomplete=\"off\"";
        self
    }
}

/// What is wrong with a form, all of it.
#[derive(Clone, Debug, Template)]
#[template(path = "summary.html")]
pub(crate) struct Summary {
    lines: Vec<(Option<String>, String)>,
}

/// Why a form was not written: shown with the form, so that what was typed is kept; or a page of its own.
#[derive(Clone, Debug)]
pub(crate) enum NotWritten {
    Again(StatusCode, Vec<Fault>),
    Trouble(Trouble),
}

impl NotWritten {
    /// The trouble, where there is no form to show again.
    pub(crate) fn into_trouble(self) -> Trouble {
        match self {
            NotWritten::Trouble(trouble) => trouble,
            NotWritten::Again(status, faults) => Trouble { status, ..Trouble::fields(faults) },
        }
    }
}

impl From<Trouble> for NotWritten {
    fn from(trouble: Trouble) -> NotWritten {
        NotWritten::Trouble(trouble)
    }
}

impl From<Vec<Fault>> for NotWritten {
    fn from(faults: Vec<Fault>) -> NotWritten {
        NotWritten::Again(StatusCode::UNPROCESSABLE_ENTITY, faults)
    }
}

impl From<shop::StoreError> for NotWritten {
    fn from(error: shop::StoreError) -> NotWritten {
        use shop::StoreError as E;
        match error {
            E::Refused(refusal) => {
                vec![Fault::new(&refusal.field, format!("{} {}", refusal.says, refusal.advice))].into()
            }
            E::NameTaken(_) => {
                let says = "This page was sent before with other words in it, and those are saved. Save again to write \
                            these as well.";
                NotWritten::Again(StatusCode::CONFLICT, vec![Fault::new("", says)])
            }
            // Where it is not known whether it was saved, the page as it was sent is the one to send again: it is kept once.
            E::DiskFull
            | E::NotTaken { .. }
            | E::KeyMissing { .. }
            | E::Locked
            | E::ReadOnly
            | E::NoAnswer { .. }
            | E::NotAPicture { .. }
            | E::PictureTooLarge { .. }
            | E::FileExists { .. }
            | E::File { .. } => {
                let says = format!("{} {} {}", error.happened(), error.safety(), error.advice());
                NotWritten::Again(Trouble::from(error).status, vec![Fault::new("", says)])
            }
            other => NotWritten::Trouble(other.into()),
        }
    }
}
