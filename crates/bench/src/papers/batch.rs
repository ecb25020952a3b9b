//! What stands on the slip of a treatment batch.

use paper::documents::{BatchRow, BatchSlip};
use shop::{Row, Treatment, Value};

use super::{NotPrinted, Papers};
use crate::desk::Held;
use crate::wording::{capital, day};

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

    fn batch_row(&self, held: &Held, batch: &str) -> Option<BatchRow> {
        let job = &held.job;
        let stay: &Treatment = job.treatments.iter().rev().find(|stay| stay.batch == batch)?;
        let growth = held.book.as_ref().ok().map(|book| {
            let unit = held.unit();
            let show = |mm: f64| units::show_mm(mm, unit, unit.usual_decimals());
            format!("{}, growth allowed {} {unit}", book.treatment.kind, show(book.treatment.growth_mean_mm))
        });
        Some(BatchRow {
            job: job.number.to_string(),
            mark: job.booked_in.mark.clone(),
            crank: job.booked_in.crank.clone(),
            process: growth.unwrap_or_default(),
            before: self.sizes(&stay.before),
            after: self.sizes(&stay.after),
        })
    }

    fn sizes(&self, rows: &[Row]) -> String {
        let mut journals: Vec<(&str, Vec<&str>)> = Vec::new();
        for row in rows {
            let size = row.row.get("size").and_then(Value::as_typed);
            let Some((journal, size)) = row.row.words("journal").zip(size) else { continue };
            match journals.iter_mut().find(|(known, _)| *known == journal) {
                Some((_, sizes)) => sizes.push(size),
                None => journals.push((journal, vec![size])),
            }
        }
        let lines = journals
            .into_iter()
            .map(|(journal, sizes)| format!("{} {}", capital(&self.words.put(journal)), sizes.join(", ")));
        lines.collect::<Vec<_>>().join("; ")
    }
}
