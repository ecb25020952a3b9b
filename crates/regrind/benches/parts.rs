//! The parts of a verdict, timed one by one on the traced Tarn four: 9 journals, 3 stations, 24 angles, 25 pairs.

use sheet::{Library, Sheet};

struct Shipped;

impl Library for Shipped {
    fn text(&self, _: &str) -> Result<String, String> {
        Ok(include_str!("../../tenunder/library/tarn-four.toml").to_owned())
    }
}

fn traced() -> Sheet {
    let text = include_str!("../../tenunder/library/tarn-four-traced.toml");
    sheet::read_sheet("tarn-four-traced.toml", text, &Shipped).expect("the shipped sheet reads")
}

fn main() {
    divan::main();
}

#[divan::bench(sample_count = 100)]
fn reading_the_sheet() -> Sheet {
    traced()
}

#[divan::bench(sample_count = 100)]
fn spare_of_all_pairs(bencher: divan::Bencher<'_, '_>) {
    let sheet = traced();
    bencher.bench(|| regrind::spares(&sheet.specification, &sheet.findings, &sheet.policy));
}
