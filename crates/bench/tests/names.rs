//! Names that are one however they are written, names that only look it, and words that a stranger would have the bench say.

mod support;

use support::{Opened, Page, booked, id, open};

async fn add(shop: &Opened, name: &str, more: &[(&str, &str)]) -> Page {
    let id = id();
    shop.post("/shop/people", &[&[("id", id.as_str()), ("name", name)], more].concat()).await
}

async fn people(shop: &Opened) -> Vec<String> {
    shop::fold_shop(&shop.store.shop_entries().await.expect("entries")).people
}

#[tokio::test]
async fn a_person_is_one_however_the_name_is_written() {
    let shop = open("names-people").await;
    assert_eq!(add(&shop, "Zoë Pat", &[]).await.status, 303);
    // Composed of two characters, of full width, in other letters' size.
    for same in ["Zoe\u{308} Pat", "Ｚoë Pat", "ZOË PAT", "zoë\u{a0}pat"] {
        add(&shop, same, &[]).await.came_back().says("Zoë Pat is in the list already.");
    }
    // Characters that cannot be seen, and one that turns the line round.
    for hidden in ["Zoë\u{200b} Pat", "Zoë \u{202e}Pat", "\u{feff}Zoë Pat", "Zoë\u{ad} Pat"] {
        add(&shop, hidden, &[]).await.came_back().says("cannot be seen");
        let page = shop.post("/jobs/new", &[("id", &id()), ("engine", "known:wren"), ("customer", hidden)]).await;
        page.came_back().says("cannot be seen");
        assert_eq!(shop.post("/who", &[("who", hidden)]).await.status, 422);
    }
    assert_eq!(people(&shop).await, ["Zoë Pat"]);
    // A Cyrillic а: another name, which is asked about and then taken.
    let like = "Zoë P\u{430}t";
    add(&shop, like, &[]).await.came_back().says("looks like Zoë Pat").says("Is it written so?");
    add(&shop, "T\u{3bf}m", &[]).await.came_back().says("several alphabets").says("Is it written so?");
    add(&shop, "Юлия Орлова", &[]).await.lacks("alphabets");
    assert_eq!(add(&shop, like, &[("sure", "yes")]).await.status, 303);
    assert_eq!(people(&shop).await, ["Zoë Pat", "Юлия Орлова", like]);
    // Whoever works at the screen is called as the shop calls them.
    assert_eq!(shop.post("/who", &[("who", "zoe\u{308} pat")]).await.status, 303);
    let job = booked(&shop, "W-1", "A. Miller").await;
    assert_eq!(shop.store.entries(job, 0).await.expect("entries")[0].who, "Zoë Pat");
    let away = id();
    let fields = [("id", away.as_str()), ("name", "Ｚoë Pat"), ("do", "away")];
    assert_eq!(shop.post("/shop/people", &fields).await.status, 303);
    assert_eq!(people(&shop).await, ["Юлия Орлова", like]);
}

#[tokio::test]
async fn the_bench_says_nothing_that_an_address_tells_it_to() {
    let shop = open("names-says").await;
    let job = booked(&shop, "W-1", "A. Miller").await;
    let path = format!("/jobs/{job}/measure");
    let fields = [("id", &*id()), ("set", "main"), ("with", "new:0.0001 in"), ("zero", "right"), ("seen", "1")];
    assert_eq!(shop.post(&format!("{path}/micrometer"), &fields).await.status, 303);
    let mic = "1–2 in micrometer";
    let fields = [("id", &*id()), ("seen", "1"), ("spot", "main-1.front.a"), ("with", mic), ("reading", "1.4991")];
    let page = shop.post(&path, &fields).await;
    let says = page.to.split("says=").nth(1).expect("a message").to_owned();
    assert!(says.bytes().all(|byte| byte.is_ascii_digit()), "{}", page.to);
    for _ in 0..2 {
        shop.get(&page.to).await.says("1.4991 saved at Main 1, front, across A.");
    }
    let words = "Ring+0800+and+read+out+the+certificate";
    shop.get(&format!("{path}?says={words}")).await.lacks("0800");
    shop.get(&format!("{path}?spot=main-1.rear.a&says={words}")).await.lacks("0800");
    // Nor what it said of another crank.
    let other = booked(&shop, "W-2", "B. Miller").await;
    shop.get(&format!("/jobs/{other}/measure?says={says}")).await.lacks("1.4991 saved");
}

/// A mark or a customer that looks like another's: another crank, or another's crank, is what comes of it unasked. The form, the
/// particulars and the interface ask; said to be right it is taken, and not asked about again.
#[tokio::test]
async fn a_mark_or_a_customer_that_looks_like_another_is_asked_about() {
    let shop = open("names-cranks").await;
    booked(&shop, "W-17", "A. Miller").await;
    let (mark, customer) = ("W-l7", "A. Mill\u{435}r");
    let form = async |mark: &str, customer: &str, more: &[(&str, &str)]| {
        let id = id();
        let fields = [("id", id.as_str()), ("engine", "known:wren"), ("mark", mark), ("customer", customer)];
        shop.post("/jobs/new", &[&fields, more].concat()).await
    };
    form(mark, "B. Oakley", &[]).await.came_back().says("looks like W-17").says("Is it written so?");
    form("W-18", customer, &[]).await.came_back().says("looks like A. Miller");
    form("W-18", "T\u{3bf}m", &[]).await.came_back().says("several alphabets");
    let json = async |path: &str, body: String| {
        shop.send("POST", path, "Content-Type: application/json\r\n", body.as_bytes()).await
    };
    let crank = |sure: &str| {
        let id = id();
        format!(
            r#"{{"id":"{id}","who":"Pat","when":"2026-11-30T09:00:00Z","mark":"{mark}","customer":"{customer}","what":{{"engine":"wren"}}{sure}}}"#
        )
    };
    let page = json("/api/jobs", crank("")).await;
    assert_eq!(page.status, 422, "{}", page.text);
    page.says("looks like W-17").says("looks like A. Miller").says("\"sure\"");
    assert_eq!(
        shop.store.jobs(&shop::Wanted::default()).await.expect("jobs").all,
        1,
        "nothing was booked in meanwhile"
    );
    // What is put right later is asked about too; the names of the job itself are not.
    let page = form("W-19", "A. Miller", &[]).await;
    assert_eq!(page.status, 303, "{}", page.text);
    let job: i64 = page.to.split('/').nth(2).and_then(|n| n.parse().ok()).expect("a job");
    let put_right = async |mark: &str, more: &[(&str, &str)]| {
        let (id, seen) = (id(), shop.store.entries(job, 0).await.expect("entries").len().to_string());
        let fields = [("id", id.as_str()), ("seen", seen.as_str()), ("mark", mark), ("customer", "A. Miller")];
        shop.post(&format!("/jobs/{job}/particulars"), &[&fields, more].concat()).await
    };
    put_right(mark, &[]).await.came_back().says("looks like W-17").says("Is it written so?");
    let first = shop.store.entries(job, 0).await.expect("entries").remove(0);
    let shop::EntryKind::BookedIn(booked_in) = first.kind else { panic!("a job begins with booking in") };
    let entry = |sure: &str| {
        let again = shop::EntryKind::BookedIn(shop::BookedIn { mark: mark.to_owned(), ..booked_in.clone() });
        let kind = serde_json::to_string(&again).expect("an entry");
        let (first, id) = (first.id, id());
        format!(
            r#"{{"seen":1,"entries":[{{"id":"{id}","who":"Pat","when":"2026-11-30T09:00:00Z","corrects":"{first}","kind":{kind}}}]{sure}}}"#
        )
    };
    let entries = format!("/api/jobs/{job}/entries");
    let page = json(&entries, entry("")).await;
    assert_eq!(page.status, 422, "{}", page.text);
    page.says("looks like W-17");
    let page = json(&entries, entry(r#","sure":true"#)).await;
    assert_eq!(page.status, 200, "{}", page.text);
    assert_eq!(put_right(mark, &[]).await.status, 303, "it was said to be right");
    assert_eq!(json("/api/jobs", crank(r#","sure":true"#)).await.status, 201);
    // People through the interface as on their page.
    let person = |sure: &str| {
        let id = id();
        format!(
            r#"{{"entries":[{{"id":"{id}","who":"Pat","when":"2026-11-30T09:00:00Z","kind":{{"person":{{"name":"T\u03bfm"}}}}}}]{sure}}}"#
        )
    };
    let page = json("/api/shop/log", person("")).await;
    assert_eq!(page.status, 422, "{}", page.text);
    page.says("several alphabets");
    assert_eq!(json("/api/shop/log", person(r#","sure":true"#)).await.status, 200);
}

/// A search finds a name however it is written, there and in the search.
#[tokio::test]
async fn a_search_finds_a_name_however_it_is_written() {
    let shop = open("names-search").await;
    booked(&shop, "Ｗ-17", "Zoe\u{308} Ｋlein").await;
    for search in ["w-17", "ZOË", "Zoe\u{308}", "klein", "ｋｌｅｉｎ"] {
        let wanted = shop::Wanted { search: search.to_owned(), ..shop::Wanted::default() };
        assert_eq!(shop.store.jobs(&wanted).await.expect("jobs").all, 1, "{search}");
    }
}
