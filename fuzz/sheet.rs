//! The sheet reader must answer any text whatever: with a sheet or with faults, never with a panic.
//!
//! What follows a form feed is handed over as the readings' CSV file, or as the specification `other.toml`, so that the
//! readers of those are tried too.
#![no_main]

mod shelf;

use libfuzzer_sys::fuzz_target;
use shelf::Shelf;

fuzz_target!(|text: &str| {
    let (text, other) = text.split_once('\u{c}').unwrap_or((text, ""));
    // Either outcome will do; only a panic, a hang or a memory blow-up is a finding.
    let _ = sheet::read_sheet("fuzzed.toml", text, &Shelf(other));
});
