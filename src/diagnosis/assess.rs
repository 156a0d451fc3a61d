//! Weighing the hypotheses.
//!
//! Healthy, every single cause, and the pairs that matter. Pairs are screened with a quick
//! score, the best evaluated exactly, the rest summed up and reported. What to do about it is
//! not asked here.

#[cfg(test)]
mod full;
mod ways;

use std::collections::BTreeMap;

use statrs::distribution::{ContinuousCDF, FisherSnedecor, Normal};

use crate::engine::Cylinder;
use crate::job::arrangement::Arrangement;
use crate::job::timeline::Timeline;
use crate::knowledge::{Knowledge, Seat};

use super::linalg::log_sum_exp;
use super::model::{Model, Part};
use super::oddness::{odd_display, oddness};
use super::path::Presence;
use super::prior::pairs_up;
use super::result::{Assessment, CauseRef, Fault, Hypothesis, Note, Surprise, Suspect};
pub(crate) use ways::{Way, ways};

/// Pairs evaluated exactly, at the most.
const MOST_PAIRS: usize = 600;
/// Hypotheses handed on, at the most.
const MOST_KEPT: usize = 400;
/// Displays whose partners are looked for.
const MOST_DISPLAYS: usize = 3;
/// Log of the share of the best explanation below which a pair is not worth evaluating.
const NEGLIGIBLE: f64 = -12.0;

/// Log of the factor by which the pairs left out are taken to weigh more than their scores, at
/// least: scores leave out that a number may be misread. Ratios of up to 1.5 were seen when every
/// pair was weighed (`full`), so two.
const SLACK: f64 = std::f64::consts::LN_2;

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
    let model = Model::new(knowledge, timeline);
    let singles: Vec<Weighed> = (0..model.candidates.len()).map(|c| single(&model, c)).collect();
    let nothing = model.log_readings(&[], true) + model.log_words(&[]);
    let healthy = Weighed {
        candidates: Vec::new(),
        log: model.prior.healthy.ln() + nothing,
        log_likelihood: nothing,
        parts: vec![(Vec::new(), 1.0)],
    };
    let alone = singles.iter().map(|s| s.log_likelihood).collect();
    let logs: Vec<f64> = singles.iter().map(|s| s.log).collect();
    let best = log_sum_exp(&logs).max(healthy.log);
    let (pairs, dropped) = pairs(&model, &singles, best);
    let mut all = vec![healthy];
    all.extend(singles);
    all.extend(pairs);
    let logs: Vec<f64> = all.iter().map(|h| h.log).collect();
    let total = log_sum_exp(&logs);
    let dropped = (dropped - log_sum_exp(&[total, dropped])).exp();
    answer(model, all, alone, best, total, dropped)
}

/// Log of the sum over sides and paths, and the shares that matter.
fn weigh(candidates: Vec<usize>, log_prior: f64, terms: Vec<(Vec<Part>, f64)>) -> Weighed {
    let logs: Vec<f64> = terms.iter().map(|(_, log)| *log).collect();
    let sum = log_sum_exp(&logs);
    let mut parts: Vec<(Vec<Part>, f64)> =
        terms.into_iter().map(|(parts, log)| (parts, (log - sum).exp())).collect();
    parts.sort_by(|a, b| b.1.total_cmp(&a.1));
    let least = parts.first().map_or(0.0, |p| p.1) * 1e-4;
    parts.retain(|p| p.1 >= least);
    Weighed { candidates, log: log_prior + sum, log_likelihood: sum, parts }
}

/// A single cause.
fn single(model: &Model<'_>, candidate: usize) -> Weighed {
    summed(model, vec![candidate], model.candidates[candidate].prior.ln(), f64::NEG_INFINITY)
}

/// Sums up the ways of an explanation.
fn summed(model: &Model<'_>, candidates: Vec<usize>, log_prior: f64, best: f64) -> Weighed {
    let terms = ways(model, &candidates, log_prior, best)
        .into_iter()
        .map(|way| (way.parts, way.weight + way.readings + way.words))
        .collect();
    weigh(candidates, log_prior, terms)
}

/// What a candidate alone says, split so that pairs can be scored quickly.
struct Alone {
    /// Log likelihood of the readings, summed over sides and paths.
    readings: f64,
    /// Log chance of each counted finding.
    words: Vec<f64>,
    /// Displays it shows on with parts in their first places.
    displays: Vec<Cylinder>,
}

fn alone(model: &Model<'_>, candidate: usize, original: &Arrangement) -> Alone {
    let c = &model.candidates[candidate];
    let mut logs = Vec::new();
    for path in &c.paths {
        for (side, moments) in model.sides(candidate).iter().enumerate() {
            if c.renaming.is_some() && side > 0 {
                break;
            }
            let share = if c.renaming.is_some() { 1.0 } else { moments.share };
            let part = Part { candidate, side, presence: path.presence };
            logs.push(model.log_readings(&[part], false) + (share * path.probability).ln());
        }
    }
    let part = Part { candidate, side: 0, presence: Presence::MAX };
    let words = model
        .findings
        .iter()
        .map(|&f| {
            let finding = &model.timeline.findings[f];
            model.finding_row(&[part], finding)[finding.outcome].ln()
        })
        .collect();
    Alone { readings: log_sum_exp(&logs), words, displays: model.displays(c, original, &[]) }
}

/// The pairs that matter, and the log of the summed score of the others.
fn pairs(model: &Model<'_>, singles: &[Weighed], best: f64) -> (Vec<Weighed>, f64) {
    let eligible: Vec<usize> = (0..model.candidates.len())
        .filter(|&c| pairs_up(model.knowledge, model.candidates[c].fault))
        .collect();
    let sum: f64 = eligible.iter().map(|&c| model.candidates[c].prior).sum();
    let squares: f64 = eligible.iter().map(|&c| model.candidates[c].prior.powi(2)).sum();
    let norm = (sum * sum - squares) / 2.0;
    if norm <= 0.0 || model.prior.pairs <= 0.0 {
        return (Vec::new(), f64::NEG_INFINITY);
    }
    let log_norm = model.prior.pairs.ln() - norm.ln();
    let log_prior = |a: usize, b: usize| {
        log_norm + (model.candidates[a].prior * model.candidates[b].prior).ln()
    };
    let original = Arrangement::original(model.timeline.engine.cylinders);
    let alone: Vec<Alone> =
        (0..model.candidates.len()).map(|c| alone(model, c, &original)).collect();
    let silent: Vec<f64> = model
        .findings
        .iter()
        .map(|&f| {
            let finding = &model.timeline.findings[f];
            model.finding_row(&[], finding)[finding.outcome].ln()
        })
        .collect();
    // Two causes in one table: near enough the louder of the two, or both quiet.
    let words = |a: usize, b: usize| -> f64 {
        let (a, b) = (&alone[a].words, &alone[b].words);
        (0..silent.len()).map(|f| a[f].max(b[f]).max(a[f] + b[f] - silent[f]).min(0.0)).sum()
    };
    let mut scores = Scores { least: best + NEGLIGIBLE - 2.0, list: Vec::new(), rest: 0.0, best };
    let displays = suspicious_displays(model, singles, &alone);
    score_pairs(model, &displays, &eligible, &alone, &words, &log_prior, &mut scores);
    let (ranking, rest) = scores.ranked();
    let keep =
        ranking.iter().take(MOST_PAIRS).take_while(|(_, score)| *score > best + NEGLIGIBLE).count();
    let mut optimism = 0.0_f64;
    let exact: Vec<Weighed> = ranking[..keep]
        .iter()
        .map(|&((a, b), score)| {
            let weighed = summed(model, vec![a, b], log_prior(a, b), best);
            // How far the score was below the truth, among the pairs that carry weight.
            if weighed.log > best - 7.0 {
                optimism = optimism.max(weighed.log - score);
            }
            weighed
        })
        .collect();
    let mut left: Vec<f64> = ranking[keep..].iter().map(|(_, score)| *score).collect();
    left.push(rest);
    let elsewhere = elsewhere(singles, &eligible, &alone, &displays) + log_norm;
    (exact, log_sum_exp(&[log_sum_exp(&left) + optimism.clamp(SLACK, 3.0), elsewhere]))
}

/// A pair of candidates and its log score.
type Scored = ((usize, usize), f64);

/// Log of the sum over pairs that get no score, none of the two being on a suspicious display, of
/// priors times the larger likelihood of the two alone: away from what looks odd the one does
/// not mend what the other leaves. The sum of both likelihoods is taken for the larger.
fn elsewhere(
    singles: &[Weighed],
    eligible: &[usize],
    alone: &[Alone],
    suspicious: &[Cylinder],
) -> f64 {
    let away = |c: &&usize| alone[**c].displays.iter().all(|d| !suspicious.contains(d));
    let (priors, joints): (Vec<f64>, Vec<f64>) = eligible
        .iter()
        .filter(away)
        .map(|&c| (singles[c].log - singles[c].log_likelihood, singles[c].log))
        .unzip();
    log_sum_exp(&priors) + log_sum_exp(&joints)
}

/// Quick scores of pairs.
struct Scores {
    /// Log score from which a pair is listed.
    least: f64,
    list: Vec<Scored>,
    /// Sum of the scores that are not listed, relative to `best`.
    rest: f64,
    best: f64,
}

impl Scores {
    fn add(&mut self, a: usize, b: usize, score: f64) {
        if score > self.least {
            self.list.push(((a.min(b), a.max(b)), score));
        } else {
            self.rest += (score - self.best).exp();
        }
    }

    /// Pairs once each with their best score, best first, and the log of the rest.
    fn ranked(mut self) -> (Vec<Scored>, f64) {
        self.list.sort_unstable_by(|x, y| x.0.cmp(&y.0).then(y.1.total_cmp(&x.1)));
        self.list.dedup_by_key(|entry| entry.0);
        self.list.sort_unstable_by(|x, y| y.1.total_cmp(&x.1).then_with(|| x.0.cmp(&y.0)));
        (self.list, self.rest.ln() + self.best)
    }
}

/// Quick scores of all pairs with at least one fault on a display that looks odd, or alone on the
/// whole when nothing does.
///
/// For causes on different displays, likelihoods nearly multiply once the odd display's numbers
/// are taken as explained; for two on one display, and for misnamed displays, the better of the
/// two is taken with allowance for what the second may add.
fn score_pairs(
    model: &Model<'_>,
    displays: &[Cylinder],
    eligible: &[usize],
    alone: &[Alone],
    words: &dyn Fn(usize, usize) -> f64,
    log_prior: &dyn Fn(usize, usize) -> f64,
    scores: &mut Scores,
) {
    for &display in displays {
        let without = model.without_display(display);
        let nothing = without.log_readings(&[], false);
        let gain: Vec<f64> = (0..model.candidates.len())
            .map(|c| {
                let c_alone = &alone[c];
                if c_alone.displays.contains(&display) || model.candidates[c].renaming.is_some() {
                    return 0.0;
                }
                readings_of(&without, c) - nothing
            })
            .collect();
        let here: Vec<usize> =
            eligible.iter().copied().filter(|&c| alone[c].displays.contains(&display)).collect();
        for &a in &here {
            for &b in eligible {
                if a == b {
                    continue;
                }
                let readings = if alone[b].displays.contains(&display) {
                    if b < a {
                        continue;
                    }
                    // The second may mend up to this much of what the first leaves.
                    alone[a].readings.max(alone[b].readings) + 1.5
                } else {
                    alone[a].readings + gain[b]
                };
                scores.add(a, b, log_prior(a, b) + readings + words(a, b));
            }
        }
        misnamed_scores(model, display, eligible, alone, words, log_prior, scores);
    }
}

/// A fault on another cylinder that shows here because the two are misnamed.
fn misnamed_scores(
    model: &Model<'_>,
    display: Cylinder,
    eligible: &[usize],
    alone: &[Alone],
    words: &dyn Fn(usize, usize) -> f64,
    log_prior: &dyn Fn(usize, usize) -> f64,
    scores: &mut Scores,
) {
    let twin: BTreeMap<(CauseRef, Cylinder), usize> = eligible
        .iter()
        .filter_map(|&c| {
            let fault = model.candidates[c].fault;
            Some(((fault.cause, fault.place.cylinder()?), c))
        })
        .collect();
    for &m in eligible.iter().filter(|&&m| model.candidates[m].renaming.is_some()) {
        let pair = model.candidates[m].fault.place.cylinders(&model.timeline.engine);
        let Some(&other) = pair.iter().find(|c| **c != display).filter(|_| pair.contains(&display))
        else {
            continue;
        };
        for &b in eligible.iter().filter(|&&b| alone[b].displays == [other]) {
            let Some(&shown) = twin.get(&(model.candidates[b].fault.cause, display)) else {
                continue;
            };
            scores.add(m, b, log_prior(m, b) + alone[shown].readings + words(m, b));
        }
    }
}

fn readings_of(model: &Model<'_>, candidate: usize) -> f64 {
    let c = &model.candidates[candidate];
    let mut logs = Vec::new();
    for path in c.paths.iter().filter(|path| path.probability >= 0.02) {
        for (side, moments) in model.sides(candidate).iter().enumerate() {
            let part = Part { candidate, side, presence: path.presence };
            logs.push(model.log_readings(&[part], false) + (moments.share * path.probability).ln());
        }
    }
    log_sum_exp(&logs)
}

/// Displays that single causes are suspected on, most suspected first.
fn suspicious_displays(model: &Model<'_>, singles: &[Weighed], alone: &[Alone]) -> Vec<Cylinder> {
    let mut by_display: BTreeMap<Cylinder, Vec<f64>> = BTreeMap::new();
    for single in singles {
        for &display in &alone[single.candidates[0]].displays {
            by_display.entry(display).or_default().push(single.log);
        }
    }
    let mut list: Vec<(Cylinder, f64)> =
        by_display.into_iter().map(|(display, logs)| (display, log_sum_exp(&logs))).collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let best = list.first().map_or(0.0, |d| d.1);
    let some_reading = !model.data.rows.is_empty() || !model.findings.is_empty();
    list.into_iter()
        .filter(|(_, log)| some_reading && *log > best - 9.0)
        .take(MOST_DISPLAYS)
        .map(|(display, _)| display)
        .collect()
}

fn answer(
    model: Model<'_>,
    mut all: Vec<Weighed>,
    alone: Vec<f64>,
    best: f64,
    total: f64,
    dropped: f64,
) -> Diagnosis<'_> {
    let last = model.timeline.disturbances.len().min(super::path::MOST);
    all.sort_by(|a, b| b.log.total_cmp(&a.log).then_with(|| a.candidates.cmp(&b.candidates)));
    let answered = |weighed: &Weighed| Hypothesis {
        faults: weighed.candidates.iter().map(|&c| model.candidates[c].fault).collect(),
        probability: (weighed.log - total).exp(),
        present: (0..weighed.candidates.len())
            .map(|k| {
                let there = weighed.parts.iter().filter(|(p, _)| p[k].presence >> last & 1 == 1);
                let sum: f64 = weighed.parts.iter().map(|(_, share)| share).sum();
                there.map(|(_, share)| share).sum::<f64>() / sum
            })
            .collect(),
    };
    let hypotheses: Vec<Hypothesis> = all.iter().map(answered).collect();
    let margins = Margins::of(&model, &hypotheses);
    let surprise = surprise(&model, &all[0]);

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
        odd_display: odd_display(model.timeline, &oddness),
        oddness,
        surprise,
        notes: notes(&model),
    };
    Diagnosis { model, kept: all, alone, best, assessment }
}

/// Sums over all hypotheses.
struct Margins {
    healthy: f64,
    present: f64,
    suspects: Vec<Suspect>,
    groups: Vec<(usize, f64)>,
    seats: Vec<(Seat, f64)>,
}

impl Margins {
    fn of(model: &Model<'_>, hypotheses: &[Hypothesis]) -> Self {
        let knowledge = model.knowledge;
        let mut suspects: BTreeMap<Fault, (f64, f64)> = BTreeMap::new();
        let mut groups: BTreeMap<usize, f64> = BTreeMap::new();
        let mut seats: BTreeMap<Seat, f64> = BTreeMap::new();
        let (mut healthy, mut present) = (0.0, 0.0);
        for h in hypotheses {
            if h.faults.is_empty() {
                healthy += h.probability;
                if let Some(cause) = knowledge.causes.iter().find(|c| c.id == "natural-spread") {
                    add_groups(knowledge, cause.group, h.probability, &mut groups, &mut Vec::new());
                }
            }
            let absent: f64 = h.present.iter().map(|p| 1.0 - p).product();
            let real =
                h.faults.iter().any(|f| pairs_up(knowledge, *f) || f.cause == CauseRef::Unlisted);
            if real {
                present += h.probability * (1.0 - absent);
            }
            let (mut seen_groups, mut seen_seats) = (Vec::new(), Vec::new());
            for (fault, there) in h.faults.iter().zip(&h.present) {
                let at = suspects.entry(*fault).or_default();
                at.0 += h.probability;
                at.1 += h.probability * there;
                if let CauseRef::Listed(index) = fault.cause {
                    let group = knowledge.causes[index].group;
                    add_groups(knowledge, group, h.probability, &mut groups, &mut seen_groups);
                    let seat = knowledge.causes[index].seat;
                    if !seen_seats.contains(&seat) {
                        seen_seats.push(seat);
                        *seats.entry(seat).or_default() += h.probability;
                    }
                }
            }
        }
        let mut suspects: Vec<Suspect> = suspects
            .into_iter()
            .map(|(fault, (probability, present))| Suspect { fault, probability, present })
            .collect();
        suspects
            .sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.fault.cmp(&b.fault)));
        Self { healthy, present, suspects, groups: ranked(groups), seats: ranked(seats) }
    }
}

fn add_groups(
    knowledge: &Knowledge,
    group: usize,
    probability: f64,
    groups: &mut BTreeMap<usize, f64>,
    seen: &mut Vec<usize>,
) {
    let mut at = Some(group);
    while let Some(group) = at {
        if !seen.contains(&group) {
            seen.push(group);
            *groups.entry(group).or_default() += probability;
        }
        at = knowledge.groups[group].parent;
    }
}

fn ranked<K: Ord + Copy>(map: BTreeMap<K, f64>) -> Vec<(K, f64)> {
    let mut list: Vec<(K, f64)> = map.into_iter().collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    list
}

/// Chance below which the best explanation is said to explain nothing.
const UNEXPLAINED: f64 = 1e-3;

/// How well the best explanation fits: its misfit against F, its findings against their own
/// expected log chance (normal approximation); the smaller of the two, doubled.
fn surprise(model: &Model<'_>, best: &Weighed) -> Surprise {
    let parts = best.parts.first().map_or(&[][..], |(parts, _)| parts);
    let (misfit, freedom) = model.misfit(parts);
    let mut p_value = 1.0_f64;
    if freedom > 0 {
        let d = f64::from(u32::try_from(freedom).unwrap_or(u32::MAX));
        let nu = model.knowledge.constants.t_freedom;
        if let Ok(f) = FisherSnedecor::new(d, nu) {
            p_value = p_value.min(1.0 - f.cdf(misfit / d));
        }
    }
    let (mut shown, mut expected, mut variance) = (0.0, 0.0, 0.0);
    for &index in &model.findings {
        let finding = &model.timeline.findings[index];
        let row = model.finding_row(parts, finding);
        let mean: f64 = row.iter().map(|p| p * p.ln()).sum();
        shown += row[finding.outcome].ln();
        expected += mean;
        variance += row.iter().map(|p| p * (p.ln() - mean).powi(2)).sum::<f64>();
    }
    if variance > 0.0
        && let Ok(normal) = Normal::new(0.0, 1.0)
    {
        p_value = p_value.min(normal.cdf((shown - expected) / variance.sqrt()));
    }
    let p_value = (2.0 * p_value).min(1.0);
    let in_no_list =
        best.candidates.iter().any(|&c| model.candidates[c].fault.cause == CauseRef::Unlisted);
    Surprise { p_value, unexplained: p_value < UNEXPLAINED || in_no_list }
}

fn notes(model: &Model<'_>) -> Vec<Note> {
    let timeline = model.timeline;
    let mut notes: Vec<Note> = timeline
        .unknown
        .iter()
        .map(|(entry, id)| Note {
            entry: *entry,
            text: format!("`{id}` is not in this knowledge base; the entry is kept but not used"),
        })
        .collect();
    for (index, finding) in timeline.findings.iter().enumerate() {
        if !model.findings.contains(&index) {
            let name = &model.knowledge.tests[finding.test].name;
            notes.push(Note {
                entry: finding.entry,
                text: format!(
                    "{name}: not counted, since the temperatures entered, or a later entry, say the same"
                ),
            });
        }
    }
    for disturbance in &timeline.disturbances {
        if let Some(verdict) = disturbance.verdict.as_ref().filter(|v| v.superseded) {
            let name = &model.knowledge.tests[verdict.test].name;
            notes.push(Note {
                entry: verdict.entry,
                text: format!(
                    "{name}: judged from the temperatures before and after, not from the words"
                ),
            });
        }
    }
    notes.sort_by_key(|note| note.entry);
    notes
}
