//! What turns with the main axis and is not ground with it, the shaft's mass, rollers, and throws that may be off more one
//! way than the other: the book's keys, and what was measured.

use crank::{Face, Feature, FeatureDial, Mass, PrintedBand, PrintedLimit, PrintedRollers, PrintedSpecification};
use document::{Problems, Value};
use units::Unit;

use crate::specification::{limit, loose_band, pair, source};
use crate::table::{Field, Table, spelt};

/// More features than any shaft has.
const MOST_FEATURES: usize = 50;
/// More sizes of rollers than are made for one bearing.
const MOST_ROLLERS: usize = 100;
/// No dial shows more on a shaft that somebody grinds: 0.1 in.
const MOST_DIAL_MM: f64 = 2.54;

/// A throw's tolerance: one length for both ways, or `[low, high]`.
pub(crate) fn throw_tolerance(
    table: &mut Table<'_>,
    unit: Unit,
    problems: &mut Problems,
) -> (Option<PrintedLimit>, Vec<PrintedBand>) {
    let Some(field) = table.take("throw_tolerance") else { return (None, Vec::new()) };
    match field.node.value {
        Value::List(_) => (None, pair(&field, unit, problems).into_iter().collect()),
        _ => (limit(&field, unit, problems), Vec::new()),
    }
}

/// `undersizes = "any"`.
pub(crate) fn is_any(field: &Field<'_>) -> bool {
    matches!(field.node.value, Value::Text(text) if text.trim().eq_ignore_ascii_case("any"))
}

/// `rollers = { race = 1.6263, clearance = 0.001, made = [0.1875, 0.1877] }`.
pub(crate) fn rollers(table: &mut Table<'_>, unit: Unit, problems: &mut Problems) -> Option<PrintedRollers> {
    let mut inner = table.take("rollers")?.table(problems)?;
    let mut needed = |key, expected, example| {
        let field = inner.need(key, expected, example, problems)?;
        limit(&field, unit, problems)
    };
    let race = needed("race", "the bore of the race", "race = 1.6263");
    let clearance = needed("clearance", "the running clearance that is wanted", "clearance = 0.001");
    let made = inner.need("made", "the diameters that rollers are made in", "made = [0.1875, 0.1877]", problems);
    let made = made.and_then(|field| {
        let items = field.list("a list of diameters", problems)?;
        if items.len() > MOST_ROLLERS {
            field.refuse(problems, format!("at most {MOST_ROLLERS} diameters"), "list those near what is wanted");
            return None;
        }
        let made: Vec<PrintedLimit> = items.iter().filter_map(|f| limit(f, unit, problems)).collect();
        (made.len() == items.len()).then_some(made)
    });
    source(&mut inner, problems);
    inner.finish(problems);
    Some(PrintedRollers { race: race?, clearance: clearance?, made: made? })
}

/// The book's rows: seal lands, the nose and the like. Those without a place along the shaft are kept for their readers.
pub(crate) fn features(table: &mut Table<'_>, unit: Unit, problems: &mut Problems) -> Vec<Feature> {
    let Some(field) = table.take("feature") else { return Vec::new() };
    let rows = field.rows(problems);
    if rows.len() > MOST_FEATURES {
        field.refuse(problems, format!("at most {MOST_FEATURES} features"), "list those that must run true");
        return Vec::new();
    }
    let mut known: Vec<Feature> = Vec::new();
    for mut row in rows {
        let name = row.need("name", "what it is", "name = \"seal land\"", problems);
        let place = name.clone();
        let name = name.and_then(|f| f.text(problems)).map(str::to_owned);
        let at = row.take("at").and_then(|f| f.length(unit, problems));
        let runs = row.has("run_out") || row.has("face");
        if let Some(limits) = row.take("limits") {
            let columns = loose_band(&limits, unit, problems);
            let swapped = |b: &PrintedBand| matches!((&b.low, &b.high), (Some(l), Some(h)) if l.value > h.value);
            if columns.iter().any(swapped) {
                limits.refuse(problems, "the low limit first", "swap the two, or look at the book again");
            }
        } else if !runs && at.is_none() {
            row.need("limits", "its limits, or at and run_out", "limits = [2.4980, 2.5000]", problems);
        }
        if runs && at.is_none() {
            row.need("at", "where along the shaft, counted as the positions", "at = 14.2", problems);
        }
        let limit_mm = row.take("run_out").and_then(|f| dial_mm(&f, unit, problems));
        let face = row.take("face").and_then(|f| face(&f, unit, problems));
        source(&mut row, problems);
        row.finish(problems);
        let (Some(name), Some(at)) = (name, at) else { continue };
        if known.iter().any(|one| same(&one.name, &name)) {
            if let Some(field) = place {
                field.refuse(problems, "each feature once", "give the second another name, as \"rear seal land\"");
            }
            continue;
        }
        known.push(Feature { name, at_mm: at.mm, limit_mm, dial: None, face });
    }
    known
}

/// `face = { radius = 2.5, run_out = 0.001 }`.
fn face(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<Face> {
    let mut inner = field.table(problems)?;
    let radius = inner.need("radius", "how far from the axis the dial stands", "radius = 2.5", problems);
    let radius = radius.and_then(|f| {
        let expected = format!("a length above 0, in {}", spelt(unit));
        f.length_where(
            unit,
            |mm| mm > 0.0 && mm < 10_000.0,
            &expected,
            "measure from the middle of the shaft",
            problems,
        )
    });
    let limit_mm = inner.take("run_out").and_then(|f| dial_mm(&f, unit, problems));
    source(&mut inner, problems);
    inner.finish(problems);
    Some(Face { radius_mm: radius?.mm, limit_mm, total_mm: None })
}

/// `mass = 24.0`, or `mass = { kg = 24.0, at = 7.0, unbalance = 150, grade = 16, speed = 4000 }`.
pub(crate) fn mass(table: &mut Table<'_>, unit: Unit, problems: &mut Problems) -> Option<Mass> {
    let field = table.take("mass")?;
    let kg = |f: &Field<'_>, problems: &mut Problems| {
        let holds = |kg: f64| (0.1..100_000.0).contains(&kg);
        f.number(holds, "a mass in kilograms from 0.1", "weigh the bare shaft; one kilogram is 2.2 pounds", problems)
    };
    let plain = |kg| Mass { kg, at_mm: None, most_g_mm: None, grade_mm_s: None, speed_rpm: None };
    if !field.is_table() {
        return kg(&field, problems).map(plain);
    }
    let mut inner = field.table(problems)?;
    let weighed = inner.need("kg", "the shaft's mass in kilograms", "kg = 24.0", problems);
    let weighed = weighed.and_then(|f| kg(&f, problems));
    let at_mm = inner.take("at").and_then(|f| f.length(unit, problems)).map(|entry| entry.mm);
    let mut above = |key, expected: &str, advice: &str| {
        let field = inner.take(key)?;
        field.number(|n| n > 0.0 && n < 1e9, expected, advice, problems)
    };
    let most_g_mm = above("unbalance", "grams times millimetres, above 0", "the maker's figure; 1 g cm is 10 g mm");
    let grade_mm_s = above("grade", "the number behind the G, above 0", "grade 16 is written 16");
    let speed_rpm = above("speed", "revolutions a minute, above 0", "the engine's greatest speed");
    for (has, lacks) in [("grade", "speed"), ("speed", "grade")] {
        if inner.has(has) && !inner.has(lacks) {
            inner.need(
                lacks,
                "grade and speed together",
                &format!("{lacks} = {}", if lacks == "speed" { 4000 } else { 16 }),
                problems,
            );
        }
    }
    source(&mut inner, problems);
    inner.finish(problems);
    Some(Mass { kg: weighed?, at_mm, most_g_mm, grade_mm_s, speed_rpm })
}

/// What a dial showed or may show.
fn dial_mm(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<f64> {
    let expected = format!("a small length from 0, in {}", spelt(unit));
    let advice = "it is the highest reading less the lowest; look at the point";
    let entry = field.length_where(unit, |mm| (0.0..MOST_DIAL_MM).contains(&mm), &expected, advice, problems)?;
    Some(entry.mm)
}

fn same(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

/// The features of the book with what a sheet says was measured on them.
pub(crate) fn measured(
    root: &mut Table<'_>,
    unit: Unit,
    printed: Option<&PrintedSpecification>,
    problems: &mut Problems,
) -> (Vec<Feature>, Option<Mass>) {
    let mut features = printed.map(|book| book.features.clone()).unwrap_or_default();
    let book_mass = printed.and_then(|book| book.mass);
    let Some(field) = root.take("feature") else { return (features, book_mass) };
    let rows = field.rows(problems);
    let mut seen: Vec<String> = Vec::new();
    for mut row in rows.into_iter().take(MOST_FEATURES) {
        let named = row.need("name", "the name of a feature of the book", "name = \"flange\"", problems);
        let total = row.take("total");
        let total_mm = total.as_ref().and_then(|f| dial_mm(f, unit, problems));
        let high = match &total {
            Some(_) => row.need("high", "the direction of the high spot in degrees", "high = 90", problems),
            None => row.take("high"),
        };
        let high_deg = high.and_then(|f| f.angle_deg(problems));
        let face_mm = row.take("face_total").and_then(|f| dial_mm(&f, unit, problems));
        if total.is_none() && face_mm.is_none() {
            row.need("total", "highest less lowest reading of the dial", "total = 0.001", problems);
        }
        row.finish(problems);
        let Some(name_field) = named else { continue };
        let Some(name) = name_field.text(problems) else { continue };
        if seen.iter().any(|known| same(known, name)) {
            name_field.refuse(problems, "each feature once", "put what was measured of one feature into one row");
            continue;
        }
        seen.push(name.to_owned());
        let Some(feature) = features.iter_mut().find(|known| same(&known.name, name)) else {
            // Without a book the name cannot be looked for.
            if printed.is_some() {
                refuse_unknown(&name_field, name, &features, problems);
            }
            continue;
        };
        if let (Some(total_mm), Some(high_deg)) = (total_mm, high_deg) {
            feature.dial = Some(FeatureDial { total_mm, high_deg });
        }
        match &mut feature.face {
            Some(face) => face.total_mm = face_mm,
            None if face_mm.is_some() => {
                let advice = "add face = { radius = … } to the feature in the specification";
                name_field.refuse(problems, "a feature whose face the book tells", advice);
            }
            None => {}
        }
    }
    (features, book_mass)
}

fn refuse_unknown(field: &Field<'_>, name: &str, features: &[Feature], problems: &mut Problems) {
    let known: Vec<String> = features.iter().map(|one| format!("\"{}\"", one.name)).collect();
    let expected = match known.as_slice() {
        [] => "a feature that the specification has with its place".to_owned(),
        some => some.join(" or "),
    };
    let near = features.iter().find(|one| {
        let typed = name.to_lowercase();
        one.name.to_lowercase().contains(&typed) || typed.contains(&one.name.to_lowercase())
    });
    let advice = match near {
        Some(one) => format!("did you mean \"{}\"?", one.name),
        None => "add [[feature]] with name and at to the specification".to_owned(),
    };
    field.refuse(problems, expected, advice);
}
