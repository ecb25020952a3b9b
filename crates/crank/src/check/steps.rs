//! Printed tables, in which every row must stand its undersize away from standard.

use units::Unit;

use super::{Book, Words, like, words};
use crate::{PrintedBand, PrintedLimit, PrintedNumber, PrintedSet, PrintedStep, SetName};

/// One edge of one row.
#[derive(Clone)]
struct Rung<'a> {
    key: String,
    undersize: f64,
    number: &'a PrintedNumber,
    source: Option<&'a String>,
    standard: bool,
    /// The undersize is printed in the other unit only.
    foreign: bool,
}

/// What a table lists, and how far a row moves for each unit of undersize.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Table {
    /// Journal sizes: smaller by the undersize.
    Journal,
    /// Shell walls: thicker by half of it, for there are two walls across a journal.
    Wall,
}

impl Table {
    fn slope(self) -> f64 {
        match self {
            Table::Journal => -1.0,
            Table::Wall => 0.5,
        }
    }

    /// Ways in which a whole table goes wrong, each with the slope it then has.
    fn mistakes(self) -> &'static [(f64, &'static str)] {
        match self {
            Table::Journal => &[
                (1.0, "the undersizes were added to the standard size instead of taken off"),
                (0.0, "the row repeats the standard size"),
                (-0.5, "only half the undersize was taken off: the undersize is on the diameter"),
                (-2.0, "twice the undersize was taken off: the undersize is on the diameter, not on each side"),
                (-10.0, "a decimal point is one place out in the undersize"),
                (-0.1, "a decimal point is one place out in the undersize"),
            ],
            Table::Wall => &[
                (1.0, "the wall was stepped by the whole undersize: each of the two walls takes half"),
                (0.0, "the row repeats the standard wall"),
                (-0.5, "half the undersize was taken off the wall instead of added"),
                (-1.0, "the undersize was taken off the wall; each wall grows by half of it"),
                (0.25, "the wall was stepped by a quarter of the undersize: each of the two walls takes half"),
            ],
        }
    }
}

/// The tables of journal sizes, worn sizes and shell walls of one set.
pub(super) fn tables(book: &mut Book<'_>, name: SetName, set: &PrintedSet, other: Option<&PrintedSet>) {
    for unit in [Unit::Inch, Unit::Millimetre] {
        let elsewhere: Vec<f64> = other
            .into_iter()
            .flat_map(|other| other.steps.iter().flat_map(|step| &step.size).chain(&other.size))
            .filter(|band| band.unit == unit)
            .flat_map(|band| band.low.iter().chain(&band.high).map(|number| number.value))
            .collect();
        let other_name = super::other(name);
        let size = |step: &'_ PrintedStep| step.size.clone();
        let wall = |step: &'_ PrintedStep| step.wall.clone();
        for (table, part, standard, of) in [
            (Table::Journal, "size", &set.size, &size as &dyn Fn(&PrintedStep) -> Vec<PrintedBand>),
            (Table::Wall, "wall", &set.wall, &wall),
        ] {
            let rows: Vec<Vec<PrintedBand>> = set.steps.iter().map(of).collect();
            let edges = [true, false].map(|low| edge(name, set, part, standard, &rows, unit, low));
            judge_band(book, table, unit, &edges, &elsewhere, other_name);
        }
        let worn: Vec<Rung<'_>> = worn(name, set, unit);
        judge_band(book, Table::Journal, unit, &[worn, Vec::new()], &[], other_name);
    }
}

/// The low or the high edge of every row, standard first.
fn edge<'a>(
    name: SetName,
    set: &'a PrintedSet,
    part: &str,
    standard: &'a [PrintedBand],
    rows: &'a [Vec<PrintedBand>],
    unit: Unit,
    low: bool,
) -> Vec<Rung<'a>> {
    let of = |bands: &'a [PrintedBand]| {
        let band = bands.iter().find(|band| band.unit == unit)?;
        if low { band.low.as_ref() } else { band.high.as_ref() }
    };
    let mut rungs: Vec<Rung<'a>> = of(standard)
        .map(|number| Rung {
            key: format!("{name}.{part}"),
            undersize: 0.0,
            number,
            source: None,
            standard: true,
            foreign: false,
        })
        .into_iter()
        .collect();
    for (row, (step, bands)) in (1..).zip(set.steps.iter().zip(rows)) {
        let (Some(number), Some(mm)) = (of(bands), step.undersize.mm(unit)) else { continue };
        let key = format!("{name}.step[{row}].{part}");
        rungs.push(row_rung(key, number, step, mm, unit));
    }
    rungs
}

/// The worn size of every row that has one, standard first.
fn worn(name: SetName, set: &PrintedSet, unit: Unit) -> Vec<Rung<'_>> {
    let mut rungs = Vec::new();
    if let Some((limit, number)) = set.wear_limit.as_ref().and_then(|limit| Some((limit, in_unit(limit, unit)?))) {
        let key = format!("{name}.wear_limit");
        let source = limit.source.as_ref();
        rungs.push(Rung { key, undersize: 0.0, number, source, standard: true, foreign: false });
    }
    for (row, step) in (1..).zip(&set.steps) {
        let (Some(limit), Some(mm)) = (&step.worn, step.undersize.mm(unit)) else { continue };
        let Some(number) = in_unit(limit, unit) else { continue };
        rungs.push(row_rung(format!("{name}.step[{row}].worn"), number, step, mm, unit));
    }
    rungs
}

/// One edge of a table's own row.
fn row_rung<'a>(
    key: String,
    number: &'a PrintedNumber,
    step: &'a PrintedStep,
    undersize_mm: f64,
    unit: Unit,
) -> Rung<'a> {
    let standard = undersize_mm == 0.0;
    let foreign = !standard && in_unit(&step.undersize, unit).is_none();
    Rung { key, undersize: undersize_mm / unit.mm(), number, source: step.source.as_ref(), standard, foreign }
}

fn in_unit(limit: &PrintedLimit, unit: Unit) -> Option<&PrintedNumber> {
    limit.columns.iter().find(|(column, _)| *column == unit).map(|(_, number)| number)
}

/// Judges the two edges of a table together.
fn judge_band(
    book: &mut Book<'_>,
    table: Table,
    unit: Unit,
    edges: &[Vec<Rung<'_>>; 2],
    elsewhere: &[f64],
    other_name: SetName,
) {
    let [low, high] = edges;
    if let Some(words) = wider_standard(table, unit, low, high) {
        book.query(words, None);
        for rungs in edges {
            let reground: Vec<Rung<'_>> = rungs.iter().filter(|rung| !rung.standard).cloned().collect();
            judge_edge(book, table, unit, &reground, elsewhere, other_name);
        }
    } else {
        for rungs in edges {
            judge_edge(book, table, unit, rungs, elsewhere, other_name);
        }
    }
}

/// Some books allow the standard part a wider or narrower band about the same middle than the reground one; the
/// undersize rows then agree with one another. (Container handler engine, TM 10-3930-641-34-1; Subaru 2.5 shells.)
fn wider_standard(table: Table, unit: Unit, low: &[Rung<'_>], high: &[Rung<'_>]) -> Option<Words> {
    let standard_low = low.iter().find(|rung| rung.standard)?;
    let standard_high = high.iter().find(|rung| rung.standard)?;
    // One row by itself is no witness against standard.
    let agreed = |rungs: &[Rung<'_>]| {
        let rest: Vec<Rung<'_>> = rungs.iter().filter(|rung| !rung.standard).cloned().collect();
        let centre = majority(&rest, table.slope(), room(&rest))?;
        let agree =
            |rung: &&Rung<'_>| (rung.number.value - table.slope() * rung.undersize - centre).abs() <= room(&rest);
        (rest.iter().filter(agree).count() > 1).then_some(centre)
    };
    let (reground_low, reground_high) = (agreed(low)?, agreed(high)?);
    let below = standard_low.number.value - reground_low;
    let above = standard_high.number.value - reground_high;
    let room = room(low).max(room(high));
    // A quarter of the wider band: Subaru's middles differ by 0.001 in a band of 0.013 mm.
    let width = (standard_high.number.value - standard_low.number.value).max(reground_high - reground_low);
    let same_middle = (below + above).abs() / 2.0 <= 0.25 * width;
    let opposite = below.abs() > room && above.abs() > room && below * above < 0.0;
    (same_middle && opposite && width > 0.0).then(|| {
        let found = format!("{} to {}", standard_low.number.text(unit), standard_high.number.text(unit));
        let expected = format!(
            "{} to {}, as the undersize rows have it",
            like(standard_low.number, reground_low, unit),
            like(standard_high.number, reground_high, unit)
        );
        let cause = "the standard row has another band about the same middle than the undersize rows";
        words(&standard_low.key, &found, &expected, cause)
    })
}

/// How far rows may stand apart once their undersizes are added back. Rows stepped in the table's own unit are exact,
/// so just over half a unit of the finest row's last place (a table is printed to one number of places; a shorter row
/// has only lost a nought). Undersizes of the other unit leave both rows rounded.
fn room(rungs: &[Rung<'_>]) -> f64 {
    let finest = rungs.iter().map(|rung| rung.number.half_unit()).fold(f64::INFINITY, f64::min);
    if rungs.iter().any(|rung| rung.foreign) { ROUNDED_TWICE * finest } else { 1.2 * finest }
}

/// Two rounded rows, each half a unit out, and a little for cut-off digits.
const ROUNDED_TWICE: f64 = 2.2;

/// The size at standard on which most rows agree; standard's own, or else the first row's, where the votes are equal.
fn majority(rungs: &[Rung<'_>], slope: f64, room: f64) -> Option<f64> {
    let implied = |rung: &Rung<'_>| rung.number.value - slope * rung.undersize;
    let votes = |centre: f64| rungs.iter().filter(|rung| (implied(rung) - centre).abs() <= room).count();
    let mut best: Option<(usize, bool, f64)> = None;
    for rung in rungs {
        let vote = (votes(implied(rung)), rung.standard, implied(rung));
        if best.is_none_or(|best| (vote.0, vote.1) > (best.0, best.1)) {
            best = Some(vote);
        }
    }
    best.map(|best| best.2)
}

/// Judges one edge of a table.
fn judge_edge(
    book: &mut Book<'_>,
    table: Table,
    unit: Unit,
    rungs: &[Rung<'_>],
    elsewhere: &[f64],
    other_name: SetName,
) {
    if rungs.len() < 2 || rungs.iter().any(|rung| !rung.number.value.is_finite() || !rung.undersize.is_finite()) {
        return;
    }
    let slope = table.slope();
    let exact = room(rungs);
    let all = |slope: f64, room: f64| {
        majority(rungs, slope, room).is_some_and(|centre| {
            rungs.iter().all(|rung| (rung.number.value - slope * rung.undersize - centre).abs() <= room)
        })
    };
    if all(slope, exact) {
        return;
    }
    if let Some(words) = mixed_units(table, unit, rungs) {
        book.query(words, None);
        return;
    }
    let whole_table = table.mistakes().iter().find(|(slope, _)| all(*slope, exact));
    let standard = rungs.iter().find(|rung| rung.standard);
    let centre = match (whole_table, standard) {
        (Some(_), Some(standard)) => Some(standard.number.value),
        _ => majority(rungs, slope, exact),
    };
    let Some(centre) = centre else { return };
    let copied = |rung: &Rung<'_>| elsewhere.iter().any(|number| (number - rung.number.value).abs() <= exact);
    for rung in rungs {
        let wanted = centre + slope * rung.undersize;
        let off = rung.number.value - wanted;
        if off.abs() <= exact {
            continue;
        }
        let mistake = table.mistakes().iter().find(|(slope, _)| {
            rung.undersize > 0.0 && (rung.number.value - centre - slope * rung.undersize).abs() <= exact
        });
        let cause = if let Some((_, cause)) = mistake {
            (*cause).to_owned()
        } else if copied(rung) || rung.standard && rungs.iter().any(|row| !row.standard && copied(row)) {
            format!("the rows of the {other_name}s were copied into this table")
        } else if digits(rung.number, rung.number.value) == digits(rung.number, wanted) {
            "digits are swapped".to_owned()
        } else if rungs.iter().any(|row| row.key != rung.key && (row.number.value - rung.number.value).abs() < 1e-9) {
            "the figure of another row was printed here".to_owned()
        } else if rung.standard {
            "either standard is misprinted or the whole table belongs elsewhere: its rows agree with one another"
                .to_owned()
        } else {
            "the step from the other rows is not the undersize: a misprint".to_owned()
        };
        let expected = format!("{} for this undersize", like(rung.number, wanted, unit));
        book.fault(words(&rung.key, &rung.number.text(unit), &expected, &cause), rung.source);
    }
}

/// A table stepped in one unit under the names of the other: 0.25 mm called 0.010 in, or the other way about. Told
/// from a misprint only where the rows are printed finely enough to show the difference.
fn mixed_units(table: Table, unit: Unit, rungs: &[Rung<'_>]) -> Option<Words> {
    let half = rungs.iter().map(|rung| rung.number.half_unit()).fold(f64::INFINITY, f64::min);
    let first = rungs.iter().find(|rung| rung.undersize > 0.0)?;
    // 0.010 in stands for 0.25 mm, and 0.25 mm for 0.010 in; so do their multiples.
    let (ratio, named) = match unit {
        Unit::Inch => (25.0 / 25.4, 0.010),
        Unit::Millimetre => (25.4 / 25.0, 0.25),
    };
    let round = |undersize: f64| (undersize / named - (undersize / named).round()).abs() < 1e-6;
    let implied = rungs.iter().map(|rung| rung.number.value - table.slope() * ratio * rung.undersize);
    let (low, high) = implied.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    let shows = table.slope().abs() * first.undersize * (ratio - 1.0).abs() > 1.2 * half;
    let fits = high - low <= ROUNDED_TWICE * half && rungs.iter().all(|rung| round(rung.undersize));
    (shows && fits).then(|| {
        let found = format!("{} at {} {unit} under", first.number.text(unit), first.undersize);
        let expected = format!("rows stepped by {} {unit}", first.undersize);
        let cause =
            "the steps are round in the other unit (0.25 mm is not 0.010 in): order shells by their measured wall";
        words(&first.key, &found, &expected, cause)
    })
}

/// The digits of a value printed like a number, in order of size: equal for two that differ by swapped digits only.
pub(super) fn digits(number: &PrintedNumber, value: f64) -> Vec<u8> {
    let mut digits: Vec<u8> = format!("{value:.*}", number.shown_decimals() as usize).into_bytes();
    digits.sort_unstable();
    digits
}
