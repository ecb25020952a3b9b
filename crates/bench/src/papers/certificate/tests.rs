//! What the certificate says of the roughness of the finished journals.

use job::JobCard;
use paper::documents::Certificate;
use shop::{Draft, EntryId, EntryKind, Row, Value, brought_in, entry_of, fold_shop};

use crate::papers::Papers;

const WORN: &str = include_str!("../../../../tenunder/library/tarn-four-worn.toml");
const TARN: &str = include_str!("../../../../tenunder/library/tarn-four.toml");
const NOW: &str = "2026-11-25T09:00:00Z";

fn row(toml: &str) -> Row {
    Row::typed(Value::from_text(toml).unwrap())
}

/// The certificate of a worn Tarn four that is decided and measured at one spot, with these rows of roughness.
fn certificate(book: &str, rough: &[&str]) -> Certificate {
    let mut names = 0_u128;
    let mut fresh = || {
        names += 1;
        EntryId::from_bits(names)
    };
    let sheet = Value::from_text(WORN).unwrap();
    let mut drafts = brought_in(sheet, Some(Value::from_text(book).unwrap()), "Pat", NOW, &mut fresh).unwrap();
    let decision = |set: &str, choice: &str| EntryKind::Decision {
        set: set.into(),
        choice: choice.into(),
        overruled: None,
        verdict: String::new(),
    };
    let mut kinds = vec![decision("main", "0.010"), decision("pin", "0.020")];
    let spot = "journal = \"pin 2\"\nat = \"front\"\nplane = 0\nsize = 1.8549\nwith = \"mic 1-2\"\n";
    kinds.push(EntryKind::FinalReading(row(spot)));
    kinds.extend(rough.iter().map(|toml| EntryKind::Roughness(row(toml))));
    drafts.extend(kinds.into_iter().map(|kind| Draft::new(fresh(), "Pat", NOW, kind)));
    let card = JobCard::of((1..).zip(&drafts).map(|(seq, draft)| entry_of(draft, 1001, seq, NOW)).collect());
    let shop = fold_shop(&[]);
    Papers::at_hand(&card, &shop).certificate().unwrap()
}

#[test]
fn what_the_book_limits_and_nobody_measured_is_not_measured() {
    let paper = certificate(TARN, &["journal = \"pin 2\"\nat = \"middle\"\nra = 6\n"]);
    // As it came in: says nothing of the finished crank.
    assert!(paper.roughness.is_empty(), "{:?}", paper.roughness);
    for whose in ["mains", "pins"] {
        let says = format!("Roughness of the {whose}: not measured (at most Ra 10 µin (0.254 µm) by the book).");
        assert!(paper.left_out.contains(&says), "{:?}", paper.left_out);
    }
}

#[test]
fn a_book_without_a_limit_asks_for_nothing() {
    let lines = TARN.lines().filter(|line| !line.starts_with("roughness"));
    let book = lines.collect::<Vec<_>>().join("\n");
    let paper = certificate(&book, &[]);
    assert!(paper.left_out.iter().all(|says| !says.contains("Roughness")), "{:?}", paper.left_out);
    // What was measured all the same stands there, judged by nobody.
    let paper = certificate(&book, &["journal = \"pin 2\"\nat = \"middle\"\nra = 6\nwhen = \"after\"\n"]);
    let says = "Pins, no limit in the book. Pin 2, middle, Ra 6 µin (0.152 µm): no limit told.";
    assert_eq!(paper.roughness.first().map(String::as_str), Some(says));
}

#[test]
fn figure_limit_place_and_instrument_stand_on_it() {
    let rows = [
        "journal = \"pin 2\"\nat = \"middle\"\nra = 6\nlay = \"around\"\nwith = \"gauge 7\"\nwhen = \"after\"\n",
        "journal = \"pin 2\"\nat = \"rear\"\nra = \"0.5 µm\"\nwhen = \"after\"\n",
        "journal = \"pin 3\"\nat = \"front\"\nra = 9.8\nwhen = \"after\"\n",
    ];
    let paper = certificate(TARN, &rows);
    let pins = "Pins, at most Ra 10 µin (0.254 µm) by the book. Pin 2, middle, Ra 6 µin (0.152 µm), lay around, with gauge 7: \
                within; rear, Ra 19.7 µin (0.50 µm): above. Pin 3, front, Ra 9.8 µin (0.249 µm): too close to call.";
    let doubt = "Nobody said what the instrument may be wrong by: 10 in 100 of it is assumed. A surface differs from place to \
                 place.";
    assert_eq!(paper.roughness, [pins, doubt]);
    let left = &paper.left_out;
    assert!(left.iter().any(|says| says.starts_with("Roughness of the mains: not measured")), "{left:?}");
    assert!(left.iter().any(|says| says.starts_with("Roughness of Pin 1, Pin 4: not measured")), "{left:?}");
    let open = paper.open.join("\n");
    assert!(open.contains("Pin 2, rear: rougher than the manual allows, Ra 19.7 µin"), "{open}");
}
