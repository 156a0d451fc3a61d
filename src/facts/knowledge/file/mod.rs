//! The form of knowledge on disk: RON, read into borrowed structs so that every id keeps its
//! place in the text.
//!
//! Only shapes; meaning and checks live with the loader, and must not come in here. Ids are `&str` borrowed from the
//! text (an id with an escape in it is refused), prose is owned.

mod cause;
mod engine;
mod setup;
mod test;

use serde::Deserialize;

pub use cause::{
    CausesFile, GroupsFile, RawCause, RawEffect, RawMixture, RawRemedy, RawShift, RawStates,
};
pub use engine::{
    EnginesFile, HeatFile, ModelFile, PointsFile, RawHeat, RawHeatAt, RawPoint, RawPreset,
    RawSpread, RawThree, SpreadsFile,
};
use measure::engine::{Cooling, Fuel, Ignition, Induction, Intake, Layout, ProbeSite};
pub use setup::{CautionsFile, RawAccess, SetupsFile, SourcesFile};
pub use test::{RawTest, TestsFile};

/// The newest version of the form of knowledge files that is known.
pub const FORMAT: u32 = 1;

/// Only the version; the rest of a newer form need not be understood.
#[derive(Debug, Deserialize)]
pub struct Version {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
}

/// Where a number comes from: `cited("id", "place")`, `source("id")`, `computed("how")`, `judgement("why")`,
/// `practice` or `memory`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum RawBasis<'a> {
    /// By id in `sources.ron`.
    Source(&'a str),
    /// By id in `sources.ron`, and the place in its text.
    Cited(&'a str, String),
    /// And how; sources that it rests on stand in brackets, as `[nist-175]`.
    Computed(String),
    /// Estimated, on what grounds, and how far it may be otherwise.
    Judgement(String),
    /// Common practice, no source.
    Practice,
    /// From memory, unverified.
    Memory,
}

/// Conditions on an engine; what is left out asks for nothing.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[expect(missing_docs, reason = "fields as in `Condition`")]
pub struct RawCondition {
    pub layout: Vec<Layout>,
    pub fuel: Vec<Fuel>,
    pub ignition: Vec<Ignition>,
    pub intake: Vec<Intake>,
    pub induction: Vec<Induction>,
    pub cooling: Vec<Cooling>,
    pub probes: Vec<ProbeSite>,
    pub trims: Option<bool>,
}
