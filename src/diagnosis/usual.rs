//! How a cylinder naturally stands to its mates: by the layout, or by this engine's own history.
//!
//! One place for both, so that likelihood, forecasts and spreads a mechanic can check by hand speak
//! of the same figures. It must not look at a reading.

use crate::engine::Cylinder;
use crate::job::timeline::Timeline;
use crate::knowledge::{Knowledge, Seat};

use super::data::{Kind, repeatability};

/// Mean and standard deviation of a cylinder's natural offset, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Natural {
    /// Expected offset.
    pub mean: f64,
    /// Its standard deviation between engines, or from visit to visit where the engine has a
    /// history of its own.
    pub sd: f64,
    /// It is the engine's own.
    pub own: bool,
}

/// The natural offset of a cylinder at a kind of reading, by the engine's own history where that
/// speaks of it, by the layout where not.
#[must_use]
pub fn natural(
    knowledge: &Knowledge,
    timeline: &Timeline,
    kind: Kind,
    cylinder: Cylinder,
) -> Natural {
    let usual = timeline.history.as_ref().and_then(|history| history.at(kind.site, kind.at));
    match usual.and_then(|usual| usual.of(cylinder)) {
        Some((mean, sd)) => Natural { mean, sd, own: true },
        None => {
            let sd = knowledge.natural_sd(&timeline.engine, kind.site, kind.at);
            Natural { mean: 0.0, sd, own: false }
        }
    }
}

/// Standard deviation by which a display may stand off its usual place and still be healthy, °C.
///
/// The layout's figure is that of single readings; the own history's leaves their repeatability
/// out, so that it is added.
#[must_use]
pub fn reach(knowledge: &Knowledge, kind: Kind, natural: Natural) -> f64 {
    if natural.own { natural.sd.hypot(repeatability(knowledge, kind)) } else { natural.sd }
}

/// Whether a cylinder's probe was fitted anew in this job before a number of disturbances had
/// passed, so that its history speaks of another fit.
#[must_use]
pub fn refitted(timeline: &Timeline, cylinder: Cylinder, after: usize) -> usize {
    let hit = |d: &&crate::job::timeline::Disturbance| {
        d.touched.iter().any(|&(seat, number, _)| {
            matches!(seat, Seat::Probe | Seat::Fit) && number == cylinder
        })
    };
    timeline.disturbances.iter().take(after).filter(hit).count()
}
