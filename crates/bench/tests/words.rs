//! A shop that says rod journal: the program speaks so, and what people typed stays letter for letter.

mod support;

use shop::EntryKind;
use support::at_work::{decided, write};
use support::{Opened, booked, id, open};

const CUSTOMER: &str = "Pin and Sons";
const NOTE: &str = "Dowel pin at the flywheel end; pin 2 was hot, says the owner";
const LEFT: &str = "a line at the dowel pin";
const REASON: &str = "the customer has the pin shells";

/// A bench whose shop says so.
async fn says_rod_journal(name: &str) -> Opened {
    let shop = open(name).await;
    let seen = shop.store.shop().await.expect("the shop").seq.to_string();
    let fields = [
        ("id", id()),
        ("seen", seen),
        ("name", "Oxbow Engine Works".to_owned()),
        ("for", "shop".to_owned()),
        ("words", "rod journal".to_owned()),
        ("units", "in".to_owned()),
    ];
    let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
    assert_eq!(shop.post("/shop", &fields).await.to, "/shop");
    shop
}

#[tokio::test]
async fn what_people_typed_is_never_put_into_other_words() {
    let shop = says_rod_journal("words").await;
    let whose = booked(&shop, "W-1", CUSTOMER).await;
    shop.get(&format!("/jobs/{whose}/history")).await.says(CUSTOMER).lacks("Rod journal and Sons");
    shop.get(&format!("/api/jobs/{whose}/history")).await.says(CUSTOMER).lacks("ournal and Sons");

    let job = decided(&shop).await;
    write(&shop, job, EntryKind::Note { text: NOTE.to_owned() }).await;
    let left = Some(LEFT.to_owned());
    write(&shop, job, EntryKind::CleanedUp { journal: "pin 2".to_owned(), yes: false, left }).await;
    shop.get(&format!("/jobs/{job}/grind")).await.says(&format!("Rod journal 2 did not clean up: {LEFT}."));
    let (overruled, verdict) = (Some(REASON.to_owned()), String::new());
    let kind = EntryKind::Decision { set: "pin".into(), choice: "0.020".into(), overruled, verdict };
    write(&shop, job, kind).await;

    // The page and the interface alike.
    for path in [format!("/jobs/{job}/history"), format!("/api/jobs/{job}/history")] {
        let history = shop.get(&path).await;
        for typed in [NOTE, LEFT, REASON] {
            history.says(typed);
        }
        history.says("od journal 2 did not clean up").says("ecision for the rod journals: 0.020");
        history.lacks("owel rod journal").lacks("rod journal shells");
    }
    // A button that takes it back says what was typed too.
    shop.get(&format!("/jobs/{job}/history"))
        .await
        .says("Undo rod journal 2 did not clean up: a line at the dowel pin");
}

/// A command of the guide is typed as it stands: the key of a set is `pin` whatever the shop calls it.
#[tokio::test]
async fn the_guide_speaks_the_shops_words_and_leaves_its_commands_alone() {
    let guide = says_rod_journal("words-guide").await.get("/guide").await;
    guide.says("--what \"ladder pin\"").says("rod journals").lacks("ladder rod journal");
}
