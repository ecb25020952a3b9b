//! The program is killed at random moments while people enter readings: nothing that was acknowledged is lost, nothing
//! is written twice, and the record is whole.
#![cfg(feature = "pages")]
#![allow(clippy::print_stderr, reason = "a run that fails is repeated with its seed")]

mod served;

use std::collections::HashMap;
use std::net::SocketAddr;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use served::{Dice, Served, ask, folder, program};

/// How often it is killed, unless `TENUNDER_TEST_KILLS` says otherwise.
const KILLS: usize = 20;
const PEOPLE: usize = 3;
/// After so many kills people go on with a new crank.
const KILLS_A_CRANK: usize = 5;
/// So many readings are acknowledged before a kill may fall, however slow the machine: a kill before the first of them
/// tries nothing. Nobody waits longer than this for them.
const BEFORE_A_KILL: usize = 2;
const PATIENCE: Duration = Duration::from_secs(120);

/// What one person knows of the crank they measure.
struct Person {
    dice: Dice,
    job: i64,
    /// Acknowledged: the name of the entry and the size that was typed.
    acknowledged: HashMap<String, String>,
    /// Sent, and no answer came.
    unknown: Option<(String, Value)>,
    count: usize,
}

impl Person {
    fn new(seed: u64) -> Person {
        Person { dice: Dice(seed), job: 0, acknowledged: HashMap::new(), unknown: None, count: 0 }
    }

    fn book_in(&mut self, address: SocketAddr) {
        let crank = json!({
            "id": self.dice.id(), "who": "Pat", "when": "2026-11-25T09:00:00Z", "what": { "engine": "tarn-four" }
        });
        let answer = post(address, "/api/jobs", &crank).unwrap();
        self.job = answer["job"].as_i64().unwrap();
        self.count = 0;
    }

    /// Enters readings until the program is gone.
    fn enter(&mut self, address: SocketAddr, gone: &AtomicBool, answers: &AtomicUsize) {
        let path = format!("/api/jobs/{}/readings", self.job);
        while !gone.load(Ordering::Relaxed) {
            // What got no answer is sent again under its own name.
            let (id, reading) = self.unknown.take().unwrap_or_else(|| self.reading());
            match post(address, &path, &reading) {
                Ok(answer) => {
                    assert!(answer["outcome"].is_string(), "{answer}");
                    self.acknowledged.insert(id, reading["typed"].as_str().unwrap().to_owned());
                    answers.fetch_add(1, Ordering::Relaxed);
                }
                Err(_) => self.unknown = Some((id, reading)),
            }
        }
    }

    fn reading(&mut self) -> (String, Value) {
        let n = self.count;
        self.count += 1;
        let (set, number, size) = match n % 36 {
            n @ 0..20 => ("main", n / 4 + 1, 21_200),
            n => ("pin", (n - 20) / 4 + 1, 18_700),
        };
        let spot = format!("{set}-{number}.{}.{}", ["front", "rear"][n / 2 % 2], ["a", "b"][n % 2]);
        let size = size + self.dice.next() % 40;
        let id = self.dice.id();
        let reading = json!({
            "id": id, "who": "Pat", "when": "2026-11-25T09:00:00Z", "spot": spot,
            "typed": format!("{}.{:04}", size / 10_000, size % 10_000)
        });
        (id, reading)
    }

    /// Compares the record with what was acknowledged.
    fn compare(&self, served: &Served) {
        let entries = served.get(&format!("/api/jobs/{}/entries", self.job)).json();
        let entries = entries.as_array().unwrap();
        let mut sizes: HashMap<&str, String> = HashMap::new();
        for (n, entry) in entries.iter().enumerate() {
            assert_eq!(entry["seq"], n + 1, "no place is missing");
            let kind = &entry["kind"];
            let size = [&kind["reading"]["row"]["size"], &kind["second_reading"]["size"]]
                .into_iter()
                .find(|size| !size.is_null())
                .map(|size| size.as_str().map_or_else(|| size.to_string(), str::to_owned));
            let twice = sizes.insert(entry["id"].as_str().unwrap(), size.unwrap_or_default());
            assert_eq!(twice, None, "an entry is there twice");
        }
        for (id, typed) in &self.acknowledged {
            let size = sizes.get(id.as_str()).unwrap_or_else(|| panic!("{id} ({typed}) was acknowledged and is lost"));
            let as_number = |text: &str| text.parse::<f64>().unwrap();
            assert_eq!(as_number(size), as_number(typed), "{id}");
        }
        // Nothing is there that nobody entered: at most the one that got no answer.
        let readings = sizes.values().filter(|size| !size.is_empty()).count();
        let most = self.acknowledged.len() + usize::from(self.unknown.is_some());
        assert!((self.acknowledged.len()..=most).contains(&readings), "{readings} readings, {most} entered");
    }
}

fn post(address: SocketAddr, path: &str, body: &Value) -> std::io::Result<Value> {
    let headers = [("Content-Type", "application/json")];
    let answer = ask(address, "POST", path, &headers, body.to_string().as_bytes())?;
    assert!(answer.status < 300, "{answer:?}");
    Ok(answer.json())
}

#[test]
fn killed_at_random_moments_it_loses_nothing_that_was_acknowledged() {
    let kills = std::env::var("TENUNDER_TEST_KILLS").ok().and_then(|told| told.parse().ok()).unwrap_or(KILLS);
    let record = folder("kills").join("shop.tenunder");
    let mut dice = Dice::thrown();
    eprintln!("seed {}", dice.0);
    let mut people: Vec<Person> = (0..PEOPLE).map(|_| Person::new(dice.next())).collect();
    let mut acknowledged = 0;
    for kill in 0..kills {
        let mut served = Served::record(&record);
        for person in &mut people {
            if kill % KILLS_A_CRANK == 0 {
                acknowledged += person.acknowledged.len();
                person.acknowledged.clear();
                person.unknown = None;
                person.book_in(served.address);
            } else {
                person.compare(&served);
            }
        }
        let gone = AtomicBool::new(false);
        let answers = AtomicUsize::new(0);
        let address = served.address;
        std::thread::scope(|scope| {
            for person in &mut people {
                scope.spawn(|| person.enter(address, &gone, &answers));
            }
            let by = Instant::now() + PATIENCE;
            while answers.load(Ordering::Relaxed) < BEFORE_A_KILL && Instant::now() < by {
                std::thread::sleep(Duration::from_millis(1));
            }
            // From here on at any moment: between two readings or in the middle of one.
            std::thread::sleep(Duration::from_millis(dice.next() % 400));
            served.kill();
            gone.store(true, Ordering::Relaxed);
        });
        // The last kills of a crank are compared before it is left.
        if kill % KILLS_A_CRANK == KILLS_A_CRANK - 1 || kill + 1 == kills {
            let served = Served::record(&record);
            people.iter().for_each(|person| person.compare(&served));
        }
    }
    acknowledged += people.iter().map(|person| person.acknowledged.len()).sum::<usize>();
    eprintln!("{kills} kills, {acknowledged} readings acknowledged");
    assert!(acknowledged > kills, "people got something entered between the kills");
    let verified = program().args(["verify", "--record"]).arg(&record).output().unwrap();
    let said = String::from_utf8_lossy(&verified.stdout);
    assert!(verified.status.success() && said.contains("The record is whole"), "{said}");
}
