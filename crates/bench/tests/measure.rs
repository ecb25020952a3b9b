//! Measuring, as a browser without a script does it, and what the script is told.

mod support;

use serde_json::Value as Json;
use shop::Stage;
use support::{Opened, Page, booked, id, open};

/// A Wren with a fresh one-to-two inch micrometer in hand that reads right.
async fn at_the_bench(name: &str) -> (Opened, i64) {
    let shop = open(name).await;
    let job = booked(&shop, "W-1", "A. Miller").await;
    let fields = [("id", &*id()), ("set", "main"), ("with", "new:0.0001 in"), ("zero", "right"), ("seen", "0")];
    let page = shop.post(&format!("/jobs/{job}/measure/micrometer"), &fields).await;
    assert_eq!(page.status, 303, "{}", page.text);
    (shop, job)
}

const MIC: &str = "1–2 in micrometer";

async fn key(shop: &Opened, job: i64, spot: &str, typed: &str) -> Page {
    let fields = [("id", &*id()), ("seen", "1"), ("spot", spot), ("with", MIC), ("reading", typed)];
    shop.post(&format!("/jobs/{job}/measure"), &fields).await
}

/// Keys a reading and looks at the page that it leads to.
async fn key_and_look(shop: &Opened, job: i64, spot: &str, typed: &str) -> Page {
    let page = key(shop, job, spot, typed).await;
    assert_eq!(page.status, 303, "{}", page.text);
    shop.get(&page.to).await
}

#[tokio::test]
async fn the_micrometer_comes_first_then_the_spots_in_order() {
    let shop = open("measure-first").await;
    let job = booked(&shop, "W-1", "A. Miller").await;
    let path = format!("/jobs/{job}/measure");
    let page = shop.get(&path).await;
    page.says("Which micrometer for the mains?").says("An inch micrometer in steps of 0.0001 in");
    let to = format!("{path}/micrometer");
    let form = |zero: &'static str, by: &'static str| {
        [
            ("id", id()),
            ("set", "main".into()),
            ("with", "new:0.0001 in".into()),
            ("zero", zero.into()),
            ("by", by.into()),
        ]
    };
    let send = |fields: [(&'static str, String); 5]| {
        let (shop, to) = (&shop, &to);
        async move {
            let fields: Vec<(&str, &str)> = fields.iter().map(|(name, text)| (*name, text.as_str())).collect();
            shop.post(to, &fields).await
        }
    };
    send(form("", "")).await.came_back().says("Say what it reads on its standard");
    send(form("high", "0,1 perhaps")).await.came_back().says("value=\"0,1 perhaps\"");
    send(form("high", "")).await.came_back().says("Enter by how much it reads high or low, like 0.0001.");
    send(form("low", "0.0002")).await;
    let page = shop.get(&path).await;
    page.says("Main 1, front, across A").says("A: in line with the throw of pin 1").says("Nothing measured yet.");
    let page = key_and_look(&shop, job, "main-1.front.a", "1.4991").await;
    page.says("1.4991 saved at Main 1, front, across A.").says("Main 1, rear, across A").says("1 reading saved");
    // The zero is worked in: read 0.0002 low, the journal is that much larger.
    let document = shop.store.job(job).await.expect("the job").document;
    assert!(document.get("instrument").map(shop::Value::to_json).expect("an instrument").contains("-0.0002"));
}

#[tokio::test]
async fn what_cannot_be_a_reading_stays_in_the_box_and_out_of_the_record() {
    let (shop, job) = at_the_bench("measure-refused").await;
    let before = shop.store.job(job).await.expect("the job").seq;
    for (typed, says) in [
        ("", "Reading must be a number"),
        ("two", "has no number in it"),
        ("1.499", "Reading must have four decimals for this micrometer, like 1.4480."),
        ("38.075", "38.075 mm is 1.4990 in. If so, key 38.075 mm."),
        ("2.4991", "Is it the 2–3 in micrometer?"),
        ("<script>alert(1)</script>", "Reading must be a number"),
        ("1.4991\u{7}", "unprintable character"),
    ] {
        let page = key(&shop, job, "main-1.front.a", typed).await;
        page.came_back().says(&says.replace('\'', "&#39;")).lacks("<script>alert").says("Main 1, front, across A");
    }
    assert_eq!(key(&shop, job, "main-9.front.a", "1.4991").await.status, 404);
    assert_eq!(key(&shop, job, "rubbish", "1.4991").await.status, 404);
    assert_eq!(shop.store.job(job).await.expect("the job").seq, before);
}

#[tokio::test]
async fn a_flag_pauses_the_march_and_typing_again_settles_it() {
    let (shop, job) = at_the_bench("measure-flag").await;
    key(&shop, job, "main-1.front.a", "1.4991").await;
    let page = key_and_look(&shop, job, "main-1.rear.a", "1.4741").await;
    page.says("one full turn of the thimble").says("measure again").says("Keep 1.4741").says("1 to look at again");
    // Both drawn, in words too; which of them was keyed is not said.
    page.says("Sleeve shows 4 and two lines. One more line is just showing at the edge of the thimble. Thimble 24.");
    page.says("Sleeve shows 4 and three lines.").lacks("As keyed");
    // The box is empty: the first figure is not shown in it.
    page.says(
        "name=\"reading\" type=\"text\" inputmode=\"decimal\" autocomplete=\"off\" autocapitalize=\"off\" \
               spellcheck=\"false\" maxlength=\"64\" value=\"\"",
    );
    let page = key_and_look(&shop, job, "main-1.rear.a", "1.4990").await;
    page.says("1.4990 saved at Main 1, rear, across A.").lacks("to look at again");
    let held = shop.store.job(job).await.expect("the job");
    assert!(held.flags.is_empty());
    assert_eq!(held.document.get("reading").expect("readings").items().len(), 2);
    // One undo takes back the new figure with what it settled; the old one is in doubt again.
    let undo = shop.get(&format!("/jobs/{job}/measure")).await;
    undo.says("Undo 1.4990 at main 1, rear, across A");
    let entry =
        undo.text.split("id=\"undo-entry\" value=\"").nth(1).expect("an undo").split('"').next().expect("a name");
    let fields = [("id", &*id()), ("seen", &*undo.hidden("seen")), ("entry", entry)];
    let back = shop.post(&format!("/jobs/{job}/measure/undo"), &fields).await;
    assert!(back.to.contains("spot=main-1.rear.a"), "{}", back.to);
    shop.get(&back.to).await.says("1 to look at again").says("Put back 1.4990 at main 1, rear, across A");
    // The same form again does nothing twice, an old page's is refused.
    assert_eq!(shop.post(&format!("/jobs/{job}/measure/undo"), &fields).await.status, 303);
    let stale = [("id", &*id()), ("seen", "3"), ("entry", entry)];
    assert_ne!(shop.post(&format!("/jobs/{job}/measure/undo"), &stale).await.status, 303);
}

#[tokio::test]
async fn a_doubtful_figure_can_be_kept_with_one_button() {
    let (shop, job) = at_the_bench("measure-keep").await;
    key(&shop, job, "main-1.front.a", "1.4991").await;
    let page = key_and_look(&shop, job, "main-1.rear.a", "1.4741").await;
    let flag = page.text.split("name=\"flag\" value=\"").nth(1).expect("a flag").split('"').next().expect("a name");
    let fields = [("id", &*id()), ("seen", &*page.hidden("seen")), ("flag", flag), ("how", "keep")];
    assert_eq!(shop.post(&format!("/jobs/{job}/measure/settle"), &fields).await.status, 303);
    let held = shop.store.job(job).await.expect("the job");
    assert!(held.flags.is_empty());
    assert_eq!(held.document.get("reading").expect("readings").items().len(), 2);
    let rubbish = [("id", &*id()), ("seen", "1"), ("flag", "none"), ("how", "keep")];
    assert_eq!(shop.post(&format!("/jobs/{job}/measure/settle"), &rubbish).await.status, 404);
}

/// The first two readings of a job, of one place, that differ: neither counts, and that is no reason to refuse the second.
#[tokio::test]
async fn two_first_readings_that_differ_are_both_kept() {
    let (shop, job) = at_the_bench("measure-differ").await;
    key_and_look(&shop, job, "main-1.front.a", "1.4991").await;
    let page = key_and_look(&shop, job, "main-1.front.a", "1.4983").await;
    page.says("does not agree with the first. Measure a third time.");
    shop.get(&format!("/jobs/{job}/verdict")).await.says("measured");
    key_and_look(&shop, job, "main-1.front.a", "1.4990").await.says("the middle one of three counts");
}

#[tokio::test]
async fn a_whole_crank_is_measured_and_moves_on_to_be_decided() {
    let (shop, job) = at_the_bench("measure-whole").await;
    // A journal at once, as from paper.
    let of = |journal: &str, sizes: [&'static str; 4]| {
        let spots = ["front.a", "rear.a", "front.b", "rear.b"].map(|spot| format!("r:{journal}.{spot}"));
        let mut fields: Vec<(String, &str)> = spots.into_iter().zip(sizes).collect();
        fields.extend([("id".to_owned(), ""), ("with".to_owned(), MIC)]);
        fields
    };
    for fields in [
        of("main-1", ["1.4991", "1.4990", "1.4992", "1.4992"]),
        of("main-2", ["1.4989", "1.4990", "1.4991", "1.4992"]),
        of("pin-1", ["1.2441", "1.2446", "1.2479", "1.2480"]),
    ] {
        let name = id();
        let fields: Vec<(&str, &str)> =
            fields.iter().map(|(key, text)| (key.as_str(), if key == "id" { name.as_str() } else { *text })).collect();
        let page = shop.post(&format!("/jobs/{job}/measure/journal"), &fields).await;
        assert_eq!(page.status, 303, "{}", page.text);
        // Sent twice, it is kept once.
        shop.post(&format!("/jobs/{job}/measure/journal"), &fields).await;
    }
    let held = shop.store.job(job).await.expect("the job");
    assert_eq!(held.document.get("reading").expect("readings").items().len(), 12);
    assert_eq!(held.stage, Stage::ToDecide);
    let page = shop.get(&format!("/jobs/{job}/measure")).await;
    page.says("All spots are measured").says("Measure Pin 1, front, across A again").says("Go to the verdict");
    page.says(&format!("Try {MIC} on its standard once more"));
    // A second look is blind and is told as one.
    let page = shop.get(&format!("/jobs/{job}/measure?spot=pin-1.front.a")).await;
    page.says("a second reading, without looking at the first");
    let page = key_and_look(&shop, job, "pin-1.front.a", "1.2446").await;
    page.says("does not agree with the first. Measure a third time.").says("measure a third time");
    key_and_look(&shop, job, "pin-1.front.a", "1.2441").await.says("the middle one of three counts");
    // The zero moved in the meantime: whoever reads the report must know.
    let fields = [("id", &*id()), ("at", "end"), ("with", MIC), ("zero", "high"), ("by", "0.0002")];
    shop.post(&format!("/jobs/{job}/measure/zero"), &fields).await;
    shop.get(&format!("/jobs/{job}/measure")).await.says("moved during this job: it was 0, now it is 0.0002");
}

#[tokio::test]
async fn readings_are_keyed_as_the_hand_likes() {
    let (shop, job) = at_the_bench("measure-keyed").await;
    let keyed = format!("/jobs/{job}/measure/keyed");
    shop.post(&keyed, &[("id", &id()), ("with", MIC), ("how", "counts")]).await;
    key_and_look(&shop, job, "main-1.front.a", "43240")
        .await
        .says("1.4990 saved at Main 1")
        .says("1 + 0.4 + 0.075 + 0.024 + 0.0000 = 1.4990.");
    key(&shop, job, "main-1.rear.a", "44240").await.came_back().says("Sleeve line can be 0 to 3.");
    shop.post(&keyed, &[("id", &id()), ("with", MIC), ("how", "last digits")]).await;
    shop.get(&format!("/jobs/{job}/measure")).await.says("<span class=\"stays fig\">1.4</span>");
    key_and_look(&shop, job, "main-1.rear.a", "991").await.says("1.4991 saved at Main 1");
    let page = shop.post(&keyed, &[("id", &id()), ("with", MIC), ("how", "departure"), ("from", "")]).await;
    page.came_back().says("Enter the size that departures count from, like 2.1250.");
    shop.post(&keyed, &[("id", &id()), ("with", MIC), ("how", "departure"), ("from", "1.5000")]).await;
    key_and_look(&shop, job, "main-1.front.b", "-0.8").await.says("1.4992 saved at Main 1");
    let rows = shop.store.job(job).await.expect("the job").rows;
    let sizes: Vec<&str> = rows.iter().filter_map(|row| row.row.get("size").and_then(shop::Value::as_typed)).collect();
    assert_eq!(sizes, ["1.4990", "1.4991", "1.4992"]);
}

#[tokio::test]
async fn two_people_at_one_spot_are_told_of_each_other_and_nothing_is_lost() {
    let (shop, job) = at_the_bench("measure-two").await;
    shop.post("/who", &[("who", "Sam"), ("size", "desk")]).await;
    key(&shop, job, "main-1.front.a", "1.4991").await;
    shop.post("/who", &[("who", "Pat"), ("size", "desk")]).await;
    let page = key_and_look(&shop, job, "main-1.front.a", "1.4992").await;
    page.says("agrees with the first reading. Both are kept. Sam entered 1.4991 here at");
    let held = shop.store.job(job).await.expect("the job");
    assert!(held.document.get("reading").expect("readings").to_json().contains("[1.4991,1.4992]"));
}

#[tokio::test]
async fn damage_and_run_out_are_written_down_if_they_can_be() {
    let (shop, job) = at_the_bench("measure-found").await;
    key(&shop, job, "main-1.front.a", "1.4991").await;
    let found = format!("/jobs/{job}/measure/found");
    let bad = [("id", &*id()), ("what", "damage"), ("journal", "pin 1"), ("kind", "scoring"), ("depth", "deep")];
    shop.post(&found, &bad).await.came_back().says("Not saved yet").says("value=\"deep\"");
    let bad = [("id", &*id()), ("what", "run_out"), ("journal", "pin 1"), ("total", "0.001"), ("high", "90")];
    shop.post(&found, &bad).await.came_back();
    assert_eq!(shop.post(&found, &[("id", &id()), ("what", "nothing")]).await.status, 404);
    let depth = "0.001 0.002 0.003";
    let good = [("id", &*id()), ("what", "damage"), ("journal", "pin 1"), ("kind", "scoring"), ("depth", depth)];
    assert_eq!(shop.post(&found, &good).await.status, 303);
    // Heat and a crack have no depth: nothing asks for one.
    for kind in ["heat", "crack"] {
        let fields = [("id", &*id()), ("what", "damage"), ("journal", "main 2"), ("kind", kind), ("depth", "")];
        assert_eq!(shop.post(&found, &fields).await.status, 303, "{kind}");
    }
    let page = shop.get(&format!("/jobs/{job}/measure")).await;
    page.says("damage: heat").says("Not needed for a crack or for heat.");
    page.says("Scoring at pin 1, depth 0.001, 0.002, 0.003")
        .says("damage: scoring")
        .says("A crack ends every plan to grind.");
}

/// What the script is told after Enter: where to go, what to say, and the same refusals.
#[tokio::test]
async fn the_script_is_told_the_same_as_the_page() {
    let (shop, job) = at_the_bench("measure-script").await;
    let token = shop.get("/words").await.hidden("token");
    let send = |id: String, spot: &'static str, typed: &'static str| {
        let mut form = form_urlencoded::Serializer::new(String::new());
        form.extend_pairs([("token", &*token), ("id", &id), ("spot", spot), ("with", MIC), ("reading", typed)]);
        let body = form.finish();
        let shop = &shop;
        async move {
            let headers = "Content-Type: application/x-www-form-urlencoded\r\nAccept: application/json\r\n";
            let page = shop.send("POST", &format!("/jobs/{job}/measure"), headers, body.as_bytes()).await;
            let told: Json = serde_json::from_str(&page.text).unwrap_or_else(|error| panic!("{error}: {}", page.text));
            (page.status, told)
        }
    };
    let name = id();
    let (status, told) = send(name.clone(), "main-1.front.a", "1.4991").await;
    assert_eq!(
        (status, &told["spot"], &told["name"]),
        (200, &"main-1.rear.a".into(), &"Main 1, rear, across A".into())
    );
    assert_eq!(told["undo"], "Undo 1.4991 at main 1, front, across A");
    let (taken, (_, again)) = (name.clone(), send(name, "main-1.front.a", "1.4991").await);
    assert_eq!(
        (&again["seq"], &again["says"]),
        (&told["seq"], &"That reading was saved before; it is kept once.".into())
    );
    // Another size, or another place, under the name of a reading that is written is a conflict: it is not taken for it.
    for (spot, typed) in [("main-1.front.a", "1.4981"), ("main-1.rear.a", "1.4991")] {
        let (status, told) = send(taken.clone(), spot, typed).await;
        assert_eq!(status, 409, "{spot} {typed}: {told}");
    }
    assert_eq!(shop.store.job(job).await.expect("the job").document.get("reading").expect("one").items().len(), 1);
    let (status, told) = send(id(), "main-1.rear.a", "1.499").await;
    assert_eq!((status, &told["fields"][0]["field"]), (422, &"reading".into()));
    let (_, told) = send(id(), "main-1.rear.a", "1.4741").await;
    assert_eq!(told["spot"], "main-1.rear.a");
    assert!(told["flags"].as_str().is_some_and(|html| html.contains("Keep 1.4741")), "{told}");
}

#[tokio::test]
async fn a_stamp_is_saved_drawn_told_and_undone() {
    let (shop, job) = at_the_bench("measure-stamp").await;
    let to = format!("/jobs/{job}/measure/found");
    let send = async |about: &str, undersize: &str| {
        let id = id();
        let fields = [("id", id.as_str()), ("what", "stamped"), ("about", about), ("undersize", undersize)];
        shop.post(&to, &fields).await
    };
    // What cannot be stays in the form.
    send("pin", "-0.010").await.came_back().says("value=\"-0.010\"");
    send("main", "").await.came_back().says("undersize");
    assert_eq!(send("main", "0.010").await.status, 303);
    assert_eq!(send("pin 1", "0.25 mm").await.status, 303);
    send("main", "0.020").await.came_back().says("a second time");
    let document = shop.store.job(job).await.expect("the job").document;
    let stamped = document.get("stamped").map(shop::Value::to_json).expect("stamps");
    assert_eq!(stamped, r#"[{"set":"main","undersize":0.010},{"journal":"pin 1","undersize":"0.25 mm"}]"#);
    let drawn = shop.get(&format!("/jobs/{job}/drawings")).await;
    drawn.says("Mains stamped 0.010 in under.").says("stamped\u{a0}0.25 mm");
    let history = shop.get(&format!("/jobs/{job}/history")).await;
    history.says("mains stamped 0.010").says("pin 1 stamped 0.25 mm").says("Undo pin 1 stamped 0.25 mm");
}
