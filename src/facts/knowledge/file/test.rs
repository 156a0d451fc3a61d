//! `tests/*.ron`: tests, what is seen in each, and how likely that is given a cause.
//!
//! It must not check anything: a row is as it was written.

use serde::Deserialize;

use super::{RawBasis, RawCondition};
use crate::knowledge::model::{Hazard, Item, Scope, Seat, TestKind, Thermal};

/// `tests/*.ron`
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TestsFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// Tests.
    #[serde(borrow)]
    pub tests: Vec<RawTest<'a>>,
}

/// A test.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `Test`")]
pub struct RawTest<'a> {
    #[serde(borrow)]
    pub id: &'a str,
    pub name: String,
    pub kind: TestKind,
    #[serde(default = "cylinder_scope")]
    pub scope: Scope,
    #[serde(default)]
    pub applies: RawCondition,
    pub states: Vec<Thermal>,
    #[serde(default)]
    pub leaves: Option<Thermal>,
    #[serde(default)]
    pub access: Vec<&'a str>,
    pub tools: String,
    /// Minutes hands-on and waiting, set-ups left out.
    pub time: (f64, f64),
    /// Class of parts, by id in `setups.ron`.
    pub parts: &'a str,
    #[serde(default)]
    pub moves: Vec<Seat>,
    #[serde(default)]
    pub replaces: Vec<Seat>,
    #[serde(default)]
    pub reseats: Vec<(Seat, f64)>,
    #[serde(default)]
    pub item: Option<Item>,
    pub steps: Vec<String>,
    /// What can hurt in it, beside what comes from its states and from what is opened.
    #[serde(default)]
    pub hazards: Vec<Hazard>,
    #[serde(default)]
    pub cautions: Vec<&'a str>,
    /// (id, what the mechanic sees)
    pub outcomes: Vec<(&'a str, String)>,
    /// Left out for exchanges, re-seats and substitutions, whose rows follow from the seats.
    #[serde(default)]
    pub default: Vec<f64>,
    /// ([cause or "set:NAME", ...], row). A cause named on its own overrides a set.
    #[serde(default)]
    pub given: Vec<(Vec<&'a str>, Vec<f64>)>,
    /// Chance that another outcome is reported than the one to be seen.
    #[serde(default)]
    pub slip: Option<f64>,
    /// What it shows belongs to the running point at which it was done.
    #[serde(default)]
    pub at_point: bool,
    /// It tells of what has been: nothing that is touched afterwards changes its answer.
    #[serde(default)]
    pub past: bool,
    /// It says no more than steady readings of all displays do.
    #[serde(default)]
    pub from_readings: bool,
    /// Outcomes that point at another cylinder, by id.
    #[serde(default)]
    pub partner: Vec<&'a str>,
    pub basis: RawBasis<'a>,
}

fn cylinder_scope() -> Scope {
    Scope::Cylinder
}
