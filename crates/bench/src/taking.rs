//! Taking a reading: what it comes to is asked of the job, written down, and told.

use std::sync::Arc;

use job::JobCard;
use job::march::Spot;
use job::taking::{Outcome, ReadingIn, after, is_that_one, of_somebody_else, take};
use shop::{Job, SheetRow, Shop, StoreError};

use crate::desk::{Desk, Written};
use crate::door::not_taken;
use crate::trouble::Trouble;
use crate::wording::{Words, clock, count};

/// How often a reading is looked at anew because somebody else wrote in between.
const MOST_TRIES: usize = 20;

/// A reading that was taken.
#[derive(Clone, Debug)]
pub(crate) struct Taken {
    pub(crate) card: Arc<JobCard>,
    pub(crate) outcome: Outcome,
    /// The size, as the sheet keeps it.
    pub(crate) size: String,
    /// What the bench says of it.
    pub(crate) says: String,
    /// Where to go now: the same spot where it must be looked at again, else the next open one.
    pub(crate) next: Option<Spot>,
}

/// Takes a reading.
///
/// # Errors
/// [`Trouble`]; nothing is written then.
pub(crate) async fn take_reading(desk: &Desk, number: i64, reading: &ReadingIn) -> Result<Taken, Trouble> {
    let shop = desk.shop().await?;
    let words = Words::of_setting(shop.setting("words"));
    for _ in 0..MOST_TRIES {
        let before = desk.job(number).await?;
        if before.has(reading.id) {
            // Another reading under the name of one that is written is never taken for it.
            if !is_that_one(&before, &shop, reading) {
                return Err(StoreError::NameTaken(reading.id).into());
            }
            return Ok(repeated(before, reading, &shop));
        }
        let taking = take(&before, &shop, reading).map_err(|not| not_taken(not, words))?;
        let others = of_somebody_else(&before, reading)
            .map(|(who, size, when)| format!("{who} entered {size} here at {}.", clock(when)));
        let says = taking.says(&before, reading, words, others.as_deref());
        let (outcome, size) = (taking.outcome, taking.size.clone());
        match desk.append_reading(&before, taking).await {
            Ok(Written::Here(card)) => {
                let next = after(&card, &shop, reading.spot);
                return Ok(Taken { card, outcome, size, says, next });
            }
            Ok(Written::Behind) => {}
            // The same form was taken in the same moment: looked at again beside what it wrote.
            Err(StoreError::NameTaken(_)) if desk.job(number).await?.has(reading.id) => {}
            Err(error) => return Err(error.into()),
        }
    }
    Err(StoreError::Locked.into())
}

/// What a reading that was taken before came to.
fn repeated(card: Arc<JobCard>, reading: &ReadingIn, shop: &Shop) -> Taken {
    let next = after(&card, shop, reading.spot);
    let says = "That reading was saved before; it is kept once.".to_owned();
    Taken { card, outcome: Outcome::Repeated, size: reading.typed.clone(), says, next }
}

/// `36 readings saved, the last at 14:02`.
pub(crate) fn saved_words(job: &Job) -> String {
    let readings: Vec<&SheetRow> = job.rows.iter().filter(|row| row.key == "reading").collect();
    let again: usize = readings.iter().map(|row| row.again.len()).sum();
    match readings.iter().max_by(|a, b| a.when.cmp(&b.when)) {
        None => "Nothing measured yet.".to_owned(),
        Some(last) => format!("{} saved, {}.", count(readings.len() + again, "reading"), clock(&last.when)),
    }
}
