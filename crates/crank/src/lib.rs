//! A crankshaft: its specification, what was found on it, and its condition journal by journal.
//!
//! Start with [`Specification`] (what the maker's book says) and [`Findings`] (what was measured and seen on one
//! shaft). [`PrintedSpecification`] is a specification as it stands in a book, right or wrong; [`check`] lists what is
//! wrong with it, and only a printed specification without faults becomes a [`Specification`].
//!
//! All lengths here are millimetres in `f64` with names ending in `_mm`, except readings, which keep what was typed
//! ([`units::Entry`]). Angles are degrees with names ending in `_deg`.
//!
//! What mains were last ground to, by the largest size that is left on them: nobody wears a journal larger. 2.1143 is
//! above the 2.1050 of twenty under, and within ten under less a little wear.
//!
//! ```
//! use crank::{Band, JournalSet, ground_to};
//!
//! const IN: f64 = 25.4;
//! let mains = JournalSet {
//!     positions_mm: vec![0.0, 90.0, 180.0],
//!     angles_deg: Vec::new(),
//!     length_mm: 1.1 * IN,
//!     size: Band { low_mm: 2.1245 * IN, high_mm: 2.1250 * IN },
//!     undersizes_mm: vec![0.010 * IN, 0.020 * IN],
//!     out_of_round_mm: Some(0.0005 * IN),
//!     taper: None,
//!     run_out: None,
//!     smallest_mm: None,
//!     wear_limit_mm: None,
//!     wear_out_of_round_mm: None,
//!     wear_taper: None,
//!     aims: Vec::new(),
//!     any_size: false,
//! };
//! // Sizes with their standard uncertainties.
//! let sizes = [(2.1143 * IN, 0.0001 * IN), (2.1138 * IN, 0.0001 * IN)];
//! let found = ground_to(&mains, &sizes);
//! assert!((found.undersize_mm / IN - 0.010).abs() < 1e-9);
//! assert!(!found.bigger_than_new);
//! ```
//!
//! What this crate does not do: no prices, machines, storage or files.

mod bend;
mod case_depth;
mod check;
mod condition;
mod convert;
mod findings;
mod heights;
mod layout;
mod printed;
mod ra;
mod roughness;
#[cfg(test)]
mod samples;
mod shaft;
mod specification;

pub use bend::{
    Carried, DialSweep, MainForm, RuleFor, RuleFound, RunOutRule, ToldByDials, bend_off_mm, end_mains, main_forms,
    rules_found, told_by_dials, vee_factor,
};
pub use case_depth::{CaseDepth, CaseFound};
pub use check::{Severity, SpecProblem, check, check_set};
pub use condition::{
    Barrel, Condition, FormCheck, GroundTo, NotJudged, PlaneForm, RunOutVerdict, Size, Spot, State, StationForm,
    condition, ground_to, last_ground_to, run_out_verdict, size_limits, sizes, undersizes_known_mm, verdict,
};
pub use findings::{
    Centre, Damage, DamageKind, Depth, Findings, NotADamage, Reading, RunOut, Stamp, Trace, Worn, planes_apart_deg,
};
pub use heights::{Heights, PinHeights, ThrowFound, Twist, circle_of, throws_found, twist};
pub use journal::{JournalId, NotAJournal, NotASet, SetName};
pub use layout::{Along, Layout, NoPositions, Positions, WEB_SHARE, positions};
pub use printed::{
    PrintedBand, PrintedLimit, PrintedNumber, PrintedRollers, PrintedSet, PrintedSpecification, PrintedStep,
};
pub use ra::{NotARa, RaUnit, TypedRa, read_ra, show_ra, typed_ra};
pub use roughness::{JournalRoughness, Lay, Roughness, Taken, USUAL_ERROR, roughness, roughness_limit_um};
pub use shaft::{Face, Feature, FeatureDial, Mass};
pub use specification::{
    Aim, Band, JournalSet, Per, RunOutAs, RunOutLimit, Specification, TaperLimit, ThrowTolerance, Treatment,
};

mod stamps;
pub use stamps::{NotAsStamped, not_as_stamped};

mod suspicions;
pub use suspicions::{Suspicion, suspicions};

mod wear_pattern;
pub use wear_pattern::{MainWear, WearPattern, wear_pattern};
