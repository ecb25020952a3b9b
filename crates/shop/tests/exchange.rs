//! A sheet goes into the record and comes out the same: to the last digit typed, and to the same verdict.

mod support;

use shop::{Job, Value, brought_in, entry_of, exported, fold, unrecorded};
use support::id;

struct Shipped;

impl sheet::Library for Shipped {
    fn text(&self, name: &str) -> Result<String, String> {
        match name {
            "tarn-four.toml" => Ok(include_str!("../../tenunder/library/tarn-four.toml").to_owned()),
            "wren.toml" => Ok(include_str!("../../tenunder/library/wren.toml").to_owned()),
            "skelder-six.toml" => Ok(include_str!("../../tenunder/library/skelder-six.toml").to_owned()),
            "skelder-six-ground-before.csv" => {
                Ok(include_str!("../../tenunder/library/skelder-six-ground-before.csv").to_owned())
            }
            other => Err(format!("no {other} here")),
        }
    }
}

/// A sheet that was brought into the record, with its specification inside.
fn in_the_record(text: &str, specification: Option<&str>) -> Job {
    let sheet = Value::from_text(text).unwrap();
    let specification = specification.map(|text| Value::from_text(text).unwrap());
    let drafts = brought_in(sheet, specification, "Pat", "2026-11-25T09:00:00Z", id).unwrap();
    let mut entries = Vec::new();
    for draft in &drafts {
        shop::admit(&entries, draft).unwrap();
        entries.push(entry_of(draft, 1001, entries.len() as i64 + 1, "2026-11-25T09:00:01Z"));
    }
    fold(&entries)
}

/// The text of a sheet after a stay in the record.
fn through_the_record(text: &str, specification: Option<&str>) -> String {
    exported(&in_the_record(text, specification))
}

/// The answer without what only says where the specification came from.
fn answer(text: &str) -> serde_json::Value {
    let sheet = sheet::read_sheet("a sheet", text, &Shipped).unwrap_or_else(|problems| panic!("{problems:?}\n{text}"));
    let verdict = regrind::assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &|_| ()).unwrap();
    let fit = fit::fit(&sheet.engine(), Some(&verdict), &sheet.policy);
    let quote = sheet.quote(&verdict, Some(&fit));
    serde_json::json!([sheet::answer(&sheet, &verdict), sheet::fit_answer(&sheet, &fit, &quote)])
}

#[test]
fn a_sheet_comes_out_as_it_went_in() {
    let book = include_str!("../../tenunder/library/tarn-four.toml");
    let wren = include_str!("../../tenunder/library/wren.toml");
    for (text, specification) in [
        (include_str!("../../tenunder/library/tarn-four-worn.toml"), book),
        (include_str!("../../tenunder/library/tarn-four-misread.toml"), book),
        (include_str!("../../tenunder/library/tarn-four-bearings.toml"), book),
        (include_str!("../../tenunder/library/wren-notebook.toml"), wren),
    ] {
        let once = through_the_record(text, Some(specification));
        assert_eq!(answer(&once), answer(text));
        // The second time round nothing changes any more, not a letter.
        assert_eq!(through_the_record(&once, None), once);
    }
}

#[test]
fn a_sheet_in_no_record_says_what_it_says_in_one() {
    let book = include_str!("../../tenunder/library/tarn-four.toml");
    for text in [
        include_str!("../../tenunder/library/tarn-four-worn.toml"),
        include_str!("../../tenunder/library/tarn-four-bearings.toml"),
    ] {
        let mut sheet = Value::from_text(text).unwrap();
        sheet.set("specification", Value::from_text(book).unwrap());
        let (alone, kept) = (unrecorded(sheet).unwrap(), in_the_record(text, Some(book)));
        assert_eq!(answer(&exported(&alone)), answer(&exported(&kept)));
        assert_eq!((&alone.booked_in, alone.stage), (&kept.booked_in, kept.stage));
        let rows = |job: &Job| job.rows.iter().map(|row| (row.key, row.row.clone(), row.standing)).collect::<Vec<_>>();
        assert_eq!(rows(&alone), rows(&kept));
        assert!(alone.rows.len() > 10);
        // Nobody did anything to it.
        assert_eq!((alone.number, alone.seq, alone.booked_when.as_str(), alone.next_undo), (0, 0, "", None));
    }
    assert!(unrecorded(Value::from_text("sheet = 1\nreadings = \"elsewhere.csv\"").unwrap()).is_err());
}

#[test]
fn trailing_noughts_survive() {
    let text = include_str!("../../tenunder/library/tarn-four-worn.toml");
    let out = through_the_record(text, Some(include_str!("../../tenunder/library/tarn-four.toml")));
    assert!(text.contains("1.8730,") && out.contains("1.8730"), "1.8730 says that the last place was read");
}

/// A sheet whose readings stand in a CSV file beside it is gathered into one first.
#[test]
fn a_sheet_of_several_files_comes_out_as_one_that_answers_the_same() {
    for text in [
        include_str!("../../tenunder/library/skelder-six-ground-before.toml"),
        include_str!("../../tenunder/library/tarn-four-worn.toml"),
        include_str!("../../tenunder/library/tarn-four-misread.toml"),
        include_str!("../../tenunder/library/wren-notebook.toml"),
    ] {
        let whole = sheet::whole_sheet("a sheet", text, &Shipped).unwrap();
        assert_eq!(answer(&whole), answer(text));
        let once = through_the_record(&whole, None);
        assert_eq!(answer(&once), answer(text));
        assert_eq!(through_the_record(&once, None), once);
    }
}

#[test]
fn rows_in_another_file_are_not_brought_in() {
    let sheet = Value::from_text("sheet = 1\nunits = \"mm\"\nreadings = \"r.csv\"\n").unwrap();
    let refused = brought_in(sheet, None, "Pat", "2026-11-25T09:00:00Z", id).unwrap_err();
    assert!(refused.to_string().contains("readings"), "{refused}");
    let sheet = Value::from_text("sheet = 1\nreading = 3\n").unwrap();
    assert!(brought_in(sheet, None, "Pat", "2026-11-25T09:00:00Z", id).is_err());
}

#[test]
fn roughness_comes_out_as_it_went_in() {
    let text = format!(
        "{}\n[[roughness]]\njournal = \"pin 2\"\nat = \"rear\"\nra = \"0.25 µm\"\nwith = \"mic 1-2\"\n\n\
         [[roughness]]\njournal = \"pin 2\"\nat = \"rear\"\nra = 8\nlay = \"crossed\"\nwhen = \"after\"\n",
        include_str!("../../tenunder/library/tarn-four-worn.toml")
    );
    let out = through_the_record(&text, Some(include_str!("../../tenunder/library/tarn-four.toml")));
    let rows = |text: &str| sheet::read_sheet("a sheet", text, &Shipped).unwrap().findings.roughness;
    assert_eq!(rows(&out), rows(&text));
    assert_eq!(rows(&out).len(), 2);
    assert!(out.contains("ra = \"0.25 µm\""), "{out}");
    assert_eq!(answer(&out), answer(&text));
}

#[test]
fn stamps_come_out_as_they_went_in() {
    let text = format!(
        "{}\n[[stamped]]\nset = \"pin\"\nundersize = 0.010\n\n[[stamped]]\njournal = \"main 2\"\nundersize = 0\n",
        include_str!("../../tenunder/library/tarn-four-worn.toml")
    );
    let out = through_the_record(&text, Some(include_str!("../../tenunder/library/tarn-four.toml")));
    let stamps = |text: &str| sheet::read_sheet("a sheet", text, &Shipped).unwrap().findings.stamps;
    assert_eq!(stamps(&out), stamps(&text));
    assert_eq!(stamps(&out).len(), 2);
    assert!(out.contains("undersize = 0.010"), "{out}");
    assert_eq!(answer(&out), answer(&text));
}
