//! Which reading is the odd one, by the usual tests of statistics.
//!
//! Two kinds. Self-scaled tests ([`grubbs`], [`dixon`], [`robust`]) take their yardstick from the
//! very readings they judge; with three to five cylinders they are nearly blind, so they are shown
//! with their power and never decide. [`others`] measures against a spread known beforehand, and
//! is the one to use. This module must not know what a cylinder is.

pub mod dixon;
pub mod grubbs;
mod mates;
pub mod odd_one;
pub mod others;
pub mod robust;

pub use mates::median_of_mates;

/// Whether a set of readings can be tested at all: three or more, all finite.
fn testable(values: &[f64]) -> bool {
    values.len() >= 3 && values.iter().all(|value| value.is_finite())
}

/// A count as a number to reckon with.
#[expect(clippy::cast_precision_loss, reason = "counts of readings are far below 2^52")]
fn count(values: &[f64]) -> f64 {
    values.len() as f64
}

/// Median: the middle value, or the mean of the middle two. Nothing for no values.
#[must_use]
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    match sorted.len() {
        0 => None,
        n if n % 2 == 1 => Some(sorted[half]),
        _ => Some(f64::midpoint(sorted[half - 1], sorted[half])),
    }
}

/// Index and size of the value that is largest by a measure; the first of equals.
fn largest(values: &[f64], measure: impl Fn(f64) -> f64) -> Option<(usize, f64)> {
    values
        .iter()
        .map(|&value| measure(value))
        .enumerate()
        .reduce(|best, next| if next.1 > best.1 { next } else { best })
}

/// Chance at a shift in natural sd from a row in thousandths at 2, 3, 4, 5 and 6 sd: straight lines
/// between, from 0 below, the last value above.
fn power_at(row: &[u16; 5], shift: f64) -> Option<f64> {
    let shift = shift.abs();
    let mut left = (0.0, 0.0);
    for (at, &chance) in [2.0, 3.0, 4.0, 5.0, 6.0].into_iter().zip(row) {
        let right = (at, f64::from(chance) / 1e3);
        if shift <= at {
            return Some(left.1 + (right.1 - left.1) * (shift - left.0) / (right.0 - left.0));
        }
        left = right;
    }
    // Not a number, or beyond the table.
    shift.is_finite().then_some(left.1)
}
