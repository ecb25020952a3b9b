//! What is measured of the shaft as a whole: a dial on the mains at several angles, heights of the pins, features, the case.
//!
//! Each kind has its place to type, what stands already and what that comes to together. A row about the same main, pin,
//! feature or set takes the place of the one before; the history keeps both.

mod forms;

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use shop::{Draft, EntryId, EntryKind, SheetRow, Shop, now};

use super::fit::faults;
use crate::bar::Bar;
use crate::desk::Desk;
use crate::drawings::Figure;
use crate::form::{Field, Form, NotWritten, Summary};
use crate::judged::counts;
use crate::trouble::{Fault, Trouble};
use crate::visitor::{Answer, Asked, Fields, Frame, JobPath, Visitor, form_id, go, shop_of, show, show_with};
use crate::whole_shaft::{self, BendShown};
use crate::wording::{Words, words_of};
use forms::{ANGLES, Kind};
use job::JobCard;

pub(crate) fn routes() -> Router<Desk> {
    Router::new().route("/jobs/{job}/shaft", get(page).post(save)).route("/jobs/{job}/shaft/strike", post(strike))
}

/// One row of a list.
struct Line {
    whose: String,
    says: String,
    who: String,
    /// The entry that says it now, and the first that said anything of it.
    entry: EntryId,
    first: EntryId,
    /// Names what striking it out writes.
    strike: String,
}

/// One kind of row: its form, its list, and what it comes to.
struct Part {
    kind: Kind,
    lines: Vec<Line>,
    fields: Vec<Field>,
    /// Readings round the main, where the form has them.
    round: Vec<Field>,
    /// Why nothing can be entered.
    closed: &'static str,
    id: String,
    corrects: String,
    summary: Summary,
    /// What came of the last one that was saved.
    saved: String,
    says: Vec<String>,
}

#[derive(Template)]
#[template(path = "shaft.html")]
struct ShaftPage {
    frame: Frame,
    bar: Bar,
    signed: bool,
    unit: &'static str,
    parts: Vec<Part>,
    bend: Option<BendShown>,
    figure: Option<Figure>,
    more: [usize; 4],
    problems: Vec<String>,
}

/// What the address asks to be shown.
#[derive(Default)]
struct Wanted {
    /// The row that a form is to put right.
    correct: Option<EntryId>,
    /// The kind that was saved, and of what.
    saved: Option<(Kind, String)>,
    angles: usize,
    /// A form that came back.
    returned: Option<Form>,
}

/// The rows of one kind that count.
fn rows(held: &JobCard, kind: Kind) -> impl Iterator<Item = &SheetRow> {
    held.job.rows.iter().filter(move |row| row.key == kind.word() && counts(row))
}

async fn page(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath, Asked(asked): Asked) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let saved = Kind::named(asked.text("saved")).map(|kind| (kind, asked.text("of").to_owned()));
    let angles = asked.text("angles").parse().ok().filter(|n| ANGLES.contains(n)).unwrap_or(ANGLES[2]);
    let wanted = Wanted { correct: asked.text("correct").parse().ok(), saved, angles, returned: None };
    show(&whole(&visitor, &shop, &held, wanted)?)
}

fn whole(visitor: &Visitor, shop: &Shop, held: &JobCard, wanted: Wanted) -> Result<ShaftPage, Trouble> {
    let words = words_of(shop);
    let error = if wanted.returned.is_some() { "Error: " } else { "" };
    let frame = visitor.frame(shop, format!("{error}Shaft of job {}", held.job.number), "jobs");
    let parts = Kind::ALL.into_iter().map(|kind| part(held, words, kind, &wanted)).collect::<Result<_, _>>()?;
    let sheet = held.sheet().ok();
    Ok(ShaftPage {
        bar: Bar::of(&held.job, "shaft"),
        signed: held.job.signed_off.is_some(),
        unit: held.unit().plural(),
        parts,
        bend: sheet.and_then(|sheet| whole_shaft::bend(sheet, words)),
        figure: sheet.and_then(|sheet| whole_shaft::bend_figure(sheet, words)),
        more: ANGLES,
        problems: held.book.as_ref().err().cloned().unwrap_or_default(),
        frame,
    })
}

fn part(held: &JobCard, words: Words, kind: Kind, wanted: &Wanted) -> Result<Part, Trouble> {
    let mut lines = Vec::new();
    for row in rows(held, kind) {
        lines.push(Line {
            whose: kind.whose(&row.row, words),
            says: kind.told(&row.row),
            who: row.who.clone(),
            entry: row.entry,
            first: row.first,
            strike: form_id()?,
        });
    }
    let own = wanted.returned.as_ref().filter(|form| form.part() == kind.word());
    let to_correct = wanted.correct.and_then(|entry| rows(held, kind).find(|row| row.entry == entry));
    let form = match (own, to_correct) {
        (Some(form), _) => form.clone(),
        (None, Some(row)) => kind.filled(Form::blank(kind.word())?, held, row),
        (None, None) => {
            let after = wanted.saved.as_ref().filter(|(saved, _)| *saved == kind).map(|(_, of)| of.as_str());
            kind.fresh(Form::blank(kind.word())?, held, after)
        }
    };
    let (fields, round) = kind.fields(&form, held, words, forms::angles_of(&form, wanted.angles));
    let saved = wanted.saved.as_ref().filter(|(saved, _)| *saved == kind);
    let last = saved.and_then(|(_, of)| rows(held, kind).filter(|row| kind.of(&row.row) == *of).last());
    Ok(Part {
        kind,
        lines,
        fields,
        round,
        closed: kind.closed(held),
        corrects: form.value("corrects").to_owned(),
        id: form.id.clone(),
        summary: form.summary(),
        saved: last
            .map_or(String::new(), |row| format!("Saved: {}, {}.", kind.whose(&row.row, words), kind.told(&row.row))),
        says: said(held, kind, words),
    })
}

/// What the rows of a kind come to.
fn said(held: &JobCard, kind: Kind, words: Words) -> Vec<String> {
    let Ok(sheet) = held.sheet() else { return Vec::new() };
    match kind {
        Kind::Dial | Kind::Feature => Vec::new(),
        Kind::Height => whole_shaft::throws(sheet, words),
        Kind::Case if sheet.specification.treatment.after_grinding => vec![format!(
            "It gets a new case after grinding ({}): what is left of the old one is not counted.",
            sheet.specification.treatment.kind
        )],
        Kind::Case if sheet.findings.cases.iter().all(Option::is_none) => {
            vec![
                "Nobody measured the case and the book does not tell it: what grinding leaves of it is not known."
                    .to_owned(),
            ]
        }
        Kind::Case => vec!["What each step leaves of it stands under Verdict.".to_owned()],
    }
}

/// Writes down one row, and how the shaft was carried where that changed.
async fn save(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let id = fields.id()?;
    let Some(kind) = Kind::named(fields.text("kind")) else {
        return Err(Trouble::not_found("There is nothing of that kind to write down.", "Load the page again."));
    };
    let row = kind.row(&fields);
    let angles = forms::typed_angles(&fields);
    let to = back(job, kind, &kind.of(&row.row), angles);
    if held.has(id) {
        return Ok(to);
    }
    let mut wrong = kind.missing(&fields);
    let named = fields.text("corrects").parse::<EntryId>().ok();
    let there = rows(&held, kind).find(|known| Some(known.entry) == named);
    let there = there.or_else(|| rows(&held, kind).find(|known| kind.of(&known.row) == kind.of(&row.row)));
    let mut draft = Draft::new(id, &visitor.who, now(), kind.entry(row));
    draft.corrects = there.map(|known| known.entry);
    let mut drafts = vec![draft];
    if kind == Kind::Dial {
        let carried = forms::carried(&fields);
        if held.job.document.get("carried") != Some(&carried) {
            let mut first = visitor.draft(EntryKind::Carried { carried })?;
            // Sent again, it is the same entry again.
            first.id = EntryId::from_bits(id.bits() ^ 1);
            drafts.insert(0, first);
        }
    }
    if wrong.is_empty() {
        wrong = faults(&held, &held.with(&drafts)).into_iter().map(|fault| kind.at_its_field(fault)).collect();
    }
    if !wrong.is_empty() {
        let shop = shop_of(&desk).await?;
        let returned = Some(Form::again(kind.word(), &fields, wrong)?);
        let wanted = Wanted { angles, returned, ..Wanted::default() };
        return show_with(StatusCode::UNPROCESSABLE_ENTITY, &whole(&visitor, &shop, &held, wanted)?);
    }
    desk.put_down(job, held.job.seq, &drafts).await?;
    Ok(to)
}

/// The way back to the form, which goes on to the next.
fn back(job: i64, kind: Kind, of: &str, angles: usize) -> Response {
    let of: String = form_urlencoded::byte_serialize(of.as_bytes()).collect();
    go(&format!("/jobs/{job}/shaft?saved={0}&of={of}&angles={angles}#{0}", kind.word()))
}

/// Takes a row out, with whatever put it right.
async fn strike(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let id = fields.id()?;
    let Some(kind) = Kind::named(fields.text("kind")) else {
        return Err(Trouble::not_found("There is nothing of that kind to strike out.", "Load the page again."));
    };
    if !held.has(id) {
        let entry = fields.text("entry").parse::<EntryId>().ok();
        let Some(row) = entry.and_then(|entry| rows(&held, kind).find(|row| row.first == entry)) else {
            return Err(Trouble::not_found("There is no such row any more.", "Load the page again."));
        };
        let draft = Draft::new(id, &visitor.who, now(), EntryKind::Undo { entry: row.first });
        let matters = |kind: &EntryKind| matches!(kind, EntryKind::Undo { .. } | EntryKind::SignedOff { .. });
        desk.write(job, fields.seen()?, &[draft], matters).await.map_err(NotWritten::into_trouble)?;
    }
    Ok(go(&format!("/jobs/{job}/shaft#{}", kind.word())))
}

/// A fault at another field than the sheet names.
fn moved(fault: Fault, to: &str) -> Fault {
    Fault::new(to, fault.says)
}
