//! A case for the oil film: which engine, which oil, which clearances.
//!
//! What a shop does not know it leaves out; the film room then assumes it, with the range it may lie in.

use film::case::{Case, Clearance, Groove, Input, Known, OilChoice};
use film::engine::{Along, OnThrow};
use film::oil::{Grade, OilData};
use units::Unit;

use crate::problem::{Place, Problem, Problems};
use crate::table::{Field, Table};
use crate::{node, specification};

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
#[derive(Clone, Copy)]
enum Measure {
    /// A length in the unit of the document.
    Length,
    /// So many of the film room's unit to one of the document's.
    Times(f64),
}

/// Litres in a minute for each bar, in cubic metres a second for each pascal.
const LITRES_MIN_BAR: f64 = 1e-3 / 60.0 / 1e5;

/// Figures of the engine by the key of the document, the name in the film room, and in what they are written.
const FIGURES: [(&str, &str, Measure); 29] = [
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

/// The key by which a case gives a figure of the film room, as a sheet of this program writes it.
pub fn film_key(figure: &str) -> &str {
    FIGURES.iter().find(|(_, name, _)| *name == figure).map_or(figure, |(key, ..)| key)
}

/// The key of the document behind a field of the film room's layout (`layout.along.mains_m[2]`); other fields as they
/// are.
pub fn film_field(field: &str) -> String {
    const KEYS: [(&str, &str); 8] = [
        ("layout.along.mains_m", "main.positions"),
        ("layout.along.throws_m", "pin.positions"),
        ("layout.throws_deg", "throws"),
        ("layout.cylinders", "cylinder"),
        ("layout.firing_order", "firing_order"),
        (".lean_deg", ".lean"),
        (".fires_deg", ".fires"),
        ("layout.", ""),
    ];
    if !field.starts_with("layout.") {
        return field.to_owned();
    }
    KEYS.iter().fold(field.to_owned(), |field, (name, key)| field.replace(name, key))
}

/// Reads a case. That its figures make an engine is for the film room to say.
///
/// # Errors
/// Every problem at once, in the order of the lines.
pub fn read_film_case(file: &str, text: &str) -> Result<FilmCase, Vec<Problem>> {
    let mut problems = Problems::default();
    let Some(node) = node::tree(file, text, &mut problems) else { return Err(problems.into_list()) };
    let mut root = Table::root(file, &node, &mut problems);
    let case = read(&mut root, &mut problems);
    root.finish(&mut problems);
    match case {
        Some(case) if problems.is_empty() => Ok(case),
        _ => Err(problems.into_list()),
    }
}

fn read(root: &mut Table<'_>, problems: &mut Problems) -> Option<FilmCase> {
    specification::version(root, "film", VERSION, problems);
    let name = root.take("name").and_then(|f| f.text(problems)).unwrap_or_default().to_owned();
    let unit = specification::units(root, problems);
    // Without it no length means anything; the others are still looked at.
    let lengths = unit.unwrap_or(Unit::Inch);
    let throws = root.need("throws", "the direction of each throw", "throws = [0, 180, 180, 0]", problems);
    let throws_deg = throws.and_then(|f| directions(&f, problems));
    let cylinders = root.take("cylinder").map(|f| cylinders(&f, problems)).unwrap_or_default();
    let firing_order = firing_order(root, &cylinders, problems);
    let stroke_m = needed_m(root, "stroke", "twice the throw", lengths, problems);
    let pin = journal(root, "pin", MOST_THROWS, lengths, problems);
    let main = journal(root, "main", MOST_MAINS, lengths, problems);
    let groove = root
        .take("main_groove_kind")
        .and_then(|f| f.word(&[("upper", Groove::Upper), ("full", Groove::Full)], problems));
    let oil = root.take("oil").and_then(|f| oil(&f, problems));
    let clearances = root.need("clearance", "clearances to compare", "[[clearance]] rows", problems);
    let clearances = clearances.map(|f| clearance_rows(&f, lengths, problems)).unwrap_or_default();
    let plan = root.take("plan").and_then(|f| planned(&f, &clearances, problems));
    let figures = root.take("figures");
    let along = along(&pin, &main, root, problems);
    let known = match (stroke_m, pin, main) {
        (Some(stroke_m), Some(pin), Some(main)) => Known {
            stroke_m,
            pin_diameter_m: pin.diameter_m,
            pin_length_m: pin.shell_m,
            main_diameter_m: main.diameter_m,
            main_length_m: main.shell_m,
        },
        // Figures are read all the same, for what is wrong with them.
        _ => Known {
            stroke_m: 0.1,
            pin_diameter_m: 0.05,
            pin_length_m: 0.02,
            main_diameter_m: 0.05,
            main_length_m: 0.02,
        },
    };
    let mut case =
        Case::new(&known, throws_deg.as_deref().unwrap_or_default(), firing_order.as_deref().unwrap_or_default());
    if !cylinders.is_empty() {
        case.set_cylinders(cylinders);
    }
    case.along = along;
    if let Some(field) = figures {
        given_figures(&field, lengths, &mut case, problems);
    }
    case.groove = groove.unwrap_or(case.groove);
    case.oil = oil.unwrap_or(case.oil);
    case.plan = plan.unwrap_or(clearances.len().saturating_sub(1));
    case.clearances = clearances;
    Some(FilmCase { name, unit: unit?, case })
}

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

fn needed_m(table: &mut Table<'_>, key: &'static str, what: &str, unit: Unit, problems: &mut Problems) -> Option<f64> {
    let field = table.need(key, what, &format!("{key} = 2.0"), problems)?;
    length_m(&field, unit, problems)
}

fn length_m(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<f64> {
    field.length(unit, problems).map(|entry| entry.mm / 1000.0)
}

/// What is said of pins or of mains.
#[derive(Debug)]
struct Journals {
    diameter_m: f64,
    shell_m: f64,
    positions_m: Vec<f64>,
}

fn journal(
    root: &mut Table<'_>,
    key: &'static str,
    most: usize,
    unit: Unit,
    problems: &mut Problems,
) -> Option<Journals> {
    let example = format!("[{key}] with diameter and shell");
    let mut table = root.need(key, "diameter and width of its shell", &example, problems)?.table(problems)?;
    let diameter = needed_m(&mut table, "diameter", "the diameter of the journal", unit, problems);
    let shell = needed_m(&mut table, "shell", "the width of its shell", unit, problems);
    let positions_m = table.take("positions").map(|f| positions(&f, most, unit, problems)).unwrap_or_default();
    table.finish(problems);
    Some(Journals { diameter_m: diameter?, shell_m: shell?, positions_m })
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
fn along(pin: &Option<Journals>, main: &Option<Journals>, root: &Table<'_>, problems: &mut Problems) -> Option<Along> {
    let (pin, main) = (pin.as_ref()?, main.as_ref()?);
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
        let name = named.and_then(|f| f.text(problems));
        let pin = needed_m(&mut row, "pin", "the clearance of the big ends, on the diameter", unit, problems);
        let main = needed_m(&mut row, "main", "the clearance of the mains, on the diameter", unit, problems);
        row.finish(problems);
        if let (Some(name), Some(pin_diametral_m), Some(main_diametral_m)) = (name, pin, main) {
            clearances.push(Clearance { name: name.to_owned(), pin_diametral_m, main_diametral_m });
        }
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
        if let (Some(input), Some(place)) = (input, case.figures.named(name)) {
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

    /// What the film room finds is named by the document's keys.
    #[test]
    fn the_film_rooms_fields_have_the_documents_names() {
        let text = VEE_TWIN.replace("fires = 310", "fires = 300").replace("positions = [60]", "positions = [118]");
        let problems = read_film_case("twin.toml", &text).unwrap().case.check().unwrap_err();
        let keys: Vec<String> = problems.0.iter().map(|problem| film_field(&problem.field)).collect();
        assert_eq!(keys, ["cylinder[2].fires"]);
        let text = VEE_TWIN.replace("positions = [60]", "positions = [118]");
        let problems = read_film_case("twin.toml", &text).unwrap().case.check().unwrap_err();
        let keys: Vec<String> = problems.0.iter().map(|problem| film_field(&problem.field)).collect();
        assert_eq!(keys, ["pin.positions[1]"]);
        assert_eq!(film_field("layout.along.mains_m[2]"), "main.positions[2]");
        assert_eq!(film_field("oil_hot_c"), "oil_hot_c");
    }
}
