//! What knowledge is worth at a price of a bit, and which price gives the best bound.
//!
//! Pure arithmetic on rows and prices. It must not know in which order anything is done.

use super::ground::{Due, Ground};
use crate::plan::problem::Problem;
use measure::number::real;

/// A price of a bit with the weights of outcomes that go with it.
#[derive(Debug, Clone)]
pub(super) struct Rate {
    /// Minutes for a bit.
    price: f64,
    /// By test: weights of its outcomes, which sum to one.
    weights: Vec<Vec<f64>>,
}

/// Rounds of looking for weights at a price, and at the end.
const ROUNDS: usize = 3;
const LAST_ROUNDS: usize = 14;
/// Rounds at another belief.
const ROUNDS_ELSEWHERE: usize = 2;
/// Factor between prices that are tried.
const STEP: f64 = 1.7;
/// Prices that are tried on the way up or down, at the most.
const PRICES: usize = 8;

/// `Σ_o l log₂ l` by case.
pub(super) fn told(rows: &[Vec<f64>]) -> Vec<f64> {
    let mut told = vec![0.0; rows.first().map_or(0, Vec::len)];
    for row in rows {
        for (told, &l) in told.iter_mut().zip(row) {
            if l > 0.0 {
                *told += l * l.log2();
            }
        }
    }
    told
}

/// Chance that ends in each repair alone, by repair; its sum; cases of two repairs left out.
pub(super) fn ends(problem: &Problem, belief: &[f64]) -> (Vec<f64>, f64) {
    let mut ends = vec![0.0; problem.repairs.len()];
    let mut sum = 0.0;
    for (p, cures) in belief.iter().zip(&problem.cures) {
        if let [only] = cures.as_slice() {
            ends[*only] += p;
            sum += p;
        }
    }
    (ends, sum)
}

fn bits(masses: impl Iterator<Item = f64>) -> f64 {
    masses.filter(|m| *m > 0.0).map(|m| -m * m.log2()).sum()
}

impl Rate {
    /// The price that gives the most, and what it gives.
    pub(super) fn best(
        problem: &Problem,
        ground: &Ground,
        told: &[Vec<f64>],
        belief: &[f64],
    ) -> (Self, f64) {
        let weights = problem
            .probes
            .iter()
            .map(|probe| {
                probe
                    .rows
                    .iter()
                    .map(|row| row.iter().zip(belief).map(|(l, p)| l * p).sum())
                    .collect()
            })
            .collect();
        let dearest = ground.full.iter().copied().fold(1e-6, f64::max);
        let mut rate = Self { price: dearest / 50.0, weights };
        let value = rate.improve(problem, ground, told, belief, ROUNDS);
        let mut best = (rate, value);
        // The bound is concave in the price: on while it rises, down first.
        for step in [1.0 / STEP, STEP] {
            let from = best.0.price;
            let mut rate = best.0.clone();
            for _ in 0..PRICES {
                rate.price *= step;
                let value = rate.improve(problem, ground, told, belief, ROUNDS);
                if value <= best.1 {
                    break;
                }
                best = (rate.clone(), value);
            }
            if (best.0.price - from).abs() > 0.0 {
                break;
            }
        }
        let middle = best.0.price;
        let more = |price: f64, rounds: usize, best: &mut (Self, f64)| {
            let mut rate = Self { price, weights: best.0.weights.clone() };
            let value = rate.improve(problem, ground, told, belief, rounds);
            if value > best.1 {
                *best = (rate, value);
            }
        };
        more(middle * 0.82, ROUNDS, &mut best);
        more(middle * 1.22, ROUNDS, &mut best);
        more(best.0.price, LAST_ROUNDS, &mut best);
        best
    }

    /// The bound at a belief that sums to one, in this or another situation.
    pub(super) fn value(
        &self,
        problem: &Problem,
        ground: &Ground,
        told: &[Vec<f64>],
        belief: &[f64],
    ) -> f64 {
        self.clone().improve(problem, ground, told, belief, ROUNDS_ELSEWHERE)
    }

    /// What a test tells about the repair, at this price of a bit.
    pub(super) fn told_about_repairs(
        &self,
        problem: &Problem,
        rows: &[Vec<f64>],
        belief: &[f64],
    ) -> f64 {
        let entropy = |belief: &[f64]| {
            let (ends, sum) = ends(problem, belief);
            if sum > 0.0 { sum * bits(ends.iter().map(|m| m / sum)) } else { 0.0 }
        };
        let after = |row: &Vec<f64>| {
            entropy(&belief.iter().zip(row).map(|(p, l)| p * l).collect::<Vec<_>>())
        };
        self.price * (entropy(belief) - rows.iter().map(after).sum::<f64>())
    }

    /// What the first try of a repair can tell that ends `end` of `single`.
    pub(super) fn of_coin(&self, end: f64, single: f64) -> f64 {
        let share = if single > 0.0 { end / single } else { 0.0 };
        self.price * single * bits([share, 1.0 - share].into_iter())
    }

    /// Betters the weights at this price and says what the bound is with them.
    fn improve(
        &mut self,
        problem: &Problem,
        ground: &Ground,
        told: &[Vec<f64>],
        belief: &[f64],
        rounds: usize,
    ) -> f64 {
        let (mut ends, sum) = ends(problem, belief);
        let mut value = 0.0;
        let mut single = vec![0.0; belief.len()];
        for (case, cures) in problem.cures.iter().enumerate() {
            if cures.len() == 1 && sum > 0.0 {
                single[case] = belief[case] / sum;
            } else {
                value += belief[case] * ground.of_case[case];
            }
        }
        if sum <= 0.0 {
            return value;
        }
        for end in &mut ends {
            *end /= sum;
        }
        let mut worth = self.price * bits(ends.iter().copied());
        for ((&end, &full), repair) in ends.iter().zip(&ground.full).zip(&problem.repairs) {
            if end > 0.0 {
                let failing = repair.price.total.min(full) + repair.in_vain;
                worth += end * full + self.failing(end, failing);
            }
        }
        if let Some(search) = problem.search {
            worth -= self.search(&ends, search.total);
        }
        worth -= self.tests(problem, ground, told, &single, rounds);
        value + sum * worth
    }

    /// Trying a repair as often as pays, at `cost` where it fails.
    fn failing(&self, end: f64, cost: f64) -> f64 {
        let success = 1.0 - (-cost / self.price).exp2();
        let tried = (end / success.max(1e-12)).clamp(end, 1.0);
        let coin = bits([end / tried, 1.0 - end / tried].into_iter());
        (tried - end) * cost - self.price * tried * coin
    }

    /// What a search saves, which tells everything.
    ///
    /// Its weights are as even as pays: the threshold where that is enough for all.
    fn search(&self, ends: &[f64], cost: f64) -> f64 {
        let enough = (-cost / self.price).exp2();
        let count = ends.iter().filter(|m| **m > 0.0).count();
        if enough * real(count) <= 1.0 {
            return 0.0;
        }
        // Between even weights and those of the belief.
        let even = 1.0 / real(count);
        let saved = |own: f64| -> f64 {
            let of = |m: &f64| {
                let weight = own * m + (1.0 - own) * even;
                m * (-self.price * weight.log2() - cost).max(0.0)
            };
            ends.iter().filter(|m| **m > 0.0).map(of).sum()
        };
        [0.0, 0.25, 0.5, 0.75, 1.0].into_iter().map(saved).fold(f64::INFINITY, f64::min)
    }

    /// What all tests save, each done where it pays; set-ups once.
    fn tests(
        &mut self,
        problem: &Problem,
        ground: &Ground,
        told: &[Vec<f64>],
        belief: &[f64],
        rounds: usize,
    ) -> f64 {
        let mut saved = 0.0;
        let mut entries = vec![Vec::new(); ground.entries.len()];
        let mut access = vec![Vec::new(); ground.access.len()];
        let mut best = Vec::new();
        for (index, probe) in problem.probes.iter().enumerate() {
            let cost = ground.cost[index];
            let weights = &mut self.weights[index];
            let value = saving(
                &probe.rows,
                &told[index],
                belief,
                self.price,
                cost,
                weights,
                rounds,
                &mut best,
            );
            if value <= 0.0 {
                continue;
            }
            let pool: &mut Vec<f64> = match ground.due[index] {
                Due::Nothing => {
                    saved += value;
                    continue;
                }
                Due::Entry(level) => &mut entries[level],
                Due::Access(thing) => &mut access[thing],
            };
            pool.resize(belief.len(), 0.0);
            for (pool, best) in pool.iter_mut().zip(&best) {
                *pool += best;
            }
        }
        for (case, &p) in belief.iter().enumerate().filter(|(_, p)| **p > 0.0) {
            // Whoever enters the dearest state is taken to have passed all cheaper ones.
            let (mut so_far, mut most) = (0.0, 0.0_f64);
            for (pool, price) in entries.iter().zip(&ground.entries) {
                so_far += pool.get(case).copied().unwrap_or(0.0);
                let price = if ground.pays_entry[case] { 0.0 } else { *price };
                most = most.max(so_far - price);
            }
            let mut worth = most;
            for (thing, (pool, price)) in access.iter().zip(&ground.access).enumerate() {
                let paid = ground.pays_access[case] >> thing & 1 == 1;
                let own = pool.get(case).copied().unwrap_or(0.0);
                worth += (own - if paid { 0.0 } else { *price }).max(0.0);
            }
            saved += p * worth;
        }
        saved
    }
}

/// What a test saves where it is done for the cases for which it pays, by the best of some
/// rounds of weights; `best` is the saving by case.
///
/// The saving is convex in the weights. Steps lead towards the outcomes seen among the cases for
/// which the test pays (Frank & Wolfe 1956, from memory).
#[expect(clippy::too_many_arguments, reason = "the inner loop of the bound")]
fn saving(
    rows: &[Vec<f64>],
    told: &[f64],
    belief: &[f64],
    price: f64,
    cost: f64,
    weights: &mut [f64],
    rounds: usize,
    best: &mut Vec<f64>,
) -> f64 {
    let mut least = f64::INFINITY;
    let mut gain = vec![0.0; belief.len()];
    // The cases for which the test pays.
    let mut paying = vec![0.0; belief.len()];
    let mut tried = weights.to_vec();
    let mut step = 0.6;
    for _ in 0..rounds {
        for (gain, told) in gain.iter_mut().zip(told) {
            *gain = price * told - cost;
        }
        for (row, weight) in rows.iter().zip(&tried) {
            let surprise = -price * weight.max(1e-300).log2();
            for (gain, l) in gain.iter_mut().zip(row) {
                *gain += surprise * l;
            }
        }
        let mut value = 0.0;
        for ((gain, p), paying) in gain.iter_mut().zip(belief).zip(&mut paying) {
            *gain = gain.max(0.0);
            value += *gain * p;
            *paying = if *gain > 0.0 { *p } else { 0.0 };
        }
        if value < least {
            least = value;
            best.clone_from(&gain);
            weights.copy_from_slice(&tried);
        }
        if value <= 0.0 {
            break;
        }
        let mut sum = 0.0;
        let seen: Vec<f64> = rows
            .iter()
            .map(|row| {
                let paying = row.iter().zip(&paying).map(|(l, p)| l * p);
                let mass: f64 = paying.sum();
                sum += mass;
                mass
            })
            .collect();
        for (weight, seen) in tried.iter_mut().zip(&seen) {
            *weight = (1.0 - step) * *weight + step * seen / sum.max(1e-300);
        }
        step = step / (1.0 + 0.5 * step);
    }
    least
}
