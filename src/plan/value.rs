//! What a belief is worth: expected price to the cured fault.
//!
//! Repairs in order of probability per price are the value of stopping to test; one step and
//! two steps of look-ahead and a roll-out bring tests in. Pure arithmetic on [`super::problem`].

use std::cell::RefCell;

use super::problem::{Price, Problem, Situation};

/// Chance of an outcome below which nothing is looked for behind it.
const RARE: f64 = 1e-4;

/// Repairs in the order in which they would be tried, with the expected price.
#[derive(Debug, Clone, PartialEq)]
pub struct RepairPlan {
    /// Repairs in order.
    pub order: Vec<usize>,
    /// Expected price.
    pub price: Price,
}

/// Prices of all repairs from the situation after a failed one: they do not depend on what was
/// done before, because every repair ends with the engine run to verify it.
#[derive(Debug, Clone)]
pub struct Prices {
    later: Vec<Price>,
}

impl Prices {
    /// Works them out once for a problem.
    #[must_use]
    pub fn new(problem: &Problem) -> Self {
        let verified = Situation { state: problem.world.verifying, open: 0 };
        let later = problem
            .repairs
            .iter()
            .map(|repair| problem.world.ready(verified, &repair.needs).0 + repair.price)
            .collect();
        Self { later }
    }

    /// Price of a repair that is not the first.
    #[must_use]
    pub fn later(&self, repair: usize) -> Price {
        self.later[repair]
    }
}

/// Expected price of repairing in order of probability per price, without further tests, and
/// searching for the cause at the best moment to give up.
///
/// For one fault, prices fixed, this order is optimal (adjacent exchange; Kadane & Simon 1977,
/// from memory), and so is its best cut where a search of fixed price ends every case (Lín
/// 2015). A hypothesis of two faults ends with the later of its repairs; the order is then
/// a good guess, and its price is still exact. The first repair is priced from `from`.
///
/// `belief` need not be normalised; the result is for the normalised one.
#[must_use]
pub fn repair(problem: &Problem, prices: &Prices, belief: &[f64], from: Situation) -> RepairPlan {
    let mut room = Room::default();
    let (price, cut) = room.reckon(problem, prices, belief, from);
    RepairPlan { order: room.keyed[..cut].iter().copied().map(repair_of).collect(), price }
}

/// What a hypothesis costs that ends with the repair at some place of the order.
#[derive(Debug, Clone, Copy, Default)]
struct Ending {
    mass: f64,
    /// Expected price when the repairs before it were tried.
    in_turn: Price,
    /// Expected price when it was found by a search.
    alone: Price,
}

/// Working space for the order of repairs, kept because it is reckoned very often.
#[derive(Debug, Default)]
struct Room {
    mass: Vec<f64>,
    /// Repairs in order of probability per price: the bits of its complement, then the repair. The
    /// bits of positive numbers are in the order of the numbers, and whole numbers sort quickest.
    keyed: Vec<u128>,
    position: Vec<usize>,
    /// Price up to and without each place.
    spent: Vec<Price>,
    ending: Vec<Ending>,
    joint: Vec<f64>,
    /// All repairs in the order they had last.
    last: Vec<usize>,
    /// Keys that are out of order.
    aside: Vec<u128>,
}

/// The repair of a key of [`Room::keyed`].
fn repair_of(key: u128) -> usize {
    usize::try_from(key & u128::from(u64::MAX)).unwrap_or(usize::MAX)
}

impl Room {
    /// Orders the repairs that have some mass.
    ///
    /// An outcome leaves most repairs in the order they had before it; only those that moved are
    /// sorted, then merged with the others.
    fn put_in_order(&mut self, prices: &Prices) {
        if self.last.len() != self.mass.len() {
            self.last = (0..self.mass.len()).collect();
        }
        self.keyed.clear();
        self.aside.clear();
        for &repair in &self.last {
            let mass = self.mass[repair];
            if mass <= 0.0 {
                continue;
            }
            let rate = mass / prices.later[repair].total.max(1e-9);
            let key = (u128::from(!rate.to_bits()) << 64) | repair as u128;
            match *self.keyed.as_slice() {
                [.., before, last] if key < last && key >= before => {
                    // The one before it has moved back.
                    self.aside.push(last);
                    let end = self.keyed.len() - 1;
                    self.keyed[end] = key;
                }
                [.., last] if key < last => self.aside.push(key),
                _ => self.keyed.push(key),
            }
        }
        self.aside.sort_unstable();
        // Merged from the end, where there is room.
        let mut from = self.keyed.len();
        self.keyed.resize(from + self.aside.len(), 0);
        let mut to = self.keyed.len();
        for &key in self.aside.iter().rev() {
            while from > 0 && self.keyed[from - 1] > key {
                from -= 1;
                to -= 1;
                self.keyed[to] = self.keyed[from];
            }
            to -= 1;
            self.keyed[to] = key;
        }
        if self.keyed.len() == self.last.len() {
            for (last, &key) in self.last.iter_mut().zip(&self.keyed) {
                *last = repair_of(key);
            }
        }
    }

    /// Expected price, and how many repairs are tried before a search.
    fn reckon(
        &mut self,
        problem: &Problem,
        prices: &Prices,
        belief: &[f64],
        from: Situation,
    ) -> (Price, usize) {
        let repairs = problem.repairs.len();
        self.mass.clear();
        self.mass.resize(repairs, 0.0);
        let mut sum = 0.0;
        for (p, cures) in belief.iter().zip(&problem.cures) {
            sum += p;
            for &cure in cures {
                self.mass[cure] += p;
            }
        }
        if sum <= 0.0 {
            return (Price::default(), 0);
        }
        self.put_in_order(prices);
        self.position.resize(repairs, 0);
        self.spent.clear();
        let mut so_far = Price::default();
        for (place, &key) in self.keyed.iter().enumerate() {
            let repair = repair_of(key);
            self.position[repair] = place;
            self.spent.push(so_far);
            so_far += if place == 0 {
                let (ready, _) = problem.world.ready(from, &problem.repairs[repair].needs);
                ready + problem.repairs[repair].price
            } else {
                prices.later[repair]
            };
        }
        self.spent.push(so_far);
        let ends = |room: &Self, cures: &[usize]| -> Option<(usize, Price)> {
            let last = cures.iter().map(|&c| room.position[c]).max()?;
            let own = problem.repairs[repair_of(room.keyed[last])].own_hands_on;
            Some((last, Price { total: 0.0, hands_on: -own }))
        };
        let hypotheses = || belief.iter().zip(&problem.cures).filter(|(p, _)| **p > 0.0);
        let mut expected = Price::default();
        let mut cut = self.keyed.len();
        let Some(search) = problem.search else {
            for (p, cures) in hypotheses() {
                if let Some((last, own)) = ends(self, cures) {
                    expected += (self.spent[last + 1] + own).times(*p);
                }
            }
            return (expected.times(1.0 / sum), cut);
        };
        self.ending.clear();
        self.ending.resize(self.keyed.len(), Ending::default());
        for (p, cures) in hypotheses() {
            let Some((last, own)) = ends(self, cures) else { continue };
            let alone = cures.iter().map(|&c| prices.later[c]).fold(own, |sum, c| sum + c);
            let end = &mut self.ending[last];
            end.mass += p;
            end.in_turn += (self.spent[last + 1] + own).times(*p);
            end.alone += alone.times(*p);
        }
        for end in &self.ending {
            expected += end.in_turn;
        }
        let (mut left, mut tail, mut done) = (0.0, Price::default(), expected);
        for place in (0..self.keyed.len()).rev() {
            let end = &self.ending[place];
            left += end.mass;
            tail += end.alone;
            done += end.in_turn.times(-1.0);
            let giving_up = done + (self.spent[place] + search).times(left) + tail;
            if giving_up.total < expected.total {
                expected = giving_up;
                cut = place;
            }
        }
        (expected.times(1.0 / sum), cut)
    }
}

/// Expected price of repairs tried in a given order when each mends a hypothesis only with some
/// chance: `works[repair][hypothesis]`. What is left after the last costs nothing more.
#[must_use]
pub fn sequence(belief: &[f64], prices: &[f64], works: &[Vec<f64>], order: &[usize]) -> f64 {
    let mut left = belief.to_vec();
    let mut expected = 0.0;
    for &repair in order {
        expected += prices[repair] * left.iter().sum::<f64>();
        for (l, w) in left.iter_mut().zip(&works[repair]) {
            *l *= 1.0 - w;
        }
    }
    expected
}

/// Belief after an outcome, not normalised, and its probability.
pub(crate) fn after_outcome(belief: &[f64], row: &[f64]) -> (Vec<f64>, f64) {
    let joint: Vec<f64> = belief.iter().zip(row).map(|(p, l)| p * l).collect();
    let sum = joint.iter().sum();
    (joint, sum)
}

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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::plan::problem::{Needs, Probe, Repair, World};

    fn repairs(prices: &[f64]) -> Vec<Repair> {
        prices
            .iter()
            .map(|&c| Repair {
                price: Price::labour(c),
                own_hands_on: 0.0,
                needs: Needs::nothing(),
            })
            .collect()
    }

    fn probe(cost: f64, rows: Vec<Vec<f64>>) -> Probe {
        Probe {
            price: Price::labour(cost),
            needs: Needs::nothing(),
            leaves: None,
            rows,
            held_back: false,
        }
    }

    fn problem(belief: &[f64], prices: &[f64], probes: Vec<Probe>) -> Problem {
        Problem {
            belief: belief.to_vec(),
            cures: (0..belief.len()).map(|h| vec![h]).collect(),
            repairs: repairs(prices),
            probes,
            world: World::flat(),
            now: Situation { state: 0, open: 0 },
            search: None,
            first_out: Vec::new(),
            first_out_share: 0.0,
        }
    }

    #[test]
    fn f1_probability_per_price() {
        // Constructed fixture: order 3,2,1,4, expected 10.2, the least of 24 orders; the likeliest
        // first costs 12.5, the cheapest first 11.3. `tests/reference/fixtures.py`, e1.
        let (p, c) = ([0.4, 0.3, 0.2, 0.1], [9.0, 4.0, 2.0, 5.0]);
        let problem = problem(&p, &c, Vec::new());
        let plan = repair(&problem, &Prices::new(&problem), &p, problem.now);
        assert_eq!(plan.order, [2, 1, 0, 3]);
        assert!((plan.price.total - 10.2).abs() < 1e-12);
        let works: Vec<Vec<f64>> =
            (0..4).map(|r| (0..4).map(|h| f64::from(u8::from(r == h))).collect()).collect();
        assert!((sequence(&p, &c, &works, &[0, 1, 2, 3]) - 12.5).abs() < 1e-12);
        assert!((sequence(&p, &c, &works, &[2, 1, 3, 0]) - 11.3).abs() < 1e-12);
    }

    #[test]
    fn f12_two_tests_worth_nothing_alone() {
        // Constructed: u and v are fair coins alone, u xor v is the cause. Hypotheses are cause
        // and coins together: (cause, u), v following.
        let p = [0.25; 4];
        let mut problem = problem(&p, &[10.0, 10.0], Vec::new());
        problem.cures = vec![vec![0], vec![0], vec![1], vec![1]];
        let u = vec![vec![1.0, 0.0, 1.0, 0.0], vec![0.0, 1.0, 0.0, 1.0]];
        let v = vec![vec![1.0, 0.0, 0.0, 1.0], vec![0.0, 1.0, 1.0, 0.0]];
        problem.probes = vec![probe(1.0, u), probe(1.0, v)];
        let planner = Planner::new(&problem);
        let now = problem.now;
        assert!((planner.stop(&p, now).total - 15.0).abs() < 1e-12);
        assert!((planner.one_step(&p, now, 0).total - 16.0).abs() < 1e-12);
        assert!((planner.two_step(&p, now, 0, &[0, 1]).total - 12.0).abs() < 1e-12);
    }

    #[test]
    fn f13_imperfect_repairs() {
        // A1 mends with .9, A2 with .8, unit prices: 1 + .1·1.
        let expected = sequence(&[1.0], &[1.0, 1.0], &[vec![0.9], vec![0.8]], &[0, 1]);
        assert!((expected - 1.1).abs() < 1e-12);
    }

    /// Slow and obvious: every order of repairs.
    fn best_order(belief: &[f64], prices: &[f64]) -> f64 {
        fn go(left: &[usize], p: &[f64], c: &[f64], mass: f64) -> f64 {
            left.iter()
                .map(|&r| {
                    let rest: Vec<usize> = left.iter().copied().filter(|x| *x != r).collect();
                    c[r] * mass + go(&rest, p, c, mass - p[r])
                })
                .fold(f64::INFINITY, f64::min)
                .min(if left.is_empty() { 0.0 } else { f64::INFINITY })
        }
        let all: Vec<usize> = (0..belief.len()).collect();
        go(&all, belief, prices, belief.iter().sum())
    }

    /// Slow and obvious: every policy of tests and then repairs.
    fn exact(planner: &Planner<'_>, belief: &[f64], done: &[usize]) -> f64 {
        let now = planner.problem().now;
        let mut best = planner.stop(belief, now).total;
        for t in (0..planner.problem().probes.len()).filter(|t| !done.contains(t)) {
            let mut then = done.to_vec();
            then.push(t);
            let value = planner
                .test_then(belief, now, t, &mut |b, _| Price::labour(exact(planner, b, &then)))
                .total;
            best = best.min(value);
        }
        best
    }

    fn instance() -> impl Strategy<Value = Problem> {
        (2_usize..6, 1_usize..4).prop_flat_map(|(h, t)| {
            (
                proptest::collection::vec(0.05_f64..1.0, h),
                proptest::collection::vec(1.0_f64..30.0, h),
                proptest::collection::vec(
                    (0.1_f64..5.0, proptest::collection::vec(0.02_f64..0.98, h)),
                    t,
                ),
            )
                .prop_map(|(mut belief, prices, tests)| {
                    let sum: f64 = belief.iter().sum();
                    for p in &mut belief {
                        *p /= sum;
                    }
                    let probes = tests
                        .into_iter()
                        .map(|(cost, yes)| {
                            let no = yes.iter().map(|p| 1.0 - p).collect();
                            probe(cost, vec![yes, no])
                        })
                        .collect();
                    problem(&belief, &prices, probes)
                })
        })
    }

    proptest! {
        #[test]
        fn the_order_is_the_best_order(problem in instance()) {
            let prices: Vec<f64> = problem.repairs.iter().map(|r| r.price.total).collect();
            let got = Planner::new(&problem).stop(&problem.belief, problem.now).total;
            prop_assert!((got - best_order(&problem.belief, &prices)).abs() < 1e-9);
        }

        #[test]
        fn looking_ahead_never_costs_more_and_never_less_than_the_best(problem in instance()) {
            let planner = Planner::new(&problem);
            let all: Vec<usize> = (0..problem.probes.len()).collect();
            let best = exact(&planner, &problem.belief, &[]);
            for &t in &all {
                let one = planner.one_step(&problem.belief, problem.now, t).total;
                let two = planner.two_step(&problem.belief, problem.now, t, &all).total;
                let roll = planner.roll_out(&problem.belief, problem.now, t, &all, 3).total;
                prop_assert!(two <= one + 1e-9);
                prop_assert!(roll <= two + 1e-9);
                prop_assert!(roll >= best - 1e-9);
            }
        }

        #[test]
        fn a_free_test_never_raises_the_price(problem in instance()) {
            let mut free = problem.clone();
            free.probes[0].price = Price::default();
            let planner = Planner::new(&free);
            let stop = planner.stop(&free.belief, free.now).total;
            prop_assert!(planner.one_step(&free.belief, free.now, 0).total <= stop + 1e-9);
        }
    }
}
