//! Permitted choices by expected price: look-ahead, growing of the best few, ties.
//!
//! What is forbidden comes from `guard`; nothing here may lift it.

use crate::diagnosis::Fault;
use crate::plan::actions::Cure;
use crate::plan::advice::{Choice, Step};
use crate::plan::guard::mass;
use crate::plan::problem::{Price, Situation};
use crate::plan::value::{Begin, Planner, after_outcome, grow_all, repair};
use measure::engine::Cylinder;

use super::{ALTERNATIVES, Desk};

/// Tests that are looked at two steps deep.
const SHORTLIST: usize = 12;
/// Tests that are looked at after each outcome.
const INNER: usize = 14;
/// Share, and minutes, by which two expected prices must differ to count as different. All beginnings go on with the
/// same plans, so that they differ by what each costs and tells itself; a looser tie buys look after look that tells
/// little.
const TIE: f64 = 0.002;
const TIE_MINUTES: f64 = 1.0;
/// Share by which a test may be dearer than giving up, whose price is the roughest of all (common practice, no
/// source).
const ROUGH: f64 = 0.01;
/// Share of the belief that needs a repair from which that is owed in any case, and share of the price that it may
/// be dearer by than another beginning (common practice, no source).
const IN_ANY_CASE: f64 = 0.95;
const HARDLY: f64 = 0.05;
/// Why such a repair stands before something cheaper.
const OWED: &str = "This must be put right whatever else is the matter.";
/// Repairs that are priced as first steps.
const REPAIRS: usize = 5;
/// Minutes that a test must save to be worth it; and one that was looked at before with nothing touched
/// since, which corrects a slip at the most (common practice, no source).
const WORTH: f64 = 0.5;
const WORTH_AGAIN: f64 = 10.0;
/// What is called about even.
pub(super) const ABOUT_EVEN: f64 = 0.4;

/// The highest expected price that counts as no dearer than another.
fn even_with(best: f64) -> f64 {
    best + (best * TIE).max(TIE_MINUTES)
}

impl Desk<'_, '_> {
    /// Tests by one step of look-ahead, without regard to guards that later results may lift. The
    /// set-up is left out of half the list, so that tests which share one are not lost because
    /// each alone has to pay for it.
    pub(super) fn promising(&self) -> Vec<usize> {
        let count = self.choices.options.len();
        let one: Vec<f64> =
            (0..count).map(|p| self.planner.one_step(self.belief(), self.now(), p).total).collect();
        let set_up = |p: usize| {
            let probe = &self.choices.problem.probes[p];
            self.planner.doing(p, self.now()).0.total - probe.price.total
        };
        let mut by_price: Vec<usize> = (0..count).filter(|&p| self.planner.may_come(p)).collect();
        by_price.sort_by(|a, b| one[*a].total_cmp(&one[*b]).then(a.cmp(b)));
        let mut in_company = by_price.clone();
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
    pub(super) fn ranked(&self) -> Vec<Choice> {
        let mut priced: Vec<(Begin, Price)> = Vec::new();
        let permitted: Vec<usize> = self.shortlist();
        for &p in &permitted {
            let price = self.planner.two_step(self.belief(), self.now(), p, &self.inner);
            priced.push((Begin::Probe(p), price));
        }
        let plan =
            repair(&self.choices.problem, self.planner.prices(), self.belief(), self.now()).order;
        for repair in self.likely_repairs(&plan) {
            priced.push((Begin::Repair(repair), self.repair_first(repair)));
        }
        let waited_for = self.looks_before_repairs(&plan);
        for &(probe, price) in &waited_for {
            match priced.iter_mut().find(|entry| entry.0 == Begin::Probe(probe)) {
                Some(entry) if entry.1.total <= price.total => {}
                Some(entry) => entry.1 = price,
                None => priced.push((Begin::Probe(probe), price)),
            }
        }
        priced.sort_by(|a, b| a.1.total.total_cmp(&b.1.total).then(a.0.cmp(&b.0)));
        if let Some(best) = self.best
            && let Some(begin) = best.begin
            && !self.is_held(begin)
        {
            priced.retain(|entry| entry.0 != begin);
            priced.insert(0, (begin, best.price));
        } else {
            grow_all(
                &self.planner,
                self.belief(),
                self.now(),
                &mut priced,
                &self.inner,
                self.thinking,
            );
        }
        self.drop_worthless(&mut priced, &waited_for);
        priced.sort_by(|a, b| a.1.total.total_cmp(&b.1.total).then(a.0.cmp(&b.0)));
        let best = priced.first().map(|p| p.1.total);
        self.settle_ties(&mut priced);
        if let Some(record) = self.nothing_more_to_learn(&priced, &plan)
            && best.is_none_or(|best| record.1.total <= even_with(best))
        {
            priced.insert(0, record);
        }
        let owed = self.do_first_what_is_owed(&mut priced);
        let mut list: Vec<Choice> = Vec::new();
        for (index, (what, price)) in priced.into_iter().enumerate() {
            if list.len() > ALTERNATIVES {
                break;
            }
            let full = index == 0;
            let choice = match what {
                Begin::Probe(p) => self.probe_choice(p, price, full),
                Begin::Repair(r) => self.repair_choice(r, price),
            };
            if list.iter().all(|c| c.step != choice.step) {
                list.push(choice);
            }
        }
        if let Some(first) = list.first_mut() {
            first.why.insert(0, self.price_reason(first.expected_total));
            if owed {
                first.why.insert(0, OWED.to_owned());
            }
        }
        list
    }

    /// Leaves out tests that are not worth their time: against what the repairs cost without any, and, where
    /// the same was looked at before, against the best way without it.
    fn drop_worthless(&self, priced: &mut Vec<(Begin, Price)>, waited_for: &[(usize, Price)]) {
        let without = self.planner.stop(self.belief(), self.now()).total;
        let again = |begin: Begin| match begin {
            Begin::Probe(p) => self.choices.options[p].again,
            Begin::Repair(_) => false,
        };
        let new = priced.iter().filter(|(begin, _)| !again(*begin)).map(|(_, price)| price.total);
        let other = new.fold(without, f64::min);
        let begins = priced.iter().filter(|(begin, _)| matches!(begin, Begin::Repair(_)));
        let cheapest =
            begins.min_by(|a, b| a.1.total.total_cmp(&b.1.total)).map(|(begin, _)| *begin);
        let gives_up =
            matches!(cheapest, Some(Begin::Repair(r)) if self.choices.cures[r] == Cure::Search);
        priced.retain(|&(begin, price)| match begin {
            Begin::Probe(p) if waited_for.iter().any(|look| look.0 == p) => true,
            Begin::Probe(_) if again(begin) => price.total < other - WORTH_AGAIN,
            // What costs no more than giving up tells something.
            Begin::Probe(_) if gives_up => price.total <= without * (1.0 + ROUGH),
            Begin::Probe(_) => price.total < without - WORTH,
            Begin::Repair(_) => true,
        });
    }

    /// Where no test is worth its time, what the repairs begin with, although a rule would still have
    /// it surer: what is left to find out costs more than it tells, and waiting for it has no end.
    fn nothing_more_to_learn(
        &self,
        priced: &[(Begin, Price)],
        plan: &[usize],
    ) -> Option<(Begin, Price)> {
        let without = self.planner.stop(self.belief(), self.now());
        let worth = priced.iter().any(|(start, price)| {
            matches!(start, Begin::Probe(_)) && price.total < without.total - WORTH
        });
        let first = *plan.first()?;
        let sure_enough = match self.choices.cures[first] {
            Cure::Remedy(_) => self.held.dear[first] && mass(self.choices, first) > ABOUT_EVEN,
            _ => false,
        };
        (!worth && sure_enough).then_some((Begin::Repair(first), without))
    }

    fn is_held(&self, begin: Begin) -> bool {
        match begin {
            Begin::Probe(probe) => self.held.probes[probe],
            Begin::Repair(repair) => self.held.repairs[repair],
        }
    }

    /// Among choices whose prices do not differ by more than the knowledge base's figures can be
    /// trusted, what tells most about the cause per minute comes first.
    fn settle_ties(&self, priced: &mut [(Begin, Price)]) {
        let Some(best) = priced.first().map(|p| p.1.total) else { return };
        let tied = priced.iter().take_while(|p| p.1.total <= even_with(best)).count();
        let rate = |what: Begin| match what {
            Begin::Probe(p) => {
                self.information(p) / self.planner.doing(p, self.now()).0.total.max(1.0)
            }
            // A repair that is as good as any test ends the job; who gives up does not.
            Begin::Repair(r) if self.choices.cures[r] == Cure::Search => 0.0,
            Begin::Repair(_) => f64::INFINITY,
        };
        priced[..tied].sort_by(|a, b| rate(b.0).total_cmp(&rate(a.0)).then(a.0.cmp(&b.0)));
    }

    /// What must be put right whatever else is the matter comes first, where that is hardly dearer than to look on:
    /// who knows that two leads are crossed puts them right, and looks for the rest where it is.
    /// Says whether it is put before something cheaper.
    fn do_first_what_is_owed(&self, priced: &mut [(Begin, Price)]) -> bool {
        let Some(best) = priced.first().map(|p| p.1.total) else { return false };
        let owed = priced.iter().position(|&(begin, price)| match begin {
            Begin::Repair(r) => self.is_owed(r) && price.total <= best * (1.0 + HARDLY),
            Begin::Probe(_) => false,
        });
        if let Some(owed) = owed {
            priced[..=owed].rotate_right(1);
        }
        owed.is_some_and(|owed| owed > 0)
    }

    /// Expected bits about what must be cured.
    pub(crate) fn information(&self, p: usize) -> f64 {
        self.bits(p, self.belief())
    }

    /// The same at a belief.
    pub(super) fn bits(&self, p: usize, belief: &[f64]) -> f64 {
        let rows = &self.choices.problem.probes[p].rows;
        rows.iter()
            .map(|row| {
                let (joint, sum) = after_outcome(belief, row);
                let bits = |(j, b): (&f64, &f64)| {
                    if *j > 0.0 { j * (j / (sum * b)).log2() } else { 0.0 }
                };
                joint.iter().zip(belief).map(bits).sum::<f64>()
            })
            .sum()
    }

    fn price_reason(&self, this: f64) -> String {
        let without = self.planner.stop(self.belief(), self.now()).total;
        if without > this + 0.5 {
            format!(
                "Quickest route: about {this:.0} min to fixed and proven (trying the likeliest cures one after \
                 the other would take {without:.0})."
            )
        } else {
            format!("No test is worth its time here: about {this:.0} min to the end.")
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

    /// The first repairs of the plan that may be done now, and what is owed in any case, which by itself ends few.
    fn likely_repairs(&self, plan: &[usize]) -> Vec<usize> {
        let may = |r: &usize| !self.held.repairs[*r];
        let mut list: Vec<usize> = plan.iter().copied().filter(may).take(REPAIRS).collect();
        let owed = (0..self.choices.cures.len()).filter(|r| may(r) && self.is_owed(*r));
        let more: Vec<usize> = owed.filter(|r| !list.contains(r)).collect();
        list.extend(more);
        list
    }

    /// Whether a remedy is owed whatever else is the matter.
    fn is_owed(&self, repair: usize) -> bool {
        matches!(self.choices.cures[repair], Cure::Remedy(_))
            && mass(self.choices, repair) >= IN_ANY_CASE
    }

    /// The cylinder at which a fault's seat is now.
    fn now_at(&self, fault: Fault) -> Option<Cylinder> {
        let timeline = self.diagnosis.model.timeline;
        let travels = timeline.engine.depth_travels();
        let seat = fault.cause.seat(self.knowledge());
        Some(timeline.arrangement.cylinder_of(seat, fault.place.cylinder()?, travels))
    }

    /// The look that a repair waits for, and for nothing else.
    pub(super) fn look_awaited(&self, repair: usize) -> Option<usize> {
        let look = self.held.looks[repair]?;
        let Cure::Remedy(faults) = &self.choices.cures[repair] else { return None };
        let at = self.now_at(*faults.first()?);
        self.choices.options.iter().position(
            |o| matches!(o.step, Step::Test { test, cylinder, .. } if test == look && cylinder == at),
        )
    }

    /// Where a likely repair only waits for a look, the look followed by it: a plan that can be
    /// carried out whatever the look shows.
    fn looks_before_repairs(&self, plan: &[usize]) -> Vec<(usize, Price)> {
        plan.iter()
            .take(2)
            .filter_map(|&repair| {
                let probe = self.look_awaited(repair)?;
                let (doing, _) = self.planner.doing(probe, self.now());
                Some((probe, doing + self.repair_first(repair)))
            })
            .collect()
    }

    /// Expected price of the best one-step decision after a repair: a case of two cures needs only
    /// the other now.
    fn best_after(&self, repair: usize, left: &[f64], after: Situation) -> Price {
        let problem = &self.choices.problem;
        let halved = left.iter().zip(&problem.cures);
        if halved.into_iter().all(|(p, cures)| *p <= 0.0 || !cures.contains(&repair)) {
            return self.planner.best_one_step(left, after, &self.inner).1;
        }
        let mut rest = problem.clone();
        for cures in &mut rest.cures {
            if cures.len() > 1 {
                cures.retain(|cure| *cure != repair);
            }
        }
        let barred = (0..rest.probes.len()).map(|p| !self.planner.may_come(p)).collect();
        Planner::new(&rest).barring(barred).best_one_step(left, after, &self.inner).1
    }

    /// Expected price of a repair, and the best one-step decision if it did not cure.
    pub(super) fn repair_first(&self, repair: usize) -> Price {
        let problem = &self.choices.problem;
        let work = &problem.repairs[repair];
        let (ready, ready_at) = problem.world.ready(self.now(), &work.needs);
        let mut price = ready + work.price;
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
        price.total += problem.in_vain(self.belief(), repair);
        let rest = 1.0 - cured;
        if rest > 1e-9 {
            let after = problem.world.verified(ready_at);
            price += self.best_after(repair, &left, after).times(rest);
        }
        price
    }
}
