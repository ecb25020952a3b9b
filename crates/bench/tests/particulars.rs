//! The particulars of a job, its photographs and its history.

mod support;

use shop::{EntryKind, Stage, Value};
use support::{Opened, Page, WREN, booked, id, open};

/// Sends a form of the particulars as the page just loaded has it.
async fn post(shop: &Opened, part: &str, fields: &[(&str, &str)]) -> Page {
    let seen = shop.store.head(1001).await.expect("the job").seq.to_string();
    let name = id();
    let mut all = vec![("id", name.as_str()), ("seen", seen.as_str())];
    all.extend(fields);
    shop.post(&format!("/jobs/1001/particulars{part}"), &all).await
}

const ABOUT: [(&str, &str); 5] = [
    ("mark", "C-2"),
    ("customer", "B. Potter"),
    ("telephone", "01792 446 118"),
    ("crank", "Wren, blue"),
    ("promised", "2026-12-01"),
];

#[tokio::test]
async fn what_booking_in_said_is_put_right() {
    let shop = open("about").await;
    booked(&shop, "C-1", "A. Miller").await;
    shop.get("/jobs/1001/particulars").await.says("value=\"A. Miller\"");
    assert_eq!(post(&shop, "", &ABOUT).await.to, "/jobs/1001/particulars#about");
    let job = shop.store.job(1001).await.expect("the job");
    assert_eq!((job.booked_in.customer.as_str(), job.booked_in.mark.as_str()), ("B. Potter", "C-2"));
    assert_eq!(job.booked_in.promised.as_deref(), Some("2026-12-01"));
    assert!(job.booked_in.sheet.get("specification").is_some());
    let history = shop.get("/jobs/1001/history").await;
    history.says("instead of booking in Wren, a test of A. Miller");

    let long = "x".repeat(10_000);
    let mut wrong = ABOUT;
    wrong[1].1 = &long;
    post(&shop, "", &wrong).await.came_back().says("The customer is longer than 200 characters.").says("Wren, blue");
    wrong[1].1 = "<script>";
    wrong[4].1 = "Tuesday";
    post(&shop, "", &wrong).await.came_back().says("must be a date").says("&#60;script&#62;").lacks("<script>\"");
    assert_eq!(shop.store.job(1001).await.expect("the job"), job);
}

#[tokio::test]
async fn a_page_that_others_wrote_past_comes_back_with_what_was_typed() {
    let shop = open("stale").await;
    booked(&shop, "C-1", "A. Miller").await;
    let name = id();
    let old = |customer: &'static str, name: &str| {
        let mut fields: Vec<(String, String)> = ABOUT.map(|(name, value)| (name.to_owned(), value.to_owned())).to_vec();
        fields.retain(|(name, _)| name != "customer");
        fields.extend([("customer", customer), ("seen", "1"), ("id", name)].map(|(n, v)| (n.to_owned(), v.to_owned())));
        fields
    };
    let send = async |fields: Vec<(String, String)>| {
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        shop.post("/jobs/1001/particulars", &fields).await
    };
    // A note in between changes nothing about the customer.
    assert_eq!(post(&shop, "/note", &[("text", "came by cart")]).await.status, 303);
    assert_eq!(send(old("First", &name)).await.status, 303);
    let page = send(old("Second", &id())).await;
    assert_eq!(page.status, 409);
    page.says("the shop changed this at ").says("value=\"Second\"");
    assert_eq!(page.hidden("seen"), "3");
    assert_eq!(shop.store.job(1001).await.expect("the job").booked_in.customer, "First");
    // The first one sent once more is written once.
    assert_eq!(send(old("First", &name)).await.status, 303);
    assert_eq!(shop.store.head(1001).await.expect("the job").seq, 3);
    for seen in ["", "x", "99"] {
        let page = shop.post("/jobs/1001/particulars", &[("id", &id()), ("seen", seen), ("customer", "C")]).await;
        assert_eq!(page.status, 409, "seen {seen:?}");
    }
}

#[tokio::test]
async fn a_specification_is_put_right_or_changed() {
    let shop = open("book").await;
    booked(&shop, "C-1", "A. Miller").await;
    let better = WREN.replace("length = 1.1\n", "length = 1.15\n");
    let text = |text: &'static str| text;
    assert_eq!(post(&shop, "/specification", &[("engine", "text"), ("text", &better)]).await.status, 303);
    let book = shop.store.job(1001).await.expect("the job").booked_in.sheet;
    let length =
        |book: &Value| book.get("specification").and_then(|b| b.get("pin")).and_then(|b| b.get("length")).cloned();
    assert_eq!(length(&book), Some(Value::Number("1.15".into())));
    let wrong = WREN.replace("size = [1.2490, 1.2500]", "size = [1.2590, 1.2500]");
    post(&shop, "/specification", &[("engine", "text"), ("text", &wrong)]).await.came_back().says("1.2590");
    post(&shop, "/specification", &[("engine", "text"), ("text", text("= ="))])
        .await
        .came_back()
        .says("cannot be read");
    post(&shop, "/specification", &[("engine", "")]).await.came_back().says("Choose another engine");
    assert_eq!(shop.store.job(1001).await.expect("the job").booked_in.sheet, book);
    assert_eq!(post(&shop, "/specification", &[("engine", "known:wren")]).await.status, 303);
    let book = shop.store.job(1001).await.expect("the job").booked_in.sheet;
    assert_eq!(length(&book), Some(Value::Number("1.1".into())));
}

#[tokio::test]
async fn only_what_changed_of_the_policy_is_written() {
    let shop = open("policy").await;
    booked(&shop, "C-1", "A. Miller").await;
    let usual = [
        ("confidence", "90"),
        ("clean_up_stock", "0.0005"),
        ("axis", "held"),
        ("index_datum", "fixed"),
        ("polish", "before treatment"),
        ("polish_stock", "0.0002"),
        ("finish_stock", "0.0040"),
        ("grinding_spread", "0.0001"),
        ("set_up_error", "0.0003"),
        ("build_up", "false"),
    ];
    let with = |field: &'static str, value: &'static str| {
        usual.map(|(name, old)| (name, if name == field { value } else { old }))
    };
    assert_eq!(post(&shop, "/policy", &usual).await.status, 303);
    assert_eq!(shop.store.head(1001).await.expect("the job").seq, 1);
    assert_eq!(post(&shop, "/policy", &with("axis", "free")).await.status, 303);
    let entries = shop.store.entries(1001, 1).await.expect("entries");
    let policy = Value::table([("axis", Value::from("free"))]);
    assert_eq!(entries[0].kind, EntryKind::PolicyChanged { policy });
    for (field, value, says) in [
        ("confidence", "105", "a chance between 0 and 1"),
        ("confidence", "most", "of 100 must clean up"),
        ("clean_up_stock", "5", "below 0.1 in"),
        ("clean_up_stock", "", "Enter a value"),
        ("axis", "bent", "Found"),
    ] {
        post(&shop, "/policy", &with(field, value)).await.came_back().says(says);
    }
    assert_eq!(shop.store.head(1001).await.expect("the job").seq, 2);
}

#[tokio::test]
async fn notes_stages_and_putting_away() {
    let shop = open("notes").await;
    booked(&shop, "C-1", "A. Miller").await;
    post(&shop, "/note", &[("text", " ")]).await.came_back().says("The note is empty.");
    post(&shop, "/note", &[("text", &"x".repeat(10_001))]).await.came_back().says("longer than 10000 characters");
    assert_eq!(post(&shop, "/note", &[("text", "came <by> cart\r\nin the rain")]).await.status, 303);
    shop.get("/jobs/1001/particulars").await.says("came &#60;by&#62; cart\r\nin the rain");
    post(&shop, "/stage", &[("to", "heaven")]).await.came_back().says("Choose a stage of the list.");
    assert_eq!(post(&shop, "/stage", &[("to", "at_the_grinder")]).await.status, 303);
    assert_eq!(shop.store.head(1001).await.expect("the job").stage, Stage::AtTheGrinder);
    post(&shop, "/away", &[("do", "away"), ("reason", "")]).await.came_back().says("The reason is empty.");
    assert_eq!(post(&shop, "/away", &[("do", "away"), ("reason", "owner has another")]).await.status, 303);
    shop.get("/jobs").await.lacks("A. Miller");
    shop.get("/jobs?away=1").await.says("A. Miller");
    shop.get("/jobs/1001/particulars").await.says("Take it up again");
    assert_eq!(post(&shop, "/away", &[("do", "up")]).await.status, 303);
    assert!(!shop.store.head(1001).await.expect("the job").put_away);
    // Addresses that only take forms lead back to their page.
    assert_eq!(shop.get("/jobs/1001/particulars/note").await.to, "/jobs/1001/particulars");
}

#[tokio::test]
async fn photographs_are_kept_and_shown() {
    let shop = open("photographs").await;
    booked(&shop, "C-1", "A. Miller").await;
    let mut jpeg = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_pixel(8, 6, image::Rgb([90, 90, 90]))
        .write_to(&mut jpeg, image::ImageFormat::Jpeg)
        .expect("a picture");
    let path = "/jobs/1001/particulars/photograph";
    let name = id();
    let fields = [("id", name.as_str()), ("seen", "1"), ("caption", "scored <deep>"), ("journal", "pin 1")];
    let page = shop.post_file(path, &fields, "picture", jpeg.get_ref()).await;
    assert_eq!(page.to, "/jobs/1001/particulars#photographs", "{}", page.text);
    let job = shop.store.job(1001).await.expect("the job");
    assert_eq!(job.photographs[0].journal.as_deref(), Some("pin 1"));
    let page = shop.get("/jobs/1001/particulars").await;
    page.says("alt=\"scored &#60;deep&#62;\"").says("<strong>Pin 1</strong>");
    let picture = shop.get(&format!("/pictures/{}", job.photographs[0].picture)).await;
    assert!(picture.headers.contains("image/jpeg") && picture.headers.contains("immutable"), "{}", picture.headers);
    assert_eq!(&picture.body[..2], [0xff, 0xd8]);

    let name = id();
    let fields = [("id", name.as_str()), ("seen", "2"), ("caption", "kept words"), ("journal", "")];
    shop.post_file(path, &fields, "picture", b"GIF89a rubbish")
        .await
        .came_back()
        .says("This is no JPEG or PNG picture")
        .says("kept words");
    shop.post_file(path, &fields, "picture", b"").await.came_back().says("Choose a picture first");
    let huge = vec![0_u8; 21_000_000];
    shop.post_file(path, &fields, "picture", &huge).await.came_back().says("larger than 20 MB");
    let fields = [("id", name.as_str()), ("seen", "2"), ("caption", "x"), ("journal", "pin 9")];
    shop.post_file(path, &fields, "picture", jpeg.get_ref()).await.came_back().says("Choose a journal of this crank");
    assert_eq!(shop.store.head(1001).await.expect("the job").seq, 2);
    for hash in ["x", &"0".repeat(64), "..%2f..%2fetc"] {
        assert_eq!(shop.get(&format!("/pictures/{hash}")).await.status, 404);
    }
}

#[tokio::test]
async fn history_undoes_what_its_buttons_name() {
    let shop = open("history").await;
    booked(&shop, "C-1", "A. Miller").await;
    shop.get("/jobs/1001/history").await.says("Nothing changed yet.").lacks("Undo booking in");
    post(&shop, "/note", &[("text", "first")]).await;
    post(&shop, "/note", &[("text", "second")]).await;
    let page = shop.get("/jobs/1001/history").await;
    page.says("Undo note: first").says("Undo note: second").lacks("Nothing changed yet.");
    let first = shop.store.entries(1001, 1).await.expect("entries")[0].id.to_string();
    let name = id();
    let undo = [("id", name.as_str()), ("seen", "3"), ("entry", first.as_str())];
    assert_eq!(shop.post("/jobs/1001/history", &undo).await.to, "/jobs/1001/history");
    // Sent twice it is undone once.
    assert_eq!(shop.post("/jobs/1001/history", &undo).await.status, 303);
    assert_eq!(shop.store.head(1001).await.expect("the job").seq, 4);
    let page = shop.get("/jobs/1001/history").await;
    page.says("<s>Note: first</s>").says("Put back note: first").lacks("Undo note: first");
    shop.get("/jobs/1001/particulars").await.says("second").lacks("class=\"as-typed\">first");
    let undone = shop.store.entries(1001, 3).await.expect("entries")[0].id.to_string();
    let page = shop.post("/jobs/1001/history", &[("id", &id()), ("seen", "4"), ("entry", &undone)]).await;
    assert_eq!(page.status, 303, "{}", page.text);
    shop.get("/jobs/1001/particulars").await.says("class=\"as-typed\">first");
    let booked = shop.store.entries(1001, 0).await.expect("entries")[0].id.to_string();
    for entry in [booked.as_str(), "rubbish", &"0".repeat(32)] {
        let page = shop.post("/jobs/1001/history", &[("id", &id()), ("seen", "5"), ("entry", entry)]).await;
        assert_eq!(page.status, 404, "{}", page.text);
    }
}

#[tokio::test]
async fn the_sheet_comes_out_as_a_file() {
    let shop = open("sheet").await;
    booked(&shop, "C-1", "A. Miller").await;
    let page = shop.get("/jobs/1001/sheet.toml").await;
    assert!(page.headers.contains("attachment; filename=\"job-1001.toml\""), "{}", page.headers);
    page.says("sheet = 1").says("mark = \"C-1\"").says("name = \"Wren, a test\"");
    assert_eq!(shop.get("/jobs/1001/sheet.toml?revision=1").await.status, 404);
    assert_eq!(shop.get("/jobs/77/sheet.toml").await.status, 404);
}
