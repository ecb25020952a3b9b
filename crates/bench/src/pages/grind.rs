//! The grinder's view: what to grind to, what is left to come off, and whether it cleaned up.

use askama::Template;
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::response::IntoResponse;
use axum::routing::{get, post};
use crank::{JournalId, SetName};
use regrind::{Stage, Stands};
use serde::Deserialize;
use shop::{EntryId, EntryKind, Job, Stage as Place, Value};
use units::Unit;

use crate::bar::Bar;
use crate::deciding::{self};
use crate::desk::Desk;
use crate::early::EarlyPage;
use crate::form::{Form, NotWritten};
use crate::judged::{PATIENCE, fit_as_decided};
use crate::ladder::{Found, Manner};
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Fields, Frame, Visitor, go, shop_of, show};
use crate::wording::{OldWay, Words, clock, count};
use job::JobCard;
use job::aims::{Aims, is_measured, stage_name};
use job::at_the_machine::AtTheMachine;
pub(crate) use job::at_the_machine::choice_words;
use job::deciding::decided;
use job::grinding::{self, GroundReading, ground_journals, next, working_stages};
use job::nouns;
use job::nouns::{journal_named, journal_of};
use job::stops::Stops;
use job::undo::derived;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/jobs/{job}/grind", get(grind).post(reading))
        .route("/jobs/{job}/grind/cleaned", post(cleaned))
        .route("/jobs/{job}/grind/done", post(done))
}

#[derive(Debug, Default, Deserialize)]
struct Asked {
    /// The reading that was just taken.
    #[serde(default)]
    last: String,
    #[serde(default)]
    journal: String,
    #[serde(default)]
    stage: String,
    #[serde(default)]
    with: String,
}

/// The answer to the reading that was just taken.
struct Answered {
    title: String,
    says: String,
    class: &'static str,
    mark: &'static str,
    seq: EntryId,
}

/// A choice of a list: value, words, whether it is chosen.
type Options = Vec<(String, String, bool)>;

struct ReadingForm {
    form: Form,
    journals: Options,
    stages: Options,
    micrometers: Options,
    fault: Option<String>,
    typed: String,
}

struct Taken {
    journal: String,
    stage: &'static str,
    read: String,
    says: String,
    who: String,
    when: String,
}

struct CleanRow {
    key: String,
    name: String,
    /// What was said, in words.
    known: String,
    stop: bool,
    yes: bool,
    no: bool,
    left: String,
    fault: Option<String>,
}

struct Cleaning {
    form: Form,
    rows: Vec<CleanRow>,
    /// How many nobody has answered for.
    open: usize,
}

#[derive(Template)]
#[template(path = "grind.html")]
struct GrindPage {
    frame: Frame,
    bar: Bar,
    unit: Unit,
    code: Option<String>,
    issued: String,
    supersedes: Option<String>,
    told: AtTheMachine,
    answered: Option<Answered>,
    reading: Option<ReadingForm>,
    taken: Vec<Taken>,
    cleaning: Option<Cleaning>,
    not_clean: Vec<String>,
    chances: Vec<String>,
    done: Option<Done>,
    frozen: bool,
}

struct Done {
    id: String,
    /// How many journals nobody has answered for, in words.
    open: String,
    /// The treatment that follows by the book.
    treatment: Option<String>,
}

async fn grind(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let held = desk.job(n).await?;
    if !is_measured(&held.job) {
        return show(&EarlyPage::of(&visitor, &*shop_of(&desk).await?, &held.job, "grind", "Grind"));
    }
    show(&page(&desk, &visitor, &held, &asked, Came::default()).await?)
}

/// A form that came back.
#[derive(Default)]
struct Came {
    reading: Option<(String, String)>,
    cleaned: Option<(Fields, Vec<Fault>)>,
}

async fn page(desk: &Desk, visitor: &Visitor, held: &JobCard, asked: &Asked, came: Came) -> Result<GrindPage, Trouble> {
    let shop = shop_of(desk).await?;
    let job = &held.job;
    let aims = Aims::of(held)?.offering(&shop);
    let faulty = came.reading.is_some() || came.cleaned.is_some();
    let title = format!("{}Grind, job {}", if faulty { "Error: " } else { "" }, job.number);
    let frame = visitor.frame(&shop, title, "jobs");
    let words = frame.words;
    let sheet = job.sheets.last();
    let stops = Stops::of(job, &aims.sheet, Some(&fit_as_decided(job, &aims.sheet)), words);
    let mut told = AtTheMachine::of(job, &aims, &stops, words);
    would_now(desk, &shop, held, &mut told).await;
    let frozen = job.signed_off.is_some();
    let ground: Vec<JournalId> = ground_journals(&aims);
    let open_work = !frozen && sheet.is_some() && !ground.is_empty();
    let cleaning = if open_work { Some(cleaning(job, &ground, words, came.cleaned)?) } else { None };
    // What was ground to sizes that no longer hold is compared with nothing.
    let reading = if open_work && told.grinds {
        Some(reading_form(job, &aims, &ground, words, asked, came.reading)?)
    } else {
        None
    };
    Ok(GrindPage {
        bar: Bar::of(job, "grind"),
        unit: aims.unit(),
        code: sheet.map(|sheet| sheet.code.clone()),
        issued: sheet.map(|sheet| format!("{}, {}", sheet.who, clock(&sheet.when))).unwrap_or_default(),
        supersedes: sheet.and_then(|sheet| sheet.supersedes.clone()),
        told,
        answered: answered(job, &aims, words, &asked.last),
        reading,
        taken: taken(job, &aims, words),
        not_clean: not_clean(job, words),
        chances: chances(job, &aims, words),
        done: if open_work && job.stage == Place::AtTheGrinder {
            Some(when_done(job, &aims, cleaning.as_ref().map_or(0, |cleaning| cleaning.open))?)
        } else {
            None
        },
        cleaning,
        frozen,
        frame,
    })
}

/// Says under each set that the verdict would now be another than what was decided, where it would. The sheet itself does not
/// wait for a verdict: what is not worked out yet is not said.
async fn would_now(desk: &Desk, shop: &shop::Shop, held: &JobCard, told: &mut AtTheMachine) {
    let manner = Manner::of(shop, &held.job);
    let judgement = desk.judges.judge(held, PATIENCE).await;
    let Some(Ok((sheet, verdict))) = judgement.latest().map(|(judged, _)| &judged.answer) else { return };
    let found = Found { job: &held.job, sheet, verdict, manner: &manner };
    for set in &verdict.sets {
        let Some(decided) = decided(&held.job, set.set) else { continue };
        let name = manner.words.set(set.set);
        let Some(part) = told.sets.iter_mut().find(|part| part.name == name) else { continue };
        if let Some(says) = deciding::would_now(&found, set, decided) {
            part.says.push(format!("◇ Decided: {}. {says}", nouns::choice_words(&decided.choice, sheet.unit)));
        }
    }
}

fn when_done(job: &Job, aims: &Aims, open: usize) -> Result<Done, Trouble> {
    let treatment = &aims.sheet.specification.treatment;
    let follows = treatment.after_grinding && job.treatments.is_empty();
    let open = if open == 0 { String::new() } else { count(open, "journal") };
    Ok(Done { id: crate::visitor::form_id()?, open, treatment: follows.then(|| treatment.kind.clone()) })
}

fn answered(job: &Job, aims: &Aims, words: Words, last: &str) -> Option<Answered> {
    let id: EntryId = last.parse().ok()?;
    let row = job.ground.iter().find(|row| row.entry == id)?;
    let GroundReading { journal, stage, says, stands, settled } = GroundReading::of(aims, row)?;
    let (class, mark) = match (stands, settled) {
        (Stands::Under, _) => ("stop", "■"),
        (_, false) => ("look", "◇"),
        _ => ("", ""),
    };
    let title = format!("{}, {}", words.journal(journal), stage_name(stage).to_lowercase());
    Some(Answered { title, says, class, mark, seq: id })
}

fn reading_form(
    job: &Job,
    aims: &Aims,
    ground: &[JournalId],
    words: Words,
    asked: &Asked,
    came: Option<(String, String)>,
) -> Result<ReadingForm, Trouble> {
    let (wanted_journal, wanted_stage) = (journal_named(&asked.journal), Stage::of_word(&asked.stage));
    let (journal, stage) =
        next(job, aims, ground, wanted_journal, wanted_stage).ok_or_else(|| Trouble::fault("no journal to grind"))?;
    let stages: Vec<Stage> =
        aims.sets.iter().flat_map(|aim| working_stages(aims, aim)).fold(Vec::new(), |mut all, stage| {
            if !all.contains(&stage) {
                all.push(stage);
            }
            all
        });
    let used = job.ground.iter().rev().find(|row| journal_of(&row.row.row).is_some_and(|j| j.set == journal.set));
    let used = used.and_then(|row| row.row.row.words("with")).or(job.micrometer.as_deref()).unwrap_or_default();
    let wanted = if asked.with.is_empty() { used } else { asked.with.as_str() };
    let (fault, typed) = came.map_or((None, String::new()), |(fault, typed)| (Some(words.put(&fault)), typed));
    Ok(ReadingForm {
        form: Form::blank("ground")?,
        journals: ground.iter().map(|j| (j.to_string(), words.journal(*j), *j == journal)).collect(),
        stages: stages.into_iter().map(|s| (s.word().to_owned(), stage_name(s).to_owned(), s == stage)).collect(),
        micrometers: micrometers(aims, journal.set, wanted),
        fault,
        typed,
    })
}

/// The micrometers to choose from for a set; the one wanted is chosen, or else the first that reaches.
pub(crate) fn micrometers(aims: &Aims, set: SetName, wanted: &str) -> Options {
    let known = aims.micrometers_for(set);
    let mut options: Options = known.iter().map(|m| (m.name.clone(), zero_words(m), m.name == wanted)).collect();
    if options.is_empty() {
        options.push((String::new(), "the shop’s usual micrometer".to_owned(), true));
    }
    // Where the one in hand does not reach, the browser shows the first.
    options
}

fn zero_words(m: &gauge::Instrument) -> String {
    if m.zero_mm == 0.0 {
        return m.name.clone();
    }
    let by = units::show_mm(m.zero_mm.abs(), m.unit, m.unit.usual_decimals());
    format!("{} (reads {by} {} {})", m.name, m.unit, if m.zero_mm > 0.0 { "high" } else { "low" })
}

fn taken(job: &Job, aims: &Aims, words: Words) -> Vec<Taken> {
    let rows = job.ground.iter().rev().filter_map(|row| {
        let GroundReading { journal, stage, says, .. } = GroundReading::of(aims, row)?;
        Some(Taken {
            journal: words.journal(journal),
            stage: stage_name(stage),
            read: row.row.row.get("size").and_then(Value::as_typed).unwrap_or_default().to_owned(),
            says,
            who: row.who.clone(),
            when: clock(&row.when),
        })
    });
    rows.collect()
}

fn cleaning(
    job: &Job,
    ground: &[JournalId],
    words: Words,
    came: Option<(Fields, Vec<Fault>)>,
) -> Result<Cleaning, Trouble> {
    let (fields, faults) = came.unwrap_or_default();
    let rows = ground.iter().map(|journal| {
        let key = format!("{}-{}", journal.set.word(), journal.number);
        let known = job.cleaned_up.iter().find(|clean| clean.journal == journal.to_string());
        let typed = fields.text(&format!("clean-{key}")).to_owned();
        CleanRow {
            name: words.journal(*journal),
            known: match known {
                None => "not answered".to_owned(),
                Some(clean) if clean.yes => "cleaned up".to_owned(),
                Some(clean) => format!("did not clean up: {}", clean.left.as_deref().unwrap_or("place not said")),
            },
            stop: known.is_some_and(|clean| !clean.yes),
            yes: typed == "yes",
            no: typed == "no",
            left: fields.text(&format!("left-{key}")).to_owned(),
            fault: faults.iter().find(|fault| fault.field == key).map(|fault| fault.says.clone()),
            key,
        }
    });
    let rows: Vec<CleanRow> = rows.collect();
    let open = rows.iter().filter(|row| row.known == "not answered").count();
    let form = if faults.is_empty() { Form::blank("clean")? } else { Form::again("clean", &fields, faults)? };
    Ok(Cleaning { form, rows, open })
}

fn not_clean(job: &Job, words: Words) -> Vec<String> {
    let failed = job.cleaned_up.iter().filter(|clean| !clean.yes);
    failed
        .map(|clean| {
            let left = clean.left.as_deref().unwrap_or("place not said");
            format!("{} did not clean up: {left}.", words.journal_named(&clean.journal))
        })
        .collect()
}

/// What the program said before, against what happened.
fn chances(job: &Job, aims: &Aims, words: Words) -> Vec<String> {
    let lines = aims.sets.iter().filter_map(|aim| {
        let under_mm = aim.undersize_mm()?;
        let decided = job.decisions.iter().find(|decided| decided.set == aim.set.word())?;
        let count_of = aims.sheet.specification.set(aim.set).count();
        let journals = (1..=count_of).map(|number| JournalId { set: aim.set, number });
        let answers: Vec<(JournalId, bool)> = journals
            .filter_map(|journal| {
                let clean = job.cleaned_up.iter().find(|clean| clean.journal == journal.to_string())?;
                Some((journal, clean.yes))
            })
            .collect();
        if answers.is_empty() {
            return None;
        }
        let failed: Vec<String> = answers.iter().filter(|(_, yes)| !yes).map(|(j, _)| words.journal(*j)).collect();
        let happened = match (failed.as_slice(), answers.len()) {
            ([], all) if all == count_of => "they did".to_owned(),
            ([], some) => format!("{some} of {count_of} did so far"),
            (failed, _) => format!("{} did not", failed.join(", ")),
        };
        let size =
            if under_mm == 0.0 { "standard".to_owned() } else { nouns::choice_words(&decided.choice, aims.unit()) };
        let said = match said_chance(&decided.verdict) {
            Some(chance) => format!("our chance of cleaning up at {size} was {chance}"),
            None => format!("no chance was worked out for {size}"),
        };
        Some(format!("{}: {said}; {happened}.", words.set(aim.set)))
    });
    lines.collect()
}

/// The first chance that a sentence of the verdict names: `97 in 100`.
fn said_chance(verdict: &str) -> Option<&str> {
    let end = verdict.find(" in 100")?;
    let before = verdict.get(..end)?;
    let digits = before.trim_end_matches(|c: char| c.is_ascii_digit());
    let from = ["more than ", "fewer than "].into_iter().find(|lead| digits.ends_with(lead)).map_or(0, str::len);
    let start = digits.len() - from;
    (digits.len() < before.len()).then(|| verdict.get(start..end + " in 100".len())).flatten()
}

/// A reading is taken.
async fn reading(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(n).await?;
    let shop = shop_of(&desk).await?;
    let aims = Aims::of(&held)?.offering(&shop);
    let asked = Asked {
        last: String::new(),
        journal: fields.text("journal").to_owned(),
        stage: fields.text("stage").to_owned(),
        with: fields.text("with").to_owned(),
    };
    let journal = journal_named(&asked.journal).filter(|journal| ground_journals(&aims).contains(journal));
    let stage = Stage::of_word(&asked.stage);
    let typed = fields.text("size");
    // From the last main to the first pin the list still shows the micrometer for the mains, which cannot reach.
    let asked = match journal.map(|journal| aims.micrometers_for(journal.set)).as_deref() {
        Some([only]) if only.name != asked.with => Asked { with: only.name.clone(), ..asked },
        _ => asked,
    };
    let row = grinding::keyed(&aims, &shop, typed, &asked.with, journal, stage);
    let row = match row {
        Ok(row) => row,
        Err(says) => {
            let came = Came { reading: Some((says, typed.to_owned())), ..Came::default() };
            return crate::visitor::show_again(&page(&desk, &visitor, &held, &asked, came).await?);
        }
    };
    let taken_up = journal.and_then(|journal| aims.taking_up(&asked.with, &shop, journal.set));
    let drafts = with_taken_up(&visitor, id, EntryKind::GroundReading(row), taken_up)?;
    match desk.write(n, seen, &drafts, |_| false).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/grind?last={id}#ground-size"))),
        Err(not) => not_written(not),
    }
}

/// A reading, after the entry that takes its micrometer up where that is new to the job.
pub(crate) fn with_taken_up(
    visitor: &Visitor,
    id: EntryId,
    reading: EntryKind,
    taken_up: Option<EntryKind>,
) -> Result<Vec<shop::Draft>, Trouble> {
    let mut drafts = Vec::new();
    if let Some(kind) = taken_up {
        drafts.push(shop::Draft { id: derived(id, "micrometer"), ..visitor.draft(kind)? });
    }
    drafts.push(shop::Draft { id, ..visitor.draft(reading)? });
    Ok(drafts)
}

/// A form that could not be written, where it has no fields to say it at.
pub(crate) fn not_written(not: NotWritten) -> Answer {
    match not {
        NotWritten::Trouble(trouble) => Err(trouble),
        NotWritten::Again(status, faults) => {
            let mut trouble = Trouble::fields(faults);
            trouble.status = status;
            Ok(trouble.into_response())
        }
    }
}

async fn cleaned(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(n).await?;
    let aims = Aims::of(&held)?;
    let words = shop_of(&desk).await?.setting("words").map_or(Words::default(), |word| Words::of_setting(Some(word)));
    let (mut drafts, mut faults) = (Vec::new(), Vec::new());
    for journal in ground_journals(&aims) {
        let key = format!("{}-{}", journal.set.word(), journal.number);
        let left = fields.get(&format!("left-{key}"));
        let name = words.journal(journal);
        let answer = match (fields.text(&format!("clean-{key}")), left) {
            ("yes", None) => (true, None),
            ("yes", Some(_)) => {
                faults.push(Fault::new(
                    &key,
                    format!("{name}: it cleaned up, and a place where it did not? Keep one of the two."),
                ));
                continue;
            }
            ("no", Some(left)) => (false, Some(left.to_owned())),
            ("no", None) => {
                faults.push(Fault::new(
                    &key,
                    format!("{name}: say where it did not clean up, like rear, at the radius."),
                ));
                continue;
            }
            (_, Some(_)) => {
                faults.push(Fault::new(&key, format!("{name}: answer whether it cleaned up.")));
                continue;
            }
            (_, None) => continue,
        };
        let kind = EntryKind::CleanedUp { journal: journal.to_string(), yes: answer.0, left: answer.1 };
        drafts.push(shop::Draft { id: derived(id, &journal.to_string()), ..visitor.draft(kind)? });
    }
    if faults.is_empty() && drafts.is_empty() {
        let key = fields.all().find_map(|(name, _)| name.strip_prefix("left-")).unwrap_or_default();
        faults.push(Fault::new(key, "Answer for at least one journal, then save."));
    }
    if !faults.is_empty() {
        let came = Came { cleaned: Some((fields, faults)), ..Came::default() };
        return crate::visitor::show_again(&page(&desk, &visitor, &held, &Asked::default(), came).await?);
    }
    match desk.write(n, seen, &drafts, |kind| matches!(kind, EntryKind::CleanedUp { .. })).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/grind#cleaned"))),
        Err(not) => not_written(not),
    }
}

async fn done(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let moved = EntryKind::Moved { to: Place::FinalCheck };
    let draft = shop::Draft { id, ..visitor.draft(moved)? };
    // A new sheet or a new decision means that the grinding is not done.
    let clashes = |kind: &EntryKind| {
        matches!(kind, EntryKind::SheetIssued { .. } | EntryKind::Decision { .. } | EntryKind::Moved { .. })
    };
    match desk.write(n, seen, &[draft], clashes).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/final"))),
        Err(not) => not_written(not),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_chance_is_taken_from_the_words_of_the_verdict() {
        for (verdict, chance) in [
            ("At 0.010 in under cleaning up is very likely: 97 in 100 such cranks would.", Some("97 in 100")),
            ("more than 99 in 100. What decides it: main 3.", Some("more than 99 in 100")),
            ("hardly a chance, fewer than 1 in 100", Some("fewer than 1 in 100")),
            ("bearings in stock", None),
            (" in 100", None),
            ("", None),
        ] {
            assert_eq!(said_chance(verdict), chance, "{verdict}");
        }
    }
}
