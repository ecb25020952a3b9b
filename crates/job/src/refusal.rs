//! Why something is not done now: where it hangs, what stands against it, what to do.

use std::fmt;

use crate::march::Spot;

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
    /// At one of the things that are looked at.
    Eye(&'static str),
}

/// One thing that stands against it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Against {
    /// Where it is put right.
    pub place: Place,
    /// What it is: whole sentences, in the shop's words.
    pub says: String,
    /// Whether it is something that fails, and not only something that is missing.
    pub fails: bool,
}

/// Something is not done now. Nothing was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// What stands against it; never empty.
    pub against: Vec<Against>,
    /// What to do.
    pub advice: String,
    /// What is not done, where that has to be said: `Not signed`.
    pub headline: Option<&'static str>,
}

impl Refusal {
    /// One thing stands against it.
    pub fn one(place: Place, says: impl Into<String>, advice: impl Into<String>) -> Refusal {
        let against = vec![Against { place, says: says.into(), fails: false }];
        Refusal { against, advice: advice.into(), headline: None }
    }

    /// Whether what was asked for is itself at fault, and not something in the job that stands against it.
    pub fn is_about_what_was_asked(&self) -> bool {
        self.against.iter().all(|one| matches!(one.place, Place::Field(_)))
    }

    /// What happened, in a sentence or two.
    pub fn happened(&self) -> String {
        match (self.headline, self.against.as_slice()) {
            (Some(headline), [one]) => format!("{headline}. {}", one.says),
            (Some(headline), many) => format!("{headline}: {} things stand against it.", many.len()),
            (None, against) => against.first().map(|first| first.says.clone()).unwrap_or_default(),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.happened(), self.advice)
    }
}

impl std::error::Error for Refusal {}
