//! Why something is not done now: where it hangs, what stands against it, what to do.

use crate::advice::Advice;
use say::{Message, Told, Words};

use crate::march::Spot;
use crate::objection::Objection;

/// Where something is put right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// In what was asked for itself: the field of the form, or the key of the entry.
    Field(&'static str),
    /// Among the particulars of the job.
    Particulars,
    /// Where the crank is measured.
    Measure,
    /// At the verdict, where sets are decided.
    Verdict,
    /// Where somebody says whether each journal cleaned up.
    CleanedUp,
    /// At its treatment.
    Treatment,
    /// At the final check.
    FinalCheck,
    /// At one spot of the final check.
    Spot(Spot),
    /// Where the roughness of the finished journals is entered.
    Roughness,
    /// At one of the things that are looked at.
    Eye(&'static str),
}

/// One thing that stands against it.
#[derive(Clone, Debug, PartialEq)]
pub struct Against {
    /// Where it is put right.
    pub place: Place,
    /// What it is.
    pub what: Objection,
    /// Whether it is something that fails, and not only something that is missing.
    pub fails: bool,
}

impl Against {
    /// Whole sentences, in the words of a shop.
    pub fn says(&self, words: Words) -> String {
        words.say(&self.what)
    }
}

/// What is not done, where that has to be said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Headline {
    /// The final check is not signed.
    NotSigned,
}

/// Something is not done now. Nothing was written.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// What stands against it; never empty.
    pub against: Vec<Against>,
    /// What to do.
    pub advice: Advice,
    /// What is not done, where that has to be said.
    pub headline: Option<Headline>,
}

impl Refusal {
    /// One thing stands against it.
    pub fn one(place: Place, what: Objection, advice: Advice) -> Refusal {
        Refusal { against: vec![Against { place, what, fails: false }], advice, headline: None }
    }

    /// Whether what was asked for is itself at fault, and not something in the job that stands against it.
    pub fn is_about_what_was_asked(&self) -> bool {
        self.against.iter().all(|one| matches!(one.place, Place::Field(_)))
    }

    /// What happened, in a sentence or two.
    pub fn happened(&self, words: Words) -> String {
        match (self.headline, self.against.as_slice()) {
            (Some(Headline::NotSigned), [one]) => {
                words.say(&Message::new("not-signed-one").with("says", one.what.message()))
            }
            (Some(Headline::NotSigned), many) => words.say(&Message::new("not-signed-many").count("count", many.len())),
            (None, against) => against.first().map(|first| first.says(words)).unwrap_or_default(),
        }
    }

    /// What to do, in a sentence.
    pub fn advice(&self, words: Words) -> String {
        words.say(&self.advice)
    }
}
