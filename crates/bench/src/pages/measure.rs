//! Measuring: entry first, one spot after another.

use std::sync::Arc;

use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::IntoResponse;
use axum::routing::{get, post};
use axum::{Json, Router};
use crank::{JournalId, SetName};
use gauge::keyed::KeyedAs;
use serde::Serialize;
use shop::{CheckedAt, Draft, EntryId, EntryKind, Row, Settled, Shop, ShopKind, Source, Standing, Value, now};
use units::{Unit, digits_for, read};

use crate::bar::Bar;
use crate::desk::{Desk, Held};
use crate::in_hand::{self, Choice, choices, in_hand, row_of};
use crate::judged::{Judgement, PATIENCE, counts};
use crate::ladder::Manner;
use crate::march::{Spot, Walk, is_open, next_open, row_at};
use crate::so_far::SoFar;
use crate::taking::{ReadingIn, Taken, derived, keyed_as, readable, saved_words, take_reading, with_drafts};
use crate::trouble::{Fault, Trouble};
use crate::undo;
use crate::visitor::{Answer, Asked, Fields, Frame, JobPath, Visitor, form_id, go, shop_of, show, show_again};
use crate::wording::{PinWord, capital, count};

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/jobs/{job}/measure", get(measure).post(take))
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

/// Something that looked wrong, open at this spot.
struct OpenFlag {
    entry: EntryId,
    /// A name for the entry that settles it.
    fresh: String,
    says: String,
    /// The figure it is about, where it is about one.
    size: Option<String>,
    /// What sleeve and thimble show at that figure.
    setting: Option<String>,
}

/// The part of the page that a reading is entered in.
#[derive(Template)]
#[template(path = "measure_entry.html")]
struct EntryPart {
    job: i64,
    seq: i64,
    token: String,
    id: String,
    spot: String,
    name: String,
    direction: String,
    /// What the label says besides the spot: measured a second time, say.
    again: &'static str,
    is_b: bool,
    with: Option<String>,
    unit: &'static str,
    stays: String,
    how: String,
    like: String,
    fault: Option<String>,
    typed: String,
    corrects: String,
    says: String,
    saved: String,
    flags: Vec<OpenFlag>,
    undo: Option<undo::Step>,
    redo: Option<undo::Step>,
    /// Every spot with its name and, where it is measured, its size: what the script needs while the line is down.
    walk: String,
    turn: &'static str,
}

/// The micrometer has to be changed before the next spot.
struct Change {
    set: SetName,
    heading: String,
    choices: Vec<Choice>,
    spot: String,
}

/// A journal in the drawing.
struct Mark {
    name: String,
    to: String,
    state: &'static str,
    words: String,
    /// How far above or below the axis it stands: `axis`, `up-2` …
    height: &'static str,
    is_here: bool,
}

/// One reading in the list of all.
struct Listed {
    spot: String,
    size: String,
    words: String,
    who: String,
    correct: Option<String>,
}

/// Spots that are worth a second, blind look.
struct Again {
    name: String,
    to: String,
    why: String,
}

#[derive(Template)]
#[template(path = "measure_strip.html")]
struct Strip {
    marks: Vec<Mark>,
}

#[derive(Template)]
#[template(path = "measure_list.html")]
struct ReadingList {
    readings: Vec<Listed>,
    other: Vec<(String, String)>,
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
    signed: bool,
    /// What came of the last reading, where there is no spot left to show it at.
    says: String,
    /// The next undo and the next redo.
    steps: Vec<undo::Step>,
}

/// All spots of one journal, to be filled in at once.
struct JournalForm {
    name: String,
    spots: Vec<(String, String, String)>,
}

const DAMAGES: [&str; 8] = ["scoring", "ridges", "pitting", "rust", "heat", "pick-up", "crack", "other"];

async fn measure(State(desk): State<Desk>, JobPath(job): JobPath, Asked(asked): Asked, visitor: Visitor) -> Answer {
    let held = desk.job(job).await?;
    let part = |name: &str| asked.text(name).to_owned();
    let wanted = Wanted { spot: part("spot"), corrects: part("corrects"), says: part("says") };
    let page = page(&desk, &held, &visitor, &wanted, None).await?;
    show(&page)
}

/// What was typed and could not be taken.
struct Refused {
    typed: String,
    faults: Vec<Fault>,
    elsewhere: bool,
}

async fn page(
    desk: &Desk,
    held: &Arc<Held>,
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
            Some(entry_part(held, &shop, visitor, &frame, spot, asked, refused.as_ref())?)
        }
        _ => None,
    };
    let where_ = spot.map_or_else(|| "all measured".to_owned(), |spot| spot.name(words));
    let error = if refused.is_some() { "Error: " } else { "" };
    frame.title = format!("{error}{where_}, job {}, measure", job.number);
    let judgement = desk.judges.judge(job, PATIENCE).await;
    let done = next_open(&spots, job, None).is_none();
    let so_far = so_far(held, &judgement, &shop)?;
    let faults = refused.filter(|refused| refused.elsewhere).map(|refused| refused.faults).unwrap_or_default();
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
            .map(|flag| open_flag(held, flag, words))
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
        damages: DAMAGES,
        unit: unit_word(held.unit()),
        id: form_id()?,
        found_faults: faults,
        signed,
        steps: undo::next_undo(&held.entries, job, words)
            .into_iter()
            .chain(undo::next_redo(&held.entries, job, words))
            .collect(),
        says: if part.is_none() { asked.says.chars().take(600).collect() } else { String::new() },
        entry: part,
        frame,
    })
}

fn so_far(held: &Held, judgement: &Judgement, shop: &Shop) -> Result<String, Trouble> {
    Ok(SoFar::of(held, judgement, &Manner::of(shop, &held.job)).render()?)
}

fn unit_word(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "in",
        Unit::Millimetre => "mm",
    }
}

fn entry_part(
    held: &Held,
    shop: &Shop,
    visitor: &Visitor,
    frame: &Frame,
    spot: Spot,
    asked: &Wanted,
    refused: Option<&Refused>,
) -> Result<EntryPart, Trouble> {
    let words = frame.words;
    let job = &held.job;
    let book = held.book()?;
    let set = book.set(spot.journal.set);
    let micrometer = in_hand(held, spot.journal.set);
    let how = micrometer.map_or(KeyedAs::Size, |one| keyed_as(shop, one, set.size.low_mm));
    let row = row_at(job, spot);
    let corrects = row.filter(|row| row.entry.to_string() == asked.corrects).map(|row| row.entry);
    let unit = micrometer.map_or(held.unit(), |one| one.unit);
    let flags = row.map(|row| job.flags.iter().filter(|flag| flag.about == Some(row.entry))).into_iter().flatten();
    let again = match (corrects, row.map(|row| row.standing)) {
        (Some(_), _) => "put right",
        (None, Some(Standing::LookAgain)) => "measure again",
        (None, Some(Standing::ThirdWanted)) => "measure a third time",
        (None, Some(Standing::Counts)) => "a second reading, without looking at the first",
        _ => "",
    };
    let spots = Walk::of_job(shop, job).spots(book);
    let here = refused.filter(|refused| !refused.elsewhere);
    let _ = visitor;
    Ok(EntryPart {
        job: job.number,
        seq: job.seq,
        token: frame.token.clone(),
        id: form_id()?,
        spot: spot.to_string(),
        name: spot.name(words),
        direction: spot.direction(words),
        again,
        is_b: spot.across == crate::march::Across::B,
        with: micrometer.map(|one| one.name.clone()),
        unit: unit_word(unit),
        stays: match &how {
            KeyedAs::LastDigits { after } => after.clone(),
            _ => String::new(),
        },
        how: micrometer.map(|one| how_words(&how, one)).unwrap_or_default(),
        like: micrometer.map(|one| like(&how, one)).unwrap_or_default(),
        fault: here.map(|refused| refused.faults.iter().map(|fault| fault.says.clone()).collect::<Vec<_>>().join(" ")),
        typed: here.map(|refused| refused.typed.clone()).unwrap_or_default(),
        corrects: corrects.map(|entry| entry.to_string()).unwrap_or_default(),
        says: asked.says.chars().take(600).collect(),
        saved: saved_words(job),
        flags: flags.map(|flag| open_flag(held, flag, words)).collect(),
        undo: undo::next_undo(&held.entries, job, words),
        redo: undo::next_redo(&held.entries, job, words),
        walk: walk_for_script(held, &spots, words),
        turn: if unit == Unit::Inch { "0.025" } else { "0.5" },
    })
}

/// Every spot in the order of the walk: key, name, size or nothing.
fn walk_for_script(held: &Held, spots: &[Spot], words: PinWord) -> String {
    let line = |spot: &Spot| {
        let row = row_at(&held.job, *spot).filter(|row| counts(row));
        let size = row.map(size_of).unwrap_or_default();
        format!("{spot}|{}|{}|{size}", spot.name(words), spot.direction(words))
    };
    spots.iter().map(line).collect::<Vec<_>>().join(";")
}

fn size_of(row: &shop::SheetRow) -> String {
    let first = row.row.get("size");
    first.and_then(|size| size.as_typed().or_else(|| size.items().first()?.as_typed())).unwrap_or_default().to_owned()
}

fn how_word(how: &KeyedAs, with: &gauge::Instrument) -> (&'static str, String) {
    match how {
        KeyedAs::Size => ("size", String::new()),
        KeyedAs::LastDigits { .. } => ("last digits", String::new()),
        KeyedAs::Counts => ("counts", String::new()),
        KeyedAs::Departure { from } => ("departure", from.show(with.unit, digits_for(with.graduation_mm, with.unit))),
    }
}

fn how_words(how: &KeyedAs, with: &gauge::Instrument) -> String {
    match how {
        KeyedAs::Size if with.unit == Unit::Inch => "size in full, or from the point".to_owned(),
        KeyedAs::Size => "size in full".to_owned(),
        KeyedAs::LastDigits { after } => format!("the last digits after {after}"),
        KeyedAs::Counts => "counts: sleeve, lines, thimble".to_owned(),
        KeyedAs::Departure { from } => {
            let step = if with.unit == Unit::Inch { "thou" } else { "hundredths" };
            let from = from.show(with.unit, digits_for(with.graduation_mm, with.unit));
            format!("{step} over or under {from}")
        }
    }
}

fn like(how: &KeyedAs, with: &gauge::Instrument) -> String {
    let decimals = usize::try_from(digits_for(with.graduation_mm, with.unit)).unwrap_or(4);
    match (how, with.unit) {
        (KeyedAs::Size, _) => {
            format!("{} decimals", ["no", "one", "two", "three", "four", "five"].get(decimals).unwrap_or(&"all"))
        }
        (KeyedAs::LastDigits { .. }, _) => "no point".to_owned(),
        (KeyedAs::Counts, Unit::Inch) => "sleeve 4, lines 1, thimble 23, vernier 0 is 41230".to_owned(),
        (KeyedAs::Counts, Unit::Millimetre) => "sleeve 12, half line 1, thimble 23, vernier 0 is 121230".to_owned(),
        (KeyedAs::Departure { .. }, _) => "minus for under".to_owned(),
    }
}

fn open_flag(held: &Held, flag: &shop::Flag, words: PinWord) -> OpenFlag {
    let row = held.job.rows.iter().find(|row| Some(row.entry) == flag.about);
    let setting = row.and_then(|row| setting_words(held, row));
    OpenFlag {
        entry: flag.entry,
        fresh: derived(flag.entry, &now()).to_string(),
        says: words.put(&flag.says),
        size: row.map(size_of),
        setting,
    }
}

/// What stands on the micrometer at the size that a row shows.
fn setting_words(held: &Held, row: &shop::SheetRow) -> Option<String> {
    let with = held.micrometer(row.row.words("with"))?;
    let scale = gauge::scale::Scale::with_graduation(with.unit, with.graduation_mm)?;
    let size = read(&size_of(row), held.unit()).ok()?.length;
    gauge::scale::Frame::usual(scale, size).words(size).ok()
}

fn change(held: &Held, shop: &Shop, spot: Spot, words: PinWord) -> Change {
    let set = spot.journal.set;
    let choices = choices(held, shop, set);
    let one = match choices.as_slice() {
        [one] => Some(one),
        _ => None,
    };
    let heading = match (one, held.job.micrometer.is_some()) {
        (Some(one), true) => format!("Change to {}", one.says),
        (Some(one), false) => format!("Take up {}", one.says),
        (None, _) => format!("Which micrometer for the {}?", words.set(set).to_lowercase()),
    };
    Change { set, heading, choices, spot: spot.to_string() }
}

/// Micrometers whose zero was not checked since the last reading with them.
fn unchecked(held: &Held) -> Vec<String> {
    let mut unchecked: Vec<String> = Vec::new();
    for entry in &held.entries {
        match &entry.kind {
            EntryKind::Reading(row) => {
                let with = row.row.words("with").unwrap_or_default();
                if !with.is_empty() && !unchecked.iter().any(|name| name == with) {
                    unchecked.push(with.to_owned());
                }
            }
            EntryKind::ZeroCheck { instrument, at: CheckedAt::End, .. } => unchecked.retain(|name| name != instrument),
            _ => {}
        }
    }
    unchecked.retain(|name| held.micrometer(Some(name)).is_some());
    unchecked
}

fn zero_moved(held: &Held, words: PinWord) -> Vec<String> {
    let moved = held.job.zero_moved.iter();
    moved
        .map(|moved| {
            let spots: Vec<String> = held
                .job
                .rows
                .iter()
                .filter(|row| moved.readings.contains(&row.entry))
                .map(|row| capital(row.row.words("journal").unwrap_or_default()))
                .collect();
            let mut journals = spots.clone();
            journals.dedup();
            format!(
                "The zero of {} moved during this job: it was {}, now it is {}. {} were taken with it, on {}. Check the \
                 zero again; if it has moved, measure the deciding spots again.",
                moved.instrument,
                moved.was,
                moved.found,
                count(spots.len(), "reading"),
                words.put(&journals.join(", "))
            )
        })
        .collect()
}

/// Where a second look pays: the smallest spot of each set, which decides it, and one spot by chance, which tells how
/// well this hand repeats on this crank.
fn worth_again(held: &Held, spots: &[Spot], words: PinWord) -> Vec<Again> {
    let mut again = Vec::new();
    for set in SetName::BOTH {
        let of_set: Vec<(Spot, f64, bool)> = spots
            .iter()
            .filter(|spot| spot.journal.set == set)
            .filter_map(|spot| {
                let row = row_at(&held.job, *spot).filter(|row| counts(row))?;
                let mm = read(&size_of(row), held.unit()).ok()?.mm;
                Some((*spot, mm, !row.again.is_empty()))
            })
            .collect();
        let mut put = |found: Option<&(Spot, f64, bool)>, why: &str| {
            if let Some((spot, _, false)) = found {
                again.push(Again { name: spot.name(words), to: to_spot(held.job.number, *spot), why: why.to_owned() });
            }
        };
        let smallest = of_set.iter().min_by(|a, b| a.1.total_cmp(&b.1));
        put(smallest, "the smallest, which decides the set");
        // The same one each time the page is shown; another one for each job.
        let number = usize::try_from(held.job.number).unwrap_or(0).wrapping_mul(7);
        let chosen = of_set.get(number % of_set.len().max(1));
        if chosen.map(|found| found.0) != smallest.map(|found| found.0) {
            put(chosen, "one by chance, to see how well you repeat");
        }
    }
    again
}

fn to_spot(job: i64, spot: Spot) -> String {
    format!("/jobs/{job}/measure?spot={spot}")
}

/// The crank from the front: a link for each journal, above or below the axis as its throw stands.
fn marks(
    held: &Held,
    spots: &[Spot],
    here: Option<Spot>,
    words: PinWord,
    judged: Option<&crate::judged::Judged>,
) -> Vec<Mark> {
    let Ok(book) = &held.book else { return Vec::new() };
    let verdict = judged.and_then(|judged| judged.answer.as_ref().ok());
    let mut journals: Vec<(f64, JournalId)> = book
        .journals()
        .map(|id| {
            let along = book.set(id.set).positions_mm.get(id.number - 1).copied().unwrap_or(0.0);
            (along, id)
        })
        .collect();
    journals.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mark = |(_, id): (f64, JournalId)| {
        let of: Vec<Spot> = spots.iter().copied().filter(|spot| spot.journal == id).collect();
        let taken = of.iter().filter(|spot| row_at(&held.job, **spot).is_some_and(counts)).count();
        let doubtful = of.iter().any(|spot| {
            row_at(&held.job, *spot)
                .is_some_and(|row| matches!(row.standing, Standing::LookAgain | Standing::ThirdWanted))
        });
        let damage = held.job.rows.iter().find(|row| {
            row.key == "damage" && counts(row) && row.row.words("journal") == Some(id.to_string().as_str())
        });
        let condition = verdict.and_then(|(_, v)| v.journals.iter().find(|j| j.condition.journal == id));
        let decides = verdict.is_some_and(|(_, v)| {
            v.sets.iter().any(|set| set.governed_by.as_ref().is_some_and(|place| place.journal == id))
        });
        let (state, mut says) = match (doubtful, damage, taken) {
            (true, _, _) => ("look", "◇ look again".to_owned()),
            (_, Some(row), _) => ("damaged", format!("damage: {}", row.row.words("kind").unwrap_or("seen"))),
            (_, _, 0) => ("to-do", "to do".to_owned()),
            (_, _, taken) if taken < of.len() => ("part", format!("{taken} of {}", of.len())),
            _ => match condition {
                Some(found) => {
                    let under = found.condition.limits.low_mm - found.condition.smallest_mm;
                    let decimals = if held.unit() == Unit::Inch { 4 } else { 3 };
                    if found.state == crank::State::Within {
                        ("within", "in limits".to_owned())
                    } else if under > 0.0 {
                        ("worn", format!("{} under", units::show_mm(under, held.unit(), decimals)))
                    } else {
                        ("worn", found.state.words().to_owned())
                    }
                }
                None => ("within", format!("{taken} of {}", of.len())),
            },
        };
        if decides {
            says.push_str(", ◆ decides it");
        }
        let to = of.iter().copied().find(|spot| is_open(&held.job, *spot)).or(of.first().copied());
        Mark {
            name: words.journal(id),
            to: to.map_or_else(String::new, |spot| to_spot(held.job.number, spot)),
            state,
            words: says,
            height: height(book, id),
            is_here: here.is_some_and(|spot| spot.journal == id),
        }
    };
    journals.into_iter().map(mark).collect()
}

/// Four steps up and down are enough to tell one throw from another.
fn height(book: &crank::Specification, id: JournalId) -> &'static str {
    if id.set == SetName::Main {
        return "axis";
    }
    let degrees = book.pin.angles_deg.get(id.number - 1).copied().unwrap_or(0.0);
    match degrees.to_radians().cos() {
        up if up > 0.7 => "up-2",
        up if up > 0.1 => "up-1",
        up if up < -0.7 => "down-2",
        up if up < -0.1 => "down-1",
        _ => "axis",
    }
}

fn reading_list(held: &Held, words: PinWord) -> ReadingList {
    let job = &held.job;
    let readings = job.rows.iter().filter(|row| row.key == "reading").map(|row| {
        let spot = place_words(row, words);
        let repeats = row.again.iter().map(|size| format!(" and {size}")).collect::<String>();
        let state = match row.standing {
            Standing::Counts => "",
            Standing::LookAgain => "◇ look again, not counted",
            Standing::ThirdWanted => "◇ a third is wanted, not counted",
            Standing::StruckOut => "struck out",
        };
        let found = spot_of(row).filter(|_| row.standing != Standing::StruckOut && job.signed_off.is_none());
        Listed {
            spot,
            size: format!("{}{repeats}", size_of(row)),
            words: state.to_owned(),
            who: format!("{}, {}", row.who, crate::wording::clock(&row.when)),
            correct: found.map(|spot| format!("{}&corrects={}", to_spot(job.number, spot), row.entry)),
        }
    });
    let other = job.rows.iter().filter(|row| row.key != "reading" && counts(row)).map(|row| {
        let said = shop::history(
            &held.entries.iter().filter(|entry| entry.id == row.entry).cloned().collect::<Vec<_>>(),
            words.one(),
        );
        (said.first().map(|line| capital(&line.says)).unwrap_or_default(), row.who.clone())
    });
    ReadingList { readings: readings.collect(), other: other.collect() }
}

fn spot_of(row: &shop::SheetRow) -> Option<Spot> {
    let journal = row.row.words("journal")?.replace(' ', "-");
    let at = row.row.words("at")?;
    ["a", "b"]
        .iter()
        .filter_map(|across| format!("{journal}.{at}.{across}").parse().ok())
        .find(|spot: &Spot| spot.is_of(&row.row))
}

/// Where a row was taken, as the bench says it; what has no named spot is said as the sheet has it.
fn place_words(row: &shop::SheetRow, words: PinWord) -> String {
    match spot_of(row) {
        Some(spot) => spot.name(words),
        None => {
            let part = |key: &str| row.row.get(key).and_then(Value::as_typed).unwrap_or_default().to_owned();
            words.put(&capital(&format!("{}, {}, across {}°", part("journal"), part("at"), part("plane"))))
        }
    }
}

fn journal_form(held: &Held, spots: &[Spot], spot: Spot, words: PinWord) -> JournalForm {
    let of = spots.iter().filter(|other| other.journal == spot.journal && is_open(&held.job, **other));
    JournalForm {
        name: words.journal(spot.journal),
        spots: of
            .map(|spot| (spot.to_string(), spot.name(words), format!("r-{}", spot.to_string().replace('.', "-"))))
            .collect(),
    }
}

/// What the script gets after a reading.
#[derive(Debug, Serialize)]
struct AfterReading {
    says: String,
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
}

#[derive(Template)]
#[template(path = "measure_flags.html")]
struct FlagsPart<'a> {
    job: i64,
    seq: i64,
    token: &'a str,
    spot: &'a str,
    flags: &'a [OpenFlag],
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
        Ok(taken) => Ok(go(&onward(&taken))),
        Err(trouble) if by_script => Ok(trouble.as_json()),
        Err(trouble) if !trouble.told.fields.is_empty() => {
            let held = desk.job(job).await?;
            let asked = Wanted {
                spot: reading.spot.to_string(),
                corrects: fields.text("corrects").to_owned(),
                says: String::new(),
            };
            let refused = Refused { typed: reading.typed, faults: trouble.told.fields, elsewhere: false };
            show_again(&page(&desk, &held, &visitor, &asked, Some(refused)).await?)
        }
        Err(trouble) => Err(trouble),
    }
}

fn onward(taken: &Taken) -> String {
    let says: String = form_urlencoded::byte_serialize(taken.says.as_bytes()).collect();
    let spot = taken.next.map(|spot| format!("spot={spot}&")).unwrap_or_default();
    format!("/jobs/{}/measure?{spot}says={says}", taken.held.job.number)
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
    let held = &taken.held;
    let words = frame.words;
    let spots = Walk::of_job(&shop, &held.job).spots(held.book()?);
    let next = taken.next.filter(|spot| {
        in_hand(held, spot.journal.set).is_some_and(|one| {
            // Another micrometer in hand than the one that the form names: the page says so first.
            Some(one.name.as_str()) == held.job.micrometer.as_deref() || held.job.micrometer.is_none()
        })
    });
    let part = match next {
        Some(spot) => Some(entry_part(held, &shop, visitor, &frame, spot, &Wanted::default(), None)?),
        None => None,
    };
    let undo = undo::next_undo(&held.entries, &held.job, words);
    let flags = match &part {
        Some(part) => {
            let html =
                FlagsPart { job: part.job, seq: part.seq, token: &part.token, spot: &part.spot, flags: &part.flags };
            html.render()?
        }
        None => String::new(),
    };
    // The verdict comes after, on its own; the drawing shows the latest there is.
    let judgement = desk.judges.judge(&held.job, std::time::Duration::ZERO).await;
    let marks = marks(held, &spots, next, words, judgement.latest().map(|(judged, _)| judged));
    let after = AfterReading {
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
    };
    Ok(Json(after).into_response())
}

/// Undo or redo: the entry is named, so that nothing is undone that was not on the page.
async fn take_back(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let words = PinWord::from_setting(shop.setting("words"));
    let id = fields.id()?;
    let (entry, seen) = (fields.text("entry").parse::<EntryId>().ok(), fields.seen()?);
    if held.entries.iter().any(|known| known.id == id) {
        return Ok(go(&format!("/jobs/{job}/measure")));
    }
    let step = entry
        .and_then(|entry| undo::step(&held.entries, entry, words))
        .ok_or_else(|| Trouble::not_found("There is nothing left to undo there.", "Load the page again."))?;
    let when = now();
    let drafts: Vec<Draft> = step
        .entries
        .iter()
        .enumerate()
        .map(|(n, entry)| {
            let id = if n == 0 { id } else { derived(id, &format!("undo {n}")) };
            Draft::new(id, &visitor.who, &when, EntryKind::Undo { entry: *entry })
        })
        .collect();
    let spot = held.job.rows.iter().find(|row| step.entries.contains(&row.entry)).and_then(spot_of);
    desk.put_down_if_unchanged(job, seen, &drafts).await?;
    let says: String = form_urlencoded::byte_serialize(format!("Done: {}.", step.words).as_bytes()).collect();
    let spot = spot.map(|spot| format!("spot={spot}&")).unwrap_or_default();
    Ok(go(&format!("/jobs/{job}/measure?{spot}says={says}")))
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

/// A zero as the form has it: reads right, high or low, and by how much.
fn zero_of(fields: &Fields, unit: Unit, faults: &mut Vec<Fault>) -> Option<String> {
    let by = fields.text("by");
    let sign = match fields.text("zero") {
        "right" => return Some("0".to_owned()),
        "high" => "",
        "low" => "-",
        "unchecked" => return None,
        _ => {
            faults.push(Fault::new(
                "zero",
                "Say what it reads on its standard: right, high or low; or that it was not checked.",
            ));
            return None;
        }
    };
    match read(by, unit) {
        Ok(entry) if entry.mm > 0.0 && entry.mm < 2.54 => Some(format!("{sign}{by}")),
        _ => {
            faults.push(Fault::new("by", "Enter by how much it reads high or low, like 0.0001."));
            None
        }
    }
}

/// A micrometer is taken up, with its zero.
async fn take_up(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let id = fields.id()?;
    if held.entries.iter().any(|known| known.id == id) {
        return Ok(go(&format!("/jobs/{job}/measure")));
    }
    let set = if fields.text("set") == "pin" { SetName::Pin } else { SetName::Main };
    let mut faults = Vec::new();
    let key = fields.need("with", "Choose a micrometer.", &mut faults);
    let row = match held.micrometer(Some(key)) {
        Some(_) => None,
        None => row_of(key, &shop, held.book()?, set),
    };
    let known = held.micrometer(Some(key)).is_some();
    if !known && row.is_none() && !key.is_empty() {
        faults.push(Fault::new("with", "That micrometer is not known here. Choose one of the list."));
    }
    let name = match &row {
        Some(row) => row.words("name").unwrap_or(key).to_owned(),
        None => key.to_owned(),
    };
    let unit = if key.ends_with(" mm") || row.as_ref().and_then(|row| row.words("units")) == Some("mm") {
        Unit::Millimetre
    } else {
        held.micrometer(Some(key)).map_or(held.unit(), |one| one.unit)
    };
    let zero = zero_of(&fields, unit, &mut faults);
    if !faults.is_empty() {
        let asked = Wanted { spot: fields.text("spot").to_owned(), ..Wanted::default() };
        let refused = Refused { typed: String::new(), faults, elsewhere: true };
        return show_again(&page(&desk, &held, &visitor, &asked, Some(refused)).await?);
    }
    let when = now();
    let draft = |what: &str, kind| Draft::new(derived(id, what), &visitor.who, &when, kind);
    let at = if held.job.micrometer.is_none() { CheckedAt::Start } else { CheckedAt::Change };
    let mut drafts = Vec::new();
    drafts.extend(
        row.filter(|_| held.micrometer(Some(&name)).is_none()).map(|row| draft("row", EntryKind::Instrument { row })),
    );
    drafts.push(Draft::new(id, &visitor.who, &when, EntryKind::MicrometerChanged { to: name.clone() }));
    drafts.extend(zero.map(|reads| draft("zero", EntryKind::ZeroCheck { instrument: name, reads, at })));
    desk.put_down(job, held.job.seq, &drafts).await?;
    Ok(go(&format!(
        "/jobs/{job}/measure?spot={}",
        fields.text("spot").parse::<Spot>().map(|s| s.to_string()).unwrap_or_default()
    )))
}

/// A zero is checked again, at the end or in between.
async fn zero(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let name = fields.text("with").to_owned();
    let unit = held.micrometer(Some(&name)).map_or(held.unit(), |one| one.unit);
    let mut faults = Vec::new();
    let reads = zero_of(&fields, unit, &mut faults);
    if !faults.is_empty() {
        let refused = Refused { typed: String::new(), faults, elsewhere: true };
        return show_again(&page(&desk, &held, &visitor, &Wanted::default(), Some(refused)).await?);
    }
    let at = if fields.text("at") == "end" { CheckedAt::End } else { CheckedAt::Change };
    if let Some(reads) = reads {
        let kind = EntryKind::ZeroCheck { instrument: name, reads, at };
        desk.put_down(job, held.job.seq, &[Draft::new(fields.id()?, &visitor.who, now(), kind)]).await?;
    }
    Ok(go(&format!("/jobs/{job}/measure")))
}

/// Readings of a micrometer are keyed another way from now on.
async fn change_keying(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let name = fields.text("with");
    let unit = held.micrometer(Some(name)).map_or(held.unit(), |one| one.unit);
    let told = match fields.text("how") {
        "departure" => match read(fields.text("from"), unit) {
            Ok(entry) if entry.mm > 0.0 => format!("departure from {}", fields.text("from")),
            _ => {
                let faults = vec![Fault::new("from", "Enter the size that departures count from, like 2.1250.")];
                let refused = Refused { typed: String::new(), faults, elsewhere: true };
                return show_again(&page(&desk, &held, &visitor, &Wanted::default(), Some(refused)).await?);
            }
        },
        how @ ("counts" | "last digits") => how.to_owned(),
        _ => "size".to_owned(),
    };
    let mut entry = shop.settings.get("entry").cloned().unwrap_or(Value::Table(Vec::new()));
    entry.set(name, Value::from(told));
    let settings = Value::table([("entry", entry)]);
    desk.put_down_in_shop(&[Draft::new(fields.id()?, &visitor.who, now(), ShopKind::Settings { settings })]).await?;
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
            Err(trouble) if !trouble.told.fields.is_empty() => {
                let held = desk.job(job).await?;
                let asked = Wanted { spot: spot.to_string(), says: says.join(" "), ..Wanted::default() };
                let refused = Refused { typed: typed.to_owned(), faults: trouble.told.fields, elsewhere: false };
                return show_again(&page(&desk, &held, &visitor, &asked, Some(refused)).await?);
            }
            Err(trouble) => return Err(trouble),
        }
    }
    Ok(match last {
        Some(taken) => go(&onward(&Taken { says: says.join(" "), ..taken })),
        None => go(&format!("/jobs/{job}/measure")),
    })
}

/// What else was found: damage, run-out, wear, the centre of a pin, a trace.
async fn found(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let mut row = Value::table([("journal", Value::from(fields.text("journal")))]);
    let mut put = |key: &str, name: &str| {
        if let Some(text) = fields.get(name) {
            row.set(key, Value::typed(text));
        }
    };
    let numbers = |text: &str| {
        let parts = text.split([' ', ';', '\n', '\t']).filter(|part| !part.is_empty());
        let list: Vec<Value> = parts.map(Value::typed).collect();
        if let [one] = list.as_slice() { one.clone() } else { Value::List(list) }
    };
    let kind = match fields.text("what") {
        "damage" => {
            for key in ["kind", "at", "from", "to"] {
                put(key, key);
            }
            if let Some(depth) = fields.get("depth") {
                row.set("depth", numbers(depth));
            }
            EntryKind::Damage(Row::typed(row))
        }
        "run_out" => {
            put("total", "total");
            put("high", "high");
            EntryKind::RunOut(Row::typed(row))
        }
        "worn" => {
            put("share", "share");
            EntryKind::Worn(Row::typed(row))
        }
        "centre" => {
            put("throw", "throw");
            put("index", "index");
            EntryKind::Centre(Row::typed(row))
        }
        "trace" => {
            put("at", "at");
            put("size", "size");
            put("start", "start");
            if let Some(departures) = fields.get("departures") {
                row.set("departures", numbers(departures));
            }
            EntryKind::Trace(Row::typed(row))
        }
        _ => return Err(Trouble::not_found("There is nothing of that kind to write down.", "Load the page again.")),
    };
    let draft = Draft::new(fields.id()?, &visitor.who, now(), kind);
    let drafts = [draft];
    let (_, after) = with_drafts(&held, &drafts);
    if let Err(trouble) = readable(&held, &after, "found") {
        let refused = Refused { typed: String::new(), faults: trouble.told.fields, elsewhere: true };
        return show_again(&page(&desk, &held, &visitor, &Wanted::default(), Some(refused)).await?);
    }
    desk.put_down(job, held.job.seq, &drafts).await?;
    Ok(go(&format!("/jobs/{job}/measure")))
}
