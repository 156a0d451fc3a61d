//! Many jobs by several policies on the same engines.
//!
//! Jobs are shared out over threads and put back in order, so that the number of threads changes
//! nothing.

use std::sync::atomic::{AtomicUsize, Ordering};

use serde::Serialize;

use crate::knowledge::{Knowledge, Preset};

use super::play::{Ended, Outcome, play};
use super::policy::Policy;
use super::score::{
    Claim, Mean, Reliability, Share, mean, paired, quantile, ratio, reliability, wilson,
};
use super::wrong::{Truth, Wrong};
use super::{VirtualEngine, came_in};

/// What is to be run.
#[derive(Debug, Clone, Copy)]
pub struct Plan<'a> {
    /// The knowledge base that policies go by.
    pub known: &'a Knowledge,
    /// In what the world differs from it.
    pub wrong: Wrong,
    /// Engines, all presets if none.
    pub preset: Option<&'a Preset>,
    /// Number of the first job.
    pub from: u64,
    /// How many jobs.
    pub jobs: u64,
    /// Seed of world and jobs.
    pub seed: u64,
    /// Policies.
    pub policies: &'a [Policy],
    /// Threads; at least one is used.
    pub threads: usize,
}

/// A job and what each policy made of it.
#[derive(Debug, Clone)]
pub struct Played {
    /// Its number.
    pub number: u64,
    /// The engine.
    pub job: VirtualEngine,
    /// By policy, in the order asked for.
    pub outcomes: Vec<Outcome>,
}

/// Plays all jobs; shorter than asked for only where no engine could be drawn.
#[must_use]
pub fn run(plan: Plan<'_>) -> Vec<Played> {
    let truth = Truth::of(plan.known, plan.wrong, plan.seed);
    let jobs = usize::try_from(plan.jobs).unwrap_or(usize::MAX);
    let next = AtomicUsize::new(0);
    let one = |index: usize| -> Option<Played> {
        let number = u64::try_from(index).ok()?.checked_add(plan.from)?;
        let job = came_in(plan.known, &truth, plan.preset, plan.seed, number)?;
        let outcomes = plan.policies.iter().map(|&p| play(plan.known, &truth, &job, p)).collect();
        Some(Played { number, job, outcomes })
    };
    let mut all: Vec<Played> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..plan.threads.max(1))
            .map(|_| {
                scope.spawn(|| {
                    let mut done = Vec::new();
                    loop {
                        let index = next.fetch_add(1, Ordering::Relaxed);
                        if index >= jobs {
                            return done;
                        }
                        done.extend(one(index));
                    }
                })
            })
            .collect();
        // A worker that fails is a bug, and its panic is passed on.
        workers
            .into_iter()
            .flat_map(|worker| worker.join().unwrap_or_else(|e| std::panic::resume_unwind(e)))
            .collect()
    });
    all.sort_by_key(|played| played.number);
    all
}

/// What a policy came to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Which.
    pub policy: Policy,
    /// Minutes of labour to the proven cause.
    pub cost: Mean,
    /// Median, nine in ten, ninety-nine in a hundred.
    pub tail: [f64; 3],
    /// Hands-on minutes, waiting, parts money; what came back left out.
    pub parts: [f64; 3],
    /// Mean number of steps.
    pub steps: f64,
    /// Share in which what was the matter was never proven.
    pub never: Share,
    /// Share in which something came back.
    pub came_back: Share,
    /// Share that ended by the long search.
    pub searched: Share,
    /// Engine parts bought where nothing was the matter, in 100 jobs.
    pub healthy_parts: Mean,
    /// What it cost more than the program's plan, on the same jobs.
    pub over_plan: Option<Mean>,
    /// The program's cost as a share of it.
    pub plan_share: Option<Mean>,
}

/// How far probabilities can be trusted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trust {
    /// Of whoever led when the job came in.
    pub first: Reliability,
    /// The same at the first, the middle and the last moment of the program's plan.
    pub all: Reliability,
    /// Mean squared error over all suspects, first and last moment.
    pub brier: [Mean; 2],
    /// Mean of −ln of what the truth was given, first and last moment.
    pub log_score: [Mean; 2],
    /// Right the first time a cause was given 0.95.
    pub sure: Share,
    /// Right the first time the work on a cause was given 0.95.
    pub sure_work: Share,
    /// Right when it closed a job as proven.
    pub closed: Share,
}

/// Everything of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// In what the world was wrong.
    pub wrong: Wrong,
    /// Seed.
    pub seed: u64,
    /// Jobs.
    pub jobs: usize,
    /// By policy.
    pub lines: Vec<Line>,
    /// Of the program's diagnosis, if its plan was among the policies.
    pub trust: Option<Trust>,
}

impl Summary {
    /// Index of the program's plan among the policies, the first where it was not asked for.
    #[must_use]
    pub fn own(&self) -> usize {
        self.lines.iter().position(|l| l.policy == Policy::Plan).unwrap_or(0)
    }

    /// Jobs by what they cost that policy, dearest first.
    #[must_use]
    pub fn dearest<'a>(&self, played: &'a [Played]) -> Vec<&'a Played> {
        let own = self.own();
        let cost = |p: &Played| p.outcomes.get(own).map_or(0.0, |o| o.total);
        let mut order: Vec<&Played> = played.iter().collect();
        order.sort_by(|a, b| cost(b).total_cmp(&cost(a)).then(a.number.cmp(&b.number)));
        order
    }
}

/// Sums up a run.
#[must_use]
pub fn summary(plan: Plan<'_>, played: &[Played]) -> Summary {
    let of = |p: usize| -> Vec<&Outcome> { played.iter().map(|j| &j.outcomes[p]).collect() };
    let own = plan.policies.iter().position(|p| *p == Policy::Plan);
    let base: Option<Vec<f64>> = own.map(|p| of(p).iter().map(|o| o.total).collect());
    let lines = plan
        .policies
        .iter()
        .enumerate()
        .map(|(p, &policy)| line(policy, &of(p), base.as_deref().filter(|_| Some(p) != own)))
        .collect();
    let trust = own.map(|p| trust(&of(p)));
    Summary { wrong: plan.wrong, seed: plan.seed, jobs: played.len(), lines, trust }
}

fn line(policy: Policy, outcomes: &[&Outcome], base: Option<&[f64]>) -> Line {
    let values =
        |of: &dyn Fn(&Outcome) -> f64| -> Vec<f64> { outcomes.iter().map(|o| of(o)).collect() };
    let share = |of: &dyn Fn(&Outcome) -> bool| {
        wilson(outcomes.iter().filter(|o| of(o)).count(), outcomes.len())
    };
    let totals = values(&|o| o.total);
    let hundred = values(&|o| 100.0 * f64::from(o.healthy_parts));
    Line {
        policy,
        cost: mean(&totals),
        tail: [0.5, 0.9, 0.99].map(|share| quantile(&totals, share)),
        parts: [
            mean(&values(&|o| o.cost.hands_on)).mean,
            mean(&values(&|o| o.cost.wait)).mean,
            mean(&values(&|o| o.cost.parts)).mean,
        ],
        steps: mean(&values(&|o| f64::from(u32::try_from(o.steps.len()).unwrap_or(0)))).mean,
        never: share(&|o| !o.proven),
        came_back: share(&|o| o.came_back),
        searched: share(&|o| o.ended == Ended::Searched),
        healthy_parts: mean(&hundred),
        over_plan: base.map(|base| paired(&totals, base)),
        plan_share: base.map(|base| ratio(base, &totals)),
    }
}

fn trust(outcomes: &[&Outcome]) -> Trust {
    // Three moments of a job at most, or the few that go round in circles would outweigh the rest.
    let claims = |moments: &dyn Fn(usize) -> [usize; 3]| -> Vec<Claim> {
        let mut list = Vec::new();
        for (job, outcome) in outcomes.iter().enumerate() {
            let mut at = moments(outcome.said.len()).to_vec();
            at.dedup();
            let said = at.into_iter().filter_map(|k| outcome.said.get(k));
            list.extend(said.map(|s| Claim { job, said: s.top, so: s.right }));
        }
        list
    };
    let ends = |of: &dyn Fn(&super::Said) -> f64| -> [Mean; 2] {
        let firsts: Vec<f64> = outcomes.iter().filter_map(|o| o.said.first().map(of)).collect();
        let lasts: Vec<f64> = outcomes.iter().filter_map(|o| o.said.last().map(of)).collect();
        [mean(&firsts), mean(&lasts)]
    };
    let right = |list: Vec<bool>| wilson(list.iter().filter(|r| **r).count(), list.len());
    let closed = outcomes.iter().filter(|o| o.ended == Ended::Proven);
    Trust {
        first: reliability(&claims(&|_| [0; 3])),
        all: reliability(&claims(&|n| [0, n / 2, n.saturating_sub(1)])),
        brier: ends(&|s| s.squares),
        log_score: ends(&|s| -s.truth.max(1e-6).ln()),
        sure: right(outcomes.iter().filter_map(|o| o.sure).collect()),
        sure_work: right(outcomes.iter().filter_map(|o| o.sure_work).collect()),
        closed: right(closed.map(|o| o.proven && !o.came_back).collect()),
    }
}
