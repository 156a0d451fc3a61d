//! What a thermocouple gives and what a channel makes of it.
//!
//! Reference functions both ways, tolerances, cable colours, and the display that each wiring
//! fault produces. Temperatures in degrees Celsius, emf in millivolts, reference junction at 0 °C
//! unless said. It must not know of jobs, knowledge files or readers: it answers with numbers.

pub mod circuit;
mod coefficients;
pub mod colour;
pub mod explain;
mod inverse;
mod reference;
pub mod tolerance;
pub mod wiring;

pub use reference::RangeError;

use crate::engine::ProbeType;
use crate::named_enum;

named_enum! {
    /// A standardised thermocouple type, letter designation of IEC 60584-1.
    Standard, "thermocouple type" {
        /// Nickel-chromium / nickel-aluminium.
        K = "K",
        /// Nickel-chromium-silicon / nickel-silicon.
        N = "N",
        /// Iron / copper-nickel.
        J = "J",
        /// Nickel-chromium / copper-nickel.
        E = "E",
        /// Copper / copper-nickel.
        T = "T",
        /// Platinum-13 % rhodium / platinum.
        R = "R",
        /// Platinum-10 % rhodium / platinum.
        S = "S",
        /// Platinum-30 % rhodium / platinum-6 % rhodium.
        B = "B",
    }
}

impl Standard {
    /// Whether its legs are of platinum and rhodium.
    #[must_use]
    pub fn is_platinum(self) -> bool {
        matches!(self, Self::R | Self::S | Self::B)
    }
}

impl From<ProbeType> for Standard {
    fn from(probe: ProbeType) -> Self {
        match probe {
            ProbeType::K => Self::K,
            ProbeType::N => Self::N,
            ProbeType::J => Self::J,
            ProbeType::E => Self::E,
            ProbeType::T => Self::T,
        }
    }
}
