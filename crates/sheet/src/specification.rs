//! Reading a specification: what the maker's book says, as printed.

use std::collections::HashMap;

use crank::{
    PrintedBand, PrintedLimit, PrintedNumber, PrintedSet, PrintedSpecification, PrintedStep, RaUnit, SetName, typed_ra,
};
use document::{Node, Problem, Problems, Value};
use units::{Entry, Unit};

use crate::table::{Field, Table, spelt};

/// The version of the format that is read here.
const VERSION: u64 = 1;
/// More journals than any crankshaft has.
const MOST_JOURNALS: u64 = 100;
/// More undersizes than any book lists.
const MOST_UNDERSIZES: usize = 40;

/// The lines on which the keys of a specification stand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Places {
    lines: HashMap<String, usize>,
}

impl Places {
    /// The line of a key (`main.taper`, `pin.undersizes[2]`); where the key itself is not there, of the table it
    /// belongs in.
    pub fn line(&self, key: &str) -> Option<usize> {
        let mut key = key;
        loop {
            if let Some(line) = self.lines.get(key) {
                return Some(*line);
            }
            key = &key[..key.rfind(['.', '['])?];
        }
    }

    fn note(&mut self, key: &str, line: Option<usize>) {
        self.lines.extend(line.map(|line| (key.to_owned(), line)));
    }

    /// Notes every key below a table or list.
    fn note_all(&mut self, key: &str, node: Node<'_>) {
        for entry in node.entries() {
            let below = if key.is_empty() { entry.key.to_owned() } else { format!("{key}.{}", entry.key) };
            self.note(&below, entry.line);
            self.note_all(&below, entry.node);
        }
        for (n, item) in (1..).zip(node.items()) {
            let below = format!("{key}[{n}]");
            self.note(&below, item.line());
            self.note_all(&below, item);
        }
    }
}

/// Reads a specification, TOML or JSON, as printed; nothing is judged but its form.
///
/// # Errors
/// Every problem at once, in the order of the lines.
pub fn read_specification(file: &str, text: &str) -> Result<(PrintedSpecification, Places), Vec<Problem>> {
    let mut problems = Problems::default();
    let read = from_text(file, text, &mut problems);
    match read {
        Some(read) if problems.is_empty() => Ok(read),
        Some((printed, places)) => {
            let book = crate::Book { file: file.to_owned(), prefix: "", printed, places };
            crate::adopt::faults_besides(&book, &mut problems);
            Err(problems.into_list())
        }
        None => Err(problems.into_list()),
    }
}

/// Reads a specification that is ready to be used: its form and what it says both without a fault.
///
/// # Errors
/// Every problem at once, in the order of the lines.
pub fn read_book(file: &str, text: &str) -> Result<crank::Specification, Vec<Problem>> {
    let (printed, places) = read_specification(file, text)?;
    let mut problems = Problems::default();
    let book = crate::Book { file: file.to_owned(), prefix: "", printed, places };
    let adopted = crate::adopt::adopt(&book, &mut problems);
    adopted.map(|(specification, _)| specification).ok_or_else(|| problems.into_list())
}

/// As [`read_specification`], with what could be made out in spite of problems.
pub(crate) fn from_text(file: &str, text: &str, problems: &mut Problems) -> Option<(PrintedSpecification, Places)> {
    let document = crate::document_of(file, text, problems)?;
    let table = Table::root(file, &document, problems);
    Some((printed(table, problems), places(document.root())))
}

/// The lines of everything in a specification.
pub(crate) fn places(node: Node<'_>) -> Places {
    let mut places = Places::default();
    places.note_all("", node);
    places
}

/// Reads the keys of a specification.
pub(crate) fn printed(mut table: Table<'_>, problems: &mut Problems) -> PrintedSpecification {
    version(&mut table, "specification", VERSION, problems);
    let unit = units(&mut table, problems);
    let unit_or = unit.unwrap_or(Unit::Inch);
    let name = table.take("name").and_then(|f| f.text(problems)).unwrap_or("unnamed crankshaft").to_owned();
    let throw = table.take("throw").and_then(|f| limit(&f, unit_or, problems));
    let (throw_tolerance, throw_limits) = crate::shaft::throw_tolerance(&mut table, unit_or, problems);
    let index_tolerance_deg = table.take("index_tolerance").and_then(|f| {
        f.number(|deg| (0.0..=45.0).contains(&deg), "degrees from 0 to 45", "write it in degrees, as 0.25", problems)
    });
    let mut main = PrintedSet::default();
    let mut pin = PrintedSet::default();
    for (name, key, set) in [(SetName::Main, "main", &mut main), (SetName::Pin, "pin", &mut pin)] {
        let example = format!("a table [{key}]");
        let field = table.need(key, &format!("the table of the {key} journals"), &example, problems);
        if let Some(inner) = field.and_then(|f| f.table(problems)) {
            *set = journals(inner, name, unit_or, problems);
        }
    }
    for_both_sets(&mut table, unit_or, &mut main, &mut pin, problems);
    let (treatment, growth_mean, growth_sd) = treatment(&mut table, unit_or, problems);
    let features = crate::shaft::features(&mut table, unit_or, problems);
    let mass = crate::shaft::mass(&mut table, unit_or, problems);
    let mains = main.positions.len();
    let run_out_rules = crate::dials::rules(&mut table, unit_or, mains, problems);
    let confirmed = table.take("confirmed").map(|f| f.items()).unwrap_or_default();
    let confirmed = confirmed.iter().filter_map(|f| f.text(problems)).map(str::to_owned).collect();
    // Where the figures come from as a whole; kept in the file for its readers.
    for key in ["source", "note"] {
        table.take(key).and_then(|f| f.text(problems));
    }
    table.finish(problems);
    PrintedSpecification {
        name,
        unit: unit_or,
        throw,
        throw_tolerance,
        throw_limits,
        index_tolerance_deg,
        main,
        pin,
        treatment,
        growth_mean,
        growth_sd,
        features,
        mass,
        run_out_rules,
        confirmed,
    }
}

/// Checks the version that a document begins with.
pub(crate) fn version(table: &mut Table<'_>, key: &'static str, version: u64, problems: &mut Problems) {
    let example = format!("{key} = {version} at the top");
    let Some(field) = table.need(key, &version.to_string(), &example, problems) else { return };
    match field.node.value {
        Value::Number(typed) if typed.parse::<u64>().is_ok_and(|found| found == version) => {}
        Value::Number(_) => {
            let advice = "this is another version of the format; write it anew, or use the program that belongs to it";
            field.refuse(problems, format!("version {version}"), advice);
        }
        _ => field.refuse(problems, format!("version {version}"), format!("write {key} = {version}")),
    }
}

/// The unit of a document, which must be stated.
pub(crate) fn units(table: &mut Table<'_>, problems: &mut Problems) -> Option<Unit> {
    let advice = "units = \"in\" or units = \"mm\"; it is the unit of every length in the file";
    table.need("units", "\"in\" or \"mm\"", advice, problems).and_then(|f| unit(&f, problems))
}

/// A unit in the words that people use for it.
pub(crate) fn unit(field: &Field<'_>, problems: &mut Problems) -> Option<Unit> {
    let found = match field.node.value {
        Value::Text(text) if text.trim() == "in" => Some(Unit::Inch),
        Value::Text(text) if text.trim() == "mm" => Some(Unit::Millimetre),
        _ => None,
    };
    if found.is_none() {
        field.refuse(problems, "\"in\" or \"mm\"", "write \"in\" for inches or \"mm\" for millimetres");
    }
    found
}

/// The keys of `[main]` or `[pin]`.
fn journals(mut table: Table<'_>, name: SetName, unit: Unit, problems: &mut Problems) -> PrintedSet {
    let listed = table.take("undersizes");
    let any_size = listed.as_ref().is_some_and(crate::shaft::is_any);
    let mut set = PrintedSet {
        any_size,
        count: table.take("count").and_then(|f| f.whole(1, MOST_JOURNALS, problems)).map(|n| n as i64),
        positions: table.take("positions").map(|f| positions(&f, unit, problems)).unwrap_or_default(),
        undersizes: listed.filter(|_| !any_size).map(|f| undersizes(&f, unit, problems)).unwrap_or_default(),
        rollers: crate::shaft::rollers(&mut table, unit, problems),
        out_of_round: table.take("out_of_round").and_then(|f| limit(&f, unit, problems)),
        taper: table.take("taper").and_then(|f| limit(&f, unit, problems)),
        run_out: table.take("run_out").and_then(|f| limit(&f, unit, problems)),
        length: table.take("length").and_then(|f| limit(&f, unit, problems)),
        size: table.take("size").map(|f| band(&f, unit, problems)).unwrap_or_default(),
        steps: steps(&mut table, unit, problems),
        ..PrintedSet::default()
    };
    if let (SetName::Pin, Some(field)) = (name, table.take("angles")) {
        let items = field.list("the direction of each throw in degrees", problems).unwrap_or_default();
        let finite =
            |f: &Field<'_>, problems: &mut Problems| f.number(|_| true, "degrees", "write it as 180", problems);
        set.angles_deg = items.iter().filter_map(|f| finite(f, problems)).collect();
    }
    common(&mut table, unit, &mut set, problems);
    for key in ["source", "note"] {
        table.take(key).and_then(|f| f.text(problems));
    }
    table.finish(problems);
    set
}

/// The optional limits that may stand in a set, or above both sets for the two of them.
fn common(table: &mut Table<'_>, unit: Unit, set: &mut PrintedSet, problems: &mut Problems) {
    set.smallest = table.take("smallest").and_then(|f| limit(&f, unit, problems));
    if let Some(field) = table.take("wear_limit") {
        wear_limits(&field, unit, set, problems);
    }
    set.roughness = table.take("roughness").and_then(|f| roughness_limit(&f, unit, problems));
    let mut loose = |key| table.take(key).map(|f| loose_band(&f, unit, problems)).unwrap_or_default();
    set.fillet = loose("fillet");
    set.housing = loose("housing");
    set.wall = loose("wall");
    set.clearance = loose("clearance");
    set.width = loose("width");
    set.thrust = loose("thrust");
    set.side = loose("side");
    set.crush = loose("crush");
    set.washer = loose("washer");
    set.case_depth = loose("case_depth");
    set.case_least = table.take("case_least").and_then(|f| limit(&f, unit, problems));
    set.washer_oversizes = table.take("washer_oversizes").map(|f| undersizes(&f, unit, problems)).unwrap_or_default();
    set.housing_material = table.take("housing_material").and_then(|f| {
        let materials = fit::Material::ALL.map(|material| (material.word(), material));
        f.word(&materials, problems).map(|material| material.word().to_owned())
    });
}

/// The smallest size in use alone, or a table of it with the most out-of-round and the most taper in use.
fn wear_limits(field: &Field<'_>, unit: Unit, set: &mut PrintedSet, problems: &mut Problems) {
    if !["size", "out_of_round", "taper"].iter().any(|key| has_key(field, key)) {
        set.wear_limit = limit(field, unit, problems);
        return;
    }
    let Some(mut table) = field.table(problems) else { return };
    let mut take = |key| table.take(key).and_then(|f| limit(&f, unit, problems));
    let mut limits = [take("size"), take("out_of_round"), take("taper")];
    let source = source(&mut table, problems);
    for limit in limits.iter_mut().flatten() {
        limit.source = limit.source.take().or_else(|| source.clone());
    }
    [set.wear_limit, set.wear_out_of_round, set.wear_taper] = limits;
    table.finish(problems);
}

/// Limits stated once hold for every set that has none of its own; run-out and end float belong to the mains.
fn for_both_sets(
    table: &mut Table<'_>,
    unit: Unit,
    main: &mut PrintedSet,
    pin: &mut PrintedSet,
    problems: &mut Problems,
) {
    let run_out = table.take("run_out").and_then(|f| limit(&f, unit, problems));
    main.run_out = main.run_out.take().or(run_out);
    let mut above = PrintedSet::default();
    common(table, unit, &mut above, problems);
    // End float and its washers belong to the mains, side clearance to the pins.
    for (main, pin, above) in [
        (&mut main.thrust, &pin.thrust, &mut above.thrust),
        (&mut main.washer, &pin.washer, &mut above.washer),
        (&mut pin.side, &main.side, &mut above.side),
    ] {
        if main.is_empty() && pin.is_empty() {
            *main = std::mem::take(above);
        }
    }
    if main.washer_oversizes.is_empty() {
        main.washer_oversizes = std::mem::take(&mut above.washer_oversizes);
    }
    for set in [main, pin] {
        // A size given for both sets is the size of the set that it is near; mains and pins may differ.
        let new = set.size.first().and_then(|band| Some((band.unit, band.low.as_ref().or(band.high.as_ref())?.value)));
        let near = |limit: &PrintedLimit| {
            let (Some((unit, new)), Some(mm)) = (new, limit.columns.first().map(|(unit, n)| n.value * unit.mm()))
            else {
                return true;
            };
            (0.9..1.1).contains(&(mm / (new * unit.mm())))
        };
        set.smallest = set.smallest.take().or_else(|| above.smallest.clone().filter(near));
        set.wear_limit = set.wear_limit.take().or_else(|| above.wear_limit.clone().filter(near));
        set.wear_out_of_round = set.wear_out_of_round.take().or_else(|| above.wear_out_of_round.clone());
        set.wear_taper = set.wear_taper.take().or_else(|| above.wear_taper.clone());
        set.roughness = set.roughness.take().or_else(|| above.roughness.clone());
        set.case_least = set.case_least.take().or_else(|| above.case_least.clone());
        set.housing_material = set.housing_material.take().or_else(|| above.housing_material.clone());
        for (own, given) in [
            (&mut set.fillet, &above.fillet),
            (&mut set.housing, &above.housing),
            (&mut set.wall, &above.wall),
            (&mut set.clearance, &above.clearance),
            (&mut set.width, &above.width),
            (&mut set.crush, &above.crush),
            (&mut set.case_depth, &above.case_depth),
        ] {
            if own.is_empty() {
                own.clone_from(given);
            }
        }
    }
}

/// Mid-lengths, in the document's unit whatever each was typed in.
fn positions(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Vec<f64> {
    let items = field.list("the mid-length of each journal", problems).unwrap_or_default();
    if items.len() as u64 > MOST_JOURNALS {
        field.refuse(problems, format!("at most {MOST_JOURNALS} journals"), "check that this is one crankshaft");
        return Vec::new();
    }
    items.iter().filter_map(|f| f.length(unit, problems)).map(|entry| number(&entry, unit).value).collect()
}

/// Undersizes: one list, each item a number or with both columns; or one list for each column.
fn undersizes(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Vec<PrintedLimit> {
    let too_many = |f: &Field<'_>, problems: &mut Problems| {
        f.refuse(problems, format!("at most {MOST_UNDERSIZES} undersizes"), "list those that shells are made for");
        Vec::new()
    };
    if !field.is_table() {
        let items = match field.node.value {
            Value::List(list) if list.is_empty() => Vec::new(),
            _ => field.list("a list of undersizes", problems).unwrap_or_default(),
        };
        if items.len() > MOST_UNDERSIZES {
            return too_many(field, problems);
        }
        return items.iter().filter_map(|f| limit(f, unit, problems)).collect();
    }
    let Some(mut table) = field.table(problems) else { return Vec::new() };
    let source = source(&mut table, problems);
    let mut rows: Vec<PrintedLimit> = Vec::new();
    for (key, column) in [("in", Unit::Inch), ("mm", Unit::Millimetre)] {
        let Some(list) = table.take(key) else { continue };
        let items = list.list("a list of undersizes", problems).unwrap_or_default();
        if items.len() > MOST_UNDERSIZES {
            return too_many(&list, problems);
        }
        if !rows.is_empty() && rows.len() != items.len() {
            list.refuse(problems, format!("{} undersizes, as in the other column", rows.len()), "complete the column");
            continue;
        }
        rows.resize(items.len(), PrintedLimit { columns: Vec::new(), sense: None, source: source.clone() });
        for (row, item) in rows.iter_mut().zip(&items) {
            row.columns.extend(item.length(column, problems).map(|entry| (column, number(&entry, column))));
        }
    }
    table.finish(problems);
    rows
}

/// The rows of a printed table of undersizes.
fn steps(table: &mut Table<'_>, unit: Unit, problems: &mut Problems) -> Vec<PrintedStep> {
    let Some(field) = table.take("step") else { return Vec::new() };
    let rows = field.rows(problems);
    if rows.len() > MOST_UNDERSIZES {
        field.refuse(problems, format!("at most {MOST_UNDERSIZES} rows"), "list those that shells are made for");
        return Vec::new();
    }
    let mut steps = Vec::new();
    for mut row in rows {
        let undersize =
            row.need("undersize", "the undersize of the row, 0 for standard", "undersize = 0.010", problems);
        let step = PrintedStep {
            undersize: undersize.and_then(|f| limit(&f, unit, problems)).unwrap_or(PrintedLimit {
                columns: Vec::new(),
                sense: None,
                source: None,
            }),
            size: row.take("size").map(|f| band(&f, unit, problems)).unwrap_or_default(),
            wall: row.take("wall").map(|f| loose_band(&f, unit, problems)).unwrap_or_default(),
            worn: row.take("worn").and_then(|f| limit(&f, unit, problems)),
            source: source(&mut row, problems),
        };
        row.finish(problems);
        steps.push(step);
    }
    steps
}

/// Kind, mean growth and its spread.
fn treatment(
    table: &mut Table<'_>,
    unit: Unit,
    problems: &mut Problems,
) -> (String, Option<PrintedLimit>, Option<PrintedLimit>) {
    let Some(field) = table.take("treatment") else { return ("none".to_owned(), None, None) };
    if let Value::Text(kind) = field.node.value {
        return (kind.trim().to_lowercase(), None, None);
    }
    let Some(mut inner) = field.table(problems) else { return ("none".to_owned(), None, None) };
    let kind = inner.need("kind", "the process, or \"none\"", "kind = \"nitriding\"", problems);
    let kind = kind.and_then(|f| f.text(problems)).unwrap_or("none").to_lowercase();
    let (mut mean, mut sd) = (None, None);
    if let Some(growth) = inner.take("growth") {
        if !has_key(&growth, "mean") && !has_key(&growth, "sd") {
            mean = limit(&growth, unit, problems);
        } else if let Some(mut parts) = growth.table(problems) {
            let given = parts.need("mean", "the mean growth on the diameter", "mean = 0.0005", problems);
            mean = given.and_then(|f| limit(&f, unit, problems));
            sd = parts.take("sd").and_then(|f| limit(&f, unit, problems));
            source(&mut parts, problems);
            parts.finish(problems);
        }
    }
    source(&mut inner, problems);
    inner.finish(problems);
    (kind, mean, sd)
}

pub(crate) fn source(table: &mut Table<'_>, problems: &mut Problems) -> Option<String> {
    table.take("source").and_then(|f| f.text(problems)).map(str::to_owned)
}

fn has_key(field: &Field<'_>, key: &str) -> bool {
    field.node.entry(key).is_some()
}

/// A number as printed, in a column's unit.
fn number(entry: &Entry, column: Unit) -> PrintedNumber {
    let plain = entry.typed.trim().parse::<f64>().ok().filter(|n| n.is_finite() && entry.unit == column);
    PrintedNumber { value: plain.unwrap_or(entry.mm / column.mm()), decimals: entry.decimals }
}

/// One limit: a number or a text in the document's unit, or a table with the columns and how they are read.
pub(crate) fn limit(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<PrintedLimit> {
    if !field.is_table() {
        let entry = field.length(unit, problems)?;
        let columns = vec![(entry.unit, number(&entry, entry.unit))];
        return Some(PrintedLimit { columns, sense: None, source: None });
    }
    let mut table = field.table(problems)?;
    let mut columns = Vec::new();
    for (key, column) in [("in", Unit::Inch), ("mm", Unit::Millimetre), ("value", unit)] {
        if let Some(entry) = table.take(key).and_then(|f| f.length(column, problems)) {
            // A text may name its own unit, as in `value = "0.05 mm"`.
            let column = if key == "value" { entry.unit } else { column };
            columns.push((column, number(&entry, column)));
        }
    }
    let read_as = table.take("read_as").and_then(|f| f.text(problems));
    let per = table.take("per").and_then(|f| f.text(problems));
    let source = source(&mut table, problems);
    if columns.is_empty() && !has_key(field, "in") && !has_key(field, "mm") && !has_key(field, "value") {
        field.refuse(problems, "a number under in, mm or value", format!("add value = …, in {}", spelt(unit)));
    }
    table.finish(problems);
    Some(PrintedLimit { columns, sense: per.or(read_as).map(str::to_owned), source })
}

/// The largest Ra allowed: a limit like any other, or a text in microinches, which lengths are not typed in.
fn roughness_limit(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<PrintedLimit> {
    let text = match field.node.value {
        Value::Text(text) => typed_ra(text, RaUnit::of(unit)).ok(),
        _ => None,
    };
    match text {
        Some((ra, _)) if ra.unit == RaUnit::Microinch && ra.um.is_finite() => {
            let value = ra.um / RaUnit::Inch.um();
            let columns = vec![(Unit::Inch, PrintedNumber { value, decimals: ra.decimals + 6 })];
            Some(PrintedLimit { columns, sense: None, source: None })
        }
        _ => limit(field, unit, problems),
    }
}

/// Low and high limit: a pair, or a table with a pair for each column.
fn band(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Vec<PrintedBand> {
    if !field.is_table() {
        return pair(field, unit, problems).into_iter().collect();
    }
    let Some(mut table) = field.table(problems) else { return Vec::new() };
    let mut bands = Vec::new();
    for (key, column) in [("in", Unit::Inch), ("mm", Unit::Millimetre)] {
        let Some(inner) = table.take(key) else { continue };
        if inner.is_table() {
            let Some(mut ends) = inner.table(problems) else { continue };
            bands.extend(ends_of(&mut ends, &inner, column, problems));
            ends.finish(problems);
        } else {
            bands.extend(pair(&inner, column, problems));
        }
    }
    if has_key(field, "low") || has_key(field, "high") {
        bands.extend(ends_of(&mut table, field, unit, problems));
    } else if !has_key(field, "in") && !has_key(field, "mm") {
        field.refuse(problems, "limits under in, mm, or low and high", format!("add {unit} = [low, high]"));
    }
    source(&mut table, problems);
    table.finish(problems);
    bands
}

/// As [`band`]; a lone number stands for both limits.
pub(crate) fn loose_band(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Vec<PrintedBand> {
    if !matches!(field.node.value, Value::Number(_) | Value::Text(_)) {
        return band(field, unit, problems);
    }
    let Some(entry) = field.length(unit, problems) else { return Vec::new() };
    let both = Some(number(&entry, entry.unit));
    vec![PrintedBand { unit: entry.unit, low: both.clone(), high: both }]
}

/// The ends that a book prints, one or both.
fn ends_of(table: &mut Table<'_>, field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<PrintedBand> {
    let mut end = |key| table.take(key).and_then(|f| f.length(unit, problems)).map(|entry| number(&entry, unit));
    let (low, high) = (end("low"), end("high"));
    if !has_key(field, "low") && !has_key(field, "high") {
        field.refuse(problems, "low or high or both", "add low = … or high = …");
        return None;
    }
    Some(PrintedBand { unit, low, high })
}

/// `[low, high]`.
pub(crate) fn pair(field: &Field<'_>, unit: Unit, problems: &mut Problems) -> Option<PrintedBand> {
    let expected = "a low and a high limit";
    let items = match field.node.value {
        Value::List(list) if list.len() == 2 => field.items(),
        _ => {
            field.refuse(problems, expected, "write it as [low, high]");
            return None;
        }
    };
    let entries: Vec<Entry> = items.iter().filter_map(|f| f.length(unit, problems)).collect();
    match entries.as_slice() {
        [low, high] => {
            // Both limits in one column: that of the first, whatever the other was typed in.
            let column = low.unit;
            Some(PrintedBand { unit: column, low: Some(number(low, column)), high: Some(number(high, column)) })
        }
        _ => None,
    }
}
