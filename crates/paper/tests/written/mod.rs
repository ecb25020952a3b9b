//! What a written document holds, read from its bytes as far as the tests ask. The documents are read by other people's
//! programs in `checks/papers.py`.
#![allow(dead_code, reason = "each test file uses its own part of these")]

use std::io::Read;

use paper::Unwritable;

pub(crate) struct Written {
    /// The file with its streams unpacked.
    plain: String,
}

impl Written {
    #[track_caller]
    pub(crate) fn of(file: Result<Vec<u8>, Unwritable>) -> Written {
        let file = file.expect("every input can be written");
        assert!(file.starts_with(b"%PDF-1.7") && file.ends_with(b"%%EOF"), "no whole file");
        Written { plain: unpacked(&file) }
    }

    /// How many pages it has.
    pub(crate) fn pages(&self) -> usize {
        self.plain.matches("/Type/Page/").count()
    }

    /// Width and height of the first page.
    pub(crate) fn paper_pt(&self) -> (f64, f64) {
        let (_, after) = self.plain.split_once("/MediaBox[0 0 ").expect("a page has a size");
        let (size, _) = after.split_once(']').expect("the size ends");
        let (width, height) = size.split_once(' ').expect("two figures");
        (width.parse().expect("a width"), height.parse().expect("a height"))
    }

    /// The sizes that type is set in.
    pub(crate) fn type_sizes_pt(&self) -> Vec<f64> {
        let operators = self.plain.split(" Tf").filter_map(|before| before.split_whitespace().last()?.parse().ok());
        operators.collect()
    }

    /// Everything that stands for other words than are drawn.
    pub(crate) fn actual_texts(&self) -> Vec<String> {
        let after = self.plain.split("/ActualText").skip(1).map(str::trim_start);
        after.filter_map(text).collect()
    }

    /// What a reader's window shows.
    pub(crate) fn title(&self) -> String {
        let title = self.plain.rsplit("/Title").next().map(str::trim_start).and_then(text);
        title.expect("a document has a title")
    }

    /// Whether this stands in the file; packed streams are looked through too.
    pub(crate) fn holds(&self, bytes: &str) -> bool {
        self.plain.contains(bytes)
    }
}

/// A string of a PDF: letters in brackets, or digits of UTF-16 between angles.
fn text(written: &str) -> Option<String> {
    if let Some(digits) = written.strip_prefix('<') {
        let digits = digits.split_once('>')?.0.as_bytes();
        let bytes = digits.chunks(2).map(|two| u8::from_str_radix(std::str::from_utf8(two).ok()?, 16).ok());
        return utf_16(&bytes.collect::<Option<Vec<u8>>>()?);
    }
    let mut letters = written.strip_prefix('(')?.chars();
    let mut out = Vec::new();
    loop {
        match letters.next()? {
            ')' => break,
            '\\' => match letters.next()? {
                'n' => out.push(b'\n'),
                'r' => out.push(b'\r'),
                't' => out.push(b'\t'),
                'b' => out.push(8),
                'f' => out.push(12),
                first @ '0'..='7' => {
                    let rest: String = letters.by_ref().take(2).collect();
                    out.push(u8::from_str_radix(&format!("{first}{rest}"), 8).ok()?);
                }
                other => out.push(u8::try_from(u32::from(other)).ok()?),
            },
            other => out.push(u8::try_from(u32::from(other)).ok()?),
        }
    }
    if out.starts_with(&[0xfe, 0xff]) { utf_16(&out) } else { String::from_utf8(out).ok() }
}

fn utf_16(bytes: &[u8]) -> Option<String> {
    let units: Vec<u16> =
        bytes.strip_prefix(&[0xfe, 0xff])?.chunks(2).map(|two| u16::from_be_bytes([two[0], two[1]])).collect();
    String::from_utf16(&units).ok()
}

/// The file with every packed stream unpacked, a letter for each byte.
fn unpacked(file: &[u8]) -> String {
    const OPEN: &[u8] = b"stream\n";
    const CLOSE: &[u8] = b"\nendstream";
    let find = |from: usize, what: &[u8]| {
        file.get(from..)?.windows(what.len()).position(|window| window == what).map(|at| from + at)
    };
    let letters = |bytes: &[u8]| bytes.iter().copied().map(char::from).collect::<String>();
    let (mut plain, mut at) = (String::new(), 0);
    while let Some(open) = find(at, OPEN) {
        let head = letters(&file[at..open]);
        let close = find(open, CLOSE).expect("a stream ends");
        let packed = &file[open + OPEN.len()..close];
        // Fonts are no text.
        if head.rsplit("endobj").next().is_some_and(|head| head.contains("/FlateDecode")) {
            let mut whole = Vec::new();
            let read = flate2::read::ZlibDecoder::new(packed).read_to_end(&mut whole);
            read.expect("a stream unpacks");
            plain.push_str(&head);
            plain.push_str(&letters(&whole));
        } else {
            plain.push_str(&head);
            plain.push_str(&letters(packed));
        }
        at = close + CLOSE.len();
    }
    plain.push_str(&letters(&file[at..]));
    plain
}
