//! A case for the oil film: which engine, which oil, which clearances.
//!
//! What a shop does not know it leaves out; the film room then assumes it, with the range it may lie in.

use document::{Place, Problem, Problems};
use film::case::{Case, Clearance, Groove, Input, Kind, Known, OilChoice};
use film::engine::{Along, OnThrow};
use film::oil::{Grade, OilData};
use units::Unit;

use crate::table::{Field, Table};
use crate::{film_problems, specification};

/// The version of the document.
const VERSION: u64 = 1;

/// More throws than any engine has.
const MOST_THROWS: usize = 24;
/// More cylinders than any engine has.
const MOST_CYLINDERS: usize = 48;
/// More mains than any engine has.
const MOST_MAINS: usize = 49;

/// A case as it was read.
#[derive(Clone, Debug)]
pub struct FilmCase {
    /// What it is about, in words; may be empty.
    pub name: String,
    /// The unit of lengths in the document, in which the answer is told too.
    pub unit: Unit,
    /// The case.
    pub case: Case,
}

/// In what a figure is written.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Measure {
    /// A length in the unit of the document.
    Length,
    /// So many of the film room's unit to one of the document's.
    Times(f64),
}

/// Litres in a minute for each bar, in cubic metres a second for each pascal.
const LITRES_MIN_BAR: f64 = 1e-3 / 60.0 / 1e5;

/// Figures of the engine by the key of the document, the name in the film room, and in what they are written.
pub(crate) const FIGURES: [(&str, &str, Measure); 29] = [
    ("bore", "bore_m", Measure::Length),
    ("rod", "rod_m", Measure::Length),
    ("piston_kg", "piston_kg", Measure::Times(1.0)),
    ("rod_kg", "rod_kg", Measure::Times(1.0)),
    ("rod_big_share", "rod_big_share", Measure::Times(1.0)),
    ("throw_unbalance_kg", "throw_unbalance_kg", Measure::Times(1.0)),
    ("compression_ratio", "compression_ratio", Measure::Times(1.0)),
    ("charge_running_bar", "charge_running_pa", Measure::Times(1e5)),
    ("charge_idle_bar", "charge_idle_pa", Measure::Times(1e5)),
    ("heat_mj_m3", "heat_j_m3", Measure::Times(1e6)),
    ("heat_idle_share", "heat_idle_share", Measure::Times(1.0)),
    ("burn_from_deg", "burn_from_deg", Measure::Times(1.0)),
    ("burn_for_deg", "burn_for_deg", Measure::Times(1.0)),
    ("gas_exponent", "gas_exponent", Measure::Times(1.0)),
    ("pin_hole", "pin_hole_m", Measure::Length),
    ("main_groove", "main_groove_m", Measure::Length),
    ("roughness", "roughness_m", Measure::Length),
    ("oil_hot_c", "oil_hot_c", Measure::Times(1.0)),
    ("oil_cold_c", "oil_cold_c", Measure::Times(1.0)),
    ("shear_share", "shear_share", Measure::Times(1.0)),
    ("idle_rpm", "idle_rpm", Measure::Times(1.0)),
    ("running_rpm", "running_rpm", Measure::Times(1.0)),
    ("pump_cm3_rev", "pump_m3_rev", Measure::Times(1e-6)),
    ("pump_slip_mm3", "pump_slip_m3", Measure::Times(1e-9)),
    ("relief_opens_bar", "relief_opens_pa", Measure::Times(1e5)),
    ("relief_gain_l_min_bar", "relief_gain_m3_s_pa", Measure::Times(LITRES_MIN_BAR)),
    ("other_outlets_mm2", "other_outlets_m2", Measure::Times(1e-6)),
    ("passages_laminar_per_m3", "passages_laminar_per_m3", Measure::Times(1.0)),
    ("passages_turbulent_pa_s2_m6", "passages_turbulent_pa_s2_m6", Measure::Times(1.0)),
];

/// A figure of the engine as a case names it, for those who ask for it one by one.
#[derive(Clone, Copy, Debug)]
pub struct FilmFigure {
    /// The key of the document.
    pub key: &'static str,
    /// The name in the film room.
    pub name: &'static str,
    measure: Measure,
}

impl FilmFigure {
    /// The figure of a key or of a film room's name.
    pub fn of(word: &str) -> Option<FilmFigure> {
        let found = FIGURES.iter().find(|(key, name, _)| *key == word || *name == word);
        found.map(|&(key, name, measure)| FilmFigure { key, name, measure })
    }

    /// A number in the film room's unit.
    pub fn si(self, number: f64, unit: Unit) -> f64 {
        match (self.measure, unit) {
            (Measure::Times(factor), _) => number * factor,
            (Measure::Length, Unit::Inch) => number * 0.0254,
            (Measure::Length, Unit::Millimetre) => number / 1000.0,
        }
    }

    /// What it is written in, in words; empty for a plain number.
    pub fn written_in(self, unit: Unit) -> String {
        if let Measure::Length = self.measure {
            return unit.to_string();
        }
        const UNITS: [(&str, &str); 14] = [
            ("_l_min_bar", "l/min for each bar"),
            ("_cm3_rev", "cm³"),
            ("_mj_m3", "MJ/m³"),
            ("_pa_s2_m6", "Pa s²/m⁶"),
            ("_per_m3", "1/m³"),
            ("_mm3", "mm³"),
            ("_mm2", "mm²"),
            ("_rpm", "turns a minute"),
            ("_deg", "degrees"),
            ("_bar", "bar"),
            ("_kg", "kg"),
            ("_c", "°C"),
            ("_share", "0 to 1"),
            ("", ""),
        ];
        UNITS.iter().find(|(end, _)| self.key.ends_with(end)).map(|(_, words)| (*words).to_owned()).unwrap_or_default()
    }
}

/// The key by which a case gives a figure of the film room, as a sheet of this program writes it.
pub fn film_key(figure: &str) -> &str {
    FIGURES.iter().find(|(_, name, _)| *name == figure).map_or(figure, |(key, ..)| key)
}

/// Reads a case, and has the film room look over whether its figures make an engine.
///
/// # Errors
/// Every problem at once, of form and of physics, in the order of the lines.
pub fn read_film_case(file: &str, text: &str) -> Result<FilmCase, Vec<Problem>> {
    let mut problems = Problems::default();
    let place = Place { file, line: Some(1) };
    if text.trim_start_matches('\u{feff}').trim().is_empty() {
        problems.add(place, "", "an empty file", "a case", "begin with film = 1; docs/film.md has a case to copy");
        return Err(problems.into_list());
    }
    let Some(document) = document::read(file, text, &mut problems) else { return Err(told(problems)) };
    let mut root = Table::root(file, &document, &mut problems);
    let (unit, case) = read(&mut root, &mut problems);
    root.finish(&mut problems);
    if let Err(found) = case.case.check() {
        film_problems::add(file, document.root(), unit, &found, &mut problems);
    }
    if problems.is_empty() { Ok(case) } else { Err(told(problems)) }
}

/// The problems of a case. What every document shares points to the sheet's description; a case has its own.
fn told(problems: Problems) -> Vec<Problem> {
    let mut list = problems.into_list();
    for problem in &mut list {
        problem.advice = problem.advice.replace("docs/sheet.md", "docs/film.md");
    }
    list
}

/// The unit where one is said, and the case; what could not be read in it has been put down, and some usable figure
/// stands there instead, so that the others are looked over all the same.
fn read(root: &mut Table<'_>, problems: &mut Problems) -> (Option<Unit>, FilmCase) {
    specification::version(root, "film", VERSION, problems);
    let name = root.take("name").and_then(|f| f.text(problems)).unwrap_or_default().to_owned();
    let unit = specification::units(root, problems);
    // Without it no length means anything; the others are still looked at.
    let lengths = unit.unwrap_or(Unit::Inch);
    let throws = root.need("throws", "the direction of each throw", "throws = [0, 180, 180, 0]", problems);
    let throws_deg = throws.and_then(|f| directions(&f, problems));
    let cylinders = root.take("cylinder").map(|f| cylinders(&f, problems)).unwrap_or_default();
    let firing_order = firing_order(root, &cylinders, problems);
    let kind =
        root.take("kind").and_then(|f| f.word(&[Kind::Petrol, Kind::Diesel].map(|kind| (kind.name(), kind)), problems));
    let stroke_m = needed_m(root, "stroke", "twice the throw", Example::new("3.0", "80"), lengths, problems);
    let pin = journal(root, "pin", MOST_THROWS, lengths, problems);
    let main = journal(root, "main", MOST_MAINS, lengths, problems);
    let groove = root
        .take("main_groove_kind")
        .and_then(|f| f.word(&[("upper", Groove::Upper), ("full", Groove::Full)], problems));
    let needed = "the oil: without its viscosity nothing carries";
    let oil = root.need("oil", needed, OIL_EXAMPLE, problems).and_then(|f| oil(&f, problems));
    let clearances = root.need("clearance", "clearances to compare", "[[clearance]] rows", problems);
    let clearances = clearances.map(|f| clearance_rows(&f, lengths, problems)).unwrap_or_default();
    let plan = root.take("plan").and_then(|f| planned(&f, &clearances, problems));
    let figures = root.take("figures");
    let along = along(&pin, &main, root, problems);
    let known = Known {
        stroke_m: stroke_m.unwrap_or(0.08),
        pin_diameter_m: pin.diameter_m.unwrap_or(0.05),
        pin_length_m: pin.shell_m.unwrap_or(0.02),
        main_diameter_m: main.diameter_m.unwrap_or(0.05),
        main_length_m: main.shell_m.unwrap_or(0.02),
    };
    let mut case =
        Case::new(&known, throws_deg.as_deref().unwrap_or_default(), firing_order.as_deref().unwrap_or_default());
    if let Some(kind) = kind {
        case.set_kind(kind);
    }
    if !cylinders.is_empty() {
        case.set_cylinders(cylinders);
    }
    case.along = along;
    match oil {
        Some(OilChoice::Grade(grade)) => case.set_grade(grade),
        Some(data) => (case.oil, case.oil_given) = (data, true),
        None => {}
    }
    if let Some(field) = figures {
        given_figures(&field, lengths, &mut case, problems);
    }
    case.groove = groove.unwrap_or(case.groove);
    case.plan = plan.unwrap_or(clearances.len().saturating_sub(1));
    case.clearances = clearances;
    (unit, FilmCase { name, unit: lengths, case })
}

/// An example of a length in inches and in millimetres.
#[derive(Clone, Copy)]
struct Example {
    inch: &'static str,
    mm: &'static str,
}

impl Example {
    fn new(inch: &'static str, mm: &'static str) -> Example {
        Example { inch, mm }
    }

    fn in_unit(self, unit: Unit) -> &'static str {
        match unit {
            Unit::Inch => self.inch,
            Unit::Millimetre => self.mm,
        }
    }
}

/// How an oil is written.
const OIL_EXAMPLE: &str =
    "oil = \"15W-40\", the grade on the can, or { lower_mm2_s = 105, higher_mm2_s = 14 } from its data sheet";

fn directions(field: &Field<'_>, problems: &mut Problems) -> Option<Vec<f64>> {
    let items = field.list("the direction of each throw, in degrees from the first", problems)?;
    if items.len() > MOST_THROWS {
        field.refuse(problems, format!("at most {MOST_THROWS} throws"), "list each throw once, from the nose");
        return None;
    }
    Some(items.iter().filter_map(|item| item.angle_deg(problems)).collect())
}

fn firing(field: &Field<'_>, problems: &mut Problems) -> Option<Vec<usize>> {
    let items = field.list("the cylinders, counted from the nose, as they fire", problems)?;
    let numbers = items.iter().filter_map(|item| item.whole(1, MOST_CYLINDERS as u64, problems));
    Some(numbers.filter_map(|number| usize::try_from(number).ok()).collect())
}

fn needed_m(
    table: &mut Table<'_>,
    key: &'static str,
    what: &str,
    example: Example,
    unit: Unit,
    problems: &mut Problems,
) -> Option<f64> {
    let field = table.need(key, what, &format!("{key} = {}", example.in_unit(unit)), problems)?;
    length_m(&field, unit, problems)
}

fn length_m(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<f64> {
    field.length(unit, problems).map(|entry| entry.mm / 1000.0)
}

/// What is said of pins or of mains.
#[derive(Debug, Default)]
struct Journals {
    diameter_m: Option<f64>,
    shell_m: Option<f64>,
    positions_m: Vec<f64>,
}

fn journal(root: &mut Table<'_>, key: &'static str, most: usize, unit: Unit, problems: &mut Problems) -> Journals {
    let example = match unit {
        Unit::Inch => format!("{key} = {{ diameter = 2.0, shell = 0.9 }}"),
        Unit::Millimetre => format!("{key} = {{ diameter = 50, shell = 22 }}"),
    };
    let table = root.need(key, "diameter and width of its shell", &example, problems);
    let Some(mut table) = table.and_then(|f| f.table(problems)) else { return Journals::default() };
    let sizes = Example::new("2.0", "50");
    let diameter_m = needed_m(&mut table, "diameter", "the diameter of the journal", sizes, unit, problems);
    let widths = Example::new("0.9", "22");
    let shell_m = needed_m(&mut table, "shell", "the width of its shell", widths, unit, problems);
    let positions_m = table.take("positions").map(|f| positions(&f, most, unit, problems)).unwrap_or_default();
    table.finish(problems);
    Journals { diameter_m, shell_m, positions_m }
}

fn positions(field: &Field<'_>, most: usize, unit: Unit, problems: &mut Problems) -> Vec<f64> {
    let items = field.list("the mid-length of each, from the nose", problems).unwrap_or_default();
    if items.len() > most {
        field.refuse(problems, format!("at most {most}"), "check that this is one crankshaft");
        return Vec::new();
    }
    items.iter().filter_map(|item| length_m(item, unit, problems)).collect()
}

/// Where mains and throws stand along the crank; nothing where no place is given.
fn along(pin: &Journals, main: &Journals, root: &Table<'_>, problems: &mut Problems) -> Option<Along> {
    let lacking = match (pin.positions_m.is_empty(), main.positions_m.is_empty()) {
        (true, true) => return None,
        (false, false) => {
            return Some(Along { mains_m: main.positions_m.clone(), throws_m: pin.positions_m.clone() });
        }
        (true, false) => "pin",
        (false, true) => "main",
    };
    let place = Place { file: root.place().file, line: root.line_of(lacking) };
    let advice = "give the mid-lengths of mains and pins, all from one point, or of neither";
    problems.add(place, format!("{lacking}.positions"), "nothing", "positions of both", advice);
    None
}

/// The cylinders, where they are listed.
fn cylinders(field: &Field<'_>, problems: &mut Problems) -> Vec<OnThrow> {
    let rows = field.rows(problems);
    if rows.len() > MOST_CYLINDERS {
        field.refuse(problems, format!("at most {MOST_CYLINDERS} cylinders"), "list each cylinder once");
        return Vec::new();
    }
    let degrees = |field: Field<'_>, low: f64, high: f64, problems: &mut Problems| {
        let expected = format!("degrees from {low} to {high}");
        field.number(|deg| (low..=high).contains(&deg), &expected, "write it in degrees, as 45", problems)
    };
    let mut found = Vec::new();
    for mut row in rows {
        let throw = row.need("throw", "the throw that its rod is on", "throw = 1", problems);
        let throw = throw.and_then(|f| f.whole(1, MOST_THROWS as u64, problems));
        let lean_deg = row.take("lean").map_or(Some(0.0), |f| degrees(f, -360.0, 360.0, problems));
        let fires_deg = row.take("fires").map(|f| degrees(f, 0.0, 720.0, problems));
        row.finish(problems);
        if let (Some(throw), Some(lean_deg)) = (throw.and_then(|n| usize::try_from(n).ok()), lean_deg) {
            found.push(OnThrow { throw, lean_deg, fires_deg: fires_deg.flatten() });
        }
    }
    found
}

/// The order in which the cylinders fire; left out where every cylinder says when it does.
fn firing_order(root: &mut Table<'_>, cylinders: &[OnThrow], problems: &mut Problems) -> Option<Vec<usize>> {
    if cylinders.iter().any(|cylinder| cylinder.fires_deg.is_some()) {
        return root.take("firing_order").and_then(|f| firing(&f, problems));
    }
    let order = root.need("firing_order", "the cylinders as they fire", "firing_order = [1, 3, 4, 2]", problems);
    order.and_then(|f| firing(&f, problems))
}

fn oil(field: &Field<'_>, problems: &mut Problems) -> Option<OilChoice> {
    if !field.is_table() {
        let grades = Grade::ALL.map(|grade| (grade.name(), grade));
        return field.word(&grades, problems).map(OilChoice::Grade);
    }
    let mut table = field.table(problems)?;
    let mut number = |key: &'static str, usual: Option<f64>| {
        let advice = "copy it from the oil's data sheet";
        match (table.take(key), usual) {
            (Some(field), _) => field.number(|_| true, "a number", advice, problems),
            (None, Some(usual)) => Some(usual),
            (None, None) => {
                problems.add(table.place(), table.named(key), "nothing", "a number", advice);
                None
            }
        }
    };
    let data = OilData {
        lower_temp_c: number("lower_c", Some(40.0))?,
        lower_viscosity_mm2_s: number("lower_mm2_s", None)?,
        higher_temp_c: number("higher_c", Some(100.0))?,
        higher_viscosity_mm2_s: number("higher_mm2_s", None)?,
        density_15_kg_m3: number("density_15_kg_m3", Some(880.0))?,
    };
    table.finish(problems);
    Some(OilChoice::Data(data))
}

fn clearance_rows(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Vec<Clearance> {
    let mut clearances: Vec<Clearance> = Vec::new();
    for mut row in field.rows(problems) {
        let named = row.need("name", "what it is", "name = \"as found\"", problems);
        let name = named.as_ref().and_then(|f| f.text(problems)).unwrap_or_default();
        if let Some(field) = named.filter(|_| clearances.iter().any(|known| !name.is_empty() && known.name == name)) {
            field.refuse(problems, "a name of its own", "two of one name cannot be told apart: rename one");
        }
        let usual = Example::new("0.002", "0.05");
        let (rods, mains) = ("the clearance of the big ends, on the diameter", "that of the mains, on the diameter");
        let pin = needed_m(&mut row, "pin", rods, usual, unit, problems);
        let main = needed_m(&mut row, "main", mains, usual, unit, problems);
        row.finish(problems);
        // Every row has its place, for what the film room says of it; what could not be read has been put down.
        let (pin_diametral_m, main_diametral_m) = (pin.unwrap_or(f64::NAN), main.unwrap_or(f64::NAN));
        clearances.push(Clearance::alike(name, pin_diametral_m, main_diametral_m));
    }
    clearances
}

/// Which clearance is the plan, by its name.
fn planned(field: &Field<'_>, clearances: &[Clearance], problems: &mut Problems) -> Option<usize> {
    let name = field.text(problems)?;
    let found = clearances.iter().position(|clearance| clearance.name == name);
    if found.is_none() {
        let names: Vec<&str> = clearances.iter().map(|clearance| clearance.name.as_str()).collect();
        field.refuse(problems, names.join(" or "), "name one of the clearances");
    }
    found
}

fn given_figures(field: &Field<'_>, unit: Unit, case: &mut Case, problems: &mut Problems) {
    let Some(mut table) = field.table(problems) else { return };
    for (key, name, measure) in FIGURES {
        let Some(field) = table.take(key) else { continue };
        let input = match field.is_table() {
            true => assumed(&field, unit, measure, problems),
            false => measured(&field, unit, measure, problems).map(Input::given),
        };
        let Some(input) = input else { continue };
        // A bore that is none does not scale anything.
        if name == "bore_m" && (0.01..1.5).contains(&input.value) {
            case.set_bore(input.value);
        }
        if let Some(place) = case.figures.named(name) {
            *place = input;
        }
    }
    table.finish(problems);
}

/// A figure with the range it may lie in.
fn assumed(field: &Field<'_>, unit: Unit, measure: Measure, problems: &mut Problems) -> Option<Input> {
    let mut table = field.table(problems)?;
    let mut number = |key: &'static str, example: &str| {
        let field = table.need(key, "a number", example, problems)?;
        measured(&field, unit, measure, problems)
    };
    let (value, from, to) = (number("value", "value = 1.0"), number("from", "from = 0.5"), number("to", "to = 2.0"));
    table.finish(problems);
    Some(Input::assumed(value?, from?, to?))
}

fn measured(field: &Field<'_>, unit: Unit, measure: Measure, problems: &mut Problems) -> Option<f64> {
    match measure {
        Measure::Length => length_m(field, unit, problems),
        Measure::Times(factor) => {
            field.number(|_| true, "a number", "write one number", problems).map(|number| number * factor)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TARN: &str = r#"
film = 1
name = "Tarn four"
units = "in"
throws = [0, 180, 180, 0]
firing_order = [1, 3, 4, 2]
stroke = 3.0
pin = { diameter = 1.8648, shell = 0.85 }
main = { diameter = 2.1147, shell = 0.95 }
oil = "20W-50"
plan = "as planned"
[[clearance]]
name = "as found"
pin = 0.0055
main = 0.0050
[[clearance]]
name = "as planned"
pin = 0.0018
main = 0.0020
[figures]
idle_rpm = 800
relief_opens_bar = { value = 4, from = 3.5, to = 4.5 }
pin_hole = 0.25
"#;

    #[test]
    fn a_case_is_read_with_its_units() {
        let read = read_film_case("tarn.toml", TARN).unwrap();
        let case = &read.case;
        assert!((case.figures.stroke_m.value - 0.0762).abs() < 1e-12);
        assert!((case.figures.pin_hole_m.value - 0.00635).abs() < 1e-12);
        assert_eq!(case.figures.idle_rpm, Input::given(800.0));
        assert_eq!(case.figures.relief_opens_pa, Input::assumed(4e5, 3.5e5, 4.5e5));
        assert_eq!((case.plan, case.clearances.len()), (1, 2));
        assert_eq!(case.oil, OilChoice::Grade(Grade::Sae20w50));
        assert!(case.check().is_ok());
    }

    /// Every figure that the film room has can be given.
    #[test]
    fn no_figure_is_left_out() {
        let mut case = read_film_case("tarn.toml", TARN).unwrap().case;
        for (key, name, _) in FIGURES {
            assert!(case.figures.named(name).is_some(), "{key}");
        }
        let apart = ["stroke_m", "pin_diameter_m", "pin_length_m", "main_diameter_m", "main_length_m"];
        for (name, _) in case.figures.list() {
            let known = apart.contains(&name) || FIGURES.iter().any(|(_, known, _)| *known == name);
            assert!(known, "{name} has no key");
        }
    }

    #[test]
    fn everything_that_is_wrong_is_said_with_its_line() {
        let text = TARN
            .replace("stroke = 3.0", "strok = 3.0")
            .replace("\"20W-50\"", "\"20W50\"")
            .replace("plan = \"as planned\"", "plan = \"as wished\"")
            .replace("idle_rpm = 800", "idle = 800");
        let problems = read_film_case("tarn.toml", &text).unwrap_err();
        let said: Vec<String> = problems.iter().map(ToString::to_string).collect();
        for wanted in ["stroke", "strok", "oil", "plan", "figures.idle"] {
            assert!(said.iter().any(|says| says.contains(wanted)), "{wanted}: {said:#?}");
        }
        assert!(problems.iter().all(|problem| problem.line.is_some()), "{said:#?}");
    }

    const VEE_TWIN: &str = r#"
film = 1
units = "mm"
throws = [0]
stroke = 90
pin = { diameter = 40, shell = 18, positions = [60] }
main = { diameter = 45, shell = 22, positions = [0, 120] }
oil = "40"
[[cylinder]]
throw = 1
lean = 25
fires = 0
[[cylinder]]
throw = 1
lean = -25
fires = 310
[[clearance]]
name = "as planned"
pin = 0.045
main = 0.050
"#;

    #[test]
    fn cylinders_that_lean_and_share_a_pin_are_read() {
        let case = read_film_case("twin.toml", VEE_TWIN).unwrap().case;
        assert!(case.check().is_ok(), "{:?}", case.check());
        assert_eq!((case.cylinder_count(), case.firing_order.len()), (2, 0));
        assert_eq!(case.cylinders[1], OnThrow { throw: 1, lean_deg: -25.0, fires_deg: Some(310.0) });
        let along = case.along.unwrap();
        assert_eq!((along.mains_m.len(), along.throws_m.len()), (2, 1));
        assert!((along.throws_m[0] - 0.06).abs() < 1e-12);
        // Two cylinders swept, not one: the pump that is assumed is as large.
        let single = VEE_TWIN.replace("[[cylinder]]\nthrow = 1\nlean = -25\nfires = 310\n", "");
        let single = read_film_case("single.toml", &single).unwrap().case;
        assert!((case.figures.pump_m3_rev.value / single.figures.pump_m3_rev.value - 2.0).abs() < 1e-12);
    }

    #[test]
    fn what_is_wrong_with_cylinders_is_said_with_its_line() {
        let text = VEE_TWIN
            .replace("lean = 25", "lean = nan")
            .replace("throw = 1\nlean = -25", "throw = 0\nleen = -25")
            .replace("fires = 310", "fires = 1e9")
            .replace(", positions = [60]", "");
        let problems = read_film_case("twin.toml", &text).unwrap_err();
        let keys: Vec<&str> = problems.iter().map(|problem| problem.key.as_str()).collect();
        for key in ["cylinder[1].lean", "cylinder[2].throw", "cylinder[2].leen", "cylinder[2].fires", "pin.positions"] {
            assert!(keys.contains(&key), "{key} in {keys:?}");
        }
        assert!(problems.iter().all(|problem| problem.line.is_some()), "{problems:?}");
    }

    fn refused(text: &str) -> Vec<String> {
        let problems = read_film_case("case.toml", text).unwrap_err();
        problems.iter().map(ToString::to_string).collect()
    }

    /// What the film room finds stands at the key that was typed, in the unit that was typed, with the line.
    #[test]
    fn the_films_problems_are_told_as_typed() {
        let one = |from: &str, to: &str, says: &str| {
            let found = refused(&TARN.replace(from, to));
            assert_eq!(found, [says], "{to}");
        };
        one(
            "pin = 0.0018",
            "pin = -0.002",
            "case.toml:18: clearance[2].pin: found -0.002 in, expected 0.000186 to 0.0373 in; without a gap there is no film",
        );
        one(
            "pin = 0.0018",
            "pin = 0.00002",
            "case.toml:18: clearance[2].pin: found 0.00002 in, expected 0.000186 to 0.0373 in; \
             a gap under a ten-thousandth of the journal closes as the engine warms",
        );
        one(
            "pin_hole = 0.25",
            "bore = 80",
            "case.toml:23: figures.bore: found 80 in, expected 0.394 to 59.1 in; \
             no engine’s cylinder is so large; 80 mm would do: is the file’s unit the right one?",
        );
        one(
            "pin_hole = 0.25",
            "pump_cm3_rev = 1e300",
            "case.toml:23: figures.pump_cm3_rev: found 1e300, expected 0.01 to 100000; no engine carries such a pump",
        );
        one(
            "shell = 0.95",
            "shell = 95",
            "case.toml:9: main.shell: found 95 in, expected 0.0787 to 39.4 in; no shell is so wide; \
             95 mm would do: is the file’s unit the right one?",
        );
        one(
            "[1, 3, 4, 2]",
            "[1, 2, 3, 4]",
            "case.toml:6: firing_order: found [1, 2, 3, 4], expected an order in which cylinder 3 fires at 180 or 540, \
             when its piston is at the top; a cylinder is taken to fire at the top: look over throws, leans (counted the \
             same way round) and order, and give each cylinder’s own firing angle where the engine fires unevenly",
        );
    }

    /// Form and physics in one list, and nothing that only follows from another problem.
    #[test]
    fn seven_problems_are_seven_lines() {
        let text = TARN
            .replace("stroke = 3.0", "stroke = 0")
            .replace("shell = 0.85", "shell = nan")
            .replace("\"20W-50\"", "\"x\"")
            .replace("pin = 0.0055", "pin = -1")
            .replace("idle_rpm = 800", "idle_rpm = 0\nzzz = 1")
            .replace("pin_hole = 0.25", "bore = -2");
        let keys: Vec<String> =
            read_film_case("case.toml", &text).unwrap_err().into_iter().map(|problem| problem.key).collect();
        let wanted =
            ["stroke", "pin.shell", "oil", "clearance[1].pin", "figures.idle_rpm", "figures.zzz", "figures.bore"];
        assert_eq!(keys, wanted);
    }

    #[test]
    fn a_case_without_oil_is_refused_with_the_reason() {
        let says = refused(&TARN.replace("oil = \"20W-50\"\n", ""));
        assert_eq!(says.len(), 1, "{says:?}");
        assert!(says[0].contains("oil: found nothing") && says[0].contains("viscosity"), "{says:?}");
        assert!(says[0].contains("oil = \"15W-40\""), "{says:?}");
    }

    #[test]
    fn examples_fit_the_unit_and_advice_points_to_the_case() {
        let says = refused(&TARN.replace("pin = 0.0055\n", ""));
        assert!(says[0].ends_with("add pin = 0.002"), "{says:?}");
        let says = refused(&VEE_TWIN.replace("pin = 0.045\n", ""));
        assert!(says[0].ends_with("add pin = 0.05"), "{says:?}");
        let says = refused(&format!("wibble = 1\n{TARN}"));
        assert!(says[0].contains("docs/film.md"), "{says:?}");
        let says = refused(" \n");
        assert!(says[0].contains("begin with film = 1") && says[0].contains("docs/film.md"), "{says:?}");
    }

    #[test]
    fn two_clearances_of_one_name_are_refused() {
        let says = refused(&TARN.replace("name = \"as found\"", "name = \"as planned\""));
        assert_eq!(says.len(), 1, "{says:?}");
        assert!(says[0].contains("clearance[2].name") && says[0].contains("cannot be told apart"), "{says:?}");
    }

    /// The grade brings its own loss under shear; a bore moves what is assumed with it; a diesel presses harder.
    #[test]
    fn oil_bore_and_kind_reach_what_is_assumed() {
        let case = |text: &str| read_film_case("case.toml", text).unwrap().case;
        let (thick, thin) = (case(TARN), case(&TARN.replace("20W-50", "10W-30")));
        assert!(thick.oil_given && thick.figures.shear_share != thin.figures.shear_share);
        let wide = case(&TARN.replace("pin_hole = 0.25", "bore = 3.3"));
        assert!((wide.figures.piston_kg.value / thick.figures.piston_kg.value - 1.1f64.powi(3)).abs() < 1e-9);
        let diesel = case(&TARN.replace("units =", "kind = \"diesel\"\nunits ="));
        assert_eq!((diesel.kind, diesel.kind_given, thick.kind_given), (Kind::Diesel, true, false));
        assert!(diesel.figures.compression_ratio.value > 15.0);
    }

    #[test]
    fn positions_and_firing_angles_are_told_as_typed() {
        let text = VEE_TWIN.replace("fires = 310", "fires = 300").replace("positions = [60]", "positions = [118]");
        let says = refused(&text);
        assert!(says[0].contains("cylinder[2].fires: found 300, expected"), "{says:?}");
        let says = refused(&VEE_TWIN.replace("positions = [60]", "positions = [118]"));
        assert!(says[0].contains("pin.positions[1]: found 118 mm, expected"), "{says:?}");
    }
}
