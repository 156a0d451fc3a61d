//! How far each display stands off its mates, in numbers a mechanic can check by hand.
//!
//! Difference from the median of the others, in natural standard deviations of this layout
//! (domain facts 5.4: with three to eight cylinders three of them is a 5 % test). Beside the
//! Bayesian answer, never instead of it.

use crate::engine::{Cylinder, RunningPoint};
use crate::job::entry::Reading;
use crate::job::timeline::Timeline;
use crate::knowledge::Knowledge;
use crate::readings::outlier::median;

use super::result::Oddness;

/// Differences of every display in every set.
#[must_use]
pub(super) fn oddness(knowledge: &Knowledge, timeline: &Timeline) -> Vec<Oddness> {
    let mut list = Vec::new();
    for (index, set) in timeline.sets.iter().enumerate() {
        let sd = knowledge.natural_sd(&timeline.engine, set.site, set.at);
        for display in timeline.engine.all() {
            let difference = from_others(&set.readings, display);
            list.push(Oddness {
                set: index,
                display,
                difference,
                sigmas: difference.map(|d| d / sd),
            });
        }
    }
    list
}

/// Difference of a display from the median of the others, °C; `None` without numbers.
pub(crate) fn from_others(readings: &[Reading], display: Cylinder) -> Option<f64> {
    let own = readings[usize::from(display) - 1].middle()?;
    let others = (1..).zip(readings).filter(|(d, _)| *d != display);
    let others: Vec<f64> = others.filter_map(|(_, reading)| reading.middle()).collect();
    Some(own - median(&others)?)
}

/// Natural standard deviations below which no display is called odd.
const NOTICED: f64 = 2.0;

/// The display that stands out most in the last running set (or the last at all), if any does. A
/// display that shows no number stands out.
#[must_use]
pub(super) fn odd_display(timeline: &Timeline, oddness: &[Oddness]) -> Option<Cylinder> {
    let running = |index: &usize| timeline.sets[*index].at != RunningPoint::ColdSoak;
    let last = (0..timeline.sets.len())
        .rev()
        .find(running)
        .or_else(|| timeline.sets.len().checked_sub(1))?;
    oddness
        .iter()
        .filter(|odd| odd.set == last)
        .map(|odd| {
            let reading = timeline.sets[last].readings[usize::from(odd.display) - 1];
            let size = match reading {
                Reading::Degrees(_) => odd.sigmas.unwrap_or(0.0).abs(),
                Reading::Erratic { .. } => odd.sigmas.unwrap_or(0.0).abs().max(NOTICED),
                Reading::Open | Reading::Stuck | Reading::Falling => f64::INFINITY,
            };
            (size, odd.display)
        })
        .filter(|(size, _)| *size >= NOTICED)
        .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))
        .map(|(_, display)| display)
}
