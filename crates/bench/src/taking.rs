//! Taking a reading: what it comes to is asked of the job, written down, and told.

use std::sync::Arc;

use job::JobCard;
use job::march::Spot;
use job::taking::{Outcome, ReadingIn, after, is_that_one, of_somebody_else, take};
use shop::{Job, JobNumber, SheetRow, Shop, StoreError};

use crate::desk::{Desk, Written};
use crate::door::not_taken;
use crate::gathering::{SoFar, Told};
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

/// What one of several readings comes to before the disk has them.
enum One {
    /// Told as it is, whatever becomes of the others.
    Told(Told),
    /// Taken before.
    Repeated,
    /// On its way.
    Taken { outcome: Outcome, size: String, says: String },
}

/// Takes readings of one job, in their order and each beside those before it, and writes what they come to at once. Each stands
/// alone: what is refused takes no other with it.
pub(crate) async fn take_together(desk: &Desk, number: JobNumber, readings: &[ReadingIn]) -> Vec<Told> {
    match try_together(desk, number, readings).await {
        Ok(told) => told,
        // Which of them it was is found one by one; what concerns the whole record is told to all.
        Err(trouble) if readings.len() > 1 && trouble.of_one => {
            let mut told = Vec::with_capacity(readings.len());
            for reading in readings {
                let alone = try_together(desk, number, std::slice::from_ref(reading)).await;
                told.extend(alone.unwrap_or_else(|not| vec![Err(not.trouble)]));
            }
            told
        }
        Err(not) => readings.iter().map(|_| Err(not.trouble.clone())).collect(),
    }
}

/// Why readings were not written.
struct NotTogether {
    trouble: Trouble,
    /// Whether one of them alone may be at fault.
    of_one: bool,
}

impl From<StoreError> for NotTogether {
    fn from(error: StoreError) -> NotTogether {
        let of_one = matches!(error, StoreError::NameTaken(_) | StoreError::Refused(_));
        NotTogether { trouble: error.into(), of_one }
    }
}

async fn try_together(desk: &Desk, number: JobNumber, readings: &[ReadingIn]) -> Result<Vec<Told>, NotTogether> {
    let shop = desk.shop().await?;
    let words = Words::of_setting(shop.setting("words"));
    for _ in 0..MOST_TRIES {
        let before = desk.job(number).await?;
        let mut now = SoFar::Read(Arc::clone(&before));
        let mut drafts = Vec::new();
        let mut ones = Vec::with_capacity(readings.len());
        for reading in readings {
            let card = now.card();
            if card.has(reading.id) {
                // Another reading under the name of one that is written is never taken for it.
                let same = is_that_one(card, &shop, reading);
                ones.push(if same { One::Repeated } else { One::Told(Err(StoreError::NameTaken(reading.id).into())) });
                continue;
            }
            let taking = match take(card, &shop, reading) {
                Ok(taking) => taking,
                Err(not) => {
                    ones.push(One::Told(Err(not_taken(not, words))));
                    continue;
                }
            };
            let others = of_somebody_else(card, reading)
                .map(|(who, size, when)| format!("{who} entered {size} here at {}.", clock(when)));
            let says = taking.says(card, reading, words, others.as_deref());
            ones.push(One::Taken { outcome: taking.outcome, size: taking.size, says });
            drafts.extend(taking.drafts);
            now = SoFar::With(Box::new(taking.after));
        }
        let card = match now {
            SoFar::Read(card) => card,
            SoFar::With(after) => match desk.append_readings(&before, &drafts, *after).await {
                Ok(Written::Here(card)) => card,
                Ok(Written::Behind) => continue,
                // The same form was taken in the same moment: looked at again beside what it wrote.
                Err(StoreError::NameTaken(_)) if has_any(desk, number, readings, &before).await? => continue,
                Err(error) => return Err(error.into()),
            },
        };
        let told = readings.iter().zip(ones).map(|(reading, one)| match one {
            One::Told(told) => told,
            One::Repeated => Ok(repeated(Arc::clone(&card), reading, &shop)),
            One::Taken { outcome, size, says } => {
                let next = after(&card, &shop, reading.spot);
                Ok(Taken { card: Arc::clone(&card), outcome, size, says, next })
            }
        });
        return Ok(told.collect());
    }
    Err(StoreError::Locked.into())
}

/// Whether a job now holds one of these readings that it did not hold before.
async fn has_any(desk: &Desk, number: JobNumber, readings: &[ReadingIn], before: &JobCard) -> Result<bool, StoreError> {
    let now = desk.job(number).await?;
    Ok(readings.iter().any(|reading| now.has(reading.id) && !before.has(reading.id)))
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
