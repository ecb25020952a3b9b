//! Deciding what to do with each set, and the sheet that goes to the grinder when all is decided.

use job::deciding::{choices, decided, held_up, measured, must_answer};
use job::heading::Change;
use job::plan_sheet::PlanSheet;
use regrind::words::{in_hundred, likelihood};
use regrind::{Choice, SetVerdict, StepVerdict, Verdict};
use sheet::Sheet;
use shop::{Decided, Job, Stage};
use units::Unit;

use crate::ladder::{Found, is_open_to_decide};
use crate::wording::{Words, capital, clock};
use job::nouns::{choice_of, choice_text, choice_words};

/// The decision on one set, as the page shows it.
#[derive(Clone, Debug)]
pub(crate) struct Standing {
    /// `Decided: 0.010, by J. W. at 14:02: bearings in stock.`
    pub(crate) says: String,
    /// What the readings alone point to now, where that is something else.
    pub(crate) alone: Option<String>,
}

/// What can be chosen for one set.
#[derive(Clone, Debug)]
pub(crate) struct Deciding {
    /// `mains`.
    pub(crate) plural: String,
    pub(crate) standing: Option<Standing>,
    /// The rule's own choice, as the log has it.
    pub(crate) rule: String,
    /// The words on the button that takes the rule's choice; nothing where it is taken already.
    pub(crate) take: Option<String>,
    /// Whether the verdict leaves it open, so that somebody decides or looks again.
    pub(crate) undecided: bool,
    /// Whether a stop stands that only a written reason answers, so that the rule's own choice takes one too.
    pub(crate) must_answer: bool,
    /// Every other choice: as the log has it, in words, whether it is marked.
    pub(crate) others: Vec<(String, String, bool)>,
    /// Why the form came back, if it did.
    pub(crate) faults: Vec<crate::trouble::Fault>,
    /// The choice that came back.
    pub(crate) came_back: String,
    /// The reason as it was chosen, and its own words.
    pub(crate) reason: String,
    pub(crate) reason_words: String,
}

impl Deciding {
    /// What can be chosen for a set that was judged; nothing while the job is signed off.
    pub(crate) fn of(found: &Found<'_>, set: &SetVerdict) -> Option<Deciding> {
        if !is_open_to_decide(found.job) {
            return None;
        }
        let unit = found.sheet.unit;
        let plural = found.manner.words.set_within(set.set);
        let rule = choice_text(set.choice, unit);
        let decided = decided(found.job, set.set);
        let standing = decided.map(|decided| Standing::of(found, set, decided));
        let taken = decided.is_some_and(|decided| decided.choice == rule);
        let undecided = set.choice == Choice::NotDecided;
        let others = offered(found, set).into_iter().filter(|(choice, _)| *choice != rule);
        let must_answer = must_answer(found.job, found.sheet, found.manner.words, set.set, set.choice);
        Some(Deciding {
            take: if undecided || taken && !must_answer { None } else { button(set, &plural, unit) },
            undecided,
            must_answer,
            others: others.map(|(choice, words)| (choice, words, false)).collect(),
            plural,
            standing,
            rule,
            faults: Vec::new(),
            came_back: String::new(),
            reason: String::new(),
            reason_words: String::new(),
        })
    }

    /// What is wrong with the reason for the rule's own choice.
    pub(crate) fn take_fault(&self) -> Option<&str> {
        if self.came_back == self.rule { self.faults.first().map(|fault| fault.says.as_str()) } else { None }
    }

    /// Whether the form of the other choices came back.
    pub(crate) fn others_are_open(&self) -> bool {
        !self.faults.is_empty() && self.came_back != self.rule
    }

    /// What is wrong with a field of the form of the other choices.
    pub(crate) fn fault(&self, field: &str) -> Option<&str> {
        self.faults
            .iter()
            .filter(|_| self.others_are_open())
            .find(|fault| fault.field == field)
            .map(|fault| fault.says.as_str())
    }
}

impl Standing {
    fn of(found: &Found<'_>, set: &SetVerdict, decided: &Decided) -> Standing {
        let unit = found.sheet.unit;
        let why = decided.overruled.as_ref().map_or(String::new(), |why| format!(": {why}"));
        let says = format!(
            "Decided: {}, by {} at {}{why}.",
            choice_words(&decided.choice, unit),
            decided.who,
            clock(&decided.when)
        );
        let now = choice_text(set.choice, unit);
        let alone = match would_now(found, set, decided) {
            Some(says) => Some(says),
            None => (decided.choice != now).then(|| alone(found, set)),
        };
        Standing { says, alone }
    }
}

/// `The readings alone point to 0.020.`
fn alone(found: &Found<'_>, set: &SetVerdict) -> String {
    let unit = found.sheet.unit;
    match set.undecided {
        Some(why) => format!("The readings alone leave it open: {}.", why.words()),
        None => format!("The readings alone point to {}.", choice_words(&choice_text(set.choice, unit), unit)),
    }
}

/// What the verdict would be now, where a set was decided as the verdict had it then and it has another now: after an
/// update of this program, other readings or other rules. What was decided stands until somebody decides again.
pub(crate) fn would_now(found: &Found<'_>, set: &SetVerdict, decided: &Decided) -> Option<String> {
    let unit = found.sheet.unit;
    let same = decided.choice == choice_text(set.choice, unit) || choice_of(&decided.choice, unit) == Some(set.choice);
    (decided.overruled.is_none() && !same)
        .then(|| format!("The verdict would now be: {}. What was decided stands.", found.decision(set)))
}

/// The choices as the form offers them: what an open verdict stands between first; beside a crack or heat no chances.
fn offered(found: &Found<'_>, set: &SetVerdict) -> Vec<(String, String)> {
    let unit = found.sheet.unit;
    let mut all = choices(set, unit);
    if found.is_stopped() {
        for (choice, words) in &mut all {
            if choice_of(choice, unit).and_then(Choice::undersize_mm).is_some() {
                *words = format!("Grind to {}", choice_words(choice, unit));
            }
        }
    } else if let Some(undersize_mm) = set.if_ground_mm.filter(|_| set.choice == Choice::NotDecided) {
        let between = [Choice::LeaveAlone, Choice::Grind { undersize_mm }].map(|choice| choice_text(choice, unit));
        let first = |choice: &String| between.iter().position(|one| one == choice).unwrap_or(between.len());
        all.sort_by_key(|(choice, _)| first(choice));
    }
    all
}

/// The words on the button that takes a choice; none where nothing is decided.
fn button(set: &SetVerdict, plural: &str, unit: Unit) -> Option<String> {
    Some(match set.choice {
        Choice::LeaveAlone => format!("Leave the {plural} alone"),
        Choice::PolishOnly if set.to_size.is_some() => format!("Polish the {plural} to size"),
        Choice::PolishOnly => format!("Polish the {plural} only"),
        Choice::BuildUp => format!("Have the {plural} built up"),
        Choice::Scrap => format!("Do not grind the {plural}"),
        Choice::NotDecided => return None,
        Choice::Grind { .. } => format!("Grind the {plural} to {}", choice_words(&choice_text(set.choice, unit), unit)),
    })
}

/// The verdict as it stood when a set was decided: chance, what decides it, rule.
pub(crate) fn verdict_words(found: &Found<'_>, set: &SetVerdict, choice: &str) -> String {
    let unit = found.sheet.unit;
    let is_it = |step: &&StepVerdict| choice_text(Choice::Grind { undersize_mm: step.undersize_mm }, unit) == choice;
    let step = set.steps.iter().find(is_it);
    let mut says = step.map_or(String::new(), |step| {
        let share = step.chance.share();
        format!("{}, {}, to clean up. ", capital(likelihood(share)), in_hundred(share))
    });
    if let Some(place) = &set.governed_by {
        says += &format!("What decides it: {}. ", place.in_full());
    }
    says += &format!("The rule asks for {}.", in_hundred(found.sheet.policy.confidence));
    if choice != choice_text(set.choice, unit) {
        says += &format!(" {}", alone(found, set));
    }
    says
}

/// Where the sheet for the grinder stands.
#[derive(Clone, Debug)]
pub(crate) struct Issue {
    /// What holds it up.
    pub(crate) held_up: Vec<String>,
    /// `Sheet K7Q, issued by J. W. at 14:02.`
    pub(crate) issued: Option<String>,
    /// Whether that sheet still says what holds.
    pub(crate) in_force: bool,
    /// Why it does not.
    pub(crate) changed: Vec<String>,
    /// The words on the button that issues one; nothing where none is to be issued.
    pub(crate) issue: Option<String>,
    /// Whether nothing is to be ground, so that the final check is next.
    pub(crate) no_grinding: bool,
}

impl Issue {
    /// Where the sheet of a job stands; `sheet` is what was measured, `verdict` what came of it.
    pub(crate) fn of(job: &Job, sheet: &Sheet, verdict: &Verdict, words: Words) -> Issue {
        let last = job.sheets.last();
        let says = |at: &shop::IssuedSheet| format!("Sheet {}, issued by {} at {}.", at.code, at.who, clock(&at.when));
        let mut issue = Issue {
            held_up: held_up(job, sheet, verdict, words).iter().map(|held| words.say(held)).collect(),
            issued: last.map(says),
            in_force: false,
            changed: Vec::new(),
            issue: None,
            no_grinding: false,
        };
        if let Some(last) = last {
            issue.changed = match PlanSheet::from_value(&last.plan) {
                Some(plan) => plan.changed(&PlanSheet::of(job, sheet)).iter().map(|change| words.say(change)).collect(),
                None => {
                    vec![words.say(&Change::Unknown)]
                }
            };
            issue.in_force = issue.changed.is_empty();
        }
        if !is_open_to_decide(job) || !issue.held_up.is_empty() {
            return issue;
        }
        let grinds = measured(job).any(|set| {
            let choice = decided(job, set).and_then(|decided| choice_of(&decided.choice, sheet.unit));
            choice.and_then(Choice::undersize_mm).is_some()
        });
        if grinds && !issue.in_force {
            issue.issue = Some(match last {
                Some(last) => format!("Issue a new sheet that replaces {}", last.code),
                None => "Issue the sheet for the grinder".to_owned(),
            });
        }
        issue.no_grinding = !grinds && job.stage < Stage::FinalCheck;
        issue
    }
}
