//! The forms of what is measured of the shaft, and the rows that they become.

use crank::{Carried, JournalId, SetName};
use shop::{EntryKind, Row, SheetRow, Value};

use crate::form::{Field, Form};
use crate::trouble::Fault;
use crate::visitor::Fields;
use crate::wording::Words;
use job::JobCard;

/// How many angles a main is read at, evenly round it.
pub(super) const ANGLES: [usize; 4] = [4, 6, 8, 12];

/// A kind of row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Dial,
    Height,
    Feature,
    Case,
}

impl Kind {
    /// In the order of the work.
    pub(super) const ALL: [Kind; 4] = [Kind::Dial, Kind::Height, Kind::Feature, Kind::Case];

    /// The key of its rows, and the name of its form.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Kind::Dial => "dial",
            Kind::Height => "height",
            Kind::Feature => "feature",
            Kind::Case => "case",
        }
    }

    pub(super) fn named(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// What stands over it.
    pub(super) const fn heading(self) -> &'static str {
        match self {
            Kind::Dial => "The dial on the mains",
            Kind::Height => "Heights of the pins",
            Kind::Feature => "What else must run true",
            Kind::Case => "The hardened case",
        }
    }

    /// How it is measured.
    pub(super) const fn how(self) -> &'static str {
        match self {
            Kind::Dial => {
                "Shaft in vees or on centres, the dial over the middle of the main, opposite the vee. Turn the shaft the way that \
                 angles grow: clockwise seen from the nose. Start with the first throw under the dial and read at every angle, \
                 outward plus, below zero with a minus."
            }
            Kind::Height => {
                "Shaft over the mains in vees: the height of the top of the pin over the table, at three angles or more, or at its \
                 highest and lowest. They tell stroke, index and twist."
            }
            Kind::Feature => {
                "A dial on the flange, the seal land or the nose in one turn on the mains: highest less lowest, and where it is \
                 high. What a move of the axis does to it is told with the verdict."
            }
            Kind::Case => {
                "How deep the hard skin is, from the original surface down, on one side. Enter the shallowest that was measured."
            }
        }
    }

    pub(super) const fn button(self) -> &'static str {
        match self {
            Kind::Dial => "Save this main",
            Kind::Height => "Save this pin",
            Kind::Feature => "Save this feature",
            Kind::Case => "Save the case",
        }
    }

    /// What its list is called.
    pub(super) const fn first_column(self) -> &'static str {
        match self {
            Kind::Dial => "Main",
            Kind::Height => "Pin",
            Kind::Feature => "Feature",
            Kind::Case => "Set",
        }
    }

    pub(super) const fn entry(self, row: Row) -> EntryKind {
        match self {
            Kind::Dial => EntryKind::Dial(row),
            Kind::Height => EntryKind::Height(row),
            Kind::Feature => EntryKind::Feature(row),
            Kind::Case => EntryKind::Case(row),
        }
    }

    const fn about(self) -> &'static str {
        match self {
            Kind::Dial | Kind::Height => "journal",
            Kind::Feature => "name",
            Kind::Case => "set",
        }
    }

    /// What a row is about: there is one row for each.
    pub(super) fn of(self, row: &Value) -> String {
        row.words(self.about()).unwrap_or_default().to_owned()
    }

    /// The same as people say it.
    pub(super) fn whose(self, row: &Value, words: Words) -> String {
        let of = self.of(row);
        match self {
            Kind::Dial | Kind::Height => words.journal_named(&of),
            Kind::Feature => regrind::words::capital(&of),
            Kind::Case => of.parse().map_or(of, |set| words.set(set)),
        }
    }

    /// What stands in a row, as it was typed.
    pub(super) fn told(self, row: &Value) -> String {
        let one = |value: &Value| match value {
            Value::List(items) => items.iter().filter_map(Value::as_typed).collect::<Vec<_>>().join(" "),
            one => one.as_typed().unwrap_or_default().to_owned(),
        };
        let parts = row.pairs().iter().filter(|(key, _)| key != self.about());
        let parts: Vec<String> =
            parts.map(|(key, value)| format!("{} {}", key.replace('_', " "), one(value))).collect();
        parts.join(", ")
    }

    /// Why nothing can be entered; empty where something can.
    pub(super) fn closed(self, held: &JobCard) -> &'static str {
        match self {
            Kind::Feature if features(held).is_empty() => {
                "The engine’s data name no feature with its place along the shaft. They go in with the engine’s form or its file."
            }
            _ => "",
        }
    }

    /// A form for the next one: the first that has no row yet, after the one that was saved.
    pub(super) fn fresh(self, form: Form, held: &JobCard, after: Option<&str>) -> Form {
        let all: Vec<String> = self.choices(held);
        let open = |of: &&String| super::rows(held, self).all(|row| self.of(&row.row) != **of);
        let from = after.and_then(|after| all.iter().position(|of| of == after)).map_or(0, |at| at + 1);
        let next = all.iter().skip(from).find(open).or_else(|| all.iter().find(open)).or(all.first());
        let form = next.map_or(form.clone(), |next| form.with(self.about(), next.as_str()));
        match self {
            Kind::Dial => with_carried(form, held),
            Kind::Height => form.with("angles", "0 60 120 180 240 300"),
            Kind::Feature | Kind::Case => form,
        }
    }

    /// The form with what a row says, to put it right.
    pub(super) fn filled(self, form: Form, held: &JobCard, row: &SheetRow) -> Form {
        let mut form = form.with("corrects", row.entry.to_string());
        for (key, value) in row.row.pairs() {
            form = match (key.as_str(), value) {
                ("readings", Value::List(items)) => {
                    items.iter().enumerate().fold(form.with("count", items.len().to_string()), |form, (n, item)| {
                        form.with(&round(n), item.as_typed().unwrap_or_default())
                    })
                }
                (key, Value::List(items)) => {
                    let typed: Vec<&str> = items.iter().filter_map(Value::as_typed).collect();
                    form.with(key, typed.join(" "))
                }
                (key, one) => form.with(key, one.as_typed().unwrap_or_default()),
            };
        }
        if self == Kind::Dial { with_carried(form, held) } else { form }
    }

    /// What its rows can be about.
    fn choices(self, held: &JobCard) -> Vec<String> {
        let journals = |set: SetName| {
            let all = held.book.as_ref().map(|book| book.journals().filter(|id| id.set == set).collect());
            let all: Vec<JournalId> = all.unwrap_or_default();
            all.iter().map(ToString::to_string).collect()
        };
        match self {
            Kind::Dial => journals(SetName::Main),
            Kind::Height => journals(SetName::Pin),
            Kind::Feature => features(held),
            Kind::Case => SetName::BOTH.map(|set| set.word().to_owned()).to_vec(),
        }
    }

    /// The fields, and the readings round a main.
    pub(super) fn fields(self, form: &Form, held: &JobCard, words: Words, angles: usize) -> (Vec<Field>, Vec<Field>) {
        let unit = held.unit().plural();
        let choices: Vec<(String, String)> = self
            .choices(held)
            .into_iter()
            .map(|of| (of.clone(), self.whose(&Value::table([(self.about(), Value::from(of.as_str()))]), words)))
            .collect();
        let about = form.choice(self.about(), self.first_column(), &choices);
        let fields = match self {
            Kind::Dial => {
                let ways = [("vees", "in two vees"), ("centres", "on centres, or in rests that follow the axis")];
                let ways = ways.map(|(key, says)| (key.to_owned(), says.to_owned()));
                vec![
                    form.choice("carried", "The shaft lies", &ways),
                    form.choice("front", "Vee under", &choices),
                    form.choice("rear", "and under", &choices),
                    form.text("vee", "Angle of the vees, degrees").figures(),
                    about,
                    form.text("angles", "Angles, where they are not evenly apart")
                        .hint("Degrees from the first throw, with spaces; as many as readings.")
                        .plain(),
                ]
            }
            Kind::Height => vec![
                about,
                form.text("angles", "Angles that the shaft was turned through, degrees")
                    .hint("From one zero for all pins, with spaces.")
                    .plain(),
                form.text("heights", &format!("Height at each of them, {unit}"))
                    .hint("With spaces; or leave empty.")
                    .plain(),
                form.text("top", &format!("Or the highest, {unit}")).figures(),
                form.text("bottom", &format!("and the lowest, {unit}")).figures(),
                form.text("doubt", &format!("Standard deviation of one height, {unit}"))
                    .hint("Empty: 0.01 mm.")
                    .figures(),
            ],
            Kind::Feature => vec![
                about,
                form.text("total", &format!("Highest less lowest in one turn, {unit}")).figures(),
                form.text("high", "High at, degrees from the first throw").figures(),
                form.text("face_total", &format!("The dial on its face, {unit}"))
                    .hint("Only where the engine’s data tell its face.")
                    .figures(),
            ],
            Kind::Case => vec![
                about,
                form.text("depth", &format!("Depth, {unit}")).figures(),
                form.text("doubt", &format!("Standard deviation of it, {unit}")).hint("Empty: none.").figures(),
            ],
        };
        let round = match self {
            Kind::Dial => {
                (0..angles).map(|n| form.text(&round(n), &format!("{}°", 360 * n / angles)).plain()).collect()
            }
            _ => Vec::new(),
        };
        (fields, round)
    }

    /// The row that a form holds.
    pub(super) fn row(self, fields: &Fields) -> Row {
        let mut row = Value::table([(self.about(), Value::from(fields.text(self.about())))]);
        let put = |row: &mut Value, key: &str| {
            if let Some(text) = fields.get(key) {
                row.set(key, Value::typed(text));
            }
        };
        let list = |row: &mut Value, key: &str| {
            if let Some(text) = fields.get(key) {
                row.set(key, numbers(text));
            }
        };
        match self {
            Kind::Dial => {
                row.set("readings", Value::List(readings(fields)));
                list(&mut row, "angles");
            }
            Kind::Height => {
                // The angles stand in the form from the beginning; without heights they tell nothing.
                if fields.get("heights").is_some() {
                    list(&mut row, "angles");
                    list(&mut row, "heights");
                }
                for key in ["top", "bottom", "doubt"] {
                    put(&mut row, key);
                }
            }
            Kind::Feature => ["total", "high", "face_total"].iter().for_each(|key| put(&mut row, key)),
            Kind::Case => ["depth", "doubt"].iter().for_each(|key| put(&mut row, key)),
        }
        Row::typed(row)
    }

    /// What must be typed before the rest can be looked at.
    pub(super) fn missing(self, fields: &Fields) -> Vec<Fault> {
        let mut wrong = Vec::new();
        match self {
            Kind::Dial => {
                let asked = typed_angles(fields);
                let empty = (0..asked).filter(|n| fields.get(&round(*n)).is_none());
                wrong.extend(empty.map(|n| {
                    Fault::new(
                        &round(n),
                        format!("Type what the dial showed at {}°: 0 where it did not move.", 360 * n / asked),
                    )
                }));
            }
            Kind::Height => {
                if ["heights", "top", "bottom"].iter().all(|key| fields.get(key).is_none()) {
                    wrong.push(Fault::new("heights", "Type the heights, or the highest and the lowest."));
                }
            }
            Kind::Feature => {
                if ["total", "face_total"].iter().all(|key| fields.get(key).is_none()) {
                    wrong.push(Fault::new("total", "Type what the dial showed, highest less lowest."));
                }
            }
            Kind::Case => {
                if fields.get("depth").is_none() {
                    wrong.push(Fault::new("depth", "Type how deep the case is."));
                }
            }
        }
        wrong
    }

    /// A fault beside the field that it is about.
    pub(super) fn at_its_field(self, fault: Fault) -> Fault {
        let to = match (self, fault.field.as_str()) {
            (Kind::Dial, "readings" | "dial") => "r1",
            (Kind::Dial, "on") => "front",
            (Kind::Height, "height") => "heights",
            _ => return fault,
        };
        super::moved(fault, to)
    }
}

/// The field of the nth reading, counted from nought.
fn round(n: usize) -> String {
    format!("r{}", n + 1)
}

/// How many readings a form asks for.
pub(super) fn typed_angles(fields: &Fields) -> usize {
    fields.text("count").parse().ok().filter(|n| (4..=72).contains(n)).unwrap_or(ANGLES[2])
}

/// The same of a form that is shown.
pub(super) fn angles_of(form: &Form, asked: usize) -> usize {
    form.value("count").parse().ok().filter(|n| (4..=72).contains(n)).unwrap_or(if asked == 0 {
        ANGLES[2]
    } else {
        asked
    })
}

fn readings(fields: &Fields) -> Vec<Value> {
    (0..typed_angles(fields)).filter_map(|n| fields.get(&round(n)).map(Value::typed)).collect()
}

fn numbers(text: &str) -> Value {
    Value::List(text.split([' ', ';', '\n', '\t']).filter(|part| !part.is_empty()).map(Value::typed).collect())
}

/// How a form says that the shaft was carried.
pub(super) fn carried(fields: &Fields) -> Value {
    if fields.text("carried") == "centres" {
        return Value::from("centres");
    }
    let on = ["front", "rear"].map(|key| Value::from(fields.text(key)));
    Value::table([("on", Value::List(on.to_vec())), ("vee", Value::typed(fields.get("vee").unwrap_or("90")))])
}

/// How it was carried the last time; else in vees of 90 degrees under the end mains.
fn with_carried(form: Form, held: &JobCard) -> Form {
    let known = held.sheet().ok().and_then(|sheet| sheet.findings.carried);
    let ends = held.book.as_ref().map(crank::end_mains).ok();
    match (known, ends) {
        (Some(Carried::Centres), ends) => {
            let form = form.with("carried", "centres").with("vee", "90");
            ends.map_or(form.clone(), |[a, b]| form.with("front", a.to_string()).with("rear", b.to_string()))
        }
        (Some(Carried::Vees { under: [a, b], angle_deg }), _) => form
            .with("carried", "vees")
            .with("front", a.to_string())
            .with("rear", b.to_string())
            .with("vee", format!("{angle_deg}")),
        (None, Some([a, b])) => {
            form.with("carried", "vees").with("front", a.to_string()).with("rear", b.to_string()).with("vee", "90")
        }
        (None, None) => form,
    }
}

/// The features of the engine that have a place along the shaft.
fn features(held: &JobCard) -> Vec<String> {
    held.printed().map(|book| book.features.into_iter().map(|one| one.name).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(kind: Kind, list: &[(&str, &str)]) -> String {
        let fields = list.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect();
        kind.row(&Fields::of(fields)).row.to_json()
    }

    #[test]
    fn a_form_becomes_the_row_of_a_sheet() {
        let dial =
            [("journal", "main 3"), ("count", "4"), ("r1", "0.000"), ("r2", "0.0010"), ("r3", "-0.0005"), ("r4", "0")];
        assert_eq!(row(Kind::Dial, &dial), r#"{"journal":"main 3","readings":[0.000,0.0010,-0.0005,0]}"#);
        let height = [("journal", "pin 2"), ("angles", "0 120 240"), ("heights", "10.1 9.2  8.3")];
        assert_eq!(row(Kind::Height, &height), r#"{"journal":"pin 2","angles":[0,120,240],"heights":[10.1,9.2,8.3]}"#);
        // The angles that the form begins with tell nothing beside top and bottom.
        let ends = [("journal", "pin 2"), ("angles", "0 120 240"), ("top", "10.1"), ("bottom", "7.1")];
        assert_eq!(row(Kind::Height, &ends), r#"{"journal":"pin 2","top":10.1,"bottom":7.1}"#);
        let flange = [("name", "flange"), ("total", "0.0010"), ("high", "90"), ("face_total", "")];
        assert_eq!(row(Kind::Feature, &flange), r#"{"name":"flange","total":0.0010,"high":90}"#);
        assert_eq!(row(Kind::Case, &[("set", "pin"), ("depth", "0.6 mm")]), r#"{"set":"pin","depth":"0.6 mm"}"#);
    }

    #[test]
    fn what_is_left_empty_is_asked_for_where_it_belongs() {
        let fields = Fields::of(vec![("count".to_owned(), "4".to_owned()), ("r1".to_owned(), "0".to_owned())]);
        let at: Vec<String> = Kind::Dial.missing(&fields).into_iter().map(|fault| fault.field).collect();
        assert_eq!(at, ["r2", "r3", "r4"]);
        for (kind, at) in [(Kind::Height, "heights"), (Kind::Feature, "total"), (Kind::Case, "depth")] {
            assert_eq!(
                kind.missing(&Fields::of(Vec::new())).into_iter().map(|fault| fault.field).collect::<Vec<_>>(),
                [at]
            );
        }
    }
}
