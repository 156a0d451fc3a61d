//! What an installed probe shows instead of the gas temperature.
//!
//! A sheathed probe through the wall of an exhaust runner takes a temperature between gas and wall:
//! the stem conducts, the tip radiates, and both push the display down. This module computes the
//! display, how it moves with depth and diameter, and how fast the probe follows. Lengths in
//! millimetres, temperatures in degrees Celsius. It must not judge which probe is at fault.
//!
//! Inputs that no mechanic measures (gas speed, wall temperature, emissivity) are typical values,
//! so differences and signs are to be trusted, levels are not; [`shift`] carries that doubt along.

mod case;
mod fin;
mod gas;
pub mod outlook;
pub mod response;
pub mod shift;

pub use case::{Case, CaseError};
pub use fin::{Contact, display, display_with, insulated_tip_share, slope};
pub use gas::{cylinder_film, film_coefficient};

use thiserror::Error;

/// A probe and the runner it sits in, as measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitting {
    /// Outside diameter of the sheath, mm.
    pub diameter: f64,
    /// Bore of the runner, mm.
    pub bore: f64,
    /// How far the tip stands past the inner wall, mm.
    pub depth: f64,
}

/// What the probe is made of. The defaults are assumptions, typical of a sheathed probe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Build {
    /// Emissivity of the sheath: 0.8, oxidised alloy.
    pub emissivity: f64,
    /// Factor on the axial conductance of [`Build::conductance`]: 1.
    pub conductance_factor: f64,
    /// Mean heat capacity of alloy, magnesia and wires, J/(m³·K): 3.6e6.
    pub heat_capacity: f64,
}

impl Default for Build {
    fn default() -> Self {
        Self { emissivity: 0.8, conductance_factor: 1.0, heat_capacity: 3.6e6 }
    }
}

impl Build {
    /// Axial conductance k·A in W·m/K of a probe `diameter` metres thick: sheath wall of 12 % of the
    /// diameter at 25 W/(m·K), two wires of 15 % at 30, magnesia at 3 (assumed build).
    #[must_use]
    pub fn conductance(&self, diameter: f64) -> f64 {
        use std::f64::consts::PI;
        let outer = diameter / 2.0;
        let inner = outer - 0.12 * diameter;
        let wires = 2.0 * PI / 4.0 * (0.15 * diameter).powi(2);
        let sheath = PI * (outer * outer - inner * inner);
        let magnesia = PI * inner * inner - wires;
        self.conductance_factor * (25.0 * sheath + 30.0 * wires + 3.0 * magnesia)
    }
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
