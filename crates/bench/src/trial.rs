//! Whether what a form says would be taken in a sheet: the reader of sheets is asked, nothing is judged here.

use sheet::Problem;
use shop::Value;

use job::judged::NoFiles;

/// An invented single, for what does not depend on the engine.
const ANY_ENGINE: &str = r#"{ "specification": 1, "name": "any", "units": "in", "throw": 1.25,
    "main": { "positions": [0, 4], "length": 1.2, "size": [1.4990, 1.5000], "undersizes": [0.010, 0.020] },
    "pin": { "positions": [2], "angles": [0], "length": 1.1, "size": [1.2490, 1.2500], "undersizes": [0.010, 0.020] } }"#;

/// What the reader of sheets says of keys that stand in a sheet for this specification (or for any), in these units.
pub(crate) fn problems(specification: Option<&Value>, units: &str, keys: &[(&str, Value)]) -> Vec<Problem> {
    let any = Value::from_json(ANY_ENGINE).unwrap_or_else(|_| Value::Table(Vec::new()));
    let specification = specification.cloned().unwrap_or(any);
    let mut document = Value::table([
        ("sheet", Value::Number("1".to_owned())),
        ("units", Value::from(units)),
        ("specification", specification),
    ]);
    for (key, value) in keys {
        document.set(key, value.clone());
    }
    let problems = sheet::read_sheet("what was typed", &document.to_json(), &NoFiles).err().unwrap_or_default();
    // There is no reading in it yet, and that is said too.
    let ours = |problem: &Problem| keys.iter().any(|(key, _)| starts_with_key(&problem.key, key));
    problems.into_iter().filter(ours).collect()
}

fn starts_with_key(full: &str, key: &str) -> bool {
    full.strip_prefix(key).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
}

/// One problem as a sentence.
pub(crate) fn sentence(problem: &Problem) -> String {
    // Quotes belong to files; on a page nobody typed any.
    let advice = problem.advice.replace("write the number without quotes", "write it as a plain number");
    format!("Found {}, expected {}; {advice}.", problem.found, problem.expected)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_reader_of_sheets_is_asked_about_one_key_only() {
        let policy = |confidence: &str| Value::table([("confidence", Value::typed(confidence))]);
        assert_eq!(problems(None, "in", &[("policy", policy("0.9"))]), []);
        let found = problems(None, "in", &[("policy", policy("90"))]);
        assert_eq!(found.iter().map(|problem| problem.key.as_str()).collect::<Vec<_>>(), ["policy.confidence"]);
    }
}
