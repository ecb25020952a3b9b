//! Whether a language is whole: the same files, the same messages, the same quantities in each as in every other, and none
//! that cannot be put together.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use fluent_bundle::{FluentArgs, FluentBundle, FluentResource, FluentValue};
use fluent_syntax::ast::{
    CallArguments, Entry, Expression, InlineExpression, Pattern, PatternElement, Resource, Variant, VariantKey,
};
use fluent_syntax::parser::parse;
use say::{FILES, Message, Tongue, Words};

/// What one message has in it, and by which cases it chooses.
#[derive(Debug, Default, PartialEq, Eq)]
struct Parts {
    names: BTreeSet<String>,
    cases: BTreeMap<String, BTreeSet<String>>,
    /// What it prints of its own, without the quantities.
    text: String,
}

/// What the languages may differ in: only British English leaves a shop the word for a crankpin.
const OF_ONE_LANGUAGE: &str = "pin";

fn folder(tongue: Tongue) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("languages").join(tongue.tag())
}

fn text(tongue: Tongue, file: &str) -> String {
    let path = folder(tongue).join(file);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn resource(tongue: Tongue, file: &str) -> Resource<String> {
    parse(text(tongue, file)).unwrap_or_else(|(_, errors)| panic!("{tongue}, {file}: {errors:?}"))
}

fn messages(tongue: Tongue) -> BTreeMap<String, Parts> {
    let mut all = BTreeMap::new();
    for file in FILES {
        for entry in resource(tongue, file).body {
            match entry {
                Entry::Message(message) => {
                    let mut parts = Parts::default();
                    let pattern = message.value.unwrap_or_else(|| panic!("{tongue}: {} is empty", message.id.name));
                    of_pattern(&pattern, &mut parts);
                    let twice = all.insert(message.id.name.clone(), parts);
                    assert!(twice.is_none(), "{tongue} has {} twice", message.id.name);
                }
                Entry::Junk { content } => panic!("{tongue}, {file}: this is no message: {content}"),
                Entry::Term(term) => panic!("{tongue}, {file}: a term, -{}: write whole sentences", term.id.name),
                _ => {}
            }
        }
    }
    all
}

fn of_pattern(pattern: &Pattern<String>, parts: &mut Parts) {
    for element in &pattern.elements {
        match element {
            PatternElement::Placeable { expression } => of_expression(expression, parts),
            PatternElement::TextElement { value } => parts.text += value,
        }
    }
}

fn of_expression(expression: &Expression<String>, parts: &mut Parts) {
    match expression {
        Expression::Inline(inline) => of_inline(inline, parts),
        Expression::Select { selector, variants } => {
            of_inline(selector, parts);
            if let InlineExpression::VariableReference { id } = selector {
                parts.cases.entry(id.name.clone()).or_default().extend(variants.iter().map(key));
            }
            variants.iter().for_each(|variant| of_pattern(&variant.value, parts));
        }
    }
}

fn of_inline(inline: &InlineExpression<String>, parts: &mut Parts) {
    match inline {
        InlineExpression::VariableReference { id } => drop(parts.names.insert(id.name.clone())),
        InlineExpression::Placeable { expression } => of_expression(expression, parts),
        InlineExpression::FunctionReference { arguments: CallArguments { positional, .. }, .. } => {
            positional.iter().for_each(|argument| of_inline(argument, parts));
        }
        _ => {}
    }
}

fn key(variant: &Variant<String>) -> String {
    match &variant.key {
        VariantKey::Identifier { name } => name.clone(),
        VariantKey::NumberLiteral { value } => value.clone(),
    }
}

/// The quantity that a name belongs to: `$journal-start` and `$journal-is` are of `journal`. A figure of a temperature, a
/// pressure or a day has many names, of which each language takes its own.
fn quantity(name: &str) -> &str {
    const FURTHER: [&str; 7] = ["-start", "-is", "-count", "-words", "-short", "-time", "-of-two"];
    FURTHER.iter().find_map(|end| name.strip_suffix(end)).unwrap_or(name)
}

/// The figures of which each language takes its own: figures.ftl says how a figure is printed, not what is said with it.
fn is_a_printer(key: &str) -> bool {
    ["temperature", "torque", "pressure", "date", "date-short", "time", "list-and", "list-or"].contains(&key)
}

#[test]
fn every_language_has_the_same_files() {
    let languages = std::fs::read_dir(folder(Tongue::German).parent().expect("languages")).expect("languages");
    let mut found: Vec<String> = languages.flatten().map(|one| one.file_name().to_string_lossy().into()).collect();
    found.sort();
    let mut known = Tongue::ALL.map(|tongue| tongue.tag().to_owned());
    known.sort();
    assert_eq!(found, known, "a folder of a language that nobody can choose, or a language without one");
    for tongue in Tongue::ALL {
        let files = std::fs::read_dir(folder(tongue)).expect("its files").flatten();
        let found: BTreeSet<String> = files.map(|file| file.file_name().to_string_lossy().into()).collect();
        assert_eq!(found, FILES.iter().map(|&file| file.to_owned()).collect(), "{tongue}");
    }
}

#[test]
fn every_language_has_the_same_messages_with_the_same_quantities() {
    let english = messages(Tongue::BritishEnglish);
    assert!(english.len() > 10, "{english:?}");
    let of = |parts: &Parts| -> BTreeSet<String> {
        parts.names.iter().map(|name| quantity(name).to_owned()).filter(|name| name != OF_ONE_LANGUAGE).collect()
    };
    for tongue in Tongue::ALL {
        let own = messages(tongue);
        let keys: Vec<&String> = own.keys().collect();
        assert_eq!(keys, english.keys().collect::<Vec<_>>(), "{tongue} and British English");
        for (key, parts) in own.iter().filter(|(key, _)| !is_a_printer(key)) {
            assert_eq!(of(parts), of(&english[key]), "{tongue}, {key}: what stands in it");
        }
    }
}

/// Every message with every case of each name that it chooses by, the others as they come first.
#[test]
fn every_message_can_be_put_together() {
    for tongue in Tongue::ALL {
        let mut bundle = FluentBundle::new(vec![tongue.tag().parse().expect("a tag")]);
        for file in FILES {
            let resource = FluentResource::try_new(text(tongue, file)).expect("it was parsed before");
            bundle.add_resource(resource).expect("each message once");
        }
        for (name, parts) in messages(tongue) {
            let pattern = bundle.get_message(&name).and_then(|message| message.value()).expect("a value");
            let cases: Vec<(String, String)> = parts
                .cases
                .iter()
                .flat_map(|(of, cases)| cases.iter().map(move |case| (of.clone(), case.clone())))
                .collect();
            let nothing = [(String::new(), String::new())];
            for (of, case) in if cases.is_empty() { nothing.iter() } else { cases.iter() } {
                let mut args = FluentArgs::new();
                for own in &parts.names {
                    let first = parts.cases.get(own).and_then(|cases| cases.iter().next());
                    let sample = if own == of { Some(case) } else { first };
                    args.set(own.clone(), sample.map_or(FluentValue::from("7"), |case| sampled(case)));
                }
                let mut errors = Vec::new();
                let said = bundle.format_pattern(pattern, Some(&args), &mut errors);
                assert!(errors.is_empty(), "{tongue}, {name}, {of} {case}: {errors:?}");
                assert!(!said.contains("{$"), "{tongue}, {name}, {of} {case}: {said}");
                assert!(!said.contains("  "), "{tongue}, {name}, {of} {case}: two blanks: {said}");
            }
        }
    }
}

/// A plural is chosen by a number, a month by its own, everything else by a word.
fn sampled(case: &str) -> FluentValue<'static> {
    match case {
        "zero" => FluentValue::from(0),
        "one" => FluentValue::from(1),
        "other" => FluentValue::from(5),
        number if number.parse::<f64>().is_ok() => FluentValue::from(number.parse::<f64>().unwrap_or_default()),
        word => FluentValue::from(word.to_owned()),
    }
}

#[test]
fn a_message_that_a_language_lacks_is_said_in_british_english_and_the_tests_see_it() {
    let nowhere = Message::new("no-such-message");
    assert_eq!(Words::from(Tongue::German).say(&nowhere), "no-such-message");
    let faults = Words::from(Tongue::German).strictly(&nowhere).expect_err("nobody has it");
    let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert_eq!(faults, ["de has no message no-such-message", "en-GB has no message no-such-message"]);
    let without = Message::new("in-hundred");
    assert!(Words::default().strictly(&without).is_err(), "a message without its quantity");
}

/// Words that the glossary warns of: each is a size 25 or 40 times another, or means something else.
#[test]
fn no_language_uses_a_word_that_its_trade_takes_for_another() {
    let banned: [(Tongue, &[&str]); 4] = [
        (Tongue::BritishEnglish, &["rod journal", "oilway", "tenth", "ovality", "TIR"]),
        (Tongue::AmericanEnglish, &["crankpin", "centre", "end float", "metre", "tenth", "big end"]),
        (Tongue::German, &["Tausendstel", "Zehntel", "UNTERMASS", "Wurf", "Fenster", "Journal", "Chance", "Prozent"]),
        (Tongue::Spanish, &["milésima", "décima", "diario", "ventana", "oportunidad", "rodamiento"]),
    ];
    for (tongue, words) in banned {
        for (key, parts) in messages(tongue) {
            for word in words {
                assert!(!parts.text.contains(word), "{tongue}, {key}: {word}");
            }
        }
    }
}
