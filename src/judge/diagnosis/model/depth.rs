//! Measured depths as evidence.
//!
//! A depth that differs from its mates' speaks for a probe too deep or not in far enough, one
//! that does not against them, and either way it leaves only such shifts as go with it. It must
//! not look at a reading.

use std::collections::BTreeMap;

use facts::job::timeline::Timeline;
use facts::knowledge::{Physics, Seat};

use super::{Candidate, Model, Part};
use crate::diagnosis::effect::{self, Context, Moments};
use crate::diagnosis::linalg::log_sum_exp;
use crate::diagnosis::path::MOST;
use crate::diagnosis::physics::{Depths, depth_density};
use crate::diagnosis::result::CauseRef;

/// How far probes set with care differ in depth, one sd, mm (common practice, no source).
const HEALTHY: f64 = 1.0;

/// A candidate in the light of a measured depth.
#[derive(Debug, Clone)]
pub(crate) struct DepthSeen {
    /// Stretch between disturbances in which it was measured.
    slot: usize,
    /// By side: log of how much likelier the measure is with the fault than without.
    log_ratio: Vec<f64>,
    /// The same of all sides together, for those that do something else than the rows say.
    on_the_whole: f64,
    /// Sides with only the depths that go with the measure.
    moments: Vec<Moments>,
}

/// Measured depths by the candidates that they speak about.
pub(crate) type DepthsSeen = BTreeMap<usize, Vec<DepthSeen>>;

/// Looks up every measured depth.
pub(crate) fn depths_seen(
    context: Context<'_>,
    timeline: &Timeline,
    candidates: &[Candidate],
) -> DepthsSeen {
    let mut seen = DepthsSeen::new();
    let Some(fitting) = context.engine.fitting else { return seen };
    for difference in timeline.sheet.differences() {
        let sound = depth_density(difference.mm, HEALTHY);
        for (number, candidate) in candidates.iter().enumerate() {
            let CauseRef::Listed(cause) = candidate.fault.cause else { continue };
            let effects = &context.knowledge.causes[cause].effects;
            let of_depth = effects.iter().any(|e| matches!(e.physics, Some(Physics::Depth { .. })));
            if !of_depth
                || candidate.seat != Seat::Fit
                || !candidate.numbers.contains(&difference.number)
            {
                continue;
            }
            let log_ratio: Vec<f64> = effects
                .iter()
                .map(|effect| {
                    let depths = effect.physics.and_then(|physics| Depths::of(physics, fitting));
                    depths.map_or(0.0, |depths| (depths.measured(difference.mm).1 / sound).ln())
                })
                .collect();
            let shares = effects.iter().map(|effect| effect.share.ln());
            let on_the_whole: Vec<f64> = shares.zip(&log_ratio).map(|(s, log)| s + log).collect();
            seen.entry(number).or_default().push(DepthSeen {
                slot: difference.after.min(MOST),
                on_the_whole: log_sum_exp(&on_the_whole),
                log_ratio,
                moments: effect::moments(context, cause, Some(difference.mm)),
            });
        }
    }
    seen
}

/// What a part does to readings, where a depth measured while it was there narrows it.
pub(crate) fn narrowed<'a>(seen: &'a DepthsSeen, part: &Part) -> Option<&'a Moments> {
    let last = seen.get(&part.candidate)?.iter().rfind(|d| part.presence >> d.slot & 1 == 1)?;
    last.moments.get(part.side)
}

impl Model<'_> {
    /// Log of how much likelier the measured depths are with these parts than with none.
    pub(crate) fn log_depths(&self, parts: &[Part]) -> f64 {
        parts
            .iter()
            .filter_map(|part| Some((part, self.depths.get(&part.candidate)?)))
            .flat_map(|(part, list)| list.iter().map(move |seen| (part, seen)))
            .filter(|(part, seen)| part.presence >> seen.slot & 1 == 1)
            .map(|(part, seen)| seen.log_ratio.get(part.side).copied().unwrap_or(seen.on_the_whole))
            .sum()
    }
}
