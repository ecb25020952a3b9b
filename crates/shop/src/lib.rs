//! The shop's record.
//!
//! Nothing that was measured is overwritten. Each job has a log that only grows, a line for everything that was done;
//! [`fold`] adds the lines up to the [`Job`] as it stands. Undo, history, audit and export are readings of the log. The
//! shop's own things (specifications, instruments, people, prices, settings) are kept the same way in a log of their
//! own, which [`fold_shop`] adds up.
//!
//! The logs are kept in a [`Store`]: SQLite in one file, or PostgreSQL.
//!
//! What never enters this crate: geometry and HTML. It keeps what the sheet says and does not judge it.

mod admit;
mod deed;
mod error;
mod exchange;
mod fold;
mod history;
mod kinds;
mod log;
mod names;
mod photograph;
mod sheet_rows;
mod shop_log;
mod stage;
mod store;

pub use admit::{MOST_AT_ONCE, MOST_ENTRY_BYTES, MOST_NAME_CHARS, MOST_TEXT_CHARS, Refusal, admit};
pub use document::{MOST_BYTES, NotADocument, Value};
pub use error::StoreError;
pub use exchange::{NotBroughtIn, brought_in, exported, unrecorded};
pub use fold::{
    CheckRow, CleanUp, Decided, EyeChecked, Flag, IssuedSheet, Job, Photograph, SheetRow, SignOff, Standing, Treatment,
    ZeroMoved, as_signed, counts, fold, that_count,
};
pub use history::{HistoryLine, history, undo_words};
pub use kinds::{KINDS, Kind, SheetRowKind};
pub use log::{
    Agreement, BookedIn, CheckedAt, Draft, Entry, EntryId, EntryKind, JobNumber, NotAnEntryId, Row, SHEET_VERSION,
    Settled, Source, entry_of,
};
pub use names::{NameOf, OddName, hidden, odd_name, one_form, same_name};
pub use photograph::MOST_PICTURE_MB;
pub use shop_log::{Shop, ShopInstrument, ShopKind, StandardCheck, admit_to_shop, fold_shop};
pub use stage::{NoSuchStage, Stage};
pub use store::{
    Appended, BookedJob, Checked, FORMAT, Head, JobList, KeptPicture, Opening, SignedPaper, Store, Wanted, WorkedOut,
    checked_place, file_of, fresh_id, now,
};
