//! What is said about sheets that are wrong. People read these texts, so they are kept word for word.

mod common;

use common::{PAGE, WREN, page_with, refused, refused_beside};
use insta::assert_snapshot;

/// The page with something added at its end.
fn page_and(more: &str) -> String {
    format!("{PAGE}{more}")
}

#[test]
fn a_wrong_version() {
    assert_snapshot!(refused(&page_with(&[("sheet = 1", "sheet = 2")])), @"w-17.toml:1: sheet: found 2, expected version 1; this is another version of the format; write it anew, or use the program that belongs to it");
    assert_snapshot!(refused(&page_with(&[("sheet = 1\n", "")])), @"w-17.toml:1: sheet: found nothing, expected 1; add sheet = 1 at the top");
}

#[test]
fn an_unknown_key() {
    let page = page_with(&[("mark =", "marks ="), ("at = \"rear\"", "at = \"rear\", colour = \"blue\"")]);
    assert_snapshot!(refused(&(page + "[policy]\nconfidense = 0.9\n[spindle]\nspeed = 1\n")), @r#"
    w-17.toml:2: marks: found an unknown key "marks", expected one of the keys of this table; did you mean mark? Otherwise take it out
    w-17.toml:8: reading[3].colour: found an unknown key "colour", expected journal, at, plane, size, with; take it out, or see docs/sheet.md for the keys there are
    w-17.toml:11: policy.confidense: found an unknown key "confidense", expected one of the keys of this table; did you mean confidence? Otherwise take it out
    w-17.toml:12: spindle: found an unknown key "spindle", expected one of the keys of this table; take it out, or see docs/sheet.md for the keys there are
    "#);
}

#[test]
fn a_missing_unit() {
    assert_snapshot!(refused(&page_with(&[("units = \"in\"\n", "")])), @r#"w-17.toml:1: units: found nothing, expected "in" or "mm"; add units = "in" or units = "mm"; it is the unit of every length in the file"#);
    assert_snapshot!(refused(&page_with(&[("units = \"in\"\n", "units = \"inch\"\n")])), @r#"w-17.toml:4: units: found "inch", expected "in" or "mm"; write "in" for inches or "mm" for millimetres"#);
}

#[test]
fn numbers_that_are_none() {
    let page =
        page_with(&[("1.4991", "nan"), ("1.4990", "-inf"), ("plane = 90, size = 1.2480", "plane = nan, size = 1e300")]);
    assert_snapshot!(refused(&page), @r"
    w-17.toml:6: reading[1].size: found nan, expected a length in inches; write what was measured, or take the row out
    w-17.toml:7: reading[2].size: found -inf, expected a length in inches; write what was measured, or take the row out
    w-17.toml:8: reading[3].plane: found nan, expected a direction in degrees; replace it with a number, or take the row out
    w-17.toml:8: reading[3].size: found 1e300, expected a length in inches; write what was measured, or take the row out
    ");
}

#[test]
fn no_readings() {
    assert_snapshot!(refused(&page_with(&[("1.4991", "[]")])), @"w-17.toml:6: reading[1].size: found an empty list, expected one size or a list of sizes; fill the list or take the key out");
    let (top, _) = PAGE.split_once("reading").expect("the page has readings");
    assert_snapshot!(refused(top), @"w-17.toml:1: reading: found nothing, expected readings or traces, at least one; add [[reading]] rows: journal, at, plane and size");
    assert_snapshot!(refused(""), @"w-17.toml:1: found an empty file, expected a document; begin with sheet = 1, or with specification = 1 for a book's figures; docs/sheet.md has both to copy");
}

#[test]
fn a_journal_that_does_not_exist() {
    let page = page_with(&[
        ("wren.toml", "tarn-four.toml"),
        ("pin 1", "pin 9"),
        ("\"main 1\", at = \"middle\", plane = 0", "\"small end 2\", at = \"middle\", plane = 0"),
    ]);
    assert_snapshot!(refused(&page), @r#"
    w-17.toml:6: reading[1].journal: found "small end 2", expected main 1 to main 5 or pin 1 to pin 4; count the journals from the nose and write "main 1" or "pin 1"
    w-17.toml:8: reading[3].journal: found "pin 9", expected pin 1 to pin 4; this specification has pins 1 to 4, counted from the nose
    "#);
    assert_snapshot!(refused(&page_with(&[("\"pin 1\"", "1")])), @r#"w-17.toml:8: reading[3].journal: found 1, expected main 1 to main 2 or pin 1; write it in quotes, as "main 1""#);
}

#[test]
fn ten_thousand_readings() {
    let row = "    { journal = \"main 1\", at = \"middle\", plane = 0, size = 1.4991 },\n";
    assert_snapshot!(refused(&page_with(&[("reading = [\n", &format!("reading = [\n{}", row.repeat(9_997)))])), @"w-17.toml:5: reading: found 10000 readings, expected at most 5000; for a journal swept all round use [[trace]], one list of departures for each place");
    let repeats = format!("[{}]", "1.4991, ".repeat(9_998));
    assert_snapshot!(refused(&page_with(&[("1.4991", &repeats)])), @"w-17.toml:5: reading: found 10000 readings, expected at most 5000; for a journal swept all round use [[trace]], one list of departures for each place");
}

#[test]
fn readings_in_the_other_unit() {
    assert_snapshot!(refused(&page_with(&[("1.4991", "38.077"), ("1.4990", "38.075"), ("1.2480", "31.699")])), @r#"w-17.toml:4: units: found "in", but all 3 sizes look like millimetres, expected "mm", the unit of the sizes; write units = "mm", or give the sizes in inches (the first: line 6, main 1, 38.077, where the book says 1.4995 in)"#);
    assert_snapshot!(refused(&page_with(&[("units = \"in\"", "units = \"mm\"")])), @r#"w-17.toml:4: units: found "mm", but all 3 sizes look like inches, expected "in", the unit of the sizes; write units = "in", or give the sizes in millimetres (the first: line 6, main 1, 1.4991, where the book says 38.087 mm)"#);
    assert_snapshot!(refused(&page_with(&[("1.4990", "38.075")])), @r#"w-17.toml:7: reading[2].size: found 38.075, expected a size near main 1's 1.4995 in; was it typed in millimetres? Then write "38.075 mm""#);
}

#[test]
fn sizes_that_cannot_be() {
    assert_snapshot!(refused(&page_with(&[("1.4991", "14.991"), ("1.4990", "0"), ("1.2480", "-1.2480")])), @r"
    w-17.toml:6: reading[1].size: found 14.991, expected a size near main 1's 1.4995 in; it is ten times out, or a hundred; look at the point
    w-17.toml:7: reading[2].size: found 0, expected a size near main 1's 1.4995 in; look at the figures, and at the journal it belongs to
    w-17.toml:8: reading[3].size: found -1.2480, expected a size near pin 1's 1.2495 in; look at the figures, and at the journal it belongs to
    ");
}

#[test]
fn a_table_of_spots_with_a_column_that_nobody_knows() {
    let page = "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreadings = \"bench.csv\"\n";
    let bench = "Bearing;front A;front, across A;Worn inner\nmain 1;1,4990;1,4990;yes\n";
    assert_snapshot!(refused_beside(page, &[("bench.csv", bench)]), @r#"
    bench.csv:1: journal: found no column journal among: bearing, front a, front, across a, …, expected a column journal; name the column of the journals journal
    bench.csv:1: bearing: found an unknown column "bearing", expected journal, with, remarks, or a spot: front A, middle B, rear 45; take it out, or name it remarks
    bench.csv:1: front, across a: found the spot a second time, expected each spot once; several sizes of one spot stand in one cell, parted by semicolons
    bench.csv:1: worn inner: found an unknown column "worn inner", expected journal, with, remarks, or a spot: front A, middle B, rear 45; take it out, or name it remarks
    "#);
    // A row that ends early may have lost something; empty cells behind are nothing.
    let short = "journal,front A,rear A,,\nmain 1,1.4990\nmain 2,1.4990,,,,,\npin 1,1.2480,1.2480,,,1.2480\n";
    assert_snapshot!(refused_beside(page, &[("bench.csv", short)]), @"
    bench.csv:2: found 2 cells, expected 3, as in the heading; complete the row; put a cell with a comma in it in quotes
    bench.csv:4: found 6 cells, expected 3, as in the heading; complete the row; put a cell with a comma in it in quotes
    ");
}

#[test]
fn a_csv_file_with_a_missing_column() {
    let page =
        "sheet = 1\nspecification = \"wren.toml\"\nunits = \"in\"\nreadings = \"bench.csv\"\nrun_outs = \"dial.csv\"\n";
    let bench = "journal,at,plain,size\nmain 1,front,0,1.4991\n";
    assert_snapshot!(refused_beside(page, &[("bench.csv", bench)]), @r#"
    bench.csv:1: plane: found no column plane among: journal, at, plain, size, expected a column plane; add the column plane
    bench.csv:1: plain: found an unknown column "plain", expected journal, at, plane, size, with; did you mean plane? Otherwise take it out
    w-17.toml:5: run_outs: found "dial.csv", expected a file that can be read; there is no such file beside the sheet
    "#);
    let bench = "journal,at,plane,size\nmain 1,front,0,1.4991\nmain 9,front,,1,4991\nmain 1,up,x,\n";
    assert_snapshot!(refused_beside(page, &[("bench.csv", bench), ("dial.csv", "\n# nothing\n")]), @r#"
    bench.csv:3: found 5 cells, expected 4, as in the heading; complete the row; put a cell with a comma in it in quotes
    bench.csv:4: at: found "up", expected "front", "middle", "rear", or a distance from mid-length; front is towards the nose, rear towards the flywheel
    bench.csv:4: plane: found "x", expected a direction in degrees; write the number without quotes
    bench.csv:4: size: found nothing, expected what the micrometer showed; add size = 2.1236
    dial.csv:1: found no heading, expected a row of column names; put the names of the columns into the first row
    "#);
}

#[test]
fn a_file_too_large_or_no_text() {
    let large = "# ".repeat(25_000_000);
    assert_snapshot!(refused(&large), @"w-17.toml: found 50.0 MB, expected at most 8 MB; check that this is the right file; a crankshaft takes a few kilobytes");
    assert_snapshot!(refused("sheet = 1\n\u{7f}ELF\0\0"), @"w-17.toml:2: found the control character U+007F, expected text; this is not a text file, or it was damaged; export it again as plain text (UTF-8)");
    assert_snapshot!(refused("PK rubbish \u{fffd}\u{fffd}"), @r#"w-17.toml:1: found "PK rubbish ��" (key with no value), expected '='; write key = value, or [table], or [[row]]"#);
}

#[test]
fn lines_that_are_not_toml() {
    let page = page_with(&[("mark = \"W-17\"", "mark = W-17\nmark = \"W-17\""), ("size = 1.4991", "size = 1,4991")]);
    assert_snapshot!(refused(&(page + "[policy]\nset_up_error = .0003\npolish_stock = 1/4\ndraws = \n")), @r#"
    w-17.toml:2: mark: found "mark = W-17" (string values must be quoted), expected a value; put words in double quotes; a key needs a value
    w-17.toml:3: mark: found the key a second time, expected each key once; keep one of them; a second row of a table starts with its own [[…]] heading
    w-17.toml:7: found "{ journal = "main 1", at = "middle", plane = 0, size = 1,49…, expected a number such as 1.8745; use a point, or put a number with a comma in quotes: "1,8745"
    w-17.toml:12: set_up_error: found "set_up_error = .0003" (invalid mantissa), expected a number such as 1.8745; write 0 before the point; put a fraction in quotes: set_up_error = ".0003"
    w-17.toml:13: polish_stock: found "polish_stock = 1/4" (string values must be quoted), expected a number such as 1.8745; write 0 before the point; put a fraction in quotes: polish_stock = "1/4"
    w-17.toml:14: draws: found "draws =" (string values must be quoted), expected a value; put words in double quotes; a key needs a value
    "#);
    assert_snapshot!(refused(&page_and("[[reading]]\njournal = \"main 1\"\n")), @"w-17.toml:10: [[reading]]: found the key a second time, expected each key once; put the row into the list that already has this name, or begin every row with such a heading");
    assert_snapshot!(refused("{ \"sheet\": 1,\n\"units\": \"in\", }"), @"w-17.toml:2: found JSON that is not well formed at column 16, expected well-formed JSON; put it right there (key must be a string), or write the sheet as TOML");
    assert_snapshot!(refused("{ \"sheet\": 1, \"sheet\": 1,\n\"units\": null, \"reading\": 7 }"), @r#"
    w-17.toml:1: sheet: found the key a second time, expected each key once; keep one of them
    w-17.toml:2: units: found null, expected "in" or "mm"; write "in" for inches or "mm" for millimetres
    w-17.toml:2: reading: found 7, expected rows; begin each row with [[reading]]
    "#);
}

#[test]
fn an_instrument_that_is_not_there() {
    let page = page_with(&[("1.4991", "1.4991, with = \"mic 1-3\""), ("1.4990", "1.4990, with = \"\"")]);
    assert_snapshot!(refused(&(page.clone() + "[[instrument]]\nname = \"mic 1-2\"\nrange = [2, 1]\ngraduation = 0\nrepeatability = -1\npart_temperature = 293\n[[instrument]]\nname = \"mic 1-2\"\n[[instrument]]\nunits = \"thou\"\n")), @r#"
    w-17.toml:6: reading[1].with: found "mic 1-3", expected "mic 1-2"; add the [[instrument]], or leave with out for the shop's usual one
    w-17.toml:7: reading[2].with: found "", expected some words; fill it in or take the key out
    w-17.toml:12: instrument[1].range: found a list of 2, expected the smallest and the largest size it measures; write it as [1.0, 2.0]
    w-17.toml:13: instrument[1].graduation: found 0, expected a length above zero, at most 0.1 in; write the value of its smallest division
    w-17.toml:14: instrument[1].repeatability: found -1, expected a small length, from 0 to below 0.1 in; write it in inches, without a sign
    w-17.toml:15: instrument[1].part_temperature: found 293, expected degrees Celsius from -30 to 90; write it in degrees Celsius
    w-17.toml:17: instrument[2].name: found "mic 1-2", expected a name that no other instrument has; give each instrument its own name
    w-17.toml:18: instrument[3].name: found nothing, expected the shop's name for it; add name = "mic 2-3"
    w-17.toml:19: instrument[3].units: found "thou", expected "in" or "mm"; write "in" for inches or "mm" for millimetres
    "#);
    assert_snapshot!(refused(&page), @r#"
    w-17.toml:6: reading[1].with: found "mic 1-3", expected the name of an [[instrument]] of this sheet; add the [[instrument]], or leave with out for the shop's usual one
    w-17.toml:7: reading[2].with: found "", expected some words; fill it in or take the key out
    "#);
}

#[test]
fn places_and_directions() {
    let page = page_with(&[
        ("at = \"middle\", plane = 0", "at = \"top\", plane = \"0\""),
        ("at = \"rear\"", "at = 1.4"),
        ("at = \"middle\", plane = 90, ", ""),
    ]);
    assert_snapshot!(refused(&page), @r#"
    w-17.toml:6: reading[1].at: found "top", expected "front", "middle", "rear", or a distance from mid-length; front is towards the nose, rear towards the flywheel
    w-17.toml:6: reading[1].plane: found "0", expected a direction in degrees; write the number without quotes
    w-17.toml:7: reading[2].at: found nothing, expected front, middle, rear, or a distance from mid-length; add at = "middle"
    w-17.toml:7: reading[2].plane: found nothing, expected the direction across, in degrees from the throw; add plane = 0
    w-17.toml:8: reading[3].at: found 1.4, expected a distance from mid-length of at most 0.7000 in, half the journal; measure from the middle of the journal, not from its end
    "#);
}

#[test]
fn a_policy_out_of_range() {
    let policy = r#"[policy]
confidence = 90
clean_up_stock = 0.5
axis = "fre"
index_datum = 1
set_up_error = -0.0003
draws = 0
seed = -1
within_at = 0.04
outside_at = 0.05
polish = "after"
build_up = "yes"
[prices.main]
pass = -1
shells = [1, 2]
"#;
    assert_snapshot!(refused(&page_and(policy)), @r#"
    w-17.toml:10: policy.outside_at: found outside_at 0.05 and within_at 0.04, expected outside_at below within_at; swap the two
    w-17.toml:11: policy.confidence: found 90, expected a chance between 0 and 1; write nine in ten as 0.9
    w-17.toml:12: policy.clean_up_stock: found 0.5, expected 0 or more, below 0.1 in; look at the point; a bare number is in inches
    w-17.toml:13: policy.axis: found "fre", expected "held" or "throws" or "free"; did you mean "free"?
    w-17.toml:14: policy.index_datum: found 1, expected "fixed" or "free"; write one of these
    w-17.toml:15: policy.set_up_error: found -0.0003, expected 0 or more, below 0.1 in; look at the point; a bare number is in inches
    w-17.toml:16: policy.draws: found 0, expected a whole number from 1 to 10000000; write a number within these bounds
    w-17.toml:17: policy.seed: found -1, expected a whole number from 0 up; write a number within these bounds
    w-17.toml:20: policy.polish: found "after", expected "before treatment" or "after treatment"; write one of these
    w-17.toml:21: policy.build_up: found "yes", expected true or false; write it without quotes
    w-17.toml:22: prices.main.scrap: found nothing, expected what is lost when no undersize cleans up; add scrap = 250
    w-17.toml:22: prices.pin: found nothing, expected the prices of the set; add [prices.pin] with pass, shells and scrap
    w-17.toml:23: prices.main.pass: found -1, expected a price of 0 or more; write it without a currency sign
    w-17.toml:24: prices.main.shells: found a list of 2, expected 5 prices, one for each undersize; list one price for each undersize, or write one number for all
    "#);
}

#[test]
fn traces_that_do_not_hang_together() {
    let traces = r#"[[trace]]
journal = "pin 1"
at = "front"
size = 1.2480
departures = [0.0, 0.0001, 0.0002]
angles = [0, 90]
[[trace]]
journal = "pin 1"
at = "front"
size = 31.7
departures = [0.0, 0.0001]
[[trace]]
journal = "pin 1"
at = "front"
size = 1.2480
departures = [1, 0, nan]
[[trace]]
journal = "pin 1"
at = "front"
size = 1.2480
start = 30
departures = [0, 0, 0]
angles = [0, 90, 180]
"#;
    assert_snapshot!(refused(&page_and(traces)), @r#"
    w-17.toml:15: trace[1].angles: found a list of 2, expected 3 directions, one for each departure; complete the list, or leave it out if they are equally spaced
    w-17.toml:19: trace[2].size: found 31.7, expected a size near pin 1's 1.2495 in; was it typed in millimetres? Then write "31.7 mm"
    w-17.toml:20: trace[2].departures: found a list of 2, expected a list of three departures or more; sweep the whole journal, or give diameters as [[reading]]
    w-17.toml:25: trace[3].departures[1]: found 1, expected small departures from the mean radius, in inches; look at the point; a thou is 0.001
    w-17.toml:25: trace[3].departures[3]: found nan, expected a length in inches; write what was measured, or take the row out
    w-17.toml:30: trace[4].start: found 30, expected angles or start, not both; angles count from the throw as they stand; take start out
    "#);
}

#[test]
fn run_outs_centres_damage_and_wear() {
    let rows = r#"[[run_out]]
journal = "pin 1"
total = 0.001
high = 0
[[run_out]]
journal = "main 1"
total = -0.001
high = 0
[[run_out]]
journal = "main 1"
total = 0.001
[[centre]]
journal = "main 1"
throw = 0.001
[[centre]]
journal = "pin 1"
[[centre]]
journal = "pin 1"
throw = 1.7510
[[damage]]
journal = "pin 1"
kind = ""
depth = -0.001
[[damage]]
journal = "pin 1"
kind = "crak"
depth = [0.004, 0.003, 0.002]
from = 10
[[damage]]
journal = "pin 1"
kind = "scoring"
[[worn]]
journal = "pin 1"
share = 0.2
[[worn]]
journal = "pin 1"
share = "oval"
how = "even"
"#;
    assert_snapshot!(refused(&page_and(rows)), @r#"
    w-17.toml:10: run_out[1].journal: found pin 1, expected a main; a run-out is taken on the present main axis; give a pin's error as [[centre]]
    w-17.toml:16: run_out[2].total: found -0.001, expected a small length from 0, in inches; it is the highest reading less the lowest, in inches
    w-17.toml:18: run_out[3].journal: found main 1 a second time, expected one row for each journal; keep the right one
    w-17.toml:18: run_out[3].high: found nothing, expected the direction of the high spot in degrees; add high = 90
    w-17.toml:21: centre[1].journal: found main 1, expected a pin; give a main's error as [[run_out]]
    w-17.toml:24: centre[2].throw: found nothing, expected the error of the centre; add throw = …, index = … or both
    w-17.toml:26: centre[3].journal: found pin 1 a second time, expected one row for each journal; keep the right one
    w-17.toml:28: centre[3].throw: found 1.7510, expected a small error of the throw, below 0.1 in; write only the error: measured throw less the book's
    w-17.toml:31: damage[1].kind: found "", expected some words; fill it in or take the key out
    w-17.toml:32: damage[1].depth: found -0.001, expected a small depth from 0, in inches; it is measured from the surface down, without a sign
    w-17.toml:33: damage[2].to: found nothing, expected a direction in degrees; give both directions, or neither where it goes all round
    w-17.toml:35: damage[2].kind: found "crak", expected one of scoring, ridges, pitting, rust, heat, pick-up, crack, other; did you mean "crack"?
    w-17.toml:36: damage[2].depth: found [0.004, 0.003, 0.002], expected lowest, likeliest, highest; write the lowest first and the highest last
    w-17.toml:38: damage[3].depth: found nothing, expected how deep it is; add depth = [lowest, likeliest, highest], or one number
    w-17.toml:43: worn[1].share: found 0.2, expected a share from 0.5 (even) to 1 (all on one side); it is the share of the loss on the diameter that the worse side has lost
    w-17.toml:44: worn[2].journal: found pin 1 a second time, expected one row for each journal; keep the right one
    w-17.toml:46: worn[2].share: found "oval", expected "even" or "one-sided"; write one of these
    w-17.toml:47: worn[2].how: found "even", expected share or how, not both; keep one of them
    "#);
}

#[test]
fn a_specification_that_is_not_there_or_wrong() {
    assert_snapshot!(refused(&page_with(&[("wren.toml", "wrenn.toml")])), @r#"w-17.toml:3: specification: found "wrenn.toml", expected a specification that can be read; there is no such file beside the sheet"#);
    let book = WREN
        .replace("specification = 1", "specification = 3")
        .replace("out_of_round", "out_of_rond")
        .replace("[1.4985, 1.4995]", "1.4995")
        .replace("angles       = [0]", "angles = [\"0\"]");
    assert_snapshot!(refused_beside(&page_with(&[("wren.toml", "book.toml")]), &[("book.toml", &book)]), @r#"
    book.toml:7: specification: found 3, expected version 1; this is another version of the format; write it anew, or use the program that belongs to it
    book.toml:18: main.size: found 1.4995, expected a low and a high limit; write it as [low, high]
    book.toml:21: main.out_of_rond: found an unknown key "out_of_rond", expected one of the keys of this table; did you mean out_of_round? Otherwise take it out
    book.toml:29: pin.angles[1]: found "0", expected degrees; write the number without quotes
    book.toml:35: pin.out_of_rond: found an unknown key "out_of_rond", expected one of the keys of this table; did you mean out_of_round? Otherwise take it out
    "#);
    let book = WREN.replace("[1.4985, 1.4995]", "[1.4995, 1.4985]").replace("positions    = [2.75]\n", "");
    assert_snapshot!(refused_beside(&page_with(&[("wren.toml", "book.toml")]), &[("book.toml", &book)]), @r"
    book.toml:18: main.size: found 1.4995 in to 1.4985 in, expected the low limit first, not above the high one; the two limits are probably swapped; compare it with the book
    book.toml:27: pin.positions: found nothing, expected the mid-length of each journal along the axis; add it from the book
    ");
    let book = WREN.replace("count        = 2", "count = 101");
    assert_snapshot!(refused_beside(&page_with(&[("wren.toml", "book.toml")]), &[("book.toml", &book)]), @"book.toml:15: main.count: found 101, expected a whole number from 1 to 100; write a number within these bounds");
}

#[test]
fn a_fault_in_a_specification_within_the_sheet_is_placed_in_the_sheet() {
    let page = page_with(&[("specification = \"wren.toml\"\n", "")]);
    let book = WREN
        .replace("specification = 1", "[specification]\nspecification = 1")
        .replace("[main]", "[specification.main]")
        .replace("[pin]", "[specification.pin]")
        .replace("[treatment]", "[specification.treatment]")
        .replace("[1.4985, 1.4995]", "[1.4995, 1.4985]");
    assert_snapshot!(refused(&(page + &book)), @"w-17.toml:27: specification.main.size: found 1.4995 in to 1.4985 in, expected the low limit first, not above the high one; the two limits are probably swapped; compare it with the book");
}

#[test]
fn more_problems_than_anybody_reads() {
    let many: String = (0..300).map(|n| format!("zz{n} = 1\n")).collect();
    let said = refused(&format!("{many}{PAGE}"));
    assert_eq!(said.lines().count(), 201);
    assert_snapshot!(said.lines().last().unwrap_or_default(), @"w-17.toml: found 100 more problems, expected none; put the ones above right first, then try again");
}

/// One slip of the pen does not hide a printed fault, and what is missing because of it is not complained of too.
#[test]
fn a_slip_of_form_does_not_hide_a_printed_fault() {
    let book = include_str!("../../tenunder/library/tarn-four.toml");
    let faulty = format!("hue = 3\n{}", book.replace("[2.1245, 2.1250]", "[2.1250, 2.1245]"));
    let problems = sheet::read_specification("book.toml", &faulty).unwrap_err();
    let keys: Vec<&str> = problems.iter().map(|problem| problem.key.as_str()).collect();
    assert!(keys.contains(&"hue") && keys.contains(&"main.size"), "{keys:?}");
    assert!(problems.iter().all(|problem| problem.found != "nothing"), "{problems:?}");
}

/// Every fault of the rows about bearings at once, each with its line.
#[test]
fn bearings_that_cannot_be() {
    let page =
        page_with(&[("wren.toml", "tarn-four.toml"), ("1.4991", "2.1243"), ("1.4990", "2.1243"), ("1.2480", "1.8740")]);
    let more = r#"
[[housing]]
journal = "main 1"
plane = "sideways"
size = 2.0708
[[housing]]
journal = "main 9"
plane = 90
size = 2.2708
shells = "in"
[[housing]]
journal = "pin 1"
plane = "across"
size = 20.008
undersize = 0.010
[[shell]]
set = "pin"
journal = "main 2"
wall = 0.0767
[[shell]]
undersize = 10
wall = 0.767
half = "top"
[[shell]]
set = "main"
wall = -0.0767
cuont = 3
[[bearing]]
journal = "main 3"
width = 1.1
[[bearing]]
journal = "pin 1"
[[thrust]]
journal = "pin 2"
front_oversize = 5
[wanted]
main = 0
running = 900
[prices]
washer = -1
[[prices.item]]
what = "crack test"
"#;
    assert_snapshot!(refused(&(page + more)), @r#"
    w-17.toml:13: housing[1].plane: found "sideways", expected "across" or "along"; write one of these
    w-17.toml:14: housing[1].size: found 2.0708, expected a bore that its journal runs in; look at the point, at the unit, and at the journal it belongs to
    w-17.toml:15: housing[2].undersize: found nothing, expected the undersize of the shells in it; add undersize = 0.010, or 0 for standard
    w-17.toml:16: housing[2].journal: found "main 9", expected main 1 to main 5; this specification has mains 1 to 5, counted from the nose
    w-17.toml:23: housing[3].size: found 20.008, expected a bore that its journal runs in; look at the point, at the unit, and at the journal it belongs to
    w-17.toml:24: housing[3].undersize: found 0.010, expected no undersize, for no shells were in; take it out, or write shells = "in"
    w-17.toml:26: shell[1].set: found "pin", expected "main", as the journal; take set out
    w-17.toml:29: shell[2].journal: found nothing, expected main or pin and its number; add journal = "main 1"
    w-17.toml:30: shell[2].undersize: found 10, expected an undersize on the diameter, from 0; write what is marked, as 0.010 or "0.25 mm"; leave it out where nothing is
    w-17.toml:32: shell[2].half: found "top", expected "upper" or "lower" or "either"; write one of these
    w-17.toml:35: shell[3].wall: found -0.0767, expected the thickness of one shell at its crown; look at the point and at the unit; it is one wall, not two
    w-17.toml:36: shell[3].cuont: found an unknown key "cuont", expected set, journal, name, half, undersize, wall, with, count; did you mean count? Otherwise take it out
    w-17.toml:37: bearing[1].rods: found nothing, expected a width; side clearance is the width between the cheeks less every rod on the pin: give both
    w-17.toml:39: bearing[1].width: found 1.1, expected a pin's width; a main's belongs into [[thrust]], as width
    w-17.toml:40: bearing[2].crush: found nothing, expected something that was measured; add crush = 0.0035, or width and rods
    w-17.toml:42: thrust[1].journal: found pin 2, expected a main; name the main that locates the crank endways
    w-17.toml:44: thrust[1].front_oversize: found 5, expected an oversize of a thrust washer, 0 for standard, from 0 to below 0.1 in; look at the point; a bare number is in inches
    w-17.toml:46: wanted.main: found 0, expected a running clearance on the diameter, above 0 and below 0.04 in; look at the point; a bare number is in inches
    w-17.toml:47: wanted.running: found 900, expected degrees Celsius from -40 to 200; write it in degrees Celsius
    w-17.toml:48: prices.main: found nothing, expected the prices of the set; add [prices.main] with pass, shells and scrap
    w-17.toml:48: prices.pin: found nothing, expected the prices of the set; add [prices.pin] with pass, shells and scrap
    w-17.toml:49: prices.washer: found -1, expected a price of 0 or more; write it without a currency sign
    w-17.toml:50: prices.item[1].price: found nothing, expected the price of one; add price = 35
    "#);
}

#[test]
fn stamps_that_cannot_be() {
    let stamps = "[[stamped]]\nundersize = 0.010\n[[stamped]]\nset = \"main\"\njournal = \"main 2\"\nundersize = 0\n\
        [[stamped]]\nset = \"rods\"\nundersize = -0.010\n[[stamped]]\njournal = \"pin 7\"\nundersize = 0.25\n\
        [[stamped]]\nset = \"pin\"\n[[stamped]]\nset = \"pin\"\nundersize = 0.25\nunder = 1\n";
    assert_snapshot!(refused(&page_and(stamps)), @r#"
    w-17.toml:10: stamped[1].set: found nothing, expected a set, or a journal where the stamp is about one alone; add set = "main", set = "pin", or journal = "pin 3"
    w-17.toml:13: stamped[2].set: found "main", expected set or journal, not both; keep the one that the stamp is about
    w-17.toml:17: stamped[3].set: found "rods", expected "main" or "pin"; write one of these
    w-17.toml:18: stamped[3].undersize: found -0.010, expected the undersize it is stamped with, on the diameter, from 0 to 1.000; look at the point and at the unit; a bare number is in inches
    w-17.toml:20: stamped[4].journal: found "pin 7", expected pin 1; this specification has one pin, counted from the nose
    w-17.toml:22: stamped[5].undersize: found nothing, expected the undersize it is stamped with, on the diameter, from 0; add undersize = 0.010, or 0 for standard
    w-17.toml:24: stamped[6].set: found the pins a second time, expected one stamp for each set and each journal; keep what stands on the crank now
    w-17.toml:26: stamped[6].undersize: found 0.25, expected the undersize it is stamped with, on the diameter, from 0 to 0.062; look at the point and at the unit; a bare number is in inches
    w-17.toml:27: stamped[6].under: found an unknown key "under", expected set, journal, undersize; take it out, or see docs/sheet.md for the keys there are
    "#);
    assert_snapshot!(refused(&page_with(&[("units =", "stamped = 0.010\nunits =")])), @"w-17.toml:4: stamped: found 0.010, expected rows; begin each row with [[stamped]]");
}
