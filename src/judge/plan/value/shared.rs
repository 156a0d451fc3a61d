//! What was thought about one beginning, for all others.
//!
//! A grown plan can be carried out from elsewhere too: without its first steps, or behind another one. It must not
//! grow anything.

use super::grow::{Begin, Plan, Way};
use crate::plan::problem::{Price, Situation};

/// First steps that a plan is tried without, and how probable what each shows must be for that.
const SHORTER: usize = 4;
const MOSTLY: f64 = 0.5;

impl Plan<'_, '_> {
    /// The plan itself and what it comes to without its first steps, as far as these are tests that mostly show
    /// the same: where it begins then, with what, and its price. A test that tells nothing puts off what is done
    /// behind it and no more, so that a plan that does without is cheaper; it was only thought about longer.
    #[must_use]
    pub fn shortened(&self) -> Vec<(usize, Begin, Price)> {
        let root = &self.nodes[0];
        let mut list = vec![(0, self.begin(), self.price())];
        let mut place = 0;
        for _ in 0..SHORTER {
            let Some(way) = self.best_way(place) else { break };
            if !matches!(way.begin, Begin::Probe(_)) {
                break;
            }
            let likeliest = way.behind.iter().max_by(|a, b| a.1.total_cmp(&b.1));
            let Some(&(kid, _)) = likeliest.filter(|(_, share)| *share > MOSTLY) else { break };
            if let Some(next) = self.best_way(kid) {
                let price =
                    self.carried_out(kid, &root.belief, root.at, &root.tests, &root.repairs);
                list.push((kid, next.begin, price));
            }
            place = kid;
        }
        list
    }

    /// Price of the plan where behind its first step each place may also go on as another plan does from some
    /// place of it. What was thought about one beginning counts for all.
    #[must_use]
    pub fn helped_by(&self, others: &[(&Self, usize)]) -> Price {
        let Some(way) = self.best_way(0) else { return self.price() };
        let mut price = way.own;
        for &(kid, share) in &way.behind {
            let node = &self.nodes[kid];
            let as_another = others.iter().map(|(plan, place)| {
                plan.carried_out(*place, &node.belief, node.at, &node.tests, &node.repairs)
            });
            let all = std::iter::once(node.price).chain(as_another);
            let least = all.min_by(|a, b| a.total.total_cmp(&b.total)).unwrap_or(node.price);
            price += least.times(share);
        }
        price
    }

    /// The way that the plan takes at a place; `None` where it stops there, or nothing was looked at.
    fn best_way(&self, place: usize) -> Option<&Way> {
        let node = &self.nodes[place];
        let best = node.followed.iter().min_by(|a, b| self.total(a).total_cmp(&self.total(b)))?;
        (self.total(best) <= node.price.total + 1e-9).then_some(best)
    }

    /// Price of what the plan does from a place on, done at another belief and in another situation.
    fn carried_out(
        &self,
        place: usize,
        belief: &[f64],
        at: Situation,
        tests: &[usize],
        repairs: &[usize],
    ) -> Price {
        let planner = self.planner;
        let stop = || planner.stop_after(belief, at, repairs);
        let may = |probe: usize| !tests.contains(&probe) && planner.permits(probe, belief);
        let Some(way) = self.best_way(place) else {
            return match self.nodes[place].hint {
                Some(probe) if may(probe) => planner.one_step_after(belief, at, probe, repairs),
                _ => stop(),
            };
        };
        let reach: f64 = belief.iter().sum();
        let (mut done_tests, mut done_repairs) = (tests.to_vec(), repairs.to_vec());
        let (own, then, left) = match way.begin {
            Begin::Probe(probe) if may(probe) => {
                done_tests.push(probe);
                let (own, then) = planner.doing(probe, at);
                (own, then, self.outcomes(belief, probe))
            }
            Begin::Repair(repair) if !repairs.contains(&repair) => {
                done_repairs.push(repair);
                let (own, left, then) = self.work(belief, at, &done_repairs, repair);
                (own, then, vec![left])
            }
            // What was done on the way already is not done again: the plan goes on behind it.
            Begin::Repair(_) => {
                return match way.places.first().copied().flatten() {
                    Some(kid) => self.carried_out(kid, belief, at, tests, repairs),
                    None => stop(),
                };
            }
            Begin::Probe(probe) => {
                let mass = |left: &Vec<f64>| left.iter().sum::<f64>();
                let outcomes = self.outcomes(belief, probe);
                let likeliest =
                    outcomes.iter().zip(&way.places).max_by(|a, b| mass(a.0).total_cmp(&mass(b.0)));
                return match likeliest.and_then(|(_, place)| *place) {
                    Some(kid) if tests.contains(&probe) => {
                        self.carried_out(kid, belief, at, tests, repairs)
                    }
                    _ => stop(),
                };
            }
        };
        planner.add_work(1);
        let mut price = own;
        for (left, place) in left.iter().zip(&way.places) {
            let chance: f64 = left.iter().sum();
            if chance <= 1e-12 {
                continue;
            }
            let behind = match place {
                Some(kid) => self.carried_out(*kid, left, then, &done_tests, &done_repairs),
                None => planner.stop_after(left, then, &done_repairs),
            };
            price += behind.times(chance / reach);
        }
        price
    }
}
