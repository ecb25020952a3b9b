//! How many pages each document takes, from the smallest crank to the largest.

mod samples;
mod written;

use paper::documents::{CustomersReport, GrinderSheet};
use paper::{Drawing, PaperSize};
use samples::{batch, certificate, form, grinder, label, record, report};
use written::Written;

/// Mains and pins of cranks with 1, 3, 9, 13, 14, 17 and 26 journals.
const CRANKS: [(usize, usize); 7] = [(1, 0), (2, 1), (5, 4), (7, 6), (8, 6), (9, 8), (14, 12)];

#[test]
fn up_to_13_journals_the_sheet_is_one_page_and_two_up_to_26() {
    for paper in PaperSize::ALL {
        for (mains, pins) in CRANKS {
            let written = Written::of(grinder(mains, pins).to_pdf(paper));
            let wanted = if mains + pins <= 13 { 1 } else { 2 };
            assert_eq!(written.pages(), wanted, "{mains} mains and {pins} pins on {}", paper.word());
        }
    }
}

/// Long names, several reasons and a withdrawn sheet take room; the pages stay as many.
#[test]
fn the_sheet_keeps_to_its_pages_with_all_that_can_stand_on_it() {
    for paper in PaperSize::ALL {
        for (mains, pins) in CRANKS {
            let mut sheet = grinder(mains, pins);
            sheet.about.crank = "Skelder six, 7 litre diesel, second series with the long nose".into();
            sheet.about.customer = "Inge Varley and Daughters, Agricultural Repairs".into();
            sheet.changed = vec!["The pins changed from 0.010 to 0.020.".into()];
            for set in &mut sheet.sets {
                set.overruled = "Chosen by Jo Wren: the customer has shells of that size on the shelf.".into();
            }
            let wanted = if mains + pins <= 13 { 1 } else { 2 };
            let written = Written::of(sheet.to_pdf(paper));
            assert_eq!(written.pages(), wanted, "{mains} mains and {pins} pins on {}", paper.word());
        }
    }
}

/// A mark may have as many characters as a name: the sheet gives it no more pages than any other.
#[test]
fn a_mark_as_long_as_a_page_is_wide_takes_no_page_more() {
    for paper in PaperSize::ALL {
        for (mains, pins) in CRANKS {
            let mut sheet = grinder(mains, pins);
            sheet.about.number = String::new();
            sheet.about.mark = "Inge Varley, the blue tractor behind the barn ".repeat(7).chars().take(300).collect();
            let wanted = if mains + pins <= 13 { 1 } else { 2 };
            let written = Written::of(sheet.to_pdf(paper));
            assert_eq!(written.pages(), wanted, "{mains} mains and {pins} pins on {}", paper.word());
        }
    }
}

#[test]
fn the_report_the_label_and_a_slip_are_one_page() {
    for paper in PaperSize::ALL {
        for (mains, pins) in CRANKS {
            let word = paper.word();
            assert_eq!(Written::of(report(mains, pins).to_pdf(paper)).pages(), 1, "report {mains}+{pins} {word}");
        }
        assert_eq!(Written::of(label().to_pdf(paper)).pages(), 1);
        assert_eq!(Written::of(batch().to_pdf(paper)).pages(), 1);
    }
}

/// A line for a pencil is 9.8 mm high. 26 journals with their readings, and 13 mains once more with their run-outs, are 39
/// lines, 382 mm; what is asked of every crank takes 280 mm more, and a page has 238 (Letter) to 256 mm (A4). No table is
/// cut, so that the third page cannot always be filled.
const MOST_OF_A_FORM: usize = 4;

#[test]
fn longer_documents_grow_with_the_crank() {
    for paper in PaperSize::ALL {
        let pages = |(mains, pins)| {
            [
                Written::of(certificate(mains, pins).to_pdf(paper)).pages(),
                Written::of(form(mains, pins).to_pdf(paper)).pages(),
                Written::of(record(mains, pins).to_pdf(paper)).pages(),
            ]
        };
        let all: Vec<[usize; 3]> = CRANKS.into_iter().map(pages).collect();
        // The form asks for more than readings: even for one journal that is both sides of a sheet.
        assert_eq!(all[0], [1, 2, 1], "one journal");
        for (small, large) in all.iter().zip(all.iter().skip(1)) {
            assert!(small.iter().zip(large).all(|(small, large)| small <= large), "{all:?}");
        }
        let [certificate, form, record] = all[6];
        assert!(certificate <= 2 && form <= MOST_OF_A_FORM && (3..=6).contains(&record), "26 journals: {:?}", all[6]);
    }
}

/// A drawing is nice to have on the form; another page for it is not.
#[test]
fn the_form_takes_no_page_more_for_its_drawing() {
    for paper in PaperSize::ALL {
        for (mains, pins) in CRANKS {
            let mut form = form(mains, pins);
            let without = Written::of(form.to_pdf(paper)).pages();
            form.drawing = Some(Drawing::new(170.0, 90.0, "The crank"));
            assert_eq!(Written::of(form.to_pdf(paper)).pages(), without, "{mains}+{pins} on {}", paper.word());
        }
    }
}

/// A crank that nothing is ground on, and one that nobody said anything about.
#[test]
fn what_says_little_is_a_page_all_the_same() {
    for paper in PaperSize::ALL {
        let mut sheet = grinder(5, 4);
        for set in &mut sheet.sets {
            set.choice = "Leave alone".into();
            set.grind_to = None;
            set.window = String::new();
            set.stages.clear();
        }
        let written = Written::of(sheet.to_pdf(paper));
        assert_eq!(written.pages(), 1);
        for empty in [GrinderSheet::default().to_pdf(paper), CustomersReport::default().to_pdf(paper)] {
            assert_eq!(Written::of(empty).pages(), 1);
        }
    }
}

/// The figures to be read from 2 m are not made smaller by what else stands on the sheet: 54 pt.
#[test]
fn the_size_to_grind_to_is_always_as_large() {
    for (mains, pins) in CRANKS {
        let written = Written::of(grinder(mains, pins).to_pdf(PaperSize::Letter));
        let largest = written.type_sizes_pt().into_iter().fold(0.0, f64::max);
        assert!((largest - 54.0).abs() < 1e-3, "{mains}+{pins}: {largest} pt");
    }
}

#[test]
fn the_paper_is_cut_as_it_was_asked_for() {
    for (paper, wanted) in [(PaperSize::A4, (595.28, 841.89)), (PaperSize::Letter, (612.0, 792.0))] {
        let (width, height) = Written::of(report(5, 4).to_pdf(paper)).paper_pt();
        assert!((width - wanted.0).abs() < 0.01 && (height - wanted.1).abs() < 0.01, "{width} by {height}");
    }
}
