//! The hypotheses as the planner sees them: what must be cured.
//!
//! A second fault that changes nothing in what was read or found is no part of the complaint;
//! the job ends when the oddness does. Pairs of which only one is needed to explain the
//! entries are therefore counted to that one. Nothing is judged anew here.

use std::collections::BTreeMap;

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::model::Part;
use crate::diagnosis::{Fault, by_chance};

/// A set of faults that must be cured for the complaint to end.
#[derive(Debug, Clone)]
pub(crate) struct Case {
    /// Candidates of the model.
    pub(crate) candidates: Vec<usize>,
    /// The faults.
    pub(crate) faults: Vec<Fault>,
    /// Probability that each is still there.
    pub(crate) present: Vec<f64>,
    /// Sides and paths with their shares.
    pub(crate) parts: Vec<(Vec<Part>, f64)>,
    /// Probability.
    pub(crate) probability: f64,
    /// The explanations that are counted to it, by index into the diagnosis' own, with their
    /// probabilities.
    pub(crate) members: Vec<(usize, f64)>,
}

/// Cases looked at, at the most.
const MOST: usize = 140;
/// Probability below which a case is left out.
const LEAST: f64 = 1e-4;
/// How much likelier both must make the entries than one alone for both to be needed: the
/// threshold of "worth a bare mention" in Kass & Raftery 1995 (from memory), in natural logarithms.
const NEEDED: f64 = 1.1;

/// The cases of a diagnosis, most probable first; their probabilities sum to one. With the share
/// of those that were left out.
pub(crate) fn cases(diagnosis: &Diagnosis<'_>) -> (Vec<Case>, f64) {
    let mut by_need: BTreeMap<Vec<usize>, Case> = BTreeMap::new();
    for (index, (weighed, h)) in
        diagnosis.kept.iter().zip(&diagnosis.assessment.hypotheses).enumerate()
    {
        let needed = needed(diagnosis, &weighed.candidates, weighed.log_likelihood);
        let candidates: Vec<usize> = needed.iter().map(|&k| weighed.candidates[k]).collect();
        let case = by_need.entry(candidates.clone()).or_insert_with(|| Case {
            candidates,
            faults: needed.iter().map(|&k| h.faults[k]).collect(),
            present: needed.iter().map(|&k| h.present[k]).collect(),
            parts: weighed
                .parts
                .iter()
                .map(|(parts, share)| (needed.iter().map(|&k| parts[k]).collect(), *share))
                .collect(),
            probability: 0.0,
            members: Vec::new(),
        });
        case.probability += h.probability;
        case.members.push((index, h.probability));
    }
    let mut list: Vec<Case> = by_need.into_values().collect();
    list.sort_by(|a, b| {
        by_chance(b.probability, a.probability).then_with(|| a.candidates.cmp(&b.candidates))
    });
    let all: f64 = list.iter().map(|case| case.probability).sum();
    list.truncate(MOST);
    let least = list.first().map_or(0.0, |case| case.probability.min(LEAST));
    list.retain(|case| case.probability >= least);
    let sum: f64 = list.iter().map(|case| case.probability).sum();
    for case in &mut list {
        case.probability /= sum;
    }
    (list, (1.0 - sum / all).max(0.0))
}

/// Which of a hypothesis' faults are needed to explain the entries, by position.
fn needed(diagnosis: &Diagnosis<'_>, candidates: &[usize], log_likelihood: f64) -> Vec<usize> {
    let &[a, b] = candidates else { return (0..candidates.len()).collect() };
    let (alone_a, alone_b) = (diagnosis.alone[a], diagnosis.alone[b]);
    if log_likelihood - alone_a.max(alone_b) > NEEDED {
        vec![0, 1]
    } else if alone_a >= alone_b {
        vec![0]
    } else {
        vec![1]
    }
}
