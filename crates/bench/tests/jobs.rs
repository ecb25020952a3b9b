//! The list of jobs, and booking in.

mod support;

use shop::{BookedIn, Draft, EntryKind, Stage, Value};
use support::{WREN, booked, id, open};

#[tokio::test]
async fn an_unused_record_begins_with_questions_and_a_used_one_with_its_jobs() {
    let shop = open("first").await;
    assert_eq!(shop.get("/").await.to, "/start");
    let list = shop.get("/jobs").await;
    list.says("No jobs yet.").says("Book in a crank").says("Open the example");
    booked(&shop, "C-1", "A. Miller").await;
    assert_eq!(shop.get("/").await.to, "/jobs");
}

#[tokio::test]
async fn a_known_engine_is_booked_in_with_its_whole_specification() {
    let shop = open("known").await;
    let form = shop.get("/jobs/new").await;
    form.says("Wren, a test (invented)");
    let fields = [
        ("id", form.hidden("id")),
        ("engine", "known:wren".into()),
        ("mark", "C-0412".into()),
        ("customer", "O'Brien & Söhne <b>".into()),
        ("telephone", "01792 446 118".into()),
        ("promised", "2026-11-30".into()),
    ];
    let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let page = shop.post("/jobs/new", &fields).await;
    assert_eq!((page.status, page.to.as_str()), (303, "/jobs/1001/measure"));
    // Sent twice it is one job.
    assert_eq!(shop.post("/jobs/new", &fields).await.to, "/jobs/1001/measure");
    assert_eq!(shop.store.stages().await.expect("counts")[0], (Stage::BookedIn, 1));
    let job = shop.store.job(1001).await.expect("the job");
    assert_eq!(job.booked_in.customer, "O'Brien & Söhne <b>");
    assert_eq!(job.booked_in.promised.as_deref(), Some("2026-11-30"));
    assert_eq!(job.booked_in.crank, "Wren, a test");
    assert_eq!(job.booked_in.sheet.get("specification"), Some(&Value::from_text(WREN).expect("a specification")));
    let list = shop.get("/jobs").await;
    list.says("O&#39;Brien &#38; Söhne &#60;b&#62;")
        .lacks("Söhne <b>")
        .says("Measure<span class=\"hush\"> job 1001</span>");
}

#[tokio::test]
async fn a_form_that_cannot_be_taken_comes_back_with_what_was_typed() {
    let shop = open("back").await;
    let long = "x".repeat(10_000);
    for (field, value, says) in [
        ("customer", long.as_str(), "The customer is longer than 200 characters."),
        ("mark", "C\u{7}1", "The mark has a character that cannot be seen (U+0007)."),
        ("promised", "soon", "The promised day must be a date, like 2026-11-30."),
        ("engine", "known:other", "That engine is not in the list any more."),
        ("engine", "", "Choose the engine, or type a new one in below."),
    ] {
        let mut fields = vec![(field, value), ("customer", "<script>alert(1)</script>")];
        if field != "engine" {
            fields.push(("engine", "known:wren"));
        }
        let name = id();
        fields.push(("id", &name));
        let page = shop.post("/jobs/new", &fields).await;
        page.came_back().says(says).says("what you typed is kept").lacks("<script>alert");
        if field != "customer" {
            page.says("&#60;script&#62;alert(1)&#60;/script&#62;");
        }
        if field != "engine" {
            page.says("aria-invalid=\"true\"");
        }
    }
    assert_eq!(shop.store.jobs(&shop::Wanted::default()).await.expect("the list").all, 0);
}

#[tokio::test]
async fn a_form_sent_again_with_other_words_is_not_taken_for_the_first() {
    let shop = open("resent").await;
    let name = id();
    let send = |customer| {
        let fields = [("id", name.as_str()), ("engine", "known:wren"), ("customer", customer)];
        let shop = &shop;
        async move { shop.post("/jobs/new", &fields).await }
    };
    assert_eq!(send("A. Miller").await.status, 303);
    let page = send("B. Potter").await;
    assert_eq!(page.status, 409);
    page.says("This page was sent before with other words in it").says("B. Potter");
    assert_ne!(page.hidden("id"), name);
    assert_eq!(shop.post("/jobs/new", &[("id", "no name"), ("engine", "known:wren")]).await.status, 409);
}

/// The figures of a book, typed field by field.
const TYPED: [(&str, &str); 17] = [
    ("engine", "typed"),
    ("name", "Tarn four"),
    ("book_units", "in"),
    ("stroke", "3.0000"),
    ("layout", "four"),
    ("main.length", "1.10"),
    ("main.low", "2.1245"),
    ("main.high", "2.1250"),
    ("main.undersizes", "0.010, 0.020"),
    ("pin.length", "0.95"),
    ("pin.low", "1.8745"),
    ("pin.high", "1.8750"),
    ("pin.undersizes", "0.010, 0.020"),
    ("out_of_round", "0.0005"),
    ("taper", "0.0005"),
    ("treatment", "nitriding"),
    ("growth", "0.0005"),
];

#[tokio::test]
async fn an_engine_typed_in_is_checked_and_can_be_chosen_next_time() {
    let shop = open("typed").await;
    let name = id();
    let with = |field: &'static str, value: &'static str| {
        let mut fields: Vec<(&str, &str)> = TYPED.iter().copied().filter(|(known, _)| *known != field).collect();
        fields.push((field, value));
        fields
    };
    let mut wrong = with("main.low", "2.1350");
    wrong.push(("id", &name));
    let page = shop.post("/jobs/new", &wrong).await;
    page.came_back()
        .says("Smallest new size must be less than the largest, 2.1250.")
        .says("Some manuals print this wrong");
    page.says("value=\"2.1350\"").says("<details class=\"panel\" open>");
    assert_eq!(shop.store.shop().await.expect("the shop").specifications, []);

    let mut checked = with("do", "check");
    checked.push(("id", &name));
    let page = shop.post("/jobs/new", &checked).await;
    assert_eq!(page.status, 200, "{}", page.text);
    page.says("No spacing was typed").says("Throws are taken to point to 0, 180, 180, 0 degrees");
    assert_eq!(shop.store.jobs(&shop::Wanted::default()).await.expect("the list").all, 0);

    let mut fields = with("customer", "A. Miller");
    fields.push(("id", &name));
    let page = shop.post("/jobs/new", &fields).await;
    assert_eq!((page.status, page.to.as_str()), (303, "/jobs/1001/measure"), "{}", page.text);
    let kept = shop.store.shop().await.expect("the shop");
    assert_eq!(kept.specifications[0].0, "Tarn four");
    let job = shop.store.job(1001).await.expect("the job");
    assert_eq!(job.booked_in.sheet.get("specification"), Some(&kept.specifications[0].1));
    let sheet = format!("{}\n", job.sheet_json());
    assert!(sheet.contains("\"throw\":1.5"), "{sheet}");
    shop.get("/jobs/new").await.says("<option value=\"own:Tarn four\">Tarn four</option>");

    // Another engine of the same name could not be told apart.
    let mut other = with("pin.low", "1.8740");
    let fresh = id();
    other.push(("id", &fresh));
    shop.post("/jobs/new", &other).await.came_back().says("There is another engine called Tarn four.");
}

#[tokio::test]
async fn a_specification_can_be_pasted() {
    let shop = open("pasted").await;
    let text = WREN.replace("Wren, a test", "Wren, pasted");
    let page = shop.post("/jobs/new", &[("id", &id()), ("pasted", "throw = = 2")]).await;
    page.came_back().says("The specification cannot be read").says("throw = = 2");
    let page = shop.post("/jobs/new", &[("id", &id()), ("pasted", &text)]).await;
    assert_eq!(page.to, "/jobs/1001/measure", "{}", page.text);
    assert_eq!(shop.store.job(1001).await.expect("the job").booked_in.crank, "Wren, pasted");
}

fn draft(n: usize, promised: &str) -> Draft {
    let booked = BookedIn {
        mark: format!("C-{n}"),
        customer: format!("Customer {n}"),
        telephone: format!("01792 {:06}", 400_000 + n),
        crank: "Wren".into(),
        promised: Some(promised.into()),
        sheet: Value::table([("units", Value::from("in")), ("specification", Value::from_text(WREN).expect("a book"))]),
        example: false,
    };
    Draft::new(shop::fresh_id().expect("an id"), "Pat", "2026-11-20T09:00:00Z", EntryKind::BookedIn(booked))
}

#[tokio::test]
async fn the_list_has_fifty_a_page_and_finds_by_words() {
    let shop = open("list").await;
    for n in 0..120 {
        shop.store.book_in(&[draft(n, if n == 7 { "2020-02-28" } else { "2999-01-01" })]).await.expect("booked");
    }
    let page = shop.get("/jobs").await;
    page.says("1 to 50 of 120").says("Booked in <span class=\"fig\">120</span>").says("href=\"/jobs?page=1\"");
    assert_eq!(page.text.matches("<li class=\"card").count(), 50);
    let last = shop.get("/jobs?page=2").await;
    last.says("101 to 120 of 120").lacks("Fifty after").says("Fifty before");
    // Rubbish in the address shows the first page.
    for rubbish in ["page=-1", "page=99999999999", "page=4000000", "page=x&page=2&stage=nowhere&stage=", "%ff&&=&page"]
    {
        let page = shop.get(&format!("/jobs?{rubbish}")).await;
        assert_eq!(page.status, 200);
        page.says("1 to 50 of 120");
    }
    let page = shop.get("/jobs?search=customer+77").await;
    page.says("1 to 1 of 1").says("Customer 77");
    shop.get("/jobs?search=400077").await.says("Customer 77");
    shop.get("/jobs?search=wit")
        .await
        .says("No job matches ‘wit’. Search looks at number, name, crank")
        .says("Show all open jobs");
    shop.get("/jobs?search=%3Cscript%3E").await.says("‘&#60;script&#62;’").lacks("<script>’");
    shop.get("/jobs?stage=at_the_grinder")
        .await
        .says("Nothing at the grinder.")
        .says("aria-current=\"page\">At the grinder");
    let late = shop.get("/jobs?search=customer+7").await;
    late.says("late by ").says("class=\"card late\"").says("promised 28 Feb 2020");
    assert_eq!(late.text.matches("class=\"card late\"").count(), 1);
}

#[tokio::test]
async fn the_name_form_returns_to_its_page_and_keeps_name_and_size() {
    let shop = open("who").await;
    let token = shop.get("/jobs").await.hidden("token");
    let body = format!("token={token}&who=J%C3%BCrgen+O%27Brien&size=bench");
    let form = "Content-Type: application/x-www-form-urlencoded\r\n";
    let page = shop.send("POST", "/who", &format!("{form}{}", shop.referer("/jobs?search=x")), body.as_bytes()).await;
    assert_eq!((page.status, page.to.as_str()), (303, "/jobs?search=x"));
    shop.get("/jobs").await.says("class=\"size-bench\"").says("<option selected>Jürgen O&#39;Brien</option>");
    let page =
        shop.send("POST", "/who", &format!("{form}Referer: http://elsewhere.example/x\r\n"), body.as_bytes()).await;
    assert_eq!(page.to, "/jobs");
    let page = shop.post("/who", &[("who", "a\u{0}b")]).await;
    assert_eq!(page.status, 422);
    page.says("has a character that cannot be seen");
    let wrong = shop.send("POST", "/who", form, b"token=0&who=Sam").await;
    assert_eq!(wrong.status, 409);
    shop.get("/jobs").await.says("<option selected>Jürgen O&#39;Brien</option>");
    let number = booked(&shop, "C-1", "A. Miller").await;
    assert_eq!(shop.store.entries(number, 0).await.expect("entries")[0].who, "Jürgen O'Brien");
}

#[tokio::test]
async fn jobs_and_pages_that_are_not_there_say_so() {
    let shop = open("lost").await;
    for path in ["/jobs/9999", "/jobs/abc", "/jobs/-1", "/jobs/0", "/jobs/99999999999999999999"] {
        let page = shop.get(path).await;
        assert_eq!(page.status, 404, "{path}");
        page.says("No job ").says("name=\"search\"");
    }
    assert_eq!(shop.get("/nowhere").await.status, 404);
}
