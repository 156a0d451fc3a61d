//! What a run comes to: cost, ends, trust, by way of working, by kind of engine and by seed.
//!
//! Bars that the program is held against stand here, with what was measured. It must not play a job.

use serde::Serialize;

use measure::number::real;

use super::act::Verdict;
use super::engine::JobKind;
use super::play::{Claimed, Ended, Outcome};
use super::policy::Policy;
use super::run::{Plan, Played};
use super::score::{Claim, Mean, Reliability, Share, mean, quantile, ratio, reliability, wilson};
use super::tables::Wrong;

/// What a way of working came to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Which.
    pub policy: Policy,
    /// Minutes of labour to the cure.
    pub cost: Mean,
    /// Median, nine in ten, ninety-nine in a hundred.
    pub tail: [f64; 3],
    /// Hands-on minutes, waiting, parts money; what came back left out.
    pub parts: [f64; 3],
    /// Mean number of acts.
    pub steps: f64,
    /// Of the jobs with something wrong: never found and put right by the work meant for it.
    pub never: Share,
    /// Jobs without an end.
    pub never_ended: Share,
    /// Jobs in which something noticeable was left, or that never ended.
    pub came_back: Share,
    /// Jobs that ended by the long search.
    pub searched: Share,
    /// Of the jobs with a cause of the list: found and cured by the work meant for it.
    pub cured: Share,
    /// Jobs with something noticeable wrong that were called normal.
    pub missed: Share,
    /// Jobs with something noticeable wrong that were called not found.
    pub not_found: Share,
    /// Jobs with nothing noticeable left that were called not found.
    pub left_unsure: Share,
    /// Of the jobs closed as proven: wrongly.
    pub false_proof: Share,
    /// Engine parts bought where nothing was the matter, in 100 jobs.
    pub healthy_parts: Mean,
    /// Tests done again with nothing touched: after a silent look, after one that spoke.
    pub repeats: [u32; 2],
    /// What it cost more than the program, on the same jobs.
    pub over_plan: Option<Mean>,
    /// The program's cost as a share of it.
    pub plan_share: Option<Mean>,
}

/// How far probabilities can be trusted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trust {
    /// Of whoever led when the job came in.
    pub first: Reliability,
    /// The same at the first, the middle and the last moment.
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

/// Some of the jobs: of one kind of engine, or of one seed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// Which.
    pub name: String,
    /// Jobs.
    pub jobs: usize,
    /// What the program spent.
    pub cost: Mean,
    /// Its cost as a share of others', by way of working.
    pub shares: Vec<(Policy, Mean)>,
    /// Of those with a listed cause: found and cured.
    pub cured: Share,
    /// Right the first time the work on a cause was given 0.95.
    pub sure_work: Share,
}

/// Everything of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// How wrong the knowledge base is about the world.
    pub wrong: Wrong,
    /// First seed.
    pub seed: u64,
    /// All seeds.
    pub seeds: Vec<u64>,
    /// Jobs.
    pub jobs: usize,
    /// Jobs by kind.
    pub kinds: Vec<(JobKind, usize)>,
    /// By way of working.
    pub lines: Vec<Line>,
    /// Of the program, if it was among them.
    pub trust: Option<Trust>,
    /// By kind of engine.
    pub presets: Vec<Part>,
    /// By seed.
    pub by_seed: Vec<Part>,
}

impl Summary {
    /// Index of the program among the ways of working, the first where it was not asked for.
    #[must_use]
    pub fn own(&self) -> usize {
        self.lines.iter().position(|l| l.policy == Policy::Plan).unwrap_or(0)
    }

    /// Jobs by what they cost that way of working, dearest first.
    #[must_use]
    pub fn dearest<'a>(&self, played: &'a [Played]) -> Vec<&'a Played> {
        let own = self.own();
        let cost = |p: &Played| p.outcomes.get(own).map_or(0.0, |o| o.total);
        let mut order: Vec<&Played> = played.iter().collect();
        let key = |p: &Played| (p.seed, p.number);
        order.sort_by(|a, b| cost(b).total_cmp(&cost(a)).then(key(a).cmp(&key(b))));
        order
    }
}

/// Sums up a run.
#[must_use]
pub fn summary(plan: Plan<'_>, played: &[Played]) -> Summary {
    let all: Vec<&Played> = played.iter().collect();
    let own = plan.policies.iter().position(|p| *p == Policy::Plan);
    let lines = plan.policies.iter().enumerate();
    let lines = lines.map(|(index, &policy)| line(policy, index, own, &all)).collect();
    let kinds =
        JobKind::ALL.iter().map(|&kind| (kind, all.iter().filter(|p| p.job.kind == kind).count()));
    let parts = |name: &dyn Fn(&Played) -> String| -> Vec<Part> {
        let mut names: Vec<String> = all.iter().map(|p| name(p)).collect();
        names.sort();
        names.dedup();
        let of = |wanted: &String| -> Vec<&Played> {
            all.iter().copied().filter(|p| name(p) == *wanted).collect()
        };
        own.map_or_else(Vec::new, |own| {
            names.iter().map(|wanted| part(plan, own, wanted.clone(), &of(wanted))).collect()
        })
    };
    Summary {
        wrong: plan.wrong,
        seed: plan.seeds.first().copied().unwrap_or(0),
        seeds: plan.seeds.to_vec(),
        jobs: all.len(),
        kinds: kinds.collect(),
        lines,
        trust: own.map(|own| trust(&outcomes(&all, own))),
        presets: parts(&|p| p.job.preset.clone()),
        by_seed: if plan.seeds.len() > 1 {
            parts(&|p| format!("seed {}", p.seed))
        } else {
            Vec::new()
        },
    }
}

fn outcomes<'a>(jobs: &[&'a Played], index: usize) -> Vec<&'a Outcome> {
    jobs.iter().map(|played| &played.outcomes[index]).collect()
}

fn totals(jobs: &[&Played], index: usize) -> Vec<f64> {
    outcomes(jobs, index).iter().map(|outcome| outcome.total).collect()
}

fn share<'a>(
    jobs: &[&'a Played],
    index: usize,
    of: impl Fn(&'a Played, &'a Outcome) -> bool,
) -> Share {
    let holds = jobs.iter().filter(|played| of(played, &played.outcomes[index])).count();
    wilson(holds, jobs.len())
}

/// Jobs with a cause of the list.
fn listed<'a>(jobs: &[&'a Played]) -> Vec<&'a Played> {
    let is = |p: &&Played| matches!(p.job.kind, JobKind::One | JobKind::Two);
    jobs.iter().copied().filter(is).collect()
}

fn line(policy: Policy, index: usize, own: Option<usize>, jobs: &[&Played]) -> Line {
    let list = outcomes(jobs, index);
    let values =
        |of: &dyn Fn(&Outcome) -> f64| -> Vec<f64> { list.iter().map(|o| of(o)).collect() };
    let own = own.filter(|own| *own != index);
    let total = totals(jobs, index);
    let said = |o: &Outcome, verdict| o.ended == Ended::Said(verdict);
    let ill: Vec<&Played> = jobs.iter().copied().filter(|p| p.job.kind != JobKind::Sound).collect();
    let proven: Vec<&Played> =
        jobs.iter().copied().filter(|p| said(&p.outcomes[index], Verdict::Proven)).collect();
    Line {
        policy,
        cost: mean(&total),
        tail: [0.5, 0.9, 0.99].map(|share| quantile(&total, share)),
        parts: [
            average(&values(&|o| o.cost.hands_on)),
            average(&values(&|o| o.cost.wait)),
            average(&values(&|o| o.cost.parts)),
        ],
        steps: average(&values(&|o| real(o.acts.len()))),
        never: share(&ill, index, |_, o| !o.cured),
        never_ended: share(jobs, index, |_, o| o.ended == Ended::Never),
        came_back: share(jobs, index, |_, o| o.left),
        searched: share(jobs, index, |_, o| o.ended == Ended::Searched),
        cured: share(&listed(jobs), index, |_, o| o.cured),
        missed: share(jobs, index, |_, o| said(o, Verdict::Normal) && o.left),
        not_found: share(jobs, index, |_, o| said(o, Verdict::NotFound) && o.left),
        left_unsure: share(jobs, index, |_, o| said(o, Verdict::NotFound) && !o.left),
        false_proof: share(&proven, index, |_, o| o.false_proof),
        healthy_parts: mean(&values(&|o| 100.0 * f64::from(o.parts_in_vain))),
        repeats: list.iter().fold([0, 0], |sum, o| [sum[0] + o.repeats[0], sum[1] + o.repeats[1]]),
        over_plan: own.map(|own| {
            let base = totals(jobs, own);
            mean(&total.iter().zip(base).map(|(cost, base)| cost - base).collect::<Vec<_>>())
        }),
        plan_share: own.map(|own| ratio(&totals(jobs, own), &total)),
    }
}

fn average(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / real(values.len()).max(1.0)
}

fn part(plan: Plan<'_>, own: usize, name: String, jobs: &[&Played]) -> Part {
    let others = plan.policies.iter().enumerate().filter(|(index, _)| *index != own);
    let cost = totals(jobs, own);
    Part {
        name,
        jobs: jobs.len(),
        cost: mean(&cost),
        shares: others
            .map(|(index, &policy)| (policy, ratio(&cost, &totals(jobs, index))))
            .collect(),
        cured: share(&listed(jobs), own, |_, o| o.cured),
        sure_work: right(outcomes(jobs, own).iter().filter_map(|o| o.sure_work)),
    }
}

fn right(list: impl Iterator<Item = bool>) -> Share {
    let list: Vec<bool> = list.collect();
    wilson(list.iter().filter(|right| **right).count(), list.len())
}

fn trust(outcomes: &[&Outcome]) -> Trust {
    // Three moments of a job at most, or the few that are long would outweigh the rest.
    let claims = |moments: &dyn Fn(usize) -> [usize; 3]| -> Vec<Claim> {
        let mut list = Vec::new();
        for (job, outcome) in outcomes.iter().enumerate() {
            let mut at = moments(outcome.claims.len()).to_vec();
            at.dedup();
            let said = at.into_iter().filter_map(|k| outcome.claims.get(k));
            list.extend(said.map(|claim| Claim { job, said: claim.top, so: claim.right }));
        }
        list
    };
    let ends = |of: &dyn Fn(&Claimed) -> f64| -> [Mean; 2] {
        let firsts: Vec<f64> = outcomes.iter().filter_map(|o| o.claims.first().map(of)).collect();
        let lasts: Vec<f64> = outcomes.iter().filter_map(|o| o.claims.last().map(of)).collect();
        [mean(&firsts), mean(&lasts)]
    };
    let closed = outcomes.iter().filter(|o| o.ended == Ended::Said(Verdict::Proven));
    Trust {
        first: reliability(&claims(&|_| [0; 3])),
        all: reliability(&claims(&|n| [0, n / 2, n.saturating_sub(1)])),
        brier: ends(&|claim| claim.squares),
        log_score: ends(&|claim| -claim.truth.max(1e-6).ln()),
        sure: right(outcomes.iter().filter_map(|o| o.sure)),
        sure_work: right(outcomes.iter().filter_map(|o| o.sure_work)),
        closed: right(closed.map(|o| !o.false_proof)),
    }
}
