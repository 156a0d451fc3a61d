//! The best plan of all, where few enough ways are left to go through them.
//!
//! Dynamic programming over what was found and what was repaired, with ways left out that cannot
//! be better than one known already. It must not guess: it gives up when its allowance is spent.

use std::collections::BTreeMap;

use super::grow::Begin;
use super::planner::Planner;
use crate::plan::problem::{Price, Situation};

/// The best plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Best {
    /// What it begins with; a search where there is none.
    pub begin: Option<Begin>,
    /// What it is expected to cost.
    pub price: Price,
}

/// Outcome of each test that was done, repairs, situation.
type Known = (Vec<(usize, usize)>, Vec<usize>, usize, u64);

/// The best of all plans that mix tests, repairs and a search in any way, or nothing when that
/// takes more than `allowance` places to be looked at.
#[must_use]
pub fn exact(
    planner: &Planner<'_>,
    belief: &[f64],
    from: Situation,
    allowance: usize,
) -> Option<Best> {
    let problem = planner.problem();
    // Each repair at its least: nothing that comes after costs less.
    let least: Vec<f64> = problem
        .cures
        .iter()
        .map(|cures| cures.iter().map(|&r| problem.repairs[r].price.total).sum())
        .collect();
    let mut solver = Solver { planner, least, known: BTreeMap::new(), left: allowance };
    solver.best(belief, from, &[], &[])
}

struct Solver<'p, 'a> {
    planner: &'p Planner<'a>,
    /// Least price of ending each case.
    least: Vec<f64>,
    known: BTreeMap<Known, Best>,
    left: usize,
}

impl Solver<'_, '_> {
    /// `found` and `repaired` are ascending; the price is for the normalised belief.
    fn best(
        &mut self,
        belief: &[f64],
        at: Situation,
        found: &[(usize, usize)],
        repaired: &[usize],
    ) -> Option<Best> {
        let sum: f64 = belief.iter().sum();
        if sum <= 0.0 {
            return Some(Best { begin: None, price: Price::default() });
        }
        let key = (found.to_vec(), repaired.to_vec(), at.state, at.open);
        if let Some(&known) = self.known.get(&key) {
            return Some(known);
        }
        self.left = self.left.checked_sub(1)?;
        let problem = self.planner.problem();
        let informed = self.informed(belief, repaired) / sum;
        let mut best = self.search(belief, at, repaired, sum);
        for repair in self.repairs(belief, repaired) {
            let work = &problem.repairs[repair];
            let (ready, ready_at) = problem.world.ready(at, &work.needs);
            let mut price = ready + work.price;
            let mut done = repaired.to_vec();
            done.insert(done.partition_point(|r| *r < repair), repair);
            let mut left = belief.to_vec();
            let mut cured = 0.0;
            for (p, cures) in left.iter_mut().zip(&problem.cures) {
                if cures.iter().all(|cure| done.contains(cure)) {
                    cured += *p;
                    *p = 0.0;
                }
            }
            price.hands_on -= cured / sum * work.own_hands_on;
            price.total += problem.in_vain(belief, repair) / sum;
            let rest: f64 = left.iter().sum();
            if price.total + self.informed(&left, &done) / sum >= best.price.total {
                continue;
            }
            let then = problem.world.verified(ready_at);
            price += self.best(&left, then, found, &done)?.price.times(rest / sum);
            if price.total < best.price.total - 1e-12 {
                best = Best { begin: Some(Begin::Repair(repair)), price };
            }
        }
        let done: Vec<usize> = found.iter().map(|f| f.0).collect();
        for probe in self.planner.worth_a_look(belief, at, best.price.total - informed, &done) {
            let price = self.test(belief, at, probe, found, repaired, best.price)?;
            if price.total < best.price.total - 1e-12 {
                best = Best { begin: Some(Begin::Probe(probe)), price };
            }
        }
        self.known.insert(key, best);
        Some(best)
    }

    /// Price of a test with the best after each outcome, or `most` where it cannot be below.
    fn test(
        &mut self,
        belief: &[f64],
        at: Situation,
        probe: usize,
        found: &[(usize, usize)],
        repaired: &[usize],
        most: Price,
    ) -> Option<Price> {
        let (mut price, then) = self.planner.doing(probe, at);
        let sum: f64 = belief.iter().sum();
        let mut open = self.informed(belief, repaired) / sum;
        for outcome in 0..self.planner.problem().probes[probe].rows.len() {
            let row = &self.planner.problem().probes[probe].rows[outcome];
            let joint: Vec<f64> = belief.iter().zip(row).map(|(p, l)| p * l).collect();
            let share = joint.iter().sum::<f64>() / sum;
            if share <= 0.0 {
                continue;
            }
            if price.total + open >= most.total {
                return Some(most);
            }
            let mut now_found = found.to_vec();
            now_found.insert(now_found.partition_point(|f| f.0 < probe), (probe, outcome));
            price += self.best(&joint, then, &now_found, repaired)?.price.times(share);
            open -= self.informed(&joint, repaired) / sum;
        }
        Some(price)
    }

    /// A search, and then the right repairs.
    fn search(&self, belief: &[f64], at: Situation, repaired: &[usize], sum: f64) -> Best {
        let problem = self.planner.problem();
        let none = Price { total: f64::INFINITY, hands_on: f64::INFINITY };
        let price = problem.search.map_or(none, |search| {
            let mut price = search;
            for (p, cures) in belief.iter().zip(&problem.cures).filter(|(p, _)| **p > 0.0) {
                let still = cures.iter().filter(|cure| !repaired.contains(cure));
                let mut own = still.clone().fold(Price::default(), |sum, &r| {
                    sum + self.planner.prices().later_from(r, at)
                });
                if let Some(&last) = still.max() {
                    own.hands_on -= problem.repairs[last].own_hands_on;
                }
                price += own.times(p / sum);
            }
            price
        });
        Best { begin: None, price }
    }

    /// Repairs that some case still needs, the likeliest for its price first.
    fn repairs(&self, belief: &[f64], repaired: &[usize]) -> Vec<usize> {
        let problem = self.planner.problem();
        let mut mass = vec![0.0; problem.repairs.len()];
        for (p, cures) in belief.iter().zip(&problem.cures) {
            for &cure in cures {
                mass[cure] += p;
            }
        }
        let mut list: Vec<usize> =
            (0..mass.len()).filter(|r| mass[*r] > 0.0 && !repaired.contains(r)).collect();
        let rate = |r: usize| {
            let price = self.planner.prices().later(r).total + problem.repairs[r].in_vain;
            mass[r] / price.max(1e-9)
        };
        list.sort_by(|a, b| rate(*b).total_cmp(&rate(*a)).then(a.cmp(b)));
        list
    }

    /// What the right repairs alone would cost, belief not normalised.
    fn informed(&self, belief: &[f64], repaired: &[usize]) -> f64 {
        let problem = self.planner.problem();
        if repaired.is_empty() {
            return belief.iter().zip(&self.least).map(|(p, least)| p * least).sum();
        }
        let of = |(p, cures): (&f64, &Vec<usize>)| -> f64 {
            let still = cures.iter().filter(|cure| !repaired.contains(cure));
            p * still.map(|&r| problem.repairs[r].price.total).sum::<f64>()
        };
        belief.iter().zip(&problem.cures).filter(|(p, _)| **p > 0.0).map(of).sum()
    }
}
