//! The forms for what is measured of a bearing, and for what is wanted of it.

use crank::SetName;
use shop::{SheetRow, Value};
use units::Unit;

use super::journal_name;
use crate::form::{Field, Form, Summary};
use crate::judged::counts;
use crate::trouble::Trouble;
use crate::visitor::Fields;
use crate::wording::Words;
use job::JobCard;

/// The forms of the page: the keys of the rows that they write, and of the table of what is wanted.
pub(super) const FORMS: [&str; 5] = ["housing", "shell", "bearing", "thrust", "wanted"];
/// The keys of what is wanted.
const WANTED: [&str; 3] = ["main", "pin", "running"];

/// One form.
pub(super) struct Part {
    pub(super) what: &'static str,
    pub(super) title: &'static str,
    pub(super) says: &'static str,
    pub(super) button: &'static str,
    pub(super) id: String,
    pub(super) open: bool,
    pub(super) summary: Summary,
    pub(super) fields: Vec<Field>,
}

type Choices = Vec<(String, String)>;

fn choices(list: &[(&str, &str)]) -> Choices {
    list.iter().map(|(key, words)| ((*key).to_owned(), (*words).to_owned())).collect()
}

/// All forms; one of them may have come back.
pub(super) fn parts(held: &JobCard, words: Words, returned: Option<Form>) -> Result<Vec<Part>, Trouble> {
    let mut parts = Vec::new();
    for what in FORMS {
        let form = match &returned {
            Some(form) if form.part() == what => form.clone(),
            _ if what == "wanted" => wanted_now(held, Form::blank(what)?),
            _ => Form::blank(what)?,
        };
        parts.push(part(what, held, words, &form));
    }
    Ok(parts)
}

/// The form with what is wanted now.
fn wanted_now(held: &JobCard, form: Form) -> Form {
    let Some(wanted) = held.job.document.get("wanted") else { return form };
    WANTED.into_iter().fold(form, |form, key| {
        let typed = wanted.get(key).and_then(Value::as_typed).unwrap_or_default();
        form.with(key, typed)
    })
}

fn part(what: &'static str, held: &JobCard, words: Words, form: &Form) -> Part {
    let journals = |set: Option<SetName>| -> Choices {
        let book = held.book.as_ref().ok();
        let all = book.into_iter().flat_map(|book| book.journals());
        all.filter(|id| set.is_none_or(|set| id.set == set)).map(|id| journal_name(words, id)).collect()
    };
    let unit = match held.unit() {
        Unit::Inch => "in",
        Unit::Millimetre => "mm",
    };
    let sized = |name: &str, label: &str| form.text(name, &format!("{label}, {unit}")).figures();
    let mut with = choices(&[("", "not named")]);
    with.extend(held.micrometers.iter().skip(1).map(|known| (known.name.clone(), known.name.clone())));
    let mut others = choices(&[("", "the same")]);
    others.extend(with.iter().skip(1).cloned());
    let with = form.choice("with", "Measured with", &with);
    let (title, says, button, fields) = match what {
        "housing" => (
            "A housing bore",
            "With the caps tightened as for service. Square to the split is where the clearance counts; along it shows \
             how round the housing is. A bore gauge set on the micrometer of the journals is named as that micrometer.",
            "Save the bore",
            vec![
                form.choice("journal", "Housing of", &journals(None)),
                form.choice(
                    "at",
                    "Where along it",
                    &choices(&[("middle", "middle"), ("front", "front"), ("rear", "rear")]),
                ),
                form.choice(
                    "plane",
                    "Direction",
                    &choices(&[("across", "square to the split"), ("along", "along the split")]),
                ),
                sized("size", "Diameter").hint("Several readings with spaces between."),
                form.choice(
                    "shells",
                    "Shells",
                    &choices(&[("out", "out: the bare bore"), ("in", "in, their pair fitted")]),
                ),
                sized("undersize", "Undersize of shells that are in").hint("0 for standard. Empty for a bare bore."),
                with,
            ],
        ),
        "shell" => {
            let mut places = choices(&[("main", "any main"), ("pin", "")]);
            if let Some(pin) = places.get_mut(1) {
                pin.1 = format!("any {}", words.one_of(SetName::Pin));
            }
            places.extend(journals(None));
            (
                "Half shells",
                "Measure the wall at the crown with a ball-anvil micrometer: flat anvils bridge the curve and read thick. \
                 Measure before you trust the box.",
                "Save the shells",
                vec![
                    form.choice("place", "For", &places).hint("Of any journal: the program gives them out."),
                    form.text("name", "Mark on it").hint("Empty: its number in the list.").plain(),
                    form.choice(
                        "half",
                        "Half",
                        &choices(&[
                            ("either", "either"),
                            ("upper", "upper, in the housing"),
                            ("lower", "lower, in the cap"),
                        ]),
                    ),
                    sized("undersize", "Undersize as marked").hint("0 for standard. As the box says, 0.25 mm too."),
                    sized("wall", "Wall at the crown"),
                    form.text("count", "How many alike").hint("Empty: 1.").figures(),
                    with,
                ],
            )
        }
        "bearing" => (
            "Crush, and the rods’ width on a pin",
            "Crush: caps tightened, then one bolt freed; the gap that opens. Side clearance: the pin’s width between its \
             cheeks less every rod on it.",
            "Save",
            vec![
                form.choice("journal", "Bearing of", &journals(None)),
                sized("crush", "Gap with one bolt freed"),
                sized("width", "Width between the cheeks"),
                sized("rods", "Width of each rod on it").hint("With spaces between where there are two."),
                with,
            ],
        ),
        "wanted" => (
            "The clearance you want",
            "Running clearance on the diameter, square to the split. The journals are finished to the size that gives it \
             where housings and shells were measured. Left empty: the middle of the book’s limits.",
            "Save what you want",
            vec![
                sized("main", "Clearance of the mains"),
                sized("pin", &format!("Clearance of the {}", words.set_within(SetName::Pin))),
                form.text("running", "Running temperature, °C")
                    .hint("Clearances are told at 20 °C and at this. Empty: 90.")
                    .figures(),
            ],
        ),
        _ => (
            "The thrust bearing",
            "The main that locates the crank endways. The two faces may take different washers.",
            "Save the thrust bearing",
            vec![
                form.choice("journal", "At", &journals(Some(SetName::Main))),
                sized("width", "Between the crank’s thrust faces"),
                sized("housing", "Over the housing’s faces, washers out"),
                sized("front", "Washer to the front, thickness"),
                sized("front_oversize", "Its oversize").hint("Empty: standard."),
                sized("rear", "Washer to the rear, thickness"),
                sized("rear_oversize", "Its oversize").hint("Empty: standard."),
                sized("float", "End float by the dial"),
                with,
                form.choice("housing_with", "The housing’s width with", &others),
                form.choice("washers_with", "The washers with", &others),
            ],
        ),
    };
    Part { what, title, says, button, id: form.id.clone(), open: form.is_faulty(), summary: form.summary(), fields }
}

/// The row that a form puts right instead of adding one: there is one thrust bearing, and one row of a bearing for each
/// journal.
pub(super) fn replaces<'a>(held: &'a JobCard, part: &str, fields: &Fields) -> Option<&'a SheetRow> {
    let same = |row: &&SheetRow| match part {
        "thrust" => row.key == "thrust",
        "bearing" => row.key == "bearing" && row.row.words("journal") == fields.get("journal"),
        _ => false,
    };
    held.job.rows.iter().filter(|row| counts(row)).find(same)
}

/// What a form holds as the whole of what is wanted.
pub(super) fn wanted(fields: &Fields) -> Value {
    let typed = WANTED.into_iter().filter_map(|key| Some((key, figures(fields.get(key)?))));
    Value::table(typed)
}

/// What a form holds as a row of the sheet; figures that are left empty stay as they were.
pub(super) fn row(part: &str, fields: &Fields, there: Option<&Value>) -> Value {
    let mut row = there.cloned().unwrap_or(Value::Table(Vec::new()));
    let place = fields.text("place");
    match (part, place) {
        ("shell", "main" | "pin") => row.set("set", Value::from(place)),
        ("shell", journal) => row.set("journal", Value::from(journal)),
        _ => row.set("journal", Value::from(fields.text("journal"))),
    }
    let keys: &[&str] = match part {
        "housing" => &["at", "plane", "size", "shells", "undersize", "with"],
        "shell" => &["name", "half", "undersize", "wall", "count", "with"],
        "bearing" => &["crush", "width", "rods", "with"],
        _ => &["width", "housing", "front", "front_oversize", "rear", "rear_oversize", "float", "with"],
    };
    for key in keys {
        let Some(text) = fields.get(key) else { continue };
        let value = match *key {
            "name" | "with" | "at" | "plane" | "shells" | "half" => Value::from(text),
            _ => figures(text),
        };
        row.set(key, value);
    }
    row
}

/// One figure, or several with spaces between. A unit may follow a figure.
fn figures(text: &str) -> Value {
    let parts: Vec<&str> = text.split([' ', ';', '\t']).filter(|part| !part.is_empty()).collect();
    let plain = parts.iter().all(|part| part.starts_with(|c: char| c.is_ascii_digit() || c == '.'));
    match parts.as_slice() {
        [_, _, ..] if plain => Value::List(parts.iter().map(|part| Value::typed(part)).collect()),
        _ => Value::typed(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(list: &[(&str, &str)]) -> Fields {
        Fields::of(list.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect())
    }

    #[test]
    fn a_form_becomes_the_row_of_a_sheet() {
        let typed =
            [("journal", "main 1"), ("plane", "across"), ("size", "2.2707 2.2708"), ("shells", "out"), ("with", "")];
        let row = row("housing", &fields(&typed), None);
        assert_eq!(row.to_json(), r#"{"journal":"main 1","plane":"across","size":[2.2707,2.2708],"shells":"out"}"#);
        let shells = [("place", "pin"), ("undersize", "0.25 mm"), ("wall", ".0720"), ("count", "8")];
        let row = super::row("shell", &fields(&shells), None);
        assert_eq!(row.to_json(), r#"{"set":"pin","undersize":"0.25 mm","wall":".0720","count":8}"#);
        let placed = super::row("shell", &fields(&[("place", "main 2")]), None);
        assert_eq!(placed.to_json(), r#"{"journal":"main 2"}"#);
    }

    #[test]
    fn what_is_left_empty_stays_as_it_was() {
        let there = Value::table([("journal", Value::from("pin 1")), ("crush", Value::typed("0.0035"))]);
        let row =
            row("bearing", &fields(&[("journal", "pin 1"), ("width", "1.0485"), ("rods", "1.0410")]), Some(&there));
        assert_eq!(row.to_json(), r#"{"journal":"pin 1","crush":0.0035,"width":1.0485,"rods":1.0410}"#);
    }
}
