//! The final check, blind against the finished limits; the signature; the hand-over.

use askama::Template;
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::routing::{get, post};
use gauge::conformity::Outcome;
use serde::Deserialize;
use shop::{Draft, Entry, EntryKind, Job, Shop, Stage, Value, as_signed};

use crate::bar::Bar;
use crate::desk::Desk;
use crate::door;
use crate::early::EarlyPage;
use crate::pages::grind::{micrometers, not_written, with_taken_up};
use crate::pages::roughness::{From, RoughnessPart};
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Fields, Frame, Visitor, form_id, go, shop_of, show, show_again};
use crate::wording::{OldWay, Words, capital, clock, count, day, words_of};
use job::JobCard;
use job::aims::{Aims, is_measured};
use job::final_check::{
    EYE_ITEMS, SpotCheck, State as Standing, ground_by, must_be_said, obstacles, proof_of_roughness, sentence, spots,
};
use job::march::{Spot, Walk};
use job::plan_sheet::PlanSheet;
use job::undo::derived;
use job::{Eye, Objection, may};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/jobs/{job}/final", get(final_check).post(reading))
        .route("/jobs/{job}/final/code", post(code))
        .route("/jobs/{job}/final/eyes", post(eyes))
        .route("/jobs/{job}/final/sign", post(sign))
        .route("/jobs/{job}/final/back", post(back))
        .route("/jobs/{job}/final/reopen", post(reopen))
        .route("/jobs/{job}/signed/{revision}", get(signed))
        .route("/jobs/{job}/hand-over", get(hand_over).post(handed_over))
}

#[derive(Clone, Debug, Default, Deserialize)]
struct Asked {
    /// The code on the paper, as typed.
    #[serde(default)]
    code: String,
    /// The spot to measure.
    #[serde(default)]
    spot: String,
    /// The spot that was just measured.
    #[serde(default)]
    last: String,
    #[serde(default)]
    with: String,
}

/// The spot to measure now.
struct Now {
    id: String,
    key: String,
    name: String,
    direction: String,
    micrometers: Vec<(String, String, bool)>,
    /// It was measured before: what is typed takes the place of that.
    again: bool,
    typed: String,
    fault: Option<String>,
}

/// One line of the table of what is in.
struct Line {
    key: String,
    name: String,
    words: &'static str,
    class: &'static str,
    says: String,
    before: String,
    who: String,
}

/// One set of lines.
struct Lines {
    name: String,
    lines: Vec<Line>,
}

/// One thing that is looked at.
struct EyeRow {
    key: String,
    name: String,
    asks: &'static str,
    known: String,
    class: &'static str,
    may_be_left: bool,
    by: String,
    says: String,
    chosen: String,
    fault: Option<String>,
}

struct Signing {
    id: String,
    hash: String,
    sentence: String,
    /// What was left out and has to be confirmed: the name of the field, and what the signature says.
    left_out: Vec<(String, String, bool)>,
    name: String,
    revision: u32,
    also_ground: bool,
    faults: Vec<Fault>,
}

struct Signature {
    revision: u32,
    says: String,
    who: String,
    when: String,
    hash: String,
    /// The beginning of it, enough to tell one from another.
    short_hash: String,
}

struct Ends {
    /// Names of the entries that the forms at the end write.
    back: String,
    reopen: String,
    eyes: String,
}

#[derive(Template)]
#[template(path = "final.html")]
struct FinalPage {
    frame: Frame,
    bar: Bar,
    /// The code that was entered, where one is asked for.
    code: String,
    /// The code has to be entered first.
    wants_code: bool,
    code_fault: Option<String>,
    progress: String,
    last: Option<Line>,
    now: Option<Now>,
    sets: Vec<Lines>,
    roughness: RoughnessPart,
    eyes: Vec<EyeRow>,
    eye_faults: Vec<Fault>,
    obstacles: Vec<Obstacle>,
    fails: bool,
    signing: Option<Signing>,
    signed: Option<Signature>,
    earlier: Vec<Signature>,
    reopen_fault: Option<String>,
    handed_over: Option<String>,
    ends: Ends,
}

/// Something that keeps the job from being signed, and the address where it is put right.
struct Obstacle {
    says: String,
    to: String,
    fails: bool,
}

/// What a form came back with.
#[derive(Default)]
struct Came {
    code: Option<String>,
    reading: Option<(String, String)>,
    eyes: Option<(Fields, Vec<Fault>)>,
    sign: Option<(Fields, Vec<Fault>)>,
    reopen: Option<String>,
}

impl Came {
    fn is_faulty(&self) -> bool {
        self.code.is_some()
            || self.reading.is_some()
            || self.eyes.is_some()
            || self.sign.is_some()
            || self.reopen.is_some()
    }
}

/// A job with what its final check needs.
struct Check<'a> {
    held: &'a JobCard,
    aims: Aims,
    spots: Vec<SpotCheck>,
    words: Words,
}

impl<'a> Check<'a> {
    fn of(held: &'a JobCard, shop: &Shop) -> Result<Check<'a>, Trouble> {
        let aims = Aims::of(held)?.offering(shop);
        let walk = Walk::of_job(shop, &held.job).spots(held.book()?);
        let spots = spots(&held.entries, &held.job, &aims, &walk);
        Ok(Check { held, aims, spots, words: Words::of_setting(shop.setting("words")) })
    }

    fn job(&self) -> &Job {
        &self.held.job
    }

    fn spot(&self, key: &str) -> Option<&SpotCheck> {
        let spot: Spot = key.parse().ok()?;
        self.spots.iter().find(|check| check.spot == spot)
    }

    /// The spot to go to after another: the next that is not in, going round.
    fn next(&self, after: Option<Spot>) -> Option<&SpotCheck> {
        let at = after.and_then(|after| self.spots.iter().position(|check| check.spot == after)).map_or(0, |at| at + 1);
        let (before, rest) = self.spots.split_at(at.min(self.spots.len()));
        rest.iter().chain(before).find(|check| !check.is_in())
    }

    fn line(&self, check: &SpotCheck) -> Line {
        let says = match &check.state {
            Standing::TooOld(why) => format!("{}; {}", check.says, self.words.say(why)),
            _ => check.says.clone(),
        };
        let before = match check.before.as_slice() {
            [] => String::new(),
            before => format!("before that {}", before.join(", ")),
        };
        Line {
            key: check.spot.to_string(),
            name: check.spot.name(self.words),
            words: check.words(),
            class: check.class(),
            says,
            before,
            who: check.who.clone(),
        }
    }

    fn progress(&self) -> String {
        let of = |outcome: Outcome| self.spots.iter().filter(|c| c.state == Standing::Measured(outcome)).count();
        let inside = of(Outcome::Within);
        let mut says = format!("{inside} of {} inside", count(self.spots.len(), "spot"));
        for (many, what) in [
            (of(Outcome::Outside), "outside"),
            (of(Outcome::TooCloseToCall), "cannot tell"),
            (self.spots.iter().filter(|check| !check.is_in()).count(), "to measure"),
        ] {
            if many > 0 {
                says.push_str(&format!(", {many} {what}"));
            }
        }
        says
    }
}

/// What is wrong with a code, if anything is.
fn wrong_code(job: &Job, aims: &Aims, typed: &str, words: Words) -> Option<String> {
    let in_force = job.sheets.last()?;
    let typed = typed.trim();
    if typed.eq_ignore_ascii_case(&in_force.code) {
        return None;
    }
    if typed.is_empty() {
        return Some("Enter the three-character code from the paper that came back with the crank.".to_owned());
    }
    let Some(old) = job.sheets.iter().find(|sheet| typed.eq_ignore_ascii_case(&sheet.code)) else {
        let typed: String = typed.chars().take(20).collect();
        return Some(format!("Job {} has no sheet {typed}. Is the paper another job’s?", job.number));
    };
    let by = job.sheets.iter().find(|sheet| sheet.supersedes.as_ref() == Some(&old.code)).unwrap_or(in_force);
    let mut says = format!("Sheet {} was replaced by {} at {}.", old.code, by.code, clock(&by.when));
    let changed = PlanSheet::from_value(&old.plan).zip(aims.plan.as_ref()).map(|(old, now)| old.changed(now));
    for change in changed.unwrap_or_default() {
        says.push(' ');
        says.push_str(&words.say(&change));
    }
    Some(says + " Find out which sizes it was ground to before anything is measured.")
}

async fn final_check(
    State(desk): State<Desk>,
    visitor: Visitor,
    Path(n): Path<i64>,
    Query(asked): Query<Asked>,
) -> Answer {
    let held = desk.job(n).await?;
    if !is_measured(&held.job) {
        return show(&EarlyPage::of(&visitor, &*shop_of(&desk).await?, &held.job, "final", "Final check"));
    }
    let came = Came::default();
    show(&page(&desk, &visitor, &held, &asked, came).await?)
}

async fn page(desk: &Desk, visitor: &Visitor, held: &JobCard, asked: &Asked, came: Came) -> Result<FinalPage, Trouble> {
    let shop = shop_of(desk).await?;
    let check = Check::of(held, &shop)?;
    let job = check.job();
    let wrong = wrong_code(job, &check.aims, &asked.code, check.words);
    let wants_code = wrong.is_some() && job.signed_off.is_none();
    let code_fault = came.code.clone().or(wrong.filter(|_| !asked.code.trim().is_empty()));
    let faulty = came.is_faulty() || (wants_code && code_fault.is_some());
    let against = obstacles(job, &check.aims, &check.spots, check.words).into_iter();
    let obstacle = |one: job::Against| Obstacle {
        to: door::address(job.number, &one.place),
        says: one.says(check.words),
        fails: one.fails,
    };
    let obstacles: Vec<Obstacle> = against.map(obstacle).collect();
    let open = job.signed_off.is_none() && !wants_code;
    let now = if open { now(&check, asked, came.reading.as_ref())? } else { None };
    let last = check.spot(&asked.last).filter(|check| check.is_in()).map(|spot| check.line(spot));
    let title = match &now {
        Some(now) => format!("Final check, {}", now.name),
        None => "Final check".to_owned(),
    };
    let title = format!("{}{title}, job {}", if faulty { "Error: " } else { "" }, job.number);
    let frame = visitor.frame(&shop, title, "jobs");
    let sets = crank::SetName::BOTH.into_iter().map(|set| Lines {
        name: check.words.set(set),
        lines: check.spots.iter().filter(|c| c.spot.journal.set == set).map(|c| check.line(c)).collect(),
    });
    let eye_faults = came.eyes.as_ref().map(|(_, faults)| faults.clone()).unwrap_or_default();
    let signing = if open && obstacles.is_empty() { Some(signing(&check, visitor, came.sign)?) } else { None };
    Ok(FinalPage {
        bar: Bar::of(job, "final"),
        code: asked.code.trim().to_uppercase(),
        wants_code,
        code_fault,
        progress: check.progress(),
        last,
        now,
        sets: sets.filter(|set| !set.lines.is_empty()).collect(),
        roughness: RoughnessPart::of(held, &frame, From::FinalCheck, asked.code.trim())?,
        eyes: eye_rows(job, check.words, visitor, came.eyes.as_ref()),
        eye_faults,
        fails: obstacles.iter().any(|obstacle| obstacle.fails),
        obstacles,
        signing,
        signed: job.signed_off.as_ref().map(signature),
        earlier: signatures(&held.entries, job),
        reopen_fault: came.reopen,
        handed_over: job.handed_over.clone(),
        ends: Ends { back: form_id()?, reopen: form_id()?, eyes: form_id()? },
        frame,
    })
}

fn now(check: &Check<'_>, asked: &Asked, came: Option<&(String, String)>) -> Result<Option<Now>, Trouble> {
    let last = asked.last.parse::<Spot>().ok();
    let Some(spot) = check.spot(&asked.spot).or_else(|| check.next(last)) else { return Ok(None) };
    let set = spot.spot.journal.set;
    let used = |row: &&shop::CheckRow| job::nouns::journal_of(&row.row.row).is_some_and(|journal| journal.set == set);
    let used = check.job().final_readings.iter().rev().find(used).and_then(|row| row.row.row.words("with"));
    let wanted = if asked.with.is_empty() { used.unwrap_or_default() } else { asked.with.as_str() };
    Ok(Some(Now {
        id: form_id()?,
        key: spot.spot.to_string(),
        name: spot.spot.name(check.words),
        direction: spot.spot.direction(check.words),
        micrometers: micrometers(&check.aims, set, wanted),
        again: spot.entry.is_some(),
        typed: came.map(|(_, typed)| typed.clone()).unwrap_or_default(),
        fault: came.map(|(fault, _)| check.words.put(fault)),
    }))
}

fn eye_rows(job: &Job, in_words: Words, visitor: &Visitor, came: Option<&(Fields, Vec<Fault>)>) -> Vec<EyeRow> {
    let blank = Fields::default();
    let fields = came.map_or(&blank, |(fields, _)| fields);
    let rows = EYE_ITEMS.iter().map(|item| {
        let key = item.key.to_owned();
        let known = job.eye_checks.iter().find(|check| check.item == item.item);
        let (words, class, says) = match known.map(Eye::from) {
            None => ("not answered", "lesser", String::new()),
            Some(Eye::Passed) => ("passed", "", known.and_then(|known| known.says.clone()).unwrap_or_default()),
            Some(Eye::Failed(what)) => ("not passed", "stop-word", what),
            Some(Eye::NotDone(why)) => ("not done", "look-word", why),
        };
        let known =
            known.map(|check| format!("{words}, by {}{}{says}", check.by, if says.is_empty() { "" } else { ": " }));
        // Who looked is whoever is working, but a crack test is often somebody else's.
        let usual_by = if item.item == "crack test" { "" } else { &visitor.who };
        EyeRow {
            name: capital(&in_words.say(item)),
            asks: item.asks,
            known: known.unwrap_or_else(|| words.to_owned()),
            class,
            may_be_left: item.left_out.is_some(),
            by: if came.is_some() { fields.text(&format!("by-{key}")).to_owned() } else { usual_by.to_owned() },
            says: fields.text(&format!("says-{key}")).to_owned(),
            chosen: fields.text(&format!("eye-{key}")).to_owned(),
            fault: came.and_then(|(_, faults)| faults.iter().find(|f| f.field == key)).map(|fault| fault.says.clone()),
            key,
        }
    });
    rows.collect()
}

fn signing(check: &Check<'_>, visitor: &Visitor, came: Option<(Fields, Vec<Fault>)>) -> Result<Signing, Trouble> {
    let job = check.job();
    let (fields, faults) = came.unwrap_or_default();
    let left = must_be_said(job, &check.aims);
    let ticked = |key: &str| !fields.text(&format!("left-{key}")).is_empty();
    Ok(Signing {
        id: form_id()?,
        hash: job.frozen_hash(),
        sentence: sentence(&check.held.entries, job, &check.aims, &check.spots, &visitor.who),
        left_out: left.into_iter().map(|(key, says)| (key.clone(), says, ticked(&key))).collect(),
        name: fields.text("name").to_owned(),
        revision: job.revision,
        also_ground: ground_by(&check.held.entries).contains(&visitor.who.as_str()),
        faults,
    })
}

fn signature(sign: &shop::SignOff) -> Signature {
    Signature {
        revision: sign.revision,
        says: sign.says.clone(),
        who: sign.who.clone(),
        when: moment(&sign.when),
        short_hash: sign.document_hash.chars().take(12).collect(),
        hash: sign.document_hash.clone(),
    }
}

/// Day and time, whichever day it is.
fn moment(when: &str) -> String {
    let clock = clock(when);
    if clock.contains(',') { clock } else { format!("{}, {clock}", day(when)) }
}

/// Every signature before the one in force, the first one first.
fn signatures(entries: &[Entry], job: &Job) -> Vec<Signature> {
    let last = job.signed_off.as_ref().map_or(job.revision, |sign| sign.revision.saturating_sub(1));
    let signed = (1..=last).filter_map(|revision| as_signed(entries, revision)?.signed_off);
    signed.map(|sign| signature(&sign)).collect()
}

/// The code from the paper.
async fn code(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let held = desk.job(n).await?;
    let aims = Aims::of(&held)?;
    let words = Words::of_setting(shop_of(&desk).await?.setting("words"));
    let asked = Asked { code: fields.text("code").to_owned(), ..Asked::default() };
    match wrong_code(&held.job, &aims, &asked.code, words) {
        None => Ok(go(&to_check(n, &asked.code.to_uppercase(), "", "", ""))),
        Some(says) => {
            let came = Came { code: Some(says), ..Came::default() };
            show_again(&page(&desk, &visitor, &held, &asked, came).await?)
        }
    }
}

/// The address of the check.
fn to_check(n: i64, code: &str, last: &str, with: &str, part: &str) -> String {
    let mut pairs = form_urlencoded::Serializer::new(String::new());
    for (name, text) in [("code", code), ("last", last), ("with", with)] {
        if !text.is_empty() {
            pairs.append_pair(name, text);
        }
    }
    let asked = pairs.finish();
    let mark = if asked.is_empty() { "" } else { "?" };
    format!("/jobs/{n}/final{mark}{asked}{part}")
}

/// What the forms of this page carry along.
fn asked(fields: &Fields) -> Asked {
    Asked {
        code: fields.text("code").to_owned(),
        spot: fields.text("spot").to_owned(),
        last: String::new(),
        with: fields.text("with").to_owned(),
    }
}

/// The sheet may have been replaced while the page was open: then nothing is taken, and the page says so.
async fn stale_code(
    desk: &Desk,
    visitor: &Visitor,
    held: &JobCard,
    asked: &Asked,
) -> Result<Option<FinalPage>, Trouble> {
    let words = Words::of_setting(shop_of(desk).await?.setting("words"));
    match wrong_code(&held.job, &Aims::of(held)?, &asked.code, words) {
        None => Ok(None),
        Some(says) => {
            let came = Came { code: Some(says), ..Came::default() };
            Ok(Some(page(desk, visitor, held, asked, came).await?))
        }
    }
}

async fn reading(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(n).await?;
    let asked = asked(&fields);
    if let Some(page) = stale_code(&desk, &visitor, &held, &asked).await? {
        return show_again(&page);
    }
    let shop = shop_of(&desk).await?;
    let check = Check::of(&held, &shop)?;
    let Some(spot) = check.spot(&asked.spot) else {
        return Err(Trouble::field("spot", "There is no such spot on this crank. Choose one from the list."));
    };
    let typed = fields.text("size");
    let mut row = match check.aims.keyed(&shop, typed, &asked.with, spot.spot.journal) {
        Ok(row) => row,
        Err(says) => {
            let came = Came { reading: Some((says, typed.to_owned())), ..Came::default() };
            return show_again(&page(&desk, &visitor, &held, &asked, came).await?);
        }
    };
    row.row.set("at", Value::from(spot.spot.station.word()));
    row.row.set("plane", Value::typed(spot.spot.across.plane()));
    let key = spot.spot.to_string();
    // Sent twice, the second is the same entry; it must not correct itself.
    let corrects = spot.entry.filter(|entry| *entry != id);
    let there = held.entries.iter().find(|entry| entry.id == id);
    let corrects = there.map_or(corrects, |there| there.corrects);
    let taken_up = check.aims.taking_up(&asked.with, &shop, spot.spot.journal.set);
    let mut drafts = with_taken_up(&visitor, id, EntryKind::FinalReading(row), taken_up)?;
    if let Some(reading) = drafts.last_mut() {
        reading.corrects = corrects;
    }
    match desk.write(n, seen, &drafts, |kind| matches!(kind, EntryKind::SheetIssued { .. })).await {
        Ok(()) => Ok(go(&to_check(n, &asked.code, &key, &asked.with, "#size"))),
        Err(not) => not_written(not),
    }
}

async fn eyes(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(n).await?;
    let asked = asked(&fields);
    if let Some(page) = stale_code(&desk, &visitor, &held, &asked).await? {
        return show_again(&page);
    }
    let shop = shop_of(&desk).await?;
    let words = words_of(&shop);
    let (mut drafts, mut faults) = (Vec::new(), Vec::new());
    for item in &EYE_ITEMS {
        let key = item.key.to_owned();
        let name = capital(&words.say(item));
        let (by, says) = (fields.text(&format!("by-{key}")), fields.get(&format!("says-{key}")));
        let answer = fields.text(&format!("eye-{key}"));
        let says = says.map(str::to_owned);
        let (passed, says) = match (answer, says) {
            ("", None) => continue,
            ("passed", says) => (true, says),
            ("not-passed", Some(what)) => match Eye::Failed(what).kept() {
                Some(kept) => kept,
                None => {
                    let says = "that says it was not done. Answer so, or say what is wrong with it.";
                    faults.push(Fault::new(&key, format!("{name}: {says}")));
                    continue;
                }
            },
            ("not-passed", None) => {
                faults.push(Fault::new(&key, format!("{name}: say what is wrong with it.")));
                continue;
            }
            ("not-done", why) if item.left_out.is_some() => {
                Eye::NotDone(why.unwrap_or_default()).kept().unwrap_or((false, None))
            }
            _ => {
                faults.push(Fault::new(&key, format!("{name}: choose one of the answers.")));
                continue;
            }
        };
        if by.is_empty() {
            faults.push(Fault::new(&key, format!("{name}: say who looked.")));
            continue;
        }
        let kind = EntryKind::EyeCheck { item: item.item.to_owned(), passed, by: by.to_owned(), says };
        drafts.push(Draft { id: derived(id, item.item), ..visitor.draft(kind)? });
    }
    if faults.is_empty() && drafts.is_empty() {
        faults.push(Fault::new(
            &EYE_ITEMS.first().map(|item| item.key.to_owned()).unwrap_or_default(),
            "Answer at least one, then save.",
        ));
    }
    if !faults.is_empty() {
        let came = Came { eyes: Some((fields, faults)), ..Came::default() };
        return show_again(&page(&desk, &visitor, &held, &asked, came).await?);
    }
    match desk.write(n, seen, &drafts, |kind| matches!(kind, EntryKind::EyeCheck { .. })).await {
        Ok(()) => Ok(go(&to_check(n, &asked.code, "", &asked.with, "#sign"))),
        Err(not) => not_written(not),
    }
}

async fn sign(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(n).await?;
    if held.job.signed_off.as_ref().is_some_and(|sign| sign.entry == id) {
        return Ok(go(&format!("/jobs/{n}/final")));
    }
    let asked = asked(&fields);
    if held.job.signed_off.is_none()
        && let Some(page) = stale_code(&desk, &visitor, &held, &asked).await?
    {
        return show_again(&page);
    }
    let shop = shop_of(&desk).await?;
    let check = Check::of(&held, &shop)?;
    may::be_signed(&held.case(&shop)).map_err(|no| door::Refused::in_words(no, check.words))?;
    let signing = signing(&check, &visitor, None)?;
    let mut faults = Vec::new();
    let name = fields.text("name");
    if name.is_empty() {
        faults.push(Fault::new("name", "Enter your name, as it stands at the top of the page."));
    } else if !shop::same_name(name, &visitor.who) {
        let says =
            format!("{} is working at this screen. Sign with that name, or change who is working first.", visitor.who);
        faults.push(Fault::new("name", says));
    }
    for (key, says, _) in &signing.left_out {
        if fields.get(&format!("left-{key}")).is_none() {
            faults.push(Fault::new(&format!("left-{key}"), check.words.say(&Objection::NotSaid(says.clone()))));
        }
    }
    if !faults.is_empty() {
        let came = Came { sign: Some((fields, faults)), ..Came::default() };
        return show_again(&page(&desk, &visitor, &held, &asked, came).await?);
    }
    // The hash is the page's: what was looked at is what is signed.
    let kind = EntryKind::SignedOff { document_hash: fields.text("hash").to_owned(), says: signing.sentence };
    let draft = Draft { id, ..visitor.draft(kind)? };
    match desk.write(n, seen, &[draft], |_| true).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/final"))),
        Err(not) => not_written(not),
    }
}

async fn back(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let draft = Draft { id, ..visitor.draft(EntryKind::Moved { to: Stage::AtTheGrinder })? };
    let clashes = |kind: &EntryKind| matches!(kind, EntryKind::Moved { .. } | EntryKind::SignedOff { .. });
    match desk.write(n, seen, &[draft], clashes).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/grind"))),
        Err(not) => not_written(not),
    }
}

async fn reopen(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let reason = fields.text("reason");
    if reason.is_empty() {
        let held = desk.job(n).await?;
        let came = Came { reopen: Some("Say why it is opened again.".to_owned()), ..Came::default() };
        return show_again(&page(&desk, &visitor, &held, &asked(&fields), came).await?);
    }
    let draft = Draft { id, ..visitor.draft(EntryKind::Reopened { reason: reason.to_owned() })? };
    let clashes = |kind: &EntryKind| {
        matches!(kind, EntryKind::Reopened { .. } | EntryKind::HandedOver { .. } | EntryKind::SignedOff { .. })
    };
    match desk.write(n, seen, &[draft], clashes).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/final"))),
        Err(not) => not_written(not),
    }
}

#[derive(Template)]
#[template(path = "signed.html")]
struct SignedPage {
    frame: Frame,
    bar: Bar,
    sign: Signature,
    now: bool,
    code: String,
    sets: Vec<Lines>,
    roughness: Vec<String>,
    eyes: Vec<EyeRow>,
    cleaned: Vec<String>,
    whole: bool,
}

/// A revision as it was signed.
async fn signed(State(desk): State<Desk>, visitor: Visitor, Path((n, revision)): Path<(i64, u32)>) -> Answer {
    let held = desk.job(n).await?;
    let shop = shop_of(&desk).await?;
    let Some(then) = as_signed(&held.entries, revision) else {
        return Err(Trouble::not_found(
            format!("Revision {revision} of job {n} was never signed."),
            "Look at the final check.",
        ));
    };
    let Some(sign) = then.signed_off.clone() else {
        return Err(Trouble::fault("a signed job without its signature"));
    };
    let upto = held.entries.iter().filter(|entry| entry.seq <= sign.seq).cloned().collect();
    let was = held.as_it_was(upto, then);
    let check = Check::of(&was, &shop)?;
    let job = check.job();
    let sets = crank::SetName::BOTH.into_iter().map(|set| Lines {
        name: check.words.set(set),
        lines: check.spots.iter().filter(|c| c.spot.journal.set == set).map(|c| check.line(c)).collect(),
    });
    let cleaned = job.cleaned_up.iter().map(|clean| {
        let journal = check.words.journal_named(&clean.journal);
        match (&clean.left, clean.yes) {
            (_, true) => format!("{journal} cleaned up."),
            (left, false) => format!("{journal} did not: {}.", left.as_deref().unwrap_or("place not said")),
        }
    });
    let (measured, missing) = proof_of_roughness(&check.aims, check.words);
    let frame = visitor.frame(&shop, format!("Signed, revision {revision}, job {n}"), "jobs");
    show(&SignedPage {
        frame,
        bar: Bar::of(&held.job, "signed"),
        now: held.job.signed_off.as_ref().is_some_and(|now| now.revision == revision),
        code: job.sheets.last().map(|sheet| sheet.code.clone()).unwrap_or_default(),
        sets: sets.filter(|set| !set.lines.is_empty()).collect(),
        roughness: measured.into_iter().chain(missing).collect(),
        eyes: eye_rows(job, check.words, &visitor, None),
        cleaned: cleaned.collect(),
        // The signature is not part of what it freezes, and the revision of the job then was this one.
        whole: sign.document_hash == job.frozen_hash(),
        sign: signature(&sign),
    })
}

#[derive(Template)]
#[template(path = "hand_over.html")]
struct HandOverPage {
    frame: Frame,
    bar: Bar,
    id: String,
    signed: Option<Signature>,
    handed_over: Option<String>,
    to: String,
    fault: Option<String>,
}

async fn hand_over(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>) -> Answer {
    let held = desk.job(n).await?;
    show(&hand_over_page(&desk, &visitor, &held, None).await?)
}

async fn hand_over_page(
    desk: &Desk,
    visitor: &Visitor,
    held: &JobCard,
    came: Option<(String, String)>,
) -> Result<HandOverPage, Trouble> {
    let shop = shop_of(desk).await?;
    let job = &held.job;
    let title = format!("{}Hand over, job {}", if came.is_some() { "Error: " } else { "" }, job.number);
    let (fault, to) = match came {
        Some((fault, to)) => (Some(fault), to),
        None => (None, job.booked_in.customer.clone()),
    };
    Ok(HandOverPage {
        frame: visitor.frame(&shop, title, "jobs"),
        bar: Bar::of(job, "hand-over"),
        id: form_id()?,
        signed: job.signed_off.as_ref().map(signature),
        handed_over: job.handed_over.clone(),
        to,
        fault,
    })
}

async fn handed_over(State(desk): State<Desk>, visitor: Visitor, Path(n): Path<i64>, fields: Fields) -> Answer {
    let (id, seen) = (fields.id()?, fields.seen()?);
    let held = desk.job(n).await?;
    let to = fields.text("to");
    if to.is_empty() {
        let came = ("Enter who takes it.".to_owned(), String::new());
        return show_again(&hand_over_page(&desk, &visitor, &held, Some(came)).await?);
    }
    let draft = Draft { id, ..visitor.draft(EntryKind::HandedOver { to: to.to_owned() })? };
    let clashes = |kind: &EntryKind| matches!(kind, EntryKind::Reopened { .. } | EntryKind::HandedOver { .. });
    match desk.write(n, seen, &[draft], clashes).await {
        Ok(()) => Ok(go(&format!("/jobs/{n}/hand-over"))),
        Err(not) => not_written(not),
    }
}
