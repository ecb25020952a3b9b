//! The verdict, and the decision on it.

use askama::Template;
use axum::Router;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use crank::SetName;
use regrind::SetVerdict;
use shop::{EntryKind, Shop, Stage};

use crate::bar::Bar;
use crate::deciding::{Deciding, Issue, REASONS, choices, code, held_up, measured, must_answer, verdict_words};
use crate::desk::{Desk, Held};
use crate::drawings::Figure;
use crate::judged::{Judgement, PATIENCE, as_decided, read};
use crate::ladder::{Found, Ladder, Leads, Manner, Tally, Weight, waiting};
use crate::plan_sheet::{PlanSheet, choice_of, choice_text};
use crate::so_far::{SoFar, Working as BeingWorkedOut};
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Fields, Frame, Visitor, form_id, go, shop_of, show, show_again};
use crate::wording::clock;
use crate::working::{self, JournalRow, PairRow, Working};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/jobs/{job}/so-far", get(so_far))
        .route("/jobs/{job}/verdict", get(verdict))
        .route("/jobs/{job}/decide", post(decide))
        .route("/jobs/{job}/issue", post(issue))
        .route("/jobs/{job}/no-grinding", post(no_grinding))
}

/// The panel by itself, for a page that shows it already.
async fn so_far(State(desk): State<Desk>, Path(job): Path<i64>) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let judgement = desk.judges.judge(&held.job, PATIENCE).await;
    show(&SoFar::of(&held, &judgement, &Manner::of(&shop, &held.job)))
}

/// One set on the page.
struct SetPart {
    name: String,
    key: &'static str,
    tally: Tally,
    ladder: Option<Ladder>,
    drawing: Option<Figure>,
    deciding: Option<Deciding>,
    /// Names for what its two forms write; sent again after going back, each still writes once.
    ids: [String; 2],
}

/// A remark with its journal.
struct Remark {
    whose: Option<Leads>,
    says: String,
}

#[derive(Template)]
#[template(path = "verdict.html")]
struct VerdictPage {
    frame: Frame,
    bar: Bar,
    /// Where the form that came back stands, and what its set is called.
    returned: Option<(String, String)>,
    working: Option<BeingWorkedOut>,
    waits: Option<String>,
    stale: Option<String>,
    problems: Vec<String>,
    /// Whether what presses is that the work must stop.
    stops: bool,
    pressing: Vec<Remark>,
    remarks: Vec<Remark>,
    sets: Vec<SetPart>,
    priced: bool,
    bill: Option<Bill>,
    issue: Option<(Issue, String)>,
    measured: String,
    unit_name: &'static str,
    journals: Vec<JournalRow>,
    limits: String,
    pairs: Vec<PairRow>,
    axis: Option<String>,
    shown_working: Working,
    reasons: [(&'static str, &'static str); 3],
    to_grind: bool,
}

/// What the work comes to, as the quotation has it.
struct Bill {
    total: String,
    /// With what going again adds on average; empty where nothing may.
    likely: String,
    not_priced: String,
}

impl Bill {
    fn of(found: &Found<'_>, fit: Option<&fit::Fit>) -> Bill {
        let quote = found.sheet.quote(&as_decided(found.job, found.sheet, found.verdict), fit);
        let price = |amount| found.manner.price(amount, &quote);
        Bill {
            total: price(quote.total()),
            likely: if quote.again.is_empty() { String::new() } else { price(quote.likely()) },
            not_priced: found.manner.words.put(&quote.not_priced.join("; ")),
        }
    }
}

/// A form that came back.
struct Returned {
    set: SetName,
    faults: Vec<Fault>,
    choice: String,
    reason: String,
    words: String,
}

async fn verdict(State(desk): State<Desk>, visitor: Visitor, Path(job): Path<i64>) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let judgement = desk.judges.judge(&held.job, PATIENCE).await;
    show(&page(&visitor, &shop, &held, &judgement, None)?)
}

fn page(
    visitor: &Visitor,
    shop: &Shop,
    held: &Held,
    judgement: &Judgement,
    returned: Option<&Returned>,
) -> Result<VerdictPage, Trouble> {
    let job = &held.job;
    let manner = Manner::of(shop, job);
    let words = manner.words;
    let error = if returned.is_some() { "Error: " } else { "" };
    let frame = visitor.frame(shop, format!("{error}Verdict on job {}", job.number), "jobs");
    let mut page = VerdictPage {
        frame,
        bar: Bar::of(job, "verdict"),
        returned: None,
        working: BeingWorkedOut::of(judgement),
        waits: waiting(job),
        stale: stale(held),
        problems: Vec::new(),
        stops: false,
        pressing: Vec::new(),
        remarks: Vec::new(),
        sets: Vec::new(),
        priced: false,
        bill: None,
        issue: None,
        measured: String::new(),
        unit_name: "",
        journals: Vec::new(),
        limits: String::new(),
        pairs: Vec::new(),
        axis: None,
        shown_working: Working::default(),
        reasons: REASONS,
        to_grind: false,
    };
    let book = match &held.book {
        Ok(book) => book,
        Err(faults) => {
            page.problems = faults.clone();
            return Ok(page);
        }
    };
    let spots = manner.walk.spots(book);
    let latest = judgement.latest();
    let answer = match latest.map(|(judged, _)| &judged.answer) {
        Some(Ok(answer)) => Some(answer),
        Some(Err(problems)) => {
            page.problems = problems.iter().map(|problem| words.put(&problem.to_string())).collect();
            None
        }
        None => None,
    };
    let found = answer.map(|(sheet, verdict)| Found { job, sheet, verdict, manner: &manner });
    // What stands on an old verdict may be looked at, not decided on.
    let is_new = latest.is_some_and(|(_, is_new)| is_new);
    for set in SetName::BOTH {
        let tally = Tally::of(job, &spots, set);
        let judged = found.as_ref().and_then(|found| {
            let of_set = found.verdict.sets.iter().find(|known| known.set == set)?;
            tally.started.then_some((found, of_set))
        });
        let deciding = judged.filter(|_| is_new).and_then(|(found, of_set)| Deciding::of(found, of_set));
        page.sets.push(SetPart {
            name: words.set(set),
            key: set.word(),
            ids: [form_id()?, form_id()?],
            tally,
            ladder: judged.map(|(found, of_set)| found.ladder(of_set, tally)),
            drawing: judged.and_then(|(found, of_set)| Figure::of_sizes(found, of_set)),
            deciding: deciding.map(|deciding| match returned.filter(|returned| returned.set == set) {
                Some(returned) => put_back(deciding, returned),
                None => deciding,
            }),
        });
    }
    page.returned = returned.map(|returned| {
        let own = page.sets.iter().find(|part| part.key == returned.set.word());
        let by_rule =
            own.and_then(|part| part.deciding.as_ref()).is_some_and(|deciding| deciding.take_fault().is_some());
        let field = if by_rule { "answer" } else { "choice" };
        (format!("{}-{field}", returned.set.word()), words.set(returned.set))
    });
    let Some(found) = found else { return Ok(page) };
    let (pressing, rest): (Vec<_>, Vec<_>) =
        found.verdict.notes.iter().partition(|note| note.stops() || note.presses());
    let remark = |note: &regrind::Note| Remark {
        whose: note.journal.map(|id| Leads { words: words.journal(id), to: Some(found.journal(id)) }),
        says: words.put(&note.says),
    };
    page.stops = pressing.iter().any(|note| note.stops());
    page.pressing = pressing.into_iter().map(remark).collect();
    page.remarks = rest.into_iter().map(remark).collect();
    page.remarks.extend(found.sheet.queries.iter().map(|query| Remark {
        whose: None,
        says: format!("Book figure {}: {}; {}. {}", query.key, query.found, query.expected, query.cause),
    }));
    let policy = &found.sheet.policy;
    page.priced = policy.prices.is_some();
    let fit = latest.and_then(|(judged, _)| judged.fit.as_ref());
    page.bill = page.priced.then(|| Bill::of(&found, fit));
    page.measured = working::measured(&found, words);
    page.unit_name = found.sheet.unit.plural();
    page.journals = working::journals(&found);
    page.limits = format!(
        "Within from {} up, outside from {} down, between them too close to call: how sure the readings make it that a \
         journal keeps all its limits.",
        regrind::words::in_hundred(policy.within_at),
        regrind::words::in_hundred(policy.outside_at)
    );
    page.pairs = working::pairs(&found);
    page.axis = working::axis(&found);
    page.shown_working = working::working(&found);
    let reasons = page.sets.iter().filter_map(|part| part.ladder.as_ref());
    page.shown_working.reasons = reasons.map(|ladder| format!("{}: {}", ladder.name, ladder.reason)).collect();
    page.to_grind = !found.verdict.plans.is_empty();
    if is_new && !found.verdict.sets.is_empty() {
        page.issue = Some((Issue::of(job, found.sheet, found.verdict, words), form_id()?));
    }
    Ok(page)
}

/// What was chosen and typed goes back into the form.
fn put_back(mut deciding: Deciding, returned: &Returned) -> Deciding {
    deciding.faults = returned.faults.clone();
    deciding.came_back.clone_from(&returned.choice);
    deciding.reason.clone_from(&returned.reason);
    deciding.reason_words.clone_from(&returned.words);
    for (choice, _, marked) in &mut deciding.others {
        *marked = *choice == returned.choice;
    }
    deciding
}

/// Whether the shop's rules or the book changed after the last reading, so that the same readings were judged anew.
fn stale(held: &Held) -> Option<String> {
    let rules = |kind: &EntryKind| {
        matches!(kind, EntryKind::PolicyChanged { .. } | EntryKind::WantedChanged { .. } | EntryKind::BookedIn(_))
    };
    let counts_in = |kind: &EntryKind| {
        kind.is_sheet_row() || matches!(kind, EntryKind::SecondReading { .. } | EntryKind::Undo { .. })
    };
    let last = held.entries.iter().rev().find(|entry| rules(&entry.kind) || counts_in(&entry.kind))?;
    (rules(&last.kind) && last.seq > 1)
        .then(|| format!("Prices, limits or the shop’s rule changed at {}. Worked out again.", clock(&last.when)))
}

fn to_verdict(job: i64) -> Response {
    go(&format!("/jobs/{job}/verdict"))
}

/// Decides one set: by the rule, or otherwise with a reason.
async fn decide(State(desk): State<Desk>, Path(job): Path<i64>, visitor: Visitor, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(job).await?;
    if held.has(id) {
        return Ok(to_verdict(job));
    }
    let shop = shop_of(&desk).await?;
    let manner = Manner::of(&shop, &held.job);
    let judgement = desk.judges.judge(&held.job, 10 * PATIENCE).await;
    let answer = match judgement.latest() {
        Some((judged, true)) => judged.answer.as_ref().ok(),
        _ => None,
    };
    let Some((sheet, verdict)) = answer else {
        let says = "The chance is still being worked out, so there is nothing to decide on yet.";
        return Err(Trouble::new(StatusCode::CONFLICT, says, "Look at the verdict again in a moment, then decide."));
    };
    let found = Found { job: &held.job, sheet, verdict, manner: &manner };
    let named = |set: &&SetVerdict| set.set.word() == fields.text("set");
    let Some(set) = verdict.sets.iter().find(named) else {
        return Err(Trouble::field("set", "That set is not measured, so it cannot be decided."));
    };
    let rule = choice_text(set.choice, sheet.unit);
    let choice = fields.text("choice");
    let mut faults = Vec::new();
    if !choices(set, sheet.unit).iter().any(|(known, _)| known == choice) {
        faults.push(Fault::new("choice", "Choose one of the sizes, or what else to do."));
    }
    let against = choice_of(choice, sheet.unit).is_some_and(|choice| must_answer(&found, set.set, choice));
    let overruled = (choice != rule || against).then(|| reason(&fields, &mut faults));
    if against && fields.text("words").is_empty() && faults.is_empty() {
        let says =
            "Something stands against it, named at the head of this page. Write in your own words why it goes on.";
        faults.push(Fault::new("words", says));
    }
    if !faults.is_empty() {
        let returned = Returned {
            set: set.set,
            faults,
            choice: choice.to_owned(),
            reason: fields.text("reason").to_owned(),
            words: fields.text("words").to_owned(),
        };
        return show_again(&page(&visitor, &shop, &held, &judgement, Some(&returned))?);
    }
    let verdict = verdict_words(&found, set, choice);
    let kind = EntryKind::Decision { set: set.set.word().to_owned(), choice: choice.to_owned(), overruled, verdict };
    let mut draft = visitor.draft(kind)?;
    draft.id = id;
    desk.put_down_if_unchanged(job, seen, &[draft]).await?;
    Ok(to_verdict(job))
}

/// The reason for choosing other than the rule, as it goes into the record.
fn reason(fields: &Fields, faults: &mut Vec<Fault>) -> String {
    let typed = fields.text("words");
    let known = REASONS.iter().find(|(key, _)| *key == fields.text("reason")).map(|(_, words)| *words);
    match (known, typed) {
        (Some(known), "") => known.to_owned(),
        (Some(known), typed) => format!("{known}: {typed}"),
        (None, _) if fields.text("reason") != "other" => {
            faults.push(Fault::new("reason", "Say why: the record and the sheet carry the reason."));
            String::new()
        }
        (None, "") => {
            faults.push(Fault::new("words", "Write the reason in a few words."));
            String::new()
        }
        (None, typed) => typed.to_owned(),
    }
}

/// What was measured, to plan from.
fn sheet_of(held: &Held) -> Result<sheet::Sheet, Trouble> {
    read(&held.job).map_err(|problems| {
        let first = problems.first().map_or(String::new(), ToString::to_string);
        let says = format!("The readings cannot be judged as they stand: {first}");
        Trouble::new(StatusCode::CONFLICT, says, "Put it right on the measuring page.")
    })
}

/// Refuses where something holds the crank up.
async fn may_go_on(desk: &Desk, held: &Held, shop: &Shop, sheet: &sheet::Sheet) -> Result<(), Trouble> {
    let words = Manner::of(shop, &held.job).words;
    let judgement = desk.judges.judge(&held.job, 10 * PATIENCE).await;
    let verdict = match judgement.latest() {
        Some((judged, true)) => judged.answer.as_ref().ok().map(|(_, verdict)| verdict),
        Some((_, false)) | None => None,
    };
    let nothing = measured(&held.job).next().is_none();
    let Some(verdict) = verdict else {
        let says = if nothing { "Nothing is measured yet." } else { "The chance is still being worked out." };
        return Err(Trouble::new(StatusCode::CONFLICT, says, "Look at the verdict again in a moment."));
    };
    match held_up(&held.job, sheet, verdict, words).into_iter().next() {
        None => Ok(()),
        Some(says) => Err(Trouble::new(StatusCode::CONFLICT, says, "See the page of the verdict.")),
    }
}

/// Issues a sheet for the grinder.
async fn issue(State(desk): State<Desk>, Path(job): Path<i64>, visitor: Visitor, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(job).await?;
    let to_grind = || go(&format!("/jobs/{job}/grind"));
    if held.has(id) {
        return Ok(to_grind());
    }
    let shop = shop_of(&desk).await?;
    let sheet = sheet_of(&held)?;
    may_go_on(&desk, &held, &shop, &sheet).await?;
    let plan = PlanSheet::of(&held.job, &sheet);
    if plan.sets.iter().all(|set| set.stages.is_empty()) {
        let says = "No set is to be ground, so there is no sheet to issue.";
        return Err(Trouble::new(StatusCode::CONFLICT, says, "Go on to the final check instead."));
    }
    let code = code(id, &held.job).ok_or_else(|| Trouble::fault("no code is left for a sheet of this job"))?;
    let supersedes = held.job.sheets.last().map(|sheet| sheet.code.clone());
    let mut draft = visitor.draft(EntryKind::SheetIssued { code, supersedes, plan: plan.to_value() })?;
    draft.id = id;
    desk.put_down_if_unchanged(job, seen, &[draft]).await?;
    Ok(to_grind())
}

/// Nothing is to be ground: the final check is next.
async fn no_grinding(State(desk): State<Desk>, Path(job): Path<i64>, visitor: Visitor, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(job).await?;
    let to_final = || go(&format!("/jobs/{job}/final"));
    if held.has(id) {
        return Ok(to_final());
    }
    let shop = shop_of(&desk).await?;
    let sheet = sheet_of(&held)?;
    may_go_on(&desk, &held, &shop, &sheet).await?;
    if PlanSheet::of(&held.job, &sheet).sets.iter().any(|set| !set.stages.is_empty()) {
        let says = "A set is to be ground, so the grinder is next.";
        return Err(Trouble::new(StatusCode::CONFLICT, says, "Issue the sheet for the grinder."));
    }
    let mut draft = visitor.draft(EntryKind::Moved { to: Stage::FinalCheck })?;
    draft.id = id;
    desk.put_down_if_unchanged(job, seen, &[draft]).await?;
    Ok(to_final())
}
