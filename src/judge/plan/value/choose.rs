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
/// Plans, some without their first steps, that all beginnings may go on with.
const SHARED: usize = 2;
/// Work between two looks at which plan is the cheapest.
const SPELL: u64 = 10_000;

/// Grows the plans of the cheapest beginnings, and lowers their prices to those of the plans.
///
/// `priced` is cheapest first. Fewer and fewer plans get more and more work, since a plan looks
/// dearer than another as long as less was thought about it; at last the cheapest gets what is left. What the best plans
/// do, and what they would do without a first step that tells little, all may go on with: else a step would look the
/// cheaper for being thought about longer.
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
    let mut known: Vec<(&Plan<'_, '_>, (usize, Begin, Price))> = plans
        .iter()
        .flat_map(|plan| plan.shortened().into_iter().map(move |s| (plan, s)))
        .collect();
    known.sort_by(|a, b| a.1.2.total.total_cmp(&b.1.2.total));
    for (_, (_, begin, price)) in &known {
        lower(priced, *begin, *price);
    }
    known.truncate(SHARED);
    let shared: Vec<(&Plan<'_, '_>, usize)> =
        known.iter().map(|(plan, (place, ..))| (*plan, *place)).collect();
    for index in 0..priced.len() {
        let step = priced[index].0;
        let price = match plans.iter().find(|plan| plan.begin() == step) {
            Some(plan) => plan.helped_by(&shared),
            None => Plan::new(planner, belief, from, step, promising).helped_by(&shared),
        };
        lower(priced, step, price);
    }
}

/// Takes a price for a beginning if it is lower.
fn lower(priced: &mut [(Begin, Price)], begin: Begin, price: Price) {
    if let Some(entry) = priced.iter_mut().find(|entry| entry.0 == begin)
        && price.total < entry.1.total
    {
        entry.1 = price;
    }
}
