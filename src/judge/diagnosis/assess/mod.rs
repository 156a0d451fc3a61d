//! Weighing the hypotheses.
//!
//! Healthy, every single cause, and the pairs that matter. Pairs are screened with a quick
//! score, the best evaluated exactly, the rest summed up and reported. What to do about it is
//! not asked here.

#[cfg(test)]
mod complaint_laws;
mod couple;
#[cfg(test)]
mod couple_laws;
#[cfg(test)]
mod course_laws;
#[cfg(test)]
mod full;
mod manners;
mod margins;
mod notes;
mod pairs;
mod scores;
mod single;
#[cfg(test)]
mod single_laws;
mod still_there;
mod surprise;
mod ways;

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;

use super::linalg::log_sum_exp;
use super::model::{Model, Part};
use super::oddness::{odd_display, oddness};
use super::rank::by_chance;
use super::result::{Assessment, Hypothesis};
use couple::Listed;
use margins::Margins;
use notes::notes;
use pairs::pairs;
use single::Known;
use still_there::StillThere;
use surprise::surprise;
pub(crate) use ways::{Way, ways};

/// Hypotheses handed on, at the most.
const MOST_KEPT: usize = 400;

/// An explanation with everything the planner needs to look ahead.
#[derive(Debug, Clone)]
pub(crate) struct Weighed {
    /// Candidates it is made of.
    pub(crate) candidates: Vec<usize>,
    /// Log of prior times likelihood.
    pub(crate) log: f64,
    /// Log of the likelihood alone.
    pub(crate) log_likelihood: f64,
    /// Sides and paths with their share of it; the likeliest alone of what is not handed on.
    pub(crate) parts: Vec<(Vec<Part>, f64)>,
    /// What is asked of every explanation.
    still: StillThere,
    /// All ways of two faults, until it is known whether they are handed on.
    listed: Option<Listed>,
}

/// A diagnosis with its workings.
#[derive(Debug)]
pub struct Diagnosis<'a> {
    pub(crate) model: Model<'a>,
    /// The hypotheses of [`Assessment::hypotheses`], in the same order.
    pub(crate) kept: Vec<Weighed>,
    /// Log likelihood of each candidate alone.
    pub(crate) alone: Vec<f64>,
    /// Log weight of the explanations without pairs, which pairs are held against.
    pub(crate) best: f64,
    /// The answer.
    pub assessment: Assessment,
}

/// Judges a job.
#[must_use]
pub fn assess(knowledge: &Knowledge, timeline: &Timeline) -> Assessment {
    diagnose(knowledge, timeline).assessment
}

/// Judges a job and keeps the workings.
#[must_use]
pub fn diagnose<'a>(knowledge: &'a Knowledge, timeline: &'a Timeline) -> Diagnosis<'a> {
    let mut model = Model::new(knowledge, timeline);
    let mut known = Known::nothing(&model);
    let Explained { all, alone, best, near, dropped } = explained(&mut model, &mut known);
    let logs: Vec<f64> = all.iter().map(|h| h.log).collect();
    let total = log_sum_exp(&logs);
    let dropped = (dropped - log_sum_exp(&[total, dropped])).exp();
    let mut diagnosis = answer(model, all, alone, best, total, dropped);
    for weighed in &mut diagnosis.kept {
        if let &[candidate] = weighed.candidates.as_slice() {
            weighed.parts = single(&diagnosis.model, &mut known, candidate, near).parts;
        }
    }
    diagnosis
}

/// Every explanation that is looked at.
struct Explained {
    /// Nothing wrong, every single cause, the pairs that matter.
    all: Vec<Weighed>,
    /// Log likelihood of each candidate alone.
    alone: Vec<f64>,
    /// Log weight of those without pairs.
    best: f64,
    /// The same at a glance, which ways of a single cause are held against.
    near: f64,
    /// Log weight of the pairs that were left out.
    dropped: f64,
}

fn explained(model: &mut Model<'_>, known: &mut Known) -> Explained {
    let nothing = model.log_readings(&[], true) + model.log_words(&[]);
    let healthy_log = model.prior.healthy.ln() + nothing;
    let near = glanced(model, known, healthy_log);
    let mut singles: Vec<Weighed> = model
        .those_alike_together()
        .into_iter()
        .map(|c| weighed(model, known, c, near, false).with_likely_ways())
        .collect();
    singles.sort_by_key(|single| single.candidates[0]);
    let healthy = Weighed {
        candidates: Vec::new(),
        log: healthy_log,
        log_likelihood: nothing,
        parts: vec![(Vec::new(), 1.0)],
        still: StillThere::default(),
        listed: None,
    };
    let alone = singles.iter().map(|s| s.log_likelihood).collect();
    let logs: Vec<f64> = singles.iter().map(|s| s.log).collect();
    let best = log_sum_exp(&logs).max(healthy.log);
    let likeliest = singles.iter().max_by(|a, b| by_chance(a.log, b.log));
    if let Some(single) = likeliest.filter(|single| single.log > healthy.log) {
        model.glance_as(&single.parts[0].0);
    }
    let (pairs, dropped) = pairs(model, &singles, best);
    let mut all = vec![healthy];
    all.extend(singles);
    all.extend(pairs);
    Explained { all, alone, best, near, dropped }
}

/// Log weight of the best explanation with no more than one fault as far as a glance tells which it is, so
/// that only what comes near it is looked at closely. The scales at which is glanced become also those of
/// the likeliest fault.
fn glanced(model: &mut Model<'_>, known: &mut Known, healthy: f64) -> f64 {
    let Some(likeliest) = likeliest(model, known) else { return healthy };
    let single = single(model, known, likeliest, f64::NEG_INFINITY);
    if single.log > healthy {
        model.glance_as(&single.parts[0].0);
        known.forget_glances();
    }
    single.log.max(healthy)
}

/// The cause that weighs most at a glance. Only those are glanced at that may come to more than the best so
/// far, those first that may come to most.
fn likeliest(model: &Model<'_>, known: &mut Known) -> Option<usize> {
    let prior = |c: usize| model.candidates[c].prior.ln() + model.log_besides(&[c]);
    let mut most: Vec<(usize, f64)> = Vec::with_capacity(model.candidates.len());
    for c in model.those_alike_together() {
        most.push((c, prior(c) + known.at_most(model, c)));
    }
    most.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut logs: Vec<(usize, f64)> = Vec::new();
    let mut best = f64::NEG_INFINITY;
    for (c, at_most) in most {
        if at_most < best - 1e-6 {
            break;
        }
        let log = prior(c) + known.at_a_glance(model, c);
        best = best.max(log);
        logs.push((c, log));
    }
    logs.sort_by_key(|(c, _)| *c);
    logs.into_iter().max_by(|a, b| by_chance(a.1, b.1)).map(|(c, _)| c)
}

/// Share of the likeliest way below which a way is not handed on: what is foreseen from those that are
/// is right to a millionth.
const SHARE: f64 = 1e-8;

/// Share of a single cause's likeliest way below which a way is not kept, and ways that are kept at the most: they are
/// looked at beside another cause too.
const LIKELY_WAY: f64 = 0.02;
const LIKELY_WAYS: usize = 16;

/// Log of the share of the best explanation below which none is handed on: it would have to be a share of a
/// hundred-thousandth together with all that are less likely still, of which there are no ten thousand.
const UNHEARD: f64 = 22.0;

impl Weighed {
    /// Only the likely ways are kept, the likeliest first. Of a single cause the others are listed again, from figures
    /// that are known, once it is clear that it is handed on: there are hundreds of causes with a thousand ways each.
    fn with_likely_ways(mut self) -> Self {
        let least = self.parts.first().map_or(0.0, |(_, share)| LIKELY_WAY * share);
        let likely = self.parts.iter().take(LIKELY_WAYS).take_while(|(_, share)| *share >= least);
        self.parts.truncate(likely.count());
        self.parts.shrink_to_fit();
        self
    }
}

/// A single cause with all its ways.
fn single(model: &Model<'_>, known: &mut Known, candidate: usize, best: f64) -> Weighed {
    weighed(model, known, candidate, best, true)
}

/// A single cause with all its ways, or with those that are likely.
fn weighed(
    model: &Model<'_>,
    known: &mut Known,
    candidate: usize,
    best: f64,
    all: bool,
) -> Weighed {
    let log_prior = model.candidates[candidate].prior.ln() + model.log_besides(&[candidate]);
    known.weighed(model, candidate, log_prior, best, all)
}

/// Sorts the hypotheses and sums them up; few of them are handed on.
fn answer(
    model: Model<'_>,
    mut all: Vec<Weighed>,
    alone: Vec<f64>,
    best: f64,
    total: f64,
    dropped: f64,
) -> Diagnosis<'_> {
    let chance = |weighed: &Weighed| (weighed.log - total).exp();
    all.sort_by(|a, b| {
        by_chance(chance(b), chance(a)).then_with(|| a.candidates.cmp(&b.candidates))
    });
    let answered = |weighed: &Weighed| Hypothesis {
        faults: weighed.candidates.iter().map(|&c| model.candidates[c].fault).collect(),
        probability: chance(weighed),
        present: weighed.still.present.clone(),
        resting: weighed.still.resting.clone(),
    };
    let hypotheses: Vec<Hypothesis> = all.iter().map(answered).collect();
    let margins = Margins::of(&model, &hypotheses);
    let surprise = surprise(&model, &all[0]);
    let sound = still_there::sound(&all, total);

    let mut reached = 0.0;
    let mut keep = 0;
    for h in &hypotheses {
        if keep == MOST_KEPT || reached > 1.0 - 1e-5 {
            break;
        }
        reached += h.probability;
        keep += 1;
    }
    let mut kept_hypotheses = hypotheses;
    kept_hypotheses.truncate(keep);
    let sum: f64 = kept_hypotheses.iter().map(|h| h.probability).sum();
    for h in &mut kept_hypotheses {
        h.probability /= sum;
    }
    all.truncate(keep);
    for weighed in &mut all {
        if let Some(listed) = weighed.listed.take() {
            weighed.parts = listed.parts();
        }
    }
    let oddness = oddness(model.knowledge, model.timeline);
    let assessment = Assessment {
        healthy: margins.healthy,
        suspects: margins.suspects,
        groups: margins.groups,
        seats: margins.seats,
        hypotheses: kept_hypotheses,
        pairs_dropped_mass: dropped,
        present: margins.present,
        sound,
        odd_display: odd_display(model.timeline, &oddness),
        oddness,
        surprise,
        notes: notes(&model),
    };
    Diagnosis { model, kept: all, alone, best, assessment }
}
