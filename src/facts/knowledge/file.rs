//! The form of knowledge on disk: RON, read into borrowed structs so that every id keeps its
//! place in the text.
//!
//! Only shapes; meaning and checks live with the loader. Ids are `&str` borrowed from the
//! text (an id with an escape in it is refused), prose is owned.

use serde::Deserialize;

use super::model::{Hazard, Item, Law, Load, PlaceKind, Scope, Seat, TestKind, Thermal};
use super::physics::Physics;
use measure::engine::{Cooling, Engine, Fuel, Ignition, Induction, Intake, Layout, ProbeSite};

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
    /// `false` where the cylinder does not fire at all.
    #[serde(default = "yes")]
    pub fires: bool,
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

/// `setups.ron`: states of the engine, what can be opened, classes of parts, recent work.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SetupsFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// (from, to, hands-on minutes, waiting minutes, basis); the shortest ways are filled in.
    #[serde(borrow, default)]
    pub changes: Vec<(Thermal, Thermal, f64, f64, RawBasis<'a>)>,
    /// Things to open.
    #[serde(default)]
    pub access: Vec<RawAccess<'a>>,
    /// (class, money in hours of labour × 60, that is minutes of labour, basis)
    #[serde(default)]
    pub parts: Vec<(&'a str, f64, RawBasis<'a>)>,
    /// (flag, question)
    #[serde(default)]
    pub recent: Vec<(&'a str, String)>,
    /// (state, what can hurt in all that is done in it)
    #[serde(default)]
    pub hazards: Vec<(Thermal, Vec<Hazard>)>,
}

/// Something to open.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `Access`")]
pub struct RawAccess<'a> {
    #[serde(borrow)]
    pub id: &'a str,
    pub name: String,
    pub time: (f64, f64),
    /// Other times on kinds of engine; the first that applies is used.
    #[serde(default)]
    pub time_if: Vec<(RawCondition, (f64, f64))>,
    #[serde(default)]
    pub blocks_running: bool,
    #[serde(default)]
    pub per_cylinder: bool,
    /// What can hurt in opening it.
    #[serde(default)]
    pub hazards: Vec<Hazard>,
    pub basis: RawBasis<'a>,
}

/// `sources.ron`
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SourcesFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// (id, where it was published and how far it was seen)
    #[serde(borrow)]
    pub sources: Vec<(&'a str, String)>,
    /// Ids of sources behind formulas and tables of the code, which no number here names.
    #[serde(borrow, default)]
    pub in_code: Vec<&'a str>,
}

/// `cautions.ron`
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CautionsFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// (id, sentence, basis)
    #[serde(borrow, default)]
    pub cautions: Vec<(&'a str, String, RawBasis<'a>)>,
    /// (hazard, the cautions of which one must go with work that has it)
    #[serde(default)]
    pub answers: Vec<(Hazard, Vec<&'a str>)>,
    /// (caution, the engines that it concerns); one that is not named here concerns all
    #[serde(borrow, default)]
    pub only: Vec<(&'a str, RawCondition)>,
}

/// `spreads.ron`
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpreadsFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// Rows; the first that applies is used.
    #[serde(borrow)]
    pub spreads: Vec<RawSpread<'a>>,
}

/// Natural spread of a kind of engine.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `NaturalSpread`")]
pub struct RawSpread<'a> {
    #[serde(default)]
    pub applies: RawCondition,
    pub site: ProbeSite,
    /// cold, warming, idle, cruise, full
    pub sd: (f64, f64, f64, f64, f64),
    /// Other points, by their ids; left out where it is as at the point they are like.
    #[serde(borrow, default)]
    pub at: Vec<(&'a str, f64)>,
    pub basis: RawBasis<'a>,
}

/// `heat.ron`
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeatFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// Rows; the first that applies is used.
    #[serde(borrow)]
    pub heat: Vec<RawHeat<'a>>,
}

/// Idle, cruise, full load.
pub type RawThree = (f64, f64, f64);

/// What displays of a kind of engine may read.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `HeatBounds`")]
pub struct RawHeat<'a> {
    #[serde(default)]
    pub applies: RawCondition,
    pub site: ProbeSite,
    pub watch: RawThree,
    pub stop: RawThree,
    pub lone: (f64, f64),
    pub can_be: ((f64, f64), (f64, f64), (f64, f64)),
    /// Other points, by their ids; left out where it is as at the point they are like.
    #[serde(borrow, default)]
    pub at: Vec<RawHeatAt<'a>>,
    pub basis: RawBasis<'a>,
}

/// What displays may read at a running point.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `Bounds`")]
pub struct RawHeatAt<'a> {
    #[serde(borrow)]
    pub point: &'a str,
    pub watch: f64,
    pub stop: f64,
    pub can_be: (f64, f64),
}

/// `points.ron`
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PointsFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// Rows.
    #[serde(borrow)]
    pub points: Vec<RawPoint<'a>>,
}

/// A running point.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `Point`")]
pub struct RawPoint<'a> {
    #[serde(borrow)]
    pub id: &'a str,
    pub name: String,
    /// Left out where the session offers it by its name.
    #[serde(default)]
    pub asked: Option<String>,
    #[serde(default)]
    pub words: Vec<String>,
    pub thermal: Thermal,
    pub order: f64,
    #[serde(default)]
    pub settled: bool,
    #[serde(default)]
    pub load: Option<Load>,
    #[serde(default)]
    pub confirm: bool,
    #[serde(default)]
    pub routine: bool,
    #[serde(default)]
    pub like: Option<&'a str>,
    #[serde(default)]
    pub factor: Option<f64>,
    /// Of the factor; must be there when that is.
    #[serde(default)]
    pub basis: Option<RawBasis<'a>>,
}

/// `engines.ron`
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EnginesFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// Presets.
    #[serde(borrow)]
    pub engines: Vec<RawPreset<'a>>,
}

/// A preset.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "fields as in `Preset`")]
pub struct RawPreset<'a> {
    #[serde(borrow)]
    pub id: &'a str,
    pub name: String,
    pub engine: Engine,
    #[serde(default)]
    pub basis: Option<RawBasis<'a>>,
}

/// `model.ron`: constants by name, and the mixture curve.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModelFile<'a> {
    /// Version of the form; the first where none is said.
    #[serde(default)]
    pub format: Option<u32>,
    /// (name, values, basis)
    #[serde(borrow, default)]
    pub constants: Vec<(&'a str, Vec<f64>, RawBasis<'a>)>,
    /// (φ, idle, cruise, full); an overlay that leaves it empty keeps the curve below it.
    #[serde(default)]
    pub mixture: Vec<(f64, f64, f64, f64)>,
    /// Of the curve; must be there when the curve is.
    #[serde(default)]
    pub mixture_basis: Option<RawBasis<'a>>,
}
