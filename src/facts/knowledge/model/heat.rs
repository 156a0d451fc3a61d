//! What a display may read before heat is the first question.
//!
//! It must not judge a reading: that is `judge::heat`.

use measure::engine::{PointId, ProbeSite};

use super::{Basis, Condition, RunningPoint, point};

/// Bounds for a kind of engine and probe, °C.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatBounds {
    /// Engines it is for.
    pub applies: Condition,
    /// Probes it is for.
    pub site: ProbeSite,
    /// At idle, cruise and full load.
    pub steady: [Bounds; 3],
    /// At points that have their own.
    pub own: Vec<(PointId, Bounds)>,
    /// Degrees above the others at load: watched, stopped.
    pub lone: [f64; 2],
    /// Where the numbers come from.
    pub basis: Basis,
}

/// Bounds at a running point, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// From here on a single display is watched.
    pub watch: f64,
    /// From here on the engine is stopped.
    pub stop: f64,
    /// Lowest and highest that a display of a running engine can show; when none shows anything
    /// between, the numbers are no temperatures of it.
    pub can_be: [f64; 2],
}

impl HeatBounds {
    /// Those at a running point; `None` where the engine does not run.
    #[must_use]
    pub fn at(&self, at: RunningPoint) -> Option<Bounds> {
        point::own(&self.own, at).or_else(|| at.regime.of_three(self.steady))
    }
}
