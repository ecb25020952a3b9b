//! The head of every page of a job: which crank, where it stands, and the way to its other pages.

use shop::Job;

/// The head of a page of a job.
#[derive(Clone, Debug)]
pub(crate) struct Bar {
    pub(crate) job: i64,
    pub(crate) seq: i64,
    pub(crate) mark: String,
    pub(crate) customer: String,
    pub(crate) crank: String,
    pub(crate) stage: &'static str,
    pub(crate) example: bool,
    pub(crate) put_away: bool,
    pub(crate) signed: bool,
    pub(crate) open_flags: usize,
    /// Pages of the job: the last part of the address, what it is called, whether it is this one.
    pub(crate) pages: Vec<(&'static str, &'static str, bool)>,
}

/// The pages of a job in the order of the work.
const PAGES: [(&str, &str); 11] = [
    ("measure", "Measure"),
    ("shaft", "Shaft"),
    ("verdict", "Verdict"),
    ("drawings", "Drawings"),
    ("fit", "Bearings"),
    ("grind", "Grind"),
    ("treatment", "Treatment"),
    ("final", "Final check"),
    ("papers", "Papers"),
    ("particulars", "Particulars"),
    ("history", "History"),
];

impl Bar {
    /// The head of the page `here`, one of [`PAGES`] or another.
    pub(crate) fn of(job: &Job, here: &str) -> Bar {
        let booked = &job.booked_in;
        Bar {
            job: job.number,
            seq: job.seq,
            mark: booked.mark.clone(),
            customer: booked.customer.clone(),
            crank: booked.crank.clone(),
            stage: job.stage.words(),
            example: booked.example,
            put_away: job.put_away,
            signed: job.signed_off.is_some(),
            open_flags: job.flags.len(),
            pages: PAGES.iter().map(|&(part, word)| (part, word, part == here)).collect(),
        }
    }
}
