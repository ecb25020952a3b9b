//! What the bench says of something that was just done, on the page that it leads to.
//!
//! The address of that page carries a number and never the words: an address that somebody else wrote could put any words
//! into the mouth of the bench.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use shop::JobNumber;

/// Messages kept: a page that is loaded again still has its own.
const KEPT: usize = 1_000;
/// The most characters of one.
const MOST_CHARS: usize = 600;

/// The latest messages.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sayings(Arc<Mutex<Said>>);

#[derive(Debug, Default)]
struct Said {
    /// How many there have been.
    count: u64,
    latest: VecDeque<(u64, JobNumber, String)>,
}

impl Sayings {
    /// The number of a message about a job.
    pub(crate) fn say(&self, job: JobNumber, says: &str) -> u64 {
        let mut said = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        said.count += 1;
        let number = said.count;
        if said.latest.len() >= KEPT {
            said.latest.pop_front();
        }
        said.latest.push_back((number, job, says.chars().take(MOST_CHARS).collect()));
        number
    }

    /// The message about a job that has this number; empty where there is none, or it was said too long ago.
    pub(crate) fn of(&self, job: JobNumber, number: &str) -> String {
        let said = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let number = number.parse::<u64>().ok();
        let found = said.latest.iter().find(|(known, about, _)| Some(*known) == number && *about == job);
        found.map(|(_, _, says)| says.clone()).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_message_is_told_by_its_number_to_its_own_job_while_it_is_fresh() {
        let sayings = Sayings::default();
        let first = sayings.say(1001, "1.4991 saved.");
        assert_eq!(sayings.of(1001, &first.to_string()), "1.4991 saved.");
        for (job, number) in [(1002, "1"), (1001, "2"), (1001, "1.4991 saved."), (1001, ""), (1001, "-1")] {
            assert_eq!(sayings.of(job, number), "", "{job} {number}");
        }
        for _ in 0..KEPT {
            sayings.say(1001, &"x".repeat(5_000));
        }
        assert_eq!(sayings.of(1001, &first.to_string()), "");
        assert_eq!(sayings.of(1001, &(first + 1).to_string()).len(), MOST_CHARS);
    }
}
