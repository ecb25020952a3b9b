//! Names as people have them, and everything that may be missing: a paper says what it was given, and is always written.

mod samples;
mod written;

use paper::documents::*;
use paper::{Anchor, Drawing, Face, Fill, Label, Mark, PaperSize, Pen};
use proptest::prelude::*;
use samples::{about, batch, certificate, form, grinder, label, record, report};
use written::Written;

const RIGHT_TO_LEFT: &str = "סדנת הגלים";
const PICTURES: &str = "Inge 👩🏽‍🔧🔧";
const FAR: &str = "曲轴修理厂";
const MARKED: &str = "O'Brien & Söhne <b>";
const ADDRESS: &str = "Inge Varley\nThe Old Forge\nMill Lane\nHollin";

/// Every paper of a crank with this written wherever people write.
fn everywhere(words: &str) -> Vec<(&'static str, Result<Vec<u8>, paper::Unwritable>)> {
    let about =
        AboutJob { shop: words.into(), crank: words.into(), customer: words.into(), mark: words.into(), ..about() };
    let grinder = {
        let mut sheet = GrinderSheet { about: about.clone(), issued_by: words.into(), ..grinder(5, 4) };
        sheet.measured_by = words.into();
        sheet.sets[0].overruled = format!("Chosen by {words}: they are on the shelf.");
        sheet.notes.push(("Note".into(), words.into()));
        sheet
    };
    let report = {
        let mut report = CustomersReport { about: about.clone(), by: words.into(), ..report(5, 4) };
        report.work.push(words.into());
        report
    };
    let record = {
        let mut record = InspectionRecord { about: about.clone(), by: words.into(), ..record(5, 4) };
        record.notes.push(words.into());
        for row in &mut record.tables[0].rows {
            row[4] = words.into();
            row[5] = words.into();
        }
        record
    };
    let certificate = Certificate {
        about: about.clone(),
        signed_by: words.into(),
        eyes: vec![format!("{words}: {words}")],
        ..certificate(5, 4)
    };
    let form = MeasuringForm { about: about.clone(), micrometers: vec![words.into()], ..form(5, 4) };
    let label = BoxLabel { about, state: format!("Signed off by {words}"), ..label() };
    let mut batch = BatchSlip { shop: words.into(), batch: words.into(), ..batch() };
    batch.facts.push(("Treated by".into(), words.into()));
    batch.rows[0].mark = words.into();
    batch.rows[0].crank = words.into();
    vec![
        ("grinder", grinder.to_pdf(PaperSize::A4)),
        ("report", report.to_pdf(PaperSize::A4)),
        ("record", record.to_pdf(PaperSize::A4)),
        ("certificate", certificate.to_pdf(PaperSize::A4)),
        ("form", form.to_pdf(PaperSize::A4)),
        ("label", label.to_pdf(PaperSize::A4)),
        ("batch", batch.to_pdf(PaperSize::A4)),
    ]
}

#[test]
fn letters_that_no_face_has_stay_in_the_words_behind_the_paper() {
    for (name, file) in everywhere(FAR) {
        let written = Written::of(file);
        let texts = written.actual_texts();
        assert!(texts.iter().any(|text| text.contains(FAR)), "{name}: {texts:?}");
    }
    // The sign in their place is drawn, not left white.
    let only = |customer: &str| Written::of(report_for(customer)).holds("/ActualText");
    assert!(only(FAR) && only(PICTURES) && !only("Inge Varley"));
}

fn report_for(customer: &str) -> Result<Vec<u8>, paper::Unwritable> {
    CustomersReport { about: AboutJob { customer: customer.into(), ..about() }, ..report(2, 1) }.to_pdf(PaperSize::A4)
}

/// The roughness of a journal is told in microns: the sign is on every keyboard and in no face, but the Greek letter that it is
/// in any reading is.
#[test]
fn the_micro_sign_is_drawn() {
    let paper = |words: &str| Certificate { roughness: vec![words.into()], ..certificate(5, 4) }.to_pdf(PaperSize::A4);
    let sign = paper("Ra 10 \u{b5}in (0.254 \u{b5}m)");
    assert_eq!(sign, paper("Ra 10 \u{3bc}in (0.254 \u{3bc}m)"));
    let replaced = |file| Written::of(file).actual_texts().iter().any(|words| words.contains("0.254"));
    assert!(!replaced(sign), "a box was drawn for it");
    assert!(replaced(paper(&format!("{FAR} 0.254"))), "what no face has is replaced, and this would show it");
}

#[test]
fn names_of_every_kind_can_be_written() {
    let long = "W".repeat(200);
    let words = [
        long.as_str(),
        MARKED,
        RIGHT_TO_LEFT,
        PICTURES,
        FAR,
        ADDRESS,
        "   ",
        "",
        "\u{0}\u{7}\r\t",
        "e\u{301}",
        "a\u{20dd} \u{1f527}\u{301}",
    ];
    for words in words {
        for (name, file) in everywhere(words) {
            let pages = Written::of(file).pages();
            let most = match name {
                "record" => 20,
                // Two hundred of the widest letter in every field at once.
                "grinder" if words == long => 3,
                // The front and the back of a sheet, and where no line of it is as short as it should be, one page more.
                "form" if words == long => 3,
                "form" | "certificate" | "batch" => 2,
                _ => 1,
            };
            assert!((1..=most).contains(&pages), "{name} with {words:?} takes {pages} pages");
        }
    }
}

#[test]
fn a_draft_an_example_and_a_replaced_sheet_say_so() {
    let differs = |change: fn(&mut GrinderSheet)| {
        let mut sheet = grinder(5, 4);
        change(&mut sheet);
        assert_ne!(sheet.to_pdf(PaperSize::A4), grinder(5, 4).to_pdf(PaperSize::A4));
        Written::of(sheet.to_pdf(PaperSize::A4))
    };
    let draft = differs(|sheet| sheet.code.clear());
    assert!(draft.title().starts_with("Draft of a sheet for the grinder"), "{}", draft.title());
    // Outline letters are drawn in grey; all else is black.
    let example = differs(|sheet| sheet.about.example = true);
    let grey = |written: &Written| written.holds("0.588");
    assert!(grey(&example) && !grey(&Written::of(grinder(5, 4).to_pdf(PaperSize::A4))));
    differs(|sheet| sheet.changed = vec!["The pins changed from 0.010 to 0.020.".into()]);
    differs(|sheet| sheet.about.customer.clear());
}

#[test]
fn what_is_empty_is_written_too() {
    for paper in PaperSize::ALL {
        for file in [
            GrinderSheet::default().to_pdf(paper),
            CustomersReport::default().to_pdf(paper),
            InspectionRecord::default().to_pdf(paper),
            Certificate::default().to_pdf(paper),
            MeasuringForm::default().to_pdf(paper),
            BoxLabel::default().to_pdf(paper),
            BatchSlip::default().to_pdf(paper),
        ] {
            assert_eq!(Written::of(file).pages(), 1);
        }
    }
}

/// Words of any letters, some of them long.
fn words() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => proptest::collection::vec(any::<char>(), 0..40).prop_map(String::from_iter),
        1 => proptest::collection::vec(proptest::char::range(' ', '~'), 0..200).prop_map(String::from_iter),
        1 => Just(String::new()),
        1 => Just("W".repeat(200)),
    ]
}

fn drawing() -> impl Strategy<Value = Drawing> {
    let place = || (any::<f64>(), -500.0..500.0_f64);
    (any::<f64>(), 0.0..600.0_f64, words(), proptest::collection::vec(place(), 0..6), any::<f64>()).prop_map(
        |(width, height, words, points, size_mm)| {
            let mut drawing = Drawing::new(width, height, &words);
            let at = points.first().copied().unwrap_or_default();
            let label = Label { at, words, size_mm, face: Face::Words, bold: true, anchor: Anchor::Middle };
            drawing.marks = vec![
                Mark::Line { points: points.clone(), pen: Pen::Dashed },
                Mark::Shape { points, pen: Some(Pen::Thin), fill: Fill::Hatch },
                Mark::Circle { centre: at, radius_mm: size_mm, pen: None, fill: Fill::Ink },
                Mark::Label(label),
            ];
            drawing
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 10, failure_persistence: None, ..ProptestConfig::default() })]

    /// No input makes a paper that cannot be written.
    #[test]
    fn any_words_and_any_number_of_journals_can_be_written(
        one in words(), other in words(), mains in 0..16_usize, pins in 0..16_usize, letter in any::<bool>(),
    ) {
        let paper = if letter { PaperSize::Letter } else { PaperSize::A4 };
        let about = AboutJob { crank: one.clone(), customer: other.clone(), mark: one.clone(), ..about() };
        let mut sheet = GrinderSheet { about: about.clone(), code: other.clone(), ..grinder(mains, pins) };
        for set in &mut sheet.sets {
            set.grind_to = Some(other.clone());
            set.window.clone_from(&one);
            set.name.clone_from(&one);
            for journal in &mut set.journals {
                journal.name.clone_from(&one);
                journal.largest.clone_from(&other);
            }
        }
        prop_assert!(sheet.to_pdf(paper).is_ok());
        let mut told = report(mains, pins);
        told.about = about.clone();
        told.outcome.clone_from(&one);
        told.why = vec![other.clone(); 4];
        prop_assert!(told.to_pdf(paper).is_ok());
        let mut finished = certificate(mains, pins);
        finished.about = about.clone();
        finished.sentence.clone_from(&other);
        finished.open = vec![one.clone()];
        prop_assert!(finished.to_pdf(paper).is_ok());
        let mut blank = form(mains, pins);
        blank.about = about.clone();
        blank.order.clone_from(&one);
        blank.passes[0].spots = vec![other.clone(); mains];
        prop_assert!(blank.to_pdf(paper).is_ok());
        let boxed = BoxLabel { about, stamp: one.clone(), state: other.clone(), ..label() };
        prop_assert!(boxed.to_pdf(paper).is_ok());
        let mut slip = batch();
        slip.batch.clone_from(&one);
        slip.rows = vec![BatchRow { job: one, process: other, ..BatchRow::default() }; mains];
        prop_assert!(slip.to_pdf(paper).is_ok());
    }

    /// Nor does a drawing, whatever its marks and however large it is.
    #[test]
    fn any_drawing_can_be_written(drawing in drawing(), heads in 0..12_usize, cell in words()) {
        let mut all = record(1, 1);
        all.drawings = vec![drawing.clone()];
        all.tables[0].columns = vec![(cell.clone(), true, 1.0); heads];
        all.tables[0].rows = vec![vec![cell; heads + 1]; 3];
        prop_assert!(all.to_pdf(PaperSize::A4).is_ok());
        let mut told = report(5, 4);
        told.axes = vec![drawing.clone(); 2];
        told.narrow_axes = vec![drawing.clone(); 2];
        told.crank = Some(drawing);
        prop_assert!(told.to_pdf(PaperSize::Letter).is_ok());
    }
}
