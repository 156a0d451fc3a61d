//! Looking ahead: what tests bring before the repairs begin.
//!
//! One step, two steps and a roll-out. It must not order repairs itself: what stopping is worth
//! comes from `order`.

use std::cell::{Cell, RefCell};

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
    /// Prices reckoned so far, each counted by the cases and repairs it goes through.
    work: Cell<u64>,
}

impl<'a> Planner<'a> {
    /// For a problem.
    #[must_use]
    pub fn new(problem: &'a Problem) -> Self {
        let barred = vec![false; problem.probes.len()];
        let prices = Prices::new(problem);
        Self { problem, prices, barred, room: RefCell::default(), work: Cell::new(0) }
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
    pub(super) fn permits(&self, probe: usize, belief: &[f64]) -> bool {
        let cleared = |place: usize| self.problem.cleared(belief, place);
        !self.barred[probe] && self.problem.probes[probe].held_back.is_none_or(cleared)
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

    /// Work done so far: cases and repairs gone through.
    #[must_use]
    pub fn work(&self) -> u64 {
        self.work.get()
    }

    /// Counts work done for this planner by another.
    pub(super) fn add_work(&self, work: u64) {
        self.work.set(self.work.get() + work);
    }

    fn worked(&self, times: usize) {
        let size = self.problem.belief.len() + self.problem.repairs.len();
        self.work.set(self.work.get() + (times * size) as u64);
    }

    /// Tests that may be done at a belief, were not done yet, and cost less than stopping does.
    #[must_use]
    pub fn worth_a_look(
        &self,
        belief: &[f64],
        from: Situation,
        stop: f64,
        done: &[usize],
    ) -> Vec<usize> {
        (0..self.problem.probes.len())
            .filter(|probe| !done.contains(probe) && self.permits(*probe, belief))
            .filter(|&probe| self.doing(probe, from).0.total < stop)
            .collect()
    }

    /// Expected price of repairing from here without tests.
    #[must_use]
    pub fn stop(&self, belief: &[f64], from: Situation) -> Price {
        self.stop_after(belief, from, &[])
    }

    /// The same where some repairs were done already.
    pub(super) fn stop_after(&self, belief: &[f64], from: Situation, done: &[usize]) -> Price {
        self.worked(1);
        self.room.borrow_mut().reckon(self.problem, &self.prices, belief, from, done).0
    }

    /// Repairs with the most probability for their price from here, best first.
    #[must_use]
    pub fn likely_repairs(&self, belief: &[f64], from: Situation, count: usize) -> Vec<usize> {
        let problem = self.problem;
        let mut mass = vec![0.0; problem.repairs.len()];
        for (p, cures) in belief.iter().zip(&problem.cures) {
            for &cure in cures {
                mass[cure] += p;
            }
        }
        self.worked(1);
        let mut list: Vec<(f64, usize)> = (0..mass.len())
            .filter(|repair| mass[*repair] > 0.0)
            .map(|repair| {
                let work = &problem.repairs[repair];
                let price = problem.world.ready(from, &work.needs).0 + work.price;
                (mass[repair] / (price.total + work.in_vain).max(1e-9), repair)
            })
            .collect();
        list.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        list.into_iter().take(count).map(|(_, repair)| repair).collect()
    }

    /// Price of doing a test from here, and the situation after it.
    #[must_use]
    pub fn doing(&self, probe: usize, from: Situation) -> (Price, Situation) {
        self.problem.doing(probe, from)
    }

    /// Expected price of a test followed by repairs.
    #[must_use]
    pub fn one_step(&self, belief: &[f64], from: Situation, probe: usize) -> Price {
        self.one_step_after(belief, from, probe, &[])
    }

    /// The same where some repairs were done already.
    pub(super) fn one_step_after(
        &self,
        belief: &[f64],
        from: Situation,
        probe: usize,
        done: &[usize],
    ) -> Price {
        let (mut price, at) = self.doing(probe, from);
        self.worked(self.problem.probes[probe].rows.len());
        let sum: f64 = belief.iter().sum();
        let mut room = self.room.borrow_mut();
        for row in &self.problem.probes[probe].rows {
            let after = (belief, row.as_slice());
            let (rest, chance) = room.reckon_after(self.problem, &self.prices, after, at, done);
            price += rest.times(chance / sum);
        }
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
        for &probe in among {
            if !self.permits(probe, belief) {
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
}
