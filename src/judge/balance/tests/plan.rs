//! The plan against a simulated engine: the mixture law of the knowledge base, probes of unequal depth,
//! readings that scatter, and responses that are not what was measured.
//!
//! It must not need a job.

use proptest::prelude::*;

use super::KNOWLEDGE;
use super::engine::{Engine, SCATTER, engine, lawful, run, scene, spread};
use crate::balance::plan::{
    Bounds, Left, Next, Outcome, Pot, Refused, Scene, goes_back, lean_side, may, next, outcome,
};
use crate::balance::response::response;
use facts::job::trim::{Lever, MixtureSign};

/// A cylinder that was read twice and not trimmed yet, so far off.
fn untouched(cylinder: u8, off: f64) -> Pot {
    Pot {
        cylinder,
        off,
        slope: None,
        stands: 0.0,
        sign: None,
        surprised: false,
        reads: 2,
        farthest: 0.0,
    }
}

#[test]
fn a_lean_cylinder_is_brought_up_on_either_side_of_the_peak() {
    let knowledge = &*KNOWLEDGE;
    // Cruise at the exact mixture, where lean reads cold; full load rich of it, where lean reads hot;
    // idle a little rich.
    for (point, base, low) in [(1, 1.0, 0.945), (2, 1.15, 1.08), (1, 0.96, 0.91), (2, 1.2, 1.12)] {
        let (mut before, mut after) = (0.0, 0.0);
        for seed in 0..40 {
            let mut engine = engine(knowledge, point, &[base, low, base, base], seed);
            let scene = scene(true);
            let run = run(&mut engine, scene, &|e, c| e.sign(c));
            lawful(&run, scene, 4);
            before += spread(&engine.phi);
            after += spread(&engine.mixture(&run.trims));
            for (c, trim) in run.trims.iter().enumerate() {
                assert!(c == 1 || trim.abs() < 1e-9, "a healthy mate was trimmed: {:?}", run.trims);
            }
        }
        assert!(after < 0.6 * before, "point {point}, base {base}: {after} of {before}");
    }
}

#[test]
fn a_rich_cylinder_is_left_where_one_trim_serves_all_loads() {
    let knowledge = &*KNOWLEDGE;
    for seed in 0..40 {
        let mut engine = engine(knowledge, 1, &[1.0, 1.0, 1.09, 1.0], seed);
        let run = run(&mut engine, scene(true), &|e, c| e.sign(c));
        lawful(&run, scene(true), 4);
        assert!(run.trims.iter().all(|trim| *trim >= 0.0));
    }
    // With trims by load it is brought down at light load.
    let (mut before, mut after) = (0.0, 0.0);
    for seed in 0..40 {
        let mut engine = engine(knowledge, 1, &[1.0, 1.0, 1.09, 1.0], seed);
        let run = run(&mut engine, scene(false), &|e, c| e.sign(c));
        lawful(&run, scene(false), 4);
        before += spread(&engine.phi);
        after += spread(&engine.mixture(&run.trims));
    }
    assert!(after < 0.8 * before, "{after} of {before}");
}

#[test]
fn unequal_depths_alone_get_no_trim() {
    let knowledge = &*KNOWLEDGE;
    for seed in 0..60 {
        let mut engine = engine(knowledge, 1 + usize::from(seed % 2 == 0), &[1.15; 4], seed);
        engine.depth = vec![0.0, -38.0, 22.0, 5.0];
        let run = run(&mut engine, scene(false), &|e, c| e.sign(c));
        assert!(run.steps.is_empty(), "{:?}", run.steps);
        assert!(run.left.iter().all(|(_, why)| *why == Left::SignEven));
        assert!(!run.left.is_empty(), "the displays are off, and it says why that is left");
    }
}

#[test]
fn no_step_without_a_sign() {
    let pot = |off| untouched(2, off);
    assert_eq!(next(&[pot(-40.0)], scene(true)), Next::AskSign { cylinder: 2 });
    assert_eq!(may(&[pot(-40.0)], scene(true), 2, 1.0), Err(Refused::NoSign));
    assert_eq!(next(&[pot(-4.0)], scene(true)), Next::Done { left: Vec::new() });
}

#[test]
fn spark_is_touched_only_where_mixtures_are_alike() {
    let spark =
        Scene { lever: Lever::Spark, bounds: Bounds { step: 1.0, total: 3.0 }, ..scene(true) };
    let pot = |sign| Pot { sign, ..untouched(1, -30.0) };
    let lean = next(&[pot(Some(MixtureSign::Lean))], spark);
    assert_eq!(lean, Next::Done { left: vec![(1, Left::SignAgainst)] });
    let even = next(&[pot(Some(MixtureSign::Even))], spark);
    assert_eq!(even, Next::Step { cylinder: 1, to: 1.0, measures: true });
    assert_eq!(may(&[pot(Some(MixtureSign::Even))], spark, 1, -1.0), Err(Refused::RicherFirst));
}

#[test]
fn a_way_back_is_always_open() {
    assert!(goes_back(2.0, 0.0) && goes_back(-2.0, -1.0) && goes_back(2.0, 1.0));
    assert!(!goes_back(2.0, -1.0) && !goes_back(0.0, 1.0) && !goes_back(2.0, 3.0));
    let pot = Pot { stands: 4.0, farthest: 4.0, surprised: true, ..untouched(1, 0.0) };
    assert_eq!(may(&[pot], scene(true), 1, 0.0), Ok(()));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]
    /// Whatever the mixtures, the depths and what the trims really do, even the wrong way round, a run ends
    /// and stays within its bounds; and where signs are right and trims work, no mixture ends farther off
    /// than it began by more than the two steps that tell the side of the peak.
    #[test]
    fn every_run_is_lawful_and_ends(
        phi in proptest::collection::vec(0.85..1.3f64, 3..7),
        depth in proptest::collection::vec(-40.0..40.0f64, 7),
        point in 0usize..3,
        works in prop_oneof![Just(1.0), Just(0.3), Just(2.5), Just(-1.0), Just(0.0)],
        barred: bool,
        seed in 0u64..1000,
        wrong_signs: bool,
    ) {
        let knowledge = &*KNOWLEDGE;
        let mut engine = engine(knowledge, point, &phi, seed);
        engine.depth = depth[..phi.len()].to_vec();
        engine.works = works;
        let scene = scene(barred);
        let asked = |engine: &Engine<'_>, c: usize| match (engine.sign(c), wrong_signs) {
            (MixtureSign::Lean, true) => MixtureSign::Rich,
            (MixtureSign::Rich, true) => MixtureSign::Lean,
            (sign, _) => sign,
        };
        let run = run(&mut engine, scene, &asked);
        lawful(&run, scene, phi.len());
        if (works - 1.0).abs() < 0.5 && !wrong_signs {
            let mean = phi.iter().sum::<f64>() / f64::from(u8::try_from(phi.len()).expect("few"));
            for (before, after) in phi.iter().zip(engine.mixture(&run.trims)) {
                let steps = 2.0 * scene.bounds.step / 100.0 * before / mean;
                let (before, after) = ((before / mean - 1.0).abs(), (after / mean - 1.0).abs());
                prop_assert!(after <= before + steps + 0.005, "{before} to {after}: {:?}", run.steps);
            }
        }
    }
}

#[test]
fn a_step_that_does_the_wrong_thing_stops_the_cylinder() {
    let knowledge = &*KNOWLEDGE;
    let (mut stopped, mut steps) = (0, 0);
    for seed in 0..60 {
        let mut engine = engine(knowledge, 2, &[1.15, 1.05, 1.15, 1.15], seed);
        // After the response was measured the injector is told and does nothing like it.
        let scene = scene(true);
        let first = engine.read(&[0.0; 4]);
        let second = engine.read(&[0.0, 2.0, 0.0, 0.0]);
        let slope = response(&[first, second], SCATTER).expect("told").slopes[1].expect("moved");
        if lean_side(slope) != Some(false) {
            continue;
        }
        let pot = Pot {
            slope: Some(slope),
            stands: 2.0,
            sign: Some(MixtureSign::Lean),
            farthest: 2.0,
            ..untouched(2, 30.0)
        };
        let Next::Step { to, .. } = next(std::slice::from_ref(&pot), scene) else {
            panic!("a step")
        };
        steps += 1;
        let foreseen = slope.value * (to - 2.0);
        let sd = (slope.se * (to - 2.0)).hypot(SCATTER * 1.64);
        // It gets hotter by as much as it should get colder, twice over.
        stopped += usize::from(outcome(foreseen, sd, -2.0 * foreseen) == Outcome::Otherwise);
        let after = Pot { surprised: true, ..pot };
        assert_eq!(next(&[after], scene), Next::Done { left: vec![(2, Left::Otherwise)] });
    }
    assert!(steps > 10, "{steps}");
    assert!(stopped * 10 > steps, "{stopped} of {steps}");
}
