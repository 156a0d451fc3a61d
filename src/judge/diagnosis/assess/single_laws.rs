//! What is kept of single causes against every way worked out by itself.
//!
//! Slow and obvious: nothing is kept, nothing is shared.

use proptest::prelude::*;

use super::full::{beside_a_cure, jobs, trimmed};
use super::single::{Known, Lone, SUPERFICIAL};
use super::ways::sides_and_paths;
use crate::diagnosis::linalg::log_sum_exp;
use crate::diagnosis::model::{Model, Part};
use facts::job::entry::{Journal, Reading};
use facts::job::read::read;
use fixture::{degrees, entry, temps};
use measure::units::Celsius;

/// How far two logarithms that should be one may be apart by rounding.
fn near(a: f64, b: f64) -> bool {
    a.total_cmp(&b).is_eq() || (a - b).abs() <= 1e-9 * (1.0 + b.abs())
}

/// A way with its chance, its readings at a glance, at all scales and its words: logs.
struct ByItself {
    part: Part,
    chance: f64,
    glanced: f64,
    guarded: f64,
    words: f64,
}

/// Every way of a candidate, each by itself.
fn by_itself(model: &Model<'_>, candidate: usize) -> Vec<ByItself> {
    let each = |(part, chance): (Part, f64)| ByItself {
        part,
        chance: chance.ln(),
        glanced: model.log_readings(&[part], false),
        guarded: model.log_readings(&[part], true),
        words: model.log_words(&[part]),
    };
    // What displays showed is a sum along a chain, set by set the slow way.
    for (part, _) in sides_and_paths(model, candidate) {
        assert!(near(model.log_states(&[part]), model.log_states_of(&[part])), "{part:?}");
    }
    sides_and_paths(model, candidate).into_iter().map(each).collect()
}

/// Asks in passes, as the diagnosis does, and once more when other scales are glanced at.
fn compare(journal: &Journal) -> usize {
    let knowledge = trimmed();
    let timeline = read(&knowledge, journal);
    let mut model = Model::new(&knowledge, &timeline);
    let mut known = Known::nothing(&model);
    let mut compared = 0;
    for pass in 0..2 {
        for candidate in 0..model.candidates.len() {
            let slow = by_itself(&model, candidate);
            let logs: Vec<f64> =
                slow.iter().map(|way| way.chance + way.glanced + way.words).collect();
            let most = known.at_most(&model, candidate);
            let glance = known.at_a_glance(&model, candidate);
            assert!(near(glance, log_sum_exp(&logs)), "{candidate} in {pass}");
            // Who may be left out of the search for the likeliest may be.
            assert!(most >= glance - 1e-9, "{candidate} in {pass}: {most} {glance}");
            // Closely for the first time, then again from what is kept.
            for _ in 0..2 {
                let fast = known.ways(&model, candidate, 0.0, f64::NEG_INFINITY);
                assert_eq!(fast.len(), slow.len());
                let best = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                for ((Lone { part, weight, readings, words }, slow), log) in
                    fast.into_iter().zip(&slow).zip(&logs)
                {
                    assert_eq!(part, slow.part);
                    assert!(near(weight, slow.chance) && near(words, slow.words), "{part:?}");
                    // Where the log is on the very edge, either will do.
                    let close = (log - (best - SUPERFICIAL)).abs() < 1e-6;
                    let wanted =
                        if *log >= best - SUPERFICIAL { slow.guarded } else { slow.glanced };
                    let either =
                        close && (near(readings, slow.guarded) || near(readings, slow.glanced));
                    assert!(near(readings, wanted) || either, "{part:?} in {pass}");
                    compared += 1;
                }
            }
        }
        let parts = sides_and_paths(&model, pass).into_iter().take(1).map(|(part, _)| part);
        let parts: Vec<Part> = parts.collect();
        model.glance_as(&parts);
        known.forget_glances();
    }
    compared
}

#[test]
fn beside_a_cure_what_is_kept_is_what_each_way_is_by_itself() {
    let compared = compare(&beside_a_cure());
    assert!(compared > 200, "{compared}");
}

#[test]
fn of_displays_without_a_number_what_is_kept_is_what_each_way_is_by_itself() {
    let celsius = |value: f64| Celsius::new(value).expect("heat");
    let jumps =
        |half: f64| Reading::Erratic { lo: celsius(500.0 - half), hi: celsius(500.0 + half) };
    let shown = |at: &'static str, second: Reading| {
        let mut readings = degrees(&[505.0, 498.0, 500.0]);
        readings[1] = second;
        entry(temps(at, readings))
    };
    let mut journal = beside_a_cure();
    let more = [
        shown("idle", jumps(40.0)),
        shown("cruise", Reading::Open),
        shown("idle", jumps(12.0)),
        shown("cruise", Reading::Stuck),
        shown("idle", Reading::Open),
    ];
    journal.entries.extend(more);
    assert!(compare(&journal) > 200);
    // And where one shows the box's own temperature.
    journal.entries.push(shown("cruise", Reading::Degrees(celsius(38.0))));
    assert!(compare(&journal) > 200);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]

    #[test]
    fn what_is_kept_is_what_each_way_is_by_itself(journal in jobs()) {
        prop_assert!(compare(&journal) > 0);
    }
}

/// What a cause comes to is the sum of its ways, and what is listed has their shares.
fn compare_sums(journal: &Journal) -> usize {
    let knowledge = trimmed();
    let timeline = read(&knowledge, journal);
    let model = Model::new(&knowledge, &timeline);
    let mut compared = 0;
    for best in [f64::NEG_INFINITY, 1e6] {
        let (mut slow, mut known) = (Known::nothing(&model), Known::nothing(&model));
        for candidate in 0..model.candidates.len() {
            let ways = slow.ways(&model, candidate, -3.0, best);
            let logs: Vec<f64> = ways.iter().map(Lone::log).collect();
            let sum = log_sum_exp(&logs);
            for all in [true, false] {
                let weighed = known.weighed(&model, candidate, -3.0, best, all);
                let way = weighed.log_likelihood;
                // Where a way is on the very edge of what is looked at closely, either will do.
                assert!((way - sum).abs() <= 1e-8 * (1.0 + sum.abs()), "{candidate}: {way} {sum}");
                assert!(near(weighed.log, way - 3.0));
                for (parts, share) in &weighed.parts {
                    let same = ways.iter().filter(|way| [way.part] == parts[..]);
                    let mut shares = same.map(|way| (way.log() - sum).exp());
                    assert!(shares.any(|other| (share - other).abs() < 1e-8), "{parts:?}");
                    compared += 1;
                }
            }
        }
    }
    compared
}

#[test]
fn a_cause_comes_to_the_sum_of_its_ways() {
    let mut journal = beside_a_cure();
    assert!(compare_sums(&journal) > 200);
    for second in [451.0, 439.0, 470.0, 438.0] {
        journal.entries.push(entry(temps("idle", degrees(&[441.0, second, 452.0]))));
    }
    assert!(compare_sums(&journal) > 200);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4))]

    #[test]
    fn a_cause_of_any_job_comes_to_the_sum_of_its_ways(journal in jobs()) {
        prop_assert!(compare_sums(&journal) > 0);
    }
}
