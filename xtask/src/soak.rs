//! A long run: twenty people enter readings at one server that is stopped and killed while they do. Everything that was
//! acknowledged is looked up at the end; memory and waiting times are told minute by minute.

use std::collections::HashMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant, UNIX_EPOCH};

use crate::tools::{self, cargo, command, output, root, run as start};

const PEOPLE: u64 = 20;
/// Seconds between two stops of the server; every other one is a kill.
const STOP_S: u64 = 20;
/// What a person waits before the next reading, in milliseconds: quicker than anybody measures.
const THINK_MS: u64 = 100;
/// Readings on one crank before the next is booked in: six passes over it, with second and third looks.
const READINGS_A_CRANK: u64 = 120;

/// What one minute was like.
#[derive(Debug, Default)]
struct Minute {
    waited_ms: Vec<f64>,
    memory_kb: u64,
    unanswered: u64,
    restarts: u64,
}

/// What everybody shares.
struct Shared {
    /// Where the server is now; nothing while it is down.
    address: Mutex<Option<SocketAddr>>,
    minutes: Mutex<Vec<Minute>>,
    began: Instant,
    over: AtomicBool,
    random: AtomicU64,
}

/// One reading: its name, and the size that was typed.
type Acknowledged = HashMap<u64, Vec<(String, String)>>;

/// Runs for so many minutes and writes the table.
///
/// # Errors
/// What was lost or refused, or why it could not be run.
pub(crate) fn run(minutes: u64, program: Option<&str>) -> Result<(), String> {
    let program = match program {
        Some(named) => PathBuf::from(named),
        None => {
            start(cargo().args(["build", "--release", "--locked", "--package", "tenunder"]))?;
            tools::target().join("release/tenunder")
        }
    };
    let folder = tools::target().join("soak");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let record = folder.join("shop.tenunder");
    let shared = Shared {
        address: Mutex::new(None),
        minutes: Mutex::default(),
        began: Instant::now(),
        over: AtomicBool::new(false),
        random: AtomicU64::new(UNIX_EPOCH.elapsed().map_or(1, |since| since.as_nanos() as u64)),
    };
    let length = Duration::from_secs(minutes.max(1) * 60);
    let outcome = std::thread::scope(|scope| {
        let people: Vec<_> = (0..PEOPLE)
            .map(|n| {
                scope.spawn({
                    let shared = &shared;
                    move || person(shared, n)
                })
            })
            .collect();
        let served = serve(&program, &record, &shared, length);
        shared.over.store(true, Ordering::Relaxed);
        let told: Vec<Result<Acknowledged, String>> =
            people.into_iter().map(|one| one.join().unwrap_or_else(|_| Err("a person broke off".to_owned()))).collect();
        served.and_then(|restarts| Ok((restarts, told.into_iter().collect::<Result<Vec<_>, String>>()?)))
    });
    let (restarts, told) = outcome?;
    let (acknowledged, lost) = look_up(&program, &record, &told)?;
    let verified = output(command(&program).args(["verify", "--record"]).arg(&record))?;
    print!("{verified}");
    let minutes = shared.minutes.into_inner().unwrap_or_else(PoisonError::into_inner);
    let table = table(&minutes, acknowledged, lost.len(), restarts);
    println!("{table}");
    write_down(&table)?;
    if lost.is_empty() { Ok(()) } else { Err(format!("acknowledged and lost:\n{}", lost.join("\n"))) }
}

/// Keeps the server running, stops it and kills it by turns, and looks at its memory.
fn serve(program: &Path, record: &Path, shared: &Shared, length: Duration) -> Result<u64, String> {
    let mut restarts = 0;
    let mut served = Served::start(program, record)?;
    say_where(shared, Some(served.address));
    let mut stop_at = Instant::now() + Duration::from_secs(STOP_S);
    while shared.began.elapsed() < length {
        std::thread::sleep(Duration::from_millis(250));
        if let Some(ended) = served.child.try_wait().map_err(|error| error.to_string())? {
            return Err(format!("the server ended by itself: {ended}"));
        }
        let memory_kb = served.memory_kb();
        in_minute(shared, |minute| minute.memory_kb = minute.memory_kb.max(memory_kb));
        if Instant::now() >= stop_at {
            restarts += 1;
            in_minute(shared, |minute| minute.restarts += 1);
            if restarts % 2 == 0 {
                let _ = served.child.kill();
            } else {
                served.ask_to_stop()?;
            }
            let _ = served.child.wait();
            say_where(shared, None);
            served = Served::start(program, record)?;
            say_where(shared, Some(served.address));
            stop_at = Instant::now() + Duration::from_secs(STOP_S);
        }
    }
    say_where(shared, None);
    served.ask_to_stop()?;
    let _ = served.child.wait();
    Ok(restarts)
}

struct Served {
    child: Child,
    address: SocketAddr,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Served {
    fn start(program: &Path, record: &Path) -> Result<Served, String> {
        let mut serve = command(program);
        serve.args(["serve", "--port", "0", "--record"]).arg(record).stdout(Stdio::piped());
        if !record.exists() {
            serve.arg("--new");
        }
        let mut child = serve.spawn().map_err(|error| format!("{}: {error}", program.display()))?;
        let mut line = String::new();
        if let Some(said) = child.stdout.take() {
            BufReader::new(said).read_line(&mut line).map_err(|error| error.to_string())?;
        }
        let address =
            line.split("http://").nth(1).and_then(|rest| rest.split('/').next()).and_then(|at| at.parse().ok());
        match address {
            Some(address) => Ok(Served { child, address }),
            None => Err(format!("{} did not say where it serves: {line:?}", program.display())),
        }
    }

    /// SIGTERM, as a system that shuts down sends it.
    fn ask_to_stop(&self) -> Result<(), String> {
        start(command("kill").arg("-TERM").arg(self.child.id().to_string()))
    }

    /// What it holds of the machine's memory; 0 where the system does not say.
    fn memory_kb(&self) -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
        line.and_then(|line| line.split_whitespace().next()).and_then(|kb| kb.parse().ok()).unwrap_or(0)
    }
}

fn say_where(shared: &Shared, address: Option<SocketAddr>) {
    *shared.address.lock().unwrap_or_else(PoisonError::into_inner) = address;
}

fn in_minute(shared: &Shared, note: impl FnOnce(&mut Minute)) {
    let at = (shared.began.elapsed().as_secs() / 60) as usize;
    let mut minutes = shared.minutes.lock().unwrap_or_else(PoisonError::into_inner);
    while minutes.len() <= at {
        minutes.push(Minute::default());
    }
    if let Some(minute) = minutes.get_mut(at) {
        note(minute);
    }
}

impl Shared {
    /// SplitMix64 (Steele and others, 2014).
    fn random(&self) -> u64 {
        let mut mixed = self.random.fetch_add(0x9e37_79b9_7f4a_7c15, Ordering::Relaxed);
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    fn id(&self) -> String {
        format!("{:016x}{:016x}", self.random(), self.random())
    }

    /// Sends until it is answered, however often the server is away, under one name.
    fn sent(&self, path: &str, body: &str) -> Result<Option<String>, String> {
        loop {
            if self.over.load(Ordering::Relaxed) {
                return Ok(None);
            }
            let address = *self.address.lock().unwrap_or_else(PoisonError::into_inner);
            let Some(address) = address else {
                std::thread::sleep(Duration::from_millis(20));
                continue;
            };
            let began = Instant::now();
            match ask(address, "POST", path, body) {
                Some((200..300, answer)) => {
                    let waited_ms = began.elapsed().as_secs_f64() * 1e3;
                    in_minute(self, |minute| minute.waited_ms.push(waited_ms));
                    return Ok(Some(answer));
                }
                // It says itself that it could not: it is asked again.
                Some((503, _)) | None => {
                    in_minute(self, |minute| minute.unanswered += 1);
                    std::thread::sleep(Duration::from_millis(20));
                }
                Some((status, answer)) => return Err(format!("{path} {body}: {status} {answer}")),
            }
        }
    }
}

/// Measures one crank after another; what was acknowledged, by job.
fn person(shared: &Shared, n: u64) -> Result<Acknowledged, String> {
    let mut acknowledged = Acknowledged::new();
    while !shared.over.load(Ordering::Relaxed) {
        let booked = format!(
            "{{\"id\":\"{}\",\"who\":\"P{n}\",\"when\":\"2026-11-25T09:00:00Z\",\"what\":{{\"engine\":\"tarn-four\"}}}}",
            shared.id()
        );
        let Some(answer) = shared.sent("/api/jobs", &booked)? else { break };
        let job: u64 = number(&answer, "\"job\":").ok_or_else(|| format!("no job in {answer}"))?;
        let readings = acknowledged.entry(job).or_default();
        for count in 0..READINGS_A_CRANK {
            std::thread::sleep(Duration::from_millis(THINK_MS));
            let (set, journal, size) = match count % 36 {
                n @ 0..20 => ("main", n / 4 + 1, 21_200),
                n => ("pin", (n - 20) / 4 + 1, 18_700),
            };
            let (end, across) = (["front", "rear"][(count / 2 % 2) as usize], ["a", "b"][(count % 2) as usize]);
            let size = size + shared.random() % 40;
            let (id, typed) = (shared.id(), format!("{}.{:04}", size / 10_000, size % 10_000));
            let body = format!(
                "{{\"id\":\"{id}\",\"who\":\"P{n}\",\"when\":\"2026-11-25T09:00:00Z\",\"spot\":\"{set}-{journal}.{end}.{across}\",\
                 \"typed\":\"{typed}\"}}"
            );
            if shared.sent(&format!("/api/jobs/{job}/readings"), &body)?.is_none() {
                return Ok(acknowledged);
            }
            readings.push((id, typed));
        }
    }
    Ok(acknowledged)
}

/// Looks every acknowledged reading up: how many there are, and which are not there, not as typed, or there twice.
fn look_up(program: &Path, record: &Path, told: &[Acknowledged]) -> Result<(usize, Vec<String>), String> {
    let served = Served::start(program, record)?;
    let (mut all, mut lost) = (0, Vec::new());
    for (job, readings) in told.iter().flatten() {
        let entries = match ask(served.address, "GET", &format!("/api/jobs/{job}/entries"), "") {
            Some((200, entries)) => entries,
            other => return Err(format!("the entries of job {job}: {other:?}")),
        };
        for (id, typed) in readings {
            all += 1;
            let name = format!("\"id\":\"{id}\"");
            let mut found = entries.split(&name).skip(1);
            let entry = found.next().and_then(|rest| rest.split("\"id\":\"").next());
            let trimmed = typed.trim_end_matches('0');
            if found.next().is_some() || !entry.is_some_and(|entry| entry.contains(trimmed)) {
                lost.push(format!("job {job}: {id}, {typed}"));
            }
        }
    }
    Ok((all, lost))
}

/// Asks; nothing where no whole answer came.
fn ask(address: SocketAddr, method: &str, path: &str, body: &str) -> Option<(u16, String)> {
    let mut stream = TcpStream::connect(address).ok()?;
    stream.set_read_timeout(Some(Duration::from_secs(30))).ok()?;
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n",
        body.len()
    );
    stream.write_all(format!("{head}{body}").as_bytes()).ok()?;
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).ok()?;
    let answer = String::from_utf8(answer).ok()?;
    let (head, body) = answer.split_once("\r\n\r\n")?;
    let length = head.lines().find_map(|line| line.to_lowercase().strip_prefix("content-length:")?.trim().parse().ok());
    if length.is_some_and(|length: usize| length != body.len()) {
        return None;
    }
    Some((head.split(' ').nth(1)?.parse().ok()?, body.to_owned()))
}

fn number(text: &str, before: &str) -> Option<u64> {
    let digits: String = text.split(before).nth(1)?.trim_start().chars().take_while(char::is_ascii_digit).collect();
    digits.parse().ok()
}

fn table(minutes: &[Minute], acknowledged: usize, lost: usize, restarts: u64) -> String {
    let mut out = format!(
        "{acknowledged} readings acknowledged to {PEOPLE} people, {lost} lost, {restarts} restarts (by turns SIGTERM and `kill -9`).\n\n\
         | minute | answered | median ms | p99 ms | longest ms | sent again | restarts | most memory MB |\n\
         |---|---|---|---|---|---|---|---|\n"
    );
    for (n, minute) in minutes.iter().enumerate() {
        let mut waited = minute.waited_ms.clone();
        waited.sort_by(f64::total_cmp);
        let at = |share: f64| waited.get(((waited.len() as f64 * share) as usize).min(waited.len().saturating_sub(1)));
        let ms = |share: f64| at(share).map_or("-".to_owned(), |ms| format!("{ms:.1}"));
        out += &format!(
            "| {} | {} | {} | {} | {} | {} | {} | {:.1} |\n",
            n + 1,
            waited.len(),
            ms(0.5),
            ms(0.99),
            ms(1.0),
            minute.unanswered,
            minute.restarts,
            minute.memory_kb as f64 / 1024.0
        );
    }
    out
}

/// Puts the table into the page, in place of the one before.
fn write_down(table: &str) -> Result<(), String> {
    const BEGINS: &str = "<!-- cargo xtask soak writes from here -->\n";
    const ENDS: &str = "<!-- to here -->";
    let page = root().join("docs/reliability.md");
    let text = std::fs::read_to_string(&page).map_err(|error| format!("{}: {error}", page.display()))?;
    let whole = text.split_once(BEGINS).and_then(|(before, rest)| Some((before, rest.split_once(ENDS)?.1)));
    let (before, after) = whole.ok_or_else(|| format!("{} has no place for the table", page.display()))?;
    let machine = machine();
    let text = format!("{before}{BEGINS}\n{machine}\n\n{table}\n{ENDS}{after}");
    std::fs::write(&page, text).map_err(|error| format!("{}: {error}", page.display()))
}

/// When, and on what.
fn machine() -> String {
    let day = output(command("date").args(["-u", "+%Y-%m-%d"])).unwrap_or_default();
    format!("Written by `cargo xtask soak` on {} on {}.", day.trim(), crate::bench::machine())
}
