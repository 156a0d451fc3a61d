//! What is known of an engine: how many cylinders, how they are arranged and fed.
//!
//! It answers questions of build (which cylinders share a bank or a coil). It must not
//! know about faults, tests or readings.

mod fitting;
mod kind;
mod place;
mod point;

pub use fitting::{Fitting, FittingError};
pub use kind::{Kind, KindError};
pub use place::{Place, PlaceError};
pub use point::{PointId, PointIdError, Regime};

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::named_enum;

named_enum! {
    /// How the cylinders stand.
    Layout, "layout" {
        /// One bank in line.
        Inline = "inline",
        /// Two banks in a V.
        V = "v",
        /// Two opposed banks.
        Flat = "flat",
    }
}

named_enum! {
    /// How fuel reaches a cylinder.
    Fuel, "fuel system" {
        /// One injector in each intake port.
        Port = "port",
        /// Petrol injected into the cylinder.
        Direct = "direct",
        /// Carburettor.
        Carburettor = "carburettor",
        /// Diesel.
        Diesel = "diesel",
    }
}

named_enum! {
    /// How the spark is made and led.
    Ignition, "ignition" {
        /// A coil on or beside each plug.
        CoilPerPlug = "coil-per-plug",
        /// One coil for two cylinders.
        WastedSpark = "wasted-spark",
        /// One coil, cap and rotor.
        Distributor = "distributor",
        /// No spark (diesel).
        None = "none",
    }
}

named_enum! {
    /// How air reaches a cylinder.
    Intake, "intake" {
        /// A plenum with runners of like length.
        Plenum = "plenum",
        /// A common log, or one carburettor for all.
        Log = "log",
        /// A throttle for each cylinder.
        Individual = "individual",
    }
}

named_enum! {
    /// Whether the intake is boosted.
    Induction, "induction" {
        /// Atmospheric.
        Natural = "natural",
        /// Turbocharged or mechanically blown.
        Boosted = "boosted",
    }
}

named_enum! {
    /// How the head is cooled.
    Cooling, "cooling" {
        /// Coolant.
        Liquid = "liquid",
        /// Fins and air.
        Air = "air",
    }
}

named_enum! {
    /// Where the probes of the complaint sit.
    ProbeSite, "probe site" {
        /// In each exhaust runner.
        Exhaust = "exhaust",
        /// On each head or under each plug.
        Head = "head",
    }
}

named_enum! {
    /// Thermocouple type, letter designation of IEC 60584-1.
    ProbeType, "probe type" {
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
    }
}

named_enum! {
    /// What holds a probe's depth, and so whether depth goes along when probes are exchanged.
    DepthHold, "depth hold" {
        /// A collar fixed to the sheath: depth travels with the probe.
        Travels = "travels",
        /// A sliding gland: depth stays with the boss and the hand that set it.
        Stays = "stays",
    }
}

/// A cylinder, numbered from 1 as the trade does.
pub type Cylinder = u8;

/// Mixture the engine is set to at each running point, as equivalence ratio φ (1 is
/// stoichiometric, above is rich).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BaseMixture {
    /// φ at warm idle.
    pub idle: f64,
    /// φ at steady cruise.
    pub cruise: f64,
    /// φ at full load.
    pub full: f64,
}

impl BaseMixture {
    /// The usual setting for a fuel system (domain facts: idle and cruise stoichiometric, full
    /// load 1.15; carburettor idle 1.08, cruise 0.97; a diesel's figure is not used).
    #[must_use]
    pub fn usual(fuel: Fuel) -> Self {
        match fuel {
            Fuel::Carburettor => Self { idle: 1.08, cruise: 0.97, full: 1.15 },
            Fuel::Port | Fuel::Direct | Fuel::Diesel => Self { idle: 1.0, cruise: 1.0, full: 1.15 },
        }
    }
}

/// An engine as it stands in the workshop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Engine {
    /// Number of cylinders, 2 to 16.
    pub cylinders: u8,
    /// How they stand.
    pub layout: Layout,
    /// Cylinders of each bank, one bank when in line.
    pub banks: Vec<Vec<Cylinder>>,
    /// Order of firing.
    pub firing_order: Vec<Cylinder>,
    /// Fuel system.
    pub fuel: Fuel,
    /// Ignition.
    pub ignition: Ignition,
    /// Intake.
    pub intake: Intake,
    /// Boosted or not.
    pub induction: Induction,
    /// Cooling of the head.
    pub cooling: Cooling,
    /// Where the probes of the complaint sit.
    pub probes: ProbeSite,
    /// Their thermocouple type.
    pub probe_type: ProbeType,
    /// What holds their depth.
    pub depth: DepthHold,
    /// Whether fuel and spark can be trimmed for each cylinder.
    pub trims: bool,
    /// Mixture it is set to.
    pub mixture: BaseMixture,
    /// How exhaust probes sit in their runners, where it was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fitting: Option<Fitting>,
}

/// Why a description cannot be an engine.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum EngineError {
    /// Too few or too many cylinders.
    #[error("{0} cylinders: this program compares 2 to 16")]
    Cylinders(u8),
    /// A list that must name each cylinder once does not.
    #[error("{list} must name each of the {cylinders} cylinders once")]
    NotEachOnce {
        /// Which list.
        list: &'static str,
        /// How many cylinders there are.
        cylinders: u8,
    },
    /// Bank count does not go with the layout.
    #[error("layout `{layout}` has {expected}, but {given} given")]
    Banks {
        /// The layout.
        layout: Layout,
        /// What it has.
        expected: &'static str,
        /// How many banks were given.
        given: usize,
    },
    /// Diesel and spark do not go together.
    #[error(
        "fuel `{fuel}` with ignition `{ignition}` does not exist: a diesel has ignition `none`, \
             every other engine a spark"
    )]
    Spark {
        /// Fuel system.
        fuel: Fuel,
        /// Ignition.
        ignition: Ignition,
    },
    /// A wasted-spark coil needs a partner.
    #[error("wasted spark needs an even number of cylinders, {0} given")]
    OddPairs(u8),
    /// A V or flat engine with an odd number of cylinders needs its banks spelled out.
    #[error("{0} cylinders do not split into two equal banks: give the banks in an engine file")]
    OddBanks(u8),
    /// Mixture out of any engine's range.
    #[error("mixture φ {0} is outside 0.5 to 1.6")]
    Mixture(f64),
    /// A probe cannot sit like that.
    #[error(transparent)]
    Fitting(#[from] FittingError),
}

impl Engine {
    /// A plain one to start a description from: in line, port injection into a plenum, a coil for each plug, probes of
    /// type K in the exhaust.
    #[must_use]
    pub fn plain(cylinders: Cylinder) -> Self {
        Self {
            cylinders,
            layout: Layout::Inline,
            banks: vec![(1..=cylinders).collect()],
            firing_order: Self::usual_firing_order(cylinders),
            fuel: Fuel::Port,
            ignition: Ignition::CoilPerPlug,
            intake: Intake::Plenum,
            induction: Induction::Natural,
            cooling: Cooling::Liquid,
            probes: ProbeSite::Exhaust,
            probe_type: ProbeType::K,
            depth: DepthHold::Stays,
            trims: false,
            mixture: BaseMixture::usual(Fuel::Port),
            fitting: None,
        }
    }

    /// Checks a description.
    ///
    /// # Errors
    /// The first thing that does not fit together.
    pub fn check(self) -> Result<Self, EngineError> {
        let n = self.cylinders;
        if !(2..=16).contains(&n) {
            return Err(EngineError::Cylinders(n));
        }
        let each_once = |list: &mut Vec<Cylinder>, name| {
            list.sort_unstable();
            if list.iter().copied().eq(1..=n) {
                Ok(())
            } else {
                Err(EngineError::NotEachOnce { list: name, cylinders: n })
            }
        };
        each_once(&mut self.firing_order.clone(), "the firing order")?;
        each_once(&mut self.banks.concat(), "the banks")?;
        let (expected, fits) = match self.layout {
            Layout::Inline => ("one bank", self.banks.len() == 1),
            Layout::V | Layout::Flat => ("two banks", self.banks.len() == 2),
        };
        if !fits || self.banks.iter().any(Vec::is_empty) {
            let given = self.banks.len();
            return Err(EngineError::Banks { layout: self.layout, expected, given });
        }
        if (self.fuel == Fuel::Diesel) != (self.ignition == Ignition::None) {
            return Err(EngineError::Spark { fuel: self.fuel, ignition: self.ignition });
        }
        if self.ignition == Ignition::WastedSpark && n % 2 == 1 {
            return Err(EngineError::OddPairs(n));
        }
        for phi in [self.mixture.idle, self.mixture.cruise, self.mixture.full] {
            if !(0.5..=1.6).contains(&phi) {
                return Err(EngineError::Mixture(phi));
            }
        }
        if let Some(fitting) = self.fitting {
            fitting.check()?;
        }
        Ok(self)
    }

    /// Banks where none are given: one in line, else odd-numbered cylinders against even ones.
    ///
    /// # Errors
    /// When two banks are wanted of an odd number of cylinders.
    pub fn usual_banks(cylinders: u8, layout: Layout) -> Result<Vec<Vec<Cylinder>>, EngineError> {
        match layout {
            Layout::Inline => Ok(vec![(1..=cylinders).collect()]),
            Layout::V | Layout::Flat if cylinders % 2 == 1 => Err(EngineError::OddBanks(cylinders)),
            Layout::V | Layout::Flat => {
                Ok(vec![(1..=cylinders).step_by(2).collect(), (2..=cylinders).step_by(2).collect()])
            }
        }
    }

    /// A firing order where none is given: the commonest for the count (common practice, no
    /// source), else numerical order. Only the pairing of wasted-spark coils hangs on it.
    #[must_use]
    pub fn usual_firing_order(cylinders: u8) -> Vec<Cylinder> {
        match cylinders {
            4 => vec![1, 3, 4, 2],
            5 => vec![1, 2, 4, 5, 3],
            6 => vec![1, 5, 3, 6, 2, 4],
            8 => vec![1, 8, 4, 3, 6, 5, 7, 2],
            n => (1..=n).collect(),
        }
    }

    /// All cylinders in order.
    pub fn all(&self) -> impl Iterator<Item = Cylinder> + use<> {
        1..=self.cylinders
    }

    /// Whether a probe takes its depth along when it changes places.
    #[must_use]
    pub fn depth_travels(&self) -> bool {
        self.depth == DepthHold::Travels
    }

    /// Index of the bank a cylinder stands in.
    #[must_use]
    pub fn bank_of(&self, cylinder: Cylinder) -> usize {
        self.banks.iter().position(|bank| bank.contains(&cylinder)).unwrap_or(0)
    }

    /// Cylinders that stand side by side in a bank.
    #[must_use]
    pub fn neighbours(&self) -> Vec<(Cylinder, Cylinder)> {
        let pairs = self.banks.iter().flat_map(|bank| bank.windows(2));
        let mut list: Vec<_> =
            pairs.map(|pair| (pair[0].min(pair[1]), pair[0].max(pair[1]))).collect();
        list.sort_unstable();
        list
    }

    /// Pairs of cylinders that share a wasted-spark coil: half a turn of the firing order apart.
    #[must_use]
    pub fn coil_pairs(&self) -> Vec<(Cylinder, Cylinder)> {
        let half = self.firing_order.len() / 2;
        (0..half)
            .map(|i| {
                let (a, b) = (self.firing_order[i], self.firing_order[i + half]);
                (a.min(b), a.max(b))
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A plain four to start from.
    pub(crate) fn four() -> Engine {
        Engine { ignition: Ignition::WastedSpark, ..Engine::plain(4) }
    }

    #[test]
    fn neighbours_stand_side_by_side_in_a_bank() {
        assert_eq!(four().neighbours(), [(1, 2), (2, 3), (3, 4)]);
        let six = Engine { cylinders: 6, banks: vec![vec![1, 3, 5], vec![2, 4, 6]], ..four() };
        assert_eq!(six.neighbours(), [(1, 3), (2, 4), (3, 5), (4, 6)]);
    }

    #[test]
    fn wasted_spark_pairs_are_half_the_order_apart() {
        assert_eq!(four().coil_pairs(), [(1, 4), (2, 3)]);
    }

    #[test]
    fn nonsense_is_refused() {
        let bad = |change: fn(&mut Engine)| {
            let mut engine = four();
            change(&mut engine);
            engine.check().expect_err("refused")
        };
        assert_eq!(bad(|e| e.cylinders = 1), EngineError::Cylinders(1));
        assert!(matches!(
            bad(|e| e.firing_order = vec![1, 1, 3, 4]),
            EngineError::NotEachOnce { .. }
        ));
        assert!(matches!(bad(|e| e.fuel = Fuel::Diesel), EngineError::Spark { .. }));
        assert!(matches!(bad(|e| e.layout = Layout::V), EngineError::Banks { .. }));
        assert!(matches!(bad(|e| e.mixture.full = 3.0), EngineError::Mixture(_)));
        assert!(four().check().is_ok());
    }
}
