//! What a reading costs: how often the log is added up, and how often the sheet is read, until the page has its answer and
//! the verdict is worked out. The program says when it does either; here somebody listens.
//!
//! One test in a program of its own, for whoever listens hears everything.

mod support;

use std::sync::atomic::{AtomicUsize, Ordering};

use support::{Opened, booked, id, open};
use tracing::span::{Attributes, Id, Record};
use tracing::subscriber::Interest;
use tracing::{Event, Metadata, Subscriber};

static FOLDS: AtomicUsize = AtomicUsize::new(0);
static READS: AtomicUsize = AtomicUsize::new(0);

struct Listener;

fn count_of(metadata: &Metadata<'_>) -> Option<&'static AtomicUsize> {
    match metadata.target() {
        "shop::fold" => Some(&FOLDS),
        "job::read" => Some(&READS),
        _ => None,
    }
}

impl Subscriber for Listener {
    fn register_callsite(&self, metadata: &'static Metadata<'static>) -> Interest {
        if count_of(metadata).is_some() { Interest::always() } else { Interest::never() }
    }

    fn enabled(&self, metadata: &Metadata<'_>) -> bool {
        count_of(metadata).is_some()
    }

    fn new_span(&self, _: &Attributes<'_>) -> Id {
        Id::from_u64(1)
    }

    fn record(&self, _: &Id, _: &Record<'_>) {}

    fn record_follows_from(&self, _: &Id, _: &Id) {}

    fn event(&self, event: &Event<'_>) {
        if let Some(count) = count_of(event.metadata()) {
            count.fetch_add(1, Ordering::SeqCst);
        }
    }

    fn enter(&self, _: &Id) {}

    fn exit(&self, _: &Id) {}
}

const MIC: &str = "1–2 in micrometer";

/// Takes a reading as the script of the page does, waits for the verdict, and says how often the log was added up and the
/// sheet was read for it.
async fn cost(shop: &Opened, job: i64, spot: &str, typed: &str) -> (usize, usize) {
    // Fetching the token shows a page; that is not what is asked about.
    let token = shop.get("/words").await.hidden("token");
    let mut form = form_urlencoded::Serializer::new(String::new());
    form.extend_pairs([("token", token.as_str()), ("id", &id()), ("seen", "1"), ("spot", spot), ("with", MIC)]);
    form.append_pair("reading", typed);
    let headers = "Accept: application/json\r\nContent-Type: application/x-www-form-urlencoded\r\n";
    FOLDS.store(0, Ordering::SeqCst);
    READS.store(0, Ordering::SeqCst);
    let answer = shop.send("POST", &format!("/jobs/{job}/measure"), headers, form.finish().as_bytes()).await;
    assert_eq!(answer.status, 200, "{}", answer.text);
    // What the script fetches next, until nothing is worked out any more.
    shop.worked_out(&format!("/jobs/{job}/so-far")).await;
    (FOLDS.load(Ordering::SeqCst), READS.load(Ordering::SeqCst))
}

#[tokio::test]
async fn a_reading_costs_one_adding_up_and_one_reading_of_the_sheet() {
    tracing::subscriber::set_global_default(Listener).expect("nobody else listens");
    let shop = open("cost").await;
    let job = booked(&shop, "W-1", "A. Miller").await;
    let fields = [("id", &*id()), ("set", "main"), ("with", "new:0.0001 in"), ("zero", "right"), ("seen", "0")];
    assert_eq!(shop.post(&format!("/jobs/{job}/measure/micrometer"), &fields).await.status, 303);
    assert!(FOLDS.load(Ordering::SeqCst) > 0, "somebody listens");
    shop.get(&format!("/jobs/{job}/measure")).await;
    for (spot, typed) in [
        ("main-1.front.a", "1.4991"),
        ("main-1.rear.a", "1.4990"),
        ("main-1.front.b", "1.4992"),
        ("main-1.rear.b", "1.4991"),
    ] {
        assert_eq!(cost(&shop, job, spot, typed).await, (1, 1), "{spot}");
    }
    // A second look at a spot is a reading like any other.
    assert_eq!(cost(&shop, job, "main-1.front.a", "1.4991").await, (1, 1), "again");
    // One in doubt is looked at once more with the doubt raised, and once with it left out, to draw what it would be.
    let (folds, reads) = cost(&shop, job, "main-2.front.a", "1.4741").await;
    assert!(folds <= 4 && reads <= 3, "in doubt: {folds} and {reads}");
}
