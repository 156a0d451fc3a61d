//! Which of several beginnings to think about, and how much.
//!
//! It must not decide what may be begun, nor break ties.

use super::grow::{Begin, Plan};
use super::planner::Planner;
use crate::plan::problem::{Price, Situation};
use crate::plan::wishes::Thinking;

/// Beginnings whose plans are grown.
const GROWN: usize = 8;
/// Rounds of growing: how many of the cheapest, and the part of the work that each gets.
const ROUNDS: [(usize, u64); 3] = [(GROWN, 30), (4, 12), (2, 6)];
/// How far the rounds may go beyond the allowance.
const OVER: u64 = 1;
/// Work between two looks at which plan is the cheapest.
const SPELL: u64 = 10_000;

/// Grows the plans of the cheapest beginnings, and lowers their prices to those of the plans.
///
/// `priced` is cheapest first. Fewer and fewer plans get more and more work, since a plan looks
/// dearer than another as long as less was thought about it; at last the cheapest gets what is left.
pub fn grow_all(
    planner: &Planner<'_>,
    belief: &[f64],
    from: Situation,
    priced: &mut [(Begin, Price)],
    promising: &[usize],
    thinking: Thinking<'_>,
) {
    let mut plans: Vec<Plan<'_, '_>> = priced
        .iter()
        .take(GROWN)
        .map(|&(begin, _)| Plan::new(planner, belief, from, begin, promising))
        .collect();
    let begun = planner.work();
    for (count, share) in ROUNDS {
        plans.sort_by(|a, b| a.price().total.total_cmp(&b.price().total));
        for plan in plans.iter_mut().take(count) {
            // In a large problem a single look takes more than a plan's part.
            if planner.work() - begun > OVER * thinking.work {
                break;
            }
            plan.grow_until(planner.work() + thinking.work / share);
        }
    }
    while !thinking.enough(planner.work() - begun) {
        plans.sort_by(|a, b| a.price().total.total_cmp(&b.price().total));
        let until = planner.work() + SPELL;
        let Some(plan) = plans.iter_mut().find(|plan| !plan.grown()) else { break };
        plan.grow_until(until);
    }
    for plan in &plans {
        if let Some(entry) = priced.iter_mut().find(|entry| entry.0 == plan.begin())
            && plan.price().total < entry.1.total
        {
            entry.1 = plan.price();
        }
    }
}
