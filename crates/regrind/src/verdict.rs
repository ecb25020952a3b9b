//! The answer for one crank, as types.

use std::fmt;

use crank::{Condition, GroundTo, JournalId, SetName, State};

use crate::axis::SpareAgainstShift;
use crate::chance::Chance;
use crate::choice::Choice;
use crate::first_size::FirstSize;
use crate::next::NextMeasurement;
use crate::place::Place;
use crate::plan::Plan;
use crate::polish::PolishPlan;
use crate::set_up::SetUp;
use crate::shaft::ShaftAfter;
use crate::{Axis, PolishWhen};

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

impl SetVerdict {
    /// A set of which nothing is told but what was decided.
    pub fn decided(set: SetName, ground_to: GroundTo, choice: Choice) -> SetVerdict {
        SetVerdict {
            set,
            ground_to,
            choice,
            reason: String::new(),
            undecided: None,
            if_ground_mm: None,
            apart: None,
            leave_alone: Chance::default(),
            leave_alone_as_measured: Chance::default(),
            leave_alone_as_read: Chance::default(),
            polish_only: Chance::default(),
            polish_only_as_measured: Chance::default(),
            polish_only_as_read: Chance::default(),
            steps: Vec::new(),
            governed_by: None,
            set_up: None,
            missing: None,
            unmeasured: Vec::new(),
            own_steps: Vec::new(),
            to_size: None,
            in_doubt: false,
            read_once: false,
            damaged_unmeasured: false,
            next: None,
            first_size: None,
        }
    }

    /// Pins that nobody read in line with their throw, where pins wear most.
    pub fn not_in_line(&self) -> impl Iterator<Item = JournalId> + '_ {
        self.unmeasured.iter().filter(|u| u.kind == UnmeasuredKind::InLine).filter_map(|u| u.journal)
    }
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
    /// Chance that size, out-of-round and taper all keep the limits of the size it was last ground to, everywhere on the
    /// journal.
    pub within: Chance,
    /// The same where it was measured: what nobody measured is taken to be as good.
    pub within_as_measured: Chance,
    /// Chance that its true diameters keep the limits at the spots where it was read, judged from all its readings together.
    pub within_as_read: Chance,
    /// What `within` means under the shop's rule.
    pub state: State,
    /// What is said of it, and what that means under the shop's rule: `within_as_read` of a journal that was read in two
    /// directions, else `within`.
    pub said: Chance,
    /// The same in a word.
    pub stands: State,
    /// Whether it is past its limits by wear beyond doubt: too small, out of round, tapered. A journal that is larger than
    /// new is not.
    pub worn: bool,
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
    /// The same if what nobody measured is as good as what was.
    pub chance_as_measured: Chance,
    /// Spare stock on the radius for the readings as they stand, before the clean-up stock is asked for.
    pub spare_mm: f64,
    /// What is left of that once the clean-up stock is off.
    pub spare_after_stock_mm: f64,
    /// Spare stock on the radius once the clean-up stock is off, on the middle one of the simulated cranks: at nothing the
    /// chance is one half.
    pub middle_spare_mm: f64,
    /// Whether the book's smallest size permits it.
    pub permitted: bool,
    /// What to expect to pay when starting here, where prices are known.
    pub expected_cost: Option<f64>,
    /// On a free axis: the placement that is told for this step, and that its chances stand on.
    pub set_up: Option<SetUp>,
    /// How far that goes.
    pub way: Axis,
}

/// Journals of a set that nobody measured, and what they could do.
#[derive(Clone, Debug, PartialEq)]
pub struct Missing {
    /// The journals.
    pub journals: Vec<JournalId>,
    /// The chance at the chosen step if they are like the measured ones, where three or more were measured.
    pub chance_if_alike: Option<f64>,
}

/// What sort of thing nobody looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnmeasuredKind {
    /// Nothing of a journal.
    Journal,
    /// A pin in line with its throw, where pins wear most.
    InLine,
    /// A second direction across a journal.
    Direction,
    /// Some of a journal's length.
    Station,
    /// The run-out of any main between the ends.
    RunOut,
}

impl UnmeasuredKind {
    /// As JSON calls it.
    pub const fn word(self) -> &'static str {
        match self {
            UnmeasuredKind::Journal => "journal",
            UnmeasuredKind::InLine => "in line with the throw",
            UnmeasuredKind::Direction => "direction",
            UnmeasuredKind::Station => "station",
            UnmeasuredKind::RunOut => "run-out",
        }
    }
}

/// Something that nobody looked at, and what that costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Unmeasured {
    /// What sort.
    pub kind: UnmeasuredKind,
    /// The journal, where it is about one.
    pub journal: Option<JournalId>,
    /// By how much the chance at the chosen step (the deepest, where none was) is lower than if it were as good as what
    /// was measured; nothing on a free axis, where it cannot be told apart.
    pub costs: Option<f64>,
}

/// Why a set is not decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Undecided {
    /// A journal of the crank was hot.
    Heat,
    /// A main runs out further than the manual permits.
    Bend,
    /// Its readings do not go together: micrometers that disagree, another engine, another unit, another set.
    Readings,
    /// It is larger than wear can leave it.
    BiggerThanNew,
    /// No journal is worn past its limits beyond doubt.
    TooClose,
    /// Too little was measured to say that it may stay, or that it may not.
    TooLittle,
    /// It is round and a little below its new size, and the manual's wear limit is not told.
    WearLimit,
    /// Some of its journals keep the limits of an undersize, and the others are larger and can be ground to it.
    TwoSizes,
}

impl Undecided {
    /// As JSON calls it.
    pub const fn word(self) -> &'static str {
        match self {
            Undecided::Heat => "heat",
            Undecided::Bend => "bend",
            Undecided::Readings => "readings",
            Undecided::BiggerThanNew => "bigger than new",
            Undecided::TooClose => "too close to call",
            Undecided::TooLittle => "too little measured",
            Undecided::WearLimit => "wear limit not told",
            Undecided::TwoSizes => "journals of different sizes",
        }
    }

    /// What to do, to follow "not decided:".
    pub const fn words(self) -> &'static str {
        match self {
            Undecided::Heat => "test for hardness and cracks first",
            Undecided::Bend => "the bend is settled first",
            Undecided::Readings => "look at the readings again",
            Undecided::BiggerThanNew => "bigger than new, measure again",
            Undecided::TooClose => "too close to call, measure again",
            Undecided::TooLittle => "measure what is missing first",
            Undecided::WearLimit => "look up the manual's wear limit",
            Undecided::TwoSizes => "journals of different sizes, ask why",
        }
    }
}

/// Journals that cannot go with the others of their set.
#[derive(Clone, Debug, PartialEq)]
pub struct Apart {
    /// Which, each with what it needs.
    pub journals: Vec<ApartJournal>,
    /// What the others need.
    pub others: Others,
}

/// What a journal that is past the last undersize needs.
#[derive(Clone, Debug, PartialEq)]
pub struct ApartJournal {
    /// Which.
    pub journal: JournalId,
    /// The size to cut the journal to before metal is put on it: at it what is left is sound, with the shop's confidence.
    pub under_deposit_mm: f64,
    /// How thick the metal must be on each side, with what comes off it again.
    pub thickness_mm: f64,
    /// The size it must have before it is ground.
    pub back_to_mm: f64,
}

/// What the journals need that are not apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Others {
    /// There are none.
    None,
    /// Nothing: they are within their limits, as far as they were measured.
    Stay,
    /// A polish to size: they are within their limits, and would outgrow them when the crank is treated again.
    ToSize,
    /// They read within their limits, too near to one to say that they may stay.
    TooClose,
    /// They are round and a little below new, and the manual's wear limit is not told: they may stay, or go to this.
    LittleWorn {
        /// The undersize.
        undersize_mm: f64,
        /// Their chance there.
        chance: Chance,
    },
    /// An undersize.
    Grind {
        /// The undersize.
        undersize_mm: f64,
        /// Their chance there.
        chance: Chance,
    },
}

impl Others {
    /// The undersize they go to, if they are ground, and their chance there.
    pub fn ground(self) -> Option<(f64, Chance)> {
        match self {
            Others::LittleWorn { undersize_mm, chance } | Others::Grind { undersize_mm, chance } => {
                Some((undersize_mm, chance))
            }
            Others::None | Others::Stay | Others::ToSize | Others::TooClose => None,
        }
    }
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
    /// Why it is not decided; nothing where it is.
    pub undecided: Option<Undecided>,
    /// Where it is not decided or left alone: what it would be ground to if it had to be.
    pub if_ground_mm: Option<f64>,
    /// The journals that keep all others from an undersize, where there are any.
    pub apart: Option<Apart>,
    /// Chance that every journal is within its limits and undamaged.
    pub leave_alone: Chance,
    /// The same as far as it was measured: each reading with its own error, the largest and smallest as they were read.
    pub leave_alone_as_measured: Chance,
    /// The same of the true diameters where it was read, judged from all readings of a journal together; the choice to leave
    /// alone rests on this.
    pub leave_alone_as_read: Chance,
    /// Chance that every journal is so after a polish.
    pub polish_only: Chance,
    /// The same as far as it was measured.
    pub polish_only_as_measured: Chance,
    /// The same of the true diameters where it was read; the choice to polish rests on this.
    pub polish_only_as_read: Chance,
    /// The ladder, standard first.
    pub steps: Vec<StepVerdict>,
    /// The place that governs every step.
    pub governed_by: Option<Place>,
    /// On a free axis: the placement that the chance at the chosen step stands on, or at the step that it would be ground
    /// to; shared with the other set where both are ground.
    pub set_up: Option<SetUp>,
    /// Journals that nobody measured.
    pub missing: Option<Missing>,
    /// Everything that nobody looked at, with what each costs, the dearest first.
    pub unmeasured: Vec<Unmeasured>,
    /// Journals that were most likely ground to another undersize than the set, each with it.
    pub own_steps: Vec<(JournalId, f64)>,
    /// Where it is polished and the crank grows afterwards or before: on which side of the treatment it is polished **to
    /// size**, and not only over. Nothing for a polish by itself.
    pub to_size: Option<PolishWhen>,
    /// Whether any of its readings looks wrong, or contradicts what is stamped.
    pub in_doubt: bool,
    /// Whether all that was read of it is one size.
    pub read_once: bool,
    /// Whether damage is told of on a journal that nobody measured: the chances as measured know nothing of it.
    pub damaged_unmeasured: bool,
    /// The one further measurement that would change the verdict most.
    pub next: Option<NextMeasurement>,
    /// The first size that cleans up with the shop's confidence, whether or not shells are made for it; nothing where the
    /// model knows nothing of the set.
    pub first_size: Option<FirstSize>,
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
    /// The same if what nobody measured is as good as what was.
    pub chance_as_measured: Chance,
    /// The placement that `spare_exact_mm` belongs to: the one with the greatest spare.
    pub best: SetUp,
    /// The placement that the grinder is told, and that both chances stand on: the least move that is enough.
    pub set_up: SetUp,
    /// The spare that it leaves, in true geometry.
    pub spare_as_set_up_mm: f64,
    /// How far it goes: nothing moves, the throws, or the main axis too.
    pub way: Axis,
    /// The spare that it leaves to first order, as `spare_mm` is counted.
    pub spare_chosen_mm: f64,
    /// Its largest shift: of either end main or any pin's centre, toward the first throw or square to it.
    pub shift_mm: f64,
    /// The least largest shift for each spare, from no move to the greatest spare, for the readings as they stand; straight
    /// between the points. Empty on a held axis.
    pub curve: Vec<SpareAgainstShift>,
    /// What is left of it once the clean-up stock is off, on the middle one of the draws.
    pub middle_spare_mm: f64,
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
    /// Journals of the set that it is not for: those that cannot go with the others, or the others where only metal that is
    /// put on is ground.
    pub without: Vec<JournalId>,
    /// The sizes of every stage; the same for every other journal of the set.
    pub plan: Plan,
}

impl SetPlan {
    /// Whom it is for: `the pins`, or `pins 1 to 3` where others of the set are left out.
    pub fn is_for(&self, specification: &crank::Specification) -> String {
        if self.without.is_empty() {
            return format!("the {}", crate::next::plural(self.set));
        }
        let own: Vec<JournalId> =
            specification.journals().filter(|id| id.set == self.set && !self.without.contains(id)).collect();
        crate::unmeasured::list(&own)
    }
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
    /// The plan for each set of which something is only polished, for those of its journals that are.
    pub polish: Vec<PolishPlan>,
    /// What the reader should know, the most pressing first.
    pub notes: Vec<Note>,
    /// Whether anything tells on which side the metal went.
    pub shape: Shape,
    /// Whether somebody must look again before anything is ground.
    pub look_again: bool,
    /// What the grinding does to what turns with the shaft; nothing where neither feature nor mass is told.
    pub shaft: Option<ShaftAfter>,
}

impl Verdict {
    /// An answer of which nothing is told but its sets.
    pub fn of_sets(sets: Vec<SetVerdict>) -> Verdict {
        Verdict {
            journals: Vec::new(),
            sets,
            pairs: Vec::new(),
            chosen_pair: None,
            plans: Vec::new(),
            polish: Vec::new(),
            notes: Vec::new(),
            shape: Shape::DiametersOnly,
            look_again: false,
            shaft: None,
        }
    }
}
