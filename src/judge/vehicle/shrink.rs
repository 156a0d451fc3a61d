//! What displays usually stand off their mates, from readings over several visits.
//!
//! Readings `y` of a cylinder `i` in a set `s` of kind `k` on a visit `v`:
//!
//! ```text
//! y = level(s) + o(i, k) + w(v, i, k) + e      o: lasting offset, sd of the layout
//!                                              w: from visit to visit, κ times the given sd
//!                                              e: repeatability
//! ```
//!
//! Levels are flat and integrated out. The prior of `o` pulls offsets towards zero with the natural
//! spread of the layout (empirical Bayes: best linear unbiased prediction of a mixed model); `κ` is
//! unknown, with a scaled inverse χ² prior, and averaged over a grid by the likelihood of the
//! readings, so that few visits are not trusted more than they deserve. What is given out is the
//! predictive distribution of a further visit. It knows numbers only.

use crate::diagnosis::gaussian::{Base, Tail};
use crate::diagnosis::linalg::{Matrix, log_sum_exp};

/// One healthy number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Number {
    /// Which reading set: those of one set share a level.
    pub set: usize,
    /// Which visit.
    pub visit: usize,
    /// Which kind, as index into [`Spreads`].
    pub kind: usize,
    /// Which cylinder, from 0.
    pub cylinder: usize,
    /// °C.
    pub value: f64,
}

/// How far things spread, by kind of reading, °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Spreads {
    /// Natural sd between cylinders of the layout.
    pub layout: Vec<f64>,
    /// Sd from visit to visit, before anything was read.
    pub visit: Vec<f64>,
    /// Degrees of freedom that figure is worth.
    pub visit_freedom: f64,
    /// Sd between two sets of one visit.
    pub repeatability: Vec<f64>,
    /// Correlation between kinds.
    pub together: Matrix,
    /// Bank of each cylinder, and the share of the spread that banks have in common.
    pub banks: Vec<usize>,
    /// Sd between banks as a share of that between cylinders.
    pub bank_share: f64,
}

/// What is to be expected of one cylinder at one kind of reading, on a further visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Distance from the mean of all, °C.
    pub mean: f64,
    /// Its standard deviation, repeatability left out, °C.
    pub sd: f64,
}

/// Factors on the given spread from visit to visit that are weighed, even in their logarithm.
const FACTORS: [f64; 11] = [0.25, 0.35, 0.5, 0.71, 1.0, 1.41, 2.0, 2.83, 4.0, 5.66, 8.0];

/// What each cylinder is expected to do at each kind, kind by kind; nothing without numbers.
#[must_use]
pub fn expected(numbers: &[Number], cylinders: usize, spreads: &Spreads) -> Vec<Vec<Expected>> {
    let kinds = spreads.layout.len();
    if numbers.is_empty() || cylinders < 2 {
        return Vec::new();
    }
    let parts: Vec<(f64, Vec<Vec<Expected>>)> =
        FACTORS.iter().map(|&factor| at(numbers, cylinders, spreads, factor)).collect();
    let logs: Vec<f64> = parts.iter().map(|(log, _)| *log).collect();
    let total = log_sum_exp(&logs);
    let weights: Vec<f64> = logs.iter().map(|log| (log - total).exp()).collect();
    (0..kinds)
        .map(|kind| {
            (0..cylinders)
                .map(|cylinder| {
                    let of = |part: &(f64, Vec<Vec<Expected>>)| part.1[kind][cylinder];
                    let weighed = || weights.iter().zip(&parts);
                    let mean: f64 = weighed().map(|(w, part)| w * of(part).mean).sum();
                    let variance: f64 = weighed()
                        .map(|(w, part)| {
                            let one = of(part);
                            w * (one.sd * one.sd + (one.mean - mean).powi(2))
                        })
                        .sum();
                    Expected { mean, sd: variance.sqrt() }
                })
                .collect()
        })
        .collect()
}

/// Log weight of a factor on the spread from visit to visit, and what is expected under it.
fn at(
    numbers: &[Number],
    cylinders: usize,
    spreads: &Spreads,
    factor: f64,
) -> (f64, Vec<Vec<Expected>>) {
    let lasting = |a: (usize, usize), b: (usize, usize)| {
        let ((i, k), (j, l)) = (a, b);
        let scale = spreads.layout[k] * spreads.layout[l] * spreads.together[(k, l)];
        let own = f64::from(u8::from(i == j));
        let bank = f64::from(u8::from(spreads.banks[i] == spreads.banks[j]));
        scale * (own + bank * spreads.bank_share * spreads.bank_share)
    };
    let visits = |k: usize, l: usize| {
        factor * factor * spreads.visit[k] * spreads.visit[l] * spreads.together[(k, l)]
    };
    let n = numbers.len();
    let mut v0 = Matrix::from_fn(n, n, |r, s| {
        if s > r {
            return 0.0;
        }
        let (a, b) = (&numbers[r], &numbers[s]);
        let mut v = lasting((a.cylinder, a.kind), (b.cylinder, b.kind));
        if (a.cylinder, a.visit) == (b.cylinder, b.visit) {
            v += visits(a.kind, b.kind);
        }
        if r == s {
            v += spreads.repeatability[a.kind].powi(2);
        }
        v
    });
    v0.mirror();
    let y: Vec<f64> = numbers.iter().map(|number| number.value).collect();
    let set: Vec<usize> = numbers.iter().map(|number| number.set).collect();
    let base = Base::new(&y, &set, &v0, Tail::Normal);
    // Scaled inverse χ² of κ² about 1, times the step in ln κ: p(κ²)·κ² ∝ κ^(−ν)·exp(−ν/2κ²).
    let half = spreads.visit_freedom / 2.0;
    let prior = -half * (factor * factor).ln() - half / (factor * factor);
    let log = prior + base.log_density(&[]);
    #[expect(clippy::cast_precision_loss, reason = "counts of cylinders are small")]
    let count = cylinders as f64;
    let all = || 0..cylinders;
    let table = (0..spreads.layout.len())
        .map(|k| {
            all()
                .map(|i| {
                    // The offset less the mean of all: what no level can take up.
                    let with: Vec<f64> = numbers
                        .iter()
                        .map(|number| {
                            let to = (number.cylinder, number.kind);
                            let mean: f64 = all().map(|j| lasting((j, k), to)).sum::<f64>() / count;
                            lasting((i, k), to) - mean
                        })
                        .collect();
                    let row: f64 = all().map(|j| lasting((i, k), (j, k))).sum::<f64>() / count;
                    let whole: f64 = all()
                        .map(|m| all().map(|j| lasting((m, k), (j, k))).sum::<f64>())
                        .sum::<f64>()
                        / (count * count);
                    let before = lasting((i, k), (i, k)) - 2.0 * row + whole;
                    let forecast = base.forecast(&[], &with);
                    let left = (before - forecast.reduction).max(0.0);
                    // Back from a distance to the mean to a spread of single cylinders.
                    let lasting = left * count / (count - 1.0);
                    Expected { mean: forecast.mean, sd: (lasting + visits(k, k)).sqrt() }
                })
                .collect()
        })
        .collect();
    (log, table)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spreads(visit: f64) -> Spreads {
        Spreads {
            layout: vec![12.0],
            visit: vec![visit],
            visit_freedom: 4.0,
            repeatability: vec![4.0],
            together: Matrix::from_fn(1, 1, |_, _| 1.0),
            banks: vec![0; 4],
            bank_share: 0.0,
        }
    }

    fn visits(rows: &[[f64; 4]]) -> Vec<Number> {
        let mut list = Vec::new();
        for (visit, row) in rows.iter().enumerate() {
            for (cylinder, &value) in row.iter().enumerate() {
                list.push(Number { set: visit, visit, kind: 0, cylinder, value });
            }
        }
        list
    }

    /// With one factor the answer is a closed form: shrinkage τ²/(τ² + (ω² + r²)/n).
    #[test]
    fn with_the_spread_known_it_is_the_textbook_shrinkage() {
        let rows = [[612.0, 600.0, 594.0, 594.0], [616.0, 602.0, 596.0, 594.0]];
        let (_, table) = at(&visits(&rows), 4, &spreads(5.0), 1.0);
        let noise = f64::midpoint(25.0, 16.0);
        let share = 144.0 / (144.0 + noise);
        for (found, mean) in table[0].iter().zip([13.0, 0.0, -6.0, -7.0]) {
            assert!((found.mean - share * mean).abs() < 1e-9, "{found:?} against {mean}");
            let sd = (share * noise + 25.0).sqrt();
            assert!((found.sd - sd).abs() < 1e-9, "{found:?} against {sd}");
        }
    }

    #[test]
    fn more_visits_are_trusted_more_and_never_beyond_what_visits_differ_by() {
        let row = [610.0, 600.0, 596.0, 594.0];
        let mut last = spreads(5.0).layout[0];
        for n in 1..6 {
            let rows: Vec<[f64; 4]> = vec![row; n];
            let found = expected(&visits(&rows), 4, &spreads(5.0))[0][0];
            assert!(found.sd < last, "{n} visits: {found:?}");
            assert!(found.mean > 0.0 && found.mean < 10.0);
            last = found.sd;
        }
        assert!(last > 2.0, "{last}");
    }

    #[test]
    fn visits_that_differ_more_than_was_thought_are_trusted_less() {
        let quiet = [[610.0, 600.0, 596.0, 594.0]; 4];
        let mut wild = quiet;
        for (visit, row) in wild.iter_mut().enumerate() {
            for (cylinder, value) in row.iter_mut().enumerate() {
                *value += if (visit + cylinder) % 2 == 0 { 14.0 } else { -14.0 };
            }
        }
        let sd = |rows: &[[f64; 4]]| expected(&visits(rows), 4, &spreads(5.0))[0][0].sd;
        assert!(sd(&wild) > 1.8 * sd(&quiet), "{} against {}", sd(&wild), sd(&quiet));
    }

    #[test]
    fn a_display_without_numbers_keeps_the_layout() {
        let mut numbers = visits(&[[610.0, 600.0, 596.0, 594.0]; 3]);
        numbers.retain(|number| number.cylinder != 2);
        let found = expected(&numbers, 4, &spreads(5.0));
        assert!(found[0][2].sd > 12.0, "{:?}", found[0][2]);
        assert!(found[0][1].sd < 11.0, "{:?}", found[0][1]);
        assert!(expected(&[], 4, &spreads(5.0)).is_empty());
    }
}
