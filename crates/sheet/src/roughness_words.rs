//! What is said of the roughness of journals: on the command line, on the pages and on paper.
//!
//! All its sentences stand here and nowhere else.

use crank::{JournalId, JournalRoughness, Lay, Roughness, SetName, Taken, USUAL_ERROR, roughness_limit_um, show_ra};
use gauge::conformity::{Outcome, Rule};
use regrind::words::capital;
use regrind::{Choice, station_name};
use units::{Unit, show_mm};

use crate::Sheet;

/// The words for a sheet.
#[derive(Clone, Copy, Debug)]
pub struct RoughnessWords<'a> {
    sheet: &'a Sheet,
}

impl<'a> RoughnessWords<'a> {
    /// The words for this sheet.
    pub fn of(sheet: &'a Sheet) -> RoughnessWords<'a> {
        RoughnessWords { sheet }
    }

    /// Every journal, before the work or after it, by the rule of the shop.
    pub fn journals(self, taken: Taken) -> Vec<JournalRoughness<'a>> {
        let Sheet { specification, printed, findings, policy, .. } = self.sheet;
        let rule = Rule::Chance { within_at: policy.within_at, outside_at: policy.outside_at };
        crank::roughness(specification, printed, findings, &rule, taken)
    }

    /// Whether anybody measured roughness then.
    pub fn is_measured(self, taken: Taken) -> bool {
        self.sheet.findings.roughness.iter().any(|row| row.taken == taken)
    }

    /// A roughness in both units.
    pub fn figure(self, um: f64) -> String {
        show_ra(um, self.sheet.unit)
    }

    /// `roughness at most Ra 10 µin (0.254 µm)`, where the book tells it.
    pub fn limit(self, set: SetName) -> Option<String> {
        let limit_um = roughness_limit_um(&self.sheet.printed, set)?;
        Some(format!("roughness at most Ra {}", self.figure(limit_um)))
    }

    /// The state in a few words.
    pub const fn state(outcome: Option<Outcome>) -> &'static str {
        match outcome {
            None => "no limit told",
            Some(Outcome::Within) => "within",
            Some(Outcome::Outside) => "above",
            Some(Outcome::TooCloseToCall) => "too close to call",
        }
    }

    /// One place as it was measured: `middle, Ra 12 µin (0.305 µm), lay around, with the surface gauge`.
    pub fn place(self, row: &Roughness) -> String {
        let unit = self.sheet.unit;
        let length_mm = self.sheet.specification.set(row.journal.set).length_mm;
        let mut says = format!("{}, Ra {}", station_name(row.at_mm, length_mm, unit), self.figure(row.ra_um));
        match row.lay {
            Some(Lay::Along) => says.push_str(", marks along the journal"),
            Some(lay) => says.push_str(&format!(", lay {lay}")),
            None => {}
        }
        if let Some(with) = &row.with {
            says.push_str(&format!(", with {with}"));
        }
        if let Some(cutoff_mm) = row.cutoff_mm {
            // Cut-offs are known by their millimetres everywhere.
            says.push_str(&format!(", cut-off {} mm", show_mm(cutoff_mm, Unit::Millimetre, 2)));
        }
        says
    }

    /// All places of one journal without its name, each with where it stands: `not measured` where there are none.
    pub fn places(self, journal: &JournalRoughness<'_>) -> String {
        if !journal.is_measured() {
            return "not measured".to_owned();
        }
        let one = |(row, outcome): &(&Roughness, Option<Outcome>)| {
            format!("{}: {}", self.place(row), RoughnessWords::state(*outcome))
        };
        journal.places.iter().map(one).collect::<Vec<_>>().join("; ")
    }

    /// What the doubt of these figures is; empty where there are none.
    pub fn doubt(self, taken: Taken) -> String {
        let rows = || self.sheet.findings.roughness.iter().filter(|row| row.taken == taken);
        let told = rows().filter(|row| row.error_limit_um.is_some()).count();
        let usual = format!("{:.0} in 100 of it", 100.0 * USUAL_ERROR);
        match (told, rows().count() - told) {
            (0, 0) => String::new(),
            (_, 0) => "A roughness is judged with the most that its instrument may be wrong by, as told.".to_owned(),
            (0, _) => format!(
                "Nobody said what the instrument may be wrong by: {usual} is assumed. A surface differs from place to place."
            ),
            _ => format!(
                "A roughness is judged with the most that its instrument may be wrong by; where nobody said, {usual} is \
                 assumed."
            ),
        }
    }

    /// What a roughness as found means, for each journal where it means something: the journal, and a sentence or two. `choice`
    /// is what the set of a journal is to be worked to.
    pub fn meaning(self, choice: impl Fn(SetName) -> Option<Choice>) -> Vec<(JournalId, String)> {
        let journals = self.journals(Taken::Before);
        journals.iter().filter_map(|one| Some((one.journal, self.means(one, choice(one.journal.set))?))).collect()
    }

    fn means(self, journal: &JournalRoughness<'_>, choice: Option<Choice>) -> Option<String> {
        let along = journal.places.iter().any(|(row, _)| row.lay == Some(Lay::Along));
        let limit = journal.limit_um.map(|um| self.figure(um)).unwrap_or_default();
        let largest = journal.places.iter().map(|(row, _)| row.ra_um).fold(0.0, f64::max);
        let (name, found) = (capital(&journal.journal.to_string()), self.figure(largest));
        let mut says = match journal.outcome() {
            Some(Outcome::Outside) => format!("{name} is rougher than the book allows: Ra {found}, at most {limit}."),
            Some(Outcome::TooCloseToCall) => {
                format!("{name} is too close to the book's roughness to call: Ra {found}, at most {limit}.")
            }
            _ if along => format!("{name}: Ra {found}."),
            _ => return None,
        };
        if along {
            // Common practice, no source.
            says.push_str(" Its marks lie along the journal, across the way the oil is drawn: they part the film and wear the shells.");
        }
        says.push(' ');
        says.push_str(&self.what_to_do(choice));
        Some(says)
    }

    fn what_to_do(self, choice: Option<Choice>) -> String {
        let unit = self.sheet.unit;
        let stock = show_mm(self.sheet.policy.polish_stock_mm, unit, unit.usual_decimals());
        match choice {
            Some(Choice::Grind { .. }) => {
                "The wheel takes this surface off; what counts is how rough the journal is when it is polished."
                    .to_owned()
            }
            Some(Choice::BuildUp | Choice::Scrap) => "It changes nothing about that.".to_owned(),
            Some(Choice::LeaveAlone | Choice::PolishOnly | Choice::NotDecided) | None => format!(
                "Polish it: {stock} {unit} on the diameter is what the plan has for that. It changes no undersize by itself; \
                 what polish does not take out is scoring, to be entered as damage with its depth."
            ),
        }
    }

    /// What the finished crank is proved by, set by set with the word for each: what was measured against the limit, and what
    /// was not. A journal's name is what `named` makes of it.
    pub fn proof(self, sets: &[(SetName, String)], named: impl Fn(JournalId) -> String) -> (Vec<String>, Vec<String>) {
        let all = self.journals(Taken::After);
        let (mut measured, mut missing) = (Vec::new(), Vec::new());
        for (set, whose) in sets {
            let (own, not): (Vec<_>, Vec<_>) =
                all.iter().filter(|one| one.journal.set == *set).partition(|one| one.is_measured());
            let limit_um = roughness_limit_um(&self.sheet.printed, *set);
            let limit = match limit_um {
                Some(um) => format!("at most Ra {} by the book", self.figure(um)),
                None => "no limit in the book".to_owned(),
            };
            if !own.is_empty() {
                let places = own.iter().map(|one| format!("{}, {}", named(one.journal), self.places(one)));
                measured.push(format!("{}, {limit}. {}.", capital(whose), places.collect::<Vec<_>>().join(". ")));
            }
            // Where the book tells no limit nobody need measure it.
            if limit_um.is_some() && !not.is_empty() {
                let which = match own.is_empty() {
                    true => format!("the {whose}"),
                    false => not.iter().map(|one| named(one.journal)).collect::<Vec<_>>().join(", "),
                };
                missing.push(format!("Roughness of {which}: not measured ({limit})."));
            }
        }
        if !measured.is_empty() {
            measured.push(self.doubt(Taken::After));
        }
        (measured, missing)
    }

    /// A finished journal whose roughness nobody can call: what a signature says.
    pub fn too_close_when_finished(self, journal: &JournalRoughness<'_>, name: &str) -> Option<String> {
        let limit = self.figure(journal.limit_um?);
        (journal.outcome() == Some(Outcome::TooCloseToCall)).then(|| {
            let here = journal.places.iter().filter(|(_, outcome)| *outcome == Some(Outcome::TooCloseToCall));
            let places = here.map(|(row, _)| self.place(row)).collect::<Vec<_>>().join("; ");
            format!("The roughness of {name} is too close to call: {places}; at most Ra {limit}.")
        })
    }
}
