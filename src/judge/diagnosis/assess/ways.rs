//! In which ways the faults of an explanation can have been there.
//!
//! Each fault has sides (a cause may show hot or cold) and paths (when it was there); an
//! explanation's likelihood is the sum over their combinations. Which of them are looked at
//! closely is decided here, what they add up to in [`super`].

use std::rc::Rc;

use super::couple::{Couple, Options};
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
}

/// The ways in which an explanation with this log prior can have been there. `best` is what pairs
/// are held against.
pub(crate) fn ways(model: &Model<'_>, candidates: &[usize], log_prior: f64, best: f64) -> Vec<Way> {
    match *candidates {
        [] => vec![Way { parts: Vec::new(), weight: 0.0, readings: model.log_readings(&[], true) }],
        [one] => {
            let lone = Known::nothing(model).ways(model, one, log_prior, best);
            let way =
                |Lone { part, weight, readings, .. }| Way { parts: vec![part], weight, readings };
            lone.into_iter().map(way).collect()
        }
        [a, b, ..] => {
            let options = [a, b].map(|c| Rc::new(Options::of(model, c, &[], &[])));
            Couple::of(model, &options, log_prior, best).ways()
        }
    }
}

/// Sides, courses and paths of a candidate with their chances.
pub(super) fn sides_and_paths(model: &Model<'_>, c: usize) -> Vec<(Part, f64)> {
    let candidate = &model.candidates[c];
    // Every side of a renaming does the same.
    let sides = if candidate.renaming.is_some() { 1 } else { model.sides(c).len() };
    let mut list = Vec::new();
    for side in 0..sides {
        let share = if sides == 1 { 1.0 } else { model.sides(c)[side].share };
        for course in candidate.courses.iter() {
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

/// Share of a course that a path has from which it is followed however rare the course is: each pattern of coming and
/// going over nine sets is rare, and the readings may say which it was.
const MAIN_PATH: f64 = 1e-2;

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
        let share = path.probability / sum;
        let chance = course.probability * share;
        if chance >= NEGLIGIBLE || share >= MAIN_PATH {
            take(path, since, chance);
        }
    }
}
