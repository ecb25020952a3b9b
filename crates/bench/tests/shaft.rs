//! The whole shaft, from the page where it is measured to the grinder's sheet and the papers.
//!
//! The bent Skelder six is invented: `checks/make_bent.py` says what it was made to be.

mod support;

use shop::Value;
use support::at_work::{decided, gone, send, state};
use support::{Opened, Page, id, open};

const BENT: &str = include_str!("../../tenunder/library/skelder-six-bent.toml");

/// The bent crank as a job.
async fn bent(opened: &Opened) -> i64 {
    let sheet = Value::from_text(BENT).expect("a sheet");
    let fresh = || shop::fresh_id().expect("random numbers");
    let drafts = shop::brought_in(sheet, None, "Pat", "2026-11-25T09:00:00Z", fresh).expect("a job");
    opened.store.book_in(&drafts).await.expect("a job").job
}

/// Sends one of the forms of the page.
async fn save(opened: &Opened, job: i64, kind: &str, more: &[(&str, &str)]) -> Page {
    let id = id();
    let mut fields = vec![("id", id.as_str()), ("kind", kind)];
    fields.extend(more);
    opened.post(&format!("/jobs/{job}/shaft"), &fields).await
}

/// The fields of the dial's form for a main with four readings, in vees under the end mains of a Tarn four.
fn dial<'a>(main: &'a str, readings: [&'a str; 4]) -> Vec<(&'a str, &'a str)> {
    let [a, b, c, d] = readings;
    let carried = [("carried", "vees"), ("front", "main 1"), ("rear", "main 5"), ("vee", "90")];
    let read = [("journal", main), ("count", "4"), ("r1", a), ("r2", b), ("r3", c), ("r4", d)];
    carried.into_iter().chain(read).collect()
}

async fn listed(opened: &Opened, job: i64, key: &str) -> String {
    state(opened, job).await.document.get(key).map(Value::to_json).unwrap_or_default()
}

#[tokio::test]
async fn a_dial_is_entered_put_right_and_struck_out() {
    let opened = open("shaft-dial").await;
    let job = decided(&opened).await;
    let path = format!("/jobs/{job}/shaft");
    let page = opened.get(&path).await;
    page.says("The dial on the mains").says("Heights of the pins").says("The hardened case");
    page.says("The engine’s data name no feature").says("The throws are taken as found: nobody measured them.");

    // What is left empty is asked for beside its field, and what was typed is kept.
    let short = save(&opened, job, "dial", &dial("main 2", ["0", "0.0012", "", "0"])).await;
    short.came_back().says("Type what the dial showed at 180°").says("dial-r3-fault").says("value=\"0.0012\"");
    // A main has a run-out or a dial, not both: the sheet says so, and nothing is written.
    let both = save(&opened, job, "dial", &dial("main 3", ["0", "0.0012", "0", "0"])).await;
    both.came_back().says("a run-out or a dial on a main, not both");
    let same = [("carried", "vees"), ("front", "main 1"), ("rear", "main 1"), ("vee", "90")];
    let one_vee: Vec<_> = same.into_iter().chain(dial("main 2", ["0", "0", "0", "0"]).into_iter().skip(4)).collect();
    save(&opened, job, "dial", &one_vee).await.came_back().says("two different mains").says("dial-front-fault");
    assert_eq!(listed(&opened, job, "dial").await, "");
    assert_eq!(listed(&opened, job, "carried").await, "");

    let to = gone(&save(&opened, job, "dial", &dial("main 2", ["0", "0.0012", "0.0001", "-0.0012"])).await).to_owned();
    assert_eq!(to, format!("{path}?saved=dial&of=main+2&angles=4#dial"));
    assert_eq!(listed(&opened, job, "carried").await, r#"{"on":["main 1","main 5"],"vee":90}"#);
    let told = r#"[{"journal":"main 2","readings":[0,0.0012,0.0001,-0.0012]}]"#;
    assert_eq!(listed(&opened, job, "dial").await, told);
    // The next main stands ready, the last answer beside it.
    let next = opened.get(to.split('#').next().expect("an address")).await;
    next.says("Saved: Main 2, readings 0 0.0012 0.0001 -0.0012.").says("<option value=\"main 3\" selected>");
    next.says("Bend and oval, told apart").says("The bend of the shaft").says("toward 92 degrees");
    next.says("From so many angles what is called bend takes in 3 and 5 lobes as well.");

    // The same main again takes the place of it; how it was carried is written once.
    gone(&save(&opened, job, "dial", &dial("main 2", ["0", "0.0010", "0", "-0.0010"])).await);
    assert!(listed(&opened, job, "dial").await.contains("[0,0.0010,0,-0.0010]"));
    let job_now = state(&opened, job).await;
    let row = job_now.rows.iter().find(|row| row.key == "dial").expect("a row");
    let form = opened.get(&format!("{path}?correct={}", row.entry)).await;
    form.says("value=\"0.0010\"").says(&format!("name=\"corrects\" value=\"{}\"", row.entry));
    let history = opened.get(&format!("/jobs/{job}/history")).await;
    history.says("dial on main 2, 4 readings").says("in vees under main 1 and main 5");
    gone(&send(&opened, job, "shaft/strike", &[("kind", "dial"), ("entry", &row.first.to_string())]).await);
    assert_eq!(listed(&opened, job, "dial").await, "");
    assert_eq!(
        send(&opened, job, "shaft/strike", &[("kind", "dial"), ("entry", &row.first.to_string())]).await.status,
        404
    );
}

#[tokio::test]
async fn heights_and_case_are_entered() {
    let opened = open("shaft-heights").await;
    let job = decided(&opened).await;
    // By hand: 8.6240 + 1.5 sin of the angle, as the Tarn's throw is 1.5000.
    let heights = [("journal", "pin 1"), ("angles", "0 90 180 270"), ("heights", "8.6240 10.1240 8.6240 7.1240")];
    gone(&save(&opened, job, "height", &heights).await);
    let page = opened.get(&format!("/jobs/{job}/shaft")).await;
    page.says("Pin 1: stroke 3.0000 in").says("<option value=\"pin 2\" selected>");
    let off = [("journal", "pin 2"), ("angles", "0 90 180 270"), ("heights", "8.6 8.6 8.6 10.1")];
    save(&opened, job, "height", &off).await.came_back().says("off any circle");
    save(&opened, job, "height", &[("journal", "pin 2")]).await.came_back().says("or the highest and the lowest");
    gone(&save(&opened, job, "case", &[("set", "pin"), ("depth", "0.024"), ("doubt", "0.002")]).await);
    assert_eq!(listed(&opened, job, "case").await, r#"[{"set":"pin","depth":0.024,"doubt":0.002}]"#);
    save(&opened, job, "case", &[("set", "pin"), ("depth", "0.9")]).await.came_back().says("a quarter of the journal");
    save(&opened, job, "case", &[("set", "pin")]).await.came_back().says("Type how deep the case is.");
    assert_eq!(save(&opened, job, "nonsense", &[]).await.status, 404);
}

/// From the readings to the grinder's sheet by pages: every fact stands where the person who needs it looks.
#[tokio::test]
async fn a_bent_crank_goes_to_the_grinder_with_all_that_is_known_of_its_shaft() {
    let opened = open("shaft-bent").await;
    let job = bent(&opened).await;
    let page = opened.worked_out(&format!("/jobs/{job}/verdict")).await;
    // Main 3 is oval by 4 times 0.008 on the diameter; main 4 stands 0.034 off.
    page.says("The whole shaft").says("Bend and oval, told apart").says("over the book&#39;s 0.030");
    page.says("Where the wheel goes")
        .says("What else turns with it")
        .says("Rear seal land")
        .says("The case that is left");
    page.says("Cleans up at").says("Pin 5: stroke 120.1");
    for set in ["main", "pin"] {
        let rule = page
            .text
            .split(&format!("name=\"set\" value=\"{set}\"><input type=\"hidden\" name=\"choice\" value=\""))
            .nth(1);
        let choice = rule.and_then(|rest| rest.split('"').next()).expect("the rule's choice").to_owned();
        let because = [
            ("set", set),
            ("choice", choice.as_str()),
            ("reason", "other"),
            ("words", "looked at again, and it stands"),
        ];
        gone(&send(&opened, job, "decide", &because).await);
    }
    opened.worked_out(&format!("/jobs/{job}/verdict")).await;
    gone(&send(&opened, job, "issue", &[]).await);
    let grind = opened.get(&format!("/jobs/{job}/grind")).await;
    grind.says("Set up off the present centre").says("from its own throw").says("which is no bend");
    for paper in ["grinder.pdf", "report.pdf", "record.pdf"] {
        let printed = opened.get(&format!("/jobs/{job}/papers/{paper}")).await;
        assert_eq!(printed.status, 200, "{paper}: {}", printed.text);
    }
}

/// What goes out as a file comes in as the same job.
#[tokio::test]
async fn what_was_entered_goes_out_and_comes_in() {
    let opened = open("shaft-export").await;
    let job = bent(&opened).await;
    let out = shop::exported(&state(&opened, job).await);
    let again = Value::from_text(&out).expect("a sheet");
    for key in ["carried", "dial", "height", "feature", "case"] {
        let here = state(&opened, job).await.document.get(key).map(Value::to_json);
        assert!(here.is_some(), "{key}");
        assert_eq!(again.get(key).map(Value::to_json), here, "{key}");
    }
}
