//! What a test separates and what it is worth.

use std::collections::BTreeMap;

use crate::diagnosis::Fault;
use crate::diagnosis::assess::Diagnosis;

use super::actions::choices;
use super::advice::{Step, TestExplanation};
use super::advise::Desk;
use super::guard::held;
use super::value::{Prices, after_outcome};
use super::wishes::Thinking;

/// Suspects shown for each outcome.
const SHOWN: usize = 4;

/// Explains a test or a reading that could be done now; `None` when it could not, or would tell
/// nothing.
#[must_use]
pub fn explain_test(diagnosis: &Diagnosis<'_>, step: Step) -> Option<TestExplanation> {
    let mut choices = choices(diagnosis);
    let held = held(diagnosis, &mut choices);
    let same = |other: Step| match (step, other) {
        // Without a cylinder named, the one in the middle of things is meant.
        (Step::Test { test: a, cylinder: None, .. }, Step::Test { test: b, .. }) => a == b,
        (Step::Test { test: a, cylinder: x, .. }, Step::Test { test: b, cylinder: y, .. }) => {
            a == b && x == y
        }
        _ => step == other,
    };
    let p = choices.options.iter().position(|o| same(o.step))?;
    let prices = Prices::new(&choices.problem);
    let desk = Desk::new(diagnosis, &choices, &held, &prices, Thinking::default());
    let problem = &choices.problem;
    let hypotheses = &choices.cases;
    let share = |weights: &[f64], sum: f64| -> BTreeMap<Fault, f64> {
        let mut by_fault = BTreeMap::new();
        for (w, h) in weights.iter().zip(hypotheses) {
            for fault in &h.faults {
                *by_fault.entry(*fault).or_insert(0.0) += w / sum;
            }
        }
        by_fault
    };
    let before = share(&problem.belief, 1.0);
    let mut moves = Vec::new();
    for ((_, text), row) in choices.options[p].outcomes.iter().zip(&problem.probes[p].rows) {
        let (joint, sum) = after_outcome(&problem.belief, row);
        if sum <= 0.0 {
            continue;
        }
        let after = share(&joint, sum);
        let mut list: Vec<(Fault, f64, f64)> =
            before.iter().map(|(f, b)| (*f, *b, after.get(f).copied().unwrap_or(0.0))).collect();
        list.sort_by(|a, b| (b.2 - b.1).abs().total_cmp(&(a.2 - a.1).abs()).then(a.0.cmp(&b.0)));
        list.truncate(SHOWN);
        moves.push((text.clone(), list));
    }
    let choice = desk.explain(p);
    Some(TestExplanation {
        step: choices.options[p].step,
        without: desk.without(p),
        choice,
        moves,
        information: desk.information(p),
    })
}
