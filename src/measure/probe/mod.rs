//! What an installed probe shows instead of the gas temperature.
//!
//! A sheathed probe through the wall of an exhaust runner takes a temperature between gas and wall:
//! the stem conducts, the tip radiates, and both push the display down. This module computes the
//! display, how it moves with depth and diameter, how fast the probe follows, and in [`fit_plan`]
//! where to put probes that are not fitted yet. Lengths in millimetres, temperatures in degrees
//! Celsius. It must not judge which probe is at fault.
//!
//! Inputs that no mechanic measures (gas speed, wall temperature, emissivity) are typical values,
//! so differences and signs are to be trusted, levels are not; [`shift`] carries that doubt along.

mod case;
mod fin;
pub mod fit_plan;
mod gas;
pub mod outlook;
pub mod pipe;
pub mod response;
pub mod shift;

pub use case::{Case, CaseError};
pub use fin::{Contact, display, display_leaning, display_with, insulated_tip_share, slope};
pub use gas::{cylinder_film, film_coefficient};

pub use crate::engine::{Fitting, FittingError};

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
