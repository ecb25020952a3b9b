//! The crank from the front: a link for each journal, with its state in words and lines.

use askama::Template;
use crank::{JournalId, SetName};
use paper::Standing;

use crate::judged::Judged;
use crate::standing::{along, known};
use crate::wording::Words;
use job::JobCard;
use job::march::{Spot, is_open};

/// A journal in the drawing.
pub(super) struct Mark {
    pub(super) name: String,
    pub(super) to: String,
    pub(super) state: &'static str,
    pub(super) words: String,
    /// How far above or below the axis it stands: `axis`, `up-2` …
    pub(super) height: &'static str,
    pub(super) is_here: bool,
}

#[derive(Template)]
#[template(path = "measure_strip.html")]
pub(super) struct Strip {
    pub(super) marks: Vec<Mark>,
}

pub(super) fn to_spot(job: i64, spot: Spot) -> String {
    format!("/jobs/{job}/measure?spot={spot}")
}

/// The crank from the front: a link for each journal, above or below the axis as its throw stands.
pub(super) fn marks(
    held: &JobCard,
    spots: &[Spot],
    here: Option<Spot>,
    words: Words,
    judged: Option<&Judged>,
) -> Vec<Mark> {
    let Ok(book) = &held.book else { return Vec::new() };
    let mark = |id: JournalId| {
        let of: Vec<Spot> = spots.iter().copied().filter(|spot| spot.journal == id).collect();
        let known = known(held, spots, id, judged);
        let decides = if known.decides { ", ◆ decides it" } else { "" };
        let to = of.iter().copied().find(|spot| is_open(&held.job, *spot)).or(of.first().copied());
        Mark {
            name: words.journal(id),
            to: to.map_or_else(String::new, |spot| to_spot(held.job.number, spot)),
            state: class(known.standing),
            words: known.words + decides,
            height: height(book, id),
            is_here: here.is_some_and(|spot| spot.journal == id),
        }
    };
    along(book).into_iter().map(mark).collect()
}

/// The class that draws a standing.
const fn class(standing: Standing) -> &'static str {
    match standing {
        Standing::LookAgain => "look",
        Standing::Damaged => "damaged",
        Standing::Part { .. } => "part",
        Standing::Inside => "within",
        Standing::Worn => "worn",
        Standing::Plain | Standing::NotMeasured | Standing::LeftOut => "to-do",
    }
}

/// Four steps up and down are enough to tell one throw from another.
pub(super) fn height(book: &crank::Specification, id: JournalId) -> &'static str {
    if id.set == SetName::Main {
        return "axis";
    }
    let degrees = book.pin.angles_deg.get(id.number - 1).copied().unwrap_or(0.0);
    match degrees.to_radians().cos() {
        up if up > 0.7 => "up-2",
        up if up > 0.1 => "up-1",
        up if up < -0.7 => "down-2",
        up if up < -0.1 => "down-1",
        _ => "axis",
    }
}
