//! Printed numbers, tables and cranks for the tests, built from text as it stands on a page.

#![allow(dead_code, reason = "each test file uses its own part of the kit")]

use crank::{
    PrintedBand, PrintedLimit, PrintedNumber, PrintedSet, PrintedSpecification, PrintedStep, Severity, SpecProblem,
};
use units::Unit;

pub(crate) const IN: Unit = Unit::Inch;
pub(crate) const MM: Unit = Unit::Millimetre;

/// A number with the decimals that its text has.
pub(crate) fn number(text: &str) -> PrintedNumber {
    let decimals = text.split_once('.').map_or(0, |(_, tail)| tail.len() as u32);
    PrintedNumber { value: text.parse().unwrap(), decimals }
}

/// A limit from `"0.010 in"` or `"0.010 in, 0.25 mm"`.
pub(crate) fn limit(text: &str) -> PrintedLimit {
    let columns = text
        .split(", ")
        .map(|column| {
            let (value, unit) = column.split_once(' ').unwrap();
            (unit_of(unit), number(value))
        })
        .collect();
    PrintedLimit { columns, sense: None, source: None }
}

pub(crate) fn sense(text: &str, sense: &str) -> PrintedLimit {
    PrintedLimit { sense: Some(sense.to_owned()), ..limit(text) }
}

/// Bands from `"2.1245-2.1250 in, 53.962-53.975 mm"`; `"-2.740 in"` has a high limit only, `"2.716- in"` a low one.
pub(crate) fn bands(text: &str) -> Vec<PrintedBand> {
    text.split(", ")
        .filter(|column| !column.is_empty())
        .map(|column| {
            let (edges, unit) = column.split_once(' ').unwrap();
            let (low, high) = edges.split_once('-').unwrap();
            let edge = |text: &str| (!text.is_empty()).then(|| number(text));
            PrintedBand { unit: unit_of(unit), low: edge(low), high: edge(high) }
        })
        .collect()
}

fn unit_of(text: &str) -> Unit {
    match text {
        "in" => IN,
        "mm" => MM,
        other => panic!("no unit `{other}`"),
    }
}

/// A row of a table of journal sizes.
pub(crate) fn row(undersize: &str, size: &str) -> PrintedStep {
    PrintedStep { undersize: limit(undersize), size: bands(size), wall: Vec::new(), worn: None, source: None }
}

/// A row of a table of shell walls.
pub(crate) fn wall_row(undersize: &str, wall: &str) -> PrintedStep {
    PrintedStep { wall: bands(wall), ..row(undersize, "") }
}

/// A table alone.
pub(crate) fn table(rows: Vec<PrintedStep>) -> PrintedSet {
    PrintedSet { steps: rows, ..PrintedSet::default() }
}

/// A sound inch crank: an invented light four.
pub(crate) fn four() -> PrintedSpecification {
    let undersizes: Vec<PrintedLimit> =
        ["0.010 in", "0.020 in", "0.030 in", "0.040 in"].into_iter().map(limit).collect();
    PrintedSpecification {
        name: "Tarn four".to_owned(),
        unit: IN,
        throw: Some(limit("1.5000 in")),
        throw_tolerance: Some(limit("0.0020 in")),
        throw_limits: Vec::new(),
        index_tolerance_deg: Some(0.25),
        main: PrintedSet {
            count: Some(5),
            positions: vec![0.0, 3.2, 6.4, 9.6, 12.8],
            size: bands("2.1245-2.1250 in"),
            undersizes: undersizes.clone(),
            out_of_round: Some(limit("0.0005 in")),
            taper: Some(limit("0.0005 in")),
            run_out: Some(limit("0.0020 in")),
            length: Some(limit("1.10 in")),
            smallest: Some(limit("2.0840 in")),
            fillet: bands("0.090-0.110 in"),
            roughness: Some(limit("0.000010 in")),
            housing: bands("2.2705-2.2710 in"),
            wall: bands("0.0717-0.0719 in"),
            clearance: bands("0.0017-0.0031 in"),
            thrust: bands("0.004-0.010 in"),
            case_depth: bands("0.018-0.026 in"),
            ..PrintedSet::default()
        },
        pin: PrintedSet {
            count: Some(4),
            positions: vec![1.6, 4.8, 8.0, 11.2],
            angles_deg: vec![0.0, 180.0, 180.0, 0.0],
            size: bands("1.8745-1.8750 in"),
            undersizes,
            out_of_round: Some(limit("0.0005 in")),
            taper: Some(limit("0.0005 in")),
            length: Some(limit("0.95 in")),
            ..PrintedSet::default()
        },
        treatment: "nitriding".to_owned(),
        growth_mean: Some(limit("0.0005 in")),
        growth_sd: Some(limit("0.0001 in")),
        features: Vec::new(),
        mass: None,
        run_out_rules: Vec::new(),
        confirmed: Vec::new(),
    }
}

/// A sound metric crank: an invented heavy six.
pub(crate) fn six() -> PrintedSpecification {
    let undersizes: Vec<PrintedLimit> = ["0.25 mm", "0.50 mm", "0.75 mm", "1.00 mm"].into_iter().map(limit).collect();
    PrintedSpecification {
        name: "Skelder six".to_owned(),
        unit: MM,
        throw: Some(limit("60.0 mm")),
        throw_tolerance: Some(limit("0.05 mm")),
        throw_limits: Vec::new(),
        index_tolerance_deg: Some(0.2),
        main: PrintedSet {
            count: Some(7),
            positions: (0..7).map(|n| f64::from(n) * 120.0).collect(),
            size: bands("79.980-80.000 mm"),
            undersizes: undersizes.clone(),
            out_of_round: Some(limit("0.020 mm")),
            taper: Some(limit("0.015 mm")),
            run_out: Some(sense("0.04 mm", "bend")),
            length: Some(limit("35.0 mm")),
            smallest: Some(limit("78.970 mm")),
            fillet: bands("3.3-3.7 mm"),
            roughness: Some(limit("0.0003 mm")),
            housing: bands("86.000-86.022 mm"),
            wall: bands("2.963-2.975 mm"),
            clearance: bands("0.050-0.116 mm"),
            thrust: bands("0.10-0.28 mm"),
            case_depth: bands("1.5-2.5 mm"),
            ..PrintedSet::default()
        },
        pin: PrintedSet {
            count: Some(6),
            positions: (0..6).map(|n| 60.0 + f64::from(n) * 120.0).collect(),
            angles_deg: vec![0.0, 120.0, 240.0, 240.0, 120.0, 0.0],
            size: bands("63.980-64.000 mm"),
            undersizes,
            out_of_round: Some(limit("0.020 mm")),
            taper: Some(limit("0.015 mm")),
            length: Some(limit("38.0 mm")),
            ..PrintedSet::default()
        },
        treatment: "induction".to_owned(),
        growth_mean: None,
        growth_sd: None,
        features: Vec::new(),
        mass: None,
        run_out_rules: Vec::new(),
        confirmed: Vec::new(),
    }
}

/// The faults among problems.
pub(crate) fn faults(problems: &[SpecProblem]) -> Vec<&SpecProblem> {
    problems.iter().filter(|problem| problem.severity == Severity::Fault).collect()
}

/// The keys of the faults.
pub(crate) fn fault_keys(problems: &[SpecProblem]) -> Vec<&str> {
    faults(problems).into_iter().map(|problem| problem.key.as_str()).collect()
}

/// A CSV file of the reference cases, row by row, comments left out.
pub(crate) fn rows(path: &str) -> Vec<Vec<String>> {
    let path = format!("{}/reference-cases/{path}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).flexible(true).from_path(path).unwrap();
    reader.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect()
}
