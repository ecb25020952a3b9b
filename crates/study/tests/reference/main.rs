//! The studies against certified and published values; each check names its source.

mod anova;
mod line;

/// Panics with both values unless `found` lies within `tolerance` of `expected`, either way.
#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// Digits of agreement, at most 17 (StRD's log relative error).
fn digits_alike(found: f64, expected: f64) -> f64 {
    if found == expected { 17.0 } else { -((found - expected) / expected).abs().log10() }
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
