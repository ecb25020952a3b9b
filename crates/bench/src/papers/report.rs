//! What stands on the customer's report.

use crank::SetName;
use paper::documents::{CustomersReport, ReportSet};
use regrind::words::{in_hundred, likelihood};
use regrind::{Choice, SetVerdict};

use super::{NotPrinted, Papers};
use crate::checked::{Eye, eye};
use crate::ladder::Found;
use crate::pages::grind::choice_words;
use crate::plan_sheet::choice_of;
use crate::wording::{capital, count};

impl Papers<'_> {
    pub(super) fn report(&self) -> Result<CustomersReport, NotPrinted> {
        let manner = self.manner();
        let found = self.found(&manner)?;
        let chosen: Vec<(&SetVerdict, Choice)> =
            found.verdict.sets.iter().map(|set| (set, self.chosen(&found, set))).collect();
        let cracked = found.sheet.findings.damages.iter().any(crank::Damage::is_crack);
        Ok(CustomersReport {
            about: self.about(),
            outcome: outcome(&chosen, cracked).to_owned(),
            why: self.why(&found, &chosen, cracked),
            work: self.work(&found, &chosen),
            sets: SetName::BOTH.into_iter().map(|set| self.report_set(&found, set)).collect(),
            drawings: self.size_axes(&found).into_iter().chain(self.crank_drawing()).collect(),
            not_checked: self.not_checked(&found),
            method: self.method(&found),
            meanings: self.meanings(),
            by: self.measured_by(),
            date: self.date(),
        })
    }

    /// What was decided; where nothing was, what the rule says.
    fn chosen(&self, found: &Found<'_>, set: &SetVerdict) -> Choice {
        let decided = self.job().decisions.iter().find(|decided| decided.set == set.set.word());
        decided.and_then(|decided| choice_of(&decided.choice, found.sheet.unit)).unwrap_or(set.choice)
    }

    fn why(&self, found: &Found<'_>, chosen: &[(&SetVerdict, Choice)], cracked: bool) -> Vec<String> {
        let mut says = Vec::new();
        if cracked {
            says.push(
                "A crack, or what may be one, was seen. A cracked crank can break in use. Have it tested by somebody \
                 qualified before anything else is done to it."
                    .to_owned(),
            );
        }
        for (set, choice) in chosen {
            let name = self.words.set(set.set).to_lowercase();
            let journals = found.verdict.journals.iter().filter(|journal| journal.condition.journal.set == set.set);
            let Some(worst) = journals.min_by(|a, b| a.condition.smallest_mm.total_cmp(&b.condition.smallest_mm))
            else {
                continue;
            };
            let (smallest, low) =
                (found.figure(worst.condition.smallest_mm), found.figure(worst.condition.limits.low_mm));
            let unit = found.sheet.unit;
            let measured = format!(
                "The {name} measure {smallest} {unit} at the least ({}); the maker allows no less than {low}.",
                self.words.journal(worst.condition.journal)
            );
            let chance = match choice {
                Choice::Grind { undersize_mm } => {
                    set.steps.iter().find(|step| (step.undersize_mm - undersize_mm).abs() < 1e-9).map(|step| {
                        let share = step.chance.share();
                        format!(
                            " Ground to {} it is {} that they come out clean: {}.",
                            choice_words(Some(*choice), unit),
                            likelihood(share),
                            in_hundred(share)
                        )
                    })
                }
                _ => None,
            };
            says.push(measured + &chance.unwrap_or_default());
        }
        if let Some(note) = found.verdict.notes.iter().find(|note| note.presses()) {
            says.push(format!("{} Until that is settled this report may change.", self.words.put(&note.says)));
        }
        says
    }

    fn work(&self, found: &Found<'_>, chosen: &[(&SetVerdict, Choice)]) -> Vec<String> {
        let mut says = Vec::new();
        let mut ground = false;
        let mut bill = 0.0;
        let mut priced = true;
        for (set, choice) in chosen {
            let name = self.words.set(set.set);
            let decided = self.job().decisions.iter().find(|decided| decided.set == set.set.word());
            let mut line = match choice {
                Choice::LeaveAlone => format!("{name}: nothing; they stay as they are."),
                Choice::PolishOnly => format!("{name}: a polish."),
                Choice::BuildUp => format!("{name}: metal is built up first, then ground."),
                Choice::Scrap => format!("{name}: nothing more can be done."),
                Choice::Grind { undersize_mm } => {
                    ground = true;
                    let prices = found.sheet.policy.prices.as_ref();
                    let prices = prices.map(|all| if set.set == SetName::Main { &all.main } else { &all.pin });
                    match prices.and_then(|prices| regrind::bill(set, prices, *undersize_mm)) {
                        Some(sum) => bill += sum.total(),
                        None => priced = false,
                    }
                    format!(
                        "{name}: ground to {}, with bearings to suit.",
                        choice_words(Some(*choice), found.sheet.unit)
                    )
                }
            };
            if let Some((decided, why)) = decided.and_then(|decided| Some((decided, decided.overruled.as_ref()?))) {
                line.push_str(&format!(
                    " Chosen by {}: {why}. The readings alone point to: {}.",
                    decided.who,
                    found.choice(set.choice)
                ));
            }
            says.push(line);
        }
        let treatment = &found.sheet.specification.treatment;
        if ground && treatment.after_grinding {
            says.push(format!("After grinding it is hardened again ({}) and polished.", treatment.kind));
        }
        if ground {
            says.push(match priced {
                true => format!(
                    "The likely bill is {}, bearings and the chance of a second grind counted in.",
                    found.manner.sum(bill)
                ),
                false => "The price is agreed before work begins.".to_owned(),
            });
        }
        says
    }

    fn report_set(&self, found: &Found<'_>, set: SetName) -> ReportSet {
        let of_set = found.verdict.journals.iter().filter(|journal| journal.condition.journal.set == set);
        let rows = of_set.map(|journal| {
            let c = &journal.condition;
            let name = c.journal.to_string();
            let damage: Vec<&str> = found
                .sheet
                .findings
                .damages
                .iter()
                .filter(|damage| damage.journal == c.journal)
                .map(|damage| damage.kind.as_str())
                .collect();
            let state = match (damage.is_empty(), journal.state.words()) {
                (true, "outside") => "worn".to_owned(),
                (true, words) => words.to_owned(),
                (false, _) => damage.join(", "),
            };
            debug_assert!(name.starts_with(set.word()));
            [
                self.words.journal(c.journal),
                found.figure(c.smallest_mm),
                format!("{}–{}", found.figure(c.limits.low_mm), found.figure(c.limits.high_mm)),
                state,
            ]
        });
        ReportSet { name: format!("{}, {}", self.words.set(set), found.sheet.unit.plural()), rows: rows.collect() }
    }

    fn not_checked(&self, found: &Found<'_>) -> Vec<String> {
        let mut says = Vec::new();
        if eye(self.job(), "crack test") != Eye::Passed {
            says.push("We did not test for cracks.".to_owned());
        }
        if found.sheet.findings.run_outs.is_empty() {
            says.push("We did not check that it is straight.".to_owned());
        }
        says.push("We did not measure hardness, balance or the inside of the oilways.".to_owned());
        for set in &found.verdict.sets {
            if let Some(missing) = &set.missing {
                let names: Vec<String> = missing.journals.iter().map(|id| self.words.journal(*id)).collect();
                says.push(format!("Not measured: {}.", names.join(", ")));
            }
        }
        for set in SetName::BOTH {
            if !found.verdict.sets.iter().any(|known| known.set == set) {
                says.push(format!("The {} were not measured.", self.words.set(set).to_lowercase()));
            }
        }
        says
    }

    fn method(&self, found: &Found<'_>) -> Vec<String> {
        let readings: usize = found.sheet.findings.readings.iter().map(|reading| reading.sizes.len()).sum();
        let mut names: Vec<&str> = Vec::new();
        for reading in &found.sheet.findings.readings {
            if let Some(instrument) = found.sheet.findings.instruments.get(reading.with)
                && !names.contains(&instrument.name.as_str())
            {
                names.push(&instrument.name);
            }
        }
        vec![
            format!("We took {} with {}.", count(readings, "reading"), names.join(" and ")),
            "A chance like 97 in 100 means: of 100 cranks with these readings, about 97 would come out clean. It counts how \
             far each reading can be trusted and nothing else."
                .to_owned(),
        ]
    }

    fn meanings(&self) -> Vec<String> {
        let pin = capital(self.words.one());
        vec![
            format!("Main: a round part that the crank turns on. {pin}: one that a connecting rod runs on."),
            "Undersize: how much smaller than new; the bearings are made thicker to match.".to_owned(),
        ]
    }
}

/// The outcome in one sentence.
fn outcome(chosen: &[(&SetVerdict, Choice)], cracked: bool) -> &'static str {
    let any = |wanted: fn(&Choice) -> bool| chosen.iter().any(|(_, choice)| wanted(choice));
    if cracked {
        return "Do not use this crank: it may be cracked.";
    }
    if any(|choice| matches!(choice, Choice::Scrap)) {
        return "Your crank cannot be used again.";
    }
    if any(|choice| matches!(choice, Choice::BuildUp)) {
        return "Your crank can be used again only if metal is built up on it first.";
    }
    if any(|choice| matches!(choice, Choice::Grind { .. })) {
        return "Your crank can be used again once it is ground.";
    }
    if any(|choice| matches!(choice, Choice::PolishOnly)) {
        return "Your crank can be used again after a polish.";
    }
    "Your crank can be used as it is: what we measured keeps the maker’s limits."
}
