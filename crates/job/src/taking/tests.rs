//! Readings as they are taken on one crank, without a record behind it.

use super::*;
use shop::{BookedIn, entry_of, fold_shop};

use crate::march::{Across, Order, Station};

const NOON: &str = "2026-11-25T12:00:00Z";

/// A Tarn four with nothing measured, and a two- and a one-inch micrometer.
fn booked() -> Vec<Entry> {
    let book = Value::from_text(include_str!("../../../tenunder/library/tarn-four.toml")).unwrap();
    let sheet = Value::table([("units", Value::from("in")), ("specification", book)]);
    let booked = BookedIn {
        mark: String::new(),
        customer: String::new(),
        telephone: String::new(),
        crank: "Tarn four".to_owned(),
        promised: None,
        sheet,
        example: false,
    };
    let micrometer = |name: &str, low: &str, high: &str| EntryKind::Instrument {
        row: Value::table([
            ("name", Value::from(name)),
            ("range", Value::List(vec![Value::typed(low), Value::typed(high)])),
            ("graduation", Value::typed("0.0001")),
        ]),
    };
    let kinds = [EntryKind::BookedIn(booked), micrometer("mic 2-3", "2", "3"), micrometer("mic 1-2", "1", "2")];
    let mut entries = Vec::new();
    for (n, kind) in (1_i64..).zip(kinds) {
        entries.push(entry_of(&Draft::new(EntryId::from_bits(n as u128), "Pat", NOON, kind), 1001, n, NOON));
    }
    entries
}

fn shop() -> Shop {
    fold_shop(&[])
}

/// One crank on the bench, without a record behind it.
struct Crank {
    card: JobCard,
    next_id: u128,
}

impl Crank {
    fn new() -> Crank {
        Crank { card: JobCard::of(booked()), next_id: 1000 }
    }

    fn reading(&mut self, spot: Spot, typed: &str) -> ReadingIn {
        self.next_id += 1;
        let with = if spot.journal.set == crank::SetName::Main { "mic 2-3" } else { "mic 1-2" };
        ReadingIn {
            id: EntryId::from_bits(self.next_id),
            who: "Pat".to_owned(),
            when: NOON.to_owned(),
            spot,
            typed: typed.to_owned(),
            source: Source::Typed,
            with: Some(with.to_owned()),
            corrects: None,
        }
    }

    /// Takes a reading and says what it came to and where to go.
    fn take(&mut self, spot: Spot, typed: &str) -> (Outcome, Option<Spot>) {
        let reading = self.reading(spot, typed);
        let taking = take(&self.card, &shop(), &reading).unwrap();
        // What it says of the job is what the log says that is written.
        assert_eq!(*self.card.with(&taking.drafts).job, *taking.after.job);
        self.card = taking.after;
        (taking.outcome, after(&self.card, &shop(), spot))
    }

    fn sizes(&self) -> Vec<String> {
        let list = self.card.job.document.get("reading").map(|list| list.items().to_vec()).unwrap_or_default();
        list.iter().map(|row| row.get("size").unwrap().to_json()).collect()
    }
}

fn spot(key: &str) -> Spot {
    key.parse().unwrap()
}

#[test]
fn a_turn_is_caught_and_one_more_reading_puts_it_right() {
    let mut crank = Crank::new();
    crank.take(spot("main-1.front.a"), "2.1243");
    let (_, next) = crank.take(spot("main-1.rear.a"), "2.1493");
    assert_eq!(next, Some(spot("main-1.rear.a")), "the march pauses at the spot");
    assert_eq!(crank.card.job.flags.len(), 1);
    assert_eq!(crank.sizes(), ["2.1243"], "what is in doubt does not count");
    let (outcome, next) = crank.take(spot("main-1.rear.a"), "2.1244");
    assert_eq!((outcome, next), (Outcome::Saved, Some(spot("main-1.front.b"))));
    assert!(crank.card.job.flags.is_empty());
    assert_eq!(crank.sizes(), ["2.1243", "2.1244"]);
}

#[test]
fn who_reads_the_same_again_is_believed() {
    let mut crank = Crank::new();
    crank.take(spot("main-1.front.a"), "2.1243");
    crank.take(spot("main-1.rear.a"), "2.1493");
    let (outcome, next) = crank.take(spot("main-1.rear.a"), "2.1494");
    assert_eq!((outcome, next), (Outcome::Agrees, Some(spot("main-1.front.b"))));
    assert!(crank.card.job.flags.is_empty(), "{:?}", crank.card.job.flags);
    assert_eq!(crank.sizes(), ["2.1243", "[2.1493,2.1494]"]);
    // And it is not raised again by what follows.
    crank.take(spot("main-1.front.b"), "2.1244");
    assert!(!crank.card.job.flags.iter().any(|flag| flag.says.contains("2.1493")), "{:?}", crank.card.job.flags);
}

#[test]
fn two_readings_that_clash_are_settled_by_a_third() {
    let mut crank = Crank::new();
    let here = spot("main-1.front.a");
    crank.take(here, "2.1243");
    assert_eq!(crank.take(here, "2.1244").0, Outcome::Agrees);
    assert_eq!(crank.sizes(), ["[2.1243,2.1244]"]);
    let there = spot("main-1.rear.a");
    crank.take(there, "2.1243");
    let (outcome, next) = crank.take(there, "2.1249");
    assert_eq!((outcome, next), (Outcome::Clashes, Some(there)));
    assert_eq!(crank.sizes(), ["[2.1243,2.1244]"], "neither counts until the third");
    assert_eq!(crank.take(there, "2.1248").0, Outcome::Settles);
    assert_eq!(crank.sizes(), ["[2.1243,2.1244]", "2.1248"]);
    // A fourth is held against the one that counts, not against the first, which was found wrong and stays out.
    assert_eq!(crank.take(there, "2.1249").0, Outcome::Agrees);
    assert_eq!(crank.sizes(), ["[2.1243,2.1244]", "[2.1248,2.1249]"]);
    assert_eq!(crank.take(there, "2.1243").0, Outcome::Clashes);
    assert_eq!(crank.sizes(), ["[2.1243,2.1244]"]);
}

#[test]
fn what_cannot_be_is_refused_and_nothing_is_written() {
    let mut crank = Crank::new();
    for typed in ["", "two", "2.124", "3.1243", "1.2", "2.1243 furlongs", "\u{7}2.1243", "9".repeat(500).as_str()] {
        let reading = crank.reading(spot("main-1.front.a"), typed);
        let NotTaken::Refused(refusal) = take(&crank.card, &shop(), &reading).unwrap_err() else {
            panic!("{typed} is at fault itself");
        };
        assert!(refusal.is_about_what_was_asked(), "{typed}: {refusal:?}");
    }
    let nowhere = crank.reading(spot("main-6.front.a"), "2.1243");
    let no_main_6 = NotTaken::NoSuchJournal(JournalId { set: SetName::Main, number: 6 });
    assert_eq!(take(&crank.card, &shop(), &nowhere).unwrap_err(), no_main_6);
    let mut with = crank.reading(spot("main-1.front.a"), "2.1243");
    with.with = Some("mic 9-10".to_owned());
    assert!(matches!(take(&crank.card, &shop(), &with), Err(NotTaken::Refused(_))));
}

#[test]
fn the_last_reading_moves_the_job_on_and_undo_takes_both_back() {
    let mut crank = Crank::new();
    let book = crank.card.book.clone().unwrap();
    let spots = Walk::of(&shop()).spots(&book);
    for spot in &spots {
        let typed = if spot.journal.set == crank::SetName::Main { "2.1247" } else { "1.8748" };
        crank.take(*spot, typed);
    }
    assert_eq!(crank.card.job.stage, Stage::ToDecide);
    assert_eq!(next_open(&spots, &crank.card.job, None), None);
    let step = crate::undo::next_undo(&crank.card.entries, &crank.card.job, Words::default()).unwrap();
    assert_eq!(step.words, "Undo 1.8748 at pin 4, rear, across B");
    assert_eq!(step.entries.len(), 2);
}

/// By hand: the middle of 2.1243, 2.1243, 2.1244 is 2.1243; one turn of 0.025 more is 2.1493, and a seventh of a turn is 0.0036.
#[test]
fn a_page_is_told_which_sizes_look_turns_away_and_the_reading_itself_is_looked_at_alike() {
    let mut crank = Crank::new();
    assert_eq!(turns_away(&crank.card, &shop()), [], "there is nothing to compare with");
    crank.take(spot("main-1.front.a"), "2.1243");
    assert_eq!(turns_away(&crank.card, &shop()), [], "one is not two");
    crank.take(spot("main-1.rear.a"), "2.1244");
    crank.take(spot("main-1.front.b"), "2.1243");
    let away = turns_away(&crank.card, &shop());
    let main_1 = JournalId { set: SetName::Main, number: 1 };
    let one_up = TurnsAway { journal: main_1, turns: 1, low: "2.1457".into(), high: "2.1529".into() };
    assert!(away.contains(&one_up), "{away:?}");
    assert!(away.iter().all(|one| one.journal.set == SetName::Main), "nobody measured a pin");
    assert_eq!(away.len(), 5 * 8, "what the set is like holds for its other journals too");
    // Nothing that wear would leave is in one of them, and the middle of each is doubted when it comes in.
    let looks = |size: f64| {
        let inside = |one: &&TurnsAway| (one.low.parse().unwrap()..=one.high.parse().unwrap()).contains(&size);
        away.iter().filter(|one| one.journal == main_1).any(|one| inside(&one))
    };
    assert!(!looks(2.1243) && !looks(2.1200) && looks(2.1493) && looks(2.0993) && looks(2.1743));
    for size in ["2.1493", "2.0993", "2.1743"] {
        let reading = crank.reading(spot("main-1.rear.b"), size);
        assert!(!take(&crank.card, &shop(), &reading).unwrap().after.job.flags.is_empty(), "{size}");
    }
}

/// Random numbers for the invented wear below: a linear congruential generator, plenty for that.
struct Chance(u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

/// Target figures 11 to 13 of the bench: with one reading in 67 a turn out, at least 98 in 100 are caught at once where
/// a sibling stands beside them and 90 in 100 on a journal's first spot (by the end of the journal at the latest),
/// and no more than 6 good readings in 1,000 are doubted. Wear and slips are invented.
#[test]
fn turns_are_caught_and_good_readings_are_left_in_peace() {
    let mut chance = Chance(20_261_125);
    let (mut with_sibling, mut caught_with_sibling) = (0, 0);
    let (mut first, mut caught_first) = (0, 0);
    let (mut good, mut doubted, mut left_in) = (0, 0, 0);
    for number in 0..60 {
        let mut crank = Crank::new();
        let book = crank.card.book.clone().unwrap();
        // A third of the cranks were ground before.
        let undersize = if number % 3 == 0 { 0.010 } else { 0.0 };
        let mut planted: Vec<(Spot, bool)> = Vec::new();
        let mut journal = None;
        let (mut worn, mut oval, mut taper) = (0.0, 0.0, 0.0);
        for spot in (Walk { with_middle: false, order: Order::default() }).spots(&book) {
            let new = book.set(spot.journal.set).size.low_mm / 25.4 + 0.0002 - undersize;
            let is_first = journal != Some(spot.journal);
            if is_first {
                journal = Some(spot.journal);
                (worn, oval, taper) = (0.0015 * chance.unit(), 0.0015 * chance.unit(), 0.0008 * chance.unit());
            }
            let across = if spot.across == Across::A { oval } else { 0.0 };
            let along = if spot.station == Station::Rear { taper } else { 0.0 };
            let size = new - worn - across - along + 0.00005 * chance.normal();
            let slip = chance.unit() < 0.015;
            let turn = if chance.unit() < 0.5 { 0.025 } else { -0.025 };
            let flags = crank.card.job.flags.len();
            let (_, next) = crank.take(spot, &format!("{:.4}", if slip { size + turn } else { size }));
            let here = crank.card.job.flags.len() > flags && next == Some(spot);
            if slip {
                planted.push((spot, is_first));
                if !is_first {
                    with_sibling += 1;
                    caught_with_sibling += usize::from(here);
                }
            } else {
                good += 1;
                // A doubt that a slip beside it explains is not the good reading's fault alone, but it is a doubt.
                doubted += usize::from(here);
            }
            // Whatever is doubted is measured again, as often as it takes.
            for _ in 0..4 {
                let open = crank.card.job.flags.first().and_then(|flag| {
                    let row = crank.card.job.rows.iter().find(|row| Some(row.entry) == flag.about)?;
                    Walk { with_middle: false, order: Order::default() }
                        .spots(&book)
                        .into_iter()
                        .find(|spot| spot.is_of(&row.row))
                });
                let Some(open) = open else { break };
                let was_planted = planted.iter().position(|(spot, _)| *spot == open);
                let row = row_at(&crank.card.job, open).unwrap().clone();
                let shown = row.row.get("size").and_then(Value::as_typed).unwrap().parse::<f64>().unwrap();
                let truth = match was_planted {
                    Some(at) => {
                        if planted[at].1 {
                            first += 1;
                            caught_first += 1;
                        }
                        planted.remove(at);
                        shown + if shown > new { -0.025 } else { 0.025 }
                    }
                    None => shown,
                };
                crank.take(open, &format!("{truth:.4}"));
            }
        }
        first += planted.iter().filter(|(_, is_first)| *is_first).count();
        left_in += planted.len();
    }
    let counts = format!(
        "{caught_with_sibling} of {with_sibling} beside a sibling, {caught_first} of {first} on a first spot, \
         {doubted} of {good} good ones doubted, {left_in} left in"
    );
    assert!(with_sibling >= 15 && first >= 5, "{counts}");
    assert!(caught_with_sibling * 100 >= with_sibling * 98, "{counts}");
    assert!(caught_first * 100 >= first * 90, "{counts}");
    assert!(doubted * 1000 <= good * 6, "{counts}");
    assert!(left_in * 1000 <= good, "{counts}");
}
