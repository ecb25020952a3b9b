//! What to do about what stands against something: kinds. `say` has the sentences.

use say::{Message, Quantity, Told};

/// What to do about what stands against it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Advice {
    /// Measure it first.
    Measure,
    /// Look at the verdict again in a moment.
    LookAgain,
    /// A crack is never answered with a reason.
    AfterACrack,
    /// Correct it where it was typed.
    PutRight,
    /// Change what is marked, then save.
    ChangeMarked,
    /// Choose what to do, and write the reason.
    ChooseWithReason,
    /// These are the choices, as the record names them.
    Choices(Vec<String>),
    /// Choose a reason, or write it.
    WriteReason,
    /// The sheet for the grinder carries it.
    OnTheSheet,
    /// Settle it at the verdict.
    SettleAtVerdict,
    /// Go on to the final check.
    ToFinalCheck,
    /// Take the plan as it is decided now.
    TakeThePlan,
    /// Issue the sheet.
    IssueSheet,
    /// Count the journals from the nose.
    CountFromNose,
    /// Open the archived job again.
    OutOfArchive,
    /// Give the reason where it is reopened.
    ReasonThere,
    /// Take it back first.
    TakeBackFirst,
    /// Have it ground first.
    GrindFirst,
    /// Open the batch first.
    OpenBatch,
    /// Look at its history.
    LookAtHistory,
    /// Look at the code of the batch.
    LookAtBatch,
    /// Correct them at the final check, then sign.
    AtFinalCheck,
    /// Reopen it with a reason.
    Reopen,
    /// Say in the sentence what was left out.
    SayLeftOut,
    /// Undo that first.
    UndoFirst,
    /// Finish the final check first.
    FinishFinalCheck,
    /// There is nothing to reopen.
    GoOn,
    /// The next revision carries the reason.
    NextRevision,
    /// Finish the final check, then sign.
    FinishAndSign,
    /// Sign, then hand over.
    SignAndHandOver,
}

impl Told for Advice {
    fn message(&self) -> Message {
        use Advice as A;
        if let A::Choices(choices) = self {
            let choices = choices.iter().map(|choice| Quantity::Typed(choice.clone())).collect();
            return Message::new("do-choose-of").with("choices", Quantity::All(choices));
        }
        Message::new(match self {
            A::Measure => "do-measure",
            A::LookAgain => "do-look-again",
            A::AfterACrack => "do-after-a-crack",
            A::PutRight => "do-put-right",
            A::ChangeMarked => "do-change-marked",
            A::ChooseWithReason => "do-choose-with-reason",
            A::Choices(_) => "do-choose-of",
            A::WriteReason => "do-write-reason",
            A::OnTheSheet => "do-on-the-sheet",
            A::SettleAtVerdict => "do-settle-at-verdict",
            A::ToFinalCheck => "do-to-final-check",
            A::TakeThePlan => "do-take-the-plan",
            A::IssueSheet => "do-issue-sheet",
            A::CountFromNose => "do-count-from-nose",
            A::OutOfArchive => "do-out-of-archive",
            A::ReasonThere => "do-reason-there",
            A::TakeBackFirst => "do-take-back-first",
            A::GrindFirst => "do-grind-first",
            A::OpenBatch => "do-open-batch",
            A::LookAtHistory => "do-look-at-history",
            A::LookAtBatch => "do-look-at-batch",
            A::AtFinalCheck => "do-at-final-check",
            A::Reopen => "do-reopen",
            A::SayLeftOut => "do-say-left-out",
            A::UndoFirst => "do-undo-first",
            A::FinishFinalCheck => "do-finish-final-check",
            A::GoOn => "do-go-on",
            A::NextRevision => "do-next-revision",
            A::FinishAndSign => "do-finish-and-sign",
            A::SignAndHandOver => "do-sign-and-hand-over",
        })
    }
}
