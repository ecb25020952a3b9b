//! Sheets and specifications that are right come out as they were typed.

mod common;

use common::{Beside, PAGE, SKELDER, TARN, WREN, page_with, read, sound};
use crank::{JournalId, Per, RunOutAs, SetName};
use regrind::{Axis, IndexDatum, Policy, PolishWhen};
use sheet::{read_sheet, read_specification};
use units::{Length, Unit};

fn main(number: usize) -> JournalId {
    JournalId { set: SetName::Main, number }
}

fn pin(number: usize) -> JournalId {
    JournalId { set: SetName::Pin, number }
}

/// The sheet of the format's description, with every table it has.
const WHOLE: &str = r#"
sheet = 1
mark  = "C-0412"
specification = "tarn-four.toml"
units = "in"
[policy]
confidence     = 0.90
clean_up_stock = 0.0005
axis           = "held"
index_datum    = "fixed"
set_up_error   = 0.0003
polish_stock   = 0.0002
finish_stock   = 0.0040
grinding_spread = 0.0001
draws          = 20000
seed           = 1
[[instrument]]
name = "mic 2-3"
kind = "outside micrometer"
range = [2.0, 3.0]
graduation = 0.0001
zero = 0.0000
error_limit = 0.0001
repeatability = 0.00005
[[reading]]
journal = "main 1"
at      = "front"
plane   = 0
size    = 2.1236
with    = "mic 2-3"
[[run_out]]
journal = "main 3"
total = 0.0021
high  = 90
[[trace]]
journal = "pin 2"
at      = "middle"
size    = 1.8736
start   = 0
departures = [0.0001, 0.0000, -0.0002, 0.0001]
[[centre]]
journal = "pin 2"
throw = +0.0010
index = -0.05
[[damage]]
journal = "pin 2"
kind    = "scoring"
depth   = [0.002, 0.003, 0.004]
[[worn]]
journal = "pin 2"
share = 0.8
[[stamped]]
set = "main"
undersize = 0.010
[[stamped]]
journal = "pin 2"
undersize = "0.25 mm"
"#;

#[test]
fn every_table_of_the_format_is_read() {
    let sheet = sound(WHOLE);
    assert_eq!((sheet.mark.as_deref(), sheet.unit), (Some("C-0412"), Unit::Inch));
    assert_eq!(sheet.specification_file, "tarn-four.toml");
    // The values shown in the format's description are the usual ones, so stating them changes nothing. The products
    // with 25.4 may differ in the last bit from the decimals written out in the policy.
    let usual = Policy::usual(Unit::Inch);
    for (found, expected) in [
        (sheet.policy.clean_up_stock_mm, usual.clean_up_stock_mm),
        (sheet.policy.set_up_error_mm, usual.set_up_error_mm),
        (sheet.policy.polish_stock_mm, usual.polish_stock_mm),
        (sheet.policy.finish_stock_mm, usual.finish_stock_mm),
        (sheet.policy.grinding_spread_mm, usual.grinding_spread_mm),
    ] {
        assert!((found - expected).abs() < 1e-15, "{found} mm, not {expected} mm");
    }
    assert_eq!((sheet.policy.axis, sheet.policy.index_datum), (Axis::Held, IndexDatum::Fixed));
    assert_eq!((sheet.policy.draws, sheet.policy.seed), (20_000, 1));
    let findings = &sheet.findings;
    assert_eq!(findings.instruments.len(), 2);
    assert_eq!(findings.instruments[1].name, "mic 2-3");
    let reading = &findings.readings[0];
    assert_eq!((reading.journal, reading.with, reading.sizes.len()), (main(1), 1, 1));
    // Front: 0.35 of 1.10 in from the middle, towards the nose.
    assert!((reading.at_mm + 0.35 * 1.10 * 25.4).abs() < 1e-12);
    assert_eq!(reading.sizes[0].length, Length::from_nm(53_939_440));
    assert_eq!((findings.run_outs[0].journal, findings.run_outs[0].high_deg), (main(3), 90.0));
    assert!((findings.run_outs[0].total_mm - 0.0021 * 25.4).abs() < 1e-15);
    let trace = &findings.traces[0];
    assert_eq!(trace.angles_deg, [0.0, 90.0, 180.0, 270.0]);
    assert_eq!((trace.with, trace.departure_sd_mm), (0, 0.00127));
    assert!((trace.departures_mm[2] + 0.00508).abs() < 1e-15);
    let centre = &findings.centres[0];
    assert_eq!((centre.journal, centre.throw_mm, centre.index_deg), (pin(2), 0.0254, -0.05));
    let depth = findings.damages[0].depth;
    assert!((depth.lowest_mm - 0.0508).abs() < 1e-15 && (depth.highest_mm - 0.1016).abs() < 1e-15);
    assert_eq!((findings.damages[0].at_mm, findings.damages[0].arc_deg), (None, None));
    assert_eq!((findings.worn[0].journal, findings.worn[0].share), (pin(2), 0.8));
    let stamps: Vec<_> = findings.stamps.iter().map(|stamp| (stamp.set, stamp.journal)).collect();
    assert_eq!(stamps, [(SetName::Main, None), (SetName::Pin, Some(pin(2)))]);
    assert!((findings.stamps[0].undersize_mm - 0.254).abs() < 1e-15);
    assert_eq!(findings.stamps[1].undersize_mm, 0.25);
}

/// The document that needs no other file holds the stamps as they were typed.
#[test]
fn stamps_stay_in_the_whole_sheet() {
    let whole = sheet::whole_sheet("c-0412.toml", WHOLE, &Beside(&[])).expect("a sound sheet");
    assert!(
        whole.contains(r#""stamped":[{"set":"main","undersize":0.010},{"journal":"pin 2","undersize":"0.25 mm"}]"#)
    );
    assert_eq!(sound(&whole).findings.stamps, sound(WHOLE).findings.stamps);
}

#[test]
fn what_was_typed_is_kept() {
    let page = page_with(&[("1.4991", "1.4990"), ("1.2480", "\"1 1/4\"")]);
    let sheet = sound(&page);
    let size = |n: usize| &sheet.findings.readings[n].sizes[0];
    assert_eq!((size(0).typed.as_str(), size(0).decimals), ("1.4990", 4));
    assert_eq!((size(2).typed.as_str(), size(2).length), ("1 1/4", Length::from_nm(31_750_000)));
    let json = r#"{"sheet":1,"units":"in","specification":"wren.toml",
        "reading":[{"journal":"main 1","at":0.1,"plane":-90,"size":[1.4990,1.499e0]}]}"#;
    let sheet = sound(json);
    assert_eq!(sheet.findings.readings[0].sizes[0].typed, "1.4990");
    assert_eq!(sheet.findings.readings[0].plane_deg, 270.0);
    assert_eq!(sheet.findings.readings[0].sizes[1].length, Length::from_nm(38_074_600));
}

#[test]
fn a_sheet_may_be_in_the_other_unit_than_its_book() {
    let page = page_with(&[
        ("units = \"in\"", "units = \"mm\""),
        ("1.4991", "38.077"),
        ("1.4990", "\"1.4990 in\""),
        ("1.2480", "31.699"),
    ]);
    let sheet = sound(&page);
    assert_eq!((sheet.unit, sheet.specification.unit), (Unit::Millimetre, Unit::Inch));
    assert_eq!(sheet.findings.readings[0].sizes[0].mm, 38.077);
    assert_eq!(sheet.findings.readings[1].sizes[0].unit, Unit::Inch);
    assert_eq!(sheet.policy, Policy::usual(Unit::Millimetre));
    assert_eq!(sheet.findings.instruments[0].error_limit_mm, 0.004);
}

#[test]
fn a_specification_may_stand_in_the_sheet() {
    let inline = WREN
        .replace("specification = 1", "[specification]\nspecification = 1")
        .replace("[main]", "[specification.main]")
        .replace("[pin]", "[specification.pin]")
        .replace("[treatment]", "[specification.treatment]");
    let (top, rows) = PAGE.split_once("reading = [").expect("the page has readings");
    let top = top.replace("specification = \"wren.toml\"\n", "");
    let sheet = sound(&format!("{top}reading = [{rows}\n{inline}"));
    let named = sound(PAGE);
    assert_eq!(sheet.specification, named.specification);
    assert_eq!(sheet.findings, named.findings);
    assert_eq!(sheet.specification_file, "w-17.toml");
}

#[test]
fn shipped_specifications_say_how_their_limits_are_read() {
    let wren = sound(PAGE).specification;
    let taper = wren.main.taper.expect("a taper limit");
    assert_eq!((taper.limit, taper.per), (0.0003, Per::Length));
    assert_eq!(wren.main.run_out.expect("a run-out limit").read_as, RunOutAs::Bend);
    for text in [WREN, TARN, SKELDER] {
        assert!(read_specification("book.toml", text).is_ok());
    }
}

#[test]
fn both_columns_are_kept_as_printed() {
    let book = r#"
        specification = 1
        units = "in"
        throw = { in = 1.7500, mm = 44.45, source = "page 3" }
        confirmed = ["main.out_of_round"]
        fillet = 0.1
        [main]
        size = { in = [2.1245, 2.1250], mm = [53.962, 53.975], source = "book, page 14" }
        taper = { value = 0.0003, per = "length" }
        run_out = { mm = 0.05, read_as = "bend" }
        undersizes = { in = [0.010, 0.020], mm = [0.254, 0.508] }
        [[main.step]]
        undersize = { in = 0.010 }
        size = { mm = { low = 53.708 } }
        source = "page 15"
        [pin]
        size = { low = 1.8745 }
        undersizes = [{ in = 0.010, mm = 0.25 }, "0.5 mm"]
        angles = [0]
    "#;
    let (printed, places) = read_specification("book.toml", book).expect("sound");
    let size = &printed.main.size;
    assert_eq!((size[0].unit, size[1].unit), (Unit::Inch, Unit::Millimetre));
    let low = size[0].low.as_ref().expect("a low limit");
    assert_eq!((low.value, low.decimals), (2.1245, 4));
    let high = size[1].high.as_ref().expect("a high limit");
    assert_eq!((high.value, high.decimals), (53.975, 3));
    let throw = printed.throw.as_ref().expect("a throw");
    assert_eq!((throw.columns[0].1.value, throw.columns[0].1.decimals, throw.columns.len()), (1.75, 4, 2));
    assert_eq!(throw.source.as_deref(), Some("page 3"));
    assert_eq!(printed.main.run_out.as_ref().and_then(|l| l.sense.as_deref()), Some("bend"));
    assert_eq!(printed.main.taper.as_ref().map(|l| l.columns[0].0), Some(Unit::Inch));
    assert_eq!(printed.main.undersizes.len(), 2);
    assert_eq!(printed.main.undersizes[1].columns[1].1.value, 0.508);
    assert!(printed.main.steps[0].size[0].high.is_none());
    assert_eq!(printed.main.fillet, printed.pin.fillet);
    assert!(printed.pin.size[0].high.is_none());
    assert_eq!(
        printed.pin.undersizes[1].columns[0],
        (Unit::Millimetre, crank::PrintedNumber { value: 0.5, decimals: 1 })
    );
    assert_eq!(printed.confirmed, ["main.out_of_round"]);
    assert_eq!(places.line("main.size"), Some(8));
    assert_eq!(places.line("main.step[1].size"), Some(14));
    // A key that is not there is looked for where it belongs.
    assert_eq!(places.line("main.length"), Some(7));
    assert_eq!(places.line("nothing"), None);
}

/// A wear limit is one size, as ever, or a table of what the book says of journals in use.
#[test]
fn wear_limits_are_read_alone_and_as_a_table() {
    let book = |main: &str, above: &str| {
        let text = format!(
            "specification = 1\nunits = \"in\"\nthrow = 1.5\n{above}\n[main]\n{main}\n[pin]\nsize = [1.8745, 1.8750]"
        );
        read_specification("book.toml", &text)
    };
    let value = |limit: &Option<crank::PrintedLimit>| limit.as_ref().map(|limit| limit.columns[0].1.value);
    let (printed, _) = book("wear_limit = 2.1235", "").expect("sound");
    assert_eq!((value(&printed.main.wear_limit), value(&printed.main.wear_taper)), (Some(2.1235), None));
    let (printed, _) = book("wear_limit = { in = 2.1235, mm = 53.937, source = \"page 3\" }", "").expect("sound");
    assert_eq!(printed.main.wear_limit.as_ref().map(|limit| limit.columns.len()), Some(2));

    let table = "wear_limit = { size = { in = 2.1235, mm = 53.937 }, out_of_round = \"0.025 mm\", \
                 taper = { value = 0.0003, per = \"length\", source = \"page 4\" }, source = \"page 3\" }";
    let (printed, places) = book(table, "").expect("sound");
    let main = &printed.main;
    assert_eq!(main.wear_limit.as_ref().map(|limit| limit.columns.len()), Some(2));
    let round = main.wear_out_of_round.as_ref().expect("out of round");
    assert_eq!((round.columns[0].0, round.columns[0].1.value), (Unit::Millimetre, 0.025));
    assert_eq!(round.source.as_deref(), Some("page 3"));
    let taper = main.wear_taper.as_ref().expect("taper");
    assert_eq!((taper.sense.as_deref(), taper.source.as_deref()), (Some("length"), Some("page 4")));
    assert_eq!((main.out_of_round.is_none(), main.taper.is_none()), (true, true));
    // The keys of the check are found in the file.
    for key in ["main.wear_limit", "main.wear_limit.out_of_round", "main.wear_limit.taper"] {
        assert_eq!(places.line(key), Some(6), "{key}");
    }
    // Each is optional; above both sets, form holds for both, a size for the one that it is near.
    let (printed, _) =
        book("size = [2.1245, 2.1250]", "wear_limit = { size = 1.8735, out_of_round = 0.0010 }").expect("sound");
    assert_eq!((value(&printed.main.wear_limit), value(&printed.pin.wear_limit)), (None, Some(1.8735)));
    assert_eq!(
        (value(&printed.main.wear_out_of_round), value(&printed.pin.wear_out_of_round)),
        (Some(0.001), Some(0.001))
    );
    // A slip of the key is named, and so is a column beside the table.
    for slip in ["wear_limit = { size = 2.1235, ovality = 0.001 }", "wear_limit = { in = 2.1235, taper = 0.001 }"] {
        let problems = book(slip, "").expect_err("refused");
        assert_eq!((problems.len(), problems[0].line), (1, Some(6)), "{problems:?}");
    }
    assert!(book("wear_limit = { }", "").is_err());
}

/// The message shows the line to be typed, and where: at the top of the book's own file, or in the sheet's table.
#[test]
fn an_odd_value_says_what_to_type_and_where() {
    let odd = TARN.replacen("out_of_round = 0.0005", "out_of_round = 0.0050", 1);
    let text = PAGE.replace("\"wren.toml\"", "\"odd.toml\"");
    let says = |text: &str, files: &[(&str, &str)]| {
        let problems = read_sheet("s.toml", text, &Beside(files)).expect_err("refused");
        let about = problems.iter().find(|problem| problem.key.ends_with("main.out_of_round"));
        about.unwrap_or_else(|| panic!("{}", common::listed(&problems))).advice.clone()
    };
    let advice = says(&text, &[("odd.toml", &odd)]);
    assert!(advice.contains("write confirmed = [\"main.out_of_round\"] at the top of odd.toml"), "{advice}");
    // Typed there, it is taken.
    let confirmed = format!("confirmed = [\"main.out_of_round\"]\n{odd}");
    let (printed, _) = read_specification("odd.toml", &confirmed).expect("sound");
    assert!(crank::check(&printed).iter().all(|problem| problem.severity == crank::Severity::Query));
    let inside = format!(
        "{}\n[specification]\n{}",
        PAGE.replace("specification = \"wren.toml\"\n", ""),
        odd.replace("\n[", "\n[specification.").replace("[specification.[", "[[specification.")
    );
    let advice = says(&inside, &[]);
    assert!(advice.contains("in the table [specification] of s.toml"), "{advice}");
}

/// A table as the measuring form has it, as spreadsheets save it: the sign that parts the columns told first, capitals, commas in
/// names and numbers, lines that part the sets, empty columns behind, remarks. By hand: six sizes of main 1 and two of big end 1.
#[test]
fn a_table_as_the_form_has_it_is_read() {
    let top = "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreadings = \"a.csv\"\n";
    let semicolons = "\u{feff}sep=;\r\nJournal;Front, across A;Middle, across A;Rear, across A;Front, across B;Middle, across B;\
                      Rear 90°;Remarks;;\r\nMains;;;;;;;;;\r\nMain 1;1,4990;1,4989;1,4990;1,4991;1,4991;1,4992;scored, a little;;\r\n\
                      Main 2;;;;;;;;;\r\nPins;;;;;;;;;\r\nBig end 1;1,2480;;1,2481;;;;;;\r\n";
    let commas = "journal,front A,middle A,rear A,\"Front, across B\",middle B,rear B,remarks\n\
                  main 1,1.4990,1.4989,1.4990,1.4991,1.4991,1.4992,\"scored, a little\"\npin 1,1.2480,,1.2481,,,,\n";
    let tabs = commas.replace("\"Front, across B\"", "front 90").replace("\"scored, a little\"", "").replace(',', "\t");
    let as_rows = "journal,AT,Plane,size\nmain 1,front,0°,1.4990\nmain 1,middle,0,1.4989\nmain 1,rear,0,1.4990\n\
                   main 1,front,90,1.4991\nmain 1,middle,90 °,1.4991\nmain 1,rear,90,1.4992\npin 1,front,0,1.2480\n\
                   pin 1,rear,0,1.2481\n";
    let read = |csv: &str| {
        let sheet = read_sheet("s.toml", top, &Beside(&[("a.csv", csv)])).unwrap_or_else(|faults| panic!("{faults:?}"));
        let key =
            |r: &crank::Reading| format!("{} {:.3} {} {:.4}", r.journal, r.at_mm, r.plane_deg, r.sizes[0].mm / 25.4);
        sheet.findings.readings.iter().map(key).collect::<Vec<_>>()
    };
    let wanted = read(as_rows);
    assert_eq!(wanted.len(), 8);
    for csv in [semicolons, commas, &tabs] {
        assert_eq!(read(csv), wanted, "{csv}");
    }
}

/// Several sizes of one spot stand in one cell, and a column tells the micrometer.
#[test]
fn a_cell_of_the_form_takes_several_sizes() {
    let top = "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreadings = \"a.csv\"\n[[instrument]]\nname = \"mic 1-2\"\n";
    let csv = "journal,middle A,with\nmain 1,1.4990;1.4991,mic 1-2\nmain 2,1.4989,\n";
    let sheet = read_sheet("s.toml", top, &Beside(&[("a.csv", csv)])).unwrap_or_else(|faults| panic!("{faults:?}"));
    let [first, second] = sheet.findings.readings.as_slice() else { panic!("{:?}", sheet.findings.readings) };
    assert_eq!((first.sizes.len(), second.sizes.len()), (2, 1));
    assert_ne!(first.with, second.with);
}

#[test]
fn csv_rows_are_rows_of_the_sheet() {
    let top = "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreadings = \"a.csv\"\nrun_outs = \"b.csv\"\n";
    let text =
        format!("{top}traces = [\"c.csv\", \"d.csv\"]\n[[instrument]]\nname = \"mic 1-2\"\nrepeatability = 0.0001\n");
    let files = [
        ("a.csv", "# bench\nplane,journal,at,size,with\n0,main 1,front,1.4990,\n90,main 1,0.1,1.4990;1.4991,mic 1-2\n"),
        ("b.csv", "\u{feff}journal;total;high\nmain 2;0,0010;45\n"),
        ("c.csv", "journal,at,size,departures,angles\npin 1,rear,1.2480,0.0001 0 -0.0001,0;90;200\n"),
        (
            "d.csv",
            "journal,at,size,angle,departure,with\npin 1,front,1.2480,0,0.0001,mic 1-2\npin 1,front,1.2480,120,0,mic 1-2\n\
             pin 1,front,1.2480,240,0,mic 1-2\nmain 1,front,1.4990,0,0,\nmain 1,front,1.4990,90,0,\nmain 1,front,1.4990,180,0,\n",
        ),
    ];
    let sheet = read_sheet("s.toml", &text, &Beside(&files)).unwrap_or_else(|p| panic!("{}", common::listed(&p)));
    let findings = sheet.findings;
    assert_eq!(findings.readings.len(), 2);
    assert_eq!(findings.readings[0].sizes[0].typed, "1.4990");
    assert_eq!((findings.readings[0].with, findings.readings[1].with), (0, 1));
    assert_eq!(findings.readings[1].sizes.len(), 2);
    assert!((findings.run_outs[0].total_mm - 0.0254).abs() < 1e-15);
    assert_eq!(findings.traces.len(), 3);
    assert_eq!(findings.traces[0].angles_deg, [0.0, 90.0, 200.0]);
    assert_eq!(findings.traces[1].angles_deg, [0.0, 120.0, 240.0]);
    assert!((findings.traces[1].departure_sd_mm - 0.00254).abs() < 1e-15);
    assert_eq!(findings.traces[2].journal, main(1));
}

#[test]
fn extensions_are_read() {
    let page = format!(
        "{PAGE}{}",
        r#"
        [policy]
        polish = "after treatment"
        build_up = true
        within_at = 0.9
        outside_at = 0.1
        [prices.main]
        pass = 90
        shells = 45
        scrap = 260
        [prices.pin]
        pass = 120
        shells = [38, 38, 42, 55, 60]
        life = 15.5
        scrap = 260
        [[instrument]]
        name = "metric"
        units = "mm"
        graduation = 0.01
        temperature = 18
        part_temperature = 24.5
        [[worn]]
        journal = "pin 1"
        how = "one-sided"
        [[damage]]
        journal = "pin 1"
        kind = "crack"
        [[damage]]
        journal = "main 1"
        kind = "rust"
        depth = [0.001, 0.003]
        at = "rear"
        from = 0
        to = 360
        [[damage]]
        journal = "main 1"
        kind = "rust"
        depth = 0.001
        from = -10
        to = 20
        [[trace]]
        journal = "pin 1"
        at = "middle"
        size = 1.2480
        departures = [0, 0, 0]
        with = "metric"
        [[trace]]
        journal = "pin 1"
        at = "middle"
        size = 1.2480
        departures = [0, 0, 0]
        size_with = "metric"
        "#
    );
    let sheet = sound(&page);
    assert_eq!(sheet.policy.polish, PolishWhen::AfterTreatment);
    assert!(sheet.policy.build_up);
    let prices = sheet.policy.prices.expect("prices");
    assert_eq!((prices.main.shells.len(), prices.main.life), (1, 0.0));
    assert_eq!((prices.pin.shells.len(), prices.pin.life), (5, 15.5));
    let metric = &sheet.findings.instruments[1];
    assert_eq!((metric.graduation_mm, metric.error_limit_mm), (0.01, 0.004));
    assert_eq!((metric.temperature_c, metric.part_temperature_c), (Some(18.0), Some(24.5)));
    assert_eq!(sheet.findings.worn[0].share, 1.0);
    assert!(sheet.findings.damages[0].is_crack());
    assert_eq!(sheet.findings.damages[1].arc_deg, None);
    assert!((sheet.findings.damages[1].depth.likeliest_mm - 0.0508).abs() < 1e-15);
    assert_eq!(sheet.findings.damages[2].arc_deg, Some((350.0, 20.0)));
    let traces = &sheet.findings.traces;
    assert_eq!((traces[0].with, traces[0].departure_sd_mm), (1, 0.001));
    assert_eq!((traces[1].with, traces[1].departure_sd_mm), (1, 0.00127));
}

/// Every example in the user's page is a sheet, a specification, or rows that can follow the first one.
#[test]
fn the_examples_of_the_users_page_are_read() {
    let page = include_str!("../../../docs/sheet.md");
    let blocks: Vec<&str> =
        page.split("```toml\n").skip(1).map(|rest| rest.split("```").next().unwrap_or_default()).collect();
    assert!(blocks.len() >= 12, "only {} examples", blocks.len());
    let first = blocks[0];
    for block in &blocks {
        if block.starts_with("specification") {
            let (printed, _) = read_specification("book.toml", block)
                .unwrap_or_else(|problems| panic!("{}\n{block}", common::listed(&problems)));
            assert_eq!(crank::check(&printed), [], "{block}");
        } else if block.starts_with("sheet") {
            sound(block);
        } else {
            // Readings stand in one list or under headings, not both.
            let top = if block.starts_with("[[reading]]") { first.split("reading = [").next() } else { Some(first) };
            sound(&format!("{}\n{block}", top.unwrap_or_default()));
        }
    }
    // Of the JSON on the page, what an answer holds is not a document.
    let mut json = page.split("```json\n").skip(1).filter_map(|rest| rest.split("```").next());
    let json = json.find(|block| block.contains("\"sheet\"")).expect("a JSON example");
    sound(json);
    let csv = page.split("```csv\n").nth(1).and_then(|rest| rest.split("```").next()).expect("a CSV example");
    let sheet = "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreadings = \"bench.csv\"\n";
    let sheet = format!("{sheet}[[instrument]]\nname = \"mic 1-2\"\n");
    assert_eq!(read_sheet("s.toml", &sheet, &Beside(&[("bench.csv", csv)])).expect("sound").findings.readings.len(), 2);
}

#[test]
fn a_minimal_sheet_takes_the_usual_policy_and_instrument() {
    let sheet = read(PAGE).expect("sound");
    assert_eq!(sheet.policy, Policy::usual(Unit::Inch));
    let usual = &sheet.findings.instruments[0];
    assert_eq!((usual.graduation_mm, usual.error_limit_mm, usual.repeatability_mm), (0.00254, 0.00254, 0.00127));
    assert!(sheet.findings.readings.iter().all(|reading| reading.with == 0));
}

#[test]
fn bearings_are_read_as_they_were_measured() {
    let text = include_str!("../../tenunder/library/tarn-four-bearings.toml");
    let sheet = sound(text);
    let found = &sheet.bearings;
    assert_eq!((found.bores.len(), found.shells.len(), found.crush.len(), found.sides.len()), (19, 18, 1, 4));
    assert_eq!(found.shells[0].name, "M upper A 1");
    assert_eq!(found.shells[9].half, fit::Half::Lower);
    assert_eq!((found.bores[0].plane_deg, found.bores[2].plane_deg), (90.0, 0.0));
    let thrust = found.thrust.as_ref().expect("a thrust bearing");
    assert!((thrust.float_mm.expect("by the dial") - 0.0140 * 25.4).abs() < 1e-12);
    assert_eq!(sheet.bearing_book.main.material, Some(fit::Material::Aluminium));
    assert_eq!(sheet.costs.items.len(), 2);
    // What the bearings ask for stands in the specification, where the plan looks for it.
    let aim = sheet.specification.main.aims[0];
    assert!((aim.undersize_mm - 0.254).abs() < 1e-9);
    assert!((sheet.specification.main.aim(0.254).target_mm / 25.4 - 2.114_875).abs() < 1e-9);
    // Brought into one document, it is read the same.
    let whole = sheet::whole_sheet("w-17.toml", text, &Beside(&[])).expect("whole");
    let again = sound(&whole);
    assert_eq!(again.bearings, sheet.bearings);
    assert_eq!(again.specification, sheet.specification);
}

#[test]
fn what_the_shop_wants_of_its_bearings_is_read() {
    let wanted = "[wanted]\nmain = 0.0021\nrunning = 80\n";
    let sheet = sound(&format!("{PAGE}{wanted}"));
    assert!((sheet.wanted.main_mm.expect("stated") - 0.0021 * 25.4).abs() < 1e-12);
    assert_eq!((sheet.wanted.pin_mm, sheet.wanted.running_c), (None, 80.0));
}
