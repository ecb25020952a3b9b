//! Fills a record with a shop's lifetime of work and measures what the pages will ask of it.
//!
//! `cargo run --release -p shop --example load -- FILE [JOBS] [READINGS PER JOB]`: FILE may also be the address of an
//! empty PostgreSQL database. Without numbers 10,000 jobs of 100 readings are made; `fill` after the numbers leaves it at
//! that. A record that has jobs is measured as it is.

use std::io::Write;
use std::time::{Duration, Instant};

use shop::{BookedIn, Draft, EntryKind, Row, Stage, Store, Value, Wanted, fold, fresh_id, now};

const PEOPLE: usize = 20;
const READINGS_EACH: usize = 200;

fn say(text: &str) {
    // Nobody is left to tell when this fails.
    let _ = writeln!(std::io::stdout(), "{text}");
}

fn booked(n: usize) -> EntryKind {
    let specification = Value::table([("specification", Value::from(1)), ("name", Value::from("Tarn four"))]);
    EntryKind::BookedIn(BookedIn {
        mark: format!("C-{n:05}"),
        customer: format!("{} {}", ["Miller", "Fletcher", "Sawyer", "Cooper", "Turner"][n % 5], n / 5),
        telephone: format!("01792 {:06}", (n * 7919) % 1_000_000),
        crank: ["Tarn four, 1.5 litre", "Skelder six", "Wren"][n % 3].to_owned(),
        promised: None,
        sheet: Value::table([("units", Value::from("in")), ("specification", specification)]),
        example: false,
    })
}

fn reading(n: usize) -> EntryKind {
    let journal = ["main 1", "main 2", "main 3", "main 4", "main 5", "pin 1", "pin 2", "pin 3", "pin 4"][n / 8 % 9];
    EntryKind::Reading(Row::typed(Value::table([
        ("journal", Value::from(journal)),
        ("at", Value::from(["front", "middle", "rear"][n % 3])),
        ("plane", Value::typed(["0", "90"][n / 3 % 2])),
        ("size", Value::typed(&format!("2.1{:03}", 200 + n % 50))),
        ("with", Value::from("mic 2-3")),
    ])))
}

fn draft(kind: EntryKind) -> Result<Draft, shop::StoreError> {
    Ok(Draft::new(fresh_id()?, "Pat", now(), kind))
}

fn told(name: &str, mut times: Vec<Duration>) {
    times.sort();
    let at = |share: f64| times.get(((times.len() - 1) as f64 * share) as usize).copied().unwrap_or_default();
    say(&format!(
        "{name}: median {:.2} ms, p95 {:.2} ms, p99 {:.2} ms, longest {:.2} ms ({} times)",
        at(0.5).as_secs_f64() * 1e3,
        at(0.95).as_secs_f64() * 1e3,
        at(0.99).as_secs_f64() * 1e3,
        at(1.0).as_secs_f64() * 1e3,
        times.len()
    ));
}

#[tokio::main]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let place = arguments.next().ok_or("name a file or the address of a database")?;
    let jobs: usize = arguments.next().map_or(Ok(10_000), |text| text.parse())?;
    let readings: usize = arguments.next().map_or(Ok(100), |text| text.parse())?;
    let started = Instant::now();
    let store = Store::open(&place).await?;
    say(&format!("opened the record in {:.0?}", started.elapsed()));

    let there = store.jobs(&Wanted { stage: Some(Stage::Collected), ..Wanted::default() }).await?.all;
    let started = Instant::now();
    for n in 0..if there == 0 { jobs } else { 0 } {
        let mut drafts = vec![draft(booked(n))?];
        for k in 0..readings {
            drafts.push(draft(reading(k))?);
        }
        // Three in four are done with, as in any shop's record.
        drafts.push(draft(EntryKind::Moved { to: if n % 4 == 0 { Stage::ALL[n / 4 % 7] } else { Stage::Collected } })?);
        store.book_in(&drafts).await?;
    }
    say(&format!("{jobs} jobs of {readings} readings written in {:.1?}", started.elapsed()));
    store.close().await;
    if arguments.next().as_deref() == Some("fill") {
        return Ok(());
    }

    let started = Instant::now();
    let store = Store::open(&place).await?;
    let first = store.jobs(&Wanted::default()).await?;
    say(&format!("opened with its first list of {} in {:.1?}", first.all, started.elapsed()));

    for (name, wanted) in [
        ("list of open jobs", Wanted::default()),
        ("list at one stage", Wanted { stage: Some(Stage::Measuring), ..Wanted::default() }),
        ("all collected, page 100", Wanted { stage: Some(Stage::Collected), page: 100, ..Wanted::default() }),
        ("search for a name", Wanted { search: "cooper 12".into(), ..Wanted::default() }),
        ("search for the end of a number", Wanted { search: "446".into(), ..Wanted::default() }),
        ("search for nothing there", Wanted { search: "xyzzy".into(), ..Wanted::default() }),
    ] {
        let mut times = Vec::new();
        for _ in 0..50 {
            let started = Instant::now();
            store.jobs(&wanted).await?;
            times.push(started.elapsed());
        }
        told(name, times);
    }
    let mut times = Vec::new();
    for n in 0..200 {
        let started = Instant::now();
        let entries = store.entries(1001 + (n * 37) as i64 % jobs as i64, 0).await?;
        std::hint::black_box(fold(&entries));
        times.push(started.elapsed());
    }
    told("one job read and added up", times);

    // Twenty people, each at a crank of their own, a reading every quarter of a second: far faster than hands are.
    let mut people = Vec::new();
    for person in 0..PEOPLE {
        let store = store.clone();
        people.push(tokio::spawn(async move {
            let mut times = Vec::new();
            let job = 1001 + (person * 101) as i64 % jobs as i64;
            let mut seen = store.job(job).await?.seq;
            for k in 0..READINGS_EACH {
                tokio::time::sleep(Duration::from_millis(200 + ((person * 31 + k * 17) % 100) as u64)).await;
                let draft = draft(reading(k))?;
                let started = Instant::now();
                seen = store.append_keeping(job, seen, std::slice::from_ref(&draft)).await?.0;
                times.push(started.elapsed());
            }
            Ok::<_, shop::StoreError>(times)
        }));
    }
    let mut times = Vec::new();
    for person in people {
        times.extend(person.await??);
    }
    told(&format!("{PEOPLE} people, reading to saved"), times);

    let started = Instant::now();
    let file = std::env::temp_dir().join(format!("load-{}.backup", std::process::id()));
    let saved = store.backup(&file).await?;
    say(&format!("backup, looked through: {:.1?}, {} entries", started.elapsed(), saved.entries));
    std::fs::remove_file(&file)?;
    let started = Instant::now();
    let checked = store.verify().await?;
    say(&format!("verify: {:.1?}, {} entries, {} faults", started.elapsed(), checked.entries, checked.faults.len()));
    store.close().await;
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    for line in status.lines().filter(|line| line.starts_with("VmHWM")) {
        say(&format!("most memory at any time: {}", line.trim_start_matches("VmHWM:").trim()));
    }
    Ok(())
}
