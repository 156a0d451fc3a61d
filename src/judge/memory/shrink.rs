//! Counts weighed against what was believed before.
//!
//! In a job of one kind the cause is `c` with probability `odds[c] · m[c] · g[c, flags]` over their
//! sum. `odds` are the knowledge base's. `m`, a factor on a cause's weight, and `g`, one on what
//! a kind of recent work does to it, have gamma priors of mean 1: `m[c]` with the shape `prior[c]`,
//! `g` with the shape `flag_prior`. Given here is the posterior mode of their logarithms.
//!
//! With jobs of one kind and no flags this is the mean of a Dirichlet posterior, whose parameters
//! are `prior`, in proportion to the odds, plus the counts: `m[c] = (prior[c] + n[c]) / (prior[c] +
//! expected[c])`, what was seen over what was expected, drawn to 1. (Gammas that are normalised are
//! Dirichlet; the fixed point is that of D. R. Hunter, "MM algorithms for generalized Bradley–Terry
//! models", Annals of Statistics 32 (2004), with the gamma priors of Caron and Doucet, Journal of
//! Computational and Graphical Statistics 21 (2012).)
//!
//! It must not know what a cause or a flag is.

/// Jobs of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// What each cause's probability is in proportion to, before anything is learned; 0 where it
    /// cannot occur.
    pub odds: Vec<f64>,
    /// Flags that hold.
    pub flags: Vec<usize>,
    /// Jobs of each cause; 0 where `odds` are.
    pub seen: Vec<f64>,
}

/// All that is weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// How many jobs the belief in each cause is worth, above 0.
    pub prior: Vec<f64>,
    /// The same for each pair of cause and flag, above 0.
    pub flag_prior: f64,
    /// Cause and flag that have a factor of their own.
    pub pairs: Vec<(usize, usize)>,
    /// Jobs.
    pub groups: Vec<Group>,
}

/// What comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Factors {
    /// On the weight of each cause.
    pub causes: Vec<f64>,
    /// On what a flag does, one for each pair.
    pub pairs: Vec<f64>,
}

/// Relative change at which the factors have settled; they are shown to two digits.
const SETTLED: f64 = 1e-9;
/// Rounds after which they are taken as they are.
const ROUNDS: usize = 2000;

/// Weighs the counts.
#[must_use]
pub fn shrink(problem: &Problem) -> Factors {
    let count = problem.prior.len();
    let mut factors = Factors { causes: vec![1.0; count], pairs: vec![1.0; problem.pairs.len()] };
    let seen = |cause: usize| -> f64 { problem.groups.iter().map(|g| g.seen[cause]).sum() };
    let seen: Vec<f64> = (0..count).map(seen).collect();
    if seen.iter().all(|n| *n <= 0.0) {
        return factors;
    }
    for _ in 0..ROUNDS {
        let before = factors.clone();
        // How often each cause would be seen if its factor were 1 and all others as they are.
        let mut expected = vec![0.0; count];
        for group in &problem.groups {
            let shares = shares(problem, &factors, group);
            let jobs: f64 = group.seen.iter().sum();
            for cause in 0..count {
                expected[cause] += jobs * shares[cause] / factors.causes[cause];
            }
        }
        for cause in 0..count {
            let prior = problem.prior[cause];
            factors.causes[cause] = (prior + seen[cause]) / (prior + expected[cause]);
        }
        // A factor common to all says nothing, and only the prior holds it: so it is set at once.
        let all: f64 = problem.prior.iter().sum();
        let now: f64 = problem.prior.iter().zip(&factors.causes).map(|(a, m)| a * m).sum();
        factors.causes.iter_mut().for_each(|m| *m *= all / now);
        for (pair, &(cause, flag)) in problem.pairs.iter().enumerate() {
            let (mut seen, mut expected) = (0.0, 0.0);
            for group in problem.groups.iter().filter(|group| group.flags.contains(&flag)) {
                let jobs: f64 = group.seen.iter().sum();
                let share = shares(problem, &factors, group)[cause];
                seen += group.seen[cause];
                expected += jobs * share / factors.pairs[pair];
            }
            let prior = problem.flag_prior;
            factors.pairs[pair] = (prior + seen) / (prior + expected);
        }
        if near(&before.causes, &factors.causes) && near(&before.pairs, &factors.pairs) {
            break;
        }
    }
    factors
}

/// Probability of each cause in a job of a group.
fn shares(problem: &Problem, factors: &Factors, group: &Group) -> Vec<f64> {
    let mut shares: Vec<f64> =
        group.odds.iter().zip(&factors.causes).map(|(odds, m)| odds * m).collect();
    for (&(cause, flag), factor) in problem.pairs.iter().zip(&factors.pairs) {
        if group.flags.contains(&flag) {
            shares[cause] *= factor;
        }
    }
    let sum: f64 = shares.iter().sum();
    if sum > 0.0 {
        for share in &mut shares {
            *share /= sum;
        }
    }
    shares
}

fn near(before: &[f64], now: &[f64]) -> bool {
    before.iter().zip(now).all(|(a, b)| (a - b).abs() <= SETTLED * b.abs())
}

/// The mean of times told drawn to a time believed before, which is worth so many of them.
#[must_use]
pub fn drawn(believed: f64, worth: f64, times: u32, sum: f64) -> f64 {
    (worth * believed + sum) / (worth + f64::from(times))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() <= 1e-6 * b.abs().max(1.0)
    }

    fn one_group(prior: &[f64], seen: &[f64]) -> Problem {
        Problem {
            prior: prior.to_vec(),
            flag_prior: 2.0,
            pairs: Vec::new(),
            groups: vec![Group { odds: prior.to_vec(), flags: Vec::new(), seen: seen.to_vec() }],
        }
    }

    /// Shares of the causes before and after, the odds as given.
    fn share(odds: &[f64], factors: &Factors) -> Vec<f64> {
        let moved: Vec<f64> = odds.iter().zip(&factors.causes).map(|(o, m)| o * m).collect();
        let sum: f64 = moved.iter().sum();
        moved.iter().map(|m| m / sum).collect()
    }

    #[test]
    fn nothing_seen_moves_nothing() {
        let factors = shrink(&one_group(&[3.0, 5.0], &[0.0, 0.0]));
        assert_eq!(factors, Factors { causes: vec![1.0; 2], pairs: Vec::new() });
    }

    #[test]
    fn jobs_of_one_kind_are_a_dirichlet_update() {
        // Worked in A. Gelman et al., Bayesian Data Analysis, 3rd edition, section 3.4: a poll of
        // 1447 with 727, 583 and 137 answers and a uniform prior gives Dirichlet(728, 584, 138).
        let factors = shrink(&one_group(&[1.0; 3], &[727.0, 583.0, 137.0]));
        for (share, parameter) in share(&[1.0; 3], &factors).iter().zip([728.0, 584.0, 138.0]) {
            assert!(close(*share, parameter / 1450.0), "{factors:?}");
        }
    }

    #[test]
    fn times_are_drawn_to_what_was_believed() {
        assert!(close(drawn(10.0, 4.0, 0, 0.0), 10.0));
        assert!(close(drawn(10.0, 4.0, 4, 80.0), 15.0));
    }

    /// Derivative of the logarithm of what is maximised, by the logarithm of one factor, straight
    /// from the definition.
    fn slope(problem: &Problem, factors: &Factors, change: impl Fn(&mut Factors, f64)) -> f64 {
        let value = |step: f64| {
            let mut factors = factors.clone();
            change(&mut factors, step.exp());
            let gamma = |shape: f64, factor: f64| shape * (factor.ln() - factor);
            let mut sum = 0.0;
            for (shape, factor) in problem.prior.iter().zip(&factors.causes) {
                sum += gamma(*shape, *factor);
            }
            for factor in &factors.pairs {
                sum += gamma(problem.flag_prior, *factor);
            }
            for group in &problem.groups {
                let shares = shares(problem, &factors, group);
                for (seen, share) in group.seen.iter().zip(shares) {
                    if *seen > 0.0 {
                        sum += seen * share.ln();
                    }
                }
            }
            sum
        };
        (value(1e-4) - value(-1e-4)) / 2e-4
    }

    fn problem() -> impl Strategy<Value = Problem> {
        let group = (
            prop::collection::vec(0.1..5.0f64, 4),
            prop::collection::vec(any::<bool>(), 2),
            prop::collection::vec(0..30u32, 4),
        );
        let groups = prop::collection::vec(group, 1..5);
        (prop::collection::vec(0.2..20.0f64, 4), groups).prop_map(|(prior, groups)| Problem {
            prior,
            flag_prior: 2.0,
            pairs: vec![(0, 0), (2, 0), (1, 1)],
            groups: groups
                .into_iter()
                .map(|(odds, flags, seen)| Group {
                    odds,
                    flags: (0..2).filter(|&f| flags[f]).collect(),
                    seen: seen.into_iter().map(f64::from).collect(),
                })
                .collect(),
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn one_kind_of_job_without_flags_is_the_closed_form(
            rows in prop::collection::vec((0.1..30.0f64, 0..40u32), 2..8)
        ) {
            let prior: Vec<f64> = rows.iter().map(|row| row.0).collect();
            let seen: Vec<f64> = rows.iter().map(|row| f64::from(row.1)).collect();
            let factors = shrink(&one_group(&prior, &seen));
            let all: f64 = prior.iter().chain(&seen).sum();
            for ((share, prior), seen) in share(&prior, &factors).iter().zip(&prior).zip(&seen) {
                prop_assert!(close(*share, (prior + seen) / all));
            }
        }

        #[test]
        fn at_what_is_given_nothing_is_left_to_climb(problem in problem()) {
            let factors = shrink(&problem);
            for cause in 0..4 {
                let slope = slope(&problem, &factors, |f, by| f.causes[cause] *= by);
                prop_assert!(slope.abs() < 1e-3, "cause {cause}: {slope}");
            }
            for pair in 0..3 {
                let slope = slope(&problem, &factors, |f, by| f.pairs[pair] *= by);
                prop_assert!(slope.abs() < 1e-3, "pair {pair}: {slope}");
            }
        }
    }
}
