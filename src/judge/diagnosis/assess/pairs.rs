//! The pairs of causes that matter.
//!
//! All pairs are scored quickly, the best of them weighed exactly, the others summed up. It must
//! not weigh by another likelihood than single causes are weighed by.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::super::oddness::oddness;
use super::Weighed;
use super::couple::{Couple, Options};
use super::scores::{Alone, Scores, Twins, alone, score_pairs};
use crate::diagnosis::linalg::log_sum_exp;
use crate::diagnosis::looks::Shows;
use crate::diagnosis::model::Model;
use crate::diagnosis::prior::together;
use crate::diagnosis::rank::by_chance;
use facts::job::arrangement::Arrangement;
use measure::engine::Cylinder;

/// Pairs evaluated exactly, at the most.
const MOST_PAIRS: usize = 600;
/// Displays whose partners are looked for, one more where one stands out by itself.
const MOST_DISPLAYS: usize = 3;
/// Natural standard deviations from which a display stands out by itself.
const BESIDE: f64 = 2.5;
/// Log of the share of the best explanation below which a pair is not worth evaluating.
const NEGLIGIBLE: f64 = -12.0;

/// Log of the factor by which the pairs left out are taken to weigh more than their scores, at
/// least: scores leave out that a number may be misread. Ratios of up to 1.5 were seen when every
/// pair was weighed (`full`), so two.
const SLACK: f64 = std::f64::consts::LN_2;

/// Two displays are complained of, and there is a fault on each: more than a customer says who has one fault
/// and names another display beside it (common practice, no source).
const BOTH_NAMED: f64 = 10.0;

/// How probable two causes at once are before anything was entered.
///
/// Two faults share what is given to pairs, by how common each is, one of them being what is complained of. Not to be steady yet is no fault, and to
/// bear another's name moves no display off: they go with any as often as with none.
pub(super) struct Both<'m, 'k> {
    model: &'m Model<'k>,
    /// Log of the factor on the product of two faults' priors.
    log_norm: f64,
}

impl<'m, 'k> Both<'m, 'k> {
    /// Of a model; `None` where there are no pairs.
    pub(super) fn new(model: &'m Model<'k>) -> Option<Self> {
        let mut both = Self { model, log_norm: 0.0 };
        // The sum of `together` over all two: half of the sum over ordered ones of what the one is by itself and the other
        // as complained of.
        let faults = (0..model.candidates.len()).filter(|&c| both.is_fault(c));
        let mut sums = [0.0; 3];
        for fault in faults.map(|c| &model.candidates[c]) {
            let itself = fault.prior / fault.said;
            sums[0] += itself;
            sums[1] += fault.prior;
            sums[2] += itself * fault.prior;
        }
        let norm = (sums[0] * sums[1] - sums[2]) / 2.0;
        if norm <= 0.0 || model.prior.pairs <= 0.0 {
            return None;
        }
        both.log_norm = model.prior.pairs.ln() - norm.ln();
        Some(both)
    }

    /// Whether a candidate is a fault that may be one of two.
    pub(super) fn is_fault(&self, candidate: usize) -> bool {
        self.model.is_a_fault(candidate)
    }

    /// Whether a candidate is no fault and passes by itself.
    pub(super) fn passes(&self, candidate: usize) -> bool {
        self.model.passes(candidate)
    }

    /// Whether a candidate goes with a fault as often as with none.
    fn beside(&self, candidate: usize) -> bool {
        self.passes(candidate) || self.misnames(candidate)
    }

    /// Whether under a candidate displays bear each other's names.
    fn misnames(&self, candidate: usize) -> bool {
        self.model.candidates[candidate].renaming.is_some()
    }

    /// Whether two displays are complained of, and a candidate is on each.
    fn are_named(&self, a: usize, b: usize) -> bool {
        let timeline = self.model.timeline;
        let complaint = &timeline.complaint;
        let on = |c: usize, display: Cylinder| {
            let place = self.model.candidates[c].fault.place;
            place.cylinder() == Some(display)
        };
        complaint.display.is_some_and(|first| {
            let others = complaint.heard.numbers.iter().filter(|other| **other != first);
            others
                .into_iter()
                .any(|&second| on(a, first) && on(b, second) || on(b, first) && on(a, second))
        })
    }

    /// Log prior of both; minus infinity where they do not go together.
    pub(super) fn log_prior(&self, a: usize, b: usize) -> f64 {
        let log = |c: usize| self.model.candidates[c].prior.ln();
        let named = || if self.are_named(a, b) { BOTH_NAMED.ln() } else { 0.0 };
        let together = match (self.beside(a), self.beside(b)) {
            (false, false) if self.is_fault(a) && self.is_fault(b) => {
                let of = |c: usize| (self.model.candidates[c].prior, self.model.candidates[c].said);
                self.log_norm + named() + together(of(a), of(b)).ln()
            }
            (true, false) if !self.is_fault(b) => f64::NEG_INFINITY,
            (false, true) if !self.is_fault(a) => f64::NEG_INFINITY,
            (true, true) if self.passes(a) && self.passes(b) => f64::NEG_INFINITY,
            (true, _) | (_, true) => log(a) + log(b) - self.model.prior.healthy.ln(),
            (false, false) => f64::NEG_INFINITY,
        };
        together + self.model.log_besides(&[a, b])
    }
}

/// The pairs that matter, and the log of the summed score of the others.
pub(super) fn pairs(model: &Model<'_>, singles: &[Weighed], best: f64) -> (Vec<Weighed>, f64) {
    let Some(both) = Both::new(model) else { return (Vec::new(), f64::NEG_INFINITY) };
    let faults: Vec<usize> = (0..model.candidates.len()).filter(|&c| both.is_fault(c)).collect();
    let eligible: Vec<usize> =
        (0..model.candidates.len()).filter(|&c| both.is_fault(c) || both.beside(c)).collect();
    let log_prior = |a: usize, b: usize| both.log_prior(a, b);
    let original = Arrangement::original(model.timeline.engine.cylinders);
    // What a single was found to come to is no less than what it comes to at a glance: one that shows only
    // now and then, or beside a misread number, is seen only when looked at closely.
    let mut places = Vec::new();
    let mut list: Vec<(usize, Alone)> = model
        .those_alike_together()
        .into_iter()
        .map(|c| {
            let glance = alone(model, c, &original, &mut places);
            let words: f64 = glance.words.iter().sum();
            let readings = glance.readings.max(singles[c].log_likelihood - words);
            (c, Alone { readings, ..glance })
        })
        .collect();
    list.sort_by_key(|(c, _)| *c);
    let mut alone: Vec<Alone> = list.into_iter().map(|(_, alone)| alone).collect();
    for (single, courses) in singles.iter().zip(courses_of(singles, &alone)) {
        alone[single.candidates[0]].courses = courses;
    }
    let alone = alone;
    let silent: Vec<f64> = model.looks.iter().map(|looks| model.log_looks(&[], looks)).collect();
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
    // Those with the same displays misnamed one after the other: their covariances are kept no longer. Then those on
    // the same displays: what these come to is kept not much longer.
    let misnaming = |pair: (usize, usize)| [pair.0, pair.1].into_iter().find(|&c| both.misnames(c));
    let mut order: Vec<usize> = (0..keep).collect();
    let alike = |(a, b): (usize, usize)| (model.alike(a), model.alike(b));
    order.sort_by_key(|&nth| (misnaming(ranking[nth].0), alike(ranking[nth].0)));
    let mut exact: Vec<(usize, Weighed)> = Vec::with_capacity(keep);
    let mut misnamed = None;
    let mut options: BTreeMap<(usize, Option<usize>), Rc<Options>> = BTreeMap::new();
    let twins = Twins::of(model, &eligible);
    for nth in order {
        let ((a, b), score) = ranking[nth];
        if misnaming((a, b)) != misnamed {
            model.forget_misnamed();
            misnamed = misnaming((a, b));
        }
        let options = [(a, b), (b, a)].map(|(c, other)| {
            // Beside a misnaming its courses are those of the same fault where it shows.
            let twin = if both.misnames(other) { twins.twin(model, other, c) } else { None };
            let known = options.entry((c, twin)).or_insert_with(|| {
                let courses = twin.map_or(&[][..], |twin| &alone[twin].courses);
                Rc::new(Options::of(model, c, &singles[c].parts, courses))
            });
            Rc::clone(known)
        });
        let couple = Couple::of(model, &options, log_prior(a, b), best);
        let weighed = couple.weighed(vec![a, b], log_prior(a, b), best);
        // How far the score was below the truth, among the pairs that carry weight.
        if weighed.log > best - 7.0 {
            optimism = optimism.max(weighed.log - score);
        }
        exact.push((nth, weighed));
    }
    model.forget_misnamed();
    exact.sort_by_key(|(nth, _)| *nth);
    let exact = exact.into_iter().map(|(_, weighed)| weighed).collect();
    let mut left: Vec<f64> = ranking[keep..].iter().map(|(_, score)| *score).collect();
    left.push(rest);
    let crossings: Vec<usize> = eligible.iter().copied().filter(|&c| both.misnames(c)).collect();
    let all: Vec<usize> = [&faults[..], &crossings[..]].concat();
    let two_faults =
        elsewhere(model, singles, [&faults, &faults], &alone, &displays) + both.log_norm;
    let beside = model.prior.healthy.ln();
    let crossed_first = elsewhere(model, singles, [&crossings, &all], &alone, &displays) - beside;
    let crossed_last = elsewhere(model, singles, [&all, &crossings], &alone, &displays) - beside;
    let near = log_sum_exp(&left) + optimism.clamp(SLACK, 3.0);
    (exact, log_sum_exp(&[near, two_faults, crossed_first, crossed_last]))
}

/// Likely courses of every single cause.
fn courses_of(singles: &[Weighed], alone: &[Alone]) -> Vec<Vec<(Shows, usize)>> {
    let on = |single: &Weighed| &alone[single.candidates[0]].displays;
    let mut best: BTreeMap<Cylinder, &Weighed> = BTreeMap::new();
    for single in singles {
        for &display in on(single) {
            let known = best.entry(display).or_insert(single);
            if single.log > known.log {
                *known = single;
            }
        }
    }
    let of = |single: &Weighed| {
        let there = on(single).first().and_then(|display| best.get(display).copied());
        likely_courses(single, there)
    };
    singles.iter().map(of).collect()
}

/// Courses that are kept of a cause, and of its display, for its twin beside a misnaming.
const MOST_COURSES: usize = 2;

/// The likeliest courses of a single cause and of the likeliest that is on one of its displays, which stays there where it
/// would have moved: the sets at which it shows, and the entry before which it had not begun.
fn likely_courses(single: &Weighed, there: Option<&Weighed>) -> Vec<(Shows, usize)> {
    let mut courses: Vec<(Shows, usize)> = Vec::new();
    for weighed in [Some(single), there].into_iter().flatten() {
        let most = courses.len() + MOST_COURSES;
        for part in weighed.parts.iter().filter_map(|(parts, _)| parts.first()) {
            let course = (part.shows, part.since);
            if courses.len() < most && !courses.contains(&course) {
                courses.push(course);
            }
        }
    }
    courses
}

/// Log of the sum over pairs that get no score, none of the two being on a suspicious display, of
/// priors of the ones, but for the complaint, times the likelihood of the others: away from what looks odd the one does
/// not mend what the other leaves. The sum of both likelihoods is taken for the larger.
fn elsewhere(
    model: &Model<'_>,
    singles: &[Weighed],
    [ones, others]: [&[usize]; 2],
    alone: &[Alone],
    suspicious: &[Cylinder],
) -> f64 {
    let away = |c: &&usize| alone[**c].displays.iter().all(|d| !suspicious.contains(d));
    let itself = |&c: &usize| (model.candidates[c].prior / model.candidates[c].said).ln();
    let priors: Vec<f64> = ones.iter().filter(away).map(itself).collect();
    let joints: Vec<f64> = others.iter().filter(away).map(|&c| singles[c].log).collect();
    log_sum_exp(&priors) + log_sum_exp(&joints)
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
    list.sort_by(|a, b| by_chance(b.1, a.1).then(a.0.cmp(&b.0)));
    let best = list.first().map_or(0.0, |d| d.1);
    let some_reading = !model.data.rows.is_empty() || !model.looks.is_empty();
    let mut displays: Vec<Cylinder> = list
        .into_iter()
        .filter(|(_, log)| some_reading && *log > best - 9.0)
        .take(MOST_DISPLAYS)
        .map(|(display, _)| display)
        .collect();
    // What stands out beside a greater oddness is no single cause's, and yet half of a pair's.
    let mut odd: Vec<(Cylinder, f64)> = Vec::new();
    for far in oddness(model.knowledge, model.timeline) {
        let set = &model.timeline.sets[far.set];
        let own = set.arrangement.cylinder_shown(far.display);
        let size = far.sigmas.map_or(0.0, f64::abs);
        if size >= BESIDE && !displays.contains(&own) {
            odd.push((own, size));
        }
    }
    odd.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    for (display, _) in odd {
        if displays.len() < MOST_DISPLAYS + 1 && !displays.contains(&display) {
            displays.push(display);
        }
    }
    displays
}
