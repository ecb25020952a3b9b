//! The micrometer in hand: taking one up, its zero, how its readings are keyed.

use axum::extract::State;
use crank::SetName;
use shop::{CheckedAt, Draft, EntryKind, Shop, ShopKind, Value, now};
use units::{Unit, read};

use super::{Refused, Wanted, page};
use crate::desk::Desk;
use crate::form::NotWritten;
use crate::trouble::Fault;
use crate::visitor::{Answer, Fields, JobPath, Visitor, go, shop_of, show_again};
use crate::wording::{Words, count};
use job::JobCard;
use job::in_hand::{ToTakeUp, choices};
use job::march::Spot;
use job::micrometers::row_of;
use job::undo::derived;

/// The micrometer has to be changed before the next spot.
pub(super) struct Change {
    pub(super) set: SetName,
    pub(super) heading: String,
    pub(super) choices: Vec<ToTakeUp>,
    pub(super) spot: String,
}

pub(super) fn change(held: &JobCard, shop: &Shop, spot: Spot, words: Words) -> Change {
    let set = spot.journal.set;
    let choices = choices(held, shop, set);
    let one = match choices.as_slice() {
        [one] => Some(one),
        _ => None,
    };
    let heading = match (one, held.job.micrometer.is_some()) {
        (Some(one), true) => format!("Change to {}", one.says),
        (Some(one), false) => format!("Take up {}", one.says),
        (None, _) => format!("Which micrometer for the {}?", words.set_within(set)),
    };
    Change { set, heading, choices, spot: spot.to_string() }
}

pub(super) fn zero_moved(held: &JobCard, words: Words) -> Vec<String> {
    let moved = held.job.zero_moved.iter();
    moved
        .map(|moved| {
            let spots: Vec<String> = held
                .job
                .rows
                .iter()
                .filter(|row| moved.readings.contains(&row.entry))
                .map(|row| words.journal_named(row.row.words("journal").unwrap_or_default()))
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
                journals.join(", ")
            )
        })
        .collect()
}

/// A zero as the form has it: reads right, high or low, and by how much.
pub(super) fn zero_of(fields: &Fields, unit: Unit, faults: &mut Vec<Fault>) -> Option<String> {
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
pub(super) async fn take_up(
    State(desk): State<Desk>,
    JobPath(job): JobPath,
    visitor: Visitor,
    fields: Fields,
) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let id = fields.id()?;
    if held.has(id) {
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
        let refused = Refused::Form { form: "micrometer", fields, faults };
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
pub(super) async fn zero(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
    let held = desk.job(job).await?;
    let name = fields.text("with").to_owned();
    let unit = held.micrometer(Some(&name)).map_or(held.unit(), |one| one.unit);
    let mut faults = Vec::new();
    let reads = zero_of(&fields, unit, &mut faults);
    if !faults.is_empty() {
        let form = if fields.text("at") == "end" { "end" } else { "zero" };
        let refused = Refused::Form { form, fields, faults };
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
pub(super) async fn change_keying(
    State(desk): State<Desk>,
    JobPath(job): JobPath,
    visitor: Visitor,
    fields: Fields,
) -> Answer {
    let held = desk.job(job).await?;
    let shop = shop_of(&desk).await?;
    let name = fields.text("with");
    let unit = held.micrometer(Some(name)).map_or(held.unit(), |one| one.unit);
    let told = match fields.text("how") {
        "departure" => match read(fields.text("from"), unit) {
            Ok(entry) if entry.mm > 0.0 => format!("departure from {}", fields.text("from")),
            _ => {
                let faults = vec![Fault::new("from", "Enter the size that departures count from, like 2.1250.")];
                let refused = Refused::Form { form: "keyed", fields, faults };
                return show_again(&page(&desk, &held, &visitor, &Wanted::default(), Some(refused)).await?);
            }
        },
        how @ ("counts" | "last digits") => how.to_owned(),
        _ => "size".to_owned(),
    };
    let mut entry = shop.settings.get("entry").cloned().unwrap_or(Value::Table(Vec::new()));
    entry.set(name, Value::from(told));
    let settings = Value::table([("entry", entry)]);
    let draft = Draft::new(fields.id()?, &visitor.who, now(), ShopKind::Settings { settings });
    desk.write_to_shop(&[draft]).await.map_err(NotWritten::into_trouble)?;
    Ok(go(&format!("/jobs/{job}/measure")))
}
