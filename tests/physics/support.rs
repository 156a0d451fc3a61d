//! Reading recorded tables, and comparing with a tolerance.

/// Rows of a recorded table: comment lines and the header line left out, cells split at commas.
pub(crate) fn rows(table: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    table
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split(',').collect())
}

/// Reads a number.
#[track_caller]
pub(crate) fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("`{text}` is not a number"))
}

/// Fails when two numbers are further apart than allowed.
#[track_caller]
pub(crate) fn near(found: f64, expected: f64, within: f64, what: &str) {
    assert!(
        (found - expected).abs() <= within,
        "{what}: found {found}, expected {expected} within {within}"
    );
}
