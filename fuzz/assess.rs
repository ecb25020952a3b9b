//! Whatever sheet can be read is answered: the verdict, the plan, the quotation, and the answer as JSON.
#![no_main]

mod edited;
mod shelf;

use libfuzzer_sys::fuzz_target;
use shelf::{SHEETS, Shelf};

/// More draws take longer and go no other way.
const DRAWS: usize = 40;

fuzz_target!(|bytes: &[u8]| {
    let Some(text) = edited::document(bytes, &SHEETS) else { return };
    let Ok(mut sheet) = sheet::read_sheet("fuzzed.toml", &text, &Shelf("")) else { return };
    sheet.policy.draws = sheet.policy.draws.min(DRAWS);
    // A sheet that was read is never a fault of the program.
    let verdict = regrind::assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &|_| {})
        .expect("a sheet that was read is answered");
    let answer = sheet::answer(&sheet, &verdict);
    assert!(answer.is_object(), "an answer has its parts");
    assert!(serde_json::to_string(&answer).is_ok_and(|text| text.len() < 4_000_000), "an answer can be written");
    // A quotation is made of any verdict.
    let fit = fit::fit(&sheet.engine(), Some(&verdict), &sheet.policy);
    let quote = sheet.quote(&verdict, Some(&fit));
    assert!(sheet::fit_answer(&sheet, &fit, &quote).is_object(), "an answer has its parts");
});
