//! Whatever is done to a sheet, it is read or refused with a reason; nothing panics, and nothing takes for ever.

mod common;

use std::time::{Duration, Instant};

use common::{Beside, PAGE, SKELDER, TARN, WREN};
use proptest::prelude::*;
use sheet::{read_sheet, read_specification};

const WORKED: [&str; 6] = [
    PAGE,
    ROUGH,
    include_str!("../../tenunder/library/tarn-four-worn.toml"),
    include_str!("../../tenunder/library/tarn-four-traced.toml"),
    include_str!("../../tenunder/library/tarn-four-bearings.toml"),
    include_str!("../../tenunder/library/skelder-six-ground-before.toml"),
];

/// A sheet with roughness in every unit.
const ROUGH: &str = "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreading = [\n    { journal = \"main 1\", at = \
                     \"middle\", plane = 0, size = 1.4991 },\n]\nroughness = [\n    { journal = \"pin 1\", at = \"rear\", ra = \
                     10, error_limit = 1, lay = \"along\", cutoff = \"0.8 mm\" },\n    { journal = \"pin 1\", at = 0.1, ra = \
                     \"0.25 µm\", with = \"gauge 7\", when = \"after\" },\n    { journal = \"main 2\", at = \"front\", ra = \
                     \"0.000010 in\" },\n]\n";

/// Pieces that mean something in a sheet.
const PIECES: [&str; 27] = [
    "nan",
    "-inf",
    "1e308",
    "-1",
    "0",
    "[]",
    "{}",
    "[[reading]]",
    "[[roughness]]",
    "ra = \"9.µ\"",
    "µ",
    "[policy]",
    "\"\"",
    "'",
    "\"\"\"",
    "= =",
    "\n",
    "…",
    "{",
    "]",
    "main 0",
    "pin 99999999999999999999",
    "true",
    "0x10",
    "1979-05-27",
    "a.b.c.d.e = 1",
    "\0",
];

/// Must come back, with a reason where it is refused.
fn try_all(text: &str) {
    let files = [("a.csv", text), ("book.toml", text)];
    for result in [
        read_sheet("s", text, &Beside(&files)).map(|_| ()),
        read_specification("s", text).map(|_| ()),
        read_sheet("s", "sheet=1\nunits=\"in\"\nspecification=\"book.toml\"\nreadings=\"a.csv\"", &Beside(&files))
            .map(|_| ()),
        read_sheet("s", "sheet=1\nunits=\"mm\"\nspecification=\"wren.toml\"\ntraces=\"a.csv\"", &Beside(&files))
            .map(|_| ()),
    ] {
        if let Err(problems) = result {
            assert!(!problems.is_empty(), "refused without a reason");
            assert!(problems.len() <= 201, "{} problems listed", problems.len());
        }
    }
}

/// Puts pieces into a text at places given as shares of its length, in place of some characters.
fn changed(text: &str, changes: &[(f64, usize, usize)]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for (share, cut, piece) in changes {
        let at = ((chars.len() as f64 * share) as usize).min(chars.len());
        let to = (at + cut).min(chars.len());
        chars.splice(at..to, PIECES[piece % PIECES.len()].chars());
    }
    chars.into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_changed_sheet_is_read_or_refused(
        which in 0_usize..8,
        changes in prop::collection::vec((0.0_f64..1.0, 0_usize..12, 0_usize..PIECES.len()), 0..6),
    ) {
        let texts = [WORKED[0], WORKED[1], WORKED[2], WORKED[3], WORKED[4], WREN, TARN, SKELDER];
        try_all(&changed(texts[which], &changes));
    }

    #[test]
    fn a_sheet_cut_short_is_read_or_refused(which in 0_usize..5, share in 0.0_f64..1.0) {
        let text = WORKED[which];
        let cut: String = text.chars().take((text.len() as f64 * share) as usize).collect();
        try_all(&cut);
    }

    #[test]
    fn changed_json_is_read_or_refused(
        changes in prop::collection::vec((0.0_f64..1.0, 0_usize..5, 0_usize..PIECES.len()), 0..4),
    ) {
        let json = r#"{"sheet":1,"units":"in","specification":"wren.toml","policy":{"draws":5,"axis":"held"},
            "reading":[{"journal":"main 1","at":"middle","plane":0,"size":[1.4991,1.5e0]}],
            "trace":[{"journal":"pin 1","at":0,"size":"1 1/4","departures":[0,0.0001,0]}]}"#;
        try_all(&changed(json, &changes));
    }

    #[test]
    fn rubbish_is_refused(text in any::<String>()) {
        prop_assert!(read_sheet("s", &text, &Beside(&[])).is_err());
        try_all(&text);
    }
}

/// Texts of a size that a person might drop on the tool by mistake, each built so that something grows with it.
#[test]
fn large_texts_take_seconds_at_most() {
    let many = |piece: &str| piece.repeat(4_000_000 / piece.len());
    for (name, text) in [
        ("lines that are not well formed", many("x\n")),
        ("empty rows", many("[[reading]]\n")),
        ("unknown keys", (0..300_000).map(|n| format!("k{n} = 1\n")).collect()),
        ("brackets", format!("a = {}", many("["))),
        ("dots", format!("{}a = 1", many("a."))),
        ("braces", many("{\"a\":")),
        ("numbers", format!("sheet = 1\ndepartures = [{}]", many("0.1, "))),
        ("a trace of numbers", format!("{PAGE}[[trace]]\njournal = \"pin 1\"\ndepartures = [{}]", many("0.1, "))),
        ("one long line", many("abc ")),
        ("a long text", format!("mark = \"{}\"", many("m"))),
    ] {
        let begun = Instant::now();
        let problems = read_sheet("s", &text, &Beside(&[])).expect_err(name);
        assert!(!problems.is_empty() && problems.len() <= 201, "{name}: {} problems", problems.len());
        assert!(
            problems.iter().all(|problem| problem.to_string().len() < 1_000),
            "{name}: a problem is too long to read"
        );
        // Two seconds would do; slow machines and full ones are allowed for.
        assert!(begun.elapsed() < Duration::from_secs(20), "{name} took {:?}", begun.elapsed());
    }
}

/// Test threads have a quarter of the main thread's stack; 6,000 levels once overflowed it.
#[test]
fn deep_nesting_is_refused_on_a_small_stack() {
    let key = ["a"; 79].join(".");
    let open = format!("{{{key} = ");
    let deep = format!("{key} = {}1{}\n", open.repeat(79), "}".repeat(79));
    for text in [format!("[{key}]\n{deep}"), format!("{deep}{deep}"), format!("{deep}x = ["), "{\"a\":".repeat(100_000)]
    {
        for result in [read_sheet("s", &text, &Beside(&[])).map(|_| ()), read_specification("s", &text).map(|_| ())] {
            assert!(!result.expect_err("refused").is_empty());
        }
    }
    let json = format!("{}1{}", "{\"a\":".repeat(100), "}".repeat(100));
    let problems = read_sheet("s", &json, &Beside(&[])).expect_err("refused");
    assert!(common::listed(&problems).contains("at most 16 levels"));
}

#[test]
fn the_largest_text_is_refused_by_its_length() {
    let text = "sheet = 1\n".repeat(800_001);
    let problems = read_sheet("s", &text, &Beside(&[])).expect_err("refused");
    assert_eq!(problems.len(), 1);
    assert_eq!(problems[0].found, "8.0 MB");
}
