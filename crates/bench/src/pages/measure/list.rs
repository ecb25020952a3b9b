//! What was measured, and where a second look pays.

use askama::Template;
use shop::{Standing, Value};

use super::drawing::to_spot;
use crate::judged::counts;
use crate::wording::{Words, capital};
use job::JobCard;
use job::march::{Spot, is_open, spot_of};
use job::taking::{self, WorthAgain, size_of};

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

/// Where a second look pays.
pub(super) fn worth_again(held: &JobCard, spots: &[Spot], words: Words) -> Vec<Again> {
    let again = taking::worth_again(held, spots).into_iter().map(|worth| {
        let (spot, why) = match worth {
            WorthAgain::Decides(spot) => (spot, "the smallest, which decides the set"),
            WorthAgain::ByChance(spot) => (spot, "one by chance, to see how well you repeat"),
        };
        Again { name: spot.name(words), to: to_spot(held.job.number, spot), why: why.to_owned() }
    });
    again.collect()
}

pub(super) fn reading_list(held: &JobCard, words: Words) -> ReadingList {
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
            words,
        );
        (said.first().map(|line| capital(&line.says)).unwrap_or_default(), row.who.clone())
    });
    ReadingList { readings: readings.collect(), other: other.collect() }
}

/// Where a row was taken, as the bench says it; what has no named spot is said as the sheet has it.
pub(super) fn place_words(row: &shop::SheetRow, words: Words) -> String {
    match spot_of(row) {
        Some(spot) => spot.name(words),
        None => {
            let part = |key: &str| row.row.get(key).and_then(Value::as_typed).unwrap_or_default().to_owned();
            format!("{}, {}, across {}°", words.journal_named(&part("journal")), part("at"), part("plane"))
        }
    }
}

pub(super) fn journal_form(held: &JobCard, spots: &[Spot], spot: Spot, words: Words) -> JournalForm {
    let of = spots.iter().filter(|other| other.journal == spot.journal && is_open(&held.job, **other));
    JournalForm {
        name: words.journal(spot.journal),
        spots: of
            .map(|spot| (spot.to_string(), spot.name(words), format!("r-{}", spot.to_string().replace('.', "-"))))
            .collect(),
    }
}
