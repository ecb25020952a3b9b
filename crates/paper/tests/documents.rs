//! The documents: pages, structure, sizes, and that the same input gives the same bytes.

mod samples;

use paper::PaperSize;
use samples::{batch, certificate, form, grinder, label, record, report};

/// Every document with its name, for a crank with so many mains and pins.
fn all(mains: usize, pins: usize, paper: PaperSize) -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("grinder", grinder(mains, pins).to_pdf(paper).unwrap()),
        ("report", report(mains, pins).to_pdf(paper).unwrap()),
        ("record", record(mains, pins).to_pdf(paper).unwrap()),
        ("certificate", certificate(mains, pins).to_pdf(paper).unwrap()),
        ("form", form(mains, pins).to_pdf(paper).unwrap()),
        ("label", label().to_pdf(paper).unwrap()),
        ("batch", batch().to_pdf(paper).unwrap()),
    ]
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for ((name, once), (_, again)) in all(5, 4, PaperSize::A4).into_iter().zip(all(5, 4, PaperSize::A4)) {
        assert!(once.starts_with(b"%PDF-1.7"), "{name}");
        assert!(once == again, "{name} differs from run to run");
    }
}
