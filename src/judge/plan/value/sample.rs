//! Small random decision problems with their best plans, found the slow and obvious way.

use proptest::prelude::*;

use crate::plan::problem::{Needs, Price, Probe, Problem, Repair, Situation, World};

/// What is random in a problem.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shape {
    pub(crate) cases: usize,
    pub(crate) tests: usize,
    /// Engine states and covers with prices of their own.
    pub(crate) set_ups: bool,
    /// Whether one can give up and search.
    pub(crate) search: bool,
    /// Whether the last case is a pair of the first two.
    pub(crate) pair: bool,
}

/// In which of some equal parts of the numbers between nought and one a number lies.
fn part(x: f64, parts: u8) -> usize {
    (1..parts).filter(|k| x * f64::from(parts) >= f64::from(*k)).count()
}

/// A problem of a shape from numbers between nought and one, taken in turn.
pub(crate) fn problem(shape: Shape, mut next: impl FnMut() -> f64) -> Problem {
    let mut pick = |low: f64, high: f64| low + (high - low) * next();
    let mut belief: Vec<f64> = (0..shape.cases).map(|_| pick(0.02, 1.0).powi(2)).collect();
    let sum: f64 = belief.iter().sum();
    for p in &mut belief {
        *p /= sum;
    }
    let mut cures: Vec<Vec<usize>> = (0..shape.cases).map(|case| vec![case]).collect();
    if shape.pair && shape.cases > 2 {
        cures[shape.cases - 1] = vec![0, 1];
    }
    let mut world = World::flat();
    if shape.set_ups {
        // Three states on a line, so that the prices between them keep the triangle inequality.
        let (a, b) = (pick(0.0, 6.0), pick(0.0, 10.0));
        let place = [0.0, a, a + b];
        world.change = place
            .iter()
            .map(|x| place.iter().map(|y: &f64| Price::labour((x - y).abs())).collect())
            .collect();
        world.access = vec![Price::labour(pick(0.5, 6.0)), Price::labour(pick(0.5, 12.0))];
        world.runs = vec![true, false, false];
        world.by_running = vec![vec![false; 3]; 3];
        world.blocking = 1;
    }
    let states = world.change.len();
    let needs = |pick: &mut dyn FnMut(f64, f64) -> f64| {
        if states == 1 {
            return Needs::nothing();
        }
        let states = match part(pick(0.0, 1.0), 4) {
            3 => vec![0, 1, 2],
            one => vec![one],
        };
        // What runs cannot have the blocking cover off.
        let access = [0, 0, 1, 2, 3][part(pick(0.0, 1.0), 5)];
        let access = if states.contains(&0) { access & 2 } else { access };
        Needs { states, access, openings: 1.0 }
    };
    let repairs = (0..shape.cases)
        .map(|_| Repair {
            price: Price::labour(pick(1.0, 30.0)),
            own_hands_on: 0.0,
            // Half of them cost nothing on top.
            in_vain: pick(-20.0, 20.0).max(0.0),
            needs: needs(&mut pick),
        })
        .collect();
    let probes = (0..shape.tests)
        .map(|_| {
            let outcomes = 2 + part(pick(0.0, 1.0), 2);
            let mut rows = vec![vec![0.0; shape.cases]; outcomes];
            for case in 0..shape.cases {
                let weights: Vec<f64> =
                    (0..outcomes).map(|_| pick(0.1, 1.0).powi(4) + 0.01).collect();
                let sum: f64 = weights.iter().sum();
                for (row, weight) in rows.iter_mut().zip(weights) {
                    row[case] = weight / sum;
                }
            }
            Probe {
                price: Price::labour(pick(0.1, 6.0)),
                needs: needs(&mut pick),
                leaves: None,
                opens: 0,
                rows,
                held_back: None,
            }
        })
        .collect();
    let search = shape.search.then(|| Price::labour(pick(5.0, 60.0)));
    Problem {
        belief,
        cures,
        repairs,
        probes,
        world,
        now: Situation { state: 0, open: 0 },
        search,
        first_out: Vec::new(),
        first_out_share: 0.0,
    }
}

/// Slow and obvious: the least price of all plans that mix tests, repairs and a search in any way.
pub(crate) fn best(
    problem: &Problem,
    belief: &[f64],
    at: Situation,
    tests: u32,
    repairs: u32,
) -> f64 {
    let mass: f64 = belief.iter().sum();
    if mass < 1e-14 {
        return 0.0;
    }
    let verified = Situation { state: problem.world.verifying, open: 0 };
    let mut least = f64::INFINITY;
    if let Some(search) = problem.search {
        let mut price = search.total * mass;
        for (p, cures) in belief.iter().zip(&problem.cures) {
            for &cure in cures.iter().filter(|cure| repairs >> **cure & 1 == 0) {
                let repair = &problem.repairs[cure];
                let ready = problem.world.ready(verified, &repair.needs).0;
                price += p * (ready + repair.price).total;
            }
        }
        least = least.min(price);
    }
    for (index, repair) in problem.repairs.iter().enumerate() {
        let wanted = belief.iter().zip(&problem.cures).any(|(p, c)| *p > 0.0 && c.contains(&index));
        if repairs >> index & 1 == 1 || !wanted {
            continue;
        }
        let done = repairs | 1 << index;
        let left: Vec<f64> = belief
            .iter()
            .zip(&problem.cures)
            .map(|(p, cures)| if cures.iter().all(|c| done >> c & 1 == 1) { 0.0 } else { *p })
            .collect();
        let price = (problem.world.ready(at, &repair.needs).0 + repair.price).total;
        let others = belief.iter().zip(&problem.cures).filter(|(_, cures)| !cures.contains(&index));
        let in_vain = repair.in_vain * others.map(|(p, _)| p).sum::<f64>();
        least = least.min(price * mass + in_vain + best(problem, &left, verified, tests, done));
    }
    for (index, probe) in problem.probes.iter().enumerate() {
        if tests >> index & 1 == 1 {
            continue;
        }
        let (price, then) = problem.doing(index, at);
        let mut value = price.total * mass;
        for row in &probe.rows {
            let joint: Vec<f64> = belief.iter().zip(row).map(|(p, l)| p * l).collect();
            value += best(problem, &joint, then, tests | 1 << index, repairs);
        }
        least = least.min(value);
    }
    least
}

/// Random problems small enough for [`best`].
pub(crate) fn small() -> impl Strategy<Value = Problem> {
    let shape = (2_usize..5, 1_usize..3, any::<bool>(), any::<bool>(), any::<bool>());
    let numbers = proptest::collection::vec(0.0_f64..1.0, 200);
    (shape, numbers).prop_map(|((cases, tests, set_ups, search, pair), numbers)| {
        let mut numbers = numbers.into_iter().cycle();
        let shape = Shape { cases, tests, set_ups, search, pair };
        problem(shape, || numbers.next().unwrap_or(0.5))
    })
}
