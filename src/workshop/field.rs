//! A world of virtual engines: what is true in it, and the knowledge base that mechanics go by.
//!
//! Made once for a run. It must not know who works in it.

use std::collections::BTreeMap;

use facts::knowledge::Knowledge;

use super::tables::{Tables, Wrong};

/// A world.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// The knowledge base as it is.
    pub plain: Knowledge,
    /// The same with times fitted to each kind of engine, by preset.
    fitted: BTreeMap<String, Knowledge>,
    /// How common causes are here, and what tests show.
    pub tables: Tables,
    /// How wrong the knowledge base is.
    pub wrong: Wrong,
}

impl Field {
    /// The world of a seed.
    #[must_use]
    pub fn of(known: &Knowledge, wrong: Wrong, seed: u64) -> Self {
        let fit = |preset: &facts::knowledge::Preset| {
            (preset.id.clone(), known.clone().fitted_to(&preset.engine))
        };
        Self {
            fitted: known.presets.iter().map(fit).collect(),
            tables: Tables::of(known, wrong, seed),
            plain: known.clone(),
            wrong,
        }
    }

    /// What a mechanic goes by on an engine of a preset.
    #[must_use]
    pub fn known(&self, preset: &str) -> &Knowledge {
        self.fitted.get(preset).unwrap_or(&self.plain)
    }
}
