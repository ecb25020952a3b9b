//! What must be settled before a crank is ground, and before it is used: one list for every paper and page.
//!
//! It rests on what was found and decided alone, not on chances, so that the sheet for the grinder need not wait for a
//! verdict.

use crank::{JournalId, SetName};
use fit::Fit;
use regrind::{CautionKind, Choice};
use sheet::Sheet;
use shop::Job;

use crate::deciding::{decided, measured};
use crate::heading::{Doubted, Heading};
use crate::judged::counts;
use crate::nouns::{choice_of, journal_of};
use crate::wording::OldWay;
use regrind::words::capital;
use say::{Message, Words};

/// What a stop is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Matter {
    /// A crack: nobody can answer it here.
    Crack,
    /// A run-out beyond its limit, with the caution about straightening.
    Bend,
    /// A journal that was hot, or a throw that is out of place.
    Caution,
    /// Readings that do not fit the others.
    Doubtful,
    /// What the bearings say.
    Bearings,
}

/// One thing to settle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stop {
    /// What it is about.
    pub matter: Matter,
    /// The set whose work it holds; none where it holds the whole crank.
    pub set: Option<SetName>,
    /// The journal that it is about, where it is about one.
    pub journal: Option<JournalId>,
    /// What was found and what to do, in the shop's words: whole sentences.
    pub says: String,
    /// Who decided in spite of it, and the reason that they wrote down: `J. W.: straightened and crack-tested`.
    pub answered: Option<String>,
}

impl Stop {
    /// Whether nothing may go to the grinder while it stands.
    pub fn holds(&self) -> bool {
        self.answered.is_none() && self.matter != Matter::Bearings
    }

    /// The stop with what was answered to it, in one paragraph.
    pub fn in_full(&self, words: Words) -> String {
        match &self.answered {
            Some(answer) => words.say(&Message::new("stop-answered").typed("says", &self.says).typed("answer", answer)),
            None => self.says.clone(),
        }
    }
}

/// Everything that must be settled, the gravest first.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stops {
    /// All of them.
    pub all: Vec<Stop>,
}

impl Stops {
    /// What stops a job as it stands; `fit` is what its bearings say, where that was worked out.
    pub fn of(job: &Job, sheet: &Sheet, fit: Option<&Fit>, words: Words) -> Stops {
        let mut all = Vec::new();
        for caution in regrind::cautions(&sheet.specification, &sheet.findings, &sheet.policy, sheet.unit) {
            let (matter, key) = match caution.kind {
                CautionKind::Crack => (Matter::Crack, "damage"),
                CautionKind::Bend => (Matter::Bend, "run_out"),
                CautionKind::Heat => (Matter::Caution, "damage"),
                CautionKind::Throw => (Matter::Caution, "centre"),
            };
            let answered = (matter != Matter::Crack).then(|| answer(job, sheet, None, &[key])).flatten();
            let says = capital(&words.put(&caution.says));
            all.push(Stop { matter, set: None, journal: Some(caution.journal), says, answered });
        }
        for doubt in crank::suspicions(&sheet.specification, &sheet.findings, sheet.unit) {
            if !doubt.accuses() {
                continue;
            }
            let whose = match doubt.journal {
                Some(journal) => words.journal(journal),
                None => words.set(doubt.set),
            };
            all.push(Stop {
                matter: Matter::Doubtful,
                set: Some(doubt.set),
                journal: doubt.journal,
                says: format!("{whose}: {}", words.put(&doubt.says)),
                answered: answer(job, sheet, Some(doubt.set), &["reading", "trace"]),
            });
        }
        for says in fit.map(|fit| of_bearings(fit, words)).unwrap_or_default() {
            let answered = answer(job, sheet, None, &["housing", "shell", "bearing", "thrust"]);
            all.push(Stop { matter: Matter::Bearings, set: None, journal: None, says, answered });
        }
        Stops { all }
    }

    /// Those about one matter.
    pub fn about(&self, matter: Matter) -> impl Iterator<Item = &Stop> {
        self.all.iter().filter(move |stop| stop.matter == matter)
    }

    /// Those that hold the work on a set up.
    pub fn holding(&self, set: SetName) -> impl Iterator<Item = &Stop> {
        self.all.iter().filter(move |stop| stop.holds() && stop.set.is_none_or(|own| own == set))
    }

    /// The journals that are cracked, each once.
    pub fn cracked(&self) -> Vec<JournalId> {
        let mut journals: Vec<JournalId> = Vec::new();
        for journal in self.about(Matter::Crack).filter_map(|stop| stop.journal) {
            if !journals.contains(&journal) {
                journals.push(journal);
            }
        }
        journals
    }

    /// What stands first on a paper about this crank, where something does: the gravest thing that nobody answered.
    pub fn heading(&self) -> Option<Heading> {
        let cracked = self.cracked();
        if !cracked.is_empty() {
            return Some(Heading::Crack(cracked));
        }
        let open = |matter: Matter| self.about(matter).find(|stop| stop.answered.is_none());
        if open(Matter::Bend).or(open(Matter::Caution)).is_some() {
            return Some(Heading::Settle);
        }
        if open(Matter::Doubtful).is_some() {
            return Some(Heading::LookAgain(self.doubted()));
        }
        open(Matter::Bearings).map(|_| Heading::SettleBearings)
    }

    /// The journals, or whole sets, whose readings are in doubt and not answered for.
    fn doubted(&self) -> Vec<Doubted> {
        let mut all: Vec<Doubted> = Vec::new();
        for stop in self.about(Matter::Doubtful).filter(|stop| stop.answered.is_none()) {
            let one = match (stop.journal, stop.set) {
                (Some(journal), _) => Doubted::Journal(journal),
                (None, Some(set)) => Doubted::All(set),
                (None, None) => continue,
            };
            if !all.contains(&one) {
                all.push(one);
            }
        }
        all
    }
}

/// The journal of every crack that is reported: nothing goes on while one stands.
pub fn cracks(job: &Job, sheet: &Sheet, words: Words) -> Vec<JournalId> {
    let stops = Stops::of(job, sheet, None, words);
    stops.about(Matter::Crack).filter_map(|stop| stop.journal).collect()
}

/// What the bearings say: the first of each kind in full, for the others say the same of other journals and shells.
fn of_bearings(fit: &Fit, words: Words) -> Vec<String> {
    let mut said: Vec<(fit::StopKind, Option<SetName>)> = Vec::new();
    let mut out = Vec::new();
    for stop in &fit.stops {
        let kind = (stop.kind, stop.set);
        if said.contains(&kind) {
            continue;
        }
        said.push(kind);
        let others: Vec<&fit::Stop> =
            fit.stops.iter().filter(|other| (other.kind, other.set) == kind).skip(1).collect();
        let names: Vec<String> =
            others.iter().filter_map(|other| other.journal).map(|id| words.journal_within(id)).collect();
        let more = match (others.len(), names.len()) {
            (0, _) => String::new(),
            (all, named) if all == named => format!(" So with {}.", names.join(", ")),
            (all, _) => format!(" So with {all} more."),
        };
        out.push(words.put(&format!("{}{more}", stop.says)));
    }
    out
}

/// Who decided in spite of what stands in rows of these keys, and why. Only a reason that was written after the latest of
/// them answers it, and every set that it holds must be decided so.
fn answer(job: &Job, sheet: &Sheet, set: Option<SetName>, keys: &[&str]) -> Option<String> {
    let of_set =
        |row: &shop::SheetRow| set.is_none_or(|set| journal_of(&row.row).is_some_and(|journal| journal.set == set));
    let latest = job.rows.iter().filter(|row| counts(row) && keys.contains(&row.key) && of_set(row)).map(|row| row.seq);
    let latest = latest.max()?;
    let mut answers: Vec<String> = Vec::new();
    for own in measured(job).filter(|own| set.is_none_or(|set| set == *own)) {
        let decision = decided(job, own)?;
        let idle = matches!(choice_of(&decision.choice, sheet.unit), Some(Choice::Scrap | Choice::BuildUp));
        match &decision.overruled {
            Some(why) if decision.seq > latest => {
                let says = format!("{}: {}", decision.who, why.trim_end_matches('.'));
                if !answers.contains(&says) {
                    answers.push(says);
                }
            }
            // A set that is not worked on needs no answer.
            _ if idle => {}
            _ => return None,
        }
    }
    (!answers.is_empty()).then(|| answers.join("; "))
}
