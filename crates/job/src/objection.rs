//! What can stand against something, and what to do about it: kinds with their quantities. `say` has the sentences.

use crank::{JournalId, SetName};
use regrind::Undecided;
use say::{Message, Quantity, Size, Told};
use shop::Stage;

use crate::final_check::EyeItem;
use crate::march::{Across, Spot, Station};

/// One thing that stands against what somebody wants to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Objection {
    /// Nothing is measured yet.
    NothingMeasured,
    /// The chance is still being worked out.
    ChanceNotKnown,
    /// A crack is reported on this journal.
    Crack(JournalId),
    /// The sheet of the job cannot be read, in its own words.
    Unreadable(String),
    /// Something typed cannot be, with what was expected and what to do, in the sheet's own words.
    CannotBe {
        /// What was typed.
        found: String,
        /// What was expected.
        expected: String,
        /// What to do.
        advice: String,
    },
    /// What was keyed is no reading: the words of whoever read it.
    NoReading(String),
    /// The job has no micrometer of this name.
    NoMicrometer(String),
    /// A set that is not measured is not decided.
    SetNotMeasured,
    /// To leave a set open is no decision.
    NoDecision,
    /// There is no such choice.
    NoSuchChoice,
    /// The reason is missing.
    SayWhy,
    /// The reason must be in somebody's own words.
    OwnWords,
    /// Readings in doubt hold the set: what the stop says.
    Doubtful(String),
    /// A bend, heat or a throw holds the set: what the stop says.
    Stands(String),
    /// A set was decided, and the verdict now leaves it open.
    LeftOpen(SetName, Undecided),
    /// A set is not decided.
    NotDecided(SetName),
    /// A set is to be built up before it is ground.
    BuildUpBeforeGrinding(SetName),
    /// A set was given up, so there is no sheet.
    GivenUpNoSheet(SetName),
    /// No set is to be ground.
    NothingToGrind,
    /// The plan is not the one that was decided.
    AnotherPlan,
    /// A set is to be ground.
    GrinderIsNext,
    /// The crank has no such journal.
    NoSuchJournal,
    /// The crank has no journal of this number.
    HasNo(JournalId),
    /// The job is archived.
    Archived(i64),
    /// The job is signed off; it is to be reopened first.
    SignedOff(i64),
    /// The crank is away already, in this batch.
    AwayAlready(i64, String),
    /// The crank is not ground yet.
    NotGround(i64, Stage),
    /// No batch, or none of this name.
    WhichBatch,
    /// The crank is not away.
    NotAway(i64),
    /// The crank is away in this batch and not in the one named.
    AwayInAnother(i64, String),
    /// The job is signed off already.
    SignedAlready,
    /// The signature does not say what was left out.
    NotSaid(String),
    /// The crank was handed over already.
    HandedOver,
    /// The crank is not signed off, so it is not handed over.
    NotSignedOff,
    /// There is no signature to take back.
    NothingSigned,
    /// The reason to reopen it is missing.
    WhyReopened,
    /// Ready is reached by signing.
    ReadyBySigning,
    /// Collected is reached by handing over.
    CollectedByHandingOver,
    /// The job is archived, so it is not signed.
    ArchivedNotSigned,
    /// Nothing is decided of a set.
    NothingDecided(SetName),
    /// A set was given up.
    GivenUp(SetName),
    /// A set is to be built up.
    ToBeBuiltUp(SetName),
    /// The crank is at treatment.
    AtTreatment,
    /// Nobody said whether a journal cleaned up.
    NobodySaid(JournalId),
    /// A journal did not clean up.
    NotCleanedUp(JournalId),
    /// So many spots are not measured.
    NotMeasured(usize),
    /// A reading of the final check counts no longer.
    TooOld(Spot, TooOld),
    /// A reading of the final check is outside its limits, or does not say: what it says.
    AtSpot(Spot, String),
    /// A journal is further out of its form than the manual allows.
    Form {
        /// Which.
        journal: JournalId,
        /// Whether it is taper, or else out-of-round.
        taper: bool,
        /// What was found.
        found: Size,
        /// The limit.
        limit: Size,
    },
    /// A place on a finished journal is rougher than the manual allows.
    TooRough {
        /// Which.
        journal: JournalId,
        /// Where along it: `middle`.
        at: String,
        /// Ra as measured, in both units: see [`crank::show_ra`].
        found: String,
        /// The limit, likewise.
        limit: String,
    },
    /// Nobody answered whether this is as it should be.
    NotAnswered(&'static EyeItem),
    /// It is not as it should be.
    NotPassed(&'static EyeItem),
    /// It was not done and must be.
    MustBeDone(&'static EyeItem),
}

/// Why a reading of the final check counts no longer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TooOld {
    /// Its sheet was replaced.
    SheetReplaced,
    /// The journal was ground again.
    GroundAgain,
    /// The crank was treated since.
    TreatedSince,
}

impl TooOld {
    const fn case(self) -> &'static str {
        match self {
            TooOld::SheetReplaced => "sheet-replaced",
            TooOld::GroundAgain => "ground-again",
            TooOld::TreatedSince => "treated-since",
        }
    }
}

impl Told for TooOld {
    fn message(&self) -> Message {
        Message::new("too-old").case("why", self.case())
    }
}

impl Told for Objection {
    fn message(&self) -> Message {
        use Objection as O;
        let plain = Message::new;
        match self {
            O::NothingMeasured => plain("nothing-measured"),
            O::ChanceNotKnown => plain("chance-not-known"),
            O::Crack(journal) => plain("crack-stands").with("journal", *journal),
            O::Unreadable(says) => plain("as-told").typed("says", says),
            O::CannotBe { found, expected, advice } => {
                plain("cannot-be").typed("found", found).typed("expected", expected).typed("advice", advice)
            }
            O::NoReading(says) => plain("as-told").typed("says", says),
            O::NoMicrometer(name) => plain("no-micrometer").typed("name", name),
            O::SetNotMeasured => plain("set-not-measured"),
            O::NoDecision => plain("no-decision"),
            O::NoSuchChoice => plain("no-such-choice"),
            O::SayWhy => plain("say-why"),
            O::OwnWords => plain("own-words"),
            O::Doubtful(says) => plain("doubtful-stands").typed("says", says),
            O::Stands(says) => plain("stop-stands").typed("says", says),
            O::LeftOpen(set, why) => plain("left-open").with("set", *set).case("why", undecided(*why)),
            O::NotDecided(set) => plain("set-not-decided").with("set", *set),
            O::BuildUpBeforeGrinding(set) => plain("build-up-before-grinding").with("set", *set),
            O::GivenUpNoSheet(set) => plain("given-up-no-sheet").with("set", *set),
            O::NothingToGrind => plain("nothing-to-grind"),
            O::AnotherPlan => plain("another-plan"),
            O::GrinderIsNext => plain("grinder-is-next"),
            O::NoSuchJournal => plain("no-such-journal"),
            O::HasNo(journal) => plain("crank-has-no").with("journal", *journal),
            O::Archived(job) => plain("job-archived").with("job", *job),
            O::SignedOff(job) => plain("job-signed-off").with("job", *job),
            O::AwayAlready(job, batch) => plain("away-already").with("job", *job).typed("batch", batch),
            O::NotGround(job, stage) => plain("not-ground").with("job", *job).with("stage", stage.message()),
            O::WhichBatch => plain("which-batch"),
            O::NotAway(job) => plain("not-away").with("job", *job),
            O::AwayInAnother(job, batch) => plain("away-in-another").with("job", *job).typed("batch", batch),
            O::SignedAlready => plain("signed-already"),
            O::NotSaid(left_out) => plain("not-said").typed("left-out", left_out),
            O::HandedOver => plain("handed-over-already"),
            O::NotSignedOff => plain("not-signed-off"),
            O::NothingSigned => plain("nothing-signed"),
            O::WhyReopened => plain("why-reopened"),
            O::ReadyBySigning => plain("ready-by-signing"),
            O::CollectedByHandingOver => plain("collected-by-handing-over"),
            O::ArchivedNotSigned => plain("archived-not-signed"),
            O::NothingDecided(set) => plain("nothing-decided").with("set", *set),
            O::GivenUp(set) => plain("given-up").with("set", *set),
            O::ToBeBuiltUp(set) => plain("to-be-built-up").with("set", *set),
            O::AtTreatment => plain("at-treatment"),
            O::NobodySaid(journal) => plain("nobody-said").with("journal", *journal),
            O::NotCleanedUp(journal) => plain("not-cleaned-up").with("journal", *journal),
            O::NotMeasured(count) => plain("spots-not-measured").count("count", *count),
            O::TooOld(spot, why) => plain("reading-too-old").with("spot", spot.message()).with("why", why.message()),
            O::AtSpot(spot, says) => plain("at-spot").with("spot", spot.message()).typed("says", says),
            O::Form { journal, taper, found, limit } => plain("form-over")
                .with("journal", *journal)
                .case("form", if *taper { "taper" } else { "out-of-round" })
                .with("found", found.clone())
                .with("limit", limit.clone()),
            O::TooRough { journal, at, found, limit } => plain("too-rough")
                .with("journal", *journal)
                .with("at", plain("deed-at").typed("station", at).typed("text", at))
                .with("found", Quantity::Number(found.clone()))
                .with("limit", Quantity::Number(limit.clone())),
            O::NotAnswered(item) => plain("eye-not-answered").with("item", item.message()),
            O::NotPassed(item) => plain("eye-not-passed").with("item", item.message()),
            O::MustBeDone(item) => plain("eye-must-be-done").with("item", item.message()),
        }
    }
}

/// `Pin 2, rear, across A`.
impl Told for Spot {
    fn message(&self) -> Message {
        let across = match self.across {
            Across::A => "A",
            Across::B => "B",
        };
        let station = match self.station {
            Station::Front => "front",
            Station::Middle => "middle",
            Station::Rear => "rear",
        };
        let journal = Quantity::Journal(self.journal);
        Message::new("spot").with("journal", journal).case("station", station).case("across", across)
    }
}

impl Told for EyeItem {
    fn message(&self) -> Message {
        Message::new("eye-item").case("item", self.key).typed("text", self.item)
    }
}

const fn undecided(why: Undecided) -> &'static str {
    match why {
        Undecided::Heat => "heat",
        Undecided::Bend => "bend",
        Undecided::Readings => "readings",
        Undecided::BiggerThanNew => "bigger-than-new",
        Undecided::TooClose => "too-close",
        Undecided::TooLittle => "too-little",
        Undecided::WearLimit => "wear-limit",
        Undecided::TwoSizes => "two-sizes",
    }
}

#[cfg(test)]
mod tests;
