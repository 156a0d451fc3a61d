//! What many jobs come to: means with intervals, tails, calibration.
//!
//! Each statistic in a function of its own, from plain numbers. It must not know jobs.

use rand::RngExt as _;

use measure::number::real;

use super::chance::Chance;

/// A mean with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Mean {
    /// The mean.
    pub mean: f64,
    /// Half the width of the interval.
    pub half: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Two-sided 95 % of a normal.
const Z: f64 = 1.959_964;
/// Times that jobs are drawn anew for an interval.
const TIMES: usize = 1000;

/// Mean of independent values, interval by the bootstrap; nil where there are none.
#[must_use]
pub fn mean(values: &[f64]) -> Mean {
    ratio(values, &vec![1.0; values.len()])
}

/// Ratio of two means on the same jobs, interval by the bootstrap over jobs: from 2.5 to 97.5 % of what
/// comes of as many jobs drawn from these, with the same numbers each time.
#[must_use]
pub fn ratio(a: &[f64], b: &[f64]) -> Mean {
    let over = |sums: (f64, f64)| if sums.1.abs() > 0.0 { sums.0 / sums.1 } else { 0.0 };
    let all = a.iter().zip(b).fold((0.0, 0.0), |sum, (a, b)| (sum.0 + a, sum.1 + b));
    let n = a.len().min(b.len());
    let mut stream = Chance::seeded(0).of("bootstrap").stream();
    let once = |stream: &mut rand_pcg::Pcg64Mcg| {
        let mut sums = (0.0, 0.0);
        for _ in 0..n {
            let k = stream.random_range(0..n);
            sums = (sums.0 + a[k], sums.1 + b[k]);
        }
        over(sums)
    };
    let drawn: Vec<f64> =
        if n == 0 { vec![0.0] } else { (0..TIMES).map(|_| once(&mut stream)).collect() };
    let (low, high) = (quantile(&drawn, 0.025), quantile(&drawn, 0.975));
    Mean { mean: over(all), half: (high - low) / 2.0, low, high }
}

/// The value that a share of the values does not exceed: the smallest with at least that share at
/// or below it.
#[must_use]
pub fn quantile(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let enough = |at: &usize| real(at + 1) >= share * real(sorted.len()) - 1e-9;
    let at = (0..sorted.len()).find(enough).unwrap_or(0);
    sorted.get(at).copied().unwrap_or(0.0)
}

/// Share of successes with Wilson's 95 % interval (Wilson 1927, memory).
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Share {
    /// How many of how many.
    pub of: (usize, usize),
    /// The share.
    pub share: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Wilson's interval; from nothing to all where nothing was tried.
#[must_use]
pub fn wilson(successes: usize, tries: usize) -> Share {
    if tries == 0 {
        return Share { of: (0, 0), share: 0.0, low: 0.0, high: 1.0 };
    }
    let (n, p) = (real(tries), real(successes) / real(tries));
    let z2 = Z * Z;
    let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    Share {
        of: (successes, tries),
        share: p,
        low: (middle - half).max(0.0),
        high: (middle + half).min(1.0),
    }
}

/// A claim with a probability, and whether it was so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Claim {
    /// The job it was made in: claims of one job hang together.
    pub job: usize,
    /// Probability.
    pub said: f64,
    /// Whether it was so.
    pub so: bool,
}

/// Standard deviation of what comes of a claim; a sum of probabilities may be a hair above one.
fn spread(said: f64) -> f64 {
    (said * (1.0 - said)).max(0.0).sqrt()
}

/// A bin of a reliability diagram.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Bin {
    /// Claims in it.
    pub claims: usize,
    /// Mean of what was said.
    pub said: f64,
    /// Share that was so.
    pub so: f64,
    /// Standard error of the difference, claims of one job taken together.
    pub error: f64,
}

/// Claims in bins of equal count, and what the bins come to.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Reliability {
    /// From the least sure to the surest.
    pub bins: Vec<Bin>,
    /// Mean of the differences' sizes, weighed by claims: the expected calibration error.
    pub error: f64,
    /// What chance alone would make of it were all claims just right, about: with a standard error
    /// `s` per bin the mean size of a normal difference is `s √(2/π)`.
    pub by_chance: f64,
}

/// Bins of a reliability diagram.
const BINS: usize = 10;

/// Puts claims into ten bins of equal count.
#[must_use]
pub fn reliability(claims: &[Claim]) -> Reliability {
    let mut sorted = claims.to_vec();
    sorted.sort_by(|a, b| a.said.total_cmp(&b.said).then(a.job.cmp(&b.job)));
    let n = sorted.len();
    let bins: Vec<Bin> = (0..BINS)
        .map(|k| &sorted[k * n / BINS..(k + 1) * n / BINS])
        .filter(|claims| !claims.is_empty())
        .map(bin)
        .collect();
    let weigh = |of: fn(&Bin) -> f64| {
        bins.iter().map(|b| of(b) * real(b.claims)).sum::<f64>() / real(n).max(1.0)
    };
    let error = weigh(|b| (b.said - b.so).abs());
    let by_chance = weigh(|b| b.error) * (2.0 / std::f64::consts::PI).sqrt();
    Reliability { bins, error, by_chance }
}

fn bin(claims: &[Claim]) -> Bin {
    let n = real(claims.len());
    let so = |claim: &Claim| f64::from(u8::from(claim.so));
    let said = claims.iter().map(|c| c.said).sum::<f64>() / n;
    let mut by_job = std::collections::BTreeMap::<usize, f64>::new();
    for claim in claims {
        // The spread that a just claim has, not the one that was seen: a bin without a single miss
        // has one too.
        *by_job.entry(claim.job).or_default() += spread(claim.said);
    }
    let error = by_job.values().map(|r| r * r).sum::<f64>().sqrt() / n;
    Bin { claims: claims.len(), said, so: claims.iter().map(so).sum::<f64>() / n, error }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Chance;

    fn near(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-4, "{a} is not {b}");
    }

    #[test]
    fn means_and_quantiles_of_a_hand_sized_sample() {
        let m = mean(&[1.0, 2.0, 3.0, 4.0]);
        near(m.mean, 2.5);
        assert!((1.0..=2.0).contains(&m.low) && (3.0..=4.0).contains(&m.high), "{m:?}");
        let values: Vec<f64> = (1..=10).map(f64::from).collect();
        near(quantile(&values, 0.9), 9.0);
        near(quantile(&values, 0.99), 10.0);
        near(quantile(&values, 0.5), 5.0);
    }

    #[test]
    fn the_bootstrap_agrees_with_the_formula_where_there_is_one() {
        let chance = Chance::seeded(4);
        let values: Vec<f64> = (0..400_u32).map(|k| 10.0 + 2.0 * chance.nth(k).normal()).collect();
        let m = mean(&values);
        // 1.96 sd / √n, and the bootstrap's own error of a thousand draws.
        assert!((m.half - 1.96 * 2.0 / 20.0).abs() < 0.03, "{m:?}");
        assert_eq!(m, mean(&values), "the same again");
    }

    #[test]
    fn the_ratio_of_proportional_costs_is_sure() {
        let r = ratio(&[1.0, 2.0, 3.0], &[2.0, 4.0, 6.0]);
        near(r.mean, 0.5);
        near(r.half, 0.0);
    }

    #[test]
    fn wilson_gives_the_values_of_the_book() {
        // 81 of 263: 0.2553 to 0.3662 (Newcombe 1998, table of methods, memory).
        let share = wilson(81, 263);
        near(share.low, 0.2553);
        near(share.high, 0.3662);
        near(wilson(0, 20).low, 0.0);
        near(wilson(0, 0).high, 1.0);
    }

    #[test]
    fn a_claim_a_hair_above_certainty_has_an_error_all_the_same() {
        let claims = [1.0 + f64::EPSILON, 1.0, 0.5].map(|said| Claim { job: 1, said, so: true });
        assert!(reliability(&claims).by_chance.is_finite());
    }

    #[test]
    fn just_claims_are_off_by_chance_and_boasts_by_more() {
        let chance = Chance::seeded(1);
        let claims = |boast: f64| -> Vec<Claim> {
            (0..4000_usize)
                .map(|job| {
                    let p = chance.of("p").nth(job).uniform();
                    let so = chance.of("so").nth(job).happens(p);
                    Claim { job, said: (p + boast).min(1.0), so }
                })
                .collect()
        };
        let just = reliability(&claims(0.0));
        assert!(just.error < 2.0 * just.by_chance, "{just:?}");
        let boast = reliability(&claims(0.1));
        assert!(boast.error > 4.0 * boast.by_chance, "{boast:?}");
    }
}
