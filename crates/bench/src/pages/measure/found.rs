//! What else was found: damage, run-out, wear, stamps, centres, traces.

use axum::extract::State;
use shop::{Draft, EntryKind, Row, Value, now};

use super::{Refused, Wanted, page};
use crate::desk::Desk;
use crate::door;
use crate::trouble::Trouble;
use crate::visitor::{Answer, Fields, JobPath, Visitor, go, shop_of, show_again};
use crate::wording::words_of;
use job::may::stays_readable;

/// What else was found: damage, run-out, wear, a stamp, the centre of a pin, a trace.
pub(super) async fn found(State(desk): State<Desk>, JobPath(job): JobPath, visitor: Visitor, fields: Fields) -> Answer {
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
    let (form, kind) = match fields.text("what") {
        "damage" => {
            for key in ["kind", "at", "from", "to"] {
                put(key, key);
            }
            if let Some(depth) = fields.get("depth") {
                row.set("depth", numbers(depth));
            }
            ("damage", EntryKind::Damage(Row::typed(row)))
        }
        "run_out" => {
            put("total", "total");
            put("high", "high");
            ("run_out", EntryKind::RunOut(Row::typed(row)))
        }
        "worn" => {
            put("share", "share");
            ("worn", EntryKind::Worn(Row::typed(row)))
        }
        "stamped" => {
            // What it is about is a whole set, `main` or `pin`, or one journal, `pin 3`.
            let about = fields.text("about");
            let key = if ["main", "pin"].contains(&about) { "set" } else { "journal" };
            let mut row = Value::table([(key, Value::from(about))]);
            if let Some(text) = fields.get("undersize") {
                row.set("undersize", Value::typed(text));
            }
            ("stamped", EntryKind::Stamped(Row::typed(row)))
        }
        "centre" => {
            put("throw", "throw");
            put("index", "index");
            ("centre", EntryKind::Centre(Row::typed(row)))
        }
        "trace" => {
            put("at", "at");
            put("size", "size");
            put("start", "start");
            if let Some(departures) = fields.get("departures") {
                row.set("departures", numbers(departures));
            }
            ("trace", EntryKind::Trace(Row::typed(row)))
        }
        _ => return Err(Trouble::not_found("There is nothing of that kind to write down.", "Load the page again.")),
    };
    let draft = Draft::new(fields.id()?, &visitor.who, now(), kind);
    let drafts = [draft];
    if let Err(refusal) = stays_readable(&held, &held.with(&drafts), "found") {
        let shop = shop_of(&desk).await?;
        let refused =
            Refused::Form { form, fields, faults: door::Refused::in_words(refusal, words_of(&shop)).faults() };
        return show_again(&page(&desk, &held, &visitor, &Wanted::default(), Some(refused)).await?);
    }
    desk.put_down(job, held.job.seq, &drafts).await?;
    Ok(go(&format!("/jobs/{job}/measure")))
}
