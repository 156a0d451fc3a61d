//! Set-ups: the engine's state, what must be open or out, and what either costs.
//!
//! It must not know which work needs them.

use measure::named_enum;
use measure::units::Cost;

use super::{Basis, Condition};

named_enum! {
    /// The engine's state that a piece of work needs or leaves.
    Thermal, "engine state" {
        /// Untouched for eight hours or more.
        ColdSoaked = "cold-soaked",
        /// Cold, but not known to be at one temperature throughout.
        Cold = "cold",
        /// Stopped and cool enough to handle.
        Cool = "cool",
        /// Stopped, hot.
        Hot = "hot",
        /// Warm and idling.
        Idle = "idle",
        /// Running steadily at part load.
        Cruise = "cruise",
        /// Running at full load.
        Full = "full",
    }
}

/// Minutes from one state of the engine to another; shortest ways over what the files give.
#[derive(Debug, Clone, PartialEq)]
pub struct StateChanges {
    /// `cost[from][to]`, indexed by [`Thermal`] as integers.
    pub cost: Vec<Vec<Cost>>,
}

impl StateChanges {
    /// What it takes from one state to another.
    #[must_use]
    pub fn between(&self, from: Thermal, to: Thermal) -> Cost {
        self.cost[from as usize][to as usize]
    }
}

/// Something that must be open or out before work, and is paid for once.
#[derive(Debug, Clone, PartialEq)]
pub struct Access {
    /// Stable id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Time to open and to close again.
    pub cost: Cost,
    /// The same on kinds of engine where it differs; the first that applies is used.
    pub cost_if: Vec<(Condition, Cost)>,
    /// Must be closed before the engine runs.
    pub blocks_running: bool,
    /// Opened for one cylinder only (else for all).
    pub per_cylinder: bool,
    /// Where the numbers come from.
    pub basis: Basis,
}
