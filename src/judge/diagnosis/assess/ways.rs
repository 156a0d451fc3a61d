//! In which ways the faults of an explanation can have been there.
//!
//! Each fault has sides (a cause may show hot or cold) and paths (when it was there); an
//! explanation's likelihood is the sum over their combinations. Which of them are looked at
//! closely is decided here, what they add up to in [`super`].

use std::collections::BTreeMap;

use super::single::{Known, Lone};
use crate::diagnosis::looks::{Course, Kind};
use crate::diagnosis::model::{Candidate, Model, Part};
use crate::diagnosis::path::{Path, Presence};

/// One way in which the faults of an explanation can have been there.
#[derive(Debug, Clone)]
pub(crate) struct Way {
    /// Each with its side and path.
    pub(crate) parts: Vec<Part>,
    /// Log of its chance, given the explanation.
    pub(crate) weight: f64,
    /// Log likelihood of the readings.
    pub(crate) readings: f64,
    /// Log likelihood of findings and verdicts.
    pub(crate) words: f64,
}

/// The ways in which an explanation with this log prior can have been there. `best` is what pairs
/// are held against.
pub(crate) fn ways(model: &Model<'_>, candidates: &[usize], log_prior: f64, best: f64) -> Vec<Way> {
    match *candidates {
        [] => vec![Way {
            parts: Vec::new(),
            weight: 0.0,
            readings: model.log_readings(&[], true),
            words: model.log_words(&[]),
        }],
        [one] => {
            let lone = Known::nothing(model).ways(model, one, log_prior, best);
            let way = |Lone { part, weight, readings, words }| Way {
                parts: vec![part],
                weight,
                readings,
                words,
            };
            lone.into_iter().map(way).collect()
        }
        _ => ways_of_several(model, candidates, log_prior, best),
    }
}

/// Sides, courses and paths of one of several faults.
struct Options {
    list: Vec<(Part, f64)>,
    /// Of each what readings and what words know of it, numbered as they are met: most differ in what nothing
    /// entered could tell.
    told: Vec<usize>,
    said: Vec<usize>,
    /// How many there are of either.
    count: (usize, usize),
}

impl Options {
    fn of(model: &Model<'_>, list: Vec<(Part, f64)>) -> Self {
        let (mut readings, mut words) = (BTreeMap::new(), BTreeMap::new());
        let (mut told, mut said) = (Vec::new(), Vec::new());
        for (part, _) in &list {
            told.push(number(&mut readings, model.key_of_readings(part)));
            said.push(number(&mut words, model.key_of_words(part)));
        }
        Self { list, told, said, count: (readings.len(), words.len()) }
    }
}

/// The number of a key, in order of first appearance.
fn number<K: Ord>(met: &mut BTreeMap<K, usize>, key: K) -> usize {
    let next = met.len();
    *met.entry(key).or_insert(next)
}

/// Figures of combinations, each worked out once.
struct Kept(Vec<f64>);

impl Kept {
    /// Of this many combinations.
    fn of(combinations: usize) -> Self {
        Self(vec![f64::NAN; combinations])
    }

    fn get(&mut self, at: usize, work: impl FnOnce() -> f64) -> f64 {
        if self.0[at].is_nan() {
            self.0[at] = work();
        }
        self.0[at]
    }
}

/// Log of the share of the best explanation below which a way of a pair is looked at only superficially.
const PAIRS: f64 = 12.0;

/// Share of the likeliest way of a part of a pair below which a way is left out, and ways that are kept at the most.
const SELDOM: f64 = 0.05;
const MOST_WAYS: usize = 200;

/// The ways of a pair that matter.
///
/// All scales are gone through unless the pair is hopeless: at the likeliest scales alone pairs come out
/// too low by one or two units of the logarithm, and hundreds of them together carry weight.
fn ways_of_several(model: &Model<'_>, candidates: &[usize], log_prior: f64, best: f64) -> Vec<Way> {
    // Beside what is not steady yet the likeliest scales are others than with nothing wrong.
    let passes = candidates.iter().any(|&c| model.passes(c));
    let mut options: Vec<Options> = Vec::with_capacity(candidates.len());
    for &c in candidates {
        let mut next = sides_and_paths(model, c);
        next.sort_by(|a, b| b.1.total_cmp(&a.1));
        // What is left out here is below a twentieth of the likeliest way, which has many beside it where there
        // are many sides and courses; when a display was not steady may be any of many ways, and the readings say
        // which.
        let most = next.first().map_or(0.0, |(_, weight)| *weight);
        let least = if model.passes(c) { most.min(1e-4) } else { SELDOM * most };
        next.retain(|(_, weight)| *weight >= least);
        next.truncate(MOST_WAYS);
        options.push(Options::of(model, next));
    }
    let told = options.iter().map(|option| option.count.0).product();
    let said = options.iter().map(|option| option.count.1).product();
    let (mut glanced, mut guarded) = (Kept::of(told), Kept::of(told));
    let mut words = Kept::of(said);
    let mut list = Vec::with_capacity(options.iter().map(|o| o.list.len()).product());
    let mut which = vec![0; options.len()];
    while which.iter().zip(&options).all(|(nth, option)| *nth < option.list.len()) {
        let chosen = || which.iter().zip(&options);
        let parts: Vec<Part> = chosen().map(|(nth, option)| option.list[*nth].0).collect();
        let chance: f64 = chosen().map(|(nth, option)| option.list[*nth].1).product();
        let told = chosen().fold(0, |at, (nth, option)| at * option.count.0 + option.told[*nth]);
        let said = chosen().fold(0, |at, (nth, option)| at * option.count.1 + option.said[*nth]);
        let (weight, words) = (chance.ln(), words.get(said, || model.log_words(&parts)));
        let mut readings = glanced.get(told, || model.log_readings(&parts, false));
        if passes || log_prior + weight + words + readings > best - PAIRS {
            readings = guarded.get(told, || model.log_readings(&parts, true));
        }
        list.push(Way { parts, weight, readings, words });
        // The next, the last of the faults first.
        for nth in (0..which.len()).rev() {
            which[nth] += 1;
            if nth == 0 || which[nth] < options[nth].list.len() {
                break;
            }
            which[nth] = 0;
        }
    }
    list
}

/// Sides, courses and paths of a candidate with their chances.
pub(super) fn sides_and_paths(model: &Model<'_>, c: usize) -> Vec<(Part, f64)> {
    let candidate = &model.candidates[c];
    // Every side of a renaming does the same.
    let sides = if candidate.renaming.is_some() { 1 } else { model.sides(c).len() };
    let mut list = Vec::new();
    for side in 0..sides {
        let share = if sides == 1 { 1.0 } else { model.sides(c)[side].share };
        for course in &candidate.courses {
            since_when(model, candidate, course, |path, since, chance| {
                let (presence, shows) = (path.presence, course.shows);
                let part = Part { candidate: c, side, presence, shows, since };
                list.push((part, share * chance));
            });
        }
    }
    list
}

/// Ways less probable than this before any reading are left out, as are such paths: of two dozen sets and as
/// many exchanges they are a hundredth of their cause. Their number grows with the square of the exchanges
/// times the sets, and with it all work.
const NEGLIGIBLE: f64 = 1e-5;

/// The paths that go with a course: each with the journal entry before which the fault had not begun, and
/// the chance of both.
pub(super) fn since_when(
    model: &Model<'_>,
    candidate: &Candidate,
    course: &Course,
    mut take: impl FnMut(&Path, usize, f64),
) {
    let (since, slot) = model.began(course);
    // What began there was not cured before.
    let before: Presence = if course.kind == Kind::Begun { (1 << (slot + 1)) - 1 } else { 0 };
    let there = |path: &&Path| path.presence & before == before;
    let sum: f64 = candidate.paths.iter().filter(there).map(|path| path.probability).sum();
    for path in candidate.paths.iter().filter(there) {
        let chance = course.probability * path.probability / sum;
        if chance >= NEGLIGIBLE {
            take(path, since, chance);
        }
    }
}
