//! Kinds of engine: conditions on them, ready descriptions, what may have been done to them lately.
//!
//! It must not change a weight itself: it says only whether a condition holds.

use super::Basis;
use measure::engine::{Cooling, Engine, Fuel, Ignition, Induction, Intake, Layout, ProbeSite};

/// Conditions on an engine; an empty list asks for nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Condition {
    /// Layouts.
    pub layout: Vec<Layout>,
    /// Fuel systems.
    pub fuel: Vec<Fuel>,
    /// Ignitions.
    pub ignition: Vec<Ignition>,
    /// Intakes.
    pub intake: Vec<Intake>,
    /// Inductions.
    pub induction: Vec<Induction>,
    /// Cooling.
    pub cooling: Vec<Cooling>,
    /// Probe sites.
    pub probes: Vec<ProbeSite>,
    /// Trims wanted (`Some(true)`), or their absence.
    pub trims: Option<bool>,
}

impl Condition {
    /// Whether an engine meets every condition.
    #[must_use]
    pub fn holds(&self, engine: &Engine) -> bool {
        fn any<T: PartialEq>(list: &[T], value: &T) -> bool {
            list.is_empty() || list.contains(value)
        }
        any(&self.layout, &engine.layout)
            && any(&self.fuel, &engine.fuel)
            && any(&self.ignition, &engine.ignition)
            && any(&self.intake, &engine.intake)
            && any(&self.induction, &engine.induction)
            && any(&self.cooling, &engine.cooling)
            && any(&self.probes, &engine.probes)
            && self.trims.is_none_or(|wanted| wanted == engine.trims)
    }
}

/// A ready description of a common engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Preset {
    /// Stable id.
    pub id: String,
    /// Name.
    pub name: String,
    /// The engine.
    pub engine: Engine,
    /// Where its figures come from; `None` where it does not say.
    pub basis: Option<Basis>,
}

/// A kind of work done lately that makes some causes likelier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecentWork {
    /// Stable id.
    pub id: String,
    /// The question, as "Were probes or bosses just fitted?".
    pub question: String,
}
