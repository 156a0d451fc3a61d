//! The best that can be done before a time is up.
//!
//! Works on a diagnosis whose costs are minutes on the clock, and looks for the plan with the
//! greatest chance that the fault is cured, and seen to be, before the end. It must not weigh
//! money.

use crate::diagnosis::assess::Diagnosis;
use crate::plan::actions::choices;
use crate::plan::advice::{InTime, Step};
use crate::plan::guard::held;
use crate::plan::problem::Situation;
use crate::plan::value::{Begin, Planner, Prices, after_outcome};
use crate::plan::wishes::Thinking;

use super::Desk;

/// Tests that are looked at at a place, and steps of tests that are looked ahead.
const LOOKED_AT: usize = 10;
const DEPTH: usize = 2;
/// Chance of an outcome below which nothing is looked for behind it.
const RARE: f64 = 1e-3;
/// Chances closer than this do not differ.
const ALIKE: f64 = 1e-9;

/// The beginning that leads to a cure within `minutes` most often; nothing if none can.
///
/// `on_the_clock` is a diagnosis with a knowledge base whose rates make every cost minutes on the
/// clock: waiting counts whole, parts nothing. What the guards forbid is not begun.
#[must_use]
pub fn in_time(on_the_clock: &Diagnosis<'_>, minutes: f64) -> Option<InTime> {
    let mut choices = choices(on_the_clock);
    let held = held(on_the_clock, &mut choices);
    let prices = Prices::new(&choices.problem);
    let desk =
        Desk::new(on_the_clock, &choices, &held, &prices, Thinking { work: 0, time_is_up: None });
    let clock = Clock { planner: &desk.planner };
    let (belief, now) = (desk.belief(), desk.now());
    let mut best: Option<(f64, Begin)> = None;
    let begins = (0..choices.options.len()).filter(|p| !held.probes[*p]).map(Begin::Probe).chain(
        (0..choices.cures.len())
            // "Nothing wrong" cures nothing.
            .filter(|r| !held.repairs[*r] && !matches!(desk.repair_step(*r), Step::End(_)))
            .map(Begin::Repair),
    );
    for begin in begins {
        let chance = clock.beginning(belief, now, begin, minutes, &[], DEPTH);
        if chance > ALIKE && best.is_none_or(|(most, _)| chance > most + ALIKE) {
            best = Some((chance, begin));
        }
    }
    let (chance, begin) = best?;
    let (step, takes) = match begin {
        Begin::Probe(probe) => (choices.options[probe].step, clock.planner.doing(probe, now).0),
        Begin::Repair(repair) => {
            let work = &choices.problem.repairs[repair];
            let ready = choices.problem.world.ready(now, &work.needs).0;
            (desk.repair_step(repair), ready + work.price)
        }
    };
    Some(InTime { step, chance, takes: takes.total, minutes })
}

struct Clock<'p, 'a> {
    planner: &'p Planner<'a>,
}

impl Clock<'_, '_> {
    /// Chance of a cure in the minutes left when beginning with a step.
    fn beginning(
        &self,
        belief: &[f64],
        at: Situation,
        begin: Begin,
        left: f64,
        done: &[usize],
        depth: usize,
    ) -> f64 {
        let problem = self.planner.problem();
        match begin {
            Begin::Probe(probe) => {
                let (price, then) = self.planner.doing(probe, at);
                if price.total > left || depth == 0 {
                    return 0.0;
                }
                let mut done = done.to_vec();
                done.push(probe);
                let behind = |row: &Vec<f64>| {
                    let (joint, chance) = after_outcome(belief, row);
                    let depth = if chance < RARE { 0 } else { depth - 1 };
                    self.best(&joint, then, left - price.total, &done, depth)
                };
                problem.probes[probe].rows.iter().map(behind).sum()
            }
            Begin::Repair(repair) => {
                let work = &problem.repairs[repair];
                let (ready, ready_at) = problem.world.ready(at, &work.needs);
                let price = (ready + work.price).total;
                if price > left {
                    return 0.0;
                }
                let mut cured = 0.0;
                let rest: Vec<f64> = belief
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
                let then = problem.world.verified(ready_at);
                cured + self.repairing(&rest, then, left - price)
            }
        }
    }

    /// The best of repairing and of the most promising tests; belief not normalised.
    fn best(&self, belief: &[f64], at: Situation, left: f64, done: &[usize], depth: usize) -> f64 {
        let mut most = self.repairing(belief, at, left);
        if depth == 0 {
            return most;
        }
        let mut list: Vec<(f64, usize)> = self
            .planner
            .worth_a_look(belief, at, left, done)
            .into_iter()
            .map(|p| (self.planner.one_step(belief, at, p).total, p))
            .collect();
        list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for &(_, probe) in list.iter().take(LOOKED_AT) {
            let chance = self.beginning(belief, at, Begin::Probe(probe), left, done, depth);
            most = most.max(chance);
        }
        most
    }

    /// Repairs with the most probability for their minutes, as long as they fit.
    fn repairing(&self, belief: &[f64], at: Situation, left: f64) -> f64 {
        let problem = self.planner.problem();
        let (mut cured, mut left, mut at) = (0.0, left, at);
        for repair in self.planner.likely_repairs(belief, at, 12) {
            let work = &problem.repairs[repair];
            let (ready, ready_at) = problem.world.ready(at, &work.needs);
            let price = (ready + work.price).total;
            if price > left {
                continue;
            }
            left -= price;
            at = problem.world.verified(ready_at);
            let ends = |cures: &[usize]| cures == [repair];
            cured += belief
                .iter()
                .zip(&problem.cures)
                .filter(|(_, cures)| ends(cures))
                .map(|(p, _)| p)
                .sum::<f64>();
        }
        cured
    }
}
