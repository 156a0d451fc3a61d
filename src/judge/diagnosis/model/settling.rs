//! What is not steady yet reads as where the engine came from.
//!
//! Coming from cold or from less load it reads low, coming from more load it reads high. It must not
//! look at a number.

use crate::diagnosis::data::Data;
use crate::diagnosis::effect::Moments;
use facts::knowledge::RunningPoint;

/// Chance that an engine first read in a job had just come from more load: it was driven in (common
/// practice, no source).
const DRIVEN_IN: f64 = 0.1;

/// The way that a kind of reading still to be taken is come to after what was read.
pub(crate) fn would_come_from(data: &Data, at: RunningPoint) -> f64 {
    let before = data.sets.last().map(|set| data.kinds[set.kind].at);
    if before.is_some_and(|before| before > at) { 1.0 } else { -1.0 }
}

/// Mean of a half normal with a mean square of one, and its sd.
const HALF: (f64, f64) = (0.798, 0.603);

/// For each kind of reading the way it was come to at first: 1 from hotter, -1 from colder; `None`
/// where the job began with it.
pub(crate) fn came_from(data: &Data) -> Vec<Option<f64>> {
    (0..data.kinds.len())
        .map(|kind| {
            let first = data.sets.iter().position(|set| set.kind == kind)?;
            let here = data.kinds[kind].at;
            let before = data.sets[..first].last().map(|set| data.kinds[set.kind].at);
            match before {
                // What is left of the last run, and what is still being warmed.
                _ if here.is_cold() => Some(1.0),
                _ if here.is_warming() => Some(-1.0),
                // Points go by what they ask of the engine.
                Some(before) if before > here => Some(1.0),
                Some(_) => Some(-1.0),
                None => None,
            }
        })
        .collect()
}

/// Moments of what passes with time, each kind on the side that it is come to from.
pub(crate) fn one_way(moments: &[Moments], ways: &[Option<f64>]) -> Vec<Moments> {
    let sides = if ways.contains(&None) {
        vec![(1.0 - DRIVEN_IN, -1.0), (DRIVEN_IN, 1.0)]
    } else {
        vec![(1.0, -1.0)]
    };
    let mut list = Vec::new();
    for old in moments {
        for &(share, otherwise) in &sides {
            let mut new = old.clone();
            new.share *= share;
            for (kind, way) in ways.iter().enumerate() {
                let square: f64 = old.factor.row(kind).iter().map(|f| f * f).sum();
                let size = (square + old.mean[kind].powi(2)).sqrt();
                new.mean[kind] = way.unwrap_or(otherwise) * HALF.0 * size;
                let scale = if square > 0.0 { HALF.1 * size / square.sqrt() } else { 0.0 };
                for f in new.factor.row_mut(kind) {
                    *f *= scale;
                }
            }
            list.push(new);
        }
    }
    list
}
