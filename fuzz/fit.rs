//! The bearings of whatever sheet can be read: clearances, what to order, what it costs, with no verdict to lean on.
#![no_main]

mod edited;
mod shelf;

use libfuzzer_sys::fuzz_target;
use shelf::{SHEETS, Shelf};

fuzz_target!(|bytes: &[u8]| {
    let Some(text) = edited::document(bytes, &SHEETS) else { return };
    let Ok(sheet) = sheet::read_sheet("fuzzed.toml", &text, &Shelf("")) else { return };
    let fit = fit::fit(&sheet.engine(), None, &sheet.policy);
    for set in &fit.sets {
        assert!(set.wanted_mm.is_none_or(|(mm, _)| mm.is_finite()), "a clearance that is wanted is a number");
    }
    assert!(!format!("{fit:?}").contains("NaN"), "no figure is none");
});
