//! Deciding what to do with each set, and the sheet that goes to the grinder when all is decided.

use crank::SetName;
use regrind::words::{in_hundred, likelihood};
use regrind::{Choice, SetVerdict, StepVerdict, Verdict};
use sha2::{Digest, Sha256};
use sheet::Sheet;
use shop::{Decided, EntryId, Job, Stage};
use units::Unit;

use crate::judged::counts;
use crate::ladder::{Found, is_open_to_decide, plural};
use crate::papers::stops::{Matter, Stops};
use crate::plan_sheet::{PlanSheet, choice_of, choice_text, choice_words};
use crate::wording::{PinWord, capital, clock};

/// Why somebody may choose other than the rule: the word of the form, and what stands in the record.
pub(crate) const REASONS: [(&str, &str); 3] =
    [("customer", "the customer wants it"), ("bearings", "bearings in stock"), ("grinder", "the grinder’s advice")];

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
        let plural = plural(found.manner.words, set.set);
        let rule = choice_text(set.choice, unit);
        let decided = decided(found.job, set.set);
        let standing = decided.map(|decided| Standing::of(found, set, decided));
        let taken = decided.is_some_and(|decided| decided.choice == rule);
        let undecided = set.choice == Choice::NotDecided;
        let others = offered(found, set).into_iter().filter(|(choice, _)| *choice != rule);
        let must_answer = must_answer(found, set.set, set.choice);
        Some(Deciding {
            take: if undecided || taken && !must_answer { None } else { button(set.choice, &plural, unit) },
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

/// Whether to choose this for a set takes a reason in somebody's own words, because something stands against it.
pub(crate) fn must_answer(found: &Found<'_>, set: SetName, choice: Choice) -> bool {
    let works = !matches!(choice, Choice::Scrap | Choice::BuildUp);
    let stops = Stops::of(found.job, found.sheet, None, found.manner.words);
    works && stops.holding(set).any(|stop| stop.matter != Matter::Crack)
}

/// The decision on a set, if it was taken.
pub(crate) fn decided(job: &Job, set: SetName) -> Option<&Decided> {
    job.decisions.iter().find(|decided| decided.set == set.word())
}

/// Everything that can be decided for a set: as the log has it, and in words.
pub(crate) fn choices(set: &SetVerdict, unit: Unit) -> Vec<(String, String)> {
    let whole = |choice: Choice, words: &str| (choice_text(choice, unit), words.to_owned());
    let steps = set.steps.iter().filter(|step| step.permitted && step.undersize_mm >= set.ground_to.undersize_mm);
    let mut all = vec![whole(Choice::LeaveAlone, "Leave alone"), whole(Choice::PolishOnly, "Polish only")];
    all.extend(steps.map(|step| {
        let choice = choice_text(Choice::Grind { undersize_mm: step.undersize_mm }, unit);
        let words = format!("Grind to {}, {}", choice_words(&choice, unit), in_hundred(step.chance.share()));
        (choice, words)
    }));
    all.push(whole(Choice::BuildUp, "Build up first"));
    all.push(whole(Choice::Scrap, "Do not grind; the crank is done"));
    all
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
fn button(choice: Choice, plural: &str, unit: Unit) -> Option<String> {
    Some(match choice {
        Choice::LeaveAlone => format!("Leave the {plural} alone"),
        Choice::PolishOnly => format!("Polish the {plural} only"),
        Choice::BuildUp => format!("Have the {plural} built up"),
        Choice::Scrap => format!("Do not grind the {plural}"),
        Choice::NotDecided => return None,
        Choice::Grind { .. } => format!("Grind the {plural} to {}", choice_words(&choice_text(choice, unit), unit)),
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
    pub(crate) fn of(job: &Job, sheet: &Sheet, verdict: &Verdict, words: PinWord) -> Issue {
        let last = job.sheets.last();
        let says = |at: &shop::IssuedSheet| format!("Sheet {}, issued by {} at {}.", at.code, at.who, clock(&at.when));
        let mut issue = Issue {
            held_up: held_up(job, sheet, verdict, words),
            issued: last.map(says),
            in_force: false,
            changed: Vec::new(),
            issue: None,
            no_grinding: false,
        };
        if let Some(last) = last {
            issue.changed = match PlanSheet::from_value(&last.plan) {
                Some(plan) => plan.changed(&PlanSheet::of(job, sheet)).iter().map(|says| words.put(says)).collect(),
                None => {
                    vec!["It was written by another program and cannot be compared with what holds now.".to_owned()]
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

/// The sets that were measured, mains first.
pub(crate) fn measured(job: &Job) -> impl Iterator<Item = SetName> + '_ {
    SetName::BOTH.into_iter().filter(|set| {
        let prefix = format!("{set} ");
        job.rows.iter().any(|row| {
            let whose = row.row.words("journal").is_some_and(|name| name.starts_with(&prefix));
            whose && counts(row) && matches!(row.key, "reading" | "trace")
        })
    })
}

/// What must be done before a sheet can be issued, or the job go on without one.
pub(crate) fn held_up(job: &Job, sheet: &Sheet, verdict: &Verdict, words: PinWord) -> Vec<String> {
    let mut says = Vec::new();
    for stop in Stops::of(job, sheet, None, words).all.iter().filter(|stop| stop.holds()) {
        says.push(match (stop.matter, stop.journal) {
            (Matter::Crack, Some(journal)) => format!(
                "A crack is reported on {}. Nothing goes to the grinder, and nothing goes on, while that stands. Have it \
                 judged by somebody qualified to, against the maker’s manual.",
                words.journal(journal)
            ),
            (Matter::Doubtful, _) => format!(
                "{} Look again at it and put it right. If it stands, decide with a reason in your own words; it goes on \
                 the sheet.",
                stop.says
            ),
            _ => format!(
                "{} Nothing goes to the grinder while that stands. If it was dealt with, or the crank is to be ground all \
                 the same, decide each set with a reason in your own words; it goes on the sheet.",
                stop.says
            ),
        });
    }
    for set in measured(job) {
        let decided = decided(job, set);
        // What the verdict leaves open takes a reason, however long ago the set was decided.
        let open = verdict.sets.iter().find(|known| known.set == set).and_then(|known| known.undecided);
        if let Some((why, _)) = open.zip(decided.filter(|decided| decided.overruled.is_none())) {
            says.push(format!(
                "The {} were decided, but the verdict now leaves them open: {}. Decide them again, with a reason.",
                plural(words, set),
                why.words()
            ));
            continue;
        }
        match decided.map(|decided| choice_of(&decided.choice, sheet.unit)) {
            None | Some(None | Some(Choice::NotDecided)) => {
                says.push(format!("The {} are not decided.", plural(words, set)))
            }
            Some(Some(Choice::BuildUp)) => says.push(format!(
                "The {} are to be built up first. Only where the maker permits it; then measure them again and decide.",
                plural(words, set)
            )),
            Some(Some(Choice::Scrap)) => {
                says.push(format!("The {} are not to be ground, so there is no sheet.", plural(words, set)));
            }
            Some(_) => {}
        }
    }
    if measured(job).next().is_none() {
        says.push("Nothing is measured yet.".to_owned());
    }
    says
}

/// A code for a sheet: letter, figure, letter, without those that look like others, and not used in this job before. The
/// same name of an entry gives the same code.
pub(crate) fn code(id: EntryId, job: &Job) -> Option<String> {
    const LETTERS: &[u8] = b"ABCDEFGHJKMNPQRTUVWXY";
    const FIGURES: &[u8] = b"346789";
    let pick = |from: &'static [u8], by: u8| from.get(usize::from(by) % from.len()).map(|byte| char::from(*byte));
    (0..1000_u32).find_map(|attempt| {
        let hash = Sha256::digest(format!("{id} {attempt}"));
        let [first, second, third, ..] = hash[..] else { return None };
        let code: String = [pick(LETTERS, first)?, pick(FIGURES, second)?, pick(LETTERS, third)?].into_iter().collect();
        job.sheets.iter().all(|sheet| sheet.code != code).then_some(code)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use shop::{IssuedSheet, Value, fold};

    /// With 2646 codes to choose from, 400 of them in one job must not meet.
    #[test]
    fn a_code_is_not_given_twice_in_one_job_and_has_no_look_alikes() {
        let mut job = fold(&[]);
        for n in 0..400_u128 {
            let code = code(EntryId::from_bits(n), &job).unwrap();
            assert_eq!(code.len(), 3);
            assert!(!code.chars().any(|c| "0O1IL2Z5S".contains(c)), "{code}");
            assert!(job.sheets.iter().all(|sheet| sheet.code != code), "{code}");
            job.sheets.push(IssuedSheet {
                code,
                supersedes: None,
                plan: Value::Table(Vec::new()),
                who: String::new(),
                when: String::new(),
            });
        }
        assert_eq!(code(EntryId::from_bits(7), &fold(&[])), code(EntryId::from_bits(7), &fold(&[])));
    }
}
