//! What a value is, and that it comes back from either notation as it went in.

use document::Value;

const SHEET: &str = "sheet = 1\nunits = \"in\"\n\n[policy]\nconfidence = 0.90\nseed = 18446744073709551615\n\n\
    [specification]\nthrow = 1.5000\n\n[specification.pin]\nsize = [1.8745, 1.8750]\n\n\
    [[reading]]\njournal = \"pin 1\"\nsize = 1.8730\n\n[[reading]]\njournal = \"pin 2\"\nsize = [1.8731, 1.8730]\n";

#[test]
fn a_document_comes_back_with_every_digit_that_was_typed() {
    let value = Value::from_text(SHEET).expect("well formed");
    assert_eq!(value.to_toml(), SHEET);
    let json = value.to_json();
    assert!(json.contains("\"size\":1.8730}"), "{json}");
    assert_eq!(Value::from_json(&json).expect("well formed").to_toml(), SHEET);
}

#[test]
fn signs_and_separators_that_json_has_not_are_dropped_from_numbers() {
    let value = Value::from_text("a = +0.0010\nb = 1_000\nc = 0x10\nd = 1e3\ne = nan").expect("well formed");
    assert_eq!(value.to_json(), r#"{"a":0.0010,"b":1000,"c":16,"d":1e3,"e":"nan"}"#);
}

#[test]
fn what_was_typed_is_a_number_only_where_json_says_so() {
    for (text, number) in
        [("2.4480", true), ("-0", true), ("1e-5", true), (".448", false), ("02", false), ("1.", false), ("", false)]
    {
        assert_eq!(matches!(Value::typed(text), Value::Number(_)), number, "{text}");
    }
}

#[test]
fn odd_words_survive_both_notations() {
    let value = Value::table([("a b", Value::from("tab\t quote\" slash\\ line\n <script> \u{7f} é"))]);
    assert_eq!(Value::from_text(&value.to_toml()).expect("well formed"), value);
    assert_eq!(Value::from_text(&value.to_json()).expect("well formed"), value);
}

#[test]
fn nonsense_is_refused_in_words() {
    for text in ["{", "{\"a\":1,\"a\":2}", "{\"a\":null}", "a = = 1", "\u{feff}x"] {
        assert!(Value::from_text(text).is_err(), "{text}");
    }
    let deep = format!("{{\"a\":{}1{}}}", "[".repeat(200), "]".repeat(200));
    let why = Value::from_text(&deep).expect_err("too deep");
    assert!(why.to_string().contains("16"), "{why}");
}

#[test]
fn a_value_that_is_refused_says_where_and_what_to_do() {
    let refused = |text: &str| Value::from_text(text).expect_err("refused").to_string();
    assert_eq!(
        refused("name = \"x\"\nthrow = = 2"),
        "line 2: throw: found \"throw = = 2\" (extra `=`), expected nothing; write key = value, or [table], or [[row]]"
    );
    assert_eq!(refused("{\"a\": [1,\nnull]}"), "a null, which says nothing; leave the key out");
    assert_eq!(
        refused("{\"a\": 1,\n\"a\": 2}"),
        "line 1: a: found the key a second time, expected each key once; keep one of them"
    );
}

/// A log keeps dates and what is no number as words, as its reader did from the first.
#[test]
fn a_date_is_kept_as_words() {
    let value = Value::from_text("promised = 2026-11-30\nsizes = [-inf, 0x1_0]").expect("well formed");
    assert_eq!(value.words("promised"), Some("2026-11-30"));
    assert_eq!(value.to_json(), r#"{"promised":"2026-11-30","sizes":["-inf",16]}"#);
}

/// An entry of a log comes through serde, and as strictly.
#[test]
fn a_value_inside_another_record_is_read_alike() {
    #[derive(serde::Deserialize, serde::Serialize)]
    struct Row {
        row: Value,
    }
    let kept = r#"{"row":{"size":2.1230,"list":[1e0,"x",true,{}]}}"#;
    let row: Row = serde_json::from_str(kept).expect("well formed");
    assert_eq!(row.row.get("size"), Some(&Value::Number("2.1230".to_owned())));
    assert_eq!(serde_json::to_string(&row).expect("written"), kept);
    for wrong in [r#"{"row":{"a":null}}"#, r#"{"row":{"a":1,"a":1}}"#, r#"{"row":}"#] {
        assert!(serde_json::from_str::<Row>(wrong).is_err(), "{wrong}");
    }
}
