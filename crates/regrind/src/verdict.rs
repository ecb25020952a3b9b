//! The answer for one crank, as types.

use std::fmt;

use crank::{Condition, GroundTo, JournalId, SetName, State};

use crate::chance::Chance;
use crate::choice::Choice;
use crate::next::NextMeasurement;
use crate::place::Place;
use crate::plan::Plan;
use crate::polish::PolishPlan;
use crate::set_up::SetUp;

/// The tool could not answer: its own fault, not the sheet's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure(pub(crate) programme::Unsolved);

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the clean-up question could not be solved: {}", self.0)
    }
}

impl std::error::Error for Failure {}

/// Something the reader should know about the readings or the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// What kind of remark, from a short fixed list (`likely misread`, `question`, `missing`, `caution` …).
    pub kind: &'static str,
    /// The journal it is about.
    pub journal: Option<JournalId>,
    /// The remark.
    pub says: String,
}

impl Note {
    /// Whether work must stop until somebody has judged it: a crack, a bent shaft.
    pub fn stops(&self) -> bool {
        self.kind == "caution"
    }

    /// Whether it says that a reading may be wrong and is to be taken again before the verdict is believed.
    pub fn presses(&self) -> bool {
        !self.stops()
            && !matches!(
                self.kind,
                "question"
                    | "missing"
                    | "taken for granted"
                    | "what two points cannot see"
                    | "one axis for both"
                    | "treatment"
                    | "few finish within limits"
                    | "damage not measured"
            )
    }
}

/// A journal's condition and the chance that it is within its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct JournalVerdict {
    /// Sizes, out-of-round, taper, wear.
    pub condition: Condition,
    /// Chance that size, out-of-round and taper all keep the limits of the size it was last ground to.
    pub within: Chance,
    /// What that chance means under the shop's rule.
    pub state: State,
}

/// One step of the ladder of one set.
#[derive(Clone, Debug, PartialEq)]
pub struct StepVerdict {
    /// The undersize, on the diameter; zero for standard.
    pub undersize_mm: f64,
    /// The size the wheel must leave.
    pub ground_size_mm: f64,
    /// Chance that the set cleans up, the other set left out.
    pub chance: Chance,
    /// Spare stock on the radius for the readings as they stand, before the clean-up stock is asked for.
    pub spare_mm: f64,
    /// Whether the book's smallest size permits it.
    pub permitted: bool,
    /// What to expect to pay when starting here, where prices are known.
    pub expected_cost: Option<f64>,
}

/// Journals of a set that nobody measured, and what they could do.
#[derive(Clone, Debug, PartialEq)]
pub struct Missing {
    /// The journals.
    pub journals: Vec<JournalId>,
    /// The chance at the chosen step if they are like the measured ones, where three or more were measured.
    pub chance_if_alike: Option<f64>,
}

/// The verdict on all mains or all pins.
#[derive(Clone, Debug, PartialEq)]
pub struct SetVerdict {
    /// Which set.
    pub set: SetName,
    /// What it was last ground to.
    pub ground_to: GroundTo,
    /// What to do.
    pub choice: Choice,
    /// Why.
    pub reason: String,
    /// Whether better measurements should come first, because no journal is outside its limits beyond doubt.
    pub settle_first: bool,
    /// Chance that every measured journal is within its limits and undamaged.
    pub leave_alone: Chance,
    /// Chance that every measured journal is so after a polish.
    pub polish_only: Chance,
    /// The ladder, standard first.
    pub steps: Vec<StepVerdict>,
    /// The place that governs every step.
    pub governed_by: Option<Place>,
    /// What was not measured.
    pub missing: Option<Missing>,
    /// The one further measurement that would change the verdict most.
    pub next: Option<NextMeasurement>,
}

/// The verdict on one undersize of the mains together with one of the pins, on one axis.
#[derive(Clone, Debug, PartialEq)]
pub struct PairVerdict {
    /// Undersize of the mains.
    pub main_mm: f64,
    /// Undersize of the pins.
    pub pin_mm: f64,
    /// The programme's optimum.
    pub spare_mm: f64,
    /// The same placement in true geometry, moved to where that is best.
    pub spare_exact_mm: f64,
    /// Chance that both sets clean up.
    pub chance: Chance,
    /// The placement that `spare_exact_mm` belongs to.
    pub set_up: SetUp,
    /// The place that governs.
    pub governed_by: Option<Place>,
}

/// The plan for one set.
#[derive(Clone, Debug, PartialEq)]
pub struct SetPlan {
    /// Which set.
    pub set: SetName,
    /// Undersize it is for.
    pub undersize_mm: f64,
    /// The sizes of every stage; the same for every journal of the set.
    pub plan: Plan,
}

/// How much of the shape of the journals was looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Two-point diameters only.
    DiametersOnly,
    /// Run-outs or traces as well.
    WithDirection,
}

/// The answer for one crank.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Every measured journal, mains first.
    pub journals: Vec<JournalVerdict>,
    /// The sets that were measured.
    pub sets: Vec<SetVerdict>,
    /// Every pair of undersizes, where both sets were measured.
    pub pairs: Vec<PairVerdict>,
    /// On a free axis: the pair to grind to, where both sets are to be ground.
    pub chosen_pair: Option<(f64, f64)>,
    /// The plan, for each set that is to be ground.
    pub plans: Vec<SetPlan>,
    /// The plan for each set that is only polished.
    pub polish: Vec<PolishPlan>,
    /// What the reader should know, the most pressing first.
    pub notes: Vec<Note>,
    /// Whether anything tells on which side the metal went.
    pub shape: Shape,
    /// Whether somebody must look again before anything is ground.
    pub look_again: bool,
}
