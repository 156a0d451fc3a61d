//! The bound against the best of all plans of random problems.

use proptest::prelude::*;

use super::*;
use crate::plan::value::sample::{best, small};

proptest! {
    #![proptest_config(fixture::cases::cases(400))]

    #[test]
    fn no_plan_beats_the_bound(problem in small()) {
        let bound = lower(&problem, &Prices::new(&problem), &problem.belief);
        let optimum = best(&problem, &problem.belief, problem.now, 0, 0);
        prop_assert!(bound.total <= optimum + 1e-9, "{} > {optimum}", bound.total);
        prop_assert!(bound.informed <= bound.total);
    }

    #[test]
    fn no_plan_that_begins_with_a_test_beats_its_bound(problem in small()) {
        let prices = Prices::new(&problem);
        let limits = Limits::new(&problem, &prices, &problem.belief);
        for (index, probe) in problem.probes.iter().enumerate() {
            let (doing, then) = problem.doing(index, problem.now);
            let mut optimum = doing.total;
            for row in &probe.rows {
                let (joint, _) = after_outcome(&problem.belief, row);
                optimum += best(&problem, &joint, then, 1 << index, 0);
                let elsewhere = limits.at(&joint, then) * joint.iter().sum::<f64>();
                prop_assert!(elsewhere <= best(&problem, &joint, then, 1 << index, 0) + 1e-9);
            }
            for bound in [
                limits.beginning_with(index, doing.total, then),
                limits.beginning_with_each(index, doing.total, then),
            ] {
                prop_assert!(bound <= optimum + 1e-9, "{bound} > {optimum}");
            }
        }
    }
}
