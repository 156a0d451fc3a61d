//! The recommendation.
//!
//! First the moments at which the trade leaves no choice (verify after a remedy, put back after
//! an exchange that seemed to cure), then the cheapest expected way among what the guards allow.

mod choice;
mod deadline;
mod moment;
mod rank;
mod sensitivity;

pub use deadline::in_time;

use crate::diagnosis::assess::Diagnosis;
use crate::knowledge::Knowledge;

use super::actions::{Choices, choices};
use super::advice::{Advice, Choice, Step};
use super::bound::Limits;
use super::guard::{Held, held, price_the_risk};
use super::problem::Situation;
use super::value::{Best, Planner, Prices, exact};
use super::wishes::{Thinking, Wishes};

/// Alternatives shown.
const ALTERNATIVES: usize = 5;

/// Tests up to which the best plan of all is looked for, and places that are looked at for it.
const FEW: usize = 10;
const PLACES: usize = 2000;

/// What to do next.
#[must_use]
pub fn advise(diagnosis: &Diagnosis<'_>) -> Advice {
    advise_as_wished(diagnosis, &Wishes::default())
}

/// The same with wishes.
#[must_use]
pub fn advise_as_wished(diagnosis: &Diagnosis<'_>, wishes: &Wishes<'_>) -> Advice {
    let mut choices = choices(diagnosis);
    price_the_risk(diagnosis, &mut choices, wishes.risk);
    let choices = choices;
    let held = held(diagnosis, &choices);
    let prices = Prices::new(&choices.problem);
    let desk = Desk::new(diagnosis, &choices, &held, &prices, wishes.thinking);
    let mut ranked = desk.ranked();
    let moment = desk.no_choice();
    let forced = moment.is_some();
    let best = match moment {
        Some(moment) => {
            let mut choice = desk.forced(moment.step, moment.done);
            choice.why = vec![moment.why];
            ranked.retain(|c| c.step != choice.step);
            choice
        }
        None if ranked.is_empty() => desk.forced(Step::Stop, false),
        None if wishes.in_time.is_some() => {
            let in_time = wishes.in_time.map_or(Step::Stop, |in_time| in_time.step);
            let known = ranked.iter().position(|choice| choice.step == in_time);
            known.map_or_else(|| desk.forced(in_time, false), |known| ranked.remove(known))
        }
        None => ranked.remove(0),
    };
    ranked.truncate(ALTERNATIVES);
    let leans = if forced { Vec::new() } else { desk.leans(&best, &ranked) };
    // Where the trade leaves no choice, other plans are none.
    let least = if forced { best.lower_bound } else { desk.bound() };
    Advice {
        lower_bound: least.min(best.expected_total),
        best,
        alternatives: ranked,
        guards: held.guards.clone(),
        holds: leans.iter().all(|lean| lean.instead.is_none()),
        leans,
        in_time: if forced { None } else { wishes.in_time },
    }
}

/// Everything at hand while advising.
pub(crate) struct Desk<'a, 'k> {
    diagnosis: &'a Diagnosis<'k>,
    choices: &'a Choices,
    held: &'a Held,
    planner: Planner<'a>,
    /// Tests that may be looked at later in a plan, most promising first.
    inner: Vec<usize>,
    limits: Limits<'a>,
    /// The best plan of all, where few tests are worth a look.
    best: Option<Best>,
    thinking: Thinking<'a>,
}

impl<'a, 'k> Desk<'a, 'k> {
    pub(crate) fn new(
        diagnosis: &'a Diagnosis<'k>,
        choices: &'a Choices,
        held: &'a Held,
        prices: &'a Prices,
        thinking: Thinking<'a>,
    ) -> Self {
        let problem = &choices.problem;
        // What may be done once the measuring chain is cleared can be counted on; what waits for the
        // mechanic's word cannot.
        let later = problem.probes.iter().zip(&held.probes).map(|(p, held)| *held && !p.held_back);
        let planner = Planner::new(problem).barring(later.collect());
        let limits = Limits::new(problem, prices, &problem.belief);
        let inner = Vec::new();
        let (belief, now) = (&problem.belief, problem.now);
        let most = planner.stop(belief, now).total - limits.bound().informed;
        let few = planner.worth_a_look(belief, now, most, &[]).len() <= FEW;
        let best = if few { exact(&planner, belief, now, PLACES) } else { None };
        let mut desk = Self { diagnosis, choices, held, planner, inner, limits, best, thinking };
        desk.inner = desk.promising();
        desk
    }

    /// No plan costs less than this, whatever the cases that were left out would cost.
    fn bound(&self) -> f64 {
        let least = self.best.map_or(self.limits.bound().total, |best| best.price.total);
        least * (1.0 - self.choices.left_out)
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
