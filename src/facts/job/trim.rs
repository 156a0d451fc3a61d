//! Trims of single cylinders: what was set, what was foreseen, what was read under them.
//!
//! Readings under a trim are kept apart from the others, since they are of an engine that was
//! changed on purpose. It must not say what should be trimmed: that is `judge::balance`.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::entry::Reading;
use crate::knowledge::RunningPoint;
use measure::engine::{Cylinder, PointId, ProbeSite};
use measure::named_enum;

named_enum! {
    /// What is trimmed.
    Lever, "trim" {
        /// Fuel, per cent; above zero is richer.
        Fuel = "fuel",
        /// Spark, degrees of crank; above zero is later.
        Spark = "spark",
    }
}

named_enum! {
    /// What an independent sign says of one cylinder's mixture against its mates.
    MixtureSign, "sign" {
        /// Leaner than the others.
        Lean = "lean",
        /// Richer than the others.
        Rich = "rich",
        /// Like the others.
        Even = "even",
    }
}

/// What a trim was expected to do to its display against the others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Foreseen {
    /// At this running point.
    pub at: PointId,
    /// Expected change, °C.
    pub change: f64,
    /// Standard deviation of that and of the readings together, °C.
    pub sd: f64,
}

/// Trims that are not where they stood when the job was opened.
pub type Trims = BTreeMap<(Lever, Cylinder), f64>;

/// A trim that was set.
#[derive(Debug, Clone, PartialEq)]
pub struct TrimStep {
    /// Number of the journal entry.
    pub entry: usize,
    /// What.
    pub lever: Lever,
    /// Whose.
    pub cylinder: Cylinder,
    /// From where, against how it stood when the job was opened.
    pub from: f64,
    /// To where.
    pub to: f64,
    /// What was foreseen; nothing where nothing could be.
    pub foreseen: Option<Foreseen>,
}

/// Readings taken under trims.
#[derive(Debug, Clone, PartialEq)]
pub struct TrimmedSet {
    /// Number of the journal entry.
    pub entry: usize,
    /// Running point.
    pub at: RunningPoint,
    /// Which probes.
    pub site: ProbeSite,
    /// One per display.
    pub readings: Vec<Reading>,
    /// How the trims stood.
    pub trims: Trims,
    /// How many disturbances had happened before.
    pub after: usize,
}

/// Everything about trims that follows from a journal.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trimming {
    /// Trims in the order in which they were set.
    pub steps: Vec<TrimStep>,
    /// Readings under trims.
    pub sets: Vec<TrimmedSet>,
    /// The last independent sign of each cylinder: entry, what it says, by what.
    pub signs: BTreeMap<Cylinder, (usize, MixtureSign, String)>,
    /// How the trims stand now.
    pub now: Trims,
}

impl Trimming {
    /// How a trim stands now.
    #[must_use]
    pub fn stands(&self, lever: Lever, cylinder: Cylinder) -> f64 {
        self.now.get(&(lever, cylinder)).copied().unwrap_or(0.0)
    }

    /// Sets a trim.
    pub(super) fn set(
        &mut self,
        entry: usize,
        (lever, cylinder): (Lever, Cylinder),
        to: f64,
        foreseen: Option<Foreseen>,
    ) {
        let from = self.stands(lever, cylinder);
        self.steps.push(TrimStep { entry, lever, cylinder, from, to, foreseen });
        if to.abs() < 1e-9 {
            self.now.remove(&(lever, cylinder));
        } else {
            self.now.insert((lever, cylinder), to);
        }
    }
}
