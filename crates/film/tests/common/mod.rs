//! Reading the tables beside the tests, and comparing.
#![allow(dead_code, reason = "each test file uses its own part of this")]

/// The rows of a table, without comments and heading; each cell as text.
pub(crate) fn rows(table: &str) -> Vec<Vec<String>> {
    let lines = table.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty());
    lines.skip(1).map(|line| line.split(',').map(|cell| cell.trim().to_owned()).collect()).collect()
}

/// One cell as a number.
pub(crate) fn number(row: &[String], column: usize) -> f64 {
    let cell = row.get(column).unwrap_or_else(|| panic!("no column {column} in {row:?}"));
    cell.parse().unwrap_or_else(|error| panic!("{cell:?} in {row:?}: {error}"))
}

/// Both sides of a relative tolerance.
#[track_caller]
pub(crate) fn close(what: &str, found: f64, wanted: f64, share: f64) {
    let off = (found / wanted - 1.0).abs();
    assert!(off <= share, "{what}: found {found}, wanted {wanted}: off by {off:.2e}, allowed {share:.2e}");
}

/// Both sides of an absolute tolerance.
#[track_caller]
pub(crate) fn near(what: &str, found: f64, wanted: f64, within: f64) {
    let off = (found - wanted).abs();
    assert!(off <= within, "{what}: found {found}, wanted {wanted}: off by {off:.2e}, allowed {within:.2e}");
}
