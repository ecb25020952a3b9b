//! The quotation as paper.

mod samples;
mod written;

use paper::PaperSize;
use paper::documents::{Quotation, QuotationWays};
use samples::about;
use written::Written;

fn quotation() -> Quotation {
    let line = |what: &str, count: &str, each: &str, amount: &str| [what, count, each, amount].map(str::to_owned);
    let way = |size: &str, chance: &str, cost: &str, left: &str| [size, chance, cost, left].map(str::to_owned);
    Quotation {
        about: about(),
        outcome: "To put this crank in order:".into(),
        stops: Vec::new(),
        lines: vec![
            line("Strip, clean and crack test", "", "", "£65"),
            line("Oilway plugs", "4", "£4", "£16"),
            line("Grind the mains to 0.010 in under", "", "", "£95"),
        ],
        total: "£176".into(),
        again: vec![
            "It may come out that the pins need a deeper size: 33 in 100 such cranks. That costs £46 more.".into(),
        ],
        likely: "£222".into(),
        not_priced: vec!["thrust washers".into()],
        parts: vec![["Main shells, pairs", "0.010 in under", "5"].map(str::to_owned)],
        ways: vec![QuotationWays {
            name: "Mains".into(),
            rows: vec![
                way("0.010 in under", "67 in 100", "£219", "3"),
                way("0.020 in under", "more than 99 in 100", "£190", "2"),
            ],
            says: "It costs least to start at 0.020 in under, and the shop’s rule says the same.".into(),
        }],
        conditions: vec!["The price stands on what was measured so far.".into()],
        by: "Pat Oakley".into(),
        date: "26 Nov 2026".into(),
    }
}

#[test]
fn a_quotation_is_one_page_and_the_same_every_time() {
    for paper in PaperSize::ALL {
        let once = quotation().to_pdf(paper);
        assert_eq!(once, quotation().to_pdf(paper), "{} differs from run to run", paper.word());
        let written = Written::of(once);
        assert_eq!(written.pages(), 1, "{}", paper.word());
        assert_eq!(written.title(), "Quotation, Job 1042");
    }
}

/// A heap of work and stops takes more room, never less than it needs; a table of seventy rows is two pages at least.
#[test]
fn a_long_quotation_runs_on() {
    let mut long = quotation();
    long.lines = (1..=70).map(|n| [format!("Operation {n}"), String::new(), String::new(), "£1".into()]).collect();
    long.stops = vec!["Shell 1 is marked 0.25 mm, which is not 0.010 in.".into(); 4];
    assert!((2..=3).contains(&Written::of(long.to_pdf(PaperSize::A4)).pages()));
}
