//! The shop's own pages, and the first time.

mod support;

use shop::{Store, Value};
use support::{Opened, Page, booked, id, open};

async fn post(shop: &Opened, path: &str, fields: &[(&str, &str)]) -> Page {
    let name = id();
    let mut all = vec![("id", name.as_str())];
    all.extend(fields);
    shop.post(path, &all).await
}

#[tokio::test]
async fn the_three_questions_may_be_answered_or_skipped() {
    let shop = open("start").await;
    shop.get("/start").await.says("Who is it for?").says("Skip these").says("Look at the example");
    let page = post(&shop, "/start", &[("for", "own"), ("units", "mm"), ("next", "crank")]).await;
    assert_eq!((page.status, page.to.as_str()), (303, "/jobs/new"));
    let kept = shop.store.shop().await.expect("the shop");
    assert_eq!((kept.setting("for"), kept.setting("units")), (Some("own"), Some("mm")));
    shop.get("/jobs/new").await.says("<option value=\"mm\" selected>");
    let job = booked(&shop, "C-1", "A. Miller").await;
    shop.get("/jobs").await.says("<h1>Your cranks</h1>").says(&format!("/jobs/{job}/measure")).lacks("Stages of work");
    let skipped = open("skipped").await;
    let page = post(&skipped, "/start", &[("for", "rubbish"), ("next", "nowhere")]).await;
    assert_eq!(page.to, "/jobs/new");
    assert_eq!(skipped.store.shop().await.expect("the shop").seq, 0);
}

#[tokio::test]
async fn the_example_is_opened_removed_and_brought_back() {
    let shop = open("example").await;
    let page = post(&shop, "/start", &[("next", "example")]).await;
    assert_eq!(page.to, "/jobs/1001");
    shop.get("/jobs").await.says("<strong>EXAMPLE</strong>").says("No jobs yet.");
    assert_eq!(shop.store.jobs(&shop::Wanted::default()).await.expect("the list").all, 0);
    assert_eq!(shop.post("/shop/example", &[("do", "remove")]).await.status, 303);
    shop.get("/jobs").await.lacks("EXAMPLE");
    shop.get("/shop/record").await.says("Bring it back").lacks("Remove the example</button>");
    assert_eq!(shop.post("/shop/example", &[("do", "open")]).await.to, "/jobs/1001");
    // Opened again it is the same one.
    assert_eq!(shop.post("/shop/example", &[("do", "open")]).await.to, "/jobs/1001");
}

#[tokio::test]
async fn settings_are_kept_and_rubbish_comes_back() {
    let shop = open("settings").await;
    let good = [
        ("name", "Oxbow Engine Works"),
        ("address", "Unit 3\r\nOld Dairy Lane"),
        ("for", "shop"),
        ("words", "rod journal"),
        ("units", "in"),
        ("stations", "3"),
        ("order", "direction"),
        ("page", "A4"),
        ("in_100", "95"),
    ];
    assert_eq!(post(&shop, "/shop", &good).await.to, "/shop");
    let kept = shop.store.shop().await.expect("the shop");
    assert_eq!(kept.setting("confidence"), Some("0.95"));
    assert_eq!(kept.setting("stations"), Some("3"));
    assert_eq!(kept.setting("words"), Some("rod journal"));
    shop.get("/shop").await.says("value=\"95\"").says("Old Dairy Lane").says("· Oxbow Engine Works</title>");
    shop.get("/words").await.says("<dt><b>Rod journal</b></dt>");
    let long = "x".repeat(10_000);
    for (field, value, says) in [
        ("in_100", "100", "above 0 and below 100"),
        ("in_100", "ninety", "above 0 and below 100"),
        ("in_100", "-5", "above 0 and below 100"),
        ("name", long.as_str(), "longer than 200 characters"),
        ("address", "a\u{0}b", "cannot be seen"),
        ("words", "<b>", "Choose one of the list"),
    ] {
        let mut fields: Vec<(&str, &str)> = good.iter().copied().filter(|(known, _)| *known != field).collect();
        fields.push((field, value));
        post(&shop, "/shop", &fields).await.came_back().says(says).says("<option value=\"direction\" selected>");
    }
    assert_eq!(shop.store.shop().await.expect("the shop"), kept);
    // The rule of the shop goes with each crank that is booked in.
    let job = booked(&shop, "C-1", "A. Miller").await;
    let sheet = shop.store.job(job).await.expect("the job").sheet_json();
    assert!(sheet.contains("\"confidence\":0.95"), "{sheet}");
}

#[tokio::test]
async fn people_come_and_go() {
    let shop = open("people").await;
    shop.get("/shop/people").await.says("Nobody is named yet.");
    assert_eq!(post(&shop, "/shop/people", &[("name", "<i>Pat</i>")]).await.status, 303);
    shop.get("/jobs").await.says("<option>&#60;i&#62;Pat&#60;/i&#62;</option>");
    post(&shop, "/shop/people", &[("name", "<i>Pat</i>")]).await.came_back().says("is in the list already");
    post(&shop, "/shop/people", &[("name", "  ")]).await.came_back().says("Enter a name.");
    post(&shop, "/shop/people", &[("name", &"é".repeat(201))]).await.came_back().says("longer than 200");
    assert_eq!(shop.store.shop().await.expect("the shop").people, ["<i>Pat</i>"]);
    assert_eq!(post(&shop, "/shop/people", &[("name", "<i>Pat</i>"), ("do", "away")]).await.status, 303);
    assert!(shop.store.shop().await.expect("the shop").people.is_empty());
}

#[tokio::test]
async fn micrometers_are_kept_tried_and_taken_into_jobs() {
    let shop = open("micrometers").await;
    let mic = [("name", "mic 1-2"), ("units", "in"), ("low", "1"), ("high", "2"), ("graduation", "0.0001")];
    let path = "/shop/micrometers";
    assert_eq!(post(&shop, path, &mic).await.to, path);
    for (field, value, says) in [
        ("name", "", "Enter the shop’s name for it"),
        ("graduation", "coarse", "Found"),
        ("high", "", "Enter both ends of the range"),
        ("name", "mic 1-2", "There is a micrometer called mic 1-2 already."),
    ] {
        let mut fields: Vec<(&str, &str)> = mic.iter().copied().filter(|(known, _)| *known != field).collect();
        fields.push((field, value));
        post(&shop, path, &fields).await.came_back().says(says);
    }
    let change = [
        ("old", "mic 1-2"),
        ("name", "mic 1-2"),
        ("units", "in"),
        ("low", "1"),
        ("high", "2"),
        ("error_limit", "0.0002"),
    ];
    shop.get("/shop/micrometers?change=mic+1-2").await.says("Change mic 1-2").says("value=\"0.0001\"");
    assert_eq!(post(&shop, path, &change).await.status, 303);

    let trial = |reads: &'static str, by: &'static str| {
        [("do", "trial"), ("instrument", "mic 1-2"), ("standard", "1.0000"), ("reads", reads), ("by", by)]
    };
    post(&shop, path, &trial("high", "")).await.came_back().says("Enter by how much");
    post(&shop, path, &trial("right", "0.0001")).await.came_back().says("Choose high or low");
    post(&shop, path, &trial("high", "3")).await.came_back().says("a small departure");
    assert_eq!(post(&shop, path, &trial("right", "")).await.status, 303);
    assert_eq!(post(&shop, path, &trial("low", "0.0001")).await.status, 303);
    shop.get(path).await.says("<td class=\"fig\">-0.0001</td>").says("<td class=\"fig\">0</td>");
    let known = &shop.store.shop().await.expect("the shop").instruments[0];
    assert_eq!(known.checks.iter().map(|check| check.reads.as_str()).collect::<Vec<_>>(), ["0", "-0.0001"]);
    assert_eq!(known.row.get("error_limit"), Some(&Value::Number("0.0002".into())));

    let job = booked(&shop, "C-1", "A. Miller").await;
    let job = shop.store.job(job).await.expect("the job");
    let mics = job.document.get("instrument").map(Value::items).unwrap_or_default();
    assert_eq!(mics[0].words("name"), Some("mic 1-2"));
    assert_eq!(mics[0].get("zero"), Some(&Value::Number("-0.0001".into())));
    assert_eq!(post(&shop, path, &[("do", "away"), ("name", "mic 1-2")]).await.status, 303);
    shop.get(path).await.says("No micrometers yet.");
}

#[tokio::test]
async fn engines_are_added_and_put_away() {
    let shop = open("engines").await;
    let text = support::WREN.replace("Wren, a test", "Wren, ours");
    post(&shop, "/shop/engines/new", &[("pasted", "= 3")]).await.came_back().says("cannot be read");
    post(&shop, "/shop/engines/new", &[("name", "Half")])
        .await
        .came_back()
        .says("Enter the stroke, from the engine’s manual.");
    assert_eq!(post(&shop, "/shop/engines/new", &[("pasted", &text)]).await.to, "/shop/engines");
    shop.get("/shop/engines").await.says("Wren, ours").says("Come with the program");
    assert_eq!(post(&shop, "/shop/engines", &[("name", "Wren, ours")]).await.status, 303);
    shop.get("/shop/engines").await.says("No engines of the shop’s own yet.");
}

#[tokio::test]
async fn prices_are_kept_for_all_or_for_one_engine() {
    let shop = open("prices").await;
    let path = "/shop/prices";
    shop.get(path).await.says("No prices yet. The ladder ranks by chance only.");
    let all = [
        ("main.pass", "90"),
        ("main.shells", "45"),
        ("main.scrap", "260"),
        ("pin.pass", "120"),
        ("pin.shells", "38"),
        ("pin.scrap", "260"),
    ];
    let with = |field: &'static str, value: &'static str, engine: &'static str| {
        let mut fields: Vec<(&str, &str)> = all.iter().copied().filter(|(known, _)| *known != field).collect();
        fields.extend([(field, value), ("engine", engine)]);
        fields
    };
    post(&shop, path, &with("pin.pass", "", ""))
        .await
        .came_back()
        .says("for the pins, or leave every price empty")
        .says("value=\"45\"");
    post(&shop, path, &with("pin.pass", "£90", ""))
        .await
        .came_back()
        .says("expected a price of 0 or more; write it as a plain number.");
    post(&shop, path, &with("pin.shells", "38, 42", "")).await.came_back().says("Engines differ in their undersizes");
    post(&shop, path, &with("pin.shells", "38, 42, 50", "wren"))
        .await
        .came_back()
        .says("2 prices, one for each undersize");
    assert_eq!(shop.store.shop().await.expect("the shop").prices, []);
    assert_eq!(post(&shop, path, &with("pin.shells", "38", "")).await.status, 303);
    assert_eq!(post(&shop, path, &with("pin.shells", "40, 44", "wren")).await.to, "/shop/prices?engine=wren");
    shop.get("/shop/prices?engine=wren").await.says("value=\"40, 44\"");
    post(&shop, path, &with("item", "Crack test 35", "wren"))
        .await
        .came_back()
        .says("“Crack test 35”: write what it is, an equals sign and its price.");
    post(&shop, path, &with("item", "Crack test = £35", "wren"))
        .await
        .came_back()
        .says("expected a price of 0 or more; write it as a plain number.");
    let mut besides = with("pin.shells", "40, 44", "wren");
    besides.extend([("polish", "60"), ("item", "Crack test = 35\n\nPlugs, new = 4 x 2.50")]);
    assert_eq!(post(&shop, path, &besides).await.status, 303);
    shop.get("/shop/prices?engine=wren").await.says("Crack test = 35\nPlugs, new = 4 x 2.50</textarea>");
    let job = booked(&shop, "C-1", "A. Miller").await;
    let sheet = shop.store.job(job).await.expect("the job").sheet_json();
    assert!(sheet.contains("\"shells\":[40,44]"), "{sheet}");
    let items = r#""polish":60,"item":[{"what":"Crack test","price":35},{"what":"Plugs, new","count":4,"price":2.50}]"#;
    assert!(sheet.contains(items), "{sheet}");
}

#[tokio::test]
async fn a_backup_is_written_beside_the_record_and_is_whole() {
    let shop = open("backup").await;
    booked(&shop, "C-1", "A. Miller").await;
    let page = shop.post("/shop/backup", &[("folder", "/nowhere/at/all")]).await;
    page.came_back().says("There is no folder /nowhere/at/all.").says("value=\"/nowhere/at/all\"");
    let page = shop.post("/shop/backup", &[]).await;
    assert_eq!(page.to, "/shop/record");
    let said = loop {
        let page = shop.get("/shop/record").await;
        if !page.text.contains("Running since") {
            break page;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    };
    said.says("Written to ").says("1 job, 1 entry, 0 photographs");
    let files = std::fs::read_dir(&shop.folder).expect("the folder");
    let names: Vec<_> = files.filter_map(|file| file.ok()?.file_name().into_string().ok()).collect();
    let name = names.iter().find(|name| name.starts_with("backup-")).expect("a backup");
    let copy = Store::open_to_read(&shop.folder.join(name)).await.expect("a record");
    assert_eq!(copy.verify().await.expect("looked through").jobs, 1);
    assert_eq!(shop.post("/shop/verify", &[]).await.to, "/shop/record");
    shop.get("/shop/record").await.says("The record is whole: 1 job, 1 entry");
}

/// What a shop takes for granted about what nobody measured stands in the sheet of each crank booked in from then on.
#[tokio::test]
async fn what_a_shop_assumes_reaches_its_jobs() {
    let shop = open("assumed").await;
    shop.get("/shop").await.says("Empty: the usual 0.00150 in (0.0381 mm).").says("Empty: the usual 0.5 1.");
    let before = booked(&shop, "C-1", "A. Miller").await;
    for (field, typed, says) in [
        ("assumed_level", "0.002", "write the unit too, like 0.002 in or 0.002 mm."),
        ("assumed_level", "3 in", "expected more than 0, below 0.1 in (2.54 mm)"),
        ("assumed_other_step", "3", "expected a share from 0 to 1"),
        ("assumed_one_sided", "0.9 0.6", "two shares from 0.5 to 1, the smaller first"),
    ] {
        post(&shop, "/shop", &[(field, typed)]).await.came_back().says(says).says(&format!("value=\"{typed}\""));
    }
    let good = [
        ("assumed_level", "0.05 mm"),
        ("assumed_journals_spread", "0.6"),
        ("assumed_other_step", ""),
        ("assumed_one_sided", "0.8 0.8"),
        ("assumed_bow", "0.0002 in"),
        ("assumed_hidden_form", "0.00005 in"),
    ];
    assert_eq!(post(&shop, "/shop", &good).await.status, 303);
    shop.get("/shop").await.says("<details open>").says("value=\"0.05 mm\"").says("value=\"0.8 0.8\"");
    let job = booked(&shop, "C-2", "A. Miller").await;
    let after = shop.store.job(job).await.expect("the job").sheet_json();
    let told = r#""assumed":{"level":"0.05 mm","journals_spread":0.6,"one_sided":[0.8,0.8],"bow":"0.0002 in","hidden_form":"0.00005 in"}"#;
    assert!(after.contains(told), "{after}");
    // A crank booked in before keeps what it was judged by.
    let old = shop.store.job(before).await.expect("the job").sheet_json();
    assert!(!old.contains("assumed"), "{old}");
}
