//! The figures of a window while it is open.
//!
//! Bounded, whatever the length of the window. It must not decide when a window begins or ends.

use super::block::{Block, MISSING, PER_WINDOW};
use super::tally::{Counts, Moments};
use crate::readings::settle::compare::Scatter;

/// Blocks of a mean that counts as one observation; also those at the end of a window that are left
/// out when it ends by itself, as they may have moved.
pub(super) const TAIL: usize = PER_WINDOW / 6;

/// One display in a window.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// Numbers in it.
    pub count: u64,
    /// Rows in which it showed no number.
    pub missing: u64,
    /// Mean, °C.
    pub mean: f64,
    /// Standard deviation of one number, °C.
    pub sd: f64,
    /// Standard error of the mean, °C, from means of a sixth of the settling time each, so that
    /// slow wandering counts.
    pub se: f64,
    /// Median, °C, to 0.005.
    pub median: Option<f64>,
    /// Sixteen and eighty-four per cent of numbers lie below these, °C.
    pub usual: Option<(f64, f64)>,
    /// Scatter about its own course, °C.
    pub scatter: Scatter,
    /// Movement over the last settling time, °C.
    pub movement: f64,
}

/// A window that is open.
pub(super) struct Building {
    pub(super) from: f64,
    pub(super) to: f64,
    rows: u64,
    /// Of all numbers of a row.
    pub(super) totals: Vec<Moments>,
    within: Vec<Moments>,
    means: Vec<Moments>,
    batch: Vec<Moments>,
    batches: Vec<Moments>,
    in_batch: usize,
    counts: Vec<Counts>,
    last: Vec<f64>,
    steps: Vec<(f64, u32)>,
}

impl Building {
    pub(super) fn new(from: f64, displays: usize, block: &Block) -> Self {
        let some = |n: usize| vec![Moments::default(); n];
        Self {
            from,
            to: from,
            rows: 0,
            totals: some(block.figures.len()),
            within: some(displays),
            means: some(displays),
            batch: some(displays),
            batches: some(displays),
            in_batch: 0,
            counts: vec![Counts::default(); displays],
            last: vec![f64::NAN; displays],
            steps: vec![(0.0, 0); displays],
        }
    }

    pub(super) fn add(&mut self, block: &Block, displays: usize, length: f64) {
        self.to = block.start + length;
        self.rows += u64::from(block.rows);
        for (total, figures) in self.totals.iter_mut().zip(&block.figures) {
            total.merge(figures);
        }
        for (display, figures) in block.figures[..displays].iter().enumerate() {
            if figures.count == 0.0 {
                continue;
            }
            let within = &mut self.within[display];
            within.count += figures.count - 1.0;
            within.squares += figures.squares;
            self.means[display].push(figures.mean);
            self.batch[display].merge(figures);
            let last = std::mem::replace(&mut self.last[display], figures.mean);
            if !last.is_nan() {
                self.steps[display].0 += (figures.mean - last).powi(2);
                self.steps[display].1 += 1;
            }
        }
        self.in_batch += 1;
        if self.in_batch == TAIL {
            self.in_batch = 0;
            for (batch, batches) in self.batch.iter_mut().zip(&mut self.batches) {
                let full = std::mem::take(batch);
                if full.count > 0.0 {
                    batches.push(full.mean);
                }
            }
        }
        for row in block.kept.chunks_exact(displays) {
            for (counts, &value) in self.counts.iter_mut().zip(row) {
                if value != MISSING {
                    counts.add(value);
                }
            }
        }
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "counts held as whole numbers in a double"
    )]
    pub(super) fn shown(&self, display: usize, movement: f64) -> Shown {
        let total = self.totals[display];
        let count = total.count as u64;
        let batches = self.batches[display];
        let (values, of) =
            if batches.count >= 3.0 { (batches, batches.count) } else { (total, total.count) };
        let se = if of > 1.0 { values.sd() / of.sqrt() } else { 0.0 };
        let within = self.within[display];
        let (squares, steps) = self.steps[display];
        // With several rows in a block their own scatter; else that of one block to the next.
        let hops = if steps > 0 { squares / f64::from(2 * steps) } else { 0.0 };
        let scatter = if within.count >= 20.0 {
            let sd = (within.squares / within.count + hops).sqrt();
            Scatter { sd, freedom: within.count.min(1e9) as u32 }
        } else {
            Scatter { sd: hops.sqrt(), freedom: steps * 2 / 3 }
        };
        let counts = &self.counts[display];
        Shown {
            count,
            missing: self.rows.saturating_sub(count),
            mean: total.mean,
            sd: total.sd(),
            se,
            median: counts.median(),
            usual: counts.quantile(0.16).zip(counts.quantile(0.84)),
            scatter,
            movement,
        }
    }
}
