//! Whether displays step when an electric load is switched, seen as a step of the supply voltage.
//!
//! It must not be asked while speed or load change: these move voltage and displays alike.

use std::collections::VecDeque;

use super::block::Block;
use super::tally::Moments;

/// A switching shows as at least this step of the supply, as a share of it (common practice: 0.2 V
/// of 13 V).
const SWITCH: f64 = 0.015;

/// Steps of displays at switchings.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Switching {
    recent: VecDeque<(f64, Vec<f64>)>,
    /// Switchings seen.
    pub(super) times: u32,
    /// Of each display: its step, taken against the sign of the supply's, °C.
    pub(super) steps: Vec<Moments>,
}

impl Switching {
    pub(super) fn push(&mut self, block: &Block, displays: usize, place: usize) {
        let supply = block.figures[place];
        let means: Vec<f64> = block.figures[..displays]
            .iter()
            .map(|f| if f.count > 0.0 { f.mean } else { f64::NAN })
            .collect();
        if supply.count == 0.0 {
            self.break_off();
            return;
        }
        self.recent.push_back((supply.mean, means));
        if self.recent.len() < 5 {
            return;
        }
        // Two blocks before the switching, one that it may be in the middle of, two after.
        let before = f64::midpoint(self.recent[0].0, self.recent[1].0);
        let after = f64::midpoint(self.recent[3].0, self.recent[4].0);
        let step = SWITCH * before.abs();
        let still = |a: usize| (self.recent[a].0 - self.recent[a + 1].0).abs() < step / 2.0;
        if (after - before).abs() >= step && still(0) && still(3) {
            self.steps.resize(displays, Moments::default());
            self.times += 1;
            for (display, steps) in self.steps.iter_mut().enumerate() {
                let at = |block: usize| self.recent[block].1[display];
                let mean = |block: usize| f64::midpoint(at(block), at(block + 1));
                let step = (mean(3) - mean(0)) * (before - after).signum();
                if step.is_finite() {
                    steps.push(step);
                }
            }
            self.recent.clear();
        } else {
            self.recent.pop_front();
        }
    }

    pub(super) fn break_off(&mut self) {
        self.recent.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_display_that_steps_with_the_lamps_is_told_from_one_that_does_not() {
        let mut switching = Switching::default();
        for i in 0..100 {
            let on = (i / 10) % 2 == 1;
            let volts = if on { 13.2 } else { 13.9 };
            let values = [500.0, if on { 524.0 } else { 500.0 }, volts];
            let figures =
                values.iter().map(|&mean| Moments { count: 1.0, mean, squares: 0.0 }).collect();
            let block = Block { start: f64::from(i), rows: 1, figures, kept: Vec::new() };
            switching.push(&block, 2, 2);
        }
        assert_eq!(switching.times, 9);
        assert!(switching.steps[0].mean.abs() < 1e-9, "{switching:?}");
        assert!((switching.steps[1].mean - 24.0).abs() < 1e-9, "{switching:?}");
    }
}
