//! The recommendation.
//!
//! First the moments at which the trade leaves no choice (verify after a remedy, put back after
//! an exchange that seemed to cure), then the cheapest expected way among what the guards allow.

mod choice;
mod moment;
mod rank;

use crate::diagnosis::assess::Diagnosis;
use crate::knowledge::Knowledge;

use super::actions::{Choices, choices};
use super::advice::{Advice, Choice, Step};
use super::bound;
use super::guard::{Held, held};
use super::problem::Situation;
use super::value::Planner;

/// Alternatives shown.
const ALTERNATIVES: usize = 5;

/// What to do next.
#[must_use]
pub fn advise(diagnosis: &Diagnosis<'_>) -> Advice {
    let choices = choices(diagnosis);
    let held = held(diagnosis, &choices);
    let desk = Desk::new(diagnosis, &choices, &held);
    let mut ranked = desk.ranked();
    let best = match desk.no_choice() {
        Some(moment) => {
            let mut choice = desk.forced(moment.step, moment.done);
            choice.why = vec![moment.why];
            ranked.retain(|c| c.step != choice.step);
            choice
        }
        None if ranked.is_empty() => desk.forced(Step::Stop, false),
        None => ranked.remove(0),
    };
    ranked.truncate(ALTERNATIVES);
    let holds = desk.holds(&best, &ranked);
    let lower_bound = desk.bound.total.min(best.expected_total);
    Advice { best, alternatives: ranked, guards: held.guards.clone(), lower_bound, holds }
}

/// Everything at hand while advising.
pub(crate) struct Desk<'a, 'k> {
    diagnosis: &'a Diagnosis<'k>,
    choices: &'a Choices,
    held: &'a Held,
    planner: Planner<'a>,
    /// Tests that may be looked at later in a plan, most promising first.
    inner: Vec<usize>,
    bound: bound::Bound,
}

impl<'a, 'k> Desk<'a, 'k> {
    pub(crate) fn new(diagnosis: &'a Diagnosis<'k>, choices: &'a Choices, held: &'a Held) -> Self {
        let problem = &choices.problem;
        // What may be done once the measuring chain is cleared can be counted on; what waits for the
        // mechanic's word cannot.
        let later = problem.probes.iter().zip(&held.probes).map(|(p, held)| *held && !p.held_back);
        let planner = Planner::new(problem).barring(later.collect());
        let bound = bound::lower(problem, planner.prices(), &problem.belief);
        let mut desk = Self { diagnosis, choices, held, planner, inner: Vec::new(), bound };
        desk.inner = desk.promising();
        desk
    }

    fn knowledge(&self) -> &'k Knowledge {
        self.diagnosis.model.knowledge
    }

    fn belief(&self) -> &[f64] {
        &self.choices.problem.belief
    }

    fn now(&self) -> Situation {
        self.choices.problem.now
    }

    /// Whether the recommendation stays when the prior of each of the leading suspects is halved or doubled.
    fn holds(&self, best: &Choice, others: &[Choice]) -> bool {
        let find = |c: &Choice| self.choices.options.iter().position(|o| o.step == c.step);
        let Some(own) = find(best) else { return true };
        let rivals: Vec<usize> = others.iter().filter_map(find).collect();
        let value = |p: usize, belief: &[f64]| self.planner.one_step(belief, self.now(), p).total;
        let ratio = |belief: &[f64]| {
            let least = rivals.iter().map(|&p| value(p, belief)).fold(f64::INFINITY, f64::min);
            let stop = self.planner.stop(belief, self.now()).total;
            value(own, belief) / least.min(stop)
        };
        let base = ratio(self.belief()).max(1.0);
        let hypotheses = &self.choices.cases;
        self.diagnosis.assessment.suspects.iter().take(6).all(|suspect| {
            [0.5, 2.0].iter().all(|factor| {
                let belief: Vec<f64> = self
                    .belief()
                    .iter()
                    .zip(hypotheses)
                    .map(|(p, h)| {
                        let named = h.faults.iter().any(|f| f.cause == suspect.fault.cause);
                        if named { p * factor } else { *p }
                    })
                    .collect();
                ratio(&belief) <= base * 1.05
            })
        })
    }

    /// One test's choice in full, for explanations.
    pub(crate) fn explain(&self, p: usize) -> Choice {
        let expected = self.planner.two_step(self.belief(), self.now(), p, &self.inner);
        let mut choice = self.probe_choice(p, expected, true);
        let without: Vec<usize> = self.inner.iter().copied().filter(|x| *x != p).collect();
        let other = self.planner.best_one_step(self.belief(), self.now(), &without).1;
        choice.why.insert(
            0,
            format!(
                "Starting with it: {:.0} min of labour expected; without it: {:.0}.",
                expected.total, other.total
            ),
        );
        choice
    }

    /// Expected price of the best plan that does not start with a test.
    pub(crate) fn without(&self, p: usize) -> f64 {
        let rest: Vec<usize> = self.inner.iter().copied().filter(|x| *x != p).collect();
        self.planner.best_one_step(self.belief(), self.now(), &rest).1.total
    }
}
