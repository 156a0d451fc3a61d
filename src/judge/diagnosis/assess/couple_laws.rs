//! Two faults together against each of their ways worked out by itself.
//!
//! Slow and obvious: nothing is shared between sides, nothing is kept.

use std::rc::Rc;

use proptest::prelude::*;

use super::couple::{Couple, Options};
use super::full::{beside_a_cure, jobs, trimmed};
use super::ways::ways;
use crate::diagnosis::linalg::log_sum_exp;
use crate::diagnosis::model::Model;
use facts::job::entry::{Journal, What};
use facts::job::read::read;
use facts::knowledge::Item;
use fixture::{degrees, entry, temps};

/// How far two logarithms that should be one may be apart by rounding.
fn near(a: f64, b: f64) -> bool {
    a.total_cmp(&b).is_eq() || (a - b).abs() <= 1e-8 * (1.0 + b.abs())
}

/// Some pairs of all, every way of each.
fn compare(journal: &Journal, step: usize) -> usize {
    let knowledge = trimmed();
    let timeline = read(&knowledge, journal);
    let model = Model::new(&knowledge, &timeline);
    let n = model.candidates.len();
    let all = (0..n).flat_map(|a| (a + 1..n).map(move |b| [a, b]));
    let mut compared = 0;
    for (nth, pair) in all.step_by(step).enumerate() {
        // Closely, and then at a glance.
        let best = if nth % 2 == 0 { f64::NEG_INFINITY } else { 1e6 };
        let list = ways(&model, &pair, 0.0, best);
        for way in &list {
            let closely = nth % 2 == 0 || pair.iter().any(|&c| model.passes(c));
            let readings = model.log_readings(&way.parts, closely);
            assert!(near(way.readings, readings), "{way:?} {readings}");
            let states = [model.log_states(&way.parts), model.log_states_of(&way.parts)];
            assert!(near(states[0], states[1]), "{way:?} {states:?}");
            compared += 1;
        }
        let options = pair.map(|c| Rc::new(Options::of(&model, c, &[], &[])));
        let couple = Couple::of(&model, &options, -3.0, best);
        let weighed = couple.weighed(pair.to_vec(), -3.0, f64::NEG_INFINITY);
        let list = couple.ways();
        let logs: Vec<f64> = list
            .iter()
            .map(|way| way.weight + way.readings + model.log_words(&way.parts))
            .collect();
        let sum = log_sum_exp(&logs);
        assert!(near(weighed.log_likelihood, sum), "{pair:?} {sum}");
        assert!(near(weighed.log, sum - 3.0), "{pair:?} {sum}");
        let kept = weighed.listed.map(|listed| listed.parts()).unwrap_or_default();
        for (parts, share) in kept {
            // Two courses may have the same parts: always there, and by chance in every set.
            let same = |log: &f64| (share - (log - sum).exp()).abs() < 1e-8;
            let mut ways = list.iter().zip(&logs).filter(|(way, _)| way.parts == parts);
            assert!(ways.any(|(_, log)| same(log)), "{parts:?} {share}");
        }
    }
    compared
}

#[test]
fn beside_a_cure_each_way_of_two_is_what_it_is_by_itself() {
    let mut journal = beside_a_cure();
    assert!(compare(&journal, 7) > 1000);
    // And after an exchange, which tells misnamed displays from faults.
    journal.entries.push(entry(What::Exchange { item: Item::LeadAtBox, a: 1, b: 2 }));
    journal.entries.push(entry(temps("idle", degrees(&[441.0, 437.0, 452.0]))));
    assert!(compare(&journal, 3) > 1000);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3))]

    #[test]
    fn each_way_of_two_is_what_it_is_by_itself(journal in jobs()) {
        prop_assert!(compare(&journal, 29) > 0);
    }
}
