//! The recommendation.
//!
//! First the moments at which the trade leaves no choice (verify after a remedy, put back after
//! an exchange that seemed to cure), then the cheapest expected way among what the guards allow.

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::{CauseRef, Fault, same_work, verify};
use crate::engine::RunningPoint;
use crate::job::entry::Reading;
use crate::job::timeline::{Standing, Touch};
use crate::knowledge::{Knowledge, Thermal};
use crate::percent::percent;
use crate::units::Cost;

use super::actions::{Choices, Cure, choices, price};
use super::advice::{Advice, Branch, Choice, Step};
use super::bound;
use super::guard::{self, Held, held};
use super::problem::{Price, Situation};
use super::value::{Move, Planner, after_outcome};

/// Tests that are looked at two steps deep.
const SHORTLIST: usize = 12;
/// Tests that are looked at after each outcome.
const INNER: usize = 14;
/// Steps of the roll-out for the best few.
const DEPTH: usize = 3;
/// Choices that are rolled out.
const ROLLED: usize = 3;
/// Share by which two expected prices must differ to count as different: what a plan made on
/// sensitivities off by a factor of two in odds costs more than one on true ones (2 %, study of
/// the theory page), and a little for priors.
const TIE: f64 = 0.04;
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
        Some((step, why)) => {
            let mut choice = desk.forced(step);
            choice.why = why;
            ranked.retain(|c| c.step != choice.step);
            choice
        }
        None if ranked.is_empty() => desk.forced(Step::Stop),
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

    /// Tests by one step of look-ahead, without regard to guards that later results may lift. The
    /// set-up is left out of half the list, so that tests which share one are not lost because
    /// each alone has to pay for it.
    fn promising(&self) -> Vec<usize> {
        let count = self.choices.options.len();
        let one: Vec<f64> =
            (0..count).map(|p| self.planner.one_step(self.belief(), self.now(), p).total).collect();
        let set_up = |p: usize| {
            let probe = &self.choices.problem.probes[p];
            self.planner.doing(p, self.now()).0.total - probe.price.total
        };
        let mut by_price: Vec<usize> = (0..count).collect();
        by_price.sort_by(|a, b| one[*a].total_cmp(&one[*b]).then(a.cmp(b)));
        let mut in_company: Vec<usize> = (0..count).collect();
        let alone: Vec<f64> = (0..count).map(|p| one[p] - 0.8 * set_up(p)).collect();
        in_company.sort_by(|a, b| alone[*a].total_cmp(&alone[*b]).then(a.cmp(b)));
        let mut list: Vec<usize> = by_price.iter().copied().take(INNER * 2 / 3).collect();
        for p in in_company {
            if list.len() >= INNER {
                break;
            }
            if !list.contains(&p) {
                list.push(p);
            }
        }
        list
    }

    /// Permitted choices with their expected prices, cheapest first.
    fn ranked(&self) -> Vec<Choice> {
        let mut priced: Vec<(Start, Price)> = Vec::new();
        let permitted: Vec<usize> = self.shortlist();
        for &p in &permitted {
            let price = self.planner.two_step(self.belief(), self.now(), p, &self.inner);
            priced.push((Start::Probe(p), price));
        }
        for repair in self.likely_repairs() {
            priced.push((Start::Repair(repair), self.repair_first(repair)));
        }
        for (probe, price) in self.looks_before_repairs() {
            match priced.iter_mut().find(|entry| entry.0 == Start::Probe(probe)) {
                Some(entry) if entry.1.total <= price.total => {}
                Some(entry) => entry.1 = price,
                None => priced.push((Start::Probe(probe), price)),
            }
        }
        priced.sort_by(|a, b| a.1.total.total_cmp(&b.1.total).then(a.0.cmp(&b.0)));
        for entry in priced.iter_mut().take(ROLLED) {
            if let Start::Probe(p) = entry.0 {
                let rolled =
                    self.planner.roll_out(self.belief(), self.now(), p, &self.inner, DEPTH);
                if rolled.total < entry.1.total {
                    entry.1 = rolled;
                }
            }
        }
        priced.sort_by(|a, b| a.1.total.total_cmp(&b.1.total).then(a.0.cmp(&b.0)));
        let best = priced.first().map(|p| p.1.total);
        self.settle_ties(&mut priced);
        let mut list: Vec<Choice> = Vec::new();
        for (index, (what, price)) in priced.into_iter().enumerate() {
            if list.len() > ALTERNATIVES {
                break;
            }
            let full = index == 0;
            let choice = match what {
                Start::Probe(p) => self.probe_choice(p, price, full),
                Start::Repair(r) => self.repair_choice(r, price),
            };
            if list.iter().all(|c| c.step != choice.step) {
                list.push(choice);
            }
        }
        if let (Some(first), Some(best)) = (list.first_mut(), best) {
            first.why.insert(0, self.price_reason(best));
        }
        list
    }

    /// Among choices whose prices do not differ by more than the knowledge base's figures can be
    /// trusted, what tells most about the cause per minute comes first.
    fn settle_ties(&self, priced: &mut [(Start, Price)]) {
        let Some(best) = priced.first().map(|p| p.1.total) else { return };
        let tied = priced.iter().take_while(|p| p.1.total <= best * (1.0 + TIE)).count();
        let rate = |what: Start| match what {
            Start::Probe(p) => {
                self.information(p) / self.planner.doing(p, self.now()).0.total.max(1.0)
            }
            // A repair that is as good as any test ends the job.
            Start::Repair(_) => f64::INFINITY,
        };
        priced[..tied].sort_by(|a, b| rate(b.0).total_cmp(&rate(a.0)).then(a.0.cmp(&b.0)));
    }

    /// Expected bits about what must be cured.
    pub(crate) fn information(&self, p: usize) -> f64 {
        let rows = &self.choices.problem.probes[p].rows;
        rows.iter()
            .map(|row| {
                let (joint, sum) = after_outcome(self.belief(), row);
                let bits = |(j, b): (&f64, &f64)| {
                    if *j > 0.0 { j * (j / (sum * b)).log2() } else { 0.0 }
                };
                joint.iter().zip(self.belief()).map(bits).sum::<f64>()
            })
            .sum()
    }

    fn price_reason(&self, best: f64) -> String {
        let without = self.planner.stop(self.belief(), self.now()).total;
        if without > best + 0.5 {
            format!(
                "Cheapest way that can be seen: {best:.0} min of labour expected to the proven, cured fault; trying \
                 the likeliest cures one after the other would take {without:.0}."
            )
        } else {
            format!("No test is worth its time here: {best:.0} min of labour expected to the end.")
        }
    }

    fn shortlist(&self) -> Vec<usize> {
        let one = |p: usize| self.planner.one_step(self.belief(), self.now(), p).total;
        let mut list: Vec<(f64, usize)> = (0..self.choices.options.len())
            .filter(|&p| !self.held.probes[p])
            .map(|p| (one(p), p))
            .collect();
        list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut short: Vec<usize> = list.iter().take(SHORTLIST).map(|p| p.1).collect();
        short.extend(self.inner.iter().copied().filter(|&p| !self.held.probes[p]));
        short.sort_unstable();
        short.dedup();
        short
    }

    /// The first repairs of the plan that may be done now.
    fn likely_repairs(&self) -> Vec<usize> {
        let plan = super::value::repair(
            &self.choices.problem,
            self.planner.prices(),
            self.belief(),
            self.now(),
        );
        plan.order.into_iter().filter(|&r| !self.held.repairs[r]).take(3).collect()
    }

    /// The cylinder at which a fault's seat is now.
    fn now_at(&self, fault: Fault) -> Option<crate::engine::Cylinder> {
        let timeline = self.diagnosis.model.timeline;
        let travels = timeline.engine.depth_travels();
        let seat = fault.cause.seat(self.knowledge());
        Some(timeline.arrangement.cylinder_of(seat, fault.place.cylinder()?, travels))
    }

    /// Where a likely repair only waits for a look, the look followed by it: a plan that can be
    /// carried out whatever the look shows.
    fn looks_before_repairs(&self) -> Vec<(usize, Price)> {
        let plan = super::value::repair(
            &self.choices.problem,
            self.planner.prices(),
            self.belief(),
            self.now(),
        );
        plan.order
            .into_iter()
            .take(2)
            .filter_map(|repair| {
                let look = self.held.looks[repair]?;
                let Cure::Remedy(faults) = &self.choices.cures[repair] else { return None };
                let at = self.now_at(*faults.first()?);
                let probe = self.choices.options.iter().position(|o| {
                    matches!(o.step, Step::Test { test, cylinder, .. } if test == look && cylinder == at)
                })?;
                let (doing, _) = self.planner.doing(probe, self.now());
                Some((probe, doing + self.repair_first(repair)))
            })
            .collect()
    }

    /// Expected price of a repair, and the best one-step decision if it did not cure.
    fn repair_first(&self, repair: usize) -> Price {
        let problem = &self.choices.problem;
        let work = &problem.repairs[repair];
        let mut price = problem.world.ready(self.now(), &work.needs).0 + work.price;
        let mut cured = 0.0;
        let left: Vec<f64> = self
            .belief()
            .iter()
            .zip(&problem.cures)
            .map(|(p, cures)| {
                if cures.as_slice() == [repair] {
                    cured += p;
                    0.0
                } else {
                    *p
                }
            })
            .collect();
        price.hands_on -= cured * work.own_hands_on;
        let rest = 1.0 - cured;
        if rest > 1e-9 {
            let after = Situation { state: problem.world.verifying, open: 0 };
            price += self.planner.best_one_step(&left, after, &self.inner).1.times(rest);
        }
        price
    }

    fn probe_choice(&self, p: usize, expected: Price, full: bool) -> Choice {
        let option = &self.choices.options[p];
        let knowledge = self.knowledge();
        let (doing, _) = self.planner.doing(p, self.now());
        let branches = self.branches(p, full);
        let why = if full { self.separation(p) } else { Vec::new() };
        Choice {
            step: option.step,
            cost: self.whole_cost(option.step, option.own, doing),
            total: doing.total,
            expected_total: expected.total,
            expected_hands_on: expected.hands_on,
            lower_bound: (doing.total + self.bound.informed)
                .max(self.bound.total)
                .min(expected.total),
            branches,
            cautions: option
                .cautions
                .iter()
                .copied()
                .filter(|&c| c < knowledge.cautions.len())
                .collect(),
            why,
        }
    }

    fn repair_choice(&self, repair: usize, expected: Price) -> Choice {
        let knowledge = self.knowledge();
        let problem = &self.choices.problem;
        let step = self.repair_step(repair);
        let own = self.choices.cure_costs[repair];
        let (ready, _) = problem.world.ready(self.now(), &problem.repairs[repair].needs);
        let doing = ready + price(knowledge, own);
        let cautions = match (&self.choices.cures[repair], step) {
            (Cure::Remedy(_), Step::Remedy(Fault { cause: CauseRef::Listed(index), .. })) => {
                knowledge.causes[index]
                    .remedy
                    .as_ref()
                    .map(|r| r.cautions.clone())
                    .unwrap_or_default()
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
            lower_bound: self.bound.total.min(expected.total),
            branches: Vec::new(),
            cautions,
            why,
        }
    }

    fn repair_step(&self, repair: usize) -> Step {
        let engine = &self.diagnosis.model.timeline.engine;
        match &self.choices.cures[repair] {
            Cure::Remedy(faults) => {
                // The likeliest of the causes that the work cures gives it its name.
                let likeliest = faults.iter().copied().max_by(|a, b| {
                    self.probability(*a).total_cmp(&self.probability(*b)).then(b.cmp(a))
                });
                likeliest.map_or(Step::Stop, Step::Remedy)
            }
            Cure::Record => Step::Stop,
            Cure::Settle => Step::Readings { at: RunningPoint::Idle, site: engine.probes },
            Cure::Confirm => Step::Verify,
            Cure::Search => Step::Remedy(Fault {
                cause: CauseRef::Unlisted,
                place: crate::engine::Place::Cylinder(self.choices.focus),
            }),
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
            Step::Readings { at, .. } => (vec![crate::job::read::thermal_at(at)], Vec::new()),
            Step::Verify => (vec![Thermal::Idle], Vec::new()),
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
                let then = (with_next && probability > 1e-3).then(|| {
                    let (best, _) = self.planner.best_one_step(&joint, at, &rest);
                    match best {
                        Move::Probe(next) => self.choices.options[next].step,
                        Move::Repair => self.first_repair(&joint, at),
                    }
                });
                Branch { id: id.clone(), text: text.clone(), probability, leads, then }
            })
            .collect()
    }

    fn first_repair(&self, belief: &[f64], at: Situation) -> Step {
        let plan = super::value::repair(&self.choices.problem, self.planner.prices(), belief, at);
        plan.order.first().map_or(Step::Stop, |&r| self.repair_step(r))
    }

    /// The likeliest fault at a belief.
    fn leader(&self, joint: &[f64], sum: f64) -> Option<(Fault, f64)> {
        if sum <= 0.0 {
            return None;
        }
        let mut by_fault: std::collections::BTreeMap<Fault, f64> =
            std::collections::BTreeMap::new();
        for (p, h) in joint.iter().zip(&self.choices.cases) {
            for fault in &h.faults {
                *by_fault.entry(*fault).or_default() += p / sum;
            }
        }
        by_fault.into_iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
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
                "It tells {} ({}) from {} ({}) in {:.0} of 100 cases.",
                top.fault.cause.name(knowledge),
                top.fault.place,
                fault.cause.name(knowledge),
                fault.place,
                100.0 * apart
            )],
            None => Vec::new(),
        }
    }

    /// A step that the trade leaves no choice about.
    fn forced(&self, step: Step) -> Choice {
        if let Some(p) = self.choices.options.iter().position(|o| o.step == step) {
            let expected = self.planner.two_step(self.belief(), self.now(), p, &self.inner);
            return self.probe_choice(p, expected, true);
        }
        if let Some(r) = (0..self.choices.cures.len()).find(|&r| self.repair_step(r) == step) {
            return self.repair_choice(r, self.repair_first(r));
        }
        let constants = &self.knowledge().constants;
        let own = match step {
            Step::Verify => constants.verify,
            Step::Readings { .. } => constants.readings,
            Step::Test { test, .. } => self.knowledge().tests[test].cost,
            Step::Remedy(_) | Step::Stop => Cost::default(),
        };
        let cost = self.whole_cost(step, own, Price { total: 0.0, hands_on: own.hands_on });
        let total = cost.total(constants.rates);
        let cautions = match step {
            Step::Test { test, .. } => self.knowledge().tests[test].cautions.clone(),
            _ => Vec::new(),
        };
        // After a stop nothing is left to do; otherwise the rest is what repairing would cost if
        // the step told nothing.
        let rest = match step {
            Step::Stop => Price::default(),
            _ => self.planner.stop(self.belief(), self.now()),
        };
        Choice {
            step,
            cost,
            total,
            expected_total: total + rest.total,
            expected_hands_on: cost.hands_on + rest.hands_on,
            lower_bound: total.min(total + self.bound.total),
            branches: Vec::new(),
            cautions,
            why: Vec::new(),
        }
    }

    /// Moments at which the trade leaves no choice.
    fn no_choice(&self) -> Option<(Step, Vec<String>)> {
        let timeline = self.diagnosis.model.timeline;
        let assessment = &self.diagnosis.assessment;
        let knowledge = self.knowledge();
        if timeline.standing != Standing::Open {
            return Some((Step::Stop, vec!["The job is closed.".to_owned()]));
        }
        let site = timeline.engine.probes;
        let slot = timeline.disturbances.len();
        let running_after =
            timeline.sets.iter().any(|s| s.after == slot && s.at != RunningPoint::ColdSoak);
        let last = timeline.disturbances.last();
        if last.is_some_and(|d| d.remedied.is_some()) && !running_after {
            let why = "A remedy proves nothing until the readings after it are as they should be.";
            return Some((Step::Verify, vec![why.to_owned()]));
        }
        // An exchange says nothing until it is read, at the point last read before it.
        let unread = last.is_some_and(|d| d.work.is_some() && d.verdict.is_none())
            && !timeline.sets.iter().any(|s| s.after == slot);
        let before = timeline.sets.iter().rev().find(|s| s.at != RunningPoint::ColdSoak);
        if let (true, Some(set)) = (unread, before) {
            let why = "Something was exchanged or remade and nothing was read since: the readings now, at the \
                       same point as before, are what it was done for.";
            return Some((Step::Readings { at: set.at, site: set.site }, vec![why.to_owned()]));
        }
        if timeline.disturbances.iter().any(|d| d.remedied.is_some()) {
            let verification = verify(knowledge, timeline, assessment);
            if verification.verified() {
                let why = "The oddness is gone and the cause proven: close the job.";
                return Some((Step::Stop, vec![why.to_owned()]));
            }
        }
        if timeline.sets.is_empty() && timeline.findings.is_empty() {
            let (at, why) = if timeline.thermal == Thermal::ColdSoaked {
                (
                    RunningPoint::ColdSoak,
                    "The engine is cold-soaked, which a start would spoil for a day: three \
                  minutes with the key on show whether the displays agree when everything is at one temperature.",
                )
            } else {
                (
                    RunningPoint::Idle,
                    "Nothing can be judged without all displays at one steady point.",
                )
            };
            return Some((Step::Readings { at, site }, vec![why.to_owned()]));
        }
        let numbers_only = timeline
            .sets
            .iter()
            .all(|s| s.readings.iter().all(|r| matches!(r, Reading::Degrees(_))));
        let settled = timeline.sets.iter().any(|s| {
            matches!(s.at, RunningPoint::Idle | RunningPoint::Cruise | RunningPoint::Full)
        });
        let warming = timeline.sets.iter().any(|s| s.at == RunningPoint::Warming);
        if warming && !settled && numbers_only && timeline.findings.is_empty() {
            let why = "While an engine warms up its displays differ and prove nothing: hold a warm idle until no \
                       display moves more than 3 °C in 30 s, then read again.";
            return Some((Step::Readings { at: RunningPoint::Idle, site }, vec![why.to_owned()]));
        }
        self.gone_after_exchange(running_after).or_else(|| self.natural())
    }

    /// Gone after an exchange or a re-seat: nobody is convicted until it is put back, or the
    /// re-seat is as good as certain.
    fn gone_after_exchange(&self, running_after: bool) -> Option<(Step, Vec<String>)> {
        let timeline = self.diagnosis.model.timeline;
        let assessment = &self.diagnosis.assessment;
        let knowledge = self.knowledge();
        let last = timeline.disturbances.last()?;
        let said_gone = last.verdict.as_ref().is_some_and(|v| !v.superseded);
        let fault = 1.0 - assessment.healthy;
        if !(running_after || said_gone) || fault < 0.5 || assessment.present > 0.3 * fault {
            return None;
        }
        let suspect = assessment.suspects.first()?;
        let CauseRef::Listed(index) = suspect.fault.cause else { return None };
        let seat = knowledge.causes[index].seat;
        let re_seated = last.touched.iter().any(|&(s, n, touch)| {
            s == seat
                && matches!(touch, Touch::Reseated(_))
                && suspect.fault.place.cylinder() == Some(n)
        });
        let share = same_work(knowledge, assessment, suspect.fault);
        if re_seated
            && (share >= knowledge.constants.proof || last.work.is_none_or(|w| w.b.is_none()))
        {
            return Some((
                Step::Remedy(suspect.fault),
                vec![format!(
                    "It went away when this was undone and remade ({}); the part that moved is not convicted. \
                     Enter it as set right, then read again to prove it.",
                    percent(share)
                )],
            ));
        }
        let work = last.work?;
        let b = work.b?;
        Some((
            Step::Test { test: work.test, cylinder: Some(work.a), partner: Some(b) },
            vec![
                "It went away after an exchange, which moved one thing and undid others: put it back and read again. \
                 If it comes back, the moved part or its place is to blame; if not, what was re-seated."
                    .to_owned(),
            ],
        ))
    }

    /// Inside the natural spread there is nothing to find.
    fn natural(&self) -> Option<(Step, Vec<String>)> {
        let timeline = self.diagnosis.model.timeline;
        let assessment = &self.diagnosis.assessment;
        let nothing_said = timeline.findings.is_empty() && timeline.disturbances.is_empty();
        let numbers = timeline
            .sets
            .iter()
            .all(|s| s.readings.iter().all(|r| matches!(r, Reading::Degrees(_))));
        let settled = timeline
            .sets
            .iter()
            .any(|s| s.at != RunningPoint::Warming && s.at != RunningPoint::ColdSoak);
        if !(nothing_said && numbers && settled) {
            return None;
        }
        let largest =
            assessment.oddness.iter().filter_map(|o| o.sigmas).map(f64::abs).fold(0.0, f64::max);
        let top = assessment.suspects.first().map_or(0.0, |s| s.probability);
        let natural = largest < 2.0 || (largest < 3.0 && assessment.healthy >= top);
        natural.then(|| {
            (
                Step::Stop,
                vec![format!(
                    "The largest difference is {largest:.1} natural spreads of this layout, and below three nothing is \
                     to be found: write the readings down as this engine's own and compare with them next time."
                )],
            )
        })
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

/// What a plan starts with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Start {
    Probe(usize),
    Repair(usize),
}
