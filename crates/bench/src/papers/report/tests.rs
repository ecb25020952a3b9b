//! What the customer reads, in words.

use paper::documents::CustomersReport;
use shop::{Value, fold_shop};

use job::JobCard;

use crate::papers::Papers;

const WORN: &str = include_str!("../../../../tenunder/library/tarn-four-worn.toml");
const TARN: &str = include_str!("../../../../tenunder/library/tarn-four.toml");

/// The book that stands beside the sheet.
struct Beside(String);

impl sheet::Library for Beside {
    fn text(&self, _: &str) -> Result<String, String> {
        Ok(self.0.clone())
    }
}

/// The report on a sheet with a book, as the command line prints it.
fn report(sheet: &str, book: &str) -> CustomersReport {
    let whole = sheet::whole_sheet("a worked sheet", sheet, &Beside(book.to_owned())).unwrap();
    let shop = fold_shop(&[]);
    let card = JobCard::of_sheet(Value::from_json(&whole).unwrap()).unwrap();
    let judged = std::sync::Arc::new(card.to_judge().judge(&|_| ()));
    let card = card.decided_by_the_rule(&judged);
    Papers { judged: Some(judged), ..Papers::at_hand(&card, &shop) }.report().unwrap()
}

/// Pin 2 is past the last size, the other three are not.
fn one_apart() -> String {
    WORN.replace("size = 1.8720,", "size = 1.8305,")
        .replace("size = 1.8721,", "size = 1.8306,")
        .replace("size = 1.8726,", "size = 1.8308,")
        .replace("size = 1.8736,", "size = 1.8321,")
        .replace("size = 1.8737,", "size = 1.8322,")
        .replace("plane = 90, size = 1.8739,", "plane = 90, size = 1.8324,")
}

#[test]
fn one_journal_that_cannot_go_with_the_others_ends_in_something_to_do() {
    let report = report(&one_apart(), TARN);
    assert!(report.outcome.contains("pin 2") || report.outcome.contains("Pin 2"), "{}", report.outcome);
    assert!(report.outcome.ends_with("Tell us which."), "{}", report.outcome);
    assert!(report.outcome.contains("where the maker permits it"), "{}", report.outcome);
    assert!(
        report.why.join(" ").contains("No size cleans pin 2 up; the others alone would be ground to 0.010 in under.")
    );
}

/// A main is torn beside the pin: the customer reads both names, not only those of the first set.
#[test]
fn journals_apart_in_both_sets_are_all_named() {
    // Main 3 is 0.060 in smaller all over.
    let torn = one_apart();
    let lines = torn.lines().map(|line| match line.contains("journal = \"main 3\"") {
        true => line.replace("size = 2.12", "size = 2.06"),
        false => line.to_owned(),
    });
    let torn = lines.collect::<Vec<_>>().join("\n");
    let report = report(&torn, TARN);
    assert!(report.outcome.contains("Main 3, Pin 2 are worn past the last size"), "{}", report.outcome);
    assert!(report.outcome.contains("put on those journals"), "{}", report.outcome);
}

#[test]
fn the_least_that_a_maker_allows_is_a_wear_limit_and_no_new_size() {
    let told = |report: &CustomersReport| report.why.join(" ");
    let without = told(&report(WORN, TARN));
    assert!(!without.contains("allows"), "{without}");
    assert!(without.contains("a newly ground one has 2.1245 or more"), "{without}");
    // 2.1241 is told for the mains alone; 2.1228 is below it.
    let book = TARN.replacen("out_of_round = 0.0005", "out_of_round = 0.0005\nwear_limit = 2.1241", 1);
    let with = told(&report(WORN, &book));
    assert!(with.contains("the maker allows no less than 2.1241"), "{with}");
    assert!(with.contains("a newly ground one has 1.8745 or more"), "{with}");
}

#[test]
fn beside_heat_no_size_is_shown_and_the_report_says_to_test_first() {
    let report = report(&format!("{WORN}\n[[damage]]\njournal = \"pin 3\"\nkind = \"heat\"\n"), TARN);
    assert!(report.axes.is_empty() && report.narrow_axes.is_empty());
    assert!(report.outcome.starts_with("Stop"), "{}", report.outcome);
    assert!(report.work.iter().all(|says| !says.contains("0.010") && !says.contains("0.020")), "{:?}", report.work);
}

/// The shop's word for a crankpin is put into what the program says, and into nothing that somebody typed.
#[test]
fn what_the_customer_is_called_and_what_was_noted_stay_as_they_were_typed() {
    let whole = sheet::whole_sheet("a worked sheet", &one_apart(), &Beside(TARN.to_owned())).unwrap();
    let shop = fold_shop(&[]);
    let mut card = JobCard::of_sheet(Value::from_json(&whole).unwrap()).unwrap();
    let job = std::sync::Arc::make_mut(&mut card.job);
    job.booked_in.customer = "Pin and Sons".to_owned();
    job.booked_in.mark = "dowel pin 2".to_owned();
    let judged = std::sync::Arc::new(card.to_judge().judge(&|_| ()));
    let card = card.decided_by_the_rule(&judged);
    let words = say::Words::from(say::Tongue::AmericanEnglish);
    let report = Papers { judged: Some(judged), words, ..Papers::at_hand(&card, &shop) }.report().unwrap();
    let all = format!("{report:?}");
    assert!(all.contains("Pin and Sons") && all.contains("dowel pin 2"), "{all}");
    assert!(all.contains("Rod journals") && !all.contains("ournal and Sons") && !all.contains("dowel rod"), "{all}");
}
