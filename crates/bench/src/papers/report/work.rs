//! What is done to the crank, and what it comes to.

use crank::SetName;
use fit::Quote;
use regrind::{Choice, PolishWhen, SetVerdict};

use super::Told;
use crate::pages::grind::choice_words;
use crate::papers::{Papers, is_priced};
use crate::wording::OldWay as _;
use job::stops::Matter;

/// What a shop says before metal is put on a crank.
const BUILDING_UP: &str = "Building up changes the strength of a crank. It is done only where the maker permits it, by \
                           somebody who does such work for a living, and the crank is tested for cracks afterwards.";

/// The heading of it.
pub(super) fn head(told: &Told<'_>) -> &'static str {
    if told.open().next().is_some() {
        "What would be done once that is settled"
    } else if told.decided.sets.iter().any(|set| set.undecided.is_some()) {
        "What would be done if the readings stand"
    } else {
        "What will be done"
    }
}

impl Papers<'_> {
    /// The work in sentences; none where the crank is lost.
    pub(super) fn work(&self, told: &Told<'_>, quote: &Quote) -> Vec<String> {
        let mut says: Vec<String> = told.decided.sets.iter().filter_map(|set| self.of_set(told, set)).collect();
        if told.is_lost() {
            return says;
        }
        let choices = || told.decided.sets.iter().filter(|set| !told.is_doubtful(set.set)).map(|set| set.choice);
        if told.decided.sets.iter().any(|set| set.choice == Choice::BuildUp) {
            says.push(BUILDING_UP.to_owned());
        }
        if choices().any(|choice| matches!(choice, Choice::Grind { .. })) {
            says.extend(self.after_grinding(told));
        }
        says.extend(self.price(told, quote));
        says
    }

    /// What is done to one set, and who chose it where somebody chose against the rule.
    fn of_set(&self, told: &Told<'_>, set: &SetVerdict) -> Option<String> {
        let name = self.words.set(set.set);
        let found = &told.found;
        let work = match set.choice {
            _ if told.is_lost() => None,
            _ if told.is_doubtful(set.set) => Some(format!("{name}: nothing, until they are measured again.")),
            Choice::LeaveAlone => Some(format!("{name}: nothing; they stay as they are.")),
            Choice::PolishOnly => Some(match set.to_size {
                Some(PolishWhen::AfterTreatment) => format!("{name}: polished to size, last of all."),
                Some(PolishWhen::BeforeTreatment) => format!("{name}: polished to size, before it is hardened again."),
                None => format!("{name}: a polish."),
            }),
            Choice::BuildUp => Some(format!("{name}: metal is built up first, then they are ground.")),
            Choice::Scrap => None,
            Choice::NotDecided => Some(match set.if_ground_mm {
                Some(undersize_mm) => format!(
                    "{name}: nothing yet; if they have to be ground, to {}.",
                    choice_words(Some(Choice::Grind { undersize_mm }), found.sheet.unit)
                ),
                None => format!("{name}: nothing yet."),
            }),
            Choice::Grind { .. } => Some(format!(
                "{name}: ground to {}, with bearings to suit.",
                choice_words(Some(set.choice), found.sheet.unit)
            )),
        };
        let decided = self.job().decisions.iter().find(|decided| decided.set == set.set.word());
        let overruled = decided.and_then(|decided| Some((decided, decided.overruled.as_ref()?)));
        let chosen = overruled.map(|(decided, why)| {
            let rule = found.verdict.sets.iter().find(|known| known.set == set.set).map(|known| known.choice);
            let alone =
                rule.map_or(String::new(), |rule| format!(" The readings alone point to: {}.", found.choice(rule)));
            format!("Chosen by {}: {}.{alone}", decided.who, why.trim_end_matches('.'))
        });
        match (work, chosen) {
            (Some(work), Some(chosen)) => Some(format!("{work} {chosen}")),
            (None, Some(chosen)) => Some(format!("{name}: nothing. {chosen}")),
            (work, None) => work,
        }
    }

    /// Polish and treatment, in the order in which the plan has them.
    fn after_grinding(&self, told: &Told<'_>) -> Option<String> {
        let treatment = &told.found.sheet.specification.treatment;
        let policy = &told.found.sheet.policy;
        let hardened = treatment.after_grinding.then(|| format!("hardened again ({})", treatment.kind));
        let polished = (policy.polish_stock_mm > 0.0).then(|| "polished".to_owned());
        let steps: Vec<String> = match policy.polish {
            PolishWhen::BeforeTreatment => polished.into_iter().chain(hardened).collect(),
            PolishWhen::AfterTreatment => hardened.into_iter().chain(polished).collect(),
        };
        let asked = match treatment.kind.as_str() {
            kind if !treatment.after_grinding && kind != "none" => {
                format!(" Whether it needs {kind} again is asked of whoever does it.")
            }
            _ => String::new(),
        };
        let done = match steps.is_empty() {
            true => String::new(),
            false => format!("After grinding it is {}.", steps.join(", then ")),
        };
        let says = format!("{done}{asked}").trim_start().to_owned();
        (!says.is_empty()).then_some(says)
    }

    /// What it comes to, as the quotation has it.
    fn price(&self, told: &Told<'_>, quote: &Quote) -> Option<String> {
        let unsettled =
            [Matter::Bend, Matter::Caution, Matter::Doubtful].into_iter().any(|matter| told.is_open(matter));
        if unsettled {
            return Some("The price is agreed once that is settled.".to_owned());
        }
        let works = told.decided.sets.iter().any(|set| !matches!(set.choice, Choice::LeaveAlone | Choice::NotDecided));
        if !is_priced(self.job()) {
            return works.then(|| "The price is agreed before work begins.".to_owned());
        }
        if quote.lines.is_empty() && quote.not_priced.is_empty() {
            return None;
        }
        let money = |amount: f64| told.found.manner.price(amount, quote);
        let so_far = match SetName::BOTH.iter().all(|set| told.decided.sets.iter().any(|known| known.set == *set)) {
            true => "The likely bill is",
            false => "So far the likely bill is",
        };
        let mut says = format!("{so_far} {}", money(quote.likely()));
        if !quote.again.is_empty() {
            let more = money(quote.likely() - quote.total());
            says += &format!(": {} if nothing comes on top, and {more} on average for what may", money(quote.total()));
        }
        says.push('.');
        if !quote.not_priced.is_empty() {
            says += &format!(" Not in this price: {}.", self.words.put(&quote.not_priced.join("; ")));
        }
        Some(says)
    }
}
