//! Many at once: connections that say nothing, heads and bodies that never come to their end, work that never would, and
//! photographs; and that the program still ends when it is told to.
#![cfg(all(feature = "pages", target_os = "linux"))]

mod served;

use std::io::{Read, Write};
use std::net::TcpStream;
use std::process::Command;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use served::{Dice, Served, folder};

const LONG_AGO: &str = "2026-11-02T09:00:00Z";

/// Connections that the program holds at once.
const MOST: usize = 128;

/// Files that this process may have open.
fn file_limit() -> usize {
    let limits = std::fs::read_to_string("/proc/self/limits").unwrap();
    let line = limits.lines().find(|line| line.starts_with("Max open files")).unwrap();
    line.split_whitespace().nth(3).and_then(|soft| soft.parse().ok()).unwrap_or(1024)
}

/// Memory of the program in kB, now (`VmRSS`) or at its most (`VmHWM`).
fn memory_kb(served: &Served, what: &str) -> usize {
    let status = std::fs::read_to_string(format!("/proc/{}/status", served.id())).unwrap();
    let line = status.lines().find(|line| line.starts_with(what)).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// Sockets that the program has open; the record opens files of its own while it is idle.
fn open_sockets(served: &Served) -> usize {
    let open = std::fs::read_dir(format!("/proc/{}/fd", served.id())).unwrap();
    // One may be closed while the list is read.
    let links = open.filter_map(|one| std::fs::read_link(one.ok()?.path()).ok());
    links.filter(|link| link.to_string_lossy().starts_with("socket:")).count()
}

/// Asks for the list of jobs, and is answered.
#[track_caller]
fn works(served: &Served) {
    let answer = served.get("/jobs");
    assert_eq!(answer.status, 200, "{answer:?}");
}

/// Sends this and nothing more.
fn says(served: &Served, words: &str) -> TcpStream {
    let mut stream = TcpStream::connect(served.address).unwrap();
    stream.write_all(words.as_bytes()).unwrap();
    stream
}

/// Sends a whole request, reads its answer and keeps the connection.
fn asks_and_stays(served: &Served) -> TcpStream {
    let mut stream = TcpStream::connect(served.address).unwrap();
    asks_again(served, &mut stream);
    stream
}

/// Asks on a connection that is there, for an answer without a body.
#[track_caller]
fn asks_again(served: &Served, stream: &mut TcpStream) {
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    stream.write_all(format!("HEAD /jobs HTTP/1.1\r\nHost: {}\r\n\r\n", served.address).as_bytes()).unwrap();
    let mut bytes = [0; 4096];
    let (mut length, mut answer) = (0, Vec::new());
    while !answer.ends_with(b"\r\n\r\n") && length < 8 {
        let read = stream.read(&mut bytes).unwrap();
        answer.extend_from_slice(&bytes[..read]);
        length += 1;
    }
    assert!(answer.starts_with(b"HTTP/1.1 200"), "{}", String::from_utf8_lossy(&answer));
}

#[test]
fn connections_that_say_nothing_leave_a_working_bench() {
    let served = Served::invented(&folder("idle").join("oxbow.tenunder"));
    for _ in 0..20 {
        works(&served);
    }
    let (before_kb, sockets) = (memory_kb(&served, "VmRSS"), open_sockets(&served));
    let halves: Vec<TcpStream> = (0..100)
        .map(|n| says(&served, &format!("GET /jobs HTTP/1.1\r\nHost: {}\r\nX-{n}: ", served.address)))
        .collect();
    (0..10).for_each(|_| works(&served));
    let count = 10_000.min(file_limit().saturating_sub(400));
    let mut idle = Vec::with_capacity(count);
    for n in 0..count {
        // Every tenth has asked for something before it fell silent.
        let stream = if n % 10 == 0 { asks_and_stays(&served) } else { TcpStream::connect(served.address).unwrap() };
        idle.push(stream);
        if n % 1_000 == 999 {
            works(&served);
        }
    }
    let (after_kb, held) = (memory_kb(&served, "VmRSS"), open_sockets(&served).saturating_sub(sockets));
    assert!(held <= MOST, "{held} connections are held");
    // Of the record's own connections some may have been opened only now, with their caches: 2 MB each.
    let each_kb = after_kb.saturating_sub(before_kb) / MOST;
    assert!(each_kb <= 50, "{each_kb} kB for each connection that is held");
    // Whoever works at the bench keeps working on one connection, though others come and go all the time.
    let mut own = asks_and_stays(&served);
    for _ in 0..20 {
        idle.extend((0..20).filter_map(|_| TcpStream::connect(served.address).ok()));
        asks_again(&served, &mut own);
    }
    drop((halves, idle));
    works(&served);
}

#[test]
fn what_never_comes_to_its_end_is_ended() {
    let served = Served::record(&folder("half").join("shop.tenunder"));
    let host = served.address;
    let ended = |words: String, within: Duration| {
        let mut stream = says(&served, &words);
        stream.set_read_timeout(Some(within)).unwrap();
        let (began, mut bytes) = (Instant::now(), Vec::new());
        let read = stream.read_to_end(&mut bytes);
        (read.is_ok(), String::from_utf8_lossy(&bytes).into_owned(), began.elapsed())
    };
    let within = Duration::from_secs(30);
    std::thread::scope(|scope| {
        let nothing = scope.spawn(|| ended(String::new(), within));
        let half = scope.spawn(|| ended(format!("GET /jobs HTTP/1.1\r\nHost: {host}\r\nX: "), within));
        let drip = scope.spawn(|| {
            // A byte now and then is no head either.
            let mut stream = says(&served, "GET /jobs HTTP/1.1\r\nX: ");
            let began = Instant::now();
            while began.elapsed() < within && stream.write_all(b"x").is_ok() {
                std::thread::sleep(Duration::from_millis(500));
            }
            began.elapsed()
        });
        let json = format!("Host: {host}\r\nContent-Type: application/json\r\nContent-Length: 1000");
        let body = scope.spawn(move || ended(format!("POST /api/jobs HTTP/1.1\r\n{json}\r\n\r\n{{\"id\":"), within));
        let form = format!("POST /who HTTP/1.1\r\nHost: {host}\r\nContent-Length: 1000\r\n\r\nwho=");
        let form = scope.spawn(move || ended(form, within));
        for silent in [nothing, half] {
            let (closed, _, took) = silent.join().unwrap();
            assert!(closed && took >= Duration::from_secs(10), "{took:?}");
        }
        assert!(drip.join().unwrap() < within);
        for (what, stays) in [("body", body), ("form", form)] {
            let (closed, text, took) = stays.join().unwrap();
            assert!(closed && text.starts_with("HTTP/1.1 408"), "{what} after {took:?}: {text}");
            assert!(text.contains("Nothing was written"), "{what}: {text}");
        }
    });
    // Too large a head is refused, and nobody else notices.
    let mut stream = says(&served, &format!("GET / HTTP/1.1\r\nHost: {host}\r\nX: "));
    // What is turned away is answered before all of it was sent.
    while stream.write_all(&[b'x'; 10_000]).is_ok() {
        std::thread::sleep(Duration::from_millis(5));
    }
    let (mut text, mut bytes) = (String::new(), [0; 4096]);
    while let Ok(1..) = stream.read(&mut bytes) {
        text += &String::from_utf8_lossy(&bytes);
    }
    assert!(text.is_empty() || text.starts_with("HTTP/1.1 431"), "{text}");
    works(&served);
}

/// A job with so many draws that its verdict is worked out for minutes.
fn burden(served: &Served, job: i64) {
    let mut dice = Dice::thrown();
    let kind = json!({ "policy_changed": { "policy": { "draws": 10_000_000 } } });
    let line = json!({ "id": dice.id(), "who": "Pat", "when": LONG_AGO, "kind": kind });
    let seen = served.get(&format!("/api/jobs/{job}")).json()["seq"].clone();
    let answer = served.post_json(&format!("/api/jobs/{job}/entries"), &json!({ "seen": seen, "entries": [line] }));
    assert_eq!(answer.status, 200, "{answer:?}");
    let told = served.get(&format!("/api/jobs/{job}/verdict?wait_ms=0")).json();
    assert_eq!(told["current"], false, "{told}");
}

#[test]
fn the_program_ends_in_time_whatever_hangs() {
    let mut served = Served::invented(&folder("ends").join("oxbow.tenunder"));
    burden(&served, 1012);
    let host = served.address;
    let _hang = [
        TcpStream::connect(host).unwrap(),
        asks_and_stays(&served),
        says(&served, "GET /jobs HT"),
        says(&served, &format!("POST /who HTTP/1.1\r\nHost: {host}\r\nContent-Length: 1000\r\n\r\nwho=")),
        says(&served, &format!("GET /api/jobs/1012/verdict?wait_ms=20000 HTTP/1.1\r\nHost: {host}\r\n\r\n")),
    ];
    std::thread::sleep(Duration::from_millis(300));
    let began = Instant::now();
    assert!(Command::new("kill").args(["-INT", &served.id().to_string()]).status().unwrap().success());
    let ended = served.ended(Duration::from_secs(20));
    let took = began.elapsed();
    assert!(ended.is_some_and(|status| status.success()), "{ended:?} after {took:?}");
}

#[test]
fn one_clients_work_does_not_stop_the_others() {
    let served = Served::invented(&folder("burden").join("oxbow.tenunder"));
    let mut dice = Dice::thrown();
    for job in [1012, 1011, 1010] {
        burden(&served, job);
    }
    // A hundred who wait for what takes minutes, as a page left open in many windows would.
    let waits: Vec<TcpStream> = (0..100)
        .map(|_| {
            let ask = format!("GET /api/jobs/1012/verdict?wait_ms=20000 HTTP/1.1\r\nHost: {}\r\n\r\n", served.address);
            says(&served, &ask)
        })
        .collect();
    (0..10).for_each(|_| works(&served));
    // A crank of the usual kind is judged meanwhile.
    let began = Instant::now();
    loop {
        let told = served.get("/api/jobs/1009/verdict?wait_ms=20000").json();
        if told["current"] == true {
            break;
        }
        assert!(began.elapsed() < Duration::from_secs(180), "{told}");
    }
    drop(waits);
    // More at once than is taken is refused before anything is added up.
    let line = |dice: &mut Dice, kind: Value| json!({ "id": dice.id(), "who": "Pat", "when": LONG_AGO, "kind": kind });
    let send = |lines: Vec<Value>| {
        let body = json!({ "seen": 1, "regardless": true, "entries": lines });
        served.post_json("/api/jobs/1014/entries", &body)
    };
    let moves = |dice: &mut Dice, count: usize| {
        (0..count).map(|_| line(dice, json!({ "moved": { "to": "measuring" } }))).collect()
    };
    for many in [moves(&mut dice, 2_000), moves(&mut dice, 21)] {
        let answer = send(many);
        assert!(answer.status == 422 && answer.body.contains("Send them in parts"), "{answer:?}");
    }
    // As much as is taken, while others work.
    let rules = |n: usize| json!({ "policy_changed": { "policy": { "confidence": 0.9, "seed": n } } });
    let lines: Vec<Value> = (0..1_000).map(|n| line(&mut dice, rules(n))).collect();
    std::thread::scope(|scope| {
        let written = scope.spawn(|| send(lines));
        std::thread::sleep(Duration::from_millis(50));
        while !written.is_finished() {
            works(&served);
        }
        let answer = written.join().unwrap();
        assert_eq!(answer.status, 200, "{answer:?}");
    });
}

/// A photograph as a telephone takes it: twelve million points, with something to see.
fn photograph(seed: u32) -> Vec<u8> {
    let picture = image::RgbImage::from_fn(4_000, 3_000, |x, y| {
        let grain = (x.wrapping_mul(31) ^ y.wrapping_mul(17) ^ seed).wrapping_mul(2_654_435_761) >> 27;
        image::Rgb([x / 16, y / 12, (x + y) / 28].map(|part| u8::try_from((part + grain).min(255)).unwrap()))
    });
    let mut file = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut file, 90).encode_image(&picture).unwrap();
    file
}

#[test]
fn six_photographs_at_once_are_kept_in_bounded_memory_and_half_of_one_is_not() {
    let served = Served::record(&folder("photographs").join("shop.tenunder"));
    let photograph = photograph(1);
    let megabytes = photograph.len() / 1_000_000;
    assert!((2..20).contains(&megabytes), "{megabytes} MB");
    let keep = |file: &[u8]| served.ask("POST", "/api/pictures", &[("Content-Type", "image/jpeg")], file).unwrap();
    let half = keep(&photograph[..photograph.len() / 2]);
    assert!(half.status == 422 && half.body.contains("ends before the picture does"), "{half:?}");
    std::thread::scope(|scope| {
        let sent: Vec<_> = (0..6)
            .map(|n| {
                let mut file = photograph.clone();
                // Something behind the picture, so that no two are the same file.
                file.push(n);
                scope.spawn(move || keep(&file))
            })
            .collect();
        (0..5).for_each(|_| works(&served));
        for answer in sent {
            let answer = answer.join().unwrap();
            assert_eq!(answer.status, 201, "{answer:?}");
            assert_eq!((&answer.json()["width"], &answer.json()["height"]), (&json!(2000), &json!(1500)));
        }
    });
    let most_kb = memory_kb(&served, "VmHWM");
    assert!(most_kb <= 200_000, "{most_kb} kB");
}
