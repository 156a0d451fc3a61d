//! Repairs in order of probability per price, and what trying them in that order costs.
//!
//! The value of stopping to test. It must not know tests.

use crate::plan::problem::{Price, Problem, Situation};

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
    /// What each costs on top in vain.
    in_vain: Vec<f64>,
    /// What lasting things each needs, and their price.
    lasting: Vec<(u64, Price)>,
    /// Hands-on minutes of each that are the cure's own.
    own: Vec<f64>,
    /// The repair that alone ends a case, by case; one more than there are where it takes several or
    /// none.
    only: Vec<usize>,
    /// The cases of several repairs.
    several: Vec<usize>,
}

impl Prices {
    /// Works them out once for a problem.
    #[must_use]
    pub fn new(problem: &Problem) -> Self {
        let world = &problem.world;
        let verified = Situation { state: world.verifying, open: 0 };
        let later = problem
            .repairs
            .iter()
            .map(|repair| world.ready(verified, &repair.needs).0 + repair.price)
            .collect();
        let lasting = problem
            .repairs
            .iter()
            .map(|repair| {
                let bits = repair.needs.access & world.lasting;
                let things = (0..world.access.len()).filter(|thing| bits >> thing & 1 == 1);
                let price = things.fold(Price::default(), |sum, thing| sum + world.access[thing]);
                (bits, price)
            })
            .collect();
        let in_vain = problem.repairs.iter().map(|repair| repair.in_vain).collect();
        let own = problem.repairs.iter().map(|repair| repair.own_hands_on).collect();
        let only = problem.cures.iter().map(|cures| match cures.as_slice() {
            &[only] => only,
            _ => problem.repairs.len(),
        });
        let several = problem.cures.iter().enumerate().filter(|(_, cures)| cures.len() > 1);
        Self {
            later,
            in_vain,
            lasting,
            own,
            only: only.collect(),
            several: several.map(|(case, _)| case).collect(),
        }
    }

    /// Price of a repair that is not the first, where nothing lasting was opened yet.
    #[must_use]
    pub fn later(&self, repair: usize) -> Price {
        self.later[repair]
    }

    /// Price of a repair that is not the first, after work that began in `from`.
    #[must_use]
    pub fn later_from(&self, repair: usize, from: Situation) -> Price {
        let (bits, price) = self.lasting[repair];
        if bits != 0 && from.open & bits == bits {
            self.later[repair] + price.times(-1.0)
        } else {
            self.later[repair]
        }
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
    let (price, cut) = room.reckon(problem, prices, belief, from, &[]);
    RepairPlan { order: room.keyed[..cut].iter().map(|key| key.1).collect(), price }
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

impl std::ops::Add for Ending {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            mass: self.mass + other.mass,
            in_turn: self.in_turn + other.in_turn,
            alone: self.alone + other.alone,
        }
    }
}

/// What a repair costs after work that began in some situation.
#[derive(Debug, Clone, Copy)]
struct Costs {
    /// In turn, with its price in vain.
    later: Price,
    /// By itself, where it ends the case.
    alone: Price,
    /// What comes back where it ends the case.
    back: Price,
}

/// Working space for the order of repairs, kept because it is reckoned very often.
#[derive(Debug, Default)]
pub(super) struct Room {
    /// Chance of the cases that each repair alone ends, by repair, then of all others.
    single: Vec<f64>,
    /// Chance of the cases that each repair has a part in.
    mass: Vec<f64>,
    /// Repairs in order of probability per price: the bits of its complement, then the repair. The
    /// bits of positive numbers are in the order of the numbers.
    keyed: Vec<(u64, usize)>,
    position: Vec<usize>,
    /// Price up to and without each place.
    spent: Vec<Price>,
    /// What cases of several repairs add at each place; empty where there are none.
    ending: Vec<Ending>,
    costs: Vec<Costs>,
    /// Of which situation the costs are.
    from: Option<Situation>,
    /// All repairs in the order they had last.
    last: Vec<usize>,
    /// Keys that are out of order.
    aside: Vec<(u64, usize)>,
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
            // With the price of trying it in vain, which whoever needs it gets back.
            let price = prices.later[repair].total + prices.in_vain[repair];
            let rate = mass / price.max(1e-9);
            let key = (!rate.to_bits(), repair);
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
        self.keyed.resize(from + self.aside.len(), (0, 0));
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
            for (last, key) in self.last.iter_mut().zip(&self.keyed) {
                *last = key.1;
            }
        }
    }

    /// Expected price, and how many repairs are tried before a search.
    pub(super) fn reckon(
        &mut self,
        problem: &Problem,
        prices: &Prices,
        belief: &[f64],
        from: Situation,
        done: &[usize],
    ) -> (Price, usize) {
        self.begin(problem);
        let mut sum = 0.0;
        for (p, &only) in belief.iter().zip(&prices.only) {
            sum += p;
            self.single[only] += p;
        }
        self.price(problem, prices, |case| belief[case], sum, from, done)
    }

    /// The same for the belief after an outcome, whose chance by case is `row`; with that chance.
    pub(super) fn reckon_after(
        &mut self,
        problem: &Problem,
        prices: &Prices,
        (belief, row): (&[f64], &[f64]),
        from: Situation,
        done: &[usize],
    ) -> (Price, f64) {
        self.begin(problem);
        let mut sum = 0.0;
        for ((p, l), &only) in belief.iter().zip(row).zip(&prices.only) {
            let joint = p * l;
            sum += joint;
            self.single[only] += joint;
        }
        let joint = |case: usize| belief[case] * row[case];
        (self.price(problem, prices, joint, sum, from, done).0, sum)
    }

    fn begin(&mut self, problem: &Problem) {
        self.single.clear();
        self.single.resize(problem.repairs.len() + 1, 0.0);
    }

    /// From the chances of single cases in `single`; `joint` gives those of the others.
    fn price(
        &mut self,
        problem: &Problem,
        prices: &Prices,
        joint: impl Fn(usize) -> f64,
        sum: f64,
        from: Situation,
        done: &[usize],
    ) -> (Price, usize) {
        let repairs = problem.repairs.len();
        if sum <= 0.0 {
            return (Price::default(), 0);
        }
        for &repair in done {
            self.single[repair] = 0.0;
        }
        self.mass.clear();
        self.mass.extend_from_slice(&self.single[..repairs]);
        for &case in &prices.several {
            let p = joint(case);
            for &cure in problem.cures[case].iter().filter(|cure| !done.contains(cure)) {
                self.mass[cure] += p;
            }
        }
        self.put_in_order(prices);
        self.costs_from(prices, from);
        self.spent.clear();
        let mut so_far = Price::default();
        for (place, &(_, repair)) in self.keyed.iter().enumerate() {
            self.spent.push(so_far);
            so_far += if place == 0 {
                let (ready, _) = problem.world.ready(from, &problem.repairs[repair].needs);
                let first = ready + problem.repairs[repair].price;
                first + Price { total: prices.in_vain[repair], hands_on: 0.0 }
            } else {
                self.costs[repair].later
            };
        }
        self.spent.push(so_far);
        self.add_several(problem, prices, joint, done);
        // A case ends with the last of its repairs; what that would have cost in vain comes back.
        let several = !self.ending.is_empty();
        let ending = |room: &Self, place: usize| -> Ending {
            let (_, repair) = room.keyed[place];
            let (mass, costs) = (room.single[repair], &room.costs[repair]);
            let single = Ending {
                mass,
                in_turn: (room.spent[place + 1] + costs.back).times(mass),
                alone: costs.alone.times(mass),
            };
            if several { single + room.ending[place] } else { single }
        };
        let mut expected = Price::default();
        for place in 0..self.keyed.len() {
            expected += ending(self, place).in_turn;
        }
        let mut cut = self.keyed.len();
        let Some(search) = problem.search else {
            return (expected.times(1.0 / sum), cut);
        };
        let (mut left, mut tail, mut done) = (0.0, Price::default(), expected);
        for place in (0..self.keyed.len()).rev() {
            let end = ending(self, place);
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

    /// Prices of all repairs after work that began in a situation, kept until it is another.
    fn costs_from(&mut self, prices: &Prices, from: Situation) {
        if self.from == Some(from) && self.costs.len() == prices.later.len() {
            return;
        }
        self.from = Some(from);
        self.costs.clear();
        self.costs.extend((0..prices.later.len()).map(|repair| {
            let (in_vain, own) = (prices.in_vain[repair], prices.own[repair]);
            let later = prices.later_from(repair, from);
            Costs {
                later: later + Price { total: in_vain, hands_on: 0.0 },
                alone: later + Price { total: 0.0, hands_on: -own },
                back: Price { total: -in_vain, hands_on: -own },
            }
        }));
    }

    /// What the cases of several repairs add to each place, where there are any.
    fn add_several(
        &mut self,
        problem: &Problem,
        prices: &Prices,
        joint: impl Fn(usize) -> f64,
        done: &[usize],
    ) {
        self.ending.clear();
        if prices.several.is_empty() {
            return;
        }
        self.position.resize(problem.repairs.len(), 0);
        for (place, &(_, repair)) in self.keyed.iter().enumerate() {
            self.position[repair] = place;
        }
        self.ending.resize(self.keyed.len(), Ending::default());
        for &case in &prices.several {
            let p = joint(case);
            let open = problem.cures[case].iter().filter(|cure| !done.contains(cure));
            let Some(last) = open.clone().map(|&c| self.position[c]).max().filter(|_| p > 0.0)
            else {
                continue;
            };
            let back: f64 = open.clone().map(|&c| prices.in_vain[c]).sum();
            let own = prices.own[self.keyed[last].1];
            let in_turn = self.spent[last + 1] + Price { total: -back, hands_on: -own };
            let later = |c: &usize| {
                self.costs[*c].later + Price { total: -prices.in_vain[*c], hands_on: 0.0 }
            };
            let alone = open.fold(Price { total: 0.0, hands_on: -own }, |sum, c| sum + later(c));
            let more = Ending { mass: p, in_turn: in_turn.times(p), alone: alone.times(p) };
            self.ending[last] = self.ending[last] + more;
        }
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
