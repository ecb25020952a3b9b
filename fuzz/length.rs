//! The length reader must answer any text whatever, in either unit, and never reads a length it would not read again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use units::Unit;

fuzz_target!(|text: &str| {
    for unit in [Unit::Inch, Unit::Millimetre] {
        match units::read(text, unit) {
            Ok(entry) => {
                assert_eq!(entry.typed, text, "what was typed is kept");
                assert!(entry.mm.is_finite(), "a length is a number");
            }
            Err(error) => assert!(!error.to_string().is_empty(), "a fault has words"),
        }
    }
});
