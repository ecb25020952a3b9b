//! Any value comes back from TOML and from JSON, digit by digit; every place is the line that the value stands on; and
//! no text whatever stops the reader.

use document::{MOST_BYTES, MOST_LEVELS, Node, Problems, Value, read};
use proptest::prelude::*;

/// A number as JSON has it, with digits that a number does not need.
const NUMBER: &str = "-?(0|[1-9][0-9]{0,20})(\\.[0-9]{1,12})?([eE][+-]?[0-9]{1,3})?";

fn key() -> impl Strategy<Value = String> {
    prop_oneof![4 => "[a-z_]{1,6}", 1 => words()]
}

/// Words, now and then with what is not seen, quotes and ends of lines.
fn words() -> impl Strategy<Value = String> {
    prop_oneof![8 => any::<String>(), 1 => "(?s).{0,8}", 1 => "[\"'\\\\\n\r\t#=,{}\\[\\] .a-c]{0,12}"]
}

fn value() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        words().prop_map(Value::Text),
        NUMBER.prop_map(Value::Number),
        any::<bool>().prop_map(Value::Truth),
    ];
    leaf.prop_recursive(5, 60, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::List),
            table(inner.clone()),
            prop::collection::vec(table(inner), 1..4).prop_map(Value::List),
        ]
    })
}

fn table(inner: impl Strategy<Value = Value>) -> impl Strategy<Value = Value> {
    prop::collection::vec((key(), inner), 0..6).prop_map(|pairs| {
        let mut table = Value::Table(Vec::new());
        for (key, value) in pairs {
            table.set(&key, value);
        }
        table
    })
}

/// The same with the keys of each table in the order of their names: TOML has plain keys before tables.
fn by_name(value: &Value) -> Value {
    match value {
        Value::List(items) => Value::List(items.iter().map(by_name).collect()),
        Value::Table(pairs) => {
            let mut pairs: Vec<_> = pairs.iter().map(|(key, value)| (key.clone(), by_name(value))).collect();
            pairs.sort_by(|a, b| a.0.cmp(&b.0));
            Value::Table(pairs)
        }
        leaf => leaf.clone(),
    }
}

/// Each number below a value, with the line on which the reader says that it stands.
fn numbers(node: Node<'_>, found: &mut Vec<(String, Option<usize>)>) {
    if let Value::Number(typed) = node.value {
        found.push((typed.clone(), node.line()));
    }
    node.entries().map(|entry| entry.node).chain(node.items()).for_each(|node| numbers(node, found));
}

/// The numbers of a value, each given a text of its own, so that its line can be told.
fn numbered(value: &Value, count: &mut usize) -> Value {
    match value {
        Value::Number(_) => {
            *count += 1;
            Value::Number(format!("{}.50", 1_000_000 + *count))
        }
        Value::List(items) => Value::List(items.iter().map(|item| numbered(item, count)).collect()),
        Value::Table(pairs) => {
            Value::Table(pairs.iter().map(|(key, value)| (key.clone(), numbered(value, count))).collect())
        }
        leaf => leaf.clone(),
    }
}

/// Every number of a text stands on the line that it is said to stand on, and none is lost.
fn check_places(text: &str, count: usize) -> Result<(), TestCaseError> {
    let mut problems = Problems::default();
    let document = read("s", text, &mut problems);
    let document = document.ok_or_else(|| TestCaseError::fail(format!("{problems:?}: {text}")))?;
    prop_assert!(problems.is_empty(), "{problems:?}: {text}");
    let mut found = Vec::new();
    numbers(document.root(), &mut found);
    prop_assert_eq!(found.len(), count);
    let lines: Vec<&str> = text.split('\n').collect();
    for (typed, line) in found {
        let said = line.and_then(|line| lines.get(line - 1)).copied().unwrap_or_default();
        prop_assert!(said.contains(&typed), "{typed} is not on line {line:?}: {said}");
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_value_comes_back_from_json(value in value()) {
        let json = value.to_json();
        prop_assert_eq!(Value::from_json(&json).expect("well formed"), value.clone());
        prop_assert_eq!(serde_json::from_str::<Value>(&json).expect("well formed"), value);
    }

    #[test]
    fn a_table_comes_back_from_toml(table in table(value())) {
        let toml = table.to_toml();
        let back = Value::from_text(&toml);
        prop_assert!(back.is_ok(), "{back:?}: {toml}");
        let back = back.unwrap();
        prop_assert_eq!(by_name(&back), by_name(&table), "{}", &toml);
        prop_assert_eq!(back.to_toml(), toml, "written twice, it is the same text");
    }

    #[test]
    fn toml_and_json_say_the_same(table in table(value())) {
        let from_toml = Value::from_text(&table.to_toml()).expect("well formed");
        let from_json = Value::from_text(&table.to_json()).expect("well formed");
        prop_assert_eq!(by_name(&from_toml), by_name(&from_json));
    }

    #[test]
    fn a_number_keeps_the_digits_that_were_typed(
        number in NUMBER,
        plus in any::<bool>(),
    ) {
        let plus = plus && !number.starts_with('-');
        let typed = format!("{}{number}", if plus { "+" } else { "" });
        let mut problems = Problems::default();
        let document = read("s", &format!("size = {typed}"), &mut problems).expect("well formed");
        let expected = Value::Number(typed);
        prop_assert_eq!(document.value.get("size"), Some(&expected), "as it was typed");
        let kept = Value::from_text(&format!("size = {number}")).expect("well formed");
        prop_assert_eq!(kept.to_json(), format!("{{\"size\":{number}}}"));
        prop_assert_eq!(kept.to_toml(), format!("size = {number}\n"));
    }

    #[test]
    fn every_place_is_the_line_that_the_value_stands_on(table in table(value()), gaps in 1_usize..4) {
        let mut count = 0;
        let table = numbered(&table, &mut count);
        let toml = table.to_toml().replace('\n', &format!("{}\n", "\n# a remark".repeat(gaps - 1)));
        check_places(&toml, count)?;
        let apart = serde_json::to_string_pretty(&table).expect("written");
        // JSON keeps some control characters as they are; a file with such is refused as one that is no text.
        prop_assume!(!apart.chars().any(|c| c.is_control() && c != '\n'));
        check_places(&apart, count)?;
    }

    #[test]
    fn rubbish_is_read_or_refused(text in any::<String>()) {
        for text in [&text, &format!("{{{text}"), &format!("a = {text}"), &format!("[{text}]\n{text} = {text}")] {
            let mut problems = Problems::default();
            let document = read("s", text, &mut problems);
            prop_assert!(document.is_some() || !problems.is_empty(), "refused without a reason");
            let _ = (Value::from_text(text), Value::from_json(text), serde_json::from_str::<Value>(text));
        }
    }

    /// Whatever was made out of a text can be written, and what was written can be read.
    #[test]
    fn what_was_made_out_can_be_written(pieces in prop::collection::vec(0_usize..PIECES.len(), 0..12)) {
        let text: String = pieces.iter().filter_map(|piece| PIECES.get(*piece)).copied().collect();
        let mut problems = Problems::default();
        if let Some(document) = read("s", &text, &mut problems) {
            prop_assert!(Value::from_json(&document.value.to_json()).is_ok());
            prop_assert!(Value::from_text(&document.value.to_toml()).is_ok());
        }
    }
}

/// Pieces that mean something in a document.
const PIECES: [&str; 24] = [
    "a = ",
    "b.c = ",
    "\n",
    "[t]",
    "[[r]]",
    "nan",
    "-inf",
    "+1",
    "1_0",
    "0x1F",
    ".5",
    "1979-05-27",
    "07:32:00",
    "\"w\"",
    "{",
    "}",
    "[",
    "]",
    ", ",
    "null",
    "true",
    "\"a\": ",
    "# remark",
    "'x'",
];

#[test]
fn levels_are_counted_alike_in_both_notations() {
    let lists = |levels: usize| (format!("a = {}1{}", "[".repeat(levels), "]".repeat(levels)), levels);
    for (toml, levels) in [lists(MOST_LEVELS - 1), lists(MOST_LEVELS)] {
        let json = format!("{{\"a\": {}}}", toml.trim_start_matches("a = "));
        // The key is one level, and the number in the innermost list another.
        let fits = levels < MOST_LEVELS;
        assert_eq!(Value::from_text(&toml).is_ok(), fits, "{toml}");
        assert_eq!(Value::from_text(&json).is_ok(), fits, "{json}");
    }
}

/// Dotted keys within inline tables nest 6,000 deep. Taking them apart on the stack of a small thread ends the program,
/// as the reader of the record did.
#[test]
fn tables_within_tables_within_tables_are_refused() {
    let dotted = vec!["a"; 79].join(".");
    let deep = format!("a = {}1{}", format!("{{ {dotted} = ").repeat(78), " }".repeat(78));
    std::thread::Builder::new()
        .stack_size(512 << 10)
        .spawn(move || assert!(Value::from_text(&deep).is_err()))
        .expect("a thread")
        .join()
        .expect("refused, and nothing else");
}

#[test]
fn a_text_beyond_all_documents_is_not_looked_into() {
    let long = "#".repeat(MOST_BYTES + 1);
    let why = Value::from_text(&long).expect_err("too long").to_string();
    assert!(why.contains("at most 8 MB"), "{why}");
    assert!(Value::from_json(&long).is_err());
    assert!(read("s", &long, &mut Problems::default()).is_none());
}
