//! What a display may read before heat is the first question.
//!
//! It must not judge a reading: that is `judge::heat`.

use measure::engine::{ProbeSite, RunningPoint};

use super::{Basis, Condition};

/// Bounds for a kind of engine and probe, °C; lists go by idle, cruise, full load.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatBounds {
    /// Engines it is for.
    pub applies: Condition,
    /// Probes it is for.
    pub site: ProbeSite,
    /// From here on a single display is watched.
    pub watch: [f64; 3],
    /// From here on the engine is stopped.
    pub stop: [f64; 3],
    /// Degrees above the others at cruise and full load: watched, stopped.
    pub lone: [f64; 2],
    /// Lowest and highest that a display of a running engine can show; when none shows anything
    /// between, the numbers are no temperatures of it.
    pub can_be: [[f64; 2]; 3],
    /// Where the numbers come from.
    pub basis: Basis,
}

impl HeatBounds {
    /// The place of a running point in the lists; `None` where the engine does not run.
    #[must_use]
    pub fn place(at: RunningPoint) -> Option<usize> {
        match at {
            RunningPoint::ColdSoak => None,
            RunningPoint::Warming | RunningPoint::Idle => Some(0),
            RunningPoint::Cruise => Some(1),
            RunningPoint::Full => Some(2),
        }
    }
}
