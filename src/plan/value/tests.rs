//! The order of repairs and the look-ahead against hand-sized fixtures and against every order and
//! policy of random instances.

use proptest::prelude::*;

use super::{Planner, Prices, repair, sequence};
use crate::plan::problem::{Needs, Price, Probe, Problem, Repair, Situation, World};

fn repairs(prices: &[f64]) -> Vec<Repair> {
    prices
        .iter()
        .map(|&c| Repair { price: Price::labour(c), own_hands_on: 0.0, needs: Needs::nothing() })
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
