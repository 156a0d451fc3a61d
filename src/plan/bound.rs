//! What no plan can beat.
//!
//! Perfect information: every hypothesis costs at least its own repair. Information rate: no
//! plan gathers more bits from a test than its capacity, and guessing repairs without them takes
//! more tries. Both hold for plans that mix tests and repairs in any way.

use super::problem::Problem;
use super::value::Prices;

/// A lower bound on the expected price of every plan, minutes of labour, and the part of it that
/// perfect information would still cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// The bound.
    pub total: f64,
    /// Expected price of the right repair alone.
    pub informed: f64,
}

/// The bound for a belief that sums to one.
///
/// `Σ p r + min over x of { x + r_min [μ(max(0, H − F(x))) − 1] }`: `r` the cheapest a repair
/// can be in any situation, `H` the entropy in bits over what must be repaired, `F(x)` the most
/// bits that tests of total price `x` can give (capacities in a fractional knapsack), `μ(H)` the
/// least mean number of guesses at entropy `H` (the geometric law has most entropy for its mean;
/// compare Massey 1994, from memory).
///
/// Where two faults are possible, an oracle is taken to tell them free of charge, since one
/// repair may then end two hypotheses and the count of guesses no longer holds; free knowledge
/// only lowers the bound.
#[must_use]
pub fn lower(problem: &Problem, prices: &Prices, belief: &[f64]) -> Bound {
    let least: Vec<f64> = (0..problem.repairs.len())
        .map(|r| problem.repairs[r].price.total.min(prices.later(r).total))
        .collect();
    let mut informed = 0.0;
    let mut classes = vec![0.0; problem.repairs.len()];
    for (p, cures) in belief.iter().zip(&problem.cures) {
        informed += p * cures.iter().map(|&r| least[r]).sum::<f64>();
        if let [only] = cures.as_slice() {
            classes[*only] += p;
        }
    }
    let single: f64 = classes.iter().sum();
    let cheapest = (0..classes.len())
        .filter(|&r| classes[r] > 0.0)
        .map(|r| least[r])
        .fold(f64::INFINITY, f64::min);
    if !cheapest.is_finite() {
        return Bound { total: informed, informed };
    }
    let entropy: f64 =
        classes.iter().map(|m| m / single).filter(|m| *m > 0.0).map(|m| -m * m.log2()).sum();
    let mut rates: Vec<(f64, f64)> = problem
        .probes
        .iter()
        .map(|probe| (capacity(&probe.rows), probe.price.total))
        .filter(|(bits, _)| *bits > 1e-9)
        .collect();
    rates.sort_by(|a, b| (b.0 / b.1.max(1e-9)).total_cmp(&(a.0 / a.1.max(1e-9))));
    // The price is convex between the corners of F, so its least value is at a corner or where
    // nothing is left to know.
    let price = |x: f64, bits: f64| x + cheapest * (guesses((entropy - bits).max(0.0)) - 1.0);
    let (mut x, mut bits) = (0.0, 0.0);
    let mut extra = price(0.0, 0.0);
    for (capacity, cost) in rates {
        for part in 1..=8 {
            let share = f64::from(part) / 8.0;
            // Take a corner's bits a step early: a bound must not be too high between them.
            let before = f64::from(part - 1) / 8.0;
            extra = extra.min(price(x + before * cost, bits + share * capacity));
        }
        x += cost;
        bits += capacity;
        if bits >= entropy {
            break;
        }
    }
    Bound { total: informed + single * extra.max(0.0), informed }
}

/// An upper bound on the bits one outcome can tell, by a few rounds of Blahut and Arimoto: the
/// largest divergence of a row from the mixture bounds the capacity at every round.
fn capacity(rows: &[Vec<f64>]) -> f64 {
    let n = rows.first().map_or(0, Vec::len);
    if n == 0 {
        return 0.0;
    }
    let even = 1.0 / f64::from(u32::try_from(n).unwrap_or(u32::MAX));
    let mut input = vec![even; n];
    let mut best = f64::INFINITY;
    let mut divergence = vec![0.0; n];
    for _ in 0..6 {
        divergence.fill(0.0);
        for row in rows {
            let mix: f64 = input.iter().zip(row).map(|(q, p)| q * p).sum();
            for (d, p) in divergence.iter_mut().zip(row) {
                if *p > 0.0 {
                    *d += p * (p / mix.max(1e-300)).log2();
                }
            }
        }
        best = best.min(divergence.iter().copied().fold(0.0, f64::max));
        let mut sum = 0.0;
        for (q, d) in input.iter_mut().zip(&divergence) {
            *q *= d.exp2();
            sum += *q;
        }
        for q in &mut input {
            *q /= sum;
        }
    }
    best
}

/// The least mean number of guesses at an entropy in bits: the inverse of
/// `μ log₂ μ − (μ − 1) log₂(μ − 1)`, by halving.
fn guesses(entropy: f64) -> f64 {
    let bits = |mu: f64| {
        let less = mu - 1.0;
        mu * mu.log2() - if less > 0.0 { less * less.log2() } else { 0.0 }
    };
    let (mut low, mut high) = (1.0, 2.0);
    while bits(high) < entropy {
        high *= 2.0;
    }
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if bits(middle) < entropy {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::plan::problem::{Needs, Price, Probe, Repair, Situation, World};

    /// Slow and obvious: every plan that mixes tests and repairs in any way.
    fn best(problem: &Problem, belief: &[f64], tests: u32, repairs: u32) -> f64 {
        let mass: f64 = belief.iter().sum();
        if mass < 1e-12 {
            return 0.0;
        }
        let mut least = f64::INFINITY;
        for (r, repair) in problem.repairs.iter().enumerate() {
            if repairs >> r & 1 == 1 {
                continue;
            }
            let done = repairs | 1 << r;
            let left: Vec<f64> = belief
                .iter()
                .zip(&problem.cures)
                .map(|(p, cures)| if cures.iter().all(|c| done >> c & 1 == 1) { 0.0 } else { *p })
                .collect();
            least = least.min(repair.price.total * mass + best(problem, &left, tests, done));
        }
        for (t, probe) in problem.probes.iter().enumerate() {
            if tests >> t & 1 == 1 {
                continue;
            }
            let mut value = probe.price.total * mass;
            for row in &probe.rows {
                let joint: Vec<f64> = belief.iter().zip(row).map(|(p, l)| p * l).collect();
                value += best(problem, &joint, tests | 1 << t, repairs);
            }
            least = least.min(value);
        }
        least
    }

    fn instance() -> impl Strategy<Value = Problem> {
        let sizes = (2_usize..5, 1_usize..3);
        sizes.prop_flat_map(|(h, t)| {
            let belief = proptest::collection::vec(0.02_f64..1.0, h + 1);
            let prices = proptest::collection::vec(1.0_f64..30.0, h);
            let row = proptest::collection::vec(0.02_f64..0.98, h + 1);
            let tests = proptest::collection::vec((0.1_f64..5.0, row), t);
            (belief, prices, tests).prop_map(move |(mut belief, prices, tests)| {
                let sum: f64 = belief.iter().sum();
                for p in &mut belief {
                    *p /= sum;
                }
                // The last hypothesis is a pair of the first two.
                let mut cures: Vec<Vec<usize>> = (0..h).map(|k| vec![k]).collect();
                cures.push(vec![0, 1]);
                let repairs = prices
                    .iter()
                    .map(|&c| Repair {
                        price: Price::labour(c),
                        own_hands_on: 0.0,
                        needs: Needs::nothing(),
                    })
                    .collect();
                let probes = tests
                    .into_iter()
                    .map(|(cost, yes)| Probe {
                        price: Price::labour(cost),
                        needs: Needs::nothing(),
                        leaves: None,
                        held_back: false,
                        rows: vec![yes.clone(), yes.iter().map(|p| 1.0 - p).collect()],
                    })
                    .collect();
                Problem {
                    belief,
                    cures,
                    repairs,
                    probes,
                    world: World::flat(),
                    now: Situation { state: 0, open: 0 },
                    search: None,
                    first_out: Vec::new(),
                    first_out_share: 0.0,
                }
            })
        })
    }

    proptest! {
        #[test]
        fn no_plan_beats_the_bound(problem in instance()) {
            let bound = lower(&problem, &Prices::new(&problem), &problem.belief);
            let optimum = best(&problem, &problem.belief, 0, 0);
            prop_assert!(bound.total <= optimum + 1e-9, "{} > {optimum}", bound.total);
            prop_assert!(bound.informed <= bound.total);
        }
    }

    #[test]
    fn a_geometric_law_needs_its_mean() {
        // Mean 2 has two bits of entropy: 2·1 − 1·0.
        assert!((guesses(2.0) - 2.0).abs() < 1e-9);
        assert!((guesses(0.0) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_capacity_of_a_binary_symmetric_channel_is_known() {
        // 1 − H(0.11) = 0.500084 bits (any text on information theory).
        let rows = [vec![0.89, 0.11], vec![0.11, 0.89]];
        assert!((capacity(&rows) - 0.500_084).abs() < 1e-5);
    }
}
