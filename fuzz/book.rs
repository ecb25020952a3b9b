//! Whatever a maker's book says is read, and everything that is wrong with it is found.
#![no_main]

mod edited;

use libfuzzer_sys::fuzz_target;

const BOOKS: [&str; 3] = [
    include_str!("../crates/tenunder/library/tarn-four.toml"),
    include_str!("../crates/tenunder/library/skelder-six.toml"),
    include_str!("../crates/tenunder/library/wren.toml"),
];

fuzz_target!(|bytes: &[u8]| {
    let Some(text) = edited::document(bytes, &BOOKS) else { return };
    match sheet::read_specification("fuzzed.toml", &text) {
        Ok((printed, _)) => {
            for found in crank::check(&printed) {
                assert!(!format!("{found:?}").is_empty(), "what was found has words");
            }
        }
        Err(problems) => assert!(!problems.is_empty(), "a refusal has a reason"),
    }
});
