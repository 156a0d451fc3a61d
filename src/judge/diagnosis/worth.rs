//! What a difference of depth is worth in degrees, on this job's engine.
//!
//! For the probe-fit sheet: a forecast of what would be displayed with everything healthy. It
//! must not draw conclusions from it.

use facts::job::timeline::Timeline;
use facts::knowledge::RunningPoint;
use measure::engine::ProbeSite;
use measure::probe::shift::{Doubt, for_depth, scatter_from_depth};
use measure::probe::{Build, Case};
use measure::readings::outlier::median;

use super::physics::ASSUMED;

/// A shift of a display at a running point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worth {
    /// Where.
    pub at: RunningPoint,
    /// Expected shift, °C.
    pub mean: f64,
    /// Its standard deviation, °C.
    pub sd: f64,
}

/// What goes on in the runners: the typical case brought to what was read, where it was.
fn case(timeline: &Timeline, at: RunningPoint) -> Option<Case> {
    let typical = Case::typical(at.regime)?;
    let fitting = timeline.engine.fitting?;
    let read = timeline.sets.iter().rfind(|s| s.at == at && s.site == ProbeSite::Exhaust);
    let values: Vec<f64> =
        read.map_or_else(Vec::new, |s| s.readings.iter().filter_map(|r| r.middle()).collect());
    let matched =
        median(&values).and_then(|level| typical.matched(fitting, &Build::default(), level).ok());
    Some(matched.unwrap_or(typical))
}

/// A probe `deeper` mm further in than its mates; nothing where it is not known how they sit.
#[must_use]
pub fn depth_worth(timeline: &Timeline, deeper: f64) -> Vec<Worth> {
    let Some(fitting) = timeline.engine.fitting else { return Vec::new() };
    // Where gas flows steadily.
    let points = timeline.points.steady().into_iter();
    points
        .filter_map(|at| {
            let case = case(timeline, at)?;
            let shift = for_depth(fitting, deeper, &case, &Build::default(), &Doubt::default());
            let assumed = if timeline.fitting_assumed { ASSUMED } else { 0.0 };
            let sd = shift.sd.hypot(assumed * shift.mean);
            Some(Worth { at, mean: shift.mean, sd })
        })
        .collect()
}

/// What one millimetre is worth, °C either way.
#[must_use]
pub fn millimetre_worth(timeline: &Timeline) -> Vec<(RunningPoint, f64)> {
    let Some(fitting) = timeline.engine.fitting else { return Vec::new() };
    let points = timeline.points.steady().into_iter();
    points
        .filter_map(|at| Some((at, scatter_from_depth(fitting, &case(timeline, at)?, 1.0))))
        .collect()
}
