//! The same form sent ten times at the same moment, as an impatient finger or a bad line does it: it is kept once, and all
//! ten are told that it is saved. Other words under the same name are told that they are not.

mod support;

use std::sync::Arc;

use support::at_work::{check_all, clean_up, decided, gone, look, send, state};
use support::{Opened, Page, booked, id, open};
use tokio::task::JoinSet;

/// Sends a form ten times at once.
async fn ten(shop: &Arc<Opened>, path: &str, fields: &[(&str, &str)], headers: &str) -> Vec<Page> {
    let token = shop.get("/words").await.hidden("token");
    let mut form = form_urlencoded::Serializer::new(String::new());
    form.append_pair("token", &token).extend_pairs(fields);
    let (body, headers) = (form.finish(), format!("Content-Type: application/x-www-form-urlencoded\r\n{headers}"));
    let mut sent = JoinSet::new();
    for _ in 0..10 {
        let (shop, path, body, headers) = (Arc::clone(shop), path.to_owned(), body.clone(), headers.clone());
        sent.spawn(async move { shop.send("POST", &path, &headers, body.as_bytes()).await });
    }
    sent.join_all().await
}

/// Sends a form ten times at once: each is told that it is saved.
async fn all_saved(shop: &Arc<Opened>, path: &str, fields: &[(&str, &str)]) {
    let mut all = fields.to_vec();
    let name = id();
    if !fields.iter().any(|(key, _)| *key == "id") {
        all.push(("id", &name));
    }
    let wrong: Vec<String> = ten(shop, path, &all, "")
        .await
        .into_iter()
        .filter(|page| page.status != 303)
        .map(|page| format!("{} {}", page.status, page.text.split("<main").nth(1).unwrap_or(&page.text)))
        .collect();
    assert!(
        wrong.is_empty(),
        "{path}: {} of ten were not told that it is saved, the first:\n{}",
        wrong.len(),
        wrong[0]
    );
}

async fn seq(shop: &Opened, job: i64) -> i64 {
    state(shop, job).await.seq
}

const MIC: &str = "1–2 in micrometer";

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn a_reading_is_kept_once_and_ten_are_told() {
    let shop = Arc::new(open("ten-readings").await);
    let job = booked(&shop, "W-1", "A. Miller").await;
    let at = |end: &str| format!("/jobs/{job}/measure{end}");
    let mic = [("set", "main"), ("with", "new:0.0001 in"), ("zero", "right"), ("seen", "1")];
    all_saved(&shop, &at("/micrometer"), &mic).await;
    let before = seq(&shop, job).await;
    for (n, (spot, size)) in [("main-1.front.a", "1.4991"), ("main-1.rear.a", "1.4990"), ("main-1.front.b", "1.4992")]
        .into_iter()
        .enumerate()
    {
        let fields = [("seen", "1"), ("spot", spot), ("with", MIC), ("reading", size)];
        all_saved(&shop, &at(""), &fields).await;
        assert_eq!(seq(&shop, job).await, before + 1 + i64::try_from(n).unwrap(), "one line for ten forms");
    }
    // As the script sends it; and one in doubt, which is more than one line.
    for (spot, size) in [("main-1.rear.b", "1.4991"), ("main-2.front.a", "1.4741")] {
        let name = id();
        let fields = [("id", name.as_str()), ("seen", "1"), ("spot", spot), ("with", MIC), ("reading", size)];
        let pages = ten(&shop, &at(""), &fields, "Accept: application/json\r\n").await;
        for page in &pages {
            assert_eq!(page.status, 200, "{}", page.text);
        }
        // Whichever came first, each is told that the one reading is saved, and all that there is one of it.
        for page in &pages {
            assert!(
                page.text.contains(" saved at ")
                    || page.text.contains("is kept, not counted")
                    || page.text.contains("it is kept once"),
                "{}",
                page.text
            );
        }
        let count = |page: &Page| {
            page.text.split("\"saved\":\"").nth(1).and_then(|rest| rest.split(',').next().map(str::to_owned))
        };
        let counts: std::collections::BTreeSet<_> = pages.iter().map(count).collect();
        assert_eq!(counts.len(), 1, "{counts:?}");
        // Another size under the same name is neither dropped in silence nor kept.
        let other = [("id", name.as_str()), ("seen", "1"), ("spot", spot), ("with", MIC), ("reading", "1.4993")];
        for page in ten(&shop, &at(""), &other, "Accept: application/json\r\n").await {
            assert_eq!(page.status, 409, "{}", page.text);
        }
    }
    let undo = shop.get(&at("")).await;
    let entry = undo.text.split("id=\"undo-entry\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let seen = seq(&shop, job).await.to_string();
    all_saved(&shop, &at("/undo"), &[("seen", &seen), ("entry", &entry)]).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn whatever_a_form_of_the_work_says_is_kept_once_and_ten_are_told() {
    let shop = Arc::new(open("ten-works").await);
    let name = id();
    let crank = [("id", name.as_str()), ("engine", "known:wren"), ("mark", "W-9"), ("customer", "A. Miller")];
    all_saved(&shop, "/jobs/new", &crank).await;
    assert_eq!(shop.store.jobs(&shop::Wanted::default()).await.unwrap().all, 1);
    let job = decided(&shop).await;
    let at = |end: &str| format!("/jobs/{job}/{end}");
    let seen = |seq: i64| seq.to_string();
    for (end, fields) in [
        ("particulars/note", &[("text", "Rings as new.")][..]),
        ("particulars", &[("customer", "B. Miller"), ("mark", "T-4")]),
        ("grind", &[("journal", "main 1"), ("stage", "rough"), ("with", "mic 2-3"), ("size", "2.1190")]),
    ] {
        let before = seq(&shop, job).await;
        let place = seen(before);
        all_saved(&shop, &at(end), &[fields, &[("seen", &place)]].concat()).await;
        assert!(seq(&shop, job).await > before, "{end} writes");
    }
    clean_up(&shop, job).await;
    let place = seen(seq(&shop, job).await);
    all_saved(&shop, &at("grind/done"), &[("seen", &place)]).await;
    check_all(&shop, job).await;
    gone(&look(&shop, job, &support::at_work::EYES, "passed").await);
    let now = state(&shop, job).await;
    let (place, hash) = (seen(now.seq), now.frozen_hash());
    let left: Vec<(String, String)> = {
        let refused = send(&shop, job, "final/sign", &[("code", "K7Q"), ("hash", &hash), ("name", "the shop")]).await;
        let names = refused.text.split("name=\"left-").skip(1).filter_map(|rest| rest.split('"').next());
        names.map(|name| (format!("left-{name}"), "yes".to_owned())).collect()
    };
    let mut fields = vec![("code", "K7Q"), ("hash", hash.as_str()), ("name", "the shop"), ("seen", place.as_str())];
    fields.extend(left.iter().map(|(name, yes)| (name.as_str(), yes.as_str())));
    if state(&shop, job).await.signed_off.is_none() {
        all_saved(&shop, &at("final/sign"), &fields).await;
    }
    assert!(state(&shop, job).await.signed_off.is_some());
    let place = seen(seq(&shop, job).await);
    all_saved(&shop, &at("hand-over"), &[("to", "A. Miller"), ("seen", &place)]).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn whatever_a_form_of_the_shop_says_is_kept_once_and_ten_are_told() {
    let shop = Arc::new(open("ten-shops").await);
    let lines = async |shop: &Opened| shop.store.shop_entries().await.unwrap().len();
    for (path, fields) in [
        ("/shop/people", &[("name", "Pat")][..]),
        (
            "/shop/micrometers",
            &[("name", "mic 1-2"), ("units", "in"), ("low", "1"), ("high", "2"), ("graduation", "0.0001")],
        ),
        ("/batches", &[("name", "N-31"), ("treatment", "nitriding"), ("treater", "Vale Heat")]),
        ("/shop/people", &[("name", "Pat"), ("do", "away")]),
    ] {
        let before = lines(&shop).await;
        all_saved(&shop, path, fields).await;
        assert_eq!(lines(&shop).await, before + 1, "{path}: one line for ten forms");
    }
}
