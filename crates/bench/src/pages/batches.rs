//! Batches for heat treatment: several cranks away together, their sizes before and after.

use askama::Template;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use crank::JournalId;
use job::may;
use shop::{Draft, EntryKind, Head, Job, Row, Shop, ShopKind, Stage, Treatment, Value, Wanted};

use crate::bar::Bar;
use crate::desk::Desk;
use crate::door::Refused;
use crate::early::EarlyPage;
use crate::pages::grind::{micrometers, not_written};
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Fields, Frame, Visitor, form_id, go, shop_of, show, show_again};
use crate::wording::{OldWay, Words, count, day, words_of};
use job::JobCard;
use job::aims::{Aims, is_measured};
use job::treatment::{Growth, Treated, bears_on_it, before_mm, by_the_book, last_ground, of_journal, sending};
use job::undo::derived;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/batches", get(batches).post(opened))
        .route("/batches/{batch}", get(batch).post(changed))
        .route("/batches/{batch}/add", post(added))
        .route("/batches/{batch}/close", post(closed))
        .route("/jobs/{job}/treatment", get(treatment))
        .route("/jobs/{job}/treatment/send", post(sent))
        .route("/jobs/{job}/treatment/back", post(back))
        .route("/jobs/{job}/treatment/out", post(out))
}

/// What is known of a batch: who treats it, which treatment, when it goes.
#[derive(Clone, Debug, Default)]
struct Particulars {
    treater: String,
    treatment: String,
    goes: String,
    says: String,
}

impl Particulars {
    fn of(value: &Value) -> Particulars {
        let text = |key: &str| value.get(key).and_then(Value::as_typed).unwrap_or_default().to_owned();
        Particulars { treater: text("treater"), treatment: text("treatment"), goes: text("goes"), says: text("note") }
    }

    fn typed(fields: &Fields) -> Particulars {
        let text = |key: &str| fields.text(key).to_owned();
        Particulars { treater: text("treater"), treatment: text("treatment"), goes: text("goes"), says: text("note") }
    }

    fn to_value(&self) -> Value {
        Value::table([
            ("treater", Value::from(self.treater.as_str())),
            ("treatment", Value::from(self.treatment.as_str())),
            ("goes", Value::from(self.goes.as_str())),
            ("note", Value::from(self.says.as_str())),
        ])
    }

    /// In one line.
    fn words(&self) -> String {
        let goes = if self.goes.is_empty() { String::new() } else { format!("goes {}", day(&self.goes)) };
        let parts = [self.treatment.clone(), self.treater.clone(), goes];
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
    }

    fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        if self.treatment.is_empty() {
            faults.push(Fault::new("treatment", "Enter which treatment, like nitriding."));
        }
        if self.treater.is_empty() {
            faults.push(Fault::new("treater", "Enter who treats it."));
        }
        if !self.goes.is_empty() && self.goes.parse::<jiff::civil::Date>().is_err() {
            faults.push(Fault::new("goes", "The day must be a date, like 2026-11-30; or leave it empty."));
        }
        faults
    }
}

struct BatchLine {
    name: String,
    to: String,
    words: String,
    jobs: String,
}

#[derive(Template)]
#[template(path = "batches.html")]
struct BatchesPage {
    frame: Frame,
    id: String,
    open: Vec<BatchLine>,
    name: String,
    particulars: Particulars,
    faults: Vec<Fault>,
}

fn fault<'a>(faults: &'a [Fault], field: &str) -> Option<&'a str> {
    faults.iter().find(|fault| fault.field == field).map(|fault| fault.says.as_str())
}

/// The address of a batch.
fn address(name: &str) -> String {
    // What a path may hold as it is; every other byte as two hexadecimal digits.
    let plain = |byte: &u8| byte.is_ascii_alphanumeric() || b"-_~".contains(byte);
    let coded: String = name
        .bytes()
        .map(|byte| if plain(&byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect();
    format!("/batches/{coded}")
}

async fn batches(State(desk): State<Desk>, visitor: Visitor) -> Answer {
    show(&batches_page(&desk, &visitor, None).await?)
}

async fn batches_page(
    desk: &Desk,
    visitor: &Visitor,
    came: Option<(&Fields, Vec<Fault>)>,
) -> Result<BatchesPage, Trouble> {
    let shop = shop_of(desk).await?;
    let mut open = Vec::new();
    for (name, particulars) in &shop.batches {
        let jobs = desk.store.jobs_in_batch(name).await?;
        let away = jobs.iter().filter(|head| head.stage == Stage::AtTreatment).count();
        open.push(BatchLine {
            name: name.clone(),
            to: address(name),
            words: Particulars::of(particulars).words(),
            jobs: format!("{}, {away} away", count(jobs.len(), "crank")),
        });
    }
    let title = if came.is_some() { "Error: Batches" } else { "Batches" };
    let (name, particulars, faults) = match came {
        Some((fields, faults)) => (fields.text("name").to_owned(), Particulars::typed(fields), faults),
        None => (String::new(), Particulars::default(), Vec::new()),
    };
    Ok(BatchesPage { frame: visitor.frame(&shop, title, "batches"), id: form_id()?, open, name, particulars, faults })
}

async fn opened(State(desk): State<Desk>, visitor: Visitor, fields: Fields) -> Answer {
    let id = fields.id()?;
    let shop = shop_of(&desk).await?;
    let name = fields.text("name");
    let particulars = Particulars::typed(&fields);
    let mut faults = Vec::new();
    if name.is_empty() {
        faults.push(Fault::new("name", "Enter what the batch is called, like November 2."));
    } else if name.chars().count() > 60 {
        faults.push(Fault::new("name", "Shorten the name to 60 characters."));
    } else if let Some((_, there)) = shop.batches.iter().find(|(known, _)| known == name) {
        // The same form sent twice finds its own batch.
        if there.to_json() == particulars.to_value().to_json() {
            return Ok(go(&address(name)));
        }
        faults.push(Fault::new("name", format!("There is a batch {name} already. Give this one another name.")));
    } else if !desk.store.jobs_in_batch(name).await?.is_empty() {
        faults.push(Fault::new("name", format!("A batch {name} was closed before. Give this one another name.")));
    }
    faults.extend(particulars.faults());
    if !faults.is_empty() {
        return show_again(&batches_page(&desk, &visitor, Some((&fields, faults))).await?);
    }
    let kind = ShopKind::Batch { batch: name.to_owned(), particulars: particulars.to_value() };
    let draft = Draft { id, ..visitor.shop_draft(kind)? };
    match desk.write_to_shop(&[draft]).await {
        Ok(()) => Ok(go(&address(name))),
        Err(not) => not_written(not),
    }
}

struct JobLine {
    job: i64,
    crank: String,
    customer: String,
    state: &'static str,
    to: String,
}

/// A crank that could go into the batch.
struct Candidate {
    job: i64,
    words: String,
    /// What the sizes before would be.
    sizes: String,
}

#[derive(Template)]
#[template(path = "batch.html")]
struct BatchPage {
    frame: Frame,
    name: String,
    to: String,
    open: bool,
    particulars: Particulars,
    goes: String,
    jobs: Vec<JobLine>,
    away: usize,
    candidates: Vec<Candidate>,
    ids: [String; 3],
    faults: Vec<Fault>,
    numbers: String,
}

async fn batch(State(desk): State<Desk>, visitor: Visitor, Path(name): Path<String>) -> Answer {
    show(&batch_page(&desk, &visitor, &name, None).await?)
}

fn state(head: &Head) -> &'static str {
    match head.stage {
        Stage::AtTreatment => "away",
        Stage::AtTheGrinder => "taken out, at the grinder",
        _ => "back",
    }
}

async fn batch_page(
    desk: &Desk,
    visitor: &Visitor,
    name: &str,
    came: Option<(&Fields, Vec<Fault>)>,
) -> Result<BatchPage, Trouble> {
    let shop = shop_of(desk).await?;
    let known = shop.batches.iter().find(|(known, _)| known == name);
    let heads = desk.store.jobs_in_batch(name).await?;
    if known.is_none() && heads.is_empty() {
        let shown: String = name.chars().take(60).collect();
        return Err(Trouble::not_found(format!("No batch {shown}."), "Look at the list of batches."));
    }
    let particulars = match &came {
        Some((fields, _)) if fields.get("treatment").is_some() || fields.get("treater").is_some() => {
            Particulars::typed(fields)
        }
        _ => known.map(|(_, particulars)| Particulars::of(particulars)).unwrap_or_default(),
    };
    let jobs: Vec<JobLine> = heads
        .iter()
        .map(|head| JobLine {
            job: head.job,
            crank: head.crank.clone(),
            customer: head.customer.clone(),
            state: state(head),
            to: format!("/jobs/{}/treatment", head.job),
        })
        .collect();
    let mut candidates = Vec::new();
    if known.is_some() {
        let wanted = Wanted { stage: Some(Stage::AtTheGrinder), ..Wanted::default() };
        for head in desk.store.jobs(&wanted).await?.jobs {
            let held = desk.job(head.job).await?;
            let sizes = Aims::of(&held).map(|aims| last_ground(&held.job, &aims).len()).unwrap_or(0);
            let mark = if head.mark.is_empty() { String::new() } else { format!(", mark {}", head.mark) };
            candidates.push(Candidate {
                job: head.job,
                words: format!("Job {}, {}{mark}", head.job, head.crank),
                sizes: if sizes == 0 { "no sizes yet".to_owned() } else { count(sizes, "size") },
            });
        }
    }
    let title = format!("{}Batch {name}", if came.is_some() { "Error: " } else { "" });
    Ok(BatchPage {
        frame: visitor.frame(&shop, title, "batches"),
        name: name.to_owned(),
        to: address(name),
        open: known.is_some(),
        goes: if particulars.goes.is_empty() { String::new() } else { day(&particulars.goes) },
        particulars,
        away: heads.iter().filter(|head| head.stage == Stage::AtTreatment).count(),
        jobs,
        candidates,
        ids: [form_id()?, form_id()?, form_id()?],
        numbers: came.as_ref().map(|(fields, _)| fields.text("numbers").to_owned()).unwrap_or_default(),
        faults: came.map(|(_, faults)| faults).unwrap_or_default(),
    })
}

async fn changed(State(desk): State<Desk>, visitor: Visitor, Path(name): Path<String>, fields: Fields) -> Answer {
    let id = fields.id()?;
    let particulars = Particulars::typed(&fields);
    let mut faults = particulars.faults();
    if !is_open(&desk, &name).await? {
        faults.push(Fault::new("", format!("Batch {name} is closed.")));
    }
    if !faults.is_empty() {
        return show_again(&batch_page(&desk, &visitor, &name, Some((&fields, faults))).await?);
    }
    let kind = ShopKind::Batch { batch: name.clone(), particulars: particulars.to_value() };
    let draft = Draft { id, ..visitor.shop_draft(kind)? };
    match desk.write_to_shop(&[draft]).await {
        Ok(()) => Ok(go(&address(&name))),
        Err(not) => not_written(not),
    }
}

async fn is_open(desk: &Desk, name: &str) -> Result<bool, Trouble> {
    Ok(shop_of(desk).await?.batches.iter().any(|(known, _)| known == name))
}

/// Several cranks go into a batch, with their last ground sizes.
async fn added(State(desk): State<Desk>, visitor: Visitor, Path(name): Path<String>, fields: Fields) -> Answer {
    let id = fields.id()?;
    let mut numbers: Vec<i64> = Vec::new();
    let mut faults = Vec::new();
    let typed = fields.text("numbers").split([',', ' ', ';']).filter(|part| !part.is_empty());
    for part in fields.all().filter(|(field, _)| *field == "job").map(|(_, text)| text).chain(typed) {
        match part.parse() {
            Ok(number) if numbers.contains(&number) => {}
            Ok(number) => numbers.push(number),
            Err(_) => {
                faults.push(Fault::new("numbers", format!("{part} is no number of a job. Write them like 1002, 1005.")))
            }
        }
    }
    if numbers.is_empty() && faults.is_empty() {
        faults.push(Fault::new("numbers", "Tick a crank, or enter the number of its job."));
    }
    if !is_open(&desk, &name).await? {
        faults.push(Fault::new("", format!("Batch {name} is closed.")));
        return show_again(&batch_page(&desk, &visitor, &name, Some((&fields, faults))).await?);
    }
    let shop = shop_of(&desk).await?;
    let mut ready = Vec::new();
    for number in numbers {
        let held = match desk.job(number).await {
            Ok(held) => held,
            Err(shop::StoreError::NoSuchJob(_)) => {
                faults.push(Fault::new("numbers", format!("There is no job {number}.")));
                continue;
            }
            Err(error) => return Err(error.into()),
        };
        let draft_id = derived(id, &number.to_string());
        if held.has(draft_id) {
            continue;
        }
        if let Err(refusal) = may::send(&held.case(&shop), &name) {
            faults.push(Fault::new("numbers", refusal.happened(words_of(&shop))));
            continue;
        }
        let sizes = last_ground(&held.job, &Aims::of(&held)?);
        let kind = EntryKind::SentToTreatment { batch: name.clone(), sizes };
        ready.push((number, held.job.seq, Draft { id: draft_id, ..visitor.draft(kind)? }));
    }
    if !faults.is_empty() {
        return show_again(&batch_page(&desk, &visitor, &name, Some((&fields, faults))).await?);
    }
    for (number, seq, draft) in ready {
        if let Err(not) = desk.write(number, seq, &[draft], bears_on_it).await {
            return not_written(not);
        }
    }
    Ok(go(&address(&name)))
}

async fn closed(State(desk): State<Desk>, visitor: Visitor, Path(name): Path<String>, fields: Fields) -> Answer {
    let id = fields.id()?;
    let heads = desk.store.jobs_in_batch(&name).await?;
    let away: Vec<String> =
        heads.iter().filter(|head| head.stage == Stage::AtTreatment).map(|head| head.job.to_string()).collect();
    if !away.is_empty() {
        let says = format!("Still away: job {}. Take them back or out of the batch first.", away.join(", "));
        return show_again(&batch_page(&desk, &visitor, &name, Some((&fields, vec![Fault::new("", says)]))).await?);
    }
    if !is_open(&desk, &name).await? {
        return Ok(go("/batches"));
    }
    let draft = Draft { id, ..visitor.shop_draft(ShopKind::BatchClosed { batch: name })? };
    match desk.write_to_shop(&[draft]).await {
        Ok(()) => Ok(go("/batches")),
        Err(not) => not_written(not),
    }
}

/// One journal on the page of a job's treatment.
struct SizeRow {
    key: String,
    name: String,
    before: String,
    after: String,
    grown: String,
    typed: String,
    fault: Option<String>,
}

/// One stay, told.
struct Stay {
    batch: String,
    to: String,
    back: bool,
    rows: Vec<SizeRow>,
    says: Vec<String>,
    surprise: bool,
}

struct SizesForm {
    id: String,
    rows: Vec<SizeRow>,
    micrometers: Vec<(String, String, bool)>,
    batches: Vec<(String, String, bool)>,
    faults: Vec<Fault>,
}

#[derive(Template)]
#[template(path = "treatment.html")]
struct TreatmentPage {
    frame: Frame,
    bar: Bar,
    by_the_book: String,
    unit: &'static str,
    stays: Vec<Stay>,
    send: Option<SizesForm>,
    back: Option<SizesForm>,
    out: Option<String>,
    away: Option<String>,
    no_batches: bool,
    not_yet: Option<String>,
}

async fn treatment(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>) -> Answer {
    let held = desk.job(n).await?;
    if !is_measured(&held.job) {
        return show(&EarlyPage::of(&visitor, &*shop_of(&desk).await?, &held.job, "treatment", "Treatment"));
    }
    show(&treatment_page(&desk, &visitor, &held, None).await?)
}

async fn treatment_page(
    desk: &Desk,
    visitor: &Visitor,
    held: &JobCard,
    came: Option<(&Fields, Vec<Fault>)>,
) -> Result<TreatmentPage, Trouble> {
    let shop = shop_of(desk).await?;
    let job = &held.job;
    let aims = Aims::of(held)?;
    let title = format!("{}Treatment, job {}", if came.is_some() { "Error: " } else { "" }, job.number);
    let frame = visitor.frame(&shop, title, "jobs");
    let words = frame.words;
    let away = job.treatments.iter().find(|stay| !stay.back);
    let not_yet = match away {
        None => may::leave_for_treatment(&held.case(&shop)).err().map(|refusal| refusal.happened(words)),
        Some(_) => None,
    };
    let (send, back) = match (away, &not_yet) {
        (Some(stay), _) => (None, Some(back_form(&aims, stay, words, came)?)),
        (None, None) => (Some(send_form(job, &aims, &shop, words, came)?), None),
        (None, Some(_)) => (None, None),
    };
    Ok(TreatmentPage {
        bar: Bar::of(job, "treatment"),
        by_the_book: by_the_book(&aims),
        unit: aims.unit().symbol(),
        stays: job.treatments.iter().rev().map(|stay| told(&aims, stay, words)).collect(),
        send,
        back,
        out: if away.is_some() { Some(form_id()?) } else { None },
        away: away.map(|stay| stay.batch.clone()),
        no_batches: shop.batches.is_empty(),
        not_yet,
        frame,
    })
}

fn key_of(journal: JournalId) -> String {
    format!("{}-{}", journal.set.word(), journal.number)
}

/// A stay with the growth found in it.
fn told(aims: &Aims, stay: &Treatment, words: Words) -> Stay {
    let Growth { journals, says, surprise } = Growth::of(aims, stay);
    let shown = |mm: Option<f64>| mm.map_or_else(|| "not measured".to_owned(), |mm| aims.size(mm));
    let grown = |mm: f64| if mm < -1e-7 { format!("{} smaller", aims.size(-mm)) } else { aims.size(mm) };
    let row = |one: Treated| SizeRow {
        key: key_of(one.journal),
        name: words.journal(one.journal),
        before: shown(one.before_mm),
        after: if stay.back { shown(one.after_mm) } else { String::new() },
        grown: one.grown_mm().map_or(String::new(), grown),
        typed: String::new(),
        fault: None,
    };
    let rows = journals.into_iter().map(row).collect();
    Stay { batch: stay.batch.clone(), to: address(&stay.batch), back: stay.back, rows, says, surprise }
}

/// The rows of a form, one for each journal, with what stood in it before.
fn size_rows(
    aims: &Aims,
    words: Words,
    came: Option<&(&Fields, Vec<Fault>)>,
    start: impl Fn(JournalId) -> String,
    before: impl Fn(JournalId) -> String,
) -> Vec<SizeRow> {
    let journals = aims.sheet.specification.journals();
    let row = |journal: JournalId| {
        let key = key_of(journal);
        let field = format!("size-{key}");
        SizeRow {
            name: words.journal(journal),
            before: before(journal),
            after: String::new(),
            grown: String::new(),
            typed: came.map_or_else(|| start(journal), |(fields, _)| fields.text(&field).to_owned()),
            fault: came.and_then(|(_, faults)| fault(faults, &key)).map(str::to_owned),
            key,
        }
    };
    journals.map(row).collect()
}

fn all_micrometers(aims: &Aims, wanted: &str) -> Vec<(String, String, bool)> {
    let mut options: Vec<(String, String, bool)> =
        vec![(String::new(), "the one that reaches it".to_owned(), wanted.is_empty())];
    for set in crank::SetName::BOTH {
        for option in micrometers(aims, set, wanted) {
            if !option.0.is_empty() && !options.iter().any(|known| known.0 == option.0) {
                options.push(option);
            }
        }
    }
    options
}

fn send_form(
    job: &Job,
    aims: &Aims,
    shop: &Shop,
    words: Words,
    came: Option<(&Fields, Vec<Fault>)>,
) -> Result<SizesForm, Trouble> {
    let ground = last_ground(job, aims);
    let start = |journal: JournalId| {
        let row = of_journal(&ground, journal);
        row.and_then(|row| row.row.get("size")).and_then(Value::as_typed).unwrap_or_default().to_owned()
    };
    let chosen = came.as_ref().map(|(fields, _)| fields.text("batch")).unwrap_or_default();
    let with = came.as_ref().map(|(fields, _)| fields.text("with")).unwrap_or_default();
    Ok(SizesForm {
        id: form_id()?,
        rows: size_rows(aims, words, came.as_ref(), start, |_| String::new()),
        micrometers: all_micrometers(aims, with),
        batches: shop
            .batches
            .iter()
            .map(|(name, particulars)| {
                let says = Particulars::of(particulars).words();
                let words = if says.is_empty() { name.clone() } else { format!("{name}: {says}") };
                (name.clone(), words, name == chosen)
            })
            .collect(),
        faults: came.map(|(_, faults)| faults).unwrap_or_default(),
    })
}

fn back_form(
    aims: &Aims,
    stay: &Treatment,
    words: Words,
    came: Option<(&Fields, Vec<Fault>)>,
) -> Result<SizesForm, Trouble> {
    let before = |journal: JournalId| {
        before_mm(aims, stay, journal).map_or_else(|| "not measured".to_owned(), |mm| aims.size(mm))
    };
    let with = came.as_ref().map(|(fields, _)| fields.text("with")).unwrap_or_default();
    Ok(SizesForm {
        id: form_id()?,
        rows: size_rows(aims, words, came.as_ref(), |_| String::new(), before),
        micrometers: all_micrometers(aims, with),
        batches: Vec::new(),
        faults: came.map(|(_, faults)| faults).unwrap_or_default(),
    })
}

/// The sizes typed into a form, as rows.
fn sizes(shop: &Shop, job: &Job, aims: &Aims, fields: &Fields, keep: &[Row]) -> Result<Vec<Row>, Vec<Fault>> {
    let words = Words::of_setting(shop.setting("words"));
    let typed = |journal: JournalId| fields.get(&format!("size-{}", key_of(journal)));
    job::treatment::sizes(shop, aims, job, fields.text("with"), keep, typed).map_err(|wrong| {
        let fault = |(journal, says): (JournalId, String)| {
            Fault::new(&key_of(journal), format!("{}: {}", words.journal(journal), words.put(&says)))
        };
        wrong.into_iter().map(fault).collect()
    })
}

async fn sent(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(n).await?;
    if held.has(id) {
        return Ok(go(&format!("/jobs/{n}/treatment")));
    }
    let aims = Aims::of(&held)?;
    let shop = shop_of(&desk).await?;
    let batch = fields.text("batch");
    let mut faults = Vec::new();
    if let Err(refusal) = may::send(&held.case(&shop), batch) {
        let at = if refusal.is_about_what_was_asked() { "batch" } else { "" };
        faults.push(Fault::new(at, refusal.happened(words_of(&shop))));
    }
    let sizes = sizes(&shop, &held.job, &aims, &fields, &last_ground(&held.job, &aims)).unwrap_or_else(|wrong| {
        faults.extend(wrong);
        Vec::new()
    });
    if !faults.is_empty() {
        return show_again(&treatment_page(&desk, &visitor, &held, Some((&fields, faults))).await?);
    }
    let kind = EntryKind::SentToTreatment { batch: batch.to_owned(), sizes };
    let draft = Draft { id, ..visitor.draft(kind)? };
    match desk.write(n, seen, &[draft], bears_on_it).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/treatment"))),
        Err(not) => not_written(not),
    }
}

async fn back(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(n).await?;
    if held.has(id) {
        return Ok(go(&format!("/jobs/{n}/treatment")));
    }
    let aims = Aims::of(&held)?;
    let shop = shop_of(&desk).await?;
    let stay = may::take_back(&held.case(&shop), None).map_err(|no| Refused::in_words(no, words_of(&shop)))?;
    let sizes = match sizes(&shop, &held.job, &aims, &fields, &[]) {
        Ok(sizes) => sizes,
        Err(faults) => {
            return show_again(&treatment_page(&desk, &visitor, &held, Some((&fields, faults))).await?);
        }
    };
    let kind = EntryKind::BackFromTreatment { batch: stay.batch.clone(), sizes };
    let draft = Draft { id, ..visitor.draft(kind)? };
    match desk.write(n, seen, &[draft], bears_on_it).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/treatment"))),
        Err(not) => not_written(not),
    }
}

/// It was put into the wrong batch, or with wrong sizes: the sending is undone.
async fn out(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(n).await?;
    if held.has(id) {
        return Ok(go(&format!("/jobs/{n}/treatment")));
    }
    let shop = shop_of(&desk).await?;
    let stay = may::take_back(&held.case(&shop), None).map_err(|no| Refused::in_words(no, words_of(&shop)))?;
    let batch = &stay.batch;
    let sent = sending(&held, batch).ok_or_else(|| Trouble::fault("a stay without a sending"))?;
    let draft = Draft { id, ..visitor.draft(EntryKind::Undo { entry: sent.id })? };
    match desk.write(n, seen, &[draft], bears_on_it).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/treatment"))),
        Err(not) => not_written(not),
    }
}
