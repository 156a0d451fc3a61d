//! What is asked of every explanation, however unlikely: whether its faults are there now, and show.
//!
//! It is summed up while the ways of an explanation are at hand, so that those of the many unlikely ones need
//! not be kept. It must not count what is no fault, nor a fault that was cured.

use super::Weighed;
use crate::diagnosis::model::{Model, Part};
use crate::diagnosis::path::MOST;
use crate::diagnosis::prior::pairs_up;

/// Shares of the ways of an explanation.
#[derive(Debug, Clone, Default)]
pub(super) struct StillThere {
    /// By fault the share of those in which it is with the engine now.
    pub(super) present: Vec<f64>,
    /// By fault the share of those in which it is there and rested when the engine was last read.
    pub(super) resting: Vec<f64>,
    /// The share of those in which something that shows is there now.
    unsound: f64,
}

/// What is asked of one fault in one way.
#[derive(Debug, Clone, Copy)]
pub(super) struct Way {
    /// It is with the engine now.
    there: bool,
    /// It is, and rested when the engine was last read.
    rests: bool,
    /// It is, and shows.
    shows: bool,
}

impl Way {
    /// Of a part.
    pub(super) fn of(model: &Model<'_>, part: &Part) -> Self {
        let last = model.timeline.disturbances.len().min(MOST);
        let looks = model.data.sets.len();
        let there = part.presence >> last & 1 == 1;
        let fault = model.candidates[part.candidate].fault;
        let real = pairs_up(model.knowledge, fault);
        let counts = there && real && !fault.cause.is_normal(model.knowledge);
        Self {
            there,
            rests: there && looks > 0 && !part.shows_in(last, looks - 1),
            shows: counts && model.shows_somewhere(part),
        }
    }
}

impl StillThere {
    /// Sums up ways with their shares.
    pub(super) fn of(model: &Model<'_>, faults: usize, ways: &[(Vec<Part>, f64)]) -> Self {
        let mut still = Self::nothing(faults);
        for (parts, share) in ways {
            still.add(parts.iter().map(|part| Way::of(model, part)), *share);
        }
        still.over(ways.iter().map(|(_, share)| share).sum())
    }

    /// The same of two faults.
    pub(super) fn of_both(ways: impl Iterator<Item = ([Way; 2], f64)>) -> Self {
        let mut still = Self::nothing(2);
        let mut all = 0.0;
        for (both, share) in ways {
            still.add(both.into_iter(), share);
            all += share;
        }
        still.over(all)
    }

    fn nothing(faults: usize) -> Self {
        Self { present: vec![0.0; faults], resting: vec![0.0; faults], unsound: 0.0 }
    }

    fn add(&mut self, way: impl Iterator<Item = Way>, share: f64) {
        let mut shows = false;
        for (k, one) in way.enumerate() {
            self.present[k] += if one.there { share } else { 0.0 };
            self.resting[k] += if one.rests { share } else { 0.0 };
            shows |= one.shows;
        }
        self.unsound += if shows { share } else { 0.0 };
    }

    fn over(mut self, all: f64) -> Self {
        self.present.iter_mut().chain(&mut self.resting).for_each(|share| *share /= all);
        self.unsound /= all;
        self
    }
}

/// Probability that nothing that shows is there now: `all` are all hypotheses, `total` the log of
/// their sum.
pub(super) fn sound(all: &[Weighed], total: f64) -> f64 {
    let share = |weighed: &Weighed| (weighed.log - total).exp() * weighed.still.unsound;
    (1.0 - all.iter().map(share).sum::<f64>()).clamp(0.0, 1.0)
}
