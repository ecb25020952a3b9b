//! What this shop takes for granted about what nobody measured: settings that each new job starts with, as `[assumed]`.

use regrind::Assumed;
use shop::{Shop, Value};
use units::{Unit, show_mm};

use crate::form::{Field, Form};
use crate::trial;
use crate::trouble::Fault;
use crate::visitor::Fields;

/// What stands before a key of `[assumed]` among the settings.
const BEFORE: &str = "assumed_";

/// Those that a shop may set: the key, its label, whether it is a length.
const KEYS: [(&str, &str, bool); 6] = [
    ("level", "Median loss of the most worn side, on the diameter", true),
    ("journals_spread", "How wear spreads between the journals of a set, as a logarithm", false),
    ("other_step", "Share of journals last ground to another step than their set", false),
    ("one_sided", "Share of an oval that the worse side has lost, from and to", false),
    ("bow", "Median bow of the mains where no run-out was measured, on the radius", true),
    ("hidden_form", "Form that two points do not show, on the radius", true),
];

/// What holds where nothing is set.
fn usual(key: &str) -> String {
    let usual = Assumed::default();
    let length = |mm: f64| format!("{} in ({} mm)", show_mm(mm, Unit::Inch, 5), show_mm(mm, Unit::Millimetre, 4));
    match key {
        "level" => length(usual.level_mm),
        "journals_spread" => usual.journals_spread.to_string(),
        "other_step" => usual.other_step.to_string(),
        "one_sided" => format!("{} {}", usual.one_sided_from, usual.one_sided_to),
        "bow" => length(usual.bow_radius_mm),
        _ => length(usual.hidden_radius_mm),
    }
}

/// The settings put into the form.
pub(super) fn filled(form: Form, shop: &Shop) -> Form {
    KEYS.iter().fold(form, |form, (key, ..)| {
        let name = format!("{BEFORE}{key}");
        let told = shop.setting(&name).unwrap_or_default().to_owned();
        form.with(&name, told)
    })
}

/// The fields of the form.
pub(super) fn fields(form: &Form) -> Vec<Field> {
    let field = |(key, label, is_length): &(&str, &str, bool)| {
        let how = match (*is_length, *key) {
            (true, _) => " Write it with its unit.",
            (false, "one_sided") => " Two shares from 0.5, even, to 1, all on one side.",
            (false, _) => "",
        };
        let hint = format!("Empty: the usual {}.{how}", usual(key));
        form.text(&format!("{BEFORE}{key}"), label).hint(&hint).plain()
    };
    KEYS.iter().map(field).collect()
}

/// Whether the form has any of them filled in.
pub(super) fn any(form: &Form) -> bool {
    KEYS.iter().any(|(key, ..)| !form.value(&format!("{BEFORE}{key}")).is_empty())
}

/// Takes what was typed into the settings, with what is wrong with it.
pub(super) fn take(fields: &Fields, settings: &mut Value, faults: &mut Vec<Fault>) {
    for (key, label, is_length) in KEYS {
        let name = format!("{BEFORE}{key}");
        let typed = fields.text(&name);
        settings.set(&name, Value::typed(typed));
        if typed.is_empty() {
            continue;
        }
        // A shop may have engines in both units: a bare number would mean another length on each.
        if is_length && Value::typed(typed) != Value::from(typed) {
            faults.push(Fault::new(&name, format!("{label}: write the unit too, like {typed} in or {typed} mm.")));
            continue;
        }
        let table = Value::table([(key, value(key, typed))]);
        faults.extend(
            trial::problems(None, "in", &[("assumed", table)])
                .iter()
                .map(|problem| Fault::new(&name, format!("{label}: {}", trial::sentence(problem)))),
        );
    }
}

/// What a job booked in now starts with; nothing where the shop has set nothing.
pub(crate) fn of_shop(shop: &Shop) -> Option<Value> {
    let mut table = Value::Table(Vec::new());
    for (key, ..) in KEYS {
        if let Some(typed) = shop.setting(&format!("{BEFORE}{key}")).filter(|typed| !typed.is_empty()) {
            table.set(key, value(key, typed));
        }
    }
    (!table.pairs().is_empty()).then_some(table)
}

/// As a sheet has it: shares from and to are a list.
fn value(key: &str, typed: &str) -> Value {
    if key != "one_sided" {
        return Value::typed(typed);
    }
    let parts = typed.split([' ', ';']).filter(|part| !part.is_empty());
    Value::List(parts.map(Value::typed).collect())
}
