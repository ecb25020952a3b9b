//! The pages at the bench, and the same operations as a JSON interface.
//!
//! [`Bench`] is the shop's record opened for people: book a crank in, measure it, decide, have it ground, check it, hand
//! it over. Pages are whole without a script; the script of our own adds what a browser alone cannot (the march from
//! spot to spot, readings kept while the line is down, gauges).
//!
//! What this crate does not do: it computes nothing of the trade (it asks the rooms below), and it listens on loopback
//! only.

mod api;
mod arriving;
mod bar;
mod beginning;
mod chores;
mod connections;
mod deciding;
mod desk;
mod door;
mod drawings;
mod drawn;
mod early;
mod example;
mod form;
mod gathering;
mod guard;
mod judged;
mod ladder;
mod naming;
mod oil_answers;
mod oil_question;
mod pages;
mod papers;
mod sayings;
mod serve;
mod so_far;
mod standing;
mod taking;
mod trial;
mod trouble;
mod visitor;
mod whole_shaft;
mod wording;
mod working;
mod writing;

pub use beginning::Beginning;
pub use desk::KnownEngine;
pub use job::plan_sheet::grinders_plan;
pub use paper::PaperSize;
pub use papers::{NotPrinted, Paper, print_job, print_sheet};
pub use serve::{Bench, Listening, NotServed};
