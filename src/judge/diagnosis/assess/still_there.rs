//! What is asked of every explanation, however unlikely: whether its faults are there now, and show.
//!
//! It is summed up while the ways of an explanation are at hand, so that those of the many unlikely ones need
//! not be kept. It must not count what is no fault, nor a fault that was cured.

use super::Weighed;
use crate::diagnosis::model::{Model, Part};
use crate::diagnosis::path::MOST;
use crate::diagnosis::prior::pairs_up;
use crate::diagnosis::result::CauseRef;

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

impl StillThere {
    /// Sums up ways with their shares.
    pub(super) fn of(model: &Model<'_>, faults: usize, ways: &[(Vec<Part>, f64)]) -> Self {
        let last = model.timeline.disturbances.len().min(MOST);
        let looks = model.data.sets.len();
        let there = |part: &Part| part.presence >> last & 1 == 1;
        let rests = |part: &Part| there(part) && looks > 0 && !part.shows_in(last, looks - 1);
        let shows = |part: &Part| {
            let fault = model.candidates[part.candidate].fault;
            let real = pairs_up(model.knowledge, fault) || fault.cause == CauseRef::Unlisted;
            real && !fault.cause.is_normal(model.knowledge)
                && there(part)
                && model.shows_somewhere(part)
        };
        let all: f64 = ways.iter().map(|(_, share)| share).sum();
        let share = |which: &dyn Fn(&[Part]) -> bool| {
            let those = ways.iter().filter(|(parts, _)| which(parts));
            those.map(|(_, share)| share).sum::<f64>() / all
        };
        Self {
            present: (0..faults).map(|k| share(&|parts| there(&parts[k]))).collect(),
            resting: (0..faults).map(|k| share(&|parts| rests(&parts[k]))).collect(),
            unsound: share(&|parts| parts.iter().any(shows)),
        }
    }
}

/// Probability that nothing that shows is there now: `all` are all hypotheses, `total` the log of
/// their sum.
pub(super) fn sound(all: &[Weighed], total: f64) -> f64 {
    let share = |weighed: &Weighed| (weighed.log - total).exp() * weighed.still.unsound;
    (1.0 - all.iter().map(share).sum::<f64>()).clamp(0.0, 1.0)
}
