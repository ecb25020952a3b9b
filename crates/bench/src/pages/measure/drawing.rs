//! The crank from the front: a link for each journal, with its state in words and lines.

use askama::Template;
use crank::{JournalId, SetName};
use shop::Standing;
use units::Unit;

use crate::desk::Held;
use crate::judged::{Judged, counts};
use crate::march::{Spot, is_open, row_at};
use crate::wording::PinWord;

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
    held: &Held,
    spots: &[Spot],
    here: Option<Spot>,
    words: PinWord,
    judged: Option<&Judged>,
) -> Vec<Mark> {
    let Ok(book) = &held.book else { return Vec::new() };
    let verdict = judged.and_then(|judged| judged.answer.as_ref().ok());
    let mut journals: Vec<(f64, JournalId)> = book
        .journals()
        .map(|id| {
            let along = book.set(id.set).positions_mm.get(id.number - 1).copied().unwrap_or(0.0);
            (along, id)
        })
        .collect();
    journals.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mark = |(_, id): (f64, JournalId)| {
        let of: Vec<Spot> = spots.iter().copied().filter(|spot| spot.journal == id).collect();
        let taken = of.iter().filter(|spot| row_at(&held.job, **spot).is_some_and(counts)).count();
        let doubtful = of.iter().any(|spot| {
            row_at(&held.job, *spot)
                .is_some_and(|row| matches!(row.standing, Standing::LookAgain | Standing::ThirdWanted))
        });
        let damage = held.job.rows.iter().find(|row| {
            row.key == "damage" && counts(row) && row.row.words("journal") == Some(id.to_string().as_str())
        });
        let condition = verdict.and_then(|(_, v)| v.journals.iter().find(|j| j.condition.journal == id));
        let decides = verdict.is_some_and(|(_, v)| {
            v.sets.iter().any(|set| set.governed_by.as_ref().is_some_and(|place| place.journal == id))
        });
        let (state, mut says) = match (doubtful, damage, taken) {
            (true, _, _) => ("look", "◇ look again".to_owned()),
            (_, Some(row), _) => ("damaged", format!("damage: {}", row.row.words("kind").unwrap_or("seen"))),
            (_, _, 0) => ("to-do", "to do".to_owned()),
            (_, _, taken) if taken < of.len() => ("part", format!("{taken} of {}", of.len())),
            _ => match condition {
                Some(found) => {
                    let under = found.condition.limits.low_mm - found.condition.smallest_mm;
                    let decimals = if held.unit() == Unit::Inch { 4 } else { 3 };
                    if found.state == crank::State::Within {
                        ("within", "in limits".to_owned())
                    } else if under > 0.0 {
                        ("worn", format!("{} under", units::show_mm(under, held.unit(), decimals)))
                    } else {
                        ("worn", found.state.words().to_owned())
                    }
                }
                None => ("within", format!("{taken} of {}", of.len())),
            },
        };
        if decides {
            says.push_str(", ◆ decides it");
        }
        let to = of.iter().copied().find(|spot| is_open(&held.job, *spot)).or(of.first().copied());
        Mark {
            name: words.journal(id),
            to: to.map_or_else(String::new, |spot| to_spot(held.job.number, spot)),
            state,
            words: says,
            height: height(book, id),
            is_here: here.is_some_and(|spot| spot.journal == id),
        }
    };
    journals.into_iter().map(mark).collect()
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
