//! Oxbow Engine Works: an invented shop with a job at every stage of work.
//!
//! People, customers, engines and figures are all made up. The entries are written through the record like anybody's,
//! so everything that reads a record reads these.

mod pen;
mod picture;

use crank::SetName;
use jiff::{SignedDuration, Timestamp, tz::TimeZone};
use regrind::Stage as Size;
use shop::{
    Agreement, CheckedAt, Draft, EntryKind, Row, Settled, ShopKind, Source, Stage, Store, StoreError, Value, fresh_id,
};

use SetName::{Main, Pin};
use pen::{Pen, SKELDER, TARN, WREN, Wear, micrometer};

const PAT: &str = "Pat Oakley";
const ROWAN: &str = "Rowan Hale";
const SAM: &str = "Sam Birch";

/// A set and the undersize that it is ground to, as typed.
type Ground = (SetName, &'static str);

/// Eye checks of the final check, with what was found.
const EYES: [&str; 7] = ["radius", "oilways open", "plugs refitted", "crack test", "demagnetised", "finish", "stamp"];

/// Mains and pins of a Tarn four that ran on dirty oil.
const TIRED: ([Wear; 5], [Wear; 4]) =
    ([(5, 2), (14, 6), (17, 7), (12, 4), (2, 1)], [(38, 17), (61, 28), (41, 18), (33, 14)]);
/// The same after a gentler life.
const GENTLE: ([Wear; 5], [Wear; 4]) =
    ([(4, 1), (12, 6), (14, 7), (11, 6), (3, 1)], [(14, 7), (16, 8), (17, 8), (13, 7)]);

/// Moments of the last weeks, by the clock on the wall.
#[derive(Clone, Copy, Debug)]
struct Days {
    now: Timestamp,
}

impl Days {
    /// So many days ago at a time of day.
    fn ago(self, days: i64, hour: i8, minute: i8) -> Timestamp {
        let zone = TimeZone::system();
        let then = self.now - SignedDuration::from_hours(24 * days);
        let day = then.to_zoned_datetime(zone.clone()).date();
        zone.to_timestamp(day.at(hour, minute, 0, 0)).unwrap_or(then).min(self.now)
    }

    /// So many minutes ago.
    fn just(self, minutes: i64) -> Timestamp {
        self.now - SignedDuration::from_mins(minutes)
    }
}

/// Fills an empty record with the invented shop, as if `now` were now.
///
/// # Errors
/// What the record says; nothing of this is expected to be refused.
pub(crate) async fn fill(store: &Store, now: Timestamp) -> Result<(), StoreError> {
    let days = Days { now };
    the_shop(store, days).await?;
    example(store, days).await?;
    collected(store, days).await?;
    put_away(store, days).await?;
    ready(store, days).await?;
    final_check(store, days).await?;
    at_treatment(store, days).await?;
    at_the_grinder(store, days).await?;
    to_decide(store, days).await?;
    measuring(store, days).await?;
    booked_in(store, days).await?;
    bent(store, days).await
}

async fn the_shop(store: &Store, days: Days) -> Result<(), StoreError> {
    let words = |pairs: &[(&str, &str)]| Value::table(pairs.iter().map(|&(key, text)| (key, Value::from(text))));
    let mut lines = vec![(
        days.ago(40, 9, 0),
        ShopKind::Settings {
            settings: words(&[
                ("name", "Oxbow Engine Works"),
                ("address", "Unit 3, Old Dairy Lane"),
                ("words", "pin"),
                ("units", "in"),
                ("page", "A4"),
                ("money", "£"),
            ]),
        },
    )];
    for name in [PAT, ROWAN, SAM] {
        lines.push((days.ago(40, 9, 5), ShopKind::Person { name: name.to_owned() }));
    }
    for engine in [TARN, SKELDER, WREN] {
        let name = engine.file.to_owned();
        lines.push((days.ago(40, 9, 10), ShopKind::Specification { name, specification: engine.book()? }));
    }
    for (name, standard, checks) in [
        ("mic 1-2", "1.0000 in", ["0.0000", "+0.0001"]),
        ("mic 2-3", "2.0000 in", ["0.0000", "0.0000"]),
        ("mic 50-75", "50.000 mm", ["0.000", "0.000"]),
        ("mic 75-100", "75.000 mm", ["0.000", "+0.002"]),
    ] {
        lines.push((days.ago(40, 9, 20), ShopKind::Instrument { row: micrometer(name) }));
        for (weeks, reads) in (1..).zip(checks.iter().rev()) {
            let kind = ShopKind::InstrumentChecked {
                instrument: name.to_owned(),
                standard: standard.to_owned(),
                reads: (*reads).to_owned(),
            };
            lines.push((days.ago(7 * weeks - 2, 8, 15), kind));
        }
    }
    lines.push((
        days.ago(40, 9, 40),
        ShopKind::Prices { specification: Some(TARN.file.to_owned()), prices: prices_of_the_tarn() },
    ));
    let batch = |goes: Timestamp| {
        let day: String = goes.to_string().chars().take(10).collect();
        Value::table([
            ("treater", Value::from("Highmoor Heat Treatment")),
            ("treatment", Value::from("nitriding")),
            ("goes", Value::from(day)),
        ])
    };
    for (name, sent) in [("N-30", days.ago(13, 16, 0)), ("N-31", days.ago(2, 16, 0))] {
        lines.push((sent, ShopKind::Batch { batch: name.to_owned(), particulars: batch(sent) }));
    }
    lines.push((days.ago(8, 11, 0), ShopKind::BatchClosed { batch: "N-30".to_owned() }));
    lines.sort_by_key(|(at, _)| *at);
    let drafts: Vec<Draft<ShopKind>> = lines
        .into_iter()
        .map(|(at, kind)| Ok(Draft::new(fresh_id()?, PAT, at.to_string(), kind)))
        .collect::<Result<_, StoreError>>()?;
    let seen = store.shop_seq().await?;
    store.append_to_shop(seen, &drafts).await?;
    Ok(())
}

/// What grinding a Tarn costs at Oxbow.
fn prices_of_the_tarn() -> Value {
    let set = |pass: i64, shells: i64, scrap: i64| {
        Value::table([
            ("pass", Value::from(pass)),
            ("shells", Value::from(shells)),
            ("scrap", Value::from(scrap)),
            ("life", Value::from(15)),
        ])
    };
    Value::table([("main", set(110, 48, 420)), ("pin", set(125, 42, 420))])
}

/// Writes a whole job, up to its signature if it has one.
async fn write(store: &Store, pen: &Pen) -> Result<i64, StoreError> {
    Ok(store.book_in(pen.lines()).await?.job)
}

/// Signs a job that was written, as it stands.
async fn sign(store: &Store, job: i64, spots: usize, code: &str, at: Timestamp) -> Result<(), StoreError> {
    let says = format!("I measured these {spots} spots after grinding, and all are inside the sizes on sheet {code}.");
    let document_hash = store.job(job).await?.frozen_hash();
    append(store, job, ROWAN, at, EntryKind::SignedOff { document_hash, says }).await
}

async fn append(store: &Store, job: i64, who: &str, at: Timestamp, kind: EntryKind) -> Result<(), StoreError> {
    let seen = store.head(job).await?.seq;
    store.append_keeping(job, seen, &[Draft::new(fresh_id()?, who, at.to_string(), kind)]).await?;
    Ok(())
}

/// Grinds a set, with a reading of each journal's first spot on the way and whether it cleaned up.
fn grind(pen: &mut Pen, set: Ground, numbers: std::ops::RangeInclusive<usize>) -> Result<(), StoreError> {
    for number in numbers {
        let rows = pen.after(Size::Grind, set, number..=number)?;
        for row in rows.into_iter().step_by(2) {
            pen.put(EntryKind::GroundReading(row))?;
        }
        pen.put(EntryKind::CleanedUp { journal: format!("{} {number}", set.0), yes: true, left: None })?;
    }
    Ok(())
}

fn finals(pen: &mut Pen, rows: Vec<Row>) -> Result<usize, StoreError> {
    let count = rows.len();
    for row in rows {
        pen.put(EntryKind::FinalReading(row))?;
    }
    Ok(count)
}

fn by_eye(pen: &mut Pen, items: &[&str]) -> Result<(), StoreError> {
    for &item in items {
        let by = if item == "crack test" { "Highmoor Heat Treatment" } else { ROWAN };
        let says = (item == "crack test").then(|| "Magnetic particles, no indications.".to_owned());
        pen.put(EntryKind::EyeCheck { item: item.to_owned(), passed: true, by: by.to_owned(), says })?;
    }
    Ok(())
}

/// Moves a job on to deciding by hand, as the button on the measuring page does.
fn measured(pen: &mut Pen) -> Result<(), StoreError> {
    pen.put(EntryKind::Moved { to: Stage::ToDecide })?;
    Ok(())
}

const SURE_10: &str = "At 0.010 in under cleaning up is almost certain: more than 99 in 100 such cranks would.";
const SURE_20: &str = "At 0.020 in under cleaning up is almost certain: more than 99 in 100 such cranks would.";
const SURE_QUARTER: &str = "At 0.25 mm under cleaning up is almost certain: more than 99 in 100 such cranks would.";

/// The example: a whole job, with one reading that was a turn of the thimble out and was put right.
async fn example(store: &Store, days: Days) -> Result<(), StoreError> {
    let mut pen = Pen::book_in(TARN, (PAT, days.ago(30, 8, 40)), "X-1", ("Example customer", ""), None)?.example();
    let (mains, pins) = TIRED;
    pen.then(SAM, days.ago(30, 9, 10));
    pen.measure(Main, &mains)?;
    // The last pin waits until the slip on the third is put right.
    pen.measure(Pin, &pins[..2])?;
    let new = 18_748 - 41;
    pen.read((Pin, 3, "front", 0), new)?;
    pen.read((Pin, 3, "front", 90), new + 18)?;
    pen.read((Pin, 3, "rear", 0), new - 1)?;
    let slip = pen.read((Pin, 3, "rear", 90), new + 17 - 250)?;
    let flag = pen.put(EntryKind::FlagRaised {
        about: Some(slip),
        check: "likely misread".to_owned(),
        says: "1.8475 is 0.0239 less than the other three here: about one full turn of the thimble (0.025 in a turn). \
               Look again before you move the micrometer."
            .to_owned(),
    })?;
    let by = pen.read((Pin, 3, "rear", 90), new + 17)?;
    pen.put(EntryKind::FlagSettled { flag, how: Settled::MeasuredAgain { by } })?;
    let new = 18_748 - 33;
    for (spot, steps) in
        [(("front", 0), new), (("front", 90), new + 14), (("rear", 0), new - 1), (("rear", 90), new + 13)]
    {
        pen.read((Pin, 4, spot.0, spot.1), steps)?;
    }
    measured(&mut pen)?;
    pen.then(PAT, days.ago(29, 10, 0));
    pen.decide(Main, "0.010", SURE_10)?;
    pen.decide(Pin, "0.020", SURE_20)?;
    let (main, pin) = ((Main, "0.010"), (Pin, "0.020"));
    pen.issue("E4X")?;
    pen.then(SAM, days.ago(28, 8, 30));
    grind(&mut pen, main, 1..=5)?;
    grind(&mut pen, pin, 1..=4)?;
    away_and_back(&mut pen, "N-29", main, pin, days.ago(27, 15, 0), days.ago(22, 11, 0))?;
    pen.then(ROWAN, days.ago(21, 9, 0));
    let mut spots = 0;
    for (set, numbers) in [(main, 1..=5), (pin, 1..=4)] {
        let rows = pen.after(Size::Finished, set, numbers)?;
        spots += finals(&mut pen, rows)?;
    }
    by_eye(&mut pen, &EYES)?;
    let job = write(store, &pen).await?;
    sign(store, job, spots, "E4X", days.ago(21, 10, 0)).await?;
    append(store, job, PAT, days.ago(20, 16, 0), EntryKind::HandedOver { to: "Example customer".to_owned() }).await
}

/// Away for treatment with the sizes before, and back with those after.
fn away_and_back(
    pen: &mut Pen,
    batch: &str,
    main: Ground,
    pin: Ground,
    away: Timestamp,
    back: Timestamp,
) -> Result<(), StoreError> {
    send(pen, batch, main, pin, away)?;
    pen.then(PAT, back);
    let mut sizes = pen.after(Size::Finished, main, 1..=2)?;
    sizes.extend(pen.after(Size::Finished, pin, 1..=2)?);
    pen.put(EntryKind::BackFromTreatment { batch: batch.to_owned(), sizes })?;
    Ok(())
}

fn send(pen: &mut Pen, batch: &str, main: Ground, pin: Ground, away: Timestamp) -> Result<(), StoreError> {
    pen.then(PAT, away);
    let mut sizes = pen.after(Size::BeforeTreatment, main, 1..=2)?;
    sizes.extend(pen.after(Size::BeforeTreatment, pin, 1..=2)?);
    pen.put(EntryKind::SentToTreatment { batch: batch.to_owned(), sizes })?;
    Ok(())
}

/// A Wren whose mains were left and whose pin was ground.
async fn collected(store: &Store, days: Days) -> Result<(), StoreError> {
    let mut pen = Pen::book_in(WREN, (PAT, days.ago(24, 9, 20)), "W-16", ("J. Fletcher", "01632 960118"), Some(14))?;
    pen.then(ROWAN, days.ago(24, 10, 0));
    pen.measure(Main, &[(0, 0), (1, 1)])?;
    pen.measure(Pin, &[(44, 34)])?;
    measured(&mut pen)?;
    pen.then(PAT, days.ago(23, 9, 0));
    pen.decide(
        Main,
        "leave",
        "As far as it was measured every journal is within its limits, and no damage is told of.",
    )?;
    let pin = (Pin, "0.020");
    pen.decide(Pin, "0.020", SURE_20)?;
    pen.issue("H2M")?;
    pen.then(SAM, days.ago(22, 13, 30));
    grind(&mut pen, pin, 1..=1)?;
    pen.then(ROWAN, days.ago(21, 14, 0));
    let rows = pen.after(Size::Finished, pin, 1..=1)?;
    let spots = finals(&mut pen, rows)?;
    by_eye(&mut pen, &["radius", "oilways open", "plugs refitted", "crack test", "demagnetised", "finish", "stamp"])?;
    let job = write(store, &pen).await?;
    sign(store, job, spots, "H2M", days.ago(21, 14, 30)).await?;
    append(store, job, PAT, days.ago(18, 12, 10), EntryKind::HandedOver { to: "J. Fletcher".to_owned() }).await
}

/// A Tarn four with a crack, which ended the matter.
async fn put_away(store: &Store, days: Days) -> Result<(), StoreError> {
    let mut pen = Pen::book_in(TARN, (PAT, days.ago(20, 11, 0)), "C-0398", ("T. Cooper", "01632 960142"), Some(15))?;
    pen.then(SAM, days.ago(19, 9, 0));
    pen.measure(Main, &GENTLE.0)?;
    let crack = Value::table([("journal", Value::from("pin 2")), ("kind", Value::from("crack"))]);
    pen.put(EntryKind::Damage(Row::typed(crack)))?;
    pen.then(PAT, days.ago(18, 9, 30));
    pen.put(EntryKind::Note { text: "Crack at the rear fillet of pin 2, found with magnetic particles.".to_owned() })?;
    pen.put(EntryKind::PutAway { reason: "Cracked at pin 2. The owner looks for another crank.".to_owned() })?;
    write(store, &pen).await?;
    Ok(())
}

/// A Skelder six, signed off and waiting for its owner.
async fn ready(store: &Store, days: Days) -> Result<(), StoreError> {
    let mut pen =
        Pen::book_in(SKELDER, (PAT, days.ago(16, 8, 30)), "S-1098", ("Alder Plant Hire", "01632 960155"), Some(18))?;
    pen.then(ROWAN, days.ago(15, 9, 0));
    pen.measure(Main, &[(30, 6), (44, 10), (46, 12), (52, 14), (44, 10), (40, 8), (28, 4)])?;
    pen.measure(Pin, &[(42, 18), (50, 22), (46, 20), (56, 26), (46, 20), (42, 18)])?;
    measured(&mut pen)?;
    pen.then(PAT, days.ago(14, 9, 0));
    let (main, pin) = ((Main, "0.25"), (Pin, "0.25"));
    pen.decide(Main, main.1, SURE_QUARTER)?;
    pen.decide(Pin, pin.1, SURE_QUARTER)?;
    pen.issue("M4P")?;
    pen.then(SAM, days.ago(10, 8, 10));
    grind(&mut pen, main, 1..=7)?;
    grind(&mut pen, pin, 1..=6)?;
    pen.then(ROWAN, days.ago(6, 9, 0));
    let mut spots = 0;
    for (set, numbers) in [(main, 1..=7), (pin, 1..=6)] {
        let rows = pen.after(Size::Finished, set, numbers)?;
        spots += finals(&mut pen, rows)?;
    }
    by_eye(&mut pen, &EYES)?;
    let job = write(store, &pen).await?;
    sign(store, job, spots, "M4P", days.ago(6, 10, 30)).await
}

/// A Tarn four back from treatment, its mains checked, its pins not.
async fn final_check(store: &Store, days: Days) -> Result<(), StoreError> {
    let mut pen = Pen::book_in(TARN, (PAT, days.ago(19, 10, 0)), "C-0404", ("R. Sawyer", "01632 960163"), Some(21))?;
    let (main, pin) = decided_tarn(&mut pen, TIRED, ("0.010", "0.020"), days, (18, 17))?;
    pen.issue("K7Q")?;
    pen.then(SAM, days.ago(15, 8, 0));
    grind(&mut pen, main, 1..=5)?;
    grind(&mut pen, pin, 1..=4)?;
    away_and_back(&mut pen, "N-30", main, pin, days.ago(13, 16, 0), days.ago(8, 11, 0))?;
    pen.then(ROWAN, days.just(95));
    let rows = pen.after(Size::Finished, main, 1..=4)?;
    finals(&mut pen, rows)?;
    by_eye(&mut pen, &["crack test", "demagnetised"])?;
    write(store, &pen).await?;
    Ok(())
}

/// Measures and decides a Tarn four; days are those ago on which it was measured and decided.
fn decided_tarn(
    pen: &mut Pen,
    (mains, pins): ([Wear; 5], [Wear; 4]),
    (main, pin): (&'static str, &'static str),
    days: Days,
    (measured_on, decided_on): (i64, i64),
) -> Result<(Ground, Ground), StoreError> {
    pen.then(SAM, days.ago(measured_on, 9, 0));
    let written = pen.measure(Main, &mains)?;
    // One spot is measured twice, without seeing the first figure.
    if let Some(&of) = written.get(8)
        && let Some(size) = pen.same_again(of)
    {
        pen.put(EntryKind::SecondReading { of, size, source: Source::Typed, found: Agreement::Agrees })?;
    }
    pen.measure(Pin, &pins)?;
    pen.put(EntryKind::ZeroCheck {
        instrument: "mic 1-2".to_owned(),
        reads: "+0.0001".to_owned(),
        at: CheckedAt::End,
    })?;
    measured(pen)?;
    pen.then(PAT, days.ago(decided_on, 10, 0));
    pen.decide(Main, main, if main == "0.010" { SURE_10 } else { SURE_20 })?;
    pen.decide(Pin, pin, if pin == "0.010" { SURE_10 } else { SURE_20 })?;
    Ok(((Main, main), (Pin, pin)))
}

/// Two Tarn fours away in the same batch.
async fn at_treatment(store: &Store, days: Days) -> Result<(), StoreError> {
    let cranks = [
        ("C-0407", ("M. Turner", "01632 960171"), GENTLE, ("0.010", "0.010"), "B3R", 12),
        ("C-0408", ("Lowland Classics", "01632 960174"), TIRED, ("0.010", "0.020"), "B9T", 11),
    ];
    for (mark, customer, worn, sizes, code, came) in cranks {
        let mut pen = Pen::book_in(TARN, (PAT, days.ago(came, 9, 0)), mark, customer, Some(18))?;
        let (main, pin) = decided_tarn(&mut pen, worn, sizes, days, (came - 1, came - 2))?;
        pen.issue(code)?;
        pen.then(SAM, days.ago(came - 5, 8, 0));
        grind(&mut pen, main, 1..=5)?;
        grind(&mut pen, pin, 1..=4)?;
        send(&mut pen, "N-31", main, pin, days.ago(2, 16, 0))?;
        write(store, &pen).await?;
    }
    Ok(())
}

/// A Tarn four whose mains are half ground.
async fn at_the_grinder(store: &Store, days: Days) -> Result<(), StoreError> {
    let mut pen = Pen::book_in(TARN, (PAT, days.ago(8, 14, 0)), "C-0411", ("H. Mason", "01632 960180"), Some(16))?;
    let (main, _) = decided_tarn(&mut pen, TIRED, ("0.010", "0.020"), days, (7, 6))?;
    pen.issue("D6W")?;
    pen.then(SAM, days.just(140));
    let rough = pen.after(Size::Rough, main, 1..=2)?;
    for row in rough.into_iter().step_by(2) {
        pen.put(EntryKind::GroundReading(row))?;
    }
    pen.then(SAM, days.just(40));
    grind(&mut pen, main, 1..=2)?;
    write(store, &pen).await?;
    Ok(())
}

/// A Tarn four with a scored pin and its photograph, and a Skelder six that was ground before.
async fn to_decide(store: &Store, days: Days) -> Result<(), StoreError> {
    let mut pen =
        Pen::bring_in(TARN, (ROWAN, days.ago(5, 9, 10)), "tarn-four-worn.toml", ("A. Miller", "01632 960188"))?;
    let picture = store.keep_picture(picture::scored_journal()?).await?.hash;
    pen.put(EntryKind::Photograph {
        picture,
        caption: "Grooves from dirt in the oil, front half.".to_owned(),
        journal: Some("pin 2".to_owned()),
    })?;
    measured(&mut pen)?;
    write(store, &pen).await?;
    let customer = ("Holm Farm Engineering", "01632 960190");
    let mut pen = Pen::bring_in(SKELDER, (SAM, days.ago(4, 10, 0)), "skelder-six-ground-before.toml", customer)?;
    measured(&mut pen)?;
    write(store, &pen).await?;
    Ok(())
}

/// A Tarn four with its mains measured but for one spot, which does not fit; and a Skelder six just begun.
async fn measuring(store: &Store, days: Days) -> Result<(), StoreError> {
    let mut pen =
        Pen::book_in(SKELDER, (PAT, days.ago(2, 9, 0)), "S-1110", ("Alder Plant Hire", "01632 960155"), Some(20))?;
    pen.then(SAM, days.ago(1, 15, 30));
    pen.measure(Main, &[(24, 4), (36, 8), (34, 8)])?;
    write(store, &pen).await?;
    let mut pen = Pen::book_in(TARN, (PAT, days.ago(3, 16, 20)), "C-0413", ("P. Carter", "01632 960196"), Some(17))?;
    pen.put(EntryKind::Note { text: "Ran a big end at 60,000 miles; the owner has the shells.".to_owned() })?;
    pen.then(ROWAN, days.just(16));
    pen.measure(Main, &TIRED.0[..4])?;
    let new = 21_248 - 2;
    pen.read((Main, 5, "front", 0), new)?;
    pen.read((Main, 5, "front", 90), new + 1)?;
    pen.read((Main, 5, "rear", 0), new - 1)?;
    let slip = pen.read((Main, 5, "rear", 90), new + 250)?;
    pen.put(EntryKind::FlagRaised {
        about: Some(slip),
        check: "likely misread".to_owned(),
        says: "2.1496 is 0.0250 more than the other three here: one full turn of the thimble (0.025 in a turn). Look \
               again before you move the micrometer."
            .to_owned(),
    })?;
    write(store, &pen).await?;
    Ok(())
}

/// Two on the shelf.
async fn booked_in(store: &Store, days: Days) -> Result<(), StoreError> {
    let customers = [
        (WREN, "W-19", ("E. Thatcher", "01632 960201"), days.ago(1, 11, 40)),
        (TARN, "C-0414", ("Lowland Classics", "01632 960174"), days.just(65)),
    ];
    for (engine, mark, customer, came) in customers {
        let pen = Pen::book_in(engine, (PAT, came), mark, customer, Some(21))?;
        write(store, &pen).await?;
    }
    Ok(())
}

/// A Skelder six that came in bent, off its stroke and thinly cased, with all that was measured of the shaft.
async fn bent(store: &Store, days: Days) -> Result<(), StoreError> {
    let customer = ("Ridgeway Quarries", "01632 960163");
    let mut pen = Pen::bring_in(SKELDER, (SAM, days.ago(1, 8, 50)), "skelder-six-bent.toml", customer)?;
    measured(&mut pen)?;
    write(store, &pen).await?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files;

    async fn filled() -> (tempfile::TempDir, Store) {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&folder.path().join("oxbow.tenunder").display().to_string()).await.unwrap();
        fill(&store, Timestamp::now()).await.unwrap();
        (folder, store)
    }

    fn on_runtime(test: impl Future<Output = ()>) {
        tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap().block_on(test);
    }

    #[test]
    fn there_is_a_job_at_every_stage_and_the_record_is_whole() {
        on_runtime(async {
            let (_folder, store) = filled().await;
            for (stage, count) in store.stages().await.unwrap() {
                assert!(count > 0, "no job is at {stage}");
            }
            let examples = store.examples().await.unwrap();
            assert_eq!(examples.len(), 1);
            let example = store.entries(examples[0].job, 0).await.unwrap();
            let solved = |entry: &shop::Entry| matches!(entry.kind, EntryKind::FlagSettled { .. });
            assert!(example.iter().any(solved) && shop::fold(&example).flags.is_empty());
            assert_eq!(store.jobs_in_batch("N-31").await.unwrap().len(), 2);
            let away = shop::Wanted { put_away: true, ..shop::Wanted::default() };
            assert_eq!(store.jobs(&away).await.unwrap().all, 1);
            assert_eq!(store.verify().await.unwrap().faults, Vec::<String>::new());
        });
    }

    /// Nothing in the shop happened in the future, and each job in the order in which it is told.
    #[test]
    fn times_run_forward_and_end_now() {
        on_runtime(async {
            let (_folder, store) = filled().await;
            let now = Timestamp::now();
            for job in 1001..=1015 {
                let times: Vec<Timestamp> =
                    store.entries(job, 0).await.unwrap().iter().map(|entry| entry.when.parse().unwrap()).collect();
                assert!(times.is_sorted(), "job {job}");
                assert!(times.iter().all(|time| *time <= now), "job {job}");
            }
        });
    }

    /// What was decided is what the readings lead to, so that no verdict on the pages contradicts the shop.
    #[test]
    fn decisions_are_what_the_readings_lead_to() {
        on_runtime(async {
            let (_folder, store) = filled().await;
            let mut compared = 0;
            for job in 1001..=1015 {
                let job = store.job(job).await.unwrap();
                if job.rows.is_empty() {
                    continue;
                }
                let name = format!("job {}", job.number);
                let sheet = sheet::read_sheet(&name, &job.sheet_json(), &files::Beside { folder: None }).unwrap();
                let verdict =
                    regrind::assess(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit, &|_| {}).unwrap();
                for decided in &job.decisions {
                    let set = verdict.sets.iter().find(|set| set.set.word() == decided.set).unwrap();
                    let chosen = match set.choice {
                        regrind::Choice::Grind { undersize_mm } => {
                            units::show_mm(undersize_mm, sheet.unit, decided.choice.len() as u32 - 2)
                        }
                        regrind::Choice::LeaveAlone => "leave".to_owned(),
                        other => other.word().to_owned(),
                    };
                    assert_eq!(chosen, decided.choice, "{name}, {}: {}", decided.set, set.reason);
                    assert!(set.reason.contains(&decided.verdict), "{name}: {} / {}", set.reason, decided.verdict);
                    compared += 1;
                }
                let open = usize::from(!job.flags.is_empty());
                assert!(usize::from(verdict.look_again) <= open, "{name}: {:?}", verdict.notes);
            }
            assert_eq!(compared, 14, "sets decided");
        });
    }
}
