//! What stands on the quotation.

use fit::{Quote, Ways};
use paper::documents::{Quotation, QuotationWays};
use regrind::words::in_hundred;
use regrind::{Choice, Verdict};
use sheet::Sheet;

use super::{NotPrinted, Papers};
use crate::judged::as_decided;
use crate::ladder::Manner;
use crate::wording::{OldWay, capital};
use job::stops::Stops;

impl Papers<'_> {
    /// The verdict with each set as it was decided, and what that is charged. Whatever says a price takes it from here.
    pub(super) fn quoted(&self) -> Result<(Verdict, Quote), NotPrinted> {
        let (sheet, verdict) = self.verdict()?;
        let decided = as_decided(self.job(), sheet, verdict);
        let quote = sheet.quote(&decided, self.fit());
        Ok((decided, quote))
    }

    pub(super) fn quotation(&self) -> Result<Quotation, NotPrinted> {
        if !super::is_priced(self.job()) {
            return Err(NotPrinted::no_prices());
        }
        let manner = self.manner();
        let (sheet, _) = self.verdict()?;
        let fit = self.fit();
        let (decided, quote) = self.quoted()?;
        let stops = Stops::of(self.job(), sheet, fit, self.words);
        let stops: Vec<String> = stops.all.iter().map(|stop| stop.in_full(self.words)).collect();
        let counted = |count: u32| if count == 1 { String::new() } else { count.to_string() };
        let lines = quote.lines.iter().map(|line| {
            let each = if line.count == 1 { String::new() } else { manner.price(line.each, &quote) };
            let amount = manner.price(line.amount(), &quote);
            [self.words.put(&capital(&line.what)), counted(line.count), each, amount]
        });
        let again = quote.again.iter().map(|(what, amount)| {
            self.words.put(&format!(
                "It may come out that {what}. Counted over many such cranks that adds {} on average.",
                manner.price(*amount, &quote)
            ))
        });
        let order = fit.filter(|_| !is_given_up(&decided)).map(|fit| fit.order.as_slice()).unwrap_or_default();
        let parts = order
            .iter()
            .filter(|line| line.to_order() > 0)
            .map(|line| [self.words.put(&capital(&line.what)), line.size.clone(), line.to_order().to_string()]);
        let ways = quote.ways.iter().filter_map(|ways| self.weighed(ways, &decided, sheet, &manner));
        Ok(Quotation {
            about: self.about(),
            outcome: self.quoted_for(&decided, !stops.is_empty(), quote.lines.is_empty()),
            lines: lines.collect(),
            total: manner.price(quote.total(), &quote),
            again: again.collect(),
            likely: if quote.again.is_empty() { String::new() } else { manner.price(quote.likely(), &quote) },
            not_priced: quote.not_priced.iter().map(|what| self.words.put(what)).collect(),
            parts: parts.collect(),
            ways: ways.collect(),
            conditions: conditions(&decided, &quote),
            stops,
            by: self.measured_by(),
            date: self.date(),
        })
    }

    /// What the quotation is for, in one sentence.
    fn quoted_for(&self, decided: &Verdict, stopped: bool, nothing: bool) -> String {
        let all = |is: fn(Choice) -> bool| decided.sets.iter().all(|set| is(set.choice));
        if is_given_up(decided) {
            return match nothing {
                true => "This crank cannot be saved as it stands; no work on it is quoted.",
                false => {
                    "This crank cannot be saved as it stands; what is quoted is the work that was done to find out."
                }
            }
            .to_owned();
        }
        let so_far = match decided.sets.as_slice() {
            [one] => format!("So far, for the {} alone", self.words.set_within(one.set)),
            _ => String::new(),
        };
        match (all(|choice| matches!(choice, Choice::LeaveAlone)), stopped) {
            (true, _) if so_far.is_empty() => "Nothing is to be ground.".to_owned(),
            (true, _) => format!("{so_far}: nothing is to be ground."),
            (false, true) => "What the work comes to once that is settled:".to_owned(),
            (false, false) if so_far.is_empty() => "To put this crank in order:".to_owned(),
            (false, false) => format!("{so_far}:"),
        }
    }

    /// The ways of a set that is to be ground, by what is charged: what a size is worth to its owner is the shop's to weigh.
    fn weighed(&self, ways: &Ways, decided: &Verdict, sheet: &Sheet, manner: &Manner) -> Option<QuotationWays> {
        let step = |mm: f64| match mm == 0.0 {
            true => "standard".to_owned(),
            false => regrind::words::under(mm, sheet.unit),
        };
        let chosen_mm = decided.sets.iter().find(|set| set.set == ways.set)?.choice.undersize_mm()?;
        let chosen = ways.ways.iter().find(|way| way.undersize_mm == chosen_mm)?;
        let least = ways.ways.iter().min_by(|a, b| a.charged.total_cmp(&b.charged))?;
        let mut says = format!("Quoted: {}.", step(chosen_mm));
        let saved = chosen.charged.round() - least.charged.round();
        if saved > 0.0 {
            let left = if least.undersize_mm > chosen_mm { ", and leave less for the next time" } else { "" };
            let (least, saved) = (step(least.undersize_mm), manner.sum(saved));
            says += &format!(" To start at {least} would cost {saved} less on average{left}.");
        } else {
            says += " No other size costs less on average.";
        }
        let rule = in_hundred(sheet.policy.confidence);
        match ways.by_confidence_mm {
            Some(sure) if sure != chosen_mm => {
                says += &format!(" The shop’s rule, {rule} to clean up, asks for {} at least.", step(sure));
            }
            Some(_) => {}
            None => says += &format!(" No size reaches the shop’s rule, {rule} to clean up."),
        }
        let rows = ways.ways.iter().map(|way| {
            let chance = in_hundred(way.chance.share());
            [step(way.undersize_mm), chance, manner.sum(way.charged), way.steps_left.to_string()]
        });
        Some(QuotationWays { name: self.words.set(ways.set), rows: rows.collect(), says })
    }
}

fn is_given_up(decided: &Verdict) -> bool {
    decided.sets.iter().any(|set| set.choice == Choice::Scrap)
}

fn conditions(decided: &Verdict, quote: &Quote) -> Vec<String> {
    let mut says = vec!["The price stands on what was measured so far.".to_owned()];
    if !quote.again.is_empty() {
        says.push(
            "What is counted on average is made of the further passes, the other shells, and another crank where the \
             last size fails too; it holds for many such cranks and is no promise for this one."
                .to_owned(),
        );
    }
    if !is_given_up(decided) && decided.sets.iter().any(|set| matches!(set.choice, Choice::Grind { .. })) {
        says.push(
            "The crank is tested for cracks before grinding and again after it. A crack ends the work, and what was \
             done until then is charged."
                .to_owned(),
        );
    }
    says
}
