//! A plan that is grown where it matters.
//!
//! Begins with a given test or repair and puts tests, repairs and searches in any order behind it.
//! What is least settled and likeliest to be reached is looked at next, as long as its allowance
//! of work lasts; at any time the price is that of a plan that can be carried out. It must not
//! look at a clock: work is counted, so that the same problem gives the same plan.

use std::rc::Rc;

use super::planner::Planner;
use crate::plan::problem::{Price, Situation};

/// Chance of being reached below which nothing is looked for.
const RARE: f64 = 2e-4;
/// Ways to go on that are followed when a place is looked at first, and that are kept for later.
const WIDTH: usize = 2;
const KEPT: usize = 8;
/// Doubt that is left about a place each time it was looked at.
const LEFT: f64 = 0.25;
/// How much less a way counts that is not the best, and how much dearer it may be to count.
const RIVAL: f64 = 0.15;
const NEAR: f64 = 0.1;
/// Repairs that are tried first at a place.
const REPAIRS: usize = 5;
/// Tests that are ranked at a place, the most promising at the place before it.
const RANKED: usize = 40;
/// Tests of a place that are tried at the places behind it before these are looked at.
const HINTS: usize = 5;
/// Share of the belief below which a case is left out when tests are ranked.
const TRIFLE: f64 = 2e-3;
/// Share of the price that must be in doubt at a place for it to be looked at.
const WORTH: f64 = 2e-4;

/// What a plan begins with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Begin {
    /// A test.
    Probe(usize),
    /// A repair.
    Repair(usize),
}

/// A plan in the making.
#[derive(Debug)]
pub struct Plan<'p, 'a> {
    pub(super) planner: &'p Planner<'a>,
    begin: Begin,
    pub(super) nodes: Vec<Node>,
    /// Nothing is left to look at.
    grown: bool,
}

/// A belief that the plan can come to.
#[derive(Debug)]
pub(super) struct Node {
    parent: Option<usize>,
    /// Not normalised: its sum is the chance of coming here.
    pub(super) belief: Vec<f64>,
    reach: f64,
    pub(super) at: Situation,
    /// Tests done on the way, and repairs.
    pub(super) tests: Vec<usize>,
    pub(super) repairs: Vec<usize>,
    /// Best known price from here on.
    pub(super) price: Price,
    /// The test that its price begins with before it was looked at; `None` where it stops.
    pub(super) hint: Option<usize>,
    /// What the right repair alone would cost.
    informed: f64,
    /// Tests, best first; before it was looked at, those of the place before it.
    promising: Rc<[usize]>,
    /// Ways to go on that were not followed yet, best last.
    ways: Vec<Begin>,
    /// How much looking at it once more counts.
    fresh: f64,
    /// The ways that were followed.
    pub(super) followed: Vec<Way>,
}

/// A way to go on that was followed one step.
#[derive(Debug)]
pub(super) struct Way {
    /// The step.
    pub(super) begin: Begin,
    /// Its price, and that of what was not looked at behind it.
    pub(super) own: Price,
    /// Places behind it and how probable they are from here.
    pub(super) behind: Vec<(usize, f64)>,
    /// By outcome, of a repair the only one: its place among those behind; `None` where it is too rare.
    pub(super) places: Vec<Option<usize>>,
}

impl<'p, 'a> Plan<'p, 'a> {
    /// A plan that begins with a step; `promising` are tests to try first behind it.
    #[must_use]
    pub fn new(
        planner: &'p Planner<'a>,
        belief: &[f64],
        from: Situation,
        begin: Begin,
        promising: &[usize],
    ) -> Self {
        let sum: f64 = belief.iter().sum();
        let mut plan = Self { planner, begin, nodes: Vec::new(), grown: false };
        let belief: Vec<f64> = belief.iter().map(|p| p / sum).collect();
        let root = Node {
            parent: None,
            informed: plan.informed(&belief),
            belief,
            reach: 1.0,
            at: from,
            tests: Vec::new(),
            repairs: Vec::new(),
            price: Price { total: f64::INFINITY, hands_on: 0.0 },
            hint: None,
            promising: promising.into(),
            ways: Vec::new(),
            fresh: 0.0,
            followed: Vec::new(),
        };
        plan.nodes.push(root);
        plan.follow(0, begin);
        plan
    }

    /// Price of the plan as it stands.
    #[must_use]
    pub fn price(&self) -> Price {
        self.nodes[0].price
    }

    /// What it begins with.
    #[must_use]
    pub fn begin(&self) -> Begin {
        self.begin
    }

    /// Whether no place is left that is worth looking at.
    #[must_use]
    pub fn grown(&self) -> bool {
        self.grown
    }

    /// Looks at the place that is most in doubt; says whether there was one.
    pub fn grow(&mut self) -> bool {
        let Some(place) = self.doubtful() else {
            self.grown = true;
            return false;
        };
        if self.nodes[place].followed.is_empty() {
            self.look(place);
        }
        let first = self.nodes[place].followed.is_empty();
        for _ in 0..if first { WIDTH } else { 1 } {
            if let Some(begin) = self.nodes[place].ways.pop() {
                self.follow(place, begin);
            }
        }
        let node = &mut self.nodes[place];
        node.fresh = if node.ways.is_empty() { 0.0 } else { node.fresh * LEFT };
        true
    }

    /// Grows until the planner has done an amount of work in all.
    pub fn grow_until(&mut self, work: u64) {
        while self.planner.work() < work && self.grow() {}
    }

    /// The place with the most in doubt; along ways that are not the best it counts for less.
    fn doubtful(&self) -> Option<usize> {
        let least = WORTH * self.price().total;
        let mut best: Option<(f64, usize)> = None;
        let mut stack = vec![(0, 1.0)];
        while let Some((place, share)) = stack.pop() {
            let node = &self.nodes[place];
            let doubt = share * node.fresh * node.reach * (node.price.total - node.informed);
            if doubt > least && best.is_none_or(|(most, _)| doubt > most) {
                best = Some((doubt, place));
            }
            for way in &node.followed {
                let total = self.total(way);
                let share = if total <= node.price.total + 1e-9 { share } else { share * RIVAL };
                if share >= LEFT * RIVAL && total <= node.price.total * (1.0 + NEAR) {
                    stack.extend(way.behind.iter().map(|&(kid, _)| (kid, share)));
                }
            }
        }
        best.map(|(_, place)| place)
    }

    fn of_way(&self, way: &Way) -> Price {
        way.behind
            .iter()
            .fold(way.own, |sum, &(kid, share)| sum + self.nodes[kid].price.times(share))
    }

    pub(super) fn total(&self, way: &Way) -> f64 {
        self.of_way(way).total
    }

    /// Follows a way one step and takes the better price up to the beginning.
    fn follow(&mut self, place: usize, begin: Begin) {
        let way = match begin {
            Begin::Probe(probe) => self.test(place, probe),
            Begin::Repair(repair) => self.repair(place, repair),
        };
        self.nodes[place].followed.push(way);
        let mut here = Some(place);
        while let Some(place) = here {
            let node = &self.nodes[place];
            let least = node
                .followed
                .iter()
                .map(|way| self.of_way(way))
                .min_by(|a, b| a.total.total_cmp(&b.total));
            if let Some(least) = least
                && least.total < node.price.total
            {
                self.nodes[place].price = least;
            }
            here = self.nodes[place].parent;
        }
    }

    fn test(&mut self, place: usize, probe: usize) -> Way {
        let node = &self.nodes[place];
        let (mut own, at) = self.planner.doing(probe, node.at);
        let (reach, repairs) = (node.reach, node.repairs.clone());
        let mut tests = node.tests.clone();
        tests.push(probe);
        let mut behind = Vec::new();
        let mut places = Vec::new();
        for belief in self.outcomes(&node.belief, probe) {
            let chance: f64 = belief.iter().sum();
            places.push(None);
            if chance <= 0.0 {
                continue;
            }
            if chance < RARE {
                own += self.planner.stop_after(&belief, at, &repairs).times(chance / reach);
            } else {
                let kid = self.leaf(place, belief, at, tests.clone(), repairs.clone());
                behind.push((kid, chance / reach));
                places.pop();
                places.push(Some(kid));
            }
        }
        Way { begin: Begin::Probe(probe), own, behind, places }
    }

    /// What a test leaves of a belief, by outcome.
    pub(super) fn outcomes(&self, belief: &[f64], probe: usize) -> Vec<Vec<f64>> {
        let left = |row: &Vec<f64>| belief.iter().zip(row).map(|(p, l)| p * l).collect();
        self.planner.problem().probes[probe].rows.iter().map(left).collect()
    }

    fn repair(&mut self, place: usize, repair: usize) -> Way {
        let node = &self.nodes[place];
        let (reach, tests) = (node.reach, node.tests.clone());
        let mut repairs = node.repairs.clone();
        repairs.push(repair);
        let (mut own, left, after) = self.work(&node.belief, node.at, &repairs, repair);
        let rest: f64 = left.iter().sum();
        let begin = Begin::Repair(repair);
        if rest < RARE {
            if rest > 1e-12 {
                own += self.planner.stop_after(&left, after, &repairs).times(rest / reach);
            }
            return Way { begin, own, behind: Vec::new(), places: vec![None] };
        }
        let kid = self.leaf(place, left, after, tests, repairs);
        Way { begin, own, behind: vec![(kid, rest / reach)], places: vec![Some(kid)] }
    }

    /// A repair, the last of those that are done by then: its price, what it leaves of a belief, and where.
    pub(super) fn work(
        &self,
        belief: &[f64],
        at: Situation,
        repairs: &[usize],
        repair: usize,
    ) -> (Price, Vec<f64>, Situation) {
        let problem = self.planner.problem();
        let work = &problem.repairs[repair];
        let (ready, ready_at) = problem.world.ready(at, &work.needs);
        let mut own = ready + work.price;
        let mut cured = 0.0;
        let left: Vec<f64> = belief
            .iter()
            .zip(&problem.cures)
            .map(|(p, cures)| {
                if cures.iter().all(|cure| repairs.contains(cure)) {
                    cured += p;
                    0.0
                } else {
                    *p
                }
            })
            .collect();
        let reach: f64 = belief.iter().sum();
        own.hands_on -= cured / reach * work.own_hands_on;
        own.total += problem.in_vain(belief, repair) / reach;
        (own, left, problem.world.verified(ready_at))
    }

    fn informed(&self, belief: &[f64]) -> f64 {
        let problem = self.planner.problem();
        let of = |cures: &Vec<usize>| -> f64 {
            cures.iter().map(|&r| problem.repairs[r].price.total).sum()
        };
        belief.iter().zip(&problem.cures).filter(|(p, _)| **p > 0.0).map(|(p, c)| p * of(c)).sum()
    }

    /// A place, priced by stopping there and by the tests that looked best before it.
    fn leaf(
        &mut self,
        parent: usize,
        belief: Vec<f64>,
        at: Situation,
        tests: Vec<usize>,
        repairs: Vec<usize>,
    ) -> usize {
        let reach: f64 = belief.iter().sum();
        let promising = Rc::clone(&self.nodes[parent].promising);
        let (price, hint) = self.as_it_stands(&promising, &belief, at, &tests, &repairs);
        let informed = self.informed(&belief) / reach;
        self.nodes.push(Node {
            parent: Some(parent),
            belief,
            reach,
            at,
            tests,
            repairs,
            price,
            hint,
            informed,
            promising,
            ways: Vec::new(),
            fresh: 1.0,
            followed: Vec::new(),
        });
        self.nodes.len() - 1
    }

    /// Price of stopping at a belief, or of one of the most promising tests first, with which.
    fn as_it_stands(
        &self,
        promising: &[usize],
        belief: &[f64],
        at: Situation,
        tests: &[usize],
        repairs: &[usize],
    ) -> (Price, Option<usize>) {
        let planner = self.planner;
        let mut price = planner.stop_after(belief, at, repairs);
        let mut hint = None;
        for &probe in promising.iter().take(HINTS) {
            if tests.contains(&probe)
                || !planner.permits(probe, belief)
                || planner.doing(probe, at).0.total >= price.total
            {
                continue;
            }
            let one = planner.one_step_after(belief, at, probe, repairs);
            if one.total < price.total {
                (price, hint) = (one, Some(probe));
            }
        }
        (price, hint)
    }

    /// Finds the ways to go on from a place: repairs, and tests one step deep.
    fn look(&mut self, place: usize) {
        let planner = self.planner;
        let problem = planner.problem();
        let node = &self.nodes[place];
        let stop = planner.stop_after(&node.belief, node.at, &node.repairs).total;
        let among: Vec<usize> = node
            .promising
            .iter()
            .copied()
            .filter(|probe| !node.tests.contains(probe) && planner.permits(*probe, &node.belief))
            .filter(|&probe| planner.doing(probe, node.at).0.total < stop)
            .take(RANKED)
            .collect();
        // Ranked by the cases that matter here; priced by all when they are followed.
        let narrowed = problem.narrowed(&node.belief, TRIFLE, &among);
        let small = Planner::new(&narrowed);
        let mut ranked: Vec<(f64, Begin)> = among
            .iter()
            .map(|&probe| {
                let price = small.one_step(&narrowed.belief, node.at, probe);
                (price.total, Begin::Probe(probe))
            })
            .collect();
        planner.add_work(small.work());
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let promising: Rc<[usize]> =
            ranked
                .iter()
                .filter_map(|&(_, begin)| match begin {
                    Begin::Probe(probe) => Some(probe),
                    Begin::Repair(_) => None,
                })
                .chain(node.promising.iter().copied().filter(|probe| {
                    !ranked.iter().any(|(_, begin)| *begin == Begin::Probe(*probe))
                }))
                .collect();
        let mut likely =
            planner.likely_repairs(&node.belief, node.at, REPAIRS + node.repairs.len());
        likely.retain(|repair| !node.repairs.contains(repair));
        likely.truncate(REPAIRS);
        ranked.extend(likely.iter().map(|&r| (self.first(node, r), Begin::Repair(r))));
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        // Behind a repair tests are looked for yet, so the best of them goes in front with the
        // best test.
        let repair = ranked.iter().position(|(_, begin)| matches!(begin, Begin::Repair(_)));
        if let Some(at) = repair.filter(|at| *at > 1) {
            let first = ranked.remove(at);
            ranked.insert(1, first);
        }
        ranked.truncate(KEPT);
        let node = &mut self.nodes[place];
        node.promising = promising;
        node.ways = ranked.into_iter().rev().map(|(_, begin)| begin).collect();
    }

    /// Price of a repair and then the others in order.
    fn first(&self, node: &Node, repair: usize) -> f64 {
        let problem = self.planner.problem();
        let (ready, at) = problem.world.ready(node.at, &problem.repairs[repair].needs);
        let mends = |cure: &usize| *cure == repair || node.repairs.contains(cure);
        let left: Vec<f64> = node
            .belief
            .iter()
            .zip(&problem.cures)
            .map(|(p, cures)| if cures.iter().all(mends) { 0.0 } else { *p })
            .collect();
        let rest = left.iter().sum::<f64>() / node.reach;
        let price = (ready + problem.repairs[repair].price).total
            + problem.in_vain(&node.belief, repair) / node.reach;
        let mut done = node.repairs.clone();
        done.push(repair);
        price + rest * self.planner.stop_after(&left, problem.world.verified(at), &done).total
    }
}
