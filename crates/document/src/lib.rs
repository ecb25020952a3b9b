//! A document as a tree: what the shop's sheets, specifications and records are written in.
//!
//! [`read`] takes the text of a file, TOML or (starting with a brace) JSON, and gives its values with the lines they
//! stand on: a [`Document`]. What is wrong with its form goes to [`Problems`], each with its place. [`Value::from_text`]
//! and [`Value::from_json`] take the same text through the same reader for whoever needs the values alone, as the record
//! and the JSON interface do. [`Value::to_toml`] and [`Value::to_json`] write.
//!
//! A number is the text that was typed, so that `2.1230` stays `2.1230`: the zero at the end says how finely it was
//! read. Keys keep their order.
//!
//! ```
//! use document::{Problems, Value, read};
//!
//! let mut problems = Problems::default();
//! let sheet = read("w-17.toml", "mark = \"W-17\"\n\n[[reading]]\nsize = 1.8730\n", &mut problems).unwrap();
//! let size = sheet.root().at("reading[1].size").unwrap();
//! assert_eq!(size.node.value, &Value::Number("1.8730".to_owned()));
//! assert_eq!(size.line, Some(4));
//! assert_eq!(sheet.value.to_json(), r#"{"mark":"W-17","reading":[{"size":1.8730}]}"#);
//! ```
//!
//! What this crate does not do: it opens no file, and it does not know what a key means. It reads at most 8 MB and 16
//! levels, and no text whatever makes it panic.

mod from_json;
mod from_toml;
mod lines;
mod number;
mod plain;
mod problem;
mod read;
#[cfg(feature = "schema")]
mod schema;
mod to_toml;
mod value;

pub use lines::{Document, Entry, Found, Node};
pub use plain::NotADocument;
pub use problem::{Place, Problem, Problems, shortened};
pub use read::{MOST_BYTES, MOST_LEVELS, is_readable, read};
pub use value::Value;
