//! The instruments of a sheet.

use document::Problems;
use gauge::Instrument;
use units::Unit;

use crate::specification::unit as unit_of;
use crate::table::{Field, Table, spelt};

/// More instruments than any shop keeps.
const MOST_INSTRUMENTS: usize = 1_000;

/// The shop's default first, then those of the sheet.
pub(crate) fn instruments(root: &mut Table<'_>, unit: Unit, problems: &mut Problems) -> Vec<Instrument> {
    let mut instruments = vec![Instrument::shop_default(unit)];
    let Some(field) = root.take("instrument") else { return instruments };
    let rows = field.rows(problems);
    if rows.len() > MOST_INSTRUMENTS {
        field.refuse(problems, format!("at most {MOST_INSTRUMENTS} instruments"), "list only those that were used");
        return instruments;
    }
    for row in rows {
        instrument(row, unit, &mut instruments, problems);
    }
    instruments
}

fn instrument(mut row: Table<'_>, unit: Unit, instruments: &mut Vec<Instrument>, problems: &mut Problems) {
    let named = row.need("name", "the shop's name for it", "name = \"mic 2-3\"", problems);
    let unit = row.take("units").and_then(|f| unit_of(&f, problems)).unwrap_or(unit);
    let usual = Instrument::shop_default(unit);
    let kind = row.take("kind").and_then(|f| f.text(problems)).unwrap_or(&usual.kind).to_owned();
    let range_mm = row.take("range").and_then(|f| range(&f, unit, problems));
    let advice = "write the value of its smallest division";
    let graduation = row.take("graduation").and_then(|f| {
        f.length_where(unit, |mm| mm > 0.0 && mm <= 2.54, "a length above zero, at most 0.1 in", advice, problems)
    });
    let advice = "write what it reads on its setting standard, less the standard";
    let zero = row
        .take("zero")
        .and_then(|f| f.length_where(unit, |mm| mm.abs() < 2.54, "a small departure, below 0.1 in", advice, problems));
    let error_limit_mm = row.take("error_limit").and_then(|f| small_mm(&f, unit, problems));
    let repeatability_mm = row.take("repeatability").and_then(|f| small_mm(&f, unit, problems));
    let mut celsius = |key| {
        let advice = "write it in degrees Celsius";
        let field = row.take(key)?;
        field.number(|c| (-30.0..=90.0).contains(&c), "degrees Celsius from -30 to 90", advice, problems)
    };
    let temperature_c = celsius("temperature");
    let part_temperature_c = celsius("part_temperature");
    row.finish(problems);
    let Some(field) = named else { return };
    let Some(name) = field.text(problems) else { return };
    if instruments.iter().skip(1).any(|other| other.name == name) {
        field.refuse(problems, "a name that no other instrument has", "give each instrument its own name");
        return;
    }
    instruments.push(Instrument {
        name: name.to_owned(),
        kind,
        unit,
        range_mm,
        graduation_mm: graduation.map_or(usual.graduation_mm, |entry| entry.mm),
        zero_taken: zero.is_some(),
        zero_mm: zero.map_or(0.0, |entry| entry.mm),
        error_limit_mm: error_limit_mm.unwrap_or(usual.error_limit_mm),
        repeatability_mm: repeatability_mm.unwrap_or(usual.repeatability_mm),
        temperature_c,
        part_temperature_c,
    });
}

fn small_mm(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<f64> {
    let expected = "a small length, from 0 to below 0.1 in";
    let advice = format!("write it in {}, without a sign", spelt(unit));
    field.length_where(unit, |mm| (0.0..2.54).contains(&mm), expected, &advice, problems).map(|entry| entry.mm)
}

fn range(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<(f64, f64)> {
    let items = field.list("the smallest and the largest size it measures", problems)?;
    let mm: Vec<f64> = items.iter().filter_map(|f| f.length(unit, problems)).map(|entry| entry.mm).collect();
    match mm.as_slice() {
        [low, high] if *low >= 0.0 && low < high => Some((*low, *high)),
        _ if mm.len() < items.len() => None, // already said
        _ => {
            field.refuse(problems, "the smallest and the largest size it measures", "write it as [1.0, 2.0]");
            None
        }
    }
}
