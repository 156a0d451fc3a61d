//! Courses kept short: every point until there are too many, then every other, and so on.
//!
//! It must not judge them.

use std::collections::VecDeque;

use super::block::Block;
use crate::readings::outlier::median;
use crate::readings::settle::Sample;

/// Block means over a stretch, thinned as it grows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Course {
    most: usize,
    stride: u32,
    met: u32,
    pub(super) times: Vec<f64>,
    /// Point by point; not a number where a display showed none.
    pub(super) values: Vec<f64>,
}

impl Default for Course {
    /// Fine enough for a plot.
    fn default() -> Self {
        Self { most: 512, stride: 1, met: 0, times: Vec::new(), values: Vec::new() }
    }
}

impl Course {
    /// Fine enough for a fit.
    pub(super) fn short() -> Self {
        Self { most: 64, ..Self::default() }
    }

    pub(super) fn push(&mut self, block: &Block, displays: usize) {
        if self.met.is_multiple_of(self.stride) {
            self.times.push(block.start);
            self.values.extend(means(block, displays));
            if self.times.len() >= self.most {
                let mut index = 0;
                self.times.retain(|_| {
                    index += 1;
                    index % 2 == 1
                });
                let mut index = 0;
                self.values.retain(|_| {
                    index += 1;
                    ((index - 1) / displays).is_multiple_of(2)
                });
                self.stride *= 2;
            }
        }
        self.met = self.met.wrapping_add(1);
    }

    /// A trace for each display, dense where the last blocks are.
    pub(super) fn traces(&self, recent: &VecDeque<Block>, displays: usize) -> Vec<Vec<Sample>> {
        let mut traces = vec![Vec::new(); displays];
        let mut add = |seconds: f64, values: &mut dyn Iterator<Item = f64>| {
            for (trace, value) in traces.iter_mut().zip(values) {
                if !value.is_nan() {
                    trace.push(Sample { seconds, value });
                }
            }
        };
        let from = recent.front().map_or(f64::INFINITY, |block| block.start);
        for (&time, values) in self.times.iter().zip(self.values.chunks_exact(displays)) {
            if time < from {
                add(time, &mut values.iter().copied());
            }
        }
        for block in recent {
            add(block.start, &mut means(block, displays));
        }
        traces
    }
}

fn means(block: &Block, displays: usize) -> impl Iterator<Item = f64> {
    let figures = block.figures[..displays].iter();
    figures.map(|f| if f.count > 0.0 { f.mean } else { f64::NAN })
}

/// The first start from cold: block means from the last cold block on.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Warm {
    pub(super) times: Vec<f64>,
    /// Block by block.
    pub(super) means: Vec<Vec<f64>>,
    started: bool,
    done: bool,
}

/// Below this median, °C, an engine has not been started.
pub(super) const COLD: f64 = 60.0;
/// Blocks kept of a start from cold.
const LONGEST: usize = 400;
/// Cold blocks kept before it.
const BEFORE: usize = 40;

impl Warm {
    pub(super) fn push(&mut self, block: &Block, displays: usize) {
        if self.done {
            return;
        }
        let now: Vec<f64> = means(block, displays).collect();
        let there: Vec<f64> = now.iter().copied().filter(|v| !v.is_nan()).collect();
        let Some(middle) = median(&there) else { return };
        if middle >= COLD {
            self.started = true;
        } else if !self.started {
            // Still cold: only the last few matter.
            if self.means.len() >= BEFORE {
                self.means.remove(0);
                self.times.remove(0);
            }
        }
        if self.means.is_empty() && self.started {
            self.done = true;
            return;
        }
        self.times.push(block.start);
        self.means.push(now);
        self.done = self.means.len() >= LONGEST;
    }

    /// What was before a gap does not belong to what comes.
    pub(super) fn break_off(&mut self) {
        if self.started {
            self.done = true;
        } else {
            self.times.clear();
            self.means.clear();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::log::tally::Moments;

    fn block(start: f64, values: &[f64]) -> Block {
        let figures = values.iter().map(|&mean| Moments { count: 1.0, mean, squares: 0.0 });
        Block { start, rows: 1, figures: figures.collect(), kept: Vec::new() }
    }

    #[test]
    fn a_course_stays_short_and_even() {
        let mut course = Course::short();
        for i in 0..1000 {
            course.push(&block(f64::from(i), &[f64::from(i), -f64::from(i)]), 2);
        }
        assert!(course.times.len() < 64 && course.times.len() >= 31);
        let gaps: Vec<f64> = course.times.windows(2).map(|p| p[1] - p[0]).collect();
        assert!(gaps.iter().all(|g| (g - gaps[0]).abs() < 1e-9), "{gaps:?}");
        let recent = VecDeque::from([block(990.0, &[1.0, 2.0]), block(991.0, &[3.0, f64::NAN])]);
        let traces = course.traces(&recent, 2);
        assert_eq!(traces[0].last(), Some(&Sample { seconds: 991.0, value: 3.0 }));
        assert!(traces[0].windows(2).all(|p| p[0].seconds < p[1].seconds));
    }

    #[test]
    fn a_start_begins_with_the_last_cold_blocks() {
        let mut warm = Warm::default();
        for i in 0..100 {
            let value = if i < 50 { 20.0 } else { 20.0 + 5.0 * f64::from(i - 49) };
            warm.push(&block(f64::from(i), &[value, value]), 2);
        }
        assert!((warm.times[0] - 17.0).abs() < 2.0, "{}", warm.times[0]);
        assert!(warm.means[0][0] < COLD && warm.means.len() > 40);
        let mut hot = Warm::default();
        hot.push(&block(0.0, &[300.0, 300.0]), 2);
        hot.push(&block(1.0, &[20.0, 20.0]), 2);
        assert!(hot.means.is_empty());
    }
}
