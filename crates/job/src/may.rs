//! What may be done next: each rule once, asked by every door before anything is written.
//!
//! The record itself ([`shop::admit`]) keeps what is well formed and makes sense in a log; it does not judge. Here stand the
//! rules that take judgement. They are asked when something is *appended*. A log that exists is read as it is, whatever was
//! allowed when it was written; a sheet that is brought in is what was found, not an act, and is taken as it says. But a crack
//! that it reports stops whatever comes after.

use regrind::{Choice, Verdict};
use sheet::{Problem, Sheet};
use shop::{Draft, EntryKind, Job, Shop, Stage, Treatment, Value};

use crate::advice::Advice;
use crate::aims::{Aims, Unreadable};
use crate::card::JobCard;
use crate::deciding::{REASONS, choices, held_up, measured, must_answer};
use crate::final_check::{must_be_said, obstacles, spots};
use crate::march::Walk;
use crate::nouns::{choice_of, choice_text, journal_named, same_choice, set_named};
use crate::objection::Objection;
use crate::plan_sheet::PlanSheet;
use crate::refusal::{Against, Headline, Place, Refusal};
use crate::stops;
use say::Words;

/// What the rules look at: a job as it stands, in its shop.
#[derive(Clone, Copy, Debug)]
pub struct Case<'a> {
    /// What is known of it.
    pub card: &'a JobCard,
    /// The shop.
    pub shop: &'a Shop,
    /// The sheet as read and the verdict on it, as far as they are worked out; see [`needs_verdict`].
    pub verdict: Option<&'a (Sheet, Verdict)>,
}

/// Whether a rule for entries of this kind asks for the verdict.
pub fn needs_verdict(kind: &EntryKind) -> bool {
    matches!(kind, EntryKind::Decision { .. } | EntryKind::SheetIssued { .. })
}

/// Whether entries of this kind have a rule of their own. All others may be written where the job stays readable with them:
/// [`stay_readable`].
pub fn has_a_rule(kind: &EntryKind) -> bool {
    matches!(
        kind,
        EntryKind::Decision { .. }
            | EntryKind::SheetIssued { .. }
            | EntryKind::CleanedUp { .. }
            | EntryKind::SentToTreatment { .. }
            | EntryKind::BackFromTreatment { .. }
            | EntryKind::SignedOff { .. }
            | EntryKind::HandedOver { .. }
            | EntryKind::Reopened { .. }
            | EntryKind::Moved { .. }
    )
}

/// Whether an entry may be written now, by the rule for its kind. What is well formed the record says itself.
///
/// # Errors
/// [`Refusal`]: nothing is to be written then.
pub fn may(case: &Case<'_>, draft: &Draft) -> Result<(), Refusal> {
    match &draft.kind {
        EntryKind::Decision { set, choice, overruled, .. } => decide(case, set, choice, overruled.as_deref()),
        EntryKind::SheetIssued { plan, .. } => issue(case, plan),
        EntryKind::CleanedUp { journal, .. } => clean_up(case, journal),
        EntryKind::SentToTreatment { batch, .. } => send(case, batch),
        EntryKind::BackFromTreatment { batch, .. } => take_back(case, Some(batch)).map(|_| ()),
        EntryKind::SignedOff { says, .. } => sign(case, says),
        EntryKind::HandedOver { .. } => hand_over(case),
        EntryKind::Reopened { reason } => reopen(case, reason),
        EntryKind::Moved { to } => move_to(case, *to),
        _ => Ok(()),
    }
}

impl<'a> Case<'a> {
    /// The job as it stands.
    pub fn job(&self) -> &'a Job {
        &self.card.job
    }

    fn words(&self) -> Words {
        Words::of_setting(self.shop.setting("words"))
    }

    fn number(&self) -> i64 {
        self.job().number
    }

    /// What is worked out, or why nothing is.
    fn judged(&self) -> Result<&(Sheet, Verdict), Refusal> {
        if let Some(judged) = self.verdict {
            return Ok(judged);
        }
        if measured(self.job()).next().is_none() {
            return Err(Refusal::one(Place::Measure, Objection::NothingMeasured, Advice::Measure));
        }
        readable(self.card)?;
        Err(Refusal::one(Place::Verdict, Objection::ChanceNotKnown, Advice::LookAgain))
    }

    /// The cracks that are reported, each in full.
    fn cracks(&self) -> Vec<Against> {
        let cracked = self.card.sheet().map(|sheet| stops::cracks(self.job(), sheet, self.words())).unwrap_or_default();
        let against = |journal| Against { place: Place::Verdict, what: Objection::Crack(journal), fails: true };
        cracked.into_iter().map(against).collect()
    }

    fn without_cracks(&self) -> Result<(), Refusal> {
        let against = self.cracks();
        if against.is_empty() {
            return Ok(());
        }
        Err(Refusal { against, advice: Advice::AfterACrack, headline: None })
    }
}

fn readable(card: &JobCard) -> Result<&Sheet, Refusal> {
    card.sheet().map_err(|problems| {
        let says = Unreadable { job: card.job.number, problems: problems.to_vec() }.to_string();
        Refusal::one(Place::Measure, Objection::Unreadable(says), Advice::PutRight)
    })
}

/// Whether what is measured, found, changed or undone may be written: nothing that is written makes a job unreadable that
/// was readable.
///
/// # Errors
/// [`Refusal`] with what cannot be.
pub fn stay_readable(before: &JobCard, after: &JobCard) -> Result<(), Refusal> {
    if after.job.document == before.job.document {
        return Ok(());
    }
    stays_readable(before, after, "entries").map(|_| ())
}

/// What is wrong with the sheet of a job that was not wrong before; empty where it can be read, or could not before either. That
/// nothing counts yet is nothing wrong: of two first readings that differ neither does until a third is taken.
pub fn new_problems(before: &JobCard, after: &JobCard) -> Vec<Problem> {
    let Err(problems) = after.sheet() else { return Vec::new() };
    let known = before.sheet().err().unwrap_or_default();
    let new = |problem: &&Problem| !known.contains(problem) && !sheet::is_nothing_measured(problem);
    problems.iter().filter(new).cloned().collect()
}

/// The sheet of a job as it would stand; nothing where it could not be read before either.
///
/// # Errors
/// [`Refusal`] with what cannot be, at this field.
pub fn stays_readable<'a>(
    before: &JobCard,
    after: &'a JobCard,
    field: &'static str,
) -> Result<Option<&'a Sheet>, Refusal> {
    if let Ok(sheet) = after.sheet() {
        return Ok(Some(sheet));
    }
    let new = new_problems(before, after).into_iter();
    let against: Vec<Against> = new
        .map(|p| Against {
            place: Place::Field(field),
            what: Objection::CannotBe { found: p.found, expected: p.expected, advice: p.advice },
            fails: true,
        })
        .collect();
    if against.is_empty() {
        return Ok(None);
    }
    Err(Refusal { against, advice: Advice::ChangeMarked, headline: None })
}

/// Whether a set may be decided so.
///
/// # Errors
/// [`Refusal`] at `set`, `choice` or `overruled`, or where there is no verdict to decide on.
pub fn decide(case: &Case<'_>, set: &str, choice: &str, overruled: Option<&str>) -> Result<(), Refusal> {
    let (sheet, verdict) = case.judged()?;
    let unit = sheet.unit;
    let judged = set_named(set).and_then(|set| verdict.sets.iter().find(|known| known.set == set));
    let Some(judged) = judged else {
        return Err(Refusal::one(Place::Field("set"), Objection::SetNotMeasured, Advice::Measure));
    };
    let read = choice_of(choice, unit);
    if read == Some(Choice::NotDecided) {
        return Err(Refusal::one(Place::Field("choice"), Objection::NoDecision, Advice::ChooseWithReason));
    }
    let known = choices(judged, unit).into_iter().any(|(known, _)| same_choice(&known, choice, unit));
    let Some(read) = read.filter(|_| known) else {
        let all = choices(judged, unit).into_iter().map(|(known, _)| known).collect();
        return Err(Refusal::one(Place::Field("choice"), Objection::NoSuchChoice, Advice::Choices(all)));
    };
    let rule = same_choice(choice, &choice_text(judged.choice, unit), unit);
    let against = must_answer(case.job(), sheet, case.words(), judged.set, read);
    let reason = overruled.map(str::trim).filter(|reason| !reason.is_empty());
    if !rule && reason.is_none() {
        return Err(Refusal::one(Place::Field("overruled"), Objection::SayWhy, Advice::WriteReason));
    }
    let stock = reason.is_none_or(|reason| REASONS.iter().any(|(_, words)| *words == reason));
    if against && stock {
        return Err(Refusal::one(Place::Field("overruled"), Objection::OwnWords, Advice::OnTheSheet));
    }
    Ok(())
}

/// Whether the crank may go on from the verdict: to the grinder, or without grinding.
///
/// # Errors
/// [`Refusal`] with everything that holds it up.
pub fn go_on(case: &Case<'_>) -> Result<(), Refusal> {
    let (sheet, verdict) = case.judged()?;
    let held = held_up(case.job(), sheet, verdict, case.words());
    if held.is_empty() {
        return Ok(());
    }
    let against = held.into_iter().map(|what| Against { place: Place::Verdict, what, fails: false }).collect();
    Err(Refusal { against, advice: Advice::SettleAtVerdict, headline: None })
}

/// Whether a sheet for the grinder may be issued with this plan.
///
/// # Errors
/// [`Refusal`] with everything that holds it up, or at `plan`.
pub fn issue(case: &Case<'_>, plan: &Value) -> Result<(), Refusal> {
    go_on(case)?;
    let (sheet, _) = case.judged()?;
    let decided = PlanSheet::of(case.job(), sheet);
    if decided.sets.iter().all(|set| set.stages.is_empty()) {
        return Err(Refusal::one(Place::Verdict, Objection::NothingToGrind, Advice::ToFinalCheck));
    }
    let same = PlanSheet::from_value(plan).is_some_and(|plan| plan.same_sizes(&decided) && decided.same_sizes(&plan));
    if !same {
        return Err(Refusal::one(Place::Field("plan"), Objection::AnotherPlan, Advice::TakeThePlan));
    }
    Ok(())
}

/// Whether the crank may go to the final check without being ground.
///
/// # Errors
/// [`Refusal`] with everything that holds it up.
pub fn go_without_grinding(case: &Case<'_>) -> Result<(), Refusal> {
    go_on(case)?;
    let (sheet, _) = case.judged()?;
    if PlanSheet::of(case.job(), sheet).sets.iter().any(|set| !set.stages.is_empty()) {
        return Err(Refusal::one(Place::Verdict, Objection::GrinderIsNext, Advice::IssueSheet));
    }
    Ok(())
}

/// Whether somebody may say of this journal that it cleaned up or not.
///
/// # Errors
/// [`Refusal`] at `journal`.
pub fn clean_up(case: &Case<'_>, journal: &str) -> Result<(), Refusal> {
    let Ok(sheet) = case.card.sheet() else { return Ok(()) };
    let known = journal_named(journal).is_some_and(|named| sheet.specification.journals().any(|own| own == named));
    if known {
        return Ok(());
    }
    Err(Refusal::one(Place::Field("journal"), Objection::NoSuchJournal, Advice::CountFromNose))
}

/// Why a crank does not go to treatment, whatever the batch.
///
/// # Errors
/// [`Refusal`].
pub fn leave_for_treatment(case: &Case<'_>) -> Result<(), Refusal> {
    let (job, n) = (case.job(), case.number());
    let refused = |place: Place, what: Objection, advice: Advice| Err(Refusal::one(place, what, advice));
    if job.put_away {
        return refused(Place::Particulars, Objection::Archived(n), Advice::OutOfArchive);
    }
    if job.signed_off.is_some() {
        return refused(Place::FinalCheck, Objection::SignedOff(n), Advice::ReasonThere);
    }
    if let Some(stay) = job.treatments.iter().find(|stay| !stay.back) {
        return refused(Place::Treatment, Objection::AwayAlready(n, stay.batch.clone()), Advice::TakeBackFirst);
    }
    if !matches!(job.stage, Stage::AtTheGrinder | Stage::FinalCheck) {
        return refused(Place::Verdict, Objection::NotGround(n, job.stage), Advice::GrindFirst);
    }
    case.without_cracks()
}

/// Whether a crank may be sent to treatment in this batch.
///
/// # Errors
/// [`Refusal`] at `batch`, or with what stands against it.
pub fn send(case: &Case<'_>, batch: &str) -> Result<(), Refusal> {
    leave_for_treatment(case)?;
    if case.shop.batches.iter().any(|(name, _)| name == batch) {
        return Ok(());
    }
    Err(Refusal::one(Place::Field("batch"), Objection::WhichBatch, Advice::OpenBatch))
}

/// Whether a crank may be taken back from treatment, or out of its batch: from this one, where one is named. The stay.
///
/// # Errors
/// [`Refusal`].
pub fn take_back<'a>(case: &Case<'a>, batch: Option<&str>) -> Result<&'a Treatment, Refusal> {
    let Some(stay) = case.job().treatments.iter().find(|stay| !stay.back) else {
        return Err(Refusal::one(Place::Treatment, Objection::NotAway(case.number()), Advice::LookAtHistory));
    };
    match batch {
        Some(named) if named != stay.batch => {
            let what = Objection::AwayInAnother(case.number(), stay.batch.clone());
            Err(Refusal::one(Place::Field("batch"), what, Advice::LookAtBatch))
        }
        _ => Ok(stay),
    }
}

/// Everything that stands against a signature.
///
/// # Errors
/// [`Refusal`] with all of it.
pub fn be_signed(case: &Case<'_>) -> Result<Aims, Refusal> {
    let aims = Aims::of(case.card).map_err(|unreadable| {
        Refusal::one(Place::Measure, Objection::Unreadable(unreadable.to_string()), Advice::PutRight)
    })?;
    let walk = Walk::of_job(case.shop, case.job()).spots(&aims.sheet.specification);
    let checked = spots(&case.card.entries, case.job(), &aims, &walk);
    let against = obstacles(case.job(), &aims, &checked, case.words());
    if against.is_empty() {
        return Ok(aims);
    }
    Err(Refusal { against, advice: Advice::AtFinalCheck, headline: Some(Headline::NotSigned) })
}

/// Whether the job may be signed off with this sentence. It must say everything that was left out.
///
/// # Errors
/// [`Refusal`] with all that stands against it, or at `says`.
pub fn sign(case: &Case<'_>, says: &str) -> Result<(), Refusal> {
    if case.job().signed_off.is_some() {
        return Err(Refusal::one(Place::FinalCheck, Objection::SignedAlready, Advice::Reopen));
    }
    let aims = be_signed(case)?;
    let against: Vec<Against> = must_be_said(case.job(), &aims)
        .into_iter()
        .map(|(_, left)| left)
        .filter(|left| !says.contains(left.as_str()))
        .map(|left| Against { place: Place::Field("says"), what: Objection::NotSaid(left), fails: false })
        .collect();
    if against.is_empty() {
        return Ok(());
    }
    Err(Refusal { against, advice: Advice::SayLeftOut, headline: None })
}

/// Whether the crank may be handed over.
///
/// # Errors
/// [`Refusal`].
pub fn hand_over(case: &Case<'_>) -> Result<(), Refusal> {
    if case.job().handed_over.is_some() {
        return Err(Refusal::one(Place::Field("kind"), Objection::HandedOver, Advice::UndoFirst));
    }
    let mut against = case.cracks();
    let advice = if against.is_empty() { Advice::FinishFinalCheck } else { Advice::AfterACrack };
    if case.job().signed_off.is_none() {
        against.push(Against { place: Place::FinalCheck, what: Objection::NotSignedOff, fails: false });
    }
    if against.is_empty() {
        return Ok(());
    }
    Err(Refusal { against, advice, headline: None })
}

/// Whether a signed job may be opened again.
///
/// # Errors
/// [`Refusal`].
pub fn reopen(case: &Case<'_>, reason: &str) -> Result<(), Refusal> {
    if case.job().signed_off.is_none() {
        return Err(Refusal::one(Place::FinalCheck, Objection::NothingSigned, Advice::GoOn));
    }
    if reason.trim().is_empty() {
        return Err(Refusal::one(Place::Field("reason"), Objection::WhyReopened, Advice::NextRevision));
    }
    Ok(())
}

/// The stages that a job may be moved to by hand; the others are reached by signing and handing over.
pub fn stages_by_hand() -> impl Iterator<Item = Stage> {
    Stage::ALL.into_iter().filter(|stage| *stage < Stage::Ready)
}

/// Whether a job may be moved to a stage by hand.
///
/// # Errors
/// [`Refusal`].
pub fn move_to(case: &Case<'_>, to: Stage) -> Result<(), Refusal> {
    let place = Place::Field("to");
    match to {
        Stage::Ready => Err(Refusal::one(place, Objection::ReadyBySigning, Advice::FinishAndSign)),
        Stage::Collected => Err(Refusal::one(place, Objection::CollectedByHandingOver, Advice::SignAndHandOver)),
        Stage::AtTheGrinder | Stage::AtTreatment | Stage::FinalCheck => case.without_cracks(),
        Stage::BookedIn | Stage::Measuring | Stage::ToDecide => Ok(()),
    }
}
