//! How probable it is that no fault shows at any point.
//!
//! It must not count what is no fault, nor a fault that was cured.

use super::Weighed;
use crate::diagnosis::model::{Model, Part};
use crate::diagnosis::prior::pairs_up;
use crate::diagnosis::result::CauseRef;

/// Probability that nothing that shows is there now: `all` are all hypotheses, `total` the log of
/// their sum.
pub(super) fn sound(model: &Model<'_>, all: &[Weighed], total: f64) -> f64 {
    let last = model.timeline.disturbances.len().min(crate::diagnosis::path::MOST);
    let shows = |part: &Part| {
        let fault = model.candidates[part.candidate].fault;
        let real = pairs_up(model.knowledge, fault) || fault.cause == CauseRef::Unlisted;
        real && !fault.cause.is_normal(model.knowledge)
            && part.presence >> last & 1 == 1
            && model.shows_somewhere(part)
    };
    let mut unsound = 0.0;
    for weighed in all {
        let sum: f64 = weighed.parts.iter().map(|(_, share)| share).sum();
        let those = weighed.parts.iter().filter(|(parts, _)| parts.iter().any(shows));
        let share = those.map(|(_, share)| share).sum::<f64>() / sum;
        unsound += (weighed.log - total).exp() * share;
    }
    (1.0 - unsound).clamp(0.0, 1.0)
}
