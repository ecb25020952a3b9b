//! The report's first sentence, and what must come before everything else on it.

use crank::SetName;
use paper::documents::ReportFirst;
use regrind::{Apart, Choice, Others, SetVerdict, Undecided};

use super::Told;
use crate::ladder::waiting;
use crate::papers::Papers;
use crate::wording::{OldWay, capital};
use job::stops::Matter;

impl Papers<'_> {
    /// The outcome in a sentence or two: the gravest thing that is known.
    pub(super) fn outcome(&self, told: &Told<'_>) -> String {
        if told.is_open(Matter::Crack) {
            return "Do not use this crank: it may be cracked.".to_owned();
        }
        if told.is_open(Matter::Bend) {
            return "Stop: your crank is bent. That is settled before anything else.".to_owned();
        }
        if told.is_open(Matter::Caution) {
            return "Stop: something is settled before any work is done on your crank.".to_owned();
        }
        if told.is_open(Matter::Doubtful) {
            return "Look again first: readings are in doubt, so nothing is settled yet.".to_owned();
        }
        let sets = &told.decided.sets;
        if told.is_given_up() {
            let apart: Vec<_> = sets.iter().filter_map(|set| Some((set.set, set.apart.as_ref()?))).collect();
            let past = sets.iter().any(|set| set.apart.is_none() && set.choice == Choice::Scrap);
            // Metal on some journals does not help where a whole set is past its last size.
            return if apart.is_empty() || past {
                "Your crank cannot be used again.".to_owned()
            } else {
                self.apart(&apart)
            };
        }
        let open = self.open_sets(told);
        if let Some(why) = sets.iter().find_map(|set| set.undecided) {
            return match why {
                Undecided::Bend => "Stop: your crank is bent. That is settled before anything else.",
                Undecided::TooLittle => "Not settled yet: too little of your crank was measured to say.",
                Undecided::Heat => "Stop: your crank was hot. It is tested for hardness and cracks before anything else.",
                Undecided::WearLimit => {
                    "Your crank is a little below its new size. Whether it may stay is in the maker’s manual, and is looked \
                     up first."
                }
                Undecided::TwoSizes => {
                    "Your crank has journals of different sizes. Why is found out first; nothing is ground before that."
                }
                Undecided::TooClose => "Measure again first: it is too close to the limit to say.",
                Undecided::Readings | Undecided::BiggerThanNew => {
                    "Measure again first: the readings cannot be right as they stand."
                }
            }
            .to_owned();
        }
        if told.is_open(Matter::Bearings) {
            return "Stop: something about the bearings is settled before your crank is ground.".to_owned();
        }
        if !open.is_empty() {
            let so_far: Vec<String> = sets.iter().map(|set| self.so_far(set)).collect();
            return format!("So far: {}. {}", so_far.join("; "), capital(&open.join(" ")));
        }
        let any = |wanted: fn(&Choice) -> bool| sets.iter().any(|set| wanted(&set.choice));
        let says = if any(|choice| matches!(choice, Choice::BuildUp)) {
            "Your crank can be used again only if metal is built up on it first."
        } else if any(|choice| matches!(choice, Choice::Grind { .. })) {
            "Your crank can be used again once it is ground."
        } else if any(|choice| matches!(choice, Choice::PolishOnly)) {
            "Your crank can be used again after a polish."
        } else {
            "Your crank can be used as it is: what we measured keeps the maker’s limits."
        };
        says.to_owned()
    }

    /// Journals cannot be ground with the others of their sets: what the customer can choose between.
    fn apart(&self, sets: &[(SetName, &Apart)]) -> String {
        let journals: Vec<String> =
            sets.iter().flat_map(|(_, apart)| &apart.journals).map(|one| self.words.journal(one.journal)).collect();
        let (is, it, goes) =
            if journals.len() == 1 { ("is", "that journal", "it is") } else { ("are", "those journals", "they are") };
        let with = if sets.iter().all(|(_, apart)| apart.others.ground().is_some()) { " with the others" } else { "" };
        let stay = sets.iter().filter(|(_, apart)| apart.others == Others::Stay);
        let stay: String =
            stay.map(|(set, _)| format!("The other {} may stay as they are. ", self.words.set_within(*set))).collect();
        format!(
            "As it is your crank cannot be used again: {} {is} worn past the last size. {stay}Either metal is put on {it}, \
             where the maker permits it, and {goes} ground{with}, or another crank takes its place. Tell us which.",
            journals.join(", ")
        )
    }

    /// What is not measured, or waits for another look: while there is any the outcome holds so far only.
    fn open_sets(&self, told: &Told<'_>) -> Vec<String> {
        let mut says = Vec::new();
        for set in SetName::BOTH {
            let name = self.words.set_within(set);
            match told.decided.sets.iter().find(|known| known.set == set) {
                None => says.push(format!("The {name} are not measured yet.")),
                Some(known) if known.missing.is_some() => says.push(format!("Not all {name} are measured yet.")),
                Some(_) => {}
            }
        }
        if waiting(self.job()).is_some() {
            says.push("A reading waits for another look.".to_owned());
        }
        says
    }

    /// One set of a crank that is not measured in full.
    fn so_far(&self, set: &SetVerdict) -> String {
        let name = self.words.set_within(set.set);
        match set.choice {
            Choice::LeaveAlone => format!("the {name} can be used as they are"),
            Choice::PolishOnly => format!("the {name} need a polish"),
            Choice::Grind { .. } => format!("the {name} can be used again once they are ground"),
            Choice::BuildUp => format!("the {name} need metal built up on them"),
            Choice::Scrap => format!("the {name} cannot be used again"),
            Choice::NotDecided => format!("the {name} are not decided"),
        }
    }

    /// What is to be settled first, in a box; nothing where nothing is.
    pub(super) fn first(&self, told: &Told<'_>) -> Option<ReportFirst> {
        let mut says: Vec<String> = Vec::new();
        for stop in &told.stops.all {
            let whole = stop.in_full(self.words);
            if !says.contains(&whole) {
                says.push(whole);
            }
        }
        if told.is_open(Matter::Crack) {
            says.push("A cracked crank can break in use and hurt people.".to_owned());
        }
        for set in &told.decided.sets {
            if told.is_doubtful(set.set) {
                says.extend(
                    set.next
                        .as_ref()
                        .map(|next| self.words.put(&format!("{}: {}", self.words.set(set.set), next.could_change))),
                );
            }
            if set.undecided.is_some_and(|why| why != Undecided::Heat) && !told.is_lost() {
                says.push(format!("{}: {}", self.words.set(set.set), self.words.put(&set.reason)));
            }
        }
        says.extend(waiting(self.job()));
        if says.is_empty() {
            return None;
        }
        let stop = told.open().any(|stop| stop.matter != Matter::Doubtful);
        Some(ReportFirst { stop, says })
    }
}
