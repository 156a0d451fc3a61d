//! How far each display stands off its mates, in numbers a mechanic can check by hand.
//!
//! Difference from the median of the others, in natural standard deviations of this layout, or,
//! where the engine has a history, what is unusual of it, in its own
//! (domain facts 5.4: with three to eight cylinders three of them is a 5 % test). Beside the
//! Bayesian answer, never instead of it.

use facts::job::entry::Reading;
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use measure::engine::Cylinder;
use measure::readings::outlier::median_of_mates;

use super::data::Kind;
use super::result::Oddness;
use super::usual::{Natural, natural, reach};

/// Differences of every display in every set.
#[must_use]
pub(super) fn oddness(knowledge: &Knowledge, timeline: &Timeline) -> Vec<Oddness> {
    let mut list = Vec::new();
    for (index, set) in timeline.sets.iter().enumerate() {
        let kind = Kind { site: set.site, at: set.at };
        // What each display usually stands off is taken away before they are compared.
        let usual: Vec<Natural> = timeline
            .engine
            .all()
            .map(|d| natural(knowledge, timeline, kind, set.arrangement.cylinder_shown(d)))
            .collect();
        let values: Vec<Option<f64>> = set.readings.iter().map(|r| r.middle()).collect();
        let unusual: Vec<Option<f64>> =
            values.iter().zip(&usual).map(|(v, usual)| v.map(|v| v - usual.mean)).collect();
        for (display, own) in timeline.engine.all().zip(&usual) {
            let difference = off(&values, display);
            let sd = reach(knowledge, kind, *own);
            list.push(Oddness {
                set: index,
                display,
                difference,
                sigmas: off(&unusual, display).map(|d| d / sd),
            });
        }
    }
    list
}

/// Difference of a display from the median of the others, °C; `None` without numbers.
pub(crate) fn from_others(readings: &[Reading], display: Cylinder) -> Option<f64> {
    let values: Vec<Option<f64>> = readings.iter().map(|r| r.middle()).collect();
    off(&values, display)
}

/// Difference of one number from the median of its mates.
fn off(values: &[Option<f64>], display: Cylinder) -> Option<f64> {
    let own = usize::from(display) - 1;
    Some(values[own]? - median_of_mates(values, own)?)
}

/// Natural standard deviations below which no display is called odd.
const NOTICED: f64 = 2.0;

/// The display that stands out most in the last running set (or the last at all), if any does. A
/// display that shows no number stands out.
#[must_use]
pub(super) fn odd_display(timeline: &Timeline, oddness: &[Oddness]) -> Option<Cylinder> {
    let running = |index: &usize| !timeline.sets[*index].at.is_cold();
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
