//! How rough journals are: one form and one list, on a page of their own, where a crank is measured and at its final check.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::response::Response;
use axum::routing::{get, post};
use crank::{Lay, RaUnit, Taken};
use sheet::RoughnessWords;
use shop::{Draft, EntryId, EntryKind, Row, SheetRow, Shop, Value, now};
use units::Unit;

use super::fit::faults;
use crate::bar::Bar;
use crate::desk::Desk;
use crate::form::{Field, Form, NotWritten, Summary};
use crate::judged::counts;
use crate::trouble::Trouble;
use crate::visitor::{Answer, Asked, Fields, Frame, JobPath, Visitor, form_id, go, shop_of, show, show_again};
use crate::wording::Words;
use job::JobCard;

pub(crate) fn routes() -> Router<Desk> {
    Router::new()
        .route("/jobs/{job}/roughness", get(page).post(save))
        .route("/jobs/{job}/roughness/strike", post(strike))
}

/// The key of the rows, and the name of the form.
const ROUGHNESS: &str = "roughness";

/// Where the part stands, and so where its forms lead back to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum From {
    Own,
    Measure,
    FinalCheck,
}

impl From {
    const fn word(self) -> &'static str {
        match self {
            From::Own => "roughness",
            From::Measure => "measure",
            From::FinalCheck => "final",
        }
    }

    fn named(word: &str) -> From {
        [From::Measure, From::FinalCheck].into_iter().find(|from| from.word() == word).unwrap_or(From::Own)
    }

    /// What rows are entered and listed there.
    const fn takes(self) -> Option<Taken> {
        match self {
            From::Own => None,
            From::Measure => Some(Taken::Before),
            From::FinalCheck => Some(Taken::After),
        }
    }

    /// The way back; the final check asks for the code of its sheet.
    fn back(self, job: i64, code: &str) -> Response {
        let code: String = form_urlencoded::byte_serialize(code.as_bytes()).collect();
        let asked = if code.is_empty() { String::new() } else { format!("?code={code}") };
        go(&format!("/jobs/{job}/{}{asked}#roughness", self.word()))
    }
}

/// One row of the list.
struct Line {
    journal: String,
    says: String,
    when: &'static str,
    who: String,
    /// The entry that says it now, and the first that said anything of it.
    entry: EntryId,
    first: EntryId,
    /// Names what striking it out writes.
    strike: String,
}

/// The list and the form.
#[derive(Template)]
#[template(path = "roughness_part.html")]
pub(super) struct RoughnessPart {
    job: i64,
    seq: i64,
    token: String,
    from: &'static str,
    /// Whether rows of both times are shown here, and the form asks for the time.
    both: bool,
    code: String,
    limits: Vec<String>,
    lines: Vec<Line>,
    doubt: String,
    signed: bool,
    /// The entry that the form puts right.
    corrects: String,
    open: bool,
    id: String,
    fields: Vec<Field>,
}

#[derive(Template)]
#[template(path = "roughness.html")]
struct RoughnessPage {
    frame: Frame,
    bar: Bar,
    summary: Summary,
    part: RoughnessPart,
}

impl RoughnessPart {
    /// The part as it stands on a page.
    pub(super) fn of(held: &JobCard, frame: &Frame, from: From, code: &str) -> Result<RoughnessPart, Trouble> {
        RoughnessPart::with(held, frame, from, code, &Form::blank(ROUGHNESS)?)
    }

    fn with(held: &JobCard, frame: &Frame, from: From, code: &str, form: &Form) -> Result<RoughnessPart, Trouble> {
        let words = frame.words;
        let sheet = held.sheet().ok();
        let limits = sheet.iter().flat_map(|sheet| {
            let rough = RoughnessWords::of(sheet);
            crank::SetName::BOTH.into_iter().map(move |set| (set, rough.limit(set))).map(move |(set, limit)| {
                format!(
                    "{}: {}.",
                    words.set(set),
                    limit.unwrap_or_else(|| "no limit of roughness in the book".to_owned())
                )
            })
        });
        let takes = |taken: Taken| from.takes().is_none_or(|only| only == taken);
        let mut lines = Vec::new();
        for row in rows(held).filter(|row| takes(taken_of(&row.row))) {
            lines.push(Line {
                journal: words.journal_named(row.row.words("journal").unwrap_or_default()),
                says: sheet.and_then(|sheet| said(sheet, held, row)).unwrap_or_else(|| as_typed(row)),
                when: match taken_of(&row.row) {
                    Taken::Before => "before the work",
                    Taken::After => "after it",
                },
                who: row.who.clone(),
                entry: row.entry,
                first: row.first,
                strike: form_id()?,
            });
        }
        let doubt = sheet.map(RoughnessWords::of).map(|rough| {
            let of = |taken| if takes(taken) { rough.doubt(taken) } else { String::new() };
            let (before, after) = (of(Taken::Before), of(Taken::After));
            if before == after || after.is_empty() { before } else { after }
        });
        Ok(RoughnessPart {
            job: held.job.number,
            seq: held.job.seq,
            token: frame.token.clone(),
            from: from.word(),
            both: from == From::Own,
            code: code.to_owned(),
            limits: limits.collect(),
            open: form.is_faulty() || !form.value("journal").is_empty(),
            corrects: form.value("corrects").to_owned(),
            id: form.id.clone(),
            fields: fields(held, words, from, form),
            doubt: doubt.unwrap_or_default(),
            signed: held.job.signed_off.is_some(),
            lines,
        })
    }
}

/// The rows that count, in the order in which they were first written.
fn rows(held: &JobCard) -> impl Iterator<Item = &SheetRow> {
    held.job.rows.iter().filter(|row| row.key == ROUGHNESS && counts(row))
}

fn taken_of(row: &Value) -> Taken {
    if row.words("when") == Some(Taken::After.word()) { Taken::After } else { Taken::Before }
}

/// What is said of a row where the sheet of the job cannot be read.
fn as_typed(row: &SheetRow) -> String {
    let typed = |key: &str| row.row.get(key).and_then(Value::as_typed).unwrap_or_default();
    format!("{}, Ra {}", typed("at"), typed("ra"))
}

/// What is said of a row: rows that count stand in the sheet in their order.
fn said(sheet: &sheet::Sheet, held: &JobCard, row: &SheetRow) -> Option<String> {
    let place = rows(held).position(|known| known.entry == row.entry)?;
    let found = sheet.findings.roughness.get(place)?;
    let rough = RoughnessWords::of(sheet);
    let all = rough.journals(found.taken);
    let outcome = all.iter().flat_map(|one| &one.places).find(|(known, _)| *known == found).and_then(|(_, o)| *o);
    Some(format!("{}: {}", rough.place(found), RoughnessWords::state(outcome)))
}

fn fields(held: &JobCard, words: Words, from: From, form: &Form) -> Vec<Field> {
    let list = |list: &[(&str, &str)]| -> Vec<(String, String)> {
        list.iter().map(|(key, words)| ((*key).to_owned(), (*words).to_owned())).collect()
    };
    let book = held.book.as_ref().ok();
    let journals = book.into_iter().flat_map(|book| book.journals()).map(|id| (id.to_string(), words.journal(id)));
    let (own, other, example) = match held.unit() {
        Unit::Inch => (RaUnit::Microinch, RaUnit::Micron, "10"),
        Unit::Millimetre => (RaUnit::Micron, RaUnit::Microinch, "0.25"),
    };
    let mut fields = vec![
        form.choice("journal", "Journal", &journals.collect::<Vec<_>>()),
        form.choice("at", "Where along it", &list(&[("middle", "middle"), ("front", "front"), ("rear", "rear")])),
        form.text("ra", "Ra as shown").hint(&format!("The figure, like {example}.")).figures(),
        // The sheet's own unit is written bare, so that a figure that was read in the other is asked about.
        form.choice("unit", "In", &list(&[("", own.sign()), (other.sign(), other.sign())])),
        form.choice(
            "lay",
            "The marks lie",
            &list(&[
                ("", "not looked at"),
                (Lay::Around.word(), "around it, as ground or polished"),
                (Lay::Along.word(), "along it"),
                (Lay::Crossed.word(), "crossed"),
            ]),
        ),
        form.text("with", "Measured with").hint("In your words. Empty: not named.").plain(),
        form.text("error_limit", "Wrong by at most")
            .hint("In the unit of the Ra, from the instrument’s certificate. Empty: a tenth of the Ra is assumed.")
            .figures(),
        form.text("cutoff", "Cut-off, mm").hint("Empty: not told.").figures(),
    ];
    if from == From::Own {
        let when = list(&[("before", "as it came in"), ("after", "when all work is done")]);
        fields.insert(2, form.choice("when", "When", &when));
    }
    fields
}

async fn page(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath, Asked(asked): Asked) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let mut form = Form::blank(ROUGHNESS)?;
    let wanted = asked.text("correct").parse::<EntryId>().ok();
    if let Some(row) = wanted.and_then(|entry| rows(&held).find(|row| row.entry == entry)) {
        form = filled(form, row);
    }
    show(&whole(&visitor, &shop, &held, &form)?)
}

fn whole(visitor: &Visitor, shop: &Shop, held: &JobCard, form: &Form) -> Result<RoughnessPage, Trouble> {
    let job = held.job.number;
    let frame = visitor.frame(shop, form.title(&format!("Roughness, job {job}")), "jobs");
    Ok(RoughnessPage {
        bar: Bar::of(&held.job, "measure"),
        summary: form.summary(),
        part: RoughnessPart::with(held, &frame, From::Own, "", form)?,
        frame,
    })
}

/// The form with what a row says, to put it right.
fn filled(form: Form, row: &SheetRow) -> Form {
    let typed = |key: &str| row.row.get(key).and_then(Value::as_typed).unwrap_or_default().to_owned();
    let cutoff = typed("cutoff");
    let form = form.with("corrects", row.entry.to_string()).with("when", taken_of(&row.row).word());
    let form = form.with("cutoff", cutoff.strip_suffix(" mm").unwrap_or(&cutoff));
    // A figure with its unit in it is left as it is.
    ["journal", "at", "ra", "lay", "with", "error_limit"].into_iter().fold(form, |form, key| form.with(key, typed(key)))
}

/// The row that a form holds.
fn row_of(fields: &Fields, when: Taken) -> Value {
    let mut row = Value::table([("journal", Value::from(fields.text("journal")))]);
    let bare = |text: &str| text.ends_with(|last: char| last.is_ascii_digit() || ['.', ','].contains(&last));
    let mut put = |key: &str, unit: &str| {
        let Some(text) = fields.get(key) else { return };
        let text = if bare(text) && !unit.is_empty() { format!("{text} {unit}") } else { text.to_owned() };
        let is_words = ["at", "lay", "with"].contains(&key);
        row.set(key, if is_words { Value::from(text.as_str()) } else { Value::typed(&text) });
    };
    put("at", "");
    put("ra", fields.text("unit"));
    put("lay", "");
    put("with", "");
    put("error_limit", fields.text("unit"));
    put("cutoff", "mm");
    if when == Taken::After {
        row.set("when", Value::from(when.word()));
    }
    row
}

/// The row that a form puts right: the one that it names, or the one that was measured at the same place at that time.
fn replaced<'a>(held: &'a JobCard, fields: &Fields, row: &Value) -> Option<&'a SheetRow> {
    let named = fields.text("corrects").parse::<EntryId>().ok();
    let same = |known: &&SheetRow| {
        let at = |row: &Value| row.get("at").and_then(Value::as_typed).map(str::to_owned);
        known.row.words("journal") == row.words("journal")
            && at(&known.row) == at(row)
            && taken_of(&known.row) == taken_of(row)
    };
    rows(held).find(|row| Some(row.entry) == named).or_else(|| rows(held).find(same))
}

/// Writes down how rough a place is.
async fn save(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let (id, from) = (fields.id()?, From::named(fields.text("from")));
    let when = from.takes().unwrap_or(match fields.text("when") == Taken::After.word() {
        true => Taken::After,
        false => Taken::Before,
    });
    if held.has(id) {
        return Ok(from.back(job, fields.text("code")));
    }
    let row = row_of(&fields, when);
    let corrects = replaced(&held, &fields, &row).map(|row| row.entry);
    let mut draft = Draft::new(id, &visitor.who, now(), EntryKind::Roughness(Row::typed(row)));
    draft.corrects = corrects;
    let drafts = [draft];
    let wrong = match fields.get("ra") {
        Some(_) => faults(&held, &held.with(&drafts)),
        None => vec![crate::trouble::Fault::new("ra", "Type the Ra that the instrument showed.")],
    };
    if !wrong.is_empty() {
        let shop = shop_of(&desk).await?;
        let form = Form::again(ROUGHNESS, &fields, wrong)?.with("when", when.word());
        return show_again(&whole(&visitor, &shop, &held, &form)?);
    }
    desk.put_down(job, held.job.seq, &drafts).await?;
    Ok(from.back(job, fields.text("code")))
}

/// Takes a row out, with whatever put it right.
async fn strike(State(desk): State<Desk>, visitor: Visitor, JobPath(job): JobPath, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let (id, from) = (fields.id()?, From::named(fields.text("from")));
    if !held.has(id) {
        let entry = fields.text("entry").parse::<EntryId>().ok();
        let Some(row) = entry.and_then(|entry| rows(&held).find(|row| row.first == entry)) else {
            return Err(Trouble::not_found("There is no such row any more.", "Load the page again."));
        };
        let draft = Draft::new(id, &visitor.who, now(), EntryKind::Undo { entry: row.first });
        let matters = |kind: &EntryKind| matches!(kind, EntryKind::Undo { .. } | EntryKind::SignedOff { .. });
        desk.write(job, fields.seen()?, &[draft], matters).await.map_err(NotWritten::into_trouble)?;
    }
    Ok(from.back(job, fields.text("code")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(list: &[(&str, &str)]) -> Fields {
        Fields::of(list.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect())
    }

    #[test]
    fn a_form_becomes_the_row_of_a_sheet() {
        let typed = [("journal", "pin 2"), ("at", "middle"), ("ra", "0.25"), ("unit", "µm"), ("lay", "along")];
        let row = row_of(&fields(&typed), Taken::Before);
        assert_eq!(row.to_json(), r#"{"journal":"pin 2","at":"middle","ra":"0.25 µm","lay":"along"}"#);
        // In the sheet's own unit it stays bare, and is asked about where it cannot be.
        let typed = [("journal", "pin 2"), ("at", "rear"), ("ra", "10"), ("error_limit", "1"), ("cutoff", "0.8")];
        let row = row_of(&fields(&typed), Taken::After);
        let told = r#"{"journal":"pin 2","at":"rear","ra":10,"error_limit":1,"cutoff":"0.8 mm","when":"after"}"#;
        assert_eq!(row.to_json(), told);
        // A unit that was typed stands, whatever the list says.
        let typed = [("journal", "pin 2"), ("at", "rear"), ("ra", "10 µin"), ("unit", "µm")];
        assert_eq!(
            row_of(&fields(&typed), Taken::Before).to_json(),
            r#"{"journal":"pin 2","at":"rear","ra":"10 µin"}"#
        );
    }
}
