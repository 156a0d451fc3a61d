//! In which ways the faults of an explanation can have been there.
//!
//! Each fault has sides (a cause may show hot or cold) and paths (when it was there); an
//! explanation's likelihood is the sum over their combinations. Which of them are looked at
//! closely is decided here, what they add up to in [`super`].

use std::collections::BTreeMap;

use super::single::{Known, Lone};
use crate::diagnosis::looks::{Course, Kind};
use crate::diagnosis::model::{Candidate, Model, Part, ReadingsKey, WordsKey};
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

/// Likelihoods of the ways of a pair, each worked out once: most differ in what nothing entered could tell.
struct Likelihoods<'m, 'k> {
    model: &'m Model<'k>,
    glanced: BTreeMap<Vec<ReadingsKey>, f64>,
    guarded: BTreeMap<Vec<ReadingsKey>, f64>,
    words: BTreeMap<Vec<WordsKey>, f64>,
}

impl<'m, 'k> Likelihoods<'m, 'k> {
    fn new(model: &'m Model<'k>) -> Self {
        let (glanced, guarded, words) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
        Self { model, glanced, guarded, words }
    }

    /// Of the readings at the likeliest scales, the others only allowed for: log.
    fn glanced(&mut self, parts: &[Part]) -> f64 {
        let key = parts.iter().map(|part| self.model.key_of_readings(part)).collect();
        *self.glanced.entry(key).or_insert_with(|| self.model.log_readings(parts, false))
    }

    /// Of the readings at all scales: log.
    fn guarded(&mut self, parts: &[Part]) -> f64 {
        let key = parts.iter().map(|part| self.model.key_of_readings(part)).collect();
        *self.guarded.entry(key).or_insert_with(|| self.model.log_readings(parts, true))
    }

    /// Of findings, verdicts and measured depths: log.
    fn words(&mut self, parts: &[Part]) -> f64 {
        let key = parts.iter().map(|part| self.model.key_of_words(part)).collect();
        *self.words.entry(key).or_insert_with(|| self.model.log_words(parts))
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
    let mut list: Vec<(Vec<Part>, f64)> = vec![(Vec::new(), 1.0)];
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
        let each = |(parts, weight): &(Vec<Part>, f64)| {
            let with = |(part, w): &(Part, f64)| ([&parts[..], &[*part]].concat(), weight * w);
            next.iter().map(with).collect::<Vec<_>>()
        };
        list = list.iter().flat_map(each).collect();
    }
    let mut known = Likelihoods::new(model);
    list.into_iter()
        .map(|(parts, chance)| {
            let (weight, words) = (chance.ln(), known.words(&parts));
            let mut readings = known.glanced(&parts);
            if passes || log_prior + weight + words + readings > best - PAIRS {
                readings = known.guarded(&parts);
            }
            Way { parts, weight, readings, words }
        })
        .collect()
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
