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
