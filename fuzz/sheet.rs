//! The sheet reader must answer any text whatever: with a sheet or with faults, never with a panic.
//!
//! What follows a form feed is handed over as the readings' CSV file, or as the specification `other.toml`, so that the
//! readers of those are tried too.
#![no_main]

use libfuzzer_sys::fuzz_target;

/// Answers for the files that a sheet may name.
struct Shelf<'a> {
    other: &'a str,
}

impl sheet::Library for Shelf<'_> {
    fn text(&self, name: &str) -> Result<String, String> {
        match name {
            "tarn-four.toml" => Ok(include_str!("../crates/tenunder/library/tarn-four.toml").to_owned()),
            "skelder-six.toml" => Ok(include_str!("../crates/tenunder/library/skelder-six.toml").to_owned()),
            "wren.toml" => Ok(include_str!("../crates/tenunder/library/wren.toml").to_owned()),
            "readings.csv" | "other.toml" => Ok(self.other.to_owned()),
            _ => Err("there is no such file".to_owned()),
        }
    }
}

fuzz_target!(|text: &str| {
    let (text, other) = text.split_once('\u{c}').unwrap_or((text, ""));
    // Either outcome will do; only a panic, a hang or a memory blow-up is a finding.
    let _ = sheet::read_sheet("fuzzed.toml", text, &Shelf { other });
});
