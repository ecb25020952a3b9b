//! What the tests of the pages share: a bench over a record of its own, and a browser without a script.
#![allow(dead_code, reason = "each test binary uses its own part")]

pub(crate) mod at_work;

use std::path::{Path, PathBuf};

use bench::{Bench, KnownEngine};
use shop::Store;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// An invented single, small enough to read.
pub(crate) const WREN: &str = "specification = 1\nname = \"Wren, a test\"\nunits = \"in\"\nthrow = 1.25\n[main]\ncount = \
                               2\npositions = [0, 4]\nlength = 1.2\nsize = [1.4990, 1.5000]\nundersizes = [0.010, \
                               0.020]\n[pin]\ncount = 1\nangles = [0]\npositions = [2]\nlength = 1.1\nsize = [1.2490, \
                               1.2500]\nundersizes = [0.010, 0.020]\n";

/// A sheet of the single, to be opened as an example.
pub(crate) const EXAMPLE: &str = "sheet = 1\nmark = \"W-17\"\nspecification = \"wren.toml\"\nunits = \"in\"\nreading = \
                                  [ { journal = \"main 1\", at = \"middle\", plane = 0, size = 1.4991 } ]\n";

/// A shop with its pages open.
pub(crate) struct Opened {
    pub(crate) store: Store,
    pub(crate) folder: PathBuf,
    host: String,
    cookies: std::sync::Mutex<Vec<(String, String)>>,
}

/// What the program answered.
#[derive(Debug)]
pub(crate) struct Page {
    pub(crate) status: u16,
    pub(crate) to: String,
    pub(crate) headers: String,
    pub(crate) body: Vec<u8>,
    pub(crate) text: String,
}

impl Page {
    /// Asserts that the page says this.
    #[track_caller]
    pub(crate) fn says(&self, words: &str) -> &Page {
        assert!(self.text.contains(words), "{words:?} is not on this page ({}):\n{}", self.status, self.text);
        self
    }

    /// Asserts that the page does not say this.
    #[track_caller]
    pub(crate) fn lacks(&self, words: &str) -> &Page {
        assert!(!self.text.contains(words), "{words:?} is on this page ({}):\n{}", self.status, self.text);
        self
    }

    /// Asserts that it is a page that came back with faults.
    #[track_caller]
    pub(crate) fn came_back(&self) -> &Page {
        assert_eq!(self.status, 422, "{}", self.text);
        self.says("<title>Error: ")
    }

    /// The value of a hidden field of the first form that has it.
    #[track_caller]
    pub(crate) fn hidden(&self, name: &str) -> String {
        let start = format!("<input type=\"hidden\" name=\"{name}\" value=\"");
        let at = self.text.find(&start).unwrap_or_else(|| panic!("no hidden {name} in:\n{}", self.text));
        self.text[at + start.len()..].split('"').next().unwrap_or_default().to_owned()
    }
}

/// How long figures may take to be worked out: only a test that fails waits so long.
const PATIENCE: std::time::Duration = std::time::Duration::from_secs(300);

impl Opened {
    /// What may take longer than the program keeps anybody waiting for: asked again until it is there.
    pub(crate) async fn in_its_time(&self, path: &str) -> Page {
        let by = std::time::Instant::now() + PATIENCE;
        loop {
            let page = self.get(path).await;
            if page.status != 503 || std::time::Instant::now() > by {
                assert_eq!(page.status, 200, "{}", page.text);
                return page;
            }
        }
    }

    /// The page once everything on it is worked out.
    pub(crate) async fn worked_out(&self, path: &str) -> Page {
        let by = std::time::Instant::now() + PATIENCE;
        loop {
            let page = self.get(path).await;
            assert_eq!(page.status, 200, "{}", page.text);
            if !page.text.contains("data-working") {
                return page;
            }
            assert!(std::time::Instant::now() < by, "{path} was never worked out:\n{}", page.text);
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        }
    }
}

/// Opens the pages over a fresh record.
pub(crate) async fn open(name: &str) -> Opened {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder in the build folder");
    let store = Store::open(&folder.join("shop.tenunder").display().to_string()).await.expect("a record");
    let engines = vec![KnownEngine { name: "wren".into(), text: WREN.into() }];
    let bench = Bench::new(store.clone(), engines).with_example(EXAMPLE);
    let listening = bench.listen(0).await.expect("a free port");
    let host = listening.address().trim_start_matches("http://").trim_end_matches('/').to_owned();
    tokio::spawn(listening.serve(std::future::pending()));
    Opened { store, folder, host, cookies: std::sync::Mutex::default() }
}

impl Opened {
    /// Looks at a page.
    pub(crate) async fn get(&self, path: &str) -> Page {
        self.send("GET", path, "", &[]).await
    }

    /// Sends a form as a browser does: with its token, and with the fields given.
    pub(crate) async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        let token = self.get("/words").await.hidden("token");
        let mut form = form_urlencoded::Serializer::new(String::new());
        form.append_pair("token", &token).extend_pairs(fields);
        self.send("POST", path, "Content-Type: application/x-www-form-urlencoded\r\n", form.finish().as_bytes()).await
    }

    /// Sends a form with a file in it.
    pub(crate) async fn post_file(&self, path: &str, fields: &[(&str, &str)], name: &str, file: &[u8]) -> Page {
        let token = self.get("/words").await.hidden("token");
        let mut body = Vec::new();
        for (field, value) in [("token", token.as_str())].iter().chain(fields) {
            let part = format!("--edge\r\nContent-Disposition: form-data; name=\"{field}\"\r\n\r\n{value}\r\n");
            body.extend_from_slice(part.as_bytes());
        }
        let head = format!(
            "--edge\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"a.jpg\"\r\nContent-Type: \
             image/jpeg\r\n\r\n"
        );
        body.extend_from_slice(head.as_bytes());
        body.extend_from_slice(file);
        body.extend_from_slice(b"\r\n--edge--\r\n");
        self.send("POST", path, "Content-Type: multipart/form-data; boundary=edge\r\n", &body).await
    }

    /// Sends a request with further headers.
    pub(crate) async fn send(&self, method: &str, path: &str, headers: &str, body: &[u8]) -> Page {
        let cookies: Vec<String> =
            self.cookies.lock().expect("cookies").iter().map(|(name, value)| format!("{name}={value}")).collect();
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nCookie: {}\r\nContent-Length: {}\r\n{headers}\r\n",
            self.host,
            cookies.join("; "),
            body.len()
        );
        let mut stream = TcpStream::connect(&self.host).await.expect("the program listens");
        stream.write_all(&[head.as_bytes(), body].concat()).await.expect("a request is sent");
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).await.expect("an answer");
        self.read(&answer)
    }

    fn read(&self, answer: &[u8]) -> Page {
        let end = answer.windows(4).position(|four| four == b"\r\n\r\n").expect("an end of the headers");
        let headers = String::from_utf8_lossy(&answer[..end]).into_owned();
        let mut body = answer[end + 4..].to_vec();
        if headers.to_lowercase().contains("transfer-encoding: chunked") {
            body = unchunked(&body);
        }
        let header = |name: &str| {
            let lines = headers.lines().filter_map(|line| line.split_once(": "));
            lines.filter(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, value)| value.to_owned()).collect()
        };
        let set: Vec<String> = header("set-cookie");
        for cookie in set {
            let pair = cookie.split(';').next().unwrap_or_default();
            if let Some((name, value)) = pair.split_once('=') {
                let mut cookies = self.cookies.lock().expect("cookies");
                cookies.retain(|(known, _)| known != name);
                cookies.push((name.to_owned(), value.to_owned()));
            }
        }
        let status = headers.split(' ').nth(1).and_then(|code| code.parse().ok()).expect("a status");
        let to: Vec<String> = header("location");
        let text = String::from_utf8_lossy(&body).into_owned();
        Page { status, to: to.into_iter().next().unwrap_or_default(), headers, body, text }
    }

    /// The address of this program, as a page of it sends it.
    pub(crate) fn referer(&self, path: &str) -> String {
        format!("Referer: http://{}{path}\r\n", self.host)
    }
}

fn unchunked(mut body: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    while let Some(end) = body.windows(2).position(|two| two == b"\r\n") {
        let size = usize::from_str_radix(String::from_utf8_lossy(&body[..end]).trim(), 16).expect("a chunk size");
        if size == 0 {
            break;
        }
        out.extend_from_slice(&body[end + 2..end + 2 + size]);
        body = &body[end + 4 + size..];
    }
    out
}

/// A name for what a form writes.
pub(crate) fn id() -> String {
    shop::fresh_id().expect("random numbers").to_string()
}

/// Books the single in and returns its number.
pub(crate) async fn booked(opened: &Opened, mark: &str, customer: &str) -> i64 {
    let page = opened
        .post("/jobs/new", &[("id", &id()), ("engine", "known:wren"), ("mark", mark), ("customer", customer)])
        .await;
    assert_eq!(page.status, 303, "{}", page.text);
    page.to.split('/').nth(2).and_then(|job| job.parse().ok()).expect("a job")
}
