//! The verdict, and the decision on it.

use askama::Template;
use axum::Router;
use axum::extract::{Path, State};
use axum::response::Response;
use axum::routing::{get, post};
use crank::SetName;
use sheet::RoughnessWords;
use shop::{EntryKind, Shop, Stage};

use crate::bar::Bar;
use crate::deciding::{Deciding, Issue, verdict_words};
use crate::desk::Desk;
use crate::door::Refused;
use crate::drawings::Figure;
use crate::judged::{Judgement, PATIENCE, as_decided};
use crate::ladder::{Found, Ladder, Leads, Manner, Tally, Weight, waiting};
use crate::so_far::{SoFar, Working as BeingWorkedOut};
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Fields, Frame, Visitor, form_id, go, shop_of, show, show_again};
use crate::whole_shaft::{self, BendShown, CaseRow, FeatureRow, SetUpRows};
use crate::wording::{OldWay, clock, words_of};
use crate::working::{self, JournalRow, PairRow, Working};
use job::JobCard;
use job::aims::Aims;
use job::deciding::{REASONS, code};
use job::nouns::choice_of;
use job::plan_sheet::PlanSheet;
use job::{Case, may};
use regrind::Choice;

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
    let judgement = desk.judges.judge(&held, PATIENCE).await;
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
    /// The first size that cleans up.
    first_size: Vec<String>,
    case: Vec<CaseRow>,
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
    shaft: ShaftPart,
    bend: Option<BendShown>,
    figure: Option<Figure>,
    unit: &'static str,
    shown_working: Working,
    reasons: [(&'static str, &'static str); 3],
    to_grind: bool,
}

/// The shaft as a whole.
#[derive(Default)]
struct ShaftPart {
    /// What decides the axis.
    decides: Option<String>,
    /// What is said where the shop holds the present axis.
    held: &'static str,
    set_ups: Vec<SetUpRows>,
    curve: Option<Figure>,
    throws: Vec<String>,
    features: Vec<FeatureRow>,
    balance: Vec<String>,
}

impl ShaftPart {
    fn of(found: &Found<'_>) -> ShaftPart {
        ShaftPart {
            decides: working::axis_decides(found),
            held: whole_shaft::way_words(regrind::Axis::Held),
            set_ups: found.set_ups(),
            curve: found.curve_figure(),
            throws: whole_shaft::throws(found.sheet, found.manner.words),
            features: found.features(),
            balance: found.balance(),
        }
    }

    /// Whether there is anything to show of it.
    fn is_told(&self) -> bool {
        !(self.set_ups.is_empty() && self.features.is_empty() && self.balance.is_empty())
    }
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
    let judgement = desk.judges.judge(&held, PATIENCE).await;
    show(&page(&visitor, &shop, &held, &judgement, None)?)
}

fn page(
    visitor: &Visitor,
    shop: &Shop,
    held: &JobCard,
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
        shaft: ShaftPart::default(),
        bend: None,
        figure: None,
        unit: held.unit().plural(),
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
            page.problems = problems.iter().map(|problem| problem.to_string()).collect();
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
            first_size: judged.map_or_else(Vec::new, |(found, of_set)| found.first_size(of_set)),
            case: judged.map_or_else(Vec::new, |(found, of_set)| found.case(of_set)),
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
    let choice = |set| found.verdict.sets.iter().find(|known| known.set == set).map(|known| known.choice);
    page.remarks.extend(RoughnessWords::of(found.sheet).meaning(choice).into_iter().map(|(id, says)| Remark {
        whose: Some(Leads { words: words.journal(id), to: Some(found.journal(id)) }),
        says: words.put(&says),
    }));
    page.remarks.extend(found.sheet.queries.iter().map(|query| Remark {
        whose: None,
        says: format!("Book figure {}: {}; {}. {}", query.key, query.found, query.expected, query.cause),
    }));
    let policy = &found.sheet.policy;
    page.priced = policy.prices.is_some();
    let fit = latest.and_then(|(judged, _)| judged.fit.as_ref());
    page.bill = page.priced.then(|| Bill::of(&found, fit));
    page.measured = working::measured(&found);
    page.unit_name = found.sheet.unit.plural();
    page.journals = working::journals(&found);
    page.limits = regrind::words::how_sure(policy.within_at, policy.outside_at);
    page.pairs = working::pairs(&found);
    page.shaft = ShaftPart::of(&found);
    page.bend = whole_shaft::bend(found.sheet, words);
    page.figure = whole_shaft::bend_figure(found.sheet, words);
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
fn stale(held: &JobCard) -> Option<String> {
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
    let judgement = desk.judges.judge(&held, 10 * PATIENCE).await;
    let judged = judgement.clone().into_new();
    let case = Case { verdict: judged.as_ref().and_then(|judged| judged.answer.as_ref().ok()), ..held.case(&shop) };
    let (named, choice) = (fields.text("set"), fields.text("choice"));
    let mut faults = Vec::new();
    let words = words_of(&shop);
    let refused_in = |refusal| Refused::in_words(refusal, words);
    let asked = |reason: Option<&str>| may::decide(&case, named, choice, reason).map_err(refused_in);
    // The rule's own choice takes a reason only where something stands against it.
    let (overruled, refused) = match asked(None) {
        Ok(()) => (None, None),
        Err(_) => {
            let reason = reason(&fields, &mut faults);
            let refused = asked(reason.as_deref()).err();
            (reason, refused)
        }
    };
    let own = case.verdict.and_then(|(sheet, verdict)| {
        let set = verdict.sets.iter().find(|set| set.set.word() == named)?;
        Some((sheet, verdict, set))
    });
    let Some((sheet, verdict, set)) = own else {
        return Err(refused.map_or_else(|| Trouble::fault("a set was decided that is not there"), Trouble::from));
    };
    if faults.is_empty()
        && let Some(refused) = refused
    {
        if !refused.is_about_what_was_asked() {
            return Err(refused.into());
        }
        let at = if overruled.is_none() { "reason" } else { "words" };
        let mended = |fault: Fault| if fault.field == "overruled" { Fault::new(at, fault.says) } else { fault };
        faults.extend(refused.faults().into_iter().map(mended));
    }
    if !faults.is_empty() {
        // To leave it open is none of the choices that the form offers.
        let open = choice_of(choice, sheet.unit) == Some(Choice::NotDecided);
        let returned = Returned {
            set: set.set,
            faults,
            choice: if open { String::new() } else { choice.to_owned() },
            reason: fields.text("reason").to_owned(),
            words: fields.text("words").to_owned(),
        };
        return show_again(&page(&visitor, &shop, &held, &judgement, Some(&returned))?);
    }
    let found = Found { job: &held.job, sheet, verdict, manner: &manner };
    let verdict = verdict_words(&found, set, choice);
    let kind = EntryKind::Decision { set: set.set.word().to_owned(), choice: choice.to_owned(), overruled, verdict };
    let mut draft = visitor.draft(kind)?;
    draft.id = id;
    desk.put_down_if_unchanged(job, seen, &[draft]).await?;
    Ok(to_verdict(job))
}

/// The reason for choosing other than the rule, as it goes into the record; nothing where none was given.
fn reason(fields: &Fields, faults: &mut Vec<Fault>) -> Option<String> {
    let typed = fields.text("words");
    let known = REASONS.iter().find(|(key, _)| *key == fields.text("reason")).map(|(_, words)| *words);
    match (known, typed) {
        (Some(known), "") => Some(known.to_owned()),
        (Some(known), typed) => Some(format!("{known}: {typed}")),
        (None, _) if fields.text("reason") != "other" => None,
        (None, "") => {
            faults.push(Fault::new("words", "Write the reason in a few words."));
            None
        }
        (None, typed) => Some(typed.to_owned()),
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
    let plan = PlanSheet::of(&held.job, &Aims::of(&held)?.sheet).to_value();
    let judged = desk.judges.judge(&held, 10 * PATIENCE).await.into_new();
    let case = Case { verdict: judged.as_ref().and_then(|judged| judged.answer.as_ref().ok()), ..held.case(&shop) };
    may::issue(&case, &plan).map_err(|no| Refused::in_words(no, words_of(&shop)))?;
    let code = code(id, &held.job).ok_or_else(|| Trouble::fault("no code is left for a sheet of this job"))?;
    let supersedes = held.job.sheets.last().map(|sheet| sheet.code.clone());
    let mut draft = visitor.draft(EntryKind::SheetIssued { code, supersedes, plan })?;
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
    let judged = desk.judges.judge(&held, 10 * PATIENCE).await.into_new();
    let case = Case { verdict: judged.as_ref().and_then(|judged| judged.answer.as_ref().ok()), ..held.case(&shop) };
    may::go_without_grinding(&case).map_err(|no| Refused::in_words(no, words_of(&shop)))?;
    let mut draft = visitor.draft(EntryKind::Moved { to: Stage::FinalCheck })?;
    draft.id = id;
    desk.put_down_if_unchanged(job, seen, &[draft]).await?;
    Ok(to_final())
}
