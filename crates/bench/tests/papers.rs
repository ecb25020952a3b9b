//! The papers of a job: on their page, as files, and through the JSON interface.

mod support;

use support::at_work::{
    EYES, TARN, WORN, check_all, clean_up, decided, gone, issue, look, ready_to_sign, send, sign, state, write,
};
use support::{Opened, Page, booked, open};

/// Every paper, by the word it is asked for.
const PAPERS: [&str; 8] = ["form", "report", "quotation", "grinder", "batch", "record", "certificate", "label"];

async fn file(opened: &Opened, job: i64, paper: &str) -> Page {
    opened.get(&format!("/jobs/{job}/papers/{paper}.pdf")).await
}

#[track_caller]
fn is_pdf(page: &Page) {
    assert_eq!(page.status, 200, "{}", page.text);
    assert!(page.headers.to_lowercase().contains("content-type: application/pdf"), "{}", page.headers);
    assert!(page.body.starts_with(b"%PDF-1.7") && page.body.ends_with(b"%%EOF"), "no whole file");
}

/// Asserts that of all papers these can be printed, and that page, files and interface agree on it.
async fn can_be_printed(opened: &Opened, job: i64, wanted: &[&str]) {
    let page = opened.get(&format!("/jobs/{job}/papers")).await;
    assert_eq!(page.status, 200);
    let told: serde_json::Value =
        serde_json::from_slice(&opened.get(&format!("/api/jobs/{job}/papers")).await.body).expect("JSON");
    for paper in PAPERS {
        let link = format!("href=\"/jobs/{job}/papers/{paper}.pdf?size=A4\"");
        let in_list = told.as_array().expect("a list").iter().find(|one| one["paper"] == paper).expect("in the list");
        let (as_file, as_api) =
            (file(opened, job, paper).await, opened.get(&format!("/api/jobs/{job}/papers/{paper}")).await);
        if wanted.contains(&paper) {
            page.says(&link);
            is_pdf(&as_file);
            is_pdf(&as_api);
            assert_eq!(as_file.body, as_api.body, "{paper}");
            assert!(in_list["ready"] == true && in_list["missing"].is_null(), "{in_list}");
        } else {
            page.lacks(&link);
            assert_eq!((as_file.status, as_api.status), (409, 409), "{paper} of job {job}");
            let why = in_list["missing"].as_str().expect("a reason");
            assert!(in_list["ready"] == false && why.split_whitespace().count() > 5, "{paper}: {in_list}");
            let answer: serde_json::Value = serde_json::from_slice(&as_api.body).expect("JSON");
            assert!(why.starts_with(answer["happened"].as_str().expect("what happened")), "{answer}");
        }
    }
}

#[tokio::test]
async fn each_stage_has_its_papers() {
    let opened = open("papers-stages").await;
    let fresh = booked(&opened, "W-1", "Inge Varley").await;
    can_be_printed(&opened, fresh, &["form"]).await;
    file(&opened, fresh, "grinder").await.says("No sheet for the grinder was issued yet.");
    file(&opened, fresh, "report").await.says("Nothing is measured yet");

    let job = decided(&opened).await;
    can_be_printed(&opened, job, &["form", "report", "grinder", "record", "label"]).await;
    clean_up(&opened, job).await;
    gone(&send(&opened, job, "grind/done", &[]).await);
    check_all(&opened, job).await;
    let finished = ["form", "report", "grinder", "record", "certificate", "label"];
    can_be_printed(&opened, job, &finished).await;
    let unsigned = file(&opened, job, "certificate").await.body;
    gone(&look(&opened, job, &EYES, "passed").await);
    gone(&sign(&opened, job, &[("left-treatment", "yes")]).await);
    can_be_printed(&opened, job, &finished).await;
    assert_ne!(file(&opened, job, "certificate").await.body, unsigned, "a signature changes the certificate");
}

#[tokio::test]
async fn a_batch_has_its_slip() {
    let opened = open("papers-batch").await;
    let job = decided(&opened).await;
    let stay = shop::EntryKind::SentToTreatment { batch: "N-31".into(), sizes: Vec::new() };
    write(&opened, job, stay).await;
    can_be_printed(&opened, job, &["form", "report", "grinder", "record", "label", "batch"]).await;
}

#[tokio::test]
async fn what_has_a_price_can_be_quoted() {
    let opened = open("papers-quotation").await;
    let prices =
        "[prices.main]\npass = 110\nshells = 48\nscrap = 420\n[prices.pin]\npass = 125\nshells = 42\nscrap = 420\n";
    let sheet = shop::Value::from_text(&format!("{WORN}\n{prices}")).expect("a sheet");
    let fresh = || shop::fresh_id().expect("random numbers");
    let specification = Some(shop::Value::from_text(TARN).expect("a specification"));
    let drafts = shop::brought_in(sheet, specification, "Pat", "2026-11-25T09:00:00Z", fresh).expect("a job");
    let job = opened.store.book_in(&drafts).await.expect("a job").job;
    can_be_printed(&opened, job, &["form", "report", "quotation", "record"]).await;
    for set in ["main", "pin"] {
        let (choice, verdict) = ("leave".to_owned(), String::new());
        write(&opened, job, shop::EntryKind::Decision { set: set.into(), choice, overruled: None, verdict }).await;
    }
    // A crank that is left alone costs nothing, and that can be written down too.
    is_pdf(&file(&opened, job, "quotation").await);
}

#[tokio::test]
async fn the_size_is_the_shops_unless_another_is_asked_for() {
    let opened = open("papers-size").await;
    let job = booked(&opened, "W-2", "").await;
    let of = async |size: &str| {
        let page = opened.get(&format!("/jobs/{job}/papers/form.pdf{size}")).await;
        is_pdf(&page);
        page.body
    };
    let (usual, a4, letter) = (of("").await, of("?size=A4").await, of("?size=letter").await);
    assert!(usual == a4 && a4 != letter);
    assert_eq!(of("?size=tabloid").await, usual, "a size that is none is the shop's");
    let api = opened.get(&format!("/api/jobs/{job}/papers/form?size=Letter")).await;
    assert_eq!(api.body, letter);
    assert_eq!(opened.get(&format!("/api/jobs/{job}/papers/form?size=tabloid")).await.status, 400);
}

#[tokio::test]
async fn what_is_no_paper_or_no_job_is_not_found() {
    let opened = open("papers-lost").await;
    let job = booked(&opened, "W-3", "").await;
    for path in ["poster.pdf", "form", "form.txt", "%00.pdf", "grinder.pdf.pdf"] {
        let page = opened.get(&format!("/jobs/{job}/papers/{path}")).await;
        assert_eq!(page.status, 404, "{path}");
        page.says("There is no paper");
    }
    for path in [
        "/jobs/4711/papers",
        "/jobs/4711/papers/form.pdf",
        "/api/jobs/4711/papers",
        "/api/jobs/4711/papers/form",
        "/api/jobs/none/papers/form",
        &format!("/api/jobs/{job}/papers/poster"),
    ] {
        assert_eq!(opened.get(path).await.status, 404, "{path}");
    }
}

#[tokio::test]
async fn the_same_record_gives_the_same_file_and_a_new_sheet_another() {
    let opened = open("papers-same").await;
    let job = ready_to_sign(&opened).await;
    for paper in PAPERS.into_iter().filter(|paper| !matches!(*paper, "batch" | "quotation")) {
        assert_eq!(file(&opened, job, paper).await.body, file(&opened, job, paper).await.body, "{paper}");
    }
    let old = file(&opened, job, "grinder").await.body;
    issue(&opened, job, "M4P", Some("K7Q")).await;
    assert_ne!(file(&opened, job, "grinder").await.body, old);
    assert_eq!(state(&opened, job).await.sheets.len(), 2);
}

/// Blank means blank: what is known of a crank stands nowhere on its form, whatever it is.
#[test]
fn a_form_is_blank_whatever_is_known_of_the_crank() {
    let mut known = shop::Value::from_text(WORN).expect("a sheet");
    known.set("specification", shop::Value::from_text(TARN).expect("a specification"));
    let rows = shop::Value::from_text(
        "stamped = [{ set = \"main\", undersize = 0.010 }, { journal = \"pin 3\", undersize = 0.020 }]\n\
         run_out = [{ journal = \"main 3\", total = 0.0021, high = 90 }]\n\
         thrust = [{ journal = \"main 5\", float = 0.0080 }]\n",
    )
    .expect("rows");
    for (key, value) in rows.pairs() {
        known.set(key, value.clone());
    }
    // One reading stays: that the shop measures in the middle too is asked for in boxes of their own.
    let mut bare = known.clone();
    for key in ["damage", "run_out", "worn", "stamped", "thrust"] {
        bare.take(key);
    }
    let readings = bare.take("reading").expect("readings");
    let middle =
        readings.items().iter().find(|row| row.words("at") == Some("middle")).expect("a reading in the middle");
    bare.set("reading", shop::Value::List(vec![middle.clone()]));
    for size in [bench::PaperSize::A4, bench::PaperSize::Letter] {
        let form = |sheet: &shop::Value| bench::print_sheet(sheet.clone(), bench::Paper::Form, size).expect("a form");
        assert!(form(&known) == form(&bare), "what is known changes the form");
    }
}
