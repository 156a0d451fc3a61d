//! Looking ahead: what tests bring before the repairs begin.
//!
//! One step, two steps and a roll-out. It must not order repairs itself: what stopping is worth
//! comes from `order`.

use std::cell::RefCell;

use super::after_outcome;
use super::order::{Prices, Room};
use crate::plan::problem::{Price, Problem, Situation};

/// Chance of an outcome below which nothing is looked for behind it.
const RARE: f64 = 1e-4;

/// What is decided at a belief.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Move {
    /// Begin the repairs.
    Repair,
    /// Do this test.
    Probe(usize),
}

/// A look-ahead over one problem.
#[derive(Debug)]
pub struct Planner<'a> {
    problem: &'a Problem,
    prices: Prices,
    /// Tests that no plan may count on.
    barred: Vec<bool>,
    room: RefCell<Room>,
}

impl<'a> Planner<'a> {
    /// For a problem.
    #[must_use]
    pub fn new(problem: &'a Problem) -> Self {
        let barred = vec![false; problem.probes.len()];
        Self { problem, prices: Prices::new(problem), barred, room: RefCell::default() }
    }

    /// The same without tests that may not be counted on.
    #[must_use]
    pub fn barring(mut self, barred: Vec<bool>) -> Self {
        self.barred = barred;
        self
    }

    /// Whether a plan may count on a test at some belief.
    #[must_use]
    pub fn may_come(&self, probe: usize) -> bool {
        !self.barred[probe]
    }

    /// Whether a test may be done at a belief.
    fn permits(&self, probe: usize, cleared: bool) -> bool {
        !self.barred[probe] && (cleared || !self.problem.probes[probe].held_back)
    }

    /// The problem.
    #[must_use]
    pub fn problem(&self) -> &Problem {
        self.problem
    }

    /// Repair prices.
    #[must_use]
    pub fn prices(&self) -> &Prices {
        &self.prices
    }

    /// Expected price of repairing from here without tests.
    #[must_use]
    pub fn stop(&self, belief: &[f64], from: Situation) -> Price {
        self.room.borrow_mut().reckon(self.problem, &self.prices, belief, from).0
    }

    /// Price of doing a test from here, and the situation after it.
    #[must_use]
    pub fn doing(&self, probe: usize, from: Situation) -> (Price, Situation) {
        let probe = &self.problem.probes[probe];
        let (ready, at) = self.problem.world.ready(from, &probe.needs);
        (ready + probe.price, self.problem.world.after(at, probe.leaves))
    }

    /// Expected price of a test followed by repairs.
    #[must_use]
    pub fn one_step(&self, belief: &[f64], from: Situation, probe: usize) -> Price {
        let (mut price, at) = self.doing(probe, from);
        let sum: f64 = belief.iter().sum();
        let mut room = self.room.borrow_mut();
        let mut joint = std::mem::take(&mut room.joint);
        for row in &self.problem.probes[probe].rows {
            joint.clear();
            joint.extend(belief.iter().zip(row).map(|(p, l)| p * l));
            let share = joint.iter().sum::<f64>() / sum;
            if share > 0.0 {
                price += room.reckon(self.problem, &self.prices, &joint, at).0.times(share);
            }
        }
        room.joint = joint;
        price
    }

    /// Expected price of a test followed by whatever `then` says is best after each outcome.
    pub fn test_then(
        &self,
        belief: &[f64],
        from: Situation,
        probe: usize,
        then: &mut dyn FnMut(&[f64], Situation) -> Price,
    ) -> Price {
        let (mut price, at) = self.doing(probe, from);
        let sum: f64 = belief.iter().sum();
        for row in &self.problem.probes[probe].rows {
            let (joint, weight) = after_outcome(belief, row);
            let share = weight / sum;
            if share <= 0.0 {
                continue;
            }
            let rest = if share < RARE { self.stop(&joint, at) } else { then(&joint, at) };
            price += rest.times(share);
        }
        price
    }

    /// The better of repairing and of the best single test followed by repairs.
    #[must_use]
    pub fn best_one_step(&self, belief: &[f64], from: Situation, among: &[usize]) -> (Move, Price) {
        let mut best = (Move::Repair, self.stop(belief, from));
        let cleared = self.problem.cleared(belief);
        for &probe in among {
            if !self.permits(probe, cleared) {
                continue;
            }
            // A test that costs as much as everything it could save is not worth trying out.
            if self.doing(probe, from).0.total >= best.1.total {
                continue;
            }
            let price = self.one_step(belief, from, probe);
            if price.total < best.1.total - 1e-9 {
                best = (Move::Probe(probe), price);
            }
        }
        best
    }

    /// Expected price of a test when the best one-step decision is taken after each outcome.
    #[must_use]
    pub fn two_step(
        &self,
        belief: &[f64],
        from: Situation,
        probe: usize,
        among: &[usize],
    ) -> Price {
        let rest: Vec<usize> = among.iter().copied().filter(|p| *p != probe).collect();
        self.test_then(belief, from, probe, &mut |b, s| self.best_one_step(b, s, &rest).1)
    }

    /// The `count` tests that look best from here by one step of look-ahead.
    #[must_use]
    pub fn promising(&self, belief: &[f64], from: Situation, count: usize) -> Vec<usize> {
        let cleared = self.problem.cleared(belief);
        let stop = self.stop(belief, from).total;
        let mut list: Vec<(f64, usize)> = (0..self.problem.probes.len())
            .filter(|&p| self.permits(p, cleared))
            .filter(|&p| self.doing(p, from).0.total < stop)
            .map(|p| (self.one_step(belief, from, p).total, p))
            .collect();
        list.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        list.into_iter().take(count).map(|(_, p)| p).collect()
    }

    /// Expected price of a policy: after each outcome, what one step of look-ahead says, again
    /// and again to a depth. An exact price of a plan that can be carried out, so an upper bound
    /// on the best one.
    ///
    /// Which tests are looked at is chosen anew after the outcomes of the first test, since what
    /// was not worth a thought before it may be the thing to do after it.
    #[must_use]
    pub fn roll_out(
        &self,
        belief: &[f64],
        from: Situation,
        probe: usize,
        among: &[usize],
        depth: usize,
    ) -> Price {
        self.test_then(belief, from, probe, &mut |b, s| {
            let mut fresh = self.promising(b, s, among.len());
            for &p in among {
                if !fresh.contains(&p) {
                    fresh.push(p);
                }
            }
            fresh.retain(|p| *p != probe);
            self.follow(b, s, &fresh, depth)
        })
    }

    /// Expected price of following one step of look-ahead to a depth.
    fn follow(&self, belief: &[f64], from: Situation, among: &[usize], depth: usize) -> Price {
        let (best, price) = self.best_one_step(belief, from, among);
        match best {
            Move::Probe(next) if depth > 1 => {
                let rest: Vec<usize> = among.iter().copied().filter(|p| *p != next).collect();
                let deeper = self
                    .test_then(belief, from, next, &mut |b, s| self.follow(b, s, &rest, depth - 1));
                if deeper.total < price.total { deeper } else { price }
            }
            _ => price,
        }
    }
}
