//! The bearings of a job on their page and as JSON, the same as the command line answers.

mod support;

use shop::{Value, brought_in, fresh_id, now};
use support::{Opened, Page, id, open};

const BEARINGS: &str = include_str!("../../tenunder/library/tarn-four-bearings.toml");
const WORN: &str = include_str!("../../tenunder/library/tarn-four-worn.toml");

struct Beside;

impl sheet::Library for Beside {
    fn text(&self, name: &str) -> Result<String, String> {
        match name {
            "tarn-four.toml" => Ok(include_str!("../../tenunder/library/tarn-four.toml").to_owned()),
            other => Err(format!("no {other} here")),
        }
    }
}

/// Brings a worked sheet in as a job.
async fn bring(shop: &Opened, text: &str) -> i64 {
    let whole = sheet::whole_sheet("a worked sheet", text, &Beside).expect("a sheet that can be read");
    let value = Value::from_json(&whole).expect("a document");
    let drafts = brought_in(value, None, "Pat", &now(), || fresh_id().expect("random numbers")).expect("a job");
    shop.store.book_in(&drafts).await.expect("a booked job").job
}

/// The page once everything is worked out.
async fn page(shop: &Opened, job: i64) -> Page {
    shop.worked_out(&format!("/jobs/{job}/fit")).await
}

#[tokio::test]
async fn the_page_and_the_json_say_what_the_command_line_says() {
    let shop = open("fit-page").await;
    let job = bring(&shop, BEARINGS).await;
    let sheet = sheet::read_sheet("a worked sheet", BEARINGS, &Beside).expect("a sheet");
    let verdict =
        regrind::assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &|_| ()).expect("a verdict");
    let fit = fit::fit(&sheet.engine(), Some(&verdict), &sheet.policy);
    let quote = sheet.quote(&verdict, Some(&fit));
    // Through text and back, as the answer comes: the last digit of a long fraction may change on the way.
    let expected = sheet::fit_answer(&sheet, &fit, &quote).to_string();
    let expected: serde_json::Value = serde_json::from_str(&expected).expect("JSON");
    let page = page(&shop, job).await;
    for words in
        ["Mains: finish to 2.1148 in", "Which half shell goes where", "End float", "To order", "Measure before"]
    {
        assert!(page.text.contains(words), "{words}: {}", page.text);
    }
    for bearing in &fit.bearings {
        // Both states stand beside each other, as the command line has them.
        for clearance in [bearing.as_found.as_ref().expect("found"), bearing.as_planned.as_ref().expect("planned")] {
            for mm in [clearance.across.tightest_mm, clearance.across.mean_mm, clearance.across.loosest_mm] {
                let figure = units::show_mm(mm, units::Unit::Inch, 4);
                assert!(page.text.contains(&format!("<td class=\"fig\">{figure}</td>")), "{figure}");
            }
        }
    }
    let sets = page.text.matches("As found, standard shells").count();
    assert_eq!((sets, page.text.matches("As planned, shells ").count()), (2, 2), "{}", page.text);
    // Drawn there and on the page of drawings, with the same words.
    let drawn = shop.get(&format!("/jobs/{job}/drawings?show=clearance")).await;
    for words in ["Clearances of the mains as planned, in inches: Main 1 ", "Clearances of the pins as planned"] {
        page.says(words);
        drawn.says(words).says("data-part=\"limits\"").says("aria-current=\"page\">Clearances");
    }
    let told = shop.get(&format!("/api/jobs/{job}/fit")).await;
    let told: serde_json::Value = serde_json::from_str(&told.text).expect("JSON");
    for (part, value) in expected.as_object().expect("a table") {
        assert_eq!(&told["answer"][part], value, "{part}");
    }
    assert_eq!((told["current"].as_bool(), told["done"].as_u64()), (Some(true), Some(100)));
}

/// A job without bearings: housings and shells are entered one after another, without a script, and come to the same as
/// on the sheet.
#[tokio::test]
async fn what_is_measured_is_entered_by_plain_forms() {
    let shop = open("fit-forms").await;
    let job = bring(&shop, WORN).await;
    let first = page(&shop, job).await;
    assert!(first.text.contains("No housing or shell is measured yet"), "{}", first.text);
    let send = async |fields: &[(&str, &str)]| {
        let name = id();
        let all: Vec<(&str, &str)> = [("id", name.as_str())].into_iter().chain(fields.iter().copied()).collect();
        shop.post(&format!("/jobs/{job}/fit/measured"), &all).await
    };
    let bore = [("what", "housing"), ("journal", "main 1"), ("at", "front"), ("plane", "across"), ("shells", "out")];
    let with = |more: &[(&'static str, &'static str)]| -> Vec<(&str, &str)> {
        bore.iter().copied().chain(more.iter().copied()).collect()
    };
    let wrong = send(&with(&[("size", "20.2708")])).await;
    assert_eq!(wrong.status, 422);
    assert!(wrong.text.contains("a bore that its journal runs in") && wrong.text.contains("20.2708"), "{}", wrong.text);
    assert_eq!(send(&with(&[("size", "2.2707 2.2708"), ("with", "mic 2-3")])).await.status, 303);
    let shells = [("what", "shell"), ("place", "main"), ("half", "either"), ("undersize", "0.010"), ("wall", "0.0768")];
    let alike: Vec<(&str, &str)> = shells.iter().copied().chain([("count", "10")]).collect();
    assert_eq!(send(&alike).await.status, 303);
    let thrust = [("what", "thrust"), ("journal", "main 3"), ("float", "0.0080")];
    assert_eq!(send(&thrust).await.status, 303);
    assert_eq!(send(&[("what", "thrust"), ("journal", "main 3"), ("float", "0.0090")]).await.status, 303);
    let now = page(&shop, job).await;
    for words in ["Mains: finish to", "Main 1", "By the dial 0.0090 in", "size 2.2707 2.2708"] {
        assert!(now.text.contains(words), "{words}: {}", now.text);
    }
    assert!(!now.text.contains("0.0080"), "the second look takes the place of the first");
    let document = shop.store.job(job).await.expect("the job").document;
    assert_eq!(document.get("thrust").map(|rows| rows.items().len()), Some(1));
    // What is wanted takes the place of what was wanted, and the journals follow it.
    let wanted = [("what", "wanted"), ("main", "0.0015"), ("pin", ""), ("running", "300")];
    let too_hot = send(&wanted).await;
    assert_eq!(too_hot.status, 422);
    assert!(too_hot.text.contains("degrees Celsius from -40 to 200"), "{}", too_hot.text);
    let main_size = |page: &Page| {
        let found = page.text.split("Mains: finish to ").nth(1).and_then(|rest| rest.split(' ').next());
        found.and_then(|figure| figure.parse::<f64>().ok()).expect("a size")
    };
    let mut sizes = Vec::new();
    for main in ["0.0015", "0.0030"] {
        assert_eq!(send(&[("what", "wanted"), ("main", main), ("running", "100")]).await.status, 303);
        let now = page(&shop, job).await;
        now.says(&format!("value=\"{main}\"")).says("100 °C");
        now.says(&format!("Wanted clearance {main} in, as the shop wants it."));
        sizes.push(main_size(&now));
    }
    // Bores and walls ask for 2.1157 and 2.1142 (2.27075 less two walls of 0.0768 less what is wanted); the book's limits,
    // 2.1145 to 2.1150, less twice the growth's spread at both ends, leave a tenth, 2.1147 to 2.1148: nobody can aim at more
    // than its middle, 2.11475, which a micrometer that reads to a tenth shows as 2.1148.
    assert_eq!(sizes, [2.1148, 2.1148]);
    shop.get(&format!("/jobs/{job}/history")).await.says("clearances wanted: main 0.0030, running 100");
    assert_eq!(send(&[("what", "wanted")]).await.status, 303);
    shop.get(&format!("/jobs/{job}/history")).await.says("clearances wanted: those of the manual");
    assert_eq!(shop.store.job(job).await.expect("the job").document.get("wanted"), Some(&Value::table([])));
    // A box from another ladder stops the work.
    let metric =
        [("what", "shell"), ("place", "pin"), ("half", "either"), ("undersize", "0.25 mm"), ("wall", "0.0668")];
    assert_eq!(send(&metric).await.status, 303);
    let stopped = page(&shop, job).await;
    assert!(stopped.text.contains("0.00984 in, not 0.010 in"), "{}", stopped.text);
}

/// Page and JSON put the same question to the film, and what is typed on the page takes its part in it.
#[tokio::test]
async fn the_oil_page_and_the_json_say_what_the_film_says() {
    let shop = open("oil-page").await;
    let job = bring(&shop, BEARINGS).await;
    // Once the verdict is there the question no longer changes.
    page(&shop, job).await;
    let told = shop.in_its_time(&format!("/api/jobs/{job}/oil")).await;
    let told: serde_json::Value = serde_json::from_str(&told.text).expect("JSON");
    let states = told["answer"]["clearances"].as_array().expect("clearances");
    let names: Vec<&str> = states.iter().filter_map(|at| at["clearance"]["name"].as_str()).collect();
    assert_eq!(names, ["as found", "as planned", "at the upper limit"]);
    let oil = shop.in_its_time(&format!("/jobs/{job}/oil")).await;
    for at in states {
        let psi = at["hot_idle"]["gauge_pa"].as_f64().expect("a pressure") / 6894.757;
        let words = format!("{psi:.0} psi {}", at["clearance"]["name"].as_str().expect("a name"));
        oil.says(&words);
    }
    oil.says("a hint, not a diagnosis").says("The gauge over speed").says("as planned, hot: ");
    oil.says("Least film over clearance").says("statically determinate");
    // A wider clearance and a hotter oil leave less on the gauge.
    let asked = shop.get(&format!("/jobs/{job}/oil?pin=0.0080&main=0.0080&hot=120&idle=600")).await;
    asked.says("other clearance").says("0.0080");
    // What nobody said is named as assumed; what is chosen is not.
    let assumed: Vec<&str> =
        told["answer"]["assumed"].as_array().expect("a list").iter().filter_map(|name| name.as_str()).collect();
    assert!(assumed.contains(&"oil") && assumed.contains(&"kind"), "{assumed:?}");
    oil.says("Oil: 15W-40, assumed, as nobody said it").says("Engine: petrol, assumed").says("with what is not known");
    let chosen = shop.get(&format!("/jobs/{job}/oil?oil=20W-50&kind=diesel&piston_kg=1.2")).await;
    chosen.says("Oil: 20W-50, as given").says("Engine: diesel, as given").says("name=\"piston_kg\"");
    assert_ne!(oil.text.matches("the answer leans on it").count(), 0, "{}", oil.text);
    let low = shop.get(&format!("/jobs/{job}/oil?idle=2&main=0.00001")).await;
    low.says("Usable is 30 to 30000: a journal that stands still").says("closes as the engine warms");
    for wrong in ["?pin=-0.001", "?main=wide", "?idle=0", "?hot=1e999", "?piston_kg=heavy"] {
        let refused = shop.get(&format!("/jobs/{job}/oil{wrong}")).await;
        assert_eq!(refused.status, 200);
        refused.says("cannot be used").says("aria-invalid");
    }
}
