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
        Self::with(model, part, || model.shows_somewhere(part))
    }

    fn with(model: &Model<'_>, part: &Part, shows: impl FnOnce() -> bool) -> Self {
        let last = model.timeline.disturbances.len().min(MOST);
        let looks = model.data.sets.len();
        let there = part.presence >> last & 1 == 1;
        let fault = model.candidates[part.candidate].fault;
        let real = pairs_up(model.knowledge, fault);
        let counts = there && real && !fault.cause.is_normal(model.knowledge);
        Self {
            there,
            rests: there && looks > 0 && !part.shows_in(last, looks - 1),
            shows: counts && shows(),
        }
    }
}

/// What is asked of one fault in each of its ways: whether it shows hangs on its side, which is looked at once.
pub(super) struct Asked<'m, 'k> {
    model: &'m Model<'k>,
    shows: Vec<Option<bool>>,
}

impl<'m, 'k> Asked<'m, 'k> {
    /// Of a candidate.
    pub(super) fn of(model: &'m Model<'k>, candidate: usize) -> Self {
        Self { model, shows: vec![None; model.sides(candidate).len()] }
    }

    /// Of a part of it.
    pub(super) fn way(&mut self, part: &Part) -> Way {
        let model = self.model;
        if model.depths.contains_key(&part.candidate) {
            return Way::of(model, part);
        }
        let shows = &mut self.shows[part.side];
        Way::with(model, part, || *shows.get_or_insert_with(|| model.shows_somewhere(part)))
    }
}

impl StillThere {
    /// Sums up ways with their shares.
    pub(super) fn of_ways<const N: usize>(ways: impl Iterator<Item = ([Way; N], f64)>) -> Self {
        let mut still = Self::nothing(N);
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
