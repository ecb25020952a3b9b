//! A worn Tarn four on its way through the shop.

use shop::{Draft, EntryKind, Job, Value, brought_in, fresh_id};

use super::{Opened, Page, id};

pub(crate) const TARN: &str = include_str!("../../../tenunder/library/tarn-four.toml");
pub(crate) const WORN: &str = include_str!("../../../tenunder/library/tarn-four-worn.toml");

/// A worn Tarn four that is decided, with sheet K7Q at the grinder: the mains go to 0.010, the pins to 0.020. Its mic 2-3
/// reads 0.0001 low, its mic 1-2 as much high.
pub(crate) async fn decided(opened: &Opened) -> i64 {
    decided_by(opened, TARN).await
}

/// The same by another book.
pub(crate) async fn decided_by(opened: &Opened, book: &str) -> i64 {
    let sheet = Value::from_text(WORN).expect("a sheet");
    let specification = Value::from_text(book).expect("a specification");
    let fresh = || fresh_id().expect("random numbers");
    let drafts = brought_in(sheet, Some(specification), "Pat", "2026-11-25T09:00:00Z", fresh).expect("a job");
    let job = opened.store.book_in(&drafts).await.expect("a job").job;
    for (set, choice) in [("main", "0.010"), ("pin", "0.020")] {
        let verdict = "At 0.010 in under cleaning up is very likely: 97 in 100 such cranks would.".to_owned();
        let kind = EntryKind::Decision { set: set.into(), choice: choice.into(), overruled: None, verdict };
        write(opened, job, kind).await;
    }
    issue(opened, job, "K7Q", None).await;
    job
}

pub(crate) async fn write(opened: &Opened, job: i64, kind: EntryKind) {
    let seen = state(opened, job).await.seq;
    let draft = Draft::new(fresh_id().expect("random numbers"), "Pat", "2026-11-25T10:00:00Z", kind);
    opened.store.append(job, seen, &[draft]).await.expect("an entry is written");
}

pub(crate) async fn issue(opened: &Opened, job: i64, code: &str, supersedes: Option<&str>) {
    let plan = bench::grinders_plan(&state(opened, job).await).expect("a plan");
    let supersedes = supersedes.map(str::to_owned);
    write(opened, job, EntryKind::SheetIssued { code: code.into(), supersedes, plan }).await;
}

pub(crate) async fn state(opened: &Opened, job: i64) -> Job {
    opened.store.job(job).await.expect("the job")
}

/// Sends a form with a name and the place that the job is at now, and what else is given.
pub(crate) async fn send(opened: &Opened, job: i64, path: &str, fields: &[(&str, &str)]) -> Page {
    let (id, seen) = (id(), state(opened, job).await.seq.to_string());
    let mut all = vec![("id", id.as_str()), ("seen", seen.as_str())];
    all.extend(fields);
    opened.post(&format!("/jobs/{job}/{path}"), &all).await
}

#[track_caller]
pub(crate) fn gone(page: &Page) -> &str {
    assert_eq!(page.status, 303, "{}", page.text);
    &page.to
}

/// A reading while grinding, and the page that answers it.
pub(crate) async fn grind(opened: &Opened, job: i64, journal: &str, stage: &str, with: &str, size: &str) -> Page {
    let fields = [("journal", journal), ("stage", stage), ("with", with), ("size", size)];
    let page = send(opened, job, "grind", &fields).await;
    if page.status == 303 { opened.get(page.to.split('#').next().unwrap_or_default()).await } else { page }
}

pub(crate) async fn clean_up(opened: &Opened, job: i64) {
    let names: Vec<String> =
        (1..=5).map(|n| format!("clean-main-{n}")).chain((1..=4).map(|n| format!("clean-pin-{n}"))).collect();
    let fields: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), "yes")).collect();
    gone(&send(opened, job, "grind/cleaned", &fields).await);
}

/// The final reading of a spot.
pub(crate) async fn check(opened: &Opened, job: i64, spot: &str, size: &str) -> Page {
    let with = if spot.starts_with("main") { "mic 2-3" } else { "mic 1-2" };
    let fields = [("code", "K7Q"), ("spot", spot), ("with", with), ("size", size)];
    let page = send(opened, job, "final", &fields).await;
    if page.status == 303 { opened.get(page.to.split('#').next().unwrap_or_default()).await } else { page }
}

pub(crate) fn spots() -> Vec<String> {
    let journals = (1..=5).map(|n| format!("main-{n}")).chain((1..=4).map(|n| format!("pin-{n}")));
    let places = ["front.a", "middle.a", "rear.a", "front.b", "middle.b", "rear.b"];
    journals.flat_map(|journal| places.map(|place| format!("{journal}.{place}"))).collect()
}

/// A reading in the middle of the finished limits, as its micrometer shows it.
pub(crate) fn good(spot: &str) -> &'static str {
    if spot.starts_with("main") { "2.1147" } else { "1.8549" }
}

pub(crate) async fn check_all(opened: &Opened, job: i64) {
    for spot in spots() {
        let page = check(opened, job, &spot, good(&spot)).await;
        assert_eq!(page.status, 200, "{}", page.text);
    }
}

pub(crate) const EYES: [&str; 8] =
    ["radius", "oilways-open", "plugs-refitted", "crack-test", "demagnetised", "finish", "stamp", "straightness"];

pub(crate) async fn look(opened: &Opened, job: i64, items: &[&str], answer: &str) -> Page {
    let names: Vec<(String, String)> = items.iter().map(|item| (format!("eye-{item}"), format!("by-{item}"))).collect();
    let mut fields = vec![("code", "K7Q")];
    for (eye, by) in &names {
        fields.push((eye, answer));
        fields.push((by, "Sam"));
    }
    send(opened, job, "final/eyes", &fields).await
}

/// Signs as whoever works at the screen, with the hash of the job as it is.
pub(crate) async fn sign(opened: &Opened, job: i64, more: &[(&str, &str)]) -> Page {
    let hash = state(opened, job).await.frozen_hash();
    let mut fields = vec![("code", "K7Q"), ("hash", hash.as_str()), ("name", "the shop")];
    fields.extend(more);
    send(opened, job, "final/sign", &fields).await
}

/// Everything up to a signature that nothing stands against.
pub(crate) async fn ready_to_sign(opened: &Opened) -> i64 {
    let job = decided(opened).await;
    clean_up(opened, job).await;
    gone(&send(opened, job, "grind/done", &[]).await);
    check_all(opened, job).await;
    gone(&look(opened, job, &EYES, "passed").await);
    job
}
