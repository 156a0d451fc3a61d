//! Solving a reference function for the temperature.
//!
//! A table of temperatures at even steps of emf gives a bracket and a start; Newton's method on the
//! function itself does the rest. It must not hold a second description of any function.

use std::sync::OnceLock;

use super::Standard;
use super::coefficients::Function;

/// Cells of a table. With so many, the straight line within a cell is within about 2e-4 °C of the
/// function over most of each range, and one Newton step from there is exact.
const CELLS: u16 = 2048;

/// A Newton step shorter than this, in °C, is the last: what is left is its square over twice the
/// distance to the nearest turning point of the function.
const LAST_STEP: f64 = 2e-4;

/// Temperatures at even steps of emf.
pub(super) struct Table {
    lowest: f64,
    highest: f64,
    cells_per_mv: f64,
    at: Vec<f64>,
}

/// The table of a type, made at first use.
pub(super) fn table(standard: Standard) -> &'static Table {
    static TABLES: [OnceLock<Table>; Standard::ALL.len()] =
        [const { OnceLock::new() }; Standard::ALL.len()];
    TABLES[standard as usize]
        .get_or_init(|| Table::new(standard.function(), standard.invertible_from()))
}

impl Table {
    fn new(function: &Function, from: f64) -> Self {
        let top = function.highest();
        let (lowest, highest) = (function.value(from), function.value(top));
        let step = (highest - lowest) / f64::from(CELLS);
        let mut at = Vec::with_capacity(usize::from(CELLS) + 1);
        at.push(from);
        for cell in 1..CELLS {
            let below = at[at.len() - 1];
            let start = below + (top - below) / f64::from(CELLS - cell + 1);
            at.push(solve(function, lowest + step * f64::from(cell), below, top, start));
        }
        at.push(top);
        Self { lowest, highest, cells_per_mv: 1.0 / step, at }
    }

    /// Lowest and highest emf, mV.
    pub(super) fn ends(&self) -> (f64, f64) {
        (self.lowest, self.highest)
    }

    /// Temperature at an emf, or nothing outside the table.
    #[inline]
    pub(super) fn find(&self, function: &Function, emf: f64) -> Option<f64> {
        if !(self.lowest <= emf && emf <= self.highest) {
            return None;
        }
        let place = (emf - self.lowest) * self.cells_per_mv;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 0 and CELLS: the emf was checked against both ends"
        )]
        let cell = (place as usize).min(usize::from(CELLS) - 1);
        #[expect(clippy::cast_precision_loss, reason = "a cell number is small")]
        let part = place - cell as f64;
        let (low, high) = (self.at[cell], self.at[cell + 1]);
        // Rounding may put the emf a hair into the next cell: leave that much room.
        let room = 1e-6;
        let t = solve(function, emf, low - room, high + room, low + part * (high - low));
        Some(t.clamp(self.at[0], self.at[usize::from(CELLS)]))
    }
}

/// Newton's method that falls back on halving the bracket whenever a step would leave it.
#[inline]
fn solve(function: &Function, emf: f64, mut low: f64, mut high: f64, mut t: f64) -> f64 {
    // Halving alone narrows 2000 °C to 1e-6 °C in 31 steps: the limit is never what stops it.
    for _ in 0..64 {
        let (value, slope) = function.value_and_slope(t);
        if value > emf {
            high = t;
        } else {
            low = t;
        }
        let newton = t - (value - emf) / slope;
        let next = if low <= newton && newton <= high { newton } else { f64::midpoint(low, high) };
        let step = (next - t).abs();
        t = next;
        if step < LAST_STEP {
            break;
        }
    }
    t
}
