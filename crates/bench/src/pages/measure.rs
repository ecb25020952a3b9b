//! Measuring: entry first, one spot after another.

mod drawing;
mod entry;
mod found;
mod list;
mod micrometer;
mod reader;

use std::sync::Arc;

use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::IntoResponse;
use axum::routing::{get, post};
use axum::{Json, Router};
use crank::DamageKind;
use shop::{Draft, EntryId, EntryKind, Settled, Shop, Source, now};

use crate::bar::Bar;
use crate::desk::Desk;
use crate::gathering::take_reading;
use crate::judged::{Judgement, PATIENCE};
use crate::ladder::Manner;
use crate::pages::roughness::{From, RoughnessPart};
use crate::so_far::SoFar;
use crate::taking::{Taken, saved_words};
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Asked, Fields, Frame, JobPath, Visitor, form_id, go, shop_of, show, show_with};
use crate::wording::Words;
use drawing::{Strip, marks};
use entry::{
    EntryPart, FlagsPart, OpenFlag, entry_part, how_word, open_flag, turns_for_script, unit_word, walk_for_script,
};
use found::found;
use job::JobCard;
use job::in_hand::{self, in_hand, unchecked};
use job::march::{Spot, Walk, next_open, spot_of};
use job::micrometers::keyed_as;
use job::taking::ReadingIn;
use job::undo;
use job::undo::derived;
use list::{Again, JournalForm, ReadingList, journal_form, reading_list, worth_again};
use micrometer::{Change, change, change_keying, take_up, zero, zero_moved};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/jobs/{job}/measure", get(measure).post(take))
        .route("/jobs/{job}/measure/read", get(reader::read))
        .route("/jobs/{job}/measure/undo", post(take_back))
        .route("/jobs/{job}/measure/settle", post(settle))
        .route("/jobs/{job}/measure/micrometer", post(take_up))
        .route("/jobs/{job}/measure/zero", post(zero))
        .route("/jobs/{job}/measure/keyed", post(change_keying))
        .route("/jobs/{job}/measure/journal", post(whole_journal))
        .route("/jobs/{job}/measure/found", post(found))
}

/// What the page was asked to show.
#[derive(Debug, Default)]
struct Wanted {
    spot: String,
    corrects: String,
    says: String,
}

#[derive(Template)]
#[template(path = "measure.html")]
struct MeasurePage {
    frame: Frame,
    bar: Bar,
    entry: Option<EntryPart>,
    change: Option<Change>,
    done: bool,
    end_check: Vec<String>,
    again: Vec<Again>,
    general: Vec<OpenFlag>,
    zero_moved: Vec<String>,
    so_far: String,
    strip: Strip,
    list: ReadingList,
    micrometer: Option<String>,
    micrometer_words: String,
    how: &'static str,
    from: String,
    journal: Option<JournalForm>,
    journals: Vec<(String, String)>,
    damages: [&'static str; 8],
    unit: &'static str,
    id: String,
    found_faults: Vec<Fault>,
    typed: Typed,
    roughness: RoughnessPart,
    signed: bool,
    /// What came of the last reading, where there is no spot left to show it at.
    says: String,
    /// The next undo and the next redo.
    steps: Vec<undo::Step>,
}

async fn measure(State(desk): State<Desk>, JobPath(job): JobPath, Asked(asked): Asked, visitor: Visitor) -> Answer {
    let held = desk.job(job).await?;
    let part = |name: &str| asked.text(name).to_owned();
    let wanted =
        Wanted { spot: part("spot"), corrects: part("corrects"), says: desk.sayings.of(job, asked.text("says")) };
    let page = page(&desk, &held, &visitor, &wanted, None).await?;
    show(&page)
}

/// What was typed and could not be taken.
enum Refused {
    /// In the box for a reading.
    Reading { typed: String, faults: Vec<Fault> },
    /// In another form of the page.
    Form { form: &'static str, fields: Fields, faults: Vec<Fault> },
}

/// What a form that was refused held, so that nothing has to be typed twice.
#[derive(Default)]
struct Typed {
    form: &'static str,
    fields: Fields,
}

impl Typed {
    /// Whether this is the form that was refused.
    fn is(&self, form: &str) -> bool {
        self.form == form
    }

    /// What stood in a field of it.
    fn of(&self, form: &str, field: &str) -> &str {
        if self.is(form) { self.fields.text(field) } else { "" }
    }

    /// What stood for a spot in the form of a whole journal.
    fn row(&self, spot: &str) -> &str {
        if self.is("journal") { self.fields.text(&format!("r:{spot}")) } else { "" }
    }

    /// Whether a choice of it was made.
    fn chose(&self, form: &str, field: &str, choice: &str) -> bool {
        self.is(form) && self.fields.text(field) == choice
    }
}

async fn page(
    desk: &Desk,
    held: &Arc<JobCard>,
    visitor: &Visitor,
    asked: &Wanted,
    refused: Option<Refused>,
) -> Result<MeasurePage, Trouble> {
    let shop = shop_of(desk).await?;
    let book = held.book()?;
    let job = &held.job;
    let walk = Walk::of_job(&shop, job);
    let spots = walk.spots(book);
    let asked_for =
        asked.spot.parse::<Spot>().ok().filter(|spot| spot.journal.number <= book.set(spot.journal.set).count());
    let spot = asked_for.or_else(|| next_open(&spots, job, None));
    let mut frame = visitor.frame(&shop, String::new(), "jobs");
    let words = frame.words;
    let micrometer = spot.and_then(|spot| in_hand(held, spot.journal.set));
    let signed = job.signed_off.is_some();
    let change = spot.filter(|_| micrometer.is_none() && !signed).map(|spot| change(held, &shop, spot, words));
    let part = match spot {
        Some(spot) if micrometer.is_some() && !signed => {
            Some(entry_part(held, &shop, &frame, spot, asked, refused.as_ref())?)
        }
        _ => None,
    };
    let where_ = spot.map_or_else(|| "all measured".to_owned(), |spot| spot.name(words));
    let error = if refused.is_some() { "Error: " } else { "" };
    frame.title = format!("{error}{where_}, job {}, measure", job.number);
    let judgement = desk.judges.judge(held, PATIENCE).await;
    let done = next_open(&spots, job, None).is_none();
    let so_far = so_far(held, &judgement, &shop)?;
    let (typed, faults) = match refused {
        Some(Refused::Form { form, fields, faults }) => (Typed { form, fields }, faults),
        _ => (Typed::default(), Vec::new()),
    };
    let about_mm = spot.map_or(0.0, |spot| book.set(spot.journal.set).size.low_mm);
    let (how, from) = micrometer.map_or(("size", String::new()), |one| how_word(&keyed_as(&shop, one, about_mm), one));
    Ok(MeasurePage {
        bar: Bar::of(job, "measure"),
        change,
        done,
        end_check: if done { unchecked(held) } else { Vec::new() },
        again: if done && !signed { worth_again(held, &spots, words) } else { Vec::new() },
        general: job
            .flags
            .iter()
            .filter(|flag| flag.about.is_none())
            .map(|flag| open_flag(held, &shop, flag, words))
            .collect(),
        zero_moved: zero_moved(held, words),
        so_far,
        strip: Strip { marks: marks(held, &spots, spot, words, judgement.latest().map(|(judged, _)| judged)) },
        list: reading_list(held, words),
        micrometer: micrometer.map(|one| one.name.clone()),
        micrometer_words: micrometer.map(in_hand::steps).unwrap_or_default(),
        how,
        from,
        journal: spot.map(|spot| journal_form(held, &spots, spot, words)),
        journals: book.journals().map(|id| (id.to_string(), words.journal(id))).collect(),
        damages: DamageKind::ALL.map(DamageKind::word),
        unit: unit_word(held.unit()),
        id: form_id()?,
        found_faults: faults,
        typed,
        roughness: RoughnessPart::of(held, &frame, From::Measure, "")?,
        signed,
        steps: undo::next_undo(&held.entries, job, words)
            .into_iter()
            .chain(undo::next_redo(&held.entries, job, words))
            .collect(),
        says: if part.is_none() { asked.says.clone() } else { String::new() },
        entry: part,
        frame,
    })
}

fn so_far(held: &JobCard, judgement: &Judgement, shop: &Shop) -> Result<String, Trouble> {
    Ok(SoFar::of(held, judgement, &Manner::of(shop, &held.job)).render()?)
}

/// What the script gets after a reading.
#[derive(Debug, serde::Serialize)]
struct AfterReading {
    says: String,
    /// The number of what is said, for the address of the page that is loaded.
    said: u64,
    saved: String,
    seq: i64,
    /// The spot to go to; nothing where all is measured or the micrometer has to be changed: then the page is loaded.
    spot: Option<String>,
    name: String,
    direction: String,
    again: &'static str,
    is_b: bool,
    with: Option<String>,
    flags: String,
    undo: String,
    undo_entry: String,
    strip: String,
    list: String,
    walk: String,
    turns: String,
}

/// A reading comes in.
async fn take(
    State(desk): State<Desk>,
    JobPath(job): JobPath,
    visitor: Visitor,
    headers: HeaderMap,
    fields: Fields,
) -> Answer {
    let by_script = headers.get(header::ACCEPT).is_some_and(|accept| accept == "application/json");
    let reading = match reading_of(&visitor, &fields) {
        Ok(reading) => reading,
        Err(trouble) if by_script => return Ok(trouble.as_json()),
        Err(trouble) => return Err(trouble),
    };
    match take_reading(&desk, job, &reading).await {
        Ok(taken) if by_script => after_reading(&desk, &visitor, taken).await,
        Ok(taken) => Ok(go(&onward(&desk, &taken))),
        Err(trouble) if by_script => Ok(trouble.as_json()),
        Err(trouble) if trouble.status == StatusCode::NOT_FOUND => Err(trouble),
        // Whatever it was, a field or a full disk: what was typed stays in the box.
        Err(trouble) => {
            let held = desk.job(job).await?;
            let asked = Wanted {
                spot: reading.spot.to_string(),
                corrects: fields.text("corrects").to_owned(),
                says: String::new(),
            };
            let status = trouble.status;
            let refused = Refused::Reading { typed: reading.typed, faults: trouble.faults("reading") };
            show_with(status, &page(&desk, &held, &visitor, &asked, Some(refused)).await?)
        }
    }
}

fn onward(desk: &Desk, taken: &Taken) -> String {
    let job = taken.card.job.number;
    let said = desk.sayings.say(job, &taken.says);
    let spot = taken.next.map(|spot| format!("spot={spot}&")).unwrap_or_default();
    format!("/jobs/{job}/measure?{spot}says={said}")
}

fn reading_of(visitor: &Visitor, fields: &Fields) -> Result<ReadingIn, Trouble> {
    let spot = fields
        .text("spot")
        .parse()
        .map_err(|_| Trouble::not_found("There is no such spot on this crank.", "Load the page again."))?;
    let corrects = match fields.get("corrects") {
        Some(entry) => Some(entry.parse().map_err(|_| Trouble::field("corrects", "Load the page again."))?),
        None => None,
    };
    let source = match fields.text("source") {
        "gauge" => Source::Gauge,
        "paper" => Source::Paper,
        _ => Source::Typed,
    };
    // A reading kept on a tablet comes late and says when it was taken.
    let when = fields.get("when").filter(|when| when.parse::<jiff::Timestamp>().is_ok());
    Ok(ReadingIn {
        id: fields.id()?,
        who: visitor.who.clone(),
        when: when.map_or_else(now, str::to_owned),
        spot,
        typed: fields.text("reading").to_owned(),
        source,
        with: fields.get("with").map(str::to_owned),
        corrects,
    })
}

async fn after_reading(desk: &Desk, visitor: &Visitor, taken: Taken) -> Answer {
    let shop = shop_of(desk).await?;
    let frame = visitor.frame(&shop, "", "jobs");
    let held = &taken.card;
    let words = frame.words;
    let spots = Walk::of_job(&shop, &held.job).spots(held.book()?);
    let next = taken.next.filter(|spot| {
        in_hand(held, spot.journal.set).is_some_and(|one| {
            // Another micrometer in hand than the one that the form names: the page says so first.
            Some(one.name.as_str()) == held.job.micrometer.as_deref() || held.job.micrometer.is_none()
        })
    });
    let part = match next {
        Some(spot) => Some(entry_part(held, &shop, &frame, spot, &Wanted::default(), None)?),
        None => None,
    };
    let undo = undo::next_undo(&held.entries, &held.job, words);
    let flags = match &part {
        Some(part) => {
            let practice = &part.practice;
            let html = FlagsPart { job: part.job, seq: part.seq, token: &part.token, flags: &part.flags, practice };
            html.render()?
        }
        None => String::new(),
    };
    // The verdict comes after, on its own; the drawing shows the latest there is.
    let judgement = desk.judges.judge(held, std::time::Duration::ZERO).await;
    let marks = marks(held, &spots, next, words, judgement.latest().map(|(judged, _)| judged));
    let after = AfterReading {
        said: desk.sayings.say(held.job.number, &taken.says),
        says: taken.says,
        saved: saved_words(&held.job),
        seq: held.job.seq,
        spot: next.map(|spot| spot.to_string()),
        name: part.as_ref().map(|part| part.name.clone()).unwrap_or_default(),
        direction: part.as_ref().map(|part| part.direction.clone()).unwrap_or_default(),
        again: part.as_ref().map_or("", |part| part.again),
        is_b: part.as_ref().is_some_and(|part| part.is_b),
        with: part.as_ref().and_then(|part| part.with.clone()),
        flags,
        undo: undo.as_ref().map(|step| step.words.clone()).unwrap_or_default(),
        undo_entry: undo.map(|step| step.entry.to_string()).unwrap_or_default(),
        strip: Strip { marks }.render()?,
        list: reading_list(held, words).render()?,
        walk: walk_for_script(held, &spots, words),
        turns: turns_for_script(held, &shop),
    };
    Ok(Json(after).into_response())
}

/// Undo or redo: the entry is named, so that nothing is undone that was not on the page.
async fn take_back(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let words = Words::of_setting(shop.setting("words"));
    let id = fields.id()?;
    let (entry, seen) = (fields.text("entry").parse::<EntryId>().ok(), fields.seen()?);
    if held.has(id) {
        return Ok(go(&format!("/jobs/{job}/measure")));
    }
    let step = entry
        .and_then(|entry| undo::step(&held.entries, entry, words))
        .ok_or_else(|| Trouble::not_found("There is nothing left to undo there.", "Load the page again."))?;
    let spot = held.job.rows.iter().find(|row| step.entries.contains(&row.entry)).and_then(spot_of);
    desk.put_down_if_unchanged(job, seen, &step.drafts(id, &visitor.who, &now())).await?;
    let said = desk.sayings.say(job, &format!("Done: {}.", step.words));
    let spot = spot.map(|spot| format!("spot={spot}&")).unwrap_or_default();
    Ok(go(&format!("/jobs/{job}/measure?{spot}says={said}")))
}

/// A flag is settled: the figure is kept, struck out, or the remark noted.
async fn settle(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let flag = fields.text("flag").parse::<EntryId>();
    let how = match fields.text("how") {
        "keep" => Some(Settled::Kept),
        "strike out" => Some(Settled::StruckOut),
        "noted" => Some(Settled::Noted),
        _ => None,
    };
    let (Ok(flag), Some(how)) = (flag, how) else {
        return Err(Trouble::not_found("There is no such remark to settle.", "Load the page again."));
    };
    let kind = EntryKind::FlagSettled { flag, how };
    let draft = Draft::new(fields.id()?, &visitor.who, now(), kind);
    desk.put_down(job, fields.seen()?, &[draft]).await?;
    Ok(go(&format!("/jobs/{job}/measure")))
}

/// All spots of one journal at once, for a browser without a script or a page of paper.
async fn whole_journal(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let id = fields.id()?;
    let mut says = Vec::new();
    let mut last = None;
    for (name, typed) in fields.all() {
        let Some(key) = name.strip_prefix("r:").filter(|_| !typed.is_empty()) else { continue };
        let Ok(spot) = key.parse::<Spot>() else { continue };
        let reading = ReadingIn {
            id: derived(id, key),
            who: visitor.who.clone(),
            when: now(),
            spot,
            typed: typed.to_owned(),
            source: Source::Typed,
            with: fields.get("with").map(str::to_owned),
            corrects: None,
        };
        match take_reading(&desk, job, &reading).await {
            Ok(taken) => {
                says.push(taken.says.clone());
                last = Some(taken);
            }
            Err(trouble) if trouble.status == StatusCode::NOT_FOUND => return Err(trouble),
            Err(trouble) => {
                let held = desk.job(job).await?;
                let shop = shop_of(&desk).await?;
                let at = spot.name(Words::of_setting(shop.setting("words")));
                let status = trouble.status;
                let faults = trouble.faults("reading").into_iter();
                let faults = faults.map(|fault| Fault { says: format!("{at}: {}", fault.says), ..fault }).collect();
                let asked = Wanted { spot: spot.to_string(), says: says.join(" "), ..Wanted::default() };
                let refused = Refused::Form { form: "journal", fields: fields.clone(), faults };
                return show_with(status, &page(&desk, &held, &visitor, &asked, Some(refused)).await?);
            }
        }
    }
    Ok(match last {
        Some(taken) => go(&onward(&desk, &Taken { says: says.join(" "), ..taken })),
        None => go(&format!("/jobs/{job}/measure")),
    })
}
