//! Where nobody names a record and there is none, nothing is made before the first page was answered.
#![cfg(feature = "pages")]

mod served;

use std::path::Path;

use serde_json::json;
use served::{Dice, Served, folder, program};

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn in_folder(folder: &Path) -> Served {
    let mut command = program();
    command.args(["serve", "--port", "0"]).current_dir(folder).env_remove("TENUNDER_RECORD");
    Served::start(command)
}

#[test]
fn the_first_page_asks_and_makes_the_record_when_it_is_told_to() {
    let folder = folder("begin");
    let served = in_folder(&folder);
    let page = served.get("/");
    let place = folder.join("shop.tenunder");
    assert!(page.status == 200 && page.body.contains("No record yet"), "{page:?}");
    assert!(page.body.contains(&place.display().to_string()), "it says where: {}", page.body);
    assert_eq!(served.get("/jobs/1004/measure").header("location"), Some("/"));
    assert_eq!(served.get("/static/bench.css").status, 200);
    for answer in [served.get("/api/jobs"), served.post_json("/api/jobs", &json!({}))] {
        assert_eq!((answer.status, answer.json()["happened"].as_str()), (503, Some("There is no record yet.")));
    }
    let cookie = page.header("set-cookie").unwrap().split(';').next().unwrap().to_owned();
    let token = page.body.split("name=\"token\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let send = |cookie: &str, body: &str| {
        let headers = [("Content-Type", "application/x-www-form-urlencoded"), ("Cookie", cookie)];
        served.ask("POST", "/begin", &headers, body.as_bytes()).unwrap()
    };
    // Not a form of this page.
    assert_eq!(send(&cookie, "token=0123").status, 409);
    assert_eq!(send("", &format!("token={token}")).status, 409);
    let elsewhere = [("Origin", "http://elsewhere.example"), ("Cookie", cookie.as_str())];
    let body = format!("token={token}");
    assert_eq!(served.ask("POST", "/begin", &elsewhere, body.as_bytes()).unwrap().status, 403);
    assert_eq!(names(&folder), [""; 0], "nothing was made");
    // Twice, as people click.
    for _ in 0..2 {
        assert_eq!(send(&cookie, &body).status, 303);
    }
    assert!(names(&folder).contains(&"shop.tenunder.key".to_owned()), "{:?}", names(&folder));
    assert_eq!(served.get("/").header("location"), Some("/start"));
    let crank = json!({
        "id": Dice::thrown().id(), "who": "Pat", "when": "2026-11-25T09:00:00Z", "what": { "engine": "tarn-four" }
    });
    assert_eq!(served.post_json("/api/jobs", &crank).status, 201);
    assert_eq!(served.get("/jobs/1001/measure").status, 200, "pages read their own address");
    let mut served = served;
    assert_eq!(served.end("TERM"), Some(0));
    assert_eq!(names(&folder), ["shop.tenunder", "shop.tenunder.key"]);
    let served = in_folder(&folder);
    assert_eq!(served.get("/").header("location"), Some("/jobs"));
}

/// A page or a form cannot be opened by a later one where another program made the record meanwhile: it is not replaced.
#[test]
fn a_record_that_is_there_by_then_is_left_alone() {
    let folder = folder("begin-late");
    let served = in_folder(&folder);
    let page = served.get("/");
    std::fs::write(folder.join("shop.tenunder"), "something else").unwrap();
    let cookie = page.header("set-cookie").unwrap().split(';').next().unwrap().to_owned();
    let token = page.body.split("name=\"token\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let headers = [("Content-Type", "application/x-www-form-urlencoded"), ("Cookie", cookie.as_str())];
    let answer = served.ask("POST", "/begin", &headers, format!("token={token}").as_bytes()).unwrap();
    assert!(answer.status == 500 && answer.body.contains("is there already"), "{answer:?}");
    assert_eq!(std::fs::read(folder.join("shop.tenunder")).unwrap(), b"something else");
}
