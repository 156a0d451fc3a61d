//! `causes/*.ron` and `groups.ron`: causes with their effects and remedies, and the tree above them.
//!
//! It must not check anything: a row is as it was written.

use serde::Deserialize;

use super::{RawBasis, RawCondition};
use crate::knowledge::model::{Charge, Hazard, Law, PlaceKind, Seat, Thermal};
use crate::knowledge::physics::Physics;

/// `causes/*.ron`
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CausesFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// Causes.
    #[serde(borrow)]
    pub causes: Vec<RawCause<'a>>,
}

/// A mean and an sd, °C; `None` where the number means nothing.
pub type RawShift = Option<(f64, f64)>;

/// A mean and an sd at idle, cruise and full load.
pub type RawMixture = ((f64, f64), (f64, f64), (f64, f64));

/// One side of a cause.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `Effect`")]
pub struct RawEffect<'a> {
    #[serde(default = "one")]
    pub share: f64,
    pub law: Law,
    /// (cold, idle, cruise, full); left out where the cause does not exist for exhaust probes.
    #[serde(default)]
    pub exhaust: Option<(RawShift, RawShift, RawShift, RawShift)>,
    /// Exhaust probe while the engine warms up; left out where it is as at idle, half-way up.
    #[serde(default)]
    pub warming: RawShift,
    /// Exhaust probe at other points, by their ids; left out where it is as at the point they are like.
    #[serde(borrow, default)]
    pub at: Vec<(&'a str, RawShift)>,
    /// Head probe at cruise; left out where the cause does not exist for head probes.
    #[serde(default)]
    pub head: RawShift,
    /// Relative change of fuel over air at (idle, cruise, full), each (mean, sd).
    #[serde(default)]
    pub mixture: Option<RawMixture>,
    /// The law that computes it where the job's own probes allow that.
    #[serde(default)]
    pub physics: Option<Physics>,
    /// `false` where the cylinder does not fire at all, as `charge: "no-fire"`.
    #[serde(default = "yes")]
    pub fires: bool,
    #[serde(default)]
    pub charge: Charge,
    #[serde(borrow)]
    pub basis: RawBasis<'a>,
}

fn one() -> f64 {
    1.0
}

fn yes() -> bool {
    true
}

/// Chances of display states.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[derive(Default)]
#[expect(missing_docs, reason = "fields as in `StateChances`")]
pub struct RawStates {
    pub open: f64,
    pub stuck: f64,
    pub falling: f64,
    pub erratic: f64,
}

/// A remedy.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `Remedy`")]
pub struct RawRemedy<'a> {
    #[serde(borrow)]
    pub id: &'a str,
    pub what: String,
    /// Minutes hands-on and waiting, set-ups left out.
    pub time: (f64, f64),
    /// Class of parts, by id in `setups.ron`.
    pub parts: &'a str,
    pub states: Vec<Thermal>,
    #[serde(default)]
    pub access: Vec<&'a str>,
    #[serde(default)]
    pub first: Vec<&'a str>,
    #[serde(default)]
    pub reseats: Vec<(Seat, f64)>,
    /// What can hurt in it, beside what comes from its states and from what is opened.
    #[serde(default)]
    pub hazards: Vec<Hazard>,
    #[serde(default)]
    pub cautions: Vec<&'a str>,
    pub basis: RawBasis<'a>,
}

/// A cause.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `Cause`")]
#[expect(clippy::struct_excessive_bools, reason = "marks that a writer sets where they hold")]
pub struct RawCause<'a> {
    #[serde(borrow)]
    pub id: &'a str,
    pub name: String,
    pub what: String,
    pub group: &'a str,
    pub seat: Seat,
    #[serde(default = "cylinder")]
    pub place: PlaceKind,
    #[serde(default)]
    pub applies: RawCondition,
    pub weight: f64,
    #[serde(default)]
    pub weight_if: Vec<(RawCondition, f64)>,
    #[serde(default)]
    pub recent: Vec<(&'a str, f64)>,
    #[serde(default)]
    pub effects: Vec<RawEffect<'a>>,
    #[serde(default)]
    pub diesel: Vec<RawEffect<'a>>,
    #[serde(default)]
    pub states_cold: Option<RawStates>,
    #[serde(default)]
    pub states_running: Option<RawStates>,
    pub reseat: f64,
    #[serde(default)]
    pub intermittent: bool,
    #[serde(default)]
    pub fixed: bool,
    #[serde(default)]
    pub fitted: bool,
    #[serde(default)]
    pub by_build: bool,
    #[serde(default)]
    pub heat: bool,
    #[serde(default)]
    pub clues: Vec<String>,
    #[serde(default)]
    pub remedy: Option<RawRemedy<'a>>,
    /// Of weight, factors and re-seat chance.
    pub basis: RawBasis<'a>,
}

fn cylinder() -> PlaceKind {
    PlaceKind::Cylinder
}

/// `groups.ron`: the fault tree above the causes, and named sets of causes for test tables.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GroupsFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// (id, name, parent)
    #[serde(borrow, default)]
    pub groups: Vec<(&'a str, String, Option<&'a str>)>,
    /// (name, causes)
    #[serde(default)]
    pub sets: Vec<(&'a str, Vec<&'a str>)>,
}
