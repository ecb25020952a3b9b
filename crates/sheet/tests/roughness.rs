//! `[[roughness]]`: read, refused with all its faults at once, and told in the answer.

mod common;

use common::{PAGE, WREN, refused, sound};
use crank::{JournalId, Lay, SetName, Taken};
use document::Value;
use sheet::RoughnessWords;

fn with(rows: &str) -> String {
    format!("{PAGE}\n{rows}")
}

/// The page in millimetres, against the same book.
fn metric(rows: &str) -> String {
    let page = PAGE.replace("units = \"in\"", "units = \"mm\"");
    let page = page.replace("1.4991", "38.077").replace("1.4990", "38.075").replace("1.2480", "31.699");
    format!("{page}\n{rows}")
}

const WHOLE: &str = r#"
[[roughness]]
journal = "pin 1"
at = "middle"
ra = 10
error_limit = 1
lay = "around"
with = "the surface gauge of the bench"
cutoff = "0.8 mm"

[[roughness]]
journal = "pin 1"
at = "rear"
ra = "0.25 µm"
when = "after"

[[roughness]]
journal = "main 2"
at = 0.1
ra = "0.000014 in"
lay = "along"
"#;

#[test]
fn every_key_is_read() {
    let rows = sound(&with(WHOLE)).findings.roughness;
    assert_eq!(rows.len(), 3);
    assert_eq!(rows[0].journal, JournalId { set: SetName::Pin, number: 1 });
    assert!((rows[0].ra_um - 0.254).abs() < 1e-12 && rows[0].at_mm == 0.0);
    assert!((rows[0].error_limit_um.unwrap() - 0.0254).abs() < 1e-12);
    assert_eq!((rows[0].lay, rows[0].taken), (Some(Lay::Around), Taken::Before));
    assert_eq!(rows[0].with.as_deref(), Some("the surface gauge of the bench"));
    assert_eq!(rows[0].cutoff_mm, Some(0.8));
    assert_eq!((rows[1].ra_um, rows[1].taken, rows[1].lay), (0.25, Taken::After, None));
    // Nobody said what it may be wrong by: a tenth.
    assert!((rows[1].wrong_by_um() - 0.025).abs() < 1e-12 && rows[1].error_limit_um.is_none());
    assert!((rows[2].ra_um - 0.3556).abs() < 1e-12 && (rows[2].at_mm - 2.54).abs() < 1e-12);
}

#[test]
fn toml_and_json_come_back_as_they_went_in() {
    let text = with(WHOLE);
    let value = Value::from_text(&text).unwrap();
    let once = sound(&text).findings;
    assert_eq!(sound(&value.to_json()).findings, once);
    assert_eq!(sound(&value.to_toml()).findings, once);
    assert!(value.to_json().contains(r#""ra":"0.25 µm","when":"after""#));
}

/// Every fault of every row at once, each with its place, what was found, what would do, and what to do.
#[test]
fn all_faults_are_listed_at_once() {
    let rows = r#"
[[roughness]]
journal = "pin 9"
at = "centre"
ra = 0.25
error_limit = 0.3
lay = "round"
cutoff = 0.8
when = "later"

[[roughness]]
journal = "pin 1"
at = "rear"

[[roughness]]
journal = "main 1"
at = "rear"
ra = "10 thou"
speed = 3

[[roughness]]
journal = "main 2"
at = "rear"
ra = "90 µm"

[[roughness]]
journal = "main 2"
at = "rear"
ra = 12
error_limit = 13

[[roughness]]
journal = "main 2"
at = "front"
ra = 0.000012
"#;
    insta::assert_snapshot!(refused(&with(rows)), @r#"
    w-17.toml:13: roughness[1].journal: found "pin 9", expected pin 1; this specification has one pin, counted from the nose
    w-17.toml:14: roughness[1].at: found "centre", expected "front", "middle", "rear", or a distance from mid-length; front is towards the nose, rear towards the flywheel
    w-17.toml:15: roughness[1].ra: found 0.25, expected a roughness in µin; which unit was it read in? In µin hardly a journal shows that; if it was µm, write "0.25 µm"; if it was µin all the same, write "0.25 µin"
    w-17.toml:17: roughness[1].lay: found "round", expected "around" or "along" or "crossed"; did you mean "around"?
    w-17.toml:18: roughness[1].cutoff: found 0.8, expected a cut-off from 0.02 to 10 mm, in inches; with its unit where the sheet has another, as cutoff = "0.8 mm"
    w-17.toml:19: roughness[1].when: found "later", expected "before" or "after"; did you mean "after"?
    w-17.toml:21: roughness[2].ra: found nothing, expected the Ra that the instrument showed; add ra = 10, in microinches, or with its unit, ra = "0.25 µm"
    w-17.toml:28: roughness[3].ra: found "10 thou", expected a roughness in µm or µin; "thou" is no unit of it; a bare figure is in µin, as the sizes are in inches
    w-17.toml:29: roughness[3].speed: found an unknown key "speed", expected journal, at, ra, error_limit, lay, with, cutoff, when; take it out, or see docs/sheet.md for the keys there are
    w-17.toml:34: roughness[4].ra: found "90 µm", expected a roughness from 0.005 to 50 µm; it would be 3543.3 µin (90.00 µm); look at the point, and at the unit
    w-17.toml:36: roughness[5].journal: found main 2 at this place a second time, expected one row for each place before the work, and one after it; keep the right one; what was measured when the work was done has when = "after"
    w-17.toml:40: roughness[5].error_limit: found 13, expected most that it may be wrong by, in µin, above 0 and below the Ra itself; take it from the instrument's certificate; leave it out where you do not know it
    w-17.toml:45: roughness[6].ra: found 0.000012, expected a roughness in µin; which unit was it read in? In µin hardly a journal shows that; if it was in, write "0.000012 in"
    "#);
}

#[test]
fn the_same_place_twice_is_refused_but_not_before_and_after() {
    let row = |when: &str| format!("[[roughness]]\njournal = \"pin 1\"\nat = \"rear\"\nra = 10\n{when}\n");
    sound(&with(&(row("") + &row("when = \"after\""))));
    let says = refused(&with(&(row("") + &row("when = \"before\""))));
    assert!(says.contains("pin 1 at this place a second time, expected one row for each place"), "{says}");
}

/// By 25 and by 40: what a bare figure is in follows the sheet, and one that can only be of the other unit is asked about.
#[test]
fn nobody_is_wrong_by_twenty_five_or_forty() {
    let row = |ra: &str| format!("[[roughness]]\njournal = \"pin 1\"\nat = \"rear\"\nra = {ra}\n");
    assert!((sound(&with(&row("10"))).findings.roughness[0].ra_um - 0.254).abs() < 1e-12);
    assert_eq!(sound(&metric(&row("0.25"))).findings.roughness[0].ra_um, 0.25);
    for (text, says) in [
        (with(&row("0.25")), "if it was µm, write \"0.25 µm\"; if it was µin all the same, write \"0.25 µin\""),
        (with(&row("0.00001")), "if it was in, write \"0.00001 in\""),
        (metric(&row("10")), "if it was µin, write \"10 µin\""),
        (metric(&row("0.0003")), "if it was mm, write \"0.0003 mm\""),
    ] {
        let found = refused(&text);
        assert!(found.contains("which unit was it read in?") && found.contains(says), "{found}");
    }
}

/// A book that prints microinches is typed as it prints them.
#[test]
fn a_limit_in_microinches_is_read() {
    let book = WREN.replace("roughness    = 0.000012 ", "roughness = \"12 µin\" ");
    assert_ne!(book, WREN);
    let read = |text: &str| sheet::read_specification("wren.toml", text).unwrap().0;
    for set in SetName::BOTH {
        let of = |text: &str| crank::roughness_limit_um(&read(text), set).unwrap();
        assert!((of(&book) - 0.3048).abs() < 1e-12 && (of(WREN) - 0.3048).abs() < 1e-12);
    }
    assert!(crank::check(&read(&book)).iter().all(|found| !found.key.ends_with("roughness")));
}

/// The Wren allows 12 microinches, 0.305 µm.
#[test]
fn what_it_means_is_said_for_each_journal() {
    let rows = r#"
[[roughness]]
journal = "pin 1"
at = "middle"
ra = 20

[[roughness]]
journal = "main 1"
at = "middle"
ra = 8
lay = "along"

[[roughness]]
journal = "main 2"
at = "middle"
ra = 8
lay = "around"
"#;
    let sheet = sound(&with(rows));
    let words = RoughnessWords::of(&sheet);
    let ground = words.meaning(|_| Some(regrind::Choice::Grind { undersize_mm: 0.254 }));
    assert_eq!(ground.len(), 2, "main 2 is as it should be: {ground:?}");
    let left = words.meaning(|_| Some(regrind::Choice::LeaveAlone));
    let said = left.iter().chain(&ground).map(|(id, says)| format!("{id}: {says}\n")).collect::<String>();
    insta::assert_snapshot!(said, @"
    main 1: Main 1: Ra 8 µin (0.203 µm). Its marks lie along the journal, across the way the oil is drawn: they part the film and wear the shells. Polish it: 0.0002 in on the diameter is what the plan has for that. It changes no undersize by itself; what polish does not take out is scoring, to be entered as damage with its depth.
    pin 1: Pin 1 is rougher than the book allows: Ra 20 µin (0.508 µm), at most 12 µin (0.305 µm). Polish it: 0.0002 in on the diameter is what the plan has for that. It changes no undersize by itself; what polish does not take out is scoring, to be entered as damage with its depth.
    main 1: Main 1: Ra 8 µin (0.203 µm). Its marks lie along the journal, across the way the oil is drawn: they part the film and wear the shells. The wheel takes this surface off; what counts is how rough the journal is when it is polished.
    pin 1: Pin 1 is rougher than the book allows: Ra 20 µin (0.508 µm), at most 12 µin (0.305 µm). The wheel takes this surface off; what counts is how rough the journal is when it is polished.
    ");
}
