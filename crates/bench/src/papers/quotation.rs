//! What stands on the quotation.

use fit::{Quote, Ways, quote};
use paper::documents::{Quotation, QuotationWays};
use regrind::words::in_hundred;
use regrind::{Choice, Verdict};
use sheet::Sheet;

use super::{NotPrinted, Papers};
use crate::judged::as_decided;
use crate::ladder::Manner;
use crate::wording::capital;

impl Papers<'_> {
    pub(super) fn quotation(&self) -> Result<Quotation, NotPrinted> {
        if !super::is_priced(self.job()) {
            return Err(NotPrinted::no_prices());
        }
        let manner = self.manner();
        let (sheet, verdict) = self.verdict()?;
        let decided = as_decided(self.job(), sheet, verdict);
        let fit = self.fit();
        let quote = quote(&decided, fit, &sheet.policy, &sheet.costs, sheet.unit);
        let counted = |count: u32| if count == 1 { String::new() } else { count.to_string() };
        let lines = quote.lines.iter().map(|line| {
            let each = if line.count == 1 { String::new() } else { manner.sum(line.each) };
            [self.words.put(&capital(&line.what)), counted(line.count), each, manner.sum(line.amount())]
        });
        let again = quote.again.iter().map(|(what, amount)| {
            self.words.put(&format!(
                "It may come out that {what}. That costs {} more on average over many such cranks.",
                manner.sum(*amount)
            ))
        });
        let order = fit.map(|fit| fit.order.as_slice()).unwrap_or_default();
        let parts = order
            .iter()
            .filter(|line| line.to_order() > 0)
            .map(|line| [self.words.put(&capital(&line.what)), line.size.clone(), line.to_order().to_string()]);
        Ok(Quotation {
            about: self.about(),
            outcome: outcome(&decided).to_owned(),
            stops: fit.map(|fit| crate::pages::fit::stops(fit, self.words)).unwrap_or_default(),
            lines: lines.collect(),
            total: manner.sum(quote.total()),
            again: again.collect(),
            likely: if quote.again.is_empty() { String::new() } else { manner.sum(quote.likely()) },
            not_priced: quote.not_priced.iter().map(|what| self.words.put(what)).collect(),
            parts: parts.collect(),
            ways: self.ways(&quote, sheet, &manner),
            conditions: conditions(&decided),
            by: self.measured_by(),
            date: self.date(),
        })
    }

    fn ways(&self, quote: &Quote, sheet: &Sheet, manner: &Manner) -> Vec<QuotationWays> {
        let step = |mm: f64| match mm == 0.0 {
            true => "standard".to_owned(),
            false => regrind::words::under(mm, sheet.unit),
        };
        let one = |ways: &Ways| QuotationWays {
            name: self.words.set(ways.set),
            rows: ways
                .ways
                .iter()
                .map(|way| {
                    let chance = in_hundred(way.chance.share());
                    [step(way.undersize_mm), chance, manner.sum(way.bill.total()), way.steps_left.to_string()]
                })
                .collect(),
            says: match (ways.by_cost_mm, ways.by_confidence_mm) {
                (Some(cost), Some(sure)) if cost != sure => format!(
                    "It costs least to start at {}. The shop’s rule, {} to clean up, asks for {}.",
                    step(cost),
                    in_hundred(sheet.policy.confidence),
                    step(sure)
                ),
                (Some(cost), _) => {
                    format!("It costs least to start at {}, and the shop’s rule says the same.", step(cost))
                }
                _ => format!("No size reaches the shop’s rule, {}.", in_hundred(sheet.policy.confidence)),
            },
        };
        quote.ways.iter().map(one).collect()
    }
}

fn outcome(verdict: &Verdict) -> &'static str {
    let all = |is: fn(Choice) -> bool| verdict.sets.iter().all(|set| is(set.choice));
    if verdict.sets.iter().any(|set| set.choice == Choice::Scrap) {
        "This crank cannot be saved as it stands; what is quoted is the work that was done to find out."
    } else if all(|choice| matches!(choice, Choice::LeaveAlone)) {
        "Nothing is to be ground."
    } else {
        "To put this crank in order:"
    }
}

fn conditions(verdict: &Verdict) -> Vec<String> {
    let mut says = vec![
        "The price stands on what was measured so far.".to_owned(),
        "The expected cost counts the passes, the bearings, what a size used up is worth, and the crank where the last \
         size fails too; it is what many such cranks cost on average, not a promise for this one."
            .to_owned(),
    ];
    if verdict.sets.iter().any(|set| matches!(set.choice, Choice::Grind { .. })) {
        says.push(
            "The crank is tested for cracks before grinding and again after it. A crack ends the work, and what was \
             done until then is charged."
                .to_owned(),
        );
    }
    says
}
