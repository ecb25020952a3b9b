//! The nouns of the log, read from the words it keeps them in: one reader for each.
//!
//! An entry keeps words, byte for byte as they were written. What they mean is read here and nowhere else, but for what a
//! sheet says too: journals and sets (`journal`), kinds of damage (`crank`).

use crank::{JournalId, SetName};
use regrind::Choice;
use shop::{EyeChecked, Job, Value};
use units::Unit;

/// The journal that a row names.
pub fn journal_of(row: &Value) -> Option<JournalId> {
    journal_named(row.words("journal")?)
}

/// `pin 2` of the log, or `pin-2` of an address.
pub fn journal_named(name: &str) -> Option<JournalId> {
    name.parse().ok()
}

/// The set that a word of the log names.
pub fn set_named(word: &str) -> Option<SetName> {
    word.parse().ok()
}

/// The decision that a word of the log stands for.
pub fn choice_of(text: &str, unit: Unit) -> Option<Choice> {
    match text {
        "leave" => Some(Choice::LeaveAlone),
        "polish" => Some(Choice::PolishOnly),
        "build up" => Some(Choice::BuildUp),
        "scrap" => Some(Choice::Scrap),
        "not decided" => Some(Choice::NotDecided),
        typed => units::read(typed, unit).ok().map(|entry| Choice::Grind { undersize_mm: entry.mm }),
    }
}

/// The decision that a word of the log stands for, its undersize as the ladder itself has it: the log's is rounded as it was
/// shown, which in the other unit than the book's is a little off, and whatever looks a step up must find it.
pub fn choice_on(text: &str, unit: Unit, ladder_mm: &[f64]) -> Option<Choice> {
    /// Steps lie a hundredth of a millimetre apart at the least; what is shown of one is off by a tenth of this.
    const ROUNDED_MM: f64 = 1e-3;
    let choice = choice_of(text, unit)?;
    let Choice::Grind { undersize_mm } = choice else { return Some(choice) };
    let nearest =
        ladder_mm.iter().copied().min_by(|a, b| (a - undersize_mm).abs().total_cmp(&(b - undersize_mm).abs()));
    let step = nearest.filter(|mm| (mm - undersize_mm).abs() < ROUNDED_MM);
    Some(step.map_or(choice, |undersize_mm| Choice::Grind { undersize_mm }))
}

/// A decision as the log has it.
pub fn choice_text(choice: Choice, unit: Unit) -> String {
    match choice {
        Choice::LeaveAlone => "leave".to_owned(),
        Choice::PolishOnly => "polish".to_owned(),
        Choice::BuildUp => "build up".to_owned(),
        Choice::Scrap => "scrap".to_owned(),
        Choice::NotDecided => "not decided".to_owned(),
        Choice::Grind { undersize_mm } => regrind::words::undersize_figure(undersize_mm, unit),
    }
}

/// A decision of the log in words that can follow "to": `0.020`, `standard`, `leaving alone`.
pub fn choice_words(text: &str, unit: Unit) -> String {
    match choice_of(text, unit) {
        Some(Choice::LeaveAlone) => "leaving alone".to_owned(),
        Some(Choice::PolishOnly) => "a polish only".to_owned(),
        Some(Choice::BuildUp) => "building up".to_owned(),
        Some(Choice::Scrap) => "scrap".to_owned(),
        Some(Choice::NotDecided) => "not decided yet".to_owned(),
        Some(Choice::Grind { undersize_mm: 0.0 }) => "standard".to_owned(),
        Some(Choice::Grind { .. }) | None => text.to_owned(),
    }
}

/// Whether two decisions of the log say the same: `0.02` and `0.020`.
pub fn same_choice(one: &str, other: &str, unit: Unit) -> bool {
    /// Inches do not come out even in millimetres: one figure typed in two ways differs in the last bit.
    const SAME_MM: f64 = 1e-6;
    match (choice_of(one, unit), choice_of(other, unit)) {
        (Some(Choice::Grind { undersize_mm: one }), Some(Choice::Grind { undersize_mm: other })) => {
            (one - other).abs() < SAME_MM
        }
        (Some(one), Some(other)) => one == other,
        _ => one == other,
    }
}

/// What was answered to something that is looked at and not measured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Eye {
    /// It is as it should be.
    Passed,
    /// It is not, with what was found.
    Failed(String),
    /// Nobody looked, with what there is to say about that.
    NotDone(String),
}

/// How the log says that something was not done: this alone as the remark, or before a colon and the rest of it. It is the
/// page's own mark; any other remark is about what was found, however it begins.
const NOT_DONE: &str = "not done";

impl Eye {
    /// The answer that an entry of the log keeps.
    pub fn of(passed: bool, says: Option<&str>) -> Eye {
        let says = says.unwrap_or_default();
        if passed {
            return Eye::Passed;
        }
        match says.strip_prefix(NOT_DONE) {
            Some("") => Eye::NotDone(String::new()),
            Some(rest) => match rest.strip_prefix(": ") {
                Some(why) => Eye::NotDone(why.to_owned()),
                None => Eye::Failed(says.to_owned()),
            },
            None => Eye::Failed(says.to_owned()),
        }
    }

    /// What was answered to an item of a job, if anything.
    pub fn on(job: &Job, item: &str) -> Option<Eye> {
        job.eye_checks.iter().find(|check| check.item == item).map(Eye::from)
    }

    /// `passed` and `says` as the log keeps them; what is said of something that passed stands beside the answer. Nothing
    /// where a remark on what failed would read as not done.
    pub fn kept(&self) -> Option<(bool, Option<String>)> {
        let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        match self {
            Eye::Passed => Some((true, None)),
            Eye::NotDone(why) if why.is_empty() => Some((false, some(NOT_DONE))),
            Eye::NotDone(why) => Some((false, Some(format!("{NOT_DONE}: {why}")))),
            Eye::Failed(what) => (Eye::of(false, Some(what)) == *self).then(|| (false, some(what))),
        }
    }
}

impl From<&EyeChecked> for Eye {
    fn from(check: &EyeChecked) -> Eye {
        Eye::of(check.passed, check.says.as_deref())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 0.25 mm is 0.00984 in as it is shown, and 0.00984 in is 0.249936 mm.
    #[test]
    fn an_undersize_of_the_other_unit_is_found_on_the_ladder() {
        let shown = choice_text(Choice::Grind { undersize_mm: 0.25 }, Unit::Inch);
        assert_eq!(shown, "0.00984");
        let ladder = [0.0, 0.25, 0.50];
        assert_eq!(choice_on(&shown, Unit::Inch, &ladder), Some(Choice::Grind { undersize_mm: 0.25 }));
        assert_eq!(choice_on("0", Unit::Inch, &ladder), Some(Choice::Grind { undersize_mm: 0.0 }));
        // What stands on no ladder stays as it was typed.
        let own = choice_on("0.174 mm", Unit::Inch, &ladder).and_then(Choice::undersize_mm).unwrap();
        assert!((own - 0.174).abs() < 1e-9);
        assert_eq!(choice_on("leave", Unit::Inch, &[]), Some(Choice::LeaveAlone));
    }

    #[test]
    fn a_choice_reads_as_it_is_written() {
        for choice in [
            Choice::LeaveAlone,
            Choice::PolishOnly,
            Choice::BuildUp,
            Choice::Scrap,
            Choice::NotDecided,
            Choice::Grind { undersize_mm: 0.0 },
        ] {
            assert_eq!(choice_of(&choice_text(choice, Unit::Inch), Unit::Inch), Some(choice));
        }
        assert_eq!(choice_text(Choice::Grind { undersize_mm: 0.254 }, Unit::Inch), "0.010");
        assert_eq!(choice_of("soon", Unit::Inch), None);
    }

    #[test]
    fn a_choice_is_the_same_however_its_figure_is_typed() {
        assert!(same_choice("0.02", "0.020", Unit::Inch) && same_choice("0.508 mm", "0.020", Unit::Inch));
        assert!(!same_choice("0.02", "0.030", Unit::Inch) && !same_choice("leave", "0", Unit::Inch));
        assert!(!same_choice("soon", "later", Unit::Inch));
    }

    #[test]
    fn a_journal_is_read_as_freely_as_a_sheet_reads_it() {
        let pin = Some(JournalId { set: SetName::Pin, number: 2 });
        for name in ["pin 2", "pin-2", " Pin 2 ", "PIN2", "pin  2"] {
            assert_eq!(journal_named(name), pin, "{name}");
        }
        for name in ["", "pin", "pin 0", "pin two", "dowel pin 2", "pin +2", "pin -2", "pin 99999999999999999999999"] {
            assert_eq!(journal_named(name), None, "{name}");
        }
    }

    #[test]
    fn only_the_pages_own_mark_says_that_nobody_looked() {
        assert_eq!(Eye::of(false, Some("not done")), Eye::NotDone(String::new()));
        assert_eq!(Eye::of(false, Some("not done: no powder left")), Eye::NotDone("no powder left".to_owned()));
        for remark in ["not done properly, a line at the fillet", "not done:", "Not done", "not donex", " not done", ""]
        {
            assert_eq!(Eye::of(false, Some(remark)), Eye::Failed(remark.to_owned()), "{remark}");
        }
        assert_eq!(Eye::of(true, Some("not done")), Eye::Passed);
        assert_eq!(Eye::of(false, None), Eye::Failed(String::new()));
    }

    #[test]
    fn an_answer_comes_back_as_it_is_kept() {
        for eye in [
            Eye::NotDone(String::new()),
            Eye::NotDone("no powder left".to_owned()),
            Eye::Failed("a line at the fillet".to_owned()),
            Eye::Failed("not done properly".to_owned()),
        ] {
            let (passed, says) = eye.kept().unwrap();
            assert_eq!(Eye::of(passed, says.as_deref()), eye);
        }
        assert_eq!(Eye::Failed("not done: really".to_owned()).kept(), None, "it would read as not done");
    }
}
