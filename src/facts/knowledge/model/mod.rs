//! The checked form of the knowledge base.
//!
//! Every id is resolved to an index, every row sums to one, every number is finite. Values
//! are made by the loader only; whoever holds a [`Knowledge`] may rely on all of that. It must
//! not read a file, nor know a job.

mod cause;
mod constants;
mod engines;
mod hazard;
mod heat;
mod place;
mod point;
mod setup;
mod test;

use std::collections::BTreeMap;

use measure::engine::{Engine, ProbeSite};

pub use cause::{Cause, Charge, Effect, Group, Lasting, Law, Remedy, Shifts, Spread, StateChances};
pub use constants::{AMBIENT, Constants, MixtureCurve, NaturalSpread};
pub use engines::{Condition, Preset, RecentWork};
pub use hazard::Hazard;
pub use heat::{Bounds, HeatBounds};
pub use place::{Item, PlaceKind, Seat};
pub use point::{Load, PerPoint, Point, Points, RunningPoint};
pub use setup::{Access, StateChanges, Thermal};
pub use test::{CANNOT, Outcome, Scope, Test, TestKind, USUAL_SLIP};

/// Everything, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Knowledge {
    /// Running points.
    pub points: Points,
    /// Causes in order of id.
    pub causes: Vec<Cause>,
    /// Tests in order of id.
    pub tests: Vec<Test>,
    /// Groups, parents before children.
    pub groups: Vec<Group>,
    /// What can be opened.
    pub access: Vec<Access>,
    /// Warnings.
    pub cautions: Vec<Caution>,
    /// Natural spreads; the first that applies is used.
    pub spreads: Vec<NaturalSpread>,
    /// What displays may read; the first that applies is used.
    pub heat: Vec<HeatBounds>,
    /// Kinds of recent work.
    pub recent: Vec<RecentWork>,
    /// Engines.
    pub presets: Vec<Preset>,
    /// Mixture curve.
    pub mixture: MixtureCurve,
    /// Constants.
    pub constants: Constants,
    /// Changes of state.
    pub changes: StateChanges,
    /// Named sources, id to text.
    pub sources: BTreeMap<String, String>,
    /// What the workshop's memory has moved, where one was used.
    pub recall: Option<Recall>,
    /// Tests that cannot be done in this workshop, by index; never offered in any job.
    pub lacking: Vec<usize>,
}

/// How a workshop's memory has moved the figures of a knowledge base for one job.
#[derive(Debug, Clone, PartialEq)]
pub struct Recall {
    /// Jobs of the workshop's own that count.
    pub own: u32,
    /// How many jobs the knowledge base is worth beside them.
    pub worth: f64,
    /// Factor on the prior of each cause on this engine after this recent work.
    pub factors: Vec<f64>,
    /// Tests with their hands-on minutes before they were moved.
    pub times: Vec<(usize, f64)>,
}

impl Knowledge {
    /// Index of a cause.
    #[must_use]
    pub fn cause(&self, id: &str) -> Option<usize> {
        self.causes.binary_search_by(|cause| cause.id.as_str().cmp(id)).ok()
    }

    /// Index of a test.
    #[must_use]
    pub fn test(&self, id: &str) -> Option<usize> {
        self.tests.binary_search_by(|test| test.id.as_str().cmp(id)).ok()
    }

    /// Whether a cause belongs to the measuring chain rather than to the engine: it hangs under
    /// the top group `measuring`. (A fuel trim is a setting too, but of the engine.)
    #[must_use]
    pub fn is_measuring(&self, cause: usize) -> bool {
        self.groups[self.top_group(self.causes[cause].group)].id == "measuring"
    }

    /// The top group that a group hangs under, itself if it has no parent.
    #[must_use]
    pub fn top_group(&self, mut group: usize) -> usize {
        while let Some(parent) = self.groups[group].parent {
            group = parent;
        }
        group
    }

    /// The same with the minutes that opening things takes on an engine.
    #[must_use]
    pub fn fitted_to(mut self, engine: &Engine) -> Self {
        for access in &mut self.access {
            if let Some((_, cost)) = access.cost_if.iter().find(|(when, _)| when.holds(engine)) {
                access.cost = *cost;
            }
        }
        self
    }

    /// Those of some cautions that concern an engine.
    #[must_use]
    pub fn cautions_on(&self, engine: &Engine, cautions: &[usize]) -> Vec<usize> {
        let concerns = |caution: &Caution| caution.applies.holds(engine);
        let known = cautions.iter().copied();
        known.filter(|&at| self.cautions.get(at).is_some_and(concerns)).collect()
    }

    /// What displays of an engine may read; `None` where no row applies.
    #[must_use]
    pub fn heat_bounds(&self, engine: &Engine, site: ProbeSite) -> Option<&HeatBounds> {
        self.heat.iter().find(|row| row.site == site && row.applies.holds(engine))
    }

    /// Standard deviation between healthy cylinders of an engine at a point, °C.
    #[must_use]
    pub fn natural_sd(&self, engine: &Engine, site: ProbeSite, point: RunningPoint) -> f64 {
        self.spreads
            .iter()
            .find(|spread| spread.site == site && spread.applies.holds(engine))
            .map_or(25.0, |spread| spread.at(point))
    }
}

/// A warning shown with every piece of work that deserves it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Stable id.
    pub id: String,
    /// The sentence.
    pub text: String,
    /// The engines that it concerns.
    pub applies: Condition,
    /// Where it comes from.
    pub basis: Basis,
}

/// Where a number comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// A published source, by id in `sources.ron`.
    Source(String),
    /// A published source, by id in `sources.ron`, and the place in its text.
    Cited(String, String),
    /// Computed, and how.
    Computed(String),
    /// Estimated: on what grounds, and how far it may be otherwise.
    Judgement(String),
    /// Common practice, no source.
    Practice,
    /// From memory, unverified.
    Memory,
}
