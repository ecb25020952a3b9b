//! The specification check against tables in print: sound rows pass, misprinted ones do not.

mod kit;

use std::collections::BTreeMap;

use crank::{PrintedBand, PrintedSet, SetName, SpecProblem, check_set};
use kit::{IN, MM, bands, fault_keys, limit, number, rows, table};

/// One table of the manuals, and which of its rows are noted as misprinted.
struct Table {
    set: PrintedSet,
    misprinted: Vec<usize>,
}

/// The tables of `us-manuals`, by engine and journal. Where a note gives the other column's figure it is typed in too.
fn manuals() -> BTreeMap<(String, String), Table> {
    let mut tables: BTreeMap<(String, String), Table> = BTreeMap::new();
    for row in rows("us-manuals/crank_specs_us_manuals.csv") {
        let [engine, journal, step, low, high, worn, note, _source] = row.as_slice() else { panic!("{row:?}") };
        let table = tables
            .entry((engine.clone(), journal.clone()))
            .or_insert_with(|| Table { set: table(Vec::new()), misprinted: Vec::new() });
        let undersize = if step.ends_with("mm") { step.clone() } else { format!("{step} in") };
        let edges = if low.is_empty() && high.is_empty() { String::new() } else { format!("{low}-{high} in") };
        let mut printed = kit::row(&undersize, &edges);
        if let Some((mm, _)) = note.split_once(" mm").filter(|(mm, _)| mm.parse::<f64>().is_ok()) {
            printed.size.push(PrintedBand { unit: MM, low: Some(number(mm)), high: None });
        } else if note.starts_with("lower size only (68.987 mm)") {
            printed.size.extend(bands("68.987- mm"));
        } else if note.contains("mm column 79.34-79.36") {
            printed.size.extend(bands("79.34-79.36 mm"));
        } else if note.contains("mm column says 72.7558") {
            printed.size.extend(bands("-72.7558 mm"));
        }
        if !worn.is_empty() {
            // The centimetre column of the NTC-400's mains: 11.426 cm.
            let centimetres = if note.contains("cm column 11.426") { ", 114.26 mm" } else { "" };
            printed.worn = Some(limit(&format!("{worn} in{centimetres}")));
        }
        table.set.steps.push(printed);
        if note.contains("MISPRINT") {
            table.misprinted.push(table.set.steps.len());
        }
    }
    tables
}

fn set_name(journal: &str) -> SetName {
    if journal == "main" { SetName::Main } else { SetName::Pin }
}

fn problems(set: &PrintedSet, name: SetName) -> Vec<SpecProblem> {
    check_set(set, name, IN, &[])
}

/// Source: US military technical manuals, 78 rows, each with its page in `reference-cases/us-manuals`. Two rows are
/// noted there as misprinted; no other may be refused.
#[test]
fn no_sound_row_of_the_us_manuals_is_refused_and_both_misprints_are() {
    let (mut compared, mut refused) = (0, 0);
    for ((engine, journal), table) in manuals() {
        let name = set_name(&journal);
        let found = problems(&table.set, name);
        let keys = fault_keys(&found);
        for row in 1..=table.set.steps.len() {
            let faulted = keys.iter().any(|key| key.starts_with(&format!("{name}.step[{row}].")));
            assert_eq!(faulted, table.misprinted.contains(&row), "{engine}, {journal}, row {row}: {found:#?}");
            compared += 1;
            refused += usize::from(faulted);
        }
        assert_eq!(keys.iter().filter(|key| !key.contains(".step[")).count(), 0, "{engine}, {journal}: {found:#?}");
    }
    assert_eq!((compared, refused), (78, 2));
}

/// The same rows, each table with its standard row as the set's own size and its undersizes as the set's list.
#[test]
fn the_us_manuals_pass_as_size_and_undersizes_too() {
    let mut compared = 0;
    for ((engine, journal), table) in manuals().into_iter().filter(|(_, table)| table.misprinted.is_empty()) {
        let standard = table.set.steps.iter().find(|step| step.undersize.columns[0].1.value == 0.0);
        let undersizes = table.set.steps.iter().filter(|step| step.undersize.columns[0].1.value > 0.0);
        let set = PrintedSet {
            size: standard.map_or_else(Vec::new, |step| step.size.clone()),
            wear_limit: standard.and_then(|step| step.worn.clone()),
            undersizes: undersizes.map(|step| step.undersize.clone()).collect(),
            ..PrintedSet::default()
        };
        let found = problems(&set, set_name(&journal));
        assert_eq!(fault_keys(&found), [""; 0], "{engine}, {journal}: {found:#?}");
        compared += 1;
    }
    assert_eq!(compared, 26);
}

/// A misprint of one in the last digit of any one limit must show, wherever the row has a fellow to be compared with.
///
/// The one row where it may not: the container handler's standard rod, which has a band of its own already.
#[test]
fn one_unit_more_in_the_last_place_of_any_row_is_found() {
    let (mut planted, mut caught) = (0, 0);
    for ((engine, journal), table) in manuals().into_iter().filter(|(_, table)| table.misprinted.is_empty()) {
        let name = set_name(&journal);
        // Rows in inches that were rounded from metric steps leave a unit of room.
        let rounded = table.set.steps.iter().any(|step| step.undersize.columns[0].0 == MM);
        let sized = table.set.steps.iter().filter(|step| !step.size.is_empty()).count();
        if rounded || sized < 2 {
            continue;
        }
        for row in 0..table.set.steps.len() {
            if engine.starts_with("container handler") && journal == "rod" && row == 0 {
                continue;
            }
            for low in [true, false] {
                let mut set = table.set.clone();
                let Some(band) = set.steps[row].size.first_mut() else { continue };
                let Some(edge) = (if low { &mut band.low } else { &mut band.high }) else { continue };
                edge.value += 2.0 * edge.half_unit();
                planted += 1;
                caught += usize::from(!fault_keys(&problems(&set, name)).is_empty());
            }
        }
    }
    assert_eq!((planted, caught), (92, 92));
}

/// Source: `reference-cases/shell-ladders` (TM 9-2815-205-24 p705 and p734, Subaru 2000, Volvo Penta D65A): 19 rows,
/// two misprinted in the inch column.
#[test]
fn shell_ladders_pass_but_for_their_misprints() {
    let mut tables: BTreeMap<(String, String), (Vec<crank::PrintedStep>, Vec<usize>)> = BTreeMap::new();
    for row in rows("shell-ladders/shell_thickness_ladders.csv") {
        let [engine, shell, undersize, low, high, _worn, unit, note, _source] = row.as_slice() else {
            panic!("{row:?}")
        };
        if engine == "engine" {
            continue; // the second comment line names the columns, and so does the header
        }
        let (steps, misprinted) = tables.entry((engine.clone(), shell.clone())).or_default();
        steps.push(kit::wall_row(&format!("{undersize} {unit}"), &format!("{low}-{high} {unit}")));
        if note.contains("MISPRINT") {
            misprinted.push(steps.len());
        }
    }
    let (mut compared, mut refused) = (0, 0);
    for ((engine, shell), (steps, misprinted)) in tables {
        let name = if shell.starts_with("main") { SetName::Main } else { SetName::Pin };
        let count = steps.len();
        let unit = steps[0].undersize.columns[0].0;
        let found = check_set(&table(steps), name, unit, &[]);
        let keys = fault_keys(&found);
        for row in 1..=count {
            let faulted = keys.iter().any(|key| key.starts_with(&format!("{name}.step[{row}].")));
            assert_eq!(faulted, misprinted.contains(&row), "{engine}, {shell}, row {row}: {found:#?}");
            compared += 1;
            refused += usize::from(faulted);
        }
    }
    assert_eq!((compared, refused), (19, 2));
}

/// Source: `reference-cases/published-limits/journal_limits.csv`, 36 rows: no published limit is refused.
#[test]
fn no_published_limit_is_out_of_family() {
    let mut compared = 0;
    for row in rows("published-limits/journal_limits.csv") {
        let engine = &row[0];
        let per_length = row[7] == "25.4 mm";
        for (n, value) in row.iter().enumerate().take(9).skip(3).filter(|(n, value)| *n != 7 && !value.is_empty()) {
            let mut set = PrintedSet::default();
            match n {
                3 | 4 => set.out_of_round = Some(limit(&format!("{value} mm"))),
                5 | 6 if per_length => {
                    let per_mm = value.parse::<f64>().unwrap() / 25.4;
                    set.taper = Some(kit::sense(&format!("{per_mm:.6} mm"), "length"));
                }
                5 | 6 => set.taper = Some(limit(&format!("{value} mm"))),
                _ => {
                    let bend = row[9].contains("bend") || row[9].contains("half TIR");
                    set.run_out = Some(kit::sense(&format!("{value} mm"), if bend { "bend" } else { "total" }));
                }
            }
            let found = check_set(&set, SetName::Main, MM, &[]);
            assert_eq!(fault_keys(&found), [""; 0], "{engine}: {found:#?}");
            compared += 1;
        }
    }
    assert_eq!(compared, 91);
}

/// Source: `reference-cases/published-limits/clearances.csv`: the ten end floats, both limits.
#[test]
fn no_published_end_float_is_out_of_family_and_ten_times_it_is() {
    let mut compared = 0;
    for row in rows("published-limits/clearances.csv").iter().filter(|row| row[1] == "end float") {
        let (low, high, unit) = (&row[2], &row[3], &row[5]);
        let with = |low: &str, high: &str| {
            let set = PrintedSet { thrust: bands(&format!("{low}-{high} {unit}")), ..PrintedSet::default() };
            check_set(&set, SetName::Main, if unit == "in" { IN } else { MM }, &[])
        };
        let found = with(low, high);
        assert_eq!(fault_keys(&found), [""; 0], "{}: {found:#?}", row[0]);
        for factor in [10.0, 0.1] {
            let moved = |text: &str| format!("{:.5}", text.parse::<f64>().unwrap() * factor);
            let found = with(&moved(low), &moved(high));
            assert!(!fault_keys(&found).is_empty(), "{}, {factor} times: {found:#?}", row[0]);
        }
        compared += 1;
    }
    assert_eq!(compared, 10);
}
