//! What is known of a vehicle from its earlier jobs, as a later job carries it.
//!
//! Numbers and where they are from, worked out once when the job is opened, so that the job stands
//! without the others. It must not work them out: that is `judge::vehicle`.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::fit::FitLine;
use crate::knowledge::RunningPoint;
use measure::engine::{Cylinder, Engine, Place, PointId, ProbeSite};

/// A vehicle's own history at the time a job was opened.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct History {
    /// Earlier jobs in order of time.
    pub visits: Vec<Visit>,
    /// What its displays usually do, by kind of reading; empty where no reading counts.
    pub usual: Vec<Usual>,
    /// Displays that were shown to be those of their cylinders, and when; nothing was done to their wiring
    /// since.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub identified: Vec<(Cylinder, Timestamp)>,
    /// How probes sat when they were last described, and have sat untouched since.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fit: Vec<(Cylinder, FitLine)>,
    /// When the visit was opened at which all that commissioning asks for was done, if there was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub commissioned: Option<Timestamp>,
}

/// An earlier job of the same vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Visit {
    /// Its name in the store.
    pub job: String,
    /// When it was opened.
    pub opened: Timestamp,
    /// The cause last remedied and where, if any was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cause: Option<(String, Place)>,
    /// How likely that was the cause, as believed at the end of that job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub believed: Option<f64>,
    /// Proven when closed.
    pub proven: bool,
    /// Reading sets that count as healthy.
    pub sets: usize,
    /// Why none count, or not all, one sentence; empty where all do.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub left_out: String,
}

/// How this engine's displays usually stand to each other at one kind of reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Usual {
    /// The running point.
    pub at: PointId,
    /// Which probes.
    pub site: ProbeSite,
    /// Visits that speak of each display, since its probe was last fitted anew.
    pub visits: Vec<usize>,
    /// Expected distance of each display from the mean of all, °C.
    pub mean: Vec<f64>,
    /// Standard deviation of that at a further visit, repeatability within a visit left out, °C.
    pub sd: Vec<f64>,
}

impl History {
    /// Whether it says what programs before the eighth version of the file cannot read.
    #[must_use]
    pub fn is_of_fitting(&self) -> bool {
        !self.identified.is_empty() || !self.fit.is_empty() || self.commissioned.is_some()
    }

    /// What is usual at a kind of reading.
    #[must_use]
    pub fn at(&self, site: ProbeSite, at: RunningPoint) -> Option<&Usual> {
        self.usual.iter().find(|usual| (usual.site, usual.at) == (site, at.id))
    }

    /// The first thing that cannot be on an engine, in a sentence.
    #[must_use]
    pub fn wrong(&self, engine: &Engine) -> Option<String> {
        let n = usize::from(engine.cylinders);
        for usual in &self.usual {
            if [usual.visits.len(), usual.mean.len(), usual.sd.len()] != [n; 3] {
                return Some(format!("the history at {} is not of {n} displays", usual.at));
            }
            let can = |mean: f64, sd: f64| {
                mean.is_finite() && mean.abs() < 1500.0 && (0.1..=500.0).contains(&sd)
            };
            if !usual.mean.iter().zip(&usual.sd).all(|(&mean, &sd)| can(mean, sd)) {
                return Some(format!("the history at {} has figures that cannot be", usual.at));
            }
        }
        let named = self.identified.iter().map(|(c, _)| *c).chain(self.fit.iter().map(|(c, _)| *c));
        if let Some(none) = named.into_iter().find(|c| !engine.all().any(|known| known == *c)) {
            return Some(format!(
                "the history is of a cylinder {none}, which the engine does not have"
            ));
        }
        let chance = |visit: &Visit| visit.believed.is_none_or(|p| (0.0..=1.0).contains(&p));
        (!self.visits.iter().all(chance)).then(|| "a belief is no chance".to_owned())
    }

    /// Earlier visits on which a cause was remedied, with the place, latest first.
    pub fn remedied<'a>(&'a self, cause: &'a str) -> impl Iterator<Item = (&'a Visit, Place)> + 'a {
        self.visits.iter().rev().filter_map(move |visit| {
            visit.cause.as_ref().filter(|(id, _)| id == cause).map(|(_, place)| (visit, *place))
        })
    }
}

impl Usual {
    /// Mean and standard deviation of a display, °C.
    #[must_use]
    pub fn of(&self, display: Cylinder) -> Option<(f64, f64)> {
        let index = usize::from(display).checked_sub(1)?;
        Some((*self.mean.get(index)?, *self.sd.get(index)?))
    }
}
