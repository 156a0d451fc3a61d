//! Laws of the virtual workshop, and a small run as a table.

use proptest::prelude::*;

use super::*;
use crate::diagnosis::{CauseRef, Fault};
use crate::engine::{Place, ProbeSite, RunningPoint};
use crate::knowledge::{Scope, embedded::embedded, load};
use crate::plan::Step;

fn known() -> Knowledge {
    load(embedded(), &[]).0.expect("the built-in knowledge base is sound")
}

fn job(known: &Knowledge, truth: &Truth, seed: u64) -> VirtualEngine {
    came_in(known, truth, None, seed, 1).expect("there are engines to draw")
}

const CHEAP: [Policy; 3] = [Policy::PartsFirst, Policy::Cheapest, Policy::Oracle];

fn plan<'a>(known: &'a Knowledge, jobs: u64, policies: &'a [Policy], threads: usize) -> Plan<'a> {
    let preset = known.presets.iter().find(|p| p.id == "inline-four-port");
    Plan { known, wrong: Wrong::Nothing, preset, from: 1, jobs, seed: 1, policies, threads }
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let known = known();
    let summed = |threads| {
        let plan = plan(&known, 30, &CHEAP, threads);
        summary(plan, &run(plan))
    };
    assert_eq!(summed(1), summed(3));
}

#[test]
fn the_program_finds_deep_probes_for_less_than_a_parts_list() {
    let known = known();
    let policies = [Policy::PartsFirst, Policy::Plan];
    // The first jobs of seed 1 on a four with a probe too deep and nothing else.
    let truth = Truth::of(&known, Wrong::Nothing, 1);
    let four = known.presets.iter().find(|p| p.id == "inline-four-port");
    let deep = known.causes.iter().position(|cause| cause.id == "fit-deep");
    let alone = |number: &u64| {
        came_in(&known, &truth, four, 1, *number).is_some_and(|job| {
            job.faults.len() == 1
                && job.faults.iter().any(|f| Some(f.fault.cause) == deep.map(CauseRef::Listed))
        })
    };
    let (mut listed, mut planned) = (0.0, 0.0);
    for from in (1..400).filter(alone).take(4) {
        let plan = Plan { from, ..plan(&known, 1, &policies, 1) };
        let played = run(plan);
        let [list, own] = played[0].outcomes.as_slice() else { panic!("two ways of working") };
        listed += list.total;
        planned += own.total;
        assert!(own.said.iter().all(|s| s.top <= 1.0 && s.squares >= 0.0));
        let trust = summary(plan, &played).trust.expect("the plan was played");
        assert_eq!(trust.first.bins.iter().map(|b| b.claims).sum::<usize>(), 1);
    }
    assert!(planned < listed, "{planned} and {listed}");
}

#[test]
fn who_knows_the_cause_spends_least_on_average() {
    let known = known();
    for wrong in [Wrong::Nothing, Wrong::All, Wrong::Unknown] {
        let plan = Plan { wrong, ..plan(&known, 150, &CHEAP, 2) };
        let lines = summary(plan, &run(plan)).lines;
        let cost = |p: usize| lines[p].cost.mean;
        assert!(cost(2) < cost(0) && cost(2) < cost(1), "{wrong}: {lines:?}");
        assert_eq!(lines[2].healthy_parts.mean.to_bits(), 0.0_f64.to_bits(), "{wrong}");
    }
}

#[test]
fn a_small_run_as_a_table() {
    let known = known();
    let plan = plan(&known, 60, &CHEAP, 2);
    let played = run(plan);
    let doc = crate::report::workshop(&known, &summary(plan, &played), &played, 1);
    let text = crate::report::text::render(&doc, 80, crate::report::Style::Plain);
    insta::assert_snapshot!(text);
}

#[test]
fn what_cannot_be_told_apart_on_a_four() {
    let known = known();
    let preset = known.presets.iter().find(|p| p.id == "inline-four-port").expect("is there");
    let found = testability::testability(&known, &preset.engine);
    assert!(found.pairs.1 <= found.pairs.0 && found.pairs.1 * 10 >= found.pairs.0 * 9);
    let doc = crate::report::testability(&known, &preset.name, &found);
    let text = crate::report::text::render(&doc, 80, crate::report::Style::Plain);
    insta::assert_snapshot!(text);
}

#[test]
fn a_remedy_of_the_true_cause_ends_the_oddness_nearly_always() {
    let known = known();
    let truth = Truth::of(&known, Wrong::Nothing, 1);
    let (mut done, mut cured) = (0_u32, 0_u32);
    for seed in 0..120 {
        let job = job(&known, &truth, seed);
        let [fault] = job.faults.as_slice() else { continue };
        if !matches!(fault.fault.cause, CauseRef::Listed(_)) || fault.effect.passes {
            continue;
        }
        let mut world = World::open(&known, &truth, &job);
        world.step(Step::Remedy(fault.fault));
        done += 1;
        cured += u32::from(world.gone[0] == Some(Gone::Aimed));
        assert_eq!(world.healthy_parts, 0, "what was renewed was faulty");
    }
    assert!(done > 40 && f64::from(cured) >= 0.9 * f64::from(done), "{cured} of {done}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn the_same_seed_gives_the_same_engine(seed in 0_u64..10_000, which in 0..Wrong::ALL.len()) {
        let known = known();
        let truth = Truth::of(&known, Wrong::ALL[which], seed);
        let one = job(&known, &truth, seed);
        prop_assert_eq!(&one, &job(&known, &truth, seed));
        let (a, b) = (World::open(&known, &truth, &one), World::open(&known, &truth, &one));
        prop_assert_eq!(&a.journal, &b.journal);
        prop_assert!(a.noticed());
    }

    #[test]
    fn what_a_test_shows_does_not_hang_on_what_else_was_asked(
        seed in 0_u64..10_000,
        first in 0_usize..1000,
        other in 0_usize..1000,
    ) {
        let known = known();
        let truth = Truth::of(&known, Wrong::Nothing, seed);
        let job = job(&known, &truth, seed);
        // Tests that only look.
        let looks: Vec<usize> = (0..known.tests.len())
            .filter(|&t| {
                let test = &known.tests[t];
                test.applies.holds(&job.engine) && test.item.is_none() && test.reseats.is_empty()
            })
            .collect();
        let step = |t: usize| {
            let test = looks[t % looks.len()];
            let cylinder = (known.tests[test].scope == Scope::Cylinder).then_some(1);
            Step::Test { test, cylinder, partner: None }
        };
        let mut one = World::open(&known, &truth, &job);
        let alone = one.step(step(first));
        prop_assert_eq!(one.step(step(first)), alone.clone(), "nor on how often");
        let mut two = World::open(&known, &truth, &job);
        two.step(step(other));
        prop_assert_eq!(two.step(step(first)), alone);
    }

    #[test]
    fn readings_are_entries_like_any_others(
        seed in 0_u64..10_000,
    ) {
        let known = known();
        let truth = Truth::of(&known, Wrong::Nothing, seed);
        let job = job(&known, &truth, seed);
        let mut world = World::open(&known, &truth, &job);
        let site = ProbeSite::Exhaust;
        world.step(Step::Readings { at: RunningPoint::Idle, site });
        let before = world.timeline.sets.len();
        world.step(Step::Readings { at: RunningPoint::Idle, site });
        prop_assert_eq!(world.timeline.sets.len(), before + 1);
        prop_assert!(world.timeline.unknown.is_empty());
        let total = world.spent().total(known.constants.rates);
        prop_assert!(total > 0.0);
    }
}

#[test]
fn the_search_always_ends_it() {
    let known = known();
    let truth = Truth::of(&known, Wrong::TwoFaults, 2);
    for seed in 0..20 {
        let job = job(&known, &truth, seed);
        let mut world = World::open(&known, &truth, &job);
        let unlisted = Fault { cause: CauseRef::Unlisted, place: Place::Cylinder(1) };
        assert_eq!(world.step(Step::Remedy(unlisted)), Shown::Found);
        assert_eq!(world.judged(Ended::Searched), (true, false));
    }
}
