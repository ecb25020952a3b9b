//! What was measured, and where a second look pays.

use askama::Template;
use crank::SetName;
use shop::{Standing, Value};
use units::read;

use super::drawing::to_spot;
use crate::desk::Held;
use crate::judged::counts;
use crate::wording::{PinWord, capital};
use job::march::{Spot, is_open, row_at};

/// One reading in the list of all.
pub(super) struct Listed {
    pub(super) spot: String,
    pub(super) size: String,
    pub(super) words: String,
    pub(super) who: String,
    pub(super) correct: Option<String>,
}

/// Spots that are worth a second, blind look.
pub(super) struct Again {
    pub(super) name: String,
    pub(super) to: String,
    pub(super) why: String,
}

#[derive(Template)]
#[template(path = "measure_list.html")]
pub(super) struct ReadingList {
    pub(super) readings: Vec<Listed>,
    pub(super) other: Vec<(String, String)>,
}

/// All spots of one journal, to be filled in at once.
pub(super) struct JournalForm {
    pub(super) name: String,
    pub(super) spots: Vec<(String, String, String)>,
}

pub(super) fn size_of(row: &shop::SheetRow) -> String {
    let first = row.row.get("size");
    first.and_then(|size| size.as_typed().or_else(|| size.items().first()?.as_typed())).unwrap_or_default().to_owned()
}

/// Where a second look pays: the smallest spot of each set, which decides it, and one spot by chance, which tells how
/// well this hand repeats on this crank.
pub(super) fn worth_again(held: &Held, spots: &[Spot], words: PinWord) -> Vec<Again> {
    let mut again = Vec::new();
    for set in SetName::BOTH {
        let of_set: Vec<(Spot, f64, bool)> = spots
            .iter()
            .filter(|spot| spot.journal.set == set)
            .filter_map(|spot| {
                let row = row_at(&held.job, *spot).filter(|row| counts(row))?;
                let mm = read(&size_of(row), held.unit()).ok()?.mm;
                Some((*spot, mm, !row.again.is_empty()))
            })
            .collect();
        let mut put = |found: Option<&(Spot, f64, bool)>, why: &str| {
            if let Some((spot, _, false)) = found {
                again.push(Again { name: spot.name(words), to: to_spot(held.job.number, *spot), why: why.to_owned() });
            }
        };
        let smallest = of_set.iter().min_by(|a, b| a.1.total_cmp(&b.1));
        put(smallest, "the smallest, which decides the set");
        // The same one each time the page is shown; another one for each job.
        let number = usize::try_from(held.job.number).unwrap_or(0).wrapping_mul(7);
        let chosen = of_set.get(number % of_set.len().max(1));
        if chosen.map(|found| found.0) != smallest.map(|found| found.0) {
            put(chosen, "one by chance, to see how well you repeat");
        }
    }
    again
}

pub(super) fn reading_list(held: &Held, words: PinWord) -> ReadingList {
    let job = &held.job;
    let readings = job.rows.iter().filter(|row| row.key == "reading").map(|row| {
        let spot = place_words(row, words);
        let repeats = row.again.iter().map(|size| format!(" and {size}")).collect::<String>();
        let state = match row.standing {
            Standing::Counts => "",
            Standing::LookAgain => "◇ look again, not counted",
            Standing::ThirdWanted => "◇ a third is wanted, not counted",
            Standing::StruckOut => "struck out",
        };
        let found = spot_of(row).filter(|_| row.standing != Standing::StruckOut && job.signed_off.is_none());
        Listed {
            spot,
            size: format!("{}{repeats}", size_of(row)),
            words: state.to_owned(),
            who: format!("{}, {}", row.who, crate::wording::clock(&row.when)),
            correct: found.map(|spot| format!("{}&corrects={}", to_spot(job.number, spot), row.entry)),
        }
    });
    let other = job.rows.iter().filter(|row| row.key != "reading" && counts(row)).map(|row| {
        let said = shop::history(
            &held.entries.iter().filter(|entry| entry.id == row.entry).cloned().collect::<Vec<_>>(),
            words.one(),
        );
        (said.first().map(|line| capital(&line.says)).unwrap_or_default(), row.who.clone())
    });
    ReadingList { readings: readings.collect(), other: other.collect() }
}

pub(super) fn spot_of(row: &shop::SheetRow) -> Option<Spot> {
    let journal = row.row.words("journal")?.replace(' ', "-");
    let at = row.row.words("at")?;
    ["a", "b"]
        .iter()
        .filter_map(|across| format!("{journal}.{at}.{across}").parse().ok())
        .find(|spot: &Spot| spot.is_of(&row.row))
}

/// Where a row was taken, as the bench says it; what has no named spot is said as the sheet has it.
pub(super) fn place_words(row: &shop::SheetRow, words: PinWord) -> String {
    match spot_of(row) {
        Some(spot) => spot.name(words),
        None => {
            let part = |key: &str| row.row.get(key).and_then(Value::as_typed).unwrap_or_default().to_owned();
            words.put(&capital(&format!("{}, {}, across {}°", part("journal"), part("at"), part("plane"))))
        }
    }
}

pub(super) fn journal_form(held: &Held, spots: &[Spot], spot: Spot, words: PinWord) -> JournalForm {
    let of = spots.iter().filter(|other| other.journal == spot.journal && is_open(&held.job, **other));
    JournalForm {
        name: words.journal(spot.journal),
        spots: of
            .map(|spot| (spot.to_string(), spot.name(words), format!("r-{}", spot.to_string().replace('.', "-"))))
            .collect(),
    }
}
