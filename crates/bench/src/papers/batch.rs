//! What stands on the slip of a treatment batch.

use crank::JournalId;
use paper::documents::{BatchRow, BatchSize, BatchSlip};
use shop::{Treatment, Value};

use super::{NotPrinted, Papers};
use crate::wording::{capital, day};
use job::JobCard;
use job::aims::Aims;
use job::at_the_machine::case_depth;

impl Papers<'_> {
    pub(super) fn batch_slip(&self) -> Result<BatchSlip, NotPrinted> {
        let Some(stay) = self.job().treatments.last() else {
            return Err(NotPrinted::nothing_yet(
                "This crank is in no treatment batch.",
                "Put it into one under Treatment.",
            ));
        };
        let name = &stay.batch;
        let particulars = self.shop.batches.iter().find(|(known, _)| known == name).map(|(_, value)| value);
        let text = |key: &str| {
            particulars.and_then(|value| value.get(key)).and_then(Value::as_typed).unwrap_or_default().to_owned()
        };
        let goes = text("goes");
        let facts = [
            ("Treated by", text("treater")),
            ("Goes", if goes.is_empty() { goes } else { day(&goes) }),
            ("Note", text("note")),
        ];
        let process = text("treatment");
        Ok(BatchSlip {
            shop: self.shop.setting("name").unwrap_or_default().to_owned(),
            batch: name.clone(),
            process: if process.is_empty() { "Treatment as the specification has it".to_owned() } else { capital(&process) },
            facts: facts
                .into_iter()
                .filter(|(_, says)| !says.is_empty())
                .map(|(name, says)| (name.to_owned(), says))
                .collect(),
            rows: self.batch.iter().filter_map(|held| self.batch_row(held, name)).collect(),
            cautions: vec![
                "Salt baths, ammonia and cracked gas, hot parts: licensed practice and local rules only. Oil plugs out, \
                 threads stopped off, no part wet."
                    .to_owned(),
                "Measure every crank cold, before and after, with the same micrometer: the growth of this batch is what the \
                 next is ground for."
                    .to_owned(),
            ],
            example: self.job().booked_in.example,
        })
    }

    fn batch_row(&self, held: &JobCard, batch: &str) -> Option<BatchRow> {
        let job = &held.job;
        let stay: &Treatment = job.treatments.iter().rev().find(|stay| stay.batch == batch)?;
        let unit = held.unit();
        let process = held.book.as_ref().map(|book| {
            let show = |mm: f64| units::show_mm(mm, unit, unit.usual_decimals());
            let growth = show(book.treatment.growth_mean_mm);
            format!("{}, growth allowed {growth} {unit} on the diameter", capital(&book.treatment.kind))
        });
        let depth = Aims::of(held).ok().and_then(|aims| case_depth(&aims.sheet.printed, unit, self.words));
        let depth = depth.map_or("case depth wanted: ask, it is not in the specification".to_owned(), |depth| {
            format!("case depth wanted: {depth}")
        });
        Some(BatchRow {
            job: job.number.to_string(),
            mark: job.booked_in.mark.clone(),
            crank: job.booked_in.crank.clone(),
            process: format!("{}; {depth}.", process.unwrap_or_else(|_| "Treatment as agreed".to_owned())),
            unit: unit.symbol().to_owned(),
            sizes: self.sizes(held, stay),
        })
    }

    /// A line for each place that was measured before or after; where none was, a blank one for each journal.
    fn sizes(&self, card: &JobCard, stay: &Treatment) -> Vec<BatchSize> {
        let mut lines: Vec<(String, BatchSize)> = Vec::new();
        for (rows, is_after) in [(&stay.before, false), (&stay.after, true)] {
            for row in rows {
                let size = row.row.get("size").and_then(Value::as_typed);
                let Some((journal, size)) = row.row.words("journal").zip(size) else { continue };
                let place = place(&row.row);
                let key = format!("{journal} {place}");
                let size = size.to_owned();
                // The same place after is on the line of before; without one, on the journal's own.
                let open = |(known, line): &&mut (String, BatchSize)| {
                    *known == key && if is_after { line.after.is_empty() } else { line.before.is_empty() }
                };
                match lines.iter_mut().find(open) {
                    Some((_, line)) if is_after => line.after = size,
                    Some((_, line)) => line.before = size,
                    None => {
                        let journal = self.words.journal_named(journal);
                        let (before, after) = if is_after { (String::new(), size) } else { (size, String::new()) };
                        lines.push((key, BatchSize { journal, place, before, after }));
                    }
                }
            }
        }
        if lines.is_empty() {
            let journals = card.sheet().map(|sheet| sheet.specification.journals().collect::<Vec<_>>());
            let blank =
                |journal: &JournalId| BatchSize { journal: self.words.journal(*journal), ..BatchSize::default() };
            return journals.unwrap_or_default().iter().map(blank).collect();
        }
        lines.into_iter().map(|(_, line)| line).collect()
    }
}

/// Where on a journal, as the row says: `front, 90°`.
fn place(row: &Value) -> String {
    let at = row.get("at").and_then(Value::as_typed).map(str::to_owned);
    let plane = row.get("plane").and_then(Value::as_typed).map(|deg| match deg {
        "0" | "0.0" => "A".to_owned(),
        "90" | "90.0" => "B".to_owned(),
        deg => format!("{deg}°"),
    });
    [at, plane].into_iter().flatten().collect::<Vec<_>>().join(", ")
}
