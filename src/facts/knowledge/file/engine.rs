//! `engines.ron`, `points.ron`, `spreads.ron`, `heat.ron` and `model.ron`: engines, where they are run, and what their
//! displays show when nothing is wrong.
//!
//! It must not check anything: a row is as it was written.

use serde::Deserialize;

use super::{RawBasis, RawCondition};
use crate::knowledge::model::{Load, Thermal};
use measure::engine::{Engine, ProbeSite};

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
