//! Weighing the hypotheses.
//!
//! Healthy, every single cause, and the pairs that matter. Pairs are screened with a quick
//! score, the best evaluated exactly, the rest summed up and reported. What to do about it is
//! not asked here.

#[cfg(test)]
mod course_laws;
#[cfg(test)]
mod full;
mod margins;
mod notes;
mod pairs;
mod scores;
mod single;
#[cfg(test)]
mod single_laws;
mod sound;
mod surprise;
mod ways;

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;

use super::linalg::log_sum_exp;
use super::model::{Model, Part};
use super::oddness::{odd_display, oddness};
use super::rank::by_chance;
use super::result::{Assessment, Hypothesis};
use margins::Margins;
use notes::notes;
use pairs::pairs;
use single::{Known, Lone};
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
    /// Sides and paths with their share of it.
    pub(crate) parts: Vec<(Vec<Part>, f64)>,
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
    let nothing = model.log_readings(&[], true) + model.log_words(&[]);
    let healthy_log = model.prior.healthy.ln() + nothing;
    let mut known = Known::nothing(&model);
    let best = glanced(&mut model, &mut known, healthy_log);
    let singles: Vec<Weighed> =
        (0..model.candidates.len()).map(|c| single(&model, &mut known, c, best)).collect();
    let healthy = Weighed {
        candidates: Vec::new(),
        log: healthy_log,
        log_likelihood: nothing,
        parts: vec![(Vec::new(), 1.0)],
    };
    let alone = singles.iter().map(|s| s.log_likelihood).collect();
    let logs: Vec<f64> = singles.iter().map(|s| s.log).collect();
    let best = log_sum_exp(&logs).max(healthy.log);
    let likeliest = singles.iter().max_by(|a, b| by_chance(a.log, b.log));
    if let Some(single) = likeliest.filter(|single| single.log > healthy.log) {
        model.glance_as(&single.parts[0].0);
    }
    let (pairs, dropped) = pairs(&model, &singles, best);
    let mut all = vec![healthy];
    all.extend(singles);
    all.extend(pairs);
    let logs: Vec<f64> = all.iter().map(|h| h.log).collect();
    let total = log_sum_exp(&logs);
    let dropped = (dropped - log_sum_exp(&[total, dropped])).exp();
    answer(model, all, alone, best, total, dropped)
}

/// Log weight of the best explanation with no more than one fault as far as a glance tells which it is, so
/// that only what comes near it is looked at closely. The scales at which is glanced become also those of
/// the likeliest fault.
fn glanced(model: &mut Model<'_>, known: &mut Known, healthy: f64) -> f64 {
    let mut log = |c: usize| model.candidates[c].prior.ln() + known.at_a_glance(model, c);
    let logs = (0..model.candidates.len()).map(|c| (c, log(c)));
    let Some((likeliest, _)) = logs.max_by(|a, b| by_chance(a.1, b.1)) else { return healthy };
    let single = single(model, known, likeliest, f64::NEG_INFINITY);
    if single.log > healthy {
        model.glance_as(&single.parts[0].0);
        known.forget_glances();
    }
    single.log.max(healthy)
}

/// Share of the likeliest way below which a way is not handed on: what is foreseen from those that are
/// is right to a millionth.
const SHARE: f64 = 1e-8;

/// Log of the sum over sides and paths, and the shares that matter. `parts` says which parts a term is of.
fn weigh<T>(
    candidates: Vec<usize>,
    log_prior: f64,
    terms: Vec<(T, f64)>,
    parts: impl Fn(T) -> Vec<Part>,
) -> Weighed {
    let logs: Vec<f64> = terms.iter().map(|(_, log)| *log).collect();
    let sum = log_sum_exp(&logs);
    let share = |log: f64| (log - sum).exp();
    let most = logs.iter().copied().max_by(f64::total_cmp).map_or(0.0, share);
    let mut parts: Vec<(Vec<Part>, f64)> = terms
        .into_iter()
        .map(|(term, log)| (term, share(log)))
        .filter(|(_, share)| *share >= most * SHARE)
        .map(|(term, share)| (parts(term), share))
        .collect();
    parts.sort_by(|a, b| by_chance(b.1, a.1));
    Weighed { candidates, log: log_prior + sum, log_likelihood: sum, parts }
}

/// A single cause.
fn single(model: &Model<'_>, known: &mut Known, candidate: usize, best: f64) -> Weighed {
    let log_prior = model.candidates[candidate].prior.ln();
    let ways = known.ways(model, candidate, log_prior, best);
    let terms = ways.iter().map(|lone: &Lone| (lone.part, lone.log())).collect();
    weigh(vec![candidate], log_prior, terms, |part| vec![part])
}

/// Sums up the ways of an explanation.
fn summed(model: &Model<'_>, candidates: Vec<usize>, log_prior: f64, best: f64) -> Weighed {
    let terms = ways(model, &candidates, log_prior, best)
        .into_iter()
        .map(|way| (way.parts, way.weight + way.readings + way.words))
        .collect();
    weigh(candidates, log_prior, terms, |parts| parts)
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
    let last = model.timeline.disturbances.len().min(super::path::MOST);
    let chance = |weighed: &Weighed| (weighed.log - total).exp();
    all.sort_by(|a, b| {
        by_chance(chance(b), chance(a)).then_with(|| a.candidates.cmp(&b.candidates))
    });
    let looks = model.data.sets.len();
    let share_of = |weighed: &Weighed, which: &dyn Fn(&Part) -> bool| -> Vec<f64> {
        let sum: f64 = weighed.parts.iter().map(|(_, share)| share).sum();
        (0..weighed.candidates.len())
            .map(|k| {
                let those = weighed.parts.iter().filter(|(parts, _)| which(&parts[k]));
                those.map(|(_, share)| share).sum::<f64>() / sum
            })
            .collect()
    };
    let there = |part: &Part| part.presence >> last & 1 == 1;
    let rests = |part: &Part| there(part) && looks > 0 && !part.shows_in(last, looks - 1);
    let answered = |weighed: &Weighed| Hypothesis {
        faults: weighed.candidates.iter().map(|&c| model.candidates[c].fault).collect(),
        probability: chance(weighed),
        present: share_of(weighed, &there),
        resting: share_of(weighed, &rests),
    };
    let hypotheses: Vec<Hypothesis> = all.iter().map(answered).collect();
    let margins = Margins::of(&model, &hypotheses);
    let surprise = surprise(&model, &all[0]);
    let sound = sound::sound(&model, &all, total);

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
