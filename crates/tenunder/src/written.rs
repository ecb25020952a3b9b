//! Files that the program writes: whole or not at all, and never over what is not its own.

use std::fs::File;
use std::hash::{BuildHasher, Hasher, RandomState};
use std::io::{Error, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use sheet::Problem;

/// What is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A paper, as PDF.
    Paper,
    /// A drawing, as SVG.
    Drawing,
}

impl Kind {
    const fn word(self) -> &'static str {
        match self {
            Kind::Paper => "paper",
            Kind::Drawing => "drawing",
        }
    }

    /// Whether a file is an earlier one of this program.
    fn is_ours(self, there: &[u8]) -> bool {
        let has = |mark: &[u8]| there.windows(mark.len()).any(|part| part == mark);
        match self {
            Kind::Paper => there.starts_with(b"%PDF-") && has(b"/Creator(Tenunder"),
            // Its letters are set in a family of our own.
            Kind::Drawing => there.starts_with(b"<svg ") && has(b"font-family=\"Words, "),
        }
    }
}

/// Beginnings of a record in a file, and of what is kept beside it.
const RECORDS: [&[u8]; 6] = [
    b"SQLite format 3\0",
    b"# The key of a record",
    &[0x37, 0x7f, 0x06, 0x82],
    &[0x37, 0x7f, 0x06, 0x83],
    &[0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7],
    &[0x18, 0xe2, 0x2d, 0x00],
];

/// Why a file was not written.
enum Not {
    /// What stands there is a record.
    Record,
    /// What stands there is something else than an earlier file of this kind.
    Foreign,
    /// The disk, the folder or the name.
    Failed(Error),
}

impl From<Error> for Not {
    fn from(error: Error) -> Not {
        Not::Failed(error)
    }
}

/// Writes a file: beside its place first, and into it once all of it is on the disk. What stood there is replaced where it is
/// an earlier file of this kind, or where `replace` says so; a record never is. Says what was wrong; the exit code then.
pub(crate) fn put(command: &str, path: &Path, bytes: &[u8], kind: Kind, replace: bool) -> Result<(), u8> {
    whole(path, bytes, kind, replace).map_err(|not| say_why(command, path, kind, &not))
}

fn whole(path: &Path, bytes: &[u8], kind: Kind, replace: bool) -> Result<(), Not> {
    if is_beside_a_record(path) {
        return Err(Not::Record);
    }
    match std::fs::metadata(path) {
        // A device or a pipe has no place of its own that something could be moved into.
        Ok(there) if !there.is_file() && !there.is_dir() => {
            return Ok(File::options().write(true).open(path).and_then(|mut file| file.write_all(bytes))?);
        }
        Ok(there) if there.is_file() && there.len() > 0 => may_replace(path, kind, replace)?,
        _ => {}
    }
    let beside = beside(path)?;
    let written = File::create_new(&beside)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
        .and_then(|()| std::fs::rename(&beside, path));
    if written.is_err() {
        // Whatever was begun is of no use to anybody; where it cannot be taken away it stays under its own name.
        let _ = std::fs::remove_file(&beside);
    }
    Ok(written?)
}

fn may_replace(path: &Path, kind: Kind, replace: bool) -> Result<(), Not> {
    /// A larger file is none of ours.
    const MOST: u64 = 64 << 20;
    let mut there = Vec::new();
    File::open(path)?.take(MOST).read_to_end(&mut there)?;
    if RECORDS.iter().any(|beginning| there.starts_with(beginning)) {
        return Err(Not::Record);
    }
    if replace || kind.is_ours(&there) { Ok(()) } else { Err(Not::Foreign) }
}

/// Whether the name is one that the record beside it needs, whatever stands there: its log is empty most of the time.
fn is_beside_a_record(path: &Path) -> bool {
    let name = path.to_string_lossy();
    ["-wal", "-shm", "-journal", ".key"].iter().filter_map(|end| name.strip_suffix(end)).any(|record| {
        let mut beginning = Vec::new();
        let read = File::open(record).and_then(|file| file.take(16).read_to_end(&mut beginning));
        read.is_ok() && beginning == b"SQLite format 3\0"
    })
}

/// A name beside the file that nobody else has thought of.
fn beside(path: &Path) -> Result<PathBuf, Error> {
    let name = path.file_name().ok_or_else(|| Error::other("it names no file"))?;
    let random = RandomState::new().build_hasher().finish();
    let mut beside = name.to_owned();
    beside.push(format!(".{random:016x}.part"));
    Ok(path.with_file_name(beside))
}

/// Says why; the exit code. Another place can be named; a disk that is full is nobody's sheet.
fn say_why(command: &str, path: &Path, kind: Kind, not: &Not) -> u8 {
    let place = path.display();
    let problem = |found: String, expected: &str, advice: String| {
        let (file, key) = (command.to_owned(), "--output".to_owned());
        crate::report_problems(&[Problem { file, line: None, key, found, expected: expected.to_owned(), advice }])
    };
    match not {
        Not::Record => problem(
            format!("{place}, which holds a record or belongs to one"),
            "a place that holds no record",
            "name another file; a record is never replaced, nor its key".to_owned(),
        ),
        Not::Foreign => problem(
            format!("{place}, which holds something else than an earlier {} of this program", kind.word()),
            "a new file, or an earlier one of this kind",
            "name another file, or add --replace to lose what stands there".to_owned(),
        ),
        Not::Failed(error) => match error.kind() {
            ErrorKind::NotFound | ErrorKind::PermissionDenied | ErrorKind::IsADirectory | ErrorKind::NotADirectory => {
                problem(
                    format!("{place}, which could not be written ({error})"),
                    "a folder that can be written to",
                    "name another place".to_owned(),
                )
            }
            _ => {
                let says = format!("tenunder: {place} was not written: {error}. Nothing of it is kept.");
                crate::complain(&crate::report::wrap(&says, "", ""));
                crate::FAILED
            }
        },
    }
}
