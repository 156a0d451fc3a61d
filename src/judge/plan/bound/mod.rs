//! What no plan can beat.
//!
//! A price is put on a bit of knowledge about what must be repaired. Then every test, every failed
//! repair and a search are worth at most what they can tell at that price, less their cost, and no
//! plan of any kind costs less than what is left. It must not look ahead: that is for `value`.

mod ground;
mod rate;
#[cfg(test)]
mod tests;

use std::cell::RefCell;

use super::problem::{Problem, Situation};
use super::value::{Prices, after_outcome};
use ground::Ground;
use rate::Rate;

/// A lower bound on the expected price of every plan, minutes of labour, and the part of it that
/// perfect information would still cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// The bound.
    pub total: f64,
    /// Expected price of the right repair alone.
    pub informed: f64,
}

/// The bound for a belief, from the situation that the problem is in.
#[must_use]
pub fn lower(problem: &Problem, prices: &Prices, belief: &[f64]) -> Bound {
    Limits::new(problem, prices, belief).bound()
}

/// Bounds around one belief: at it, and for plans that begin in a given way.
///
/// For any price λ of a bit and any weights `q` of the outcomes of each test, no plan costs less
/// than
///
/// ```text
/// λ H(C) + Σ_r min_n [ m_r full_r + (n − m_r) fail_r − λ n h(m_r/n) ]
///        − Σ_h p_h Σ_set-ups max(0, Σ_t max(0, λ D(row_h ‖ q_t) − cost_t) − set-up)
/// ```
///
/// since what must be known in the end, the repair C, is told by tests and by repairs that fail or
/// succeed. `m_r ≤ n ≤ 1` is how often a repair is tried, h the entropy of a coin; D is the
/// divergence in bits, the most that a test can tell where it is done for some cases more than
/// for others, for tests are independent given the case. The λ and `q` that give most are looked
/// for; wherever the looking ends, it is a bound. With pairs of faults an oracle is taken to
/// tell them free of charge.
#[derive(Debug)]
pub struct Limits<'a> {
    problem: &'a Problem,
    prices: &'a Prices,
    belief: Vec<f64>,
    /// `Σ_o l log₂ l` by test and case.
    told: Vec<Vec<f64>>,
    grounds: RefCell<Vec<Ground>>,
    /// Bound and informed price at the belief, by situation.
    heres: RefCell<Vec<(Situation, f64, f64)>>,
    rate: Rate,
    total: f64,
}

impl<'a> Limits<'a> {
    /// Looks for a good price of a bit at a belief.
    #[must_use]
    pub fn new(problem: &'a Problem, prices: &'a Prices, belief: &[f64]) -> Self {
        let sum: f64 = belief.iter().sum();
        let belief: Vec<f64> = belief.iter().map(|p| p / sum.max(1e-300)).collect();
        let told: Vec<Vec<f64>> =
            problem.probes.iter().map(|probe| rate::told(&probe.rows)).collect();
        let ground = Ground::new(problem, prices, problem.now);
        let (rate, total) = Rate::best(problem, &ground, &told, &belief);
        let grounds = RefCell::new(vec![ground]);
        let heres = RefCell::default();
        let mut limits = Self { problem, prices, belief, told, grounds, heres, rate, total };
        limits.total = limits.total.max(limits.informed()).max(limits.one_deep());
        limits
    }

    /// The bound at the belief.
    #[must_use]
    pub fn bound(&self) -> Bound {
        Bound { total: self.total, informed: self.informed() }
    }

    fn informed(&self) -> f64 {
        let grounds = self.grounds.borrow();
        self.belief.iter().zip(&grounds[0].of_case).map(|(p, c)| p * c).sum()
    }

    /// The bound at another belief and in another situation, at the same price of a bit.
    #[must_use]
    pub fn at(&self, belief: &[f64], from: Situation) -> f64 {
        let sum: f64 = belief.iter().sum();
        if sum <= 0.0 {
            return 0.0;
        }
        let belief: Vec<f64> = belief.iter().map(|p| p / sum).collect();
        self.on(from, |ground| {
            let informed: f64 = belief.iter().zip(&ground.of_case).map(|(p, c)| p * c).sum();
            self.rate.value(self.problem, ground, &self.told, &belief).max(informed)
        })
    }

    /// No plan that begins with a test, of price `doing` and ending in `then`, costs less.
    ///
    /// Knowledge is worth the same before and after it; only what the test itself tells is gone.
    #[must_use]
    pub fn beginning_with(&self, probe: usize, doing: f64, then: Situation) -> f64 {
        let rows = &self.problem.probes[probe].rows;
        let told = self.rate.told_about_repairs(self.problem, rows, &self.belief);
        let (value, informed) = self.here(then);
        doing + (value - told).max(informed)
    }

    /// Bound and price of the right repair at the belief, in another situation.
    fn here(&self, from: Situation) -> (f64, f64) {
        if let Some(&(_, value, informed)) =
            self.heres.borrow().iter().find(|(known, ..)| *known == from)
        {
            return (value, informed);
        }
        let (value, informed) = self.on(from, |ground| {
            let informed: f64 = self.belief.iter().zip(&ground.of_case).map(|(p, c)| p * c).sum();
            (self.rate.value(self.problem, ground, &self.told, &self.belief), informed)
        });
        self.heres.borrow_mut().push((from, value, informed));
        (value, informed)
    }

    /// The same by the bound after each outcome, which is closer and takes longer.
    #[must_use]
    pub fn beginning_with_each(&self, probe: usize, doing: f64, then: Situation) -> f64 {
        let rows = &self.problem.probes[probe].rows;
        doing
            + rows
                .iter()
                .map(|row| {
                    let (joint, share) = after_outcome(&self.belief, row);
                    if share > 0.0 { share * self.at(&joint, then) } else { 0.0 }
                })
                .sum::<f64>()
    }

    /// Every way to begin, one step deep.
    fn one_deep(&self) -> f64 {
        let (problem, now) = (self.problem, self.problem.now);
        let mut least = f64::INFINITY;
        for index in 0..problem.probes.len() {
            let (doing, then) = problem.doing(index, now);
            least = least.min(self.beginning_with(index, doing.total, then));
            if least <= self.total {
                return least;
            }
        }
        if let Some(search) = problem.search {
            let alone = |cures: &Vec<usize>| -> f64 {
                cures.iter().map(|&r| self.prices.later_from(r, now).total).sum()
            };
            let rest: f64 = self.belief.iter().zip(&problem.cures).map(|(p, c)| p * alone(c)).sum();
            least = least.min(search.total + rest);
        }
        // A repair that is tried first tells at most a coin's bits and ends its own cases.
        let (ends, single) = rate::ends(problem, &self.belief);
        let pairs = 1.0 - single;
        for (index, repair) in problem.repairs.iter().enumerate() {
            let (ready, at) = problem.world.ready(now, &repair.needs);
            let (price, then) = ((ready + repair.price).total, problem.world.verified(at));
            let (value, informed) = self.here(then);
            let own = self.on(then, |ground| ground.full[index]);
            // Pairs with a part in it are counted as if it ended them.
            let ended = (ends[index] + pairs).min(1.0);
            let first = price + (1.0 - ended) * repair.in_vain;
            let told = self.rate.of_coin(ends[index], single) + ended * own;
            let after = if pairs > 0.0 { informed - ended * own } else { value - told };
            least = least.min(first + after.max(informed - ended * own));
            if least <= self.total {
                return least;
            }
        }
        least
    }

    fn on<T>(&self, from: Situation, what: impl FnOnce(&Ground) -> T) -> T {
        let known = self.grounds.borrow().iter().position(|ground| ground.from == from);
        let index = known.unwrap_or_else(|| {
            let ground = Ground::new(self.problem, self.prices, from);
            self.grounds.borrow_mut().push(ground);
            self.grounds.borrow().len() - 1
        });
        what(&self.grounds.borrow()[index])
    }
}
