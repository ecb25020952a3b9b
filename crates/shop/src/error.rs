//! What can go wrong with the record, in words: what happened, whether the work is safe, what to do.

use std::fmt;

use crate::admit::Refusal;
use crate::log::{EntryId, JobNumber};

/// Something went wrong with the record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StoreError {
    /// There is no such job.
    NoSuchJob(JobNumber),
    /// The line does not make sense in this log; nothing was written.
    Refused(Refusal),
    /// Two different entries have the same name.
    NameTaken(EntryId),
    /// The writer has seen more than there is.
    SeenTooMuch {
        /// The job.
        job: JobNumber,
        /// The place of its last entry.
        last: i64,
    },
    /// The record was written by a newer program.
    NewerFormat {
        /// Its format.
        found: i64,
        /// The newest format that this program knows.
        known: i64,
    },
    /// An entry was written by a newer program.
    NewerEntry {
        /// Its job.
        job: JobNumber,
        /// Its place.
        seq: i64,
        /// What it is called.
        kind: String,
    },
    /// The disk is full.
    DiskFull,
    /// Another program holds the database.
    Locked,
    /// The database may not be written.
    ReadOnly,
    /// The database is damaged.
    Damaged {
        /// What was found.
        detail: String,
    },
    /// One job is damaged; the others are not touched by it.
    DamagedJob {
        /// The job; 0 is the shop's own log.
        job: JobNumber,
        /// The place of its last sound entry; 0 where none is.
        sound: i64,
        /// When that was done, and by whom.
        by: Option<(String, String)>,
        /// What was found.
        detail: String,
    },
    /// What was written was not taken: the disk has no room for it, this user may not have more of it, or it fails.
    NotTaken {
        /// What the database said.
        detail: String,
    },
    /// The disk failed to read or write.
    Io {
        /// What the database said.
        detail: String,
    },
    /// Whether the last entries were saved is not known.
    Uncertain {
        /// Why it is not known.
        detail: String,
    },
    /// The file is not what its name stands for any more.
    Moved {
        /// The file.
        file: String,
        /// What happened to it.
        how: String,
    },
    /// There is no record, and none was to be made.
    NoRecord {
        /// Where.
        place: String,
    },
    /// This user may not read the file.
    NotAllowed {
        /// The file.
        place: String,
    },
    /// The record was sealed with a key that is not at hand.
    KeyMissing {
        /// The name of the key.
        key: String,
    },
    /// There is a key for the record, and the record is not sealed with any.
    SealGone {
        /// The file with the key.
        key: String,
    },
    /// Nobody said where a key is to be kept.
    NoPlaceForKey,
    /// The database cannot be opened.
    CannotOpen {
        /// Which.
        place: String,
        /// Why.
        detail: String,
    },
    /// The database server does not answer.
    NoAnswer {
        /// What it said, or that it said nothing.
        detail: String,
    },
    /// The file is no record or backup of one.
    NotARecord {
        /// The file.
        file: String,
    },
    /// The file is there already.
    FileExists {
        /// The file.
        file: String,
    },
    /// The record to be filled has jobs in it.
    NotEmpty,
    /// The picture is too large.
    PictureTooLarge {
        /// The most that is taken, in megabytes.
        most_mb: usize,
    },
    /// The picture is no picture that can be kept.
    NotAPicture {
        /// Why.
        detail: String,
    },
    /// There is no such picture.
    NoSuchPicture,
    /// A file could not be read or written.
    File {
        /// Which.
        file: String,
        /// Why.
        detail: String,
    },
    /// A fault of the program.
    Fault {
        /// For whoever looks after it.
        detail: String,
    },
}

impl StoreError {
    /// What happened.
    pub fn happened(&self) -> String {
        match self {
            StoreError::NoSuchJob(job) => format!("No job {job}."),
            StoreError::Refused(refusal) => refusal.says.clone(),
            StoreError::NameTaken(id) => format!("Another entry is already named {id}."),
            StoreError::SeenTooMuch { job, last } => {
                format!("This page shows more of job {job} than the record holds ({last} entries).")
            }
            StoreError::NewerFormat { found, known } => {
                format!("This record was written by a newer program (format {found}; this one knows {known}).")
            }
            StoreError::NewerEntry { job: 0, seq, kind } => {
                format!("Entry {seq} of the shop's log (\"{kind}\") was written by a newer program.")
            }
            StoreError::NewerEntry { job, seq, kind } => {
                format!("Entry {seq} of job {job} (\"{kind}\") was written by a newer program.")
            }
            StoreError::DiskFull => "The disk is full, so nothing more can be saved.".to_owned(),
            StoreError::Locked => "Another program is holding the record, so this could not be saved.".to_owned(),
            StoreError::ReadOnly => "The record may be read but not written here.".to_owned(),
            StoreError::Damaged { detail } => format!("The record is damaged: {detail}."),
            StoreError::DamagedJob { job, sound, by, detail } => {
                let whose = if *job == 0 { "The shop's log".to_owned() } else { format!("Job {job}") };
                let sound = match (sound, by) {
                    (0, _) => "None of its entries can be relied on".to_owned(),
                    (1, Some((when, who))) => format!("Its first entry is sound (by {who}, {when}), nothing after it"),
                    (_, Some((when, who))) => format!("It is sound up to entry {sound} (by {who}, {when})"),
                    (_, None) => format!("It is sound up to entry {sound}"),
                };
                format!("{whose} is damaged: {detail}. {sound}.")
            }
            StoreError::NotTaken { detail } => {
                format!("What was written was not taken: the disk is full for this user, or it fails ({detail}).")
            }
            StoreError::Io { detail } => format!("The disk failed while the record was read or written: {detail}."),
            StoreError::Uncertain { detail } => {
                format!("It is not known whether this was saved: {detail}.")
            }
            StoreError::Moved { file, how } => format!("{file} is not the file that was opened any more: {how}."),
            StoreError::NoRecord { place } => format!("There is no record at {place}."),
            StoreError::NotAllowed { place } => format!("This user may not read {place}."),
            StoreError::KeyMissing { key } => {
                format!("This record is sealed with the key {key}, and that key is not beside it.")
            }
            StoreError::SealGone { key } => {
                format!("The key {key} belongs to this record, and the record does not carry its seal.")
            }
            StoreError::NoPlaceForKey => "A record on a server has no place for a key of its own.".to_owned(),
            StoreError::CannotOpen { place, detail } => format!("The record {place} could not be opened: {detail}."),
            StoreError::NoAnswer { detail } => format!("The database is not answering: {detail}."),
            StoreError::NotARecord { file } => format!("{file} is no record of a shop and no backup of one."),
            StoreError::FileExists { file } => format!("{file} is there already."),
            StoreError::NotEmpty => "The record to restore into already has jobs in it.".to_owned(),
            StoreError::PictureTooLarge { most_mb } => {
                format!("The picture is larger than {most_mb} MB, or has too many points.")
            }
            StoreError::NotAPicture { detail } => format!("This is no JPEG or PNG picture: {detail}."),
            StoreError::NoSuchPicture => "There is no such picture in the record.".to_owned(),
            StoreError::File { file, detail } => format!("{file} could not be read or written: {detail}."),
            StoreError::Fault { .. } => "Something went wrong in the program.".to_owned(),
        }
    }

    /// Whether the work is safe.
    pub fn safety(&self) -> &'static str {
        match self {
            StoreError::NoSuchJob(_) | StoreError::NoSuchPicture => "Nothing was changed.",
            StoreError::Refused(_) | StoreError::NameTaken(_) | StoreError::PictureTooLarge { .. } => {
                "Nothing was written; what was saved before is safe."
            }
            StoreError::NotAPicture { .. } => "Nothing was written; what was saved before is safe.",
            StoreError::SeenTooMuch { .. } => "Nothing was written; what you typed is still on your screen.",
            StoreError::NewerFormat { .. } | StoreError::NewerEntry { .. } => "Nothing was changed in it.",
            StoreError::DiskFull
            | StoreError::NotTaken { .. }
            | StoreError::Locked
            | StoreError::ReadOnly
            | StoreError::NoAnswer { .. } => {
                "Everything that was said to be saved is safe; nothing was saved just now."
            }
            StoreError::Damaged { .. } => "Nothing more is written to it, so that nothing gets worse.",
            StoreError::DamagedJob { .. } => {
                "Nothing of it is shown and nothing more is written to it; what is sound elsewhere is not touched by it."
            }
            StoreError::Io { .. } => {
                "What was sent just now may not be saved; sent again it is kept once. What the disk kept of the rest, verify \
                 tells."
            }
            StoreError::Uncertain { .. } => {
                "Everything that was said to be saved is safe; sent again this is kept once, saved before or not."
            }
            StoreError::Moved { .. } => {
                "The last entry is not saved in it; what was said to be saved is still in the open file."
            }
            StoreError::NoRecord { .. } | StoreError::NoPlaceForKey => "Nothing was made or changed.",
            StoreError::KeyMissing { .. } => "Nothing was written; it can be read without the key.",
            StoreError::SealGone { .. } => "Nothing was changed in it.",
            StoreError::CannotOpen { .. } | StoreError::NotAllowed { .. } => "Nothing was changed in it.",
            StoreError::NotARecord { .. } | StoreError::FileExists { .. } | StoreError::NotEmpty => {
                "Nothing was changed in it."
            }
            StoreError::File { .. } => "The record itself was not changed.",
            StoreError::Fault { .. } => "Everything that was said to be saved is safe.",
        }
    }

    /// What to do.
    pub fn advice(&self) -> String {
        match self {
            StoreError::NoSuchJob(_) => "It may have been put away: search for it by name or crank.".to_owned(),
            StoreError::Refused(refusal) => refusal.advice.clone(),
            StoreError::NameTaken(_) => "Load the page again and enter it once more.".to_owned(),
            StoreError::SeenTooMuch { .. } => {
                "The record was probably restored from an older copy: load the page again and compare.".to_owned()
            }
            StoreError::NewerFormat { .. } | StoreError::NewerEntry { .. } => {
                "Use the newer program, or restore a backup that this one made.".to_owned()
            }
            StoreError::DiskFull => "Free some space, then save again.".to_owned(),
            StoreError::NotTaken { .. } => {
                "Free some space, or have the limit on this user's files raised, then save again. Where there is room, look at \
                 what the system says of this disk."
                    .to_owned()
            }
            StoreError::Locked => {
                "Close whatever else has it open (another copy of this program, a copying or syncing program), then \
                 save again."
                    .to_owned()
            }
            StoreError::ReadOnly => {
                "Give this user the right to write to the file and its folder, then save again.".to_owned()
            }
            StoreError::Damaged { .. } => {
                "Keep the file as it is, restore the last backup into a new one, and run verify on both.".to_owned()
            }
            StoreError::DamagedJob { .. } => {
                "Keep the file as it is, restore the last backup into a new one, and run verify on both.".to_owned()
            }
            StoreError::Io { .. } => {
                "Copy the record to another disk, run verify on the copy, and go on there; look at what the system says of \
                 this disk."
                    .to_owned()
            }
            StoreError::Uncertain { .. } => "Leave it on the screen and send it again in a minute.".to_owned(),
            StoreError::Moved { .. } => {
                "Do not stop the program: save a backup first (Shop, Record, or tenunder's page /shop/record), then stop it, \
                 move what stands there away, and restore the backup."
                    .to_owned()
            }
            StoreError::NoRecord { .. } => {
                "Look at the name and the folder. A new record is begun with tenunder serve --new or tenunder import --new."
                    .to_owned()
            }
            StoreError::NotAllowed { .. } => {
                "Work as the user who made it, or have that user give you the right to read and write it.".to_owned()
            }
            StoreError::KeyMissing { .. } => {
                "Put the file with the key back beside the record, or name it with --key. If it is lost, tenunder verify \
                 --new-key makes another."
                    .to_owned()
            }
            StoreError::SealGone { .. } => {
                "Find out who put this file here. If it is an older copy that you put here on purpose, move the file with the \
                 key to another folder first."
                    .to_owned()
            }
            StoreError::NoPlaceForKey => "Name a file for it with --key.".to_owned(),
            StoreError::CannotOpen { .. } => "Look at the name, the folder and the rights.".to_owned(),
            StoreError::NoAnswer { .. } => "See that the server runs and can be reached, then try again.".to_owned(),
            StoreError::NotARecord { .. } => {
                "Name the file of a record or of a backup. If this was one, it is damaged: restore the last backup into \
                 a new file."
                    .to_owned()
            }
            StoreError::FileExists { .. } => "Name a new file, or move the old one away.".to_owned(),
            StoreError::NotEmpty => "Restore into a new record, then use that one.".to_owned(),
            StoreError::PictureTooLarge { .. } => "Make it smaller, or photograph the place closer.".to_owned(),
            StoreError::NotAPicture { .. } => "Save it as JPEG and try again.".to_owned(),
            StoreError::NoSuchPicture => "Upload the picture first, then say what it shows.".to_owned(),
            StoreError::File { .. } => "Look at the name, the folder and the space on the disk.".to_owned(),
            StoreError::Fault { detail } => format!("Try again. Details for whoever looks after it: {detail}"),
        }
    }

    pub(crate) fn damaged(detail: impl Into<String>) -> StoreError {
        StoreError::Damaged { detail: detail.into() }
    }

    pub(crate) fn fault(detail: impl fmt::Display) -> StoreError {
        StoreError::Fault { detail: detail.to_string() }
    }

    pub(crate) fn file(file: &std::path::Path, error: &std::io::Error) -> StoreError {
        match error.kind() {
            std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded => StoreError::DiskFull,
            _ => StoreError::File { file: file.display().to_string(), detail: error.to_string() },
        }
    }
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} {}", self.happened(), self.safety(), self.advice())
    }
}

impl std::error::Error for StoreError {}

impl From<Refusal> for StoreError {
    fn from(refusal: Refusal) -> StoreError {
        StoreError::Refused(refusal)
    }
}

/// Result codes of SQLite, without their extensions.
/// Source: <https://www.sqlite.org/rescode.html>.
mod sqlite {
    pub(super) const ERROR: i64 = 1;
    pub(super) const BUSY: i64 = 5;
    pub(super) const LOCKED: i64 = 6;
    pub(super) const READONLY: i64 = 8;
    pub(super) const IOERR: i64 = 10;
    pub(super) const CORRUPT: i64 = 11;
    pub(super) const FULL: i64 = 13;
    pub(super) const CANTOPEN: i64 = 14;
    pub(super) const NOTADB: i64 = 26;
    /// Extended: a write to the file failed for another reason than a full disk, a quota or a limit on the size of files too.
    pub(super) const IOERR_WRITE: i64 = 778;
    /// Extended: the file is not where it was when it was opened.
    pub(super) const READONLY_DBMOVED: i64 = 1032;
    /// Extended: the shared memory beside the database could not be made or enlarged.
    pub(super) const IOERR_SHMSIZE: i64 = 4874;
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> StoreError {
        match &error {
            sqlx::Error::Database(found) => {
                let code = found.code().unwrap_or_default().into_owned();
                if found.try_downcast_ref::<sqlx::sqlite::SqliteError>().is_some() {
                    from_sqlite(code.parse().unwrap_or_default(), found.message())
                } else {
                    from_postgres(&code, found.message())
                }
            }
            sqlx::Error::PoolTimedOut => {
                StoreError::NoAnswer { detail: "every line to it was busy or silent for 10 s".to_owned() }
            }
            sqlx::Error::Io(io) if io.kind() == std::io::ErrorKind::StorageFull => StoreError::DiskFull,
            sqlx::Error::Io(_) | sqlx::Error::Tls(_) | sqlx::Error::PoolClosed | sqlx::Error::WorkerCrashed => {
                StoreError::NoAnswer { detail: error.to_string() }
            }
            // What it says is about the insides of the program; what it means is that somebody else wrote there.
            sqlx::Error::ColumnDecode { .. } | sqlx::Error::Decode(_) => {
                StoreError::damaged("a value in it is of another kind than was written")
            }
            _ => StoreError::fault(error),
        }
    }
}

fn from_sqlite(code: i64, message: &str) -> StoreError {
    match (code, code & 0xff) {
        (sqlite::IOERR_SHMSIZE, _) | (_, sqlite::FULL) => StoreError::DiskFull,
        (sqlite::IOERR_WRITE, _) => StoreError::NotTaken { detail: format!("{message}, SQLite {code}") },
        (sqlite::READONLY_DBMOVED, _) => {
            StoreError::Moved { file: "The record".to_owned(), how: "it was moved or deleted".to_owned() }
        }
        (_, sqlite::BUSY | sqlite::LOCKED) => StoreError::Locked,
        (_, sqlite::READONLY) => StoreError::ReadOnly,
        (_, sqlite::CORRUPT) => StoreError::damaged(message),
        (_, sqlite::NOTADB) => StoreError::NotARecord { file: "The file".to_owned() },
        (_, sqlite::IOERR) => StoreError::Io { detail: format!("{message}, SQLite {code}") },
        // The queries are the program's own: what they name is there unless the file says otherwise.
        (_, sqlite::ERROR) if message.starts_with("no such") || message.starts_with("malformed") => {
            StoreError::damaged(message)
        }
        (_, sqlite::CANTOPEN) => {
            StoreError::CannotOpen { place: "in this file".to_owned(), detail: message.to_owned() }
        }
        _ => StoreError::fault(format!("{message} (SQLite {code})")),
    }
}

/// Error codes of PostgreSQL. Source: PostgreSQL documentation, appendix A.
fn from_postgres(code: &str, message: &str) -> StoreError {
    match code {
        "53100" => StoreError::DiskFull,
        "55P03" | "40P01" | "40001" | "57014" => StoreError::Locked,
        "25006" | "42501" => StoreError::ReadOnly,
        "XX001" | "XX002" => StoreError::damaged(message),
        "3D000" | "28000" | "28P01" => {
            StoreError::CannotOpen { place: "on the server".to_owned(), detail: message.to_owned() }
        }
        _ if code.starts_with("08") || code.starts_with("57P") || code.starts_with("53") => {
            StoreError::NoAnswer { detail: message.to_owned() }
        }
        _ => StoreError::fault(format!("{message} (PostgreSQL {code})")),
    }
}
