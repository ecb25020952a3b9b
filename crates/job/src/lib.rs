//! The rules of one job.
//!
//! The record (`shop`) keeps what was written and adds it up; it does not judge. This room reads a job's sheet, works out
//! what the readings say, what stops the work, what stands against a signature, and says of every act whether it may be
//! done now. Pages, the JSON interface and the command line ask here, so that what one refuses no other takes.

pub mod advice;
pub mod aims;
pub mod at_the_machine;
pub mod card;
pub mod deciding;
pub mod final_check;
pub mod finished;
pub mod grinding;
pub mod heading;
pub mod in_hand;
pub mod judged;
pub mod march;
pub mod may;
pub mod micrometers;
pub mod nouns;
pub mod objection;
pub mod plan_sheet;
pub mod refusal;
pub mod stops;
pub mod taking;
pub mod treatment;
pub mod undo;
pub mod wording;

pub use advice::Advice;
pub use card::JobCard;
pub use may::Case;
pub use nouns::Eye;
pub use objection::Objection;
pub use refusal::{Against, Headline, Place, Refusal};
