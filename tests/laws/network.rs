//! A network of one cause node and many tests as a decision problem of the planner; the bench
//! of its speed uses it too.

use std::collections::BTreeMap;

use judge::plan::problem::{Needs, Price, Probe, Problem, Repair, Situation, World};
use serde::Deserialize;

/// The network, as `tests/reference/network.py` writes it.
#[derive(Debug, Deserialize)]
pub(crate) struct Network {
    prior: Vec<f64>,
    /// By test: chance of each outcome under each cause, `[outcome][cause]`.
    tables: Vec<Vec<Vec<f64>>>,
    /// Price of the repair of each cause.
    repairs: Vec<f64>,
    /// Price of each test.
    tests: Vec<f64>,
    /// Outcomes of the tests already done.
    pub(crate) seen: BTreeMap<usize, usize>,
}

/// A network with its answers.
#[derive(Debug, Deserialize)]
pub(crate) struct Solved {
    pub(crate) network: Network,
    pub(crate) posterior: Vec<f64>,
    pub(crate) stop: f64,
    pub(crate) values: BTreeMap<usize, f64>,
}

impl Network {
    /// The belief after the tests already done.
    pub(crate) fn posterior(&self) -> Vec<f64> {
        let mut belief = self.prior.clone();
        for (&test, &outcome) in &self.seen {
            for (p, chance) in belief.iter_mut().zip(&self.tables[test][outcome]) {
                *p *= chance;
            }
        }
        let sum: f64 = belief.iter().sum();
        belief.into_iter().map(|p| p / sum).collect()
    }

    /// The decision problem: a repair for each cause, no set-ups, no search.
    pub(crate) fn problem(&self) -> Problem {
        let repair = |&price: &f64| Repair {
            price: Price::labour(price),
            own_hands_on: 0.0,
            in_vain: 0.0,
            needs: Needs::nothing(),
        };
        let probe = |(price, rows): (&f64, &Vec<Vec<f64>>)| Probe {
            price: Price::labour(*price),
            needs: Needs::nothing(),
            leaves: None,
            opens: 0,
            rows: rows.clone(),
            held_back: None,
        };
        Problem {
            belief: self.posterior(),
            cures: (0..self.prior.len()).map(|cause| vec![cause]).collect(),
            repairs: self.repairs.iter().map(repair).collect(),
            probes: self.tests.iter().zip(&self.tables).map(probe).collect(),
            world: World::flat(),
            now: Situation { state: 0, open: 0 },
            search: None,
            first_out: Vec::new(),
            first_out_share: 0.0,
        }
    }

    /// Tests not done yet.
    pub(crate) fn open(&self) -> Vec<usize> {
        (0..self.tests.len()).filter(|test| !self.seen.contains_key(test)).collect()
    }
}
