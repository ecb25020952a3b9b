//! What the oil makes of whatever case can be read, in figures and in words.
#![no_main]

mod edited;

use libfuzzer_sys::fuzz_target;

const CASES: [&str; 1] = [include_str!("../crates/tenunder/library/tarn-four-oil.toml")];

fuzz_target!(|bytes: &[u8]| {
    let Some(text) = edited::document(bytes, &CASES) else { return };
    let Ok(case) = sheet::read_film_case("fuzzed.toml", &text) else { return };
    match film::case::answer(&case.case) {
        Ok(answer) => {
            let told = sheet::FilmWords { unit: case.unit, millionths: "µin" };
            let says = told.plain(&answer, "big ends").join(" ");
            assert!(!says.contains("NaN") && !says.contains("inf "), "{says}");
            let _ = sheet::FilmWords::oil_and_kind(&answer);
            serde_json::to_string(&answer).expect("an answer can be written");
        }
        Err(problems) => assert!(!problems.0.is_empty(), "a refusal has a reason"),
    }
});
