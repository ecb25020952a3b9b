//! The stages of work, in the order in which a crank goes through the shop.

use say::{Message, Told};
use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Where a job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// It is on the shelf.
    BookedIn,
    /// It is being measured.
    Measuring,
    /// It is measured, and somebody must choose the sizes.
    ToDecide,
    /// It is being ground.
    AtTheGrinder,
    /// It is away for heat treatment.
    AtTreatment,
    /// It is ground and is being checked.
    FinalCheck,
    /// It is signed off and waits for its owner.
    Ready,
    /// Its owner has it.
    Collected,
}

impl Told for Stage {
    fn message(&self) -> Message {
        let case = match self {
            Stage::BookedIn => "booked-in",
            Stage::Measuring => "measuring",
            Stage::ToDecide => "to-decide",
            Stage::AtTheGrinder => "at-the-grinder",
            Stage::AtTreatment => "at-treatment",
            Stage::FinalCheck => "final-check",
            Stage::Ready => "ready",
            Stage::Collected => "collected",
        };
        Message::new("stage").case("stage", case)
    }
}

impl Stage {
    /// All stages in order.
    pub const ALL: [Stage; 8] = [
        Stage::BookedIn,
        Stage::Measuring,
        Stage::ToDecide,
        Stage::AtTheGrinder,
        Stage::AtTreatment,
        Stage::FinalCheck,
        Stage::Ready,
        Stage::Collected,
    ];

    /// The stage as it is shown.
    pub fn words(self) -> &'static str {
        match self {
            Stage::BookedIn => "Booked in",
            Stage::Measuring => "Measuring",
            Stage::ToDecide => "To decide",
            Stage::AtTheGrinder => "At the grinder",
            Stage::AtTreatment => "At treatment",
            Stage::FinalCheck => "Final check",
            Stage::Ready => "Ready",
            Stage::Collected => "Collected",
        }
    }

    /// The stage as it is kept and stands in addresses.
    pub fn name(self) -> &'static str {
        match self {
            Stage::BookedIn => "booked_in",
            Stage::Measuring => "measuring",
            Stage::ToDecide => "to_decide",
            Stage::AtTheGrinder => "at_the_grinder",
            Stage::AtTreatment => "at_treatment",
            Stage::FinalCheck => "final_check",
            Stage::Ready => "ready",
            Stage::Collected => "collected",
        }
    }
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// A word that names no stage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("there is no such stage of work")]
pub struct NoSuchStage;

impl FromStr for Stage {
    type Err = NoSuchStage;
    fn from_str(text: &str) -> Result<Stage, NoSuchStage> {
        Stage::ALL.into_iter().find(|stage| stage.name() == text).ok_or(NoSuchStage)
    }
}
