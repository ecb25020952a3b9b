//! What is known of a journal, in the terms of the drawings: the strip beside the measuring and the drawn crank say alike.

use crank::{JournalId, Specification};
use paper::Standing;
use shop::Standing as Row;
use units::show_mm;

use crate::judged::{Judged, counts};
use job::JobCard;
use job::march::{Spot, row_at};
use job::nouns::journal_of;

/// What is known of one journal.
pub(crate) struct Known {
    pub(crate) standing: Standing,
    /// The same in words.
    pub(crate) words: String,
    pub(crate) decides: bool,
}

/// What is known of a journal, from its spots and the latest verdict.
pub(crate) fn known(held: &JobCard, spots: &[Spot], id: JournalId, judged: Option<&Judged>) -> Known {
    let verdict = judged.and_then(|judged| judged.answer.as_ref().ok());
    let of: Vec<Spot> = spots.iter().copied().filter(|spot| spot.journal == id).collect();
    let taken = of.iter().filter(|spot| row_at(&held.job, **spot).is_some_and(counts)).count();
    let doubtful = of.iter().any(|spot| {
        row_at(&held.job, *spot).is_some_and(|row| matches!(row.standing, Row::LookAgain | Row::ThirdWanted))
    });
    let damage =
        held.job.rows.iter().find(|row| row.key == "damage" && counts(row) && journal_of(&row.row) == Some(id));
    let condition = verdict.and_then(|(_, v)| v.journals.iter().find(|j| j.condition.journal == id));
    let decides = verdict.is_some_and(|(_, v)| {
        v.sets.iter().any(|set| set.governed_by.as_ref().is_some_and(|place| place.journal == id))
    });
    let (standing, words) = match (doubtful, damage, taken) {
        (true, _, _) => (Standing::LookAgain, "◇ look again".to_owned()),
        (_, Some(row), _) => (Standing::Damaged, format!("damage: {}", row.row.words("kind").unwrap_or("seen"))),
        (_, _, 0) if condition.is_none() => (Standing::NotMeasured, "to do".to_owned()),
        (_, _, taken) if taken > 0 && taken < of.len() => {
            (Standing::Part { taken, of: of.len() }, format!("{taken} of {}", of.len()))
        }
        _ => match condition {
            Some(found) => {
                let under = found.condition.limits.low_mm - found.condition.smallest_mm;
                let decimals = held.unit().usual_decimals();
                if found.state == crank::State::Within {
                    (Standing::Inside, "in limits".to_owned())
                } else if under > 0.0 {
                    (Standing::Worn, format!("{} under", show_mm(under, held.unit(), decimals)))
                } else {
                    (Standing::Worn, found.state.words().to_owned())
                }
            }
            None => (Standing::Inside, format!("{taken} of {}", of.len())),
        },
    };
    Known { standing, words, decides }
}

/// The journals in the order in which they stand along the crank.
pub(crate) fn along(book: &Specification) -> Vec<JournalId> {
    let mut journals: Vec<(f64, JournalId)> = book
        .journals()
        .map(|id| (book.set(id.set).positions_mm.get(id.number - 1).copied().unwrap_or(0.0), id))
        .collect();
    journals.sort_by(|a, b| a.0.total_cmp(&b.0));
    journals.into_iter().map(|(_, id)| id).collect()
}
