//! The program, serving its pages, and somebody who asks it over plain HTTP.
#![allow(dead_code, reason = "each test uses its own part")]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;

pub(crate) fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

pub(crate) fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_tenunder"))
}

/// The program while it serves; killed when this is dropped.
pub(crate) struct Served {
    child: Child,
    pub(crate) address: SocketAddr,
}

impl Drop for Served {
    fn drop(&mut self) {
        self.kill();
    }
}

impl Served {
    /// Serves a record, a new one where there is none.
    pub(crate) fn record(record: &Path) -> Served {
        let mut command = program();
        command.args(["serve", "--port", "0", "--record"]).arg(record);
        if !record.exists() {
            command.arg("--new");
        }
        Served::start(command)
    }

    /// Serves the invented shop, in a file that stays.
    pub(crate) fn invented(record: &Path) -> Served {
        let mut command = program();
        command.args(["demo", "--serve", "--port", "0", "--keep"]).arg(record);
        Served::start(command)
    }

    #[track_caller]
    pub(crate) fn start(command: Command) -> Served {
        Served::tried(command).unwrap_or_else(|said| panic!("no address, but: {said}"))
    }

    /// The program while it serves, or what it says where it does not.
    pub(crate) fn tried(mut command: Command) -> Result<Served, String> {
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.split("http://").nth(1).and_then(|rest| rest.split('/').next()).unwrap_or_default();
        match address.parse() {
            Ok(address) => Ok(Served { child, address }),
            Err(_) => Err(line + &String::from_utf8_lossy(&child.wait_with_output().unwrap().stderr)),
        }
    }

    /// The number of its process.
    pub(crate) fn id(&self) -> u32 {
        self.child.id()
    }

    /// How it ended, if it did within this time.
    pub(crate) fn ended(&mut self, within: Duration) -> Option<ExitStatus> {
        let by = Instant::now() + within;
        loop {
            match self.child.try_wait().unwrap() {
                None if Instant::now() < by => std::thread::sleep(Duration::from_millis(20)),
                ended => return ended,
            }
        }
    }

    /// Ends it as a power cut would: at once, with nothing finished.
    pub(crate) fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// Ends it with a signal, and waits; its exit code.
    pub(crate) fn end(&mut self, signal: &str) -> Option<i32> {
        let id = self.child.id().to_string();
        assert!(Command::new("kill").args(["-s", signal, &id]).status().unwrap().success());
        self.child.wait().unwrap().code()
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[], b"").unwrap()
    }

    pub(crate) fn post_json(&self, path: &str, body: &Value) -> Answer {
        self.ask("POST", path, &[("Content-Type", "application/json")], body.to_string().as_bytes()).unwrap()
    }

    /// Asks under the program's own name.
    pub(crate) fn ask(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &[u8],
    ) -> std::io::Result<Answer> {
        ask(self.address, method, path, headers, body)
    }
}

/// Asks; a header `Host` among those given takes the place of the usual one.
pub(crate) fn ask(
    address: SocketAddr,
    method: &str,
    path: &str,
    headers: &[(&str, &str)],
    body: &[u8],
) -> std::io::Result<Answer> {
    let mut stream = TcpStream::connect(address)?;
    stream.set_read_timeout(Some(Duration::from_secs(60)))?;
    let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
    if !headers.iter().any(|(name, _)| name.eq_ignore_ascii_case("host")) {
        head += &format!("Host: {address}\r\n");
    }
    for (name, value) in headers {
        head += &format!("{name}: {value}\r\n");
    }
    stream.write_all(format!("{head}\r\n").as_bytes())?;
    // What is turned away at the door is answered before all of it was sent.
    let sent = stream.write_all(body);
    let mut bytes = Vec::new();
    let read = stream.read_to_end(&mut bytes);
    Answer::of(&bytes)
        .ok_or_else(|| sent.and(read.map(|_| ())).err().unwrap_or(std::io::ErrorKind::UnexpectedEof.into()))
}

/// What came back.
#[derive(Clone, Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    head: String,
    pub(crate) body: String,
}

impl Answer {
    /// Nothing where not all of it came.
    fn of(bytes: &[u8]) -> Option<Answer> {
        let split = bytes.windows(4).position(|four| four == b"\r\n\r\n")?;
        let (head, body) = (std::str::from_utf8(bytes.get(..split)?).ok()?.to_owned(), bytes.get(split + 4..)?);
        let status = head.split(' ').nth(1)?.parse().ok()?;
        let mut answer = Answer { status, head, body: String::from_utf8_lossy(body).into_owned() };
        match answer.header("content-length") {
            Some(length) if length.parse() == Ok(body.len()) => {}
            None if answer.header("transfer-encoding").is_some() => {
                answer.body = unchunked(&answer.body);
            }
            None => {}
            Some(_) => return None,
        }
        Some(answer)
    }

    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        let found = self.head.lines().filter_map(|line| line.split_once(':'));
        found.into_iter().find(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, value)| value.trim())
    }

    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }
}

fn unchunked(body: &str) -> String {
    let mut out = String::new();
    let mut rest = body;
    while let Some((size, after)) = rest.split_once("\r\n") {
        let size = usize::from_str_radix(size.trim(), 16).unwrap_or(0);
        if size == 0 {
            break;
        }
        out.push_str(after.get(..size).unwrap_or_default());
        rest = after.get(size + 2..).unwrap_or_default();
    }
    out
}

/// Names and chances, the same for the same seed.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    /// Seeded by the clock, so that each run tries other moments.
    pub(crate) fn thrown() -> Dice {
        let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
        Dice(now.as_nanos() as u64)
    }

    pub(crate) fn next(&mut self) -> u64 {
        // Steele, Lea and Flood's SplitMix64: what one is seeded with by another runs on a path of its own.
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A fresh name for an entry.
    pub(crate) fn id(&mut self) -> String {
        format!("{:016x}{:016x}", self.next(), self.next())
    }
}
