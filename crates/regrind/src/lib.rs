//! Where a crank can be ground: the axis, the chance that each undersize cleans up, the choice and the plan.
//!
//! Start with [`assess`]: it takes a specification, what was found on one crank and how the shop works, and answers
//! with a [`Verdict`]. The steps on the way are rooms of their own: the measured surface as points, the best axis as a
//! linear programme over them, the draws, the choice between the steps of the ladder, the plan by stage, and the one
//! further measurement that would change the answer most.
//!
//! All lengths are millimetres; undersizes, stocks and growth on the diameter, clean-up stock and spare on the radius.
//!
//! The plan of a crankpin 1.7500 in that goes to 0.020 under and grows 0.0005 in its nitriding: finished at 1.7300, it comes
//! to treatment at 1.7295.
//!
//! ```
//! use crank::{Band, JournalSet, Treatment};
//! use regrind::{Policy, Stage, Work, plan};
//! use units::Unit;
//!
//! const IN: f64 = 25.4;
//! let pins = JournalSet {
//!     positions_mm: vec![2.0 * IN],
//!     angles_deg: vec![0.0],
//!     length_mm: 1.2 * IN,
//!     size: Band { low_mm: 1.7495 * IN, high_mm: 1.7505 * IN },
//!     undersizes_mm: vec![0.010 * IN, 0.020 * IN],
//!     out_of_round_mm: None,
//!     taper: None,
//!     run_out: None,
//!     smallest_mm: None,
//!     wear_limit_mm: None,
//!     wear_out_of_round_mm: None,
//!     wear_taper: None,
//!     aims: Vec::new(),
//!     any_size: false,
//! };
//! let nitriding = Treatment {
//!     kind: "nitriding".to_owned(),
//!     growth_mean_mm: 0.0005 * IN,
//!     growth_sd_mm: 0.0001 * IN,
//!     after_grinding: true,
//! };
//! let work = Work::to(0.020 * IN, Unit::Inch);
//! let plan = plan(&pins, &nitriding, &Policy::usual(Unit::Inch), &work);
//! let target_in = |stage: Stage| plan.stage(stage).map(|stage| stage.target_mm / IN).unwrap();
//! assert!((target_in(Stage::Finished) - 1.7300).abs() < 1e-9);
//! assert!((target_in(Stage::BeforeTreatment) - 1.7295).abs() < 1e-9);
//! ```
//!
//! What this crate does not do: bearings, storage, files, screens.

mod afterwards;
mod any_size;
mod apart;
mod as_measured;
mod assess;
mod assumed;
mod axis;
mod best_axis;
mod case;
mod case_left;
mod cautions;
mod chance;
mod choice;
mod decide;
mod draws;
mod finish;
mod first_size;
mod governing;
mod growth;
mod hand;
mod left;
mod lone;
mod narrow;
mod next;
mod notes;
mod on_one_axis;
mod outgrown;
mod place;
mod plan;
mod policy;
mod polish;
mod reasons;
mod room;
mod rungs;
mod set_up;
mod shaft;
mod stage;
mod stay;
mod surface;
mod tally;
mod unmeasured;
mod unseen;
mod verdict;
mod which;
pub mod words;

pub use assess::{assess, set_up, spares};
pub use assumed::Assumed;
pub use axis::{AxisLine, Placement, SpareAgainstShift};
pub use case_left::{CaseLeft, case_left};
pub use cautions::{Caution, CautionKind, cautions};
pub use chance::Chance;
pub use choice::{Bill, Choice, bill};
pub use finish::{Finishes, Part, Scatter};
pub use first_size::FirstSize;
pub use governing::governing;
pub use growth::{GrowthFound, growth_found};
pub use left::{Left, Stands, left_to_come_off};
pub use narrow::{MACHINE_HOLDS_MM, narrow_window};
pub use next::{Foretold, MeasureKind, NextMeasurement};
pub use place::{Place, station_name};
pub use plan::{Plan, Work, ground_size_mm, plan};
pub use policy::{Axis, IndexDatum, Policy, PolishWhen, Prices, SetPrices};
pub use polish::{PolishChange, PolishJournal, PolishPlan, polish_change, polish_plan};
pub use room::Room;
pub use rungs::{LOOK_AGAIN_FIRST, LadderWords, Rung};
pub use set_up::{Move, PinCentre, SetUp};
pub use shaft::{FeatureAfter, ShaftAfter, Unbalance};
pub use stage::{Stage, StageSize};
pub use surface::CountedFrom;
pub use unmeasured::list as list_of_journals;
pub use verdict::{
    Apart, ApartJournal, Failure, JournalVerdict, Missing, Note, Others, PairVerdict, SetPlan, SetVerdict, Shape,
    StepVerdict, Undecided, Unmeasured, UnmeasuredKind, Verdict,
};
pub use which::{Fits, Identified, KnownCrank, Life, MOST_SIZES, Seen, SeenSize, TellApart, Which, which};
