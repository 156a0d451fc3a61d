//! `setups.ron`, `cautions.ron` and `sources.ron`: what work costs and can hurt, and where figures come from.
//!
//! It must not check anything: a row is as it was written.

use serde::Deserialize;

use super::{RawBasis, RawCondition};
use crate::knowledge::model::{Hazard, Thermal};

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
