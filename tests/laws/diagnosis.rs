//! Laws of the posterior.

use std::collections::BTreeMap;

use facts::job::entry::Journal;
use facts::job::entry::What;
use facts::job::file;
use facts::job::fit::FitLine;
use facts::job::read::read;
use judge::diagnosis::{Assessment, Fault, diagnose};
use judge::plan;
use measure::engine::{Cylinder, Place, Regime};
use measure::units::Scale;
use proptest::prelude::*;

use crate::support::{
    agree, assess, cases, findings, inline, journal, knowledge, plans, suspects, temps, typed,
};

/// Readings of a four at idle and at cruise, one display off by something, and what some tests
/// showed.
fn job() -> impl Strategy<Value = (Vec<f64>, Vec<f64>, Vec<usize>)> {
    let near = |level: f64| proptest::collection::vec(level - 14.0..level + 14.0, 4);
    (
        near(500.0),
        near(640.0),
        0_usize..4,
        -120.0_f64..150.0,
        proptest::collection::vec(0_usize..12, 3),
    )
        .prop_map(|(mut idle, mut cruise, odd, by, found)| {
            idle[odd] += by;
            cruise[odd] += by;
            (idle, cruise, found)
        })
}

/// A job, and the same from its file, which must keep every digit.
fn twice(idle: &[f64], cruise: &[f64], found: &[usize]) -> [Journal; 2] {
    let engine = inline(4);
    let sets = [temps(Regime::Idle, idle), temps(Regime::Cruise, cruise)];
    let first = journal(&engine, sets.into_iter().chain(findings(&engine, 2, found)));
    let again = file::read(&file::write(&first).expect("text")).expect("a journal");
    assert_eq!(first, again);
    [first, again]
}

/// Largest difference that the choice among equally good pairs may make. Degrees Fahrenheit are kept to a
/// hundredth of a degree Celsius, and a pair with a poor contact, at the edge of what is looked at, was seen
/// to weigh 0.014: too much, and not yet understood.
const SCREENING: f64 = 0.02;

/// That two answers which differ in rounding at most are the same but for the pairs of causes left
/// out: where many are as good as each other, which of them are looked at may hang on rounding.
#[track_caller]
fn same_but_for_screening(a: &Assessment, b: &Assessment, renumbered: impl Fn(Fault) -> Fault) {
    let within = a.pairs_dropped_mass.min(SCREENING);
    agree(&suspects(a, renumbered), &suspects(b, same), within);
}

fn same(fault: Fault) -> Fault {
    fault
}

/// A fault on an engine whose cylinders got new numbers: number `n` became `new[n - 1]`.
fn renumbered(new: [Cylinder; 4]) -> impl Fn(Fault) -> Fault {
    move |fault| {
        let number = |c: Cylinder| new[usize::from(c) - 1];
        let place = match fault.place {
            Place::Cylinder(c) => Place::Cylinder(number(c)),
            Place::Pair(a, b) => Place::Pair(number(a).min(number(b)), number(a).max(number(b))),
            place @ (Place::Nowhere | Place::Bank(_)) => place,
        };
        Fault { place, ..fault }
    }
}

proptest! {
    #![proptest_config(cases(3))]

    #[test]
    fn probabilities_are_probabilities((idle, cruise, found) in job()) {
        let engine = inline(4);
        let entries = [temps(Regime::Idle, &idle), temps(Regime::Cruise, &cruise)];
        let entries = entries.into_iter().chain(findings(&engine, 2, &found));
        let answer = assess(knowledge(), &journal(&engine, entries));
        let sum: f64 = answer.hypotheses.iter().map(|h| h.probability).sum();
        prop_assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        let mut by_fault: BTreeMap<Fault, f64> = BTreeMap::new();
        let mut healthy = 0.0;
        for h in &answer.hypotheses {
            prop_assert!((0.0..=1.0).contains(&h.probability));
            prop_assert_eq!(h.faults.len(), h.present.len());
            if h.faults.is_empty() {
                healthy += h.probability;
            }
            for fault in &h.faults {
                *by_fault.entry(*fault).or_default() += h.probability;
            }
        }
        // Marginals are taken before the list is cut.
        let cut = 0.02;
        prop_assert!((healthy - answer.healthy).abs() < cut);
        for suspect in &answer.suspects {
            let kept = by_fault.get(&suspect.fault).copied().unwrap_or(0.0);
            prop_assert!((kept - suspect.probability).abs() < cut, "{suspect:?} {kept}");
            prop_assert!(suspect.present <= suspect.probability + 1e-12);
        }
        for probability in answer.groups.iter().map(|g| g.1).chain(answer.seats.iter().map(|s| s.1)) {
            prop_assert!((0.0..=1.0 + 1e-9).contains(&probability));
        }
    }

    #[test]
    fn the_order_of_independent_entries_does_not_matter((idle, cruise, found) in job()) {
        let engine = inline(4);
        let sets = [temps(Regime::Idle, &idle), temps(Regime::Cruise, &cruise)];
        let found = findings(&engine, 2, &found);
        let forth: Vec<What> = sets.iter().chain(&found).cloned().collect();
        // Readings have an order: an engine comes from somewhere, and a fault may begin on the way.
        let back: Vec<What> = sets.iter().chain(found.iter().rev()).cloned().collect();
        let answers = [forth, back].map(|e| assess(knowledge(), &journal(&engine, e)));
        same_but_for_screening(&answers[0], &answers[1], same);
    }

    #[test]
    fn numbers_are_only_names((idle, cruise, found) in job(), shift in 1_usize..24) {
        let engine = inline(4);
        // The permutation of this number, by picking from what is left.
        let (mut left, mut rest) = (vec![1_u8, 2, 3, 4], shift);
        let new = [4, 3, 2, 1].map(|n| {
            let pick = left.remove(rest % n);
            rest /= n;
            pick
        });
        let name = renumbered(new);
        let moved = |values: &[f64]| {
            let mut moved = values.to_vec();
            for (value, to) in values.iter().zip(new) {
                moved[usize::from(to) - 1] = *value;
            }
            moved
        };
        let entries = |idle: &[f64], cruise: &[f64], on: Cylinder| -> Vec<What> {
            let sets = [temps(Regime::Idle, idle), temps(Regime::Cruise, cruise)];
            sets.into_iter().chain(findings(&engine, on, &found)).collect()
        };
        let first = assess(knowledge(), &journal(&engine, entries(&idle, &cruise, 2)));
        let second = entries(&moved(&idle), &moved(&cruise), new[1]);
        let second = assess(knowledge(), &journal(&engine, second));
        same_but_for_screening(&first, &second, name);
    }

    #[test]
    fn either_scale_gives_the_same_answer((idle, cruise, _) in job()) {
        let engine = inline(4);
        let entries = |scale: Scale| {
            let line = |values: &[f64]| {
                // What is typed is the number on the scale, to all its digits.
                let shown = |v: &f64| match scale {
                    Scale::Celsius => v.to_string(),
                    Scale::Fahrenheit => (v * 1.8 + 32.0).to_string(),
                };
                values.iter().map(shown).collect::<Vec<_>>().join(" ")
            };
            [
                typed(Regime::Idle, &line(&idle), scale),
                typed(Regime::Cruise, &line(&cruise), scale),
            ]
        };
        let answers = [Scale::Celsius, Scale::Fahrenheit]
            .map(|scale| assess(knowledge(), &journal(&engine, entries(scale))));
        same_but_for_screening(&answers[0], &answers[1], same);
    }

    #[test]
    fn a_test_that_says_nothing_changes_nothing((idle, _, found) in job()) {
        let engine = inline(4);
        // A test whose outcomes are as likely whatever is wrong, known or not.
        let mut mute = knowledge().clone();
        let index = mute.test("scatter-speed").expect("a test of the knowledge base");
        let test = &mut mute.tests[index];
        let even = 1.0 / f64::from(u32::try_from(test.outcomes.len()).expect("few"));
        test.default = vec![even; test.outcomes.len()];
        test.given.clear();
        let outcome = test.outcomes[found[0] % test.outcomes.len()].id.clone();
        let cylinder = Some(3);
        let said = What::Found { test: test.id.clone(), outcome, cylinder, partner: None };
        let without = vec![temps(Regime::Idle, &idle)];
        let with = vec![without[0].clone(), said];
        let answers = [without, with].map(|e| assess(&mute, &journal(&engine, e)));
        same_but_for_screening(&answers[0], &answers[1], same);
    }

    #[test]
    fn what_was_taken_back_changes_nothing((idle, cruise, found) in job(), at in 0_usize..5) {
        let engine = inline(4);
        let sets = [temps(Regime::Idle, &idle), temps(Regime::Cruise, &cruise)];
        let without: Vec<What> = sets.into_iter().chain(findings(&engine, 2, &found)).collect();
        let mut with = without.clone();
        let at = at.min(with.len());
        with.insert(at, temps(Regime::Cruise, &[900.0, 200.0, 640.0, 640.0]));
        with.insert(at + 1, What::Undo { entry: at + 1 });
        let answers = [without, with].map(|e| assess(knowledge(), &journal(&engine, e)));
        agree(&suspects(&answers[0], same), &suspects(&answers[1], same), 1e-12);
    }

    #[test]
    fn a_sheet_entered_in_parts_says_the_same(
        (idle, cruise, _) in job(),
        depths in proptest::collection::vec(5.0_f64..30.0, 4),
        cut in 1_usize..4,
    ) {
        let engine = inline(4);
        let line = |(n, depth): (u8, &f64)| {
            (n, FitLine { depth: Some((depth * 2.0).round() / 2.0), ..FitLine::default() })
        };
        let lines: Vec<(Cylinder, FitLine)> = (1..).zip(&depths).map(line).collect();
        let whole = vec![What::Fitted { lines: lines.clone() }];
        let (first, second) = lines.split_at(cut);
        let parts =
            [first, second].map(|lines| What::Fitted { lines: lines.to_vec() }).to_vec();
        let sets = [temps(Regime::Idle, &idle), temps(Regime::Cruise, &cruise)];
        let answers = [whole, parts].map(|sheet| {
            assess(knowledge(), &journal(&engine, sheet.into_iter().chain(sets.clone())))
        });
        same_but_for_screening(&answers[0], &answers[1], same);
    }

    #[test]
    fn the_same_job_gives_the_same_answer((idle, cruise, found) in job()) {
        let texts = twice(&idle, &cruise, &found).map(|j| format!("{:?}", assess(knowledge(), &j)));
        prop_assert!(texts[0] == texts[1]);
    }
}

proptest! {
    // A plan takes a hundred times as long as an answer.
    #![proptest_config(plans(4))]

    #[test]
    fn no_plan_is_said_to_cost_less_than_its_bound((idle, cruise, found) in job()) {
        let engine = inline(4);
        let sets = [temps(Regime::Idle, &idle), temps(Regime::Cruise, &cruise)];
        let job = journal(&engine, sets.into_iter().chain(findings(&engine, 2, &found)));
        let timeline = read(knowledge(), &job);
        let advice = plan::advise(&diagnose(knowledge(), &timeline));
        let bound = advice.lower_bound;
        prop_assert!(bound >= 0.0 && bound.is_finite());
        for choice in std::iter::once(&advice.best).chain(&advice.alternatives) {
            let (low, cost) = (choice.lower_bound, choice.expected_total);
            prop_assert!(low <= cost + 1e-9, "{:?}: {low} > {cost}", choice.step);
            prop_assert!(bound <= cost + 1e-9, "{:?}: {bound} > {cost}", choice.step);
        }
    }

    #[test]
    fn the_same_job_gives_the_same_bytes((idle, cruise, found) in job()) {
        let bytes = twice(&idle, &cruise, &found).map(|journal| {
            let timeline = read(knowledge(), &journal);
            let diagnosis = diagnose(knowledge(), &timeline);
            let advice = format!("{:?}", plan::advise(&diagnosis));
            (serde_json::to_string(&plan::dump::dump(&diagnosis)).expect("JSON"), advice)
        });
        prop_assert!(bytes[0] == bytes[1]);
    }
}

/// What was read and is read again, to the degree, is no news of which cause it is.
#[test]
fn the_same_numbers_again_do_not_turn_the_tables() {
    for idle in
        [&[412.0, 409.0, 415.0, 341.0, 411.0][..], &[512.0, 505.0, 498.0, 509.0, 441.0, 515.0]]
    {
        let engine = inline(u8::try_from(idle.len()).expect("few"));
        let say = |times: usize| {
            let sets = (0..times).map(|_| temps(Regime::Idle, idle));
            assess(knowledge(), &journal(&engine, sets))
        };
        let (once, twice) = (say(1), say(2));
        let (first, then) = (once.suspects[0], twice.suspects[0]);
        assert_eq!(first.fault, then.fault, "{idle:?}");
        let (before, after) = (first.probability, then.probability);
        assert!(after > 0.8 * before, "{idle:?}: {before} then {after}");
    }
}
