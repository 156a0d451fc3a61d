//! Causes: how likely they are, what they do to readings, and what cures them.
//!
//! It must not know how a test shows them: tables stand with the tests.

use std::collections::BTreeMap;

use crate::knowledge::physics::Physics;
use measure::engine::{Engine, Fuel, PointId, Regime};
use measure::named_enum;
use measure::units::Cost;

use super::{Basis, Condition, PlaceKind, RunningPoint, Seat, Thermal, point};

/// One way for a cylinder to read oddly.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// Stable id.
    pub id: String,
    /// Short name, as a mechanic would say it.
    pub name: String,
    /// What it is, one sentence.
    pub what: String,
    /// Group in the fault tree, as index into [`Knowledge::groups`](super::Knowledge::groups).
    pub group: usize,
    /// What it is attached to.
    pub seat: Seat,
    /// What kind of place it is at.
    pub place: PlaceKind,
    /// Engines it can occur on.
    pub applies: Condition,
    /// Relative frequency before any evidence, over all places of the engine together.
    pub weight: f64,
    /// Factors on the weight for kinds of engine.
    pub weight_if: Vec<(Condition, f64)>,
    /// Factors on the weight for recent work, flag id to factor.
    pub recent: BTreeMap<String, f64>,
    /// What it does to readings; empty when nothing.
    pub effects: Vec<Effect>,
    /// The same on a diesel, where the fuel stays when the air goes; empty where it is as on others.
    pub diesel: Vec<Effect>,
    /// Chances of a display state at cold soak, where they differ from the usual ones.
    pub states_cold: Option<StateChances>,
    /// The same with the engine running.
    pub states_running: Option<StateChances>,
    /// Chance that undoing and remaking its seat removes the symptom.
    pub reseat: f64,
    /// Whether it begins and ends by itself.
    pub lasting: Lasting,
    /// Made when probes, leads and box were fitted and set, and not by running.
    pub fitted: bool,
    /// The engine was made so: as long as it keeps within the natural spread it is this engine's normal,
    /// and nothing to be put right.
    pub by_build: bool,
    /// Means that the cylinder really runs hot, so that load may harm it.
    pub heat: bool,
    /// Other signs.
    pub clues: Vec<String>,
    /// What cures it; `None` for the causes that are no fault.
    pub remedy: Option<Remedy>,
    /// Where weight, factors and re-seat chance come from.
    pub basis: Basis,
}

/// Whether a fault begins and ends by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lasting {
    /// It may, now and then.
    Mostly,
    /// It comes and goes.
    ComesAndGoes,
    /// A shape, a size, a setting or how wires are joined: it neither begins nor ends unless somebody works on
    /// it.
    Fixed,
}

impl Cause {
    /// Whether it comes and goes by itself.
    #[must_use]
    pub fn is_intermittent(&self) -> bool {
        self.lasting == Lasting::ComesAndGoes
    }

    /// What it does to readings on an engine.
    #[must_use]
    pub fn effects_on(&self, engine: &Engine) -> &[Effect] {
        if engine.fuel == Fuel::Diesel && !self.diesel.is_empty() {
            &self.diesel
        } else {
            &self.effects
        }
    }

    /// Whether displays show another cylinder than the one they are named for.
    #[must_use]
    pub fn misnames(&self) -> bool {
        self.effects.iter().any(|effect| effect.law == Law::Misnamed)
    }

    /// Whether it stands for an engine with nothing wrong, which differs as sound ones do.
    #[must_use]
    pub fn is_ordinary(&self) -> bool {
        self.place == PlaceKind::Nowhere && self.remedy.is_none() && self.effects.is_empty()
    }

    /// What it does to a display at a running point, if anything.
    #[must_use]
    pub fn states_at(&self, at: RunningPoint) -> Option<StateChances> {
        if at.is_cold() { self.states_cold } else { self.states_running }
    }

    /// Whether it passes by waiting, and nothing needs to be done about it.
    #[must_use]
    pub fn passes(&self) -> bool {
        !self.effects.is_empty() && self.effects.iter().all(|effect| effect.law == Law::Time)
    }
}

/// One signed way in which a cause shows itself; a two-sided cause has two or more.
#[derive(Debug, Clone, PartialEq)]
pub struct Effect {
    /// Share of the engines with this cause that show this side; the shares sum to one.
    pub share: f64,
    /// How sizes at two points go together.
    pub law: Law,
    /// Shift of an exhaust probe; `None` where the cause does not exist for exhaust probes.
    pub exhaust: Option<Shifts>,
    /// Shift of a head probe at cruise.
    pub head: Option<Spread>,
    /// Relative change of fuel over air in this cylinder (0.05 is 5 % richer) at idle, cruise
    /// and full load: used with the mixture curve instead of `exhaust` when present.
    pub mixture: Option<[Spread; 3]>,
    /// The law that computes it where the job's own probes allow that; the tables stand in else.
    pub physics: Option<Physics>,
    /// What there is to burn in the cylinder: tests of its burning show that, whatever the cause.
    pub charge: Charge,
    /// Where the numbers come from.
    pub basis: Basis,
}

named_enum! {
    /// What a side of a fault leaves in the cylinder to burn, as far as tests of its burning tell it.
    #[derive(Default)]
    Charge, "charge" {
        /// Nothing that they tell.
        #[default]
        Usual = "usual",
        /// Plainly short of fuel at a steady cruise, beside the other cylinders.
        Lean = "lean",
        /// Plainly short of air there, or with too much fuel.
        Rich = "rich",
        /// Nothing burns: it does not fire at all.
        Unfired = "no-fire",
    }
}

named_enum! {
    /// How an effect follows temperature and load; says how sizes at two points go together.
    Law, "law" {
        /// The same number of degrees at every point, cold included.
        Offset = "offset",
        /// In proportion to the reading above ambient.
        Proportional = "proportional",
        /// Pulled to the wall: nil cold, like degrees at all running points.
        Wall = "wall",
        /// Follows under-bonnet or box heat.
        Bay = "bay",
        /// Follows the mixture curve.
        Mixture = "mixture",
        /// Missed firing.
        Misfire = "misfire",
        /// Any other effect of the engine.
        EngineEffect = "engine",
        /// The number belongs to another cylinder.
        Misnamed = "misnamed",
        /// Scatter only.
        Noise = "noise",
        /// Passes with time.
        Time = "time",
        /// The reading is invalid or unrelated to the gas.
        Invalid = "invalid",
    }
}

/// Shifts of a reading by running point, °C. `None` stands for "the number means nothing".
#[derive(Debug, Clone, PartialEq)]
pub struct Shifts {
    /// At cold soak.
    pub cold: Option<Spread>,
    /// While it warms up, where it differs from idle half-way up.
    pub warming: Option<Spread>,
    /// At warm idle.
    pub idle: Option<Spread>,
    /// At steady cruise.
    pub cruise: Option<Spread>,
    /// At full load.
    pub full: Option<Spread>,
    /// At points that have their own.
    pub own: Vec<(PointId, Option<Spread>)>,
}

impl Shifts {
    /// The shift at a point: its own, or as many times that of the point it is like as knowledge says; while it
    /// warms up that of idle, where it has none of its own.
    #[must_use]
    pub fn at(&self, at: RunningPoint) -> Option<Spread> {
        let row = match point::own(&self.own, at) {
            Some(own) => own,
            None => match at.regime {
                Regime::ColdSoak => self.cold,
                Regime::Warming => self.warming.or(self.idle),
                Regime::Idle => self.idle,
                Regime::Cruise => self.cruise,
                Regime::Full => self.full,
            },
        }?;
        let factor = point::factor(&self.own, at);
        Some(Spread { mean: factor * row.mean, sd: factor * row.sd })
    }

    /// Whether a warming engine has a shift of its own here, and not that of idle half-way up.
    #[must_use]
    pub fn warms(&self, at: RunningPoint) -> bool {
        self.warming.is_some() || point::own(&self.own, at).is_some()
    }
}

/// A mean and a standard deviation between engines, in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// Standard deviation, not negative.
    pub sd: f64,
}

/// Chances that a display shows something other than a steady number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StateChances {
    /// Open circuit flag or full scale.
    pub open: f64,
    /// Does not move.
    pub stuck: f64,
    /// Falls while the others rise.
    pub falling: f64,
    /// Jumps about.
    pub erratic: f64,
}

/// Work that cures a cause.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// Id; causes cured by the same work share it.
    pub id: String,
    /// What to do, one imperative sentence.
    pub what: String,
    /// Time and parts, set-ups left out.
    pub cost: Cost,
    /// States of the engine in which it can be done.
    pub states: Vec<Thermal>,
    /// What must be open or out, as indices into [`Knowledge::access`](super::Knowledge::access).
    pub access: Vec<usize>,
    /// Tests of which one should be done before, as indices into
    /// [`Knowledge::tests`](super::Knowledge::tests), lest the remedy destroy the evidence.
    pub first: Vec<usize>,
    /// Seats that the work undoes and remakes, with the share of the re-seat chance it has.
    pub reseats: Vec<(Seat, f64)>,
    /// Warnings, as indices into [`Knowledge::cautions`](super::Knowledge::cautions).
    pub cautions: Vec<usize>,
    /// Where the numbers come from.
    pub basis: Basis,
}

/// A knot of the fault tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Stable id.
    pub id: String,
    /// Name.
    pub name: String,
    /// The group above, as index into [`Knowledge::groups`](super::Knowledge::groups).
    pub parent: Option<usize>,
}
