//! Writes every document with invented content into a folder, to look at: `cargo run -p paper --example papers FOLDER`.

#[path = "../tests/samples/mod.rs"]
mod samples;

use paper::PaperSize;
use samples::{batch, certificate, form, grinder, label, record, report};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::path::PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "papers".into()));
    std::fs::create_dir_all(&folder)?;
    for (mains, pins) in [(2, 1), (5, 4), (7, 6), (13, 13)] {
        for paper in PaperSize::ALL {
            let name = |what: &str| folder.join(format!("{what}-{mains}-{pins}-{}.pdf", paper.word()));
            std::fs::write(name("grinder"), grinder(mains, pins).to_pdf(paper)?)?;
            std::fs::write(name("report"), report(mains, pins).to_pdf(paper)?)?;
            std::fs::write(name("record"), record(mains, pins).to_pdf(paper)?)?;
            std::fs::write(name("certificate"), certificate(mains, pins).to_pdf(paper)?)?;
            std::fs::write(name("form"), form(mains, pins).to_pdf(paper)?)?;
            std::fs::write(name("label"), label().to_pdf(paper)?)?;
            std::fs::write(name("batch"), batch().to_pdf(paper)?)?;
        }
    }
    Ok(())
}
