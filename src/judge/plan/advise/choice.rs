//! A step with what it costs, what it can show and what that would mean.
//!
//! Puts numbers of the planner beside the knowledge base's texts; it decides nothing.

use std::collections::BTreeMap;

use crate::diagnosis::{CauseRef, Fault, by_chance};
use crate::plan::actions::{Cure, first_look, price};
use crate::plan::advice::{Branch, Choice, JobEnd, Step};
use crate::plan::guard;
use crate::plan::problem::{Price, Situation};
use crate::plan::value::{Move, after_outcome, repair};
use facts::job::timeline::test_for;
use facts::knowledge::{Item, Thermal};
use measure::engine::Regime;
use measure::percent::percent;
use measure::units::Cost;

use super::Desk;

/// Share of the belief that a cure must have for it to be promised, and share by which every test
/// must then be dearer.
const SURE: f64 = 0.9;
const CLEAR: f64 = 0.03;

impl Desk<'_, '_> {
    pub(super) fn probe_choice(&self, p: usize, expected: Price, full: bool) -> Choice {
        let option = &self.choices.options[p];
        let (doing, then) = self.planner.doing(p, self.now());
        let branches = self.branches(p, full);
        let why = if full { self.separation(p) } else { Vec::new() };
        Choice {
            step: option.step,
            cost: self.whole_cost(option.step, option.own, doing),
            total: doing.total,
            expected_total: expected.total,
            expected_hands_on: expected.hands_on,
            lower_bound: self
                .limits
                .beginning_with(p, doing.total, then)
                .mul_add(1.0 - self.choices.left_out, 0.0)
                .max(self.bound())
                .min(expected.total),
            branches,
            cautions: self.cautions(&option.cautions),
            before: None,
            why,
        }
    }

    pub(super) fn repair_choice(&self, repair: usize, expected: Price) -> Choice {
        let knowledge = self.knowledge();
        let problem = &self.choices.problem;
        let step = self.repair_step(repair);
        let own = self.choices.cure_costs[repair];
        let (ready, _) = problem.world.ready(self.now(), &problem.repairs[repair].needs);
        let doing = ready + price(knowledge, own);
        let cautions = match (&self.choices.cures[repair], step) {
            (Cure::Remedy(_), Step::Remedy(Fault { cause: CauseRef::Listed(index), .. })) => {
                let remedy = knowledge.causes[index].remedy.as_ref();
                self.cautions(remedy.map_or(&[], |remedy| &remedy.cautions))
            }
            _ => Vec::new(),
        };
        let share = guard::mass(self.choices, repair);
        let why = match &self.choices.cures[repair] {
            Cure::Remedy(faults) => vec![format!(
                "It cures {} with {}, and the readings after it prove it or rule it out.",
                faults.iter().map(|f| f.cause.name(knowledge)).collect::<Vec<_>>().join(", or "),
                percent(share)
            )],
            Cure::Record => vec![format!(
                "Nothing wrong is {} likely: write the readings down as this engine's own.",
                percent(share)
            )],
            Cure::Settle => {
                vec!["The readings may not have settled: wait and read again.".to_owned()]
            }
            Cure::Confirm => vec!["What was wrong seems to be gone: make sure.".to_owned()],
            Cure::Search => vec!["None of the listed causes is likely: look further.".to_owned()],
        };
        Choice {
            step,
            cost: self.whole_cost(step, own, doing),
            total: doing.total,
            expected_total: expected.total,
            expected_hands_on: expected.hands_on,
            lower_bound: self.bound().min(expected.total),
            branches: Vec::new(),
            cautions,
            before: self.before(step),
            why,
        }
    }

    /// The cautions that concern this engine.
    fn cautions(&self, cautions: &[usize]) -> Vec<usize> {
        self.knowledge().cautions_on(&self.diagnosis.model.timeline.engine, cautions)
    }

    /// The look that a step would make impossible.
    fn before(&self, step: Step) -> Option<usize> {
        let Step::Remedy(fault) = step else { return None };
        let diagnosis = self.diagnosis;
        let model = &diagnosis.model;
        first_look(model.knowledge, model.timeline, &diagnosis.assessment, fault)
    }

    pub(super) fn repair_step(&self, repair: usize) -> Step {
        let engine = &self.diagnosis.model.timeline.engine;
        match &self.choices.cures[repair] {
            Cure::Remedy(faults) => {
                // The likeliest of the causes that the work cures gives it its name.
                let likeliest = faults.iter().copied().max_by(|a, b| {
                    by_chance(self.probability(*a), self.probability(*b)).then(b.cmp(a))
                });
                likeliest.map_or(Step::End(JobEnd::NotFound), Step::Remedy)
            }
            Cure::Record => Step::End(JobEnd::Normal),
            Cure::Settle => Step::Readings { at: self.at(Regime::Idle), site: engine.probes },
            Cure::Confirm => Step::End(JobEnd::Unproven),
            Cure::Search => Step::End(JobEnd::NotFound),
        }
    }

    fn probability(&self, fault: Fault) -> f64 {
        let suspects = &self.diagnosis.assessment.suspects;
        suspects.iter().find(|s| s.fault == fault).map_or(0.0, |s| s.probability)
    }

    /// Cost of a step with set-ups, in parts that add up to its price.
    fn whole_cost(&self, step: Step, own: Cost, doing: Price) -> Cost {
        let knowledge = self.knowledge();
        let timeline = self.diagnosis.model.timeline;
        let (states, access): (Vec<Thermal>, Vec<usize>) = match step {
            Step::Test { test, .. } => {
                let test = &knowledge.tests[test];
                (test.states.clone(), test.access.clone())
            }
            Step::Remedy(Fault { cause: CauseRef::Listed(index), .. }) => knowledge.causes[index]
                .remedy
                .as_ref()
                .map(|r| (r.states.clone(), r.access.clone()))
                .unwrap_or_default(),
            Step::Readings { at, .. } | Step::Verify { at } => (vec![at.thermal], Vec::new()),
            _ => (Vec::new(), Vec::new()),
        };
        let rates = knowledge.constants.rates;
        let change = states
            .iter()
            .map(|&s| knowledge.changes.between(timeline.thermal, s))
            .min_by(|a, b| a.total(rates).total_cmp(&b.total(rates)))
            .unwrap_or_default();
        let open: Cost = access
            .iter()
            .filter(|a| !timeline.open_access.contains(a))
            .map(|&a| knowledge.access[a].cost)
            .sum();
        let mut cost = own + change + open;
        // A second cylinder to open: the price knows, the parts follow it.
        let missing = doing.hands_on - cost.hands_on;
        if missing > 0.0 {
            cost.hands_on += missing;
        }
        cost
    }

    /// Whether an outcome points at another cylinder.
    fn names_partner(&self, step: Step, id: &str) -> bool {
        let Step::Test { test, cylinder: Some(_), .. } = step else { return false };
        self.knowledge().tests[test].outcomes.iter().any(|o| o.id == id && o.partner)
    }

    fn branches(&self, p: usize, with_next: bool) -> Vec<Branch> {
        let option = &self.choices.options[p];
        let probe = &self.choices.problem.probes[p];
        let (_, at) = self.planner.doing(p, self.now());
        let rest: Vec<usize> = self.inner.iter().copied().filter(|x| *x != p).collect();
        option
            .outcomes
            .iter()
            .zip(&probe.rows)
            .map(|((id, text), row)| {
                let (joint, probability) = after_outcome(self.belief(), row);
                let leads = self.leader(&joint, probability);
                let then = if with_next && probability > 1e-3 {
                    self.sure_to_follow(p, &joint, at, &rest)
                } else {
                    None
                };
                let partner = self.names_partner(option.step, id);
                Branch { id: id.clone(), text: text.clone(), partner, probability, leads, then }
            })
            .collect()
    }

    /// What will be advised after an outcome, where that can be promised: the cure of what is as good
    /// as certain then, with no test near it in price and no rule in its way. All else hangs on an
    /// advice that is not given yet.
    fn sure_to_follow(
        &self,
        probe: usize,
        belief: &[f64],
        at: Situation,
        rest: &[usize],
    ) -> Option<Step> {
        let problem = &self.choices.problem;
        // What undoes or moves parts is read first, and may have cured.
        if let Step::Test { test, .. } = self.choices.options[probe].step
            && !self.knowledge().tests[test].reseats.is_empty()
        {
            return None;
        }
        let plan = repair(problem, self.planner.prices(), belief, at);
        let first = *plan.order.first()?;
        let Cure::Remedy(faults) = &self.choices.cures[first] else { return None };
        let sum: f64 = belief.iter().sum();
        let needing = belief.iter().zip(&problem.cures).filter(|(_, c)| c.contains(&first));
        if needing.map(|(p, _)| p).sum::<f64>() < SURE * sum {
            return None;
        }
        let mut places = guard::engine_places(self.diagnosis, faults).into_iter();
        let waits = places.any(|place| !problem.cleared(belief, place));
        let looked = match (self.held.looks[first], self.choices.options[probe].step) {
            (None, _) => true,
            (Some(look), Step::Test { test, .. }) => look == test,
            (Some(_), _) => false,
        };
        if !looked || waits {
            return None;
        }
        let (best, least) = self.planner.best_one_step(belief, at, rest);
        let near = |&other: &usize| {
            self.planner.one_step(belief, at, other).total <= least.total * (1.0 + CLEAR)
        };
        (best == Move::Repair && !rest.iter().any(near)).then(|| self.repair_step(first))
    }

    /// The likeliest fault at a belief.
    fn leader(&self, joint: &[f64], sum: f64) -> Option<(Fault, f64)> {
        if sum <= 0.0 {
            return None;
        }
        let mut by_fault: BTreeMap<Fault, f64> = BTreeMap::new();
        for (p, h) in joint.iter().zip(&self.choices.cases) {
            for fault in &h.faults {
                *by_fault.entry(*fault).or_default() += p / sum;
            }
        }
        by_fault.into_iter().max_by(|a, b| by_chance(a.1, b.1).then(b.0.cmp(&a.0)))
    }

    /// Which suspects a test tells apart, in a sentence.
    fn separation(&self, p: usize) -> Vec<String> {
        let knowledge = self.knowledge();
        let rows = &self.choices.problem.probes[p].rows;
        let suspects = &self.diagnosis.assessment.suspects;
        let Some(top) = suspects.first() else { return Vec::new() };
        let row_of = |fault: Fault| -> Option<Vec<f64>> {
            let h = self.choices.cases.iter().position(|h| h.faults.as_slice() == [fault])?;
            Some(rows.iter().map(|row| row[h]).collect())
        };
        let Some(own) = row_of(top.fault) else { return Vec::new() };
        let other = suspects.iter().skip(1).take(12).find_map(|s| {
            let row = row_of(s.fault)?;
            let apart: f64 = own.iter().zip(&row).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0;
            (apart > 0.4).then_some((s.fault, apart))
        });
        match other {
            Some((fault, apart)) => vec![format!(
                "Separates {} ({}) from {} ({}) about {:.0} times in 10.",
                top.fault.cause.name(knowledge),
                top.fault.place,
                fault.cause.name(knowledge),
                fault.place,
                10.0 * apart
            )],
            None => Vec::new(),
        }
    }

    /// No plan that begins with a repair costs less.
    fn beginning_with_repair(&self, repair: usize) -> f64 {
        let problem = &self.choices.problem;
        let work = &problem.repairs[repair];
        let (ready, at) = problem.world.ready(self.now(), &work.needs);
        let ended = |cures: &Vec<usize>| cures.contains(&repair);
        let left: Vec<f64> = self
            .belief()
            .iter()
            .zip(&problem.cures)
            .map(|(p, cures)| if ended(cures) { 0.0 } else { *p })
            .collect();
        let rest: f64 = left.iter().sum();
        let behind = self.limits.at(&left, problem.world.verified(at));
        ((ready + work.price).total + rest * behind) * (1.0 - self.choices.left_out)
    }

    /// What an exchange of such items costs by itself.
    fn put_back_cost(&self, item: Item) -> Cost {
        let id = test_for(item, true, false);
        let tests = &self.knowledge().tests;
        self.knowledge().test(id).map_or_else(Cost::default, |test| tests[test].cost)
    }

    /// A step that the trade leaves no choice about.
    ///
    /// One whose work is `done` costs no more than the readings that verify it.
    pub(super) fn forced(&self, step: Step, done: bool) -> Choice {
        if let Some(p) = self.choices.options.iter().position(|o| o.step == step) {
            let expected = self.planner.two_step(self.belief(), self.now(), p, &self.inner);
            return self.probe_choice(p, expected, true);
        }
        if let Some(r) = (0..self.choices.cures.len()).find(|&r| self.repair_step(r) == step) {
            let mut choice = self.repair_choice(r, self.repair_first(r));
            choice.lower_bound = self.beginning_with_repair(r).min(choice.expected_total);
            if done {
                choice.expected_total -= choice.total;
                choice.expected_hands_on = choice.expected_hands_on.min(choice.expected_total);
                choice.lower_bound = choice.lower_bound.min(choice.expected_total);
                choice.cost = Cost::default();
                choice.total = 0.0;
            }
            return choice;
        }
        let constants = &self.knowledge().constants;
        let own = match step {
            Step::Verify { .. } => constants.verify,
            Step::PutBack { item, .. } => self.put_back_cost(item),
            Step::Readings { .. } => constants.readings,
            Step::Test { test, .. } => self.knowledge().tests[test].cost,
            Step::Remedy(_) | Step::End(_) => Cost::default(),
        };
        let cost = self.whole_cost(step, own, Price { total: 0.0, hands_on: own.hands_on });
        let total = cost.total(constants.rates);
        let cautions = match step {
            Step::Test { test, .. } => self.cautions(&self.knowledge().tests[test].cautions),
            _ => Vec::new(),
        };
        // After a stop nothing is left to do; otherwise the rest is what repairing would cost if
        // the step told nothing.
        let rest = match step {
            Step::End(_) => Price::default(),
            _ => self.planner.stop(self.belief(), self.now()),
        };
        Choice {
            step,
            cost,
            total,
            expected_total: total + rest.total,
            expected_hands_on: cost.hands_on + rest.hands_on,
            lower_bound: total,
            branches: Vec::new(),
            cautions,
            before: self.before(step),
            why: Vec::new(),
        }
    }
}
