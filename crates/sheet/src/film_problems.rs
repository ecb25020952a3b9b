//! What the film room finds wrong with a case, told by the keys, the figures and the units that were typed.

use document::{Node, Place, Problems, Value};
use units::Unit;

use crate::film_case::{FIGURES, Measure};

/// Keys of the document by the film room's fields, where they are not figures; the first that fits.
const LENGTHS: [(&str, &str); 5] = [
    ("stroke_m", "stroke"),
    ("pin_diameter_m", "pin.diameter"),
    ("pin_length_m", "pin.shell"),
    ("main_diameter_m", "main.diameter"),
    ("main_length_m", "main.shell"),
];

/// Parts of the film room's fields and what stands for them in the document.
const PARTS: [(&str, &str); 13] = [
    ("layout.along.mains_m", "main.positions"),
    ("layout.along.throws_m", "pin.positions"),
    ("layout.throws_deg", "throws"),
    ("layout.cylinders", "cylinder"),
    ("layout.seats", "cylinder"),
    ("layout.", ""),
    (".lean_deg", ".lean"),
    (".fires_deg", ".fires"),
    ("clearances", "clearance"),
    ("_diametral_m", ""),
    ("_viscosity_mm2_s", "_mm2_s"),
    ("_temp_c", "_c"),
    (".assumed", ""),
];

/// The key of the document behind a field of the film room (`layout.along.mains_m[2]`, `idle_rpm`).
pub fn film_field(field: &str) -> String {
    key_of(field).0
}

/// What would be usable instead of a figure, in the unit of a document.
pub fn film_limit(problem: &film::Problem, unit: Unit) -> String {
    limit(problem, key_of(&problem.field).1, Some(unit))
}

fn key_of(field: &str) -> (String, Measure) {
    let whole = field.trim_end_matches(".assumed");
    if let Some((_, key)) = LENGTHS.iter().find(|(name, _)| *name == whole) {
        return ((*key).to_owned(), Measure::Length);
    }
    if let Some((key, _, measure)) = FIGURES.iter().find(|(_, name, _)| *name == whole) {
        return (format!("figures.{key}"), *measure);
    }
    let key = PARTS.iter().fold(field.to_owned(), |field, (name, key)| field.replace(name, key));
    let length = field.contains("_diametral_m") || field.contains("along.");
    (key, if length { Measure::Length } else { Measure::Times(1.0) })
}

/// Adds what the film room found to what the reader found, each where it was typed. What only follows from another
/// problem is left out.
pub(crate) fn add(file: &str, root: Node<'_>, unit: Option<Unit>, found: &film::Problems, problems: &mut Problems) {
    let complained: Vec<String> = problems.keys().map(str::to_owned).collect();
    let at_fault = |key: &str| complained.iter().any(|known| covers(known, key) || covers(key, known));
    let mut told: Vec<String> = Vec::new();
    for problem in &found.0 {
        let (mut key, measure) = key_of(&problem.field);
        let mut expected = limit(problem, measure, unit);
        if key.starts_with("cylinder[") && root.at("cylinder").is_none() {
            // Cylinders that nobody listed: their order says when they fire.
            let cylinder: String = key.chars().filter(char::is_ascii_digit).collect();
            expected = format!("an order in which cylinder {cylinder} fires at {expected}");
            "firing_order".clone_into(&mut key);
        }
        let typed = root.at(&key);
        let alone = complained.is_empty() && found.0.len() == 1;
        let follows = rests_on(problem, &key).iter().any(|other| at_fault(other));
        let unmeasured = unit.is_none() && matches!(measure, Measure::Length);
        let echo = at_fault(&key) || follows || unmeasured || (typed.is_none() && !alone);
        if echo || told.contains(&key) {
            continue;
        }
        let line = typed.and_then(|typed| typed.line);
        let shown = typed.map_or(problem.value.clone(), |typed| shown(typed.node, measure, unit));
        let mut advice = problem.physics.clone();
        if let (Some(typed), Some(unit)) = (typed, unit) {
            advice += &in_the_other_unit(problem, typed.node, measure, unit);
        }
        problems.add(Place { file, line }, key.as_str(), shown, expected, advice);
        told.push(key);
    }
    if problems.is_empty() {
        for problem in &found.0 {
            let key = film_field(&problem.field);
            problems.add(Place { file, line: None }, key, &problem.value, &problem.limit, &problem.physics);
        }
    }
}

/// Whether a problem with one key speaks of another too: `pin` covers `pin.shell`.
fn covers(known: &str, key: &str) -> bool {
    key.strip_prefix(known).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
}

/// The keys that a limit is reckoned from.
fn rests_on(problem: &film::Problem, key: &str) -> &'static [&'static str] {
    match key {
        _ if key.starts_with("clearance[") && key.ends_with(".pin") => &["pin.diameter"],
        _ if key.starts_with("clearance[") => &["main.diameter"],
        _ if problem.field.starts_with("layout.") => {
            &["throws", "cylinder", "firing_order", "pin.positions", "main.positions", "pin.shell", "main.shell"]
        }
        "plan" => &["clearance"],
        _ if problem.range.is_some() => &[],
        "figures.rod" => &["stroke"],
        "figures.main_groove" => &["main.shell"],
        "figures.running_rpm" => &["figures.idle_rpm"],
        _ => &[],
    }
}

/// A value as it was typed, with its unit.
fn shown(node: Node<'_>, measure: Measure, unit: Option<Unit>) -> String {
    let with_unit = |text: String| match (measure, unit, node.value) {
        (Measure::Length, Some(unit), Value::Number(_)) => format!("{text} {unit}"),
        _ => text,
    };
    match node.value {
        Value::List(list) if (1..=24).contains(&list.len()) => {
            let items: Vec<String> = list.iter().map(Value::shown).collect();
            format!("[{}]", items.join(", "))
        }
        Value::Table(_) if node.entry("value").is_some() => {
            let parts: Vec<String> =
                node.entries().map(|entry| format!("{} {}", entry.key, shown(entry.node, measure, unit))).collect();
            parts.join(", ")
        }
        value => with_unit(value.shown()),
    }
}

/// What would be usable, in the unit of the document.
fn limit(problem: &film::Problem, measure: Measure, unit: Option<Unit>) -> String {
    match (problem.range, measure, unit) {
        (Some([from, to]), Measure::Times(factor), _) => format!("{} to {}", few(from / factor), few(to / factor)),
        (Some([from, to]), Measure::Length, Some(unit)) => {
            format!("{} to {} {unit}", few(from * 1000.0 / per_mm(unit)), few(to * 1000.0 / per_mm(unit)))
        }
        _ => problem.limit.clone(),
    }
}

/// A bare length that would be usable in the other unit.
fn in_the_other_unit(problem: &film::Problem, node: Node<'_>, measure: Measure, unit: Unit) -> String {
    let (Measure::Length, Some([from, to]), Value::Number(typed)) = (measure, problem.range, node.value) else {
        return String::new();
    };
    let other = match unit {
        Unit::Inch => Unit::Millimetre,
        Unit::Millimetre => Unit::Inch,
    };
    match typed.parse::<f64>().map(|number| number * per_mm(other) / 1000.0) {
        Ok(m) if (from..=to).contains(&m) => format!("; {typed} {other} would do: is the file’s unit the right one?"),
        _ => String::new(),
    }
}

/// Millimetres to one of a unit.
fn per_mm(unit: Unit) -> f64 {
    match unit {
        Unit::Inch => 25.4,
        Unit::Millimetre => 1.0,
    }
}

/// Three digits, without a tail of noughts.
fn few(value: f64) -> String {
    let size = value.abs();
    if size == 0.0 || !(1e-6..1e7).contains(&size) {
        return if size == 0.0 { "0".to_owned() } else { format!("{value:.0e}") };
    }
    // Between 1e-6 and 1e7, so that it fits.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held between 0 and 8")]
    let decimals = (2.0 - size.log10().floor()).clamp(0.0, 8.0) as usize;
    let text = format!("{value:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_film_rooms_fields_have_the_documents_names() {
        for (field, key) in [
            ("layout.along.mains_m[2]", "main.positions[2]"),
            ("layout.cylinders[2].fires_deg", "cylinder[2].fires"),
            ("clearances[1].pin_diametral_m", "clearance[1].pin"),
            ("oil.lower_viscosity_mm2_s", "oil.lower_mm2_s"),
            ("oil.higher_temp_c", "oil.higher_c"),
            ("oil_hot_c.assumed", "figures.oil_hot_c"),
            ("pump_m3_rev", "figures.pump_cm3_rev"),
            ("main_length_m", "main.shell"),
        ] {
            assert_eq!(film_field(field), key);
        }
    }

    #[test]
    fn limits_have_few_digits() {
        for (value, text) in
            [(0.0, "0"), (0.000185, "0.000185"), (59.0551, "59.1"), (30_000.0, "30000"), (1e20, "1e20"), (1.5, "1.5")]
        {
            assert_eq!(few(value), text);
        }
    }
}
