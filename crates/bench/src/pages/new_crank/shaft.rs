//! What an engine's data say of the whole shaft, typed field by field: bearings made to any size, rollers, the case, run-out
//! rules, features, mass.

use shop::Value;

use super::listed;
use crate::trouble::Fault;
use crate::visitor::Fields;

/// Rules and features that the form has rows for; a file takes more.
pub(crate) const ROWS: [usize; 3] = [1, 2, 3];

fn figure(fields: &Fields, field: &str) -> Option<Value> {
    fields.get(field).map(Value::typed)
}

fn figures(text: &str) -> Value {
    Value::List(listed(text).iter().map(|one| Value::typed(one)).collect())
}

/// Undersizes as typed: a list, or `any` where the bearing is made to suit.
pub(super) fn undersizes(text: &str) -> Value {
    if text.trim().eq_ignore_ascii_case("any") { Value::from("any") } else { figures(text) }
}

/// Throw tolerance: one figure either way, or how much longer and how much shorter.
pub(super) fn throw_tolerance(fields: &Fields) -> Option<Value> {
    let long = figure(fields, "throw_tolerance");
    let Some(short) = fields.get("throw_short") else { return long };
    let low = format!("-{}", short.trim_start_matches('-'));
    let low = if short.trim_start_matches(['0', '.', ',']).is_empty() { "0".to_owned() } else { low };
    Some(Value::List(vec![Value::typed(&low), long.unwrap_or(Value::Number("0".to_owned()))]))
}

/// The case and the rollers of one set.
pub(super) fn of_set(fields: &Fields, key: &str, table: &mut Value, faults: &mut Vec<Fault>) {
    let own = |end: &str| format!("{key}.{end}");
    let (low, high) = (figure(fields, &own("case_low")), figure(fields, &own("case_high")));
    match (low, high) {
        (Some(low), Some(high)) => table.set("case_depth", Value::List(vec![low, high])),
        (Some(one), None) | (None, Some(one)) => table.set("case_depth", one),
        (None, None) => {}
    }
    if let Some(least) = figure(fields, &own("case_least")) {
        table.set("case_least", least);
    }
    let keys = ["rollers_race", "rollers_clearance", "rollers_made"];
    if keys.iter().all(|end| fields.get(&own(end)).is_none()) {
        return;
    }
    let mut rollers = Value::Table(Vec::new());
    for end in keys {
        let Some(text) = fields.get(&own(end)) else {
            let what = match end {
                "rollers_race" => "the bore of the race",
                "rollers_clearance" => "the running clearance",
                _ => "the diameters that rollers are made in",
            };
            faults.push(Fault::new(&own(end), format!("Enter {what} as well, or leave all three empty.")));
            continue;
        };
        let short = end.trim_start_matches("rollers_");
        rollers.set(short, if end == "rollers_made" { figures(text) } else { Value::typed(text) });
    }
    table.set("rollers", rollers);
}

/// Run-out rules, features and mass.
pub(super) fn of_shaft(fields: &Fields, specification: &mut Value, faults: &mut Vec<Fault>) {
    let mut rules = Vec::new();
    let mut features = Vec::new();
    for row in ROWS {
        let own = |end: &str| format!("rule{row}.{end}");
        if ["mains", "supports", "most"].iter().any(|end| fields.get(&own(end)).is_some()) {
            let mut rule = Value::Table(Vec::new());
            let of = fields.text(&own("of"));
            if of == "neighbours" {
                rule.set("neighbours", Value::Truth(true));
            } else {
                rule.set("of", Value::from(if of == "half" { "half" } else { "dial" }));
            }
            for end in ["mains", "supports"] {
                if let Some(text) = fields.get(&own(end)) {
                    rule.set(end, figures(text));
                }
            }
            match figure(fields, &own("most")) {
                Some(most) => rule.set("most", most),
                None => faults.push(Fault::new(&own("most"), "Enter the most that this rule allows.")),
            }
            rules.push(rule);
        }
        let own = |end: &str| format!("feature{row}.{end}");
        if ["name", "at", "run_out", "radius", "face"].iter().any(|end| fields.get(&own(end)).is_some()) {
            let mut feature = Value::Table(Vec::new());
            match fields.get(&own("name")) {
                Some(name) => feature.set("name", Value::from(name)),
                None => faults.push(Fault::new(&own("name"), "Say what it is, like flange or rear seal land.")),
            }
            for end in ["at", "run_out"] {
                if let Some(value) = figure(fields, &own(end)) {
                    feature.set(end, value);
                }
            }
            let face = [("radius", figure(fields, &own("radius"))), ("run_out", figure(fields, &own("face")))];
            let face: Vec<(&str, Value)> = face.into_iter().filter_map(|(key, value)| Some((key, value?))).collect();
            if !face.is_empty() {
                feature.set("face", Value::table(face));
            }
            features.push(feature);
        }
    }
    for (key, list) in [("run_out_rule", rules), ("feature", features)] {
        if !list.is_empty() {
            specification.set(key, Value::List(list));
        }
    }
    let mass = [("kg", "mass"), ("unbalance", "unbalance")];
    let mass: Vec<(&str, Value)> =
        mass.into_iter().filter_map(|(key, field)| Some((key, figure(fields, field)?))).collect();
    if !mass.is_empty() {
        specification.set("mass", Value::table(mass));
    }
}

/// The field that a key of these is typed in; nothing for any other.
pub(super) fn field_of(key: &str) -> Option<String> {
    let mut parts = key.split('.');
    let (head, last) = (parts.next()?, key.rsplit('.').next()?);
    let last = last.split('[').next()?;
    let row = head.split(['[', ']']).nth(1).and_then(|n| n.parse::<usize>().ok()).unwrap_or(1);
    match head.split('[').next()? {
        "run_out_rule" => {
            Some(format!("rule{row}.{}", if ["mains", "supports"].contains(&last) { last } else { "most" }))
        }
        "feature" => {
            let end = match last {
                "at" | "name" | "radius" => last,
                "run_out" if key.contains(".face.") => "face",
                "run_out" => "run_out",
                "face" => "radius",
                _ => "name",
            };
            Some(format!("feature{row}.{end}"))
        }
        "mass" => Some(if last == "unbalance" { "unbalance" } else { "mass" }.to_owned()),
        set @ ("main" | "pin") if key.contains(".case_depth") => Some(format!("{set}.case_low")),
        set @ ("main" | "pin") if key.contains(".rollers") => {
            let end = if ["clearance", "made"].contains(&last) { last } else { "race" };
            Some(format!("{set}.rollers_{end}"))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(text: &str) -> Fields {
        Fields::read(text.as_bytes())
    }

    #[test]
    fn a_tolerance_may_be_one_sided() {
        let told = |text: &str| throw_tolerance(&fields(text)).map(|value| value.to_json());
        assert_eq!(told("throw_tolerance=0.002").as_deref(), Some("0.002"));
        assert_eq!(told("throw_tolerance=0.000&throw_short=0.020").as_deref(), Some("[-0.020,0.000]"));
        assert_eq!(told("throw_short=0.020").as_deref(), Some("[-0.020,0]"));
        assert_eq!(told("throw_tolerance=0.002&throw_short=0").as_deref(), Some("[0,0.002]"));
        assert_eq!(told("stroke=3"), None);
    }

    #[test]
    fn a_bearing_may_be_made_to_any_size() {
        assert_eq!(undersizes("Any").to_json(), r#""any""#);
        assert_eq!(undersizes("0.010, 0.020").to_json(), "[0.010,0.020]");
        let (mut table, mut faults) = (Value::Table(Vec::new()), Vec::new());
        let typed = "pin.rollers_race=1.6263&pin.rollers_clearance=0.001&pin.rollers_made=0.1875,+0.1877";
        of_set(&fields(typed), "pin", &mut table, &mut faults);
        assert_eq!(table.to_json(), r#"{"rollers":{"race":1.6263,"clearance":0.001,"made":[0.1875,0.1877]}}"#);
        assert_eq!(faults, []);
        of_set(&fields("pin.rollers_race=1.6263"), "pin", &mut table, &mut faults);
        let at: Vec<&str> = faults.iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(at, ["pin.rollers_clearance", "pin.rollers_made"]);
    }

    #[test]
    fn rules_and_features_become_rows() {
        let (mut book, mut faults) = (Value::Table(Vec::new()), Vec::new());
        let typed = "rule1.mains=2,+4&rule1.supports=1,+5&rule1.most=0.002&rule1.of=half&rule2.of=neighbours&rule2.most=0.003\
                     &feature1.name=flange&feature1.at=14.2&feature1.run_out=0.001&feature1.radius=1.9&feature1.face=0.0015\
                     &mass=24";
        of_shaft(&fields(typed), &mut book, &mut faults);
        assert_eq!(faults, []);
        let wanted = concat!(
            r#"{"run_out_rule":[{"of":"half","mains":[2,4],"supports":[1,5],"most":0.002},{"neighbours":true,"most":0.003}],"#,
            r#""feature":[{"name":"flange","at":14.2,"run_out":0.001,"face":{"radius":1.9,"run_out":0.0015}}],"#,
            r#""mass":{"kg":24}}"#
        );
        assert_eq!(book.to_json(), wanted);
        of_shaft(&fields("rule3.mains=2&feature2.at=1"), &mut book, &mut faults);
        let at: Vec<&str> = faults.iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(at, ["feature2.name", "rule3.most"]);
    }

    #[test]
    fn faults_stand_where_they_were_typed() {
        for (key, field) in [
            ("run_out_rule[2].most", "rule2.most"),
            ("run_out_rule[1].supports", "rule1.supports"),
            ("feature[3].face.run_out", "feature3.face"),
            ("feature[1].run_out", "feature1.run_out"),
            ("pin.case_depth", "pin.case_low"),
            ("main.rollers.made[2]", "main.rollers_made"),
            ("mass.kg", "mass"),
        ] {
            assert_eq!(field_of(key).as_deref(), Some(field), "{key}");
        }
        assert_eq!(field_of("main.size"), None);
    }
}
