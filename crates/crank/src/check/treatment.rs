//! Growth and case depth.

use super::families::{Family, band_of, band_text, both_edges, judge_limit};
use super::{Book, Words, plain};
use crate::{PrintedSpecification, SetName};

/// On the diameter: 0.0005 in in one published account, 0.0002 to 0.001 in from memory.
const GROWTH: Family = Family { what: "growth on the diameter", usual: (0.00254, 0.0508), possible: (0.0022, 0.0635) };

/// Case depth by treatment: nitriding 0.008 to 0.030 in in three accounts; nitrocarburising a few microns of compound
/// layer upwards; induction and flame 1.1 to 2 mm (BMW D7), deeper on large cranks from memory.
fn case_family(kind: &str) -> Family {
    let (usual, possible) = match kind {
        "nitriding" => ((0.15, 0.8), (0.1, 1.4)),
        "nitrocarburising" => ((0.005, 0.8), (0.003, 1.4)),
        "induction" | "flame" => ((0.8, 5.0), (0.5, 8.0)),
        _ => ((0.005, 5.0), (0.003, 8.0)),
    };
    Family { what: "a case depth", usual, possible }
}

/// Growth and case depth against the treatment they belong to.
pub(super) fn whole(book: &mut Book<'_>, printed: &PrintedSpecification) {
    let unit = book.unit;
    let kind = printed.treatment.as_str();
    let query = |found: &str, expected: &str, cause: &str| Words {
        key: "treatment.growth".to_owned(),
        found: found.to_owned(),
        expected: expected.to_owned(),
        cause: cause.to_owned(),
    };
    const KNOWN: [&str; 10] = [
        "none",
        "nitriding",
        "nitrocarburising",
        "induction",
        "flame",
        "carburising",
        "case hardening",
        "through hardening",
        "shot peening",
        "rolled fillets",
    ];
    if !KNOWN.contains(&kind) {
        let words = Words {
            key: "treatment.kind".to_owned(),
            found: format!("\"{kind}\""),
            expected: format!("one of {}", KNOWN.join(", ")),
            cause: "a slip of the pen, or a process that is not known here; it is taken as written".to_owned(),
        };
        book.query(words, None);
    }
    let mean = printed.growth_mean.as_ref().and_then(|limit| limit.mm(unit));
    let sd = printed.growth_sd.as_ref().and_then(|limit| limit.mm(unit));
    if let Some(limit) = printed.growth_mean.as_ref().filter(|_| mean != Some(0.0)) {
        judge_limit(book, "treatment.growth.mean", limit, &GROWTH);
    }
    if let (Some(sd), Some(limit)) = (sd, &printed.growth_sd) {
        let words = |expected: &str, cause: &str| Words {
            key: "treatment.growth.sd".to_owned(),
            found: plain(sd, unit),
            expected: expected.to_owned(),
            cause: cause.to_owned(),
        };
        match mean.filter(|mean| *mean > 0.0) {
            None => book.query(words("a mean growth beside it", "a spread without a mean"), limit.source.as_ref()),
            Some(mean) if sd >= mean => {
                let cause = "a spread as large as the growth itself: a decimal point out";
                book.out_of_family(words("less than the mean growth", cause), limit.source.as_ref());
            }
            Some(mean) if sd > 0.5 * mean => {
                book.query(words("less than half the mean growth", "no process could be planned for"), None);
            }
            Some(mean) if sd > 0.0 && sd < 0.04 * mean => {
                let cause = "a decimal point out: no process repeats so well";
                book.query(words("a twenty-fifth of the mean growth or more", cause), limit.source.as_ref());
            }
            Some(_) => {}
        }
    }
    if mean.is_some_and(|mean| mean != 0.0) {
        let cause = match kind {
            "none" => Some("growth is stated but no treatment: nothing will be allowed for it"),
            "induction" | "flame" => Some("hardening by induction or flame is not usually repeated after grinding"),
            _ => None,
        };
        if let Some(cause) = cause {
            book.query(query(&format!("growth with `{kind}`"), "growth with nitriding or the like", cause), None);
        }
    }
    let renewed = kind != "none" && mean.is_some();
    for (name, set) in [(SetName::Main, &printed.main), (SetName::Pin, &printed.pin)] {
        let Some(depth) = band_of(&set.case_depth, unit) else { continue };
        let key = format!("{name}.case_depth");
        let family = case_family(kind);
        both_edges(book, &key, &set.case_depth, &family, &family);
        let rows = set.steps.iter().map(|step| &step.undersize);
        let deepest = set.undersizes.iter().chain(rows).filter_map(|limit| limit.mm(unit)).fold(0.0, f64::max);
        let words = |found: String, expected: String, cause: &str| Words {
            key: key.clone(),
            found,
            expected,
            cause: cause.to_owned(),
        };
        if kind == "none" {
            let found = band_text(&set.case_depth, unit);
            book.query(words(found, "a treatment".to_owned(), "a case is stated but no treatment"), None);
        }
        if !renewed && deepest / 2.0 >= depth.low_mm {
            let found = format!("{} deep at the least", plain(depth.low_mm, unit));
            let expected = format!("deeper than {}, half the deepest undersize", plain(deepest / 2.0, unit));
            book.query(words(found, expected, "grinding to the deepest undersize goes through the case"), None);
        }
    }
}
