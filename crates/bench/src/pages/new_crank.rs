//! An engine that nobody typed in before: its specification, by hand or pasted, checked as typed.

mod shaft;

use crank::{Along, Layout, NoPositions, Severity, SpecProblem};
use shop::Value;
use units::{Unit, read, show_mm};

use crate::trouble::Fault;
use crate::visitor::Fields;

pub(crate) use shaft::ROWS;

/// What is said where a figure contradicts itself or its neighbours.
const LOOK_AT_THE_BOOK: &str = "Some manuals print this wrong: compare it with the book.";

/// A specification as typed, and what there is to say about it.
#[derive(Clone, Debug)]
pub(crate) struct Typed {
    /// It; not to be used while there are faults.
    pub(crate) specification: Value,
    /// What was taken for granted because it was not typed.
    pub(crate) assumed: Vec<String>,
    /// What is odd but does not keep it from being used.
    pub(crate) queries: Vec<String>,
    pub(crate) faults: Vec<Fault>,
    /// Keys whose odd value may be confirmed against the book, with what is odd.
    pub(crate) confirmable: Vec<(String, String)>,
}

/// The name it is called by.
pub(crate) fn name_of(specification: &Value) -> &str {
    specification.words("name").unwrap_or("a crank without a name")
}

/// A specification pasted as text.
pub(crate) fn pasted(fields: &Fields) -> Typed {
    text(fields, "pasted")
}

/// What is odd about a specification that can be used.
pub(crate) fn queries(book: &Value) -> Vec<String> {
    let mut typed = Typed { specification: book.clone(), ..Typed::nothing() };
    typed.judge(&Fields::default(), str::to_owned);
    typed.queries
}

/// A specification as text in a field.
pub(crate) fn text(fields: &Fields, field: &str) -> Typed {
    let text = fields.text(field);
    let mut typed = Typed::nothing();
    match Value::from_text(text) {
        Ok(specification) => typed.specification = specification,
        Err(error) => {
            typed.faults.push(Fault::new(field, format!("The specification cannot be read: {error}.")));
            return typed;
        }
    }
    if typed.specification.words("name").is_none_or(|name| name.trim().is_empty()) {
        let says = "Add a line with its name, like name = \"Tarn four, 1.5 litre\".";
        typed.faults.push(Fault::new(field, says));
    }
    typed.confirm(fields);
    typed.judge(fields, |_| field.to_owned());
    typed
}

/// A specification typed field by field.
pub(crate) fn by_hand(fields: &Fields) -> Typed {
    let mut typed = Typed::nothing();
    let unit = if fields.text("book_units") == "mm" { Unit::Millimetre } else { Unit::Inch };
    let mut faults = Vec::new();
    let name = fields.need("name", "Enter the engine’s name, so that it can be chosen next time.", &mut faults);
    let set = |specification: &mut Value, key: &str, value: Option<Value>| {
        if let Some(value) = value {
            specification.set(key, value);
        }
    };
    let figure = |field: &str| fields.get(field).map(Value::typed);

    let mut specification = Value::table([
        ("specification", Value::Number("1".to_owned())),
        ("name", Value::from(name)),
        ("units", Value::from(if unit == Unit::Millimetre { "mm" } else { "in" })),
    ]);
    let example = if unit == Unit::Millimetre { "79.00" } else { "3.1250" };
    let stroke = length(fields, "stroke", &format!("Stroke must be a length, like {example}."), unit, &mut faults);
    match stroke {
        Some(stroke) => {
            let throw = trimmed(&show_mm(stroke.0 / 2.0, unit, stroke.1 + 1));
            specification.set("throw", Value::typed(&throw));
        }
        None if fields.get("stroke").is_none() => {
            faults.push(Fault::new("stroke", "Enter the stroke, from the engine’s manual."));
        }
        None => {}
    }
    set(&mut specification, "throw_tolerance", shaft::throw_tolerance(fields));
    set(&mut specification, "index_tolerance", figure("index_tolerance"));

    let sets = [("main", "main"), ("pin", "pin")].map(|(key, word)| {
        let mut table = Value::Table(Vec::new());
        let need = |end: &str, which: &str, faults: &mut Vec<Fault>| {
            let field = format!("{key}.{end}");
            let says = format!("Enter the {which} new {word} size, from the engine’s manual.");
            fields.need(&field, &says, faults).to_owned()
        };
        let (low, high) = (need("low", "smallest", &mut faults), need("high", "largest", &mut faults));
        if let (Ok(smallest), Ok(largest)) = (read(&low, unit), read(&high, unit))
            && smallest.mm > largest.mm
        {
            let says = format!("Smallest new size must be less than the largest, {high}. {LOOK_AT_THE_BOOK}");
            faults.push(Fault::new(&format!("{key}.low"), says));
        }
        if !low.is_empty() && !high.is_empty() {
            table.set("size", Value::List(vec![Value::typed(&low), Value::typed(&high)]));
        }
        let field = format!("{key}.length");
        let says = format!("Enter the length of one {word}, from the manual or measured with a rule.");
        fields.need(&field, &says, &mut faults);
        set(&mut table, "length", figure(&field));
        table.set("undersizes", shaft::undersizes(fields.text(&format!("{key}.undersizes"))));
        for (limit, given) in [("out_of_round", "out_of_round"), ("taper", "taper")] {
            let own = format!("{key}.{given}");
            set(&mut table, limit, figure(&own).or_else(|| figure(given)));
        }
        set(&mut table, "smallest", figure(&format!("{key}.smallest")));
        let worn = [
            ("size", figure(&format!("{key}.wear_limit"))),
            ("out_of_round", figure("wear_out_of_round")),
            ("taper", figure("wear_taper")),
        ];
        let worn: Vec<(&str, Value)> = worn.into_iter().filter_map(|(key, value)| Some((key, value?))).collect();
        set(&mut table, "wear_limit", (!worn.is_empty()).then(|| Value::table(worn)));
        shaft::of_set(fields, key, &mut table, &mut faults);
        table
    });
    let [mut main, mut pin] = sets;
    let run_out = figure("run_out").map(|value| {
        let sense = if fields.text("run_out_as") == "bend" { "bend" } else { "total" };
        Value::table([("value", value), ("read_as", Value::from(sense))])
    });
    set(&mut main, "run_out", run_out);
    along(fields, unit, &mut main, &mut pin, &mut typed.assumed, &mut faults);
    specification.set("main", main);
    specification.set("pin", pin);
    shaft::of_shaft(fields, &mut specification, &mut faults);
    let kind = fields.get("treatment").unwrap_or("none");
    let mut treatment = Value::table([("kind", Value::from(kind))]);
    if let Some(mean) = figure("growth") {
        let growth = [("mean", Some(mean)), ("sd", figure("growth_sd"))];
        let growth = growth.into_iter().filter_map(|(key, value)| Some((key, value?)));
        treatment.set("growth", Value::table(growth));
    }
    specification.set("treatment", treatment);
    if !typed.assumed.is_empty() {
        specification.set("note", Value::from(typed.assumed.join(" ").as_str()));
    }
    typed.specification = specification;
    typed.faults = faults;
    typed.confirm(fields);
    typed.judge(fields, field_of);
    typed
}

impl Typed {
    /// Nothing typed yet.
    pub(crate) fn nothing() -> Typed {
        Typed {
            specification: Value::Table(Vec::new()),
            assumed: Vec::new(),
            queries: Vec::new(),
            faults: Vec::new(),
            confirmable: Vec::new(),
        }
    }

    /// Puts in the keys that were compared with the book.
    fn confirm(&mut self, fields: &Fields) {
        let ticked = fields.all().filter(|(name, _)| *name == "confirm").map(|(_, key)| Value::from(key));
        let ticked: Vec<Value> = ticked.collect();
        if !ticked.is_empty() {
            self.specification.set("confirmed", Value::List(ticked));
        }
    }

    /// Asks the reader of specifications and the check of printed figures.
    fn judge(&mut self, fields: &Fields, field_of: impl Fn(&str) -> String) {
        let marked: Vec<String> = self.faults.iter().map(|fault| fault.field.clone()).collect();
        // What was found missing or out of order by the form itself is said once.
        let fresh = |field: &str| matches!(field, "pasted" | "text") || !marked.iter().any(|known| known == field);
        let printed = match sheet::read_specification("what was typed", &self.specification.to_json()) {
            Ok((printed, _)) => printed,
            Err(problems) => {
                for problem in problems {
                    let field = field_of(&problem.key);
                    let follows =
                        problem.found == "nothing" && problem.key.ends_with("positions") && !marked.is_empty();
                    if fresh(&field) && !follows {
                        let says = format!(
                            "{}: found {}, expected {}; {}.",
                            said(&problem.key),
                            problem.found,
                            problem.expected,
                            problem.advice
                        );
                        self.faults.push(Fault::new(&field, says));
                    }
                }
                return;
            }
        };
        for problem in crank::check(&printed) {
            // Positions that could not be worked out because a length is missing are not missing themselves.
            if problem.found == "nothing" && problem.key.ends_with(".positions") && !marked.is_empty() {
                continue;
            }
            let ticked = fields.all().any(|(name, key)| name == "confirm" && key == problem.key);
            let says = words_of(&problem);
            if !problem.confirm.is_empty() || ticked {
                self.confirmable.push((problem.key.clone(), said(&problem.key)));
            }
            let field = field_of(&problem.key);
            match problem.severity {
                Severity::Fault if fresh(&field) => self.faults.push(Fault::new(&field, says)),
                Severity::Fault => {}
                Severity::Query => self.queries.push(says),
            }
        }
    }
}

/// A problem of the printed figures as a sentence.
fn words_of(problem: &SpecProblem) -> String {
    let SpecProblem { found, expected, cause, .. } = problem;
    let mut says = format!("{}: found {found}, expected {expected}; {cause}.", said(&problem.key));
    if problem.severity == Severity::Fault {
        says.push(' ');
        says.push_str(LOOK_AT_THE_BOOK);
    }
    if !problem.confirm.is_empty() {
        says.push_str(" If it really says so, tick it below.");
    }
    says
}

/// `main.undersizes[2]` as it is said: `Main undersizes 2`.
fn said(key: &str) -> String {
    let key = key.strip_prefix("specification.").unwrap_or(key);
    let plain: String = key.chars().map(|c| if matches!(c, '.' | '_' | '[') { ' ' } else { c }).collect();
    crate::wording::capital(&plain.replace(']', ""))
}

/// The field that a key of the specification is typed in.
fn field_of(key: &str) -> String {
    let key = key.strip_prefix("specification.").unwrap_or(key);
    if let Some(field) = shaft::field_of(key) {
        return field;
    }
    let plain = key.split('[').next().unwrap_or(key);
    match plain {
        "throw" => "stroke",
        "units" => "book_units",
        "main.size" => "main.low",
        "pin.size" => "pin.low",
        "main.count" => "mains",
        "pin.count" => "pins",
        "pin.angles" => "angles",
        "main.run_out" => "run_out",
        "main.out_of_round" | "pin.out_of_round" => "out_of_round",
        "main.taper" | "pin.taper" => "taper",
        "main.wear_limit.out_of_round" | "pin.wear_limit.out_of_round" => "wear_out_of_round",
        "main.wear_limit.taper" | "pin.wear_limit.taper" => "wear_taper",
        "main.wear_limit.size" => "main.wear_limit",
        "pin.wear_limit.size" => "pin.wear_limit",
        "treatment" | "treatment.kind" => "treatment",
        other if other.starts_with("treatment.growth") => "growth",
        other => other,
    }
    .to_owned()
}

/// Counts, directions and positions: as typed, or worked out from the layout.
fn along(
    fields: &Fields,
    unit: Unit,
    main: &mut Value,
    pin: &mut Value,
    assumed: &mut Vec<String>,
    faults: &mut Vec<Fault>,
) {
    let layout = Layout::named(fields.text("layout"));
    let angles = listed(fields.text("angles"));
    let directions: Vec<String> = match layout {
        _ if !angles.is_empty() => angles,
        Some(layout) => {
            let angles: Vec<String> = layout.angles_deg.iter().map(ToString::to_string).collect();
            let hand = if layout.handed { " If yours is the other hand, type the directions." } else { "" };
            if layout.pins() > 1 {
                let list = angles.join(", ");
                assumed
                    .push(format!("Throws are taken to point to {list} degrees, as usual for {}.{hand}", layout.words));
            }
            angles
        }
        None => {
            faults.push(Fault::new("layout", "Choose a layout, or type the direction of each throw."));
            Vec::new()
        }
    };
    let mut whole = |field: &str, usual: Option<usize>| match fields.get(field) {
        None => usual,
        Some(text) => {
            let count = text.parse::<usize>().ok().filter(|count| (1..=40).contains(count));
            if count.is_none() {
                faults.push(Fault::new(field, "Enter a whole number from 1 to 40, like 5."));
            }
            count
        }
    };
    let mains = whole("mains", layout.map(|layout| layout.mains));
    let pins = whole("pins", Some(directions.len()).filter(|count| *count > 0));
    if mains.is_none() && fields.get("mains").is_none() {
        faults.push(Fault::new("mains", "Enter how many mains there are."));
    }
    for (table, count) in [(&mut *main, mains), (&mut *pin, pins)] {
        if let Some(count) = count {
            table.set("count", Value::Number(count.to_string()));
        }
    }
    pin.set("angles", Value::List(directions.iter().map(|text| Value::typed(text)).collect()));

    let typed = [listed(fields.text("main.positions")), listed(fields.text("pin.positions"))];
    let list = |texts: &[String]| Value::List(texts.iter().map(|text| Value::typed(text)).collect());
    if let [mains, pins] = &typed
        && !(mains.is_empty() && pins.is_empty())
    {
        main.set("positions", list(mains));
        pin.set("positions", list(pins));
        return;
    }
    let mut known = |field: &str, example: &str| {
        length(fields, field, &format!("Enter it as a length, like {example}."), unit, faults).map(|(mm, _)| mm)
    };
    let spacing_mm = known("spacing", "3.2");
    let lengths = (known("main.length", "1.10"), known("pin.length", "0.95"), known("main.high", "2.1250"));
    let ((Some(main_length_mm), Some(pin_length_mm), Some(main_size_mm)), Some(mains), Some(pins)) =
        (lengths, mains, pins)
    else {
        return;
    };
    let facts = Along { mains, pins, main_length_mm, pin_length_mm, spacing_mm, main_size_mm };
    match crank::positions(&facts) {
        Ok(found) => {
            let shown = |mm: f64| trimmed(&show_mm(mm, unit, if unit == Unit::Inch { 4 } else { 2 }));
            let texts = |all: &[f64]| all.iter().map(|mm| shown(*mm)).collect::<Vec<_>>();
            main.set("positions", list(&texts(&found.mains_mm)));
            pin.set("positions", list(&texts(&found.pins_mm)));
            assumed.push(match spacing_mm {
                Some(_) => format!(
                    "Mains are taken to stand {} {unit} apart, with webs of one width, {} {unit}, between the journals.",
                    shown(found.spacing_mm),
                    shown(found.web_mm)
                ),
                None => format!(
                    "No spacing was typed: each web is taken as a quarter of the main’s diameter, {} {unit}, which puts \
                     the mains {} {unit} apart. This is common practice, not the book; it matters for bend and for \
                     grinding on another axis.",
                    shown(found.web_mm),
                    shown(found.spacing_mm)
                ),
            });
        }
        Err(why @ NoPositions::Uneven { .. }) => {
            let says = format!("Where the journals stand cannot be worked out: {why}. Type the positions.");
            faults.push(Fault::new("main.positions", says));
        }
        Err(why) => faults.push(Fault::new("spacing", format!("The spacing does not fit: {why}."))),
    }
}

/// A length in millimetres and the decimals it was typed with.
fn length(fields: &Fields, field: &str, says: &str, unit: Unit, faults: &mut Vec<Fault>) -> Option<(f64, u32)> {
    let text = fields.get(field)?;
    match read(text, unit) {
        Ok(entry) => Some((entry.mm, entry.decimals)),
        Err(_) => {
            if !faults.iter().any(|fault| fault.field == field) {
                faults.push(Fault::new(field, says));
            }
            None
        }
    }
}

/// The items of a list as people type it: parted by semicolons, or by spaces and commas.
pub(crate) fn listed(text: &str) -> Vec<String> {
    // With semicolons between, a comma is a decimal comma.
    let parts: Vec<&str> = if text.contains(';') {
        text.split(';').collect()
    } else {
        text.split(|c: char| c.is_whitespace() || c == ',').collect()
    };
    parts.iter().map(|part| part.trim().to_owned()).filter(|part| part.contains(char::is_alphanumeric)).collect()
}

fn trimmed(figure: &str) -> String {
    if !figure.contains('.') {
        return figure.to_owned();
    }
    figure.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn four(more: &str) -> Typed {
        let plain = "name=Tarn&book_units=in&stroke=3.0000&layout=four&spacing=3.2&main.length=1.10&pin.length=0.95\
                     &main.low=2.1245&main.high=2.1250&main.undersizes=0.010%2C+0.020&pin.low=1.8745&pin.high=1.8750\
                     &pin.undersizes=0.010+0.020&out_of_round=0.0005&taper=0.0005&treatment=nitriding&growth=0.0005";
        by_hand(&Fields::read(format!("{more}&{plain}").as_bytes()))
    }

    fn fields(typed: &Typed) -> Vec<&str> {
        typed.faults.iter().map(|fault| fault.field.as_str()).collect()
    }

    /// The figures are those of the invented Tarn four; the positions must come out as its own file has them.
    #[test]
    fn the_figures_of_a_book_become_a_specification() {
        let typed = four("");
        assert_eq!(typed.faults, []);
        let book = &typed.specification;
        assert_eq!(book.get("throw"), Some(&Value::Number("1.5".into())));
        let list = |set: &str, key: &str| {
            let items = book.get(set).and_then(|set| set.get(key)).map(Value::items).unwrap_or_default();
            items.iter().filter_map(Value::as_typed).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(list("main", "positions"), "0 3.2 6.4 9.6 12.8");
        assert_eq!(list("pin", "positions"), "1.6 4.8 8 11.2");
        assert_eq!(list("pin", "angles"), "0 180 180 0");
        assert!(typed.assumed.iter().any(|says| says.contains("0.575 in")), "{:?}", typed.assumed);
    }

    #[test]
    fn faults_stand_beside_the_field_they_are_typed_in() {
        // The first of two fields of one name is the one that is read.
        assert_eq!(fields(&four("main.low=2.1350")), ["main.low"]);
        assert_eq!(fields(&four("stroke=three")), ["stroke"]);
        assert_eq!(fields(&four("main.length=")), ["main.length"]);
        assert_eq!(fields(&four("spacing=1.5")), ["spacing"]);
        assert_eq!(fields(&four("mains=0")), ["mains"]);
        assert!(fields(&four("out_of_round=0.5")).contains(&"out_of_round"));
        assert!(fields(&four("pin.undersizes=0.010+-0.020")).contains(&"pin.undersizes"));
    }

    #[test]
    fn an_odd_figure_that_was_compared_with_the_book_is_taken() {
        let odd = four("out_of_round=0.0050");
        assert!(!odd.confirmable.is_empty(), "{:?}", odd.faults);
        let ticks: String = odd.confirmable.iter().map(|(key, _)| format!("&confirm={key}")).collect();
        let confirmed = four(&format!("out_of_round=0.0050{ticks}"));
        assert_eq!(confirmed.faults, []);
        assert!(!confirmed.queries.is_empty());
    }

    /// The three things a wear limit says, each beside its field; new and worn limits are told apart.
    #[test]
    fn wear_limits_are_typed_beside_the_new_ones() {
        let typed = four("main.wear_limit=2.1235&pin.wear_limit=1.8735&wear_out_of_round=0.0010&wear_taper=0.0015");
        assert_eq!(typed.faults, []);
        let worn = |set: &str, key: &str| {
            let limit =
                typed.specification.get(set).and_then(|set| set.get("wear_limit")).and_then(|worn| worn.get(key));
            limit.and_then(Value::as_typed).map(str::to_owned)
        };
        assert_eq!(worn("main", "size").as_deref(), Some("2.1235"));
        assert_eq!(worn("pin", "size").as_deref(), Some("1.8735"));
        assert_eq!(worn("pin", "out_of_round").as_deref(), Some("0.0010"));
        assert_eq!(worn("main", "taper").as_deref(), Some("0.0015"));
        assert!(four("").specification.get("main").is_some_and(|main| main.get("wear_limit").is_none()));
        // Above the new size; tighter than when new, for both sets; no length at all.
        assert_eq!(fields(&four("main.wear_limit=2.1260")), ["main.wear_limit"]);
        let tighter = four("wear_out_of_round=0.0002");
        assert_eq!(fields(&tighter), ["wear_out_of_round"; 2]);
        assert_eq!(tighter.confirmable.len(), 2);
        assert_eq!(fields(&four("wear_taper=little")).first(), Some(&"wear_taper"));
    }

    #[test]
    fn lists_are_read_as_people_type_them() {
        assert_eq!(listed("0.010, 0.020 0.030"), ["0.010", "0.020", "0.030"]);
        assert_eq!(listed("0,25; 0,50"), ["0,25", "0,50"]);
        assert!(listed(" ,; ").is_empty());
    }

    #[test]
    fn a_pasted_specification_is_checked_the_same_way() {
        let paste = |text: &str| {
            let query = form_urlencoded::Serializer::new(String::new()).append_pair("pasted", text).finish();
            pasted(&Fields::read(query.as_bytes()))
        };
        assert_eq!(fields(&paste("throw = = 2")), ["pasted"]);
        assert_eq!(fields(&paste("specification = 1\nunits = \"in\"\nthrow = 1.5")).first(), Some(&"pasted"));
    }
}
