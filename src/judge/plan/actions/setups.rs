//! Prices, engine states and accesses of the knowledge base in the terms of [`Problem`].
//!
//! It must not look at a job: what is open now is for whoever asks.
//!
//! [`Problem`]: crate::plan::problem::Problem

use crate::plan::problem::{Needs, Price, World};
use facts::knowledge::{Access, Knowledge, Thermal};
use measure::units::Cost;

/// A cost in minutes of labour.
pub(crate) fn price(knowledge: &Knowledge, cost: Cost) -> Price {
    Price { total: cost.total(knowledge.constants.rates), hands_on: cost.hands_on }
}

/// Set-ups of the knowledge base.
pub(super) fn world(knowledge: &Knowledge) -> World {
    let states = Thermal::ALL;
    let runs = |s: Thermal| matches!(s, Thermal::Idle | Thermal::Cruise | Thermal::Full);
    let change = states
        .iter()
        .map(|&a| {
            states.iter().map(|&b| price(knowledge, knowledge.changes.between(a, b))).collect()
        })
        .collect();
    // Only a running engine gets hotter.
    let by_running = states
        .iter()
        .map(|&a| states.iter().map(|&b| b > a && b >= Thermal::Cool).collect())
        .collect();
    World {
        change,
        access: knowledge.access.iter().map(|a| price(knowledge, a.cost)).collect(),
        blocking: bits(
            knowledge.access.iter().enumerate().filter(|a| a.1.blocks_running).map(|a| a.0),
        ),
        runs: states.iter().map(|&s| runs(s)).collect(),
        by_running,
        verifying: Thermal::Idle as usize,
        lasting: 0,
    }
}

fn bits(indices: impl Iterator<Item = usize>) -> u64 {
    indices.fold(0, |bits, index| bits | 1 << index)
}

/// States and accesses that a piece of work needs.
pub(super) fn needs(
    states: &[Thermal],
    access: &[usize],
    list: &[Access],
    two_cylinders: bool,
) -> Needs {
    let per_cylinder = access.iter().any(|&a| list[a].per_cylinder);
    Needs {
        states: states.iter().map(|s| *s as usize).collect(),
        access: bits(access.iter().copied()),
        openings: if two_cylinders && per_cylinder { 2.0 } else { 1.0 },
    }
}
