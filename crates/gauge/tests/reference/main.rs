//! The gauge room against published values; each check names its source.

mod budget;
mod conformity;
mod instrument;
mod roundness;

/// Panics with both values unless `found` lies within `tolerance` of `expected`, either way.
#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// The rows of a table without its heading, cut into cells.
fn rows(table: &str) -> Vec<Vec<&str>> {
    table.lines().skip(1).map(|line| line.split(',').collect()).collect()
}

/// A cell as a number.
#[track_caller]
fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|_| panic!("`{cell}` is not a number"))
}
