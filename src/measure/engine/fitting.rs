//! How the probes sit in their runners: diameter, bore, depth.
//!
//! Measures and what they may be; what they do to a display is computed in [`crate::probe`].

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A probe and the runner it sits in, as measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fitting {
    /// Outside diameter of the sheath, mm.
    pub diameter: f64,
    /// Bore of the runner, mm.
    pub bore: f64,
    /// How far the tip stands past the inner wall, mm.
    pub depth: f64,
}

/// A fitting that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum FittingError {
    /// No sheathed probe is that thin or thick.
    #[error("probe diameter {0} mm: expected 0.5 to 12 mm")]
    Diameter(f64),
    /// No runner is that narrow or wide.
    #[error("runner bore {0} mm: expected 10 to 300 mm")]
    Bore(f64),
    /// The tip is not in the gas.
    #[error(
        "tip {depth} mm past the inner wall of a {bore} mm bore: measure from the inner wall, not \
         from the boss; expected 1 to {deepest:.1} mm"
    )]
    Depth {
        /// What was given, mm.
        depth: f64,
        /// The bore, mm.
        bore: f64,
        /// Deepest that is not yet the far wall, mm.
        deepest: f64,
    },
}

impl Fitting {
    /// Checks the measures.
    ///
    /// # Errors
    /// The first that cannot be, or is not a number.
    pub fn check(self) -> Result<Self, FittingError> {
        if !(0.5..=12.0).contains(&self.diameter) {
            return Err(FittingError::Diameter(self.diameter));
        }
        if !(10.0..=300.0).contains(&self.bore) {
            return Err(FittingError::Bore(self.bore));
        }
        let deepest = self.deepest();
        if !(1.0..=deepest).contains(&self.depth) {
            return Err(FittingError::Depth { depth: self.depth, bore: self.bore, deepest });
        }
        Ok(self)
    }

    /// Deepest that the tip can stand without touching the far wall, mm.
    #[must_use]
    pub fn deepest(&self) -> f64 {
        self.bore - 0.2
    }

    /// The same probe at another depth, kept within the bore.
    #[must_use]
    pub fn at_depth(self, depth: f64) -> Self {
        Self { depth: depth.min(self.deepest()).max(1.0), ..self }
    }
}
