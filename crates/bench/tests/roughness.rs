//! The roughness of journals, from the page where a crank is measured to the paper that goes out with it.
//!
//! The Tarn four of the library is invented; its book allows Ra 10 microinches (0.254 µm) on mains and pins.

mod support;

use shop::Value;
use support::at_work::{TARN, WORN, decided, gone, ready_to_sign, send, sign, state};
use support::{Opened, Page, id, open};

/// Sends the form of a place, from the page of this name.
async fn rough(opened: &Opened, job: i64, from: &str, journal: &str, ra: &str, more: &[(&str, &str)]) -> Page {
    let id = id();
    let mut fields = vec![("id", id.as_str()), ("from", from), ("journal", journal), ("at", "middle"), ("ra", ra)];
    fields.extend(more);
    opened.post(&format!("/jobs/{job}/roughness"), &fields).await
}

async fn rows(opened: &Opened, job: i64) -> String {
    state(opened, job).await.document.get("roughness").map(Value::to_json).unwrap_or_default()
}

#[tokio::test]
async fn a_roughness_is_entered_listed_put_right_and_struck_out() {
    let opened = open("roughness-measure").await;
    let job = decided(&opened).await;
    let path = format!("/jobs/{job}/measure");
    opened.get(&path).await.says("roughness at most Ra 10 µin (0.254 µm)").says("Not measured.");
    // A figure of the other unit comes back in the form, and says what to write.
    let back = rough(&opened, job, "measure", "pin 2", "0.25", &[("lay", "along")]).await;
    back.came_back().says("which unit was it read in?").says("value=\"0.25\"").says("roughness-ra-fault");
    rough(&opened, job, "measure", "pin 2", "", &[]).await.came_back().says("Type the Ra that the instrument showed.");
    assert_eq!(rows(&opened, job).await, "");

    let sent = rough(&opened, job, "measure", "pin 2", "0.5", &[("unit", "µm"), ("lay", "along"), ("with", "gauge 7")]);
    assert_eq!(gone(&sent.await), format!("/jobs/{job}/measure#roughness"));
    assert_eq!(
        rows(&opened, job).await,
        r#"[{"journal":"pin 2","at":"middle","ra":"0.5 µm","lay":"along","with":"gauge 7"}]"#
    );
    let page = opened.get(&path).await;
    page.says("middle, Ra 19.7 µin (0.50 µm), marks along the journal, with gauge 7: above");
    page.says("Nobody said what the instrument may be wrong by: 10 in 100 of it is assumed.");

    // The form to put it right holds what was entered; the same place again takes the place of it.
    let entry = state(&opened, job).await.rows.last().expect("a row").entry;
    let form = opened.get(&format!("/jobs/{job}/roughness?correct={entry}")).await;
    form.says("value=\"0.5 µm\"").says(&format!("name=\"corrects\" value=\"{entry}\"")).says("value=\"gauge 7\"");
    gone(&rough(&opened, job, "roughness", "pin 2", "9", &[("error_limit", "0.3"), ("cutoff", "0.8")]).await);
    let told = r#"[{"journal":"pin 2","at":"middle","ra":9,"error_limit":0.3,"cutoff":"0.8 mm"}]"#;
    assert_eq!(rows(&opened, job).await, told);
    opened.get(&path).await.says("middle, Ra 9 µin (0.229 µm), cut-off 0.80 mm: within");
    let history = opened.get(&format!("/jobs/{job}/history")).await;
    history.says("Roughness at pin 2, middle: Ra 9 µin").says("Ra 0.5 µm, lay along");

    // Struck out, with what put it right; the history keeps all of it, and can put it back.
    let first = state(&opened, job).await.rows.iter().find(|row| row.key == "roughness").expect("a row").first;
    gone(&send(&opened, job, "roughness/strike", &[("entry", &first.to_string()), ("from", "measure")]).await);
    assert_eq!(rows(&opened, job).await, "");
    opened.get(&path).await.says("Not measured.");
    opened.get(&format!("/jobs/{job}/history")).await.says("Put back roughness at pin 2");
    assert_eq!(send(&opened, job, "roughness/strike", &[("entry", &first.to_string())]).await.status, 404);
}

/// What was measured before the sheet went out is on it, and it says when that changed; what is measured when the work is done
/// leaves it in force.
#[tokio::test]
async fn a_sheet_rests_on_what_was_found_and_not_on_what_was_finished() {
    let opened = open("roughness-sheet").await;
    let job = decided(&opened).await;
    let grind = format!("/jobs/{job}/grind");
    let before = opened.get(&grind).await;
    before.says("roughness at most Ra 10 µin (0.254 µm)");
    gone(&rough(&opened, job, "final", "pin 2", "8", &[]).await);
    let held = opened.get(&grind).await;
    assert_eq!(held.text.contains("changed since"), before.text.contains("changed since"), "{}", held.text);
    gone(&rough(&opened, job, "measure", "pin 2", "20", &[]).await);
    let changed = opened.get(&grind).await;
    changed.says("roughness middle, Ra 20 µin (0.508 µm): above");
    assert_ne!(changed.text.matches("issued").count(), held.text.matches("issued").count(), "{}", changed.text);
}

/// On the verdict: what it means, beside the undersize that it does not change.
#[tokio::test]
async fn the_verdict_says_what_it_means_and_chooses_as_before() {
    let opened = open("roughness-verdict").await;
    let job = decided(&opened).await;
    let verdict = format!("/jobs/{job}/verdict");
    let before = opened.worked_out(&verdict).await;
    gone(&rough(&opened, job, "measure", "pin 2", "31", &[("lay", "along")]).await);
    let after = opened.worked_out(&verdict).await;
    after.says("Pin 2 is rougher than the book allows: Ra 31 µin (0.787 µm), at most 10 µin (0.254 µm).");
    after.says("across the way the oil is drawn").says("The wheel takes this surface off");
    let chances = |page: &Page| page.text.matches(" in 100").count();
    assert!(chances(&before) > 4 && after.text.contains("1 roughness figure"));
    for size in ["0.010", "0.020"] {
        assert_eq!(before.text.contains(size), after.text.contains(size));
    }
}

#[tokio::test]
async fn the_finished_crank_is_proved_by_it() {
    let opened = open("roughness-final").await;
    let job = ready_to_sign(&opened).await;
    let path = format!("/jobs/{job}/final?code=K7Q");
    opened
        .get(&path)
        .await
        .says("Not measured. The certificate says so where the book tells a limit.")
        .says("Sign off");

    // Above the limit: it stands against signing, and says where.
    let sent = rough(&opened, job, "final", "pin 2", "20", &[("code", "K7Q")]).await;
    assert_eq!(gone(&sent), format!("/jobs/{job}/final?code=K7Q#roughness"));
    let page = opened.get(&path).await;
    page.says("Before it can be signed").says("href=\"#roughness\">Pin 2, middle: rougher than the manual allows");
    let refused = sign(&opened, job, &[("left-treatment", "yes")]).await;
    assert_eq!(refused.status, 422, "{}", refused.text);
    refused.says("Pin 2, middle: rougher than the manual allows, Ra 20 µin (0.508 µm), at most 10 µin (0.254 µm).");

    // Polished and measured again, too near to call: the signature says so.
    gone(&rough(&opened, job, "final", "pin 2", "9.8", &[("with", "gauge 7")]).await);
    let page = opened.get(&path).await;
    page.says("I sign without it. The roughness of pin 2 is too close to call").says("left-roughness-pin-2");
    sign(&opened, job, &[("left-treatment", "yes")]).await.came_back().says("Tick it to sign without");
    gone(&rough(&opened, job, "final", "main 3", "6", &[]).await);
    gone(&sign(&opened, job, &[("left-treatment", "yes"), ("left-roughness-pin-2", "yes")]).await);
    let signed = state(&opened, job).await;
    let says = signed.signed_off.expect("signed").says;
    assert!(
        says.contains("The roughness of pin 2 is too close to call: middle, Ra 9.8 µin (0.249 µm), with gauge 7"),
        "{says}"
    );

    // What is signed stays as it is.
    let late = rough(&opened, job, "final", "pin 3", "6", &[]).await;
    assert!(matches!(late.status, 409 | 422), "{}", late.text);
    assert!(!rows(&opened, job).await.contains("pin 3"));
    let paper = opened.get(&format!("/jobs/{job}/papers/certificate.pdf")).await;
    assert!(paper.status == 200 && paper.body.starts_with(b"%PDF"), "{}", paper.text);
}

/// A sheet with roughness is brought in, shown, and comes out as it was.
#[tokio::test]
async fn it_goes_through_the_record_and_the_interface() {
    let opened = open("roughness-record").await;
    let told = "\n[[roughness]]\njournal = \"pin 2\"\nat = \"middle\"\nra = \"0.5 µm\"\nlay = \"around\"\nwith = \"mic 1-2\"\n";
    let sheet = Value::from_text(&format!("{WORN}{told}")).expect("a sheet");
    let book = Value::from_text(TARN).expect("a book");
    let fresh = || shop::fresh_id().expect("random numbers");
    let drafts = shop::brought_in(sheet, Some(book), "Pat", "2026-11-25T09:00:00Z", fresh).expect("a job");
    let job = opened.store.book_in(&drafts).await.expect("a job").job;
    let out = opened.get(&format!("/jobs/{job}/sheet.toml")).await;
    out.says("ra = \"0.5 µm\"").says("with = \"mic 1-2\"");
    // What it was measured with is words, and no micrometer whose zero could move.
    let at = state(&opened, job).await;
    let row = at.rows.iter().find(|row| row.key == "roughness").expect("a row");
    assert!(at.zero_moved.iter().all(|moved| !moved.readings.contains(&row.entry)));

    let entry = format!(
        r#"{{"seen": {}, "entries": [{{"id": "{}", "who": "Sam", "when": "2026-11-25T10:00:00Z", "kind": {{"roughness":
           {{"row": {{"journal": "pin 3", "at": "front", "ra": 12, "when": "before"}}}}}}}}]}}"#,
        at.seq,
        id()
    );
    let answer = opened
        .send("POST", &format!("/api/jobs/{job}/entries"), "Content-Type: application/json\r\n", entry.as_bytes())
        .await;
    assert_eq!(answer.status, 200, "{}", answer.text);
    assert!(rows(&opened, job).await.contains(r#"{"journal":"pin 3","at":"front","ra":12,"when":"before"}"#));
    opened.get("/api/openapi.json").await.says("[[roughness]]");
}
